//! Fuses that rules offer.

use crate::judge::Offer;
use crate::plan::{Block, Fuse, FuseForm, Wire, word};
use crate::quantity::{Current, Length, Quantity, Range};
use crate::rules::wire::site::thicker;
use crate::solve::protection::{FuseSite, Host, Way};
use crate::solve::{Job, Thing};
use crate::words;

/// What helps where a small fuse does not break the short behind it. One that feeds no amplifier may come from the vehicle's
/// fuse box; where another fuse stands before it on a run of its own, that run may be longer or thinner. One behind a shared
/// cable has to break the short itself: that the fuse before it does so in time is for its maker to say.
pub fn elsewhere(fuse: usize, job: &Job<'_>) -> String {
    let is_behind = |way: &Way| way.fuses.iter().position(|other| *other == fuse).is_some_and(|at| at > 0);
    let behind = job.protection().ways.iter().any(is_behind);
    let shares = super::selectivity::upstream(fuse, job).is_some();
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

/// So many ratings or sizes are tried.
const MOST: usize = 6;

/// Ratings that a fuse can have, rising: those on the shelf of the house, or those that its form is made for.
pub fn ratings(form: Option<FuseForm>, job: &Job<'_>) -> Vec<f64> {
    let form = form.unwrap_or(FuseForm::BoltDown);
    match job.house.stock.ratings(form) {
        Some(kept) => kept.iter().map(|rating| rating.base()).collect(),
        None => form.ratings().to_vec(),
    }
}

/// Smaller fuses in the place of one, up to so many amperes, the largest first; none that its load opens (FUSE-04).
pub fn at_most(fuse: usize, amperes: f64, job: &Job<'_>) -> Vec<Offer> {
    let site = &job.protection().fuses[fuse];
    let least = least(fuse, job).unwrap_or(0.0);
    let fit = ratings_up_to(site.fuse.form, amperes, job).into_iter().filter(|rating| *rating >= least * (1.0 - 1e-9));
    fit.take(MOST).map(|rating| rated(site, rating)).collect()
}

/// What its load asks of a fuse, in A: what its programme asks where full output can never be reached; nothing where that is
/// not known.
pub fn least(fuse: usize, job: &Job<'_>) -> Option<f64> {
    let asked = job.fuse_asked(fuse).map(|asked| asked.asked).or_else(|_| job.fuse_asked_by_programme(fuse));
    asked.ok().map(Range::high)
}

/// Made ratings between what its load asks of a fuse and so many amperes, in words; nothing where there is none.
pub fn between(fuse: usize, amperes: f64, job: &Job<'_>) -> Option<String> {
    let site = &job.protection().fuses[fuse];
    let least = least(fuse, job)?;
    let fit = ratings_up_to(site.fuse.form, amperes, job).into_iter().filter(|rating| *rating >= least * (1.0 - 1e-9));
    let fit: Vec<String> = fit.take(MOST).map(|rating| Range::<Current>::point(rating).to_string()).collect();
    (!fit.is_empty()).then(|| words::either(&fit))
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

/// Whether all wires that a fuse alone protects carry so many amperes; nothing where that is not known.
pub fn carries(fuse: usize, amperes: f64, job: &Job<'_>) -> Option<bool> {
    let over = job.house.limits.fuse_over_ampacity.base();
    let each = job.protected_by(fuse).into_iter().map(|wire| job.ampacity(&job.wires[wire]).ok());
    let least: Option<Vec<f64>> = each.map(|carries| carries.map(|carries| carries.ampacity.low())).collect();
    let least = least?.into_iter().reduce(f64::min)?;
    Some(amperes <= least * over * (1.0 + 1e-9))
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

/// A fuse in a block's output, up to so many amperes, of the kind that another output of the block has, or of that before
/// the block.
pub fn in_output(block: &Thing<'_, Block>, output: &str, before: &Fuse, amperes: f64, job: &Job<'_>) -> Vec<Offer> {
    let Some(like) = like(block, before, amperes, job) else { return Vec::new() };
    let fit = ratings_up_to(like.form, amperes, job).into_iter().take(MOST);
    let each = fit.map(|rating| {
        Offer::new(format!("fit {} fuse in the output", words::a(Range::<Current>::point(rating))))
            .set(block.at(format!("outputs.{output}.fuse")), in_words(&like, rating, block, output))
    });
    each.collect()
}

/// The fuse after whose kind one in an output is chosen. Where the block has none yet it becomes one with fuses, and what the
/// fuse before it breaks theirs has to break; a blade where no strip is so small.
fn like(block: &Thing<'_, Block>, before: &Fuse, amperes: f64, job: &Job<'_>) -> Option<Fuse> {
    let fit = |like: &Fuse| like.form.is_some() && !ratings_up_to(like.form, amperes, job).is_empty();
    let others = block.plan().outputs.values().filter_map(|other| other.fuse.as_ref()).cloned();
    let before = Fuse { holder: None, ..before.clone() };
    let blade = Fuse { form: Some(FuseForm::BladeRegular), ..Fuse::default() };
    others.chain([before, blade]).find(fit)
}

/// A fuse of a wire as a plan writes it, so far from the end of its wire; nothing for a breaker, of which a plan says more.
pub fn moved(fuse: &Fuse, distance: Quantity<Length>) -> Option<String> {
    let said = |key: &str, value: Option<String>| value.map(|value| format!("{key}: {value}"));
    let holder = fuse.holder.as_ref().map(|holder| {
        let parts = [
            said("takes", holder.takes.map(|takes| takes.to_string())),
            said("rated", holder.rated.map(|rated| rated.to_string())),
            said("sealed", holder.sealed.map(|sealed| sealed.to_string())),
        ];
        format!("{{{}}}", parts.into_iter().flatten().collect::<Vec<_>>().join(", "))
    });
    let parts = [
        said("form", fuse.form.map(|form| word(&form))),
        said("rating", fuse.rating.map(|rating| rating.to_string())),
        said("distance", Some(distance.to_string())),
        said("voltage", fuse.voltage.map(|voltage| voltage.to_string())),
        said("breaking_capacity", fuse.breaking_capacity.map(|breaks| breaks.to_string())),
        said("resistance", fuse.resistance.map(|resistance| resistance.to_string())),
        said("holder", holder),
    ];
    (!fuse.is_breaker()).then(|| format!("{{{}}}", parts.into_iter().flatten().collect::<Vec<_>>().join(", ")))
}

/// A fuse as a plan writes it.
fn in_words(like: &Fuse, rating: f64, block: &Thing<'_, Block>, output: &str) -> String {
    let takes = block.plan().outputs.get(output).and_then(|output| output.takes);
    let form = like.form.map(|form| format!("form: {}", word(&form)));
    let voltage = like.voltage.map(|voltage| format!("voltage: {voltage}"));
    let breaks = like.breaking_capacity.map(|breaks| format!("breaking_capacity: {breaks}"));
    let holder = like.holder.as_ref().and_then(|holder| {
        let takes = takes.or(holder.takes)?;
        Some(format!("holder: {{takes: {takes}, rated: {}}}", holder.rated?))
    });
    let rating = format!("rating: {}", Range::<Current>::point(rating));
    let parts = [form, Some(rating), voltage, breaks, holder];
    format!("{{{}}}", parts.into_iter().flatten().collect::<Vec<_>>().join(", "))
}

/// A wire that begins at a block's output, neither of which has a fuse.
pub struct Tail<'j, 'a> {
    /// The block.
    pub block: &'j Thing<'a, Block>,
    /// Its output.
    pub output: &'a str,
    /// What the wire carries, in A.
    pub carries: f64,
    /// The wire, by its place in the job's list.
    wire: usize,
}

/// A wire as a tail of a block, where it is one.
pub fn tail<'j, 'a>(wire: usize, carries: f64, job: &'j Job<'a>) -> Option<Tail<'j, 'a>> {
    let (block, output) = bare_output(&job.wires[wire], job)?;
    Some(Tail { block, output, carries, wire })
}

/// The block's output without a fuse at one end of a wire that has none either.
pub fn bare_output<'j, 'a>(wire: &Thing<'a, Wire>, job: &'j Job<'a>) -> Option<(&'j Thing<'a, Block>, &'a str)> {
    let ends = [&wire.plan().from, &wire.plan().to].into_iter().flatten();
    ends.filter(|_| wire.fuse.is_none() && wire.far_fuse.is_none()).find_map(|end| {
        let block = job.blocks.iter().find(|block| block.name == end.thing)?;
        let (output, stated) = block.plan().outputs.get_key_value(&end.terminal)?;
        stated.fuse.is_none().then_some((block, output.as_str()))
    })
}

/// A fuse in the output of every tail, for its wire and its load, and no larger than the maker of what it feeds allows; where
/// no strip is so small, a blade, or else the smallest strip that is made.
pub fn in_each_output(tails: &[Tail<'_, '_>], before: &Fuse, job: &Job<'_>) -> Vec<Offer> {
    let offer = |with_blades: bool| {
        let mut offer = Offer::new("");
        let mut told = Vec::new();
        for tail in tails {
            let (like, rating) = for_tail(tail, before, with_blades, job)?;
            told.push(format!("{} in `{}`", Range::<Current>::point(rating), tail.output));
            let fuse = in_words(&like, rating, tail.block, tail.output);
            offer = offer.set(tail.block.at(format!("outputs.{}.fuse", tail.output)), fuse);
        }
        offer.title = format!("fit a fuse in each output with a thinner wire: {}", words::all(&told));
        Some(offer)
    };
    [offer(true), offer(false)].into_iter().flatten().collect()
}

/// The kind of fuse for a tail and its rating, in A.
fn for_tail(tail: &Tail<'_, '_>, before: &Fuse, with_blades: bool, job: &Job<'_>) -> Option<(Fuse, f64)> {
    let wire = job.wires[tail.wire].plan();
    let fed = [&wire.from, &wire.to].into_iter().flatten().find_map(|end| job.amplifier(&end.thing));
    let maximum = fed.and_then(|amplifier| amplifier.maximum_fuse).map_or(f64::INFINITY, Quantity::base);
    let most = maximum.min(tail.carries);
    let least = job.fuse_asked_in(tail.wire).map_or(0.0, Range::high) * (1.0 - 1e-9);
    let largest = |like: &Fuse| ratings_up_to(like.form, most, job).into_iter().next();
    let like =
        if with_blades { like(tail.block, before, most, job)? } else { like(tail.block, before, tail.carries, job)? };
    let smallest = || ratings(like.form, job).into_iter().find(|rating| *rating <= tail.carries && *rating >= least);
    let rating = largest(&like).or_else(smallest).filter(|rating| *rating >= least)?;
    Some((like, rating))
}

/// Ratings up to so many amperes, the largest first.
fn ratings_up_to(form: Option<FuseForm>, amperes: f64, job: &Job<'_>) -> Vec<f64> {
    ratings(form, job).into_iter().rev().filter(|rating| *rating <= amperes * (1.0 + 1e-9)).collect()
}

fn rated(site: &FuseSite, rating: f64) -> Offer {
    let rating = Range::<Current>::point(rating);
    Offer::new(format!("fit {} {}", words::a(rating), site.fuse.noun())).set(site.place.sub("rating"), rating)
}

fn wire<'j, 'a>(site: &FuseSite, job: &'j Job<'a>) -> Option<&'j Thing<'a, Wire>> {
    match site.host {
        Host::Wire { wire, .. } => job.wires.get(wire),
        Host::Block(_) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::House;
    use crate::quantity::Quantity;

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

    #[test]
    fn a_rating_is_offered_up_to_just_what_is_allowed() {
        let of = |amperes: f64| {
            of(&House::default(), "6 mm2", |job| ratings_up_to(Some(FuseForm::BladeRegular), amperes, job))
        };
        assert_eq!((of(2.0), of(2.9)), (vec![2.0, 1.0], vec![2.0, 1.0]));
    }
}
