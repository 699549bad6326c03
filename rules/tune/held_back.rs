//! What the filters of a setting take from a tone.

use crate::plan::{FilterKind, Setting};
use crate::quantity::{Frequency, Level, Quantity, Range};
use crate::solve::{Job, Thing, filters};

/// How it is worked out.
pub const HOW: &str = "Butterworth and Linkwitz-Riley, 12 and 24 dB/oct, where design and slope are not stated";

const KINDS: [FilterKind; 2] = [FilterKind::Butterworth, FilterKind::LinkwitzRiley];
const SOURCE: &str = "common practice, no published source";

/// By how much the filter of this key holds a frequency back; `None` where it is not stated.
///
/// A slope that no known filter has counts as any of the common ones.
pub fn held_back(
    job: &Job<'_>,
    setting: &Thing<'_, Setting>,
    key: &str,
    at: Quantity<Frequency>,
) -> Option<Range<Level>> {
    let (corner, slope_key, slope) = match key {
        "low_pass" => (setting.low_pass, "low_pass_slope", setting.low_pass_slope),
        "high_pass" => (setting.high_pass, "high_pass_slope", setting.high_pass_slope),
        _ => (setting.low_cut, "low_cut_slope", setting.low_cut_slope),
    };
    let ratio = at.base() / corner.filter(|corner| corner.base() > 0.0)?.base();
    let usual = job.house.assumptions.filter_slopes;
    let common = [usual.range.low(), usual.range.high()];
    let slope = job.assume_steps(setting.at(slope_key), slope, &usual, &common).range;
    let show = |index: f64| if index < 0.5 { "butterworth".to_owned() } else { "linkwitz-riley".to_owned() };
    let kinds = job.assume_words(&setting.at("filters"), setting.filters, &KINDS, show, SOURCE);
    let slopes: Vec<f64> = if slope.is_point() { vec![slope.low()] } else { common.to_vec() };
    let mut possible = filters::possible(&kinds, &slopes);
    if possible.is_empty() {
        possible = filters::possible(&KINDS, &common);
    }
    let level =
        |filter: filters::Filter| if key == "low_pass" { filter.low_pass(ratio) } else { filter.high_pass(ratio) };
    filters::held_back(&possible, level)
}
