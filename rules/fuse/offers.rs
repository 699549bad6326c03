//! Fuses that rules offer.

use crate::judge::Offer;
use crate::plan::FuseForm;
use crate::quantity::{Current, Range};
use crate::rules::wire::site::thicker;
use crate::solve::facts::sub;
use crate::solve::protection::{FuseSite, Host};
use crate::solve::{Job, Thing};
use crate::words;

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

fn rated(site: &FuseSite, rating: f64) -> Offer {
    let rating = Range::<Current>::point(rating);
    Offer::new(format!("fit {} {}", words::a(rating), site.fuse.noun())).set(sub(&site.place, "rating"), rating)
}

fn wire<'j, 'a>(site: &FuseSite, job: &'j Job<'a>) -> Option<&'j Thing<'a, crate::plan::Wire>> {
    match site.host {
        Host::Wire { wire, .. } => job.wires.get(wire),
        Host::Block(_) => None,
    }
}
