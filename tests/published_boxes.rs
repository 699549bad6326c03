//! Closed boxes against a computed set. Source: Small's closed-box equations (JAES 20(10), 1972, read in secondary
//! texts), evaluated apart from this program; f3 was checked with the analog response of a numerical library, which is
//! 3.0103 dB down at each. No worked example of a textbook could be read.

#![allow(clippy::approx_constant, reason = "the table is copied as it was printed")]

#[path = "published/table.rs"]
mod table;

use table::agree;
use testlamp::solve::enclosure::{Parameters, closed};

/// fs Hz, Qts, Vas l, Vb l, then Qtc, fc Hz, f3 Hz, peak dB.
const BOXES: &[[f64; 8]] = &[
    [25.0, 0.40, 100.0, 50.0, 0.6928, 43.301, 44.213, 0.0],
    [30.0, 0.45, 60.0, 30.0, 0.7794, 51.962, 47.583, 0.138],
    [22.0, 0.35, 150.0, 40.0, 0.7628, 47.948, 44.701, 0.087],
    [35.0, 0.50, 45.0, 45.0, 0.7071, 49.497, 49.497, 0.0],
];

#[test]
fn closed_boxes_agree_with_the_computed_set() {
    for [resonance, total_q, compliance_volume, litres, q, fc, f3, peak] in BOXES.iter().copied() {
        let driver = Parameters { resonance, total_q, compliance_volume };
        let ours = closed(driver, litres);
        let what = format!("{resonance} Hz in {litres} l");
        agree(&format!("{what}: Qtc"), ours.total_q, q, 0.000_05);
        agree(&format!("{what}: fc"), ours.resonance, fc, 0.000_5);
        agree(&format!("{what}: f3"), ours.f3, f3, 0.000_5);
        agree(&format!("{what}: peak"), ours.peak, peak, 0.000_5);
    }
}
