//! Shelves: gear and vehicles that plans refer to instead of writing them out.

use std::ops::Range;

use crate::text::{Elsewhere, Entry, Lines, Map, Misread, NodeId, Tree};
use crate::words;

/// A file of gear and vehicles.
#[derive(Debug, Clone, Default)]
pub struct Shelf {
    /// What it is called: its path from the house's folder.
    pub path: String,
    /// Its text.
    pub text: String,
    /// Its tree.
    pub tree: Tree,
}

/// All shelves of a house, in the order in which they are searched.
#[derive(Debug, Clone, Default)]
pub struct Shelves {
    /// The files.
    pub files: Vec<Shelf>,
}

/// Sections of a plan whose things may be on a shelf. The vehicle is one thing; a shelf holds several, by name.
const SECTIONS: [&str; 9] =
    ["amplifiers", "drivers", "enclosures", "sources", "converters", "batteries", "isolators", "blocks", "capacitors"];
/// The key that refers to a shelf.
const KEY: &str = "shelf";
/// References that lead on to references.
const DEEPEST: usize = 8;

/// A thing that a plan refers to.
#[derive(Debug, Clone, Copy)]
pub struct OnShelf<'a> {
    /// The number of its file.
    pub file: usize,
    /// The file.
    pub shelf: &'a Shelf,
    /// Its name and what it says.
    pub entry: &'a Entry,
    /// The thing that it refers to in turn.
    pub refers_to: Option<&'a str>,
}

/// A thing on a shelf.
#[derive(Clone, Copy, PartialEq)]
struct Item {
    file: usize,
    node: NodeId,
}

impl Shelves {
    /// Completes a plan with what its things refer to. What a plan says itself stays.
    pub(super) fn complete(&self, tree: &mut Tree) -> Vec<Misread> {
        let mut misreads = self.complete_all(tree, referring(tree));
        // The battery of a vehicle from the shelf may be on the shelf too.
        let batteries = vehicles(tree).into_iter().filter_map(|vehicle| Some(tree.map(vehicle)?.get("battery")?.value));
        let batteries = batteries.filter(|node| refers(tree, *node)).map(|node| ("batteries", node)).collect();
        misreads.extend(self.complete_all(tree, batteries));
        misreads
    }

    fn complete_all(&self, tree: &mut Tree, things: Vec<(&'static str, NodeId)>) -> Vec<Misread> {
        let mut misreads = Vec::new();
        for (section, thing) in things {
            let reference =
                tree.map(thing).and_then(|map| map.get(KEY)).map(|entry| (entry.value, entry.used_at.clone()));
            let Some((value, used_at)) = reference else { continue };
            let Some(name) = tree.text(value).map(str::to_owned) else { continue };
            if let Err(misread) = self.take(tree, thing, section, &name, &used_at) {
                misreads.push(misread);
            }
        }
        misreads
    }

    /// Where a value is written, when it is from a shelf: the file and the line.
    pub fn written(&self, tree: &Tree, node: NodeId) -> Option<String> {
        tree.elsewhere(node).and_then(|elsewhere| self.place(elsewhere))
    }

    /// A place on a shelf in words.
    pub fn place(&self, elsewhere: &Elsewhere) -> Option<String> {
        let shelf = self.files.get(elsewhere.text)?;
        let (line, _) = Lines::new(&shelf.text).position(&shelf.text, elsewhere.span.start);
        Some(format!("{}, line {line}", shelf.path))
    }

    /// Takes over a thing of the shelf, and what that one refers to in turn.
    fn take(
        &self,
        tree: &mut Tree,
        thing: NodeId,
        section: &str,
        name: &str,
        used_at: &Range<usize>,
    ) -> Result<(), Misread> {
        let mut name = name.to_owned();
        let mut passed: Vec<Item> = Vec::new();
        loop {
            let item = self.find(section, &name).ok_or_else(|| self.unknown(section, &name, used_at))?;
            if passed.contains(&item) || passed.len() == DEEPEST {
                let path = &self.files[item.file].path;
                let what = format!("`{}` on the shelf {path} refers in a circle", words::excerpt(&name, 40));
                return Err(Misread::new(used_at.clone(), what, "let one of them say everything itself"));
            }
            passed.push(item);
            let shelf = &self.files[item.file].tree;
            tree.graft(thing, used_at, shelf, item.node, item.file);
            let next = shelf.map(item.node).and_then(|map| map.get(KEY)).and_then(|entry| shelf.text(entry.value));
            match next {
                Some(next) => next.clone_into(&mut name),
                None => return Ok(()),
            }
        }
    }

    /// The thing that a name in a section of the shelf stands for.
    pub fn on_shelf(&self, section: &str, name: &str) -> Option<OnShelf<'_>> {
        let file = self.find(section, name)?.file;
        let shelf = &self.files[file];
        let entry = shelf.tree.map(shelf.tree.node(section)?)?.get(name)?;
        let refers_to = shelf.tree.map(entry.value).and_then(|map| map.get(KEY));
        let refers_to = refers_to.and_then(|entry| shelf.tree.text(entry.value));
        Some(OnShelf { file, shelf, entry, refers_to })
    }

    /// The names in a section of all shelves, each once, in the order in which they are found.
    pub fn names(&self, section: &str) -> Vec<&str> {
        let things = self.files.iter().filter_map(|shelf| shelf.tree.map(shelf.tree.node(section)?));
        let mut names: Vec<&str> = Vec::new();
        for entry in things.flat_map(Map::entries) {
            if !names.contains(&entry.key.as_str()) {
                names.push(&entry.key);
            }
        }
        names
    }

    /// The first thing of a name, in the order of the shelves.
    fn find(&self, section: &str, name: &str) -> Option<Item> {
        let mut files = self.files.iter().enumerate();
        files.find_map(|(file, shelf)| {
            let things = shelf.tree.node(section).and_then(|node| shelf.tree.map(node))?;
            Some(Item { file, node: things.get(name)?.value })
        })
    }

    fn unknown(&self, section: &str, name: &str, used_at: &Range<usize>) -> Misread {
        let shown = words::excerpt(name, 40);
        if self.files.is_empty() {
            let what = format!("`{shown}` refers to a shelf, and the house has none");
            return Misread::new(
                used_at.clone(),
                what,
                "list the files under `shelves` in house.yaml, or write the thing out",
            );
        }
        let names = self.names(section);
        let what = format!("no {section} on the shelves are called `{shown}`");
        let mend = match words::nearest(name, names.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None if names.is_empty() => format!("put it on a shelf, under `{section}`"),
            None => format!("there: {}", words::all(&names)),
        };
        Misread::new(used_at.clone(), what, mend)
    }
}

/// The things of a plan that refer to a shelf, each with the shelf's section for it.
fn referring(tree: &Tree) -> Vec<(&'static str, NodeId)> {
    let things = SECTIONS.iter().flat_map(|section| {
        let map = tree.node(section).and_then(|node| tree.map(node));
        map.into_iter().flat_map(Map::entries).map(|entry| (*section, entry.value))
    });
    let vehicles = vehicles(tree).into_iter().map(|node| ("vehicles", node));
    things.chain(vehicles).filter(|(_, node)| refers(tree, *node)).collect()
}

/// The vehicle of a plan, or those of a shelf.
fn vehicles(tree: &Tree) -> Vec<NodeId> {
    let on_shelf = tree.node("vehicles").and_then(|node| tree.map(node)).into_iter().flat_map(Map::entries);
    tree.node("vehicle").into_iter().chain(on_shelf.map(|entry| entry.value)).collect()
}

/// The section of the shelf that the reference at a path of a plan or a shelf leads to.
pub fn section_of(path: &str) -> Option<&'static str> {
    let above = path.strip_suffix(KEY)?.strip_suffix('.')?;
    let parts: Vec<&str> = above.split('.').collect();
    match parts.as_slice() {
        ["vehicle"] | ["vehicles", _] => Some("vehicles"),
        ["vehicle", "battery"] | ["vehicles", _, "battery"] => Some("batteries"),
        [section, _] => SECTIONS.into_iter().find(|known| known == section),
        _ => None,
    }
}

fn refers(tree: &Tree, node: NodeId) -> bool {
    tree.map(node).is_some_and(|map| map.get(KEY).is_some())
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;
    use crate::plan::{Reading, read_with};
    use crate::quantity::Quantity;
    use crate::text::{Limits, parse};

    fn shelves(files: &[(&str, &str)]) -> Arc<Shelves> {
        let file = |(path, text): &(&str, &str)| {
            let (tree, misreads) = parse(text, Limits::default());
            assert!(misreads.is_empty(), "{misreads:?}");
            Shelf { path: (*path).to_owned(), text: (*text).to_owned(), tree }
        };
        Arc::new(Shelves { files: files.iter().map(file).collect() })
    }

    const GEAR: &str = "shelf: 1\namplifiers:\n  mono-500: {class: D, channels: 1, minimum_load: 2 ohm}\n  \
                        mono-500-loud: {shelf: mono-500, minimum_load: 1 ohm}\n  one: {shelf: two}\n  two: {shelf: one}\n\
                        vehicles:\n  van: {voltage: 24 V, alternator: {rated: 80 A, control: fixed}}\n";

    fn reading(plan: &str) -> Reading {
        read_with(format!("plan: 1\n{plan}"), &shelves(&[("shelf/gear.yaml", GEAR)]))
    }

    #[test]
    fn a_thing_is_taken_from_the_shelf_and_overridden_key_by_key() {
        let reading = reading(
            "amplifiers: {bass: {shelf: mono-500, channels: 2}}\nvehicle: {shelf: van, alternator: {rated: 90 A}}\n",
        );
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        let bass = &reading.plan.amplifiers["bass"];
        assert_eq!((bass.channels, bass.minimum_load.map(Quantity::base)), (Some(2), Some(2.0)));
        let vehicle = reading.plan.vehicle.as_ref().expect("a vehicle");
        let alternator = vehicle.alternator.as_ref().expect("an alternator");
        assert_eq!((alternator.rated.map(Quantity::base), alternator.control.is_some()), (Some(90.0), true));
    }

    #[test]
    fn a_capacitor_may_lie_on_the_shelf() {
        let shelves = shelves(&[("gear.yaml", "shelf: 1\ncapacitors: {farad: {capacitance: 1 F, voltage: 16 V}}\n")]);
        let reading = read_with("plan: 1\ncapacitors: {rear: {shelf: farad, voltage: 20 V}}\n".to_owned(), &shelves);
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        let rear = &reading.plan.capacitors["rear"];
        assert_eq!((rear.capacitance.map(Quantity::base), rear.voltage.map(Quantity::base)), (Some(1.0), Some(20.0)));
    }

    #[test]
    fn a_section_on_the_shelf_is_overridden_key_by_key() {
        let gear =
            "shelf: 1\namplifiers: {quint: {channels: 5, sections: {bass: {outputs: [5], minimum_load: 2 ohm}}}}\n";
        let text = "plan: 1\namplifiers: {amp: {shelf: quint, sections: {bass: {minimum_load: 1 ohm}}}}\n";
        let reading = read_with(text.into(), &shelves(&[("shelf/gear.yaml", gear)]));
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        let bass = &reading.plan.amplifiers["amp"].sections["bass"];
        assert_eq!((bass.outputs.as_slice(), bass.minimum_load.map(Quantity::base)), (&[5][..], Some(1.0)));
    }

    #[test]
    fn a_thing_on_the_shelf_may_refer_to_another_but_not_in_a_circle() {
        let loud = reading("amplifiers: {bass: {shelf: mono-500-loud}}\n");
        let bass = &loud.plan.amplifiers["bass"];
        assert_eq!((bass.channels, bass.minimum_load.map(Quantity::base)), (Some(1), Some(1.0)));
        let circle = reading("amplifiers: {bass: {shelf: one}}\n");
        assert!(circle.misreads[0].what.contains("refers in a circle"), "{:?}", circle.misreads);
    }

    #[test]
    fn a_slip_is_told_at_the_reference() {
        let slip = reading("amplifiers: {bass: {shelf: mono-50}}\n");
        assert_eq!(&slip.text[slip.misreads[0].span.clone()], "mono-50");
        assert_eq!(slip.misreads[0].mend, "did you mean `mono-500`?");
        let none = crate::plan::read("plan: 1\namplifiers: {bass: {shelf: mono-500}}\n".into());
        assert!(none.misreads[0].what.contains("the house has none"), "{:?}", none.misreads);
    }

    #[test]
    fn what_is_wrong_on_the_shelf_names_the_shelf() {
        let gear = GEAR.replace("minimum_load: 2 ohm", "minimum_load: 2ohm");
        let plan = "plan: 1\namplifiers: {bass: {shelf: mono-500}}\n";
        let reading = read_with(plan.into(), &shelves(&[("shelf/gear.yaml", &gear)]));
        let misread = &reading.misreads[0];
        assert!(misread.what.ends_with("(shelf/gear.yaml, line 3)"), "{}", misread.what);
        assert_eq!(&plan[misread.span.clone()], "mono-500");
        assert_eq!(reading.plan.amplifiers["bass"].channels, Some(1), "the rest is read");
    }

    #[test]
    fn a_value_of_the_shelf_can_be_supposed() {
        let plan = reading("amplifiers: {bass: {shelf: mono-500}}\n");
        let other = plan.with("amplifiers.bass.minimum_load", "4 ohm").expect("it can be");
        assert_eq!(other.plan.amplifiers["bass"].minimum_load.map(Quantity::base), Some(4.0));
        assert_eq!(other.plan.amplifiers["bass"].channels, Some(1));
    }
}
