//! Reading a number with its unit, and saying what is wrong when there is none.

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
        let unit = unit::<Self>(text, unit_span)?;
        Ok(Self::from_si(number * unit.factor + unit.offset))
    }
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
    /// The number is not finite.
    NotFinite,
    /// A bare number: the unit is missing.
    NoUnit,
    /// A unit that this kind does not have, and the nearest one that it does.
    WrongUnit { unit: String, at: Span<usize>, nearest: Option<&'static str> },
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
        return Err(Fault::NotFinite);
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
    let plain = plain(written);
    if let Some(unit) = Q::UNITS.iter().find(|unit| self::plain(unit.spelling) == plain) {
        return Ok(unit);
    }
    let nearest = Q::UNITS
        .iter()
        .filter(|unit| unit.spelling.eq_ignore_ascii_case(written) || unit.spelling.starts_with(written))
        .map(|unit| unit.spelling)
        .next();
    Err(Fault::WrongUnit { unit: written.to_string(), at: span, nearest })
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
        assert_eq!(Length::parse("1e999 m"), Err(Fault::NotFinite));
        assert_eq!(Length::parse("nan m"), Err(Fault::NoNumber));
        assert_eq!(Length::parse("3 litres"), Err(Fault::WrongUnit { unit: "litres".into(), at: 2..8, nearest: None }));
        assert_eq!(Length::parse("2e-3 m"), Ok(Length::millimetres(2.0)));
        assert_eq!(VolumeFlow::parse("2.1 L/min"), Ok(VolumeFlow::litres_per_minute(2.1)));
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
