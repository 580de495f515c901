//! `seeded-faults.yaml`, read.

use check::RULES;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

#[derive(Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub struct Table {
    /// By the name of the rule.
    pub seeded: BTreeMap<String, Vec<Seed>>,
    /// Rules that no seed can prove, with the reason.
    pub not_seeded: BTreeMap<String, String>,
    pub edges: BTreeMap<String, Vec<Edge>>,
    pub steered: BTreeMap<String, Vec<Steered>>,
}

/// A fault put into a clean design.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Seed {
    /// The design, by the name of its file.
    #[serde(rename = "in")]
    pub design: String,
    /// Old text, which stands once in the design or its library, to new.
    pub change: BTreeMap<String, String>,
    /// What the finding is about.
    pub at: String,
    /// The keys that lead to the place where it stands, if it is not `at` itself.
    pub place: Option<String>,
    /// What else the change makes, truly a second matter.
    #[serde(default)]
    pub also: Vec<Also>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Also {
    pub rule: String,
    pub at: String,
    /// Why it is a matter of its own.
    pub because: String,
}

/// Values about a limit, put in the place of `?` in the new texts of a change.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Edge {
    #[serde(rename = "in")]
    pub design: String,
    pub change: BTreeMap<String, String>,
    pub silent: Vec<String>,
    pub found: Vec<String>,
}

/// A value put in the place of `?`, which takes what is worked out across its limit.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Steered {
    #[serde(rename = "in")]
    pub design: String,
    pub change: BTreeMap<String, String>,
    /// A value at which the rule is silent.
    pub silent: String,
    /// One at which it speaks.
    pub found: String,
}

impl Table {
    pub fn read() -> Table {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("seeded-faults.yaml");
        serde_yaml::from_str(&std::fs::read_to_string(path).unwrap()).unwrap_or_else(|error| panic!("{error}"))
    }

    /// Only what stands there of some rules.
    pub fn keep(&mut self, rules: &[String]) {
        self.seeded.retain(|rule, _| rules.contains(rule));
        self.edges.retain(|rule, _| rules.contains(rule));
        self.steered.retain(|rule, _| rules.contains(rule));
    }

    /// Rules that are proven by no seed and say no reason, and entries of rules that are none.
    pub fn gaps(&self) -> Vec<String> {
        let mut gaps = Vec::new();
        for rule in RULES.iter().map(|rule| rule.name) {
            match (self.seeded.contains_key(rule), self.not_seeded.contains_key(rule)) {
                (false, false) => gaps.push(format!("{rule}: neither seeded nor said why not")),
                (true, true) => gaps.push(format!("{rule}: seeded, and said why not")),
                _ => {}
            }
        }
        let edges = self.edges.keys().chain(self.steered.keys());
        for rule in self.seeded.keys().chain(self.not_seeded.keys()).chain(edges) {
            if !RULES.iter().any(|it| it.name == rule) {
                gaps.push(format!("{rule}: there is no such rule"));
            }
        }
        gaps
    }
}

/// The name as the rules have it.
pub fn name_of(rule: &str) -> Option<&'static str> {
    RULES.iter().map(|it| it.name).find(|it| *it == rule)
}
