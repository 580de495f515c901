//! The bench on which rules are tried: a text in, findings out.

use crate::{Finding, Guidance, Job, Outcome, RULES, Rule};
use jiff::civil::Date;

/// A small clean design; its blocks fill in those that an example leaves out.
pub const BASE: &str = include_str!("bench/base.ufh.yaml");

/// The day on which the bench checks.
const TODAY: Date = jiff::civil::date(2026, 6, 1);

/// How an example begins that is a house standard, and how the design begins that is held against it.
const STANDARD: &str = "# house-standard.yaml\n";
const DESIGN: &str = "# house.ufh.yaml\n";

/// The house standard of an example, if it begins with one, and whether no design follows.
fn standard(example: &str) -> Option<(String, bool)> {
    let standard = example.strip_prefix(STANDARD).and(example.split(DESIGN).next())?;
    let format = if standard.contains("\nformat:") { "" } else { "format: 1\n" };
    Some((format!("{standard}{format}"), !example.contains(DESIGN)))
}

/// The example with the blocks of the base that it leaves out behind it, so that its lines keep their numbers. A house
/// standard before it is left out, but for its lines.
pub fn filled(example: &str) -> String {
    let mut text = match standard(example) {
        Some((standard, true)) => return standard,
        Some(_) => {
            let (standard, design) = example.split_once(DESIGN).unwrap_or_default();
            format!("{}#\n{design}", "#\n".repeat(standard.matches('\n').count()))
        }
        None => example.to_string(),
    };
    let example = text.clone();
    if !text.ends_with('\n') {
        text.push('\n');
    }
    for block in blocks(BASE) {
        let key = block.split(':').next().unwrap_or_default();
        if !example.lines().any(|line| line.split(':').next() == Some(key)) {
            text.push_str(block);
        }
    }
    text
}

/// The top-level blocks of a text, each with the lines under it.
fn blocks(text: &str) -> Vec<&str> {
    let mut starts: Vec<usize> = text
        .match_indices('\n')
        .map(|(at, _)| at + 1)
        .filter(|at| text[*at..].starts_with(|c: char| c.is_ascii_alphabetic()))
        .collect();
    starts.insert(0, 0);
    starts.push(text.len());
    starts.windows(2).map(|pair| &text[pair[0]..pair[1]]).collect()
}

/// A design that stands by itself, as it is written: no file beside it, no house standard, remedies proposed and not tried.
pub fn job(text: &str) -> Job<'_> {
    Job {
        path: "a.ufh.yaml",
        bytes: text.as_bytes(),
        files: &|path| Err(format!("there is no {path} on the bench")),
        house_standard: None,
        today: TODAY,
        remedies: false,
    }
}

/// Checks an example with the base behind it, remedies tried out.
pub fn check(example: &str) -> Outcome {
    let text = filled(example);
    let standard = standard(example);
    crate::check(&Job {
        path: if matches!(standard, Some((_, true))) { "house-standard.yaml" } else { "example.ufh.yaml" },
        files: &|path| match &standard {
            Some((text, _)) if path == "house-standard.yaml" => Ok(text.clone().into_bytes()),
            _ => Err(format!("there is no {path} on the bench")),
        },
        house_standard: standard.as_ref().map(|_| "house-standard.yaml"),
        remedies: true,
        ..job(&text)
    })
}

/// What a rule says of an example, one message each.
pub fn messages(rule: &Rule, example: &str) -> Vec<String> {
    check(example).findings.into_iter().filter(|it| it.rule.name == rule.name).map(|it| it.message).collect()
}

/// What a rule could not look at in an example: the missing field of each.
pub fn not_checked(rule: &Rule, example: &str) -> Vec<String> {
    let outcome = check(example);
    let of_rule = outcome.not_checked.iter().filter(|it| it.rule.name == rule.name);
    of_rule.map(|it| it.missing(&outcome.design)).collect()
}

/// A finding as an example marks it: line and column from 1, length in letters, message.
type Mark = (usize, usize, usize, String);

/// What an example marks with carets in comments under its lines.
fn marks(example: &str) -> Vec<Mark> {
    let mut marks = Vec::new();
    let mut above = 0;
    for (at, line) in example.lines().enumerate() {
        let comment = line.trim_start().strip_prefix('#').map(str::trim_start);
        match comment {
            Some(comment) if comment.starts_with('^') => {
                let column = line.chars().position(|c| c == '^').unwrap_or_default() + 1;
                let carets = comment.chars().take_while(|c| *c == '^').count();
                marks.push((above, column, carets, comment[carets..].trim().to_string()));
            }
            _ => above = at + 1,
        }
    }
    marks
}

/// A finding as a mark. One that runs over its line is marked to the line's end.
fn mark(finding: &Finding, text: &str) -> Mark {
    let before = &text[..finding.place.range().start];
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    let marked = text[finding.place.range()].lines().next().unwrap_or_default().trim_end();
    (line, column, marked.chars().count().max(1), finding.message.clone())
}

/// Holds every example of a rule to its claim; what does not hold, in words.
fn broken_claims(rule: &Rule) -> Vec<String> {
    let mut broken = Vec::new();
    let mut failing: Option<(String, Outcome)> = None;
    for example in Guidance::of(rule).examples() {
        let text = filled(&example.text);
        let outcome = check(&example.text);
        let mut found: Vec<Mark> =
            outcome.findings.iter().filter(|it| it.rule.name == rule.name).map(|it| mark(it, &text)).collect();
        found.sort();
        let mut say = |what: String| broken.push(format!("{}: {what}\n{}", rule.name, example.text));
        match example.claim.as_str() {
            "fails" => {
                let mut wanted = marks(&example.text);
                wanted.sort();
                if wanted.is_empty() {
                    say("an example that fails must mark its findings with ^^^ and the message".into());
                }
                if found != wanted {
                    say(format!("marked {wanted:#?}\nfound {found:#?}"));
                }
                failing = Some((text, outcome));
            }
            "passes" if !found.is_empty() => say(format!("must pass, but found {found:#?}")),
            "passes" => {}
            "remedied" => {
                let Some((before, outcome)) = &failing else {
                    say("a remedied example must follow the one that fails".into());
                    continue;
                };
                let finding = outcome.findings.iter().find(|it| it.rule.name == rule.name);
                match finding.and_then(|it| it.remedies.first()) {
                    None => say("the finding has no remedy that was shown to work".into()),
                    Some(remedy) => {
                        let edits: Vec<yaml_tree::Edit> = remedy
                            .changes
                            .iter()
                            .map(|it| yaml_tree::Edit { range: it.place.range(), text: it.text.clone() })
                            .collect();
                        let after = yaml_tree::apply(before, &edits).unwrap_or_default();
                        let without_marks = |text: &str| -> String {
                            let lines = text.lines().filter(|line| {
                                !line.trim_start().trim_start_matches('#').trim_start().starts_with('^')
                                    || !line.trim_start().starts_with('#')
                            });
                            lines.flat_map(|line| [line, "\n"]).collect()
                        };
                        if without_marks(&after) != without_marks(&text) {
                            say(format!("the remedy `{}` gives\n{}", remedy.title, without_marks(&after)));
                        }
                    }
                }
            }
            other => say(format!("an example claims `{other}`; it may claim fails, passes or remedied")),
        }
    }
    broken
}

#[test]
fn every_example_holds() {
    let broken: Vec<String> = RULES.iter().flat_map(|rule| broken_claims(rule)).collect();
    assert!(broken.is_empty(), "{} claims do not hold:\n\n{}", broken.len(), broken.join("\n\n"));
}

#[test]
fn the_base_is_clean() {
    let outcome = check("");
    let said: Vec<String> = outcome.findings.iter().map(|it| format!("{:?} {}", it.rule, it.message)).collect();
    assert!(said.is_empty(), "{said:#?}");
}

/// On a coarse grid everything touches, overlaps, repeats and lies on one line; some of it lies far out.
#[test]
fn any_plan_is_checked_to_the_end() {
    let mut state = 5u64;
    let mut below = move |count: u64| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) % count
    };
    for _ in 0..40 {
        let mut number = || match below(40) {
            0 => "1e9".to_string(),
            1 => "4000".to_string(),
            2 => "0.00001".to_string(),
            3 => "-0.0".to_string(),
            4 => "1e-300".to_string(),
            other => format!("{}", other % 7),
        };
        let mut points = |count: u64| -> String {
            let points: Vec<String> = (0..count).map(|_| format!("[{}, {}]", number(), number())).collect();
            format!("[{}]", points.join(", "))
        };
        let text = format!(
            "rooms:\n  hall: {{use: hall, floor: screeded, temperature: 18 °C, heat-loss: 90 W, outline: {}, keep-clear: {{a: {}, b: {}}}, \
             outside-walls: [{}]}}\n  study: {{floor: screeded, temperature: 20 °C, heat-loss: 90 W, outline: {}, edge-zone: {{width: 1 m, spacing: \
             100 mm}}}}\nwalls:\n  W1: {{line: {}, thickness: 100 mm, kind: outside}}\n  W2: {{line: {}}}\nopenings:\n  D1: {{wall: W1, from: 1 m, to: 2 \
             m}}\n  D2: {{wall: W2, from: 3 m, to: 1 m}}\nmovement-joints:\n  J1: {{line: {}}}\n  J2: {{line: {}}}\n  J3: {{line: {}, kind: building joint}}\n\
             uprights:\n  C1: {{kind: column, outline: {}, edge-strip: false}}\nmanifolds:\n  M1: {{at: [1, 1]}}\nloops:\n  L1: {{manifold: M1, room: [hall, \
             study], pipe: PEX-16, spacing: 150 mm, route: {}}}\n  L2: {{manifold: M1, room: study, pipe: PEX-16, spacing: 200 mm, length: 20 m, route: {}}}\n",
            points(4),
            points(4),
            points(3),
            points(2),
            points(5),
            points(2),
            points(2),
            points(2),
            points(2),
            points(2),
            points(4),
            points(9),
            points(6)
        );
        let outcome = check(&text);
        for finding in &outcome.findings {
            assert!(
                !finding.message.contains("NaN") && !finding.message.contains("-0 "),
                "{}\n{text}",
                finding.message
            );
        }
    }
}

#[test]
fn every_limit_can_be_read() {
    use quantity::*;
    for rule in RULES {
        for limit in rule.limits {
            let value = limit.value;
            let reads = Length::parse(value).is_ok()
                || Area::parse(value).is_ok()
                || Temperature::parse(value).is_ok()
                || TemperatureDifference::parse(value).is_ok()
                || HeatFlux::parse(value).is_ok()
                || ThermalResistance::parse(value).is_ok()
                || Transmittance::parse(value).is_ok()
                || VolumeFlow::parse(value).is_ok()
                || Velocity::parse(value).is_ok()
                || Pressure::parse(value).is_ok()
                || Duration::parse(value).is_ok()
                || Share::parse(value).is_ok()
                || Number::parse(value).is_ok()
                || Voltage::parse(value).is_ok()
                || Current::parse(value).is_ok()
                || ElectricalResistance::parse(value).is_ok()
                || ArealMass::parse(value).is_ok()
                || SpecificVolume::parse(value).is_ok()
                || Power::parse(value).is_ok();
            assert!(reads, "{}: the limit {} is `{value}`", rule.name, limit.name);
            assert!(!limit.source.is_empty(), "{}: the limit {} has no source", rule.name, limit.name);
        }
    }
}

#[test]
fn every_rule_proves_itself() {
    for rule in RULES {
        let guidance = Guidance::of(rule);
        assert!(!guidance.summary.is_empty(), "{} has no page", rule.name);
        let claims: Vec<String> = guidance.examples().into_iter().map(|it| it.claim).collect();
        assert!(claims.iter().any(|it| it == "fails"), "{} has no example that fails", rule.name);
        assert!(claims.iter().any(|it| it == "passes" || it == "remedied"), "{} has no example that passes", rule.name);
    }
}
