//! Sizes that are chosen: they hold, none could be smaller, nothing else is touched, and where there is none it is told.

#[path = "sizes/blocks.rs"]
mod blocks;
#[path = "common/cases.rs"]
mod cases;
mod common;
#[path = "published/table.rs"]
mod table;
#[path = "sizes/worked.rs"]
mod worked;

use std::fs;
use std::path::Path;

use blocks::block;
use testlamp::house::{House, Stock};
use testlamp::judge::{Check, Judgement, Outcome, Rule, Severity, Sizes, Sizing, Subjects, judge_briefly, sizes};
use testlamp::plan::{self, FuseForm, Reading};
use testlamp::quantity::{Gauge, Quantity};
use testlamp::rules;
use testlamp::solve::Undecided;

fn choose(reading: &Reading, house: &House) -> Sizes {
    let (local, network) = rules::of_sizes();
    sizes(reading, house, Sizing { local: &local, network: &network }, &rules::all())
}

/// The rules that sizes decide, and those that ask for a fuse near each battery.
fn size_rules() -> Vec<&'static Rule> {
    let (local, network) = rules::of_sizes();
    let near = ["FUSE-02", "FUSE-03"].into_iter().filter_map(rules::find);
    local.into_iter().chain(network).chain(near).collect()
}

/// What fails, or is open on ranges alone.
fn unheld(judgement: &Judgement) -> Vec<String> {
    let is_unheld = |check: &&Check| match check.outcome {
        Outcome::Fail => check.waived.is_none(),
        Outcome::Open => check.needs.is_empty(),
        Outcome::Pass | Outcome::NotApplicable => false,
    };
    let told = |check: &Check| format!("{} {} {}", check.rule.code, check.subject, check.outcome.word());
    judgement.checks.iter().filter(is_unheld).map(told).collect()
}

fn unheld_in(reading: &Reading, house: &House) -> Vec<String> {
    unheld(&judge_briefly(reading, house, &size_rules()))
}

fn job(name: &str) -> String {
    let jobs = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let files = fs::read_dir(jobs).expect("the jobs").map(|entry| entry.expect("a file").path());
    let file = files.into_iter().find(|path| path.to_string_lossy().contains(name)).expect("the job");
    fs::read_to_string(file).expect("its text")
}

/// What is taken out of a plan.
#[derive(Clone, Copy, PartialEq)]
enum Without {
    /// Sizes of supply wires and ratings of fuses.
    SizesAndRatings,
    /// Sizes of supply wires and all fuses in wires, and the ratings of fuses in blocks.
    SizesAndFuses,
}

/// A plan as on its first day.
fn stripped(text: &str, without: Without) -> String {
    let mut section = "";
    let mut lines = Vec::new();
    for line in text.lines() {
        if !line.starts_with([' ', '#']) {
            section = line.split(':').next().unwrap_or_default();
        }
        let key = line.trim_start();
        let is_fuse = key.starts_with("fuse:") || key.starts_with("far_fuse:");
        match section {
            "wires" if key.starts_with("size:") => {}
            "wires" if is_fuse && without == Without::SizesAndFuses => {}
            "wires" | "blocks" => lines.push(unrated(line)),
            _ => lines.push(line.to_owned()),
        }
    }
    lines.join("\n") + "\n"
}

fn unrated(line: &str) -> String {
    let Some(start) = line.find("rating: ") else { return line.to_owned() };
    let end = line[start..].find(", ").map_or(line.len(), |at| start + at + 2);
    format!("{}{}", &line[..start], &line[end..])
}

/// The jobs whose supply is whole and sound.
const SOUND: [&str; 8] = ["j-2041", "j-2043", "j-2044", "j-2045", "j-2054", "j-2058", "j-2061", "j-2072"];

#[test]
fn a_draft_without_sizes_becomes_a_plan_in_which_every_size_rule_holds() {
    for without in [Without::SizesAndRatings, Without::SizesAndFuses] {
        for name in SOUND {
            let draft = plan::read(stripped(&job(name), without));
            let house = House::default();
            assert!(draft.misreads.is_empty() && draft.plan.wires.values().all(|wire| wire.size.is_none()), "{name}");
            let chosen = choose(&draft, &house);
            assert!(chosen.obstacles.is_empty(), "{name}: {:?}", chosen.obstacles);
            assert_eq!(unheld_in(&chosen.reading, &house), Vec::<String>::new(), "{name}: {}", chosen.reading.text);
            let lines: Vec<&str> = draft.text.lines().collect();
            let kept = chosen.reading.text.lines().filter(|line| lines.contains(line)).count();
            let grown = chosen.chosen.iter().flat_map(|chosen| &chosen.fuses).count();
            assert!(kept + grown >= lines.len(), "{name}: only lines with fuses change\n{}", chosen.reading.text);
            let comments = |text: &str| {
                text.lines()
                    .filter_map(|line| line.split_once('#').map(|(_, words)| words.to_owned()))
                    .collect::<Vec<_>>()
            };
            assert_eq!(comments(&draft.text), comments(&chosen.reading.text), "{name}");
        }
    }
}

/// Sizes of the default list, thin to thick.
const SIZES: [&str; 14] = [
    "20 AWG", "18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG", "2 AWG", "1 AWG", "1/0 AWG",
    "2/0 AWG", "4/0 AWG",
];

/// The same plan with one wire a size smaller; with the feed of an amplifier its return, where both are one size.
fn thinner(reading: &Reading, wire: &str) -> Option<Reading> {
    let size = reading.plan.wires[wire].size;
    let at = SIZES.iter().position(|known| Gauge::read(known).ok() == size).expect("a size of the list");
    let smaller = SIZES[at.checked_sub(1)?];
    let thinner =
        |reading: &Reading, wire: &str| reading.with(&format!("wires.{wire}.size"), smaller).expect("a thinner wire");
    let back = back_of(reading, wire).filter(|back| reading.plan.wires[back].size == size);
    let own = thinner(reading, wire);
    Some(back.map_or(own.clone(), |back| thinner(&own, &back)))
}

/// The return of the amplifier that a wire feeds.
fn back_of(reading: &Reading, wire: &str) -> Option<String> {
    let fed = reading.plan.wires[wire].to.as_ref().filter(|to| to.terminal == "power")?;
    let is_back = |wire: &plan::Wire| wire.from.as_ref().is_some_and(|from| from.is(&fed.thing, "ground"));
    reading.plan.wires.iter().find(|(_, wire)| is_back(wire)).map(|(name, _)| name.clone())
}

#[test]
fn one_size_smaller_breaks_a_rule_for_every_wire() {
    let house = House::default();
    for name in SOUND {
        let chosen = choose(&plan::read(stripped(&job(name), Without::SizesAndRatings)), &house).reading;
        for wire in chosen.plan.wires.keys() {
            if let Some(thinner) = thinner(&chosen, wire) {
                assert_ne!(unheld_in(&thinner, &house), Vec::<String>::new(), "{name}: {wire} may be thinner");
            }
        }
    }
}

#[test]
fn chosen_twice_nothing_changes_and_what_holds_stays() {
    for name in SOUND {
        let house = House::default();
        let whole = job(name);
        let (own, first) = (plan::read(whole.clone()), plan::read(stripped(&whole, Without::SizesAndFuses)));
        assert_eq!(choose(&own, &house).reading.text, whole, "{name}: what holds stays");
        let once = choose(&first, &house).reading;
        assert_eq!(choose(&once, &house).reading.text, once.text, "{name}");
    }
}

#[test]
fn only_what_does_not_hold_is_exchanged() {
    let text = job("j-2041").replacen("size: 4 AWG", "size: 10 AWG", 1);
    let chosen = choose(&plan::read(text.clone()), &House::default());
    assert_eq!(chosen.reading.text, text.replacen("size: 10 AWG", "size: 4 AWG", 1));
    assert_eq!(chosen.kept, ["return"]);
    let too_thick = job("j-2041").replacen("size: 4 AWG", "size: 1/0 AWG", 1);
    let chosen = choose(&plan::read(too_thick), &House::default());
    assert_eq!(chosen.reading.text, job("j-2041"), "1/0 AWG goes in nowhere: {:?}", chosen.obstacles);
}

#[test]
fn only_what_the_house_keeps_is_chosen() {
    let gauges = ["12 AWG", "3 AWG", "35 mm2"].map(|size| Gauge::read(size).expect("a size"));
    let kept = [45.0, 75.0].map(|amperes| Quantity::read(&format!("{amperes} A")).expect("a rating"));
    let stock = Stock { wires: gauges.to_vec(), fuses: [(FuseForm::BoltDown, kept.to_vec())].into() };
    let house = House { stock, ..House::default() };
    let draft = stripped(&job("j-2041"), Without::SizesAndFuses)
        .replace("power: 4 AWG", "power: 1/0 AWG")
        .replace("60 A", "90 A");
    let chosen = choose(&plan::read(draft), &house);
    assert_eq!(chosen.obstacles, Vec::<String>::new());
    for wire in chosen.reading.plan.wires.values() {
        assert!(wire.size.is_some_and(|size| gauges.contains(&size)), "{:?}", wire.size);
    }
    let fuse = chosen.reading.plan.wires["main"].fuse.as_ref().expect("a fuse");
    assert!(fuse.form == Some(FuseForm::BoltDown) && kept.iter().any(|kept| Some(*kept) == fuse.rating));
}

#[test]
fn where_no_size_holds_the_rule_and_the_wire_are_told_and_nothing_is_changed() {
    let house = House::default();
    let far = stripped(&job("j-2041"), Without::SizesAndRatings).replace("length: 4.9 m", "length: 14 m");
    let chosen = choose(&plan::read(far.clone()), &house);
    assert_eq!(chosen.reading.text, far);
    let told = chosen.obstacles.join("\n");
    for words in ["no size up to 4 AWG, the thickest that goes in,", "WIRE-02", "wires.main", "0.5 V is the most"] {
        assert!(told.contains(words), "{words}: {told}");
    }
    let unmeasured = stripped(&job("j-2041"), Without::SizesAndRatings).replace("length: 4.9 m", "note: far");
    let chosen = choose(&plan::read(unmeasured), &house);
    assert_eq!(chosen.obstacles, ["no current can be told before the plan states wires.main.length"]);
}

/// A plan does not say what a radio draws: its wire and its fuse stay as they are, and what cannot hold is told all the same.
#[test]
fn what_nothing_is_known_to_draw_through_stays_and_does_not_stop_the_rest() {
    let text = job("j-2043")
        .replace("sources:\n", "sources:\n  deck: {kind: aftermarket}\n")
        .replace("    outputs:\n      bass:", "    outputs:\n      deck: {fuse: {form: blade-regular, rating: 5 A}}\n      bass:")
        .replace(
            "wires:\n",
            "wires:\n  \
             deck-feed: {from: rear.deck, to: deck.power, size: 1.5 mm2, conductor: copper, length: 50 cm, path: [cargo]}\n  \
             deck-return: {from: deck.ground, to: grounds.left-rail, size: 1.5 mm2, conductor: copper, length: 40 cm, path: [cargo]}\n",
        )
        .replace("length: 4.2 m", "length: 60 m");
    let chosen = choose(&plan::read(text), &House::default());
    assert!(!chosen.obstacles.is_empty(), "60 m are too long for any cable");
    assert!(!chosen.obstacles.iter().any(|told| told.contains("deck")), "{:?}", chosen.obstacles);
}

/// Feed and return off one drum of clad cable: how much copper it has nobody knows, and it is the same for both. 8 AWG carries
/// the 60 A of its fuse; 10 AWG, which is no thicker than the thinnest such return may be worth, does not.
#[test]
fn a_return_off_the_drum_of_its_feed_does_not_keep_the_feed_thin() {
    let clad = job("j-2041")
        .replace("conductor: copper\n", "conductor: copper-clad-aluminium\n")
        .replace("size: 4 AWG", "size: 8 AWG")
        .replace("power: 4 AWG", "power: 8 AWG")
        .replace("length: 4.9 m", "length: 1 m");
    let house = House::default();
    let thin = plan::read(clad.replacen("size: 8 AWG", "size: 14 AWG", 1));
    let chosen = choose(&thin, &house);
    assert_eq!(chosen.obstacles, Vec::<String>::new());
    assert_eq!(chosen.reading.plan.wires["main"].size, Some(Gauge::Awg(8)), "{:?}", chosen.left);
}

/// A return of 4 AWG whose metal nobody stated may be worth no more than a feed of 6 AWG, with which too much is lost for
/// sure: the feed is chosen, and what is open is told.
#[test]
fn what_is_only_open_does_not_keep_a_wire_too_thin() {
    let text = job("j-2041").replace("length: 4.9 m", "length: 7 m").replacen("size: 4 AWG", "size: 12 AWG", 1);
    let at = text.rfind("    conductor: copper\n").expect("the return's metal");
    let text = format!("{}{}", &text[..at], &text[at + "    conductor: copper\n".len()..]);
    let house = House::default();
    let chosen = choose(&plan::read(text), &house);
    assert_eq!(chosen.obstacles, Vec::<String>::new());
    assert_eq!(chosen.reading.plan.wires["main"].size, Some(Gauge::Awg(4)));
    assert!(
        chosen.left.iter().any(|told| told.starts_with("WIRE-06 on amplifiers.bass-amp (open)")),
        "{:?}",
        chosen.left
    );
}

/// A maker's largest fuse is kept by a rating and by no wire: where none is left, no wire is named.
#[test]
fn what_only_a_fuse_decides_is_told_of_no_wire() {
    let text =
        job("j-2041").replace("maximum_fuse: 60 A", "maximum_fuse: 20 A").replacen("rating: 60 A", "rating: 80 A", 1);
    assert!(text.contains("maximum_fuse: 20 A"));
    let chosen = choose(&plan::read(text.clone()), &House::default());
    let told: Vec<&String> = chosen.obstacles.iter().filter(|told| told.contains("FUSE-10")).collect();
    assert_eq!(told.len(), 1, "{:?}", chosen.obstacles);
    assert!(
        told[0].starts_with("no fuse that carries its load (FUSE-04) holds FUSE-10 for amplifiers.bass-amp: "),
        "{told:?}"
    );
    assert_eq!(chosen.reading.text, text);
}

/// The load asks 41.8 to 50.7 A of the fuses in line with a relay for 50 A: at 60 A the relay is a fault for sure, at 50 A it
/// is open whether the fuse carries the load.
#[test]
fn rather_a_fuse_that_may_open_than_one_above_what_the_relay_is_made_for() {
    let text = stripped(&job("j-2044"), Without::SizesAndRatings).replace("rated: 140 A", "rated: 50 A");
    let chosen = choose(&plan::read(text), &House::default());
    assert_eq!(chosen.obstacles, Vec::<String>::new());
    let wires = &chosen.reading.plan.wires;
    let ratings = [&wires["charge"].fuse, &wires["link"].far_fuse]
        .map(|fuse| fuse.as_ref().and_then(|fuse| fuse.rating).expect("a rating").base());
    assert!(ratings.contains(&50.0), "{ratings:?}");
    let judged = judge_briefly(&chosen.reading, &House::default(), &rules::all());
    let of = |code: &str, outcome: Outcome| {
        judged.checks.iter().any(|check| check.rule.code == code && check.outcome == outcome)
    };
    assert!(!of("SUPPLY-13", Outcome::Fail) && !of("FUSE-04", Outcome::Fail));
    assert!(
        chosen.left.iter().any(|told| told.starts_with("FUSE-04 on ") && told.contains("(open)")),
        "{:?}",
        chosen.left
    );
}

#[test]
fn a_new_fuse_sits_within_what_the_house_allows_and_the_writer_is_told() {
    let house = House::default();
    let chosen = choose(&plan::read(stripped(&job("j-2043"), Without::SizesAndFuses)), &house);
    let main = &chosen.reading.plan.wires["main"];
    let distance = main.fuse.as_ref().and_then(|fuse| fuse.distance).expect("a distance");
    assert!(distance.base() <= house.limits.fuse_distance.base() && distance.base() > 0.2, "{distance}");
    assert_eq!(chosen.placed.len(), 1, "{:?}", chosen.placed);
    assert!(chosen.placed[0].contains(&distance.to_string()), "{:?}", chosen.placed);
}

/// The way back may lose less than the feed: without it the feed would be 16 AWG and the return 12 AWG.
#[test]
fn an_amplifiers_feed_and_return_are_one_size_where_both_are_chosen() {
    let text = "plan: 1\nvehicle: {voltage: 12 V, body: steel, alternator: {rated: 38 A, at_idle: 38 A, voltage: 14.3 V, \
                control: fixed}, factory_load: {running: 10 A}, battery: {internal_resistance: 10 mohm, rest_voltage: 12.7 V}}\n\
                amplifiers: {amp: {class: D, channels: 1, efficiency: 82 %, idle_current: 0.4 A, operating_voltage: 9 V .. 16 V, \
                rated: [{load: 4 ohm, power: 150 W}], terminals: {power: 12 AWG}}}\n\
                wires:\n  feed: {from: battery.positive, to: amp.power, conductor: copper, insulation: 105 C, length: 1.2 m, \
                path: [dash], joint_resistance: 0.1 mohm, fuse: {form: blade-regular, rating: 20 A, distance: 10 cm}}\n  \
                back: {from: amp.ground, to: battery.negative, conductor: copper, insulation: 105 C, length: 1.2 m, \
                path: [dash], joint_resistance: 0.1 mohm}\n";
    let house = House::default();
    let size = |reading: &Reading, wire: &str| reading.plan.wires[wire].size.expect("a size");
    let chosen = choose(&plan::read(text.to_owned()), &house);
    assert_eq!(chosen.obstacles, Vec::<String>::new());
    assert_eq!(size(&chosen.reading, "feed"), size(&chosen.reading, "back"));
    // A size that the plan states stays, where it holds.
    let stated = text.replace("to: amp.power,", "to: amp.power, size: 16 AWG,");
    let chosen = choose(&plan::read(stated), &house);
    assert_eq!(size(&chosen.reading, "feed"), Gauge::Awg(16), "{:?}", chosen.left);
    assert!(size(&chosen.reading, "back").square_millimetres() > size(&chosen.reading, "feed").square_millimetres());
}

/// A thicker wire lets more of a short through, and whether the fuse breaks it is open then: the fuse that is too large for
/// the wire is mended all the same, and what is open is told.
#[test]
fn a_check_that_is_open_then_does_not_keep_a_danger_from_being_mended() {
    let text = job("j-2041").replacen("size: 4 AWG", "size: 10 AWG", 1).replacen(
        "breaking_capacity: 6 kA",
        "breaking_capacity: 3 kA",
        1,
    );
    let (reading, house) = (plan::read(text), House::default());
    let danger = |reading: &Reading| {
        let judgement = judge_briefly(reading, &house, &rules::all());
        let of = |code: &str| judgement.checks.iter().find(|check| check.rule.code == code).map(|check| check.outcome);
        (of("FUSE-01"), of("FUSE-06"))
    };
    assert_eq!(danger(&reading), (Some(Outcome::Fail), Some(Outcome::Pass)));
    let chosen = choose(&reading, &house);
    assert_eq!(chosen.obstacles, Vec::<String>::new());
    assert_eq!(danger(&chosen.reading), (Some(Outcome::Pass), Some(Outcome::Open)));
    assert!(chosen.left.iter().any(|told| told.starts_with("FUSE-06 on wires.main.fuse (open)")), "{:?}", chosen.left);
}

/// What flows in a short is no current to choose a wire for.
#[test]
fn nothing_is_chosen_for_a_short() {
    let text = job("j-2041").replace("to: bass-amp.power", "to: grounds.load-floor");
    let chosen = choose(&plan::read(text.clone()), &House::default());
    assert_eq!(chosen.reading.text, text);
    assert!(chosen.obstacles[0].contains("WIRE-14"), "{:?}", chosen.obstacles);
}

fn run(folder: &Path, arguments: &[&str], input: &str) -> (i32, String, String) {
    common::ended(common::program(folder, arguments).write_stdin(input.to_owned()))
}

#[test]
fn the_command_shows_writes_and_reads_standard_input() {
    let folder = tempfile::TempDir::new().expect("a folder");
    let (whole, path) = (job("j-2041"), folder.path().join("job.yaml"));
    let draft = stripped(&whole, Without::SizesAndRatings);
    fs::write(&path, &draft).expect("a file");
    let (status, out, err) = run(folder.path(), &["fix", "--sizes", "--diff", "job.yaml"], "");
    assert!(status == 0 && out.contains("+    size: 4 AWG\n") && err.is_empty(), "{out}{err}");
    assert_eq!(fs::read_to_string(&path).expect("the file"), draft);
    let (status, out, _) = run(folder.path(), &["fix", "--sizes", "job.yaml"], "");
    let table = "job.yaml: 2 runs chosen\n                size           fuse          drop             carries  to spare\n  \
                 wires.main    none -> 4 AWG  none -> 60 A  264 to 431 mV    136 A    88 %\n  \
                 wires.return  none -> 4 AWG                20.4 to 49.3 mV  160 A    90 %\n";
    assert!(status == 0 && out.starts_with(table), "{out}");
    let written = fs::read_to_string(&path).expect("the file");
    assert_eq!(unheld_in(&plan::read(written.clone()), &House::default()), Vec::<String>::new());
    let (status, out, err) = run(folder.path(), &["fix", "--sizes", "--offered", "job.yaml"], "");
    assert!(status == 2 && out.is_empty() && err.contains("one after the other"), "{err}");
    let (_, out, _) = run(folder.path(), &["fix", "--sizes", "-"], &draft);
    assert_eq!(out, written);
    let (_, out, _) = run(folder.path(), &["fix", "--sizes", "job.yaml"], "");
    assert_eq!(out, "job.yaml: every size and fuse of the supply stays\n0 sizes and fuses chosen\n");
    let far = draft.replace("length: 4.9 m", "length: 14 m");
    let (status, out, err) = run(folder.path(), &["fix", "--sizes", "-"], &far);
    assert!(status == 1 && out == far && err.contains("no size up to 4 AWG"), "{err}");
}

/// Prints how long six amplifiers take: `cargo test --release --test sizes figures -- --ignored --nocapture`.
#[test]
#[ignore = "prints figures"]
fn figures() {
    let house = House::default();
    for amplifiers in [1, 3, 6] {
        let branches: Vec<_> = (0..amplifiers).map(|at| (150.0 + 40.0 * f64::from(at), 0.6, 0.4)).collect();
        let draft = plan::read(block(4.0, &branches, false));
        let start = std::time::Instant::now();
        let chosen = choose(&draft, &house);
        println!("{amplifiers} amplifiers: {:?}, {:?}", start.elapsed(), chosen.obstacles);
    }
}

/// Breaks down on every wire whose size is stated.
static FALLS: Rule = Rule {
    code: "TRIAL-01",
    name: "trial-falls",
    severity: Severity::Fault,
    since: "0.1.0",
    page: "",
    check: Subjects::Wire(|wire, _| {
        assert!(wire.size.is_none(), "on purpose");
        Err(Undecided::NotApplicable("it holds"))
    }),
    slips: &[],
};

#[test]
fn sizes_with_which_a_rule_breaks_down_are_not_chosen() {
    let house = House::default();
    let draft = plan::read(block(4.5, &[(400.0, 0.8, 0.5)], false));
    assert!(choose(&draft, &house).obstacles.is_empty());
    let (local, network) = rules::of_sizes();
    let all = [&rules::all()[..], &[&FALLS]].concat();
    let chosen = sizes(&draft, &house, Sizing { local: &local, network: &network }, &all);
    assert!(chosen.obstacles.iter().any(|words| words.contains("breaks down")), "{:?}", chosen.obstacles);
    assert_eq!(chosen.reading.text, draft.text);
}
