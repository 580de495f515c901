//! The schedule: what is laid and set at each manifold, for the site.

mod csv;
mod json;
mod text;

pub use self::csv::csv;
pub use json::json;
pub use text::text;

use check::{Outcome, length_to_cut};
use design::{Loop, Manifold, Pipe, Presetting};
use engineering::water::coils::cut;
use engineering::water::valves::PresettingTable;
use quantity::*;
use std::collections::BTreeMap;
use workings::{LoopWorkings, ManifoldWorkings, ValueOf, Worked, spacing_drawn};

/// The loops of a design by manifold, and the coils that they are cut from.
pub(crate) struct Schedule<'o> {
    pub manifolds: Vec<Ports<'o>>,
    /// Loops that are joined to no manifold.
    pub unjoined: Vec<Row<'o>>,
    pub coils: Vec<CoilCut<'o>>,
    /// Loops that no coil of those given holds, with what is to be cut and the longest coil.
    pub too_long: Vec<TooLong<'o>>,
    /// What could not be worked out, by the name of its figure, and what would let it.
    pub missing: Vec<(String, String)>,
}

/// A manifold and its loops, in the order of the ports.
pub(crate) struct Ports<'o> {
    pub name: &'o str,
    pub storey: Option<&'o str>,
    pub flow: Option<VolumeFlow>,
    pub pressure_drop: Option<Pressure>,
    pub head_needed: Option<Pressure>,
    /// Whether that is the upper end of what may be needed.
    pub head_is_upper_end: bool,
    pub head_available: Option<Pressure>,
    /// What the presettings count for.
    pub set_for: Option<SetFor>,
    /// What those that are worked out count for, where they stand beside some that are stated for another pressure of the pump.
    pub worked_out_for: Option<Pressure>,
    pub rows: Vec<Row<'o>>,
}

/// The pressure of the pump for which the presettings of a manifold count.
#[derive(Debug, Clone, Copy)]
pub(crate) enum SetFor {
    /// It keeps its pressure, and is set to what is needed.
    Needed(Pressure),
    /// It keeps its pressure, and all that it offers belongs to the presettings that the design states.
    Offered(Pressure),
    /// What its curve gives at the flow.
    Curve(Pressure),
}

/// A loop.
pub(crate) struct Row<'o> {
    pub name: &'o str,
    pub port: Option<u32>,
    pub rooms: Vec<&'o str>,
    pub pipe: Option<&'o str>,
    pub spacing: Option<Length>,
    /// As it is laid out, where that is another than the stated one; nobody lays to tenths of a millimetre.
    pub spacing_laid: Option<Length>,
    /// As laid, where the records say so; else as designed.
    pub length: Option<Length>,
    /// As designed, where it was laid otherwise.
    pub length_designed: Option<Length>,
    /// Whether the length counts tails that nobody has laid out or stated.
    pub tails_assumed: bool,
    /// How much of its tails is to be insulated, where any is.
    pub insulated_tails: Option<Length>,
    /// The length with what is lost in cutting.
    pub length_to_cut: Option<Length>,
    pub flow: Option<VolumeFlow>,
    pub presetting: Option<Set>,
    /// What it gets with the valves as they are set, where they are set or can be set to the settings of a table only.
    pub flow_as_set: Option<VolumeFlow>,
    pub pressure_drop: Option<Pressure>,
    pub flow_temperature: Option<Temperature>,
    pub return_temperature: Option<Temperature>,
    pub output: Option<Power>,
}

/// How far a balancing valve is opened.
pub(crate) struct Set {
    pub kv: Option<FlowCoefficient>,
    /// By the manifold's table of settings, where it has one.
    pub turns: Option<f64>,
    /// Whether the design states it; otherwise it is worked out.
    pub stated: bool,
}

/// A coil of pipe and the loops that are cut from it.
pub(crate) struct CoilCut<'o> {
    pub pipe: &'o str,
    pub size: Length,
    pub pieces: Vec<(&'o str, Length)>,
    pub left: Length,
}

/// A loop that fits in no coil.
pub(crate) struct TooLong<'o> {
    pub name: &'o str,
    pub pipe: &'o str,
    pub length: Length,
    pub longest: Length,
}

impl<'o> Schedule<'o> {
    pub fn of(outcome: &'o Outcome) -> Schedule<'o> {
        let mut missing = Vec::new();
        let (design, worked) = (&outcome.design, &outcome.workings);
        let mut unjoined = Vec::new();
        let mut of_manifolds: Vec<Vec<Row>> = design.manifolds.iter().map(|_| Vec::new()).collect();
        for (at, it) in worked.loops.iter().enumerate() {
            let Some(row) = Row::of(outcome, at, &mut missing) else { continue };
            match it.manifold.and_then(|manifold| of_manifolds.get_mut(manifold)) {
                Some(rows) => rows.push(row),
                None => unjoined.push(row),
            }
        }
        let manifolds = design.manifolds.iter().zip(&worked.manifolds).zip(of_manifolds);
        let manifolds = manifolds.filter(|(_, rows)| !rows.is_empty()).map(|(((name, entry), it), mut rows)| {
            rows.sort_by_key(|row| row.port.unwrap_or(u32::MAX));
            let storey = entry.value.storey.as_ref().map(|storey| storey.value.name.as_str());
            let ManifoldWorkings { volume_flow, pressure_drop, head_needed, head_available, .. } = it;
            let (flow, pressure_drop) = (volume_flow.value().ok(), pressure_drop.value().ok());
            let (head_needed, head_available) = (head_needed.value().ok(), head_available.value().ok());
            let head_is_upper_end = it.head_is_upper_end();
            let set_for = SetFor::of(outcome, &entry.value, it);
            let worked_out_for = match set_for {
                Some(SetFor::Offered(offers)) if has_worked_out_settings(&rows) => {
                    at_most_needed(it).filter(|needed| *needed < offers)
                }
                _ => None,
            };
            Ports {
                name,
                storey,
                flow,
                pressure_drop,
                head_needed,
                head_is_upper_end,
                head_available,
                set_for,
                worked_out_for,
                rows,
            }
        });
        let manifolds = manifolds.collect();
        let (coils, too_long) = coils(outcome);
        Schedule { manifolds, unjoined, coils, too_long, missing }
    }

    /// Whether a setting is not stated but worked out.
    pub fn has_worked_out_settings(&self) -> bool {
        self.manifolds.iter().any(Ports::has_worked_out_settings)
    }
}

impl Ports<'_> {
    pub fn has_worked_out_settings(&self) -> bool {
        has_worked_out_settings(&self.rows)
    }

    /// What is worked out of the manifold as a whole, in words.
    pub fn figures(&self) -> Vec<String> {
        let figures = [
            self.flow.map(|flow| format!("{flow} in all")),
            self.pressure_drop.map(|drop| format!("pressure drop {drop}")),
            self.head_needed.map(|head| match self.head_is_upper_end {
                true => format!("head needed up to {head}"),
                false => format!("head needed {head}"),
            }),
            self.head_available.map(|head| format!("pump offers {head}")),
            self.set_for.map(|it| match it {
                SetFor::Needed(head) => format!("presettings are for the pump set to {head}"),
                SetFor::Offered(head) => format!("presettings stated are for all of the pump's {head}"),
                SetFor::Curve(head) => format!("presettings are for the {head} that the pump's curve gives"),
            }),
            self.worked_out_for.map(|head| format!("those worked out (*) are for {head} and do not hold beside them")),
        ];
        figures.into_iter().flatten().collect()
    }
}

impl SetFor {
    fn of(outcome: &Outcome, given: &Manifold, it: &ManifoldWorkings) -> Option<SetFor> {
        let design = &outcome.design;
        let pump = given.pump.as_ref().or(design.heat_source.pump.as_ref());
        let points = pump.iter().flat_map(|pump| pump.value.curve.iter());
        let offers = it.head_available.value().ok();
        if points.filter(|point| point.flow.is_some() && point.head.is_some()).count() > 1 {
            return it.head_as_set.value().ok().or(offers).map(SetFor::Curve);
        }
        let is_stated = |at: &usize| design.loops.at(*at).is_some_and(|(_, it)| it.value.presetting.is_some());
        if it.loops.iter().any(is_stated) {
            return offers.map(SetFor::Offered);
        }
        at_most_needed(it).map(SetFor::Needed)
    }

    pub fn head(self) -> Pressure {
        match self {
            SetFor::Needed(head) | SetFor::Offered(head) | SetFor::Curve(head) => head,
        }
    }
}

fn has_worked_out_settings(rows: &[Row]) -> bool {
    rows.iter().filter_map(|row| row.presetting.as_ref()).any(|set| !set.stated)
}

/// What the manifold needs of a pump that keeps its pressure, or all that the pump offers.
fn at_most_needed(it: &ManifoldWorkings) -> Option<Pressure> {
    let needed = it.pressure_across.value().ok()? + it.common_pressure_drop.value().ok()?;
    Some(it.head_available.value().map_or(needed, |offers| offers.min(needed)))
}

impl<'o> Row<'o> {
    fn of(outcome: &'o Outcome, at: usize, missing: &mut Vec<(String, String)>) -> Option<Row<'o>> {
        let (name, entry) = outcome.design.loops.at(at)?;
        let (given, it) = (&entry.value, outcome.workings.loops.get(at)?);
        let mut wants = Wants { outcome, name, missing };
        let designed = wants.value("length", &it.length);
        let laid = as_laid(outcome, at);
        let length = laid.or(designed);
        Some(Row {
            name,
            port: given.port.map(|port| port.value),
            rooms: it.rooms.iter().filter_map(|room| Some(outcome.design.rooms.at(*room)?.0)).collect(),
            pipe: given.pipe.as_ref().map(|pipe| pipe.value.0.as_str()),
            spacing: given.spacing.map(|spacing| spacing.value),
            spacing_laid: spacing_laid_otherwise(outcome, at),
            length,
            length_designed: designed
                .filter(|designed| laid.is_some_and(|laid| laid.to_string() != designed.to_string())),
            tails_assumed: laid.is_none() && tails_assumed(given, it),
            insulated_tails: insulated_tails(given),
            length_to_cut: length.map(|length| length_to_cut(&outcome.house, length)),
            flow: wants.value("volume-flow", &it.volume_flow),
            presetting: presetting(outcome, at, it),
            flow_as_set: flow_as_set(it),
            pressure_drop: wants.value("pressure-drop", &it.pressure_drop),
            flow_temperature: wants.value("flow-temperature", &it.flow_temperature),
            return_temperature: wants.value("return-temperature", &it.return_temperature),
            output: wants.value("heat-up", &it.heat_up),
        })
    }
}

/// The length of a loop as it was laid, its corners rounded, where the records have its route.
pub(crate) fn as_laid(outcome: &Outcome, at: usize) -> Option<Length> {
    let laid = outcome.workings.plan.as_laid.get(&at)?;
    let pipe = &outcome.workings.loops.get(at)?.pipe;
    Some(laid.route.rounded_length(pipe.as_ref().map_or(Length::ZERO, |pipe| pipe.least_bend_radius)))
}

/// The spacing at which a loop is laid out, where that is not what it states: the usual distance from run to run, as the workings
/// have it and the dimensions on the plan.
pub(crate) fn spacing_laid_otherwise(outcome: &Outcome, at: usize) -> Option<Length> {
    let same = Length::millimetres(0.5);
    let stated = outcome.design.loops.at(at)?.1.value.spacing?.value;
    outcome.workings.loops.get(at)?.laid.as_ref()?.as_ref().ok()?;
    let laid = spacing_drawn(&outcome.workings, at)?.value;
    ((laid - stated).abs() >= same).then_some(laid)
}

/// Whether the length of a loop counts tails that are neither laid out nor stated.
pub(crate) fn tails_assumed(given: &Loop, it: &LoopWorkings) -> bool {
    let drawn = matches!((&it.route, &it.laid), (Some(Ok(_)), None));
    let led = matches!(&it.laid, Some(Ok(laid)) if laid.without_tails.is_none());
    !drawn && !led && given.tails.is_none() && given.length.is_none() && it.length.is_ok()
}

/// How much of the tails of a loop is to be insulated, where any is.
pub(crate) fn insulated_tails(given: &Loop) -> Option<Length> {
    given.insulated_tails.map(|it| it.value).filter(|it| *it > Length::ZERO)
}

/// Keeps what stands in the way of the figures of a loop, each once.
struct Wants<'w, 'o> {
    outcome: &'o Outcome,
    name: &'o str,
    missing: &'w mut Vec<(String, String)>,
}

impl Wants<'_, '_> {
    fn value<T: Copy>(&mut self, figure: &str, worked: &Worked<T>) -> Option<T> {
        match worked {
            Ok(figure) => Some(figure.value),
            Err(gap) => {
                let wants = gap.wants(&self.outcome.design);
                let known = |(name, wanted): &(String, String)| {
                    *wanted == wants && name.strip_prefix("loops.").is_some_and(|rest| rest.starts_with(self.name))
                };
                if !self.missing.last().is_some_and(known) {
                    self.missing.push((format!("loops.{}.{figure}", self.name), wants));
                }
                None
            }
        }
    }
}

fn flow_as_set(it: &LoopWorkings) -> Option<VolumeFlow> {
    let (set, flow, volume) = (it.flow_as_set.value().ok()?, it.flow.value().ok()?, it.volume_flow.value().ok()?);
    (flow > MassFlow::ZERO).then(|| volume * (set / flow))
}

/// The setting that is stated, or that which gives the loop the flow that it needs.
pub(crate) fn presetting(outcome: &Outcome, at: usize, it: &LoopWorkings) -> Option<Set> {
    let (_, entry) = outcome.design.loops.at(at)?;
    let manifold = it.manifold.and_then(|manifold| outcome.design.manifolds.at(manifold));
    let points = manifold.map_or_else(Vec::new, |(_, manifold)| workings::settings(&manifold.value));
    let table = PresettingTable::new(&points).ok();
    let turns_for = |kv| table.as_ref().and_then(|table| table.setting_for(kv).ok());
    let stated = entry.value.presetting.map(|presetting| presetting.value);
    Some(match stated {
        Some(Presetting::Turns(turns)) => {
            Set { kv: table.as_ref().and_then(|table| table.kv_at(turns).ok()), turns: Some(turns), stated: true }
        }
        Some(Presetting::Kv(kv)) => Set { kv: Some(kv), turns: turns_for(kv), stated: true },
        None => match &it.presetting_turns {
            Some(turns) => {
                let turns = turns.value().ok()?.get();
                Set { kv: table.as_ref().and_then(|table| table.kv_at(turns).ok()), turns: Some(turns), stated: false }
            }
            None => Set { kv: Some(it.presetting_kv.value().ok()?), turns: None, stated: false },
        },
    })
}

/// A spacing as it is laid, for people.
pub(crate) fn whole_millimetres(spacing: Length) -> String {
    format!("{:.0} mm", spacing.in_millimetres())
}

/// A setting for people; with a star where it is worked out.
pub(crate) fn setting(set: &Set) -> String {
    let setting = match (set.turns, set.kv) {
        (Some(turns), _) => format!("{turns:.2} turns"),
        (None, Some(kv)) => kv.to_string(),
        (None, None) => "-".into(),
    };
    if set.stated { setting } else { format!("{setting} *") }
}

/// The coils of every pipe: loops that name a coil are cut from such, the others from the sizes that the pipe comes in.
fn coils(outcome: &Outcome) -> (Vec<CoilCut<'_>>, Vec<TooLong<'_>>) {
    type Piece<'o> = (&'o str, Length);
    let design = &outcome.design;
    // By pipe and, where the loop names one, by coil in millimetres.
    let mut groups: BTreeMap<(&str, Option<u64>), Vec<Piece>> = BTreeMap::new();
    for (at, ((name, entry), it)) in design.loops.iter().zip(&outcome.workings.loops).enumerate() {
        let length = as_laid(outcome, at).or(it.length.value().ok());
        let (Some(pipe), Some(length)) = (&entry.value.pipe, length) else { continue };
        let coil = entry.value.coil.map(|coil| coil.value.in_millimetres().round() as u64);
        groups.entry((&pipe.value.0, coil)).or_default().push((name, length_to_cut(&outcome.house, length)));
    }
    let (mut cuts, mut too_long) = (Vec::new(), Vec::new());
    for ((pipe, named), pieces) in groups {
        let sizes: Vec<Length> = match named {
            Some(millimetres) => vec![Length::millimetres(millimetres as f64)],
            None => design
                .pipe(pipe)
                .iter()
                .flat_map(|it: &std::borrow::Cow<Pipe>| it.coils.clone())
                .map(|it| it.value)
                .collect(),
        };
        // What no coil holds is cut from none.
        let longest = sizes.iter().copied().fold(Length::ZERO, Length::max);
        let (pieces, long): (Vec<Piece>, Vec<Piece>) = pieces.into_iter().partition(|(_, length)| *length <= longest);
        if !sizes.is_empty() {
            too_long.extend(long.into_iter().map(|(name, length)| TooLong { name, pipe, length, longest }));
        }
        let lengths: Vec<Length> = pieces.iter().map(|(_, length)| *length).collect();
        for coil in cut(&lengths, &sizes).unwrap_or_default() {
            let pieces = coil.pieces.iter().map(|at| pieces[*at]).collect();
            cuts.push(CoilCut { pipe, size: coil.size, pieces, left: coil.left });
        }
    }
    (cuts, too_long)
}
