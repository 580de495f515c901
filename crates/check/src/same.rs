//! Which findings of two checks are the same: those of one rule at one thing, what says the same word for word before what has
//! another value.

use crate::{Finding, Outcome};
use std::collections::HashMap;

/// What a finding is known by.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Known<'k> {
    pub rule: &'k str,
    /// The stable name of what it is about.
    pub at: &'k str,
    pub message: &'k str,
}

/// For each of those `now` the position of the one it was `then`, each of them taken once. Two that do not fit are never a pair.
pub(crate) fn pairs(now: &[Known], then: &[Known], fits: impl Fn(usize, usize) -> bool) -> Vec<Option<usize>> {
    let mut pairs = vec![None; now.len()];
    let mut taken = vec![false; then.len()];
    for word_for_word in [true, false] {
        let key =
            |it: &Known<'_>| (it.rule.to_string(), it.at.to_string(), word_for_word.then(|| it.message.to_string()));
        let mut left: HashMap<_, Vec<usize>> = HashMap::new();
        for (then, it) in then.iter().enumerate().filter(|(then, _)| !taken[*then]) {
            left.entry(key(it)).or_default().push(then);
        }
        for (now, it) in now.iter().enumerate() {
            let Some(candidates) = left.get_mut(&key(it)).filter(|_| pairs[now].is_none()) else { continue };
            if let Some(position) = candidates.iter().position(|then| fits(now, *then)) {
                let then = candidates.remove(position);
                taken[then] = true;
                pairs[now] = Some(then);
            }
        }
    }
    pairs
}

impl Outcome {
    /// Takes out findings by whether each is to go, those that are told with another behind the others, as they stand in
    /// [`Outcome::findings`] and [`Outcome::followers`]. What follows from one that goes, and stays, is told for itself.
    pub(crate) fn take_out(&mut self, goes: &[bool]) -> Vec<Finding> {
        let standing = self.findings.len();
        let causes = std::mem::take(&mut self.causes);
        let mut out: Vec<(Option<usize>, Finding)> = Vec::new();
        // Each finding that stays, with its number before.
        let mut findings: Vec<(usize, Finding)> = Vec::with_capacity(standing);
        let mut followers: Vec<(usize, Finding)> = Vec::new();
        for (number, finding) in self.findings.drain(..).chain(self.followers.drain(..)).enumerate() {
            let cause = number.checked_sub(standing).map(|follower| causes[follower]);
            match cause {
                _ if goes[number] => out.push((cause, finding)),
                Some(cause) if !goes[cause] => followers.push((cause, finding)),
                _ => findings.push((number, finding)),
            }
        }
        // What goes is not told with its cause either.
        for (cause, gone) in &out {
            let cause = findings.iter_mut().find(|(before, _)| Some(*before) == *cause);
            if let Some((_, cause)) = cause {
                cause.related.retain(|it| !(it.place == gone.place && it.message.ends_with(&gone.message)));
            }
        }
        // What was told with another comes into the order of the file.
        findings.sort_by_key(|(_, finding)| finding.place);
        let position: HashMap<usize, usize> =
            findings.iter().enumerate().map(|(now, (before, _))| (*before, now)).collect();
        self.causes = followers.iter().map(|(cause, _)| position[cause]).collect();
        self.findings = findings.into_iter().map(|(_, finding)| finding).collect();
        self.followers = followers.into_iter().map(|(_, finding)| finding).collect();
        out.into_iter().map(|(_, finding)| finding).collect()
    }

    /// Takes out what is wrong with a file itself and is told where that file is checked by itself, such as a house standard that many
    /// designs are held to: `of_file` are the findings there.
    pub fn without_those_of(&mut self, path: &str, of_file: &[Finding]) {
        let Some(file) = self.sources.iter().position(|source| source.path == path) else { return };
        let is_told = |finding: &Finding| {
            finding.place.file.number() == file
                && of_file.iter().any(|it| {
                    it.rule.name == finding.rule.name
                        && it.message == finding.message
                        && it.place.range() == finding.place.range()
                })
        };
        let goes: Vec<bool> = self.findings.iter().chain(&self.followers).map(is_told).collect();
        if goes.contains(&true) {
            self.take_out(&goes);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn known<'k>(said: &[(&'k str, &'k str, &'k str)]) -> Vec<Known<'k>> {
        said.iter().map(|(rule, at, message)| Known { rule, at, message }).collect()
    }

    #[test]
    fn what_says_the_same_is_the_same_before_what_has_another_value() {
        let now = known(&[("a", "x", "2"), ("a", "x", "1"), ("a", "y", "1"), ("b", "x", "1"), ("a", "x", "9")]);
        let then = known(&[("a", "x", "1"), ("a", "x", "3"), ("a", "z", "1")]);
        assert_eq!(pairs(&now, &then, |_, _| true), [Some(1), Some(0), None, None, None]);
        assert_eq!(pairs(&now, &then, |now, _| now != 0), [None, Some(0), None, None, Some(1)]);
        assert_eq!(pairs(&now, &then, |_, then| then != 0), [Some(1), None, None, None, None]);
    }

    /// Thousands of findings of one rule at one thing are no work for minutes.
    #[test]
    fn many_at_one_thing_end_soon() {
        let messages: Vec<String> = (0..20_000).map(|at| at.to_string()).collect();
        let all: Vec<Known> = messages.iter().map(|message| Known { rule: "a", at: "x", message }).collect();
        let backwards: Vec<Known> = all.iter().rev().copied().collect();
        let begun = std::time::Instant::now();
        assert!(pairs(&all, &backwards, |_, _| true).iter().enumerate().all(|(at, it)| *it == Some(19_999 - at)));
        assert!(begun.elapsed().as_secs() < 10, "{:?}", begun.elapsed());
    }
}
