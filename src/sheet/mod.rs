//! The job sheet: one page that a workshop prints or opens on a tablet, with drawings made from the plan.
//!
//! A [`View`] holds everything that is known of a plan; each part of the sheet is a pure function of it.

pub mod coils;
mod drawing;
mod drawn;
mod letters;
pub mod plots;

pub use drawing::{Anchor, Area, Drawing, Ink, Point, Shape, Stroke, width_of};
pub use drawn::{Drawn, Missing};

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
