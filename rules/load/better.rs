//! Another arrangement of the same coils gets more out of the amplifier.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_least};
use crate::plan::{Amplifier, Load};
use crate::quantity::{Power, Range, Resistance};
use crate::solve::arrangements::Arrangement;
use crate::solve::loads::{Arranged, MOST_UNEVEN};
use crate::solve::{Decided, Job, Origin, Thing, Undecided, coils, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-08",
    name: "better-arrangement",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("better.md"),
    check: Subjects::Load(check),
    slips: &[
        super::Slip::Rename("loads.*.coils.series|parallel", &["series", "parallel"]),
        super::Slip::Rename("loads.*.coils.*.*.series|parallel", &["series", "parallel"]),
    ],
};

/// The least gain worth the work: 1 dB, about the least change of level that is heard.
const WORTH: f64 = 1.25;
/// How many arrangements a finding lists.
const LISTED: usize = 3;

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    super::site::own_coils(load, job)?;
    let amplifier = loads::amplifier(load, job)?;
    let better = loads::arrangements(job, load)?;
    let present = present(load, job, amplifier)?;
    let ohms = Range::<Resistance>::point(present.is.ohms);
    let most = better.iter().map(|found| found.power.low()).fold(present.power.low(), f64::max);
    let limit = Range::<Power>::point(most / WORTH);
    // Above the largest rated load the power lies between two bounds; nobody promises more than the lower one.
    let sure = Range::<Power>::point(present.power.low());
    let is = at_least(sure, limit)
        .formula("power that is sure as joined >= power of the best / 1.25")
        .given(Input::from("load", ohms, Origin::Computed("coils in series and parallel")))
        .given(Input::from("power as joined", present.power, Origin::Computed("rated power, or what the coils take")))
        .given(Input::from("power of the best", Range::<Power>::point(most), Origin::Computed("every arrangement")))
        .limit_from("common practice, no published source (1 dB)");
    Ok(is.verdict(|_| {
        let most = Range::<Power>::point(most);
        let title = if present.power.low() < present.power.high() {
            format!("{} where these coils could get {most} for sure", present.power)
        } else {
            format!("{sure} where these coils could get {most}")
        };
        let offers: Vec<_> =
            better.iter().take(LISTED).map(|found| super::site::joined(load, &found.is.coils)).collect();
        let worth = better.iter().filter(|found| found.power.low() >= sure.low() * WORTH);
        let list: Vec<String> = worth.take(LISTED).map(words).collect();
        Finding::new(load.at("coils"), title)
            .label(format!("{ohms} together"))
            .also(loads::ratings_at(load, amplifier), "rated for more into another load")
            .because("the amplifier is made and rated for more into another load, at no cost but other joints")
            .mend(format!("join the coils as {}", list.join(", or as ")))
            .offers(offers)
    }))
}

/// An arrangement as a plan says it, with what it makes and gets.
fn words(found: &Arranged) -> String {
    let held = if found.rated.low() > found.power.low() { ", which a gain target must hold it to" } else { "" };
    let ohms = Range::<Resistance>::point(found.is.ohms);
    format!("{} ({ohms}, {}{held})", found.is.coils, found.power)
}

/// What the plan's own arrangement gets, where nothing else is wrong with it.
fn present(load: &Thing<'_, Load>, job: &Job<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Arranged> {
    let tree = loads::tree(load)?;
    if !loads::others_on_outputs(load, job).is_empty() {
        return Err(Undecided::NotApplicable("several loads on the same outputs"));
    }
    let mut names: Vec<_> = tree.coils().into_iter().map(|coil| (&coil.driver, coil.number)).collect();
    names.sort_unstable();
    if names.windows(2).any(|pair| pair[0] == pair[1]) {
        return Err(Undecided::NotApplicable("a coil twice (LOAD-09 reports that)"));
    }
    let ohms = loads::own_ohms(load, job)?;
    if ohms < loads::least_ohms(load, amplifier)? * (1.0 - 1e-9) {
        return Err(Undecided::NotApplicable("under the smallest load (LOAD-01 or LOAD-02 reports that)"));
    }
    let rated = loads::power(load, job)?;
    let units = loads::units(job, tree)?;
    let work: Vec<f64> =
        coils::shares(job, tree)?.iter().zip(&units).map(|(share, unit)| share / unit.rating).collect();
    let (hardest, least) =
        (work.iter().copied().fold(0.0, f64::max), work.iter().copied().fold(f64::INFINITY, f64::min));
    if hardest > least * MOST_UNEVEN * (1.0 + 1e-9) {
        return Err(Undecided::NotApplicable("unequal shares (LOAD-06 reports that)"));
    }
    Ok(Arranged::of(Arrangement { coils: tree.clone(), ohms, hardest, least }, rated))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(amplifier: &str, rms: &str, coils: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{{amplifier}}}}}\ndrivers: {{a: {{{rms} coils: [4 ohm, 4 ohm]}}, b: {{{rms} coils: \
             [4 ohm, 4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1], coils: {coils}}}}}\n"
        )
    }

    const SERIES: &str = "{series: [a.1, a.2]}";

    fn rated(at_8: &str, least: &str) -> String {
        format!("minimum_load: {least}, rated: [{{load: 8 ohm, power: {at_8}}}, {{load: 2 ohm, power: 500 W}}]")
    }

    #[test]
    fn one_decibel_less_than_the_best_passes_and_a_watt_less_fails() {
        assert_eq!(
            outcome(&plan(&rated("400 W", "2 ohm"), "rms: 500 W,", SERIES), "LOAD-08", "loads.bass"),
            Outcome::Pass
        );
        assert_eq!(
            outcome(&plan(&rated("399 W", "2 ohm"), "rms: 500 W,", SERIES), "LOAD-08", "loads.bass"),
            Outcome::Fail
        );
    }

    #[test]
    fn what_the_amplifier_is_not_made_for_and_what_the_coils_do_not_take_counts_for_nothing() {
        let made_for_4 = plan(&rated("200 W", "4 ohm"), "rms: 500 W,", SERIES);
        assert_eq!(outcome(&made_for_4, "LOAD-08", "loads.bass"), Outcome::Pass);
        let weak = |rms: &str| plan(&rated("200 W", "2 ohm"), rms, SERIES);
        assert_eq!(outcome(&weak("rms: 250 W,"), "LOAD-08", "loads.bass"), Outcome::Pass);
        assert_eq!(outcome(&weak("rms: 251 W,"), "LOAD-08", "loads.bass"), Outcome::Fail);
    }

    #[test]
    fn the_better_ones_are_listed_best_first() {
        let sixteen = "{series: [a.1, a.2, b.1, b.2]}";
        let amplifier = "minimum_load: 1 ohm, rated: [{load: 16 ohm, power: 100 W}, {load: 4 ohm, power: 300 W}, \
            {load: 1 ohm, power: 900 W}]";
        let mend = check(&plan(amplifier, "rms: 400 W,", sixteen), "LOAD-08", "loads.bass").finding.unwrap().mend;
        assert_eq!(
            mend,
            "join the coils as {parallel: [a.1, a.2, b.1, b.2]} (1 ohm, 800 W, which a gain target must hold it to), or \
             as {parallel: [{series: [a.1, a.2]}, {series: [b.1, b.2]}]} (4 ohm, 300 W)"
        );
    }

    #[test]
    fn bridged_outputs_have_a_smallest_load_of_their_own() {
        let bridged = "minimum_load: 2 ohm, rated: [{load: 2 ohm, power: 90 W}], bridged: {rated: [{load: 8 ohm, power: \
            200 W}, {load: 2 ohm, power: 500 W}]}";
        let text = plan(bridged, "rms: 500 W,", SERIES).replace("[1]", "[1, 2]");
        assert_eq!(outcome(&text, "LOAD-08", "loads.bass"), Outcome::Pass);
        let made_for_2 = text.replace("bridged: {", "bridged: {minimum_load: 2 ohm, ");
        assert_eq!(outcome(&made_for_2, "LOAD-08", "loads.bass"), Outcome::Fail);
    }

    #[test]
    fn missing_facts_leave_it_open() {
        for (text, need) in [
            (plan(&rated("200 W", "2 ohm"), "", SERIES), "drivers.a.rms"),
            (plan("rated: [{load: 8 ohm, power: 90 W}]", "rms: 500 W,", SERIES), "amplifiers.amp.minimum_load"),
        ] {
            let check = check(&text, "LOAD-08", "loads.bass");
            assert_eq!(
                (check.outcome, check.needs.first().map(crate::solve::Place::path)),
                (Outcome::Open, Some(need.to_owned()))
            );
        }
    }

    /// Into 16 ohm between 75 W and 300 W, where the best gives 300 W.
    #[test]
    fn above_the_largest_rated_load_only_what_is_sure_counts() {
        let amplifier = "minimum_load: 4 ohm, rated: [{load: 4 ohm, power: 300 W}]";
        let text = plan(amplifier, "rms: 500 W,", "{series: [a.1, a.2, b.1, b.2]}");
        let finding = check(&text, "LOAD-08", "loads.bass").finding.expect("it fails");
        assert_eq!(finding.title, "75 to 300 W where these coils could get 300 W for sure");
        assert!(finding.mend.contains("(4 ohm, 300 W)"), "{}", finding.mend);
    }

    #[test]
    fn where_something_else_is_wrong_that_is_told_first() {
        let of = |coils: &str| outcome(&plan(&rated("200 W", "2 ohm"), "rms: 500 W,", coils), "LOAD-08", "loads.bass");
        assert_eq!(of("a.1"), Outcome::NotApplicable);
        assert_eq!(of("{series: [a.1, a.1]}"), Outcome::NotApplicable);
        assert_eq!(of("{parallel: [a.1, a.2, b.1]}"), Outcome::NotApplicable);
        assert_eq!(of("{series: [a.1, {parallel: [a.2, b.1]}]}"), Outcome::NotApplicable);
    }

    #[test]
    fn what_gets_less_than_a_decibel_more_is_not_listed() {
        let four = "{series: [a.1, a.2, b.1, b.2]}";
        let amplifier = "minimum_load: 1 ohm, rated: [{load: 16 ohm, power: 100 W}, {load: 4 ohm, power: 120 W}, \
            {load: 1 ohm, power: 400 W}]";
        let mend =
            check(&plan(amplifier, "rms: 400 W,", four), "LOAD-08", "loads.bass").finding.expect("it fails").mend;
        assert_eq!(mend, "join the coils as {parallel: [a.1, a.2, b.1, b.2]} (1 ohm, 400 W)");
    }

    /// Two coils of 4 ohm make 2 ohm.
    #[test]
    fn at_the_smallest_load_it_is_judged_and_under_it_another_rule_speaks() {
        let of = |least: &str| plan(&rated("200 W", least), "rms: 500 W,", "{parallel: [a.1, a.2]}");
        assert_eq!(outcome(&of("2 ohm"), "LOAD-08", "loads.bass"), Outcome::Pass);
        assert_eq!(outcome(&of("2.01 ohm"), "LOAD-08", "loads.bass"), Outcome::NotApplicable);
    }

    /// In parallel 4 ohm work 1.25 times as hard as 5 ohm.
    #[test]
    fn shares_a_decibel_apart_are_judged_and_shares_further_apart_are_not() {
        let of = |ohms: &str| {
            plan("minimum_load: 2 ohm, rated: [{load: 2 ohm, power: 500 W}]", "rms: 500 W,", "{parallel: [a.1, b.1]}")
                .replace("b: {rms: 500 W, coils: [4 ohm", &format!("b: {{rms: 500 W, coils: [{ohms}"))
        };
        assert_eq!(outcome(&of("5 ohm"), "LOAD-08", "loads.bass"), Outcome::Pass);
        assert_eq!(outcome(&of("5.1 ohm"), "LOAD-08", "loads.bass"), Outcome::NotApplicable);
    }
}
