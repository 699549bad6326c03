//! Plots and coil diagrams of the job sheet: legible, and true to what was solved.

#[path = "common/cases.rs"]
mod cases;

use std::fmt::Write as _;
use std::path::Path;

use proptest::prelude::*;
use testlamp::house::House;
use testlamp::judge::judge;
use testlamp::plan::{self, FilterKind, FuseForm, Reading};
use testlamp::quantity::{Quantity, Range, Voltage};
use testlamp::report::plan_report;
use testlamp::sheet::plots::{self, drops};
use testlamp::sheet::{Area, Drawing, Drawn, Point, Shape, View, coils};
use testlamp::solve::filters::Filter;
use testlamp::solve::{Case, Job, fuse};

#[allow(dead_code, reason = "the generator is a program of its own")]
#[path = "../examples/generate.rs"]
mod generate;

/// What a kind of drawing is made by.
type Kind = (&'static str, fn(&View<'_>) -> Drawn);

const KINDS: [Kind; 6] = [
    ("coils", coils::coils),
    ("drops", plots::drops),
    ("fuses", plots::fuses),
    ("budget", plots::budget),
    ("filters", plots::filters),
    ("boxes", plots::boxes),
];

fn seen<T>(text: &str, look: impl FnOnce(&View<'_>) -> T) -> T {
    let (reading, house): (Reading, House) = (plan::read(text.to_owned()), House::default());
    let judgement = judge(&reading, &house, &[]);
    let report = plan_report("plan.yaml", &reading, &judgement);
    let job = Job::new(&reading.plan, &house);
    look(&View { reading: &reading, house: &house, job: &job, judgement: &judgement, report: &report })
}

fn drawn(text: &str) -> Vec<(&'static str, Drawn)> {
    seen(text, |view| KINDS.iter().map(|(name, kind)| (*name, kind(view))).collect())
}

fn drawings(text: &str) -> Vec<Drawing> {
    drawn(text).into_iter().flat_map(|(_, drawn)| drawn.drawings).collect()
}

fn jobs() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let files = std::fs::read_dir(folder).expect("the jobs").map(|file| file.expect("a job").path());
    let mut jobs: Vec<(String, String)> = files
        .map(|path| (path.file_name().unwrap().to_string_lossy().into_owned(), std::fs::read_to_string(path).unwrap()))
        .collect();
    jobs.sort();
    jobs
}

fn job(number: &str) -> String {
    jobs().into_iter().find(|(name, _)| name.contains(number)).expect("the job").1
}

fn of(text: &str, kind: &str, name: &str) -> Drawing {
    let drawn = drawn(text).into_iter().find(|(known, _)| *known == kind).expect("a kind").1;
    let names: Vec<String> = drawn.drawings.iter().map(|drawing| drawing.name.clone()).collect();
    let missing = format!("{:?}", drawn.missing);
    let found = drawn.drawings.into_iter().find(|drawing| drawing.name == name);
    found.unwrap_or_else(|| panic!("no {name} among {names:?}; {missing}"))
}

fn points(shape: &Shape) -> Vec<Point> {
    match shape {
        Shape::Line { points, .. } | Shape::Outline { points, .. } | Shape::Band { points, .. } => points.clone(),
        Shape::Block { at, .. } => vec![(at.left, at.top), (at.right(), at.bottom())],
        Shape::Ring { at, radius, .. } => vec![(at.0 - radius, at.1 - radius), (at.0 + radius, at.1 + radius)],
        Shape::Words { .. } => Vec::new(),
    }
}

/// What is wrong with how a drawing is laid out.
fn slips(drawing: &Drawing) -> Vec<String> {
    let mut slips = drawing.crowded();
    let (width, height) = (drawing.width, drawing.height);
    let inside = |(x, y): &Point| (-0.01..=width + 0.01).contains(x) && (-0.01..=height + 0.01).contains(y);
    for shape in &drawing.shapes {
        if !points(shape).iter().all(inside) {
            slips.push(format!("outside: {shape:?}"));
        }
        if let Shape::Words { size, text, .. } = shape
            && (*size < 10.0 || text.is_empty())
        {
            slips.push(format!("too small or empty: {shape:?}"));
        }
    }
    if ![plots::WIDE, plots::SMALL].contains(&width) || height > 1200.0 {
        slips.push(format!("{width} by {height}"));
    }
    if drawing.description.len() < 20 {
        slips.push(format!("says too little: {}", drawing.description));
    }
    slips
}

fn is_legible(what: &str, drawings: &[Drawing]) {
    let mut names: Vec<&str> = drawings.iter().map(|drawing| drawing.name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    assert_eq!(names.len(), drawings.len(), "{what}: two of one name");
    for drawing in drawings {
        assert_eq!(slips(drawing), Vec::<String>::new(), "{what}: {}", drawing.name);
        let svg = drawing.svg().into_string();
        assert!(
            roxmltree::Document::parse(&svg).is_ok() && !svg.contains("NaN") && !svg.contains("inf"),
            "{what}: {svg}"
        );
    }
}

#[test]
fn every_job_is_drawn_legibly_and_alike_each_time() {
    let mut count = [0; KINDS.len()];
    for (name, text) in jobs() {
        let first = drawn(&text);
        for (at, (_, drawn)) in first.iter().enumerate() {
            is_legible(&name, &drawn.drawings);
            count[at] += drawn.drawings.len();
            assert!(drawn.missing.iter().all(|missing| !missing.why.is_empty()), "{name}: {:?}", drawn.missing);
        }
        assert_eq!(first, drawn(&text), "{name}");
    }
    assert!(count.iter().all(|count| *count > 2), "each kind is among the jobs: {count:?}");
}

#[test]
fn generated_plans_are_drawn_legibly() {
    for (number, amplifiers) in [(0, 1), (1, 3), (2, 5), (3, 8), (4, 16)] {
        is_legible(&format!("generated {number}"), &drawings(&generate::plan(number, amplifiers)));
    }
}

#[test]
fn a_plan_that_says_nothing_has_no_drawing() {
    assert_eq!(drawings("plan: 1\n"), []);
    let missing = drawn("plan: 1\namplifiers: {amp: {}}\nloads: {bass: {}}\n");
    let missing =
        |kind: usize| missing[kind].1.missing.iter().map(|it| format!("{}: {}", it.of, it.why)).collect::<Vec<_>>();
    assert_eq!(missing(0), ["loads.bass: not stated: loads.bass.coils"]);
    assert_eq!(missing(1), ["amplifiers.amp: not stated: vehicle.voltage"]);
}

/// The words of a drawing with where they are.
fn words(drawing: &Drawing) -> Vec<(&str, Area)> {
    let named = drawing.shapes.iter().filter_map(|shape| match shape {
        Shape::Words { text, .. } => Some((text.as_str(), shape.words_area()?)),
        _ => None,
    });
    named.collect()
}

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

fn lines(drawing: &Drawing, class: &str) -> Vec<Vec<Point>> {
    let is = |shape: &&Shape| matches!(shape, Shape::Line { ink, .. } if ink.class() == class);
    drawing.shapes.iter().filter(is).map(points).collect()
}

#[test]
fn the_drop_ends_where_the_network_says() {
    for number in ["j-2041", "j-2043", "j-2044", "j-2056", "j-2057"] {
        seen(&job(number), |view| {
            for amplifier in &view.job.amplifiers {
                let way = drops::way(view.job, amplifier).expect("a way");
                for case in [Case::IdleFull, Case::IdleProgramme] {
                    let lost = drops::lost(view.job, &way, case).expect("solved");
                    let whole = view.job.whole_drop(amplifier, case).unwrap().range;
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
        let arrives = view.job.terminal_voltage(amplifier, Case::IdleFull).unwrap().range;
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

const DRIVERS: &str = "a: {kind: subwoofer, rms: 400 W, coils: [4 ohm, 4 ohm]}, b: {kind: subwoofer, rms: 400 W, coils: [4 ohm, 4 ohm]}, \
                       c: {kind: subwoofer, rms: 400 W, coils: [4 ohm, 4 ohm]}, d: {kind: subwoofer, rms: 400 W, coils: [4 ohm, 4 ohm]}";

fn load(outputs: &str, coils: &str) -> String {
    format!(
        "plan: 1\namplifiers: {{amp: {{class: D, channels: 2, minimum_load: 2 ohm, rated: [{{load: 4 ohm, power: 300 W}}, {{load: 2 \
         ohm, power: 500 W}}], bridged: {{minimum_load: 4 ohm, rated: [{{load: 4 ohm, power: 1000 W}}, {{load: 8 ohm, power: 600 \
         W}}]}}}}}}\ndrivers: {{{DRIVERS}}}\nloads: {{bass: {{amplifier: amp, outputs: {outputs}, coils: {coils}, lead: {{size: 10 \
         AWG, length: 2 m}}}}}}\n"
    )
}

/// How many coils are drawn: a coil is a line of many points.
fn turns(drawing: &Drawing) -> usize {
    lines(drawing, "speaker").iter().filter(|points| points.len() > 30).count()
}

#[test]
fn coils_are_wired_as_the_plan_says() {
    let one = of(&load("[1]", "{parallel: [a.1, -a.2]}"), "coils", "coils-bass");
    let texts: Vec<&str> = words(&one).into_iter().map(|(text, _)| text).collect();
    for word in ["a.1", "a.2", "4 ohm", "250 W", "1 +", "1 \u{2212}", "2 ohm for the amplifier"] {
        assert!(texts.contains(&word), "{word}: {texts:?}");
    }
    assert!(one.description.starts_with("a.1 and a.2 reversed in parallel"), "{}", one.description);
    // Reversed: its minus is at the left, where the plus of the other is.
    let at = |sign: &str| -> Vec<Area> {
        words(&one).into_iter().filter(|(text, _)| *text == sign).map(|(_, area)| area).collect()
    };
    let (plus, minus) = (at("+"), at("\u{2212}"));
    let middle = |area: &Area| area.middle().0;
    assert!((middle(&plus[0]) - middle(&minus[1])).abs() < 1e-9 && (middle(&minus[0]) - middle(&plus[1])).abs() < 1e-9);
    assert!(middle(&plus[0]) < middle(&minus[0]) && middle(&plus[1]) > middle(&minus[1]));

    let bridged =
        of(&load("[1, 2]", "{series: [{parallel: [a.1, a.2]}, {parallel: [b.1, b.2]}]}"), "coils", "coils-bass");
    let texts: Vec<&str> = words(&bridged).into_iter().map(|(text, _)| text).collect();
    for word in ["bridged", "1 +", "1 \u{2212}", "2 +", "2 \u{2212}", "250 W", "4 ohm for the amplifier"] {
        assert!(texts.contains(&word), "{word}: {texts:?}");
    }
    assert_eq!(turns(&bridged), 4);
}

/// From the plus of the amplifier every coil is reached along wires, and from the last one the minus.
#[test]
fn every_wire_ends_on_another() {
    for coils in [
        "a",
        "{series: [a.1, a.2]}",
        "{parallel: [{series: [a.1, {parallel: [a.2, b.1]}]}, {series: [b.2, c.1]}, c.2]}",
    ] {
        let drawing = of(&load("[1]", coils), "coils", "coils-bass");
        let wires = lines(&drawing, "speaker");
        let rings = drawing.shapes.iter().filter_map(|shape| match shape {
            Shape::Ring { at, .. } => Some(*at),
            _ => None,
        });
        let rings: Vec<Point> = rings.collect();
        let near = |one: Point, other: Point| (one.0 - other.0).abs() < 0.01 && (one.1 - other.1).abs() < 0.01;
        let on = |at: Point, wire: &[Point]| {
            wire.windows(2).any(|pair| {
                let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
                (at.0 - x0).abs() + (at.1 - y0).abs() + (at.0 - x1).abs() + (at.1 - y1).abs()
                    <= (x1 - x0).abs() + (y1 - y0).abs() + 0.02
            })
        };
        for (index, wire) in wires.iter().enumerate() {
            for end in [wire[0], wire[wire.len() - 1]] {
                let others = wires.iter().enumerate().filter(|(other, _)| *other != index);
                let meets =
                    others.into_iter().any(|(_, other)| on(end, other)) || rings.iter().any(|ring| near(end, *ring));
                assert!(meets, "{coils}: a wire ends at {end:?}");
            }
        }
    }
}

#[test]
fn eight_coils_fit_in_a_row_side_by_side_and_nested() {
    let all = ["a.1", "a.2", "b.1", "b.2", "c.1", "c.2", "d.1", "d.2"].join(", ");
    for coils in [
        format!("{{series: [{all}]}}"),
        format!("{{parallel: [{all}]}}"),
        "{series: [{parallel: [a.1, {series: [a.2, {parallel: [b.1, b.2]}]}]}, {parallel: [c.1, {series: [c.2, {parallel: [d.1, d.2]}]}]}]}".to_owned(),
    ] {
        for outputs in ["[1]", "[1, 2]", "[]", "[1, 2, 3]"] {
            let drawing = of(&load(outputs, &coils), "coils", "coils-bass");
            assert_eq!(slips(&drawing), Vec::<String>::new(), "{coils}");
            assert_eq!(turns(&drawing), 8, "{coils}");
        }
    }
    let many: Vec<String> = (0..40).map(|_| "a.1".to_owned()).collect();
    let missing = &drawn(&load("[1]", &format!("{{series: [{}]}}", many.join(", "))))[0].1.missing;
    assert_eq!(missing[0].why, "more coils in a row than fit on a sheet");
}

/// A plan in which everything that is named has this name, and the load refers to something else.
fn named(name: &str, other: &str) -> String {
    let other = |tail: &str| serde_json::to_string(&format!("{other}{tail}")).unwrap();
    let (amplifier, coil) = (other(""), other(".1"));
    format!(
        "plan: 1\nvehicle: {{voltage: 12 V, body: steel}}\namplifiers: {{{name}: {{class: D, channels: 1, rated: [{{load: 4 ohm, power: 300 \
         W}}]}}}}\ndrivers: {{{name}: {{enclosure: {name}, coils: [4 ohm], resonance: 30 Hz, total_q: 0.5, compliance_volume: 60 L}}}}\n\
         enclosures: {{{name}: {{kind: sealed, net_volume: 40 L}}}}\nloads:\n  {name}: {{amplifier: {name}, outputs: [1], coils: \
         {name}.1}}\n  other: {{amplifier: {amplifier}, outputs: [1], coils: {{series: [{coil}, {name}.1]}}}}\n\
         grounds: {{{name}: {{}}}}\nsettings: {{{name}: {{low_pass: 80 Hz}}}}\nwires:\n  {name}: {{from: battery.positive, to: {name}.power, \
         size: 4 AWG, length: 4 m, fuse: {{form: bolt-down, rating: 60 A, distance: 20 cm}}}}\n  back: {{from: {name}.ground, to: grounds.{name}, size: 4 AWG, \
         length: 1 m}}\n"
    )
}

/// Names are words: they neither close a tag nor crowd a drawing, however long.
#[test]
fn hostile_names_stay_words() {
    let long = "a-very-long-name-that-nobody-would-ever-give-to-anything-in-a-vehicle-at-all";
    for (name, other) in [
        ("amp", "<script>alert(1)</script>"),
        (long, "a very long name with gaps that nobody would ever give to anything in a vehicle at all"),
        ("front-2", "x\u{202e}y\u{7}"),
        ("n4", "a \" b&c'"),
    ] {
        let text = named(name, other);
        assert_eq!(plan::read(text.clone()).misreads, [], "{text}");
        let all = drawings(&text);
        let kinds: Vec<&str> = all.iter().map(|drawing| drawing.name.as_str()).collect();
        assert_eq!(all.len(), KINDS.len() + 1, "{name}: {kinds:?}");
        is_legible(name, &all);
        let svg: String = all.iter().map(|drawing| drawing.svg().into_string()).collect();
        assert!(!svg.contains("<script") && !svg.contains('\u{202e}') && !svg.contains('\u{7}'), "{svg}");
    }
}

fn tree() -> impl Strategy<Value = String> {
    let leaf = (prop::sample::select(vec!["a", "b", "c", "d"]), 1..=2_u8, any::<bool>())
        .prop_map(|(driver, number, reversed)| format!("{}{driver}.{number}", if reversed { "-" } else { "" }));
    leaf.prop_recursive(3, 8, 3, |inner| {
        (prop::collection::vec(inner, 1..=3), any::<bool>()).prop_map(|(parts, series)| {
            format!("{{{}: [{}]}}", if series { "series" } else { "parallel" }, parts.join(", "))
        })
    })
}

proptest! {
    #![proptest_config(cases::cases(48))]

    #[test]
    fn any_arrangement_of_up_to_eight_coils_is_legible(coils in tree(), bridged in any::<bool>()) {
        let drawn = &drawn(&load(if bridged { "[1, 2]" } else { "[1]" }, &coils))[0].1;
        for drawing in &drawn.drawings {
            prop_assert_eq!(slips(drawing), Vec::<String>::new());
        }
        prop_assert!(drawn.missing.is_empty() || coils.matches('.').count() > 8, "{:?}", drawn.missing);
    }

    /// Lengths, sizes, ratings and corners of any size, stated or not.
    #[test]
    fn any_numbers_are_legible(
        length in 0.05..30.0_f64, rating in 1.0..500.0_f64, watts in 5.0..3000.0_f64, size in prop::sample::select(vec!["18 AWG", "8 AWG", "4/0 AWG"]),
        corner in 5.0..9000.0_f64, litres in 1.0..400.0_f64, stated in any::<bool>(),
    ) {
        let known = if stated { "conductor: copper, insulation: 105 C, joint_resistance: 0.1 mohm," } else { "" };
        let text = format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, battery: {{capacity: 70 Ah}}}}\namplifiers: {{amp: {{class: D, channels: 1, rated: \
             [{{load: 4 ohm, power: {watts:.0} W}}]}}}}\ndrivers: {{sub: {{enclosure: box, coils: [4 ohm], rms: 300 W, resonance: 30 Hz, total_q: 0.5, \
             compliance_volume: 60 L}}}}\nenclosures: {{box: {{kind: {}, net_volume: {litres:.1} L, vent: {{diameter: 80 mm, length: {length:.2} m}}}}}}\n\
             loads: {{bass: {{amplifier: amp, outputs: [1], coils: sub}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, size: {size}, {known} \
             length: {length:.2} m, fuse: {{form: bolt-down, rating: {rating:.0} A, distance: 10 cm}}}}\n  back: {{from: amp.ground, to: \
             grounds.floor, size: {size}, length: 40 cm}}\ngrounds: {{floor: {{}}}}\nsettings: {{amp: {{low_pass: {corner:.0} Hz, high_pass: {:.0} Hz}}}}\n",
            if stated { "vented" } else { "sealed" }, corner / 3.0 + 1.0,
        );
        for drawing in drawings(&text) {
            prop_assert_eq!(slips(&drawing), Vec::<String>::new(), "{} of {}", drawing.name, text);
        }
    }
}

/// Writes a page with the drawings of some jobs, to be looked at: `LOOK=page.html cargo test --test plots -- --ignored`.
#[test]
#[ignore = "writes a page to be looked at"]
fn look() {
    const STYLE: &str = "body{font:14px system-ui,sans-serif;margin:16px;background:#fff;width:760px}figure{display:inline-block;margin:6px 4px;vertical-align:top}\
        figcaption{font-weight:600;font-size:13px}svg text{font-family:system-ui,sans-serif;fill:#222;paint-order:stroke;stroke:#fff;stroke-width:2.5px}\
        .line{fill:none;stroke:#222;stroke-linejoin:round}.shape{fill:#fff;stroke:#222}.dot{fill:#222}.band{opacity:.16;fill:#222;stroke:none}\
        .dashed{stroke-dasharray:7 4}.dotted{stroke-dasharray:1.5 3.5;stroke-linecap:round}.faint{stroke:#bbb}.words.faint{fill:#777;stroke:#fff}\
        .line.feed,.shape.feed{stroke:#b3261e}.band.feed,.dot.feed{fill:#b3261e}.words.feed{fill:#8c1d18}.line.return,.shape.return{stroke:#1a1a1a}\
        .line.speaker,.shape.speaker{stroke:#5b3a8c}.band.speaker,.dot.speaker{fill:#5b3a8c}.line.signal{stroke:#00639b}.band.signal,.dot.signal{fill:#00639b}\
        .words.signal{fill:#004a75}.line.danger{stroke:#b3261e}.words.danger{fill:#8c1d18}";
    let (Ok(page), wanted) = (std::env::var("LOOK"), std::env::var("JOBS").unwrap_or_else(|_| "j-2041".into())) else {
        return;
    };
    let mut html = format!("<!doctype html><meta charset=utf-8><style>{STYLE}</style>");
    for number in wanted.split(',') {
        let text = if let Some(coils) = number.strip_prefix("coils:") {
            load("[1, 2]", &coils.replace(';', ","))
        } else {
            job(number)
        };
        for (kind, drawn) in drawn(&text) {
            if !std::env::var("KINDS").map_or(true, |kinds| kinds.contains(kind)) {
                continue;
            }
            for drawing in drawn.drawings {
                let (title, svg) = (&drawing.title, drawing.svg().into_string());
                write!(html, "<figure><figcaption>{}</figcaption>{svg}</figure>", title.replace('<', "&lt;")).unwrap();
                println!("{}: {}", drawing.name, drawing.description);
            }
            println!("{:?}", drawn.missing);
        }
    }
    std::fs::write(page, html).unwrap();
}
