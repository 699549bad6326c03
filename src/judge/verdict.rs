//! Verdicts, with the working that led to them.

use crate::house::Limit;
use crate::quantity::dimension::Unit;
use crate::quantity::{Dimension, Quantity, Range, Window, text};
use crate::solve::{Known, Origin, Place};
use crate::text::Deed;

/// What a check came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// The plan holds.
    Pass,
    /// The plan does not hold.
    Fail,
    /// A fact that is not stated decides.
    Open,
    /// The rule has nothing to say about this subject.
    NotApplicable,
}

impl Outcome {
    /// The word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Fail => "fail",
            Self::Open => "open",
            Self::NotApplicable => "not applicable",
        }
    }
}

/// What a rule's function gives back: the outcome with what there is to say about it.
#[derive(Debug, Clone)]
pub struct Verdict {
    /// Pass, fail or open.
    pub outcome: Outcome,
    /// The numbers behind it.
    pub working: Option<Box<Working>>,
    /// What to tell, when it fails; for an open check, what it would be.
    pub finding: Option<Box<Finding>>,
}

impl Verdict {
    /// The plan holds; there are no numbers to show.
    pub fn pass() -> Self {
        Self { outcome: Outcome::Pass, working: None, finding: None }
    }

    /// The plan does not hold.
    pub fn fail(finding: Finding) -> Self {
        Self { outcome: Outcome::Fail, working: None, finding: Some(Box::new(finding)) }
    }

    /// Passes or fails.
    pub fn pass_if(holds: bool, finding: impl FnOnce() -> Finding) -> Self {
        if holds { Self::pass() } else { Self::fail(finding()) }
    }
}

/// What to tell a person: what is wrong, where, why it matters and what to do.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What was found and what is allowed, in one line without a full stop.
    pub title: String,
    /// The words in the plan it is about.
    pub at: Label,
    /// Other words that matter.
    pub also: Vec<Label>,
    /// Why it matters, in one sentence.
    pub why: &'static str,
    /// What to do, in one sentence.
    pub mend: String,
    /// What would do whatever the facts of an open check turn out to be.
    pub in_any_case: Option<String>,
    /// Facts that are asked for where the check is open, instead of those at which it turns.
    pub asks: Vec<Place>,
    /// The rule and the thing whose finding this one only follows from, if that one fails too.
    pub follows: Option<(&'static str, Place)>,
    /// What the value at its place was probably meant to be, as a plan writes it.
    pub meant: Option<String>,
    /// Values of which one was probably meant there, where nothing says which.
    pub could: Vec<String>,
    /// Things that it finds missing, each in every section where it may stand: nobody can find out more of them.
    pub missing: Vec<Place>,
    /// Changes of what is built that would mend it, the best first; each is proved before anybody sees it.
    pub offers: Vec<Offer>,
    /// Whether it says that the supply of this vehicle cannot be planned at all: what else is judged of it gives way.
    pub is_beyond: bool,
}

/// A change of a plan that a rule thinks would mend its finding: what is done at which places, all of it together.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// What it does, in a few words.
    pub title: String,
    /// What is done where, in order.
    pub deeds: Vec<(Place, Deed)>,
}

impl Offer {
    /// An offer that does nothing yet.
    pub fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), deeds: Vec::new() }
    }

    /// A value at a place, as a plan writes it: `45 cm`, `new-grommet` or `{series: [sub.1, sub.2]}`.
    #[must_use]
    #[allow(clippy::needless_pass_by_value, reason = "rules hand over words, numbers and quantities as they are")]
    pub fn set(self, place: Place, value: impl ToString) -> Self {
        self.deed(place, Deed::Set(value.to_string()))
    }

    /// Everything that another offer does, before what comes.
    #[must_use]
    pub fn join(mut self, other: &Self) -> Self {
        self.deeds.extend(other.deeds.iter().cloned());
        self
    }

    /// A key or an item of a list goes.
    #[must_use]
    pub fn remove(self, place: Place) -> Self {
        self.deed(place, Deed::Remove)
    }

    /// A new item before the one of a list at this place, or behind the last one.
    #[must_use]
    pub fn insert(self, place: Place, value: &str) -> Self {
        self.deed(place, Deed::Insert(value.to_owned()))
    }

    /// The item of a list at this place moves before the one with this number, or behind the last one.
    #[must_use]
    pub fn shift(self, place: Place, to: usize) -> Self {
        self.deed(place, Deed::Move(to))
    }

    /// The places that it changes.
    pub fn places(&self) -> Vec<&Place> {
        self.deeds.iter().map(|(place, _)| place).collect()
    }

    fn deed(mut self, place: Place, deed: Deed) -> Self {
        self.deeds.push((place, deed));
        self
    }
}

/// A place with a few words about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Where.
    pub place: Place,
    /// What to say there; may be empty.
    pub text: String,
}

impl Finding {
    /// A finding at a place.
    pub fn new(at: Place, title: impl Into<String>) -> Self {
        let at = Label { place: at, text: String::new() };
        let (also, offers) = (Vec::new(), Vec::new());
        Self {
            title: title.into(),
            at,
            also,
            why: "",
            mend: String::new(),
            in_any_case: None,
            asks: Vec::new(),
            follows: None,
            meant: None,
            could: Vec::new(),
            missing: Vec::new(),
            offers,
            is_beyond: false,
        }
    }

    /// Says that the supply of this vehicle cannot be planned at all.
    #[must_use]
    pub fn beyond(mut self) -> Self {
        self.is_beyond = true;
        self
    }

    /// What to say at the place itself.
    #[must_use]
    pub fn label(mut self, text: impl Into<String>) -> Self {
        self.at.text = text.into();
        self
    }

    /// Another place that matters.
    #[must_use]
    pub fn also(mut self, place: Place, text: impl Into<String>) -> Self {
        self.also.push(Label { place, text: text.into() });
        self
    }

    /// Why it matters.
    #[must_use]
    pub fn because(mut self, why: &'static str) -> Self {
        self.why = why;
        self
    }

    /// What would do whatever the facts turn out to be, for somebody who cannot find them out.
    #[must_use]
    pub fn in_any_case(mut self, words: impl Into<String>) -> Self {
        self.in_any_case = Some(words.into());
        self
    }

    /// Facts that can be read off the gear, where an open check would else ask for what has to be measured.
    #[must_use]
    pub fn ask_first(mut self, facts: impl IntoIterator<Item = Place>) -> Self {
        self.asks = facts.into_iter().collect();
        self
    }

    /// The rule and the subject whose finding says it all: where that one fails, this one is told below it.
    #[must_use]
    pub fn follows(mut self, code: &'static str, subject: Place) -> Self {
        self.follows = Some((code, subject));
        self
    }

    /// What the value at this place was probably meant to be: findings that vanish with it are told below this one.
    #[must_use]
    pub fn meant(mut self, value: Option<String>) -> Self {
        self.meant = value;
        self
    }

    /// Values of which one was probably meant at this place: findings that vanish with the likeliest are told below this one.
    #[must_use]
    pub fn could(mut self, values: impl IntoIterator<Item = String>) -> Self {
        self.could = values.into_iter().collect();
        self
    }

    /// Things that are not in the plan: checks that wait only for facts about them are not told beside this finding.
    #[must_use]
    pub fn missing(mut self, things: impl IntoIterator<Item = Place>) -> Self {
        self.missing = things.into_iter().collect();
        self
    }

    /// A change of what is built that would mend it.
    #[must_use]
    pub fn offer(mut self, offer: Offer) -> Self {
        self.offers.push(offer);
        self
    }

    /// Several such changes, the best first; of those that change the same places the first that can be proved counts.
    #[must_use]
    pub fn offers(mut self, offers: impl IntoIterator<Item = Offer>) -> Self {
        self.offers.extend(offers);
        self
    }

    /// What to do.
    #[must_use]
    pub fn mend(mut self, mend: impl Into<String>) -> Self {
        self.mend = mend.into();
        self
    }
}

/// The numbers behind a verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Working {
    /// What went in, each with where it comes from.
    pub inputs: Vec<Input>,
    /// How they were put together.
    pub formula: &'static str,
    /// What came out.
    pub result: Figure,
    /// How it must stand to the limit.
    pub relation: Relation,
    /// The limit.
    pub limit: Figure,
    /// Where the limit comes from.
    pub source: &'static str,
}

impl Working {
    /// How far the result is from the limit, as a share of the limit; negative when it is beyond. The worst end counts.
    /// There is no share of a limit in degrees or decibels, whose zero is a convention.
    pub fn margin(&self) -> Option<f64> {
        if self.limit.signed {
            return None;
        }
        let margin = match self.relation {
            Relation::AtMost => 1.0 - self.result.high / self.limit.low,
            Relation::AtLeast => self.result.low / self.limit.high - 1.0,
        };
        margin.is_finite().then_some(margin)
    }

    /// How far the result is past the limit at least, as a share of the limit; negative when some of it is not. `None` as
    /// for the margin.
    pub fn past(&self) -> Option<f64> {
        let past = match self.relation {
            Relation::AtMost => self.result.low / self.limit.high - 1.0,
            Relation::AtLeast => 1.0 - self.result.high / self.limit.low,
        };
        Some(past).filter(|past| !self.limit.signed && past.is_finite())
    }
}

/// How a result must stand to its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relation {
    /// Not above it.
    AtMost,
    /// Not below it.
    AtLeast,
}

/// One number or word that went into a verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// What it is called in the trade.
    pub name: &'static str,
    /// Its value.
    pub value: Value,
    /// Where it comes from.
    pub origin: Origin,
}

/// The value of an input.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A number with a unit.
    Figure(Figure),
    /// A word or a number without a unit.
    Word(String),
}

/// A number, or the range it lies in, whatever its dimension.
#[derive(Debug, Clone, Copy)]
pub struct Figure {
    /// The lower end in the base unit.
    pub low: f64,
    /// The upper end in the base unit.
    pub high: f64,
    /// The base unit.
    pub unit: &'static str,
    /// Units that it can be shown in; none for a ratio.
    units: &'static [Unit],
    /// The unit to show it in; otherwise the one that reads best.
    shown_in: Option<&'static Unit>,
    /// Whether values under zero make sense.
    signed: bool,
    /// How many significant digits it is told in.
    digits: u8,
}

impl Figure {
    /// The upper end alone, told as the range is.
    #[must_use]
    pub fn at_high(self) -> Self {
        Self { low: self.high, ..self }
    }
}

impl PartialEq for Figure {
    fn eq(&self, other: &Self) -> bool {
        (self.low, self.high, self.unit) == (other.low, other.high, other.unit)
    }
}

impl std::fmt::Display for Figure {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let unit = self.shown_in.or_else(|| text::best_unit(self.units, self.largest()));
        out.write_str(&text::ends_to(self.low, self.high, unit, self.digits))
    }
}

impl<D: Dimension> From<Range<D>> for Figure {
    fn from(range: Range<D>) -> Self {
        let unit = D::UNITS[0].symbol;
        let (low, high, shown_in) = (range.low(), range.high(), range.unit());
        Self { low, high, unit, units: D::UNITS, shown_in, signed: D::SIGNED, digits: text::DIGITS }
    }
}

/// What somebody wrote is shown in the unit that they wrote it in.
impl<D: Dimension> From<Quantity<D>> for Figure {
    fn from(quantity: Quantity<D>) -> Self {
        Range::from(quantity).into()
    }
}

impl<D: Dimension> From<Window<D>> for Figure {
    fn from(window: Window<D>) -> Self {
        Range::from(window).into()
    }
}

impl Figure {
    /// A number without a unit, such as a ratio.
    pub fn ratio(low: f64, high: f64) -> Self {
        Self { low, high, unit: "", units: &[], shown_in: None, signed: false, digits: text::DIGITS }
    }

    /// Both in one unit: that in which somebody wrote the first, or else the second, or else the one in which the larger
    /// reads best.
    #[must_use]
    pub fn together(self, other: Self) -> (Self, Self) {
        let best = || text::best_unit(self.units, self.largest().max(other.largest()));
        let shown_in = self.shown_in.or(other.shown_in).or_else(best);
        (Self { shown_in, ..self }, Self { shown_in, ..other })
    }

    /// Both in as many digits as it takes to see that one end of the first is not that of the second: 26.97 and 27 Hz.
    #[must_use]
    pub fn told_apart(self, other: Self, ends: impl Fn(&Self, &Self) -> (f64, f64)) -> (Self, Self) {
        // As many as a number in a computer has.
        const MOST: u8 = 15;
        let (one, two) = ends(&self, &other);
        let told = |end, digits| Self { low: end, high: end, digits, ..self }.to_string();
        let digits = (self.digits..MOST).find(|digits| told(one, *digits) != told(two, *digits)).unwrap_or(self.digits);
        (Self { digits, ..self }, Self { digits, ..other })
    }

    /// The end that is further from zero and no endless number.
    fn largest(&self) -> f64 {
        [self.low, self.high].into_iter().map(f64::abs).filter(|end| end.is_finite()).fold(0.0, f64::max)
    }
}

impl Input {
    /// A number that the job knows.
    pub fn known<D: Dimension>(name: &'static str, known: &Known<D>) -> Self {
        Self { name, value: Value::Figure(known.range.into()), origin: known.origin.clone() }
    }

    /// A number that the plan states at a place.
    pub fn stated(name: &'static str, value: impl Into<Figure>, place: Place) -> Self {
        Self { name, value: Value::Figure(value.into()), origin: Origin::Stated(place) }
    }

    /// A limit of the house that goes into a result.
    pub fn limit<D: Dimension>(name: &'static str, limit: &Limit<D>) -> Self {
        Self::from(name, limit.value, Origin::House(limit.name, limit.source))
    }

    /// A word that the plan states at a place.
    pub fn word(name: &'static str, word: impl Into<String>, place: Place) -> Self {
        Self { name, value: Value::Word(word.into()), origin: Origin::Stated(place) }
    }

    /// A number that comes from somewhere else.
    pub fn from(name: &'static str, value: impl Into<Figure>, origin: Origin) -> Self {
        Self { name, value: Value::Figure(value.into()), origin }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Current, Resistance, Voltage};

    fn volts(low: f64, high: f64) -> Figure {
        Range::<Voltage>::new(low, high).into()
    }

    /// 0.3 V of 0.4 V allowed leave a quarter; 60 A where 50 A are asked are a fifth more. The worst end counts.
    #[test]
    fn the_margin_is_what_is_left_to_the_limit() {
        let of = |result: Figure, relation, limit: Figure| {
            let is = Working { inputs: Vec::new(), formula: "", result, relation, limit, source: "" };
            is.margin().map(|share| (share * 1000.0).round() / 1000.0)
        };
        assert_eq!(of(volts(0.2, 0.3), Relation::AtMost, volts(0.4, 0.8)), Some(0.25));
        assert_eq!(of(Figure::ratio(60.0, 80.0), Relation::AtLeast, Figure::ratio(40.0, 50.0)), Some(0.2));
        assert_eq!(of(Figure::ratio(40.0, 80.0), Relation::AtLeast, Figure::ratio(40.0, 50.0)), Some(-0.2));
        assert_eq!(of(Figure::ratio(0.0, 1.0), Relation::AtMost, Figure::ratio(0.0, 0.0)), None);
    }

    /// 0.5 V where 0.4 V are allowed at best are a quarter more; 30 A where 40 A are asked at least are a quarter less.
    #[test]
    fn past_the_limit_the_better_ends_count() {
        let of = |result: Figure, relation, limit: Figure| {
            let is = Working { inputs: Vec::new(), formula: "", result, relation, limit, source: "" };
            is.past().map(|share| (share * 1000.0).round() / 1000.0)
        };
        assert_eq!(of(volts(0.5, 0.6), Relation::AtMost, volts(0.3, 0.4)), Some(0.25));
        assert_eq!(of(Figure::ratio(20.0, 30.0), Relation::AtLeast, Figure::ratio(40.0, 50.0)), Some(0.25));
        assert_eq!(of(Figure::ratio(1.0, 1.0), Relation::AtMost, Figure::ratio(0.0, 0.0)), None);
        let signed = Figure { signed: true, ..Figure::ratio(0.4, 0.4) };
        assert_eq!(of(volts(0.5, 0.6), Relation::AtMost, signed), None);
    }

    #[test]
    fn a_figure_is_the_same_by_its_ends_and_its_unit() {
        assert_eq!(volts(0.5, 1.0), volts(0.5, 1.0));
        assert_ne!(volts(0.5, 1.0), volts(0.5, 1.1));
        assert_ne!(volts(0.5, 1.0), volts(0.4, 1.0));
        assert_ne!(volts(1.0, 1.0), Range::<Current>::point(1.0).into());
        let written = Quantity::<Voltage>::read("500 mV").expect("a voltage");
        assert_eq!(Figure::from(written), volts(0.5, 0.5), "in whichever unit it is shown");
    }

    /// Alone a figure is shown in the unit in which it reads best, beside another one in the same.
    #[test]
    fn figures_side_by_side_are_in_one_unit() {
        let of = |ohms: f64| Figure::from(Range::<Resistance>::point(ohms));
        assert_eq!((of(0.005).to_string(), of(4.0).to_string()), ("5 mohm".to_owned(), "4 ohm".to_owned()));
        let (small, large) = of(0.005).together(of(4.0));
        assert_eq!((small.to_string(), large.to_string()), ("0.005 ohm".to_owned(), "4 ohm".to_owned()));
    }
}
