//! A lead that is tapped off a circuit brings its own fuse.

use crate::judge::{Finding, Judged, Offer, Outcome, Rule, Severity, Subjects, Verdict};
use crate::plan::{Circuit, Tap, TurnOn};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-08",
    name: "turn-unfused-tap",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("unfused_tap.md"),
    check: Subjects::TurnOn(check),
    slips: &[super::Slip::Together(&[
        super::Slip::Drop("turn_on.*.fuse"),
        super::Slip::Say("turn_on.*.tap", &["crimped-splice", "soldered", "connector"]),
    ])],
};

fn check(lead: &Thing<'_, TurnOn>, _: &Job<'_>) -> Judged {
    if !lead.is_lead() {
        return Err(Undecided::NotApplicable("it senses a signal, and there is no lead"));
    }
    let (tap, contact) = (tap(lead), contact(lead));
    let fails = |judged: &Judged| judged.as_ref().is_ok_and(|verdict| verdict.outcome == Outcome::Fail);
    match (tap, contact) {
        (tap, Err(Undecided::NotApplicable(_))) => tap,
        (tap, _) if fails(&tap) => tap,
        (Err(Undecided::Open(mut needs)), Err(Undecided::Open(more))) => {
            needs.extend(more);
            Err(Undecided::Open(needs))
        }
        (Err(Undecided::Open(needs)), Ok(verdict)) if verdict.outcome == Outcome::Pass => Err(Undecided::Open(needs)),
        (_, contact) => contact,
    }
}

/// What a relay's contact switches comes from a circuit too.
fn contact(lead: &Thing<'_, TurnOn>) -> Judged {
    let relay = lead.relay.as_ref().ok_or(Undecided::NotApplicable("there is no relay"))?;
    if relay.contact_fuse.is_some() {
        return Ok(Verdict::pass());
    }
    if relay.coil_current.is_none() && relay.suppression.is_none() {
        return Err(Undecided::need(lead.at("relay.contact_fuse")));
    }
    Ok(Verdict::fail(
        Finding::new(lead.at("relay"), "relay contact fed without a fuse")
            .label("no fuse in the feed of its contact")
            .because("the lead behind the contact is live from a circuit whose fuse was chosen for another wire")
            .mend("fit a fuse of 1 to 3 A in the feed of the contact, near where it is taken (`contact_fuse`)")
            .offer(Offer::new("fit 3 A in its feed").set(lead.at("relay.contact_fuse"), "3 A")),
    ))
}

/// The lead's own tap.
fn tap(lead: &Thing<'_, TurnOn>) -> Judged {
    if !super::site::is_tapped(super::site::kind(lead)?) {
        return Err(Undecided::NotApplicable("an output limits itself; no circuit is tapped"));
    }
    // In a spare position of the fuse box, the fuse that is put there is the lead's own.
    let spare = super::site::feed(lead, |from| from.circuit) == Some(Circuit::Spare);
    let own = lead.fuse.or_else(|| super::site::feed(lead, |from| from.fuse).filter(|_| spare));
    if own.is_some() {
        return Ok(Verdict::pass());
    }
    if spare {
        // An empty position is dead: there is a fuse, and its rating is not said.
        return Err(Undecided::need(lead.at("from.fuse")));
    }
    // A lead whose tap is described has no fuse where none is described; before that it is only not yet said.
    let tap = lead.need("tap", &lead.tap)?;
    if tap == Tap::FuseTap {
        // Its second slot is what feeds the lead.
        return Err(Undecided::need(lead.at("fuse")));
    }
    let mend = "fit a fuse of 1 to 3 A within a hand's width of the tap, or a fuse tap that carries it";
    let finding = Finding::new(lead.at("tap"), "tap without a fuse of its own")
        .label("no fuse behind this tap")
        .because("a turn-on lead that chafes through would open the circuit's fuse and take that circuit with it")
        .mend(mend)
        .offer(Offer::new("fit 1 A at the tap").set(lead.at("fuse"), "1 A"));
    // The fuse tap that mends the strand brings the fuse.
    let strand = tap == Tap::StrandBesideFuse;
    Ok(Verdict::fail(if strand { finding.follows("TURN-04", lead.place()) } else { finding }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn of(from: &str, more: &str) -> Outcome {
        let plan = format!("plan: 1\nturn_on: {{remote: {{from: {{{from}}}, {more} to: [amp.remote]}}}}\n");
        outcome(&plan, "TURN-08", "turn_on.remote")
    }

    #[test]
    fn a_tap_needs_its_own_fuse() {
        assert_eq!(of("kind: accessory, fuse: 15 A", "tap: fuse-tap, fuse: 1 A,"), Outcome::Pass);
        assert_eq!(of("kind: accessory, fuse: 15 A", "tap: crimped-splice,"), Outcome::Fail);
        assert_eq!(of("kind: accessory, fuse: 15 A", ""), Outcome::Open);
    }

    #[test]
    fn a_fuse_tap_and_a_spare_position_have_a_fuse_whose_rating_is_asked_for() {
        let needs = |from: &str, more: &str| {
            let plan = format!("plan: 1\nturn_on: {{remote: {{from: {{{from}}}, {more} to: [amp.remote]}}}}\n");
            let check = check(&plan, "TURN-08", "turn_on.remote");
            assert_eq!(check.outcome, Outcome::Open);
            check.needs[0].path()
        };
        assert_eq!(needs("kind: accessory", "tap: fuse-tap,"), "turn_on.remote.fuse");
        assert_eq!(needs("kind: accessory, circuit: spare", "tap: connector,"), "turn_on.remote.from.fuse");
    }

    #[test]
    fn a_strand_beside_a_fuse_is_told_once() {
        let plan = "plan: 1\nturn_on: {remote: {from: {kind: accessory}, tap: strand-beside-fuse, to: [amp.remote]}}\n";
        let (code, subject) =
            check(plan, "TURN-08", "turn_on.remote").finding.and_then(|it| it.follows).expect("follows");
        assert_eq!(outcome(plan, code, &subject.path()), Outcome::Fail);
    }

    #[test]
    fn the_fuse_in_a_spare_position_is_its_own() {
        assert_eq!(of("kind: accessory, circuit: spare, fuse: 2 A", "tap: connector,"), Outcome::Pass);
    }

    #[test]
    fn an_output_of_a_radio_is_no_tap() {
        assert_eq!(of("kind: radio-output", "tap: connector,"), Outcome::NotApplicable);
    }

    #[test]
    fn the_contact_of_a_relay_needs_a_fuse_in_its_feed() {
        let relay = |facts: &str| of("kind: radio-output", &format!("tap: connector, relay: {{{facts}}},"));
        assert_eq!(relay("coil_current: 120 mA, contact_fuse: 3 A"), Outcome::Pass);
        assert_eq!(relay("coil_current: 120 mA"), Outcome::Fail);
        assert_eq!(relay(""), Outcome::Open);
        let tapped = |more: &str| of("kind: accessory, fuse: 15 A", &format!("{more} relay: {{contact_fuse: 3 A}},"));
        assert_eq!(tapped("tap: crimped-splice,"), Outcome::Fail, "the tap for the coil has none");
        assert_eq!(tapped(""), Outcome::Open);
        assert_eq!(tapped("tap: fuse-tap, fuse: 1 A,"), Outcome::Pass);
    }

    #[test]
    fn a_contact_without_a_fuse_is_told_whatever_the_tap_is() {
        assert_eq!(of("kind: accessory, fuse: 15 A", "relay: {coil_current: 120 mA},"), Outcome::Fail);
        assert_eq!(
            of("kind: accessory, fuse: 15 A", "relay: {coil_current: 120 mA, contact_fuse: 3 A},"),
            Outcome::Open
        );
    }
}
