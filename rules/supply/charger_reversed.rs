//! A charger between two batteries that stands the wrong way round.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Isolator, IsolatorKind, Terminal};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-24",
    name: "charger-reversed",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("charger_reversed.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Swap("wires.*.from|to", "in", "out")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let isolators = job.plan.isolators.iter();
    isolators.map(|(name, isolator)| (Place::of(format!("isolators.{name}")), judge(name, isolator, job))).collect()
}

fn judge(name: &str, isolator: &Isolator, job: &Job<'_>) -> Judged {
    let place = Place::of(format!("isolators.{name}"));
    let kind = isolator.kind.ok_or_else(|| Undecided::need(place.sub("kind")))?;
    if kind != IsolatorKind::Charger {
        return Err(Undecided::NotApplicable("it is no charger"));
    }
    let reversed = job.is_charger_reversed(name);
    if !reversed.ok_or(Undecided::NotApplicable("it does not stand between two batteries"))? {
        return Ok(Verdict::pass());
    }
    let ends = ends(name, job);
    let at = ends.iter().find(|(_, is)| *is == "in").map_or(place.sub("kind"), |(at, _)| at.clone());
    let other = ends.iter().find(|(_, is)| *is == "out").map(|(at, _)| at.clone());
    let finding = Finding::new(
        at,
        format!("`{name}` stands the wrong way round: it charges the starting battery out of the other one"),
    )
    .label("the alternator does not come to this side")
    .because(
        "a charger passes current from `in` to `out` alone: the added battery is never charged, and goes flat for good",
    )
    .mend(format!("what the alternator charges goes on `{name}.in`, the battery to be charged on `{name}.out`"));
    let finding = match other {
        Some(other) => finding.also(other, "the alternator's side"),
        None => finding,
    };
    let swap = ends.iter().fold(Offer::new("exchange the wires on its two sides"), |offer, (at, is)| {
        offer.set(at.clone(), format!("{name}.{}", if *is == "in" { "out" } else { "in" }))
    });
    Ok(Verdict::fail(finding.offer(swap)))
}

/// The wire ends on its two sides, each with the side.
fn ends(name: &str, job: &Job<'_>) -> Vec<(Place, &'static str)> {
    let sides = ["in", "out"];
    let side = |end: &Option<Terminal>| {
        let end = end.as_ref().filter(|end| end.thing == name)?;
        sides.into_iter().find(|side| end.terminal == *side)
    };
    let both = job
        .wires
        .iter()
        .flat_map(|wire| [("from", &wire.from), ("to", &wire.to)].map(|(key, end)| Some((wire.at(key), side(end)?))));
    both.flatten().collect()
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, finding, outcome};

    const CODE: &str = "SUPPLY-24";
    const SUBJECT: &str = "isolators.dcdc";

    fn plan(kind: &str, start: &str, house: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V}}\nbatteries: {{house: {{}}}}\nisolators: {{dcdc: {{kind: {kind}}}}}\n\
             wires:\n  charge: {{from: battery.positive, to: dcdc.{start}}}\n  link: {{from: dcdc.{house}, to: house.positive}}\n"
        )
    }

    #[test]
    fn the_alternator_comes_to_its_input() {
        assert_eq!(outcome(&plan("charger", "in", "out"), CODE, SUBJECT), Outcome::Pass);
        assert_eq!(outcome(&plan("charger", "out", "in"), CODE, SUBJECT), Outcome::Fail);
        assert_eq!(outcome(&plan("relay", "out", "in"), CODE, SUBJECT), Outcome::NotApplicable);
    }

    #[test]
    fn both_ends_are_pointed_at_and_exchanged() {
        let text = plan("charger", "out", "in");
        let found = finding(&text, CODE, SUBJECT);
        assert_eq!(found.at.place.path(), "wires.link.from");
        assert_eq!(found.also[0].place.path(), "wires.charge.to");
        let mended = after(&text, CODE, SUBJECT);
        assert_eq!(outcome(&mended[0], CODE, SUBJECT), Outcome::Pass, "{}", mended[0]);
    }

    /// A small charger that keeps the starting battery full out of one that another charger fills.
    #[test]
    fn one_that_keeps_the_starting_battery_full_stands_right() {
        let text = plan("charger", "out", "in").replace("isolators: {", "isolators: {main: {kind: charger}, ")
            + "  a: {from: battery.positive, to: main.in}\n  b: {from: main.out, to: house.positive}\n";
        assert_eq!(outcome(&text, CODE, SUBJECT), Outcome::Pass);
    }

    #[test]
    fn a_charger_that_leads_nowhere_is_not_judged() {
        let text = plan("charger", "out", "in").replace("to: house.positive", "to: nowhere.in");
        assert_eq!(outcome(&text, CODE, SUBJECT), Outcome::NotApplicable);
    }
}
