//! The least copper that keeps every drop within its limit, on a straight-line model: pure numbers, no plan.

/// A wire that is to be chosen: for each size, thin to thick, what it costs and how far it is from the thickest.
#[derive(Debug, Clone)]
pub struct Item {
    /// Copper of each size, rising.
    pub costs: Vec<f64>,
    /// How much more it resists than the thickest size, falling to zero; in any unit.
    pub excess: Vec<f64>,
    /// Cross-section of each size, rising.
    pub areas: Vec<f64>,
}

/// A limit that several wires share: the excess of each, weighed, sums to no more than what is left.
#[derive(Debug, Clone)]
pub struct Shared {
    /// What is left for all wires together.
    pub left: f64,
    /// What one unit of excess takes of it, by wire.
    pub weights: Vec<f64>,
}

/// A problem.
#[derive(Debug, Clone, Default)]
pub struct Problem {
    /// The wires.
    pub items: Vec<Item>,
    /// The limits that they share.
    pub shared: Vec<Shared>,
    /// Pairs of which the second is at least as thick as the first.
    pub no_thinner: Vec<(usize, usize)>,
}

/// Tries after which the search takes the best it has seen: no vehicle comes near.
const MOST: usize = 2_000_000;

impl Problem {
    /// The sizes with the least copper, or none where no choice keeps every limit.
    pub fn least(&self) -> Option<Vec<usize>> {
        let open: Vec<usize> = (0..self.items.len()).collect();
        let mut search = Search {
            problem: self,
            left: self.shared.iter().map(|shared| shared.left).collect(),
            chosen: vec![None; self.items.len()],
            tries: 0,
        };
        if search.left.iter().any(|left| *left < -ROUNDING) {
            return None;
        }
        let (_, found) = search.best(&open, f64::INFINITY)?;
        let mut sizes = vec![0; self.items.len()];
        for (item, size) in found {
            sizes[item] = size;
        }
        Some(sizes)
    }

    /// Whether two wires have anything to do with each other.
    fn is_tied(&self, one: usize, other: usize) -> bool {
        self.shared.iter().any(|shared| shared.weights[one] > 0.0 && shared.weights[other] > 0.0)
            || self.no_thinner.iter().any(|pair| *pair == (one, other) || *pair == (other, one))
    }

    fn ties(&self, item: usize) -> usize {
        self.shared.iter().filter(|shared| shared.weights[item] > 0.0).count()
    }
}

/// What numbers of this kind may be off.
const ROUNDING: f64 = 1e-12;

struct Search<'a> {
    problem: &'a Problem,
    left: Vec<f64>,
    chosen: Vec<Option<usize>>,
    tries: usize,
}

type Found = (f64, Vec<(usize, usize)>);

impl Search<'_> {
    /// The best choice for some wires below a cost. Wires that have nothing to do with each other are searched apart.
    fn best(&mut self, open: &[usize], below: f64) -> Option<Found> {
        let parts = self.parts(open);
        if parts.len() == 1 {
            return self.branch(&parts[0], below);
        }
        let mut all: Found = (0.0, Vec::new());
        for part in parts {
            let (cost, sizes) = self.best(&part, below - all.0)?;
            all.0 += cost;
            all.1.extend(sizes);
        }
        Some(all)
    }

    fn branch(&mut self, open: &[usize], mut below: f64) -> Option<Found> {
        let problem = self.problem;
        let item = *open.iter().max_by_key(|item| (problem.ties(**item), std::cmp::Reverse(**item)))?;
        let rest: Vec<usize> = open.iter().copied().filter(|other| *other != item).collect();
        let least_rest: f64 = rest.iter().map(|other| problem.items[*other].costs[0]).sum();
        let mut best = None;
        for size in 0..problem.items[item].costs.len() {
            self.tries += 1;
            let cost = problem.items[item].costs[size];
            if cost + least_rest >= below || (self.tries > MOST && best.is_some()) {
                break;
            }
            if !self.fits(item, size) {
                continue;
            }
            let taken = self.take(item, size);
            let within = self.left.iter().all(|left| *left >= -ROUNDING);
            let found = if within { self.best(&rest, below - cost) } else { None };
            for (left, taken) in self.left.iter_mut().zip(taken) {
                *left += taken;
            }
            self.chosen[item] = None;
            if let Some((of_rest, mut sizes)) = found {
                sizes.push((item, size));
                below = cost + of_rest;
                best = Some((below, sizes));
            }
        }
        best
    }

    fn take(&mut self, item: usize, size: usize) -> Vec<f64> {
        let excess = self.problem.items[item].excess[size];
        let taken: Vec<f64> = self.problem.shared.iter().map(|shared| shared.weights[item] * excess).collect();
        for (left, taken) in self.left.iter_mut().zip(&taken) {
            *left -= taken;
        }
        self.chosen[item] = Some(size);
        taken
    }

    /// Whether a size is no thinner than what it must match, as far as that is chosen.
    fn fits(&self, item: usize, size: usize) -> bool {
        let area = |item: usize, size: usize| self.problem.items[item].areas[size];
        self.problem.no_thinner.iter().all(|(thin, thick)| {
            let of = |at: usize| if at == item { Some(size) } else { self.chosen[at] };
            match (of(*thin), of(*thick)) {
                (Some(one), Some(other)) => area(*thin, one) <= area(*thick, other) * (1.0 + 1e-9),
                _ => true,
            }
        })
    }

    /// Groups of wires that share a limit or a pair.
    fn parts(&self, open: &[usize]) -> Vec<Vec<usize>> {
        let mut parts: Vec<Vec<usize>> = Vec::new();
        for item in open {
            let tied = |part: &Vec<usize>| part.iter().any(|other| self.problem.is_tied(*item, *other));
            let (mut joined, apart): (Vec<_>, Vec<_>) = parts.into_iter().partition(tied);
            let mut part: Vec<usize> = joined.drain(..).flatten().collect();
            part.push(*item);
            parts = apart;
            parts.push(part);
        }
        parts
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn item(areas: &[f64], length: f64) -> Item {
        let thickest = areas.last().copied().unwrap_or(1.0);
        Item {
            costs: areas.iter().map(|area| area * length).collect(),
            excess: areas.iter().map(|area| 1.0 / area - 1.0 / thickest).collect(),
            areas: areas.to_vec(),
        }
    }

    /// Every choice there is, looked at.
    fn by_looking(problem: &Problem) -> Option<f64> {
        let mut best: Option<f64> = None;
        let counts: Vec<usize> = problem.items.iter().map(|item| item.costs.len()).collect();
        for number in 0..counts.iter().product::<usize>() {
            let mut rest = number;
            let sizes: Vec<usize> = counts.iter().map(|count| (rest % count, rest /= count).0).collect();
            let holds = problem.shared.iter().all(|shared| {
                let taken =
                    sizes.iter().enumerate().map(|(at, size)| shared.weights[at] * problem.items[at].excess[*size]);
                taken.sum::<f64>() <= shared.left + ROUNDING
            });
            let area = |at: usize| problem.items[at].areas[sizes[at]];
            let pairs = problem.no_thinner.iter().all(|(thin, thick)| area(*thin) <= area(*thick));
            if holds && pairs {
                let cost = sizes.iter().enumerate().map(|(at, size)| problem.items[at].costs[*size]).sum::<f64>();
                best = Some(best.map_or(cost, |known: f64| known.min(cost)));
            }
        }
        best
    }

    proptest! {
        #[test]
        fn the_least_copper_is_that_of_looking_at_every_choice(
            lengths in proptest::collection::vec(0.2_f64..6.0, 4),
            weights in proptest::collection::vec(proptest::collection::vec(prop_oneof![Just(0.0), 0.1..2.0_f64], 4), 1..4),
            left in proptest::collection::vec(0.0_f64..1.0, 3),
            pair in any::<bool>(),
        ) {
            let items = lengths.iter().map(|length| item(&[1.0, 2.5, 6.0, 16.0, 35.0], *length)).collect();
            let shared = weights.into_iter().zip(left).map(|(weights, left)| Shared { left, weights }).collect();
            let problem = Problem { items, shared, no_thinner: if pair { vec![(1, 2)] } else { Vec::new() } };
            let found = problem.least();
            let cost = found.as_ref().map(|sizes| {
                sizes.iter().enumerate().map(|(at, size)| problem.items[at].costs[*size]).sum::<f64>()
            });
            match (cost, by_looking(&problem)) {
                (Some(found), Some(least)) => prop_assert!((found - least).abs() < 1e-9, "{found} {least}"),
                (found, least) => prop_assert_eq!(found, least),
            }
        }
    }

    #[test]
    fn where_nothing_fits_nothing_is_found() {
        let problem = Problem {
            items: vec![item(&[1.0, 2.0], 1.0)],
            shared: vec![Shared { left: -0.1, weights: vec![1.0] }],
            no_thinner: Vec::new(),
        };
        assert_eq!(problem.least(), None);
    }
}
