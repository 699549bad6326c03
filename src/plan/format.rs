//! The format of plans.

use std::sync::{LazyLock, OnceLock};

use serde_json::Value;

use super::schema::{Format, asked, published};
use super::{FORMAT, Plan};

/// What a plan is checked against. Reading the schema that is checked in costs a tenth of deriving it anew; a test holds the two
/// against each other.
pub(super) static PLAN: Format = Format {
    key: "plan",
    version: FORMAT,
    like: "a list of keys like `plan:`, `job:` and `wires:`",
    // A job has some dozens; what is solved and judged grows faster than their number.
    most_things: 1_000,
    schema: LazyLock::new(|| {
        serde_json::from_str(include_str!("../../schema/plan.schema.json")).unwrap_or_else(|_| schema())
    }),
    asked: || asked(include_str!(concat!(env!("OUT_DIR"), "/plan.asked.json")), schema),
    validator: Some(OnceLock::new()),
};

/// Begins to make what plans are checked against, beside what a run has to do before it needs it.
pub fn prepare() {
    // Without a thread it is made when it is needed.
    let _ = std::thread::Builder::new().spawn(|| PLAN.shared().is_some());
}

/// The JSON Schema of a plan, as it is published.
pub fn schema() -> Value {
    published::<Plan>("plan")
}
