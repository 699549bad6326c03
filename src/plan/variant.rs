//! A plan in which one value says one thing after the other.

use std::collections::{BTreeMap, HashSet};

use serde::de::DeserializeOwned;

use super::{Plan, Reading};
use crate::text::{NodeId, ReadError, Reader, Tree, is_plain};

/// A plan in which the single value at one path says one thing after the other. Where it can be, only the thing that
/// holds the value is read again, and not the whole text: a search tries hundreds of values.
pub struct Variant<'a> {
    reading: &'a Reading,
    path: String,
    plan: Plan,
    /// The tree, and the node of the value in it; nothing where the text has to be read for each value.
    slot: Option<(Tree, NodeId)>,
    /// Whether the value is written once and used in several things.
    is_shared: bool,
}

impl<'a> Variant<'a> {
    /// Of a plan, in which the value at this path is to change.
    pub fn new(reading: &'a Reading, path: &str) -> Self {
        let (plan, tree) = (reading.plan.clone(), &reading.tree);
        let slot = node(reading, path).map(|node| (tree.clone(), node));
        let is_shared = slot.as_ref().zip(tree.root()).is_some_and(|((tree, node), root)| uses(tree, root, *node) > 1);
        Self { reading, path: path.to_owned(), plan, slot, is_shared }
    }

    /// The plan as if the path said this; nothing where that cannot stand there.
    pub fn says(&mut self, value: &str) -> Option<&Plan> {
        match &mut self.slot {
            Some((tree, node)) if is_plain(value) && value.trim() == value && tree.is_alike(*node, value) => {
                tree.say(*node, value);
                if self.is_shared {
                    self.plan = read(tree, tree.root()?).ok()?;
                } else {
                    read_thing(&mut self.plan, tree, &self.path)?;
                }
            }
            _ => self.plan = self.reading.with(&self.path, value).ok()?.plan,
        }
        Some(&self.plan)
    }
}

/// The node of a single value that stands as words of its own at the end of a path in this text.
fn node(reading: &Reading, path: &str) -> Option<NodeId> {
    let tree = &reading.tree;
    let node = tree.node(path).filter(|node| tree.text(*node).is_some() && !tree.is_null(*node))?;
    let at = tree.locate(path);
    // A reference brings in what is on the shelf, and the words about the plan itself are few.
    let is_other = path.rsplit('.').next() == Some("shelf")
        || ["plan", "job", "note", "waivers"].iter().any(|key| path.starts_with(key));
    let is_own = reading.misreads.is_empty() && at.span == tree.span(node) && at.elsewhere.is_none() && !is_other;
    is_own.then_some(node)
}

/// In how many places below a node another is used.
fn uses(tree: &Tree, below: NodeId, node: NodeId) -> usize {
    usize::from(below == node) + tree.parts(below).into_iter().map(|next| uses(tree, next, node)).sum::<usize>()
}

fn read<T: DeserializeOwned>(tree: &Tree, node: NodeId) -> Result<T, ReadError> {
    T::deserialize(Reader::new(tree, node, &HashSet::new()))
}

/// Reads the thing again that holds a path.
fn read_thing(plan: &mut Plan, tree: &Tree, path: &str) -> Option<()> {
    let mut parts = path.split('.');
    let section = parts.next()?;
    let name = parts.next().unwrap_or_default();
    let Plan { amplifiers, drivers, enclosures, sources, converters, batteries, isolators, blocks, capacitors, .. } =
        plan;
    match section {
        "amplifiers" => one(amplifiers, tree, section, name),
        "drivers" => one(drivers, tree, section, name),
        "enclosures" => one(enclosures, tree, section, name),
        "sources" => one(sources, tree, section, name),
        "converters" => one(converters, tree, section, name),
        "batteries" => one(batteries, tree, section, name),
        "isolators" => one(isolators, tree, section, name),
        "blocks" => one(blocks, tree, section, name),
        "capacitors" => one(capacitors, tree, section, name),
        "wires" => one(&mut plan.wires, tree, section, name),
        "grounds" => one(&mut plan.grounds, tree, section, name),
        "turn_on" => one(&mut plan.turn_on, tree, section, name),
        "signals" => one(&mut plan.signals, tree, section, name),
        "loads" => one(&mut plan.loads, tree, section, name),
        "mounts" => one(&mut plan.mounts, tree, section, name),
        "settings" => one(&mut plan.settings, tree, section, name),
        "steps" => whole(&mut plan.steps, tree, section),
        "vehicle" => whole(&mut plan.vehicle, tree, section),
        "measured" => whole(&mut plan.measured, tree, section),
        _ => None,
    }
}

fn one<T: DeserializeOwned>(things: &mut BTreeMap<String, T>, tree: &Tree, section: &str, name: &str) -> Option<()> {
    whole(things.get_mut(name)?, tree, &format!("{section}.{name}"))
}

fn whole<T: DeserializeOwned>(into: &mut T, tree: &Tree, path: &str) -> Option<()> {
    *into = read(tree, tree.node(path)?).ok()?;
    Some(())
}

#[cfg(test)]
mod tests {
    use super::Variant;
    use crate::plan::read;
    use crate::text::{Kind, NodeId, Tree};

    /// Every single value below a node, with its path.
    fn values(tree: &Tree, node: NodeId, path: &str, found: &mut Vec<(String, String)>) {
        let at = |key: &str| if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
        match tree.kind(node) {
            Kind::Map(map) => {
                map.entries().iter().for_each(|entry| values(tree, entry.value, &at(&entry.key), found));
            }
            Kind::Seq(items) => {
                items
                    .iter()
                    .enumerate()
                    .for_each(|(number, item)| values(tree, *item, &at(&number.to_string()), found));
            }
            Kind::Scalar { text, .. } => found.push((path.to_owned(), text.clone())),
        }
    }

    /// Every value of a whole plan, with its own words in another place of the plan, and words that fit nowhere.
    #[test]
    fn a_variant_is_what_the_text_read_anew_would_be() {
        let jobs = [
            include_str!("../../examples/jobs/j-2057-everything-on-one-block.yaml"),
            include_str!("../../examples/jobs/j-2054-bridged-rear-pair.yaml"),
        ];
        let (mut tried, mut quick) = (0, 0);
        for text in jobs {
            let reading = read(text.to_owned());
            let mut all = Vec::new();
            values(&reading.tree, reading.tree.root().expect("a plan"), "", &mut all);
            for (at, (path, value)) in all.iter().enumerate().step_by(7) {
                let mut variant = Variant::new(&reading, path);
                quick += usize::from(variant.slot.is_some());
                let number = value.replace(|letter: char| letter.is_ascii_digit(), "7");
                for other in [&number, &all[(at + 31) % all.len()].1, value] {
                    let anew = reading.with(path, other).ok().map(|reading| reading.plan);
                    assert!(variant.says(other) == anew.as_ref(), "{path}: {other}");
                    tried += 1;
                }
            }
        }
        assert!(tried > 300 && quick * 3 > tried - 12, "{tried}, {quick}");
    }
}
