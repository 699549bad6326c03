//! A wire that hangs free between two fixings chafes, rattles and pulls on its ends.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::Wire;
use crate::rules::tape;
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-04",
    name: "fixing-distance",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("fixing.md"),
    check: Subjects::Wire(check),
    slips: &[super::Slip::Past("wires.*.fixed_every"), super::Slip::Say("wires.*.fixed_every", &["60 cm", "90 cm"])],
};

fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let limit = job.house.limits.fixing_distance;
    if wire.length.is_some_and(|length| length.base() <= limit.value.base()) {
        return Err(Undecided::NotApplicable("its ends hold it: it is shorter than the way between two fixings"));
    }
    let stated = wire.need("fixed_every", &wire.fixed_every)?;
    let near = tape::within(limit.value.base(), Some(stated));
    let allowed = stated.with_base(limit.value.base());
    Ok(at_most(stated, limit.value)
        .formula("longest stretch between two fixings <= limit")
        .given(Input::stated("fixed every", stated, wire.at("fixed_every")))
        .limit_from(limit.source)
        .verdict(|is| {
            Finding::new(
                wire.at("fixed_every"),
                format!("`{}` is fixed every {}, at most {} is allowed", wire.name, is.result(), is.limit()),
            )
            .label("too far apart")
            .because("a wire that hangs free chafes through, rattles and pulls on its ends")
            .mend(format!("fix it at least every {allowed}"))
            .offer(Offer::new("fix it more often").set(wire.at("fixed_every"), near))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(facts: &str) -> Outcome {
        outcome(&format!("plan: 1\nwires: {{main: {{{facts}}}}}\n"), "ROUTE-04", "wires.main")
    }

    #[test]
    fn eighteen_inches_pass_and_one_more_fails() {
        assert_eq!(of("fixed_every: 18 in"), Outcome::Pass);
        assert_eq!(of("fixed_every: 19 in"), Outcome::Fail);
        assert_eq!(of("length: 4 m"), Outcome::Open);
    }

    /// A plan in inches is told and mended in inches, one in centimetres in centimetres.
    #[test]
    fn everything_is_said_in_the_unit_of_the_writer() {
        for (written, most, mended) in [("24 in", "18 in", "18 in"), ("60 cm", "45.7 cm", "45 cm")] {
            let text = format!("plan: 1\nwires: {{main: {{fixed_every: {written}}}}}\n");
            let check = crate::rules::trial::check(&text, "ROUTE-04", "wires.main");
            let (finding, working) = (check.finding.expect("it fails"), check.working.expect("worked"));
            assert_eq!(finding.title, format!("`main` is fixed every {written}, at most {most} is allowed"));
            assert_eq!(finding.mend, format!("fix it at least every {most}"));
            assert_eq!((working.result.to_string(), working.limit.to_string()), (written.into(), most.into()));
            let after = crate::rules::trial::after(&text, "ROUTE-04", "wires.main");
            assert_eq!(after, [text.replace(written, mended)]);
        }
    }

    #[test]
    fn a_wire_that_is_shorter_than_that_is_held_by_its_ends() {
        assert_eq!(of("length: 18 in"), Outcome::NotApplicable);
        assert_eq!(of("length: 46 cm"), Outcome::Open);
    }
}
