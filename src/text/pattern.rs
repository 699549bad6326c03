//! The places of a plan that a pattern means.

use super::tree::{Kind, NodeId, Tree};

/// Every path that fits a pattern, in the order of the text; with `may_be_missing` also where its last keys would stand.
pub fn places(tree: &Tree, pattern: &str, may_be_missing: bool) -> Vec<String> {
    let segments: Vec<&str> = pattern.split('.').collect();
    let mut found = Vec::new();
    if let Some(root) = tree.root() {
        walk(tree, root, &segments, may_be_missing, "", &mut found);
    }
    found
}

fn walk(tree: &Tree, node: NodeId, segments: &[&str], may_be_missing: bool, above: &str, found: &mut Vec<String>) {
    let Some((segment, rest)) = segments.split_first() else {
        found.push(above.to_owned());
        return;
    };
    let path = |key: &str| if above.is_empty() { key.to_owned() } else { format!("{above}.{key}") };
    let below: Vec<(String, NodeId)> = match tree.kind(node) {
        Kind::Map(map) => map.entries().iter().map(|entry| (entry.key.clone(), entry.value)).collect(),
        Kind::Seq(items) => items.iter().enumerate().map(|(at, item)| (at.to_string(), *item)).collect(),
        Kind::Scalar { .. } => Vec::new(),
    };
    let fits = |key: &str| *segment == "*" || segment.split('|').any(|word| word == key);
    let mut any = false;
    for (key, value) in below.into_iter().filter(|(key, _)| fits(key)) {
        any = true;
        walk(tree, value, rest, may_be_missing, &path(&key), found);
    }
    let are_keys = segments.iter().all(|segment| !segment.contains(['*', '|'])) && tree.map(node).is_some();
    if !any && are_keys && may_be_missing {
        found.push(path(&segments.join(".")));
    }
}

/// Whether a path fits a pattern.
pub fn fits(pattern: &str, path: &str) -> bool {
    let (mut pattern, mut path) = (pattern.split('.'), path.split('.'));
    loop {
        match (pattern.next(), path.next()) {
            (None, None) => return true,
            (Some(want), Some(found)) if want == "*" || want.split('|').any(|word| word == found) => {}
            _ => return false,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pattern_means_what_is_there() {
        let plan = crate::plan::read("plan: 1\nwires: {a: {fuse: {rating: 1 A}, path: [dash, cargo]}, b: {}}\n".into());
        let of = |pattern: &str, missing| places(&plan.tree, pattern, missing);
        assert_eq!(of("wires.*.fuse|far_fuse.rating", false), ["wires.a.fuse.rating"]);
        assert_eq!(of("wires.*.path.*", false), ["wires.a.path.0", "wires.a.path.1"]);
        assert_eq!(of("wires.*.colour", true), ["wires.a.colour", "wires.b.colour"]);
        assert!(of("wires.*.colour", false).is_empty());
        assert_eq!(of("wires.*.fuse.form", true), ["wires.a.fuse.form", "wires.b.fuse.form"]);
        assert!(of("wires.*.ends.*.kind", true).is_empty());
        assert!(fits("wires.*.fuse|far_fuse", "wires.main.fuse") && !fits("wires.*", "wires.main.fuse"));
    }
}
