//! Hops: where two lines cross that are not joined, the level one goes over the other in a half circle.

use std::f64::consts::PI;

use super::super::drawing::{Point, number};
use super::super::key;

/// Room between a line and the hop over it.
const FREE: f64 = 2.4;
/// Into how many straight pieces half a circle is drawn.
const PIECES: usize = 8;

/// An upright piece of a line.
#[derive(Debug, Clone, Copy)]
pub struct Upright {
    segment: usize,
    x: f64,
    top: f64,
    bottom: f64,
    weight: f64,
}

/// The upright pieces of all ways, which come with the weight of their line.
pub fn uprights<'a>(ways: impl Iterator<Item = (f64, &'a Vec<Vec<Point>>)>) -> Vec<Upright> {
    let mut found = Vec::new();
    for (segment, (weight, ways)) in ways.enumerate() {
        for pair in ways.iter().flat_map(|way| way.windows(2)) {
            let [one, other] = [pair[0], pair[1]];
            if (one.0 - other.0).abs() < 0.05 {
                let (top, bottom) = (one.1.min(other.1), one.1.max(other.1));
                found.push(Upright { segment, x: one.0, top, bottom, weight });
            }
        }
    }
    found
}

/// A way with a hop over each upright piece of other lines, and with its corners cut.
pub fn over(way: &[Point], segment: usize, weight: f64, uprights: &[Upright]) -> Vec<Point> {
    // Each point with whether it is a corner of the way: only these are cut.
    let mut line: Vec<(Point, bool)> = Vec::new();
    for pair in way.windows(2) {
        let [one, other] = [pair[0], pair[1]];
        line.push((one, true));
        if (one.1 - other.1).abs() < 0.05 {
            let (left, right) = (one.0.min(other.0), one.0.max(other.0));
            let inside = |upright: &&Upright| {
                upright.segment != segment
                    && left < upright.x
                    && upright.x < right
                    && upright.top < one.1
                    && one.1 < upright.bottom
            };
            let mut hops = hops(uprights.iter().filter(inside), weight, (left, right));
            if other.0 < one.0 {
                hops.reverse();
            }
            for (start, end, radius) in hops {
                line.extend(arc((start, end), one.1, radius, other.0 < one.0).into_iter().map(|point| (point, false)));
            }
        }
    }
    line.extend(way.last().map(|end| (*end, true)));
    cut(line)
}

/// The line with its corners cut, and its half circles as they are.
fn cut(mut line: Vec<(Point, bool)>) -> Vec<Point> {
    line.dedup_by(|(one, _), (other, _)| (one.0 - other.0).abs() < 0.05 && (one.1 - other.1).abs() < 0.05);
    let mut points = Vec::new();
    for (at, (point, is_corner)) in line.iter().enumerate() {
        match (at.checked_sub(1).map(|before| line[before].0), line.get(at + 1)) {
            (Some(before), Some((after, _))) if *is_corner => {
                let cut = key::chamfered(&[before, *point, *after]);
                points.extend(&cut[1..cut.len() - 1]);
            }
            _ => points.push(*point),
        }
    }
    points
}

/// From where to where each hop goes, and how high: one for lines that lie too near for two.
fn hops<'a>(crossed: impl Iterator<Item = &'a Upright>, weight: f64, within: (f64, f64)) -> Vec<(f64, f64, f64)> {
    let mut crossed: Vec<&Upright> = crossed.collect();
    crossed.sort_by(|one, other| one.x.total_cmp(&other.x));
    let mut hops: Vec<(f64, f64, f64)> = Vec::new();
    for upright in crossed {
        let wanted = f64::midpoint(weight, upright.weight) + FREE;
        let radius = wanted.min(upright.x - within.0).min(within.1 - upright.x);
        let (start, end) = (upright.x - radius, upright.x + radius);
        match hops.last_mut() {
            Some(last) if start < last.1 + FREE => *last = (last.0, end, last.2.max(radius)),
            _ => hops.push((start, end, radius)),
        }
    }
    hops
}

/// A half circle, drawn out where it goes over several lines.
fn arc((start, end): (f64, f64), y: f64, radius: f64, backwards: bool) -> Vec<Point> {
    let points = (0..=PIECES).map(|piece| {
        let angle = PI * number(piece) / number(PIECES);
        let middle = if piece * 2 < PIECES { start + radius } else { end - radius };
        (middle - radius * angle.cos(), y - radius * angle.sin())
    });
    let mut points: Vec<Point> = points.collect();
    if end - start > 2.0 * radius {
        points.insert(PIECES / 2, (start + radius, y - radius));
    }
    if backwards {
        points.reverse();
    }
    points
}
