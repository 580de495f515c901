//! What a check says.

use crate::inspection::Inspection;
use crate::limit::{LimitValue, MovedLimit};
use crate::remedy::Remedy;
use crate::rule::{Group, Rule, Weight};
use design::{Design, Jurisdiction, Place, Source, Stage};
use quantity::Quantity;
use std::borrow::Cow;
use std::cmp::Ordering;
use workings::{Figure, Gap, Subject, Worked};

/// How grave a finding is; the words are those of the Language Server Protocol.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Tidier or cheaper.
    Hint,
    /// A figure that the designer should see.
    Information,
    /// Issue only with a reason.
    Warning,
    /// Do not issue.
    Error,
}

impl Severity {
    pub const ALL: [Severity; 4] = [Severity::Hint, Severity::Information, Severity::Warning, Severity::Error];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Severity::Hint => "hint",
            Severity::Information => "information",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
    }
}

/// A number with its unit, in SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount {
    pub value: f64,
    pub unit: &'static str,
}

impl Amount {
    /// The amount of a measured value.
    pub fn of<Q: Quantity>(value: Q) -> Amount {
        Amount { value: value.si(), unit: Q::SI_UNIT }
    }
}

/// A limit as a finding shows it.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitShown {
    /// The limit, where it is an amount.
    pub amount: Option<Amount>,
    /// Whose it is: a standard, or common practice. Where the house standard moved it, whose the rule's own limit is.
    pub source: Cow<'static, str>,
    /// Where a house standard set it, if one did.
    pub house: Option<MovedLimit>,
}

impl LimitShown {
    /// Whose the limit is; where the house standard moved it, where, and what it would be.
    pub fn whose(&self, sources: &[Source]) -> String {
        let Some(moved) = self.house else { return self.source.to_string() };
        let set_at = sources.get(moved.set_at.file.number()).map(|source| {
            let before = source.text.get(..moved.set_at.range().start).unwrap_or_default();
            format!(" ({}:{})", source.path, before.matches('\n').count() + 1)
        });
        let set_at = set_at.unwrap_or_default();
        format!("the house standard{set_at}; without it {}: {}", moved.by_rule, self.source)
    }
}

/// Another place that belongs to a finding.
#[derive(Debug, Clone)]
pub struct Related {
    pub message: String,
    pub place: Place,
    /// How grave it is, where it is a finding that follows.
    pub severity: Option<Severity>,
}

/// Prints a value and its limit, given in SI: as always, and so that they differ.
type Prints = fn(f64, f64) -> [(String, String); 2];

/// One thing that the check says.
#[derive(Debug, Clone)]
pub struct Finding {
    pub rule: &'static Rule,
    pub severity: Severity,
    /// What it is about. With the rule, and the path where there is one, it is the finding's identity, which
    /// outlives edits.
    pub about: Subject,
    /// Where it is a fault of reading: the keys that lead to what could not be read, `loops/L1/spacing`.
    pub path: Option<String>,
    pub place: Place,
    /// What is wrong with the worked-out value, and the limit: lower case, one sentence, no full stop.
    pub message: String,
    pub value: Option<Amount>,
    pub limit: Option<LimitShown>,
    pub related: Vec<Related>,
    /// The name of the figure whose workings stand behind the value: `loops.L1.length`.
    pub figure: Option<String>,
    pub remedies: Vec<Remedy>,
    /// What it said when it was accepted, where it has become worse than that.
    pub accepted_as: Option<String>,
    /// What decides it, where not all that its thing hangs on does: of a manifold the loop that needs most.
    pub(crate) decided_by: Option<Subject>,
    /// The values at these places are left out of all that is worked out.
    pub(crate) doubted: Vec<Place>,
    /// What stands at its place is probably misspelt: something else is missing because of it, and no departure accepts that.
    pub(crate) is_misspelt: bool,
    /// For the kind of the value.
    printed: Option<Prints>,
}

impl Finding {
    /// A finding about a thing, at a place. [`Findings::add`] gives it its rule and severity.
    pub fn new(about: Subject, place: Place, message: impl Into<String>) -> Finding {
        Finding {
            rule: crate::RULES[0],
            severity: Severity::Hint,
            about,
            path: None,
            place,
            message: message.into(),
            value: None,
            limit: None,
            related: Vec::new(),
            figure: None,
            remedies: Vec::new(),
            accepted_as: None,
            decided_by: None,
            doubted: Vec::new(),
            is_misspelt: false,
            printed: None,
        }
    }

    /// A finding about a fault of reading.
    pub(crate) fn of_reading(fault: &design::Fault, message: impl Into<String>) -> Finding {
        let finding = Finding::new(Subject::Design, fault.place, message).source("the design format, version 1");
        if fault.path.is_empty() { finding } else { finding.at_path(&fault.path) }
    }

    /// The keys that lead to it, where it is a fault of reading.
    pub(crate) fn at_path(mut self, path: &str) -> Finding {
        self.path = Some(path.to_string());
        self
    }

    /// The stable name of what it is about: `loops/L1`, and of a fault of reading the key as well.
    pub fn at(&self, design: &design::Design) -> String {
        self.path.clone().unwrap_or_else(|| self.about.path(design))
    }

    pub(crate) fn without_remedies(mut self) -> Finding {
        self.remedies.clear();
        self
    }

    /// Whether values that it doubts are left out of all that is worked out.
    pub fn leaves_values_out(&self) -> bool {
        !self.doubted.is_empty()
    }

    /// Whether a departure may accept it.
    pub fn takes_departures(&self) -> bool {
        self.rule.takes_departures && !self.is_misspelt
    }

    /// The worked-out or given value that is out of line; without a limit in numbers, how much is wrong.
    pub fn value<Q: Quantity>(mut self, value: Q) -> Finding {
        self.value = Some(Amount::of(value));
        self.printed = Some(|value, limit| {
            let (value, limit) = (Q::from_si(value), Q::from_si(limit));
            [(value.to_string(), limit.to_string()), quantity::apart(value, limit)]
        });
        self
    }

    /// The limit that it is held against.
    pub fn limit<Q: Quantity>(mut self, limit: &LimitValue<Q>) -> Finding {
        let (amount, source) = (Some(Amount::of(limit.value)), limit.source.into());
        self.limit = Some(LimitShown { amount, source, house: limit.house });
        self
    }

    /// Whose the demand is, where it is no amount.
    pub fn source(mut self, source: impl Into<Cow<'static, str>>) -> Finding {
        self.limit = Some(LimitShown { amount: None, source: source.into(), house: None });
        self
    }

    /// Another place that belongs to it.
    pub fn related(mut self, place: Place, message: impl Into<String>) -> Finding {
        self.related.push(Related { message: message.into(), place, severity: None });
        self
    }

    /// The figure whose workings stand behind it.
    pub fn figure(mut self, name: impl Into<String>) -> Finding {
        self.figure = Some(name.into());
        self
    }

    /// Gives value and limit more digits in the message where they print the same: nobody can act on `29.0 °C; at most
    /// 29.0 °C`.
    fn set_apart(&mut self) {
        let (Some(value), Some(limit), Some(printed)) =
            (self.value, self.limit.as_ref().and_then(|it| it.amount), self.printed)
        else {
            return;
        };
        let [plain, apart] = printed(value.value, limit.value);
        if value.unit != limit.unit || plain.0 != plain.1 || apart == plain {
            return;
        }
        let starts: Vec<usize> = self
            .message
            .match_indices(&plain.0)
            .map(|(at, _)| at)
            .filter(|at| !self.message[..*at].ends_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-')))
            .collect();
        if let [first, second] = starts[..] {
            let end = plain.0.len();
            let (head, middle, tail) =
                (&self.message[..first], &self.message[first + end..second], &self.message[second + end..]);
            self.message = format!("{head}{}{middle}{}{tail}", apart.0, apart.1);
        }
    }

    /// Says what decides it: what bears on nothing of that is no cause of it.
    pub(crate) fn decided_by(mut self, what: Subject) -> Finding {
        self.decided_by = Some(what);
        self
    }

    /// A change that may clear it; kept only if a check of the changed text shows that it does.
    pub fn remedy(mut self, remedy: impl Into<Option<Remedy>>) -> Finding {
        self.remedies.extend(remedy.into());
        self
    }
}

/// Something that a rule could not look at.
#[derive(Debug, Clone)]
pub struct NotChecked {
    pub rule: &'static Rule,
    pub about: Subject,
    pub gap: Gap,
}

impl NotChecked {
    /// What would let it look: the field by its stable name, or the reason.
    pub fn missing(&self, design: &Design) -> String {
        self.gap.wants(design)
    }
}

/// Collects what the rules find.
pub struct Findings {
    stage: Stage,
    rule: &'static Rule,
    /// What the findings of the rule weigh, a house standard heard.
    weight: Weight,
    of_this_rule: usize,
    findings: Vec<Finding>,
    not_checked: Vec<NotChecked>,
}

impl Findings {
    /// A rule that finds more in one file than this has said enough.
    const MOST_OF_A_RULE: usize = 1000;

    pub(crate) fn new(stage: Stage) -> Findings {
        Findings {
            stage,
            rule: crate::RULES[0],
            weight: Weight::Silent,
            of_this_rule: 0,
            findings: Vec::new(),
            not_checked: Vec::new(),
        }
    }

    /// Runs a rule, if it speaks at this stage.
    pub(crate) fn run(&mut self, rule: &'static Rule, inspection: &Inspection) {
        self.weight = inspection.house.weight(rule, self.stage);
        if self.weight == Weight::Silent {
            return;
        }
        self.rule = rule;
        self.of_this_rule = 0;
        (rule.check)(inspection, self);
    }

    /// Adds a finding of the rule that is being run, with the rule's severity at this stage.
    pub fn add(&mut self, finding: Finding) {
        self.add_as(self.rule.weight(self.stage), finding);
    }

    /// The same with another weight than the rule's own: for a rule with a softer and a harder limit. Only a rule that
    /// finds errors at this stage, or one of the design file, may make an error of it: a remedy is held against those.
    /// Where a house standard gives the rule another weight, what weighs less stays at most what it was, and what weighs
    /// more at least.
    pub fn add_as(&mut self, weight: Weight, mut finding: Finding) {
        let usual = self.rule.weight(self.stage);
        let finds_errors = usual == Weight::Error || self.rule.group == Group::DesignFile;
        debug_assert!(weight != Weight::Error || finds_errors, "{}", self.rule.name);
        let weight = match weight.cmp(&usual) {
            Ordering::Equal => self.weight,
            _ if self.weight == usual => weight,
            Ordering::Less => weight.min(self.weight),
            Ordering::Greater => weight.max(self.weight),
        };
        let Some(severity) = weight.severity() else { return };
        if self.of_this_rule == Self::MOST_OF_A_RULE {
            return;
        }
        self.of_this_rule += 1;
        finding.set_apart();
        finding.rule = self.rule;
        finding.severity = severity;
        self.findings.push(finding);
    }

    /// The rule that is being run.
    pub(crate) fn rule(&self) -> &'static Rule {
        self.rule
    }

    /// Adds a finding of another rule than the one that is being run, with that rule's own weight.
    pub(crate) fn add_for(&mut self, rule: &'static Rule, finding: Finding) {
        if let Some(severity) = rule.weight(self.stage).severity() {
            self.findings.push(Finding { rule, severity, ..finding });
        }
    }

    /// Says that the rule could not look at something, and why.
    pub fn not_checked(&mut self, about: Subject, gap: &Gap) {
        self.not_checked.push(NotChecked { rule: self.rule, about, gap: gap.clone() });
    }

    /// Says that the rule could not look at something because the file does not give `key` of it.
    pub fn missing(&mut self, about: Subject, key: &'static str) {
        self.not_checked(about, &Gap::missing(about, key));
    }

    /// Whether the regulations that the rule knows apply where the design stands; if not, a note that it could
    /// not look.
    pub fn applies_in(&mut self, inspection: &Inspection, places: &[Jurisdiction]) -> bool {
        match inspection.design.site.jurisdiction {
            Some(here) if places.contains(&here.value) => return true,
            Some(_) => {
                let known: Vec<&str> = places.iter().map(|place| place.word()).collect();
                let reason = format!("this rule knows the regulations of {}", known.join(", "));
                self.not_checked(Subject::Site, &Gap::NoMethod(reason));
            }
            None => self.missing(Subject::Site, "jurisdiction"),
        }
        false
    }

    /// The figure, or nothing and a note that the rule could not look.
    pub fn need<'f, T>(&mut self, about: Subject, worked: &'f Worked<T>) -> Option<&'f Figure<T>> {
        match worked {
            Ok(figure) => Some(figure),
            Err(gap) => {
                self.not_checked(about, gap);
                None
            }
        }
    }

    /// What was found up to now: all that other rules have to say, for a rule that runs after them.
    pub fn so_far(&self) -> &[Finding] {
        &self.findings
    }

    pub(crate) fn into_parts(self) -> (Vec<Finding>, Vec<NotChecked>) {
        (self.findings, self.not_checked)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{Temperature, Velocity};

    #[test]
    fn a_value_just_over_its_limit_is_told_from_it() {
        let message = |value: f64, limit: f64, text: &str| {
            let limit = LimitValue::new(Temperature::celsius(limit), "a test");
            let place = Place { file: design::FileId::new(0), start: 0, end: 0 };
            let mut finding =
                Finding::new(Subject::Design, place, text).value(Temperature::celsius(value)).limit(&limit);
            finding.set_apart();
            finding.message
        };
        let text = "the floor becomes 29.0 °C above L29.0; at most 29.0 °C is comfortable";
        assert_eq!(
            message(29.04, 29.0, text),
            "the floor becomes 29.04 °C above L29.0; at most 29.0 °C is comfortable"
        );
        assert_eq!(message(31.7, 29.0, "31.7 °C; 29.0 °C"), "31.7 °C; 29.0 °C");
        assert_eq!(message(29.04, 29.0, "29.0 °C is no limit"), "29.0 °C is no limit");
        assert_eq!(message(9.04, 9.0, "29.0 °C: 9.0 °C, 9.0 °C"), "29.0 °C: 9.04 °C, 9.0 °C");
    }

    #[test]
    fn a_key_that_stands_there_unread_is_not_called_missing() {
        let wanted = |site: &str| {
            let text = format!("project: {{stage: for construction}}\n{site}");
            crate::bench::not_checked(&crate::rules::building_control_notice_missing::RULE, &text)
        };
        assert_eq!(wanted("site: {jurisdiction: Atlantis}\n"), ["site/jurisdiction could not be read"]);
        assert_eq!(wanted("site: {outdoor-temperature: 3}\n"), ["a name or value that could be read"]);
        assert_eq!(wanted("site: {outdoor-temperature: 3 °C}\n"), ["site/jurisdiction"]);
    }

    #[test]
    fn an_amount_of_another_kind_is_left_alone() {
        let limit = LimitValue::new(Velocity::metres_per_second(0.15), "a test");
        let place = Place { file: design::FileId::new(0), start: 0, end: 0 };
        let mut finding =
            Finding::new(Subject::Design, place, "0.2 °C").value(Temperature::celsius(0.15)).limit(&limit);
        finding.set_apart();
        assert_eq!(finding.message, "0.2 °C");
    }
}
