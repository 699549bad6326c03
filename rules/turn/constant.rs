//! A turn-on lead that is always live never switches anything off.

use std::collections::BTreeSet;

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{FeedKind, Terminal, TurnOn};
use crate::quantity::{Current, Duration, Range};
use crate::solve::{Job, Place, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-01",
    name: "turn-constant",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("constant.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Say("turn_on.*.from.kind", &["constant"])],
};

const WHY: &str = "what is never told to switch off empties the battery while the vehicle stands";

const WHY_ISOLATOR: &str = "an isolator that is always told that the engine runs lets one battery empty the other";

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let leads = job.turn_on.iter().map(|lead| (lead.place(), judge(lead, job)));
    leads.chain(jumpers(job)).collect()
}

/// Supply wires at turn-on terminals: what carries supply current is live at all times.
fn jumpers(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let mut judged = Vec::new();
    for wire in &job.wires {
        let ends = [("from", &wire.plan().from), ("to", &wire.plan().to)];
        for (key, end) in ends.into_iter().filter_map(|(key, end)| Some((key, end.as_ref()?))) {
            let tells = end.terminal == "sense" && job.plan.isolators.contains_key(&end.thing);
            if tells {
                let finding = Finding::new(wire.at(key), "always on")
                    .label(format!("supply wire `{}` feeds {end}", wire.name))
                    .because(WHY_ISOLATOR)
                    .mend("take the wire out, and plan a turn-on lead from a circuit that is live with the ignition (terminal 15)");
                judged.push((wire.at(key), Ok(Verdict::fail(finding))));
            }
            if end.terminal == "remote" && job.gear(&end.thing).is_some() {
                let flat = words(time_to_half([end], job), job);
                let finding = Finding::new(wire.at(key), format!("always on{flat}"))
                    .label(format!("supply wire `{}` feeds {end}", wire.name))
                    .because(WHY)
                    .mend("take the wire out, and plan a turn-on lead from the radio or an accessory circuit (terminal 75)")
                    .offer(super::site::new_lead(end, job).remove(wire.place()));
                judged.push((wire.at(key), Ok(Verdict::fail(finding))));
            }
        }
    }
    judged
}

fn words(time: Option<Range<Duration>>, job: &Job<'_>) -> String {
    time.map_or(String::new(), |time| format!(": battery {} after {time}", job.emptied()))
}

fn judge(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Judged {
    let kind = super::site::kind(lead)?;
    let only_feeds = !lead.to.is_empty() && !lead.to.iter().any(|to| job.is_kept_on_at(to));
    Ok(Verdict::pass_if(kind != FeedKind::Constant || only_feeds, || {
        let flat = words(time_to_half(&lead.to, job), job);
        let finding = Finding::new(lead.at("from.kind"), format!("always on{flat}"))
            .label("live at all times (DIN 72552 terminal 30)");
        if super::site::is_sense_wire(lead, job) {
            return finding
                .because(WHY_ISOLATOR)
                .mend("feed it from a circuit that is live with the ignition (terminal 15)");
        }
        let kept_on: Vec<&Terminal> = lead.to.iter().filter(|to| job.is_kept_on_at(to)).collect();
        if let [fed] = kept_on.as_slice()
            && fed.terminal == "power"
            && job.gear(&fed.thing).is_some()
        {
            let remote = Terminal { thing: fed.thing.clone(), terminal: "remote".to_owned() };
            return finding
                .because(WHY)
                .mend(format!("lay a turn-on lead to `{remote}`, or feed it from an accessory circuit (terminal 75)"))
                .offer(super::site::new_lead(&remote, job));
        }
        finding
            .because(WHY)
            .mend("feed it from the radio's remote output or from an accessory circuit (terminal 75)")
            .offers(super::site::better_feeds(lead, job))
    }))
}

/// How long the silent gear at these terminals takes to half empty the battery, where its capacity is stated.
fn time_to_half<'t>(to: impl IntoIterator<Item = &'t Terminal>, job: &Job<'_>) -> Option<Range<Duration>> {
    let kept_on = to.into_iter().filter(|end| job.is_kept_on_at(end));
    let things: BTreeSet<&str> = kept_on.map(|end| end.thing.as_str()).collect();
    let idle: Range<Current> = things.into_iter().filter_map(|name| Some(job.gear(name)?.drawn_on(job).range)).sum();
    if idle.low() > 0.0 { job.starting_battery_lasts(idle).ok() } else { None }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, offered, outcome};

    fn plan(from: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{battery: {{capacity: 60 Ah}}}}\namplifiers: {{amp: {{idle_current: 0.5 A}}}}\n\
             turn_on:\n  remote: {{from: {from}, to: [amp.remote]}}\n"
        )
    }

    #[test]
    fn only_a_constant_feed_fails() {
        for kind in ["ignition", "accessory", "radio-output", "converter-output", "signal-sensing"] {
            assert_eq!(outcome(&plan(&format!("{{kind: {kind}}}")), "TURN-01", "turn_on.remote"), Outcome::Pass);
        }
        assert_eq!(outcome(&plan("{kind: constant}"), "TURN-01", "turn_on.remote"), Outcome::Fail);
    }

    /// Half of 60 Ah at 0.5 A lasts 60 h, which is 2.5 days.
    #[test]
    fn it_says_how_long_the_battery_lasts() {
        let finding = check(&plan("{kind: constant}"), "TURN-01", "turn_on.remote").finding;
        assert_eq!(
            finding.map(|finding| finding.title).as_deref(),
            Some("always on: battery half empty after 2.5 days")
        );
    }

    /// A wire from the power terminal to the turn-on terminal beside it.
    #[test]
    fn a_jumper_is_a_constant_feed() {
        let text = "plan: 1\nvehicle: {battery: {capacity: 60 Ah}}\namplifiers: {amp: {idle_current: 0.5 A}}\n\
                    wires: {jumper: {from: amp.power, to: amp.remote}, main: {from: battery.positive, to: amp.power}}\n";
        let found = check(text, "TURN-01", "wires.jumper.to");
        assert_eq!(found.outcome, Outcome::Fail);
        assert_eq!(found.finding.expect("it fails").title, "always on: battery half empty after 2.5 days");
        assert_eq!(outcome(text, "TURN-02", "amplifiers.amp"), Outcome::Pass, "it is on: all the time");
    }

    #[test]
    fn a_feed_that_is_not_named_leaves_it_open() {
        let check = check(&plan("{circuit: outlet}"), "TURN-01", "turn_on.remote");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "turn_on.remote.from.kind"));
    }

    /// An aftermarket radio has a remote output, as one that switches something already; of a factory radio nobody knows.
    #[test]
    fn the_radio_is_offered_where_it_surely_has_an_output() {
        let of = |sources: &str, more: &str| {
            let text = format!("{}{more}{sources}", plan("{kind: constant}"));
            let offers = offered(&text, "TURN-01", "turn_on.remote");
            offers.into_iter().map(|(title, _)| title).filter(|title| title.starts_with("feed it")).collect::<Vec<_>>()
        };
        let (radio, key) =
            ("feed it from the radio's remote output", "feed it from an outlet that is live with the key at accessory");
        assert_eq!(of("", ""), [key]);
        assert_eq!(of("sources: {radio: {kind: factory}}\n", ""), [key]);
        assert_eq!(of("sources: {radio: {kind: aftermarket}}\n", ""), [radio, key]);
        assert_eq!(
            of(
                "sources: {radio: {kind: factory}}\n",
                "  second: {from: {kind: radio-output, of: radio}, to: [other.remote]}\n"
            ),
            [radio, key]
        );
    }

    #[test]
    fn only_a_wire_at_a_turn_on_terminal_is_a_jumper() {
        // What a radio calls its remote terminal is an output, by which it switches others.
        let text = "plan: 1\namplifiers: {amp: {}}\nconverters: {loc: {}}\nsources: {radio: {kind: aftermarket}}\nwires:\n  \
                    main: {from: battery.positive, to: amp.power}\n  other: {from: battery.positive, to: loc.power}\n  \
                    jumper: {from: amp.power, to: amp.remote}\n  output: {from: radio.remote, to: later.remote}\n";
        let failed = crate::rules::trial::judged(text);
        let subjects = failed.failed().filter(|check| check.rule.code == "TURN-01").map(|check| check.subject.path());
        assert_eq!(subjects.collect::<Vec<_>>(), ["wires.jumper.to"]);
    }

    #[test]
    fn an_amplifier_that_draws_nothing_at_idle_empties_nothing() {
        let text = plan("{kind: constant}").replace("0.5 A", "0 A");
        assert_eq!(check(&text, "TURN-01", "turn_on.remote").finding.expect("it fails").title, "always on");
    }

    /// A splice into the old circuit is no way to join a lead to a radio's output.
    #[test]
    fn the_joint_of_the_old_feed_goes_with_it() {
        let places = |tap: &str| {
            let text = plan(&format!("{{kind: constant}}, {tap}")) + "sources: {radio: {kind: aftermarket}}\n";
            offered(&text, "TURN-01", "turn_on.remote")[0].1.clone()
        };
        assert_eq!(places("tap: crimped-splice"), ["turn_on.remote.from", "turn_on.remote.tap"]);
        assert_eq!(places("tap: connector"), ["turn_on.remote.from"]);
    }

    /// What wakes by its signal is fed at all times and sleeps by itself; anything else on the lead does not.
    #[test]
    fn a_constant_feed_may_feed_what_wakes_by_its_signal() {
        let of = |converter: &str, to: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nconverters: {{loc: {{{converter}}}}}\n\
                 turn_on: {{tap: {{from: {{kind: constant}}, to: [{to}]}}}}\n"
            );
            outcome(&text, "TURN-01", "turn_on.tap")
        };
        assert_eq!(of("turn_on_output: switched", "loc.power"), Outcome::Pass);
        assert_eq!(of("senses_signal: true", "loc.power"), Outcome::Pass);
        assert_eq!(of("turn_on_output: none", "loc.power"), Outcome::Fail);
        assert_eq!(of("turn_on_output: switched", "loc.remote"), Outcome::Fail);
        assert_eq!(of("turn_on_output: switched", "loc.power, amp.remote"), Outcome::Fail);
    }

    /// A feed that is always live and a lead that switches: so a processor is wired whose sheet names both.
    #[test]
    fn a_constant_feed_may_feed_what_a_lead_switches() {
        let of = |kind: &str, more: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{battery: {{capacity: 60 Ah}}}}\nsources: {{dsp: {{kind: processor, current: 0.5 A}}}}\n\
                 turn_on:\n  feed: {{from: {{kind: {kind}}}, to: [dsp.power]}}\n{more}"
            );
            check(&text, "TURN-01", "turn_on.feed")
        };
        let switched = "  remote: {from: {kind: accessory}, to: [dsp.remote]}\n";
        assert_eq!(of("constant", switched).outcome, Outcome::Pass);
        let bare = of("constant", "").finding.expect("it fails");
        assert_eq!(bare.title, "always on: battery half empty after 2.5 days");
        assert_eq!(bare.mend, "lay a turn-on lead to `dsp.remote`, or feed it from an accessory circuit (terminal 75)");
    }

    #[test]
    fn a_supply_wire_tells_an_isolator_that_the_engine_always_runs() {
        let of = |end: &str| {
            let text = format!(
                "plan: 1\nisolators: {{part: {{kind: charger}}}}\nwires: {{tell: {{from: battery.positive, to: part.{end}}}}}\n"
            );
            let judged = crate::rules::trial::judged(&text);
            judged.failed().filter(|check| check.rule.code == "TURN-01").count()
        };
        assert_eq!((of("sense"), of("in")), (1, 0));
    }

    #[test]
    fn a_jumper_at_a_processor_or_a_converter_is_always_on_too() {
        for (gear, at) in [("sources: {dsp: {kind: processor}}", "dsp"), ("converters: {loc: {}}", "loc")] {
            let text = format!("plan: 1\n{gear}\nwires:\n  jumper: {{from: battery.positive, to: {at}.remote}}\n");
            assert_eq!(outcome(&text, "TURN-01", "wires.jumper.to"), Outcome::Fail, "{gear}");
        }
    }
}
