//! What rules of a house's own judge, and what their expressions see of it.

use std::sync::Arc;

use cel::Context;
use serde_json::{Map, json};

use crate::plan::{Stage, specimen, word};

/// What a rule of the house's own judges, one at a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Each {
    /// The job as a whole.
    Job,
    /// A supply wire.
    Wire,
    /// A ground.
    Ground,
    /// An amplifier.
    Amplifier,
    /// A load.
    Load,
    /// A turn-on lead.
    TurnOn,
    /// A signal.
    Signal,
    /// An enclosure.
    Enclosure,
    /// A mount.
    Mount,
}

impl Each {
    /// Its name in expressions.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Job => "job",
            Self::Wire => "wire",
            Self::Ground => "ground",
            Self::Amplifier => "amplifier",
            Self::Load => "load",
            Self::TurnOn => "turn_on",
            Self::Signal => "signal",
            Self::Enclosure => "enclosure",
            Self::Mount => "mount",
        }
    }

    /// The section of a plan that holds such things; the job is one.
    pub const fn section(self) -> Option<&'static str> {
        match self {
            Self::Job => None,
            Self::Wire => Some("wires"),
            Self::Ground => Some("grounds"),
            Self::Amplifier => Some("amplifiers"),
            Self::Load => Some("loads"),
            Self::TurnOn => Some("turn_on"),
            Self::Signal => Some("signals"),
            Self::Enclosure => Some("enclosures"),
            Self::Mount => Some("mounts"),
        }
    }

    /// The figures that are solved of such a thing, each with its unit.
    pub const fn figures(self) -> &'static [(&'static str, &'static str)] {
        match self {
            Self::Wire => &[
                ("current_full", "A"),
                ("current_programme", "A"),
                ("drop_full", "V"),
                ("ampacity", "A"),
                ("temperature", "C"),
            ],
            Self::Amplifier => &[
                ("audio_power", "W"),
                ("supply_power", "W"),
                ("voltage_idle_full", "V"),
                ("voltage_off_full", "V"),
                ("run_drop", "V"),
                ("return_drop", "V"),
            ],
            Self::Load => &[("impedance", "ohm"), ("rated_power", "W"), ("gain_target", "V")],
            _ => &[],
        }
    }
}

/// What expressions see.
#[derive(Debug, Clone, Default)]
pub struct Seen {
    /// The thing that is judged, with its `name`.
    pub is: serde_json::Value,
    /// What is solved of it: each with `low` and `high`.
    pub figures: serde_json::Value,
    /// The plan, as far as the expression looks at it.
    pub plan: Arc<serde_json::Value>,
    /// How far the job has come.
    pub stage: String,
}

/// The same as variables of an expression.
pub fn context<'c>(each: Each, thing: &Seen) -> Context<'c, 'c> {
    let mut context = Context::default();
    let mut add = |name: &'static str, value: &serde_json::Value| {
        // Plain data always becomes a value.
        let _ = context.add_variable(name, value);
    };
    add(each.name(), &thing.is);
    add("figures", &thing.figures);
    add("plan", &thing.plan);
    add("stage", &json!(thing.stage));
    context
}

/// A thing with every key stated and every figure solved, beside no plan.
pub fn trial(each: Each) -> Seen {
    let is = match each.section() {
        Some(section) => {
            let mut is = specimen(&format!("{section}.any"));
            if let Some(map) = is.as_object_mut() {
                map.insert("name".into(), json!("any"));
            }
            is
        }
        None => specimen("job"),
    };
    let figures: Map<String, serde_json::Value> =
        each.figures().iter().map(|(name, _)| ((*name).to_owned(), json!({ "low": 1.0, "high": 2.0 }))).collect();
    Seen { is, figures: figures.into(), plan: Arc::default(), stage: word(&Stage::Draft) }
}
