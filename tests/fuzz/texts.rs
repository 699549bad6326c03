//! What holds of any bytes that are read as a plan: in its tree, in every report, when it is mended and on its sheet.
#![allow(dead_code, reason = "each target is one of these")]

use std::collections::{BTreeMap, HashSet};
use std::ops::Range;

use roxmltree::{Document, Node};
use serde_json::Value;
use testlamp::house::House;
use testlamp::judge::{Judgement, Made, Severity, Sizing, Tier, Wanted, judge, may_be_offered, mend, sizes};
use testlamp::plan::{self, Reading};
use testlamp::report::{
    Github, Json, Judged, Junit, Markdown, Paper, Printer, Sarif, Short, Summary, Terminal, evidence, plan_report,
};
use testlamp::rules;
use testlamp::sheet::View;
use testlamp::solve::Job;
use testlamp::text::{self, Kind, Limits, NodeId, Tree, comments};
use testlamp::words::is_unsafe;

/// The tree of a text lies inside it, and says what another reader reads.
///
/// # Panics
/// When it does not.
pub fn parse(bytes: &[u8]) {
    let Ok(text) = text::decode(bytes.to_vec()) else { return };
    let (tree, misreads) = text::parse(&text, Limits::default());
    let inside = |span: &Range<usize>, what: &str| {
        assert!(text.get(span.clone()).is_some(), "{what} at {span:?} lies outside the text or splits a character");
    };
    for misread in &misreads {
        inside(&misread.span, &misread.what);
    }
    for (path, node) in nodes(&tree) {
        inside(&tree.span(node), &path);
        if let Some(map) = tree.map(node) {
            for entry in map.entries() {
                inside(&entry.key_span, &entry.key);
                inside(&entry.used_at, &entry.key);
                assert!(map.get(&entry.key).is_some_and(|found| found.value == entry.value), "{path}: {}", entry.key);
            }
        }
    }
    for misread in &plan::read(text.clone()).misreads {
        inside(&misread.span, &misread.what);
    }
    assert!(comments(&text, &tree).iter().all(|comment| comment.starts_with('#')));
    let is_named =
        |node: &NodeId| tree.map(*node).is_none_or(|map| map.entries().iter().all(|e| !e.key_span.is_empty()));
    let are_named = nodes(&tree).iter().all(|(_, node)| is_named(node));
    // A block of words alone, written at the margin, is no plan.
    let has_keys = tree.root().is_some_and(|root| tree.map(root).is_some());
    if misreads.is_empty() && has_keys && are_named && is_read_by_both_in_one_way(&text) {
        let own = tree.root().map_or(Value::Null, |root| tree.to_json(root));
        if let Ok(other) = serde_yaml::from_str::<Value>(&text) {
            assert!(is_same(&own, &other), "two readers differ: {own} and {other}");
        }
    }
}

/// Where the other reader keeps to an older YAML, or knows more of it than a plan needs, they may differ.
fn is_read_by_both_in_one_way(text: &str) -> bool {
    // Tags, merge keys, keys behind a question mark, what may follow the name of an anchor; line breaks of YAML 1.1; numbers that JSON does not have.
    let own_way = ["!", "?", "&", "*", "<<", "%", "\u{85}", "\u{2028}", "\u{2029}", "\u{feff}", ".nan", ".inf"];
    let lower = text.to_lowercase();
    // A block that ends with the text has an end of line to one of them.
    text.ends_with('\n') && own_way.iter().all(|words| !lower.contains(words))
}

/// Whether two readers found the same. `01` is a number in YAML 1.2 and words to the other reader, `0b1` the other way
/// round.
fn is_same(own: &Value, other: &Value) -> bool {
    match (own, other) {
        (Value::Array(own), Value::Array(other)) => {
            own.len() == other.len() && own.iter().zip(other).all(|(own, other)| is_same(own, other))
        }
        (Value::Object(own), Value::Object(other)) => {
            own.len() == other.len()
                && own.iter().all(|(key, own)| other.get(key).is_some_and(|other| is_same(own, other)))
        }
        // So many digits are one number to one reader and another to the other, as exact as each can be.
        (Value::Number(own), Value::Number(other)) => own == other || own.as_f64() == other.as_f64(),
        (Value::String(words), Value::Number(_)) => words.trim_start_matches(['-', '+']).starts_with("0b"),
        (Value::Number(_), Value::String(words)) => words.trim_start_matches(['-', '+']).starts_with('0'),
        _ => own == other,
    }
}

/// Every node with its path; what stands below an alias once.
fn nodes(tree: &Tree) -> Vec<(String, NodeId)> {
    let mut open: Vec<(String, NodeId)> = tree.root().map(|root| (String::new(), root)).into_iter().collect();
    let (mut found, mut seen) = (Vec::new(), HashSet::new());
    while let Some((path, node)) = open.pop() {
        if !seen.insert(node) {
            continue;
        }
        match tree.kind(node) {
            Kind::Map(map) => {
                open.extend(map.entries().iter().map(|entry| (format!("{path}.{}", entry.key), entry.value)));
            }
            Kind::Seq(items) => open.extend(items.iter().enumerate().map(|(at, item)| (format!("{path}.{at}"), *item))),
            Kind::Scalar { .. } => {}
        }
        found.push((path, node));
    }
    found
}

/// A plan as the command line reads it, and what is found in it.
fn judged(bytes: &[u8]) -> (Reading, Judgement) {
    let reading = match text::decode(bytes.to_vec()) {
        Ok(text) => plan::read(text),
        Err(slip) => {
            let (text, misread) = *slip;
            Reading { text, misreads: vec![misread], ..Reading::default() }
        }
    };
    let is_plan = reading.tree.node("plan").is_some();
    let judgement = if is_plan { judge(&reading, &House::default(), &rules::all()) } else { Judgement::default() };
    for check in &judgement.checks {
        assert!(!check.broke, "{} broke down on {}", check.rule.code, check.subject);
    }
    (reading, judgement)
}

/// Every report of a plan can be printed, is read by what it is for, and points into the text.
///
/// # Panics
/// When one does not.
pub fn check(bytes: &[u8]) {
    let (reading, judgement) = judged(bytes);
    let mut report = plan_report("a.yaml", &reading, &judgement);
    report.evidence = Some(evidence(&reading, &judgement, &House::default(), &rules::all()));
    for unreadable in &report.unreadable {
        assert!(!unreadable.what.contains("invalid type"), "words of the machinery: {}", unreadable.what);
    }
    assert!(reading.tree.node("plan").is_some() || !report.unreadable.is_empty(), "passed over in silence");
    let plan = Judged { report, text: reading.text };
    let print = |printer: &mut dyn Printer| {
        let mut out = Vec::new();
        let summary = Summary { plans: 1, counts: plan.report.counts, ..Summary::default() };
        printer.begin(&mut out).expect("memory");
        printer.plan(&mut out, &plan).expect("memory");
        printer.end(&mut out, &[], &summary).expect("memory");
        let out = String::from_utf8(out).expect("UTF-8");
        let bad: Vec<char> = out.chars().filter(|c| *c != '\n' && is_unsafe(*c)).collect();
        assert!(bad.is_empty(), "{bad:?} in {out}");
        out
    };
    for paper in [Paper::default(), Paper { width: 40, unicode: true, ..Paper::default() }] {
        print(&mut Terminal::new(paper));
    }
    print(&mut Short { paper: Paper::default() });
    print(&mut Github::new(Paper::default()));
    print(&mut Markdown::default());
    let json = serde_json::from_str(&print(&mut Json::default())).expect("JSON");
    inside(&json, &plan.text);
    let sarif: Value = serde_json::from_str(&print(&mut Sarif::default())).expect("JSON");
    assert!(sarif.pointer("/runs/0/results").is_some_and(Value::is_array));
    Document::parse(&print(&mut Junit::default())).expect("XML");
}

/// Every place of a report lies inside the text, on the first byte of a character.
fn inside(report: &Value, text: &str) {
    match report {
        Value::Array(items) => items.iter().for_each(|item| inside(item, text)),
        Value::Object(map) => {
            if let (Some(start), Some(end)) = (map.get("start"), map.get("end")) {
                let at = |place: &Value| usize::try_from(place.as_u64().expect("a number")).expect("a place");
                assert!(text.get(at(start)..at(end)).is_some(), "{start}..{end} is no part of the text");
            }
            map.values().for_each(|value| inside(value, text));
        }
        _ => {}
    }
}

/// Fixes keep every comment and every fact, bring no danger, are what they say they are, and done twice do nothing more.
///
/// # Panics
/// When they do not.
pub fn fix(bytes: &[u8]) {
    let (before, judgement) = judged(bytes);
    // As the command line does: nothing is mended in what is no plan.
    if before.tree.node("plan").is_none() || before.text.as_bytes() != bytes {
        return;
    }
    for tier in [Tier::Safe, Tier::Offered] {
        let (after, made) = mended(&before, tier);
        let by_hand = made.iter().fold(before.text.clone(), |text, made| made.fix.edit.apply(&text));
        assert_eq!(by_hand, after.text, "the changes that are told are not those that were made");
        keeps(&before, &after);
        let dangers =
            |judgement: &Judgement| judgement.failed().filter(|check| check.severity == Severity::Danger).count();
        if before.misreads.is_empty() && !made.is_empty() {
            let now = judge(&after, &House::default(), &rules::all());
            assert!(dangers(&now) <= dangers(&judgement), "a danger more:\n{}", after.text);
        }
        if made.len() < 100 {
            let (again, made) = mended(&after, tier);
            assert!(made.is_empty() && again.text == after.text, "done twice: {made:?}\n{}", again.text);
        }
    }
    choose(&before);
}

fn mended(reading: &Reading, tier: Tier) -> (Reading, Vec<Made>) {
    mend(reading, &House::default(), &rules::all(), &Wanted { tier, check: &|_| true, unreadable: true })
}

/// Sections that state facts of the vehicle and the gear, and what was measured.
const FACTS: [&str; 7] =
    [".vehicle.", ".amplifiers.", ".drivers.", ".sources.", ".converters.", ".isolators.", ".measured."];

/// Comments and facts are all there.
fn keeps(before: &Reading, after: &Reading) {
    let remarks = |reading: &Reading| {
        let mut found: Vec<String> = comments(&reading.text, &reading.tree).into_iter().map(str::to_owned).collect();
        found.sort();
        found
    };
    assert_eq!(remarks(after), remarks(before), "a comment is lost:\n{}", after.text);
    if before.misreads.is_empty() {
        let now = values(after);
        for (path, value) in values(before).iter().filter(|(path, _)| FACTS.iter().any(|fact| path.starts_with(fact))) {
            let is_kept = now.get(path) == Some(value) || may_be_offered(path.trim_start_matches('.'));
            assert!(is_kept, "{path} was {value} and is {:?}", now.get(path));
        }
    }
}

/// Every single value by its path.
fn values(reading: &Reading) -> BTreeMap<String, String> {
    let single = |(path, node)| reading.tree.text(node).map(|text| (path, text.to_owned()));
    nodes(&reading.tree).into_iter().filter_map(single).collect()
}

/// Sizes are chosen once, and nothing else is touched. Only of small plans, where that is quick.
fn choose(before: &Reading) {
    if !before.misreads.is_empty() || before.plan.wires.len() > 2 || before.text.len() > 1500 {
        return;
    }
    let (local, network) = rules::of_sizes();
    let sizes = |reading: &Reading| {
        sizes(reading, &House::default(), Sizing { local: &local, network: &network }, &rules::all())
    };
    let chosen = sizes(before);
    let edited = chosen.edit.as_ref().map_or_else(|| before.text.clone(), |edit| edit.apply(&before.text));
    assert_eq!(edited, chosen.reading.text);
    keeps(before, &chosen.reading);
    assert_eq!(sizes(&chosen.reading).reading.text, edited, "chosen twice");
}

/// The sheet of a plan is whole, is reached from nowhere and reaches nowhere, and holds no code.
///
/// # Panics
/// When it does not.
pub fn sheet(bytes: &[u8]) {
    let (reading, judgement) = judged(bytes);
    let house = House::default();
    let report = plan_report("a.yaml", &reading, &judgement);
    let job = Job::new(&reading.plan, &house);
    let view = View { reading: &reading, house: &house, job: &job, judgement: &judgement, report: &report };
    let page = testlamp::sheet::sheet(&view);
    let closed = page.strip_prefix("<!DOCTYPE html>").expect("a doctype");
    // The only elements without an end.
    let mut parts = closed.split("<meta ");
    let first = parts.next().unwrap_or_default().to_owned();
    let closed = parts.fold(first, |closed, part| closed + "<meta " + &part.replacen('>', "/>", 1));
    let closed = closed.replace("<wbr>", "<wbr/>");
    let document = Document::parse(&closed).unwrap_or_else(|error| panic!("{error}\n{page}"));
    let mut ids = HashSet::new();
    for node in document.descendants().filter(Node::is_element) {
        let name = node.tag_name().name();
        assert!(!["script", "link", "img", "iframe", "object", "embed", "base", "form"].contains(&name), "{name}");
        for attribute in node.attributes() {
            let (name, value) = (attribute.name(), attribute.value());
            assert!(!name.starts_with("on") && !["src", "srcset", "style", "action"].contains(&name), "{name}");
            assert!(name != "href" || value.starts_with('#'), "{value}");
        }
        let id = node.attribute("id");
        assert!(id.is_none_or(|id| ids.insert(id.to_owned())), "two things are called {id:?}");
    }
    for link in document.descendants().filter_map(|node| node.attribute("href")?.strip_prefix('#')) {
        assert!(ids.contains(link), "{link} leads nowhere");
    }
    let lower = reading.text.to_lowercase();
    let is_said = ["nan", "inf"].iter().any(|word| lower.contains(word));
    assert!(is_said || !(page.contains("NaN") || page.contains(">inf")), "a number that is none");
    assert!(page.chars().all(|c| c == '\n' || !is_unsafe(c)));
}
