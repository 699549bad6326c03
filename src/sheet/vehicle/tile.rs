//! A thing in the vehicle: a box with its name, what was found at it, and a row for each run that ends there.

use super::super::drawing::{Anchor, Area, Ink, Point, Shape, number};
use super::super::letters::fitted;
use super::super::marks::{self, Mark};
use super::super::symbols::{self, Symbol};
use super::ways::Side;

const TITLE: f64 = 12.0;
const SIZE: f64 = 10.0;
const TITLE_ROW: f64 = 17.0;
const NOTE_ROW: f64 = 13.0;
const PORT_ROW: f64 = 15.0;
const PAD: f64 = 6.0;

/// A run's end at a thing.
#[derive(Debug, Clone)]
pub struct Port {
    /// The side of the tile at which it ends.
    pub side: Side,
    /// Its words.
    pub words: String,
    /// The run's ink.
    pub ink: Ink,
    /// What was found at this end of the run.
    pub marks: Vec<Mark>,
}

/// A thing.
#[derive(Debug, Clone)]
pub struct Tile {
    /// Its name.
    pub title: String,
    /// More about it.
    pub notes: Vec<String>,
    /// Its symbol.
    pub symbol: Symbol,
    /// What was found at it.
    pub marks: Vec<Mark>,
    /// The runs that end there.
    pub ports: Vec<Port>,
}

impl Tile {
    /// A thing without runs.
    pub fn new(title: impl Into<String>) -> Self {
        let (notes, marks, ports) = (Vec::new(), Vec::new(), Vec::new());
        Self { title: title.into(), notes, symbol: Symbol::None, marks, ports }
    }

    /// How far below its top each port lies, and how high it is, at a width.
    pub fn heights(&self, width: f64) -> (Vec<f64>, f64) {
        let room = width - 2.0 * PAD;
        let rows = |marks: &[Mark]| number(marks::rows(marks, room).len()) * marks::ROW;
        let mut y = PAD + TITLE_ROW + number(self.notes.len()) * NOTE_ROW + rows(&self.marks);
        let mut ports = Vec::new();
        for port in &self.ports {
            ports.push(y + PORT_ROW / 2.0);
            y += PORT_ROW + rows(&port.marks);
        }
        (ports, y + PAD - 2.0)
    }

    /// The tile at a place.
    pub fn draw(&self, at: Area) -> Vec<Shape> {
        let room = at.width - 2.0 * PAD;
        let left = at.left + PAD;
        let mut shapes = vec![Shape::Block { at, round: 4.0, ink: Ink::Plain }];
        let mut y = at.top + PAD + TITLE_ROW - 5.0;
        let beside = if self.symbol == Symbol::None { 0.0 } else { 20.0 };
        shapes.push(words(fitted(&self.title, TITLE, room - beside), (left, y), TITLE, Anchor::Start, Ink::Plain));
        shapes.extend(symbols::draw(self.symbol, (at.right() - PAD - 8.0, y - 4.0)));
        for note in &self.notes {
            y += NOTE_ROW;
            shapes.push(words(fitted(note, SIZE, room), (left, y), SIZE, Anchor::Start, Ink::Faint));
        }
        let below = |marks: &[Mark], y: &mut f64, shapes: &mut Vec<Shape>| {
            for row in marks::rows(marks, room) {
                *y += marks::ROW;
                shapes.extend(marks::draw_row(&row, (left, *y), room));
            }
        };
        below(&self.marks, &mut y, &mut shapes);
        for port in &self.ports {
            y += PORT_ROW;
            let (x, anchor) = match port.side {
                Side::Right => (at.right() - PAD, Anchor::End),
                _ => (left, Anchor::Start),
            };
            shapes.push(words(fitted(&port.words, SIZE, room), (x, y), SIZE, anchor, port.ink));
            below(&port.marks, &mut y, &mut shapes);
        }
        shapes
    }
}

fn words(text: String, at: Point, size: f64, anchor: Anchor, ink: Ink) -> Shape {
    Shape::Words { at, text, size, anchor, ink }
}
