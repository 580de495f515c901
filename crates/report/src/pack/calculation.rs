//! The calculation sheet: for every figure its formula, and below it for each thing the numbers put in and the result, with whose
//! method it is, so that a checker can follow it by hand.

use super::sheet::{Sheet, Table};
use super::sources::printed;
use super::{Issue, arithmetic};
use crate::places::Texts;
use crate::words::file_name;
use std::collections::HashMap;
use workings::{FIGURES, Figure, Input, Line};

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
        "Each figure of the design, in the order in which they follow from each other: its formula once, the number of its source, \
         and below it for each thing the numbers put in and the result. Values are put in in SI units, temperatures in °C, with five \
         digits; results stand as the trade writes them, and in SI units below where those differ. The line after a value is where it \
         stands in the design or in the file named; what has none is a figure worked out before. Calculated for steady design conditions; outputs \
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
        let mut table = Table::new([&format!("*{kind}"), "numbers put in", "#result"]);
        for (figure, values) in by_figure(issue, block, &lines) {
            add(issue, &texts, &mut sources, figure, &values, &mut table);
        }
        sheet.table(table);
    }
    sheet.heading("Sources");
    let numbered = sources.names.iter().enumerate();
    sheet.table(Table::of_facts(numbered.map(|(at, name)| (format!("[{}]", at + 1), printed(name)))));
    sheet
}

/// A figure of a thing: what it is of, and its line of the sheet.
type Value<'l> = (String, &'l Line);

/// The values of each figure of a block, things in the order of the design, figures in that in which they follow from each other.
fn by_figure<'l>(issue: &Issue, block: &str, lines: &[&'l Line]) -> Vec<(&'static str, Vec<Value<'l>>)> {
    let design = &issue.outcome.design;
    let names: Vec<&str> = match block {
        "floors" => design.floors.iter().map(|(name, _)| name).collect(),
        "rooms" => design.rooms.iter().map(|(name, _)| name).collect(),
        "loops" => design.loops.iter().map(|(name, _)| name).collect(),
        "manifolds" => design.manifolds.iter().map(|(name, _)| name).collect(),
        "electric-mats" => design.electric_mats.iter().map(|(name, _)| name).collect(),
        _ => vec![""],
    };
    let known = FIGURES.iter().find(|(name, _)| *name == block).map_or(&[][..], |(_, figures)| figures);
    let mut values: Vec<(&str, Vec<Value>)> = known.iter().map(|figure| (figure.name, Vec::new())).collect();
    // The sheet has them in the order of the design; a name may have dots of its own.
    let mut left = lines.iter().peekable();
    for name in names {
        let start = if name.is_empty() { format!("{block}.") } else { format!("{block}.{name}.") };
        while let Some(line) = left.next_if(|line| line.name.starts_with(&start)) {
            // Behind its name a figure may say what part it is of: `length-in-room.hall`.
            let figure = &line.name[start.len()..];
            let (figure, part) = figure.split_once('.').unwrap_or((figure, ""));
            let of = if part.is_empty() { name.to_string() } else { format!("{name}, {part}") };
            if let Some((_, values)) = values.iter_mut().find(|(name, _)| *name == figure) {
                values.push((of, line));
            }
        }
    }
    values.retain(|(_, values)| !values.is_empty());
    values
}

/// Things with what was put in for them and the result.
type Rows = Vec<(Vec<String>, String, String)>;

/// Adds a figure of all things: below each formula those that are worked out by it, in one row those of which all is the same.
fn add(issue: &Issue, texts: &Texts, sources: &mut Sources, figure: &str, values: &[Value], table: &mut Table) {
    let mut methods: Vec<(String, Rows)> = Vec::new();
    for (of, line) in values {
        let (method, put_in, result) = match &line.worked {
            Ok(worked) => (method(sources, figure, worked), put_in(texts, worked), result(line, worked)),
            Err(gap) => {
                let wants = format!("missing: {}", gap.wants(&issue.outcome.design));
                (format!("{figure}: not worked out"), wants, "–".to_string())
            }
        };
        let at = methods.iter().position(|it| it.0 == method).unwrap_or_else(|| {
            methods.push((method, Vec::new()));
            methods.len() - 1
        });
        let rows = &mut methods[at].1;
        match rows.iter_mut().find(|row| row.1 == put_in && row.2 == result) {
            Some((things, ..)) => things.push(of.clone()),
            None => rows.push((vec![of.clone()], put_in, result)),
        }
    }
    for (method, rows) in methods {
        table.head(method);
        rows.into_iter().for_each(|(things, put_in, result)| table.row([things.join("; "), put_in, result]));
    }
}

/// The formula, what it takes to be so, and whose it is.
fn method(sources: &mut Sources, name: &str, figure: &Figure<f64>) -> String {
    let mut method = format!("{name} = {} [{}]", figure.formula, sources.number(figure.source));
    if !figure.assumptions.is_empty() {
        let assumed: Vec<String> = figure.assumptions.iter().map(|it| printed(it)).collect();
        method += &format!("\nassumed: {}", assumed.join("; "));
    }
    method
}

/// The formula with its numbers, where that can be, and below it what went in by its name and where it stands.
fn put_in(texts: &Texts, figure: &Figure<f64>) -> String {
    let inputs: Vec<String> = figure.inputs.iter().map(|input| format!("{input}{}", stands(texts, input))).collect();
    let inputs = inputs.join("; ");
    match with_numbers(figure) {
        Some(numbers) => format!("= {numbers}\n{inputs}"),
        None => inputs,
    }
}

/// The result as the trade writes it, and in SI where that differs.
fn result(line: &Line, figure: &Figure<f64>) -> String {
    let shown = line.shown.clone().unwrap_or_default();
    if line.unit == "1" || shown.ends_with(line.unit) {
        return shown;
    }
    let in_si = Input { name: "", value: figure.value, unit: line.unit, at: None }.to_string();
    format!("{shown}\n{}", in_si.trim_start_matches(" = "))
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

/// Words of formulas, and how they are followed by the names of what went in.
const READ_AS: &[(&str, &str)] = &[
    ("1 / α + covering + cover / conductivity, α = 10.8 W/(m²·K)", "1 / 10.8 + covering + cover / conductivity"),
    ("flow / density at the flow temperature", "flow / density"),
    ("mean water at the heat-flux-limit + temperature-drop / 2", "mean water + temperature-drop / 2"),
    ("(mean water - ", "(mean water temperature - "),
    ("x area / (flow", "x area-served / (flow"),
    ("area-served / spacing + tails", "length-in-room + tails"),
    ("ρv²/2 + bends + open valves", "density x velocity² / 2 + bends + valves"),
    (
        "the same, the friction factor at the upper end of what it may be between laminar and turbulent flow",
        "friction factor x length / bore x density x velocity² / 2 + bends + valves",
    ),
    ("/ 1 bar x 1000", "/ 100000 x 1000"),
    ("(heat-flux + heat-down / area-served) x ripple of a row of pipes", "heat flux up and down x ripple"),
    ("heat-flux of its loops, each by its area", "heat-up, the edge zone as the rest / heated area"),
    ("area - keep-clear areas, each part once", "area - taken"),
    ("greatest pressure-drop-greatest of its loops + common", "pressure-drop, upper end + common, upper end"),
    (
        "friction and bends of the feeder + its valves and pressure-loss of the manifold's own parts",
        "friction of the feeder + bends of the feeder + valves and pressure-loss",
    ),
    ("flow of the pump's curve at head-needed - flow", "flow at head-needed - flow"),
    (
        "9.81 kPa/m x static-height + the greater of 0.2 bar and the gauge pressure of its steam",
        "9810 x static-height + 20000",
    ),
    (
        "share of the rooms' free area that no other loop is stated to heat; of a drawn loop at most drawn length x spacing",
        "free-area x share",
    ),
    (
        "φ x B_G x (Δθ / φ)^n_G where that is characteristic x Δθ, at most φ x 100 W/m²; φ = (over-room / 9 K)^1.1",
        "φ x B_G x (Δθ then / φ)^n_G",
    ),
    ("head-available - common path, pressure-drop at least", "head-available - common path"),
    ("content x (density at filling / density at the highest temperature - 1)", "content x grows by"),
    (
        "(expansion + reserve) x (end pressure + 1 bar)",
        "(expansion + reserve, 0.5 % of the content and 3 l at least) x (end pressure + 100000)",
    ),
    ("heat-needed of its rooms x its share of their heated area", "sum of heat-needed x share"),
    ("mean of its manifolds' returns by their primary flows", "mean of its loops' returns by flow"),
];

/// What need not be there, and counts as nothing then.
const NOTHING_IF_LEFT_OUT: &[&str] = &[
    "floor-loss-included",
    "other-emitters",
    "volume-vessel",
    "other-content",
    "bends",
    "valves",
    "friction of the feeder",
    "bends of the feeder",
    "valves and pressure-loss",
];

/// The formula with its numbers put in, where that is arithmetic and gives the figure.
fn with_numbers(figure: &Figure<f64>) -> Option<String> {
    let mut formula = figure.formula.to_string();
    for (words, read_as) in READ_AS {
        if !formula.starts_with("sum over ") {
            formula = formula.replace(words, read_as);
        }
    }
    let is_of_all = formula.starts_with("sum ") || formula.starts_with("mean of ");
    let numbers = if is_of_all { sum_or_mean(figure, &formula)? } else { put_in_words(figure, &formula)? };
    // What goes in has five digits; differences of temperatures lose some of them.
    let is_figure = |value: f64| (value - figure.value).abs() <= 2e-3 * figure.value.abs() + 1e-9;
    arithmetic::value(&numbers).is_some_and(is_figure).then_some(numbers)
}

/// The formula with the numbers of its names, if it has no other words.
fn put_in_words(figure: &Figure<f64>, formula: &str) -> Option<String> {
    let mut names: Vec<(&str, f64)> = figure.inputs.iter().map(|input| (input.name, input.value)).collect();
    names.extend(
        NOTHING_IF_LEFT_OUT
            .iter()
            .filter(|name| figure.inputs.iter().all(|it| it.name != **name))
            .map(|name| (*name, 0.0)),
    );
    // The longest name first: `area-served` before `area`.
    names.sort_by_key(|(name, _)| std::cmp::Reverse(name.len()));
    let is_of_word = |c: char| c.is_alphabetic() || c.is_ascii_digit();
    let mut numbers = String::new();
    let mut rest = formula;
    let mut put_in = 0;
    while let Some(first) = rest.chars().next() {
        let begins = !numbers.ends_with(|c: char| is_of_word(c) || matches!(c, '-' | '_'));
        let ends = |after: &str| !after.starts_with(|c: char| is_of_word(c) || matches!(c, '_' | '*' | '-'));
        let named = names.iter().find(|(name, _)| begins && rest.strip_prefix(name).is_some_and(ends));
        if let Some((name, value)) = named {
            numbers += &number(*value);
            rest = &rest[name.len()..];
            put_in += 1;
        } else if first.is_alphabetic() {
            let word: String = rest.chars().take_while(|c| is_of_word(*c) || matches!(c, '-' | '_')).collect();
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

/// A number as it is put in.
fn number(value: f64) -> String {
    let number = Input { name: "", value, unit: "1", at: None }.to_string();
    let number = number.trim_start_matches(" = ");
    if number.starts_with('-') { format!("({number})") } else { number.to_string() }
}

/// The sum of what went in, or of products of two that take turns; or the mean of the second of each two, weighed by the first.
fn sum_or_mean(figure: &Figure<f64>, formula: &str) -> Option<String> {
    let [one, other, ..] = &figure.inputs[..] else { return None };
    let numbers: Vec<String> = figure.inputs.iter().map(|input| number(input.value)).collect();
    if figure.inputs.iter().all(|input| input.unit == one.unit) {
        return Some(numbers.join(" + "));
    }
    if formula.ends_with("of characteristic x area x (mean water - temperature)") {
        let pieces = numbers.chunks_exact(4).map(|it| format!("{} x {} x ({} - {})", it[0], it[1], it[2], it[3]));
        return Some(pieces.collect::<Vec<_>>().join(" + "));
    }
    if !figure.inputs.chunks(2).all(|it| it.len() == 2 && it[0].name == one.name && it[1].name == other.name) {
        return None;
    }
    let products = numbers.chunks(2).map(|it| it.join(" x ")).collect::<Vec<_>>().join(" + ");
    if formula.starts_with("sum of ") {
        return Some(products);
    }
    let weights = numbers.iter().step_by(2).map(String::as_str).collect::<Vec<_>>().join(" + ");
    Some(format!("({products}) / ({weights})"))
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
        let numbers = |formula| put_in_words(&figure(formula), formula);
        assert_eq!(numbers("area-served / spacing").as_deref(), Some("11.5 / 0.15"));
        assert_eq!(numbers("area x exp(-(θ* + 2))").as_deref(), Some("12 x exp(-((-1.5) + 2))"));
        assert_eq!(numbers("area / tails"), None);
        assert_eq!(numbers("as stated"), None);
        assert_eq!(numbers("area"), None);
        let sum = |value| {
            with_numbers(&Figure::new(value, "sum of both", "plain").with_number("area", 1.0).with_number("area", 2.5))
        };
        assert_eq!(
            (sum(3.5).as_deref(), sum(3.6)),
            (Some("1 + 2.5"), None),
            "what does not give the figure is not shown"
        );
    }

    /// Of the figures of the demo designs most can be followed with a pocket calculator; those of which the words are not numbers are
    /// routes, sections and networks, and what the design states.
    #[test]
    fn most_figures_can_be_followed_with_a_calculator() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../demo-designs");
        let (mut all, mut followed, mut lost) = (0, 0, std::collections::BTreeMap::new());
        for entry in std::fs::read_dir(&folder).expect("the demo designs are there") {
            let path = entry.expect("a folder can be listed").path();
            if !path.to_string_lossy().ends_with(".ufh.yaml") {
                continue;
            }
            let outcome = check::check(&check::Job {
                path: "design.ufh.yaml",
                house_standard: None,
                bytes: &std::fs::read(&path).expect("a demo design can be read"),
                files: &|library| std::fs::read(folder.join(library)).map_err(|error| error.to_string()),
                today: jiff::civil::date(2026, 6, 1),
                remedies: false,
            });
            for line in workings::sheet(&outcome.design, &outcome.workings) {
                let Ok(figure) = &line.worked else { continue };
                // What one thing alone went into is plain to see.
                if figure.formula == "as stated" || figure.inputs.len() < 2 {
                    continue;
                }
                all += 1;
                match with_numbers(figure) {
                    Some(_) => followed += 1,
                    None => *lost.entry(figure.formula).or_insert(0) += 1,
                }
            }
        }
        println!("{followed} of {all}\n{lost:#?}");
        assert!(followed * 10 > all * 6, "{followed} of {all}: {lost:#?}");
        // These are arithmetic, whatever goes in.
        for formula in
            ["4 x flow / (π x density x bore²)", "π / 4 x bore² x length", "B x a_B x a_T^m_T x a_U^m_U x a_D^m_D"]
        {
            assert!(!lost.contains_key(formula), "{formula}");
        }
    }
}
