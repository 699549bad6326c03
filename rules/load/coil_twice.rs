//! A coil has two ends; it can be in a load once.

use super::site;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Coils, Load};
use crate::solve::{Job, Thing, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-09",
    name: "coil-twice-or-shorted",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("coil_twice.md"),
    check: Subjects::Load(check),
    slips: &[super::Slip::Mistake("loads.*.coils.parallel|series.*")],
};

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    let tree = loads::tree(load)?;
    if let Some(path) = empty(tree, String::new()) {
        return Ok(Verdict::fail(
            Finding::new(load.at(format!("coils{path}")), "a branch without a coil")
                .label("no coil in here")
                .because("a branch without a coil is a plain wire, and an output across a plain wire is shorted")
                .mend("name the coils of this branch, or take it out")
                .offer(Offer::new("take the branch out").remove(load.at(format!("coils{path}")))),
        ));
    }
    let coils = tree.each();
    let same =
        |one: &crate::plan::Coil, other: &crate::plan::Coil| one.driver == other.driver && one.number == other.number;
    let mut before: Vec<_> = Vec::new();
    for other in job.loads.iter().take_while(|other| other.address != load.address) {
        if loads::same_outputs(load, other) {
            let theirs = other.plan().coils.iter().flat_map(|coils| coils.each());
            before.extend(theirs.map(|(path, coil)| (other.at(format!("coils{path}")), coil)));
        }
    }
    for (path, coil) in coils {
        let place = load.at(format!("coils{path}"));
        if let Some((first, _)) = before.iter().find(|(_, other)| same(other, coil)) {
            let once = Offer::new("name it once").remove(place.clone());
            let has = job.plan.drivers.get(&coil.driver).map_or(0, |driver| driver.coils.len());
            let every = || job.loads.iter().flat_map(|load| load.plan().coils.iter().flat_map(|coils| coils.each()));
            let is_free = |number: &u8| !every().any(|(_, used)| used.driver == coil.driver && used.number == *number);
            let free = (1..=u8::try_from(has).unwrap_or(u8::MAX)).find(is_free).map(|number| {
                let other = crate::plan::Coil { number, ..coil.clone() };
                Offer::new(format!("name {other} here")).set(place.clone(), other)
            });
            let finding = Finding::new(place, format!("coil `{}.{}` is used twice", coil.driver, coil.number))
                .label("again here")
                .also(first.clone(), "first here")
                .because("a coil has two ends; used twice it bridges another part of the load or shorts the output")
                .mend("name each coil once; the second coil of a driver is called NAME.2")
                .offers(free)
                .offer(once);
            return Ok(Verdict::fail(site::follows_overuse(finding, site::first_use(job, coil))));
        }
        before.push((place, coil));
    }
    Ok(Verdict::pass())
}

/// Path of a branch without coils.
fn empty(coils: &Coils, path: String) -> Option<String> {
    let (word, parts) = match coils {
        Coils::One(_) => return None,
        Coils::Series(parts) => ("series", parts),
        Coils::Parallel(parts) => ("parallel", parts),
    };
    if parts.is_empty() {
        return Some(path);
    }
    parts.iter().enumerate().find_map(|(index, part)| empty(part, format!("{path}.{word}.{index}")))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, outcome};

    fn of(loads: &str) -> Outcome {
        outcome(&format!("plan: 1\nloads:\n{loads}"), "LOAD-09", "loads.bass")
    }

    #[test]
    fn each_coil_once() {
        assert_eq!(of("  bass: {coils: {parallel: [a.1, a.2]}}\n"), Outcome::Pass);
        assert_eq!(of("  bass: {coils: {parallel: [a.1, -a.1]}}\n"), Outcome::Fail);
        assert_eq!(of("  bass: {coils: {series: [a, {parallel: [b, a.1]}]}}\n"), Outcome::Fail);
        assert_eq!(of("  bass: {}\n"), Outcome::Open);
    }

    #[test]
    fn also_in_two_loads_on_one_output() {
        let two = "  able: {amplifier: x, outputs: [1], coils: a}\n  bass: {amplifier: x, outputs: [1], coils: a.1}\n";
        assert_eq!(of(two), Outcome::Fail);
        assert_eq!(of(&two.replace("coils: a.1", "coils: a.2")), Outcome::Pass);
        let text = format!("plan: 1\nloads:\n{two}");
        let (code, subject) =
            check(&text, "LOAD-09", "loads.bass").finding.and_then(|it| it.follows).expect("it follows");
        assert_eq!(outcome(&text, code, &subject.path()), Outcome::Fail, "{code} tells of the second load");
    }

    #[test]
    fn a_branch_without_a_coil_is_a_short() {
        assert_eq!(of("  bass: {coils: {parallel: [a, {series: []}]}}\n"), Outcome::Fail);
    }

    /// Coil 2 of another driver is no reason why the second coil of this one should not be free.
    #[test]
    fn the_coil_of_the_driver_that_is_free_is_offered_first() {
        let text = "plan: 1\ndrivers: {a: {coils: [4 ohm, 4 ohm]}, b: {coils: [4 ohm, 4 ohm]}}\n\
                    loads: {bass: {coils: {parallel: [a.1, a.1]}}, other: {coils: b.2}}\n";
        assert_eq!(
            after(text, "LOAD-09", "loads.bass"),
            [text.replace("[a.1, a.1]", "[a.1, a.2]"), text.replace("[a.1, a.1]", "[a.1]")]
        );
        let none_free = text.replace("b.2", "a.2");
        assert_eq!(after(&none_free, "LOAD-09", "loads.bass"), [none_free.replace("[a.1, a.1]", "[a.1]")]);
    }

    #[test]
    fn it_follows_from_the_first_use_of_that_very_coil() {
        let text = "plan: 1\nloads:\n  a: {amplifier: x, outputs: [2], coils: {series: [b.1, a.2]}}\n  able: {amplifier: x, \
                    outputs: [1], coils: a.1}\n  bass: {amplifier: x, outputs: [1], coils: a.1}\n";
        let follows = check(text, "LOAD-09", "loads.bass").finding.and_then(|finding| finding.follows);
        assert_eq!(follows.map(|(code, place)| (code, place.path())), Some(("PLAN-04", "loads.able.coils".to_owned())));
    }
}
