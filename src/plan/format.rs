//! The format of plans.

use std::sync::LazyLock;

use serde_json::Value;

use super::schema::{Format, checked_in, derived};
use super::{FORMAT, Plan, shape};

/// What a plan is checked against: the schema that is checked in. A test holds it against what the types derive.
pub(super) static PLAN: Format = Format {
    key: "plan",
    version: FORMAT,
    like: "a list of keys like `plan:`, `job:` and `wires:`",
    // A job has some dozens; what is solved and judged grows faster than their number.
    most_things: 1_000,
    schema: LazyLock::new(|| checked_in(include_str!("../../schema/plan.schema.json"))),
    shape: &shape::PLAN,
};

/// The JSON Schema of a plan, from its types.
pub fn schema() -> Value {
    derived::<Plan>("plan")
}
