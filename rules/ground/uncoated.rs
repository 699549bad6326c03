//! Bare metal rusts, and rust does not conduct.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Ground, GroundOn, Surface};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-07",
    name: "ground-uncoated",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("uncoated.md"),
    check: Subjects::Ground(check),
    slips: &[super::Slip::Say("grounds.*.coated_after", &["false"])],
};

fn check(ground: &Thing<'_, Ground>, _: &Job<'_>) -> Judged {
    super::stays::where_it_stays(ground, judge(ground))
}

fn judge(ground: &Thing<'_, Ground>) -> Judged {
    if ground.coated_after == Some(true) {
        return Ok(Verdict::pass());
    }
    if ground.on == Some(GroundOn::FactoryStud) && ground.surface.is_none() {
        return Err(Undecided::NotApplicable("no metal is bared at a factory stud"));
    }
    let surface = ground.need("surface", &ground.surface)?;
    if surface != Surface::BareMetal {
        return Err(Undecided::NotApplicable("no metal is bared"));
    }
    ground.need("coated_after", &ground.coated_after)?;
    Ok(Verdict::fail(
        Finding::new(ground.at("coated_after"), "bare metal is left uncoated")
            .label("not coated again")
            .because("bare steel rusts within months, and rust under the ring turns a good ground into a bad one")
            .mend("once it is tight, cover ring, bolt and bare edge with paint, sealer or grease, on the back of the sheet too")
            .offer(Offer::new("coat it after").set(ground.at("coated_after"), true)),
    ))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    #[test]
    fn bared_metal_is_coated_again() {
        let of = |ground: &str| {
            outcome(&format!("plan: 1\ngrounds: {{floor: {{{ground}}}}}\n"), "GROUND-07", "grounds.floor")
        };
        assert_eq!(of("surface: bare-metal, coated_after: true"), Outcome::Pass);
        assert_eq!(of("surface: bare-metal, coated_after: false"), Outcome::Fail);
        assert_eq!(of("surface: bare-metal"), Outcome::Open);
        assert_eq!(of("coated_after: false"), Outcome::Open);
        assert_eq!(of("surface: plated, coated_after: false"), Outcome::NotApplicable);
        assert_eq!(of("on: factory-stud"), Outcome::NotApplicable);
    }
}
