//! The command line as a person or a build meets it: arguments, streams, exit status.
//!
//! These run the program itself and are few; what is found and how it is worded is tested where it is made.

mod program;

use program::{Folder, fitting};
use std::path::Path;
use std::process::{Command, Stdio};

/// A design in which nothing is wrong.
const CLEAN: &str = include_str!("../crates/check/src/bench/base.ufh.yaml");
/// A design with one error: an area without a unit.
const WRONG: &str = "format: 1\nrooms:\n  hall: {area: 12}\n";
/// A design with one warning: a key that the format does not know, at the preliminary stage.
const DOUBTFUL: &str = "format: 1\nproject: {name: Kiln Yard, colour: red}\n";

/// The rules that the findings of the first design are of.
fn rules(document: &serde_json::Value) -> Vec<&str> {
    let findings = document["designs"][0]["findings"].as_array().expect("a design was checked");
    findings.iter().filter_map(|it| it["rule"].as_str()).collect()
}

#[test]
fn a_clean_design_ends_with_0_and_the_caution() {
    let folder = Folder::new("clean").with("house.ufh.yaml", CLEAN);
    let ended = folder.run(&["check", "house.ufh.yaml", "--today", "2026-06-01", "--fail-on", "hint"]);
    assert_eq!((ended.status, &*ended.err), (0, ""), "{}", ended.out);
    assert!(ended.out.contains("\nhouse.ufh.yaml: nothing found"), "{}", ended.out);
    assert!(ended.out.contains("This report compares a design file with stated limits."), "{}", ended.out);
}

#[test]
fn findings_fail_from_the_severity_asked_for() {
    let folder = Folder::new("fail-on").with("a.ufh.yaml", DOUBTFUL).with("b.ufh.yaml", WRONG);
    assert_eq!(folder.run(&["check", "a.ufh.yaml"]).status, 0);
    for (severity, status) in [("error", 0), ("warning", 1), ("information", 1), ("hint", 1)] {
        let ended = folder.run(&["check", "a.ufh.yaml", "--fail-on", severity]);
        assert_eq!(ended.status, status, "{severity}: {}", ended.out);
        assert!(ended.out.contains("warning[unknown-field]: "), "{}", ended.out);
    }
    assert_eq!(folder.run(&["check", "b.ufh.yaml"]).status, 1);
}

#[test]
fn what_cannot_be_read_ends_with_2_and_the_rest_is_printed() {
    let folder = Folder::new("unreadable").with("house.ufh.yaml", WRONG);
    let (ended, document) = folder.check_json(&["gone.ufh.yaml", "house.ufh.yaml"]);
    assert_eq!(ended.status, 2);
    assert!(ended.err.contains("cannot check `gone.ufh.yaml`: there is no such file"), "{}", ended.err);
    assert_eq!(document["unreadable"][0]["file"], "gone.ufh.yaml");
    assert_eq!(document["designs"][0]["file"], "house.ufh.yaml");
    assert!(rules(&document).contains(&"unit-missing-or-wrong"));
}

#[test]
fn a_file_that_is_too_large_cannot_be_read() {
    let large = format!("format: 1\n{}", "# a comment\n".repeat(20_000_000 / 12));
    let folder = Folder::new("large").with("large.ufh.yaml", &large);
    let ended = folder.run(&["check", "large.ufh.yaml"]);
    assert_eq!(ended.status, 2);
    assert!(ended.err.contains("cannot check `large.ufh.yaml`: it has 20 MiB, and up to 16 MiB are"), "{}", ended.err);
    let ended = folder.run_with(&["check", "-"], large.as_bytes());
    assert_eq!(ended.status, 2);
    assert!(ended.err.contains("it has more than 16 MiB"), "{}", ended.err);
}

#[test]
fn a_folder_is_searched_for_designs() {
    let folder = Folder::new("folder")
        .with("site/b/house.ufh.yaml", "format: 1\nlibrary: [../pipes.ufh.yaml]\nrooms: {}\n")
        .with("site/a.ufh.yaml", CLEAN)
        .with("site/pipes.ufh.yaml", "format: 1\npipes: {thin: {material: PE-X}}\n")
        .with("site/empty.ufh.yaml", "\n")
        .with("site/notes.yaml", "a: 1\n")
        .with("site/old/house.ufh.yaml", CLEAN)
        .with("site/.gitignore", "old\n");
    let files = |document: &serde_json::Value| -> Vec<String> {
        let designs = document["designs"].as_array().cloned().unwrap_or_default();
        designs.iter().filter_map(|it| it["file"].as_str()).map(str::to_string).collect()
    };
    let (_, document) = folder.check_json(&["site"]);
    assert_eq!(files(&document), ["site/a.ufh.yaml", "site/b/house.ufh.yaml", "site/empty.ufh.yaml"]);
    let said = document["designs"][1]["findings"].to_string();
    assert!(!said.contains("cannot be read"), "a library is looked for from where the design stands: {said}");

    let (_, document) = folder.check_json(&["site/pipes.ufh.yaml", "site/old", "site/a.ufh.yaml", "site"]);
    let wanted = ["site/pipes.ufh.yaml", "site/old/house.ufh.yaml", "site/a.ufh.yaml", "site/b/house.ufh.yaml"];
    assert_eq!(files(&document)[..4], wanted, "what is named is checked, and once");
}

#[test]
fn a_folder_without_designs_is_no_success() {
    let folder = Folder::new("no-designs").with("x.ufh.yaml/notes.txt", "").with("lib/p.ufh.yaml", "pipes: {}\n");
    let ended = folder.run(&["check", "x.ufh.yaml"]);
    assert_eq!(ended.status, 2);
    assert!(ended.err.contains("the folder holds no design"), "{}", ended.err);
    let ended = folder.run(&["check", "lib"]);
    assert_eq!(ended.status, 2);
    assert!(ended.err.contains("there is no design to check"), "{}", ended.err);
}

#[test]
fn standard_input_is_a_design() {
    let folder = Folder::new("stdin").with("pipes.ufh.yaml", "format: 1\npipes: {thin: {material: PE-X}}\n");
    let input = b"format: 1\nlibrary: [pipes.ufh.yaml]\nrooms: {hall: {area: 12}}\n";
    let ended = folder.run_with(&["check", "-"], input);
    assert_eq!(ended.status, 1);
    assert!(ended.out.contains("┌─ standard input:3:22"), "{}", ended.out);
    assert!(!ended.out.contains("pipes.ufh.yaml` cannot be read"), "{}", ended.out);
    let ended = folder.run_with(&["check", "-", "--format", "json"], input);
    assert_eq!(fitting(&ended.out, include_str!("../schema/check.schema.json"))["designs"][0]["file"], "-");
}

#[test]
fn a_wrong_option_ends_with_2_and_says_what_is_right() {
    let folder = Folder::new("options").with("house.ufh.yaml", CLEAN);
    for (arguments, said) in [
        (&["check", "house.ufh.yaml", "--fail-on", "fatal"][..], "hint, information, warning, error"),
        (&["check", "house.ufh.yaml", "--today", "1 June"], "2026-05-31"),
        (&["check", "house.ufh.yaml", "--formt", "json"], "--format"),
        (&["check"], "<PATHS>..."),
        (&["chek", "house.ufh.yaml"], "check"),
    ] {
        let ended = folder.run(arguments);
        assert_eq!((ended.status, &*ended.out), (2, ""), "{arguments:?}");
        assert!(ended.err.contains(said), "{arguments:?}: {}", ended.err);
    }
}

#[test]
fn hostile_files_end_soon_with_a_finding() {
    let mut alias_bomb = String::from("format: 1\nrooms: &a0 {hall: {}}\n");
    for level in 1..12 {
        let before = format!("*a{}, ", level - 1).repeat(9);
        alias_bomb += &format!("x{level}: &a{level} [{before}]\n");
    }
    let mut latin = b"format: 1\nrooms: {hall: {temperature: 21 ".to_vec();
    latin.extend(b"\xb0C}}\n");
    let folder = Folder::new("hostile")
        .with("latin.ufh.yaml", latin)
        .with("utf16.ufh.yaml", b"\xff\xfef\0o\0")
        .with("deep.ufh.yaml", format!("format: 1\nrooms: {}", "[".repeat(10_000)))
        .with("braces.ufh.yaml", format!("format: 1\nrooms: {}", "{a: ".repeat(10_000)))
        .with("bomb.ufh.yaml", alias_bomb)
        .with("nul.ufh.yaml", "format: 1\nrooms:\n  hall: {area: 1\0 m²}\n")
        .with("one-line.ufh.yaml", format!("format: 1\nrooms: {{{}}}\n", "a: {area: 1}, ".repeat(70_000)))
        .with("empty.ufh.yaml", "");
    for (file, rule) in [
        ("latin.ufh.yaml", "syntax-error"),
        ("utf16.ufh.yaml", "syntax-error"),
        ("deep.ufh.yaml", "syntax-error"),
        ("braces.ufh.yaml", "syntax-error"),
        ("bomb.ufh.yaml", "unknown-field"),
        ("nul.ufh.yaml", "syntax-error"),
        ("one-line.ufh.yaml", "unit-missing-or-wrong"),
        ("empty.ufh.yaml", "format-version-unknown"),
    ] {
        let (ended, document) = folder.check_json(&[file]);
        assert!(rules(&document).contains(&rule), "{file}: {:.2000}", ended.out);
        let text = folder.run(&["check", file]);
        assert_eq!((text.status, text.err), (ended.status, ended.err), "{file}");
        assert!(text.out.contains(&format!("[{rule}]: ")) && text.out.len() < 500_000, "{file}");
    }
}

#[test]
fn a_byte_order_mark_and_windows_line_ends_are_no_fault() {
    let folder = Folder::new("windows").with("house.ufh.yaml", format!("\u{feff}{}", CLEAN.replace('\n', "\r\n")));
    let (ended, document) = folder.check_json(&["house.ufh.yaml"]);
    assert_eq!((ended.status, rules(&document)), (0, vec![]));
}

#[cfg(unix)]
#[test]
fn a_library_that_is_no_file_is_a_finding() {
    let libraries = "format: 1\nlibrary: [/dev/zero, folder.yaml, gone.yaml]\nrooms: {}\n";
    let folder = Folder::new("library").with("house.ufh.yaml", libraries).with("folder.yaml/x", "");
    let (ended, document) = folder.check_json(&["house.ufh.yaml"]);
    assert_eq!(ended.status, 1);
    for said in ["ends with `.yaml`", "it is a folder", "there is no such file"] {
        assert!(document.to_string().contains(said), "{document:#}");
    }
    let ended = folder.run(&["check", "/dev/zero"]);
    assert_eq!(ended.status, 2);
    assert!(ended.err.contains("it is no ordinary file"), "{}", ended.err);
}

#[test]
fn workings_show_figures_by_name() {
    let folder = Folder::new("workings").with("house.ufh.yaml", CLEAN).with("wrong.ufh.yaml", WRONG);
    let ended = folder.run(&["workings", "house.ufh.yaml", "--format", "json"]);
    assert_eq!((ended.status, &*ended.err), (0, ""));
    let sheet = fitting(&ended.out, include_str!("../schema/workings.schema.json"));
    let figures = sheet["figures"].as_object().expect("a sheet has figures");
    assert!(figures.contains_key("rooms.hall.area"), "{:?}", figures.keys());

    let ended = folder.run(&["workings", "house.ufh.yaml", "rooms/hall"]);
    assert_eq!(ended.status, 0);
    assert!(ended.out.starts_with("rooms.hall.area = 12.0 m²\n"), "{}", ended.out);
    assert!(!ended.out.contains("loops."), "{}", ended.out);

    let ended = folder.run(&["workings", "house.ufh.yaml", "rooms.hal.area"]);
    assert_eq!((ended.status, &*ended.out), (2, ""));
    assert!(ended.err.contains("did you mean `rooms.hall.area`?"), "{}", ended.err);

    // Shown all the same, but whoever sees only the figures is told that the file was read in part.
    let ended = folder.run(&["workings", "wrong.ufh.yaml"]);
    assert_eq!(ended.status, 1);
    assert!(!ended.out.is_empty());
    assert!(ended.err.contains("error[unit-missing-or-wrong]: "), "{}", ended.err);
}

#[test]
fn the_schedule_sets_out_loops_by_port() {
    let folder = Folder::new("schedule")
        .with("house.ufh.yaml", CLEAN)
        .with("half.ufh.yaml", "format: 1\nloops: {\"=1+1\": {port: 2}}\n");
    let ended = folder.run(&["schedule", "house.ufh.yaml"]);
    assert_eq!((ended.status, &*ended.err), (0, ""));
    assert!(ended.out.contains("\nManifold M1: "), "{}", ended.out);
    assert!(ended.out.contains(" left\n"), "{}", ended.out);

    let sheet = folder.run(&["workings", "house.ufh.yaml", "--format", "json"]);
    let sheet = fitting(&sheet.out, include_str!("../schema/workings.schema.json"));
    let json = folder.run(&["schedule", "house.ufh.yaml", "--format", "json"]);
    let schedule = fitting(&json.out, include_str!("../schema/schedule.schema.json"));
    let loops = schedule["manifolds"][0]["loops"].as_array().expect("M1 has loops");
    assert_eq!(loops.iter().map(|it| &it["name"]).collect::<Vec<_>>(), ["L1", "L2"]);
    for (key, figure) in [("length", "length"), ("pressure-drop", "pressure-drop"), ("heat-up", "heat-up")] {
        assert_eq!(loops[0][key], sheet["figures"][format!("loops.L1.{figure}")]["value"], "{key}");
    }

    let csv = folder.run(&["schedule", "house.ufh.yaml", "--format", "csv"]).out;
    let lines: Vec<Vec<&str>> = csv.split_terminator("\r\n").map(|line| line.split(',').collect()).collect();
    assert_eq!(lines.len(), 3, "{csv}");
    assert!(lines.iter().all(|line| line.len() == lines[0].len()), "{csv}");
    assert_eq!(lines[1][..4], ["M1", "1", "L1", "hall"]);

    // What is not known is a dash, and says what is missing; no cell runs in a spreadsheet.
    let ended = folder.run(&["schedule", "half.ufh.yaml"]);
    assert!(ended.out.contains("Joined to no manifold\n"), "{}", ended.out);
    assert!(ended.out.contains("loops.=1+1.length: "), "{}", ended.out);
    let ended = folder.run(&["schedule", "half.ufh.yaml", "--format", "csv"]);
    assert!(ended.out.contains("\r\n,2,'=1+1,"), "{}", ended.out);
}

/// A manifold behind a wall without a doorway: the tails are guessed, and the sheet says so. L2 fits in no coil.
#[test]
fn the_schedule_marks_what_is_assumed_and_what_no_coil_holds() {
    let design = "format: 1
project: {stage: for construction}
pipes: {PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: 2 mm, coils: [50 m]}}
rooms:
  lounge: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]], keep-clear: none}
  store: {outline: [[4.1, 0], [6, 0], [6, 3], [4.1, 3]], keep-clear: none}
walls: {W1: {line: [[4.05, 0], [4.05, 3]], thickness: 100 mm}}
manifolds: {M1: {at: [5.9, 1.5], height: 0.6 m, ports: 2}}
loops:
  L1: {manifold: M1, port: 1, room: lounge, pipe: PEX-16, spacing: 300 mm, layout: spiral}
  L2: {manifold: M1, port: 2, room: store, pipe: PEX-16, spacing: 150 mm, length: 70 m, tails: 4 m}
";
    let folder = Folder::new("assumed").with("house.ufh.yaml", design);
    let text = folder.run(&["schedule", "house.ufh.yaml"]);
    assert_eq!((text.status, &*text.err), (0, ""));
    assert!(text.out.contains(" m **"), "{}", text.out);
    assert!(text.out.contains("\n** tails not laid out: their length is assumed\n"), "{}", text.out);
    assert!(text.out.contains("no coil of PEX-16 holds L2 72.1 m; 50.0 m is the longest\n"), "{}", text.out);
    let json = folder.run(&["schedule", "house.ufh.yaml", "--format", "json"]);
    let schedule = fitting(&json.out, include_str!("../schema/schedule.schema.json"));
    let loops = schedule["manifolds"][0]["loops"].as_array().expect("M1 has loops");
    assert_eq!(loops.iter().map(|it| it["tails-assumed"].as_bool()).collect::<Vec<_>>(), [Some(true), Some(false)]);
    assert_eq!(schedule["too-long-for-coils"][0]["loop"], "L2");
    let csv = folder.run(&["schedule", "house.ufh.yaml", "--format", "csv"]).out;
    let lines: Vec<Vec<&str>> = csv.lines().map(|line| line.split(',').collect()).collect();
    let column = lines[0].iter().position(|head| *head == "tails assumed").expect("there is such a column");
    assert_eq!((lines[1][column], lines[2][column]), ("yes", "no"));
}

/// A project block without a revision is a finding of the check, and nothing that could not be read.
#[test]
fn only_what_could_not_be_read_is_told_beside_a_sheet() {
    let design = "format: 1\nproject: {stage: for construction}\nloops: {L1: {port: 1, spacing: 150}}\n";
    let folder = Folder::new("beside").with("house.ufh.yaml", design);
    let ended = folder.run(&["schedule", "house.ufh.yaml"]);
    assert!(ended.err.contains("unit-missing-or-wrong"), "{}", ended.err);
    assert!(!ended.err.contains("revision-missing") && !ended.err.contains("1 error"), "{}", ended.err);
}

/// A clean design with a heat pump that is too warm and a word misspelt, with a comment beside it.
fn spoilt() -> String {
    let text = CLEAN.replacen("flow-temperature: 3", "flow-temperture: 4", 1);
    assert_ne!(text, CLEAN);
    text.replacen("rooms:\n", "rooms: # as the owner wants them\n", 1)
}

#[test]
fn a_design_is_begun_clean_and_never_over_another() {
    let folder = Folder::new("begun");
    let begin =
        ["start", "house.ufh.yaml", "--construction", "bonded-board", "--room", "kitchen 4 x 3", "--room", "hall 6 m²"];
    let ended = folder.run(&begin);
    assert_eq!((ended.status, ended.out.as_str()), (0, ""), "{}", ended.err);
    let (checked, document) = folder.check_json(&["house.ufh.yaml"]);
    assert_eq!((checked.status, rules(&document)), (0, vec![]));
    let text = folder.read("house.ufh.yaml");
    let again = folder.run(&begin);
    assert_eq!(again.status, 2);
    assert!(again.err.contains("is there already"), "{}", again.err);
    assert_eq!(folder.read("house.ufh.yaml"), text);
    for (wrong, says) in [
        (&["start", "other.ufh.yaml"][..], "--construction WORD"),
        (&["start", "other.yaml", "--construction", "bonded-board", "--room", "a 2 x 2"], "NAME.ufh.yaml"),
        (
            &["start", "other.ufh.yaml", "--construction", "bonded-board", "--room", "kitchen"],
            "a room is a name and a size",
        ),
        (&["start", "other.ufh.yaml", "--construction", "marble", "--room", "a 2 x 2"], "castellated-tray"),
    ] {
        let ended = folder.run(wrong);
        assert_eq!(ended.status, 2, "{wrong:?}");
        assert!(ended.err.contains(says), "{wrong:?}: {}", ended.err);
    }
    assert_eq!(std::fs::read_dir(&folder.0).unwrap().count(), 1);
}

#[test]
fn remedies_are_listed_with_what_they_change() {
    let folder = Folder::new("remedies").with("a.ufh.yaml", WRONG);
    let ended = folder.run(&["remedy", "a.ufh.yaml"]);
    assert_eq!(ended.status, 0, "{}", ended.err);
    let wanted = "a.ufh.yaml:3:16: error[unit-missing-or-wrong]: `12` has no unit; an area is wanted, such as `12 m²`\n  \
                  write `12 m²`\n    -   hall: {area: 12}\n    +   hall: {area: 12 m²}\n";
    assert!(ended.out.contains(wanted), "{}", ended.out);
    assert_eq!(folder.read("a.ufh.yaml"), WRONG);
}

#[test]
fn remedies_are_applied_until_none_is_left() {
    let folder = Folder::new("applied").with("a.ufh.yaml", spoilt());
    let ended = folder.run(&["remedy", "a.ufh.yaml", "--apply", "--today", "2026-06-01"]);
    assert_eq!(ended.status, 0, "{}", ended.err);
    assert!(ended.err.contains("write `flow-temperature` (unknown-field)"), "{}", ended.err);
    assert!(ended.out.starts_with("--- a.ufh.yaml\n+++ a.ufh.yaml\n"), "{}", ended.out);
    let mended = folder.read("a.ufh.yaml");
    assert!(mended.contains("rooms: # as the owner wants them\n"), "{mended}");
    let (checked, document) = folder.check_json(&["a.ufh.yaml"]);
    assert_eq!(checked.status, 0, "{}", checked.out);
    assert!(!rules(&document).contains(&"unknown-field"));
    let again = folder.run(&["remedy", "a.ufh.yaml", "--apply", "--today", "2026-06-01"]);
    assert_eq!(again.out, "");
    assert!(again.err.contains("nothing to mend"), "{}", again.err);
    assert_eq!(folder.read("a.ufh.yaml"), mended);
    let others: Vec<_> = std::fs::read_dir(&folder.0).unwrap().collect();
    assert_eq!(others.len(), 1, "{others:?}");
}

#[test]
fn only_the_remedies_of_a_rule_are_applied_if_one_is_named() {
    let folder = Folder::new("only").with("a.ufh.yaml", spoilt());
    let ended = folder.run(&["remedy", "a.ufh.yaml", "--apply", "--only", "unknown-field"]);
    assert_eq!(ended.status, 0, "{}", ended.err);
    assert_eq!(folder.read("a.ufh.yaml"), spoilt().replacen("flow-temperture", "flow-temperature", 1));
    let ended = folder.run(&["remedy", "a.ufh.yaml", "--only", "unknown-feild"]);
    assert_eq!(ended.status, 2);
    assert!(ended.err.contains("did you mean `unknown-field`?"), "{}", ended.err);
}

#[test]
fn mended_standard_input_goes_to_standard_output() {
    let text = format!("\u{feff}{}", WRONG.replace('\n', "\r\n"));
    let ended = Folder::new("mended_input").run_with(&["remedy", "-", "--apply"], text.as_bytes());
    assert_eq!(ended.status, 0, "{}", ended.err);
    assert_eq!(ended.out, text.replace("area: 12}", "area: 12 m²}"));
    assert!(ended.err.contains("write `12 m²` (unit-missing-or-wrong)"), "{}", ended.err);
}

#[test]
fn what_cannot_be_mended_is_left_as_it_is() {
    let utf16: Vec<u8> = "\u{feff}format: 1\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let pipes = "format: 1\npipes:\n  thin: {outside-diametre: 16 mm}\n";
    let folder = Folder::new("not_mended")
        .with("wide.ufh.yaml", &utf16)
        .with("pipes.yaml", pipes)
        .with("a.ufh.yaml", "format: 1\nlibraries: [pipes.yaml]\n");
    let ended = folder.run(&["remedy", "wide.ufh.yaml", "--apply"]);
    assert_eq!(ended.status, 2, "{}", ended.out);
    assert!(ended.err.contains("not text in UTF-8"), "{}", ended.err);
    assert_eq!(std::fs::read(folder.0.join("wide.ufh.yaml")).unwrap(), utf16);
    assert_eq!(folder.run(&["remedy", "a.ufh.yaml", "--apply"]).status, 0);
    assert_eq!(folder.read("pipes.yaml"), pipes);
    assert_eq!(folder.run(&["remedy", "none.ufh.yaml", "--apply"]).status, 2);
}

/// The standard is found on the way up from a design, and only there.
#[test]
fn a_house_standard_holds_for_the_designs_below_it() {
    const STANDARD: &str = "format: 1\nhouse-standard: {name: Our way, guidance: 'https://rules.example/'}\nrules:\n  \
        loop-over-maximum-length: {limits: {longest-17-mm: 40 m}}\n  flow-is-laminar: {switched-off: our floors are slow}\n\
        own-rules:\n  ours-have-names:\n    for-each: loop\n    when: it.name.startsWith(\"L\")\n    message: loop {it.name} is {it.figure.length} \
        long\n    guidance: A loop is named after its room.\n";
    let folder = Folder::new("house standard")
        .with("firm/house-standard.yaml", STANDARD)
        .with("firm/designs/house.ufh.yaml", CLEAN)
        .with("elsewhere/house.ufh.yaml", CLEAN);
    let (ended, document) = folder.check_json(&["firm/designs/house.ufh.yaml"]);
    assert_eq!(ended.status, 1, "{}", ended.out);
    let design = &document["designs"][0];
    let found = |rule: &str| {
        let findings = design["findings"].as_array().expect("a list");
        findings.iter().find(|it| it["rule"] == rule).unwrap_or_else(|| panic!("no {rule} in {}", ended.out)).clone()
    };
    let long = found("loop-over-maximum-length");
    assert_eq!(long["limit"]["value"], 40.0);
    assert_eq!(long["limit-moved"]["by-rule"], "100 m");
    assert_eq!(long["limit-moved"]["file"], "firm/house-standard.yaml");
    assert_eq!(long["limit-moved"]["span"]["start"]["line"], 4);
    assert_eq!(long["guidance"], "https://rules.example/loop-over-maximum-length.html");
    let own = found("ours-have-names");
    assert_eq!((&own["source"], &own["group"]), (&"Our way".into(), &"house standard".into()));
    assert_eq!(design["switched-off"][0]["rule"], "flow-is-laminar");
    let text = folder.run(&["check", "firm", "--today", "2026-06-01"]).out;
    assert!(text.contains("source: the house standard (firm/house-standard.yaml:4); without it 100 m: "), "{text}");
    assert!(text.contains("firm/house-standard.yaml: nothing found"), "{text}");

    // Named without a folder as well, and for the guidance of the folder that one is in.
    let inside = Folder(folder.0.join("firm")).with("house.ufh.yaml", CLEAN);
    assert_eq!(inside.run(&["check", "house.ufh.yaml"]).status, 1);
    assert_eq!(inside.run(&["guidance", "ours-have-names"]).status, 0);

    let (ended, _) = folder.check_json(&["elsewhere/house.ufh.yaml"]);
    assert_eq!(ended.status, 0, "{}", ended.out);
    let named = ["check", "elsewhere/house.ufh.yaml", "--house-standard", "firm/house-standard.yaml"];
    assert_eq!(folder.run(&named).status, 1);
    let ended = folder.run(&["check", "elsewhere/house.ufh.yaml", "--house-standard", "nowhere.yaml"]);
    assert_eq!(ended.status, 2);
    assert!(ended.err.contains("nowhere.yaml"), "{}", ended.err);

    let page = folder.run(&["guidance", "ours-have-names", "--house-standard", "firm/house-standard.yaml"]);
    assert!(
        page.out.contains("A loop is named after its room.") && page.out.contains("it.name.startsWith"),
        "{}",
        page.out
    );
    assert_eq!(folder.run(&["guidance", "ours-have-names"]).status, 2);
}

#[test]
fn a_house_standard_is_begun_and_changes_nothing() {
    let folder = Folder::new("begun standard").with("house.ufh.yaml", CLEAN);
    assert_eq!(folder.run(&["start", "house-standard.yaml"]).status, 0);
    assert_eq!(folder.run(&["start", "house-standard.yaml"]).status, 2, "one that is there is left alone");
    assert_eq!(folder.run(&["check", "house-standard.yaml", "house.ufh.yaml", "--fail-on", "hint"]).status, 0);
}

#[test]
fn guidance_tells_the_rules() {
    let folder = Folder::new("guidance");
    let list = folder.run(&["guidance"]);
    assert_eq!(list.status, 0);
    for line in list.out.lines() {
        let (name, summary) = line.split_once("  ").expect("a name, then what the rule asks");
        assert!(!name.contains(' ') && !summary.trim().is_empty(), "{line}");
    }
    let page = folder.run(&["guidance", "syntax-error"]);
    assert_eq!(page.status, 0);
    assert!(page.out.starts_with("syntax-error\n  The text must be YAML that can be read."), "{}", page.out);
    let unknown = folder.run(&["guidance", "sintax-error"]);
    assert_eq!((unknown.status, &*unknown.out), (2, ""));
    assert!(unknown.err.contains("did you mean `syntax-error`?"), "{}", unknown.err);
}

#[test]
fn guidance_is_written_as_a_site() {
    let folder = Folder::new("site").with("taken", "a file");
    let ended = folder.run(&["guidance", "--site", "pages/rules"]);
    assert_eq!((ended.status, ended.out.as_str()), (0, ""), "{}", ended.err);
    let index = folder.read("pages/rules/index.html");
    assert!(index.contains("<a href=\"syntax-error.html\">syntax-error</a>"), "{index}");
    assert!(folder.read("pages/rules/pipe-class-too-low.html").contains("<h1>pipe-class-too-low</h1>"));
    assert_eq!(folder.run(&["guidance", "--site", "taken"]).status, 2);
    assert_eq!(folder.run(&["guidance", "syntax-error", "--site", "pages"]).status, 2);
}

#[test]
fn schemas_are_schemas() {
    let folder = Folder::new("schemas");
    for of in ["design", "house-standard", "check", "workings", "schedule", "compare", "manifest"] {
        let ended = folder.run(&["schema", of]);
        assert_eq!(ended.status, 0);
        let schema: serde_json::Value = serde_json::from_str(&ended.out).expect("a schema is JSON");
        assert!(jsonschema::meta::is_valid(&schema), "{of}");
        jsonschema::draft202012::new(&schema).expect("a schema can be used");
    }
}

/// What is installed beside the program knows every command and every option.
#[test]
fn completions_and_the_manual_know_every_command() {
    let folder = Folder::new("install");
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let ended = folder.run(&["completions", shell]);
        assert_eq!(ended.status, 0);
        for word in ["hypocaust", "check", "compare", "changed-since"] {
            assert!(ended.out.contains(word), "{shell}: {word}");
        }
        // Not every shell is told the words of an option.
        assert!(!["bash", "zsh", "fish"].contains(&shell) || ended.out.contains("sarif"), "{shell}");
    }
    let ended = folder.run(&["manual", "man/man1"]);
    assert_eq!((ended.status, &*ended.err), (0, ""));
    for command in ["", "-check", "-compare", "-remedy", "-schema", "-manual"] {
        let page = folder.read(&format!("man/man1/hypocaust{command}.1"));
        assert!(page.contains(".SH NAME") && page.contains(".SH SYNOPSIS"), "{page}");
    }
    assert!(folder.read("man/man1/hypocaust-check.1").contains("Exit status"));
    let ended = folder.with("taken", "").run(&["manual", "taken"]);
    assert!(ended.status == 2 && ended.err.contains("cannot write the manual into `taken`"), "{}", ended.err);
}

/// An outline that cannot be read is not missing.
#[test]
fn a_plan_of_what_cannot_be_read_says_so() {
    let utf16: Vec<u8> = std::iter::once(0xfeff).chain(CLEAN.encode_utf16()).flat_map(u16::to_le_bytes).collect();
    let folder = Folder::new("utf16").with("house.ufh.yaml", utf16);
    let ended = folder.run(&["plan", "house.ufh.yaml"]);
    assert_eq!((ended.status, &*ended.out), (2, ""));
    assert!(ended.err.contains("the file is UTF-16"), "{}", ended.err);
    assert!(ended.err.contains("nothing to draw in what could be read"), "{}", ended.err);
}

#[test]
fn every_command_explains_itself() {
    let folder = Folder::new("help");
    for command in ["check", "compare", "workings", "schedule", "guidance", "schema", "language-server"] {
        let ended = folder.run(&[command, "--help"]);
        assert_eq!((ended.status, &*ended.err), (0, ""), "{command}");
        assert!(ended.out.contains(&format!("hypocaust {command} ")), "{}", ended.out);
        assert!(ended.out.contains("Example"), "{}", ended.out);
    }
}

#[test]
fn a_reader_that_closes_the_pipe_is_no_failure() {
    let rooms: String = (0..400).map(|at| format!("  room{at}: {{area: {at}}}\n")).collect();
    let folder = Folder::new("pipe").with("house.ufh.yaml", format!("format: 1\nrooms:\n{rooms}"));
    let mut child = Command::new(env!("CARGO_BIN_EXE_hypocaust"))
        .args(["check", "house.ufh.yaml"])
        .current_dir(&folder.0)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    drop(child.stdout.take());
    let output = child.wait_with_output().expect("the program ends");
    assert_eq!((output.status.code(), &*String::from_utf8_lossy(&output.stderr)), (Some(1), ""));
}

/// What the README shows is what the program says of that file.
#[test]
fn the_readme_shows_what_the_program_says() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let readme = std::fs::read_to_string(root.join("README.md")).expect("there is a README");
    let shown =
        readme.split("```text\n").nth(1).and_then(|rest| rest.split("\n```").next()).expect("it shows findings");
    let said = Command::new(env!("CARGO_BIN_EXE_hypocaust"))
        .args(["check", "demo-designs/full-of-faults.ufh.yaml", "--today", "2026-06-01"])
        .current_dir(&root)
        .output()
        .expect("the program runs");
    let said = String::from_utf8_lossy(&said.stdout);
    for finding in shown.split("\n\n") {
        assert!(said.contains(finding), "the README shows\n{finding}\nbut the program says\n{said}");
    }
}

/// The comparison in the README is what the program says of the design in the README.
#[test]
fn the_readme_shows_what_a_comparison_says() {
    let readme = include_str!("../README.md");
    let block = |of: &str, number: usize| {
        let rest = readme.split(&format!("```{of}\n")).nth(number).expect("the README shows it");
        format!("{}\n", rest.split("\n```").next().unwrap_or_default())
    };
    let old = block("yaml", 1);
    let new = old.replace("heat-loss: 700 W", "heat-loss: 760 W").replace("spacing: 150 mm", "spacing: 100 mm");
    let folder = Folder::new("readme").with("old.ufh.yaml", &old).with("new.ufh.yaml", &new);
    let said = folder.run(&["compare", "old.ufh.yaml", "new.ufh.yaml", "--today", "2026-06-01"]).out;
    let shown =
        readme.split("```text\n").nth(2).and_then(|rest| rest.split("\n```").next()).expect("it shows a comparison");
    assert!(said.starts_with(shown), "the README shows\n{shown}\nbut the program says\n{said}");
}

/// Designs that nobody would draw are checked to the end all the same.
#[test]
fn hostile_designs_are_checked_to_the_end() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/hostile");
    for entry in std::fs::read_dir(folder).expect("the folder is in the checkout") {
        let path = entry.expect("a folder can be listed").path();
        let bytes = std::fs::read(&path).expect("a file can be read");
        let ended = Folder::new("hostile-designs").with("house.ufh.yaml", bytes).run(&["check", "house.ufh.yaml"]);
        assert_eq!(ended.status, 1, "{}: {}", path.display(), ended.err);
    }
}
