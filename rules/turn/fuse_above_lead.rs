//! A fuse that is too large for a thin turn-on lead.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::{Circuit, Material, TurnOn};
use crate::quantity::{Current, Gauge, Quantity, Range, Temperature};
use crate::solve::ampacity::ampacity;
use crate::solve::{Job, Origin, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-10",
    name: "turn-fuse-above-lead",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("fuse_above_lead.md"),
    check: Subjects::TurnOn(check),
    slips: &[
        super::Slip::Say("turn_on.*.relay.contact_fuse", &["30 A", "40 A"]),
        super::Slip::Together(&[
            super::Slip::Say("turn_on.*.fuse", &["15 A", "20 A"]),
            super::Slip::Say("turn_on.*.size", &["20 AWG", "22 AWG"]),
        ]),
    ],
};

/// The thinnest lead that is sold for the purpose (common practice, no published source).
const THINNEST: Gauge = Gauge::Awg(22);

/// The class of the cheapest hook-up wire, in C: no plan states that of a turn-on lead.
const CLASS: f64 = 60.0;

fn check(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Judged {
    let (place, rating) = fuse(lead)?;
    let at_least = carries(THINNEST, lead, job);
    let size = match lead.size {
        Some(size) => size,
        None if rating.base() <= at_least.low() => THINNEST,
        None => return Err(Undecided::need(lead.at("size"))),
    };
    let input = match lead.size {
        Some(size) => Input::word("lead", size.to_string(), lead.at("size")),
        None => Input::from("thinnest lead carries", at_least, Origin::Table("33 CFR 183.425 table 5, class 60 C")),
    };
    Ok(at_most(rating, carries(size, lead, job))
        .formula("fuse rating <= what the lead carries")
        .given(Input::stated("fuse rating", rating, place.clone()))
        .given(input)
        .limit_from("33 CFR 183.425 table 5, class 60 C, below 18 AWG in proportion to the area")
        .verdict(|is| {
            Finding::new(place.clone(), format!("{rating} fuse on a turn-on lead that carries {}", is.limit()))
                .label(format!("{rating} here"))
                .also(lead.at("size"), format!("{size} carries {}", is.limit()))
                .because("a lead of milliamperes behind a fuse for amperes glows when it chafes through")
                .mend("fit a fuse of 1 to 3 A: a turn-on lead carries milliamperes")
                .offer(Offer::new("fit 1 A").set(place, "1 A"))
        }))
}

/// The fuse that the lead lies behind: in the feed of a relay's contact, or at the tap.
fn fuse(lead: &Thing<'_, TurnOn>) -> Result<(Place, Quantity<Current>), Undecided> {
    const NONE: Undecided = Undecided::NotApplicable("no fuse is stated (TURN-08 looks for one)");
    if !lead.is_lead() {
        return Err(Undecided::NotApplicable("it senses a signal, and there is no lead"));
    }
    if let Some(relay) = &lead.relay {
        return relay.contact_fuse.map(|rating| (lead.at("relay.contact_fuse"), rating)).ok_or(NONE);
    }
    if !super::site::is_tapped(super::site::kind(lead)?) {
        return Err(Undecided::NotApplicable("an output limits itself; no circuit is tapped"));
    }
    let spare = super::site::feed(lead, |from| from.circuit) == Some(Circuit::Spare);
    let of_position =
        super::site::feed(lead, |from| from.fuse).filter(|_| spare).map(|rating| (lead.at("from.fuse"), rating));
    lead.fuse.map(|rating| (lead.at("fuse"), rating)).or(of_position).ok_or(NONE)
}

/// What a lead of this size carries where it runs; one whose way is not stated is taken to run inside.
fn carries(size: Gauge, lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Range<Current> {
    let inside = job.house.assumptions.zone.range;
    let ambient = lead.path.iter().map(|zone| job.zone_temperature(*zone).range).fold(inside, Range::max);
    ampacity(size, Range::<Temperature>::point(CLASS), Material::Copper, Range::point(ambient.high()), 1)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    const CODE: &str = "TURN-10";
    const SUBJECT: &str = "turn_on.remote";

    fn plan(facts: &str) -> String {
        format!(
            "plan: 1\nturn_on: {{remote: {{from: {{kind: accessory, fuse: 15 A}}, tap: fuse-tap, {facts} to: [amp.remote]}}}}\n"
        )
    }

    fn of(facts: &str) -> Outcome {
        outcome(&plan(facts), CODE, SUBJECT)
    }

    /// 18 AWG of class 60 C carries 10 A; 22 AWG has 0.326 mm2 of its 0.823 mm2, and 3.96 A.
    #[test]
    fn a_fuse_up_to_what_the_lead_carries_passes() {
        assert_eq!(of("size: 18 AWG, fuse: 10 A,"), Outcome::Pass);
        assert_eq!(of("size: 18 AWG, fuse: 11 A,"), Outcome::Fail);
        assert_eq!(of("size: 22 AWG, fuse: 3.9 A,"), Outcome::Pass);
        assert_eq!(of("size: 22 AWG, fuse: 4 A,"), Outcome::Fail);
        assert_eq!(of("size: 18 AWG, fuse: 10 A, path: [engine-bay],"), Outcome::Fail, "it is hot there");
    }

    #[test]
    fn a_size_is_asked_for_only_where_the_thinnest_would_not_do() {
        assert_eq!(of("fuse: 3 A,"), Outcome::Pass);
        let open = check(&plan("fuse: 5 A,"), CODE, SUBJECT);
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "turn_on.remote.size"));
    }

    #[test]
    fn behind_a_relay_the_fuse_of_its_contact_counts() {
        let relay = |fuse: &str| of(&format!("size: 18 AWG, fuse: 1 A, relay: {{coil_current: 120 mA{fuse}}},"));
        assert_eq!(relay(", contact_fuse: 3 A"), Outcome::Pass);
        assert_eq!(relay(", contact_fuse: 30 A"), Outcome::Fail);
        assert_eq!(relay(""), Outcome::NotApplicable);
    }

    #[test]
    fn an_output_and_a_lead_without_a_fuse_are_left_to_other_rules() {
        assert_eq!(of(""), Outcome::NotApplicable);
        assert_eq!(
            outcome(&plan("fuse: 15 A,").replace("accessory", "radio-output"), CODE, SUBJECT),
            Outcome::NotApplicable
        );
        let spare = plan("size: 22 AWG,").replace("kind: accessory,", "kind: accessory, circuit: spare,");
        assert_eq!(outcome(&spare, CODE, SUBJECT), Outcome::Fail, "15 A in the spare position");
    }
}
