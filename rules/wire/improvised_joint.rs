//! Joints that are twisted and taped, or that pierce the insulation.

use super::site::{WireEnd, each_end};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{End, JointKind, word};
use crate::solve::Job;

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-08",
    name: "improvised-joint",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("improvised_joint.md"),
    check: Subjects::Each(|job| each_end(job, check)),
    slips: &[super::Slip::Say("wires.*.ends.*.made", &["twisted-and-taped", "pierced"])],
};

fn check(end: &WireEnd<'_, '_>, _: &Job<'_>) -> Judged {
    let made = end.need("made", |end: &End| end.made)?;
    Ok(Verdict::pass_if(!matches!(made, JointKind::TwistedAndTaped | JointKind::Pierced), || {
        let name = word(&made).replace('-', " ");
        Finding::new(end.at("made"), format!("{} of a supply conductor is {name}; crimped is needed", end.name()))
            .label(name)
            .because("a joint that only tape or a clip holds works loose, gets hot under load and lies bare when the tape goes")
            .mend("crimp an end piece or a butt connector of the wire's size with the tool made for it, and cover it")
            .offer(Offer::new("crimp it").set(end.at("made"), "crimped"))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(end: &str) -> String {
        format!("plan: 1\nwires: {{main: {{ends: {{from: {{{end}}}}}}}}}\n")
    }

    #[test]
    fn every_way_of_joining_is_judged() {
        for (made, expected) in [
            ("crimped", Outcome::Pass),
            ("crimped-and-soldered", Outcome::Pass),
            ("screwed", Outcome::Pass),
            ("twisted-and-taped", Outcome::Fail),
            ("pierced", Outcome::Fail),
        ] {
            assert_eq!(outcome(&plan(&format!("made: {made}")), "WIRE-08", "wires.main.ends.from"), expected, "{made}");
        }
    }

    #[test]
    fn an_end_that_does_not_say_is_open_by_itself() {
        let text = plan("made: crimped");
        let check = check(&text, "WIRE-08", "wires.main.ends.to");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "wires.main.ends.to.made");
    }
}
