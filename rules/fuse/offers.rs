//! Fuses that rules offer.

use crate::judge::Offer;
use crate::plan::{Block, Fuse, FuseForm, word};
use crate::quantity::{Current, Range};
use crate::rules::wire::site::thicker;
use crate::solve::protection::{FuseSite, Host, Way};
use crate::solve::{Job, Thing};
use crate::words;

/// What helps where a small fuse does not break the short behind it: there is a run to be made longer or thinner only where
/// another fuse stands before it.
pub fn elsewhere(fuse: usize, job: &Job<'_>) -> &'static str {
    let is_behind = |way: &Way| way.fuses.iter().position(|other| *other == fuse).is_some_and(|at| at > 0);
    if job.protection().ways.iter().any(is_behind) {
        "take this feed from the vehicle's fuse box, or bring the current down with a longer or thinner run between the \
         battery's fuse and this one"
    } else {
        "take this feed from the vehicle's fuse box"
    }
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

/// Smaller fuses in the place of one, up to so many amperes, the largest first.
pub fn at_most(site: &FuseSite, amperes: f64, job: &Job<'_>) -> Vec<Offer> {
    let fit = ratings(site.fuse.form, job).into_iter().rev().filter(|rating| *rating <= amperes * (1.0 + 1e-9));
    fit.take(MOST).map(|rating| rated(site, rating)).collect()
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

/// A fuse in a block's output, up to so many amperes, of the kind that another output of the block has.
pub fn in_output(block: &Thing<'_, Block>, output: &str, amperes: f64, job: &Job<'_>) -> Vec<Offer> {
    let outputs = &block.plan().outputs;
    let others = outputs.values().filter_map(|other| other.fuse.as_ref());
    let fit = |like: &&Fuse| !ratings_up_to(like.form, amperes, job).is_empty();
    let Some(like) = others.filter(|other| other.form.is_some()).find(fit) else { return Vec::new() };
    let takes = outputs.get(output).and_then(|output| output.takes);
    let each = ratings_up_to(like.form, amperes, job).into_iter().take(MOST).map(|rating| {
        let rating = Range::<Current>::point(rating);
        let form = like.form.map(|form| format!("form: {}", word(&form)));
        let voltage = like.voltage.map(|voltage| format!("voltage: {voltage}"));
        let breaks = like.breaking_capacity.map(|breaks| format!("breaking_capacity: {breaks}"));
        let holder = like.holder.as_ref().and_then(|holder| {
            let takes = takes.or(holder.takes)?;
            Some(format!("holder: {{takes: {takes}, rated: {}}}", holder.rated?))
        });
        let parts = [form, Some(format!("rating: {rating}")), voltage, breaks, holder];
        let fuse = parts.into_iter().flatten().collect::<Vec<_>>().join(", ");
        Offer::new(format!("fit {} fuse in the output", words::a(rating)))
            .set(block.at(format!("outputs.{output}.fuse")), format!("{{{fuse}}}"))
    });
    each.collect()
}

fn ratings_up_to(form: Option<FuseForm>, amperes: f64, job: &Job<'_>) -> Vec<f64> {
    ratings(form, job).into_iter().rev().filter(|rating| *rating <= amperes * (1.0 + 1e-9)).collect()
}

fn rated(site: &FuseSite, rating: f64) -> Offer {
    let rating = Range::<Current>::point(rating);
    Offer::new(format!("fit {} {}", words::a(rating), site.fuse.noun())).set(site.place.sub("rating"), rating)
}

fn wire<'j, 'a>(site: &FuseSite, job: &'j Job<'a>) -> Option<&'j Thing<'a, crate::plan::Wire>> {
    match site.host {
        Host::Wire { wire, .. } => job.wires.get(wire),
        Host::Block(_) => None,
    }
}
