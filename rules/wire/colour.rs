//! Insulation whose colour says something else.

use super::site::{Side, side};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Colour, Wire, word};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-13",
    name: "misleading-colour",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("colour.md"),
    check: Subjects::Wire(check),
    slips: &[super::Slip::Say("wires.*.colour", &["red", "black"])],
};

fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let colour = wire.colour.ok_or(Undecided::NotApplicable("the plan gives no colour"))?;
    if colour == Colour::Orange && job.plan.has_high_voltage() {
        return Ok(Verdict::fail(orange(wire, job)));
    }
    let side =
        side(job, wire).ok_or(Undecided::NotApplicable("it is not clear which side of the supply this wire is on"))?;
    let (is, says, right) = match side {
        Side::Feed => ("feed", "return", "red"),
        Side::Return => ("return", "feed", "black"),
    };
    let misleads = match side {
        Side::Feed => matches!(colour, Colour::Black | Colour::Brown),
        Side::Return => colour == Colour::Red,
    };
    Ok(Verdict::pass_if(!misleads, || {
        let name = word(&colour);
        Finding::new(wire.at("colour"), format!("{name} insulation on a {is}; {name} says {says}"))
            .label(format!("this wire is a {is}"))
            .because("the next person trusts the colour and connects or measures the wrong way round")
            .mend(format!("fit a {right} wire, or sleeve both ends in {right}"))
            .offer(Offer::new(format!("lay a {right} wire")).set(wire.at("colour"), right))
    }))
}

fn orange(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Finding {
    let right = match side(job, wire) {
        Some(Side::Return) => "black",
        Some(Side::Feed) | None => "red",
    };
    Finding::new(wire.at("colour"), "orange insulation in a vehicle with high voltage; orange says high voltage")
        .label("this wire has none")
        .because(
            "rescuers and technicians keep away from orange cables, and whoever finds one harmless trusts the next",
        )
        .mend(format!("fit a {right} wire"))
        .offer(Offer::new(format!("lay a {right} wire")).set(wire.at("colour"), right))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn plan(feed: &str, back: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\nblocks: {{hub: {{outputs: {{one: {{}}}}}}}}\nwires:\n  \
             main: {{from: battery.positive, to: hub.in, {feed}}}\n  one: {{from: hub.one, to: amp.power, {feed}}}\n  return: \
             {{from: amp.ground, to: grounds.floor, {back}}}\n"
        )
    }

    #[test]
    fn red_feeds_and_black_returns_pass_and_the_other_way_round_fails() {
        let right = plan("colour: red", "colour: black");
        let wrong = plan("colour: black", "colour: red");
        for wire in ["wires.main", "wires.one", "wires.return"] {
            assert_eq!(outcome(&right, "WIRE-13", wire), Outcome::Pass, "{wire}");
            assert_eq!(outcome(&wrong, "WIRE-13", wire), Outcome::Fail, "{wire}");
        }
    }

    #[test]
    fn brown_says_ground_and_other_colours_say_nothing() {
        let text = plan("colour: brown", "colour: brown");
        assert_eq!(outcome(&text, "WIRE-13", "wires.main"), Outcome::Fail);
        assert_eq!(outcome(&text, "WIRE-13", "wires.return"), Outcome::Pass);
        assert_eq!(outcome(&plan("colour: blue", "colour: grey"), "WIRE-13", "wires.main"), Outcome::Pass);
    }

    #[test]
    fn orange_is_kept_for_high_voltage() {
        let of = |vehicle: &str| {
            let text = plan("colour: orange", "colour: orange")
                .replace("amplifiers:", &format!("vehicle: {{{vehicle}}}\namplifiers:"));
            ["wires.main", "wires.return"].map(|wire| outcome(&text, "WIRE-13", wire))
        };
        assert_eq!(of("high_voltage: hybrid"), [Outcome::Fail; 2]);
        assert_eq!(of("high_voltage: electric"), [Outcome::Fail; 2]);
        assert_eq!(of("high_voltage: none"), [Outcome::Pass; 2]);
        assert_eq!(of(""), [Outcome::Pass; 2]);
    }

    #[test]
    fn no_colour_and_a_wire_that_leads_nowhere_are_not_judged() {
        assert_eq!(outcome(&plan("size: 4 AWG", "colour: black"), "WIRE-13", "wires.main"), Outcome::NotApplicable);
        let loose = "plan: 1\nwires: {main: {colour: red}}\n";
        assert_eq!(outcome(loose, "WIRE-13", "wires.main"), Outcome::NotApplicable);
    }
}
