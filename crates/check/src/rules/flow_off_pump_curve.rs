//! The pump's curve reaches the flow of all its loops together.
//!
//! Beyond the end of its curve a pump gives nothing: the loops share what there is, and each of them goes short.
//!
//! ## How it is worked out
//! The flows of all loops that the pump drives, added up; against the last point of its curve, and against the first: what a pump
//! gives below that its curve does not say.
//!
//! ## Limit
//! The duty point lies on the curve: common practice, no source.
//!
//! ## Exceptions
//! A pump that only states a head is taken to keep it at any flow.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! manifolds:
//!   M1:
//!     ports: 4
//!     pump: {curve: [{flow: 0 l/min, head: 40 kPa}, {flow: 3 l/min, head: 25 kPa}]}
//! #                                                        ^^^^^^^ the loops of manifold M1 need 3.64 l/min together; the curve of the pump ends at 3.00 l/min
//! ```
//! ```yaml fails
//! manifolds:
//!   M1:
//!     ports: 4
//!     pump: {curve: [{flow: 8 l/min, head: 40 kPa}, {flow: 20 l/min, head: 10 kPa}]}
//! #                         ^^^^^^^ the loops of manifold M1 need 3.64 l/min together; the curve of the pump begins at 8.00 l/min, and what it gives below that it does not say
//! ```
//! ```yaml passes
//! manifolds:
//!   M1:
//!     ports: 4
//!     pump: {curve: [{flow: 0 l/min, head: 60 kPa}, {flow: 20 l/min, head: 10 kPa}]}
//! ```

use super::prelude::*;
use design::{Placed, Pump};

pub static RULE: Rule = Rule {
    name: "flow-off-pump-curve",
    group: Group::Hydraulics,
    weights: [Hint, Warning, Error, Error],
    follows: &["floor-cannot-give-this-much", "temperature-drop-too-narrow"],
    file: include_str!("flow_off_pump_curve.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    // What the source's pump drives: all manifolds that have none of their own.
    let mut shared = Some(VolumeFlow::ZERO);
    let mut sharing = 0;
    for it in inspection.manifolds().filter(|it| !it.worked.loops.is_empty()) {
        let curve = it.given.pump.as_ref().or(inspection.design.heat_source.pump.as_ref()).and_then(ends);
        if it.given.pump.is_some() && curve.is_none() {
            continue;
        }
        let Some(flow) = found.need(it.subject, &it.worked.volume_flow) else {
            shared = None;
            continue;
        };
        match (&it.given.pump, curve) {
            (Some(_), Some(ends)) => {
                hold(inspection, found, it.subject, &format!("manifold {}", it.name), flow.value, &ends);
            }
            _ => {
                sharing += 1;
                shared = shared.map(|so_far| so_far + flow.value);
            }
        }
    }
    if let (Some(flow), Some(ends), 1..) = (shared, inspection.design.heat_source.pump.as_ref().and_then(ends), sharing)
    {
        hold(inspection, found, Subject::HeatSource, "the manifolds without a pump of their own", flow, &ends);
    }
}

/// The least and the greatest flow of a pump's curve, if it states one.
fn ends(pump: &Placed<Pump>) -> Option<[Placed<VolumeFlow>; 2]> {
    let mut flows: Vec<Placed<VolumeFlow>> = pump.curve.iter().filter_map(|point| point.flow).collect();
    flows.sort_by(|one, other| one.value.si().total_cmp(&other.value.si()));
    Some([*flows.first()?, *flows.last()?])
}

fn hold(
    inspection: &Inspection,
    found: &mut Findings,
    about: Subject,
    who: &str,
    flow: VolumeFlow,
    [least, greatest]: &[Placed<VolumeFlow>; 2],
) {
    let need = format!("the loops of {who} need {flow} together; the curve of the pump");
    let told = |end: &Placed<VolumeFlow>, message: String| {
        let limit = LimitValue::new(end.value, "the pump's own curve, as the design gives it");
        Finding::new(about, end.at, message).value(flow).limit(&limit)
    };
    if flow > greatest.value {
        found.add(told(greatest, format!("{need} ends at {}", greatest.value)));
    } else if flow < least.value {
        // Below its beginning a curve is flat as a rule: that is to be asked of the maker, and no reason not to issue.
        let message = format!("{need} begins at {}, and what it gives below that it does not say", least.value);
        let weight = if RULE.weight(inspection.design.stage()) == Hint { Hint } else { Warning };
        found.add_as(weight, told(least, message));
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn the_pump_of_the_source_drives_all_manifolds_without_one() {
        let text = "heat-source:\n  flow-temperature: 38 °C\n  temperature-drop: 5 K\n  \
                    pump: {curve: [{flow: 0 l/min, head: 40 kPa}, {flow: END, head: 20 kPa}]}\n\
                    manifolds: {M1: {ports: 1}, M2: {ports: 1}}\n\
                    loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}\n  \
                    L2: {manifold: M2, room: study, pipe: PEX-16, spacing: 150 mm, tails: 12 m}\n";
        let short = "the loops of the manifolds without a pump of their own need 3.64 l/min together; the curve of the pump ends at 3.50 l/min";
        assert_eq!(messages(&RULE, &text.replace("END", "3.5 l/min")), [short]);
        assert_eq!(messages(&RULE, &text.replace("END", "3.7 l/min")), [""; 0]);
    }
}
