//! What tells a finding from all others and outlives edits: its rule, its design and the thing that it is about, never a line.

use check::{Finding, Outcome};
use std::collections::HashMap;

/// For each of the findings its identity in sixteen hexadecimal digits.
pub fn identities<'f>(outcome: &Outcome, findings: impl Iterator<Item = &'f Finding>) -> Vec<String> {
    let design = outcome.sources.first().map_or("", |source| &source.path).replace('\\', "/");
    let mut seen: HashMap<(&str, String), usize> = HashMap::new();
    let mut identities = Vec::new();
    for finding in findings {
        let at = finding.at(&outcome.design);
        // Where a rule finds several things wrong with one, they are told apart by their order.
        let nth = seen.entry((finding.rule.name, at.clone())).or_default();
        *nth += 1;
        identities.push(identity_of(&[finding.rule.name, &design, &at, &nth.to_string()]));
    }
    identities
}

/// The identity of what is known by these words.
pub fn identity_of(words: &[&str]) -> String {
    format!("{:016x}", hash(words))
}

/// FNV-1a of 64 bits: a hash that is the same everywhere and in every version, which that of the standard library need not be.
fn hash(words: &[&str]) -> u64 {
    let bytes = words.iter().flat_map(|word| word.bytes().chain([0]));
    bytes.fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checked;
    use std::collections::BTreeMap;

    /// Of each message its identity.
    fn of(text: &str) -> BTreeMap<String, String> {
        let outcome = checked(text);
        let identities = identities(&outcome, outcome.findings.iter());
        outcome.findings.iter().map(|it| it.message.clone()).zip(identities).collect()
    }

    #[test]
    fn lines_may_move_and_other_findings_come() {
        let before = of("format: 1\nrooms:\n  hall: {area: 12}\n");
        let after = of("# A comment.\nformat: 1\n\nrooms:\n  den: {area: 9}\n  hall: {area: 12, colour: red}\n");
        assert!(!before.is_empty());
        let mut all: Vec<&String> = after.values().collect();
        for (message, identity) in &before {
            assert_eq!(after.get(message), Some(identity), "{message}");
        }
        all.sort();
        all.dedup();
        assert_eq!(all.len(), after.len(), "no two have the same");
    }

    /// The values that the authors of the hash give for `a` and `foobar` (Fowler, Noll, Vo: 64-bit FNV-1a; from memory).
    #[test]
    fn the_hash_is_the_one_that_is_published() {
        let plain = |text: &str| {
            text.bytes()
                .fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x100_0000_01b3))
        };
        assert_eq!((plain("a"), plain("foobar")), (0xaf63_dc4c_8601_ec8c, 0x8594_4171_f739_67e8));
        assert_eq!(hash(&["a", "b"]), plain("a\0b\0"));
    }
}
