//! How far fuses reach: which wires each protects, how far it is from its battery, and which runs have none.

use super::job::Job;
use super::known::{self, Decided, Undecided};
use super::protection::{Exposure, ExposureEnd, Host, Pass, Way};
use crate::plan::Wire;
use crate::quantity::{Current, Length, Quantity, Range};

impl Job<'_> {
    /// The fuse with the smallest rating among some.
    pub fn smallest_fuse(&self, fuses: &[usize]) -> Option<usize> {
        let protection = self.protection();
        let rated = fuses.iter().filter_map(|fuse| Some((*fuse, protection.fuses[*fuse].fuse.rating?.base())));
        rated.min_by(|one, other| one.1.total_cmp(&other.1)).map(|(fuse, _)| fuse)
    }

    /// The wires that a fuse alone protects on some way: no smaller one is before them. By their place in the list.
    pub fn protected_by(&self, fuse: usize) -> Vec<usize> {
        let mut wires: Vec<usize> = self.ways_behind(fuse).map(|way| way.wire).collect();
        wires.sort_unstable();
        wires.dedup();
        wires
    }

    /// The ways on which a fuse is the smallest, but for those to a branch's own fuse near its start.
    pub fn ways_behind(&self, fuse: usize) -> impl Iterator<Item = &Way> {
        let ways = self.protection().ways.iter();
        ways.filter(move |way| self.smallest_fuse(&way.fuses) == Some(fuse) && !self.leads_to_its_fuse(way))
    }

    /// Whether a stretch is the start of a branch, no longer than a battery may be from its fuse, before the branch's own.
    fn leads_to_its_fuse(&self, way: &Way) -> bool {
        let fuses = &self.protection().fuses;
        let own = |fuse: usize| matches!(fuses[fuse].host, Host::Wire { wire, .. } if wire == way.wire);
        let near = |metres: f64| metres <= self.house.limits.fuse_distance.base() * (1.0 + 1e-9);
        let Some(Pass::Stretch(_, Some(metres))) = way.passes.last() else { return false };
        way.until.is_some() && way.fuses.last().is_some_and(|last| !own(*last)) && near(*metres)
    }

    /// The fuses that can feed a stretch at once from the end where a way enters it, side by side, and what they let
    /// through together: no more than a fuse that all of that current passes. `None` where a rating is not stated.
    pub fn let_through(&self, way: &Way) -> Option<(Vec<usize>, Quantity<Current>)> {
        let fuses = &self.protection().fuses;
        let rating = |fuse: &usize| fuses[*fuse].fuse.rating;
        let beside = |other: &&Way| other.stretch == way.stretch;
        let ways: Vec<&Way> = self.protection().ways_in(way.wire).filter(beside).collect();
        let mut side_by_side: Vec<usize> = ways.iter().filter_map(|way| self.smallest_fuse(&way.fuses)).collect();
        side_by_side.sort_unstable();
        side_by_side.dedup();
        let ratings: Option<Vec<_>> = side_by_side.iter().map(rating).collect();
        let sum: f64 = ratings?.into_iter().map(Quantity::base).sum();
        let common = way.fuses.iter().filter(|fuse| ways.iter().all(|other| other.fuses.contains(fuse)));
        let most = common.filter_map(rating).map(Quantity::base).fold(sum, f64::min);
        let first = rating(side_by_side.first()?)?;
        Some((side_by_side, first.with_base(most)))
    }

    /// The battery from which a fuse is nearest along the wire, and the length of that run.
    ///
    /// # Errors
    /// The facts that are missing; not applicable where no battery reaches it without another fuse.
    pub fn fuse_distance(&self, fuse: usize) -> Decided<(usize, Range<Length>)> {
        let runs = self.protection().exposures.iter().filter(|run| run.end == ExposureEnd::Fuse(fuse));
        let lengths = known::all(runs.map(|run| run.length.clone().map(|length| (run.source, length))))?;
        lengths
            .into_iter()
            .min_by(|one, other| one.1.high().total_cmp(&other.1.high()))
            .ok_or(Undecided::NotApplicable("another fuse stands between every battery and this one"))
    }

    /// The runs without a fuse by which a battery feeds a wire and for which no fuse of its own is meant: without a
    /// length where no fuse ends them, with the length to a fuse that is nearer to another battery.
    pub fn unfused_runs(&self, wire: usize) -> Vec<(&Exposure, Option<Decided<Range<Length>>>)> {
        let runs = self.protection().exposures.iter().filter(|run| run.wires.contains(&wire));
        let length = |run: &Exposure, fuse| match self.fuse_distance(fuse) {
            Ok((nearest, _)) if nearest == run.source => None,
            Ok(_) => Some(run.length.clone()),
            Err(undecided) => Some(Err(undecided)),
        };
        runs.filter_map(|run| match run.end {
            ExposureEnd::Fuse(fuse) => length(run, fuse).map(|length| (run, Some(length))),
            ExposureEnd::Battery | ExposureEnd::Gear => Some((run, None)),
        })
        .collect()
    }

    /// The ways from every battery to the far end of a wire, all its own fuses passed.
    pub fn ways_to(&self, wire: usize) -> Vec<&Way> {
        let ways = || self.protection().ways_in(wire);
        let goes_on = |way: &Way| {
            let longer = |other: &Way| other.passes.len() > way.passes.len() && other.passes.starts_with(&way.passes);
            ways().any(|other| other.source == way.source && longer(other))
        };
        ways().filter(|way| !goes_on(way)).collect()
    }

    /// The ways from every battery to the supply terminal of gear.
    pub fn ways_to_gear(&self, gear: &str) -> Vec<&Way> {
        let leads = |wire: &Wire| wire.terminals().any(|terminal| terminal.is(gear, "power"));
        let wires = self.wires.iter().enumerate().filter(|(_, wire)| leads(wire));
        wires.flat_map(|(index, _)| self.ways_to(index)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::super::of_job;

    /// A fuse protects what lies behind it, and neither the wire before it nor one beside it.
    #[test]
    fn a_fuse_protects_what_lies_behind_it_alone() {
        let plan = "plan: 1\nblocks: {split: {outputs: {one: {fuse: {rating: 100 A}}, two: {}}}}\nwires:\n  \
                    a_main: {from: battery.positive, to: split.in}\n  b_one: {from: split.one, to: amp.power}\n  \
                    c_two: {from: split.two, to: other.power}\n";
        of_job(plan, |job| {
            let names = |fuse| job.protected_by(fuse).into_iter().map(|wire| job.wires[wire].name).collect::<Vec<_>>();
            assert_eq!(job.protection().fuses.len(), 1);
            assert_eq!(names(0), ["b_one"]);
        });
        let plan = plan.replace("to: split.in", "to: split.in, fuse: {rating: 80 A, distance: 10 cm}");
        of_job(&plan, |job| {
            let behind = |fuse| job.protected_by(fuse).into_iter().map(|wire| job.wires[wire].name).collect::<Vec<_>>();
            // The smaller fuse in front protects all, the larger one in the block nothing more.
            assert_eq!((behind(0), behind(1)), (vec!["a_main", "b_one", "c_two"], vec![]));
        });
    }

    /// The start of a branch may be as long as a battery may be from its fuse, to the millimetre; what is longer has to be
    /// carried by the fuse before it.
    #[test]
    fn a_branch_leads_to_its_own_fuse_up_to_the_limit() {
        let stretches = |over: f64| {
            let limit = crate::house::House::default().limits.fuse_distance.base() + over;
            let plan = format!(
                "plan: 1\nblocks: {{split: {{outputs: {{one: {{}}}}}}}}\nwires:\n  \
                 a_main: {{from: battery.positive, to: split.in, length: 4 m, fuse: {{rating: 100 A, distance: 10 cm}}}}\n  \
                 b_one: {{from: split.one, to: amp.power, length: 3 m, fuse: {{rating: 30 A, distance: {limit} m}}}}\n"
            );
            of_job(&plan, |job| {
                let main = job.protection().fuses.iter().position(|site| site.place.path() == "wires.a_main.fuse");
                job.ways_behind(main.expect("stated")).filter(|way| job.wires[way.wire].name == "b_one").count()
            })
        };
        assert_eq!((stretches(0.0), stretches(0.001)), (0, 1));
    }

    /// Two batteries on one wire, a fuse near the first only: from the second all of the wire is without a fuse.
    #[test]
    fn every_battery_has_its_own_unfused_run() {
        let plan = "plan: 1\nbatteries: {rear: {}}\nwires: {link: {from: battery.positive, to: rear.positive, length: 4 m, \
                    fuse: {rating: 100 A, distance: 20 cm}}}\n";
        of_job(plan, |job| {
            let runs = &job.protection().exposures;
            let found: Vec<(usize, f64)> =
                runs.iter().map(|run| (run.source, run.length.clone().expect("stated").high())).collect();
            assert_eq!(found, [(0, 0.2), (1, 3.8)]);
            assert_eq!(job.fuse_distance(0).expect("stated").0, 0);
            assert_eq!(job.unfused_runs(0).len(), 1);
        });
    }
}
