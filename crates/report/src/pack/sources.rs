//! Whose a limit or a method is, as it stands on a sheet that somebody signs: the standard, with a mark where nobody has held the
//! value against the standard's own text.

use super::sheet::Sheet;

/// Stands behind what was not held against the text that is named.
pub const MARK: char = '†';

const NOTE: &str = "† not verified against the text of the standard or handbook itself: look the value up there before it is relied on.";

/// How rules and figures say that a value was not read in the standard itself. What holds another stands before it.
const NOT_READ: &[&str] = &[
    "from a trade copy of its criteria",
    "as several secondary copies give it",
    "as several secondary texts give it",
    "as several trade texts give it",
    "as secondary texts give it",
    "as a secondary text cites it",
    "two secondary copies",
    "from two secondary texts",
    "from secondary texts",
    "from a secondary text",
    "in secondary texts",
    "in a secondary text",
    "secondary texts",
    "secondary text",
    "from trade texts",
    "from a trade text",
    "in trade texts",
    "in a trade text",
    "in one trade text",
    "typical, from memory",
    "table from memory",
    "tables from memory",
    "are from memory",
    "from memory",
];

/// A source, or what was assumed, as a sheet has it.
pub fn printed(source: &str) -> String {
    let mut text = source.replace(", no source", "").replace(", one text", "");
    if let Some(rest) = text.strip_prefix("from memory: ") {
        text = format!("{rest} {MARK}");
    }
    for phrase in NOT_READ {
        while let Some(at) = text.find(phrase) {
            let before = text[..at].trim_end_matches([' ', ',', ';']);
            let before = if before.is_empty() { "unverified" } else { before };
            text = format!("{before} {MARK}{}", &text[at + phrase.len()..]);
        }
    }
    text
}

/// Says below a sheet what the mark means, where it stands there.
pub fn note(sheet: &mut Sheet) {
    if sheet.holds(MARK) {
        sheet.words(NOTE);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_source_names_the_standard_and_marks_what_was_not_read_there() {
        for (source, sheet) in [
            ("EN 1264-4:2021, 4.2.2", "EN 1264-4:2021, 4.2.2"),
            ("common practice, no source", "common practice"),
            ("tiling and screed trade texts, one text", "tiling and screed trade texts"),
            ("from memory", "unverified †"),
            ("EN 1264-4, from secondary texts", "EN 1264-4 †"),
            ("EN 1264-4, table 1; two secondary copies", "EN 1264-4, table 1 †"),
            ("from memory: EN 1264-4, clause on frost", "EN 1264-4, clause on frost †"),
            ("common practice, from memory (10 to 20 l/kW)", "common practice † (10 to 20 l/kW)"),
            ("a trade text gives 400 mm; 500 mm from memory", "a trade text gives 400 mm; 500 mm †"),
            ("DIN 18560-2, from secondary texts, and trade texts", "DIN 18560-2 †, and trade texts"),
            ("are from memory: no basis for a pass", "unverified †: no basis for a pass"),
        ] {
            assert_eq!(printed(source), sheet);
        }
    }

    /// What rules say of their limits, and figures of their methods and assumptions.
    #[test]
    fn no_source_is_left_that_no_firm_would_sign() {
        let outcome = crate::checked("format: 1\n");
        let limits = check::RULES.iter().flat_map(|rule| rule.limits).map(|limit| limit.source);
        let figures = workings::sheet(&outcome.design, &outcome.workings);
        let figures = figures.iter().filter_map(|line| line.worked.as_ref().ok()).map(|figure| figure.source);
        for source in limits.chain(figures) {
            let printed = printed(source);
            assert!(!printed.contains("memory") && !printed.contains("secondary"), "{printed}");
            assert!(!printed.contains(" ,") && !printed.contains("  ") && !printed.starts_with(MARK), "{printed}");
        }
    }
}
