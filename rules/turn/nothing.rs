//! An amplifier, a processor or a converter that nothing turns on stays silent.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{FeedKind, Stage, Terminal, TurnOn, TurnOnOutput};
use crate::solve::{Decided, Gear, GearKind, Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-02",
    name: "turn-nothing",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("nothing.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Drop("turn_on.*.to.*"),
        super::Slip::Drop("turn_on.*"),
        super::Slip::Say("converters.*.turn_on_output", &["none"]),
    ],
};

const WHY: &str = "without a turn-on signal it stays off, whatever feeds it";

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    job.gear.iter().map(|gear| (gear.place.clone(), judge(gear, job))).collect()
}

fn judge(gear: &Gear<'_>, job: &Job<'_>) -> Judged {
    if is_passive(gear, job) {
        return Err(Undecided::NotApplicable("nothing in the plan says that it draws current: it may be passive"));
    }
    if gear.senses_signal == Some(true) {
        return Ok(Verdict::pass());
    }
    let wires = job.wires.iter().flat_map(|wire| wire.plan().from.iter().chain(&wire.plan().to));
    if wires.into_iter().any(|end| end.is(gear.name, "remote")) {
        // It is on, and never off: TURN-01 reports that.
        return Ok(Verdict::pass());
    }
    let mut needs = Vec::new();
    let mut dead = None;
    for lead in job.turn_on.iter().filter(|lead| lead.to.iter().any(|to| turns_on(to, gear))) {
        match dead_feed(lead, gear, job) {
            Ok(None) => return Ok(Verdict::pass()),
            Ok(finding) => dead = dead.or(finding),
            Err(Undecided::Open(more)) => needs.extend(more),
            Err(other) => return Err(other),
        }
    }
    match dead {
        _ if !needs.is_empty() => Err(Undecided::Open(needs)),
        Some(finding) => Ok(Verdict::fail(finding)),
        // A draft may still lack its connections.
        None if job.plan.stage() == Stage::Draft => Err(Undecided::need(Place::of("turn_on"))),
        None => Ok(Verdict::fail(
            Finding::new(gear.place.clone(), format!("nothing turns `{}` on", gear.name))
                .label("no turn-on lead reaches it")
                .because(WHY)
                .follows("PLAN-03", gear.place.clone())
                .offer(super::site::new_lead(
                    &Terminal { thing: gear.name.to_owned(), terminal: "remote".to_owned() },
                    job,
                ))
                .mend(format!("add a lead to `{}.remote`, or state `senses_signal: true` if it has that", gear.name)),
        )),
    }
}

fn is_passive(gear: &Gear<'_>, job: &Job<'_>) -> bool {
    let converter = job.plan.converters.get(gear.name).filter(|_| gear.kind == GearKind::Converter);
    converter.is_some_and(|is| super::powered::why(&Thing::new("converters", gear.name, is), job).is_none())
}

/// Whether gear comes on with what a lead brings here: an amplifier's turn-on terminal; of other gear its supply terminal
/// as well, for the circuit that feeds it switches it.
fn turns_on(to: &Terminal, gear: &Gear<'_>) -> bool {
    to.is(gear.name, "remote") || (gear.kind != GearKind::Amplifier && to.is(gear.name, "power"))
}

/// What is wrong with a lead whose feed never comes on; nothing where it does come on.
fn dead_feed(lead: &Thing<'_, TurnOn>, gear: &Gear<'_>, job: &Job<'_>) -> Decided<Option<Finding>> {
    match super::site::kind(lead)? {
        FeedKind::SignalSensing => {
            let place = gear.senses_at();
            let senses = gear.senses_signal.ok_or_else(|| Undecided::need(place.clone()))?;
            let finding = || {
                Finding::new(place, format!("`{}` is left to sense a signal and cannot", gear.name))
                    .label("it does not sense a signal")
                    .also(lead.at("from.kind"), "relies on it")
            };
            Ok((!senses).then(finding).map(|finding| with_cure(finding, lead, job)))
        }
        FeedKind::ConverterOutput => {
            let name = lead.need("from.of", &super::site::feed(lead, |from| from.of.clone()))?;
            let Some(converter) = job.plan.converters.get(&name) else {
                return Err(Undecided::NotApplicable("no such converter (PLAN-01 reports that)"));
            };
            let place = Place::of(format!("converters.{name}.turn_on_output"));
            let output = converter.turn_on_output.ok_or_else(|| Undecided::need(place.clone()))?;
            let finding = || {
                Finding::new(lead.at("from.of"), format!("`{name}` has no turn-on output"))
                    .label("fed from here")
                    .also(place, "none")
            };
            Ok((output == TurnOnOutput::None).then(finding).map(|finding| with_cure(finding, lead, job)))
        }
        _ => Ok(None),
    }
}

fn with_cure(finding: Finding, lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Finding {
    let mend = "feed it from the radio's remote output or from an accessory circuit (terminal 75)";
    finding.because(WHY).mend(mend).offers(super::site::better_feeds(lead, job))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(stage: &str, amplifier: &str, turn_on: &str) -> String {
        format!(
            "plan: 1\njob: {{stage: {stage}}}\nconverters: {{plain: {{turn_on_output: none}}, full: {{turn_on_output: switched}}, \
             unknown: {{}}}}\namplifiers: {{amp: {{{amplifier}}}}}\nturn_on: {{{turn_on}}}\n"
        )
    }

    fn of(stage: &str, amplifier: &str, turn_on: &str) -> Outcome {
        outcome(&plan(stage, amplifier, turn_on), "TURN-02", "amplifiers.amp")
    }

    #[test]
    fn a_lead_that_is_missing_is_open_in_a_draft_and_fails_from_then_on() {
        assert_eq!(of("draft", "", ""), Outcome::Open);
        assert_eq!(of("planned", "", ""), Outcome::Fail);
        assert_eq!(of("installed", "", ""), Outcome::Fail);
        assert_eq!(of("planned", "", "r: {from: {kind: accessory}, to: [amp.remote]}"), Outcome::Pass);
        assert_eq!(of("planned", "", "r: {from: {kind: accessory}, to: [other.remote]}"), Outcome::Fail);
    }

    #[test]
    fn a_lead_that_is_missing_is_one_of_the_missing_connections_and_a_dead_feed_is_not() {
        let follows = |turn_on: &str| {
            let text = plan("planned", "", turn_on);
            let follows = check(&text, "TURN-02", "amplifiers.amp").finding.expect("it fails").follows;
            follows.map(|(code, subject)| outcome(&text, code, &subject.path()))
        };
        assert_eq!(follows(""), Some(Outcome::Fail), "PLAN-03 names it too");
        assert_eq!(follows("r: {from: {kind: converter-output, of: plain}, to: [amp.remote]}"), None);
    }

    /// What a processor and a converter that draws current are asked as an amplifier is.
    #[test]
    fn a_processor_and_a_converter_want_something_that_turns_them_on() {
        let of = |kind: &str, gear: &str, turn_on: &str| {
            let text = format!("plan: 1\njob: {{stage: planned}}\n{gear}\nturn_on: {{{turn_on}}}\n");
            outcome(&text, "TURN-02", kind)
        };
        let lead = |kind: &str, end: &str| format!("r: {{from: {{kind: {kind}}}, to: [it.{end}]}}");
        for (subject, gear, sensing) in [
            (
                "sources.it",
                "sources: {it: {kind: processor}}",
                "sources: {it: {kind: processor, inputs: {senses_signal: true}}}",
            ),
            (
                "converters.it",
                "converters: {it: {current: 60 mA}}",
                "converters: {it: {current: 60 mA, senses_signal: true}}",
            ),
        ] {
            let bare = |turn_on: &str| of(subject, gear, turn_on);
            assert_eq!(bare(""), Outcome::Fail, "{subject}");
            assert_eq!(bare(&lead("accessory", "remote")), Outcome::Pass, "{subject}");
            assert_eq!(bare(&lead("accessory", "power")), Outcome::Pass, "what feeds it switches it: {subject}");
            assert_eq!(bare(&lead("accessory", "ground")), Outcome::Fail, "{subject}");
            assert_eq!(bare(&lead("signal-sensing", "remote")), Outcome::Open, "{subject}");
            assert_eq!(of(subject, sensing, ""), Outcome::Pass, "{subject}");
            assert_eq!(
                of(subject, &sensing.replace("true", "false"), &lead("signal-sensing", "remote")),
                Outcome::Fail
            );
        }
        assert_eq!(of("converters.it", "converters: {it: {turn_on_output: switched}}", ""), Outcome::Pass);
        assert_eq!(of("converters.it", "converters: {it: {}}", ""), Outcome::NotApplicable, "it may be passive");
        let radio = crate::rules::trial::judged("plan: 1\nsources: {radio: {kind: aftermarket}}\n");
        assert!(!radio.checks.iter().any(|check| check.rule.code == "TURN-02"), "a radio has a key of its own");
    }

    #[test]
    fn an_amplifier_is_not_turned_on_by_its_supply_terminal() {
        assert_eq!(of("planned", "", "r: {from: {kind: accessory}, to: [amp.power]}"), Outcome::Fail);
    }

    #[test]
    fn an_amplifier_that_senses_a_signal_needs_no_lead() {
        let lead = "r: {from: {kind: signal-sensing}, to: [amp.remote]}";
        assert_eq!(of("planned", "inputs: {senses_signal: true}", ""), Outcome::Pass);
        assert_eq!(of("planned", "inputs: {senses_signal: true}", lead), Outcome::Pass);
        assert_eq!(of("draft", "inputs: {senses_signal: false}", lead), Outcome::Fail);
        assert_eq!(of("planned", "", lead), Outcome::Open);
    }

    #[test]
    fn a_converter_turns_on_only_what_its_output_reaches() {
        let lead = |name: &str| format!("r: {{from: {{kind: converter-output, of: {name}}}, to: [amp.remote]}}");
        assert_eq!(of("draft", "", &lead("plain")), Outcome::Fail);
        assert_eq!(of("draft", "", &lead("full")), Outcome::Pass);
        assert_eq!(of("draft", "", &lead("unknown")), Outcome::Open);
        let two = format!("{}, s: {{from: {{kind: accessory}}, to: [amp.remote]}}", lead("plain"));
        assert_eq!(of("draft", "", &two), Outcome::Pass);
    }
}
