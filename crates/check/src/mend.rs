//! Making the changes of remedies, one after the other, until none is left to make.

use crate::remedy::{Checked, is_of_reading, prove_by_reading, trials};
use crate::rules::limit_thermostat_set_too_low;
use crate::{Change, Finding, Group, Job, Outcome, Remedy, Rule, Severity, look, look_after};
use design::{FileId, Stage};
use quantity::{Quantity, Temperature};
use std::cmp::{Ordering, Reverse};
use std::collections::HashSet;

/// A design that was mended.
#[derive(Debug)]
pub struct Mended {
    /// The changed text of the design.
    pub text: String,
    /// What was done, in that order.
    pub done: Vec<Done>,
    /// What a check says of the changed text; no remedies were tried.
    pub left: Outcome,
    /// Whether only slips of writing were mended: the design is `as built`, and what was built is not changed by a file.
    pub only_slips: bool,
    /// Whether it was ended before there was nothing more to try, because the design is large.
    pub is_cut_short: bool,
}

/// A remedy that was applied.
#[derive(Debug, Clone)]
pub struct Done {
    pub rule: &'static Rule,
    pub severity: Severity,
    /// The stable name of what the finding was about.
    pub at: String,
    pub message: String,
    pub title: String,
}

/// Applies the first remedy of each finding that `wanted` picks, the gravest first, each shown to clear its finding and to
/// bring nothing that is worse; then checks and goes on, until there is none to apply. One that leaves more errors, or of warnings
/// more and no fewer errors, is taken back: a joint may lay pipe anew that no rule could look at before. Changes no library.
pub fn mend(job: &Job, wanted: impl Fn(&Finding) -> bool) -> Mended {
    const MOST_ROUNDS: usize = 300;
    let mut outcome = look(job);
    let only_slips = outcome.design.stage() == Stage::AsBuilt;
    let mut text = outcome.sources.first().map(|source| source.text.to_string()).unwrap_or_default();
    let mut seen: HashSet<String> = HashSet::from([text.clone()]);
    let mut failed: HashSet<(&'static str, String)> = HashSet::new();
    let mut done = Vec::new();
    // As much as some twenty checks of a megabyte; each trial is one of the whole text.
    let mut left_to_try = 20_000_000 / text.len().max(1);
    for _ in 0..MOST_ROUNDS {
        let now = of(job, &text);
        let wanted = |finding: &Finding| wanted(finding) && (!only_slips || is_of_reading(finding));
        let before = errors_and_warnings(&outcome);
        let Some((next, made)) = step(&now, &mut outcome, &wanted, &mut failed, &seen, &mut left_to_try) else { break };
        seen.insert(next.clone());
        let after = look_after(&of(job, &next), &outcome);
        // Mended text lets more be seen; and who asks by name for what is lighter than a warning to be mended wants it so.
        let is_weighed = made.iter().all(|it| it.severity >= Severity::Warning && it.rule.group != Group::DesignFile);
        if is_weighed && errors_and_warnings(&after) > before {
            failed.extend(made.into_iter().map(|it| (it.rule.name, it.title)));
            // Its remedies were taken out of it to be tried.
            outcome = look_after(&now, &outcome);
            continue;
        }
        done.extend(made);
        (text, outcome) = (next, after);
    }
    outcome.findings.iter_mut().for_each(|finding| finding.remedies.clear());
    Mended { text, done, left: outcome, only_slips, is_cut_short: left_to_try == 0 }
}

/// How many errors and warnings there are, what is told with its cause among them.
fn errors_and_warnings(outcome: &Outcome) -> [usize; 2] {
    let all = || outcome.findings.iter().chain(&outcome.followers);
    [Severity::Error, Severity::Warning].map(|severity| all().filter(|it| it.severity == severity).count())
}

/// The same job on another text.
fn of<'j>(job: &Job<'j>, text: &'j str) -> Job<'j> {
    Job { bytes: text.as_bytes(), ..*job }
}

/// The text after the next remedy: all slips of writing together, or else the first that holds of the gravest finding.
fn step(
    job: &Job,
    outcome: &mut Outcome,
    wanted: &impl Fn(&Finding) -> bool,
    failed: &mut HashSet<(&'static str, String)>,
    seen: &HashSet<String>,
    left_to_try: &mut usize,
) -> Option<(String, Vec<Done>)> {
    let mut proposed: Vec<Vec<Remedy>> = (outcome.findings.iter_mut())
        .map(|finding| {
            let remedies = std::mem::take(&mut finding.remedies);
            let own = |remedy: &Remedy| remedy.changes.iter().all(|change| change.place.file == FileId::new(0));
            if wanted(finding) { remedies.into_iter().filter(own).collect() } else { Vec::new() }
        })
        .collect();
    let did = |finding: &Finding, remedy: &Remedy| Done {
        rule: finding.rule,
        severity: finding.severity,
        at: finding.at(&outcome.design),
        message: finding.message.clone(),
        title: remedy.title.clone(),
    };
    let after = |changes: &[Change]| {
        let text = outcome.texts_after(changes)?.swap_remove(0);
        (!seen.contains(&text)).then_some(text)
    };

    let proven = prove_by_reading(job, outcome, &mut proposed);
    let mut changes: Vec<Change> = Vec::new();
    let mut done = Vec::new();
    for (finding, remedies) in outcome.findings.iter().zip(&proven) {
        let Some(remedy) = remedies.first() else { continue };
        let new = remedy.changes.iter().filter(|change| !changes.contains(change));
        let together: Vec<Change> = changes.iter().chain(new).cloned().collect();
        if after(&together).is_some() {
            changes = together;
            done.push(did(finding, remedy));
        }
    }
    if let Some(text) = after(&changes) {
        return Some((text, done));
    }

    let mut order: Vec<(usize, &Remedy)> =
        proposed.iter().enumerate().flat_map(|(at, remedies)| remedies.iter().map(move |it| (at, it))).collect();
    // What failed before may hold by now, but is tried last.
    let has_failed = |at: usize, remedy: &Remedy, failed: &HashSet<(&'static str, String)>| {
        failed.contains(&(outcome.findings[at].rule.name, remedy.title.clone()))
    };
    order.sort_by_key(|(at, remedy)| {
        let finding = &outcome.findings[*at];
        (has_failed(*at, remedy, failed), reach(outcome, finding, remedy), Reverse(finding.severity), *at)
    });
    let before = Checked::new(job, outcome);
    for (at, remedy) in order.into_iter().take(trials(job, outcome).min(*left_to_try)) {
        *left_to_try -= 1;
        let finding = &outcome.findings[at];
        let text = after(&remedy.changes);
        match text.filter(|_| before.clears(finding, remedy).unwrap_or(false)) {
            Some(text) => return Some((text, vec![did(finding, remedy)])),
            None => drop(failed.insert((finding.rule.name, remedy.title.clone()))),
        }
    }
    None
}

/// How far a remedy reaches. Slips of writing are put right first, then water that is warmer than its floors bear and what is wrong with
/// one thing; then the flows and pressures that follow from it, and warmer water last, which all the rest of the house hangs on.
fn reach(outcome: &Outcome, finding: &Finding, remedy: &Remedy) -> u8 {
    let source = outcome.design.heat_source.flow_temperature;
    let own = outcome.design.manifolds.values().filter_map(|it| it.flow_temperature);
    let water: Vec<_> = source.into_iter().chain(own).collect();
    let becomes = |change: &Change| {
        let of = water.iter().find(|it| it.at == change.place)?;
        Temperature::parse(&change.text).ok()?.in_celsius().partial_cmp(&of.value.in_celsius())
    };
    match remedy.changes.iter().find_map(becomes) {
        Some(Ordering::Greater) => return 4,
        Some(Ordering::Less) if finding.severity == Severity::Error => return 1,
        _ => {}
    }
    match finding.rule.group {
        Group::DesignFile => 0,
        Group::Source => 3,
        Group::Hydraulics | Group::Manifold => 2,
        _ => 1,
    }
}

/// Whether a finding weighs enough to be mended without being asked for by name. A guard of the floor is set higher by nobody who was
/// not asked.
pub fn weighs_enough(finding: &Finding) -> bool {
    finding.severity >= Severity::Warning && finding.rule.name != limit_thermostat_set_too_low::RULE.name
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::{filled, job};

    fn mended(text: &str) -> Mended {
        let text = filled(text);
        mend(&job(&text), weighs_enough)
    }

    #[test]
    fn slips_and_faults_are_mended_until_none_is_left() {
        let it = mended(
            "heat-source: {kind: heat pump, flow-temperture: 58 °C, temperature-drop: 5 K}\nwalls:\n  W1: {line: [[0, 0], [4, 0]], \
             thickness: 5000 mm} # as measured\n",
        );
        let done: Vec<&str> = it.done.iter().map(|it| it.title.as_str()).collect();
        assert!(done.contains(&"write `flow-temperature`") && done.contains(&"write `500 mm`"), "{done:?}");
        assert!(it.text.contains("thickness: 500 mm} # as measured"), "{}", it.text);
        assert!(it.left.findings.iter().all(|it| it.severity < Severity::Error), "{:#?}", it.left.findings);
        let again = mend(&job(&it.text), weighs_enough);
        assert!(again.done.is_empty() && again.text == it.text, "{:?}", again.done);
    }

    /// A guard that trips below the water it lets through shows that the water is too warm, or the guard too cool: that is for a person.
    #[test]
    fn no_guard_is_set_higher_unasked() {
        let it = mended("safety: {limit-thermostat: {setting: 36 °C, independent: true, without-power: true}}\n");
        assert!(it.text.contains("setting: 36 °C"), "{:?}", it.done);
        assert!(it.left.findings.iter().any(|it| it.rule.name == limit_thermostat_set_too_low::RULE.name));
    }

    /// Pipe at the wrong spacing and a covering that keeps the heat in both ask for warmer water, until they are put right.
    #[test]
    fn the_warmth_of_the_water_is_changed_last() {
        let it = mended(
            "loops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 15 mm, tails: 10 m}\n  \
             L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}\nrooms:\n  \
             hall: {use: living, temperature: 20 °C, heat-loss: 600 W, floor: screeded, area: 12 m², height: 2.4 m, \
             covering: [{material: oak, thickness: 15 mm, held: glued}, {material: underlay, thickness: 6 mm, resistance: 0.15 m²K/W}]}\n  \
             study: {use: office, temperature: 20 °C, heat-loss: 590 W, floor: screeded, area: 11 m², height: 2.4 m}\n",
        );
        let done: Vec<(&str, &str)> = it.done.iter().map(|it| (it.rule.name, it.title.as_str())).collect();
        let covering =
            done.iter().position(|(rule, _)| *rule == "covering-too-resistive").expect("the covering is mended");
        let water = done.iter().position(|(_, title)| title.contains("water of"));
        assert!(water.is_none_or(|water| water > covering), "{done:?}");
    }

    /// Water far too warm is the cause of all else that is too warm then.
    #[test]
    fn water_that_is_too_warm_is_cooled_before_loops_are_throttled() {
        let it = mended("heat-source: {kind: heat pump, flow-temperature: 62 °C, temperature-drop: 5 K}\n");
        let titles: Vec<&str> = it.done.iter().map(|it| it.title.as_str()).collect();
        assert!(titles[0].ends_with("as the floors need"), "{titles:?}");
        assert!(titles.iter().all(|it| !it.starts_with("set it to")), "{titles:?}");
    }

    /// What the departures accept goes with the warm water, and of that no trial can know: rules of departures come after the others.
    #[test]
    fn a_step_that_leaves_more_is_taken_back() {
        let departure = |rule: &str, room: &str| {
            format!(
                "  - {{rule: {rule}, at: rooms/{room}, reason: used cold, agreed-by: reviewer, until: 2026-12-31}}\n"
            )
        };
        let warm = "heat-source: {kind: heat pump, flow-temperature: 46 °C, temperature-drop: 5 K, output: 5 kW, volume-vessel: 40 l}\n\
                    safety: {limit-thermostat: {setting: 52 °C, independent: true, without-power: true}, safety-valve: 3 bar, \
                    filling-link: {double-check-valve: true, taken-off: true}}\n";
        let rules = ["surface-too-warm-occupied", "room-far-over-heat"];
        let accepted: String =
            rules.iter().flat_map(|rule| ["hall", "study"].map(|room| departure(rule, room))).collect();
        let text = format!("{warm}departures:\n{accepted}");
        let title = "give water of 34 °C, as the floors need";
        let offered = crate::check(&Job { remedies: true, ..job(&filled(&text)) });
        let offers = |it: &Finding| it.remedies.iter().any(|remedy| remedy.title == title);
        assert!(offered.findings.iter().any(offers), "by itself it clears its finding: {:#?}", offered.findings);
        let it = mended(&text);
        assert!(it.done.iter().all(|it| it.title != title), "{:?}", it.done);
        assert!(it.text.contains("flow-temperature: 46 °C"));
        assert!(mended(warm).done.iter().any(|it| it.title == title), "without departures it is made");
    }

    #[test]
    fn what_was_built_is_not_changed() {
        let it = mended(
            "project: {stage: as built}\nheat-source: {kind: heat pump, flow-temperture: 58 °C, temperature-drop: 5 K}\n",
        );
        assert!(it.only_slips);
        assert!(it.text.contains("flow-temperature: 58 °C"), "{}", it.text);
    }

    #[test]
    fn nothing_to_do_leaves_every_byte() {
        let it = mended("");
        assert!(it.done.is_empty());
        assert_eq!(it.text, filled(""));
    }
}
