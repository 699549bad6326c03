//! What the house takes for granted: limits it judges by, ranges for what a plan does not state, what shuts the gate,
//! what lies on the shelf.
//!
//! Every figure says where it comes from. A house file sets what differs from what testlamp ships with.

mod assumptions;
mod file;
mod gate;
mod limits;
mod own;
mod reading;
mod setting;
mod stock;

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use globset::GlobSet;

use crate::plan::{Day, Shelves, Zone};
use crate::quantity::Temperature;

pub use assumptions::Assumptions;
pub use file::*;
pub use gate::{Demand, Gate, OpenChecks, Severity};
pub use limits::Limits;
pub use own::{Each, Expression, OwnRule, Seen, Unworked};
pub use reading::{FORMAT, KnownRule, Reading, about, lookup, read, read_shelf, schema};
pub use setting::{Assumption, Limit, Setting, Usual, keep};
pub use stock::Stock;

/// What a house file is called where it is looked for.
pub const FILE_NAME: &str = "house.yaml";

/// The folder that a file lies in.
pub fn folder_of(file: &Path) -> &Path {
    file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// The settings of a house. The default is what testlamp ships with.
#[derive(Debug, Clone, Default)]
pub struct House {
    /// What the house is called.
    pub name: Option<String>,
    /// What rules compare with.
    pub limits: Limits,
    /// What is assumed of facts that a plan does not state.
    pub assumptions: Assumptions,
    /// How hot single places get.
    pub zones: BTreeMap<Zone, Usual<Temperature>>,
    /// What shuts the gate.
    pub gate: Gate,
    /// What lies on the shelf.
    pub stock: Stock,
    /// Rules that are off or count otherwise.
    pub rules: RuleSettings,
    /// Rules of its own.
    pub own: Vec<OwnRule>,
    /// Which files of a folder are plans.
    pub plans: PlanPatterns,
    /// Files of gear and vehicles, in the order in which they are searched.
    pub shelves: Arc<Shelves>,
    /// The day on which plans are judged; without it no waiver has expired.
    pub today: Option<Day>,
    /// The lines of the house file that state something, by path.
    pub stated: BTreeMap<String, usize>,
}

/// Rules that a house does not use as they come, by code.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct RuleSettings {
    /// Rules that are off, each with the reason.
    pub off: BTreeMap<&'static str, &'static str>,
    /// Rules whose findings stand for more or less harm.
    pub counts_as: BTreeMap<&'static str, Changed>,
}

impl RuleSettings {
    /// Whether a rule is off.
    pub fn is_off(&self, code: &str) -> bool {
        self.off.contains_key(code)
    }

    /// How much harm the findings of a rule stand for.
    pub fn severity(&self, code: &str, own: Severity) -> Severity {
        self.counts_as.get(code).map_or(own, |changed| changed.severity)
    }
}

/// A severity that a house changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Changed {
    /// How much harm a finding stands for here.
    pub severity: Severity,
    /// Why.
    pub reason: &'static str,
}

/// Which files of a folder are plans of a house; paths are below the folder of the house file.
#[derive(Debug, Clone, Default)]
pub struct PlanPatterns {
    /// Plans; `None`: whatever says that it is one.
    pub include: Option<GlobSet>,
    /// What is passed over.
    pub exclude: Option<GlobSet>,
}

impl PlanPatterns {
    /// Whether a file is left out.
    pub fn leaves_out(&self, path: &std::path::Path) -> bool {
        self.exclude.as_ref().is_some_and(|set| set.is_match(path))
            || self.include.as_ref().is_some_and(|set| !set.is_match(path))
    }
}

impl House {
    /// The line of the house file that changes a rule.
    pub fn rule_line(&self, code: &str) -> Option<usize> {
        self.stated.get(&format!("rules.{code}")).copied()
    }

    /// The settings that decide verdicts, as one text.
    pub fn settled(&self) -> String {
        let Self { limits, assumptions, zones, gate, stock, rules, shelves, own, .. } = self;
        let shelves: Vec<(&str, &str)> = shelves.files.iter().map(|shelf| (&*shelf.path, &*shelf.text)).collect();
        let own: Vec<_> = own.iter().map(|own| (own.code, own.severity, own.written, own.says, own.mend)).collect();
        format!("{limits:?} {assumptions:?} {zones:?} {gate:?} {stock:?} {rules:?} {shelves:?} {own:?}")
    }
}
