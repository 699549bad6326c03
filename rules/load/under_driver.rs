//! A driver that gets far less than it takes tempts somebody to turn the gain into clipping.

use std::collections::BTreeMap;

use crate::judge::{Figure, Finding, Input, Judged, Offer, Outcome, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::Load;
use crate::quantity::text::rounded_down;
use crate::quantity::{Power, Range, Resistance, Voltage};
use crate::solve::{Decided, Job, Origin, Place, Thing, Undecided, all, channels, coils, loads};

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

/// The least share where the gain is set by a meter: levels are matched by some decibels, not by 13 and more (common practice,
/// no published source).
const LEAST_SET: f64 = 0.05;

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
    if is.outcome() == Outcome::Pass
        && let Some(set) = held_down(load, job, (driver, share, rating))?
    {
        return Ok(set);
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

/// A gain target that leaves next to nothing of the power: `3 V` is soon written for `30 V`.
fn held_down(
    load: &Thing<'_, Load>,
    job: &Job<'_>,
    (driver, share, rating): (&str, f64, Range<Power>),
) -> Decided<Option<Verdict>> {
    let channels = channels::of_load(job, load).ok_or(Undecided::NotApplicable("no such amplifier"))?;
    let Ok((_, target)) = channels.target() else { return Ok(None) };
    let own = loads::own_ohms(load, job)?;
    let at_target = Range::<Power>::point(target.base().powi(2) / own);
    let (gets, limit) = (at_target * share, rating * LEAST_SET);
    let place = Place::of(format!("drivers.{driver}.rms"));
    let is = at_least(gets, limit)
        .formula("gain target^2 / impedance x share of its coils >= rating of its coils here / 20")
        .given(Input::stated("gain target", target, channels.at("gain_target")))
        .given(Input::from("impedance", Range::<Resistance>::point(own), Origin::Computed("series and parallel")))
        .given(Input::from("share of its coils", Figure::ratio(share, share), Origin::Computed("series and parallel")))
        .given(Input::from("rating of its coils here", rating, Origin::Stated(place.clone())))
        .limit_from("common practice, no published source");
    if is.outcome() == Outcome::Pass {
        return Ok(None);
    }
    let clean = loads::power(load, job)?.low().min(rating.low() / share);
    let volts = Range::<Voltage>::point(rounded_down((clean * own).sqrt()));
    Ok(Some(is.verdict(|is| {
        let title = format!("a gain of {target} leaves {} for coils rated for {rating}", is.result());
        Finding::new(channels.at("gain_target"), title)
            .label(format!("{at_target} into this load"))
            .also(place, format!("at least {} suit it", is.limit()))
            .because("it plays as if the amplifier were not there, and whoever turns the gain up then does it without a meter")
            .mend(format!("look at the number again: {volts} is clean and within the driver's rating"))
            .offer(Offer::new(format!("set the gain to {volts}")).set(channels.at("gain_target"), volts))
    })))
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

    /// 400 W into 2 ohm are 28.3 V. A twentieth of it is 20 W, 6.32 V; 3 V are 4.5 W.
    #[test]
    fn a_gain_target_that_leaves_next_to_nothing_is_told() {
        let of = |target: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 2 ohm, power: 500 W}}]}}}}\ndrivers: {{sub: {{rms: 400 W, coils: [2 ohm]}}}}\n\
                 loads: {{bass: {{amplifier: amp, outputs: [1], coils: sub}}}}\nsettings: {{amp: {{gain_target: {target}}}}}\n"
            );
            crate::rules::trial::check(&text, "LOAD-04", "loads.bass")
        };
        assert_eq!((of("28 V").outcome, of("6.33 V").outcome), (Outcome::Pass, Outcome::Pass));
        assert_eq!(of("6.32 V").outcome, Outcome::Fail);
        let slip = of("3 V").finding.expect("it fails");
        assert_eq!(slip.title, "a gain of 3 V leaves 4.5 W for coils rated for 400 W");
        assert_eq!(slip.at.place.path(), "settings.amp.gain_target");
        assert!(slip.mend.contains("28.2 V"), "{}", slip.mend);
    }

    /// Of two like drivers each gets half: 9 V into 2 ohm are 40.5 W, 20.25 W each, and a twentieth of 400 W is 20 W. What both take
    /// is 800 W, and the amplifier gives 500 W: 31.6 V.
    #[test]
    fn of_a_gain_target_each_driver_gets_its_share() {
        let of = |target: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 2 ohm, power: 500 W}}]}}}}\ndrivers: {{a: {{rms: 400 W, coils: [4 ohm]}}, \
                 b: {{rms: 400 W, coils: [4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1], coils: {{parallel: [a, b]}}}}}}\n\
                 settings: {{amp: {{gain_target: {target}}}}}\n"
            );
            crate::rules::trial::check(&text, "LOAD-04", "loads.bass")
        };
        assert_eq!((of("9 V").outcome, of("8.9 V").outcome), (Outcome::Pass, Outcome::Fail));
        let slip = of("3 V").finding.expect("it fails");
        assert!(slip.title.contains("2.25 W for coils rated for 400 W") && slip.mend.contains("31.6 V"), "{slip:?}");
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
