//! Every way to join the same coils in series and parallel.
//!
//! Networks are made two at a time, from those of fewer coils: each split of the coils into two groups, each network of
//! the one group with each of the other, in series and in parallel. Coils with the same impedance and rating are
//! interchangeable, so only how many of each kind a network holds is told apart; eight equal coils make eight such
//! groups, eight different ones 255. Two networks of the same group within [`SAME`] of each other count as one, and
//! the more even and simpler one stays. A network that is too uneven can never become part of an even one, since what
//! is built around it changes all of its coils alike: it is left out at once. Together these bound the work for any
//! eight coils: 255 groups with a handful of even networks each.

use crate::plan::{Coil, Coils};

/// The largest number of coils of which arrangements are sought.
pub const MOST_COILS: usize = 8;

/// Impedances that differ by less than this share count as one: it moves the power by less than a tenth of a decibel.
pub const SAME: f64 = 0.01;

/// A coil that can be joined with others.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    /// The coil.
    pub coil: Coil,
    /// Its nominal impedance in ohm, above zero.
    pub ohms: f64,
    /// What it takes for good in watt, above zero; 1 for all where ratings are not known.
    pub rating: f64,
}

/// One way to join all the coils.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrangement {
    /// As a plan says it.
    pub coils: Coils,
    /// Nominal impedance in ohm.
    pub ohms: f64,
    /// Share of the power over rating, in 1/W, of the coil that works hardest.
    pub hardest: f64,
    /// The same of the coil that works least.
    pub least: f64,
}

impl Arrangement {
    /// How many times as hard as another a coil works; 1 where all work alike.
    pub fn unevenness(&self) -> f64 {
        self.hardest / self.least
    }

    /// The power in watt at which the coil that works hardest is at its rating.
    pub fn takes(&self) -> f64 {
        1.0 / self.hardest
    }
}

/// Every arrangement in which no coil works more than `most_uneven` times as hard as another, by rising impedance.
///
/// `f64::INFINITY` leaves none out. Empty without a coil, with more than [`MOST_COILS`], or with a coil that has no
/// impedance or no rating.
pub fn of(units: &[Unit], most_uneven: f64) -> Vec<Arrangement> {
    let sound = units.iter().all(|unit| unit.ohms > 0.0 && unit.rating > 0.0);
    if units.is_empty() || units.len() > MOST_COILS || !sound {
        return Vec::new();
    }
    let kinds = Kinds::of(units);
    let groups = networks(&kinds, most_uneven);
    let last = groups.len() - 1;
    let arrangement = |at: usize| {
        let network = &groups[last][at];
        let coils = tree(&groups, (last, at), &kinds, &mut vec![0; kinds.0.len()]);
        Arrangement { coils, ohms: network.ohms, hardest: network.hardest, least: network.least }
    };
    let mut found: Vec<Arrangement> = (0..groups[last].len()).map(arrangement).collect();
    found.sort_by(|one, other| one.ohms.total_cmp(&other.ohms));
    found
}

/// Coils by kind. A group of them is a number whose digits say how many of each kind it holds.
struct Kinds<'u>(Vec<Vec<&'u Unit>>);

impl<'u> Kinds<'u> {
    fn of(units: &'u [Unit]) -> Self {
        let mut kinds: Vec<Vec<&Unit>> = Vec::new();
        for unit in units {
            match kinds.iter_mut().find(|kind| kind[0].ohms == unit.ohms && kind[0].rating == unit.rating) {
                Some(kind) => kind.push(unit),
                None => kinds.push(vec![unit]),
            }
        }
        Self(kinds)
    }

    /// How many groups there are, the empty one counted.
    fn groups(&self) -> usize {
        self.0.iter().map(|kind| kind.len() + 1).product()
    }

    /// How many coils of each kind a group holds.
    fn counts(&self, mut group: usize) -> Vec<usize> {
        let digit = |kind: &Vec<&Unit>| {
            let count = group % (kind.len() + 1);
            group /= kind.len() + 1;
            count
        };
        self.0.iter().map(digit).collect()
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Joint {
    Series,
    Parallel,
}

#[derive(Clone, Copy)]
enum Made {
    /// One coil of this kind.
    One(usize),
    /// Two networks, each by its group and its number in there.
    Of(Joint, [(usize, usize); 2]),
}

struct Network {
    ohms: f64,
    hardest: f64,
    least: f64,
    /// How deep branches lie within branches, and how many there are: what is simpler is easier to wire.
    depth: usize,
    branches: usize,
    made: Made,
}

impl Network {
    fn one(kind: usize, unit: &Unit) -> Self {
        let work = 1.0 / unit.rating;
        Self { ohms: unit.ohms, hardest: work, least: work, depth: 0, branches: 0, made: Made::One(kind) }
    }

    /// In series power divides as impedance, in parallel as one over impedance.
    fn join(joint: Joint, parts: [&Self; 2], from: [(usize, usize); 2]) -> Self {
        let (one, other) = (parts[0], parts[1]);
        let sum = one.ohms + other.ohms;
        let (ohms, share) = match joint {
            Joint::Series => (sum, one.ohms / sum),
            Joint::Parallel => (one.ohms * other.ohms / sum, other.ohms / sum),
        };
        let same = |part: &Self| usize::from(matches!(part.made, Made::Of(inner, _) if inner == joint));
        Self {
            ohms,
            hardest: (one.hardest * share).max(other.hardest * (1.0 - share)),
            least: (one.least * share).min(other.least * (1.0 - share)),
            depth: parts.iter().map(|part| part.depth + 1 - same(part)).max().unwrap_or(0),
            branches: 1 + parts.iter().map(|part| part.branches - same(part)).sum::<usize>(),
            made: Made::Of(joint, from),
        }
    }

    fn unevenness(&self) -> f64 {
        self.hardest / self.least
    }

    fn better_than(&self, other: &Self) -> bool {
        let simple = |network: &Self| (network.depth, network.branches);
        let ratio = self.unevenness() / other.unevenness();
        ratio < 1.0 - 1e-9 || (ratio < 1.0 + 1e-9 && simple(self) < simple(other))
    }
}

/// The networks of every group. What a group is made of has a smaller number, so it is done before.
fn networks(kinds: &Kinds<'_>, most_uneven: f64) -> Vec<Vec<Network>> {
    let mut groups: Vec<Vec<Network>> = Vec::with_capacity(kinds.groups());
    let counts: Vec<Vec<usize>> = (0..kinds.groups()).map(|group| kinds.counts(group)).collect();
    for (whole, of) in counts.iter().enumerate() {
        let mut kept: Vec<Network> = Vec::new();
        if of.iter().sum::<usize>() == 1 {
            let kind = of.iter().position(|count| *count == 1).unwrap_or(0);
            kept.push(Network::one(kind, kinds.0[kind][0]));
        }
        for part in (1..=whole / 2).filter(|part| counts[*part].iter().zip(of).all(|(some, all)| some <= all)) {
            let rest = whole - part;
            for (at, one) in groups[part].iter().enumerate() {
                for (against, other) in groups[rest].iter().enumerate() {
                    for joint in [Joint::Series, Joint::Parallel] {
                        let network = Network::join(joint, [one, other], [(part, at), (rest, against)]);
                        keep(&mut kept, network, most_uneven);
                    }
                }
            }
        }
        groups.push(kept);
    }
    groups
}

fn keep(kept: &mut Vec<Network>, network: Network, most_uneven: f64) {
    if network.unevenness() > most_uneven * (1.0 + 1e-9) {
        return;
    }
    match kept.iter_mut().find(|other| (other.ohms / network.ohms - 1.0).abs() < SAME) {
        Some(other) if network.better_than(other) => *other = network,
        Some(_) => {}
        None => kept.push(network),
    }
}

/// A network as a tree of real coils; `used` counts those of each kind that are taken.
fn tree(groups: &[Vec<Network>], (group, at): (usize, usize), kinds: &Kinds<'_>, used: &mut [usize]) -> Coils {
    match groups[group][at].made {
        Made::One(kind) => {
            used[kind] += 1;
            Coils::One(kinds.0[kind][used[kind] - 1].coil.clone())
        }
        Made::Of(joint, parts) => {
            let mut joined = Vec::new();
            for part in parts {
                match (joint, tree(groups, part, kinds, used)) {
                    (Joint::Series, Coils::Series(more)) | (Joint::Parallel, Coils::Parallel(more)) => {
                        joined.extend(more);
                    }
                    (_, other) => joined.push(other),
                }
            }
            if joint == Joint::Series { Coils::Series(joined) } else { Coils::Parallel(joined) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn units(coils: &[(f64, f64)]) -> Vec<Unit> {
        let unit = |(at, (ohms, rating)): (usize, &(f64, f64))| {
            let coil = Coil { driver: format!("d{at}"), number: 1, reversed: false };
            Unit { coil, ohms: *ohms, rating: *rating }
        };
        coils.iter().enumerate().map(unit).collect()
    }

    fn equal(count: usize) -> Vec<Unit> {
        units(&vec![(4.0, 100.0); count])
    }

    /// Distinct resistances of n equal resistors in series and parallel: OEIS A048211, 1, 2, 4, 9, 22 (from memory). There are
    /// 1, 2, 4, 10, 24 networks (A000084, from memory); those of the same resistance count as one here.
    #[test]
    fn equal_coils_make_as_many_impedances_as_are_known() {
        for (count, impedances) in [(1, 1), (2, 2), (3, 4), (4, 9), (5, 22)] {
            assert_eq!(of(&equal(count), f64::INFINITY).len(), impedances, "{count} coils");
        }
    }

    #[test]
    fn four_equal_coils_share_evenly_in_three_ways() {
        let ohms: Vec<f64> = of(&equal(4), 1.0).iter().map(|found| found.ohms).collect();
        assert_eq!(ohms, [1.0, 4.0, 16.0]);
        assert_eq!(
            of(&equal(4), 1.0)[1].coils.to_string(),
            "{parallel: [{series: [d0.1, d1.1]}, {series: [d2.1, d3.1]}]}"
        );
        assert!((of(&equal(4), 1.0)[1].takes() - 400.0).abs() < 1e-9);
    }

    #[test]
    fn different_coils_count_apart() {
        // 4 and 8 ohm: 12 ohm in series, 2.667 in parallel, one coil working twice as hard in both.
        let both = of(&units(&[(4.0, 100.0), (8.0, 100.0)]), f64::INFINITY);
        let ohms: Vec<f64> = both.iter().map(|found| found.ohms).collect();
        assert!((ohms[0] - 8.0 / 3.0).abs() < 1e-12 && ohms[1] == 12.0, "{ohms:?}");
        assert!(both.iter().all(|found| (found.unevenness() - 2.0).abs() < 1e-12));
        // Rated to match, they are even in parallel and four to one in series.
        let rated = of(&units(&[(4.0, 200.0), (8.0, 100.0)]), 1.25);
        assert_eq!(rated.len(), 1);
        assert!((rated[0].takes() - 300.0).abs() < 1e-9);
    }

    #[test]
    fn nothing_is_made_of_nothing_and_too_many_are_refused() {
        assert!(of(&[], 1.25).is_empty());
        assert!(of(&equal(9), 1.25).is_empty());
        assert!(of(&units(&[(0.0, 1.0), (4.0, 1.0)]), 1.25).is_empty());
    }

    /// Eight coils, all different, close enough to share evenly in any arrangement of theirs: the most work there is.
    #[test]
    fn eight_different_coils_stay_few() {
        let close: Vec<(f64, f64)> = (0..8).map(|step| (4.0 + 0.02 * f64::from(step), 100.0)).collect();
        let found = of(&units(&close), 1.25);
        assert!(found.len() < 100, "{}", found.len());
        assert!(found.iter().any(|one| (one.ohms / 4.07 - 0.5).abs() < 0.01));
    }

    /// Of all ways that come to the same impedance the most even one stays, in whatever order they are found. By hand and
    /// by counting all networks of these coils apart from this program: the least unevenness at each impedance.
    #[test]
    fn of_the_same_impedance_the_most_even_way_stays() {
        let unevenness = |coils: &[(f64, f64)], ohms: f64| {
            let found = of(&units(coils), f64::INFINITY);
            let one = found.iter().find(|one| (one.ohms / ohms - 1.0).abs() < SAME).expect("such an impedance");
            one.unevenness()
        };
        let pairs = [(4.0, 100.0), (4.0, 100.0), (8.0, 100.0), (8.0, 100.0)];
        let turned = [(8.0, 100.0), (4.0, 100.0), (8.0, 100.0), (4.0, 100.0)];
        for (ohms, least) in [(12.0, 2.0), (8.0 / 3.0, 2.0), (6.0, 2.0), (16.0 / 3.0, 2.0)] {
            for coils in [pairs, turned] {
                assert!((unevenness(&coils, ohms) - least).abs() < 1e-9, "{ohms}: {}", unevenness(&coils, ohms));
            }
        }
        let ratings = [(4.0, 100.0), (4.0, 200.0), (8.0, 100.0)];
        assert!((unevenness(&ratings, 3.0) - 4.5).abs() < 1e-9);
        assert!((unevenness(&ratings, 20.0 / 3.0) - 2.25).abs() < 1e-9);
        let six = [(4.0, 100.0); 6];
        assert!((unevenness(&six, 8.0 / 3.0) - 1.0).abs() < 1e-9);
        assert!((unevenness(&six, 6.0) - 1.0).abs() < 1e-9);
    }

    /// Eight equal coils make half of one's impedance as four strings of two or as two sets of four: the latter has fewer
    /// branches to wire. They make twice of it as two strings of four, or with branches within branches.
    #[test]
    fn of_even_ways_the_simplest_stays() {
        let found = of(&equal(8), 1.0);
        let at = |ohms: f64| found.iter().find(|one| (one.ohms - ohms).abs() < 1e-9).expect("such an impedance");
        let four = |from: usize| (from..from + 4).map(|at| format!("d{at}.1")).collect::<Vec<_>>().join(", ");
        assert_eq!(
            at(2.0).coils.to_string(),
            format!("{{series: [{{parallel: [{}]}}, {{parallel: [{}]}}]}}", four(0), four(4))
        );
        assert_eq!(
            at(8.0).coils.to_string(),
            format!("{{parallel: [{{series: [{}]}}, {{series: [{}]}}]}}", four(0), four(4))
        );
    }

    #[test]
    fn a_coil_without_a_rating_is_refused() {
        assert!(of(&units(&[(4.0, 0.0), (4.0, 100.0)]), f64::INFINITY).is_empty());
        assert!(of(&units(&[(0.0, 100.0), (4.0, 100.0)]), f64::INFINITY).is_empty());
    }
}
