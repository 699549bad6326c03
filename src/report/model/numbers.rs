//! The numbers behind a verdict.

use schemars::JsonSchema;
use serde::Serialize;

/// The numbers behind a verdict.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Numbers {
    /// What went in.
    pub inputs: Vec<Given>,
    /// How it was put together; may be empty.
    pub formula: String,
    /// What came out.
    pub result: Amount,
    /// How it must stand to the limit.
    pub must_be: Must,
    /// The limit.
    pub limit: Amount,
    /// Where the limit comes from; may be empty.
    pub source: String,
    /// How far the result is from the limit as a share of the limit; negative when it is beyond.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<f64>,
}

/// How a result must stand to its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Must {
    /// Not above it.
    AtMost,
    /// Not below it.
    AtLeast,
}

/// A number, or the range it lies in.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Amount {
    /// As it reads.
    pub text: String,
    /// The lower end in `unit`; missing when it is no finite number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<f64>,
    /// The upper end in `unit`; missing when it is no finite number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<f64>,
    /// The unit; empty for a ratio.
    pub unit: String,
}

/// Something that went into a verdict.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Given {
    /// What it is called.
    pub name: &'static str,
    /// Its value as it reads.
    pub value: String,
    /// The number, where it is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub amount: Option<Amount>,
    /// Where it comes from.
    pub from: From,
    /// The path in the plan that states it or could; empty when there is none.
    pub path: String,
    /// The line of the plan that states it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<usize>,
    /// The source, or how it was computed; may be empty.
    pub source: String,
}

/// Where a number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum From {
    /// The plan states it.
    Stated,
    /// The plan does not state it; a range is assumed.
    Assumed,
    /// A limit of the house.
    House,
    /// A table or a standard.
    Table,
    /// It is computed.
    Computed,
}
