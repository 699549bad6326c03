//! Between which values a quantity is no slip: wide enough for any vehicle from a city car to a coach.
//!
//! All ranges are common practice without a published source, in the base unit of their dimension (m, A, V, ohm, W, C,
//! Hz, L, kg, s, Ah, F, degrees, dB, dB/oct, per cent). `*` stands for any one name or number.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use crate::solve::{Place, from_the_end};

/// Patterns of places with the range in which a value there makes sense. The first that fits counts.
pub const RANGES: &[(&str, f64, f64)] = &[
    ("vehicle.distances.*", 0.05, 10.0),
    ("vehicle.body_resistance", 0.000_05, 0.1),
    ("vehicle.factory_load.running", 1.0, 200.0),
    ("vehicle.factory_load.accessory", 0.1, 100.0),
    ("vehicle.factory_load.key_off", 0.000_5, 2.0),
    ("vehicle.alternator.rated", 20.0, 1000.0),
    ("vehicle.alternator.at_idle", 5.0, 800.0),
    ("vehicle.alternator.voltage", 11.0, 32.0),
    ("vehicle.alternator.cable_resistance", 0.000_05, 0.1),
    ("vehicle.battery.capacity", 5.0, 400.0),
    ("vehicle.battery.cold_cranking", 50.0, 2000.0),
    ("vehicle.battery.charge_current", 0.5, 1000.0),
    ("batteries.*.charge_current", 0.2, 1000.0),
    ("vehicle.battery.internal_resistance", 0.000_5, 0.1),
    ("vehicle.battery.rest_voltage", 9.0, 30.0),
    ("batteries.*.capacity", 1.0, 1000.0),
    ("batteries.*.cold_cranking", 50.0, 2000.0),
    ("batteries.*.internal_resistance", 0.000_2, 0.1),
    ("batteries.*.rest_voltage", 9.0, 30.0),
    ("batteries.*.mass", 0.5, 200.0),
    ("vehicle.battery.mass", 0.5, 200.0),
    ("amplifiers.*.rated_at", 9.0, 32.0),
    ("amplifiers.*.minimum_load", 0.25, 16.0),
    ("amplifiers.*.bridged.minimum_load", 0.25, 32.0),
    ("amplifiers.*.rated.*.load", 0.25, 32.0),
    ("amplifiers.*.rated.*.power", 1.0, 20_000.0),
    ("amplifiers.*.bridged.rated.*.load", 0.25, 32.0),
    ("amplifiers.*.bridged.rated.*.power", 1.0, 20_000.0),
    ("amplifiers.*.sections.*.minimum_load", 0.25, 16.0),
    ("amplifiers.*.sections.*.bridged.minimum_load", 0.25, 32.0),
    ("amplifiers.*.sections.*.rated.*.load", 0.25, 32.0),
    ("amplifiers.*.sections.*.rated.*.power", 1.0, 20_000.0),
    ("amplifiers.*.sections.*.bridged.rated.*.load", 0.25, 32.0),
    ("amplifiers.*.sections.*.bridged.rated.*.power", 1.0, 20_000.0),
    ("amplifiers.*.sections.*.efficiency", 10.0, 98.0),
    ("amplifiers.*.operating_voltage", 5.0, 36.0),
    ("amplifiers.*.efficiency", 10.0, 98.0),
    ("amplifiers.*.idle_current", 0.01, 10.0),
    ("amplifiers.*.off_current", 0.0, 0.5),
    ("amplifiers.*.onboard_fuses.*", 1.0, 500.0),
    ("amplifiers.*.maximum_fuse", 1.0, 1000.0),
    ("amplifiers.*.terminals.power", 0.3, 120.0),
    ("amplifiers.*.terminals.speaker", 0.3, 30.0),
    ("amplifiers.*.terminals.strip", 0.002, 0.04),
    ("amplifiers.*.inputs.line", 0.02, 20.0),
    ("amplifiers.*.inputs.speaker_level", 0.05, 60.0),
    ("amplifiers.*.remote_current", 0.000_1, 2.0),
    ("amplifiers.*.on_delay", 0.0, 30.0),
    ("amplifiers.*.mass", 0.1, 40.0),
    ("drivers.*.size", 0.01, 0.65),
    ("drivers.*.rms", 1.0, 10_000.0),
    ("drivers.*.coils.*", 0.25, 32.0),
    ("drivers.*.dc_resistance.*", 0.1, 32.0),
    ("drivers.*.box_volume", 0.1, 500.0),
    ("drivers.*.resonance", 10.0, 5000.0),
    ("drivers.*.compliance_volume", 0.01, 1000.0),
    ("drivers.*.displacement", 0.01, 30.0),
    ("enclosures.*.net_volume", 0.1, 1000.0),
    ("enclosures.*.gross_volume", 0.1, 1000.0),
    ("enclosures.*.bracing", 0.0, 100.0),
    ("enclosures.*.vent.*", 0.005, 2.0),
    ("enclosures.*.mass", 0.5, 300.0),
    ("sources.*.level", 0.1, 60.0),
    ("sources.*.inputs.line", 0.02, 20.0),
    ("sources.*.inputs.speaker_level", 0.05, 60.0),
    ("sources.*.power", 0.5, 1000.0),
    ("sources.*.speaker_load", 0.5, 32.0),
    ("sources.*.operating_voltage", 5.0, 36.0),
    ("sources.*.current", 0.01, 10.0),
    ("sources.*.off_current", 0.0, 0.5),
    ("sources.*.remote_current", 0.000_1, 2.0),
    ("sources.*.on_delay", 0.0, 120.0),
    ("converters.*.input_maximum", 0.5, 100.0),
    ("converters.*.output_maximum", 0.1, 20.0),
    ("converters.*.turn_on_current", 0.001, 10.0),
    ("converters.*.operating_voltage", 5.0, 36.0),
    ("converters.*.current", 0.001, 5.0),
    ("converters.*.off_current", 0.0, 0.5),
    ("converters.*.remote_current", 0.000_1, 2.0),
    ("isolators.*.rated", 5.0, 1000.0),
    ("isolators.*.efficiency", 40.0, 100.0),
    ("isolators.*.output_voltage", 11.0, 16.0),
    ("isolators.*.off_current", 0.0, 0.5),
    ("isolators.*.resistance", 0.000_01, 0.05),
    ("blocks.*.takes", 0.3, 240.0),
    ("blocks.*.outputs.*.takes", 0.3, 240.0),
    ("blocks.*.strip", 0.002, 0.04),
    ("isolators.*.takes", 0.3, 240.0),
    ("capacitors.*.capacitance", 0.01, 500.0),
    ("capacitors.*.voltage", 10.0, 100.0),
    ("capacitors.*.resistance", 0.000_1, 0.1),
    ("capacitors.*.off_current", 0.0, 0.5),
    ("capacitors.*.takes", 0.3, 240.0),
    ("capacitors.*.strip", 0.002, 0.04),
    ("capacitors.*.mass", 0.05, 20.0),
    ("wires.*.size", 0.3, 240.0),
    ("wires.*.insulation", 50.0, 260.0),
    ("wires.*.length", 0.02, 20.0),
    ("wires.*.fixed_every", 0.02, 5.0),
    ("wires.*.joint_resistance", 0.000_001, 0.1),
    ("wires.*.ends.*.stud", 0.003, 0.016),
    ("wires.*.ends.*.takes", 0.3, 240.0),
    ("wires.*.ends.*.strip", 0.002, 0.04),
    ("*.fuse.rating", 0.5, 1000.0),
    ("*.fuse.distance", 0.0, 20.0),
    ("*.fuse.voltage", 5.0, 1000.0),
    ("*.fuse.breaking_capacity", 50.0, 200_000.0),
    ("*.fuse.resistance", 0.000_01, 0.5),
    ("*.fuse.opening_time", 0.005, 60.0),
    ("*.fuse.carries", 0.5, 1000.0),
    ("*.fuse.holder.takes", 0.3, 240.0),
    ("*.fuse.holder.rated", 1.0, 1000.0),
    ("grounds.*.joint_resistance", 0.000_001, 1.0),
    ("turn_on.*.from.fuse", 0.5, 100.0),
    ("turn_on.*.from.spare", 0.0, 60.0),
    ("turn_on.*.from.delay", 0.0, 120.0),
    ("turn_on.*.fuse", 0.1, 30.0),
    ("turn_on.*.relay.coil_current", 0.01, 2.0),
    ("turn_on.*.relay.contact_fuse", 0.5, 100.0),
    ("turn_on.*.size", 0.1, 10.0),
    ("signals.*.lead.length", 0.05, 20.0),
    ("signals.*.lead.separation", 0.0, 3.0),
    ("signals.*.lead.crosses_at", 0.0, 180.0),
    ("loads.*.lead.size", 0.2, 30.0),
    ("loads.*.lead.length", 0.05, 20.0),
    ("mounts.*.clearance", 0.0, 1.0),
    ("settings.*.gain_target", 0.1, 300.0),
    ("settings.*.tone", 10.0, 20_000.0),
    ("settings.*.low_pass", 20.0, 20_000.0),
    ("settings.*.high_pass", 10.0, 20_000.0),
    ("settings.*.low_cut", 5.0, 100.0),
    ("settings.*.low_pass_slope", 6.0, 48.0),
    ("settings.*.high_pass_slope", 6.0, 48.0),
    ("settings.*.low_cut_slope", 6.0, 48.0),
    ("settings.*.boost", -30.0, 30.0),
    ("measured.wires.*.drop", 0.0, 15.0),
    ("measured.wires.*.at", 0.1, 1000.0),
    ("measured.wires.*.fuse", 0.5, 1000.0),
    ("measured.wires.*.size", 0.3, 240.0),
    ("measured.grounds.*", 0.000_001, 10.0),
    ("measured.loads.*.dc_resistance", 0.1, 100.0),
    ("measured.key_off", 0.000_1, 20.0),
    ("measured.charging", 8.0, 32.0),
    ("measured.settings.*.gain", 0.05, 300.0),
];

/// Quantities under whose range nothing lies but nought itself, which is true of some vehicles: a dynamo gives no current at
/// idle, and behind a master switch nothing is drawn.
const NOUGHT: [&str; 4] = [
    "vehicle.alternator.at_idle",
    "vehicle.factory_load.key_off",
    "vehicle.factory_load.accessory",
    "measured.key_off",
];

/// Whether nought can be true at a place, however far it lies from what is usual.
pub fn can_be_nought(place: &Place) -> bool {
    NOUGHT.contains(&place.path().as_str())
}

/// The range for a place. A pattern that begins with `*.` fits every place that ends with the rest of it.
pub fn range(place: &Place) -> Option<(f64, f64)> {
    let parts: Vec<&[u8]> = place.parts_from_the_end().collect();
    let own = BY_KEY.get(parts.first()?).into_iter().flatten();
    let mut patterns = own.chain(BY_KEY.get(b"*".as_slice()).into_iter().flatten());
    patterns.find(|pattern| pattern.fits(&parts)).map(|pattern| pattern.range)
}

/// The patterns by the key that they end with.
static BY_KEY: LazyLock<BTreeMap<&[u8], Vec<Pattern>>> = LazyLock::new(|| {
    let mut by_key: BTreeMap<&[u8], Vec<Pattern>> = BTreeMap::new();
    for (pattern, low, high) in RANGES {
        let pattern = Pattern { range: (*low, *high), ..Pattern::new(pattern) };
        by_key.entry(pattern.parts[0]).or_default().push(pattern);
    }
    by_key
});

/// A pattern taken apart. Compared from the end, where most patterns differ.
struct Pattern<'a> {
    parts: Vec<&'a [u8]>,
    /// Whether it fits places that begin in any way.
    anywhere: bool,
    range: (f64, f64),
}

impl<'a> Pattern<'a> {
    fn new(pattern: &'a str) -> Self {
        let (wanted, anywhere) = pattern.strip_prefix("*.").map_or((pattern, false), |rest| (rest, true));
        Self { parts: from_the_end(wanted).collect(), anywhere, range: (0.0, 0.0) }
    }

    /// Whether it fits the parts of a place, the last first.
    fn fits(&self, parts: &[&[u8]]) -> bool {
        let is_as_long = if self.anywhere { parts.len() >= self.parts.len() } else { parts.len() == self.parts.len() };
        // The fuse at the far end of a wire is a fuse like any other.
        let one = |want: &[u8], is: &[u8]| want == b"*" || want == is || (want == b"fuse" && is == b"far_fuse");
        is_as_long && self.parts.iter().zip(parts).all(|(want, is)| one(want, is))
    }
}

/// Whether a pattern fits a place.
#[cfg(test)]
pub fn fits(pattern: &str, path: &str) -> bool {
    Pattern::new(pattern).fits(&from_the_end(path).collect::<Vec<_>>())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn range(path: &str) -> Option<(f64, f64)> {
        super::range(&Place::of(path))
    }

    #[test]
    fn a_place_has_the_range_of_its_own_pattern() {
        assert_eq!(range("batteries.aux.capacity"), Some((1.0, 1000.0)));
        assert_eq!(range("vehicle.battery.capacity"), Some((5.0, 400.0)));
        assert_eq!(range("amplifiers.amp.capacity"), None);
        assert_eq!(range("wires.main.far_fuse.rating"), range("wires.main.fuse.rating"));
    }

    #[test]
    fn a_pattern_fits_whole_places_and_with_a_star_before_it_their_ends() {
        assert!(fits("wires.*.length", "wires.main.length"));
        assert!(!fits("wires.*.length", "signals.left.wires.main.length"));
        assert!(!fits("wires.*.length", "length"));
        assert!(fits("*.fuse.rating", "wires.main.fuse.rating") && fits("*.fuse.rating", "fuse.rating"));
        assert!(fits("*.fuse.rating", "wires.main.far_fuse.rating"));
        assert!(!fits("*.fuse.rating", "rating") && !fits("*.fuse.rating", "blocks.split.rating"));
        assert!(!fits("*.lead.rating", "wires.main.far_fuse.rating"));
    }
}
