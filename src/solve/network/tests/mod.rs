//! Corner cases of the model, and what all tests of the network share.

mod examples;
mod ranges;
mod search;
mod vehicles;

use super::*;

fn edge(a: usize, b: usize, ohm: f64) -> Edge {
    Edge { a, b, resistance: Range::point(ohm) }
}

fn battery(positive: usize, negative: usize, volt: f64, ohm: f64) -> Battery {
    Battery { positive, negative, emf: Range::point(volt), resistance: Range::point(ohm) }
}

fn alternator(positive: usize, volt: f64, ohm: f64, ampere: f64) -> Alternator {
    Alternator {
        positive,
        negative: 0,
        voltage: Range::point(volt),
        resistance: Range::point(ohm),
        available: Range::point(ampere),
    }
}

fn load(positive: usize, negative: usize, watt: f64) -> Load {
    Load { positive, negative, power: Range::point(watt), current: Range::point(0.0) }
}

fn works(network: &Network) -> Solution {
    match solve(network) {
        Operating::Always(solution) => *solution,
        other => panic!("{other:?}"),
    }
}

#[track_caller]
fn near(found: f64, printed: f64, tolerance: f64) {
    assert!((found - printed).abs() <= tolerance, "found {found}, printed {printed} ± {tolerance}");
}

/// The alternator holds its voltage up to what it has; then the battery helps. Figures by hand.
#[test]
fn alternator_regimes() {
    let network = |watt, available| Network {
        batteries: vec![battery(1, 0, 12.6, 0.01)],
        alternators: vec![alternator(1, 14.4, 0.002, available)],
        loads: vec![load(1, 0, watt)],
        ..Network::default()
    };
    let regulating = works(&network(500.0, 80.0));
    let volt = f64::midpoint(14.4, (14.4_f64 * 14.4 - 4.0 * 0.002 * 500.0).sqrt());
    near(regulating.voltage(1, 0).middle(), volt, 1e-9);
    assert_eq!(regulating.battery_current(0).high(), 0.0);

    let limited = works(&network(1500.0, 60.0));
    near(limited.alternator_current(0).middle(), 60.0, 1e-9);
    // 12.6 V and 60 A behind 10 mohm are 13.2 V behind 10 mohm.
    let volt = f64::midpoint(13.2, (13.2_f64 * 13.2 - 4.0 * 0.01 * 1500.0).sqrt());
    near(limited.voltage(1, 0).middle(), volt, 1e-9);
    near(limited.battery_current(0).middle(), (12.6 - volt) / 0.01, 1e-6);

    // Just more than the alternator has: from 14 V down to where the battery joins is a long way for a small lack.
    let short = works(&network(60.0 * 14.28 + 0.01, 60.0));
    assert!(short.voltage(1, 0).middle() < 12.6 && short.battery_current(0).low() > 0.0);
}

/// Parts that no source reaches are told, not solved.
#[test]
fn dead_parts() {
    let found = works(&Network {
        edges: vec![edge(1, 2, 0.01), edge(3, 4, 0.01), edge(5, 0, 0.001)],
        batteries: vec![battery(1, 0, 12.6, 0.005)],
        alternators: vec![Alternator { positive: 9, negative: 10, ..alternator(0, 14.0, 0.001, 0.0) }],
        loads: vec![load(2, 0, 100.0), load(4, 0, 100.0), load(3, 4, 100.0), load(5, 0, 100.0), load(2, 7, 9.0)],
    });
    for dead in 1..5 {
        assert_eq!(found.load_currents(&[dead]), Range::point(0.0), "{dead}");
    }
    assert_eq!(found.voltage(4, 0), Range::point(0.0));
    near(found.load_currents(&[0]).middle(), 100.0 / found.voltage(2, 0).middle(), 1e-9);
    let nothing = works(&Network { loads: vec![load(1, 0, 5.0)], ..Network::default() });
    assert_eq!(nothing.load_currents(&[0]), Range::point(0.0));
}

/// A terminal behind an idle battery stands at that battery's own voltage.
#[test]
fn idle_battery_alone() {
    let found = works(&Network {
        edges: vec![edge(2, 3, 0.001)],
        batteries: vec![battery(1, 0, 14.0, 0.005), battery(2, 0, 12.5, 0.005)],
        ..Network::default()
    });
    near(found.voltage(3, 0).middle(), 12.5, 1e-6);
}

/// Two vehicles side by side: what one does is nothing to the other, and no voltage stands between them.
#[test]
fn two_islands() {
    let found = works(&Network {
        edges: vec![edge(1, 2, 0.01), edge(4, 5, 0.02)],
        batteries: vec![battery(1, 0, 12.6, 0.005)],
        alternators: vec![Alternator { positive: 4, negative: 3, ..alternator(0, 14.4, 0.005, 100.0) }],
        loads: vec![load(2, 0, 120.0), Load { current: Range::point(10.0), ..load(5, 3, 0.0) }],
    });
    near(found.voltage(5, 3).middle(), 14.4 - 10.0 * 0.025, 1e-9);
    near(found.alternator_current(0).middle(), 10.0, 1e-9);
    let ampere = found.battery_current(0).middle();
    near(ampere * (12.6 - ampere * 0.015), 120.0, 1e-6);
    assert_eq!((found.voltage(1, 4), found.voltage(3, 0)), (Range::point(0.0), Range::point(0.0)));
}

/// 12 V behind 100 mohm give 120 A into a short and no more: what asks for 130 A would turn the voltage round.
#[test]
fn no_current_beyond_a_short() {
    let network = |ampere| Network {
        batteries: vec![battery(1, 0, 12.0, 0.1)],
        loads: vec![Load { current: Range::point(ampere), ..load(1, 0, 0.0) }],
        ..Network::default()
    };
    near(works(&network(119.0)).voltage(1, 0).middle(), 0.1, 1e-9);
    let Operating::Never { reach } = solve(&network(130.0)) else { panic!("more than a short takes") };
    near(reach.0, 12.0 / 13.0, 1e-6);
}

/// A wire laid from a post back to the same post carries nothing and changes nothing.
#[test]
fn a_wire_with_both_ends_on_one_post() {
    let network = |more: &[Edge]| Network {
        edges: [&[edge(1, 2, 0.01)], more].concat(),
        batteries: vec![battery(1, 0, 12.6, 0.005)],
        loads: vec![load(2, 0, 300.0)],
        ..Network::default()
    };
    let (plain, looped) = (works(&network(&[])), works(&network(&[edge(2, 2, 0.001)])));
    assert_eq!(looped.voltage(2, 0), plain.voltage(2, 0));
    assert_eq!(looped.current(1), Range::point(0.0));
}
