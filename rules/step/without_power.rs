//! What is set or measured with the power off was not set and not measured.

use super::fuse_early::is_main_fuse;
use super::order::{later, place, puts_on, steps, takes_off, whole};
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Plan, Step, TestStep};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-08",
    name: "set-without-power",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("without_power.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Move("steps", "set"), super::Slip::Move("steps", "test: charging")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let steps = match steps(job) {
        Ok(steps) => steps,
        Err(undecided) => return vec![(whole(), Err(undecided))],
    };
    let powered = steps.iter().enumerate().filter(|(_, step)| needs_battery(step));
    let judged: Vec<_> = powered.map(|(at, step)| (place(at, step), Ok(judge(job.plan, steps, at)))).collect();
    if judged.is_empty() {
        return vec![(whole(), Err(Undecided::NotApplicable("no step sets or measures anything that needs power")))];
    }
    judged
}

/// Whether a step sets or measures something that is dead without the battery. The test at the end is STEP-07's.
fn needs_battery(step: &Step) -> bool {
    step.set.is_some() || matches!(step.test, Some(TestStep::KeyOff | TestStep::Charging))
}

fn judge(plan: &Plan, steps: &[Step], at: usize) -> Verdict {
    let finding = |title: String| {
        Finding::new(place(at, &steps[at]), title)
            .label("no power here")
            .because("a gain that is turned and a meter that is read without power show nothing, and the box is ticked")
            .mend("put this step after `battery: reconnect` and the main fuse")
            .offers(later("after the power is on", at, steps))
    };
    let what = match &steps[at].set {
        Some(name) => format!("`{name}` is set"),
        None => "a reading is taken".to_owned(),
    };
    let before = &steps[..at];
    if let Some(off) = before.iter().rposition(takes_off).filter(|off| !before[*off..].iter().any(puts_on)) {
        let finding = finding(format!("{what} while the battery is off"));
        return Verdict::fail(finding.also(place(off, &steps[off]), "it went off here"));
    }
    let fuse = steps[at..].iter().position(|step| is_main_fuse(plan, step)).map(|more| at + more);
    let fuse = fuse.filter(|_| steps[at].set.is_some() && !before.iter().any(|step| is_main_fuse(plan, step)));
    match fuse {
        Some(fuse) => {
            let finding = finding(format!("{what} while the main fuse is out"));
            Verdict::fail(finding.also(place(fuse, &steps[fuse]), "it goes in only here"))
        }
        None => Verdict::pass(),
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{finding, outcome};

    const HEAD: &str = "plan: 1\namplifiers: {amp: {}}\n\
        wires: {main: {from: battery.positive, to: amp.power, fuse: {rating: 60 A}}}\n";

    fn of(order: &str, at: &str) -> Outcome {
        outcome(&format!("{HEAD}steps: [{order}]\n"), "STEP-08", at)
    }

    #[test]
    fn a_gain_is_set_with_battery_and_fuse_in() {
        let right = "{battery: disconnect}, {run: main}, {battery: reconnect}, {fuse: main}, {set: amp}";
        assert_eq!(of(right, "steps.4.set"), Outcome::Pass);
        let off = "{battery: disconnect}, {run: main}, {set: amp}, {battery: reconnect}, {fuse: main}";
        assert_eq!(of(off, "steps.2.set"), Outcome::Fail);
        let fuse = "{battery: disconnect}, {run: main}, {battery: reconnect}, {set: amp}, {fuse: main}";
        assert_eq!(of(fuse, "steps.3.set"), Outcome::Fail);
        assert_eq!(of("{set: amp}", "steps.0.set"), Outcome::Pass);
    }

    #[test]
    fn key_off_current_may_be_read_before_the_work_and_after_it() {
        let order = "{test: key-off}, {battery: disconnect}, {test: key-off}, {battery: reconnect}, {test: charging}, {fuse: main}";
        for (at, expected) in [(0, Outcome::Pass), (2, Outcome::Fail), (4, Outcome::Pass)] {
            assert_eq!(of(order, &format!("steps.{at}.test")), expected, "{at}");
        }
        assert_eq!(of("{run: main}", "steps"), Outcome::NotApplicable);
    }

    #[test]
    fn the_step_that_would_have_given_power_is_shown() {
        let order =
            "{battery: disconnect}, {run: main}, {battery: reconnect}, {set: amp}, {connect: amp}, {fuse: main}";
        let finding = finding(&format!("{HEAD}steps: [{order}]\n"), "STEP-08", "steps.3.set");
        assert_eq!(finding.also[0].place.path(), "steps.5.fuse");
    }
}
