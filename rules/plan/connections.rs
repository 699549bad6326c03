//! An amplifier plays only with all of feed, return, turn-on, signal and load.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Amplifier, Stage, Terminal};
use crate::solve::graph::LinkKind;
use crate::solve::{Job, Place, Thing, Undecided};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "PLAN-03",
    name: "amplifier-short-of-a-connection",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("connections.md"),
    check: Subjects::Amplifier(check),
    slips: &[
        super::Slip::Drop("turn_on.*.to.*"),
        super::Slip::Drop("signals.*"),
        super::Slip::Drop("wires.*"),
        super::Slip::Drop("loads.*"),
    ],
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let connections = [
        ("a feed from a battery", "wires", has_feed(amplifier, job)),
        ("a return to ground", "wires", has_return(amplifier, job)),
        ("a turn-on lead", "turn_on", is_turned_on(amplifier, job)),
        ("a signal", "signals", job.plan.signals.values().any(|signal| ends_at(signal.to.as_ref(), amplifier.name))),
        ("a load", "loads", job.plan.loads.values().any(|load| load.amplifier.as_deref() == Some(amplifier.name))),
    ];
    let missing: Vec<_> = connections.into_iter().filter(|(_, _, there)| !there).collect();
    if !missing.is_empty() && job.plan.stage() == Stage::Draft {
        let mut sections: Vec<&str> = missing.iter().map(|(_, section, _)| *section).collect();
        sections.dedup();
        return Err(Undecided::Open(sections.into_iter().map(Place::of).collect()));
    }
    let lacks: Vec<&str> = missing.iter().map(|(what, _, _)| *what).collect();
    let is_dead = lacks == ["a turn-on lead"];
    let remote = Terminal { thing: amplifier.name.to_owned(), terminal: "remote".to_owned() };
    Ok(Verdict::pass_if(lacks.is_empty(), || {
        Finding::new(amplifier.place(), format!("`{}` lacks {}", amplifier.name, words::all(&lacks)))
            .label("not connected throughout")
            .because("an amplifier plays only with feed, return, turn-on, signal and load")
            .mend(format!("plan {}", words::all(&lacks)))
            .offers(is_dead.then(|| crate::rules::turn::new_lead(&remote, job)))
    }))
}

fn ends_at(terminal: Option<&crate::plan::Terminal>, thing: &str) -> bool {
    terminal.is_some_and(|terminal| terminal.thing == thing)
}

/// Conductors only: a way through the body is a return, never a feed.
fn is_conductor(kind: &LinkKind) -> bool {
    !matches!(kind, LinkKind::Ground(_) | LinkKind::Body)
}

fn has_feed(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> bool {
    let graph = job.graph();
    let power = graph.node(amplifier.name, "power");
    power.is_some_and(|power| graph.nearest(power, &graph.positives(job), is_conductor).is_some())
}

fn has_return(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> bool {
    let graph = job.graph();
    let mut goals = graph.negatives(job);
    goals.extend(job.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name)));
    let ground = graph.node(amplifier.name, "ground");
    ground.is_some_and(|ground| graph.nearest(ground, &goals, is_conductor).is_some())
}

fn is_turned_on(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> bool {
    let leads = job.plan.turn_on.values().flat_map(|lead| &lead.to);
    let wires = job.plan.wires.values().flat_map(|wire| [&wire.from, &wire.to]).flatten();
    amplifier.inputs.as_ref().and_then(|inputs| inputs.senses_signal) == Some(true)
        || leads.chain(wires).any(|terminal| terminal.is(amplifier.name, "remote"))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, outcome};

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
}
