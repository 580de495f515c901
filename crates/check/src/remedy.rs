//! Remedies: changes of the text, kept only when they are shown to work.

use crate::{
    Finding, Findings, Group, House, Inspection, Job, Kept, Outcome, RULES, Rule, Severity, Weight, Workings,
    departures,
};
use design::{FileId, Place, Reading, Source};
use std::cell::Cell;
use std::collections::{HashMap, HashSet};
use workings::Subject;
pub(crate) use yaml_tree::written;

/// A change that may clear a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// What it does, as an order: `lay L1 at 200 mm`.
    pub title: String,
    pub changes: Vec<Change>,
}

/// New text in place of old.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    pub place: Place,
    pub text: String,
}

impl Remedy {
    /// A remedy of one change.
    pub fn new(title: impl Into<String>, place: Place, text: impl Into<String>) -> Remedy {
        Remedy { title: title.into(), changes: vec![Change { place, text: text.into() }] }
    }

    /// A remedy of the changes that could be made out; none without any.
    pub fn of(title: impl Into<String>, changes: impl IntoIterator<Item = Change>) -> Option<Remedy> {
        let changes: Vec<Change> = changes.into_iter().collect();
        (!changes.is_empty()).then(|| Remedy { title: title.into(), changes })
    }
}

/// Adds an entry such as `sleeves: [W1]` to a block of keys, in the way the block is written.
///
/// `record` is the place of the block. The lines of an entry of several lines are indented with the
/// block; those after the first bring what they need beyond that. Nothing where the text gives no
/// safe place, as in an alias.
pub(crate) fn add_key(inspection: &Inspection, record: Place, entry: &str) -> Option<Change> {
    let text = inspection.source(record)?;
    let block = text.get(record.range())?;
    if block.is_empty() {
        return Some(Change { place: record, text: format!(" {{{entry}}}") });
    }
    if block.starts_with('{') {
        return add_in_braces(record, block, entry);
    }
    if block.starts_with(['*', '?', '[', '"', '\'', '|', '>']) {
        return None;
    }
    let indent = column(text, record.range().start);
    Some(new_lines(text, record, indent, entry.lines()))
}

/// Adds items to a list of which the places of the items are known, in the way the list is written.
pub(crate) fn add_items(inspection: &Inspection, items: &[Place], new: &[String]) -> Option<Change> {
    let (first, last) = (items.first()?, items.last()?);
    let text = inspection.source(*last)?;
    let written = text.get(last.range())?;
    match before(text, *first)? {
        '[' => Some(Change { place: last.after(), text: format!(", {}", new.join(", ")) }),
        ':' if items.len() == 1 => Some(Change { place: *last, text: format!("[{written}, {}]", new.join(", ")) }),
        '-' => {
            let dash = text.get(..last.range().start)?.trim_end().len() - 1;
            let lines: Vec<String> = new.iter().map(|item| format!("- {item}")).collect();
            Some(new_lines(text, *last, column(text, dash), lines.iter().map(String::as_str)))
        }
        _ => None,
    }
}

/// Takes an item out of a list of which the places of all items are known.
pub(crate) fn remove_item(inspection: &Inspection, items: &[Place], at: usize) -> Option<Change> {
    let item = *items.get(at)?;
    let text = inspection.source(item)?;
    let style = before(text, *items.first()?)?;
    let between = |from: u32, to: u32| Change { place: Place { start: from, end: to, ..item }, text: String::new() };
    match (style, items.get(at + 1)) {
        ('[', Some(next)) => Some(between(item.start, next.start)),
        ('[', None) if at > 0 => Some(between(items[at - 1].end, item.end)),
        ('[', None) => Some(Change { place: item, text: String::new() }),
        (':', None) => Some(Change { place: item, text: "[]".to_string() }),
        ('-', next) => {
            let dash = text.get(..item.range().start)?.trim_end().len() - 1;
            if next.is_none() && at == 0 {
                return Some(Change { place: Place { start: dash as u32, ..item }, text: "[]".to_string() });
            }
            let line = text.get(..dash)?.rfind('\n')?;
            let end = item.range().end + text.get(item.range().end..)?.find('\n')?;
            Some(between(line as u32, end as u32))
        }
        _ => None,
    }
}

/// Takes a name and all that stands under it out of a block: its lines, or its part of a `{…}`.
///
/// `whole` runs from the name to the end of its block. Nothing where the name stands alone in braces.
pub(crate) fn remove_entry(inspection: &Inspection, whole: Place) -> Option<Change> {
    let text = inspection.source(whole)?;
    let (start, end) = (whole.range().start, whole.range().end);
    let change = |from: usize, to: usize| {
        Some(Change { place: Place { start: from as u32, end: to as u32, ..whole }, text: String::new() })
    };
    let line = text.get(..start)?.rfind('\n').map_or(0, |at| at + 1);
    if text.get(line..start)?.trim().is_empty() {
        let written = start + text.get(start..end)?.trim_end().len();
        let rest = text.get(written..)?;
        let (behind, _) = rest.split_once('\n')?;
        let behind = behind.trim();
        return (behind.is_empty() || behind.starts_with('#')).then(|| change(line, written + rest.find('\n')? + 1))?;
    }
    let after = text.get(end..)?;
    if let Some(rest) = after.trim_start().strip_prefix(',') {
        return change(start, text.len() - rest.trim_start().len());
    }
    let before = text.get(..start)?.trim_end().strip_suffix(',')?;
    change(before.len(), end)
}

/// The last sign before a place that is neither space nor line end.
fn before(text: &str, place: Place) -> Option<char> {
    text.get(..place.range().start)?.trim_end().chars().next_back()
}

/// How far a byte is from the start of its line, in letters.
fn column(text: &str, at: usize) -> usize {
    text[..at].rsplit('\n').next().unwrap_or_default().chars().count()
}

/// Lines of the given indent under the line on which a block or an item ends.
fn new_lines<'l>(text: &str, under: Place, indent: usize, lines: impl Iterator<Item = &'l str>) -> Change {
    let written = text[under.range()].trim_end().len();
    let from = under.range().start + written;
    let rest = &text[from..];
    let end = rest.find('\n').unwrap_or(rest.len());
    let line_end = if rest[..end].ends_with('\r') { "\r\n" } else { "\n" };
    let at = (from + rest[..end].trim_end_matches('\r').len()) as u32;
    let text = lines.map(|line| format!("{line_end}{:indent$}{line}", "")).collect();
    Change { place: Place { start: at, end: at, ..under }, text }
}

/// An entry before the closing brace; before the first key where a comment stands at the end.
fn add_in_braces(record: Place, block: &str, entry: &str) -> Option<Change> {
    let inside = block.strip_prefix('{')?.strip_suffix('}')?;
    let kept = inside.trim_end();
    let insert = |offset: usize, text: String| {
        let at = record.start + offset as u32;
        Some(Change { place: Place { start: at, end: at, ..record }, text })
    };
    if inside.trim().is_empty() {
        return insert(1, entry.to_string());
    }
    if kept.rsplit('\n').next().is_some_and(|line| line.contains('#')) {
        return insert(1, format!("{entry}, "));
    }
    let comma = if kept.ends_with(',') { " " } else { ", " };
    insert(1 + kept.len(), format!("{comma}{entry}"))
}

/// Tries the remedies out on the text and keeps those that clear their finding and bring no new error; none are tried any more
/// once it is to `stop`.
pub(crate) fn keep_proven(job: &Job, outcome: &mut Outcome, stop: &dyn Fn() -> bool) {
    let mut proposed: Vec<Vec<Remedy>> =
        outcome.findings.iter_mut().map(|finding| std::mem::take(&mut finding.remedies)).collect();
    if proposed.iter().all(Vec::is_empty) {
        return;
    }
    let proven = prove_by_reading(job, outcome, &mut proposed);
    let also_proven = prove_by_checking(job, outcome, proposed, stop);
    for ((finding, proven), also_proven) in outcome.findings.iter_mut().zip(proven).zip(also_proven) {
        finding.remedies = proven;
        finding.remedies.extend(also_proven);
    }
}

/// How often a finding of one identity stands in a list.
pub(crate) type Times<'f> = HashMap<(&'static str, Subject, Option<&'f str>), usize>;

pub(crate) fn times<'f>(findings: impl IntoIterator<Item = &'f Finding>) -> Times<'f> {
    let mut times = Times::new();
    for finding in findings {
        *times.entry(identity(finding)).or_default() += 1;
    }
    times
}

pub(crate) fn identity(finding: &Finding) -> (&'static str, Subject, Option<&str>) {
    (finding.rule.name, finding.about, finding.path.as_deref())
}

/// Takes what mends the text itself out of `proposed` and gives back what of it holds.
///
/// Whether a word is known or a unit is right is seen by reading alone, and does not hang on what is mended elsewhere.
/// So these remedies are tried all at once: a file with hundreds of slips costs a few readings. Where one does not
/// hold, or brings something new that makes no sense, it is left out and the others are tried again, until all that
/// are left hold together.
pub(crate) fn prove_by_reading(job: &Job, outcome: &Outcome, proposed: &mut [Vec<Remedy>]) -> Vec<Vec<Remedy>> {
    const MOST_ROUNDS: usize = 4;
    let mut proven: Vec<Vec<Remedy>> = proposed.iter().map(|_| Vec::new()).collect();
    let findings = &outcome.findings;
    let candidates: Vec<usize> =
        (0..findings.len()).filter(|at| is_of_reading(&findings[*at]) && !proposed[*at].is_empty()).collect();
    if candidates.is_empty() {
        return proven;
    }
    let before = times(findings.iter().chain(outcome.departed.iter().map(|(finding, _)| finding)));
    let proposals: Vec<(usize, Vec<Remedy>)> =
        candidates.into_iter().map(|at| (at, std::mem::take(&mut proposed[at]))).collect();
    if outcome.is_cut_short {
        // For each fault that goes another one comes into sight, and nothing can be shown.
        return proven;
    }
    let most = proposals.iter().map(|(_, remedies)| remedies.len()).max().unwrap_or_default();
    for nth in 0..most {
        let mut trial: Vec<(usize, &Remedy)> =
            proposals.iter().filter_map(|(at, remedies)| Some((*at, remedies.get(nth)?))).collect();
        for _ in 0..MOST_ROUNDS {
            if trial.is_empty() {
                break;
            }
            match prove_together(job, outcome, &before, &trial) {
                Ok(()) => {
                    trial.iter().for_each(|(at, remedy)| proven[*at].push((*remedy).clone()));
                    break;
                }
                Err(fails) => {
                    let holds = |(at, remedy)| (!fails.contains(&at)).then_some(remedy);
                    trial = trial.into_iter().enumerate().filter_map(holds).collect();
                }
            }
        }
    }
    proven
}

/// Whether a finding is one about the text itself, or about a value that makes no sense: it is seen by reading alone.
pub(crate) fn is_of_reading(finding: &Finding) -> bool {
    finding.path.is_some() || finding.rule.name == "value-not-believable"
}

/// Makes all changes at once and reads; gives the positions of the remedies that do not hold.
fn prove_together(
    job: &Job,
    outcome: &Outcome,
    before: &Times,
    trial: &[(usize, &Remedy)],
) -> Result<(), HashSet<usize>> {
    let changes = |at: usize| trial[at].1.changes.iter().map(move |change| (change, at));
    let mut all: Vec<(&Change, usize)> = (0..trial.len()).flat_map(changes).collect();
    all.sort_by_key(|(change, _)| change.place);
    // The same change asked for twice is one; two different ones at one place are none.
    let mut fails: HashSet<usize> = HashSet::new();
    for pair in all.windows(2) {
        let [(first, _), (second, at)] = pair else { continue };
        let overlap = first.place.file == second.place.file && second.place.start < first.place.end;
        if first != second && (overlap || first.place == second.place) {
            fails.insert(*at);
        }
    }
    all.retain(|(_, at)| !fails.contains(at));
    all.dedup_by(|second, first| second.0 == first.0);
    let texts = outcome.texts_after(all.iter().map(|(change, _)| *change));
    let Some(after) = texts.and_then(|texts| reread(job, outcome, &texts)) else {
        return Err((0..trial.len()).collect());
    };
    let times_after = times(&after);
    let mut cleared: HashMap<_, usize> = HashMap::new();
    for (finding, _) in trial {
        *cleared.entry(identity(&outcome.findings[*finding])).or_default() += 1;
    }
    for (at, (finding, _)) in trial.iter().enumerate() {
        let identity = identity(&outcome.findings[*finding]);
        let left = times_after.get(&identity).copied().unwrap_or_default();
        if left + cleared[&identity] > before.get(&identity).copied().unwrap_or_default() {
            fails.insert(at);
        }
    }
    // Where each change begins in the changed text.
    let mut starts: Vec<(FileId, i64, usize)> = Vec::with_capacity(all.len());
    let mut shift = (FileId::new(0), 0);
    for (change, at) in &all {
        if shift.0 != change.place.file {
            shift = (change.place.file, 0);
        }
        starts.push((change.place.file, i64::from(change.place.start) + shift.1, *at));
        shift.1 += change.text.len() as i64 - (change.place.end - change.place.start) as i64;
    }
    for finding in after.iter().filter(|it| is_of_reading(it)) {
        let identity = identity(finding);
        if times_after[&identity] > before.get(&identity).copied().unwrap_or_default() {
            // What is new is put down to the change before it. Should that be the wrong one, the next round tells.
            let place = (finding.place.file, i64::from(finding.place.start), usize::MAX);
            let next = starts.partition_point(|start| *start <= place);
            fails.extend(starts.get(next.saturating_sub(1)).map(|(_, _, at)| *at));
        }
    }
    if fails.is_empty() { Ok(()) } else { Err(fails) }
}

/// What the rules of the design file say of changed texts, with nothing worked out.
fn reread(job: &Job, outcome: &Outcome, texts: &[String]) -> Option<Vec<Finding>> {
    let reading = with_files(job, outcome, texts, |job| crate::read(job, &[]))?;
    let workings = Workings::default();
    let other_house = house_if_changed(outcome, &reading);
    let house = other_house.as_ref().unwrap_or(&outcome.house);
    let mut found = Findings::new(reading.design.stage());
    let inspection = Inspection::new(&reading, &workings, house, job.today);
    for rule in RULES.iter().filter(|rule| rule.group == Group::DesignFile && !rule.after_the_others) {
        found.run(rule, &inspection);
    }
    Some(found.into_parts().0)
}

/// The house standard of a changed reading, made ready anew where its own text or place among the files is another: to read
/// its expressions for every trial would cost more than many a trial.
fn house_if_changed(outcome: &Outcome, reading: &Reading) -> Option<House> {
    reading.house_standard.as_ref()?;
    // It is the last file that is read, or the only one.
    let same = |one: &Source, other: &Source| one.path == other.path && one.text == other.text;
    let is_same = outcome.sources.len() == reading.sources.len()
        && outcome.sources.last().zip(reading.sources.last()).is_some_and(|(one, other)| same(one, other));
    (!is_same).then(|| House::of(reading))
}

/// How many remedies are tried out by checks: all together take about as long as one check of a megabyte. A small design has
/// some eighty trials, and one of more than a megabyte none.
pub(crate) fn trials(job: &Job, outcome: &Outcome) -> usize {
    let crossings: usize = outcome.workings.plan.passages.iter().map(Vec::len).sum();
    (1_000_000 / (job.bytes.len() + 100 * crossings).max(1)).min(200)
}

/// How much pipe is laid out anew for the trials of a check, in the metres of [`Workings::effort_after`]: about a second. Beyond
/// it, what lays a storey anew is no more tried; so a check takes at most about twice as long as to work the design out.
const MOST_EFFORT: f64 = 8000.0;

/// Tries each remedy out by itself, on the whole changed text. One that is not tried is not offered.
fn prove_by_checking(
    job: &Job,
    outcome: &Outcome,
    proposed: Vec<Vec<Remedy>>,
    stop: &dyn Fn() -> bool,
) -> Vec<Vec<Remedy>> {
    let mut trials = trials(job, outcome);
    let findings = &outcome.findings;
    let before = Checked { most_effort: MOST_EFFORT, weighs_hints: true, ..Checked::new(job, outcome) };
    let mut proven = Vec::with_capacity(proposed.len());
    for (finding, proposed) in findings.iter().zip(proposed) {
        let mut kept: Vec<Remedy> = Vec::new();
        for remedy in proposed {
            if trials == 0 || stop() {
                break;
            }
            // Two values for one thing leave the reader no wiser: the first that holds is the better one.
            let gives_another = |change: &Change| {
                let same = |it: &Change| it.place == change.place && it.text != change.text;
                !change.place.is_empty() && kept.iter().flat_map(|it| &it.changes).any(same)
            };
            if remedy.changes.iter().any(gives_another) {
                continue;
            }
            trials -= 1;
            if before.clears(finding, &remedy).unwrap_or(false) {
                kept.push(remedy);
            }
        }
        proven.push(kept);
    }
    proven
}

/// What was found before any change.
pub(crate) struct Checked<'o> {
    job: &'o Job<'o>,
    outcome: &'o Outcome,
    kept: Kept,
    times: Times<'o>,
    /// How many errors each rule found at each thing; without end where it could not look.
    errors: Counts,
    /// The same of warnings.
    warnings: Counts,
    /// Whether what is lighter than a warning may bring none either. Who asks by name for such a thing to be mended wants it so.
    weighs_hints: bool,
    /// What was laid out anew for trials, and how much may be.
    effort: Cell<f64>,
    most_effort: f64,
}

impl<'o> Checked<'o> {
    pub(crate) fn new(job: &'o Job<'o>, outcome: &'o Outcome) -> Checked<'o> {
        let findings = &outcome.findings;
        // What could not be looked at before may well be wrong once it can be: that is not the remedy's doing.
        let counted = |severity: Severity| {
            let mut counts = counts(findings.iter().chain(&outcome.followers), severity);
            counts.extend(outcome.not_checked.iter().map(|it| ((it.rule.name, it.about), usize::MAX)));
            counts
        };
        Checked {
            job,
            outcome,
            kept: outcome.kept(),
            times: times(findings),
            errors: counted(Severity::Error),
            warnings: counted(Severity::Warning),
            weighs_hints: false,
            effort: Cell::new(0.0),
            most_effort: f64::INFINITY,
        }
    }

    /// Whether a check of the changed text shows that the finding is gone and that nothing came that is worse: no new error, and
    /// for what is no error itself not more warnings than went. Nothing if the change does not fit, or would have more laid out
    /// than may be.
    ///
    /// Only the rules that can answer are run: the finding's own, and if that is content those of the text and those
    /// that find errors at this stage, or also warnings.
    pub(crate) fn clears(&self, finding: &Finding, remedy: &Remedy) -> Option<bool> {
        let texts = self.outcome.texts_after(&remedy.changes)?;
        let reading = with_files(self.job, self.outcome, &texts, |job| crate::read(job, &self.outcome.sources))?;
        let design = &reading.design;
        // What is wrong with the file itself comes before all else, and is seldom more than one thing.
        let may_lay_out = finding.rule.group == Group::DesignFile || self.effort.get() < self.most_effort;
        let workings = workings::work_out_if(design, &self.kept.workings, may_lay_out)?;
        self.effort.set(self.effort.get() + workings.effort_after(&self.kept.workings));
        let other_house = house_if_changed(self.outcome, &reading);
        let house = other_house.as_ref().unwrap_or(&self.outcome.house);
        let inspection = Inspection::new(&reading, &workings, house, self.job.today);
        let say = |rules: &mut dyn Iterator<Item = &'static Rule>| {
            let mut found = Findings::new(design.stage());
            rules.for_each(|rule| found.run(rule, &inspection));
            let mut findings = found.into_parts().0;
            departures::apply(&inspection, &mut findings);
            findings
        };
        let mut after = say(&mut std::iter::once(finding.rule));
        // The same thing may be wrong in two places: one fewer is a finding cleared.
        let left = times(&after).get(&identity(finding)).copied().unwrap_or_default();
        if left >= self.times[&identity(finding)] {
            return Some(false);
        }
        // An error is ended whatever warnings that brings.
        let weighs_warnings = match finding.severity {
            Severity::Error => false,
            Severity::Warning => true,
            Severity::Information | Severity::Hint => self.weighs_hints,
        };
        let to_weigh = if weighs_warnings { Weight::Warning } else { Weight::Error };
        let can_answer = |rule: &&Rule| {
            let tells = rule.group == Group::DesignFile || house.weight(rule, design.stage()) >= to_weigh;
            tells && !rule.after_the_others && rule.name != finding.rule.name
        };
        let asked: Vec<&'static Rule> = house.rules().filter(can_answer).collect();
        after.extend(say(&mut asked.iter().copied()));
        // A change that leads to text that makes no sense is no remedy, however little it weighs.
        let is_senseless = |it: &Finding| is_of_reading(it) && !self.times.contains_key(&identity(it));
        // Mended text lets more be looked at, and what is found then is not the mending's doing.
        let is_worse = finding.rule.group != Group::DesignFile
            && (self.brings_errors(&after) || weighs_warnings && self.brings_warnings(&after, finding, &asked));
        Some(!is_worse && !after.iter().any(is_senseless))
    }

    fn brings_errors(&self, after: &[Finding]) -> bool {
        let after = counts(after.iter().filter(|it| !is_of_reading(it)), Severity::Error);
        after.into_iter().any(|(at, count)| count > self.errors.get(&at).copied().unwrap_or_default())
    }

    /// Whether more warnings of the rules that were asked come than go. One in place of another is let pass: where a floor that is
    /// insulated needs so little water that it creeps, the one is put right before the other.
    fn brings_warnings(&self, after: &[Finding], finding: &Finding, asked: &[&Rule]) -> bool {
        // The parts of a loop have its faults in common, and each can be put right as in one.
        let is_new_loop = |about| matches!(about, Subject::Loop(at) if at >= self.outcome.design.loops.len());
        let after = counts(after.iter().filter(|it| !is_of_reading(it) && !is_new_loop(it.about)), Severity::Warning);
        let before = |at| self.warnings.get(at).copied().unwrap_or_default();
        let come: usize = after.iter().map(|(at, count)| count.saturating_sub(before(at))).sum();
        let asked: HashSet<&str> = asked.iter().chain([&finding.rule]).map(|rule| rule.name).collect();
        let gone = self.warnings.iter().filter(|((name, _), count)| **count < usize::MAX && asked.contains(name));
        let gone: usize =
            gone.map(|(at, count)| count.saturating_sub(after.get(at).copied().unwrap_or_default())).sum();
        come > gone
    }
}

/// How many findings there are by rule and subject.
type Counts = HashMap<(&'static str, Subject), usize>;

/// How many of one severity there are.
fn counts<'f>(findings: impl Iterator<Item = &'f Finding>, severity: Severity) -> Counts {
    let mut counts = Counts::new();
    for it in findings.filter(|it| it.severity == severity) {
        *counts.entry((it.rule.name, it.about)).or_default() += 1;
    }
    counts
}

/// Calls `ask` with a job of the same files with other texts.
pub(crate) fn with_files<T>(job: &Job, outcome: &Outcome, texts: &[String], ask: impl FnOnce(&Job) -> T) -> Option<T> {
    let files = |path: &str| {
        let own = outcome.sources.iter().position(|source| source.path == path);
        match own.and_then(|at| texts.get(at)) {
            Some(text) => Ok(text.clone().into_bytes()),
            None => (job.files)(path),
        }
    };
    Some(ask(&Job { bytes: texts.first()?.as_bytes(), files: &files, remedies: false, ..*job }))
}

impl Outcome {
    /// The texts of all files after the changes; nothing if a change does not fit its text.
    pub fn texts_after<'c>(&self, changes: impl IntoIterator<Item = &'c Change>) -> Option<Vec<String>> {
        let mut edits: Vec<Vec<yaml_tree::Edit>> = self.sources.iter().map(|_| Vec::new()).collect();
        for change in changes {
            let edit = yaml_tree::Edit { range: change.place.range(), text: change.text.clone() };
            edits.get_mut(change.place.file.number())?.push(edit);
        }
        let texts = self.sources.iter().zip(edits);
        texts.map(|(source, edits)| yaml_tree::apply(&source.text, &edits).ok()).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::job;

    /// What a text is after a change that looks at what was read of it.
    #[track_caller]
    fn changed(text: &str, change: impl Fn(&Inspection) -> Option<Change>) -> Option<String> {
        let reading: Reading = design::read("a.ufh.yaml", text.as_bytes(), &|_| Err(String::new()));
        assert_eq!(reading.faults.len(), 0, "{:?}", reading.faults);
        let workings = Workings::default();
        let today = jiff::civil::date(2026, 6, 1);
        let house = House::default();
        let inspection = Inspection::new(&reading, &workings, &house, today);
        let change = change(&inspection)?;
        let edit = yaml_tree::Edit { range: change.place.range(), text: change.text };
        let after = yaml_tree::apply(text, &[edit]).unwrap();
        let again = design::read("a.ufh.yaml", after.as_bytes(), &|_| Err(String::new()));
        assert_eq!(again.faults.len(), 0, "{after}\n{:?}", again.faults);
        Some(after)
    }

    #[test]
    fn a_file_of_more_than_a_megabyte_is_checked_once() {
        let remedies = |comments: usize| {
            let text = format!("rooms: {{}}\n{}", "# a comment\n".repeat(comments));
            crate::check(&Job { remedies: true, ..job(&text) })
                .findings
                .iter()
                .map(|it| it.remedies.len())
                .sum::<usize>()
        };
        assert_eq!(remedies(1), 1);
        assert_eq!(remedies(1_000_000 / 12), 0);
    }

    /// Where no more pipe may be laid out anew, a remedy that would have some laid is not tried; one that leaves the routes as
    /// they are is.
    #[test]
    fn what_lays_out_anew_has_a_bound() {
        let text = crate::bench::filled(
            "rooms:\n  hall: {temperture: 20 °C, floor: screeded, outline: [[0, 0], [5, 0], [5, 4], [0, 4]], keep-clear: none}\nmanifolds: {M1: {at: \
             [4.9, 2], ports: 2}}\nloops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 100 mm, layout: meander}\n",
        );
        let job = job(&text);
        let outcome = crate::look(&job);
        let proposed = |rule: &str| {
            let finding = outcome.findings.iter().find(|it| it.rule.name == rule).expect("it is found");
            (finding, finding.remedies.first().expect("a remedy is proposed"))
        };
        let (falls_short, spiral) = proposed("layout-falls-short");
        assert_eq!(Checked::new(&job, &outcome).clears(falls_short, spiral), Some(true));
        let bound = Checked { most_effort: 0.0, ..Checked::new(&job, &outcome) };
        assert_eq!(bound.clears(falls_short, spiral), None);
        let (misspelt, key) = proposed("unknown-field");
        assert_eq!(bound.clears(misspelt, key), Some(true));
        // What was laid out anew counts.
        let bound = Checked { most_effort: 1.0, ..Checked::new(&job, &outcome) };
        assert_eq!((bound.clears(falls_short, spiral), bound.clears(falls_short, spiral)), (Some(true), None));
    }

    /// Pipe laid wider for a room that gets far too much, a hint, makes the loop much shorter than the other where its tails do not
    /// make up for it, which is a warning.
    #[test]
    fn no_hint_is_ended_by_a_warning() {
        let laid_wider = |tails: &str| {
            let text = crate::bench::filled(&format!(
                "rooms:\n  hall: {{use: bedroom, temperature: 20 °C, heat-loss: 350 W, floor: screeded, area: 12 m², height: 2.4 m}}\n  study: \
                 {{use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}}\nloops:\n  L1: {{manifold: M1, \
                 port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: {tails}, flow: 1.8 l/min}}\n  L2: {{manifold: M1, port: 2, room: \
                 study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}}\n"
            ));
            let outcome = crate::check(&Job { remedies: true, ..job(&text) });
            let finding = outcome.findings.iter().find(|it| it.rule.name == "room-far-over-heat").expect("it is found");
            assert!(finding.severity < Severity::Warning);
            finding.remedies.iter().any(|it| it.title == "lay its loops at 300 mm")
        };
        assert!(laid_wider("30 m"));
        assert!(!laid_wider("10 m"));
    }

    /// The text with `tails: 5 m` added to its first loop.
    #[track_caller]
    fn with_tails(loops: &str) -> String {
        let text = format!("format: 1\nloops:\n{loops}\nrooms: {{hall: {{}}}}\n");
        let after = changed(&text, |it| add_key(it, it.design.loops.at(0)?.1.value.place, "tails: 5 m")).unwrap();
        let reading = design::read("a.ufh.yaml", after.as_bytes(), &|_| Err(String::new()));
        assert!(reading.design.loops.at(0).unwrap().1.value.tails.is_some(), "{after}");
        let after = after.strip_prefix("format: 1\nloops:\n").unwrap();
        after.strip_suffix("\nrooms: {hall: {}}\n").unwrap().to_string()
    }

    #[test]
    fn a_key_is_added_as_the_block_is_written() {
        for (before, after) in [
            ("  L1: {port: 1}", "  L1: {port: 1, tails: 5 m}"),
            ("  L1: {port: 1, } # the first", "  L1: {port: 1, tails: 5 m } # the first"),
            ("  L1: {}", "  L1: {tails: 5 m}"),
            ("  L1: { }", "  L1: {tails: 5 m }"),
            ("  L1:", "  L1: {tails: 5 m}"),
            ("  L1: {\n    port: 1,\n    room: hall\n  }", "  L1: {\n    port: 1,\n    room: hall, tails: 5 m\n  }"),
            ("  L1: {\n    port: 1 # first\n  }", "  L1: {tails: 5 m, \n    port: 1 # first\n  }"),
            ("  L1:\n    port: 1", "  L1:\n    port: 1\n    tails: 5 m"),
            ("  L1:\n    port: 1 # the first", "  L1:\n    port: 1 # the first\n    tails: 5 m"),
            (
                "    L1:\n        route:\n          - [0, 0]\n          - [1, 0]\n    L2: {}",
                "    L1:\n        route:\n          - [0, 0]\n          - [1, 0]\n        tails: 5 m\n    L2: {}",
            ),
            ("  L1:\r\n    port: 1\r\n  L2: {}", "  L1:\r\n    port: 1\r\n    tails: 5 m\r\n  L2: {}"),
        ] {
            assert_eq!(with_tails(before), after);
        }
    }

    #[test]
    fn a_name_is_quoted_where_it_must_be() {
        assert_eq!(written("W1-a"), "W1-a");
        assert_eq!(written("wall, north"), "\"wall, north\"");
        assert_eq!(written("-"), "\"-\"");
    }

    #[test]
    fn a_key_is_added_at_the_end_of_the_file_and_to_the_design_itself() {
        let text = "format: 1\nloops:\n  L1:\n    port: 1";
        let after = changed(text, |it| add_key(it, it.design.loops.at(0)?.1.value.place, "tails: 5 m"));
        assert_eq!(after.as_deref(), Some("format: 1\nloops:\n  L1:\n    port: 1\n    tails: 5 m"));
        let after = changed("format: 1\nloops: {L1: {}}\n", |it| add_key(it, it.design.place, "rooms:\n  hall: {}"));
        assert_eq!(after.as_deref(), Some("format: 1\nloops: {L1: {}}\nrooms:\n  hall: {}\n"));
    }

    fn sleeves(inspection: &Inspection) -> Vec<Place> {
        inspection.design.loops.at(0).unwrap().1.value.sleeves.iter().map(|it| it.at).collect()
    }

    const WALLS: &str = "\nwalls: {W1: {}, W2: {}}\n";

    #[test]
    fn an_item_is_added_as_the_list_is_written() {
        for (before, after) in [
            ("loops: {L1: {sleeves: [W1]}}", "loops: {L1: {sleeves: [W1, W2]}}"),
            ("loops: {L1: {sleeves: [ {at: W1} ]}}", "loops: {L1: {sleeves: [ {at: W1}, W2 ]}}"),
            ("loops: {L1: {sleeves: W1}}", "loops: {L1: {sleeves: [W1, W2]}}"),
            (
                "loops:\n  L1:\n    sleeves:\n      - W1 # a\n    port: 1",
                "loops:\n  L1:\n    sleeves:\n      - W1 # a\n      - W2\n    port: 1",
            ),
            (
                "loops:\n  L1:\n    sleeves:\n    - at: W1\n      fill: soft",
                "loops:\n  L1:\n    sleeves:\n    - at: W1\n      fill: soft\n    - W2",
            ),
        ] {
            let text = format!("format: 1\n{before}{WALLS}");
            let after = format!("format: 1\n{after}{WALLS}");
            assert_eq!(changed(&text, |it| add_items(it, &sleeves(it), &["W2".to_string()])), Some(after));
        }
        assert_eq!(
            changed("format: 1\nloops: {L1: {sleeves: []}}\n", |it| add_items(it, &sleeves(it), &["W2".to_string()])),
            None
        );
    }

    #[test]
    fn an_entry_is_taken_out_with_its_lines_or_its_comma() {
        for (before, after) in [
            ("  L1:\n    port: 1 # one\n  L2: {}", "  L2: {}"),
            ("  L1: {port: 1}\n  L2: {}", "  L2: {}"),
            ("  L1: {\n    port: 1 }  # one\n  L2: {}", "  L2: {}"),
            ("  {L1: {}, L2: {}}", "  {L2: {}}"),
        ] {
            let text = format!("format: 1\nloops:\n{before}\n");
            let whole = |it: &Inspection| it.reading.definitions.first().map(|first| first.whole);
            let after = format!("format: 1\nloops:\n{after}\n");
            assert_eq!(changed(&text, |it| remove_entry(it, whole(it)?)), Some(after));
        }
        let last = |it: &Inspection| remove_entry(it, it.reading.definitions.last()?.whole);
        let after = changed("format: 1\nloops: {L1: {}, L2: {}}\n", last);
        assert_eq!(after.as_deref(), Some("format: 1\nloops: {L1: {}}\n"));
        assert_eq!(changed("format: 1\nloops: {L1: {}}\n", last), None);
    }

    #[test]
    fn an_item_is_taken_out_with_its_comma_or_its_line() {
        for (before, at, after) in [
            ("loops: {L1: {sleeves: [W1, W2]}}", 0, "loops: {L1: {sleeves: [W2]}}"),
            ("loops: {L1: {sleeves: [W1, {at: W2}]}}", 1, "loops: {L1: {sleeves: [W1]}}"),
            ("loops: {L1: {sleeves: [W1]}}", 0, "loops: {L1: {sleeves: []}}"),
            ("loops: {L1: {sleeves: W1}}", 0, "loops: {L1: {sleeves: []}}"),
            ("loops:\n  L1:\n    sleeves:\n      - W1 # a\n      - W2", 0, "loops:\n  L1:\n    sleeves:\n      - W2"),
            (
                "loops:\n  L1:\n    sleeves:\n      - W1\n    port: 1",
                0,
                "loops:\n  L1:\n    sleeves:\n      []\n    port: 1",
            ),
        ] {
            let text = format!("format: 1\n{before}{WALLS}");
            let after = format!("format: 1\n{after}{WALLS}");
            assert_eq!(changed(&text, |it| remove_item(it, &sleeves(it), at)), Some(after));
        }
    }
}
