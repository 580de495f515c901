//! A house standard to begin with: it changes nothing, and shows all that can be changed.

use crate::RULES;

const HEAD: &str = "\
# A house standard: what a firm asks of its designs beyond the rules, or otherwise than they do. It holds for every
# design in this folder and below. As it stands it changes nothing: take the `#` off what you want, and check it by
# itself, which tries the examples of your own rules too.
format: 1
house-standard:
  name: Standard of the house
  revision: A
  # issued: 2026-01-31
  # agreed-by: technical director

# What every design must give, from a stage on. `*` stands for every name.
required: {}
#   for-comment: [rooms/*/heat-loss, project/designer]
#   for-construction: [project/checker, manifolds/*/at]

# Rules of your own, in the Common Expression Language. `for-each` is design, floor, room, manifold, loop or
# electric-mat; `it` is the one that is looked at, `it.given` what the file gives of it, `it.figure` what is worked out
# (`hypocaust workings` tells the names; a hyphen becomes an underscore). A loop has `manifold` and `rooms`, a room
# `floor` and `loops`, a manifold and the design `loops`, a floor `rooms`. Amounts have their units: amount(\"90 m\").
own-rules: {}
#   our-loops-are-short:
#     for-each: loop
#     when: it.figure.length > amount(\"90 m\")
#     message: loop {it.name} is {it.figure.length} long; ours have up to 90 m
#     severity: {preliminary: hint, for-comment: warning, for-construction: error}
#     guidance: Longer loops need a stronger pump than we keep in stock.
#     fails: 'loops: {L1: {length: 95 m}}'
#     passes: 'loops: {L1: {length: 90 m}}'

# What is changed of a rule: its limits, how much its findings weigh (error, warning, information, hint, silent, or one
# of them for each stage), or that it is not run, and why. Rules that guard people stay as they are.
rules: {}
#   definition-not-used: {switched-off: our designs share one library}
#   checker-missing: {severity: {for-comment: error}}
# These are the rules with limits, and the limits that they have:
";

/// The text of a house standard that changes nothing.
pub fn start_house_standard() -> String {
    let mut text = HEAD.to_string();
    for rule in RULES.iter().filter(|rule| !rule.limits.is_empty() && rule.takes_departures) {
        let limits: Vec<String> = rule.limits.iter().map(|it| format!("{}: {}", it.name, it.value)).collect();
        text += &format!("#   {}: {{limits: {{{}}}}}\n", rule.name, limits.join(", "));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::start_house_standard;
    use crate::{Job, check};

    fn said(text: &str) -> Vec<String> {
        let outcome = check(&Job {
            path: "house-standard.yaml",
            bytes: text.as_bytes(),
            files: &|path| Err(path.to_string()),
            house_standard: None,
            today: jiff::civil::date(2026, 6, 1),
            remedies: false,
        });
        outcome.findings.into_iter().map(|it| it.message).collect()
    }

    #[test]
    fn it_is_sound_as_it_stands_and_with_all_that_it_shows() {
        let text = start_house_standard();
        assert_eq!(said(&text), [""; 0]);
        // With every example taken in.
        let mut lines: Vec<String> = Vec::new();
        for line in text.lines() {
            let shown = line.strip_prefix("#   ").map(|rest| format!("  {rest}"));
            match (shown, line.strip_suffix(" {}")) {
                (Some(shown), _) => lines.push(shown),
                (None, Some(key)) => lines.push(key.to_string()),
                (None, None) => lines.push(line.to_string()),
            }
        }
        let all = lines.join("\n") + "\n";
        assert_eq!(said(&all), [""; 0], "{all}");
        assert!(all.lines().filter(|line| line.contains("{limits: {")).count() > 50);
    }
}
