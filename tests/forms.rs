//! The forms in which `check` writes findings, held against the published schemas of those forms.

mod program;

use program::{Folder, fitting};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet, HashSet};

const TODAY: &str = "2026-06-01";

/// Designs with all that a form has to cope with: related places, remedies, libraries, departures, accepted findings, a house standard
/// with pages, names that are markup, a file that cannot be read.
fn designs(name: &str) -> Folder {
    let odd = "format: 1\nproject: {name: Odd, stage: for comment}\nlibrary: [lib/pipes.ufh.yaml]\nrooms:\n  \"<b> {0} \\u0001 & 'x'\": {area: 12, use: living}\n\
               water: {colour: blue}\ndepartures:\n  - {rule: unknown-field, at: water/colour, reason: kept \"for\" <us>, agreed-by: reviewer, until: 2026-12-31}\n";
    Folder::new(name)
        .with_demo_designs()
        .with("odd/odd.ufh.yaml", odd)
        .with("odd/lib/pipes.ufh.yaml", "format: 1\npipes: {thin: {material: PE-X, colour: red}}\n")
        .with(
            "odd/house-standard.yaml",
            "format: 1\nhouse-standard: {name: Ours, guidance: https://example.org/rules}\n",
        )
}

fn written(folder: &Folder, form: &str, more: &[&str]) -> String {
    let mut arguments = vec!["check", "demo-designs", "odd", "gone.ufh.yaml", "--today", TODAY, "--format", form];
    arguments.extend(more);
    let ended = folder.run(&arguments);
    assert_eq!(ended.status, 2, "one file is not there: {}", ended.err);
    ended.out
}

/// What `--format json` says, by which the other forms are judged.
fn findings(folder: &Folder, more: &[&str]) -> Vec<Value> {
    let document = fitting(&written(folder, "json", more), include_str!("../schema/check.schema.json"));
    let designs = document["designs"].as_array().cloned().unwrap_or_default();
    designs.iter().flat_map(|it| it["findings"].as_array().cloned().unwrap_or_default()).collect()
}

#[test]
fn a_log_in_sarif_fits_the_published_schema_and_says_all_that_json_says() {
    let folder = designs("sarif");
    let list = folder.run(&["check", "odd", "--today", TODAY, "--accepted", "accepted.yaml", "--write-accepted"]);
    assert!(list.err.contains("accepted.yaml: "), "{}", list.err);
    let accepted = ["--accepted", "accepted.yaml"];
    let log = written(&folder, "sarif", &accepted);
    let schema = include_str!("reference/formats/sarif-schema-2.1.0.json");
    let mut schema: Value = serde_json::from_str(schema).expect("the schema is JSON");
    // As it is published the pattern of languages has a bracket too many, and is no regular expression.
    for of in ["run", "toolComponent"] {
        let language = &mut schema["definitions"][of]["properties"]["language"];
        assert!(language.as_object_mut().is_some_and(|it| it.remove("pattern").is_some()));
    }
    let log: Value = serde_json::from_str(&log).expect("a log is JSON");
    let schema =
        jsonschema::draft7::options().should_validate_formats(true).build(&schema).expect("the schema is a schema");
    let faults: Vec<String> = schema.iter_errors(&log).map(|it| format!("{}: {it}", it.instance_path())).collect();
    assert!(faults.is_empty(), "{faults:#?}");

    let run = &log["runs"][0];
    let results = run["results"].as_array().expect("a run has results");
    let standing: Vec<&Value> = results.iter().filter(|it| it["suppressions"] == Value::Array(Vec::new())).collect();
    let findings = findings(&folder, &accepted);
    assert!(findings.len() > 50, "{}", findings.len());
    assert_eq!(standing.len(), findings.len());
    for (result, finding) in standing.iter().zip(&findings) {
        let message = result["message"]["text"].as_str().unwrap_or_default().replace("{{", "{").replace("}}", "}");
        assert_eq!(
            (&result["ruleId"], message.as_str()),
            (&finding["rule"], finding["message"].as_str().unwrap_or(""))
        );
        let place = &result["locations"][0];
        let region = &place["physicalLocation"]["region"];
        for (key, end, part) in
            [("startLine", "start", "line"), ("startColumn", "start", "column"), ("endColumn", "end", "column")]
        {
            assert_eq!(region[key], finding["span"][end][part], "{result:#}");
        }
        assert_eq!(place["logicalLocations"][0]["fullyQualifiedName"], finding["at"]);
        assert_eq!(result["relatedLocations"].as_array().map(Vec::len), finding["related"].as_array().map(Vec::len));
        assert_eq!(result["fixes"].as_array().map(Vec::len), finding["remedies"].as_array().map(Vec::len));
    }
    let suppressed: BTreeSet<&str> = results.iter().filter_map(|it| it["suppressions"][0]["kind"].as_str()).collect();
    assert_eq!(suppressed, BTreeSet::from(["external", "inSource"]));

    // What is referred to is there, and once.
    let ids = |list: &Value, key: &str| -> Vec<String> {
        list.as_array().into_iter().flatten().filter_map(|it| it[key].as_str()).map(str::to_string).collect()
    };
    let rules = ids(&run["tool"]["driver"]["rules"], "id");
    assert_eq!(rules.iter().collect::<HashSet<_>>().len(), rules.len());
    assert!(ids(&run["results"], "ruleId").iter().all(|it| rules.contains(it)));
    let prints: HashSet<String> =
        results.iter().map(|it| it["partialFingerprints"]["ruleAndPlace/v1"].to_string()).collect();
    assert_eq!(prints.len(), results.len(), "no two findings have one fingerprint");
    let uris: Vec<String> = run["artifacts"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|it| it["location"]["uri"].as_str())
        .map(str::to_string)
        .collect();
    for result in results {
        let uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].as_str().unwrap_or("");
        assert!(uris.iter().any(|it| it == uri) && !uri.starts_with('/'), "{uri}");
    }
    for rule in run["tool"]["driver"]["rules"].as_array().into_iter().flatten() {
        let [text, markdown] = ["text", "markdown"].map(|form| rule["help"][form].as_str().unwrap_or_default());
        let (name, summary) =
            (rule["id"].as_str().unwrap_or("?"), rule["shortDescription"]["text"].as_str().unwrap_or("?"));
        // The page as text has lines of a width.
        let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        let says_it = [text, markdown].iter().all(|page| words(page).contains(summary.trim_end_matches('.')));
        assert!(says_it && markdown.contains("\n## "), "{name}: {markdown}");
    }
    let addressed =
        run["tool"]["driver"]["rules"].as_array().into_iter().flatten().filter(|it| it["helpUri"].is_string()).count();
    assert!(addressed > 0, "the house standard of one design has pages");
    let invocation = &run["invocations"][0];
    assert_eq!((&invocation["executionSuccessful"], &invocation["exitCode"]), (&Value::Bool(false), &Value::from(2)));
    let notes = invocation["toolExecutionNotifications"].as_array().expect("what was not checked is told");
    assert!(
        notes.iter().any(|it| it["level"] == "error" && it["message"]["text"].to_string().contains("gone.ufh.yaml"))
    );
    assert!(notes.iter().any(|it| it["descriptor"]["id"] == "not-checked"));
}

/// A host knows a finding again by its fingerprint: when lines above it come, when it stands otherwise in the file, on another machine.
#[test]
fn a_finding_keeps_its_fingerprint() {
    let text = "format: 1\nproject: {stage: for comment}\nrooms:\n  hall: {area: 12, use: living}\n  den: {area: 9 m², use: livng}\nloops: {L1: {room: hal}}\n";
    let elsewhere = "# Written anew.\n\nformat: 1\nproject:\n  stage: for comment\nloops:\n  L1:\n    room: hal\n\nrooms:\n  den:\n    use: livng\n    area: 9 m²\n  hall: {use: living, area: 12}\n";
    let one = Folder::new("prints").with("a/b.ufh.yaml", text);
    let other = Folder::new("prints-of-another-machine").with("a/b.ufh.yaml", elsewhere.replace('\n', "\r\n"));
    let prints = |folder: &Folder, path: &str| -> BTreeMap<String, String> {
        let run = |form: &str| -> Value {
            let ended = folder.run(&["check", path, "--today", TODAY, "--format", form]);
            serde_json::from_str(&ended.out).expect("it is JSON")
        };
        let (log, report) = (run("sarif"), run("gitlab"));
        let results = log["runs"][0]["results"].as_array().cloned().unwrap_or_default();
        let said = |it: &Value, rule: &str, message: &Value, print: &Value| {
            (format!("{} {message}", it[rule]), print.as_str().unwrap_or_default().to_string())
        };
        let of_log: BTreeMap<_, _> = results
            .iter()
            .map(|it| said(it, "ruleId", &it["message"]["text"], &it["partialFingerprints"]["primaryLocationLineHash"]))
            .collect();
        let issues = report.as_array().cloned().unwrap_or_default();
        let of_report: BTreeMap<_, _> =
            issues.iter().map(|it| said(it, "check_name", &it["description"], &it["fingerprint"])).collect();
        assert_eq!(of_log, of_report, "one finding has one fingerprint");
        of_log
    };
    let (first, again) = (prints(&one, "a/b.ufh.yaml"), prints(&other, "./a/b.ufh.yaml"));
    assert!(first.len() > 3, "{first:#?}");
    assert_eq!(first, again);
    assert_eq!(first, prints(&one, "a"), "found in a folder or named, it is the same");
    assert_eq!(first, prints(&one, &one.0.join("a").to_string_lossy()), "and so it is by its whole path");
}

/// A viewer that applies a fix gets the text that the remedy was tried with.
#[test]
fn a_fix_in_sarif_puts_the_finding_right() {
    let text = "format: 1\nproject: {name: \"21 °C 🔥\", stage: preliminary}\nrooms: {hall: {use: living, temperature: 21, area: 12 m²}} # °\n";
    let folder = Folder::new("fix").with("a.ufh.yaml", text);
    let ended = folder.run(&["check", "a.ufh.yaml", "--today", TODAY, "--format", "sarif"]);
    let log: Value = serde_json::from_str(&ended.out).expect("a log is JSON");
    let results = log["runs"][0]["results"].as_array().expect("a run has results");
    let bare = results.iter().find(|it| it["ruleId"] == "unit-missing-or-wrong").expect("`21` has no unit");
    let replacement = &bare["fixes"][0]["artifactChanges"][0]["replacements"][0];
    let region = &replacement["deletedRegion"];
    let at = |line: &str, column: &str| {
        let (line, column) =
            (region[line].as_u64().unwrap_or(0) as usize, region[column].as_u64().unwrap_or(0) as usize);
        let before: usize = text.split_inclusive('\n').take(line - 1).map(str::len).sum();
        let line = text.split_inclusive('\n').nth(line - 1).expect("the line is there");
        before + line.chars().take(column - 1).map(char::len_utf8).sum::<usize>()
    };
    let (start, end) = (at("startLine", "startColumn"), at("endLine", "endColumn"));
    let inserted = replacement["insertedContent"]["text"].as_str().unwrap_or("");
    let mended = format!("{}{inserted}{}", &text[..start], &text[end..]);
    assert!(mended.contains("temperature: 21 °C"), "{mended}");
}

/// The schema of JUnit XML is read for which elements may stand in which, and for their attributes.
#[test]
fn junit_fits_the_published_schema() {
    let folder = designs("junit");
    let text = written(&folder, "junit", &["--fail-on", "warning"]);
    let document = roxmltree::Document::parse(&text).unwrap_or_else(|error| panic!("{error}\n{text}"));
    let schema = roxmltree::Document::parse(include_str!("reference/formats/junit-10.xsd")).expect("the schema is XML");
    let declared: BTreeMap<&str, roxmltree::Node> = (schema.root_element().children())
        .filter(|it| it.has_tag_name(("http://www.w3.org/2001/XMLSchema", "element")))
        .filter_map(|it| Some((it.attribute("name")?, it)))
        .collect();
    let mut seen = BTreeSet::new();
    for element in document.descendants().filter(|it| it.is_element()) {
        let name = element.tag_name().name();
        seen.insert(name);
        let of = declared.get(name).unwrap_or_else(|| panic!("<{name}> is not declared"));
        let below = |kind: &'static str| of.descendants().filter(move |it| it.tag_name().name() == kind);
        for attribute in element.attributes() {
            assert!(
                below("attribute").any(|it| it.attribute("name") == Some(attribute.name())),
                "{name} {}",
                attribute.name()
            );
        }
        for wanted in below("attribute").filter(|it| it.attribute("use") == Some("required")) {
            assert!(element.attribute(wanted.attribute("name").unwrap_or("")).is_some(), "{name} lacks {wanted:?}");
        }
        for child in element.children().filter(|it| it.is_element()) {
            assert!(
                below("element").any(|it| it.attribute("ref") == Some(child.tag_name().name())),
                "{name}: {child:?}"
            );
        }
    }
    assert!(["testsuite", "testcase", "failure", "error", "skipped", "system-out"].iter().all(|it| seen.contains(it)));

    // The numbers are those of what stands there.
    for suite in document.descendants().filter(|it| it.has_tag_name("testsuite")) {
        let cases: Vec<_> = suite.children().filter(|it| it.has_tag_name("testcase")).collect();
        let with =
            |tag: &str| cases.iter().filter(|it| it.children().any(|it| it.has_tag_name(tag))).count().to_string();
        let stated = |key: &str| suite.attribute(key).unwrap_or("").to_string();
        assert_eq!(stated("tests"), cases.len().to_string());
        assert_eq!(
            [stated("failures"), stated("errors"), stated("skipped")],
            [with("failure"), with("error"), with("skipped")]
        );
    }
    // What was not made, departed from or accepted is as many cases as other forms count.
    let document_of =
        |more: &[&str]| -> Value { serde_json::from_str(&written(&folder, "json", more)).expect("it is JSON") };
    let summary = &document_of(&[])["summary"];
    let skipped = document.descendants().filter(|it| it.has_tag_name("skipped")).count() as u64;
    let counted = ["not-checked", "departures", "accepted"].iter().filter_map(|key| summary[key].as_u64()).sum::<u64>();
    assert_eq!(skipped, counted);
    let failing =
        findings(&folder, &[]).iter().filter(|it| it["severity"] == "error" || it["severity"] == "warning").count();
    assert_eq!(document.descendants().filter(|it| it.has_tag_name("failure")).count(), failing);
}

#[test]
fn the_forms_of_hosts_hold_every_finding() {
    let folder = designs("hosts");
    let findings = findings(&folder, &[]);
    let report: Vec<Value> = serde_json::from_str(&written(&folder, "gitlab", &[])).expect("a report is a list");
    let said: Vec<[&Value; 4]> = report
        .iter()
        .map(|it| [&it["check_name"], &it["description"], &it["location"]["path"], &it["location"]["lines"]["begin"]])
        .collect();
    let wanted: Vec<[&Value; 4]> =
        findings.iter().map(|it| [&it["rule"], &it["message"], &it["file"], &it["span"]["start"]["line"]]).collect();
    assert_eq!(said, wanted);

    let commands = written(&folder, "github", &[]);
    for (command, severities) in
        [("::error ", &["error"][..]), ("::warning ", &["warning"]), ("::notice ", &["information", "hint"])]
    {
        let wanted = findings.iter().filter(|it| severities.iter().any(|severity| it["severity"] == *severity)).count();
        // A file that cannot be read is an error too.
        let wanted = wanted + usize::from(command == "::error ");
        assert_eq!(commands.lines().filter(|it| it.starts_with(command)).count(), wanted, "{command}");
    }
    assert!(commands.contains("\n::error title=unreadable::cannot check gone.ufh.yaml: there is no such file\n"));
    let comment = written(&folder, "markdown", &[]);
    assert!(comment.starts_with("<!-- hypocaust check -->\n## ") && comment.len() < 65_000, "{}", comment.len());
    assert!(comment.contains("- **not checked** gone.ufh.yaml: there is no such file\n"), "{comment}");

    let summary = written(&folder, "summary", &[]);
    let designs: Vec<&str> = summary.lines().filter(|it| it.contains(".yaml: ")).collect();
    assert!(
        designs.len() > 10 && designs.iter().any(|it| it.starts_with("demo-designs/kiln-yard.ufh.yaml: nothing found")),
        "{summary}"
    );
}

/// Files that are made to take long, or to break out of a form, end soon in every form.
#[test]
fn hostile_files_end_soon_in_every_form() {
    let names: String = (0..2000)
        .map(|at| format!("  \"]]>{at}&#x0;\\u2028\\u202e\\x85\\e[2J%0A::error::\": {{area: {at}}}\n"))
        .collect();
    let folder = Folder::new("hostile")
        .with("one-line.ufh.yaml", format!("format: 1\nrooms: {{{}}}\n", "a: {area: 1}, ".repeat(70_000)))
        .with("names.ufh.yaml", format!("format: 1\nrooms:\n{names}"))
        .with("deep.ufh.yaml", format!("format: 1\nrooms: {}", "[".repeat(10_000)))
        .with("empty.ufh.yaml", "");
    for form in ["text", "summary", "json", "sarif", "junit", "gitlab", "github", "markdown"] {
        let ended = folder.run(&["check", ".", "--today", TODAY, "--format", form]);
        assert_eq!((ended.status, &*ended.err), (1, ""), "{form}");
        assert!(
            ended.out.len() < 4_000_000 && !ended.out.contains(['\u{1b}', '\u{2028}', '\u{202e}', '\u{85}']),
            "{form}: {}",
            ended.out.len()
        );
        match form {
            "json" | "sarif" | "gitlab" => drop(serde_json::from_str::<Value>(&ended.out).expect("it is JSON")),
            "junit" => drop(roxmltree::Document::parse(&ended.out).expect("it is XML")),
            "github" => assert!(ended.out.lines().all(|line| !line.contains("::error::"))),
            _ => {}
        }
    }
}
