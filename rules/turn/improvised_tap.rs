//! A tap made up by hand works loose.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{self, Tap, TurnOn};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-04",
    name: "turn-improvised-tap",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("improvised_tap.md"),
    check: Subjects::TurnOn(check),
    slips: &[super::Slip::Say("turn_on.*.tap", &["strand-beside-fuse", "pierced"])],
};

fn check(lead: &Thing<'_, TurnOn>, _: &Job<'_>) -> Judged {
    if lead.tap.is_none() && !super::site::is_tapped(super::site::kind(lead)?) {
        return Err(Undecided::NotApplicable("an output that brings its own connector"));
    }
    let tap = lead.need("tap", &lead.tap)?;
    Ok(Verdict::pass_if(!tap.is_improvised(), || {
        let mend = match tap {
            Tap::StrandBesideFuse => "fit a fuse tap: a holder in the fuse's place that carries a second fuse",
            _ => "crimp a splice or use the connector, and insulate it",
        };
        let offer = match tap {
            Tap::StrandBesideFuse => {
                Offer::new("fit a fuse tap with 1 A").set(lead.at("tap"), "fuse-tap").set(lead.at("fuse"), "1 A")
            }
            _ => Offer::new("crimp a splice").set(lead.at("tap"), "crimped-splice"),
        };
        Finding::new(lead.at("tap"), format!("improvised tap: {}", plan::word(&tap).replace('-', " ")))
            .label("not a joint that lasts")
            .because("a tap without a made joint heats, works loose and cuts off the circuit it was taken from")
            .mend(mend)
            .offer(offer)
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{finding, offered, outcome};

    fn of(kind: &str, tap: &str) -> Outcome {
        let plan = format!("plan: 1\nturn_on: {{remote: {{from: {{kind: {kind}}}, {tap} to: [amp.remote]}}}}\n");
        outcome(&plan, "TURN-04", "turn_on.remote")
    }

    #[test]
    fn made_joints_pass_and_made_up_ones_fail() {
        for tap in ["fuse-tap", "connector", "crimped-splice", "soldered"] {
            assert_eq!(of("accessory", &format!("tap: {tap},")), Outcome::Pass, "{tap}");
        }
        for tap in ["strand-beside-fuse", "pierced", "twisted-and-taped"] {
            assert_eq!(of("accessory", &format!("tap: {tap},")), Outcome::Fail, "{tap}");
        }
    }

    #[test]
    fn a_tapped_circuit_needs_to_say_how_and_an_output_does_not() {
        assert_eq!(of("accessory", ""), Outcome::Open);
        assert_eq!(of("radio-output", ""), Outcome::NotApplicable);
        assert_eq!(of("radio-output", "tap: pierced,"), Outcome::Fail);
    }

    #[test]
    fn a_strand_beside_a_fuse_becomes_a_fuse_tap_and_others_a_splice() {
        let of = |tap: &str| {
            let plan =
                format!("plan: 1\nturn_on: {{remote: {{from: {{kind: accessory}}, tap: {tap}, to: [amp.remote]}}}}\n");
            let mend = finding(&plan, "TURN-04", "turn_on.remote").mend;
            (
                offered(&plan, "TURN-04", "turn_on.remote")[0].0.clone(),
                mend.split(':').next().unwrap_or_default().to_owned(),
            )
        };
        let said = |offer: &str, mend: &str| (offer.to_owned(), mend.to_owned());
        assert_eq!(of("strand-beside-fuse"), said("fit a fuse tap with 1 A", "fit a fuse tap"));
        assert_eq!(of("pierced"), said("crimp a splice", "crimp a splice or use the connector, and insulate it"));
    }
}
