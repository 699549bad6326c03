//! Between which sizes the search looks: what flows at least, the thinnest that carries it, the thickest that goes in.

use std::collections::BTreeMap;

use super::super::Severity;
use super::super::check::Check;
use super::super::verdict::Outcome;
use super::draft::{FreeWire, State};
use super::obstacle::Stopped;
use super::task::{STEPS, Search};
use super::trial::{Part, name};
use crate::plan::{FuseForm, Wire};
use crate::quantity::{Current, Quantity, Range};
use crate::solve::{Case, Decided, Job, Place, Undecided, all};

/// Less than this is no current, in A.
const NOTHING: f64 = 0.001;

/// The thinnest and the thickest that each free wire can be.
pub struct Bounds {
    /// Of each the thinnest.
    pub least: State,
    /// Of each the thickest.
    pub most: State,
}

/// What flows at least.
pub struct Asked {
    wires: Vec<f64>,
    fuses: Vec<f64>,
    /// What each fuse is asked even at the low end of what is known.
    fuses_for_sure: Vec<f64>,
}

impl Search<'_> {
    /// What must flow through each free fuse and each free wire, at least.
    pub fn asked(&self, top: &State) -> Result<Asked, Stopped> {
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
            Ok(job.fuse_asked(site)?.asked)
        });
        let stopped = |why: Undecided| match why {
            Undecided::Open(places) if !places.is_empty() => Stopped::Needs(super::needs(&places)),
            Undecided::NotApplicable(why) if self.trial.unheld(top).is_empty() => Stopped::Needs(why.to_owned()),
            _ => self.stopped(self.trial.unheld(top), top),
        };
        let wires = all(wires).map_err(stopped)?;
        let fuses: Vec<Range<Current>> = all(fuses).map_err(stopped)?;
        let asked = Asked {
            wires,
            fuses: fuses.iter().map(|range| range.high()).collect(),
            fuses_for_sure: fuses.iter().map(|range| range.low()).collect(),
        };
        let carries =
            |wire: &str| Case::ALL.iter().any(|case| current(&job, wire, *case).is_ok_and(|amperes| amperes > NOTHING));
        let decides = |free: &FreeWire| carries(&free.name) || self.follows_its_feed(&free.name);
        let idle = self.draft.wires.iter().filter(|free| free.before.is_some() && !decides(free));
        let idle = idle.map(|free| format!("wires.{}.size", free.name));
        let fuses = self.draft.fuses.iter().zip(&asked.fuses).filter(|(free, amperes)| {
            **amperes <= NOTHING && free.before.as_ref().is_some_and(|before| before.rating.is_some())
        });
        let idle: Vec<String> = idle.chain(fuses.map(|(free, _)| format!("{}.rating", free.path))).collect();
        if !idle.is_empty() {
            return Err(Stopped::Idle(idle));
        }
        if let Some(free) = self.draft.wires.iter().find(|free| !decides(free)) {
            let what = format!("nothing that testlamp knows of draws through wires.{}: state its size", free.name);
            return Err(Stopped::Needs(what));
        }
        Ok(asked)
    }

    /// Whether a wire is the return of a capacitor, which is as thick as what leads to it (WIRE-06): all that flows there are
    /// pulses, and no case has them.
    fn follows_its_feed(&self, wire: &str) -> bool {
        let plan = self.draft.plan;
        let from = plan.wires.get(wire).and_then(|wire| wire.from.as_ref());
        from.is_some_and(|from| {
            let is_feed = |wire: &Wire| wire.to.as_ref().is_some_and(|to| to.is(&from.thing, "power"));
            from.terminal == "ground" && plan.capacitors.contains_key(&from.thing) && plan.wires.values().any(is_feed)
        })
    }

    /// The smallest rating of each free fuse that what it feeds does not open.
    pub fn smallest(&self, asked: &Asked) -> Result<Vec<usize>, Stopped> {
        let mut fuses = Vec::new();
        for (free, asked) in self.draft.fuses.iter().zip(&asked.fuses) {
            let enough = free.ratings.iter().position(|(_, rating)| rating.base() >= asked * (1.0 - 1e-9));
            let largest = free.ratings.last().map_or_else(|| "none".to_owned(), |(_, rating)| rating.to_string());
            let Some(enough) = enough else {
                let asked = Quantity::<Current>::new((asked * 10.0).ceil() / 10.0);
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
    pub fn sturdy(&self, top: &State, mut fuses: Vec<usize>) -> Vec<usize> {
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

    /// Smaller fuses where larger ones break a rule for sure, as far down as what their load asks for sure: whether they carry
    /// it is open then, and left so.
    pub fn lowered(&self, top: &State, fuses: Vec<usize>, asked: &Asked) -> Vec<usize> {
        let mut state = State { wires: top.wires.clone(), fuses };
        let carries = |fuse: usize, at: usize| {
            self.draft.fuses[fuse].ratings[at].1.base() >= asked.fuses_for_sure[fuse] * (1.0 - 1e-9)
        };
        let mut changed: Vec<Place> = Vec::new();
        for _ in 0..STEPS {
            let broken = self.trial.unheld_locally(&state);
            let broken =
                broken.iter().filter(|check| check.outcome == Outcome::Fail && check.severity >= Severity::Fault);
            let smaller = broken.flat_map(|check| self.trial.helper(check, &state, false, &|_| 0));
            let fuse = smaller.into_iter().find_map(|part| match part {
                Part::Fuse(fuse) if carries(fuse, state.fuses[fuse] - 1) => Some(fuse),
                _ => None,
            });
            let Some(fuse) = fuse else { break };
            state.fuses[fuse] -= 1;
            changed.push(Place::of(self.draft.fuses[fuse].path.clone()));
        }
        let open = |check: &Check| check.outcome == Outcome::Open && changed.contains(&check.subject);
        self.trial.leave(self.trial.unheld(&state).into_iter().filter(open).collect());
        state.fuses
    }

    /// The thickest and the thinnest that can be, with these fuses at least. Where nothing holds between them because wires
    /// are kept thin for what is only open, that bounds no wire.
    pub fn bounds(&self, top: &State, fuses: &[usize], asked: &Asked) -> Result<Bounds, Stopped> {
        let thickest = State { wires: top.wires.clone(), fuses: fuses.to_vec() };
        let known = self.trial.left();
        let (capped, for_sure) = (self.capped(&thickest, |_| true), |check: &Check| check.outcome == Outcome::Fail);
        self.bounded(top, capped.clone(), asked).or_else(|stopped| {
            let looser = self.capped(&thickest, for_sure);
            if looser == capped {
                return Err(stopped);
            }
            self.trial.leave_only(known);
            self.bounded(top, looser, asked)
        })
    }

    /// The bounds below the thickest wires.
    fn bounded(&self, top: &State, most: State, asked: &Asked) -> Result<Bounds, Stopped> {
        let fuses = most.fuses.clone();
        let mut least = State { wires: self.carrying(&most, asked), fuses };
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

    /// The thickest wires that go where they have to, by the checks that count.
    fn capped(&self, thickest: &State, counts: fn(&Check) -> bool) -> State {
        let mut state = thickest.clone();
        for _ in 0..STEPS {
            let unheld = self.trial.unheld_locally(&state);
            let thinner = unheld
                .iter()
                .filter(|check| counts(check))
                .flat_map(|check| self.trial.helper(check, &state, false, &|_| 0));
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
    pub fn raised(&self, mut state: State, most: &State) -> State {
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
}

/// The most that flows through a wire in a case, in A.
fn current(job: &Job<'_>, wire: &str, case: Case) -> Decided<f64> {
    let wire = job.wire(wire).ok_or(Undecided::NotApplicable("no such wire"))?;
    job.wire_current(wire, case).map(|known| known.range.high())
}
