//! What the vehicle forgets with its battery off is noted and given back.

use super::order::{added, later, place, puts_on, steps, takes_off, whole};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{BatteryStep, Monitor, RadioStep, SourceKind, Step};
use crate::solve::{Charged, Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-06",
    name: "memory-forgotten",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("memory.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Drop("steps.*"), super::Slip::Move("steps", "radio")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    vec![(whole(), radio(job)), (Place::of("vehicle.battery"), monitor(job))]
}

fn radio(job: &Job<'_>) -> Judged {
    let steps = steps(job)?;
    let off = steps.iter().position(takes_off).ok_or(Undecided::NotApplicable("the battery stays on"))?;
    let does = |step: &Step, what| step.radio == Some(what);
    let noted = steps.iter().position(|step| does(step, RadioStep::NoteCode));
    let restored = steps.iter().rposition(|step| does(step, RadioStep::RestoreCode));
    let factory = job.plan.sources.values().any(|source| source.kind == Some(SourceKind::Factory));
    if noted.is_none() && restored.is_none() && !factory {
        return Err(Undecided::NotApplicable("no factory radio is kept"));
    }
    let tell = |at: usize, title: &str| {
        Finding::new(place(at, &steps[at]), title)
            .because("a radio without its code stays locked, and a customer without stations comes back")
            .mend("note code, stations and clock before the battery goes off, and enter them when it is on again")
    };
    if noted.is_none_or(|noted| noted > off) {
        let finding = tell(off, "battery off before the radio's code and stations are noted");
        let noting = added("note code and stations first", off, "{radio: note-code}");
        let both = noting.clone().insert(after_on(steps, off, 1), "{radio: restore-code}");
        return Ok(Verdict::fail(finding.offer(noting).offer(both)));
    }
    let on = steps.iter().rposition(puts_on).unwrap_or(off);
    Ok(Verdict::pass_if(restored.is_some_and(|restored| restored > on), || {
        tell(on, "the radio's code and stations are not entered after the battery was off")
            .offer(Offer::new("enter code and stations after").insert(after_on(steps, off, 0), "{radio: restore-code}"))
    }))
}

/// The place of the step after the one that puts the battery on, so many steps later when others came in before it.
fn after_on(steps: &[Step], off: usize, more: usize) -> Place {
    let on = steps.iter().rposition(puts_on).unwrap_or(off);
    Place::of(format!("steps.{}", on + 1 + more))
}

fn monitor(job: &Job<'_>) -> Judged {
    let steps = steps(job)?;
    if job.plan.batteries.is_empty() {
        return Err(Undecided::NotApplicable("no battery is added"));
    }
    let fact = Place::of("vehicle.battery.monitor");
    let battery = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
    let monitor = battery.and_then(|battery| battery.monitor).ok_or_else(|| Undecided::need(fact.clone()))?;
    if monitor == Monitor::None {
        return Err(Undecided::NotApplicable("the vehicle has no battery monitor"));
    }
    if job.plan.batteries.keys().all(|name| job.charged(name, "positive") == Charged::ByCharger) {
        return Err(Undecided::NotApplicable(
            "a charger keeps the added battery apart, and the vehicle charges the old one as before",
        ));
    }
    let registered = steps.iter().rposition(|step| step.battery == Some(BatteryStep::RegisterMonitor));
    let on = steps.iter().rposition(puts_on);
    let tell = |place: Place, title: &str| {
        Finding::new(place, title)
            .because("a vehicle whose monitor knows nothing of the added battery charges for the old capacity")
            .mend("add `battery: register-monitor` as a step after the battery is on again")
    };
    Ok(match (registered, on) {
        (None, _) => Verdict::fail(
            tell(fact, "a battery is added and no step tells the battery monitor")
                .label("the monitor sits here")
                .offer(Offer::new("tell the monitor").insert(after_on(steps, 0, 0), "{battery: register-monitor}")),
        ),
        (Some(at), Some(on)) if at < on => Verdict::fail(
            tell(place(at, &steps[at]), "the battery monitor is told before the battery is on again")
                .also(place(on, &steps[on]), "it goes on here")
                .offers(later("tell the monitor later", at, steps)),
        ),
        _ => Verdict::pass(),
    })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(steps: &str) -> String {
        format!("plan: 1\nsources: {{radio: {{kind: factory}}}}\nsteps: [{steps}]\n")
    }

    #[test]
    fn noted_before_and_entered_after_passes() {
        let good = "{radio: note-code}, {battery: disconnect}, {battery: reconnect}, {radio: restore-code}";
        assert_eq!(outcome(&plan(good), "STEP-06", "steps"), Outcome::Pass);
    }

    #[test]
    fn forgotten_or_too_late_fails_where_it_goes_wrong() {
        for (steps, at) in [
            ("{battery: disconnect}, {battery: reconnect}", "steps.0.battery"),
            (
                "{battery: disconnect}, {radio: note-code}, {battery: reconnect}, {radio: restore-code}",
                "steps.0.battery",
            ),
            ("{radio: note-code}, {battery: disconnect}, {battery: reconnect}", "steps.2.battery"),
            (
                "{radio: note-code}, {battery: disconnect}, {radio: restore-code}, {battery: reconnect}",
                "steps.3.battery",
            ),
        ] {
            let finding = check(&plan(steps), "STEP-06", "steps").finding.expect("it fails");
            assert_eq!(finding.at.place.path(), at, "{steps}");
        }
    }

    #[test]
    fn an_added_battery_is_told_to_the_monitor() {
        let text = |monitor: &str, step: &str| {
            format!(
                "plan: 1\nvehicle: {{battery: {{{monitor}}}}}\nbatteries: {{rear: {{}}}}\nsteps: [{{battery: {step}}}]\n"
            )
        };
        let told = |monitor, step| outcome(&text(monitor, step), "STEP-06", "vehicle.battery");
        assert_eq!(told("monitor: negative-post", "register-monitor"), Outcome::Pass);
        assert_eq!(told("monitor: negative-post", "disconnect"), Outcome::Fail);
        assert_eq!(told("monitor: none", "disconnect"), Outcome::NotApplicable);
        assert_eq!(told("", "disconnect"), Outcome::Open);
        assert_eq!(told("monitor: negative-post", "register-monitor}, {battery: reconnect"), Outcome::Fail);
        assert_eq!(told("monitor: negative-post", "reconnect}, {battery: register-monitor"), Outcome::Pass);
    }

    #[test]
    fn a_battery_behind_a_charger_is_none_of_the_monitors_business() {
        let text = |kind: &str, more: &str| {
            format!(
                "plan: 1\nvehicle: {{battery: {{monitor: negative-post}}}}\nbatteries: {{rear: {{}}}}\nisolators: {{part: {{kind: {kind}}}}}\n\
                 wires: {{a: {{from: battery.positive, to: part.in}}, b: {{from: part.out, to: rear.positive}}{more}}}\n\
                 steps: [{{battery: disconnect}}]\n"
            )
        };
        let told = |kind, more| outcome(&text(kind, more), "STEP-06", "vehicle.battery");
        assert_eq!(told("charger", ""), Outcome::NotApplicable);
        assert_eq!(told("relay", ""), Outcome::Fail);
        assert_eq!(told("charger", ", c: {from: battery.positive, to: rear.positive}"), Outcome::Fail);
    }

    /// A code that is entered again was to be noted before, whatever radio it is.
    #[test]
    fn what_is_entered_has_to_be_noted_first() {
        let text =
            plan("{battery: disconnect}, {battery: reconnect}, {radio: restore-code}").replace("kind: factory", "");
        assert_eq!(outcome(&text, "STEP-06", "steps"), Outcome::Fail);
    }
}
