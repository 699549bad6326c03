//! A driver with a coil left open gives half its force.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Coils, Driver, Load};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-05",
    name: "coil-left-open",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("coil_open.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Drop("loads.*.coils.parallel|series.*")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let judged = |(name, driver): (&String, &Driver)| (Place::of(format!("drivers.{name}")), of(name, driver, job));
    job.plan.drivers.iter().map(judged).collect()
}

fn of(name: &str, driver: &Driver, job: &Job<'_>) -> Judged {
    let loads = || job.loads.iter().flat_map(|load| load.plan().coils.iter().flat_map(Coils::coils));
    let used: Vec<u8> = loads().filter(|coil| coil.driver == name).map(|coil| coil.number).collect();
    if used.is_empty() {
        return Err(Undecided::NotApplicable("on no load (PLAN-02 reports that)"));
    }
    if driver.coils.is_empty() {
        return Err(Undecided::need(Place::of(format!("drivers.{name}.coils"))));
    }
    if driver.coils.len() == 1 {
        return Err(Undecided::NotApplicable("one coil only"));
    }
    if used.iter().any(|number| usize::from(*number) > driver.coils.len()) {
        return Err(Undecided::NotApplicable("a load names a coil that it does not have (PLAN-01 reports that)"));
    }
    let open = (0..driver.coils.len()).find(|index| !used.iter().any(|number| usize::from(*number) == index + 1));
    let Some(open) = open else { return Ok(Verdict::pass()) };
    let untold: Vec<Place> =
        job.loads.iter().filter(|load| load.coils.is_none()).map(|load| load.at("coils")).collect();
    if !untold.is_empty() {
        return Err(Undecided::Open(untold));
    }
    let number = open + 1;
    let place = Place::of(format!("drivers.{name}.coils.{open}"));
    let finding = Finding::new(place, format!("coil {number} of `{name}` is on no load"))
        .label("left open")
        .because("the driver gives less force and takes less power, and its figures for the box no longer hold")
        .mend(format!("join `{name}.{number}` with the others, in series or in parallel"));
    // A branch of its load without a coil is where this one was meant to be.
    let on_it =
        |load: &&Thing<'_, Load>| load.plan().coils.iter().flat_map(Coils::coils).any(|coil| coil.driver == name);
    let mut loads = job.loads.iter().filter(on_it);
    Ok(Verdict::fail(match loads.next() {
        Some(load) => {
            let tree = load.coils.as_ref().map(ToString::to_string).unwrap_or_default();
            let joined = |word: &str| {
                let whole = format!("{{{word}: [{tree}, {name}.{number}]}}");
                Offer::new(format!("join it in {word}")).set(load.at("coils"), whole)
            };
            finding.follows("LOAD-09", load.place()).offers(["series", "parallel"].map(joined))
        }
        None => finding,
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, outcome};

    fn of(coils: &str, loads: &str) -> Outcome {
        let plan = format!("plan: 1\ndrivers: {{sub: {{{coils}}}}}\nloads:\n{loads}");
        outcome(&plan, "LOAD-05", "drivers.sub")
    }

    #[test]
    fn every_coil_must_be_on_some_load() {
        let two = "coils: [4 ohm, 4 ohm]";
        assert_eq!(of(two, "  a: {coils: {series: [sub.1, sub.2]}}\n"), Outcome::Pass);
        assert_eq!(of(two, "  a: {coils: sub.1}\n  b: {coils: sub.2}\n"), Outcome::Pass);
        assert_eq!(of(two, "  a: {coils: sub.2}\n"), Outcome::Fail);
        assert_eq!(of(two, "  a: {coils: sub.1}\n  b: {}\n"), Outcome::Open);
        assert_eq!(of("", "  a: {coils: sub.1}\n"), Outcome::Open);
        assert_eq!(of(two, "  a: {coils: {series: [sub.1, sub.3]}}\n"), Outcome::NotApplicable);
        assert_eq!(of("coils: [4 ohm]", "  a: {coils: sub.1}\n"), Outcome::NotApplicable);
    }

    #[test]
    fn a_branch_without_a_coil_says_it_all() {
        let text = "plan: 1\ndrivers: {sub: {coils: [4 ohm, 4 ohm]}}\nloads: {a: {coils: {parallel: [sub.1, {series: []}]}}}\n";
        assert_eq!(check(text, "LOAD-05", "drivers.sub").follows.map(|(code, _)| code), Some("LOAD-09"));
    }

    #[test]
    fn the_open_coil_is_named_and_offered_joined_with_the_other() {
        for (used, open) in [(1, 2), (2, 1)] {
            let text =
                format!("plan: 1\ndrivers: {{sub: {{coils: [4 ohm, 4 ohm]}}}}\nloads: {{a: {{coils: sub.{used}}}}}\n");
            let finding = finding(&text, "LOAD-05", "drivers.sub");
            assert_eq!(finding.at.place.path(), format!("drivers.sub.coils.{}", open - 1));
            assert_eq!(finding.mend, format!("join `sub.{open}` with the others, in series or in parallel"));
            for joined in after(&text, "LOAD-05", "drivers.sub") {
                assert_eq!(outcome(&joined, "LOAD-05", "drivers.sub"), Outcome::Pass, "{joined}");
            }
        }
    }
}
