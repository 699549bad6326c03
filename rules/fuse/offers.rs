//! Other fuses in the place of one, and thicker wires behind it: as offers, and in words.

use super::site::{MOST, carries, least, ratings, ratings_up_to, upstream, wire};
use crate::judge::Offer;
use crate::plan::FuseForm;
use crate::quantity::{Current, Range};
use crate::rules::wire::site::thicker;
use crate::solve::Job;
use crate::solve::protection::{FuseSite, Host, Way};
use crate::words;

/// What helps where a small fuse does not break the short behind it. One that feeds no amplifier may come from the vehicle's
/// fuse box; where another fuse stands before it on a run of its own, that run may be longer or thinner. One behind a shared
/// cable has to break the short itself: that the fuse before it does so in time is for its maker to say.
pub fn elsewhere(fuse: usize, job: &Job<'_>) -> String {
    let is_behind = |way: &Way| way.fuses.iter().position(|other| *other == fuse).is_some_and(|at| at > 0);
    let behind = job.protection().ways.iter().any(is_behind);
    let shares = upstream(fuse, job).is_some();
    let passes = |way: &&Way| way.fuses.contains(&fuse);
    let feeds_amplifier = job.amplifiers.iter().any(|amplifier| job.ways_to_gear(amplifier.name).iter().any(passes));
    let least =
        job.fault_behind(fuse).map_or_else(|_| "the short here".to_owned(), |short| short.at_high().to_string());
    let states = if behind {
        format!("fit one whose maker states that it breaks {least}, or that it does so behind the fuse before it")
    } else {
        format!("fit one whose maker states that it breaks {least}")
    };
    let from_box = (!feeds_amplifier).then(|| "take this feed from the vehicle's fuse box".to_owned());
    let run = (behind && !shares).then(|| {
        "bring the current down with a longer or thinner run between the battery's fuse and this one".to_owned()
    });
    words::either(&from_box.into_iter().chain(run).chain([states]).collect::<Vec<_>>())
}

/// Smaller fuses in the place of one, up to so many amperes, the largest first; none that its load opens (FUSE-04).
pub fn at_most(fuse: usize, amperes: f64, job: &Job<'_>) -> Vec<Offer> {
    let site = &job.protection().fuses[fuse];
    let fit = made_between(site, least(fuse, job).unwrap_or(0.0), amperes, job);
    fit.map(|rating| rated(site, rating)).collect()
}

/// Made ratings between what its load asks of a fuse and so many amperes, in words; nothing where there is none.
pub fn between(fuse: usize, amperes: f64, job: &Job<'_>) -> Option<String> {
    let fit = made_between(&job.protection().fuses[fuse], least(fuse, job)?, amperes, job);
    let fit: Vec<String> = fit.map(|rating| Range::<Current>::point(rating).to_string()).collect();
    (!fit.is_empty()).then(|| words::either(&fit))
}

/// Ratings of its form between two currents, in A, the largest first.
fn made_between(site: &FuseSite, least: f64, most: f64, job: &Job<'_>) -> impl Iterator<Item = f64> {
    let fit = ratings_up_to(site.fuse.form, most, job).into_iter();
    fit.filter(move |rating| *rating >= least * (1.0 - 1e-9)).take(MOST)
}

/// Larger fuses in the place of one, from so many amperes on, the smallest first; each alone and with a thicker wire
/// behind it.
pub fn at_least(site: &FuseSite, amperes: f64, job: &Job<'_>) -> Vec<Offer> {
    let fit = ratings(site.fuse.form, job).into_iter().filter(|rating| *rating >= amperes * (1.0 - 1e-9));
    let alone: Vec<Offer> = fit.take(MOST).map(|rating| rated(site, rating)).collect();
    let sizes = wire(site, job).map(|wire| (wire, wire.size.map_or_else(Vec::new, |size| thicker(size, job))));
    let with = |offer: &Offer| {
        let (wire, sizes) = sizes.as_ref()?;
        let size = sizes.iter().take(MOST);
        Some(
            size.map(|size| {
                Offer::new(format!("{} and a wire of {size}", offer.title)).join(offer).set(wire.at("size"), size)
            })
            .collect::<Vec<_>>(),
        )
    };
    let both: Vec<Offer> = alone.iter().take(2).filter_map(with).flatten().collect();
    alone.into_iter().chain(both).collect()
}

/// Thicker wires behind a fuse, the next first.
pub fn thicker_wire(site: &FuseSite, job: &Job<'_>) -> Vec<Offer> {
    let Some(wire) = wire(site, job) else { return Vec::new() };
    let sizes = wire.size.map_or_else(Vec::new, |size| thicker(size, job)).into_iter().take(MOST);
    sizes.map(|size| Offer::new(format!("lay {size}")).set(wire.at("size"), size)).collect()
}

/// Where a fuse for the amplifier may sit besides one at the near end of its wire, in words: the wire has to carry that one.
pub fn nearer(fuse: usize, amperes: f64, job: &Job<'_>) -> Option<&'static str> {
    let site = &job.protection().fuses[fuse];
    let wire = wire(site, job)?;
    let is_near = matches!(site.host, Host::Wire { far: false, .. });
    let to = wire.plan().to.as_ref().filter(|to| to.terminal == "power" && job.amplifier(&to.thing).is_some());
    let alone = is_near && to.is_some() && wire.far_fuse.is_none();
    (alone && carries(fuse, amperes, job) == Some(true)).then_some("a blade near the amplifier (`far_fuse`)")
}

/// A strip for the wire and a blade of the rating that is meant near the amplifier, in words.
pub fn split(fuse: usize, amperes: f64, job: &Job<'_>) -> Option<String> {
    let strips = ratings(Some(FuseForm::BoltDown), job);
    let apart = amperes * job.house.limits.fuse_selectivity.base();
    let larger = |least: f64| strips.iter().copied().find(|rating| *rating >= least * (1.0 - 1e-9));
    let fits = |strip: &f64| *strip > amperes && nearer(fuse, *strip, job).is_some();
    let strip = larger(apart).filter(fits).or_else(|| larger(amperes).filter(fits))?;
    let show = |amperes: f64| Range::<Current>::point(amperes).to_string();
    Some(format!(
        "a bolt-down fuse of {} here for the wire with a blade of {} near the amplifier (`far_fuse`)",
        show(strip),
        show(amperes)
    ))
}

fn rated(site: &FuseSite, rating: f64) -> Offer {
    let rating = Range::<Current>::point(rating);
    Offer::new(format!("fit {} {}", words::a(rating), site.fuse.noun())).set(site.place.sub("rating"), rating)
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

    /// 25 A times 1.6 are 40 A, for which strips are made; where the wire carries no 100 A, a strip of 60 A would be no
    /// larger than the blade behind it.
    #[test]
    fn a_strip_for_the_wire_is_apart_from_the_blade_or_at_least_larger() {
        let house = House::default();
        let strip = of(&house, "10 mm2", |job| split(0, 25.0, job)).expect("40 A are made");
        assert!(strip.starts_with("a bolt-down fuse of 40 A here for the wire with a blade of 25 A near"), "{strip}");
        of(&house, "10 mm2", |job| {
            assert_eq!((carries(0, 60.0, job), carries(0, 100.0, job)), (Some(true), Some(false)));
            assert_eq!(split(0, 60.0, job), None);
        });
    }
}
