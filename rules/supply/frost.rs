//! A lithium battery that is charged below freezing is ruined.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Battery, BatteryKind};
use crate::solve::{Charged, Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-25",
    name: "charged-in-frost",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("frost.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Say("batteries.*.cold_cut_off", &["false"])],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let starting = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
    let starting = starting.map(|battery| (Thing::new("vehicle", "battery", battery), Charged::Directly));
    let added = job
        .plan
        .batteries
        .iter()
        .map(|(name, battery)| (Thing::new("batteries", name, battery), job.charged(name, "positive")));
    starting
        .into_iter()
        .chain(added)
        .map(|(battery, charged)| (battery.place(), judge(&battery, charged, job)))
        .collect()
}

fn judge(battery: &Thing<'_, Battery>, charged: Charged, job: &Job<'_>) -> Judged {
    let (chargers, _) = job.chargers_of(battery.name);
    if charged == Charged::Not && chargers.is_empty() {
        return Err(Undecided::NotApplicable("nothing in the plan charges it"));
    }
    if battery.need("kind", &battery.kind)? != BatteryKind::LithiumIronPhosphate {
        return Err(Undecided::NotApplicable("it is no lithium battery"));
    }
    if battery.cold_cut_off == Some(true) {
        return Ok(Verdict::pass());
    }
    let own = battery.at("cold_cut_off");
    // A charger's sensor helps where nothing else charges.
    let by_chargers = charged != Charged::Directly && !chargers.is_empty();
    let stops: Vec<(Place, Option<bool>)> = if by_chargers {
        chargers.iter().map(|charger| (charger.is.at("cold_cut_off"), charger.is.cold_cut_off)).collect()
    } else {
        Vec::new()
    };
    if by_chargers && stops.iter().all(|(_, stops)| *stops == Some(true)) {
        return Ok(Verdict::pass());
    }
    let never = stops.iter().any(|(_, stops)| *stops == Some(false)) || !by_chargers;
    if battery.cold_cut_off.is_none() {
        return Err(Undecided::need(own));
    }
    if !never {
        let unknown = stops.into_iter().filter(|(_, stops)| stops.is_none()).map(|(place, _)| place);
        return Err(Undecided::Open(unknown.collect()));
    }
    let finding = Finding::new(own, format!("nothing stops `{}` from being charged below freezing", battery.name))
        .label("charges in frost")
        .because("below 0 C lithium plates out on the cells as metal: capacity is lost for good, and the cells may short")
        .mend("fit a battery whose management stops the charge in the cold, or a charger with a sensor on the battery that does");
    let at_chargers = stops.into_iter().filter(|(_, stops)| *stops == Some(false));
    Ok(Verdict::fail(at_chargers.fold(finding, |finding, (place, _)| finding.also(place, "does not stop either"))))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    const CODE: &str = "SUPPLY-25";
    const SUBJECT: &str = "batteries.house";

    fn plan(isolator: &str, battery: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V}}\nbatteries: {{house: {{kind: lithium-iron-phosphate{battery}}}}}\n\
             isolators: {{part: {{{isolator}}}}}\nwires:\n  in: {{from: battery.positive, to: part.in}}\n  \
             out: {{from: part.out, to: house.positive}}\n"
        )
    }

    #[test]
    fn either_the_battery_or_its_charger_stops() {
        let of =
            |charger: &str, battery: &str| outcome(&plan(&format!("kind: charger{charger}"), battery), CODE, SUBJECT);
        let (stops, goes_on) = (", cold_cut_off: true", ", cold_cut_off: false");
        assert_eq!((of("", stops), of(goes_on, stops)), (Outcome::Pass, Outcome::Pass));
        assert_eq!((of(stops, ""), of(stops, goes_on)), (Outcome::Pass, Outcome::Pass));
        assert_eq!(of(goes_on, goes_on), Outcome::Fail);
        let both = check(&plan(&format!("kind: charger{goes_on}"), goes_on), CODE, SUBJECT).finding.expect("it fails");
        let also: Vec<String> = both.also.iter().map(|also| also.place.path()).collect();
        assert_eq!(also, ["isolators.part.cold_cut_off"]);
    }

    /// What the alternator gives through a relay no charger beside it stops.
    #[test]
    fn a_charger_that_stops_does_not_help_beside_a_relay() {
        let text = plan("kind: charger, cold_cut_off: true", ", cold_cut_off: false")
            + "  in-too: {from: battery.positive, to: relay.in}\n  out-too: {from: relay.out, to: house.positive}\n";
        let text = text.replace("isolators: {", "isolators: {relay: {kind: relay}, ");
        assert_eq!(outcome(&text, CODE, SUBJECT), Outcome::Fail);
    }

    #[test]
    fn what_is_not_known_is_asked_for() {
        let need = |charger: &str, battery: &str| {
            let open = check(&plan(&format!("kind: charger{charger}"), battery), CODE, SUBJECT);
            assert_eq!(open.outcome, Outcome::Open);
            open.needs[0].path()
        };
        assert_eq!(need("", ""), "batteries.house.cold_cut_off");
        assert_eq!(need(", cold_cut_off: false", ""), "batteries.house.cold_cut_off");
        assert_eq!(need("", ", cold_cut_off: false"), "isolators.part.cold_cut_off");
    }

    /// Through a relay the alternator charges it, whatever stands on a charger.
    #[test]
    fn through_a_relay_the_battery_alone_can_stop_it() {
        let of = |battery: &str| outcome(&plan("kind: relay", battery), CODE, SUBJECT);
        assert_eq!((of(", cold_cut_off: true"), of(", cold_cut_off: false")), (Outcome::Pass, Outcome::Fail));
        assert_eq!(of(""), Outcome::Open);
    }

    #[test]
    fn lead_and_what_nothing_charges_are_not_its_business() {
        let lead = plan("kind: charger", "").replace("lithium-iron-phosphate", "agm");
        assert_eq!(outcome(&lead, CODE, SUBJECT), Outcome::NotApplicable);
        let apart = plan("kind: charger", "").replace("to: house.positive", "to: nowhere.in");
        assert_eq!(outcome(&apart, CODE, SUBJECT), Outcome::NotApplicable);
        let starting =
            "plan: 1\nvehicle: {voltage: 12 V, battery: {kind: lithium-iron-phosphate, cold_cut_off: false}}\n";
        assert_eq!(outcome(starting, CODE, "vehicle.battery"), Outcome::Fail);
    }
}
