//! The supply as terminals and what joins them: wires, blocks, isolators, grounds, body.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::facts::Facts;
use crate::plan::{Body, Ground, GroundOn, IsolatorKind, Terminal};

/// Node of the starting battery's negative post: the reference of every voltage.
pub const NEGATIVE: usize = 0;
/// Node of the starting battery's positive post.
pub const POSITIVE: usize = 1;
/// Node of the body.
pub const BODY: usize = 2;

/// The supply as terminals and what joins them.
#[derive(Debug, Clone, Default)]
pub struct Graph {
    /// Terminals by node, as a plan writes them.
    pub terminals: Vec<String>,
    /// What joins them.
    pub links: Vec<Link>,
    nodes: BTreeMap<String, usize>,
    /// The links at each node, in their order.
    around: Vec<Vec<usize>>,
    /// The nodes that links join with each node, each once.
    beside: Vec<Vec<usize>>,
}

/// Something that joins two terminals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// One terminal; for a wire its `from`.
    pub a: usize,
    /// The other; for a wire its `to`.
    pub b: usize,
    /// What it is.
    pub kind: LinkKind,
}

/// What joins two terminals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LinkKind {
    /// A wire, by its place in the job's list.
    Wire(usize),
    /// An output of a block: the block's place in the job's list, and the output's name.
    Output(usize, String),
    /// An isolator, by name.
    Isolator(String),
    /// A ground's joint to the body, by its place in the job's list.
    Ground(usize),
    /// The body with the battery's strap.
    Body,
    /// The factory's charge cable.
    ChargeCable,
}

impl LinkKind {
    /// Whether it is laid: a wire, or an output of a block.
    pub fn is_laid(&self) -> bool {
        matches!(self, Self::Wire(_) | Self::Output(..))
    }

    /// Whether it is a conductor, and not the body or a joint to it.
    pub fn conducts(&self) -> bool {
        !matches!(self, Self::Ground(_) | Self::Body)
    }
}

impl Graph {
    /// Reads the graph out of a plan. Wires with an end missing are left out; rules ask for it elsewhere.
    pub fn of(facts: &Facts<'_>) -> Self {
        let mut graph = Self::default();
        for known in ["battery.negative", "battery.positive", "body"] {
            graph.node_of(known);
        }
        for (index, wire) in facts.wires.iter().enumerate() {
            if let (Some(from), Some(to)) = (&wire.from, &wire.to) {
                let (a, b) = (graph.node_of(&from.to_string()), graph.node_of(&to.to_string()));
                graph.links.push(Link { a, b, kind: LinkKind::Wire(index) });
            }
        }
        for (index, block) in facts.blocks.iter().enumerate() {
            for output in block.outputs.keys() {
                let (a, b) =
                    (graph.node_of(&format!("{}.in", block.name)), graph.node_of(&format!("{}.{output}", block.name)));
                graph.links.push(Link { a, b, kind: LinkKind::Output(index, output.clone()) });
            }
        }
        for name in facts.plan.isolators.keys() {
            let (a, b) = (graph.node_of(&format!("{name}.in")), graph.node_of(&format!("{name}.out")));
            graph.links.push(Link { a, b, kind: LinkKind::Isolator(name.clone()) });
        }
        graph.body(facts);
        if let Some(alternator) = graph.nodes.get("alternator.positive").copied() {
            graph.links.push(Link { a: alternator, b: POSITIVE, kind: LinkKind::ChargeCable });
        }
        graph.index();
        graph
    }

    /// What is at each node.
    fn index(&mut self) {
        self.around = vec![Vec::new(); self.terminals.len()];
        for (at, link) in self.links.iter().enumerate() {
            self.around[link.a].push(at);
            if link.a != link.b {
                self.around[link.b].push(at);
            }
        }
        let beside = |node: usize| {
            let mut beside: Vec<usize> = self.around(node).map(|(_, next)| next).collect();
            beside.sort_unstable();
            beside.dedup();
            beside
        };
        self.beside = (0..self.terminals.len()).map(beside).collect();
    }

    /// Grounds meet in the body, and the body meets the battery's strap, where the body carries a return, or may.
    fn body(&mut self, facts: &Facts<'_>) {
        let body = facts.plan.vehicle.as_ref().and_then(|vehicle| vehicle.body);
        let serves = |ground: &Ground| carries_return(body, ground) != Some(false);
        if body != Some(Body::Steel) && !facts.grounds.iter().any(|ground| serves(ground)) {
            return;
        }
        for (index, ground) in facts.grounds.iter().enumerate().filter(|(_, ground)| serves(ground)) {
            let a = self.node_of(&format!("grounds.{}", ground.name));
            self.links.push(Link { a, b: BODY, kind: LinkKind::Ground(index) });
        }
        self.links.push(Link { a: BODY, b: NEGATIVE, kind: LinkKind::Body });
    }

    fn node_of(&mut self, terminal: &str) -> usize {
        let terminal = one_name(terminal);
        if let Some(node) = self.nodes.get(terminal) {
            return *node;
        }
        let node = self.terminals.len();
        self.terminals.push(terminal.to_owned());
        self.nodes.insert(terminal.to_owned(), node);
        node
    }

    /// The node of a terminal, if anything is connected to it.
    pub fn node(&self, thing: &str, terminal: &str) -> Option<usize> {
        self.nodes.get(one_name(&[thing, ".", terminal].concat())).copied()
    }

    /// The node of a terminal as a plan refers to it.
    pub fn terminal(&self, terminal: &Terminal) -> Option<usize> {
        self.node(&terminal.thing, &terminal.terminal)
    }

    /// The link of a wire.
    pub fn wire(&self, index: usize) -> Option<usize> {
        self.links.iter().position(|link| link.kind == LinkKind::Wire(index))
    }

    /// The links at a node, each with the node at its other end.
    pub fn around(&self, node: usize) -> impl Iterator<Item = (usize, usize)> + '_ {
        let other = move |link: &Link| if link.a == node { link.b } else { link.a };
        self.around[node].iter().map(move |link| (*link, other(&self.links[*link])))
    }

    /// The nodes at the other ends of the links at a node, each once, however many links lead there.
    pub fn beside(&self, node: usize) -> &[usize] {
        &self.beside[node]
    }

    /// The nearest of some nodes, counted in links of the kinds allowed; with the links on the way.
    pub fn nearest(
        &self,
        from: usize,
        goals: &[usize],
        allowed: impl Fn(&LinkKind) -> bool,
    ) -> Option<(usize, Vec<usize>)> {
        self.nearest_past(from, goals, &[], allowed)
    }

    /// The nearest of some nodes on a way that passes none of some others.
    pub fn nearest_past(
        &self,
        from: usize,
        goals: &[usize],
        others: &[usize],
        allowed: impl Fn(&LinkKind) -> bool,
    ) -> Option<(usize, Vec<usize>)> {
        // The node before each that was come to, with the link from there; the first has none.
        let mut came: Vec<Option<(usize, usize)>> = vec![None; self.terminals.len()];
        let mut queue = VecDeque::from([from]);
        while let Some(node) = queue.pop_front() {
            if goals.contains(&node) {
                let mut way = Vec::new();
                let mut at = node;
                while let Some((before, link)) = came[at] {
                    way.push(link);
                    at = before;
                }
                way.reverse();
                return Some((node, way));
            }
            for (link, next) in self.around(node) {
                let is_new = next != from && came[next].is_none();
                if is_new && allowed(&self.links[link].kind) && !others.contains(&next) {
                    came[next] = Some((node, link));
                    queue.push_back(next);
                }
            }
        }
        None
    }

    /// The nodes that links of the kinds allowed join with some nodes, those with them.
    pub fn joined(&self, from: &[usize], allowed: impl Fn(&LinkKind) -> bool) -> BTreeSet<usize> {
        self.joined_within(from, &[], allowed)
    }

    /// The same; a way ends at some others: these are among what is found, and what lies only beyond them is not.
    pub fn joined_within(
        &self,
        from: &[usize],
        ends: &[usize],
        allowed: impl Fn(&LinkKind) -> bool,
    ) -> BTreeSet<usize> {
        let mut found: BTreeSet<usize> = from.iter().copied().collect();
        let mut queue: Vec<usize> = from.to_vec();
        while let Some(node) = queue.pop() {
            if ends.contains(&node) {
                continue;
            }
            for (link, next) in self.around(node) {
                if allowed(&self.links[link].kind) && found.insert(next) {
                    queue.push(next);
                }
            }
        }
        found
    }

    /// The node at which a way from a node enters one of its links.
    pub fn near_end(&self, from: usize, way: &[usize], link: usize) -> usize {
        let before = way.iter().take_while(|passed| **passed != link);
        before.fold(from, |node, passed| {
            let passed = &self.links[*passed];
            if passed.a == node { passed.b } else { passed.a }
        })
    }

    /// Whether a node is the starting battery's negative post, the body, a ground or the alternator's case.
    pub fn is_negative(&self, node: usize) -> bool {
        matches!(node, NEGATIVE | BODY)
            || self.terminals[node].starts_with("grounds.")
            || self.terminals[node] == "alternator.negative"
    }

    /// Nodes of the positive posts of all batteries, the starting battery first.
    pub fn positives(&self, facts: &Facts<'_>) -> Vec<usize> {
        let added = facts.plan.batteries.keys().filter_map(|name| self.node(name, "positive"));
        std::iter::once(POSITIVE).chain(added).collect()
    }

    /// Nodes of the negative posts of all batteries, the starting battery first.
    pub fn negatives(&self, facts: &Facts<'_>) -> Vec<usize> {
        let added = facts.plan.batteries.keys().filter_map(|name| self.node(name, "negative"));
        std::iter::once(NEGATIVE).chain(added).collect()
    }
}

/// The sensor on a negative post is a shunt of a tenth of a milliohm (common practice, no published source), far less
/// than the joints beside it: both of its sides are one node.
fn one_name(terminal: &str) -> &str {
    if terminal == "battery.body-side" { "battery.negative" } else { terminal }
}

/// Whether a body carries what comes to a ground on it: steel everywhere, a steel frame under any body, aluminium from the studs
/// that the factory put there for added loads. Nothing where its maker's word on such a stud is missing; a body of which
/// nobody says what it is made of is not counted on.
pub fn carries_return(body: Option<Body>, ground: &Ground) -> Option<bool> {
    match (body, ground.on) {
        (Some(Body::Steel), _) | (_, Some(GroundOn::Frame)) => Some(true),
        (Some(Body::Aluminium), Some(GroundOn::FactoryStud)) => ground.for_added_loads,
        _ => Some(false),
    }
}

/// Whether load current passes an isolator in a case.
pub fn isolator_passes(kind: Option<IsolatorKind>, engine_runs: bool) -> bool {
    match kind {
        Some(IsolatorKind::Charger | IsolatorKind::StepDown) => false,
        Some(IsolatorKind::Relay) | None => engine_runs,
        Some(IsolatorKind::Switch) => true,
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    /// A steel body carries returns, with nothing on it yet; any other only where a ground is of a kind that it carries.
    #[test]
    fn what_the_body_joins_depends_on_what_it_is_made_of() {
        let joins = |body: &str, ground: &str| {
            let text = format!("plan: 1\nvehicle: {{body: {body}}}\ngrounds: {{{ground}}}\n");
            of_job(&text, |job| {
                let links = &job.graph().links;
                let count = |is: fn(&LinkKind) -> bool| links.iter().filter(|link| is(&link.kind)).count();
                (count(|kind| matches!(kind, LinkKind::Ground(_))), count(|kind| *kind == LinkKind::Body))
            })
        };
        assert_eq!(joins("steel", ""), (0, 1));
        assert_eq!(joins("steel", "floor: {on: body-structure}"), (1, 1));
        assert_eq!(joins("composite", ""), (0, 0));
        assert_eq!(joins("composite", "floor: {on: body-structure}"), (0, 0));
        assert_eq!(joins("composite", "floor: {on: body-structure}, rail: {on: frame}"), (1, 1));
        assert_eq!(joins("aluminium", "floor: {on: body-structure}, rail: {on: frame}"), (1, 1));
        assert_eq!(joins("aluminium", "stud: {on: factory-stud}"), (1, 1));
        assert_eq!(joins("aluminium", "stud: {on: factory-stud, for_added_loads: false}"), (0, 0));
    }
}
