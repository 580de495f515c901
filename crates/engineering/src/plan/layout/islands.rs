//! Islands: rooms of a storey whose loops have nothing to do with those of other rooms, such as the flats of a floor.

use super::super::box_tree::BoxTree;
use super::super::{Bounds, Route};
use super::storey::{IN_A_WALL, home_of};
use super::{Floor, Laid, NoField, Passage, Storey, TooNear, Wanted};
use quantity::Length;
use std::collections::BTreeMap;
use std::ops::ControlFlow;

/// Some rooms of a storey with their loops, all numbered anew.
pub(super) struct Island {
    pub storey: Storey,
    pub wanted: Vec<Wanted>,
    /// The number of each loop in the storey.
    loops: Vec<usize>,
    /// The number of each room in the storey.
    rooms: Vec<usize>,
}

impl Island {
    /// The loops with their numbers in the storey, and what is said of them.
    pub fn in_storey(
        &self,
        laid: Vec<Result<Laid, NoField>>,
    ) -> impl Iterator<Item = (usize, Result<Laid, NoField>)> + '_ {
        let of_storey = |laid: Laid| Laid {
            rooms: laid.rooms.iter().map(|&(room, covered)| (self.rooms[room], covered)).collect(),
            without_tails: laid.without_tails.map(|no| no.renumbered(|room| self.rooms[room], |it| self.loops[it])),
            too_near: laid.too_near.map(|it| TooNear { other: it.other.map(|other| self.loops[other]), ..it }),
            ..laid
        };
        self.loops.iter().copied().zip(laid.into_iter().map(move |laid| laid.map(of_storey)))
    }
}

/// The islands of a storey that have loops: rooms with a passage, a loop or the place of a manifold in common are on one,
/// and so are rooms that touch.
pub(super) fn of(storey: &Storey, wanted: &[Wanted]) -> Vec<Island> {
    /// The ports of a manifold lie within this, in metres.
    const ROUND_MANIFOLD: f64 = 0.3;
    /// Drawn pipe bears on what is laid within a few spacings of it, in metres.
    const FROM_DRAWN: f64 = 2.0;
    let count = storey.floors.len();
    let mut groups = Groups((0..count + wanted.len()).collect());
    for passage in &storey.passages {
        groups.join(passage.rooms[0], passage.rooms[1]);
        for of_loop in passage.only.iter().filter(|it| **it < wanted.len()) {
            groups.join(passage.rooms[0], count + of_loop);
        }
    }
    let tree = BoxTree::new(storey.floors.iter().map(|floor| floor.outline.bounds()));
    let _ = tree.pairs(|one, other| {
        groups.join(one as usize, other as usize);
        ControlFlow::Continue(())
    });
    for (number, wanted) in wanted.iter().enumerate() {
        for room in wanted.also.iter().copied().chain([wanted.room]).filter(|room| *room < count) {
            groups.join(room, count + number);
        }
        let Some(at) = wanted.manifold else { continue };
        let near = Bounds::around([at]).wider(ROUND_MANIFOLD);
        let _ = tree.touching(&near, |room| {
            groups.join(room as usize, count + number);
            ControlFlow::Continue(())
        });
        let mut beside = Vec::new();
        let _ = tree.touching(&Bounds::around([at]).wider(IN_A_WALL), |room| {
            beside.push(room as usize);
            ControlFlow::Continue(())
        });
        beside.sort_unstable();
        if let Some(home) = home_of(&storey.floors, beside.into_iter(), at) {
            groups.join(home, count + number);
        }
    }
    let mut members: BTreeMap<usize, (Vec<usize>, Vec<usize>)> = BTreeMap::new();
    for number in 0..wanted.len() {
        members.entry(groups.of(count + number)).or_default().1.push(number);
    }
    let mut new_numbers = vec![0; count];
    for (room, new_number) in new_numbers.iter_mut().enumerate() {
        if let Some((rooms, _)) = members.get_mut(&groups.of(room)) {
            *new_number = rooms.len();
            rooms.push(room);
        }
    }
    let mut passages: BTreeMap<usize, Vec<Passage>> = BTreeMap::new();
    for passage in &storey.passages {
        passages.entry(groups.of(passage.rooms[0])).or_default().push(passage.clone());
    }
    let island = |(group, (rooms, loops)): (usize, (Vec<usize>, Vec<usize>))| {
        let room = |room: usize| new_numbers.get(room).copied().unwrap_or(room);
        let passage = |passage: &Passage| Passage {
            rooms: passage.rooms.map(room),
            only: passage.only.iter().map(|of_loop| loops.partition_point(|it| it < of_loop)).collect(),
            ..passage.clone()
        };
        let floors: Vec<Floor> = rooms.iter().map(|&room| storey.floors[room].clone()).collect();
        let passages = passages.get(&group).into_iter().flatten().map(passage).collect();
        let renumbered = |&number: &usize| {
            let it = &wanted[number];
            Wanted { room: room(it.room), also: it.also.iter().map(|it| room(*it)).collect(), ..it.clone() }
        };
        let wanted = loops.iter().map(renumbered).collect();
        let corners = floors.iter().flat_map(|floor| floor.outline.corners().iter().copied());
        let reach = Bounds::around(corners).wider(FROM_DRAWN);
        let near = |it: &&(Route, Length)| it.0.bounds().touches(&reach);
        let drawn = storey.drawn.iter().filter(near).cloned().collect();
        Island { storey: Storey { floors, passages, drawn }, wanted, loops, rooms }
    };
    members.into_iter().map(island).collect()
}

/// Numbers in groups: of each an earlier one of the same group, or itself.
struct Groups(Vec<usize>);

impl Groups {
    fn of(&mut self, mut number: usize) -> usize {
        while self.0[number] != number {
            self.0[number] = self.0[self.0[number]];
            number = self.0[number];
        }
        number
    }

    fn join(&mut self, one: usize, other: usize) {
        let (one, other) = (self.of(one), self.of(other));
        self.0[one.max(other)] = one.min(other);
    }
}
