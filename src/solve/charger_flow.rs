//! What chargers do in the wires around them, the minus with them that both of their sides share.

use std::collections::BTreeSet;

use super::charge_link::{Charging, is_laid};
use super::graph::{LinkKind, NEGATIVE, POSITIVE};
use super::job::Job;
use crate::plan::IsolatorKind;
use crate::quantity::Range;

/// The ways at the minus of a charger, as links of the graph.
struct Minus {
    /// On which all that it takes goes back to the battery before it.
    out: Vec<usize>,
    /// On which all that it gives comes back from the battery behind it.
    back: Vec<usize>,
    /// On which both flow, one against the other.
    shared: Vec<usize>,
}

impl Job<'_> {
    /// What chargers do in every link of the graph while the engine runs: the current that each is made for behind it and on
    /// the way back from the battery there, as much of that before it as the voltages of its two batteries ask and what it
    /// loses. Nothing where a rating or a battery is missing.
    pub(super) fn chargers(&self) -> Vec<Charging> {
        let mut through = vec![Charging::NONE; self.graph().links.len()];
        let chargers = self.plan.isolators.iter().filter(|(_, is)| is.kind == Some(IsolatorKind::Charger));
        for (name, charger) in chargers {
            let (Some(rated), [Some(before), Some(behind)]) = (charger.rated, self.sides(name, is_laid)) else {
                continue;
            };
            let given = Range::from(rated);
            let taken = self.taken_by(name, before.0, behind.0);
            let drawn = given.scaled(taken.low(), taken.high());
            let (to_before, from_behind, shared) = match self.minus_of(name, before.0, behind.0) {
                Some(Minus { out, back, shared }) => (out, back, shared),
                None => (self.way_back(before.0), self.way_back(behind.0), Vec::new()),
            };
            for link in before.1.into_iter().chain(to_before) {
                through[link].drawn = through[link].drawn + drawn;
            }
            for link in behind.1.into_iter().chain(from_behind) {
                through[link].given = through[link].given + given;
            }
            // What goes out through the minus and what comes in there flow against each other.
            let rest = (taken - Range::point(1.0)).magnitude();
            for link in shared {
                through[link].drawn = through[link].drawn + given.scaled(rest.low(), rest.high());
            }
        }
        through
    }

    /// What flows through the minus of a charger, where the plan has it.
    fn minus_of(&self, name: &str, before: usize, behind: usize) -> Option<Minus> {
        let graph = self.graph();
        let minus = graph.node(name, "ground")?;
        let returns = |kind: &LinkKind| is_laid(kind) || matches!(kind, LinkKind::Ground(_) | LinkKind::Body);
        let way = |post: usize| {
            let way = graph.nearest(minus, &[self.negative_of(post)?], returns);
            way.map(|(_, way)| way.into_iter().collect::<BTreeSet<usize>>())
        };
        let (out, back) = (way(before)?, way(behind)?);
        Some(Minus {
            out: out.difference(&back).copied().collect(),
            back: back.difference(&out).copied().collect(),
            shared: out.intersection(&back).copied().collect(),
        })
    }

    /// The negative post of the battery that has a positive post.
    fn negative_of(&self, post: usize) -> Option<usize> {
        let graph = self.graph();
        if post == POSITIVE {
            return Some(NEGATIVE);
        }
        let name = self.plan.batteries.keys().find(|name| graph.node(name, "positive") == Some(post))?;
        graph.node(name, "negative")
    }

    /// The wires from the nearest battery to a charger, and those from its minus on that carry as much, by their place in the
    /// job's list; nothing where no battery is reached on one side.
    pub fn feed_of_charger(&self, name: &str) -> Option<Vec<usize>> {
        let [Some((before, way)), Some((behind, _))] = self.sides(name, is_laid) else { return None };
        let wire =
            |link: usize| if let LinkKind::Wire(wire) = self.graph().links[link].kind { Some(wire) } else { None };
        // What lies in its minus counts where all that it takes flows there.
        let minus = self.minus_of(name, before, behind).map(|minus| minus.out).unwrap_or_default();
        Some(way.into_iter().chain(minus).filter_map(wire).collect())
    }

    /// The way from the negative post of an added battery to the body or the starting battery: what it is charged with
    /// comes back through it.
    fn way_back(&self, post: usize) -> Vec<usize> {
        let graph = self.graph();
        let mut added = self.plan.batteries.keys();
        let name = added.find(|name| graph.node(name, "positive") == Some(post));
        let goals: Vec<usize> = (0..graph.terminals.len()).filter(|node| graph.is_negative(*node)).collect();
        let way = name.and_then(|name| graph.nearest(graph.node(name, "negative")?, &goals, is_laid));
        way.map(|(_, way)| way).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;

    /// 30 A at 90 % are taken as 33.3 A. Where the battery behind comes back over the body, the minus carries the 3.3 A between
    /// them; where it comes back to the minus itself, all that is taken, and its own wire what is given. At 24 V before it the
    /// charger takes 16.7 A, and 13.3 A come in by the minus that are given and not taken.
    #[test]
    fn the_minus_of_a_charger_carries_what_the_two_sides_do_not_share() {
        let of = |voltage: &str, end: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: {voltage}, body: steel}}\nbatteries: {{rear: {{rest_voltage: 12.7 V}}}}\nisolators: {{dcdc: \
                 {{kind: charger, rated: 30 A, efficiency: 90 %}}}}\ngrounds: {{floor: {{}}, rail: {{}}}}\nwires:\n  \
                 a: {{from: battery.positive, to: dcdc.in}}\n  b: {{from: dcdc.out, to: rear.positive}}\n  \
                 c: {{from: rear.negative, to: {end}}}\n  d: {{from: dcdc.ground, to: grounds.floor}}\n"
            );
            of_job(&text, |job| {
                let most = |name: &str| {
                    let at = job.wires.iter().position(|wire| wire.name == name).expect("a wire");
                    let flows = job.charger_current(job.graph().wire(at).expect("a link"));
                    (flows.drawn.high(), flows.given.high())
                };
                (most("c"), most("d"), job.feed_of_charger("dcdc").expect("fed").len())
            })
        };
        let near = |found: (f64, f64), drawn: f64, given: f64| {
            assert!((found.0 - drawn).abs() < 1e-9 && (found.1 - given).abs() < 1e-9, "{found:?} {drawn} {given}");
        };
        let (back, minus, fed) = of("12 V", "grounds.rail");
        near(back, 0.0, 30.0);
        near(minus, 30.0 / 0.9 - 30.0, 0.0);
        assert_eq!(fed, 1, "what is lost in its feed alone");
        let (back, minus, fed) = of("12 V", "dcdc.ground");
        near(back, 0.0, 30.0);
        near(minus, 30.0 / 0.9, 0.0);
        assert_eq!(fed, 2, "and in the minus, where all of it flows");
        let (_, minus, _) = of("24 V", "grounds.rail");
        near(minus, 30.0 - 15.0 / 0.9, 0.0);
    }

    /// Charged from one added battery to another, each with its negative on the minus: what is taken leaves by the one, what is
    /// given comes by the other.
    #[test]
    fn between_two_added_batteries_the_minus_joins_their_negative_posts() {
        let text = "plan: 1\nvehicle: {voltage: 12 V, body: composite}\nbatteries: {one: {}, two: {}}\nisolators: {dcdc: {kind: charger, \
                    rated: 30 A, efficiency: 100 %}}\nwires:\n  a: {from: one.positive, to: dcdc.in}\n  \
                    b: {from: dcdc.out, to: two.positive}\n  c: {from: dcdc.ground, to: one.negative}\n  \
                    d: {from: two.negative, to: dcdc.ground}\n";
        of_job(text, |job| {
            let of = |wire| job.charger_current(job.graph().wire(wire).expect("a link"));
            let (out, back) = (of(2), of(3));
            assert_eq!((out.drawn.high(), out.given.high()), (30.0, 0.0));
            assert_eq!((back.drawn.high(), back.given.high()), (0.0, 30.0));
        });
    }
}
