//! A plot: a frame with two axes and a grid, lines and bands cut to it, labels where there is room.

use super::axis::{self, Axis};
use super::cut::{crosses, cut, cut_area};
use crate::sheet::drawing::{Anchor, Area, Drawing, Ink, Point, Shape, Stroke};
use crate::sheet::letters::{SMALL, WITH_UNIT, fitted, width_of, wrapped};
use crate::words::UNITS;

/// Room above the frame for the title of the upright axis, and below it for ticks.
const ABOVE: f64 = 22.0;
const TICKS: f64 = 17.0;
/// From one line of words to the next.
const LINE: f64 = 15.0;
/// Room beside everything.
const EDGE: f64 = 6.0;

/// How thick the second edge of a band is: words may lie over it.
const THIN: f64 = 0.9;

/// How something is shown in the key.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Sample {
    Line(Stroke),
    Dot,
}

/// Words that seek a place on the plot, and stand in the key where there is none.
struct Label {
    text: String,
    ink: Ink,
    places: Vec<(Point, Anchor)>,
    sample: Sample,
}

/// A plot in the making.
pub struct Chart {
    x: Axis,
    y: Axis,
    frame: Area,
    width: f64,
    shapes: Vec<Shape>,
    /// What labels must not lie over, each with how thick it is.
    segments: Vec<(Point, Point, f64)>,
    labels: Vec<Label>,
    spans: Vec<(f64, f64, String)>,
    notes: Vec<String>,
}

/// How a line looks.
#[derive(Debug, Clone, Copy)]
pub struct Pen {
    /// What it stands for.
    pub ink: Ink,
    /// How it is drawn.
    pub stroke: Stroke,
    /// How thick it is.
    pub weight: f64,
}

impl Pen {
    /// A whole line.
    pub const fn solid(ink: Ink) -> Self {
        Self { ink, stroke: Stroke::Solid, weight: 1.8 }
    }

    /// A line in strokes.
    pub const fn dashed(ink: Ink) -> Self {
        Self { ink, stroke: Stroke::Dashed, weight: 1.8 }
    }

    /// A line in dots.
    pub const fn dotted(ink: Ink) -> Self {
        Self { ink, stroke: Stroke::Dotted, weight: 1.8 }
    }

    /// The same, thin: the other edge of a band.
    #[must_use]
    pub const fn thin(self) -> Self {
        Self { weight: THIN, ..self }
    }
}

impl Chart {
    /// A plot of this width with a frame of this height.
    pub fn new(width: f64, height: f64, x: Axis, y: Axis) -> Self {
        let widest = y.ticks.iter().map(|tick| width_of(&axis::label(*tick), SMALL)).fold(0.0, f64::max);
        // Half the last label below the frame juts out at the right.
        let juts = x.ticks.last().map_or(0.0, |tick| width_of(&axis::label(*tick), SMALL) / 2.0);
        let left = EDGE + widest + 6.0;
        let frame = Area { left, top: ABOVE, width: width - left - EDGE - juts, height };
        let mut chart = Self {
            x,
            y,
            frame,
            width,
            shapes: Vec::new(),
            segments: Vec::new(),
            labels: Vec::new(),
            spans: Vec::new(),
            notes: Vec::new(),
        };
        chart.grid();
        chart
    }

    fn grid(&mut self) {
        let Area { left, top, .. } = self.frame;
        let (right, bottom) = (self.frame.right(), self.frame.bottom());
        let faint = |points: [Point; 2]| Shape::Line {
            points: points.to_vec(),
            weight: 0.5,
            ink: Ink::Faint,
            stroke: Stroke::Solid,
        };
        let upright: Vec<f64> = self.x.ticks.iter().map(|tick| self.across(*tick)).collect();
        let level: Vec<f64> = self.y.ticks.iter().map(|tick| self.up(*tick)).collect();
        self.shapes.extend(upright.into_iter().map(|x| faint([(x, top), (x, bottom)])));
        self.shapes.extend(level.into_iter().map(|y| faint([(left, y), (right, y)])));
    }

    fn across(&self, x: f64) -> f64 {
        self.frame.left + self.frame.width * self.x.share(x)
    }

    fn up(&self, y: f64) -> f64 {
        self.frame.bottom() - self.frame.height * self.y.share(y)
    }

    /// Where a pair of values lies on the drawing.
    fn at(&self, (x, y): Point) -> Point {
        (self.across(x), self.up(y))
    }

    /// A line through pairs of values, cut to the frame.
    pub fn line(&mut self, points: &[Point], pen: Pen) {
        let points: Vec<Point> = points.iter().map(|point| self.at(*point)).collect();
        for piece in cut(&points, self.frame) {
            self.segments.extend(piece.windows(2).map(|pair| (pair[0], pair[1], pen.weight)));
            self.shapes.push(Shape::Line { points: piece, weight: pen.weight, ink: pen.ink, stroke: pen.stroke });
        }
    }

    /// A line with its name beside it, where it has one.
    pub fn named_line(&mut self, points: &[Point], pen: Pen, name: &str) {
        self.line(points, pen);
        self.name(points, pen, name);
    }

    /// A name beside what is drawn through these pairs of values.
    pub fn name(&mut self, points: &[Point], pen: Pen, name: &str) {
        let points: Vec<Point> = points.iter().map(|point| self.at(*point)).collect();
        let places = cut(&points, self.frame).iter().flat_map(|piece| beside(piece)).collect();
        self.seek(name, pen.ink, places, Sample::Line(pen.stroke));
    }

    /// The stretch between a lower and an upper line of values, cut to the frame.
    pub fn band(&mut self, lower: &[Point], upper: &[Point], ink: Ink) {
        let points: Vec<Point> = lower.iter().chain(upper.iter().rev()).map(|point| self.at(*point)).collect();
        let points = cut_area(points, self.frame);
        if points.len() > 2 {
            self.shapes.push(Shape::Band { points, ink });
        }
    }

    /// What lies between a lower and an upper line: a band with both edges, or one line where they are the same.
    pub fn stretch(&mut self, lower: &[Point], upper: &[Point], pen: Pen, name: &str) {
        if lower == upper {
            return self.named_line(upper, pen, name);
        }
        self.band(lower, upper, pen.ink);
        self.line(lower, pen.thin());
        self.named_line(upper, pen, name);
    }

    /// A dot at a pair of values, with its name beside it, where it has one.
    pub fn dot(&mut self, point: Point, ink: Ink, name: &str) {
        const RADIUS: f64 = 3.0;
        let at = self.at(point);
        if !self.frame.holds(Area { left: at.0, top: at.1, width: 0.0, height: 0.0 }) {
            return;
        }
        self.shapes.push(Shape::Ring { at, radius: RADIUS, filled: true, ink });
        self.segments.push(((at.0 - RADIUS, at.1), (at.0 + RADIUS, at.1), RADIUS));
        self.seek(name, ink, around(at), Sample::Dot);
    }

    /// An upright line over the whole frame, with its name beside it, as high as can be.
    pub fn upright(&mut self, x: f64, pen: Pen, name: &str) {
        let (low, high) = (self.y.low(), self.y.high());
        self.line(&[(x, low), (x, high)], pen);
        let x = self.across(x);
        let rows = (0..12_u32).map(|row| self.frame.top + 12.0 + 14.0 * f64::from(row));
        let places = rows.flat_map(|y| [((x + 4.0, y), Anchor::Start), ((x - 4.0, y), Anchor::End)]).collect();
        self.seek(name, pen.ink, places, Sample::Line(pen.stroke));
    }

    fn seek(&mut self, text: &str, ink: Ink, places: Vec<(Point, Anchor)>, sample: Sample) {
        if text.is_empty() {
            return;
        }
        let text = fitted(text, SMALL, self.width - 2.0 * EDGE - SAMPLE);
        self.labels.push(Label { text, ink, places, sample });
    }

    /// A stretch of the level axis that is named below it.
    pub fn span(&mut self, from: f64, to: f64, name: &str) {
        self.spans.push((from, to, name.to_owned()));
    }

    /// A sentence below the plot.
    pub fn note(&mut self, text: impl Into<String>) {
        self.notes.push(text.into());
    }

    /// The finished drawing.
    pub fn finish(mut self, name: String, title: String, description: String) -> Drawing {
        let mut words = self.axes();
        let mut bottom = self.frame.bottom() + TICKS;
        bottom = self.name_spans(&mut words, bottom);
        words.push(text((self.frame.right(), bottom + 11.0), self.x.title, Anchor::End, Ink::Plain));
        bottom += LINE;
        let left_over = self.place_labels(&mut words);
        bottom = self.key(&mut words, left_over, bottom);
        for note in std::mem::take(&mut self.notes) {
            for line in wrapped(&with_units(&note), SMALL, self.width - 2.0 * EDGE) {
                words.push(text((EDGE, bottom + 11.0), &line, Anchor::Start, Ink::Plain));
                bottom += LINE;
            }
        }
        self.shapes.extend(words);
        Drawing { name, title, description, width: self.width, height: bottom + EDGE, shapes: self.shapes }
    }

    /// The frame, the values along it and the title of the upright axis.
    fn axes(&mut self) -> Vec<Shape> {
        let Area { left, top, .. } = self.frame;
        let (right, bottom) = (self.frame.right(), self.frame.bottom());
        let corners = [(left, top), (left, bottom), (right, bottom), (right, top), (left, top)];
        self.shapes.push(Shape::Line { points: corners.to_vec(), weight: 1.0, ink: Ink::Plain, stroke: Stroke::Solid });
        let mut words = vec![text((EDGE, 12.0), self.y.title, Anchor::Start, Ink::Plain)];
        for tick in &self.x.ticks {
            let word = text((self.across(*tick), bottom + 14.5), &axis::label(*tick), Anchor::Middle, Ink::Plain);
            push_free(&mut words, word);
        }
        for tick in &self.y.ticks {
            let word = text((left - 4.0, self.up(*tick) + 3.0), &axis::label(*tick), Anchor::End, Ink::Plain);
            push_free(&mut words, word);
        }
        words
    }

    /// Names stretches of the level axis in rows below its values; what finds no room in some rows is left to the
    /// description.
    fn name_spans(&mut self, words: &mut Vec<Shape>, below: f64) -> f64 {
        const ROWS: u32 = 4;
        let spans = std::mem::take(&mut self.spans);
        let mut rows = 0;
        for (from, to, name) in &spans {
            let (from, to) = (self.across(*from), self.across(*to));
            let name = fitted(name, SMALL, 170.0);
            let half = width_of(&name, SMALL) / 2.0;
            let middle = f64::midpoint(from, to).clamp(EDGE + half, (self.width - EDGE - half).max(EDGE + half));
            let place = (0..ROWS).find_map(|row| {
                let line = below + 15.0 + LINE * f64::from(row);
                let word = text((middle, line), &name, Anchor::Middle, Ink::Plain);
                is_free(&word, words, 3.0).then_some((row, word))
            });
            if let Some((row, word)) = place {
                words.push(word);
                rows = rows.max(row + 1);
            }
        }
        for (from, to, _) in &spans {
            let (from, to) = (self.across(*from), self.across(*to));
            let points = vec![(from, below + 1.0), (from, below + 4.0), (to, below + 4.0), (to, below + 1.0)];
            self.shapes.push(Shape::Line { points, weight: 0.9, ink: Ink::Plain, stroke: Stroke::Solid });
        }
        below + LINE * f64::from(rows) + if rows > 0 { 4.0 } else { 0.0 }
    }

    /// Puts labels where they lie over no words and no line, at least over no thick one; gives back those that find no
    /// place.
    fn place_labels(&mut self, words: &mut Vec<Shape>) -> Vec<Label> {
        let mut left_over = Vec::new();
        for label in std::mem::take(&mut self.labels) {
            let candidates = || label.places.iter().map(|(at, anchor)| text(*at, &label.text, *anchor, label.ink));
            let over = |thickest: f64| candidates().find(|word| self.is_clear(word, words, thickest));
            match over(0.0).or_else(|| over(THIN)) {
                Some(word) => words.push(word),
                None => left_over.push(label),
            }
        }
        left_over
    }

    /// Whether words lie inside the frame, over no others and over no line that is thicker than this.
    fn is_clear(&self, word: &Shape, words: &[Shape], thickest: f64) -> bool {
        let Some(area) = word.words_area() else { return false };
        let crossed =
            |(from, to, weight): &(Point, Point, f64)| *weight > thickest && crosses(*from, *to, wider(area, 1.5));
        self.frame.holds(wider(area, 1.0)) && is_free(word, words, 2.0) && !self.segments.iter().any(crossed)
    }

    /// Names with a sample each, in rows below the plot.
    fn key(&mut self, words: &mut Vec<Shape>, labels: Vec<Label>, below: f64) -> f64 {
        let (mut x, mut bottom) = (EDGE, below);
        for label in labels {
            let width = SAMPLE + width_of(&label.text, SMALL);
            if x > EDGE && x + width > self.width - EDGE {
                (x, bottom) = (EDGE, bottom + LINE);
            }
            let middle = bottom + 7.5;
            self.shapes.push(match label.sample {
                Sample::Line(stroke) => {
                    let points = vec![(x, middle), (x + SAMPLE - 6.0, middle)];
                    Shape::Line { points, weight: 1.8, ink: label.ink, stroke }
                }
                Sample::Dot => {
                    Shape::Ring { at: (x + SAMPLE / 2.0 - 3.0, middle), radius: 3.0, filled: true, ink: label.ink }
                }
            });
            words.push(text((x + SAMPLE, bottom + 11.0), &label.text, Anchor::Start, label.ink));
            x += width + 14.0;
        }
        if x > EDGE { bottom + LINE } else { bottom }
    }
}

/// Words in which each number and its unit are one.
fn with_units(words: &str) -> String {
    let mut joined = String::new();
    for word in words.split(' ') {
        let unit = word.trim_end_matches([',', ';', ':', ')', '.']);
        let joins = joined.ends_with(|c: char| c.is_ascii_digit()) && UNITS.contains(&unit);
        if !joined.is_empty() {
            joined.push(if joins { WITH_UNIT } else { ' ' });
        }
        joined.push_str(word);
    }
    joined
}

/// How wide a sample in the key is, with the gap behind it.
const SAMPLE: f64 = 30.0;

/// Words in the smallest type.
pub fn text(at: Point, words: &str, anchor: Anchor, ink: Ink) -> Shape {
    Shape::Words { at, text: words.to_owned(), size: SMALL, anchor, ink }
}

/// Adds words unless they lie over others.
fn push_free(words: &mut Vec<Shape>, word: Shape) {
    if is_free(&word, words, 1.0) {
        words.push(word);
    }
}

fn is_free(word: &Shape, words: &[Shape], gap: f64) -> bool {
    let Some(area) = word.words_area() else { return false };
    let area = wider(area, gap);
    !words.iter().filter_map(Shape::words_area).any(|other| area.overlaps(other))
}

fn wider(area: Area, by: f64) -> Area {
    Area { left: area.left - by, top: area.top - by, width: area.width + 2.0 * by, height: area.height + 2.0 * by }
}

/// Places for words around a point, the best first.
fn around((x, y): Point) -> Vec<(Point, Anchor)> {
    vec![
        ((x + 6.0, y - 5.0), Anchor::Start),
        ((x - 6.0, y - 5.0), Anchor::End),
        ((x + 6.0, y + 12.0), Anchor::Start),
        ((x - 6.0, y + 12.0), Anchor::End),
        ((x + 7.0, y + 3.5), Anchor::Start),
        ((x - 7.0, y + 3.5), Anchor::End),
        ((x, y - 7.0), Anchor::Middle),
        ((x, y + 15.0), Anchor::Middle),
    ]
}

/// Places for words along a line, near its middle first.
fn beside(points: &[Point]) -> Vec<(Point, Anchor)> {
    const SHARES: [f64; 13] = [0.5, 0.6, 0.4, 0.7, 0.3, 0.8, 0.2, 0.9, 0.1, 0.95, 0.05, 0.98, 0.02];
    let at = |share: f64| along(points, share);
    let places = |(x, y): Point| {
        let mut places = vec![((x, y - 6.0), Anchor::Middle), ((x, y + 14.0), Anchor::Middle)];
        places.extend(around((x, y)));
        places
    };
    SHARES.iter().filter_map(|share| at(*share)).flat_map(places).collect()
}

/// The point at a share of a line's length.
fn along(points: &[Point], share: f64) -> Option<Point> {
    let long = |pair: &[Point]| (pair[1].0 - pair[0].0).hypot(pair[1].1 - pair[0].1);
    let mut left = points.windows(2).map(long).sum::<f64>() * share;
    for pair in points.windows(2) {
        let length = long(pair);
        if left <= length && length > 0.0 {
            let part = left / length;
            return Some((pair[0].0 + (pair[1].0 - pair[0].0) * part, pair[0].1 + (pair[1].1 - pair[0].1) * part));
        }
        left -= length;
    }
    points.last().copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two lines at one place have their names apart; where no place is left the names go into the key below.
    #[test]
    fn names_find_a_place_or_stand_in_the_key() {
        let axes = || (Axis::straight("m", 0.0, 10.0, 5.0), Axis::straight("V", 0.0, 1.0, 5.0));
        let draw = |lines: u32| {
            let (x, y) = axes();
            let mut chart = Chart::new(200.0, 60.0, x, y);
            for line in 0..lines {
                let level = 0.5 + 0.01 * f64::from(line);
                chart.named_line(
                    &[(0.0, level), (10.0, level)],
                    Pen::solid(Ink::Feed),
                    &format!("a line of number {line}"),
                );
            }
            chart.finish("a".into(), "a".into(), "a".into())
        };
        let (few, many) = (draw(2), draw(12));
        assert_eq!(few.crowded(), Vec::<String>::new());
        assert_eq!(many.crowded(), Vec::<String>::new());
        assert!(many.height > few.height, "{} {}", few.height, many.height);
    }
}
