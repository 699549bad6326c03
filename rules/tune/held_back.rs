//! What the filters of a setting take from a tone.

use crate::plan::Setting;
use crate::quantity::{Frequency, Level, Quantity, Range};
use crate::solve::{Job, filters};

/// How it is worked out.
pub const HOW: &str = "Butterworth and Linkwitz-Riley, 12 and 24 dB/oct, where design and slope are not stated";

/// By how much the filter of this key holds a frequency back; `None` where it is not stated, or is of no known design.
pub fn held_back(job: &Job<'_>, setting: &Setting, key: &str, at: Quantity<Frequency>) -> Option<Range<Level>> {
    let (corner, slope) = match key {
        "low_pass" => (setting.low_pass, setting.low_pass_slope),
        "high_pass" => (setting.high_pass, setting.high_pass_slope),
        _ => (setting.low_cut, setting.low_cut_slope),
    };
    let ratio = at.base() / corner.filter(|corner| corner.base() > 0.0)?.base();
    let usual = job.house.assumptions.filter_slopes.range;
    let slopes = slope.map_or(vec![usual.low(), usual.high()], |slope| vec![slope.base()]);
    let possible = filters::possible(setting.filters, &slopes);
    filters::held_back(
        &possible,
        |filter| {
            if key == "low_pass" { filter.low_pass(ratio) } else { filter.high_pass(ratio) }
        },
    )
}
