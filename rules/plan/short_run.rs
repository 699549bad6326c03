//! A run that is shorter than its way does not reach.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_least};
use crate::plan::ZoneKind;
use crate::rules::route::ways::{self, Way};
use crate::solve::{Job, Origin, Place, Undecided};

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
    let mut ways = ways::wires(job);
    ways.extend(ways::signals(job));
    ways.into_iter().map(|way| (way.subject.clone(), judge(&way, job))).collect()
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
            let longer = length.with_base(crate::quantity::text::rounded_up(is.limit().high));
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
    use crate::rules::trial::{check, outcome};

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
}
