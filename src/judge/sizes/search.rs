//! The search for the least copper that holds.

use std::collections::BTreeMap;

use super::super::check::Check;
use super::draft::{Draft, FreeWire, State};
use super::least::{Item, Problem, Shared};
use super::trial::{Name, Part, Sizing, Trial, name};
use crate::house::House;
use crate::plan::{FuseForm, Terminal, Wire};
use crate::quantity::Quantity;
use crate::solve::{Case, Decided, Job, Undecided, all};

/// Why there is no choice.
pub enum Stopped {
    /// Facts have to be stated first; a sentence.
    Needs(String),
    /// Nothing that is known draws through these, by path of what the plan states of them: they stay as they are.
    Idle(Vec<String>),
    /// These checks cannot hold.
    Checks {
        /// The checks.
        checks: Vec<Check>,
        /// What stands in the way of which wire, in sentences.
        told: Vec<String>,
    },
}

impl Stopped {
    /// By checks, with nothing that might be chosen.
    pub fn by(checks: Vec<Check>) -> Self {
        let told = checks.iter().map(super::told).collect();
        Self::Checks { checks, told }
    }
}

/// How often what the choices take is measured anew.
const MEASURES: usize = 8;
/// More steps than any vehicle needs, from the thinnest wires to the thickest.
const STEPS: usize = 400;
/// Less than this is no current, in A.
const NOTHING: f64 = 0.001;

/// The search on one draft.
pub struct Search<'a> {
    draft: &'a Draft<'a>,
    house: &'a House,
    trial: Trial<'a>,
}

/// The thinnest and the thickest that each free wire can be.
struct Bounds {
    least: State,
    most: State,
}

impl<'a> Search<'a> {
    /// Nothing is tried yet.
    pub fn new(draft: &'a Draft<'a>, house: &'a House, sizing: Sizing<'a>) -> Self {
        Self { draft, house, trial: Trial::new(draft, house, sizing) }
    }

    /// The choice, with what was left.
    ///
    /// # Errors
    /// Why there is none.
    pub fn run(&self) -> Result<(State, Vec<Check>), Stopped> {
        let last = |count: usize| count - 1;
        let top = State {
            wires: self.draft.wires.iter().map(|free| last(free.sizes.len())).collect(),
            fuses: self.draft.fuses.iter().map(|free| last(free.ratings.len())).collect(),
        };
        let asked = self.asked(&top)?;
        let mut least_fuses = self.sturdy(&top, self.smallest(&asked)?);
        // A thinner wire takes a little more current, which may ask for the next fuse; a fuse is only ever made larger.
        for _ in 0..STEPS {
            let bounds = self.bounds(&top, &least_fuses, &asked)?;
            let state = self.least(&bounds);
            let unheld = self.trial.unheld(&state);
            if unheld.is_empty() {
                let left = self.trial.all(&state).into_iter().filter(|check| self.trial.is_left(check)).collect();
                return Ok((state, left));
            }
            let fuse = unheld.iter().find_map(|check| self.larger_fuse(check, &state));
            let Some(fuse) = fuse else { return Err(self.stopped(unheld, &bounds.most)) };
            least_fuses[fuse] = state.fuses[fuse] + 1;
        }
        Err(Stopped::Needs("wires and fuses ask for each other without end: state one of the fuses".to_owned()))
    }

    fn larger_fuse(&self, check: &Check, state: &State) -> Option<usize> {
        let most = |part: Part| self.trial.count(part) - 1;
        let helping = self.trial.helper(check, state, true, &most);
        helping.into_iter().find_map(|part| if let Part::Fuse(fuse) = part { Some(fuse) } else { None })
    }

    /// What must flow through each free fuse and each free wire, at least.
    fn asked(&self, top: &State) -> Result<Asked, Stopped> {
        let plan = self.draft.with(top);
        let job = Job::new(&plan, self.house);
        if let Err(Undecided::Open(places)) = job.supply()
            && !places.is_empty()
        {
            return Err(Stopped::Needs(super::needs(&places)));
        }
        // With the engine off a second battery may feed what the alternator feeds otherwise.
        let wires = self.draft.wires.iter().map(|free| {
            let off = current(&job, &free.name, Case::OffProgramme).unwrap_or(0.0);
            Ok(current(&job, &free.name, Case::IdleProgramme)?.max(off))
        });
        let fuses = self.draft.fuses.iter().map(|free| {
            let site = job.protection().fuses.iter().position(|site| site.place.path() == free.path);
            let site = site.ok_or(Undecided::NotApplicable("the fuse joins nothing"))?;
            Ok(job.fuse_asked(site)?.asked.high())
        });
        let of = |found: Decided<Vec<f64>>| match found {
            Ok(currents) => Ok(currents),
            Err(Undecided::Open(places)) if !places.is_empty() => Err(Stopped::Needs(super::needs(&places))),
            Err(Undecided::NotApplicable(why)) if self.trial.unheld(top).is_empty() => {
                Err(Stopped::Needs(why.to_owned()))
            }
            Err(_) => Err(self.stopped(self.trial.unheld(top), top)),
        };
        let asked = Asked { wires: of(all(wires))?, fuses: of(all(fuses))? };
        let carries =
            |wire: &str| Case::ALL.iter().any(|case| current(&job, wire, *case).is_ok_and(|amperes| amperes > NOTHING));
        let idle = self.draft.wires.iter().filter(|free| free.before.is_some() && !carries(&free.name));
        let idle = idle.map(|free| format!("wires.{}.size", free.name));
        let fuses = self.draft.fuses.iter().zip(&asked.fuses).filter(|(free, amperes)| {
            **amperes <= NOTHING && free.before.as_ref().is_some_and(|before| before.rating.is_some())
        });
        let idle: Vec<String> = idle.chain(fuses.map(|(free, _)| format!("{}.rating", free.path))).collect();
        if !idle.is_empty() {
            return Err(Stopped::Idle(idle));
        }
        if let Some(free) = self.draft.wires.iter().find(|free| !carries(&free.name)) {
            let what = format!("nothing that testlamp knows of draws through wires.{}: state its size", free.name);
            return Err(Stopped::Needs(what));
        }
        Ok(asked)
    }

    /// The smallest rating of each free fuse that what it feeds does not open.
    fn smallest(&self, asked: &Asked) -> Result<Vec<usize>, Stopped> {
        let mut fuses = Vec::new();
        for (free, asked) in self.draft.fuses.iter().zip(&asked.fuses) {
            let enough = free.ratings.iter().position(|(_, rating)| rating.base() >= asked * (1.0 - 1e-9));
            let largest = free.ratings.last().map_or_else(|| "none".to_owned(), |(_, rating)| rating.to_string());
            let Some(enough) = enough else {
                let asked = Quantity::<crate::quantity::Current>::new((asked * 10.0).ceil() / 10.0);
                let what =
                    format!("no fuse at {} is large enough: {asked} is asked, the largest is {largest}", free.path);
                return Err(Stopped::Checks { checks: Vec::new(), told: vec![what] });
            };
            fuses.push(enough);
        }
        Ok(fuses)
    }

    /// Strips where the form is free and the rating may be as large: a strip breaks a short beside a battery that a blade
    /// does not.
    fn sturdy(&self, top: &State, mut fuses: Vec<usize>) -> Vec<usize> {
        for (fuse, free) in self.draft.fuses.iter().enumerate().filter(|(_, free)| free.blank.form.is_none()) {
            let strip = free.ratings.iter().skip(fuses[fuse]).position(|(form, _)| *form == FuseForm::BoltDown);
            let Some(strip) = strip.map(|further| fuses[fuse] + further) else { continue };
            let state = State { wires: top.wires.clone(), fuses: fuses.clone() }.with(Part::Fuse(fuse), strip);
            let too_large = |check: &Check| self.trial.helper(check, &state, false, &|_| 0).contains(&Part::Fuse(fuse));
            if !self.trial.unheld_locally(&state).iter().any(too_large) {
                fuses[fuse] = strip;
            }
        }
        fuses
    }

    /// The thickest and the thinnest that can be, with these fuses at least.
    fn bounds(&self, top: &State, fuses: &[usize], asked: &Asked) -> Result<Bounds, Stopped> {
        let most = self.capped(State { wires: top.wires.clone(), fuses: fuses.to_vec() });
        let mut least = State { wires: self.carrying(&most, asked), fuses: fuses.to_vec() };
        self.keep_stated(&mut least, &most);
        let least = self.raised(least, &most);
        // The ratings may have grown: what is thickest is judged with them.
        let most = State { fuses: least.fuses.clone(), ..most };
        let unheld = self.trial.unheld(&most);
        if !unheld.is_empty()
            && let Some(fuses) = self.better_fuses(&most)
        {
            return self.bounds(top, &fuses, asked);
        }
        let stands = self.trial.leave(unheld);
        if stands.is_empty() { Ok(Bounds { least, most }) } else { Err(self.stopped(stands, &most)) }
    }

    /// Larger fuses with which the thickest wires hold everything: a larger fuse resists less.
    fn better_fuses(&self, most: &State) -> Option<Vec<usize>> {
        let mut state = most.clone();
        for _ in 0..STEPS {
            let checks = self.trial.unheld(&state);
            if checks.is_empty() {
                return Some(state.fuses);
            }
            let lacking = |state: &State| -> Option<f64> {
                let margins = self.trial.margins(&self.trial.all(state));
                checks.iter().map(|check| margins.get(&name(check)).map(|margin| margin.min(0.0))).sum()
            };
            let larger =
                (0..state.fuses.len()).filter(|fuse| state.fuses[*fuse] + 1 < self.trial.count(Part::Fuse(*fuse)));
            let tried = larger.map(|fuse| self.raised(state.with(Part::Fuse(fuse), state.fuses[fuse] + 1), &state));
            let tried = tried.filter(|other| self.trial.unheld_locally(other).is_empty());
            let best = tried
                .filter_map(|other| Some((lacking(&other)?, other)))
                .max_by(|one, other| one.0.total_cmp(&other.0));
            match best {
                Some((lacks, better)) if lacks > lacking(&state)? + 1e-6 => state = better,
                _ => return None,
            }
        }
        None
    }

    /// The thickest wires that go where they have to.
    fn capped(&self, mut state: State) -> State {
        for _ in 0..STEPS {
            let unheld = self.trial.unheld_locally(&state);
            let thinner = unheld.iter().flat_map(|check| self.trial.helper(check, &state, false, &|_| 0));
            let mut thinner: Vec<Part> = thinner.filter(|part| matches!(part, Part::Wire(_))).collect();
            thinner.sort_unstable();
            thinner.dedup();
            if thinner.is_empty() {
                break;
            }
            for part in thinner {
                state = state.with(part, state.at(part) - 1);
            }
        }
        state
    }

    /// For each wire the thinnest size that carries what flows, and the fuse that alone protects it.
    fn carrying(&self, most: &State, asked: &Asked) -> Vec<usize> {
        let plan = self.draft.with(most);
        let over = self.house.limits.fuse_over_ampacity.base();
        let mut wanted: BTreeMap<String, f64> = BTreeMap::new();
        let job = Job::new(&plan, self.house);
        for (at, site) in job.protection().fuses.iter().enumerate() {
            let rating = site.fuse.rating.map_or(0.0, Quantity::base) / over;
            for wire in job.protected_by(at) {
                let known = wanted.entry(job.wires[wire].name.to_owned()).or_default();
                *known = known.max(rating);
            }
        }
        let carries = |wire: usize, size: usize| {
            let plan = self.draft.with(&most.with(Part::Wire(wire), size));
            let job = Job::new(&plan, self.house);
            let thing = job.wire(&self.draft.wires[wire].name);
            thing.and_then(|thing| job.ampacity(thing).ok()).map_or(0.0, |carries| carries.ampacity.low())
        };
        let thinnest = |wire: usize| {
            let fused = wanted.get(&self.draft.wires[wire].name).copied().unwrap_or(0.0);
            let wanted = fused.max(asked.wires[wire]) * (1.0 - 1e-9);
            // A thicker wire never carries less.
            let sizes: Vec<usize> = (0..=most.wires[wire]).collect();
            sizes.partition_point(|size| carries(wire, *size) < wanted).min(most.wires[wire])
        };
        (0..self.draft.wires.len()).map(thinnest).collect()
    }

    /// A wire that is there already is not exchanged for a thinner one, unless it does not go in.
    fn keep_stated(&self, least: &mut State, most: &State) {
        for (at, free) in self.draft.wires.iter().enumerate() {
            let stated = free.before.and_then(|before| free.sizes.iter().position(|size| *size == before));
            least.wires[at] = least.wires[at].max(stated.unwrap_or(0)).min(most.wires[at]);
        }
    }

    /// Raises whatever brings a check nearer, until nothing does.
    fn raised(&self, mut state: State, most: &State) -> State {
        let limit = |part: Part| match part {
            Part::Wire(at) => most.wires[at],
            Part::Fuse(_) => self.trial.count(part) - 1,
        };
        for _ in 0..STEPS {
            let unheld = self.trial.unheld_locally(&state);
            let raised =
                unheld.iter().filter_map(|check| self.trial.helper(check, &state, true, &limit).first().copied());
            let mut raised: Vec<Part> = raised.collect();
            raised.sort_unstable();
            raised.dedup();
            if raised.is_empty() {
                break;
            }
            for part in raised {
                state = state.with(part, state.at(part) + 1);
            }
        }
        state
    }

    /// The least copper between the bounds: on what is measured, then as the rules have it. An amplifier's feed and return
    /// are one size where that holds.
    fn least(&self, bounds: &Bounds) -> State {
        let even = self.mates(bounds);
        if !even.is_empty() {
            let least = evened(&bounds.least, &even);
            if self.holds(&least) {
                return least;
            }
            let even_bounds = Bounds { least, most: bounds.most.clone() };
            let found = self.measured(&even_bounds, &even).map(|found| evened(&found, &even));
            if let Some(found) = found.filter(|found| self.holds(found)) {
                return self.thinned(found, &even_bounds, &even);
            }
        }
        if self.holds(&bounds.least) {
            return bounds.least.clone();
        }
        let found = self.measured(bounds, &[]).unwrap_or_else(|| bounds.most.clone());
        self.thinned(found, bounds, &[])
    }

    /// The feed and the return of each amplifier that has one of each, where the plan states neither size and one size can
    /// do for both.
    fn mates(&self, bounds: &Bounds) -> Vec<(usize, usize)> {
        let only = |end: fn(&Wire) -> Option<&Terminal>, amplifier: &str, terminal: &str| {
            let is_there = |free: &FreeWire| {
                self.draft.plan.wires.get(&free.name).and_then(end).is_some_and(|end| end.is(amplifier, terminal))
            };
            let mut found = self.draft.wires.iter().enumerate().filter(|(_, free)| is_there(free));
            found.next().filter(|_| found.next().is_none()).map(|(at, _)| at)
        };
        let pairs = self.draft.plan.amplifiers.keys().filter_map(|amplifier| {
            let feed = only(|wire| wire.to.as_ref(), amplifier, "power")?;
            Some((feed, only(|wire| wire.from.as_ref(), amplifier, "ground")?))
        });
        let can = |(feed, back): &(usize, usize)| {
            let (one, other) = (&self.draft.wires[*feed], &self.draft.wires[*back]);
            let thickest = bounds.most.wires[*feed].min(bounds.most.wires[*back]);
            let is_chosen = one.before.is_none() && other.before.is_none() && one.sizes == other.sizes;
            is_chosen && bounds.least.wires[*feed].max(bounds.least.wires[*back]) <= thickest
        };
        pairs.filter(can).collect()
    }

    /// Whether all holds but what a larger fuse may mend.
    fn holds(&self, state: &State) -> bool {
        self.trial.unheld(state).iter().all(|check| self.larger_fuse(check, state).is_some())
    }

    fn measured(&self, bounds: &Bounds, even: &[(usize, usize)]) -> Option<State> {
        let free: Vec<usize> =
            (0..self.draft.wires.len()).filter(|at| bounds.least.wires[*at] < bounds.most.wires[*at]).collect();
        let top = self.trial.margins(&self.trial.all(&bounds.most));
        let weights: Vec<BTreeMap<Name, f64>> = free.iter().map(|wire| self.weights(*wire, bounds, &top)).collect();
        let mut names: Vec<Name> = weights.iter().flat_map(|weights| weights.keys().cloned()).collect();
        names.sort();
        names.dedup();
        let shared = names.iter().map(|name| Shared {
            left: top.get(name).copied().unwrap_or(0.0),
            weights: weights.iter().map(|weights| weights.get(name).copied().unwrap_or(0.0)).collect(),
        });
        let items: Vec<Item> = free.iter().map(|wire| self.item(*wire, bounds)).collect();
        let shared = shared.map(|shared| without_trifles(shared, &items)).collect();
        let place = |wire: usize| free.iter().position(|other| *other == wire);
        let both = even
            .iter()
            .filter_map(|(feed, back)| Some([(place(*feed)?, place(*back)?), (place(*back)?, place(*feed)?)]));
        let no_thinner = self.pairs(&free, bounds).into_iter().chain(both.flatten()).collect();
        let mut problem = Problem { items, shared, no_thinner };
        for _ in 0..MEASURES {
            let sizes = problem.least()?;
            let mut state = bounds.least.clone();
            for (wire, size) in free.iter().zip(&sizes) {
                state.wires[*wire] = bounds.least.wires[*wire] + size;
            }
            let state = evened(&self.raised(state, &bounds.most), even);
            if self.holds(&state) {
                return Some(state);
            }
            // Heat and the amplifiers' hunger bend the straight lines: from here on they start where it was measured.
            let margins = self.trial.margins(&self.trial.all(&state));
            let mut moved = false;
            for (shared, name) in problem.shared.iter_mut().zip(&names) {
                let taken: f64 = problem
                    .items
                    .iter()
                    .zip(&free)
                    .zip(&shared.weights)
                    .map(|((item, wire), weight)| weight * item.excess[state.wires[*wire] - bounds.least.wires[*wire]])
                    .sum();
                let Some(margin) = margins.get(name) else { continue };
                // Never towards more than was found to be left.
                let left = (margin + taken).min(shared.left);
                moved |= left < shared.left - 1e-9;
                shared.left = left;
            }
            if !moved {
                return None;
            }
        }
        None
    }

    /// What a unit of a wire's excess takes of every margin.
    fn weights(&self, wire: usize, bounds: &Bounds, top: &BTreeMap<Name, f64>) -> BTreeMap<Name, f64> {
        let (mut thin, thick) = (bounds.least.wires[wire], bounds.most.wires[wire]);
        while thin < thick {
            let margins = self.trial.margins(&self.trial.all(&bounds.most.with(Part::Wire(wire), thin)));
            // Where nothing flows any more, nothing is measured.
            if top.keys().all(|name| margins.contains_key(name)) || thin + 1 == thick {
                let excess = 1.0 / self.draft.area(wire, thin) - 1.0 / self.draft.area(wire, thick);
                let taken = top
                    .iter()
                    .filter_map(|(name, before)| Some((name.clone(), (before - margins.get(name)?) / excess)));
                return taken.filter(|(_, weight)| *weight > 1e-9).collect();
            }
            thin = (thin + thick).div_ceil(2).min(thick - 1);
        }
        BTreeMap::new()
    }

    fn item(&self, wire: usize, bounds: &Bounds) -> Item {
        let sizes: Vec<usize> = (bounds.least.wires[wire]..=bounds.most.wires[wire]).collect();
        let areas: Vec<f64> = sizes.iter().map(|size| self.draft.area(wire, *size)).collect();
        let thickest = areas.last().copied().unwrap_or(1.0);
        let length = self.draft.wires[wire].length;
        Item {
            costs: areas.iter().map(|area| area * length).collect(),
            excess: areas.iter().map(|area| 1.0 / area - 1.0 / thickest).collect(),
            areas,
        }
    }

    /// Pairs of free wires of which the second must follow when the first gets thicker.
    fn pairs(&self, free: &[usize], bounds: &Bounds) -> Vec<(usize, usize)> {
        let unheld = |state: &State| -> Vec<Check> { self.trial.unheld_locally(state) };
        let before: Vec<Name> = unheld(&bounds.least).iter().map(name).collect();
        let mut pairs = Vec::new();
        for (at, wire) in free.iter().enumerate() {
            let state = bounds.least.with(Part::Wire(*wire), bounds.most.wires[*wire]);
            for check in unheld(&state).iter().filter(|check| !before.contains(&name(check))) {
                let parts = self.trial.parts(check);
                let others =
                    free.iter().enumerate().filter(|(_, other)| *other != wire && parts.contains(&Part::Wire(**other)));
                pairs.extend(others.map(|(other, _)| (at, other)));
            }
        }
        pairs
    }

    /// Thinner wires, one size at a time, the most copper first, as long as all holds. Of two that are to be one size both
    /// get thinner.
    fn thinned(&self, mut state: State, bounds: &Bounds, even: &[(usize, usize)]) -> State {
        let with = |wire: usize| even.iter().find(|(feed, _)| *feed == wire).map(|(_, back)| *back);
        let follows = |wire: usize| even.iter().any(|(_, back)| *back == wire);
        let can = |state: &State, wire: usize| state.wires[wire] > bounds.least.wires[wire];
        let saved = |state: &State, wire: usize| {
            let of = |wire: usize| {
                let area = |size| self.draft.area(wire, size);
                (area(state.wires[wire]) - area(state.wires[wire] - 1)) * self.draft.wires[wire].length
            };
            of(wire) + with(wire).map_or(0.0, of)
        };
        let (mut stuck, mut waiting) = (vec![false; self.draft.wires.len()], Vec::new());
        loop {
            let open = (0..stuck.len()).filter(|wire| !stuck[*wire] && !follows(*wire) && can(&state, *wire));
            let open = open.filter(|wire| with(*wire).is_none_or(|other| can(&state, other)));
            let next = open.max_by(|one, other| saved(&state, *one).total_cmp(&saved(&state, *other)));
            let Some(wire) = next else { return state };
            let both = std::iter::once(wire).chain(with(wire));
            let thinner = both.fold(state.clone(), |state, wire| state.with(Part::Wire(wire), state.wires[wire] - 1));
            if !self.trial.unheld_locally(&thinner).is_empty() {
                waiting.push(wire);
            } else if self.trial.unheld(&thinner).is_empty() {
                state = thinner;
                // A return that had to match its feed may follow it now.
                for wire in waiting.drain(..) {
                    stuck[wire] = false;
                }
                continue;
            }
            // A thicker wire never makes the supply worse, so a drop that does not hold now will not hold with less.
            stuck[wire] = true;
        }
    }

    /// What stands in the way, and of which wire.
    fn stopped(&self, checks: Vec<Check>, most: &State) -> Stopped {
        let told = checks.iter().map(|check| self.obstacle(check, most)).collect();
        Stopped::Checks { checks, told }
    }

    fn obstacle(&self, check: &Check, most: &State) -> String {
        let named = self.trial.parts(check).into_iter().filter_map(|part| match part {
            Part::Wire(at) => Some(at),
            Part::Fuse(_) => None,
        });
        let mut wires: Vec<usize> = named.collect();
        if wires.is_empty() {
            wires = (0..self.draft.wires.len()).collect();
        }
        // Each up to its own size: the figure is the one with these.
        let mut tried: Vec<String> =
            wires.iter().map(|wire| self.draft.wires[*wire].sizes[most.wires[*wire]].to_string()).collect();
        tried.dedup();
        let paths: Vec<String> = wires.iter().map(|wire| format!("wires.{}", self.draft.wires[*wire].name)).collect();
        let title = check.finding.as_ref().map_or(check.rule.summary(), |finding| finding.title.as_str());
        let capped = wires.iter().any(|wire| most.wires[*wire] + 1 < self.draft.wires[*wire].sizes.len());
        let capped = match (capped, self.house.stock.wires.is_empty()) {
            (true, true) => ", the thickest that goes in,",
            (true, false) => ", the thickest in stock that goes in,",
            (false, false) => ", the thickest in stock,",
            (false, true) => "",
        };
        let code = check.rule.code;
        match tried.as_slice() {
            [] => super::told(check),
            [size] => format!("no size up to {size}{capped} holds {code} for {}: {title}", crate::words::all(&paths)),
            _ => {
                let each = |(path, wire): (&String, &usize)| {
                    format!("{path} ({})", self.draft.wires[*wire].sizes[most.wires[*wire]])
                };
                let each: Vec<String> = paths.iter().zip(&wires).map(each).collect();
                format!("no sizes up to these{capped} hold {code} for {}: {title}", crate::words::all(&each))
            }
        }
    }
}

/// Of two wires that are to be one size the thinner is as thick as the other.
fn evened(state: &State, even: &[(usize, usize)]) -> State {
    let mut state = state.clone();
    for (feed, back) in even {
        let size = state.wires[*feed].max(state.wires[*back]);
        (state.wires[*feed], state.wires[*back]) = (size, size);
    }
    state
}

/// A wire that takes less than this part of what the largest taker can take is left out of a limit.
const TRIFLE: f64 = 0.03;

/// A limit without wires of other amplifiers, which move it a little through the voltage: without them each amplifier's
/// own wires can be searched apart. What they take is in the next measure.
fn without_trifles(mut shared: Shared, items: &[Item]) -> Shared {
    let most = |at: usize, weight: f64| weight * items[at].excess[0];
    let largest = shared.weights.iter().enumerate().map(|(at, weight)| most(at, *weight)).fold(0.0, f64::max);
    for (at, weight) in shared.weights.iter_mut().enumerate() {
        if most(at, *weight) < largest * TRIFLE {
            *weight = 0.0;
        }
    }
    shared
}

/// The most that flows through a wire in a case, in A.
fn current(job: &Job<'_>, wire: &str, case: Case) -> Decided<f64> {
    let wire = job.wire(wire).ok_or(Undecided::NotApplicable("no such wire"))?;
    job.wire_current(wire, case).map(|known| known.range.high())
}

/// What flows at least.
struct Asked {
    wires: Vec<f64>,
    fuses: Vec<f64>,
}
