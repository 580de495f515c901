//! What the owner gets of a design as built: a notice not to drill, what was tested and set, and how the floor is used.

use super::Issue;
use super::sheet::{Part, Sheet, Table, or_dash, yes_or_no};
use super::site::pump;
use crate::schedule::{Schedule, as_laid as as_laid_length, setting};
use design::{Fluid, Given, List, MoistureMethod, Ref, Room, TestMedium};
use quantity::Temperature;
use std::collections::HashMap;
use workings::ValueOf;

/// The notice for the manifold.
pub fn notice(issue: &Issue) -> Sheet {
    let design = &issue.outcome.design;
    let mut sheet = Sheet::new("do-not-drill", "Do not drill");
    let what = match (design.loops.is_empty(), design.electric_mats.is_empty()) {
        (false, true) => "Heating pipes in this floor.",
        (true, false) => "Heating cables in this floor.",
        _ => "Heating pipes and cables in this floor.",
    };
    let mut says = vec![
        what.to_string(),
        "Do not drill, nail or screw into it.".to_string(),
        "Plan and photographs are with this notice. A drawn route is where the pipe was meant to go, photographs and measured \
         sketches are where it went, and even those can be 50 mm out."
            .to_string(),
        "Where a hole cannot be avoided, find what lies there first, with a thermal camera or the photographs.".to_string(),
    ];
    if !design.loops.is_empty() {
        says.push("If a pipe is hit: shut both valves of its loop at the manifold, switch the pump off, leave the screw where it is.".into());
    }
    if !design.electric_mats.is_empty() {
        says.push(
            "If a cable is hit: switch its circuit off, keep it off, and leave the rest to an electrician.".into(),
        );
    }
    let rooms: Vec<&str> = design
        .rooms
        .iter()
        .zip(&issue.outcome.workings.rooms)
        .filter(|(_, it)| !it.loops.is_empty() || it.heat_in_passing.is_some())
        .map(|((name, _), _)| name)
        .collect();
    if !rooms.is_empty() {
        says.push(format!("Rooms: {}.", rooms.join(", ")));
    }
    let manifolds = design.manifolds.iter().map(|(name, entry)| match &entry.value.storey {
        Some(storey) => format!("{name} (storey {})", storey.value.name),
        None => name.to_string(),
    });
    let manifolds: Vec<String> = manifolds.collect();
    if !manifolds.is_empty() {
        says.push(format!("Manifolds: {}.", manifolds.join(", ")));
    }
    sheet.parts.push(Part::Notice("DO NOT DRILL".into(), says));
    sheet
}

/// The records of what was done, and what the owner has to know.
pub fn sheet(issue: &Issue) -> Sheet {
    let mut sheet = Sheet::new("handover", "Records and use");
    use_of_floor(issue, &mut sheet);
    tests(issue, &mut sheet);
    photographs(issue, &mut sheet);
    screed(issue, &mut sheet);
    settings(issue, &mut sheet);
    water(issue, &mut sheet);
    electric(issue, &mut sheet);
    as_laid(issue, &mut sheet);
    handed_over(issue, &mut sheet);
    sheet
}

fn day(given: Given<jiff::civil::Date>) -> String {
    or_dash(given.map(|it| it.value))
}

fn rooms(named: &List<Ref<Room>>) -> String {
    let names: Vec<&str> = named.iter().map(|it| it.value.name.as_str()).collect();
    if names.is_empty() { "all".into() } else { names.join(", ") }
}

/// What the floor bears, and how it behaves.
fn use_of_floor(issue: &Issue, sheet: &mut Sheet) {
    let (design, worked) = (&issue.outcome.design, &issue.outcome.workings);
    sheet.heading("Use of the floor");
    let mut table = Table::new([
        "*room",
        "#designed for",
        "#warmest water",
        "#surface, mean",
        "#resistance of coverings",
        "rugs",
        "floor sensor stops at",
    ]);
    let mut stops: HashMap<&str, Temperature> = HashMap::new();
    for zone in design.controls.zones.values() {
        let limit = zone.floor_sensor.as_ref().and_then(|it| it.limit).map(|it| it.value);
        stops.extend(zone.rooms.iter().filter_map(|room| Some((&*room.value.name, limit?))));
    }
    for (at, (name, entry)) in design.rooms.iter().enumerate() {
        let room = &worked.rooms[at];
        if room.loops.is_empty() {
            continue;
        }
        let of_loops = room.loops.iter().filter_map(|at| worked.loops[*at].flow_temperature.value().ok());
        let warmest = of_loops.max_by(|one, other| one.in_celsius().total_cmp(&other.in_celsius()));

        table.row([
            name.to_string(),
            or_dash(entry.value.temperature.map(|it| it.value)),
            or_dash(warmest),
            or_dash(room.surface_temperature_mean.value().ok()),
            or_dash(room.covering_resistance.value().ok()),
            or_dash(entry.value.rugs.as_ref().map(|it| &it.value)),
            or_dash(stops.get(name)),
        ]);
    }
    sheet.table(table.without_empty_columns());
    sheet.caution(
        "Rugs, beanbags, dog beds and mattresses hold heat in: below them the floor becomes warmer than anywhere else. A person who \
         cannot feel or move, the very old and the very young want a cooler floor: take advice.",
    );
    sheet.words(
        "Another covering than the one designed for changes heat and surface temperature: have it worked out first, and mind the \
         limit of its maker. Nothing is screwed or nailed to the floor. A heated floor answers slowly; a set-back of a few hours saves \
         little. No setting of the limit thermostat is changed without the designer.",
    );
}

fn tests(issue: &Issue, sheet: &mut Sheet) {
    let records = &issue.outcome.design.records;
    sheet.heading("Pressure tests");
    let mut table = Table::new(["*date", "of", "medium", "#settled", "#held for", "#at the end", "#fall"]);
    for test in &records.pressure_tests {
        let manifolds = test.manifolds.iter().map(|it| it.value.name.as_str());
        let of: Vec<&str> = manifolds.chain(test.loops.iter().map(|it| it.value.name.as_str())).collect();
        let fall = test.pressure.zip(test.end_pressure).map(|(before, after)| before.value - after.value);
        table.row([
            day(test.date),
            if of.is_empty() { "all loops".into() } else { of.join(", ") },
            test.medium.map_or(TestMedium::Water, |it| it.value).to_string(),
            or_dash(test.pressure.map(|it| it.value)),
            or_dash(test.duration.map(|it| it.value)),
            or_dash(test.end_pressure.map(|it| it.value)),
            or_dash(fall.map(|fall| format!("{:.2} bar", fall.in_bar()))),
        ]);
    }
    told(sheet, table, "No pressure test is recorded.");
    let while_covering = records.pressure_while_covering.as_ref();
    sheet.table(Table::of_facts([
        ("pipe first covered", day(records.pipe_covered)),
        ("pressure before covering", or_dash(while_covering.and_then(|it| it.before).map(|it| it.value))),
        ("pressure after covering", or_dash(while_covering.and_then(|it| it.after).map(|it| it.value))),
        ("coldest on site while filled", or_dash(records.lowest_site_temperature.map(|it| it.value))),
    ]));
}

/// Adds a table, or says that nothing is recorded.
fn told(sheet: &mut Sheet, table: Table, without: &str) {
    if table.rows.is_empty() {
        sheet.words(without);
    } else {
        sheet.table(table.without_empty_columns());
    }
}

fn photographs(issue: &Issue, sheet: &mut Sheet) {
    sheet.heading("Photographs before covering");
    let mut table =
        Table::new(["*taken", "rooms", "#of each room", "tape in view", "manifold with labels", "before covering"]);
    for it in &issue.outcome.design.records.photographs {
        table.row([
            day(it.taken),
            rooms(&it.rooms),
            or_dash(it.of_each_room.map(|it| it.value)),
            yes_or_no(it.with_tape.map(|it| it.value)),
            yes_or_no(it.manifold_labels.map(|it| it.value)),
            yes_or_no(it.before_covering.map(|it| it.value)),
        ]);
    }
    told(sheet, table, "No photographs are recorded.");
}

/// Screed, first heating, moisture, covering.
fn screed(issue: &Issue, sheet: &mut Sheet) {
    let records = &issue.outcome.design.records;
    if !records.screeds.is_empty() {
        sheet.heading("Screed");
        let mut table = Table::new([
            "*laid",
            "rooms",
            "screed",
            "#coldest, with three days after",
            "additive",
            "#air entrained",
            "#days before heat",
        ]);
        for it in &records.screeds {
            table.row([
                day(it.laid),
                rooms(&it.rooms),
                or_dash(it.screed.map(|it| it.value)),
                or_dash(it.lowest_temperature.map(|it| it.value)),
                or_dash(it.additive.as_ref().map(|it| &it.value)),
                or_dash(it.entrained_air.map(|it| it.value)),
                or_dash(it.days_before_heat.map(|it| it.value)),
            ]);
        }
        sheet.table(table.without_empty_columns());
    }
    sheet.heading("First heating");
    sheet.words(match records.first_heat {
        Some(day) => format!("First heated on {}.", day.value),
        None => "The day of the first heat is not recorded.".into(),
    });
    let mut table = Table::new(["*date", "#flow temperature"]);
    for it in &records.heating_log {
        table.row([day(it.date), or_dash(it.flow_temperature.map(|it| it.value))]);
    }
    told(sheet, table, "No log of the first heating is recorded.");
    if !records.moisture.is_empty() {
        sheet.heading("Residual moisture");
        let mut table = Table::new(["*date", "rooms", "method", "#measured"]);
        for it in &records.moisture {
            table.row([
                day(it.date),
                rooms(&it.rooms),
                it.method.map_or(MoistureMethod::Carbide, |it| it.value).to_string(),
                or_dash(it.moisture.map(|it| it.value)),
            ]);
        }
        sheet.table(table);
    }
    if !records.coverings_laid.is_empty() {
        sheet.heading("Coverings laid");
        let mut table = Table::new(["*date", "rooms", "heating on while the adhesive set"]);
        for it in &records.coverings_laid {
            table.row([day(it.date), rooms(&it.rooms), yes_or_no(it.heating_on.map(|it| it.value))]);
        }
        sheet.table(table);
    }
}

/// How the valves were set and what flowed.
fn settings(issue: &Issue, sheet: &mut Sheet) {
    let records = &issue.outcome.design.records;
    let schedule = Schedule::of(issue.outcome);
    for manifold in &schedule.manifolds {
        sheet.heading(format!("Manifold {} as it was set", manifold.name));
        let mut table = Table::new([
            "#port",
            "*loop",
            "rooms",
            "#presetting designed",
            "#flow designed",
            "#flow set",
            "#difference",
        ]);
        for row in &manifold.rows {
            let set = records.set_flows.get(row.name).map(|it| it.0);
            let off = row.flow.zip(set).filter(|(wanted, _)| wanted.in_litres_per_minute() > 0.0);
            table.row([
                or_dash(row.port),
                row.name.to_string(),
                row.rooms.join(", "),
                or_dash(row.presetting.as_ref().map(setting)),
                or_dash(row.flow),
                set.map_or("not recorded".to_string(), |it| it.to_string()),
                or_dash(off.map(|(wanted, set)| format!("{:+.0} %", (set / wanted - 1.0) * 100.0))),
            ]);
        }
        sheet.table(table);
        // No record says what it was set to.
        sheet.words(format!("Pump by the design: {}.", pump(manifold)));
    }
    if schedule.has_worked_out_settings() {
        sheet.words("A star marks a setting that was worked out and not stated.");
    }
}

fn water(issue: &Issue, sheet: &mut Sheet) {
    let design = &issue.outcome.design;
    if design.loops.is_empty() {
        return;
    }
    let treatment = design.records.water_treatment.as_ref();
    let text = |given: Option<&Given<String>>| or_dash(given.and_then(|it| it.as_ref()).map(|it| &it.value));
    sheet.heading("Water");
    sheet.table(Table::of_facts([
        ("in the circuit", design.water.fluid.map_or(Fluid::Water, |it| it.value).to_string()),
        ("content of the loops", or_dash(issue.outcome.workings.water.loop_content.value().ok())),
        ("flushed", treatment.map_or("–".into(), |it| day(it.flushed))),
        ("inhibitor", text(treatment.map(|it| &it.inhibitor))),
        ("biocide", text(treatment.map(|it| &it.biocide))),
        ("filter", yes_or_no(treatment.and_then(|it| it.filter).map(|it| it.value))),
        ("working pressure", or_dash(design.water.working_pressure.map(|it| it.value))),
        ("safety valve opens at", or_dash(design.safety.safety_valve.map(|it| it.value))),
        (
            "limit thermostat, set to",
            or_dash(design.safety.limit_thermostat.as_ref().and_then(|it| it.setting).map(|it| it.value)),
        ),
    ]));
}

fn electric(issue: &Issue, sheet: &mut Sheet) {
    let design = &issue.outcome.design;
    if design.electric_mats.is_empty() {
        return;
    }
    sheet.heading("Electric mats");
    let mut table = Table::new(["*mat", "room", "#label resistance", "reading", "#cable", "#insulation"]);
    for (name, entry) in design.electric_mats.iter() {
        let given = &entry.value;
        let room = or_dash(given.room.as_ref().map(|it| &it.value.name));
        let label = or_dash(given.label_resistance.map(|it| it.value));
        if given.readings.is_empty() {
            table.row([name, &room, &label, "none recorded", "–", "–"]);
        }
        for reading in &given.readings {
            table.row([
                name.to_string(),
                room.clone(),
                label.clone(),
                or_dash(reading.stage.map(|it| it.value)),
                or_dash(reading.resistance.map(|it| it.value)),
                or_dash(reading.insulation.map(|it| it.value)),
            ]);
        }
    }
    sheet.table(table);
}

/// What was measured of the pipe as it lies, and repairs.
fn as_laid(issue: &Issue, sheet: &mut Sheet) {
    let (design, worked) = (&issue.outcome.design, &issue.outcome.workings);
    let records = &design.records;
    sheet.heading("As laid");
    let as_built = records.as_built.as_ref();
    sheet.table(Table::of_facts([
        ("measured", as_built.map_or("not recorded".into(), |it| day(it.date))),
        ("dimensioned to walls", yes_or_no(as_built.and_then(|it| it.dimensioned).map(|it| it.value))),
        ("signed by", or_dash(as_built.and_then(|it| it.signed_by.as_ref()).map(|it| &it.value))),
    ]));
    let mut table = Table::new(["*loop", "#length designed", "#length as laid"]);
    for at in worked.plan.as_laid.keys() {
        let (Some((name, _)), Some(it)) = (design.loops.at(*at), worked.loops.get(*at)) else { continue };
        table.row([name.to_string(), or_dash(it.length.value().ok()), or_dash(as_laid_length(issue.outcome, *at))]);
    }
    if table.rows.is_empty() {
        sheet.words("No loop is recorded as laid otherwise than designed; the plan shows the design.");
    } else {
        sheet.table(table);
    }
    if !records.repairs.is_empty() {
        sheet.subheading("Repairs under the floor");
        let mut table =
            Table::new(["*loop", "where, in metres of the plan", "tested again", "protected", "on the plan"]);
        for it in &records.repairs {
            table.row([
                or_dash(it.of_loop.as_ref().map(|it| &it.value.name)),
                or_dash(it.value.at.map(|at| format!("({}, {})", at.value.x, at.value.y))),
                day(it.tested_again),
                yes_or_no(it.protected.map(|it| it.value)),
                yes_or_no(it.on_plan.map(|it| it.value)),
            ]);
        }
        sheet.table(table);
    }
}

fn handed_over(issue: &Issue, sheet: &mut Sheet) {
    sheet.heading("Handed over");
    let Some(it) = issue.outcome.design.records.handover.as_ref() else {
        sheet.words("Nothing is recorded as handed over.");
        return;
    };
    sheet.table(Table::of_facts(
        [
            ("plan of what was laid", it.plan),
            ("photographs", it.photographs),
            ("record of the pressure test", it.pressure_test),
            ("log of the first heating", it.heating_log),
            ("flows as set", it.set_flows),
            ("guide to the controls", it.controls_guide),
            ("limits for coverings and rugs", it.covering_limits),
            ("notice at the manifold not to drill", it.drill_notice),
        ]
        .map(|(what, given)| (what, yes_or_no(given.map(|it| it.value)))),
    ));
}
