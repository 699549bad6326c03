//! A coil that gets more than it is rated for burns.

use crate::judge::{Figure, Finding, Input, Judged, Offer, Outcome, Rule, Severity, Subjects, at_most};
use crate::plan::Load;
use crate::quantity::text::rounded_down;
use crate::quantity::{Power, Quantity, Range, Voltage};
use crate::solve::{Decided, Job, Origin, Place, Thing, Undecided, all, channels, coils, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-03",
    name: "coil-over-rating",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("over_coil.md"),
    check: Subjects::Load(check),
    slips: &[super::Slip::Past("drivers.*.rms")],
};

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    let amplifier = loads::amplifier(load, job)?;
    let tree = loads::tree(load)?;
    let channels = channels::of_load(job, load).ok_or(Undecided::NotApplicable("no such amplifier"))?;
    let target = channels.target().ok().map(|(_, target)| target);
    let given = power(load, job, target)?;
    let shares = coils::shares(job, tree)?;
    let found = tree.each();
    // What a crossover leaves to tweeters and midranges is for its maker to say.
    let lowest = coils::plays_lowest(job, tree);
    let judged: Vec<usize> = (0..found.len()).filter(|at| lowest[*at]).collect();
    let ratings = all(judged.iter().map(|at| loads::coil_rating(job, found[*at].1)))?;
    let (worst, rating) = judged
        .into_iter()
        .zip(ratings.iter().copied())
        .max_by(|one, other| (shares[one.0] / one.1).total_cmp(&(shares[other.0] / other.1)))
        .ok_or(Undecided::NotApplicable("no coils"))?;
    let (path, coil) = &found[worst];
    let share = shares[worst];
    let gets: Range<Power> = given * share;
    // A gain that is set by a meter may be off by as much as the meter; power goes with the square.
    let tolerance = job.house.limits.gain_tolerance;
    let within = if target.is_some() { (1.0 + tolerance.base()).powi(2) } else { 1.0 };
    let (own, limit) = (Range::<Power>::point(rating), Range::<Power>::point(rating * within));
    let rated = Place::of(format!("drivers.{}.rms", coil.driver));
    let is = at_most(gets, limit)
        .formula("power into the load x share of the coil <= rating of the coil")
        .given(Input::from("power into the load", given, Origin::Computed("rated points, gain target")))
        .given(Input::from("share of the coil", Figure::ratio(share, share), Origin::Computed("series and parallel")))
        .given(Input::from("rating of the coil", own, Origin::Stated(rated.clone())))
        .given_all(target.map(|_| Input::limit("tolerance of the voltage", &tolerance)))
        .limit_from("as the driver's maker states it, all coils alike");
    if is.outcome() == Outcome::Open {
        // Above the largest rated load only bounds are known.
        return Err(Undecided::need(loads::ratings_at(load, amplifier)));
    }
    let volts = Range::<Voltage>::point(rounded_down((rating / share * loads::own_ohms(load, job)?).sqrt()));
    let gain = channels.at("gain_target");
    let evenly = given.high() <= ratings.iter().sum::<f64>();
    Ok(is.verdict(|is| {
        let title = format!("{} into a coil rated for {own}", is.result());
        let finding = Finding::new(load.at(format!("coils{path}")), title)
            .label(format!("{} here", is.result()))
            .also(rated, "all its coils together")
            .because("power above the rating heats the coil until its glue or its insulation gives way")
            .mend(format!("set the gain to {volts} and state that as `gain_target`, or take another driver"))
            .offer(Offer::new(format!("set the gain to {volts}")).set(gain, volts));
        match target {
            _ if evenly => finding.follows("LOAD-06", load.place()),
            Some(_) => finding.follows("TUNE-01", channels.place()),
            None => finding,
        }
    }))
}

/// Rated power, or less where the gain is set to a lower voltage.
fn power(load: &Thing<'_, Load>, job: &Job<'_>, target: Option<Quantity<Voltage>>) -> Decided<Range<Power>> {
    let rated = loads::power(load, job)?;
    let own = loads::own_ohms(load, job)?;
    Ok(target.map_or(rated, |volts| rated.min(Range::point(volts.base().powi(2) / own))))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn of(rms: &str, coils: &str, more: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{rated: [{{load: 4 ohm, power: 300 W}}, {{load: 2 ohm, power: 500 W}}]}}}}\n\
             drivers: {{sub: {{{rms} coils: [4 ohm, 4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1], coils: {coils}}}}}\n{more}"
        );
        outcome(&plan, "LOAD-03", "loads.bass")
    }

    #[test]
    fn each_of_two_coils_takes_half() {
        assert_eq!(of("rms: 500 W,", "{parallel: [sub.1, sub.2]}", ""), Outcome::Pass);
        assert_eq!(of("rms: 499 W,", "{parallel: [sub.1, sub.2]}", ""), Outcome::Fail);
        assert_eq!(of("", "{parallel: [sub.1, sub.2]}", ""), Outcome::Open);
        // One coil alone takes only half of what the driver does: 300 W into 4 ohm ask for 600 W.
        assert_eq!(of("rms: 600 W,", "sub.1", ""), Outcome::Pass);
        assert_eq!(of("rms: 599 W,", "sub.1", ""), Outcome::Fail);
    }

    #[test]
    fn a_gain_target_holds_the_power_down() {
        // 20 V into 2 ohm are 200 W.
        let set = "settings: {amp: {gain_target: 20 V}}\n";
        assert_eq!(of("rms: 200 W,", "{parallel: [sub.1, sub.2]}", set), Outcome::Pass);
        // 2 % of voltage that the meter may be off are 4 % of power: 193 W x 1.0404 = 200.8 W.
        assert_eq!(of("rms: 193 W,", "{parallel: [sub.1, sub.2]}", set), Outcome::Pass);
        assert_eq!(of("rms: 192 W,", "{parallel: [sub.1, sub.2]}", set), Outcome::Fail);
    }

    #[test]
    fn the_mend_is_a_voltage_that_passes() {
        let parallel = "{parallel: [sub.1, sub.2]}";
        let plan = |more: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 2 ohm, power: 500 W}}]}}}}\ndrivers: {{sub: {{rms: 400 W, coils: \
                 [4 ohm, 4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1], coils: {parallel}}}}}\n{more}"
            )
        };
        // sqrt(400 x 2) = 28.28 V
        let mend = check(&plan(""), "LOAD-03", "loads.bass").finding.expect("it fails").mend;
        assert_eq!(mend, "set the gain to 28.2 V and state that as `gain_target`, or take another driver");
        assert_eq!(of("rms: 400 W,", parallel, "settings: {amp: {gain_target: 28.2 V}}\n"), Outcome::Pass);
        let set = check(&plan("settings: {amp: {gain_target: 31 V}}\n"), "LOAD-03", "loads.bass");
        assert_eq!(set.follows.map(|(code, _)| code), Some("TUNE-01"));
    }

    #[test]
    fn what_a_crossover_leaves_a_tweeter_is_not_judged() {
        let set = |tweeter: &str, woofer: &str| {
            let plan = format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 4 ohm, power: 75 W}}]}}}}\ndrivers: {{low: {{kind: woofer, {woofer} \
                 coils: [4 ohm]}}, high: {{kind: tweeter, {tweeter} coils: [4 ohm]}}}}\nloads: {{left: {{amplifier: amp, outputs: [1], \
                 coils: {{parallel: [low, high]}}}}}}\n"
            );
            outcome(&plan, "LOAD-03", "loads.left")
        };
        assert_eq!(set("rms: 20 W,", "rms: 75 W,"), Outcome::Pass);
        assert_eq!(set("", "rms: 74 W,"), Outcome::Fail);
    }

    #[test]
    fn where_even_shares_would_do_the_uneven_ones_are_told_first() {
        let plan = "plan: 1\namplifiers: {amp: {rated: [{load: 6 ohm, power: 500 W}]}}\n\
                    drivers: {a: {rms: 200 W, coils: [4 ohm]}, b: {rms: 200 W, coils: [4 ohm]}, c: {rms: 200 W, coils: [4 ohm]}}\n\
                    loads: {all: {amplifier: amp, outputs: [1], coils: {series: [a, {parallel: [b, c]}]}}}\n";
        for code in ["LOAD-03", "LOAD-04"] {
            let check = check(plan, code, "loads.all");
            assert_eq!(
                (check.outcome, check.follows.map(|(code, _)| code)),
                (Outcome::Fail, Some("LOAD-06")),
                "{code}"
            );
        }
    }

    #[test]
    fn above_the_largest_rated_load_the_bounds_decide_or_the_rating_is_asked_for() {
        // Into 8 ohm between 150 W and 300 W.
        let series = "{series: [sub.1, sub.2]}";
        assert_eq!(of("rms: 300 W,", series, ""), Outcome::Pass);
        assert_eq!(of("rms: 200 W,", series, ""), Outcome::Open);
        assert_eq!(of("rms: 149 W,", series, ""), Outcome::Fail);
    }

    /// 120 W between two equal coils: 60 W are too much for the weak one, wherever it stands.
    #[test]
    fn the_coil_that_works_hardest_for_its_rating_is_judged() {
        let of = |coils: &str, rms: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 2 ohm, power: 120 W}}]}}}}\ndrivers: {{strong: {{rms: 100 W, coils: \
                 [4 ohm]}}, weak: {{rms: {rms}, coils: [4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1], coils: \
                 {{parallel: [{coils}]}}}}}}\n"
            );
            outcome(&text, "LOAD-03", "loads.bass")
        };
        for coils in ["strong, weak", "weak, strong"] {
            assert_eq!(of(coils, "60 W"), Outcome::Pass, "{coils}");
            assert_eq!(of(coils, "59 W"), Outcome::Fail, "{coils}");
        }
    }
}
