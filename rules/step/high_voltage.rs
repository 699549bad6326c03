//! A vehicle with a battery of 48 V or several hundred volts is made safe before anybody works on it.

use super::order::{added, is_hands_on, is_work, later, place, steps, whole};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{HighVoltage, HighVoltageStep, Step};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-05",
    name: "high-voltage-isolation",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("high_voltage.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Drop("steps.*"), super::Slip::Move("steps", "high_voltage")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    vec![(whole(), judge(job))]
}

fn judge(job: &Job<'_>) -> Judged {
    let steps = steps(job)?;
    if !steps.iter().any(is_work) {
        return Err(Undecided::NotApplicable("no step works on the vehicle"));
    }
    let fact = Place::of("vehicle.high_voltage");
    let stated = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.high_voltage);
    let kind = stated.ok_or_else(|| Undecided::need(fact.clone()))?;
    if kind == HighVoltage::None {
        return Err(Undecided::NotApplicable("the vehicle has no high-voltage system"));
    }
    let Some(live) = live_work(steps) else { return Ok(Verdict::pass()) };
    let work = place(live.work, &steps[live.work]);
    let Words { volts, vehicle, system, because } = words(kind);
    let finding = match live.restored {
        None => Finding::new(fact, format!("{vehicle} without a step that isolates it before the work"))
            .label(volts)
            .also(work, "the work begins here")
            .mend("let a qualified person isolate it by the maker's procedure, as a step before the first work")
            .offer(isolated_first()),
        Some(at) => Finding::new(place(at, &steps[at]), format!("{system} back before the work is done"))
            .label(format!("{volts} from here on"))
            .also(work, "this is worked on later")
            .mend("let the qualified person restore it after the last lead, ground, mount and connection")
            .offers(later("high voltage back later", at, steps)),
    };
    Ok(Verdict::fail(finding.because(because)))
}

/// What to say of a kind of vehicle.
pub struct Words {
    /// How many volts.
    pub volts: &'static str,
    /// The vehicle.
    pub vehicle: &'static str,
    /// What is live in it.
    pub system: &'static str,
    /// What can happen.
    pub because: &'static str,
}

/// What to say of a vehicle with a second battery of this kind.
pub const fn words(kind: HighVoltage) -> Words {
    match kind {
        HighVoltage::MildHybrid => Words {
            volts: "48 V",
            vehicle: "48 V vehicle",
            system: "48 V",
            because: "taking the 12 V negative off leaves the 48 V live, and a slip with a tool there draws an arc that goes on burning",
        },
        _ => Words {
            volts: "several hundred volts",
            vehicle: "high-voltage vehicle",
            system: "high voltage",
            because: "several hundred volts kill at a touch, and nobody sees which cable under a trim carries them",
        },
    }
}

/// A qualified person isolates the vehicle before anything else is done.
pub fn isolated_first() -> Offer {
    added("isolated by a qualified person first", 0, "{high_voltage: isolated-by-qualified-person}")
}

/// Work that is done with the high voltage on.
struct LiveWork {
    /// The step.
    work: usize,
    /// The step that brought the high voltage back before, if it was off before.
    restored: Option<usize>,
}

/// The first work with the high voltage on. A fuse may go in when it is back: nobody needs to reach behind a trim for it.
fn live_work(steps: &[Step]) -> Option<LiveWork> {
    let (mut isolated, mut restored) = (false, None);
    for (at, step) in steps.iter().enumerate() {
        match step.high_voltage {
            Some(HighVoltageStep::IsolatedByQualifiedPerson) => isolated = true,
            Some(HighVoltageStep::RestoredByQualifiedPerson) if isolated => (isolated, restored) = (false, Some(at)),
            _ => {}
        }
        if !isolated && (is_hands_on(step) || (is_work(step) && restored.is_none())) {
            return Some(LiveWork { work: at, restored });
        }
    }
    None
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
        for kind in ["high_voltage: hybrid", "high_voltage: electric", "high_voltage: mild-hybrid"] {
            let good = plan(kind, &format!("{isolate}, {{ground: floor}}"));
            assert_eq!(outcome(&good, "STEP-05", "steps"), Outcome::Pass);
            let late = plan(kind, &format!("{{ground: floor}}, {isolate}"));
            assert_eq!(outcome(&late, "STEP-05", "steps"), Outcome::Fail);
            assert_eq!(outcome(&plan(kind, "{ground: floor}"), "STEP-05", "steps"), Outcome::Fail);
        }
    }

    /// 48 V lie under the 60 V direct voltage of UN Regulation 100 (from memory): no shock to dry hands, but an arc and burns.
    #[test]
    fn a_mild_hybrid_is_told_what_its_48_volt_do() {
        let text = plan("high_voltage: mild-hybrid", "{battery: disconnect}, {ground: floor}");
        let finding = check(&text, "STEP-05", "steps").finding.expect("it fails");
        assert_eq!(finding.title, "48 V vehicle without a step that isolates it before the work");
        assert!(finding.why.contains("arc") && !finding.why.contains("kill"), "{}", finding.why);
    }

    #[test]
    fn restoring_it_is_not_isolating_it() {
        let text = plan("high_voltage: hybrid", "{high_voltage: restored-by-qualified-person}, {ground: floor}");
        assert_eq!(outcome(&text, "STEP-05", "steps"), Outcome::Fail);
    }

    #[test]
    fn every_work_wants_it_off_and_the_main_fuse_goes_in_when_it_is_back() {
        let of = |steps: &str| outcome(&plan("high_voltage: hybrid", steps), "STEP-05", "steps");
        let (off, on) =
            ("{high_voltage: isolated-by-qualified-person}", "{high_voltage: restored-by-qualified-person}");
        for work in ["run: left", "mount: box", "ground: floor", "airbags: handle"] {
            assert_eq!(of(&format!("{{{work}}}, {off}, {{ground: rear}}")), Outcome::Fail, "{work}");
            assert_eq!(of(&format!("{off}, {{{work}}}, {on}, {{fuse: main}}")), Outcome::Pass, "{work}");
            assert_eq!(of(&format!("{off}, {on}, {{{work}}}")), Outcome::Fail, "{work}");
        }
        assert_eq!(of(&format!("{off}, {{run: left}}, {on}, {off}, {{ground: floor}}, {on}")), Outcome::Pass);
        let late = check(&plan("high_voltage: hybrid", &format!("{off}, {on}, {{mount: box}}")), "STEP-05", "steps");
        assert_eq!(late.finding.expect("it fails").at.place.path(), "steps.1.high_voltage");
        assert_eq!(of("{fuse: main}"), Outcome::Fail);
        assert_eq!(of("{radio: note-code}"), Outcome::NotApplicable);
    }

    #[test]
    fn a_vehicle_that_does_not_say_leaves_it_open() {
        let check = check(&plan("", "{ground: floor}"), "STEP-05", "steps");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "vehicle.high_voltage"));
        assert_eq!(outcome(&plan("high_voltage: none", "{ground: floor}"), "STEP-05", "steps"), Outcome::NotApplicable);
    }

    #[test]
    fn what_nobody_isolated_is_not_brought_back_for_the_fuse() {
        let text = plan("high_voltage: hybrid", "{high_voltage: restored-by-qualified-person}, {fuse: main}");
        assert_eq!(outcome(&text, "STEP-05", "steps"), Outcome::Fail);
    }
}
