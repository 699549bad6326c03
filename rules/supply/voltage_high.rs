//! Gear on a system whose charging voltage it does not stand.

use crate::house::Assumption;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::ChargeControl;
use crate::quantity::{Range, Voltage};
use crate::solve::gear::{Gear, GearKind};
use crate::solve::step_down::output_voltage;
use crate::solve::{Charged, Decided, Job, Known, Origin, Place, Undecided};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-15",
    name: "supply-voltage-high",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("voltage_high.md"),
    check: Subjects::Gear(check),
    slips: &[
        super::Slip::Say("amplifiers.*.operating_voltage", &["10 V .. 14 V", "9 V .. 13.5 V", "10 V .. 16 V"]),
        super::Slip::Past("vehicle.alternator.voltage"),
    ],
};

fn check(gear: &Gear<'_>, job: &Job<'_>) -> Judged {
    if gear.kind != GearKind::Amplifier && job.supply_of(gear, job.graph()).is_none() {
        return Err(Undecided::NotApplicable("nothing in the plan feeds it"));
    }
    let step_down = job.step_down_of(gear.name);
    let is_behind_charger = step_down.is_none() && job.charged(gear.name, "power") == Charged::ByCharger;
    let highest = match &step_down {
        Some(step_down) => held(step_down.name, job)?,
        None if is_behind_charger => charged_with(gear.name, job)?,
        None => highest(job)?,
    };
    let window = gear.works_within()?;
    let place = gear.place.sub("operating_voltage");
    Ok(at_most(highest.range, window.to)
        .formula("highest voltage of its supply <= highest operating voltage")
        .given(Input::known("highest voltage of its supply", &highest))
        .limit_from(gear.kind.maker())
        .verdict(|is| {
            let (found, most) = (is.result(), window.to);
            let when = match &step_down {
                Some(_) => "from its converter",
                None if is_behind_charger => "while its battery is charged",
                None => "while the engine charges",
            };
            let other = format!("choose {} that works up to {}", words::a(gear.kind.noun()), highest.range.at_high());
            // Gear of 12 V on 24 V.
            let is_twelve = step_down.is_none() && most.base() < 20.0 && highest.range.low() > 20.0;
            let mend = if is_twelve {
                format!("{other}, or feed it by a converter from 24 V to 12 V (isolator `kind: step-down`)")
            } else {
                other
            };
            Finding::new(place, format!("`{}` gets {found} {when}, it works up to {most}", gear.name))
                .label(format!("works up to {most}"))
                .because("above its operating voltage it switches off at best, and its input stage burns at worst")
                .mend(mend)
        }))
}

/// What a converter holds its output at.
fn held(step_down: &str, job: &Job<'_>) -> Decided<Known<Voltage>> {
    let volts = output_voltage(job, step_down)?;
    let place = Place::of(format!("isolators.{step_down}.output_voltage"));
    Ok(Known { range: volts.into(), origin: Origin::Stated(place) })
}

/// What most chargers end with for a battery of twelve volts, in V.
const CHARGER_ENDS: f64 = 14.4;

/// What a charger comes to at the battery that feeds gear.
pub(super) fn charged_with(name: &str, job: &Job<'_>) -> Decided<Known<Voltage>> {
    let multiple = job.multiple_behind_charger(name)?;
    let multiple = multiple.ok_or(Undecided::NotApplicable("no battery stands behind the charger that feeds it"))?;
    Ok(Known::table(
        Range::point(CHARGER_ENDS * multiple),
        "what most chargers end with; common practice, no published source",
    ))
}

/// The highest voltage that charging comes to. What a plan states for an alternator that a control unit moves about was
/// measured once.
pub(super) fn highest(job: &Job<'_>) -> Decided<Known<Voltage>> {
    let multiple = job.system_multiple()?;
    let alternator = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let (fixed, ecu) = (&job.house.assumptions.charging_fixed, &job.house.assumptions.charging_ecu);
    if alternator.and_then(|alternator| alternator.control) == Some(ChargeControl::Ecu) {
        return Ok(Known::table(Range::point(ecu.range.high() * multiple), ecu.source));
    }
    let unknown = Range::<Voltage>::new(fixed.range.low(), ecu.range.high().max(fixed.range.high()));
    let range = match alternator.and_then(|alternator| alternator.control) {
        Some(_) => fixed.range,
        None => unknown,
    };
    let otherwise = Assumption { range: range * multiple, source: fixed.source };
    let stated = alternator.and_then(|alternator| alternator.voltage);
    Ok(job.assume(Place::of("vehicle.alternator.voltage"), stated, &otherwise))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(system: &str, alternator: &str, operating: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: {system}, alternator: {{rated: 100 A{alternator}}}}}\n\
             amplifiers: {{amp: {{operating_voltage: {operating}}}}}\n"
        )
    }

    fn of(system: &str, alternator: &str, operating: &str) -> Outcome {
        outcome(&plan(system, alternator, operating), "SUPPLY-15", "amplifiers.amp")
    }

    #[test]
    fn the_charging_voltage_passes_up_to_the_end_of_the_window() {
        let fixed = ", voltage: 14.4 V, control: fixed";
        assert_eq!(of("12 V", fixed, "10 V .. 14.4 V"), Outcome::Pass);
        assert_eq!(of("12 V", fixed, "10 V .. 14.3 V"), Outcome::Fail);
    }

    #[test]
    fn twelve_volt_gear_in_a_lorry_fails_whatever_is_not_stated() {
        assert_eq!(of("24 V", "", "10 V .. 16 V"), Outcome::Fail);
        assert_eq!(of("24 V", ", control: ecu", "10 V .. 16 V"), Outcome::Fail);
        assert_eq!(of("24 V", "", "20 V .. 32 V"), Outcome::Pass);
    }

    /// A control unit raises it to 15 V when the vehicle slows down, whatever was measured at idle.
    #[test]
    fn a_control_unit_is_taken_at_its_highest() {
        let ecu = ", voltage: 13.2 V, control: ecu";
        assert_eq!(of("12 V", ecu, "10 V .. 15 V"), Outcome::Pass);
        assert_eq!(of("12 V", ecu, "10 V .. 14.9 V"), Outcome::Fail);
    }

    /// Twelve-volt gear in a lorry, on a battery of its own that a charger of 24 to 12 V keeps full.
    #[test]
    fn behind_a_charger_it_gets_what_the_charger_gives() {
        let of = |kind: &str, house: &str, window: &str| {
            let text = format!(
                "{}isolators: {{between: {{kind: {kind}}}}}\nbatteries: {{house: {{{house}}}}}\nwires:\n  one: {{from: battery.positive, to: \
                 between.in}}\n  two: {{from: between.out, to: house.positive}}\n  three: {{from: house.positive, to: amp.power}}\n",
                plan("24 V", "", window)
            );
            let check = check(&text, "SUPPLY-15", "amplifiers.amp");
            if let Some(finding) = &check.finding {
                let when = if kind == "charger" { "while its battery is charged" } else { "while the engine charges" };
                assert!(finding.title.contains(when), "{}", finding.title);
            }
            (check.outcome, check.needs.first().map(crate::solve::Place::path))
        };
        let (twelve, lorry) = ("rest_voltage: 12.7 V", "rest_voltage: 25.4 V");
        assert_eq!(of("charger", twelve, "10 V .. 14.4 V").0, Outcome::Pass);
        assert_eq!(of("charger", twelve, "10 V .. 14.3 V").0, Outcome::Fail);
        assert_eq!(of("charger", lorry, "10 V .. 16 V").0, Outcome::Fail);
        assert_eq!(of("charger", lorry, "20 V .. 32 V").0, Outcome::Pass);
        // A charger of 24 to 12 V or one of 24 to 24 V: nobody said.
        let open = (Outcome::Open, Some("batteries.house.rest_voltage".to_owned()));
        assert_eq!(of("charger", "", "10 V .. 16 V"), open);
        assert_eq!(of("relay", "", "10 V .. 16 V").0, Outcome::Fail);
    }

    /// 13.8 V from a converter, whatever the lorry charges with; where it has none, what to do says that there are such.
    #[test]
    fn behind_a_converter_it_gets_what_that_holds() {
        let text = |window: &str| {
            format!(
                "{}isolators: {{down: {{kind: step-down, output_voltage: 13.8 V}}}}\nwires:\n  one: {{from: battery.positive, to: \
                 down.in}}\n  two: {{from: down.out, to: amp.power}}\n  three: {{from: down.ground, to: battery.negative}}\n",
                plan("24 V", ", voltage: 28.2 V, control: fixed", window)
            )
        };
        assert_eq!(outcome(&text("10 V .. 16 V"), "SUPPLY-15", "amplifiers.amp"), Outcome::Pass);
        let narrow = check(&text("10 V .. 13.5 V"), "SUPPLY-15", "amplifiers.amp").finding.expect("it fails");
        assert_eq!(narrow.title, "`amp` gets 13.8 V from its converter, it works up to 13.5 V");
        let bare = plan("24 V", ", voltage: 28.2 V, control: fixed", "10 V .. 16 V");
        let bare = check(&bare, "SUPPLY-15", "amplifiers.amp").finding.expect("it fails");
        let by_converter = "a converter from 24 V to 12 V (isolator `kind: step-down`)";
        assert!(bare.mend.contains(by_converter), "{}", bare.mend);
        // No converter helps gear of 24 V, gear of 12 V on 12 V, or gear that has one already.
        let lorry = plan("24 V", ", voltage: 28.2 V, control: fixed", "20 V .. 28 V");
        let car = plan("12 V", ", voltage: 14.4 V, control: fixed", "10 V .. 14 V");
        for text in [lorry, car, text("10 V .. 13.5 V")] {
            let mend = check(&text, "SUPPLY-15", "amplifiers.amp").finding.expect("it fails").mend;
            assert!(!mend.contains(by_converter), "{mend}");
        }
    }

    /// A processor or a converter for 12 V in a lorry of 24 V, off the battery or off a circuit of the vehicle; a passive
    /// converter is fed by nothing.
    #[test]
    fn processors_and_converters_are_judged_where_something_feeds_them() {
        let of = |section: &str, at: &str, feed: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 24 V, body: steel, alternator: {{voltage: 28.2 V, control: fixed}}}}\n{section}\n\
                 grounds: {{floor: {{}}}}\n{feed}"
            );
            let check = check(&text, "SUPPLY-15", at);
            (check.outcome, check.needs.first().map(crate::solve::Place::path))
        };
        let back = "  back: {from: it.ground, to: grounds.floor}\n";
        let wired = format!("wires:\n  feed: {{from: battery.positive, to: it.power}}\n{back}");
        let tapped = format!("turn_on: {{lead: {{from: {{kind: accessory}}, to: [it.power]}}}}\nwires:\n{back}");
        for (kind, at) in
            [("sources: {it: {kind: processor, KEYS}}", "sources.it"), ("converters: {it: {KEYS}}", "converters.it")]
        {
            let with = |keys: &str| kind.replace("KEYS", keys);
            for feed in [&wired, &tapped] {
                assert_eq!(of(&with("operating_voltage: 9 V .. 16 V"), at, feed).0, Outcome::Fail, "{at} {feed}");
                assert_eq!(of(&with("operating_voltage: 9 V .. 32 V"), at, feed).0, Outcome::Pass, "{at} {feed}");
                let open = (Outcome::Open, Some(format!("{at}.operating_voltage")));
                assert_eq!(of(&with(""), at, feed), open, "{at} {feed}");
            }
            assert_eq!(of(&with("operating_voltage: 9 V .. 16 V"), at, "").0, Outcome::NotApplicable, "{at}");
        }
    }

    #[test]
    fn a_voltage_that_is_not_stated_leaves_a_narrow_window_open() {
        let open = check(&plan("12 V", "", "10 V .. 14.4 V"), "SUPPLY-15", "amplifiers.amp");
        assert_eq!(open.outcome, Outcome::Open);
        assert_eq!(open.turns[0].place.path(), "vehicle.alternator.voltage");
        assert_eq!(of("12 V", "", "10 V .. 16 V"), Outcome::Pass);
    }
}
