//! An ignition feed is on with the radio off.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{FeedKind, TurnOn};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-06",
    name: "turn-ignition",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("ignition.md"),
    check: Subjects::TurnOn(check),
    slips: &[super::Slip::Say("turn_on.*.from.kind", &["ignition"])],
};

fn check(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Judged {
    let kind = super::site::kind(lead)?;
    if kind == FeedKind::Constant {
        return Err(Undecided::NotApplicable("a constant feed: TURN-01 reports that"));
    }
    if super::site::is_sense_wire(lead, job) {
        return Err(Undecided::NotApplicable("an isolator is to know that the engine runs"));
    }
    let live = if kind == FeedKind::AlternatorSignal {
        (
            "on whenever the engine runs, with the radio off too",
            "live while the alternator charges (DIN 72552 terminal 61)",
        )
    } else {
        ("on whenever the ignition is, with the radio off too", "live with the ignition (DIN 72552 terminal 15)")
    };
    Ok(Verdict::pass_if(!matches!(kind, FeedKind::Ignition | FeedKind::AlternatorSignal), || {
        Finding::new(lead.at("from.kind"), live.0)
            .label(live.1)
            .because("it keeps the amplifier on while nobody listens, and off while the radio plays in the accessory position")
            .mend("use the radio's remote output, or an accessory circuit (terminal 75)")
            .offers(super::site::better_feeds(lead, job))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(from: &str) -> Outcome {
        let plan = format!("plan: 1\nturn_on: {{remote: {{from: {{{from}}}, to: [amp.remote]}}}}\n");
        outcome(&plan, "TURN-06", "turn_on.remote")
    }

    #[test]
    fn only_the_ignition_feed_fails() {
        assert_eq!(of("kind: ignition"), Outcome::Fail);
        assert_eq!(of("kind: alternator-signal"), Outcome::Fail, "the radio plays with the engine off too");
        assert_eq!(of("kind: accessory"), Outcome::Pass);
        assert_eq!(of("kind: radio-output"), Outcome::Pass);
        assert_eq!(of("kind: constant"), Outcome::NotApplicable);
        assert_eq!(of("circuit: outlet"), Outcome::Open);
    }

    /// Only a sense terminal is to know that the engine runs.
    #[test]
    fn a_converter_is_switched_like_what_hangs_on_it() {
        let of = |terminal: &str| {
            let plan = format!(
                "plan: 1\nisolators: {{down: {{kind: step-down}}}}\nturn_on: {{remote: {{from: {{kind: ignition}}, to: [down.{terminal}]}}}}\n"
            );
            outcome(&plan, "TURN-06", "turn_on.remote")
        };
        assert_eq!((of("remote"), of("sense")), (Outcome::Fail, Outcome::NotApplicable));
    }

    #[test]
    fn it_says_with_what_the_lead_is_live() {
        let title = |kind: &str| {
            let plan = format!("plan: 1\nturn_on: {{remote: {{from: {{kind: {kind}}}, to: [amp.remote]}}}}\n");
            crate::rules::trial::finding(&plan, "TURN-06", "turn_on.remote").title
        };
        assert_eq!(title("ignition"), "on whenever the ignition is, with the radio off too");
        assert_eq!(title("alternator-signal"), "on whenever the engine runs, with the radio off too");
    }

    #[test]
    fn the_sense_wire_of_an_isolator_follows_the_ignition_and_never_a_constant_feed() {
        let of = |kind: &str, code: &str| {
            let text = format!(
                "plan: 1\nisolators: {{charger: {{kind: charger}}}}\nturn_on:\n  sense: {{from: {{kind: {kind}}}, to: [charger.sense]}}\n"
            );
            outcome(&text, code, "turn_on.sense")
        };
        assert_eq!(of("ignition", "TURN-06"), Outcome::NotApplicable);
        assert_eq!((of("ignition", "TURN-01"), of("constant", "TURN-01")), (Outcome::Pass, Outcome::Fail));
    }
}
