//! Rules of a firm's own: a condition in the Common Expression Language, and what to say where it holds.

use super::typed::{Asked, Expression, Type, Wrong};
use super::values::{Things, kind};
use super::{Fault, weights};
use crate::rule::Weight;
use crate::rules::house_standard_unsound;
use crate::{Finding, Findings, Group, Guidance, Inspection, Rule};
use cel::extractors::Arguments;
use cel::{Context, ExecutionError, Value};
use design::{EachOf, Entry, Placed};
use std::sync::{Arc, Mutex};
use workings::Subject;

/// A rule of a firm's own, made ready.
#[derive(Debug)]
pub(crate) struct OwnRule {
    /// As every rule is known.
    pub rule: &'static Rule,
    guidance: Option<String>,
    /// The condition as it is written.
    condition: String,
    fails: Vec<String>,
    passes: Vec<String>,
    each: EachOf,
    when: Expression,
    message: Vec<Piece>,
    source: String,
    /// Where its condition stands in the house standard, for what goes wrong when it is evaluated.
    when_place: design::Place,
    /// What all its expressions ask for.
    asked: Vec<Asked>,
}

/// A piece of a message.
#[derive(Debug)]
enum Piece {
    Text(String),
    Value(Expression),
}

impl OwnRule {
    /// Makes a rule ready, or says all that is wrong with it.
    pub(super) fn new(name: &str, entry: &Entry<design::OwnRule>, house: &str) -> Result<OwnRule, Vec<Fault>> {
        let given = &entry.value;
        let mut faults = Vec::new();
        let mut fault = |place: design::Place, key: &str, message: String| {
            let path = if key.is_empty() { format!("own-rules/{name}") } else { format!("own-rules/{name}/{key}") };
            faults.push(Fault { place, path, message, meant: None });
        };
        if !given.broken {
            for (key, is_given) in [
                ("for-each", given.for_each.is_some()),
                ("when", given.when.is_some()),
                ("message", given.message.is_some()),
            ] {
                if !is_given {
                    fault(entry.name_place, "", format!("own rule {name} does not say `{key}`"));
                }
            }
        }
        let (Some(each), Some(when), Some(message)) = (given.for_each, &given.when, &given.message) else {
            return Err(faults);
        };
        let wrong = |text: &Placed<String>, wrong: &Wrong, from: usize| {
            // The bytes of a text without quotes are those of the file.
            let is_plain = (text.at.end - text.at.start) as usize == text.value.len();
            match &wrong.at {
                Some(at) if is_plain => {
                    let start = text.at.start + (from + at.start) as u32;
                    design::Place { start, end: text.at.start + (from + at.end) as u32, ..text.at }
                }
                _ => text.at,
            }
        };
        let condition = match Expression::new(&when.value, each.value) {
            Ok(condition) => Some(condition),
            Err(it) => {
                fault(wrong(when, &it, 0), "when", it.message);
                None
            }
        };
        let mut pieces = Vec::new();
        let mut rest = message.value.as_str();
        while let Some(open) = rest.find('{') {
            let from = message.value.len() - rest.len() + open + 1;
            pieces.push(Piece::Text(rest[..open].to_string()));
            let Some(close) = rest[open..].find('}') else {
                fault(message.at, "message", "a `{` in the message has no `}`".into());
                break;
            };
            match Expression::new(&rest[open + 1..open + close], each.value) {
                Ok(value) => pieces.push(Piece::Value(value)),
                Err(it) => fault(wrong(message, &it, from), "message", it.message),
            }
            rest = &rest[open + close + 1..];
        }
        pieces.push(Piece::Text(rest.to_string()));
        let (Some(when_read), true) = (condition, faults.is_empty()) else { return Err(faults) };
        let usual = [Weight::Warning; 4];
        let weights = given.severity.as_ref().map_or(usual, |severity| weights(usual, &severity.value));
        let in_message = pieces.iter().filter_map(|it| match it {
            Piece::Value(value) => Some(&value.asked),
            Piece::Text(_) => None,
        });
        let mut asked: Vec<Asked> = in_message.chain([&when_read.asked]).flatten().copied().collect();
        asked.sort();
        asked.dedup();
        Ok(OwnRule {
            rule: known(name, weights),
            guidance: given.guidance.as_ref().map(|it| it.value.clone()),
            condition: when.value.clone(),
            fails: given.fails.iter().map(|it| it.value.clone()).collect(),
            passes: given.passes.iter().map(|it| it.value.clone()).collect(),
            each: each.value,
            when: when_read,
            message: pieces,
            source: given.source.as_ref().map_or(house.to_string(), |it| it.value.clone()),
            when_place: when.at,
            asked,
        })
    }
}

impl OwnRule {
    /// Its page, in Markdown as those of the other rules.
    pub(super) fn page(&self) -> Guidance {
        let said = self.guidance.as_deref().unwrap_or("The house standard does not say why it is asked.");
        // What a text says is no sign of how the page is written.
        let lines = |text: &str| -> String {
            text.lines().map(|line| format!("{}\n", line.trim_start_matches(['#', '`']))).collect()
        };
        let summary = said.split("\n\n").next().unwrap_or_default().split_whitespace().collect::<Vec<_>>().join(" ");
        let condition = self.condition.split_whitespace().collect::<Vec<_>>().join(" ").replace('`', "'");
        let mut page = format!(
            "{}\n## How it is worked out\nFor each {}, it is found where `{condition}` holds.\n\n## Whose it is\n{}\n",
            lines(said),
            self.each.word(),
            lines(&self.source)
        );
        let examples = self.fails.iter().map(|it| ("fails", it)).chain(self.passes.iter().map(|it| ("passes", it)));
        for (claim, text) in examples {
            page += &format!("\n```yaml {claim}\n{}\n```\n", text.trim_end().replace("```", "'''"));
        }
        Guidance { summary, page }
    }
}

/// The rule of a name and its weights, made when it is first asked for.
///
/// Findings hold their rule for ever, so it is never given back: a few hundred bytes for each name a standard ever had.
fn known(name: &str, weights: [Weight; 4]) -> &'static Rule {
    static KNOWN: Mutex<Vec<&'static Rule>> = Mutex::new(Vec::new());
    let mut known = KNOWN.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
    if let Some(rule) = known.iter().find(|it| it.name == name && it.weights == weights) {
        return rule;
    }
    let name: &'static str = Box::leak(name.to_string().into_boxed_str());
    let rule: &'static Rule = Box::leak(Box::new(Rule { name, weights, group: Group::House, check, ..Rule::USUAL }));
    known.push(rule);
    rule
}

/// Runs the own rule that is being run.
fn check(inspection: &Inspection, found: &mut Findings) {
    let Some(own) = inspection.house.own_rule(found.rule()) else { return };
    let things = Things::new(inspection, &own.asked);
    let root = context();
    for subject in things.each(own.each) {
        let mut context = root.new_inner_scope();
        for (name, value) in things.variables(own.each, subject) {
            context.add_variable_from_value(name, value);
        }
        match own.when.program.execute(&context) {
            Ok(Value::Bool(false)) => {}
            Ok(Value::Bool(true)) => {
                let message: String = own.message.iter().map(|it| printed(it, &context)).collect();
                let message = message.split_whitespace().collect::<Vec<_>>().join(" ");
                let mut finding = Finding::new(subject, things.place(subject), message).source(own.source.clone());
                if let [Asked::Figure(of, figure)] = own.when.asked[..]
                    && of == kind(subject)
                {
                    finding = finding.figure(format!("{}.{}.{figure}", super::typed::block(of), things.name(subject)));
                }
                found.add(finding);
            }
            Ok(_) => return goes_wrong(own, found, "`when` is neither true nor false".into()),
            Err(ExecutionError::NoSuchKey(key)) => match things.absent(own.each, subject, &key) {
                Some(absent) => found.not_checked(absent.subject, &absent.gap),
                None => found.not_checked(subject, &workings::Gap::NoMethod(format!("it does not give `{key}`"))),
            },
            Err(ExecutionError::UndeclaredReference(name)) => {
                let reason = format!("it has no {name}");
                found.not_checked(subject, &workings::Gap::NoMethod(reason));
            }
            Err(error) => return goes_wrong(own, found, in_words(&error)),
        }
    }
}

/// Says that a condition cannot be evaluated.
fn goes_wrong(own: &OwnRule, found: &mut Findings, message: String) {
    let path = format!("own-rules/{}/when", own.rule.name);
    let finding = Finding::new(Subject::Design, own.when_place, message).source(house_standard_unsound::SOURCE);
    found.add_for(&house_standard_unsound::RULE, finding.at_path(&path));
}

/// What an expression sees besides its variables.
fn context<'v>() -> Context<'static, 'v> {
    let mut context = Context::default();
    let amount = |text: Arc<String>| quantity::readings(&text).first().map_or(f64::NAN, |(_, si)| *si);
    let added = [
        context.add_function("amount", amount),
        context.add_function("least", |Arguments(values): Arguments| joined("least", &values, f64::min)),
        context.add_function("greatest", |Arguments(values): Arguments| joined("greatest", &values, f64::max)),
        context
            .add_function("total", |Arguments(values): Arguments| joined("total", &values, |one, other| one + other)),
    ];
    debug_assert!(added.iter().all(Result::is_ok), "{added:?}");
    context
}

/// One number from several, or from a list of them.
fn joined(function: &str, values: &[Value], two: fn(f64, f64) -> f64) -> Result<Value, ExecutionError> {
    let values = match values {
        [Value::List(list)] => list,
        values => values,
    };
    let number = |value: &Value| match value {
        Value::Float(number) => Ok(*number),
        Value::Int(number) => Ok(*number as f64),
        _ => Err(ExecutionError::function_error(function, "it takes numbers, or a list of them")),
    };
    let numbers: Result<Vec<f64>, ExecutionError> = values.iter().map(number).collect();
    let joined = numbers?.into_iter().reduce(two);
    joined.map(Value::Float).ok_or_else(|| ExecutionError::function_error(function, "the list is empty"))
}

/// A piece of a message about a thing.
fn printed(piece: &Piece, context: &Context) -> String {
    let expression = match piece {
        Piece::Text(text) => return text.clone(),
        Piece::Value(expression) => expression,
    };
    match expression.program.execute(context) {
        Ok(value) => shown(&value, &expression.value),
        Err(_) => "?".to_string(),
    }
}

/// A value as the trade writes it, what is measured with its unit.
fn shown(value: &Value, of: &Type) -> String {
    match (value, of) {
        (Value::Float(number), Type::Measured(kind)) => (kind.shown)(*number),
        (Value::List(items), of) => {
            let of = if let Type::Made(of) = of { of } else { &Type::Any };
            items.iter().map(|it| shown(it, of)).collect::<Vec<_>>().join(", ")
        }
        (Value::String(text), _) => text.to_string(),
        (Value::Float(number), _) => format!("{}", (number * 1e4).round() / 1e4),
        (Value::Int(number), _) => number.to_string(),
        (Value::Bool(it), _) => if *it { "yes" } else { "no" }.to_string(),
        _ => "?".to_string(),
    }
}

/// What went wrong in plain words.
fn in_words(error: &ExecutionError) -> String {
    let kind = |name: &str| match name {
        "double" | "int" | "uint" => "a number",
        "string" => "text",
        "bool" => "true or false",
        "list" => "a list",
        "map" => "a block",
        _ => "something else",
    };
    match error {
        ExecutionError::NoSuchOverload(overload) => {
            let function = overload.function().trim_matches(['_', '@']).to_string();
            let kinds: Vec<&str> = overload.argument_types().iter().map(|it| kind(it)).collect();
            format!("`{function}` does not go with {}", kinds.join(" and "))
        }
        ExecutionError::DivisionByZero(_) | ExecutionError::RemainderByZero(_) => "it divides by nothing".into(),
        ExecutionError::FunctionError { function, message } => format!("`{function}`: {message}"),
        _ => "the expression cannot be evaluated: it takes one kind of value for another".into(),
    }
}

#[cfg(test)]
mod tests {
    use crate::bench::check;

    /// What an own rule says of a design on the bench, each with its place, and what it cannot look at.
    fn said(rule: &str, design: &str) -> (Vec<(String, String)>, Vec<String>) {
        let rule: String = rule.lines().map(|line| format!("    {line}\n")).collect();
        let text = format!("# house-standard.yaml\nown-rules:\n  ours:\n{rule}# house.ufh.yaml\n{design}");
        let outcome = check(&text);
        let unsound: Vec<_> = outcome.findings.iter().filter(|it| it.rule.name == "house-standard-unsound").collect();
        assert!(unsound.is_empty(), "{unsound:#?}");
        let found = outcome.findings.iter().filter(|it| it.rule.name == "ours");
        let found = found.map(|it| (it.at(&outcome.design), it.message.clone())).collect();
        let missing = outcome.not_checked.iter().filter(|it| it.rule.name == "ours");
        (found, missing.map(|it| it.missing(&outcome.design)).collect())
    }

    #[test]
    fn figures_and_what_is_given_are_looked_at_and_told_with_their_units() {
        let rule = "for-each: loop\nwhen: it.figure.length > amount(\"30 m\") && it.given.spacing >= amount(\"150 mm\")\n\
                    message: loop {it.name} at {it.given.spacing} on {manifold.name} with {size(rooms)} room is {it.figure.length} long";
        let (found, missing) = said(rule, "");
        assert_eq!(missing, [""; 0]);
        assert!(!found.is_empty());
        for (at, message) in found {
            let name = at.strip_prefix("loops/").unwrap();
            let start = format!("loop {name} at 150 mm on M1 with 1 room is ");
            assert!(message.starts_with(&start) && message.ends_with(" m long"), "{message}");
        }
    }

    #[test]
    fn what_is_missing_is_not_checked() {
        let rule = "for-each: room\nwhen: it.given.height > amount(\"3 m\")\nmessage: no";
        let (found, missing) = said(rule, "rooms:\n  hall: {height: 2.4 m}\n  study: {}\n");
        assert_eq!((found.len(), missing), (0, vec!["rooms/study/height".to_string()]));
        let rule = "for-each: room\nwhen: '!has(it.given.height)'\nmessage: room {it.name} has no height";
        let (found, missing) = said(rule, "rooms:\n  hall: {height: 2.4 m}\n  study: {}\n");
        assert_eq!(found, [("rooms/study".to_string(), "room study has no height".to_string())]);
        assert_eq!(missing, [""; 0]);
        let rule = "for-each: loop\nwhen: it.figure.length > 1.0\nmessage: no";
        let (_, missing) = said(rule, "loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, tails: 4 m}\n");
        assert_eq!(missing, ["loops/L1/spacing"]);
    }

    #[test]
    fn lists_are_walked() {
        let rule = "for-each: design\nwhen: total(loops.map(l, l.figure.length)) > 10.0 && loops.filter(l, l.given.spacing > 0.1).size() > 1\n\
                    message: '{size(loops)} loops, the longest {greatest(loops.map(l, l.figure.length))}'";
        let (found, _) = said(rule, "");
        assert!(
            matches!(&found[..], [(at, message)] if at == "design" && message.starts_with("2 loops, ")),
            "{found:?}"
        );
        let rule = "for-each: floor\nwhen: it.given.layers.exists(layer, layer.material.contains(\"screed\"))\nmessage: '{it.name}'";
        assert_eq!(said(rule, "").0.len(), 1);
        let rule = "for-each: manifold\nwhen: loops.exists(l, l.name == \"L2\")\nmessage: '{it.name}'";
        assert_eq!(said(rule, "").0, [("manifolds/M1".to_string(), "M1".to_string())]);
        let rule = "for-each: design\nwhen: it.figure.water.loop_content > 0.0 && it.given.project.name == \"Bench House\"\nmessage: '{it.figure.water.loop_content}'";
        let (found, _) = said(rule, "");
        assert!(matches!(&found[..], [(_, message)] if message.ends_with(" l")), "{found:?}");
    }

    /// What comes of measured values keeps its unit, wherever its kind can be told.
    #[test]
    fn messages_give_units_to_what_is_worked_out_on_the_way() {
        let rule = "for-each: design\nwhen: loops.size() > 0\n\
                    message: '{greatest(loops.map(l, l.given.spacing))}; {loops.map(l, l.given.spacing)}; \
                    {total(loops.map(l, l.given.spacing)) * 2.0}; {loops.map(l, l.name)}'";
        let (found, _) = said(rule, "");
        assert_eq!(found[0].1, "150 mm; 150 mm, 150 mm; 600 mm; L1, L2");
        let rule = "for-each: room\nwhen: it.name == \"hall\"\n\
                    message: '{it.given.temperature - amount(\"2 K\")} and {it.given.temperature - it.given.temperature}'";
        assert_eq!(said(rule, "").0[0].1, "18.0 °C and 0.0 K");
    }

    /// Every figure of the sheet can be asked for by its name, and every name is one of the sheet.
    #[test]
    fn the_names_of_figures_are_those_of_the_sheet() {
        let outcome = check("");
        let known = |block: &str, figure: &str, unit: &str| {
            workings::FIGURES
                .iter()
                .any(|(name, figures)| *name == block && figures.iter().any(|it| it.name == figure && it.unit == unit))
        };
        for line in workings::sheet(&outcome.design, &outcome.workings) {
            let parts: Vec<&str> = line.name.split('.').collect();
            let figure = if parts.len() > 2 { parts[2] } else { parts[1] };
            assert!(known(parts[0], figure, line.unit), "{}", line.name);
        }
    }

    #[test]
    fn one_kind_of_value_for_another_is_told() {
        let text = "# house-standard.yaml\nown-rules:\n  ours:\n    for-each: loop\n    when: it.name > 3.0\n    message: no\n# house.ufh.yaml\n";
        let outcome = check(text);
        let unsound = outcome.findings.iter().find(|it| it.rule.name == "house-standard-unsound").unwrap();
        assert_eq!(unsound.message, "`>` does not go with text and a number");
        assert_eq!(unsound.path.as_deref(), Some("own-rules/ours/when"));
    }

    /// Ten thousand loops in one list, three times over: some half a second without optimising, most of it the check's own.
    #[test]
    fn long_lists_are_walked_to_the_end() {
        let loops: String = (0..10_000).map(|at| format!("  L{at}: {{spacing: 150 mm}}\n")).collect();
        let rule = "for-each: design\nwhen: total(loops.map(l, l.given.spacing)) > 1e9 || loops.filter(l, l.given.spacing > 9.0).size() > 0\nmessage: no";
        let (found, missing) = said(rule, &format!("loops:\n{loops}"));
        assert_eq!((found.len(), missing.len()), (0, 0));
    }
}
