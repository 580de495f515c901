//! The pages of the rules.

mod site;

pub use site::site;

use check::{House, Limit, Rule, Weight};
use design::Stage;

/// Every rule, one a line: its name, then what it asks. Those of the house stand last.
pub fn list(house: &House) -> String {
    let width = house.rules().map(|rule| rule.name.len()).max().unwrap_or_default();
    house.rules().map(|rule| format!("{:width$}  {}\n", rule.name, house.guidance(rule).summary)).collect()
}

/// The rule of this name, or the name that was probably meant, where there is one.
pub fn named(house: &House, name: &str) -> Result<&'static Rule, Option<&'static str>> {
    let rule = house.rules().find(|rule| rule.name == name);
    rule.ok_or_else(|| design::nearest(name, house.rules().map(|rule| rule.name)))
}

/// The limits of a rule, each with its value and whose it is; where the house standard moved one, both.
fn limits(house: &House, rule: &Rule) -> Vec<[String; 3]> {
    let row = |limit: &Limit| match house.limit(rule, limit.name) {
        None => [limit.name.into(), limit.value.into(), limit.source.into()],
        Some(own) => {
            let reason = own.reason.as_ref().map(|reason| format!(" ({reason})")).unwrap_or_default();
            let whose = format!("the house standard{reason}; without it {}: {}", limit.value, limit.source);
            [limit.name.into(), own.text.clone(), whose]
        }
    };
    rule.limits.iter().map(row).collect()
}

/// A rule's page as it is read in a terminal, with its limits and how much it weighs.
pub fn page(house: &House, rule: &Rule, coloured: bool) -> String {
    let mut page = Sheet { text: String::new(), coloured };
    page.heading(rule.name);
    page.head(&house.guidance(rule).page);
    if !rule.limits.is_empty() {
        page.heading("The limits");
        page.table(&limits(house, rule));
    }
    page.heading("How much it weighs");
    page.table(&weights(house, rule));
    if let Some(why) = switched_off(house, rule) {
        page.paragraph(&why);
    }
    page.heading("Departures");
    page.paragraph(departures(rule));
    if let Some(caution) = rule.caution {
        page.heading("Caution");
        page.paragraph(caution);
    }
    page.heading("Group");
    page.paragraph(rule.group.word());
    page.text
}

/// A rule's page in Markdown, with its limits and its caution.
pub fn markdown(house: &House, rule: &Rule) -> String {
    let mut page = house.guidance(rule).page;
    if !rule.limits.is_empty() {
        page += "\n## The limits\n";
        for [name, value, whose] in limits(house, rule) {
            page += &format!("- `{name}` {value}: {whose}\n");
        }
    }
    page += &format!("\n## Departures\n{}\n", departures(rule));
    if let Some(caution) = rule.caution {
        page += &format!("\n## Caution\n{caution}\n");
    }
    page
}

/// A part of a rule's page.
enum Part {
    Heading(String),
    Text(String),
    Example { heading: &'static str, lines: Vec<String> },
}

/// The parts of a page, in order.
fn parts(markdown: &str) -> Vec<Part> {
    let mut parts: Vec<Part> = Vec::new();
    let mut is_new = true;
    let mut lines = markdown.lines();
    while let Some(line) = lines.next() {
        if let Some(claim) = line.strip_prefix("```yaml ") {
            let heading = match claim.trim() {
                "fails" => "An example that fails",
                "passes" => "An example that passes",
                _ => "The same, remedied",
            };
            let lines = lines.by_ref().take_while(|line| *line != "```").map(String::from).collect();
            parts.push(Part::Example { heading, lines });
        } else if let Some(words) = line.strip_prefix("## ") {
            parts.push(Part::Heading(words.to_string()));
        } else if !line.is_empty() {
            match parts.last_mut() {
                Some(Part::Text(words)) if !is_new => *words += &format!(" {line}"),
                _ => parts.push(Part::Text(line.to_string())),
            }
        }
        is_new = line.is_empty();
    }
    parts
}

/// Whether a finding of a rule may be accepted, in words.
fn departures(rule: &Rule) -> &'static str {
    match (rule.takes_departures, rule.stays_as_it_is()) {
        (true, false) => "A finding of this rule can be accepted on purpose with an entry under `departures`.",
        (true, true) => {
            "A finding of this rule can be accepted on purpose with an entry under `departures`; no house standard can \
             weaken the rule, move its limits or switch it off."
        }
        (false, _) => {
            "No departure may accept a finding of this rule, and no house standard can weaken it, move its limits or \
             switch it off."
        }
    }
}

/// How much a rule's findings weigh at each stage, in words.
fn weights(house: &House, rule: &Rule) -> Vec<[&'static str; 2]> {
    Stage::ALL.iter().map(|stage| [stage.word(), weight_word(house.weight(rule, *stage))]).collect()
}

/// Why the house standard has a rule silent, where it has.
fn switched_off(house: &House, rule: &Rule) -> Option<String> {
    let off = house.switched_off().iter().find(|it| it.rule.name == rule.name)?;
    Some(format!("Switched off by {}: {}", house.name(), off.reason))
}

/// How wide a page is, and how far its text stands in.
const WIDTH: usize = 96;
const INDENT: usize = 2;

/// A page on its way: headings at the edge, text and examples further in.
struct Sheet {
    text: String,
    coloured: bool,
}

impl Sheet {
    fn heading(&mut self, words: &str) {
        if !self.text.is_empty() {
            self.text.push('\n');
        }
        self.text += &if self.coloured { format!("\u{1b}[1m{words}\u{1b}[0m\n") } else { format!("{words}\n") };
    }

    /// Text in lines that fit the page.
    fn paragraph(&mut self, words: &str) {
        self.lines(words, INDENT);
    }

    fn lines(&mut self, words: &str, indent: usize) {
        let mut width = 0;
        for word in words.split_whitespace() {
            let letters = word.chars().count();
            if width > 0 && width + 1 + letters > WIDTH {
                self.text.push('\n');
                width = 0;
            }
            if width == 0 {
                self.text += &format!("{:indent$}{word}", "");
                width = indent + letters;
            } else {
                self.text += &format!(" {word}");
                width += 1 + letters;
            }
        }
        self.text.push('\n');
    }

    /// Rows whose columns stand under each other.
    fn table<const COLUMNS: usize>(&mut self, rows: &[[impl AsRef<str>; COLUMNS]]) {
        let widths: [usize; COLUMNS] = std::array::from_fn(|column| {
            rows.iter()
                .filter_map(|row| row.get(column))
                .map(|cell| cell.as_ref().chars().count())
                .max()
                .unwrap_or_default()
        });
        for row in rows {
            let cells: Vec<String> =
                row.iter().zip(widths).map(|(cell, width)| format!("{:width$}", cell.as_ref())).collect();
            self.text += &format!("{:INDENT$}{}\n", "", cells.join("  ").trim_end());
        }
    }

    /// The page that a rule's own file begins with.
    fn head(&mut self, markdown: &str) {
        let mut under_heading = !self.text.is_empty();
        for part in parts(markdown) {
            let is_heading = matches!(part, Part::Heading(_));
            match part {
                Part::Heading(words) => self.heading(&words),
                Part::Text(words) => {
                    if !under_heading && !self.text.is_empty() {
                        self.text.push('\n');
                    }
                    self.paragraph(&words);
                }
                Part::Example { heading, lines } => {
                    self.heading(heading);
                    lines.iter().for_each(|line| self.of_example(line));
                }
            }
            under_heading = is_heading;
        }
    }

    /// A line of an example; what is marked in a comment under a line stands there as the check would show it.
    fn of_example(&mut self, line: &str) {
        const DEEPER: usize = INDENT + 2;
        let marks = line.strip_prefix('#').filter(|rest| rest.trim_start().starts_with('^'));
        let Some(rest) = marks else {
            self.text += format!("{:DEEPER$}{line}", "").trim_end();
            self.text.push('\n');
            return;
        };
        let column = 1 + rest.len() - rest.trim_start().len();
        let carets: String = rest.trim_start().chars().take_while(|c| *c == '^').collect();
        let message = rest.trim_start().trim_start_matches('^').trim();
        let marked = format!("{:width$}{carets}", "", width = DEEPER + column);
        if marked.chars().count() + 1 + message.chars().count() <= WIDTH {
            self.text += &format!("{marked} {message}\n");
        } else {
            self.text += &format!("{marked}\n");
            self.lines(message, DEEPER + 2);
        }
    }
}

fn weight_word(weight: Weight) -> &'static str {
    weight.severity().map_or("silent", |severity| severity.word())
}

#[cfg(test)]
mod tests {
    use super::*;
    use check::RULES;

    #[test]
    fn every_rule_has_its_line_and_its_page() {
        let house = House::default();
        let list = list(&house);
        assert_eq!(list.lines().count(), RULES.len());
        for rule in RULES {
            assert_eq!(named(&house, rule.name).map(|it| it.name), Ok(rule.name));
            let page = page(&house, rule, false);
            assert!(page.starts_with(&format!("{}\n  ", rule.name)), "{page}");
            assert!(page.contains("  for construction  "), "{page}");
            // It is read in a terminal: no signs of how it is written, no lines that run out of it but those of examples.
            for sign in ["```", "## ", "# ^", "| "] {
                assert!(!page.contains(sign), "{page}");
            }
            let is_wide = |line: &&str| line.chars().count() > WIDTH && !line.starts_with("    ");
            let tables = rule.limits.iter().map(|limit| limit.name).collect::<Vec<_>>();
            let wide = page.lines().filter(is_wide).find(|line| !tables.iter().any(|name| line.contains(name)));
            assert_eq!(wide, None);
        }
    }

    #[test]
    fn a_slip_of_the_finger_finds_its_rule() {
        assert_eq!(named(&House::default(), "sintax-error").err(), Some(Some("syntax-error")));
        assert_eq!(named(&House::default(), "weather").err(), Some(None));
    }

    #[test]
    fn an_example_shows_what_would_be_found_in_it() {
        let mut page = Sheet { text: String::new(), coloured: false };
        page.head(
            "A wall stands.\n\nIt\nis thick.\n\n## Limit\nNone.\n\n```yaml fails\nwalls:\n  W1: {thickness: 9 m}\n\
             #                 ^^^ too thick\n```\n",
        );
        let wanted = "  A wall stands.\n\n  It is thick.\n\nLimit\n  None.\n\nAn example that fails\n    walls:\n\
                      \x20     W1: {thickness: 9 m}\n                      ^^^ too thick\n";
        assert_eq!(page.text, wanted);
    }
}
