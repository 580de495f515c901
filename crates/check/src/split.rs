//! A loop made into two or more on ports of their own: the remedy for one that is too long for anything cheaper.

use crate::inspection::{Inspection, Item};
use crate::remedy::{Change, Remedy, add_items, add_key, written};
use crate::rules::manifold_flows_unbalanced;
use crate::zones::{loops_of_zones, zones_of_loop};
use design::{Loop, Place, Presetting};
use engineering::water::valves::PresettingTable;
use quantity::*;
use std::collections::HashSet;
use std::ops::Range;
use workings::{LoopWorkings, Subject};

/// One of the loops that a loop is split into.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Part {
    /// Of them all.
    pub share: f64,
    pub length: Length,
}

impl Part {
    /// Whether its water is still quick enough to carry its air back: what is split to save pressure may not creep.
    pub fn carries_air(self, inspection: &Inspection, it: &Item<Loop, LoopWorkings>) -> bool {
        let least = crate::rules::velocity_too_low::LEAST
            .get::<Velocity>(&crate::rules::velocity_too_low::RULE, inspection)
            .value;
        it.worked.velocity.as_ref().is_ok_and(|velocity| velocity.value * self.share >= least)
    }
}

/// More parts than this ask for another manifold, not for another port.
const MOST_PARTS: u32 = 4;
/// The largest manifold that is usual.
const MOST_PORTS: usize = 12;

/// Splits a loop into the fewest like parts that fit, each with tails as long as it has: the others are written below the
/// last loop, the way it is written. Nothing where its route is drawn or its length stated, for then a hand has to draw it
/// anew; nor where no manifold has so many ports.
pub(crate) fn split(
    inspection: &Inspection,
    it: &Item<Loop, LoopWorkings>,
    fits: impl Fn(Part) -> bool,
) -> Option<Remedy> {
    split_beside(inspection, it, &mut 0, fits)
}

/// The same where other loops of the manifold are to be split as well: `others` ports are theirs, and those of this one are
/// counted to them.
pub(crate) fn split_beside(
    inspection: &Inspection,
    it: &Item<Loop, LoopWorkings>,
    others: &mut usize,
    fits: impl Fn(Part) -> bool,
) -> Option<Remedy> {
    let (Subject::Loop(at), given) = (it.subject, it.given) else { return None };
    if given.route.is_some() || given.length.is_some() || given.broken {
        return None;
    }
    let (in_room, tails) = (it.worked.length_in_room.as_ref().ok()?.value, it.worked.tail_length.as_ref().ok()?.value);
    let part = |parts: u32| Part { share: 1.0 / f64::from(parts), length: in_room / f64::from(parts) + tails };
    let parts = (2..=MOST_PARTS).find(|parts| fits(part(*parts)))?;
    let (part, more) = (part(parts), parts as usize - 1);

    let Ports { own: ports, of_manifold, mut changes } = ports(inspection, it, more, *others)?;
    *others += more;
    let names = names(inspection, it.name, more);
    let own = own_keys(inspection, it, part)?;
    let record = given.place;
    let relative = |place: Place| -> Option<Range<usize>> {
        let start = place.range().start.checked_sub(record.range().start)?;
        Some(start..start + place.range().len())
    };
    for (name, port) in names.iter().zip(&ports) {
        let mut edits = Vec::new();
        for change in &own {
            edits.push(yaml_tree::Edit { range: relative(change.place)?, text: change.text.clone() });
        }
        if let (Some(of_this), Some(port)) = (given.port, port) {
            edits.push(yaml_tree::Edit { range: relative(of_this.at)?, text: port.to_string() });
        }
        let entry = entry(inspection, record, name, &edits)?;
        changes.push(add_key(inspection, inspection.design.loops.place?, &entry)?);
    }
    changes.extend(own);
    changes.extend(others_set(inspection, it)?);
    changes.extend(zones_with(inspection, at, &names)?);
    let on_ports: Vec<String> = given
        .port
        .iter()
        .map(|port| port.value)
        .chain(ports.into_iter().flatten())
        .map(|port| port.to_string())
        .collect();
    let on_ports = match (&on_ports[..], of_manifold) {
        ([], None) => String::new(),
        ([], Some(of_manifold)) => format!(", on {of_manifold}"),
        ([first @ .., last], None) => format!(", on ports {} and {last}", first.join(", ")),
        ([first @ .., last], Some(of_manifold)) => {
            format!(", on ports {} and {last} of {of_manifold}", first.join(", "))
        }
    };
    Remedy::of(format!("split it into {parts} loops of about {}{on_ports}", part.length), changes)
}

/// Where the loops go that are added.
struct Ports {
    /// A free port for each, where ports are numbered.
    own: Vec<Option<u32>>,
    /// The larger manifold that they ask for.
    of_manifold: Option<String>,
    changes: Vec<Change>,
}

/// A free port for each loop that is added, where ports are numbered; on a larger manifold where this one has too few.
fn ports(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, more: usize, others: usize) -> Option<Ports> {
    let manifold = it.worked.manifold?;
    let (_, entry) = inspection.design.manifolds.at(manifold)?;
    let loops = &inspection.workings.manifolds[manifold].loops;
    if loops.len() + more > MOST_PORTS {
        return None;
    }
    let taken: HashSet<u32> =
        loops.iter().filter_map(|at| Some(inspection.design.loops.at(*at)?.1.value.port?.value)).collect();
    // A larger manifold is asked for by this loop alone: whether the others are split nobody knows.
    let unused = entry.value.ports.map_or(0, |ports| (ports.value as usize).saturating_sub(loops.len() + more));
    let others = others.min(unused);
    let free: Vec<u32> = (1..).filter(|port| !taken.contains(port)).skip(others).take(more).collect();
    let (mut changes, mut of_manifold) = (Vec::new(), None);
    if let Some(ports) = entry.value.ports {
        let wanted = (loops.len() + more).max(free.last().copied().unwrap_or_default() as usize);
        if wanted > ports.value as usize {
            changes.push(Change { place: ports.at, text: wanted.to_string() });
            of_manifold = Some(format!("a manifold of {wanted} ports in place of {}", ports.value));
        }
    }
    let numbered = it.given.port.is_some();
    let own = free.into_iter().map(|port| numbered.then_some(port)).collect();
    Some(Ports { own, of_manifold, changes })
}

/// Names that no loop has: the next numbers where the loop is called by a number, else its name with a number.
fn names(inspection: &Inspection, name: &str, more: usize) -> Vec<String> {
    let is_free = |name: &String| inspection.design.loops.get(name).is_none();
    let stem = name.trim_end_matches(|c: char| c.is_ascii_digit());
    // Numbers beyond the count of loops are free as a rule; nobody looks further than a few.
    let first = inspection.design.loops.len() + 1;
    let numbers = if stem == name { 0..0 } else { first..first + 50 };
    let mut names: Vec<String> = numbers.map(|number| format!("{stem}{number}")).filter(is_free).take(more).collect();
    if names.len() < more {
        names = (2..).map(|number| format!("{name}-{number}")).filter(is_free).take(more).collect();
    }
    names
}

/// What each part states otherwise than the whole loop did: no couplings, its share of area, duty and flow, and its
/// presetting.
fn own_keys(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, part: Part) -> Option<Vec<Change>> {
    let given = it.given;
    let mut changes = Vec::new();
    if let (Some(first), Some(last)) = (given.couplings.first(), given.couplings.last()) {
        // Each part is one piece.
        let all = Place { end: last.at.end, ..first.at };
        let before = inspection.source(all)?.get(..all.range().start)?.trim_end();
        let none = if before.ends_with('[') { "" } else { "[]" };
        if before.ends_with('-') {
            return None;
        }
        changes.push(Change { place: all, text: none.to_string() });
    }
    if let Some(area) = given.area {
        let square_metres = (area.value.in_square_metres() * part.share * 100.0).round() / 100.0;
        changes.push(Change { place: area.at, text: format!("{square_metres} m²") });
    }
    if let Some(duty) = given.duty {
        changes.push(Change { place: duty.at, text: format!("{:.0} W", (duty.value.in_watts() * part.share).ceil()) });
    }
    if let Some(flow) = given.flow {
        let text = crate::flows::written(flow.value * part.share);
        changes.push(Change { place: flow.at, text });
    }
    if let Some(presetting) = given.presetting {
        let manifold = it.worked.manifold?;
        let (across, _) = across(inspection, manifold)?;
        let of_pipe = Share::fraction(part.length / it.worked.length.as_ref().ok()?.value);
        let flow = it.worked.flow.as_ref().ok()?.value * part.share;
        let kv = it.worked.valve_for_part(of_pipe, flow, across).ok()?;
        let text = match presetting.value {
            Presetting::Kv(_) => format!("{:.3} m³/h", kv.in_cubic_metres_per_hour()),
            Presetting::Turns(_) => {
                let points = workings::settings(&inspection.design.manifolds.at(manifold)?.1.value);
                let table = PresettingTable::new(&points).ok()?;
                // What its valves cannot throttle so far is throttled as far as they can.
                let turns = table.setting_for(kv).unwrap_or(table.about(kv).0.0);
                format!("{turns:.2} turns")
            }
        };
        changes.push(Change { place: presetting.at, text });
    }
    Some(changes)
}

/// The pressure across a manifold to which the presettings of a loop's parts are set, and whether the other valves are to be
/// set to it as well: where nobody meddles with them what lies across it now, unless the loop starves the pump or spares it.
fn across(inspection: &Inspection, manifold: usize) -> Option<(Pressure, bool)> {
    let worked = &inspection.workings.manifolds[manifold];
    let now = worked.across_as_set.as_ref().ok()?.value;
    let left = manifold_flows_unbalanced::left_by_pump(worked).filter(|left| *left > Pressure::ZERO);
    let Some(left) = left else { return Some((now, false)) };
    Some(if (now - left).abs() > left * 0.03 { (left, true) } else { (now, false) })
}

/// The other presettings of a loop's manifold, where they have to change with it.
fn others_set(inspection: &Inspection, it: &Item<Loop, LoopWorkings>) -> Option<Vec<Change>> {
    let (Some(presetting), Some(at)) = (it.given.presetting, it.worked.manifold) else { return Some(Vec::new()) };
    let (across, all) = across(inspection, at)?;
    if !all {
        return Some(Vec::new());
    }
    let manifold = inspection.manifolds().nth(at)?;
    let mut changes = manifold_flows_unbalanced::presettings(inspection, &manifold, Some(across))?;
    changes.retain(|change| change.place != presetting.at);
    Some(changes)
}

/// The text of a loop under another name and with edits, its comments left away, for a line below `loops`.
fn entry(inspection: &Inspection, record: Place, name: &str, edits: &[yaml_tree::Edit]) -> Option<String> {
    let source = inspection.source(record)?;
    let text = source.get(record.range())?;
    // An anchor stands for one thing only, and what an alias stands for is written elsewhere.
    if text.starts_with(['*', '&']) || text.contains(" &") {
        return None;
    }
    let text = yaml_tree::apply(text, edits).ok()?;
    let column = |at: usize| source[..at].rsplit('\n').next().unwrap_or_default().chars().count();
    let (outer, inner) = (column(inspection.design.loops.place?.range().start), column(record.range().start));
    let name = written(name);
    if text.starts_with('{') {
        let mut lines = text.lines().map(without_comment);
        let first = format!("{name}: {}", lines.next()?);
        let others = lines.map(|line| line.strip_prefix(&" ".repeat(outer)).unwrap_or(line));
        return Some(std::iter::once(first.as_str()).chain(others).collect::<Vec<_>>().join("\n"));
    }
    let indent = " ".repeat(inner.checked_sub(outer)?);
    let mut lines = vec![format!("{name}:")];
    for (nth, line) in text.trim_end().lines().map(without_comment).enumerate() {
        let line = if nth == 0 { line } else { line.strip_prefix(&" ".repeat(inner)).unwrap_or(line.trim_start()) };
        if !line.trim().is_empty() {
            lines.push(format!("{indent}{line}"));
        }
    }
    Some(lines.join("\n"))
}

/// A line without what stands behind ` #`, where that is not within quotes.
fn without_comment(line: &str) -> &str {
    let is_open = |before: &str, quote| before.matches(quote).count() % 2 == 1;
    let mut comments = line.match_indices('#').filter(|(at, _)| {
        let before = &line[..*at];
        (before.is_empty() || before.ends_with([' ', '\t'])) && !is_open(before, '"') && !is_open(before, '\'')
    });
    comments.next().map_or(line, |(at, _)| &line[..at]).trim_end()
}

/// The zones that a loop answers to, with the new loops and an actuator for each of them.
fn zones_with(inspection: &Inspection, at: usize, names: &[String]) -> Option<Vec<Change>> {
    let mut changes = Vec::new();
    for of_loop in zones_of_loop(inspection, at) {
        let (_, entry) = inspection.design.controls.zones.at(*of_loop)?;
        let zone = &entry.value;
        let loops = loops_of_zones(inspection)[*of_loop].len();
        if let Some(actuators) = zone.actuators.filter(|actuators| actuators.value as usize == loops) {
            changes.push(Change { place: actuators.at, text: (loops + names.len()).to_string() });
        }
        let places = match &zone.loops[..] {
            [] => continue,
            [only] => vec![only.at],
            [first, .., last] => vec![first.at, last.at],
        };
        let names: Vec<String> = names.iter().map(|name| written(name)).collect();
        changes.push(add_items(inspection, &places, &names)?);
    }
    Some(changes)
}

#[cfg(test)]
mod tests {
    use crate::bench::{check, filled};
    use crate::rules::loop_over_maximum_length::RULE;

    /// The text after the loop that is too long is split, as far as `until`, and the remedy's title.
    #[track_caller]
    fn remedied(text: &str, until: &str) -> (String, String) {
        let outcome = check(text);
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).expect("a loop that is too long");
        let split = finding.remedies.iter().find(|it| it.title.starts_with("split"));
        let remedy = split.unwrap_or_else(|| panic!("no remedy of {}", finding.message));
        let edits = remedy.changes.iter().map(|it| yaml_tree::Edit { range: it.place.range(), text: it.text.clone() });
        let after = yaml_tree::apply(&filled(text), &edits.collect::<Vec<_>>()).unwrap();
        (after.split(until).next().unwrap().to_string(), remedy.title.clone())
    }

    const ZONES: &str = "controls:\n  zones:\n    hall: {rooms: [hall], thermostat: {feels: air, height: 1.3 m}, actuators: 1}\n    \
                         study: {loops: [L2], thermostat: {feels: air, height: 1.3 m}, actuators: 1}\n";

    #[test]
    fn lines_and_comments_stay_as_they_are() {
        let loops = "loops: # of the ground floor\n  # by the door\n  L1:   # the long one\n    manifold: M1\n    port: 1 # left\n    \
                     room: hall\n    pipe: PEX-16\n    spacing: 150 mm\n    tails: 38.4 m\n\n  \
                     L2: {manifold: M1, port: 3, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m} # short\n";
        let (after, title) = remedied(&format!("{loops}{ZONES}"), "format: 1");
        let added = "  L3:\n    manifold: M1\n    port: 2\n    room: hall\n    pipe: PEX-16\n    spacing: 150 mm\n    tails: 38.4 m\n";
        assert_eq!(after, format!("{loops}{added}{}", ZONES.replacen("actuators: 1", "actuators: 2", 1)));
        assert_eq!(title, "split it into 2 loops of about 78.4 m, on ports 1 and 2");
    }

    #[test]
    fn what_a_loop_states_is_shared_out() {
        let loops = "loops:\n  hall loop: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 38.4 m, area: 12 m², flow: 2 l/min}\n  \
                     L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}\n";
        let (after, _) = remedied(loops, "format: 1");
        let part = "{manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 38.4 m, area: 6 m², flow: 1.00 l/min}";
        assert!(after.contains(&format!("  hall loop: {part}\n")), "{after}");
        assert!(after.contains(&format!("  \"hall loop-2\": {}\n", part.replace("port: 1", "port: 3"))), "{after}");
    }

    #[test]
    fn a_zone_that_names_its_loops_gets_the_new_one() {
        let loops = "loops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 12 m}\n  \
                     L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 38.4 m}\n";
        let (after, _) = remedied(&format!("{loops}{ZONES}"), "format: 1");
        assert!(
            after.contains("study: {loops: [L2, L3], thermostat: {feels: air, height: 1.3 m}, actuators: 2"),
            "{after}"
        );
    }

    #[test]
    fn a_full_manifold_becomes_a_larger_one() {
        let text = "loops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 38.4 m}\n  \
                    L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}\n\
                    manifolds:\n  M1: {ports: 2, pump: {head: 30 kPa}}\n";
        let (after, title) = remedied(text, "format: 1");
        assert!(after.contains("M1: {ports: 3, pump: {head: 30 kPa}}"), "{after}");
        assert_eq!(
            title,
            "split it into 2 loops of about 78.4 m, on ports 1 and 3 of a manifold of 3 ports in place of 2"
        );
        let outcome = check(&text.replace("ports: 2", "ports: 12").replace("port: 2", "port: 12"));
        assert!(outcome.findings.iter().any(|it| it.rule.name == RULE.name && !it.remedies.is_empty()));
    }

    /// A loop that only couplings make long enough is split into parts that a coil holds.
    #[test]
    fn the_parts_have_no_couplings() {
        let text = "loops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 125 mm, tails: 24 m, coil: 100 m, couplings: [50 m, 96 m]}\n  \
                    L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m, coil: 100 m}\n";
        let outcome = check(text);
        let finding = outcome.findings.iter().find(|it| it.rule.name == "joint-buried-in-floor").unwrap();
        let remedy = finding.remedies.first().expect("a split");
        let edits = remedy.changes.iter().map(|it| yaml_tree::Edit { range: it.place.range(), text: it.text.clone() });
        let after = yaml_tree::apply(&filled(text), &edits.collect::<Vec<_>>()).unwrap();
        assert_eq!(after.matches("couplings: []").count(), 2, "{after}");
    }

    /// A hand has to draw it anew.
    #[test]
    fn a_loop_of_stated_length_is_left_whole() {
        let outcome = check(
            "loops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, length: 118 m}\n  \
             L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}\n",
        );
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert!(finding.remedies.iter().all(|remedy| !remedy.title.starts_with("split")), "{:?}", finding.remedies);
    }
}
