//! The letters of the PDF: two faces that are part of the program. What a document uses of them is put into it.
//!
//! They are DejaVu Sans Condensed and its bold; licence and files are in `fonts/`. Of the scripts of the world they set Latin, Greek
//! and Cyrillic, with the signs of the trade; a letter of another is shown as a box, and what it stands for is kept beside it for
//! whoever searches or copies the text.

use crate::words::printable;
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Finish, Name, Pdf, Rect, Ref, Str};
use std::collections::BTreeMap;
use subsetter::GlyphRemapper;
use ttf_parser::Face as Tables;

/// Which of the two faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    Plain = 0,
    Bold = 1,
}

pub struct Letters {
    faces: [Face; 2],
}

struct Face {
    data: &'static [u8],
    tables: Tables<'static>,
    /// Of the letters that are met all the time: glyph and width, in the size of the letters.
    usual: Vec<Option<(u16, f64)>>,
    used: GlyphRemapper,
    /// What the glyphs that are used stand for, by their numbers in the document.
    stands_for: BTreeMap<u16, char>,
    lacks_some: bool,
}

const PLAIN: &[u8] = include_bytes!("../../../fonts/DejaVuSansCondensed.ttf");
const BOLD: &[u8] = include_bytes!("../../../fonts/DejaVuSansCondensed-Bold.ttf");

/// What stands for a letter that the faces lack.
const BOX: char = '□';

/// A stretch of text that is shown in one go.
pub struct Run {
    pub glyphs: Vec<u8>,
    /// What it stands for, where its glyphs do not say it.
    pub stands_for: Option<String>,
}

impl Letters {
    pub fn new() -> Letters {
        let face = |data: &'static [u8]| {
            let tables = Tables::parse(data, 0)
                .expect("the faces are part of the program, and every document is made with them");
            let usual = (0..0x530).map(|c| char::from_u32(c).and_then(|c| looked_up(&tables, c))).collect();
            Face { data, tables, usual, used: GlyphRemapper::new(), stands_for: BTreeMap::new(), lacks_some: false }
        };
        Letters { faces: [face(PLAIN), face(BOLD)] }
    }

    /// How wide a text is in letters of a size.
    pub fn width(&self, text: &str, size: f64, weight: Weight) -> f64 {
        let face = &self.faces[weight as usize];
        text.chars().map(|c| face.width(c)).sum::<f64>() * size
    }

    /// The text in lines no wider than this, but for the space with which a line ends that goes on: whoever reads them one after the
    /// other has the text. A word that is too long for a line is broken, after a sign if it has one.
    pub fn lines(&self, text: &str, size: f64, weight: Weight, widest: f64) -> Vec<String> {
        let text = printable(text);
        let face = &self.faces[weight as usize];
        let space = face.width(' ') * size;
        let mut lines = Vec::new();
        let mut line = String::new();
        let mut at = 0.0;
        for word in text.split([' ', '\t']).filter(|word| !word.is_empty()) {
            let width = self.width(word, size, weight);
            if !line.is_empty() && at + space + width <= widest {
                line.push(' ');
                line.push_str(word);
                at += space + width;
                continue;
            }
            if !line.is_empty() {
                line.push(' ');
                lines.push(std::mem::take(&mut line));
            }
            let mut rest = word;
            if width > widest {
                let mut fits = self.fits(rest, size, weight, widest);
                while fits < rest.len() {
                    lines.push(rest[..fits].to_string());
                    rest = &rest[fits..];
                    fits = self.fits(rest, size, weight, widest);
                }
            }
            at = self.width(rest, size, weight);
            line.push_str(rest);
        }
        if !line.is_empty() || lines.is_empty() {
            lines.push(line);
        }
        lines
    }

    /// How many bytes of a word go on a line: all of it, or one letter at least; up to a sign after which it may be broken, where one
    /// is not too far back.
    fn fits(&self, word: &str, size: f64, weight: Weight, widest: f64) -> usize {
        let face = &self.faces[weight as usize];
        let (mut at, mut fits, mut after_sign) = (0.0, 0, 0);
        for (start, c) in word.char_indices() {
            at += face.width(c) * size;
            if at > widest && start > 0 {
                return if after_sign * 2 > fits { after_sign } else { fits };
            }
            fits = start + c.len_utf8();
            if matches!(c, '-' | '/' | '.' | '_' | ',' | ';' | ':') {
                after_sign = fits;
            }
        }
        fits
    }

    /// The text, cut if it is wider than this.
    pub fn fitting(&self, text: &str, size: f64, weight: Weight, widest: f64) -> String {
        let text = printable(text);
        if self.width(&text, size, weight) <= widest {
            return text.into_owned();
        }
        let face = &self.faces[weight as usize];
        let mut left = widest - face.width('…') * size;
        let mut cut: String = text
            .chars()
            .take_while(|c| {
                left -= face.width(*c) * size;
                left >= 0.0
            })
            .collect();
        cut.truncate(cut.trim_end().len());
        cut.push('…');
        cut
    }

    /// The glyphs of a text, marked as used.
    pub fn runs(&mut self, text: &str, weight: Weight) -> Vec<Run> {
        let face = &mut self.faces[weight as usize];
        let mut runs: Vec<Run> = Vec::new();
        for c in printable(text).chars() {
            let (glyph, stands_for) = match face.glyph(c) {
                Some((glyph, _)) => {
                    let glyph = face.used.remap(glyph);
                    face.stands_for.entry(glyph).or_insert(c);
                    (glyph, None)
                }
                None if is_silent(c) => continue,
                None => {
                    face.lacks_some = true;
                    let glyph = face.used.remap(face.glyph(BOX).map_or(0, |it| it.0));
                    face.stands_for.entry(glyph).or_insert(BOX);
                    (glyph, Some(c))
                }
            };
            match runs.last_mut() {
                Some(run) if run.stands_for.is_some() == stands_for.is_some() => {
                    run.glyphs.extend(glyph.to_be_bytes());
                    run.stands_for.iter_mut().zip(stands_for).for_each(|(said, c)| said.push(c));
                }
                _ => runs.push(Run { glyphs: glyph.to_be_bytes().to_vec(), stands_for: stands_for.map(String::from) }),
            }
        }
        runs
    }

    /// Whether a letter was met that the faces do not set.
    pub fn lacks_some(&self) -> bool {
        self.faces.iter().any(|face| face.lacks_some)
    }

    /// Draws the outline of a text, each glyph at its place from the left, in letters of size 1.
    pub fn outline(&self, text: &str, weight: Weight, mut draw: impl FnMut(f64, Piece)) {
        let face = &self.faces[weight as usize];
        let mut at = 0.0;
        for c in printable(text).chars() {
            let Some((glyph, width)) = face.glyph(c) else {
                at += face.width(c);
                continue;
            };
            let mut pen = Pen {
                scale: 1.0 / f64::from(face.tables.units_per_em()),
                from: (0.0, 0.0),
                draw: &mut |piece| draw(at, piece),
            };
            face.tables.outline_glyph(ttf_parser::GlyphId(glyph), &mut pen);
            at += width;
        }
    }

    /// Puts what is used of the faces into a document; `next` gives it numbers. Gives back the numbers of the faces.
    pub fn embed(&self, pdf: &mut Pdf, mut next: impl FnMut() -> Ref) -> [Ref; 2] {
        [Weight::Plain, Weight::Bold].map(|weight| {
            let face = &self.faces[weight as usize];
            let [whole, letters, about, file, unicode] = [(); 5].map(|()| next());
            // Six letters before the name tell that it is a part of the face.
            let name = match weight {
                Weight::Plain => "HYPOCA+DejaVuSansCondensed",
                Weight::Bold => "HYPOCB+DejaVuSansCondensed-Bold",
            };
            let name = Name(name.as_bytes());
            let system = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
            pdf.type0_font(whole)
                .base_font(name)
                .encoding_predefined(Name(b"Identity-H"))
                .descendant_font(letters)
                .to_unicode(unicode);
            let tables = &face.tables;
            let thousandth = |units: f64| (units * 1000.0 / f64::from(tables.units_per_em())) as f32;
            let mut cid = pdf.cid_font(letters);
            cid.subtype(CidFontType::Type2)
                .base_font(name)
                .system_info(system)
                .font_descriptor(about)
                .default_width(0.0)
                .cid_to_gid_map_predefined(Name(b"Identity"));
            let widths = face.used.remapped_gids().map(|glyph| {
                thousandth(f64::from(tables.glyph_hor_advance(ttf_parser::GlyphId(glyph)).unwrap_or_default())).round()
            });
            cid.widths().consecutive(0, widths);
            cid.finish();
            let bbox = tables.global_bounding_box();
            let corner = |units: i16| thousandth(f64::from(units));
            pdf.font_descriptor(about)
                .name(name)
                .flags(FontFlags::SYMBOLIC)
                .bbox(Rect::new(corner(bbox.x_min), corner(bbox.y_min), corner(bbox.x_max), corner(bbox.y_max)))
                .italic_angle(0.0)
                .ascent(corner(tables.ascender()))
                .descent(corner(tables.descender()))
                .cap_height(corner(tables.capital_height().unwrap_or(1493)))
                .stem_v(if weight == Weight::Bold { 140.0 } else { 80.0 })
                .font_file2(file);
            let part = subsetter::subset(face.data, 0, &face.used).expect("a face that can be parsed can be cut down");
            super::stream(pdf, file, &part);
            let mut map = UnicodeCmap::<u16>::new(Name(b"Custom"), system);
            for (glyph, c) in &face.stands_for {
                map.pair(*glyph, *c);
            }
            super::stream(pdf, unicode, map.finish().as_slice());
            whole
        })
    }
}

impl Face {
    /// The glyph of a letter and its width; nothing if the face does not set it.
    fn glyph(&self, c: char) -> Option<(u16, f64)> {
        match self.usual.get(c as usize) {
            Some(usual) => *usual,
            None => looked_up(&self.tables, c),
        }
    }

    fn width(&self, c: char) -> f64 {
        match self.glyph(c) {
            Some((_, width)) => width,
            None if is_silent(c) => 0.0,
            None => self.glyph(BOX).map_or(0.0, |it| it.1),
        }
    }
}

fn looked_up(tables: &Tables, c: char) -> Option<(u16, f64)> {
    // Of other scripts single letters are there, but setting them takes more than putting them side by side.
    let is_set =
        matches!(c as u32, 0x20..0x7f | 0xa0..0x530 | 0x1e00..0x2000 | 0x2010..0x2060 | 0x2070..0x2e00 | 0xfffd);
    let glyph = tables.glyph_index(c).filter(|_| is_set && !is_silent(c))?;
    Some((glyph.0, f64::from(tables.glyph_hor_advance(glyph)?) / f64::from(tables.units_per_em())))
}

/// Signs that only say how their neighbours are joined or broken.
fn is_silent(c: char) -> bool {
    matches!(c, '\u{ad}' | '\u{200b}'..='\u{200d}' | '\u{2060}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}')
}

/// A piece of an outline, up the page.
pub enum Piece {
    Move(f64, f64),
    Line(f64, f64),
    Curve([f64; 6]),
    Close,
}

struct Pen<'p> {
    scale: f64,
    from: (f64, f64),
    draw: &'p mut dyn FnMut(Piece),
}

impl Pen<'_> {
    fn at(&mut self, x: f32, y: f32) -> (f64, f64) {
        (f64::from(x) * self.scale, f64::from(y) * self.scale)
    }
}

impl ttf_parser::OutlineBuilder for Pen<'_> {
    fn move_to(&mut self, x: f32, y: f32) {
        self.from = self.at(x, y);
        (self.draw)(Piece::Move(self.from.0, self.from.1));
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.from = self.at(x, y);
        (self.draw)(Piece::Line(self.from.0, self.from.1));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (from, by, to) = (self.from, self.at(x1, y1), self.at(x, y));
        let third = |end: f64, middle: f64| end + (middle - end) * 2.0 / 3.0;
        self.from = to;
        (self.draw)(Piece::Curve([
            third(from.0, by.0),
            third(from.1, by.1),
            third(to.0, by.0),
            third(to.1, by.1),
            to.0,
            to.1,
        ]));
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let (one, two, to) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.from = to;
        (self.draw)(Piece::Curve([one.0, one.1, two.0, two.1, to.0, to.1]));
    }

    fn close(&mut self) {
        (self.draw)(Piece::Close);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_no_wider_than_asked_and_lose_nothing() {
        let letters = Letters::new();
        let text = "a loop loops.L1.length-in-room.the-living-room-with-a-very-long-name-indeed 21 °C Ωθ²";
        for widest in [3.0, 10.0, 25.0, 80.0] {
            let lines = letters.lines(text, 3.0, Weight::Plain, widest);
            assert!(lines.iter().all(|line| letters.width(line.trim_end(), 3.0, Weight::Plain) <= widest), "{lines:?}");
            assert_eq!(lines.concat(), text);
        }
        assert_eq!(letters.lines("", 3.0, Weight::Plain, 10.0), [""]);
    }

    #[test]
    fn all_signs_of_the_trade_are_there_and_others_are_boxes_that_say_what_they_are() {
        let mut letters = Letters::new();
        for weight in [Weight::Plain, Weight::Bold] {
            let runs = letters.runs("äöüß ÅØ ₂ ²³ ° · – — “” ‘ … × Ω µ θ Δϑ λ ρ π α φ ζ η ≤ ≥ ± √ → ☐ ⚠ □ � Ж", weight);
            assert!(
                runs.iter().all(|run| run.stands_for.is_none()),
                "{:?}",
                runs.iter().map(|it| &it.stands_for).collect::<Vec<_>>()
            );
            let runs = letters.runs("床 a\u{200d}b שלום", weight);
            let stand: Vec<Option<&str>> = runs.iter().map(|it| it.stands_for.as_deref()).collect();
            assert_eq!(stand, [Some("床"), None, Some("שלום")]);
            assert_eq!(runs[1].glyphs.len(), 2 * " ab ".len());
        }
    }
}
