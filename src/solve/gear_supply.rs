//! What gear draws beside the power that it plays, where it is fed, and what tells it to go off.

use super::facts::Facts;
use super::gear::{Gear, GearKind};
use super::graph::{Graph, POSITIVE};
use super::known::Known;
use crate::plan::{FeedKind, Terminal};
use crate::quantity::Current;

impl Gear<'_> {
    /// What it draws when it is on and, if it is an amplifier, silent.
    pub fn drawn_on(&self, facts: &Facts<'_>) -> Known<Current> {
        let assumptions = &facts.house.assumptions;
        let (key, usual) = match self.kind {
            GearKind::Amplifier => ("idle_current", &assumptions.idle_current),
            GearKind::Processor => ("current", &assumptions.processor_current),
            GearKind::Converter => ("current", &assumptions.converter_current),
        };
        facts.assume(self.place.sub(key), self.current, usual)
    }

    /// What it draws when it is switched off and its feed stays live.
    pub fn drawn_off(&self, facts: &Facts<'_>) -> Known<Current> {
        facts.assume(self.place.sub("off_current"), self.off_current, &facts.house.assumptions.off_current)
    }

    /// What its turn-on terminal draws.
    pub fn drawn_by_remote(&self, facts: &Facts<'_>) -> Known<Current> {
        facts.assume(self.place.sub("remote_current"), self.remote_current, &facts.house.assumptions.remote_current)
    }
}

impl<'a> Facts<'a> {
    /// Gear by name.
    pub fn gear(&self, name: &str) -> Option<&Gear<'a>> {
        self.gear.iter().find(|gear| gear.name == name)
    }

    /// Whether something ends at gear's turn-on terminal, or it wakes by its signal.
    pub fn is_switched(&self, name: &str) -> bool {
        let senses = self.gear(name).is_some_and(|gear| gear.senses_signal == Some(true));
        senses || self.wire_ends().chain(self.lead_ends()).any(|end| end.is(name, "remote"))
    }

    /// Whether a lead turns a step-down converter on and off.
    pub(super) fn is_switched_off(&self, step_down: &str) -> bool {
        let at_remote = |end: &Terminal| end.is(step_down, "remote");
        let is_kept_on = self.wire_ends().any(at_remote) || self.constant_ends().any(at_remote);
        self.lead_ends().any(at_remote) && !is_kept_on
    }

    /// Whether a feed that is live at all times keeps gear on where it ends: at its turn-on terminal, or at the supply
    /// terminal of what nothing switches.
    pub fn is_kept_on_at(&self, end: &Terminal) -> bool {
        end.terminal != "power" || !self.is_switched(&end.thing)
    }

    /// The nodes between which gear draws, where both its supply terminals are connected. What a circuit of the vehicle or an
    /// output feeds draws from the starting battery's post: the way there is the vehicle's own.
    pub fn supply_of(&self, gear: &Gear<'_>, graph: &Graph) -> Option<(usize, usize)> {
        let is_tapped = || gear.kind != GearKind::Amplifier && self.lead_ends().any(|end| end.is(gear.name, "power"));
        let power = graph.node(gear.name, "power").or_else(|| is_tapped().then_some(POSITIVE));
        Some((power?, graph.node(gear.name, "ground")?))
    }

    /// Whether something that is live at all times keeps gear on: a turn-on lead, or a supply wire at its turn-on terminal.
    pub(super) fn is_kept_on(&self, gear: &Gear<'_>) -> bool {
        let mut ends = self.constant_ends().filter(|end| end.thing == gear.name);
        self.wire_ends().any(|end| end.is(gear.name, "remote")) || ends.any(|end| self.is_kept_on_at(end))
    }

    /// Whether its feed is live with the vehicle asleep.
    pub(super) fn is_always_fed(&self, gear: &Gear<'_>) -> bool {
        self.wire_ends().chain(self.constant_ends()).any(|end| end.is(gear.name, "power"))
    }

    fn wire_ends(&self) -> impl Iterator<Item = &Terminal> {
        self.wires.iter().flat_map(|wire| wire.plan().terminals())
    }

    fn lead_ends(&self) -> impl Iterator<Item = &Terminal> {
        self.turn_on.iter().flat_map(|lead| &lead.plan().to)
    }

    /// The terminals that turn-on leads keep live at all times.
    fn constant_ends(&self) -> impl Iterator<Item = &Terminal> {
        let is_constant = |kind: Option<FeedKind>| kind == Some(FeedKind::Constant);
        let leads = self.turn_on.iter().filter(move |lead| is_constant(lead.from.as_ref().and_then(|from| from.kind)));
        leads.flat_map(|lead| &lead.plan().to)
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;

    /// A processor with its return alone draws nothing, nor does one whose turn-on lead alone is planned; from a circuit it
    /// draws by its supply terminal. An amplifier draws from a wire or not at all.
    #[test]
    fn gear_draws_where_its_supply_terminal_is_fed() {
        let is_fed = |name: &str, lead: &str| {
            let text = format!(
                "plan: 1\nsources: {{dsp: {{kind: processor}}}}\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  \
                 a: {{from: dsp.ground, to: grounds.floor}}\n  b: {{from: amp.ground, to: grounds.floor}}\n\
                 turn_on: {{lead: {{to: [{lead}]}}}}\n"
            );
            of_job(&text, |job| job.supply_of(job.gear(name).expect("it is there"), job.graph()).is_some())
        };
        assert!(is_fed("dsp", "dsp.power"));
        assert!(!is_fed("dsp", "dsp.remote") && !is_fed("dsp", "amp.power") && !is_fed("amp", "amp.power"));
    }
}
