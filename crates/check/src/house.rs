//! The house standard that a design is held against: its limits, weights and own rules, made ready.

mod own_rules;
mod template;
mod typed;
mod values;

use crate::rule::Weight;
use crate::{Guidance, RULES, Rule};
use design::{Given, Place, Reading, RuleSetting, Severities, Stage, nearest};
use own_rules::OwnRule;
use std::collections::HashMap;
pub use template::start_house_standard;

/// How many own rules are run: each looks at every thing of its kind at every check.
const MOST_OWN_RULES: usize = 200;

/// A house standard as the check uses it. Without one, everything is as the rules have it.
#[derive(Debug, Default)]
pub struct House {
    /// What it is called, where it says so.
    name: Option<String>,
    revision: Option<String>,
    /// Whether there is one.
    is_given: bool,
    /// The address at which the pages of the rules stand.
    pages: Option<String>,
    limits: HashMap<(&'static str, &'static str), OwnLimit>,
    weights: HashMap<&'static str, [Weight; 4]>,
    switched_off: Vec<SwitchedOff>,
    own_rules: Vec<OwnRule>,
    faults: Vec<Fault>,
}

/// A limit that the house standard has otherwise.
#[derive(Debug, Clone)]
pub struct OwnLimit {
    /// As it is written.
    pub text: String,
    pub place: Place,
    /// Why, where the house standard says it.
    pub reason: Option<String>,
}

/// A rule that is not run, and why.
#[derive(Debug, Clone)]
pub struct SwitchedOff {
    pub rule: &'static Rule,
    pub reason: String,
    pub place: Place,
}

/// Something in a house standard that makes no sense, or must not be.
#[derive(Debug, Clone)]
pub(crate) struct Fault {
    pub place: Place,
    /// The keys that lead to it.
    pub path: String,
    pub message: String,
    /// What was probably meant in place of what stands there.
    pub meant: Option<String>,
}

impl AsRef<House> for House {
    fn as_ref(&self) -> &House {
        self
    }
}

impl House {
    /// Reads a house standard by itself.
    pub fn read(path: &str, bytes: &[u8]) -> House {
        House::of(&design::read_under("", b"", Some(path), &|_| Ok(bytes.to_vec()), &[]))
    }

    /// Makes ready what was read of a house standard, if there is one.
    pub(crate) fn of(reading: &Reading) -> House {
        let Some(standard) = &reading.house_standard else { return House::default() };
        let text = |given: &Given<String>| given.as_ref().map(|it| it.value.trim().to_string());
        let mut house = House {
            is_given: true,
            name: text(&standard.head.name),
            revision: text(&standard.head.revision),
            pages: text(&standard.head.guidance),
            ..House::default()
        };
        if let Some(pages) = standard.head.guidance.as_ref().filter(|it| !is_address(&it.value)) {
            let message = format!("`{}` is no address of pages; it begins with `https://`", pages.value);
            house.fault(pages.at, "house-standard/guidance".into(), message, None);
            house.pages = None;
        }
        for (name, entry) in standard.rules.iter() {
            house.set(name, entry.name_place, &entry.value);
        }
        for (number, (name, entry)) in standard.own_rules.iter().enumerate() {
            if number == MOST_OWN_RULES {
                let message =
                    format!("a house standard has up to {MOST_OWN_RULES} own rules; those from here on are not run");
                house.fault(entry.name_place, format!("own-rules/{name}"), message, None);
                break;
            }
            house.add_own_rule(name, entry);
        }
        crate::rules::required_field_missing::look_at_paths(standard, &mut house.faults);
        house
    }

    /// What the house standard is called.
    pub fn name(&self) -> &str {
        self.name.as_deref().unwrap_or("the house standard")
    }

    /// What a design was held to, with its revision; nothing without a house standard.
    pub fn title(&self) -> Option<String> {
        let revision = self.revision.as_ref().map(|it| format!(", revision {it}")).unwrap_or_default();
        self.is_given.then(|| format!("{}{revision}", self.name()))
    }

    /// Every rule there is for a design: those of the program, then the house's own.
    pub fn rules(&self) -> impl Iterator<Item = &'static Rule> {
        RULES.iter().copied().chain(self.own_rules.iter().map(|it| it.rule))
    }

    /// The rules that are not run, with the reasons.
    pub fn switched_off(&self) -> &[SwitchedOff] {
        &self.switched_off
    }

    /// The page of a rule, be it the program's or the house's own.
    pub fn guidance(&self, rule: &Rule) -> Guidance {
        self.own_rule(rule).map_or_else(|| Guidance::of(rule), OwnRule::page)
    }

    /// The address of a rule's page, where the house keeps the pages.
    pub fn page_of(&self, rule: &Rule) -> Option<String> {
        self.pages.as_ref().map(|pages| format!("{}/{}.html", pages.trim_end_matches('/'), rule.name))
    }

    /// What a rule's findings weigh at a stage.
    pub fn weight(&self, rule: &Rule, stage: Stage) -> Weight {
        match self.weights.get(rule.name) {
            Some(weights) => weights[stage as usize],
            None => rule.weight(stage),
        }
    }

    /// The house's own limit in place of a rule's.
    pub fn limit(&self, rule: &Rule, limit: &'static str) -> Option<&OwnLimit> {
        self.limits.get(&(rule.name, limit))
    }

    pub(crate) fn faults(&self) -> &[Fault] {
        &self.faults
    }

    pub(crate) fn own_rules(&self) -> &[OwnRule] {
        &self.own_rules
    }

    pub(crate) fn own_rule(&self, rule: &Rule) -> Option<&OwnRule> {
        self.own_rules.iter().find(|it| std::ptr::eq(it.rule, rule))
    }

    /// Takes over what a house standard changes of a rule.
    fn set(&mut self, name: &str, place: Place, setting: &RuleSetting) {
        let Some(rule) = RULES.iter().copied().find(|rule| rule.name == name) else {
            let near = nearest(name, RULES.iter().map(|rule| rule.name));
            let guess = near.map(|near| format!("; did you mean `{near}`")).unwrap_or_default();
            return self.fault(place, format!("rules/{name}"), format!("there is no rule `{name}`{guess}"), near);
        };
        let path = |key: &str| format!("rules/{name}/{key}");
        for (limit, entry) in setting.limits.iter() {
            let own = &entry.value;
            let Some(by_rule) = rule.limits.iter().find(|it| it.name == limit) else {
                let names: Vec<&str> = rule.limits.iter().map(|it| it.name).collect();
                let near = nearest(limit, names.iter().copied());
                let has = match names[..] {
                    [] => "it has none".to_string(),
                    _ => format!("it has {}", names.join(", ")),
                };
                let message = format!("rule {name} has no limit `{limit}`; {has}");
                self.fault(entry.name_place, path(&format!("limits/{limit}")), message, near);
                continue;
            };
            if rule.stays_as_it_is() {
                let message = format!("rule {name} guards people or the reading of the file; its limits are not moved");
                self.fault(entry.name_place, path(&format!("limits/{limit}")), message, None);
                continue;
            }
            let value = |text: &str| quantity::readings(text).first().map_or(0.0, |(_, si)| *si);
            if value(&own.text) < 0.0 && value(by_rule.value) >= 0.0 && !own.text.contains('°') {
                let message = format!("`{}` is less than nothing; the rule itself has {}", own.text, by_rule.value);
                self.fault(own.at, path(&format!("limits/{limit}")), message, None);
                continue;
            }
            let kinds =
                |text: &str| quantity::readings(text).into_iter().map(|(kind, _)| kind.kind).collect::<Vec<_>>();
            let wanted = kinds(by_rule.value);
            if kinds(&own.text).iter().any(|kind| wanted.contains(kind)) {
                let reason = setting.reason.as_ref().map(|it| it.value.clone());
                let own = OwnLimit { text: own.text.clone(), place: own.at, reason };
                self.limits.insert((rule.name, by_rule.name), own);
            } else {
                let kind = wanted.first().copied().unwrap_or("a number");
                let message =
                    format!("`{}` is not {kind}, as in `{}`, which the rule itself has", own.text, by_rule.value);
                self.fault(own.at, path(&format!("limits/{limit}")), message, None);
            }
        }
        let usual = rule.weights;
        if let Some(off) = &setting.switched_off {
            if rule.stays_as_it_is() {
                let message = format!("rule {name} guards people or the reading of the file; it is not switched off");
                self.fault(off.at, path("switched-off"), message, None);
            } else if ["", "true", "false", "yes", "no"].contains(&off.value.trim()) {
                let message = "a rule is switched off for a reason in words, and none is given".to_string();
                self.fault(off.at, path("switched-off"), message, None);
            } else {
                self.weights.insert(rule.name, [Weight::Silent; 4]);
                let reason = off.value.trim().to_string();
                self.switched_off.push(SwitchedOff { rule, reason, place: off.at });
                return;
            }
        }
        if let Some(severity) = &setting.severity {
            let weights = weights(usual, &severity.value);
            let weaker = weights.iter().zip(&usual).any(|(own, usual)| own < usual);
            if weaker && rule.stays_as_it_is() {
                let message =
                    format!("rule {name} guards people or the reading of the file; its findings do not weigh less");
                self.fault(severity.at, path("severity"), message, None);
            } else if weights == [Weight::Silent; 4] && usual != weights {
                let message =
                    "a rule that is silent at every stage is switched off: say `switched-off:` and why".into();
                self.fault(severity.at, path("severity"), message, None);
            } else {
                let silenced = Stage::ALL.iter().zip(weights.iter().zip(&usual));
                let silenced =
                    silenced.filter(|(_, (own, usual))| **own == Weight::Silent && **usual != Weight::Silent);
                let stages: Vec<&str> = silenced.map(|(stage, _)| stage.word()).collect();
                let reason = setting.reason.as_ref().map_or("", |it| it.value.trim());
                if !stages.is_empty() && reason.is_empty() {
                    let message = format!(
                        "a rule is silenced for a reason, and none is given: add `reason:` ({})",
                        stages.join(", ")
                    );
                    return self.fault(severity.at, path("severity"), message, None);
                }
                if !stages.is_empty() {
                    let reason = format!("{reason} (silent at {})", stages.join(", "));
                    self.switched_off.push(SwitchedOff { rule, reason, place: severity.at });
                }
                self.weights.insert(rule.name, weights);
            }
        }
    }

    fn fault(&mut self, place: Place, path: String, message: String, meant: Option<&str>) {
        self.faults.push(Fault { place, path, message, meant: meant.map(str::to_string) });
    }

    fn add_own_rule(&mut self, name: &str, entry: &design::Entry<design::OwnRule>) {
        let path = || format!("own-rules/{name}");
        if RULES.iter().any(|rule| rule.name == name) {
            let message = format!("`{name}` is a rule already; an own rule has a name of its own");
            return self.fault(entry.name_place, path(), message, None);
        }
        let is_named_so = |name: &str| {
            name.len() <= 60 && name.starts_with(|c: char| c.is_ascii_lowercase()) && {
                name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
            }
        };
        if !is_named_so(name) {
            let message =
                "the name of a rule is lower-case words with hyphens, up to 60 letters: `our-loops-are-short`";
            return self.fault(entry.name_place, path(), message.into(), None);
        }
        match OwnRule::new(name, entry, self.name()) {
            Ok(rule) => self.own_rules.push(rule),
            Err(faults) => self.faults.extend(faults),
        }
    }
}

fn is_address(text: &str) -> bool {
    let text = text.trim();
    ["https://", "http://", "file://"].iter().any(|start| text.len() > start.len() && text.starts_with(start))
        && !text.contains(|c: char| c.is_whitespace() || c.is_control() || matches!(c, '"' | '<' | '>'))
}

/// A rule's weights with what a house standard says of them. One word for all stages counts where the rule speaks; of words
/// for stages each counts from its stage on, but never makes a later stage weigh less than the rule does.
fn weights(usual: [Weight; 4], own: &Severities) -> [Weight; 4] {
    let mut weights = usual;
    let mut from_before = None;
    for (weight, stage) in weights.iter_mut().zip(Stage::ALL) {
        match (own, own.at(*stage).map(Weight::of)) {
            (Severities::Always(_), Some(own)) if *weight != Weight::Silent => *weight = own,
            (Severities::ByStage(_), Some(own)) => {
                from_before = Some(own);
                *weight = own;
            }
            (Severities::ByStage(_), None) => *weight = from_before.map_or(*weight, |before| before.max(*weight)),
            (Severities::Always(_), _) => {}
        }
    }
    weights
}

#[cfg(test)]
mod tests {
    use super::House;

    /// A word for a stage counts from that stage on, and never makes a later one weigh less than the rule does.
    #[test]
    fn a_severity_counts_from_its_stage_on() {
        let words = |name: &str, severity: &str| {
            let text = format!("format: 1\nrules:\n  {name}: {{severity: {severity}}}\n");
            let house = House::read("house-standard.yaml", text.as_bytes());
            let rule = house.rules().find(|it| it.name == name).unwrap();
            design::Stage::ALL
                .iter()
                .map(|stage| format!("{:?}", house.weight(rule, *stage)))
                .collect::<Vec<_>>()
                .join(" ")
        };
        let name = "loop-pressure-drop-too-high";
        assert_eq!(words(name, "error"), "Error Error Error Error");
        assert_eq!(words(name, "{for-comment: error}"), "Hint Error Error Error");
        assert_eq!(words(name, "{preliminary: silent}, reason: too early"), "Silent Information Warning Warning");
        assert_eq!(
            words(name, "{preliminary: silent, for-construction: hint}, reason: x"),
            "Silent Information Hint Warning"
        );
    }
}
