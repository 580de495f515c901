//! The language server: the check, live in an editor.
//!
//! ```text
//! standard input ─▶ protocol ─▶ state ─▶ work (one check) ─▶ state ─▶ protocol ─▶ standard output
//! ```
//!
//! [`protocol`] translates messages and does nothing else. [`state`] is one thread that holds all open documents;
//! it starts checks, at most one of each depth, and lets through only what is true of the newest text.
//! [`work`] is one check on a thread of its own, where a panic does no harm, and stops when its text is no more.
//!
//! There is a module for each thing that an editor asks for. What the text alone can answer works on a [`snapshot`] of it:
//! its [`outline`], or the few lines of a [`context`]; the rest works on the [`view`] that a document has of a check. All speak in
//! bytes.
//!
//! Absent from this crate: judgement, wording, and figures; and outside of `protocol` and `convert` the protocol's
//! types and its UTF-16.

mod actions;
mod completion;
mod context;
mod convert;
pub mod disk;
mod document;
mod folding;
mod format;
mod hierarchy;
mod hover;
mod inlay;
mod links;
mod names;
mod nearby;
mod outline;
mod preview;
mod protocol;
mod settings;
mod snapshot;
mod state;
mod symbols;
mod tokens;
mod view;
mod work;
mod workspace;

use std::process::ExitCode;

/// Threads that answer: enough that a slow answer holds no other one up, and few, as each keeps the memory that it has used
/// once.
const MOST_AT_WORK: usize = 3;

/// Serves one editor on standard input and output until it says `exit` or goes away.
///
/// The status is that of the protocol: 0 after `shutdown` and `exit`, 1 without `shutdown`; 2 if the server could
/// not start, with the reason on standard error.
pub fn run() -> ExitCode {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .max_blocking_threads(MOST_AT_WORK)
        .enable_time()
        .build();
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
