//! A driver that gets far less than it takes tempts somebody to turn the gain into clipping.

use std::collections::BTreeMap;

use crate::judge::{Figure, Finding, Input, Judged, Outcome, Rule, Severity, Subjects, at_least};
use crate::plan::Load;
use crate::quantity::{Power, Range};
use crate::solve::{Job, Origin, Place, Thing, Undecided, all, coils, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-04",
    name: "driver-underpowered",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("under_driver.md"),
    check: Subjects::Load(check),
    slips: &[super::Slip::Past("drivers.*.rms")],
};

/// The least share of its rating that a driver should get (common practice, no published source).
const LEAST: f64 = 0.5;

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    super::site::own_coils(load, job)?;
    let amplifier = loads::amplifier(load, job)?;
    let tree = loads::tree(load)?;
    let given = loads::power(load, job)?;
    let shares = coils::shares(job, tree)?;
    let found = tree.each();
    // What a crossover leaves to tweeters and midranges is for its maker to say.
    let lowest = coils::plays_lowest(job, tree);
    let judged: Vec<usize> = (0..found.len()).filter(|at| lowest[*at]).collect();
    let ratings = all(judged.iter().map(|at| loads::coil_rating(job, found[*at].1)))?;
    let mut drivers: BTreeMap<&str, (f64, f64)> = BTreeMap::new();
    for (at, rating) in judged.into_iter().zip(&ratings) {
        let sums = drivers.entry(&found[at].1.driver).or_default();
        *sums = (sums.0 + shares[at], sums.1 + rating);
    }
    let least = drivers.into_iter().min_by(|one, other| (one.1.0 / one.1.1).total_cmp(&(other.1.0 / other.1.1)));
    let (driver, (share, rating)) = least.ok_or(Undecided::NotApplicable("no coils"))?;
    let gets: Range<Power> = given * share;
    let evenly = given.low() >= ratings.iter().sum::<f64>() * LEAST;
    let (rating, limit) = (Range::<Power>::point(rating), Range::<Power>::point(rating * LEAST));
    let place = Place::of(format!("drivers.{driver}.rms"));
    let is = at_least(gets, limit)
        .formula("power into the load x share of its coils >= rating of its coils here / 2")
        .given(Input::from("power into the load", given, Origin::Computed("rated points")))
        .given(Input::from("share of its coils", Figure::ratio(share, share), Origin::Computed("series and parallel")))
        .given(Input::from("rating of its coils here", rating, Origin::Stated(place.clone())))
        .limit_from("common practice, no published source");
    if is.outcome() == Outcome::Open {
        return Err(Undecided::need(loads::ratings_at(load, amplifier)));
    }
    Ok(is.verdict(|is| {
        Finding::new(load.at("coils"), format!("{} into coils rated for {rating}", is.result()))
            .label(format!("{} for `{driver}`", is.result()))
            .also(place, format!("at least {} suit it", is.limit()))
            .because("the gain of a weak amplifier gets turned up until it clips, and clipping heats the coil")
            .mend(format!("take an amplifier that gives this load at least {}, or a smaller driver", is.limit()))
            .follows(if evenly { "LOAD-06" } else { "LOAD-08" }, load.place())
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(rms: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{rated: [{{load: 4 ohm, power: 300 W}}]}}}}\ndrivers: {{sub: {{{rms} coils: [2 ohm, 2 ohm]}}}}\n\
             loads: {{bass: {{amplifier: amp, outputs: [1], coils: {{series: [sub.1, sub.2]}}}}}}\n"
        );
        outcome(&plan, "LOAD-04", "loads.bass")
    }

    #[test]
    fn half_of_its_rating_passes_and_less_fails() {
        assert_eq!(of("rms: 600 W,"), Outcome::Pass);
        assert_eq!(of("rms: 601 W,"), Outcome::Fail);
        assert_eq!(of(""), Outcome::Open);
    }

    /// Two amplifiers on the same coils: neither is told to join them otherwise, and what is wrong is told once.
    #[test]
    fn loads_that_share_coils_get_no_advice_and_one_finding() {
        let text = "plan: 1\namplifiers:\n  one: {minimum_load: 1 ohm, channels: 1, rated: [{load: 4 ohm, power: 300 W}, {load: 1 ohm, power: 900 W}]}\n  \
                    two: {minimum_load: 1 ohm, channels: 1, rated: [{load: 4 ohm, power: 300 W}, {load: 1 ohm, power: 900 W}]}\n\
                    drivers: {big: {rms: 2000 W, coils: [2 ohm, 2 ohm]}}\nloads:\n  \
                    a: {amplifier: one, outputs: [1], coils: {series: [big.1, big.2]}}\n  \
                    b: {amplifier: two, outputs: [1], coils: {series: [big.1, big.2]}}\n";
        let judged = crate::rules::trial::judged(text);
        let causes: Vec<(&str, String)> = judged
            .failed()
            .filter(|check| check.follows.is_none() && check.subject.path().starts_with("loads."))
            .map(|check| (check.rule.code, check.subject.path()))
            .collect();
        assert_eq!(causes, [("PLAN-04", "loads.a.coils.series.0".to_owned())]);
        for code in ["LOAD-04", "LOAD-08"] {
            assert_eq!(outcome(text, code, "loads.a"), Outcome::NotApplicable, "{code}");
            let alone = text.replace("  b: {amplifier: two, outputs: [1], coils: {series: [big.1, big.2]}}\n", "");
            assert_eq!(outcome(&alone, code, "loads.a"), Outcome::Fail, "{code}");
        }
    }

    /// 100 W between two equal coils: 50 W are half of what the small driver takes and less than half of the large one's.
    #[test]
    fn the_driver_that_gets_least_for_its_rating_is_judged() {
        let of = |small: &str, large: &str, rms: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 2 ohm, power: 100 W}}]}}}}\ndrivers: {{{small}: {{rms: 60 W, coils: \
                 [4 ohm]}}, {large}: {{rms: {rms}, coils: [4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1], coils: \
                 {{parallel: [{small}, {large}]}}}}}}\n"
            );
            outcome(&text, "LOAD-04", "loads.bass")
        };
        for (small, large) in [("a", "b"), ("b", "a")] {
            assert_eq!(of(small, large, "100 W"), Outcome::Pass);
            assert_eq!(of(small, large, "101 W"), Outcome::Fail);
        }
    }

    /// Two coils of one driver on two amplifiers are shared with nobody; one coil on both is.
    #[test]
    fn a_coil_is_shared_by_its_number() {
        let of = |other: &str| {
            let text = format!(
                "plan: 1\namplifiers:\n  one: {{channels: 1, rated: [{{load: 2 ohm, power: 100 W}}]}}\n  two: {{channels: 1}}\n\
                 drivers: {{big: {{rms: 2000 W, coils: [2 ohm, 2 ohm]}}}}\nloads:\n  a: {{amplifier: one, outputs: [1], coils: \
                 big.1}}\n  b: {{amplifier: two, outputs: [1], coils: {other}}}\n"
            );
            outcome(&text, "LOAD-04", "loads.a")
        };
        assert_eq!(of("big.1"), Outcome::NotApplicable);
        assert_ne!(of("big.2"), Outcome::NotApplicable);
    }
}
