//! Terminals, outputs and coils that take one connection.

use std::collections::BTreeMap;

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::Terminal;
use crate::rules::signal::site::{Side, inputs, number};
use crate::rules::wire::dead_short::shorted_at;
use crate::solve::{Job, Place, Undecided, channels};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PLAN-04",
    name: "overused-terminal",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("overused_terminal.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Mistake("wires.*.from|to"),
        super::Slip::Mistake("turn_on.*.to.*"),
        super::Slip::Mistake("loads.*.outputs.*"),
        super::Slip::Mistake("signals.*.to"),
        super::Slip::Repeat("wires.*"),
    ],
};

/// What takes one connection, as a person would call it, with the places that connect to it.
type Uses = BTreeMap<String, (Kind, Vec<Place>)>;

#[derive(Clone, Copy)]
enum Kind {
    Terminal,
    /// A supply terminal of an amplifier, with how many conductors it takes.
    Supply(usize),
    Stud,
    Remote,
    Output,
    Coil,
    Setting,
    Input,
    Section,
}

/// So many rings lie under one nut and still get clamped: AC 43.13-1B of the US Federal Aviation Administration, chapter
/// 11 (aircraft; taken here as a published benchmark, from memory).
const RINGS: usize = 4;

impl Kind {
    fn takes(self) -> usize {
        match self {
            Self::Stud => RINGS,
            Self::Supply(takes) => takes,
            _ => 1,
        }
    }

    fn why(self) -> &'static str {
        match self {
            Self::Terminal | Self::Supply(1) => {
                "a terminal for one conductor clamps two of them badly: it gets hot and works loose"
            }
            Self::Supply(_) => {
                "a terminal with more conductors than it has clamps for holds some of them badly: it gets hot and works loose"
            }
            Self::Stud => "a tall stack of rings settles and works loose, and the lowest ring gets hot",
            Self::Remote => "two feeds on one turn-on terminal feed back into each other's circuit",
            Self::Output => "two loads on one output are in parallel, and neither of them is what the output sees",
            Self::Coil => "a coil between two outputs ties the outputs together",
            Self::Input => {
                "two outputs that are tied together drive each other: each works into the few ohm of the other, loses level and distorts"
            }
            Self::Setting => "an output has one gain and one set of filters, and they cannot stand at two settings",
            Self::Section => "an output has one rating, and nobody can tell which of two holds for it",
        }
    }

    fn mend(self) -> &'static str {
        match self {
            Self::Terminal => "bring one conductor to it, from a distribution block where several must share",
            Self::Supply(_) => {
                "bring no more to it than it has clamps for, from a distribution block where several must share; `terminals.power_count` says \
                 how many its maker gave it"
            }
            Self::Stud => "gather them in a distribution block or on a bus bar, and bring one wire to the stud",
            Self::Remote => "keep one turn-on lead, and let it switch every amplifier",
            Self::Output => "write one load that holds all coils of this output",
            Self::Coil => "leave the coil in one load",
            Self::Input => {
                "bring one signal to each input; for the sum of two use a lead with a resistor in each of them or a converter that adds them (`summed: true`), or the radio's bass output"
            }
            Self::Setting => "name each output in one setting",
            Self::Section => "name each output in one section, as the amplifier's maker does",
        }
    }
}

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let mut uses = terminals(job);
    uses.extend(loads(job));
    uses.extend(settings(job));
    uses.extend(signals(job));
    uses.extend(sections(job));
    let firsts = first_of_loads(&uses);
    uses.into_iter()
        .filter_map(|(what, (kind, places))| {
            let (first, rest) = places.split_first()?;
            let adds = matches!(kind, Kind::Input).then(|| adds(job, &places)).flatten();
            if let Some(judged) = adds {
                return Some((first.clone(), judged));
            }
            let verdict = Verdict::pass_if(places.len() <= kind.takes(), || {
                let last = rest.last().unwrap_or(first);
                let others = places.iter().filter(|place| *place != last);
                let title = match kind {
                    Kind::Stud => format!("{} rings on {what}, {RINGS} is the most", places.len()),
                    Kind::Supply(takes @ 2..) => format!("{} conductors on {what}, {takes} is the most", places.len()),
                    _ => format!("{what} is used {} times", places.len()),
                };
                let finding = Finding::new(last.clone(), title)
                    .label("used here again")
                    .because(kind.why())
                    .mend(kind.mend())
                    .offers(matches!(kind, Kind::Remote).then(|| Offer::new("keep one lead").remove(last.clone())));
                let finding = others.fold(finding, |finding, place| finding.also(place.clone(), "used here"));
                match cause(job, &places).or_else(|| firsts.get(first).cloned().map(|first| ("PLAN-04", first))) {
                    Some((code, subject)) => finding.follows(code, subject),
                    None => finding,
                }
            });
            Some((first.clone(), Ok(verdict)))
        })
        .collect()
}

/// For coils that are all used by the same loads, the first of them: that is one mistake, and the others follow.
fn first_of_loads(uses: &Uses) -> BTreeMap<Place, Place> {
    let mut firsts: BTreeMap<Vec<String>, Place> = BTreeMap::new();
    let mut followers = BTreeMap::new();
    let coils = uses.values().filter(|(kind, _)| matches!(kind, Kind::Coil));
    for (_, places) in coils {
        let load = |place: &Place| place.segments().take(2).collect::<Vec<_>>().join(".");
        match firsts.get(&places.iter().map(load).collect::<Vec<_>>()) {
            Some(first) => {
                followers.insert(places[0].clone(), first.clone());
            }
            None => {
                firsts.insert(places.iter().map(load).collect(), places[0].clone());
            }
        }
    }
    followers
}

/// What says it all where a wire is there by a mistake that has a rule of its own.
fn cause(job: &Job<'_>, places: &[Place]) -> Option<(&'static str, Place)> {
    let remote = places.iter().find_map(|place| jumper(job, place)).map(|remote| ("TURN-01", remote));
    remote.or_else(|| {
        let short = places.last().and_then(|place| shorted_at(place, job));
        short.map(|battery| ("WIRE-14", battery))
    })
}

/// The other end of a wire that only bridges from here to a turn-on terminal: it is taken out, and one wire is left.
fn jumper(job: &Job<'_>, place: &Place) -> Option<Place> {
    job.wires.iter().find_map(|wire| {
        let ends = [("from", wire.plan().to.as_ref(), "to"), ("to", wire.plan().from.as_ref(), "from")];
        let here = |(near, other, far): (&str, Option<&crate::plan::Terminal>, &'static str)| {
            let is_remote = other.is_some_and(|end| end.terminal == "remote");
            (is_remote && wire.at(near.to_owned()) == *place).then(|| wire.at(far))
        };
        ends.into_iter().find_map(here)
    })
}

fn terminals(job: &Job<'_>) -> Uses {
    let mut uses = Uses::new();
    let wires = job.wires.iter().flat_map(|wire| {
        let ends = [("from", &wire.plan().from), ("to", &wire.plan().to)];
        ends.into_iter().filter_map(|(key, end)| Some((wire.at(key), end.as_ref()?)))
    });
    let leads = job.turn_on.iter().flat_map(|lead| {
        lead.plan().to.iter().enumerate().map(|(at, terminal)| (lead.at(format!("to.{at}")), terminal))
    });
    for (place, terminal) in wires.chain(leads) {
        let kind = match terminal.terminal.as_str() {
            name if job
                .plan
                .blocks
                .get(&terminal.thing)
                .is_some_and(|block| name == "in" || block.outputs.contains_key(name)) =>
            {
                Kind::Terminal
            }
            "remote" if job.gear(&terminal.thing).is_some() => Kind::Remote,
            "power" | "ground" if job.gear(&terminal.thing).is_some() => {
                let amplifier = job.amplifier(&terminal.thing);
                let takes = amplifier.and_then(|amplifier| amplifier.terminals.as_ref()?.power_count);
                amplifier.map_or(Kind::Terminal, |_| Kind::Supply(usize::from(takes.unwrap_or(1))))
            }
            "sense" | "remote" if job.plan.isolators.contains_key(&terminal.thing) => Kind::Remote,
            _ if is_stud(terminal, job) => Kind::Stud,
            _ => continue,
        };
        uses.entry(format!("terminal `{terminal}`")).or_insert((kind, Vec::new())).1.push(place);
    }
    uses
}

/// The outputs that settings name.
fn settings(job: &Job<'_>) -> Uses {
    let mut uses = Uses::new();
    for (name, is) in &job.plan.settings {
        for (at, output) in is.outputs.iter().enumerate() {
            let what = format!("the setting of output {output} of `{}`", channels::amplifier_of(name, is));
            let place = Place::of(format!("settings.{name}.outputs.{at}"));
            uses.entry(what).or_insert((Kind::Setting, Vec::new())).1.push(place);
        }
    }
    uses
}

/// The inputs of amplifiers and processors that are one socket by their names, like `line-left` and `line-3`. What only says
/// `line` may be a pair of them.
fn signals(job: &Job<'_>) -> Uses {
    let mut uses = Uses::new();
    for signal in &job.signals {
        let Some(to) = signal.plan().to.as_ref() else { continue };
        let is_socket = number(to).is_some() || Side::of(&to.terminal).is_some();
        if is_socket && inputs(&to.thing, job).is_some() {
            uses.entry(format!("input `{to}`")).or_insert((Kind::Input, Vec::new())).1.push(signal.at("to"));
        }
    }
    uses
}

/// The outputs that sections of amplifiers name.
fn sections(job: &Job<'_>) -> Uses {
    let mut uses = Uses::new();
    for amplifier in &job.amplifiers {
        for (name, is) in &amplifier.plan().sections {
            for (at, output) in is.outputs.iter().enumerate() {
                let what = format!("the section of output {output} of `{}`", amplifier.name);
                let place = amplifier.at(format!("sections.{name}.outputs.{at}"));
                uses.entry(what).or_insert((Kind::Section, Vec::new())).1.push(place);
            }
        }
    }
    uses
}

/// Whether the one converter through which all signals of an input come adds them; nothing where there is no such one, or
/// where it is known to keep them apart.
fn adds(job: &Job<'_>, places: &[Place]) -> Option<Judged> {
    let of = |place: &Place| job.signals.iter().find(|signal| signal.at("to") == *place);
    let through = |place: &Place| of(place)?.plan().through.as_deref();
    let (first, rest) = places.split_first()?;
    let (name, converter) = job.plan.converters.get_key_value(through(first)?)?;
    if rest.is_empty() || rest.iter().any(|other| through(other) != Some(name)) {
        return None;
    }
    match converter.summed {
        Some(true) => Some(Ok(Verdict::pass())),
        Some(false) => None,
        None => Some(Err(Undecided::need(Place::of(format!("converters.{name}.summed"))))),
    }
}

/// Whether rings are stacked there: posts of batteries, isolators, capacitors, grounds.
fn is_stud(terminal: &Terminal, job: &Job<'_>) -> bool {
    let plan = job.plan;
    let thing = terminal.thing.as_str();
    thing == "battery"
        || plan.batteries.contains_key(thing)
        || plan.isolators.contains_key(thing)
        || plan.capacitors.contains_key(thing)
        || (thing == "grounds" && plan.grounds.contains_key(&terminal.terminal))
}

fn loads(job: &Job<'_>) -> Uses {
    let mut uses = Uses::new();
    for load in &job.loads {
        if let Some(amplifier) = &load.amplifier {
            for (at, output) in load.outputs.iter().enumerate() {
                let what = format!("output {output} of `{amplifier}`");
                uses.entry(what).or_insert((Kind::Output, Vec::new())).1.push(load.at(format!("outputs.{at}")));
            }
        }
        let mut coils: Vec<_> = load.coils.iter().flat_map(|coils| coils.each()).collect();
        // A coil twice in one load is for the rule that looks at how its coils are combined.
        coils.sort_by_key(|(_, coil)| (&coil.driver, coil.number));
        coils.dedup_by_key(|(_, coil)| (&coil.driver, coil.number));
        for (path, coil) in coils {
            let what = format!("coil {} of `{}`", coil.number, coil.driver);
            uses.entry(what).or_insert((Kind::Coil, Vec::new())).1.push(load.at(format!("coils{path}")));
        }
    }
    uses
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    #[test]
    fn one_wire_on_a_terminal_passes_and_two_fail_at_the_second() {
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  a: {from: battery.positive, to: amp.power}\n  \
                    b: {from: battery.positive, to: amp.power}\n  c: {from: amp.ground, to: battery.negative}\n";
        let check = check(text, "PLAN-04", "wires.a.to");
        assert_eq!(check.outcome, Outcome::Fail);
        assert_eq!(check.finding.expect("it fails").at.place.path(), "wires.b.to");
        assert_eq!(outcome(text, "PLAN-04", "wires.c.from"), Outcome::Pass);
    }

    /// Left and right of the radio in one socket of the amplifier. A converter may add them, and then it says so.
    #[test]
    fn an_input_takes_one_signal() {
        let of = |through: [&str; 2], to: [&str; 2], converter: &str| {
            let signal = |side: usize| {
                let through =
                    if through[side].is_empty() { String::new() } else { format!("through: {}, ", through[side]) };
                format!("{{from: radio, {through}to: {}}}", to[side])
            };
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nsources: {{radio: {{}}, dsp: {{kind: processor}}}}\nconverters: {{loc: \
                 {{{converter}}}, other: {{summed: true}}}}\nsignals: {{left: {}, right: {}}}\n",
                signal(0),
                signal(1)
            );
            check(&text, "PLAN-04", "signals.left.to")
        };
        let tied = of(["", ""], ["amp.line-left", "amp.line-left"], "");
        assert_eq!(tied.outcome, Outcome::Fail);
        let finding = tied.finding.expect("it fails");
        assert_eq!(finding.title, "input `amp.line-left` is used 2 times");
        assert_eq!(finding.at.place.path(), "signals.right.to");
        assert_eq!(of(["", ""], ["dsp.line-1", "dsp.line-1"], "").outcome, Outcome::Fail);
        assert_eq!(of(["", ""], ["amp.line-left", "amp.line-right"], "").outcome, Outcome::Pass);
        let both = ["amp.line-left", "amp.line-left"];
        let open = of(["loc", "loc"], both, "ratio: 0.5");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "converters.loc.summed"));
        assert_eq!(of(["loc", "loc"], both, "summed: true").outcome, Outcome::Pass);
        assert_eq!(of(["loc", "loc"], both, "summed: false").outcome, Outcome::Fail);
        assert_eq!(of(["loc", "other"], both, "summed: true").outcome, Outcome::Fail, "two converters are two outputs");
        // A signal elsewhere says nothing of what comes to this input.
        let text = "plan: 1\namplifiers: {amp: {}}\nconverters: {loc: {summed: true}}\nsignals: {first: {from: radio, to: amp.line-right}, \
                    left: {from: radio, through: loc, to: amp.line-left}, right: {from: radio, through: loc, to: amp.line-left}}\n";
        assert_eq!(check(text, "PLAN-04", "signals.left.to").outcome, Outcome::Pass);
    }

    /// `line` alone may be a pair of sockets.
    #[test]
    fn an_input_without_a_side_is_not_counted() {
        let text = "plan: 1\namplifiers: {amp: {}}\nsources: {radio: {}}\nsignals: {l: {from: radio, to: amp.line}, r: {from: \
                    radio, to: amp.line}}\n";
        assert!(crate::rules::trial::judged(text).checks.iter().all(|check| check.rule.code != "PLAN-04"));
    }

    /// An amplifier of 4 kW with two clamps a pole takes two runs of each, and a third has none.
    #[test]
    fn a_supply_terminal_takes_as_many_conductors_as_its_maker_says() {
        let of = |count: &str, runs: usize| {
            let run = |run: usize| format!("  w{run}: {{from: battery.positive, to: amp.power}}\n");
            let runs = (0..runs).map(run).collect::<Vec<_>>().concat();
            let text =
                format!("plan: 1\namplifiers: {{amp: {{terminals: {{power: 1/0 AWG{count}}}}}}}\nwires:\n{runs}");
            check(&text, "PLAN-04", "wires.w0.to")
        };
        assert_eq!(of(", power_count: 2", 2).outcome, Outcome::Pass);
        let third = of(", power_count: 2", 3).finding.expect("it fails");
        assert_eq!(third.title, "3 conductors on terminal `amp.power`, 2 is the most");
        let second = of("", 2).finding.expect("it fails");
        assert!(second.mend.contains("`terminals.power_count`"), "{}", second.mend);
    }

    #[test]
    fn an_output_has_one_setting() {
        let text = "plan: 1\namplifiers: {quad: {}}\nsettings:\n  front: {amplifier: quad, outputs: [1, 2]}\n  \
                    rear: {amplifier: quad, outputs: [2, 3]}\n";
        assert_eq!(outcome(text, "PLAN-04", "settings.front.outputs.1"), Outcome::Fail);
        assert_eq!(outcome(text, "PLAN-04", "settings.front.outputs.0"), Outcome::Pass);
        assert_eq!(outcome(text, "PLAN-04", "settings.rear.outputs.1"), Outcome::Pass);
    }

    #[test]
    fn an_output_is_in_one_section() {
        let text = "plan: 1\namplifiers: {quint: {sections: {bass: {outputs: [5]}, rear: {outputs: [3, 4, 5]}}}}\n";
        let finding = check(text, "PLAN-04", "amplifiers.quint.sections.bass.outputs.0").finding.expect("it is in two");
        assert_eq!(finding.title, "the section of output 5 of `quint` is used 2 times");
        assert_eq!(outcome(text, "PLAN-04", "amplifiers.quint.sections.rear.outputs.0"), Outcome::Pass);
    }

    #[test]
    fn a_jumper_to_the_turn_on_terminal_is_told_once() {
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  jumper: {from: amp.power, to: amp.remote}\n  \
                    main: {from: battery.positive, to: amp.power}\n";
        let finding = check(text, "PLAN-04", "wires.jumper.from").finding.expect("it fails");
        let (code, subject) = finding.follows.expect("it follows");
        assert_eq!(outcome(text, code, &subject.path()), Outcome::Fail);
    }

    #[test]
    fn a_battery_post_and_a_ground_take_several() {
        let text = "plan: 1\namplifiers: {a: {}, b: {}}\ngrounds: {floor: {}}\nwires:\n  \
                    one: {from: a.ground, to: grounds.floor}\n  two: {from: b.ground, to: grounds.floor}\n";
        let judged = crate::rules::trial::judged(text);
        assert!(!judged.failed().any(|check| check.rule.code == "PLAN-04"));
    }

    #[test]
    fn four_rings_lie_on_a_stud_and_a_fifth_does_not() {
        let text = |rings: usize| {
            let wires = (0..rings).map(|at| format!("  w{at}: {{from: a{at}.ground, to: grounds.floor}}\n"));
            format!("plan: 1\ngrounds: {{floor: {{}}}}\nwires:\n{}", wires.collect::<String>())
        };
        assert_eq!(outcome(&text(4), "PLAN-04", "wires.w0.to"), Outcome::Pass);
        let five = check(&text(5), "PLAN-04", "wires.w0.to").finding.expect("it fails");
        assert_eq!(five.title, "5 rings on terminal `grounds.floor`, 4 is the most");
    }

    #[test]
    fn block_outputs_turn_on_terminals_outputs_and_coils_take_one() {
        let text = "plan: 1\namplifiers: {a: {}, b: {}}\nblocks: {split: {outputs: {one: {}}}}\ndrivers: {sub: {}}\n\
                    wires:\n  one: {from: split.one, to: a.power}\n  two: {from: split.one, to: b.power}\n\
                    turn_on: {first: {to: [a.remote]}, other: {to: [a.remote, b.remote]}}\n\
                    loads: {x: {amplifier: a, outputs: [1], coils: sub.1}, y: {amplifier: a, outputs: [1, 2], coils: sub.1}}\n";
        for place in ["wires.one.from", "turn_on.first.to.0", "loads.x.outputs.0", "loads.x.coils"] {
            assert_eq!(outcome(text, "PLAN-04", place), Outcome::Fail, "{place}");
        }
        for place in ["turn_on.other.to.1", "loads.y.outputs.1", "wires.one.to"] {
            assert_eq!(outcome(text, "PLAN-04", place), Outcome::Pass, "{place}");
        }
    }

    #[test]
    fn the_other_uses_are_shown_and_a_jumper_elsewhere_has_nothing_to_do_with_it() {
        let text = "plan: 1\namplifiers: {amp: {}, other: {}}\nwires:\n  a: {from: battery.positive, to: amp.power}\n  \
                    b: {from: battery.positive, to: amp.power}\n  jumper: {from: other.power, to: other.remote}\n";
        let finding = check(text, "PLAN-04", "wires.a.to").finding.expect("it fails");
        let also: Vec<String> = finding.also.iter().map(|label| label.place.path()).collect();
        assert_eq!((also, finding.follows), (vec!["wires.a.to".to_owned()], None));
    }

    #[test]
    fn the_input_of_a_block_takes_one_and_posts_of_any_battery_or_isolator_take_four() {
        let of = |count: usize, end: &str, subject: &str| {
            let wires = (0..count).map(|at| format!("  w{at}: {{from: {end}, to: a{at}.power}}\n"));
            let text = format!(
                "plan: 1\nblocks: {{split: {{outputs: {{one: {{}}}}}}}}\nbatteries: {{aux: {{}}}}\nisolators: {{relay: {{}}}}\nwires:\n{}",
                wires.collect::<String>()
            );
            outcome(&text, "PLAN-04", subject)
        };
        assert_eq!(of(1, "split.in", "wires.w0.from"), Outcome::Pass);
        assert_eq!(of(2, "split.in", "wires.w0.from"), Outcome::Fail);
        for post in ["battery.positive", "aux.positive", "relay.in"] {
            assert_eq!(of(4, post, "wires.w0.from"), Outcome::Pass, "{post}");
            assert_eq!(of(5, post, "wires.w0.from"), Outcome::Fail, "{post}");
        }
    }

    #[test]
    fn terminals_of_a_converter_and_of_a_processor_take_one() {
        let of = |count: usize, end: &str| {
            let wires = (0..count).map(|at| format!("  w{at}: {{from: a{at}.power, to: {end}}}\n"));
            let text = format!(
                "plan: 1\nconverters: {{loc: {{}}}}\nsources: {{dsp: {{kind: processor}}}}\nisolators: {{part: {{}}}}\nwires:\n{}",
                wires.collect::<String>()
            );
            outcome(&text, "PLAN-04", "wires.w0.to")
        };
        for thing in ["loc", "dsp"] {
            for terminal in ["power", "ground", "remote"] {
                let end = format!("{thing}.{terminal}");
                assert_eq!((of(1, &end), of(2, &end)), (Outcome::Pass, Outcome::Fail), "{end}");
            }
        }
        assert_eq!((of(1, "part.sense"), of(2, "part.sense")), (Outcome::Pass, Outcome::Fail));
    }

    /// A converter is fed by a wire and by a tapped circuit at once: both end at one terminal.
    #[test]
    fn a_turn_on_lead_and_a_wire_at_one_terminal_count_together() {
        let text = "plan: 1\nconverters: {loc: {}}\nwires: {feed: {from: battery.positive, to: loc.power}}\n\
                    turn_on: {tap: {from: {kind: accessory}, to: [loc.power]}}\n";
        assert_eq!(outcome(text, "PLAN-04", "wires.feed.to"), Outcome::Fail);
    }

    /// PLAN-01 says that they do not exist; what they would take nobody knows.
    #[test]
    fn terminals_of_things_that_do_not_exist_are_not_counted() {
        for end in ["amq.power", "amq.remote", "amq.line", "grounds.flor"] {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\nwires: {{a: {{to: {end}}}, b: {{to: {end}}}}}\n"
            );
            let judged = crate::rules::trial::judged(&text);
            let counted = judged.checks.iter().filter(|check| check.rule.code == "PLAN-04").count();
            assert_eq!(counted, 0, "{end}");
        }
    }

    /// Two wires side by side share both their terminals: each terminal is told, for each has to take them.
    #[test]
    fn terminals_that_the_same_wires_share_are_told_one_by_one() {
        let text = "plan: 1\namplifiers: {amp: {}}\nblocks: {split: {outputs: {one: {}}}}\nwires:\n  \
                    a: {from: split.one, to: amp.power}\n  b: {from: split.one, to: amp.power}\n";
        let judged = crate::rules::trial::judged(text);
        let own = judged.failed().filter(|check| check.rule.code == "PLAN-04" && check.follows.is_none());
        assert_eq!(own.map(|check| check.subject.path()).collect::<Vec<_>>(), ["wires.a.from", "wires.a.to"]);
    }

    #[test]
    fn a_capacitors_terminal_takes_a_stack_of_rings() {
        let of = |count: usize| {
            let wires: Vec<String> = (0..count).map(|at| format!("w{at}: {{from: cap.power}}")).collect();
            let text = format!("plan: 1\ncapacitors: {{cap: {{}}}}\nwires: {{{}}}\n", wires.join(", "));
            outcome(&text, "PLAN-04", "wires.w0.from")
        };
        assert_eq!((of(4), of(5)), (Outcome::Pass, Outcome::Fail));
    }

    /// An isolator's sense terminal takes one lead; no other gear has such a terminal.
    #[test]
    fn a_sense_terminal_is_an_isolators() {
        let of = |end: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nisolators: {{dcdc: {{}}}}\nturn_on: {{a: {{to: [{end}]}}, b: {{to: [{end}]}}}}\n"
            );
            let judged = crate::rules::trial::judged(&text);
            judged.failed().filter(|check| check.rule.code == "PLAN-04").count()
        };
        assert_eq!((of("dcdc.sense"), of("amp.sense")), (1, 0));
    }
}
