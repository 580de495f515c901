//! The text of an open document, and the edits that the client makes to it.

use crate::convert::{Encoding, Point};
use std::sync::Arc;

/// New text in place of what stands between two points, or of everything.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TextChange {
    pub between: Option<(Point, Point)>,
    pub text: String,
}

/// Makes the changes one after the other; the points of each are those of the text as the one before left it.
///
/// A text that someone else still reads is left as it is and copied once.
pub fn apply(text: &mut Arc<String>, changes: Vec<TextChange>, encoding: Encoding) {
    for change in changes {
        match change.between {
            Some(between) => {
                let range = encoding.range(text, between);
                Arc::make_mut(text).replace_range(range, &change.text);
            }
            None => *text = Arc::new(change.text),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The linear congruential generator of Knuth, "The Art of Computer Programming", volume 2, 3.3.4 (from memory).
    struct Chance(u64);

    impl Chance {
        fn below(&mut self, end: usize) -> usize {
            self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (self.0 >> 33) as usize % end.max(1)
        }
    }

    /// A text as lists of encoded units, the way that an editor of that encoding holds it; its model of an edit
    /// knows nothing of bytes.
    #[derive(Clone)]
    struct Model {
        encoding: Encoding,
        text: Vec<char>,
    }

    impl Model {
        /// Every place between characters that a client can name: not inside a carriage return with line feed.
        fn places(&self) -> Vec<(usize, Point)> {
            let mut places = Vec::new();
            let mut point = Point::default();
            for (at, character) in self.text.iter().enumerate() {
                let inside = at > 0 && self.text[at - 1] == '\r' && *character == '\n';
                if !inside {
                    places.push((at, point));
                }
                let ends = *character == '\n' || *character == '\r' && self.text.get(at + 1) != Some(&'\n');
                if ends {
                    point = Point { line: point.line + 1, character: 0 };
                } else {
                    point.character += match self.encoding {
                        Encoding::Utf8 => character.to_string().len(),
                        Encoding::Utf16 => character.to_string().encode_utf16().count(),
                        Encoding::Utf32 => 1,
                    } as u32;
                }
            }
            places.push((self.text.len(), point));
            places
        }
    }

    #[test]
    fn random_edits_give_what_an_editor_has() {
        const PIECES: [&str; 12] =
            ["", "a", "°C", "m²", "🔥", "\n", "\r\n", "\r", "L1: {x: 1}", "\u{feff}", "e\u{301}", "🔥\r\n  Ø"];
        for encoding in [Encoding::Utf8, Encoding::Utf16, Encoding::Utf32] {
            for seed in 0..40 {
                let mut chance = Chance(seed);
                let start = "rooms:\r\n  hall: {area: 12 m²} # 🔥\n";
                let mut model = Model { encoding, text: start.chars().collect() };
                let mut text = Arc::new(start.to_string());
                for step in 0..60 {
                    let mut changes = Vec::new();
                    for _ in 0..=chance.below(3) {
                        let places = model.places();
                        let (one, other) = (places[chance.below(places.len())], places[chance.below(places.len())]);
                        let (from, to) = if one.0 <= other.0 { (one, other) } else { (other, one) };
                        let new: String = (0..chance.below(4)).map(|_| PIECES[chance.below(PIECES.len())]).collect();
                        let whole = chance.below(30) == 0;
                        // Most edits are short; a long one would leave nothing to edit.
                        let to = if chance.below(4) > 0 && to.0 > from.0 + 4 { from } else { to };
                        if whole {
                            model.text = new.chars().collect();
                        } else {
                            model.text.splice(from.0..to.0, new.chars());
                        }
                        changes.push(TextChange { between: (!whole).then_some((from.1, to.1)), text: new });
                    }
                    let held = Arc::clone(&text);
                    let before = held.to_string();
                    apply(&mut text, changes.clone(), encoding);
                    assert_eq!(*held, before, "who still reads the old text must not see the edit");
                    let wanted: String = model.text.iter().collect();
                    assert_eq!(*text, wanted, "{encoding:?} seed {seed} step {step}: {before:?} {changes:?}");
                }
            }
        }
    }

    #[test]
    fn impossible_points_do_no_harm() {
        let mut chance = Chance(7);
        let mut text = Arc::new("a: °C\r\nb: 🔥\n".to_string());
        for _ in 0..2000 {
            let mut point = || Point { line: chance.below(5) as u32, character: chance.below(9) as u32 };
            let change = TextChange { between: Some((point(), point())), text: "°\n".into() };
            apply(&mut text, vec![change], Encoding::Utf16);
            if text.len() > 200 {
                apply(&mut text, vec![TextChange { between: None, text: "🔥\r\n".into() }], Encoding::Utf8);
            }
        }
    }
}
