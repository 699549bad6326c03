//! The format of plans.

use std::sync::{LazyLock, OnceLock};

use serde_json::Value;

use super::schema::{Format, checked_in, derived};
use super::{FORMAT, Plan};

/// What a plan is checked against: the schema that is checked in. A test holds it against what the types derive.
pub(super) static PLAN: Format = Format {
    key: "plan",
    version: FORMAT,
    like: "a list of keys like `plan:`, `job:` and `wires:`",
    // A job has some dozens; what is solved and judged grows faster than their number.
    most_things: 1_000,
    schema: LazyLock::new(|| checked_in(include_str!("../../schema/plan.schema.json"))),
    asked: || checked_in(include_str!(concat!(env!("OUT_DIR"), "/plan.asked.json"))),
    validator: Some(OnceLock::new()),
};

/// Begins to make what plans are checked against, beside what a run has to do before it needs it.
pub fn prepare() {
    // Without a thread it is made when it is needed.
    let _ = std::thread::Builder::new().spawn(|| PLAN.shared().is_some());
}

/// The JSON Schema of a plan, from its types.
pub fn schema() -> Value {
    derived::<Plan>("plan")
}
