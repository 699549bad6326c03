//! Practice plans: a clean plan with faults planted in it, and the grading of what an apprentice finds.
//!
//! How a rule is broken stands with the rule ([`crate::judge::Slip`]). A fault is planted only where the plan, judged by
//! all rules, then has exactly that finding more: what is planted is what is found.

mod answers;
mod deed;
mod draw;
mod grade;
mod plant;
mod sheet;

pub use answers::{Answer, At, Unreadable, answers};
pub use grade::{Grade, Wrong, grade};
pub use plant::{Fault, Level, Practice, Unplantable, Wanted, plant};
pub use sheet::{Sheet, headed, headline, planted};
