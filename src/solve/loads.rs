//! Loads on the outputs of their amplifiers: what the outputs see, what they give, what the coils take.

use super::arrangements::{self, Arrangement, Unit};
use super::coils;
use super::facts::Facts;
use super::known::{Decided, Place, Thing, Undecided, all};
use super::levels;
use super::ratings;
use crate::plan::{Amplifier, Coil, Coils, Load};
use crate::quantity::text::rounded_down;
use crate::quantity::{Power, Quantity, Range, Voltage};

/// The amplifier that a load hangs on.
///
/// # Errors
/// The need for its name; a name that is unknown does not apply.
pub fn amplifier<'j, 'a>(load: &Thing<'_, Load>, facts: &'j Facts<'a>) -> Decided<&'j Thing<'a, Amplifier>> {
    let name = load.need("amplifier", &load.amplifier)?;
    facts.amplifier(&name).ok_or(Undecided::NotApplicable("no such amplifier (PLAN-01 reports that)"))
}

/// Whether two loads hang on the very same outputs.
pub fn same_outputs(one: &Load, other: &Load) -> bool {
    let sorted = |load: &Load| {
        let mut outputs = load.outputs.clone();
        outputs.sort_unstable();
        outputs
    };
    let on_one = one.amplifier.is_some() && one.amplifier == other.amplifier;
    on_one && one.outputs.len() == other.outputs.len() && sorted(one) == sorted(other)
}

/// Nominal impedance of a load alone, in ohm.
///
/// # Errors
/// The needs for its coils; a shorted load does not apply.
pub fn own_ohms(load: &Thing<'_, Load>, facts: &Facts<'_>) -> Decided<f64> {
    let ohms = coils::load_impedance(facts, load)?.low();
    if ohms > 0.0 { Ok(ohms) } else { Err(Undecided::NotApplicable("the coils are shorted (LOAD-09 reports that)")) }
}

/// The loads on the very outputs of a load, itself among them, in the order of the plan's names.
fn beside<'j, 'a>(load: &Load, facts: &'j Facts<'a>) -> impl Iterator<Item = &'j Thing<'a, Load>> {
    facts.loads.iter().filter(move |other| same_outputs(load, other))
}

/// The load that stands for all on the same outputs: rules that judge what the outputs see judge it alone.
///
/// # Errors
/// Not applicable to the others.
pub fn first_on_outputs(load: &Thing<'_, Load>, facts: &Facts<'_>) -> Decided<()> {
    match beside(load, facts).next() {
        Some(first) if first.address != load.address => {
            Err(Undecided::NotApplicable("counted with another load on the same output"))
        }
        _ => Ok(()),
    }
}

/// The other loads on the outputs of a load.
pub fn others_on_outputs<'j, 'a>(load: &Thing<'_, Load>, facts: &'j Facts<'a>) -> Vec<&'j Thing<'a, Load>> {
    beside(load, facts).filter(|other| other.address != load.address).collect()
}

/// What the outputs of a load see, in ohm: every load on the same outputs is in parallel, as far as no crossover parts
/// them.
///
/// # Errors
/// The needs for outputs and coils.
pub fn seen_ohms(load: &Thing<'_, Load>, facts: &Facts<'_>) -> Decided<f64> {
    if load.outputs.is_empty() {
        return Err(Undecided::need(load.at("outputs")));
    }
    let parts = all(beside(load, facts).map(|other| Ok((coils::band(facts, tree(other)?), own_ohms(other, facts)?))))?;
    let alone = own_ohms(load, facts)?;
    Ok(coils::side_by_side(parts).into_values().reduce(f64::min).unwrap_or(alone))
}

/// Where the ratings for a load stand: those of one channel, or of two bridged.
pub fn ratings_at(load: &Thing<'_, Load>, amplifier: &Thing<'_, Amplifier>) -> Place {
    ratings::of(load, amplifier).unwrap_or_else(|_| ratings::of_rest(amplifier)).points_at(load.outputs.len())
}

/// What a load draws of its outputs at full output, between bounds where nothing is rated into what they see.
///
/// All loads on the same outputs together draw what is rated into what the outputs see, and each of them its part.
///
/// # Errors
/// The needs for outputs, ratings and coils.
pub fn drawn(load: &Thing<'_, Load>, facts: &Facts<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Range<Power>> {
    let seen = seen_ohms(load, facts)?;
    let conductances = all(beside(load, facts).map(|other| own_ohms(other, facts).map(|ohms| 1.0 / ohms)))?;
    let part = 1.0 / own_ohms(load, facts)?;
    let whole = conductances.iter().sum::<f64>().max(part);
    let (ratings, outputs) = (ratings::of(load, amplifier)?, load.outputs.len());
    if outputs == 2 && ratings.bridged.is_none() {
        return Err(Undecided::need(ratings.at("bridged")));
    }
    let power =
        coils::rated_power(ratings.points(outputs), seen).ok_or_else(|| Undecided::need(ratings.points_at(outputs)))?;
    Ok(power * (part / whole))
}

/// What is rated into a load at what its outputs see.
///
/// # Errors
/// The needs for ratings and coils; under the smallest rated load nothing is rated.
pub fn power(load: &Thing<'_, Load>, facts: &Facts<'_>) -> Decided<Range<Power>> {
    let amplifier = amplifier(load, facts)?;
    let (seen, own) = (seen_ohms(load, facts)?, own_ohms(load, facts)?);
    let (ratings, outputs) = (ratings::of(load, amplifier)?, load.outputs.len());
    ratings.joined(outputs)?;
    let rated = ratings.points(outputs);
    let power = coils::rated_power(rated, seen).ok_or_else(|| Undecided::need(ratings.points_at(outputs)))?;
    let smallest = rated.iter().map(|point| point.load.base()).fold(f64::INFINITY, f64::min);
    if seen < smallest * (1.0 - 1e-9) {
        return Err(Undecided::NotApplicable(
            "nothing is rated into so small a load (LOAD-01, LOAD-02 or LOAD-11 reports that)",
        ));
    }
    Ok(power * (seen / own))
}

/// The coils of a load, with their place below `coils`.
///
/// # Errors
/// The need for them.
pub fn tree<'a>(load: &Thing<'a, Load>) -> Decided<&'a Coils> {
    load.plan().coils.as_ref().ok_or_else(|| Undecided::need(load.at("coils")))
}

/// What one coil of a driver takes for good, in watt: the driver's rating over its coils.
///
/// # Errors
/// The need for the rating.
pub fn coil_rating(facts: &Facts<'_>, coil: &Coil) -> Decided<f64> {
    let need = || Undecided::need(Place::of(format!("drivers.{}.rms", coil.driver)));
    let driver = facts.plan.drivers.get(&coil.driver);
    let driver = driver.ok_or(Undecided::NotApplicable("no such driver (PLAN-01 reports that)"))?;
    let rms = driver.rms.filter(|rms| rms.base() > 0.0).ok_or_else(need)?;
    let count = u32::try_from(driver.coils.len().max(1)).unwrap_or(u32::MAX);
    Ok(rms.base() / f64::from(count))
}

/// The coils of a tree, each with its impedance and what it takes.
///
/// # Errors
/// The needs for them.
pub fn units(facts: &Facts<'_>, coils: &Coils) -> Decided<Vec<Unit>> {
    let unit = |coil: &Coil| {
        let (ohms, rating) = (coils::coil_impedance(facts, coil).map(Quantity::base), coil_rating(facts, coil));
        all([ohms.clone(), rating.clone()])?;
        Ok(Unit { coil: coil.clone(), ohms: ohms?, rating: rating? })
    };
    all(coils.coils().into_iter().map(unit))
}

/// The smallest load that the outputs of a load are made for, in ohm: of one channel, or across two that are bridged.
///
/// # Errors
/// The needs for what the amplifier's maker states; outputs that cannot be joined do not apply.
pub fn least_ohms(load: &Thing<'_, Load>, amplifier: &Thing<'_, Amplifier>) -> Decided<f64> {
    ratings::of(load, amplifier)?.least_ohms(load.outputs.len())
}

/// The highest voltage that a load may show with the test tone, and what that was made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ceiling {
    /// Nominal impedance in ohm.
    pub ohms: f64,
    /// What the amplifier is rated for into it.
    pub rated: Range<Power>,
    /// What its drivers take for good, until the first coil is at its rating.
    pub drivers: Range<Power>,
    /// The voltage that gives the smaller of the two: sqrt(P Z), to the three digits of a meter, never above.
    pub volts: Range<Voltage>,
}

/// The highest voltage that a load may show with the test tone.
///
/// Tweeters and midranges beside a woofer do not count: how much their crossover leaves them is for its maker to say.
///
/// # Errors
/// The needs for coils and ratings; a load for which nothing is rated does not apply.
pub fn ceiling(facts: &Facts<'_>, load: &Thing<'_, Load>) -> Decided<Ceiling> {
    let tree = tree(load)?;
    let (ohms, rated) = (own_ohms(load, facts), power(load, facts));
    let drivers = takes(facts, tree);
    all([ohms.clone().map(drop), rated.clone().map(drop), drivers.clone().map(drop)])?;
    let (ohms, rated, drivers) = (ohms?, rated?, Range::point(drivers?));
    let volts = levels::speaker_output(rated.min(drivers), Range::point(ohms)).map(rounded_down);
    Ok(Ceiling { ohms, rated, drivers, volts })
}

/// What a tree of coils takes for good, in watt: the power at which the first coil of its lowest band is at its rating.
fn takes(facts: &Facts<'_>, tree: &Coils) -> Decided<f64> {
    let lowest = coils::plays_lowest(facts, tree);
    let coils = tree.coils().into_iter().zip(&lowest).filter(|(_, lowest)| **lowest);
    let ratings = all(coils.map(|(coil, _)| coil_rating(facts, coil)));
    let shares = coils::shares(facts, tree);
    all([ratings.clone().map(drop), shares.clone().map(drop)])?;
    let shares = shares?.into_iter().zip(lowest).filter_map(|(share, lowest)| lowest.then_some(share));
    Ok(ratings?.into_iter().zip(shares).map(|(rating, share)| rating / share).fold(f64::INFINITY, f64::min))
}

/// How many times as hard as another a coil may work: 1 dB (common practice, no published source).
pub const MOST_UNEVEN: f64 = 1.25;

/// An arrangement of a load's coils with the power that it gets.
#[derive(Debug, Clone, PartialEq)]
pub struct Arranged {
    /// The arrangement.
    pub is: Arrangement,
    /// What the amplifier is rated for into it.
    pub rated: Range<Power>,
    /// The smaller of that and what the coils take until the first is at its rating.
    pub power: Range<Power>,
}

impl Arranged {
    /// An arrangement into which so much is rated.
    pub fn of(is: Arrangement, rated: Range<Power>) -> Self {
        let power = rated.min(Range::point(is.takes()));
        Self { is, rated, power }
    }
}

/// Every arrangement of a load's coils that loads them evenly and that its outputs are made and rated for, best first; of
/// equal power the larger load first. Other loads on the same outputs are left out of account.
///
/// # Errors
/// The needs for coils and for what the amplifier's maker states. Not applicable to a single coil, to more than
/// [`arrangements::MOST_COILS`], and to drivers of different kinds.
pub fn arrangements(facts: &Facts<'_>, load: &Thing<'_, Load>) -> Decided<Vec<Arranged>> {
    let amplifier = amplifier(load, facts)?;
    let coils = tree(load)?;
    if !(2..=arrangements::MOST_COILS).contains(&coils.coils().len()) {
        return Err(Undecided::NotApplicable("one coil only, or more than eight"));
    }
    coils::one_kind(facts, coils)?;
    let rated = ratings::of(load, amplifier)?.points(load.outputs.len());
    let smallest_rated = rated.iter().map(|point| point.load.base()).fold(f64::INFINITY, f64::min);
    let smallest = least_ohms(load, amplifier)?.max(smallest_rated) * (1.0 - 1e-9);
    let found = arrangements::of(&units(facts, coils)?, MOST_UNEVEN).into_iter().filter(|is| is.ohms >= smallest);
    let mut found: Vec<Arranged> =
        found.filter_map(|is| coils::rated_power(rated, is.ohms).map(|power| Arranged::of(is, power))).collect();
    found.sort_by(|one, other| {
        let power = other.power.low().total_cmp(&one.power.low());
        power.then(other.is.ohms.total_cmp(&one.is.ohms))
    });
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solve::Job;

    fn of_loads<T>(amplifier: &str, loads: &str, look: impl FnOnce(&Job<'_>) -> T) -> T {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{{amplifier}}}}}\ndrivers: {{a: {{kind: woofer, rms: 100 W, coils: [4 ohm]}}, \
             b: {{kind: woofer, rms: 100 W, coils: [8 ohm]}}, none: {{rms: 0 W, coils: [4 ohm]}}}}\nloads: {{{loads}}}\n"
        );
        super::super::of_job(&plan, look)
    }

    const BRIDGED: &str = "one: {amplifier: amp, outputs: [1, 2], coils: b}";

    fn needs<T: std::fmt::Debug>(decided: Decided<T>) -> String {
        match decided {
            Err(Undecided::Open(places)) => places[0].path(),
            other => panic!("{other:?}"),
        }
    }

    /// Across two channels each carries half of the load, so that two of 4 ohm are made for 8 ohm.
    #[test]
    fn a_bridged_pair_is_made_for_twice_the_load_of_one_channel() {
        let of = |amplifier: &str| of_loads(amplifier, BRIDGED, |job| least_ohms(&job.loads[0], &job.amplifiers[0]));
        assert_eq!(of("minimum_load: 4 ohm, bridged: {rated: []}"), Ok(8.0));
        assert_eq!(of("minimum_load: 1 ohm, bridged: {rated: []}"), Ok(2.0));
        assert_eq!(of("minimum_load: 2 ohm, bridged: {rated: [], minimum_load: 5 ohm}"), Ok(5.0));
        assert_eq!(needs(of("minimum_load: 2 ohm")), "amplifiers.amp.bridged");
        assert!(matches!(of("minimum_load: 2 ohm, bridged: none"), Err(Undecided::NotApplicable(_))));
        let rated = |amplifier: &str| of_loads(amplifier, BRIDGED, |job| power(&job.loads[0], job));
        assert_eq!(needs(rated("rated: [{load: 4 ohm, power: 100 W}]")), "amplifiers.amp.bridged");
    }

    /// 4 and 8 ohm on one output are 2.667 ohm: between 4 and 2 ohm, and two parts in three go into the 4 ohm.
    #[test]
    fn loads_side_by_side_share_what_the_output_gives() {
        let two = "one: {amplifier: amp, outputs: [1], coils: a}, two: {amplifier: amp, outputs: [1], coils: b}";
        let amplifier = "rated: [{load: 4 ohm, power: 100 W}, {load: 2 ohm, power: 200 W}]";
        of_loads(amplifier, two, |job| {
            let of = |at: usize| power(&job.loads[at], job).expect("rated").high();
            assert!((of(0) - 100.0).abs() < 1e-9 && (of(1) - 50.0).abs() < 1e-9, "{} {}", of(0), of(1));
        });
        // Just what is rated passes, and less than the smallest rated load has no power of its own.
        let of = |least: &str| {
            let amplifier = format!("rated: [{{load: {least}, power: 100 W}}]");
            of_loads(&amplifier, "one: {amplifier: amp, outputs: [1], coils: a}", |job| power(&job.loads[0], job))
        };
        assert_eq!(of("4 ohm"), Ok(Range::point(100.0)));
        assert!(matches!(of("4.1 ohm"), Err(Undecided::NotApplicable(_))));
    }

    #[test]
    fn a_driver_that_takes_nothing_states_no_rating() {
        let load = "one: {amplifier: amp, outputs: [1], coils: none}";
        let rating = of_loads("", load, |job| coil_rating(job, job.loads[0].coils.as_ref().expect("coils").coils()[0]));
        assert_eq!(needs(rating), "drivers.none.rms");
    }
}
