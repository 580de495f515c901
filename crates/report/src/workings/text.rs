//! Workings for people.

use crate::places::Texts;
use crate::words::{file_name, sentence};
use check::Outcome;
use workings::{Input, Line};

/// The figures asked for, each with how it came about.
pub fn text(outcome: &Outcome, lines: &[&Line]) -> String {
    let texts = Texts::new(&outcome.sources);
    let mut text = String::new();
    for line in lines {
        let name = sentence(&line.name);
        match &line.worked {
            Err(gap) => {
                text += &format!("{name}: not worked out\n  missing: {}\n\n", sentence(&gap.wants(&outcome.design)));
            }
            Ok(figure) => {
                text += &format!("{name} = {}\n", line.shown.as_deref().unwrap_or_default());
                text += &format!("  {}\n", figure.formula);
                for input in &figure.inputs {
                    text += &format!("    {input}{}\n", stands(&texts, input));
                }
                for assumption in &figure.assumptions {
                    text += &format!("  assumed: {assumption}\n");
                }
                text += &format!("  source: {}\n\n", figure.source);
            }
        }
    }
    text
}

/// Where an input stands, if it stands in a file.
fn stands(texts: &Texts, input: &Input) -> String {
    let Some((place, text)) = input.at.and_then(|place| Some((place, texts.of(place)?))) else { return String::new() };
    let line = text.lines.line(place.range().start);
    match place.file.number() {
        0 => format!(" (line {line})"),
        _ => format!(" ({} line {line})", file_name(text.path)),
    }
}
