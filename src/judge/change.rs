//! The smallest change of one stated fact that would turn a verdict.

use super::apply::apply_where;
use super::check::Check;
use super::made::{self, written};
use super::verdict::{Outcome, Working};
use crate::house::{House, Stock};
use crate::plan::{Reading, Variant, choices, word};
use crate::quantity::Gauge;
use crate::solve::{FuseForm, Job, Place};
use crate::text::{Map, fits};

/// A change of one fact that turns a verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// Where the fact stands.
    pub place: Place,
    /// What the plan says.
    pub from: String,
    /// What it would have to say.
    pub to: String,
    /// What the check comes to then.
    pub outcome: Outcome,
    /// How far that is: the logarithm of the ratio for a number, more than any of them for a word.
    distance: f64,
}

/// Sizes of conductors that are made, thin to thick.
pub(super) const AWG: [i8; 14] = [20, 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -3];
/// Metric sizes of conductors that are made, in mm2.
pub const METRIC: [f64; 15] = [0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0];
/// Classes of insulation: those of 33 CFR 183.425 table 5, and ISO 6722-1 classes A to C (85, 100 and 125 C; read).
const CLASSES: [f64; 8] = [60.0, 75.0, 80.0, 85.0, 90.0, 100.0, 105.0, 125.0];
/// A number is tried up to so many times itself, and down to that part of it.
const FARTHEST: f64 = 20.0;
/// How much farther each try goes.
const STRIDE: f64 = 1.25;
/// How often the turning value is halved in on.
const HALVINGS: usize = 12;
/// Counts are tried up to so many more or less.
const COUNTS: i64 = 12;
const WORD: f64 = 1e3;
/// How much farther a number goes that strikes the eye.
const FARTHER: f64 = 1.5;
/// What is clearly past a limit is past it by this share.
const CLEARLY: f64 = 0.1;
/// How many sizes farther a size goes that strikes the eye.
const SIZES_FARTHER: usize = 2;

/// For each fact that the plan states and the check rests on: the nearest value with which the verdict is another, the
/// smallest change first. A finding or an open check turns when it passes, a pass when it no longer does.
///
/// Each change is tried on its own and for this rule alone; other rules may object to it
/// ([`Workshop::may_tell`](super::Workshop::may_tell)).
pub fn changes(reading: &Reading, house: &House, check: &Check) -> Vec<Change> {
    let is_makers = |place: &Place| MAKERS.iter().any(|pattern| fits(pattern, &place.path()));
    changes_of(reading, house, check, facts(check, reading).into_iter().filter(|place| !is_makers(place)).collect())
}

/// What an amplifier's maker asks: nobody turns that to mend a plan.
const MAKERS: [&str; 5] = [
    "amplifiers.*.maximum_fuse",
    "amplifiers.*.minimum_load",
    "amplifiers.*.bridged.minimum_load",
    "amplifiers.*.sections.*.minimum_load",
    "amplifiers.*.sections.*.bridged.minimum_load",
];

/// The same for these places only.
pub(super) fn changes_of(reading: &Reading, house: &House, check: &Check, places: Vec<Place>) -> Vec<Change> {
    let nearest = |place: Place| turned_at(reading, house, check, &place, Reach::Nearest);
    let mut found: Vec<Change> = places.into_iter().filter_map(nearest).collect();
    found.sort_by(|one, other| one.distance.total_cmp(&other.distance).then(one.place.cmp(&other.place)));
    found
}

/// How far past where a verdict turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// The nearest value that turns it.
    Nearest,
    /// The nearest that is past the limit by a tenth at least: hardly any limit is known finer than that. Of what is made in
    /// steps, like sizes and ratings, the nearest.
    Clear,
    /// So far past it that it strikes the eye: by as much again as half, or by two sizes more.
    Far,
}

/// The change of the single value at a place that turns a verdict, if there is one.
pub fn turned_at(reading: &Reading, house: &House, check: &Check, place: &Place, reach: Reach) -> Option<Change> {
    let path = place.path();
    let variant = Variant::new(reading, &path);
    Trial { reading, house, check, reach, path, variant }.nearest(place)
}

/// The places of facts that a verdict rests on and that the plan states as single values; everything that the subject
/// states is among them.
pub(super) fn facts(check: &Check, reading: &Reading) -> Vec<Place> {
    let mut places = check.named();
    places.push(check.subject.clone());
    let mut places: Vec<Place> = places.iter().flat_map(|place| single_values(place, reading)).collect();
    places.sort();
    places.dedup();
    places
}

/// A place that holds a single value, or the single values of a thing.
fn single_values(place: &Place, reading: &Reading) -> Vec<Place> {
    let tree = &reading.tree;
    let path = place.path();
    let Some(node) = tree.node(&path) else { return Vec::new() };
    if tree.text(node).is_some() {
        return vec![place.clone()];
    }
    let entries = tree.map(node).into_iter().flat_map(Map::entries);
    let single = entries.filter(|entry| tree.text(entry.value).is_some());
    single.map(|entry| Place::of(format!("{path}.{}", entry.key))).collect()
}

/// One place, where one value is tried after the other.
struct Trial<'a> {
    reading: &'a Reading,
    house: &'a House,
    check: &'a Check,
    reach: Reach,
    path: String,
    variant: Variant<'a>,
}

impl Trial<'_> {
    /// The check with another value, where it comes to something else that counts.
    fn turned(&mut self, value: &str) -> Option<Check> {
        let job = Job::new(self.variant.says(value)?, self.house);
        let checks = apply_where(self.check.rule, &job, &|subject| *subject == self.check.subject);
        checks.into_iter().next().filter(|check| match self.check.outcome {
            Outcome::Pass => matches!(check.outcome, Outcome::Fail | Outcome::Open),
            _ => check.outcome == Outcome::Pass,
        })
    }

    /// Whether a value that is not made in steps turns the check as clearly as is asked.
    fn turns(&mut self, value: &str) -> bool {
        self.turned(value).is_some_and(|check| self.reach != Reach::Clear || is_clear(&check))
    }

    fn nearest(mut self, place: &Place) -> Option<Change> {
        let node = self.reading.tree.node(&self.path)?;
        let from = self.reading.tree.text(node)?.to_owned();
        let (to, distance) = self.nearest_value(&from)?;
        let outcome = self.turned(&to)?.outcome;
        Some(Change { place: place.clone(), from, to, outcome, distance })
    }

    fn nearest_value(&mut self, from: &str) -> Option<(String, f64)> {
        let words = choices(&self.path);
        if !words.is_empty() {
            let other = words.into_iter().filter(|word| word != from).find(|word| self.turns(word));
            return other.map(|word| (word, WORD));
        }
        if let Ok(size) = Gauge::read(from) {
            return self.first(stocked(&self.house.stock, size)).or_else(|| self.first(sizes(size)));
        }
        if let Ok(count) = from.parse::<i64>() {
            let steps = (1..=COUNTS).flat_map(|step| [count - step, count + step]).filter(|count| *count >= 0);
            #[allow(clippy::cast_precision_loss, reason = "a dozen at most")]
            return self.first(steps.map(|to| (to.to_string(), (to - count).abs() as f64)).collect());
        }
        let (digits, unit) = from.split_once(' ')?;
        let number: f64 = digits.parse().ok()?;
        if unit.contains("..") || number <= 0.0 {
            return None;
        }
        if self.path.ends_with(".insulation") && unit == "C" {
            return self.first(classes(number));
        }
        if self.path.ends_with("fuse.rating") && unit == "A" {
            let form = self.reading.tree.node(&self.path.replace("fuse.rating", "fuse.form"));
            let form = form.and_then(|node| self.reading.tree.text(node));
            return self.first(kept(&self.house.stock, form, number)).or_else(|| self.first(ratings(form, number)));
        }
        match made::series(&self.path, unit) {
            Some(values) => self.first(made_in(&values, number, unit)),
            None => self.number(number, unit),
        }
    }

    /// The first of the values that something is made with that turns the check, however little it is past its limit: there
    /// is none between.
    fn first(&mut self, values: Vec<(String, f64)>) -> Option<(String, f64)> {
        let farther = if self.reach == Reach::Far { SIZES_FARTHER } else { 0 };
        let mut turning = values.into_iter().filter(|(value, _)| self.turned(value).is_some());
        let nearest = turning.next()?;
        turning.take(farther).last().or(Some(nearest))
    }

    /// The nearest number, up or down, that turns the check.
    fn number(&mut self, number: f64, unit: &str) -> Option<(String, f64)> {
        let up = self.search(number, unit, STRIDE);
        let down = self.search(number, unit, 1.0 / STRIDE);
        [up, down].into_iter().flatten().min_by(|one, other| one.1.total_cmp(&other.1))
    }

    fn search(&mut self, number: f64, unit: &str, stride: f64) -> Option<(String, f64)> {
        let mut turned = |factor: f64| self.turns(&written(number * factor, unit));
        let mut factor = 1.0;
        while !turned(factor * stride) {
            factor *= stride;
            if factor.ln().abs() > FARTHEST.ln() {
                return None;
            }
        }
        let (mut near, mut far) = (factor, factor * stride);
        for _ in 0..HALVINGS {
            let middle = (near * far).sqrt();
            if turned(middle) { far = middle } else { near = middle }
        }
        // As few digits as turn it: nobody buys 4.8731 m.
        let away = if stride > 1.0 { f64::ceil } else { f64::floor };
        let farther = if stride > 1.0 { FARTHER } else { 1.0 / FARTHER };
        let wanted = if self.reach == Reach::Far { far * farther } else { far };
        // A tape and a caliper are read to whole millimetres.
        let whole = (unit == "mm").then(|| away(number * wanted));
        let digits = (2..=4).map(|digits| rounded(number * wanted, digits, away));
        let value = whole.into_iter().chain(digits).find(|value| {
            *value > 0.0 && (*value / number).ln().abs() < FARTHEST.ln() && self.turns(&written(*value, unit))
        })?;
        Some((written(value, unit), (value / number).ln().abs()))
    }
}

/// Whether a check that fails is clearly past its limit; one without a limit is.
fn is_clear(check: &Check) -> bool {
    let past = || check.working.as_deref().and_then(Working::past);
    check.outcome != Outcome::Fail || past().is_none_or(|past| past >= CLEARLY)
}

/// A number with so many digits that count.
fn rounded(value: f64, digits: i32, away: fn(f64) -> f64) -> f64 {
    #[allow(clippy::cast_possible_truncation, reason = "a power of ten")]
    let scale = 10_f64.powi(digits - 1 - value.abs().log10().floor() as i32);
    // The least part in a thousand million keeps 31.0 from becoming 32.
    away(value * scale * if away(0.5) > 0.0 { 1.0 - 1e-9 } else { 1.0 + 1e-9 }) / scale
}

/// Sizes in stock, the nearest first.
fn stocked(stock: &Stock, from: Gauge) -> Vec<(String, f64)> {
    let area = from.square_millimetres();
    by_distance(stock.wires.iter().map(|size| (size.to_string(), (size.square_millimetres() / area).ln().abs())))
}

/// Ratings in stock of a form, the nearest first; of all forms where none is stated.
fn kept(stock: &Stock, form: Option<&str>, from: f64) -> Vec<(String, f64)> {
    let is_it = |kept: &FuseForm| form.is_none_or(|form| form == word(kept));
    let ratings = stock.fuses.iter().filter(|(kept, _)| is_it(kept)).flat_map(|(_, ratings)| ratings);
    by_distance(ratings.map(|rating| (rating.to_string(), (rating.base() / from).ln().abs())))
}

/// Other sizes that are made, the nearest first.
fn sizes(from: Gauge) -> Vec<(String, f64)> {
    let made: Vec<Gauge> = match from {
        Gauge::Awg(_) => AWG.into_iter().map(Gauge::Awg).collect(),
        Gauge::Metric(_) => METRIC.into_iter().map(Gauge::Metric).collect(),
    };
    let area = from.square_millimetres();
    by_distance(made.into_iter().map(|size| (size.to_string(), (size.square_millimetres() / area).ln().abs())))
}

/// Other ratings that fuses of a form are made with, the nearest first; of all forms where none is stated.
fn ratings(form: Option<&str>, from: f64) -> Vec<(String, f64)> {
    let form = made::FORMS.into_iter().find(|made| form == Some(word(made).as_str()));
    form.map_or_else(|| made_in(&made::ratings(), from, "A"), |form| made_in(form.ratings(), from, "A"))
}

/// Other values of a series, the nearest first.
fn made_in(values: &[f64], from: f64, unit: &str) -> Vec<(String, f64)> {
    let from = from * made::base(unit).1;
    let word = |value: f64| written(value / made::base(unit).1, unit);
    by_distance(values.iter().map(|value| (word(*value), (value / from).ln().abs())))
}

/// Other classes that insulation is made in, the nearest first.
fn classes(from: f64) -> Vec<(String, f64)> {
    by_distance(CLASSES.into_iter().map(|class| (written(class, "C"), (class / from).ln().abs())))
}

fn by_distance(values: impl Iterator<Item = (String, f64)>) -> Vec<(String, f64)> {
    let mut values: Vec<_> = values.filter(|(_, distance)| *distance > 1e-9).collect();
    values.sort_by(|one, other| one.1.total_cmp(&other.1));
    values
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::judge;

    fn turned(text: &str, code: &str, subject: &str) -> Vec<(String, String, Outcome)> {
        let reading = crate::plan::read(text.to_owned());
        let house = House::default();
        let judgement = judge(&reading, &house, &crate::rules::all());
        let check =
            judgement.checks.iter().find(|c| c.rule.code == code && c.subject.path() == subject).expect("judged");
        let told = |change: Change| (change.place.path(), change.to, change.outcome);
        changes(&reading, &house, check).into_iter().map(told).collect()
    }

    /// 10 AWG of class 105 C carries 60 A at 30 C and 51 A at 50 C (33 CFR 183.425 table 5).
    #[test]
    fn a_fuse_above_its_wire_turns_with_a_smaller_fuse_or_a_thicker_wire() {
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: {from: battery.positive, to: amp.power, size: 10 AWG, \
                    conductor: copper, insulation: 105 C, length: 4 m, path: [engine-bay], fuse: {rating: 60 A}}\n";
        let turned = turned(text, "FUSE-01", "wires.main.fuse");
        let pass = |path: &str, to: &str| (path.to_owned(), to.to_owned(), Outcome::Pass);
        assert!(turned.contains(&pass("wires.main.fuse.rating", "50 A")), "{turned:?}");
        assert!(turned.contains(&pass("wires.main.size", "8 AWG")), "{turned:?}");
    }

    #[test]
    fn a_word_turns_it_too_and_a_pass_turns_into_a_fault() {
        let text = "plan: 1\ngrounds: {floor: {on: body-sheet, surface: bare-metal}}\n";
        let turned = turned(text, "GROUND-01", "grounds.floor");
        let (path, to, outcome) = &turned[0];
        assert_eq!((path.as_str(), *outcome), ("grounds.floor.surface", Outcome::Fail), "{to}");
    }

    #[test]
    fn a_length_turns_at_its_limit_in_few_digits() {
        let text = "plan: 1\namplifiers: {amp: {}}\ngrounds: {floor: {}}\n\
                    wires: {return: {from: amp.ground, to: grounds.floor, length: 60 cm}}\n";
        let turned = turned(text, "GROUND-02", "wires.return");
        assert_eq!(turned, [("wires.return.length".to_owned(), "45 cm".to_owned(), Outcome::Pass)]);
    }

    #[test]
    fn what_is_made_or_kept_is_tried_from_the_nearest_on() {
        let words = |values: Vec<(String, f64)>| values.into_iter().map(|(word, _)| word).collect::<Vec<_>>();
        let gauge = |words: &str| Gauge::read(words).expect("a size");
        let mut stock = Stock { wires: vec![gauge("2.5 mm2"), gauge("10 mm2"), gauge("35 mm2")], ..Stock::default() };
        // 35 is 3.5 times 10, and 10 four times 2.5.
        assert_eq!(words(stocked(&stock, gauge("10 mm2"))), ["35 mm2", "2.5 mm2"]);
        assert_eq!(words(sizes(gauge("10 mm2")))[..2], ["16 mm2", "6 mm2"]);
        let rating = |words: &str| crate::quantity::Quantity::read(words).expect("a current");
        stock.fuses.insert(FuseForm::BoltDown, vec![rating("40 A"), rating("60 A"), rating("150 A")]);
        stock.fuses.insert(FuseForm::BladeRegular, vec![rating("30 A")]);
        assert_eq!(words(kept(&stock, Some("bolt-down"), 60.0)), ["40 A", "150 A"]);
        assert_eq!(words(kept(&stock, None, 60.0)), ["40 A", "30 A", "150 A"]);
        assert_eq!(words(ratings(Some("bolt-down"), 60.0))[..2], ["70 A", "50 A"]);
        assert_eq!(words(made_in(&[1000.0, 2000.0, 6000.0], 1.6, "kA")), ["2 kA", "1 kA", "6 kA"]);
        // Between 105 C and its neighbours lie a twentieth and a sixth.
        assert_eq!(words(classes(105.0))[..3], ["100 C", "90 C", "125 C"]);
        let distances: Vec<f64> = classes(105.0).into_iter().map(|(_, distance)| distance).collect();
        assert!((distances[0] - 1.05_f64.ln()).abs() < 1e-9);
    }

    #[test]
    fn few_digits_lie_on_the_side_that_turns() {
        assert_eq!((rounded(0.048_731, 2, f64::ceil), rounded(0.048_731, 2, f64::floor)), (0.049, 0.048));
        assert_eq!((rounded(487.31, 2, f64::ceil), rounded(487.31, 3, f64::floor)), (490.0, 487.0));
        assert_eq!((rounded(31.0, 2, f64::ceil), rounded(31.0, 2, f64::floor)), (31.0, 31.0));
    }

    fn turns_at(text: &str, code: &str, subject: &str, path: &str, reach: Reach) -> Option<(String, f64)> {
        let (reading, house) = (crate::plan::read(text.to_owned()), House::default());
        let judgement = judge(&reading, &house, &crate::rules::all());
        let check =
            judgement.checks.iter().find(|c| c.rule.code == code && c.subject.path() == subject).expect("judged");
        turned_at(&reading, &house, check, &Place::of(path), reach).map(|change| (change.to, change.distance))
    }

    /// 18 in are 45.7 cm; by half as much again it strikes the eye.
    #[test]
    fn a_length_is_turned_just_past_its_limit_or_far_past_it() {
        let of = |length: &str, reach: Reach| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\n\
                 wires: {{return: {{from: amp.ground, to: grounds.floor, length: {length}}}}}\n"
            );
            turns_at(&text, "GROUND-02", "wires.return", "wires.return.length", reach).expect("it turns")
        };
        let to = |length: &str, reach: Reach| of(length, reach).0;
        assert_eq!((to("60 cm", Reach::Nearest), to("60 cm", Reach::Far)), ("45 cm".into(), "30 cm".into()));
        assert_eq!((to("40 cm", Reach::Nearest), to("40 cm", Reach::Far)), ("46 cm".into(), "69 cm".into()));
        assert_eq!((to("600 mm", Reach::Nearest), to("600 mm", Reach::Far)), ("457 mm".into(), "304 mm".into()));
        let (_, distance) = of("60 cm", Reach::Nearest);
        assert!((distance - (60.0_f64 / 45.0).ln()).abs() < 1e-9, "{distance}");
    }

    /// 10 AWG, 8, 6 and 4 AWG follow each other.
    #[test]
    fn a_size_is_turned_by_the_next_or_by_two_more() {
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: {from: battery.positive, to: amp.power, size: 10 AWG, \
                    conductor: copper, insulation: 105 C, length: 4 m, path: [engine-bay], fuse: {rating: 60 A}}\n";
        let of =
            |reach: Reach| turns_at(text, "FUSE-01", "wires.main.fuse", "wires.main.size", reach).expect("it turns").0;
        assert_eq!((of(Reach::Nearest), of(Reach::Far)), ("8 AWG".to_owned(), "4 AWG".to_owned()));
    }

    /// Two M3 of class 4.8 hold 9.5 kg across their axis at 20 g; a third holds more.
    #[test]
    fn a_count_is_turned_by_whole_numbers() {
        let text = |mass: &str, count: u8| {
            format!(
                "plan: 1\nenclosures: {{box: {{mass: {mass}}}}}\nmounts: {{box: {{fasteners: {{count: {count}, kind: bracket-bolt, \
                 thread: M3, class: '4.8'}}}}}}\n"
            )
        };
        let of = |mass: &str, count: u8| {
            turns_at(&text(mass, count), "MOUNT-02", "enclosures.box", "mounts.box.fasteners.count", Reach::Nearest)
        };
        assert_eq!(of("9.6 kg", 2), Some(("3".to_owned(), 1.0)));
        assert_eq!(of("18 kg", 2), Some(("4".to_owned(), 2.0)));
        assert_eq!(of("9 kg", 3), Some(("1".to_owned(), 2.0)));
        assert_eq!(of("540 kg", 2), None, "nobody fits so many more");
    }

    /// Insulation comes in classes, a breaking capacity in what is printed on fuses, and a range has no nearest number.
    #[test]
    fn what_is_made_in_steps_is_turned_in_these() {
        let wire = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: {from: battery.positive, to: amp.power, size: 10 AWG, \
                    conductor: copper, insulation: 60 C, length: 4 m, path: [engine-bay], fuse: {rating: 45 A}}\n";
        let class =
            turns_at(wire, "FUSE-01", "wires.main.fuse", "wires.main.insulation", Reach::Nearest).expect("it turns").0;
        assert!(classes(60.0).iter().any(|(word, _)| *word == class), "{class}");
        let breaks = "plan: 1\nvehicle: {voltage: 12 V, battery: {internal_resistance: 6 mohm, rest_voltage: 12.6 V}}\n\
                      amplifiers: {amp: {}}\nwires:\n  main: {from: battery.positive, to: amp.power, size: 4 AWG, \
                      length: 4 m, joint_resistance: 0.15 mohm, fuse: {rating: 60 A, distance: 0 m, breaking_capacity: 1000 A}}\n";
        let of = |path: &str| turns_at(breaks, "FUSE-06", "wires.main.fuse", path, Reach::Nearest);
        assert_eq!(of("wires.main.fuse.breaking_capacity").map(|(to, _)| to).as_deref(), Some("2000 A"));
        let range = "plan: 1\ndrivers: {sub: {enclosure: box, box_volume: 25 L .. 45 L}}\n\
                     enclosures: {box: {kind: sealed, net_volume: 20 L}}\n";
        let of = |path: &str| turns_at(range, "BOX-01", "enclosures.box", path, Reach::Nearest).map(|(to, _)| to);
        assert_eq!((of("enclosures.box.net_volume").as_deref(), of("drivers.sub.box_volume")), (Some("25 L"), None));
    }

    /// A tenth past 18 in are 50.3 cm. Towards a pass nothing has to be clear, and a size is turned by the next one.
    #[test]
    fn a_length_is_turned_clearly_past_its_limit() {
        let of = |length: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\n\
                 wires: {{return: {{from: amp.ground, to: grounds.floor, length: {length}}}}}\n"
            );
            turns_at(&text, "GROUND-02", "wires.return", "wires.return.length", Reach::Clear).expect("it turns").0
        };
        assert_eq!((of("40 cm").as_str(), of("60 cm").as_str()), ("51 cm", "45 cm"));
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: {from: battery.positive, to: amp.power, size: 10 AWG, \
                    conductor: copper, insulation: 105 C, length: 4 m, path: [engine-bay], fuse: {rating: 50 A}}\n";
        let turned = |path: &str| turns_at(text, "FUSE-01", "wires.main.fuse", path, Reach::Clear).expect("it turns").0;
        assert_eq!((turned("wires.main.fuse.rating").as_str(), turned("wires.main.size").as_str()), ("60 A", "12 AWG"));
    }
}
