//! What must hold for any tree of coils and any rated points.

#[path = "common/cases.rs"]
mod cases;

use std::fmt::Write;

use proptest::prelude::*;
use testlamp::house::House;
use testlamp::plan::{Coil, Coils, RatedPower, Reading, read};
use testlamp::quantity::Quantity;
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
}
