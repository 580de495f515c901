//! The program as tests start it: a folder of its own for each test, streams, exit status, repositories of `git`.

// Each file of tests uses a part of this.
#![allow(dead_code)]

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// A folder of its own for a test.
pub struct Folder(pub PathBuf);

impl Folder {
    pub fn new(name: &str) -> Folder {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(env!("CARGO_CRATE_NAME")).join(name);
        let _ = std::fs::remove_dir_all(&path);
        std::fs::create_dir_all(&path).expect("the target folder can be written to");
        Folder(path)
    }

    pub fn with(self, file: &str, bytes: impl AsRef<[u8]>) -> Folder {
        self.write(file, bytes);
        self
    }

    /// The folder with the demo designs and their library in it.
    pub fn with_demo_designs(self) -> Folder {
        let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-designs");
        let mut folder = self;
        for below in ["", "library"] {
            for entry in std::fs::read_dir(demo.join(below)).expect("the demo designs are there") {
                let path = entry.expect("a folder can be listed").path();
                let name = path.file_name().expect("it has a name").to_string_lossy().into_owned();
                if path.is_file() && !name.contains(".expected.") {
                    let bytes = std::fs::read(&path).expect("a file can be read");
                    folder = folder.with(&Path::new("demo-designs").join(below).join(name).to_string_lossy(), bytes);
                }
            }
        }
        folder
    }

    pub fn read(&self, file: &str) -> String {
        std::fs::read_to_string(self.0.join(file)).expect("the file can be read")
    }

    pub fn run(&self, arguments: &[&str]) -> Ended {
        self.run_with(arguments, b"")
    }

    /// Runs the program in the folder with this on standard input. Nothing that is tested here may take long.
    pub fn run_with(&self, arguments: &[&str], input: &[u8]) -> Ended {
        let begun = Instant::now();
        let mut child = Command::new(env!("CARGO_BIN_EXE_hypocaust"))
            .args(arguments)
            .current_dir(&self.0)
            .env_remove("NO_COLOR")
            .env_remove("GIT_DIR")
            // A folder of a test is in no repository but its own.
            .env("GIT_CEILING_DIRECTORIES", env!("CARGO_TARGET_TMPDIR"))
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let mut stdin = child.stdin.take().expect("standard input is a pipe");
        let input = input.to_vec();
        // The program may end without reading all of it.
        let writer = std::thread::spawn(move || stdin.write_all(&input));
        let output = child.wait_with_output().expect("the program ends");
        let _ = writer.join();
        let took = begun.elapsed();
        assert!(took < Duration::from_secs(20), "{arguments:?} took {took:?}");
        Ended {
            status: output.status.code().expect("the program ends by itself"),
            out: String::from_utf8(output.stdout).expect("what is printed is UTF-8"),
            err: String::from_utf8(output.stderr).expect("what is told is UTF-8"),
        }
    }

    /// Runs `git` in the folder, with nothing of whoever runs the tests in its settings; what it printed.
    pub fn git(&self, arguments: &[&str]) -> String {
        let output = git_command(&self.0).args(arguments).output().expect("these tests need the program `git`");
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "git {arguments:?}: {said}");
        String::from_utf8(output.stdout).expect("what git prints is UTF-8")
    }

    /// Makes the folder a repository that holds all that is in it.
    pub fn in_git(self) -> Folder {
        self.git(&["init", "--quiet", "--initial-branch", "main"]);
        self.commit("begin");
        self
    }

    /// Commits all that is in the folder.
    pub fn commit(&self, message: &str) {
        self.git(&["add", "--all"]);
        self.git(&["commit", "--quiet", "--allow-empty", "--message", message]);
    }

    pub fn write(&self, file: &str, bytes: impl AsRef<[u8]>) {
        std::fs::create_dir_all(self.0.join(file).parent().expect("it is in the folder"))
            .expect("a folder can be made");
        std::fs::write(self.0.join(file), bytes).expect("a file can be written");
    }

    pub fn remove(&self, file: &str) {
        std::fs::remove_file(self.0.join(file)).expect("the file was there");
    }

    /// `check --format json` of these paths: how it ended, and the document, which fits its schema.
    pub fn check_json(&self, paths: &[&str]) -> (Ended, serde_json::Value) {
        let mut arguments = vec!["check", "--today", "2026-06-01", "--format", "json"];
        arguments.extend(paths);
        let ended = self.run(&arguments);
        let document = fitting(&ended.out, include_str!("../../schema/check.schema.json"));
        (ended, document)
    }
}

pub struct Ended {
    pub status: i32,
    pub out: String,
    pub err: String,
}

/// The document that a text is, which must fit the schema.
pub fn fitting(text: &str, schema: &str) -> serde_json::Value {
    let document = serde_json::from_str(text).unwrap_or_else(|error| panic!("{error} in {text}"));
    let schema = serde_json::from_str(schema).expect("the schema is JSON");
    let schema = jsonschema::draft202012::new(&schema).expect("the schema is a schema");
    let faults: Vec<String> = schema.iter_errors(&document).map(|it| format!("{}: {it}", it.instance_path())).collect();
    assert!(faults.is_empty(), "{faults:#?}\n{document:#}");
    document
}

fn git_command(folder: &Path) -> Command {
    let mut command = Command::new("git");
    let nothing = folder.join(".no-settings");
    command
        .current_dir(folder)
        .env("GIT_CONFIG_GLOBAL", &nothing)
        .env("GIT_CONFIG_SYSTEM", &nothing)
        .env_remove("GIT_DIR");
    for who in ["AUTHOR", "COMMITTER"] {
        command.env(format!("GIT_{who}_NAME"), "Designer").env(format!("GIT_{who}_EMAIL"), "designer@example.org");
        command.env(format!("GIT_{who}_DATE"), "2026-06-01T12:00:00Z");
    }
    command
}
