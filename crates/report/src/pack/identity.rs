//! Which design it is: what stands in the title block, and the digests of the files that it came from.

use crate::words::sentence;
use check::Outcome;
use design::Given;
use sha2::{Digest, Sha256};
use std::fmt::Write;

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
            project: text(&project.name, "project not named"),
            reference: text(&project.reference, "none"),
            revision: text(&project.revision, "none"),
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
    /// The example of FIPS 180-4 for the message `abc`.
    #[test]
    fn the_digest_is_the_standards() {
        assert_eq!(super::sha256(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
