//! Every key must be one of the format.
//!
//! A key that the format does not have says nothing: what it was meant to say is not checked.
//!
//! ## How it is worked out
//! The key is looked up among those of its block. The nearest spelling is offered where it is the only one; the rest
//! of the check then goes on as if that were written.
//!
//! ## Exceptions
//! A key that is kept for another tool can be accepted with a departure, but none that looks like a key of the format: what that
//! one should say is missing, and nothing else would tell it.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thicknes: 100 mm}
//! #                              ^^^^^^^^ a wall has no key `thicknes`; did you mean `thickness`
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 100 mm}
//! ```

use super::prelude::*;

pub static RULE: Rule = Rule {
    name: "unknown-field",
    group: Group::DesignFile,
    weights: [Warning, Warning, Error, Error],
    guards_people: true,
    file: include_str!("unknown_field.rs"),
    check,
    ..Rule::USUAL
};

fn check(inspection: &Inspection, found: &mut Findings) {
    for fault in &inspection.reading.faults {
        match &fault.kind {
            FaultKind::UnknownKey { key, nearest, within } => {
                let has = in_a_sentence(&spaced(within));
                let guess = nearest.map(|key| format!("; did you mean `{key}`")).unwrap_or_default();
                let message = format!("{has} no key `{key}`{guess}");
                let remedy = nearest.map(|key| Remedy::new(format!("write `{key}`"), fault.place, key));
                let mut finding = Finding::of_reading(fault, message);
                finding.is_misspelt = nearest.is_some();
                found.add(finding.remedy(remedy));
            }
            FaultKind::NotForLibrary { key } => {
                let message = format!("a library holds pipes, floors and manifolds; its `{key}` is not read");
                found.add(Finding::of_reading(fault, message));
            }
            _ => {}
        }
    }
}

/// `HeatSource` as `heat source`.
fn spaced(name: &str) -> String {
    let mut words = String::new();
    for c in name.chars() {
        if c.is_uppercase() && !words.is_empty() {
            words.push(' ');
        }
        words.extend(c.to_lowercase());
    }
    words
}

/// What takes no article.
const MASS_NOUNS: [&str; 4] = ["cooling", "glazing", "hot water", "water"];

/// A noun with its article and its verb: `a wall has`, `photographs have`.
fn in_a_sentence(noun: &str) -> String {
    match noun {
        _ if noun.ends_with('s') || noun.ends_with("people") => format!("{noun} have"),
        _ if MASS_NOUNS.contains(&noun) => format!("{noun} has"),
        _ if noun.starts_with(['a', 'e', 'i', 'o']) => format!("an {noun} has"),
        _ => format!("a {noun} has"),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::bench::messages;

    #[test]
    fn nouns_stand_in_a_sentence() {
        for (text, message) in [
            ("records: {photographs: {xxxx: 1}}\n", "photographs have no key `xxxx`"),
            ("project: {competent-people: {xxxx: 1}}\n", "competent people have no key `xxxx`"),
            ("water: {xxxx: 1}\n", "water has no key `xxxx`"),
            ("electric-mats: {E1: {xxxx: 1}}\n", "an electric mat has no key `xxxx`"),
            ("rooms: {hall: {xxxx: 1}}\n", "a room has no key `xxxx`"),
        ] {
            assert_eq!(messages(&RULE, text), [message]);
        }
    }
}
