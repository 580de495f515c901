//! The issue pack: what goes out with a revision. Each sheet is described once, in its own module; the page for a browser and
//! the PDF are made from the same descriptions, so that both say the same.
//!
//! A design as built gives the handover pack: what was laid, tested and set takes the place of what is still to be done.

mod calculation;
mod cover;
mod floors;
mod handover;
mod html;
mod identity;
mod loops;
mod manifest;
mod pdf;
mod plans;
mod record;
mod sheet;
mod site;

pub use identity::sha256;
pub use manifest::digests;

use check::{Outcome, RULES};
use design::Stage;
use identity::Identity;
use jiff::civil::Date;
use sheet::Sheet;
use std::borrow::Cow;

/// A file of the pack.
#[derive(Debug)]
pub struct File {
    pub name: String,
    pub bytes: Vec<u8>,
}

/// The name of the file that lists the others.
pub const MANIFEST: &str = "manifest.json";

/// All files of the pack of a design that was checked as on this day.
pub fn files(outcome: &Outcome, day: Date) -> Vec<File> {
    let issue = Issue { outcome, day, identity: Identity::of(outcome) };
    let mut sheets = vec![Sheet::default()];
    if issue.is_as_built() {
        sheets.push(handover::notice(&issue));
    }
    let (plan, plans) = plans::sheet(&issue).unzip();
    sheets.extend(plan);
    sheets.extend(loops::sheet(&issue));
    sheets.push(floors::sheet(&issue));
    sheets.push(if issue.is_as_built() { handover::sheet(&issue) } else { site::sheet(&issue) });
    sheets.push(record::sheet(&issue));
    sheets.push(calculation::sheet(&issue));
    sheets[0] = cover::sheet(&issue, &sheets[1..]);

    let name = if issue.is_as_built() { "handover-pack" } else { "issue-pack" };
    let mut files = vec![
        File { name: format!("{name}.html"), bytes: html::page(&issue, &sheets).into_bytes() },
        File { name: format!("{name}.pdf"), bytes: pdf::document(&issue, &sheets) },
    ];
    files.extend(plans.into_iter().flatten());
    if !outcome.design.loops.is_empty() {
        files.push(File { name: "loops.csv".into(), bytes: crate::schedule::csv(outcome).into_bytes() });
    }
    files.push(File { name: MANIFEST.into(), bytes: manifest::json(&issue, &files).into_bytes() });
    files
}

/// What is issued.
struct Issue<'o> {
    outcome: &'o Outcome,
    /// The day by which it was checked.
    day: Date,
    identity: Identity,
}

impl Issue<'_> {
    fn is_as_built(&self) -> bool {
        self.outcome.design.stage() == Stage::AsBuilt
    }

    /// What the pack is called.
    fn title(&self) -> &'static str {
        if self.is_as_built() { "Handover pack" } else { "Issue pack" }
    }

    /// A limit of a rule as it is written, the house standard's where that has its own, and whose it is.
    fn limit(&self, rule: &str, limit: &str) -> (Cow<'_, str>, String) {
        let found = RULES.iter().find(|it| it.name == rule).and_then(|rule| {
            let limit = rule.limits.iter().find(|it| it.name == limit)?;
            Some((*rule, limit))
        });
        let (rule, limit) = found.expect("the test `every_limit_is_there` finds all that the sheets ask for");
        match self.outcome.house.limit(rule, limit.name) {
            Some(own) => (own.text.as_str().into(), format!("the house standard; without it {}", limit.value)),
            None => (limit.value.into(), limit.source.to_string()),
        }
    }

    /// The same as a measured value.
    fn limit_value<Q: quantity::Quantity>(&self, rule: &str, limit: &str) -> Q {
        Q::parse(&self.limit(rule, limit).0)
            .expect("the check reads every limit, and a house standard's only if it can")
    }
}
