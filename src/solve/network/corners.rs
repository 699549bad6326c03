//! The search for the ends of a result's range among the corners of the facts' ranges.
//!
//! A result that rises or falls with every fact alone has its ends at corners, and its own slopes tell which: no corner
//! is tried blindly. Slopes hold where they were taken, so they are taken anew at the corner they point to, until a
//! corner confirms itself. Two things can deceive them, and each has its remedy:
//!
//! - A source that changes over (a battery from idle to giving, an alternator to its limit) changes all slopes. The
//!   search therefore sets out from several points, among them those where such a source gives least and most, and at
//!   each also the way that the slopes would point if one source had changed over: a corner can confirm itself while
//!   another one, beyond such a change, lies further out.
//! - In a mesh a current may turn round, and a result may have its end inside the ranges. Where a corner does not
//!   confirm itself, the search goes on from it by shorter moves. Where a source changes over the result may have a
//!   ridge, which no single fact can be moved along: there one fact keeps to the ridge while the others move.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use super::circuit::{Circuit, Values};
use super::measure::{self, Measure};
use super::point::{self, Point};

/// How often a corner is moved where its own slopes contradict it.
const MOST_CORNERS: usize = 6;

/// How often the search moves on between the corners.
const MOST_MOVES: usize = 60;

/// How often the way to a ridge is shortened. Both sides are nearly straight, so four are usual.
const MOST_CUTS: usize = 12;

/// How many facts are moved alone, the most promising first, when all together do not help.
const MOVED_ALONE: usize = 6;

/// The parts of the way to the other end that a move tries.
const PARTS: [f64; 5] = [1.0, 0.5, 0.25, 0.125, 0.031_25];

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
    /// Takes a point if it lies further out; tells whether it does.
    fn offer(&mut self, value: f64, point: &Arc<Point>) -> bool {
        let further = value > self.value + 1e-12 * value.abs();
        if further {
            self.value = value;
            self.point = Arc::clone(point);
        }
        further
    }
}

/// A point on the way over a ridge.
struct Station {
    /// The number of the fact that is moved.
    at: f64,
    /// The result, counted so that more is further out, and its slopes as the sources stand.
    value: f64,
    slopes: Vec<f64>,
    point: Arc<Point>,
}

/// A fact to be moved to the other end of its range.
struct Move {
    /// What the result gains if it goes on as it begins.
    gain: f64,
    place: usize,
    end: f64,
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
        let search = Search { circuit, corners: self, measure };
        let starts = search.with_slopes(self.starts(circuit));
        (-search.end(&starts, -1.0).value, search.end(&starts, 1.0).value)
    }

    /// The middle, the worst and the best corner; and, for every source that may change over, the points at which it
    /// gives least and most.
    fn starts(&self, circuit: &Circuit) -> &[Arc<Point>] {
        self.starts.get_or_init(|| {
            let always = [&self.middle, &self.worst, &self.best].map(Arc::clone);
            let mut starts = always.to_vec();
            for source in 0..circuit.sources.len() {
                let measure = match source.checked_sub(circuit.batteries) {
                    None => Measure::BatteryCurrent(source),
                    Some(alternator) => Measure::AlternatorCurrent(alternator),
                };
                let search = Search { circuit, corners: self, measure };
                let from = search.with_slopes(&always);
                // Where to set out from has not to be the very end: the corners are near enough.
                let ends = [-1.0, 1.0].map(|way| search.furthest_corner(&from, way).0.point);
                let mode = |point| measure::source(circuit, point, source).mode;
                if mode(&ends[0]) != mode(&ends[1]) {
                    starts.extend(ends);
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

/// The search for the ends of one result.
struct Search<'a> {
    circuit: &'a Circuit,
    corners: &'a Corners,
    measure: Measure<'a>,
}

/// A point to set out from, and the slopes of the result there.
type Start = (Arc<Point>, Vec<f64>);

impl Search<'_> {
    /// Each point with the slopes there, and with those there would be if one of the sources changed over.
    fn with_slopes(&self, points: &[Arc<Point>]) -> Vec<Start> {
        let all = |point| std::iter::once(self.slopes(point)).chain(self.changed_over(point));
        points.iter().flat_map(|point| all(point).map(|slopes| (Arc::clone(point), slopes))).collect()
    }

    fn changed_over<'a>(&'a self, point: &'a Point) -> impl Iterator<Item = Vec<f64>> + 'a {
        // Ends beyond a change-over were seen with several batteries; looking for them costs every result.
        let sources = if self.circuit.batteries > 1 { 0..self.circuit.sources.len() } else { 0..0 };
        sources.filter_map(|source| self.measure.gradient_changed_over(self.circuit, point, source))
    }

    fn slopes(&self, point: &Point) -> Vec<f64> {
        self.measure.gradient(self.circuit, point)
    }

    fn value(&self, point: &Point) -> f64 {
        self.measure.value(self.circuit, point)
    }

    /// The upper end (way 1) or the lower end (way -1, with its value turned round).
    fn end(&self, starts: &[Start], way: f64) -> End {
        let (mut end, confirmed) = self.furthest_corner(starts, way);
        let is_least = way < 0.0 && -end.value <= self.measure.floor();
        if !confirmed && !is_least {
            self.move_on(way, &mut end);
        }
        end
    }

    /// The furthest of the points to set out from and of the corners that they lead to, and whether a corner confirms
    /// that there is no more.
    fn furthest_corner(&self, starts: &[Start], way: f64) -> (End, bool) {
        let mut end = End { value: f64::NEG_INFINITY, point: Arc::clone(&self.corners.middle) };
        let mut visited = Vec::new();
        let mut confirmed = f64::NEG_INFINITY;
        for (start, slopes) in starts {
            end.offer(way * self.value(start), start);
            confirmed = confirmed.max(self.follow_corners(slopes, way, &mut visited, &mut end));
        }
        let mut reached = f64::NEG_INFINITY;
        while end.value > reached {
            reached = end.value;
            let from = Arc::clone(&end.point);
            for slopes in self.changed_over(&from) {
                confirmed = confirmed.max(self.follow_corners(&slopes, way, &mut visited, &mut end));
            }
        }
        // A source that stays idle gives nothing anywhere: the corner lies no further out than the middle.
        let is_confirmed = confirmed >= end.value;
        (end, is_confirmed)
    }

    /// Goes from corner to corner, each where the slopes at the last one point to. Gives the value at a corner that
    /// confirms itself, or else the lowest there is.
    fn follow_corners(&self, slopes: &[f64], way: f64, visited: &mut Vec<Corner>, end: &mut End) -> f64 {
        const NONE: f64 = f64::NEG_INFINITY;
        let mut corner = self.pointed(slopes, way);
        for _ in 0..MOST_CORNERS {
            if visited.contains(&corner) {
                return NONE;
            }
            let Some(point) = self.corners.at(self.circuit, &corner) else { return NONE };
            let value = way * self.value(&point);
            end.offer(value, &point);
            let next = self.pointed(&self.slopes(&point), way);
            if next == corner {
                visited.push(corner);
                return value;
            }
            visited.push(std::mem::replace(&mut corner, next));
        }
        NONE
    }

    /// The corner that slopes point to. Facts that do not matter go to the end that is worst for delivering power, so
    /// that results share their corners.
    fn pointed(&self, slopes: &[f64], way: f64) -> Corner {
        corner(self.circuit, |place| match slopes[place] * way {
            slope if slope > 0.0 => true,
            slope if slope < 0.0 => false,
            _ => self.corners.worst.values[place] == self.circuit.high[place],
        })
    }

    /// Leaves a corner that its own slopes contradict: by all moves they ask for together, by one of them alone, or
    /// along a ridge that one of them leads up to.
    fn move_on(&self, way: f64, end: &mut End) {
        for _ in 0..MOST_MOVES {
            let moves = self.moves(way, end);
            let alone = &moves[..moves.len().min(MOVED_ALONE)];
            let further = !moves.is_empty()
                && (self.try_moves(&moves, way, end)
                    || alone.chunks(1).any(|one| self.try_moves(one, way, end))
                    || alone.iter().any(|one| self.follow_ridge(one.place, way, end)));
            if !further {
                return;
            }
        }
    }

    /// With one fact kept where the result is furthest out, moves the others to where the slopes along this ridge point.
    /// Tells whether that leads further out.
    fn follow_ridge(&self, place: usize, way: f64, end: &mut End) -> bool {
        let before = end.value;
        for _ in 0..MOST_CORNERS {
            let Some(along) = self.climb(&end.point.values.clone(), place, way, end) else { break };
            let from = end.point.values.clone();
            let mut to = from.clone();
            for &other in self.circuit.free.iter().filter(|other| **other != place && along[**other] != 0.0) {
                to[other] = if along[other] > 0.0 { self.circuit.high[other] } else { self.circuit.low[other] };
            }
            let reached = end.value;
            let further = to != from
                && PARTS.iter().any(|part| {
                    let values = from
                        .iter()
                        .zip(&to)
                        .map(|(from, to)| if *part == 1.0 { *to } else { from + part * (to - from) });
                    self.climb(&values.collect(), place, way, end);
                    end.value > reached
                });
            if !further {
                break;
            }
        }
        end.value > before
    }

    /// Moves one fact to where the result is furthest out. Where that is a ridge within its range, gives the slopes
    /// along it: those of both sides, so mixed that the fact itself no longer matters.
    fn climb(&self, values: &Values, place: usize, way: f64, end: &mut End) -> Option<Vec<f64>> {
        let mut station = |at: f64| {
            let mut values = values.clone();
            values[place] = at;
            let point = solve(self.circuit, &values)?;
            let slopes = self.measure.gradient_as_it_stands(self.circuit, &point);
            let station = Station {
                at,
                value: way * self.value(&point),
                slopes: slopes.iter().map(|slope| slope * way).collect(),
                point,
            };
            end.offer(station.value, &station.point);
            Some(station)
        };
        let (mut left, mut right) = (station(self.circuit.low[place])?, station(self.circuit.high[place])?);
        if left.slopes[place] <= 0.0 || right.slopes[place] >= 0.0 {
            return None;
        }
        for _ in 0..MOST_CUTS {
            let (rise, fall) = (left.slopes[place], right.slopes[place]);
            // Where the two straight lines meet.
            let at = (right.value - left.value + rise * left.at - fall * right.at) / (rise - fall);
            if at <= left.at || at >= right.at {
                break;
            }
            let most = left.value + rise * (at - left.at);
            let middle = station(at)?;
            let arrived = most - middle.value <= 1e-10 * (1.0 + most.abs());
            if middle.slopes[place] > 0.0 {
                left = middle;
            } else {
                right = middle;
            }
            if arrived {
                break;
            }
        }
        let (rise, fall) = (left.slopes[place], right.slopes[place]);
        let part = fall / (fall - rise);
        let mixed = left.slopes.iter().zip(&right.slopes).map(|(left, right)| part * left + (1.0 - part) * right);
        Some(mixed.collect())
    }

    /// The moves that the slopes at an end ask for, the most promising first.
    fn moves(&self, way: f64, end: &End) -> Vec<Move> {
        let slopes = self.slopes(&end.point);
        let least = 1e-9 * (1.0 + end.value.abs());
        let to_other_end = |&place: &usize| {
            let slope = slopes[place] * way;
            let target = if slope > 0.0 { self.circuit.high[place] } else { self.circuit.low[place] };
            Move { gain: slope * (target - end.point.values[place]), place, end: target }
        };
        let mut moves: Vec<_> = self.circuit.free.iter().map(to_other_end).filter(|a| a.gain > least).collect();
        moves.sort_by(|one, other| other.gain.total_cmp(&one.gain));
        moves
    }

    /// Moves facts together by the largest part of their ways that leads further out.
    fn try_moves(&self, moves: &[Move], way: f64, end: &mut End) -> bool {
        let from = Arc::clone(&end.point);
        PARTS.iter().any(|part| {
            let mut values = from.values.clone();
            for step in moves {
                values[step.place] += part * (step.end - values[step.place]);
            }
            solve(self.circuit, &values).is_some_and(|point| end.offer(way * self.value(&point), &point))
        })
    }
}
