//! Magnitudes of the filters in amplifiers and processors: Butterworth and Linkwitz-Riley, low-pass and high-pass.
//!
//! Source: Butterworth `|H|^2 = 1 / (1 + x^(2n))` with x = f / corner; Linkwitz-Riley of order 2n is two Butterworth
//! filters of order n in a row, so `|H| = 1 / (1 + x^(2n))` (textbooks of filter design; tests hold both against values
//! computed elsewhere). A high-pass at x is the low-pass at 1 / x.

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
