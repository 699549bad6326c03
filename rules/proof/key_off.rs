//! What the vehicle draws asleep, once the work is done.

use super::site;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::Lamp;
use crate::quantity::{Current, Quantity, Range};
use crate::solve::{Job, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PROOF-04",
    name: "measured-key-off",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("key_off.md"),
    check: Subjects::Job(check),
    slips: &[super::Slip::Past("measured.key_off")],
};

fn check(job: &Job<'_>) -> Judged {
    let reading = site::reading(job.plan.measured.as_ref().and_then(|measured| measured.key_off))?;
    let limit = job.house.limits.key_off_current;
    let factory = Place::of("vehicle.factory_load.key_off");
    let before = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.factory_load.as_ref());
    let before = before.and_then(|load| load.key_off);
    let known = before.map(|before| Input::stated("before the work", before, factory.clone()));
    Ok(at_most(reading, limit.value)
        .formula("current out of the battery with everything off and the vehicle asleep")
        .given(Input::stated("reading", reading, Place::of("measured.key_off")))
        .given_all(known)
        .given(Input::limit("limit", &limit))
        .limit_from(limit.source)
        .verdict(|is| {
            let title = format!("{reading} drawn with everything off, {} is the most", is.limit());
            let finding = Finding::new(Place::of("measured.key_off"), title)
                .because("what flows while the vehicle stands empties the battery, and on some morning it will not crank");
            let finding = match awake(job) {
                Some(lamp) => finding.follows("PROOF-07", lamp),
                None => finding.follows("SUPPLY-05", Place::of("job")),
            };
            match added(reading, before, job) {
                Some((more, before)) => finding
                    .label(format!("{more} more than before the work"))
                    .also(factory, format!("{before} before the work"))
                    .mend("pull the new fuses one by one: the gear behind the one that brings the current down does not sleep"),
                None => finding.mend(
                    "wait until the vehicle sleeps and measure again, then pull fuses one by one to find what stays awake",
                ),
            }
        }))
}

/// The lamp of the first amplifier that stays lit with the system off.
fn awake(job: &Job<'_>) -> Option<Place> {
    let indicators = &job.plan.measured.as_ref()?.indicators;
    let (name, _) = indicators.iter().find(|(_, lamps)| lamps.off == Some(Lamp::Lit))?;
    Some(Place::of(format!("measured.indicators.{name}.off")))
}

/// What flows beyond the factory's own draw, where that was stated and the difference is more than readings differ.
fn added(
    reading: Quantity<Current>,
    before: Option<Quantity<Current>>,
    job: &Job<'_>,
) -> Option<(Range<Current>, Quantity<Current>)> {
    let before = before?;
    let more = reading.base() - before.base();
    (reading.base() > before.base() * site::over_prediction(job)).then_some((Range::point(more), before))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(before: &str, reading: &str) -> String {
        format!("plan: 1\nvehicle: {{factory_load: {{{before}}}}}\nmeasured: {{{reading}}}\n")
    }

    #[test]
    fn fifty_milliamperes_pass_and_one_more_fails() {
        assert_eq!(outcome(&plan("", "key_off: 50 mA"), "PROOF-04", "job"), Outcome::Pass);
        assert_eq!(outcome(&plan("", "key_off: 51 mA"), "PROOF-04", "job"), Outcome::Fail);
        assert_eq!(outcome(&plan("", "charging: 14.1 V"), "PROOF-04", "job"), Outcome::NotApplicable);
    }

    #[test]
    fn what_the_work_added_is_told_where_the_earlier_reading_is_known() {
        let finding = |before: &str| check(&plan(before, "key_off: 80 mA"), "PROOF-04", "job").finding.unwrap();
        assert_eq!(finding("key_off: 22 mA").at.text, "58 mA more than before the work");
        assert_eq!(finding("key_off: 70 mA").at.text, "");
        assert_eq!(finding("").at.text, "");
    }

    #[test]
    fn an_amplifier_that_stays_lit_is_the_reason() {
        let lit = "key_off: 800 mA, indicators: {amp: {off: lit}}";
        let text = plan("", lit) + "amplifiers: {amp: {}}\n";
        let (code, place) = check(&text, "PROOF-04", "job").finding.unwrap().follows.unwrap();
        assert_eq!((code, place.path().as_str()), ("PROOF-07", "measured.indicators.amp.off"));
        assert_eq!(outcome(&text, "PROOF-07", &place.path()), Outcome::Fail);
    }

    /// Readings differ by a quarter: from 48 to 60 mA nothing is sure to have come.
    #[test]
    fn a_quarter_more_than_before_the_work_is_not_yet_the_work() {
        let of =
            |reading: &str| check(&plan("key_off: 48 mA", &format!("key_off: {reading}")), "PROOF-04", "job").finding;
        let is_added = |reading: &str| of(reading).expect("it fails").mend.starts_with("pull the new fuses");
        assert_eq!((is_added("60 mA"), is_added("61 mA")), (false, true));
    }
}
