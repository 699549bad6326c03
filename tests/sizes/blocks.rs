//! Amplifiers on one block: made up, and held to trying every choice.

use proptest::prelude::*;
use testlamp::house::House;
use testlamp::plan::{self, Reading};
use testlamp::quantity::Gauge;

use super::{SIZES, cases, choose, thinner, unheld_in};

/// An amplifier takes no more than the fuses on its case let through, so its own fuse need not carry more (FUSE-04).
#[test]
fn a_fuse_is_no_larger_than_those_on_the_case_ask() {
    let rating = |own: &str| {
        let text =
            block(4.0, &[(600.0, 0.8, 0.5)], false).replace("onboard_fuses: [40 A]", &format!("onboard_fuses: {own}"));
        let chosen = choose(&plan::read(text), &House::default());
        assert_eq!(chosen.obstacles, Vec::<String>::new());
        assert_eq!(unheld_in(&chosen.reading, &House::default()), Vec::<String>::new());
        let fuse = chosen.reading.plan.blocks["block"].outputs["o0"].fuse.clone();
        fuse.and_then(|fuse| fuse.rating).expect("a rating").to_string()
    };
    assert_eq!((rating("[60 A]"), rating("[40 A]")), ("60 A".to_owned(), "40 A".to_owned()));
}

/// An amplifier's power in W, the lengths of its feed and its return in m.
pub type Branch = (f64, f64, f64);

/// Amplifiers on one block, behind a cable of this length in m.
pub fn block(main: f64, branches: &[Branch], capped: bool) -> String {
    let each = |line: &dyn Fn(usize, &Branch) -> String| -> String {
        branches.iter().enumerate().map(|(at, branch)| line(at, branch)).collect()
    };
    let takes = if capped { "4 AWG" } else { "1/0 AWG" };
    let amplifiers = each(&|at, (power, ..)| {
        format!(
            "  a{at}: {{class: D, channels: 1, efficiency: 82 %, idle_current: 1 A, onboard_fuses: [40 A], operating_voltage: 9 V .. 16 V, \
             rated: [{{load: 2 ohm, power: {power:.0} W}}], terminals: {{power: {takes}}}}}\n"
        )
    });
    let drivers = each(&|at, _| format!("  d{at}: {{kind: subwoofer, coils: [2 ohm]}}\n"));
    let loads = each(&|at, _| format!("  l{at}: {{amplifier: a{at}, outputs: [1], coils: d{at}.1}}\n"));
    let outputs = each(&|at, _| format!("      o{at}: {{takes: 1/0 AWG, fuse: {{form: bolt-down, voltage: 32 V}}}}\n"));
    let copper = "conductor: copper, insulation: 105 C, joint_resistance: 0.05 mohm";
    let wires = each(&|at, (_, feed, back)| {
        format!(
            "  feed{at}: {{from: block.o{at}, to: a{at}.power, {copper}, length: {feed:.2} m, path: [cargo]}}\n  \
             back{at}: {{from: a{at}.ground, to: grounds.rail, {copper}, length: {back:.2} m, path: [cargo]}} # own return\n"
        )
    });
    format!(
        "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 0.2 mohm, alternator: {{rated: 300 A, at_idle: 200 A, \
         voltage: 14.4 V, control: fixed, cable_resistance: 0.2 mohm}}, factory_load: {{running: 40 A}}, \
         battery: {{internal_resistance: 3 mohm, rest_voltage: 12.7 V}}}}\namplifiers:\n{amplifiers}drivers:\n{drivers}loads:\n{loads}\
         blocks:\n  block:\n    location: cargo\n    takes: 4/0 AWG\n    outputs:\n{outputs}\
         grounds: {{rail: {{on: body-structure, surface: bare-metal, joint_resistance: 0.05 mohm}}}}\nwires:\n  \
         main: {{from: battery.positive, to: block.in, {copper}, length: {main:.2} m, path: [engine-bay, cargo]}} # the long one\n{wires}"
    )
}

proptest! {
    #![proptest_config(cases::cases(24))]

    /// Whatever is asked: every rule holds, and holds no more with any wire one size smaller; or why not is told and nothing changes.
    #[test]
    fn sizes_hold_or_it_is_told(
        main in 1.0_f64..7.0,
        branches in proptest::collection::vec((100.0_f64..900.0, 0.2_f64..2.0, 0.2_f64..1.0), 1..4),
        capped in any::<bool>(),
    ) {
        let house = House::default();
        let draft = plan::read(block(main, &branches, capped));
        prop_assert!(draft.misreads.is_empty(), "{:?}", draft.misreads);
        let chosen = choose(&draft, &house);
        if chosen.obstacles.is_empty() {
            let left: Vec<String> = unheld_in(&chosen.reading, &house);
            let is_told = |check: &String| {
                let mut words = check.split(' ');
                let start = format!("{} on {}", words.next().unwrap_or_default(), words.next().unwrap_or_default());
                chosen.left.iter().any(|told| told.starts_with(&start))
            };
            prop_assert!(left.iter().all(is_told), "{left:?} {:?}", chosen.left);
            prop_assert!(chosen.reading.text.contains("# the long one") && chosen.reading.text.contains("# own return"));
            prop_assert_eq!(&choose(&chosen.reading, &house).reading.text, &chosen.reading.text);
            for wire in chosen.reading.plan.wires.keys().filter(|_| left.is_empty()) {
                let thinner = thinner(&chosen.reading, wire).expect("no wire here is as thin as it gets");
                prop_assert!(!unheld_in(&thinner, &house).is_empty(), "{wire} may be thinner in\n{}", chosen.reading.text);
            }
        } else {
            prop_assert_eq!(chosen.reading.text, draft.text);
        }
    }
}

#[test]
fn the_least_copper_of_one_amplifier_behind_a_block_is_that_of_trying_every_choice() {
    let house = House::default();
    let draft = plan::read(block(4.5, &[(400.0, 0.8, 0.5)], false));
    let chosen = choose(&draft, &house);
    let copper = |reading: &Reading| -> f64 {
        let wires = reading.plan.wires.values();
        wires.map(|wire| wire.size.expect("a size").square_millimetres() * wire.length.expect("a length").base()).sum()
    };
    let least = copper(&chosen.reading);
    for main in &SIZES[6..13] {
        for both in &SIZES[4..12] {
            let mut other = chosen.reading.clone();
            for (wire, size) in [("main", main), ("feed0", both), ("back0", both)] {
                other.plan.wires.get_mut(wire).expect("the wire").size = Gauge::read(size).ok();
            }
            if copper(&other) < least * (1.0 - 1e-9) {
                assert_ne!(unheld_in(&other, &house), Vec::<String>::new(), "{main}, {both} is less copper and holds");
            }
        }
    }
}
