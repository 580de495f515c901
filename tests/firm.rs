//! A firm's repository from the first check to the handover of a house: twenty designs, two libraries, a house standard, a list of
//! findings that stood before, a designer's edit, a review with its comments, the gate, the issue, and the design as built.

mod program;

use program::{Ended, Folder, fitting};
use serde_json::Value;

const TODAY: &str = "2026-06-01";
/// A clean design of two rooms, of which the firm's designs are made.
const TEMPLATE: &str = include_str!("../crates/check/src/bench/base.ufh.yaml");
const NAMES: [&str; 20] = [
    "alder-court",
    "brick-lane",
    "chandlery",
    "dovecote",
    "east-gate",
    "ferry-house",
    "glasshouse",
    "hop-store",
    "inkworks",
    "joinery",
    "kelp-store",
    "laundry",
    "malt-house",
    "net-loft",
    "oast",
    "paddock",
    "quarry-cottage",
    "rope-walk",
    "sail-loft",
    "tannery",
];
/// What a firm has when the check begins there: loops that are too long, and cold insulation.
const LONG: [&str; 2] = ["dovecote", "rope-walk"];
const COLD: &str = "malt-house";

/// A part of the template, from the line of one key to that of another.
fn block(from: &str, to: &str) -> &'static str {
    let start = TEMPLATE.find(&format!("\n{from}:\n")).expect("the template has the block") + 1;
    let end = TEMPLATE.find(&format!("\n{to}:\n")).expect("another follows it") + 1;
    &TEMPLATE[start..end]
}

/// A design of the firm; the rooms of each are of another size.
fn design(number: usize, name: &str) -> String {
    let libraries = "library: [../library/pipes.ufh.yaml, ../library/floors.ufh.yaml]\n";
    let text = TEMPLATE
        .replace(block("pipes", "floors"), libraries)
        .replace(block("floors", "rooms"), "")
        .replace("Bench House", name)
        .replace("BH-001", &format!("F-{number:03}"))
        .replacen("area: 12 m²", &format!("area: {:.1} m²", 11.0 + number as f64 / 10.0), 1)
        .replacen("heat-loss: 600 W", &format!("heat-loss: {} W", 560 + 5 * number), 1);
    match name {
        _ if LONG.contains(&name) => text.replace("tails: 10 m, coil: 100 m", "tails: 45 m, coil: 120 m"),
        COLD => text.replace("floor: screeded", "floor: thin"),
        _ => text,
    }
}

fn path(name: &str) -> String {
    format!("designs/{name}.ufh.yaml")
}

fn firm() -> Folder {
    let floors = block("floors", "rooms");
    let thin = floors.replace("  screeded:\n", "  thin:\n").replace("floors:\n", "").replace("130 mm", "20 mm");
    let mut folder = Folder::new("firm")
        .with("library/pipes.ufh.yaml", format!("format: 1\n{}", block("pipes", "floors")))
        .with("library/floors.ufh.yaml", format!("format: 1\n{floors}{thin}"))
        .with("house-standard.yaml", "format: 1\nhouse-standard: {name: Standard of the house, revision: A}\nrules:\n  checker-missing: {severity: {for-comment: error}}\n");
    for (number, name) in (1..).zip(NAMES) {
        folder = folder.with(&path(name), design(number, name));
    }
    folder.in_git()
}

/// What stands in the firm's CI.
fn gate(folder: &Folder, more: &[&str]) -> Ended {
    folder.run(
        &[&["check", "designs", "--accepted", "accepted.yaml", "--fail-on", "warning", "--today", TODAY], more]
            .concat(),
    )
}

fn checked(folder: &Folder, more: &[&str]) -> Vec<String> {
    let ended = gate(folder, &[more, &["--format", "json"]].concat());
    let document = fitting(&ended.out, include_str!("../schema/check.schema.json"));
    let designs = document["designs"].as_array().cloned().unwrap_or_default();
    designs.iter().filter_map(|it| it["file"].as_str()).map(str::to_string).collect()
}

#[test]
fn a_firm_goes_from_its_first_check_to_the_merge_of_a_change() {
    let folder = firm();

    // The first day: old faults, told, and set down in a list. From now on the check is green.
    let first = folder.run(&["check", "designs", "--fail-on", "warning", "--today", TODAY, "--format", "summary"]);
    assert_eq!(first.status, 1, "{}", first.out);
    let clean =
        first.out.lines().filter(|line| line.starts_with("designs/") && line.contains(": nothing found")).count();
    assert_eq!(clean, NAMES.len() - LONG.len() - 1, "{}", first.out);
    let written = gate(&folder, &["--write-accepted"]);
    assert_eq!(written.status, 0, "{}{}", written.out, written.err);
    let list = folder.read("accepted.yaml");
    for name in LONG {
        let (_, own) = list.split_once(&format!("  {}:\n", path(name))).expect("the design is in the list");
        let own = own.split("\n  designs/").next().unwrap_or_default();
        assert!(own.contains("- {rule: loop-over-maximum-length, at: loops/L1, severity: error, "), "{list}");
    }
    folder.commit("begin with the check");
    assert_eq!(gate(&folder, &[]).status, 0);

    // A designer edits one design on a branch: only that one is looked at, and what is new fails.
    folder.git(&["switch", "--quiet", "--create", "larger-hall"]);
    let before = folder.read(&path("inkworks"));
    let edited = before.replacen("tails: 12 m, coil: 100 m", "tails: 52 m, coil: 120 m", 1);
    assert_ne!(before, edited);
    folder.write(&path("inkworks"), &edited);
    folder.commit("the manifold moves");
    assert_eq!(checked(&folder, &["--changed-since", "main"]), [path("inkworks")]);
    let red = gate(&folder, &["--changed-since", "main", "--format", "github"]);
    assert_eq!(red.status, 1);
    let command = format!("::error file={},", path("inkworks"));
    let told =
        red.out.lines().find(|line| line.starts_with(&command) && line.contains("title=loop-over-maximum-length::"));
    assert!(told.is_some(), "{}", red.out);

    // The review: what changed, and that the revision has to be raised.
    let review = ["compare", &path("inkworks"), "--since", "main", "--today", TODAY];
    let ended = folder.run(&review);
    assert_eq!(ended.status, 1);
    for wanted in [
        "\nloops/L2\n",
        "  new: error[loop-over-maximum-length] loops/L2: ",
        "\nthe revision was not raised: P1 was issued",
    ] {
        assert!(ended.out.contains(wanted), "{wanted}\n{}", ended.out);
    }

    // The same as comments on the merge request, which say whose they are, so that a script can replace them the next time.
    let comment = gate(&folder, &["--changed-since", "main", "--format", "markdown"]);
    let begins = "<!-- hypocaust check -->\n## 1 design: 1 error, ";
    assert!(comment.status == 1 && comment.out.starts_with(begins), "{}", comment.out);
    assert!(
        comment.out.contains("- **error** line ") && comment.out.contains("(`loop-over-maximum-length`)\n"),
        "{}",
        comment.out
    );
    let comment = folder.run(&[&review[..], &["--format", "markdown"]].concat());
    for wanted in [
        "<!-- hypocaust compare -->\n## ",
        "| new | **error** `loop-over-maximum-length` | loops/L2 | ",
        "| **loops/L2** | ",
    ] {
        assert!(comment.status == 1 && comment.out.contains(wanted), "{wanted}\n{}", comment.out);
    }

    // The designer puts it right, and raises the revision.
    let mended = before
        .replacen("tails: 12 m", "tails: 16 m", 1)
        .replace("revision: P1", "revision: P2")
        .replace("2026-05-04", "2026-05-29");
    folder.write(&path("inkworks"), &mended);
    folder.commit("a shorter way for L2; P2");
    let ended = folder.run(&[&review[..], &["--format", "json"]].concat());
    let document = fitting(&ended.out, include_str!("../schema/compare.schema.json"));
    assert_eq!((ended.status, &document["revision"]), (0, &Value::from("raised")), "{document:#}");
    let of = |at: &str| {
        let things = document["things"].as_array().cloned().unwrap_or_default();
        things.into_iter().find(|it| it["at"] == at).unwrap_or_else(|| panic!("{at}: {document:#}"))
    };
    let length = &of("loops/L2")["figures"]["length"];
    // Tails are told there and back together, so four metres more are four metres of pipe (the format's own words).
    let longer = length["after"].as_f64().unwrap_or(0.0) - length["before"].as_f64().unwrap_or(0.0);
    assert!((longer - 4.0).abs() < 1e-6, "{length}");
    assert_eq!(gate(&folder, &["--changed-since", "main"]).status, 0);
    folder.git(&["switch", "--quiet", "main"]);
    folder.git(&["merge", "--quiet", "--ff-only", "larger-hall"]);
    folder.git(&["tag", "inkworks-P2"]);

    // It is issued, with what was checked and the digest of the very file; one with an error that nobody agreed to is not.
    let issued = folder.run(&["issue", &path("inkworks"), "--out", "issued/P2"]);
    assert_eq!(issued.status, 0, "{}{}", issued.out, issued.err);
    let manifest: Value = serde_json::from_str(&folder.read("issued/P2/manifest.json")).expect("it is JSON");
    assert!(folder.read("issued/P2/issue-pack.html").contains("P2") && manifest.is_object());
    let refused = folder.run(&["issue", &path(LONG[0]), "--out", "issued/refused"]);
    assert_eq!(refused.status, 1);
    assert!(refused.err.contains("loop-over-maximum-length") || refused.out.contains("loop-over-maximum-length"));
    assert!(!folder.0.join("issued/refused").exists());

    // Somebody mends an old fault: the list tells that it can become shorter, and does.
    let long = folder.read(&path("dovecote"));
    folder.write(&path("dovecote"), long.replace("tails: 45 m, coil: 120 m", "tails: 10 m, coil: 100 m"));
    let stale = gate(&folder, &["--changed-since", "HEAD"]);
    assert_eq!(stale.status, 1);
    assert!(
        stale
            .out
            .contains(&format!("{}: loop-over-maximum-length at loops/L1 was accepted as error", path("dovecote"))),
        "{}",
        stale.out
    );
    assert_eq!(gate(&folder, &["--write-accepted"]).status, 0);
    let shorter = folder.read("accepted.yaml");
    assert!(!shorter.contains("dovecote") && shorter.lines().all(|line| list.contains(line)), "{shorter}");
    folder.commit("dovecote is mended");

    // A library is followed to what uses it, and the work can be shared among machines.
    let pipes = folder.read("library/pipes.ufh.yaml");
    folder.write("library/pipes.ufh.yaml", pipes.replace("highest-temperature: 70 °C", "highest-temperature: 80 °C"));
    let all: Vec<String> = NAMES.iter().map(|name| path(name)).collect();
    assert_eq!(checked(&folder, &["--changed-since", "HEAD"]), all);
    let shares: Vec<String> = ["1/3", "2/3", "3/3"]
        .iter()
        .flat_map(|share| checked(&folder, &["--changed-since", "HEAD", "--share", share]))
        .collect();
    assert_eq!(shares, all);
    folder.commit("pipe for warmer water");
    assert_eq!(gate(&folder, &[]).status, 0);

    // Two machines check everything, and put together they say what one says.
    let document = |more: &[&str]| -> Value {
        let ended = gate(&folder, &[more, &["--format", "json"]].concat());
        assert_eq!(ended.status, 0, "{}", ended.err);
        fitting(&ended.out, include_str!("../schema/check.schema.json"))
    };
    let (whole, shares) = (document(&[]), [document(&["--share", "1/2"]), document(&["--share", "2/2"])]);
    let together: Vec<Value> =
        shares.iter().flat_map(|it| it["designs"].as_array().cloned().unwrap_or_default()).collect();
    assert_eq!(Value::from(together), whole["designs"]);
    for (key, number) in whole["summary"].as_object().expect("a summary has numbers") {
        let sum: u64 = shares.iter().filter_map(|it| it["summary"][key].as_u64()).sum();
        assert_eq!(Some(sum), number.as_u64(), "{key}");
    }

    // The floor is laid. What was recorded on site makes it the design as built, which is held against the one that was issued.
    folder.git(&["switch", "--quiet", "--create", "as-built"]);
    folder.write("issued/inkworks-P2.ufh.yaml", folder.git(&["show", &format!("inkworks-P2:{}", path("inkworks"))]));
    let built = folder
        .read(&path("inkworks"))
        .replace("stage: for construction", "stage: as built")
        .replace("revision: P2", "revision: C1")
        .replace("2026-05-29", "2026-09-01")
        .replacen("tails: 16 m", "tails: 15 m", 1);
    let records = include_str!("firm/records.yaml");
    folder.write(&path("inkworks"), format!("{built}{records}"));
    let schedule = folder.run(&["schedule", &path("inkworks"), "--format", "json"]);
    let schedule = fitting(&schedule.out, include_str!("../schema/schedule.schema.json"));
    let flow = |at: usize| {
        let flow = schedule["manifolds"][0]["loops"][at]["volume-flow"].as_f64().unwrap_or(0.0);
        format!("{:.2} l/min", flow * 60_000.0)
    };
    // As they were set at the gauges.
    let set = format!("  set-flows: {{L1: {}, L2: {}}}\n", flow(0), flow(1));
    folder.write(&path("inkworks"), format!("{built}{records}{set}"));
    let built_on = ["--today", "2026-09-02"];
    let ended = folder.run(&[&["check", &path("inkworks"), "--fail-on", "warning"][..], &built_on].concat());
    assert_eq!(ended.status, 0, "{}", ended.out);
    let since = ["compare", &path("inkworks"), "--since", "inkworks-P2", "--format", "json"];
    let ended = folder.run(&[&since[..], &built_on].concat());
    let document = fitting(&ended.out, include_str!("../schema/compare.schema.json"));
    // Of P2 and C1 the days of issue tell which is later.
    let versions = [&document["old"]["stage"], &document["new"]["stage"], &document["revision"]];
    assert_eq!(
        (ended.status, versions),
        (0, [&"for construction".into(), &"as built".into(), &"raised".into()]),
        "{document:#}"
    );
    let tails = document["things"].as_array().into_iter().flatten().find(|it| it["at"] == "loops/L2");
    let tails = &tails.expect("L2 was laid otherwise")["given"][0];
    assert_eq!([&tails["key"], &tails["before"], &tails["after"]], ["tails", "16 m", "15 m"]);
    let handover = ["issue", &path("inkworks"), "--out", "issued/C1", "--issued", "issued/inkworks-P2.ufh.yaml"];
    let ended = folder.run(&[&handover[..], &built_on].concat());
    assert_eq!(ended.status, 0, "{}{}", ended.out, ended.err);
    let page = folder.read("issued/C1/handover-pack.html");
    for wanted in ["C1", "Against the issued design", "16 m", "M. Lathe", "2026-06-17"] {
        assert!(page.contains(wanted), "{wanted}");
    }
    folder.commit("inkworks as built; C1");
    let gate = ["check", "designs", "--accepted", "accepted.yaml", "--fail-on", "warning", "--changed-since", "main"];
    let ended = folder.run(&[&gate[..], &built_on].concat());
    assert_eq!(ended.status, 0, "{}{}", ended.out, ended.err);
}
