//! Published worked examples.
//!
//! Sources, read in the named books unless marked:
//! - OCP: `OpenStax` College Physics 2e (9 July 2026). OUP: `OpenStax` University Physics volume 2 (11 June 2026).
//! - LIEC: Lessons In Electric Circuits, 5th edition, volume I (direct current).
//!
//! Tolerances are half a unit of the last digit printed there. An ideal source of a book is a battery of 1 microohm.

use super::*;

/// A network of resistors on one source at nodes 1 and 0.
fn resistors(volt: f64, inner: f64, edges: &[(usize, usize, f64)]) -> Solution {
    works(&Network {
        edges: edges.iter().map(|&(a, b, ohm)| edge(a, b, ohm)).collect(),
        batteries: vec![battery(1, 0, volt, inner)],
        ..Network::default()
    })
}

/// The power lost in an edge of so many ohms.
fn lost(found: &Solution, edge: usize, ohm: f64) -> f64 {
    found.current(edge).middle().powi(2) * ohm
}

/// OCP, resistors in series: 12.0 V on 1, 6 and 13 ohm.
#[test]
fn series() {
    let found = resistors(12.0, 0.0, &[(1, 2, 1.0), (2, 3, 6.0), (3, 0, 13.0)]);
    near(found.battery_current(0).middle(), 0.600, 0.0005);
    for (edge, ohm, drop, watt) in [(0, 1.0, 0.600, 0.360), (1, 6.0, 3.60, 2.16), (2, 13.0, 7.80, 4.68)] {
        near(lost(&found, edge, ohm), watt, 0.005);
        near(found.voltage(edge + 1, (edge + 2) % 4).middle(), drop, 0.005);
    }
    near(found.voltage(2, 3).middle(), 3.60, 0.005);
}

/// OCP, the same three in parallel: 14.92 A in all; the branches are printed as 12.0, 2.00 and 0.92 A.
#[test]
fn parallel() {
    let found = resistors(12.0, 0.0, &[(1, 0, 1.0), (1, 0, 6.0), (1, 0, 13.0)]);
    near(found.battery_current(0).middle(), 14.92, 0.005);
    for (edge, ampere) in [(0, 12.0), (1, 2.00), (2, 0.92)] {
        near(found.current(edge).middle(), ampere, 0.005);
    }
}

/// OCP, series and parallel: 1 ohm of wire before 6 and 13 ohm: 2.35 A and 2.35 V lost in the wire.
#[test]
fn drop_in_a_wire() {
    let found = resistors(12.0, 0.0, &[(1, 2, 1.0), (2, 0, 6.0), (2, 0, 13.0)]);
    near(found.battery_current(0).middle(), 2.35, 0.005);
    near(found.voltage(1, 2).middle(), 2.35, 0.005);
}

/// OUP: four of 20 ohm and one of 10 ohm on 9 V: 0.1 A.
#[test]
fn five_in_series() {
    let edges = [(1, 2, 20.0), (2, 3, 20.0), (3, 4, 20.0), (4, 5, 20.0), (5, 0, 10.0)];
    near(resistors(9.0, 0.0, &edges).battery_current(0).middle(), 0.1, 0.000_05);
}

/// OUP: 1, 2 and 2 ohm in parallel on 3.00 V are 0.50 ohm.
#[test]
fn three_in_parallel() {
    let found = resistors(3.0, 0.0, &[(1, 0, 1.0), (1, 0, 2.0), (1, 0, 2.0)]);
    near(3.0 / found.battery_current(0).middle(), 0.50, 0.005);
}

/// LIEC, combination circuit: 24 V on (100 || 250) + (350 || 200) ohm: 120.78 mA, 8.627 V and 15.373 V.
#[test]
fn combination() {
    let found = resistors(24.0, 0.0, &[(1, 2, 100.0), (1, 2, 250.0), (2, 0, 350.0), (2, 0, 200.0)]);
    near(found.battery_current(0).middle(), 0.120_78, 0.000_005);
    near(found.voltage(1, 2).middle(), 8.627, 0.0005);
    near(found.voltage(2, 0).middle(), 15.373, 0.0005);
}

/// OCP: 20 || 20 || 10 ohm before 4 ohm on 36 V: 20, 20, 40 and 64 W, 144 W in all.
#[test]
fn losses() {
    let found = resistors(36.0, 0.0, &[(1, 2, 20.0), (1, 2, 20.0), (1, 2, 10.0), (2, 0, 4.0)]);
    let edges = [(0, 20.0, 20.0), (1, 20.0, 20.0), (2, 10.0, 40.0), (3, 4.0, 64.0)];
    for (edge, ohm, watt) in edges {
        near(lost(&found, edge, ohm), watt, 0.001);
    }
    near(edges.iter().map(|(edge, ohm, _)| lost(&found, *edge, *ohm)).sum(), 144.0, 0.001);
}

/// OCP and OUP: 12.0 V behind 0.100 ohm: 10 ohm takes 1.188 A at 11.9 V, 0.500 ohm takes 20.0 A at 10.0 V.
/// LIEC: 10 V behind 0.2 ohm on 1 ohm: 8.333 A; shorted 50 A.
#[test]
fn terminal_voltage() {
    for (volt, inner, ohm, ampere, terminal, tolerance) in [
        (12.0, 0.1, 10.0, 1.188, 11.88, 0.0005),
        (12.0, 0.1, 0.5, 20.0, 10.0, 0.0005),
        (10.0, 0.2, 1.0, 8.333, 8.333, 0.0005),
        (10.0, 0.2, 0.0, 50.0, 0.0, 0.0005),
    ] {
        let found = resistors(volt, inner, &[(1, 0, ohm)]);
        near(found.battery_current(0).middle(), ampere, tolerance);
        near(found.voltage(1, 0).middle(), terminal, 0.002);
    }
}

/// OCP: the terminal voltage falls 2.00 V when the current rises 5.00 A: 0.400 ohm inside.
#[test]
fn inner_resistance() {
    let terminal = |ampere: f64| {
        let draw = Load { current: Range::point(ampere), ..load(1, 0, 0.0) };
        let network = Network { batteries: vec![battery(1, 0, 12.0, 0.4)], loads: vec![draw], ..Network::default() };
        works(&network).voltage(1, 0).middle()
    };
    near(terminal(3.0) - terminal(8.0), 2.00, 1e-9);
}

/// OCP: a starter of 0.0500 ohm on 12.0 V behind 0.0100 ohm: 200 A, 10.0 V, 2.00 kW; with corroded joints that add
/// 0.0900 ohm: 80.0 A, 4.0 V, 320 W.
#[test]
fn starter_with_corroded_joints() {
    let sound = resistors(12.0, 0.01, &[(1, 0, 0.05)]);
    near(sound.current(0).middle(), 200.0, 0.05);
    near(lost(&sound, 0, 0.05), 2000.0, 5.0);
    let corroded = resistors(12.0, 0.01, &[(1, 2, 0.045), (2, 3, 0.05), (3, 0, 0.045)]);
    near(corroded.current(1).middle(), 80.0, 0.05);
    near(corroded.voltage(2, 3).middle(), 4.0, 0.05);
    near(lost(&corroded, 1, 0.05), 320.0, 0.5);
}

/// OCP: a headlight of 30.0 W and a starter of 2.40 kW, both rated at 12.0 V, in series: 29.6 W for both.
#[test]
fn headlight_before_a_starter() {
    let found = resistors(12.0, 0.0, &[(1, 2, 144.0 / 30.0), (2, 0, 144.0 / 2400.0)]);
    near(lost(&found, 0, 144.0 / 30.0) + lost(&found, 1, 144.0 / 2400.0), 29.6, 0.05);
}

/// LIEC, Thevenin form of 28 V behind 4 ohm and 7 V behind 1 ohm: 11.2 V, 0.8 ohm; into 2 ohm 8 V and 4 A.
#[test]
fn two_sources_by_thevenin() {
    let found = resistors(11.2, 0.8, &[(1, 0, 2.0)]);
    near(found.voltage(1, 0).middle(), 8.0, 0.0005);
    near(found.current(0).middle(), 4.0, 0.0005);
}

/// The same two sources as batteries: the book's 8 V send 1 A back into the 7 V source, which a charged battery
/// does not take; without it 28 V x 2 / (2 + 4) stand at the load.
#[test]
fn a_battery_takes_no_current() {
    let found = works(&Network {
        edges: vec![edge(1, 0, 2.0)],
        batteries: vec![battery(1, 0, 28.0, 4.0), battery(1, 0, 7.0, 1.0)],
        ..Network::default()
    });
    near(found.voltage(1, 0).middle(), 28.0 / 3.0, 1e-6);
    assert_eq!(found.battery_current(1).high(), 0.0);
    // Under its own voltage the second battery helps: 1 ohm pulls the pair to 5.6 V (book values in Norton form:
    // 14 A into 0.8 || 1 ohm).
    let helped = works(&Network {
        edges: vec![edge(1, 0, 1.0)],
        batteries: vec![battery(1, 0, 28.0, 4.0), battery(1, 0, 7.0, 1.0)],
        ..Network::default()
    });
    near(helped.voltage(1, 0).middle(), 14.0 * 0.8 / 1.8, 1e-9);
}

/// LIEC: most power from 11.2 V behind 0.8 ohm: 39.2 W.
#[test]
fn most_power() {
    let network = |watt| Network {
        batteries: vec![battery(1, 0, 11.2, 0.8)],
        loads: vec![load(1, 0, watt)],
        ..Network::default()
    };
    let just = works(&network(39.2 * (1.0 - 1e-9)));
    near(just.voltage(1, 0).middle(), 5.6, 0.001);
    let Operating::Never { reach } = solve(&network(39.2 * 1.25)) else { panic!("no operating point exists") };
    near(reach.0, 0.8, 1e-8);
    assert_eq!(reach.0, reach.1);
}

/// Computed, and ngspice 39, scipy and pandapower agree: 12.6 V, 10.52 mohm, 600 W: 12.077370 V, 49.679692 A,
/// limit 3772.8 W. The body of the circuit is 4 mohm of battery and 6.52 mohm of cable.
#[test]
fn constant_power() {
    let network = |watt| Network {
        edges: vec![edge(1, 2, 6.52e-3)],
        batteries: vec![battery(1, 0, 12.6, 4e-3)],
        loads: vec![load(2, 0, watt)],
        ..Network::default()
    };
    let found = works(&network(600.0));
    near(found.voltage(2, 0).middle(), 12.077_369_643_704_65, 1e-12);
    near(found.load_currents(&[0]).middle(), 49.679_691_66, 5e-9);
    let Operating::Never { reach } = solve(&network(4000.0)) else { panic!("over the limit") };
    near(reach.0 * 4000.0, 3772.8, 0.05);
}
