//! A capacitor that sits far from its amplifier.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::Wire;
use crate::quantity::{Length, Range};
use crate::solve::graph::LinkKind;
use crate::solve::{Job, Place, Thing, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-19",
    name: "capacitor-far",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("capacitor_far.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Past("wires.*.length")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let capacitors = job.plan.capacitors.keys();
    capacitors.map(|name| (Place::of(format!("capacitors.{name}")), judge(name, job))).collect()
}

fn judge(name: &str, job: &Job<'_>) -> Judged {
    let (amplifier, wires) = nearest(name, job).ok_or(Undecided::NotApplicable("no amplifier hangs on it"))?;
    let lengths = all(wires.iter().map(|wire| wire.need("length", &wire.length)))?;
    let longest = wires.iter().zip(&lengths).max_by(|one, other| one.1.base().total_cmp(&other.1.base()));
    let at = longest.map_or_else(|| Place::of(format!("capacitors.{name}")), |(wire, _)| wire.at("length"));
    let whole: Range<Length> = lengths.iter().map(|length| Range::from(*length)).sum();
    let limit = job.house.limits.capacitor_distance;
    let inputs = wires.iter().zip(&lengths).map(|(wire, length)| Input::stated("wire", *length, wire.at("length")));
    Ok(at_most(whole, limit.value)
        .formula("wire between the capacitor and the nearest amplifier <= the limit")
        .given_all(inputs)
        .limit_from(limit.source)
        .verdict(|is| {
            let title = format!("`{name}` sits {} of wire from `{amplifier}`, at most {}", is.result(), is.limit());
            Finding::new(at, title)
                .label("what the capacitor gives comes through this")
                .because("a pulse from the capacitor drops in its wires like one from the battery: beside the amplifier it helps, far from it little")
                .mend(format!("move the capacitor beside the amplifier, with wires of {} together at most", is.limit()))
        }))
}

/// The amplifier nearest to a capacitor's plus, with the wires between.
fn nearest<'j, 'a>(name: &str, job: &'j Job<'a>) -> Option<(&'j str, Vec<&'j Thing<'a, Wire>>)> {
    let graph = job.graph();
    let amplifiers: Vec<(&str, usize)> =
        job.amplifiers.iter().filter_map(|is| Some((is.name, graph.node(is.name, "power")?))).collect();
    let goals: Vec<usize> = amplifiers.iter().map(|(_, node)| *node).collect();
    // Past a post of a battery it is the battery that gives.
    let (found, way) =
        graph.nearest_past(graph.node(name, "power")?, &goals, &graph.positives(job), LinkKind::is_laid)?;
    let amplifier = amplifiers.into_iter().find(|(_, node)| *node == found)?.0;
    let wires = way.into_iter().filter_map(|link| match graph.links[link].kind {
        LinkKind::Wire(wire) => Some(&job.wires[wire]),
        _ => None,
    });
    Some((amplifier, wires.collect()))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    const CODE: &str = "SUPPLY-19";
    const SUBJECT: &str = "capacitors.cap";

    /// The amplifier behind a block, the capacitor on the block or on the way to the amplifier.
    fn plan(on: &str, branch: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\ncapacitors: {{cap: {{}}}}\nblocks: {{split: {{outputs: {{one: {{}}, two: \
             {{}}}}}}}}\nwires:\n  main: {{from: battery.positive, to: split.in, length: 4 m}}\n  on: {{from: split.one, to: \
             cap.power, {on}}}\n  branch: {{from: split.two, to: amp.power, {branch}}}\n"
        )
    }

    #[test]
    fn all_wire_between_capacitor_and_amplifier_counts() {
        let of = |on: &str, branch: &str| outcome(&plan(on, branch), CODE, SUBJECT);
        assert_eq!(of("length: 20 cm", "length: 30 cm"), Outcome::Pass);
        assert_eq!(of("length: 20 cm", "length: 31 cm"), Outcome::Fail);
        let told = finding(&plan("length: 20 cm", "length: 1.2 m"), CODE, SUBJECT);
        assert_eq!(told.at.place.path(), "wires.branch.length");
        assert_eq!(told.title, "`cap` sits 140 cm of wire from `amp`, at most 50 cm");
    }

    #[test]
    fn a_length_that_is_not_stated_is_asked_for() {
        let open = check(&plan("length: 20 cm", ""), CODE, SUBJECT);
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "wires.branch.length"));
    }

    /// From a capacitor beside the battery the way to the amplifier leads past its post.
    #[test]
    fn a_capacitor_that_feeds_no_amplifier_is_not_judged() {
        let own = "plan: 1\namplifiers: {amp: {}}\ncapacitors: {cap: {}}\nwires:\n  on: {from: battery.positive, to: \
                   cap.power}\n  main: {from: battery.positive, to: amp.power}\n";
        assert_eq!(outcome(own, CODE, SUBJECT), Outcome::NotApplicable);
    }
}
