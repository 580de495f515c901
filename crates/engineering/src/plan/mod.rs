//! Geometry of the floor plan: outlines, routes of pipe, and what they do to each other.
//!
//! Coordinates are metres on one storey; lengths and areas go out as [`Length`](quantity::Length)
//! and [`Area`](quantity::Area). Shapes are checked when they are made ([`Outline::new`],
//! [`Route::new`]), so that everything asked of them afterwards has an answer. Which side of a line a
//! point lies on is decided exactly (Shewchuk's predicates, crate `robust`), so a count of crossings
//! does not hang on rounding; only places and lengths are rounded. Whatever compares many shapes goes
//! through a tree of boxes and takes about n log n.
//!
//! Absent on purpose: rooms, loops, names, limits. A caller says which lines are walls and which
//! rooms belong together.

mod areas;
mod bays;
mod bent;
mod box_tree;
mod clearance;
mod coverage;
mod free_area;
mod layout;
mod lines;
mod near;
mod openings;
mod outline;
mod point;
#[cfg(test)]
mod reference;
mod route;
mod route_meetings;
mod setting_out;
mod spacing;
mod strips;
mod svg_path;
mod together;
mod touching;

pub use areas::{Areas, Piece, length_in, stretches_in};
pub use bays::{Bay, Bays, CutFloor, JointEnd, bays, cut_floors};
pub use bent::{Bent, Lying, OFF_ARC, Part, split_at};
pub use clearance::Clearance;
pub use coverage::{Coverage, Gap, coverage, rough_coverage};
pub use free_area::{free_area, overlap, overlaps};
pub use layout::{
    Changed, ENOUGH_COVERED, EdgeZone, Floor, Laid, NoField, NoTails, Passage as TailPassage, Pattern, Storey,
    Uncovered, Wanted, lay_out,
};
pub use lines::{Contact, Line, LinePoint, Lines, Meeting, Meetings};
pub use near::{PipeGap, PipeGaps, TooNear, least_between, pipe_gaps};
pub use openings::{Opening, Openings, share_jointed};
pub use outline::{EdgePoint, LeastRectangle, Outline, OutlineFault, Position, Spike, without_repeats};
pub use point::{Bounds, FARTHEST, Point, PointFault};
pub use route::{Corner, LET_PASS, Route, RouteFault, Stretch};
pub use route_meetings::{LegOf, RouteMeeting, RouteMeetings, pipe_meetings, route_meetings};
pub use setting_out::{DimensionChain, setting_out};
pub use spacing::{OffSpacing, Run, RunSpacing, distances_to_runs, run_spacing};
pub use svg_path::{ARC_TOLERANCE, PathFault, PathFaultKind, PathLine, changed_svg_path, svg_path};
pub use together::lying_together;
