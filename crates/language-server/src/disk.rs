//! Reading files as every caller of the check does: never without end, and never what is no ordinary file.

use std::fs::File;
use std::io::{Error, ErrorKind, Read};
use std::path::Path;

/// What a library holds, or why it cannot be read.
///
/// A design may come from anyone and its findings go into build logs, lines of its libraries included:
/// only files of YAML are opened, so that a design cannot bring other files to light.
pub fn library(path: &Path) -> Result<Vec<u8>, String> {
    if path.extension().is_none_or(|it| it != "yaml" && it != "yml") {
        return Err("the name of a library ends with `.yaml`".into());
    }
    read(path)
}

/// What a file holds, up to one byte more than may be checked, or why it cannot be read.
pub fn read(path: &Path) -> Result<Vec<u8>, String> {
    let metadata = std::fs::metadata(path).map_err(reason)?;
    if metadata.is_dir() {
        return Err("it is a folder".into());
    }
    // Opening a pipe may wait for ever, and a device may never end.
    if !metadata.is_file() {
        return Err("it is no ordinary file".into());
    }
    bounded(File::open(path).map_err(reason)?)
}

/// All that comes, up to one byte too many: that is enough to know that the text is too large.
pub fn bounded(from: impl Read) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    from.take(yaml_tree::LARGEST_TEXT as u64 + 1).read_to_end(&mut bytes).map_err(reason)?;
    Ok(bytes)
}

fn reason(error: Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "there is no such file".into(),
        ErrorKind::PermissionDenied => "you have no permission to read it".into(),
        _ => error.to_string(),
    }
}
