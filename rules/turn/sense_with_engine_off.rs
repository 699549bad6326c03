//! The sense wire of an isolator is to say that the engine runs, and not that somebody listens.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{FeedKind, TurnOn};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-11",
    name: "sense-with-engine-off",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("sense_with_engine_off.md"),
    check: Subjects::TurnOn(check),
    slips: &[super::Slip::Say("turn_on.*.from.kind", &["accessory", "radio-output"])],
};

fn check(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Judged {
    let sense = lead.plan().to.iter().find(|to| to.terminal == "sense" && job.plan.isolators.contains_key(&to.thing));
    let sense = sense.ok_or(Undecided::NotApplicable("it tells no isolator that the engine runs"))?;
    let live = match super::site::kind(lead)? {
        FeedKind::Ignition | FeedKind::AlternatorSignal => return Ok(Verdict::pass()),
        FeedKind::Constant => return Err(Undecided::NotApplicable("a constant feed: TURN-01 reports that")),
        FeedKind::Accessory => "live with the key at accessory (DIN 72552 terminal 75)",
        FeedKind::RadioOutput => "live while the radio is on",
        FeedKind::ConverterOutput | FeedKind::SignalSensing => "live while there is a signal",
    };
    let finding = Finding::new(
        lead.at("from.kind"),
        format!("`{}` is told that the engine runs whenever somebody listens", sense.thing),
    )
    .label(live)
    .because("whoever listens in a parked vehicle lets the isolator empty the starting battery into the other one")
    .mend(super::site::SENSE_MEND);
    let alone = super::site::is_sense_wire(lead, job);
    Ok(Verdict::fail(if alone { finding.offer(super::site::sense_feed(lead)) } else { finding }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, outcome};

    fn plan(from: &str, to: &str) -> String {
        format!(
            "plan: 1\nisolators: {{charger: {{kind: charger}}}}\namplifiers: {{amp: {{}}}}\n\
             turn_on: {{lead: {{from: {{{from}}}, to: [{to}]}}}}\n"
        )
    }

    fn of(from: &str, to: &str) -> Outcome {
        outcome(&plan(from, to), "TURN-11", "turn_on.lead")
    }

    #[test]
    fn the_ignition_and_the_alternator_tell_that_the_engine_runs() {
        for kind in ["accessory", "radio-output", "converter-output", "signal-sensing"] {
            assert_eq!(of(&format!("kind: {kind}"), "charger.sense"), Outcome::Fail, "{kind}");
        }
        assert_eq!(of("kind: ignition", "charger.sense"), Outcome::Pass);
        assert_eq!(of("kind: alternator-signal", "charger.sense"), Outcome::Pass, "DIN 72552 terminal 61");
        assert_eq!(of("kind: constant", "charger.sense"), Outcome::NotApplicable);
        assert_eq!(of("circuit: outlet", "charger.sense"), Outcome::Open);
    }

    #[test]
    fn a_lead_to_an_amplifier_is_none_and_one_to_both_is_judged() {
        assert_eq!(of("kind: accessory", "amp.remote"), Outcome::NotApplicable);
        assert_eq!(of("kind: accessory", "amp.remote, charger.sense"), Outcome::Fail);
        // What the amplifier hangs on stays as it is: the sense wire has to become one of its own.
        assert!(after(&plan("kind: accessory", "amp.remote, charger.sense"), "TURN-11", "turn_on.lead").is_empty());
    }

    #[test]
    fn the_ignition_is_offered() {
        let text = plan("kind: accessory", "charger.sense");
        let fed = &after(&text, "TURN-11", "turn_on.lead")[0];
        assert_eq!(check(fed, "TURN-11", "turn_on.lead").outcome, Outcome::Pass, "{fed}");
    }

    /// A lead to another terminal of an isolator, or to a terminal of that name of something else, tells nobody anything.
    #[test]
    fn only_an_isolators_sense_terminal_is_told_that_the_engine_runs() {
        let of = |to: &str| outcome(&plan("kind: accessory", to), "TURN-11", "turn_on.lead");
        assert_eq!(of("charger.sense"), Outcome::Fail);
        assert_eq!((of("charger.in"), of("amp.sense")), (Outcome::NotApplicable, Outcome::NotApplicable));
    }
}
