//! Workings for programs. The shape is that of `schema/workings.schema.json`.

use crate::CAUTION;
use crate::findings::with_escapes;
use crate::places::Texts;
use crate::words::ten_digits;
use check::Outcome;
use serde::{Serialize, Serializer};
use workings::{Input, Line};

/// The figures asked for, each with how it came about, and what is missing for the others.
pub fn json(outcome: &Outcome, lines: &[&Line]) -> String {
    let texts = Texts::new(&outcome.sources);
    let mut sheet = Sheet {
        file: outcome.sources.first().map_or("", |source| &source.path),
        figures: Vec::new(),
        missing: Vec::new(),
        caution: CAUTION,
    };
    for line in lines {
        match &line.worked {
            Err(gap) => sheet.missing.push((&line.name, gap.wants(&outcome.design))),
            Ok(figure) => {
                let figure = Figure {
                    value: ten_digits(figure.value),
                    unit: line.unit,
                    formula: figure.formula,
                    inputs: figure.inputs.iter().map(|it| InputShown::new(it, &texts)).collect(),
                    assumptions: &figure.assumptions,
                    source: figure.source,
                };
                sheet.figures.push((&line.name, figure));
            }
        }
    }
    let text = serde_json::to_string_pretty(&sheet).expect("every key is a word, and memory takes every byte");
    let mut text = with_escapes(text);
    text.push('\n');
    text
}

#[derive(Serialize)]
struct Sheet<'o> {
    file: &'o str,
    #[serde(serialize_with = "as_object")]
    figures: Vec<(&'o str, Figure<'o>)>,
    #[serde(serialize_with = "as_object")]
    missing: Vec<(&'o str, String)>,
    caution: &'o str,
}

#[derive(Serialize)]
struct Figure<'o> {
    value: f64,
    unit: &'o str,
    formula: &'o str,
    inputs: Vec<InputShown<'o>>,
    assumptions: &'o [&'o str],
    source: &'o str,
}

#[derive(Serialize)]
struct InputShown<'o> {
    name: &'o str,
    value: f64,
    unit: &'o str,
    /// Where it stands, if it stands in a file.
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<&'o str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    line: Option<u32>,
}

impl<'o> InputShown<'o> {
    fn new(input: &Input, texts: &Texts<'o>) -> InputShown<'o> {
        let stands = input.at.and_then(|place| Some((place, texts.of(place)?)));
        InputShown {
            name: input.name,
            value: ten_digits(input.value),
            unit: input.unit,
            file: stands.map(|(_, text)| text.path),
            line: stands.map(|(place, text)| text.lines.line(place.range().start)),
        }
    }
}

fn as_object<V: Serialize, S: Serializer>(entries: &[(&str, V)], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_map(entries.iter().map(|(name, value)| (name, value)))
}
