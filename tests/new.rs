//! A draft checks clean but for what is to be found out, is the same whether asked for or said in flags, and replaces
//! nothing.

mod common;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use testlamp::house::House;
use testlamp::judge::{Outcome, judge_briefly};
use testlamp::plan::{Airbags, Body, HighVoltage, Shelf, Shelves, Stage, SystemVoltage, Zone, read_with};
use testlamp::rules;
use testlamp::start::{self, Facts, Side, draft};
use testlamp::text::{Limits, parse};

fn shelves() -> Arc<Shelves> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/shelf/gear.yaml");
    let text = fs::read_to_string(path).expect("the shelf");
    let (tree, _) = parse(&text, Limits::default());
    Arc::new(Shelves { files: vec![Shelf { path: "shelf/gear.yaml".into(), text, tree }] })
}

/// The codes of what fails in a draft; it must be readable as a plan, and a draft.
fn failing(facts: &Facts) -> (Vec<String>, String) {
    let shelves = shelves();
    let text = draft(facts, &shelves).unwrap_or_else(|why| panic!("{why}: {facts:?}"));
    let reading = read_with(text.clone(), &shelves);
    assert!(reading.misreads.is_empty(), "{:?}\n{text}", reading.misreads);
    assert_eq!(reading.plan.stage(), Stage::Draft);
    let judgement = judge_briefly(&reading, &House::default(), &rules::all());
    assert!(judgement.checks.iter().all(|check| !check.broke));
    let failed = judgement.checks.iter().filter(|check| check.outcome == Outcome::Fail);
    let told = failed.map(|check| {
        format!("{} {}: {}", check.rule.code, check.subject, check.finding.as_ref().map_or("", |f| f.title.as_str()))
    });
    (told.collect(), text)
}

/// What fails in any of many drafts, each finding once, with the facts that it was seen with first.
#[derive(Default)]
struct Seen(BTreeMap<String, String>);

impl Seen {
    fn look(&mut self, facts: &Facts) {
        for failed in failing(facts).0 {
            self.0.entry(failed).or_insert_with(|| format!("{facts:?}"));
        }
    }
}

impl Drop for Seen {
    fn drop(&mut self) {
        assert!(self.0.is_empty() || std::thread::panicking(), "{:#?}", self.0);
    }
}

/// Amplifiers with drivers that go together.
fn systems() -> Vec<Facts> {
    let systems: &[(&[&str], &[&str])] = &[
        (&[], &[]),
        (&[], &["sub: subwoofer, 4 ohm + 4 ohm, 500 W"]),
        (&["amp"], &[]),
        (&["amp"], &["sub"]),
        (&["amp: 1 channel, in cargo"], &["sub: subwoofer, 4 ohm + 4 ohm"]),
        (&["amp: in cargo"], &["sub: subwoofer, 2 ohm + 2 ohm, 300 W, 2 pieces"]),
        (&["amp: 1 x 500 W at 2 ohm, in cargo"], &["sub: subwoofer, 4 ohm + 4 ohm, 500 W"]),
        (&["amp: 1 x 500 W at 2 ohm, in spare-well"], &["sub: subwoofer, 4 ohm + 4 ohm, 300 W"]),
        (&["amp: 1 x 300 W at 4 ohm, in under-seat"], &["sub: subwoofer, 2 ohm + 2 ohm, 300 W"]),
        (&["amp: 1 x 800 W at 1 ohm, in rear-seat"], &["sub: subwoofer, 4 ohm, 200 W, 4 pieces"]),
        (&["amp: 2 x 100 W at 4 ohm, in dash"], &["door: full-range, 4 ohm, 100 W, 2 pieces"]),
        (&["amp: 2 x 100 W at 4 ohm, in cabin-floor"], &["door: full-range, 8 ohm, 50 W, 4 pieces"]),
        (
            &["amp: 4 x 75 W at 4 ohm, in left-footwell"],
            &["front: full-range, 4 ohm, 80 W, 2 pieces", "rear: woofer, 4 ohm, 80 W, 2 pieces"],
        ),
        (&["amp: 4 channels, in right-footwell"], &["front: woofer, 4 ohm, 2 pieces", "sub: subwoofer, 4 ohm, 200 W"]),
        (
            &["amp: 4 x 75 W at 4 ohm + 1 x 300 W at 2 ohm, in cargo"],
            &["sub: subwoofer, 4 ohm + 4 ohm, 300 W", "door: full-range, 4 ohm, 80 W, 4 pieces"],
        ),
        (
            &["amp: 4 x 75 W + 2 x 150 W at 2 ohm, in cargo"],
            &["door: full-range, 4 ohm, 80 W, 2 pieces", "sub: subwoofer, 2 ohm, 150 W, 2 pieces"],
        ),
        (
            &["amp: 4 x 50 W at 4 ohm, in under-seat"],
            &["low: woofer, 4 ohm, 60 W, 2 pieces", "high: tweeter, 4 ohm, 60 W, 2 pieces"],
        ),
        (&["bass: shelf mono-500, in cargo"], &["sub: shelf sub-12-dual"]),
        (&["bass: shelf mono-500"], &["sub: shelf sub-12-dual"]),
        (
            &["bass: 1 x 500 W at 2 ohm, in cargo", "front: 4 x 75 W at 4 ohm, in under-seat"],
            &["sub: subwoofer, 4 ohm + 4 ohm, 500 W, on bass", "door: full-range, 4 ohm, 80 W, 4 pieces, on front"],
        ),
        (
            &["bass: shelf mono-500, in cargo", "more: shelf mono-500-lab, in cargo", "front"],
            &[
                "sub: shelf sub-12-dual, on bass",
                "second: shelf sub-12-dual, on more",
                "door: 4 ohm, 2 pieces, on front",
            ],
        ),
    ];
    let facts = |(amplifiers, drivers): &(&[&str], &[&str])| Facts {
        amplifiers: amplifiers.iter().map(|said| start::amplifier(said).expect("an amplifier")).collect(),
        drivers: drivers.iter().map(|said| start::driver(said).expect("a driver")).collect(),
        ..Facts::default()
    };
    systems.iter().map(facts).collect()
}

#[test]
fn every_combination_checks_clean_but_for_what_is_to_be_found_out() {
    let bodies = [None, Some(Body::Steel), Some(Body::Aluminium), Some(Body::Composite)];
    let batteries = [
        None,
        Some(Zone::EngineBay),
        Some(Zone::Cargo),
        Some(Zone::SpareWell),
        Some(Zone::UnderSeat),
        Some(Zone::RearSeat),
        Some(Zone::CabinFloor),
        Some(Zone::Underbody),
    ];
    let high = [None, Some(HighVoltage::None), Some(HighVoltage::Hybrid), Some(HighVoltage::Electric)];
    let airbags = [
        None,
        Some(Airbags::None),
        Some(Airbags::Front),
        Some(Airbags::FrontAndSide),
        Some(Airbags::FrontSideAndCurtain),
    ];
    let voltages = [None, Some(SystemVoltage::Twelve), Some(SystemVoltage::TwentyFour)];
    let sides = [None, Some(Side::Left), Some(Side::Right)];
    let mut seen = Seen::default();
    let mut turn = 0_usize;
    for system in systems() {
        for body in bodies {
            for battery in batteries {
                // Whatever does not change how the draft is laid out takes turns.
                turn += 1;
                let alternator =
                    (!turn.is_multiple_of(3)).then(|| testlamp::quantity::Quantity::read("150 A").expect("a current"));
                seen.look(&Facts {
                    body,
                    battery,
                    high_voltage: high[turn % 4],
                    airbags: airbags[turn % 5],
                    voltage: voltages[turn / 4 % 3],
                    side: sides[turn / 2 % 3],
                    alternator,
                    vehicle: Some("estate car".into()),
                    capacitor: turn.is_multiple_of(2),
                    ..system.clone()
                });
            }
        }
    }
}

#[test]
fn amplifiers_anywhere_and_a_vehicle_from_the_shelf_check_clean() {
    let zones =
        ["cargo", "under-seat", "rear-seat", "spare-well", "cabin-floor", "dash", "left-footwell", "right-footwell"];
    let mut seen = Seen::default();
    for one in zones {
        for other in zones {
            let said = [format!("bass: 1 x 500 W at 2 ohm, in {one}"), format!("front: 4 channels, in {other}")];
            seen.look(&Facts {
                vehicle_shelf: Some("van-grey".into()),
                amplifiers: said.iter().map(|said| start::amplifier(said).expect("an amplifier")).collect(),
                drivers: vec![start::driver("sub: subwoofer, 4 ohm + 4 ohm, 500 W, on bass").expect("a driver")],
                ..Facts::default()
            });
        }
    }
}

#[test]
fn coils_are_joined_for_the_amplifier_and_held_to_what_they_take() {
    let said = |amplifier: &str, driver: &str| {
        let facts = Facts {
            amplifiers: vec![start::amplifier(amplifier).expect("an amplifier")],
            drivers: vec![start::driver(driver).expect("a driver")],
            ..Facts::default()
        };
        draft(&facts, &shelves()).expect("a draft")
    };
    let parallel = said("amp: 1 x 500 W at 2 ohm", "sub: subwoofer, 4 ohm + 4 ohm, 500 W");
    assert!(
        parallel.contains("coils: {parallel: [sub.1, sub.2]}") && parallel.contains("gain_target: 31.6 V"),
        "{parallel}"
    );
    let series = said("amp: 1 x 300 W at 4 ohm", "sub: subwoofer, 2 ohm + 2 ohm, 300 W");
    assert!(series.contains("coils: {series: [sub.1, sub.2]}"), "{series}");
    // 300 W into 2 ohm are sqrt(600) = 24.49 V; the meter's three digits stay below.
    let held = said("amp: 1 x 500 W at 2 ohm", "sub: subwoofer, 4 ohm + 4 ohm, 300 W");
    assert!(held.contains("gain_target: 24.4 V"), "{held}");
    let four = said("amp: 4 x 75 W at 4 ohm", "door: full-range, 4 ohm, 80 W, 4 pieces");
    assert!(["[1]", "[2]", "[3]", "[4]"].iter().all(|output| four.contains(&format!("outputs: {output}"))), "{four}");
}

fn run(folder: &Path, arguments: &[&str], answers: &str) -> (i32, String, String) {
    common::ended(common::program(folder, &["new"]).args(arguments).write_stdin(answers))
}

const FLAGS: [&str; 25] = [
    "--number",
    "J-2101",
    "--summary",
    "Bass for a van: two boxes",
    "--vehicle",
    "panel van",
    "--voltage",
    "24 V",
    "--body",
    "aluminium",
    "--high-voltage",
    "none",
    "--airbags",
    "front",
    "--battery",
    "engine-bay",
    "--alternator",
    "110 A",
    "--side",
    "left",
    "--amplifier",
    "bass-amp: 1 x 500 W at 2 ohm, in cargo",
    "--capacitor",
    "--driver",
    "sub: subwoofer, 4 ohm, 250 W, 2 pieces",
];

#[test]
fn questions_and_flags_come_to_the_same_draft() {
    let place = tempfile::tempdir().expect("a folder");
    let mut said = vec!["said.yaml"];
    said.extend(FLAGS);
    let (status, out, told) = run(place.path(), &said, "");
    assert_eq!((status, told.as_str()), (0, ""));
    assert!(
        out.contains("said.yaml is a draft") && out.contains("facts to find out") && !out.contains("does not fit"),
        "{out}"
    );
    let answers = "J-2101\nBass for a van: two boxes\npanel van\n24 V\naluminium\nnone\nfront\nengine-bay\n110 A\nleft\n\
                   bass-amp\n1 x 500 W at 2 ohm\ncargo\n\nperhaps\ny\nsub\nsubwoofer\n4 ohm\n250 W\n2\n\n";
    let (status, _, questions) = run(place.path(), &["asked.yaml", "--ask"], answers);
    assert_eq!(status, 0, "{questions}");
    assert!(
        questions.starts_with("One line for each question") && questions.contains("alternator (like 110 A): "),
        "{questions}"
    );
    let read = |name: &str| fs::read_to_string(place.path().join(name)).expect("a draft");
    assert_eq!(read("said.yaml"), read("asked.yaml"));
    assert!(questions.contains("`perhaps` is neither; write yes or no"), "{questions}");
    assert!(read("said.yaml").contains("  - airbags: wait\n"));
    assert_eq!(run(place.path(), &[&["-"], &FLAGS[..]].concat(), "").1, read("said.yaml"));
}

#[test]
fn a_wrong_answer_is_asked_again_and_an_end_leaves_the_rest_open() {
    let place = tempfile::tempdir().expect("a folder");
    let (status, _, questions) =
        run(place.path(), &["a.yaml", "--ask"], "\n\n\n13 V\n12\nplastic\nSteel\nno\nfront and side\nengine bay\n");
    assert_eq!(status, 0);
    assert_eq!(questions.matches("system voltage (").count(), 2, "{questions}");
    assert!(
        questions.contains("`plastic` is no body that a plan knows; write steel, aluminium or composite"),
        "{questions}"
    );
    let text = fs::read_to_string(place.path().join("a.yaml")).expect("a draft");
    assert!(text.contains("voltage: 12 V") && text.contains("body: steel") && text.contains("  number:\n"), "{text}");
    assert!(text.contains("high_voltage: none") && text.contains("airbags: front-and-side"), "{text}");
    assert!(text.contains("location: engine-bay"), "{text}");
    // Without facts and without a terminal nothing is asked.
    let (status, _, questions) = run(place.path(), &["b.yaml"], "J-1\n");
    assert_eq!((status, questions.as_str()), (0, ""));
    assert!(!fs::read_to_string(place.path().join("b.yaml")).expect("a draft").contains("J-1"));
}

/// The supply leads over the capacitor, and so does a return of cable; it is charged before the feed is closed.
#[test]
fn a_capacitor_stands_between_the_feed_and_the_first_amplifier() {
    let of = |body: Body, amplifiers: &[&str]| {
        let facts = Facts {
            body: Some(body),
            battery: Some(Zone::EngineBay),
            amplifiers: amplifiers.iter().map(|said| start::amplifier(said).expect("an amplifier")).collect(),
            capacitor: true,
            ..Facts::default()
        };
        let text = draft(&facts, &shelves()).expect("a draft");
        let plan = read_with(text.clone(), &shelves()).plan;
        let joined = |name: &str| {
            let wire = &plan.wires[name];
            let end =
                |end: &Option<testlamp::plan::Terminal>| end.as_ref().map(ToString::to_string).unwrap_or_default();
            format!("{} {}", end(&wire.from), end(&wire.to))
        };
        assert!(text.find("- charge: buffer") < text.find("- battery: reconnect"), "{text}");
        plan.wires.keys().map(|name| joined(name)).collect::<Vec<_>>()
    };
    let one = &["amp: 1 channel, in cargo"][..];
    assert_eq!(
        of(Body::Steel, one),
        [
            "buffer.power amp.power",
            "buffer.ground grounds.chassis",
            "battery.positive buffer.power",
            "amp.ground grounds.chassis"
        ]
    );
    assert_eq!(
        of(Body::Composite, one),
        [
            "buffer.power amp.power",
            "amp.ground buffer.ground",
            "battery.positive buffer.power",
            "buffer.ground battery.negative"
        ]
    );
    let two = of(Body::Composite, &["amp: 1 channel, in cargo", "front: 4 channels, in cargo"]);
    assert!(two.contains(&"split.amp buffer.power".to_owned()) && two.contains(&"split.front front.power".to_owned()));
    assert!(
        two.contains(&"buffer.ground returns.amp".to_owned()) && two.contains(&"front.ground returns.front".to_owned())
    );
    let named = Facts {
        amplifiers: vec![start::amplifier("buffer: 1 channel").expect("an amplifier")],
        capacitor: true,
        ..Facts::default()
    };
    assert!(draft(&named, &shelves()).is_err_and(|why| why.contains("`buffer` would stand for two things")));
}

/// As in a flag, on one line of the questions; what it leaves out is asked where a draft cannot do without.
#[test]
fn gear_is_said_on_one_line_too() {
    let place = tempfile::tempdir().expect("a folder");
    let answers = "\n\n\n\n\n\n\n\n\n\nbass: 1 x 500 W at 2 ohm, in under seat\nquad: 4 channels\n\n\nsub: subwoofer, 4 ohm + \
                   4 ohm\nbass\n";
    let (status, told, questions) = run(place.path(), &["a.yaml", "--ask"], answers);
    assert_eq!(status, 0, "{questions}");
    assert!(
        told.contains("to find out") && questions.contains("on which amplifier (bass or quad"),
        "{told}{questions}"
    );
    let text = fs::read_to_string(place.path().join("a.yaml")).expect("a draft");
    assert!(text.contains("rated: [{load: 2 ohm, power: 500 W}]") && text.contains("location: under-seat"), "{text}");
    // Without an amplifier there is nothing to count yet.
    let (_, told, _) = run(place.path(), &["b.yaml", "--ask"], "J-1\n");
    assert!(told.contains("without an amplifier"), "{told}");
}

/// What is said of the second kind of channels goes into a section, and the subwoofer to the channel that gives most.
#[test]
fn channels_that_are_not_alike_are_said_as_the_trade_says_them() {
    let place = tempfile::tempdir().expect("a folder");
    let said =
        ["--amplifier", "quint: 4 x 75 W + 1 x 300 W at 2 ohm", "--driver", "sub: subwoofer, 4 ohm + 4 ohm, 400 W"];
    let doors = ["--driver", "door: full-range, 4 ohm, 80 W, 2 pieces"];
    let (status, _, told) = run(place.path(), &[&["a.yaml"], &said[..], &doors[..]].concat(), "");
    assert_eq!(status, 0, "{told}");
    let text = fs::read_to_string(place.path().join("a.yaml")).expect("a draft");
    let plan = testlamp::plan::read(text.clone()).plan;
    let quint = &plan.amplifiers["quint"];
    assert_eq!((quint.channels, quint.rated.len()), (Some(5), 0), "{text}");
    assert!(text.contains("# 75 W into which load?"), "{text}");
    let bass = &quint.sections["output-5"];
    assert_eq!((bass.outputs.as_slice(), bass.rated[0].power.base()), (&[5][..], 300.0), "{text}");
    let outputs: Vec<_> = ["door-1", "door-2", "sub"].iter().map(|name| plan.loads[*name].outputs.clone()).collect();
    assert_eq!(outputs, [vec![1], vec![2], vec![5]], "{text}");
}

#[test]
fn the_shelf_of_the_house_is_offered_and_taken_from() {
    let place = tempfile::tempdir().expect("a folder");
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    fs::create_dir(place.path().join("shelf")).expect("a folder");
    for file in ["house.yaml", "shelf/gear.yaml"] {
        fs::copy(examples.join(file), place.path().join(file)).expect("a copy");
    }
    let answers = "\n\nvan-grey\n\n\n\n\n\n\n\n\nbass\nmono-5\nmono-500\ncargo\n\nno\nsub\nsub-12-dual\n\n\n";
    let (status, _, questions) = run(place.path(), &["a.yaml", "--ask"], answers);
    assert_eq!(status, 0, "{questions}");
    assert!(questions.contains("from the shelf (there: mono-500 and mono-500-lab)"), "{questions}");
    assert!(questions.contains("`mono-5` is not on the shelf"), "{questions}");
    let flags = [
        "--vehicle-shelf",
        "van-grey",
        "--amplifier",
        "bass: shelf mono-500, in cargo",
        "--driver",
        "sub: shelf sub-12-dual",
    ];
    run(place.path(), &[&["b.yaml"], &flags[..]].concat(), "");
    let read = |name: &str| fs::read_to_string(place.path().join(name)).expect("a draft");
    assert_eq!(read("a.yaml"), read("b.yaml"));
    let (status, _, told) = run(place.path(), &["c.yaml", "--amplifier", "bass: shelf mono-50"], "");
    assert!(status == 2 && told.contains("did you mean `mono-500`?"), "{told}");
    assert!(!place.path().join("c.yaml").exists());
}

#[test]
fn hostile_words_are_quoted_or_refused_with_a_sentence() {
    let place = tempfile::tempdir().expect("a folder");
    let words =
        ["a: b", "# no remark", "x # y", "- 1", "{a: [}", "'", "\"", "null", "007", "&a *b", "\\n", "${HOME} `ls`"];
    for (at, hostile) in words.iter().enumerate() {
        let file = format!("{at}.yaml");
        let (status, _, told) =
            run(place.path(), &[&file, &format!("--number={hostile}"), &format!("--vehicle={hostile}")], "");
        assert_eq!(status, 0, "{hostile}: {told}");
        let text = fs::read_to_string(place.path().join(&file)).expect("a draft");
        let reading = testlamp::plan::read(text.clone());
        assert!(reading.misreads.is_empty(), "{text}");
        assert_eq!(reading.plan.job.and_then(|job| job.number).as_deref(), Some(*hostile), "{text}");
        assert_eq!(reading.plan.vehicle.and_then(|vehicle| vehicle.summary).as_deref(), Some(*hostile), "{text}");
    }
    for (flag, value, sentence) in [
        ("--number", "a\u{1b}[31m", "cannot be seen"),
        ("--summary", "two\nlines", "cannot be seen"),
        ("--summary", "  ", "write a few words"),
        ("--amplifier", "a b", "cannot be a name"),
        ("--amplifier", "a.b", "cannot be a name"),
        ("--amplifier", "", "cannot be a name"),
        ("--amplifier", "../x", "cannot be a name"),
        ("--amplifier", "null", "means something else"),
        ("--amplifier", "battery", "means something else"),
        ("--amplifier", "radio", "would stand for two things"),
        ("--amplifier", "a: 0 x 500 W at 2 ohm", "no number of channels"),
        ("--amplifier", "a: 1 x 0 W at 2 ohm", "is nothing"),
        ("--amplifier", "a: 4 x 75 W + loud", "`loud` is no output"),
        ("--amplifier", "a: 4 x 75 W, 1 x 300 W", "was said already"),
        ("--amplifier", "a: 15 x 75 W + 2 x 300 W", "17 channels on one amplifier are too many"),
        ("--amplifier", "a: in exhaust", "where an amplifier can be planned"),
        ("--amplifier", "a: in cargo, in dash", "was said already"),
        ("--amplifier", "a: loud", "cannot be taken of an amplifier here"),
        ("--driver", "s: 4 ohm, on nothing", "no amplifier is called that"),
        ("--driver", "s: 4ohm", "needs a space"),
        ("--driver", "s: 0 x 4 ohm", "no number of coils"),
        ("--driver", "s: subwoofer, 4 ohm, 9 pieces", "plan more channels"),
        ("--voltage", "48 V", "write 12 V or 24 V"),
        ("--battery", "roof", "where a battery sits"),
        ("--side", "up", "write left or right"),
    ] {
        let (status, out, told) = run(place.path(), &["x.yaml", flag, value], "");
        assert_eq!((status, out.as_str()), (2, ""), "{flag} {value}: {told}");
        assert!(told.contains(sentence), "{flag} {value}: {told}");
        assert!(!place.path().join("x.yaml").exists());
    }
    let two = ["x.yaml", "--amplifier", "a", "--amplifier", "b", "--driver", "s"];
    let (status, _, told) = run(place.path(), &two, "");
    assert!(status == 2 && told.contains("s hangs on a or b: say which"), "{told}");
    let twice = ["x.yaml", "--amplifier", "a", "--amplifier", "a"];
    assert_eq!(run(place.path(), &twice, "").0, 2);
}

#[test]
fn what_a_draft_asks_fits_what_was_said() {
    let place = tempfile::tempdir().expect("a folder");
    let flags = [
        "-",
        "--voltage",
        "24 V",
        "--amplifier",
        "amp: 4 x 50 W at 4 ohm, in under-seat",
        "--driver",
        "low: woofer, 4 ohm, 60 W, 2 pieces",
        "--driver",
        "high: tweeter, 2 x 8 ohm, 60 W, 2 pieces",
    ];
    let (status, text, told) = run(place.path(), &flags, "");
    assert_eq!(status, 0, "{told}");
    for words in [
        "like 20 V .. 32 V",
        "\n    bridged: ",
        "  amp-tweeters:\n",
        "high_pass: 3 kHz",
        "coils: [8 ohm, 8 ohm]",
        "a converter gets a step of its own",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

#[test]
fn what_is_there_is_never_replaced() {
    let place = tempfile::tempdir().expect("a folder");
    fs::write(place.path().join("a.yaml"), "mine").expect("a file");
    fs::create_dir(place.path().join("folder")).expect("a folder");
    for name in ["a.yaml", "folder"] {
        let (status, out, told) = run(place.path(), &[name], "");
        assert_eq!((status, out.as_str()), (2, ""));
        assert!(told.contains("is there already, and stays as it is"), "{told}");
    }
    assert_eq!(fs::read_to_string(place.path().join("a.yaml")).expect("it stays"), "mine");
    let (status, _, told) = run(place.path(), &["nowhere/a.yaml"], "");
    assert!(status == 2 && told.contains("there is no folder nowhere"), "{told}");
    assert_eq!(fs::read_dir(place.path()).expect("a folder").count(), 2);
}

#[test]
fn facts_that_do_not_fit_are_told_and_still_written() {
    let place = tempfile::tempdir().expect("a folder");
    let flags = ["a.yaml", "--amplifier", "amp: 1 x 500 W at 4 ohm", "--driver", "sub: subwoofer, 2 ohm, 500 W"];
    let (status, out, _) = run(place.path(), &flags, "");
    assert_eq!(status, 0);
    assert!(out.contains("what is known does not fit: LOAD-11"), "{out}");
    assert!(place.path().join("a.yaml").exists());
}
