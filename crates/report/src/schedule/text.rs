//! The schedule for people.

use super::{CoilCut, Ports, Row, Schedule, TooLong, setting, whole_millimetres};
use crate::summary::Summary;
use crate::words::{sentence, wrapped};
use check::Outcome;
use std::fmt::Display;

const HEAD: [&str; 16] = [
    "port",
    "loop",
    "room",
    "pipe",
    "spacing",
    "laid",
    "length",
    "designed",
    "insulated",
    "flow",
    "presetting",
    "as set",
    "pressure drop",
    "flow temp.",
    "return",
    "output",
];
/// How many of the columns are words, written from the left.
const WORDS: std::ops::Range<usize> = 1..4;

/// The loops of each manifold as a table, the coils they are cut from, and what could not be worked out.
pub fn text(outcome: &Outcome) -> String {
    let schedule = Schedule::of(outcome);
    let mut text = title(outcome);
    if schedule.manifolds.is_empty() && schedule.unjoined.is_empty() {
        text += "no loop\n";
    }
    for manifold in &schedule.manifolds {
        text += &format!("\n{}\n{}", heading(manifold), table(&manifold.rows));
    }
    if !schedule.unjoined.is_empty() {
        text += &format!("\nJoined to no manifold\n{}", table(&schedule.unjoined));
    }
    if schedule.has_worked_out_settings() {
        text += "\n* worked out: the setting at which the loop gets the flow that it needs, or the nearest of the valve's table\n";
    }
    if schedule.manifolds.iter().any(|it| it.head_is_upper_end) {
        text += "\nup to: water between laminar and turbulent may take less; the pump is held against the upper end\n";
    }
    let rows = || schedule.manifolds.iter().flat_map(|it| &it.rows).chain(&schedule.unjoined);
    if rows().any(|row| row.flow_as_set.is_some()) {
        text += "\nas set: the flow that the loop gets with all valves so, every loop open\n";
    }
    if rows().any(|row| row.spacing_laid.is_some()) {
        text += "\nlaid: the spacing with which the runs fit the floor; the length is of that, the heat of the stated one\n";
    }
    if rows().any(|row| row.length_designed.is_some()) {
        text += "\ndesigned: the length by the design, where the records have another as laid; all else is worked out from the design\n";
    }
    if rows().any(|row| row.tails_assumed) {
        text += "\n** tails not laid out: their length is assumed\n";
    }
    if rows().any(|row| row.insulated_tails.is_some()) {
        text += "\ninsulated: how much of its tails, from the manifold on\n";
    }
    if !schedule.coils.is_empty() || !schedule.too_long.is_empty() {
        text += "\nCoils, with what is lost in cutting (3 %, and 2 m at least)\n";
        text.extend(schedule.coils.iter().map(coil));
        text.extend(schedule.too_long.iter().map(too_long));
    }
    if !schedule.missing.is_empty() {
        text += "\nNot worked out, and what is missing\n";
        for (name, wants) in &schedule.missing {
            text += &format!("  {}: {}\n", sentence(name), sentence(wants));
        }
    }
    let mut summary = Summary::of(outcome);
    summary.not_checked = 0;
    text + &format!("\nCheck of this design: {}\n\n{}", summary.sentence(), wrapped(crate::CAUTION, 100))
}

fn title(outcome: &Outcome) -> String {
    let project = &outcome.design.project;
    let word = |given: &design::Given<String>| given.as_ref().map(|it| sentence(&it.value).into_owned());
    let words = [
        word(&project.name),
        word(&project.reference),
        word(&project.revision).map(|revision| format!("revision {revision}")),
        Some(outcome.design.stage().word().to_string()),
        project.issued.map(|issued| issued.value.to_string()),
    ];
    let words: Vec<String> = words.into_iter().flatten().collect();
    format!("Loop schedule: {}\n", words.join(", "))
}

fn heading(manifold: &Ports) -> String {
    let mut heading = format!("Manifold {}", sentence(manifold.name));
    if let Some(storey) = manifold.storey {
        heading += &format!(" ({})", sentence(storey));
    }
    let figures = manifold.figures();
    if figures.is_empty() { heading } else { format!("{heading}: {}", figures.join(", ")) }
}

fn table(rows: &[Row]) -> String {
    let mut cells: Vec<[String; HEAD.len()]> = vec![HEAD.map(String::from)];
    cells.extend(rows.iter().map(row));
    // Nobody wants an empty column.
    let is_set = rows.iter().any(|row| row.flow_as_set.is_some());
    let is_closer = rows.iter().any(|row| row.spacing_laid.is_some());
    let is_other = rows.iter().any(|row| row.length_designed.is_some());
    let is_insulated = rows.iter().any(|row| row.insulated_tails.is_some());
    let columns = || {
        (0..HEAD.len()).filter(|column| match HEAD[*column] {
            "as set" => is_set,
            "laid" => is_closer,
            "designed" => is_other,
            "insulated" => is_insulated,
            _ => true,
        })
    };
    let width = |column: usize| cells.iter().map(|row| row[column].chars().count()).max().unwrap_or_default();
    let widths: Vec<usize> = (0..HEAD.len()).map(width).collect();
    let mut table = String::new();
    for row in &cells {
        let mut line = String::new();
        for column in columns() {
            let (cell, width) = (&row[column], widths[column]);
            line += "  ";
            line += &match WORDS.contains(&column) {
                true => format!("{cell:<width$}"),
                false => format!("{cell:>width$}"),
            };
        }
        table += line.trim_end();
        table.push('\n');
    }
    table
}

fn row(row: &Row) -> [String; HEAD.len()] {
    let word = |word: Option<&str>| word.map_or("-".into(), |word| sentence(word).into_owned());
    fn value(value: Option<impl Display>) -> String {
        value.map_or("-".into(), |value| value.to_string())
    }
    let rooms = if row.rooms.is_empty() { None } else { Some(row.rooms.join(", ")) };
    [
        value(row.port),
        word(Some(row.name)),
        word(rooms.as_deref()),
        word(row.pipe),
        value(row.spacing),
        value(row.spacing_laid.map(whole_millimetres)),
        if row.tails_assumed { format!("{} **", value(row.length)) } else { value(row.length) },
        value(row.length_designed),
        value(row.insulated_tails),
        value(row.flow),
        row.presetting.as_ref().map_or("-".into(), setting),
        value(row.flow_as_set),
        value(row.pressure_drop),
        value(row.flow_temperature),
        value(row.return_temperature),
        value(row.output),
    ]
}

fn coil(coil: &CoilCut) -> String {
    let pieces: Vec<String> = coil.pieces.iter().map(|(name, length)| format!("{} {length}", sentence(name))).collect();
    format!("  {} of {}: {}; {} left\n", coil.size, sentence(coil.pipe), pieces.join(", "), coil.left)
}

fn too_long(it: &TooLong) -> String {
    let (name, pipe) = (sentence(it.name), sentence(it.pipe));
    format!("  no coil of {pipe} holds {name} {}; {} is the longest\n", it.length, it.longest)
}
