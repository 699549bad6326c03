//! From a tree to a typed plan, with every error of shape and as much of the plan as can be read.

use std::collections::HashSet;

use serde::Deserialize;

use super::schema;
use super::{FORMAT, Plan};
use crate::text::{self, Kind, Limits, Misread, NodeId, Reader, Tree};

/// A plan as far as it could be read.
#[derive(Debug, Clone)]
pub struct Reading {
    /// The text.
    pub text: String,
    /// Its tree.
    pub tree: Tree,
    /// The typed plan. What could not be read is missing from it, as if it were not stated.
    pub plan: Plan,
    /// What could not be read, in the order of the text.
    pub misreads: Vec<Misread>,
}

/// Reads a plan. Nothing is lost over one bad entry: what does not fit is reported and passed over.
pub fn read(text: String) -> Reading {
    let (tree, mut misreads) = text::parse(&text, Limits::default());
    let mut plan = Plan::default();
    match tree.root() {
        Some(root) if tree.map(root).is_some() => {
            let mut struck = HashSet::new();
            for (node, misread) in schema::check(&tree, root) {
                struck.extend(node);
                misreads.push(misread);
            }
            plan = typed(&tree, root, struck, &mut misreads);
            misreads.extend(not_a_plan(&tree, root, &misreads));
        }
        Some(root) if misreads.is_empty() => {
            let what = "this is not a plan: a plan is a list of keys like `plan:`, `job:` and `wires:`";
            misreads.push(Misread::new(tree.span(root), what, "start with `plan: 1` on the first line"));
        }
        None if misreads.is_empty() => {
            let what = "the file holds no plan: it is empty or only comments";
            misreads.push(Misread::new(0..0, what, "start with `plan: 1` on the first line"));
        }
        _ => {}
    }
    misreads.sort_by_key(|misread| (misread.span.start, misread.span.end));
    misreads.dedup();
    Reading { text, tree, plan, misreads }
}

/// Reads the typed plan, striking out whatever does not fit until the rest does.
fn typed(tree: &Tree, root: NodeId, mut struck: HashSet<NodeId>, misreads: &mut Vec<Misread>) -> Plan {
    loop {
        match Plan::deserialize(Reader::new(tree, root, &struck)) {
            Ok(plan) => return plan,
            Err(error) => {
                // A node that the schema complained about takes what it stands in with it; anything else is new.
                let mut culprit = error.node.unwrap_or(root);
                if !struck.contains(&culprit) && misreads.iter().all(|known| !overlaps(tree, culprit, known)) {
                    misreads.push(Misread::new(tree.span(culprit), error.message, ""));
                }
                while struck.contains(&culprit) || is_list_item(tree, root, culprit) {
                    match parent(tree, root, culprit) {
                        Some(above) => culprit = above,
                        None => return Plan::default(),
                    }
                }
                if culprit == root {
                    return Plan::default();
                }
                struck.insert(culprit);
            }
        }
    }
}

fn overlaps(tree: &Tree, node: NodeId, misread: &Misread) -> bool {
    let span = tree.span(node);
    misread.span.start <= span.end && span.start <= misread.span.end
}

/// Lists are struck out whole, so that the places of their items stay true.
fn is_list_item(tree: &Tree, root: NodeId, node: NodeId) -> bool {
    parent(tree, root, node).is_some_and(|above| matches!(tree.kind(above), Kind::Seq(_)))
}

/// The node that holds another.
fn parent(tree: &Tree, root: NodeId, node: NodeId) -> Option<NodeId> {
    let mut open = vec![root];
    while let Some(at) = open.pop() {
        let below: Vec<NodeId> = match tree.kind(at) {
            Kind::Map(map) => map.entries().iter().map(|entry| entry.value).collect(),
            Kind::Seq(items) => items.clone(),
            Kind::Scalar { .. } => continue,
        };
        if below.contains(&node) {
            return Some(at);
        }
        open.extend(below);
    }
    None
}

/// A text that is YAML but says nowhere that it is a plan.
fn not_a_plan(tree: &Tree, root: NodeId, misreads: &[Misread]) -> Option<Misread> {
    if tree.node("plan").is_some() {
        return None;
    }
    let span = tree.map(root).and_then(|map| map.entries().first()).map_or(0..0, |entry| entry.key_span.clone());
    let what = format!("the key `plan:` with the format version is missing (it is {FORMAT})");
    let misread = Misread::new(span, what, format!("write `plan: {FORMAT}` on the first line"));
    (!misreads.contains(&misread)).then_some(misread)
}
