//! A part that is only bolted on or clipped in is no body.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Ground, GroundOn};
use crate::solve::{Job, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-03",
    name: "ground-on-loose-part",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("loose_part.md"),
    check: Subjects::Ground(check),
    slips: &[super::Slip::Say("grounds.*.on", &["bracket", "seat-frame", "trim"])],
};

fn check(ground: &Thing<'_, Ground>, _: &Job<'_>) -> Judged {
    let on = ground.need("on", &ground.on)?;
    Ok(Verdict::pass_if(!is_loose(on), || {
        let what = match on {
            GroundOn::Bracket => "a bracket",
            GroundOn::SeatFrame => "a seat frame",
            _ => "trim",
        };
        Finding::new(ground.at("on"), format!("return on {what}, wanted the body itself"))
        .label("only bolted or clipped on")
        .because(
            "between such a part and the body there are paint, rails or clips that were never made to carry current",
        )
        .mend("bolt it to bare body sheet, to a rail or cross member, or to a factory ground stud")
        .offer(super::site::elsewhere(ground))
    }))
}

/// Whether a part is only bolted on or clipped in.
pub fn is_loose(on: GroundOn) -> bool {
    matches!(on, GroundOn::Bracket | GroundOn::SeatFrame | GroundOn::Trim)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{finding, outcome};

    #[test]
    fn the_body_passes_and_parts_on_it_fail() {
        let of = |ground: &str| {
            outcome(&format!("plan: 1\ngrounds: {{floor: {{{ground}}}}}\n"), "GROUND-03", "grounds.floor")
        };
        for on in ["body-sheet", "body-structure", "frame", "factory-stud"] {
            assert_eq!(of(&format!("on: {on}")), Outcome::Pass, "{on}");
        }
        for on in ["bracket", "seat-frame", "trim"] {
            assert_eq!(of(&format!("on: {on}")), Outcome::Fail, "{on}");
        }
        assert_eq!(of("surface: bare-metal"), Outcome::Open);
    }

    #[test]
    fn the_part_is_named() {
        for (on, name) in [("bracket", "a bracket"), ("seat-frame", "a seat frame"), ("trim", "trim")] {
            let plan = format!("plan: 1\ngrounds: {{floor: {{on: {on}}}}}\n");
            assert_eq!(
                finding(&plan, "GROUND-03", "grounds.floor").title,
                format!("return on {name}, wanted the body itself")
            );
        }
    }
}
