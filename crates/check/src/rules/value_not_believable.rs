//! A value is one that has been seen on a house.
//!
//! A slipped point or a wrong unit passes every sum and comes out as a neat, wrong answer: a screed that conducts
//! twelve watts, a flow of 210 litres a minute.
//!
//! ## How it is worked out
//! The value of each key is held against the widest range that a reviewer would believe of it. A tenth, a
//! thousandth, ten or a thousand times the value is offered, the first of them that would be believed; of a temperature the same with
//! another sign, too. What nobody believes is left out of all that is worked out: rules that need it say *not checked*, until it is mended
//! or a departure accepts it. The curve of a pump has to fall and
//! the table of a valve's settings to rise; a presetting lies within that table, the head of a pump on its curve, and a limit
//! thermostat is set above the water that it lets through. The line of a wall or a joint has two ends. Water comes back to the source cooler than it
//! left, and where it feeds floors alone by the drop that is stated.
//!
//! ## Limit
//! A table of ranges: common practice, no source. They are wide: what is merely unwise is for other rules.
//!
//! ```yaml fails
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 5000 mm}
//! #                                         ^^^^^^^ thickness 5.0 m of walls/W1 is hard to believe; 10 mm to 1.5 m is usual
//! ```
//! ```yaml remedied
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 500 mm}
//! ```
//! ```yaml passes
//! walls:
//!   W1: {line: [[0, 0], [4, 0]], thickness: 100 mm}
//! ```

use super::prelude::*;
use crate::layers;
use design::{EdgeStrip, Floor, Given, Layer, Line, Loop, Manifold, Place, Placed, Presetting, Pump, Valves};
use engineering::heat::materials::{self, Kind as MaterialKind};
use engineering::water::pump::{CurveFault, PumpCurve};
use engineering::water::valves::{PresettingTable, TableFault};

pub static RULE: Rule = Rule {
    name: "value-not-believable",
    group: Group::DesignFile,
    weights: [Warning, Warning, Error, Error],
    file: include_str!("value_not_believable.rs"),
    check,
    ..Rule::USUAL
};

const fn mm(number: f64) -> Length {
    Length::millimetres(number)
}
const fn m(number: f64) -> Length {
    Length::metres(number)
}
const fn celsius(number: f64) -> Temperature {
    Temperature::celsius(number)
}
const fn kelvin(number: f64) -> TemperatureDifference {
    TemperatureDifference::kelvin(number)
}
const fn watts(number: f64) -> Power {
    Power::watts(number)
}
const fn bar(number: f64) -> Pressure {
    Pressure::bar(number)
}
const fn kilopascals(number: f64) -> Pressure {
    Pressure::kilopascals(number)
}
const fn conducts(number: f64) -> Conductivity {
    Conductivity::watts_per_metre_kelvin(number)
}

const fn kv(number: f64) -> FlowCoefficient {
    FlowCoefficient::cubic_metres_per_hour(number)
}

/// No balancing valve is tighter when it is open.
const LEAST_OPEN: FlowCoefficient = kv(0.2);
const ITS_CURVE: &str = "the pump's own curve, as the design gives it";
const ITS_TABLE: &str = "the valve's own figures, as the design gives them";

/// How far two statements of one drop may be apart.
const APART: TemperatureDifference = kelvin(1.5);

fn check(inspection: &Inspection, found: &mut Findings) {
    let mut doubt = Doubt { inspection, found };
    doubt.site_and_source();
    doubt.construction();
    doubt.pipework();
    doubt.rooms_and_walls();
    doubt.the_rest();
}

/// Where the values stand that nobody believes, of those that no departure accepts.
pub(crate) fn doubted(inspection: &Inspection, findings: &[Finding]) -> Vec<Place> {
    let mut doubted: Vec<Finding> = findings.iter().filter(|it| !it.doubted.is_empty()).cloned().collect();
    crate::departures::apply(inspection, &mut doubted);
    doubted.into_iter().flat_map(|it| it.doubted).collect()
}

struct Doubt<'f, 'i> {
    inspection: &'f Inspection<'i>,
    found: &'f mut Findings,
}

impl<'i> Doubt<'_, 'i> {
    fn site_and_source(&mut self) {
        let design = self.inspection.design;
        let (site, source, water) = (&design.site, &design.heat_source, &design.water);
        let of = Subject::Site;
        self.hold(of, "outdoor-temperature", &site.outdoor_temperature, celsius(-50.0), celsius(20.0));
        self.hold(of, "ground-temperature", &site.ground_temperature, celsius(-5.0), celsius(25.0));
        self.hold(of, "north", &site.north, Angle::degrees(-360.0), Angle::degrees(360.0));
        let of = Subject::HeatSource;
        self.hold(of, "flow-temperature", &source.flow_temperature, celsius(15.0), celsius(95.0));
        self.hold(of, "return-temperature", &source.return_temperature, celsius(10.0), celsius(90.0));
        self.hold(of, "temperature-drop", &source.temperature_drop, kelvin(1.0), kelvin(40.0));
        self.hold(of, "output", &source.output, watts(300.0), watts(5e5));
        let flow = VolumeFlow::litres_per_minute;
        self.hold(of, "least-flow", &source.least_flow, flow(0.5), flow(500.0));
        self.hold(of, "volume-vessel", &source.volume_vessel, Volume::litres(1.0), Volume::litres(5000.0));
        if let Some(pump) = &source.pump {
            self.hold(of, "pump/head", &pump.head, kilopascals(1.0), kilopascals(150.0));
            self.pump_curve(of, pump);
        }
        self.hold(of, "highest-temperature", &source.highest_temperature, celsius(20.0), celsius(120.0));
        self.hold(of, "hot-water-allowance", &source.hot_water_allowance, watts(0.0), watts(1e5));
        let per_kilowatt = SpecificVolume::litres_per_kilowatt;
        self.hold(of, "least-water", &source.least_water, per_kilowatt(1.0), per_kilowatt(100.0));
        for circuit in source.other_circuits.values() {
            let key = "other-circuits/flow-temperature";
            self.hold(of, key, &circuit.flow_temperature, celsius(15.0), celsius(95.0));
            self.hold(of, "other-circuits/output", &circuit.output, watts(10.0), watts(5e5));
        }
        self.temperatures_of_the_source();
        let of = Subject::Water;
        self.hold(of, "working-pressure", &water.working_pressure, bar(0.2), bar(12.0));
        self.hold(of, "other-content", &water.other_content, Volume::litres(0.0), Volume::litres(20_000.0));
        self.hold(of, "mass-share", &water.mass_share, Share::percent(0.0), Share::percent(100.0));
        self.hold(of, "volume-share", &water.volume_share, Share::percent(0.0), Share::percent(100.0));
        if let Some(vessel) = &water.expansion_vessel {
            let content = Volume::litres;
            self.hold(of, "expansion-vessel/volume", &vessel.volume, content(1.0), content(5000.0));
            self.hold(of, "expansion-vessel/charge-pressure", &vessel.charge_pressure, bar(0.1), bar(6.0));
            self.hold(of, "expansion-vessel/static-height", &vessel.static_height, m(0.0), m(100.0));
        }
    }

    /// Water comes back cooler than it left; and where nothing but floors is fed, and nothing is blended, by the drop that
    /// is stated for them.
    fn temperatures_of_the_source(&mut self) {
        let design = self.inspection.design;
        let source = &design.heat_source;
        let of = Subject::HeatSource;
        if let (Some(flow), Some(highest)) = (source.flow_temperature, source.highest_temperature)
            && highest.value < flow.value
        {
            let message = format!(
                "highest-temperature {} of heat-source cannot be; the water leaves at {}",
                highest.value, flow.value
            );
            let finding = Finding::new(of, highest.at, message).value(highest.value).source("the design");
            self.found.add_as(Error, finding.related(flow.at, "the water leaves so warm"));
        }
        let (Some(flow), Some(back)) = (source.flow_temperature, source.return_temperature) else { return };
        if back.value >= flow.value {
            let message = format!(
                "return-temperature {} of heat-source cannot be; the water leaves at {}",
                back.value, flow.value
            );
            let finding = Finding::new(of, back.at, message).value(back.value).source("plain physics");
            return self.found.add_as(Error, finding.related(flow.at, "the water leaves so warm"));
        }
        // Nothing cools the water of floors below the air.
        let coolest = design.rooms.values().filter_map(|room| room.temperature.filter(|_| room.floor.is_some()));
        let coolest = coolest.min_by(|one, other| one.value.in_celsius().total_cmp(&other.value.in_celsius()));
        if let Some(coolest) = coolest.filter(|it| source.other_circuits.is_empty() && back.value < it.value) {
            let message = format!(
                "return-temperature {} of heat-source is hard to believe; no room is cooler than {}",
                back.value, coolest.value
            );
            let finding = Finding::new(of, back.at, message).value(back.value).source("plain physics");
            return self.found.add(finding.related(coolest.at, "the coolest room"));
        }
        let blends = |it: &Manifold| {
            it.mixing_set.is_some_and(|it| it.value) || it.flow_temperature.is_some() || it.temperature_drop.is_some()
        };
        let alike = source.other_circuits.is_empty()
            && source.volume_vessel.is_none()
            && !source.heat_exchanger.is_some_and(|it| it.value)
            && !design.manifolds.values().any(blends)
            && !design.loops.values().any(|it| it.temperature_drop.is_some() || it.flow.is_some());
        let drop = flow.value - back.value;
        let Some(stated) = source.temperature_drop.filter(|stated| alike && (stated.value - drop).abs() > APART) else {
            return;
        };
        let message = format!(
            "return-temperature {} of heat-source is {drop} below the flow; temperature-drop says {}",
            back.value, stated.value
        );
        let text = format!("{} °C", ((flow.value - stated.value).in_celsius() * 10.0).round() / 10.0);
        let finding = Finding::new(of, back.at, message).value(drop).source("plain physics");
        let finding =
            finding.related(stated.at, "the drop that is stated").related(flow.at, "the water leaves so warm");
        // It may be that of a part that the design does not tell of.
        let weight = if RULE.weight(design.stage()) == Error { Warning } else { RULE.weight(design.stage()) };
        self.found.add_as(weight, finding.remedy(Remedy::new(format!("write `{text}`"), back.at, text)));
    }

    fn construction(&mut self) {
        let design = self.inspection.design;
        for (at, floor) in design.floors.values().enumerate() {
            let of = Subject::Floor(at);
            for (layer, it) in floor.layers.iter().enumerate() {
                self.layer(Subject::Layer(at, layer), it);
            }
            self.pipe_in_its_layer(at, floor);
            self.hold(of, "module", &floor.module, mm(10.0), mm(600.0));
            self.hold(of, "temperature-below", &floor.temperature_below, celsius(-50.0), celsius(60.0));
            if let Some(clips) = &floor.clips {
                self.hold(of, "clips/spacing", &clips.spacing, mm(50.0), m(2.0));
            }
            if let Some(clips) = &floor.clips {
                self.hold(of, "clips/length", &clips.length, mm(5.0), mm(150.0));
            }
            if let Some(tray) = &floor.tray {
                self.hold(of, "tray/lifts-pipe", &tray.lifts_pipe, mm(0.0), mm(60.0));
                self.hold(of, "tray/stud-share", &tray.stud_share, Share::ZERO, Share::percent(50.0));
            }
            if let Some(plates) = &floor.plates {
                self.hold(of, "plates/thickness", &plates.thickness, mm(0.0), mm(5.0));
                self.hold(of, "plates/width", &plates.width, mm(20.0), mm(1200.0));
                self.hold(of, "plates/conductivity", &plates.conductivity, conducts(5.0), conducts(450.0));
                self.hold(of, "plates/gap", &plates.gap, mm(0.0), m(1.0));
                self.hold(of, "plates/coverage", &plates.coverage, Share::percent(5.0), Share::percent(100.0));
            }
            if let Some(EdgeStrip::Strip(strip)) = &floor.edge_strip.as_ref().map(|strip| &strip.value) {
                self.hold(of, "edge-strip/thickness", &strip.thickness, mm(1.0), mm(60.0));
            }
            if let Some(base) = &floor.base {
                self.hold(of, "base/flatness", &base.flatness, mm(0.0), mm(150.0));
                self.hold(of, "base/sheet-thickness", &base.sheet_thickness, mm(2.0), mm(60.0));
            }
            if let Some(slab) = &floor.slab {
                let area = Area::square_metres;
                self.hold(of, "slab/area", &slab.area, area(2.0), area(100_000.0));
                self.hold(of, "slab/perimeter", &slab.perimeter, m(0.0), m(5000.0));
                self.hold(of, "slab/wall-thickness", &slab.wall_thickness, mm(50.0), m(1.5));
                self.hold(of, "slab/ground-conductivity", &slab.ground_conductivity, conducts(0.2), conducts(6.0));
            }
            let per_kelvin = Transmittance::watts_per_square_metre_kelvin;
            self.hold(of, "tested-output", &floor.tested_output, per_kelvin(0.3), per_kelvin(12.0));
            if let Some(joists) = &floor.joists {
                self.hold(of, "joists/depth", &joists.depth, mm(50.0), mm(600.0));
                self.hold(of, "joists/width", &joists.width, mm(15.0), mm(400.0));
                self.hold(of, "joists/spacing", &joists.spacing, mm(200.0), m(1.2));
                self.hold(of, "joists/span", &joists.span, mm(500.0), m(15.0));
            }
        }
        for (at, pipe) in design.pipes.values().enumerate() {
            let of = Subject::Pipe(at);
            self.hold(of, "outside-diameter", &pipe.outside_diameter, mm(5.0), mm(110.0));
            // No series of plastic pipe is thicker than S 2.5, whose wall is a sixth of its diameter (ISO 4065, from memory).
            let most = pipe.outside_diameter.filter(|it| it.value > mm(5.0)).map_or(mm(15.0), |it| it.value / 5.0);
            self.hold(of, "wall-thickness", &pipe.wall_thickness, mm(0.3), most);
            self.hold(of, "conductivity", &pipe.conductivity, conducts(0.1), conducts(420.0));
            self.hold(of, "roughness", &pipe.roughness, Length::metres(1e-7), mm(1.0));
            self.hold(of, "least-bend-radius", &pipe.least_bend_radius, mm(15.0), m(1.5));
            self.hold(of, "longest-loop", &pipe.longest_loop, m(10.0), m(500.0));
            self.hold(of, "highest-pressure", &pipe.highest_pressure, bar(1.0), bar(40.0));
            self.hold(of, "highest-temperature", &pipe.highest_temperature, celsius(30.0), celsius(150.0));
        }
    }

    /// A pipe that is thicker than the layer it lies in, or sticks out of it. Of a screed `screed-too-thin-over-pipe` says it.
    fn pipe_in_its_layer(&mut self, at: usize, floor: &Floor) {
        let Some(worked) = self.inspection.workings.floors.get(at).filter(|it| !it.loops.is_empty()) else { return };
        let (Ok(layer), Ok(outside)) = (&worked.pipe_layer, &worked.pipe_outside) else { return };
        let Some(given) = floor.layers.get(*layer) else { return };
        let Some(thickness) = given.thickness.filter(|it| it.value > Length::ZERO) else { return };
        let name = self.inspection.design.floors.at(at).map_or("?", |(name, _)| name);
        if worked.layers.get(*layer).is_none_or(|it| layers::binder(given, it).is_some()) {
            return;
        }
        let (Ok(lift), Ok(cover)) = (&worked.pipe_lift, &worked.cover) else { return };
        let message = if *outside > thickness.value + mm(0.5) {
            format!("the pipe of floor {name} is {outside} thick and cannot lie in a layer of {}", thickness.value)
        } else if cover.value < mm(-0.5) {
            let top = lift.value + *outside;
            format!("the pipe of floor {name} reaches {top} up in a layer of {} and sticks out of it", thickness.value)
        } else {
            return;
        };
        let finding = Finding::new(Subject::Layer(at, *layer), thickness.at, message).value(thickness.value);
        self.found.add_as(Error, finding.source("plain geometry"));
    }

    fn layer(&mut self, of: Subject, layer: &Layer) {
        let kind = layer.material.as_ref().and_then(|name| materials::find(&name.value)).map(|it| it.kind);
        let most = if kind == Some(MaterialKind::Metal) { 450.0 } else { 5.0 };
        let thickest = match kind {
            Some(MaterialKind::Membrane) => 10.0,
            Some(MaterialKind::Resilient) => 25.0,
            Some(MaterialKind::Carpet | MaterialKind::Underlay) => 60.0,
            Some(MaterialKind::Tile) => 80.0,
            Some(MaterialKind::Stone) => 200.0,
            _ => 600.0,
        };
        self.hold(of, "thickness", &layer.thickness, Length::metres(1e-5), mm(thickest));
        let (least, most) = match kind {
            Some(MaterialKind::Insulation) => (0.01, 0.09),
            Some(MaterialKind::Tile | MaterialKind::Stone | MaterialKind::Concrete) => (0.1, most),
            Some(kind) if kind.is_screed() => (0.1, most),
            _ => (0.005, most),
        };
        // A layer of an unknown name may be a metal.
        if kind.is_some() {
            self.hold(of, "conductivity", &layer.conductivity, conducts(least), conducts(most));
        }
        let resistance = ThermalResistance::square_metre_kelvin_per_watt;
        self.hold(of, "resistance", &layer.resistance, resistance(0.0), resistance(20.0));
        let density = Density::kilograms_per_cubic_metre;
        self.hold(of, "density", &layer.density, density(5.0), density(12_000.0));
        self.hold(of, "highest-temperature", &layer.highest_temperature, celsius(15.0), celsius(200.0));
        let heat = SpecificHeat::joules_per_kilogram_kelvin;
        self.hold(of, "specific-heat", &layer.specific_heat, heat(100.0), heat(5000.0));
        self.hold(of, "compression", &layer.compression, mm(0.0), mm(50.0));
        self.hold(of, "flat-thickness", &layer.flat_thickness, mm(0.0), mm(600.0));
        self.hold(of, "least-cover", &layer.least_cover, mm(0.0), mm(200.0));
        self.hold(of, "laps", &layer.laps, mm(0.0), m(2.0));
        self.hold(of, "stud-share", &layer.stud_share, Share::ZERO, Share::percent(50.0));
        self.hold(of, "joist-share", &layer.joist_share, Share::ZERO, Share::percent(60.0));
    }

    fn pipework(&mut self) {
        let design = self.inspection.design;
        for (at, it) in design.loops.values().enumerate() {
            let of = Subject::Loop(at);
            self.hold(of, "spacing", &it.spacing, mm(40.0), mm(600.0));
            self.hold(of, "tails", &it.tails, m(0.0), m(300.0));
            self.hold(of, "length", &it.length, m(1.0), m(600.0));
            self.hold(of, "coil", &it.coil, m(10.0), m(1500.0));
            let flow = VolumeFlow::litres_per_minute;
            self.hold(of, "flow", &it.flow, flow(0.02), flow(30.0));
            self.hold(of, "temperature-drop", &it.temperature_drop, kelvin(0.5), kelvin(40.0));
            self.hold(of, "duty", &it.duty, watts(1.0), watts(20_000.0));
            self.hold(of, "area", &it.area, Area::square_metres(0.1), Area::square_metres(300.0));
            self.presetting(of, it);
        }
        for (at, it) in design.manifolds.values().enumerate() {
            let of = Subject::Manifold(at);
            self.hold(of, "height", &it.height, m(-10.0), m(10.0));
            self.hold(of, "flow-temperature", &it.flow_temperature, celsius(15.0), celsius(95.0));
            self.hold(of, "temperature-drop", &it.temperature_drop, kelvin(0.5), kelvin(40.0));
            self.hold(of, "pressure-loss", &it.pressure_loss, kilopascals(0.0), kilopascals(200.0));
            self.hold(of, "highest-pressure", &it.highest_pressure, bar(1.0), bar(40.0));
            let flow = VolumeFlow::litres_per_minute;
            self.hold(of, "greatest-flow", &it.greatest_flow, flow(1.0), flow(300.0));
            self.hold(of, "bore", &it.bore, mm(8.0), mm(100.0));
            self.hold(of, "clearance", &it.clearance, mm(0.0), m(10.0));
            let gauge = it.flow_gauge.map(|gauge| Placed { value: gauge.value.greatest, at: gauge.at });
            self.hold(of, "flow-gauge", &gauge, flow(0.5), flow(60.0));
            if let Some(pump) = &it.pump {
                self.hold(of, "pump/head", &pump.head, kilopascals(1.0), kilopascals(150.0));
                self.pump_curve(of, pump);
            }
            if let Some(valves) = &it.valves {
                self.presettings(of, valves);
            }
            if let Some(feeder) = &it.feeder {
                self.hold(of, "feeder/length", &feeder.length, m(0.0), m(500.0));
                self.hold(of, "feeder/kv", &feeder.kv, kv(0.1), kv(200.0));
                let losses = feeder.loss_coefficients.map(|it| Placed { value: Number::new(it.value), at: it.at });
                self.hold(of, "feeder/loss-coefficients", &losses, Number::new(0.0), Number::new(200.0));
            }
        }
    }

    /// A pump that gives more pressure the more it passes has no one flow.
    fn pump_curve(&mut self, of: Subject, pump: &Pump) {
        for point in pump.curve.iter() {
            let flow = VolumeFlow::litres_per_minute;
            self.hold(of, "pump/curve/flow", &point.flow, flow(0.0), flow(1000.0));
            self.hold(of, "pump/curve/head", &point.head, kilopascals(0.0), kilopascals(300.0));
        }
        let heads = || pump.curve.iter().filter_map(|point| Some(point.head?.value));
        if let (Some(head), Some(most), Some(least)) =
            (pump.head, heads().reduce(Pressure::max), heads().reduce(Pressure::min))
            && !(least <= head.value && head.value <= most)
        {
            let path = of.path(self.inspection.design);
            let message = format!(
                "pump/head {} of {path} is not on its curve, which gives {least} to {most} and is counted with",
                head.value
            );
            self.found.add(Finding::new(of, head.at, message).value(head.value).source(ITS_CURVE));
        }
        let points = pump.curve.iter().map(|point| Some((point.flow?.value, point.head?.value)));
        let Some(points) = points.collect::<Option<Vec<_>>>() else { return };
        let Err(fault) = PumpCurve::new(&points) else { return };
        let at = match fault {
            CurveFault::NotFalling(at) => at,
            CurveFault::TooShort => 0,
        };
        if let Some(point) = pump.curve.get(at) {
            self.doubt_it(of, point.at, fault.to_string(), ITS_CURVE);
        }
    }

    fn presettings(&mut self, of: Subject, valves: &Valves) {
        self.hold(of, "valves/kv-open", &valves.kv_open, LEAST_OPEN, kv(10.0));
        self.hold(of, "valves/kv-actuator", &valves.kv_actuator, kv(0.3), kv(20.0));
        if let (Some(open), Some(last)) = (valves.kv_open, valves.settings.last().and_then(|last| last.kv))
            && open.value < last.value
            && open.value >= LEAST_OPEN
        {
            let of_manifold = of.path(self.inspection.design);
            let message = format!(
                "kv-open {} of {of_manifold} is less than {}, which its table of settings goes up to",
                open.value, last.value
            );
            let finding = Finding::new(of, open.at, message).value(open.value).source(ITS_TABLE);
            self.found.add(finding.related(last.at, "the last setting"));
        }
        let points = valves.settings.iter().map(|point| Some((point.turns?.value, point.kv?.value)));
        let Some(points) = points.collect::<Option<Vec<_>>>() else { return };
        let Err(fault) = PresettingTable::new(&points) else { return };
        let at = match fault {
            TableFault::NotRising(at) => at,
            TableFault::TooShort => 0,
        };
        if let Some(point) = valves.settings.get(at) {
            self.doubt_it(of, point.at, fault.to_string(), ITS_TABLE);
        }
    }

    /// A valve opens no further than it goes.
    fn presetting(&mut self, of: Subject, it: &Loop) {
        // Shut it can be set; so little no valve of a loop can.
        let kv_set = it.presetting.and_then(|it| match it.value {
            Presetting::Kv(set) if set > FlowCoefficient::ZERO => Some(Placed { value: set, at: it.at }),
            _ => None,
        });
        self.hold(of, "presetting", &kv_set, kv(0.01), kv(10.0));
        let (Some(presetting), Some(manifold)) = (it.presetting, &it.manifold) else { return };
        let Some(valves) = self.inspection.design.manifolds.get(&manifold.value.name).and_then(|it| it.valves.as_ref())
        else {
            return;
        };
        let path = || of.path(self.inspection.design);
        let ends = || Some((valves.settings.first()?.turns?.value, valves.settings.last()?.turns?));
        let (message, end) = match presetting.value {
            // Shut it can be set, whatever its table begins with.
            Presetting::Turns(turns) if turns > 0.0 => {
                let Some((first, last)) = ends().filter(|(first, last)| !(*first..=last.value).contains(&turns)) else {
                    return;
                };
                let message = format!(
                    "presetting {turns} turns of {} is not in the table of its valve, which goes from {first} to {}",
                    path(),
                    last.value
                );
                (message, last.at)
            }
            Presetting::Kv(set) => {
                let open = valves.kv_open.or_else(|| valves.settings.last().and_then(|last| last.kv));
                let Some(open) = open.filter(|open| set > open.value * 1.005) else { return };
                let message =
                    format!("presetting {set} of {} is more than its valve has when open, {}", path(), open.value);
                (message, open.at)
            }
            Presetting::Turns(_) => return,
        };
        let finding = Finding::new(of, presetting.at, message).source(ITS_TABLE);
        self.found.add(finding.related(end, "as far as the valve opens"));
    }

    fn doubt_it(&mut self, of: Subject, place: Place, fault: String, whose: &'static str) {
        let message = format!("in {}, {fault}", of.path(self.inspection.design));
        self.found.add(Finding::new(of, place, message).source(whose));
    }

    fn rooms_and_walls(&mut self) {
        let design = self.inspection.design;
        for (at, room) in design.rooms.values().enumerate() {
            let of = Subject::Room(at);
            self.hold(of, "temperature", &room.temperature, celsius(-5.0), celsius(40.0));
            // An old conservatory of single glass loses some 470 W for each square metre of its floor; no other room comes near.
            let area = self.inspection.workings.rooms.get(at).and_then(|it| it.area.as_ref().ok());
            let most = area.map_or(watts(200_000.0), |area| HeatFlux::watts_per_square_metre(500.0) * area.value);
            self.hold(of, "heat-loss", &room.heat_loss, watts(0.0), most.min(watts(200_000.0)));
            self.hold(of, "height", &room.height, m(1.5), m(30.0));
            self.hold(of, "area", &room.area, Area::square_metres(0.3), Area::square_metres(5000.0));
            room.covering.iter().for_each(|layer| self.layer(of, layer));
            self.hold(of, "temperature-below", &room.temperature_below, celsius(-50.0), celsius(60.0));
            let per_kelvin = Transmittance::watts_per_square_metre_kelvin;
            for element in room.fabric.values() {
                self.hold(of, "fabric/…/u-value", &element.u_value, per_kelvin(0.03), per_kelvin(8.0));
                self.hold(of, "fabric/…/thermal-bridges", &element.thermal_bridges, per_kelvin(0.0), per_kelvin(1.0));
                self.hold(of, "fabric/…/area", &element.area, Area::ZERO, Area::square_metres(5000.0));
                self.hold(of, "fabric/…/temperature", &element.temperature, celsius(-50.0), celsius(60.0));
            }
            for glazing in room.glazing.values() {
                self.hold(of, "glazing/…/u-value", &glazing.u_value, per_kelvin(0.2), per_kelvin(8.0));
                self.hold(of, "glazing/…/area", &glazing.area, Area::ZERO, Area::square_metres(2000.0));
            }
            let changes = AirChangeRate::per_hour;
            self.hold(of, "air-change-rate", &room.air_change_rate, changes(0.0), changes(15.0));
            if let Some(zone) = &room.edge_zone {
                // That it is too wide is for `edge-zone-too-wide`.
                let narrow = zone.width.filter(|width| width.value < mm(100.0));
                self.hold(of, "edge-zone/width", &narrow, mm(100.0), m(1.0));
                self.hold(of, "edge-zone/spacing", &zone.spacing, mm(40.0), mm(600.0));
            }
        }
        for (at, wall) in design.walls.values().enumerate() {
            self.hold(Subject::Wall(at), "thickness", &wall.thickness, mm(10.0), m(1.5));
            self.has_length(Subject::Wall(at), &wall.line);
        }
        for (at, joint) in design.movement_joints.values().enumerate() {
            self.has_length(Subject::MovementJoint(at), &joint.line);
        }
        for (at, opening) in design.openings.values().enumerate() {
            self.hold(Subject::Opening(at), "clear-width", &opening.clear_width, mm(300.0), m(20.0));
        }
    }

    /// A line from a point to itself is not drawn, and parts or blocks nothing.
    fn has_length(&mut self, of: Subject, line: &Given<Line>) {
        if let Some(line) = line.as_ref().filter(|line| line.value.from == line.value.to) {
            self.doubt_it(of, line.at, "the line begins and ends at one point".into(), "plain geometry");
        }
    }

    fn the_rest(&mut self) {
        let design = self.inspection.design;
        for (at, mat) in design.electric_mats.values().enumerate() {
            let of = Subject::ElectricMat(at);
            let density = HeatFlux::watts_per_square_metre;
            self.hold(of, "power-density", &mat.power_density, density(20.0), density(500.0));
            self.hold(of, "area", &mat.area, Area::square_metres(0.1), Area::square_metres(300.0));
            self.hold(of, "voltage", &mat.voltage, Voltage::volts(12.0), Voltage::volts(480.0));
            self.hold(of, "power", &mat.power, watts(5.0), watts(50_000.0));
            self.hold(of, "floor-sensor-limit", &mat.floor_sensor_limit, celsius(15.0), celsius(60.0));
            let amperes = Current::amperes;
            self.hold(of, "circuit", &mat.circuit, amperes(1.0), amperes(125.0));
            self.hold(of, "thermostat-current", &mat.thermostat_current, amperes(1.0), amperes(63.0));
            let ohms = ElectricalResistance::ohms;
            self.hold(of, "label-resistance", &mat.label_resistance, ohms(1.0), ohms(20_000.0));
            if let Some(device) = &mat.residual_current_device {
                let key = "residual-current-device/current";
                self.hold(of, key, &device.current, amperes(0.005), amperes(1.0));
            }
        }
        let controls = &design.controls;
        let flow = VolumeFlow::litres_per_minute;
        self.hold(Subject::Controls, "by-pass", &controls.by_pass, flow(0.1), flow(500.0));
        for (at, zone) in controls.zones.values().enumerate() {
            self.hold(Subject::Zone(at), "set-back", &zone.set_back, kelvin(0.0), kelvin(12.0));
            if let Some(sensor) = &zone.floor_sensor {
                self.hold(Subject::Zone(at), "floor-sensor/limit", &sensor.limit, celsius(15.0), celsius(50.0));
            }
        }
        let safety = &design.safety;
        self.hold(Subject::Safety, "safety-valve", &safety.safety_valve, bar(1.0), bar(12.0));
        if let Some(limit) = &safety.limit_thermostat {
            self.hold(Subject::Safety, "limit-thermostat/setting", &limit.setting, celsius(20.0), celsius(110.0));
        }
        if let Some(water) = &safety.hot_water {
            self.hold(
                Subject::Safety,
                "hot-water/store-temperature",
                &water.store_temperature,
                celsius(10.0),
                celsius(99.0),
            );
        }
        for test in &design.records.pressure_tests {
            self.hold(Subject::Records, "pressure-test/pressure", &test.pressure, bar(0.0), bar(30.0));
            if let (Some(start), Some(end)) = (test.pressure, test.end_pressure)
                && end.value - start.value > bar(0.5)
            {
                let fault = format!(
                    "the pressure rose from {} to {} during a test; a pipe left alone gains none",
                    start.value, end.value
                );
                self.doubt_it(Subject::Records, end.at, fault, "plain physics");
            }
        }
    }

    /// Holds a value against the least and the greatest that would be believed; what is not is left out of all that is worked out.
    fn hold<Q: Quantity>(&mut self, of: Subject, key: &'static str, given: &Given<Q>, least: Q, greatest: Q) {
        let Some(given) = given.as_ref().filter(|it| !(least <= it.value && it.value <= greatest)) else { return };
        let path = of.path(self.inspection.design);
        // A height below the floor is odd; a room of less than nothing cannot be built, nor can more than all be something.
        let below_nothing = given.value.si() < 0.0 && least.si() >= 0.0 && Q::KIND != Temperature::KIND;
        let beyond_all = Q::KIND == Share::KIND && given.value.si() > 1.0;
        let cannot_be = below_nothing || beyond_all;
        let is = if cannot_be { "cannot be" } else { "is hard to believe" };
        let message = format!("{key} {} of {path} {is}; {least} to {greatest} is usual", given.value);
        let mut finding = Finding::new(of, given.at, message).value(given.value).source("common practice, no source");
        finding.doubted.push(given.at);
        // A share of more than the whole is no slip of the point; a temperature may have lost or won a minus.
        let slips: &[f64] = match Q::KIND {
            kind if kind == Share::KIND => &[],
            kind if kind == Temperature::KIND => &[-1.0, 0.1, 10.0],
            _ => &[0.1, 0.001, 10.0, 1000.0],
        };
        let meant = slips.iter().find_map(|factor| {
            let text = times(self.inspection.text(given.at), *factor)?;
            let value = Q::parse(&text).ok()?;
            (least <= value && value <= greatest).then_some(text)
        });
        finding = finding.remedy(meant.map(|text| Remedy::new(format!("write `{text}`"), given.at, text)));
        if cannot_be {
            self.found.add_as(Error, finding);
        } else {
            self.found.add(finding);
        }
    }
}

/// A number with its unit as it is written, times a factor.
fn times(written: &str, factor: f64) -> Option<String> {
    let end = written.find(|c: char| !c.is_ascii_digit() && c != '.' && c != '-').unwrap_or(written.len());
    let (number, unit) = written.split_at(end);
    if unit.contains(" to ") {
        return None;
    }
    let number = number.parse::<f64>().ok().filter(|_| !unit.starts_with(['e', 'E']))? * factor;
    let number = (number * 1e9).round() / 1e9;
    (number != 0.0).then(|| format!("{number}{unit}"))
}

#[cfg(test)]
mod tests {
    use super::{RULE, times};
    use crate::bench::{check, messages};

    #[test]
    fn a_line_has_two_ends() {
        let text = "walls: {W1: {line: [[4, 2], [4, 2]]}}\nmovement-joints: {J1: {line: [[1, 1], [1, 1]]}, J2: {line: [[1, 1], [1, 2]]}}\n";
        assert_eq!(
            messages(&RULE, text),
            [
                "in walls/W1, the line begins and ends at one point",
                "in movement-joints/J1, the line begins and ends at one point"
            ]
        );
    }

    #[test]
    fn a_valve_is_set_within_its_table() {
        let set = |presetting: &str, valves: &str| {
            let text = format!(
                "manifolds: {{M1: {{ports: 4, pump: {{head: 30 kPa}}, valves: {valves}}}}}\nloops:\n  L1: {{manifold: M1, room: hall, pipe: PEX-16, \
                 spacing: 150 mm, tails: 10 m, presetting: {presetting}}}\n"
            );
            messages(&RULE, &text)
        };
        let table = "{settings: [{turns: 0.5, kv: 0.2 m³/h}, {turns: 4, kv: 1.1 m³/h}]}";
        assert_eq!(set("4 turns", table), [""; 0]);
        assert_eq!(set("0 turns", table), [""; 0]);
        let beyond = "presetting 6 turns of loops/L1 is not in the table of its valve, which goes from 0.5 to 4";
        assert_eq!(set("6 turns", table), [beyond]);
        assert_eq!(set("0.2 turns", table), [beyond.replace("6 turns", "0.2 turns")]);
        let open = "presetting Kv 1.40 m³/h of loops/L1 is more than its valve has when open, Kv 1.10 m³/h";
        assert_eq!(set("1.4 m³/h", table), [open]);
        assert_eq!(set("1.4 m³/h", "{kv-open: 1.1 m³/h}"), [open]);
        assert_eq!(set("0.4 m³/h", "{kv-open: 0 m³/h}").len(), 2);
        let short = set("4 turns", &table.replace("{settings", "{kv-open: 0.9 m³/h, settings"));
        assert_eq!(
            short,
            ["kv-open Kv 0.90 m³/h of manifolds/M1 is less than Kv 1.10 m³/h, which its table of settings goes up to"]
        );
    }

    /// Small numbers that pass every sum, and two that contradict each other.
    #[test]
    fn what_no_valve_pump_pipe_or_source_has_is_doubted() {
        let of_loop = |presetting: &str| {
            let text =
                "loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, presetting: ";
            messages(&RULE, &format!("{text}{presetting}}}\n"))
        };
        let tiny = "presetting Kv 0.0001 m³/h of loops/L1 is hard to believe; Kv 0.01 m³/h to Kv 10.00 m³/h is usual";
        assert_eq!(of_loop("0.0001 m³/h"), [tiny]);
        assert_eq!([of_loop("0 m³/h"), of_loop("0.02 m³/h")], [[""; 0]; 2]);
        let source = |highest: &str| {
            let text = "heat-source: {kind: heat pump, flow-temperature: 38 °C, highest-temperature: ";
            messages(&RULE, &format!("{text}{highest} °C}}\n"))
        };
        assert_eq!(source("38"), [""; 0]);
        assert_eq!(source("30"), ["highest-temperature 30.0 °C of heat-source cannot be; the water leaves at 38.0 °C"]);
        let pump =
            |head: &str| messages(&RULE, &format!("manifolds: {{M1: {{ports: 4, pump: {{head: {head} kPa}}}}}}\n"));
        assert_eq!([pump("120").len(), pump("250").len()], [0, 1]);
        // ISO 4065, from memory: S 2.5 of 16 mm has a wall of 2.7 mm.
        let pipe = |wall: &str| {
            let text = "pipes: {PEX-16: {material: PE-X, outside-diameter: 16 mm, wall-thickness: ";
            messages(&RULE, &format!("{text}{wall} mm}}}}\n"))
        };
        assert_eq!([pipe("2.7").len(), pipe("4").len()], [0, 1]);
    }

    #[test]
    fn water_comes_back_cooler_and_by_the_drop_that_is_stated() {
        let of = |source: &str| -> Vec<String> {
            messages(
                &RULE,
                &format!("heat-source: {{kind: boiler, {source}}}\nsafety: {{limit-thermostat: {{setting: 70 °C}}}}\n"),
            )
        };
        assert_eq!(of("flow-temperature: 50 °C, return-temperature: 45 °C, temperature-drop: 5 K"), [""; 0]);
        let warmer = "return-temperature 60.0 °C of heat-source cannot be; the water leaves at 50.0 °C";
        assert_eq!(of("flow-temperature: 50 °C, return-temperature: 60 °C"), [warmer]);
        let cold = "return-temperature 15.0 °C of heat-source is hard to believe; no room is cooler than 20.0 °C";
        assert_eq!(of("flow-temperature: 50 °C, return-temperature: 15 °C"), [cold]);
        let apart = "return-temperature 38.0 °C of heat-source is 12.0 K below the flow; temperature-drop says 5.0 K";
        assert_eq!(of("flow-temperature: 50 °C, return-temperature: 38 °C, temperature-drop: 5 K"), [apart]);
        let fed = "flow-temperature: 50 °C, return-temperature: 38 °C, temperature-drop: 5 K, other-circuits: {rads: {feeds: radiators}}";
        assert_eq!(of(fed), [""; 0]);
    }

    #[test]
    fn no_more_than_all_is_glycol_and_no_house_is_a_tower() {
        let share = messages(&RULE, "water: {fluid: propylene glycol, volume-share: 150 %}\n");
        assert_eq!(share, ["volume-share 150 % of water cannot be; 0 % to 100 % is usual"]);
        let height = messages(&RULE, "water: {expansion-vessel: {volume: 12 l, static-height: 1000 m}}\n");
        assert_eq!(height.len(), 1, "{height:?}");
    }

    #[test]
    fn what_contradicts_the_flow_is_told() {
        let pump = "manifolds: {M1: {pump: {head: 50 kPa, curve: [{flow: 0 l/min, head: 40 kPa}, {flow: 9 l/min, head: 10 kPa}]}}}\n";
        let said = "pump/head 50.0 kPa of manifolds/M1 is not on its curve, which gives 10.0 kPa to 40.0 kPa and is counted with";
        assert_eq!(messages(&RULE, pump), [said]);
        let feeder = "manifolds: {M1: {feeder: {loss-coefficients: 1e6}}}\n";
        assert_eq!(messages(&RULE, feeder).len(), 1);
    }

    #[test]
    fn an_empty_list_of_points_is_not_the_same_as_none() {
        for text in ["manifolds: {M1: {pump: {curve: []}}}", "manifolds: {M1: {valves: {settings: []}}}"] {
            let said = messages(&super::super::value_not_understood::RULE, &format!("{text}\n"));
            assert_eq!(said, ["a list of two points or more is wanted, but here is an empty list"]);
        }
    }

    #[test]
    fn the_ends_of_a_range_are_believed() {
        let wall = |thickness: &str| messages(&RULE, &format!("walls: {{W1: {{thickness: {thickness}}}}}\n"));
        assert!(wall("10 mm").is_empty() && wall("1.5 m").is_empty());
        assert_eq!(wall("9 mm").len(), 1);
        assert_eq!(wall("1.51 m").len(), 1);
    }

    #[test]
    fn what_cannot_be_is_an_error() {
        let outcome = check("project: {stage: preliminary}\nrooms: {hall: {height: -2.4 m, area: 12 m²}}\n");
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert_eq!(finding.severity, crate::Severity::Error);
        assert_eq!(finding.message, "height -2.4 m of rooms/hall cannot be; 1.5 m to 30.0 m is usual");
    }

    #[test]
    fn a_heat_loss_goes_by_the_size_of_the_room() {
        let room = |loss: &str| {
            let outcome = check(&format!("rooms: {{hall: {{area: 14 m², heat-loss: {loss}}}}}\n"));
            let finding = outcome.findings.into_iter().find(|it| it.rule.name == RULE.name);
            finding.map(|it| it.remedies.into_iter().map(|it| it.title).collect::<Vec<_>>())
        };
        assert_eq!(room("7 kW"), None);
        assert_eq!(room("640 kW"), Some(vec!["write `0.64 kW`".to_string()]));
    }

    #[test]
    fn a_test_that_gains_pressure_was_pumped_up_again() {
        let test = |end: &str| {
            messages(&RULE, &format!("records: {{pressure-test: {{pressure: 6 bar, end-pressure: {end}}}}}\n"))
        };
        assert_eq!(test("6.5 bar"), [""; 0]);
        assert_eq!(
            test("9 bar"),
            ["in records, the pressure rose from 6.0 bar to 9.0 bar during a test; a pipe left alone gains none"]
        );
    }

    #[test]
    fn a_share_is_at_most_the_whole() {
        let layer = |layer: &str| {
            let text = format!(
                "floors:\n  barn:\n    plates: {{coverage: 100 %}}\n    layers: [{{material: mineral wool, {layer}}}]\n"
            );
            messages(&RULE, &text)
        };
        assert!(layer("joist-share: 12 %, compression: 3 mm").is_empty());
        assert_eq!(
            layer("joist-share: 300 %"),
            ["joist-share 300 % of floors/barn/layers/1 cannot be; 0 % to 60 % is usual"]
        );
        assert_eq!(layer("compression: 1000000000 m").len(), 1);
        let plates = |plates: &str| messages(&RULE, &format!("floors: {{barn: {{plates: {{{plates}}}}}}}\n"));
        assert_eq!(
            plates("coverage: 140 %"),
            ["plates/coverage 140 % of floors/barn cannot be; 5 % to 100 % is usual"]
        );
        assert_eq!(plates("width: 10 m").len(), 1);
        let zone = |width: &str| messages(&RULE, &format!("rooms: {{hall: {{edge-zone: {{width: {width}}}}}}}\n"));
        assert_eq!(zone("0 m"), ["edge-zone/width 0 mm of rooms/hall is hard to believe; 100 mm to 1.0 m is usual"]);
        assert!(zone("7 m").is_empty());
        let fabric = |u: &str| {
            messages(&RULE, &format!("rooms: {{hall: {{fabric: {{roof: {{area: 9 m², u-value: {u}}}}}}}}}\n"))
        };
        assert!(fabric("0.16 W/(m²·K)").is_empty());
        assert_eq!(fabric("160 W/(m²·K)").len(), 1);
    }

    #[test]
    fn a_pipe_lies_within_its_layer() {
        let board = |layer: &str| {
            let text = format!(
                "floors: {{screeded: {{method: bonded-board, below: heated room, layers: [{{material: tile, thickness: 8 mm}}, {layer}]}}}}\n"
            );
            messages(&RULE, &text)
        };
        assert!(board("{material: XPS, thickness: 16 mm, pipe: at top}").is_empty());
        assert_eq!(
            board("{material: XPS, thickness: 10 mm, pipe: at top}"),
            ["the pipe of floor screeded is 16 mm thick and cannot lie in a layer of 10 mm"]
        );
        assert_eq!(
            board("{material: concrete, thickness: 100 mm, pipe: 90 mm}"),
            ["the pipe of floor screeded reaches 106 mm up in a layer of 100 mm and sticks out of it"]
        );
    }

    #[test]
    fn a_screed_does_not_conduct_like_a_metal() {
        let layer = |layer: &str| messages(&RULE, &format!("floors:\n  screeded:\n    layers: [{layer}]\n"));
        let wanted =
            "conductivity 12 W/(m·K) of floors/screeded/layers/1 is hard to believe; 0.1 W/(m·K) to 5 W/(m·K) is usual";
        assert_eq!(layer("{material: cement screed, conductivity: 12 W/mK}"), [wanted]);
        assert!(layer("{material: aluminium, conductivity: 160 W/mK}").is_empty());
        assert!(layer("{material: our alloy, conductivity: 90 W/mK}").is_empty());
    }

    /// One slip, one finding: what rests on it is not worked out; a departure lets it be worked with.
    #[test]
    fn what_rests_on_a_slip_is_not_told() {
        let told = |text: &str| -> Vec<(&str, Vec<String>)> {
            let found = check(text).findings.into_iter();
            found.map(|it| (it.rule.name, it.remedies.into_iter().map(|it| it.title).collect())).collect()
        };
        let hall = |celsius: &str, more: &str| {
            let text = format!(
                "rooms:\n  hall: {{use: office, temperature: {celsius} °C, heat-loss: 590 W, heat-loss-method: room by room, floor: screeded, area: \
                 12 m², height: 2.4 m}}\n  study: {{use: office, temperature: 20 °C, heat-loss: 590 W, heat-loss-method: room by room, floor: \
                 screeded, area: 11 m², height: 2.4 m}}\n{more}"
            );
            told(&text)
        };
        assert_eq!(hall("20", ""), []);
        for slip in ["200", "-20"] {
            assert_eq!(hall(slip, ""), [(RULE.name, vec!["write `20 °C`".to_string()])], "{slip}");
        }
        let accepted = "departures:\n  - {rule: value-not-believable, at: rooms/hall, reason: a drying room, agreed-by: engineer, until: 2030-01-01}\n";
        assert!(hall("42", accepted).iter().any(|(rule, _)| *rule == "room-short-of-heat"));
    }

    #[test]
    fn a_foam_does_not_conduct_like_wood() {
        let foam = |conductivity: &str| {
            let text = format!(
                "floors:\n  screeded:\n    layers: [{{material: PIR board, conductivity: {conductivity} W/mK}}]\n"
            );
            check(&text)
                .findings
                .into_iter()
                .find(|it| it.rule.name == RULE.name)
                .map(|it| it.remedies[0].title.clone())
        };
        assert_eq!(foam("0.022"), None);
        assert_eq!(foam("0.22").as_deref(), Some("write `0.022 W/mK`"));
    }

    #[test]
    fn a_slipped_point_is_offered_back() {
        let outcome = check(
            "loops:\n  L1: {manifold: M1, port: 1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m}\n  L2: {manifold: \
             M1, port: 2, room: study, pipe: PEX-16, spacing: 15 mm, tails: 12 m}\n",
        );
        let finding = outcome.findings.iter().find(|it| it.rule.name == RULE.name).unwrap();
        assert_eq!(finding.remedies[0].title, "write `150 mm`");
        let flow =
            "loops:\n  L1: {manifold: M1, room: hall, pipe: PEX-16, spacing: 150 mm, tails: 10 m, flow: 210 l/min}\n";
        let wanted = "flow 210.00 l/min of loops/L1 is hard to believe; 0.02 l/min to 30.00 l/min is usual";
        assert_eq!(messages(&RULE, flow), [wanted]);
    }

    #[test]
    fn curves_and_tables_go_one_way() {
        let manifold = |keys: &str| messages(&RULE, &format!("manifolds: {{M1: {{ports: 4, {keys}}}}}\n"));
        let curve = |points: &str| manifold(&format!("pump: {{curve: [{points}]}}"));
        let rising = "in manifolds/M1, at point 2 of the pump curve the flow has to rise and the pressure may not";
        assert_eq!(curve("{flow: 0 l/min, head: 10 kPa}, {flow: 4 l/min, head: 20 kPa}"), [rising]);
        assert_eq!(curve("{flow: 4 l/min, head: 20 kPa}, {flow: 0 l/min, head: 10 kPa}"), [rising]);
        assert_eq!(curve("{flow: 0 l/min, head: 10 kPa}"), ["in manifolds/M1, a pump curve needs two points at least"]);
        assert_eq!(curve("{flow: 0 l/min, head: 20 kPa}, {flow: 4 l/min, head: 20 kPa}"), [""; 0]);
        let table = "in manifolds/M1, point 2 of the presetting table does not rise above the one before";
        let settings = "valves: {settings: [{turns: 2, kv: 0.5 m³/h}, {turns: 1, kv: 0.2 m³/h}]}";
        assert_eq!(manifold(settings), [table]);
    }

    #[test]
    fn numbers_are_rewritten_with_their_unit() {
        assert_eq!(times("650 mm", 0.1).as_deref(), Some("65 mm"));
        assert_eq!(times("0.15mm", 1000.0).as_deref(), Some("150mm"));
        assert_eq!(times("\"650 mm\"", 0.1), None);
        assert_eq!(times("1e3 mm", 0.1), None);
        assert_eq!(times("0.5 to 5 l/s", 0.1), None);
        assert_eq!(times("", 0.1), None);
    }
}
