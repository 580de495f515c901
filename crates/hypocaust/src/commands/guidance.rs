//! `guidance`: the rules and their pages.

use super::remedy::no_such_rule;
use crate::Status;
use crate::failure::Failure;
use crate::output;

pub fn guidance(rule: Option<&str>) -> Result<Status, Failure> {
    let text = match rule {
        None => report::guidance::list(),
        Some(name) => {
            let rule = report::guidance::named(name).map_err(|nearest| no_such_rule(name, nearest))?;
            report::guidance::page(rule, output::shows_colours())
        }
    };
    output::print([text.as_bytes()])?;
    Ok(Status::Clean)
}
