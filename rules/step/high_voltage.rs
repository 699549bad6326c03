//! A high-voltage vehicle is made safe before anybody works on it.

use super::order::{is_power_work, place, steps, whole};
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{HighVoltage, HighVoltageStep};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-05",
    name: "high-voltage-isolation",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("high_voltage.md"),
    check: Subjects::Each(check),
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    vec![(whole(), judge(job))]
}

fn judge(job: &Job<'_>) -> Judged {
    let steps = steps(job)?;
    let work = steps.iter().position(|step| is_power_work(job.plan, step));
    let work = work.ok_or(Undecided::NotApplicable("no step works on the supply"))?;
    let fact = Place::of("vehicle.high_voltage");
    let stated = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.high_voltage);
    let kind = stated.ok_or_else(|| Undecided::need(fact.clone()))?;
    if kind == HighVoltage::None {
        return Err(Undecided::NotApplicable("the vehicle has no high-voltage system"));
    }
    let is_isolation = |step: &crate::plan::Step| step.high_voltage == Some(HighVoltageStep::IsolatedByQualifiedPerson);
    Ok(Verdict::pass_if(steps[..work].iter().any(is_isolation), || {
        Finding::new(fact, "high-voltage vehicle without a step that isolates it before the work")
            .label("several hundred volts")
            .also(place(work, &steps[work]), "the work begins here")
            .because("several hundred volts kill at a touch, and nobody sees which cable under a trim carries them")
            .mend("let a qualified person isolate it by the maker's procedure, as a step before the first work")
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(vehicle: &str, steps: &str) -> String {
        format!("plan: 1\nvehicle: {{{vehicle}}}\nsteps: [{steps}]\n")
    }

    #[test]
    fn isolation_comes_before_the_first_work() {
        let isolate = "{high_voltage: isolated-by-qualified-person}";
        for kind in ["high_voltage: hybrid", "high_voltage: electric"] {
            let good = plan(kind, &format!("{isolate}, {{ground: floor}}"));
            assert_eq!(outcome(&good, "STEP-05", "steps"), Outcome::Pass);
            let late = plan(kind, &format!("{{ground: floor}}, {isolate}"));
            assert_eq!(outcome(&late, "STEP-05", "steps"), Outcome::Fail);
            assert_eq!(outcome(&plan(kind, "{ground: floor}"), "STEP-05", "steps"), Outcome::Fail);
        }
    }

    #[test]
    fn restoring_it_is_not_isolating_it() {
        let text = plan("high_voltage: hybrid", "{high_voltage: restored-by-qualified-person}, {ground: floor}");
        assert_eq!(outcome(&text, "STEP-05", "steps"), Outcome::Fail);
    }

    #[test]
    fn a_vehicle_that_does_not_say_leaves_it_open() {
        let check = check(&plan("", "{ground: floor}"), "STEP-05", "steps");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "vehicle.high_voltage"));
        assert_eq!(outcome(&plan("high_voltage: none", "{ground: floor}"), "STEP-05", "steps"), Outcome::NotApplicable);
    }
}
