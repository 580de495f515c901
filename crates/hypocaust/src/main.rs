//! The command line: arguments, files, exit status. What is said of them is said by the crates below.

#[cfg(target_os = "linux")]
#[global_allocator]
static ALLOCATOR: tikv_jemallocator::Jemalloc = tikv_jemallocator::Jemalloc;

/// Says something on standard error. Where nobody listens there any more that is no failure: the status tells how it went.
macro_rules! say {
    ($($words:tt)*) => {{
        use std::io::Write as _;
        let _ = write!(std::io::stderr(), $($words)*);
    }};
}

/// The same as a line.
macro_rules! say_line {
    ($($words:tt)*) => {
        say!("{}\n", format_args!($($words)*))
    };
}

mod arguments;
mod commands;
mod failure;
mod files;
mod gate;
mod output;
mod repository;

use arguments::{Arguments, Command};
use clap::Parser;
use failure::Failure;
use std::process::ExitCode;

/// How a command ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Status {
    /// Nothing at or above the failing severity.
    Clean = 0,
    /// Findings at or above it.
    Found = 1,
    /// What was asked could not be done, or not all of it.
    NotDone = 2,
}

fn main() -> ExitCode {
    let command = match Arguments::try_parse() {
        Ok(arguments) => arguments.command,
        Err(refusal) => return failure::refuse(&refusal).into(),
    };
    if let Command::LanguageServer { .. } = command {
        return language_server::run();
    }
    run(command).unwrap_or_else(failure::tell).into()
}

fn run(command: Command) -> Result<Status, Failure> {
    match command {
        Command::Check(wanted) => commands::check(&wanted),
        Command::Workings(wanted) => commands::workings(&wanted),
        Command::Schedule(wanted) => commands::schedule(&wanted),
        Command::Plan(wanted) => commands::plan(&wanted),
        Command::Issue(wanted) => commands::issue(&wanted),
        Command::Remedy(wanted) => commands::remedy(&wanted),
        Command::Compare(wanted) => commands::compare(&wanted),
        Command::Start(wanted) => commands::start(&wanted),
        Command::Guidance { rule, site, house_standard } => {
            commands::guidance(rule.as_deref(), site.as_deref(), house_standard.as_deref())
        }
        Command::Completions { shell } => commands::completions(shell),
        Command::Manual { folder } => commands::manual(&folder),
        Command::Schema { of } => commands::schema(of),
        Command::LanguageServer { .. } => Ok(Status::Clean),
    }
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> ExitCode {
        ExitCode::from(status as u8)
    }
}
