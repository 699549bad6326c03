//! Closed and vented boxes by Small's equations (JAES 20(10), 1972, and 21, 1973; from secondary texts and memory).
//!
//! Plain numbers: hertz, litres for volumes, metres for vents, watts, metres per second.

use std::f64::consts::{PI, TAU};

/// Speed of sound in m/s at 20 C.
pub const SOUND: f64 = 343.0;
/// Density of air in kg/m3 at 20 C.
pub const AIR: f64 = 1.2;

/// What the data sheet says of a driver, or of several alike that share a box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parameters {
    /// Free-air resonance in hertz.
    pub resonance: f64,
    /// Total quality factor Qts.
    pub total_q: f64,
    /// Volume of air as springy as the suspension in litres, of all drivers in the box together.
    pub compliance_volume: f64,
}

/// How a driver behaves in a closed box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closed {
    /// Quality factor in the box.
    pub total_q: f64,
    /// Resonance in the box in hertz.
    pub resonance: f64,
    /// Where the response is 3 dB down, in hertz.
    pub f3: f64,
    /// By how many decibels the response rises above its level before it falls.
    pub peak: f64,
}

/// A driver in a closed box of so many litres: Qtc = Qts sqrt(1 + Vas/Vb), fc = fs sqrt(1 + Vas/Vb).
pub fn closed(driver: Parameters, litres: f64) -> Closed {
    let stiffer = (1.0 + driver.compliance_volume / litres).sqrt();
    let (total_q, resonance) = (driver.total_q * stiffer, driver.resonance * stiffer);
    let damping = 1.0 / (2.0 * total_q * total_q) - 1.0;
    let f3 = resonance * (damping + (damping * damping + 1.0).sqrt()).sqrt();
    let square = total_q * total_q;
    let peak = if square > 0.5 { 20.0 * (square / (square - 0.25).sqrt()).log10() } else { 0.0 };
    Closed { total_q, resonance, f3, peak }
}

/// Level of a closed box at a frequency in decibels, against its level far above resonance:
/// `|G| = x^2 / sqrt((x^2 - 1)^2 + (x / Qtc)^2)` with x = f / fc (Small 1972, second-order high-pass).
pub fn closed_response(is: Closed, hertz: f64) -> f64 {
    let x = hertz / is.resonance;
    let square = x * x;
    20.0 * (square / (square - 1.0).hypot(x / is.total_q)).log10()
}

/// Quality factor of the leaks of a vented box, least and most: boxes of usual size and build (Small 1973: 5 to 20, with
/// 7 the most usual; from memory).
pub const LEAKAGE: (f64, f64) = (5.0, 20.0);

/// Level of a vented box at a frequency in decibels, against its level far above its tuning.
///
/// Small 1973 (fourth-order high-pass with leakage losses): with h = fb / fs, alpha = Vas / Vb, and x = f / sqrt(fs fb),
/// `G = s^4 / (s^4 + a1 s^3 + a2 s^2 + a3 s + 1)` at s = jx, where
/// `a1 = (QL + h Qts) / (sqrt(h) QL Qts)`, `a2 = (h + (alpha + 1 + h^2) QL Qts) / (h QL Qts)`,
/// `a3 = (h QL + Qts) / (sqrt(h) QL Qts)`. A leakage of infinity is a box without losses.
pub fn vented_response(driver: Parameters, litres: f64, tuning: f64, leakage: f64, hertz: f64) -> f64 {
    let (h, alpha) = (tuning / driver.resonance, driver.compliance_volume / litres);
    // Divided through by QL, so that no losses at all are no special case.
    let (leak, q, root) = (1.0 / leakage, driver.total_q, h.sqrt());
    let a1 = (1.0 + h * q * leak) / (root * q);
    let a2 = (h * leak + (alpha + 1.0 + h * h) * q) / (h * q);
    let a3 = (h + q * leak) / (root * q);
    let x = hertz / (driver.resonance * tuning).sqrt();
    let (real, imaginary) = (x.powi(4) - a2 * x * x + 1.0, a3 * x - a1 * x.powi(3));
    20.0 * (x.powi(4) / real.hypot(imaginary)).log10()
}

/// The closed box in litres that gives this quality factor; `None` where no box does.
pub fn litres_for(driver: Parameters, total_q: f64) -> Option<f64> {
    let ratio = (total_q / driver.total_q).powi(2) - 1.0;
    (ratio > 0.0).then(|| driver.compliance_volume / ratio)
}

/// A vent, or several alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opening {
    /// Area of one in m2.
    pub area: f64,
    /// Length in metres.
    pub length: f64,
    /// How many.
    pub count: f64,
}

impl Opening {
    /// The vent of so many times the area that keeps the tuning.
    #[must_use]
    pub fn widened(self, times: f64) -> Self {
        let area = self.area * times;
        Self { area, length: (self.length + self.ends()) * times - Self { area, ..self }.ends(), ..self }
    }

    /// By how much the air swings along beyond both ends, in metres: one end is taken as flush with the wall (0.850
    /// radii) and one as free (0.613 radii), slots as a circle of their area (memory, after Rayleigh and Levine and
    /// Schwinger).
    fn ends(self) -> f64 {
        1.463 * (self.area / PI).sqrt()
    }

    /// Air inside in litres.
    pub fn litres(self) -> f64 {
        self.area * self.length * self.count * 1000.0
    }
}

/// Tuning in hertz of a box of so many litres with this vent.
pub fn tuning(vent: Opening, litres: f64) -> f64 {
    let length = vent.length + vent.ends();
    SOUND / TAU * (vent.area * vent.count / (litres / 1000.0 * length)).sqrt()
}

/// Peak speed of the air in the vent in m/s at the tuning, with so many watts into the drivers.
///
/// At its tuning a box without losses radiates by the vent alone, with `h^2/alpha` of the reference pressure (h =
/// tuning over resonance, alpha = Vas/Vb). Reference efficiency is taken with Qts in place of Qes. Both make the speed
/// come out a little high, which is the safe side.
pub fn vent_speed(driver: Parameters, litres: f64, vent: Opening, watts: f64) -> f64 {
    let tuned = tuning(vent, litres);
    let cubic_metres = driver.compliance_volume / 1000.0;
    let efficiency = 4.0 * PI * PI * driver.resonance.powi(3) * cubic_metres / (SOUND.powi(3) * driver.total_q);
    let pressure = (tuned / driver.resonance).powi(2) * litres / driver.compliance_volume;
    let acoustic = efficiency * watts * pressure * pressure;
    let flow = (acoustic * TAU * SOUND / AIR).sqrt() / (TAU * tuned);
    std::f64::consts::SQRT_2 * flow / (vent.area * vent.count)
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRIVER: Parameters = Parameters { resonance: 30.0, total_q: 0.45, compliance_volume: 60.0 };

    #[test]
    fn the_volume_for_a_quality_factor_gives_it_back() {
        let litres = litres_for(DRIVER, 0.9).expect("a box");
        assert!((closed(DRIVER, litres).total_q - 0.9).abs() < 1e-12);
        assert_eq!(litres_for(DRIVER, 0.45), None);
    }

    /// Textbook alignments: Qtc 0.707 is 3.01 dB down at its resonance, 0.5 is 6.02 dB down there, 1 is level there.
    #[test]
    fn a_closed_box_is_as_far_down_at_its_resonance_as_its_quality_factor_says() {
        for (total_q, level) in [(std::f64::consts::FRAC_1_SQRT_2, -3.0103), (0.5, -6.0206), (1.0, 0.0)] {
            let is = Closed { total_q, resonance: 45.0, f3: 0.0, peak: 0.0 };
            assert!((closed_response(is, 45.0) - level).abs() < 1e-4, "{total_q}");
            assert!(closed_response(is, 4.5e6).abs() < 1e-6, "{total_q}");
        }
        let is = closed(DRIVER, 20.0);
        assert!((closed_response(is, is.f3) + 3.0103).abs() < 1e-4);
        // Where x^2 = 1 / (1 - 1 / (2 Q^2)) the response is at its peak.
        let x = (1.0 / (1.0 - 1.0 / (2.0 * is.total_q * is.total_q))).sqrt();
        assert!((closed_response(is, x * is.resonance) - is.peak).abs() < 1e-9 && is.peak > 0.1);
        let octave = closed_response(is, 1.0) - closed_response(is, 0.5);
        assert!((octave - 12.04).abs() < 0.01, "{octave}");
    }

    /// The fourth-order Butterworth alignment without losses: h = 1, alpha = 1.414, Qts = 0.383 (Small 1973, and Thiele's
    /// table); its level is that of a Butterworth filter of fourth order with the corner at fs.
    #[test]
    fn the_butterworth_alignment_of_a_vented_box_is_a_butterworth_filter() {
        use crate::plan::FilterKind;
        use crate::solve::filters::Filter;
        let q = 1.0 / (4.0 + 2.0 * std::f64::consts::SQRT_2).sqrt();
        assert!((q - 0.383).abs() < 0.0005);
        let driver = Parameters { resonance: 32.0, total_q: q, compliance_volume: 50.0 * std::f64::consts::SQRT_2 };
        let filter = Filter::new(FilterKind::Butterworth, 4).unwrap();
        for hertz in [8.0, 16.0, 24.0, 32.0, 40.0, 64.0, 200.0] {
            let level = vented_response(driver, 50.0, 32.0, f64::INFINITY, hertz);
            assert!((level - filter.high_pass(hertz / 32.0)).abs() < 1e-9, "{hertz} Hz: {level}");
        }
        let lossy = vented_response(driver, 50.0, 32.0, 7.0, 32.0);
        assert!(lossy < -3.3, "leaks cost level at the tuning: {lossy}");
    }

    #[test]
    fn a_longer_vent_tunes_lower_and_four_times_the_power_doubles_the_speed() {
        let vent = Opening { area: 0.008, length: 0.25, count: 1.0 };
        let longer = Opening { length: 0.5, ..vent };
        assert!(tuning(longer, 50.0) < tuning(vent, 50.0));
        let wide = vent.widened(2.5);
        assert!((tuning(wide, 50.0) - tuning(vent, 50.0)).abs() < 1e-9 && wide.length > vent.length);
        let speed = |watts| vent_speed(DRIVER, 50.0, vent, watts);
        assert!((speed(400.0) / speed(100.0) - 2.0).abs() < 1e-9);
    }

    /// Small 1973 as printed, with QL in every term: a box tuned under the driver's resonance that leaks.
    #[test]
    fn leaks_and_tuning_stand_where_the_printed_formula_has_them() {
        let (resonance, q, vas, litres, tuning, ql) = (30.0, 0.4, 70.0, 50.0, 24.0, 7.0);
        let driver = Parameters { resonance, total_q: q, compliance_volume: vas };
        let (h, alpha): (f64, f64) = (tuning / resonance, vas / litres);
        let a1 = (ql + h * q) / (h.sqrt() * ql * q);
        let a2 = (h + (alpha + 1.0 + h * h) * ql * q) / (h * ql * q);
        let a3 = (h * ql + q) / (h.sqrt() * ql * q);
        for hertz in [12.0, 20.0, 24.0, 30.0, 45.0, 90.0] {
            let x: f64 = hertz / (resonance * tuning).sqrt();
            let (re, im) = (x.powi(4) - a2 * x.powi(2) + 1.0, -a1 * x.powi(3) + a3 * x);
            let printed = 20.0 * (x.powi(4) / (re * re + im * im).sqrt()).log10();
            let found = vented_response(driver, litres, tuning, ql, hertz);
            assert!((found - printed).abs() < 1e-9, "{hertz} Hz: {found}, printed {printed}");
        }
    }

    /// Two vents of 80 cm2 and 25 cm hold 4 litres of air. By hand: 1.463 radii of 50.5 mm lengthen them to 0.3238 m, and
    /// 50 litres are tuned to 343 / 2 pi sqrt(0.016 / (0.05 x 0.3238)) = 54.3 Hz.
    #[test]
    fn two_vents_hold_twice_the_air_and_tune_higher() {
        let two = Opening { area: 0.008, length: 0.25, count: 2.0 };
        assert!((two.litres() - 4.0).abs() < 1e-12);
        let one = Opening { count: 1.0, ..two };
        assert!((tuning(two, 50.0) - 54.3).abs() < 0.1, "{}", tuning(two, 50.0));
        assert!((tuning(two, 50.0) / tuning(one, 50.0) - std::f64::consts::SQRT_2).abs() < 1e-12);
    }

    /// Reference efficiency is 9.64e-10 fs^3 Vas / Q with Vas in litres (Small 1972, at 345 m/s; from memory). Power radiated
    /// into half space is rho w^2 U^2 / 2 pi c; at its tuning the box gives (h^2 / alpha)^2 of what the driver would.
    #[test]
    fn the_air_in_a_vent_is_as_fast_as_the_power_radiated_asks() {
        for count in [1.0, 2.0] {
            let vent = Opening { area: 0.008, length: 0.25, count };
            let tuned = tuning(vent, 50.0);
            let efficiency = 9.64e-10 * 30.0_f64.powi(3) * 60.0 / 0.45;
            let watts = 300.0 * efficiency * ((tuned / 30.0).powi(2) / (60.0 / 50.0)).powi(2);
            let flow = (watts * 2.0 * PI * SOUND / AIR).sqrt() / (2.0 * PI * tuned);
            let speed = 2.0_f64.sqrt() * flow / (count * 0.008);
            let found = vent_speed(DRIVER, 50.0, vent, 300.0);
            assert!((found / speed - 1.0).abs() < 0.02, "{found} m/s, by hand {speed}");
        }
    }
}
