//! A converter has nothing to give beyond what it is made for, however short of it the vehicle is.

use super::charge_spare::{found, inputs, set_lower};
use crate::judge::{Judged, Rule, Severity, Subjects, at_most};
use crate::solve::{Case, Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-18",
    name: "converter-overload",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("converter_overload.md"),
    check: Subjects::Job(check),
    slips: &[super::Slip::Past("vehicle.factory_load.running"), super::Slip::Past("vehicle.alternator.rated")],
};

fn check(job: &Job<'_>) -> Judged {
    if !job.plan.has_converter() {
        return Err(Undecided::NotApplicable("an alternator charges this vehicle (SUPPLY-01, SUPPLY-02, SUPPLY-19)"));
    }
    // At a standstill, where a converter may be held back.
    let demand = job.charge_demand(Case::IdleProgramme)?;
    Ok(at_most(demand.asked(), demand.spare)
        .formula("average draw of what no charger feeds + what chargers take <= converter's output - the vehicle's own draw")
        .given_all(inputs(&demand))
        .limit_from("a converter gives no more than it is made for")
        .verdict(|is| {
            let (asked, spares) = (is.result(), is.limit());
            let (takes, mend) = if demand.chargers.is_empty() {
                ("the added gear takes", "fit gear that asks for less".to_owned())
            } else {
                ("a charging battery and the music take", set_lower(&demand))
            };
            found(&demand, format!("{takes} {asked}, the converter spares {spares}"))
                .because(
                    "asked for more it limits or switches off, the battery sinks, and steering assistance, brakes and control \
                     units go with it",
                )
                .mend(format!("{mend}; the vehicle's maker says what its converter may give to added loads"))
        }))
}

#[cfg(test)]
mod tests {
    use super::super::charge_spare::tests::plan;
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, judged, outcome};

    const CODE: &str = "SUPPLY-18";

    fn van(converter: &str, charger: &str) -> String {
        let vehicle = format!("high_voltage: electric\n  alternator: {{{converter}}}");
        plan(&vehicle, &format!("kind: charger, efficiency: 90 %, {charger}"))
    }

    /// A converter of 75 A, 40 A for the vehicle: 35 A to spare. 31.5 A at 90 % take all of them.
    #[test]
    fn a_charger_takes_no_more_than_the_converter_spares() {
        let of = |charger: &str| outcome(&van("rated: 75 A", charger), CODE, "job");
        assert_eq!((of("rated: 31.5 A"), of("rated: 31.6 A")), (Outcome::Pass, Outcome::Fail));
        let found = finding(&van("rated: 75 A", "rated: 60 A"), CODE, "job");
        assert!(found.title.ends_with("take 66.7 A, the converter spares 35 A"), "{}", found.title);
        assert!(found.mend.contains("to at most 31 A"), "{}", found.mend);
    }

    /// 70 A at a standstill leave 30 A.
    #[test]
    fn what_it_gives_at_a_standstill_counts() {
        assert_eq!(outcome(&van("rated: 75 A, at_idle: 70 A", "rated: 30 A"), CODE, "job"), Outcome::Fail);
        assert_eq!(outcome(&van("rated: 75 A, at_idle: 70 A", "rated: 27 A"), CODE, "job"), Outcome::Pass);
    }

    /// The vehicle's own draw is 25 to 60 A where it is not stated.
    #[test]
    fn a_draw_that_is_not_stated_leaves_it_open() {
        let unstated = van("rated: 75 A", "rated: 30 A").replace("running: 40 A", "");
        let open = check(&unstated, CODE, "job");
        assert_eq!(open.outcome, Outcome::Open);
        assert!(open.turns.iter().any(|turn| turn.place.path() == "vehicle.factory_load.running"), "{:?}", open.turns);
    }

    #[test]
    fn music_alone_overloads_it_too_and_is_told_once() {
        let text = super::super::trial::plan("high_voltage: hybrid\n  alternator: {rated: 50 A, voltage: 14.2 V}", "");
        let judged = judged(&text);
        let causes: Vec<&str> = judged
            .failed()
            .filter(|is| is.follows.is_none())
            .map(|is| is.rule.code)
            .filter(|code| code.starts_with("SUPPLY"))
            .collect();
        assert!(
            causes.contains(&CODE) && !causes.contains(&"SUPPLY-01") && !causes.contains(&"SUPPLY-02"),
            "{causes:?}"
        );
        assert!(finding(&text, CODE, "job").title.starts_with("the added gear takes"));
    }

    #[test]
    fn an_alternator_is_not_its_business() {
        assert_eq!(
            outcome(&plan("high_voltage: none", "kind: charger, rated: 100 A"), CODE, "job"),
            Outcome::NotApplicable
        );
        assert_eq!(outcome("plan: 1\nvehicle: {high_voltage: electric}\n", CODE, "job"), Outcome::NotApplicable);
    }
}
