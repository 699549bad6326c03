//! Positive and negative: what is joined to which side of the batteries with no load between.

use super::earth::{self, PositiveEarth};
use super::facts::Facts;
use super::graph::{Graph, LinkKind, NEGATIVE, POSITIVE};
use super::known::Place;

/// Which side of the batteries is joined to what.
#[derive(Debug, Clone, Default)]
pub struct Polarity {
    /// Where the vehicle has its positive on the body; nothing else is told of its polarity then.
    pub positive_earth: Option<PositiveEarth>,
    /// Ways on which the positive post of a battery meets the negative side, the shortest of each battery.
    pub shorts: Vec<Short>,
    /// Gear and batteries with plus and minus exchanged; empty where the two sides are joined anyway.
    pub turned: Vec<Turned>,
}

/// A way from a battery's positive post to the negative side that passes no load.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Short {
    /// The battery, by its place: `vehicle.battery` or one below `batteries`.
    pub battery: Place,
    /// The wires on the way from the positive post on, by their place in the job's list.
    pub wires: Vec<usize>,
    /// The node at which the last of these wires leaves the positive side.
    pub near: usize,
    /// The node of the negative side that it ends at.
    pub end: usize,
}

/// Something whose negative terminal is on the positive side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Turned {
    /// Its place.
    pub place: Place,
    /// The node of its negative terminal.
    pub negative: usize,
    /// The node of its positive terminal, where that is on the negative side.
    pub positive: Option<usize>,
    /// Whether supply current flows in it, so that nothing can be said of the currents of the whole supply.
    pub loads_supply: bool,
}

impl Polarity {
    /// Why no current of the supply can be computed, where none can.
    pub fn no_currents(&self) -> Option<&'static str> {
        if self.positive_earth.is_some() {
            return Some(earth::WHY);
        }
        if !self.shorts.is_empty() {
            return Some("positive and negative are joined (WIRE-14 reports that)");
        }
        let is_turned = self.turned.iter().any(|turned| turned.loads_supply);
        is_turned.then_some("plus and minus are exchanged at something in the supply (WIRE-15 reports that)")
    }

    /// The way on which a wire joins positive and negative.
    pub fn short_of(&self, wire: usize) -> Option<&Short> {
        self.shorts.iter().find(|short| short.wires.contains(&wire))
    }
}

/// A battery as far as its posts go.
struct Posts {
    place: Place,
    positive: Option<usize>,
    negative: Option<usize>,
}

fn posts(facts: &Facts<'_>, graph: &Graph) -> Vec<Posts> {
    let first = Posts { place: Place::of("vehicle.battery"), positive: Some(POSITIVE), negative: Some(NEGATIVE) };
    let added = facts.plan.batteries.keys().map(|name| Posts {
        place: Place::of(format!("batteries.{name}")),
        positive: graph.node(name, "positive"),
        negative: graph.node(name, "negative"),
    });
    std::iter::once(first).chain(added).collect()
}

/// Looks at every battery and at all gear that takes a feed and a return.
pub fn of(facts: &Facts<'_>, graph: &Graph) -> Polarity {
    let positive_earth = earth::of(facts, graph);
    if positive_earth.is_some() {
        return Polarity { positive_earth, ..Polarity::default() };
    }
    let batteries = posts(facts, graph);
    // Whatever the body is made of, a ground is what the plan takes for the negative side.
    let common: Vec<usize> = (0..graph.terminals.len()).filter(|node| graph.is_negative(*node)).collect();
    let (plus, minus) = (graph.joined(&[POSITIVE], |_| true), graph.joined(&common, |_| true));
    let are_apart = plus.is_disjoint(&minus);
    let is_turned = |posts: &Posts| {
        are_apart
            && posts.positive.is_some_and(|node| minus.contains(&node))
            && posts.negative.is_some_and(|node| plus.contains(&node))
    };
    let (turned, right): (Vec<&Posts>, Vec<&Posts>) = batteries.iter().partition(|posts| is_turned(posts));
    let shorts = shorts(graph, &right, &common);
    if !shorts.is_empty() {
        return Polarity { shorts, ..Polarity::default() };
    }
    let batteries = turned.into_iter().filter_map(|posts| {
        let (place, positive) = (posts.place.clone(), posts.positive);
        Some(Turned { place, negative: posts.negative?, positive, loads_supply: true })
    });
    let turned = batteries.chain(gear(facts, graph, &right, &common)).collect();
    Polarity { positive_earth, shorts, turned }
}

/// The shortest way of each battery from its positive post to the negative side; one that ends in the same wire as that of
/// another battery is the same mistake.
fn shorts(graph: &Graph, batteries: &[&Posts], common: &[usize]) -> Vec<Short> {
    let mut found: Vec<Short> = Vec::new();
    for posts in batteries {
        let Some(start) = posts.positive else { continue };
        let goals: Vec<usize> = common.iter().copied().chain(posts.negative).collect();
        // A way over the post of another battery is that battery's.
        let others: Vec<usize> =
            batteries.iter().filter_map(|other| other.positive).filter(|node| *node != start).collect();
        let Some((end, way)) = graph.nearest_past(start, &goals, &others, |_| true) else { continue };
        let wires: Vec<(usize, usize)> = way
            .iter()
            .filter_map(|link| match graph.links[*link].kind {
                LinkKind::Wire(wire) => Some((wire, *link)),
                _ => None,
            })
            .collect();
        // Only a wire joins what a plan declares; without one the posts themselves are one node, which no plan can write.
        let Some((last, link)) = wires.last().copied() else { continue };
        if found.iter().any(|short| short.wires.last() == Some(&last)) {
            continue;
        }
        let near = graph.near_end(start, &way, link);
        let battery = posts.place.clone();
        found.push(Short { battery, wires: wires.into_iter().map(|(wire, _)| wire).collect(), near, end });
    }
    found
}

/// Gear whose negative terminal is on the positive side.
fn gear(facts: &Facts<'_>, graph: &Graph, batteries: &[&Posts], common: &[usize]) -> Vec<Turned> {
    let plus = graph.joined(&batteries.iter().filter_map(|posts| posts.positive).collect::<Vec<_>>(), |_| true);
    // Of batteries in series one stands with its negative post on the positive of the other.
    let own = batteries.iter().filter_map(|posts| posts.negative).filter(|node| !plus.contains(node));
    let minus = graph.joined(&common.iter().copied().chain(own).collect::<Vec<_>>(), |_| true);
    let turned = facts.fed_and_grounded().filter_map(|(section, name, fed)| {
        let negative = graph.node(name, "ground").filter(|node| plus.contains(node))?;
        let positive = graph.node(name, fed).filter(|node| minus.contains(node));
        let loads_supply = matches!(section, "amplifiers" | "isolators");
        Some(Turned { place: Place::of(format!("{section}.{name}")), negative, positive, loads_supply })
    });
    turned.collect()
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    const GEAR: &str = "plan: 1\nvehicle: {body: steel}\namplifiers: {amp: {}, other: {}}\nbatteries: {rear: {}}\n\
                        blocks: {split: {outputs: {one: {}, two: {}}}}\nisolators: {relay: {kind: relay}}\n\
                        converters: {loc: {}}\ngrounds: {floor: {}}\nwires:\n";

    /// The names of the wires of every short, and what is turned.
    fn found(wires: &str) -> (Vec<String>, Vec<String>) {
        of_job(&format!("{GEAR}{wires}"), |job| {
            let polarity = job.polarity();
            let named = |short: &Short| short.wires.iter().map(|at| job.wires[*at].name).collect::<Vec<_>>().join(" ");
            let turned = polarity.turned.iter().map(|turned| turned.place.path()).collect();
            (polarity.shorts.iter().map(named).collect(), turned)
        })
    }

    fn shorts(wires: &str) -> Vec<String> {
        found(wires).0
    }

    const SOUND: &str = "  main: {from: battery.positive, to: split.in}\n  one: {from: split.one, to: amp.power}\n  \
                         back: {from: amp.ground, to: grounds.floor}\n  link: {from: battery.positive, to: relay.in}\n  \
                         post: {from: relay.out, to: rear.positive}\n  down: {from: rear.negative, to: grounds.floor}\n";

    #[test]
    fn a_sound_supply_has_no_short_and_nothing_turned() {
        assert_eq!(found(SOUND), (Vec::new(), Vec::new()));
        assert_eq!(found("  loose: {from: battery.positive}\n"), (Vec::new(), Vec::new()));
    }

    #[test]
    fn every_way_without_a_load_is_a_short() {
        let none: [String; 0] = [];
        assert_eq!(shorts("  oops: {from: battery.positive, to: battery.negative}\n"), ["oops"]);
        assert_eq!(shorts("  oops: {from: battery.body-side, to: battery.positive}\n"), ["oops"]);
        assert_eq!(shorts("  oops: {from: grounds.floor, to: battery.positive}\n"), ["oops"]);
        assert_eq!(shorts("  oops: {from: battery.positive, to: alternator.negative}\n"), ["oops"]);
        let through = |back: &str| {
            format!(
                "  feed: {{from: battery.positive, to: amp.power}}\n  back: {{from: {back}, to: battery.negative}}\n"
            )
        };
        assert_eq!(shorts(&through("amp.power")), ["feed back"]);
        assert_eq!(shorts(&through("amp.ground")), none);
        let block = "  main: {from: battery.positive, to: split.in}\n  down: {from: split.two, to: grounds.floor}\n";
        assert_eq!(shorts(block), ["main down"]);
        let relay = "  main: {from: battery.positive, to: relay.in}\n  down: {from: relay.out, to: grounds.floor}\n";
        assert_eq!(shorts(relay), ["main down"]);
    }

    /// The body of fibre carries nothing, but the plan takes a ground for the negative side.
    #[test]
    fn a_ground_is_the_negative_side_of_any_body() {
        let text =
            format!("{GEAR}  oops: {{from: battery.positive, to: grounds.floor}}\n").replace("steel", "composite");
        assert_eq!(of_job(&text, |job| job.polarity().shorts.len()), 1);
    }

    #[test]
    fn one_mistake_is_one_short_however_many_batteries_feed_it() {
        let both = format!("{SOUND}  oops: {{from: split.two, to: battery.negative}}\n");
        assert_eq!(shorts(&both), ["main oops"]);
        let shared = "  a: {from: battery.positive, to: split.in}\n  b: {from: rear.positive, to: split.one}\n  \
                      oops: {from: split.two, to: grounds.floor}\n";
        assert_eq!(shorts(shared), ["a oops"]);
        let two = "  a: {from: battery.positive, to: grounds.floor}\n  b: {from: rear.positive, to: rear.negative}\n";
        assert_eq!(shorts(two), ["a", "b"]);
    }

    #[test]
    fn gear_with_its_ground_on_the_positive_side_is_turned() {
        let of = |power: &str, ground: &str| {
            let wires = format!("  a: {{from: {power}, to: amp.power}}\n  b: {{from: amp.ground, to: {ground}}}\n");
            of_job(&format!("{GEAR}{wires}"), |job| {
                job.polarity()
                    .turned
                    .iter()
                    .map(|turned| (turned.place.path(), turned.positive.is_some()))
                    .collect::<Vec<_>>()
            })
        };
        let amp = || "amplifiers.amp".to_owned();
        assert_eq!(of("battery.negative", "battery.positive"), [(amp(), true)]);
        assert_eq!(of("grounds.floor", "battery.positive"), [(amp(), true)]);
        assert_eq!(of("battery.positive", "battery.positive"), [(amp(), false)]);
        assert_eq!(of("battery.positive", "battery.negative"), []);
        assert_eq!(of("battery.negative", "battery.negative"), []);
        let small = "  a: {from: battery.positive, to: loc.ground}\n";
        assert_eq!(found(small).1, ["converters.loc"]);
        assert!(
            of_job(&format!("{GEAR}{small}"), |job| job.polarity().no_currents().is_none()),
            "it draws next to nothing"
        );
    }

    #[test]
    fn a_battery_the_wrong_way_round_is_turned_and_two_in_series_are_not() {
        let turned =
            "  a: {from: battery.positive, to: rear.negative}\n  b: {from: rear.positive, to: grounds.floor}\n";
        assert_eq!(found(turned), (Vec::new(), vec!["batteries.rear".to_owned()]));
        let series = "  a: {from: battery.positive, to: rear.negative}\n  b: {from: rear.positive, to: amp.power}\n  \
                      c: {from: amp.ground, to: battery.negative}\n";
        assert_eq!(found(series), (Vec::new(), Vec::new()));
    }

    #[test]
    fn no_current_is_told_of_a_supply_that_is_shorted_or_turned() {
        let of = |wires: &str| of_job(&format!("{GEAR}{wires}"), |job| job.polarity().no_currents());
        assert_eq!(of(SOUND), None);
        assert!(
            of("  oops: {from: battery.positive, to: battery.negative}\n").is_some_and(|why| why.contains("WIRE-14"))
        );
        assert!(of("  oops: {from: battery.positive, to: amp.ground}\n").is_some_and(|why| why.contains("WIRE-15")));
    }

    /// The starting battery comes to the short only over the post of the second: it is the second's, with the one wire.
    #[test]
    fn a_short_over_the_post_of_another_battery_is_that_batterys() {
        let text = format!(
            "{GEAR}  link: {{from: battery.positive, to: rear.positive}}\n  oops: {{from: rear.positive, to: grounds.floor}}\n"
        );
        let short = of_job(&text, |job| {
            job.polarity().shorts.iter().map(|short| (short.battery.path(), short.wires.len())).collect::<Vec<_>>()
        });
        assert_eq!(short, [("batteries.rear".to_owned(), 1)]);
    }

    /// The negative post of a second battery is a negative side of its own; in series it stands on the positive side.
    #[test]
    fn plus_on_a_batterys_own_negative_post_is_exchanged() {
        let of = |wires: &str| {
            of_job(&format!("{GEAR}{wires}"), |job| {
                job.polarity().turned.iter().map(|turned| turned.positive.is_some()).collect::<Vec<_>>()
            })
        };
        let back = "  back: {from: amp.ground, to: battery.positive}\n";
        assert_eq!(of(&format!("{back}  feed: {{from: rear.negative, to: amp.power}}\n")), [true]);
        let series =
            "  up: {from: battery.positive, to: rear.negative}\n  feed: {from: rear.negative, to: amp.power}\n";
        assert_eq!(of(&format!("{back}{series}")), [false]);
    }
}
