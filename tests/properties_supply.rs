//! What holds for the verdicts on any plan: better facts never make one worse, knowing more never turns one, and the unit
//! in which a fact is written does not matter.

#[path = "common/cases.rs"]
mod cases;

use std::collections::BTreeMap;

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use testlamp::house::House;
use testlamp::judge::{Check, Outcome, Rule, judge};
use testlamp::{plan, rules};

/// A fact that a plan need not state: its section, its key, the range that the house assumes of it, its unit.
struct Fact {
    section: &'static str,
    key: &'static str,
    range: (f64, f64),
    unit: &'static str,
}

const fn fact(section: &'static str, key: &'static str, low: f64, high: f64, unit: &'static str) -> Fact {
    Fact { section, key, range: (low, high), unit }
}

/// Rating of the fuse in every plan here.
const FUSE: f64 = 60.0;

/// The ranges are those of `house::Assumptions`, spelt out: a range that is changed there and not here fails the test
/// that narrows, or narrows less.
const FACTS: [Fact; 20] = [
    fact("vehicle", "body_resistance", 0.5, 2.0, "mohm"),
    fact("battery", "internal_resistance", 150.0, 800.0, "mohm Ah"),
    fact("battery", "rest_voltage", 12.5, 12.8, "V"),
    fact("battery", "kind", 0.0, 1.0, "flooded/agm"),
    fact("alternator", "at_idle", 0.40, 0.65, "of the rated output"),
    fact("alternator", "voltage", 13.8, 14.5, "V"),
    fact("alternator", "control", 0.0, 1.0, "fixed/ecu"),
    fact("alternator", "cable_resistance", 0.5, 2.0, "mohm"),
    fact("factory", "running", 25.0, 60.0, "A"),
    fact("factory", "key_off", 10.0, 50.0, "mA"),
    fact("amplifier", "efficiency", 75.0, 88.0, "%"),
    fact("amplifier", "idle_current", 300.0, 1500.0, "mA"),
    fact("amplifier", "off_current", 0.0, 5.0, "mA"),
    fact("amplifier", "remote_current", 5.0, 30.0, "mA"),
    fact("main", "conductor", 0.0, 1.0, "copper/copper-clad-aluminium"),
    fact("main", "insulation", 60.0, 105.0, "C"),
    fact("main", "joint_resistance", 0.05, 0.25, "mohm"),
    fact("fuse", "resistance", 60.0 / FUSE, 110.0 / FUSE, "mohm"),
    fact("fuse", "breaking_capacity", 1.0, 2.0, "kA"),
    fact("ground", "joint_resistance", 0.05, 0.25, "mohm"),
];

impl Fact {
    /// The fact as a plan states it, at a place in its range from 0 to 1, beside an alternator of this output.
    fn at(&self, part: f64, rated: f64, capacity: f64) -> String {
        let value = self.range.0 + (self.range.1 - self.range.0) * part;
        let key = self.key;
        match self.unit.split_once('/') {
            Some((one, other)) => format!("{key}: {}", if value < 0.5 { one } else { other }),
            None if self.key == "at_idle" => format!("{key}: {:.6} A", value * rated),
            // What is assumed of a battery goes by its capacity.
            None if self.key == "internal_resistance" => format!("{key}: {:.6} mohm", value / capacity),
            None => format!("{key}: {value:.6} {}", self.unit),
        }
    }
}

/// A plan with one amplifier.
#[derive(Debug, Clone)]
struct Job {
    /// Place of the feed's size in `SIZES`.
    size: usize,
    /// Length of the feed in m.
    length: f64,
    /// Whether the feed runs through the engine bay.
    hot: bool,
    /// Impedance of the one coil in ohm, between the rated loads of 2 and 4 ohm.
    ohms: f64,
    /// Rated power at 2 ohm in W; a little more than half of it at 4 ohm.
    power: f64,
    /// Capacity of the battery in Ah.
    capacity: f64,
    /// Rated output of the alternator in A.
    rated: f64,
    /// Lowest operating voltage of the amplifier in V.
    least: f64,
    /// The facts that are stated, by their place in `FACTS`.
    stated: BTreeMap<usize, f64>,
}

const SIZES: [&str; 7] = ["10 AWG", "8 AWG", "6 AWG", "4 AWG", "2 AWG", "1/0 AWG", "4/0 AWG"];

impl Job {
    fn facts(&self, section: &str) -> String {
        let stated = self.stated.iter().filter(|(at, _)| FACTS[**at].section == section);
        let stated: Vec<String> =
            stated.map(|(at, part)| format!(", {}", FACTS[*at].at(*part, self.rated, self.capacity))).collect();
        stated.concat()
    }

    fn text(&self) -> String {
        let of = |section| self.facts(section);
        let Self { length, ohms, power, capacity, rated, least, .. } = self;
        let weaker = power * 0.55;
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, battery: {{capacity: {capacity:.3} Ah{}}}, \
             alternator: {{rated: {rated:.3} A{}}}, factory_load: {{{}}}{}}}\n\
             amplifiers:\n  amp: {{location: cargo, class: D, channels: 1, operating_voltage: {least:.3} V .. 16 V, \
             rated: [{{load: 4 ohm, power: {weaker:.3} W}}, {{load: 2 ohm, power: {power:.3} W}}]{}}}\n\
             drivers: {{sub: {{kind: subwoofer, rms: 500 W, coils: [{ohms:.3} ohm]}}}}\n\
             loads: {{bass: {{amplifier: amp, outputs: [1], coils: sub.1}}}}\n\
             turn_on: {{remote: {{from: {{kind: accessory, spare: 1 A}}, to: [amp.remote]}}}}\n\
             grounds: {{floor: {{on: body-sheet{}}}}}\nwires:\n  \
             main: {{from: battery.positive, to: amp.power, size: {}, length: {length:.4} m, path: [{}]{}, \
             fuse: {{form: bolt-down, rating: {FUSE} A, distance: 20 cm{}}}}}\n  \
             return: {{from: amp.ground, to: grounds.floor, size: 4 AWG, conductor: copper, insulation: 105 C, \
             length: 40 cm, path: [cargo]}}\n",
            of("battery"),
            of("alternator"),
            of("factory").trim_start_matches(", "),
            of("vehicle"),
            of("amplifier"),
            of("ground"),
            SIZES[self.size],
            if self.hot { "engine-bay, cargo" } else { "left-sill, cargo" },
            of("main"),
            of("fuse"),
        )
    }
}

/// Any plan of this kind in which each fact is stated or not.
fn job() -> impl Strategy<Value = Job> {
    let facts = proptest::collection::vec(proptest::option::weighted(0.7, 0.0..=1.0), FACTS.len());
    let gear = (2.0..4.0, 100.0..1800.0, 9.5..12.2);
    let vehicle = (8.0..100.0, 60.0..150.0);
    let feed = (0..SIZES.len(), 1.0..8.0, any::<bool>());
    (feed, gear, vehicle, facts).prop_map(|((size, length, hot), (ohms, power, least), (capacity, rated), facts)| {
        let stated = facts.into_iter().enumerate().filter_map(|(at, part)| Some((at, part?))).collect();
        Job { size, length, hot, ohms, power, capacity, rated, least, stated }
    })
}

/// All checks of a plan by these rules, by rule and subject.
fn judged(text: &str, rules: &[&'static Rule]) -> BTreeMap<(&'static str, String), Check> {
    let reading = plan::read(text.to_owned());
    assert!(reading.misreads.is_empty(), "{:?}\n{text}", reading.misreads);
    let judgement = judge(&reading, &House::default(), rules);
    judgement.checks.into_iter().map(|check| ((check.rule.code, check.subject.path()), check)).collect()
}

fn supply() -> Vec<&'static Rule> {
    rules::supply::FAMILY.rules.iter().collect()
}

/// From worst to best. What a rule has nothing to say about is neither.
fn rank(outcome: Outcome) -> Option<u8> {
    match outcome {
        Outcome::Fail => Some(0),
        Outcome::Open => Some(1),
        Outcome::Pass => Some(2),
        Outcome::NotApplicable => None,
    }
}

/// No verdict on the supply is worse with the better plan. Where the worse one may have no operating point, SUPPLY-04 says
/// so and the others have no numbers yet: only that one is compared.
fn never_worse(better: &Job, worse: &Job) -> Result<(), TestCaseError> {
    let (after, before) = (judged(&better.text(), &supply()), judged(&worse.text(), &supply()));
    let works = before[&("SUPPLY-04", "job".to_owned())].outcome == Outcome::Pass;
    for (key, before) in before.into_iter().filter(|(key, _)| works || key.0 == "SUPPLY-04") {
        let now = &after[&key];
        if let (Some(before), Some(now)) = (rank(before.outcome), rank(now.outcome)) {
            prop_assert!(now >= before, "{key:?} got worse from\n{}\nto\n{}", worse.text(), better.text());
        }
    }
    Ok(())
}

fn config(few: u32, seed: u64) -> ProptestConfig {
    ProptestConfig { rng_seed: RngSeed::Fixed(seed), ..cases::cases(few) }
}

proptest! {
    #![proptest_config(config(24, 2))]

    #[test]
    fn a_thicker_shorter_cooler_feed_never_makes_the_supply_worse(
        job in job(), size in 0..SIZES.len(), shorter in 0.2..1.0,
    ) {
        let better = Job { size: size.max(job.size), length: job.length * shorter, hot: false, ..job.clone() };
        never_worse(&better, &job)?;
    }

    #[test]
    fn a_smaller_load_never_makes_the_supply_worse(job in job(), part in 0.0..1.0) {
        let smaller = Job { ohms: job.ohms + (4.0 - job.ohms) * part, ..job.clone() };
        never_worse(&smaller, &job)?;
    }
}

proptest! {
    #![proptest_config(config(24, 3))]

    /// Facts stated within their ranges leave every verdict of every rule as it was: what failed fails, and what passed
    /// passes, unless the rule has nothing more to say (of a fixed regulator).
    #[test]
    fn knowing_more_never_turns_a_verdict(
        job in job(), more in proptest::collection::vec(proptest::option::weighted(0.6, 0.0..=1.0), FACTS.len()),
    ) {
        let mut known = job.clone();
        for (at, part) in more.into_iter().enumerate() {
            if let Some(part) = part {
                known.stated.entry(at).or_insert(part);
            }
        }
        let after = judged(&known.text(), &rules::all());
        for (key, before) in judged(&job.text(), &rules::all()) {
            let now = after.get(&key).map_or(Outcome::NotApplicable, |check| check.outcome);
            let holds = match before.outcome {
                Outcome::Pass => matches!(now, Outcome::Pass | Outcome::NotApplicable),
                Outcome::Fail => now == Outcome::Fail,
                Outcome::Open | Outcome::NotApplicable => true,
            };
            prop_assert!(holds, "{key:?}: {:?}, then {now:?}, from\n{}\nto\n{}", before.outcome, job.text(), known.text());
        }
    }
}

/// Ways to write a length of so many metres, and so on. The factors are those of the units' definitions.
fn spellings(job: &Job) -> [String; 2] {
    let feet = job.length / 0.3048;
    let metric = job.text();
    let length = format!("length: {:.4} m", job.length);
    let other = metric
        .replace(&length, &format!("length: {feet:.12} ft"))
        .replace("rating: 60 A", "rating: 0.06 kA")
        .replace("distance: 20 cm", "distance: 0.2 m")
        .replace("length: 40 cm", "length: 400 mm")
        .replace("insulation: 105 C", "insulation: 221 F")
        .replace("rms: 500 W", "rms: 0.5 kW")
        .replace("spare: 1 A", "spare: 1000 mA");
    [metric.replace(&length, &format!("length: {:.12} m", job.length)), other]
}

proptest! {
    #![proptest_config(config(12, 4))]

    /// 17 ft are 5.1816 m, 221 F are 105 C: every rule says the same and finds the same number.
    #[test]
    fn the_unit_of_a_fact_does_not_matter(job in job()) {
        let [one, other] = spellings(&job);
        prop_assert!(other.contains(" ft") && other.contains("221 F") && !other.contains(" cm"));
        let (one, other) = (judged(&one, &rules::all()), judged(&other, &rules::all()));
        prop_assert_eq!(one.keys().collect::<Vec<_>>(), other.keys().collect::<Vec<_>>());
        for (key, check) in &one {
            let also = &other[key];
            prop_assert_eq!(check.outcome, also.outcome, "{:?}", key);
            let ends = |check: &Check| check.working.as_ref().map(|working| (working.result.low, working.result.high));
            if let (Some(one), Some(other)) = (ends(check), ends(also)) {
                let near = |one: f64, other: f64| one == other || (one - other).abs() <= 1e-6 * one.abs().max(other.abs());
                prop_assert!(near(one.0, other.0) && near(one.1, other.1), "{:?}: {:?} {:?}", key, one, other);
            }
        }
    }
}
