//! Audio levels on the way from a source to an amplifier's input.

use crate::quantity::{Level, Power, Range, Resistance, Share, Voltage};

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

/// The share of the power that stays in a lead, in per cent: R / (R + Z), resistance there and back.
pub fn lead_loss(resistance: Range<Resistance>, impedance: Range<Resistance>) -> Range<Share> {
    let share = |ohms: f64, rest: f64| 100.0 * ohms / (ohms + rest);
    Range::new(share(resistance.low(), impedance.high()), share(resistance.high(), impedance.low()))
}

/// By how many decibels a lead lowers the level at the coils: 20 log10((Z + R) / Z).
pub fn lead_level(resistance: Range<Resistance>, impedance: Range<Resistance>) -> Range<Level> {
    let lowered = |ohms: f64, rest: f64| 20.0 * ((rest + ohms) / rest).log10();
    Range::new(lowered(resistance.low(), impedance.high()), lowered(resistance.high(), impedance.low()))
}

/// Damping factor at the coils, a plain number: their impedance over that of lead and output together. From the least
/// to the most; not finite where nothing resists.
pub fn damping(impedance: Range<Resistance>, lead: Range<Resistance>, output: Range<Resistance>) -> (f64, f64) {
    let behind = lead + output;
    (impedance.low() / behind.high(), impedance.high() / behind.low())
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

    #[test]
    fn a_lead_of_a_twentieth_of_the_load() {
        let (lead, load) = (Range::point(0.2), Range::point(3.8));
        assert!((lead_loss(lead, load).high() - 5.0).abs() < 1e-9);
        // 20 log10(4 / 3.8) = 0.4455 dB
        assert!((lead_level(lead, load).high() - 0.4455).abs() < 1e-4);
        let (least, most) = damping(load, lead, Range::new(0.0, 0.18));
        assert!((least - 10.0).abs() < 1e-9 && (most - 19.0).abs() < 1e-9);
    }
}
