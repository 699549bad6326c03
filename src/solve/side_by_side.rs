//! Runs side by side between two terminals: which links they are, how a current divides among them, and the fuses that
//! hold all of it back together.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::graph::{Graph, LinkKind};
use super::network::factor::{Matrix, Pattern};

/// More terminals than lie side by side in any vehicle; of a mesh of more the nearest way alone is looked at.
const MOST: usize = 40;
/// What joins a block's terminals, or an isolator's contacts, beside the wires, in ohm: next to nothing.
pub(super) const CONTACT: f64 = 1e-6;
/// A link that carries less than this share of a current lies beside its way.
const NOTHING: f64 = 1e-9;

/// The links of all ways between two terminals.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Between {
    from: usize,
    to: usize,
    is_alone: bool,
    /// The links, in their order in the graph.
    pub links: Vec<usize>,
}

impl Between {
    /// All ways from a terminal to another over links of the kinds allowed that pass none of some others. `nearest` is one
    /// of them, and stands alone where there are too many.
    pub fn of(
        graph: &Graph,
        (from, to): (usize, usize),
        nearest: Vec<usize>,
        others: &[usize],
        allowed: impl Fn(&LinkKind) -> bool,
    ) -> Self {
        let alone = Self { from, to, is_alone: true, links: nearest };
        let mut inside = BTreeSet::from([from]);
        let mut links = BTreeSet::new();
        let mut queue = VecDeque::from([from]);
        while let Some(node) = queue.pop_front() {
            for (link, next) in graph.around(node) {
                let passes = next == to || !others.contains(&next);
                if !passes || !allowed(&graph.links[link].kind) {
                    continue;
                }
                links.insert(link);
                if inside.insert(next) && next != to {
                    queue.push_back(next);
                }
            }
        }
        without_dead_ends(graph, &mut links, &[from, to]);
        let nodes: BTreeSet<usize> = links.iter().flat_map(|link| ends(graph, *link)).collect();
        if links.len() <= alone.links.len() || nodes.len() > MOST {
            return alone;
        }
        Self { links: links.into_iter().collect(), is_alone: false, ..alone }
    }

    /// Whether nothing lies side by side: each link follows another.
    pub fn is_one_way(&self) -> bool {
        self.is_alone
    }

    /// The share of a current that each link carries, and what all of them resist together, in ohm. `ohms` tells the
    /// resistance of a wire.
    ///
    /// # Errors
    /// What `ohms` fails with.
    pub fn divide<E>(
        &self,
        graph: &Graph,
        ohms: impl Fn(usize) -> Result<f64, E>,
    ) -> Result<(BTreeMap<usize, f64>, f64), E> {
        let mut conductances = Vec::new();
        for link in &self.links {
            let resistance = if let LinkKind::Wire(wire) = graph.links[*link].kind { ohms(wire)? } else { CONTACT };
            conductances.push((*link, 1.0 / resistance.max(CONTACT)));
        }
        let nodes: Vec<usize> =
            self.links.iter().flat_map(|link| ends(graph, *link)).collect::<BTreeSet<_>>().into_iter().collect();
        let volts = potentials(graph, &nodes, &conductances, [self.from, self.to]);
        let at = |node: usize| volts.get(&node).copied().unwrap_or(0.0);
        let shares = conductances.iter().map(|(link, conductance)| {
            let [a, b] = ends(graph, *link);
            (*link, (at(a) - at(b)).abs() * conductance)
        });
        Ok((shares.filter(|(_, share)| *share > NOTHING).collect(), at(self.from)))
    }

    /// What all ways let through together, where each link lets through as much as `most` says (nothing: without limit), with
    /// the links that hold it back; nothing where some way has no limit.
    pub fn held_back(&self, graph: &Graph, most: impl Fn(usize) -> Option<f64>) -> Option<(f64, Vec<usize>)> {
        let mut flows: BTreeMap<usize, f64> = BTreeMap::new();
        let mut total = 0.0;
        // Every round fills a link; a mesh of MOST terminals has fewer than this many.
        for _ in 0..MOST * MOST {
            let (reached, way) = self.open_way(graph, &flows, &most);
            let Some(way) = way else {
                let cut = self.links.iter().copied();
                let cut =
                    cut.filter(|link| ends(graph, *link).iter().filter(|node| reached.contains(node)).count() == 1);
                return Some((total, cut.collect()));
            };
            let more = way.iter().map(|(_, _, left)| *left).fold(f64::INFINITY, f64::min);
            if more.is_infinite() {
                return None;
            }
            total += more;
            for (link, forward, _) in way {
                *flows.entry(link).or_default() += if forward { more } else { -more };
            }
        }
        None
    }

    /// The terminals that more current reaches, and a way on which more flows to the end: its links, each with its direction
    /// and what is left of it.
    #[allow(clippy::type_complexity, reason = "read in one place")]
    fn open_way(
        &self,
        graph: &Graph,
        flows: &BTreeMap<usize, f64>,
        most: &impl Fn(usize) -> Option<f64>,
    ) -> (BTreeSet<usize>, Option<Vec<(usize, bool, f64)>>) {
        let mut came: BTreeMap<usize, Option<(usize, (usize, bool, f64))>> = BTreeMap::from([(self.from, None)]);
        let mut queue = VecDeque::from([self.from]);
        while let Some(node) = queue.pop_front() {
            for (link, next) in graph.around(node).filter(|(link, _)| self.links.contains(link)) {
                let forward = graph.links[link].a == node;
                let flow = flows.get(&link).copied().unwrap_or(0.0) * if forward { 1.0 } else { -1.0 };
                let left = most(link).map_or(f64::INFINITY, |most| most - flow);
                if left > NOTHING && !came.contains_key(&next) {
                    came.insert(next, Some((node, (link, forward, left))));
                    queue.push_back(next);
                }
            }
        }
        let mut way = Vec::new();
        let mut at = self.to;
        while let Some(Some((before, step))) = came.get(&at) {
            way.push(*step);
            at = *before;
        }
        let leads_there = came.contains_key(&self.to);
        (came.into_keys().collect(), leads_there.then_some(way))
    }
}

fn ends(graph: &Graph, link: usize) -> [usize; 2] {
    [graph.links[link].a, graph.links[link].b]
}

/// Takes away, again and again, links that end where no other goes on.
pub(super) fn without_dead_ends(graph: &Graph, links: &mut BTreeSet<usize>, keep: &[usize]) {
    loop {
        let mut count: BTreeMap<usize, usize> = BTreeMap::new();
        for node in links.iter().flat_map(|link| ends(graph, *link)) {
            *count.entry(node).or_default() += 1;
        }
        let before = links.len();
        links.retain(|link| ends(graph, *link).iter().all(|node| keep.contains(node) || count[node] > 1));
        if links.len() == before {
            return;
        }
    }
}

/// The voltages at which one ampere flows from one terminal to another, which is at 0 V.
fn potentials(
    graph: &Graph,
    nodes: &[usize],
    conductances: &[(usize, f64)],
    [from, to]: [usize; 2],
) -> BTreeMap<usize, f64> {
    let unknown: Vec<usize> = nodes.iter().copied().filter(|node| *node != to).collect();
    let row = |node: usize| unknown.iter().position(|known| *known == node);
    let rows: Vec<[Option<usize>; 2]> = conductances.iter().map(|(link, _)| ends(graph, *link).map(row)).collect();
    let pairs = rows.iter().filter_map(|[a, b]| Some(((*a)?, (*b)?)));
    let (pattern, row_of) = Pattern::new(unknown.len(), pairs);
    let mut matrix = Matrix::zero(&pattern);
    for ([a, b], (_, conductance)) in rows.iter().zip(conductances) {
        matrix.stamp(pattern.link(a.map(|at| row_of[at]), b.map(|at| row_of[at])), *conductance);
    }
    // Each terminal is joined to the one at 0 V, so that every pivot is above nothing.
    matrix.factor(&pattern);
    let mut volts = vec![0.0; unknown.len()];
    if let Some(at) = row(from) {
        volts[row_of[at]] = 1.0;
    }
    matrix.solve(&pattern, &mut volts);
    unknown.iter().enumerate().map(|(at, node)| (*node, volts[row_of[at]])).collect()
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    /// One run of a fuse of 150 A, then two side by side of 60 A and 80 A: 140 A come through. The longer of two like runs, three
    /// times as long, carries a quarter; 1 mohm and 1.5 mohm beside 0.5 mohm are 1 + 0.375 mohm.
    #[test]
    fn what_divides_side_by_side_comes_together_again() {
        let text = "plan: 1\nblocks: {split: {outputs: {one: {}, two: {}}}}\nwires:\n  main: {from: battery.positive, to: split.in}\n  \
                    a: {from: split.one, to: part.in}\n  b: {from: split.two, to: part.in}\n  \
                    dead: {from: split.one, to: amp.power}\n";
        of_job(text, |job| {
            let graph = job.graph();
            let goal = graph.node("part", "in").expect("a node");
            let (_, nearest) = graph.nearest(goal, &[super::super::graph::POSITIVE], LinkKind::is_laid).expect("a way");
            let between = Between::of(graph, (goal, super::super::graph::POSITIVE), nearest, &[], LinkKind::is_laid);
            let wire = |name: &str| {
                let at = job.wires.iter().position(|wire| wire.name == name).expect("a wire");
                graph.wire(at).expect("a link")
            };
            assert_eq!(between.links.len(), 5, "{between:?}");
            assert!(!between.links.contains(&wire("dead")));
            let ohms = |wire: usize| {
                Ok::<_, ()>(match job.wires[wire].name {
                    "main" => 1e-3,
                    "a" => 0.5e-3,
                    _ => 1.5e-3,
                })
            };
            let (shares, all) = between.divide(graph, ohms).expect("stated");
            let near = |found: f64, expected: f64| assert!((found - expected).abs() < 1e-3, "{found}, {expected}");
            near(shares[&wire("main")], 1.0);
            near(shares[&wire("a")], 0.75);
            near(shares[&wire("b")], 0.25);
            near(all * 1e3, 1.3756);
            let most = |main: f64| {
                let (total, cut) = between
                    .held_back(graph, |link| {
                        let of = [(wire("main"), main), (wire("a"), 60.0), (wire("b"), 80.0)];
                        of.into_iter().find(|(at, _)| *at == link).map(|(_, most)| most)
                    })
                    .expect("limited");
                (total, cut)
            };
            assert_eq!(most(150.0), (140.0, vec![wire("a"), wire("b")]));
            assert_eq!(most(100.0), (100.0, vec![wire("main")]));
            assert!(between.held_back(graph, |link| (link == wire("a")).then_some(60.0)).is_none());
        });
    }

    fn joined(runs: &[(&str, &str, &str)]) -> String {
        let each = runs.iter().map(|(name, from, to)| format!("  {name}: {{from: {from}, to: {to}}}\n"));
        format!("plan: 1\nwires:\n{}", each.collect::<String>())
    }

    /// What lies between the battery and `part.in`, past none of some terminals.
    fn looked_at<T>(
        text: &str,
        past: &[(&str, &str)],
        look: impl FnOnce(&Between, &Graph, &dyn Fn(&str) -> usize) -> T,
    ) -> T {
        of_job(text, |job| {
            let graph = job.graph();
            let laid = |kind: &LinkKind| matches!(kind, LinkKind::Wire(_) | LinkKind::Output(..));
            let goal = graph.node("part", "in").expect("a node");
            let others: Vec<usize> =
                past.iter().map(|(thing, terminal)| graph.node(thing, terminal).expect("a node")).collect();
            let start = super::super::graph::POSITIVE;
            let (_, nearest) = graph.nearest(goal, &[start], laid).expect("a way");
            let wire = |name: &str| {
                let at = job.wires.iter().position(|wire| wire.name == name).expect("a wire");
                graph.wire(at).expect("a link")
            };
            look(&Between::of(graph, (goal, start), nearest, &others, laid), graph, &wire)
        })
    }

    /// The shortest way leads through the cross run and fills it. What comes the long way round turns it back: 60 A on each
    /// of two ways.
    #[test]
    fn what_flows_through_a_cross_run_turns_back_where_more_comes_through() {
        let text = joined(&[
            ("a1", "battery.positive", "a.in"),
            ("cross", "a.in", "b.in"),
            ("b4", "b.in", "part.in"),
            ("a2", "a.in", "x.in"),
            ("a3", "x.in", "y.in"),
            ("a4", "y.in", "part.in"),
            ("b1", "battery.positive", "p.in"),
            ("b2", "p.in", "q.in"),
            ("b3", "q.in", "b.in"),
        ]);
        looked_at(&text, &[], |between, graph, wire| {
            assert_eq!((between.links.len(), between.is_one_way()), (9, false));
            let (total, mut cut) = between.held_back(graph, |_| Some(60.0)).expect("limited");
            cut.sort_unstable();
            let mut ends = vec![wire("a4"), wire("b4")];
            ends.sort_unstable();
            assert_eq!((total, cut), (120.0, ends));
        });
    }

    /// Past the post of another battery it is that battery that gives.
    #[test]
    fn a_way_past_another_post_does_not_count() {
        let text = joined(&[
            ("own", "battery.positive", "part.in"),
            ("link", "battery.positive", "rear.positive"),
            ("second", "rear.positive", "part.in"),
        ]);
        looked_at(&text, &[("rear", "positive")], |between, _, wire| {
            assert_eq!((between.links.as_slice(), between.is_one_way()), ([wire("own")].as_slice(), true));
        });
        looked_at(&text, &[], |between, _, _| assert_eq!((between.links.len(), between.is_one_way()), (3, false)));
    }

    /// Through each of so many terminals two wires lead on.
    #[test]
    fn of_a_mesh_of_more_terminals_than_lie_anywhere_the_nearest_way_is_looked_at() {
        let mesh = |between: usize| {
            let runs: Vec<[String; 3]> = (0..between)
                .flat_map(|at| {
                    let middle = format!("t{at}.in");
                    let (one, other) = (format!("one-{at}"), format!("other-{at}"));
                    [[one, "battery.positive".to_owned(), middle.clone()], [other, middle, "part.in".to_owned()]]
                })
                .collect();
            let runs: Vec<(&str, &str, &str)> =
                runs.iter().map(|[name, from, to]| (name.as_str(), from.as_str(), to.as_str())).collect();
            looked_at(&joined(&runs), &[], |between, _, _| (between.links.len(), between.is_one_way()))
        };
        assert_eq!(mesh(MOST - 2), (2 * (MOST - 2), false));
        assert_eq!(mesh(MOST - 1), (2, true));
    }

    /// Of a bridge in balance the cross run carries nothing, and lies beside the way.
    #[test]
    fn a_run_that_carries_nothing_is_none_of_those_that_share() {
        let text = joined(&[
            ("a1", "battery.positive", "a.in"),
            ("a2", "a.in", "part.in"),
            ("b1", "battery.positive", "b.in"),
            ("b2", "b.in", "part.in"),
            ("cross", "a.in", "b.in"),
        ]);
        looked_at(&text, &[], |between, graph, wire| {
            let (shares, ohms) = between.divide(graph, |_| Ok::<_, ()>(1e-3)).expect("stated");
            assert_eq!((between.links.len(), shares.len(), shares.contains_key(&wire("cross"))), (5, 4, false));
            assert!((ohms - 1e-3).abs() < 1e-9, "{ohms}");
        });
    }
}
