//! One cause, one finding: what only follows from another finding is told with it.

use crate::finding::Related;
use crate::{Finding, Inspection};
use std::collections::HashMap;
use workings::Subject;

/// Takes out the findings that follow from a graver or equal one of a rule that theirs names in `follows`, on the same
/// thing or on one that bears on it, and tells each there, as a related place. Gives back what was taken out, each with the position of its cause among those that are left.
pub(crate) fn gather(inspection: &Inspection, findings: &mut Vec<Finding>) -> Vec<(Finding, usize)> {
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
        let about = bearing_on(inspection, finding.decided_by.unwrap_or(finding.about));
        let causes = rules.iter().flat_map(|rule| about.iter().filter_map(|about| at.get(&(*rule, *about)).copied()));
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
    let mut related: Vec<(usize, Related)> = Vec::new();
    for (finding, root) in findings.iter().zip(&roots) {
        let Some(root) = *root else { continue };
        let (message, severity) = (format!("and so {}", finding.message), Some(finding.severity));
        related.push((root, Related { message, place: finding.place, severity }));
    }
    for (root, related) in related {
        findings[root].related.push(related);
    }
    // Those that are left move up.
    let (mut positions, mut left) = (Vec::with_capacity(roots.len()), 0);
    for root in &roots {
        positions.push(left);
        left += usize::from(root.is_none());
    }
    let mut of = roots.iter();
    let taken: Vec<Finding> = findings.extract_if(.., |_| of.next().is_some_and(Option::is_some)).collect();
    // Whether a remedy clears it by itself is not tried.
    let taken = taken.into_iter().map(Finding::without_remedies);
    taken.zip(roots.iter().flatten().map(|root| positions[*root])).collect()
}

/// The thing itself and what it hangs on: a loop's manifold, pipe, rooms and their floors, a room's loops, their manifolds and its
/// floor, a manifold's loops and what they hang on, a zone's rooms, of the safety parts all manifolds and floors; all floors and
/// rooms bear on the heat source, and it on all that has its water; the water and the site bear on all.
fn bearing_on(inspection: &Inspection, about: Subject) -> Vec<Subject> {
    let workings = inspection.workings;
    let mut all = vec![about];
    let rooms = |rooms: &[usize], all: &mut Vec<Subject>| {
        for at in rooms {
            all.push(Subject::Room(*at));
            let floor = workings.rooms.get(*at).and_then(|room| room.floor);
            all.extend(floor.into_iter().flat_map(|floor| floor_and_layers(inspection, floor)));
        }
    };
    // A flow that is stated hangs on no room.
    let follows_need = |at: usize| inspection.design.loops.at(at).is_some_and(|(_, it)| it.value.flow.is_none());
    match about {
        Subject::Loop(at) => {
            let it = &workings.loops[at];
            all.extend(it.manifold.map(Subject::Manifold));
            if follows_need(at) {
                rooms(&it.rooms, &mut all);
            }
            all.extend(pipe_of(inspection, at));
        }
        Subject::Room(at) => {
            rooms(&[at], &mut all);
            let loops = &workings.rooms[at].loops;
            all.extend(loops.iter().map(|at| Subject::Loop(*at)));
            all.extend(loops.iter().filter_map(|at| workings.loops[*at].manifold).map(Subject::Manifold));
        }
        Subject::Manifold(at) => {
            for it in &workings.manifolds[at].loops {
                all.push(Subject::Loop(*it));
                if follows_need(*it) {
                    rooms(&workings.loops[*it].rooms, &mut all);
                }
                all.extend(pipe_of(inspection, *it));
            }
        }
        Subject::Zone(at) => {
            let zone = inspection.design.controls.zones.at(at);
            let named = zone.into_iter().flat_map(|(_, zone)| &zone.value.rooms);
            let named: Vec<usize> =
                named.filter_map(|room| inspection.design.rooms.position(&room.value.name)).collect();
            rooms(&named, &mut all);
        }
        Subject::HeatSource => {
            all.extend((0..workings.floors.len()).map(Subject::Floor));
            all.extend((0..workings.rooms.len()).map(Subject::Room));
        }
        Subject::Safety => {
            all.extend((0..workings.manifolds.len()).map(Subject::Manifold));
            all.extend((0..workings.floors.len()).flat_map(|floor| floor_and_layers(inspection, floor)));
        }
        _ => {}
    }
    let own_water = |it: &usize| {
        let manifold = workings.loops[*it].manifold.and_then(|at| inspection.design.manifolds.at(at));
        // How far its water cools may still be the source's.
        manifold.is_some_and(|(_, it)| it.value.flow_temperature.is_some() && it.value.temperature_drop.is_some())
    };
    let by_own_water = match about {
        Subject::Loop(at) => own_water(&at),
        Subject::Room(at) => workings.rooms[at].loops.iter().all(own_water),
        Subject::Manifold(at) => workings.manifolds[at].loops.iter().all(own_water),
        Subject::Floor(at) => workings.floors.get(at).is_some_and(|floor| floor.loops.iter().all(own_water)),
        _ => false,
    };
    if !by_own_water {
        all.push(Subject::HeatSource);
    }
    all.extend([Subject::Water, Subject::Site]);
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
        let thin = "floors:\n  screeded:\n    method: clipped-in-screed\n    below: ground\n    layers:\n      - {material: carpet, thickness: \
                    14 mm}\n      - {material: cement screed, thickness: 65 mm, pipe: at base}\n      - {material: polyethylene membrane, \
                    thickness: 0.2 mm}\n      - {material: EPS, thickness: 160 mm}\n      - {material: damp-proof membrane, thickness: 0.3 \
                    mm}\n";
        let told = |text: &str| -> Vec<&str> {
            let found = check(text).findings.into_iter().map(|it| it.rule.name);
            found.filter(|name| ["covering-too-resistive", "room-short-of-heat"].contains(name)).collect()
        };
        assert_eq!(told(thin), ["covering-too-resistive"]);
        let accepted = "departures:\n  - {rule: covering-too-resistive, reason: the client wants it, agreed-by: engineer, until: 2030-01-01}\n";
        assert!(told(&format!("{thin}{accepted}")).contains(&"room-short-of-heat"));
    }
}
