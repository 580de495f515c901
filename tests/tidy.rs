//! The house rules that a compiler does not hold.

use std::path::{Path, PathBuf};

/// The crates from the ground up: each may use those before it, and these only as listed.
const ARROWS: [(&str, &[&str]); 9] = [
    ("quantity", &[]),
    ("yaml-tree", &[]),
    ("design", &["quantity", "yaml-tree"]),
    ("engineering", &["quantity"]),
    ("workings", &["design", "engineering", "quantity", "yaml-tree"]),
    ("check", &["workings", "design", "engineering", "quantity", "yaml-tree"]),
    ("report", &["check", "workings", "design", "engineering", "quantity", "yaml-tree"]),
    ("language-server", &["report", "check", "workings", "design", "engineering", "quantity", "yaml-tree"]),
    ("hypocaust", &["language-server", "report", "check", "workings", "design", "quantity", "yaml-tree"]),
];

/// What the check and all below it must do without, so that it can run anywhere.
const BROUGHT_BY_CALLERS: [&str; 8] =
    ["std::fs", "std::thread", "std::net", "std::process", "SystemTime", "Instant::now", "println!", "eprintln!"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

#[test]
fn arrows_go_one_way() {
    let mut folders: Vec<String> = std::fs::read_dir(root().join("crates"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    folders.sort();
    let mut known: Vec<&str> = ARROWS.iter().map(|(name, _)| *name).collect();
    known.sort_unstable();
    assert_eq!(folders, known, "the crates are not those that DEVELOPERS.md lists");
    for (name, may_use) in ARROWS {
        let manifest = read(&root().join("crates").join(name).join("Cargo.toml"));
        let dependencies = manifest.split("[dependencies]").nth(1).unwrap_or_default();
        let dependencies = dependencies.split("\n[").next().unwrap_or_default();
        for line in dependencies.lines() {
            let used = line.split(['.', ' ', '=']).next().unwrap_or_default();
            if known.contains(&used) {
                assert!(may_use.contains(&used), "`{name}` may not use `{used}`");
            }
        }
    }
}

#[test]
fn the_table_of_crates_is_that_of_the_guide() {
    let guide = read(&root().join("DEVELOPERS.md"));
    for (name, _) in ARROWS {
        assert!(guide.contains(&format!("| `{name}` |")), "DEVELOPERS.md does not list `{name}`");
    }
}

#[test]
fn the_check_brings_no_clock_disk_network_or_thread() {
    for (name, _) in &ARROWS[..6] {
        let mut files = Vec::new();
        sources(&root().join("crates").join(name).join("src"), &mut files);
        for file in files.iter().filter(|file| !file.ends_with("tests.rs")) {
            let text = read(file);
            let product = text.split("#[cfg(test)]").next().unwrap_or_default();
            for banned in BROUGHT_BY_CALLERS {
                let used = product.lines().any(|line| !line.trim_start().starts_with("//") && line.contains(banned));
                assert!(!used, "{}: `{banned}` must be brought by the callers", file.display());
            }
        }
    }
}

/// A message is one sentence: lower case first, no full stop. Every example on every page is executed, so the messages
/// that the pages mark are the messages that users read.
#[test]
fn messages_are_sentences_without_a_full_stop() {
    for rule in check::RULES {
        for example in check::Guidance::of(rule).examples() {
            for line in example.text.lines() {
                let Some(comment) = line.trim_start().strip_prefix('#').map(str::trim_start) else { continue };
                if !comment.starts_with('^') {
                    continue;
                }
                let message = comment.trim_start_matches('^').trim();
                assert!(!message.ends_with('.'), "{}: `{message}` ends with a full stop", rule.name);
                assert!(message.len() > 10, "{}: `{message}` says next to nothing", rule.name);
            }
        }
    }
}

/// Each page says why and how, and each limit whose it is.
#[test]
fn every_page_is_whole() {
    for rule in check::RULES {
        let page = check::Guidance::of(rule).page;
        assert!(page.contains("## How it is worked out"), "{}: the page does not say how it is worked out", rule.name);
        assert!(page.split("\n\n").count() > 2, "{}: the page does not say why", rule.name);
    }
}
