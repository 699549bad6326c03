//! Gear that draws current works only with a feed, a return and a turn-on; an amplifier also with a signal and a load.

use super::impossible_path::to_itself;
use super::{ends, silent_outputs};
use crate::judge::{Finding, Judged, Outcome, Rule, Severity, Subjects, Verdict};
use crate::plan::{Amplifier, Converter, FeedKind, Stage, Terminal, TurnOn};
use crate::rules::route::ways;
use crate::rules::turn::powered;
use crate::solve::graph::LinkKind;
use crate::solve::polarity::Short;
use crate::solve::{Job, Place, Thing, Undecided, earth};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "PLAN-03",
    name: "gear-short-of-a-connection",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("connections.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Drop("turn_on.*.to.*"),
        super::Slip::Drop("signals.*"),
        super::Slip::Drop("wires.*"),
        super::Slip::Drop("loads.*"),
    ],
};

/// A connection that gear needs: what it is called, the section that would state it, and whether it is there.
type Connection = (&'static str, &'static str, bool);

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let amplifiers = job.amplifiers.iter().map(|amplifier| (amplifier.place(), of_amplifier(amplifier, job)));
    let processors = job.plan.sources.iter().filter(|(_, source)| source.is_processor());
    let processors = processors.map(|(name, _)| {
        let place = Place::of(format!("sources.{name}"));
        (place.clone(), of_small(name, &place, "a processor works only with feed, return and turn-on", None, job))
    });
    let converters = job.plan.converters.iter().map(|(name, is)| {
        let converter = Thing::new("converters", name, is);
        (converter.place(), of_converter(&converter, job))
    });
    let capacitors = job.plan.capacitors.keys().map(|name| {
        let place = Place::of(format!("capacitors.{name}"));
        (place.clone(), of_capacitor(name, &place, job))
    });
    let step_downs = job.plan.isolators.iter().filter(|(_, isolator)| isolator.is_step_down());
    let step_downs = step_downs.map(|(name, _)| (Place::of(format!("isolators.{name}")), of_step_down(name, job)));
    // A plan may leave the minus of a charger out; where it is there, it leads somewhere.
    let chargers = job.plan.isolators.iter().filter(|(name, isolator)| {
        isolator.has_ground() && !isolator.is_step_down() && job.graph().node(name, "ground").is_some()
    });
    let chargers = chargers.map(|(name, _)| {
        let place = Place::of(format!("isolators.{name}"));
        let connections = [("a return to ground", "wires", has_return(name, job))];
        let because = "what a charger takes comes back through its minus, or through whatever else it finds";
        (place.clone(), judge(name, &place, &connections, job, because, None))
    });
    amplifiers.chain(processors).chain(converters).chain(capacitors).chain(step_downs).chain(chargers).collect()
}

fn of_capacitor(name: &str, place: &Place, job: &Job<'_>) -> Judged {
    let connections =
        [("a feed", "wires", has_feed(name, job)), ("a return to ground", "wires", has_return(name, job))];
    judge(
        name,
        place,
        &connections,
        job,
        "a capacitor does something only across the supply, with both its terminals",
        None,
    )
}

/// A converter from 24 V to 12 V.
fn of_step_down(name: &str, job: &Job<'_>) -> Judged {
    let connections = [
        ("a feed from a battery", "wires", is_fed_before(name, job)),
        ("a return to ground", "wires", has_return(name, job)),
        ("a wire from its output", "wires", job.graph().node(name, "out").is_some_and(|out| is_wired(out, job))),
    ];
    let because = "a converter works only with a feed, a minus that both sides share, and something to feed";
    judge(name, &Place::of(format!("isolators.{name}")), &connections, job, because, None)
}

/// Whether a battery feeds its input, and not by way of its output.
fn is_fed_before(name: &str, job: &Job<'_>) -> bool {
    let graph = job.graph();
    let passes = |kind: &LinkKind| kind.conducts() && !matches!(kind, LinkKind::Isolator(other) if other == name);
    graph.node(name, "in").is_some_and(|input| graph.nearest(input, &graph.positives(job), passes).is_some())
}

fn is_wired(node: usize, job: &Job<'_>) -> bool {
    let graph = job.graph();
    graph.around(node).any(|(link, _)| matches!(graph.links[link].kind, LinkKind::Wire(_)))
}

fn of_amplifier(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let name = amplifier.name;
    let connections = [
        ("a feed from a battery", "wires", has_feed(name, job)),
        ("a return to ground", "wires", has_return(name, job)),
        ("a turn-on lead", "turn_on", job.is_switched(name)),
        ("a signal", "signals", job.plan.signals.values().any(|signal| ends_at(signal.to.as_ref(), name))),
        ("a load", "loads", job.plan.loads.values().any(|load| load.amplifier.as_deref() == Some(name))),
    ];
    let because = "an amplifier plays only with feed, return, turn-on, signal and load";
    let judged = judge(name, &amplifier.place(), &connections, job, because, None)?;
    if judged.outcome == Outcome::Pass { silent_outputs::judge(amplifier, job) } else { Ok(judged) }
}

fn of_converter(converter: &Thing<'_, Converter>, job: &Job<'_>) -> Judged {
    let why = powered::why(converter, job)
        .ok_or(Undecided::NotApplicable("nothing in the plan says that it draws current: it may be passive"))?;
    let because = "a converter that is not passive works only with feed, return and turn-on";
    of_small(converter.name, &converter.place(), because, Some(why), job)
}

/// A processor, or a converter that draws current: a circuit may feed it as well as a battery, and what is fed by a
/// circuit that goes off needs no lead to switch it.
fn of_small(
    name: &str,
    place: &Place,
    because: &'static str,
    why: Option<(Place, &'static str)>,
    job: &Job<'_>,
) -> Judged {
    let feeds: Vec<_> = job.turn_on.iter().filter(|lead| lead.to.iter().any(|to| to.is(name, "power"))).collect();
    let constant = |lead: &TurnOn| lead.from.as_ref().and_then(|from| from.kind) == Some(FeedKind::Constant);
    let goes_off = feeds.iter().any(|lead| !constant(lead));
    let connections = [
        ("a feed", "wires", !feeds.is_empty() || has_feed(name, job)),
        ("a return to ground", "wires", has_return(name, job)),
        ("a turn-on lead", "turn_on", goes_off || job.is_switched(name)),
    ];
    let mut verdict = judge(name, place, &connections, job, because, why)?;
    // What nothing but a constant circuit feeds is on all the time: once that is mended, the circuit switches it.
    if let ([(_, _, true), (_, _, true), _], Some(lead), Some(finding)) =
        (connections, feeds.first(), &mut verdict.finding)
    {
        finding.follows = Some(("TURN-01", lead.place()));
    }
    Ok(verdict)
}

fn judge(
    name: &str,
    place: &Place,
    connections: &[Connection],
    job: &Job<'_>,
    because: &'static str,
    why: Option<(Place, &'static str)>,
) -> Judged {
    if job.polarity().positive_earth.is_some() {
        return Err(Undecided::NotApplicable(earth::WHY));
    }
    let missing = || connections.iter().filter(|(_, _, there)| !there);
    if missing().next().is_some() && job.plan.stage() == Stage::Draft {
        let mut sections: Vec<&str> = missing().map(|(_, section, _)| *section).collect();
        sections.dedup();
        return Err(Undecided::Open(sections.into_iter().map(Place::of).collect()));
    }
    let half: Vec<Place> = missing().flat_map(|(_, section, _)| ends::unstated(section, job)).collect();
    let is_half = |section: &str| half.iter().any(|place| place.segments().next() == Some(section));
    let lacks: Vec<&str> = missing().filter(|(_, section, _)| !is_half(section)).map(|(what, _, _)| *what).collect();
    if lacks.is_empty() && !half.is_empty() {
        return Err(Undecided::Open(half));
    }
    let is_dead = lacks == ["a turn-on lead"];
    let remote = Terminal { thing: name.to_owned(), terminal: "remote".to_owned() };
    Ok(Verdict::pass_if(lacks.is_empty(), || {
        let finding = Finding::new(place.clone(), format!("`{name}` lacks {}", words::all(&lacks)))
            .label("not connected throughout")
            .because(because)
            .mend(format!("plan {}", words::all(&lacks)))
            .offers(is_dead.then(|| crate::rules::turn::site::new_lead(&remote, job)));
        let finding = match misled(name, place, &lacks, job) {
            Some((code, cause)) => finding.follows(code, cause),
            None => finding,
        };
        why.into_iter().fold(finding, |finding, (place, why)| finding.also(place, why))
    }))
}

/// What says it all where gear lacks nothing but a wire that leads elsewhere: it is exchanged, or its wire makes a short.
fn misled(name: &str, place: &Place, lacks: &[&str], job: &Job<'_>) -> Option<(&'static str, Place)> {
    let is_wire = |what: &&str| what.starts_with("a feed") || what.starts_with("a return");
    if !lacks.iter().all(is_wire) {
        return None;
    }
    let polarity = job.polarity();
    if polarity.turned.iter().any(|turned| turned.place == *place) {
        return Some(("WIRE-15", place.clone()));
    }
    let graph = job.graph();
    let passes = |short: &Short| {
        // A wire on the way is at this gear already, or the gear has no wire at all where one is lacking.
        let at_gear = short.wires.iter().any(|wire| {
            let ends = [&job.wires[*wire].from, &job.wires[*wire].to];
            ends.into_iter().flatten().any(|end| end.thing == name)
        });
        at_gear || ["power", "ground"].iter().any(|terminal| graph.node(name, terminal).is_none())
    };
    let short = polarity.shorts.iter().find(|short| passes(short));
    let looped = || ways::wires(job).into_iter().find(|way| to_itself(way).is_some());
    short.map(|short| ("WIRE-14", short.battery.clone())).or_else(|| looped().map(|way| ("PLAN-07", way.subject)))
}

fn ends_at(terminal: Option<&Terminal>, thing: &str) -> bool {
    terminal.is_some_and(|terminal| terminal.thing == thing)
}

/// A way through the body is a return, never a feed.
fn has_feed(name: &str, job: &Job<'_>) -> bool {
    let graph = job.graph();
    let power = graph.node(name, "power");
    power.is_some_and(|power| graph.nearest(power, &graph.positives(job), LinkKind::conducts).is_some())
}

fn has_return(name: &str, job: &Job<'_>) -> bool {
    let graph = job.graph();
    let mut goals = graph.negatives(job);
    goals.extend(job.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name)));
    let ground = graph.node(name, "ground");
    ground.is_some_and(|ground| graph.nearest(ground, &goals, LinkKind::conducts).is_some())
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, outcome};

    /// Between feed and ground it is whole; on the feed alone it does nothing.
    #[test]
    fn a_capacitor_lies_across_the_supply() {
        let plan = |rest: &str| {
            format!(
                "plan: 1\njob: {{stage: planned}}\ncapacitors: {{buffer: {{}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  \
                 main: {{from: battery.positive, to: buffer.power}}\n{rest}"
            )
        };
        let back = "  back: {from: buffer.ground, to: grounds.floor}\n";
        assert_eq!(outcome(&plan(back), "PLAN-03", "capacitors.buffer"), Outcome::Pass);
        assert_eq!(finding(&plan(""), "PLAN-03", "capacitors.buffer").title, "`buffer` lacks a return to ground");
        assert_eq!(outcome(&plan("").replace("planned", "draft"), "PLAN-03", "capacitors.buffer"), Outcome::Open);
    }

    /// The feed of an amplifier leads over a capacitor's terminal, and its return over the other.
    #[test]
    fn wires_lead_on_from_both_terminals_of_a_capacitor() {
        let text = plan("planned", "", "capacitors: {buffer: {}}\n")
            .replace("to: amp.power}", "to: buffer.power}\n  feed: {from: buffer.power, to: amp.power}")
            .replace("to: grounds.floor}", "to: buffer.ground}\n  down: {from: buffer.ground, to: grounds.floor}");
        assert_eq!(outcome(&text, "PLAN-03", "capacitors.buffer"), Outcome::Pass);
        assert_eq!(finding(&text, "PLAN-03", "amplifiers.amp").title, "`amp` lacks a turn-on lead");
    }

    fn plan(stage: &str, inputs: &str, rest: &str) -> String {
        format!(
            "plan: 1\njob: {{stage: {stage}}}\namplifiers: {{amp: {{{inputs}}}}}\nsources: {{radio: {{}}}}\n\
             drivers: {{sub: {{}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power}}\n  \
             return: {{from: amp.ground, to: grounds.floor}}\nsignals: {{left: {{from: radio, to: amp.line}}}}\n\
             loads: {{bass: {{amplifier: amp, coils: sub.1}}}}\n{rest}"
        )
    }

    #[test]
    fn all_five_are_needed_and_a_draft_leaves_them_open() {
        let lead = "turn_on: {remote: {to: [amp.remote]}}\n";
        assert_eq!(outcome(&plan("planned", "", lead), "PLAN-03", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&plan("planned", "", ""), "PLAN-03", "amplifiers.amp"), Outcome::Fail);
        let open = check(&plan("draft", "", ""), "PLAN-03", "amplifiers.amp");
        assert_eq!(open.outcome, Outcome::Open);
        assert_eq!(open.needs.iter().map(crate::solve::Place::path).collect::<Vec<_>>(), ["turn_on"]);
    }

    /// A wire that does not say where it ends may be the feed that is missing; one more that is missing is told.
    #[test]
    fn an_end_that_is_not_stated_leaves_what_it_may_be_open() {
        let lead = "turn_on: {remote: {to: [amp.remote]}}\n";
        let half = plan("planned", "", lead).replace(", to: amp.power", "");
        let open = check(&half, "PLAN-03", "amplifiers.amp");
        assert_eq!(open.outcome, Outcome::Open);
        assert_eq!(open.needs.iter().map(crate::solve::Place::path).collect::<Vec<_>>(), ["wires.main.to"]);
        let short = half.replace("amplifier: amp, ", "amplifier: other, ");
        assert_eq!(finding(&short, "PLAN-03", "amplifiers.amp").title, "`amp` lacks a load");
    }

    #[test]
    fn an_amplifier_that_senses_its_signal_needs_no_lead() {
        let text = plan("planned", "inputs: {senses_signal: true}", "");
        assert_eq!(outcome(&text, "PLAN-03", "amplifiers.amp"), Outcome::Pass);
    }

    #[test]
    fn a_bare_amplifier_gets_one_verdict_that_names_everything() {
        let text = "plan: 1\njob: {stage: planned}\namplifiers: {amp: {}}\n";
        let finding = check(text, "PLAN-03", "amplifiers.amp").finding.expect("it fails");
        assert_eq!(
            finding.title,
            "`amp` lacks a feed from a battery, a return to ground, a turn-on lead, a signal and a load"
        );
    }

    #[test]
    fn a_feed_from_a_block_that_no_battery_reaches_is_no_feed() {
        let text = "plan: 1\njob: {stage: planned}\namplifiers: {amp: {}}\nblocks: {split: {outputs: {one: {}}}}\n\
                    wires: {main: {from: split.one, to: amp.power}}\n";
        let title = check(text, "PLAN-03", "amplifiers.amp").finding.expect("it fails").title;
        assert!(title.contains("a feed from a battery"), "{title}");
        let fed = text.replace("wires: {", "wires: {feed: {from: battery.positive, to: split.in}, ");
        let title = check(&fed, "PLAN-03", "amplifiers.amp").finding.expect("it fails").title;
        assert!(!title.contains("feed"), "{title}");
    }

    #[test]
    fn a_turn_on_lead_is_offered_where_that_is_all_that_lacks() {
        let text = plan("planned", "", "");
        let led = &after(&text, "PLAN-03", "amplifiers.amp")[0];
        assert_eq!(outcome(led, "PLAN-03", "amplifiers.amp"), Outcome::Pass, "{led}");
        let deaf = text.replace("signals: {left: {from: radio, to: amp.line}}\n", "");
        assert!(after(&deaf, "PLAN-03", "amplifiers.amp").is_empty());
    }

    #[test]
    fn the_signal_of_another_amplifier_is_none() {
        let lead = "turn_on: {remote: {to: [amp.remote]}}\n";
        let text = plan("planned", "", lead).replace("amp.line", "other.line");
        let finding = finding(&text, "PLAN-03", "amplifiers.amp");
        assert_eq!(finding.title, "`amp` lacks a signal");
    }

    /// The body joins all that is grounded; what comes to a feed by it is a short circuit and no feed.
    #[test]
    fn a_feed_does_not_come_through_the_body() {
        let lead = "turn_on: {remote: {to: [amp.remote]}}\n";
        let text = plan("planned", "", lead).replace(
            "main: {from: battery.positive, to: amp.power}",
            "live: {from: battery.positive, to: grounds.floor}\n  main: {from: grounds.wall, to: amp.power}",
        );
        let text = text.replace("{floor: {}}", "{floor: {}, wall: {}}") + "vehicle: {body: steel}\n";
        assert_eq!(finding(&text, "PLAN-03", "amplifiers.amp").title, "`amp` lacks a feed from a battery");
    }

    const AMPLIFIER: &str = "inputs: {senses_signal: true}";

    /// The plan with a processor and more wires.
    fn processor(stage: &str, inputs: &str, wires: &str, rest: &str) -> String {
        plan(stage, AMPLIFIER, rest)
            .replace("radio: {}", &format!("radio: {{}}, dsp: {{kind: processor, inputs: {{{inputs}}}}}"))
            .replace("wires:\n", &format!("wires:\n{wires}"))
    }

    const FEED: &str = "  feed: {from: battery.positive, to: dsp.power}\n";
    const BACK: &str = "  back: {from: dsp.ground, to: grounds.floor}\n";

    #[test]
    fn a_processor_needs_feed_return_and_turn_on_and_nothing_else() {
        let of = |inputs: &str, wires: &str, rest: &str| {
            let check = check(&processor("planned", inputs, wires, rest), "PLAN-03", "sources.dsp");
            check.finding.map(|finding| finding.title)
        };
        let both = format!("{FEED}{BACK}");
        let lead = "turn_on: {remote: {to: [dsp.remote]}}\n";
        assert_eq!(of("", &both, lead), None);
        assert_eq!(of("senses_signal: true", &both, ""), None);
        assert_eq!(of("", "", "").as_deref(), Some("`dsp` lacks a feed, a return to ground and a turn-on lead"));
        assert_eq!(of("", BACK, lead).as_deref(), Some("`dsp` lacks a feed"));
        assert_eq!(of("", FEED, lead).as_deref(), Some("`dsp` lacks a return to ground"));
        assert_eq!(of("senses_signal: false", &both, "").as_deref(), Some("`dsp` lacks a turn-on lead"));
    }

    #[test]
    fn a_draft_leaves_the_connections_of_a_processor_open_and_a_radio_is_not_asked() {
        let open = check(&processor("draft", "", FEED, ""), "PLAN-03", "sources.dsp");
        assert_eq!(open.outcome, Outcome::Open);
        assert_eq!(open.needs.iter().map(crate::solve::Place::path).collect::<Vec<_>>(), ["wires", "turn_on"]);
        let judged = crate::rules::trial::judged(&processor("planned", "", "", ""));
        let asked = judged.checks.iter().filter(|check| check.rule.code == "PLAN-03");
        assert_eq!(asked.map(|check| check.subject.path()).collect::<Vec<_>>(), ["amplifiers.amp", "sources.dsp"]);
    }

    /// A circuit that goes off switches what it feeds; one that is live at all times does not.
    #[test]
    fn a_tapped_circuit_feeds_a_processor_and_switches_it_where_it_goes_off() {
        let of = |kind: &str| {
            let lead = format!("turn_on: {{tap: {{from: {{kind: {kind}}}, to: [dsp.power]}}}}\n");
            check(&processor("planned", "", BACK, &lead), "PLAN-03", "sources.dsp").finding.map(|finding| finding.title)
        };
        assert_eq!((of("accessory"), of("radio-output")), (None, None));
        assert_eq!(of("constant").as_deref(), Some("`dsp` lacks a turn-on lead"));
        let always = "turn_on: {tap: {from: {kind: constant}, to: [dsp.power]}}\n";
        let follows = |wires: &str| finding(&processor("planned", "", wires, always), "PLAN-03", "sources.dsp").follows;
        let (code, lead) = follows(BACK).expect("it is on all the time");
        assert_eq!((code, lead.path().as_str()), ("TURN-01", "turn_on.tap"));
        assert_eq!(follows(""), None, "the return is missing besides");
    }

    #[test]
    fn a_converter_is_asked_only_where_the_plan_says_that_it_draws_current() {
        let of = |keys: &str, rest: &str| {
            let text = plan("planned", AMPLIFIER, rest) + &format!("converters: {{loc: {{{keys}}}}}\n");
            let check = check(&text, "PLAN-03", "converters.loc");
            (check.outcome, check.finding.map(|finding| finding.title))
        };
        for passive in ["", "isolated: true, ratio: 0.5", "turn_on_output: none", "current: 0 A, off_current: 0 mA"] {
            assert_eq!(of(passive, "").0, Outcome::NotApplicable, "{passive}");
        }
        let all = "`loc` lacks a feed, a return to ground and a turn-on lead".to_owned();
        for powered in ["current: 40 mA", "off_current: 1 mA", "operating_voltage: 10 V .. 16 V"] {
            assert_eq!(of(powered, "").1, Some(all.clone()), "{powered}");
        }
        // One whose output switches with the signal senses it.
        let woken = "`loc` lacks a feed and a return to ground".to_owned();
        assert_eq!(of("turn_on_output: switched", "").1, Some(woken.clone()));
        assert_eq!(of("current: 40 mA, senses_signal: true", "").1, Some(woken));
        let tapped = "turn_on: {tap: {from: {kind: accessory}, to: [loc.power]}}\n";
        assert_eq!(of("", tapped).1, Some("`loc` lacks a return to ground".to_owned()));
    }

    #[test]
    fn a_converter_shows_what_says_that_it_draws_current() {
        let also = |keys: &str, wires: &str| {
            let text = plan("planned", AMPLIFIER, "").replace("wires:\n", &format!("wires:\n{wires}"));
            let text = text + &format!("converters: {{loc: {{{keys}}}}}\n");
            let also = finding(&text, "PLAN-03", "converters.loc").also;
            also.iter().map(|label| label.place.path()).collect::<Vec<_>>()
        };
        assert_eq!(also("turn_on_output: switched, current: 1 mA", ""), ["converters.loc.turn_on_output"]);
        assert_eq!(also("current: 1 mA", ""), ["converters.loc.current"]);
        assert_eq!(also("off_current: 1 mA", ""), ["converters.loc.off_current"]);
        assert_eq!(also("", "  feed: {from: battery.positive, to: loc.power}\n"), ["wires.feed.to"]);
    }

    #[test]
    fn a_processor_that_lacks_only_its_lead_is_offered_one() {
        let text = processor("planned", "", &format!("{FEED}{BACK}"), "");
        let led = &after(&text, "PLAN-03", "sources.dsp")[0];
        assert_eq!(outcome(led, "PLAN-03", "sources.dsp"), Outcome::Pass, "{led}");
    }

    /// The only wire at the amplifier feeds its ground terminal: what is wrong is told there.
    #[test]
    fn a_feed_that_is_lacking_because_it_is_at_the_ground_follows() {
        let lead = "turn_on: {remote: {to: [amp.remote]}}\n";
        let text = plan("planned", "", lead)
            .replace("to: amp.power", "to: amp.ground")
            .replace("  return: {from: amp.ground, to: grounds.floor}\n", "");
        let follows = finding(&text, "PLAN-03", "amplifiers.amp").follows.map(|(code, place)| (code, place.path()));
        assert_eq!(follows, Some(("WIRE-15", "amplifiers.amp".to_owned())));
    }

    /// Its return begins at the battery instead of at the amplifier: that is the short. A feed from a block that nothing feeds
    /// is lacking whatever is shorted elsewhere.
    #[test]
    fn what_is_lacking_follows_from_a_short_that_has_to_do_with_it() {
        let lead = "turn_on: {remote: {to: [amp.remote]}}\n";
        let of = |text: &str| finding(text, "PLAN-03", "amplifiers.amp").follows.map(|(code, _)| code);
        let exchanged = plan("planned", "", lead).replace("from: amp.ground", "from: battery.positive");
        assert_eq!(of(&exchanged), Some("WIRE-14"));
        let unfed = plan("planned", "", lead).replace(
            "  main: {from: battery.positive,",
            "  oops: {from: battery.positive, to: battery.negative}\n  main: {from: split.one,",
        ) + "blocks: {split: {outputs: {one: {}}}}\n";
        assert_eq!(of(&unfed), None);
    }

    #[test]
    fn a_converter_from_24_volt_needs_its_input_its_output_and_its_minus() {
        let of = |wires: &str| {
            let text = format!(
                "plan: 1\njob: {{stage: planned}}\nisolators: {{down: {{kind: step-down}}}}\namplifiers: {{amp: {{}}}}\nwires: {{{wires}}}\n"
            );
            let check = check(&text, "PLAN-03", "isolators.down");
            check.finding.map(|finding| finding.title)
        };
        let (before, behind, minus) = (
            "a: {from: battery.positive, to: down.in}",
            "b: {from: down.out, to: amp.power}",
            "c: {from: down.ground, to: battery.negative}",
        );
        assert_eq!(of(&[before, behind, minus].join(", ")), None);
        let lacks = |wires: &[&str]| of(&wires.join(", "));
        assert_eq!(lacks(&[behind, minus]).as_deref(), Some("`down` lacks a feed from a battery"));
        assert_eq!(lacks(&[before, behind]).as_deref(), Some("`down` lacks a return to ground"));
        assert_eq!(lacks(&[before, minus]).as_deref(), Some("`down` lacks a wire from its output"));
        let exchanged =
            [before.replace("down.in", "down.out"), behind.replace("down.out", "down.in"), minus.to_owned()];
        assert_eq!(of(&exchanged.join(", ")).as_deref(), Some("`down` lacks a feed from a battery"));
        let text = format!(
            "plan: 1\nisolators: {{down: {{kind: step-down}}}}\namplifiers: {{amp: {{}}}}\nwires: {{{minus}}}\n"
        );
        let judged = crate::rules::trial::judged(&text);
        let is_its_own =
            |check: &&crate::judge::Check| check.rule.code == "PLAN-03" && check.subject.path() == "isolators.down";
        assert_eq!(judged.checks.iter().filter(is_its_own).count(), 1, "it is judged once");
    }

    /// Where the plan has the minus of a charger it leads somewhere; a plan may leave it out.
    #[test]
    fn the_minus_of_a_charger_leads_to_a_ground() {
        let of = |wires: &str| {
            let text = format!(
                "plan: 1\njob: {{stage: planned}}\nisolators: {{dcdc: {{kind: charger}}}}\ngrounds: {{floor: {{}}}}\nblocks: {{neg: {{outputs: \
                 {{a: {{}}}}}}}}\nwires:\n  feed: {{from: battery.positive, to: dcdc.in}}\n{wires}"
            );
            let checks = crate::rules::trial::judged(&text).checks;
            let mut checks = checks.into_iter().filter(|check| check.rule.code == "PLAN-03");
            checks.find(|check| check.subject.path() == "isolators.dcdc").map(|check| check.outcome)
        };
        assert_eq!(of(""), None);
        assert_eq!(of("  back: {from: dcdc.ground, to: grounds.floor}\n"), Some(Outcome::Pass));
        assert_eq!(of("  back: {from: dcdc.ground, to: neg.a}\n"), Some(Outcome::Fail));
    }
}
