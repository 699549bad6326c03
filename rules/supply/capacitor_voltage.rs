//! A capacitor on a system that charges above the voltage it is made to work at.

use super::voltage_high::{charged_with, highest};
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::Capacitor;
use crate::solve::{Charged, Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-18",
    name: "capacitor-voltage",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("capacitor_voltage.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Say("capacitors.*.voltage", &["12 V", "13 V"]), super::Slip::Past("capacitors.*.voltage")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let capacitors = job.plan.capacitors.iter();
    capacitors.map(|(name, is)| (Place::of(format!("capacitors.{name}")), judge(name, is, job))).collect()
}

fn judge(name: &str, capacitor: &Capacitor, job: &Job<'_>) -> Judged {
    let place = Place::of(format!("capacitors.{name}.voltage"));
    let made_for = capacitor.voltage.ok_or_else(|| Undecided::need(place.clone()))?;
    let highest = match job.charged(name, "power") {
        Charged::ByCharger => charged_with(name, job)?,
        _ => highest(job)?,
    };
    Ok(at_most(highest.range, made_for)
        .formula("highest charging voltage <= voltage that the capacitor is made to work at")
        .given(Input::known("highest charging voltage", &highest))
        .limit_from(
            "the capacitor's maker; the surge voltage above it, 1.15 times in IEC 60384-4 (from memory), is for seconds",
        )
        .verdict(|is| {
            let found = is.result();
            Finding::new(place, format!("`{name}` gets {found} while the engine charges, it is made for {made_for}"))
                .label(format!("made for {made_for}"))
                .because("above its working voltage an electrolytic capacitor heats up, vents hot vapour and bursts")
                .mend(format!("choose a capacitor that works at {} or more", highest.range.at_high()))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    const CODE: &str = "SUPPLY-18";
    const SUBJECT: &str = "capacitors.cap";

    fn plan(system: &str, alternator: &str, capacitor: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: {system}, alternator: {{{alternator}}}}}\ncapacitors: {{cap: {{{capacitor}}}}}\n"
        )
    }

    fn of(system: &str, alternator: &str, volts: &str) -> Outcome {
        outcome(&plan(system, alternator, &format!("voltage: {volts}")), CODE, SUBJECT)
    }

    #[test]
    fn the_charging_voltage_passes_up_to_what_the_capacitor_works_at() {
        let fixed = "voltage: 14.4 V, control: fixed";
        assert_eq!((of("12 V", fixed, "14.4 V"), of("12 V", fixed, "14.3 V")), (Outcome::Pass, Outcome::Fail));
    }

    /// 13.8 to 15 V, and twice that in a truck.
    #[test]
    fn what_is_not_stated_passes_sixteen_volts_in_a_car_and_not_in_a_truck() {
        assert_eq!((of("12 V", "", "16 V"), of("24 V", "", "16 V")), (Outcome::Pass, Outcome::Fail));
        assert_eq!((of("24 V", "", "35 V"), of("12 V", "", "14.4 V")), (Outcome::Pass, Outcome::Open));
    }

    /// A control unit raises it to 15 V when the vehicle slows down, whatever was measured at idle.
    #[test]
    fn a_control_unit_is_taken_at_its_highest() {
        assert_eq!(of("12 V", "voltage: 13.2 V, control: ecu", "14.9 V"), Outcome::Fail);
    }

    #[test]
    fn its_voltage_is_asked_for_and_behind_a_charger_the_charger_decides() {
        let open = check(&plan("12 V", "", "capacitance: 1 F"), CODE, SUBJECT);
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "capacitors.cap.voltage"));
        let text = plan("24 V", "", "voltage: 16 V")
            + "isolators: {between: {kind: charger}}\nbatteries: {house: {}}\nwires:\n  one: {from: battery.positive, to: \
               between.in}\n  two: {from: between.out, to: house.positive}\n  three: {from: house.positive, to: cap.power}\n";
        let need = check(&text, CODE, SUBJECT);
        assert_eq!((need.outcome, need.needs[0].path().as_str()), (Outcome::Open, "batteries.house.rest_voltage"));
        let of = |rest: &str| {
            outcome(&text.replace("house: {}", &format!("house: {{rest_voltage: {rest}}}")), CODE, SUBJECT)
        };
        assert_eq!((of("12.7 V"), of("25.4 V")), (Outcome::Pass, Outcome::Fail));
        assert_eq!(outcome(&text.replace("kind: charger", "kind: relay"), CODE, SUBJECT), Outcome::Fail);
    }
}
