//! A vehicle with a traction battery: who makes it safe, and what its converter can give.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{HighVoltage, HighVoltageStep, Stage, word};
use crate::rules::step::high_voltage::{isolated_first, words};
use crate::rules::step::order::{half_said, is_work};
use crate::solve::{Decided, Job, Place, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-09",
    name: "high-voltage-vehicle",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("high_voltage.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Say("vehicle.high_voltage", &["hybrid"]), super::Slip::Drop("steps.*")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    vec![(fact(), judge(job))]
}

fn fact() -> Place {
    Place::of("vehicle.high_voltage")
}

fn judge(job: &Job<'_>) -> Judged {
    let vehicle = job.plan.vehicle.as_ref();
    let kind = match vehicle.and_then(|vehicle| vehicle.high_voltage) {
        Some(HighVoltage::None) => return Err(Undecided::NotApplicable("the vehicle has no high-voltage system")),
        None if job.wires.is_empty() => return Err(Undecided::NotApplicable("nothing is joined to the supply")),
        None => return Err(Undecided::need(fact())),
        Some(kind) => kind,
    };
    let isolated = isolated(job);
    if isolated == Ok(false) {
        return Ok(Verdict::fail(
            Finding::new(fact(), format!("{} vehicle, and no step isolates its {}", word(&kind), words(kind).system))
                .label(words(kind).volts)
                .because(words(kind).because)
                .mend(
                    "let a qualified person isolate it by the maker's procedure: the step \
                     `high_voltage: isolated-by-qualified-person`, before the first work",
                )
                .offer(isolated_first()),
        ));
    }
    let rated = vehicle.and_then(|vehicle| vehicle.alternator.as_ref()).and_then(|alternator| alternator.rated);
    let capacity = rated.ok_or_else(|| Undecided::need(Place::of("vehicle.alternator.rated")));
    all([isolated.map(|_| ()), capacity.map(|_| ())])?;
    Ok(Verdict::pass())
}

/// Whether isolation is planned, where STEP-05 does not judge that: it does once a step works on the vehicle.
fn isolated(job: &Job<'_>) -> Decided<bool> {
    let steps = &job.plan.steps;
    let isolates = steps.iter().any(|step| step.high_voltage == Some(HighVoltageStep::IsolatedByQualifiedPerson));
    if isolates || steps.iter().any(is_work) {
        return Ok(true);
    }
    if let Some(half) = half_said(steps) {
        return Err(Undecided::need(half));
    }
    // A draft may still lack its steps.
    if steps.is_empty() && job.plan.stage() == Stage::Draft {
        Err(Undecided::need(Place::of("steps")))
    } else {
        Ok(false)
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, judged, outcome};

    const CODE: &str = "SUPPLY-09";
    const AT: &str = "vehicle.high_voltage";

    fn plan(stage: &str, vehicle: &str, steps: &str) -> String {
        format!(
            "plan: 1\njob: {{stage: {stage}}}\nvehicle: {{{vehicle}}}\nwires: {{main: {{from: battery.positive}}}}\n\
             steps: [{steps}]\n"
        )
    }

    fn of(stage: &str, vehicle: &str, steps: &str) -> Outcome {
        outcome(&plan(stage, vehicle, steps), CODE, AT)
    }

    const KNOWN: &str = "alternator: {rated: 120 A}";
    const ISOLATE: &str = "{high_voltage: isolated-by-qualified-person}";

    #[test]
    fn isolation_is_planned_or_it_fails() {
        for kind in ["hybrid", "electric", "mild-hybrid"] {
            let vehicle = format!("high_voltage: {kind}, {KNOWN}");
            assert_eq!(of("planned", &vehicle, ""), Outcome::Fail, "{kind}");
            assert_eq!(of("planned", &vehicle, ISOLATE), Outcome::Pass, "{kind}");
            assert_eq!(of("draft", &vehicle, "{note: look}"), Outcome::Fail, "{kind}");
            assert_eq!(of("draft", &vehicle, ""), Outcome::Open, "{kind}");
            assert_eq!(of("planned", &vehicle, "{}"), Outcome::Open, "{kind}: a step that says nothing yet may be it");
        }
    }

    #[test]
    fn once_a_step_works_on_the_vehicle_the_other_rule_reports_it_alone() {
        for work in ["run: main", "mount: box"] {
            let text = plan("planned", &format!("high_voltage: hybrid, {KNOWN}"), &format!("{{{work}}}"));
            let found: Vec<&str> = judged(&text).failed().map(|check| check.rule.code).collect();
            assert!(found.contains(&"STEP-05") && !found.contains(&CODE), "{found:?}");
        }
    }

    #[test]
    fn a_converter_that_is_not_known_is_asked_for() {
        let open = check(&plan("planned", "high_voltage: electric", ISOLATE), CODE, AT);
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "vehicle.alternator.rated"));
        let both = check(&plan("draft", "high_voltage: electric", ""), CODE, AT);
        assert_eq!(both.needs.len(), 2);
    }

    #[test]
    fn other_vehicles_and_empty_plans_are_not_its_business() {
        assert_eq!(of("planned", "high_voltage: none", ""), Outcome::NotApplicable);
        assert_eq!(of("planned", KNOWN, ""), Outcome::Open);
        assert_eq!(outcome("plan: 1\n", CODE, AT), Outcome::NotApplicable);
    }
}
