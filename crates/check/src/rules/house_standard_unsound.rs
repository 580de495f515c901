//! A house standard makes sense, and its own rules do what their examples claim.
//!
//! A limit under a misspelt name holds nobody to anything, and an own rule that cannot be followed looks like one that
//! found nothing.
//!
//! ## How it is worked out
//! Every rule and limit that it names must be there, and a limit must be of the kind of the rule's own. Rules that guard
//! people, or the reading of the file, cannot be switched off, moved or made to weigh less; each says so on its page. The expressions of own rules are
//! read and every name in them is looked up before any design is; one that still takes one kind of value for another is told
//! when it is evaluated. Where the house standard itself is checked, the examples of its own rules are: a design under
//! `fails` must bring the finding, and one under `passes` must not.
//!
//! ```yaml fails
//! # house-standard.yaml
//! rules:
//!   loop-pressure-drop-to-high: {limits: {most: 15 kPa}}
//! # ^^^^^^^^^^^^^^^^^^^^^^^^^^ there is no rule `loop-pressure-drop-to-high`; did you mean `loop-pressure-drop-too-high`
//! ```
//! ```yaml remedied
//! # house-standard.yaml
//! rules:
//!   loop-pressure-drop-too-high: {limits: {most: 15 kPa}}
//! ```
//! ```yaml fails
//! # house-standard.yaml
//! own-rules:
//!   our-loops-are-short:
//!     for-each: loop
//!     when: it.figure.lenght > amount("90 m")
//! #                   ^^^^^^ what is worked out of a loop has no `lenght`; did you mean `length`
//!     message: loop {it.name} is {it.figure.length} long; ours have up to 90 m
//! ```
//! ```yaml passes
//! # house-standard.yaml
//! own-rules:
//!   our-loops-are-short:
//!     for-each: loop
//!     when: it.figure.length > amount("90 m")
//!     message: loop {it.name} is {it.figure.length} long; ours have up to 90 m
//! ```

use super::prelude::*;
use crate::Job;
use design::{OwnRule, Placed};

pub static RULE: Rule = Rule {
    name: "house-standard-unsound",
    group: Group::DesignFile,
    weights: [Error; 4],
    takes_departures: false,
    file: include_str!("house_standard_unsound.rs"),
    check,
    ..Rule::USUAL
};

pub(crate) const SOURCE: &str = "the format of house standards, version 1";

fn check(inspection: &Inspection, found: &mut Findings) {
    for fault in inspection.house.faults() {
        let finding = Finding::new(Subject::Design, fault.place, fault.message.clone()).source(SOURCE);
        let remedy =
            fault.meant.as_ref().map(|meant| Remedy::new(format!("write `{meant}`"), fault.place, meant.clone()));
        found.add(finding.at_path(&fault.path).remedy(remedy));
    }
    let Some(standard) = &inspection.reading.house_standard else { return };
    let own = inspection.reading.sources.first().filter(|source| design::is_house_standard(&source.path));
    if let Some(own) = own {
        for (name, entry) in standard.own_rules.iter() {
            for (claim, at) in broken_claims(inspection, name, &entry.value, own) {
                let finding = Finding::new(Subject::Design, at.at, claim).source(SOURCE);
                found.add(finding.at_path(&format!("own-rules/{name}")));
            }
        }
    }
}

/// What does not hold of the examples of an own rule, each with the example.
fn broken_claims<'r>(
    inspection: &Inspection,
    name: &str,
    rule: &'r OwnRule,
    standard: &design::Source,
) -> Vec<(String, &'r Placed<String>)> {
    if !inspection.house.own_rules().iter().any(|it| it.rule.name == name) {
        return Vec::new();
    }
    let files = |path: &str| match path == standard.path {
        true => Ok(standard.text.as_bytes().to_vec()),
        false => Err("an example stands by itself".to_string()),
    };
    let claims = rule.fails.iter().map(|it| (it, true)).chain(rule.passes.iter().map(|it| (it, false)));
    let broken = claims.filter_map(|(example, fails)| {
        let says =
            example.value.trim_start().starts_with('{') || example.value.lines().any(|it| it.starts_with("format:"));
        let head = if says { "" } else { "format: 1\n" };
        let text = format!("{head}{}", example.value);
        let outcome = crate::look(&Job {
            path: "example.ufh.yaml",
            bytes: text.as_bytes(),
            files: &files,
            house_standard: Some(&standard.path),
            today: inspection.today,
            remedies: false,
        });
        let unread = outcome.findings.iter().find(|it| it.path.is_some() && it.place.file.number() == 0);
        let is_found = outcome.findings.iter().chain(&outcome.followers).any(|it| it.rule.name == name);
        let not_checked = outcome.not_checked.iter().find(|it| it.rule.name == name);
        let claim = match (unread, fails, is_found) {
            (Some(unread), ..) => format!("this example of {name} cannot be read: {}", unread.message),
            (None, true, false) => match not_checked {
                Some(missing) => {
                    format!("this design must fail {name}, which cannot look: {}", missing.missing(&outcome.design))
                }
                None => format!("this design must fail {name}, and does not"),
            },
            (None, false, true) => format!("this design must pass {name}, and does not"),
            (None, false, false) if not_checked.is_some() => format!(
                "this design must pass {name}, which cannot look: {}",
                not_checked.map(|it| it.missing(&outcome.design)).unwrap_or_default()
            ),
            _ => return None,
        };
        Some((claim, example))
    });
    broken.collect()
}

#[cfg(test)]
mod tests {
    use crate::bench::messages;

    fn said(standard: &str) -> Vec<String> {
        messages(&super::RULE, &format!("# house-standard.yaml\n{standard}"))
    }

    #[test]
    fn what_guards_people_stays() {
        let rule = crate::RULES.iter().find(|it| !it.takes_departures && it.group == crate::Group::Safety).unwrap();
        for setting in ["switched-off: we never do", "severity: hint"] {
            let said = said(&format!("rules:\n  {}: {{{setting}}}\n", rule.name));
            assert!(matches!(&said[..], [one] if one.contains("guards people")), "{}: {said:?}", rule.name);
        }
    }

    #[test]
    fn a_limit_is_of_its_rules_kind() {
        let limit =
            |text: &str| said(&format!("rules:\n  loop-pressure-drop-too-high: {{limits: {{most: {text}}}}}\n"));
        assert_eq!(limit("150 mbar").len(), 0);
        assert_eq!(limit("15 m"), ["`15 m` is not a pressure, as in `20 kPa`, which the rule itself has"]);
        assert_eq!(
            said("rules:\n  loop-pressure-drop-too-high: {limits: {mots: 15 kPa}}\n"),
            ["rule loop-pressure-drop-too-high has no limit `mots`; it has most"]
        );
    }

    #[test]
    fn a_rule_is_switched_off_for_a_reason() {
        assert_eq!(
            said(
                "rules:\n  flow-is-laminar: {severity: {preliminary: silent, for-comment: silent, for-construction: silent, as-built: silent}}\n"
            ),
            ["a rule that is silent at every stage is switched off: say `switched-off:` and why"]
        );
        assert_eq!(said("rules:\n  flow-is-laminar: {switched-off: our pumps are strong}\n").len(), 0);
        assert_eq!(
            said("rules:\n  flow-is-laminar: {switched-off: ' '}\n"),
            ["a rule is switched off for a reason in words, and none is given"]
        );
    }

    #[test]
    fn no_rule_that_guards_people_can_be_weakened() {
        for name in [
            "air-test-without-care",
            "scald-guard-missing",
            "asbestos-not-asked",
            "pressure-test-too-low",
            "joist-notch-too-deep",
        ] {
            assert_eq!(said(&format!("rules:\n  {name}: {{switched-off: we never do}}\n")).len(), 1, "{name}");
            assert_eq!(said(&format!("rules:\n  {name}: {{severity: silent}}\n")).len(), 1, "{name}");
            assert_eq!(said(&format!("rules:\n  {name}: {{severity: {{as-built: hint}}}}\n")).len(), 1, "{name}");
            assert_eq!(said(&format!("rules:\n  {name}: {{severity: error}}\n")), [""; 0], "{name}");
        }
        let moved = said("rules:\n  scald-guard-missing: {limits: {greatest-bath-temperature: 90 °C}}\n");
        assert!(matches!(&moved[..], [one] if one.ends_with("its limits are not moved")), "{moved:?}");
        for reason in ["no", "false", "true"] {
            assert_eq!(
                said(&format!("rules:\n  velocity-too-high: {{switched-off: {reason}}}\n")).len(),
                1,
                "{reason}"
            );
        }
    }

    /// A house standard is no design: what is asked of designs is not asked of it.
    #[test]
    fn a_standard_is_not_held_against_itself() {
        let text = "# house-standard.yaml\nrules:\n  checker-missing: {severity: {preliminary: error}}\nrequired: {preliminary: [project/name]}\n\
                    own-rules:\n  ours:\n    for-each: design\n    when: '!has(it.given.water)'\n    message: no water is described\n";
        let outcome = crate::bench::check(text);
        assert!(outcome.findings.is_empty() && outcome.not_checked.is_empty(), "{:?}", outcome.findings);
    }

    #[test]
    fn measured_values_are_held_against_their_like() {
        let when = |expression: &str| {
            said(&format!("own-rules:\n  ours:\n    for-each: loop\n    message: no\n    when: {expression}\n"))
        };
        assert_eq!(
            when("it.given.spacing <= 150"),
            ["a number without a unit is held against a length; write `amount(\"150 mm\")`"]
        );
        assert_eq!(when("it.given.tails > amount(\"8 kPa\")"), ["`8 kPa` is held against a length"]);
        assert_eq!(when("it.given.tails > 0"), [""; 0]);
        assert_eq!(when("it.figure.length > amount(\"5 kPa\")"), ["`5 kPa` is held against a length"]);
        assert_eq!(when("it.figure.heat_up > it.figure.length"), ["a length is held against a power",]);
        assert_eq!(when("it.figure.length * 2.0 > amount(\"20 W\")"), ["`20 W` is held against a length"]);
        assert_eq!(when("it.figure.length - it.given.tails < amount(\"20 m\")"), [""; 0]);
        assert_eq!(when("it.figure.flow_temperature - it.figure.return_temperature < amount(\"3 K\")"), [""; 0]);
        assert_eq!(
            when("it.given.layout == \"spirale\""),
            ["it is never `spirale`; did you mean `spiral`: the format has meander, spiral"]
        );
        assert_eq!(
            when("it.manifold.name == \"M1\""),
            ["`manifold` stands by itself: `manifold.name`, not under another thing"]
        );
    }

    #[test]
    fn own_rules_are_bounded_in_number() {
        let rules: String =
            (0..210).map(|at| format!("  ours-{at}: {{for-each: loop, when: 'false', message: no}}\n")).collect();
        let said = said(&format!("own-rules:\n{rules}"));
        assert_eq!(said, ["a house standard has up to 200 own rules; those from here on are not run"]);
    }

    /// What the interpreter itself would follow for minutes, or to the end of its memory.
    #[test]
    fn an_expression_is_bounded() {
        let when = |expression: &str| {
            said(&format!(
                "own-rules:\n  ours:\n    for-each: design\n    message: no\n    when: '{}'\n",
                expression.replace('\'', "''")
            ))
        };
        let nested = "loops.all(a, loops.all(b, loops.all(c, true)))";
        assert_eq!(when(nested), ["a list is not walked within the walk over another"]);
        assert_eq!(
            when("loops.all(a, loops == loops)"),
            ["say what of it is meant: its `name`, a key of it as `given`, or a `figure`"]
        );
        assert_eq!(
            when("rooms.all(r, it.given.records == it.given.records)"),
            ["within a walk over a list, only single values from outside of it can be looked at"]
        );
        let grows = format!("[1]{}.all(m, m == m)", ".map(m, [m, m, m, m])".repeat(14));
        assert_eq!(when(&grows), ["only a list of the design can be walked over, or what a filter leaves of it"]);
        assert_eq!(when("rooms.map(r, r.name).all(n, n == n)").len(), 1);
        assert_eq!(when("rooms.all(r, [rooms] == [rooms])").len(), 1);
        assert_eq!(when("rooms.filter(r, r.name != \"a\").all(r, r.name.startsWith(\"b\"))"), [""; 0]);
        assert_eq!(when("contains(\"a\", \"b\")").len(), 1);
        assert_eq!(when(&format!("{}true", "!".repeat(400))).len(), 1);
        assert_eq!(when(&format!("1{} > 2", " + 1".repeat(300))).len(), 1);
        assert_eq!(when(&"(".repeat(900)).len(), 1);
        assert!(when("lists.range(1000000000).all(x, true)")[0].starts_with("there is no function `range`"));
        assert!(when("matches(it.given.project.name, \"(a*)*b\")")[0].starts_with("there is no function `matches`"));
        assert!(when("loop.length > 3.0")[0].contains("`loop` is a reserved word"));
        assert_eq!(when("size(loops) >"), ["the expression cannot be read: something is missing at its end"]);
        assert_eq!(when("size(loops) > > 3"), ["the expression cannot be read: `>` is not expected here"]);
    }

    #[test]
    fn examples_of_own_rules_are_held_to_their_claims() {
        let rule = |fails: &str, passes: &str| {
            said(&format!(
                "own-rules:\n  ours:\n    for-each: room\n    when: it.given.temperature > amount(\"22 °C\")\n    message: room \
                 {{it.name}} is kept at {{it.given.temperature}}\n    fails: '{fails}'\n    passes: '{passes}'\n"
            ))
        };
        let (warm, cool) = ("rooms: {hall: {temperature: 24 °C}}", "rooms: {hall: {temperature: 20 °C}}");
        assert_eq!(rule(warm, cool), [""; 0]);
        assert_eq!(
            rule(cool, warm),
            ["this design must fail ours, and does not", "this design must pass ours, and does not"]
        );
        let broken = rule("rooms: {hall: {temperature: 24}}", cool);
        assert!(matches!(&broken[..], [one] if one.starts_with("this example of ours cannot be read")), "{broken:?}");
    }
}
