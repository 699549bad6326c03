//! Drawings of the sheet: everything of a plan is on them, and nothing lies over something else.

#[path = "drawings/circuit.rs"]
mod circuit;
#[path = "drawings/generated.rs"]
mod generated;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use generated::{generated, plans};
use testlamp::house::House;
use testlamp::judge::judge_briefly;
use testlamp::plan::{self, Zone, ZoneKind};
use testlamp::report::{self, PlanReport};
use testlamp::rules;
use testlamp::sheet::{self, Area, Drawing, Ink, Shape};
use testlamp::solve::Job;

/// Both drawings of a plan, with its report.
fn drawn(text: &str) -> (Vec<Drawing>, PlanReport) {
    let reading = plan::read(text.to_owned());
    let house = House::default();
    let judgement = judge_briefly(&reading, &house, &rules::all());
    let report = report::plan_report("plan.yaml", &reading, &judgement);
    let job = Job::new(&reading.plan, &house);
    let view = sheet::View { reading: &reading, house: &house, job: &job, judgement: &judgement, report: &report };
    ([sheet::vehicle(&view), sheet::circuit(&view)].into_iter().flatten().collect(), report)
}

fn jobs() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(folder).expect("the jobs").map(|file| file.expect("a job").path()).collect();
    files.sort();
    files
}

/// All jobs of the workshop and plans of every size.
fn everything() -> Vec<String> {
    let jobs = jobs().into_iter().map(|file| std::fs::read_to_string(file).expect("the job"));
    jobs.chain(plans()).collect()
}

#[test]
fn generated_plans_can_be_read() {
    for text in plans() {
        let reading = plan::read(text.clone());
        // Some of the names are none: the plan is drawn all the same.
        let others = reading.misreads.iter().filter(|misread| !misread.what.ends_with("cannot be a name"));
        assert_eq!(others.count(), 0, "{:?}\n{text}", reading.misreads);
    }
}

#[test]
fn no_words_lie_over_others_or_outside() {
    for text in everything() {
        for drawing in drawn(&text).0 {
            assert_eq!(drawing.crowded(), Vec::<String>::new(), "{}:\n{text}", drawing.name);
        }
    }
}

/// Every text of a drawing.
fn words(drawing: &Drawing) -> Vec<&str> {
    let mut words = Vec::new();
    for shape in &drawing.shapes {
        if let Shape::Words { text, .. } = shape {
            words.push(text.as_str());
        }
    }
    words
}

fn points(shape: &Shape) -> Vec<(f64, f64)> {
    match shape {
        Shape::Line { points, .. } | Shape::Outline { points, .. } | Shape::Band { points, .. } => points.clone(),
        Shape::Block { at, .. } => vec![(at.left, at.top), (at.right(), at.bottom())],
        Shape::Ring { at, radius, .. } => vec![(at.0 - radius, at.1 - radius), (at.0 + radius, at.1 + radius)],
        Shape::Words { .. } => Vec::new(),
    }
}

#[test]
fn lines_and_boxes_stay_inside() {
    for text in everything() {
        for drawing in drawn(&text).0 {
            let outside = |(x, y): &(f64, f64)| *x < 0.0 || *y < 0.0 || *x > drawing.width || *y > drawing.height;
            let out = drawing.shapes.iter().find(|shape| points(shape).iter().any(outside));
            assert_eq!(out, None, "{}:\n{text}", drawing.name);
        }
    }
}

#[test]
fn things_do_not_lie_over_each_other_and_no_words_over_their_borders() {
    for text in everything() {
        for drawing in drawn(&text).0 {
            let boxes: Vec<Area> = drawing
                .shapes
                .iter()
                .filter_map(|shape| match shape {
                    Shape::Block { at, ink: Ink::Plain, .. } if at.height > 12.0 => Some(*at),
                    _ => None,
                })
                .collect();
            for (index, one) in boxes.iter().enumerate() {
                let over = boxes[index + 1..].iter().find(|other| one.overlaps(**other));
                assert_eq!(over, None, "{} over {one:?}:\n{text}", drawing.name);
            }
            for shape in &drawing.shapes {
                let Some(area) = shape.words_area() else { continue };
                let cut = boxes.iter().find(|at| at.overlaps(area) && !at.holds(area));
                assert_eq!(cut, None, "{}: {shape:?}:\n{text}", drawing.name);
            }
        }
    }
}

#[test]
fn every_wire_is_in_both_drawings_with_its_way_in_words() {
    for text in everything() {
        let reading = plan::read(text.clone());
        for drawing in drawn(&text).0 {
            let words = words(&drawing);
            for (name, wire) in &reading.plan.wires {
                let short: String = name.chars().take(7).collect();
                assert!(words.iter().any(|word| word.contains(&short)), "{}: {name}:\n{text}", drawing.name);
                assert!(drawing.description.contains(name.as_str()), "{}: {name}", drawing.description);
                let size = wire.size.map(|size| size.to_string()).unwrap_or_default();
                assert!(drawing.description.contains(&size), "{}: {size}", drawing.description);
            }
        }
    }
}

/// Every name of a plan.
fn names(plan: &plan::Plan) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    names.extend(plan.amplifiers.keys().chain(plan.blocks.keys()).chain(plan.sources.keys()).cloned());
    names.extend(plan.blocks.values().flat_map(|block| block.outputs.keys()).cloned());
    names.extend(plan.batteries.keys().chain(plan.isolators.keys()).chain(plan.converters.keys()).cloned());
    names.extend(plan.grounds.keys().chain(plan.wires.keys()).chain(plan.turn_on.keys()).cloned());
    names.extend(plan.signals.keys().chain(plan.loads.keys()).chain(plan.drivers.keys()).cloned());
    names.extend(plan.signals.values().filter_map(|signal| signal.to.as_ref()).map(|to| to.terminal.clone()));
    names
}

#[test]
fn names_of_ordinary_length_are_whole() {
    const ORDINARY: usize = 24;
    for text in everything() {
        let reading = plan::read(text.clone());
        let long = names(&reading.plan).into_iter().filter(|name| name.chars().count() > ORDINARY).collect::<Vec<_>>();
        for drawing in &drawn(&text).0 {
            // Rows of one thing follow each other; a size stays with the name that it belongs to.
            let all = words(drawing).concat();
            for name in names(&reading.plan).iter().filter(|name| name.chars().count() <= ORDINARY) {
                let is_told = drawing.description.contains(name.as_str());
                assert!(!is_told || all.contains(name.as_str()), "{}: {name}: {all}\n{text}", drawing.name);
            }
            if drawing.name != "circuit" {
                continue;
            }
            for cut in words(drawing).into_iter().filter_map(|word| word.strip_suffix('…')) {
                let part = cut.rsplit([' ', '\u{a0}']).next().unwrap_or_default();
                assert!(long.iter().any(|name| name.contains(part)), "{cut}…\n{text}");
            }
        }
    }
}

#[test]
fn no_figure_is_cut_within_itself() {
    for text in everything() {
        for drawing in drawn(&text).0.iter().filter(|drawing| drawing.name == "circuit") {
            let cut = words(drawing)
                .into_iter()
                .find(|word| word.contains('\u{a0}') && word.ends_with('…') && !word.ends_with(" …"));
            assert_eq!(cut, None, "{text}");
        }
    }
}

/// Six amplifiers with sixteen drivers are drawn higher than a page: on paper in pieces, each no higher than one.
#[test]
fn a_drawing_that_is_higher_than_a_page_is_cut_between_words_and_boxes() {
    let (drawings, _) = drawn(&generated(6, 16, 1));
    let tall: Vec<&Drawing> = drawings.iter().filter(|drawing| !drawing.cuts().is_empty()).collect();
    assert!(
        !tall.is_empty(),
        "{:?}",
        drawings.iter().map(|drawing| drawing.height / drawing.width).collect::<Vec<_>>()
    );
    for drawing in tall {
        let cuts = drawing.cuts();
        assert_eq!((cuts[0].0, cuts[cuts.len() - 1].1), (0.0, drawing.height));
        assert!(cuts.windows(2).all(|pair| pair[0].1 == pair[1].0), "nothing is left out: {cuts:?}");
        assert!(cuts.iter().all(|(top, bottom)| bottom - top <= drawing.width * 1.25), "{cuts:?}");
        for (_, cut) in &cuts {
            let through = drawing
                .shapes
                .iter()
                .filter_map(Shape::words_area)
                .filter(|area| area.top < *cut && *cut < area.bottom());
            assert_eq!(through.count(), 0, "words are cut at {cut}");
        }
        assert_eq!(drawing.pieces().len(), cuts.len());
    }
}

#[test]
fn every_finding_has_its_mark_in_both_drawings() {
    for text in everything() {
        let (drawings, report) = drawn(&text);
        for drawing in &drawings {
            let words = words(drawing);
            for found in &report.findings {
                let marked = words.iter().any(|word| word.starts_with(found.rule.code));
                assert!(marked, "{}: {} at {}:\n{text}", drawing.name, found.rule.code, found.at.path);
            }
        }
    }
}

/// The first thing to look for in a vehicle is its main fuse.
#[test]
fn a_fuse_stands_with_its_wire_where_it_sits_in_the_vehicle() {
    let text = "plan: 1\nvehicle: {battery: {location: engine-bay}}\namplifiers: {amp: {location: cargo}}\nblocks: {rear: {location: cargo, \
                outputs: {one: {fuse: {rating: 40 A}}}}}\nwires:\n  main: {from: battery.positive, to: rear.in, path: [engine-bay, \
                left-sill, cargo], fuse: {rating: 60 A, distance: 20 cm}}\n  feed: {from: rear.one, to: amp.power}\nloads: {doors: \
                {amplifier: amp}}\n";
    let (drawings, _) = drawn(text);
    let words: Vec<String> =
        words(&drawings[0]).into_iter().map(|words| words.replace('\u{a0}', " ").replace('\u{2060}', "")).collect();
    let has = |wanted: &str| words.iter().any(|words| words == wanted);
    assert!(has("main, fuse 60 A at 20 cm") && has("main") && has("feed, fuse 40 A") && has("feed"), "{words:?}");
    assert!(has("speaker leads that are only in the circuit: doors"), "{words:?}");
}

#[test]
fn a_capacitor_stands_where_it_sits_and_in_the_circuit_with_what_it_holds() {
    let text = "plan: 1\nvehicle: {battery: {location: engine-bay}}\namplifiers: {amp: {location: cargo}}\ngrounds: {floor: \
                {location: cargo}}\ncapacitors: {buffer: {location: cargo, capacitance: 2 F}}\nwires:\n  main: {from: \
                battery.positive, to: buffer.power}\n  feed: {from: buffer.power, to: amp.power}\n  down: {from: buffer.ground, \
                to: grounds.floor}\nmounts: {buffer: {on: loose}}\n";
    let (drawings, _) = drawn(text);
    for drawing in &drawings {
        let words: Vec<String> = words(drawing).into_iter().map(|words| words.replace('\u{a0}', " ")).collect();
        let has = |wanted: &str| words.iter().any(|words| words == wanted);
        assert!(has("buffer") && has("2 F"), "{}: {words:?}", drawing.name);
        assert!(words.iter().all(|words| !words.contains("not in the plan")), "{}: {words:?}", drawing.name);
    }
    // Its plates are the only two upright strokes of this length.
    let plates = drawings[1].shapes.iter().filter(|shape| match shape {
        Shape::Line { points, .. } => points.len() == 2 && (points[1].1 - points[0].1 - 11.0).abs() < 0.01,
        _ => false,
    });
    assert_eq!(plates.count(), 3, "two plates, and one of the battery's");
}

#[test]
fn every_stated_crossing_is_marked_with_a_word() {
    for text in everything() {
        let reading = plan::read(text.clone());
        let Some(vehicle) = drawn(&text).0.into_iter().find(|drawing| drawing.name == "vehicle") else { continue };
        let marked = |zone: &Zone| {
            let word = zone.word().replace('-', " ");
            words(&vehicle).iter().filter(|words| words.contains(&format!(": {word}"))).count()
        };
        let mut stated: BTreeMap<Zone, usize> = BTreeMap::new();
        for wire in reading.plan.wires.values() {
            for zone in wire.path.iter().filter(|zone| zone.kind() == ZoneKind::Crossing) {
                *stated.entry(*zone).or_default() += 1;
            }
        }
        for (zone, count) in stated {
            assert!(marked(&zone) >= count, "{zone:?}: {} of {count}:\n{text}", marked(&zone));
        }
    }
}

/// What stands back to either side of the body: wheels, mirrors, grips.
fn beside(drawing: &Drawing) -> usize {
    let faint = drawing
        .shapes
        .iter()
        .filter(|shape| matches!(shape, Shape::Block { ink: Ink::Faint, .. } | Shape::Outline { ink: Ink::Faint, .. }));
    faint.filter(|shape| points(shape).iter().any(|(x, _)| *x < 23.0 || *x > drawing.width - 23.0)).count()
}

#[test]
fn a_vehicle_is_drawn_as_what_its_words_say_and_as_nothing_where_they_do_not() {
    let plan = |summary: &str| {
        let wires = "wires: {main: {from: battery.positive, to: amp.positive, path: [under-seat, cargo]}}";
        format!(
            "plan: 1\nvehicle: {{summary: \"{summary}\", battery: {{location: under-seat}}}}\n\
             amplifiers: {{amp: {{location: cargo}}}}\n{wires}\n"
        )
    };
    let vehicle = |summary: &str| drawn(&plan(summary)).0.remove(0);
    // Four wheels and two mirrors; grips and foot rests, and no seats; nothing that would say what it is.
    let [car, motorcycle, boat] = ["estate car", "motorcycle, two panniers", "open boat"].map(vehicle);
    assert_eq!([&car, &motorcycle, &boat].map(beside), [6, 4, 0]);
    let faint = |drawing: &Drawing| {
        drawing.shapes.iter().filter(|shape| matches!(shape, Shape::Block { ink: Ink::Faint, .. })).count()
    };
    assert!(faint(&motorcycle) < faint(&car) && faint(&boat) < faint(&motorcycle));
    assert!(boat.height < motorcycle.height, "the wheels before and behind have room");
    assert_eq!([&car, &motorcycle, &boat].map(|drawing| words(drawing).contains(&"front")), [true; 3]);
}

#[test]
fn the_same_plan_is_drawn_the_same() {
    for text in everything().into_iter().take(6) {
        assert_eq!(drawn(&text).0, drawn(&text).0);
    }
}

#[test]
fn a_plan_of_nothing_has_no_drawings_and_a_little_of_one_is_drawn() {
    assert_eq!(drawn("plan: 1\n").0, []);
    let (drawings, _) = drawn("plan: 1\nwires: {main: {from: battery.positive, path: [engine-bay, firewall]}}\n");
    assert_eq!(drawings.len(), 2);
    assert!(drawings.iter().all(|drawing| words(drawing).iter().any(|word| word.contains("main"))));
}

/// Enough of a style to look at drawings.
const STYLE: &str = "body{margin:0;background:#fff;font-family:system-ui,sans-serif}svg{display:block}
.line,.shape{fill:none;stroke:currentColor}.shape{fill:#fff;stroke-width:1.2}.dot,.words{fill:currentColor}
.line{stroke-linejoin:round}.dashed{stroke-dasharray:9 4}.dotted{stroke-dasharray:1.5 3}.chain{stroke-dasharray:8 2.5 1.5 2.5}.short{stroke-dasharray:4 2}
.plain{color:#222}.faint{color:#bbb}.words.faint{color:#777}.shape.faint{fill:none}.shape.faint:first-of-type{fill:#fff}
.feed{color:#c0281c}.return{color:#333}.turn-on{color:#1f5fbf}.signal{color:#23803a}.speaker{color:#8a5a00}
.danger{color:#b00020}.fault{color:#b35c00}.advice{color:#34609a}.open{color:#6a4fa3}
.shape.danger,.shape.fault{fill:currentColor}";

/// Writes the drawings of a plan as a page: `LOOK=FOLDER PLAN=FILE cargo test --test drawings look -- --ignored`.
#[test]
#[ignore = "writes pages to look at"]
fn look() {
    let folder = PathBuf::from(std::env::var("LOOK").expect("a folder"));
    for (amplifiers, drivers, salt) in [(6, 16, 1), (6, 16, 2), (6, 12, 3), (4, 8, 5)] {
        let text = generated(amplifiers, drivers, salt);
        std::fs::write(folder.join(format!("generated-{amplifiers}-{drivers}-{salt}.yaml")), text).expect("the plan");
    }
    let mut plans = jobs();
    plans.extend(
        std::fs::read_dir(&folder)
            .expect("the folder")
            .map(|file| file.expect("a file").path())
            .filter(|file| file.extension().is_some_and(|end| end == "yaml")),
    );
    for plan in plans {
        let (drawings, _) = drawn(&std::fs::read_to_string(&plan).expect("the plan"));
        for drawing in drawings {
            let page =
                format!("<!doctype html><meta charset=utf-8><style>{STYLE}</style>{}", drawing.svg().into_string());
            let stem = plan.file_stem().expect("a name").to_string_lossy().into_owned();
            println!("{stem} {} {} {:?}", drawing.name, drawing.height, drawing.crowded());
            std::fs::write(folder.join(format!("{stem}.{}.html", drawing.name)), page).expect("the page");
        }
    }
}
