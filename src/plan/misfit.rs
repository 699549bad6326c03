//! The check of a tree against the shape of its format: every misfit at its place, in words.

use std::collections::HashSet;
use std::ops::Range;

use super::cut;
use super::instead::{Instead, how, instead};
use super::kind::Kind;
use super::reference::is_name;
use super::shape::{Count, Names, Shape, Type};
use super::sign::{Sign, of_sign};
use crate::quantity::dimension::Ratio;
use crate::quantity::{Dimension as _, Unread};
use crate::text::{self, Entry, Map, Misread, NodeId, Scalar, Tree};
use crate::words::{self, Meant};

/// So many places that cannot be read are told one by one.
pub(super) const MOST_TOLD: usize = 200;

/// What does not fit, with the node to strike out.
pub(super) type Misfit = (NodeId, Misread);

/// Everything in a tree that does not fit a shape, and what else is to be struck out with it.
pub(super) fn check(shape: &Shape, text: &str, tree: &Tree, root: NodeId) -> (Vec<Misfit>, Vec<NodeId>) {
    let (mut found, mut beside) = (Vec::new(), Vec::new());
    let start = tree.span(root).start;
    Check { text, tree, found: &mut found, beside: &mut beside }.fit(shape, root, start..start);
    (found, beside)
}

struct Check<'a> {
    text: &'a str,
    tree: &'a Tree,
    found: &'a mut Vec<Misfit>,
    /// What is told with something else.
    beside: &'a mut Vec<NodeId>,
}

impl Check<'_> {
    /// One node; `place` are the words that stand for it.
    fn fit(&mut self, shape: &Shape, node: NodeId, place: Range<usize>) {
        // A value left empty is not stated; it has no shape that could be wrong.
        if self.tree.is_null(node) {
            return;
        }
        match (shape, self.tree.kind(node)) {
            (Shape::Group { keys, needs, count }, text::Kind::Map(map)) => {
                if *count == Count::One && map.entries().len() != 1 {
                    let what = format!("{} belongs here, and nothing else", words::either(&ticked(keys)));
                    self.tell(node, place.clone(), what, "");
                }
                for need in needs.iter().filter(|need| map.get(need).is_none()) {
                    self.tell(node, place.clone(), format!("the key `{need}` is missing here"), "");
                }
                self.group(keys, map);
                if let Count::OneWith(beside) = count {
                    self.second(keys, beside, node, map);
                }
            }
            (Shape::Named { names, each }, text::Kind::Map(map)) => {
                for entry in map.entries() {
                    self.name(names, entry);
                    self.fit(each, entry.value, self.tree.words(entry).clone());
                }
            }
            (Shape::List(each), text::Kind::Seq(items)) => {
                // A thing may still be all open; a place in a list of words or numbers is not.
                let may_be_open = matches!(each, Shape::Group { needs, .. } if needs.is_empty());
                for item in items {
                    let place = self.tree.span(*item);
                    if self.tree.is_null(*item) && !may_be_open {
                        let what = "nothing stands at this place of the list".to_owned();
                        self.tell(*item, place, what, "write it, or take its place out of the list");
                    } else {
                        self.fit(each, *item, place);
                    }
                }
            }
            (Shape::Either(ways), _) => self.either(ways, node, &place),
            (Shape::Words { words, .. }, _) if !takes(shape, self.tree, node) => {
                // What could be meant is looked at only where the slip is told.
                let could = if self.found.len() < MOST_TOLD { *words } else { &[] };
                let near = near_word(self.tree, node, could);
                let misread = Misread::new(place, unknown_word(&shown(self.tree, node), words, &near), "");
                let misread = misread.could(could.iter().map(|word| (*word).to_owned()));
                self.found.push((node, misread.meant(near.one().map(str::to_owned))));
            }
            (Shape::Quantity(kind), _) => self.quantity(kind, node, place),
            _ if !takes(shape, self.tree, node) => {
                let what = wrong_type(self.tree, node, shape);
                let misread = if let Some(instead) = instead(shape, self.tree, node) {
                    self.meant_instead(node, Misread::new(place, what, ""), instead)
                } else {
                    let key = self.text.get(place.clone()).unwrap_or_default();
                    let is_flow = self.text.get(self.tree.span(node)).is_some_and(|text| text.starts_with('['));
                    let how = how(shape, self.tree, node, (key, is_flow));
                    let is_yes_no = matches!(shape, Shape::Value { types, .. } if types.contains(&Type::YesNo));
                    let either = ["true", "false"].into_iter().filter(|_| is_yes_no).map(str::to_owned);
                    Misread::new(place, what, how).could(either)
                };
                self.found.push((node, misread));
            }
            (Shape::Version { key, is }, _) if number(self.tree, node) != Some(f64::from(*is)) => {
                let what = format!("{key} format {} is not known to this version", self.tree.to_json(node));
                let is_newer =
                    number(self.tree, node).is_some_and(|number| number > f64::from(*is) && number.fract() == 0.0);
                let mend = if is_newer {
                    format!("this {key} is for a newer version of testlamp: take that; this one reads `{key}: {is}`")
                } else {
                    format!("write `{key}: {is}`")
                };
                self.tell(node, place, what, &mend);
            }
            (Shape::Value { least, most, filled, .. }, _) => self.value(node, place, *least, *most, *filled),
            _ => {}
        }
    }

    fn tell(&mut self, node: NodeId, place: Range<usize>, what: String, mend: &str) {
        self.found.push((node, Misread::new(place, what, mend)));
    }

    /// What may have been meant, in place of all that is written at a node.
    fn meant_instead(&self, node: NodeId, misread: Misread, Instead { words, is_sure }: Instead) -> Misread {
        let misread = Misread { mend: format!("write `{words}`"), ..misread };
        let span = self.tree.span(node);
        // A list of lines of its own is not written over with words.
        if self.tree.elsewhere(node).is_some() || self.text.get(span.clone()).is_none_or(|text| text.contains('\n')) {
            return misread;
        }
        let misread = Misread { span, ..misread };
        if is_sure { misread.meant(Some(words)) } else { misread.could([words]) }
    }

    fn group(&mut self, keys: &[(&str, &Shape)], map: &Map) {
        let shape_of = |key: &str| keys.iter().find(|(known, _)| *known == key).map(|(_, shape)| *shape);
        let cuts = cut::by_commas(self.tree, map, &|key| shape_of(key).is_some());
        self.found.extend(cuts.iter().map(|cut| (cut.value, cut.misread())));
        let behind: HashSet<&str> = cuts.iter().flat_map(|cut| cut.keys.iter().copied()).collect();
        // What is left of a number that a comma has cut need not make sense.
        let broken: HashSet<NodeId> = cuts.iter().filter(|cut| cut.is_number()).map(|cut| cut.value).collect();
        // The last key with nothing behind it that holds things: what is unknown behind it may belong to it.
        let mut left_empty: Option<&Entry> = None;
        let mut lost: Vec<&Entry> = Vec::new();
        for entry in map.entries() {
            let shape = shape_of(&entry.key);
            let belongs = shape.is_none() && left_empty.is_some() && self.tree.map(entry.value).is_some();
            if belongs && !behind.contains(entry.key.as_str()) {
                lost.push(entry);
                continue;
            }
            self.too_far_left(left_empty, &std::mem::take(&mut lost));
            if let Some(shape) = shape {
                let holds = matches!(shape, Shape::Named { .. }) && self.tree.is_null(entry.value);
                left_empty = Some(entry).filter(|_| holds);
            }
            match shape {
                Some(_) if broken.contains(&entry.value) => {}
                Some(shape) => self.fit(shape, entry.value, self.tree.words(entry).clone()),
                None if behind.contains(entry.key.as_str()) => {}
                None => {
                    self.unknown_key(entry, keys.iter().map(|(key, _)| *key));
                    // A key that is there already is not the one that was meant.
                    let told = self.found.last_mut().map(|(_, misread)| misread);
                    if let Some(misread) =
                        told.filter(|told| told.meant.as_ref().is_some_and(|key| map.get(key).is_some()))
                    {
                        misread.meant = None;
                    }
                }
            }
        }
        self.too_far_left(left_empty, &lost);
    }

    /// Things that stand as far left as the section they belong to, one behind the other: all of them are told at once.
    fn too_far_left(&mut self, section: Option<&Entry>, lost: &[&Entry]) {
        let (Some(section), Some((first, others))) = (section, lost.split_first()) else { return };
        let (section, key) = (section.key.as_str(), words::excerpt(&first.key, 40));
        let (what, it) = match others.len() {
            0 => (format!("`{key}` stands too far left to belong to `{section}`"), "it"),
            more => (format!("`{key}` and {more} more behind it stand too far left to belong to `{section}`"), "them"),
        };
        let misread =
            Misread::new(first.key_span.clone(), what, format!("indent {it} by 2 spaces, with everything in {it}"));
        let misread = match self.lines_of(first, lost.last().unwrap_or(first)) {
            Some(span) => {
                let meant = indented(&self.text[span.clone()]);
                Misread { span, ..misread }.meant(Some(meant))
            }
            None => misread,
        };
        self.found.push((first.value, misread));
        self.beside.extend(others.iter().map(|entry| entry.value));
    }

    /// From one key to the end of what another holds, where they stand on lines of their own.
    fn lines_of(&self, first: &Entry, last: &Entry) -> Option<Range<usize>> {
        let (start, value) = (first.key_span.start, self.tree.span(last.value));
        let line = self.text[..start].rfind('\n').map_or(0, |end| end + 1);
        let end = if value.start >= last.key_span.end { value.end } else { last.key_span.end };
        let span = start..start + self.text.get(start..end)?.trim_end().len();
        self.text[line..start].trim().is_empty().then_some(span)
    }

    /// Keys behind the first where one belongs, and `beside`.
    fn second(&mut self, keys: &[(&str, &Shape)], beside: &str, node: NodeId, map: &Map) {
        let is_one = |entry: &&Entry| entry.key != beside && keys.iter().any(|(key, _)| *key == entry.key);
        let mut ones = map.entries().iter().filter(is_one);
        let Some(first) = ones.next() else { return };
        for entry in ones {
            let what = format!("`{}` stands in one item with `{}`", entry.key, first.key);
            let value =
                self.tree.text(entry.value).map_or(String::new(), |text| format!(" {}", words::excerpt(text, 40)));
            let item = format!("- {}:{value}", entry.key);
            let misread = Misread::new(entry.key_span.clone(), what, format!("begin a new item: `{item}`"));
            let misread = misread.also(first.key_span.clone(), "the item begins here");
            self.found.push((entry.value, self.with_dash(entry, node, misread)));
        }
    }

    /// A key that lacks the dash which would make it an item of its own, if that can be put before it.
    fn with_dash(&self, entry: &Entry, item: NodeId, misread: Misread) -> Misread {
        let column = |at: usize| at - self.text[..at].rfind('\n').map_or(0, |end| end + 1);
        let Range { start, end } = entry.key_span;
        let item = self.tree.span(item).start;
        let is_block = self.text[..item].ends_with("- ") && column(item) == column(start);
        if !is_block || !self.text[..start].ends_with("  ") {
            return misread;
        }
        let meant = format!("- {}", &self.text[start..end]);
        Misread { span: start - 2..end, ..misread }.meant(Some(meant))
    }

    fn unknown_key<'k>(&mut self, entry: &Entry, known: impl Iterator<Item = &'k str> + Clone) {
        // The nearest is looked for only where it will be told.
        let limit = if self.found.len() < MOST_TOLD { usize::MAX } else { 0 };
        self.found.push((entry.value, unknown_key(entry, known.take(limit))));
    }

    fn name(&mut self, names: &Names, entry: &Entry) {
        match names {
            Names::Of(Shape::Words { words, .. }) if !words.contains(&entry.key.as_str()) => {
                self.unknown_key(entry, words.iter().copied());
            }
            Names::Plain if !is_name(&entry.key) => {
                let what = format!("`{}` cannot be a name", words::excerpt(&entry.key, 40));
                let mend = "name things with letters, digits and hyphens, like bass-amp";
                self.tell(entry.value, entry.key_span.clone(), what, mend);
            }
            _ => {}
        }
    }

    /// Of the ways a value may be written, the one that the writer seems to have meant.
    fn either(&mut self, ways: &[&Shape], node: NodeId, place: &Range<usize>) {
        let mut tried: Vec<(bool, Vec<Misfit>)> = Vec::new();
        for way in ways {
            let mut found = Vec::new();
            Check { text: self.text, tree: self.tree, found: &mut found, beside: &mut Vec::new() }.fit(
                way,
                node,
                place.clone(),
            );
            if found.is_empty() {
                return;
            }
            tried.push((takes(way, self.tree, node), found));
        }
        let meant = tried.into_iter().min_by_key(|(takes, found)| if *takes { found.len() } else { usize::MAX });
        self.found.extend(meant.into_iter().flat_map(|(_, found)| found));
    }

    fn quantity(&mut self, kind: &'static str, node: NodeId, place: Range<usize>) {
        let Some(unread) = not_read(kind, self.tree, node) else { return };
        if let Some(instead) = instead(&Shape::Quantity(kind), self.tree, node) {
            self.found.push((node, self.meant_instead(node, Misread::new(place, unread.to_string(), ""), instead)));
            return;
        }
        let shown = shown(self.tree, node);
        let states_nothing = !shown.contains(|c: char| c.is_ascii_digit());
        let misread = Misread::new(
            place,
            unread.to_string(),
            if states_nothing && kind != "terminal" { "leave it empty while it is not known" } else { "" },
        );
        let text = text_at(self.tree, node);
        if kind == "terminal" {
            match text.map(|text| of_sign(text, self.tree)) {
                Some(Sign::Terminal(meant)) => {
                    let misread = Misread { mend: format!("write `{meant}`"), ..misread };
                    self.found.push((node, misread.meant(Some(meant))));
                    return;
                }
                Some(Sign::Body) => {
                    let mend = "name the spot under `grounds`, and write it like `grounds.load-floor`".to_owned();
                    self.found.push((node, Misread { mend, ..misread }));
                    return;
                }
                _ => {}
            }
        }
        if let Some(ground) =
            text.filter(|text| kind == "terminal" && self.tree.node(&format!("grounds.{text}")).is_some())
        {
            let meant = format!("grounds.{ground}");
            let misread = Misread { mend: format!("write `{meant}`"), ..misread };
            self.found.push((node, misread.meant(Some(meant))));
            return;
        }
        let misread = misread.could((Kind::of(kind).likely)(shown.trim_matches('`')));
        self.found.push((node, meant_quantity(kind, text.unwrap_or_default(), &unread, misread)));
    }

    fn value(&mut self, node: NodeId, place: Range<usize>, least: Option<f64>, most: Option<f64>, filled: bool) {
        let number = number(self.tree, node);
        let below = least.filter(|least| number.is_some_and(|number| number < *least));
        let above = most.filter(|most| number.is_some_and(|number| number > *most));
        if let Some(limit) = below.or(above) {
            let what = format!("{} does not fit here; the limit is {limit}", shown(self.tree, node));
            self.tell(node, place, what, "");
        } else if filled && text_at(self.tree, node) == Some("") {
            self.tell(node, place, "nothing stands here".into(), "");
        }
    }
}

/// Lines two spaces further in, from the first key on.
fn indented(lines: &str) -> String {
    let further = |line: &str| if line.trim().is_empty() { line.to_owned() } else { format!("  {line}") };
    lines.split('\n').map(further).collect::<Vec<_>>().join("\n")
}

/// Whether a node is of a type that a shape takes.
fn takes(shape: &Shape, tree: &Tree, node: NodeId) -> bool {
    match (shape, tree.kind(node)) {
        (Shape::Group { .. } | Shape::Named { .. }, kind) => matches!(kind, text::Kind::Map(_)),
        (Shape::List(_), kind) => matches!(kind, text::Kind::Seq(_)),
        (Shape::Either(ways), _) => ways.iter().any(|way| takes(way, tree, node)),
        (Shape::Words { words, numbers }, _) => {
            let is_word = text_at(tree, node).is_some_and(|text| words.contains(&text));
            is_word || number(tree, node).is_some_and(|number| numbers.contains(&number))
        }
        (Shape::Quantity(kind), _) => is_of(Type::Text, tree, node) || is_plain_number(kind, tree, node),
        (Shape::Version { .. }, _) => is_of(Type::Number, tree, node),
        (Shape::Value { types, .. }, _) => types.iter().any(|of| is_of(*of, tree, node)),
    }
}

fn is_of(of: Type, tree: &Tree, node: NodeId) -> bool {
    match of {
        Type::Text => text_at(tree, node).is_some(),
        Type::Whole => number(tree, node).is_some_and(|number| number.fract() == 0.0),
        Type::Number => number(tree, node).is_some(),
        Type::YesNo => matches!(tree.scalar(node), Some(Scalar::Bool(_))),
    }
}

/// Whether a bare number stands where one may.
fn is_plain_number(kind: &str, tree: &Tree, node: NodeId) -> bool {
    kind.starts_with(Ratio::NAME) && number(tree, node).is_some()
}

/// Its text, where a schema sees a string. JSON has no number that is not finite: there it is its words.
fn text_at(tree: &Tree, node: NodeId) -> Option<&str> {
    match tree.scalar(node)? {
        Scalar::Text(text) => Some(text),
        Scalar::Float(number) if !number.is_finite() => tree.text(node),
        _ => None,
    }
}

/// Its number, where a schema sees one.
fn number(tree: &Tree, node: NodeId) -> Option<f64> {
    match tree.scalar(node)? {
        #[expect(clippy::cast_precision_loss, reason = "limits and words are small")]
        Scalar::Int(number) => Some(number as f64),
        Scalar::Float(number) if number.is_finite() => Some(number),
        _ => None,
    }
}

/// Why a quantity of a kind cannot be read.
fn not_read(kind: &str, tree: &Tree, node: NodeId) -> Option<Unread> {
    let read = Kind::of(kind).read;
    if let Some(text) = text_at(tree, node) {
        return read(text).err();
    }
    if number(tree, node).is_none() {
        // A coil may also be a group; the shape of groups judges that.
        return Some(Unread::Other(format!("{} stands where a single value belongs", shown(tree, node))));
    }
    let number = tree.to_json(node).to_string();
    let refused = read(&number).err();
    if kind.starts_with(Ratio::NAME) {
        return refused;
    }
    let bare = || Unread::Other(format!("`{number}` is a bare number; a name or a unit belongs here"));
    Some(refused.unwrap_or_else(bare))
}

/// What was probably meant in place of a text that is no such quantity, and the message that says it.
fn meant_quantity(kind: &str, text: &str, unread: &Unread, misread: Misread) -> Misread {
    let Kind { read, respelt, .. } = Kind::of(kind);
    let tick = |text: &str| format!("`{}`", words::excerpt(text, 40));
    if let Some((plain, why)) = words::plainly(text) {
        let meant = if read(&plain).is_ok() { Some(plain) } else { respelt(&plain) };
        if let Some(meant) = meant {
            let what = format!("{} {why}; write `{meant}`", tick(text));
            return Misread { what, mend: String::new(), ..misread }.meant(Some(meant));
        }
    }
    if text.contains("..") && !kind.ends_with("window") && !kind.ends_with("range") {
        let what = format!("{} is a window, and one value belongs here; write the one that holds", tick(text));
        return Misread { what, ..misread };
    }
    let Some(meant) = respelt(text) else { return misread };
    let answer = format!("write `{meant}`");
    // A message that says what is wrong stays; one that only says what is taken gives way to the answer.
    let misread = match unread {
        Unread::Other(_) => {
            Misread { what: format!("{} is not how a plan writes it; {answer}", tick(text)), ..misread }
        }
        Unread::Slip(told) if told.contains(&format!("`{meant}`")) => misread,
        Unread::Slip(_) => Misread { mend: answer, ..misread },
    };
    misread.meant(Some(meant))
}

fn ticked(keys: &[(&str, &Shape)]) -> Vec<String> {
    keys.iter().map(|(key, _)| format!("`{key}`")).collect()
}

fn unknown_key<'k>(entry: &Entry, known: impl Iterator<Item = &'k str> + Clone) -> Misread {
    let what = format!("`{}` is not a key that is known here", words::excerpt(&entry.key, 40));
    let near = words::only_near(&entry.key, known.clone());
    let called: Vec<String> = words::called(&entry.key, known.clone()).iter().map(|key| format!("`{key}`")).collect();
    let mend = match near {
        Some(near) => format!("did you mean `{near}`?"),
        None if known.clone().next().is_none() => String::new(),
        None if !called.is_empty() => format!("a plan says that under {}", words::either(&called)),
        None => format!("known here: {}", words::all(&known.collect::<Vec<_>>())),
    };
    Misread::new(entry.key_span.clone(), what, mend).meant(near.map(str::to_owned))
}

/// The known word nearest to a mistyped one.
fn near_word<'w>(tree: &Tree, node: NodeId, known: &[&'w str]) -> Meant<'w> {
    let Some(text) = text_at(tree, node) else { return Meant::Nothing };
    let plain = words::plainly(text).map(|(plain, _)| plain);
    let text = plain.as_deref().unwrap_or(text);
    // A metric thread is called by its diameter (ISO 261).
    let thread = text.strip_suffix("mm").map(|size| format!("M{}", size.trim()));
    let thread = thread.and_then(|thread| known.iter().copied().find(|known| *known == thread));
    thread.map_or_else(|| words::meant(text, known.iter().copied()), Meant::One)
}

fn unknown_word(found: &str, known: &[&str], near: &Meant<'_>) -> String {
    let choices = words::either(known);
    match near {
        // A long list hides the one word that was meant.
        Meant::One(near) if known.len() > 8 => format!("{found} is not known here; did you mean `{near}`?"),
        Meant::One(near) => format!("{found} is not known here; did you mean `{near}`? Taken: {choices}"),
        Meant::Some(near) if near.len() > 1 => {
            format!("{found} says too little here; write which: {}. Taken: {choices}", words::either(near))
        }
        Meant::Some(near) => {
            format!("{found} says too little here; write {} only if it is that. Taken: {choices}", words::either(near))
        }
        // A voltage that the vehicle does not have must not be written for it.
        Meant::Nothing if known.iter().all(|known| known.ends_with(" V")) => {
            format!("{found} cannot be planned here: testlamp knows vehicles of {choices} and no others")
        }
        Meant::Nothing => format!("{found} is not known here; write {choices}"),
    }
}

fn wrong_type(tree: &Tree, node: NodeId, shape: &Shape) -> String {
    let wanted = match shape {
        Shape::Group { .. } | Shape::Named { .. } => vec!["a group of keys"],
        Shape::List(_) => vec!["a list like [a, b]"],
        Shape::Version { .. } => vec![type_word(Type::Whole)],
        Shape::Value { types, .. } => types.iter().map(|of| type_word(*of)).collect(),
        // These say in words of their own what they take.
        Shape::Words { .. } | Shape::Quantity(_) | Shape::Either(_) => vec!["something else"],
    };
    format!("{} stands where {} belongs", shown(tree, node), words::either(&wanted))
}

fn type_word(of: Type) -> &'static str {
    match of {
        Type::YesNo => "true or false",
        Type::Whole => "a whole number",
        Type::Number => "a number",
        Type::Text => "a word",
    }
}

/// A value as it is named in a message.
fn shown(tree: &Tree, node: NodeId) -> String {
    match tree.kind(node) {
        text::Kind::Map(_) => "a group of keys".into(),
        text::Kind::Seq(_) => "a list".into(),
        text::Kind::Scalar { .. } => match text_at(tree, node) {
            Some(text) => format!("`{}`", words::excerpt(text, 40)),
            None => format!("`{}`", tree.to_json(node)),
        },
    }
}

#[cfg(test)]
mod tests;
