//! SVG as text: numbers, shapes and words. All that a design file says goes through [`escaped`].
//!
//! Written by hand: the drawing needs six kinds of element, and the crates that were weighed either keep the whole
//! drawing as a tree or leave quotation marks and control characters to the caller.

use super::paper::{Block, Spot};
use crate::words::{escaped, sentence};
use engineering::plan::Part;
use std::fmt::Write;

/// A drawing that is being written.
#[derive(Debug, Default)]
pub struct Ink {
    text: String,
}

/// Words on the sheet.
#[derive(Debug, Clone, Copy)]
pub struct Words<'w> {
    pub text: &'w str,
    pub at: Spot,
    /// The size of the letters, in millimetres.
    pub size: f64,
    pub anchor: Anchor,
    pub bold: bool,
    /// Turned against the clock, in degrees.
    pub turned: f64,
    pub colour: &'w str,
    /// Whether white runs round the letters, to lift them off the lines below.
    pub halo: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

/// Letters as small as can be read on a building site.
pub const SMALL: f64 = 2.1;
pub const BODY: f64 = 2.4;
pub const HEADING: f64 = 3.2;
pub const TITLE: f64 = 4.6;

pub const BLACK: &str = "#000";
pub const GREY: &str = "#555";

impl<'w> Words<'w> {
    /// Plain words in black that begin at a spot.
    pub fn new(text: &'w str, at: Spot, size: f64) -> Words<'w> {
        Words { text, at, size, anchor: Anchor::Start, bold: false, turned: 0.0, colour: BLACK, halo: false }
    }

    pub fn anchor(self, anchor: Anchor) -> Words<'w> {
        Words { anchor, ..self }
    }

    pub fn bold(self) -> Words<'w> {
        Words { bold: true, ..self }
    }

    pub fn turned(self, turned: f64) -> Words<'w> {
        Words { turned, ..self }
    }

    pub fn colour(self, colour: &'w str) -> Words<'w> {
        Words { colour, ..self }
    }

    pub fn halo(self) -> Words<'w> {
        Words { halo: true, ..self }
    }
}

impl Ink {
    /// The text of the drawing so far.
    pub fn into_text(self) -> String {
        self.text
    }

    /// Markup of this program's own.
    pub fn raw(&mut self, markup: &str) {
        self.text.push_str(markup);
        self.text.push('\n');
    }

    /// Shapes that share these attributes.
    pub fn group(&mut self, attributes: &str, draw: impl FnOnce(&mut Ink)) {
        let _ = writeln!(self.text, "<g {attributes}>");
        let before = self.text.len();
        draw(self);
        if self.text.len() == before {
            self.text.truncate(before - attributes.len() - 5);
        } else {
            self.text.push_str("</g>\n");
        }
    }

    /// A group that says what it is of: one thing of the design.
    pub fn named(&mut self, kind: &str, name: &str, draw: impl FnOnce(&mut Ink)) {
        let name = escaped(&sentence(name));
        let _ = writeln!(self.text, "<g data-kind=\"{kind}\" data-name=\"{name}\">");
        let _ = writeln!(self.text, "<title>{} {name}</title>", kind.replace('-', " "));
        draw(self);
        self.text.push_str("</g>\n");
    }

    pub fn line(&mut self, from: Spot, to: Spot) {
        let _ = writeln!(
            self.text,
            r#"<line x1="{}" y1="{}" x2="{}" y2="{}"/>"#,
            number(from.x),
            number(from.y),
            number(to.x),
            number(to.y)
        );
    }

    /// A shape with straight sides, closed or open.
    pub fn shape(&mut self, spots: &[Spot], closed: bool, attributes: &str) {
        let name = if closed { "polygon" } else { "polyline" };
        let _ = write!(self.text, r#"<{name} points=""#);
        for spot in spots {
            let _ = write!(self.text, "{},{} ", number(spot.x), number(spot.y));
        }
        let _ = writeln!(self.text, r#"" {attributes}/>"#);
    }

    /// The way of a pipe: `place` says where a point of the plan is on the sheet, `scaled` how long a length is there.
    pub fn way(
        &mut self,
        parts: &[Part],
        place: impl Fn(engineering::plan::Point) -> Spot,
        scaled: impl Fn(quantity::Length) -> f64,
        attributes: &str,
    ) {
        let Some(first) = parts.first() else { return };
        let from = place(first.from());
        let _ = write!(self.text, r#"<path d="M{} {}"#, number(from.x), number(from.y));
        for part in parts {
            let to = place(part.to());
            let _ = match part {
                Part::Straight { .. } => write!(self.text, "L{} {}", number(to.x), number(to.y)),
                Part::Bend { radius, left, .. } => {
                    let radius = number(scaled(*radius));
                    // Up the sheet is down in SVG; an arc to the left still runs against the clock.
                    let sweep = u8::from(!left);
                    write!(self.text, "A{radius} {radius} 0 0 {sweep} {} {}", number(to.x), number(to.y))
                }
            };
        }
        let _ = writeln!(self.text, r#"" {attributes}/>"#);
    }

    pub fn block(&mut self, block: Block, attributes: &str) {
        let _ = writeln!(
            self.text,
            r#"<rect x="{}" y="{}" width="{}" height="{}" {attributes}/>"#,
            number(block.x),
            number(block.y),
            number(block.wide),
            number(block.high)
        );
    }

    pub fn circle(&mut self, at: Spot, radius: f64, attributes: &str) {
        let _ = writeln!(
            self.text,
            r#"<circle cx="{}" cy="{}" r="{}" {attributes}/>"#,
            number(at.x),
            number(at.y),
            number(radius)
        );
    }

    pub fn words(&mut self, words: Words) {
        let _ = write!(
            self.text,
            r#"<text x="{}" y="{}" font-size="{}""#,
            number(words.at.x),
            number(words.at.y),
            number(words.size)
        );
        if words.colour != BLACK {
            let _ = write!(self.text, r#" fill="{}""#, words.colour);
        }
        match words.anchor {
            Anchor::Start => {}
            Anchor::Middle => self.text.push_str(r#" text-anchor="middle""#),
            Anchor::End => self.text.push_str(r#" text-anchor="end""#),
        }
        if words.bold {
            self.text.push_str(r#" font-weight="bold""#);
        }
        if words.turned != 0.0 {
            let (turned, x, y) = (number(-words.turned), number(words.at.x), number(words.at.y));
            let _ = write!(self.text, r#" transform="rotate({turned} {x} {y})""#);
        }
        if words.halo {
            let _ = write!(
                self.text,
                r##" stroke="#fff" stroke-width="{}" stroke-linejoin="round" paint-order="stroke""##,
                number(words.size * 0.35)
            );
        }
        let _ = writeln!(self.text, ">{}</text>", escaped(words.text));
    }
}

/// A number of millimetres with at most three decimals: a drawing at 1:50 is then true to a twentieth of one.
pub fn number(value: f64) -> String {
    let text = format!("{value:.3}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    match text {
        "-0" | "" | "NaN" | "inf" | "-inf" => "0".to_string(),
        text => text.to_string(),
    }
}

/// How wide a text is at most, in millimetres, in a plain sans-serif whatever it may be: the widths are rounded up from
/// a wide one.
pub fn width(text: &str, size: f64) -> f64 {
    text.chars().map(letter).sum::<f64>() * size
}

fn letter(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | '\'' | '|' => 0.3,
        ' ' | '.' | ',' | ':' | ';' | 'f' | 't' | 'r' | 'I' | '(' | ')' | '/' | '-' | '·' | '[' | ']' => 0.4,
        'm' | 'w' | 'M' | 'W' | '%' | '@' | '…' => 0.95,
        'A'..='Z' | '×' | '+' | '=' => 0.72,
        c if (c as u32) < 0x1100 => 0.62,
        _ => 1.3,
    }
}

/// How much wider bold letters run.
pub const BOLD: f64 = 1.14;

/// The text, cut if it is wider than so many millimetres.
pub fn fitting(text: &str, size: f64, widest: f64) -> String {
    if text.len() < 10_000 && width(text, size) <= widest {
        return text.to_string();
    }
    let mut left = widest - width("…", size);
    let fits = |c: &char| {
        left -= letter(*c) * size;
        left >= 0.0
    };
    let mut cut: String = text.chars().take_while(fits).collect();
    cut.truncate(cut.trim_end().len());
    cut.push('…');
    cut
}

/// The words in lines that are no wider than this, and no more lines than these; what is left over is cut.
pub fn lines(text: &str, size: f64, widest: f64, most: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let full = lines.len() == most;
        match lines.last_mut() {
            Some(line) if width(line, size) + width(" ", size) + width(word, size) <= widest => {
                line.push(' ');
                line.push_str(word);
            }
            Some(line) if full => {
                line.push_str(" …");
                let cut = fitting(line, size, widest);
                *line = if cut.ends_with('…') { cut } else { format!("{cut}…") };
                break;
            }
            _ => lines.push(fitting(word, size, widest)),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_never_no_number() {
        for (value, text) in [(1.0, "1"), (0.12345, "0.123"), (-0.0001, "0"), (f64::NAN, "0"), (100.0, "100")] {
            assert_eq!(number(value), text);
        }
    }

    #[test]
    fn nothing_of_a_text_is_markup() {
        assert_eq!(escaped("<script>&\"'"), "&lt;script&gt;&amp;&quot;&#39;");
        assert_eq!(escaped("a\u{0}b\u{202e}c\u{ffff}\t"), "a\u{2400}b\u{fffd}c\u{fffd} ");
    }

    #[test]
    fn texts_are_cut_to_their_width() {
        assert_eq!(fitting("hall", 2.0, 20.0), "hall");
        let long = fitting(&"hall ".repeat(100_000), 2.0, 20.0);
        assert!(long.ends_with('…') && width(&long, 2.0) <= 20.0, "{long}");
        let wrapped = lines(&"one two three four ".repeat(40), 2.0, 30.0, 3);
        assert_eq!(wrapped.len(), 3);
        assert!(wrapped.iter().all(|line| width(line, 2.0) <= 30.0), "{wrapped:?}");
        assert!(wrapped[2].ends_with('…'));
        assert_eq!(lines("a b", 2.0, 30.0, 3), ["a b"]);
    }
}
