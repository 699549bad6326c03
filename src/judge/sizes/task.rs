//! What is searched: a draft, with what tries its choices.

use super::draft::Draft;
use super::trial::{Sizing, Trial};
use crate::house::House;

/// More steps than any vehicle needs, from the thinnest wires to the thickest.
pub const STEPS: usize = 400;

/// The search on one draft.
pub struct Search<'a> {
    /// What is free.
    pub draft: &'a Draft<'a>,
    /// Limits, assumptions and stock.
    pub house: &'a House,
    /// Tries choices.
    pub trial: Trial<'a>,
    /// Whether a fuse may be too small for what its load asks at most, where a larger one breaks another rule: then it is open
    /// whether it carries the load.
    pub yields: bool,
}

impl<'a> Search<'a> {
    /// Nothing is tried yet.
    pub fn new(draft: &'a Draft<'a>, house: &'a House, sizing: Sizing<'a>, yields: bool) -> Self {
        Self { draft, house, trial: Trial::new(draft, house, sizing), yields }
    }
}
