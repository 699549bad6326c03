//! Ranges for facts that a plan does not state.

use crate::quantity::{Current, Dimension, Range, Resistance, Temperature, Voltage};

/// A range that stands in for a fact that is not stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assumption<D: Dimension> {
    /// The range.
    pub range: Range<D>,
    /// Where it comes from.
    pub source: &'static str,
}

const CP: &str = "common practice, no published source";

const fn assume<D: Dimension>(low: f64, high: f64, source: &'static str) -> Assumption<D> {
    Assumption { range: Range::new(low, high), source }
}

/// All assumptions of a house, in base units; ratios are plain numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assumptions {
    /// Efficiency of class D at rated power.
    pub efficiency_d: (f64, f64),
    /// Efficiency of class AB at rated power.
    pub efficiency_ab: (f64, f64),
    /// Efficiency of classes G and H at rated power.
    pub efficiency_gh: (f64, f64),
    /// Share of full power that bass programme asks on average.
    pub duty_bass: f64,
    /// Share of full power that full-range programme asks on average.
    pub duty_full_range: f64,
    /// Current of a silent amplifier.
    pub idle_current: Assumption<Current>,
    /// What the turn-on terminal of an amplifier draws.
    pub remote_current: Assumption<Current>,
    /// What the remote output of a radio gives.
    pub radio_output: Assumption<Current>,
    /// What the coil of a relay draws.
    pub relay_coil: Assumption<Current>,
    /// What an amplifier's output resists.
    pub output: Assumption<Resistance>,
    /// Slopes of filters that are common, in dB per octave (common practice, no published source).
    pub filter_slopes: [f64; 2],
    /// DC resistance of a voice coil as a share of its nominal impedance.
    pub coil_dc: (f64, f64),
    /// Resistance of one joint.
    pub joint: Assumption<Resistance>,
    /// Drop across a fuse at its rated current.
    pub fuse_drop: Assumption<Voltage>,
    /// Steel body, from the battery's strap to the rear floor.
    pub body: Assumption<Resistance>,
    /// Factory charge cable and straps.
    pub charge_cable: Assumption<Resistance>,
    /// Closed isolator.
    pub isolator: Assumption<Resistance>,
    /// Internal resistance of a 12 V battery times its cold-cranking current.
    pub battery_volts_over_cranking: Assumption<Voltage>,
    /// Internal resistance of a 12 V battery of which nothing is known.
    pub battery: Assumption<Resistance>,
    /// Voltage at rest, charged, of a 12 V lead-acid battery.
    pub rest_lead_acid: Assumption<Voltage>,
    /// Voltage at rest, charged, of a 12 V lithium iron phosphate battery.
    pub rest_lithium: Assumption<Voltage>,
    /// Voltage that a fixed regulator holds (12 V system).
    pub charging_fixed: Assumption<Voltage>,
    /// Voltage that an engine control unit lets stand (12 V system).
    pub charging_ecu: Assumption<Voltage>,
    /// Rated current of an alternator of which nothing is known.
    pub alternator: Assumption<Current>,
    /// Output at hot idle as a share of the rated output.
    pub alternator_idle: (f64, f64),
    /// The vehicle's own draw, engine running.
    pub running: Assumption<Current>,
    /// The vehicle's own draw, asleep.
    pub key_off: Assumption<Current>,
    /// What a switched-off amplifier still draws.
    pub off_current: Assumption<Current>,
    /// The share of its capacity that a battery may lose before the engine may not crank.
    pub usable_charge: f64,
    /// Peukert's exponent of a lead-acid battery with liquid electrolyte.
    pub peukert_flooded: (f64, f64),
    /// Peukert's exponent of a lead-acid battery with glass mat or gel.
    pub peukert_sealed: (f64, f64),
    /// Peukert's exponent of a lithium iron phosphate battery.
    pub peukert_lithium: (f64, f64),
    /// What insulation is made for.
    pub insulation: Assumption<Temperature>,
    /// Engine bay, underbody and other hot places.
    pub hot_zone: Assumption<Temperature>,
    /// Everywhere else.
    pub zone: Assumption<Temperature>,
}

impl Default for Assumptions {
    fn default() -> Self {
        Self {
            efficiency_d: (0.75, 0.88),
            efficiency_ab: (0.50, 0.65),
            efficiency_gh: (0.60, 0.75),
            duty_bass: 1.0 / 3.0,
            duty_full_range: 1.0 / 8.0,
            idle_current: assume(0.3, 1.5, CP),
            remote_current: assume(0.005, 0.03, CP),
            radio_output: assume(
                0.15,
                0.3,
                "reference texts on ISO 10487 connectors name 150 to 300 mA for the remote output",
            ),
            relay_coil: assume(0.1, 0.2, CP),
            output: assume(
                0.004,
                0.04,
                "Lessons In Electric Circuits III: damping factors are usually 100 to 1000, here taken for 4 ohm",
            ),
            filter_slopes: [12.0, 24.0],
            coil_dc: (0.70, 0.95),
            joint: assume(0.000_05, 0.000_25, CP),
            fuse_drop: assume(0.06, 0.11, CP),
            body: assume(0.000_5, 0.002, CP),
            charge_cable: assume(0.000_5, 0.002, CP),
            isolator: assume(0.000_2, 0.001, CP),
            battery_volts_over_cranking: assume(
                2.0,
                5.4,
                "upper end: SAE J537 test, 12.6 V to 7.2 V at the cold-cranking current; lower end: common practice",
            ),
            battery: assume(0.003, 0.012, CP),
            rest_lead_acid: assume(12.5, 12.8, "state-of-charge tables of battery makers (12.65 V full)"),
            rest_lithium: assume(13.2, 13.4, CP),
            charging_fixed: assume(13.8, 14.5, CP),
            charging_ecu: assume(12.2, 15.0, CP),
            alternator: assume(70.0, 150.0, CP),
            alternator_idle: (0.40, 0.65),
            running: assume(25.0, 60.0, CP),
            key_off: assume(0.01, 0.05, CP),
            off_current: assume(0.0, 0.005, CP),
            // Half its charge: common practice, no published source. Exponents: textbooks on batteries (memory).
            usable_charge: 0.5,
            peukert_flooded: (1.10, 1.30),
            peukert_sealed: (1.05, 1.15),
            peukert_lithium: (1.00, 1.05),
            insulation: assume(60.0, 105.0, CP),
            hot_zone: assume(50.0, 50.0, "33 CFR 183.425 note 1: engine spaces are taken as 50 C"),
            zone: assume(30.0, 30.0, "33 CFR 183.425: the table holds for 30 C"),
        }
    }
}
