//! A thing in the vehicle: a box with its name, what was found at it, and a row for each run that ends there.

use super::super::drawing::{Anchor, Area, Ink, Point, Shape, number};
use super::super::letters::wrapped;
use super::super::marks::{self, Mark};
use super::super::symbols::{self, Symbol};
use super::ways::Side;

const TITLE: f64 = 12.0;
/// The size of all words but the names of things.
pub const SIZE: f64 = 10.0;
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
        let more = |rows: Vec<String>| number(rows.len().saturating_sub(1)) * NOTE_ROW;
        let notes = self.notes(room).len();
        let mut y = PAD + TITLE_ROW + more(self.title(room)) + number(notes) * NOTE_ROW + rows(&self.marks);
        let mut ports = Vec::new();
        for port in &self.ports {
            ports.push(y + PORT_ROW / 2.0);
            y += PORT_ROW + more(wrapped(&port.words, SIZE, room)) + rows(&port.marks);
        }
        (ports, y + PAD - 2.0)
    }

    fn title(&self, room: f64) -> Vec<String> {
        let beside = if self.symbol == Symbol::None { 0.0 } else { 20.0 };
        wrapped(&self.title, TITLE, room - beside)
    }

    fn notes(&self, room: f64) -> Vec<String> {
        self.notes.iter().flat_map(|note| wrapped(note, SIZE, room)).collect()
    }

    /// The tile at a place.
    pub fn draw(&self, at: Area) -> Vec<Shape> {
        let room = at.width - 2.0 * PAD;
        let left = at.left + PAD;
        let mut shapes = vec![Shape::Block { at, round: 4.0, ink: Ink::Plain }];
        let mut y = at.top + PAD + TITLE_ROW - 5.0;
        shapes.extend(symbols::draw(self.symbol, (at.right() - PAD - 8.0, y - 4.0)));
        for (row, title) in self.title(room).into_iter().enumerate() {
            y += if row > 0 { NOTE_ROW } else { 0.0 };
            shapes.push(words(title, (left, y), TITLE, Anchor::Start, Ink::Plain));
        }
        for note in self.notes(room) {
            y += NOTE_ROW;
            shapes.push(words(note, (left, y), SIZE, Anchor::Start, Ink::Faint));
        }
        let below = |marks: &[Mark], y: &mut f64, shapes: &mut Vec<Shape>| {
            for row in marks::rows(marks, room) {
                *y += marks::ROW;
                shapes.extend(marks::draw_row(&row, (left, *y), room));
            }
        };
        below(&self.marks, &mut y, &mut shapes);
        for port in &self.ports {
            let (x, anchor) = match port.side {
                Side::Right => (at.right() - PAD, Anchor::End),
                _ => (left, Anchor::Start),
            };
            for (row, part) in wrapped(&port.words, SIZE, room).into_iter().enumerate() {
                y += if row > 0 { NOTE_ROW } else { PORT_ROW };
                shapes.push(words(part, (x, y), SIZE, anchor, port.ink));
            }
            below(&port.marks, &mut y, &mut shapes);
        }
        shapes
    }
}

/// Words on the drawing.
pub fn words(text: impl Into<String>, at: Point, size: f64, anchor: Anchor, ink: Ink) -> Shape {
    Shape::Words { at, text: text.into(), size, anchor, ink }
}
