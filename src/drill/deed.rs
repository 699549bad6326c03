//! What slips come to in a plan: changes of its text, each still to be tried.

use std::collections::BTreeSet;

use crate::house::House;
use crate::judge::{Check, Outcome, Reach, Rule, Slip, judge_briefly, turned_at};
use crate::plan::{Reading, read_with};
use crate::solve::Place;
use crate::text::{self, Edit, Kind, NodeId, Tree, fits, places, thing};

/// One change that may break a rule.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Deed {
    /// The place that changes.
    pub path: String,
    /// What happens there.
    pub act: Act,
}

/// What happens at a place.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Act {
    /// It says this.
    Say(String),
    /// It says what turns the rule there.
    Past,
    /// It goes.
    Drop,
    /// The key is another.
    Rename(&'static str),
    /// A list gets an item, or several parted by commas, before this one.
    Insert(usize, &'static str),
    /// An item of a list moves from here to before that one.
    Move(usize, usize),
    /// A thing is written once more under this name.
    Repeat(String),
    /// The first, and then the others.
    All(Vec<Deed>),
}

impl Deed {
    /// Where else it changes the plan than at its own place.
    pub fn others(&self) -> Vec<String> {
        match &self.act {
            Act::All(deeds) => deeds.iter().skip(1).map(|deed| deed.path.clone()).collect(),
            _ => Vec::new(),
        }
    }

    /// Whether it goes past where a rule turns.
    pub fn searches(&self) -> bool {
        match &self.act {
            Act::Past => true,
            Act::All(deeds) => deeds.iter().any(Self::searches),
            _ => false,
        }
    }
}

/// A change with the values that were found, where it was done.
pub fn fixed(deed: &Deed, after: &Reading) -> Option<Deed> {
    let act = match &deed.act {
        Act::Past => Act::Say(after.tree.text(after.tree.node(&deed.path)?)?.to_owned()),
        Act::All(deeds) => Act::All(deeds.iter().map(|deed| fixed(deed, after)).collect::<Option<_>>()?),
        other => other.clone(),
    };
    Some(Deed { path: deed.path.clone(), act })
}

/// All that a slip may come to in a plan.
pub fn deeds(slip: &Slip, tree: &Tree) -> Vec<Deed> {
    let deed = |path: &String, act| Deed { path: path.clone(), act };
    let value = |path: &String| tree.node(path).and_then(|node| tree.text(node)).map(str::to_owned);
    match slip {
        Slip::Say(pattern, words) => {
            let of = |path: String| {
                let was = value(&path);
                let said = words.iter().filter_map(|word| said(word, was.as_deref()));
                said.filter(|word| was.as_ref() != Some(word)).map(|word| deed(&path, Act::Say(word))).collect()
            };
            places(tree, pattern, true).into_iter().flat_map(|path| -> Vec<Deed> { of(path) }).collect()
        }
        Slip::Past(pattern) => places(tree, pattern, false).iter().map(|path| deed(path, Act::Past)).collect(),
        Slip::Drop(pattern) => places(tree, pattern, false).iter().map(|path| deed(path, Act::Drop)).collect(),
        Slip::Rename(pattern, keys) => {
            let of = |path: &String| {
                let others = keys.iter().filter(|key| path.rsplit('.').next() != Some(**key));
                others.map(|key| deed(path, Act::Rename(key))).collect::<Vec<_>>()
            };
            places(tree, pattern, false).iter().flat_map(of).collect()
        }
        Slip::Misspell(pattern) => {
            let wrong = |path: &String| Some(deed(path, Act::Say(misspelt(&value(path)?)?)));
            places(tree, pattern, false).iter().filter_map(wrong).collect()
        }
        Slip::Mistake(pattern) => {
            let all: Vec<(String, String)> =
                places(tree, pattern, false).into_iter().filter_map(|path| Some((value(&path)?, path))).collect();
            let mut others: Vec<&String> = all.iter().map(|(said, _)| said).collect();
            others.sort_unstable();
            others.dedup();
            let of = |(said, path): &(String, String)| -> Vec<Deed> {
                others
                    .iter()
                    .filter(|other| **other != said)
                    .map(|other| deed(path, Act::Say((*other).clone())))
                    .collect()
            };
            all.iter().flat_map(of).collect()
        }
        Slip::Insert(pattern, items) => {
            // Nobody comes upon an airbag where none is fitted.
            let has_airbags = value(&"vehicle.airbags".to_owned()).is_none_or(|fitted| fitted != "none");
            let items: Vec<&&str> = items.iter().filter(|item| has_airbags || !item.contains("airbag")).collect();
            let of = |path: String| -> Vec<Deed> {
                let all: Vec<String> = items_of(tree, &path);
                // A way still begins and ends where it does.
                let between = all.windows(2).enumerate().flat_map(|(at, pair)| {
                    let fit = items.iter().filter(|item| pair.iter().any(|beside| is_near(item, beside)));
                    fit.map(move |item| Act::Insert(at + 1, item)).collect::<Vec<_>>()
                });
                between.map(|act| deed(&path, act)).collect()
            };
            places(tree, pattern, false).into_iter().flat_map(of).collect()
        }
        Slip::Move(list, item) => moves(tree, list, item),
        Slip::Swap(pattern, one, other) => swaps(tree, pattern, one, other),
        Slip::Repeat(pattern) => {
            let again = |path: &String| Some(deed(path, Act::Repeat(another_name(tree, path)?)));
            places(tree, pattern, false).iter().filter_map(again).collect()
        }
        Slip::Together(slips) => together(slips, tree),
    }
}

/// Of every thing whose two terminals stand at a pattern, one taken for the other.
fn swaps(tree: &Tree, pattern: &str, one: &str, other: &str) -> Vec<Deed> {
    let ends = places(tree, pattern, false).into_iter();
    let ends: Vec<(String, String, String)> = ends
        .filter_map(|path| {
            let (name, terminal) = tree.text(tree.node(&path)?)?.rsplit_once('.')?;
            Some((path, name.to_owned(), terminal.to_owned()))
        })
        .collect();
    let at = |terminal: &str| -> BTreeSet<&str> {
        ends.iter().filter(|(.., is)| is == terminal).map(|(_, name, _)| name.as_str()).collect()
    };
    let swap = |name: &&str| {
        let own = ends.iter().filter(|(_, of, _)| of == name);
        let deeds: Vec<Deed> = own
            .filter_map(|(path, name, terminal)| {
                let instead = [(one, other), (other, one)].into_iter().find(|(from, _)| from == terminal)?.1;
                Some(Deed { path: path.clone(), act: Act::Say(format!("{name}.{instead}")) })
            })
            .collect();
        Deed { path: deeds[0].path.clone(), act: Act::All(deeds) }
    };
    at(one).intersection(&at(other)).map(swap).collect()
}

/// Every first deed with every other that is on the same thing, or on one that it has to do with.
fn together(slips: &[Slip], tree: &Tree) -> Vec<Deed> {
    let Some((first, rest)) = slips.split_first() else { return Vec::new() };
    let start = deeds(first, tree).into_iter().map(|deed| vec![deed]).collect();
    let all: Vec<Vec<Deed>> = rest.iter().fold(start, |all, slip| {
        let others = deeds(slip, tree);
        let with = |done: &Vec<Deed>| {
            let own = others.iter().filter(|other| belong(tree, thing(&other.path), thing(&done[0].path)));
            own.map(|other| done.iter().chain([other]).cloned().collect()).collect::<Vec<Vec<Deed>>>()
        };
        all.iter().flat_map(with).collect()
    });
    all.into_iter().map(|deeds| Deed { path: deeds[0].path.clone(), act: Act::All(deeds) }).collect()
}

/// Whether two things are one, or are of different sections and one of them names the other.
fn belong(tree: &Tree, one: &str, other: &str) -> bool {
    let section = |path: &str| path.split('.').next().map(str::to_owned);
    one == other || (section(one) != section(other) && (names(tree, one, other) || names(tree, other, one)))
}

/// Whether a thing says the name of another somewhere, as `radio`, `bass-amp.power` or `grounds.floor`.
fn names(tree: &Tree, one: &str, other: &str) -> bool {
    let name = other.rsplit('.').next().unwrap_or(other);
    let is_name = |word: &str| [name, other].iter().any(|name| within(word, name));
    let says = |node| tree.text(node).is_some_and(is_name);
    let mut open: Vec<NodeId> = tree.node(one).into_iter().collect();
    while let Some(node) = open.pop() {
        if says(node) {
            return true;
        }
        open.extend(tree.parts(node));
    }
    false
}

fn within(word: &str, name: &str) -> bool {
    word.strip_prefix(name).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
}

fn said(word: &str, was: Option<&str>) -> Option<String> {
    if word.contains("{}") { Some(word.replace("{}", was?)) } else { Some(word.to_owned()) }
}

/// Where in a vehicle the places are that wires stay away from: what they lie beside. Any other may be anywhere (common
/// practice, no published source).
const NEAR: [(&str, &[&str]); 10] = [
    ("exhaust", &["underbody", "floor-pan", "engine-bay", "spare-well"]),
    ("hot-engine-parts", &["engine-bay"]),
    ("fuel-line", &["engine-bay", "underbody", "rear-seat"]),
    ("brake-line", &["engine-bay", "underbody"]),
    ("pedals", &["dash", "left-footwell", "right-footwell", "firewall"]),
    ("steering-column", &["dash", "left-footwell", "right-footwell"]),
    ("seat-track", &["under-seat", "cabin-floor", "centre-tunnel", "left-sill", "right-sill"]),
    ("hinge", &["rear-seat", "cargo", "rear-bulkhead"]),
    ("airbag-path", &["dash", "left-sill", "right-sill", "roof", "left-pillar", "right-pillar", "under-seat"]),
    (
        "airbag-harness",
        &["dash", "left-sill", "right-sill", "left-pillar", "right-pillar", "under-seat", "centre-tunnel"],
    ),
];

fn is_near(place: &str, beside: &str) -> bool {
    NEAR.iter().find(|(name, _)| *name == place).is_none_or(|(_, near)| near.contains(&beside))
}

/// The words of a list; what has none is an empty word.
fn items_of(tree: &Tree, path: &str) -> Vec<String> {
    let text = |at: usize| tree.node(&format!("{path}.{at}")).and_then(|node| tree.text(node));
    (0..length(tree, path)).map(|at| text(at).unwrap_or_default().to_owned()).collect()
}

fn length(tree: &Tree, path: &str) -> usize {
    match tree.node(path).map(|node| tree.kind(node)) {
        Some(Kind::Seq(items)) => items.len(),
        _ => 0,
    }
}

/// Two letters in the middle of a name change places; where they are the same, one is left out.
fn misspelt(name: &str) -> Option<String> {
    let start = name.rfind('.').map_or(0, |point| point + 1);
    let mut letters: Vec<char> = name.chars().collect();
    let middle = start + (letters.len() - start) / 2;
    let (one, other) = (*letters.get(middle.checked_sub(1)?)?, *letters.get(middle)?);
    if middle <= start || !one.is_alphabetic() || !other.is_alphabetic() {
        return None;
    }
    if one == other {
        letters.remove(middle);
    } else {
        letters.swap(middle - 1, middle);
    }
    Some(letters.into_iter().collect())
}

fn moves(tree: &Tree, list: &str, item: &str) -> Vec<Deed> {
    let (key, word) = item.split_once(": ").map_or((item, None), |(key, word)| (key, Some(word)));
    let is_it = |at: &usize| {
        let node = tree.node(&format!("{list}.{at}.{key}"));
        node.is_some_and(|node| word.is_none() || tree.text(node) == word)
    };
    let length = length(tree, list);
    let deed = |from, before| Deed { path: list.to_owned(), act: Act::Move(from, before) };
    let of = |from: usize| (0..length).filter(move |to| *to != from && *to != from + 1).map(move |to| deed(from, to));
    (0..length).filter(is_it).flat_map(of).collect()
}

fn another_name(tree: &Tree, path: &str) -> Option<String> {
    let (above, name) = path.rsplit_once('.')?;
    (2..9).map(|number| format!("{name}-{number}")).find(|name| tree.node(&format!("{above}.{name}")).is_none())
}

/// Steps that install a part, by the part's pattern.
const STEPS: [(&str, &str); 14] = [
    ("wires.*", "run"),
    ("wires.*", "fuse"),
    ("wires.*.fuse|far_fuse", "fuse"),
    ("turn_on.*", "run"),
    ("signals.*", "run"),
    ("grounds.*", "ground"),
    ("mounts.*", "mount"),
    ("settings.*", "set"),
    ("amplifiers.*", "connect"),
    ("batteries.*", "connect"),
    ("isolators.*", "connect"),
    ("blocks.*", "connect"),
    ("capacitors.*", "connect"),
    ("capacitors.*", "charge"),
];

/// Where the deed leaves its traces, and the plan as it is then. Nothing where it cannot be done.
pub fn done(deed: &Deed, by: &Hand<'_>) -> Option<(String, Reading)> {
    let Deed { path, act } = deed;
    let Hand { reading, .. } = by;
    let (text, tree) = (&reading.text, &reading.tree);
    let read = |text: String| read_with(text, &reading.shelves);
    let edited = |edit: Edit| read(edit.apply(text));
    let changed = |path: &str, deed: &text::Deed| Some(edited(text::change(text, tree, path, deed).ok()?));
    let (place, after) = match act {
        Act::Say(word) => (path.clone(), reading.with(path, word).ok()?),
        Act::Past => (path.clone(), by.past(path)?),
        Act::Drop => (path.clone(), without_steps(changed(path, &text::Deed::Strike)?, path)),
        Act::Rename(key) => {
            let place = format!("{}.{key}", path.rsplit_once('.')?.0);
            (place, edited(Edit { at: tree.locate_key(path), text: (*key).to_owned() }))
        }
        Act::Insert(before, item) => {
            let place = format!("{path}.{before}");
            // Several items stand one behind the other.
            let after = item.rsplit(", ").try_fold(Reading::clone(reading), |reading, item| {
                let deed = text::Deed::Insert(item.to_owned());
                let edit = text::change(&reading.text, &reading.tree, &place, &deed).ok()?;
                Some(read(edit.apply(&reading.text)))
            })?;
            (place, after)
        }
        Act::Move(from, before) => {
            let to = if before > from { before - 1 } else { *before };
            (format!("{path}.{to}"), changed(&format!("{path}.{from}"), &text::Deed::Move(*before))?)
        }
        Act::All(deeds) => {
            let (first, rest) = deeds.split_first()?;
            let (place, start) = done(first, by)?;
            let after = rest.iter().try_fold(start, |reading, deed| {
                let by = Hand { reading: &reading, house: by.house, rule: by.rule, reach: by.reach };
                done(deed, &by).map(|(_, after)| after)
            })?;
            (place, after)
        }
        Act::Repeat(name) => {
            let place = format!("{}.{name}", path.rsplit_once('.')?.0);
            (place, with_steps(changed(path, &text::Deed::Repeat(name.clone()))?, path, name))
        }
    };
    after.misreads.is_empty().then_some((place, after))
}

/// The numbers and keys of steps that install a part.
fn steps_of(reading: &Reading, path: &str) -> Vec<(usize, &'static str)> {
    let name = path.split('.').nth(1).unwrap_or_default();
    let keys: Vec<&'static str> =
        STEPS.iter().filter(|(pattern, _)| fits(pattern, path)).map(|(_, key)| *key).collect();
    let says = |at: usize, key: &str| {
        let node = reading.tree.node(&format!("steps.{at}.{key}"));
        node.and_then(|node| reading.tree.text(node)) == Some(name)
    };
    let steps = 0..length(&reading.tree, "steps");
    steps.filter_map(|at| keys.iter().find(|key| says(at, key)).map(|key| (at, *key))).collect()
}

fn without_steps(reading: Reading, path: &str) -> Reading {
    let steps = steps_of(&reading, path);
    steps.into_iter().rev().fold(reading, |reading, (at, _)| {
        let edit = text::change(&reading.text, &reading.tree, &format!("steps.{at}"), &text::Deed::Strike);
        edit.map_or_else(|_| reading.clone(), |edit| read_with(edit.apply(&reading.text), &reading.shelves))
    })
}

fn with_steps(reading: Reading, path: &str, name: &str) -> Reading {
    let steps = steps_of(&reading, path);
    steps.into_iter().rev().fold(reading, |reading, (at, key)| {
        let step = text::Deed::Insert(format!("{{{key}: {name}}}"));
        let edit = text::change(&reading.text, &reading.tree, &format!("steps.{}", at + 1), &step);
        edit.map_or_else(|_| reading.clone(), |edit| read_with(edit.apply(&reading.text), &reading.shelves))
    })
}

/// A value is searched on so many subjects, those of its own thing first.
const MOST_SUBJECTS: usize = 3;

/// What deeds are done with.
pub struct Hand<'a> {
    /// The plan as it is.
    pub reading: &'a Reading,
    /// Its house.
    pub house: &'a House,
    /// The rule that is to be broken.
    pub rule: &'static Rule,
    /// How far past a limit.
    pub reach: Reach,
}

impl Hand<'_> {
    /// The plan with the value at a path past where the rule turns on one of its subjects: on the first that takes it.
    fn past(&self, path: &str) -> Option<Reading> {
        let judgement = judge_briefly(self.reading, self.house, &[self.rule]);
        let passing = judgement.checks.iter().filter(|check| check.outcome == Outcome::Pass);
        let near = |check: &&Check| !check.touches(thing(path));
        let mut passing: Vec<&Check> = passing.collect();
        passing.sort_by_key(near);
        passing.into_iter().take(MOST_SUBJECTS).find_map(|check| {
            let change = turned_at(self.reading, self.house, check, &Place::of(path.to_owned()), self.reach)?;
            self.reading.with(path, &change.to).ok().filter(|_| change.outcome == Outcome::Fail)
        })
    }
}
