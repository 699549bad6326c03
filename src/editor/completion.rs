//! What may be written where the pointer stands.

use gen_lsp_types::{CompletionItem, CompletionItemKind, CompletionList, TextEdit};

use super::document::{Document, Kind};
use super::houses::Found;
use super::paper::{lookup, shipped};
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
        let version = |format: u32| Offer::new(format.to_string(), "the version of the format", CompletionItemKind::Value);
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
            let ships = shipped(path).map(|(value, _)| Offer::new(value, "as testlamp ships it", CompletionItemKind::Value));
            let example = self.lookup.example(path).filter(|_| !units.is_empty() || kind == "day");
            let example = example.map(|example| Offer::new(example, "as it is written", CompletionItemKind::Value));
            let stated = ships.filter(|_| path.ends_with(".value") || path.ends_with(".range"));
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
    let things = ["amplifiers", "batteries", "isolators", "blocks", "converters"];
    let named = things.into_iter().flat_map(|section| references::names(plan, section));
    let with = |thing: &str| terminals(plan, thing).into_iter().map(|end| format!("{thing}.{end}")).collect::<Vec<_>>();
    let own = ["battery", "alternator"].into_iter().chain(named).flat_map(with);
    own.chain(plan.grounds.keys().map(|ground| format!("grounds.{ground}"))).collect()
}

/// Every coil of a plan.
fn coils(plan: &Plan) -> Vec<String> {
    let coils = plan
        .drivers
        .iter()
        .flat_map(|(name, driver)| (1..=driver.coils.len().max(1)).map(move |number| format!("{name}.{number}")));
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
        has("loads: {bass: {coils: {parallel: [sub.1, |]}}}\n", &["sub.1", "sub.2"], &["amp"]);
        has("steps:\n  - battery: disconnect\n  - ground: |\n", &["floor"], &["amp"]);
        has("waivers:\n  - rule: |\n", &["FUSE-01"], &["PLAN-06"]);
        has("waivers: [{rule: FUSE-01, at: |}]\n", &["amplifiers.amp"], &["plan"]);
        has("grounds2: 1\nvehicle: {stop_start: |}\n", &["true", "false"], &[]);
    }
}
