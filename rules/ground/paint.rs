//! Paint does not conduct.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{self, Ground, GroundOn, Surface};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-01",
    name: "ground-on-paint",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("paint.md"),
    check: Subjects::Ground(check),
    slips: &[super::Slip::Say("grounds.*.surface", &["painted", "coated"])],
};

fn check(ground: &Thing<'_, Ground>, _: &Job<'_>) -> Judged {
    super::stays::where_it_stays(ground, judge(ground))
}

fn judge(ground: &Thing<'_, Ground>) -> Judged {
    if ground.surface.is_none() && ground.on == Some(GroundOn::FactoryStud) {
        return Err(Undecided::NotApplicable("a factory stud brings its own contact face"));
    }
    let surface = ground.need("surface", &ground.surface)?;
    Ok(Verdict::pass_if(matches!(surface, Surface::BareMetal | Surface::Plated), || {
        Finding::new(ground.at("surface"), format!("return on {} metal, wanted bare or plated", plan::word(&surface)))
            .label("does not conduct")
            .because(
                "the current goes through the few points where the layer is broken, and these get hot enough to burn",
            )
            .mend("grind back to bright metal a little wider than the ring, bolt it down, then coat it again")
            .offer(
                Offer::new("grind it bare, coat it after")
                    .set(ground.at("surface"), "bare-metal")
                    .set(ground.at("coated_after"), true),
            )
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn of(ground: &str) -> Outcome {
        outcome(&format!("plan: 1\ngrounds: {{floor: {{{ground}}}}}\n"), "GROUND-01", "grounds.floor")
    }

    #[test]
    fn metal_that_conducts_passes_and_layers_fail() {
        for surface in ["bare-metal", "plated"] {
            assert_eq!(of(&format!("on: body-sheet, surface: {surface}")), Outcome::Pass, "{surface}");
        }
        for surface in ["painted", "coated", "corroded"] {
            assert_eq!(of(&format!("on: body-sheet, surface: {surface}")), Outcome::Fail, "{surface}");
        }
    }

    #[test]
    fn what_has_to_go_elsewhere_is_not_ground_to_bright_metal_first() {
        for on in ["seat-frame", "trim", "bracket", "belt-hardware", "seat-bolt", "brake-hardware"] {
            let text = format!(
                "plan: 1\ngrounds: {{floor: {{on: {on}, surface: painted, coated_after: false, fastener: {{shared: true}}}}}}\n"
            );
            for code in ["GROUND-01", "GROUND-08"] {
                let follows = check(&text, code, "grounds.floor").finding.and_then(|finding| finding.follows);
                let (cause, subject) = follows.expect("it follows");
                assert_eq!(outcome(&text, cause, &subject.path()), Outcome::Fail, "{on} {code}");
            }
            let bare = format!("plan: 1\ngrounds: {{floor: {{on: {on}}}}}\n");
            for code in ["GROUND-01", "GROUND-07", "GROUND-08"] {
                assert_eq!(outcome(&bare, code, "grounds.floor"), Outcome::NotApplicable, "{on} {code}");
            }
        }
    }

    #[test]
    fn a_factory_stud_needs_no_word_about_its_surface() {
        assert_eq!(of("on: body-sheet"), Outcome::Open);
        assert_eq!(of("on: factory-stud"), Outcome::NotApplicable);
        assert_eq!(of("on: factory-stud, surface: corroded"), Outcome::Fail);
    }
}
