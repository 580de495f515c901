//! Doorways: whether a pipe goes through an opening or through the wall.

use super::{Lines, Meeting};
use quantity::{Length, Share};

/// An opening in a wall, by its two ends along the line of the wall. Which end comes first does not
/// matter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opening {
    /// The number of the wall among the [`Lines`].
    pub wall: usize,
    /// From the first point of the wall to one side of the opening.
    pub from: Length,
    /// From the first point of the wall to the other side.
    pub to: Length,
}

/// The openings of many walls, made ready to be asked about many crossings.
pub struct Openings {
    /// By wall and number.
    sorted: Vec<(Opening, usize)>,
    count: usize,
}

impl Openings {
    /// The openings in their order; the first has the number 0. One with an end that is not a number
    /// lets nothing through.
    pub fn new(openings: impl IntoIterator<Item = Opening>) -> Openings {
        let mut sorted: Vec<(Opening, usize)> = openings.into_iter().zip(0..).collect();
        sorted.sort_by_key(|&(opening, number)| (opening.wall, number));
        Openings { count: sorted.len(), sorted }
    }

    /// The opening in which a pipe meets a wall, its two ends included; of several, the one with the
    /// lowest number. Nothing if the pipe meets the wall itself. A pipe that runs along the wall is
    /// where it comes to it.
    pub fn at(&self, meeting: &Meeting) -> Option<usize> {
        let first = self.sorted.partition_point(|(opening, _)| opening.wall < meeting.line);
        let along = meeting.line_along;
        self.sorted[first..]
            .iter()
            .take_while(|(opening, _)| opening.wall == meeting.line)
            .find(|(opening, _)| {
                (opening.from <= along && along <= opening.to) || (opening.to <= along && along <= opening.from)
            })
            .map(|&(_, number)| number)
    }

    /// How many pipes cross in each opening. Meetings that are no crossings do not count.
    pub fn tally<'m>(&self, meetings: impl IntoIterator<Item = &'m Meeting>) -> Vec<usize> {
        let mut tally = vec![0; self.count];
        for meeting in meetings {
            if meeting.contact == super::Contact::Crosses
                && let Some(number) = self.at(meeting)
            {
                tally[number] += 1;
            }
        }
        tally
    }
}

/// The share of the width of an opening along which one of the joints runs, no farther than `within`
/// from the line of the wall. A joint square to the wall counts for nothing.
///
/// Zero for an opening without a width or in a wall that is none.
pub fn share_jointed(walls: &Lines, opening: &Opening, joints: &Lines, within: Length) -> Share {
    let within = within.in_metres();
    let (mut width, mut jointed) = (0.0, 0.0);
    let mut stretches: Vec<(f64, f64)> = Vec::new();
    for (from, to) in walls.between(opening.wall, opening.from, opening.to) {
        let way = from.to(to);
        let length = way.length();
        width += length;
        stretches.clear();
        let bounds = super::Bounds::around([from, to]).wider(within.max(0.0));
        joints.touching(&bounds, |joint| {
            let place = |point| {
                let off = from.to(point);
                (off.dot(way) / length, way.cross(off) / length)
            };
            let (one, other) = (place(joint.from), place(joint.to));
            // The shares of the joint at which it comes within reach of the wall and leaves it.
            let leaves = other.1 - one.1;
            let (first, last) = if leaves == 0.0 {
                if one.1.abs() > within {
                    return;
                }
                (0.0, 1.0)
            } else {
                let (near, far) = ((-within - one.1) / leaves, (within - one.1) / leaves);
                (near.min(far).max(0.0), near.max(far).min(1.0))
            };
            if first <= last {
                let along = |share: f64| (one.0 + (other.0 - one.0) * share).clamp(0.0, length);
                let (a, b) = (along(first), along(last));
                stretches.push((a.min(b), a.max(b)));
            }
        });
        stretches.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut reached = 0.0;
        for &(from, to) in &stretches {
            jointed += (to - from.max(reached)).max(0.0);
            reached = to.max(reached);
        }
    }
    Share::fraction(if width > 0.0 { (jointed / width).min(1.0) } else { 0.0 })
}

#[cfg(test)]
mod tests {
    use super::super::point::tests::points;
    use super::super::{Line, Point, Route};
    use super::*;

    fn lines(all: &[&[(f64, f64)]]) -> Lines {
        let all: Vec<Vec<Point>> = all.iter().map(|line| points(line)).collect();
        Lines::new(all.iter().map(|line| Line::Open(line)))
    }

    fn opening(wall: usize, from: f64, to: f64) -> Opening {
        Opening { wall, from: Length::metres(from), to: Length::metres(to) }
    }

    // The worked example of the rule catalogue for `door-crowded-with-tails`: ten tails and sixteen
    // through a door of 838 mm.
    #[test]
    fn tails_through_a_door_and_through_the_wall_beside_it() {
        let walls = lines(&[&[(0.0, 0.0), (0.0, 5.0)], &[(9.0, 0.0), (9.0, 5.0)]]);
        let openings = Openings::new([opening(1, 0.0, 1.0), opening(0, 2.838, 2.0)]);
        for (tails, through) in [(5, 10), (8, 16)] {
            let mut found = Vec::new();
            for tail in 0..tails {
                let y = 2.05 + 0.1 * f64::from(tail);
                let out_and_back = [(-1.0, y), (1.0, y), (1.0, y + 0.05), (-1.0, y + 0.05)];
                let route = Route::new(&points(&out_and_back)).unwrap();
                found.extend(walls.meetings(&route).all);
            }
            assert_eq!(openings.tally(&found), [0, through]);
        }
        let beside = Route::new(&points(&[(-1.0, 1.9), (1.0, 1.9)])).unwrap();
        assert_eq!(openings.at(&walls.meetings(&beside).all[0]), None);
        let at_the_jamb = Route::new(&points(&[(-1.0, 2.0), (1.0, 2.0)])).unwrap();
        assert_eq!(openings.at(&walls.meetings(&at_the_jamb).all[0]), Some(1));
    }

    #[test]
    fn an_opening_that_is_none_lets_nothing_through() {
        let walls = lines(&[&[(0.0, 0.0), (0.0, 5.0)]]);
        let route = Route::new(&points(&[(-1.0, 1.0), (1.0, 1.0)])).unwrap();
        let meeting = walls.meetings(&route).all[0];
        let openings = Openings::new([opening(0, f64::NAN, 2.0), opening(7, 0.0, 2.0)]);
        assert_eq!(openings.at(&meeting), None);
        assert_eq!(Openings::new([]).at(&meeting), None);
        assert_eq!(Openings::new([opening(0, 0.5, 1.5), opening(0, 0.0, 5.0)]).at(&meeting), Some(0));
    }

    #[test]
    fn a_joint_under_the_door_leaf() {
        let walls = lines(&[&[(0.0, 0.0), (0.0, 5.0)]]);
        let door = opening(0, 2.0, 3.0);
        let share = |joint: &[(f64, f64)], within: f64| {
            let share = share_jointed(&walls, &door, &lines(&[joint]), Length::metres(within));
            (share.in_fraction() * 1e9).round() / 1e9
        };
        assert_eq!(share(&[(0.05, 2.0), (0.05, 3.0)], 0.1), 1.0);
        assert_eq!(share(&[(0.05, 1.0), (0.05, 4.0)], 0.1), 1.0);
        assert_eq!(share(&[(0.05, 2.5), (0.05, 9.0)], 0.1), 0.5);
        assert_eq!(share(&[(0.5, 2.0), (0.5, 3.0)], 0.1), 0.0);
        assert_eq!(share(&[(-1.0, 2.5), (1.0, 2.5)], 0.1), 0.0);
        assert_eq!(share(&[(0.0, 2.0), (0.2, 3.0)], 0.1), 0.5);
        let twice = lines(&[&[(0.0, 2.0), (0.0, 2.6)], &[(0.0, 2.4), (0.0, 2.8)]]);
        let both = share_jointed(&walls, &door, &twice, Length::metres(0.1)).in_fraction();
        assert!((both - 0.8).abs() < 1e-12);
        for none in [opening(3, 0.0, 1.0), opening(0, 1.0, 1.0), opening(0, f64::NAN, f64::NAN)] {
            assert_eq!(share_jointed(&walls, &none, &twice, Length::metres(0.1)), Share::ZERO);
        }
    }
}
