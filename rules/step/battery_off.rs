//! The battery is off before anybody works on the supply.

use super::order::{added, half_said, is_power_work, place, steps, takes_off, whole};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-01",
    name: "work-before-battery-off",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("battery_off.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Move("steps", "battery: disconnect"),
        super::Slip::Move("steps", "run"),
        super::Slip::Move("steps", "connect"),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    vec![(whole(), judge(job))]
}

fn judge(job: &Job<'_>) -> Judged {
    let steps = steps(job)?;
    let work = steps.iter().position(|step| is_power_work(job.plan, step));
    let work = work.ok_or(Undecided::NotApplicable("no step works on the supply"))?;
    let off = steps.iter().position(takes_off);
    let is_off = off.is_some_and(|off| off < work);
    if let Some(half) = half_said(&steps[..work]).filter(|_| !is_off) {
        return Err(Undecided::need(half));
    }
    Ok(Verdict::pass_if(is_off, || {
        let finding = Finding::new(place(work, &steps[work]), "work on the supply before the battery is off")
            .label("the battery is still on here")
            .because("a spanner or a bare end that touches the body draws hundreds of amperes from a connected battery")
            .mend("take the battery's negative off before the first work on the supply");
        let finding = finding.offer(match off {
            Some(off) => Offer::new("battery off first").shift(Place::of(format!("steps.{off}")), work),
            None => added("battery off first", work, "{battery: disconnect}"),
        });
        match off {
            Some(off) => finding.also(place(off, &steps[off]), "it goes off only here"),
            None => finding,
        }
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    const HEAD: &str = "plan: 1\nvehicle: {high_voltage: none}\namplifiers: {amp: {}}\n\
        wires: {main: {from: battery.positive, to: amp.power, fuse: {rating: 60 A}}}\n";

    fn plan(steps: &str) -> String {
        format!("{HEAD}steps: [{steps}]\n")
    }

    #[test]
    fn a_step_before_the_work_that_says_nothing_yet_may_take_the_battery_off() {
        let open = check(&plan("{}, {run: main}"), "STEP-01", "steps");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "steps.0"));
        assert_eq!(outcome(&plan("{run: main}, {}"), "STEP-01", "steps"), Outcome::Fail);
    }

    #[test]
    fn the_battery_goes_off_first() {
        let good = plan("mount: amp, battery: disconnect, run: main".replace(", ", "}, {").as_str());
        let good = good.replace("[mount", "[{mount").replace("main]", "main}]");
        assert_eq!(outcome(&good, "STEP-01", "steps"), Outcome::Pass);
        for work in ["run: main", "ground: floor", "connect: amp", "fuse: main"] {
            let late = check(&plan(&format!("{{{work}}}, {{battery: disconnect}}")), "STEP-01", "steps");
            let key = work.split(':').next().expect("a key");
            assert_eq!(late.finding.expect("it fails").at.place.path(), format!("steps.0.{key}"));
            assert_eq!(outcome(&plan(&format!("{{{work}}}")), "STEP-01", "steps"), Outcome::Fail);
        }
    }

    #[test]
    fn where_no_step_is_stated_the_order_is_the_workshops_own() {
        assert_eq!(outcome(HEAD, "STEP-01", "steps"), Outcome::NotApplicable);
        assert_eq!(outcome(&plan("{mount: amp}"), "STEP-01", "steps"), Outcome::NotApplicable);
    }
}
