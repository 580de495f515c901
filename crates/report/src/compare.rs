//! What a revision changed: for people, for a comment on a merge request, for programs.

mod json;
mod markdown;
mod text;

pub use json::json;
pub use markdown::markdown;
pub use text::text;

use check::Outcome;
use check::compare::{Became, Comparison, Fate, FigureChange, FindingChange, GivenChange, Revision, Thing};

/// Two versions of a design with what lies between them.
pub struct Versions<'v> {
    /// How the old version is called: its path, and the revision of the repository where it is from one.
    pub old_name: &'v str,
    pub new_name: &'v str,
    pub old: &'v Outcome,
    pub new: &'v Outcome,
    pub comparison: &'v Comparison,
}

impl Versions<'_> {
    /// What the versions are: `house.ufh.yaml, P2, for comment -> P3, for construction`.
    fn heading(&self) -> String {
        let version = |outcome: &Outcome| {
            let project = &outcome.design.project;
            let revision = project.revision.as_ref().map_or("no revision", |it| it.value.as_str());
            format!("{revision}, {}", outcome.design.stage())
        };
        let names = match self.old_name == self.new_name {
            true => self.new_name.to_string(),
            false => format!("{} -> {}", self.old_name, self.new_name),
        };
        format!("{names}: {} -> {}", version(self.old), version(self.new))
    }
}

/// What became of a thing, behind its name; nothing where it only changed.
pub(crate) fn fate(thing: &Thing) -> String {
    let fate = match &thing.fate {
        Fate::Added => " added".to_string(),
        Fate::Removed => " removed".to_string(),
        Fate::Renamed(had) => format!(" renamed from {had}"),
        Fate::Stays => String::new(),
    };
    let moved = thing.moved.map(|moved| format!(" moved by up to {moved}")).unwrap_or_default();
    fate + &moved
}

/// The rows of a thing: what, before, after.
pub(crate) fn rows(thing: &Thing) -> Vec<[String; 3]> {
    // What was not there has no value that nobody knows.
    let was = |said: String| if thing.fate == Fate::Added { String::new() } else { said };
    let is = |said: String| if thing.fate == Fate::Removed { String::new() } else { said };
    let given = |text: &Option<String>| text.clone().unwrap_or_else(|| "not given".into());
    let said = thing.given.iter().map(|GivenChange { key, before, after, moved }| match moved {
        Some(moved) => [key.clone(), String::new(), format!("moved by up to {moved}")],
        None => [key.clone(), was(given(before)), is(given(after))],
    });
    let figures = thing.figures.iter().map(|FigureChange { name, before, after, .. }| {
        let shown =
            |value: &Option<(f64, String)>| value.as_ref().map_or("not known".into(), |(_, shown)| shown.clone());
        [name.to_string(), was(shown(before)), is(shown(after))]
    });
    said.chain(figures).collect()
}

/// The same for a line of a terminal or a table on a screen: what is too long to be read in a line, cut.
fn short_rows(thing: &Thing) -> Vec<[String; 3]> {
    const LONGEST: usize = 80;
    let cut = |text: String| match text.char_indices().nth(LONGEST) {
        None => text,
        Some((end, _)) => format!("{}…", &text[..end]),
    };
    rows(thing).into_iter().map(|row| row.map(cut)).collect()
}

/// What became of a finding: `new`, or `error, was warning`.
pub(crate) fn became(it: &FindingChange) -> String {
    match it.became {
        Became::Graver(was) | Became::Lighter(was) => format!("{}, was {}", it.became.word(), was.word()),
        other => other.word().to_string(),
    }
}

/// How much changed, in one line.
pub(crate) fn summary(comparison: &Comparison) -> String {
    use crate::words::count;
    let of = |wanted: fn(&FindingChange) -> bool| comparison.findings.iter().filter(|it| wanted(it)).count();
    let (worse, cleared) = (of(|it| it.became.is_worse()), of(|it| it.became == Became::Cleared));
    let follow = comparison.things.iter().filter(|it| it.only_follows()).count();
    format!(
        "{} changed, {follow} with them; findings: {worse} new or graver, {cleared} cleared, {} otherwise changed, {} unchanged",
        count(comparison.things.len() - follow, "thing", "things"),
        comparison.findings.len() - worse - cleared,
        comparison.unchanged
    )
}

/// What is to be said of the revision.
fn revision(comparison: &Comparison) -> String {
    match &comparison.revision {
        Revision::Raised => "the revision was raised".into(),
        Revision::RaisedBefore { was, is } => {
            format!("the revision was raised, but is issued on {is}, before the one that it follows, on {was}")
        }
        Revision::Changed { was, is } => {
            format!(
                "the revision was {was} and is {is}; which of them is later neither they nor their days of issue say"
            )
        }
        Revision::Lowered { was, is } => format!("the revision was lowered: it was {was} and is {is}"),
        Revision::SameDesign => "nothing that is drawn has changed".into(),
        Revision::NotIssued => "the old version was not issued; its revision stands".into(),
        Revision::NotRaised(revision) => {
            format!("the revision was not raised: {revision} was issued, and the design is another one now")
        }
    }
}
