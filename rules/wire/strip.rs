//! Insulation stripped too far or not far enough for the terminal.

use super::site::{WireEnd, each_end};
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::{End, EndKind};
use crate::quantity::{Length, Quantity};
use crate::solve::{Job, Origin, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-10",
    name: "strip-length",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("strip.md"),
    check: Subjects::Each(|job| each_end(job, check)),
    slips: &[super::Slip::Past("wires.*.ends.*.strip"), super::Slip::Past("amplifiers.*.terminals.strip")],
};

fn check(end: &WireEnd<'_, '_>, job: &Job<'_>) -> Judged {
    let kind = end.need("kind", |end: &End| end.kind)?;
    if !matches!(kind, EndKind::Ferrule | EndKind::Bare) {
        return Err(Undecided::NotApplicable("the barrel of the end piece sets how far to strip"));
    }
    let strip = end.need("strip", |end: &End| end.strip)?;
    let tolerance = job.house.limits.strip_tolerance;
    let (asked, origin) = asked(end, job)
        .ok_or(Undecided::NotApplicable("it is at no terminal of an amplifier, a block or a capacitor"))?;
    let off = strip.with_base((strip.base() - asked.base()).abs());
    Ok(at_most(off, tolerance.value)
        .formula("difference between the stripped length and what the terminal asks")
        .given(Input::stated("stripped", strip, end.at("strip")))
        .given(Input::from("terminal asks", asked, origin.clone()))
        .limit_from(tolerance.source)
        .verdict(|_| {
            let ask = strip.with_base(asked.base());
            let long = strip.base() > asked.base();
            let label = if long { "metal stands out of the terminal" } else { "the screw sits on insulation" };
            let finding = Finding::new(end.at("strip"), format!("stripped {strip} for a terminal that asks {ask}"))
                .label(label)
                .because(
                    "bare metal beside a terminal can touch the body; insulation under the screw keeps the metal apart",
                )
                .mend(format!("strip {ask}, {} either way", strip.with_base(tolerance.base())))
                .offer(Offer::new(format!("strip {ask}")).set(end.at("strip"), asked));
            match origin {
                Origin::Stated(place) => finding.also(place, format!("asks {ask}")),
                _ => finding,
            }
        }))
}

/// How far the terminal of an amplifier, a block or a capacitor asks to strip: what its maker says, or what the house takes. Other gear
/// has all kinds of terminals.
fn asked(end: &WireEnd<'_, '_>, job: &Job<'_>) -> Option<(Quantity<Length>, Origin)> {
    let of_amplifier = end.amplifier(job).map(|amplifier| {
        let strip = amplifier.terminals.as_ref().and_then(|terminals| terminals.strip);
        (strip, amplifier.at("terminals.strip"))
    });
    let of_block = || {
        let name = &end.terminal?.thing;
        let block = job.blocks.iter().find(|block| block.name == name)?;
        Some((block.strip, block.at("strip")))
    };
    let of_capacitor = || {
        let name = &end.terminal?.thing;
        Some((job.plan.capacitors.get(name)?.strip, Place::of(format!("capacitors.{name}.strip"))))
    };
    let (strip, place): (Option<Quantity<Length>>, Place) = of_amplifier.or_else(of_block).or_else(of_capacitor)?;
    let usual = job.house.limits.strip_length;
    Some(match strip {
        Some(strip) => (strip, Origin::Stated(place)),
        None => (usual.value, Origin::House(usual.name, usual.source)),
    })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    fn plan(end: &str, terminals: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{{terminals}}}}}\nblocks: {{hub: {{strip: 15 mm, outputs: {{one: {{}}}}}}}}\nwires:\n  \
             main: {{from: hub.one, to: amp.power, ends: {{from: {{kind: bare, strip: 15 mm}}, to: {{{end}}}}}}}\n"
        )
    }

    fn at(strip: &str, terminals: &str) -> Outcome {
        outcome(&plan(&format!("kind: ferrule, strip: {strip}"), terminals), "WIRE-10", "wires.main.ends.to")
    }

    #[test]
    fn two_millimetres_either_way_of_the_usual_length_pass() {
        assert_eq!(at("8 mm", ""), Outcome::Pass);
        assert_eq!(at("8.1 mm", ""), Outcome::Fail);
        assert_eq!(at("4 mm", ""), Outcome::Pass);
        assert_eq!(at("3.9 mm", ""), Outcome::Fail);
        assert_eq!(at("0.25 in", ""), Outcome::Pass);
    }

    #[test]
    fn what_the_terminal_asks_comes_first() {
        assert_eq!(at("12 mm", "terminals: {strip: 12 mm}"), Outcome::Pass);
        assert_eq!(at("6 mm", "terminals: {strip: 12 mm}"), Outcome::Fail);
        let text = plan("kind: ring", "");
        assert_eq!(outcome(&text, "WIRE-10", "wires.main.ends.from"), Outcome::Pass);
        assert_eq!(outcome(&text, "WIRE-10", "wires.main.ends.to"), Outcome::NotApplicable);
    }

    #[test]
    fn terminals_of_other_gear_ask_what_they_ask() {
        let text = "plan: 1\nisolators: {charger: {}}\nwires:\n  main: {from: battery.positive, to: charger.in, ends: {to: \
                    {kind: ferrule, strip: 10 mm}}}\n";
        assert_eq!(outcome(text, "WIRE-10", "wires.main.ends.to"), Outcome::NotApplicable);
    }

    #[test]
    fn a_length_that_is_not_stated_leaves_it_open() {
        let check = check(&plan("kind: bare", ""), "WIRE-10", "wires.main.ends.to");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "wires.main.ends.to.strip");
    }

    #[test]
    fn it_says_what_too_long_and_too_short_do_and_who_asks() {
        let of = |strip: &str| {
            let text = plan(&format!("kind: ferrule, strip: {strip}"), "terminals: {strip: 12 mm}");
            finding(&text, "WIRE-10", "wires.main.ends.to")
        };
        assert_eq!(of("20 mm").at.text, "metal stands out of the terminal");
        assert_eq!(of("6 mm").at.text, "the screw sits on insulation");
        assert_eq!(of("6 mm").also[0].place.path(), "amplifiers.amp.terminals.strip");
    }
}
