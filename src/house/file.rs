//! The house file: what a shop decides for all its plans.

use std::collections::BTreeMap;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;

use super::gate::{OpenChecks, Severity};
use super::own::Each;
use super::{Assumptions, Limits};
use crate::plan::{FuseForm, Zone};
use crate::quantity::{Current, Gauge, Quantity, Temperature};

/// One house file.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct HouseFile {
    /// Version of the format of house files: 1.
    #[schemars(range(min = 1, max = 1))]
    pub house: Option<u32>,
    /// What the house is called.
    pub name: Option<String>,
    /// Which files of a folder are plans of this house.
    pub plans: Option<PlanFiles>,
    /// What shuts the gate at each stage of a job.
    pub gate: Option<GateFile>,
    /// What rules compare with, by name, each with its source.
    #[schemars(with = "Limits")]
    pub limits: BTreeMap<String, StatedLimit>,
    /// What is assumed of facts that a plan does not state, by name, each with its source.
    #[schemars(with = "Assumptions")]
    pub assumptions: BTreeMap<String, StatedRange>,
    /// How hot places get, in place of what is assumed of all hot and all other places.
    #[schemars(schema_with = "by_name::<Zone, StatedZone>")]
    pub zones: BTreeMap<Zone, StatedZone>,
    /// What lies on the shelf.
    pub stock: Option<StockFile>,
    /// Rules that are off or count otherwise, by code, each with a reason.
    pub rules: BTreeMap<String, RuleChange>,
    /// Rules of the house's own, by code, in CEL (the Common Expression Language).
    pub own_rules: BTreeMap<String, OwnRuleFile>,
    /// Files of gear and vehicles that plans refer to: paths or patterns below the folder of this file.
    pub shelves: Vec<String>,
    /// Free text.
    pub note: Option<String>,
}

/// Which files of a folder are plans of a house. Files that are named on the command line are judged in any case.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct PlanFiles {
    /// Patterns of files that are plans, like `jobs/**/*.yaml`, below the folder of the house file. Without any, every
    /// YAML file that says `plan:` is one.
    pub include: Vec<String>,
    /// Patterns of files that are passed over.
    pub exclude: Vec<String>,
}

/// What every stage demands; what is not stated stays as it is by default.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct GateFile {
    /// While facts are still being found out.
    pub draft: Option<DemandFile>,
    /// When everything is decided. An open danger shuts the gate in any case.
    pub planned: Option<DemandFile>,
    /// When it is built and measured. An open danger shuts the gate in any case.
    pub installed: Option<DemandFile>,
}

/// What one stage demands.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct DemandFile {
    /// Findings of this severity and above shut the gate.
    pub findings: Option<Severity>,
    /// Open checks that shut it.
    pub open: Option<OpenChecks>,
}

/// A limit as a house states it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct StatedLimit {
    /// The value, as written.
    pub value: Option<String>,
    /// Where it comes from.
    pub source: Option<String>,
}

/// An assumption as a house states it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct StatedRange {
    /// The range, as written.
    pub range: Option<String>,
    /// Where it comes from.
    pub source: Option<String>,
}

/// How hot a place gets.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields, extend("required" = ["temperature", "source"]))]
pub struct StatedZone {
    /// The highest temperature of the air there.
    pub temperature: Option<Quantity<Temperature>>,
    /// Where the figure comes from, or why the house takes it.
    pub source: Option<String>,
}

/// Wires and fuses that the house keeps.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct StockFile {
    /// Sizes of wire.
    pub wires: Vec<Gauge>,
    /// Ratings of fuses, by their form. Of a form that is not listed nothing is known.
    #[schemars(schema_with = "by_name::<FuseForm, Vec<Quantity<Current>>>")]
    pub fuses: BTreeMap<FuseForm, Vec<Quantity<Current>>>,
}

/// A group whose keys are words of a closed list.
fn by_name<K: JsonSchema, V: JsonSchema>(generator: &mut SchemaGenerator) -> Schema {
    let (names, values) = (generator.subschema_for::<K>(), generator.subschema_for::<V>());
    json_schema!({ "type": "object", "propertyNames": names, "additionalProperties": values })
}

/// How a house uses a rule.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields, extend("required" = ["reason"]))]
pub struct RuleChange {
    /// Whether the rule is off. A rule of severity danger cannot be.
    pub off: Option<bool>,
    /// How much harm its findings stand for in this house: one step more or less than the rule itself says. A rule of
    /// severity danger keeps it.
    pub severity: Option<Severity>,
    /// Why.
    pub reason: Option<String>,
}

/// A rule of the house's own.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields, extend("required" = ["each", "must", "says", "source"]))]
pub struct OwnRuleFile {
    /// What it judges, one at a time.
    pub each: Option<Each>,
    /// Where it applies, like `wire.size >= 20.0`; without it, everywhere.
    pub when: Option<String>,
    /// What must hold, like `wire.covering == "loom"`. The thing goes by its kind, `figures` by what is solved of it (each
    /// with `low` and `high`), `plan` is the whole plan and `stage` its stage. Quantities are numbers in m, A, V, ohm, W, Hz,
    /// C, L, kg and s, sizes in mm2.
    pub must: Option<String>,
    /// What a finding says, in one line without a full stop.
    pub says: Option<String>,
    /// What to do about it.
    pub mend: Option<String>,
    /// How much harm a finding stands for; advice without it.
    pub severity: Option<Severity>,
    /// Where the rule comes from, or why the house has it.
    pub source: Option<String>,
}
