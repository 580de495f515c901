//! The manifest: the files of a pack and those that it came from, with their digests, for programs. The shape is that of
//! `schema/manifest.schema.json`.

use super::identity::{Identity, NONE, Project, sha256};
use super::{File, Issue};
use crate::CAUTION;
use check::compare::Issued;
use design::Stage;
use jiff::civil::Date;
use serde::Serialize;

const HANDOVER: &str = "handover";

pub fn json(issue: &Issue, files: &[File]) -> String {
    let identity = &issue.identity;
    let entry = |(file, digest): &(String, String)| Entry { file: file.clone(), bytes: None, sha256: digest.clone() };
    let manifest = Manifest {
        format: 1,
        pack: if issue.is_as_built() { HANDOVER } else { "issue" },
        project: &identity.project,
        reference: &identity.reference,
        revision: &identity.revision,
        stage: identity.stage,
        issued: issue.outcome.design.project.issued.map(|day| day.value.to_string()),
        earlier_revisions: Issued::of(&issue.outcome.design).earlier,
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
        own: NOTHING,
        caution: CAUTION,
    };
    let mut text = serde_json::to_string_pretty(&manifest).expect("every key is a word, and memory takes every byte");
    text.push('\n');
    let own = sha256(text.as_bytes());
    let mut parts = text.rsplitn(2, NOTHING);
    let (after, before) = (parts.next().unwrap_or_default(), parts.next().unwrap_or_default());
    format!("{before}{own}{after}")
}

/// Stands for the manifest's own digest while that is worked out.
const NOTHING: &str = "0000000000000000000000000000000000000000000000000000000000000000";

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
    /// Those that the design lists.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    earlier_revisions: Vec<&'o str>,
    /// The day by which the design was checked.
    checked: String,
    program: &'static str,
    made_from: Vec<Entry>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    compared_with: Vec<Entry>,
    files: Vec<Entry>,
    /// Of the manifest itself, with zeros in this place.
    #[serde(rename = "own-sha-256")]
    own: &'static str,
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

/// A pack by its manifest.
#[derive(Debug, Clone, PartialEq)]
pub struct Pack {
    pub project: Project,
    pub revision: String,
    /// Whether it was given a revision.
    pub has_revision: bool,
    /// The day of issue that the design gives.
    pub issued: Option<Date>,
    /// The revisions that it lists as earlier.
    pub earlier: Vec<String>,
    /// Whether it went out: the design gives a day of issue, and is no sketch.
    pub is_issued: bool,
    /// Whether it is of a design as built.
    pub is_handover: bool,
    /// What it was made from, and its files, each with its digest.
    pub made_from: Vec<(String, String)>,
    pub files: Vec<(String, String)>,
    /// The design as it was issued before, where it was held against that.
    pub compared_with: Vec<(String, String)>,
}

impl Pack {
    /// Where its revision stands among others.
    pub fn as_issued(&self) -> Issued<'_> {
        Issued {
            revision: Some(&*self.revision).filter(|it| *it != NONE),
            day: self.issued,
            earlier: self.earlier.iter().map(String::as_str).collect(),
        }
    }

    /// Whether it was made from the same design as another, or from one that was held against that: by its digest, or by the name of
    /// its file.
    pub fn is_of_the_file_of(&self, other: &Pack) -> bool {
        let Some((was, digest)) = other.made_from.first() else { return false };
        let is_same = |(file, own): &(String, String)| file == was || own == digest;
        self.made_from.first().is_some_and(is_same) || self.compared_with.iter().any(|(_, own)| own == digest)
    }
}

/// What a manifest says of its pack; nothing if it is no manifest of a pack as it was written.
pub fn read(manifest: &[u8]) -> Option<Pack> {
    let text = std::str::from_utf8(manifest).ok()?;
    let read: serde_json::Value = serde_json::from_str(text).ok()?;
    let own = read["own-sha-256"].as_str().filter(|own| own.len() == NOTHING.len())?;
    // What a project is called may look like a digest: its own stands last.
    let at = text.rfind(own)?;
    let without = format!("{}{NOTHING}{}", &text[..at], &text[at + own.len()..]);
    if sha256(without.as_bytes()) != own {
        return None;
    }
    let of =
        |entry: &serde_json::Value| Some((entry["file"].as_str()?.to_string(), entry["sha-256"].as_str()?.to_string()));
    let all = |key: &str| -> Option<Vec<_>> { read[key].as_array()?.iter().map(of).collect() };
    let word = |key: &str| read[key].as_str();
    let list = |key: &str| read[key].as_array().map_or(&[][..], Vec::as_slice);
    Some(Pack {
        project: Project::printed(word("project")?, word("reference")?),
        revision: word("revision")?.to_string(),
        has_revision: word("revision")? != NONE,
        is_issued: word("issued").is_some() && word("stage")? != Stage::Preliminary.word(),
        is_handover: word("pack")? == HANDOVER,
        made_from: all("made-from")?,
        files: all("files")?,
        issued: word("issued").and_then(|day| day.parse().ok()),
        earlier: list("earlier-revisions").iter().filter_map(|it| Some(it.as_str()?.to_string())).collect(),
        compared_with: list("compared-with").iter().filter_map(of).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pack::{MANIFEST, files};

    #[test]
    fn a_manifest_that_was_changed_is_none() {
        let house =
            "format: 1\nproject: {name: Mill, reference: M-1, revision: P1, stage: for comment, issued: 2026-05-04}\n";
        let files = files(&crate::checked(house), jiff::civil::date(2026, 6, 1), None);
        let manifest = files.iter().find(|file| file.name == MANIFEST).expect("there is one");
        let pack = read(&manifest.bytes).expect("it is as it was written");
        assert_eq!((&pack.project.to_string()[..], &pack.revision[..]), ("Mill (M-1)", "P1"));
        assert!(pack.is_issued && !pack.is_handover);
        assert_eq!(pack.made_from, [("house.ufh.yaml".to_string(), sha256(house.as_bytes()))]);
        assert_eq!(pack.files.len(), files.len() - 1);
        let manifest = std::str::from_utf8(&manifest.bytes).expect("it is text");
        let own = &manifest[manifest.find("own-sha-256").expect("it has its own digest") + 15..][..64];
        for changed in [
            manifest.replace("M-1", "M-2"),
            manifest.replace(own, NOTHING),
            manifest.replace(own, "é"),
            "{}".into(),
            "[".into(),
            String::new(),
        ] {
            assert_eq!(read(changed.as_bytes()), None, "{changed}");
        }
    }
}
