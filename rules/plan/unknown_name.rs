//! A name that refers to nothing joins nothing, and every other check passes it by.

use super::references::{self, Reference};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Plan, Source};
use crate::rules::route::ways;
use crate::solve::{Job, Place, channels};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "PLAN-01",
    name: "unknown-name",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("unknown_name.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Misspell("wires.*.from|to"),
        super::Slip::Misspell("signals.*.to"),
        super::Slip::Misspell("loads.*.amplifier"),
        super::Slip::Misspell("drivers.*.enclosure"),
        super::Slip::Misspell("signals.*.from"),
    ],
};

/// Of so many names each is tried whether it was meant.
const MOST_TRIED: usize = 6;

const WHY: &str = "a name that refers to nothing joins nothing, and no other check can see what was meant";

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let references = references::of(job);
    let mut judged: Vec<(Place, Judged)> =
        references.iter().map(|reference| (reference.place.clone(), Ok(name(job.plan, reference)))).collect();
    judged.extend(coils(job));
    judged.extend(outputs(job));
    judged.extend(crossings(job));
    judged
}

/// Whether a name, and the terminal with it, exists.
fn name(plan: &Plan, reference: &Reference<'_>) -> Verdict {
    let place = reference.place.clone();
    if !reference.is_known(plan) {
        let known = reference.known(plan);
        let kinds = match reference.terminal {
            Some(_) => "no thing with terminals".to_owned(),
            None => format!(
                "nothing below {}",
                words::all(&reference.sections.iter().map(|section| format!("`{section}`")).collect::<Vec<_>>())
            ),
        };
        let written = reference.with(reference.name);
        let things = reference.sections.iter().map(|section| Place::of(format!("{section}.{}", reference.bare())));
        let finding = unknown(place, &written, &kinds, reference.bare(), &known, |near| reference.with(near));
        return Verdict::fail(finding.missing(things));
    }
    let Some(terminal) = reference.terminal else { return fuse_of_a_step(plan, reference) };
    let has = terminals(plan, reference.name);
    let takes_audio = plan.amplifiers.contains_key(reference.name)
        || plan.sources.get(reference.name).is_some_and(Source::is_processor);
    let is_input = takes_audio && (terminal.starts_with("line") || terminal.starts_with("speaker"));
    Verdict::pass_if(is_input || has.contains(&terminal), || {
        let written = reference.with(reference.name);
        unknown(place, &written, &format!("no terminal of `{}`", reference.name), terminal, &has, |near| {
            format!("{}.{near}", reference.name)
        })
    })
}

/// A step that puts a fuse in names something that has one.
fn fuse_of_a_step(plan: &Plan, reference: &Reference<'_>) -> Verdict {
    let (place, name) = (&reference.place, reference.name);
    let is_fuse_step = place.path().starts_with("steps.") && place.key() == "fuse";
    let wire = plan.wires.get(name).map(|wire| wire.fuse.is_some() || wire.far_fuse.is_some());
    let block = || plan.blocks.get(name).map(|block| block.outputs.values().any(|output| output.fuse.is_some()));
    let lead = || {
        let lead = plan.turn_on.get(name)?;
        Some(lead.fuse.is_some() || lead.relay.as_ref().is_some_and(|relay| relay.contact_fuse.is_some()))
    };
    let has_one = [wire, block(), lead()].into_iter().flatten().any(|has| has);
    Verdict::pass_if(!is_fuse_step || has_one, || {
        Finding::new(
            place.clone(),
            format!("the plan states no fuse of `{}` that could be put in", words::excerpt(name, 40)),
        )
        .label("it has no fuse")
        .because("who works down the list looks for a fuse that is not there, or takes another one for it")
        .mend("name what holds the fuse, or plan the fuse")
        // A feed that nobody protects is told as that.
        .follows("FUSE-03", Place::of(format!("wires.{name}")))
    })
}

/// The terminals of a thing; the inputs of an amplifier or a processor have free names after `line` and `speaker`.
pub fn terminals<'a>(plan: &'a Plan, thing: &str) -> Vec<&'a str> {
    if plan.amplifiers.contains_key(thing) {
        return vec!["power", "ground", "remote", "line", "speaker"];
    }
    if plan.converters.contains_key(thing) {
        return vec!["power", "ground", "remote"];
    }
    if plan.capacitors.contains_key(thing) {
        return vec!["power", "ground"];
    }
    if let Some(isolator) = plan.isolators.get(thing) {
        let mut terminals = vec!["in", "out"];
        if isolator.has_ground() {
            terminals.push("ground");
        }
        terminals.push(if isolator.is_step_down() { "remote" } else { "sense" });
        return terminals;
    }
    if let Some(source) = plan.sources.get(thing) {
        let is_processor = source.is_processor();
        return if is_processor { vec!["power", "ground", "remote", "line", "speaker"] } else { Vec::new() };
    }
    match plan.blocks.get(thing) {
        Some(block) => std::iter::once("in").chain(block.outputs.keys().map(String::as_str)).collect(),
        None if thing == "battery" => vec!["positive", "negative", "body-side"],
        None => vec!["positive", "negative"],
    }
}

fn unknown(
    place: Place,
    written: &str,
    kinds: &str,
    meant: &str,
    known: &[&str],
    whole: impl Fn(&str) -> String,
) -> Finding {
    let written = words::excerpt(written, 40);
    let near = words::only_near(meant, known.iter().copied()).map(&whole);
    let could = known.iter().map(|name| whole(name)).filter(|_| near.is_none() && known.len() <= MOST_TRIED);
    let mend = match (&near, known) {
        (Some(near), _) => format!("write `{near}`"),
        (None, []) => "declare it, or take the name out".to_owned(),
        (None, known) => format!("write one that exists: {}", words::either(known)),
    };
    Finding::new(place, format!("`{written}` refers to nothing: {kinds} has that name"))
        .label("nothing has this name")
        .because(WHY)
        .mend(mend)
        .could(could)
        .meant(near)
}

/// Coils by number, where the driver says how many it has.
fn coils(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let mut judged = Vec::new();
    for load in &job.loads {
        for (path, coil) in load.plan().coils.iter().flat_map(|coils| coils.each()) {
            let has = job.plan.drivers.get(&coil.driver).map_or(0, |driver| driver.coils.len());
            if has > 0 && usize::from(coil.number) > has {
                let place = load.at(format!("coils{path}"));
                let finding = Finding::new(
                    place.clone(),
                    format!("coil {} of `{}`, which has {}", coil.number, coil.driver, words::count(has, "coil")),
                )
                .label("there is no such coil")
                .also(Place::of(format!("drivers.{}.coils", coil.driver)), "these are all")
                .because(WHY)
                .missing([Place::of(format!("drivers.{}.coils", coil.driver))])
                .mend(match has {
                    1 => format!("name its only coil, `{}.1`", coil.driver),
                    _ => format!("name a coil from 1 to {has}"),
                });
                judged.push((place, Ok(Verdict::fail(finding))));
            }
        }
    }
    judged
}

/// Outputs by number, where the amplifier says how many channels it has.
fn outputs(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let loads =
        job.loads.iter().map(|load| (load.place(), load.plan().amplifier.as_deref(), load.plan().outputs.as_slice()));
    let settings = job.plan.settings.iter().map(|(name, is)| {
        (Place::of(format!("settings.{name}")), Some(channels::amplifier_of(name, is)), is.outputs.as_slice())
    });
    let sections = job.amplifiers.iter().flat_map(|amplifier| {
        let sections = amplifier.plan().sections.iter();
        sections
            .map(|(name, is)| (amplifier.at(format!("sections.{name}")), Some(amplifier.name), is.outputs.as_slice()))
    });
    let mut judged = Vec::new();
    for (thing, amplifier, outputs) in loads.chain(settings).chain(sections) {
        let amplifier = amplifier.and_then(|name| job.amplifier(name));
        let Some((amplifier, channels)) = amplifier.and_then(|amp| Some((amp, amp.channels?))) else { continue };
        for (at, output) in outputs.iter().enumerate() {
            let place = Place::of(format!("{thing}.outputs.{at}"));
            let verdict = Verdict::pass_if((1..=channels).contains(output), || {
                let name = match channels {
                    1 => "name output 1; two pairs of terminals on one channel are joined inside".to_owned(),
                    _ => format!("name an output from 1 to {channels}"),
                };
                let has = words::count(usize::from(channels), "channel");
                Finding::new(place.clone(), format!("output {output} of `{}`, which has {has}", amplifier.name))
                    .label("there is no such output")
                    .also(amplifier.at("channels"), has)
                    .because(WHY)
                    .mend(name)
            });
            judged.push((place, Ok(verdict)));
        }
    }
    judged
}

/// Crossings that are described must be on the way.
fn crossings(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let mut judged = Vec::new();
    for way in ways::of(job).iter().filter(|way| !way.path.is_empty()) {
        for zone in way.crossings.keys() {
            let word = zone.word();
            let place = way.at(&format!("crossings.{word}"));
            let verdict = Verdict::pass_if(way.path.contains(zone), || {
                Finding::new(place.clone(), format!("`{word}` is not on the path of `{}`", way.name))
                    .label("the lead does not come here")
                    .also(way.at("path"), "its path")
                    .because(WHY)
                    // A path that jumps over a wall is told there, with the wall's name.
                    .follows("PLAN-07", way.subject.clone())
                    .mend(format!("put `{word}` into the path where the lead passes it, or take it out here"))
                    .offer(Offer::new("take it out").remove(place.clone()))
            });
            judged.push((place, Ok(verdict)));
        }
    }
    judged
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, judged, outcome};

    fn mend(text: &str, place: &str) -> String {
        let check = check(text, "PLAN-01", place);
        assert_eq!(check.outcome, Outcome::Fail, "{place}");
        check.finding.expect("a failed check has a finding").mend
    }

    #[test]
    fn a_step_puts_in_a_fuse_that_there_is() {
        let plan = |name: &str| {
            format!(
                "plan: 1\nwires: {{main: {{fuse: {{rating: 60 A}}}}, far: {{far_fuse: {{rating: 60 A}}}}, back: {{}}}}\n\
                 blocks: {{split: {{outputs: {{one: {{fuse: {{rating: 40 A}}}}}}}}, plain: {{outputs: {{one: {{}}}}}}}}\n\
                 turn_on: {{tap: {{fuse: 1 A}}, relay: {{relay: {{contact_fuse: 3 A}}}}, lead: {{}}}}\nsteps: [{{fuse: {name}}}]\n"
            )
        };
        for name in ["main", "far", "split", "tap", "relay"] {
            assert_eq!(outcome(&plan(name), "PLAN-01", "steps.0.fuse"), Outcome::Pass, "{name}");
        }
        for name in ["back", "plain", "lead"] {
            let found = finding(&plan(name), "PLAN-01", "steps.0.fuse");
            assert_eq!(found.title, format!("the plan states no fuse of `{name}` that could be put in"));
        }
    }

    /// A step lays what has the name, whichever section states it.
    #[test]
    fn a_signal_and_a_load_of_one_name_are_told_once() {
        let plan = |name: &str| {
            format!(
                "plan: 1\nsignals: {{tl: {{}}, tr: {{}}}}\nloads: {{tl: {{}}, tr: {{}}}}\nsteps: [{{run: {name}}}]\n"
            )
        };
        assert_eq!(outcome(&plan("tl"), "PLAN-01", "steps.0.run"), Outcome::Pass);
        assert_eq!(mend(&plan("woofer"), "steps.0.run"), "write one that exists: tl or tr");
        for written in ["signals.tl", "loads.tl"] {
            assert_eq!(mend(&plan(written), "steps.0.run"), "write `tl`", "{written}");
        }
        assert_eq!(mend(&plan("amplifiers.tl"), "steps.0.run"), "write one that exists: tl or tr");
    }

    #[test]
    fn a_capacitor_has_power_and_ground_and_steps_charge_what_there_is() {
        let text = "plan: 1\ncapacitors: {buffer: {}}\nwires: {main: {from: battery.positive, to: buffer.positive}, back: \
                    {from: buffer.ground, to: battery.negative}}\nsteps: [{charge: bufer}, {discharge: buffer}, {connect: \
                    buffer}]\nmounts: {buffer: {}}\n";
        assert_eq!(mend(text, "wires.main.to"), "write one that exists: power or ground");
        assert_eq!(mend(text, "steps.0.charge"), "write `buffer`");
        for place in ["wires.back.from", "steps.1.discharge", "steps.2.connect", "mounts.buffer"] {
            assert_eq!(outcome(text, "PLAN-01", place), Outcome::Pass, "{place}");
        }
    }

    #[test]
    fn the_nearest_name_of_the_right_kind_is_offered() {
        let text = "plan: 1\namplifiers: {bass-amp: {}}\nwires:\n  main: {from: batery.positive, to: bas-amp.power}\n  \
                    return: {from: bass-amp.groud, to: grounds.flor}\ngrounds: {floor: {}}\n";
        assert_eq!(mend(text, "wires.main.from"), "write `battery.positive`");
        assert_eq!(mend(text, "wires.main.to"), "write `bass-amp.power`");
        assert_eq!(mend(text, "wires.return.from"), "write `bass-amp.ground`");
        assert_eq!(mend(text, "wires.return.to"), "write `grounds.floor`");
    }

    /// Nobody can find out the coils of a driver that is not there.
    #[test]
    fn facts_of_what_is_not_there_are_not_asked_for() {
        let plan = |coils: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{class: D, rated: [{{load: 4 ohm, power: 75 W}}]}}}}\ndrivers: {{left: {{coils: \
                 [4 ohm]}}}}\nwires: {{main: {{from: battery.positive, to: amp.power, size: 8 AWG}}}}\nloads: {{l: {{amplifier: amp, \
                 outputs: [1], coils: {coils}}}}}\n"
            )
        };
        for coils in ["lefft", "left.2"] {
            let judgement = judged(&plan(coils));
            let asked = judgement.find_out.iter().map(|fact| fact.place.path());
            let asked: Vec<String> = asked.filter(|path| path.starts_with("drivers.l")).collect();
            assert!(
                !asked.iter().any(|path| path.starts_with("drivers.lefft") || path == "drivers.left.coils"),
                "{asked:?}"
            );
        }
        // One that is there is asked for.
        let text = plan("left").replace("coils: [4 ohm]", "");
        assert!(judged(&text).find_out.iter().any(|fact| fact.place.path() == "drivers.left.coils"));
    }

    /// `plus` is near to none of the terminals, and one of them was meant.
    #[test]
    fn what_is_wrong_only_through_a_name_is_told_below_it() {
        let text = "plan: 1\njob: {stage: planned}\namplifiers: {amp: {inputs: {senses_signal: true}}}\nsources: {radio: {}}\n\
                    drivers: {sub: {}}\ngrounds: {floor: {}}\nwires: {main: {from: battery.positive, to: amp.plus}, return: {from: \
                    amp.ground, to: grounds.floor}}\nsignals: {left: {from: radio, to: amp.line}}\nloads: {bass: {amplifier: amp, \
                    coils: sub.1}}\n";
        let cause = check(text, "PLAN-03", "amplifiers.amp").follows.expect("it follows");
        assert_eq!((cause.0, cause.1.path().as_str()), ("PLAN-01", "wires.main.to"));
    }

    #[test]
    fn a_coil_keeps_its_number_and_its_sign() {
        let text = "plan: 1\ndrivers: {sub: {}}\nloads: {bass: {coils: -subb.2}}\n";
        assert_eq!(mend(text, "loads.bass.coils"), "write `-sub.2`");
    }

    #[test]
    fn a_name_of_another_kind_does_not_count() {
        let text = "plan: 1\namplifiers: {amp: {}}\ndrivers: {sub: {coils: [4 ohm, 4 ohm]}}\n\
                    loads: {bass: {amplifier: sub, coils: {series: [sub.1, sub.3]}}}\n";
        assert_eq!(outcome(text, "PLAN-01", "loads.bass.amplifier"), Outcome::Fail);
        let coils: Vec<Outcome> = judged(text)
            .checks
            .iter()
            .filter(|check| check.rule.code == "PLAN-01" && check.subject.path() == "loads.bass.coils.series.1")
            .map(|check| check.outcome)
            .collect();
        assert!(coils.contains(&Outcome::Fail), "a driver with two coils has no third: {coils:?}");
        assert_eq!(outcome(text, "PLAN-01", "loads.bass.coils.series.0"), Outcome::Pass);
    }

    #[test]
    fn inputs_and_block_outputs_have_names_of_their_own() {
        let text = "plan: 1\namplifiers: {amp: {}}\nblocks: {split: {outputs: {one: {}}}}\nsources: {radio: {}}\n\
                    wires:\n  a: {from: split.one, to: amp.power}\n  b: {from: split.two, to: amp.ground}\n\
                    signals: {left: {from: radio, to: amp.line-left}, right: {from: radio, to: amp.right}}\n";
        assert_eq!(outcome(text, "PLAN-01", "wires.a.from"), Outcome::Pass);
        assert_eq!(outcome(text, "PLAN-01", "wires.b.from"), Outcome::Fail);
        assert_eq!(outcome(text, "PLAN-01", "signals.left.to"), Outcome::Pass);
        assert_eq!(outcome(text, "PLAN-01", "signals.right.to"), Outcome::Fail);
    }

    #[test]
    fn outputs_beyond_the_channels_and_crossings_off_the_path_fail() {
        let text = "plan: 1\namplifiers: {amp: {channels: 2}}\nloads: {front: {amplifier: amp, outputs: [2, 3]}}\n\
                    wires: {main: {to: amp.power, path: [engine-bay, cargo], crossings: {firewall: {sealed: true}}}}\n";
        assert_eq!(outcome(text, "PLAN-01", "loads.front.outputs.0"), Outcome::Pass);
        assert_eq!(outcome(text, "PLAN-01", "loads.front.outputs.1"), Outcome::Fail);
        assert_eq!(outcome(text, "PLAN-01", "wires.main.crossings.firewall"), Outcome::Fail);
    }

    #[test]
    fn sections_name_outputs_that_there_are() {
        let text = "plan: 1\namplifiers: {quint: {channels: 5, sections: {bass: {outputs: [5, 6]}}}}\n";
        assert_eq!(outcome(text, "PLAN-01", "amplifiers.quint.sections.bass.outputs.0"), Outcome::Pass);
        let beyond = check(text, "PLAN-01", "amplifiers.quint.sections.bass.outputs.1").finding.expect("it fails");
        assert_eq!(beyond.title, "output 6 of `quint`, which has 5 channels");
    }

    #[test]
    fn two_pairs_of_terminals_on_one_channel_are_one_output() {
        let text = "plan: 1\namplifiers: {mono: {channels: 1}}\nloads: {bass: {amplifier: mono, outputs: [1, 2]}}\n";
        let second = check(text, "PLAN-01", "loads.bass.outputs.1").finding.expect("there is one channel");
        assert_eq!(second.mend, "name output 1; two pairs of terminals on one channel are joined inside");
    }

    #[test]
    fn a_setting_with_a_name_of_its_own_names_its_amplifier_and_is_set_and_measured_by_its_name() {
        let text = "plan: 1\namplifiers: {quad: {channels: 4}}\nsettings: {rear: {amplifier: quad, outputs: [3, 5]}, front: {tone: 1 kHz}}\n\
                    steps: [{set: rear}, {set: quad}, {set: front}]\nmeasured: {settings: {rear: {gain: 20 V}}}\n";
        for (place, expected) in [
            ("settings.rear.amplifier", Outcome::Pass),
            ("settings.rear.outputs.0", Outcome::Pass),
            ("settings.rear.outputs.1", Outcome::Fail),
            ("settings.front", Outcome::Fail),
            ("steps.0.set", Outcome::Pass),
            ("steps.1.set", Outcome::Pass),
            ("steps.2.set", Outcome::Fail),
            ("measured.settings.rear", Outcome::Pass),
        ] {
            assert_eq!(outcome(text, "PLAN-01", place), expected, "{place}");
        }
    }

    #[test]
    fn a_wall_that_a_path_leaves_out_is_told_once() {
        let text = "plan: 1\nwires: {main: {path: [engine-bay, cargo], crossings: {firewall: {sealed: true}}}}\n";
        let finding = check(text, "PLAN-01", "wires.main.crossings.firewall").finding.expect("it fails");
        let (code, subject) = finding.follows.expect("it follows");
        assert_eq!(outcome(text, code, &subject.path()), Outcome::Fail);
    }

    #[test]
    fn names_in_steps_settings_and_measurements_are_looked_at_too() {
        let text =
            "plan: 1\nsettings: {amp: {tone: 50 Hz}}\nsteps: [{run: main}]\nmeasured: {grounds: {floor: 3 mohm}}\n";
        for place in ["settings.amp", "steps.0.run", "measured.grounds.floor"] {
            assert_eq!(outcome(text, "PLAN-01", place), Outcome::Fail, "{place}");
        }
    }

    #[test]
    fn a_slip_in_the_name_of_anything_is_told_with_what_was_meant() {
        let text = "plan: 1\nbatteries: {auxiliary: {}}\nisolators: {splitter: {}}\nblocks: {spread: {outputs: {one: {}}}}\n\
                    wires: {mainfeed: {}}\nturn_on: {remotelead: {}}\nsignals: {leftfront: {}}\nloads: {subwoofers: {}}\n\
                    steps: [{mount: auxiliry}, {mount: spliter}, {mount: spred}, {run: mainfed}, {run: remoteled}, {run: leftfrnt}, \
                    {run: subwofers}]\n";
        let keys = ["mount", "mount", "mount", "run", "run", "run", "run"];
        let meant = ["auxiliary", "splitter", "spread", "mainfeed", "remotelead", "leftfront", "subwoofers"];
        for (at, (key, meant)) in keys.into_iter().zip(meant).enumerate() {
            let finding = check(text, "PLAN-01", &format!("steps.{at}.{key}")).finding.expect("it fails");
            assert_eq!(finding.mend, format!("write `{meant}`"));
        }
    }

    #[test]
    fn only_the_battery_of_the_vehicle_has_a_side_on_the_body() {
        let text = "plan: 1\nbatteries: {aux: {}}\nwires: {a: {from: battery.body-side}, b: {from: aux.body-side}, c: {from: aux.negative}}\n";
        assert_eq!(outcome(text, "PLAN-01", "wires.a.from"), Outcome::Pass);
        assert_eq!(outcome(text, "PLAN-01", "wires.b.from"), Outcome::Fail);
        assert_eq!(outcome(text, "PLAN-01", "wires.c.from"), Outcome::Pass);
    }

    #[test]
    fn coils_are_counted_where_the_driver_says_how_many_it_has() {
        let failed = |coils: &str, number: u8| {
            let text = format!("plan: 1\ndrivers: {{sub: {{{coils}}}}}\nloads: {{bass: {{coils: sub.{number}}}}}\n");
            judged(&text).failed().any(|check| check.rule.code == "PLAN-01")
        };
        assert!(!failed("coils: [4 ohm, 4 ohm]", 2));
        assert!(failed("coils: [4 ohm, 4 ohm]", 3));
        assert!(!failed("", 3));
    }

    #[test]
    fn the_only_coil_is_named() {
        let of = |has: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\ndrivers: {{left: {{coils: [{has}]}}}}\nloads: {{l: {{amplifier: amp, coils: left.3}}}}\n"
            );
            let judged = judged(&text);
            let coil =
                judged.failed().find(|check| check.subject.path() == "loads.l.coils").expect("there is no coil 3");
            coil.finding.as_ref().expect("a failed check has a finding").mend.clone()
        };
        assert_eq!(of("4 ohm"), "name its only coil, `left.1`");
        assert_eq!(of("4 ohm, 4 ohm"), "name a coil from 1 to 2");
    }

    /// Where one name is near, that one is meant; where none is, any may be.
    #[test]
    fn what_else_it_could_be_is_tried_only_where_no_name_is_near() {
        let of = |end: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{bass: {{}}}}\nwires: {{main: {{from: battery.positive, to: bass.{end}}}}}\n"
            );
            check(&text, "PLAN-01", "wires.main.to").finding.expect("it fails").could.len()
        };
        assert_eq!(of("powr"), 0);
        assert!(of("plus") > 1);
    }

    /// A charger has a minus, a relay has none that current comes back through.
    #[test]
    fn only_what_holds_a_voltage_of_its_own_has_a_minus() {
        let known = |kind: &str, terminal: &str| {
            let text = format!(
                "plan: 1\nisolators: {{part: {{kind: {kind}}}}}\ngrounds: {{floor: {{}}}}\nwires: {{a: {{from: part.{terminal}, to: grounds.floor}}}}\n"
            );
            outcome(&text, "PLAN-01", "wires.a.from") == Outcome::Pass
        };
        assert!(known("charger", "ground") && known("charger", "sense") && known("step-down", "ground"));
        assert!(!known("relay", "ground") && known("relay", "sense") && !known("step-down", "sense"));
        assert!(known("step-down", "remote") && !known("charger", "remote"));
    }
}
