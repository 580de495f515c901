//! Bytes to text.

use crate::{FileId, LARGEST_TEXT, Place, TextFault, TextFaultKind};
use std::borrow::Cow;

/// The text of a file, and what is wrong with its bytes.
///
/// A byte order mark stays in the text, so that places are those of the file; [`crate::parse`] passes
/// over it. What is not UTF-8 becomes U+FFFD, and from the first such byte on, places are those of the
/// returned text. Of UTF-16 and of what is larger than [`LARGEST_TEXT`] the text is empty.
pub fn decode(file: FileId, bytes: &[u8]) -> (Cow<'_, str>, Option<TextFault>) {
    let fault = |start, kind| Some(TextFault { place: Place::new(file, start), kind });
    if bytes.len() > LARGEST_TEXT {
        let kind = TextFaultKind::TooLarge { bytes: bytes.len(), limit: LARGEST_TEXT };
        return (Cow::Borrowed(""), fault(0..0, kind));
    }
    if is_utf_16(bytes) {
        return (Cow::Borrowed(""), fault(0..0, TextFaultKind::Utf16));
    }
    match std::str::from_utf8(bytes) {
        Ok(text) => (Cow::Borrowed(text), None),
        Err(wrong) => {
            let at = wrong.valid_up_to();
            let byte = bytes.get(at).copied().unwrap_or_default();
            let mark = char::REPLACEMENT_CHARACTER.len_utf8();
            (String::from_utf8_lossy(bytes), fault(at..at + mark, TextFaultKind::NotUtf8 { byte }))
        }
    }
}

/// Whether a text is UTF-16: by its byte order mark, or by the zero beside each of its first two characters, which are
/// ASCII in any YAML (YAML 1.2.2, chapter 5.2).
fn is_utf_16(bytes: &[u8]) -> bool {
    match *bytes {
        [0xff, 0xfe, ..] | [0xfe, 0xff, ..] => true,
        [a, b, c, d, ..] => (a == 0) != (b == 0) && (a == 0) == (c == 0) && (b == 0) == (d == 0),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: FileId = FileId::new(7);

    #[test]
    fn text_is_borrowed_as_it_is() {
        let (text, fault) = decode(FILE, "\u{feff}a: 21 °C\r\n".as_bytes());
        assert!(matches!(text, Cow::Borrowed("\u{feff}a: 21 °C\r\n")));
        assert_eq!(fault, None);
    }

    #[test]
    fn the_first_byte_that_is_not_utf_8_is_told() {
        let (text, fault) = decode(FILE, b"a: 21 \xb0C\nb: \xe4\n");
        assert_eq!(text, "a: 21 \u{fffd}C\nb: \u{fffd}\n");
        let fault = fault.expect("there is a wrong byte");
        assert_eq!(fault.kind, TextFaultKind::NotUtf8 { byte: 0xb0 });
        assert_eq!(&text[fault.place.range()], "\u{fffd}");
        assert_eq!(fault.place.file, FILE);
        let sentence = fault.kind.to_string();
        assert!(sentence.contains("0xB0") && sentence.contains('°'), "{sentence}");
    }

    #[test]
    fn a_character_cut_off_at_the_end_is_told() {
        let (text, fault) = decode(FILE, b"a: \xe2\x82");
        assert_eq!(text, "a: \u{fffd}");
        assert_eq!(fault.map(|it| it.place.range()), Some(3..6));
    }

    #[test]
    fn utf_16_is_told_and_not_read() {
        for bytes in [&b"\xff\xfea\0"[..], b"\xfe\xff\0a", b"\0a\0:\0 \x001", b"a\0:\0 \x001\0"] {
            let (text, fault) = decode(FILE, bytes);
            assert_eq!(text, "");
            assert_eq!(fault.map(|it| it.kind), Some(TextFaultKind::Utf16));
        }
        for text in ["", "\0", "a\0b", "a\0bc", "\0ab"] {
            assert_eq!(decode(FILE, text.as_bytes()), (Cow::Borrowed(text), None));
        }
    }

    #[test]
    fn a_huge_file_is_not_even_decoded() {
        let bytes = vec![b' '; LARGEST_TEXT + 1];
        let (text, fault) = decode(FILE, &bytes);
        assert_eq!(text, "");
        assert!(matches!(fault.map(|it| it.kind), Some(TextFaultKind::TooLarge { bytes: 16_777_217, .. })));
    }
}
