//! A coil that gets more than it is rated for burns.

use crate::judge::{Finding, Input, Judged, Outcome, Rule, Severity, Subjects, at_most};
use crate::plan::Load;
use crate::quantity::{Power, Range};
use crate::solve::{Job, Origin, Place, Thing, Undecided, all, coils, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-03",
    name: "coil-over-rating",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("over_coil.md"),
    check: Subjects::Load(check),
};

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    let amplifier = loads::amplifier(load, job)?;
    let tree = loads::tree(load)?;
    let given = power(load, job, amplifier.name)?;
    let shares = coils::shares(job, tree)?;
    let found = tree.each();
    let ratings = all(found.iter().map(|(_, coil)| loads::coil_rating(job, coil)))?;
    let worst = (0..found.len())
        .max_by(|one, other| (shares[*one] / ratings[*one]).total_cmp(&(shares[*other] / ratings[*other])));
    let worst = worst.ok_or(Undecided::NotApplicable("no coils"))?;
    let (path, coil) = &found[worst];
    let gets: Range<Power> = given * shares[worst];
    let limit = Range::<Power>::point(ratings[worst]);
    let rated = Place::of(format!("drivers.{}.rms", coil.driver));
    let is = at_most(gets, limit)
        .formula(
            "rated power at this load, or what the gain target allows, x the coil's share; rating / number of coils",
        )
        .given(Input::from("power into the load", given, Origin::Computed("rated points, gain target")))
        .given(Input::from("rating of the coil", limit, Origin::Stated(rated.clone())))
        .limit_from("as the driver's maker states it, all coils alike");
    if is.outcome() == Outcome::Open {
        // Above the largest rated load only bounds are known.
        return Err(Undecided::need(amplifier.at("rated")));
    }
    Ok(is.verdict(|is| {
        Finding::new(load.at(format!("coils{path}")), format!("{} into a coil rated for {}", is.result(), is.limit()))
            .label(format!("{} here", is.result()))
            .also(rated, "all its coils together")
            .because("power above the rating heats the coil until its glue or its insulation gives way")
            .mend("state a gain target that holds the power down, or take another driver or arrangement")
    }))
}

/// Rated power, or less where the gain is set to a lower voltage.
fn power(load: &Thing<'_, Load>, job: &Job<'_>, amplifier: &str) -> Result<Range<Power>, Undecided> {
    let rated = loads::power(load, job)?;
    let target = job.plan.settings.get(amplifier).and_then(|setting| setting.gain_target);
    let own = loads::own_ohms(load, job)?;
    Ok(match target {
        Some(volts) => rated.min(Range::point(volts.base().powi(2) / own)),
        None => rated,
    })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

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
        assert_eq!(of("rms: 199 W,", "{parallel: [sub.1, sub.2]}", set), Outcome::Fail);
    }

    #[test]
    fn above_the_largest_rated_load_the_bounds_decide_or_the_rating_is_asked_for() {
        // Into 8 ohm between 150 W and 300 W.
        let series = "{series: [sub.1, sub.2]}";
        assert_eq!(of("rms: 300 W,", series, ""), Outcome::Pass);
        assert_eq!(of("rms: 200 W,", series, ""), Outcome::Open);
        assert_eq!(of("rms: 149 W,", series, ""), Outcome::Fail);
    }
}
