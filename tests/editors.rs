//! Real editors with the settings of `editors/`: each opens a design, reads the findings, has one put right, edits,
//! completes, renames, and ends.
//!
//! What is driven stands in `tests/editors/`. Everything that is needed is fetched here: editors and the browser with
//! `apt-get` (Debian 12 or later, as root), the host of VS Code and the editor of the page with `npm`, from lock files. It is
//! kept under the target folder. A test whose editor cannot be set up fails and says what is missing. On other systems there
//! are no such tests.
//!
//! The design is worked out by hand: 12 m² at 150 mm and 5 m of tails are 12 / 0.15 + 5 = 85 m of pipe, at 100 mm 125 m; that
//! a pipe of 16 mm takes 100 m is common practice, no source. Columns are counted as "Position" of the Language Server
//! Protocol 3.17 has it, by the editor.

#![cfg(target_os = "linux")]

use std::io::Read;
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Mutex;
use std::sync::mpsc::channel;
use std::time::{Duration, Instant};

/// How long an editor may take, on a machine that is busy with something else.
const DRIVE: Duration = Duration::from_secs(240);
/// How long fetching and building may take.
const FETCH: Duration = Duration::from_secs(600);

#[test]
fn neovim() {
    installed("neovim", || is_there("nvim"));
    let folder = folder("neovim").with_design("");
    let script = format!("luafile {}", tests().join("neovim.lua").display());
    let mut command = folder.command("nvim");
    command.args(["--headless", "-u", "NONE", "-i", "NONE", "-n", "-c", &script]);
    command.env("HYPOCAUST_SETTINGS", editors().join("neovim/hypocaust.lua"));
    folder.drive(command);
}

#[test]
fn emacs() {
    installed("emacs-nox", || is_there("emacs"));
    // Emacs 29 brings Eglot along.
    let eglot = ["--batch", "-f", "package-initialize", "-l", "eglot"];
    installed("elpa-eglot", || said(Command::new("emacs").args(eglot)).is_some());
    let folder = folder("emacs").with_design("");
    let mut command = folder.command("emacs");
    command.arg("--batch").arg("-l").arg(tests().join("emacs.el"));
    command.env("HYPOCAUST_SETTINGS", editors().join("emacs/hypocaust.el"));
    folder.drive(command);
}

#[test]
fn visual_studio_code() {
    installed("chromium", || is_there("chromium"));
    let extension = packages("extension", &editors().join("vscode"));
    run(in_folder("npm", &extension).args(["run", "package"]), "packing the extension");
    let host = packages("vscode", &tests().join("vscode"));
    ready_host(&host);
    let folder = folder("vscode").with_design("designs");
    let mut command = folder.command("node");
    command.arg(host.join("drive.mjs")).arg(program()).arg(extension.join("hypocaust.vsix")).arg(&folder.0);
    folder.drive(command);
}

#[test]
fn an_editor_in_a_browser() {
    installed("chromium", || is_there("chromium"));
    let editor = packages("browser", &tests().join("browser"));
    let folder = folder("browser").with_design("");
    let mut command = folder.command("node");
    command.arg(editor.join("drive.mjs")).arg(program()).arg(&folder.0);
    folder.drive(command);
}

fn program() -> &'static Path {
    Path::new(env!("CARGO_BIN_EXE_hypocaust"))
}

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn tests() -> PathBuf {
    root().join("tests/editors").canonicalize().expect("the folder is in the checkout")
}

fn editors() -> PathBuf {
    root().join("editors").canonicalize().expect("the folder is in the checkout")
}

fn kept() -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join("editors")
}

/// A folder of its own for an editor, that is its home too, and another one for what it wants to forget: names of sockets must
/// be short.
struct Folder(PathBuf, PathBuf);

fn folder(name: &str) -> Folder {
    let path = kept().join("run").join(name);
    let _ = std::fs::remove_dir_all(&path);
    std::fs::create_dir_all(path.join("home")).expect("the target folder can be written to");
    let brief = std::env::temp_dir().join(format!("hypocaust-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&brief).expect("the temporary folder can be written to");
    Folder(path, brief)
}

impl Folder {
    fn with_design(self, below: &str) -> Folder {
        let folder = self.0.join(below);
        std::fs::create_dir_all(&folder).expect("the target folder can be written to");
        std::fs::copy(tests().join("granary.ufh.yaml"), folder.join("granary.ufh.yaml")).expect("a file can be copied");
        self
    }

    /// A program that finds ours, and nothing of whoever runs the tests.
    fn command(&self, program_name: &str) -> Command {
        let mut command = in_folder(program_name, &self.0);
        let home = self.0.join("home");
        let beside = program().parent().expect("the program stands in a folder");
        let path = std::env::var("PATH").unwrap_or_default();
        command
            .env("PATH", format!("{}:{path}", beside.display()))
            .env("HOME", &home)
            .env("TMPDIR", &self.1)
            .env("XDG_RUNTIME_DIR", &self.1);
        for kind in ["CONFIG", "DATA", "STATE", "CACHE"] {
            command.env(format!("XDG_{kind}_HOME"), &home);
        }
        command
    }

    /// Runs the editor to its end, which must be a good one and leave nothing running.
    fn drive(&self, mut command: Command) {
        let mark = format!("HYPOCAUST_EDITOR={}", self.0.display());
        command.env("HYPOCAUST_EDITOR", &self.0);
        let ended = ended(&mut command, DRIVE);
        let left = marked(&mark);
        left.iter().for_each(|(process, _)| kill("-KILL", process));
        let _ = std::fs::remove_dir_all(&self.1);
        match ended {
            Ended::Well(said) if said.contains("done") => {}
            Ended::Well(said) => panic!("the editor ended before it was done:\n{said}"),
            Ended::Badly(said) => panic!("{said}"),
            Ended::NotBy(limit, said) => panic!("the editor was not done after {} s:\n{said}", limit.as_secs()),
        }
        assert!(left.is_empty(), "left running: {left:?}");
    }
}

/// Installs a Debian package if what it brings is not there.
fn installed(package: &str, is_there: impl Fn() -> bool) {
    // Two at once would wait for each other's lock in vain.
    static ONE_AT_A_TIME: Mutex<()> = Mutex::new(());
    let _turn = ONE_AT_A_TIME.lock().unwrap_or_else(|broken| broken.into_inner());
    if is_there() {
        return;
    }
    let apt = |arguments: &[&str]| {
        let mut command = Command::new("apt-get");
        command.args(["-y", "-q", "-o", "DPkg::Lock::Timeout=300"]).args(arguments);
        command.env("DEBIAN_FRONTEND", "noninteractive");
        run(&mut command, &format!("installing {package} with apt-get, which needs Debian and root,"));
    };
    apt(&["update"]);
    apt(&["install", "--no-install-recommends", package]);
    assert!(is_there(), "the package {package} was installed, and what it should bring is not there");
}

fn is_there(program: &str) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path).any(|folder| folder.join(program).is_file())
}

/// A copy of a folder with the packages of its lock file; they are fetched once for each lock file.
fn packages(name: &str, from: &Path) -> PathBuf {
    let node = said(Command::new("node").arg("--version"));
    let version = node.as_deref().and_then(|it| it.trim().strip_prefix('v')?.split('.').next()?.parse::<u32>().ok());
    assert!(
        version.is_some_and(|it| it >= 20) && said(Command::new("npm").arg("--version")).is_some(),
        "this test needs Node.js 20 or newer with npm on the path; there is {}",
        node.as_deref().map_or("none", str::trim)
    );
    let folder = kept().join(name);
    copy(from, &folder);
    let lock = std::fs::read(folder.join("package-lock.json")).expect("the lock file is in the checkout");
    let fetched = folder.join("fetched");
    if std::fs::read(&fetched).is_ok_and(|of| of == lock) {
        return folder;
    }
    let mut command = in_folder("npm", &folder);
    command.args(["ci", "--ignore-scripts", "--no-audit", "--no-fund"]);
    run(&mut command, &format!("fetching the packages of {}", from.display()));
    std::fs::write(fetched, lock).expect("the target folder can be written to");
    folder
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).expect("the target folder can be written to");
    for entry in std::fs::read_dir(from).expect("a folder of the checkout can be read").flatten() {
        let (path, target) = (entry.path(), to.join(entry.file_name()));
        if entry.file_name() == "node_modules" {
            continue;
        }
        if path.is_dir() {
            copy(&path, &target);
        } else {
            std::fs::copy(&path, &target).expect("a file can be copied");
        }
    }
}

/// What the host of VS Code needs beyond its package: the packages of its inner part, and no hashes of passwords, which would
/// have to be compiled and which nobody asks for without a password.
fn ready_host(host: &Path) {
    let ready = host.join("node_modules/ready");
    if ready.is_file() {
        return;
    }
    let mut command = in_folder("npm", &host.join("node_modules/code-server/lib/vscode"));
    command.args(["install", "--ignore-scripts", "--omit=dev", "--no-audit", "--no-fund"]);
    run(&mut command, "fetching the packages of the host of VS Code");
    std::fs::write(host.join("node_modules/argon2/argon2.js"), "module.exports = {};\n").expect("it was fetched");
    std::fs::write(ready, "").expect("the target folder can be written to");
}

fn in_folder(program: &str, folder: &Path) -> Command {
    let mut command = Command::new(program);
    command.current_dir(folder);
    // Of `npm`, which would keep what it fetches at home.
    command.env("npm_config_cache", kept().join("npm")).env("npm_config_update_notifier", "false");
    command
}

fn said(command: &mut Command) -> Option<String> {
    let output = command.output().ok().filter(|it| it.status.success())?;
    String::from_utf8(output.stdout).ok()
}

/// Runs a step of the set-up, which must end well.
fn run(command: &mut Command, what: &str) {
    match ended(command, FETCH) {
        Ended::Well(_) => {}
        Ended::Badly(said) => panic!("{what} failed:\n{said}"),
        Ended::NotBy(limit, said) => panic!("{what} was not done after {} s:\n{said}", limit.as_secs()),
    }
}

enum Ended {
    Well(String),
    Badly(String),
    NotBy(Duration, String),
}

/// Waits for the end of a program, and ends it and all that it started when it takes too long.
fn ended(command: &mut Command, limit: Duration) -> Ended {
    let begun = Instant::now();
    command.process_group(0).stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = match command.spawn() {
        Ok(child) => child,
        Err(error) => return Ended::Badly(format!("{} cannot be started: {error}", command.get_program().display())),
    };
    let (say, hear) = channel();
    let streams: [Option<Box<dyn Read + Send>>; 2] =
        [child.stdout.take().map(|it| Box::new(it) as _), child.stderr.take().map(|it| Box::new(it) as _)];
    for mut stream in streams.into_iter().flatten() {
        let say = say.clone();
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            while let Ok(count @ 1..) = stream.read(&mut bytes) {
                let _ = say.send(String::from_utf8_lossy(&bytes[..count]).into_owned());
            }
        });
    }
    drop(say);
    let group = format!("-{}", child.id());
    let status = loop {
        match child.try_wait() {
            Ok(Some(status)) => break Some(status),
            Ok(None) if begun.elapsed() < limit => std::thread::sleep(Duration::from_millis(20)),
            Ok(None) | Err(_) => break None,
        }
    };
    if status.is_none() {
        // First so that it can end what it started.
        kill("-TERM", &group);
        std::thread::sleep(Duration::from_secs(2));
        kill("-KILL", &group);
        let _ = child.wait();
    }
    // A process that was left behind may hold the streams open.
    let mut said = String::new();
    while let Ok(more) = hear.recv_timeout(Duration::from_millis(500)) {
        said.push_str(&more);
    }
    match status {
        Some(status) if status.success() => Ended::Well(said),
        Some(status) => Ended::Badly(format!("{} ended with {status}:\n{said}", command.get_program().display())),
        None => Ended::NotBy(limit, said),
    }
}

fn kill(signal: &str, whom: &str) {
    let _ = Command::new("kill").args([signal, "--", whom]).stderr(Stdio::null()).status();
}

/// The processes with this in their environment, by number and command line, once they had a moment to end.
fn marked(mark: &str) -> Vec<(String, String)> {
    let look = || {
        let processes = std::fs::read_dir("/proc").into_iter().flatten().flatten();
        let found = processes.filter_map(|it| {
            let environment = std::fs::read(it.path().join("environ")).ok()?;
            environment.split(|byte| *byte == 0).find(|it| *it == mark.as_bytes())?;
            let line = std::fs::read(it.path().join("cmdline")).unwrap_or_default();
            let line = String::from_utf8_lossy(&line).replace('\0', " ");
            Some((it.file_name().to_string_lossy().into_owned(), line))
        });
        found.collect::<Vec<_>>()
    };
    let begun = Instant::now();
    loop {
        let found = look();
        if found.is_empty() || begun.elapsed() > Duration::from_secs(10) {
            return found;
        }
        std::thread::sleep(Duration::from_millis(50));
    }
}
