//! The repository that the designs are kept in, asked by way of the `git` program.

use crate::failure::{Failure, failure, failure_with_help};
use std::collections::HashSet;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A repository with designs in it.
#[derive(Debug)]
pub struct Repository {
    /// Its topmost folder.
    top: PathBuf,
    /// Whether the surroundings say where it is, as those of a hook do; else they speak of another one.
    is_meant: bool,
}

/// The files that differ from a revision.
pub struct Changes<'r> {
    pub repository: &'r Repository,
    files: HashSet<PathBuf>,
    /// All that the repository keeps, whether it differs or not.
    kept: HashSet<PathBuf>,
}

/// What a file was at a revision.
pub enum Then {
    Held(Vec<u8>),
    /// No repository knows it: it stands outside, at this place.
    Outside(PathBuf),
}

/// More links than this lead round in a circle.
const MOST_LINKS: usize = 40;

impl Repository {
    /// The repository that a file is in.
    pub fn of(file: &Path) -> Result<Repository, Failure> {
        let folder = home(file);
        let inmost = upwards(&folder).find(|folder| is_topmost(folder));
        // A hook says by its surroundings which repository is meant, and how it is to be read.
        let meant = top(None).ok().filter(|top| folder.starts_with(top) && inmost.is_none_or(|it| top.starts_with(it)));
        if let Some(top) = meant {
            return Ok(Repository { top, is_meant: true });
        }
        let there = folder.ancestors().find(|it| it.is_dir()).unwrap_or(&folder);
        top(Some(there))
            .map(|top| Repository { top, is_meant: false })
            .map_err(|refused| refused.told("the designs are in no repository of `git`"))
    }

    /// What it is called in a message: its folder as seen from here, and the one that it is within, which knows other revisions.
    fn name(&self) -> String {
        let here = absolute(Path::new(""));
        let folder = |top: &Path| match top.strip_prefix(&here) {
            Ok(below) if !below.as_os_str().is_empty() => format!("`{}`", below.display()),
            _ => format!("`{}`", top.display()),
        };
        match self.outer() {
            Some(outer) => format!("{}, which is one of its own within {}", folder(&self.top), folder(outer)),
            None => folder(&self.top),
        }
    }

    /// Whether a file is in it, and in none within it.
    pub fn holds(&self, file: &Path) -> bool {
        let folder = home(file);
        folder.starts_with(&self.top) && !folder.ancestors().take_while(|it| *it != self.top).any(is_topmost)
    }

    /// What differs between the files as they are now and where this branch parted from a revision.
    pub fn changes_since(&self, revision: &str) -> Result<Changes<'_>, Failure> {
        let commit = match self.commit(revision) {
            // Before the first commit everything is new.
            Err(_) if revision == "HEAD" => return self.everything(),
            Err(unknown) => {
                return match self.as_of_outer(revision).ok_or(unknown)? {
                    Some(commit) => self.changes_from(&commit),
                    None => self.everything(),
                };
            }
            Ok(commit) => commit,
        };
        let base = self.git(&["merge-base", &commit, "HEAD"]).map_err(|_| {
            let help = "in CI, fetch the whole history, or as much of it as reaches back to where the branch parted";
            let own = self.name();
            failure_with_help(format!("in {own} `{revision}` and what is checked out have no revision in common"), help)
        })?;
        self.changes_from(String::from_utf8_lossy(&base).trim())
    }

    /// The commit at which this repository stood in the one that keeps it, where that parted from a revision of its own; no commit if it
    /// did not stand in its place then.
    fn as_of_outer(&self, revision: &str) -> Option<Option<String>> {
        let outer = Repository { top: self.outer()?.to_path_buf(), is_meant: false };
        let base = outer.git(&["merge-base", &outer.commit(revision).ok()?, "HEAD"]).ok()?;
        let own = self.top.strip_prefix(&outer.top).ok()?;
        let is_kept =
            || outer.git_with(&["ls-files", "--stage", "-z", "--"], &[own]).ok()?.starts_with(b"160000 ").then_some(());
        match outer.entry(String::from_utf8_lossy(&base).trim(), own) {
            Some((kind, commit)) if kind == "160000" => Some(Some(commit)),
            _ => is_kept().map(|()| None),
        }
    }

    /// The topmost folder of the repository that this one is within.
    fn outer(&self) -> Option<&Path> {
        upwards(&self.top).skip(1).find(|above| is_topmost(above))
    }

    /// What differs between the files as they are now and a commit.
    fn changes_from(&self, commit: &str) -> Result<Changes<'_>, Failure> {
        // Without looking for renames a file that was renamed is one that went and one that came: both names count.
        let differ =
            ["diff", "--name-only", "--no-renames", "--no-ext-diff", "--ignore-submodules=none", "-z", commit, "--"];
        self.listed(&[&differ, &["ls-files", "--others", "--exclude-standard", "-z"]])
    }

    /// All files that are not left out on purpose.
    fn everything(&self) -> Result<Changes<'_>, Failure> {
        self.listed(&[&["ls-files", "--cached", "--others", "--exclude-standard", "-z"]])
    }

    /// The files that `git` lists when it is asked so, and all that it keeps.
    fn listed(&self, questions: &[&[&str]]) -> Result<Changes<'_>, Failure> {
        let ask = |arguments: &&[&str]| -> Result<HashSet<PathBuf>, Failure> {
            let listed = self.git(arguments).map_err(|refused| refused.told("`git` cannot tell what changed"))?;
            Ok(names(&listed).map(|name| self.top.join(name)).collect())
        };
        let mut files = HashSet::new();
        for question in questions {
            files.extend(ask(question)?);
        }
        Ok(Changes { repository: self, files, kept: ask(&&["ls-files", "--cached", "-z"][..])? })
    }

    /// What a file held at a commit. Links are followed as they led then, and so is a repository within this one, as it stood then.
    pub fn file_at(&self, commit: &str, file: &Path) -> Result<Then, String> {
        let written = absolute(file);
        let in_folder = real_folder(file).join(name(&written));
        let ways = [written, in_folder, real(file)];
        // The repository may be reached by a link that it knows nothing of.
        let within = ways.iter().filter(|way| way.starts_with(&self.top));
        let mut answers = within.map(|way| self.followed(commit, way));
        let first = answers.next().unwrap_or_else(|| Ok(Then::Outside(real(file))));
        first.or_else(|reason| answers.find_map(Result::ok).ok_or(reason))
    }

    fn followed(&self, commit: &str, file: &Path) -> Result<Then, String> {
        let mut path = file.to_path_buf();
        for _ in 0..MOST_LINKS {
            let Ok(below) = path.strip_prefix(&self.top) else { return Ok(Then::Outside(path)) };
            let steps: Vec<_> = below.components().map(|it| it.as_os_str().to_owned()).collect();
            let mut so_far = PathBuf::new();
            let mut led_to = None;
            for (number, step) in steps.iter().enumerate() {
                so_far.push(step);
                let rest: PathBuf = steps[number + 1..].iter().collect();
                let Some((kind, object)) = self.entry(commit, &so_far) else { break };
                match kind.as_str() {
                    "120000" => {
                        let link = self.blob(&object)?;
                        let folder = self.top.join(&so_far).parent().unwrap_or(&self.top).to_path_buf();
                        led_to = Some(design::plain_path(&folder.join(path_of(&link)).join(rest)));
                        break;
                    }
                    "160000" if is_topmost(&self.top.join(&so_far)) => {
                        return self.within(&so_far).file_at(&object, &self.top.join(&so_far).join(rest));
                    }
                    "160000" => {
                        return Err(format!(
                            "it is in `{}`, a repository of its own that is not fetched",
                            so_far.display()
                        ));
                    }
                    "040000" => {}
                    _ if rest.as_os_str().is_empty() => return self.blob(&object).map(Then::Held),
                    _ => break,
                }
            }
            path = led_to.ok_or("there was no such file then")?;
        }
        Err("its links lead round in a circle".into())
    }

    /// A repository within this one.
    fn within(&self, folder: &Path) -> Repository {
        Repository { top: self.top.join(folder), is_meant: false }
    }

    /// The kind and the object that a path is at a commit.
    fn entry(&self, commit: &str, path: &Path) -> Option<(String, String)> {
        let listed = self.git_with(&["ls-tree", "-z", "--full-tree", commit, "--"], &[path]).ok()?;
        let listed = String::from_utf8_lossy(&listed).into_owned();
        let mut words = listed.split_ascii_whitespace();
        let (kind, _, object) = (words.next()?, words.next()?, words.next()?);
        Some((kind.into(), object.into()))
    }

    fn blob(&self, object: &str) -> Result<Vec<u8>, String> {
        self.git(&["cat-file", "blob", object]).map_err(|_| "`git` does not have it; fetch it first".into())
    }

    /// The commit that a revision is.
    pub fn commit(&self, revision: &str) -> Result<String, Failure> {
        let peeled = format!("{revision}^{{commit}}");
        let commit = self.git(&["rev-parse", "--verify", "--quiet", "--end-of-options", &peeled]).map_err(|_| {
            let help =
                "name a branch, a tag or a commit; in CI, fetch it first: a clone may hold the last commits only";
            failure_with_help(format!("`{revision}` is no revision of the repository {}", self.name()), help)
        })?;
        Ok(String::from_utf8_lossy(&commit).trim().to_string())
    }

    /// Where the house standards of a design may stand: in its folder, and in each on the way up to the topmost one.
    pub fn house_standards(&self, design: &Path) -> Vec<PathBuf> {
        let (written, real) = (absolute(design), real_folder(design).join(name(design)));
        let on_the_way_up = |from: &Path| -> Vec<PathBuf> {
            let folders = from.ancestors().skip(1).take_while(|folder| folder.starts_with(&self.top));
            folders.map(|folder| folder.join(design::HOUSE_STANDARD)).collect()
        };
        let mut all = on_the_way_up(&written);
        all.extend(on_the_way_up(&real).into_iter().filter(|_| real != written));
        all
    }

    fn git(&self, arguments: &[&str]) -> Result<Vec<u8>, Refused> {
        self.git_with(arguments, &[])
    }

    fn git_with(&self, arguments: &[&str], paths: &[&Path]) -> Result<Vec<u8>, Refused> {
        git(Some(&self.top), self.is_meant, arguments, paths)
    }
}

impl Changes<'_> {
    /// Whether a file differs, or is beyond what the repository can tell.
    pub fn touch(&self, path: &Path) -> bool {
        let top = &self.repository.top;
        // Of a repository within this one only its folder is told.
        let is_told = |path: &Path| path.ancestors().any(|it| self.files.contains(it));
        let (path, real) = (absolute(path), real(path));
        if !real.starts_with(top) {
            return true;
        }
        // What is there, and `git` is told to pass over, it cannot compare.
        let is_kept = |path: &Path| path.ancestors().any(|it| self.kept.contains(it) || self.files.contains(it));
        if real.exists() && !is_kept(&real) {
            return true;
        }
        // Behind a link stands another file; the link itself may lie anywhere.
        is_told(&real) || path.starts_with(top) && is_told(&path) || is_told(&real_folder(&path).join(name(&path)))
    }
}

/// The files in a folder that `git` keeps, as seen from there; nothing if there is no `git`, or no repository.
pub fn kept(folder: &Path) -> Option<Vec<PathBuf>> {
    let repository = Repository::of(&folder.join(design::HOUSE_STANDARD)).ok()?;
    let folder = folder.canonicalize().ok()?;
    let below = folder.strip_prefix(&repository.top).ok()?;
    let paths: Vec<&Path> = Some(below).into_iter().filter(|it| !it.as_os_str().is_empty()).collect();
    let listed = repository.git_with(&["ls-files", "--cached", "-z", "--"], &paths).ok()?;
    Some(names(&listed).filter_map(|name| Some(name.strip_prefix(below).ok()?.to_path_buf())).collect())
}

/// The paths in a list that `git` ends each with a zero byte.
fn names(listed: &[u8]) -> impl Iterator<Item = PathBuf> {
    listed.split(|byte| *byte == 0).filter(|name| !name.is_empty()).map(path_of)
}

/// A path from the root on, in its plainest form. What links there are is left as it is written, but for the folder that the program was
/// started in.
pub fn absolute(path: &Path) -> PathBuf {
    let here = std::env::current_dir().and_then(|here| here.canonicalize()).unwrap_or_default();
    design::plain_path(&here.join(path))
}

/// The same with all links followed, as far as there is anything.
fn real(path: &Path) -> PathBuf {
    let path = absolute(path);
    path.canonicalize().unwrap_or_else(|_| real_folder(&path).join(name(&path)))
}

/// The folder of a file with all links followed; of what is not there as much as there is.
fn real_folder(path: &Path) -> PathBuf {
    let path = absolute(path);
    let mut folders = path.ancestors().skip(1);
    let there = folders.find_map(|folder| Some((folder, folder.canonicalize().ok()?)));
    let Some((folder, real)) = there else { return PathBuf::from("/") };
    let rest = path.parent().and_then(|parent| parent.strip_prefix(folder).ok()).unwrap_or(Path::new(""));
    if rest.as_os_str().is_empty() { real } else { real.join(rest) }
}

/// The folder by which a file belongs to a repository: its own, or, where that is in none, that of the file which a link leads to.
fn home(file: &Path) -> PathBuf {
    let own = real_folder(file);
    let in_one = |folder: &PathBuf| upwards(folder).any(is_topmost);
    if in_one(&own) {
        return own;
    }
    let behind = real(file).parent().map(Path::to_path_buf);
    behind.filter(in_one).unwrap_or(own)
}

/// A folder and those above it, as far up as `git` would look for a repository: into no folder that its surroundings name as a ceiling.
fn upwards(folder: &Path) -> impl Iterator<Item = &Path> {
    let ceilings = std::env::var_os("GIT_CEILING_DIRECTORIES").unwrap_or_default();
    let ceilings: Vec<PathBuf> = std::env::split_paths(&ceilings).filter_map(|it| it.canonicalize().ok()).collect();
    let is_open = move |above: &&Path| *above == folder || !ceilings.iter().any(|ceiling| ceiling == above);
    folder.ancestors().take_while(is_open)
}

/// Whether a folder is the topmost one of a repository.
fn is_topmost(folder: &Path) -> bool {
    folder.join(".git").exists()
}

fn name(path: &Path) -> &std::ffi::OsStr {
    path.file_name().unwrap_or_default()
}

/// The path that `git` means.
fn path_of(bytes: &[u8]) -> PathBuf {
    #[cfg(unix)]
    let path: &std::ffi::OsStr = std::os::unix::ffi::OsStrExt::from_bytes(bytes);
    #[cfg(not(unix))]
    let path = String::from_utf8_lossy(bytes).into_owned();
    PathBuf::from(path)
}

/// The topmost folder of the repository that a folder is in; of the one that the program was started in, where none is given.
fn top(folder: Option<&Path>) -> Result<PathBuf, Refused> {
    let top = git(folder, folder.is_none(), &["rev-parse", "--show-toplevel"], &[])?;
    let end = top.iter().rposition(|byte| !matches!(byte, b'\r' | b'\n')).map_or(0, |last| last + 1);
    let top = path_of(&top[..end]);
    Ok(top.canonicalize().unwrap_or(top))
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

/// Asks `git` in a folder. Where the surroundings speak of another repository, as those of a hook do, it does not hear them.
fn git(folder: Option<&Path>, hears: bool, arguments: &[&str], paths: &[&Path]) -> Result<Vec<u8>, Refused> {
    let mut command = Command::new("git");
    if let Some(folder) = folder {
        command.arg("-C").arg(folder);
    }
    // A path is a path, whatever signs are in it.
    command.arg("--literal-pathspecs");
    if !hears {
        for name in
            ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX", "GIT_OBJECT_DIRECTORY", "GIT_COMMON_DIR"]
        {
            command.env_remove(name);
        }
    }
    command.args(arguments).args(paths).stdin(std::process::Stdio::null());
    let output = command.output().map_err(|_| Refused::NotThere)?;
    match output.status.success() {
        true => Ok(output.stdout),
        false => Err(Refused::Said(String::from_utf8_lossy(&output.stderr).trim().to_string())),
    }
}
