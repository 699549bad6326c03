//! A waiver is a signature: it needs a reason, a name and an end, and something to answer for.

use crate::judge::{Check, Finding, Judged, Offer, Outcome, Rule, Severity, Subjects, Verdict};
use crate::plan::Waiver;
use crate::solve::{Job, Place};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "PLAN-06",
    name: "waiver-that-does-not-hold",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("waiver.md"),
    check: Subjects::Checks(check),
    slips: &[
        super::Slip::Say(
            "waivers",
            &[
                "[{rule: SUPPLY-05, at: vehicle, reason: customer drives it every day, by: workshop, until: 2025-06-30}]",
            ],
        ),
        super::Slip::Say(
            "waivers",
            &["[{rule: GROUND-07, at: grounds, reason: coated at the next service, by: workshop}]"],
        ),
    ],
};

fn check(job: &Job<'_>, checks: &[Check]) -> Vec<(Place, Judged)> {
    let waivers = job.plan.waivers.iter().enumerate();
    waivers.map(|(at, waiver)| (Place::of(format!("waivers.{at}")), Ok(verdict(at, waiver, job, checks)))).collect()
}

fn verdict(at: usize, waiver: &Waiver, job: &Job<'_>, checks: &[Check]) -> Verdict {
    let finding = |key: &str, title: String, mend: String| {
        let why = "a waiver is a signature: it says who answers for what, why and until when";
        Verdict::fail(Finding::new(Place::of(format!("waivers.{at}{key}")), title).because(why).mend(mend))
    };
    if let Some(missing) = missing(waiver) {
        return finding("", format!("a waiver without {missing}"), format!("add {missing}, or take it out"));
    }
    let word = waiver.rule.as_deref().unwrap_or_default().trim();
    let of_the_house = || checks.iter().map(|check| check.rule).find(|rule| rule.is_called(word));
    let Some(rule) = crate::rules::find(word).or_else(of_the_house) else {
        let near = crate::rules::near(word).map_or("name a rule by its code".into(), |near| format!("write {near}"));
        return finding(".rule", format!("no rule is called `{}`", words::excerpt(word, 40)), near);
    };
    if rule.judges_checks() {
        let title = format!("{} cannot be waived", rule.code);
        return finding(".rule", title, "waive the findings themselves, one by one".into());
    }
    if let Some(until) = waiver.until.filter(|_| waiver.has_expired(job.house.today)) {
        let mend = "mend what it was for, or have it signed again with a new day".into();
        return finding(".until", format!("a waiver that ended on {until}"), mend);
    }
    // Whoever signed it signs again, or it goes.
    let finding = |key: &str, title: String, mend: String| {
        let mut verdict = finding(key, title, mend);
        let out = Offer::new("take the waiver out").remove(Place::of(format!("waivers.{at}")));
        verdict.finding = verdict.finding.map(|finding| Box::new(finding.offer(out)));
        verdict
    };
    let is_danger = |check: &&Check| check.outcome == Outcome::Fail && check.severity == Severity::Danger;
    let until = waiver.until.filter(|_| waiver.is_far_ahead(job.house));
    if let (Some(until), Some(_)) = (until, checks.iter().filter(|check| waiver.is_about(check)).find(is_danger)) {
        let most = job.house.limits.danger_waiver.value;
        let title = format!("a danger waived until {until}: nobody answers for one farther ahead than {most}");
        return finding(".until", title, format!("mend it, or have it signed for no more than {most}"));
    }
    let used = checks.iter().any(|check| check.waived == Some(at));
    if used { Verdict::pass() } else { idle(waiver, rule, checks, &finding) }
}

/// A waiver that accepts nothing: either what it was for is mended, or it never was, or it cannot be accepted.
fn idle(waiver: &Waiver, rule: &Rule, checks: &[Check], finding: &dyn Fn(&str, String, String) -> Verdict) -> Verdict {
    let code = rule.code;
    let element = words::excerpt(waiver.at.as_deref().unwrap_or_default().trim(), 60);
    let about: Vec<&Check> = checks.iter().filter(|check| waiver.is_about(check)).collect();
    if about.iter().any(|check| check.outcome == Outcome::Open) {
        let title = format!("{code} at `{element}` is an open danger, which nobody can waive");
        return finding(".at", title, "find out the fact that decides it".into());
    }
    if about.iter().any(|check| check.waived.is_some()) {
        let title = format!("{code} at `{element}` is waived twice");
        return finding(".at", title, "keep one of the two".into());
    }
    let judged = checks.iter().filter(|check| check.rule.code == code).map(|check| check.subject.path());
    let known: Vec<String> = judged.collect();
    let near = words::only_near(&element, known.iter().map(String::as_str)).filter(|_| about.is_empty());
    let mend = match near {
        Some(near) => format!("write `at: {near}`, or take the waiver out"),
        None => "take it out".into(),
    };
    finding(".at", format!("a waiver for nothing: {code} finds nothing at `{element}`"), mend)
}

/// What a signature lacks, in words.
fn missing(waiver: &Waiver) -> Option<String> {
    let blank = |words: &Option<String>| words.as_ref().is_none_or(|words| words.trim().is_empty());
    let parts = [
        (blank(&waiver.rule), "a rule"),
        (blank(&waiver.at), "an element (`at`)"),
        (blank(&waiver.reason), "a reason"),
        (blank(&waiver.by), "a name (`by`)"),
        (waiver.until.is_none(), "a last day (`until`)"),
    ];
    let lacks: Vec<&str> = parts.iter().filter(|(missing, _)| *missing).map(|(_, what)| *what).collect();
    (!lacks.is_empty()).then(|| words::all(&lacks))
}

#[cfg(test)]
mod tests {
    use crate::house::House;
    use crate::judge::{Check, Outcome, judge};
    use crate::plan::{self, Day};

    const PAINTED: &str = "plan: 1\ngrounds: {floor: {on: body-sheet, surface: painted}}\n";

    fn judged(waiver: &str, today: &str) -> Vec<Check> {
        let reading = plan::read(format!("{PAINTED}waivers:\n  - {waiver}\n"));
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        let house = House { today: Some(Day::read(today).expect("a day")), ..House::default() };
        judge(&reading, &house, &crate::rules::all()).checks
    }

    fn find<'a>(checks: &'a [Check], code: &str) -> &'a Check {
        checks.iter().find(|check| check.rule.code == code && check.outcome != Outcome::NotApplicable).expect("judged")
    }

    fn title(waiver: &str) -> String {
        let checks = judged(waiver, "2026-11-27");
        assert!(find(&checks, "GROUND-01").waived.is_none());
        find(&checks, "PLAN-06").finding.as_ref().expect("it does not hold").title.clone()
    }

    const SIGNED: &str = "{rule: GROUND-01, at: grounds.floor, reason: test rig, by: shop lead, until: 2027-06-30}";

    #[test]
    fn a_danger_is_waived_for_a_year_and_no_longer() {
        for (until, holds) in [("2027-11-28", true), ("2027-11-29", false), ("2099-12-31", false)] {
            let checks = judged(&SIGNED.replace("2027-06-30", until), "2026-11-27");
            assert_eq!(find(&checks, "GROUND-01").waived.is_some(), holds, "{until}");
            assert_eq!(find(&checks, "PLAN-06").outcome == Outcome::Pass, holds, "{until}");
        }
        let title = title(&SIGNED.replace("2027-06-30", "2099-12-31"));
        assert_eq!(title, "a danger waived until 2099-12-31: nobody answers for one farther ahead than 366 days");
        let advice = SIGNED.replace("GROUND-01", "GROUND-07").replace("2027-06-30", "2099-12-31");
        let coated = PAINTED.replace("painted", "bare-metal, coated_after: false");
        let reading = plan::read(format!("{coated}waivers:\n  - {advice}\n"));
        let house = House { today: Some(Day::read("2026-11-27").expect("a day")), ..House::default() };
        let checks = judge(&reading, &house, &crate::rules::all()).checks;
        assert!(find(&checks, "GROUND-07").waived.is_some(), "no danger");
        assert_eq!(find(&checks, "PLAN-06").outcome, Outcome::Pass);
    }

    #[test]
    fn a_waiver_of_a_danger_that_is_mended_is_idle_however_long_it_was_signed_for() {
        let waiver = SIGNED.replace("2027-06-30", "2099-12-31");
        let mended = PAINTED.replace("painted", "bare-metal");
        let reading = plan::read(format!("{mended}waivers:\n  - {waiver}\n"));
        let house = House { today: Some(Day::read("2026-11-27").expect("a day")), ..House::default() };
        let checks = judge(&reading, &house, &crate::rules::all()).checks;
        let title = &find(&checks, "PLAN-06").finding.as_ref().expect("it does not hold").title;
        assert!(!title.starts_with("a danger"), "{title}");
    }

    #[test]
    fn a_signed_waiver_accepts_the_finding_up_to_its_last_day() {
        for (today, holds) in [("2027-06-30", true), ("2027-07-01", false)] {
            let checks = judged(SIGNED, today);
            assert_eq!(find(&checks, "GROUND-01").waived.is_some(), holds, "{today}");
            assert_eq!(find(&checks, "PLAN-06").outcome == Outcome::Pass, holds, "{today}");
            assert_eq!(find(&checks, "GROUND-01").outcome, Outcome::Fail, "it stays visible");
        }
    }

    #[test]
    fn what_the_signature_lacks_is_named() {
        assert_eq!(
            title("{rule: GROUND-01, at: grounds.floor, until: 2027-06-30}"),
            "a waiver without a reason and a name (`by`)"
        );
    }

    #[test]
    fn a_waiver_for_nothing_is_told_with_the_nearest_thing() {
        let slip = SIGNED.replace("grounds.floor", "grounds.flor");
        assert_eq!(title(&slip), "a waiver for nothing: GROUND-01 finds nothing at `grounds.flor`");
        assert_eq!(title(&SIGNED.replace("GROUND-01", "GROUND-99")), "no rule is called `GROUND-99`");
        assert_eq!(title(&SIGNED.replace("GROUND-01", "PLAN-09")), "PLAN-09 cannot be waived");
    }

    #[test]
    fn an_open_danger_cannot_be_waived() {
        let plan = "plan: 1\ngrounds: {floor: {on: body-sheet}}\nwaivers:\n  - ";
        let reading = plan::read(format!("{plan}{SIGNED}\n"));
        let checks = judge(&reading, &House::default(), &crate::rules::all()).checks;
        let title = &find(&checks, "PLAN-06").finding.as_ref().expect("it does not hold").title;
        assert_eq!(title, "GROUND-01 at `grounds.floor` is an open danger, which nobody can waive");
    }

    #[test]
    fn the_nearest_thing_that_its_rule_judges_is_what_may_be_meant() {
        let mend = |waiver: &str| {
            let checks = judged(waiver, "2026-11-27");
            find(&checks, "PLAN-06").finding.as_ref().expect("it does not hold").mend.clone()
        };
        let slip = SIGNED.replace("grounds.floor", "grounds.flor");
        assert_eq!(mend(&slip), "write `at: grounds.floor`, or take the waiver out");
        // Nothing of WIRE-01 is judged anywhere near.
        assert_eq!(mend(&slip.replace("GROUND-01", "WIRE-01")), "take it out");
    }
}
