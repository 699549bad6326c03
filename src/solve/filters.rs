//! Magnitudes and phases of the filters in amplifiers and processors: Butterworth and Linkwitz-Riley, low-pass and high-pass.
//!
//! Source: Butterworth `|H|^2 = 1 / (1 + x^(2n))` with x = f / corner; Linkwitz-Riley of order 2n is two Butterworth
//! filters of order n in a row, so `|H| = 1 / (1 + x^(2n))` (textbooks of filter design; tests hold both against values
//! computed elsewhere). A high-pass at x is the low-pass at 1 / x, with its phase the other way round. The phase is that of
//! the poles, which lie evenly on the left half of the unit circle: `exp(j pi (2k + n - 1) / (2n))` for k = 1 to n.

use std::f64::consts::PI;

use crate::plan::FilterKind;
use crate::quantity::{Level, Range};

/// The steepest filter that is known: 48 dB per octave.
const LARGEST_ORDER: u8 = 8;

/// A filter of a known design.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Filter {
    kind: FilterKind,
    order: u8,
}

impl Filter {
    /// A filter of order 1 to 8; a Linkwitz-Riley filter has an even one. `None` for any other.
    pub fn new(kind: FilterKind, order: u8) -> Option<Self> {
        let even = order.is_multiple_of(2) || kind == FilterKind::Butterworth;
        ((1..=LARGEST_ORDER).contains(&order) && even).then_some(Self { kind, order })
    }

    /// A filter of so many decibels per octave: 6 for each order. `None` where there is none.
    pub fn steep(kind: FilterKind, slope: f64) -> Option<Self> {
        let order = (1..=LARGEST_ORDER).find(|order| (slope - 6.0 * f64::from(*order)).abs() < 0.1)?;
        Self::new(kind, order)
    }

    /// Level behind a low-pass in decibels, zero or below, at a frequency over its corner.
    pub fn low_pass(self, ratio: f64) -> f64 {
        let order = i32::from(self.order);
        match self.kind {
            FilterKind::Butterworth => -10.0 * ratio.powi(2 * order).ln_1p() / std::f64::consts::LN_10,
            FilterKind::LinkwitzRiley => -20.0 * ratio.powi(order).ln_1p() / std::f64::consts::LN_10,
        }
    }

    /// Level behind a high-pass in decibels, zero or below, at a frequency over its corner.
    pub fn high_pass(self, ratio: f64) -> f64 {
        self.low_pass(1.0 / ratio)
    }
}

impl Filter {
    /// Phase behind a low-pass in radians, zero or below, at a frequency over its corner.
    fn phase(self, ratio: f64) -> f64 {
        let (order, times) = match self.kind {
            FilterKind::Butterworth => (self.order, 1.0),
            FilterKind::LinkwitzRiley => (self.order / 2, 2.0),
        };
        let pole = |at: u8| PI * f64::from(2 * at + order - 1) / (2.0 * f64::from(order));
        // Poles stand in pairs, above and below: what they turn where nothing swings cancels.
        let turned = |angle: f64| -(ratio - angle.sin()).atan2(-angle.cos());
        times * (1..=order).map(pole).map(turned).sum::<f64>()
    }
}

/// What real filters and speakers leave of two parts that cancel: no deeper, in decibels.
const DEEPEST: f64 = -40.0;

/// Level in decibels of what a low-pass and a high-pass give together, each at a frequency over its own corner; with one of
/// them reversed or not.
pub fn together((low, below): (Filter, f64), (high, above): (Filter, f64), is_reversed: bool) -> f64 {
    let amplitude = |level: f64| 10_f64.powf(level / 20.0);
    let (low_part, high_part) = (amplitude(low.low_pass(below)), amplitude(high.high_pass(above)));
    let apart = low.phase(below) + high.phase(1.0 / above) + if is_reversed { PI } else { 0.0 };
    let power = low_part.powi(2) + high_part.powi(2) + 2.0 * low_part * high_part * apart.cos();
    (10.0 * power.max(0.0).log10()).max(DEEPEST)
}

/// The filters that something may have: of each of these designs with each of these slopes.
pub fn possible(kinds: &[FilterKind], slopes: &[f64]) -> Vec<Filter> {
    let each = |slope: &f64| kinds.iter().filter_map(|kind| Filter::steep(*kind, *slope)).collect::<Vec<_>>();
    slopes.iter().flat_map(each).collect()
}

/// By how many decibels filters hold a tone back, by the least and the most of them; `None` without a filter.
pub fn held_back(filters: &[Filter], level: impl Fn(Filter) -> f64) -> Option<Range<Level>> {
    filters.iter().map(|filter| Range::point(-level(*filter))).reduce(Range::hull)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_name_orders() {
        let order = |kind, slope| Filter::steep(kind, slope).map(|filter| filter.order);
        assert_eq!(order(FilterKind::Butterworth, 18.0), Some(3));
        assert_eq!(order(FilterKind::LinkwitzRiley, 24.0), Some(4));
        assert_eq!(order(FilterKind::LinkwitzRiley, 18.0), None);
        assert_eq!(order(FilterKind::Butterworth, 20.0), None);
        assert_eq!(order(FilterKind::Butterworth, 54.0), None);
    }

    /// At the corner of both, by the textbooks: second order is a null unless one is reversed, and then 3 dB more with
    /// Butterworth and level with Linkwitz-Riley; third order is level either way; fourth order the other way round than
    /// second.
    #[test]
    fn two_parts_add_up_by_their_phase() {
        let sum = |kind, slope: f64, is_reversed| {
            let filter = Filter::steep(kind, slope).expect("there is one");
            together((filter, 1.0), (filter, 1.0), is_reversed)
        };
        let (butterworth, riley) = (FilterKind::Butterworth, FilterKind::LinkwitzRiley);
        for (kind, slope, same, reversed) in [
            (butterworth, 6.0, 0.0, 0.0),
            (butterworth, 12.0, DEEPEST, 3.0103),
            (butterworth, 18.0, 0.0, 0.0),
            (butterworth, 24.0, 3.0103, DEEPEST),
            (riley, 12.0, DEEPEST, 0.0),
            (riley, 24.0, 0.0, DEEPEST),
            (riley, 48.0, 0.0, DEEPEST),
        ] {
            let found = (sum(kind, slope, false), sum(kind, slope, true));
            assert!((found.0 - same).abs() < 1e-3 && (found.1 - reversed).abs() < 1e-3, "{kind:?} {slope}: {found:?}");
        }
        // A Linkwitz-Riley pair of fourth order is level at every frequency.
        let filter = Filter::steep(riley, 24.0).expect("there is one");
        for ratio in [0.1, 0.5, 0.8, 1.3, 4.0] {
            assert!(together((filter, ratio), (filter, ratio), false).abs() < 1e-9, "{ratio}");
        }
    }

    /// The phase is that of one over the Butterworth polynomials of the textbooks: `s + 1`, `s2 + 1.414 s + 1`,
    /// `(s + 1)(s2 + s + 1)` and `(s2 + 0.7654 s + 1)(s2 + 1.8478 s + 1)`.
    #[test]
    fn the_phase_of_a_filter_is_that_of_its_polynomial() {
        let first = |x: f64| -x.atan();
        let second = |x: f64, damping: f64| -(damping * x).atan2(1.0 - x * x);
        let (butterworth, riley) = (FilterKind::Butterworth, FilterKind::LinkwitzRiley);
        for x in [0.2, 0.7, 1.0, 1.6, 5.0] {
            for (kind, order, phase) in [
                (butterworth, 1, first(x)),
                (butterworth, 2, second(x, std::f64::consts::SQRT_2)),
                (butterworth, 3, first(x) + second(x, 1.0)),
                (butterworth, 4, second(x, 0.765_366_9) + second(x, 1.847_759_1)),
                (riley, 2, 2.0 * first(x)),
                (riley, 4, 2.0 * second(x, std::f64::consts::SQRT_2)),
            ] {
                let found = Filter::new(kind, order).expect("there is one").phase(x);
                assert!((found - phase).abs() < 1e-6, "{kind:?} {order} at {x}: {found}, {phase}");
            }
        }
    }

    /// A low-pass and a high-pass of second order with corners an octave apart, worked as complex numbers: at the low-pass's
    /// corner `1/(j 1.414)` and `-4/(-3 + j 2.828)`.
    #[test]
    fn parts_with_corners_apart_add_up_as_complex_numbers_do() {
        let filter = Filter::new(FilterKind::Butterworth, 2).expect("there is one");
        let low_at = |x: f64| (1.0 - x * x, std::f64::consts::SQRT_2 * x);
        let over = |(re, im): (f64, f64)| (re / (re * re + im * im), -im / (re * re + im * im));
        for (below, above) in [(1.0, 2.0), (0.5, 1.0), (1.4, 0.7), (2.0, 4.0), (0.8, 1.2)] {
            let (low, high) = (over(low_at(below)), over(low_at(above)));
            let high = (-above * above * high.0, -above * above * high.1);
            for (is_reversed, sign) in [(false, 1.0), (true, -1.0)] {
                let sum = (low.0 + sign * high.0, low.1 + sign * high.1);
                let level = (10.0 * (sum.0 * sum.0 + sum.1 * sum.1).log10()).max(DEEPEST);
                let found = together((filter, below), (filter, above), is_reversed);
                assert!((found - level).abs() < 1e-6, "{below} {above} {is_reversed}: {found}, {level}");
            }
        }
    }

    #[test]
    fn what_is_not_stated_may_be_any() {
        let filters = possible(&[FilterKind::Butterworth, FilterKind::LinkwitzRiley], &[12.0, 24.0]);
        assert_eq!(filters.len(), 4);
        // At its corner a Butterworth filter takes 3.01 dB, a Linkwitz-Riley one 6.02 dB.
        let corner = held_back(&filters, |filter| filter.high_pass(1.0)).unwrap();
        assert!((corner.low() - 3.0103).abs() < 1e-4 && (corner.high() - 6.0206).abs() < 1e-4, "{corner}");
        assert!(held_back(&possible(&[FilterKind::LinkwitzRiley], &[6.0]), |filter| filter.low_pass(2.0)).is_none());
    }
}
