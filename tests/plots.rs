//! Plots and coil diagrams of the job sheet: legible, and true to what was solved.

#[path = "common/cases.rs"]
mod cases;
#[path = "plots/figures.rs"]
mod figures;
#[path = "plots/wired.rs"]
mod wired;

use std::fmt::Write as _;
use std::path::Path;

use proptest::prelude::*;
use testlamp::house::House;
use testlamp::judge::judge;
use testlamp::plan::{self, Reading};
use testlamp::report::plan_report;
use testlamp::sheet::plots;
use testlamp::sheet::{Area, Drawing, Drawn, Point, Shape, View, coils};
use testlamp::solve::Job;

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

fn lines(drawing: &Drawing, class: &str) -> Vec<Vec<Point>> {
    let is = |shape: &&Shape| matches!(shape, Shape::Line { ink, .. } if ink.class() == class);
    drawing.shapes.iter().filter(is).map(points).collect()
}

/// A plan in which everything that is named has this name, and the load refers to something else.
fn named(name: &str, other: &str) -> String {
    let amplifier = serde_json::to_string(other).unwrap();
    format!(
        "plan: 1\nvehicle: {{voltage: 12 V, body: steel}}\namplifiers: {{{name}: {{class: D, channels: 1, rated: [{{load: 4 ohm, power: 300 \
         W}}]}}}}\ndrivers: {{{name}: {{enclosure: {name}, coils: [4 ohm], resonance: 30 Hz, total_q: 0.5, compliance_volume: 60 L}}}}\n\
         enclosures: {{{name}: {{kind: sealed, net_volume: 40 L}}}}\nloads:\n  {name}: {{amplifier: {name}, outputs: [1], coils: \
         {name}.1}}\n  other: {{amplifier: {amplifier}, outputs: [1], coils: {{series: [nobody.1, {name}.1]}}}}\n\
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

proptest! {
    #![proptest_config(cases::cases(48))]

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
            wired::load("[1, 2]", &coils.replace(';', ","))
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
