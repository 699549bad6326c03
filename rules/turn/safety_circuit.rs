//! Circuits that keep people safe feed nothing else.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{self, Circuit, FeedKind, TurnOn};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-05",
    name: "turn-safety-circuit",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("safety_circuit.md"),
    check: Subjects::TurnOn(check),
    slips: &[super::Slip::Say(
        "turn_on.*.from",
        &[
            "{kind: accessory, circuit: lighting, fuse: 10 A, spare: 2 A, delay: 0 s}",
            "{kind: accessory, circuit: airbag, fuse: 10 A, spare: 2 A, delay: 0 s}",
            "{kind: accessory, circuit: engine, fuse: 15 A, spare: 3 A, delay: 0 s}",
            "{kind: accessory, circuit: brakes, fuse: 15 A, spare: 3 A, delay: 0 s}",
        ],
    )],
};

fn check(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Judged {
    let stated = super::site::feed(lead, |from| from.circuit);
    if stated.is_none() && !super::site::is_tapped(super::site::kind(lead)?) {
        return Err(Undecided::NotApplicable("no circuit of the vehicle is tapped"));
    }
    let circuit = lead.need("from.circuit", &stated)?;
    let senses = super::site::is_sense_wire(lead, job);
    if senses && super::site::feed(lead, |from| from.kind) == Some(FeedKind::AlternatorSignal) {
        return Err(Undecided::NotApplicable(
            "the alternator's own signal, which is there to tell that the engine runs",
        ));
    }
    let kept = matches!(circuit, Circuit::Airbag | Circuit::Brakes | Circuit::Engine | Circuit::Lighting);
    Ok(Verdict::pass_if(!kept, || {
        let word = plan::word(&circuit);
        let what = if senses { "sense wire" } else { "turn-on" };
        let finding = Finding::new(lead.at("from.circuit"), format!("{what} taken from the {word} circuit"))
            .label("this circuit keeps people safe")
            .because(
                "a fault in the added lead would switch off what the vehicle needs to drive, stop, be seen or protect",
            );
        if senses {
            return finding.mend(super::site::SENSE_MEND).offer(super::site::sense_feed(lead));
        }
        finding
            .mend("take it from the radio's remote output, the radio's own feed, an outlet or a spare fuse position")
            .offer(
                Offer::new("take it from the radio's own feed")
                    .set(lead.at("from"), "{kind: accessory, circuit: radio}"),
            )
            .offers(super::site::better_feeds(lead, job))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(from: &str) -> Outcome {
        let plan = format!("plan: 1\nturn_on: {{remote: {{from: {{{from}}}, to: [amp.remote]}}}}\n");
        outcome(&plan, "TURN-05", "turn_on.remote")
    }

    #[test]
    fn circuits_that_keep_people_safe_fail_and_the_others_pass() {
        for circuit in ["airbag", "brakes", "engine", "lighting"] {
            assert_eq!(of(&format!("kind: ignition, circuit: {circuit}")), Outcome::Fail, "{circuit}");
        }
        for circuit in ["outlet", "radio", "comfort", "wipers", "spare"] {
            assert_eq!(of(&format!("kind: accessory, circuit: {circuit}")), Outcome::Pass, "{circuit}");
        }
    }

    /// Terminal 61 tells a charger that the engine runs (TURN-11 asks for it); an amplifier has no business there.
    #[test]
    fn the_alternators_signal_may_go_to_a_chargers_sense_wire() {
        let of = |kind: &str, to: &str| {
            let text = format!(
                "plan: 1\nisolators: {{dcdc: {{kind: charger}}}}\nturn_on: {{sense: {{from: {{kind: {kind}, circuit: engine}}, to: [{to}]}}}}\n"
            );
            crate::rules::trial::check(&text, "TURN-05", "turn_on.sense")
        };
        assert_eq!(of("alternator-signal", "dcdc.sense").outcome, Outcome::NotApplicable);
        assert_eq!(of("alternator-signal", "dcdc.sense, amp.remote").outcome, Outcome::Fail);
        assert_eq!(of("alternator-signal", "amp.remote").outcome, Outcome::Fail);
        let tapped = of("ignition", "dcdc.sense").finding.expect("it fails");
        assert_eq!(tapped.title, "sense wire taken from the engine circuit");
        assert!(tapped.mend.contains("lamp terminal") && !tapped.mend.contains("radio"), "{}", tapped.mend);
        assert_eq!(tapped.offers.len(), 1, "an accessory circuit is TURN-11's fault");
    }

    #[test]
    fn a_tapped_circuit_that_is_not_named_leaves_it_open() {
        assert_eq!(of("kind: accessory"), Outcome::Open);
        assert_eq!(of("kind: radio-output"), Outcome::NotApplicable);
    }
}
