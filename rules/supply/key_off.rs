//! What is drawn asleep empties the battery in weeks or in days.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::SystemVoltage;
use crate::quantity::Current;
use crate::solve::{Job, Known, Origin, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-05",
    name: "supply-key-off",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("key_off.md"),
    check: Subjects::Job(check),
    slips: &[super::Slip::Past("vehicle.factory_load.key_off"), super::Slip::Past("amplifiers.*.off_current")],
};

fn check(job: &Job<'_>) -> Judged {
    let asleep = job.asleep();
    if asleep.added.is_empty() && asleep.kept_on.is_empty() {
        return Err(Undecided::NotApplicable("nothing is added that draws while the vehicle is asleep"));
    }
    // What a constant feed keeps on is left to TURN-01, which says how long the battery lasts with it.
    let draw = asleep.without_kept_on();
    let (most, days) = (job.house.limits.key_off_current, job.house.limits.key_off_days);
    // What makers name is for cars; a truck has more that stays awake, and batteries for it.
    let is_of_cars = job.plan.system_voltage() != Some(SystemVoltage::TwentyFour);
    let stands = match job.starting_battery_stands(days.value) {
        Err(_) if is_of_cars && draw.low() > most.value.base() => most.value.into(),
        other => other?,
    };
    let capacity = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref()?.capacity);
    let by_days = !is_of_cars || stands.low() < most.value.base();
    let limit = if is_of_cars { stands.min(most.value.into()) } else { stands };
    let (source, because) = if by_days {
        (days.source, "the vehicle stands for two or three weeks and does not start")
    } else {
        (most.source, "a sound vehicle sleeps with less: something stays awake that should not")
    };
    let lasts = |time| format!(", {} after {time}", job.emptied());
    let lasts = job.starting_battery_lasts(draw).map_or(String::new(), lasts);
    Ok(at_most(draw, limit)
        .formula("draw asleep <= key-off limit, and <= usable part of the battery's capacity / days it must last")
        .given(Input::known("the vehicle asleep", &asleep.vehicle))
        .given_all(asleep.added.iter().map(|known| Input::known("added gear, switched off", known)))
        .given_all(capacity.map(|capacity| Input::stated("capacity", capacity, Place::of("vehicle.battery.capacity"))))
        .limit_from(source)
        .verdict(|is| {
            let finding = Finding::new(
                Place::of("vehicle.factory_load.key_off"),
                format!("{draw} flow with the vehicle asleep, at most {}", is.limit()),
            );
            let more = |known: &&Known<Current>| known.range.low() > asleep.vehicle.range.high();
            let finding = asleep.added.iter().filter(more).fold(finding, |finding, known| match &known.origin {
                Origin::Stated(place) => finding.also(place.clone(), format!("{} of it", known.range)),
                _ => finding,
            });
            finding
            .label(format!("{} with the added gear{lasts}", is.result()))
            .because(because)
            .mend(format!(
                "find what stays awake and bring the sum to {} or less; switch off with a relay what does not sleep by itself",
                limit.at_low()
            ))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(capacity: &str, key_off: &str, more: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{battery: {{{capacity}}}, factory_load: {{{key_off}}}}}\n\
             amplifiers: {{amp: {{idle_current: 0.8 A, off_current: 2 mA}}}}\n{more}"
        )
    }

    fn of(capacity: &str, milliamps: f64) -> Outcome {
        outcome(&plan(&format!("capacity: {capacity}"), &format!("key_off: {milliamps} mA"), ""), "SUPPLY-05", "job")
    }

    /// 2 mA of it are the amplifier's.
    #[test]
    fn fifty_milliamps_pass_and_one_more_fails() {
        assert_eq!((of("100 Ah", 48.0), of("100 Ah", 49.0)), (Outcome::Pass, Outcome::Fail));
    }

    /// Half of 40 Ah over 21 days are 39.68 mA.
    #[test]
    fn a_small_battery_stands_less() {
        assert_eq!((of("40 Ah", 37.6), of("40 Ah", 37.8)), (Outcome::Pass, Outcome::Fail));
        let failed = check(&plan("capacity: 40 Ah", "key_off: 40 mA", ""), "SUPPLY-05", "job");
        let label = failed.finding.map(|finding| finding.at.text).unwrap_or_default();
        assert!(label.contains("half empty after 19.8 days"), "{label}");
    }

    /// Half of 180 Ah over 21 days are 178.6 mA; of a car nobody would take 60 mA.
    #[test]
    fn in_a_truck_only_the_batteries_count() {
        let truck = |milliamps: u32| {
            let text = plan("capacity: 180 Ah", &format!("key_off: {milliamps} mA"), "");
            check(&text.replacen("vehicle: {", "vehicle: {voltage: 24 V, ", 1), "SUPPLY-05", "job")
        };
        assert_eq!((truck(170).outcome, truck(180).outcome), (Outcome::Pass, Outcome::Fail));
        let car = check(&plan("capacity: 180 Ah", "key_off: 60 mA", ""), "SUPPLY-05", "job").finding.expect("it fails");
        assert!(car.why.contains("stays awake"), "{}", car.why);
    }

    #[test]
    fn what_decides_is_asked_for() {
        let unknown = check(&plan("", "key_off: 30 mA", ""), "SUPPLY-05", "job");
        assert_eq!((unknown.outcome, unknown.needs[0].path().as_str()), (Outcome::Open, "vehicle.battery.capacity"));
        assert_eq!(outcome(&plan("", "key_off: 80 mA", ""), "SUPPLY-05", "job"), Outcome::Fail);
        let open = check(&plan("capacity: 60 Ah", "", ""), "SUPPLY-05", "job");
        assert_eq!(open.outcome, Outcome::Open);
        assert_eq!(open.turns[0].place.path(), "vehicle.factory_load.key_off");
    }

    #[test]
    fn an_amplifier_on_a_constant_feed_is_told_once() {
        let constant = "turn_on: {remote: {from: {kind: constant}, to: [amp.remote]}}\n";
        let text = plan("capacity: 60 Ah", "key_off: 20 mA", constant);
        assert_eq!(outcome(&text, "SUPPLY-05", "job"), Outcome::Pass);
        assert_eq!(outcome(&text, "TURN-01", "turn_on.remote"), Outcome::Fail);
        assert_eq!(outcome("plan: 1\n", "SUPPLY-05", "job"), Outcome::NotApplicable);
    }

    /// What stays fed draws asleep; what hangs on a circuit that goes off does not.
    #[test]
    fn a_processor_or_a_converter_counts_while_its_feed_stays_live() {
        let of = |gear: &str, feed: &str| {
            let gear = format!("{gear}\nturn_on: {{remote: {{from: {{kind: accessory}}, to: [it.remote]}}{feed}}}\n");
            outcome(&plan("capacity: 100 Ah", "key_off: 46 mA", &gear), "SUPPLY-05", "job")
        };
        let live = ", feed: {from: {kind: constant}, to: [it.power]}";
        for it in ["sources: {it: {kind: processor OFF}}", "converters: {it: {current: 60 mA OFF}}"] {
            let stated = |off: &str| it.replace(" OFF", &format!(", off_current: {off}"));
            assert_eq!((of(&stated("2 mA"), live), of(&stated("3 mA"), live)), (Outcome::Pass, Outcome::Fail), "{it}");
            assert_eq!(of(&stated("3 mA"), ""), Outcome::Fail, "it says so: {it}");
            // 0 to 5 mA on top of 48 mA, where it stays fed.
            let silent = |feed: &str| of(&it.replace(" OFF", ""), feed);
            assert_eq!((silent(live), silent("")), (Outcome::Open, Outcome::Pass), "{it}");
        }
        let awake = plan("capacity: 100 Ah", "key_off: 20 mA", "converters: {loc: {off_current: 40 mA}}\n");
        let also = crate::rules::trial::finding(&awake, "SUPPLY-05", "job").also;
        assert_eq!(also.iter().map(|label| label.place.path()).collect::<Vec<_>>(), ["converters.loc.off_current"]);
        let alone = "plan: 1\nvehicle: {battery: {capacity: 100 Ah}, factory_load: {key_off: 40 mA}}\n\
                     sources: {dsp: {kind: processor, off_current: 20 mA}}\n";
        assert_eq!(outcome(alone, "SUPPLY-05", "job"), Outcome::Fail, "no amplifier is needed for it");
    }

    /// 2 mA of the amplifier's and 18 mA of a capacitor's meter on 30 mA; one that no wire feeds draws nothing.
    #[test]
    fn a_capacitor_draws_day_and_night() {
        let of = |off: &str, fed: &str| {
            let more =
                format!("capacitors: {{cap: {{{off}}}}}\nwires: {{main: {{from: battery.positive, to: {fed}}}}}\n");
            outcome(&plan("capacity: 100 Ah", "key_off: 30 mA", &more), "SUPPLY-05", "job")
        };
        let both = (of("off_current: 18 mA", "cap.power"), of("off_current: 19 mA", "cap.power"));
        assert_eq!(both, (Outcome::Pass, Outcome::Fail));
        assert_eq!((of("", "cap.power"), of("", "amp.power")), (Outcome::Open, Outcome::Pass));
    }

    #[test]
    fn the_limit_that_was_used_is_named() {
        let limits = crate::house::House::default().limits;
        let source = |capacity: &str| {
            let text = plan(&format!("capacity: {capacity}"), "key_off: 40 mA", "");
            check(&text, "SUPPLY-05", "job").working.expect("it is computed").source
        };
        assert_eq!(source("40 Ah"), limits.key_off_days.source);
        assert_eq!(source("100 Ah"), limits.key_off_current.source);
    }

    /// How much the battery may give is still to be found out.
    #[test]
    fn just_at_the_limit_the_capacity_is_asked_for() {
        assert_eq!(outcome(&plan("", "key_off: 48 mA", ""), "SUPPLY-05", "job"), Outcome::Open);
    }
}
