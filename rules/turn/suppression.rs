//! A relay coil kicks back when it lets go.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Suppression, TurnOn};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-07",
    name: "turn-relay-suppression",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("suppression.md"),
    check: Subjects::TurnOn(check),
    slips: &[
        super::Slip::Say("turn_on.*.relay", &["{coil_current: 120 mA, suppression: none, contact_fuse: 3 A}"]),
        super::Slip::Say("turn_on.*.relay.suppression", &["none"]),
    ],
};

fn check(lead: &Thing<'_, TurnOn>, _: &Job<'_>) -> Judged {
    let relay = lead.relay.as_ref().ok_or(Undecided::NotApplicable("there is no relay"))?;
    let place = lead.at("relay.suppression");
    let suppression = relay.suppression.ok_or_else(|| Undecided::need(place.clone()))?;
    Ok(Verdict::pass_if(suppression != Suppression::None, || {
        let diode = Offer::new("fit a relay with a diode").set(place.clone(), "diode");
        Finding::new(place, "relay coil without suppression")
            .label("nothing swallows the peak")
            .because("a coil that is switched off gives a peak of a hundred volts and more to whatever drives it")
            .mend("fit a relay with a diode or resistor across its coil, or add a diode with its cathode to the positive side")
            .offer(diode)
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(relay: &str) -> Outcome {
        let plan = format!("plan: 1\nturn_on: {{remote: {{from: {{kind: accessory}}, {relay} to: [amp.remote]}}}}\n");
        outcome(&plan, "TURN-07", "turn_on.remote")
    }

    /// The page works out what a resistor leaves of the peak; the figures are those of Ohm's law.
    #[test]
    fn the_peak_across_the_resistor_is_worked_out_right() {
        let (supply, coil, across) = (14.0, 90.0, 680.0);
        let current: f64 = supply / coil;
        let words = format!("{current:.2} A x {across:.0} ohm = {:.0} V", current * across);
        assert!(super::RULE.page.contains(&words), "{words}");
    }

    #[test]
    fn a_diode_or_a_resistor_passes_and_nothing_fails() {
        assert_eq!(of("relay: {suppression: diode},"), Outcome::Pass);
        assert_eq!(of("relay: {suppression: resistor},"), Outcome::Pass);
        assert_eq!(of("relay: {suppression: none},"), Outcome::Fail);
        assert_eq!(of("relay: {},"), Outcome::Open);
        assert_eq!(of(""), Outcome::NotApplicable);
    }
}
