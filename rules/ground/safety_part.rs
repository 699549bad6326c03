//! Bolts that keep people safe hold nothing else.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Ground, GroundOn};
use crate::solve::{Job, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-04",
    name: "ground-on-safety-part",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("safety_part.md"),
    check: Subjects::Ground(check),
    slips: &[super::Slip::Say(
        "grounds.*.on",
        &["belt-hardware", "seat-bolt", "airbag-hardware", "steering-hardware", "brake-hardware", "fuel-hardware"],
    )],
};

fn check(ground: &Thing<'_, Ground>, _: &Job<'_>) -> Judged {
    let on = ground.need("on", &ground.on)?;
    let Some(words) = safety(on) else { return Ok(Verdict::pass()) };
    Ok(Verdict::fail(
        Finding::new(ground.at("on"), format!("return on {words}"))
            .label("leave this as the factory made it")
            .because("a ring under such a bolt changes its clamping and its torque, and current through it can heat or fire what it holds")
            .mend("put the bolt back as it was with its torque, and ground on bare body sheet or structure elsewhere")
            .offer(super::site::elsewhere(ground)),
    ))
}

/// What a ground sits on, where people depend on it.
pub fn safety(on: GroundOn) -> Option<&'static str> {
    match on {
        GroundOn::BeltHardware => Some("belt hardware"),
        GroundOn::SeatBolt => Some("a seat bolt"),
        GroundOn::AirbagHardware => Some("airbag hardware"),
        GroundOn::SteeringHardware => Some("steering hardware"),
        GroundOn::BrakeHardware => Some("brake hardware"),
        GroundOn::FuelHardware => Some("fuel hardware"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    #[test]
    fn hardware_that_people_depend_on_fails() {
        let of = |ground: &str| {
            outcome(&format!("plan: 1\ngrounds: {{floor: {{{ground}}}}}\n"), "GROUND-04", "grounds.floor")
        };
        for on in
            ["belt-hardware", "seat-bolt", "airbag-hardware", "steering-hardware", "brake-hardware", "fuel-hardware"]
        {
            assert_eq!(of(&format!("on: {on}")), Outcome::Fail, "{on}");
        }
        for on in ["body-sheet", "body-structure", "frame", "factory-stud", "bracket", "seat-frame", "trim"] {
            assert_eq!(of(&format!("on: {on}")), Outcome::Pass, "{on}");
        }
        assert_eq!(of("surface: bare-metal"), Outcome::Open);
    }
}
