//! A plan with places left free: for each free wire the sizes it may have, for each free fuse the ratings.

use std::collections::BTreeMap;

use super::super::change::{AWG, METRIC};
use crate::house::House;
use crate::plan::{Fuse, FuseForm, Plan, Wire, word};
use crate::quantity::{Current, Gauge, Length, Quantity};
use crate::solve::Job;
use crate::solve::protection::{Exposure, ExposureEnd};

/// A wire whose size is free.
#[derive(Debug, Clone)]
pub struct FreeWire {
    /// Its name.
    pub name: String,
    /// What the plan says.
    pub before: Option<Gauge>,
    /// What it may be, thin to thick.
    pub sizes: Vec<Gauge>,
    /// Its length in m; as good as any where it is not stated.
    pub length: f64,
}

/// A fuse whose rating is free.
#[derive(Debug, Clone)]
pub struct FreeFuse {
    /// Its path, like `wires.main.fuse`.
    pub path: String,
    /// What the plan says; `None` for a fuse that it does not have.
    pub before: Option<Fuse>,
    /// The fuse as it would be, but for form and rating.
    pub blank: Fuse,
    /// What it may be, rising.
    pub ratings: Vec<(FuseForm, Quantity<Current>)>,
}

/// A choice: for each free wire and fuse the place in its list.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct State {
    /// Sizes.
    pub wires: Vec<usize>,
    /// Ratings.
    pub fuses: Vec<usize>,
}

/// A plan with places left free.
pub struct Draft<'a> {
    /// The plan as it is.
    pub plan: &'a Plan,
    /// The free wires.
    pub wires: Vec<FreeWire>,
    /// The free fuses.
    pub fuses: Vec<FreeFuse>,
}

/// Which stated sizes and ratings are free besides those that are missing, by path: `wires.main.size`.
pub type Freed = std::collections::BTreeSet<String>;

impl<'a> Draft<'a> {
    /// Everything that is missing or freed.
    pub fn of(plan: &'a Plan, house: &House, freed: &Freed) -> Self {
        let is_free = |path: &str, missing: bool| missing || freed.contains(path);
        let wires =
            plan.wires.iter().filter(|(name, wire)| is_free(&format!("wires.{name}.size"), wire.size.is_none()));
        let wires = wires.map(|(name, wire)| free_wire(name, wire, plan, house)).collect();
        let stated =
            fuses(plan).into_iter().filter(|(path, fuse)| is_free(&format!("{path}.rating"), fuse.rating.is_none()));
        let stated = stated.map(|(path, fuse)| FreeFuse {
            ratings: ratings(fuse.form, house),
            path,
            before: Some(fuse.clone()),
            blank: fuse.clone(),
        });
        let mut fuses: Vec<FreeFuse> = stated.chain(missing_fuses(plan, house)).collect();
        charged(&mut fuses, plan, house);
        Self { plan, wires, fuses }
    }

    /// Whether nothing is free.
    pub fn is_empty(&self) -> bool {
        self.wires.is_empty() && self.fuses.is_empty()
    }

    /// The plan with a choice made.
    pub fn with(&self, state: &State) -> Plan {
        let mut plan = self.plan.clone();
        for (free, at) in self.wires.iter().zip(&state.wires) {
            if let Some(wire) = plan.wires.get_mut(&free.name) {
                wire.size = free.sizes.get(*at).copied();
            }
        }
        for (free, at) in self.fuses.iter().zip(&state.fuses) {
            if let Some(place) = fuse_at(&mut plan, &free.path) {
                let chosen = free.ratings.get(*at);
                let (form, rating) = (chosen.map(|(form, _)| *form), chosen.map(|(_, rating)| *rating));
                *place = Some(Fuse { form: free.blank.form.or(form), rating, ..free.blank.clone() });
            }
        }
        plan
    }

    /// What the text has to say for a choice: paths with values, in the order of the plan's lists.
    pub fn changes(&self, state: &State) -> Vec<(String, String)> {
        let wires = self.wires.iter().zip(&state.wires).filter_map(|(free, at)| {
            let size = free.sizes[*at];
            (free.before != Some(size)).then(|| (format!("wires.{}.size", free.name), size.to_string()))
        });
        let fuses = self.fuses.iter().zip(&state.fuses).flat_map(|(free, at)| written(free, free.ratings[*at]));
        wires.chain(fuses).collect()
    }

    /// The sizes of a free wire as areas, in mm2.
    pub fn area(&self, wire: usize, size: usize) -> f64 {
        self.wires[wire].sizes[size].square_millimetres()
    }
}

fn written(free: &FreeFuse, (form, rating): (FuseForm, Quantity<Current>)) -> Vec<(String, String)> {
    let at = |key: &str| format!("{}.{key}", free.path);
    match &free.before {
        Some(before) if *before != Fuse::default() => {
            let form = before.form.is_none().then(|| (at("form"), word(&form)));
            let rating = (before.rating != Some(rating)).then(|| (at("rating"), rating.to_string()));
            form.into_iter().chain(rating).collect()
        }
        _ => {
            let distance = free.blank.distance.map(|distance| format!(", distance: {distance}")).unwrap_or_default();
            vec![(free.path.clone(), format!("{{form: {}, rating: {rating}{distance}}}", word(&form)))]
        }
    }
}

/// All fuses of the supply, by path.
pub fn fuses(plan: &Plan) -> Vec<(String, &Fuse)> {
    let of_wires = plan.wires.iter().flat_map(|(name, wire)| {
        let fuses = [("fuse", &wire.fuse), ("far_fuse", &wire.far_fuse)];
        fuses.into_iter().filter_map(move |(key, fuse)| Some((format!("wires.{name}.{key}"), fuse.as_ref()?)))
    });
    let of_blocks = plan.blocks.iter().flat_map(|(block, is)| {
        is.outputs
            .iter()
            .filter_map(move |(output, is)| Some((format!("blocks.{block}.outputs.{output}.fuse"), is.fuse.as_ref()?)))
    });
    of_wires.chain(of_blocks).collect()
}

fn fuse_at<'p>(plan: &'p mut Plan, path: &str) -> Option<&'p mut Option<Fuse>> {
    let segments: Vec<&str> = path.split('.').collect();
    match segments.as_slice() {
        ["wires", name, "fuse"] => plan.wires.get_mut(*name).map(|wire| &mut wire.fuse),
        ["wires", name, "far_fuse"] => plan.wires.get_mut(*name).map(|wire| &mut wire.far_fuse),
        ["blocks", block, "outputs", output, "fuse"] => {
            let outputs: &mut BTreeMap<_, _> = &mut plan.blocks.get_mut(*block)?.outputs;
            outputs.get_mut(*output).map(|output| &mut output.fuse)
        }
        _ => None,
    }
}

fn free_wire(name: &str, wire: &Wire, plan: &Plan, house: &House) -> FreeWire {
    let mut sizes = sizes(wire.size, plan, house);
    // What is there already may stay, whether the house keeps it or not.
    sizes.extend(wire.size.filter(|size| !sizes.contains(size)));
    sizes.sort_by(|one, other| one.square_millimetres().total_cmp(&other.square_millimetres()));
    FreeWire { name: name.to_owned(), before: wire.size, sizes, length: wire.length.map_or(1.0, Quantity::base) }
}

/// What the house keeps; otherwise what is made, in the system that the plan is written in.
fn sizes(size: Option<Gauge>, plan: &Plan, house: &House) -> Vec<Gauge> {
    if !house.stock.wires.is_empty() {
        return house.stock.wires.clone();
    }
    let wires = plan.wires.values().filter_map(|wire| wire.size);
    let terminals = plan.amplifiers.values().filter_map(|amplifier| amplifier.terminals.as_ref()?.power);
    let blocks = plan.blocks.values().filter_map(|block| block.takes);
    match size.into_iter().chain(wires).chain(terminals).chain(blocks).next() {
        Some(Gauge::Metric(_)) => METRIC.into_iter().map(Gauge::Metric).collect(),
        _ => AWG.into_iter().map(Gauge::Awg).collect(),
    }
}

/// Forms by how much they break; a strip breaks more than a blade.
const FORMS: [FuseForm; 4] =
    [FuseForm::BoltDown, FuseForm::BladeLarge, FuseForm::BladeRegular, FuseForm::BladeMiniature];

/// The ratings of a form that the house keeps, or else that are made. Where the form is free too, each rating comes in
/// the first form that has it.
fn ratings(form: Option<FuseForm>, house: &House) -> Vec<(FuseForm, Quantity<Current>)> {
    let of = |form: FuseForm| -> Vec<(FuseForm, Quantity<Current>)> {
        let made = || form.ratings().iter().filter_map(|rating| Quantity::read(&format!("{rating} A")).ok()).collect();
        let kept: Vec<Quantity<Current>> = house.stock.ratings(form).map_or_else(made, <[_]>::to_vec);
        kept.into_iter().map(|rating| (form, rating)).collect()
    };
    if let Some(form) = form {
        return of(form);
    }
    let stocked: Vec<FuseForm> = FORMS.into_iter().filter(|form| house.stock.ratings(*form).is_some()).collect();
    let forms = if stocked.is_empty() { FORMS.to_vec() } else { stocked };
    let mut all: Vec<(FuseForm, Quantity<Current>)> = Vec::new();
    for (form, rating) in forms.into_iter().flat_map(of) {
        if !all.iter().any(|(_, known)| known.base() == rating.base()) {
            all.push((form, rating));
        }
    }
    all.sort_by(|one, other| one.1.base().total_cmp(&other.1.base()));
    all
}

/// In line with a relay or switch between two batteries a fuse is chosen by what that is made for: the largest within it,
/// since an empty battery takes more than any amplifier behind it.
fn charged(fuses: &mut [FreeFuse], plan: &Plan, house: &House) {
    let job = Job::new(plan, house);
    for (name, isolator) in &plan.isolators {
        let Some(rated) = isolator.rated.filter(|_| !isolator.limits_current()) else { continue };
        let link = job.charge_link(name);
        let wires = link.wires.iter().map(|wire| job.wires[*wire].place().path());
        let outputs =
            link.outputs.iter().map(|(block, output)| job.blocks[*block].at(format!("outputs.{output}")).path());
        let hosts: Vec<String> = wires.chain(outputs).filter(|_| link.is_between_batteries).collect();
        let in_line =
            |free: &&mut FreeFuse| free.path.rsplit_once('.').is_some_and(|(host, _)| hosts.iter().any(|h| h == host));
        for free in fuses.iter_mut().filter(in_line) {
            let within = free.ratings.iter().rposition(|(_, rating)| rating.base() <= rated.base());
            free.ratings.drain(..within.unwrap_or(0));
        }
    }
}

/// A fuse at every end of a wire that a battery feeds without one.
fn missing_fuses(plan: &Plan, house: &House) -> Vec<FreeFuse> {
    let job = Job::new(plan, house);
    let limit = house.limits.fuse_distance.base();
    let mut found: Vec<FreeFuse> = Vec::new();
    for run in &job.protection().exposures {
        let Some(wire) = run.wires.first().and_then(|first| job.wires.get(*first)) else { continue };
        let far = is_at_far_end(&job, run, wire);
        let there = if far { wire.far_fuse.is_some() } else { wire.fuse.is_some() };
        // A fuse may sit in the next wire, near enough to the battery; how near it is the plan may not tell yet.
        let near_enough = match (run.end, &run.length) {
            (ExposureEnd::Fuse(_), Ok(length)) => length.high() <= limit,
            (ExposureEnd::Fuse(_), Err(_)) => run.wires.len() > 1,
            (ExposureEnd::Battery | ExposureEnd::Gear, _) => false,
        };
        let path = format!("wires.{}.{}", wire.name, if far { "far_fuse" } else { "fuse" });
        if !there && !near_enough && !found.iter().any(|known| known.path == path) {
            let blank = Fuse { distance: Some(distance(limit, wire.length)), ..Fuse::default() };
            found.push(FreeFuse { path, before: None, blank, ratings: ratings(None, house) });
        }
    }
    found
}

fn is_at_far_end(job: &Job<'_>, run: &Exposure, wire: &Wire) -> bool {
    let feeder = job.protection().feeders[run.source].place.path();
    let battery = feeder.rsplit('.').next().unwrap_or_default();
    wire.to.as_ref().is_some_and(|to| to.is(battery, "positive"))
}

/// The farthest from the battery that the house allows, and no farther than the middle of the wire, in whole
/// centimetres: where a holder fits nobody knows but who stands at the vehicle.
fn distance(limit: f64, length: Option<Quantity<Length>>) -> Quantity<Length> {
    let most = length.map_or(limit, |length| limit.min(length.base() / 2.0));
    let centimetres = (most * 100.0 + 1e-9).floor().max(1.0);
    Quantity::read(&format!("{centimetres} cm")).unwrap_or(Quantity::new(most))
}
