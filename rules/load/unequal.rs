//! Drivers of one kind on one output should share its power evenly.

use crate::judge::{Comparison, Figure, Finding, Input, Judged, Relation, Rule, Severity, Subjects};
use crate::plan::Load;
use crate::quantity::{Power, Range};
use crate::solve::loads::MOST_UNEVEN;
use crate::solve::{Job, Origin, Place, Thing, Undecided, coils, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-06",
    name: "unequal-shares",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("unequal.md"),
    check: Subjects::Load(check),
    slips: &[super::Slip::Mistake("drivers.*.coils.*"), super::Slip::Past("drivers.*.coils.*")],
};

const RATED: &str = "(share of the hardest / rating of the hardest) / (share of the least / rating of the least), a rating for each coil";

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    let tree = loads::tree(load)?;
    let found = tree.each();
    if found.len() < 2 {
        return Err(Undecided::NotApplicable("one coil only"));
    }
    loads::own_ohms(load, job)?;
    coils::one_kind(job, tree)?;
    // Against what each coil takes; where a rating is not stated, coil against coil.
    let ratings: Option<Vec<f64>> = found.iter().map(|(_, coil)| loads::coil_rating(job, coil).ok()).collect();
    let shares = coils::shares(job, tree)?;
    let works = |at: usize| shares[at] / ratings.as_ref().map_or(1.0, |ratings| ratings[at]);
    let order = |one: &usize, other: &usize| works(*one).total_cmp(&works(*other));
    let (most, least) = ((0..found.len()).max_by(order), (0..found.len()).min_by(order));
    let (Some(most), Some(least)) = (most, least) else { return Err(Undecided::NotApplicable("no coils")) };
    let ratio = works(most) / works(least);
    let (is, limit) = (Figure::ratio(ratio, ratio), Figure::ratio(MOST_UNEVEN, MOST_UNEVEN));
    let (at, other) = (load.at(format!("coils{}", found[most].0)), load.at(format!("coils{}", found[least].0)));
    let given = |share, rating, at: usize| {
        let place = Place::of(format!("drivers.{}.rms", found[at].1.driver));
        let rated = ratings.as_ref().map(|ratings| Range::<Power>::point(ratings[at]));
        let share = Input::from(share, Figure::ratio(shares[at], shares[at]), Origin::Computed("series and parallel"));
        [Some(share), rated.map(|rated| Input::stated(rating, rated, place))].into_iter().flatten()
    };
    Ok(Comparison::new(is, Relation::AtMost, limit)
        .formula(if ratings.is_some() { RATED } else { "share of the hardest / share of the least" })
        .given_all(given("share of the hardest", "rating of the hardest", most))
        .given_all(given("share of the least", "rating of the least", least))
        .limit_from("common practice, no published source (1 dB)")
        .verdict(|is| {
            Finding::new(
                at,
                format!("one coil works {} times as hard as another, {} is the most", is.result(), is.limit()),
            )
            .label("works hardest")
            .also(other, "works least")
            .because("the coil with the largest share reaches its limit first, while the others idle along")
            .mend("join equal coils into equal branches, or give each driver its own output")
            .offers(super::site::rejoined(load, 0.0, job))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(drivers: &str, coils: &str) -> Outcome {
        let plan = format!("plan: 1\ndrivers: {{{drivers}}}\nloads: {{bass: {{coils: {coils}}}}}\n");
        outcome(&plan, "LOAD-06", "loads.bass")
    }

    #[test]
    fn a_coil_in_series_with_two_in_parallel_takes_four_times_as_much() {
        let three = "a: {coils: [4 ohm]}, b: {coils: [4 ohm]}, c: {coils: [4 ohm]}";
        assert_eq!(of(three, "{series: [a, {parallel: [b, c]}]}"), Outcome::Fail);
        assert_eq!(of(three, "{parallel: [a, b, c]}"), Outcome::Pass);
    }

    #[test]
    fn one_decibel_is_allowed_and_ratings_count() {
        assert_eq!(of("a: {coils: [4 ohm]}, b: {coils: [5 ohm]}", "{parallel: [a, b]}"), Outcome::Pass);
        assert_eq!(of("a: {coils: [4 ohm]}, b: {coils: [5.1 ohm]}", "{parallel: [a, b]}"), Outcome::Fail);
        let rated = "a: {rms: 200 W, coils: [4 ohm]}, b: {rms: 100 W, coils: [8 ohm]}";
        assert_eq!(of(rated, "{parallel: [a, b]}"), Outcome::Pass);
        assert_eq!(of(rated, "{series: [a, b]}"), Outcome::Fail);
    }

    #[test]
    fn missing_coils_leave_it_open_and_a_tweeter_is_another_matter() {
        assert_eq!(of("a: {}, b: {coils: [4 ohm]}", "{parallel: [a, b]}"), Outcome::Open);
        let way = "a: {kind: woofer, coils: [4 ohm]}, b: {kind: tweeter, coils: [8 ohm]}";
        assert_eq!(of(way, "{parallel: [a, b]}"), Outcome::NotApplicable);
    }
}
