//! What was found and worked out, as text for people, JSON for programs and drawings for the site.
//!
//! One module for each thing that is printed: [`findings`], [`workings`], [`schedule`], [`guidance`], [`plan`], [`remedies`], [`compare`],
//! [`pack`]. Each turns values
//! into bytes and nothing else.
//!
//! Absent from this crate: judgement, files, the terminal. Who prints says whether there are to be colours.

pub mod compare;
mod excerpt;
pub mod findings;
pub mod guidance;
pub mod pack;
mod page;
mod places;
pub mod plan;
pub mod remedies;
pub mod schedule;
pub mod summary;
mod words;
pub mod workings;

pub use summary::{Summary, Unreadable};
pub use words::printable;

/// What every report ends with. No setting turns it off.
pub const CAUTION: &str = "This report compares a design file with stated limits. It is not a design, a calculation \
certificate or an approval. Limits are defaults from published standards, secondary texts and trade practice, and may \
be out of date or wrong for your country. A competent person must check the design, the site and the rules in force \
before work begins. Findings marked “not checked” were not checked.";

/// What can hurt people and houses, whatever a report says: each begins a line of its own.
pub const CAUTIONS: [&str; 8] = [
    "A pass means that no rule that ran found a fault, not that the floor will be warm, sound or lawful. The tool cannot see \
     the slab, the joists, the damp or the services already there. Local rules come first.",
    "Gas, oil, solid fuel, refrigerant, electrical and unvented hot-water work is for licensed people. Wet screed on timber, \
     and any cut in a joist, is for a structural engineer.",
    "Pressure tests store energy. Test with water, before covering, and never beyond the rating of the weakest part; air at \
     the same pressure can kill: in steps, people out of the room, by a written method.",
    "Heating water and drinking water never mix; lukewarm water is where Legionella grows, and hot water scalds.",
    "A device of its own must stop water that is too hot for the floor, even if the controller or the power fails.",
    "Heat no screed before its day, and measure its moisture before any covering.",
    "Before an old floor is lifted or broken, ask for the asbestos survey. Do not pierce a damp-proof or radon layer.",
    "Heating pipes lie where the plan says at best: do not drill, nail or screw into a heated floor.",
];

/// A limit of a rule as it is written, the house standard's where that has its own; the limit of the rule, and
/// whether the house standard moved it.
pub(crate) fn limit<'o>(
    outcome: &'o check::Outcome,
    rule: &str,
    limit: &str,
) -> (&'o str, &'static check::Limit, bool) {
    let found = check::RULES.iter().find(|it| it.name == rule).and_then(|rule| {
        let limit = rule.limits.iter().find(|it| it.name == limit)?;
        Some((*rule, limit))
    });
    let (rule, limit) = found.expect("the test `every_limit_is_there` finds all that is asked for");
    match outcome.house.limit(rule, limit.name) {
        Some(own) => (&own.text, limit, true),
        None => (limit.value, limit, false),
    }
}

/// Checks a text, for the tests of this crate; it may name the library `pipes.yaml`.
#[cfg(test)]
fn checked(text: &str) -> check::Outcome {
    check::check(&check::Job {
        path: "house.ufh.yaml",
        house_standard: None,
        bytes: text.as_bytes(),
        files: &|path| match path {
            "pipes.yaml" => Ok(b"format: 1\npipes: {thin: {material: PE-X}}\n".to_vec()),
            _ => Err("there is no such file".into()),
        },
        today: jiff::civil::date(2026, 6, 1),
        remedies: true,
    })
}
