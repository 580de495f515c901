//! What the records say of rooms and loops: when the pipe was covered, the screed, the covering.

use crate::Inspection;
use design::{Design, Given, List, Placed, Ref, Room, Screed};
use engineering::heat::materials::Kind;
use jiff::SignedDuration;
use jiff::civil::Date;
use quantity::Duration;
use workings::{LoopWorkings, Workings};

/// The days that the records give to the rooms.
pub(crate) struct OnSite {
    rooms: Vec<RoomOnSite>,
    first_covered: Given<Date>,
}

/// The days that the records give to a room. A record that names rooms counts for them before one that
/// names none.
#[derive(Default, Clone, Copy)]
pub(crate) struct RoomOnSite {
    /// Its pipe was first covered.
    pub covered: Given<Date>,
    /// Its screed was laid; of several pours the last.
    pub screed_laid: Given<Date>,
    /// Its covering was laid; the first part of it.
    pub covering_laid: Given<Date>,
}

impl OnSite {
    pub fn of(inspection: &Inspection) -> OnSite {
        let records = &inspection.design.records;
        let laid = |named: bool| {
            let screeds = records.screeds.iter().filter(move |it| it.rooms.is_empty() != named);
            screeds.filter_map(|it| Some((&it.rooms, it.laid?)))
        };
        let coverings = |named: bool| {
            let coverings = records.coverings_laid.iter().filter(move |it| it.rooms.is_empty() != named);
            coverings.filter_map(|it| Some((&it.rooms, it.date?)))
        };
        let everywhere = RoomOnSite {
            covered: laid(false).map(|(_, day)| day).chain(records.pipe_covered).min_by_key(|day| day.value),
            screed_laid: laid(false).map(|(_, day)| day).max_by_key(|day| day.value),
            covering_laid: coverings(false).map(|(_, day)| day).min_by_key(|day| day.value),
        };
        let mut of_its_own = vec![RoomOnSite::default(); inspection.design.rooms.len()];
        for (rooms, day) in laid(true) {
            for room in named(inspection, rooms) {
                let it = &mut of_its_own[room];
                it.covered = it.covered.into_iter().chain([day]).min_by_key(|day| day.value);
                it.screed_laid = it.screed_laid.into_iter().chain([day]).max_by_key(|day| day.value);
            }
        }
        for (rooms, day) in coverings(true) {
            for room in named(inspection, rooms) {
                let it = &mut of_its_own[room];
                it.covering_laid = it.covering_laid.into_iter().chain([day]).min_by_key(|day| day.value);
            }
        }
        let first_covered =
            of_its_own.iter().filter_map(|it| it.covered).chain(everywhere.covered).min_by_key(|day| day.value);
        let rooms = of_its_own.into_iter().map(|own| RoomOnSite {
            covered: own.covered.or(everywhere.covered),
            screed_laid: own.screed_laid.or(everywhere.screed_laid),
            covering_laid: own.covering_laid.or(everywhere.covering_laid),
        });
        OnSite { rooms: rooms.collect(), first_covered }
    }

    pub fn room(&self, room: usize) -> RoomOnSite {
        self.rooms.get(room).copied().unwrap_or_default()
    }

    /// The day the pipe of a loop was first covered, in whichever of its rooms.
    pub fn covered(&self, of_loop: &LoopWorkings) -> Given<Date> {
        if of_loop.rooms.is_empty() {
            return self.first_covered;
        }
        of_loop.rooms.iter().filter_map(|room| self.room(*room).covered).min_by_key(|day| day.value)
    }

    /// The day the first pipe of all was covered.
    pub fn first_covered(&self) -> Given<Date> {
        self.first_covered
    }
}

/// The rooms that a record names, by their position.
pub(crate) fn named<'i>(inspection: &Inspection<'i>, rooms: &'i List<Ref<Room>>) -> impl Iterator<Item = usize> + 'i {
    let design = inspection.design;
    rooms.iter().filter_map(|room| design.rooms.position(&room.name))
}

/// The rooms that a record is about: those it names, or all.
pub(crate) fn rooms_of<'i>(
    inspection: &Inspection<'i>,
    rooms: &'i List<Ref<Room>>,
) -> impl Iterator<Item = usize> + 'i {
    let all = if rooms.is_empty() { 0..inspection.design.rooms.len() } else { 0..0 };
    named(inspection, rooms).chain(all)
}

/// What the screed round the pipe of a room is bound with; nothing where the pipe lies in no screed.
pub(crate) fn screed_of(inspection: &Inspection, room: usize) -> Option<Screed> {
    let worked = inspection.workings.rooms.get(room)?;
    let floor = worked.floor.filter(|_| !worked.loops.is_empty())?;
    screed_of_floor(inspection.design, inspection.workings, floor)
}

/// What the layer of a floor that holds the pipe is bound with; nothing where that is no screed.
pub fn screed_of_floor(design: &Design, workings: &Workings, floor: usize) -> Option<Screed> {
    let worked = workings.floors.get(floor)?;
    let layer = *worked.pipe_layer.as_ref().ok()?;
    let given = design.floors.at(floor)?.1.value.layers.get(layer)?;
    let by_material = || match worked.layers.get(layer)?.material?.kind {
        Kind::CementScreed => Some(Screed::SandCement),
        Kind::CalciumSulphateScreed => Some(Screed::CalciumSulphate),
        Kind::MasticAsphalt => Some(Screed::MasticAsphalt),
        _ => None,
    };
    given.screed.map(|screed| screed.value).or_else(by_material)
}

/// How many days one day is after another; less than nothing if it is before it.
pub(crate) fn days_after(later: &Placed<Date>, earlier: &Placed<Date>) -> Duration {
    Duration::days(later.value.duration_since(earlier.value).as_hours() as f64 / 24.0)
}

/// The day so many days after another.
pub(crate) fn day_after(day: Date, days: Duration) -> Date {
    day.saturating_add(SignedDuration::from_hours(days.in_days().ceil() as i64 * 24))
}
