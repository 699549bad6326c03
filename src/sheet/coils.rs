//! How the coils of each load are wired to the outputs of their amplifier.

use super::View;
use super::drawing::{Anchor, Area, Drawing, Ink, Point, Shape, Stroke};
use super::drawn::{Drawn, why};
use super::letters::{NAMES, SMALL, capital, fitted, ident, width_of, wrapped};
use crate::plan::{Coil, Coils, Load};
use crate::quantity::{Power, Quantity, Range, Resistance};
use crate::solve::{Decided, Job, Thing, Undecided, coils, loads};

const NARROW: f64 = 350.0;
const WIDE: f64 = 720.0;
/// Room beside everything.
const EDGE: f64 = 8.0;
/// The amplifier.
const AMPLIFIER: f64 = 92.0;
/// From the amplifier's terminals to the coils, and from the coils to the wire back.
const LEAD: f64 = 16.0;
/// From one coil in series to the next, and from a rail to what hangs on it.
const GAP: f64 = 8.0;
const RAIL: f64 = 9.0;
/// A coil with its words, at least and at most.
const LEAST: f64 = 62.0;
const MOST: f64 = 112.0;
/// Above and below the wire through a coil; each line of words below it.
const ABOVE: f64 = 30.0;
const BELOW: f64 = 10.0;
const LINE: f64 = 13.0;
/// Room that the terminals of two bridged outputs take, and rows side by side that still fit on a sheet.
const TERMINALS: f64 = 57.0;
const HIGHEST: f64 = 1000.0;

/// A wiring diagram for every load.
pub fn coils(view: &View<'_>) -> Drawn {
    let job = view.job;
    Drawn::of(
        job.loads
            .iter()
            .enumerate()
            .map(|(at, load)| (load.address.to_string(), draw(job, load, ident("coils", load.name, at)))),
    )
}

/// What is written at a coil.
struct Told {
    name: String,
    lines: Vec<String>,
    reversed: bool,
}

fn draw(job: &Job<'_>, load: &Thing<'_, Load>, name: String) -> Decided<Drawing> {
    let tree = loads::tree(load)?;
    if tree.coils().is_empty() {
        return Err(Undecided::NotApplicable("the load has no coils"));
    }
    let told = told(job, load, tree);
    let (width, cell) = fit(tree).ok_or(Undecided::NotApplicable("more coils in a row than fit on a sheet"))?;
    let lines = told.iter().map(|told| wrap(told, cell).len()).max().unwrap_or(0);
    let lines = f64::from(u32::try_from(lines).unwrap_or(u32::MAX));
    let mut page = Page {
        shapes: Vec::new(),
        words: Vec::new(),
        cell: (cell, ABOVE + BELOW + LINE * lines),
        told: told.into_iter(),
    };
    let size = page.size(tree);
    if size.height > HIGHEST {
        return Err(Undecided::NotApplicable("more coils side by side than fit on a sheet"));
    }
    let start = EDGE + AMPLIFIER + LEAD;
    let wire = EDGE + size.port.max(ABOVE + 14.0);
    let back = (wire - size.port + size.height + 6.0).max(wire + TERMINALS);
    let end = start + size.width;
    page.amplifier(load, wire, back);
    page.wire(&[(EDGE + AMPLIFIER, wire), (start, wire)]);
    page.tree(tree, (start, wire));
    page.wire(&[(end, wire), (end + LEAD / 2.0, wire), (end + LEAD / 2.0, back), (EDGE + AMPLIFIER, back)]);
    page.terminals(load, wire, back);
    let sentences = sentences(job, load, tree);
    let mut y = back + 22.0;
    for sentence in &sentences {
        for line in wrapped(sentence, SMALL, width - 2.0 * EDGE) {
            y += 14.0;
            page.say((EDGE, y), &line, SMALL, Anchor::Start, Ink::Plain);
        }
    }
    page.shapes.extend(page.words);
    Ok(Drawing {
        name,
        title: format!("Coils of {}", load.name),
        description: described(tree, &sentences),
        width,
        height: y + EDGE,
        shapes: page.shapes,
    })
}

/// What is written at each coil, in the order of [`Coils::each`].
fn told(job: &Job<'_>, load: &Thing<'_, Load>, tree: &Coils) -> Vec<Told> {
    let powers = powers(job, load, tree);
    let coil = |(at, coil): (usize, &Coil)| {
        let ohms = coils::coil_impedance(job, coil)
            .map_or_else(|_| "? ohm".to_owned(), |ohms: Quantity<Resistance>| ohms.to_string());
        let mut lines = vec![ohms];
        lines.extend(powers.get(at).cloned());
        Told { name: format!("{}.{}", coil.driver, coil.number), lines, reversed: coil.reversed }
    };
    tree.coils().into_iter().enumerate().map(coil).collect()
}

/// What each coil takes of what is rated into the load, in words; none where that is not known.
fn powers(job: &Job<'_>, load: &Thing<'_, Load>, tree: &Coils) -> Vec<String> {
    let (Ok(power), Ok(shares)) = (loads::power(load, job), coils::shares(job, tree)) else { return Vec::new() };
    let lowest = coils::plays_lowest(job, tree);
    let word = |(share, lowest): (f64, bool)| {
        let takes: Range<Power> = power * share;
        if lowest { takes.to_string() } else { "crossover".to_owned() }
    };
    shares.into_iter().zip(lowest).map(word).collect()
}

/// The lines below a coil of this width: a range that is too wide stands on two.
fn wrap(told: &Told, cell: f64) -> Vec<String> {
    let room = cell - 4.0;
    let lines = |line: &String| match line.split_once(" to ") {
        Some((low, high)) if width_of(line, SMALL) > room => {
            vec![fitted(&format!("{low} to"), SMALL, room), fitted(high, SMALL, room)]
        }
        _ => vec![fitted(line, SMALL, room)],
    };
    told.lines.iter().flat_map(lines).collect()
}

/// The width of the drawing and that of a coil: the narrow sheet where the coils fit on it.
fn fit(tree: &Coils) -> Option<(f64, f64)> {
    let (cells, fixed) = count(tree);
    let room = |width: f64| (width - 2.0 * EDGE - AMPLIFIER - 2.0 * LEAD - fixed) / cells;
    let usual = room(NARROW).min(MOST);
    if usual >= 84.0 {
        return Some((NARROW, usual));
    }
    let cell = room(WIDE).min(MOST);
    (cell >= LEAST).then_some((WIDE, cell))
}

/// How many coils lie in the longest row, and how much width rails and gaps take in it.
fn count(tree: &Coils) -> (f64, f64) {
    match tree {
        Coils::One(_) => (1.0, 0.0),
        Coils::Series(parts) => parts
            .iter()
            .map(count)
            .enumerate()
            .fold((0.0, 0.0), |sum, (at, part)| (sum.0 + part.0, sum.1 + part.1 + if at == 0 { 0.0 } else { GAP })),
        // The widest branch by either count: a little room is left where they are different branches.
        Coils::Parallel(parts) => parts
            .iter()
            .map(count)
            .fold((0.0, 0.0), |most: (f64, f64), part| (most.0.max(part.0), most.1.max(part.1 + 2.0 * RAIL))),
    }
}

/// What a part of the tree takes: its wire enters and leaves at `port` below its upper side.
#[derive(Debug, Clone, Copy)]
struct Size {
    width: f64,
    height: f64,
    port: f64,
}

struct Page {
    shapes: Vec<Shape>,
    words: Vec<Shape>,
    /// Width and height of a coil with its words.
    cell: (f64, f64),
    told: std::vec::IntoIter<Told>,
}

impl Page {
    fn size(&self, tree: &Coils) -> Size {
        match tree {
            Coils::One(_) => Size { width: self.cell.0, height: self.cell.1, port: ABOVE },
            Coils::Series(parts) => {
                let sizes: Vec<Size> = parts.iter().map(|part| self.size(part)).collect();
                let port = sizes.iter().map(|size| size.port).fold(0.0, f64::max);
                let below = sizes.iter().map(|size| size.height - size.port).fold(0.0, f64::max);
                let width: f64 = sizes.iter().map(|size| size.width + GAP).sum();
                Size { width: (width - GAP).max(0.0), height: port + below, port }
            }
            Coils::Parallel(parts) => {
                let sizes: Vec<Size> = parts.iter().map(|part| self.size(part)).collect();
                let width = sizes.iter().map(|size| size.width).fold(0.0, f64::max) + 2.0 * RAIL;
                let height = sizes.iter().map(|size| size.height).sum();
                Size { width, height, port: sizes.first().map_or(0.0, |size| size.port) }
            }
        }
    }

    /// Draws a part of the tree whose wire enters here.
    fn tree(&mut self, tree: &Coils, (left, wire): Point) {
        match tree {
            Coils::One(_) => self.coil((left, wire)),
            Coils::Series(parts) => {
                let mut x = left;
                for (at, part) in parts.iter().enumerate() {
                    if at > 0 {
                        self.wire(&[(x, wire), (x + GAP, wire)]);
                        x += GAP;
                    }
                    self.tree(part, (x, wire));
                    x += self.size(part).width;
                }
            }
            Coils::Parallel(parts) => self.side_by_side(parts, (left, wire)),
        }
    }

    /// Parts between two rails, one below the other.
    fn side_by_side(&mut self, parts: &[Coils], (left, wire): Point) {
        let sizes: Vec<Size> = parts.iter().map(|part| self.size(part)).collect();
        let width = sizes.iter().map(|size| size.width).fold(0.0, f64::max) + 2.0 * RAIL;
        let right = left + width;
        let mut top = wire - sizes.first().map_or(0.0, |size| size.port);
        let mut last = wire;
        for (at, (part, size)) in parts.iter().zip(&sizes).enumerate() {
            let line = top + size.port;
            self.wire(&[(left, line), (left + RAIL, line)]);
            self.tree(part, (left + RAIL, line));
            self.wire(&[(left + RAIL + size.width, line), (right, line)]);
            if at + 1 < parts.len() {
                self.joint((left, line));
                self.joint((right, line));
            }
            (top, last) = (top + size.height, line);
        }
        self.wire(&[(left, wire), (left, last)]);
        self.wire(&[(right, wire), (right, last)]);
    }

    /// A coil: four turns with plus and minus at its ends, its name above, what it is and takes below.
    fn coil(&mut self, (left, wire): Point) {
        const TURN: f64 = 5.0;
        const TURNS: f64 = 4.0;
        let Some(told) = self.told.next() else { return };
        let (width, _) = self.cell;
        let middle = left + width / 2.0;
        let (from, to) = (middle - TURN * TURNS, middle + TURN * TURNS);
        let mut points = vec![(left, wire), (from, wire)];
        for turn in 0..4_u32 {
            let centre = from + TURN + 2.0 * TURN * f64::from(turn);
            points.extend((0..=8_u32).map(|step| {
                let angle = std::f64::consts::PI * (1.0 - f64::from(step) / 8.0);
                (centre + TURN * angle.cos(), wire - 1.4 * TURN * angle.sin())
            }));
        }
        points.push((left + width, wire));
        self.wire(&points);
        let (plus, minus) = if told.reversed { (to + 6.0, from - 6.0) } else { (from - 6.0, to + 6.0) };
        self.say((plus, wire - 3.0), "+", NAMES, Anchor::Middle, Ink::Plain);
        self.say((minus, wire - 3.0), "\u{2212}", NAMES, Anchor::Middle, Ink::Plain);
        self.say((middle, wire - 15.0), &short(&told.name, NAMES, width - 2.0), NAMES, Anchor::Middle, Ink::Plain);
        for (line, words) in (0..9_u32).zip(wrap(&told, width)) {
            self.say((middle, wire + 15.0 + LINE * f64::from(line)), &words, SMALL, Anchor::Middle, Ink::Plain);
        }
    }

    fn amplifier(&mut self, load: &Load, wire: f64, back: f64) {
        let top = wire - ABOVE - 12.0;
        let at = Area { left: EDGE, top, width: AMPLIFIER, height: back - top + 14.0 };
        self.shapes.push(Shape::Block { at, round: 3.0, ink: Ink::Plain });
        let name = load.amplifier.as_deref().unwrap_or("amplifier?");
        let name = fitted(name, NAMES, AMPLIFIER - 10.0);
        self.say((EDGE + 6.0, top + 15.0), &name, NAMES, Anchor::Start, Ink::Plain);
        let outputs = match load.outputs.as_slice() {
            [] => "output?".to_owned(),
            [one] => format!("output {one}"),
            [_, _] => "bridged".to_owned(),
            more => format!("{} outputs", more.len()),
        };
        self.say(
            (EDGE + 6.0, top + 29.0),
            &fitted(&outputs, SMALL, AMPLIFIER - 12.0),
            SMALL,
            Anchor::Start,
            Ink::Plain,
        );
    }

    /// The terminals in use, at the ends of the wires; of two bridged outputs the two between them as well, empty.
    fn terminals(&mut self, load: &Load, wire: f64, back: f64) {
        let mut outputs = load.outputs.clone();
        outputs.sort_unstable();
        let (first, last) = match outputs.as_slice() {
            [] => (String::new(), String::new()),
            [one] => (format!("{one} "), format!("{one} ")),
            [first, .., last] => (format!("{first} "), format!("{last} ")),
        };
        self.terminal(wire, &format!("{first}+"), true);
        if outputs.len() == 2 {
            let third = (back - wire) / 3.0;
            self.terminal(wire + third, &format!("{first}\u{2212}"), false);
            self.terminal(back - third, &format!("{last}+"), false);
        }
        self.terminal(back, &format!("{last}\u{2212}"), true);
    }

    fn terminal(&mut self, y: f64, name: &str, used: bool) {
        let at = (EDGE + AMPLIFIER, y);
        self.shapes.push(Shape::Ring {
            at,
            radius: 3.5,
            filled: used,
            ink: if used { Ink::Speaker } else { Ink::Faint },
        });
        self.say((at.0 - 8.0, y + 3.5), name, SMALL, Anchor::End, if used { Ink::Plain } else { Ink::Faint });
    }

    fn joint(&mut self, at: Point) {
        self.shapes.push(Shape::Ring { at, radius: 2.2, filled: true, ink: Ink::Speaker });
    }

    fn wire(&mut self, points: &[Point]) {
        self.shapes.push(Shape::Line {
            points: points.to_vec(),
            weight: 1.6,
            ink: Ink::Speaker,
            stroke: Stroke::Solid,
        });
    }

    fn say(&mut self, at: Point, words: &str, size: f64, anchor: Anchor, ink: Ink) {
        self.words.push(Shape::Words { at, text: words.to_owned(), size, anchor, ink });
    }
}

/// A coil's name cut so that its number stays.
fn short(name: &str, size: f64, width: f64) -> String {
    let Some((driver, number)) = name.rsplit_once('.') else { return fitted(name, size, width) };
    let tail = format!(".{number}");
    format!("{}{tail}", fitted(driver, size, width - width_of(&tail, size)))
}

fn described(tree: &Coils, sentences: &[String]) -> String {
    let words = std::iter::once(joined(tree)).chain(sentences.iter().map(|sentence| capital(sentence)));
    words.map(|sentence| sentence + ".").collect::<Vec<_>>().join(" ")
}

/// The arrangement in words: `sub.1 and sub.2 in parallel`.
fn joined(tree: &Coils) -> String {
    let (parts, how) = match tree {
        Coils::One(coil) if coil.reversed => return format!("{}.{} reversed", coil.driver, coil.number),
        Coils::One(coil) => return format!("{}.{}", coil.driver, coil.number),
        Coils::Series(parts) => (parts, "in series"),
        Coils::Parallel(parts) => (parts, "in parallel"),
    };
    let word = |part: &Coils| match part {
        Coils::One(_) => joined(part),
        _ => format!("({})", joined(part)),
    };
    format!("{} {how}", crate::words::all(&parts.iter().map(word).collect::<Vec<_>>()))
}

/// What comes out: impedance, power, what the amplifier is made for, lead, polarity.
fn sentences(job: &Job<'_>, load: &Thing<'_, Load>, tree: &Coils) -> Vec<String> {
    let ohms = |value: f64| Range::<Resistance>::point(value);
    let mut sentences = Vec::new();
    match (loads::own_ohms(load, job), loads::seen_ohms(load, job)) {
        (Ok(own), Ok(seen)) if (own - seen).abs() > 1e-9 => {
            sentences.push(format!(
                "{} for this load; with the others on it the output sees {}",
                ohms(own),
                ohms(seen)
            ));
        }
        (Ok(own), _) => sentences.push(format!("{} for the amplifier", ohms(own))),
        (Err(undecided), _) => sentences.push(format!("impedance: {}", why(&undecided))),
    }
    let rated = match loads::power(load, job) {
        Ok(power) => format!("{power} rated into it"),
        Err(undecided) => format!("power: {}", why(&undecided)),
    };
    let least = loads::amplifier(load, job).and_then(|amplifier| loads::least_ohms(load, amplifier));
    let least = least.map_or_else(|_| String::new(), |least| format!(", made for {} and up", ohms(least)));
    sentences.push(format!("{rated}{least}"));
    let takes = tree.coils().into_iter().filter_map(|coil| loads::coil_rating(job, coil).ok());
    if let Some(weakest) = takes.reduce(f64::min) {
        sentences.push(format!("its weakest coil takes {} for good", Range::<Power>::point(weakest)));
    }
    if let Some(lead) = load.lead.as_ref() {
        let words = [lead.size.map(|size| size.to_string()), lead.length.map(|length| length.to_string())];
        let words: Vec<String> = words.into_iter().flatten().collect();
        if !words.is_empty() {
            sentences.push(format!("lead {}", words.join(", ")));
        }
    }
    if load.outputs.len() == 2 {
        sentences
            .push("which two terminals carry the bridge stands at the amplifier; these are the usual ones".to_owned());
    }
    if load.reversed == Some(true) {
        sentences.push("meant to play against the others".to_owned());
    }
    sentences
}
