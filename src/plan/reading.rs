//! From a tree to a typed plan, with every error of shape and as much of the plan as can be read.

use std::borrow::Cow;
use std::collections::HashSet;
use std::ops::Range;
use std::sync::Arc;

use serde::de::DeserializeOwned;

use super::Plan;
use super::format::PLAN;
use super::lookup::holds_names;
use super::misfit::{self, MOST_TOLD};
use super::schema::Format;
use super::shelf::Shelves;
use crate::text::{self, Deed, Kind, Limits, Map, Misread, NodeId, Reader, Tree};
use crate::words::nearest;

/// A plan as far as it could be read.
#[derive(Debug, Clone, Default)]
pub struct Reading {
    /// The text.
    pub text: String,
    /// Its tree.
    pub tree: Tree,
    /// The typed plan. What could not be read is missing from it, as if it were not stated.
    pub plan: Plan,
    /// What could not be read, in the order of the text.
    pub misreads: Vec<Misread>,
    /// The shelves that it may refer to.
    pub shelves: Arc<Shelves>,
    /// The nodes that could not be read.
    pub struck: HashSet<NodeId>,
}

impl Reading {
    /// The plan as if a path said another value, written as in a plan: `wires.main.size` and `1/0 AWG`.
    ///
    /// # Errors
    /// A sentence: there is no such thing in the plan, or the value cannot stand there.
    pub fn with(&self, path: &str, value: &str) -> Result<Self, String> {
        self.has_thing(path)?;
        let reading = self.changed(&[(path.to_owned(), Deed::Set(value.to_owned()))])?;
        if reading.tree.node(path).is_none() && value.trim() != "~" {
            return Err(format!("`{path}` cannot be set in this plan; write it into the file"));
        }
        Ok(reading)
    }

    /// The plan after several things were done to it, one after the other.
    ///
    /// # Errors
    /// A sentence: one of them cannot be done, or what comes out cannot be read.
    pub fn changed(&self, deeds: &[(String, Deed)]) -> Result<Self, String> {
        let mut text = self.text.clone();
        let mut tree = Cow::Borrowed(&self.tree);
        for (number, (path, deed)) in deeds.iter().enumerate() {
            text = text::change(&text, &tree, path, deed)?.apply(&text);
            if number + 1 < deeds.len() {
                let (mut next, _) = text::parse(&text, Limits::default());
                self.shelves.complete(&mut next);
                tree = Cow::Owned(next);
            }
        }
        let reading = read_with(text, &self.shelves);
        match reading.misreads.iter().find(|misread| !self.misreads.iter().any(|known| known.what == misread.what)) {
            Some(new) if new.mend.is_empty() => Err(new.what.clone()),
            Some(new) => Err(format!("{}; {}", new.what, new.mend)),
            None => Ok(reading),
        }
    }

    /// The plan as it may have been meant where words cannot be read: in each, every slip is taken for something that
    /// would fit there.
    pub fn as_meant(&self) -> Vec<Self> {
        const MOST: usize = 2;
        // With so many slips no way of reading them all is what was meant, and each costs as much as the whole plan.
        const MOST_SLIPS: usize = 40;
        if self.misreads.len() > MOST_SLIPS {
            return Vec::new();
        }
        let ways = self.misreads.iter().map(|misread| match &misread.meant {
            Some(meant) => (&misread.span, std::slice::from_ref(meant)),
            None => (&misread.span, &*misread.could),
        });
        let ways: Vec<(&Range<usize>, &[String])> = ways.filter(|(_, words)| !words.is_empty()).collect();
        let most = ways.iter().map(|(_, words)| words.len()).max().unwrap_or(0).min(MOST);
        let read_as = |number: usize| {
            let (mut text, mut behind) = (self.text.clone(), self.text.len());
            for (span, words) in ways.iter().rev().filter(|(span, _)| !span.is_empty()) {
                if span.end <= behind {
                    text.replace_range((*span).clone(), &words[number.min(words.len() - 1)]);
                    behind = span.start;
                }
            }
            read_with(text, &self.shelves)
        };
        (0..most).map(read_as).filter(|reading| reading.misreads.len() < self.misreads.len()).collect()
    }

    /// A slip in the name of a thing must not make a new one.
    fn has_thing(&self, path: &str) -> Result<(), String> {
        let mut segments = path.split('.');
        let (Some(section), Some(name)) = (segments.next(), segments.next()) else { return Ok(()) };
        if !holds_names(section) || self.tree.node(&format!("{section}.{name}")).is_some() {
            return Ok(());
        }
        let section_node = self.tree.node(section).and_then(|node| self.tree.map(node));
        let names = section_node.into_iter().flat_map(Map::entries).map(|entry| entry.key.as_str());
        let near = nearest(name, names).map(|near| format!("; did you mean {section}.{near}?")).unwrap_or_default();
        Err(format!("the plan has no {section}.{name}{near}"))
    }
}

/// Reads a plan that refers to no shelf.
pub fn read(text: String) -> Reading {
    read_with(text, &Arc::default())
}

/// Reads a plan. Nothing is lost over one bad entry: what does not fit is reported and passed over.
pub fn read_with(text: String, shelves: &Arc<Shelves>) -> Reading {
    let Taken { tree, value, misreads, struck } = take(&PLAN, &text, Some(shelves));
    Reading { text, tree, plan: value, misreads, shelves: Arc::clone(shelves), struck }
}

/// A file of any format as far as it could be read.
pub(crate) struct Taken<T> {
    /// Its tree.
    pub tree: Tree,
    /// What it says. What could not be read is missing from it, as if it were not stated.
    pub value: T,
    /// What could not be read, in the order of the text.
    pub misreads: Vec<Misread>,
    /// The nodes that could not be read.
    pub struck: HashSet<NodeId>,
}

/// Reads a file of any format. With shelves, its things are completed with what they refer to.
pub(crate) fn take<T: DeserializeOwned + Default>(format: &Format, text: &str, shelves: Option<&Shelves>) -> Taken<T> {
    let (mut tree, mut misreads) = text::parse(text, Limits::default());
    misreads.extend(shelves.into_iter().flat_map(|shelves| shelves.complete(&mut tree)));
    let (mut value, mut struck) = (T::default(), unread_values(text, &tree, &misreads));
    let Format { key, version, like, .. } = format;
    let mend = || format!("start with `{key}: {version}` on the first line");
    let crowd = tree.root().and_then(|root| one_too_many(&tree, root, format.most_things));
    let is_crowded = crowd.is_some();
    misreads.extend(crowd.map(|span| {
        Misread::new(span, format!("more than {} things in one {key}", format.most_things), "one file holds one job")
    }));
    match tree.root() {
        _ if is_crowded => {}
        Some(root) if tree.map(root).is_some() => {
            let (misfits, beside) = misfit::check(format.shape, text, &tree, root);
            struck.extend(beside);
            for (node, mut misread) in misfits {
                let written = shelves.and_then(|shelves| shelves.written(&tree, node));
                if let Some(written) = written {
                    misread.what = format!("{} ({written})", misread.what);
                    // The words of the plan there are the reference.
                    misread.meant = None;
                    misread.could = Box::default();
                }
                struck.insert(node);
                misreads.push(misread);
            }
            value = typed(&tree, root, &mut struck, &mut misreads);
            misreads.extend(no_version(format, &tree, root, &misreads));
        }
        Some(root) if misreads.is_empty() => {
            let what = format!("this is not a {key}: a {key} is {like}");
            misreads.push(Misread::new(tree.span(root), what, mend()));
        }
        None if misreads.is_empty() => {
            let what = format!("the file holds no {key}: it is empty or only comments");
            misreads.push(Misread::new(0..0, what, mend()));
        }
        _ => {}
    }
    misreads.sort_by_key(|misread| (misread.span.start, misread.span.end));
    misreads.dedup();
    shorten(&mut misreads);
    Taken { tree, value, misreads, struck }
}

/// The values and items that are missing because the parser could not read on behind their keys and dashes.
fn unread_values(text: &str, tree: &Tree, misreads: &[Misread]) -> HashSet<NodeId> {
    let mut open: Vec<NodeId> = tree.root().into_iter().filter(|_| !misreads.is_empty()).collect();
    let mut found = HashSet::new();
    while let Some(node) = open.pop() {
        let entries = tree.map(node).into_iter().flat_map(Map::entries);
        let values = entries.map(|entry| (entry.value, entry.key_span.end, entry.key_span.end));
        // Nobody knows where an item stands that is not there: behind the one before it.
        let items = tree.parts(node).into_iter().filter(|_| tree.map(node).is_none());
        let items = items.scan(tree.span(node).start, |before, item| {
            let begins = std::mem::replace(before, tree.span(item).end);
            Some((item, begins, tree.span(item).start))
        });
        for (value, begins, stands) in values.chain(items).filter(|(value, ..)| tree.is_null(*value)) {
            let rest = begins..stands + text[stands..].find('\n').unwrap_or(text.len() - stands);
            if misreads.iter().any(|misread| rest.contains(&misread.span.start)) {
                found.insert(value);
            }
        }
        open.extend(tree.parts(node));
    }
    found
}

/// Where the first thing stands that is beyond how many a file may hold.
fn one_too_many(tree: &Tree, root: NodeId, most: usize) -> Option<Range<usize>> {
    let mut left = most;
    for section in tree.map(root)?.entries() {
        let (count, beyond) = match tree.kind(section.value) {
            Kind::Map(map) => (map.entries().len(), map.entries().get(left).map(|entry| entry.key_span.clone())),
            Kind::Seq(items) => (items.len(), items.get(left).map(|item| tree.span(*item))),
            Kind::Scalar { .. } => (0, None),
        };
        if beyond.is_some() {
            return beyond;
        }
        left -= count;
    }
    None
}

/// Nobody reads ten thousand complaints: the first are told, the rest are counted.
fn shorten(misreads: &mut Vec<Misread>) {
    let Some(more) = misreads.len().checked_sub(MOST_TOLD).filter(|more| *more > 1) else { return };
    misreads.truncate(MOST_TOLD + 1);
    if let Some(last) = misreads.last_mut() {
        let what = format!("here and in {} more places below something does not fit", more - 1);
        *last = Misread::new(last.span.clone(), what, "mend what is told above first");
    }
}

/// Reads typed values, striking out whatever does not fit until the rest does.
fn typed<T: DeserializeOwned + Default>(
    tree: &Tree,
    root: NodeId,
    struck: &mut HashSet<NodeId>,
    misreads: &mut Vec<Misread>,
) -> T {
    loop {
        match T::deserialize(Reader::new(tree, root, struck)) {
            Ok(value) => return value,
            Err(error) => {
                // A node that the schema complained about takes what it stands in with it; anything else is new.
                let mut culprit = error.node.unwrap_or(root);
                if !struck.contains(&culprit) && misreads.iter().all(|known| !overlaps(tree, culprit, known)) {
                    misreads.push(Misread::new(tree.span(culprit), error.message, ""));
                }
                while struck.contains(&culprit) || is_list_item(tree, root, culprit) {
                    match parent(tree, root, culprit) {
                        Some(above) => culprit = above,
                        None => return T::default(),
                    }
                }
                if culprit == root {
                    return T::default();
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
        let below = tree.parts(at);
        if below.contains(&node) {
            return Some(at);
        }
        open.extend(below);
    }
    None
}

/// A text that is YAML but says nowhere that it is a file of this format.
fn no_version(format: &Format, tree: &Tree, root: NodeId, misreads: &[Misread]) -> Option<Misread> {
    let Format { key, version, .. } = format;
    if tree.node(key).is_some() {
        return None;
    }
    let span = tree.map(root).and_then(|map| map.entries().first()).map_or(0..0, |entry| entry.key_span.clone());
    let what = format!("the key `{key}:` with the format version is missing (it is {version})");
    let misread = Misread::new(span, what, format!("write `{key}: {version}` on the first line"));
    (!misreads.contains(&misread)).then_some(misread)
}

#[cfg(test)]
mod tests {
    use super::read;

    const PLAN: &str = "plan: 1\nwires:\n  main: {size: 4 AWG} # feed\n";

    #[test]
    fn a_plan_can_be_read_as_if_it_said_something_else() {
        let plan = read(PLAN.into());
        let thick = plan.with("wires.main.size", "1/0 AWG").expect("a size");
        assert_eq!(thick.text, PLAN.replace("4 AWG", "1/0 AWG"));
        let charged = plan.with("vehicle.alternator.at_idle", "70 A").expect("an alternator");
        assert!(charged.plan.vehicle.and_then(|vehicle| vehicle.alternator?.at_idle).is_some());
    }

    #[test]
    fn slips_are_told() {
        let plan = read(PLAN.into());
        let told = |path: &str, value: &str| plan.with(path, value).expect_err("a slip");
        assert_eq!(told("wires.man.size", "4 AWG"), "the plan has no wires.man; did you mean wires.main?");
        assert!(told("wires.main.size", "4AWG").contains("4 AWG"));
        assert!(told("wires.main.sise", "4 AWG").contains("size"));
        assert!(
            told("waivers.0.until", "2027-06-30").contains("not in the list") || plan.tree.node("waivers").is_none()
        );
    }

    #[test]
    fn a_step_that_is_half_written_leaves_the_others() {
        for (half, slips) in [("-", 0), ("- r", 1), ("- {run: [}", 1), ("- rum: main", 1)] {
            let plan = read(format!("plan: 1\nsteps:\n  - radio: note-code\n  {half}\n  - run: main\n"));
            let run: Vec<Option<&str>> = plan.plan.steps.iter().map(|step| step.run.as_deref()).collect();
            assert!(half.contains('[') || run == [None, None, Some("main")], "{half}: {run:?}");
            assert!(plan.misreads.len() >= slips, "{half}: {:?}", plan.misreads);
        }
        let load = read("plan: 1\namplifiers: {amp: {rated: [{load: 4 ohm, power: 50 W}, x]}}\n".into());
        assert!(load.plan.amplifiers["amp"].rated.is_empty() && load.misreads.len() == 1, "{:?}", load.misreads);
    }

    #[test]
    fn a_thing_as_far_left_as_its_section_is_told_so() {
        let text = "plan: 1\nwires:\nfeed:\n    size: 4 AWG\n  back:\n    size: 4 AWG\njob: {}\n";
        let misread = read(text.into()).misreads.remove(0);
        assert_eq!(misread.what, "`feed` stands too far left to belong to `wires`");
        assert!(read(text.replace("\nfeed", "\n  feed")).misreads.is_empty());
        // At another depth, or behind something that is said, it is only unknown.
        let misread = read("plan: 1\nwires: {}\nfeed:\n  size: 4 AWG\n".into()).misreads.remove(0);
        assert!(misread.what.contains("not a key that is known here"), "{}", misread.what);
    }

    /// What is meant indents all of them, with the lines between them, and no line that is empty.
    #[test]
    fn things_that_lost_their_indent_under_one_section_are_told_once() {
        let text = "plan: 1\nwires:\nfeed: # of the amplifier\n    size: 4 AWG\n\n# its way back\nback: {size: 4 AWG}\nlast:\n  \
                    note: |\n    in two\n    lines\ngrounds:\nfloor: {}\njob: {}\n";
        let reading = read(text.into());
        let told: Vec<&str> = reading.misreads.iter().map(|misread| misread.what.as_str()).collect();
        assert_eq!(
            told,
            [
                "`feed` and 2 more behind it stand too far left to belong to `wires`",
                "`floor` stands too far left to belong to `grounds`"
            ]
        );
        assert_eq!(reading.struck.len(), 4);
        let misread = &reading.misreads[0];
        let mended = [&text[..misread.span.start], misread.meant.as_deref().expect("meant"), &text[misread.span.end..]];
        let mended = read(mended.concat());
        assert_eq!(mended.misreads.len(), 1, "{:?}", mended.misreads);
        assert!(
            mended.plan.wires.len() == 3 && mended.text.contains("4 AWG\n\n  # its way back\n  back"),
            "{}",
            mended.text
        );
        assert_eq!(mended.plan.wires["last"].note.as_deref(), Some("in two\nlines\n"));
        // Between brackets there are no lines to indent.
        let within = read("{plan: 1, wires: , feed: {size: 4 AWG}, back: {size: 4 AWG}}\n".into()).misreads;
        assert_eq!((within.len(), within[0].meant.as_deref()), (1, None), "{within:?}");
    }

    /// A step is one thing to do, and a note.
    #[test]
    fn a_step_with_two_keys_is_two_steps_of_which_one_lacks_its_dash() {
        let text = "plan: 1\nsteps:\n  - run: main\n    battery: disconnect\n    note: both\n";
        let misread = read(text.into()).misreads.remove(0);
        assert_eq!(misread.mend, "begin a new item: `- battery: disconnect`");
        let span = misread.span.clone();
        assert_eq!((&text[span.clone()], misread.meant.as_deref()), ("  battery", Some("- battery")));
        let mended = read(format!("{}- battery{}", &text[..span.start], &text[span.end..]));
        assert!(mended.misreads.is_empty() && mended.plan.steps.len() == 2, "{:?}", mended.misreads);
        let within = read("plan: 1\nsteps: [{run: main, connect: amp}]\n".into()).misreads;
        assert_eq!((within.len(), within[0].meant.as_deref()), (1, None), "{within:?}");
        assert!(read("plan: 1\nsteps: [{note: mind the trim, run: main}]\n".into()).misreads.is_empty());
    }

    #[test]
    fn a_value_of_another_type_says_how_it_is_written() {
        for (line, mend) in [
            ("amplifiers: {amp: {onboard_fuses: 20 A}}", "write `[20 A]`"),
            ("amplifiers: {amp: {rated: 75 W at 4 ohm}}", "write `[{load: 4 ohm, power: 75 W}]`"),
            (
                "wires: {main: {fuse: 20 A blade}}",
                "write what is known of it by keys, like `{form: \u{2026}, rating: \u{2026}}`",
            ),
            ("steps: [{run: [main, return]}]", "write each for itself: `run: main` and `run: return`"),
            ("drivers: both of them", "write each by its name, with a colon"),
        ] {
            assert_eq!(read(format!("plan: 1\n{line}\n")).misreads[0].mend, mend, "{line}");
        }
        // What stands in lines of its own is told, and not written over.
        let block = read("plan: 1\namplifiers:\n  amp:\n    operating_voltage:\n      - 9 V\n      - 16 V\n".into());
        assert_eq!((block.misreads[0].mend.as_str(), &block.misreads[0].meant), ("write `9 V .. 16 V`", &None));
    }

    #[test]
    fn a_day_is_read_as_a_day() {
        let text = "plan: 1\nwaivers: [{until: 30.6.2027}]\n";
        let misread = &read(text.into()).misreads[0];
        assert!(misread.what.contains("2027-06-30"), "{}", misread.what);
        assert_eq!(&text[misread.span.clone()], "30.6.2027");
        assert!(read("plan: 1\nwaivers: [{until: 2027-06-30}]\n".into()).misreads.is_empty());
    }

    /// What was found where, with what was probably meant.
    #[test]
    fn slips_of_the_trade_say_what_a_plan_writes() {
        for (line, what, meant) in [
            ("wires: {main: {size: 4\u{a0}AWG}}", "hard space", Some("4 AWG")),
            ("wires: {main: {size: \u{201c}4 AWG\u{201d}}}", "quotation marks", Some("4 AWG")),
            ("wires: {main: {size: 21 mm²}}", "`21 mm2`", Some("21 mm2")),
            ("wires: {main: {size: 4 gauge}}", "`4 AWG`", Some("4 AWG")),
            ("wires: {main: {conductor: CCA}}", "copper-clad-aluminium", Some("copper-clad-aluminium")),
            ("wires: {main: {conductor: OFC}}", "`copper`", Some("copper")),
            ("vehicle: {battery: {kind: EFB}}", "enhanced-flooded", Some("enhanced-flooded")),
            ("wires: {main: {path: [boot]}}", "`cargo`", Some("cargo")),
            ("wires: {main: {ends: {from: {stud: M8}}}}", "`8 mm`", Some("8 mm")),
            ("vehicle: {alternator: {voltage: 12.2 V .. 15 V}}", "one value belongs here", None),
            // A comma before three digits may part thousands or decimals.
            ("wires: {main: {fuse: {breaking_capacity: 1,000 A}}}", "write `1000 A` or `1.0 A`", None),
            ("wires: {main: {length: \"1,250 mm\"}}", "write `1250 mm` or `1.25 mm`", None),
            ("wires: {main: {fuse: {breaking_capacity: 1,000,000 A}}}", "write `1000000 A`", Some("1000000 A")),
            ("wires: {main: {fuse: {rating: 1 000 A}}}", "a space among its digits; write `1000 A`", None),
            ("wires: {main: {fuse: {rating: 1_000 A}}}", "write `1000 A`", Some("1000 A")),
            ("wires: {main: {fuse: {rating: 1'000 A}}}", "write `1000 A`", Some("1000 A")),
            ("amplifiers: {amp: {efficiency: 100.5 %}}", "above 100 %; a share cannot be", None),
            ("amplifiers: {amp: {channels: 0}}", "the limit is 1", None),
            ("amplifiers: {amp: {operating_voltage: [9 V, 16 V]}}", "a list stands", Some("9 V .. 16 V")),
            ("amplifiers: {amp: {onboard_fuses: 20 A}}", "a list like", None),
            ("wires: {main: {path: \"under-seat, dash\"}}", "a list like", Some("[under-seat, dash]")),
            ("loads: {l: {outputs: 1}}", "a list like", Some("[1]")),
            ("turn_on: {r: {to: amp.remote}}", "a list like", Some("[amp.remote]")),
            ("amplifiers: {amp: {rated: 75 W at 4 ohm}}", "a list like", None),
            ("vehicle: {stop_start: no}", "true or false belongs", Some("false")),
            ("wires: {main: {fuse: {holder: {sealed: yes}}}}", "true or false belongs", Some("true")),
            ("loads: {l: {lead: {size: 1/0}}}", "`1/0 AWG`", Some("1/0 AWG")),
            ("mounts: {amp: {fasteners: {thread: 8 mm}}}", "`M8`", Some("M8")),
            ("steps: [run main]", "a group of keys", Some("run: main")),
            ("loads: {l: {coils: series big.1 big.2}}", "{series: [big.1, big.2]}", Some("{series: [big.1, big.2]}")),
            ("loads: {l: {coils: all of them}}", "is not a coil", None),
            ("waivers: [{until: 2027-6-30}]", "2027-06-30", Some("2027-06-30")),
            ("waivers: [{until: 30/6/2027}]", "2027-06-30", Some("2027-06-30")),
            ("waivers: [{until: 5.6.2027}]", "is not a day", None),
            ("wires: {main: {length: 0,500 m}}", "has a comma", Some("0.500 m")),
            ("wires: {main: {length: 3'6\"}}", "write `3.5 ft`", Some("3.5 ft")),
            ("drivers: {sub: {size: 6 1/2 inches}}", "`6 1/2 in`", Some("6 1/2 in")),
            ("amplifiers: {amp: {operating_voltage: 9-16 V}}", "write `9 V .. 16 V`", Some("9 V .. 16 V")),
            ("amplifiers: {amp: {operating_voltage: 16 V .. 9 V}}", "larger end to the smaller", Some("9 V .. 16 V")),
            ("amplifiers: {amp: {inputs: {line: 5 V .. 200 mV}}}", "larger end to the smaller", Some("200 mV .. 5 V")),
            (
                "amplifiers: {amp: {operating_voltage: 12 V}}",
                "both ends with `..` between them, like `10 V .. 16 V`",
                None,
            ),
            ("drivers: {sub: {coils: 2x4 ohm}}", "a list", Some("[4 ohm, 4 ohm]")),
        ] {
            let misreads = read(format!("plan: 1\n{line}\n")).misreads;
            assert_eq!((misreads.len(), misreads[0].meant.as_deref()), (1, meant), "{line}: {misreads:?}");
            assert!(misreads[0].what.contains(what), "{line}: {}", misreads[0].what);
        }
    }
}
