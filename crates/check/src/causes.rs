//! One cause, one finding: what only follows from another finding is told with it.

use crate::finding::Related;
use crate::rules::value_not_believable;
use crate::{Finding, Inspection};
use std::collections::HashMap;
use workings::Subject;

/// Takes out the findings that follow from a graver or equal one of a rule that theirs names in `follows`, on the same
/// thing or on one that bears on it, and tells each there, as a related place. Gives back what was taken out.
pub(crate) fn gather(inspection: &Inspection, findings: &mut Vec<Finding>) -> Vec<Finding> {
    if findings.iter().all(|it| it.rule.follows.is_empty()) {
        return Vec::new();
    }
    let mut at: HashMap<(&str, Subject), usize> = HashMap::new();
    for (position, finding) in findings.iter().enumerate() {
        at.entry((finding.rule.name, finding.about)).or_insert(position);
    }
    let cause_of = |finding: &Finding| {
        let rules = finding.rule.follows;
        if rules.is_empty() {
            return None;
        }
        let about = bearing_on(inspection, finding.about);
        let causes = rules.iter().flat_map(|rule| {
            // A slip of writing bears on what it is written of; of the source and the site too much hangs on other keys.
            let common = if *rule == value_not_believable::RULE.name { OF_ALL.len() } else { 0 };
            let about = about[..about.len() - common].iter();
            about.filter_map(|about| at.get(&(*rule, *about)).copied())
        });
        causes.filter(|cause| findings[*cause].severity >= finding.severity).min()
    };
    let causes: Vec<Option<usize>> = findings.iter().map(cause_of).collect();
    // A cause that follows from another is told there with all that follows from it.
    let root = |mut at: usize| {
        while let Some(cause) = causes[at] {
            at = cause;
        }
        at
    };
    let roots: Vec<Option<usize>> = (0..findings.len()).map(|at| causes[at].map(|_| root(at))).collect();
    let mut told: HashMap<(usize, &str), usize> = HashMap::new();
    let mut related: Vec<(usize, Related)> = Vec::new();
    for (finding, root) in findings.iter().zip(&roots) {
        let Some(root) = *root else { continue };
        let times = told.entry((root, finding.rule.name)).or_default();
        *times += 1;
        if *times == 1 {
            related.push((root, Related { message: format!("and so {}", finding.message), place: finding.place }));
        }
    }
    for (root, related) in related {
        findings[root].related.push(related);
    }
    let mut roots = roots.into_iter();
    findings.extract_if(.., |_| roots.next().flatten().is_some()).collect()
}

/// What bears on everything.
const OF_ALL: [Subject; 3] = [Subject::HeatSource, Subject::Water, Subject::Site];

/// The thing itself and what it hangs on: a loop's manifold, rooms and pipe, a manifold's loops and what they hang on, a room's
/// loops with their manifolds and its floor, of the safety parts all manifolds and floors; the heat source, the water and the
/// site bear on all.
fn bearing_on(inspection: &Inspection, about: Subject) -> Vec<Subject> {
    let workings = inspection.workings;
    let mut all = vec![about];
    match about {
        Subject::Loop(at) => {
            let it = &workings.loops[at];
            all.extend(it.manifold.map(Subject::Manifold));
            all.extend(it.rooms.iter().map(|room| Subject::Room(*room)));
            all.extend(pipe_of(inspection, at));
        }
        Subject::Room(at) => {
            let room = &workings.rooms[at];
            for at in &room.loops {
                all.push(Subject::Loop(*at));
                all.extend(workings.loops[*at].manifold.map(Subject::Manifold));
            }
            all.extend(room.floor.into_iter().flat_map(|floor| floor_and_layers(inspection, floor)));
        }
        Subject::Manifold(at) => {
            for at in &workings.manifolds[at].loops {
                all.push(Subject::Loop(*at));
                all.extend(workings.loops[*at].rooms.iter().map(|room| Subject::Room(*room)));
                all.extend(pipe_of(inspection, *at));
            }
        }
        Subject::Safety => {
            all.extend((0..workings.manifolds.len()).map(Subject::Manifold));
            all.extend((0..workings.floors.len()).flat_map(|floor| floor_and_layers(inspection, floor)));
        }
        _ => {}
    }
    all.extend(OF_ALL);
    all
}

fn floor_and_layers(inspection: &Inspection, floor: usize) -> Vec<Subject> {
    let layers = inspection.design.floors.at(floor).map_or(0, |(_, entry)| entry.value.layers.len());
    std::iter::once(Subject::Floor(floor)).chain((0..layers).map(|layer| Subject::Layer(floor, layer))).collect()
}

/// The pipe of a loop, where it is named in `pipes`.
fn pipe_of(inspection: &Inspection, at: usize) -> Option<Subject> {
    let (_, entry) = inspection.design.loops.at(at)?;
    inspection.design.pipes.position(&entry.value.pipe.as_ref()?.value.0).map(Subject::Pipe)
}

#[cfg(test)]
mod tests {
    use crate::RULES;
    use crate::bench::check;

    /// The rules that a rule follows exist, and none follows itself by way of others.
    #[test]
    fn what_rules_follow_ends() {
        fn depth(name: &str, left: usize) -> usize {
            assert!(left > 0, "{name} follows itself");
            let rule = RULES.iter().find(|it| it.name == name).unwrap_or_else(|| panic!("there is no rule {name}"));
            1 + rule.follows.iter().map(|it| depth(it, left - 1)).max().unwrap_or_default()
        }
        for rule in RULES {
            depth(rule.name, 10);
        }
    }

    #[test]
    fn a_loop_that_is_too_long_is_one_finding() {
        let outcome = check(
            "loops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 100 mm, tails: 30 m, coil: 100 m}\n  \
             L2: {manifold: M1, port: 2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}\n",
        );
        let names: Vec<&str> = outcome.findings.iter().map(|it| it.rule.name).collect();
        assert!(names.contains(&"loop-over-maximum-length"), "{names:?}");
        assert!(!names.contains(&"loop-longer-than-coil"), "{names:?}");
        let cause = outcome.findings.iter().find(|it| it.rule.name == "loop-over-maximum-length").unwrap();
        assert!(cause.related.iter().any(|it| it.message.starts_with("and so loop L1 wants")), "{:?}", cause.related);
    }

    /// A slip of the point in a valve is one finding, and what hangs on other keys is not hidden by one of the source.
    #[test]
    fn a_slip_brings_what_hangs_on_it_along() {
        let names = |text: &str| -> Vec<&'static str> { check(text).findings.iter().map(|it| it.rule.name).collect() };
        let valve =
            "manifolds:\n  M1: {ports: 4, pump: {head: 20 kPa}, valves: {kv-open: 1.1 m³/h, kv-actuator: 0.15 m³/h}}\n";
        let said = names(valve);
        assert!(said.contains(&"value-not-believable") && !said.contains(&"pressure-drop-over-pump"), "{said:?}");
        let source = "heat-source: {kind: heat pump, flow-temperature: 38 °C, temperature-drop: 5 K, output: 5 W}\n\
                      manifolds: {M1: {ports: 4, pump: {head: 5 kPa}}}\n";
        let said = names(source);
        assert!(said.contains(&"value-not-believable") && said.contains(&"pressure-drop-over-pump"), "{said:?}");
    }

    /// What stands below it stays in the order of the file, and departures reach the cause.
    #[test]
    fn a_graver_finding_is_never_hidden() {
        for finding in
            check("heat-source: {kind: heat pump, flow-temperature: 58 °C, temperature-drop: 5 K}\n").findings
        {
            assert!(finding.rule.name != "room-far-over-heat", "{}", finding.message);
        }
    }
}
