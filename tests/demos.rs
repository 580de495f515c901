//! The demo designs, and a check of one or of what a test makes of it.

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
    check::check(&Job {
        path: path.to_str().unwrap(),
        bytes: text.as_bytes(),
        files: &|path| std::fs::read(path).map_err(|error| error.to_string()),
        house_standard: None,
        today: jiff::civil::date(2026, 6, 1),
        remedies: false,
    })
}
