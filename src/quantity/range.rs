//! What is known of a number: a point when it is stated, a range when it is not.

use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::ops::{Add, Div, Mul, Sub};

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde_json::json;

use super::dimension::{Current, Dimension, Power, Resistance, Unit, Voltage};
use super::stated::{Quantity, Window};
use super::text;
use super::unread::Unread;

/// A number known to lie between `low` and `high`, in the base unit of its dimension.
///
/// What comes of stated quantities by adding, taking away and multiplying is shown in the unit that the first of them was
/// written in, so that a plan in inches is told inches.
#[derive(Clone, Copy)]
pub struct Range<D> {
    low: f64,
    high: f64,
    /// `None` where nothing that was written came into it: it is shown in whichever unit reads best.
    unit: Option<&'static Unit>,
    dimension: PhantomData<D>,
}

/// Ranges are the same whatever they are shown in.
impl<D> PartialEq for Range<D> {
    fn eq(&self, other: &Self) -> bool {
        (self.low, self.high) == (other.low, other.high)
    }
}

impl<D: Dimension> Range<D> {
    /// Between two values in the base unit, given in either order.
    pub const fn new(one: f64, other: f64) -> Self {
        let (low, high) = if other < one { (other, one) } else { (one, other) };
        Self { low, high, unit: None, dimension: PhantomData }
    }

    /// Exactly this value, in the base unit.
    pub const fn point(value: f64) -> Self {
        Self::new(value, value)
    }

    /// Reads `75 C .. 105 C`, or a single value as a range of no width.
    ///
    /// # Errors
    /// A sentence that says what was found and what is taken.
    pub fn read(written: &str) -> Result<Self, Unread> {
        if written.contains("..") {
            return Window::read(written).map(Self::from);
        }
        Quantity::read(written).map(Self::from)
    }

    /// The unit in which the first stated quantity that came into it was written.
    pub const fn unit(self) -> Option<&'static Unit> {
        self.unit
    }

    /// Shown in the unit that somebody wrote such a quantity in.
    #[must_use]
    pub fn like(self, written: Option<Quantity<D>>) -> Self {
        Self { unit: self.unit.or(written.and_then(Quantity::unit)), ..self }
    }

    /// Shown in the unit that another range is shown in.
    #[must_use]
    pub const fn in_unit_of(self, other: Self) -> Self {
        self.shown_in(other.unit, None)
    }

    /// Shown in this unit, or in another one where it has none of its own.
    const fn shown_in(self, unit: Option<&'static Unit>, otherwise: Option<&'static Unit>) -> Self {
        Self { unit: if unit.is_some() { unit } else { otherwise }, ..self }
    }

    /// The lower end, in the base unit.
    pub const fn low(self) -> f64 {
        self.low
    }

    /// The upper end, in the base unit.
    pub const fn high(self) -> f64 {
        self.high
    }

    /// The middle, in the base unit.
    pub const fn middle(self) -> f64 {
        f64::midpoint(self.low, self.high)
    }

    /// Whether both ends are the same number.
    pub const fn is_point(self) -> bool {
        self.low == self.high
    }

    /// The lower end as a range of its own.
    #[must_use]
    pub const fn at_low(self) -> Self {
        Self { high: self.low, ..self }
    }

    /// The upper end as a range of its own.
    #[must_use]
    pub const fn at_high(self) -> Self {
        Self { low: self.high, ..self }
    }

    /// The number in the range that lies nearest to another, in the base unit.
    pub const fn at(self, wanted: f64) -> f64 {
        wanted.clamp(self.low, self.high)
    }

    /// Applies a function that rises with its argument to both ends.
    #[must_use]
    pub fn map<T: Dimension>(self, rising: impl Fn(f64) -> f64) -> Range<T> {
        Range::new(rising(self.low), rising(self.high))
    }

    /// The smallest range that holds both.
    #[must_use]
    pub const fn hull(self, other: Self) -> Self {
        Self::new(self.low.min(other.low), self.high.max(other.high)).shown_in(self.unit, other.unit)
    }

    /// The smaller of two numbers that are known by range.
    #[must_use]
    pub const fn min(self, other: Self) -> Self {
        Self::new(self.low.min(other.low), self.high.min(other.high)).shown_in(self.unit, other.unit)
    }

    /// The larger of two numbers that are known by range.
    #[must_use]
    pub const fn max(self, other: Self) -> Self {
        Self::new(self.low.max(other.low), self.high.max(other.high)).shown_in(self.unit, other.unit)
    }

    /// How large it is, whatever its sign.
    #[must_use]
    pub fn magnitude(self) -> Self {
        let (low, high) = (self.low.abs(), self.high.abs());
        let least = if self.low <= 0.0 && self.high >= 0.0 { 0.0 } else { low.min(high) };
        Self { low: least, high: low.max(high), ..self }
    }

    /// A product with a number known by range that has no unit.
    #[must_use]
    pub fn scaled(self, low: f64, high: f64) -> Self {
        let ends = [self.low * low, self.low * high, self.high * low, self.high * high];
        Self::new(smallest(ends), largest(ends)).shown_in(self.unit, None)
    }
}

fn smallest(ends: [f64; 4]) -> f64 {
    ends.into_iter().fold(f64::INFINITY, f64::min)
}

fn largest(ends: [f64; 4]) -> f64 {
    ends.into_iter().fold(f64::NEG_INFINITY, f64::max)
}

fn product<A: Dimension, B: Dimension, C: Dimension>(a: Range<A>, b: Range<B>) -> Range<C> {
    let ends = [a.low * b.low, a.low * b.high, a.high * b.low, a.high * b.high];
    Range::new(smallest(ends), largest(ends))
}

fn quotient<A: Dimension, B: Dimension, C: Dimension>(a: Range<A>, b: Range<B>) -> Range<C> {
    let ends = [a.low / b.low, a.low / b.high, a.high / b.low, a.high / b.high];
    Range::new(smallest(ends), largest(ends))
}

impl<D: Dimension> Add for Range<D> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.low + other.low, self.high + other.high).shown_in(self.unit, other.unit)
    }
}

impl<D: Dimension> Sub for Range<D> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.low - other.high, self.high - other.low).shown_in(self.unit, other.unit)
    }
}

impl<D: Dimension> Mul<f64> for Range<D> {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.low * factor, self.high * factor).shown_in(self.unit, None)
    }
}

impl<D: Dimension> Div<f64> for Range<D> {
    type Output = Self;
    fn div(self, divisor: f64) -> Self {
        Self::new(self.low / divisor, self.high / divisor).shown_in(self.unit, None)
    }
}

impl<D: Dimension> std::iter::Sum for Range<D> {
    fn sum<I: Iterator<Item = Self>>(items: I) -> Self {
        items.fold(Self::point(0.0), Add::add)
    }
}

impl Mul<Range<Resistance>> for Range<Current> {
    type Output = Range<Voltage>;
    fn mul(self, resistance: Range<Resistance>) -> Range<Voltage> {
        product(self, resistance)
    }
}

impl Mul<Range<Current>> for Range<Voltage> {
    type Output = Range<Power>;
    fn mul(self, current: Range<Current>) -> Range<Power> {
        product(self, current)
    }
}

/// The divisor must not hold zero; where it can, guard first.
impl Div<Range<Voltage>> for Range<Power> {
    type Output = Range<Current>;
    fn div(self, voltage: Range<Voltage>) -> Range<Current> {
        quotient(self, voltage)
    }
}

/// The divisor must not hold zero; where it can, guard first.
impl Div<Range<Resistance>> for Range<Voltage> {
    type Output = Range<Current>;
    fn div(self, resistance: Range<Resistance>) -> Range<Current> {
        quotient(self, resistance)
    }
}

/// The divisor must not hold zero; where it can, guard first.
impl Div<Range<Current>> for Range<Voltage> {
    type Output = Range<Resistance>;
    fn div(self, current: Range<Current>) -> Range<Resistance> {
        quotient(self, current)
    }
}

impl<D: Dimension> From<Quantity<D>> for Range<D> {
    fn from(stated: Quantity<D>) -> Self {
        Self::point(stated.base()).shown_in(stated.unit(), None)
    }
}

impl<D: Dimension> From<Window<D>> for Range<D> {
    fn from(window: Window<D>) -> Self {
        Self::new(window.from.base(), window.to.base()).shown_in(window.to.unit(), window.from.unit())
    }
}

impl<D: Dimension> fmt::Display for Range<D> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ends = [self.low.abs(), self.high.abs()].into_iter().filter(|end| end.is_finite());
        let best = || text::best_unit(D::UNITS, ends.fold(0.0, f64::max));
        out.write_str(&text::ends(self.low, self.high, self.unit.or_else(best)))
    }
}

impl<D: Dimension> fmt::Debug for Range<D> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{self}")
    }
}

impl<D: Dimension> JsonSchema for Range<D> {
    fn schema_name() -> Cow<'static, str> {
        format!("{}-range", D::NAME.replace(' ', "-")).into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let one = text::pattern::<D>();
        let one = one.trim_start_matches('^').trim_end_matches('$');
        let kind = if text::is_plain::<D>() { json!(["string", "number"]) } else { json!("string") };
        json_schema!({
            "type": kind,
            "description": format!("A range of {}: both ends with `..` between them, or a single value.", D::NAME),
            "pattern": format!("^{one}( *\\.\\. *{one})?$"),
            "examples": [D::EXAMPLE],
            "x-quantity": format!("{} range", D::NAME),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::dimension::{Current, Duration, Length, Resistance};
    use super::super::stated::Quantity;
    use super::Range;

    fn written(text: &str) -> Range<Length> {
        Quantity::<Length>::read(text).expect("a length").into()
    }

    #[test]
    fn a_size_without_a_sign_is_at_least_how_near_it_comes_to_nothing() {
        let of = |low, high| Range::<Current>::new(low, high).magnitude();
        assert_eq!(of(-3.0, 5.0), Range::new(0.0, 5.0));
        assert_eq!(of(-5.0, -3.0), Range::new(3.0, 5.0));
        assert_eq!(of(2.0, 7.0), Range::new(2.0, 7.0));
        assert_eq!(of(-7.0, 0.0), Range::new(0.0, 7.0));
    }

    #[test]
    fn what_is_worked_out_is_shown_in_the_unit_of_what_was_written_first() {
        let computed = Range::<Length>::point(0.3048);
        assert_eq!((written("4 ft") + written("6 in")).to_string(), "4.5 ft");
        assert_eq!((computed + written("6 in")).to_string(), "18 in");
        assert_eq!((computed + computed).to_string(), "61 cm");
        assert_eq!([written("3 ft"), written("12 in")].into_iter().sum::<Range<Length>>().to_string(), "4 ft");
        assert_eq!((written("2 ft") * 1.5).max(computed).to_string(), "3 ft");
        assert_eq!(written("1 ft").hull(written("2 ft")).at_high().to_string(), "2 ft");
        assert_eq!(computed.like(Quantity::read("1 in").ok()).to_string(), "12 in");
        assert_eq!(written("1 ft").like(Quantity::read("1 in").ok()).to_string(), "1 ft");
    }

    #[test]
    fn times_are_told_in_minutes_up_to_two_hours() {
        let between = |low, high| Range::<Duration>::new(low, high).to_string();
        assert_eq!(between(3071.0, 4464.0), "51.2 to 74.4 min");
        assert_eq!((between(600.0, 7190.0), between(600.0, 7200.0)), ("10 to 120 min".into(), "0.167 to 2 h".into()));
    }

    #[test]
    fn a_product_of_two_kinds_is_shown_as_it_reads_best_and_units_make_no_range_another() {
        let current = Range::<Current>::from(Quantity::read("500 mA").expect("a current"));
        let resistance = Range::<Resistance>::from(Quantity::read("20 mohm").expect("a resistance"));
        assert_eq!((current * resistance).to_string(), "10 mV");
        assert!(written("1 ft") == Range::point(0.3048));
    }
}
