//! What expressions look at: things of a design with just what is asked of them.

use super::typed::{Asked, Type, block, underscored, variables};
use crate::Inspection;
use cel::Value;
use design::{EachOf, Place};
use serde_json::Value as Json;
use std::cell::OnceCell;
use std::collections::HashMap;
use std::sync::Arc;
use workings::{Gap, Line, Subject};

/// The longest text that an expression sees of a design.
const LONGEST_TEXT: usize = 1000;

/// The things of a design as the expressions of one rule see them.
pub(super) struct Things<'i> {
    inspection: &'i Inspection<'i>,
    asked: &'i [Asked],
    /// The sheet by its names, where figures are asked for.
    lines: OnceCell<HashMap<String, Line>>,
    made: std::cell::RefCell<HashMap<Subject, Value>>,
    /// The rooms of each floor.
    rooms_of_floors: OnceCell<Vec<Vec<usize>>>,
}

/// A key or a figure that a thing does not have.
pub(super) struct Absent {
    pub subject: Subject,
    pub gap: Gap,
}

impl<'i> Things<'i> {
    pub(super) fn new(inspection: &'i Inspection<'i>, asked: &'i [Asked]) -> Things<'i> {
        let (lines, rooms_of_floors) = (OnceCell::new(), OnceCell::new());
        Things { inspection, asked, lines, made: Default::default(), rooms_of_floors }
    }

    /// Every thing of a kind, with its name and place.
    pub(super) fn each(&self, each: EachOf) -> Vec<Subject> {
        let design = self.inspection.design;
        match each {
            EachOf::Design => vec![Subject::Design],
            EachOf::Floor => (0..design.floors.len()).map(Subject::Floor).collect(),
            EachOf::Room => (0..design.rooms.len()).map(Subject::Room).collect(),
            EachOf::Manifold => (0..design.manifolds.len()).map(Subject::Manifold).collect(),
            EachOf::Loop => (0..design.loops.len()).map(Subject::Loop).collect(),
            EachOf::ElectricMat => (0..design.electric_mats.len()).map(Subject::ElectricMat).collect(),
        }
    }

    /// Where a finding about a thing stands.
    pub(super) fn place(&self, subject: Subject) -> Place {
        subject.place(self.inspection.design)
    }

    pub(super) fn name(&self, subject: Subject) -> String {
        let path = subject.path(self.inspection.design);
        path.split_once('/').map_or(path.clone(), |(_, name)| name.to_string())
    }

    /// The variables of a rule for one thing: single things and lists of them.
    pub(super) fn variables(&self, each: EachOf, of: Subject) -> Vec<(&'static str, Value)> {
        let variable = |(name, kind): (&'static str, Type)| match kind {
            Type::List(_) => {
                let things = self.related(name, of).into_iter().map(|it| self.thing(it)).collect();
                Some((name, Value::List(Arc::new(things))))
            }
            _ => Some((name, self.thing(self.related(name, of).first().copied()?))),
        };
        variables(each).into_iter().filter_map(variable).collect()
    }

    /// What a variable stands for.
    pub(super) fn related(&self, variable: &str, of: Subject) -> Vec<Subject> {
        let workings = self.inspection.workings;
        match (variable, of) {
            ("it", _) => vec![of],
            ("floors", Subject::Design) => self.each(EachOf::Floor),
            ("rooms", Subject::Design) => self.each(EachOf::Room),
            ("manifolds", Subject::Design) => self.each(EachOf::Manifold),
            ("loops", Subject::Design) => self.each(EachOf::Loop),
            ("electric_mats", Subject::Design) => self.each(EachOf::ElectricMat),
            ("rooms", Subject::Floor(at)) => self.rooms_of_floor(at).iter().copied().map(Subject::Room).collect(),
            ("floor", Subject::Room(at)) => workings.rooms[at].floor.map(Subject::Floor).into_iter().collect(),
            ("loops", Subject::Room(at)) => workings.rooms[at].loops.iter().copied().map(Subject::Loop).collect(),
            ("loops", Subject::Manifold(at)) => {
                workings.manifolds[at].loops.iter().copied().map(Subject::Loop).collect()
            }
            ("manifold", Subject::Loop(at)) => workings.loops[at].manifold.map(Subject::Manifold).into_iter().collect(),
            ("rooms", Subject::Loop(at)) => workings.loops[at].rooms.iter().copied().map(Subject::Room).collect(),
            ("room", Subject::ElectricMat(at)) => {
                workings.electric_mats[at].room.map(Subject::Room).into_iter().collect()
            }
            _ => Vec::new(),
        }
    }

    fn rooms_of_floor(&self, floor: usize) -> &[usize] {
        let of_floors = self.rooms_of_floors.get_or_init(|| {
            let mut of_floors = vec![Vec::new(); self.inspection.workings.floors.len()];
            for (at, room) in self.inspection.workings.rooms.iter().enumerate() {
                if let Some(floor) = room.floor {
                    of_floors[floor].push(at);
                }
            }
            of_floors
        });
        &of_floors[floor]
    }

    /// A thing with what is asked of its kind.
    fn thing(&self, subject: Subject) -> Value {
        if let Some(made) = self.made.borrow().get(&subject) {
            return made.clone();
        }
        let each = kind(subject);
        let (mut given, mut figures): (HashMap<String, Value>, HashMap<String, Value>) = Default::default();
        let mut blocks: HashMap<String, HashMap<String, Value>> = HashMap::new();
        for asked in self.asked {
            match asked {
                Asked::Given(of, key) if *of == each => {
                    if let Some(value) = self.given(subject, key) {
                        given.insert(underscored(key), plain(&value));
                    }
                }
                Asked::Figure(of, figure) if *of == each => {
                    if let Some(Line { worked: Ok(worked), .. }) = self.line(subject, figure) {
                        figures.insert(underscored(figure), Value::Float(worked.value));
                    }
                }
                Asked::BlockFigure(block, figure) if each == EachOf::Design => {
                    let line = self.lines().get(&format!("{block}.{figure}"));
                    if let Some(Line { worked: Ok(worked), .. }) = line {
                        let figures = blocks.entry(underscored(block)).or_default();
                        figures.insert(underscored(figure), Value::Float(worked.value));
                    }
                }
                _ => {}
            }
        }
        figures.extend(blocks.into_iter().map(|(name, figures)| (name, Value::from(figures))));
        let made = Value::from(HashMap::from([
            ("name".to_string(), text(&self.name(subject))),
            ("given".to_string(), Value::from(given)),
            ("figure".to_string(), Value::from(figures)),
        ]));
        self.made.borrow_mut().insert(subject, made.clone());
        made
    }

    /// What the file gives under a key of a thing.
    pub(super) fn given(&self, subject: Subject, key: &str) -> Option<Json> {
        subject.block(self.inspection.design)?.plain_of(key).filter(|value| !value.is_null())
    }

    /// A figure of a thing, or why there is none.
    pub(super) fn line(&self, subject: Subject, figure: &str) -> Option<&Line> {
        self.lines().get(&format!("{}.{}.{figure}", block(kind(subject)), self.name(subject)))
    }

    pub(super) fn lines(&self) -> &HashMap<String, Line> {
        self.lines.get_or_init(|| {
            let asked =
                |figure: &str| self.asked.iter().any(|it| matches!(it, Asked::Figure(_, asked) if *asked == figure));
            let lines = workings::figures(self.inspection.design, self.inspection.workings, &asked);
            lines.into_iter().map(|line| (line.name.clone(), line)).collect()
        })
    }

    /// Why a key or a figure of this name is not there, of the thing itself or else of one that belongs to it.
    pub(super) fn absent(&self, each: EachOf, of: Subject, name: &str) -> Option<Absent> {
        let all = variables(each).into_iter().flat_map(|(variable, _)| self.related(variable, of));
        for subject in all {
            let kind = kind(subject);
            for asked in self.asked {
                match asked {
                    Asked::Given(of, key)
                        if *of == kind && underscored(key) == name && self.given(subject, key).is_none() =>
                    {
                        return Some(Absent { subject, gap: Gap::missing(subject, key) });
                    }
                    Asked::Figure(of, figure) if *of == kind && underscored(figure) == name => {
                        match self.line(subject, figure).map(|it| &it.worked) {
                            Some(Ok(_)) => {}
                            Some(Err(gap)) => return Some(Absent { subject, gap: gap.clone() }),
                            None => {
                                let reason = format!("there is no {figure} of it");
                                return Some(Absent { subject, gap: Gap::NoMethod(reason) });
                            }
                        }
                    }
                    _ => {}
                }
            }
        }
        None
    }
}

/// The kind of a thing.
pub(super) fn kind(subject: Subject) -> EachOf {
    match subject {
        Subject::Floor(_) => EachOf::Floor,
        Subject::Room(_) => EachOf::Room,
        Subject::Manifold(_) => EachOf::Manifold,
        Subject::Loop(_) => EachOf::Loop,
        Subject::ElectricMat(_) => EachOf::ElectricMat,
        _ => EachOf::Design,
    }
}

fn text(text: &str) -> Value {
    let short: String = text.chars().take(LONGEST_TEXT).collect();
    Value::String(Arc::new(short))
}

/// A value of the format as expressions see it: every number with a fraction, every hyphen in a key an underscore.
fn plain(value: &Json) -> Value {
    match value {
        Json::Null => Value::Null,
        Json::Bool(it) => Value::Bool(*it),
        Json::Number(number) => Value::Float(number.as_f64().unwrap_or(f64::NAN)),
        Json::String(it) => text(it),
        Json::Array(items) => Value::List(Arc::new(items.iter().map(plain).collect())),
        Json::Object(entries) => {
            let entries: HashMap<String, Value> =
                entries.iter().map(|(key, value)| (underscored(key), plain(value))).collect();
            Value::from(entries)
        }
    }
}
