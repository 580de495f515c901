//! A zone has an actuator for each of its loops, and its channel can switch them.
//!
//! A loop without an actuator is never shut, and one that is to stay open for a heat pump must not have any; an actuator too many hangs on no valve; a channel with too many of them burns out.
//!
//! ## How it is worked out
//! The actuators of each zone against its loops. The actuators of all zones on a channel against what one channel switches,
//! and the channel against how many the wiring centre has.
//!
//! ## Limit
//! One a loop; the maker's limit a channel: common practice, no source.
//!
//! ## Exceptions
//! A zone that can never shut has none: an actuator on it would shut it.
//!
//! ```yaml fails
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air}, actuators: 2}
//! #                                                              ^ zone hall has 2 actuators for 1 loop
//!     study: {rooms: [study], thermostat: {feels: air}, actuators: 1}
//! ```
//! ```yaml remedied
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air}, actuators: 1}
//!     study: {rooms: [study], thermostat: {feels: air}, actuators: 1}
//! ```
//! ```yaml fails
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air}, actuators: 1, always-open: true}
//! #                                                              ^ zone hall is always open and has 1 actuator; what never shuts has none
//!     study: {rooms: [study], thermostat: {feels: air}, actuators: 1}
//! ```
//! ```yaml remedied
//! controls:
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air}, actuators: 0, always-open: true}
//!     study: {rooms: [study], thermostat: {feels: air}, actuators: 1}
//! ```
//! ```yaml fails
//! controls:
//!   wiring-centre: {channels: 6, actuators-a-channel: 1}
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air}, actuators: 1, channel: 1}
//! #                                                                          ^ channel 1 switches 2 actuators; the wiring centre allows it 1
//!     study: {rooms: [study], thermostat: {feels: air}, actuators: 1, channel: 1}
//! ```
//! ```yaml fails
//! controls:
//!   wiring-centre: {channels: 6}
//!   zones:
//!     hall: {rooms: [hall], thermostat: {feels: air}, actuators: 1, channel: 7}
//! #                                                                          ^ zone hall is on channel 7; the wiring centre has 6 channels
//!     study: {rooms: [study], thermostat: {feels: air}, actuators: 1, channel: 2}
//! ```

use super::prelude::*;
use crate::zones::loops_of_zones;
use std::collections::BTreeMap;

pub static RULE: Rule = Rule {
    name: "actuator-count-wrong",
    group: Group::Controls,
    weights: [Silent, Warning, Error, Error],
    file: include_str!("actuator_count_wrong.rs"),
    check,
    ..Rule::USUAL
};

const SOURCE: &str = "common practice, no source; a channel's limit is its maker's";

fn check(inspection: &Inspection, found: &mut Findings) {
    let controls = &inspection.design.controls;
    let mut on_channel: BTreeMap<u32, (u32, usize)> = BTreeMap::new();
    for (at, ((name, entry), loops)) in controls.zones.iter().zip(loops_of_zones(inspection)).enumerate() {
        let zone = &entry.value;
        let subject = Subject::Zone(at);
        let open = zone.always_open.is_some_and(|open| open.value);
        let Some(actuators) = zone.actuators else {
            if !loops.is_empty() && !open && !zone.broken {
                found.missing(subject, "actuators");
            }
            continue;
        };
        if let Some(channel) = zone.channel {
            let known = on_channel.entry(channel.value).or_insert((0, at));
            known.0 = known.0.saturating_add(actuators.value);
        }
        let wanted = if open { 0 } else { loops.len() };
        if actuators.value as usize == wanted || loops.is_empty() {
            continue;
        }
        let counted = |count: usize, thing: &str| format!("{count} {thing}{}", if count == 1 { "" } else { "s" });
        let has = counted(actuators.value as usize, "actuator");
        let (message, title) = match open {
            true => (format!("zone {name} is always open and has {has}; what never shuts has none"), "give it none"),
            false => {
                (format!("zone {name} has {has} for {}", counted(loops.len(), "loop")), "give it one for each loop")
            }
        };
        let mut finding = Finding::new(subject, actuators.at, message)
            .value(Number::new(f64::from(actuators.value)))
            .limit(&LimitValue::new(Number::new(wanted as f64), SOURCE))
            .remedy(Remedy::new(title, actuators.at, wanted.to_string()));
        if let Some(open) = zone.always_open.filter(|open| open.value) {
            finding = finding.related(open.at, "it is always open");
        }
        found.add(finding);
    }
    let Some(centre) = &controls.wiring_centre else { return };
    for (channel, (actuators, first)) in on_channel {
        let place = |zone: &design::Zone| zone.channel.map_or(zone.place, |channel| channel.at);
        let Some((name, entry)) = controls.zones.at(first) else { continue };
        if let Some(channels) = centre.channels.filter(|channels| channel > channels.value || channel == 0) {
            let message =
                format!("zone {name} is on channel {channel}; the wiring centre has {} channels", channels.value);
            found.add(
                Finding::new(Subject::Zone(first), place(&entry.value), message)
                    .source(SOURCE)
                    .related(channels.at, "the channels of the wiring centre"),
            );
        }
        let Some(most) = centre.actuators_a_channel.filter(|most| actuators > most.value) else { continue };
        let message =
            format!("channel {channel} switches {actuators} actuators; the wiring centre allows it {}", most.value);
        let larger = format!("take a wiring centre of which a channel switches {actuators}");
        found.add(
            Finding::new(Subject::Zone(first), place(&entry.value), message)
                .value(Number::new(f64::from(actuators)))
                .limit(&LimitValue::new(Number::new(f64::from(most.value)), SOURCE))
                .related(most.at, "what one channel can switch")
                .remedy(Remedy::new(larger, most.at, actuators.to_string())),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::{messages, not_checked};

    #[test]
    fn a_zone_that_never_shuts_has_none() {
        let text = "controls:\n  zones:\n    hall: {rooms: [hall], thermostat: {feels: air}, actuators: 0, always-open: OPEN}\n";
        assert_eq!(messages(&RULE, &text.replace("OPEN", "true")), [""; 0]);
        assert_eq!(messages(&RULE, &text.replace("OPEN", "false")), ["zone hall has 0 actuators for 1 loop"]);
        let has_one = text.replace("OPEN", "true").replace("actuators: 0", "actuators: 1");
        assert_eq!(
            messages(&RULE, &has_one),
            ["zone hall is always open and has 1 actuator; what never shuts has none"]
        );
    }

    #[test]
    fn what_is_not_counted_is_not_passed() {
        let text = "controls:\n  zones:\n    hall: {rooms: [hall], thermostat: {feels: air}}\n";
        assert_eq!(not_checked(&RULE, text), ["controls/zones/hall/actuators"]);
    }
}
