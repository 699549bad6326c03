//! What may be written where the pointer stands.

use gen_lsp_types::{CompletionItem, CompletionItemKind, CompletionList, TextEdit};

use super::document::Document;
use super::houses::Found;
use super::kind::{Kind, lookup, shipped};
use super::slot::{self, Slot, WORD};
use crate::house;
use crate::judge::Rule;
use crate::plan::{self, FORMAT, Lookup, OnShelf, Plan, holds_names, section_of, units};
use crate::rules;
use crate::rules::plan::references::{self, Reference};
use crate::rules::plan::unknown_name::terminals;
use crate::solve::Job;
use crate::text::Map;
use crate::words::excerpt;

/// A word that may be written, and what it means.
struct Offer {
    word: String,
    means: String,
    kind: CompletionItemKind,
    /// What comes behind it.
    after: &'static str,
}

impl Offer {
    fn new(word: impl Into<String>, means: impl Into<String>, kind: CompletionItemKind) -> Self {
        Self { word: word.into(), means: means.into(), kind, after: "" }
    }
}

/// What may be written at a place in the text.
pub fn complete(document: &Document, offset: usize, kind: Kind, found: &Found) -> CompletionList {
    let Some(slot) = slot::find(&document.text, offset) else { return CompletionList::default() };
    let lookup = lookup(kind);
    let desk = Desk { slot: &slot, kind, lookup, found };
    let offers = if slot.is_key { desk.keys() } else { desk.values() };
    let range = document.span(&slot.replace);
    let space = if slot.needs_space { " " } else { "" };
    let items = offers.into_iter().enumerate().map(|(at, offer)| CompletionItem {
        detail: Some(offer.means).filter(|means| !means.is_empty()),
        kind: Some(offer.kind),
        // In the order in which they are offered, which is that of the schema.
        sort_text: Some(format!("{at:04}")),
        filter_text: Some(offer.word.clone()),
        text_edit: Some(TextEdit { range, new_text: format!("{space}{}{}", offer.word, offer.after) }.into()),
        label: offer.word,
        ..Default::default()
    });
    // Units are offered behind the digits that are typed, so they change with every digit.
    let is_incomplete = !slot.is_key && lookup.kind(&slot.path).is_some();
    CompletionList { is_incomplete, items: items.collect(), ..Default::default() }
}

struct Desk<'a> {
    slot: &'a Slot,
    kind: Kind,
    lookup: Lookup,
    found: &'a Found,
}

impl Desk<'_> {
    /// Keys that are known here and not there yet.
    fn keys(&self) -> Vec<Offer> {
        let above = self.slot.above();
        let there = |key: &str| {
            let map = self.slot.tree.node(above).and_then(|node| self.slot.tree.map(node));
            map.is_some_and(|map| map.get(key).is_some())
        };
        let colon = |key: &str| {
            let path = if above.is_empty() { key.to_owned() } else { format!("{above}.{key}") };
            match self.slot.has_colon {
                true => "",
                false if self.lookup.is_group(&path) => ":",
                false => ": ",
            }
        };
        let known = self.lookup.keys(above).into_iter();
        let known = known.map(|(key, means)| {
            let ships = shipped(&format!("{above}.{key}")).map(|(value, _)| format!("{means}; testlamp ships {value}"));
            Offer::new(key, ships.unwrap_or(means), CompletionItemKind::Property)
        });
        let named = match self.kind {
            Kind::Plan => self.referred(WORD, names),
            _ => Vec::new(),
        };
        let named = named.into_iter().map(|name| Offer::new(name, "", CompletionItemKind::Reference));
        let changed = rules::all().into_iter().filter(|_| self.kind == Kind::House && above == "rules").map(of_rule);
        let all = known.chain(named).chain(changed).filter(|offer| !there(&offer.word));
        all.map(|offer| Offer { after: colon(&offer.word), ..offer }).collect()
    }

    fn values(&self) -> Vec<Offer> {
        let path = &self.slot.path;
        let words = self.lookup.words(path).into_iter();
        let mut offers: Vec<Offer> =
            words.map(|(word, means)| Offer::new(word, means, CompletionItemKind::EnumMember)).collect();
        offers.extend(self.quantity());
        offers.extend(self.on_shelves());
        let version =
            |format: u32| Offer::new(format.to_string(), "the version of the format", CompletionItemKind::Value);
        match (self.kind, path.as_str()) {
            (Kind::Plan, "plan") => offers.push(version(FORMAT)),
            (Kind::House, "house") => offers.push(version(house::FORMAT)),
            (Kind::Shelf, "shelf") => offers.push(version(1)),
            (Kind::Plan, _) => {
                let names = self.reference().into_iter();
                offers.extend(names.map(|name| Offer::new(name, "", CompletionItemKind::Reference)));
                offers.extend(self.waiver());
            }
            _ => {}
        }
        offers
    }

    /// Things on the shelves of the house, where one may be referred to.
    fn on_shelves(&self) -> Vec<Offer> {
        let Some(section) = section_of(&self.slot.path) else { return Vec::new() };
        let shelves = &self.found.house.shelves;
        // A thing does not refer to itself.
        let own = self.slot.above().rsplit('.').next().filter(|_| self.kind == Kind::Shelf);
        let names = shelves.names(section).into_iter().filter(|name| Some(*name) != own);
        let offers = names.map(|name| {
            let says = shelves.on_shelf(section, name).map(|thing| summary(&thing)).unwrap_or_default();
            Offer::new(name, says, CompletionItemKind::Reference)
        });
        offers.collect()
    }

    /// The digits that are typed with every unit that may follow, or one value as it is written.
    fn quantity(&self) -> Vec<Offer> {
        let path = &self.slot.path;
        let Some(kind) = self.lookup.kind(path) else { return Vec::new() };
        let (typed, units) = (self.slot.typed.trim(), units(kind));
        // Behind the points of a range the second end begins.
        let begins = typed.rfind("..").map_or(0, |points| points + 2);
        let last = typed[begins..].trim_start();
        let before = &typed[..typed.len() - last.len()];
        let split = last.find(|c: char| !(c.is_ascii_digit() || "./-+".contains(c))).unwrap_or(last.len());
        let digits = &last[..split];
        if digits.is_empty() {
            let ships =
                shipped(path).map(|(value, _)| Offer::new(value, "as testlamp ships it", CompletionItemKind::Value));
            let example = self.lookup.example(path).filter(|_| !units.is_empty() || kind == "day");
            let example = example.map(|example| Offer::new(example, "as it is written", CompletionItemKind::Value));
            let stated = ships.filter(|_| matches!(path.rsplit_once('.'), Some((_, "value" | "range"))));
            return stated.or(example).into_iter().filter(|_| typed.is_empty()).collect();
        }
        let space = if before.ends_with("..") { " " } else { "" };
        let with = |unit: &str| format!("{before}{space}{digits} {unit}").trim_end().to_owned();
        units.into_iter().map(|unit| Offer::new(with(unit), kind, CompletionItemKind::Unit)).collect()
    }

    /// Names of what this place may refer to.
    fn reference(&self) -> Vec<String> {
        match self.lookup.kind(&self.slot.path) {
            Some("terminal") => self.referred(&format!("{WORD}.{WORD}"), |_, plan| all_terminals(plan)),
            Some("coil") => self.referred(&format!("{WORD}.1"), |_, plan| coils(plan)),
            Some(_) => Vec::new(),
            None => self.referred(WORD, names),
        }
    }

    /// What a reference at this place could name, once it stood there.
    fn referred(&self, word: &str, list: impl FnOnce(&Reference<'_>, &Plan) -> Vec<String>) -> Vec<String> {
        let path = &self.slot.path;
        // A key without a value states nothing, and so refers to nothing.
        let value = if self.lookup.is_group(path) { "{}" } else { self.lookup.example(path).unwrap_or_default() };
        let house = &self.found.house;
        let reading = plan::read_with(self.slot.with(word, value), &house.shelves);
        let job = Job::new(&reading.plan, house);
        let references = references::of(&job);
        let here = references.iter().find(|reference| reference.place.path() == *path);
        let found = here.map(|reference| list(reference, &reading.plan)).unwrap_or_default();
        found.into_iter().filter(|name| !name.contains(WORD)).collect()
    }

    /// What a waiver may be about.
    fn waiver(&self) -> Vec<Offer> {
        let Some(rest) = self.slot.path.strip_prefix("waivers.") else { return Vec::new() };
        let tree = &self.slot.tree;
        match rest.split_once('.').map(|(_, key)| key) {
            Some("rule") => {
                let own = self.found.house.own.iter();
                let own = own.map(|own| Offer::new(own.code, own.says, CompletionItemKind::Constant));
                rules::all().into_iter().filter(|rule| !rule.judges_checks()).map(of_rule).chain(own).collect()
            }
            Some("at") => {
                let sections = tree.root().and_then(|root| tree.map(root)).into_iter().flat_map(Map::entries);
                let holding = sections.filter(|section| holds_names(&section.key));
                let things = holding.flat_map(|section| {
                    let things = tree.map(section.value).into_iter().flat_map(Map::entries);
                    things.map(|thing| format!("{}.{}", section.key, thing.key))
                });
                things.map(|path| Offer::new(path, "", CompletionItemKind::Reference)).collect()
            }
            _ => Vec::new(),
        }
    }
}

fn of_rule(rule: &Rule) -> Offer {
    let told = format!("{}: {}", rule.name, rule.summary().trim_end_matches('.'));
    Offer::new(rule.code, told, CompletionItemKind::Constant)
}

/// The first things that a thing on a shelf says, in one line.
fn summary(thing: &OnShelf<'_>) -> String {
    let tree = &thing.shelf.tree;
    let said = tree.map(thing.entry.value).into_iter().flat_map(Map::entries);
    let said = said.filter_map(|entry| Some(format!("{} {}", entry.key, tree.text(entry.value)?)));
    excerpt(&said.take(4).collect::<Vec<_>>().join(", "), 80)
}

fn names(reference: &Reference<'_>, plan: &Plan) -> Vec<String> {
    let named = reference.sections.iter().flat_map(|section| references::names(plan, section));
    named.map(str::to_owned).collect()
}

/// Every terminal of a plan, the battery's and the grounds among them.
fn all_terminals(plan: &Plan) -> Vec<String> {
    let named = references::WITH_TERMINALS.iter().flat_map(|section| references::names(plan, section));
    let with = |thing: &str| terminals(plan, thing).into_iter().map(|end| format!("{thing}.{end}")).collect::<Vec<_>>();
    let own = ["battery", "alternator"].into_iter().chain(named).flat_map(with);
    own.chain(plan.grounds.keys().map(|ground| format!("grounds.{ground}"))).collect()
}

/// Every coil of a plan.
fn coils(plan: &Plan) -> Vec<String> {
    let coils = plan.drivers.iter().flat_map(|(name, driver)| {
        // The only coil of a driver goes by the driver's name.
        let alone = (driver.coils.len() < 2).then(|| name.clone());
        alone.into_iter().chain((1..=driver.coils.len().max(1)).map(move |number| format!("{name}.{number}")))
    });
    coils.collect()
}

#[cfg(test)]
mod tests {
    use super::super::positions::Counting;
    use super::*;

    const PLAN: &str = "plan: 1\namplifiers: {amp: {channels: 1}}\ndrivers: {sub: {coils: [4 ohm, 4 ohm]}}\n\
        grounds: {floor: {}}\nblocks: {split: {outputs: {one: {}}}}\n";

    fn offered(rest: &str) -> Vec<String> {
        let marked = format!("{PLAN}{rest}");
        let offset = marked.find('|').expect("a mark");
        let document = Document::new("file:///a.yaml".into(), 1, marked.replacen('|', "", 1), Counting::Utf16);
        complete(&document, offset, Kind::Plan, &Found::default()).items.into_iter().map(|item| item.label).collect()
    }

    fn has(rest: &str, some: &[&str], none: &[&str]) {
        let offered = offered(rest);
        for word in some {
            assert!(offered.iter().any(|offer| offer == word), "{rest}: no {word} in {offered:?}");
        }
        for word in none {
            assert!(offered.iter().all(|offer| offer != word), "{rest}: {word} in {offered:?}");
        }
    }

    #[test]
    fn keys_are_offered_that_are_known_and_not_there_yet() {
        has("wi|", &["wires", "waivers"], &["plan", "amplifiers"]);
        has("wires:\n  main:\n    size: 4 AWG\n    |\n    length: 4 m\n", &["from", "fuse"], &["size", "length"]);
        has("wires: {main: {fuse: {form: bolt-down, |}}}\n", &["rating", "holder"], &["form", "size"]);
        has("wires:\n  main:\n    crossings:\n      fi|\n", &["firewall"], &["size"]);
        has("settings:\n  a|\n", &["amp"], &["sub"]);
        has("measured: {grounds: {|}}\n", &["floor"], &["amp"]);
        has("steps:\n  - r|\n", &["run", "radio"], &["size"]);
    }

    #[test]
    fn keys_and_words_of_a_section_are_offered() {
        let offered = |written: &str| {
            let marked =
                format!("plan: 1\namplifiers: {{quint: {{sections: {{bass: {{outputs: [5], {written}}}}}}}}}\n");
            let offset = marked.find('|').expect("a mark");
            let document = Document::new("file:///a.yaml".into(), 1, marked.replacen('|', "", 1), Counting::Utf16);
            complete(&document, offset, Kind::Plan, &Found::default()).items.into_iter().map(|item| item.label)
        };
        let keys: Vec<String> = offered("|").collect();
        assert!(
            ["rated", "minimum_load", "bridged"].iter().all(|key| keys.iter().any(|offer| offer == key)),
            "{keys:?}"
        );
        assert!(keys.iter().all(|offer| offer != "outputs" && offer != "maximum_fuse"), "{keys:?}");
        assert!(offered("class: |").any(|word| word == "AB"));
    }

    #[test]
    fn words_units_and_names_are_offered_as_values() {
        has("wires: {main: {conductor: |}}\n", &["copper", "copper-clad-aluminium"], &["bare-metal"]);
        has("wires:\n  main:\n    length: 4.|\n", &["4. m"], &["4. A"]);
        has("wires:\n  main:\n    length: 17 f|\n    size: 4 AWG\n", &["17 ft", "17 m"], &[]);
        has("wires:\n  main:\n    length:|\n", &["5.2 m"], &[]);
        has(
            "wires:\n  main:\n    from: bat|\n",
            &["battery.positive", "split.one", "grounds.floor", "amp.power"],
            &["sub"],
        );
        has("loads: {bass: {amplifier: |}}\n", &["amp"], &["sub", "floor"]);
        has("settings: {rear: {amplifier: |}}\n", &["amp"], &["sub", "floor"]);
        has("settings: {rear: {amplifier: amp}}\nsteps: [{set: |}]\n", &["amp", "rear"], &["sub"]);
        has("loads: {bass: {coils: {parallel: [sub.1, |]}}}\n", &["sub.1", "sub.2"], &["amp"]);
        has("steps:\n  - battery: disconnect\n  - ground: |\n", &["floor"], &["amp"]);
        let cap = "capacitors: {buffer: {}}\n";
        has(&format!("{cap}wires: {{main: {{from: |}}}}\n"), &["buffer.power", "buffer.ground"], &["buffer.in"]);
        has(&format!("{cap}steps: [{{charge: |}}]\n"), &["buffer"], &["amp", "split"]);
        has("capacitors: {buffer: {capacitance: 1|}}\n", &["1 F", "1 uF"], &["1 A"]);
        has("waivers:\n  - rule: |\n", &["FUSE-01"], &["PLAN-06"]);
        has("waivers: [{rule: FUSE-01, at: |}]\n", &["amplifiers.amp"], &["plan"]);
        has("grounds2: 1\nvehicle: {stop_start: |}\n", &["true", "false"], &[]);
    }

    /// Every place of a whole job, emptied: what stood there is offered, or at least something where it is free.
    #[test]
    fn something_is_offered_wherever_the_schema_knows_something() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/examples/jobs/");
        let mut blank = Vec::new();
        for job in ["j-2041-one-subwoofer.yaml", "j-2057-everything-on-one-block.yaml"] {
            let text = std::fs::read_to_string(format!("{folder}{job}")).expect("the job");
            let (tree, _) = crate::text::parse(&text, crate::text::Limits::default());
            let mut places = Vec::new();
            gather(&tree, tree.root().expect("a plan"), "", &mut places);
            // A debug build looks at every seventh.
            for (path, span, is_key) in places.into_iter().step_by(if cfg!(debug_assertions) { 7 } else { 1 }) {
                let (lookup, was) = (lookup(Kind::Plan), &text[span.clone()]);
                let knows = !lookup.words(&path).is_empty() || lookup.kind(&path).is_some();
                let above = path.rsplit_once('.').map_or("", |(above, _)| above);
                let is_known = lookup.keys(above).iter().any(|(key, _)| key == was);
                if if is_key { !is_known } else { !knows } {
                    continue;
                }
                let emptied = format!("{}{}", &text[..span.start], &text[span.end..]);
                let document = Document::new("file:///a.yaml".to_owned().into(), 1, emptied, Counting::Utf16);
                let offered = complete(&document, span.start, Kind::Plan, &Found::default()).items;
                let has = offered.iter().any(|item| item.label == was);
                let is_quantity = lookup.kind(&path).is_some_and(|kind| !["terminal", "coil"].contains(&kind));
                // The inputs of an amplifier have names of their own.
                let is_free = was.contains(".line-") || was.contains(".speaker-");
                if offered.is_empty() || !(has || is_quantity || is_free) {
                    blank.push(format!("{path}: `{was}` of {}", offered.len()));
                }
            }
        }
        assert!(blank.is_empty(), "{blank:#?}");
    }

    fn gather(
        tree: &crate::text::Tree,
        node: usize,
        path: &str,
        found: &mut Vec<(String, std::ops::Range<usize>, bool)>,
    ) {
        let below = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
        match tree.kind(node) {
            crate::text::Kind::Map(map) => map.entries().iter().for_each(|entry| {
                found.push((below(&entry.key), entry.key_span.clone(), true));
                gather(tree, entry.value, &below(&entry.key), found);
            }),
            crate::text::Kind::Seq(items) => {
                items.iter().enumerate().for_each(|(at, item)| gather(tree, *item, &below(&at.to_string()), found));
            }
            crate::text::Kind::Scalar { .. } => found.push((path.to_owned(), tree.span(node), false)),
        }
    }

    #[test]
    fn a_house_file_and_a_shelf_are_completed_by_their_own_words() {
        let offered = |kind: Kind, marked: &str| -> Vec<String> {
            let offset = marked.find('|').expect("a mark");
            let text = marked.replacen('|', "", 1);
            let document = Document::new("file:///a.yaml".to_owned().into(), 1, text.clone(), Counting::Utf16);
            let (shelf, _) = house::read_shelf("gear.yaml".into(), text);
            let shelves = std::sync::Arc::new(plan::Shelves { files: vec![shelf] });
            let house = std::rc::Rc::new(house::House { shelves, ..house::House::default() });
            let found = Found { house, ..Found::default() };
            complete(&document, offset, kind, &found).items.into_iter().map(|item| item.label).collect()
        };
        for (kind, marked, some, none) in [
            (Kind::House, "house: 1\n|\n", "limits", "house"),
            (Kind::House, "house: |\n", "1", "2"),
            (Kind::House, "house: 1\nlimits:\n  fix|\n", "fixing-distance", "key-off"),
            (Kind::House, "house: 1\nlimits: {fixing-distance: {value: |}}\n", "45.7 cm", "17 ft"),
            (Kind::House, "house: 1\nlimits: {fixing-distance: {value: 4|}}\n", "4 cm", "4 A"),
            (Kind::House, "house: 1\nassumptions: {key-off: {range: 15 mA .. 4|}}\n", "15 mA .. 4 mA", "4 mA"),
            (Kind::House, "house: 1\nrules:\n  |\n", "FUSE-01", "limits"),
            (Kind::House, "house: 1\nrules: {WIRE-13: {off: |}}\n", "true", "fault"),
            (Kind::House, "house: 1\nrules: {WIRE-13: {severity: |}}\n", "fault", "true"),
            (Kind::House, "house: 1\ngate:\n  draft: {open: |}\n", "none", "fault"),
            (Kind::House, "house: 1\nzones:\n  ro|\n", "roof", "rules"),
            (Kind::House, "house: 1\nstock: {fuses: {bl|}}\n", "blade-regular", "roof"),
            (Kind::House, "house: 1\nstock: {wires: [4 |]}\n", "4 AWG", "4 A"),
            (Kind::House, "house: 1\nown_rules: {HOUSE-01: {each: |}}\n", "wire", "fault"),
            (Kind::Shelf, "shelf: 1\n|\n", "vehicles", "wires"),
            (Kind::Shelf, "shelf: 1\namplifiers: {a: {class: |}}\n", "D", "12 V"),
            (Kind::Shelf, "shelf: 1\namplifiers: {a: {class: D}, b: {shelf: |}}\n", "a", "b"),
            (Kind::Plan, "plan: 1\namplifiers: {a: {class: D}, c: {shelf: |}}\n", "a", "vehicles"),
            (Kind::Plan, "plan: 1\namplifiers:\n  a: {class: D}\n  b:\n    class: D\n    class: |\n", "D", "a"),
        ] {
            let offered = offered(kind, marked);
            let has = |word: &str| offered.iter().any(|offer| offer == word);
            assert!(has(some) && !has(none), "{marked}: {offered:?}");
        }
    }
}
