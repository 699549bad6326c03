//! The house file: found, read, refused with a place, and what each setting does to verdicts.

mod common;
#[path = "house/decides.rs"]
mod decides;
#[path = "common/files.rs"]
mod files;
#[path = "house/found.rs"]
mod found;
#[path = "house/own_rules.rs"]
mod own_rules;
#[path = "house/refused.rs"]
mod refused;
#[path = "house/shelves.rs"]
mod shelves;
#[path = "house/shown.rs"]
mod shown;

use std::path::Path;

use files::folder;
use testlamp::house::{House, KnownRule};
use testlamp::judge::{Check, Judgement, Rule, judge};
use testlamp::{plan, rules};

fn known() -> Vec<KnownRule> {
    rules::all().into_iter().map(Rule::known).collect()
}

/// A house of these lines, which must be without fault.
fn house(lines: &str) -> House {
    let reading = testlamp::house::read(format!("house: 1\n{lines}\n"), "house.yaml", &known());
    assert!(reading.misreads.is_empty(), "{lines}: {:?}", reading.misreads);
    reading.house
}

/// Each place of a house file that is refused, as its words and what is said of them.
fn refused(text: &str) -> Vec<(String, String)> {
    let reading = testlamp::house::read(text.to_owned(), "house.yaml", &known());
    let told = |m: &testlamp::text::Misread| (text[m.span.clone()].to_owned(), format!("{}; {}", m.what, m.mend));
    reading.misreads.iter().map(told).collect()
}

fn judged(house: &House, text: &str) -> Judgement {
    let reading = plan::read(text.to_owned());
    assert!(reading.misreads.is_empty(), "not a plan: {:?}", reading.misreads);
    judge(&reading, house, &rules::all())
}

fn check(house: &House, text: &str, code: &str, subject: &str) -> Check {
    let judgement = judged(house, text);
    let is_it = |check: &&Check| check.rule.code == code && check.subject.path() == subject;
    judgement.checks.iter().find(is_it).unwrap_or_else(|| panic!("{code} does not judge {subject}")).clone()
}

struct Ran {
    status: i32,
    out: String,
    err: String,
}

fn run(folder: &Path, arguments: &[&str], stdin: &str) -> Ran {
    let (status, out, err) = common::ended(common::program(folder, arguments).write_stdin(stdin));
    for word in ["panicked", "broke down"] {
        assert!(!out.contains(word) && !err.contains(word), "{arguments:?}: {out}{err}");
    }
    Ran { status, out, err }
}

/// A return of 60 cm: too long for what testlamp ships with (18 in), not for 36 in.
const RETURN: &str = "plan: 1\namplifiers: {amp: {}}\ngrounds: {floor: {}}\n\
                      wires: {return: {from: amp.ground, to: grounds.floor, length: 60 cm}}\n";
const LONGER: &str = "house: 1\nlimits: {return-length: {value: 36 in, source: what our vans need}}\n";

/// A ground that works loose: a fault.
const LOOSE: &str =
    "floor: {on: body-sheet, surface: bare-metal, fastener: {kind: bolt, locking: false, shared: false}}";

/// 10 AWG of class 105 C in the engine bay: 60 A at 30 C, 51 A at 50 C (33 CFR 183.425 table 5).
fn fused(rating: &str, keys: &str) -> String {
    format!(
        "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, size: 10 AWG, \
         conductor: copper, path: [engine-bay], {keys}fuse: {{form: bolt-down, rating: {rating}}}}}\n"
    )
}
const GEAR: &str = "shelf: 1\namplifiers:\n  mono-500: {class: D, channels: 1, minimum_load: 2 ohm, rated: [{load: 2 ohm, \
                    power: 500 W}]}\n";
const ONE_OHM: &str = "plan: 1\namplifiers:\n  bass: {shelf: mono-500}\ndrivers: {sub: {kind: subwoofer, coils: [1 ohm]}}\n\
                       loads: {sub: {amplifier: bass, outputs: [1], coils: sub.1}}\n";
