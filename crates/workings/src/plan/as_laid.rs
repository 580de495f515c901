//! Routes as they were laid, from the record of what was built: where they run and what they go through.

use super::ground::Ground;
use super::passages::{self, Doorway};
use super::{Crossing, Passage, PlanWorkings, StoreyName, Stretch, place_of_leg, storey_of};
use crate::Workings;
use design::Design;
use engineering::plan;
use std::collections::BTreeMap;

/// A route as it was laid.
#[derive(Debug, Clone)]
pub struct AsLaid {
    pub route: plan::Route,
    /// Cut where it goes from one room to another.
    pub stretches: Vec<Stretch>,
    /// Where it crosses walls and joints, in the order of the route.
    pub passages: Vec<Passage>,
    /// The same by what is crossed, with the sleeves there.
    pub crossings: Vec<Crossing>,
}

/// The routes as they were laid that can be followed, by loop.
pub(super) fn as_laid(design: &Design, workings: &Workings, openings: &[Vec<Doorway>]) -> BTreeMap<usize, AsLaid> {
    let mut found = BTreeMap::new();
    let Some(record) = &design.records.as_built else { return found };
    let mut grounds: BTreeMap<StoreyName, Ground> = BTreeMap::new();
    let mut count = 0;
    for (name, entry) in record.routes.iter() {
        if count >= PlanWorkings::MOST_PASSAGES {
            break;
        }
        let (Some(at), Some(given)) = (design.loops.position(name), design.loops.get(name)) else { continue };
        let Ok(route) = super::route(&entry.value) else { continue };
        let storey = storey_of(design, given);
        let ground = grounds.entry(storey).or_insert_with(|| Ground::new(design, workings, storey, openings));
        let lying = super::lying(&route, &workings.loops[at], |_| true);
        let place = |along| place_of_leg(&entry.value, entry.name_place, route.leg_at(along));
        let (passages, _) = passages::passages(design, ground, &lying, place);
        count += passages.len();
        let crossings = passages::crossings(design, given, &passages);
        found.insert(at, AsLaid { stretches: ground.cut(&lying), route, passages, crossings });
    }
    found
}
