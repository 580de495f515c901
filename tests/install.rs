//! The program is installed as the README says, and runs: by cargo, and as a wheel.
//!
//! Both are built as the tests were, without optimising, so that what is built already serves again. The wheel wants Python
//! with `venv`; what builds it is fetched with `pip` and kept under the target folder. What cannot be set up fails and says so.

use std::path::{Path, PathBuf};
use std::process::Command;

#[test]
fn by_cargo() {
    let to = kept("cargo");
    let mut install = Command::new(env!("CARGO"));
    install.args(["install", "--debug", "--locked", "--force", "--path"]).arg(package()).arg("--root").arg(&to);
    run(install.env("CARGO_TARGET_DIR", target()));
    runs(&to.join("bin/hypocaust"));
}

#[test]
fn as_a_wheel() {
    let kept = kept("wheel");
    let (builder, user) = (kept.join("builder"), kept.join("user"));
    if !builder.join("bin/maturin").is_file() {
        run(Command::new("python3").args(["-m", "venv", "--clear"]).arg(&builder));
        run(Command::new(builder.join("bin/pip")).args(["install", "--quiet", "maturin>=1.7,<2"]));
    }
    let wheels = kept.join("wheels");
    let _ = std::fs::remove_dir_all(&wheels);
    let mut build = Command::new(builder.join("bin/maturin"));
    build.args(["build", "--profile", "dev", "--locked", "--out"]).arg(&wheels).current_dir(package());
    run(build.env("CARGO_TARGET_DIR", target()));
    let wheel = std::fs::read_dir(&wheels).expect("the wheel was written").flatten().next().expect("there is a wheel");
    run(Command::new("python3").args(["-m", "venv", "--clear"]).arg(&user));
    let mut install = Command::new(user.join("bin/pip"));
    run(install.args(["install", "--quiet", "--no-index", "--no-deps"]).arg(wheel.path()));
    runs(&user.join("bin/hypocaust"));
}

/// What was installed checks a design that has faults, and says its name.
fn runs(program: &Path) {
    let version = Command::new(program).arg("--version").output().expect("what was installed can be started");
    assert_eq!(String::from_utf8_lossy(&version.stdout), concat!("hypocaust ", env!("CARGO_PKG_VERSION"), "\n"));
    let design = package().join("../../demo-designs/full-of-faults.ufh.yaml");
    let check = Command::new(program).arg("check").arg(design).output().expect("it can be started");
    assert_eq!(check.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&check.stdout).contains("error[loop-over-maximum-length]"));
}

fn package() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The folder in which the tests were built.
fn target() -> PathBuf {
    let tests = Path::new(env!("CARGO_TARGET_TMPDIR"));
    tests.parent().expect("it stands in the target folder").to_path_buf()
}

fn kept(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("install").join(name);
    std::fs::create_dir_all(&folder).expect("the target folder can be written to");
    folder
}

#[track_caller]
fn run(command: &mut Command) {
    let program = command.get_program().to_string_lossy().into_owned();
    let output = command.output().unwrap_or_else(|error| panic!("{program} cannot be started: {error}"));
    let said = String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{program} ended with {}:\n{said}", output.status);
}
