//! A drawing as shapes on a sheet: laid out first, printed last, so that a test can look at where everything lies.

use maud::{Markup, html};

use super::letters::width_of;

/// A drawing, in units of a CSS pixel at its natural size.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// A short word for it, unique on the sheet: `vehicle`, `circuit`, `coils-bass`.
    pub name: String,
    /// What it shows, as a heading.
    pub title: String,
    /// What it says, for those who do not see it.
    pub description: String,
    /// How wide it is.
    pub width: f64,
    /// How high it is.
    pub height: f64,
    /// What is on it, the lowest first.
    pub shapes: Vec<Shape>,
}

/// What a shape stands for. The sheet's style gives each its colour by day, by night and on paper; none is told by its
/// colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ink {
    /// Words and outlines.
    Plain,
    /// What stands back: the outline of the vehicle, grids, axes.
    Faint,
    /// A supply conductor from a source.
    Feed,
    /// A supply conductor back to it.
    Return,
    /// A turn-on lead.
    TurnOn,
    /// A signal.
    Signal,
    /// A speaker lead and its coils.
    Speaker,
    /// A danger.
    Danger,
    /// A fault.
    Fault,
    /// Advice.
    Advice,
    /// What is still open.
    Open,
}

impl Ink {
    /// Its class in the style.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Faint => "faint",
            Self::Feed => "feed",
            Self::Return => "return",
            Self::TurnOn => "turn-on",
            Self::Signal => "signal",
            Self::Speaker => "speaker",
            Self::Danger => "danger",
            Self::Fault => "fault",
            Self::Advice => "advice",
            Self::Open => "open",
        }
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Stroke {
    /// Whole.
    #[default]
    Solid,
    /// In strokes.
    Dashed,
    /// In dots.
    Dotted,
    /// In strokes and dots by turns.
    Chain,
    /// In short strokes.
    Short,
}

/// Which end of a text its place is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Anchor {
    /// Its start.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// A point.
pub type Point = (f64, f64);

/// Something on a drawing.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A line through points.
    Line {
        /// The points.
        points: Vec<Point>,
        /// How thick it is.
        weight: f64,
        /// What it stands for.
        ink: Ink,
        /// How it is drawn.
        stroke: Stroke,
    },
    /// A stretch between two lines, within which something lies; tinted, without an outline, so that what lies below shows.
    Band {
        /// Its corners.
        points: Vec<Point>,
        /// What it stands for.
        ink: Ink,
    },
    /// An outline with straight sides; filled with the sheet's ground, so that it covers what lies below.
    Outline {
        /// Its corners.
        points: Vec<Point>,
        /// What it stands for.
        ink: Ink,
    },
    /// A box with its sides along the sheet's; filled with the sheet's ground.
    Block {
        /// Where it lies.
        at: Area,
        /// How round its corners are.
        round: f64,
        /// What it stands for.
        ink: Ink,
    },
    /// A ring, or a dot where it is filled.
    Ring {
        /// Its middle.
        at: Point,
        /// Its radius.
        radius: f64,
        /// Whether it is filled with its own ink instead of the sheet's ground.
        filled: bool,
        /// What it stands for.
        ink: Ink,
    },
    /// Words on one line.
    Words {
        /// Where their anchor lies, on the line that the letters stand on.
        at: Point,
        /// The words.
        text: String,
        /// The size of the type.
        size: f64,
        /// Which end lies there.
        anchor: Anchor,
        /// What they stand for.
        ink: Ink,
    },
}

/// A rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Its left side.
    pub left: f64,
    /// Its upper side.
    pub top: f64,
    /// How wide it is.
    pub width: f64,
    /// How high it is.
    pub height: f64,
}

impl Area {
    /// Its right side.
    pub fn right(self) -> f64 {
        self.left + self.width
    }

    /// Its lower side.
    pub fn bottom(self) -> f64 {
        self.top + self.height
    }

    /// Its middle.
    pub fn middle(self) -> Point {
        (self.left + self.width / 2.0, self.top + self.height / 2.0)
    }

    /// Whether two overlap by more than a hair.
    pub fn overlaps(self, other: Self) -> bool {
        const HAIR: f64 = 0.01;
        self.left + HAIR < other.right()
            && other.left + HAIR < self.right()
            && self.top + HAIR < other.bottom()
            && other.top + HAIR < self.bottom()
    }

    /// Whether another lies wholly inside.
    pub fn holds(self, other: Self) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && self.right() >= other.right()
            && self.bottom() >= other.bottom()
    }
}

/// A count as a length.
pub fn number(count: usize) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "nothing on a sheet is counted to 2^52")]
    let number = count as f64;
    number
}

/// How high a page is, as a share of its width.
const PAGE: f64 = 1.25;
/// A drawing so much higher than a page is made smaller and not cut.
const CLOSE: f64 = 1.35;

impl Shape {
    /// Where it must not be cut: words and boxes. What is higher than half a page lies behind what is drawn in it.
    fn solid(&self, page: f64) -> Option<Area> {
        let area = match self {
            Self::Words { .. } => self.words_area()?,
            Self::Block { at, .. } => *at,
            Self::Ring { at, radius, .. } => {
                Area { left: at.0 - radius, top: at.1 - radius, width: 2.0 * radius, height: 2.0 * radius }
            }
            _ => return None,
        };
        (area.height < page / 2.0).then_some(area)
    }

    /// Where words lie; none for other shapes.
    pub fn words_area(&self) -> Option<Area> {
        let Self::Words { at, text, size, anchor, .. } = self else { return None };
        let width = width_of(text, *size);
        let left = match anchor {
            Anchor::Start => at.0,
            Anchor::Middle => at.0 - width / 2.0,
            Anchor::End => at.0 - width,
        };
        // Letters rise about four fifths of the size above their line and fall a fifth below.
        Some(Area { left, top: at.1 - 0.8 * size, width, height: *size })
    }

    fn svg(&self) -> Markup {
        match self {
            Self::Line { points, weight, ink, stroke } => html! {
                polyline class={ "line " (ink.class()) (dashes(*stroke)) } points=(list(points))
                    stroke-width=(round(*weight)) {}
            },
            Self::Band { points, ink } => html! {
                polygon class={ "band " (ink.class()) } points=(list(points)) {}
            },
            Self::Outline { points, ink } => html! {
                polygon class={ "shape " (ink.class()) } points=(list(points)) {}
            },
            Self::Block { at, round: corner, ink } => html! {
                rect class={ "shape " (ink.class()) } x=(round(at.left)) y=(round(at.top)) width=(round(at.width))
                    height=(round(at.height)) rx=(round(*corner)) {}
            },
            Self::Ring { at, radius, filled, ink } => html! {
                circle class={ (if *filled { "dot " } else { "shape " }) (ink.class()) } cx=(round(at.0)) cy=(round(at.1))
                    r=(round(*radius)) {}
            },
            Self::Words { at, text, size, anchor, ink } => html! {
                text class={ "words " (ink.class()) } x=(round(at.0)) y=(round(at.1)) font-size=(round(*size))
                    text-anchor=(anchor_word(*anchor)) { (harmless(text)) }
            },
        }
    }
}

impl Drawing {
    /// The drawing as SVG inside a page.
    pub fn svg(&self) -> Markup {
        let title = format!("{}-title", self.name);
        let description = format!("{}-description", self.name);
        html! {
            svg class="drawing" role="img" aria-labelledby={ (title) " " (description) }
                viewBox={ "0 0 " (round(self.width)) " " (round(self.height)) } width=(round(self.width)) {
                title id=(title) { (harmless(&self.title)) }
                desc id=(description) { (harmless(&self.description)) }
                g.shapes id=(self.shapes_id()) { @for shape in &self.shapes { (shape.svg()) } }
            }
        }
    }

    fn shapes_id(&self) -> String {
        format!("{}-shapes", self.name)
    }

    /// The same drawing in pieces that each fit a page, for paper; none where it fits one whole. Nothing is drawn twice in
    /// the file.
    pub fn pieces(&self) -> Vec<Markup> {
        let id = format!("#{}", self.shapes_id());
        let piece = |(top, bottom): (f64, f64)| {
            html! {
                svg class="drawing piece" aria-hidden="true" viewBox={ "0 " (round(top)) " " (round(self.width)) " " (round(bottom - top)) }
                    width=(round(self.width)) {
                    use href=(id) {}
                }
            }
        };
        self.cuts().into_iter().map(piece).collect()
    }

    /// From where to where each piece goes: as far as a page reaches, cut where only lines pass. None where the drawing is
    /// hardly higher than a page, or where there is no such place.
    pub fn cuts(&self) -> Vec<(f64, f64)> {
        let page = self.width * PAGE;
        if self.height <= page * CLOSE {
            return Vec::new();
        }
        let solid: Vec<Area> = self.shapes.iter().filter_map(|shape| shape.solid(page)).collect();
        let is_free = |y: &f64| solid.iter().all(|area| *y <= area.top || area.bottom() <= *y);
        let mut cuts = Vec::new();
        let mut top = 0.0;
        while self.height - top > page {
            let below = |area: &Area| [area.bottom(), area.top].into_iter();
            let places = solid.iter().flat_map(below).filter(|y| top + page / 2.0 <= *y && *y <= top + page);
            let Some(cut) = places.filter(is_free).max_by(f64::total_cmp) else { return Vec::new() };
            cuts.push((top, cut));
            top = cut;
        }
        cuts.push((top, self.height));
        cuts
    }

    /// Pairs of words that lie over each other, and words that lie outside the drawing: none, if it is laid out well.
    pub fn crowded(&self) -> Vec<String> {
        let whole = Area { left: 0.0, top: 0.0, width: self.width, height: self.height };
        let words: Vec<(&str, Area)> = self.shapes.iter().filter_map(named).collect();
        let mut found = Vec::new();
        for (index, (one, area)) in words.iter().enumerate() {
            if !whole.holds(*area) {
                found.push(format!("`{one}` lies outside"));
            }
            let over = words[index + 1..].iter().filter(|(_, other)| area.overlaps(*other));
            found.extend(over.map(|(other, _)| format!("`{one}` over `{other}`")));
        }
        found
    }
}

/// Words without characters that no document may hold or that turn text around.
fn harmless(text: &str) -> String {
    crate::words::excerpt(text, usize::MAX)
}

fn named(shape: &Shape) -> Option<(&str, Area)> {
    let Shape::Words { text, .. } = shape else { return None };
    Some((text, shape.words_area()?))
}

const fn dashes(stroke: Stroke) -> &'static str {
    match stroke {
        Stroke::Solid => "",
        Stroke::Dashed => " dashed",
        Stroke::Dotted => " dotted",
        Stroke::Chain => " chain",
        Stroke::Short => " short",
    }
}

const fn anchor_word(anchor: Anchor) -> &'static str {
    match anchor {
        Anchor::Start => "start",
        Anchor::Middle => "middle",
        Anchor::End => "end",
    }
}

fn list(points: &[Point]) -> String {
    points.iter().map(|(x, y)| format!("{},{}", round(*x), round(*y))).collect::<Vec<_>>().join(" ")
}

/// A length to a tenth of a pixel: more is noise in the file.
fn round(length: f64) -> f64 {
    (length * 10.0).round() / 10.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(text: &str, x: f64) -> Shape {
        Shape::Words { at: (x, 20.0), text: text.into(), size: 10.0, anchor: Anchor::Start, ink: Ink::Plain }
    }

    fn drawing(shapes: Vec<Shape>) -> Drawing {
        let (name, title, description) = ("a".into(), "A <b>".into(), "what it says".into());
        Drawing { name, title, description, width: 100.0, height: 40.0, shapes }
    }

    #[test]
    fn words_over_each_other_and_outside_are_told() {
        assert_eq!(drawing(vec![words("abc", 0.0), words("def", 18.1)]).crowded(), Vec::<String>::new());
        assert_eq!(drawing(vec![words("abc", 0.0), words("def", 17.9)]).crowded(), ["`abc` over `def`"]);
        assert_eq!(drawing(vec![words("abc", 90.0)]).crowded(), ["`abc` lies outside"]);
    }

    #[test]
    fn words_of_a_plan_stay_words() {
        let svg = drawing(vec![words("<script>", 0.0)]).svg().into_string();
        assert!(svg.contains("&lt;script&gt;") && svg.contains("A &lt;b&gt;") && !svg.contains("<script"), "{svg}");
    }
}
