//! What must hold for any tree of coils, any rated points and any sections of an amplifier.

#[path = "common/cases.rs"]
mod cases;

use std::fmt::Write;

use proptest::prelude::*;
use testlamp::house::House;
use testlamp::judge::judge;
use testlamp::plan::{Coil, Coils, RatedPower, Reading, read};
use testlamp::quantity::Quantity;
use testlamp::rules;
use testlamp::solve::arrangements::{self, Arrangement, Unit};
use testlamp::solve::{Job, coils};

/// Room for the last bits of a floating-point number.
const BITS: f64 = 1e-9;

/// A tree over coils that are numbered afterwards.
fn tree() -> impl Strategy<Value = Coils> {
    let leaf = Just(Coils::One(coil(0)));
    leaf.prop_recursive(4, 24, 4, |inner| {
        let parts = proptest::collection::vec(inner, 1..=4);
        (parts, any::<bool>())
            .prop_map(|(parts, series)| if series { Coils::Series(parts) } else { Coils::Parallel(parts) })
    })
}

fn coil(number: usize) -> Coil {
    Coil { driver: format!("d{number}"), number: 1, reversed: false }
}

/// Gives every coil its own name.
fn named(tree: &Coils, next: &mut usize) -> Coils {
    let mut each = |parts: &[Coils]| parts.iter().map(|part| named(part, next)).collect();
    match tree {
        Coils::Series(parts) => Coils::Series(each(parts)),
        Coils::Parallel(parts) => Coils::Parallel(each(parts)),
        Coils::One(_) => {
            *next += 1;
            Coils::One(coil(*next - 1))
        }
    }
}

/// A plan with these coils joined so. It is written and read, so that trees are said as a plan says them.
fn plan(ohms: &[f64], joined: &Coils) -> Reading {
    let mut text = "plan: 1\ndrivers:\n".to_owned();
    for (at, ohms) in ohms.iter().enumerate() {
        writeln!(text, "  d{at}: {{coils: [{ohms} ohm]}}").expect("a line");
    }
    writeln!(text, "loads: {{bass: {{coils: {joined}}}}}").expect("a line");
    let reading = read(text);
    assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
    assert_eq!(reading.plan.loads["bass"].coils.as_ref(), Some(joined), "read as it was written");
    reading
}

/// Ohms with at most four decimals, so that they are written in full.
fn ohms() -> impl Strategy<Value = f64> {
    (1_000_u32..160_000).prop_map(|tenths| f64::from(tenths) / 10_000.0)
}

fn parts(tree: &Coils) -> &[Coils] {
    match tree {
        Coils::One(_) => &[],
        Coils::Series(parts) | Coils::Parallel(parts) => parts,
    }
}

/// In series above the largest part, in parallel below the smallest, all the way down.
fn bounded(job: &Job<'_>, tree: &Coils) -> Result<(), TestCaseError> {
    let ohms = |tree: &Coils| coils::impedance(job, tree).expect("every coil is stated");
    let whole = ohms(tree);
    for part in parts(tree) {
        match tree {
            Coils::Series(_) => prop_assert!(whole >= ohms(part) * (1.0 - BITS), "{tree}"),
            _ => prop_assert!(whole <= ohms(part) * (1.0 + BITS), "{tree}"),
        }
        bounded(job, part)?;
    }
    Ok(())
}

/// Coils of few kinds, so that some are equal, with ratings.
fn units(most: usize) -> impl Strategy<Value = Vec<Unit>> {
    let unit =
        (proptest::sample::select(vec![1.0, 2.0, 4.0, 4.1, 6.0, 8.0]), proptest::sample::select(vec![100.0, 200.0]));
    proptest::collection::vec(unit, 1..=most).prop_map(|list| {
        let unit = |(at, (ohms, rating))| Unit { coil: coil(at), ohms, rating };
        list.into_iter().enumerate().map(unit).collect()
    })
}

/// Every coil once, the impedance of its own tree, and the work of its own shares.
fn sound(units: &[Unit], found: &Arrangement) -> Result<(), TestCaseError> {
    let mut names: Vec<&Coil> = found.coils.each().into_iter().map(|(_, coil)| coil).collect();
    let joined = names.clone();
    names.sort();
    let all: Vec<&Coil> = units.iter().map(|unit| &unit.coil).collect();
    prop_assert_eq!(&names, &all);
    let stated: Vec<f64> = units.iter().map(|unit| unit.ohms).collect();
    let (reading, house) = (plan(&stated, &found.coils), House::default());
    let job = Job::new(&reading.plan, &house);
    let ohms = coils::impedance(&job, &found.coils).expect("every coil is stated");
    prop_assert!((ohms / found.ohms - 1.0).abs() < BITS, "{ohms} {found:?}");
    let rating = |coil: &Coil| units.iter().find(|unit| unit.coil == *coil).expect("a coil of ours").rating;
    let shares = coils::shares(&job, &found.coils).expect("every coil is stated");
    let work: Vec<f64> = shares.iter().zip(joined).map(|(share, coil)| share / rating(coil)).collect();
    let (hardest, least) =
        (work.iter().copied().fold(0.0, f64::max), work.iter().copied().fold(f64::INFINITY, f64::min));
    prop_assert!((hardest / found.hardest - 1.0).abs() < BITS && (least / found.least - 1.0).abs() < BITS, "{found:?}");
    Ok(())
}

/// What an amplifier's maker states, and what hangs on its pairs of outputs.
#[derive(Debug, Clone)]
struct Amp {
    stated: String,
    pairs: Vec<Vec<(&'static str, &'static str)>>,
}

/// Ratings that are complete or not, and pairs of outputs with nothing on them, one load, two or a bridged one.
fn amp() -> impl Strategy<Value = Amp> {
    let of = |key: &'static str, values: &[&'static str]| {
        let values: Vec<String> = values.iter().map(|value| format!("{key}: {value}")).collect();
        proptest::option::weighted(0.8, proptest::sample::select(values))
    };
    let stated = (
        of("class", &["AB", "D", "H"]),
        of("efficiency", &["55 %", "80 %"]),
        of("rated", &["[{load: 4 ohm, power: 75 W}, {load: 2 ohm, power: 120 W}]", "[{load: 8 ohm, power: 40 W}]"]),
        of("minimum_load", &["2 ohm", "4 ohm", "6 ohm"]),
        of("bridged", &["none", "{rated: [{load: 4 ohm, power: 240 W}]}", "{minimum_load: 4 ohm}"]),
    );
    let stated = stated.prop_map(|(class, efficiency, rated, least, bridged)| {
        let keys = [class, efficiency, rated, least, bridged];
        keys.into_iter().flatten().collect::<Vec<_>>().join(", ")
    });
    let coils =
        || proptest::sample::select(vec!["door", "sub", "{parallel: [sub.1, sub.2]}", "{series: [sub.1, sub.2]}"]);
    let pair = prop_oneof![
        Just(Vec::new()),
        coils().prop_map(|coils| vec![("1", coils)]),
        (coils(), coils()).prop_map(|(one, other)| vec![("1", one), ("2", other)]),
        coils().prop_map(|coils| vec![("1, 2", coils)]),
    ];
    (stated, proptest::collection::vec(pair, 1..4)).prop_map(|(stated, pairs)| Amp { stated, pairs })
}

/// A job with this amplifier; its first pairs of outputs are sections that state just what the amplifier would.
fn job_of(amp: &Amp, sections: usize) -> Reading {
    let each = amp.pairs.iter().zip(0..).flat_map(|(pair, at)| pair.iter().map(move |load| (at, load)));
    let loads = each.enumerate().map(|(number, (at, (outputs, coils)))| {
        let outputs: Vec<String> =
            outputs.split(", ").map(|own| (2 * at + own.parse::<i32>().expect("a number")).to_string()).collect();
        format!("  l{number}: {{amplifier: amp, outputs: [{}], coils: {coils}}}\n", outputs.join(", "))
    });
    let stated = |at: usize| format!("s{at}: {{outputs: [{}, {}], {}}}", 2 * at + 1, 2 * at + 2, amp.stated);
    let rest = if sections < amp.pairs.len() { amp.stated.as_str() } else { "" };
    let text = format!(
        "plan: 1\njob: {{stage: planned}}\nvehicle: {{voltage: 12 V, body: steel, battery: {{location: engine-bay, kind: agm, capacity: 80 Ah, \
         cold_cranking: 800 A}}, alternator: {{rated: 150 A, at_idle: 90 A, voltage: 14.2 V}}, factory_load: {{running: 40 A}}}}\n\
         amplifiers: {{amp: {{channels: {}, idle_current: 1 A, sections: {{{}}}, {rest}}}}}\n\
         drivers: {{door: {{kind: woofer, rms: 90 W, coils: [4 ohm]}}, sub: {{kind: subwoofer, rms: 300 W, coils: [4 ohm, 4 ohm]}}}}\n\
         wires:\n  main: {{from: battery.positive, to: amp.power, size: 6 AWG, conductor: copper, insulation: 105 C, length: 4 m, path: \
         [engine-bay, firewall, cargo], fuse: {{form: bolt-down, rating: 50 A}}}}\n  return: {{from: amp.ground, to: grounds.floor, \
         size: 6 AWG, length: 40 cm}}\ngrounds: {{floor: {{on: body-sheet}}}}\nloads:\n{}",
        2 * amp.pairs.len(),
        (0..sections).map(stated).collect::<Vec<_>>().join(", "),
        loads.collect::<String>(),
    );
    let reading = read(text);
    assert!(reading.misreads.is_empty(), "{} {:?}", reading.text, reading.misreads);
    reading
}

/// Every verdict on a job but those on what the amplifier states itself, with what has to be stated before it is computed.
fn verdicts(reading: &Reading) -> Vec<String> {
    let whole = |path: String| match path.split_once("sections.s") {
        Some((before, after)) => format!("{before}{}", after.split_once('.').map_or("", |(_, key)| key)),
        None => path,
    };
    let judgement = judge(reading, &House::default(), &rules::all());
    let others = judgement.checks.iter().filter(|check| !check.subject.path().starts_with("amplifiers.amp."));
    let told = others.filter(|check| check.rule.code != "PLAN-09").map(|check| {
        // What is computed with a range on either side of its limit may be turned by one fact of an amplifier, and by the
        // same fact of two sections only together.
        let needs = if check.finding.is_none() { check.needs.as_slice() } else { &[] };
        let mut needs: Vec<String> = needs.iter().map(|place| whole(place.path())).collect();
        needs.sort();
        needs.dedup();
        let title = check.finding.as_ref().map_or("", |finding| finding.title.as_str());
        format!("{} {} {:?} {title} {needs:?}", check.rule.code, check.subject, check.outcome)
    });
    told.collect()
}

proptest! {
    #![proptest_config(cases::cases(64))]

    #[test]
    fn shares_make_one_and_parts_bound_the_whole(
        tree in tree(), stated in proptest::collection::vec(ohms(), 256),
    ) {
        let mut count = 0;
        let tree = named(&tree, &mut count);
        let (reading, house) = (plan(&stated[..count], &tree), House::default());
        let job = Job::new(&reading.plan, &house);
        let shares = coils::shares(&job, &tree).expect("every coil is stated");
        prop_assert_eq!(shares.len(), count);
        prop_assert!(shares.iter().all(|share| (0.0..=1.0 + BITS).contains(share)), "{shares:?}");
        prop_assert!((shares.iter().sum::<f64>() - 1.0).abs() < BITS, "{shares:?}");
        bounded(&job, &tree)?;
    }

    #[test]
    fn every_arrangement_is_what_it_says(units in units(5)) {
        for found in arrangements::of(&units, f64::INFINITY) {
            sound(&units, &found)?;
        }
    }

    #[test]
    fn even_arrangements_are_even_and_none_of_them_is_missed(units in units(4)) {
        let even = arrangements::of(&units, 1.25);
        for found in &even {
            prop_assert!(found.unevenness() <= 1.25 * (1.0 + BITS), "{found:?}");
            sound(&units, found)?;
        }
        for found in arrangements::of(&units, f64::INFINITY).iter().filter(|found| found.unevenness() <= 1.25) {
            let near = even.iter().any(|other| (other.ohms / found.ohms - 1.0).abs() < 2.0 * arrangements::SAME);
            prop_assert!(near, "{found:?} is not among {even:?}");
        }
    }

    #[test]
    fn rated_power_never_grows_with_the_load(
        mut loads in proptest::collection::vec(0.5_f64..16.0, 1..5),
        mut powers in proptest::collection::vec(10.0_f64..2000.0, 5),
        one in 0.1_f64..64.0, other in 0.1_f64..64.0,
    ) {
        loads.sort_by(f64::total_cmp);
        powers.sort_by(|one, other| other.total_cmp(one));
        let point = |(load, power): (&f64, &f64)| RatedPower { load: Quantity::new(*load), power: Quantity::new(*power) };
        let rated: Vec<RatedPower> = loads.iter().zip(&powers).map(point).collect();
        let power = |ohms| coils::rated_power(&rated, ohms).expect("rated points");
        let (small, large) = (power(one.min(other)), power(one.max(other)));
        prop_assert!(large.low() <= small.low() * (1.0 + BITS) && large.high() <= small.high() * (1.0 + BITS), "{small} {large}");
    }

    #[test]
    fn sections_that_are_alike_are_judged_like_an_amplifier_without(amp in amp(), sections in 1..4_usize) {
        let sections = sections.min(amp.pairs.len());
        let (plain, split) = (job_of(&amp, 0), job_of(&amp, sections));
        prop_assert_eq!(verdicts(&plain), verdicts(&split), "{}", split.text);
    }
}
