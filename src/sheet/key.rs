//! What drawings share: lines with cut corners, signs of crossings, and what stands below a drawing.

use std::collections::BTreeSet;

use super::drawing::{Anchor, Ink, Point, Shape, Stroke};
use super::letters::{fitted, width_of};
use super::marks::{self, Mark};
use super::runs::Kind;
use super::symbols;

const SIZE: f64 = 10.0;
const ROW: f64 = 16.0;
/// From the drawing's sides.
const EDGE: f64 = 12.0;
const WIDTH: f64 = 720.0;

/// What stands below a drawing.
#[derive(Debug, Clone, Default)]
pub struct Notes {
    /// Sentences.
    pub lines: Vec<String>,
    /// Findings at nothing that is drawn, each with its place.
    pub marks: Vec<(String, Vec<Mark>)>,
    /// What is known of the seals of crossings that are drawn.
    pub seals: BTreeSet<Option<bool>>,
    /// Whether a fuse is drawn.
    pub fuses: bool,
}

/// A line with its corners cut at 45 degrees.
pub fn chamfered(points: &[Point]) -> Vec<Point> {
    const CUT: f64 = 5.0;
    let mut line: Vec<Point> = Vec::new();
    let mut plain: Vec<Point> = points.to_vec();
    plain.dedup_by(|one, other| (one.0 - other.0).abs() < 0.05 && (one.1 - other.1).abs() < 0.05);
    for (at, point) in plain.iter().enumerate() {
        let (Some(before), Some(after)) = (at.checked_sub(1).and_then(|at| plain.get(at)), plain.get(at + 1)) else {
            line.push(*point);
            continue;
        };
        let cut = CUT.min(apart(*before, *point) / 2.0).min(apart(*point, *after) / 2.0);
        line.push(towards(*point, *before, cut));
        line.push(towards(*point, *after, cut));
    }
    line
}

fn apart(one: Point, other: Point) -> f64 {
    (one.0 - other.0).hypot(one.1 - other.1)
}

fn towards(from: Point, to: Point, by: f64) -> Point {
    let share = by / apart(from, to).max(0.01);
    (from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share)
}

/// A crossing: a ring around the line, filled where it is sealed, with a stroke where it is known not to be.
pub fn crossing(at: Point, radius: f64, sealed: Option<bool>) -> Vec<Shape> {
    let mut shapes = vec![Shape::Ring { at, radius, filled: false, ink: Ink::Plain }];
    match sealed {
        Some(true) => shapes.push(Shape::Ring { at, radius: radius - 2.0, filled: true, ink: Ink::Plain }),
        Some(false) => {
            let (dx, dy) = (radius * 1.3, radius * 1.3);
            let points = vec![(at.0 - dx, at.1 + dy), (at.0 + dx, at.1 - dy)];
            shapes.push(Shape::Line { points, weight: 1.4, ink: Ink::Plain, stroke: Stroke::Solid });
        }
        None => {}
    }
    shapes
}

/// A spot to stay away from: a square on its corner with a stroke.
pub fn avoid((x, y): Point) -> Vec<Shape> {
    const HALF: f64 = 6.0;
    let points = vec![(x, y - HALF), (x + HALF, y), (x, y + HALF), (x - HALF, y)];
    let stroke = vec![(x - 3.0, y), (x + 3.0, y)];
    vec![
        Shape::Outline { points, ink: Ink::Plain },
        Shape::Line { points: stroke, weight: 1.6, ink: Ink::Plain, stroke: Stroke::Solid },
    ]
}

fn words(text: String, at: Point, ink: Ink) -> Shape {
    Shape::Words { at, text, size: SIZE, anchor: Anchor::Start, ink }
}

/// What stands below a drawing, from a height on: notes, findings elsewhere, and what lines and signs mean. Also how high
/// the drawing is with it.
pub fn below(notes: &Notes, kinds: &[Kind], above: &[Shape], top: f64) -> (Vec<Shape>, f64) {
    let mut shapes = Vec::new();
    let mut y = top + 4.0;
    let room = WIDTH - 2.0 * EDGE;
    for line in &notes.lines {
        y += ROW;
        shapes.push(words(fitted(line, SIZE, room), (EDGE, y), Ink::Plain));
    }
    for (place, found) in &notes.marks {
        let place = fitted(place, SIZE, 200.0);
        let left = EDGE + width_of(&place, SIZE) + 12.0;
        shapes.push(words(place, (EDGE, y + ROW), Ink::Plain));
        for row in marks::rows(found, WIDTH - EDGE - left) {
            y += ROW;
            shapes.extend(marks::draw_row(&row, (left, y), WIDTH - EDGE - left));
        }
    }
    let severities = marks::words(above.iter().chain(&shapes).filter_map(|shape| match shape {
        Shape::Words { ink, .. } => Some(*ink),
        _ => None,
    }));
    let mut entries: Vec<(Vec<Shape>, f64, String)> = Vec::new();
    for kind in kinds {
        let points = vec![(0.0, -3.5), (30.0, -3.5)];
        let weight = if kind.is_power() { 3.0 } else { 1.6 };
        entries.push((
            vec![Shape::Line { points, weight, ink: kind.ink(), stroke: kind.stroke() }],
            36.0,
            kind.word().to_owned(),
        ));
    }
    if notes.fuses {
        entries.push((symbols::fuse((0.0, -3.5)), symbols::FUSE + 6.0, "fuse".to_owned()));
    }
    for (sealed, word) in [(Some(true), "sealed"), (Some(false), "not sealed"), (None, "seal not stated")] {
        if notes.seals.contains(&sealed) {
            entries.push((crossing((6.0, -3.5), 4.5, sealed), 16.0, word.to_owned()));
        }
    }
    for (ink, word) in severities {
        entries.push((vec![marks::sign(ink, (5.0, -3.5))], 13.0, word.to_owned()));
    }
    y += 8.0;
    let mut x = EDGE;
    y += ROW;
    for (sample, indent, word) in entries {
        let wide = indent + width_of(&word, SIZE);
        if x + wide > WIDTH - EDGE {
            x = EDGE;
            y += ROW;
        }
        shapes.extend(sample.into_iter().map(|shape| moved(shape, (x, y))));
        shapes.push(words(word, (x + indent, y), Ink::Plain));
        x += wide + 16.0;
    }
    (shapes, y + EDGE)
}

/// Whether a shape says anything: words for which there was no room do not.
pub fn says(shape: &Shape) -> bool {
    !matches!(shape, Shape::Words { text, .. } if text.is_empty())
}

fn moved(shape: Shape, (dx, dy): Point) -> Shape {
    let by = |points: Vec<Point>| points.into_iter().map(|(x, y)| (x + dx, y + dy)).collect();
    match shape {
        Shape::Line { points, weight, ink, stroke } => Shape::Line { points: by(points), weight, ink, stroke },
        Shape::Outline { points, ink } => Shape::Outline { points: by(points), ink },
        Shape::Band { points, ink } => Shape::Band { points: by(points), ink },
        Shape::Ring { at, radius, filled, ink } => Shape::Ring { at: (at.0 + dx, at.1 + dy), radius, filled, ink },
        Shape::Words { at, text, size, anchor, ink } => {
            Shape::Words { at: (at.0 + dx, at.1 + dy), text, size, anchor, ink }
        }
        Shape::Block { mut at, round, ink } => {
            at.left += dx;
            at.top += dy;
            Shape::Block { at, round, ink }
        }
    }
}
