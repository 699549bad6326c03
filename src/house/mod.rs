//! What the house takes for granted: limits it judges by, and ranges for what a plan does not state.
//!
//! Every figure says where it comes from. *cp* in a source means common practice, without a published source.

mod assumptions;
mod limits;

use crate::plan::Day;
pub use assumptions::{Assumption, Assumptions};

pub use limits::{Limit, Limits};

/// The settings of a house. The default is what testlamp ships with.
#[derive(Debug, Clone, Default)]
pub struct House {
    /// What rules compare with.
    pub limits: Limits,
    /// What is assumed of facts that a plan does not state.
    pub assumptions: Assumptions,
    /// The day on which plans are judged; without it no waiver has expired.
    pub today: Option<Day>,
}
