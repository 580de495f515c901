//! What something is, in a few of its own words: for lists of names.

use crate::outline::{At, Form};

/// More than this no list shows.
const MOST_WORDS: usize = 4;
const LONGEST: usize = 60;

/// The first of what stands under a name: `living, 20 °C, 350 W`.
pub fn preview(of: At) -> String {
    if let Some(value) = of.value_text() {
        return shortened(value);
    }
    let words = of.children().filter_map(|it| match (it.key_text(), it.value_text()) {
        (_, None | Some("")) => None,
        (Some(key), Some("true" | "yes")) => Some(key.to_string()),
        (Some(_), Some("false" | "no")) => None,
        // A bare number says nothing without what it counts.
        (Some(key), Some(value)) if value.bytes().all(|it| it.is_ascii_digit() || it == b'.') => {
            Some(format!("{key} {value}"))
        }
        (_, Some(value)) => Some(value.to_string()),
    });
    let words: Vec<String> = words.take(MOST_WORDS).collect();
    if words.is_empty() && of.form() == Form::Map {
        let keys: Vec<&str> = of.children().filter_map(At::key_text).take(MOST_WORDS).collect();
        return shortened(&keys.join(", "));
    }
    shortened(&words.join(", "))
}

/// On one line, and not too long for a list.
pub fn shortened(text: &str) -> String {
    let text: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text,
    }
}
