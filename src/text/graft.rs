//! Parts of another text that a tree takes over: what a plan does not say of a thing, the shelf says.

use std::collections::BTreeSet;
use std::ops::Range;

use super::tree::{Elsewhere, Entry, Kind, Map, NodeId, Tree};

impl Tree {
    /// Takes over what a mapping of another tree says and this one's does not, key by key. All of it stands at `used_at`
    /// in this text; [`super::Located::elsewhere`] tells where it is written.
    pub fn graft(&mut self, onto: NodeId, used_at: &Range<usize>, from: &Self, item: NodeId, text: usize) {
        let Some(theirs) = from.map(item) else { return };
        for entry in theirs.entries() {
            let own = self.map(onto).and_then(|map| map.get(&entry.key)).map(|own| own.value);
            match own {
                Some(own) if self.map(own).is_some() => self.graft(own, used_at, from, entry.value, text),
                Some(_) => {}
                None => {
                    let value = self.copy(from, entry.value, used_at, text);
                    let entry =
                        Entry { key: entry.key.clone(), key_span: used_at.clone(), value, used_at: used_at.clone() };
                    self.push(onto, entry);
                }
            }
        }
    }

    fn push(&mut self, onto: NodeId, entry: Entry) {
        let Kind::Map(map) = &mut self.nodes[onto].kind else { return };
        map.push(entry);
    }

    /// A copy of a node of another tree, with everything below it.
    fn copy(&mut self, from: &Self, node: NodeId, used_at: &Range<usize>, text: usize) -> NodeId {
        let theirs = &from.nodes[node];
        let kind = match &theirs.kind {
            Kind::Scalar { text, plain } => Kind::Scalar { text: text.clone(), plain: *plain },
            Kind::Seq(items) => Kind::Seq(items.iter().map(|item| self.copy(from, *item, used_at, text)).collect()),
            Kind::Map(map) => {
                let entries: Vec<Entry> =
                    map.entries().iter().map(|entry| self.copy_entry(from, entry, used_at, text)).collect();
                Kind::Map(Map::of(entries))
            }
        };
        self.nodes.push(super::tree::Node { span: used_at.clone(), kind, weight: theirs.weight });
        let copy = self.nodes.len() - 1;
        self.elsewhere.insert(copy, Elsewhere { text, span: theirs.span.clone() });
        copy
    }

    fn copy_entry(&mut self, from: &Self, entry: &Entry, used_at: &Range<usize>, text: usize) -> Entry {
        let value = self.copy(from, entry.value, used_at, text);
        Entry { key: entry.key.clone(), key_span: used_at.clone(), value, used_at: used_at.clone() }
    }

    /// The other texts of which something was taken over, in order.
    pub fn texts(&self) -> Vec<usize> {
        let texts: BTreeSet<usize> = self.elsewhere.values().map(|elsewhere| elsewhere.text).collect();
        texts.into_iter().collect()
    }

    /// Where a node is written, when it was taken over from another text.
    pub fn elsewhere(&self, node: NodeId) -> Option<&Elsewhere> {
        self.elsewhere.get(&node)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Limits, Scalar, parse, set};
    use super::*;

    const PLAN: &str = "amps:\n  bass:\n    shelf: mono\n    inputs: {line: 4 V}\n";
    const SHELF: &str =
        "amps:\n  mono:\n    channels: 1\n    inputs: {line: 2 V, sense: true}\n    rated: [{load: 2 ohm}]\n";

    fn grafted() -> Tree {
        let (mut plan, _) = parse(PLAN, Limits::default());
        let (shelf, _) = parse(SHELF, Limits::default());
        let onto = plan.node("amps.bass").expect("the amplifier");
        let used_at = plan.locate("amps.bass.shelf").span;
        plan.graft(onto, &used_at, &shelf, shelf.node("amps.mono").expect("the item"), 3);
        plan
    }

    #[test]
    fn what_the_plan_says_stays_and_the_rest_is_taken_over() {
        let tree = grafted();
        let text = |path: &str| tree.node(path).and_then(|node| tree.text(node)).map(str::to_owned);
        assert_eq!(text("amps.bass.inputs.line").as_deref(), Some("4 V"));
        assert_eq!(text("amps.bass.rated.0.load").as_deref(), Some("2 ohm"));
        assert_eq!(tree.scalar(tree.node("amps.bass.channels").expect("it is there")), Some(Scalar::Int(1)));
    }

    #[test]
    fn a_place_is_where_the_plan_refers_and_tells_where_it_is_written() {
        let tree = grafted();
        let located = tree.locate("amps.bass.channels");
        assert_eq!(&PLAN[located.span], "mono");
        let elsewhere = located.elsewhere.expect("it is from the shelf");
        assert_eq!((elsewhere.text, &SHELF[elsewhere.span]), (3, "1"));
        assert_eq!(tree.locate("amps.bass.inputs.line").elsewhere, None);
        assert_eq!(tree.texts(), [3]);
    }

    #[test]
    fn a_value_of_the_shelf_is_set_beside_the_reference() {
        let tree = grafted();
        let after = |path: &str| set(PLAN, &tree, path, "2").expect("it can be set").apply(PLAN);
        assert_eq!(
            after("amps.bass.channels"),
            "amps:\n  bass:\n    shelf: mono\n    inputs: {line: 4 V}\n    channels: 2\n"
        );
        assert!(after("amps.bass.inputs.sense").contains("inputs: {line: 4 V, sense: 2}"));
        assert!(set(PLAN, &tree, "amps.bass.rated.0.load", "2 ohm").is_err(), "a list is overridden whole");
    }
}
