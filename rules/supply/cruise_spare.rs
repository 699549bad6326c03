//! What the alternator cannot give on the road never comes back.

use super::site::enough;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::solve::{Case, Job, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-02",
    name: "supply-cruise",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("cruise_spare.md"),
    check: Subjects::Job(check),
    slips: &[super::Slip::Past("vehicle.factory_load.running")],
};

fn check(job: &Job<'_>) -> Judged {
    let balance = job.balance(Case::CruiseProgramme)?;
    let (asked, spare) = (balance.asked.range, balance.spare);
    let output = || enough(job, Case::CruiseProgramme, |alternator, output| alternator.rated = Some(output));
    Ok(at_most(asked, spare)
        .formula("average draw of the added gear <= alternator's rated output - the vehicle's own draw")
        .given(Input::known("average draw of the added gear", &balance.asked))
        .given(Input::known("alternator's rated output", &balance.output))
        .given(Input::known("the vehicle's own draw", &balance.running))
        .limit_from("what the alternator gives beyond that comes out of the battery")
        .verdict(|is| {
            let (takes, spares) = (is.result(), is.limit());
            let finding = Finding::new(
                Place::of("vehicle.alternator.rated"),
                format!("the added gear takes {takes} on average, the alternator spares {spares} on the road"),
            )
            .label(format!("gives {}, the vehicle takes {} of it", balance.output.range, balance.running.range))
            .because("the battery is emptied while the engine runs, and no drive charges it again")
            .mend(format!(
                "fit an alternator of at least {}, or gear that asks for less",
                output().unwrap_or_else(|| (asked + balance.running.range).at_high())
            ));
            if job.plan.has_converter() { finding.follows("SUPPLY-21", Place::of("job")) } else { finding }
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    /// 500 W at 80 %, a third of it on average: some 16 A with the idle current.
    fn plan(rated: &str) -> String {
        super::super::trial::plan(&format!("alternator: {{voltage: 14.2 V{rated}}}"), "")
    }

    fn of(rated: &str) -> Outcome {
        outcome(&plan(&format!(", rated: {rated}")), "SUPPLY-02", "job")
    }

    #[test]
    fn what_the_alternator_spares_on_the_road_is_enough_or_not() {
        assert_eq!((of("60 A"), of("50 A")), (Outcome::Pass, Outcome::Fail));
    }

    #[test]
    fn the_verdict_turns_at_what_is_asked() {
        let working = check(&plan(", rated: 110 A"), "SUPPLY-02", "job").working;
        let asked = working.map(|working| working.result.high).unwrap_or_default();
        assert!(asked > 15.0 && asked < 17.0, "{asked}");
        assert_eq!(of(&format!("{} A", 40.0 + asked + 0.01)), Outcome::Pass);
        assert_ne!(of(&format!("{} A", 40.0 + asked - 0.01)), Outcome::Pass);
    }

    /// An alternator of which nothing is known gives 70 to 150 A: 30 A and more to spare.
    #[test]
    fn any_alternator_will_do_for_little_and_what_decides_is_asked_for() {
        assert_eq!(outcome(&plan(""), "SUPPLY-02", "job"), Outcome::Pass);
        let open = check(&plan("").replace("power: 500 W", "power: 1500 W"), "SUPPLY-02", "job");
        assert_eq!(open.outcome, Outcome::Open);
        assert!(open.turns.iter().any(|turn| turn.place.path() == "vehicle.alternator.rated"), "{:?}", open.turns);
    }

    #[test]
    fn without_gear_nothing_is_asked() {
        assert_eq!(outcome("plan: 1\namplifiers: {amp: {}}\n", "SUPPLY-02", "job"), Outcome::NotApplicable);
    }

    /// 16 A asked and 40 A of the vehicle's own.
    #[test]
    fn it_says_what_the_alternator_would_have_to_give() {
        let mend = finding(&plan(", rated: 50 A"), "SUPPLY-02", "job").mend;
        let amperes = mend.split(' ').find_map(|word| word.parse::<f64>().ok()).expect(&mend);
        assert!((55.0..58.0).contains(&amperes), "{mend}");
    }
}
