//! A control unit that saves fuel lets the charging voltage fall.

use crate::judge::{Finding, Input, Judged, Outcome, Rule, Severity, Subjects, at_least};
use crate::plan::ChargeControl;
use crate::quantity::Range;
use crate::solve::gear::Gear;
use crate::solve::{Case, Job, Known, Place, Undecided};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-12",
    name: "supply-charge-control",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("charge_control.md"),
    check: Subjects::Gear(check),
    slips: &[
        super::Slip::Say("vehicle.alternator.control", &["ecu"]),
        super::Slip::Say("amplifiers.*.operating_voltage", &["12.1 V .. 16 V", "12.5 V .. 16 V"]),
    ],
};

fn check(gear: &Gear<'_>, job: &Job<'_>) -> Judged {
    let control = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref()).and_then(|a| a.control);
    if control == Some(ChargeControl::Fixed) {
        return Err(Undecided::NotApplicable("a regulator of its own holds the charging voltage"));
    }
    if job.step_down_of(gear.name).is_some() {
        return Err(Undecided::NotApplicable("a converter holds its voltage"));
    }
    let drop = job.whole_drop(gear.name, Case::IdleFull)?;
    let window = gear.works_within()?;
    let assumed = job.house.assumptions.charging_ecu;
    let lowest = Known::table(Range::point(assumed.range.low() * job.system_multiple()?), assumed.source);
    let place = gear.place.sub("operating_voltage");
    let comparison = at_least(lowest.range - drop.range, window.from)
        .formula("lowest voltage that a control unit lets stand - drop on the way there and back >= lowest operating voltage")
        .given(Input::known("lowest charging voltage", &lowest))
        .given(Input::known("drop on the way there and back", &drop))
        .limit_from(gear.kind.maker());
    if control.is_none() && comparison.outcome() != Outcome::Pass {
        return Err(Undecided::need(Place::of("vehicle.alternator.control")));
    }
    Ok(comparison.verdict(|is| {
        let least = window.from;
        Finding::new(place, format!("`{}` may get {} on the road, it needs {least}", gear.name, is.result()))
            .label(format!("works from {least}"))
            .also(Place::of("vehicle.alternator.control"), format!("may let the voltage fall to {}", lowest.range))
            .because("the control unit lets the voltage fall to save fuel, and it switches off on the road")
            .mend(format!("choose {} that works from a lower voltage, or a thicker feed", words::a(gear.kind.noun())))
            .follows("SUPPLY-03", gear.place.clone())
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// 54 A at full output lose some 0.2 V on 1/0 AWG there and back: 12 V are left of 12.2 V.
    fn plan(control: &str, operating: &str) -> String {
        super::super::trial::plan(&format!("alternator: {{rated: 110 A, at_idle: 120 A{control}}}"), operating)
    }

    const SUBJECT: &str = "amplifiers.amp";

    fn of(control: &str, least: f64) -> Outcome {
        outcome(&plan(control, &format!(", operating_voltage: {least} V .. 16 V")), "SUPPLY-12", SUBJECT)
    }

    #[test]
    fn the_verdict_turns_at_the_ends_of_the_range() {
        let working = check(&plan(", control: ecu", ", operating_voltage: 10 V .. 16 V"), "SUPPLY-12", SUBJECT).working;
        let (low, high) = working.map(|working| (working.result.low, working.result.high)).unwrap_or_default();
        assert!(low > 11.6 && high > low && high < 12.2, "{low} {high}");
        assert_eq!(of(", control: ecu", low - 0.01), Outcome::Pass);
        assert_eq!(of(", control: ecu", high + 0.01), Outcome::Fail);
    }

    #[test]
    fn a_control_that_is_not_known_is_asked_for_where_it_matters() {
        assert_eq!(of("", 10.0), Outcome::Pass);
        let open = check(&plan("", ", operating_voltage: 12.2 V .. 16 V"), "SUPPLY-12", SUBJECT);
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "vehicle.alternator.control"));
    }

    #[test]
    fn a_fixed_regulator_does_not_let_it_fall() {
        assert_eq!(of(", control: fixed", 12.2), Outcome::NotApplicable);
        let open = check(&plan(", control: ecu", ""), "SUPPLY-12", SUBJECT);
        assert_eq!(open.needs[0].path(), "amplifiers.amp.operating_voltage");
    }

    /// Twice the voltage in a lorry: its control unit lets it fall to twice as much.
    #[test]
    fn a_control_unit_of_24_volt_lets_it_fall_to_twice_as_much() {
        let of = |volts: &str, least: &str| {
            let text = plan(", control: ecu", &format!(", operating_voltage: {least} .. 32 V"));
            let text = text.replace("voltage: 12 V", &format!("voltage: {volts}"));
            let working = check(&text, "SUPPLY-12", SUBJECT).working.expect("worked");
            let input = working.inputs.iter().find(|input| input.name == "lowest charging voltage").expect("given");
            let crate::judge::Value::Figure(figure) = &input.value else { panic!("a voltage") };
            figure.low
        };
        assert!((of("24 V", "20 V") - 2.0 * of("12 V", "10 V")).abs() < 1e-9 && of("12 V", "10 V") > 12.0);
    }
}
