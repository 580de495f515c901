//! The schedule as comma-separated values (RFC 4180), one line a loop, for spreadsheets.

use super::{CoilCut, Row, Schedule};
use crate::words::printable;
use check::Outcome;

const HEAD: [&str; 24] = [
    "manifold",
    "port",
    "loop",
    "rooms",
    "pipe",
    "spacing mm",
    "length m",
    "length to cut m",
    "tails assumed",
    "flow l/min",
    "presetting turns",
    "presetting Kv m³/h",
    "presetting stated",
    "flow as set l/min",
    "pressure drop kPa",
    "flow temperature °C",
    "return temperature °C",
    "output W",
    "cut from coil",
    "coil m",
    "left of coil m",
    "length as designed m",
    "spacing as laid mm",
    "insulated tails m",
];

/// A line of heads with their units, then one line for each loop.
pub fn csv(outcome: &Outcome) -> String {
    let schedule = Schedule::of(outcome);
    let mut text = line(HEAD.map(String::from));
    for manifold in &schedule.manifolds {
        text.extend(manifold.rows.iter().map(|row| line(cells(manifold.name, row, &schedule.coils))));
    }
    text.extend(schedule.unjoined.iter().map(|row| line(cells("", row, &schedule.coils))));
    text
}

fn cells(manifold: &str, row: &Row, coils: &[CoilCut]) -> [String; HEAD.len()] {
    let number = |value: Option<f64>, digits: usize| value.map_or(String::new(), |value| format!("{value:.digits$}"));
    let set = row.presetting.as_ref();
    // Coils are counted from 1, those of all pipes together.
    let coil = coils.iter().enumerate().find(|(_, coil)| coil.pieces.iter().any(|(name, _)| *name == row.name));
    [
        manifold.to_string(),
        row.port.map_or(String::new(), |port| port.to_string()),
        row.name.to_string(),
        row.rooms.join("; "),
        row.pipe.unwrap_or_default().to_string(),
        number(row.spacing.map(|it| it.in_millimetres()), 0),
        number(row.length.map(|it| it.in_metres()), 1),
        number(row.length_to_cut.map(|it| it.in_metres()), 1),
        if row.tails_assumed { "yes" } else { "no" }.to_string(),
        number(row.flow.map(|it| it.in_litres_per_minute()), 2),
        number(set.and_then(|set| set.turns), 2),
        number(set.and_then(|set| set.kv).map(|kv| kv.in_cubic_metres_per_hour()), 3),
        set.map_or(String::new(), |set| if set.stated { "yes" } else { "no" }.to_string()),
        number(row.flow_as_set.map(|it| it.in_litres_per_minute()), 2),
        number(row.pressure_drop.map(|it| it.in_kilopascals()), 2),
        number(row.flow_temperature.map(|it| it.in_celsius()), 1),
        number(row.return_temperature.map(|it| it.in_celsius()), 1),
        number(row.output.map(|it| it.in_watts()), 0),
        coil.map_or(String::new(), |(at, _)| (at + 1).to_string()),
        number(coil.map(|(_, coil)| coil.size.in_metres()), 1),
        number(coil.map(|(_, coil)| coil.left.in_metres()), 1),
        number(row.length_designed.or(row.length).map(|it| it.in_metres()), 1),
        number(row.spacing_laid.or(row.spacing).map(|it| it.in_millimetres()), 0),
        number(row.insulated_tails.map(|it| it.in_metres()), 1),
    ]
}

fn line<const N: usize>(cells: [String; N]) -> String {
    let mut line = cells.map(|cell| quoted(&cell)).join(",");
    line.push_str("\r\n");
    line
}

/// A cell as RFC 4180 asks, what could steer a terminal made visible. One that a spreadsheet would take for a formula is kept
/// from being run; so is one behind the sign that parts the cells of half of Europe.
fn quoted(cell: &str) -> String {
    let cell = printable(cell);
    let first = cell.trim_start().chars().next();
    let runs = matches!(first, Some('=' | '+' | '@' | '＝' | '＋' | '－' | '＠'))
        || cell.starts_with('\t')
        || first == Some('-') && cell.parse::<f64>().is_err();
    let cell = if runs { format!("'{cell}") } else { cell.into_owned() };
    if cell.contains([',', ';', '"', '\t']) { format!("\"{}\"", cell.replace('"', "\"\"")) } else { cell }
}

#[cfg(test)]
mod tests {
    use super::quoted;

    #[test]
    fn cells_are_quoted_where_they_must_be() {
        for (cell, written) in [
            ("hall", "hall"),
            ("hall, north", "\"hall, north\""),
            ("12\" pipe", "\"12\"\" pipe\""),
            ("=1+1", "'=1+1"),
            ("-3.5", "-3.5"),
            ("-hall", "'-hall"),
            (" =1+1", "' =1+1"),
            ("hall; =1+1", "\"hall; =1+1\""),
            ("hall\x1b[31m", "hall␛[31m"),
            ("hall\r\nroom", "hall␍␊room"),
        ] {
            assert_eq!(quoted(cell), written);
        }
    }
}
