//! A manifold passes the flow of all its loops.
//!
//! In a bar that is too narrow the water rushes past the first ports, and the loops near the inlet get another pressure than
//! those at the end: they cannot be balanced.
//!
//! ## How it is worked out
//! The flows of its loops, added up, against the greatest flow that its maker allows; or their velocity in the bore of its
//! bars.
//!
//! ## Limit
//! The maker's figure; else 1.0 m/s in the bar: common practice, no source.
//!
//! Clean water and smooth pipe unless the file says otherwise.
//!
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, greatest-flow: 3 l/min}
//! #                                                     ^^^^^^^ the loops of manifold M1 take 3.64 l/min; its maker allows 3.00 l/min
//! ```
//! ```yaml fails
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, bore: 8 mm}
//! #                                            ^^^^ water moves at 1.21 m/s in the bars of manifold M1; beyond 1.00 m/s its ports get unlike pressures
//! ```
//! ```yaml passes
//! manifolds:
//!   M1: {ports: 4, pump: {head: 30 kPa}, greatest-flow: 20 l/min}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "manifold-flow-too-high",
    group: Group::Manifold,
    weights: [Hint, Information, Warning, Warning],
    limits: &[MOST],
    follows: &["floor-cannot-give-this-much", "temperature-drop-too-narrow"],
    file: include_str!("manifold_flow_too_high.rs"),
    check,
    ..Rule::USUAL
};

const MOST: Limit = Limit { name: "most-in-the-bar", value: "1.0 m/s", source: "common practice, no source" };

fn check(inspection: &Inspection, found: &mut Findings) {
    for it in inspection.manifolds().filter(|it| !it.worked.loops.is_empty()) {
        if it.given.greatest_flow.is_none() && it.given.bore.is_none() {
            if !it.given.broken {
                found.missing(it.subject, "greatest-flow");
            }
            continue;
        }
        let Some(flow) = found.need(it.subject, &it.worked.volume_flow) else { continue };
        let figure = format!("manifolds.{}.volume-flow", it.name);
        if let Some(greatest) = it.given.greatest_flow {
            let limit = LimitValue::new(greatest.value, "the manifold's maker, as the design gives it");
            if limit.is_exceeded_by(flow.value) {
                let message = format!(
                    "the loops of manifold {} take {}; its maker allows {}",
                    it.name, flow.value, greatest.value
                );
                let finding = Finding::new(it.subject, greatest.at, message).value(flow.value).limit(&limit);
                let text = format!("{:.0} l/min", flow.value.in_litres_per_minute().ceil());
                let larger = Remedy::new(format!("take a manifold for {text}"), greatest.at, text);
                found.add(finding.figure(figure).remedy(larger));
            }
        } else if let Some(bore) = it.given.bore.filter(|bore| bore.value > Length::ZERO) {
            let most = MOST.get::<Velocity>(&RULE, inspection);
            let velocity = flow.value / (bore.value * bore.value * (std::f64::consts::PI / 4.0));
            if velocity > most.value {
                let message = format!(
                    "water moves at {velocity} in the bars of manifold {}; beyond {} its ports get unlike pressures",
                    it.name, most.value
                );
                let finding = Finding::new(it.subject, bore.at, message).value(velocity).limit(&most);
                found.add(finding.figure(figure));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::not_checked;

    #[test]
    fn without_a_figure_it_is_not_checked() {
        assert_eq!(not_checked(&RULE, ""), ["manifolds/M1/greatest-flow"]);
    }
}
