//! What the alternator cannot give at idle comes out of the battery.

use super::site::{enough, short_of};
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::solve::{Case, Job, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-01",
    name: "supply-idle",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("idle_spare.md"),
    check: Subjects::Job(check),
    slips: &[super::Slip::Past("vehicle.alternator.at_idle"), super::Slip::Past("vehicle.factory_load.running")],
};

fn check(job: &Job<'_>) -> Judged {
    let balance = job.balance(Case::IdleProgramme)?;
    let (asked, spare) = (balance.asked.range, balance.spare);
    let output = || enough(job, Case::IdleProgramme, |alternator, output| alternator.at_idle = Some(output));
    Ok(at_most(asked, spare)
        .formula("average draw of the added gear <= alternator output at hot idle - the vehicle's own draw")
        .given(Input::known("average draw of the added gear", &balance.asked))
        .given(Input::known("alternator output at hot idle", &balance.output))
        .given(Input::known("the vehicle's own draw", &balance.running))
        .limit_from("what the alternator gives beyond that comes out of the battery")
        .verdict(|is| {
            let (takes, spares) = (is.result(), is.limit());
            let finding = Finding::new(
                Place::of("vehicle.alternator.at_idle"),
                format!("the added gear takes {takes} on average, the alternator spares {spares} at idle"),
            );
            short_of(finding, asked - spare, job)
            .label(format!("gives {}, the vehicle takes {} of it", balance.output.range, balance.running.range))
            .because("in traffic the battery is emptied by what is missing, and an empty battery ages fast")
            .mend(format!(
                "fit an alternator of {} at idle, or gear that asks for less; tell the customer to turn down while waiting",
                output().unwrap_or_else(|| (asked + balance.running.range).at_high())
            ))
            .follows(if job.plan.has_converter() { "SUPPLY-21" } else { "SUPPLY-02" }, Place::of("job"))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    /// 500 W at 80 %, a third of it on average: 208 W, some 15 A, with 1 A idle 16 A.
    fn plan(alternator: &str) -> String {
        super::super::trial::plan(&format!("alternator: {{{alternator}}}"), "")
    }

    fn of(at_idle: &str) -> Outcome {
        outcome(&plan(&format!("rated: 110 A, voltage: 14.2 V, at_idle: {at_idle}")), "SUPPLY-01", "job")
    }

    #[test]
    fn what_the_alternator_spares_at_idle_is_enough_or_not() {
        assert_eq!((of("60 A"), of("50 A")), (Outcome::Pass, Outcome::Fail));
    }

    /// The verdict turns where the spare current crosses what is asked.
    #[test]
    fn the_verdict_turns_at_what_is_asked() {
        let working = check(&plan("rated: 110 A, voltage: 14.2 V, at_idle: 80 A"), "SUPPLY-01", "job").working;
        let asked = working.map(|working| working.result.high).unwrap_or_default();
        assert!(asked > 15.0 && asked < 17.0, "{asked}");
        assert_eq!(of(&format!("{} A", 40.0 + asked + 0.01)), Outcome::Pass);
        assert_ne!(of(&format!("{} A", 40.0 + asked - 0.01)), Outcome::Pass);
    }

    /// 110 A rated give 44 to 71.5 A at hot idle: 4 to 31.5 A to spare.
    #[test]
    fn an_output_at_idle_that_is_not_stated_leaves_it_open_and_is_asked_for() {
        let open = check(&plan("rated: 110 A, voltage: 14.2 V"), "SUPPLY-01", "job");
        assert_eq!(open.outcome, Outcome::Open);
        assert!(open.turns.iter().any(|turn| turn.place.path() == "vehicle.alternator.at_idle"), "{:?}", open.turns);
    }

    #[test]
    fn a_converter_gives_as_much_at_a_standstill() {
        let electric =
            plan("rated: 110 A, voltage: 14.2 V").replace("body: steel", "body: steel\n  high_voltage: electric");
        assert_eq!(outcome(&electric, "SUPPLY-01", "job"), Outcome::Pass);
    }

    #[test]
    fn it_is_told_below_the_finding_for_the_road() {
        let short = check(&plan("rated: 50 A, voltage: 14.2 V, at_idle: 45 A"), "SUPPLY-01", "job");
        let follows = short.finding.and_then(|finding| finding.follows).expect("it follows");
        assert_eq!((follows.0, follows.1.path().as_str()), ("SUPPLY-02", "job"));
    }

    /// 1 F from 14.2 V to 12.6 V at rest holds 1.6 As: of a shortage of some ten ampere that is a sixth of a second.
    #[test]
    fn a_capacitor_is_told_to_carry_it_for_a_blink() {
        let text = plan("rated: 110 A, voltage: 14.2 V, at_idle: 45 A, control: fixed")
            .replace("body: steel", "body: steel\n  battery: {rest_voltage: 12.6 V}")
            + "capacitors: {cap: {capacitance: 1 F}}\n";
        let told = finding(&text, "SUPPLY-01", "job");
        let capacitor = told.also.iter().find(|also| also.place.path() == "capacitors.cap.capacitance").expect("told");
        let words = capacitor.text.strip_prefix("carries what is missing for ").expect(&capacitor.text);
        let milliseconds: f64 = words.split(' ').next().and_then(|first| first.parse().ok()).expect(words);
        assert!((100.0..250.0).contains(&milliseconds) && words.contains(" ms"), "{words}");
    }

    #[test]
    fn without_gear_nothing_is_asked() {
        assert_eq!(outcome("plan: 1\namplifiers: {amp: {}}\n", "SUPPLY-01", "job"), Outcome::NotApplicable);
    }

    /// Now the battery gives a part of it at a lower voltage, at which more is drawn.
    #[test]
    fn the_alternator_that_it_names_passes_and_an_ampere_less_does_not() {
        let mend = finding(&plan("rated: 110 A, voltage: 14.2 V, at_idle: 45 A"), "SUPPLY-01", "job").mend;
        let named = mend.strip_prefix("fit an alternator of ").and_then(|rest| rest.split(' ').next()).expect(&mend);
        let amperes: f64 = named.parse().expect("whole ampere");
        assert_eq!(of(&format!("{amperes} A")), Outcome::Pass, "{mend}");
        assert_ne!(of(&format!("{} A", amperes - 1.0)), Outcome::Pass, "{mend}");
    }

    /// 16 A asked and 40 A of the vehicle's own.
    #[test]
    fn it_says_what_the_alternator_would_have_to_give() {
        let mend = finding(&plan("rated: 50 A, voltage: 14.2 V, at_idle: 45 A"), "SUPPLY-01", "job").mend;
        let amperes: f64 = mend
            .strip_prefix("fit an alternator of ")
            .and_then(|rest| rest.split(' ').next()?.parse().ok())
            .expect(&mend);
        assert!((55.0..60.0).contains(&amperes), "{mend}");
    }
}
