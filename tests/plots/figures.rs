//! What is drawn is what was solved.

use testlamp::plan::{FilterKind, FuseForm};
use testlamp::quantity::{Quantity, Range, Voltage};
use testlamp::sheet::plots::{self, drops};
use testlamp::sheet::{Area, Drawing, Shape};
use testlamp::solve::filters::Filter;
use testlamp::solve::{Case, fuse};

use super::{job, lines, of, seen, words};

/// What a length along the level (or upright) axis counts, from two of its values: one more pixel, and at nought.
fn scale(drawing: &Drawing, upright: bool, low: &str, high: &str) -> impl Fn(f64) -> f64 {
    let words = words(drawing);
    // Values of the level axis stand below the frame; those of the upright one left of it, half a letter low.
    let frame = drawing.shapes.iter().find_map(|shape| match shape {
        Shape::Line { points, .. } if points.len() == 5 => Some((points[0], points[2])),
        _ => None,
    });
    let ((left, _), (_, bottom)) = frame.expect("a frame");
    let at = |word: &str| {
        let is_tick =
            |area: &Area| if upright { area.right() < left } else { area.top > bottom && area.top < bottom + 8.0 };
        let area =
            words.iter().find(|(text, area)| *text == word && is_tick(area)).unwrap_or_else(|| panic!("{word}")).1;
        if upright { area.top + 8.0 - 3.0 } else { area.middle().0 }
    };
    let number = |word: &str| word.replace('\u{2212}', "-").replace('k', "000").parse::<f64>().expect("a number");
    let ((one, first), (other, second)) = ((at(low), number(low)), (at(high), number(high)));
    move |pixel| first + (second - first) * (pixel - one) / (other - one)
}

#[test]
fn the_drop_ends_where_the_network_says() {
    for number in ["j-2041", "j-2043", "j-2044", "j-2056", "j-2057"] {
        seen(&job(number), |view| {
            for amplifier in &view.job.amplifiers {
                let way = drops::way(view.job, amplifier).expect("a way");
                for case in [Case::IdleFull, Case::IdleProgramme] {
                    let lost = drops::lost(view.job, &way, case).expect("solved");
                    let whole = view.job.whole_drop(amplifier.name, case).unwrap().range;
                    let end = lost.last().unwrap().volts;
                    assert!((end.low() - whole.low()).abs() < 1e-12 && (end.high() - whole.high()).abs() < 1e-12);
                    // Losses grow on the way, but for what the joint bounds of a range leave.
                    assert!(
                        lost.windows(2).all(|pair| pair[1].volts.high() >= pair[0].volts.high() - 1e-3),
                        "{number}"
                    );
                }
            }
        });
    }
}

/// What leaves the battery less what is lost is what arrives, where every fact is one number.
#[test]
fn battery_less_drop_is_the_terminal_voltage() {
    let text = "plan: 1\nvehicle: {voltage: 12 V, body: steel, body_resistance: 1 mohm, battery: {internal_resistance: 6 mohm, \
        rest_voltage: 12.6 V}, alternator: {rated: 300 A, at_idle: 200 A, voltage: 14 V, cable_resistance: 1 mohm}, \
        factory_load: {running: 20 A}}\namplifiers:\n  amp: {class: D, channels: 1, rated: [{load: 4 ohm, power: 400 W}], \
        efficiency: 80 %, idle_current: 1 A}\nwires:\n  main: {from: battery.positive, to: amp.power, size: 8 AWG, \
        conductor: copper, stranding: solid, insulation: 105 C, joint_resistance: 0.1 mohm, length: 4 m, path: [cargo], \
        fuse: {form: bolt-down, rating: 60 A, distance: 20 cm, resistance: 1.5 mohm}}\n  return: {from: amp.ground, to: \
        grounds.floor, size: 8 AWG, conductor: copper, stranding: solid, insulation: 105 C, joint_resistance: 0.1 mohm, \
        length: 40 cm, path: [cargo]}\ngrounds: {floor: {joint_resistance: 0.1 mohm}}\n";
    seen(text, |view| {
        let amplifier = &view.job.amplifiers[0];
        let solution = view.job.supply().unwrap().solution(Case::IdleFull).unwrap();
        let battery: Range<Voltage> =
            solution.voltage(testlamp::solve::graph::POSITIVE, testlamp::solve::graph::NEGATIVE);
        let arrives = view.job.terminal_voltage(amplifier.name, Case::IdleFull).unwrap().range;
        let drawing = &plots::drops(view).drawings[0];
        let value = scale(drawing, true, "0", "0.5");
        let end = lines(drawing, "return")
            .into_iter()
            .flatten()
            .fold((0.0, 0.0), |last, at| if at.0 > last.0 { at } else { last });
        // The highest of the ends: full output.
        let ends = lines(drawing, "return").into_iter().flatten().filter(|at| at.0 == end.0).map(|at| value(at.1));
        let lost = ends.fold(0.0, f64::max);
        assert!((battery.middle() - lost - arrives.middle()).abs() < 2e-3, "{battery} - {lost} is not {arrives}");
    });
}

/// Where a fuse sits in a wire, the curve steps by what the fuse resists.
#[test]
fn a_step_at_the_fuse() {
    seen(&job("j-2041"), |view| {
        let way = drops::way(view.job, &view.job.amplifiers[0]).unwrap();
        let lost = drops::lost(view.job, &way, Case::IdleFull).unwrap();
        let at = way.pieces().position(|piece| matches!(piece.is, drops::Part::Fuse(_))).expect("a fuse");
        assert!((lost[at].metres - 0.2).abs() < 1e-12 && lost[at].metres == lost[at + 1].metres);
        let step = lost[at + 1].volts.middle() - lost[at].volts.middle();
        let current = view.job.fuse_current(0, Case::IdleFull).unwrap().range.middle();
        let element =
            view.job.fuse_resistance(&view.job.protection().fuses[0].fuse, &view.job.protection().fuses[0].place);
        let expected = current * element.unwrap().range.middle();
        assert!((step / expected - 1.0).abs() < 0.1, "{step} V, {expected} V by its middle");
    });
}

#[test]
fn curves_of_a_fuse_are_those_of_the_standard() {
    for (form, rating) in [(FuseForm::BoltDown, 60.0), (FuseForm::BladeRegular, 15.0), (FuseForm::BladeLarge, 40.0)] {
        let rating = Quantity::new(rating);
        let (fastest, slowest) = plots::curves(form, rating, 5000.0);
        for ((ampere, fast), (_, slow)) in fastest.iter().zip(&slowest) {
            let opens = fuse::opening_time(form, rating, Range::point(*ampere));
            let same = |drawn: f64, is: f64| drawn == is || (is > 1e5 && drawn > 1e5) || (is < 1e-3 && drawn < 1e-3);
            assert!(
                same(*fast, opens.fastest.high()) && same(*slow, opens.slowest.high()),
                "{ampere} A: {fast} {slow}"
            );
        }
        // Between two points the slowest of any fuse lies on the line that is drawn.
        let at = rating.base() * 2.7;
        let after = slowest.iter().position(|point| point.0 > at).unwrap();
        let ((x0, y0), (x1, y1)) = (slowest[after - 1], slowest[after]);
        let line = (y0.ln() + (y1 / y0).ln() * (at / x0).ln() / (x1 / x0).ln()).exp();
        let is = fuse::opening_time(form, rating, Range::point(at)).slowest.high();
        assert!((line / is - 1.0).abs() < 1e-6, "{form:?}: {line} {is}");
    }
}

/// A Linkwitz-Riley filter is 6 dB down at its corner and a Butterworth 3 dB, as drawn.
#[test]
fn filters_are_as_far_down_at_their_corner_as_their_design_says() {
    let plan = |design: &str| {
        format!("plan: 1\nsettings: {{amp: {{low_pass: 100 Hz, low_pass_slope: 24 dB/oct, filters: {design}}}}}\n")
    };
    for (design, kind, corner) in
        [("linkwitz-riley", FilterKind::LinkwitzRiley, -6.0206), ("butterworth", FilterKind::Butterworth, -3.0103)]
    {
        let drawing = of(&plan(design), "filters", "filters-amp");
        let level = scale(&drawing, true, "\u{2212}40", "0");
        let dot = drawing.shapes.iter().find_map(|shape| match shape {
            Shape::Ring { at, .. } => Some(*at),
            _ => None,
        });
        let dot = dot.expect("the corner");
        assert!((level(dot.1) - corner).abs() < 0.05, "{}", level(dot.1));
        let decades = scale(&drawing, false, "10", "100");
        assert!((decades(dot.0) - 100.0).abs() < 0.1);
        // The whole curve: hertz from the axis, whose shares are decades.
        let hertz = |x: f64| 10.0_f64.powf((decades(x) - 10.0) / 90.0 + 1.0);
        let filter = Filter::new(kind, 4).unwrap();
        let curve = lines(&drawing, "signal").concat();
        assert!(curve.len() > 40);
        for (x, y) in curve {
            let expected = filter.low_pass(hertz(x) / 100.0);
            assert!((level(y) - expected).abs() < 0.2 || expected < -39.0, "{} Hz: {} {expected}", hertz(x), level(y));
        }
        assert!(drawing.description.contains("at its corner"), "{}", drawing.description);
    }
}

/// Where slope or design is not stated the filter is a band, and the words tell the range.
#[test]
fn what_is_not_stated_is_a_band() {
    let drawing = of("plan: 1\nsettings: {amp: {high_pass: 80 Hz}}\n", "filters", "filters-amp");
    assert!(drawing.shapes.iter().any(|shape| matches!(shape, Shape::Band { .. })));
    assert!(drawing.description.contains("3.01 to 6.02 dB"), "{}", drawing.description);
    let stated = of(
        "plan: 1\nsettings: {amp: {high_pass: 80 Hz, high_pass_slope: 24 dB/oct, filters: butterworth}}\n",
        "filters",
        "filters-amp",
    );
    assert!(!stated.shapes.iter().any(|shape| matches!(shape, Shape::Band { .. })));
}

/// The alternator's bar at idle ends at its output, and what is asked at full output begins where the vehicle's share ends.
#[test]
fn bars_of_the_budget_are_as_long_as_the_balance_says() {
    seen(&job("j-2041"), |view| {
        let drawing = &plots::budget(view).drawings[0];
        let tick =
            |word: &str| words(drawing).into_iter().find(|(text, _)| *text == word).expect("a value").1.middle().0;
        let (nought, twenty) = (tick("0"), tick("20"));
        let ampere = |x: f64| 20.0 * (x - nought) / (twenty - nought);
        let balance = view.job.balance(Case::IdleProgramme).unwrap();
        let full = view.job.balance(Case::IdleFull).unwrap();
        let bars = drawing.shapes.iter().filter_map(|shape| match shape {
            Shape::Block { at, .. } => Some((ampere(at.left), ampere(at.right()))),
            _ => None,
        });
        let bars: Vec<(f64, f64)> = bars.collect();
        let near = |one: f64, other: f64| (one - other).abs() < 1e-6;
        assert!(near(bars[0].1, balance.output.range.low()), "{bars:?}");
        assert!(near(bars[1].1, balance.running.range.low()) && near(bars[2].0, bars[1].1), "{bars:?}");
        assert!(near(bars[2].1, balance.running.range.low() + balance.asked.range.low()), "{bars:?}");
        assert!(near(bars[4].1, full.running.range.low() + full.asked.range.low()), "{bars:?}");
    });
}

/// Qts 0.5 with Vas as large as the box makes Qtc 0.707 at fs x 1.414: 3 dB down there.
#[test]
fn a_flat_closed_box_is_three_decibels_down_at_its_resonance() {
    let text = "plan: 1\ndrivers: {sub: {enclosure: box, resonance: 35 Hz, total_q: 0.5, compliance_volume: 45 L}}\n\
                enclosures: {box: {kind: sealed, net_volume: 45 L}}\n";
    let drawing = of(text, "boxes", "box-box");
    assert!(drawing.description.contains("Qtc 0.71, resonance 49 Hz, 3 dB down at 49 Hz"), "{}", drawing.description);
    let level = scale(&drawing, true, "\u{2212}20", "0");
    let dot = drawing.shapes.iter().find_map(|shape| match shape {
        Shape::Ring { at, .. } => Some(*at),
        _ => None,
    });
    assert!((level(dot.expect("its corner").1) + 3.0103).abs() < 0.05);
}
