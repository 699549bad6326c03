//! Sizes for the supply: the least copper, and fuses to go with it, with which every rule holds.
//!
//! The rules themselves decide. What is solved of the job says where to begin: the thickest wires there are give the
//! smallest currents, and these the smallest fuses and the thinnest wires that can be. From there on wires share what
//! may be lost on the way; how much of it each size takes is measured by trying it, the least copper is sought on those
//! measures ([`least`]), and what is found is judged. What a plan states and what holds stays as it is.

mod bounds;
mod draft;
mod least;
mod obstacle;
mod search;
mod task;
mod trial;

use super::check::Check;
use super::proof::{breaks_more, difference};
use super::verdict::Outcome;
use super::{Rule, Severity, judge_briefly};
use crate::house::House;
use crate::plan::{Plan, Reading, read_with};
use crate::quantity::{Current, Gauge, Range, Ratio, Voltage};
use crate::solve::{Case, Job, Place};
use crate::text::{self, Edit, Limits};
use draft::{Draft, Freed, State};
use obstacle::Stopped;
use task::Search;
pub use trial::Sizing;
use trial::{judged, name};

/// What came of choosing sizes.
#[derive(Debug, Clone)]
pub struct Sizes {
    /// The plan with the sizes; as it was where nothing had to change or no choice holds.
    pub reading: Reading,
    /// The bytes that change; `None` where nothing does.
    pub edit: Option<Edit>,
    /// What was chosen, wire by wire and fuse by fuse.
    pub chosen: Vec<Chosen>,
    /// The supply wires that stay as they are, by name.
    pub kept: Vec<String>,
    /// Why there is no choice, in sentences; empty where there is one.
    pub obstacles: Vec<String>,
    /// What holds on none of the choices and was left: findings of mere advice, checks open on facts that are not stated;
    /// and what could be judged before and is open now.
    pub left: Vec<String>,
    /// Where testlamp put a fuse that the plan did not have, in sentences.
    pub placed: Vec<String>,
}

impl Sizes {
    /// The plan as it is, and why.
    pub fn unchanged(reading: &Reading, obstacles: Vec<String>) -> Self {
        let kept = reading.plan.wires.keys().cloned().collect();
        let (chosen, left, placed) = (Vec::new(), Vec::new(), Vec::new());
        Self { reading: reading.clone(), edit: None, chosen, kept, obstacles, left, placed }
    }
}

/// A choice for one wire and its fuses, or for the fuse of a block's output.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// Its path: `wires.main`, or `blocks.rear.outputs.bass`.
    pub path: String,
    /// The size before, where the plan states one, and now.
    pub size: Option<(Option<Gauge>, Gauge)>,
    /// Each fuse before, in words, and now.
    pub fuses: Vec<(Option<String>, String)>,
    /// What is lost in it with its fuses and joints, engine idling, full output.
    pub drop: Option<Range<Voltage>>,
    /// What it may carry where it runs.
    pub ampacity: Option<Range<Current>>,
    /// What it may carry beyond its average current with programme, as a share of what it may carry, at worst.
    pub spare: Option<Range<Ratio>>,
}

/// Chooses the sizes that are missing or do not hold, with the fuses that go with them.
///
/// First only what is missing is chosen; where that cannot hold, what stands in the way of it too; then everything.
pub fn sizes(reading: &Reading, house: &House, sizing: Sizing<'_>, rules: &[&'static Rule]) -> Sizes {
    let unchanged = |obstacles: Vec<String>| Sizes::unchanged(reading, obstacles);
    if let Some(why) = Job::new(&reading.plan, house).polarity().no_currents() {
        return unchanged(vec![why.to_owned()]);
    }
    match sought(reading, house, sizing, false) {
        Sought::Found(draft, found) => done(reading, house, rules, &draft, &found).unwrap_or_else(unchanged),
        Sought::Nothing(why) => unchanged(why),
        // Rather a fuse of which it is open whether it carries its load than none.
        Sought::Barred(told) => match sought(reading, house, sizing, true) {
            Sought::Found(draft, found) => {
                done(reading, house, rules, &draft, &found).unwrap_or_else(|_| unchanged(told))
            }
            Sought::Nothing(_) | Sought::Barred(_) => unchanged(told),
        },
    }
}

/// What a search comes to.
enum Sought<'a> {
    /// A choice, with what was left.
    Found(Draft<'a>, (State, Vec<Check>)),
    /// There is nothing to choose, or nothing can be before facts are stated; why, in sentences.
    Nothing(Vec<String>),
    /// Rules bar every choice; which, in sentences.
    Barred(Vec<String>),
}

/// First with what is missing free, then with more. Whether fuses may yield: [`Search::yields`].
fn sought<'a>(reading: &'a Reading, house: &'a House, sizing: Sizing<'a>, yields: bool) -> Sought<'a> {
    let mut freed = Freed::new();
    let mut held = Freed::new();
    let mut is_barred = false;
    loop {
        let draft = Draft::of(&reading.plan, house, &freed);
        let found = if draft.is_empty() {
            let failing = failing(&reading.plan, house, sizing);
            if failing.is_empty() {
                return Sought::Nothing(Vec::new());
            }
            Err(Stopped::by(failing))
        } else {
            Search::new(&draft, house, sizing, yields).run()
        };
        match found {
            Ok(found) => return Sought::Found(draft, found),
            Err(Stopped::Needs(needs)) if is_barred => return Sought::Barred(vec![needs]),
            Err(Stopped::Needs(needs)) => return Sought::Nothing(vec![needs]),
            Err(Stopped::Idle(idle)) => {
                held.extend(idle);
                freed = freed.difference(&held).cloned().collect();
            }
            Err(Stopped::Checks { checks, told }) => match grown(&freed, &held, &checks, &reading.plan) {
                Some(more) => (freed, is_barred) = (more, true),
                None => return Sought::Barred(told),
            },
        }
    }
}

/// More that is free: what the checks speak of; where that is free already every wire, and at last every fuse. What is
/// held stays.
fn grown(freed: &Freed, held: &Freed, checks: &[Check], plan: &Plan) -> Option<Freed> {
    let all = everything(plan);
    let wires = plan.wires.keys().map(|name| format!("wires.{name}.size")).collect();
    [of_checks(checks, plan), wires, all]
        .into_iter()
        .map(|more| freed.union(&more).filter(|path| !held.contains(*path)).cloned().collect())
        .find(|more| more != freed)
}

/// What fails in a plan as it is.
fn failing(plan: &Plan, house: &House, sizing: Sizing<'_>) -> Vec<Check> {
    let on = sizing.local.iter().chain(sizing.network).copied();
    let on: Vec<&'static Rule> = on.filter(|rule| !house.rules.is_off(rule.code)).collect();
    judged(plan, house, &on).into_iter().filter(Check::stands).collect()
}

/// The sizes and ratings that some checks speak of, and those of the runs of the amplifiers that they are about.
fn of_checks(checks: &[Check], plan: &Plan) -> Freed {
    let all = everything(plan);
    let spoken = checks.iter().flat_map(trial::places).collect::<std::collections::BTreeSet<String>>();
    let is_meant =
        |path: &String| spoken.contains(path) || path.rsplit_once('.').is_some_and(|(thing, _)| spoken.contains(thing));
    all.into_iter().filter(is_meant).collect()
}

/// Every size and rating of the supply.
fn everything(plan: &Plan) -> Freed {
    let sizes = plan.wires.keys().map(|name| format!("wires.{name}.size"));
    sizes.chain(draft::fuses(plan).into_iter().map(|(path, _)| format!("{path}.rating"))).collect()
}

/// Writes a choice into the text and proves it with all rules.
fn done(
    reading: &Reading,
    house: &House,
    rules: &[&'static Rule],
    draft: &Draft<'_>,
    (state, left): &(State, Vec<Check>),
) -> Result<Sizes, Vec<String>> {
    let changes = draft.changes(state);
    let after = written(reading, &changes, &draft.with(state))?;
    let (before, now) = (judge_briefly(reading, house, rules), judge_briefly(&after, house, rules));
    if breaks_more(&before, &now) {
        return Err(vec![
            "a rule breaks down over the sizes that would hold: a fault of testlamp, not of the plan".into(),
        ]);
    }
    let passed =
        |check: &&Check| before.checks.iter().any(|other| name(other) == name(check) && other.outcome == Outcome::Pass);
    // That something is open now which decides nothing before it is known does not keep what is wrong for sure from being
    // mended; it is told.
    let cures = before.failed().any(|check| {
        check.severity >= Severity::Fault
            && !check.rule.judges_checks()
            && !now.failed().any(|other| name(other) == name(check))
    });
    let counts = |check: &&Check| !(cures && check.rule.judges_checks());
    let broken: Vec<String> = now.failed().filter(passed).filter(counts).map(told).collect();
    if !broken.is_empty() {
        let sentence = |what: String| format!("sizes with which all else holds break what holds now: {what}");
        return Err(broken.into_iter().map(sentence).collect());
    }
    let chosen = chosen(draft, state, &after.plan, house);
    let changed = |wire: &&String| chosen.iter().any(|one| one.path == format!("wires.{wire}"));
    let kept = after.plan.wires.keys().filter(|wire| !changed(wire)).cloned().collect();
    let placed = draft.fuses.iter().filter(|free| free.before.is_none()).filter_map(|free| {
        let distance = free.blank.distance?;
        Some(format!("{}: a new fuse, written {distance} from the battery; say where it really sits", free.path))
    });
    let placed = placed.collect();
    // What could not be judged before may be a finding now: a fuse that was not there breaks too little.
    let is_new = |check: &&Check| {
        let same = |other: &Check| name(other) == name(check);
        check.follows.is_none() && !before.failed().any(same) && !left.iter().any(same)
    };
    let opened = now.checks.iter().filter(|check| {
        check.outcome == Outcome::Open && passed(check) && !left.iter().any(|other| name(other) == name(check))
    });
    let left = left.iter().chain(now.failed().filter(is_new)).chain(opened).map(told).collect();
    let edit = (after.text != reading.text).then(|| difference(&reading.text, &after.text));
    Ok(Sizes { reading: after, edit, chosen, kept, obstacles: Vec::new(), left, placed })
}

/// A check in a line.
fn told(check: &Check) -> String {
    let title = check.finding.as_ref().map_or_else(|| check.rule.summary().to_owned(), |finding| finding.title.clone());
    let open = if check.outcome == Outcome::Open { " (open)" } else { "" };
    format!("{} on {}{open}: {title}", check.rule.code, check.subject)
}

/// The text with every change made. It is read as the plan that was judged, or nothing is changed.
fn written(reading: &Reading, changes: &[(String, String)], plan: &Plan) -> Result<Reading, Vec<String>> {
    let mut text = reading.text.clone();
    for (path, value) in changes {
        let (tree, _) = text::parse(&text, Limits::default());
        let edit =
            text::set(&text, &tree, path, value).map_err(|why| vec![format!("`{path}` cannot be set here: {why}")])?;
        text = edit.apply(&text);
    }
    let after = read_with(text, &reading.shelves);
    if after.plan == *plan && after.misreads.len() <= reading.misreads.len() {
        return Ok(after);
    }
    let paths: Vec<&str> = changes.iter().map(|(path, _)| path.as_str()).collect();
    Err(vec![format!(
        "the plan is written so that {} cannot be set without changing something else, as where two things share their words; \
         write them out",
        crate::words::all(&paths)
    )])
}

/// What was chosen, with what the job comes to.
fn chosen(draft: &Draft<'_>, state: &State, plan: &Plan, house: &House) -> Vec<Chosen> {
    let job = Job::new(plan, house);
    let changed: Vec<String> = draft.changes(state).into_iter().map(|(path, _)| path).collect();
    let is_changed = |path: &str| changed.iter().any(|other| other == path || other.starts_with(&format!("{path}.")));
    let fuses_of = |thing: &str| -> Vec<(Option<String>, String)> {
        let free = draft.fuses.iter().zip(&state.fuses).filter(|(free, _)| {
            free.path.rsplit_once('.').is_some_and(|(host, _)| host == thing) && is_changed(&free.path)
        });
        free.map(|(free, at)| {
            (free.before.as_ref().and_then(|fuse| fuse.rating).map(|r| r.to_string()), free.ratings[*at].1.to_string())
        })
        .collect()
    };
    let wires = job.wires.iter().filter_map(|wire| {
        let path = wire.place().path();
        let free = draft.wires.iter().zip(&state.wires).find(|(free, _)| free.name == wire.name);
        let size = free.map(|(free, at)| (free.before, free.sizes[*at])).filter(|(before, now)| *before != Some(*now));
        let fuses = fuses_of(&path);
        if size.is_none() && fuses.is_empty() {
            return None;
        }
        let ampacity = job.ampacity(wire).ok().map(|carries| carries.ampacity);
        let current = job.wire_current(wire, Case::IdleProgramme).ok().map(|known| known.range);
        let spare = ampacity.zip(current).filter(|(ampacity, _)| ampacity.low() > 0.0);
        let spare = spare.map(|(ampacity, current)| Range::point(1.0 - current.high() / ampacity.low()));
        let drop = job.wire_drop(wire, Case::IdleFull).ok().map(|known| known.range);
        Some(Chosen { path, size, fuses, drop, ampacity, spare })
    });
    let outputs = job
        .blocks
        .iter()
        .flat_map(|block| block.outputs.keys().map(move |output| block.at(format!("outputs.{output}")).path()));
    let outputs = outputs.filter_map(|path| {
        let fuses = fuses_of(&path);
        (!fuses.is_empty()).then_some(Chosen { path, size: None, fuses, drop: None, ampacity: None, spare: None })
    });
    wires.chain(outputs.collect::<Vec<_>>()).collect()
}

/// The facts that have to be stated first, as a sentence.
fn needs(places: &[Place]) -> String {
    let mut paths: Vec<String> = places.iter().map(Place::path).collect();
    paths.sort();
    paths.dedup();
    format!("no current can be told before the plan states {}", crate::words::all(&paths))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PLAN: &str = "plan: 1\namplifiers: {amp: {}}\ngrounds: {floor: {}}\nwires:\n  \
                        main: {from: battery.positive, to: amp.power, size: 10 AWG, conductor: copper, insulation: 105 C, length: 4 m, \
                        path: [engine-bay], fuse: {form: bolt-down, rating: 60 A, distance: 20 cm}}\n  \
                        back: {from: amp.ground, to: grounds.floor, size: 10 AWG, length: 40 cm}\n";

    /// A fuse too large for its wire speaks of both, and of nothing else.
    #[test]
    fn what_a_check_speaks_of_is_freed_first_then_every_wire_then_every_fuse() {
        let paths = |paths: &[&str]| paths.iter().map(|path| (*path).to_owned()).collect::<Freed>();
        let plan = crate::plan::read(PLAN.to_owned()).plan;
        let check = crate::rules::trial::check(PLAN, "FUSE-01", "wires.main.fuse");
        let own = paths(&["wires.main.size", "wires.main.fuse.rating"]);
        assert_eq!(of_checks(std::slice::from_ref(&check), &plan), own);
        let wires = paths(&["wires.main.size", "wires.back.size"]);
        let every = paths(&["wires.main.size", "wires.back.size", "wires.main.fuse.rating"]);
        assert_eq!(everything(&plan), every);
        assert_eq!(grown(&Freed::new(), &Freed::new(), &[check], &plan), Some(own));
        assert_eq!(grown(&Freed::new(), &Freed::new(), &[], &plan), Some(wires.clone()));
        assert_eq!(grown(&wires, &Freed::new(), &[], &plan), Some(every.clone()));
        assert_eq!(grown(&every, &Freed::new(), &[], &plan), None);
        let held = paths(&["wires.main.fuse.rating"]);
        assert_eq!(grown(&wires, &held, &[], &plan), None, "what is held stays");
    }

    fn chosen_for(text: &str) -> Sizes {
        let reading = crate::plan::read(text.to_owned());
        let (local, network) = crate::rules::of_sizes();
        sizes(&reading, &House::default(), Sizing { local: &local, network: &network }, &crate::rules::all())
    }

    /// 500 W at 80 % through four metres and back.
    const DRAWN: &str = "plan: 1\nvehicle: {voltage: 12 V, body: steel, body_resistance: 1 mohm, alternator: {voltage: 14.2 V, rated: 150 A, \
                         at_idle: 90 A}, battery: {internal_resistance: 5 mohm, rest_voltage: 12.6 V}, factory_load: {running: 30 A}}\n\
                         amplifiers: {amp: {class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, operating_voltage: 10 V .. 16 V, \
                         rated_at: 14.4 V, rated: [{load: 2 ohm, power: 500 W}]}}\ngrounds: {floor: {joint_resistance: 0.1 mohm}}\nwires:\n  \
                         main:\n    from: battery.positive\n    to: amp.power\n    conductor: copper\n    insulation: 105 C\n    length: 4 m\n    \
                         path: [cargo]\n    joint_resistance: 0.1 mohm\n    fuse: {form: bolt-down, distance: 20 cm, resistance: 1 mohm}\n  \
                         back:\n    from: amp.ground\n    to: grounds.floor\n    conductor: copper\n    insulation: 105 C\n    length: 40 cm\n    \
                         path: [cargo]\n    joint_resistance: 0.1 mohm\n";

    /// What is chosen is told with what it comes to: at idle with programme less flows than the wire carries.
    #[test]
    fn what_is_chosen_is_told_with_its_fuse_its_drop_and_what_it_may_still_carry() {
        let found = chosen_for(DRAWN);
        assert!(found.obstacles.is_empty(), "{:?}", found.obstacles);
        let paths: Vec<&str> = found.chosen.iter().map(|chosen| chosen.path.as_str()).collect();
        assert_eq!((paths, found.kept.len()), (vec!["wires.back", "wires.main"], 0));
        let main = &found.chosen[1];
        assert_eq!((main.fuses.len(), main.fuses[0].0.as_deref()), (1, None));
        assert_eq!(found.chosen[0].fuses.len(), 0);
        let (spare, ampacity) = (main.spare.expect("told").low(), main.ampacity.expect("told").low());
        assert!((0.0..1.0).contains(&spare) && ampacity > 50.0, "{spare} {ampacity}");
        // A feed and its return are one size.
        assert_eq!(main.size.map(|(_, now)| now), found.chosen[0].size.map(|(_, now)| now));
        assert!(found.placed.is_empty());
        let again = chosen_for(&found.reading.text);
        assert!(again.chosen.is_empty() && again.edit.is_none() && again.kept.len() == 2);
    }

    /// The fuse is taken out of the plan: where the new one sits is told.
    #[test]
    fn a_fuse_that_the_plan_does_not_have_is_placed_and_told() {
        let without = DRAWN.replace("    fuse: {form: bolt-down, distance: 20 cm, resistance: 1 mohm}\n", "");
        let found = chosen_for(&without);
        assert_eq!(
            found.placed,
            ["wires.main.fuse: a new fuse, written 45 cm from the battery; say where it really sits"],
            "{:?}",
            found.obstacles
        );
    }

    /// Through the return of a capacitor no case has a current: it becomes as thick as what leads to the capacitor, and one that
    /// is stated too thin is exchanged.
    #[test]
    fn a_capacitors_ground_wire_goes_with_what_leads_to_it() {
        let buffered = DRAWN.replace("    to: amp.power\n", "    to: cap.power\n")
            + "  on:\n    from: cap.power\n    to: amp.power\n    conductor: copper\n    insulation: 105 C\n    length: 30 cm\n    \
               path: [cargo]\n    joint_resistance: 0.1 mohm\n  down:\n    from: cap.ground\n    to: grounds.floor\n    conductor: copper\n    \
               insulation: 105 C\n    length: 30 cm\n    path: [cargo]\n    joint_resistance: 0.1 mohm\ncapacitors: {cap: {}}\n";
        let size = |found: &Sizes, wire: &str| found.reading.plan.wires[wire].size.map(Gauge::square_millimetres);
        let found = chosen_for(&buffered);
        assert!(found.obstacles.is_empty(), "{:?}", found.obstacles);
        assert!(size(&found, "down").is_some() && size(&found, "down") == size(&found, "main"));
        let thin = buffered.replace("    from: cap.ground\n", "    from: cap.ground\n    size: 14 AWG\n");
        let found = chosen_for(&thin);
        assert!(found.obstacles.is_empty(), "{:?}", found.obstacles);
        assert!(size(&found, "down") >= size(&found, "main"), "{:?}", found.chosen);
    }

    /// A feed of 14 AWG with a fuse of 20 A, for some 43 A: what was there is told beside what is chosen.
    #[test]
    fn what_does_not_hold_is_told_with_what_it_was() {
        let stated = DRAWN
            .replacen("    conductor", "    size: 14 AWG\n    conductor", 1)
            .replace("{form: bolt-down, distance", "{form: bolt-down, rating: 20 A, distance");
        let found = chosen_for(&stated);
        assert!(found.obstacles.is_empty(), "{:?}", found.obstacles);
        let main = found.chosen.iter().find(|chosen| chosen.path == "wires.main").expect("it is too thin");
        let (before, now) = main.size.expect("another size");
        assert_eq!((before, main.fuses[0].0.as_deref()), (Gauge::read("14 AWG").ok(), Some("20 A")));
        assert!(before != Some(now) && main.fuses[0].1 != "20 A", "{main:?}");
        let drop = main.drop.expect("told");
        assert!(drop.low() > 0.1 && drop.high() < 0.5, "{drop}");
        assert_eq!(found.kept, Vec::<String>::new());
        assert!(found.edit.is_some() && found.placed.is_empty());
    }
}
