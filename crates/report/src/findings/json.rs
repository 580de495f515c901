//! Findings for programs. The shape is that of `schema/check.schema.json`.

use super::{Ending, as_json};
use crate::places::Texts;
use crate::words::ten_digits;
use crate::{CAUTION, Summary, Unreadable};
use check::{Amount, Outcome, Place};
use serde::Serialize;
use serde_json::value::{RawValue, to_raw_value};

/// All that was found in one design: a member of the `designs` of a [`document`].
pub fn json(outcome: &Outcome) -> Box<RawValue> {
    let texts = Texts::new(&outcome.sources);
    let not_checked = outcome.not_checked.iter().map(|it| NotChecked {
        rule: it.rule.name,
        at: it.about.path(&outcome.design),
        missing: it.missing(&outcome.design),
    });
    let switched_off = outcome.house.switched_off().iter().map(|it| {
        let (file, span) = standing(&texts, it.place);
        SwitchedOff { rule: it.rule.name, reason: &it.reason, file, span }
    });
    let design = Design {
        file: outcome.sources.first().map_or("", |source| &source.path),
        findings: outcome.findings.iter().map(|it| Finding::new(it, outcome, &texts)).collect(),
        not_checked: not_checked.collect(),
        departures: outcome.departed.iter().map(|(it, by)| Departure::new(it, *by, outcome, &texts)).collect(),
        accepted: outcome.accepted.iter().map(|it| Finding::new(it, outcome, &texts)).collect(),
        house_standard: outcome.house.title(),
        switched_off: switched_off.collect(),
    };
    to_raw_value(&design).expect("every key is a word, and memory takes every byte")
}

/// The whole document, of the designs in the order given.
pub fn document(designs: &[Box<RawValue>], ending: &Ending) -> Vec<u8> {
    let entries = ending.stale.iter().map(|it| it.entry);
    let stale = entries.map(|it| Stale { file: &it.design, rule: &it.rule, at: &it.at, message: &it.message });
    let (unreadable, summary) = (ending.unreadable, &ending.summary);
    as_json(&Document { designs, unreadable, stale: stale.collect(), summary, caution: CAUTION })
}

#[derive(Serialize)]
struct Document<'d> {
    designs: &'d [Box<RawValue>],
    unreadable: &'d [Unreadable],
    stale: Vec<Stale<'d>>,
    summary: &'d Summary,
    caution: &'d str,
}

/// An accepted finding that stands no more.
#[derive(Serialize)]
struct Stale<'d> {
    file: &'d str,
    rule: &'d str,
    at: &'d str,
    message: &'d str,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct Design<'o> {
    file: &'o str,
    findings: Vec<Finding<'o>>,
    not_checked: Vec<NotChecked<'o>>,
    departures: Vec<Departure<'o>>,
    /// Findings that stood before and were accepted.
    accepted: Vec<Finding<'o>>,
    /// What it was held to, where there is a house standard.
    house_standard: Option<String>,
    switched_off: Vec<SwitchedOff<'o>>,
}

#[derive(Serialize)]
struct SwitchedOff<'o> {
    rule: &'o str,
    reason: &'o str,
    file: &'o str,
    span: Span,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct Finding<'o> {
    rule: &'o str,
    group: &'o str,
    severity: &'o str,
    /// The thing that it is about, by its stable name.
    at: String,
    message: &'o str,
    /// Whose the limit is.
    source: Option<&'o str>,
    limit: Option<AmountShown>,
    /// Where a house standard set the limit, and what it would be without that.
    limit_moved: Option<MovedLimit<'o>>,
    value: Option<AmountShown>,
    figure: Option<&'o str>,
    /// The address of the rule's page, where the house standard says where the pages are kept.
    guidance: Option<String>,
    /// The file that the span is in: the design or one of its libraries.
    file: &'o str,
    span: Span,
    related: Vec<Related<'o>>,
    remedies: Vec<Remedy<'o>>,
    /// What it said when it was accepted, where it has become worse than that.
    accepted_as: Option<&'o str>,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct MovedLimit<'o> {
    file: &'o str,
    span: Span,
    by_rule: &'o str,
}

#[derive(Serialize)]
struct AmountShown {
    value: f64,
    unit: &'static str,
}

#[derive(Serialize)]
struct Span {
    start: Position,
    end: Position,
    bytes: [usize; 2],
}

#[derive(Serialize)]
struct Position {
    line: u32,
    column: u32,
}

#[derive(Serialize)]
struct Related<'o> {
    message: &'o str,
    file: &'o str,
    span: Span,
}

#[derive(Serialize)]
struct Remedy<'o> {
    title: &'o str,
    edits: Vec<Edit<'o>>,
}

#[derive(Serialize)]
struct Edit<'o> {
    file: &'o str,
    span: Span,
    text: &'o str,
}

#[derive(Serialize)]
struct NotChecked<'o> {
    rule: &'o str,
    at: String,
    missing: String,
}

#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct Departure<'o> {
    rule: &'o str,
    severity: &'o str,
    at: String,
    message: &'o str,
    file: &'o str,
    span: Span,
    reason: Option<&'o str>,
    agreed_by: Option<&'o str>,
    until: Option<String>,
}

impl<'o> Finding<'o> {
    fn new(finding: &'o check::Finding, outcome: &Outcome, texts: &Texts<'o>) -> Finding<'o> {
        let limit = finding.limit.as_ref();
        let (file, span) = standing(texts, finding.place);
        let related = finding.related.iter().map(|it| {
            let (file, span) = standing(texts, it.place);
            Related { message: &it.message, file, span }
        });
        let remedies = finding.remedies.iter().map(|it| {
            let edits = it.changes.iter().map(|it| {
                let (file, span) = standing(texts, it.place);
                Edit { file, span, text: &it.text }
            });
            Remedy { title: &it.title, edits: edits.collect() }
        });
        Finding {
            rule: finding.rule.name,
            group: finding.rule.group.word(),
            severity: finding.severity.word(),
            at: finding.at(&outcome.design),
            message: &finding.message,
            source: limit.map(|it| &*it.source),
            limit: limit.and_then(|it| it.amount).map(AmountShown::new),
            limit_moved: limit.and_then(|it| it.house).map(|moved| {
                let (file, span) = standing(texts, moved.set_at);
                MovedLimit { file, span, by_rule: moved.by_rule }
            }),
            value: finding.value.map(AmountShown::new),
            figure: finding.figure.as_deref(),
            guidance: outcome.house.page_of(finding.rule),
            file,
            span,
            related: related.collect(),
            remedies: remedies.collect(),
            accepted_as: finding.accepted_as.as_deref(),
        }
    }
}

impl AmountShown {
    fn new(amount: Amount) -> AmountShown {
        AmountShown { value: ten_digits(amount.value), unit: amount.unit }
    }
}

impl<'o> Departure<'o> {
    fn new(finding: &'o check::Finding, by: usize, outcome: &'o Outcome, texts: &Texts<'o>) -> Departure<'o> {
        let departure = outcome.design.departures.get(by).map(|it| &it.value);
        let (file, span) = standing(texts, finding.place);
        Departure {
            rule: finding.rule.name,
            severity: finding.severity.word(),
            at: finding.at(&outcome.design),
            message: &finding.message,
            file,
            span,
            reason: departure.and_then(|it| it.reason.as_ref()).map(|it| &*it.value),
            agreed_by: departure.and_then(|it| it.agreed_by.as_ref()).map(|it| &*it.value),
            until: departure.and_then(|it| it.until).map(|it| it.value.to_string()),
        }
    }
}

/// The file and the span of a place.
fn standing<'o>(texts: &Texts<'o>, place: Place) -> (&'o str, Span) {
    let range = place.range();
    let at = |offset| match texts.of(place).map(|text| text.position(offset)) {
        Some(position) => Position { line: position.line, column: position.column },
        None => Position { line: 1, column: 1 },
    };
    let span = Span { start: at(range.start), end: at(range.end), bytes: [range.start, range.end] };
    (texts.of(place).map_or("", |text| text.path), span)
}

#[cfg(test)]
mod tests {
    use crate::checked;
    use crate::findings::{Form, tests::written};
    use serde_json::{Value, json};

    fn document(text: &str) -> Value {
        let outcome = checked(text);
        serde_json::from_str(&written(&outcome, Form::Json)).expect("a document is JSON")
    }

    #[test]
    fn spans_count_lines_and_characters_from_one() {
        let document = document("\u{feff}format: 1\r\nrooms: {hall: {temperature: 21 °C, area: 12}}\r\n");
        let findings = document["designs"][0]["findings"].as_array().cloned().unwrap_or_default();
        let bare = findings.iter().find(|it| it["rule"] == "unit-missing-or-wrong");
        let bare = bare.expect("an area without a unit is a finding");
        let (start, end) = (json!({"line": 2, "column": 42}), json!({"line": 2, "column": 44}));
        assert_eq!(bare["span"], json!({"start": start, "end": end, "bytes": [56, 58]}));
        assert_eq!(bare["severity"], "error");
        assert_eq!((&bare["limit"], &bare["value"]), (&Value::Null, &Value::Null));
    }

    #[test]
    fn a_span_names_the_file_it_is_in() {
        let document = document("format: 1\nlibrary: [pipes.yaml]\npipes:\n  thin: {}\n");
        let findings = document["designs"][0]["findings"].as_array().cloned().unwrap_or_default();
        let twice = findings.iter().find(|it| it["rule"] == "duplicate-name").expect("the name is given twice");
        assert_eq!((&twice["file"], &twice["related"][0]["file"]), (&json!("pipes.yaml"), &json!("house.ufh.yaml")));
    }
}
