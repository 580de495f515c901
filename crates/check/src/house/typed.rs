//! Expressions of own rules: read, bounded, and every name in them looked up, before anything is evaluated.
//!
//! The interpreter has no bound of its own. So an expression is short; a list is walked in one only, never within another
//! walk; and within a walk whatever is the same for every step is a single value. Each evaluation then costs no more than
//! some walks over what the design holds, and its depth is that of a short text.

use cel::Program;
use cel::common::ast::{CallExpr, ComprehensionExpr, Expr, IdedExpr, LiteralValue, SelectExpr, operators};
use design::{Design, EachOf, ElectricMat, Floor, Loop, Manifold, RecordInfo, Room, Shape, nearest};
use quantity::{AnyKind, KINDS, Quantity, Temperature, TemperatureDifference};
use std::ops::Range;
use workings::FigureName;

/// The greatest length of an expression in bytes.
const LONGEST: usize = 1000;
/// How many signs an expression may have that can nest or chain: what bounds its depth.
const MOST_SIGNS: usize = 150;

/// The blocks of a design that an expression may look into as a whole. Things with names are reached one by one.
const BLOCKS: [&str; 7] = ["project", "site", "heat-source", "water", "controls", "safety", "records"];

/// Functions that an expression may call, besides operators and the macros `has`, `all`, `exists`, `exists_one`, `map`, `filter`.
const FUNCTIONS: [&str; 10] =
    ["amount", "contains", "double", "endsWith", "greatest", "int", "least", "size", "startsWith", "total"];
const OPERATORS: [&str; 17] = [
    operators::CONDITIONAL,
    operators::LOGICAL_AND,
    operators::LOGICAL_OR,
    operators::LOGICAL_NOT,
    operators::SUBSTRACT,
    operators::ADD,
    operators::MULTIPLY,
    operators::DIVIDE,
    operators::EQUALS,
    operators::NOT_EQUALS,
    operators::GREATER_EQUALS,
    operators::LESS_EQUALS,
    operators::GREATER,
    operators::LESS,
    operators::NEGATE,
    operators::NOT_STRICTLY_FALSE,
    operators::IN,
];

const COMPARING: [&str; 8] = [
    operators::EQUALS,
    operators::NOT_EQUALS,
    operators::GREATER_EQUALS,
    operators::LESS_EQUALS,
    operators::GREATER,
    operators::LESS,
    operators::ADD,
    operators::SUBSTRACT,
];

/// What of things an expression asks for: `given` keys of the format, and figures of the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Asked {
    Given(EachOf, &'static str),
    /// Of a thing, or of a block of the design.
    Figure(EachOf, &'static str),
    BlockFigure(&'static str, &'static str),
}

/// An expression that can be evaluated.
#[derive(Debug)]
pub(super) struct Expression {
    pub program: Program,
    /// Each once.
    pub asked: Vec<Asked>,
    pub value: Type,
}

/// What is wrong with an expression, and the bytes of it where that is known.
#[derive(Debug, PartialEq)]
pub(super) struct Wrong {
    pub at: Option<Range<usize>>,
    pub message: String,
}

/// What a part of an expression stands for.
#[derive(Debug, Clone)]
pub(super) enum Type {
    Thing(EachOf),
    /// What the file gives of a thing.
    Given(EachOf),
    Figures(EachOf),
    BlockFigures(&'static str),
    /// A measured value.
    Measured(&'static AnyKind),
    /// An amount that is written out.
    Amount(String),
    /// A text that is written out.
    Text(String),
    Shape(Shape),
    List(Box<Type>),
    /// A list that is made on the way.
    Made(Box<Type>),
    /// Anything else: numbers, text, true or false.
    Any,
}

impl Type {
    fn of(shape: Shape) -> Type {
        match shape {
            Shape::Quantity { kind, .. } => Type::measured(kind),
            other => Type::Shape(other),
        }
    }

    fn measured(kind: &str) -> Type {
        KINDS.iter().find(|it| it.kind == kind).map_or(Type::Any, Type::Measured)
    }

    /// Whether it has parts, of which one must be named where a single value is wanted.
    fn is_whole(&self) -> bool {
        matches!(self, Type::Thing(_) | Type::Given(_) | Type::Figures(_) | Type::BlockFigures(_))
    }

    /// Whether it can be as large as the file.
    fn is_large(&self) -> bool {
        match self {
            Type::Shape(shape) => matches!(
                shape,
                Shape::List { .. } | Shape::Named(..) | Shape::Record(_) | Shape::Either(_) | Shape::Point
            ),
            Type::List(_) => true,
            other => other.is_whole(),
        }
    }
}

/// The variables of a rule, with what they stand for.
pub(super) fn variables(each: EachOf) -> Vec<(&'static str, Type)> {
    let list = |each: EachOf| Type::List(Box::new(Type::Thing(each)));
    let related = match each {
        EachOf::Design => vec![
            ("floors", list(EachOf::Floor)),
            ("rooms", list(EachOf::Room)),
            ("manifolds", list(EachOf::Manifold)),
            ("loops", list(EachOf::Loop)),
            ("electric_mats", list(EachOf::ElectricMat)),
        ],
        EachOf::Floor => vec![("rooms", list(EachOf::Room))],
        EachOf::Room => vec![("floor", Type::Thing(EachOf::Floor)), ("loops", list(EachOf::Loop))],
        EachOf::Manifold => vec![("loops", list(EachOf::Loop))],
        EachOf::Loop => vec![("manifold", Type::Thing(EachOf::Manifold)), ("rooms", list(EachOf::Room))],
        EachOf::ElectricMat => vec![("room", Type::Thing(EachOf::Room))],
    };
    std::iter::once(("it", Type::Thing(each))).chain(related).collect()
}

/// The keys that a thing may give.
pub(super) fn record(each: EachOf) -> &'static RecordInfo {
    static DESIGN: RecordInfo = Design::INFO;
    static FLOOR: RecordInfo = Floor::INFO;
    static ROOM: RecordInfo = Room::INFO;
    static MANIFOLD: RecordInfo = Manifold::INFO;
    static LOOP: RecordInfo = Loop::INFO;
    static MAT: RecordInfo = ElectricMat::INFO;
    match each {
        EachOf::Design => &DESIGN,
        EachOf::Floor => &FLOOR,
        EachOf::Room => &ROOM,
        EachOf::Manifold => &MANIFOLD,
        EachOf::Loop => &LOOP,
        EachOf::ElectricMat => &MAT,
    }
}

/// The block of the sheet in which the figures of a thing stand.
pub(super) fn block(each: EachOf) -> &'static str {
    match each {
        EachOf::Design => "",
        EachOf::Floor => "floors",
        EachOf::Room => "rooms",
        EachOf::Manifold => "manifolds",
        EachOf::Loop => "loops",
        EachOf::ElectricMat => "electric-mats",
    }
}

/// A name of the format as an expression writes it: there, a hyphen takes away.
pub(super) fn underscored(name: &str) -> String {
    name.replace('-', "_")
}

impl Expression {
    /// Reads an expression about things of this kind.
    pub(super) fn new(source: &str, each: EachOf) -> Result<Expression, Wrong> {
        let wrong = |message: String| Wrong { at: None, message };
        if source.trim().is_empty() {
            return Err(wrong("the expression is empty".into()));
        }
        if source.len() > LONGEST {
            return Err(wrong(format!("the expression has {} bytes; up to {LONGEST} are read", source.len())));
        }
        let signs = source.bytes().filter(|it| b"!-+*/%&|?<>=.,[({".contains(it)).count();
        if signs > MOST_SIGNS {
            return Err(wrong(format!("the expression has {signs} signs; up to {MOST_SIGNS} are read")));
        }
        let program = Program::compile(source).map_err(|errors| syntax(source, &errors))?;
        let mut reader = Reader {
            program: &program,
            scopes: variables(each).into_iter().map(|(name, of)| (name.to_string(), of)).collect(),
            outer: 0,
            depth: 0,
            asked: Vec::new(),
        };
        let value = reader.read(program.expression())?;
        let is_list = matches!(&value, Type::List(_));
        if value.is_whole() || is_list {
            return Err(reader.wrong(program.expression(), WHOLE.into()));
        }
        let mut asked = reader.asked;
        asked.sort();
        asked.dedup();
        Ok(Expression { asked, value, program })
    }
}

const WHOLE: &str = "say what of it is meant: its `name`, a key of it as `given`, or a `figure`";

/// What the parser says, in our words.
fn syntax(source: &str, errors: &cel::ParseErrors) -> Wrong {
    let Some(first) = errors.errors.first() else {
        return Wrong { at: None, message: "the expression cannot be read".into() };
    };
    let (line, column) = first.pos;
    let lines: usize = source.split_inclusive('\n').take((line - 1).max(0) as usize).map(str::len).sum();
    let start = lines + (column - 1).max(0) as usize;
    let at = (source.is_ascii() && start < source.len()).then_some(start..start + 1);
    let unexpected = first.msg.split_once("input '").and_then(|(_, rest)| rest.split_once('\''));
    let said = match unexpected {
        Some(("<EOF>", _)) => "something is missing at its end".to_string(),
        Some((found, _)) => format!("`{found}` is not expected here"),
        None => first.msg.trim_start_matches("Syntax error: ").chars().take(120).collect(),
    };
    let has_reserved = source.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').any(|word| word == "loop");
    let hint = if has_reserved { "; `loop` is a reserved word here, what is looked at is `it`" } else { "" };
    Wrong { at, message: format!("the expression cannot be read: {said}{hint}") }
}

struct Reader<'p> {
    program: &'p Program,
    /// The variables in sight, the innermost last.
    scopes: Vec<(String, Type)>,
    /// How many of them are the same for every step of a walk.
    outer: usize,
    depth: usize,
    asked: Vec<Asked>,
}

impl Reader<'_> {
    fn wrong(&self, at: &IdedExpr, message: String) -> Wrong {
        let info = self.program.source_info();
        let place = info.offset_for(at.id).filter(|_| info.source.is_ascii());
        let place = place.map(|(start, stop)| match &at.expr {
            // Of a name after a point the point is known.
            Expr::Select(select) => stop as usize + 1..stop as usize + 1 + select.field.len(),
            _ => start as usize..stop as usize + 1,
        });
        Wrong { at: place.filter(|place| info.source.get(place.clone()).is_some_and(|it| !it.is_empty())), message }
    }

    /// Looks a part up where a single value is wanted.
    fn value(&mut self, part: &IdedExpr) -> Result<Type, Wrong> {
        let of = self.read(part)?;
        if of.is_whole() || matches!(&of, Type::List(of) if of.is_whole()) {
            return Err(self.wrong(part, WHOLE.into()));
        }
        let is_outer = root(part).is_some_and(|name| {
            self.scopes.iter().rposition(|(variable, _)| variable == name).is_some_and(|at| at < self.outer)
        });
        if self.depth > 0 && is_outer && of.is_large() {
            let message = "within a walk over a list, only single values from outside of it can be looked at";
            return Err(self.wrong(part, message.into()));
        }
        Ok(of)
    }

    fn read(&mut self, part: &IdedExpr) -> Result<Type, Wrong> {
        match &part.expr {
            Expr::Literal(LiteralValue::Bytes(_) | LiteralValue::UInt(_)) => {
                Err(self.wrong(part, "neither bytes nor unsigned numbers are of use here".into()))
            }
            Expr::Literal(LiteralValue::String(text)) => Ok(Type::Text(text.inner().to_string())),
            Expr::Literal(_) => Ok(Type::Any),
            Expr::Ident(name) => match self.scopes.iter().rev().find(|(variable, _)| variable == name) {
                Some((_, of)) => Ok(of.clone()),
                None => {
                    let names: Vec<&str> = self.scopes.iter().map(|(name, _)| name.as_str()).collect();
                    let known: Vec<&str> = names.iter().copied().filter(|it| !it.starts_with('@')).collect();
                    let message = format!("there is no `{name}` here; there is {}", known.join(", "));
                    Err(self.wrong(part, message))
                }
            },
            Expr::Select(select) => self.select(part, select),
            Expr::Call(call) => self.call(part, call),
            Expr::List(list) => {
                for element in &list.elements {
                    // The macros gather the elements of a list as they are.
                    match &element.expr {
                        Expr::Ident(name) if self.is_of_this_walk(name) => self.read(element)?,
                        _ => self.value(element)?,
                    };
                }
                Ok(Type::Any)
            }
            Expr::Comprehension(walk) => self.walk(part, walk),
            Expr::Map(_) | Expr::Struct(_) => Err(self.wrong(part, "a block of keys is of no use here".into())),
            Expr::Unspecified => Err(self.wrong(part, "the expression cannot be read".into())),
        }
    }

    /// Whether a variable is another one at every step of the walk that is being read.
    fn is_of_this_walk(&self, name: &str) -> bool {
        self.depth > 0
            && self.scopes.iter().rposition(|(variable, _)| variable == name).is_some_and(|at| at >= self.outer)
    }

    fn select(&mut self, part: &IdedExpr, select: &SelectExpr) -> Result<Type, Wrong> {
        let of = self.read(&select.operand)?;
        let field = select.field.as_str();
        let none = |reader: &Self, known: Vec<String>, what: &str| {
            let near = nearest(field, known.iter().map(String::as_str));
            let guess = near.map(|near| format!("; did you mean `{near}`")).unwrap_or_default();
            Err(reader.wrong(part, format!("{what} has no `{field}`{guess}")))
        };
        let keys = |record: &'static RecordInfo| record.fields.iter().find(|it| underscored(it.key) == field);
        match of {
            Type::Thing(EachOf::Design) if field == "name" => {
                Err(self.wrong(part, "the design's name is `it.given.project.name`".into()))
            }
            Type::Thing(each) => {
                match field {
                    "name" => Ok(Type::Any),
                    "given" => Ok(Type::Given(each)),
                    "figure" => Ok(Type::Figures(each)),
                    _ if self.scopes.iter().any(|(name, _)| name == field) => Err(self
                        .wrong(part, format!("`{field}` stands by itself: `{field}.name`, not under another thing"))),
                    _ => none(self, ["name", "given", "figure"].map(String::from).to_vec(), "a thing"),
                }
            }
            Type::Given(each) => {
                let known = keys(record(each)).filter(|it| each != EachOf::Design || BLOCKS.contains(&it.key));
                match known {
                    Some(field) => {
                        self.asked.push(Asked::Given(each, field.key));
                        Ok(Type::of((field.shape)()))
                    }
                    None => {
                        let fields = record(each).fields.iter().map(|it| it.key);
                        let fields = fields.filter(|key| each != EachOf::Design || BLOCKS.contains(key));
                        none(self, fields.map(underscored).collect(), &format!("what is given of a {}", each.word()))
                    }
                }
            }
            Type::Figures(EachOf::Design) => {
                match ["heat-source", "water"].into_iter().find(|it| underscored(it) == field) {
                    Some(block) => Ok(Type::BlockFigures(block)),
                    None => none(self, vec!["heat_source".into(), "water".into()], "what is worked out of a design"),
                }
            }
            Type::Figures(each) => match figure(block(each), field) {
                Some(figure) => {
                    self.asked.push(Asked::Figure(each, figure.name));
                    Ok(Type::measured(figure.kind))
                }
                None => none(self, names(block(each)), &format!("what is worked out of a {}", each.word())),
            },
            Type::BlockFigures(block) => match figure(block, field) {
                Some(figure) => {
                    self.asked.push(Asked::BlockFigure(block, figure.name));
                    Ok(Type::measured(figure.kind))
                }
                None => none(self, names(block), &format!("what is worked out of `{block}`")),
            },
            Type::Shape(shape) => match part_of(&shape, field) {
                Ok(shape) => Ok(Type::of(shape)),
                Err(known) if known.is_empty() => {
                    Err(self.wrong(part, format!("there is no `{field}` in it; it is a single value or a list")))
                }
                Err(known) => none(self, known, "the block"),
            },
            Type::Any => Ok(Type::Any),
            Type::Measured(_) | Type::Amount(_) | Type::Text(_) | Type::List(_) | Type::Made(_) => {
                Err(self.wrong(part, format!("there is no `{field}` in it; it is a single value or a list")))
            }
        }
    }

    fn call(&mut self, part: &IdedExpr, call: &CallExpr) -> Result<Type, Wrong> {
        let name = call.func_name.as_str();
        if name == operators::INDEX {
            return Err(self.wrong(part, "write the name after a point: `it.given.spacing`".into()));
        }
        if !OPERATORS.contains(&name) && !FUNCTIONS.contains(&name) {
            let known = ["all", "exists", "exists_one", "filter", "has", "map"].iter().chain(&FUNCTIONS).copied();
            let near = nearest(name, known.clone());
            let guess = near.map(|near| format!("; did you mean `{near}`")).unwrap_or_default();
            let known: Vec<&str> = known.collect();
            return Err(
                self.wrong(part, format!("there is no function `{name}`{guess}: there is {}", known.join(", ")))
            );
        }
        if ["contains", "endsWith", "startsWith"].contains(&name) && call.target.is_none() {
            return Err(self.wrong(part, format!("`{name}` stands behind a text: `it.name.{name}(\"L\")`")));
        }
        if name == "amount" && call.target.is_none() {
            let text = match call.args.first().map(|it| &it.expr) {
                Some(Expr::Literal(LiteralValue::String(text))) if call.args.len() == 1 => text.inner().to_string(),
                _ => return Err(self.wrong(part, "an amount is written out: `amount(\"90 m\")`".into())),
            };
            if quantity::readings(&text).is_empty() {
                return Err(self.wrong(part, format!("`{text}` is no amount: a number and its unit, such as `90 m`")));
            }
            return Ok(Type::Amount(text));
        }
        let mut kinds = Vec::new();
        for argument in call.target.iter().map(|it| &**it).chain(&call.args) {
            // How many there are is known without looking at them.
            kinds.push(match name {
                "size" => self.read(argument)?,
                _ => self.value(argument)?,
            });
        }
        if let ([one, other], [one_is, other_is]) = (&call.args[..], &kinds[..])
            && COMPARING.contains(&name)
        {
            let adds = name == operators::ADD || name == operators::SUBSTRACT;
            self.same_kind(one_is, other, other_is, adds)?;
            self.same_kind(other_is, one, one_is, adds)?;
        }
        Ok(result(name, &call.args, &kinds))
    }

    /// Whether something may be held against a value: a bare whole number may not be held against a measured one, but for
    /// nothing at all, what is measured must be of its kind, and a word one of those that the format has.
    fn same_kind(&self, value: &Type, other: &IdedExpr, other_is: &Type, adds: bool) -> Result<(), Wrong> {
        match (value, other_is) {
            (Type::Measured(kind), Type::Measured(is)) => {
                let is_temperature = |kind: &AnyKind| [TEMPERATURE, DIFFERENCE].contains(&kind.kind);
                if kind.kind == is.kind || adds && is_temperature(kind) && is_temperature(is) {
                    return Ok(());
                }
                Err(self.wrong(other, format!("{} is held against {}", is.kind, kind.kind)))
            }
            (Type::Measured(kind), Type::Amount(text)) => {
                let readings = quantity::readings(text);
                let is_of = |(is, si): &&(&AnyKind, f64)| is.kind == kind.kind && *si == readings[0].1;
                match readings.iter().find(is_of) {
                    Some(_) => Ok(()),
                    // A change of the temperature that is taken from it, or added.
                    None if adds && kind.kind == TEMPERATURE && readings[0].0.kind == DIFFERENCE => Ok(()),
                    None => Err(self.wrong(other, format!("`{text}` is held against {}", kind.kind))),
                }
            }
            (Type::Measured(kind), Type::Any) => match &other.expr {
                Expr::Literal(LiteralValue::Int(number)) if *number.inner() != 0 && kind.si_unit != "1" => {
                    let (number, kind, unit) = (number.inner(), kind.kind, kind.units[0].spelling);
                    let message =
                        format!("a number without a unit is held against {kind}; write `amount(\"{number} {unit}\")`");
                    Err(self.wrong(other, message))
                }
                _ => Ok(()),
            },
            (Type::Shape(Shape::Word(words)), Type::Text(text)) if words.iter().all(|(word, _)| word != text) => {
                let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
                let guess = nearest(text, known.iter().copied());
                let guess = guess.map(|near| format!("; did you mean `{near}`")).unwrap_or_default();
                let message = format!("it is never `{text}`{guess}: the format has {}", known.join(", "));
                Err(self.wrong(other, message))
            }
            _ => Ok(()),
        }
    }

    fn walk(&mut self, part: &IdedExpr, walk: &ComprehensionExpr) -> Result<Type, Wrong> {
        if self.depth > 0 {
            return Err(self.wrong(part, "a list is not walked within the walk over another".into()));
        }
        let element = match self.read(&walk.iter_range)? {
            Type::List(of) => *of,
            Type::Shape(Shape::List { of, .. }) => Type::of(*of),
            // What is made on the way may grow with each walk: only what stands in the design is walked over.
            _ => {
                let message = "only a list of the design can be walked over, or what a filter leaves of it";
                return Err(self.wrong(&walk.iter_range, message.into()));
            }
        };
        self.read(&walk.accu_init)?;
        let before = self.scopes.len();
        let outer = std::mem::replace(&mut self.outer, before);
        self.scopes.push((walk.accu_var.clone(), Type::Any));
        self.scopes.push((walk.iter_var.clone(), element.clone()));
        self.scopes.extend(walk.iter_var2.iter().map(|it| (it.clone(), Type::Any)));
        self.depth += 1;
        self.read(&walk.loop_cond)?;
        self.read(&walk.loop_step)?;
        let made = match gathered(&walk.loop_step) {
            Some(element) => self.read(element)?,
            None => Type::Any,
        };
        self.depth -= 1;
        self.read(&walk.result)?;
        self.scopes.truncate(before);
        self.outer = outer;
        // What a filter leaves is what it was given.
        let keeps =
            gathered(&walk.loop_step).is_some_and(|it| matches!(&it.expr, Expr::Ident(it) if *it == walk.iter_var));
        Ok(match made {
            _ if keeps => Type::List(Box::new(element)),
            Type::Any => Type::Any,
            made => Type::Made(Box::new(made)),
        })
    }
}

const TEMPERATURE: &str = <Temperature as Quantity>::KIND;
const DIFFERENCE: &str = <TemperatureDifference as Quantity>::KIND;

/// What comes of a call, as far as its kind can be told.
fn result(name: &str, arguments: &[IdedExpr], kinds: &[Type]) -> Type {
    let kind = |of: &Type| match of {
        Type::Measured(kind) => Some(kind.kind),
        Type::Made(of) => match **of {
            Type::Measured(kind) => Some(kind.kind),
            _ => None,
        },
        _ => None,
    };
    let is_number =
        |at: usize| matches!(arguments[at].expr, Expr::Literal(LiteralValue::Int(_) | LiteralValue::Double(_)));
    let all_of_one = |kinds: &[Type]| {
        let first = kinds.first().and_then(kind)?;
        kinds.iter().all(|it| kind(it) == Some(first)).then_some(first)
    };
    let of = match (name, kinds) {
        ("least" | "greatest" | "total", kinds) => all_of_one(kinds),
        (operators::NEGATE, [one]) => kind(one),
        (operators::CONDITIONAL, [_, yes, no]) => kind(yes).filter(|it| kind(no) == Some(it)),
        (operators::ADD | operators::SUBSTRACT, [Type::Measured(one), other]) => match (one.kind, other) {
            (TEMPERATURE, Type::Measured(other)) if other.kind == TEMPERATURE && name == operators::SUBSTRACT => {
                Some(DIFFERENCE)
            }
            (kind, Type::Measured(_) | Type::Amount(_)) => Some(kind),
            _ => None,
        },
        (operators::MULTIPLY, [one, _]) if is_number(1) => kind(one),
        (operators::MULTIPLY, [_, other]) if is_number(0) => kind(other),
        (operators::DIVIDE, [one, _]) if is_number(1) => kind(one),
        _ => None,
    };
    of.map_or(Type::Any, Type::measured)
}

/// The variable at which a path begins.
fn root(part: &IdedExpr) -> Option<&str> {
    match &part.expr {
        Expr::Ident(name) => Some(name),
        Expr::Select(select) => root(&select.operand),
        _ => None,
    }
}

/// What the step of a walk adds to a list.
fn gathered(step: &IdedExpr) -> Option<&IdedExpr> {
    match &step.expr {
        Expr::Call(call) => call.args.iter().find_map(gathered),
        Expr::List(list) => match &list.elements[..] {
            [one] => Some(one),
            _ => None,
        },
        _ => None,
    }
}

/// What stands under a key of a value of this shape; the keys there are if there is none.
fn part_of(shape: &Shape, field: &str) -> Result<Shape, Vec<String>> {
    match shape {
        Shape::Record(record) => match record.fields.iter().find(|it| underscored(it.key) == field) {
            Some(field) => Ok((field.shape)()),
            None => Err(record.fields.iter().map(|it| underscored(it.key)).collect()),
        },
        Shape::Named(_, of) => Ok((**of).clone()),
        Shape::Range { kind, units } if ["least", "greatest"].contains(&field) => {
            Ok(Shape::Quantity { kind, units: units.clone() })
        }
        Shape::Range { .. } => Err(vec!["least".into(), "greatest".into()]),
        Shape::Either(shapes) => {
            let mut known = Vec::new();
            for shape in shapes {
                match part_of(shape, field) {
                    Ok(shape) => return Ok(shape),
                    Err(more) => known.extend(more),
                }
            }
            // A presetting is `turns` or `kv`.
            if known.is_empty() && ["turns", "kv"].contains(&field) { Ok(Shape::Number("")) } else { Err(known) }
        }
        _ => Err(Vec::new()),
    }
}

fn figures(block: &str) -> &'static [FigureName] {
    workings::FIGURES.iter().find(|(name, _)| *name == block).map_or(&[], |(_, figures)| figures)
}

fn figure(block: &str, field: &str) -> Option<&'static FigureName> {
    figures(block).iter().find(|it| underscored(it.name) == field)
}

fn names(block: &str) -> Vec<String> {
    figures(block).iter().map(|it| underscored(it.name)).collect()
}
