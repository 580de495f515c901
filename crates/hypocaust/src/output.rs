//! Standard output.

use crate::failure::{Failure, coloured, failure};
use std::io::{ErrorKind, Write};

/// Prints on standard output. A reader that has seen enough and closes the pipe is no failure.
pub fn print<'p>(parts: impl IntoIterator<Item = &'p [u8]>) -> Result<(), Failure> {
    let mut out = std::io::BufWriter::with_capacity(1 << 16, std::io::stdout().lock());
    let written = parts.into_iter().try_for_each(|part| out.write_all(part)).and_then(|()| out.flush());
    // What is left in the buffer has nowhere to go.
    drop(out.into_parts());
    match written {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(failure(format!("cannot write to standard output: {error}")))
        }
        _ => Ok(()),
    }
}

/// Whether standard output shows colours.
pub fn shows_colours() -> bool {
    coloured(&std::io::stdout())
}
