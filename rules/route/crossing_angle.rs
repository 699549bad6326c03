//! Where a signal lead must cross a supply wire, a right angle couples least.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_least};
use crate::plan::Signal;
use crate::quantity::{Angle, Quantity, Range};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-12",
    name: "crossing-angle",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("crossing_angle.md"),
    check: Subjects::Signal(check),
    slips: &[
        super::Slip::Say("signals.*.lead.crosses_at", &["30 deg", "45 deg"]),
        super::Slip::Past("signals.*.lead.crosses_at"),
    ],
};

/// Square by eye: ten degrees to either side of a right angle (common practice, no published source).
const SQUARE: f64 = 80.0;

fn check(signal: &Thing<'_, Signal>, _: &Job<'_>) -> Judged {
    let stated = signal.lead.as_ref().and_then(|lead| lead.crosses_at);
    let stated = stated.ok_or(Undecided::NotApplicable("no crossing with a supply wire is stated"))?;
    let place = signal.at("lead.crosses_at");
    // Two lines that cross at 120 degrees cross at 60 seen from the other side.
    let turned = stated.base() % 180.0;
    let angle = Range::<Angle>::point(turned.min(180.0 - turned));
    Ok(at_least(angle, Quantity::<Angle>::new(SQUARE))
        .formula("smaller angle between signal lead and supply wire, square by eye")
        .given(Input::stated("crosses at", stated, place.clone()))
        .limit_from("common practice, no published source")
        .verdict(|is| {
            let square = Offer::new("cross at 90 deg").set(place.clone(), "90 deg");
            Finding::new(place, format!("`{}` crosses a supply wire at {}, not at 90 deg", signal.name, is.result()))
                .label("not a right angle")
                .because("the flatter two leads cross, the longer they run side by side and the more noise gets across")
                .mend("cross at 90 deg")
                .offer(square)
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(lead: &str) -> Outcome {
        outcome(&format!("plan: 1\nsignals: {{left: {{lead: {{{lead}}}}}}}\n"), "ROUTE-12", "signals.left")
    }

    #[test]
    fn square_by_eye_passes_and_flatter_to_either_side_fails() {
        assert_eq!(of("crosses_at: 90 deg"), Outcome::Pass);
        assert_eq!(of("crosses_at: 80 deg"), Outcome::Pass);
        assert_eq!(of("crosses_at: 79 deg"), Outcome::Fail);
        assert_eq!(of("crosses_at: 100 deg"), Outcome::Pass);
        assert_eq!(of("crosses_at: 101 deg"), Outcome::Fail);
        assert_eq!(of("crosses_at: 270 deg"), Outcome::Pass);
        assert_eq!(of(""), Outcome::NotApplicable);
    }
}
