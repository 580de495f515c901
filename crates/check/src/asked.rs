//! Changes that a designer asks for, where no finding does: made by the same means as remedies.

use crate::inspection::Item;
use crate::remedy::{add_items, add_key, identity, is_of_reading, times, with_files, written};
use crate::{Change, Finding, House, Inspection, Job, Outcome, Remedy, Rule, Severity, look_after};
use design::{Loop, Place};
use engineering::plan::Route;
use std::collections::HashSet;
use std::ops::Range;
use workings::{LoopWorkings, Workings};

/// Whether the remedies of a finding may be made unseen: it is a slip of writing, and there is one way to mend it.
pub fn is_safe_to_mend(finding: &Finding) -> bool {
    finding.path.is_some() && finding.remedies.len() == 1
}

/// Of the changes of each slip, those that can be made unseen: all together they bring no error that a check could have told
/// before, and nothing else that makes no sense. They must not overlap.
pub fn without_surprises(job: &Job, outcome: &Outcome, slips: Vec<Vec<Change>>) -> Vec<Change> {
    /// Each is a check.
    const MOST_TRIALS: usize = 24;
    let before = times(outcome.findings.iter().chain(&outcome.followers));
    let could_look =
        |it: &Finding| !outcome.not_checked.iter().any(|at| (at.rule.name, at.about) == (it.rule.name, it.about));
    let is_grave = |it: &Finding| it.severity == Severity::Error || is_of_reading(it);
    let holds = |changes: &mut dyn Iterator<Item = &Change>| {
        let texts = outcome.texts_after(changes)?;
        let after = with_files(job, outcome, &texts, |job| look_after(job, outcome))?;
        let found = || after.findings.iter().chain(&after.followers).filter(|it| is_grave(it));
        let after = times(found());
        let is_new = |it: &Finding| after[&identity(it)] > before.get(&identity(it)).copied().unwrap_or_default();
        Some(!found().any(|it| is_new(it) && could_look(it)))
    };
    let mut kept: Vec<Change> = Vec::new();
    // If all do not hold together, each half is tried by itself.
    let mut waiting = vec![slips];
    for _ in 0..MOST_TRIALS {
        let Some(mut slips) = waiting.pop() else { break };
        if holds(&mut kept.iter().chain(slips.iter().flatten())) == Some(true) {
            kept.extend(slips.into_iter().flatten());
        } else if slips.len() > 1 {
            let second = slips.split_off(slips.len() / 2);
            waiting.extend([second, slips]);
        }
    }
    kept
}

/// A departure that accepts the findings of a rule at a place, with the fields that it must have left to be filled in.
pub fn departure(job: &Job, rule: &Rule, at: &str) -> Option<Remedy> {
    if !rule.takes_departures {
        return None;
    }
    with_inspection(job, None, |inspection| {
        let item = format!("{{rule: {}, at: {}, reason: , agreed-by: , until: }}", rule.name, written(at));
        let given: Vec<Place> = inspection.design.departures.iter().map(|it| it.at).collect();
        let change = match given[..] {
            [] => add_key(inspection, inspection.design.place, &format!("departures:\n  - {item}"))?,
            _ => add_items(inspection, &given, &[item])?,
        };
        Remedy::of("record a departure here: reason, role and last day to be filled in", [change])
    })
}

/// A loop made into the fewest loops that there can be: two. Nothing where a hand has to draw it anew. What was worked out
/// `before` is taken over where it is of just the same.
pub fn split_loop(job: &Job, before: &Workings, name: &str) -> Option<Remedy> {
    with_inspection(job, Some(before), |inspection| {
        let it = inspection.loop_at(inspection.design.loops.position(name)?)?;
        crate::split::split(inspection, &it, |_| true)
    })
}

/// The routes that the layouts of a loop's storey were given, drawn: from then on they stay as they are.
///
/// They are drawn together, as one alone would have the others laid out anew beside it. A loop that could not be laid out with
/// its tails is left as it is; where pipe that would be drawn passes its rooms it would be laid anew there, and nothing is drawn.
pub fn draw_layout(job: &Job, before: &Workings, name: &str) -> Option<Remedy> {
    with_inspection(job, Some(before), |inspection| {
        let asked = inspection.loop_at(inspection.design.loops.position(name)?)?;
        laid_route(&asked)?;
        let storey = workings::storey_of(inspection.design, asked.given);
        let here = || {
            let all = inspection.loops().enumerate();
            all.filter(|(_, it)| it.given.route.is_none() && workings::storey_of(inspection.design, it.given) == storey)
        };
        let (drawn, left): (Vec<_>, Vec<_>) = here().partition(|(_, it)| laid_route(it).is_some());
        let passed: HashSet<usize> = drawn
            .iter()
            .flat_map(|(at, _)| &inspection.workings.plan.stretches[*at])
            .filter_map(|it| it.room)
            .collect();
        if left
            .iter()
            .any(|(_, it)| it.worked.laid.is_some() && it.worked.rooms.iter().any(|room| passed.contains(room)))
        {
            return None;
        }
        let changes: Vec<Change> = drawn
            .iter()
            .filter_map(|(_, it)| add_key(inspection, it.given.place, &written_out(inspection, it, laid_route(it)?)))
            .collect();
        let title = match changes.len() {
            0 => return None,
            1 => format!("draw {name} as it is laid out"),
            count => format!("draw {name} and the other loops of its storey as they are laid out, {count} in all"),
        };
        Remedy::of(title, changes)
    })
}

/// The route that a loop was laid out with, if it goes from the manifold and back.
fn laid_route<'i>(it: &Item<'i, Loop, LoopWorkings>) -> Option<&'i Route> {
    match (&it.worked.laid, &it.worked.route, &it.given.route) {
        (Some(Ok(laid)), Some(Ok(route)), None) if laid.without_tails.is_none() => Some(route),
        _ => None,
    }
}

/// A route as the key of a loop, written as the loop is.
fn written_out(inspection: &Inspection, it: &Item<Loop, LoopWorkings>, route: &Route) -> String {
    // To the hundredth of a millimetre: the bends of short legs hang on it.
    let metres = |at: f64| {
        let text = format!("{at:.5}");
        let text = text.trim_end_matches('0').trim_end_matches('.');
        if text == "-0" { "0".to_string() } else { text.to_string() }
    };
    let points: Vec<String> =
        route.points().iter().map(|point| format!("[{}, {}]", metres(point.x), metres(point.y))).collect();
    match inspection.text(it.given.place).starts_with('{') {
        true => format!("route: [{}]", points.join(", ")),
        false => format!("route:\n  - {}", points.join("\n  - ")),
    }
}

/// A thing moved from the design into a library: what goes from here, and what is to stand there.
#[derive(Debug, Clone, PartialEq)]
pub struct Moved {
    /// What goes from the design, and the naming of the library, if it was not named yet.
    pub changes: Vec<Change>,
    /// The library's path, from the design.
    pub library: String,
    /// What is changed there.
    pub there: There,
}

/// What is changed in the library that a thing is moved to.
#[derive(Debug, Clone, PartialEq)]
pub enum There {
    /// It is a new file with this text.
    New(String),
    /// It has been read already.
    Changed(Change),
}

/// A floor or a pipe of the design moved into its first library, or into a new one where it has none.
pub fn move_to_library(job: &Job, block: &str, name: &str) -> Option<Moved> {
    with_inspection(job, None, |inspection| {
        let (definition, of_block) = {
            let kind = match block {
                "floors" => design::Kind::Floor,
                "pipes" => design::Kind::Pipe,
                _ => return None,
            };
            let all = || inspection.reading.definitions.iter().filter(|it| it.kind == kind);
            let own = |it: &&design::Definition| it.place.file == job_file() && it.name == name;
            (all().find(own)?.clone(), all().filter(|it| it.place.file == job_file()).count())
        };
        let text = inspection.source(definition.whole)?;
        let entry = outdented(text, definition.whole.range())?;
        let gone = if of_block > 1 {
            crate::remedy::remove_entry(inspection, definition.whole)?
        } else {
            // The last of a block takes the block with it, as an empty one would say that there are none.
            let place = match block {
                "floors" => inspection.design.floors.place?,
                _ => inspection.design.pipes.place?,
            };
            let start = text.get(..place.range().start)?.rfind(&format!("{block}:"))?;
            let whole = Place { start: start as u32, ..place };
            crate::remedy::remove_entry(inspection, whole)?
        };
        let mut changes = vec![gone];
        let first = inspection.design.library.iter().find(|it| it.at.file == job_file());
        let indented: String =
            entry.lines().map(|line| if line.is_empty() { "\n".into() } else { format!("  {line}\n") }).collect();
        if let Some(library) = first {
            let path = job_library(job, &library.value);
            let at = inspection.reading.sources.iter().position(|source| source.path == path)?;
            let file = design::FileId::new(u16::try_from(at).ok()?);
            let of_library = &inspection.reading.sources[at].text;
            let change = into(of_library, file, block, &indented)?;
            return Some(Moved { changes, library: library.value.clone(), there: There::Changed(change) });
        }
        let library = format!("library/{block}.ufh.yaml");
        let named = format!("library: [{library}]");
        changes.push(add_key(inspection, inspection.design.place, &named)?);
        Some(Moved { changes, library, there: There::New(format!("format: 1\n{block}:\n{indented}")) })
    })
}

/// The design's own file.
fn job_file() -> design::FileId {
    design::FileId::new(0)
}

/// The path under which a library of the design was read.
fn job_library(job: &Job, library: &str) -> String {
    let folder = std::path::Path::new(job.path).parent().unwrap_or(std::path::Path::new(""));
    design::plain_path(&folder.join(library)).to_string_lossy().into_owned()
}

/// An entry with its lines as far to the left as they go.
fn outdented(text: &str, entry: Range<usize>) -> Option<String> {
    let start = text.get(..entry.start)?.rfind('\n').map_or(0, |line| line + 1);
    let before = text.get(start..entry.start)?;
    let indent = if before.trim().is_empty() { before.len() } else { 0 };
    let written = text.get(entry)?.trim_end();
    let line = |line: &str| {
        let spaces = line.len() - line.trim_start_matches(' ').len();
        line[spaces.min(indent)..].trim_end().to_string()
    };
    let mut lines = written.lines();
    let first = lines.next()?.trim_end().to_string();
    Some(std::iter::once(first).chain(lines.map(line)).collect::<Vec<_>>().join("\n"))
}

/// An entry added at the end of a block of a library; the block is begun where there is none.
fn into(text: &str, file: design::FileId, block: &str, indented: &str) -> Option<Change> {
    let tree = yaml_tree::parse(file, text);
    let root = tree.root.as_ref()?;
    let at = |offset: usize, text: String| Some(Change { place: Place::new(file, offset..offset), text });
    match root.get(block) {
        Some(value) if value.as_map().is_some() && !text.get(value.place.range())?.starts_with('{') => {
            let written = value.place.range().start + text.get(value.place.range())?.trim_end().len();
            let line_end = text.get(written..)?.find('\n').map_or(text.len(), |it| written + it);
            let start = text.get(..value.place.range().start)?.rfind('\n').map_or(0, |line| line + 1);
            let indent = value.place.range().start - start;
            let own: String =
                indented.lines().map(|line| format!("\n{:indent$}{}", "", line.get(2..).unwrap_or_default())).collect();
            at(line_end, own)
        }
        Some(_) => None,
        None => {
            let line_break = if text.ends_with('\n') || text.is_empty() { "" } else { "\n" };
            at(text.len(), format!("{line_break}{block}:\n{indented}"))
        }
    }
}

/// Calls `ask` with what the rules look at; figures are worked out only for whoever says what was worked out `before`.
pub(crate) fn with_inspection<T>(
    job: &Job,
    before: Option<&Workings>,
    ask: impl FnOnce(&Inspection) -> Option<T>,
) -> Option<T> {
    let reading = crate::read(job, &[]);
    let workings = before.map(|before| workings::work_out_after(&reading.design, &before.kept())).unwrap_or_default();
    let house = House::of(&reading);
    ask(&Inspection::new(&reading, &workings, &house, job.today))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::filled;

    fn job<'j>(text: &'j str, files: &'j design::Files<'j>) -> Job<'j> {
        Job { files, ..crate::bench::job(text) }
    }

    fn none(path: &str) -> Result<Vec<u8>, String> {
        match path {
            "library/pipes.ufh.yaml" => Ok(b"format: 1\npipes:\n  thin: {material: PE-X}  # ours\n".to_vec()),
            _ => Err(format!("there is no {path}")),
        }
    }

    fn applied(text: &str, changes: &[Change]) -> String {
        let edits: Vec<yaml_tree::Edit> =
            changes.iter().map(|it| yaml_tree::Edit { range: it.place.range(), text: it.text.clone() }).collect();
        yaml_tree::apply(text, &edits).expect("the changes fit")
    }

    fn rule(name: &str) -> &'static Rule {
        crate::RULES.iter().find(|rule| rule.name == name).expect("there is such a rule")
    }

    #[test]
    fn a_departure_waits_to_be_filled_in() {
        let text = "format: 1\nrooms:\n  hall: {}\n";
        let remedy = departure(&job(text, &none), rule("loop-over-maximum-length"), "loops/L 4").expect("it can");
        let once = applied(text, &remedy.changes);
        let item = "  - {rule: loop-over-maximum-length, at: \"loops/L 4\", reason: , agreed-by: , until: }";
        assert_eq!(once, format!("{text}departures:\n{item}\n"));
        let reading = design::read("a.ufh.yaml", once.as_bytes(), &none);
        assert!(reading.faults.is_empty(), "{:?}", reading.faults);
        let again = departure(&job(&once, &none), rule("loop-over-maximum-length"), "loops/L5").expect("it can");
        assert!(applied(&once, &again.changes).ends_with("at: loops/L5, reason: , agreed-by: , until: }\n"));
        let guard = crate::RULES.iter().find(|rule| !rule.takes_departures).expect("some rules guard people");
        assert_eq!(departure(&job(text, &none), guard, "design"), None);
    }

    /// A slip is mended though more can be looked at then; what brings another slip is left out.
    #[test]
    fn slips_are_mended_unseen_where_nothing_graver_comes_of_it() {
        let text = filled("heat-source: {kind: heat pump, flow-temperture: 40 °C, temperature-drop: 5 K}\n");
        let outcome = crate::look(&job(&text, &none));
        let slip = outcome.findings.iter().find(|it| it.message.contains("flow-temperture")).expect("it is found");
        let mends = slip.remedies[0].changes.clone();
        assert_eq!(without_surprises(&job(&text, &none), &outcome, vec![mends.clone()]), mends);
        let at = text.find("kind: heat pump").expect("it was just written");
        let harm = Change { place: Place::new(job_file(), at..at), text: "colour: red, ".into() };
        let both = vec![vec![harm], mends.clone()];
        assert_eq!(without_surprises(&job(&text, &none), &outcome, both), mends);
    }

    #[test]
    fn a_loop_is_split_though_it_is_short() {
        let text = filled("");
        let first = crate::look(&job(&text, &none));
        let (name, _) = first.design.loops.at(0).expect("the base design has a loop");
        let remedy = split_loop(&job(&text, &none), &Workings::default(), name).expect("it has a stated area");
        let after = applied(&text, &remedy.changes);
        assert_eq!(crate::look(&job(&after, &none)).design.loops.len(), first.design.loops.len() + 1);
    }

    /// The drawn route is the one that was laid out: as long, to the millimetre of the written points.
    #[test]
    fn a_layout_is_drawn_as_it_lies() {
        let text = "format: 1\nrooms: {hall: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}\nmanifolds: {M1: {at: [0.2, 0.1]}}\nloops:\n  \
                    L1:\n    manifold: M1\n    room: hall\n    pipe: PE-X 16 x 2\n    spacing: 150 mm\n    layout: meander\n";
        let before = crate::look(&job(text, &none));
        let remedy = draw_layout(&job(text, &none), &Workings::default(), "L1").expect("it is laid out");
        let drawn = applied(text, &remedy.changes);
        let after = crate::look(&job(&drawn, &none));
        let length =
            |outcome: &crate::Outcome| outcome.workings.loops[0].length.as_ref().expect("it has one").value.in_metres();
        assert!((length(&before) - length(&after)).abs() < 0.5, "{} and {}", length(&before), length(&after));
        assert_eq!(draw_layout(&job(&drawn, &none), &before.workings, "L1"), None, "it is drawn now");
        let braces = "format: 1\nrooms: {hall: {outline: [[0, 0], [4, 0], [4, 3], [0, 3]]}}\nmanifolds: {M1: {at: [0.2, 0.1]}}\nloops:\n  \
                      L1: {manifold: M1, room: hall, pipe: PE-X 16 x 2, spacing: 150 mm, layout: meander}\n";
        let remedy = draw_layout(&job(braces, &none), &before.workings, "L1").expect("it is laid out");
        let drawn = applied(braces, &remedy.changes);
        assert!(design::read("a.ufh.yaml", drawn.as_bytes(), &none).faults.is_empty());
    }

    /// Two loops of a storey are drawn together, each as it was laid out; the check finds what it found before.
    #[test]
    fn the_layouts_of_a_storey_are_drawn_together() {
        let text = filled(
            "rooms:\n  hall: {floor: screeded, outline: [[0, 0], [5, 0], [5, 4], [0, 4]], keep-clear: none}\n  \
             study: {floor: screeded, outline: [[0, 4.1], [5, 4.1], [5, 8], [0, 8]], keep-clear: none}\n\
             walls: {W1: {line: [[0, 4.05], [5, 4.05]], thickness: 100 mm}}\n\
             openings: {D1: {wall: W1, from: 3.5 m, to: 4.4 m}}\n\
             manifolds: {M1: {at: [4.9, 2], ports: 2}}\nloops:\n  \
             L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, layout: spiral}\n  \
             L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, layout: meander}\n",
        );
        let remedy = draw_layout(&job(&text, &none), &Workings::default(), "L1").expect("they are laid out");
        assert_eq!(remedy.changes.len(), 2, "{}", remedy.title);
        let after = applied(&text, &remedy.changes);
        let said = |text: &str| {
            let outcome = crate::look(&job(text, &none));
            outcome.findings.iter().map(|it| format!("{}: {}", it.rule.name, it.message)).collect::<Vec<_>>()
        };
        assert_eq!(said(&after), said(&text));
        // A loop to which no tails lead is not drawn, and is no hindrance to the others.
        let text =
            text.replace("wall: W1, from: 3.5 m", "wall: W2, from: 3.5 m").replace("layout: meander", "layout: spiral");
        assert_eq!(draw_layout(&job(&text, &none), &Workings::default(), "L2"), None, "it has no tails");
        let remedy = draw_layout(&job(&text, &none), &Workings::default(), "L1").expect("it is laid out");
        assert_eq!(remedy.title, "draw L1 as it is laid out");
    }

    /// Where tails of what is drawn pass the room of a loop that could not be joined, that would be laid anew beside them.
    #[test]
    fn nothing_is_drawn_where_other_loops_would_be_laid_otherwise() {
        let text = |also: &str| {
            filled(&format!(
                "rooms:\n  hall: {{floor: screeded, outline: [[0, 0], [3, 0], [3, 4.9], [0, 4.9]], keep-clear: {{c: [[1.2, 0], [1.8, 0], [1.8, 0.5], [1.2, 0.5]]}}}}\n  \
                 r0: {{floor: screeded, outline: [[3.1, 0], [7.3, 0], [7.3, 2.2], [3.1, 2.2]], keep-clear: none}}\n  \
                 r1: {{floor: screeded, outline: [[3.1, 2.3], [7.3, 2.3], [7.3, 4.9], [3.1, 4.9]], keep-clear: none}}\n\
                 walls: {{W1: {{line: [[3.05, 0], [3.05, 4.9]], thickness: 100 mm}}}}\n\
                 openings: {{D0: {{wall: W1, from: 1.1 m, to: 2 m}}, D1: {{wall: W1, from: 2.9 m, to: 3.8 m}}}}\n\
                 manifolds: {{M1: {{at: [1.5, 2.31], ports: 4}}}}\nloops:\n  \
                 L1: {{manifold: M1, port: 1, room: r0, pipe: PEX-16, spacing: 200 mm, layout: spiral}}\n  \
                 L2: {{manifold: M1, port: 2, room: r1, pipe: PEX-16, spacing: 200 mm, layout: meander}}\n{also}"
            ))
        };
        let drawn = |also: &str| draw_layout(&job(&text(also), &none), &Workings::default(), "L1");
        assert_eq!(drawn("").expect("both have tails").changes.len(), 2);
        let hall = "  L3: {manifold: M1, port: 3, room: hall, pipe: PEX-16, spacing: 200 mm, layout: spiral}\n";
        let of_hall = crate::look(&job(&text(hall), &none)).workings.loops[2].laid.clone();
        assert!(of_hall.is_some_and(|laid| laid.is_ok_and(|it| it.without_tails.is_some())), "it is not joined");
        assert_eq!(drawn(hall), None);
    }

    #[test]
    fn a_floor_moves_to_a_library() {
        let text = "format: 1\nlibrary: [library/pipes.ufh.yaml]\npipes:\n  wide:\n    material: PE-X\n    outside-diameter: 20 mm\n  mid: {}\nloops: {L1: {pipe: wide}}\n";
        let moved = move_to_library(&job(text, &none), "pipes", "wide").expect("it can");
        assert_eq!(
            applied(text, &moved.changes),
            text.replace("  wide:\n    material: PE-X\n    outside-diameter: 20 mm\n", "")
        );
        let There::Changed(change) = &moved.there else { panic!("the library is there already") };
        let library = String::from_utf8(none("library/pipes.ufh.yaml").expect("it is there")).expect("it is text");
        let edit = yaml_tree::Edit { range: change.place.range(), text: change.text.clone() };
        let library = yaml_tree::apply(&library, &[edit]).expect("it fits");
        assert_eq!(
            library,
            "format: 1\npipes:\n  thin: {material: PE-X}  # ours\n  wide:\n    material: PE-X\n    outside-diameter: 20 mm\n"
        );

        let text = "format: 1\nfloors:\n  plates:\n    method: spreader-plates\n\nrooms: {}\n";
        let moved = move_to_library(&job(text, &none), "floors", "plates").expect("it can");
        assert_eq!(moved.library, "library/floors.ufh.yaml");
        assert_eq!(moved.there, There::New("format: 1\nfloors:\n  plates:\n    method: spreader-plates\n".into()));
        let after = applied(text, &moved.changes);
        assert!(!after.contains("floors:") && after.contains("library: [library/floors.ufh.yaml]"), "{after}");
    }
}
