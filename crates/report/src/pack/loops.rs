//! The loop schedule: what is laid and set at each manifold, and the coils that the loops are cut from.

use super::Issue;
use super::sheet::{Sheet, Table, or_dash};
use crate::schedule::{Ports, Row, Schedule, setting, whole_millimetres};

/// The schedule, if there is a loop.
pub fn sheet(issue: &Issue) -> Option<Sheet> {
    let outcome = issue.outcome;
    if outcome.design.loops.is_empty() {
        return None;
    }
    let schedule = Schedule::of(outcome);
    let mut sheet = Sheet::new("loops", "Loop schedule");
    sheet.is_wide = true;
    for manifold in &schedule.manifolds {
        sheet.heading(match manifold.storey {
            Some(storey) => format!("Manifold {}, storey {storey}", manifold.name),
            None => format!("Manifold {}", manifold.name),
        });
        sheet.words(head(manifold));
        sheet.table(table(&manifold.rows));
    }
    if !schedule.unjoined.is_empty() {
        sheet.heading("Joined to no manifold");
        sheet.table(table(&schedule.unjoined));
    }
    for note in notes(&schedule) {
        sheet.words(note);
    }
    // What is laid is cut.
    if !issue.is_as_built() && (!schedule.coils.is_empty() || !schedule.too_long.is_empty()) {
        sheet.heading("Coils");
        sheet.words("Lengths with what is lost in cutting: 3 %, and 2 m at least.");
        let mut coils = Table::new(["*pipe", "#coil", "loops cut from it", "#left"]);
        for coil in &schedule.coils {
            let pieces: Vec<String> = coil.pieces.iter().map(|(name, length)| format!("{name} {length}")).collect();
            coils.row([coil.pipe.to_string(), coil.size.to_string(), pieces.join(", "), coil.left.to_string()]);
        }
        for it in &schedule.too_long {
            let says = format!("no coil holds {} {}; {} is the longest", it.name, it.length, it.longest);
            coils.row([it.pipe, "–", &says, "–"]);
        }
        sheet.table(coils);
    }
    if !schedule.missing.is_empty() {
        sheet.heading("Not worked out");
        let mut missing = Table::new(["*figure", "what is missing"]);
        for (name, wants) in &schedule.missing {
            missing.row([name, wants]);
        }
        sheet.table(missing);
    }
    Some(sheet)
}

fn head(manifold: &Ports) -> String {
    let figures = manifold.figures();
    if figures.is_empty() {
        "Its flow and pressure drop are not worked out.".into()
    } else {
        format!("{}.", figures.join(", "))
    }
}

fn table(rows: &[Row]) -> Table {
    let mut table = Table::new([
        "#port",
        "*loop",
        "room",
        "pipe",
        "#spacing",
        "#spacing laid",
        "#length",
        "#length designed",
        "#insulated tails",
        "#flow",
        "#presetting",
        "#flow as set",
        "#pressure drop",
        "#flow temp.",
        "#return temp.",
        "#output",
    ]);
    for row in rows {
        let length = or_dash(row.length);
        table.row([
            or_dash(row.port),
            row.name.to_string(),
            if row.rooms.is_empty() { "–".into() } else { row.rooms.join(", ") },
            or_dash(row.pipe),
            or_dash(row.spacing),
            or_dash(row.spacing_laid.map(whole_millimetres)),
            if row.tails_assumed { format!("{length} **") } else { length },
            or_dash(row.length_designed),
            or_dash(row.insulated_tails),
            or_dash(row.flow),
            or_dash(row.presetting.as_ref().map(setting)),
            or_dash(row.flow_as_set),
            or_dash(row.pressure_drop),
            or_dash(row.flow_temperature),
            or_dash(row.return_temperature),
            or_dash(row.output),
        ]);
    }
    table.without_empty_columns()
}

/// What the marks in the tables mean, as far as they stand there.
fn notes(schedule: &Schedule) -> Vec<&'static str> {
    let rows = || schedule.manifolds.iter().flat_map(|it| &it.rows).chain(&schedule.unjoined);
    let notes = [
        (
            schedule.has_worked_out_settings(),
            "* worked out: the setting at which the loop gets the flow that it needs, or the nearest of the valve's table.",
        ),
        (
            schedule.manifolds.iter().any(|it| it.head_is_upper_end),
            "up to: water between laminar and turbulent may take less; the pump is held against the upper end.",
        ),
        (
            rows().any(|row| row.flow_as_set.is_some()),
            "flow as set: what the loop gets with all valves so, every loop open.",
        ),
        (
            rows().any(|row| row.spacing_laid.is_some()),
            "spacing laid: with that the runs fit the floor; the length is of that, the output of the stated one.",
        ),
        (
            rows().any(|row| row.length_designed.is_some()),
            "length: as laid, where the records have the route. Flows, pressure drops, temperatures and outputs are worked out from the \
             length designed.",
        ),
        (
            rows().any(|row| row.insulated_tails.is_some()),
            "insulated tails: so much is to be insulated, from the manifold on.",
        ),
        (rows().any(|row| row.tails_assumed), "** tails not laid out: their length is assumed."),
    ];
    notes.into_iter().filter(|(is_so, _)| *is_so).map(|(_, says)| says).collect()
}
