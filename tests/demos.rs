//! The demo designs, and a check of one or of what a test makes of it.

// Each file of tests uses a part of this.
#![allow(dead_code)]

use check::{Job, Outcome};
use std::path::{Path, PathBuf};

pub fn designs() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../demo-designs");
    let paths = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut designs: Vec<PathBuf> = paths.filter(|path| path.to_string_lossy().ends_with(".ufh.yaml")).collect();
    designs.sort();
    assert!(designs.len() >= 10, "there are {} demo designs", designs.len());
    designs
}

pub fn check(path: &Path, text: &str) -> Outcome {
    check_after(path, text.as_bytes(), None, false)
}

/// The same of a text that was made from one of which the check is known.
pub fn check_after(path: &Path, bytes: &[u8], before: Option<&Outcome>, remedies: bool) -> Outcome {
    let job = Job {
        path: path.to_str().unwrap(),
        bytes,
        files: &|path| std::fs::read(path).map_err(|error| error.to_string()),
        house_standard: None,
        today: jiff::civil::date(2026, 6, 1),
        remedies,
    };
    check::check_until(&job, before.map(Outcome::kept).as_ref(), &|| false).expect("nobody stops it")
}
