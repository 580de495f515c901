//! The pump's curve reaches the flow of all its loops together.
//!
//! Beyond the end of its curve a pump gives nothing: the loops share what there is, and each of them goes short.
//!
//! ## How it is worked out
//! The flows of all loops that the pump drives, added up; against the last point of its curve.
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
//! #                                                        ^^^^^^^ the loops of manifold M1 need 3.63 l/min together; the curve of the pump ends at 3.00 l/min
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
    name: "pump-flow-too-small",
    group: Group::Hydraulics,
    weights: [Hint, Warning, Error, Error],
    file: include_str!("pump_flow_too_small.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    // What the source's pump drives: all manifolds that have none of their own.
    let mut shared = Some(VolumeFlow::ZERO);
    let mut sharing = 0;
    for it in inspection.manifolds().filter(|it| !it.worked.loops.is_empty()) {
        let curve = it.given.pump.as_ref().or(inspection.design.heat_source.pump.as_ref()).and_then(greatest);
        if it.given.pump.is_some() && curve.is_none() {
            continue;
        }
        let Some(flow) = found.need(it.subject, &it.worked.volume_flow) else {
            shared = None;
            continue;
        };
        match (&it.given.pump, curve) {
            (Some(_), Some(greatest)) => {
                hold(found, it.subject, &format!("manifold {}", it.name), flow.value, &greatest);
            }
            _ => {
                sharing += 1;
                shared = shared.map(|so_far| so_far + flow.value);
            }
        }
    }
    if let (Some(flow), Some(greatest), 1..) =
        (shared, inspection.design.heat_source.pump.as_ref().and_then(greatest), sharing)
    {
        hold(found, Subject::HeatSource, "the manifolds without a pump of their own", flow, &greatest);
    }
}

/// The last flow of a pump's curve, if it states one.
fn greatest(pump: &Placed<Pump>) -> Option<Placed<VolumeFlow>> {
    let flows = pump.curve.iter().filter_map(|point| point.flow);
    flows.max_by(|one, other| one.value.in_litres_per_minute().total_cmp(&other.value.in_litres_per_minute()))
}

fn hold(found: &mut Findings, about: Subject, who: &str, flow: VolumeFlow, greatest: &Placed<VolumeFlow>) {
    if flow <= greatest.value {
        return;
    }
    let message = format!("the loops of {who} need {flow} together; the curve of the pump ends at {}", greatest.value);
    found.add(
        Finding::new(about, greatest.at, message).value(flow).limit(&crate::LimitValue {
            value: greatest.value,
            source: "the pump's own curve, as the design gives it",
        }),
    );
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
        let short = "the loops of the manifolds without a pump of their own need 3.63 l/min together; the curve of the pump ends at 3.50 l/min";
        assert_eq!(messages(&RULE, &text.replace("END", "3.5 l/min")), [short]);
        assert_eq!(messages(&RULE, &text.replace("END", "3.7 l/min")), [""; 0]);
    }
}
