//! Small helps of wording.

use std::borrow::Cow;

/// `1 loop`, `2 loops`.
pub(crate) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// A number for programs to ten significant digits: what is beyond comes from rounding, of coordinates too, and means nothing.
pub(crate) fn ten_digits(value: f64) -> f64 {
    format!("{value:.9e}").parse().unwrap_or(value)
}

/// The text with what could steer a terminal, end a line or turn the direction of writing made visible.
///
/// Text of a design file goes to terminals and build logs, and a file may come from anyone.
pub fn printable(text: &str) -> Cow<'_, str> {
    if !text.contains(steers) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.chars().map(|c| if steers(c) { picture(c) } else { c }).collect())
}

fn steers(c: char) -> bool {
    c != '\t' && is_hidden(c)
}

/// Whether a character is not seen and does something all the same: controls, separators of lines and paragraphs, and the marks that
/// turn the direction of writing (Unicode, general categories Cc, Zl and Zp, and Bidi_Control).
pub(crate) fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// The text with nothing in it that XML would take for markup, cannot hold, or that turns the direction of writing.
pub(crate) fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in printable(text).chars() {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            '\t' => escaped.push(' '),
            '\u{fffe}' | '\u{ffff}' => escaped.push('\u{fffd}'),
            c => escaped.push(c),
        }
    }
    escaped
}

/// The sign that Unicode has for a control character.
fn picture(c: char) -> char {
    match c {
        '\0'..='\x1f' => char::from_u32(0x2400 + c as u32).unwrap_or(char::REPLACEMENT_CHARACTER),
        '\x7f' => '\u{2421}',
        _ => char::REPLACEMENT_CHARACTER,
    }
}

/// A sentence as it can be printed on one line: printable, and cut if it is absurdly long.
pub(crate) fn sentence(text: &str) -> Cow<'_, str> {
    const LONGEST: usize = 400;
    match text.char_indices().nth(LONGEST) {
        None => printable(text),
        Some((end, _)) => Cow::Owned(format!("{}…", printable(text.get(..end).unwrap_or_default()))),
    }
}

/// The name of a file as people read it.
pub(crate) fn file_name(path: &str) -> Cow<'_, str> {
    if path == "-" { Cow::Borrowed("standard input") } else { sentence(path) }
}

/// The words in lines of at most `width` characters; a longer word has a line of its own.
pub(crate) fn wrapped(text: &str, width: usize) -> String {
    let mut wrapped = String::with_capacity(text.len() + 8);
    let mut column = 0;
    for word in text.split_whitespace() {
        let length = word.chars().count();
        if column > 0 && column + 1 + length > width {
            wrapped.push('\n');
            column = 0;
        }
        if column > 0 {
            wrapped.push(' ');
            column += 1;
        }
        wrapped.push_str(word);
        column += length;
    }
    wrapped.push('\n');
    wrapped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_steers_the_terminal() {
        assert_eq!(printable("21 °C\t🔥"), "21 °C\t🔥");
        assert_eq!(printable("\u{1b}[2J\r\n\u{202e}x\u{7f}"), "␛[2J␍␊\u{fffd}x␡");
        assert_eq!(printable("a\u{2028}b\u{2029}c\u{61c}\u{85}"), "a\u{fffd}b\u{fffd}c\u{fffd}\u{fffd}");
        assert_eq!(sentence(&"°".repeat(1_000_000)).chars().count(), 401);
    }

    #[test]
    fn lines_are_as_wide_as_asked() {
        assert_eq!(wrapped("one two  three", 7), "one two\nthree\n");
        assert_eq!(wrapped("", 7), "\n");
    }
}
