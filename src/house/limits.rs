//! The limits that rules compare with.

use schemars::JsonSchema;

use super::setting::{Limit, Setting};
use crate::quantity::{
    Acceleration, Current, Duration, Frequency, Length, Level, Mass, Power, Ratio, Resistance, Speed, Temperature,
    Voltage,
};

/// All limits of a house, each with its source.
#[derive(Debug, Clone, Copy, PartialEq, JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields, default)]
pub struct Limits {
    /// Longest way from a source to its fuse.
    pub fuse_distance: Limit<Length>,
    /// Highest fuse rating as a multiple of the ampacity of the wire it protects.
    pub fuse_over_ampacity: Limit<Ratio>,
    /// Highest share of a fuse's rating that may flow all the time.
    pub fuse_loading: Limit<Ratio>,
    /// Smallest fuse in a link between two batteries, as a share of what its relay or switch is made for.
    pub charge_fuse: Limit<Ratio>,
    /// Smallest ratio between a fuse and the next one behind it.
    pub fuse_selectivity: Limit<Ratio>,
    /// Highest voltage in service of a twelve-volt system; twice that of a twenty-four-volt system.
    pub highest_voltage: Limit<Voltage>,
    /// Highest drop in the feed and return of one amplifier of a twelve-volt system; twice that of a twenty-four-volt
    /// system.
    pub supply_drop: Limit<Voltage>,
    /// Highest drop on the whole way back to the battery.
    pub return_drop: Limit<Voltage>,
    /// Shortest time asleep after which the engine may not crank.
    pub key_off_days: Limit<Duration>,
    /// Farthest ahead that the last day of a waiver of a danger lies.
    pub danger_waiver: Limit<Duration>,
    /// Highest draw asleep.
    pub key_off_current: Limit<Current>,
    /// Shortest time of listening with the engine off.
    pub listening_time: Limit<Duration>,
    /// Highest drop in the factory's charge cable and straps of a twelve-volt system; twice that of a twenty-four-volt
    /// system.
    pub charge_drop: Limit<Voltage>,
    /// Furthest a capacitor may sit from its amplifier, along the wire.
    pub capacitor_distance: Limit<Length>,
    /// Longest return conductor to the body.
    pub return_length: Limit<Length>,
    /// Longest stretch between two fixings.
    pub fixing_distance: Limit<Length>,
    /// Nearest a signal lead may run beside a supply conductor.
    pub signal_separation: Limit<Length>,
    /// Longest signal lead.
    pub signal_length: Limit<Length>,
    /// By how much a wire may be longer than its way.
    pub spare_length: Limit<Ratio>,
    /// Share of the power that a speaker lead may lose.
    pub lead_loss: Limit<Ratio>,
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
    /// Lowest corner of the high-pass of small speakers.
    pub small_high_pass: Limit<Frequency>,
    /// What filters may take from the tone that the gain is set with.
    pub tone_loss: Limit<Level>,
    /// Heaviest amplifier that tape or glue may hold.
    pub taped_mass: Limit<Mass>,
    /// How hard a crash pulls at gear.
    pub holding: Limit<Acceleration>,
    /// Free space that an amplifier needs around it.
    pub clearance: Limit<Length>,
    /// Heat of an amplifier that needs no free space.
    pub small_heat: Limit<Power>,
    /// Lowest quality factor of a closed box that sounds right.
    pub closed_box_q_least: Limit<Ratio>,
    /// Highest quality factor of a closed box that sounds right.
    pub closed_box_q_most: Limit<Ratio>,
    /// Fastest air in a vent.
    pub vent_speed: Limit<Speed>,
    /// Lowest corner of a vented box's low cut, as a share of its tuning.
    pub low_cut_below_tuning: Limit<Ratio>,
    /// Highest corner of a vented box's low cut, as a share of its tuning.
    pub low_cut_above_tuning: Limit<Ratio>,
    /// Highest resistance of the way back from an amplifier to the battery, as measured.
    pub ground_path: Limit<Resistance>,
    /// By how much a drop or a resistance may read above its prediction.
    pub over_prediction: Limit<Ratio>,
    /// By how much the charging voltage of a twelve-volt system may read beside the stated one; twice that of a
    /// twenty-four-volt system.
    pub charging_tolerance: Limit<Voltage>,
    /// By how much the test tone's voltage may read above its target, and a target stand above what is clean: what a meter is good
    /// for.
    pub gain_tolerance: Limit<Ratio>,
    /// By how much a coil may read beside its prediction with a meter that shows tenths of an ohm.
    pub coil_tolerance: Limit<Resistance>,
    /// The same as a share of the prediction, where that is more.
    pub coil_tolerance_share: Limit<Ratio>,
}

const INCH: f64 = 0.0254;
const MINUTE: f64 = 60.0;
const DAY: f64 = 86_400.0;
const CP: &str = "common practice, no published source";

impl Limits {
    /// All of them, in the order of the schema.
    pub fn all(&mut self) -> Vec<&mut dyn Setting> {
        let Self {
            fuse_distance,
            fuse_over_ampacity,
            fuse_loading,
            charge_fuse,
            fuse_selectivity,
            highest_voltage,
            supply_drop,
            return_drop,
            key_off_days,
            danger_waiver,
            key_off_current,
            listening_time,
            charge_drop,
            capacitor_distance,
            return_length,
            fixing_distance,
            signal_separation,
            signal_length,
            spare_length,
            lead_loss,
            strip_length,
            strip_tolerance,
            long_return,
            hot_insulation,
            subwoofer_low_pass,
            tweeter_high_pass,
            small_high_pass,
            tone_loss,
            taped_mass,
            holding,
            clearance,
            small_heat,
            closed_box_q_least,
            closed_box_q_most,
            vent_speed,
            low_cut_below_tuning,
            low_cut_above_tuning,
            ground_path,
            over_prediction,
            charging_tolerance,
            gain_tolerance,
            coil_tolerance,
            coil_tolerance_share,
        } = self;
        vec![
            fuse_distance,
            fuse_over_ampacity,
            fuse_loading,
            charge_fuse,
            fuse_selectivity,
            highest_voltage,
            supply_drop,
            return_drop,
            key_off_days,
            danger_waiver,
            key_off_current,
            listening_time,
            charge_drop,
            capacitor_distance,
            return_length,
            fixing_distance,
            signal_separation,
            signal_length,
            spare_length,
            lead_loss,
            strip_length,
            strip_tolerance,
            long_return,
            hot_insulation,
            subwoofer_low_pass,
            tweeter_high_pass,
            small_high_pass,
            tone_loss,
            taped_mass,
            holding,
            clearance,
            small_heat,
            closed_box_q_least,
            closed_box_q_most,
            vent_speed,
            low_cut_below_tuning,
            low_cut_above_tuning,
            ground_path,
            over_prediction,
            charging_tolerance,
            gain_tolerance,
            coil_tolerance,
            coil_tolerance_share,
        ]
    }
}

impl Default for Limits {
    /// What testlamp ships with, each with the values that can be right, in base units.
    #[allow(clippy::too_many_lines, reason = "a list")]
    fn default() -> Self {
        Self {
            fuse_distance: Limit::new(
                "fuse-distance",
                18.0 * INCH,
                (0.01, 2.0),
                "NEC 551.10(E) and 552.10(E) for road-going recreational vehicles (18 in); usual shop practice",
            ),
            fuse_over_ampacity: Limit::new(
                "fuse-over-ampacity",
                1.0,
                (0.5, 1.5),
                "33 CFR 183.425 table 5, held to 100 % (33 CFR 183.455(c)(1) would allow 150 %)",
            ),
            fuse_loading: Limit::new(
                "fuse-loading",
                0.8,
                (0.5, 1.0),
                "full output: bursts of bass last seconds; 80 % loading: common practice, no published source",
            ),
            charge_fuse: Limit::new("charge-fuse", 0.7, (0.3, 1.0), CP),
            fuse_selectivity: Limit::new(
                "fuse-selectivity",
                1.6,
                (1.0, 4.0),
                "common practice, no published source for vehicles",
            ),
            highest_voltage: Limit::new(
                "highest-voltage",
                16.0,
                (14.0, 32.0),
                "ISO 16750-2: every supply range of a 12 V system ends at 16 V, of a 24 V system at 32 V (from memory)",
            ),
            supply_drop: Limit::new(
                "supply-drop",
                0.5,
                (0.05, 2.0),
                "some 4 % of the system voltage; common practice, no published source",
            ),
            return_drop: Limit::new("return-drop", 0.2, (0.02, 1.0), CP),
            key_off_days: Limit::new(
                "key-off-days",
                21.0 * DAY,
                (DAY, 365.0 * DAY),
                "common practice, no published source (three weeks at the airport)",
            ),
            danger_waiver: Limit::new(
                "danger-waiver",
                366.0 * DAY,
                (DAY, 1098.0 * DAY),
                "common practice, no published source (a year, until the vehicle is looked over again)",
            ),
            key_off_current: Limit::new(
                "key-off-current",
                0.05,
                (0.001, 1.0),
                "common practice, no published source (makers' manuals name 25 to 50 mA at most)",
            ),
            listening_time: Limit::new("listening-time", 15.0 * MINUTE, (MINUTE, DAY), CP),
            charge_drop: Limit::new("charge-drop", 0.2, (0.02, 1.0), CP),
            capacitor_distance: Limit::new("capacitor-distance", 0.5, (0.05, 3.0), CP),
            return_length: Limit::new(
                "return-length",
                18.0 * INCH,
                (0.05, 3.0),
                "common practice, no published source (many shops accept 36 in)",
            ),
            fixing_distance: Limit::new(
                "fixing-distance",
                18.0 * INCH,
                (0.05, 2.0),
                "marine practice (46 CFR 183.340(b)(4) allows 24 in)",
            ),
            signal_separation: Limit::new("signal-separation", 18.0 * INCH, (0.01, 2.0), CP),
            signal_length: Limit::new("signal-length", 6.0, (0.5, 30.0), CP),
            spare_length: Limit::new("spare-length", 0.2, (0.0, 1.0), CP),
            lead_loss: Limit::new("lead-loss", 0.05, (0.001, 0.5), CP),
            strip_length: Limit::new(
                "strip-length",
                0.006,
                (0.002, 0.03),
                "common practice, no published source (about a quarter inch)",
            ),
            strip_tolerance: Limit::new("strip-tolerance", 0.002, (0.0, 0.01), CP),
            long_return: Limit::new("long-return", 1.5, (0.3, 10.0), CP),
            hot_insulation: Limit::new(
                "hot-insulation",
                85.0,
                (60.0, 250.0),
                "the lowest class of road vehicle cable, ISO 6722-1 class A (from memory)",
            ),
            subwoofer_low_pass: Limit::new("subwoofer-low-pass", 120.0, (40.0, 300.0), CP),
            tweeter_high_pass: Limit::new("tweeter-high-pass", 1000.0, (300.0, 10_000.0), CP),
            small_high_pass: Limit::new("small-high-pass", 50.0, (20.0, 200.0), CP),
            tone_loss: Limit::new(
                "tone-loss",
                1.0,
                (0.1, 6.0),
                "common practice, no published source (1 dB too much gain is a quarter more power)",
            ),
            taped_mass: Limit::new("taped-mass", 1.0, (0.0, 3.0), CP),
            holding: Limit::new(
                "holding",
                20.0,
                (8.0, 100.0),
                "common practice, no published source; a caution and no certification",
            ),
            clearance: Limit::new(
                "clearance",
                0.025,
                (0.0, 0.5),
                "common practice, no published source (makers ask for 25 to 50 mm)",
            ),
            small_heat: Limit::new("small-heat", 15.0, (0.0, 100.0), CP),
            closed_box_q_least: Limit::new("closed-box-q-least", 0.5, (0.3, 0.7), CP),
            closed_box_q_most: Limit::new("closed-box-q-most", 1.1, (0.7, 2.0), CP),
            vent_speed: Limit::new(
                "vent-speed",
                17.0,
                (3.0, 60.0),
                "5 % of the speed of sound; common practice, no published source",
            ),
            low_cut_below_tuning: Limit::new(
                "low-cut-below-tuning",
                std::f64::consts::FRAC_1_SQRT_2,
                (0.4, 1.0),
                "half an octave under the tuning; common practice, no published source",
            ),
            low_cut_above_tuning: Limit::new(
                "low-cut-above-tuning",
                std::f64::consts::SQRT_2,
                (1.0, 3.0),
                "half an octave above the tuning; common practice, no published source",
            ),
            ground_path: Limit::new("ground-path", 0.010, (0.000_5, 0.1), CP),
            over_prediction: Limit::new("over-prediction", 0.25, (0.0, 1.0), CP),
            charging_tolerance: Limit::new("charging-tolerance", 0.3, (0.0, 2.0), CP),
            gain_tolerance: Limit::new("gain-tolerance", 0.02, (0.0, 0.5), CP),
            coil_tolerance: Limit::new("coil-tolerance", 0.1, (0.0, 2.0), CP),
            coil_tolerance_share: Limit::new("coil-tolerance-share", 0.05, (0.0, 0.5), CP),
        }
    }
}
