//! Voice coils in series and parallel, and the power an amplifier is rated for into them.

use std::collections::BTreeMap;

use super::conductor::{self, Construction};
use super::facts::Facts;
use super::known::{Decided, Known, Place, Thing, Undecided, all};
use crate::house::Assumption;
use crate::plan::{Coil, Coils, DriverKind, Load, Material, RatedPower};
use crate::quantity::{Power, Quantity, Range, Resistance, Temperature};

/// Nominal impedance of a tree of coils in ohm.
///
/// Where a crossover parts side by side what lies in different [`Band`]s, only one of them plays at any frequency: the
/// smallest counts, as makers rate a set of woofer, tweeter and crossover.
///
/// # Errors
/// The needs for what is missing: a coil that its driver does not state.
pub fn impedance(facts: &Facts<'_>, coils: &Coils) -> Decided<f64> {
    match coils {
        Coils::One(coil) => coil_impedance(facts, coil).map(Quantity::base),
        Coils::Series(parts) => Ok(each(facts, parts)?.iter().sum()),
        Coils::Parallel(parts) => {
            let bands = parts.iter().map(|part| band(facts, part));
            let sets = side_by_side(bands.zip(each(facts, parts)?));
            Ok(sets.into_values().reduce(f64::min).unwrap_or(0.0))
        }
    }
}

/// The part of the music that a crossover leaves to a coil, the lowest first. A tweeter dies without one, and a midrange
/// beside a woofer is held off by one too; woofers, subwoofers and full-range speakers side by side are not parted
/// (common practice, no published source).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Band {
    /// Woofers, subwoofers, full-range speakers, and drivers of which nothing is stated.
    Low,
    /// Midranges.
    Middle,
    /// Tweeters.
    High,
}

fn coil_band(facts: &Facts<'_>, coil: &Coil) -> Band {
    match facts.plan.drivers.get(&coil.driver).and_then(|driver| driver.kind) {
        Some(DriverKind::Midrange) => Band::Middle,
        Some(DriverKind::Tweeter) => Band::High,
        _ => Band::Low,
    }
}

/// The lowest band of a tree.
pub fn band(facts: &Facts<'_>, coils: &Coils) -> Band {
    coils.coils().into_iter().map(|coil| coil_band(facts, coil)).min().unwrap_or(Band::Low)
}

/// Whether each coil of a tree plays the tree's lowest band, in the order of [`Coils::each`]. The others sit behind a
/// crossover that leaves them the smaller part of the music.
pub fn plays_lowest(facts: &Facts<'_>, coils: &Coils) -> Vec<bool> {
    let lowest = band(facts, coils);
    coils.coils().into_iter().map(|coil| coil_band(facts, coil) == lowest).collect()
}

/// What the parts of each band make side by side, in ohm.
pub fn side_by_side(parts: impl IntoIterator<Item = (Band, f64)>) -> BTreeMap<Band, f64> {
    let mut conductances: BTreeMap<Band, f64> = BTreeMap::new();
    for (band, ohms) in parts {
        *conductances.entry(band).or_default() += 1.0 / ohms;
    }
    conductances.into_iter().map(|(band, conductance)| (band, 1.0 / conductance)).collect()
}

/// What a tree makes of the ohms of each coil: in series they add up, in parallel their reciprocals do.
fn together(coils: &Coils, ohms: &dyn Fn(&Coil) -> Decided<f64>) -> Decided<f64> {
    let each = |parts: &[Coils]| all(parts.iter().map(|part| together(part, ohms)));
    match coils {
        Coils::One(coil) => ohms(coil),
        Coils::Series(parts) => Ok(each(parts)?.iter().sum()),
        Coils::Parallel(parts) => {
            let conductance: f64 = each(parts)?.iter().map(|ohms| 1.0 / ohms).sum();
            Ok(if conductance > 0.0 { 1.0 / conductance } else { 0.0 })
        }
    }
}

fn each(facts: &Facts<'_>, parts: &[Coils]) -> Decided<Vec<f64>> {
    all(parts.iter().map(|part| impedance(facts, part)))
}

/// Nominal impedance of one coil.
///
/// # Errors
/// The need for its driver's coils.
pub fn coil_impedance(facts: &Facts<'_>, coil: &Coil) -> Decided<Quantity<Resistance>> {
    let need = || Undecided::need(Place::of(format!("drivers.{}.coils", coil.driver)));
    let driver = facts.plan.drivers.get(&coil.driver).ok_or_else(need)?;
    driver.coils.get(usize::from(coil.number) - 1).copied().filter(|ohms| ohms.base() > 0.0).ok_or_else(need)
}

/// Nominal impedance of a load.
///
/// # Errors
/// The needs for its coils.
pub fn load_impedance(facts: &Facts<'_>, load: &Thing<'_, Load>) -> Decided<Range<Resistance>> {
    let coils = load.need("coils", &load.coils)?;
    impedance(facts, &coils).map(Range::point)
}

/// What a meter shows of a load at the amplifier's end of its lead: every coil and the lead there and back at 30 C.
///
/// A coil whose DC resistance is not stated has a share of its nominal impedance (a house assumption). The load is taken
/// alone: another one on the same outputs is not in it.
///
/// # Errors
/// The needs for coils and lead. Not applicable to a load without resistance, or with drivers of different kinds: the
/// crossover between them blocks direct current from some.
pub fn dc_resistance(facts: &Facts<'_>, load: &Thing<'_, Load>) -> Decided<Known<Resistance>> {
    let coils = load.need("coils", &load.coils)?;
    one_kind(facts, &coils)?;
    let low = together(&coils, &|coil| coil_dc(facts, coil).map(|ohms| ohms.range.low()));
    let high = together(&coils, &|coil| coil_dc(facts, coil).map(|ohms| ohms.range.high()));
    let lead = lead_resistance(facts, load);
    all([low.clone().map(drop), lead.clone().map(drop)])?;
    let coils = Range::<Resistance>::new(low?, high?);
    if coils.low() <= 0.0 {
        return Err(Undecided::NotApplicable("the coils are shorted (LOAD-09 reports that)"));
    }
    Ok(Known::computed(coils + lead?.range, "DC resistance of the coils in series and parallel, and their lead"))
}

/// Holds where all drivers of a tree are of one kind, so that no crossover parts them.
///
/// # Errors
/// Not applicable to drivers of different kinds.
pub fn one_kind(facts: &Facts<'_>, coils: &Coils) -> Decided<()> {
    let kind = |driver: &str| facts.plan.drivers.get(driver).and_then(|driver| driver.kind);
    let mut kinds = coils.coils().into_iter().map(|coil| kind(&coil.driver));
    let first = kinds.next();
    if kinds.all(|kind| Some(kind) == first) {
        return Ok(());
    }
    Err(Undecided::NotApplicable("drivers of different kinds, parted by a crossover"))
}

/// DC resistance of one coil: stated, or a share of its nominal impedance.
///
/// # Errors
/// The need for its driver's coils.
pub fn coil_dc(facts: &Facts<'_>, coil: &Coil) -> Decided<Known<Resistance>> {
    let nominal = Range::from(coil_impedance(facts, coil)?);
    let index = usize::from(coil.number) - 1;
    let place = Place::of(format!("drivers.{}.dc_resistance.{index}", coil.driver));
    let driver = facts.plan.drivers.get(&coil.driver);
    let stated = driver.and_then(|driver| driver.dc_resistance.get(index)).copied();
    let share = facts.house.assumptions.coil_dc;
    let range = nominal.scaled(share.range.low(), share.range.high());
    Ok(facts.assume(place, stated, &Assumption { range, source: share.source }))
}

/// A lead in the cabin, in C.
const WARM: Range<Temperature> = Range::point(30.0);

/// Resistance of a load's lead there and back, at 30 C.
///
/// # Errors
/// The needs for its length and size.
pub fn lead_resistance(facts: &Facts<'_>, load: &Thing<'_, Load>) -> Decided<Known<Resistance>> {
    let lead = load.lead.clone().unwrap_or_default();
    let (length, size) = (load.need("lead.length", &lead.length), load.need("lead.size", &lead.size));
    all([length.clone().map(drop), size.clone().map(drop)])?;
    let (both_ways, area) = (Range::from(length?) * 2.0, size?.area());
    let words = [Material::Copper, Material::CopperCladAluminium];
    let show = |index: f64| if index < 0.5 { "copper".to_owned() } else { "copper-clad-aluminium".to_owned() };
    let source = "what is sold without naming its metal may be copper-clad aluminium (common practice)";
    let materials = facts.assume_words(&load.at("lead.conductor"), lead.conductor, &words, show, source);
    let of = |material: &Material| conductor::resistance(both_ways, area, *material, WARM, Construction::Stranded);
    let range = materials.iter().map(of).reduce(Range::hull).unwrap_or(Range::point(0.0));
    Ok(Known::computed(range, "length, size and metal at 30 C"))
}

/// The share of a load's power that each coil takes, in the order of [`Coils::each`]; those of one band make at most 1.
///
/// In series the same current flows, so power goes as impedance; in parallel the same voltage stands, so it goes as
/// one over impedance. A band that a crossover parts off has the whole voltage to itself when it plays.
///
/// # Errors
/// The needs for what is missing: a coil that its driver does not state.
pub fn shares(facts: &Facts<'_>, coils: &Coils) -> Decided<Vec<f64>> {
    let mut found = Vec::new();
    divide(facts, coils, 1.0, &mut found)?;
    Ok(found)
}

fn divide(facts: &Facts<'_>, coils: &Coils, share: f64, found: &mut Vec<f64>) -> Decided<()> {
    let (parts, weights) = match coils {
        Coils::One(_) => {
            found.push(share);
            return Ok(());
        }
        Coils::Series(parts) => {
            let ohms = each(facts, parts)?;
            let sum: f64 = ohms.iter().sum();
            (parts, ohms.into_iter().map(|ohms| ohms / sum).collect::<Vec<_>>())
        }
        Coils::Parallel(parts) => {
            let whole = impedance(facts, coils)?;
            (parts, each(facts, parts)?.into_iter().map(|ohms| whole / ohms).collect())
        }
    };
    parts.iter().zip(weights).try_for_each(|(part, weight)| divide(facts, part, share * weight, found))
}

/// Rated power at an impedance: between two rated points on a line of logarithms.
///
/// Above the largest rated load the power of that point is an upper bound (the supply rails limit the voltage, so it
/// can only fall). Below the smallest rated load nothing is rated: an amplifier that tries may draw as much more as the
/// load is smaller, so the range runs from the last rated power to that. `None` without a rated point.
pub fn rated_power(rated: &[RatedPower], ohms: f64) -> Option<Range<Power>> {
    let mut points: Vec<(f64, f64)> = rated.iter().map(|point| (point.load.base(), point.power.base())).collect();
    points.retain(|(load, power)| *load > 0.0 && *power > 0.0);
    points.sort_by(|one, other| one.0.total_cmp(&other.0));
    let (first, last) = (*points.first()?, *points.last()?);
    if ohms <= 0.0 {
        return None;
    }
    if ohms < first.0 {
        return Some(Range::new(first.1, first.1 * first.0 / ohms));
    }
    if ohms >= last.0 {
        return Some(Range::new(last.1 * last.0 / ohms, last.1));
    }
    let above = points.iter().position(|point| point.0 > ohms)?;
    let ((near, near_power), (far, far_power)) = (points[above - 1], points[above]);
    let share = (ohms / near).ln() / (far / near).ln();
    Some(Range::point(near_power * (far_power / near_power).powf(share)))
}

/// Whether a load plays bass only: every driver on it is a subwoofer.
pub fn is_bass(facts: &Facts<'_>, load: &Load) -> bool {
    let Some(coils) = &load.coils else { return false };
    let kinds = coils.coils().into_iter().map(|coil| facts.plan.drivers.get(&coil.driver).and_then(|d| d.kind));
    let kinds: Vec<_> = kinds.collect();
    !kinds.is_empty() && kinds.iter().all(|kind| *kind == Some(DriverKind::Subwoofer))
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    fn dc(drivers: &str, load: &str) -> Decided<Range<Resistance>> {
        let plan = format!("plan: 1\ndrivers: {{{drivers}}}\nloads: {{bass: {{{load}}}}}\n");
        of_job(&plan, |job| dc_resistance(job, &job.loads[0]).map(|known| known.range))
    }

    const LEAD: &str = "lead: {size: 12 AWG, length: 1.5 m, conductor: copper}";

    /// 3 m of 12 AWG are 3.3089 mm2: 3 x 0.017241 / 3.3089 x 1.0393 = 16.25 mohm at 30 C, up to 2 % more with the lay.
    #[test]
    fn a_meter_shows_somewhat_less_than_nominal_and_the_lead() {
        let two = dc("sub: {coils: [4 ohm, 4 ohm]}", &format!("coils: {{parallel: [sub.1, sub.2]}}, {LEAD}")).unwrap();
        assert!((two.low() - (1.4 + 0.016_25)).abs() < 1e-4, "{two}");
        assert!((two.high() - (1.9 + 0.016_57)).abs() < 1e-4, "{two}");
    }

    #[test]
    fn a_stated_coil_is_taken_as_stated() {
        let drivers = "sub: {coils: [4 ohm, 4 ohm], dc_resistance: [3.2 ohm, 3.2 ohm]}";
        let row = dc(drivers, &format!("coils: {{series: [sub.1, sub.2]}}, {LEAD}")).unwrap();
        assert!((row.low() - (6.4 + 0.016_25)).abs() < 1e-4 && row.high() - row.low() < 0.001, "{row}");
    }

    #[test]
    fn what_is_missing_is_asked_for_and_a_crossover_is_another_matter() {
        let needs = |decided| match decided {
            Err(Undecided::Open(places)) => places.iter().map(Place::path).collect::<Vec<_>>(),
            other => panic!("{other:?}"),
        };
        assert_eq!(
            needs(dc("sub: {}", "coils: sub")),
            ["drivers.sub.coils", "loads.bass.lead.length", "loads.bass.lead.size"]
        );
        let way = "a: {kind: woofer, coils: [4 ohm]}, b: {kind: tweeter, coils: [4 ohm]}";
        let mixed = dc(way, &format!("coils: {{parallel: [a, b]}}, {LEAD}"));
        assert!(matches!(mixed, Err(Undecided::NotApplicable(_))), "{mixed:?}");
    }

    fn rated(points: &[(f64, f64)]) -> Vec<RatedPower> {
        let point =
            |(ohms, watts): &(f64, f64)| RatedPower { load: Quantity::new(*ohms), power: Quantity::new(*watts) };
        points.iter().map(point).collect()
    }

    /// 200 W into 2 ohm and 50 W into 8 ohm: 20 V, so 100 W into 4 ohm. Above all that is rated the rails hold the voltage,
    /// under it nobody has promised more than the last rated power.
    #[test]
    fn power_between_two_rated_loads_and_beyond_them() {
        let stiff = rated(&[(8.0, 50.0), (2.0, 200.0)]);
        let at = |ohms| rated_power(&stiff, ohms).expect("rated");
        assert!(at(4.0).is_point() && (at(4.0).low() - 100.0).abs() < 1e-9, "{}", at(4.0));
        // A soft supply: 150 W into 2 ohm; halfway on the scale of logarithms lies the geometric mean.
        let soft = rated_power(&rated(&[(8.0, 50.0), (2.0, 150.0)]), 4.0).expect("rated");
        assert!((soft.low() - 7500.0_f64.sqrt()).abs() < 1e-9, "{soft}");
        let soft = rated_power(&rated(&[(8.0, 50.0), (2.0, 150.0)]), 3.0).expect("rated");
        assert!((soft.low() - 150.0 * (50.0_f64 / 150.0).powf(1.5_f64.log(4.0))).abs() < 1e-9, "{soft}");
        assert_eq!(at(1.0), Range::new(200.0, 400.0));
        assert_eq!(at(16.0), Range::new(25.0, 50.0));
        assert_eq!(rated_power(&stiff, 0.0), None);
        assert_eq!(rated_power(&[], 4.0), None);
    }

    #[test]
    fn a_rating_of_nothing_counts_for_nothing() {
        let only_two = rated_power(&rated(&[(2.0, 200.0)]), 4.0);
        assert_eq!(rated_power(&rated(&[(2.0, 200.0), (4.0, 0.0)]), 4.0), only_two);
        assert_eq!(rated_power(&rated(&[(2.0, 200.0), (0.0, 300.0)]), 1.0), Some(Range::new(200.0, 400.0)));
        // Into half of the smallest rated load at most twice as much.
        assert_eq!(rated_power(&rated(&[(4.0, 200.0)]), 2.0), Some(Range::new(200.0, 400.0)));
        assert_eq!(rated_power(&rated(&[(0.0, 0.0)]), 4.0), None);
    }

    #[test]
    fn a_coil_of_no_ohms_is_none_stated() {
        let coil = Coil { driver: "sub".into(), number: 1, reversed: false };
        let plan = "plan: 1\ndrivers: {sub: {coils: [0 ohm]}}\n";
        assert!(of_job(plan, |job| coil_impedance(job, &coil).is_err()));
    }
}
