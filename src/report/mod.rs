//! What people and machines see of a judgement.
//!
//! One [`model`] holds a report as plain data; every format prints that model and nothing else.

mod build;
mod cautions;
mod evidence;
mod figures;
mod github;
mod json;
mod junit;
mod markdown;
mod model;
mod paper;
mod place;
mod sarif;
mod short;
mod snippet;
mod terminal;
mod told;
mod worked;

pub use build::plan_report;
pub use cautions::{AIRBAGS, BATTERY, CAUTIONS, Caution, FROST, STANCE};
pub use evidence::{evidence, house_digest, rules_digest, text_digest};
pub(crate) use figures::{
    Row, Table, amplifier_table, capacitor_table, is_protected, largest_fuse, load_table, smallest_fuse, supply_table,
    wire_table,
};
pub use github::Github;
pub use json::{Json, to_json};
pub use junit::Junit;
pub use markdown::Markdown;
pub use model::*;
pub use paper::{Paper, clean};
pub use sarif::Sarif;
pub use short::Short;
pub use terminal::{Terminal, settles};
pub use told::verdict as standing_words;
pub(crate) use told::{Standing, Told, told};
pub use worked::{Line, turned, verdict, worked};

use std::io::{self, Write};

/// Prints reports one after the other, so that no more than a handful of plans is held at a time.
pub trait Printer {
    /// What stands before the first plan.
    fn begin(&mut self, out: &mut dyn Write) -> io::Result<()>;
    /// One plan.
    fn plan(&mut self, out: &mut dyn Write, plan: &Judged) -> io::Result<()>;
    /// What stands after the last.
    fn end(&mut self, out: &mut dyn Write, not_read: &[NotRead], summary: &Summary) -> io::Result<()>;
}

/// One plan's report with the text it speaks of.
#[derive(Debug, Clone)]
pub struct Judged {
    /// The report.
    pub report: PlanReport,
    /// The text of the plan.
    pub text: String,
}

/// The JSON Schema of something that testlamp writes, titled.
pub(crate) fn schema_of<T: schemars::JsonSchema>(what: &str) -> serde_json::Value {
    let mut schema = crate::plan::tidy_schema::<T>();
    if let Some(map) = schema.as_object_mut() {
        map.insert("title".into(), format!("testlamp {what}").into());
    }
    schema
}

/// The JSON Schema of a report.
pub fn schema() -> serde_json::Value {
    schema_of::<Report>("report")
}
