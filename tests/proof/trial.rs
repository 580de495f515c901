//! A clean design with its library, changed and checked.

use check::{Finding, Job, Outcome, Severity};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use yaml_tree::FileId;

#[derive(Clone)]
pub struct Texts {
    path: PathBuf,
    pub design: String,
    /// The one that the demo designs share.
    pub library: String,
}

/// What is said in one finding, without its place.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Said {
    pub rule: &'static str,
    pub at: String,
    pub severity: Severity,
    pub message: String,
}

impl Texts {
    /// A demo design, or one of those in `seeded/`, by name.
    pub fn of(name: &str) -> Texts {
        let here = Path::new(env!("CARGO_MANIFEST_DIR"));
        let file = format!("{name}.ufh.yaml");
        let own = here.join("seeded").join(&file);
        let path = if own.exists() { own } else { here.join("../demo-designs").join(&file) };
        let design = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let library = here.join("../demo-designs/library/house-parts.ufh.yaml");
        Texts { path, design, library: std::fs::read_to_string(library).unwrap() }
    }

    /// Whether it is one of those in `seeded/`.
    pub fn is_made_for_seeds(&self) -> bool {
        self.path.parent().is_some_and(|folder| folder.ends_with("seeded"))
    }

    /// With other text at some places, each of which stands once in the design or, if not there, in its library.
    pub fn changed(mut self, change: &BTreeMap<String, String>) -> Result<Texts, String> {
        let mut edits = [Vec::new(), Vec::new()];
        for (old, new) in change {
            let places = |text: &str| -> Vec<usize> { text.match_indices(old.as_str()).map(|(at, _)| at).collect() };
            let (file, at) = match (&places(&self.design)[..], &places(&self.library)[..]) {
                ([at], _) => (0, *at),
                ([], [at]) => (1, *at),
                (here, _) => return Err(format!("`{old}` stands {} times in {}", here.len(), self.path.display())),
            };
            edits[file].push(yaml_tree::Edit { range: at..at + old.len(), text: new.clone() });
        }
        for (text, edits) in [&mut self.design, &mut self.library].into_iter().zip(edits) {
            *text = yaml_tree::apply(text, &edits).map_err(|fault| fault.to_string())?;
        }
        Ok(self)
    }

    pub fn check(&self) -> Outcome {
        check::check(&Job {
            path: self.path.to_str().unwrap(),
            bytes: self.design.as_bytes(),
            files: &|path| match path.ends_with("house-parts.ufh.yaml") {
                true => Ok(self.library.clone().into_bytes()),
                false => std::fs::read(path).map_err(|error| error.to_string()),
            },
            house_standard: None,
            today: jiff::civil::date(2026, 6, 1),
            remedies: false,
        })
    }
}

pub fn said(outcome: &Outcome, finding: &Finding) -> Said {
    let (rule, at) = (finding.rule.name, finding.at(&outcome.design));
    Said { rule, at, severity: finding.severity, message: finding.message.clone() }
}

/// The findings in an order that does not hang on places in the file, with the keys that lead to the place of each.
pub fn placed(outcome: &Outcome) -> Vec<(Said, String)> {
    let place = |finding: &Finding| {
        let text = &outcome.sources[finding.place.file.number()].text;
        yaml_tree::parse(FileId::new(0), text).paths(&[finding.place.range().start as u32]).remove(0)
    };
    let mut all: Vec<(Said, String)> = outcome.findings.iter().map(|it| (said(outcome, it), place(it))).collect();
    all.sort();
    all
}
