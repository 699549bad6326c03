//! The factory's charge cable was made for the factory's own load.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::solve::{Job, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-11",
    name: "supply-charge-cable",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("charge_cable.md"),
    check: Subjects::Job(check),
    slips: &[
        super::Slip::Past("vehicle.alternator.cable_resistance"),
        super::Slip::Say("vehicle.alternator.cable_resistance", &["5 mohm", "8 mohm"]),
    ],
};

fn check(job: &Job<'_>) -> Judged {
    let charge = job.charge()?;
    let limit = job.house.limits.charge_drop.times(job.system_multiple()?);
    Ok(at_most(charge.drop, limit.value)
        .formula("resistance of charge cable and straps x (the vehicle's own draw + average of the added gear)")
        .given(Input::known("charge cable and straps", &charge.cable))
        .given(Input::known("current through them", &charge.current))
        .given(Input::limit("most", &limit))
        .limit_from(limit.source)
        .verdict(|is| {
            Finding::new(
                Place::of("vehicle.alternator.cable_resistance"),
                format!("charge cable and straps lose {} with the added gear, at most {}", is.result(), is.limit()),
            )
            .label(format!("{} carry {}", charge.cable.range, charge.current.range))
            .because("the battery sees less than the alternator holds and is never quite full")
            .mend("lay a cable beside the factory's, fused at the battery, with a strap from engine to body and body to battery")
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// 40 A of the vehicle and some 16 A of the amplifier: 56 A.
    fn plan(cable: &str) -> String {
        super::super::trial::plan(&format!("alternator: {{rated: 110 A, at_idle: 72 A, voltage: 14.2 V{cable}}}"), "")
    }

    fn of(milliohm: f64) -> Outcome {
        outcome(&plan(&format!(", cable_resistance: {milliohm} mohm")), "SUPPLY-11", "job")
    }

    #[test]
    fn the_verdict_turns_where_two_tenths_of_a_volt_are_lost() {
        assert_eq!((of(3.0), of(4.0)), (Outcome::Pass, Outcome::Fail));
        let working = check(&plan(", cable_resistance: 3.5 mohm"), "SUPPLY-11", "job").working;
        let drop = working.map(|working| working.result.high).unwrap_or_default();
        let turn = 3.5 * 0.2 / drop;
        assert_eq!(of(turn - 0.01), Outcome::Pass);
        assert_ne!(of(turn + 0.01), Outcome::Pass);
    }

    /// A battery of 24 V is two of 12 V in series, and each of them misses half of what is lost: 0.2 V of 12 V are 0.4 V of
    /// 24 V.
    #[test]
    fn a_system_of_24_volts_may_lose_twice_as_much() {
        let of = |milliohm: f64| {
            let text = plan(&format!(", cable_resistance: {milliohm} mohm"));
            let text = text.replace("voltage: 12 V", "voltage: 24 V").replace("voltage: 14.2 V", "voltage: 28.4 V");
            let check = check(&text, "SUPPLY-11", "job");
            let working = check.working.expect("worked");
            assert!((working.limit.high - 0.4).abs() < 1e-9, "{}", working.limit);
            (check.outcome, working.result.high)
        };
        let (outcome, lost) = of(6.0);
        assert!(outcome == Outcome::Pass && lost > 0.2, "{lost} V");
        let turn = 6.0 * 0.4 / lost;
        assert_eq!(of(turn - 0.02).0, Outcome::Pass);
        assert_ne!(of(turn + 0.02).0, Outcome::Pass);
    }

    /// Of an unknown cable (0.5 to 2 mohm) nothing is said while the sum stays under 100 A; beyond, it is asked for.
    #[test]
    fn a_cable_of_which_nothing_is_known_is_asked_for_only_where_it_matters() {
        assert_eq!(outcome(&plan(""), "SUPPLY-11", "job"), Outcome::Pass);
        let open = check(&plan("").replace("power: 500 W", "power: 2200 W"), "SUPPLY-11", "job");
        assert_eq!(open.outcome, Outcome::Open);
        assert!(open.turns.iter().any(|turn| turn.place.path() == "vehicle.alternator.cable_resistance"));
    }

    #[test]
    fn it_has_nothing_to_say_of_an_added_cable_or_without_gear() {
        let cable =
            "  big: {from: alternator.positive, to: battery.positive, size: 1/0 AWG, conductor: copper, length: 1 m}\n";
        let added = plan("") + cable;
        assert_eq!(outcome(&added, "SUPPLY-11", "job"), Outcome::NotApplicable);
        assert_eq!(outcome("plan: 1\namplifiers: {amp: {}}\n", "SUPPLY-11", "job"), Outcome::NotApplicable);
    }
}
