//! Reading files as every caller of the check does: never without end, and never what is no ordinary file.

use std::fs::File;
use std::io::{Error, ErrorKind, Read};
use std::path::Path;

const MIB: u64 = 1 << 20;
/// The greatest size of a file, in bytes.
const LARGEST: u64 = yaml_tree::LARGEST_TEXT as u64;

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

/// The house standard that designs in a folder are held against, as seen from there: the nearest on the way up, no further
/// than the top of the repository.
pub fn house_standard(folder: &Path) -> Option<String> {
    // A file that is named without a folder stands in this one, whose path is empty.
    let folder = std::env::current_dir().ok()?.join(folder);
    let folder = design::plain_path(&folder);
    for (steps, folder) in folder.ancestors().enumerate() {
        // One that cannot be read is told; it must not be passed over.
        if folder.join(design::HOUSE_STANDARD).symlink_metadata().is_ok() {
            return Some("../".repeat(steps) + design::HOUSE_STANDARD);
        }
        if folder.join(".git").exists() {
            break;
        }
    }
    None
}

/// What a file holds, or why it cannot be read.
pub fn read(path: &Path) -> Result<Vec<u8>, String> {
    let metadata = std::fs::metadata(path).map_err(reason)?;
    if metadata.is_dir() {
        return Err("it is a folder".into());
    }
    // Opening a pipe may wait for ever, and a device may never end.
    if !metadata.is_file() {
        return Err("it is no ordinary file".into());
    }
    if metadata.len() > LARGEST {
        return Err(format!("it has {} MiB, and up to {} MiB are read", metadata.len().div_ceil(MIB), LARGEST / MIB));
    }
    let bytes = Vec::with_capacity(metadata.len() as usize + 1);
    read_into(bytes, File::open(path).map_err(reason)?)
}

/// All that comes, or why it cannot be read. Nothing is waited for beyond one byte too many.
pub fn bounded(from: impl Read) -> Result<Vec<u8>, String> {
    read_into(Vec::new(), from)
}

fn read_into(mut bytes: Vec<u8>, from: impl Read) -> Result<Vec<u8>, String> {
    from.take(LARGEST + 1).read_to_end(&mut bytes).map_err(reason)?;
    if bytes.len() as u64 > LARGEST {
        return Err(format!("it has more than {} MiB, and no more are read", LARGEST / MIB));
    }
    Ok(bytes)
}

fn reason(error: Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "there is no such file".into(),
        ErrorKind::PermissionDenied => "you have no permission to read it".into(),
        _ => error.to_string(),
    }
}
