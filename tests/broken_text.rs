//! Half-typed is the normal state of a file in an editor: whatever is cut off, deleted, doubled, moved or garbled, the
//! check comes to its end soon, and what it finds stands in the text.

mod demos;

use check::{Outcome, Place};
use demos::{check, check_after};
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// A demo design with its text and a check of it.
struct Demo {
    path: PathBuf,
    text: String,
    before: Outcome,
}

fn designs() -> Vec<Demo> {
    let demo = |path: PathBuf| {
        let text = std::fs::read_to_string(&path).unwrap();
        Demo { before: check(&path, &text), path, text }
    };
    demos::designs().into_iter().map(demo).collect()
}

/// Checks a broken text; `how` says what was done to it.
fn hold(Demo { path, before, .. }: &Demo, bytes: &[u8], remedies: bool, how: &str) {
    let start = Instant::now();
    let outcome = check_after(path, bytes, Some(before), remedies);
    // Far more than it takes on a busy machine, far less than anything that hangs.
    let took = start.elapsed();
    assert!(took < Duration::from_secs(if remedies { 60 } else { 10 }), "{}: {how}: {took:?}", path.display());
    // What was taken over from the check before is what a check of this text alone gives.
    if bytes.len().is_multiple_of(7) && !remedies {
        let alone = check_after(path, bytes, None, false);
        let told = |it: &Outcome| format!("{:#?}", (&it.findings, &it.followers, &it.not_checked, &it.departed));
        assert!(told(&outcome) == told(&alone), "{}: {how}", path.display());
    }
    for finding in outcome.findings.iter().chain(outcome.departed.iter().map(|(finding, _)| finding)) {
        let related = finding.related.iter().map(|it| it.place);
        let changes = finding.remedies.iter().flat_map(|it| &it.changes).map(|it| it.place);
        for place in related.chain(changes).chain([finding.place]) {
            assert!(is_in_text(&outcome, place), "{}: {how}: {finding:?}", path.display());
        }
    }
}

/// Whether a place is one of a text that was read, and cuts no letter in two.
fn is_in_text(outcome: &Outcome, place: Place) -> bool {
    let source = outcome.sources.get(place.file.number());
    source.is_some_and(|source| source.text.get(place.range()).is_some())
}

#[test]
fn every_beginning_is_checked_to_the_end() {
    for demo in designs() {
        let text = &demo.text;
        // Every end of a line, and some places within, in the middle of letters too.
        for end in (0..=text.len()).filter(|at| at % 31 == 0 || text.as_bytes().get(at.wrapping_sub(1)) == Some(&b'\n'))
        {
            hold(&demo, &text.as_bytes()[..end], end.is_multiple_of(3100), &format!("up to byte {end}"));
        }
    }
}

#[test]
fn every_line_may_be_deleted_doubled_or_moved() {
    for demo in designs() {
        let text = &demo.text;
        let lines: Vec<&str> = text.split_inclusive('\n').collect();
        for (at, line) in lines.iter().enumerate() {
            let with = |instead: &str| [&lines[..at].concat(), instead, &lines[at + 1..].concat()].concat();
            for (how, instead) in [
                ("deleted", String::new()),
                ("doubled", format!("{line}{line}")),
                ("moved in", format!(" {line}")),
                ("moved out", line.strip_prefix("  ").unwrap_or(line).to_string()),
                ("led by a tab", format!("\t{}", line.trim_start())),
            ] {
                let text = with(&instead);
                hold(&demo, text.as_bytes(), how == "deleted" && at % 40 == 0, &format!("line {} {how}", at + 1));
            }
        }
    }
}

/// A generator of numbers that look thrown: xorshift, as G. Marsaglia gives it (2003); from memory.
struct Dice(u64);

impl Dice {
    fn throw(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }
}

#[test]
fn any_byte_may_be_another() {
    let signs = b":-[]{}\"'#&*,|>?!%@`\t\r\n \0\xffx0.";
    for demo in designs() {
        let text = &demo.text;
        let mut dice = Dice(text.len() as u64 + 1);
        for at in (0..text.len()).step_by(23) {
            let at = at + (dice.throw() % 23) as usize;
            let mut bytes = text.clone().into_bytes();
            let Some(byte) = bytes.get_mut(at) else { continue };
            let other = match dice.throw() % 3 {
                0 => *byte ^ (1 << (dice.throw() % 8)),
                1 => dice.throw() as u8,
                _ => signs[(dice.throw() % signs.len() as u64) as usize],
            };
            *byte = other;
            hold(&demo, &bytes, at.is_multiple_of(501), &format!("byte {at} is {other:#04x}"));
        }
    }
}
