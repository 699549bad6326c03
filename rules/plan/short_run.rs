//! A run that is shorter than its way does not reach.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::{Wire, ZoneKind};
use crate::rules::route::ways::{self, Way};
use crate::solve::{Job, Origin, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PLAN-08",
    name: "run-shorter-than-way",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("short_run.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Past("wires.*.length"), super::Slip::Past("signals.*.lead.length")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let short = job.wires.iter().map(beside_its_fuse).chain(std::iter::repeat_with(|| None));
    let mut ways = ways::wires(job);
    ways.extend(ways::signals(job));
    ways.extend(ways::loads(job));
    let judged =
        |way: &Way<'_>, short: Option<Finding>| short.map_or_else(|| judge(way, job), |told| Ok(Verdict::fail(told)));
    ways.into_iter().zip(short).map(|(way, short)| (way.subject.clone(), judged(&way, short))).collect()
}

/// A wire that ends before it comes to its own fuses, counted from both ends.
fn beside_its_fuse(wire: &Thing<'_, Wire>) -> Option<Finding> {
    let fuses = [("fuse", &wire.plan().fuse), ("far_fuse", &wire.plan().far_fuse)];
    let stated = fuses.iter().filter_map(|(key, fuse)| Some((*key, fuse.as_ref()?.distance?)));
    let before = stated.clone().map(|(_, distance)| distance.base()).sum::<f64>();
    let length = wire.length.filter(|length| length.base() < before * (1.0 - 1e-9))?;
    let (key, distance) = stated.max_by(|one, other| one.1.base().total_cmp(&other.1.base()))?;
    let shown = length.with_base(before);
    Some(
        Finding::new(wire.at("length"), format!("{length} of wire, and {shown} of it lie before its fuses"))
            .label("the wire ends before its fuse")
            .also(Place::of(format!("{}.{key}.distance", wire.address)), format!("the fuse sits {distance} along it"))
            .because("drop, heat and the order for the shop are worked out from this length")
            .mend(
                "state the length of the whole wire, with the stretch before its fuse, or how far the fuse really is",
            ),
    )
}

fn judge(way: &Way<'_>, job: &Job<'_>) -> Judged {
    let along = job.way_length(way.path)?;
    way.known()?;
    if way.path.iter().filter(|zone| zone.kind() == ZoneKind::Space).count() < 3 {
        return Err(Undecided::NotApplicable("no place lies between its ends, and of those it may use only a part"));
    }
    if along.stretches == 0 {
        return Err(Undecided::NotApplicable("no place on its path was measured"));
    }
    let length = way.length.ok_or_else(|| Undecided::need(way.at("length")))?;
    Ok(at_least(length, along.measured)
        .formula("length >= the way through the measured places on its path")
        .given(Input::stated("length", length, way.at("length")))
        .given(Input::from("way", along.measured, Origin::Computed("distances of the places on its path, added")))
        .limit_from("the vehicle's own distances")
        .verdict(|is| {
            let longer = length.with_base(is.limit().high).rounded_up();
            Finding::new(way.at("length"), format!("{} for a way of {}", is.result(), is.limit()))
                .label("it does not reach")
                .also(way.at("path"), format!("{} along here", is.limit()))
                .because("a run that does not reach is pulled tight over edges, or pieced together with a joint")
                .mend(format!("plan at least {} and what the bends and ends need", is.limit()))
                .offer(Offer::new("order more").set(way.at("length"), longer))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    const ALL: &str = "distances: {engine-bay: 1.2 m, right-sill: 2.4 m, cargo: 0.8 m}";

    fn plan(distances: &str, facts: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{{distances}}}\nwires: {{main: {{{facts}}}}}\nsignals: {{left: {{lead: {{{facts}}}}}}}\n"
        )
    }

    fn of(distances: &str, length: &str) -> Outcome {
        let path = "path: [engine-bay, firewall, right-sill, cargo]";
        outcome(&plan(distances, &format!("{length}{path}")), "PLAN-08", "wires.main")
    }

    #[test]
    fn as_long_as_the_way_passes_and_a_centimetre_less_fails() {
        assert_eq!(of(ALL, "length: 4.4 m, "), Outcome::Pass);
        assert_eq!(of(ALL, "length: 4.39 m, "), Outcome::Fail);
        let signal = plan(ALL, "length: 4.39 m, path: [engine-bay, firewall, right-sill, cargo]");
        assert_eq!(outcome(&signal, "PLAN-08", "signals.left"), Outcome::Fail);
    }

    #[test]
    fn what_was_measured_counts_and_the_rest_does_not() {
        let some = "distances: {right-sill: 2.4 m}";
        assert_eq!(of(some, "length: 2.4 m, "), Outcome::Pass);
        assert_eq!(of(some, "length: 2.39 m, "), Outcome::Fail);
        assert_eq!(of("distances: {left-sill: 2.4 m}", "length: 1 m, "), Outcome::NotApplicable);
        assert_eq!(of("", "length: 1 m, "), Outcome::NotApplicable);
    }

    #[test]
    fn a_run_from_one_place_into_the_next_may_use_a_part_of_both() {
        for path in ["cargo", "right-sill, cargo", "engine-bay, firewall, cargo"] {
            let text = plan(ALL, &format!("length: 40 cm, path: [{path}]"));
            assert_eq!(outcome(&text, "PLAN-08", "wires.main"), Outcome::NotApplicable, "{path}");
        }
    }

    #[test]
    fn a_length_or_a_path_that_is_not_stated_leaves_it_open() {
        assert_eq!(of(ALL, ""), Outcome::Open);
        let check = check(&plan(ALL, "length: 4 m"), "PLAN-08", "signals.left");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "signals.left.lead.path"));
    }

    #[test]
    fn a_wire_reaches_its_own_fuses() {
        let plan = |facts: &str| format!("plan: 1\nwires: {{main: {{{facts}}}}}\n");
        let of = |facts: &str| outcome(&plan(facts), "PLAN-08", "wires.main");
        assert_eq!(of("length: 45 cm, fuse: {distance: 45 cm}"), Outcome::NotApplicable);
        assert_eq!(of("length: 44 cm, fuse: {distance: 45 cm}"), Outcome::Fail);
        assert_eq!(of("length: 44 cm, fuse: {distance: 20 cm}, far_fuse: {distance: 25 cm}"), Outcome::Fail);
        let told = finding(&plan("length: 30 cm, fuse: {distance: 45 cm}"), "PLAN-08", "wires.main");
        assert_eq!(told.title, "30 cm of wire, and 45 cm of it lie before its fuses");
    }
}
