//! Why there is no choice, and what stands in the way of which wire.

use super::super::check::Check;
use super::draft::State;
use super::task::Search;
use super::trial::Part;

/// Why there is no choice.
pub enum Stopped {
    /// Facts have to be stated first; a sentence.
    Needs(String),
    /// Nothing that is known draws through these, by path of what the plan states of them: they stay as they are.
    Idle(Vec<String>),
    /// These checks cannot hold.
    Checks {
        /// The checks.
        checks: Vec<Check>,
        /// What stands in the way of which wire, in sentences.
        told: Vec<String>,
    },
}

impl Stopped {
    /// By checks, with nothing that might be chosen.
    pub fn by(checks: Vec<Check>) -> Self {
        let told = checks.iter().map(super::told).collect();
        Self::Checks { checks, told }
    }
}

impl Search<'_> {
    /// What stands in the way, and of which wire.
    pub fn stopped(&self, checks: Vec<Check>, most: &State) -> Stopped {
        let told = checks.iter().map(|check| self.obstacle(check, most)).collect();
        Stopped::Checks { checks, told }
    }

    fn obstacle(&self, check: &Check, most: &State) -> String {
        let named = self.trial.parts(check).into_iter().filter_map(|part| match part {
            Part::Wire(at) => Some(at),
            Part::Fuse(_) => None,
        });
        let mut wires: Vec<usize> = named.collect();
        let title = check.finding.as_ref().map_or(check.rule.summary(), |finding| finding.title.as_str());
        let code = check.rule.code;
        // What flows in the whole supply, any wire may decide; what is looked at one by one, only those that it names.
        if wires.is_empty() && self.trial.sizing.local.iter().any(|rule| rule.code == code) {
            return format!("no fuse that carries its load (FUSE-04) holds {code} for {}: {title}", check.subject);
        }
        if wires.is_empty() {
            wires = (0..self.draft.wires.len()).collect();
        }
        // Each up to its own size: the figure is the one with these.
        let mut tried: Vec<String> =
            wires.iter().map(|wire| self.draft.wires[*wire].sizes[most.wires[*wire]].to_string()).collect();
        tried.dedup();
        let paths: Vec<String> = wires.iter().map(|wire| format!("wires.{}", self.draft.wires[*wire].name)).collect();
        let capped = wires.iter().any(|wire| most.wires[*wire] + 1 < self.draft.wires[*wire].sizes.len());
        let capped = match (capped, self.house.stock.wires.is_empty()) {
            (true, true) => ", the thickest that goes in,",
            (true, false) => ", the thickest in stock that goes in,",
            (false, false) => ", the thickest in stock,",
            (false, true) => "",
        };
        match tried.as_slice() {
            [] => super::told(check),
            [size] => format!("no size up to {size}{capped} holds {code} for {}: {title}", crate::words::all(&paths)),
            _ => {
                let each = |(path, wire): (&String, &usize)| {
                    format!("{path} ({})", self.draft.wires[*wire].sizes[most.wires[*wire]])
                };
                let each: Vec<String> = paths.iter().zip(&wires).map(each).collect();
                format!("no sizes up to these{capped} hold {code} for {}: {title}", crate::words::all(&each))
            }
        }
    }
}
