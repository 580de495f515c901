//! What a rule is: a value, with all that belongs to it.

use crate::finding::{Findings, Severity};
use crate::inspection::Inspection;
use crate::limit::Limit;
use design::{HouseSeverity, Stage};

/// One check. Its file holds its page, limits, weights, check, remedy, examples and edge cases.
pub struct Rule {
    /// Plain trade words, hyphenated; the name of its file.
    pub name: &'static str,
    pub group: Group,
    /// How much a finding weighs at each stage: preliminary, for comment, for construction, as built.
    pub weights: [Weight; 4],
    pub limits: &'static [Limit],
    /// A line that must stand under every finding, where people or buildings can come to harm.
    pub caution: Option<&'static str>,
    /// Whether a departure may accept its findings. The few rules that guard people take none.
    pub takes_departures: bool,
    /// Whether it keeps people from harm, so that no house standard moves its limits, makes its findings weigh less, or switches
    /// it off. All rules of safety do, and all that take no departures.
    pub guards_people: bool,
    /// Rules whose finding on the same thing, or on one that bears on it, brings this rule's along: it is told there then,
    /// if it is no graver.
    pub follows: &'static [&'static str],
    /// Whether it judges what the others found, and so runs when they are done.
    pub after_the_others: bool,
    /// Its own source text, whose head is its guidance page.
    pub file: &'static str,
    pub check: fn(&Inspection, &mut Findings),
}

impl Rule {
    /// What most rules have; a rule writes what differs: `Rule { name: .., ..Rule::USUAL }`.
    pub const USUAL: Rule = Rule {
        name: "",
        group: Group::DesignFile,
        weights: [Weight::Warning; 4],
        limits: &[],
        caution: None,
        takes_departures: true,
        guards_people: false,
        follows: &[],
        after_the_others: false,
        file: "",
        check: |_, _| {},
    };

    /// Whether a house standard must leave it as it is.
    pub fn stays_as_it_is(&self) -> bool {
        self.guards_people || !self.takes_departures || self.group == Group::Safety
    }

    /// How much a finding weighs at a stage.
    pub fn weight(&self, stage: Stage) -> Weight {
        self.weights[match stage {
            Stage::Preliminary => 0,
            Stage::ForComment => 1,
            Stage::ForConstruction => 2,
            Stage::AsBuilt => 3,
        }]
    }
}

impl std::fmt::Debug for Rule {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str(self.name)
    }
}

/// How much a finding weighs at a stage: a severity, or nothing at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    Silent,
    Hint,
    Information,
    Warning,
    Error,
}

impl Weight {
    /// The weight of a house standard's word.
    pub(crate) fn of(severity: HouseSeverity) -> Weight {
        match severity {
            HouseSeverity::Silent => Weight::Silent,
            HouseSeverity::Hint => Weight::Hint,
            HouseSeverity::Information => Weight::Information,
            HouseSeverity::Warning => Weight::Warning,
            HouseSeverity::Error => Weight::Error,
        }
    }

    pub fn severity(self) -> Option<Severity> {
        match self {
            Weight::Silent => None,
            Weight::Hint => Some(Severity::Hint),
            Weight::Information => Some(Severity::Information),
            Weight::Warning => Some(Severity::Warning),
            Weight::Error => Some(Severity::Error),
        }
    }
}

/// What a rule is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Group {
    DesignFile,
    Geometry,
    HeatOutput,
    SurfaceTemperature,
    Hydraulics,
    Manifold,
    Source,
    FloorConstruction,
    JointsAndSleeves,
    Controls,
    Records,
    Safety,
    Electric,
    /// Rules of a firm's own.
    House,
}

impl Group {
    /// The group in plain words.
    pub fn word(self) -> &'static str {
        match self {
            Group::DesignFile => "design file",
            Group::Geometry => "geometry",
            Group::HeatOutput => "heat output",
            Group::SurfaceTemperature => "surface temperature",
            Group::Hydraulics => "hydraulics",
            Group::Manifold => "manifold",
            Group::Source => "source and flow temperature",
            Group::FloorConstruction => "floor construction",
            Group::JointsAndSleeves => "movement joints and sleeves",
            Group::Controls => "controls",
            Group::Records => "commissioning and records",
            Group::Safety => "safety",
            Group::Electric => "electric alternative",
            Group::House => "house standard",
        }
    }
}
