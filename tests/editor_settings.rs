//! The settings of editors that the tests do not run hold nothing but what those editors document, and start the program.
//!
//! The keys are those of Helix 25.07, "Languages"; of the package LSP for Sublime Text, "Client Configuration"; of Zed,
//! "Configuring Supported Languages"; each as published by its makers. What Kate takes is known from Kate 22.12, which was run.

use serde_json::{Value, json};
use std::path::Path;

fn read(path: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../editors").join(path);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn settings(path: &str) -> Value {
    serde_json::from_str(&read(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// A block must have keys of the list and no others.
#[track_caller]
fn has_only(of: &Value, known: &[&str]) {
    let block = of.as_object().unwrap_or_else(|| panic!("{of} is no block"));
    let unknown: Vec<&String> = block.keys().filter(|key| !known.contains(&key.as_str())).collect();
    assert!(unknown.is_empty(), "{unknown:?} in {of}");
}

#[test]
fn helix() {
    let text = read("helix/languages.toml");
    let parsed: toml_edit::DocumentMut = text.parse().expect("it is TOML");
    let of_server = parsed["language-server"]["hypocaust"].as_table().expect("a table");
    for (key, _) in of_server {
        let known = ["command", "args", "config", "timeout", "environment", "required-root-patterns"];
        assert!(known.contains(&key), "{key}");
    }
    assert_eq!(of_server["command"].as_str(), Some("hypocaust"));
    assert_eq!(of_server["args"].as_array().and_then(|it| it.get(0)?.as_str()), Some("language-server"));
    let language = parsed["language"].as_array_of_tables().and_then(|it| it.get(0)).expect("a language");
    let known = [
        "name",
        "language-id",
        "scope",
        "injection-regex",
        "file-types",
        "shebangs",
        "roots",
        "auto-format",
        "diagnostic-severity",
        "comment-token",
        "comment-tokens",
        "block-comment-tokens",
        "indent",
        "language-servers",
        "grammar",
        "formatter",
        "soft-wrap",
        "text-width",
        "rulers",
        "workspace-lsp-roots",
        "persistent-diagnostic-sources",
    ];
    for (key, _) in language {
        assert!(known.contains(&key), "{key}");
    }
    assert_eq!(language["language-servers"].as_array().and_then(|it| it.get(0)?.as_str()), Some("hypocaust"));
}

#[test]
fn sublime_text() {
    let all = settings("sublime-text/LSP.sublime-settings");
    has_only(&all, &["show_inlay_hints", "clients"]);
    let client = &all["clients"]["hypocaust"];
    has_only(
        client,
        &[
            "enabled",
            "command",
            "env",
            "settings",
            "initializationOptions",
            "selector",
            "priority_selector",
            "diagnostics_mode",
        ],
    );
    assert_eq!(client["command"], json!(["hypocaust", "language-server"]));
    let syntax: serde_yaml::Value =
        serde_yaml::from_str(&read("sublime-text/Underfloor Heating.sublime-syntax")).expect("a syntax is YAML");
    assert_eq!(syntax["scope"].as_str(), client["selector"].as_str());
}

#[test]
fn zed() {
    let all = settings("zed/settings.json");
    has_only(&all, &["file_types", "languages", "inlay_hints", "lsp"]);
    let binary = &all["lsp"]["yaml-language-server"]["binary"];
    has_only(binary, &["path", "arguments", "env", "ignore_system_version"]);
    assert_eq!(binary, &json!({"path": "hypocaust", "arguments": ["language-server"]}));
}

#[test]
fn kate() {
    let server = &settings("kate/settings.json")["servers"]["underfloor-heating"];
    has_only(server, &["command", "url", "highlightingModeRegex"]);
    assert_eq!(server["command"], json!(["hypocaust", "language-server"]));
    assert!(read("kate/underfloor-heating.xml").contains("<language name=\"Underfloor Heating\""));
}
