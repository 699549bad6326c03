//! Ranges for facts that a plan does not state.

use schemars::JsonSchema;

use super::setting::{Setting, Usual};
use crate::quantity::{Current, Duration, Ratio, Resistance, Share, Slope, Temperature, Voltage};

const CP: &str = "common practice, no published source";
/// What hot places can be taken as, in C: no cooler than the law takes an engine space, however cool one was measured on a day.
pub(super) const HOT_AIR: (f64, f64) = (50.0, 150.0);
const PEUKERT: &str = "textbooks on batteries (from memory)";

/// All assumptions of a house, each with its source.
#[derive(Debug, Clone, Copy, PartialEq, JsonSchema)]
#[schemars(rename_all = "kebab-case", deny_unknown_fields, default)]
pub struct Assumptions {
    /// Efficiency of class D at rated power.
    pub efficiency_d: Usual<Share>,
    /// Efficiency of class AB at rated power.
    pub efficiency_ab: Usual<Share>,
    /// Efficiency of classes G and H at rated power.
    pub efficiency_gh: Usual<Share>,
    /// Share of full power that bass programme asks on average.
    pub duty_bass: Usual<Ratio>,
    /// Share of full power that full-range programme asks on average.
    pub duty_full_range: Usual<Ratio>,
    /// Current of a silent amplifier.
    pub idle_current: Usual<Current>,
    /// Current of a processor that is on.
    pub processor_current: Usual<Current>,
    /// Current of a converter that is on and not passive.
    pub converter_current: Usual<Current>,
    /// What the turn-on terminal of gear draws.
    pub remote_current: Usual<Current>,
    /// What the remote output of a radio gives.
    pub radio_output: Usual<Current>,
    /// What the coil of a relay draws.
    pub relay_coil: Usual<Current>,
    /// What an amplifier's output resists.
    pub output: Usual<Resistance>,
    /// Slopes of filters: its two ends are tried.
    pub filter_slopes: Usual<Slope>,
    /// DC resistance of a voice coil as a share of its nominal impedance.
    pub coil_dc: Usual<Ratio>,
    /// Resistance of one joint.
    pub joint: Usual<Resistance>,
    /// Drop across a fuse at its rated current.
    pub fuse_drop: Usual<Voltage>,
    /// Drop across a circuit breaker at its rated current.
    pub breaker_drop: Usual<Voltage>,
    /// Longest time in which a circuit breaker opens at six times its rating.
    pub breaker_opening: Usual<Duration>,
    /// What a circuit breaker loses of its rating for each degree above 25 C.
    pub breaker_heat: Usual<Share>,
    /// Steel body, from the battery's strap to the rear floor.
    pub body: Usual<Resistance>,
    /// Factory charge cable and straps.
    pub charge_cable: Usual<Resistance>,
    /// What a charger between two batteries gives of the power that it takes.
    pub charger_efficiency: Usual<Share>,
    /// Closed isolator.
    pub isolator: Usual<Resistance>,
    /// Internal resistance of a 12 V battery times its cold-cranking current.
    pub battery_volts_over_cranking: Usual<Voltage>,
    /// Internal resistance of a 12 V lead-acid battery times its capacity: what it loses at a current of as many ampere as it
    /// has ampere-hours.
    pub battery_volts_at_capacity: Usual<Voltage>,
    /// The same of a 12 V lithium iron phosphate battery, with its own protection.
    pub lithium_volts_at_capacity: Usual<Voltage>,
    /// Internal resistance of a 12 V lead-acid battery of which nothing is known.
    pub battery: Usual<Resistance>,
    /// Internal resistance of a 12 V lithium iron phosphate battery of which nothing is known.
    pub lithium: Usual<Resistance>,
    /// The most that a lead-acid battery may be charged with, in ampere for each ampere-hour.
    pub charge_lead_acid: Usual<Ratio>,
    /// The most that a lithium iron phosphate battery may be charged with, in ampere for each ampere-hour.
    pub charge_lithium: Usual<Ratio>,
    /// Voltage at rest, charged, of a 12 V lead-acid battery.
    pub rest_lead_acid: Usual<Voltage>,
    /// Voltage at rest, charged, of a 12 V lithium iron phosphate battery.
    pub rest_lithium: Usual<Voltage>,
    /// Voltage that a fixed regulator holds (12 V system).
    pub charging_fixed: Usual<Voltage>,
    /// Voltage that an engine control unit lets stand (12 V system).
    pub charging_ecu: Usual<Voltage>,
    /// Rated current of an alternator of which nothing is known.
    pub alternator: Usual<Current>,
    /// Output at hot idle as a share of the rated output.
    pub alternator_idle: Usual<Ratio>,
    /// The vehicle's own draw, engine running.
    pub running: Usual<Current>,
    /// The vehicle's own draw, asleep.
    pub key_off: Usual<Current>,
    /// What switched-off gear still draws.
    pub off_current: Usual<Current>,
    /// What a capacitor draws with the vehicle asleep: it leaks, and many have a meter.
    pub capacitor_off_current: Usual<Current>,
    /// What a step-down converter draws with nothing switched on behind it.
    pub step_down_off_current: Usual<Current>,
    /// Equivalent series resistance of a capacitor.
    pub capacitor_resistance: Usual<Resistance>,
    /// The share of its capacity that a battery may lose before the engine may not crank.
    pub usable_charge: Usual<Share>,
    /// Peukert's exponent of a lead-acid battery with liquid electrolyte.
    pub peukert_flooded: Usual<Ratio>,
    /// Peukert's exponent of a lead-acid battery with glass mat or gel.
    pub peukert_sealed: Usual<Ratio>,
    /// Peukert's exponent of a lithium iron phosphate battery.
    pub peukert_lithium: Usual<Ratio>,
    /// What insulation is made for.
    pub insulation: Usual<Temperature>,
    /// Engine bay, underbody and other hot places.
    pub hot_zone: Usual<Temperature>,
    /// Everywhere else.
    pub zone: Usual<Temperature>,
    /// As one of how many conductors tied together a wire under carpet or in conduit gives off its heat.
    pub covered: Usual<Ratio>,
    /// Cable bought beyond what is laid: slack, trimming, a spoilt end.
    pub cable_waste: Usual<Share>,
}

impl Assumptions {
    /// All of them, in the order of the schema.
    #[allow(clippy::too_many_lines, reason = "one line for each assumption")]
    pub fn all(&mut self) -> Vec<&mut dyn Setting> {
        let Self {
            efficiency_d,
            efficiency_ab,
            efficiency_gh,
            duty_bass,
            duty_full_range,
            idle_current,
            processor_current,
            converter_current,
            remote_current,
            radio_output,
            relay_coil,
            output,
            filter_slopes,
            coil_dc,
            joint,
            fuse_drop,
            breaker_drop,
            breaker_opening,
            breaker_heat,
            body,
            charge_cable,
            charger_efficiency,
            isolator,
            battery_volts_over_cranking,
            battery_volts_at_capacity,
            lithium_volts_at_capacity,
            battery,
            lithium,
            charge_lead_acid,
            charge_lithium,
            rest_lead_acid,
            rest_lithium,
            charging_fixed,
            charging_ecu,
            alternator,
            alternator_idle,
            running,
            key_off,
            off_current,
            capacitor_off_current,
            step_down_off_current,
            capacitor_resistance,
            usable_charge,
            peukert_flooded,
            peukert_sealed,
            peukert_lithium,
            insulation,
            hot_zone,
            zone,
            covered,
            cable_waste,
        } = self;
        vec![
            efficiency_d,
            efficiency_ab,
            efficiency_gh,
            duty_bass,
            duty_full_range,
            idle_current,
            processor_current,
            converter_current,
            remote_current,
            radio_output,
            relay_coil,
            output,
            filter_slopes,
            coil_dc,
            joint,
            fuse_drop,
            breaker_drop,
            breaker_opening,
            breaker_heat,
            body,
            charge_cable,
            charger_efficiency,
            isolator,
            battery_volts_over_cranking,
            battery_volts_at_capacity,
            lithium_volts_at_capacity,
            battery,
            lithium,
            charge_lead_acid,
            charge_lithium,
            rest_lead_acid,
            rest_lithium,
            charging_fixed,
            charging_ecu,
            alternator,
            alternator_idle,
            running,
            key_off,
            off_current,
            capacitor_off_current,
            step_down_off_current,
            capacitor_resistance,
            usable_charge,
            peukert_flooded,
            peukert_sealed,
            peukert_lithium,
            insulation,
            hot_zone,
            zone,
            covered,
            cable_waste,
        ]
    }
}

impl Default for Assumptions {
    /// What testlamp ships with, each with the values that can be right, in base units.
    #[allow(clippy::too_many_lines, reason = "one line for each assumption")]
    fn default() -> Self {
        Self {
            efficiency_d: Usual::new("efficiency-d", (75.0, 88.0), (30.0, 99.0), CP),
            efficiency_ab: Usual::new("efficiency-ab", (50.0, 65.0), (20.0, 80.0), CP),
            efficiency_gh: Usual::new("efficiency-gh", (60.0, 75.0), (25.0, 90.0), CP),
            duty_bass: Usual::new("duty-bass", (1.0 / 3.0, 1.0 / 3.0), (0.02, 1.0), CP),
            duty_full_range: Usual::new("duty-full-range", (1.0 / 8.0, 1.0 / 8.0), (0.02, 1.0), CP),
            idle_current: Usual::new("idle-current", (0.3, 1.5), (0.0, 10.0), CP),
            processor_current: Usual::new("processor-current", (0.2, 1.5), (0.0, 10.0), CP),
            converter_current: Usual::new("converter-current", (0.06, 0.2), (0.0, 5.0), CP),
            remote_current: Usual::new("remote-current", (0.005, 0.03), (0.0, 1.0), CP),
            radio_output: Usual::new(
                "radio-output",
                (0.15, 0.3),
                (0.01, 5.0),
                "reference texts on ISO 10487 connectors name 150 to 300 mA for the remote output",
            ),
            relay_coil: Usual::new("relay-coil", (0.1, 0.2), (0.01, 1.0), CP),
            output: Usual::new(
                "output",
                (0.004, 0.04),
                (0.0, 1.0),
                "Lessons In Electric Circuits III: damping factors are usually 100 to 1000, here taken for 4 ohm",
            ),
            filter_slopes: Usual::new("filter-slopes", (12.0, 24.0), (6.0, 48.0), CP),
            coil_dc: Usual::new(
                "coil-dc",
                (0.7, 0.95),
                (0.5, 1.2),
                "common practice, no published source (0.70 to 0.95 of nominal); IEC 60268-5 lets the impedance fall to 80 % of nominal, and the DC resistance lies under that (from memory)",
            ),
            joint: Usual::new("joint", (0.000_05, 0.000_25), (0.000_001, 0.01), CP),
            fuse_drop: Usual::new("fuse-drop", (0.06, 0.11), (0.01, 0.5), CP),
            breaker_drop: Usual::new("breaker-drop", (0.08, 0.25), (0.01, 1.0), CP),
            breaker_opening: Usual::new("breaker-opening", (0.5, 5.0), (0.01, 60.0), CP),
            breaker_heat: Usual::new(
                "breaker-heat",
                (0.3, 0.8),
                (0.0, 2.0),
                "common practice, no published source; what opens by its own heat opens earlier in a hot place",
            ),
            body: Usual::new("body", (0.000_5, 0.002), (0.000_01, 0.05), CP),
            charge_cable: Usual::new("charge-cable", (0.000_5, 0.002), (0.000_01, 0.05), CP),
            charger_efficiency: Usual::new("charger-efficiency", (85.0, 95.0), (40.0, 100.0), CP),
            isolator: Usual::new("isolator", (0.000_2, 0.001), (0.000_01, 0.05), CP),
            battery_volts_over_cranking: Usual::new(
                "battery-volts-over-cranking",
                (2.0, 5.4),
                (0.5, 8.0),
                "upper end: SAE J537 test, 12.6 V to 7.2 V at the cold-cranking current; lower end: common practice",
            ),
            battery_volts_at_capacity: Usual::new(
                "battery-volts-at-capacity",
                (0.15, 0.8),
                (0.02, 3.0),
                "common practice, no published source: starting batteries crank with 6 to 13 A for each ampere-hour, and have 2.0 to 5.4 V over that",
            ),
            lithium_volts_at_capacity: Usual::new("lithium-volts-at-capacity", (0.1, 1.0), (0.02, 5.0), CP),
            battery: Usual::new("battery", (0.001, 0.02), (0.0005, 0.1), CP),
            lithium: Usual::new("lithium", (0.0004, 0.03), (0.0001, 0.1), CP),
            charge_lead_acid: Usual::new("charge-lead-acid", (0.1, 0.3), (0.02, 2.0), CP),
            charge_lithium: Usual::new("charge-lithium", (0.5, 1.0), (0.1, 5.0), CP),
            rest_lead_acid: Usual::new(
                "rest-lead-acid",
                (12.5, 12.8),
                (11.5, 13.5),
                "state-of-charge tables of battery makers (12.65 V full)",
            ),
            rest_lithium: Usual::new("rest-lithium", (13.2, 13.4), (12.5, 14.0), CP),
            charging_fixed: Usual::new("charging-fixed", (13.8, 14.5), (12.5, 16.0), CP),
            charging_ecu: Usual::new("charging-ecu", (12.2, 15.0), (11.5, 16.0), CP),
            alternator: Usual::new("alternator", (70.0, 150.0), (20.0, 1000.0), CP),
            alternator_idle: Usual::new("alternator-idle", (0.4, 0.65), (0.1, 1.0), CP),
            running: Usual::new("running", (25.0, 60.0), (1.0, 300.0), CP),
            key_off: Usual::new("key-off", (0.01, 0.05), (0.0, 1.0), CP),
            off_current: Usual::new("off-current", (0.0, 0.005), (0.0, 1.0), CP),
            capacitor_off_current: Usual::new("capacitor-off-current", (0.001, 0.05), (0.0, 1.0), CP),
            step_down_off_current: Usual::new("step-down-off-current", (0.005, 0.03), (0.0, 1.0), CP),
            capacitor_resistance: Usual::new("capacitor-resistance", (0.001, 0.01), (0.000_1, 0.1), CP),
            usable_charge: Usual::new(
                "usable-charge",
                (50.0, 50.0),
                (5.0, 100.0),
                "common practice, no published source (half its charge)",
            ),
            peukert_flooded: Usual::new("peukert-flooded", (1.1, 1.3), (1.0, 2.0), PEUKERT),
            peukert_sealed: Usual::new("peukert-sealed", (1.05, 1.15), (1.0, 2.0), PEUKERT),
            peukert_lithium: Usual::new("peukert-lithium", (1.0, 1.05), (1.0, 2.0), PEUKERT),
            insulation: Usual::new("insulation", (60.0, 105.0), (60.0, 250.0), CP),
            hot_zone: Usual::new(
                "hot-zone",
                (50.0, 50.0),
                HOT_AIR,
                "33 CFR 183.425 note 1: engine spaces are taken as 50 C",
            ),
            covered: Usual::new(
                "covered",
                (3.0, 3.0),
                (1.0, 24.0),
                "common practice, no published source: as one of three, which are x 0.7 by 33 CFR 183.425 table 5, note 2",
            ),
            zone: Usual::new("zone", (30.0, 30.0), (20.0, 80.0), "33 CFR 183.425: the table holds for 30 C"),
            cable_waste: Usual::new("cable-waste", (10.0, 10.0), (0.0, 100.0), CP),
        }
    }
}
