//! A load for which the amplifier's maker states no power.

use super::site;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_least};
use crate::plan::Load;
use crate::quantity::{Range, Resistance};
use crate::solve::{Job, Origin, Thing, Undecided, loads, ratings};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-11",
    name: "load-not-rated",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("not_rated.md"),
    check: Subjects::Load(check),
    slips: &[
        super::Slip::Rename("loads.*.coils.series|parallel", &["series", "parallel"]),
        super::Slip::Rename("loads.*.coils.*.*.series|parallel", &["series", "parallel"]),
        super::Slip::Past("amplifiers.*.rated.*.load"),
        super::Slip::Past("amplifiers.*.sections.*.rated.*.load"),
    ],
};

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    let amplifier = loads::amplifier(load, job)?;
    loads::first_on_outputs(load, job)?;
    let seen = loads::seen_ohms(load, job)?;
    let (ratings, outputs) = (ratings::of(load, amplifier)?, load.outputs.len());
    ratings.joined(outputs)?;
    if ratings.least_ohms(outputs).is_ok_and(|least| seen < least * (1.0 - 1e-9)) {
        return Err(Undecided::NotApplicable("under the smallest load (LOAD-01 or LOAD-02 reports that)"));
    }
    let place = ratings.points_at(outputs);
    let smallest = ratings.points(outputs).iter().map(|point| point.load.base()).reduce(f64::min);
    let smallest = Range::<Resistance>::point(smallest.ok_or_else(|| Undecided::need(place.clone()))?);
    let seen = Range::<Resistance>::point(seen);
    Ok(at_least(seen, smallest)
        .formula("load >= smallest rated load")
        .given(Input::from("load", seen, Origin::Computed("nominal impedance of all coils on these outputs")))
        .given(Input::stated("smallest rated load", smallest, place.clone()))
        .limit_from("as the amplifier's maker states it")
        .verdict(|_| {
            let title = format!("no power is rated into {seen}, only into {smallest} and more");
            let finding = Finding::new(load.at("coils"), title).label(format!("{seen} together"));
            site::with_others(finding, load, job)
                .also(place, format!("rated from {smallest} up"))
                .because("what is not rated cannot be relied on: current, heat and power are anybody's guess")
                .mend(format!(
                    "join the coils so that they make {smallest} or more, or state the maker's rating into {seen}"
                ))
                .offers(site::rejoined(load, smallest.low(), job))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(amplifier: &str, outputs: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{{amplifier}}}}}\ndrivers: {{sub: {{coils: [4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, \
             outputs: {outputs}, coils: sub.1}}}}\n"
        );
        outcome(&plan, "LOAD-11", "loads.bass")
    }

    #[test]
    fn the_smallest_rated_load_passes_and_less_fails() {
        assert_eq!(of("rated: [{load: 8 ohm, power: 50 W}, {load: 4 ohm, power: 90 W}]", "[1]"), Outcome::Pass);
        assert_eq!(of("rated: [{load: 4.01 ohm, power: 90 W}]", "[1]"), Outcome::Fail);
        assert_eq!(of("", "[1]"), Outcome::Open);
        assert_eq!(of("minimum_load: 8 ohm, rated: [{load: 8 ohm, power: 90 W}]", "[1]"), Outcome::NotApplicable);
    }

    #[test]
    fn bridged_outputs_have_ratings_of_their_own() {
        let rated = "rated: [{load: 2 ohm, power: 90 W}]";
        assert_eq!(
            of(&format!("{rated}, bridged: {{rated: [{{load: 8 ohm, power: 90 W}}]}}"), "[1, 2]"),
            Outcome::Fail
        );
        assert_eq!(of(&format!("{rated}, bridged: {{}}"), "[1, 2]"), Outcome::Open);
        assert_eq!(of(rated, "[1, 2]"), Outcome::Open);
    }

    #[test]
    fn a_section_has_ratings_of_its_own() {
        let amplifier = "rated: [{load: 8 ohm, power: 50 W}], sections: {bass: {outputs: [5], rated: [{load: 4 ohm, power: 90 W}]}}";
        assert_eq!([of(amplifier, "[5]"), of(amplifier, "[4]")], [Outcome::Pass, Outcome::Fail]);
        assert_eq!(of(amplifier, "[4, 5]"), Outcome::NotApplicable);
    }

    /// Bridged, an amplifier made for 4 ohm a channel is made for 8 ohm, and for 4 ohm where a channel stands 2 ohm.
    #[test]
    fn what_each_channel_stands_counts_twice_where_it_is_bridged() {
        let bridged = |least: &str, ohms: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{minimum_load: {least}, bridged: {{rated: [{{load: 10 ohm, power: 90 W}}]}}}}}}\n\
                 drivers: {{sub: {{coils: [{ohms}]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1, 2], coils: sub.1}}}}\n"
            );
            outcome(&text, "LOAD-11", "loads.bass")
        };
        assert_eq!(bridged("4 ohm", "7 ohm"), Outcome::NotApplicable);
        assert_eq!(bridged("4 ohm", "8 ohm"), Outcome::Fail);
        assert_eq!(bridged("2 ohm", "3.9 ohm"), Outcome::NotApplicable);
        assert_eq!(bridged("2 ohm", "4 ohm"), Outcome::Fail);
    }
}
