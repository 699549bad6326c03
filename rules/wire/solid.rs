//! A solid conductor in something that shakes.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Stranding, Wire};
use crate::solve::{Job, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-07",
    name: "solid-conductor",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("solid.md"),
    check: Subjects::Wire(check),
    slips: &[super::Slip::Say("wires.*.stranding", &["solid"])],
};

fn check(wire: &Thing<'_, Wire>, _: &Job<'_>) -> Judged {
    let stranding = wire.need("stranding", &wire.stranding)?;
    Ok(Verdict::pass_if(stranding != Stranding::Solid, || {
        Finding::new(wire.at("stranding"), "solid conductor in a vehicle; stranded is needed")
            .label("one solid wire")
            .because("vibration bends a solid conductor at its terminals until it breaks, and a break under load arcs")
            .mend(match wire.size {
                Some(size) => format!("fit {size} of fine strands"),
                None => "fit a wire of fine strands".to_owned(),
            })
            .offer(Offer::new("lay fine strands").set(wire.at("stranding"), "fine"))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(stranding: &str) -> String {
        format!("plan: 1\nwires: {{main: {{size: 4 AWG, {stranding}}}}}\n")
    }

    #[test]
    fn strands_pass_and_a_solid_wire_fails() {
        assert_eq!(outcome(&plan("stranding: fine"), "WIRE-07", "wires.main"), Outcome::Pass);
        assert_eq!(outcome(&plan("stranding: stranded"), "WIRE-07", "wires.main"), Outcome::Pass);
        assert_eq!(outcome(&plan("stranding: solid"), "WIRE-07", "wires.main"), Outcome::Fail);
    }

    #[test]
    fn strands_that_are_not_stated_leave_it_open() {
        let check = check(&plan("length: 4 m"), "WIRE-07", "wires.main");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "wires.main.stranding");
    }
}
