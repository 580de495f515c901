//! `guidance`: the rules and their pages.

use super::remedy::no_such_rule;
use crate::Status;
use crate::failure::{Failure, failure};
use crate::files::{self, Wanted};
use crate::output;
use ::check::House;
use std::path::Path;

pub fn guidance(rule: Option<&str>, site: Option<&Path>, house_standard: Option<&str>) -> Result<Status, Failure> {
    super::readable(house_standard)?;
    // Without a design, the house standard of the folder that one is in counts.
    let house = super::house(files::house_standard(house_standard, &Wanted::new("-", true)).as_deref());
    if let Some(folder) = site {
        return write_site(&house, folder);
    }
    let text = match rule {
        None => report::guidance::list(&house),
        Some(name) => {
            let rule = report::guidance::named(&house, name).map_err(|nearest| no_such_rule(name, nearest))?;
            report::guidance::page(&house, rule, output::shows_colours())
        }
    };
    output::print([text.as_bytes()])?;
    Ok(Status::Clean)
}

fn write_site(house: &House, folder: &Path) -> Result<Status, Failure> {
    let cannot = |path: &Path, error| failure(format!("cannot write `{}`: {error}", path.display()));
    std::fs::create_dir_all(folder).map_err(|error| cannot(folder, error))?;
    for (name, text) in report::guidance::site(house) {
        let path = folder.join(name);
        std::fs::write(&path, text).map_err(|error| cannot(&path, error))?;
    }
    say_line!("{}", folder.join("index.html").display());
    Ok(Status::Clean)
}
