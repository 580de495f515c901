//! Two versions of a design, from two files and from a repository.

mod program;

use program::{Ended, Folder, fitting};
use serde_json::Value;

/// A clean design that was issued.
const ISSUED: &str = include_str!("../crates/check/src/bench/base.ufh.yaml");

fn compare(folder: &Folder, more: &[&str]) -> Ended {
    folder.run(&[&["compare", "--today", "2026-06-01"], more].concat())
}

fn compared(folder: &Folder, more: &[&str]) -> (i32, Value) {
    let ended = compare(folder, &[more, &["--format", "json"]].concat());
    (ended.status, fitting(&ended.out, include_str!("../schema/compare.schema.json")))
}

fn thing<'d>(document: &'d Value, at: &str) -> &'d Value {
    let things = document["things"].as_array().expect("things are a list");
    things.iter().find(|it| it["at"] == at).unwrap_or_else(|| panic!("{at}: {document:#}"))
}

#[test]
fn two_files_are_compared() {
    let next = ISSUED.replacen("heat-loss: 600 W", "heat-loss: 700 W", 1).replace("revision: P1", "revision: P2");
    let folder =
        Folder::new("files").with("old.ufh.yaml", ISSUED).with("new.ufh.yaml", &next).with("same.ufh.yaml", ISSUED);
    let (status, document) = compared(&folder, &["old.ufh.yaml", "new.ufh.yaml"]);
    assert_eq!((status, &document["revision"]), (0, &Value::from("raised")), "{document:#}");
    assert_eq!((&document["old"]["revision"], &document["new"]["revision"]), (&Value::from("P1"), &Value::from("P2")));
    let hall = thing(&document, "rooms/hall");
    assert_eq!(hall["given"][0]["before"], "600 W");
    assert_eq!(
        hall["figures"]["heat-needed"]["after"].as_f64().map(f64::round),
        hall["figures"]["heat-needed"]["before"].as_f64().map(|it| it.round() + 100.0)
    );
    let text = compare(&folder, &["old.ufh.yaml", "new.ufh.yaml"]).out;
    for wanted in [
        "old.ufh.yaml -> new.ufh.yaml: P1, for construction -> P2, for construction\n",
        "\nrooms/hall\n",
        "600 W -> 700 W\n",
        "\nthe revision was raised\n",
        "This report compares a design file with stated limits.",
    ] {
        assert!(text.contains(wanted), "{wanted}\n{text}");
    }
    let markdown = compare(&folder, &["old.ufh.yaml", "new.ufh.yaml", "--format", "markdown"]).out;
    assert!(markdown.contains("| **rooms/hall** | heat-loss | 600 W | 700 W |\n"), "{markdown}");

    let (status, document) = compared(&folder, &["old.ufh.yaml", "same.ufh.yaml"]);
    assert_eq!(
        (status, &document["revision"], &document["things"]),
        (0, &Value::from("same-design"), &Value::Array(Vec::new()))
    );
}

#[test]
fn a_revision_that_was_not_raised_and_a_new_error_end_with_1() {
    let colder = ISSUED.replace("130 mm", "20 mm");
    let folder = Folder::new("not-raised")
        .with("old.ufh.yaml", ISSUED)
        .with("warmer.ufh.yaml", ISSUED.replace("flow-temperature: 38 °C", "flow-temperature: 38.5 °C"))
        .with("colder.ufh.yaml", colder.replace("revision: P1", "revision: P2"));
    let ended = compare(&folder, &["old.ufh.yaml", "warmer.ufh.yaml"]);
    assert_eq!(ended.status, 1);
    assert!(
        ended.out.contains("\nthe revision was not raised: P1 was issued, and the design is another one now\n"),
        "{}",
        ended.out
    );
    let ended = compare(&folder, &["old.ufh.yaml", "colder.ufh.yaml"]);
    assert_eq!(ended.status, 1);
    assert!(ended.out.contains("  new: error[insulation-below-minimum] floors/screeded: "), "{}", ended.out);
    let ended = compare(&folder, &["colder.ufh.yaml", "old.ufh.yaml"]);
    assert_eq!(ended.status, 1);
    assert!(ended.out.contains("  cleared: error[insulation-below-minimum] floors/screeded: "), "{}", ended.out);
    assert!(ended.out.contains("\nthe revision was lowered: it was P2 and is P1\n"), "{}", ended.out);
    folder.write(
        "sooner.ufh.yaml",
        ISSUED.replace("revision: P1", "revision: P2").replace("issued: 2026-05-04", "issued: 2026-05-03"),
    );
    let ended = compare(&folder, &["old.ufh.yaml", "sooner.ufh.yaml"]);
    let told =
        "\nthe revision was raised, but is issued on 2026-05-03, before the one that it follows, on 2026-05-04\n";
    assert!(ended.status == 0 && ended.out.contains(told), "{}", ended.out);
}

#[test]
fn a_design_is_compared_with_what_it_was_in_the_repository() {
    let uses = |library: &str| format!("library: [{library}]\n{ISSUED}").replace("  PEX-16:\n", "  own-16:\n");
    let pipe = |bore: &str| {
        format!(
            "format: 1\npipes:\n  PEX-16: {{material: PE-X, outside-diameter: 16 mm, wall-thickness: {bore}, oxygen-barrier: true}}\n"
        )
    };
    let folder = Folder::new("since")
        .with("house/a.ufh.yaml", uses("../lib/pipes.ufh.yaml"))
        .with("lib/pipes.ufh.yaml", pipe("2 mm"))
        .in_git();
    folder.git(&["tag", "P1"]);
    folder.write("lib/pipes.ufh.yaml", pipe("1.8 mm"));
    folder.commit("a wider pipe");
    let (status, document) = compared(&folder, &["house/a.ufh.yaml", "--since", "P1"]);
    assert_eq!((status, &document["old"]["file"]), (1, &Value::from("house/a.ufh.yaml at P1")), "{document:#}");
    let pipes = thing(&document, "pipes/PEX-16");
    assert_eq!(
        (&pipes["given"][0]["before"], &pipes["given"][0]["after"]),
        (&Value::from("2 mm"), &Value::from("1.8 mm"))
    );
    let drop = &thing(&document, "loops/L1")["figures"]["pressure-drop"];
    assert!(drop["after"].as_f64() < drop["before"].as_f64(), "a wider bore takes less pressure: {drop}");

    // From below, and with a house standard that is gone.
    folder.write(
        "house/house-standard.yaml",
        "format: 1\nhouse-standard: {name: Ours}\nrules:\n  loop-over-maximum-length: {limits: {most-16-mm: 10 m}}\n",
    );
    folder.commit("house standard");
    folder.git(&["tag", "strict"]);
    folder.remove("house/house-standard.yaml");
    let below = Folder(folder.0.join("house"));
    let (_, document) = compared(&below, &["a.ufh.yaml", "--since", "strict"]);
    assert_eq!(document["things"], Value::Array(Vec::new()), "{document:#}");

    for (arguments, said) in [
        (&["house/a.ufh.yaml", "--since", "gone"][..], "is no revision of the repository `"),
        (&["house/b.ufh.yaml", "--since", "P1"], "`house/b.ufh.yaml` was not there at `P1`"),
        (&["-", "--since", "P1"], "name a file"),
        (&["house/a.ufh.yaml"], "`hypocaust compare house/a.ufh.yaml --since REVISION`"),
        (&["-", "-"], "standard input can be read once"),
        (&["house/a.ufh.yaml", "x", "--since", "P1"], "--since"),
    ] {
        let ended = compare(&folder, arguments);
        assert_eq!((ended.status, &*ended.out), (2, ""), "{arguments:?}");
        assert!(ended.err.contains(said), "{arguments:?}: {}", ended.err);
    }
}

/// Where then a link led, a repository within the repository stood, and what no repository knows.
#[cfg(unix)]
#[test]
fn libraries_of_then_are_found_wherever_they_stand() {
    use std::os::unix::fs::symlink;
    let uses = |library: &str| format!("library: [{library}]\n{ISSUED}").replace("  PEX-16:\n", "  own-16:\n");
    let pipe = |wall: &str| {
        format!(
            "format: 1\npipes:\n  PEX-16: {{material: PE-X, outside-diameter: 16 mm, wall-thickness: {wall}, oxygen-barrier: true}}\n"
        )
    };
    let shared = Folder::new("shared").with("pipes.ufh.yaml", pipe("2 mm")).in_git();
    let above = Folder::new("places")
        .with("outside.ufh.yaml", pipe("2 mm"))
        .with("firm/own/thick.ufh.yaml", pipe("2 mm"))
        .with("firm/own/thin.ufh.yaml", pipe("1.8 mm"))
        .with("firm/linked.ufh.yaml", uses("pipes/now.ufh.yaml"))
        .with("firm/shared.ufh.yaml", uses("lib/pipes.ufh.yaml"))
        .with("firm/outside.ufh.yaml", uses("../outside.ufh.yaml"));
    let firm = Folder(above.0.join("firm"));
    std::fs::create_dir(firm.0.join("pipes")).expect("a folder can be made");
    let link = firm.0.join("pipes/now.ufh.yaml");
    symlink("../own/thick.ufh.yaml", &link).expect("a link can be made");
    symlink("firm", above.0.join("way")).expect("a link can be made");
    let firm = firm.in_git();
    let from = shared.0.to_string_lossy();
    firm.git(&["-c", "protocol.file.allow=always", "submodule", "--quiet", "add", &from, "lib"]);
    firm.commit("libraries of the group");
    firm.git(&["tag", "P1"]);

    std::fs::remove_file(&link).expect("the link is there");
    symlink("../own/thin.ufh.yaml", &link).expect("a link can be made");
    firm.write("lib/pipes.ufh.yaml", pipe("1.8 mm"));
    above.write("outside.ufh.yaml", pipe("1.8 mm"));
    for (folder, file) in [
        (&firm, "linked.ufh.yaml"),
        (&firm, "shared.ufh.yaml"),
        (&above, "firm/shared.ufh.yaml"),
        (&above, "way/linked.ufh.yaml"),
    ] {
        let ended = compare(folder, &[file, "--since", "P1", "--format", "json"]);
        assert_eq!((ended.status, &*ended.err), (1, ""), "{file}");
        let document = fitting(&ended.out, include_str!("../schema/compare.schema.json"));
        let given = &thing(&document, "pipes/PEX-16")["given"][0];
        assert_eq!((&given["before"], &given["after"]), (&"2 mm".into(), &"1.8 mm".into()), "{file}: {document:#}");
    }
    let ended = compare(&firm, &["outside.ufh.yaml", "--since", "P1"]);
    assert_eq!((ended.status, ended.out.contains("nothing that is drawn has changed")), (0, true), "{}", ended.out);
    let told = "`../outside.ufh.yaml` is outside the repository: for both versions it is as it is now\n";
    assert_eq!(ended.err, told);

    // A link to itself leads nowhere, then as now.
    symlink("round.ufh.yaml", firm.0.join("round.ufh.yaml")).expect("a link can be made");
    firm.write("b.ufh.yaml", uses("round.ufh.yaml"));
    firm.commit("round");
    let ended = compare(&firm, &["b.ufh.yaml", "--since", "HEAD"]);
    assert!(ended.status < 2 && ended.out.contains("unchanged"), "{}{}", ended.out, ended.err);
}

/// What nobody can read is held against nothing; what can be read in part is compared, and the rest is told.
#[test]
fn broken_files_are_compared_as_far_as_they_can_be_read() {
    let rooms = |name: &str| -> String {
        let rooms: String = (5..1005).map(|at| format!("  {name}{at}: {{area: {at} m², use: living}}\n")).collect();
        format!("format: 1\nrooms:\n{rooms}")
    };
    let files: [(&str, Vec<u8>); 6] = [
        ("clean", ISSUED.into()),
        ("empty", Vec::new()),
        ("utf16", b"\xff\xfef\0o\0".to_vec()),
        ("deep", format!("format: 1\nrooms: {}", "[".repeat(10_000)).into()),
        ("many", rooms("a").into()),
        ("renamed", rooms("b").into()),
    ];
    let mut folder = Folder::new("broken");
    for (name, bytes) in &files {
        folder = folder.with(&format!("{name}.ufh.yaml"), bytes);
    }
    for (old, _) in &files {
        for (new, _) in &files {
            let files = [&*format!("{old}.ufh.yaml"), &*format!("{new}.ufh.yaml")];
            let is = |name: &str| *old == name || *new == name;
            if is("empty") || is("utf16") {
                let ended = compare(&folder, &files);
                assert_eq!((ended.status, &*ended.out), (2, ""), "{old} {new}");
                assert!(ended.err.contains("says nothing") || ended.err.contains("cannot be read"), "{}", ended.err);
                continue;
            }
            let (status, document) = compared(&folder, &files);
            assert!(status < 2 && (status == 1 || !is("deep")), "{old} {new}");
            let same =
                document["things"] == Value::Array(Vec::new()) && document["findings"] == Value::Array(Vec::new());
            assert!(same || old != new, "{old}: {document:#}");
        }
    }
    let ended = compare(&folder, &["deep.ufh.yaml", "clean.ufh.yaml"]);
    assert!(ended.err.contains("part of `deep.ufh.yaml` could not be read: "), "{}", ended.err);
    let (_, document) = compared(&folder, &["many.ufh.yaml", "renamed.ufh.yaml"]);
    let renamed = document["things"].as_array().into_iter().flatten().filter(|it| it["change"] == "renamed").count();
    assert_eq!(renamed, 1000);
}

/// A departure that came with a revision is what a reviewer looks for first.
#[test]
fn departures_are_told_with_reason_and_role() {
    let departure = "departures:\n  - {rule: loop-over-maximum-length, at: L1, reason: the conduit | is there, agreed-by: reviewer, until: 2026-12-31}\n";
    let long = ISSUED.replacen("tails: 10 m, coil: 100 m", "tails: 45 m, coil: 120 m", 1);
    let folder = Folder::new("departures")
        .with("old.ufh.yaml", &long)
        .with("new.ufh.yaml", format!("{long}{departure}"))
        .with("other.ufh.yaml", format!("{long}{departure}").replace("reviewer", "client"));
    let ended = compare(&folder, &["old.ufh.yaml", "new.ufh.yaml"]);
    assert_eq!(ended.status, 0, "{}", ended.out);
    for wanted in [
        "\ndepartures/loop-over-maximum-length/L1 added\n",
        "the conduit | is there\n",
        "  accepted by a departure: error[loop-over-maximum-length] loops/L1: ",
        "\nnothing that is drawn has changed\n",
    ] {
        assert!(ended.out.contains(wanted), "{wanted}\n{}", ended.out);
    }
    let markdown = compare(&folder, &["old.ufh.yaml", "new.ufh.yaml", "--format", "markdown"]).out;
    assert!(markdown.contains("| reason |  | the conduit \\| is there |\n"), "{markdown}");
    let gone = compare(&folder, &["new.ufh.yaml", "old.ufh.yaml"]);
    assert!(gone.status == 1 && gone.out.contains("departures/loop-over-maximum-length/L1 removed\n"), "{}", gone.out);
    let (status, document) = compared(&folder, &["new.ufh.yaml", "other.ufh.yaml"]);
    let role = &thing(&document, "departures/loop-over-maximum-length/L1")["given"];
    assert_eq!((status, role[0]["key"].as_str(), role[0]["after"].as_str()), (0, Some("agreed-by"), Some("client")));
}

/// What changed in a library changed in the design, though the design itself names no floors.
#[test]
fn a_library_belongs_to_the_design() {
    let (before, rest) = ISSUED.split_once("floors:\n").expect("the design has floors");
    let (floors, after) = rest.split_once("rooms:\n").expect("rooms stand behind them");
    let design = format!("{before}library: [floors.yaml]\nrooms:\n{after}");
    let library = format!("format: 1\nfloors:\n{floors}");
    let thicker = library.replacen("thickness: 65 mm", "thickness: 70 mm", 1);
    assert_ne!(library, thicker);
    let folder = Folder::new("library")
        .with("old/house.ufh.yaml", &design)
        .with("old/floors.yaml", &library)
        .with("new/house.ufh.yaml", &design)
        .with("new/floors.yaml", &thicker);
    let (status, document) = compared(&folder, &["old/house.ufh.yaml", "new/house.ufh.yaml"]);
    assert_eq!((status, &document["revision"]), (1, &Value::from("not-raised")), "{document:#}");
    let given = &thing(&document, "floors/screeded")["given"][0];
    assert_eq!((&given["before"], &given["after"]), (&Value::from("65 mm"), &Value::from("70 mm")), "{document:#}");
}
