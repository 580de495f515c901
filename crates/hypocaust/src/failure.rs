//! What went wrong with the tool itself, told on standard error. Only this crate has such errors.

use crate::Status;
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, MietteDiagnostic};
use std::io::IsTerminal;

/// Why a command could not be carried out.
pub type Failure = Box<MietteDiagnostic>;

/// A failure in one sentence: lower case, no full stop.
pub fn failure(message: impl Into<String>) -> Failure {
    Box::new(MietteDiagnostic::new(printable(message)))
}

/// A failure with what can be done about it.
pub fn failure_with_help(message: impl Into<String>, help: impl Into<String>) -> Failure {
    Box::new(MietteDiagnostic::new(printable(message)).with_help(printable(help)))
}

/// What names of files and words of arguments bring along must not steer the terminal; only line feeds stay.
fn printable(text: impl Into<String>) -> String {
    let text = text.into();
    let lines: Vec<_> = text.split('\n').map(report::printable).collect();
    lines.join("\n")
}

/// Tells a failure, and gives the status that it ends with.
pub fn tell(failure: Failure) -> Status {
    let theme =
        if coloured(&std::io::stderr()) { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
    let mut text = String::new();
    let handler = GraphicalReportHandler::new_themed(theme).with_wrap_lines(false);
    match handler.render_report(&mut text, &*failure as &dyn Diagnostic) {
        Ok(()) => say!("{text}"),
        Err(_) => say_line!("{failure}"),
    }
    Status::NotDone
}

/// Tells what is wrong with the arguments, or prints the help that they ask for.
pub fn refuse(refusal: &clap::Error) -> Status {
    if !refusal.use_stderr() {
        // A reader that has seen enough of the help closes the pipe; nothing is wrong then.
        let _ = refusal.print();
        return Status::Clean;
    }
    let text = refusal.render().to_string();
    let Some(said) = text.strip_prefix("error: ") else {
        say!("{text}");
        return Status::NotDone;
    };
    let (message, help) = said.trim_end().split_once('\n').unwrap_or((said.trim_end(), ""));
    tell(match help.trim() {
        "" => failure(message),
        help => failure_with_help(message, help),
    })
}

/// Whether colours are wanted on a stream.
pub fn coloured(stream: &impl IsTerminal) -> bool {
    let set = |name| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    stream.is_terminal() && !set("NO_COLOR") && std::env::var_os("TERM").is_none_or(|term| term != "dumb")
}
