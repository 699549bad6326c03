//! What chargers take before them and give behind them while the engine runs.

use std::collections::BTreeSet;

use super::facts::Facts;
use super::graph::{Graph, LinkKind, NEGATIVE, POSITIVE};
use super::job::Job;
use super::known::{Place, Thing};
use crate::plan::{Isolator, IsolatorKind};
use crate::quantity::{Current, Range, Ratio};

/// What chargers do in a link of the graph while the engine runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Charging {
    /// What they draw before them, on top of what loads draw there.
    pub drawn: Range<Current>,
    /// What they give behind them, against what loads take from the battery there.
    pub given: Range<Current>,
}

impl Charging {
    /// Nothing.
    pub const NONE: Self = Self { drawn: Range::point(0.0), given: Range::point(0.0) };

    /// The most that flows beside what loads draw. What a battery gets and what it gives pass its wires in opposite
    /// directions: the larger alone counts, with the charger on or off.
    pub fn beside(self, load: Range<Current>) -> Range<Current> {
        load.max(self.given) + self.drawn
    }
}

/// How many ampere a charger takes from the battery before it for each that it gives to the one behind it: the power is
/// the same but for what it loses.
pub(super) fn taken_by(facts: &Facts<'_>, graph: &Graph, name: &str, before: usize, behind: usize) -> Range<Ratio> {
    let stated = facts.plan.isolators.get(name).and_then(|isolator| isolator.efficiency);
    let place = Place::of(format!("isolators.{name}.efficiency"));
    let stated = stated.filter(|share| share.base() > 0.0);
    let efficiency = facts.assume(place, stated, &facts.house.assumptions.charger_efficiency).range;
    let volts = multiple_at(facts, graph, behind) / multiple_at(facts, graph, before);
    Range::new(volts * 100.0 / efficiency.high(), volts * 100.0 / efficiency.low())
}

/// What chargers do in every link of the graph while the engine runs: the current that each is made for behind it and on
/// the way back from the battery there, as much of that before it as the voltages of its two batteries ask and what it
/// loses. Nothing where a rating or a battery is missing.
pub(super) fn of(facts: &Facts<'_>, graph: &Graph) -> Vec<Charging> {
    let mut through = vec![Charging::NONE; graph.links.len()];
    let chargers = facts.plan.isolators.iter().filter(|(_, is)| is.kind == Some(IsolatorKind::Charger));
    for (name, charger) in chargers {
        let (Some(rated), [Some(before), Some(behind)]) = (charger.rated, sides(facts, graph, name)) else {
            continue;
        };
        let given = Range::from(rated);
        let taken = taken_by(facts, graph, name, before.0, behind.0);
        let drawn = given.scaled(taken.low(), taken.high());
        let back = minus_of(facts, graph, name, before.0, behind.0);
        let [to_before, from_behind] = back.unwrap_or_else(|| {
            [way_back(facts, graph, before.0), way_back(facts, graph, behind.0)].map(|way| way.into_iter().collect())
        });
        // What goes out through the minus that both sides share, and what comes in there, flow against each other.
        let rest = (taken - Range::point(1.0)).magnitude();
        for link in before.1.into_iter().chain(to_before.difference(&from_behind).copied()) {
            through[link].drawn = through[link].drawn + drawn;
        }
        for link in to_before.intersection(&from_behind) {
            through[*link].drawn = through[*link].drawn + given.scaled(rest.low(), rest.high());
        }
        for link in behind.1.into_iter().chain(from_behind.difference(&to_before).copied()) {
            through[link].given = through[link].given + given;
        }
    }
    through
}

/// Where the plan has the minus of a charger: the ways from there to the negative post of the battery before it, and from
/// that of the battery behind it to there.
pub(super) fn minus_of(
    facts: &Facts<'_>,
    graph: &Graph,
    name: &str,
    before: usize,
    behind: usize,
) -> Option<[BTreeSet<usize>; 2]> {
    let minus = graph.node(name, "ground")?;
    let returns = |kind: &LinkKind| kind.is_laid() || matches!(kind, LinkKind::Ground(_) | LinkKind::Body);
    let way = |post: usize| {
        let way = graph.nearest(minus, &[negative_of(facts, graph, post)?], returns);
        way.map(|(_, way)| way.into_iter().collect::<BTreeSet<usize>>())
    };
    Some([way(before)?, way(behind)?])
}

/// The negative post of the battery that has a positive post.
fn negative_of(facts: &Facts<'_>, graph: &Graph, post: usize) -> Option<usize> {
    if post == POSITIVE {
        return Some(NEGATIVE);
    }
    let name = facts.plan.batteries.keys().find(|name| graph.node(name, "positive") == Some(post))?;
    graph.node(name, "negative")
}

/// A charger with the battery that it charges.
#[derive(Debug, Clone)]
pub struct Charger<'a> {
    /// The charger.
    pub is: Thing<'a, Isolator>,
    /// The positive post of the battery behind it.
    behind: usize,
}

impl<'a> Job<'a> {
    /// The chargers that charge an added battery, or one that wires, relays or switches join with it, with the names of all
    /// batteries that share what they give, in order.
    pub fn chargers_of(&self, battery: &str) -> (Vec<Charger<'a>>, Vec<&'a str>) {
        let graph = self.graph();
        let Some(post) = graph.node(battery, "positive") else { return (Vec::new(), Vec::new()) };
        let joined = graph.joined(&[post], |kind| kind.conducts() && !self.limits(kind));
        let chargers = self.plan.isolators.iter().filter(|(_, is)| is.kind == Some(IsolatorKind::Charger));
        let chargers = chargers.filter_map(|(name, is)| {
            let (behind, _) = sides(self, graph, name)[1].clone()?;
            Some(Charger { is: Thing::new("isolators", name, is), behind })
        });
        let chargers = chargers.filter(|charger| joined.contains(&charger.behind)).collect();
        let share = |name: &&str| graph.node(name, "positive").is_some_and(|post| joined.contains(&post));
        (chargers, self.plan.batteries.keys().map(String::as_str).filter(share).collect())
    }

    /// Whether a link is a charger or a step-down converter.
    fn limits(&self, kind: &LinkKind) -> bool {
        matches!(kind, LinkKind::Isolator(name) if self.plan.isolators.get(name).is_some_and(Isolator::limits_current))
    }

    /// Whether a charger stands the wrong way round: what the alternator charges is joined with its `out`, and on its `in` an
    /// added battery that the alternator does not come to in another way. Nothing where it does not stand between two
    /// batteries.
    pub fn is_charger_reversed(&self, name: &str) -> Option<bool> {
        let graph = self.graph();
        let [Some((before, _)), Some(_)] = sides(self, graph, name) else { return None };
        let source = [Some(POSITIVE), graph.node("alternator", "positive")];
        let from = |side: &str, passes: &dyn Fn(&LinkKind) -> bool| {
            let reached = graph.node(name, side).map(|node| graph.joined(&[node], passes)).unwrap_or_default();
            source.iter().flatten().any(|source| reached.contains(source))
        };
        let joins = |kind: &LinkKind| kind.conducts() && !self.limits(kind);
        let others = |kind: &LinkKind| kind.conducts() && !matches!(kind, LinkKind::Isolator(other) if other == name);
        Some(before != POSITIVE && from("out", &joins) && !from("in", &others))
    }
}

/// The nearest battery post on either side of an isolator, each with the way to it.
pub(super) fn sides(facts: &Facts<'_>, graph: &Graph, name: &str) -> [Option<(usize, Vec<usize>)>; 2] {
    let posts = graph.positives(facts);
    ["in", "out"].map(|side| graph.nearest(graph.node(name, side)?, &posts, LinkKind::is_laid))
}

/// The nearest battery posts on both sides of an isolator, where there are two.
pub(super) fn posts_beside(facts: &Facts<'_>, graph: &Graph, name: &str) -> Option<(usize, usize)> {
    match sides(facts, graph, name) {
        [Some(before), Some(behind)] => Some((before.0, behind.0)),
        _ => None,
    }
}

/// The way from the negative post of an added battery to the body or the starting battery: what it is charged with
/// comes back through it.
fn way_back(facts: &Facts<'_>, graph: &Graph, post: usize) -> Vec<usize> {
    let mut added = facts.plan.batteries.keys();
    let name = added.find(|name| graph.node(name, "positive") == Some(post));
    let goals: Vec<usize> = (0..graph.terminals.len()).filter(|node| graph.is_negative(*node)).collect();
    let way = name.and_then(|name| graph.nearest(graph.node(name, "negative")?, &goals, LinkKind::is_laid));
    way.map(|(_, way)| way).unwrap_or_default()
}

/// How many twelve-volt batteries in series a battery is worth; as many as the vehicle's where nobody says.
fn multiple_at(facts: &Facts<'_>, graph: &Graph, post: usize) -> f64 {
    facts.multiple_at(graph, post).or_else(|_| facts.system_multiple()).unwrap_or(1.0)
}

#[cfg(test)]
mod tests {
    use super::super::{Case, of_job};

    /// The one between two added batteries stands right, though a charger from the alternator feeds what is behind it: what that
    /// lets through is no joint.
    #[test]
    fn a_charger_is_reversed_where_the_alternator_is_joined_with_its_output() {
        let of = |wires: &str| {
            let text = format!(
                "plan: 1\nbatteries: {{rear: {{}}, third: {{}}}}\nisolators: {{dcdc: {{kind: charger}}, other: {{kind: charger}}, \
                 part: {{kind: relay}}}}\nwires:\n{wires}"
            );
            of_job(&text, |job| job.is_charger_reversed("dcdc"))
        };
        let between = "  a: {from: rear.positive, to: dcdc.in}\n  b: {from: dcdc.out, to: third.positive}\n";
        let through = |gear: &str| {
            format!(
                "{between}  c: {{from: battery.positive, to: {gear}.in}}\n  d: {{from: {gear}.out, to: third.positive}}\n"
            )
        };
        assert_eq!(of(between), Some(false));
        assert_eq!(of(&through("other")), Some(false));
        assert_eq!(of(&through("part")), Some(true));
        let fed = "  e: {from: battery.positive, to: rear.positive}\n";
        assert_eq!(of(&(through("part") + fed)), Some(false), "the alternator comes to both");
        assert_eq!(of("  a: {from: rear.positive, to: dcdc.in}\n"), None);
    }

    /// 30 A at 12 V are 15 A at 24 V, and 30 A where both batteries are alike, and a ninth more where a tenth is lost.
    #[test]
    fn a_charger_gives_what_it_is_made_for_and_draws_by_the_voltage_before_it_and_what_it_loses() {
        let of = |voltage: &str, rest: &str, loses: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: {voltage}}}\nbatteries: {{rear: {{{rest}}}}}\nisolators: {{dcdc: {{kind: charger, \
                 rated: 30 A{loses}}}}}\namplifiers: {{amp: {{}}}}\nwires:\n  a: {{from: battery.positive, to: dcdc.in}}\n  \
                 b: {{from: dcdc.out, to: rear.positive}}\n  c: {{from: rear.positive, to: amp.power}}\n  \
                 d: {{from: rear.negative, to: battery.negative}}\n"
            );
            of_job(&text, |job| {
                let current = |wire| job.charger_current(job.graph().wire(wire).expect("a link"));
                let given: Vec<f64> = (1..4).map(|wire| current(wire).given.middle()).collect();
                assert_eq!(given, [30.0, 0.0, 30.0]);
                let behind = job.taken_for(job.graph().node("amp", "power").expect("a node")).expect("behind it");
                let (taken, drawn) = (behind * 30.0, current(0).drawn);
                assert_eq!((taken.low(), taken.high()), (drawn.low(), drawn.high()));
                assert!(job.taken_for(job.graph().node("dcdc", "in").expect("a node")).is_none());
                (drawn.low(), drawn.high())
            })
        };
        let whole = ", efficiency: 100 %";
        assert_eq!(of("24 V", "rest_voltage: 12.7 V", whole), (15.0, 15.0));
        assert_eq!(of("12 V", "rest_voltage: 13.3 V", whole), (30.0, 30.0));
        assert_eq!(of("24 V", "", whole), (30.0, 30.0));
        assert_eq!(of("12 V", "rest_voltage: 25.6 V", whole), (60.0, 60.0));
        let near = |found: (f64, f64), low: f64, high: f64| {
            assert!((found.0 - low).abs() < 1e-9 && (found.1 - high).abs() < 1e-9, "{found:?}");
        };
        near(of("12 V", "rest_voltage: 12.7 V", ", efficiency: 90 %"), 30.0 / 0.9, 30.0 / 0.9);
        near(of("24 V", "rest_voltage: 12.7 V", ""), 15.0 / 0.95, 15.0 / 0.85);
        near(of("24 V", "rest_voltage: 12.7 V", ", efficiency: 0 %"), 15.0 / 0.95, 15.0 / 0.85);
    }

    /// An added battery's return carries what it is charged with from its post to the body, and what its amplifier takes from the
    /// body to its post: 60 A with the charger on and the music off, never their sum. Before the charger both flow alike.
    #[test]
    fn what_a_battery_gets_and_what_it_gives_do_not_add_up() {
        let of = |rated: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 1 mohm, battery: {{internal_resistance: 5 mohm}}, \
                 alternator: {{rated: 200 A, at_idle: 150 A, voltage: 14 V}}, factory_load: {{running: 20 A}}}}\n\
                 batteries: {{rear: {{internal_resistance: 5 mohm}}}}\nisolators: {{dcdc: {{kind: charger, rated: {rated}, \
                 efficiency: 90 %}}}}\namplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, \
                 rated: [{{load: 2 ohm, power: 300 W}}]}}}}\ngrounds: {{floor: {{}}, rail: {{}}}}\nwires:\n  \
                 in: {{from: battery.positive, to: dcdc.in, size: 16 mm2, length: 4 m, conductor: copper}}\n  \
                 out: {{from: dcdc.out, to: rear.positive, size: 16 mm2, length: 1 m, conductor: copper}}\n  \
                 back: {{from: rear.negative, to: grounds.rail, size: 16 mm2, length: 50 cm, conductor: copper}}\n  \
                 feed: {{from: rear.positive, to: amp.power, size: 16 mm2, length: 1 m, conductor: copper}}\n  \
                 return: {{from: amp.ground, to: grounds.floor, size: 16 mm2, length: 50 cm, conductor: copper}}\n"
            );
            of_job(&text, |job| {
                ["back", "return", "in"].map(|name| {
                    let wire = job.wire(name).expect("a wire");
                    job.wire_current(wire, Case::IdleFull).expect("stated").range.high()
                })
            })
        };
        let [back, own, drawn] = of("60 A");
        assert!((back - 60.0).abs() < 1e-9 && (drawn - 60.0 / 0.9).abs() < 1e-9, "{back} {drawn}");
        assert!((28.0..40.0).contains(&own), "{own}");
        // What the amplifier takes is more than a small charger gives.
        let [back, own, _] = of("10 A");
        assert!((back - own).abs() < 1e-6, "{back} {own}");
    }

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
