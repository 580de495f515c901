//! Which design it is: what stands in the title block, and the digests of the files that it came from.

use crate::words::sentence;
use check::Outcome;
use design::Given;
use sha2::{Digest, Sha256};
use std::fmt::Write;

const NOT_NAMED: &str = "project not named";
pub(super) const NONE: &str = "none";

/// Whose design it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Project {
    name: Option<String>,
    reference: Option<String>,
}

impl Project {
    pub fn of(outcome: &Outcome) -> Project {
        let Identity { project, reference, .. } = Identity::of(outcome);
        Project::printed(&project, &reference)
    }

    /// As a title block prints it.
    pub(super) fn printed(name: &str, reference: &str) -> Project {
        let given = |text: &str, without: &str| (text != without).then(|| text.to_string());
        Project { name: given(name, NOT_NAMED), reference: given(reference, NONE) }
    }

    /// Whether it is surely not the same: by the references, where both have one, else by the names.
    pub fn is_another_than(&self, other: &Project) -> bool {
        differ(&self.reference, &other.reference).or_else(|| differ(&self.name, &other.name)).unwrap_or(false)
    }

    /// Whether it is surely the same: by the references or the names, and neither says otherwise.
    pub fn is_surely(&self, other: &Project) -> bool {
        let both = [differ(&self.reference, &other.reference), differ(&self.name, &other.name)];
        both.contains(&Some(false)) && !both.contains(&Some(true))
    }
}

/// Nothing where one of them is not given.
fn differ(one: &Option<String>, other: &Option<String>) -> Option<bool> {
    Some(one.as_ref()? != other.as_ref()?)
}

impl std::fmt::Display for Project {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        match (&self.name, &self.reference) {
            (Some(name), Some(reference)) => write!(f, "{name} ({reference})"),
            (Some(one), None) | (None, Some(one)) => f.write_str(one),
            (None, None) => f.write_str(NOT_NAMED),
        }
    }
}

/// What names an issue of a design.
pub struct Identity {
    pub project: String,
    pub reference: String,
    pub revision: String,
    pub stage: &'static str,
    pub issued: String,
    /// The files that it came from, each with its SHA-256 in hexadecimal: the design first, then libraries and house standard.
    pub sources: Vec<(String, String)>,
}

impl Identity {
    pub fn of(outcome: &Outcome) -> Identity {
        let project = &outcome.design.project;
        let text = |given: &Given<String>, without: &str| {
            given.as_ref().map_or_else(|| without.to_string(), |it| sentence(it.value.trim()).into_owned())
        };
        Identity {
            project: text(&project.name, NOT_NAMED),
            reference: text(&project.reference, NONE),
            revision: text(&project.revision, NONE),
            stage: outcome.design.stage().word(),
            issued: project.issued.map_or("not issued".to_string(), |day| day.value.to_string()),
            sources: outcome.sources.iter().map(|it| (it.path.clone(), sha256(it.text.as_bytes()))).collect(),
        }
    }

    /// The beginning of the digest of the design, to be held against a drawing.
    pub fn mark(&self) -> &str {
        self.sources.first().and_then(|(_, digest)| digest.get(..12)).unwrap_or("–")
    }
}

/// The SHA-256 of bytes (FIPS 180-4), in hexadecimal.
pub fn sha256(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        let _ = write!(text, "{byte:02x}");
    }
    text
}

#[cfg(test)]
mod tests {
    use super::Project;

    #[test]
    fn a_project_is_another_by_its_reference_before_its_name() {
        let of = Project::printed;
        assert!(
            of("Mill", "M-1").is_another_than(&of("Mill", "M-2"))
                && of("Mill", "none").is_another_than(&of("Barn", "M-2"))
        );
        assert!(!of("Mill", "M-1").is_another_than(&of("Old Mill", "M-1")));
        assert!(!of("project not named", "none").is_another_than(&of("Mill", "M-1")), "nobody knows");
        assert!(of("Mill", "M-1").is_surely(&of("Mill", "none")) && of("Mill", "M-1").is_surely(&of("Mill", "M-1")));
        assert!(!of("Mill", "M-1").is_surely(&of("Old Mill", "M-1")), "one reference under two names");
        let unnamed = of("project not named", "none");
        assert!(!unnamed.is_surely(&unnamed) && !unnamed.is_surely(&of("Mill", "M-1")), "nobody knows");
        assert_eq!(of("Mill", "M-1").to_string(), "Mill (M-1)");
    }

    /// The example of FIPS 180-4 for the message `abc`.
    #[test]
    fn the_digest_is_the_standards() {
        assert_eq!(super::sha256(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
