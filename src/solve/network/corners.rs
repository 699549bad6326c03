//! The search for the ends of a result's range among the corners of the facts' ranges.
//!
//! A result that rises or falls with every fact alone has its ends at corners, and its own slopes tell which: no corner
//! is tried blindly. Slopes hold where they were taken, so they are taken anew at the corner they point to. A source that
//! changes over (a battery from idle to giving, an alternator to its limit) changes all slopes, and deceives them twice:
//!
//! - Two corners can each agree with their slopes, one on each side of a change-over. The search therefore sets out from
//!   several, among them those where a source gives least and most, and at each also the way that the slopes would point
//!   if one source had changed over.
//! - Just at a change-over a result of a mesh may have a ridge, and its end on it, inside the ranges. No single fact can be
//!   moved along a ridge. From the furthest corner the search therefore moves on by two tangents, one on each side: it
//!   goes where the lower of them is highest, and puts the tangent there in the place of one of them. That is the method
//!   of cutting planes (Kelley 1960, from memory), kept to two planes and, as tangents hold only near, to less and less of the
//!   ranges around the furthest point.
//!
//! What each part is worth was measured on some thousand generated networks of up to ten facts with a range, against all
//! corners and what random moves find beyond: without a part, from one end in twenty thousand to one in twenty-four is lost.

use std::cell::RefCell;
use std::collections::HashMap;
use std::rc::Rc;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use super::circuit::{Circuit, Values};
use super::measure::Measure;
use super::point::{self, Point};

/// How many corners are followed, each where the slopes at the last one point to. A third one was further out
/// in one of 80,000 generated ends.
const MOST_CORNERS: usize = 2;

/// How often the search moves on. On a ridge of two sources it advances by small steps.
const MOST_MOVES: usize = 60;

/// The parts of the ranges, to both sides of a point, within which the search looks for more, the widest first.
const REACHES: [f64; 7] = [0.5, 0.1, 0.02, 0.004, 0.000_5, 0.000_05, 0.000_005];

/// How often two tangents are laid against each other within one reach.
const MOST_CUTS: usize = 4;

/// What counts as no further out, as a part of one more than the value.
const NOTHING: f64 = 1e-9;

/// For each fact with a range, whether it is at the upper end.
type Corner = Box<[u64]>;

/// The corners of a network's ranges.
#[derive(Debug)]
pub(super) struct Corners {
    middle: Arc<Point>,
    worst: Arc<Point>,
    best: Arc<Point>,
    /// Where every search sets out.
    starts: OnceLock<Vec<Arc<Point>>>,
    /// Corners solved so far; `None` where the network does not work there.
    solved: Mutex<HashMap<Corner, Option<Arc<Point>>>>,
}

/// One end of a result's range: a point and the value there, counted so that more is further out.
struct End {
    value: f64,
    point: Arc<Point>,
}

impl End {
    /// Takes a point if it lies further out.
    fn offer(&mut self, value: f64, point: &Arc<Point>) {
        if value > self.value {
            self.value = value;
            self.point = Arc::clone(point);
        }
    }

    /// What has to be passed to lie further out by more than nothing.
    fn passed_at(&self) -> f64 {
        self.value + NOTHING * (1.0 + self.value.abs())
    }
}

/// A result around a point, if it goes on as it begins there with the sources as they stand.
#[derive(Clone)]
struct Tangent {
    point: Arc<Point>,
    /// Counted, as the slopes are, so that more is further out.
    value: f64,
    slopes: Vec<f64>,
}

impl Tangent {
    fn at(&self, circuit: &Circuit, values: &Values) -> f64 {
        let gain = |&place: &usize| self.slopes[place] * (values[place] - self.point.values[place]);
        self.value + circuit.free.iter().map(gain).sum::<f64>()
    }
}

impl Corners {
    pub fn new(circuit: &Circuit, middle: Arc<Point>, worst: Arc<Point>, best: Arc<Point>) -> Self {
        let solved = [&worst, &best].map(|point| {
            let corner = corner(circuit, |place| point.values[place] == circuit.high[place]);
            (corner, Some(Arc::clone(point)))
        });
        Self { middle, worst, best, starts: OnceLock::new(), solved: Mutex::new(HashMap::from(solved)) }
    }

    /// The lower and the upper end of a result.
    pub fn range(&self, circuit: &Circuit, measure: Measure) -> (f64, f64) {
        let taken = Taken::default();
        let search = |way| Search { circuit, corners: self, measure, way, taken: &taken };
        let from = search(1.0).with_slopes(self.starts(circuit));
        // With one battery the middle leads further in few results, and costs all of them.
        let inner = (circuit.batteries > 1).then_some(&self.middle);
        (-search(-1.0).end(&from, inner), search(1.0).end(&from, inner))
    }

    /// The worst and the best corner, and for every source those at which it gives least and most.
    fn starts(&self, circuit: &Circuit) -> &[Arc<Point>] {
        self.starts.get_or_init(|| {
            let always = [&self.worst, &self.best].map(Arc::clone);
            let mut starts = always.to_vec();
            for source in 0..circuit.sources.len() {
                let measure = match source.checked_sub(circuit.batteries) {
                    None => Measure::BatteryCurrent(source),
                    Some(alternator) => Measure::AlternatorCurrent(alternator),
                };
                let taken = Taken::default();
                for way in [-1.0, 1.0] {
                    let search = Search { circuit, corners: self, measure, way, taken: &taken };
                    // Where to set out from has not to be the very end: the corners are near enough.
                    let end = search.furthest_corner(&search.with_slopes(&always)).point;
                    if !starts.iter().any(|known| Arc::ptr_eq(known, &end)) {
                        starts.push(end);
                    }
                }
            }
            starts
        })
    }

    fn solved(&self) -> MutexGuard<'_, HashMap<Corner, Option<Arc<Point>>>> {
        self.solved.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The operating point at a corner, solved once.
    fn at(&self, circuit: &Circuit, corner: &Corner) -> Option<Arc<Point>> {
        if let Some(known) = self.solved().get(corner) {
            return known.clone();
        }
        let mut values = circuit.low.clone();
        for (bit, &place) in circuit.free.iter().enumerate() {
            if corner[bit / 64] >> (bit % 64) & 1 == 1 {
                values[place] = circuit.high[place];
            }
        }
        let point = solve(circuit, &values);
        self.solved().insert(corner.clone(), point.clone());
        point
    }
}

fn solve(circuit: &Circuit, values: &Values) -> Option<Arc<Point>> {
    point::solve(circuit, values, 1.0, None).map(Arc::new)
}

fn corner(circuit: &Circuit, at_high: impl Fn(usize) -> bool) -> Corner {
    let mut corner = vec![0; circuit.free.len().div_ceil(64)].into_boxed_slice();
    for (bit, &place) in circuit.free.iter().enumerate() {
        corner[bit / 64] |= u64::from(at_high(place)) << (bit % 64);
    }
    corner
}

/// The search for one end of one result.
struct Search<'a> {
    circuit: &'a Circuit,
    corners: &'a Corners,
    measure: Measure<'a>,
    /// 1 for the upper end; -1 for the lower one, with all values turned round.
    way: f64,
    /// The slopes of the result that were taken so far, on the way to either end.
    taken: &'a Taken,
}

/// Slopes of a result, not turned round.
type Slopes = Rc<[f64]>;

/// A point to set out from, and slopes of the result there.
type Start = (Arc<Point>, Slopes);

/// Slopes of one result at points that were looked at: both searches meet the same few corners.
type Taken = RefCell<Vec<Start>>;

impl Search<'_> {
    /// Each point with the slopes there, and with those there would be if one of the sources changed over.
    fn with_slopes(&self, points: &[Arc<Point>]) -> Vec<Start> {
        let all = |point: &Arc<Point>| std::iter::once(self.slopes(point)).chain(self.changed_over(point));
        points.iter().flat_map(|point| all(point).map(|slopes| (Arc::clone(point), slopes))).collect()
    }

    fn changed_over(&self, point: &Point) -> Vec<Slopes> {
        // Ends beyond a change-over were seen with several batteries; looking for them costs every result.
        let sources = if self.circuit.batteries > 1 { 0..self.circuit.sources.len() } else { 0..0 };
        let slopes = |source| self.measure.gradient_changed_over(self.circuit, point, source).map(Slopes::from);
        sources.filter_map(slopes).collect()
    }

    fn slopes(&self, point: &Arc<Point>) -> Slopes {
        if let Some((_, slopes)) = self.taken.borrow().iter().find(|(known, _)| Arc::ptr_eq(known, point)) {
            return Rc::clone(slopes);
        }
        let slopes = Slopes::from(self.measure.gradient(self.circuit, point));
        self.taken.borrow_mut().push((Arc::clone(point), Rc::clone(&slopes)));
        slopes
    }

    fn value(&self, point: &Point) -> f64 {
        self.way * self.measure.value(self.circuit, point)
    }

    fn tangent(&self, point: &Arc<Point>, slopes: &[f64]) -> Tangent {
        let slopes = slopes.iter().map(|slope| slope * self.way).collect();
        Tangent { value: self.value(point), slopes, point: Arc::clone(point) }
    }

    fn as_it_stands(&self, point: &Arc<Point>) -> Tangent {
        self.tangent(point, &self.measure.gradient_as_it_stands(self.circuit, point))
    }

    fn end(&self, starts: &[Start], inner: Option<&Arc<Point>>) -> f64 {
        let corner = self.move_on(self.furthest_corner(starts));
        let inner = inner.map(|point| self.move_on(End { value: self.value(point), point: Arc::clone(point) }));
        inner.map_or(corner, |inner| inner.max(corner))
    }

    /// The furthest of the points to set out from and of the corners that they lead to.
    fn furthest_corner(&self, starts: &[Start]) -> End {
        let mut end = End { value: f64::NEG_INFINITY, point: Arc::clone(&self.corners.middle) };
        let mut visited = Vec::new();
        for (start, slopes) in starts {
            end.offer(self.value(start), start);
            self.follow_corners(slopes, &mut visited, &mut end);
        }
        end
    }

    /// Goes from corner to corner, each where the slopes at the last one point to.
    fn follow_corners(&self, slopes: &[f64], visited: &mut Vec<Corner>, end: &mut End) {
        let mut corner = self.pointed(slopes);
        for _ in 0..MOST_CORNERS {
            if visited.contains(&corner) {
                return;
            }
            let Some(point) = self.corners.at(self.circuit, &corner) else { return };
            end.offer(self.value(&point), &point);
            let next = self.pointed(&self.slopes(&point));
            visited.push(std::mem::replace(&mut corner, next));
        }
    }

    /// The corner that slopes point to. Facts that do not matter go to the end that is worst for delivering power, so
    /// that results share their corners.
    fn pointed(&self, slopes: &[f64]) -> Corner {
        let worst = |place: usize| self.corners.worst.values[place] == self.circuit.high[place];
        corner(self.circuit, |place| if slopes[place] == 0.0 { worst(place) } else { slopes[place] * self.way > 0.0 })
    }

    /// Moves on from a point as long as somewhere around it there is more: as the sources stand, or else the way that one
    /// which gives nothing more would pull if it did.
    fn move_on(&self, mut end: End) -> f64 {
        for _ in 0..MOST_MOVES {
            let pull = self.tangent(&end.point, &self.slopes(&end.point));
            let promised = pull.at(self.circuit, &self.pointed_within(&pull, REACHES[0], &pull.slopes));
            if promised <= end.passed_at() {
                break;
            }
            let mut leads_on = |from: &Tangent| REACHES.iter().any(|reach| self.look_around(from, *reach, &mut end));
            if !leads_on(&self.as_it_stands(&pull.point)) && !leads_on(&pull) {
                break;
            }
        }
        end.value
    }

    /// Looks where the lower of two tangents is highest, takes the tangent there in place of the one on its side, and so
    /// on. Tells whether that leads further out.
    fn look_around(&self, from: &Tangent, reach: f64, end: &mut End) -> bool {
        let further = end.passed_at();
        let (mut one, mut other) = (from.clone(), from.clone());
        for _ in 0..MOST_CUTS {
            let (left, right, part) = self.meet(from, reach, &one, &other);
            let mut values = left.clone();
            for &place in &self.circuit.free {
                values[place] += part * (right[place] - left[place]);
            }
            if one.at(self.circuit, &values).min(other.at(self.circuit, &values)) <= end.passed_at() {
                break;
            }
            let Some(point) = solve(self.circuit, &values) else { break };
            let new = self.as_it_stands(&point);
            end.offer(new.value, &point);
            let rises = new.at(self.circuit, &right) > new.at(self.circuit, &left);
            *(if rises { &mut one } else { &mut other }) = new;
        }
        end.value > further
    }

    /// Within a reach around a point, where the lower of two tangents is highest: a part of the way from one choice of the
    /// facts to another. These choices are where the two slopes point when mixed. With a larger share of the first one
    /// after the other fact changes its end, and the first tangent comes to more there, the second to less: from a choice
    /// where the first is the lower one to the next, where it is not.
    fn meet(&self, around: &Tangent, reach: f64, one: &Tangent, other: &Tangent) -> (Values, Values, f64) {
        let slopes = one.slopes.iter().zip(&other.slopes);
        let mixed =
            |share: f64| slopes.clone().map(|(one, other)| share * one + (1.0 - share) * other).collect::<Vec<_>>();
        let pointed = |share: f64| self.pointed_within(around, reach, &mixed(share));
        let more = |values: &Values| one.at(self.circuit, values) - other.at(self.circuit, values);
        let turns = slopes.clone().filter(|(one, other)| *one * *other < 0.0).map(|(one, other)| other / (other - one));
        let mut shares: Vec<f64> = turns.chain([0.0, 1.0]).collect();
        shares.sort_by(f64::total_cmp);
        let shares: Vec<f64> = shares.windows(2).map(|pair| f64::midpoint(pair[0], pair[1])).collect();
        let first = shares.partition_point(|share| more(&pointed(*share)) < 0.0);
        let (left, right) = (pointed(shares[first.saturating_sub(1)]), pointed(shares[first.min(shares.len() - 1)]));
        let (lack, excess) = (more(&left), more(&right));
        let part = if lack < excess { lack / (lack - excess) } else { 0.0 };
        (left, right, part)
    }

    /// The values furthest to where slopes point, within a reach around a point. Facts that do not matter stay.
    fn pointed_within(&self, around: &Tangent, reach: f64, slopes: &[f64]) -> Values {
        let mut values = around.point.values.clone();
        for &place in self.circuit.free.iter().filter(|place| slopes[**place] != 0.0) {
            let (low, high) = (self.circuit.low[place], self.circuit.high[place]);
            values[place] = (values[place] + (reach * (high - low)).copysign(slopes[place])).clamp(low, high);
        }
        values
    }
}
