//! `completions` and `manual`: what goes with the program when it is installed.

use crate::Status;
use crate::arguments::Arguments;
use crate::failure::{Failure, failure};
use crate::output;
use clap::CommandFactory;
use clap_complete::Shell;
use std::path::Path;

pub fn completions(shell: Shell) -> Result<Status, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "hypocaust", &mut script);
    output::print([script.as_slice()])?;
    Ok(Status::Clean)
}

pub fn manual(folder: &Path) -> Result<Status, Failure> {
    let written = std::fs::create_dir_all(folder).and_then(|()| clap_mangen::generate_to(Arguments::command(), folder));
    written.map_err(|error| failure(format!("cannot write the manual into `{}`: {error}", folder.display())))?;
    Ok(Status::Clean)
}
