//! The voltage with the engine running tells whether the battery is charged at all, or boiled.

use super::site;
use crate::judge::{Finding, Input, Judged, Outcome, Rule, Severity, Subjects, at_least, at_most};
use crate::plan::ChargeControl;
use crate::quantity::{Range, Voltage};
use crate::solve::{Decided, Job, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PROOF-05",
    name: "measured-charging",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("charging.md"),
    check: Subjects::Job(check),
    slips: &[super::Slip::Past("measured.charging")],
};

fn check(job: &Job<'_>) -> Judged {
    let reading = site::reading(job.plan.measured.as_ref().and_then(|measured| measured.charging))?;
    let place = Place::of("measured.charging");
    let alternator = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let stated = alternator.and_then(|alternator| alternator.voltage);
    let (least, most) = sound(job)?;
    let low = at_least(reading, least);
    let comparison = if low.outcome() == Outcome::Pass { at_most(reading, most) } else { low };
    Ok(comparison
        .formula("voltage across the battery with the engine running, within what its regulator holds")
        .given(Input::stated("reading", reading, place.clone()))
        .given_all(stated.map(|stated| Input::stated("stated", stated, Place::of("vehicle.alternator.voltage"))))
        .limit_from("common practice, no published source; twice as much in a 24 V system")
        .verdict(|is| {
            let is_low = reading.base() < least.high();
            let end = if is_low { "least" } else { "most" };
            let finding = Finding::new(place, format!("charging at {reading}, {} is the {end}", is.limit()))
                .label("with the engine running");
            if is_low {
                finding
                    .because("a battery that is not charged to the full sulphates, and the amplifier lives off it until it is flat")
                    .mend("measure at the alternator's own post: as low there, look at belt and alternator; higher there, at cable and straps")
            } else {
                finding
                    .because("too high a voltage boils the battery and shortens the life of everything on it")
                    .mend("measure again with another meter, then have the regulator and its sense lead looked at")
            }
        }))
}

/// The least and the most that may be read with the engine running, each by range where what sets it is not stated.
///
/// # Errors
/// The need for the system voltage.
pub fn sound(job: &Job<'_>) -> Decided<(Range<Voltage>, Range<Voltage>)> {
    let multiple = job.system_multiple()?;
    let alternator = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let stated = alternator.and_then(|alternator| alternator.voltage);
    let words = [ChargeControl::Fixed, ChargeControl::Ecu];
    let show = |index: f64| if index < 0.5 { "fixed".to_owned() } else { "ecu".to_owned() };
    let control = alternator.and_then(|alternator| alternator.control);
    let source = "a regulator of its own, or the engine's control unit";
    let controls = job.assume_words(&Place::of("vehicle.alternator.control"), control, &words, show, source);
    let windows: Vec<Range<Voltage>> =
        controls.iter().map(|control| window(*control, stated.map(Range::from), multiple, job)).collect();
    let ends = |end: fn(Range<Voltage>) -> Range<Voltage>| windows.iter().copied().map(end).reduce(Range::hull);
    // A control that is pinned to none of the words leaves no window: nothing is known then.
    let none = Range::new(0.0, f64::INFINITY);
    Ok((ends(Range::at_low).unwrap_or(none), ends(Range::at_high).unwrap_or(none)))
}

/// Between which voltages a charging system of this kind is sound.
fn window(control: ChargeControl, stated: Option<Range<Voltage>>, multiple: f64, job: &Job<'_>) -> Range<Voltage> {
    let assumptions = &job.house.assumptions;
    let beside = job.house.limits.charging_tolerance.value.base() * multiple;
    match (control, stated) {
        (ChargeControl::Fixed, Some(volts)) => Range::new(volts.low() - beside, volts.high() + beside),
        (ChargeControl::Fixed, None) => assumptions.charging_fixed.range * multiple,
        // A control unit sets another voltage every minute: one that was stated is only one of them.
        (ChargeControl::Ecu, _) => assumptions.charging_ecu.range * multiple,
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(voltage: &str, alternator: &str, reading: &str) -> String {
        format!("plan: 1\nvehicle: {{voltage: {voltage}, alternator: {{{alternator}}}}}\nmeasured: {{{reading}}}\n")
    }

    fn of(voltage: &str, alternator: &str, volts: &str) -> Outcome {
        outcome(&plan(voltage, alternator, &format!("charging: {volts}")), "PROOF-05", "job")
    }

    #[test]
    fn three_tenths_beside_the_stated_voltage_pass() {
        let stated = "control: fixed, voltage: 14.2 V";
        assert_eq!(of("12 V", stated, "13.9 V"), Outcome::Pass);
        assert_eq!(of("12 V", stated, "14.5 V"), Outcome::Pass);
        assert_eq!(of("12 V", stated, "13.89 V"), Outcome::Fail);
        assert_eq!(of("12 V", stated, "14.51 V"), Outcome::Fail);
    }

    #[test]
    fn the_kind_of_control_decides_where_nothing_is_stated() {
        assert_eq!(of("12 V", "control: fixed", "13.8 V"), Outcome::Pass);
        assert_eq!(of("12 V", "control: fixed", "13.7 V"), Outcome::Fail);
        assert_eq!(of("12 V", "control: ecu", "12.3 V"), Outcome::Pass);
        assert_eq!(of("12 V", "control: ecu, voltage: 14.2 V", "12.3 V"), Outcome::Pass);
        assert_eq!(of("12 V", "control: ecu", "12.1 V"), Outcome::Fail);
        assert_eq!(of("12 V", "", "14.1 V"), Outcome::Pass);
        assert_eq!(of("12 V", "", "15.1 V"), Outcome::Fail);
    }

    #[test]
    fn between_the_two_it_is_open_and_the_control_decides() {
        let open = check(&plan("12 V", "", "charging: 13 V"), "PROOF-05", "job");
        assert_eq!((open.outcome, open.turns[0].place.path().as_str()), (Outcome::Open, "vehicle.alternator.control"));
        assert_eq!(open.turns[0].words, "passes with ecu");
    }

    #[test]
    fn a_truck_has_twice_the_voltage() {
        assert_eq!(of("24 V", "control: fixed, voltage: 28.4 V", "27.8 V"), Outcome::Pass);
        assert_eq!(of("24 V", "control: fixed, voltage: 28.4 V", "27.7 V"), Outcome::Fail);
        assert_eq!(of("24 V", "control: fixed", "14.1 V"), Outcome::Fail);
        assert_eq!(outcome(&plan("12 V", "", "key_off: 20 mA"), "PROOF-05", "job"), Outcome::NotApplicable);
    }

    /// A lorry's alternator holds twice what a car's does.
    #[test]
    fn twenty_four_volt_are_held_to_twice_the_voltages() {
        assert_eq!(of("24 V", "control: fixed", "27.6 V"), Outcome::Pass);
        assert_eq!(of("24 V", "control: fixed", "27.4 V"), Outcome::Fail);
        assert_eq!(of("24 V", "control: ecu", "24.6 V"), Outcome::Pass);
        assert_eq!(of("24 V", "control: ecu", "13.8 V"), Outcome::Fail);
    }

    #[test]
    fn too_little_and_too_much_are_told_apart() {
        let of = |volts: &str| {
            let text = plan("12 V", "control: fixed, voltage: 14.2 V", &format!("charging: {volts}"));
            let finding = check(&text, "PROOF-05", "job").finding.expect("it fails");
            (finding.title, finding.mend.starts_with("measure at the alternator's own post"))
        };
        assert_eq!(of("13.8 V"), ("charging at 13.8 V, 13.9 V is the least".to_owned(), true));
        assert_eq!(of("14.6 V"), ("charging at 14.6 V, 14.5 V is the most".to_owned(), false));
    }
}
