//! A thing in the circuit: a box with its terminals, a load, the body, or a place that a line passes.

use super::super::drawing::{Anchor, Area, Ink, Point, Shape, Stroke, number};
use super::super::letters::{self, WITH_UNIT, width_of, wrapped};
use super::super::marks::{self, Mark};
use super::super::symbols::{self, Symbol};

const TITLE: f64 = 11.0;
/// The size of the type of everything but titles.
pub const SIZE: f64 = 10.0;
/// How high a row of words is.
pub const ROW: f64 = 12.0;
const TITLE_ROW: f64 = 13.0;
const PAD: f64 = 6.0;
/// Between the words of terminals on the left and on the right.
const APART: f64 = 5.0;
/// From the left of a load, or of a ground, to its words.
const INDENT: f64 = 22.0;
/// Room for a symbol beside notes.
const SYMBOL: f64 = 20.0;

/// How narrow words are measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Narrow {
    /// As they stand.
    No,
    /// A word on a row, but figures beside each other.
    Words,
    /// A part of a word on a row.
    Parts,
}

impl Narrow {
    /// How wide words are.
    fn width(self, text: &str, size: f64) -> f64 {
        let widest = |pieces: &mut dyn Iterator<Item = &str>| {
            pieces.map(|piece| width_of(ordinary(piece), size)).fold(0.0, f64::max)
        };
        match self {
            Self::No => width_of(text, size),
            Self::Words if text.contains(WITH_UNIT) => width_of(text, size),
            Self::Words => widest(&mut letters::words(text)),
            Self::Parts => widest(&mut letters::words(text).flat_map(letters::parts)),
        }
    }
}

/// As much of a word as has room in any case.
fn ordinary(word: &str) -> &str {
    const LETTERS: usize = 24;
    word.char_indices().nth(LETTERS).map_or(word, |(end, _)| &word[..end])
}

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
    fn rows(&self, words: &[String]) -> Vec<String> {
        words.iter().flat_map(|words| wrapped(words, SIZE, self.room)).collect()
    }

    /// How much room it needs above and below its line.
    fn heights(&self) -> (f64, f64) {
        let marks = number(marks::rows(&self.marks, self.room).len()) * marks::ROW;
        let high = |words: &[String]| number(self.rows(words).len()) * ROW;
        (high(&self.above) + 8.0, high(&self.below) + marks + 10.0)
    }

    /// How wide its words are.
    pub fn wide(&self, narrow: Narrow) -> f64 {
        let rows = self.above.iter().chain(&self.below).map(|row| narrow.width(row, SIZE));
        rows.fold(marks::natural(&self.marks), f64::max)
    }

    /// The words at a line that lies at a height, from a place on.
    pub fn draw(&self, (x, y): Point, weight: f64, ink: Ink) -> Vec<Shape> {
        let room = self.room;
        let mut shapes = Vec::new();
        let above = self.rows(&self.above);
        let mut row = y - weight / 2.0 - 4.0 - number(above.len().saturating_sub(1)) * ROW;
        for words in above {
            shapes.push(text(words, (x, row), Anchor::Start, ink));
            row += ROW;
        }
        row = y + weight / 2.0 - 1.0;
        for words in self.rows(&self.below) {
            row += ROW;
            shapes.push(text(words, (x, row), Anchor::Start, Ink::Plain));
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

    /// How far its words are moved inward by a fuse.
    fn inward(&self) -> f64 {
        if self.fused_inside { symbols::FUSE + 4.0 } else { 0.0 }
    }

    /// How wide its words are.
    fn wide(&self, narrow: Narrow) -> f64 {
        let inside = self.inside.iter().map(|row| narrow.width(row, SIZE));
        inside.fold(narrow.width(&self.words, SIZE) + self.inward(), f64::max)
    }

    /// The rows of its name, and those below.
    fn rows(&self, room: f64) -> (Vec<String>, Vec<String>) {
        let inside = self.inside.iter().flat_map(|words| wrapped(words, SIZE, room)).collect();
        (wrapped(&self.words, SIZE, room - self.inward()), inside)
    }

    fn heights(&self, look: Look, room: f64) -> (f64, f64) {
        let (above, below) = self.label.as_ref().map_or((0.0, 0.0), Label::heights);
        let least = if look == Look::Pass || look == Look::Ground { 6.0 } else { 8.0 };
        let (words, inside) = if look == Look::Box { self.rows(room) } else { (Vec::new(), self.inside.clone()) };
        let rows = words.len().saturating_sub(1) + inside.len();
        (above.max(least), below.max(least + number(rows) * ROW))
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

    /// The rows of its name and of what else is told of it.
    fn words(&self) -> (Vec<String>, Vec<String>) {
        let (size, room, beside) = match self.look {
            Look::Box if self.symbol != Symbol::None => (TITLE, self.width - 2.0 * PAD, SYMBOL),
            Look::Box => (TITLE, self.width - 2.0 * PAD, 0.0),
            _ => (SIZE, self.width - INDENT, 0.0),
        };
        let notes = self.notes.iter().flat_map(|note| wrapped(note, SIZE, room - beside)).collect();
        (wrapped(&self.title, size, room), notes)
    }

    /// How high what stands above its terminals is.
    fn head(&self) -> f64 {
        let marks = number(marks::rows(&self.marks, self.width - 2.0 * PAD).len()) * marks::ROW;
        let (title, notes) = self.words();
        let more = number(title.len().saturating_sub(1)) * TITLE_ROW;
        match self.look {
            Look::Box => PAD + 17.0 + more + number(notes.len()) * ROW + marks + 2.0,
            _ => 0.0,
        }
    }

    /// How wide it is.
    pub fn wide(&self, narrow: Narrow) -> f64 {
        let is_box = self.look == Look::Box;
        let title = narrow.width(&self.title, if is_box { TITLE } else { SIZE });
        let beside = if self.symbol == Symbol::None { 0.0 } else { SYMBOL };
        let notes = self.notes.iter().map(|note| narrow.width(note, SIZE) + beside).fold(0.0, f64::max);
        let words = title.max(notes).max(marks::natural(&self.marks));
        let pins = pins_width(&self.left, narrow) + pins_width(&self.right, narrow) + APART;
        match self.look {
            Look::Box => words.max(pins) + 2.0 * PAD,
            Look::Load | Look::Ground => words + INDENT,
            Look::Pass => 0.0,
        }
    }

    /// The room for the words of terminals on the left and on the right.
    fn halves(&self) -> (f64, f64) {
        let inner = self.width - 2.0 * PAD;
        if self.left.is_empty() || self.right.is_empty() {
            return (inner, inner);
        }
        let least = pins_width(&self.right, Narrow::Parts);
        let most = pins_width(&self.right, Narrow::No);
        let right = (inner - APART - pins_width(&self.left, Narrow::No)).clamp(least, most).min(inner - APART);
        (inner - APART - right, right)
    }

    /// How far below its top the terminals of a side lie, and where they end.
    pub fn pins(&self, left: bool) -> (Vec<f64>, f64) {
        let mut y = self.head();
        let mut found = Vec::new();
        let (half, other) = self.halves();
        for pin in if left { &self.left } else { &self.right } {
            let (above, below) = pin.heights(self.look, if left { half } else { other });
            found.push(y + above);
            y += above + below;
        }
        (found, y)
    }

    /// How high it is.
    pub fn height(&self) -> f64 {
        let pins = self.pins(true).1.max(self.pins(false).1);
        let (title, notes) = self.words();
        let rows = number(title.len() + notes.len()) * ROW;
        let marks = number(marks::rows(&self.marks, self.width - INDENT).len()) * marks::ROW;
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
        let mut y = self.top + PAD + 12.0 - TITLE_ROW;
        let (title, notes) = self.words();
        for words in title {
            y += TITLE_ROW;
            let at = (left + PAD, y);
            shapes.push(Shape::Words { at, text: words, size: TITLE, anchor: Anchor::Start, ink: Ink::Plain });
        }
        shapes.extend(symbols::draw(self.symbol, (at.right() - PAD - 8.0, y + ROW - 4.0)));
        for note in notes {
            y += ROW;
            shapes.push(text(note, (left + PAD, y), Anchor::Start, Ink::Faint));
        }
        for row in marks::rows(&self.marks, inner) {
            y += marks::ROW;
            shapes.extend(marks::draw_row(&row, (left + PAD, y), inner));
        }
        shapes.extend(self.draw_pins(at, true));
        shapes.extend(self.draw_pins(at, false));
        shapes
    }

    /// The terminals of a side of a box.
    fn draw_pins(&self, at: Area, is_left: bool) -> Vec<Shape> {
        let (pins, half) = if is_left { (&self.left, self.halves().0) } else { (&self.right, self.halves().1) };
        let (x, anchor) = if is_left { (at.left + PAD, Anchor::Start) } else { (at.right() - PAD, Anchor::End) };
        let mut shapes = Vec::new();
        for (pin, height) in pins.iter().zip(self.pins(is_left).0) {
            if pin.fused_inside {
                let from = if is_left { at.left } else { at.right() - symbols::FUSE };
                shapes.extend(symbols::fuse((from, self.top + height)));
            }
            let words_at = if is_left { x + pin.inward() } else { x - pin.inward() };
            let mut y = self.top + height + 3.5 - ROW;
            let (words, inside) = pin.rows(half);
            for words in &words {
                y += ROW;
                shapes.push(text(words.clone(), (words_at, y), anchor, Ink::Plain));
            }
            if words.is_empty() {
                y += ROW;
            }
            for words in inside {
                y += ROW;
                shapes.push(text(words, (x, y), anchor, Ink::Faint));
            }
        }
        shapes
    }

    fn draw_load(&self, left: f64) -> Vec<Shape> {
        let width = self.width;
        let y = self.top + self.pins(true).0.first().copied().unwrap_or(8.0);
        let mut shapes = symbols::draw(Symbol::Speaker, (left + 8.0, y));
        shapes.extend(self.rows((left + INDENT, y - 2.0), width - INDENT));
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
        shapes.extend(self.rows((left + INDENT - 2.0, self.top + first + 3.5), width - INDENT));
        shapes
    }

    /// Name, notes and marks below each other.
    fn rows(&self, (x, mut y): Point, room: f64) -> Vec<Shape> {
        let mut shapes = Vec::new();
        let (title, notes) = self.words();
        let rows = title
            .into_iter()
            .map(|words| (words, Ink::Plain))
            .chain(notes.into_iter().map(|words| (words, Ink::Faint)));
        for (words, ink) in rows {
            shapes.push(text(words, (x, y), Anchor::Start, ink));
            y += ROW;
        }
        y -= ROW;
        for row in marks::rows(&self.marks, room) {
            y += marks::ROW;
            shapes.extend(marks::draw_row(&row, (x, y), room));
        }
        shapes
    }
}

/// How wide the words of terminals are.
fn pins_width(pins: &[Pin], narrow: Narrow) -> f64 {
    pins.iter().map(|pin| pin.wide(narrow)).fold(0.0, f64::max)
}

fn text(text: String, at: Point, anchor: Anchor, ink: Ink) -> Shape {
    Shape::Words { at, text, size: SIZE, anchor, ink }
}
