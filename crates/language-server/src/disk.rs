//! Files that are not open in the editor.

use std::fs::File;
use std::io::{Error, ErrorKind, Read};
use std::path::Path;

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
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(reason)?;
    file.take(yaml_tree::LARGEST_TEXT as u64 + 1).read_to_end(&mut bytes).map_err(reason)?;
    Ok(bytes)
}

fn reason(error: Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "there is no such file".into(),
        ErrorKind::PermissionDenied => "you have no permission to read it".into(),
        _ => error.to_string(),
    }
}
