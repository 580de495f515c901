//! What is ready-made for hosts of code: the scripts in it are run as the hosts run them, but for the building of the program.
#![cfg(unix)]

mod program;

use program::Folder;
use std::path::Path;
use std::process::{Command, Output};
use yaml_tree::{FileId, Node};

const ACTION: &str = include_str!("../.ci/github/action.yml");
const WORKFLOW: &str = include_str!("../.ci/github/workflow.yml");
const GITLAB: &str = include_str!("../.ci/gitlab-ci.yml");
const HOOKS: &str = include_str!("../.pre-commit-hooks.yaml");

/// The tree of a file, in which nothing is wrong.
fn read(text: &str) -> Node<'_> {
    let tree = yaml_tree::parse(FileId::new(0), text);
    assert!(tree.faults.is_empty(), "{:?}", tree.faults);
    tree.root.expect("the file says something")
}

fn at<'n, 't>(node: &'n Node<'t>, keys: &[&str]) -> &'n Node<'t> {
    keys.iter().fold(node, |at, key| at.get(key).unwrap_or_else(|| panic!("{key} of {keys:?} is not there")))
}

fn words(node: &Node) -> Vec<String> {
    let texts = node.as_list().expect("it is a list").iter().filter_map(Node::as_text);
    texts.map(str::to_string).collect()
}

/// A repository with a clean design on `main` and, on a branch, one with an area that has no unit.
fn repository(name: &str) -> Folder {
    let folder = Folder::new(name)
        .with("designs/clean.ufh.yaml", include_str!("../crates/check/src/bench/base.ufh.yaml"))
        .with("accepted.yaml", "format: 1\naccepted:\n")
        .in_git();
    folder.git(&["switch", "--quiet", "--create", "branch"]);
    folder.write("designs/wrong one.ufh.yaml", "format: 1\nrooms:\n  hall: {area: 12}\n");
    folder.commit("a wrong one");
    folder
}

/// Runs a script in a folder, the program on its path, and before it what is in the folder `first`.
fn run(folder: &Folder, script: &str, set: &[(&str, &str)]) -> Output {
    let program = Path::new(env!("CARGO_BIN_EXE_hypocaust")).parent().expect("it is in a folder");
    let first = folder.0.join("first");
    let path = format!("{}:{}:{}", first.display(), program.display(), std::env::var("PATH").unwrap_or_default());
    let mut command = Command::new("bash");
    command.args(["--noprofile", "--norc", "-eo", "pipefail", "-c", script]).current_dir(&folder.0).env("PATH", path);
    command.env_remove("GIT_DIR").envs(set.iter().copied()).output().expect("there is a bash")
}

/// The files are what their hosts say that they read.
#[test]
fn the_files_fit_the_schemas_of_their_hosts() {
    for (name, text, schema) in [
        ("action", ACTION, include_str!("reference/formats/github-action.schema.json")),
        ("workflow", WORKFLOW, include_str!("reference/formats/github-workflow.schema.json")),
        ("jobs", GITLAB, include_str!("reference/formats/gitlab-ci.schema.json")),
    ] {
        let schema = serde_json::from_str(schema).expect("the schema is JSON");
        let schema = jsonschema::draft7::new(&schema).expect("the schema is a schema");
        let faults = |text: &str| -> Vec<String> {
            let file = serde_yaml::from_str(text).expect("the file is YAML");
            schema.iter_errors(&file).map(|it| format!("{}: {it}", it.instance_path())).collect()
        };
        assert_eq!(faults(text), Vec::<String>::new(), "{name}");
        let worse = text
            .replace("composite", "composed")
            .replace("runs-on:", "run-on:")
            .replace("parallel: 2", "parallel: two");
        assert!(text != worse && !faults(&worse).is_empty(), "{name}: the schema tells what is wrong");
    }
}

/// What builds the program is run but for the building: a `cargo` that only says what it was asked for.
#[test]
fn the_steps_before_the_check_build_what_is_here() {
    use std::os::unix::fs::PermissionsExt;
    let folder = Folder::new("build").with("first/cargo", "#!/bin/sh\nprintf '%s\\n' \"$@\" > asked\n");
    let cargo = folder.0.join("first/cargo");
    std::fs::set_permissions(&cargo, std::fs::Permissions::from_mode(0o755)).expect("it can be made a program");
    let action = read(ACTION);
    let build = &at(&action, &["runs", "steps"]).as_list().expect("steps are a list")[0];
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let from = root.join(".ci/github").to_string_lossy().into_owned();
    let temporary = folder.0.join("runner").to_string_lossy().into_owned();
    let set = [("FROM", &*from), ("RUNNER_TEMP", &*temporary), ("GITHUB_PATH", "path")];
    let ended = run(&folder, at(build, &["run"]).as_text().unwrap_or_default(), &set);
    assert!(ended.status.success(), "{}", String::from_utf8_lossy(&ended.stderr));
    let asked = folder.read("asked");
    let asked: Vec<&str> = asked.lines().collect();
    let [.., "--path", package, "--root", into] = asked[..] else { panic!("{asked:?}") };
    let manifest = std::fs::read_to_string(Path::new(package).join("Cargo.toml")).expect("the package is there");
    assert!(manifest.contains("name = \"hypocaust\""), "{manifest}");
    assert_eq!(folder.read("path"), format!("{into}/bin\n"), "where it is put is where it is looked for");

    let jobs = read(GITLAB);
    let script = words(at(&jobs, &[".floor-heating", "before_script"])).join("\n");
    let ended = run(&folder, &script, &[("HYPOCAUST", "https://example.org/hypocaust.git")]);
    assert!(ended.status.success());
    assert_eq!(folder.read("asked"), "install\n--locked\n--git\nhttps://example.org/hypocaust.git\nhypocaust\n");
}

#[test]
fn the_action_checks_and_shows_what_is_new() {
    let action = read(ACTION);
    let steps = at(&action, &["runs", "steps"]).as_list().expect("steps are a list");
    assert_eq!(at(&action, &["runs", "using"]).as_text(), Some("composite"));
    let folder = repository("action");
    for step in steps {
        let script = at(step, &["run"]).as_text().expect("a step is a script");
        assert!(!script.contains("${{"), "what comes from outside is no part of a script");
        let read = run(&folder, &format!("set -n\n{script}"), &[]);
        assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
    }
    let check = steps.last().expect("the last step checks");
    let with = |given: &[(&str, &str)]| -> Output {
        let variables = at(check, &["env"]).as_map().expect("it has variables");
        let set: Vec<(String, String)> = (variables.iter())
            .map(|(name, value)| {
                let input =
                    value.as_text().and_then(|it| it.strip_prefix("${{ inputs.")).and_then(|it| it.strip_suffix(" }}"));
                let input = input.expect("each is an input");
                let standard = at(&action, &["inputs", input, "default"]).as_text().expect("an input may be left out");
                let given = given.iter().find(|(name, _)| *name == input).map_or(standard, |(_, value)| value);
                (name.as_text().unwrap_or_default().to_string(), given.to_string())
            })
            .collect();
        let set: Vec<(&str, &str)> = set.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        run(&folder, at(check, &["run"]).as_text().unwrap_or_default(), &set)
    };
    let all = with(&[]);
    let out = String::from_utf8_lossy(&all.stdout).into_owned();
    assert_eq!(all.status.code(), Some(1), "{out}{}", String::from_utf8_lossy(&all.stderr));
    assert!(out.contains("::error file=designs/wrong one.ufh.yaml,line=3,"), "{out}");
    assert_eq!(with(&[("paths", "designs/clean.ufh.yaml gone.ufh.yaml")]).status.code(), Some(2));
    let since =
        [("paths", "designs"), ("accepted", "accepted.yaml"), ("changed-since", "main"), ("sarif", "findings.sarif")];
    let touched = with(&since);
    let out = String::from_utf8_lossy(&touched.stdout).into_owned();
    assert!(touched.status.code() == Some(1) && !out.contains("clean.ufh.yaml"), "{out}");
    let log: serde_json::Value = serde_json::from_str(&folder.read("findings.sarif")).expect("a log is JSON");
    assert_eq!(log["runs"][0]["artifacts"][0]["location"]["uri"], "designs/wrong%20one.ufh.yaml");
    folder.git(&["switch", "--quiet", "main"]);
    assert_eq!(with(&since).status.code(), Some(0));
    assert_eq!(with(&[("fail-on", "$(false)")]).status.code(), Some(2), "what comes from outside is not run");
}

#[test]
fn the_workflow_gives_the_action_what_it_knows() {
    let (workflow, action) = (read(WORKFLOW), read(ACTION));
    let steps = at(&workflow, &["jobs", "check", "steps"]).as_list().expect("steps are a list");
    let uses = steps
        .iter()
        .find(|it| it.get("uses").and_then(Node::as_text).is_some_and(|it| it.contains("hypocaust/.ci/github@")));
    let given = at(uses.expect("it uses the action"), &["with"]).as_map().expect("it gives inputs");
    for (input, _) in given {
        at(&action, &["inputs", input.as_text().unwrap_or_default()]);
    }
}

#[test]
fn the_jobs_for_gitlab_check_and_leave_their_reports() {
    let jobs = read(GITLAB);
    let folder = repository("gitlab");
    let mut set: Vec<(String, String)> = vec![
        ("CI_MERGE_REQUEST_DIFF_BASE_SHA".into(), folder.git(&["rev-parse", "main"]).trim().into()),
        ("CI_NODE_INDEX".into(), "2".into()),
        ("CI_NODE_TOTAL".into(), "2".into()),
    ];
    for (name, value) in at(&jobs, &["variables"]).as_map().expect("it has variables") {
        set.push((name.as_text().unwrap_or_default().into(), value.as_text().unwrap_or_default().into()));
    }
    let set: Vec<(&str, &str)> = set.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    for (job, report, file) in [
        ("floor-heating", "codequality", "gl-code-quality-report.json"),
        ("floor-heating-all", "junit", "floor-heating.xml"),
    ] {
        assert_eq!(at(&jobs, &[job, "artifacts", "reports", report]).as_text(), Some(file));
        let ended = run(&folder, &words(at(&jobs, &[job, "script"])).join("\n"), &set);
        assert_eq!(ended.status.code(), Some(1), "{job}: {}", String::from_utf8_lossy(&ended.stderr));
        assert!(folder.read(file).contains("unit-missing-or-wrong"), "{job}");
        assert!(
            !folder.read(file).contains("clean.ufh.yaml"),
            "{job}: the clean one is untouched, and in the other share"
        );
    }
}

#[test]
fn the_hooks_check_what_a_commit_touches() {
    let hooks = read(HOOKS);
    let folder = repository("hooks");
    for hook in hooks.as_list().expect("hooks are a list") {
        for key in ["id", "name", "language", "files"] {
            assert!(at(hook, &[key]).as_text().is_some_and(|it| !it.is_empty()), "{key}");
        }
        let entry = at(hook, &["entry"]).as_text().unwrap_or_default();
        let script = format!("{entry} {}", words(at(hook, &["args"])).join(" "));
        assert_eq!(run(&folder, &script, &[]).status.code(), Some(0), "what is committed already is not looked at");
        folder.write("designs/wrong one.ufh.yaml", "format: 1\nrooms:\n  den: {area: 9}\n");
        folder.git(&["add", "--all"]);
        assert_eq!(run(&folder, &script, &[]).status.code(), Some(1));
        folder.git(&["reset", "--quiet", "--hard"]);
    }
}
