//! The job sheet: one page that a workshop prints or opens on a tablet, with drawings made from the plan.
//!
//! A [`View`] holds everything that is known of a plan; each part of the sheet is a pure function of it.

mod circuit;
pub mod coils;
mod drawing;
mod drawn;
mod index;
mod key;
mod lanes;
mod letters;
mod marks;
mod page;
pub mod plots;
mod runs;
mod symbols;
mod vehicle;

pub use circuit::circuit;
pub use drawing::{Anchor, Area, Drawing, Ink, Point, Shape, Stroke};
pub use drawn::{Drawn, Missing};
pub use index::{Listed, index};
pub use page::sheet;
pub use vehicle::vehicle;

use crate::house::House;
use crate::judge::Judgement;
use crate::plan::Reading;
use crate::report::PlanReport;
use crate::solve::Job;

/// A plan with everything that is known of it.
pub struct View<'a> {
    /// The plan as it was read.
    pub reading: &'a Reading,
    /// Limits and assumptions.
    pub house: &'a House,
    /// The plan under solution.
    pub job: &'a Job<'a>,
    /// What was judged.
    pub judgement: &'a Judgement,
    /// What there is to tell of it.
    pub report: &'a PlanReport,
}
