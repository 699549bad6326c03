//! The search for the least copper that holds.

use std::collections::BTreeMap;

use super::super::check::Check;
use super::bounds::Bounds;
use super::draft::{FreeWire, State};
use super::least::{Item, Problem, Shared};
use super::obstacle::Stopped;
use super::task::{STEPS, Search};
use super::trial::{Name, Part, name};
use crate::plan::{Terminal, Wire};

/// How often what the choices take is measured anew.
const MEASURES: usize = 8;

impl Search<'_> {
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
        if self.yields {
            least_fuses = self.lowered(&top, least_fuses, &asked);
        }
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

    /// The feed and the return of each amplifier and each capacitor that has one of each, where the plan states neither size
    /// and one size can do for both.
    fn mates(&self, bounds: &Bounds) -> Vec<(usize, usize)> {
        let plan = self.draft.plan;
        let only = |end: fn(&Wire) -> Option<&Terminal>, thing: &str, terminal: &str| {
            let is_there =
                |free: &FreeWire| plan.wires.get(&free.name).and_then(end).is_some_and(|end| end.is(thing, terminal));
            let mut found = self.draft.wires.iter().enumerate().filter(|(_, free)| is_there(free));
            found.next().filter(|_| found.next().is_none()).map(|(at, _)| at)
        };
        let pairs = plan.amplifiers.keys().chain(plan.capacitors.keys()).filter_map(|thing| {
            let feed = only(|wire| wire.to.as_ref(), thing, "power")?;
            Some((feed, only(|wire| wire.from.as_ref(), thing, "ground")?))
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::House;
    use crate::judge::sizes::draft::{Draft, Freed};
    use crate::judge::sizes::trial::Sizing;

    /// An amplifier of 400 W behind a block, and a long cable to it.
    const PLAN: &str = "plan: 1\nvehicle: {voltage: 12 V, body: steel, body_resistance: 0.2 mohm, alternator: {rated: 300 A, at_idle: 200 A, \
                        voltage: 14.4 V, control: fixed, cable_resistance: 0.2 mohm}, factory_load: {running: 40 A}, \
                        battery: {internal_resistance: 3 mohm, rest_voltage: 12.7 V}}\n\
                        amplifiers: {amp: {class: D, channels: 1, efficiency: 82 %, idle_current: 1 A, onboard_fuses: [40 A], \
                        operating_voltage: 9 V .. 16 V, rated: [{load: 2 ohm, power: 400 W}], terminals: {power: 1/0 AWG}}}\n\
                        drivers: {sub: {kind: subwoofer, coils: [2 ohm]}}\nloads: {bass: {amplifier: amp, outputs: [1], coils: sub.1}}\n\
                        blocks: {block: {location: cargo, takes: 4/0 AWG, outputs: {one: {takes: 1/0 AWG, fuse: {form: bolt-down, voltage: 32 V}}}}}\n\
                        grounds: {rail: {on: body-structure, surface: bare-metal, joint_resistance: 0.05 mohm}}\nwires:\n  \
                        main: {from: battery.positive, to: block.in, conductor: copper, insulation: 105 C, joint_resistance: 0.05 mohm, \
                        length: 4.5 m, path: [engine-bay, cargo]}\n  \
                        feed: {from: block.one, to: amp.power, conductor: copper, insulation: 105 C, joint_resistance: 0.05 mohm, \
                        length: 0.8 m, path: [cargo]}\n  \
                        back: {from: amp.ground, to: grounds.rail, conductor: copper, insulation: 105 C, joint_resistance: 0.05 mohm, \
                        length: 0.5 m, path: [cargo]}\n";

    fn searched<T>(text: &str, look: impl FnOnce(&Search<'_>, &Bounds) -> T) -> T {
        let (reading, house) = (crate::plan::read(text.to_owned()), House::default());
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        let draft = Draft::of(&reading.plan, &house, &Freed::new());
        let (local, network) = crate::rules::of_sizes();
        let search = Search::new(&draft, &house, Sizing { local: &local, network: &network }, false);
        let top = State {
            wires: draft.wires.iter().map(|free| free.sizes.len() - 1).collect(),
            fuses: draft.fuses.iter().map(|free| free.ratings.len() - 1).collect(),
        };
        let asked = search.asked(&top).ok().expect("all is stated");
        let fuses = search.sturdy(&top, search.smallest(&asked).ok().expect("there are such"));
        let bounds = search.bounds(&top, &fuses, &asked).ok().expect("the thickest hold");
        look(&search, &bounds)
    }

    fn wire(search: &Search<'_>, name: &str) -> usize {
        search.draft.wires.iter().position(|free| free.name == name).expect("it is free")
    }

    #[test]
    fn a_wire_costs_its_copper_and_resists_by_its_area() {
        searched(PLAN, |search, bounds| {
            let main = wire(search, "main");
            let item = search.item(main, bounds);
            assert_eq!(item.costs.len(), bounds.most.wires[main] - bounds.least.wires[main] + 1);
            let (thin, thick) =
                (search.draft.area(main, bounds.least.wires[main]), search.draft.area(main, bounds.most.wires[main]));
            assert!((item.costs[0] - 4.5 * thin).abs() < 1e-9 && (item.areas[0] - thin).abs() < 1e-9);
            assert!((item.excess[0] - (1.0 / thin - 1.0 / thick)).abs() < 1e-9, "{:?}", item.excess);
            assert_eq!(item.excess.last(), Some(&0.0));
        });
    }

    /// With the wire at its thinnest every margin is as much less as its weight says.
    #[test]
    fn what_a_wire_takes_of_a_margin_is_measured_at_its_thinnest() {
        searched(PLAN, |search, bounds| {
            let main = wire(search, "main");
            let of = |state: &State| search.trial.margins(&search.trial.all(state));
            let (top, thin) = (of(&bounds.most), of(&bounds.most.with(Part::Wire(main), bounds.least.wires[main])));
            let weights = search.weights(main, bounds, &top);
            let excess = search.item(main, bounds).excess[0];
            assert!(weights.keys().any(|(code, _)| *code == "WIRE-02"), "{weights:?}");
            for (name, before) in &top {
                let weight = weights.get(name).copied().unwrap_or(0.0);
                let lost = before - thin[name];
                assert!(
                    (lost - weight * excess).abs() < 1e-6 || (lost <= 1e-6 && weight == 0.0),
                    "{name:?}: {lost} {weight}"
                );
            }
        });
    }

    #[test]
    fn feed_and_return_are_one_size_where_both_are_chosen_and_each_is_alone() {
        let mates = |text: &str| {
            searched(text, |search, bounds| {
                let name = |at: usize| search.draft.wires[at].name.clone();
                search.mates(bounds).into_iter().map(|(feed, back)| (name(feed), name(back))).collect::<Vec<_>>()
            })
        };
        assert_eq!(mates(PLAN), [("feed".to_owned(), "back".to_owned())]);
        let second = "  twin: {from: amp.ground, to: grounds.rail, conductor: copper, insulation: 105 C, joint_resistance: 0.05 mohm, \
                      length: 0.5 m, path: [cargo]}\n";
        assert_eq!(mates(&format!("{PLAN}{second}")), []);
        assert_eq!(mates(&PLAN.replace("length: 0.5 m", "size: 4 AWG, length: 0.5 m")), []);
    }

    fn copper(search: &Search<'_>, state: &State) -> f64 {
        let each = state.wires.iter().enumerate();
        each.map(|(at, size)| search.draft.area(at, *size) * search.draft.wires[at].length).sum()
    }

    /// Every choice between the bounds with feed and return of one size, looked at.
    #[test]
    fn of_all_choices_the_one_with_the_least_copper_is_found() {
        searched(PLAN, |search, bounds| {
            let even = search.mates(bounds);
            let least = evened(&bounds.least, &even);
            let mut best = f64::INFINITY;
            let [main, feed, back] = ["main", "feed", "back"].map(|name| wire(search, name));
            for cable in least.wires[main]..=bounds.most.wires[main] {
                for both in least.wires[feed]..=bounds.most.wires[feed].min(bounds.most.wires[back]) {
                    let state = [(main, cable), (feed, both), (back, both)]
                        .into_iter()
                        .fold(least.clone(), |state, (at, size)| state.with(Part::Wire(at), size));
                    if search.holds(&state) {
                        best = best.min(copper(search, &state));
                    }
                }
            }
            let found = search.least(bounds);
            assert!((copper(search, &found) - best).abs() < 1e-9, "{} {best}", copper(search, &found));
            // On straight lines it comes near, and holds.
            let even_bounds = Bounds { least, most: bounds.most.clone() };
            let measured = evened(&search.measured(&even_bounds, &even).expect("some hold"), &even);
            assert!(search.holds(&measured));
            assert!(copper(search, &measured) < best * 1.3, "{} {best}", copper(search, &measured));
        });
    }

    #[test]
    fn a_return_must_follow_its_feed() {
        searched(PLAN, |search, bounds| {
            let free = [wire(search, "feed"), wire(search, "back")];
            assert!(search.pairs(&free, bounds).contains(&(0, 1)), "{:?}", search.pairs(&free, bounds));
        });
    }

    #[test]
    fn of_two_that_are_to_be_one_size_the_thicker_counts() {
        let state = State { wires: vec![1, 4, 2], fuses: vec![3] };
        assert_eq!(evened(&state, &[(0, 1)]), State { wires: vec![4, 4, 2], fuses: vec![3] });
    }

    /// A wire that takes less than three hundredths of what another takes is left out; what it can take counts, not its weight.
    #[test]
    fn a_trifle_of_a_limit_is_left_out() {
        let item = |excess: f64| Item { costs: vec![1.0, 2.0], excess: vec![excess, 0.0], areas: vec![1.0, 2.0] };
        let items = [item(1.0), item(1.0), item(1.0), item(2.0)];
        let shared = Shared { left: 0.5, weights: vec![1.0, 0.03, 0.02, 0.02] };
        assert_eq!(without_trifles(shared, &items).weights, [1.0, 0.03, 0.0, 0.02]);
    }
}
