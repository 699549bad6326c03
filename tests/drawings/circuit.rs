//! Lines of the circuit: they cross with a hop and share no track.

use testlamp::sheet::{Drawing, Ink, Shape};

use super::{drawn, everything};

/// A straight piece of a line of the circuit, with whether it is the top of a hop.
struct Piece {
    line: usize,
    from: (f64, f64),
    to: (f64, f64),
    weight: f64,
    hops: bool,
}

/// The pieces of lines that carry something; symbols and what stands below a drawing are none.
fn pieces(drawing: &Drawing) -> Vec<Piece> {
    let kinds = [Ink::Feed, Ink::Return, Ink::TurnOn, Ink::Signal, Ink::Speaker];
    let mut found = Vec::new();
    for (line, shape) in drawing.shapes.iter().enumerate() {
        let Shape::Line { points, ink, weight, .. } = shape else { continue };
        if !kinds.contains(ink) {
            continue;
        }
        for (at, pair) in points.windows(2).enumerate() {
            let (from, to) = (pair[0], pair[1]);
            let falls = |other: Option<&(f64, f64)>| other.is_some_and(|other| other.1 > from.1 + 0.02);
            let hops = falls(at.checked_sub(1).and_then(|before| points.get(before))) && falls(points.get(at + 2));
            found.push(Piece { line, from, to, weight: *weight, hops });
        }
    }
    found
}

/// Where an upright and a level piece cross that are not joined.
fn crossing(upright: &Piece, level: &Piece) -> Option<(f64, f64)> {
    let (x, y) = (upright.from.0, level.from.1);
    let is_upright = (upright.from.0 - upright.to.0).abs() < 0.05 && (upright.from.1 - upright.to.1).abs() > 1.0;
    let is_level = (level.from.1 - level.to.1).abs() < 0.05 && (level.from.0 - level.to.0).abs() > 1.0;
    // A line that only ends at the other is joined to it.
    let inside = |value: f64, one: f64, other: f64| one.min(other) + 0.5 < value && value < one.max(other) - 0.5;
    let crosses = inside(x, level.from.0, level.to.0) && inside(y, upright.from.1, upright.to.1);
    (is_upright && is_level && crosses).then_some((x, y))
}

/// How far two level or two upright pieces lie over each other.
fn shared(one: &Piece, other: &Piece) -> f64 {
    let over = |turn: fn((f64, f64)) -> (f64, f64)| {
        let [a, b, c, d] = [one.from, one.to, other.from, other.to].map(turn);
        let is_straight = (a.1 - b.1).abs() < 0.05 && (c.1 - d.1).abs() < 0.05;
        if !is_straight || (a.1 - c.1).abs() > f64::midpoint(one.weight, other.weight) + 0.5 {
            return 0.0;
        }
        a.0.max(b.0).min(c.0.max(d.0)) - a.0.min(b.0).max(c.0.min(d.0))
    };
    over(|point| point).max(over(|(x, y)| (y, x)))
}

/// A battery behind a relay, whose second wire leads past the first; and a processor that is fed past the main wire.
const PAST: [&str; 2] = [
    "plan: 1\nvehicle: {battery: {location: engine-bay}}\nbatteries: {leisure: {location: cargo}}\n\
     isolators: {vsr: {kind: relay, location: engine-bay}}\namplifiers: {amp: {channels: 1}}\ngrounds: {chassis: {}}\nwires:\n  \
     feed: {from: leisure.positive, to: amp.power, size: 4 AWG}\n  \
     start: {from: battery.positive, to: vsr.in, size: 35 mm2}\n  \
     on: {from: vsr.out, to: leisure.positive, size: 35 mm2}\n  \
     back: {from: leisure.negative, to: grounds.chassis, size: 35 mm2}\n",
    "plan: 1\nvehicle: {battery: {location: cargo}}\nsources: {dsp: {kind: processor}}\n\
     blocks: {split: {outputs: {amp: {fuse: {rating: 40 A}}, dsp: {fuse: {rating: 5 A}}}}}\n\
     amplifiers: {amp: {channels: 4}}\ngrounds: {chassis: {}}\nwires:\n  \
     main: {from: battery.positive, to: split.in, size: 4 AWG}\n  \
     amp-feed: {from: split.amp, to: amp.power, size: 8 AWG}\n  \
     dsp-feed: {from: split.dsp, to: dsp.power, size: 1.5 mm2}\n  \
     amp-return: {from: amp.ground, to: grounds.chassis, size: 8 AWG}\n  \
     dsp-return: {from: dsp.ground, to: grounds.chassis, size: 1.5 mm2}\n",
];

#[test]
fn in_the_circuit_lines_cross_with_a_hop_and_share_no_track() {
    let mut hops = 0;
    for text in everything().into_iter().chain(PAST.map(str::to_owned)) {
        let Some(circuit) = drawn(&text).0.into_iter().find(|drawing| drawing.name == "circuit") else { continue };
        let pieces = pieces(&circuit);
        for (at, one) in pieces.iter().enumerate() {
            for other in pieces[at + 1..].iter().filter(|other| other.line != one.line) {
                let over = shared(one, other);
                assert!(over < 1.0, "{over} at {:?} and {:?}:\n{text}", one.from, other.from);
                for (upright, level) in [(one, other), (other, one)] {
                    let Some(place) = crossing(upright, level) else { continue };
                    assert!(level.hops, "no hop at {place:?}:\n{text}");
                    hops += 1;
                }
            }
        }
    }
    assert!(hops > 0, "no hop goes over several lines: nothing is tried");
}

#[test]
fn a_relay_and_the_wire_behind_it_are_drawn_without_a_crossing() {
    let drawings = drawn(PAST[0]).0;
    let circuit = drawings.iter().find(|drawing| drawing.name == "circuit").expect("a circuit");
    // Corners are cut at 45 degrees; the pieces of a half circle are not.
    let is_round = |piece: &Piece| {
        let (dx, dy) = ((piece.from.0 - piece.to.0).abs(), (piece.from.1 - piece.to.1).abs());
        dx > 0.2 && dy > 0.2 && (dx - dy).abs() > 0.2
    };
    assert!(!pieces(circuit).iter().any(is_round));
}
