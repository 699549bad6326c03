//! Audio levels on the way from a source to an amplifier's input.

use crate::quantity::{Power, Range, Resistance, Voltage};

/// The level of a speaker output in volts RMS: sqrt(P Z). A higher power and a higher impedance both raise it.
pub fn speaker_output(power: Range<Power>, impedance: Range<Resistance>) -> Range<Voltage> {
    let volts = |power: f64, ohms: f64| (power * ohms).max(0.0).sqrt();
    Range::new(volts(power.low(), impedance.low()), volts(power.high(), impedance.high()))
}

/// What leaves a converter: the input times its ratio (output volts per input volt).
pub fn converted(input: Range<Voltage>, ratio: f64) -> Range<Voltage> {
    input * ratio
}

/// How far one level is above another in decibels, 20 log10; of two ranges the upper end counts against the lower end.
/// Negative when it is below; not finite when one of them is zero.
pub fn decibels_above(level: Range<Voltage>, other: Range<Voltage>) -> f64 {
    20.0 * (level.high() / other.low()).log10()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eighteen_watts_into_four_ohms_are_eight_and_a_half_volts() {
        // sqrt(18 x 4) = sqrt(72) = 8.48528 V; sqrt(18 x 2) = 6 V.
        let level = speaker_output(Range::point(18.0), Range::new(2.0, 4.0));
        assert!((level.low() - 6.0).abs() < 1e-9 && (level.high() - 8.485_281).abs() < 1e-6, "{level}");
    }

    #[test]
    fn half_the_voltage_is_six_decibels_less() {
        let half = converted(Range::point(8.0), 0.5);
        assert!((half.low() - 4.0).abs() < 1e-12);
        // 20 log10(2) = 6.0206 dB
        assert!((decibels_above(Range::point(8.0), half) - 6.0206).abs() < 1e-4);
        assert!((decibels_above(half, Range::point(8.0)) + 6.0206).abs() < 1e-4);
    }
}
