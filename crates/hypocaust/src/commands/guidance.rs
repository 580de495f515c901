//! `guidance`: the rules and their pages.

use super::remedy::no_such_rule;
use crate::Status;
use crate::failure::{Failure, failure};
use crate::output;
use std::path::Path;

pub fn guidance(rule: Option<&str>, site: Option<&Path>) -> Result<Status, Failure> {
    if let Some(folder) = site {
        return write_site(folder);
    }
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

fn write_site(folder: &Path) -> Result<Status, Failure> {
    let cannot = |path: &Path, error| failure(format!("cannot write `{}`: {error}", path.display()));
    std::fs::create_dir_all(folder).map_err(|error| cannot(folder, error))?;
    for (name, text) in report::guidance::site() {
        let path = folder.join(name);
        std::fs::write(&path, text).map_err(|error| cannot(&path, error))?;
    }
    eprintln!("{}", folder.join("index.html").display());
    Ok(Status::Clean)
}
