//! Rules, findings, remedies and departures; the one door is [`check`].
//!
//! A check is a pure function of the texts and of today's date: no clock, no disk, no network, no
//! threads. The command line and the language server call the same door and get the same findings.

mod accepted;
mod asked;
#[cfg(test)]
mod bench;
mod causes;
pub mod compare;
mod departures;
mod finding;
mod flows;
mod guidance;
mod house;
mod inspection;
mod insulation;
mod layers;
mod limit;
mod mend;
mod records;
mod remedy;
mod rule;
mod rules;
mod same;
mod split;
mod start;
mod zones;

pub use accepted::{Accepted, Entry, NotAList, Stale};
pub use asked::{
    Moved, There, departure, draw_layout, is_safe_to_mend, move_to_library, split_loop, without_surprises,
};
pub use design::{FileId, Files, Place, Source};
pub use finding::{Amount, Finding, Findings, LimitShown, NotChecked, Related, Severity};
pub use guidance::Guidance;
pub use house::{House, OwnLimit, SwitchedOff, start_house_standard};
pub use inspection::{Inspection, Item};
/// The rules that tell what could not be read.
pub const OF_READING: [&str; 7] = [
    "syntax-error",
    "duplicate-name",
    "format-version-unknown",
    "unit-missing-or-wrong",
    "unknown-field",
    "unknown-reference",
    "value-not-understood",
];

/// The rules that tell of something that nobody needs: an editor may show it paler.
pub const OF_NOTHING_NEEDED: [&str; 2] = ["definition-not-used", "departure-matches-nothing"];

pub use limit::{Limit, LimitValue, MovedLimit};
pub use mend::{Done, Mended, mend, weighs_enough};
pub use records::screed_of_floor;
pub use remedy::{Change, Remedy};
pub use rule::{Group, Rule, Weight};
pub use rules::RULES;
pub use rules::drying_time_not_programmed::days_to_dry;
pub use rules::loop_longer_than_coil::length_to_cut;
pub use start::{RoomWish, Size, Wishes, methods, start};
pub use workings::{Subject, Workings};

use design::{Design, Reading};
use jiff::civil::Date;

/// What is to be checked.
pub struct Job<'j> {
    /// The path of the design, as findings are to name it.
    pub path: &'j str,
    /// What the file holds.
    pub bytes: &'j [u8],
    /// Brings the bytes of a library by its path, or says why it cannot.
    pub files: &'j Files<'j>,
    /// The path of the house standard that the design is held against, which `files` brings as well.
    pub house_standard: Option<&'j str>,
    /// The day on which the check is made: departures run out, dates lie in the future.
    pub today: Date,
    /// Whether remedies are to be tried out, which costs a check for each.
    pub remedies: bool,
}

/// What a check gives.
#[derive(Debug)]
pub struct Outcome {
    /// In the order of the file, the gravest first where places are the same.
    pub findings: Vec<Finding>,
    /// What only follows from one of them and is told there.
    pub followers: Vec<Finding>,
    /// Of each of these the position of its cause.
    causes: Vec<usize>,
    /// What a rule could not look at, and what would let it.
    pub not_checked: Vec<NotChecked>,
    /// Findings that a departure accepts, with the position of the departure in its list.
    pub departed: Vec<(Finding, usize)>,
    /// Findings that a list of [`Accepted`] ones has set apart; the check itself knows of none.
    pub accepted: Vec<Finding>,
    pub design: Design,
    pub workings: Workings,
    /// The house standard that it was held against.
    pub house: House,
    /// The files that were read; a place's file is an index into it.
    pub sources: Vec<Source>,
    /// There are more faults of reading than are told.
    is_cut_short: bool,
}

/// Reads, works out and checks a design.
pub fn check(job: &Job) -> Outcome {
    match checked(job, None, false, &|| false) {
        Some(outcome) => outcome,
        None => unreachable!("nobody stops it"),
    }
}

/// What the next check can use of one. It takes a fraction of the room of an [`Outcome`], which may be gone by then.
#[derive(Debug, Clone, Default)]
pub struct Kept {
    sources: Vec<Source>,
    workings: workings::Kept,
}

impl Outcome {
    /// What a check after a change can use of this one.
    pub fn kept(&self) -> Kept {
        Kept { sources: self.sources.clone(), workings: self.workings.kept() }
    }
}

/// The same, sooner where something is known from a check `before` a change: what did not change is neither read nor worked out anew,
/// and what the next check can use of this one is kept. It is given up as soon as it need not be made any more: `stop` is asked
/// between rules and between trials.
pub fn check_until(job: &Job, before: Option<&Kept>, stop: &dyn Fn() -> bool) -> Option<Outcome> {
    checked(job, before, true, stop)
}

fn checked(job: &Job, before: Option<&Kept>, to_go_on: bool, stop: &dyn Fn() -> bool) -> Option<Outcome> {
    let mut outcome = look_until(job, before, to_go_on, stop)?;
    if job.remedies {
        remedy::keep_proven(job, &mut outcome, stop);
    }
    (!stop()).then_some(outcome)
}

/// A check without trying remedies out.
fn look(job: &Job) -> Outcome {
    match look_until(job, None, false, &|| false) {
        Some(outcome) => outcome,
        None => unreachable!("nobody stops it"),
    }
}

/// The same, after a check of a text that differs little.
fn look_after(job: &Job, before: &Outcome) -> Outcome {
    match look_until(job, Some(&before.kept()), true, &|| false) {
        Some(outcome) => outcome,
        None => unreachable!("nobody stops it"),
    }
}

/// A check without trying remedies out, if nobody stops it. What takes room and only serves `to_go_on` from it is not kept otherwise.
fn look_until(job: &Job, before: Option<&Kept>, to_go_on: bool, stop: &dyn Fn() -> bool) -> Option<Outcome> {
    let nothing = Kept::default();
    let before = before.unwrap_or(&nothing);
    let mut reading = read(job, &before.sources);
    if !to_go_on {
        reading.sources.iter_mut().for_each(Source::forget_tree);
    }
    if stop() {
        return None;
    }
    let mut workings = workings::work_out_after(&reading.design, &before.workings);
    let house = House::of(&reading);
    let mut found = Findings::new(reading.design.stage());
    // What rests on a value that nobody would believe means nothing: it is not worked out, and rules that need it say so.
    let doubts: [&'static Rule; 2] = [&rules::value_not_believable::RULE, &rules::metres_and_millimetres_mixed::RULE];
    let inspection = Inspection::new(&reading, &workings, &house, job.today);
    // A house standard by itself is no design, and is not held against its own rules.
    let is_standard = design::is_house_standard(job.path);
    let applies = |rule: &&Rule| {
        !is_standard || OF_READING.contains(&rule.name) || rule.name == rules::house_standard_unsound::RULE.name
    };
    doubts.iter().filter(|rule| applies(rule)).for_each(|rule| found.run(rule, &inspection));
    let doubted = rules::value_not_believable::doubted(&inspection, found.so_far());
    if !doubted.is_empty() {
        let without = read_without(job, doubted, &reading.sources);
        workings = workings::work_out_after(&without.design, &workings.kept());
        reading = without;
    }
    let inspection = Inspection::new(&reading, &workings, &house, job.today);
    for rule in house.rules().filter(applies).filter(|rule| !rule.after_the_others) {
        if doubts.iter().any(|doubt| doubt.name == rule.name) {
            continue;
        }
        if stop() {
            return None;
        }
        found.run(rule, &inspection);
    }
    for rule in house.rules().filter(applies).filter(|rule| rule.after_the_others) {
        found.run(rule, &inspection);
    }
    let (mut findings, not_checked) = found.into_parts();
    findings.sort_by(|a, b| (a.place, b.severity, a.rule.name).cmp(&(b.place, a.severity, b.rule.name)));
    // What is accepted hides nothing: what follows from it is told for itself.
    let departed = departures::apply(&inspection, &mut findings);
    let (followers, causes) = causes::gather(&inspection, &mut findings).into_iter().unzip();
    let Reading { design, sources, is_cut_short, .. } = reading;
    let accepted = Vec::new();
    Some(Outcome {
        findings,
        followers,
        causes,
        not_checked,
        departed,
        accepted,
        design,
        workings,
        house,
        sources,
        is_cut_short,
    })
}

/// Reads what is to be checked, without the values at some places.
fn read_without(job: &Job, doubted: Vec<Place>, before: &[Source]) -> Reading {
    design::read_without(doubted, job.path, job.bytes, job.house_standard, job.files, before)
}

/// Reads what is to be checked.
fn read(job: &Job, before: &[Source]) -> Reading {
    design::read_under(job.path, job.bytes, job.house_standard, job.files, before)
}
