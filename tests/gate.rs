//! The gate before a merge: findings that stood before, designs that a change touches, shares of the work.

mod program;

use program::{Ended, Folder, fitting};
use serde_json::Value;

const TODAY: &str = "2026-06-01";

/// A clean design but for its insulation over the ground, as thick as given, in millimetres.
fn thin(stage: &str, insulation: u32, more: &str) -> String {
    let clean = include_str!("../crates/check/src/bench/base.ufh.yaml")
        .replace("stage: for construction", &format!("stage: {stage}"));
    clean.replace("130 mm", &format!("{insulation} mm")).replace("  screeded:\n", &format!("  screeded:\n{more}"))
}

fn check(folder: &Folder, more: &[&str]) -> Ended {
    let mut arguments = vec!["check", "--today", TODAY];
    arguments.extend(more);
    folder.run(&arguments)
}

/// The paths of the designs that were checked.
fn checked(folder: &Folder, more: &[&str]) -> Vec<String> {
    let mut arguments = vec!["--format", "json"];
    arguments.extend(more);
    let ended = check(folder, &arguments);
    let document = fitting(&ended.out, include_str!("../schema/check.schema.json"));
    let designs = document["designs"].as_array().cloned().unwrap_or_default();
    designs.iter().filter_map(|it| it["file"].as_str()).map(str::to_string).collect()
}

const RULE: &str = "insulation-below-minimum";

/// A firm begins with faults in its designs: the first list makes the check green, and what comes after is held against it.
#[test]
fn a_list_makes_a_firm_begin_green_and_only_becomes_shorter() {
    let folder = Folder::new("list")
        .with("a/mill.ufh.yaml", thin("for comment", 20, ""))
        .with("b/barn.ufh.yaml", thin("for comment", 25, ""));
    let (list, write) = (["a", "b", "--accepted", "ci/accepted.yaml", "--fail-on", "hint"], "--write-accepted");
    let ended = check(&folder, &list);
    assert_eq!(ended.status, 2);
    assert!(ended.err.contains("there is no list of accepted findings `ci/accepted.yaml`"), "{}", ended.err);
    std::fs::create_dir(folder.0.join("ci")).expect("a folder can be made");

    let ended = check(&folder, &[&list[..], &[write]].concat());
    assert_eq!(ended.status, 0, "{}{}", ended.out, ended.err);
    let first = folder.read("ci/accepted.yaml");
    assert!(first.contains("  ../a/mill.ufh.yaml:\n"), "{first}");
    assert!(first.contains(&format!("    - {{rule: {RULE}, at: floors/screeded, severity: ")), "{first}");
    assert!(ended.out.contains(" accepted before"), "{}", ended.out);
    assert_eq!(check(&folder, &list).status, 0);

    // Lines move, the value changes: it is still the finding that stood.
    folder.write("a/mill.ufh.yaml", format!("# moved\n\n{}", thin("for comment", 22, "")));
    assert_eq!(check(&folder, &list).status, 0);

    // A finding of another rule at the same place is new.
    folder.write("a/mill.ufh.yaml", thin("for comment", 22, "    colour: red\n"));
    let ended = check(&folder, &list);
    assert_eq!(ended.status, 1);
    assert!(ended.out.contains("[unknown-field]: ") && !ended.out.contains(&format!("[{RULE}]: ")), "{}", ended.out);

    // Writing adds nothing.
    let ended = check(&folder, &[&list[..], &[write]].concat());
    assert_eq!((ended.status, folder.read("ci/accepted.yaml")), (1, first.clone()), "{}", ended.err);

    // What is mended is told until it is taken out, and fails where warnings do.
    folder.write("a/mill.ufh.yaml", thin("for comment", 150, ""));
    let ended = check(&folder, &[&list[..4], &["--fail-on", "error"]].concat());
    assert_eq!(ended.status, 0, "{}", ended.out);
    let gone =
        format!("../a/mill.ufh.yaml: {RULE} at floors/screeded was accepted as error and no longer stands as such\n");
    assert!(ended.out.contains(&gone), "{}", ended.out);
    assert_eq!(check(&folder, &[&list[..4], &["--fail-on", "warning"]].concat()).status, 1);
    let ended = check(&folder, &[&list[..], &[write]].concat());
    let second = folder.read("ci/accepted.yaml");
    assert!(second.len() < first.len() && second.contains("../b/barn.ufh.yaml"), "{second}");
    assert!(first.contains(second.lines().last().expect("barn stands there")), "lines that stay are the same");
    assert!(ended.err.contains(" taken out"), "{}", ended.err);

    // A design that is gone is gone from the list.
    folder.remove("b/barn.ufh.yaml");
    folder.write("b/new.ufh.yaml", thin("for comment", 150, ""));
    check(&folder, &[&list[..], &[write]].concat());
    assert!(!folder.read("ci/accepted.yaml").contains("barn"));
}

#[test]
fn what_has_become_graver_or_guards_people_fails() {
    let folder = Folder::new("graver").with("a.ufh.yaml", thin("preliminary", 20, ""));
    let list = ["a.ufh.yaml", "--accepted", "accepted.yaml"];
    assert_eq!(check(&folder, &[&list[..], &["--write-accepted"]].concat()).status, 0);
    folder.write("a.ufh.yaml", thin("for construction", 20, ""));
    let ended = check(&folder, &list);
    assert!(ended.status == 1 && ended.out.contains(&format!("error[{RULE}]: ")), "{}", ended.out);

    let folder = Folder::new("guards").with("a.ufh.yaml", "format: 1\nrooms: {hall: {area: 12}}\n");
    let ended = check(&folder, &[&list[..], &["--write-accepted"]].concat());
    assert!(ended.status == 1 && ended.out.contains("error[unit-missing-or-wrong]: "), "{}", ended.out);
    assert!(!folder.read("accepted.yaml").contains("unit-missing-or-wrong"));
    assert!(ended.err.contains(" cannot be: they guard people, or stand in the way of reading\n"), "{}", ended.err);

    // A list of a part would call the rest new.
    let ended = check(&folder, &["a.ufh.yaml", "gone.ufh.yaml", "--accepted", "other.yaml", "--write-accepted"]);
    assert_eq!(ended.status, 2);
    assert!(ended.err.contains("was left alone: not everything could be checked"), "{}", ended.err);
    assert!(!folder.0.join("other.yaml").exists());
}

#[test]
fn a_list_that_is_none_is_told_with_its_line() {
    let folder =
        Folder::new("no-list").with("a.ufh.yaml", "format: 1\n").with("list.yaml", "format: 1\naccepted:\n  a: 3\n");
    let ended = check(&folder, &["a.ufh.yaml", "--accepted", "list.yaml"]);
    assert_eq!((ended.status, &*ended.out), (2, ""));
    assert!(ended.err.contains("list.yaml:3: this is no list of accepted findings"), "{}", ended.err);
    for wrong in [
        &["--write-accepted"][..],
        &["--accepted", "l", "--write-accepted", "--share", "1/2"],
        &["--share", "3/2"],
        &["--share", "0/2"],
    ] {
        assert_eq!(check(&folder, &[&["a.ufh.yaml"], wrong].concat()).status, 2, "{wrong:?}");
    }
}

#[test]
fn shares_print_what_the_whole_prints() {
    let folder = Folder::new("share").with_demo_designs().with("demo-designs/empty/notes.txt", "");
    let document = |more: &[&str]| -> Value {
        let ended = check(&folder, &[&["demo-designs", "demo-designs/empty", "--format", "json"], more].concat());
        fitting(&ended.out, include_str!("../schema/check.schema.json"))
    };
    let whole = document(&[]);
    let shares: Vec<Value> = ["1/3", "2/3", "3/3"].iter().map(|share| document(&["--share", share])).collect();
    for list in ["designs", "unreadable"] {
        let together: Vec<Value> =
            shares.iter().flat_map(|it| it[list].as_array().cloned().unwrap_or_default()).collect();
        assert_eq!(Value::from(together), whole[list], "{list}");
    }
    for (key, number) in whole["summary"].as_object().expect("a summary has numbers") {
        let sum: u64 = shares.iter().filter_map(|it| it["summary"][key].as_u64()).sum();
        assert_eq!(Some(sum), number.as_u64(), "{key}");
    }
    for share in ["1/2", "18446744073709551614/18446744073709551615"] {
        let empty = check(&folder, &["demo-designs/kiln-yard.ufh.yaml", "--share", share]);
        assert_eq!(empty.status, 0, "a share may be empty: {}", empty.err);
    }
}

#[test]
fn only_what_a_change_touches_is_checked() {
    let uses = |library: &str| format!("format: 1\nproject: {{name: Mill}}\nlibrary: [{library}]\nrooms: {{}}\n");
    let folder = Folder::new("changed")
        .with("one/a.ufh.yaml", uses("../lib/pipes.ufh.yaml"))
        .with("one/b.ufh.yaml", uses("../lib/floors.ufh.yaml"))
        .with("two/c.ufh.yaml", uses("../lib/pipes.ufh.yaml"))
        .with("two/d.ufh.yaml", "format: 1\nproject: {name: Mill}\nrooms: {}\n")
        .with("lib/pipes.ufh.yaml", "format: 1\npipes: {thin: {material: PE-X}}\n")
        .with("lib/floors.ufh.yaml", "format: 1\nfloors: {}\n")
        .with("two/house-standard.yaml", "format: 1\nhouse-standard: {name: Ours}\n")
        .with("accepted.yaml", "format: 1\naccepted:\n")
        .in_git();
    let since =
        |revision: &str| checked(&folder, &["one", "two", "--changed-since", revision, "--accepted", "accepted.yaml"]);
    let back = || {
        folder.git(&["reset", "--quiet", "--hard", "main"]);
        folder.git(&["clean", "--quiet", "--force", "-d"]);
    };
    assert!(since("HEAD").is_empty());
    let ended = check(&folder, &["one", "--changed-since", "HEAD"]);
    assert_eq!(ended.status, 0);
    assert!(ended.err.contains("no design is touched by what changed since `HEAD`"), "{}", ended.err);

    folder.write("one/a.ufh.yaml", uses("../lib/pipes.ufh.yaml") + "# edited\n");
    assert_eq!(since("HEAD"), ["one/a.ufh.yaml"]);
    folder.git(&["add", "--all"]);
    assert_eq!(since("HEAD"), ["one/a.ufh.yaml"], "what is staged counts");
    back();
    folder.write("lib/pipes.ufh.yaml", "format: 1\npipes: {thick: {material: PE-X}}\n");
    assert_eq!(since("HEAD"), ["one/a.ufh.yaml", "two/c.ufh.yaml"], "a library is followed to what uses it");
    back();
    folder.remove("lib/pipes.ufh.yaml");
    assert_eq!(since("HEAD"), ["one/a.ufh.yaml", "two/c.ufh.yaml"], "one that is gone too");
    back();
    folder.git(&["mv", "lib/floors.ufh.yaml", "lib/ground.ufh.yaml"]);
    assert_eq!(since("HEAD"), ["one/b.ufh.yaml"], "and one that has another name");
    back();
    folder.write("one/ä new.ufh.yaml", "format: 1\nrooms: {}\n");
    assert_eq!(since("HEAD"), ["one/ä new.ufh.yaml"], "a file that git does not know yet counts");
    back();
    folder.remove("two/house-standard.yaml");
    let house = ["two/c.ufh.yaml", "two/d.ufh.yaml"];
    assert_eq!(since("HEAD"), house, "a house standard that is gone has held for them");
    back();
    folder.write("one/house-standard.yaml", "format: 1\nhouse-standard: {name: New}\n");
    assert_eq!(since("HEAD"), ["one/a.ufh.yaml", "one/b.ufh.yaml", "one/house-standard.yaml"]);
    back();
    folder.write("accepted.yaml", "format: 1\naccepted: {}\n");
    assert_eq!(since("HEAD").len(), 5, "another list of accepted findings is another gate");
    back();
    folder.git(&["mv", "two/d.ufh.yaml", "two/e.ufh.yaml"]);
    assert_eq!(since("HEAD"), ["two/e.ufh.yaml"]);
    back();

    // What came on `main` after the branch parted is no change of the branch; and it may be asked for from any folder.
    folder.git(&["switch", "--quiet", "--create", "branch"]);
    folder.write("one/b.ufh.yaml", uses("../lib/floors.ufh.yaml") + "# edited\n");
    folder.commit("edit");
    folder.git(&["switch", "--quiet", "main"]);
    folder.write("two/d.ufh.yaml", "format: 1\nrooms: {}\n");
    folder.commit("other");
    folder.git(&["switch", "--quiet", "branch"]);
    assert_eq!(since("main"), ["one/b.ufh.yaml"]);
    let below = Folder(folder.0.join("one"));
    assert_eq!(checked(&below, &[".", "../two", "--changed-since", "main"]), ["b.ufh.yaml"]);
    assert_eq!(checked(&folder, &[&folder.0.join("one").to_string_lossy(), "--changed-since", "main"]).len(), 1);
}

#[test]
fn what_git_cannot_tell_is_told() {
    let folder = Folder::new("no-git").with("a.ufh.yaml", "format: 1\nrooms: {}\n");
    let ended = check(&folder, &["a.ufh.yaml", "--changed-since", "main"]);
    assert_eq!((ended.status, &*ended.out), (2, ""));
    assert!(ended.err.contains("the designs are in no repository of `git`"), "{}", ended.err);
    folder.git(&["init", "--quiet", "--initial-branch", "main"]);
    assert_eq!(
        checked(&folder, &["a.ufh.yaml", "--changed-since", "HEAD"]),
        ["a.ufh.yaml"],
        "before the first commit all is new"
    );
    let folder = folder.in_git();
    for revision in ["gone", "--help", ""] {
        let ended = check(&folder, &["a.ufh.yaml", &format!("--changed-since={revision}")]);
        assert_eq!((ended.status, &*ended.out), (2, ""), "{revision}: {}", ended.err);
        assert!(ended.err.contains("is no revision of this repository"), "{}", ended.err);
    }
    folder.git(&["switch", "--quiet", "--orphan", "alone"]);
    folder.commit("alone");
    let ended = check(&folder, &["--changed-since", "main", "-"]);
    assert!(ended.status == 2 && ended.err.contains("have no revision in common"), "{}", ended.err);
}
