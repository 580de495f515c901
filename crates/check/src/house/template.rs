//! A house standard to begin with: it changes nothing, and shows all that can be changed.

use crate::RULES;

const HEAD: &str = "\
# A house standard: what a firm asks of its designs beyond the rules, or otherwise than they do. It holds for every
# design in this folder and below. As it stands it changes nothing: take the `#` off the lines that you want, those of
# their block included. `hypocaust check house-standard.yaml` checks it by itself, and tries the examples of your rules.
format: 1
house-standard:
  name: Standard of the house
  revision: A
#  issued: 2026-01-31
#  agreed-by: technical director
#  guidance: https://rules.example

# The address above is where you keep what `hypocaust guidance --site` writes; findings then link to their pages.

# What every design must give, from a stage on. `*` stands for every name.
#required:
#  for-comment: [rooms/*/heat-loss, project/designer]
#  for-construction: [project/checker, manifolds/*/at]

# Rules of your own, in the Common Expression Language. `for-each` is design, floor, room, manifold, loop or
# electric-mat. `it` is the one that is looked at: `it.name`, `it.given` with the keys of the file, `it.figure` with what is
# worked out (`hypocaust workings` tells the names). A hyphen becomes an underscore. Beside `it` stand, for a loop,
# `manifold` and `rooms`; for a room, `floor` and `loops`; for a manifold `loops`; for a floor `rooms`; for a mat `room`; for
# the design `floors`, `rooms`, `manifolds`, `loops` and `electric_mats`: `manifold.name`, `loops.all(l, l.given.spacing < 0.2)`.
# Numbers are in SI units, temperatures in degrees Celsius; amount(\"90 m\") reads one with its unit. Lists take all, exists,
# exists_one, filter, map, size, total, least and greatest; text takes startsWith, endsWith and contains; has() asks whether
# something is there.
#own-rules:
#  our-loops-are-short:
#    for-each: loop
#    when: it.figure.length > amount(\"90 m\") && manifold.name != \"M9\"
#    message: loop {it.name} is {it.figure.length} long; ours have up to 90 m
#    severity: {preliminary: hint, for-comment: warning, for-construction: error}
#    guidance: Longer loops need a stronger pump than we keep in stock.
#    fails: '{loops: {L1: {length: 95 m, manifold: M1}}, manifolds: {M1: {}}, format: 1}'
#    passes: '{loops: {L1: {length: 90 m, manifold: M1}}, manifolds: {M1: {}}, format: 1}'

# What is changed of a rule: its limits, how much its findings weigh (error, warning, information, hint, silent, or one
# of them from a stage on), or that it is not run, and why. Rules that guard people stay as they are.
#rules:
#  definition-not-used: {switched-off: our designs share one library}
#  checker-missing: {severity: {for-comment: error}}
# These are the rules with limits that can be moved, and the limits that they have:
";

/// The text of a house standard that changes nothing.
pub fn start_house_standard() -> String {
    let mut text = HEAD.to_string();
    for rule in RULES.iter().filter(|rule| !rule.limits.is_empty() && !rule.stays_as_it_is()) {
        let limits: Vec<String> = rule.limits.iter().map(|it| format!("{}: {}", it.name, it.value)).collect();
        text += &format!("#  {}: {{limits: {{{}}}}}\n", rule.name, limits.join(", "));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::start_house_standard;
    use crate::bench::job;
    use crate::{Job, check};

    fn said(text: &str) -> Vec<String> {
        let outcome = check(&Job { path: "house-standard.yaml", ..job(text) });
        outcome.findings.into_iter().map(|it| it.message).collect()
    }

    #[test]
    fn it_is_sound_as_it_stands_and_with_all_that_it_shows() {
        let text = start_house_standard();
        assert_eq!(said(&text), [""; 0]);
        // With every example taken in.
        let mut lines: Vec<String> = Vec::new();
        for line in text.lines() {
            // Prose has a space behind its sign, what can be taken in has none, or two.
            match line.strip_prefix('#') {
                Some(rest) if !rest.starts_with(' ') || rest.starts_with("  ") => lines.push(rest.to_string()),
                _ => lines.push(line.to_string()),
            }
        }
        let all = lines.join("\n") + "\n";
        assert_eq!(said(&all), [""; 0], "{all}");
        assert!(all.lines().filter(|line| line.contains("{limits: {")).count() > 50);
    }
}
