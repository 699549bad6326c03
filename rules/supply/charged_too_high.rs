//! Each kind of battery has a voltage, and a lithium one a heat, above which charging ruins it.

use super::voltage_high::highest;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::{Battery, BatteryKind, word};
use crate::quantity::{Quantity, Range, Temperature, Voltage};
use crate::solve::{Charged, Job, Known, Origin, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-16",
    name: "battery-charged-amiss",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("charged_too_high.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Past("vehicle.alternator.voltage"),
        super::Slip::Say("batteries.*.kind", &["gel", "lithium-iron-phosphate"]),
        super::Slip::Say("vehicle.battery.kind", &["gel", "lithium-iron-phosphate"]),
        super::Slip::Say("batteries.*.location", &["engine-bay"]),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let starting = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
    let starting = starting.map(|battery| {
        let judged = starting_battery(battery, job);
        (
            Place::of("vehicle.battery"),
            in_its_place("the starting battery", battery, &Place::of("vehicle.battery"), judged, job),
        )
    });
    let added = job.plan.batteries.iter().map(|(name, battery)| {
        let battery = Thing::new("batteries", name, battery);
        let (place, judged) = (battery.place(), added_battery(&battery, job));
        if job.charged(battery.name, "positive") == Charged::Not {
            return (place, judged);
        }
        let judged = in_its_place(&format!("`{}`", battery.name), battery.plan(), &place, judged, job);
        (place, judged)
    });
    starting.into_iter().chain(added).collect()
}

/// What lithium iron phosphate may be charged at, in C, as most makers have it: 0 to 45 (common practice, no published
/// source). Whether it freezes where a vehicle is parked no plan says.
const WARMEST: f64 = 45.0;

/// A verdict on the voltage, after one on the heat of the place where a lithium battery is charged.
fn in_its_place(name: &str, battery: &Battery, at: &Place, charged: Judged, job: &Job<'_>) -> Judged {
    if battery.kind != Some(BatteryKind::LithiumIronPhosphate) {
        return charged;
    }
    let Some(zone) = battery.location else {
        let need = Err(Undecided::need(at.sub("location")));
        return if charged.as_ref().is_ok_and(|verdict| verdict.finding.is_some()) { charged } else { need };
    };
    let heat = job.zone_temperature(zone);
    let warmest = Range::<Temperature>::point(WARMEST);
    let verdict = at_most(heat.range, warmest)
        .formula("heat of its place <= what its cells may be charged at")
        .given(Input::from(
            "heat of its place",
            heat.range,
            Origin::Computed("the house's figure for this place"),
        ))
        .limit_from("the window in which most makers let them be charged; common practice, no published source")
        .verdict(|is| {
            let title = format!("{name} is charged at {} in `{}`; its cells take {}", is.result(), zone.word(), is.limit());
            Finding::new(at.sub("location"), title)
                .label(format!("up to {}", is.result()))
                .also(at.sub("kind"), "lithium iron phosphate")
                .because("in the heat of an engine bay its cells age in a year or two, and its protection cuts it off under load")
                .mend("move it inside, out of the heat and held for a crash (MOUNT-02), or fit a lead battery in its place")
        });
    // A place that suits it leaves the word to the voltage.
    match (verdict.finding.is_some(), charged) {
        (false, Ok(charged)) => Ok(charged),
        (false, Err(open @ Undecided::Open(_))) => Err(open),
        _ => Ok(verdict),
    }
}

/// What a vehicle leaves the factory with suits its battery: only a voltage that is stated is judged.
fn starting_battery(battery: &Battery, job: &Job<'_>) -> Judged {
    let alternator = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let stated = alternator.and_then(|alternator| alternator.voltage);
    let volts = stated.ok_or(Undecided::NotApplicable("the vehicle's maker matched charging and battery"))?;
    let at = Place::of("vehicle.alternator.voltage");
    let charged = Known { range: volts.into(), origin: Origin::Stated(at) };
    let mend = "have the regulator and its sense lead looked at, or fit a battery that this charging suits";
    judge("the starting battery", battery, &Place::of("vehicle.battery"), &charged, mend, job)
}

fn added_battery(battery: &Thing<'_, Battery>, job: &Job<'_>) -> Judged {
    match job.charged(battery.name, "positive") {
        Charged::Not => return Err(Undecided::NotApplicable("the vehicle does not charge it")),
        Charged::ByCharger => return Err(Undecided::NotApplicable("a charger of its own sets its voltage")),
        Charged::Directly => {}
    }
    let mend = "put a charger that is made for it between the two batteries (`kind: charger`)";
    judge(&format!("`{}`", battery.name), battery.plan(), &battery.place(), &highest(job)?, mend, job)
}

fn judge(name: &str, battery: &Battery, at: &Place, charged: &Known<Voltage>, mend: &str, job: &Job<'_>) -> Judged {
    let kind = battery.kind.ok_or_else(|| Undecided::need(at.sub("kind")))?;
    let (volts, source) = most(kind);
    let takes = Quantity::<Voltage>::new(volts * job.system_multiple()?);
    Ok(at_most(charged.range, takes)
        .formula("highest charging voltage <= what a battery of this kind takes")
        .given(Input::known("highest charging voltage", charged))
        .limit_from(source)
        .verdict(|is| {
            let (kind, takes) = (word(&kind).replace('-', " "), is.limit());
            let title = format!("{name} is charged at up to {}; {kind} takes {takes}", is.result().at_high());
            Finding::new(at.sub("kind"), title)
                .label(format!("takes {takes}"))
                .because("charged above what it takes a battery gives off hydrogen and dries out, and a lithium one cuts itself off under load")
                .mend(mend)
                .follows("SUPPLY-07", at.clone())
        }))
}

/// The highest voltage that a twelve-volt battery takes while it is charged, in V.
const fn most(kind: BatteryKind) -> (f64, &'static str) {
    match kind {
        BatteryKind::Flooded | BatteryKind::EnhancedFlooded | BatteryKind::Agm => {
            (15.0, "common practice, no published source")
        }
        BatteryKind::Gel => (14.4, "2.40 V a cell; common practice, no published source"),
        BatteryKind::LithiumIronPhosphate => (14.6, "3.65 V a cell, as cell makers state it (from memory)"),
    }
}

#[cfg(test)]
mod tests {
    use crate::house::{House, Setting};
    use crate::judge::Outcome;

    use crate::rules::trial::{check, check_by, outcome};

    fn plan(alternator: &str, kind: &str, isolator: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, battery: {{kind: agm}}, alternator: {{{alternator}}}}}\n\
             batteries: {{house: {{{kind}}}}}\nisolators: {{between: {{kind: {isolator}}}}}\nwires:\n  \
             one: {{from: battery.positive, to: between.in}}\n  two: {{from: between.out, to: house.positive}}\n"
        )
    }

    fn house(alternator: &str, kind: &str, isolator: &str) -> Outcome {
        outcome(&plan(alternator, kind, isolator), "SUPPLY-16", "batteries.house")
    }

    #[test]
    fn each_kind_takes_its_own_voltage_and_no_more() {
        for (kind, takes, above) in [
            ("agm", "15.0 V", "15.1 V"),
            ("flooded", "15.0 V", "15.1 V"),
            ("gel", "14.4 V", "14.5 V"),
            ("lithium-iron-phosphate, location: cargo", "14.6 V", "14.7 V"),
        ] {
            let of =
                |volts: &str| house(&format!("voltage: {volts}, control: fixed"), &format!("kind: {kind}"), "relay");
            assert_eq!((of(takes), of(above)), (Outcome::Pass, Outcome::Fail), "{kind}");
        }
    }

    /// Makers' charging window of lithium iron phosphate, 0 to 45 C (common practice, no published source), in an engine bay of
    /// 50 C (33 CFR 183.425 takes that for engine spaces).
    #[test]
    fn lithium_is_not_charged_in_the_heat_of_an_engine_bay() {
        let fixed = "voltage: 14.2 V, control: fixed";
        let at = |kind: &str, place: &str| house(fixed, &format!("kind: {kind}, location: {place}"), "relay");
        let lithium = "lithium-iron-phosphate";
        assert_eq!((at(lithium, "engine-bay"), at(lithium, "cargo")), (Outcome::Fail, Outcome::Pass));
        assert_eq!(at("agm", "engine-bay"), Outcome::Pass);
        let charger = |place: &str| house(fixed, &format!("kind: {lithium}, location: {place}"), "charger");
        assert_eq!(
            (charger("engine-bay"), charger("cargo")),
            (Outcome::Fail, Outcome::Pass),
            "a charger does not cool it"
        );
        let open = check(&plan(fixed, &format!("kind: {lithium}"), "relay"), "SUPPLY-16", "batteries.house");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "batteries.house.location"));
        let starting =
            "plan: 1\nvehicle: {voltage: 12 V, battery: {kind: lithium-iron-phosphate, location: engine-bay}}\n";
        assert_eq!(outcome(starting, "SUPPLY-16", "vehicle.battery"), Outcome::Fail);
    }

    /// A house may know better what alternators there come to.
    #[test]
    fn of_a_voltage_that_varies_the_highest_is_told() {
        let mut house = House::default();
        house.assumptions.charging_fixed.set("14.8 V .. 15.2 V", "").expect("a range");
        let text = plan("control: fixed", "kind: gel", "relay");
        let found = check_by(&house, &text, "SUPPLY-16", "batteries.house").finding.expect("it fails");
        assert!(found.title.starts_with("`house` is charged at up to 15.2 V;"), "{}", found.title);
    }

    #[test]
    fn a_lorry_has_twice_as_much() {
        let of = |volts: &str| {
            let text =
                plan(&format!("voltage: {volts}"), "kind: gel", "relay").replace("voltage: 12 V", "voltage: 24 V");
            outcome(&text, "SUPPLY-16", "batteries.house")
        };
        assert_eq!((of("28.8 V"), of("29 V")), (Outcome::Pass, Outcome::Fail));
    }

    #[test]
    fn a_charger_of_its_own_sets_its_voltage() {
        let hot = "voltage: 15.2 V, control: fixed";
        assert_eq!(house(hot, "kind: gel", "charger"), Outcome::NotApplicable);
        assert_eq!(house(hot, "kind: gel", "relay"), Outcome::Fail);
        let apart = plan(hot, "kind: gel", "relay").replace("to: house.positive", "to: nowhere.in");
        assert_eq!(outcome(&apart, "SUPPLY-16", "batteries.house"), Outcome::NotApplicable);
    }

    #[test]
    fn what_a_control_unit_may_raise_it_to_counts_and_what_is_not_known_is_asked() {
        assert_eq!(house("voltage: 13.2 V, control: ecu", "kind: lithium-iron-phosphate", "relay"), Outcome::Fail);
        assert_eq!(house("voltage: 13.2 V, control: ecu", "kind: agm", "relay"), Outcome::Pass);
        let open = check(&plan("rated: 90 A", "kind: gel", "relay"), "SUPPLY-16", "batteries.house");
        assert_eq!((open.outcome, open.turns[0].place.path().as_str()), (Outcome::Open, "vehicle.alternator.voltage"));
        let open = check(&plan("voltage: 14.2 V", "", "relay"), "SUPPLY-16", "batteries.house");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "batteries.house.kind"));
    }

    #[test]
    fn the_starting_battery_is_judged_by_what_is_stated() {
        let of = |alternator: &str| outcome(&plan(alternator, "kind: agm", "relay"), "SUPPLY-16", "vehicle.battery");
        assert_eq!(of("control: ecu"), Outcome::NotApplicable);
        assert_eq!((of("voltage: 14.9 V"), of("voltage: 15.1 V")), (Outcome::Pass, Outcome::Fail));
    }

    /// Where it sits suits it; what the alternator charges with has to be found out.
    #[test]
    fn a_place_that_suits_it_does_not_settle_the_voltage() {
        let of =
            |place: &str| house("rated: 120 A", &format!("kind: lithium-iron-phosphate, location: {place}"), "relay");
        assert_eq!((of("cargo"), of("engine-bay")), (Outcome::Open, Outcome::Fail));
        let lithium = plan("rated: 120 A", "kind: lithium-iron-phosphate, location: cargo", "relay");
        let open = check(&lithium.replace("voltage: 12 V, ", ""), "SUPPLY-16", "batteries.house");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "vehicle.voltage"));
    }
}
