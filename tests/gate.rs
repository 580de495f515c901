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

/// A form that ends with 1 shows what for: an accepted finding that stands no more; one that has become worse is told once, as itself.
#[test]
fn what_was_accepted_and_is_gone_or_worse_is_told_once_in_every_form() {
    let folder = Folder::new("gone").with("a.ufh.yaml", thin("for comment", 20, ""));
    let list = ["a.ufh.yaml", "--accepted", "list.yaml", "--fail-on", "warning"];
    assert_eq!(check(&folder, &[&list[..], &["--write-accepted"]].concat()).status, 0);
    let first = folder.read("list.yaml");
    let run = |form: &str| check(&folder, &[&list[..], &["--format", form]].concat());

    folder.write("a.ufh.yaml", thin("for comment", 10, ""));
    for form in ["text", "junit", "gitlab", "sarif", "markdown", "github"] {
        let ended = run(form);
        assert_eq!((ended.status, ended.out.contains("stands as such")), (1, false), "{form}: {}", ended.out);
        let told = if form == "sarif" { "\"accepted-as\":\"" } else { "accepted before, and worse now" };
        assert!(ended.out.contains(told), "{form}: {}", ended.out);
    }
    assert_eq!(check(&folder, &[&list[..], &["--write-accepted"]].concat()).status, 1);
    assert_eq!(folder.read("list.yaml"), first, "what has become worse still stands");

    folder.write("a.ufh.yaml", thin("for comment", 150, ""));
    for form in ["text", "junit", "gitlab", "sarif", "markdown", "github"] {
        let ended = run(form);
        assert_eq!(ended.status, 1, "{form}");
        assert!(ended.out.contains("no longer stands as such"), "{form}: {}", ended.out);
    }
    let junit = run("junit").out;
    assert!(junit.contains("<testsuite name=\"accepted findings\" tests=\"2\" failures=\"2\""), "{junit}");
    let issues: Value = serde_json::from_str(&run("gitlab").out).expect("it is JSON");
    let mut gone = issues.as_array().into_iter().flatten().filter(|it| it["check_name"] == "accepted-and-gone");
    let (gone, other) = (gone.next().expect("it is an issue"), gone.next().expect("so is the other"));
    assert_ne!(gone["fingerprint"], other["fingerprint"]);
    assert_eq!((&gone["location"]["path"], &gone["severity"]), (&"a.ufh.yaml".into(), &"major".into()));
}

/// A pump that is taken in place of a stronger one lies farther under what is needed, though no more is needed than before; and a new
/// fault does not hide what was accepted, nor is it told to be its cause where another loop decides.
#[test]
fn a_limit_that_moves_away_fails_too() {
    let folder = Folder::new("moved-limit").with_demo_designs();
    let design = folder.read("demo-designs/lantern-house.ufh.yaml");
    let with_pump = |head: &str| {
        let pump = design.find("pump: {head: ").expect("it has a pump") + "pump: {head: ".len();
        let end = pump + design[pump..].find('}').expect("it ends");
        folder.write("demo-designs/a.ufh.yaml", format!("{}{head}{}", &design[..pump], &design[end..]));
    };
    let list = ["demo-designs/a.ufh.yaml", "--accepted", "list.yaml", "--fail-on", "warning"];
    with_pump("9 kPa");
    assert_eq!(check(&folder, &[&list[..], &["--write-accepted"]].concat()).status, 0);
    assert!(folder.read("list.yaml").contains("limit: 8100"), "{}", folder.read("list.yaml"));
    assert_eq!(check(&folder, &list).status, 0);
    with_pump("5 kPa");
    let ended = check(&folder, &list);
    assert!(ended.status == 1 && ended.out.contains("accepted before, and worse now"), "{}", ended.out);
    with_pump("9.5 kPa");
    assert_eq!(check(&folder, &list).status, 0, "nearer is no worse");

    with_pump("9 kPa");
    let accepted = |ended: &program::Ended| -> Option<String> {
        let sums = ended.out.lines().find(|line| line.contains("accepted before"))?;
        Some(sums.rsplit("; ").find(|it| it.contains("accepted before"))?.to_string())
    };
    let before = accepted(&check(&folder, &list));
    let colder = folder.read("demo-designs/a.ufh.yaml").replace("heat-loss: 345 W", "heat-loss: 1345 W");
    folder.write("demo-designs/a.ufh.yaml", colder);
    let ended = check(&folder, &list);
    assert!(ended.status == 1 && !ended.out.contains("and so manifold"), "{}", ended.out);
    assert!(before.is_some() && accepted(&ended) == before, "{before:?}: {}", ended.out);
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

/// What stood is held to what it was: a loop that becomes longer still is a new fault, one that becomes shorter is not.
#[test]
fn what_lies_farther_beyond_its_limit_fails() {
    let long = |tails: u32| {
        let clean = include_str!("../crates/check/src/bench/base.ufh.yaml");
        clean.replacen("tails: 10 m, coil: 100 m", &format!("tails: {tails} m, coil: 200 m"), 1)
    };
    let folder = Folder::new("worse").with("a.ufh.yaml", long(60));
    let list = ["a.ufh.yaml", "--accepted", "accepted.yaml"];
    assert_eq!(check(&folder, &[&list[..], &["--write-accepted"]].concat()).status, 0);
    let written = folder.read("accepted.yaml");
    assert!(
        written.contains("at: loops/L1, severity: error, value: 140, limit: 100, places: 0, message: "),
        "{written}"
    );
    for (tails, status) in [(60, 0), (40, 0), (80, 1)] {
        folder.write("a.ufh.yaml", long(tails));
        let ended = check(&folder, &list);
        assert_eq!(ended.status, status, "{tails} m: {}", ended.out);
    }
}

#[test]
fn an_entry_that_can_accept_nothing_is_told() {
    let folder = Folder::new("misspelt").with("a.ufh.yaml", thin("for comment", 20, ""));
    let list = ["a.ufh.yaml", "--accepted", "list.yaml"];
    assert_eq!(check(&folder, &[&list[..], &["--write-accepted"]].concat()).status, 0);
    let good = folder.read("list.yaml");
    folder.write("list.yaml", good.replace(RULE, "insulation-below-minimun"));
    let ended = check(&folder, &list);
    let told = "no longer stands as such; no rule of the program is called insulation-below-minimun; did you mean insulation-below-minimum\n";
    assert!(ended.status == 1 && ended.out.contains(told), "{}", ended.out);
    folder.write("list.yaml", good.replacen("message: ", "reason: \"we know\", message: ", 1));
    let ended = check(&folder, &list);
    assert_eq!((ended.status, &*ended.out), (2, ""));
    assert!(ended.err.contains("an accepted finding has no `reason`; it has `rule`, "), "{}", ended.err);
    // Windows turns the ends of lines.
    folder.write("list.yaml", good.replace('\n', "\r\n"));
    assert_eq!(check(&folder, &list).status, 0);
}

/// Two checks that write one list at once leave a list, and one that is whole.
#[test]
fn two_that_write_at_once_leave_a_whole_list() {
    let folder = Folder::new("at-once").with("a.ufh.yaml", thin("for comment", 20, ""));
    let write = ["a.ufh.yaml", "--accepted", "list.yaml", "--write-accepted"];
    let ends: Vec<i32> = std::thread::scope(|scope| {
        let all: Vec<_> = (0..4).map(|_| scope.spawn(|| check(&folder, &write).status)).collect();
        all.into_iter().map(|it| it.join().expect("a check ends")).collect()
    });
    assert!(ends.contains(&0) && ends.iter().all(|it| [0, 2].contains(it)), "{ends:?}");
    assert_eq!(check(&folder, &write[..3]).status, 0);
    let names: Vec<_> =
        std::fs::read_dir(&folder.0).expect("it is a folder").flatten().map(|it| it.file_name()).collect();
    assert_eq!(names.len(), 2, "nothing is left lying about: {names:?}");
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

    // What `git` is told to pass over it cannot compare: a design that is named, a library that another brings.
    folder.write(".gitignore", "mine*\n");
    folder.write("one/a.ufh.yaml", uses("mine.ufh.yaml"));
    folder.commit("passed over");
    folder.write("one/mine.ufh.yaml", "format: 1\npipes: {thin: {material: PE-X}}\n");
    assert_eq!(since("HEAD"), ["one/a.ufh.yaml"]);
    let named = checked(&folder, &["one/mine.ufh.yaml", "one/b.ufh.yaml", "--changed-since", "HEAD"]);
    assert_eq!(named, ["one/mine.ufh.yaml"]);
    folder.remove("one/mine.ufh.yaml");
    folder.git(&["reset", "--quiet", "--hard", "HEAD~1"]);

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

/// The designs say which repository is asked, wherever the program is started.
#[cfg(unix)]
#[test]
fn the_repository_is_that_of_the_designs() {
    let above = Folder::new("above");
    let design = |more: &str| format!("format: 1\nproject: {{name: Mill}}\nrooms: {{}}\n{more}");
    let inside = |name: &str| -> Folder {
        let folder = Folder(above.0.join(name));
        folder.write("designs/a.ufh.yaml", design(""));
        folder.write("designs/b.ufh.yaml", design(""));
        folder.in_git()
    };
    let (one, other) = (inside("one"), inside("other"));
    one.write("designs/a.ufh.yaml", design("# edited\n"));
    other.write("house-standard.yaml", "format: 1\nhouse-standard: {name: Ours}\n");
    let since = |paths: &[&str]| checked(&above, &[paths, &["--changed-since", "main"]].concat());
    assert_eq!(since(&["one"]), ["one/designs/a.ufh.yaml"]);
    let both = ["one/designs/a.ufh.yaml", "other/designs/a.ufh.yaml", "other/designs/b.ufh.yaml"];
    assert_eq!(since(&["one/designs", "other/designs"]), both, "each asks its own");
    // By a link from outside they are the same files.
    std::os::unix::fs::symlink("one/designs", above.0.join("way")).expect("a link can be made");
    assert_eq!(since(&["way"]), ["way/a.ufh.yaml"]);
    std::os::unix::fs::symlink("one/designs/b.ufh.yaml", above.0.join("link.ufh.yaml")).expect("a link can be made");
    assert!(since(&["link.ufh.yaml"]).is_empty());

    // A hook is told by its surroundings where the repository is, and these designs may lie in another.
    let hook = |more: &[(&str, String)], paths: &[&str]| -> Vec<String> {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_hypocaust"));
        command.args(["check", "--today", TODAY, "--format", "json", "--changed-since", "HEAD"]).args(paths);
        command.current_dir(&one.0).envs(more.iter().map(|(name, value)| (*name, value)));
        let output = command.output().expect("the program starts");
        let document: Value = serde_json::from_slice(&output.stdout)
            .unwrap_or_else(|error| panic!("{error}: {}", String::from_utf8_lossy(&output.stderr)));
        let designs = document["designs"].as_array().cloned().unwrap_or_default();
        designs.iter().filter_map(|it| it["file"].as_str()).map(str::to_string).collect()
    };
    let surroundings = [("GIT_DIR", ".git".to_string()), ("GIT_INDEX_FILE", ".git/index".to_string())];
    assert_eq!(hook(&surroundings, &["designs"]), ["designs/a.ufh.yaml"]);
    assert_eq!(hook(&surroundings, &["../other/designs"]).len(), 2);
    other.remove("house-standard.yaml");
    assert!(hook(&surroundings, &["../other/designs"]).is_empty());
}

/// In CI no design may go by unseen: what is left out is told, and what `git` keeps is checked.
#[cfg(unix)]
#[test]
fn what_a_search_leaves_out_is_told() {
    let design = "format: 1\nproject: {name: Mill}\nrooms: {}\n";
    let folder = Folder::new("left-out")
        .with(".gitignore", "old/\ndraft*\n")
        .with("plain.ufh.yaml", design)
        .with("old/kept.ufh.yaml", design)
        .with("old/mine.ufh.yaml", design)
        .with(".hidden/a.ufh.yaml", design)
        .with("samples/.ignore", "*\n")
        .with("samples/b.ufh.yaml", design)
        .with("elsewhere/c.ufh.yaml", design)
        .with("draft.ufh.yaml", design);
    folder.git(&["init", "--quiet", "--initial-branch", "main"]);
    folder.git(&["add", "--force", "old/kept.ufh.yaml", "samples/b.ufh.yaml", "plain.ufh.yaml"]);
    let other = Folder::new("left-out-elsewhere").with("d.ufh.yaml", design);
    std::os::unix::fs::symlink(&other.0, folder.0.join("linked")).expect("a link can be made");
    std::os::unix::fs::symlink("elsewhere", folder.0.join("within")).expect("a link can be made");
    let files = |document: &Value| -> Vec<String> {
        let designs = document["designs"].as_array().cloned().unwrap_or_default();
        designs.iter().filter_map(|it| it["file"].as_str()).map(str::to_string).collect()
    };
    let (ended, document) = folder.check_json(&["."]);
    assert_eq!(files(&document), ["elsewhere/c.ufh.yaml", "old/kept.ufh.yaml", "plain.ufh.yaml"]);
    assert_eq!(document["summary"]["left-out"], 4, "{document:#}");
    let told = "4 files named like designs were left out: `./.hidden/a.ufh.yaml`, `./draft.ufh.yaml`, `./old/mine.ufh.yaml`, `./samples/b.ufh.yaml`; ";
    assert!(ended.err.contains(told), "{}", ended.err);
    assert!(ended.err.contains("1 folder is a link, and was not searched: `./linked`; "), "{}", ended.err);
    assert!(check(&folder, &["."]).out.contains("\n3 designs: 3 hints; 4 files left out\n"));

    let log: Value = serde_json::from_str(&check(&folder, &[".", "--format", "sarif"]).out).expect("a log is JSON");
    let notes = log["runs"][0]["invocations"][0]["toolExecutionNotifications"].to_string();
    assert!(notes.contains("4 files named like designs were left out"), "{notes}");

    // What is named is checked, and is not left out; all is well that is named twice.
    let (ended, document) =
        folder.check_json(&["old", ".hidden", "draft.ufh.yaml", "linked", "./draft.ufh.yaml", "samples/b.ufh.yaml"]);
    assert_eq!(document["summary"]["left-out"], 0, "{}", ended.err);
    assert_eq!(files(&document).len(), 6, "{document:#}");
    let shares: u64 = ["1/2", "2/2"]
        .iter()
        .filter_map(|share| folder.check_json(&[".", "--share", share]).1["summary"]["left-out"].as_u64())
        .sum();
    assert_eq!(shares, 4);
    let ended = check(&Folder(folder.0.join("samples")), &["."]);
    assert!(ended.status == 2 && ended.err.contains("there is no design to check"), "{}", ended.err);
    assert!(ended.err.contains("1 file named like a design was left out: `./b.ufh.yaml`"), "{}", ended.err);
}

/// A library that is named is checked, though a folder that passes it over is named too.
#[test]
fn a_library_that_is_named_is_checked_beside_its_folder() {
    let folder = Folder::new("named")
        .with("lib/pipes.ufh.yaml", "format: 1\npipes: {thin: {material: PE-X, colour: red}}\n")
        .with("a.ufh.yaml", "format: 1\nrooms: {}\n");
    let paths = [".", "lib/pipes.ufh.yaml"];
    assert_eq!(checked(&folder, &paths), ["a.ufh.yaml", "lib/pipes.ufh.yaml"]);
}

/// What is wrong with the house standard is one thing, however many designs are held to it, and it is no design.
#[test]
fn a_fault_of_the_house_standard_is_told_once() {
    let clean = include_str!("../crates/check/src/bench/base.ufh.yaml");
    let standard = "format: 1\nhouse-standard: {name: Ours}\nrules:\n  loop-over-maximum-lenght: {limits: {most: 9 m}}\n  checker-missing: {colour: red}\n";
    let mut folder = Folder::new("standard").with("house-standard.yaml", standard);
    for number in 0..5 {
        folder = folder.with(&format!("designs/{number}.ufh.yaml"), clean);
    }
    let summary = |paths: &[&str]| folder.check_json(paths).1["summary"].clone();
    for paths in [&["."][..], &["designs"], &["designs", "house-standard.yaml"]] {
        let said = summary(paths);
        let numbers = ["designs", "house-standards", "errors", "warnings"].map(|key| said[key].as_u64().unwrap_or(99));
        assert_eq!(numbers, [5, 1, 1, 1], "{paths:?}: {said}");
        let shares: Vec<Value> =
            ["1/3", "2/3", "3/3"].iter().map(|it| summary(&[paths, &["--share", it]].concat())).collect();
        for (key, number) in said.as_object().expect("a summary has numbers") {
            let sum: u64 = shares.iter().filter_map(|it| it[key].as_u64()).sum();
            assert_eq!(Some(sum), number.as_u64(), "{key} of {paths:?}");
        }
        assert_eq!(shares.iter().map(|it| it["designs"].as_u64().unwrap_or(0)).max(), Some(2), "no share has more");
    }
    let text = check(&folder, &["designs", "--format", "summary"]).out;
    assert!(text.starts_with("house-standard.yaml: 1 error, 1 warning\ndesigns/0.ufh.yaml: nothing found; "), "{text}");
    assert!(text.contains("\n5 designs and 1 house standard: 1 error, 1 warning; "), "{text}");
    // One that is sound is no entry of its own.
    folder.write("house-standard.yaml", "format: 1\nhouse-standard: {name: Ours}\n");
    assert_eq!(summary(&["designs"])["house-standards"], 0);
}

/// Folders that nobody may read, names that are no text, two designs of one name: each is told or checked, and none is passed over.
#[cfg(target_os = "linux")]
#[test]
fn odd_files_are_checked_or_told() {
    use std::os::unix::ffi::OsStrExt;
    let design = "format: 1\nproject: {name: Mill, stage: preliminary}\nrooms: {}\n";
    let folder =
        Folder::new("odd").with("a/house.ufh.yaml", design).with("b/house.ufh.yaml", design.replace('\n', "\r\n"));
    for name in [&b"\xff.ufh.yaml"[..], b"\xfe.ufh.yaml", b"\x1b[2J\n::error::x.ufh.yaml"] {
        let path = folder.0.join("c").join(std::ffi::OsStr::from_bytes(name));
        std::fs::create_dir_all(folder.0.join("c")).expect("a folder can be made");
        std::fs::write(path, design).expect("a file can be written");
    }
    let deep = "deep/".repeat(60) + "d.ufh.yaml";
    folder.write(&deep, design);
    let folder = folder.in_git();
    let (ended, document) = folder.check_json(&["."]);
    assert_eq!((ended.status, &document["summary"]["designs"]), (0, &6.into()), "{}", ended.err);
    for name in [&b"\xff.ufh.yaml"[..], b"\xfe.ufh.yaml"] {
        let path = folder.0.join("c").join(std::ffi::OsStr::from_bytes(name));
        std::fs::write(path, format!("{design}# edited\n")).expect("a file can be written");
    }
    assert_eq!(checked(&folder, &[".", "--changed-since", "HEAD"]).len(), 2, "names that are no text are told apart");
    for form in ["text", "github", "junit", "markdown", "summary"] {
        let ended = check(&folder, &[".", "\u{1b}[2J\n::error::gone.ufh.yaml", "--format", form]);
        assert_eq!(ended.status, 2);
        for said in [&ended.out, &ended.err] {
            assert!(
                !said.contains('\u{1b}') && said.lines().all(|line| !line.trim_start().starts_with("::error::")),
                "{form}: {said}"
            );
        }
    }
}

/// Each command ends with each status that its help documents, and with no other.
#[test]
fn every_command_ends_as_its_help_says() {
    let clean = include_str!("../crates/check/src/bench/base.ufh.yaml");
    let folder = Folder::new("ends")
        .with("clean.ufh.yaml", clean)
        .with(
            "drawn.ufh.yaml",
            clean.replacen("    area: 12 m²\n", "    outline: [[0, 0], [4, 0], [4, 3], [0, 3]]\n", 1),
        )
        .with("thin.ufh.yaml", clean.replace("130 mm", "20 mm"))
        .with(
            "broken.ufh.yaml",
            "format: 1\nrooms: {hall: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}\nloops: {L1: {spacing: 150}\n",
        )
        .with("file", "");
    let cases: [(&str, i32); 31] = [
        ("start house-standard.yaml", 0),
        ("start clean.ufh.yaml", 2),
        ("check clean.ufh.yaml", 0),
        ("check thin.ufh.yaml", 1),
        ("check gone.ufh.yaml", 2),
        ("workings clean.ufh.yaml", 0),
        ("workings broken.ufh.yaml", 1),
        ("workings gone.ufh.yaml", 2),
        ("schedule clean.ufh.yaml", 0),
        ("schedule broken.ufh.yaml", 1),
        ("schedule gone.ufh.yaml", 2),
        ("plan drawn.ufh.yaml", 0),
        ("plan broken.ufh.yaml", 1),
        ("plan clean.ufh.yaml", 2),
        ("issue clean.ufh.yaml --out out", 0),
        ("issue thin.ufh.yaml --out refused", 1),
        ("issue clean.ufh.yaml --out file", 2),
        ("remedy thin.ufh.yaml", 0),
        ("remedy gone.ufh.yaml", 2),
        ("compare clean.ufh.yaml clean.ufh.yaml", 0),
        ("compare clean.ufh.yaml thin.ufh.yaml", 1),
        ("compare clean.ufh.yaml file", 2),
        ("guidance", 0),
        ("guidance no-such-rule", 2),
        ("completions bash", 0),
        ("completions no-such-shell", 2),
        ("manual pages", 0),
        ("manual file", 2),
        ("schema design", 0),
        ("schema no-such-schema", 2),
        ("language-server", 1),
    ];
    for (line, status) in cases {
        let words: Vec<&str> = line.split(' ').collect();
        let help = folder.run(&[words[0], "--help"]).out;
        let (_, documented) = help.split_once("Exit status:\n").expect("the help says how it ends");
        let said = documented.lines().any(|it| it.trim_start().starts_with(&format!("{status}  ")));
        assert!(said, "{line}: {status} is not documented: {documented}");
        let ended = folder.run(&words);
        assert_eq!(ended.status, status, "{line}: {}{}", ended.out, ended.err);
    }
}

/// A bar shows how far many designs have come, on a terminal and nowhere else.
#[cfg(target_os = "linux")]
#[test]
fn progress_is_shown_on_a_terminal_and_nowhere_else() {
    let design = include_str!("../crates/check/src/bench/base.ufh.yaml");
    let mut folder = Folder::new("progress");
    for number in 0..13 {
        folder = folder.with(&format!("{number}.ufh.yaml"), design);
    }
    let silent = check(&folder, &["."]);
    assert_eq!((silent.status, &*silent.err), (0, ""));
    // `script` gives a program a terminal, and prints what was shown there.
    let shown = |paths: &str| -> String {
        let command = format!("'{}' check {paths} --today {TODAY} > out", env!("CARGO_BIN_EXE_hypocaust"));
        let output = std::process::Command::new("script")
            .args(["--quiet", "--return", "--command", &command, "/dev/null"])
            .current_dir(&folder.0)
            .env("TERM", "xterm")
            .stdin(std::process::Stdio::null())
            .output()
            .expect("these tests need the program `script`");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    let bar = shown(".");
    assert!(bar.contains("/13"), "{bar:?}");
    let last = bar.rsplit("/13").next().unwrap_or_default();
    assert!(last.contains('\u{1b}'), "it is taken away at the end: {bar:?}");
    assert_eq!(folder.read("out"), silent.out, "what is printed is the same");
    assert_eq!(shown("1.ufh.yaml"), "", "one design is soon done");
}

/// A repository within another stands in it at a commit; where it does not know a revision of the outer one, it is asked from there.
#[test]
fn a_change_is_found_in_a_repository_within_the_repository() {
    let shared = Folder::new("shared-designs");
    shared.write("a.ufh.yaml", "format: 1\nrooms: {}\n");
    shared.write("b.ufh.yaml", "format: 1\nrooms: {}\n");
    let shared = shared.in_git();
    let firm = Folder::new("firm-of-shared").with("own.ufh.yaml", "format: 1\nrooms: {}\n").in_git();
    let from = shared.0.to_string_lossy();
    firm.git(&["-c", "protocol.file.allow=always", "submodule", "--quiet", "add", &from, "shared"]);
    firm.commit("designs of the group");
    firm.git(&["tag", "P1"]);
    assert_eq!(checked(&firm, &[".", "--changed-since", "P1"]), [""; 0]);
    firm.write("shared/b.ufh.yaml", "format: 1\nrooms: {hall: {}}\n");
    assert_eq!(checked(&firm, &[".", "--changed-since", "P1"]), ["shared/b.ufh.yaml"]);
}

/// One that came, or moved, since the revision was not in its place then: all that is in it is new there.
#[test]
fn a_repository_that_came_since_is_new_as_a_whole() {
    let shared = Folder::new("shared-later");
    shared.write("a.ufh.yaml", "format: 1\nrooms: {}\n");
    shared.write("b.ufh.yaml", "format: 1\nrooms: {}\n");
    let shared = shared.in_git();
    let firm = Folder::new("firm-of-later").with("own.ufh.yaml", "format: 1\nrooms: {}\n").in_git();
    firm.git(&["tag", "P0"]);
    let from = shared.0.to_string_lossy();
    firm.git(&["-c", "protocol.file.allow=always", "submodule", "--quiet", "add", &from, "shared"]);
    assert_eq!(checked(&firm, &[".", "--changed-since", "P0"]), ["shared/a.ufh.yaml", "shared/b.ufh.yaml"]);
    firm.commit("designs of the group");
    firm.git(&["tag", "P1"]);
    assert_eq!(checked(&firm, &[".", "--changed-since", "P0"]), ["shared/a.ufh.yaml", "shared/b.ufh.yaml"]);
    firm.git(&["mv", "shared", "group"]);
    assert_eq!(checked(&firm, &[".", "--changed-since", "P1"]), ["group/a.ufh.yaml", "group/b.ufh.yaml"]);
}

/// A list that says the same twice accepts one finding, and does not say that what stands is gone.
#[test]
fn an_entry_that_stands_twice_is_told_as_that() {
    let base = include_str!("../crates/check/src/bench/base.ufh.yaml").replace("130 mm", "20 mm");
    let folder = Folder::new("entry-twice").with("a.ufh.yaml", base);
    let list = ["a.ufh.yaml", "--accepted", "list.yaml", "--fail-on", "warning"];
    assert_eq!(check(&folder, &[&list[..], &["--write-accepted"]].concat()).status, 0);
    let once = folder.read("list.yaml");
    let entry =
        once.lines().find(|line| line.contains("insulation-below-minimum")).expect("the insulation is too thin");
    folder.write("list.yaml", once.replace(entry, &format!("{entry}\n{entry}")));
    let ended = check(&folder, &list);
    let told = "insulation-below-minimum at floors/screeded stands more often in the list than in the design\n";
    assert!(ended.status == 1 && ended.out.contains(told) && !ended.out.contains("no longer"), "{}", ended.out);
    folder.write("a.ufh.yaml", folder.read("a.ufh.yaml").replace("20 mm", "130 mm"));
    assert!(
        check(&folder, &list).out.contains("insulation-below-minimum at floors/screeded was accepted as error and no")
    );
    folder.write("a.ufh.yaml", folder.read("a.ufh.yaml").replace("130 mm", "20 mm"));
    assert_eq!(check(&folder, &[&list[..], &["--write-accepted"]].concat()).status, 0);
    assert_eq!(folder.read("list.yaml"), once);
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
        assert!(ended.err.contains("is no revision of the repository `"), "{}", ended.err);
    }
    // A repository within another has revisions of its own.
    let inner = Folder(folder.0.join("vendor"));
    std::fs::create_dir(&inner.0).expect("a folder can be made");
    inner.write("b.ufh.yaml", "format: 1\nrooms: {}\n");
    inner.in_git();
    folder.git(&["tag", "P1"]);
    let ended = check(&folder, &["vendor/b.ufh.yaml", "--changed-since", "P1"]);
    assert_eq!(ended.status, 2);
    assert!(
        ended.err.contains("`P1` is no revision of the repository `vendor`, which is one of its own within `"),
        "{}",
        ended.err
    );
    folder.git(&["switch", "--quiet", "--orphan", "alone"]);
    folder.commit("alone");
    let ended = check(&folder, &["--changed-since", "main", "-"]);
    assert!(ended.status == 2 && ended.err.contains("have no revision in common"), "{}", ended.err);
}
