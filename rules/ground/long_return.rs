//! A return to the body is short.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::Wire;
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-02",
    name: "ground-return-long",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("long_return.md"),
    check: Subjects::Wire(check),
    slips: &[super::Slip::Past("wires.*.length")],
};

fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let of = super::site::returned_to(wire, job, |end| end.thing == "grounds");
    let of = of.ok_or(Undecided::NotApplicable("not a return to the body"))?;
    let length = wire.need("length", &wire.length)?;
    let limit = job.house.limits.return_length;
    Ok(at_most(length, limit.value)
        .formula("length of the return <= limit of the house")
        .given(Input::stated("length", length, wire.at("length")))
        .limit_from(limit.source)
        .verdict(|is| {
            let most = length.with_base(limit.value.base());
            Finding::new(wire.at("length"), format!("return of {} to the body, at most {}", is.result(), is.limit()))
                .label(format!("at most {most}"))
                .because(if of.is_heard {
                    "every added length of return adds drop and picks up noise that the amplifier takes for signal"
                } else {
                    "every added length of return adds drop and lifts the minus of what hangs on it above the body"
                })
                .mend(format!("find sound bare structure within {most} of the {}, or move it", of.noun))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(from: &str, to: &str, length: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nblocks: {{block: {{outputs: {{one: {{}}}}}}}}\ngrounds: {{floor: {{}}}}\n\
             capacitors: {{cap: {{}}}}\nwires: {{return: {{from: {from}, to: {to}, {length}}}}}\n"
        );
        outcome(&plan, "GROUND-02", "wires.return")
    }

    #[test]
    fn eighteen_inches_pass_and_a_little_more_fails() {
        assert_eq!(of("amp.ground", "grounds.floor", "length: 18 in"), Outcome::Pass);
        assert_eq!(of("amp.ground", "grounds.floor", "length: 18.1 in"), Outcome::Fail);
        assert_eq!(of("grounds.floor", "amp.ground", "length: 46 cm"), Outcome::Fail);
        assert_eq!(of("block.in", "grounds.floor", "length: 46 cm"), Outcome::Fail);
        assert_eq!(of("cap.ground", "grounds.floor", "length: 46 cm"), Outcome::Fail);
        assert_eq!(of("cap.power", "grounds.floor", "length: 46 cm"), Outcome::NotApplicable);
        assert_eq!(of("amp.ground", "grounds.floor", ""), Outcome::Open);
    }

    #[test]
    fn everything_is_said_in_the_unit_of_the_writer() {
        for (written, most) in [("24 in", "18 in"), ("60 cm", "45.7 cm"), ("2 ft", "1.5 ft")] {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\n\
                 wires: {{return: {{from: amp.ground, to: grounds.floor, length: {written}}}}}\n"
            );
            let check = crate::rules::trial::check(&text, "GROUND-02", "wires.return");
            let (finding, working) = (check.finding.expect("it fails"), check.working.expect("worked"));
            assert_eq!(finding.title, format!("return of {written} to the body, at most {most}"));
            assert!(finding.mend.contains(&format!("within {most} of")), "{}", finding.mend);
            assert_eq!((working.result.to_string(), working.limit.to_string()), (written.into(), most.into()));
        }
    }

    #[test]
    fn straps_and_feeds_are_no_returns() {
        assert_eq!(of("battery.negative", "grounds.floor", "length: 2 m"), Outcome::NotApplicable);
        assert_eq!(of("amp.ground", "battery.negative", "length: 2 m"), Outcome::NotApplicable);
        assert_eq!(of("battery.positive", "amp.power", "length: 5 m"), Outcome::NotApplicable);
    }

    #[test]
    fn a_return_starts_at_an_amplifiers_ground_terminal() {
        assert_eq!(of("amp.power", "grounds.floor", "length: 2 m"), Outcome::NotApplicable);
        assert_eq!(of("other.ground", "grounds.floor", "length: 2 m"), Outcome::NotApplicable);
        assert_eq!(of("battery.positive", "block.in", "length: 5 m"), Outcome::NotApplicable);
        assert_eq!(of("grounds.floor", "battery.negative", "length: 5 m"), Outcome::NotApplicable);
    }

    /// What has a ground terminal has a return; a charger brings no noise into the music.
    #[test]
    fn other_gear_comes_back_as_near() {
        let of = |kind: &str, length: &str| {
            let text = format!(
                "plan: 1\nsources: {{dsp: {{kind: processor}}}}\nconverters: {{loc: {{}}}}\ngrounds: {{floor: {{}}}}\n\
                 isolators: {{a: {{kind: charger}}, b: {{kind: step-down}}, c: {{kind: relay}}}}\n\
                 wires: {{return: {{from: {kind}.ground, to: grounds.floor, length: {length}}}}}\n"
            );
            crate::rules::trial::check(&text, "GROUND-02", "wires.return")
        };
        for (thing, noun) in
            [("dsp", "processor"), ("loc", "converter"), ("a", "charger"), ("b", "step-down converter")]
        {
            assert_eq!(of(thing, "45 cm").outcome, Outcome::Pass, "{thing}");
            let finding = of(thing, "60 cm").finding.expect("it fails");
            assert!(finding.mend.contains(&format!("of the {noun}, or move it")), "{}", finding.mend);
            assert_eq!(finding.why.contains("noise"), ["dsp", "loc"].contains(&thing), "{}", finding.why);
        }
        assert_eq!(of("c", "2 m").outcome, Outcome::NotApplicable);
    }
}
