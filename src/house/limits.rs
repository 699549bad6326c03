//! The limits that rules compare with.

use crate::quantity::{
    Current, Dimension, Duration, Frequency, Length, Level, Mass, Power, Quantity, Resistance, Temperature, Voltage,
};

/// A limit with its name in a house and its source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit<D: Dimension> {
    /// What the house calls it.
    pub name: &'static str,
    /// Its value.
    pub value: Quantity<D>,
    /// Where it comes from.
    pub source: &'static str,
}

const fn limit<D: Dimension>(name: &'static str, base: f64, source: &'static str) -> Limit<D> {
    Limit { name, value: Quantity::new(base), source }
}

/// All limits of a house, in base units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Longest way from a source to its fuse.
    pub fuse_distance: Limit<Length>,
    /// Highest fuse rating as a multiple of the ampacity of the wire it protects.
    pub fuse_over_ampacity: f64,
    /// Highest share of a fuse's rating that may flow all the time.
    pub fuse_loading: f64,
    /// Smallest ratio between a fuse and the next one behind it.
    pub fuse_selectivity: f64,
    /// Highest voltage in service of a twelve-volt system; twice that of a twenty-four-volt system.
    pub highest_voltage: Limit<Voltage>,
    /// Highest drop in the feed and return of one amplifier.
    pub supply_drop: Limit<Voltage>,
    /// Highest drop on the whole way back to the battery.
    pub return_drop: Limit<Voltage>,
    /// Shortest time asleep after which the engine may not crank.
    pub key_off_days: Limit<Duration>,
    /// Highest draw asleep.
    pub key_off_current: Limit<Current>,
    /// Shortest time of listening with the engine off.
    pub listening_time: Limit<Duration>,
    /// Highest drop in the factory's charge cable and straps.
    pub charge_drop: Limit<Voltage>,
    /// Longest return conductor to the body.
    pub return_length: Limit<Length>,
    /// Longest stretch between two fixings.
    pub fixing_distance: Limit<Length>,
    /// Nearest a signal lead may run beside a supply conductor.
    pub signal_separation: Limit<Length>,
    /// Longest signal lead.
    pub signal_length: Limit<Length>,
    /// By how much a wire may be longer than its way.
    pub spare_length: f64,
    /// Share of the power that a speaker lead may lose.
    pub lead_loss: f64,
    /// Stripped length that suits a terminal when its maker does not say.
    pub strip_length: Limit<Length>,
    /// By how much a stripped length may differ from what the terminal asks.
    pub strip_tolerance: Limit<Length>,
    /// Length at which a cable back to the battery is long.
    pub long_return: Limit<Length>,
    /// Lowest class of insulation in the engine bay and under the floor.
    pub hot_insulation: Limit<Temperature>,
    /// Highest corner of the low-pass of a subwoofer.
    pub subwoofer_low_pass: Limit<Frequency>,
    /// Lowest corner of the high-pass of tweeters.
    pub tweeter_high_pass: Limit<Frequency>,
    /// What filters may take from the tone that the gain is set with.
    pub tone_loss: Limit<Level>,
    /// Heaviest amplifier that tape or glue may hold.
    pub taped_mass: Limit<Mass>,
    /// How hard a crash pulls at gear, in g.
    pub holding_g: f64,
    /// Free space that an amplifier needs around it.
    pub clearance: Limit<Length>,
    /// Heat of an amplifier that needs no free space.
    pub small_heat: Limit<Power>,
    /// Quality factors of a closed box that sound right.
    pub closed_box_q: (f64, f64),
    /// Fastest air in a vent in m/s.
    pub vent_speed: f64,
    /// Lowest corner of a vented box's low cut, as a share of its tuning: half an octave.
    pub low_cut_below_tuning: f64,
    /// Highest resistance of the way back from an amplifier to the battery, as measured.
    pub ground_path: Limit<Resistance>,
    /// By how much a drop or a resistance may read above its prediction.
    pub over_prediction: f64,
    /// By how much the charging voltage of a twelve-volt system may read beside the stated one; twice that of a
    /// twenty-four-volt system.
    pub charging_tolerance: Limit<Voltage>,
    /// By how much the test tone's voltage may read above its target: what a meter is good for.
    pub gain_tolerance: f64,
    /// By how much a coil may read beside its prediction with a meter that shows tenths of an ohm.
    pub coil_tolerance: Limit<Resistance>,
    /// The same as a share of the prediction, where that is more.
    pub coil_tolerance_share: f64,
}

const INCH: f64 = 0.0254;
const DAY: f64 = 86_400.0;

impl Default for Limits {
    fn default() -> Self {
        Self {
            fuse_distance: limit(
                "fuse-distance",
                18.0 * INCH,
                "NEC 551.10(E) and 552.10(E) for road-going recreational vehicles (18 in); usual shop practice",
            ),
            fuse_over_ampacity: 1.0,
            fuse_loading: 0.8,
            fuse_selectivity: 1.6,
            highest_voltage: limit(
                "highest-voltage",
                16.0,
                "ISO 16750-2: every supply range of a 12 V system ends at 16 V, of a 24 V system at 32 V (memory)",
            ),
            supply_drop: limit("supply-drop", 0.5, "common practice, no published source"),
            return_drop: limit("return-drop", 0.2, "common practice, no published source"),
            key_off_days: limit(
                "key-off-days",
                21.0 * DAY,
                "common practice, no published source (three weeks at the airport)",
            ),
            key_off_current: limit(
                "key-off-current",
                0.05,
                "common practice, no published source (makers' manuals name 25 to 50 mA at most)",
            ),
            listening_time: limit("listening-time", 15.0 * 60.0, "common practice, no published source"),
            charge_drop: limit("charge-drop", 0.2, "common practice, no published source"),
            return_length: limit(
                "return-length",
                18.0 * INCH,
                "common practice, no published source (many shops accept 36 in)",
            ),
            fixing_distance: limit(
                "fixing-distance",
                18.0 * INCH,
                "marine practice (46 CFR 183.340(b)(4) allows 24 in)",
            ),
            signal_separation: limit("signal-separation", 18.0 * INCH, "common practice, no published source"),
            signal_length: limit("signal-length", 6.0, "common practice, no published source"),
            spare_length: 0.2,
            lead_loss: 0.05,
            strip_length: limit("strip-length", 0.006, "common practice, no published source (about a quarter inch)"),
            strip_tolerance: limit("strip-tolerance", 0.002, "common practice, no published source"),
            long_return: limit("long-return", 1.5, "common practice, no published source"),
            hot_insulation: limit(
                "hot-insulation",
                85.0,
                "the lowest class of road vehicle cable, ISO 6722-1 class A (memory)",
            ),
            subwoofer_low_pass: limit("subwoofer-low-pass", 120.0, "common practice, no published source"),
            tweeter_high_pass: limit("tweeter-high-pass", 1000.0, "common practice, no published source"),
            tone_loss: limit(
                "tone-loss",
                1.0,
                "common practice, no published source (1 dB too much gain is a quarter more power)",
            ),
            taped_mass: limit("taped-mass", 1.0, "common practice, no published source"),
            holding_g: 20.0,
            clearance: limit("clearance", 0.025, "common practice, no published source (makers ask for 25 to 50 mm)"),
            small_heat: limit("small-heat", 15.0, "common practice, no published source"),
            closed_box_q: (0.5, 1.1),
            vent_speed: 17.0,
            low_cut_below_tuning: std::f64::consts::FRAC_1_SQRT_2,
            ground_path: limit("ground-path", 0.010, "common practice, no published source"),
            over_prediction: 0.25,
            charging_tolerance: limit("charging-tolerance", 0.3, "common practice, no published source"),
            gain_tolerance: 0.02,
            coil_tolerance: limit("coil-tolerance", 0.1, "common practice, no published source"),
            coil_tolerance_share: 0.05,
        }
    }
}
