//! What the alternator's voltage comes to, by itself or through chargers, and what is before a charger.

use super::chargers;
use super::graph::{LinkKind, POSITIVE};
use super::job::Job;
use super::known::Decided;
use crate::plan::Isolator;
use crate::quantity::{Range, Ratio};

/// How the alternator's voltage comes to a terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Charged {
    /// No wire leads there from the starting battery.
    Not,
    /// Through wires, relays and switches: it is the voltage that the alternator holds.
    Directly,
    /// Through a charger or a step-down converter alone, which sets its own.
    ByCharger,
}

impl Job<'_> {
    /// How the alternator's voltage comes to a terminal, like `positive` of an added battery.
    pub fn charged(&self, thing: &str, terminal: &str) -> Charged {
        self.graph().node(thing, terminal).map_or(Charged::Not, |node| self.charged_at(node))
    }

    pub(super) fn charged_at(&self, node: usize) -> Charged {
        let graph = self.graph();
        let leads = |by: &dyn Fn(&LinkKind) -> bool| graph.nearest(node, &[POSITIVE], by).is_some();
        if leads(&|kind| kind.conducts() && self.charger(kind).is_none()) {
            Charged::Directly
        } else if leads(&LinkKind::conducts) {
            Charged::ByCharger
        } else {
            Charged::Not
        }
    }

    /// The name of a charger or a step-down converter, if a link is one.
    fn charger<'k>(&self, kind: &'k LinkKind) -> Option<&'k str> {
        let LinkKind::Isolator(name) = kind else { return None };
        let isolator = self.plan.isolators.get(name)?;
        isolator.limits_current().then_some(name.as_str())
    }

    /// How many ampere chargers take from the alternator for each that is drawn at a node behind them; nothing where the
    /// alternator's voltage comes there by itself, or not at all. What is drawn behind a step-down converter is drawn before
    /// it already.
    pub(super) fn taken_for(&self, node: usize) -> Option<Range<Ratio>> {
        if !self.plan.isolators.values().any(Isolator::limits_current) || self.charged_at(node) != Charged::ByCharger {
            return None;
        }
        if self.step_down_before(self.graph(), node).is_some() {
            return Some(Range::point(0.0));
        }
        let graph = self.graph();
        let (_, way) = graph.nearest(node, &[POSITIVE], LinkKind::conducts)?;
        let passed = way.iter().filter_map(|link| self.charger(&graph.links[*link].kind));
        let each = passed.filter_map(|name| {
            let (before, behind) = chargers::posts_beside(self, graph, name)?;
            Some(chargers::taken_by(self, graph, name, before, behind))
        });
        Some(each.fold(Range::point(1.0), |all, one| all.scaled(one.low(), one.high())))
    }

    /// The wires from the nearest battery to a charger, and those from its minus on that carry as much, by their place in the
    /// job's list; nothing where no battery is reached on one side.
    pub fn feed_of_charger(&self, name: &str) -> Option<Vec<usize>> {
        let graph = self.graph();
        let [Some((before, way)), Some((behind, _))] = chargers::sides(self, graph, name) else { return None };
        let wire = |link: usize| if let LinkKind::Wire(wire) = graph.links[link].kind { Some(wire) } else { None };
        // What lies in its minus counts where all that it takes flows there.
        let minus = chargers::minus_of(self, graph, name, before, behind)
            .map(|[out, back]| out.difference(&back).copied().collect());
        let minus: Vec<usize> = minus.unwrap_or_default();
        Some(way.into_iter().chain(minus).filter_map(wire).collect())
    }

    /// How many twelve-volt batteries in series the battery is worth that feeds gear behind a charger; nothing where none does.
    ///
    /// # Errors
    /// The need for its voltage at rest, or for the system's.
    pub fn multiple_behind_charger(&self, gear: &str) -> Decided<Option<f64>> {
        let graph = self.graph();
        let feeds = |kind: &LinkKind| kind.conducts() && self.charger(kind).is_none();
        let post = graph.node(gear, "power").and_then(|node| graph.nearest(node, &graph.positives(self), feeds));
        post.map(|(post, _)| self.multiple_at(graph, post)).transpose()
    }

    /// How many twelve-volt batteries in series stand before an isolator; nothing where no battery feeds it.
    ///
    /// # Errors
    /// The need for the system's voltage, where that tells it.
    pub fn multiple_before(&self, isolator: &str) -> Decided<Option<f64>> {
        let graph = self.graph();
        let feeds = |kind: &LinkKind| kind.conducts() && !matches!(kind, LinkKind::Isolator(name) if name == isolator);
        let post = graph.node(isolator, "in").and_then(|input| graph.nearest(input, &graph.positives(self), feeds));
        post.map(|(post, _)| self.multiple_at(graph, post)).transpose()
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::Charged;

    /// Both posts are on the body by a slip: over the body no battery is charged.
    #[test]
    fn a_short_charges_nothing() {
        let text = "plan: 1\nvehicle: {body: steel}\nbatteries: {rear: {}}\ngrounds: {floor: {}, rail: {}}\nwires:\n  \
                    a: {from: battery.positive, to: grounds.floor}\n  b: {from: rear.positive, to: grounds.rail}\n";
        of_job(text, |job| assert_eq!(job.charged("rear", "positive"), Charged::Not));
        let joined = text.replace("grounds.rail}", "battery.positive}");
        of_job(&joined, |job| assert_eq!(job.charged("rear", "positive"), Charged::Directly));
    }

    /// A truck of 24 V whose second battery, of 12 V, stands behind a step-down charger.
    #[test]
    fn how_many_batteries_stand_before_and_behind_a_charger() {
        let text = "plan: 1\nvehicle: {voltage: 24 V}\namplifiers: {amp: {}}\nbatteries: {rear: {rest_voltage: 12.7 V}}\n\
                    isolators: {part: {kind: charger}}\nwires:\n  a: {from: battery.positive, to: part.in}\n  \
                    b: {from: part.out, to: rear.positive}\n  c: {from: rear.positive, to: amp.power}\n";
        let of = |text: &str| {
            of_job(text, |job| (job.multiple_before("part").ok(), job.multiple_behind_charger("amp").ok()))
        };
        assert_eq!(of(text), (Some(Some(2.0)), Some(Some(1.0))));
        // What lies behind it is not before it, and what lies before it feeds nothing behind it.
        assert_eq!(
            of(&text.replace("from: battery.positive, to: part.in", "from: battery.positive, to: amp.remote")).0,
            Some(None)
        );
        assert_eq!(
            of(&text.replace("to: rear.positive", "to: amp.power").replace("from: rear", "from: other")).1,
            Some(None)
        );
    }
}
