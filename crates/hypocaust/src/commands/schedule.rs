//! `schedule`: the loops of each manifold as a table for the site.

use super::{looked_at, told_what_could_not_be_read};
use crate::Status;
use crate::arguments::{Schedule, ScheduleFormat};
use crate::failure::Failure;
use crate::output;

pub fn schedule(arguments: &Schedule) -> Result<Status, Failure> {
    let (_, outcome) = looked_at(&arguments.file, None)?;
    let printed = match arguments.format {
        ScheduleFormat::Text => report::schedule::text(&outcome),
        ScheduleFormat::Csv => report::schedule::csv(&outcome),
        ScheduleFormat::Json => report::schedule::json(&outcome),
    };
    output::print([printed.as_bytes()])?;
    Ok(told_what_could_not_be_read(outcome))
}
