//! Findings as commands of a GitHub workflow, which the host shows beside the lines of a change.
//!
//! The syntax is the host's own and published: `::error file=a,line=1::message`. Of each kind it shows the first ten of a step (the
//! host's manual, from memory); all of them stand in the log.

use super::Ending;
use super::notes::{gravest_first, notes_and_places, one_of_three};
use crate::Summary;
use crate::places::Texts;
use crate::words::{file_name, printable, sentence};
use check::Outcome;

/// How many of each kind the host shows beside the lines of a change.
const MOST_SHOWN: usize = 10;

/// A command for each finding, and a line that sums the design up.
pub fn lines(outcome: &Outcome) -> Vec<u8> {
    let texts = Texts::new(&outcome.sources);
    let mut lines = String::new();
    for (_, finding) in gravest_first(&outcome.findings) {
        let mut where_to = String::new();
        if let Some(text) = texts.of(finding.place) {
            let range = finding.place.range();
            let (start, end) = (text.position(range.start), text.position(range.end));
            where_to = format!("file={},line={},endLine={},", property(&printable(text.path)), start.line, end.line);
            // The host takes columns only within one line.
            if start.line == end.line {
                where_to += &format!("col={},endColumn={},", start.column, end.column);
            }
        }
        let command = one_of_three(finding.severity, "notice");
        let mut message = sentence(&finding.message).into_owned();
        for note in notes_and_places(finding, outcome, &texts) {
            message += &format!("\n{note}");
        }
        lines += &format!("::{command} {where_to}title={}::{}\n", property(finding.rule.name), data(&message));
    }
    let path = outcome.sources.first().map_or("", |source| &source.path);
    // A name that begins like a command must not become one, nor one that has another form of command anywhere in it.
    let name = data(&file_name(path)).replace("##[", "## [");
    lines += &format!("Checked {name}: {}\n", Summary::of(outcome).sentence());
    lines.into_bytes()
}

/// The end: what was accepted and stands no more, what could not be read, and what the host will not show.
pub fn end(ending: &Ending) -> String {
    let Summary { errors, warnings, information, hints, .. } = ending.summary;
    let mut text = String::new();
    for it in ending.unreadable {
        let said = format!("cannot check {}: {}", file_name(&it.file), sentence(&it.reason));
        text += &format!("::error title=unreadable::{}\n", data(&said));
    }
    for it in ending.stale {
        text += &format!("::warning title=accepted-and-gone::{}\n", data(&sentence(&it.sentence())));
    }
    let shown = [errors + ending.unreadable.len(), warnings + ending.stale.len(), information + hints];
    if shown.iter().any(|it| *it > MOST_SHOWN) {
        text += &format!(
            "Beside the lines of a change the host shows up to {MOST_SHOWN} errors, {MOST_SHOWN} warnings and {MOST_SHOWN} notices of this step; \
             there are {}, {} and {}, all of them above\n",
            shown[0], shown[1], shown[2]
        );
    }
    text + &ending.summary.text()
}

/// Text as it stands behind the last colons.
fn data(text: &str) -> String {
    text.replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A")
}

/// Text as it stands in a property.
fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}

#[cfg(test)]
mod tests {
    use crate::checked;
    use crate::findings::{Form, tests::written};

    #[test]
    fn a_finding_is_a_command_with_its_place() {
        let text = written(&checked("format: 1\nrooms: {hall: {area: 12}}\n"), Form::Github);
        let wanted = "::error file=house.ufh.yaml,line=2,endLine=2,col=22,endColumn=24,title=unit-missing-or-wrong::`12` has no unit";
        assert!(text.starts_with(wanted), "{text}");
        assert!(text.contains("%0Asource: the design format, version 1"), "{text}");
        assert!(text.contains("\nChecked house.ufh.yaml: 1 error"), "{text}");
    }

    #[test]
    fn what_the_host_will_not_show_is_told() {
        let rooms = |many: usize| -> String { (0..many).map(|at| format!("  room{at}: {{area: 1{at}}}\n")).collect() };
        let text = written(&checked(&format!("format: 1\nrooms:\n{}", rooms(11))), Form::Github);
        assert!(
            text.contains(
                "up to 10 errors, 10 warnings and 10 notices of this step; there are 11, 0 and 0, all of them above\n"
            ),
            "{text}"
        );
        let text = written(&checked(&format!("format: 1\nrooms:\n{}", rooms(10))), Form::Github);
        assert!(!text.contains("all of them above"), "{text}");
    }

    /// Text of a file that anyone may have written becomes no command, and no other property.
    #[test]
    fn a_design_gives_no_commands() {
        let text = written(
            &checked("format: 1\n\"x\\n::stop-commands::y\": 1\nrooms: {\"a,line=9:\\r\\n::error::b\": {area: 12}}\n"),
            Form::Github,
        );
        for line in text.lines() {
            let is_ours = [
                "::error file=house.ufh.yaml,",
                "::warning file=house.ufh.yaml,",
                "::notice file=house.ufh.yaml,",
                "Checked ",
            ]
            .iter()
            .any(|it| line.starts_with(it));
            let is_caution = !line.contains("::");
            assert!(is_ours || is_caution, "{line}");
        }
    }
}
