//! A plan as if something stood where nothing can be read.

use std::collections::HashSet;

use serde::Deserialize as _;

use super::format::PLAN;
use super::reference::is_name;
use super::shape::{Count, Names, Shape};
use super::{Plan, Reading};
use crate::text::{Blanks, Kind, NodeId, Reader, Tree};

/// So many names are tried for things that cannot be read: more than a job has things.
const MOST_MENTIONED: usize = 200;

/// So many of them may turn out not to be groups or lists: the plan is read anew for each.
const MOST_TURNED_DOWN: usize = 50;

impl Reading {
    /// The plan as if something stood where nothing can be read, of which no more is known than that it is there: a group
    /// without keys, a list of one thing, things by every name that is mentioned. Nothing where no such place was.
    pub fn with_blanks(&self) -> Option<Plan> {
        let root = self.tree.root().filter(|_| !self.struck.is_empty())?;
        let mut nodes = HashSet::new();
        wholes(PLAN.shape, &self.tree, root, &self.struck, &mut nodes);
        let mut blanks = Blanks { nodes, names: self.mentioned() };
        for _ in 0..MOST_TURNED_DOWN {
            if blanks.nodes.is_empty() {
                return None;
            }
            match Plan::deserialize(Reader::new(&self.tree, root, &self.struck).with_blanks(&blanks)) {
                Ok(plan) => return Some(plan),
                Err(error) => blanks.nodes.remove(&error.node?).then_some(())?,
            }
        }
        None
    }

    /// The plan as it may go on behind the bracket in which its text ends: whatever is not there yet where it breaks off, and
    /// every section that is not there yet, may follow and cannot be read. What stands whole before that stands. Nothing where
    /// not even a section does.
    pub fn gone_on(&self) -> Option<Self> {
        let root = self.tree.root().filter(|root| self.tree.map(*root).is_some())?;
        let mut longer = self.clone();
        let names = self.mentioned();
        let (mut shape, mut node) = (PLAN.shape, root);
        loop {
            let last = self.tree.parts(node).last().copied();
            let keys: Vec<&str> = match shape {
                Shape::Group { keys, count: Count::Any, .. } => keys.iter().map(|(key, _)| *key).collect(),
                Shape::Named { names: Names::Any | Names::Plain, .. } => names.iter().map(String::as_str).collect(),
                Shape::List(_) => vec![""],
                _ => Vec::new(),
            };
            let put = keys.into_iter().filter_map(|key| longer.tree.put(node, key));
            longer.struck.extend(put.collect::<Vec<_>>());
            let key = self.tree.map(node).and_then(|map| map.entries().last()).map(|entry| entry.key.as_str());
            shape = match shape {
                Shape::Group { keys, .. } => match keys.iter().find(|(own, _)| Some(*own) == key) {
                    Some((_, shape)) => shape,
                    None => return Some(longer),
                },
                Shape::Named { each, .. } | Shape::List(each) => each,
                _ => return Some(longer),
            };
            let Some(last) = last else { return Some(longer) };
            node = last;
            if self.tree.is_null(node) {
                longer.struck.insert(node);
            }
        }
    }

    /// The paths of what could not be read.
    pub fn unread(&self) -> Vec<String> {
        let mut found = Vec::new();
        let mut open: Vec<(String, NodeId)> = self.tree.root().map(|root| (String::new(), root)).into_iter().collect();
        while let Some((path, node)) = open.pop().filter(|_| !self.struck.is_empty()) {
            let below = |key: &str| if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") };
            match self.tree.kind(node) {
                Kind::Map(map) => open.extend(map.entries().iter().map(|entry| (below(&entry.key), entry.value))),
                Kind::Seq(items) => {
                    open.extend(items.iter().enumerate().map(|(at, item)| (below(&at.to_string()), *item)));
                }
                Kind::Scalar { .. } => {}
            }
            if self.struck.contains(&node) {
                found.push(path);
            }
        }
        found
    }

    /// Every name that something is mentioned by, and one that nothing is.
    fn mentioned(&self) -> Vec<String> {
        let mut names = vec!["?".to_owned()];
        let mut open: Vec<NodeId> = self.tree.root().into_iter().collect();
        while let Some(node) = open.pop().filter(|_| names.len() < MOST_MENTIONED) {
            open.extend(self.tree.parts(node));
            let text = self.tree.text(node).unwrap_or_default().trim_start_matches('-');
            let name = match text.split_once('.') {
                Some(("grounds", name) | (name, _)) => name,
                None => text,
            };
            if is_name(name) && !names.iter().any(|known| known == name) {
                names.push(name.to_owned());
            }
        }
        names
    }
}

/// The nodes among those that cannot be read where a group or a list belongs.
fn wholes(shape: &Shape, tree: &Tree, node: NodeId, struck: &HashSet<NodeId>, found: &mut HashSet<NodeId>) {
    match shape {
        Shape::Either(ways) => ways.iter().for_each(|way| wholes(way, tree, node, struck, found)),
        Shape::Group { .. } | Shape::Named { .. } | Shape::List(_) if struck.contains(&node) => {
            found.insert(node);
        }
        Shape::Group { keys, .. } => {
            for entry in tree.map(node).into_iter().flat_map(crate::text::Map::entries) {
                if let Some((_, shape)) = keys.iter().find(|(key, _)| *key == entry.key) {
                    wholes(shape, tree, entry.value, struck, found);
                }
            }
        }
        Shape::Named { each, .. } | Shape::List(each) => {
            tree.parts(node).into_iter().for_each(|part| wholes(each, tree, part, struck, found));
        }
        _ => {}
    }
}
