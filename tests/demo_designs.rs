//! The demo designs: each gives the findings that stand beside it.
//!
//! `WRITE_EXPECTED=1 cargo test -p tests --test demo_designs` writes the expected findings anew; read the difference
//! before you commit it.

use check::{Job, Outcome, Severity};
use serde::{Deserialize, Serialize};
use std::path::{Path, PathBuf};

#[derive(Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
struct Expected {
    findings: Vec<ExpectedFinding>,
    /// Accepted by a departure: the rule and the place.
    departed: Vec<String>,
    /// What could not be checked: the rule, the place, what is missing.
    not_checked: Vec<String>,
}

#[derive(Debug, PartialEq, Serialize, Deserialize)]
struct ExpectedFinding {
    line: usize,
    severity: String,
    rule: String,
    at: String,
    message: String,
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-designs")
}

fn designs() -> Vec<PathBuf> {
    let mut designs: Vec<PathBuf> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.to_string_lossy().ends_with(".ufh.yaml"))
        .collect();
    designs.sort();
    assert!(designs.len() >= 10, "there are {} demo designs", designs.len());
    designs
}

fn check(path: &Path, bytes: &[u8], remedies: bool) -> Outcome {
    check::check(&Job {
        path: path.to_str().unwrap(),
        bytes,
        files: &|path| std::fs::read(path).map_err(|error| error.to_string()),
        house_standard: None,
        today: jiff::civil::date(2026, 6, 1),
        remedies,
    })
}

fn expected(outcome: &Outcome) -> Expected {
    let findings = outcome.findings.iter().map(|finding| {
        let text = &outcome.sources[finding.place.file.number()].text;
        ExpectedFinding {
            line: text[..finding.place.range().start].matches('\n').count() + 1,
            severity: finding.severity.word().into(),
            rule: finding.rule.name.into(),
            at: finding.at(&outcome.design),
            message: finding.message.clone(),
        }
    });
    let departed = outcome.departed.iter().map(|(it, _)| format!("{} {}", it.rule.name, it.at(&outcome.design)));
    let not_checked = outcome
        .not_checked
        .iter()
        .map(|it| format!("{} {} {}", it.rule.name, it.about.path(&outcome.design), it.missing(&outcome.design)));
    Expected { findings: findings.collect(), departed: departed.collect(), not_checked: not_checked.collect() }
}

#[test]
fn each_gives_its_expected_findings() {
    let mut differing = Vec::new();
    for path in designs() {
        let outcome = check(&path, &std::fs::read(&path).unwrap(), false);
        let found = expected(&outcome);
        let beside = PathBuf::from(path.to_string_lossy().replace(".ufh.yaml", ".expected.yaml"));
        if std::env::var_os("WRITE_EXPECTED").is_some() {
            std::fs::write(&beside, serde_yaml::to_string(&found).unwrap()).unwrap();
        }
        let text = std::fs::read_to_string(&beside).unwrap_or_else(|error| panic!("{}: {error}", beside.display()));
        let wanted: Expected =
            serde_yaml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", beside.display()));
        if found != wanted {
            differing.push(format!("{}\nwanted {wanted:#?}\nfound {found:#?}", path.display()));
        }
    }
    assert!(differing.is_empty(), "{}", differing.join("\n\n"));
}

#[test]
fn the_clean_ones_are_clean() {
    for path in designs().iter().filter(|path| !path.ends_with("full-of-faults.ufh.yaml")) {
        let outcome = check(path, &std::fs::read(path).unwrap(), false);
        let grave: Vec<_> = outcome
            .findings
            .iter()
            .filter(|it| it.severity >= Severity::Warning)
            .map(|it| format!("{}: {}", it.rule.name, it.message))
            .collect();
        assert!(grave.is_empty(), "{}: {grave:#?}", path.display());
    }
}

/// The faults that its title promises, by the rules that must see them.
#[test]
fn the_faulty_one_shows_the_four_that_matter_first() {
    let path = folder().join("full-of-faults.ufh.yaml");
    let outcome = check(&path, &std::fs::read(&path).unwrap(), false);
    for rule in [
        "sleeve-missing-at-wall",
        "heated-run-crosses-joint",
        "pressure-test-after-covering",
        "insulation-below-minimum",
    ] {
        assert!(outcome.findings.iter().any(|it| it.rule.name == rule), "{rule} is silent");
    }
}

/// A remedy that is offered clears its finding: it was tried, and trying it again gives the same.
#[test]
fn remedies_hold_what_they_promise() {
    let path = folder().join("full-of-faults.ufh.yaml");
    let bytes = std::fs::read(&path).unwrap();
    let outcome = check(&path, &bytes, true);
    let mut tried = 0;
    for finding in &outcome.findings {
        for remedy in
            finding.remedies.iter().filter(|it| it.changes.iter().all(|change| change.place.file.number() == 0))
        {
            let edits: Vec<yaml_tree::Edit> = remedy
                .changes
                .iter()
                .map(|it| yaml_tree::Edit { range: it.place.range(), text: it.text.clone() })
                .collect();
            let text = yaml_tree::apply(&outcome.sources[0].text, &edits).unwrap();
            let after = check(&path, text.as_bytes(), false);
            let same = |it: &&check::Finding| it.rule.name == finding.rule.name && it.about == finding.about;
            let (before, after) =
                (outcome.findings.iter().filter(same).count(), after.findings.iter().filter(same).count());
            assert!(after < before, "{}: `{}` does not clear it", finding.rule.name, remedy.title);
            tried += 1;
        }
    }
    assert!(tried >= 3, "only {tried} remedies are offered");
}

/// Layouts that are drawn as they lie bring no finding that was not there before.
#[test]
fn layouts_that_are_drawn_are_found_as_they_were() {
    let mut tried = 0;
    for path in designs() {
        let bytes = std::fs::read(&path).unwrap();
        let outcome = check(&path, &bytes, false);
        let job = Job {
            path: path.to_str().unwrap(),
            bytes: &bytes,
            files: &|path| std::fs::read(path).map_err(|error| error.to_string()),
            house_standard: None,
            today: jiff::civil::date(2026, 6, 1),
            remedies: false,
        };
        let names = (0..outcome.design.loops.len()).filter_map(|at| outcome.design.loops.at(at)).map(|it| it.0);
        let Some(drawn) = names.filter_map(|name| check::draw_layout(&job, &outcome.workings, name)).next() else {
            continue;
        };
        let texts = outcome.texts_after(&drawn.changes).unwrap();
        let after = check(&path, texts[0].as_bytes(), false);
        let about = |outcome: &Outcome| {
            outcome.findings.iter().map(|it| (it.rule.name, it.at(&outcome.design))).collect::<Vec<_>>()
        };
        let before = about(&outcome);
        let new: Vec<_> = about(&after).into_iter().filter(|it| !before.contains(it)).collect();
        assert_eq!(new, [], "{}: {}", path.display(), drawn.title);
        tried += 1;
    }
    assert!(tried >= 3, "{tried} demo designs have layouts");
}
