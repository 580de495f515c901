//! Reading a number with its unit, and saying what is wrong when there is none.

use crate::{kinds, other_units};
use std::ops::Range as Span;

/// A spelling of a unit and what one of it is in SI: `si = number * factor + offset`.
#[derive(Debug, PartialEq)]
pub struct Unit {
    pub spelling: &'static str,
    pub factor: f64,
    pub offset: f64,
}

/// What every kind of measured value offers to readers and writers of text.
pub trait Quantity: Copy + PartialOrd + std::fmt::Display + Sized + 'static {
    /// The kind in plain words, with its article: `a length`.
    const KIND: &'static str;
    /// The SI unit that [`Quantity::si`] counts in.
    const SI_UNIT: &'static str;
    /// Every accepted spelling, the usual ones first.
    const UNITS: &'static [Unit];

    /// The value counted in [`Quantity::SI_UNIT`].
    fn si(self) -> f64;
    /// A value of this kind from a number counted in [`Quantity::SI_UNIT`].
    fn from_si(si: f64) -> Self;

    /// Reads `150 mm`, `-3 °C`, `1.2 W/(m·K)`. The unit is required; the space before it is not.
    fn parse(text: &str) -> Result<Self, Fault> {
        let (number, unit_span) = split(text)?;
        let unit = unit::<Self>(text, unit_span).map_err(|fault| fault.with_amount::<Self>(number))?;
        believable(Self::from_si(number * unit.factor + unit.offset))
    }
}

/// The greatest size in SI of anything that is built.
pub const GREATEST: f64 = 1e12;
/// The least that is not nothing.
const LEAST: f64 = 1e-12;

/// The value, if anything that is built could have it.
pub(crate) fn believable<Q: Quantity>(value: Q) -> Result<Q, Fault> {
    let size = value.si().abs();
    if size == 0.0 || (LEAST..=GREATEST).contains(&size) { Ok(value) } else { Err(Fault::Unbelievable) }
}

/// Two values as the trade writes them, with as many digits more as show that they differ: `29.04 °C` over `29.0 °C`,
/// where plain printing gives `29.0 °C` twice. Values that are the same print the same.
pub fn apart<Q: Quantity>(one: Q, other: Q) -> (String, String) {
    let plain = (one.to_string(), other.to_string());
    if plain.0 != plain.1 || one.si() == other.si() {
        return plain;
    }
    let text = &plain.0;
    let start = text.find(|c: char| c.is_ascii_digit() || c == '-').unwrap_or(0);
    let end = text[start..].find(|c: char| !matches!(c, '0'..='9' | '.' | '-')).map_or(text.len(), |at| start + at);
    let spelling = text[end..].trim();
    let spelling = if spelling.is_empty() { "1" } else { spelling };
    let Some(unit) = Q::UNITS.iter().find(|unit| unit.spelling == spelling) else { return plain };
    let digits = text[start..end].split_once('.').map_or(0, |(_, digits)| digits.len());
    let number = |value: Q| (value.si() - unit.offset) / unit.factor;
    let shown: f64 = text[start..end].parse().unwrap_or(f64::NAN);
    let finer = |value: Q, digits: usize| format!("{:.digits$}", number(value));
    let Some(digits) = (digits + 1..=digits + 9).find(|digits| finer(one, *digits) != finer(other, *digits)) else {
        return plain;
    };
    // A value that is just what it shows keeps its usual form.
    let written = |value: Q| {
        let whole = (number(value) - shown).abs() <= 1e-9 * shown.abs();
        let written = if whole { text[start..end].to_string() } else { finer(value, digits) };
        format!("{}{written}{}", &text[..start], &text[end..])
    };
    (written(one), written(other))
}

/// Why a text is not a value of the kind asked for. Spans are bytes of the text given.
#[derive(Debug, Clone, PartialEq)]
pub enum Fault {
    /// It does not begin with a number.
    NoNumber,
    /// The number is written with a comma where a point belongs; the text with a point.
    DecimalComma(String),
    /// Too large, or too small and not nothing, for anything that is built, whatever the unit.
    Unbelievable,
    /// The greater end of a range stands first; the range the right way round, where that is plain.
    Reversed { better: Option<String> },
    /// A bare number: the unit is missing.
    NoUnit,
    /// A unit that this kind does not have.
    WrongUnit {
        unit: String,
        at: Span<usize>,
        /// The unit that was probably meant, if the number stays what it is with it.
        nearest: Option<&'static str>,
        /// The same amount in a unit of this kind, where the unit written is another one of the same quantity.
        converted: Option<String>,
    },
}

/// Splits a text into its number and the span of its unit (empty for a bare number).
pub(crate) fn split(text: &str) -> Result<(f64, Span<usize>), Fault> {
    let start = text.len() - text.trim_start().len();
    let body = &text[start..];
    let end = body.char_indices().find(|&(at, c)| !in_number(body, at, c)).map_or(body.len(), |(at, _)| at);
    let written = &body[..end];
    if written.contains(',') {
        let point = text.replacen(',', ".", 1);
        return match split(&point) {
            Ok(_) => Err(Fault::DecimalComma(point)),
            Err(_) => Err(Fault::NoNumber),
        };
    }
    let number: f64 = match written.strip_prefix('−') {
        Some(rest) => rest.parse::<f64>().map(|n| -n),
        None => written.parse(),
    }
    .map_err(|_| Fault::NoNumber)?;
    if !number.is_finite() {
        return Err(Fault::Unbelievable);
    }
    let unit_start = start + end + (body[end..].len() - body[end..].trim_start().len());
    Ok((number, unit_start..text.trim_end().len().max(unit_start)))
}

/// Digits, sign, point, comma, and an exponent that is followed by a digit.
fn in_number(body: &str, at: usize, c: char) -> bool {
    match c {
        '0'..='9' | '.' | ',' => true,
        '+' | '-' | '−' => at == 0 || body[..at].ends_with(['e', 'E']),
        'e' | 'E' => {
            let rest = body[at + 1..].trim_start_matches(['+', '-']);
            at > 0 && rest.starts_with(|d: char| d.is_ascii_digit())
        }
        _ => false,
    }
}

/// The unit of this kind that is written at `span`.
pub(crate) fn unit<Q: Quantity>(text: &str, span: Span<usize>) -> Result<&'static Unit, Fault> {
    let written = &text[span.clone()];
    if written.is_empty() {
        // A plain number counts in ones.
        return Q::UNITS.iter().find(|unit| unit.spelling == "1").ok_or(Fault::NoUnit);
    }
    // The spellings as they are cost nothing; only an unusual one is rewritten to be compared.
    if let Some(unit) = Q::UNITS.iter().find(|unit| unit.spelling == written) {
        return Ok(unit);
    }
    if let Some(unit) = alike(Q::UNITS, written) {
        return Ok(unit);
    }
    let nearest = if alike(other_units::of(Q::KIND), written).is_some() { None } else { half_typed::<Q>(written) };
    Err(Fault::WrongUnit { unit: written.to_string(), at: span, nearest, converted: None })
}

/// The unit of a list with this spelling, signs that look alike taken for one.
fn alike(units: &'static [Unit], written: &str) -> Option<&'static Unit> {
    let plain = plain(written);
    units.iter().find(|unit| self::plain(unit.spelling) == plain)
}

/// The unit that a spelling is the beginning of, or is but for capitals. Where that could be two there is none, and
/// none where the spelling is a unit of another quantity: `15 m` is no area half typed.
fn half_typed<Q: Quantity>(written: &str) -> Option<&'static str> {
    if is_unit(written) {
        return None;
    }
    let same = |unit: &&Unit| unit.spelling.eq_ignore_ascii_case(written) && !is_other_prefix(unit.spelling, written);
    if let Some(unit) = Q::UNITS.iter().find(same) {
        return Some(unit.spelling);
    }
    let mut begun = Q::UNITS.iter().filter(|unit| unit.spelling.starts_with(written));
    let first = begun.next()?;
    begun.all(|unit| unit.factor == first.factor).then_some(first.spelling)
}

/// Whether two spellings differ in `m` and `M` where a prefix stands: a thousandth and a million.
fn is_other_prefix(one: &str, other: &str) -> bool {
    let (one, other) = (one.as_bytes(), other.as_bytes());
    one.len() > 1 && one[0] != other[0] && one[0].eq_ignore_ascii_case(&b'm')
}

/// Every kind that a text can be a value of, with the value in SI; the usual kind first.
pub fn readings(text: &str) -> Vec<(&'static crate::AnyKind, f64)> {
    let Ok((number, span)) = split(text) else { return Vec::new() };
    let written = &text[span];
    let of = |it: &'static crate::AnyKind| {
        let unit = match written {
            "" => it.units.iter().find(|unit| unit.spelling == "1"),
            _ => alike(it.units, written),
        };
        let si = unit.map(|unit| number * unit.factor + unit.offset)?;
        (si == 0.0 || (LEAST..=GREATEST).contains(&si.abs())).then_some((it, si))
    };
    kinds::KINDS.iter().filter_map(of).collect()
}

/// The same amount in each other unit of its kind in which it can be written out: `150 mm` is `0.15 m`, `15 cm` and so on, but
/// `2 l/min` no number of `l/s`. Nothing where the text is no value of that kind.
pub fn in_other_units(text: &str, kind: &str) -> Vec<String> {
    const FIGURES: i32 = 12;
    // What arithmetic leaves of a number that is meant to be another one.
    const NOISE: f64 = 5e-15;
    let Ok((number, span)) = split(text) else { return Vec::new() };
    let Some(kind) = kinds::KINDS.iter().find(|it| it.kind == kind) else { return Vec::new() };
    let Some(own) = alike(kind.units, &text[span]) else { return Vec::new() };
    let si = number * own.factor + own.offset;
    let written = |unit: &Unit| {
        let converted = (si - unit.offset) / unit.factor;
        let places = if converted == 0.0 { 0 } else { FIGURES - 1 - converted.abs().log10().floor() as i32 };
        let scale = 10f64.powi(places);
        // What cannot be written without an exponent nobody wants to read.
        let handy = converted == 0.0 || (1e-6..1e9).contains(&converted.abs());
        let rounded = (converted * scale).round() / scale;
        let whole = (rounded - converted).abs() <= converted.abs() * NOISE;
        (handy && whole).then(|| format!("{rounded} {}", unit.spelling))
    };
    let others = kind.usual_units().filter(|unit| (unit.factor, unit.offset) != (own.factor, own.offset));
    others.filter_map(written).collect()
}

/// Whether this is a unit of anything, one of our kinds or not: then it is no slip of the finger.
pub fn is_unit(written: &str) -> bool {
    const OF_OTHER_KINDS: [&str; 12] = ["kWh", "Wh", "MWh", "J", "kJ", "MJ", "N", "kN", "g", "kg", "kVA", "Hz"];
    const PREFIXES: [char; 9] = ['n', 'µ', 'm', 'c', 'd', 'h', 'k', 'M', 'G'];
    let is_known = |written: &str| {
        kinds::KINDS
            .iter()
            .any(|it| alike(it.units, written).is_some() || alike(other_units::of(it.kind), written).is_some())
    };
    // `ml/h` is a thousandth of `l/h`; but nobody takes a thousandth of a thousandth.
    let without_prefix = |written: &str, at: usize| {
        let (before, rest) = written.split_at(at);
        rest.strip_prefix(PREFIXES).map(|rest| format!("{before}{rest}")).filter(|rest| is_known(rest))
    };
    let written = plain(written);
    let parts = std::iter::once(0).chain(written.match_indices('/').map(|(at, _)| at + 1));
    OF_OTHER_KINDS.contains(&&*written)
        || is_known(&written)
        || parts.into_iter().any(|at| without_prefix(&written, at).is_some_and(|it| without_prefix(&it, at).is_none()))
}

impl Fault {
    /// The same fault with the amount converted, if the unit is another one of the same quantity.
    fn with_amount<Q: Quantity>(self, number: f64) -> Fault {
        let Fault::WrongUnit { unit, at, nearest, .. } = self else { return self };
        let other = alike(other_units::of(Q::KIND), &unit).map(|other| number * other.factor + other.offset);
        let converted = other.filter(|si| believable(Q::from_si(*si)).is_ok()).map(written::<Q>);
        Fault::WrongUnit { unit, at, nearest, converted }
    }
}

/// An amount as a designer would write it: in the first unit of the kind, or the next one that makes the number
/// shorter; to five figures, which is more than anyone measures.
fn written<Q: Quantity>(si: f64) -> String {
    let in_unit = |unit: &Unit| (si - unit.offset) / unit.factor;
    let handy = |unit: &&Unit| (1.0..1000.0).contains(&in_unit(unit).abs());
    let one = Unit { spelling: "", factor: 1.0, offset: 0.0 };
    let unit = Q::UNITS.iter().find(handy).or(Q::UNITS.first()).unwrap_or(&one);
    let number = in_unit(unit);
    let places = if number == 0.0 { 0 } else { 4 - number.abs().log10().floor() as i32 };
    let scale = 10f64.powi(places);
    let number = (number * scale).round() / scale;
    format!("{number} {}", unit.spelling).trim_end().to_string()
}

/// A spelling with signs that look alike made one: `m2·K/W`, `m²K/W` and `(m² K)/W` are the same.
fn plain(spelling: &str) -> String {
    spelling
        .chars()
        .filter(|c| !matches!(c, '·' | '⋅' | '*' | '.' | ' ' | '(' | ')' | '\u{a0}'))
        .map(|c| match c {
            '²' => '2',
            '³' => '3',
            'μ' => 'µ',
            'º' | '˚' => '°',
            'ℓ' | 'L' => 'l',
            other => other,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::*;

    #[test]
    fn spellings_of_one_unit_are_one() {
        let wanted = Ok(ThermalResistance::square_metre_kelvin_per_watt(0.15));
        for text in ["0.15 m²K/W", "0.15 m2K/W", "0.15 m²·K/W", "0.15 (m² K)/W", "0.15m2K/W"] {
            assert_eq!(ThermalResistance::parse(text), wanted, "{text}");
        }
        for text in ["-3 °C", "−3 °C", "-3 degC", "-3.0 C", "-3°C", "-3 ºC"] {
            assert_eq!(Temperature::parse(text), Ok(Temperature::celsius(-3.0)), "{text}");
        }
    }

    #[test]
    fn what_is_wrong_is_said() {
        assert_eq!(Length::parse("150"), Err(Fault::NoUnit));
        assert_eq!(Length::parse("mm"), Err(Fault::NoNumber));
        assert_eq!(Length::parse(""), Err(Fault::NoNumber));
        assert_eq!(Length::parse("1,5 m"), Err(Fault::DecimalComma("1.5 m".into())));
        for text in ["1e999 m", "1e308 m", "-1e300 m", "2e12 m", "1e-13 m", "1e-308 mm"] {
            assert_eq!(Length::parse(text), Err(Fault::Unbelievable), "{text}");
        }
        assert_eq!(Length::parse("0 mm"), Ok(Length::metres(0.0)));
        assert_eq!(Length::parse("nan m"), Err(Fault::NoNumber));
        assert_eq!(
            Length::parse("3 litres"),
            Err(Fault::WrongUnit { unit: "litres".into(), at: 2..8, nearest: None, converted: None })
        );
        assert_eq!(Length::parse("2e-3 m"), Ok(Length::millimetres(2.0)));
        assert_eq!(VolumeFlow::parse("2.1 L/min"), Ok(VolumeFlow::litres_per_minute(2.1)));
    }

    fn nearest<Q: Quantity>(text: &str) -> Option<&'static str> {
        let Err(Fault::WrongUnit { nearest, .. }) = Q::parse(text) else { panic!("{text}") };
        nearest
    }

    #[test]
    fn a_unit_half_typed_keeps_the_number() {
        assert_eq!(nearest::<Pressure>("25 kP"), Some("kPa"));
        assert_eq!(nearest::<Pressure>("25 KPA"), Some("kPa"));
        assert_eq!(nearest::<VolumeFlow>("2 l/m"), Some("l/min"));
        assert_eq!(nearest::<Length>("150 MM"), None);
        // A thousandth is no million.
        assert_eq!(nearest::<Pressure>("16 mpa"), None);
        assert_eq!(nearest::<Pressure>("16 mPa"), None);
        assert_eq!(nearest::<ElectricalResistance>("3 mΩ"), None);
        // A unit of another quantity is not half typed.
        assert_eq!(nearest::<Area>("15 m"), None);
        assert_eq!(nearest::<VolumeFlow>("3 l"), None);
        assert_eq!(nearest::<HeatFlux>("60 W"), None);
    }

    /// By hand: a thousand millimetres are a metre; 1 bar is 100 kPa (SI).
    #[test]
    fn an_amount_in_its_other_units_is_the_same_amount() {
        use super::in_other_units;
        assert_eq!(in_other_units("150 mm", Length::KIND), ["0.15 m", "15 cm", "150000 µm"]);
        assert!(in_other_units("2.5 bar", Pressure::KIND).contains(&"250 kPa".to_string()));
        assert_eq!(in_other_units("150", Length::KIND), [""; 0]);
        assert_eq!(in_other_units("150 mm", "a pressure"), [""; 0]);
        let of_flow = in_other_units("2 l/min", VolumeFlow::KIND);
        assert!(of_flow.contains(&"120 l/h".to_string()), "{of_flow:?}");
        assert!(!of_flow.iter().any(|it| it.ends_with("l/s")), "a thirtieth has no last figure: {of_flow:?}");
        for (kind, number) in crate::KINDS.iter().flat_map(|kind| ["12.5", "2", "0.7", "1150"].map(|it| (kind, it))) {
            for unit in kind.usual_units() {
                let text = format!("{number} {}", unit.spelling);
                for other in in_other_units(&text, kind.kind) {
                    let of =
                        |text: &str| crate::readings(text).into_iter().find(|it| it.0.kind == kind.kind).map(|it| it.1);
                    let (one, other) = (of(&text).unwrap(), of(&other).unwrap_or_else(|| panic!("{text} as {other}")));
                    assert!((one - other).abs() <= 1e-14 * one.abs(), "{text}: {one} and {other}");
                }
            }
        }
    }

    #[test]
    fn a_unit_of_anything_is_no_slip() {
        for unit in ["°F", "ml/h", "kWh", "W/m2", "gal/min", "m2K/kW", "kbar", "ft"] {
            assert_eq!(super::is_unit(unit), unit != "gal/min", "{unit}");
        }
        for slip in ["mmm", "kPaa", "kP", "l/m", "°", "barr"] {
            assert!(!super::is_unit(slip), "{slip}");
        }
    }

    fn converted<Q: Quantity>(text: &str) -> Option<String> {
        let Err(Fault::WrongUnit { converted, nearest, .. }) = Q::parse(text) else { panic!("{text}") };
        assert_eq!(nearest, None, "{text}");
        if let Some(converted) = &converted {
            assert!(Q::parse(converted).is_ok(), "{converted}");
        }
        converted
    }

    /// NIST Special Publication 811 (2008), appendix B: 1 ft = 0.3048 m, 1 ft² = 0.092903 m², 1 psi = 6.894757 kPa,
    /// 1 Btu/h = 0.2930711 W, t/°C = (t/°F − 32)/1.8, 1 mH2O = 9.80665 kPa; from memory.
    #[test]
    fn another_unit_of_the_same_quantity_is_converted() {
        for (text, wanted) in [("104 °F", "40 °C"), ("32 F", "0 °C"), ("-40 °F", "-40 °C"), ("313.15 K", "40 °C")]
        {
            assert_eq!(converted::<Temperature>(text).as_deref(), Some(wanted), "{text}");
        }
        assert_eq!(converted::<TemperatureDifference>("9 °F").as_deref(), Some("5 K"));
        assert_eq!(converted::<TemperatureDifference>("5 °C").as_deref(), Some("5 K"));
        assert_eq!(converted::<Length>("1e308 km"), None);
        assert_eq!(converted::<Area>("100 ft²").as_deref(), Some("9.2903 m²"));
        assert_eq!(converted::<Area>("100 ft2").as_deref(), Some("9.2903 m²"));
        assert_eq!(converted::<Length>("6 in").as_deref(), Some("152.4 mm"));
        assert_eq!(converted::<Length>("10 ft").as_deref(), Some("3.048 m"));
        assert_eq!(converted::<Pressure>("60 psi").as_deref(), Some("413.69 kPa"));
        assert_eq!(converted::<Pressure>("4 m").as_deref(), Some("39.227 kPa"));
        assert_eq!(converted::<Power>("5000 BTU/h").as_deref(), Some("1.4654 kW"));
        assert_eq!(converted::<VolumeFlow>("1500 ml/min").as_deref(), Some("1.5 l/min"));
        assert_eq!(converted::<FlowCoefficient>("800 l/h").as_deref(), Some("0.8 m³/h"));
        assert_eq!(converted::<FlowCoefficient>("2500 l/h").as_deref(), Some("2.5 m³/h"));
        // Of another quantity, or of two sizes.
        assert_eq!(converted::<Length>("3 l/min"), None);
        assert_eq!(converted::<Volume>("3 gal"), None);
        assert_eq!(converted::<Area>("15 m"), None);
    }

    #[test]
    fn the_two_ends_of_a_range_are_not_converted() {
        let fault = Range::<Temperature>::parse("60 to 80 °F").unwrap_err();
        assert!(matches!(fault, Fault::WrongUnit { converted: None, nearest: None, .. }), "{fault:?}");
    }

    /// A flow and a flow coefficient are written alike; the flow is the usual one.
    #[test]
    fn a_text_is_read_as_every_kind_that_it_can_be() {
        let kinds =
            |text: &str| super::readings(text).into_iter().map(|(kind, si)| (kind.kind, si)).collect::<Vec<_>>();
        assert_eq!(kinds("90 m"), [("a length", 90.0)]);
        assert_eq!(kinds("2 m³/h").first().map(|it| it.0), Some("a flow"));
        assert_eq!(kinds("2 furlongs"), []);
        assert_eq!(kinds("m"), []);
    }

    #[test]
    fn no_other_unit_is_one_that_is_read() {
        for kind in crate::KINDS {
            for other in crate::other_units::of(kind.kind) {
                assert!(super::alike(kind.units, other.spelling).is_none(), "{}: {}", kind.kind, other.spelling);
            }
        }
    }

    #[test]
    fn values_that_differ_print_apart() {
        let celsius = |one, other| apart(Temperature::celsius(one), Temperature::celsius(other));
        assert_eq!(celsius(29.04, 29.0), ("29.04 °C".into(), "29.0 °C".into()));
        assert_eq!(celsius(28.996, 29.0), ("28.996 °C".into(), "29.0 °C".into()));
        assert_eq!(celsius(29.0, 28.96), ("29.0 °C".into(), "28.96 °C".into()));
        assert_eq!(celsius(29.04, 28.96), ("29.04 °C".into(), "28.96 °C".into()));
        assert_eq!(celsius(31.7, 29.0), ("31.7 °C".into(), "29.0 °C".into()));
        assert_eq!(celsius(29.0, 29.0), ("29.0 °C".into(), "29.0 °C".into()));
        let speed = apart(Velocity::metres_per_second(0.1497), Velocity::metres_per_second(0.15));
        assert_eq!(speed, ("0.1497 m/s".into(), "0.15 m/s".into()));
    }

    /// Whatever the kind, its unit is found again in its own print.
    #[test]
    fn every_kind_prints_apart() {
        #[track_caller]
        fn of<Q: Quantity>(si: f64) {
            let (one, other) = apart(Q::from_si(si), Q::from_si(si * (1.0 + 1e-6)));
            assert_ne!(one, other);
        }
        of::<Length>(0.03);
        of::<Length>(12.0);
        of::<Area>(12.0);
        of::<Volume>(0.012);
        of::<Duration>(86400.0);
        of::<Duration>(3.0 * 86400.0);
        of::<Duration>(1800.0);
        of::<TemperatureDifference>(5.0);
        of::<Power>(700.0);
        of::<Power>(12_000.0);
        of::<HeatFlux>(100.0);
        of::<Conductivity>(1.2);
        of::<ThermalResistance>(0.15);
        of::<Transmittance>(0.18);
        of::<MassFlow>(0.03);
        of::<VolumeFlow>(3e-5);
        of::<Velocity>(0.15);
        of::<Pressure>(20_000.0);
        of::<Pressure>(3e5);
        of::<ArealMass>(25.0);
        of::<FlowCoefficient>(1.1);
        of::<Share>(0.1);
        of::<AirChangeRate>(0.5 / 3600.0);
        of::<SpecificVolume>(6e-6);
        of::<Number>(2300.0);
        of::<Voltage>(230.0);
        of::<Current>(0.03);
        of::<ElectricalResistance>(1e6);
        of::<Angle>(12.0);
    }

    #[test]
    fn no_message_is_full_of_digits() {
        assert_eq!(Power::watts(1e308).to_string(), "1.00e308 W");
        assert_eq!(TemperatureDifference::kelvin(-1e300).to_string(), "-1.00e300 K");
        assert_eq!(Temperature::celsius(1e300).to_string(), "1.00e300 °C");
        assert_eq!(ElectricalResistance::from_si(1e9).to_string(), "1000 MΩ");
    }

    #[test]
    fn what_is_written_reads_back() {
        for text in ["118.4 m", "150 mm", "12 mm"] {
            assert_eq!(Length::parse(text).unwrap().to_string(), text);
        }
        assert_eq!(Temperature::parse("29.3 °C").unwrap().to_string(), "29.3 °C");
        assert_eq!(Pressure::parse("25 kPa").unwrap().to_string(), "25.0 kPa");
        assert_eq!(Power::parse("1.45 kW").unwrap().to_string(), "1450 W");
    }
}
