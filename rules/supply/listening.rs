//! A battery is soon empty when nothing charges it.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_least};
use crate::quantity::Range;
use crate::solve::energy::Bank;
use crate::solve::{Decided, Job, Origin, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-06",
    name: "supply-listening",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("listening.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Past("vehicle.battery.capacity"),
        super::Slip::Past("vehicle.factory_load.accessory"),
        super::Slip::Past("batteries.*.capacity"),
        super::Slip::Past("amplifiers.*.idle_current"),
        super::Slip::Say("vehicle.factory_load.accessory", &["35 A", "50 A", "70 A", "90 A"]),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let banks = job.banks();
    if banks.is_empty() {
        let none = Undecided::NotApplicable("no battery feeds an amplifier with the engine off");
        return vec![(Place::of("vehicle.battery"), Err(none))];
    }
    banks.into_iter().map(|(place, bank)| (place, lasts(job, bank))).collect()
}

fn lasts(job: &Job<'_>, bank: Decided<Bank>) -> Judged {
    let bank = bank?;
    let limit = job.house.limits.listening_time;
    let capacity = |(place, capacity): &(Place, _)| Input::stated("capacity", *capacity, place.clone());
    let usable = job.house.assumptions.usable_charge;
    let place = bank.capacities[0].0.clone();
    let whole = bank.capacities.iter().map(|(_, capacity)| Range::from(*capacity)).sum::<Range<_>>();
    Ok(at_least(bank.lasts, limit.value)
        .formula("usable part of 20 h x (capacity / (current x 20 h))^Peukert's exponent >= listening time")
        .given_all(bank.capacities.iter().map(capacity))
        .given(Input::known("average current of the added gear", &bank.drawn))
        .given_all(bank.accessory.iter().map(|known| Input::known("radio and vehicle besides", known)))
        .given(Input::from("Peukert's exponent", bank.exponent.range, Origin::Table(bank.exponent.source)))
        .given(Input::from("usable part", usable.range, Origin::House(usable.name, usable.source)))
        .limit_from(limit.source)
        .verdict(|is| {
            Finding::new(place, format!("music for {} with the engine off, at least {}", is.result(), is.limit()))
                .label(format!("{} for the added gear from {whole}", bank.drawn.range))
                .because("after that the engine may not crank, and the customer will not know why")
                .mend(
                    "fit a larger battery, a second one behind an isolator, or less power; else tell the customer how long",
                )
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// Some 18 A on average: 500 W at 80 %, a third of it, at 12.3 V, and 1 A idle.
    fn plan(battery: &str) -> String {
        super::super::trial::plan(
            &format!("battery: {{rest_voltage: 12.6 V, internal_resistance: 6 mohm{battery}}}"),
            "",
        )
    }

    const SUBJECT: &str = "vehicle.battery";

    fn of(capacity: f64) -> Outcome {
        outcome(&plan(&format!(", kind: agm, capacity: {capacity} Ah")), "SUPPLY-06", SUBJECT)
    }

    #[test]
    fn a_large_battery_passes_and_a_small_one_fails() {
        assert_eq!((of(60.0), of(5.0)), (Outcome::Pass, Outcome::Fail));
    }

    /// At the capacity where the worst case (exponent 1.15) lasts just a quarter of an hour it passes, under it no more.
    #[test]
    fn the_verdict_turns_at_a_quarter_of_an_hour() {
        let working = check(&plan(", kind: agm, capacity: 40 Ah"), "SUPPLY-06", SUBJECT).working;
        let lasts = working.map(|working| working.result.low).unwrap_or_default();
        let turn = 40.0 * (900.0 / lasts).powf(1.0 / 1.15);
        assert!(turn > 10.0 && turn < 20.0, "{turn}");
        assert_eq!((of(turn + 0.01), of(turn - 0.01)), (Outcome::Pass, Outcome::Open));
    }

    #[test]
    fn what_decides_is_asked_for_and_nothing_is_asked_of_a_bare_draft() {
        let open = check(&plan(", kind: agm"), "SUPPLY-06", SUBJECT);
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "vehicle.battery.capacity"));
        let kind = check(&plan(", capacity: 15 Ah"), "SUPPLY-06", SUBJECT);
        assert_eq!((kind.outcome, kind.turns[0].place.path().as_str()), (Outcome::Open, "vehicle.battery.kind"));
        assert_eq!(outcome("plan: 1\namplifiers: {amp: {}}\n", "SUPPLY-06", SUBJECT), Outcome::NotApplicable);
    }
}
