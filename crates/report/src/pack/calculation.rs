//! The calculation sheet: every figure with its formula, the numbers put in, the result and whose method it is, so that a
//! checker can follow it by hand.

use super::Issue;
use super::sheet::{Row, Sheet, Table};
use crate::places::Texts;
use crate::words::file_name;
use std::collections::HashMap;
use workings::{Figure, Input, Line};

/// Signs that stand in formulas, and what they are of.
const SYMBOLS: [(&str, &str); 20] = [
    (
        "B, a_B, a_T, a_U, a_D",
        "factors of EN 1264-2: of the system, the covering, the spacing, the cover, the pipe's diameter",
    ),
    ("m_T, m_U, m_D", "exponents of EN 1264-2 that belong to a_T, a_U, a_D"),
    (
        "characteristic",
        "heat into the room for each square metre and each kelvin between mean water and room, W/(m²·K)",
    ),
    ("mean water", "the mean temperature of the water along the loop, °C"),
    ("θ", "a temperature, °C"),
    ("θ*", "the temperature at which the water would give off no heat, between room and what lies below, °C"),
    ("Δθ", "a difference of temperatures, K"),
    ("U_up, U_down", "heat upward and downward for each square metre and kelvin, W/(m²·K)"),
    ("U_across", "heat from the room through the floor where the water gives none, W/(m²·K)"),
    ("α", "heat transfer coefficient of a surface, W/(m²·K)"),
    ("φ, B_G, n_G", "factors of the limit of heat flux of EN 1264-2"),
    ("8.92, 1.1", "factor and exponent of the basic characteristic of EN 1264-2"),
    ("ρ", "density of the water, kg/m³"),
    ("v", "velocity of the water in the pipe, m/s"),
    ("Kv", "flow in m³/h of cold water that loses 1 bar"),
    ("share", "the part of a room, or of its need, that one of its loops has"),
    ("tails", "the pipe between manifold and heated area, there and back"),
    ("common", "what the loops of a manifold have in common: feeder, manifold, mixing set"),
    ("x, ^, sqrt, exp", "times; to the power of; square root; exponential function"),
    ("[1], [2] …", "the sources, listed at the end of this sheet"),
];

/// The blocks of figures and what each thing of them is called.
const BLOCKS: [(&str, &str, &str); 7] = [
    ("floors", "Floors", "floor"),
    ("rooms", "Rooms", "room"),
    ("loops", "Loops", "loop"),
    ("manifolds", "Manifolds", "manifold"),
    ("heat-source", "Heat source", ""),
    ("water", "Water of the system", ""),
    ("electric-mats", "Electric mats", "electric mat"),
];

pub fn sheet(issue: &Issue) -> Sheet {
    let outcome = issue.outcome;
    let mut sheet = Sheet::new("calculation", "Calculation");
    sheet.words(
        "Each figure of the design, in the order in which they follow from each other. Values are put into the formulas in SI \
         units, temperatures in °C; results stand as the trade writes them, and in SI units below where those differ. The line \
         after a value is where it stands in the design or in the file named. Calculated for steady design conditions; outputs \
         of unusual floors rest on the maker's tested output alone. Flows and pressures are of clean water and smooth pipe \
         unless the design says otherwise.",
    );
    sheet.heading("Signs");
    sheet.table(Table::of_facts(SYMBOLS));

    let lines = workings::sheet(&outcome.design, &outcome.workings);
    let texts = Texts::new(&outcome.sources);
    let mut sources = Sources::default();
    for (block, title, kind) in BLOCKS {
        let of_block = |line: &&Line| line.name.split('.').next() == Some(block);
        let lines: Vec<&Line> = lines.iter().filter(of_block).collect();
        if lines.is_empty() {
            continue;
        }
        sheet.heading(title);
        for (thing, figures) in by_thing(issue, block, &lines) {
            if !kind.is_empty() {
                sheet.subheading(format!("{kind} {thing}"));
            }
            let mut table = Table::new(["*figure", "how it is worked out", "#result", "source"]);
            for (name, line) in figures {
                table.rows.push(Row::Cells(row(issue, &texts, &mut sources, name, line)));
            }
            sheet.table(table);
        }
    }
    sheet.heading("Sources");
    let numbered = sources.names.iter().enumerate().map(|(at, name)| (format!("[{}]", at + 1), name.to_string()));
    sheet.table(Table::of_facts(numbered));
    sheet
}

/// The figures of each thing of a block, under their names without those of block and thing.
fn by_thing<'l>(issue: &Issue, block: &str, lines: &[&'l Line]) -> Vec<(String, Vec<(&'l str, &'l Line)>)> {
    let design = &issue.outcome.design;
    let names: Vec<&str> = match block {
        "floors" => design.floors.iter().map(|(name, _)| name).collect(),
        "rooms" => design.rooms.iter().map(|(name, _)| name).collect(),
        "loops" => design.loops.iter().map(|(name, _)| name).collect(),
        "manifolds" => design.manifolds.iter().map(|(name, _)| name).collect(),
        "electric-mats" => design.electric_mats.iter().map(|(name, _)| name).collect(),
        _ => return vec![(String::new(), lines.iter().map(|line| (&line.name[block.len() + 1..], *line)).collect())],
    };
    // The sheet has them in the order of the design; a name may have dots of its own.
    let mut left = lines.iter().peekable();
    let mut things = Vec::new();
    for name in names {
        let start = format!("{block}.{name}.");
        let mut figures = Vec::new();
        while let Some(line) = left.next_if(|line| line.name.starts_with(&start)) {
            figures.push((&line.name[start.len()..], *line));
        }
        if !figures.is_empty() {
            things.push((name.to_string(), figures));
        }
    }
    things
}

fn row(issue: &Issue, texts: &Texts, sources: &mut Sources, name: &str, line: &Line) -> Vec<String> {
    let figure = match &line.worked {
        Ok(figure) => figure,
        Err(gap) => {
            let wants = format!("not worked out; missing: {}", gap.wants(&issue.outcome.design));
            return [name, &wants, "–", ""].map(String::from).into();
        }
    };
    let mut how = figure.formula.to_string();
    if let Some(numbers) = with_numbers(figure) {
        how += &format!("\n= {numbers}");
    }
    let inputs: Vec<String> = figure.inputs.iter().map(|input| format!("{input}{}", stands(texts, input))).collect();
    if !inputs.is_empty() {
        how += &format!("\n{}", inputs.join("; "));
    }
    for assumption in &figure.assumptions {
        how += &format!("\nassumed: {assumption}");
    }
    let shown = line.shown.clone().unwrap_or_default();
    let in_si = Input { name: "", value: figure.value, unit: line.unit, at: None }.to_string();
    let in_si = in_si.trim_start_matches(" = ").to_string();
    let result = if line.unit == "1" || shown.ends_with(line.unit) { shown } else { format!("{shown}\n{in_si}") };
    vec![name.to_string(), how, result, format!("[{}]", sources.number(figure.source))]
}

/// Where an input stands, if it stands in a file.
fn stands(texts: &Texts, input: &Input) -> String {
    let Some((place, text)) = input.at.and_then(|place| Some((place, texts.of(place)?))) else { return String::new() };
    let line = text.lines.line(place.range().start);
    match place.file.number() {
        0 => format!(" (line {line})"),
        _ => format!(" ({} line {line})", file_name(text.path)),
    }
}

/// The formula with its numbers put in, where it is arithmetic with all its names among the inputs.
fn with_numbers(figure: &Figure<f64>) -> Option<String> {
    let mut inputs: Vec<&Input> = figure.inputs.iter().collect();
    // The longest name first: `area-served` before `area`.
    inputs.sort_by_key(|input| std::cmp::Reverse(input.name.len()));
    let mut numbers = String::new();
    let mut rest = figure.formula;
    let mut put_in = 0;
    while let Some(first) = rest.chars().next() {
        let begins = !numbers.ends_with(|c: char| c.is_alphanumeric() || matches!(c, '-' | '_'));
        let ends = |after: &str| !after.starts_with(|c: char| c.is_alphanumeric() || matches!(c, '_' | '*' | '-'));
        let named = inputs.iter().find(|it| begins && rest.strip_prefix(it.name).is_some_and(ends));
        if let Some(input) = named {
            let value = Input { name: "", unit: "1", ..**input }.to_string();
            let value = value.trim_start_matches(" = ");
            numbers += &if value.starts_with('-') { format!("({value})") } else { value.to_string() };
            rest = &rest[input.name.len()..];
            put_in += 1;
        } else if first.is_alphabetic() {
            let word: String = rest.chars().take_while(|c| c.is_alphanumeric() || matches!(c, '-' | '_')).collect();
            if !matches!(&*word, "x" | "π" | "sqrt" | "exp") {
                return None;
            }
            numbers += &word;
            rest = &rest[word.len()..];
        } else {
            numbers.push(first);
            rest = &rest[first.len_utf8()..];
        }
    }
    (put_in > 0 && numbers.contains(' ')).then_some(numbers)
}

/// Sources in the order in which they are first met.
#[derive(Default)]
struct Sources {
    names: Vec<&'static str>,
    numbers: HashMap<&'static str, usize>,
}

impl Sources {
    fn number(&mut self, name: &'static str) -> usize {
        *self.numbers.entry(name).or_insert_with(|| {
            self.names.push(name);
            self.names.len()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_where_their_names_stood() {
        let figure = |formula| {
            Figure::new(0.0, formula, "plain arithmetic")
                .with_number("area", 12.0)
                .with_number("area-served", 11.5)
                .with_number("θ*", -1.5)
                .with_number("spacing", 0.15)
        };
        let numbers = |formula| with_numbers(&figure(formula));
        assert_eq!(numbers("area-served / spacing").as_deref(), Some("11.5 / 0.15"));
        assert_eq!(numbers("area x exp(-(θ* + 2))").as_deref(), Some("12 x exp(-((-1.5) + 2))"));
        assert_eq!(numbers("area / tails"), None);
        assert_eq!(numbers("as stated"), None);
        assert_eq!(numbers("area"), None);
    }
}
