//! The repository that the designs are kept in, asked by way of the `git` program.

use crate::failure::{Failure, failure, failure_with_help};
use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The repository of the folder that the program was started in.
pub struct Repository {
    /// Its topmost folder.
    top: PathBuf,
}

/// The files that differ from a revision.
pub struct Changes<'r> {
    pub repository: &'r Repository,
    files: HashSet<PathBuf>,
}

impl Repository {
    /// The repository that this folder is in.
    pub fn here() -> Result<Repository, Failure> {
        let top = git(None, &["rev-parse", "--show-toplevel"])
            .map_err(|refused| refused.told("the designs are in no repository of `git`"))?;
        let top = PathBuf::from(String::from_utf8_lossy(&top).trim_end_matches(['\r', '\n']));
        Ok(Repository { top: top.canonicalize().unwrap_or(top) })
    }

    /// What differs between the files as they are now and where this branch parted from a revision.
    pub fn changes_since(&self, revision: &str) -> Result<Changes<'_>, Failure> {
        let commit = match self.commit(revision) {
            // Before the first commit everything is new.
            Err(_) if revision == "HEAD" => return self.everything(),
            commit => commit?,
        };
        let base = self.git(&["merge-base", &commit, "HEAD"]).map_err(|_| {
            let help = "in CI, fetch the whole history, or as much of it as reaches back to where the branch parted";
            failure_with_help(format!("`{revision}` and what is checked out have no revision in common"), help)
        })?;
        let base = String::from_utf8_lossy(&base).trim().to_string();
        // Without looking for renames a file that was renamed is one that went and one that came: both names count.
        let differ = ["diff", "--name-only", "--no-renames", "--no-ext-diff", "-z", &base, "--"];
        self.listed(&[&differ, &["ls-files", "--others", "--exclude-standard", "-z"]])
    }

    /// All files that are not left out on purpose.
    fn everything(&self) -> Result<Changes<'_>, Failure> {
        self.listed(&[&["ls-files", "--cached", "--others", "--exclude-standard", "-z"]])
    }

    /// The files that `git` lists when it is asked so.
    fn listed(&self, questions: &[&[&str]]) -> Result<Changes<'_>, Failure> {
        let mut files = HashSet::new();
        for arguments in questions {
            let listed = self.git(arguments).map_err(|refused| refused.told("`git` cannot tell what changed"))?;
            let names = listed.split(|byte| *byte == 0).filter(|name| !name.is_empty());
            files.extend(names.map(|name| self.top.join(String::from_utf8_lossy(name).as_ref())));
        }
        Ok(Changes { repository: self, files })
    }

    /// What a file held at a revision.
    pub fn file_at(&self, revision: &str, path: &Path) -> Result<Vec<u8>, String> {
        let outside = || "it is outside the repository".to_string();
        let path = absolute(path);
        let path = path.strip_prefix(&self.top).map_err(|_| outside())?;
        let slashes: Vec<_> = path.components().map(|it| it.as_os_str().to_string_lossy()).collect();
        let object = format!("{revision}:{}", slashes.join("/"));
        self.git(&["cat-file", "blob", &object]).map_err(|_| format!("there is no such file at `{revision}`"))
    }

    /// The commit that a revision is.
    pub fn commit(&self, revision: &str) -> Result<String, Failure> {
        let peeled = format!("{revision}^{{commit}}");
        let commit = self.git(&["rev-parse", "--verify", "--quiet", "--end-of-options", &peeled]).map_err(|_| {
            let help =
                "name a branch, a tag or a commit; in CI, fetch it first: a clone may hold the last commits only";
            failure_with_help(format!("`{revision}` is no revision of this repository"), help)
        })?;
        Ok(String::from_utf8_lossy(&commit).trim().to_string())
    }

    /// Where the house standards of a design may stand: in its folder, and in each on the way up to the topmost one.
    pub fn house_standards(&self, design: &Path) -> Vec<PathBuf> {
        let design = absolute(design);
        let folders = design.ancestors().skip(1).take_while(|folder| folder.starts_with(&self.top));
        folders.map(|folder| folder.join(design::HOUSE_STANDARD)).collect()
    }

    fn git(&self, arguments: &[&str]) -> Result<Vec<u8>, Refused> {
        git(Some(&self.top), arguments)
    }
}

impl Changes<'_> {
    /// Whether a file differs, or is beyond what the repository can tell.
    pub fn touch(&self, path: &Path) -> bool {
        // Of a repository within this one only its folder is told.
        let is_told = |path: &Path| path.ancestors().any(|it| self.files.contains(it));
        let differs = |path: &Path| !path.starts_with(&self.repository.top) || is_told(path);
        let path = absolute(path);
        // Behind a link stands another file.
        differs(&path) || path.canonicalize().is_ok_and(|real| real != path && differs(&real))
    }
}

/// A path from the root on, in its plainest form. What links there are is left as it is written, but for the folder that the program was
/// started in.
pub fn absolute(path: &Path) -> PathBuf {
    let here = std::env::current_dir().and_then(|here| here.canonicalize()).unwrap_or_default();
    design::plain_path(&here.join(path))
}

/// Why `git` gave nothing.
enum Refused {
    NotThere,
    Said(String),
}

impl Refused {
    fn told(self, message: &str) -> Failure {
        match self {
            Refused::NotThere => failure_with_help(
                "what changed is asked of `git`, and there is no such program",
                "install it, or name the files to check",
            ),
            Refused::Said(said) if said.is_empty() => failure(message),
            Refused::Said(said) => failure_with_help(message, format!("`git` says: {said}")),
        }
    }
}

fn git(folder: Option<&Path>, arguments: &[&str]) -> Result<Vec<u8>, Refused> {
    let mut command = Command::new("git");
    if let Some(folder) = folder {
        command.arg("-C").arg(folder);
    }
    let output = command.args(arguments).stdin(std::process::Stdio::null()).output().map_err(|_| Refused::NotThere)?;
    match output.status.success() {
        true => Ok(output.stdout),
        false => Err(Refused::Said(String::from_utf8_lossy(&output.stderr).trim().to_string())),
    }
}
