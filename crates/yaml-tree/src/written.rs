//! Text as it is written in a file.

/// A name as it is written: as it is, or in quotes where it would be read as something else.
pub fn written(name: &str) -> String {
    let is_plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | '/');
    if name.starts_with(|c: char| c.is_alphanumeric()) && name.chars().all(is_plain) && name != "null" {
        return name.to_string();
    }
    let mut quoted = String::with_capacity(name.len() + 2);
    quoted.push('"');
    for c in name.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            '\n' => quoted.push_str("\\n"),
            '\r' => quoted.push_str("\\r"),
            '\t' => quoted.push_str("\\t"),
            c if c.is_control() || c == '\u{feff}' => quoted.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{FileId, parse};

    #[test]
    fn what_is_written_is_read_as_it_was() {
        for name in [
            "L1",
            "hall",
            "glaze store",
            "a: b",
            "x, y",
            "- a",
            "#1",
            "a #b",
            "[x]",
            "é\u{301}",
            "a\"b\\",
            "",
            " a",
            "a ",
            "null",
            "~",
            "\u{1}\n",
            "°",
        ] {
            for text in
                [format!("{}: {}\n", written(name), written(name)), format!("{{{}: {}}}", written(name), written(name))]
            {
                let tree = parse(FileId::new(0), &text);
                assert!(tree.faults.is_empty(), "{text:?} {:?}", tree.faults);
                let root = tree.root.expect("something is written");
                let (key, value) = &root.as_map().expect("it is a map")[0];
                assert_eq!((key.as_text(), value.as_text()), (Some(name), Some(name)), "{text:?}");
            }
        }
    }
}
