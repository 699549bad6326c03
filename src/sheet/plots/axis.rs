//! The axis of a plot, straight or logarithmic, with round ticks.

use crate::quantity::text;

/// An axis from one value to another, with the values that are marked on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Axis {
    low: f64,
    high: f64,
    logarithmic: bool,
    /// The values that are marked.
    pub ticks: Vec<f64>,
    /// What it counts, with its unit.
    pub title: &'static str,
}

const STEPS: [f64; 3] = [1.0, 2.0, 5.0];

/// The smallest step of 1, 2 or 5 times a power of ten that is not below this.
fn round_step(least: f64) -> f64 {
    let decade = 10.0_f64.powf(least.log10().floor());
    let fits = STEPS.iter().map(|step| step * decade).find(|step| *step >= least * (1.0 - 1e-9));
    fits.unwrap_or(10.0 * decade)
}

impl Axis {
    /// A straight axis that holds these values, with at most so many steps of 1, 2 or 5.
    pub fn straight(title: &'static str, low: f64, high: f64, most: f64) -> Self {
        let span = if high - low > 0.0 { high - low } else { 1.0 };
        let step = round_step(span / most);
        let (first, last) = ((low / step + 1e-9).floor(), ((low + span) / step - 1e-9).ceil());
        let ticks = counted(first, last).map(|at| at * step).collect();
        Self { low: first * step, high: last * step, logarithmic: false, ticks, title }
    }

    /// A logarithmic axis between these values, both above zero, each taken to the next of 1, 2 or 5; marked at each of
    /// them up to `most`, otherwise at powers of ten.
    pub fn logarithmic(title: &'static str, low: f64, high: f64, most: usize) -> Self {
        let low = 1.0 / round_step(1.0 / low);
        let high = round_step(high.max(low * 1.01));
        let inside = |value: &f64| *value >= low * (1.0 - 1e-9) && *value <= high * (1.0 + 1e-9);
        let decades = || counted(low.log10().floor() - 1.0, high.log10().ceil()).map(|power| 10.0_f64.powf(power));
        let fine: Vec<f64> = decades().flat_map(|decade| STEPS.map(|step| step * decade)).filter(inside).collect();
        let ticks = if fine.len() <= most { fine } else { decades().filter(inside).collect() };
        Self { low, high, logarithmic: true, ticks, title }
    }

    /// The same, ending just here; ticks beyond are gone.
    #[must_use]
    pub fn ending(mut self, high: f64) -> Self {
        self.high = high;
        self.ticks.retain(|tick| *tick <= high * (1.0 + 1e-9));
        self
    }

    /// The lower end.
    pub fn low(&self) -> f64 {
        self.low
    }

    /// The upper end.
    pub fn high(&self) -> f64 {
        self.high
    }

    /// Where a value lies, as a share of the axis; outside of 0 to 1 beyond its ends.
    pub fn share(&self, value: f64) -> f64 {
        if self.logarithmic {
            let value = value.max(self.low * 1e-9);
            (value / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        }
    }

    /// So many values from end to end, evenly spread as the axis shows them.
    pub fn spread(&self, count: u32) -> Vec<f64> {
        let share = |at: u32| f64::from(at) / f64::from(count.max(2) - 1);
        let value = |share: f64| {
            if self.logarithmic {
                self.low * (self.high / self.low).powf(share)
            } else {
                self.low + (self.high - self.low) * share
            }
        };
        (0..count).map(share).map(value).collect()
    }
}

/// Whole numbers from one to another, both included; never more than a drawing could show.
fn counted(first: f64, last: f64) -> impl Iterator<Item = f64> {
    (0..200_u32).map(move |at| first + f64::from(at)).take_while(move |at| *at <= last + 1e-9)
}

/// A tick's value as it is written: 0.5, 20, 1k.
pub fn label(value: f64) -> String {
    let shown = if value.abs() >= 1000.0 { format!("{}k", text::digits(value / 1000.0)) } else { text::digits(value) };
    shown.replace('-', "\u{2212}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn straight_ticks_are_round_and_hold_the_values() {
        let axis = Axis::straight("V", 0.0, 0.47, 5.0);
        assert_eq!(
            axis.ticks.iter().map(|tick| label(*tick)).collect::<Vec<_>>(),
            ["0", "0.1", "0.2", "0.3", "0.4", "0.5"]
        );
        assert_eq!((axis.share(0.0), axis.share(0.5)), (0.0, 1.0));
        let negative = Axis::straight("dB", -48.0, 0.0, 5.0);
        assert_eq!(negative.ticks, [-50.0, -40.0, -30.0, -20.0, -10.0, 0.0]);
    }

    #[test]
    fn logarithmic_ticks_are_one_two_five_where_they_fit() {
        let axis = Axis::logarithmic("Hz", 12.0, 400.0, 8);
        assert_eq!(axis.ticks, [10.0, 20.0, 50.0, 100.0, 200.0, 500.0]);
        let wide = Axis::logarithmic("s", 0.01, 10_000.0, 8);
        assert_eq!(wide.ticks.len(), 7);
        assert!((axis.share(70.710_678) - 0.5).abs() < 1e-6, "{}", axis.share(70.710_678));
        assert_eq!((label(2000.0), label(0.05), label(-12.0)), ("2k".into(), "0.05".into(), "\u{2212}12".into()));
    }
}
