//! A battery of a stop-start vehicle cranks ten times as often as others are made for.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{BatteryKind, word};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-17",
    name: "stop-start-battery",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("stop_start.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Say("vehicle.stop_start", &["true"]), super::Slip::Say("vehicle.battery.kind", &["flooded"])],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let battery = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
    battery.map(|battery| (Place::of("vehicle.battery"), judge(battery.kind, job))).into_iter().collect()
}

fn judge(kind: Option<BatteryKind>, job: &Job<'_>) -> Judged {
    let stops = Place::of("vehicle.stop_start");
    let stated = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.stop_start);
    if stated == Some(false) {
        return Err(Undecided::NotApplicable("the engine does not stop by itself"));
    }
    let at = Place::of("vehicle.battery.kind");
    let suits = kind.map(|kind| !matches!(kind, BatteryKind::Flooded | BatteryKind::Gel));
    if suits == Some(true) {
        return Ok(Verdict::pass());
    }
    stated.ok_or_else(|| Undecided::need(stops.clone()))?;
    let kind = kind.ok_or_else(|| Undecided::need(at.clone()))?;
    let title = format!("{} battery in a stop-start vehicle; enhanced-flooded or agm is needed", word(&kind));
    Ok(Verdict::fail(
        Finding::new(at, title)
            .label("made for a start or two a drive")
            .also(stops, "stops at every halt")
            .because("every halt discharges it with all that plays, every restart cranks it: it is worn out in a year or two, and sags first")
            .mend("fit the enhanced-flooded or AGM battery that the vehicle's maker asks for, and tell the battery's monitor"),
    ))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(vehicle: &str, battery: &str) -> String {
        format!("plan: 1\nvehicle: {{voltage: 12 V{vehicle}, battery: {{{battery}}}}}\n")
    }

    /// EN 50342-6 names the two for stop-start: enhanced flooded and AGM (from memory).
    #[test]
    fn only_batteries_made_for_stop_start_serve_there() {
        let of =
            |kind: &str| outcome(&plan(", stop_start: true", &format!("kind: {kind}")), "SUPPLY-17", "vehicle.battery");
        for (kind, expected) in [
            ("flooded", Outcome::Fail),
            ("gel", Outcome::Fail),
            ("enhanced-flooded", Outcome::Pass),
            ("agm", Outcome::Pass),
            ("lithium-iron-phosphate", Outcome::Pass),
        ] {
            assert_eq!(of(kind), expected, "{kind}");
        }
        let never = plan(", stop_start: false", "kind: flooded");
        assert_eq!(outcome(&never, "SUPPLY-17", "vehicle.battery"), Outcome::NotApplicable);
    }

    #[test]
    fn what_is_not_stated_is_asked_for_where_it_decides() {
        let need = |vehicle: &str, battery: &str| {
            let open = check(&plan(vehicle, battery), "SUPPLY-17", "vehicle.battery");
            (open.outcome, open.needs[0].path())
        };
        assert_eq!(need("", "kind: flooded"), (Outcome::Open, "vehicle.stop_start".to_owned()));
        assert_eq!(need(", stop_start: true", ""), (Outcome::Open, "vehicle.battery.kind".to_owned()));
        assert_eq!(outcome(&plan("", "kind: agm"), "SUPPLY-17", "vehicle.battery"), Outcome::Pass, "whatever it does");
    }
}
