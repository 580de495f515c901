//! Findings for people: each with the lines it marks, its source and what would clear it.

use super::Ending;
use super::notes::{by_rule, position};
use crate::Summary;
use crate::excerpt::Excerpt;
use crate::page::Page;
use crate::places::Texts;
use crate::words::{count, file_name, sentence};
use check::{Finding, Outcome, Related};
use codespan_reporting::diagnostic::{Diagnostic, Label, Severity as RendererSeverity};
use codespan_reporting::term::{Config, DisplayStyle, emit_to_write_style};
use std::cmp::Reverse;
use std::collections::HashMap;

/// How many findings of one rule are shown with their lines; each further one has one line.
const SHOWN_OF_A_RULE: usize = 20;
/// How many findings of one design are shown with their lines.
const SHOWN_OF_A_DESIGN: usize = 200;
/// How many related places of a finding are shown.
const RELATED_SHOWN: usize = 6;
/// How many missing fields are named for a rule that could not look.
const MISSING_NAMED: usize = 4;

/// What was found in one design, what was not checked, the departures, and a line that sums it up.
pub fn text(outcome: &Outcome, coloured: bool) -> Vec<u8> {
    let mut page = Page::new(coloured);
    findings(&mut page, outcome);
    not_checked(&mut page, outcome);
    departures(&mut page, outcome);
    switched_off(&mut page, outcome);
    summed_up(&mut page, outcome);
    page.push("\n");
    page.bytes
}

/// One line that sums a design up.
pub fn line(outcome: &Outcome, coloured: bool) -> Vec<u8> {
    let mut page = Page::new(coloured);
    summed_up(&mut page, outcome);
    page.bytes
}

/// The end: what was accepted and stands no more, the total where there was more than one design, and the caution.
pub fn end(ending: &Ending) -> String {
    let stale = ending.stale.iter().map(|entry| format!("{}\n", sentence(&entry.sentence())));
    stale.collect::<String>() + &ending.summary.text()
}

fn summed_up(page: &mut Page, outcome: &Outcome) {
    let path = outcome.sources.first().map_or("", |source| &source.path);
    page.push_bold(&file_name(path));
    let title = outcome.house.title().filter(|_| !design::is_house_standard(path));
    let held_to = title.map(|title| format!("; held to {}", sentence(&title))).unwrap_or_default();
    page.push(&format!(
        ": {}{held_to}
",
        Summary::of(outcome).sentence()
    ));
}

/// The findings of one design alone, with no line that sums them up.
pub fn listed(outcome: &Outcome, coloured: bool) -> Vec<u8> {
    let mut page = Page::new(coloured);
    findings(&mut page, outcome);
    page.bytes
}

fn findings(page: &mut Page, outcome: &Outcome) {
    if outcome.findings.is_empty() {
        return;
    }
    let texts = Texts::new(&outcome.sources);
    let whole = Config::default();
    let one_line = Config { display_style: DisplayStyle::Short, ..Config::default() };
    let mut of_a_rule: HashMap<&str, usize> = HashMap::new();
    let mut after_one_line = false;
    for (at, finding) in outcome.findings.iter().enumerate() {
        let of_this_rule = of_a_rule.entry(finding.rule.name).or_default();
        *of_this_rule += 1;
        let shown = at < SHOWN_OF_A_DESIGN && *of_this_rule <= SHOWN_OF_A_RULE;
        if shown && after_one_line {
            page.push("\n");
        }
        after_one_line = !shown;
        let (excerpt, diagnostic) = diagnostic(&texts, outcome, finding);
        page.turn_to(finding.severity);
        let config = if shown { &whole } else { &one_line };
        emit_to_write_style(page, config, &excerpt, &diagnostic)
            .expect("the excerpt has every line that a label stands on, and a page takes every byte");
    }
    if after_one_line {
        page.push("\n");
    }
}

fn diagnostic(texts: &Texts, outcome: &Outcome, finding: &Finding) -> (Excerpt, Diagnostic<usize>) {
    let related = shown(&finding.related);
    let places = std::iter::once(finding.place).chain(related.iter().map(|it| it.place));
    let (excerpt, marks) = Excerpt::new(texts, places);
    let mut marks = marks.into_iter();
    let mut diagnostic = Diagnostic::new(RendererSeverity::Error)
        .with_code(finding.rule.name)
        .with_message(sentence(&finding.message))
        .with_labels(marks.next().flatten().map(|(file, range)| Label::primary(file, range)).into_iter().collect());
    let mut notes = Vec::new();
    for (related, mark) in related.into_iter().zip(marks) {
        match mark {
            Some((file, range)) => {
                let label = Label::secondary(file, range).with_message(sentence(&related.message));
                diagnostic.labels.push(label);
            }
            None => notes.push(elsewhere(texts, related)),
        }
    }
    if finding.related.len() > RELATED_SHOWN {
        let more = finding.related.len() - RELATED_SHOWN;
        notes.push(format!("and {}", count(more, "more place", "more places")));
    }
    notes.extend(super::notes::notes(finding, outcome));
    (excerpt, diagnostic.with_notes(notes))
}

/// As many related places as are shown, in their order: where there are more, findings that follow before mere places, the gravest first.
fn shown(related: &[Related]) -> Vec<&Related> {
    let mut order: Vec<usize> = (0..related.len()).collect();
    order.sort_by_key(|at| Reverse(related[*at].severity));
    order.truncate(RELATED_SHOWN);
    order.sort_unstable();
    order.into_iter().map(|at| &related[at]).collect()
}

/// A related place whose line cannot be shown beside the others.
fn elsewhere(texts: &Texts, related: &Related) -> String {
    let message = sentence(&related.message);
    match texts.of(related.place) {
        None => message.into_owned(),
        Some(text) => format!("{message}: {}", position(text, related.place)),
    }
}

fn not_checked(page: &mut Page, outcome: &Outcome) {
    if outcome.not_checked.is_empty() {
        return;
    }
    page.push_bold("Not checked");
    page.push("\n");
    // Rules that wait for the same are told together.
    let mut rows: Vec<(Vec<&str>, Vec<String>)> = Vec::new();
    let mut position: HashMap<Vec<String>, usize> = HashMap::new();
    for (rule, missing) in by_rule(outcome) {
        let at = *position.entry(missing).or_insert_with_key(|missing| {
            rows.push((Vec::new(), missing.clone()));
            rows.len() - 1
        });
        rows[at].0.push(rule.name);
    }
    for (rules, missing) in rows {
        let named: Vec<_> = missing.iter().take(MISSING_NAMED).map(|it| sentence(it)).collect();
        page.push(&format!("  {}: {}", rules.join(", "), named.join(", ")));
        if missing.len() > MISSING_NAMED {
            page.push(&format!(" and {} more", missing.len() - MISSING_NAMED));
        }
        page.push("\n");
    }
    page.push("\n");
}

fn departures(page: &mut Page, outcome: &Outcome) {
    if outcome.departed.is_empty() {
        return;
    }
    page.push_bold("Departures");
    page.push("\n");
    for (finding, by) in &outcome.departed {
        let at = finding.at(&outcome.design);
        page.push(&format!("  {} at {}: {}\n", finding.rule.name, sentence(&at), sentence(&finding.message)));
        let Some(departure) = outcome.design.departures.get(*by).map(|it| &it.value) else { continue };
        let reason = departure.reason.as_ref().map_or("no reason", |it| &it.value);
        let agreed_by = departure.agreed_by.as_ref().map_or("nobody", |it| &it.value);
        let until = departure.until.map_or("no day".to_string(), |it| it.value.to_string());
        page.push(&format!("    {}; agreed by {}, until {until}\n", sentence(reason), sentence(agreed_by)));
    }
    page.push("\n");
}

/// The rules that the house standard does not let run.
fn switched_off(page: &mut Page, outcome: &Outcome) {
    if outcome.house.switched_off().is_empty() {
        return;
    }
    page.push_bold("Switched off by the house standard");
    page.push("\n");
    for it in outcome.house.switched_off() {
        page.push(&format!("  {}: {}\n", it.rule.name, sentence(&it.reason)));
    }
    page.push("\n");
}

#[cfg(test)]
mod tests {
    use super::text;
    use crate::checked;
    use check::{FileId, NotChecked, Outcome, Place, Related, Severity, Subject};
    use workings::Gap;

    fn plain(outcome: &Outcome) -> String {
        String::from_utf8(text(outcome, false)).expect("only text goes onto a page")
    }

    #[test]
    fn a_finding_shows_its_line_its_related_place_and_its_remedy() {
        let outcome =
            checked("format: 1\nwalls:\n  W1: {}\n  W2: {}\n  W1: {}\nloops: {L1: {room: hal}}\nrooms: {hall: {}}\n");
        let text = plain(&outcome);
        let duplicate = "\
error[duplicate-name]: `W1` is given twice; only the first is read
  ┌─ house.ufh.yaml:5:3
  │
3 │   W1: {}
  │   -- `W1` is given here first
4 │   W2: {}
5 │   W1: {}
  │   ^^
  │
  = source: the design format, version 1

";
        assert!(text.contains(duplicate), "{text}");
        assert!(text.contains("  = remedy: write `hall`\n"), "{text}");
        assert!(text.contains("house.ufh.yaml: 2 errors"), "{text}");
    }

    #[test]
    fn a_place_in_a_library_is_shown_there() {
        let text = plain(&checked("format: 1\nlibrary: [pipes.yaml]\npipes:\n  thin: {}\n"));
        assert!(text.contains("┌─ pipes.yaml:2:9\n"), "{text}");
        assert!(text.contains("┌─ house.ufh.yaml:4:3\n"), "{text}");
    }

    #[test]
    fn severities_have_the_words_of_editors() {
        let mut outcome = checked("format: 1\nrooms: {hall: {area: 12}}\n");
        outcome.findings.truncate(1);
        for severity in Severity::ALL {
            outcome.findings[0].severity = severity;
            let text = plain(&outcome);
            assert!(text.starts_with(&format!("{}[unit-missing-or-wrong]: ", severity.word())), "{text}");
        }
    }

    #[test]
    fn colours_come_only_when_asked_for() {
        let outcome = checked("format: 1\nrooms: {hall: {area: 12}}\n");
        assert!(!plain(&outcome).contains('\u{1b}'));
        assert!(String::from_utf8_lossy(&text(&outcome, true)).contains("\u{1b}[1;31merror"));
    }

    #[test]
    fn text_of_the_file_cannot_steer_the_terminal() {
        let text = plain(&checked("format: 1\nrooms: {\"\\e[2J\\u202e\": {area: 12, \"\\e[1m\": 2}}\n"));
        assert!(text.contains("␛[1m"), "{text}");
        assert!(!text.contains(['\u{1b}', '\u{202e}']), "{text}");
    }

    #[test]
    fn any_place_can_be_shown() {
        let odd = "\u{feff}a: 21 °C\r\nb: 🔥\t\u{1b}e\u{301}\n\n\rc";
        let mut outcome = checked(odd);
        outcome.findings.truncate(1);
        let past_the_end = odd.len() + 3;
        for (start, end) in (0..past_the_end).flat_map(|start| (start..past_the_end).map(move |end| (start, end))) {
            let finding = &mut outcome.findings[0];
            finding.place = Place::new(FileId::new(0), start..end);
            let place = Place::new(FileId::new((start % 2) as u16), past_the_end - end..past_the_end - start);
            finding.related = vec![Related { message: "here".into(), place, severity: None }];
            assert!(plain(&outcome).contains("house.ufh.yaml:"), "{start}..{end}");
        }
        outcome.findings[0].place = Place::new(FileId::new(9), 0..1);
        plain(&outcome);
    }

    #[test]
    fn a_long_line_is_cut_around_what_is_wrong() {
        let rooms: Vec<String> = (0..9000).map(|at| format!("room{at}: {{area: 1.{at:05} m²}}")).collect();
        let good = format!("format: 1\nrooms: {{{}}}\n", rooms.join(", "));
        let mut outcome = checked(&good.replace("1.08999 m²", "1.08999"));
        let at = good.find("area: 1.00100 ").unwrap_or_default();
        for finding in &mut outcome.findings {
            let place = Place::new(FileId::new(0), at..at + 4);
            finding.related = vec![Related { message: "far away".into(), place, severity: None }];
        }
        let text = plain(&outcome);
        let position = good.lines().nth(1).and_then(|line| line.find("1.08999")).map(|at| good.get(10..at + 10));
        let column = position.flatten().map_or(0, |before| before.chars().count()) + 1;
        assert!(text.contains(&format!("house.ufh.yaml:2:{column}\n")), "{text}");
        assert!(text.contains(" = far away: house.ufh.yaml:2:"), "{text}");
        assert!(text.lines().all(|line| line.chars().count() < 420), "{text}");
        assert!(text.contains("│ …") && text.len() < 20_000);
    }

    #[test]
    fn what_follows_is_not_among_the_places_that_are_only_counted() {
        let mut outcome = checked("format: 1\nrooms: {hall: {area: 12}}\n");
        outcome.findings.truncate(1);
        let place = outcome.findings[0].place;
        let related = |message: &str, severity| Related { message: message.into(), place, severity };
        let mut all: Vec<Related> = (0..9).map(|at| related(&format!("place {at}"), None)).collect();
        all.push(related("and so it is wrong", Some(Severity::Error)));
        outcome.findings[0].related = all;
        let text = plain(&outcome);
        let is_shown = ["place 4", "and so it is wrong", "and 4 more places"].iter().all(|it| text.contains(it));
        assert!(is_shown && !text.contains("place 5"), "{text}");
    }

    #[test]
    fn many_findings_of_one_rule_are_shown_in_one_line_each() {
        let rooms: String = (0..300).map(|at| format!("  room{at}: {{area: 1{at}}}\n")).collect();
        let text = plain(&checked(&format!("format: 1\nrooms:\n{rooms}")));
        assert_eq!(text.matches("error[unit-missing-or-wrong]: ").count(), 300);
        assert_eq!(text.matches("┌─").count(), 20);
        assert!(text.contains("\nhouse.ufh.yaml:302:19: error[unit-missing-or-wrong]: `1299` has no unit"), "{text}");
    }

    #[test]
    fn what_was_not_checked_is_grouped_and_shortened() {
        let mut outcome = checked("format: 1\n");
        for at in [0, 0, 1, 2, 3, 4, 5] {
            let missing = format!("loops/L{at}/spacing");
            let gap = Gap::NoMethod(missing);
            outcome.not_checked.push(NotChecked { rule: check::RULES[0], about: Subject::Design, gap });
        }
        let rule = check::RULES[0].name;
        let wanted = format!(
            "Not checked\n  {rule}: loops/L0/spacing, loops/L1/spacing, loops/L2/spacing, loops/L3/spacing and 2 more\n\n\
             house.ufh.yaml: nothing found; 7 checks not made\n"
        );
        assert!(plain(&outcome).contains(&wanted), "{}", plain(&outcome));
    }

    #[test]
    fn rules_that_wait_for_the_same_are_one_line() {
        let mut outcome = checked("format: 1\n");
        for rule in [0, 1, 2] {
            for missing in ["rooms/hall/outline", "rooms/study/outline"].iter().take(if rule == 1 { 1 } else { 2 }) {
                let gap = Gap::NoMethod(missing.to_string());
                outcome.not_checked.push(NotChecked { rule: check::RULES[rule], about: Subject::Design, gap });
            }
        }
        let [first, second, third] = [0, 1, 2].map(|rule| check::RULES[rule].name);
        let wanted = format!(
            "Not checked\n  {first}, {third}: rooms/hall/outline, rooms/study/outline\n  {second}: rooms/hall/outline\n"
        );
        assert!(plain(&outcome).contains(&wanted), "{}", plain(&outcome));
    }

    #[test]
    fn a_departure_is_printed_with_its_reason() {
        let departure = "{rule: any, reason: the conduit is there, agreed-by: reviewer, until: 2026-12-31}";
        let mut outcome = checked(&format!("format: 1\ndepartures: [{departure}]\nrooms: {{hall: {{area: 12}}}}\n"));
        let finding = outcome.findings.iter().position(|it| it.rule.name == "unit-missing-or-wrong");
        let finding = outcome.findings.remove(finding.expect("an area without a unit is a finding"));
        outcome.departed.push((finding, 0));
        let text = plain(&outcome);
        assert!(text.contains("Departures\n  unit-missing-or-wrong at "), "{text}");
        assert!(text.contains("\n    the conduit is there; agreed by reviewer, until 2026-12-31\n"), "{text}");
    }
}
