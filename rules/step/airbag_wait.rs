//! Airbag parts rest after the battery is off.

use super::order::{added, place, puts_on, steps, takes_off, whole};
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{AirbagStep, Step};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-04",
    name: "airbag-waiting-time",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("airbag_wait.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("steps.*.airbags", &["handle"]),
        super::Slip::Insert("steps", &["{airbags: handle}"]),
        super::Slip::Move("steps", "airbags"),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let steps = match steps(job) {
        Ok(steps) => steps,
        Err(undecided) => return vec![(whole(), Err(undecided))],
    };
    let handled = steps.iter().enumerate().filter(|(_, step)| step.airbags == Some(AirbagStep::Handle));
    let judged: Vec<_> = handled.map(|(at, step)| (place(at, step), Ok(judge(steps, at)))).collect();
    if judged.is_empty() {
        return vec![(whole(), Err(Undecided::NotApplicable("no step handles airbag parts")))];
    }
    judged
}

/// The battery is off, has not been put on again, and the wait came after it.
fn judge(steps: &[Step], handled: usize) -> Verdict {
    let before = &steps[..handled];
    let off = before.iter().rposition(takes_off);
    let off = off.filter(|off| !before[*off..].iter().any(puts_on));
    let waited = off.is_some_and(|off| before[off..].iter().any(|step| step.airbags == Some(AirbagStep::Wait)));
    Verdict::pass_if(waited, || {
        let title = if off.is_some() {
            "airbag parts handled without the maker's waiting time"
        } else {
            "airbag parts handled with the battery on"
        };
        Finding::new(place(handled, &steps[handled]), title)
            .label("handled here")
            .because("the airbag unit holds enough charge to fire for minutes after the battery is off")
            .mend("take the battery off, wait as long as the vehicle's maker says, and handle the parts after that")
            .offer(if off.is_some() {
                added("wait before", handled, "{airbags: wait}")
            } else {
                // Each comes before the one that was put in before it.
                added("battery off, then wait", handled, "{airbags: wait}")
                    .insert(Place::of(format!("steps.{handled}")), "{battery: disconnect}")
            })
    })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn told(steps: &str, at: usize) -> Outcome {
        outcome(&format!("plan: 1\nsteps: [{steps}]\n"), "STEP-04", &format!("steps.{at}.airbags"))
    }

    #[test]
    fn off_wait_handle_is_the_only_order() {
        assert_eq!(told("{battery: disconnect}, {airbags: wait}, {airbags: handle}", 2), Outcome::Pass);
        assert_eq!(told("{battery: disconnect}, {airbags: handle}, {airbags: wait}", 1), Outcome::Fail);
        assert_eq!(told("{airbags: wait}, {battery: disconnect}, {airbags: handle}", 2), Outcome::Fail);
        assert_eq!(told("{airbags: wait}, {airbags: handle}", 1), Outcome::Fail);
    }

    #[test]
    fn a_battery_that_is_back_on_starts_the_wait_anew() {
        let steps = "{battery: disconnect}, {airbags: wait}, {battery: reconnect}, {airbags: handle}";
        assert_eq!(told(steps, 3), Outcome::Fail);
    }

    #[test]
    fn who_touches_no_airbag_need_not_wait() {
        let text = "plan: 1\nsteps: [{battery: disconnect}]\n";
        assert_eq!(outcome(text, "STEP-04", "steps"), Outcome::NotApplicable);
    }
}
