//! What alternator and battery have, and what is asked of them.

use super::WIDE;
use super::axis::{self, Axis};
use super::chart::text;
use crate::quantity::{Current, Duration, Range};
use crate::sheet::View;
use crate::sheet::drawing::{Anchor, Area, Drawing, Ink, Shape, Stroke};
use crate::sheet::drawn::{Drawn, why};
use crate::sheet::letters::{SMALL, capital, fitted};
use crate::solve::{Case, Decided, Job, Undecided};

/// Room for the names at the left and the numbers at the right of the bars.
const NAMES: f64 = 164.0;
const NUMBERS: f64 = 262.0;
const ROW: f64 = 19.0;
const BAR: f64 = 11.0;
const HEAD: f64 = 18.0;
const HOUR: f64 = 3600.0;

const KEY: &str = "open: the vehicle itself; tinted: what charges, added amplifiers; dashed: as much more where only a range is known";

/// A bar of one or two parts, one after the other.
struct Bar {
    name: String,
    parts: Vec<(Part, Range<Current>)>,
    numbers: String,
}

/// What a part of a bar is.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Part {
    /// The alternator's output.
    Output,
    /// What the vehicle takes for itself.
    Vehicle,
    /// What the added amplifiers take.
    Added,
}

struct Group {
    title: &'static str,
    bars: Vec<Bar>,
}

/// The alternator's output against what is asked of it at idle and on the road, and how long music plays with the engine
/// off. One drawing, or none with the reason.
pub fn budget(view: &View<'_>) -> Drawn {
    Drawn::of([("vehicle".to_owned(), draw(view.job))])
}

fn draw(job: &Job<'_>) -> Decided<Drawing> {
    let [_, idling, stopped] = job.plan.states();
    let groups = [
        running(job, idling, Case::IdleProgramme, true)?,
        running(job, "on the road", Case::CruiseProgramme, false)?,
        off(job, stopped),
    ];
    let banks = job.banks();
    let highest = groups
        .iter()
        .flat_map(|group| &group.bars)
        .map(|bar| bar.parts.iter().map(|(_, part)| part.high()).sum::<f64>());
    let axis = Axis::straight("A", 0.0, highest.fold(1.0, f64::max), 8.0);
    let mut page = Page { shapes: Vec::new(), words: Vec::new(), y: 0.0 };
    page.panel(&axis, groups.iter().map(|group| group.bars.len()).sum::<usize>(), groups.len(), |page, across| {
        for group in &groups {
            page.head(group.title);
            for bar in &group.bars {
                page.bar(bar, across);
            }
        }
    });
    let mut told: Vec<String> = groups
        .iter()
        .flat_map(|group| {
            group.bars.iter().map(move |bar| format!("{}, {}: {}.", capital(group.title), bar.name, bar.numbers))
        })
        .collect();
    let lasting: Vec<(String, Decided<Range<Duration>>)> =
        banks.into_iter().map(|(place, bank)| (place.path(), bank.map(|bank| bank.lasts))).collect();
    if !lasting.is_empty() {
        told.extend(page.hours(job, &lasting));
    }
    page.words.push(text((6.0, page.y + 11.0), KEY, Anchor::Start, Ink::Plain));
    page.y += 15.0;
    page.shapes.extend(page.words);
    Ok(Drawing {
        name: "budget".into(),
        title: format!("What {} and battery have, and what is asked of them", job.plan.charger()),
        description: told.join(" "),
        width: WIDE,
        height: page.y + 6.0,
        shapes: page.shapes,
    })
}

fn running(job: &Job<'_>, title: &'static str, case: Case, full: bool) -> Decided<Group> {
    let balance = job.balance(case)?;
    if balance.asked.range.high() <= 0.0 {
        return Err(Undecided::NotApplicable("no added gear is fed yet"));
    }
    let (output, vehicle) = (balance.output.range, balance.running.range);
    let mut bars = vec![
        Bar {
            name: format!("{} gives", job.plan.charger()),
            parts: vec![(Part::Output, output)],
            numbers: output.to_string(),
        },
        asked("vehicle and programme", vehicle, balance.asked.range),
    ];
    if full && let Ok(balance) = job.balance(Case::IdleFull) {
        bars.push(asked("vehicle and full output", vehicle, balance.asked.range));
    }
    Ok(Group { title, bars })
}

fn asked(name: &str, vehicle: Range<Current>, added: Range<Current>) -> Bar {
    let numbers = format!("{vehicle} + {added} = {}", vehicle + added);
    Bar { name: name.into(), parts: vec![(Part::Vehicle, vehicle), (Part::Added, added)], numbers }
}

/// With the engine off the battery gives everything.
fn off(job: &Job<'_>, title: &'static str) -> Group {
    let vehicle = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.factory_load.as_ref());
    let accessory = vehicle.and_then(|load| load.accessory).map(Range::from);
    let bar = |case, name: &str| {
        let added = job.balance(case).ok()?.asked.range;
        Some(match accessory {
            Some(accessory) => asked(&format!("radio and {name}"), accessory, added),
            None => Bar { name: name.into(), parts: vec![(Part::Added, added)], numbers: added.to_string() },
        })
    };
    let bars = [bar(Case::OffProgramme, "programme"), bar(Case::OffFull, "full output")];
    Group { title, bars: bars.into_iter().flatten().collect() }
}

struct Page {
    shapes: Vec<Shape>,
    words: Vec<Shape>,
    y: f64,
}

impl Page {
    /// An axis with what is drawn over its grid; the first head stands above both.
    fn panel(&mut self, axis: &Axis, rows: usize, heads: usize, draw: impl Fn(&mut Self, &dyn Fn(f64) -> f64)) {
        let (left, width) = (NAMES, WIDE - NAMES - NUMBERS);
        let across = |value: f64| left + width * axis.share(value).min(1.0);
        let count = |number: usize| f64::from(u32::try_from(number).unwrap_or(u32::MAX));
        let top = self.y + HEAD + 1.0;
        let bottom = self.y + count(rows) * ROW + count(heads) * HEAD + 4.0;
        for tick in &axis.ticks {
            let x = across(*tick);
            self.line([(x, top), (x, bottom)], Ink::Faint, Stroke::Solid, 0.5);
            self.words.push(text((x, bottom + 12.0), &axis::label(*tick), Anchor::Middle, Ink::Plain));
        }
        self.line([(left, top), (left, bottom)], Ink::Plain, Stroke::Solid, 1.0);
        draw(self, &across);
        self.words.push(text((left + width + 14.0, bottom + 12.0), axis.title, Anchor::Start, Ink::Plain));
        self.y = bottom + 20.0;
    }

    fn line(&mut self, points: [(f64, f64); 2], ink: Ink, stroke: Stroke, weight: f64) {
        self.shapes.push(Shape::Line { points: points.to_vec(), weight, ink, stroke });
    }

    fn head(&mut self, title: &str) {
        self.y += HEAD;
        self.words.push(text((6.0, self.y - 2.0), title, Anchor::Start, Ink::Plain));
    }

    fn row(&mut self, name: &str, numbers: &str) -> f64 {
        let top = self.y + (ROW - BAR) / 2.0;
        self.words.push(text(
            (NAMES - 8.0, self.y + 13.0),
            &fitted(name, SMALL, NAMES - 14.0),
            Anchor::End,
            Ink::Plain,
        ));
        let at = (WIDE - NUMBERS + 14.0, self.y + 13.0);
        self.words.push(text(at, &fitted(numbers, SMALL, NUMBERS - 20.0), Anchor::Start, Ink::Plain));
        self.y += ROW;
        top
    }

    fn bar(&mut self, bar: &Bar, across: &dyn Fn(f64) -> f64) {
        let top = self.row(&bar.name, &bar.numbers);
        let mut from = 0.0;
        let mut most = 0.0;
        for (part, current) in &bar.parts {
            self.part(*part, across(from), across(from + current.low()), top);
            from += current.low();
            most += current.high();
        }
        self.up_to(across(from), across(most), top, bar.parts.last().map_or(Part::Added, |(part, _)| *part));
    }

    /// One part: the vehicle's is empty, the amplifiers' is tinted, the alternator's is tinted with a bold end.
    fn part(&mut self, part: Part, left: f64, right: f64, top: f64) {
        let at = Area { left, top, width: (right - left).max(0.0), height: BAR };
        let corners = vec![(left, top), (at.right(), top), (at.right(), at.bottom()), (left, at.bottom())];
        match part {
            Part::Vehicle => self.shapes.push(Shape::Block { at, round: 0.0, ink: Ink::Plain }),
            Part::Added | Part::Output => {
                let ink = ink(part);
                self.shapes.push(Shape::Block { at, round: 0.0, ink });
                self.shapes.push(Shape::Band { points: corners, ink });
            }
        }
        if part == Part::Output {
            self.line([(at.right(), top - 2.0), (at.right(), at.bottom() + 2.0)], Ink::Feed, Stroke::Solid, 2.0);
        }
    }

    /// What may come on top where a number is only known by range.
    fn up_to(&mut self, from: f64, to: f64, top: f64, part: Part) {
        if to - from < 0.5 {
            return;
        }
        let ink = ink(part);
        let (bottom, middle) = (top + BAR, top + BAR / 2.0);
        self.line([(from, middle), (to, middle)], ink, Stroke::Dashed, 1.2);
        self.line([(to, top + 1.0), (to, bottom - 1.0)], ink, Stroke::Solid, 1.2);
    }

    /// How long each bank of batteries plays programme with the engine off, against the least that the house wants.
    fn hours(&mut self, job: &Job<'_>, lasting: &[(String, Decided<Range<Duration>>)]) -> Vec<String> {
        const LONGEST: f64 = 24.0;
        let limit = job.house.limits.listening_time.value;
        let known = lasting.iter().filter_map(|(_, lasts)| lasts.as_ref().ok());
        let most = known.map(|lasts| lasts.high() / HOUR).fold(limit.base() / HOUR * 1.2, f64::max).min(LONGEST);
        let axis = Axis::straight("h", 0.0, most, 8.0);
        let top = self.y + HEAD;
        let [_, _, stopped] = job.plan.states();
        let emptied = job.emptied();
        let rows: Vec<(String, String, Option<Range<Duration>>)> = lasting
            .iter()
            .map(|(name, lasts)| match lasts {
                Ok(lasts) if !lasts.low().is_finite() => (name.clone(), "nothing is drawn from it".to_owned(), None),
                Ok(lasts) => (name.clone(), format!("{lasts} until {emptied}"), Some(*lasts)),
                Err(undecided) => (name.clone(), why(undecided), None),
            })
            .collect();
        self.panel(&axis, rows.len(), 1, |page, across| {
            page.head(&format!("programme with the {stopped} lasts"));
            for (name, numbers, lasts) in &rows {
                let top = page.row(name, numbers);
                if let Some(lasts) = lasts {
                    let (low, high) = (across(lasts.low() / HOUR), across(lasts.high() / HOUR));
                    page.part(Part::Added, across(0.0), low, top);
                    page.up_to(low, high, top, Part::Added);
                }
            }
            let x = across(limit.base() / HOUR);
            let bottom = page.y;
            page.line([(x, top), (x, bottom)], Ink::Plain, Stroke::Dotted, 1.8);
        });
        self.words.push(text((6.0, self.y - 8.0), &format!("dotted: {limit} at least"), Anchor::Start, Ink::Plain));
        let told =
            rows.iter().map(|(name, numbers, _)| format!("Programme with the {stopped} from {name}: {numbers}."));
        told.chain([format!("At least {limit} is wanted.")]).collect()
    }
}

fn ink(part: Part) -> Ink {
    match part {
        Part::Output => Ink::Feed,
        Part::Vehicle => Ink::Plain,
        Part::Added => Ink::Speaker,
    }
}
