//! Symbols of circuit diagrams, as in IEC 60617: battery, capacitor, chassis, fuse, loudspeaker.

use super::drawing::{Area, Ink, Point, Shape, Stroke};

/// What a symbol stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Symbol {
    /// A battery.
    Battery,
    /// A polarised capacitor.
    Capacitor,
    /// The body.
    Ground,
    /// A loudspeaker.
    Speaker,
    /// Nothing.
    None,
}

/// How long a fuse is.
pub const FUSE: f64 = 18.0;

fn line(points: Vec<Point>, weight: f64) -> Shape {
    Shape::Line { points, weight, ink: Ink::Plain, stroke: Stroke::Solid }
}

/// A symbol around a point.
pub fn draw(symbol: Symbol, (x, y): Point) -> Vec<Shape> {
    let bar = |dx: f64, half: f64, weight| line(vec![(x + dx, y - half), (x + dx, y + half)], weight);
    let level = |dy: f64, half: f64| line(vec![(x - half, y + dy), (x + half, y + dy)], 1.4);
    match symbol {
        Symbol::None => Vec::new(),
        Symbol::Battery => vec![
            line(vec![(x - 8.0, y), (x - 2.0, y)], 1.2),
            bar(-2.0, 5.5, 1.2),
            bar(2.0, 3.0, 2.4),
            line(vec![(x + 2.0, y), (x + 8.0, y)], 1.2),
        ],
        // Two plates alike, and a plus beside the one that is joined to the feed (from memory).
        Symbol::Capacitor => vec![
            line(vec![(x - 8.0, y), (x - 2.0, y)], 1.2),
            bar(-2.0, 5.5, 1.6),
            bar(2.0, 5.5, 1.6),
            line(vec![(x + 2.0, y), (x + 8.0, y)], 1.2),
            line(vec![(x - 8.0, y - 4.5), (x - 4.0, y - 4.5)], 1.0),
            line(vec![(x - 6.0, y - 6.5), (x - 6.0, y - 2.5)], 1.0),
        ],
        Symbol::Ground => {
            vec![line(vec![(x, y - 6.0), (x, y - 1.0)], 1.4), level(-1.0, 6.0), level(2.0, 4.0), level(5.0, 1.8)]
        }
        Symbol::Speaker => {
            let horn = vec![(x, y - 4.0), (x + 7.0, y - 9.0), (x + 7.0, y + 9.0), (x, y + 4.0)];
            let magnet = Area { left: x - 8.0, top: y - 4.0, width: 8.0, height: 8.0 };
            vec![
                Shape::Outline { points: horn, ink: Ink::Plain },
                Shape::Block { at: magnet, round: 0.0, ink: Ink::Plain },
            ]
        }
    }
}

/// A fuse in a line that goes on from its left end: a box with the line through it.
pub fn fuse((x, y): Point) -> Vec<Shape> {
    let at = Area { left: x, top: y - 4.0, width: FUSE, height: 8.0 };
    vec![Shape::Block { at, round: 0.0, ink: Ink::Plain }, line(vec![(x, y), (x + FUSE, y)], 1.2)]
}
