//! The manifest: the files of a pack and those that it came from, with their digests, for programs.

use super::identity::{Identity, sha256};
use super::{File, Issue};
use crate::CAUTION;
use serde::Serialize;

pub fn json(issue: &Issue, files: &[File]) -> String {
    let identity = &issue.identity;
    let entry = |(file, digest): &(String, String)| Entry { file: file.clone(), bytes: None, sha256: digest.clone() };
    let manifest = Manifest {
        format: 1,
        pack: if issue.is_as_built() { "handover" } else { "issue" },
        project: &identity.project,
        reference: &identity.reference,
        revision: &identity.revision,
        stage: identity.stage,
        issued: issue.outcome.design.project.issued.map(|day| day.value.to_string()),
        checked: issue.day.to_string(),
        program: env!("CARGO_PKG_VERSION"),
        made_from: identity.sources.iter().map(entry).collect(),
        compared_with: issue
            .issued
            .map_or_else(Vec::new, |issued| Identity::of(issued).sources.iter().map(entry).collect()),
        files: files
            .iter()
            .map(|it| Entry { file: it.name.clone(), bytes: Some(it.bytes.len()), sha256: sha256(&it.bytes) })
            .collect(),
        caution: CAUTION,
    };
    let mut text = serde_json::to_string_pretty(&manifest).expect("every key is a word, and memory takes every byte");
    text.push('\n');
    text
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct Manifest<'o> {
    format: u32,
    pack: &'static str,
    project: &'o str,
    reference: &'o str,
    revision: &'o str,
    stage: &'static str,
    issued: Option<String>,
    /// The day by which the design was checked.
    checked: String,
    program: &'static str,
    made_from: Vec<Entry>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    compared_with: Vec<Entry>,
    files: Vec<Entry>,
    caution: &'static str,
}

#[derive(Serialize)]
struct Entry {
    file: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    bytes: Option<usize>,
    #[serde(rename = "sha-256")]
    sha256: String,
}

/// The files that a manifest names, each with its digest; none if it is no manifest of a pack.
pub fn digests(manifest: &[u8]) -> Vec<(String, String)> {
    let Ok(manifest) = serde_json::from_slice::<serde_json::Value>(manifest) else { return Vec::new() };
    let files = manifest["files"].as_array().map(Vec::as_slice).unwrap_or_default();
    let of =
        |entry: &serde_json::Value| Some((entry["file"].as_str()?.to_string(), entry["sha-256"].as_str()?.to_string()));
    files.iter().filter_map(of).collect()
}
