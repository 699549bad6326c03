//! A thing in the circuit: a box with its terminals, a load, the body, or a place that a line passes.

use super::super::drawing::{Anchor, Area, Ink, Point, Shape, Stroke, fitted, number, width_of};
use super::super::marks::{self, Mark};
use super::super::symbols::{self, Symbol};

const TITLE: f64 = 11.0;
/// The size of the type of everything but titles.
pub const SIZE: f64 = 10.0;
/// How high a row of words is.
pub const ROW: f64 = 12.0;
const PAD: f64 = 6.0;

/// What joins a number and its unit, so that no row is cut between them.
pub const WITH_UNIT: char = '\u{a0}';

/// How a thing is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Look {
    /// A box (IEC 60617: general).
    Box,
    /// A loudspeaker with words beside it.
    Load,
    /// The body, with a bar for what is joined there.
    Ground,
    /// Nothing: a line passes.
    Pass,
}

/// What is told of a conductor beside its line.
#[derive(Debug, Clone, Default)]
pub struct Label {
    /// Rows above the line.
    pub above: Vec<String>,
    /// Rows below it.
    pub below: Vec<String>,
    /// What was found at it.
    pub marks: Vec<Mark>,
    /// How wide it may be.
    pub room: f64,
}

/// A terminal.
#[derive(Debug, Clone)]
pub struct Pin {
    /// Its name.
    pub words: String,
    /// Rows below the name, inside the box.
    pub inside: Vec<String>,
    /// Whether a fuse sits here in the line.
    pub fused: bool,
    /// Whether a fuse sits here inside the box.
    pub fused_inside: bool,
    /// What is told beside it.
    pub label: Option<Label>,
    /// The ink of its line.
    pub ink: Ink,
}

/// A thing.
#[derive(Debug, Clone)]
pub struct Node {
    /// Its path in the plan.
    pub path: String,
    /// The column it stands in.
    pub column: usize,
    /// How it is drawn.
    pub look: Look,
    /// Its name.
    pub title: String,
    /// Its symbol.
    pub symbol: Symbol,
    /// More about it.
    pub notes: Vec<String>,
    /// What was found at it.
    pub marks: Vec<Mark>,
    /// Terminals on its left.
    pub left: Vec<Pin>,
    /// Terminals on its right.
    pub right: Vec<Pin>,
    /// Its upper edge.
    pub top: f64,
    /// Its width.
    pub width: f64,
}

impl Label {
    /// How much room it needs above and below its line.
    fn heights(&self) -> (f64, f64) {
        let marks = number(marks::rows(&self.marks, self.room).len()) * marks::ROW;
        (number(self.above.len()) * ROW + 8.0, number(self.below.len()) * ROW + marks + 10.0)
    }

    /// How wide its words are, or its figures alone.
    pub fn natural(&self, figures: bool) -> f64 {
        let rows = self.above.iter().chain(&self.below).filter(|row| !figures || row.contains(WITH_UNIT));
        let rows = rows.map(|row| width_of(row, SIZE));
        rows.fold(marks::natural(&self.marks), f64::max)
    }

    /// The words at a line that lies at a height, from a place on.
    pub fn draw(&self, (x, y): Point, weight: f64, ink: Ink) -> Vec<Shape> {
        let room = self.room;
        let mut shapes = Vec::new();
        let mut row = y - weight / 2.0 - 4.0 - number(self.above.len().saturating_sub(1)) * ROW;
        for words in &self.above {
            shapes.push(text(whole(words, room), (x, row), Anchor::Start, ink));
            row += ROW;
        }
        row = y + weight / 2.0 - 1.0;
        for words in &self.below {
            row += ROW;
            shapes.push(text(whole(words, room), (x, row), Anchor::Start, Ink::Plain));
        }
        for marks in marks::rows(&self.marks, room) {
            row += marks::ROW;
            shapes.extend(marks::draw_row(&marks, (x, row), room));
        }
        shapes
    }
}

impl Pin {
    /// A terminal with nothing to tell of it.
    pub fn new(words: impl Into<String>, ink: Ink) -> Self {
        Self { words: words.into(), inside: Vec::new(), fused: false, fused_inside: false, label: None, ink }
    }

    fn heights(&self, look: Look) -> (f64, f64) {
        let (above, below) = self.label.as_ref().map_or((0.0, 0.0), Label::heights);
        let (least_above, least_below) =
            if look == Look::Pass || look == Look::Ground { (6.0, 6.0) } else { (8.0, 8.0) };
        (above.max(least_above), below.max(least_below + number(self.inside.len()) * ROW))
    }
}

impl Node {
    /// A box without terminals.
    pub fn new(path: &str, column: usize, title: impl Into<String>) -> Self {
        Self {
            path: path.to_owned(),
            column,
            look: Look::Box,
            title: title.into(),
            symbol: Symbol::None,
            notes: Vec::new(),
            marks: Vec::new(),
            left: Vec::new(),
            right: Vec::new(),
            top: 0.0,
            width: 0.0,
        }
    }

    /// How high what stands above its terminals is.
    fn head(&self) -> f64 {
        let marks = number(marks::rows(&self.marks, self.width - 2.0 * PAD).len()) * marks::ROW;
        match self.look {
            Look::Box => PAD + 17.0 + number(self.notes.len()) * ROW + marks + 2.0,
            _ => 0.0,
        }
    }

    /// How wide it is if nothing is cut.
    pub fn natural(&self) -> f64 {
        let title = width_of(&self.title, TITLE);
        let beside = if self.symbol == Symbol::None { 0.0 } else { 20.0 };
        let notes = self.notes.iter().map(|note| width_of(note, SIZE) + beside).fold(0.0, f64::max);
        let pins = pins_width(&self.left) + pins_width(&self.right) + 5.0;
        match self.look {
            Look::Box => title.max(notes).max(pins).max(marks::natural(&self.marks)) + 2.0 * PAD,
            Look::Load | Look::Ground => width_of(&self.title, SIZE).max(notes).max(marks::natural(&self.marks)) + 22.0,
            Look::Pass => 0.0,
        }
    }

    /// How far below its top the terminals of a side lie, and where they end.
    pub fn pins(&self, left: bool) -> (Vec<f64>, f64) {
        let mut y = self.head();
        let mut found = Vec::new();
        for pin in if left { &self.left } else { &self.right } {
            let (above, below) = pin.heights(self.look);
            found.push(y + above);
            y += above + below;
        }
        (found, y)
    }

    /// How high it is.
    pub fn height(&self) -> f64 {
        let pins = self.pins(true).1.max(self.pins(false).1);
        let rows = number(self.notes.len() + 1) * ROW;
        let marks = number(marks::rows(&self.marks, self.width - 26.0).len()) * marks::ROW;
        match self.look {
            Look::Box => pins + 4.0,
            Look::Load => pins.max(rows + marks + 4.0),
            Look::Ground => (pins + 14.0).max(self.pins(true).0.first().copied().unwrap_or_default() + rows + marks),
            Look::Pass => pins,
        }
    }

    /// The thing at the left edge of its column.
    pub fn draw(&self, left: f64) -> Vec<Shape> {
        match self.look {
            Look::Box => self.draw_box(left),
            Look::Load => self.draw_load(left),
            Look::Ground => self.draw_ground(left),
            Look::Pass => Vec::new(),
        }
    }

    fn draw_box(&self, left: f64) -> Vec<Shape> {
        let width = self.width;
        let at = Area { left, top: self.top, width, height: self.height() };
        let inner = width - 2.0 * PAD;
        let mut shapes = vec![Shape::Block { at, round: 4.0, ink: Ink::Plain }];
        let mut y = self.top + PAD + 12.0;
        let beside = if self.symbol == Symbol::None { 0.0 } else { 20.0 };
        shapes.push(Shape::Words {
            at: (left + PAD, y),
            text: fitted(&self.title, TITLE, inner),
            size: TITLE,
            anchor: Anchor::Start,
            ink: Ink::Plain,
        });
        shapes.extend(symbols::draw(self.symbol, (at.right() - PAD - 8.0, y + ROW - 4.0)));
        for note in &self.notes {
            y += ROW;
            shapes.push(text(fitted(note, SIZE, inner - beside), (left + PAD, y), Anchor::Start, Ink::Faint));
        }
        for row in marks::rows(&self.marks, inner) {
            y += marks::ROW;
            shapes.extend(marks::draw_row(&row, (left + PAD, y), inner));
        }
        let right = pins_width(&self.right).min(inner * 0.7);
        for (is_left, pins) in [(true, &self.left), (false, &self.right)] {
            let (heights, _) = self.pins(is_left);
            let (x, anchor) = if is_left { (left + PAD, Anchor::Start) } else { (at.right() - PAD, Anchor::End) };
            let half = match (is_left, self.left.is_empty(), self.right.is_empty()) {
                (false, true, _) | (true, _, true) => inner,
                (true, ..) => inner - right - 5.0,
                _ => right,
            };
            for (pin, height) in pins.iter().zip(heights) {
                let mut y = self.top + height + 3.5;
                let inward = if pin.fused_inside { symbols::FUSE + 4.0 } else { 0.0 };
                if pin.fused_inside {
                    let from = if is_left { left } else { at.right() - symbols::FUSE };
                    shapes.extend(symbols::fuse((from, self.top + height)));
                }
                let words_at = if is_left { x + inward } else { x - inward };
                shapes.push(text(fitted(&pin.words, SIZE, half - inward), (words_at, y), anchor, Ink::Plain));
                for words in &pin.inside {
                    y += ROW;
                    shapes.push(text(fitted(words, SIZE, half), (x, y), anchor, Ink::Faint));
                }
            }
        }
        shapes
    }

    fn draw_load(&self, left: f64) -> Vec<Shape> {
        let width = self.width;
        let y = self.top + self.pins(true).0.first().copied().unwrap_or(8.0);
        let mut shapes = symbols::draw(Symbol::Speaker, (left + 8.0, y));
        shapes.extend(self.rows((left + 22.0, y - 2.0), width - 22.0));
        shapes
    }

    fn draw_ground(&self, left: f64) -> Vec<Shape> {
        let width = self.width;
        let (heights, end) = self.pins(true);
        let x = left + 8.0;
        let mut shapes = Vec::new();
        if let Some(first) = heights.first() {
            let points = vec![(x, self.top + first), (x, self.top + end)];
            shapes.push(Shape::Line { points, weight: 2.4, ink: Ink::Return, stroke: Stroke::Solid });
            let joints = heights.iter().map(|y| (x, self.top + y));
            shapes.extend(joints.map(|at| Shape::Ring { at, radius: 2.6, filled: true, ink: Ink::Return }));
            let into = heights.iter().map(|y| vec![(left, self.top + y), (x, self.top + y)]);
            shapes.extend(into.map(|points| Shape::Line {
                points,
                weight: 1.6,
                ink: Ink::Return,
                stroke: Stroke::Solid,
            }));
        }
        shapes.extend(symbols::draw(Symbol::Ground, (x, self.top + end + 6.0)));
        let first = heights.first().copied().unwrap_or_default();
        shapes.extend(self.rows((left + 20.0, self.top + first + 3.5), width - 20.0));
        shapes
    }

    /// Name, notes and marks below each other.
    fn rows(&self, (x, mut y): Point, room: f64) -> Vec<Shape> {
        let mut shapes = vec![text(fitted(&self.title, SIZE, room), (x, y), Anchor::Start, Ink::Plain)];
        for note in &self.notes {
            y += ROW;
            shapes.push(text(fitted(note, SIZE, room), (x, y), Anchor::Start, Ink::Faint));
        }
        for row in marks::rows(&self.marks, room) {
            y += marks::ROW;
            shapes.extend(marks::draw_row(&row, (x, y), room));
        }
        shapes
    }
}

/// Words cut to a width between figures, never within one: what is left of a number would be another.
fn whole(words: &str, room: f64) -> String {
    if width_of(words, SIZE) <= room || !words.contains(WITH_UNIT) {
        return fitted(words, SIZE, room);
    }
    let mut ends = words.rmatch_indices(' ').map(|(at, _)| format!("{} …", &words[..at]));
    ends.find(|short| width_of(short, SIZE) <= room).unwrap_or_else(|| "…".into())
}

/// How wide the words of terminals are.
fn pins_width(pins: &[Pin]) -> f64 {
    let name = |pin: &Pin| width_of(&pin.words, SIZE) + if pin.fused_inside { symbols::FUSE + 4.0 } else { 0.0 };
    let rows = |pin: &Pin| pin.inside.iter().map(|row| width_of(row, SIZE)).fold(name(pin), f64::max);
    pins.iter().map(rows).fold(0.0, f64::max)
}

fn text(text: String, at: Point, anchor: Anchor, ink: Ink) -> Shape {
    Shape::Words { at, text, size: SIZE, anchor, ink }
}
