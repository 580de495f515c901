//! The language server: the check, live in an editor.
//!
//! ```text
//! standard input ─▶ protocol ─▶ state ─▶ work (one check) ─▶ state ─▶ protocol ─▶ standard output
//! ```
//!
//! [`protocol`] translates messages and does nothing else. [`state`] is one thread that holds all open documents;
//! it starts checks, at most one at a time, and lets through only what is true of the newest text.
//! [`work`] is one check on a thread of its own, where a panic does no harm.
//!
//! Absent from this crate: judgement, wording, and figures; and outside of `protocol` and `convert` the protocol's
//! types and its UTF-16.

mod convert;
pub mod disk;
mod document;
mod hover;
mod protocol;
mod remedies;
mod state;
mod view;
mod work;

use std::process::ExitCode;

/// Serves one editor on standard input and output until it says `exit` or goes away.
///
/// The status is that of the protocol: 0 after `shutdown` and `exit`, 1 without `shutdown`; 2 if the server could
/// not start, with the reason on standard error.
pub fn run() -> ExitCode {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_time().build();
    let runtime = match runtime {
        Ok(runtime) => runtime,
        Err(error) => {
            eprintln!("the language server cannot start: {error}");
            return ExitCode::from(2);
        }
    };
    let status = runtime.block_on(protocol::serve());
    // Standard input is read by a thread that cannot be stopped; whoever waits for it waits for the editor.
    runtime.shutdown_background();
    status
}
