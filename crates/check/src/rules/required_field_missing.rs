//! A design gives all that the house standard requires at its stage.
//!
//! What every design of a firm must say by the time it is sent out or built from, the firm knows best: who checked it, the
//! heat loss of every room, where the manifold hangs.
//!
//! ## How it is worked out
//! Each path under `required` of the stage, and of the stages before it, is followed through the design; `*` stands for every
//! name and every item of a list. What is there and cannot be read is told elsewhere. Without a house standard nothing is
//! required beyond what the figures need.
//!
//! ```yaml fails
//! # house-standard.yaml
//! required: {preliminary: [rooms/*/height]}
//! # house.ufh.yaml
//! rooms:
//!   hall: {area: 9 m², floor: screeded, temperature: 20 °C, heat-loss: 500 W, height: 2.4 m}
//!   study: {area: 11 m², floor: screeded, temperature: 20 °C, heat-loss: 500 W}
//! # ^^^^^ rooms/study does not give `height`, which the house standard requires from `preliminary` on
//! ```
//! ```yaml passes
//! # house-standard.yaml
//! required: {as-built: [rooms/*/height]}
//! # house.ufh.yaml
//! rooms:
//!   hall: {area: 9 m², floor: screeded, temperature: 20 °C, heat-loss: 500 W, height: 2.4 m}
//!   study: {area: 11 m², floor: screeded, temperature: 20 °C, heat-loss: 500 W}
//! ```

use super::prelude::*;
use crate::house::Fault;
use design::{Design, HouseStandard, RecordInfo, Shape, Stage, nearest};

pub static RULE: Rule = Rule {
    name: "required-field-missing",
    group: Group::DesignFile,
    weights: [Warning, Warning, Error, Error],
    file: include_str!("required_field_missing.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    let Some(standard) = &inspection.reading.house_standard else { return };
    for stage in Stage::ALL.iter().filter(|stage| **stage <= inspection.design.stage()) {
        for required in standard.required.at(*stage) {
            let (block, rest) = required.value.split_once('/').unwrap_or((&required.value, ""));
            for (subject, rest) in subjects(inspection.design, block, rest) {
                let (key, deeper) = rest.split_once('/').unwrap_or((rest, ""));
                let design = inspection.design;
                if subject.is_broken(design) || subject.has_unread(design, key) {
                    continue;
                }
                let value = subject.block(design).and_then(|block| block.plain_of(key)).unwrap_or_default();
                if gives(&value, deeper) {
                    continue;
                }
                let about = match subject {
                    Subject::Design => "the design".to_string(),
                    subject => subject.path(design),
                };
                let message = format!(
                    "{about} does not give `{rest}`, which {} requires from `{}` on",
                    inspection.house.name(),
                    stage.word()
                );
                let place = subject.place(design);
                let finding = Finding::new(subject, place, message).source(inspection.house.name().to_string());
                found.add(finding.related(required.at, "required here"));
            }
        }
    }
}

/// The things that the first part of a path stands for, each with the path that is left.
fn subjects<'p>(design: &Design, block: &str, rest: &'p str) -> Vec<(Subject, &'p str)> {
    fn each(count: usize, kind: fn(usize) -> Subject, rest: &str) -> Vec<(Subject, &str)> {
        let rest = rest.strip_prefix("*/").unwrap_or_default();
        (0..count).map(|at| (kind(at), rest)).collect()
    }
    macro_rules! named {
        ($of:expr, $kind:path) => {
            each($of.len(), $kind, rest)
        };
    }
    match block {
        "project" => vec![(Subject::Project, rest)],
        "site" => vec![(Subject::Site, rest)],
        "heat-source" => vec![(Subject::HeatSource, rest)],
        "water" => vec![(Subject::Water, rest)],
        "controls" => vec![(Subject::Controls, rest)],
        "safety" => vec![(Subject::Safety, rest)],
        "records" => vec![(Subject::Records, rest)],
        "pipes" => named!(design.pipes, Subject::Pipe),
        "floors" => named!(design.floors, Subject::Floor),
        "rooms" => named!(design.rooms, Subject::Room),
        "walls" => named!(design.walls, Subject::Wall),
        "openings" => named!(design.openings, Subject::Opening),
        "movement-joints" => named!(design.movement_joints, Subject::MovementJoint),
        "uprights" => named!(design.uprights, Subject::Upright),
        "floor-holes" => named!(design.floor_holes, Subject::FloorHole),
        "manifolds" => named!(design.manifolds, Subject::Manifold),
        "loops" => named!(design.loops, Subject::Loop),
        "electric-mats" => named!(design.electric_mats, Subject::ElectricMat),
        _ => Vec::new(),
    }
}

/// Whether a value gives what is left of a path.
fn gives(value: &serde_json::Value, path: &str) -> bool {
    if path.is_empty() {
        return !value.is_null();
    }
    let (key, rest) = path.split_once('/').unwrap_or((path, ""));
    match (key, value) {
        ("*", serde_json::Value::Object(entries)) => entries.values().all(|it| gives(it, rest)),
        ("*", serde_json::Value::Array(items)) => items.iter().all(|it| gives(it, rest)),
        (key, serde_json::Value::Object(entries)) => entries.get(key).is_some_and(|it| gives(it, rest)),
        _ => false,
    }
}

/// Looks at the paths that a house standard requires: each must lead somewhere in the format.
pub(crate) fn look_at_paths(standard: &HouseStandard, faults: &mut Vec<Fault>) {
    static DESIGN: RecordInfo = Design::INFO;
    for stage in Stage::ALL {
        for required in standard.required.at(*stage) {
            let parts: Vec<&str> = required.value.split('/').collect();
            let mut shape = Shape::Record(&DESIGN);
            for (at, part) in parts.iter().enumerate() {
                match under(&shape, part) {
                    Ok(of) => shape = of,
                    Err(known) => {
                        let mut better = parts.clone();
                        let better = match known[..] {
                            // A key of the things stands where their names do, or a name.
                            ["*"] if parts.len() > at + 1 => {
                                better[at] = "*";
                                Some(better)
                            }
                            ["*"] => {
                                better.insert(at, "*");
                                Some(better)
                            }
                            _ => nearest(part, known.iter().copied()).map(|near| {
                                better[at] = near;
                                better
                            }),
                        };
                        let better = better.map(|parts| parts.join("/"));
                        let guess = better.as_ref().map(|it| format!("; did you mean `{it}`")).unwrap_or_default();
                        faults.push(Fault {
                            place: required.at,
                            path: format!("required/{}", stage.word().replace(' ', "-")),
                            message: format!("`{}` leads nowhere: there is no `{part}`{guess}", required.value),
                            meant: better,
                        });
                        break;
                    }
                }
            }
            let ends_at_all = matches!(parts[..], ["*"] | [_, "*"]) || parts.len() == 1;
            if ends_at_all && faults.last().is_none_or(|it| it.place != required.at) {
                faults.push(Fault {
                    place: required.at,
                    path: format!("required/{}", stage.word().replace(' ', "-")),
                    message: format!("`{}` names no key: say which, as in `rooms/*/heat-loss`", required.value),
                    meant: None,
                });
            }
        }
    }
}

/// The shape under a part of a path; the keys there are if there is none.
fn under(shape: &Shape, part: &str) -> Result<Shape, Vec<&'static str>> {
    match shape {
        Shape::Record(record) => match record.field(part) {
            Some(field) => Ok((field.shape)()),
            None => Err(record.fields.iter().map(|field| field.key).collect()),
        },
        // A standard is for all designs, and knows no name of one.
        Shape::Named(_, of) | Shape::List { of, .. } if part == "*" => Ok((**of).clone()),
        Shape::Named(..) | Shape::List { .. } => Err(vec!["*"]),
        Shape::Either(shapes) => {
            let mut known = Vec::new();
            for shape in shapes {
                match under(shape, part) {
                    Ok(shape) => return Ok(shape),
                    Err(more) => known.extend(more),
                }
            }
            Err(known)
        }
        _ => Err(Vec::new()),
    }
}

#[cfg(test)]
mod tests {
    use crate::bench::messages;

    fn said(required: &str) -> Vec<String> {
        messages(
            &super::RULE,
            &format!("# house-standard.yaml\nrequired: {{preliminary: [{required}]}}\n# house.ufh.yaml\n"),
        )
    }

    #[test]
    fn paths_lead_into_blocks_and_lists() {
        assert_eq!(said("floors/*/layers/*/material, rooms/*/floor, loops/*/pipe"), [""; 0]);
        assert_eq!(
            said("site/ground-water-depth"),
            ["site does not give `ground-water-depth`, which the house standard requires from `preliminary` on"]
        );
        assert_eq!(said("loops/*/route").len(), 2);
    }

    #[test]
    fn a_path_that_leads_nowhere_is_told() {
        let said = |required: &str| {
            let standard = format!("# house-standard.yaml\nrequired: {{preliminary: [{required}]}}\n");
            messages(&crate::rules::house_standard_unsound::RULE, &standard)
        };
        assert_eq!(
            said("rooms/*/heat-los"),
            ["`rooms/*/heat-los` leads nowhere: there is no `heat-los`; did you mean `rooms/*/heat-loss`"]
        );
        assert_eq!(said("rooms/*"), ["`rooms/*` names no key: say which, as in `rooms/*/heat-loss`"]);
        assert_eq!(said("project/checker/name").len(), 1);
        let guess = |required: &str, better: &str| assert!(said(required)[0].ends_with(&format!("`{better}`")));
        guess("rooms/heat-loss", "rooms/*/heat-loss");
        guess("loops/L1/route", "loops/*/route");
        guess("floors/*/layers/0/material", "floors/*/layers/*/material");
    }
}
