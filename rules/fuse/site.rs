//! What the rules of this family ask of a fuse: the ratings that it can have, what asks for more and what allows no more, and
//! the fuse before it.

use std::collections::BTreeSet;

use crate::plan::{FuseForm, Wire};
use crate::quantity::{Current, Quantity, Range};
use crate::solve::protection::{ExposureEnd, FuseSite, Host, Pass, Way};
use crate::solve::{Job, Thing};

/// So many ratings or sizes are offered.
pub const MOST: usize = 6;

/// Ratings that a fuse can have, rising: those on the shelf of the house, or those that its form is made for.
pub fn ratings(form: Option<FuseForm>, job: &Job<'_>) -> Vec<f64> {
    let form = form.unwrap_or(FuseForm::BoltDown);
    match job.house.stock.ratings(form) {
        Some(kept) => kept.iter().map(|rating| rating.base()).collect(),
        None => form.ratings().to_vec(),
    }
}

/// Ratings up to so many amperes, the largest first.
pub fn ratings_up_to(form: Option<FuseForm>, amperes: f64, job: &Job<'_>) -> Vec<f64> {
    ratings(form, job).into_iter().rev().filter(|rating| *rating <= amperes * (1.0 + 1e-9)).collect()
}

/// What its load asks of a fuse, in A: what its programme asks where full output can never be reached; nothing where that is
/// not known.
pub fn least(fuse: usize, job: &Job<'_>) -> Option<f64> {
    let asked = job.fuse_asked(fuse).map(|asked| asked.asked).or_else(|_| job.fuse_asked_by_programme(fuse));
    asked.ok().map(Range::high)
}

/// Whether all wires that a fuse alone protects carry so many amperes; nothing where that is not known.
pub fn carries(fuse: usize, amperes: f64, job: &Job<'_>) -> Option<bool> {
    let over = job.house.limits.fuse_over_ampacity.base();
    let each = job.protected_by(fuse).into_iter().map(|wire| job.ampacity(&job.wires[wire]).ok());
    let least: Option<Vec<f64>> = each.map(|carries| carries.map(|carries| carries.ampacity.low())).collect();
    let least = least?.into_iter().reduce(f64::min)?;
    Some(amperes <= least * over * (1.0 + 1e-9))
}

/// Whether the makers of the amplifiers behind a fuse allow so many amperes in its place.
pub fn is_allowed(fuse: usize, amperes: f64, job: &Job<'_>) -> bool {
    forbids(fuse, amperes, job).is_none()
}

/// The amplifier behind a fuse whose maker does not allow so many amperes in its place, and what he allows: another fuse on
/// the way may be small enough.
pub fn forbids<'a>(fuse: usize, amperes: f64, job: &Job<'a>) -> Option<(&'a str, Quantity<Current>)> {
    job.amplifiers.iter().find_map(|amplifier| {
        let maximum = amplifier.maximum_fuse?;
        let small = |other: &usize| {
            let rating = job.protection().fuses[*other].fuse.rating;
            *other != fuse && rating.is_some_and(|rating| rating.base() <= maximum.base())
        };
        let ways = job.ways_to_gear(amplifier.name);
        let mut through = ways.iter().filter(|way| way.fuses.contains(&fuse));
        let allows = amperes <= maximum.base() || through.all(|way| way.fuses.iter().any(small));
        (!allows).then_some((amplifier.name, maximum))
    })
}

/// Whether another rating in the place of a fuse leaves it apart enough from the one before it, as far as that is stated.
pub fn is_selective(fuse: usize, amperes: f64, job: &Job<'_>) -> bool {
    let before = upstream(fuse, job).and_then(|before| job.protection().fuses[before].fuse.rating);
    before.is_none_or(|before| before.base() >= amperes * job.house.limits.fuse_selectivity.base() * (1.0 - 1e-9))
}

/// The smallest fuse just before this one that feeds something else besides.
pub fn upstream(fuse: usize, job: &Job<'_>) -> Option<usize> {
    let protection = job.protection();
    let linked: BTreeSet<usize> = job.plan.isolators.keys().flat_map(|name| job.charge_link(name).wires).collect();
    protection.ways.iter().filter_map(|way| before(fuse, way, &linked, job)).min_by(|one, other| {
        let rating = |fuse: &usize| protection.fuses[*fuse].fuse.rating.map_or(0.0, Quantity::base);
        rating(one).total_cmp(&rating(other))
    })
}

/// The fuse just before this one on a way, where it feeds something else besides. Runs side by side between two batteries,
/// those that are `linked`, are one cable.
fn before(fuse: usize, way: &Way, linked: &BTreeSet<usize>, job: &Job<'_>) -> Option<usize> {
    let protection = job.protection();
    let at = way.fuses.iter().position(|passed| *passed == fuse)?;
    let before = *way.fuses.get(at.checked_sub(1)?)?;
    // A battery's own fuse at the other end of a cable is not behind this battery's fuse in that sense.
    let others = |end| protection.exposures.iter().any(|run| run.end == end && run.source != way.source);
    if others(ExposureEnd::Fuse(fuse)) {
        return None;
    }
    let passed = way.passes.iter().take_while(|pass| **pass != Pass::Fuse(fuse));
    let led_here: Vec<usize> =
        passed.filter_map(|pass| if let Pass::Stretch(wire, _) = pass { Some(*wire) } else { None }).collect();
    let elsewhere = |other: &Way| {
        other.source == way.source
            && other.fuses.contains(&before)
            && !other.fuses.contains(&fuse)
            && !led_here.contains(&other.wire)
            && !linked.contains(&other.wire)
    };
    protection.ways.iter().any(elsewhere).then_some(before)
}

/// The wire in which a fuse sits, where it sits in one.
pub fn wire<'j, 'a>(site: &FuseSite, job: &'j Job<'a>) -> Option<&'j Thing<'a, Wire>> {
    match site.host {
        Host::Wire { wire, .. } => job.wires.get(wire),
        Host::Block(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::House;

    fn of<T>(house: &House, size: &str, look: impl FnOnce(&Job<'_>) -> T) -> T {
        let text = format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, size: {size}, \
             conductor: copper, insulation: 105 C, length: 3 m, path: [cargo], fuse: {{rating: 30 A, distance: 20 cm}}}}\n"
        );
        let plan = crate::plan::read(text).plan;
        look(&Job::new(&plan, house))
    }

    /// A house that lets a fuse be a tenth larger than what its wire carries.
    #[test]
    fn a_wire_carries_a_fuse_up_to_the_share_that_the_house_allows() {
        let mut house = House::default();
        house.limits.fuse_over_ampacity.value = Quantity::new(1.1);
        let carried = of(&house, "6 mm2", |job| {
            let most = job.ampacity(&job.wires[0]).expect("stated").ampacity.low() * 1.1;
            [most * 0.999, most, most * 1.001].map(|amperes| carries(0, amperes, job))
        });
        assert_eq!(carried, [Some(true), Some(true), Some(false)]);
    }

    #[test]
    fn a_rating_is_offered_up_to_just_what_is_allowed() {
        let of = |amperes: f64| {
            of(&House::default(), "6 mm2", |job| ratings_up_to(Some(FuseForm::BladeRegular), amperes, job))
        };
        assert_eq!((of(2.0), of(2.9)), (vec![2.0, 1.0], vec![2.0, 1.0]));
    }
}
