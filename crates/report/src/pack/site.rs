//! The sheet for the site: the pressure test, what to photograph before covering, how the valves are set, the first heating.

use super::Issue;
use super::floors::before_heat;
use super::sheet::{Sheet, Table, or_dash, yes_or_no};
use crate::schedule::{Ports, Schedule, SetFor, setting};
use check::screed_of_floor;
use design::{Fluid, Screed};
use quantity::{Duration, Pressure, Quantity, Share, Temperature, TemperatureDifference};
use std::collections::BTreeSet;
use workings::{Crossed, ValueOf};

pub fn sheet(issue: &Issue) -> Sheet {
    let mut sheet = Sheet::new("site", "Site sheet");
    if !issue.outcome.design.loops.is_empty() {
        pressure_test(issue, &mut sheet);
    }
    photographs(issue, &mut sheet);
    if !issue.outcome.design.loops.is_empty() {
        filling(issue, &mut sheet);
        presettings(issue, &mut sheet);
        first_heating(issue, &mut sheet);
    }
    electric(issue, &mut sheet);
    safety(issue, &mut sheet);
    sheet
}

/// What a test pressure is for this design, and how the test is made.
fn pressure_test(issue: &Issue, sheet: &mut Sheet) {
    let design = &issue.outcome.design;
    sheet.heading("Pressure test, before the pipe is covered");
    sheet.caution(
        "A pressure test stores energy; fittings and hoses that let go have killed. Never exceed the rating of the weakest part: \
         pipe, manifold, gauge, flow meter, vent, valve. Shut off source, vessel and safety valve first. Nobody tightens a fitting \
         under pressure.",
    );
    let least: Pressure = issue.limit_value("pressure-test-too-low", "least-pressure");
    let usual: Pressure = issue.limit_value("pressure-test-too-low", "usual-pressure");
    let share: Share = issue.limit_value("pressure-test-too-low", "share-of-working-pressure");
    let working = design.water.working_pressure.map(|it| it.value);
    let least = working.map_or(least, |working| least.max(working * share.in_fraction()));
    let (_, whose) = issue.limit("pressure-test-too-low", "least-pressure");
    let (_, whose_share) = issue.limit("pressure-test-too-low", "share-of-working-pressure");
    let (duration, whose_duration) = issue.limit("pressure-test-too-short", "least-duration");
    let (fall, whose_fall) = issue.limit("pressure-fell-too-far", "greatest-fall");
    let manifolds = design
        .manifolds
        .iter()
        .filter_map(|(name, entry)| Some((entry.value.highest_pressure?.value, format!("manifold {name}"))));
    let pipes = design
        .pipes
        .iter()
        .filter_map(|(name, entry)| Some((entry.value.highest_pressure?.value, format!("pipe {name}"))));
    let weakest = manifolds.chain(pipes).min_by(|one, other| one.0.si().total_cmp(&other.0.si()));
    let mut facts = vec![
        ("working pressure", or_dash(working)),
        (
            "test with water, after settling",
            format!(
                "{least} at least, {} at most without proof that every part is rated for more ({whose}; {} of the working pressure: \
                 {whose_share})",
                usual.max(least),
                share
            ),
        ),
        ("held for", format!("{duration} at least ({whose_duration}); longer where the client or the maker asks")),
        ("may fall by", format!("{fall} at most, readings corrected for temperature ({whose_fall})")),
        (
            "weakest part whose rating the design states",
            weakest
                .as_ref()
                .map_or("none stated: look at every part".into(), |(pressure, part)| format!("{part}, {pressure}")),
        ),
    ];
    let (air_least, whose_air) = issue.limit("air-test-out-of-band", "least-pressure");
    let (air_most, _) = issue.limit("air-test-out-of-band", "greatest-pressure");
    facts.push((
        "test with air, only where frost forces it",
        format!(
            "DANGER, stored energy: {air_least} to {air_most} ({whose_air}), raised in steps, people out of the room, by a written method, \
             calibrated gauge, relief fitted, slow release"
        ),
    ));
    sheet.table(Table::of_facts(facts));
    if let Some((rating, part)) = weakest.filter(|(rating, _)| *rating < least) {
        sheet.caution(format!(
            "{part} is rated for {rating} and the test asks for {least}: take it out of the test, or another part."
        ));
    }
    sheet.steps([
        "Every loop flushed, filled and vented, one after the other, until no bubble comes.",
        "Source, expansion vessel and safety valve shut off; only parts rated for the test pressure under test.",
        "Gauge that shows 0.1 bar at the lowest point; temperature of air and water noted.",
        "Pressure raised slowly; fittings looked at from the side, never tightened under pressure.",
        "Settled: plastic pipe stretches, so raise again until it holds; then the reading counts.",
        "Every fitting and the whole floor looked over at the end; a slow fall is a leak until proved otherwise.",
        "Working pressure or more kept on the loops while they are covered, and read before and after.",
    ]);
    frost(issue, sheet);
    let mut table =
        Table::new(["*manifold", "date", "medium", "bar, settled", "bar at the end", "minutes", "°C", "name"]);
    for (name, _) in design.manifolds.iter() {
        table.row([name, "", "", "", "", "", "", ""]);
    }
    sheet.table(table);
}

fn frost(issue: &Issue, sheet: &mut Sheet) {
    let (least, whose) = issue.limit("frost-not-guarded", "least-temperature");
    sheet.words(format!(
        "Frost: water that freezes bursts the pipe inside the floor. Below {least} on site ({whose}) drain and blow out, fill with \
         antifreeze fit for the pipe, or heat. Flush antifreeze out before use and dispose of it properly."
    ));
}

/// What has to be seen on the photographs, room by room.
fn photographs(issue: &Issue, sheet: &mut Sheet) {
    let (design, worked) = (&issue.outcome.design, &issue.outcome.workings);
    let (number, whose) = issue.limit("photographs-missing", "of-each-room");
    sheet.heading("Photographs, before anything is covered");
    sheet.words(format!(
        "{number} of each room at least ({whose}), with a tape or rule in view that starts at a wall; and of each manifold with its \
         labels. They are what whoever drills later has."
    ));
    let mut table = Table::new(["*of", "to be seen on them", "taken, date", "file"]);
    let mut passing: Vec<BTreeSet<&str>> = vec![BTreeSet::new(); design.rooms.len()];
    for ((name, _), it) in design.loops.iter().zip(&worked.loops) {
        for (room, _) in &it.length_in_rooms {
            passing[*room].insert(name);
        }
    }
    for (((name, entry), room), passing) in design.rooms.iter().zip(&worked.rooms).zip(passing) {
        let own: Vec<&str> = room.loops.iter().filter_map(|at| Some(design.loops.at(*at)?.0)).collect();
        let others: Vec<&str> = passing.into_iter().filter(|name| !own.contains(name)).collect();
        if own.is_empty() && others.is_empty() {
            continue;
        }
        let mut seen = Vec::new();
        if !own.is_empty() {
            seen.push(format!("loops {}: first runs and turns, with their distance to walls", own.join(", ")));
        }
        if !others.is_empty() {
            seen.push(format!("tails of {} passing", others.join(", ")));
        }
        let labels = |named: Vec<&str>, what: &str| (!named.is_empty()).then(|| format!("{what} {}", named.join(", ")));
        seen.extend(labels(entry.value.keep_clear.iter().map(|(name, _)| name).collect(), "free of pipe:"));
        seen.extend(labels(entry.value.fixing_lines.iter().map(|(name, _)| name).collect(), "screws to come:"));
        table.row([format!("room {name}, {} x", number.trim()), seen.join("; "), String::new(), String::new()]);
    }
    let mut of_crossings: std::collections::BTreeMap<(Crossed, String), Vec<&str>> = Default::default();
    for ((name, _), crossings) in design.loops.iter().zip(&worked.plan.crossings) {
        for crossing in crossings.iter().filter(|it| !it.sleeves.is_empty()) {
            of_crossings.entry((crossing.what, crossing.what.name(design).to_string())).or_default().push(name);
        }
    }
    for ((what, name), loops) in of_crossings {
        let kind = match what {
            Crossed::Wall(_) => "wall",
            Crossed::Opening(_) => "opening",
            Crossed::MovementJoint(_) => "joint",
        };
        table.row([format!("{kind} {name}"), format!("sleeves of {}", loops.join(", ")), String::new(), String::new()]);
    }
    for (name, _) in design.manifolds.iter() {
        table.row([
            format!("manifold {name}"),
            "labels of all ports, gauges readable".into(),
            String::new(),
            String::new(),
        ]);
    }
    for (name, _) in design.electric_mats.iter() {
        let seen = "the cable with its bends and joints, its label, the tube of the floor sensor";
        table.row([format!("electric mat {name}"), seen.into(), String::new(), String::new()]);
    }
    sheet.table(table);
}

/// Water, flushing, treatment.
fn filling(issue: &Issue, sheet: &mut Sheet) {
    let design = &issue.outcome.design;
    sheet.heading("Water");
    let fluid = design.water.fluid.map_or(Fluid::Water, |it| it.value);
    let share = design.water.mass_share.or(design.water.volume_share).map(|it| it.value.to_string());
    sheet.table(Table::of_facts([
        ("in the circuit", share.map_or(fluid.to_string(), |share| format!("{fluid}, {share}"))),
        ("content of the loops", or_dash(issue.outcome.workings.water.loop_content.value().ok())),
        ("content in all", or_dash(issue.outcome.workings.water.content.value().ok())),
    ]));
    sheet.steps([
        "Filled through a double check valve; hose taken off afterwards. Treated heating water is not to drink.",
        "Flushed, filtered, treated against corrosion and slime: what with, how much, date ………………",
        "Expansion vessel and filling pressure as designed, read cold: ……… bar",
    ]);
}

/// What is set at each port.
fn presettings(issue: &Issue, sheet: &mut Sheet) {
    let outcome = issue.outcome;
    let schedule = Schedule::of(outcome);
    if schedule.manifolds.is_empty() {
        return;
    }
    sheet.heading("Setting the manifolds");
    sheet.words(
        "All loops open, the pump set as told here for each manifold, water warm. Set the valve of each port, read the flow at its \
         gauge, then go round once more: each valve moves the others. Write down what is read.",
    );
    for manifold in &schedule.manifolds {
        let given = outcome.design.manifolds.get(manifold.name);
        sheet.subheading(format!("Manifold {}", manifold.name));
        sheet.table(Table::of_facts([
            ("flow of all loops", or_dash(manifold.flow)),
            ("pump", pump(manifold)),
            (
                "flow gauges show",
                or_dash(
                    given
                        .and_then(|it| it.flow_gauge.as_ref())
                        .map(|it| format!("{} to {}", it.value.least, it.value.greatest)),
                ),
            ),
        ]));
        let mut table =
            Table::new(["#port", "*loop", "rooms", "#presetting", "#flow wanted", "flow read", "date, name"]);
        for row in &manifold.rows {
            table.row([
                or_dash(row.port),
                row.name.to_string(),
                row.rooms.join(", "),
                match &row.presetting {
                    // What was worked out for another pressure of the pump is no setting for this one.
                    Some(set) if !set.stated && manifold.worked_out_for.is_some() => "by its gauge".to_string(),
                    set => or_dash(set.as_ref().map(setting)),
                },
                or_dash(row.flow),
                String::new(),
                String::new(),
            ]);
        }
        sheet.table(table);
        if manifold.worked_out_for.is_some() {
            sheet.words(
                "By its gauge: no presetting is stated. With the others set as stated, close the valve until its gauge shows the flow \
                 wanted.",
            );
        }
    }
    if schedule.manifolds.iter().any(|it| it.worked_out_for.is_none() && it.has_worked_out_settings()) {
        sheet.words("A star marks a setting that was worked out and not stated.");
    }
}

/// What the pump is to be set to, so that the presettings hold.
pub fn pump(manifold: &Ports) -> String {
    let offers = manifold.head_available.map_or(String::new(), |head| format!("; it offers {head} at this flow"));
    let set = match manifold.set_for {
        None => {
            return or_dash(
                manifold.head_available.map(|head| format!("offers {head}; what is needed is not worked out")),
            );
        }
        Some(SetFor::Needed(head)) => format!("set to {head}: the presettings are for that{offers}"),
        Some(SetFor::Offered(head)) => {
            format!("set to {head}, all that it offers: the presettings stated are for that")
        }
        Some(SetFor::Curve(head)) => format!("on its curve, which gives {head}: the presettings are for that"),
    };
    match (manifold.set_for, manifold.head_needed.filter(|_| manifold.head_is_upper_end)) {
        (Some(SetFor::Needed(_)), Some(upper)) => {
            format!("{set}. Up to {upper} may be needed, if all flows read fall short")
        }
        _ => set,
    }
}

/// The first heating, day by day.
fn first_heating(issue: &Issue, sheet: &mut Sheet) {
    let outcome = issue.outcome;
    let (design, worked) = (&outcome.design, &outcome.workings);
    let heated = (0..design.floors.len()).filter(|floor| !worked.floors[*floor].loops.is_empty());
    let screeds: Vec<(usize, Option<Screed>)> =
        heated.map(|floor| (floor, screed_of_floor(design, worked, floor))).collect();
    sheet.heading("First heating");
    let mut table = Table::new(["*floor", "screed", "when it may be heated first"]);
    for (floor, screed) in &screeds {
        let name = design.floors.at(*floor).map_or("", |(name, _)| name);
        match screed {
            Some(screed) => table.row([name.to_string(), screed.to_string(), before_heat(issue, *screed)]),
            None => table.row([name, "none", "as the makers of boards, adhesive and covering say; warm up slowly"]),
        }
    }
    sheet.table(table);
    let warmest = worked
        .loops
        .iter()
        .filter_map(|it| it.flow_temperature.value().ok())
        .max_by(|one, other| one.si().total_cmp(&other.si()));
    let Some(warmest) = warmest else {
        sheet.words("The flow temperature of the loops is not known: no programme is worked out.");
        return;
    };
    let needs_programme = |it: &(usize, Option<Screed>)| {
        matches!(it.1, Some(Screed::SandCement | Screed::CalciumSulphate | Screed::Special))
    };
    if !screeds.iter().any(needs_programme) {
        return;
    }
    let (first, whose) = issue.limit("first-heat-not-held", "first-temperature");
    let (step, whose_step) = issue.limit("heating-ramp-too-fast", "kelvin-a-day");
    sheet.caution("Heat no screed before its day: it cracks, curls and lets go of its covering. The later of the standard's day and the maker's day counts.");
    sheet.words(format!(
        "Begin with water of {first} ({whose}), rise by {step} a day at most ({whose_step}) to the highest design flow temperature, \
         {warmest}, hold it, and cool as slowly. Keep draughts off; keep rooms aired. A maker's own programme for the screed goes \
         before this one. Then measure moisture at the marked points before any covering."
    ));
    let mut table = Table::new(["#day", "*flow temperature", "date", "read", "name"]);
    for (days, temperature) in programme(issue, warmest) {
        table.row([days, temperature.to_string(), String::new(), String::new(), String::new()]);
    }
    sheet.table(table);
}

/// The days of the first heating and the flow temperature of each.
pub fn programme(issue: &Issue, warmest: Temperature) -> Vec<(String, Temperature)> {
    let first: Temperature = issue.limit_value("first-heat-not-held", "first-temperature");
    let low: Duration = issue.limit_value("first-heat-not-held", "first-days");
    let high: Duration = issue.limit_value("first-heat-not-held", "days-at-design-temperature");
    let step: TemperatureDifference = issue.limit_value("heating-ramp-too-fast", "kelvin-a-day");
    let days = |duration: Duration| (duration.in_days().ceil() as u32).max(1);
    let first = if first < warmest { first } else { warmest };
    let mut day = 1;
    let mut programme = Vec::new();
    let mut add = |temperature: Temperature, days: u32| {
        let said = if days == 1 { day.to_string() } else { format!("{day} to {}", day + days - 1) };
        programme.push((said, temperature));
        day += days;
    };
    add(first, days(low));
    // No step leads anywhere if a house standard lets it be nothing.
    let step = step.max(TemperatureDifference::kelvin(0.5));
    let steps: Vec<Temperature> = std::iter::successors(Some(first + step), |it| Some(*it + step))
        .take_while(|it| *it < warmest)
        .take(60)
        .collect();
    for temperature in &steps {
        add(*temperature, 1);
    }
    add(warmest, days(high));
    for temperature in steps.iter().rev() {
        add(*temperature, 1);
    }
    add(first, 1);
    programme
}

/// Electric mats: readings, and who may.
fn electric(issue: &Issue, sheet: &mut Sheet) {
    let (design, worked) = (&issue.outcome.design, &issue.outcome.workings);
    if design.electric_mats.is_empty() {
        return;
    }
    sheet.heading("Electric mats");
    sheet.caution(
        "Electrical work is for a competent electrician, who designs, tests and certifies it; watts and amperes here are for planning. \
         A mat is never cut, never crossed, never laid under fixed units. A failed reading stops the job.",
    );
    let mut table = Table::new([
        "*mat",
        "room",
        "#power",
        "#current",
        "#label resistance",
        "sensor limit",
        "before laying: Ω, MΩ",
        "after laying: Ω, MΩ",
        "after covering: Ω, MΩ",
    ]);
    for ((name, entry), it) in design.electric_mats.iter().zip(&worked.electric_mats) {
        let given = &entry.value;
        table.row([
            name.to_string(),
            or_dash(given.room.as_ref().map(|it| &it.value.name)),
            or_dash(it.power.value().ok()),
            or_dash(it.current.value().ok()),
            or_dash(given.label_resistance.map(|it| it.value)),
            or_dash(given.floor_sensor_limit.map(|it| it.value)),
            String::new(),
            String::new(),
            String::new(),
        ]);
    }
    sheet.table(table);
}

/// What keeps people and floor from harm, to be seen to on site.
fn safety(issue: &Issue, sheet: &mut Sheet) {
    let design = &issue.outcome.design;
    if design.loops.is_empty() {
        return;
    }
    sheet.heading("What keeps people and floor from harm");
    let thermostat = design.safety.limit_thermostat.as_ref();
    sheet.table(Table::of_facts([
        ("limit thermostat, set to", or_dash(thermostat.and_then(|it| it.setting).map(|it| it.value))),
        ("apart from the controller", yes_or_no(thermostat.and_then(|it| it.independent).map(|it| it.value))),
        ("acts when the power fails", yes_or_no(thermostat.and_then(|it| it.without_power).map(|it| it.value))),
        ("safety valve opens at", or_dash(design.safety.safety_valve.map(|it| it.value))),
        (
            "hot water stored at",
            or_dash(design.safety.hot_water.as_ref().and_then(|it| it.store_temperature).map(|it| it.value)),
        ),
    ]));
    sheet.steps([
        "Limit thermostat tried: it stops the water by itself, date ………………",
        "Pump and source stop when every valve is shut, or a by-pass takes the flow.",
        "Notice at the manifold: heating pipes in this floor; do not drill, nail or screw; plan at the manifold.",
    ]);
}
