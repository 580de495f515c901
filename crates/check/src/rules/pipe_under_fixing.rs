//! No pipe lies where something will be screwed to the floor.
//!
//! The screws of pans, stops, bars and plates are the ones that find pipes: whoever drives them does not
//! have the plan.
//!
//! ## How it is worked out
//! The clear distance is that from the middle line of the pipe, with its bends, to the fixing line, less half the
//! pipe. An opening with a threshold bar that is screwed down is a fixing line for all that passes it.
//!
//! ## Limit
//! 150 mm each side of the fixing of a WC pan, 50 mm of any other: common practice, no source.
//!
//! ```yaml fails
//! rooms:
//!   hall:
//!     outline: [[0, 0], [6, 0], [6, 3], [0, 3]]
//!     fixing-lines: {pan: {kind: WC pan, line: [[1, 0.3], [1, 0.6]]}}
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, route: [[6, 0.7], [0.5, 0.7], [0.5, 2], [6, 2]]}
//! #                                             ^^^^^^^^ loop L1 comes within 92 mm of the fixing of pan in hall; 150 mm must stay clear
//! ```
//! ```yaml remedied
//! rooms:
//!   hall:
//!     outline: [[0, 0], [6, 0], [6, 3], [0, 3]]
//!     fixing-lines: {pan: {kind: WC pan, line: [[1, 0.3], [1, 0.6]]}}
//! loops:
//!   L1: {room: hall, pipe: PE-X 16 x 2, route: [[6, 0.76], [0.5, 0.76], [0.5, 2], [6, 2]]}
//! ```

use super::pipe_crosses_itself::written;
use super::prelude::*;
use super::sleeve_missing_at_wall::is_drawn;
use crate::inspection::Item;
use crate::remedy::Change;
use design::{Fixing, Loop, Point, Route};
use workings::{Crossed, LoopWorkings, Near, NearTo, place_along};

pub static RULE: Rule = Rule {
    name: "pipe-under-fixing",
    group: Group::Geometry,
    weights: [Hint, Warning, Error, Error],
    limits: &[BESIDE_PAN, BESIDE_OTHERS],
    file: include_str!("pipe_under_fixing.rs"),
    check,
    ..Rule::USUAL
};

const BESIDE_PAN: Limit = Limit { name: "beside-a-wc-pan", value: "150 mm", source: "common practice, no source" };
const BESIDE_OTHERS: Limit = Limit { name: "beside-a-fixing", value: "50 mm", source: "common practice, no source" };

/// What a tenth of a millimetre may be out.
const HAIR: Length = Length::millimetres(0.1);

fn check(inspection: &Inspection, found: &mut Findings) {
    let design = inspection.design;
    if design.rooms.values().any(|room| !room.fixing_lines.is_empty()) {
        for (it, near) in inspection.loops().zip(&inspection.workings.plan.near) {
            let has_lines =
                |room: &usize| design.rooms.at(*room).is_some_and(|(_, room)| !room.value.fixing_lines.is_empty());
            if !matches!(it.worked.route, Some(Ok(_))) && it.worked.rooms.iter().any(has_lines) {
                is_drawn(&it, found);
            }
            for near in near {
                check_one(inspection, found, &it, near);
            }
        }
    }
    under_threshold_bars(inspection, found);
}

fn check_one(inspection: &Inspection, found: &mut Findings, it: &Item<Loop, LoopWorkings>, near: &Near) {
    let NearTo::FixingLine(room, line) = near.what else { return };
    let Some((room, entry)) = inspection.design.rooms.at(room) else { return };
    let Some((name, fixing)) = entry.value.fixing_lines.at(line) else { return };
    let wanted = match fixing.value.kind.map(|kind| kind.value) {
        Some(Fixing::WcPan) => BESIDE_PAN.get::<Length>(&RULE, inspection),
        _ => BESIDE_OTHERS.get(&RULE, inspection),
    };
    let Some(clear) = clear(found, it, near) else { return };
    if clear >= wanted.value - HAIR {
        return;
    }
    let what = match clear > Length::ZERO {
        true => format!("comes within {clear} of the fixing of {name} in {room}"),
        false => format!("lies under the fixing of {name} in {room}"),
    };
    let message = format!("loop {} {what}; {} must stay clear", it.name, wanted.value);
    found.add(
        Finding::new(it.subject, place_along(it.given, near.along), message)
            .value(clear)
            .limit(&wanted)
            .related(fixing.name_place, format!("{name} is fixed here"))
            .remedy(moved_off(it, near, wanted.value - clear)),
    );
}

/// The leg that comes too near to something, moved off square to itself. A tail at its manifold stays where it is, and
/// what goes straight at the thing or through it is not moved: that wants another way.
pub(super) fn moved_off(it: &Item<Loop, LoopWorkings>, near: &Near, by: Length) -> Option<Remedy> {
    let Some(Route::Points(points)) = it.given.route.as_ref().map(|route| &route.value) else { return None };
    let place = place_along(it.given, near.along);
    let at = points.iter().position(|point| point.at == place)?;
    let (from, to) = (points.get(at)?, points.get(at + 1)?);
    let is_tail = at == 0 || at + 2 == points.len();
    if is_tail && it.given.manifold.is_some() {
        return None;
    }
    let (x, y) = (to.value.x - from.value.x, to.value.y - from.value.y);
    let (away_x, away_y) = (near.at.x - near.on_thing.x, near.at.y - near.on_thing.y);
    let square = (x * away_y - y * away_x) / x.hypot(y);
    if square.abs() < 0.9 * away_x.hypot(away_y) || square == 0.0 {
        return None;
    }
    let whole = Length::millimetres((by.in_millimetres() / 10.0).ceil() * 10.0);
    let shift = whole.in_metres() * square.signum() / x.hypot(y);
    let moved = |point: Point| Point { x: point.x - y * shift, y: point.y + x * shift };
    let changes = [from, to].map(|point| Change { place: point.at, text: written(moved(point.value)) });
    Remedy::of(format!("move the run {whole} off"), changes)
}

/// The distance from the pipe's own face; nothing, and a note, where the pipe is not known.
pub(super) fn clear(found: &mut Findings, it: &Item<Loop, LoopWorkings>, near: &Near) -> Option<Length> {
    match &it.worked.pipe {
        Ok(pipe) => Some((near.distance - pipe.outside / 2.0).max(Length::ZERO)),
        Err(gap) => {
            found.not_checked(it.subject, gap);
            None
        }
    }
}

/// One bar is one finding, with every pipe under it.
fn under_threshold_bars(inspection: &Inspection, found: &mut Findings) {
    let openings = &inspection.design.openings;
    if !openings.values().any(|opening| opening.threshold_bar.is_some_and(|bar| bar.value)) {
        return;
    }
    let mut under = vec![Vec::new(); openings.len()];
    for (it, crossings) in inspection.loops().zip(&inspection.workings.plan.crossings) {
        for crossing in crossings {
            if let Crossed::Opening(opening) = crossing.what {
                under[opening].push((it.name, it.place, crossing.passages.len()));
            }
        }
    }
    for (at, ((name, opening), under)) in openings.iter().zip(under).enumerate() {
        let Some(bar) = opening.value.threshold_bar.filter(|bar| bar.value && !under.is_empty()) else { continue };
        let pipes: usize = under.iter().map(|(_, _, passages)| passages).sum();
        let lie = if pipes == 1 { "pipe lies" } else { "pipes lie" };
        let message = format!("{pipes} {lie} under the threshold bar of {name}, which is screwed down");
        let finding = Finding::new(Subject::Opening(at), bar.at, message)
            .value(Number::new(pipes as f64))
            .source("common practice, no source")
            .remedy(Remedy::new("glue the bar down", bar.at, "false"));
        found.add(
            under
                .iter()
                .fold(finding, |finding, (name, place, _)| finding.related(*place, format!("loop {name} passes"))),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    fn text(kind: &str, route: &str) -> String {
        format!(
            "rooms:\n  hall:\n    fixing-lines: {{F: {{kind: {kind}, line: [[1, 1], [2, 1]]}}}}\nloops:\n  \
             L1: {{room: hall, pipe: PE-X 16 x 2, {route}}}\n"
        )
    }

    fn along(kind: &str, off: f64) -> usize {
        messages(&RULE, &text(kind, &format!("route: [[0, {}], [4, {}]]", 1.0 + off, 1.0 + off))).len()
    }

    #[test]
    fn each_kind_has_its_distance() {
        assert_eq!([along("WC pan", 0.157), along("WC pan", 0.158)], [1, 0]);
        assert_eq!([along("door stop", 0.057), along("door stop", 0.058)], [1, 0]);
        assert_eq!([along("other", -0.057), along("other", -0.058)], [1, 0]);
    }

    #[test]
    fn a_pipe_across_the_line_lies_under_it() {
        assert_eq!(
            messages(&RULE, &text("sole plate", "route: [[1.5, 0], [1.5, 3]]")),
            ["loop L1 lies under the fixing of F in hall; 50 mm must stay clear"]
        );
    }

    #[test]
    fn a_screwed_threshold_bar_is_told_once_for_all_pipes() {
        let text = |bar: &str| {
            format!(
                "walls:\n  W1: {{line: [[5, 0], [5, 4]]}}\nopenings:\n  D1: {{wall: W1, from: 1 m, to: 2 m, threshold-bar: {bar}}}\n\
                 loops:\n  L1: {{route: [[6, 1.1], [1, 1.1], [1, 1.3], [6, 1.3]]}}\n  L2: {{route: [[6, 1.5], [1, 1.5]]}}\n"
            )
        };
        assert_eq!(
            messages(&RULE, &text("true")),
            ["3 pipes lie under the threshold bar of D1, which is screwed down"]
        );
        assert_eq!(messages(&RULE, &text("false")), [""; 0]);
    }

    #[test]
    fn what_is_not_known_is_not_checked() {
        assert_eq!(not_checked(&RULE, &text("other", "spacing: 150 mm")), ["loops/L1/route"]);
        let without_pipe = text("other", "route: [[0, 1], [4, 1]]").replace("pipe: PE-X 16 x 2, ", "");
        assert_eq!(not_checked(&RULE, &without_pipe), ["loops/L1/pipe"]);
    }
}
