//! The remedies of what was found at a place, for an editor to offer.

use crate::view::{Shown, View};
use check::Remedy;
use std::ops::Range;

/// Every remedy of the findings that the selection touches, with its finding.
///
/// Of a check that tried no remedies out these are only proposals: enough to know that there is nothing to offer.
pub fn touched<'v>(view: &'v View, selected: &Range<usize>) -> Vec<(Shown<'v>, &'v Remedy)> {
    let touched = view.touched(selected);
    touched.flat_map(|shown| shown.finding.remedies.iter().map(move |remedy| (shown.clone(), remedy))).collect()
}
