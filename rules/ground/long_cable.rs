//! A steel body is a better return than a long cable.

use crate::judge::{Finding, Input, Judged, Outcome, Rule, Severity, Subjects, at_most};
use crate::plan::{Body, Wire};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-05",
    name: "ground-cable-to-battery",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("long_cable.md"),
    check: Subjects::Wire(check),
    slips: &[
        super::Slip::Say("vehicle.body", &["steel"]),
        super::Slip::Together(&[
            super::Slip::Say("wires.*.to", &["battery.negative"]),
            super::Slip::Past("wires.*.length"),
            super::Slip::Drop("grounds.*"),
        ]),
    ],
};

fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let of = super::site::returned_to(wire, job, crate::plan::Terminal::is_battery_negative);
    let of = of.ok_or(Undecided::NotApplicable("not a cable back to the battery"))?;
    let body = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.body);
    if body.is_some_and(|body| body != Body::Steel) {
        return Err(Undecided::NotApplicable("this body carries no return, so the cable is needed"));
    }
    let length = wire.need("length", &wire.length)?;
    let limit = job.house.limits.long_return;
    let compared = at_most(length, limit.value)
        .formula("length of the cable <= limit of the house, where the body is steel")
        .given(Input::stated("length", length, wire.at("length")))
        .limit_from(limit.source);
    if compared.outcome() != Outcome::Pass && body.is_none() {
        return Err(Undecided::need(Place::of("vehicle.body")));
    }
    let near = length.with_base(job.house.limits.return_length.base());
    Ok(compared.verdict(|is| {
        Finding::new(wire.at("length"), format!("return of {} to the battery in a steel body", is.result()))
            .label(format!("more than {}", is.limit()))
            .also(Place::of("vehicle.body"), "steel carries a return")
            .because(if of.is_heard {
                "a welded body is a wider return than any cable, and a second path beside the body invites noise"
            } else {
                "a welded body is a wider return than any cable"
            })
            .mend(format!("ground the {} to bare body within {near} of it, and save the cable", of.noun))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(body: &str, to: &str, length: &str) -> Outcome {
        let plan = format!(
            "plan: 1\nvehicle: {{{body}}}\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\n\
             wires: {{return: {{from: amp.ground, to: {to}, length: {length}}}}}\n"
        );
        outcome(&plan, "GROUND-05", "wires.return")
    }

    #[test]
    fn the_limit_passes_and_a_little_more_fails() {
        assert_eq!(of("body: steel", "battery.negative", "1.5 m"), Outcome::Pass);
        assert_eq!(of("body: steel", "battery.negative", "1.51 m"), Outcome::Fail);
        assert_eq!(of("body: steel", "battery.body-side", "1.51 m"), Outcome::Fail);
    }

    #[test]
    fn other_bodies_need_the_cable() {
        assert_eq!(of("body: composite", "battery.negative", "5 m"), Outcome::NotApplicable);
        assert_eq!(of("body: aluminium", "battery.negative", "5 m"), Outcome::NotApplicable);
        assert_eq!(of("", "battery.negative", "5 m"), Outcome::Open);
        assert_eq!(of("", "battery.negative", "1 m"), Outcome::Pass);
        assert_eq!(of("body: steel", "grounds.floor", "5 m"), Outcome::NotApplicable);
    }

    #[test]
    fn other_gear_needs_no_cable_to_the_battery_either() {
        for (thing, noun) in [("dsp", "processor"), ("cap", "capacitor"), ("dcdc", "charger")] {
            let text = format!(
                "plan: 1\nvehicle: {{body: steel}}\nsources: {{dsp: {{kind: processor}}}}\ncapacitors: {{cap: {{}}}}\n\
                 isolators: {{dcdc: {{kind: charger}}}}\nwires: {{return: {{from: {thing}.ground, to: battery.negative, length: 4 m}}}}\n"
            );
            let finding = crate::rules::trial::finding(&text, "GROUND-05", "wires.return");
            assert!(finding.mend.starts_with(&format!("ground the {noun} to bare body")), "{}", finding.mend);
        }
    }
}
