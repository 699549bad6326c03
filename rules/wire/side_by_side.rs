//! Runs side by side that are not alike share what flows unequally.

use std::collections::BTreeMap;

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::{Wire, word};
use crate::quantity::{Range, Resistance, Share, Temperature};
use crate::solve::graph::LinkKind;
use crate::solve::{Decided, Job, Origin, Place, Thing, all};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-17",
    name: "unequal-runs",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("side_by_side.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Past("wires.*.length"),
        super::Slip::Past("wires.*.size"),
        super::Slip::Together(&[
            super::Slip::Repeat("wires.*"),
            super::Slip::Say("wires.*.size", &["6 AWG", "8 AWG", "10 mm2", "16 mm2"]),
        ]),
        super::Slip::Together(&[
            super::Slip::Repeat("wires.*"),
            super::Slip::Say("wires.*.length", &["90 cm", "1.5 m", "2.5 m"]),
        ]),
    ],
};

/// The part of a run may be so much above an equal one: what differs by no more than a tenth counts as equal (IEC 60364-4-43,
/// annex A, from memory).
const MOST: f64 = 1.1;
/// The runs are compared at room temperature, in C: which one gets hotter follows from their parts.
const COLD: f64 = 20.0;

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    groups(job).into_iter().map(|runs| (runs[0].place(), judge(&runs, job))).collect()
}

/// The wires between the same two points, where there are several. The terminals of a block are one point.
fn groups<'j, 'a>(job: &'j Job<'a>) -> Vec<Vec<&'j Thing<'a, Wire>>> {
    let graph = job.graph();
    let point = |node: usize| {
        let joined = graph.joined(&[node], |kind| matches!(kind, LinkKind::Output(..)));
        joined.into_iter().next().unwrap_or(node)
    };
    let mut groups: BTreeMap<[usize; 2], Vec<&Thing<'_, Wire>>> = BTreeMap::new();
    for wire in &job.wires {
        let ends = [&wire.from, &wire.to].map(|end| end.as_ref().and_then(|end| graph.terminal(end)).map(point));
        if let [Some(one), Some(other)] = ends
            && one != other
        {
            groups.entry([one.min(other), one.max(other)]).or_default().push(wire);
        }
    }
    groups.into_values().filter(|runs| runs.len() > 1).collect()
}

fn judge(runs: &[&Thing<'_, Wire>], job: &Job<'_>) -> Judged {
    let ohms = all(runs.iter().map(|wire| ohms(wire, job)))?;
    let parts = parts(&ohms);
    let most = parts.iter().copied().reduce(Range::max).unwrap_or(Range::point(100.0));
    #[allow(clippy::cast_precision_loss, reason = "a handful of wires")]
    let equal = 100.0 / runs.len() as f64;
    let formula = "part of the run that resists least = its conductance / conductance of all <= 1.1 x an equal part";
    let given = runs.iter().zip(&ohms).map(|(wire, ohms)| Input::from("run", *ohms, Origin::Stated(wire.place())));
    Ok(at_most(most, Range::<Share>::point(equal * MOST))
        .formula(formula)
        .given_all(given)
        .limit_from("IEC 60364-4-43, annex A (from memory): what differs by no more than 10 % counts as equal")
        .verdict(|is| {
            // The run that resists least carries most, and the one that resists most has to become like it.
            let by = |one: &usize, other: &usize| parts[*one].high().total_cmp(&parts[*other].high());
            let strong = runs[(0..runs.len()).max_by(by).unwrap_or(0)];
            let weak = runs[(0..runs.len()).min_by(by).unwrap_or(0)];
            let key = differs(strong, weak);
            let finding = Finding::new(
                weak.at(key),
                format!(
                    "`{}` takes {} of what flows in {} side by side, {} is the most",
                    strong.name,
                    is.result(),
                    words::count(runs.len(), "run"),
                    is.limit()
                ),
            )
            .label(format!("{} here", said(weak, key)))
            .also(strong.at(key), said(strong, key))
            .because(
                "the run that resists least carries more than its part and gets hot, and where its fuse opens the others carry it all",
            )
            .mend("lay runs side by side of one size, one metal and one length, with like ends, or one thicker wire");
            finding.offers(like(weak, strong))
        }))
}

/// What a run resists without its joints.
fn ohms(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Decided<Range<Resistance>> {
    let size = wire.need("size", &wire.size).map(drop);
    let length = wire.need("length", &wire.length);
    all([size, length.clone().map(drop)])?;
    job.conductor_resistance(wire, length?.into(), Range::<Temperature>::point(COLD))
}

/// The part of each run, in per cent.
fn parts(ohms: &[Range<Resistance>]) -> Vec<Range<Share>> {
    let part = |at: usize| {
        let others = |end: fn(Range<Resistance>) -> f64| -> f64 {
            let others = ohms.iter().enumerate().filter(|(other, _)| *other != at);
            others.map(|(_, ohms)| 1.0 / end(*ohms)).sum()
        };
        let share = |own: f64, others: f64| 100.0 * own / (own + others);
        Range::new(share(1.0 / ohms[at].high(), others(Range::low)), share(1.0 / ohms[at].low(), others(Range::high)))
    };
    (0..ohms.len()).map(part).collect()
}

/// What makes the difference between two runs, the first of size, metal and length.
fn differs(one: &Wire, other: &Wire) -> &'static str {
    if one.size != other.size {
        "size"
    } else if one.conductor != other.conductor {
        "conductor"
    } else {
        "length"
    }
}

fn said(wire: &Wire, key: &str) -> String {
    let said = match key {
        "size" => wire.size.map(|size| size.to_string()),
        "conductor" => wire.conductor.map(|metal| word(&metal).replace('-', " ")),
        _ => wire.length.map(|length| length.to_string()),
    };
    said.unwrap_or_default()
}

/// The same wire for both, where they are not of one length already.
fn like(weak: &Thing<'_, Wire>, strong: &Wire) -> Option<Offer> {
    let size = strong.size.filter(|_| differs(strong, weak) != "length")?;
    let offer = Offer::new("lay the wire of the other").set(weak.at("size"), size);
    let metal = strong.conductor.map(|metal| word(&metal));
    Some(metal.into_iter().fold(offer, |offer, metal| offer.set(weak.at("conductor"), metal)))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, outcome};

    const CODE: &str = "WIRE-17";
    const AT: &str = "wires.a";

    fn plan(one: &str, other: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  a: {{from: battery.positive, to: amp.power, {one}}}\n  \
             b: {{from: amp.power, to: battery.positive, {other}}}\n"
        )
    }

    fn of(one: &str, other: &str) -> Outcome {
        outcome(&plan(one, other), CODE, AT)
    }

    /// Solid, so that what it resists is one number.
    const RUN: &str = "size: 4 AWG, conductor: copper, stranding: solid, length: 5 m";

    /// By hand: at one size and metal the parts are as the other's length, so 5 m beside 6.1 m carry 6.1 / 11.1 = 54.95 %, and
    /// beside 6.12 m 55.04 %. 4 AWG has 21.15 mm2 and 8 AWG 8.37 (ASTM B258): 21.15 / 29.52 = 71.65 %.
    #[test]
    fn a_tenth_above_an_equal_part_passes_and_a_little_more_fails() {
        let long = |length: &str| of(RUN, &RUN.replace("5 m", length));
        assert_eq!((of(RUN, RUN), long("6.1 m"), long("6.12 m")), (Outcome::Pass, Outcome::Pass, Outcome::Fail));
        let thin = finding(&plan(RUN, &RUN.replace("4 AWG", "8 AWG")), CODE, AT);
        assert_eq!(thin.title, "`a` takes 71.7 % of what flows in 2 runs side by side, 55 % is the most");
        assert_eq!((thin.at.place.path().as_str(), thin.at.text.as_str()), ("wires.b.size", "8 AWG here"));
        let long = finding(&plan(RUN, &RUN.replace("5 m", "8 m")), CODE, AT);
        assert_eq!(long.at.place.path(), "wires.b.length");
        let clad = finding(&plan(&RUN.replace("copper", "copper-clad-aluminium"), RUN), CODE, AT);
        assert_eq!(
            (clad.at.place.path().as_str(), clad.at.text.as_str()),
            ("wires.a.conductor", "copper clad aluminium here")
        );
    }

    /// Three of 1, 1 and 2 parts of resistance: 1 / (1 + 1 + 0.5) = 40 %, and 36.7 % is the most.
    #[test]
    fn of_three_runs_each_has_a_third() {
        let text = |third: &str| format!("{}  c: {{from: battery.positive, to: amp.power, {third}}}\n", plan(RUN, RUN));
        assert_eq!(outcome(&text(RUN), CODE, AT), Outcome::Pass);
        let title = finding(&text(&RUN.replace("5 m", "10 m")), CODE, AT).title;
        assert!(title.ends_with("takes 40 % of what flows in 3 runs side by side, 36.7 % is the most"), "{title}");
    }

    #[test]
    fn the_terminals_of_a_block_are_one_point_and_other_wires_lie_beside_nothing() {
        let text = |to: &str| {
            let thin = RUN.replace("4 AWG", "8 AWG");
            format!(
                "plan: 1\namplifiers: {{amp: {{}}, other: {{}}}}\nblocks: {{split: {{outputs: {{one: {{}}, two: {{}}}}}}}}\nwires:\n  \
                 a: {{from: split.one, to: amp.power, {RUN}}}\n  b: {{from: split.two, to: {to}.power, {thin}}}\n"
            )
        };
        assert_eq!(outcome(&text("amp"), CODE, AT), Outcome::Fail);
        let judged = crate::rules::trial::judged(&text("other"));
        assert!(!judged.checks.iter().any(|check| check.rule.code == CODE));
    }

    #[test]
    fn what_is_not_stated_leaves_it_open() {
        let need = |one: &str, other: &str| check(&plan(one, other), CODE, AT).needs[0].path();
        assert_eq!(need(RUN, "size: 4 AWG"), "wires.b.length");
        assert_eq!(need("length: 5 m", RUN), "wires.a.size");
        let metal = check(&plan(RUN, &RUN.replace("conductor: copper, ", "")), CODE, AT);
        assert_eq!((metal.outcome, metal.turns[0].place.path().as_str()), (Outcome::Open, "wires.b.conductor"));
    }

    #[test]
    fn the_wire_of_the_stronger_run_is_offered_for_both() {
        let text = plan(RUN, &RUN.replace("4 AWG, conductor: copper", "8 AWG, conductor: copper-clad-aluminium"));
        let mended = &after(&text, CODE, AT)[0];
        assert_eq!(mended.matches("size: 4 AWG, conductor: copper,").count(), 2, "{mended}");
        assert!(after(&plan(RUN, &RUN.replace("5 m", "8 m")), CODE, AT).is_empty(), "a length is no choice");
    }
}
