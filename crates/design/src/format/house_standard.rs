//! A house standard: what a firm asks of its designs beyond the rules, or otherwise than they do.

use crate::read::{Given, List, Reader, Value};
use crate::record::{named, record, words};
use crate::{Named, Shape, Stage};
use jiff::civil::Date;
use serde_json::Value as Json;
use yaml_tree::{Kind, Node};

record! {
    /// What a firm asks of its designs beyond the rules, or otherwise than they do.
    HouseStandard {
        /// The number of the format: 1.
        "format" format: Given<String>,
        /// What the standard is called, its revision, and who answers for it.
        "house-standard" head: StandardHead,
        /// What is changed of a rule, under the rule's name.
        "rules" rules: Named<RuleSetting>,
        /// What every design must give, from a stage on.
        "required" required: Required,
        /// Rules of the firm's own, each under a name of its own.
        "own-rules" own_rules: Named<OwnRule>,
    }
}

record! {
    /// What the standard is called, its revision, and who answers for it.
    StandardHead {
        /// What the standard is called.
        "name" name: Given<String>,
        /// Its revision.
        "revision" revision: Given<String>,
        /// The day it was issued.
        "issued" issued: Given<Date>,
        /// The role of the person who answers for it.
        "agreed-by" agreed_by: Given<String>,
        /// The address at which the firm keeps the pages that `guidance --site` writes; findings then link to them.
        "guidance" guidance: Given<String>,
    }
}

record! {
    /// What is changed of a rule.
    RuleSetting {
        /// The firm's own limits, under the names that the rule's guidance gives them: `most: 15 kPa`.
        "limits" limits: Named<OwnLimit>,
        /// How much its findings weigh: one word for every stage at which the rule speaks, or a word for each stage.
        "severity" severity: Given<Severities>,
        /// Why the rule is not run at all.
        "switched-off" switched_off: Given<String>,
        /// Why the firm has it otherwise.
        "reason" reason: Given<String>,
    }
}
named!(RuleSetting: Label);

/// A limit with its unit, as it is written: of which kind it must be, its rule knows.
#[derive(Debug, Clone)]
pub struct OwnLimit {
    pub text: String,
    pub at: crate::Place,
}
named!(OwnLimit: Label);

impl Value for OwnLimit {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        Some(OwnLimit { text: reader.text(node)?.to_string(), at: node.place })
    }

    fn shape() -> Shape {
        Shape::Text("15 kPa")
    }

    fn plain(&self) -> Json {
        self.text.as_str().into()
    }
}

words! {
    /// How much a finding weighs.
    HouseSeverity {
        /// Do not issue.
        "error" Error,
        /// Issue only with a reason.
        "warning" Warning,
        /// A figure that the designer should see.
        "information" Information,
        /// Tidier or cheaper.
        "hint" Hint,
        /// Not told.
        "silent" Silent,
    }
}

/// How much a rule's findings weigh: the same at every stage at which the rule speaks, or for each stage.
#[derive(Debug, Clone)]
pub enum Severities {
    Always(HouseSeverity),
    ByStage(SeverityByStage),
}

impl Severities {
    /// The word for a stage, if there is one, and whether it was given for that very stage.
    pub fn at(&self, stage: Stage) -> Option<HouseSeverity> {
        match self {
            Severities::Always(severity) => Some(*severity),
            Severities::ByStage(by_stage) => by_stage.at(stage).map(|it| it.value),
        }
    }
}

impl Value for Severities {
    fn read(node: &Node, reader: &mut Reader) -> Option<Self> {
        match &node.kind {
            Kind::Map(_) => <SeverityByStage as Value>::read(node, reader).map(Severities::ByStage),
            _ => HouseSeverity::read(node, reader).map(Severities::Always),
        }
    }

    fn shape() -> Shape {
        Shape::Either(vec![HouseSeverity::shape(), <SeverityByStage as Value>::shape()])
    }

    fn plain(&self) -> Json {
        match self {
            Severities::Always(severity) => severity.plain(),
            Severities::ByStage(by_stage) => Value::plain(by_stage),
        }
    }
}

/// Declares a record with a key for each stage.
macro_rules! by_stage {
    ($(#[doc = $about:literal])* $name:ident: $type:ty, $what:ty) => {
        record! {
            $(#[doc = $about])*
            $name {
                /// While it is still being drawn.
                "preliminary" preliminary: $type,
                /// When it is sent out to be looked at.
                "for-comment" for_comment: $type,
                /// When it is issued to be built from.
                "for-construction" for_construction: $type,
                /// When it is built.
                "as-built" as_built: $type,
            }
        }

        impl $name {
            /// What is given for a stage.
            pub fn at(&self, stage: Stage) -> $what {
                match stage {
                    Stage::Preliminary => &self.preliminary,
                    Stage::ForComment => &self.for_comment,
                    Stage::ForConstruction => &self.for_construction,
                    Stage::AsBuilt => &self.as_built,
                }
            }
        }
    };
}

by_stage! {
    /// How much a rule's findings weigh at each stage; where a stage is left out, what is said of the one before counts, or what the
    /// rule says if that is more.
    SeverityByStage: Given<HouseSeverity>, &Given<HouseSeverity>
}

by_stage! {
    /// What every design must give from a stage on: paths of keys, `project/checker`, and `*` for every name, `rooms/*/heat-loss`.
    Required: List<String>, &List<String>
}

words! {
    /// What an own rule looks at, one by one.
    EachOf {
        /// The design as a whole.
        "design" Design,
        /// Each floor construction.
        "floor" Floor,
        /// Each room.
        "room" Room,
        /// Each manifold.
        "manifold" Manifold,
        /// Each loop.
        "loop" Loop,
        /// Each electric mat.
        "electric-mat" ElectricMat,
    }
}

record! {
    /// A rule of the firm's own: a condition, and what to say where it holds.
    OwnRule {
        /// What it looks at, one by one.
        "for-each" for_each: Given<EachOf>,
        /// What is wrong, as an expression in the Common Expression Language: `it.figure.length > amount("90 m")`.
        "when" when: Given<String>,
        /// What to say then; `{it.name}` and `{it.figure.length}` stand for the name and the figure.
        "message" message: Given<String>,
        /// How much its findings weigh: one word, or a word for each stage; a warning if left out.
        "severity" severity: Given<Severities>,
        /// Why it is asked.
        "guidance" guidance: Given<String>,
        /// Whose the demand is; the house standard's if left out.
        "source" source: Given<String>,
        /// Designs in which it must speak.
        "fails" fails: List<String>,
        /// Designs in which it must be silent.
        "passes" passes: List<String>,
    }
}
named!(OwnRule: Label);
