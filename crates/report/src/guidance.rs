//! The pages of the rules.

use check::{Guidance, RULES, Rule, Weight};
use design::Stage;

/// Every rule, one a line: its name, then what it asks.
pub fn list() -> String {
    let width = RULES.iter().map(|rule| rule.name.len()).max().unwrap_or_default();
    RULES.iter().map(|rule| format!("{:width$}  {}\n", rule.name, Guidance::of(rule).summary)).collect()
}

/// The rule of this name, or the name that was probably meant, where there is one.
pub fn named(name: &str) -> Result<&'static Rule, Option<&'static str>> {
    let rule = RULES.iter().find(|rule| rule.name == name);
    rule.copied().ok_or_else(|| design::nearest(name, RULES.iter().map(|rule| rule.name)))
}

/// A rule's page in Markdown, with its limits and how much it weighs.
pub fn page(rule: &Rule) -> String {
    let mut page = format!("# {}\n\n{}", rule.name, Guidance::of(rule).page);
    page += &format!("\n## Group\n{}\n", rule.group.word());
    page += "\n## Severity at each stage\n";
    let stages = [Stage::Preliminary, Stage::ForComment, Stage::ForConstruction, Stage::AsBuilt];
    let weights = stages.map(|stage| [stage.word(), weight_word(rule.weight(stage))]);
    page += &table(["stage", "severity"], &weights);
    if !rule.limits.is_empty() {
        page += "\n## Limits\n";
        let limits: Vec<_> = rule.limits.iter().map(|limit| [limit.name, limit.value, limit.source]).collect();
        page += &table(["limit", "value", "source"], &limits);
    }
    page += "\n## Departures\n";
    page += if rule.takes_departures {
        "A finding of this rule can be accepted on purpose with an entry under `departures`.\n"
    } else {
        "No departure may accept a finding of this rule.\n"
    };
    if let Some(caution) = rule.caution {
        page += &format!("\n## Caution\n{caution}\n");
    }
    page
}

fn weight_word(weight: Weight) -> &'static str {
    weight.severity().map_or("silent", |severity| severity.word())
}

/// A table in Markdown whose columns stand under each other in a terminal too.
fn table<const COLUMNS: usize>(head: [&str; COLUMNS], rows: &[[&str; COLUMNS]]) -> String {
    let all = || std::iter::once(&head).chain(rows);
    let widths: [usize; COLUMNS] = std::array::from_fn(|column| {
        all().filter_map(|row| row.get(column)).map(|cell| cell.chars().count()).max().unwrap_or_default()
    });
    let line = |row: &[&str; COLUMNS]| -> String {
        let cells: Vec<String> = row.iter().zip(widths).map(|(cell, width)| format!("{cell:width$}")).collect();
        format!("| {} |\n", cells.join(" | "))
    };
    let rule: Vec<String> = widths.iter().map(|width| "-".repeat(*width)).collect();
    let mut table = line(&head);
    table += &format!("| {} |\n", rule.join(" | "));
    table.extend(rows.iter().map(line));
    table
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_has_its_line_and_its_page() {
        let list = list();
        assert_eq!(list.lines().count(), RULES.len());
        for rule in RULES {
            assert_eq!(named(rule.name).map(|it| it.name), Ok(rule.name));
            let page = page(rule);
            assert!(page.starts_with(&format!("# {}\n\n", rule.name)));
            assert!(page.contains("| for construction | "), "{page}");
        }
    }

    #[test]
    fn a_slip_of_the_finger_finds_its_rule() {
        assert_eq!(named("sintax-error").err(), Some(Some("syntax-error")));
        assert_eq!(named("weather").err(), Some(None));
    }

    #[test]
    fn columns_stand_under_each_other() {
        let shown = table(["limit", "value"], &[["widest", "26 °C"]]);
        assert_eq!(shown, "| limit  | value |\n| ------ | ----- |\n| widest | 26 °C |\n");
    }
}
