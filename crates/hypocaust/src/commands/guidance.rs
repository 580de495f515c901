//! `guidance`: the rules and their pages.

use crate::Status;
use crate::failure::{Failure, failure_with_help};
use crate::output;

pub fn guidance(rule: Option<&str>) -> Result<Status, Failure> {
    let text = match rule {
        None => report::guidance::list(),
        Some(name) => {
            let rule = report::guidance::named(name).map_err(|nearest| {
                let help = match nearest {
                    Some(nearest) => format!("did you mean `{nearest}`?"),
                    None => "`hypocaust guidance` tells every rule".to_string(),
                };
                failure_with_help(format!("no rule is called `{name}`"), help)
            })?;
            report::guidance::page(rule, output::shows_colours())
        }
    };
    output::print([text.as_bytes()])?;
    Ok(Status::Clean)
}
