//! A run worked by hand, held against a published wire table.

use testlamp::house::House;
use testlamp::plan;

use super::{SIZES, choose, table};

const COPPER: &str = include_str!("../published/awg_copper.tsv");

/// A run worked by hand: 480 W at 80 % behind 14.4 V that hold take 480 / 0.8 / 14.4 = 41.7 A; 6 m of feed and return may
/// lose 0.5 V, the return alone 0.2 V. The table gives ohm per 1000 ft of cold solid copper. The amplifier gets up to 0.5 V less and takes 3.6 %
/// more, heat and lay add up to 45 %, joints and fuse are stated as nearly nothing: the size is the first of which the
/// cold wire loses less than 0.5 V, unless heat forbids it; and the one before loses more even when cold.
#[test]
fn a_simple_run_is_sized_as_by_hand_with_a_published_wire_table() {
    const FEET: f64 = 1.0 / 304.8;
    for (metres, hottest) in [(3.0, "cabin-floor"), (6.0, "cabin-floor"), (9.0, "cabin-floor"), (4.0, "cargo")] {
        let text = format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: composite, alternator: {{rated: 300 A, at_idle: 300 A, voltage: 14.4 V, control: fixed, \
             cable_resistance: 0.05 mohm}}, factory_load: {{running: 20 A}}, battery: {{internal_resistance: 3 mohm, rest_voltage: 12.7 V}}}}\n\
             amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 0.05 A, onboard_fuses: [60 A], \
             operating_voltage: 9 V .. 16 V, rated: [{{load: 2 ohm, power: 480 W}}], terminals: {{power: 4/0 AWG}}}}}}\n\
             drivers: {{sub: {{kind: subwoofer, coils: [2 ohm]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1], coils: sub.1}}}}\n\
             wires:\n  main: {{from: battery.positive, to: amp.power, conductor: copper, stranding: solid, insulation: 105 C, length: {metres} m, \
             path: [{hottest}], joint_resistance: 0.001 mohm, fuse: {{form: bolt-down, distance: 20 cm, resistance: 0.01 mohm, \
             breaking_capacity: 10 kA}}}}\n  return: {{from: amp.ground, to: battery.negative, conductor: copper, stranding: solid, \
             insulation: 105 C, length: {metres} m, path: [{hottest}], joint_resistance: 0.001 mohm}}\n"
        );
        let chosen = choose(&plan::read(text), &House::default());
        assert_eq!(chosen.obstacles, Vec::<String>::new());
        let lost = |size: &str, heat: f64| {
            let rows = table::rows(COPPER);
            let name = size.trim_end_matches(" AWG");
            let row = rows.iter().find(|row| row.text("awg") == name).expect("in the table");
            480.0 / 0.8 / 14.4 * row.number("r20_ohm_per_kft") * FEET * metres * heat
        };
        let size = |wire: &str| chosen.reading.plan.wires[wire].size.expect("a size").to_string();
        let thinner = |size: &str| SIZES[SIZES.iter().position(|other| *other == size).expect("in the list") - 1];
        let (feed, back) = (size("main"), size("return"));
        assert!(lost(&feed, 1.0) + lost(&back, 1.0) <= 0.5, "{metres} m: {feed} and {back}");
        // Warm, the wire has 1 + 0.00393 (50 - 20) = 1.12 of its resistance, and the amplifier takes 3.6 % more.
        let warm = 1.12 * 1.036 * 1.04;
        let (there, back_again) = (lost(thinner(&feed), warm), lost(thinner(&back), warm));
        let is_too_thin = there + back_again > 0.5 || back_again > 0.2;
        assert!(is_too_thin, "{metres} m: {feed} and {back}, but a size less loses {there} V and {back_again} V");
    }
}
