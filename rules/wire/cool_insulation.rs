//! Insulation that does not stand the heat of the place.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_least};
use crate::plan::Wire;
use crate::quantity::{Range, Temperature};
use crate::solve::{Job, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-04",
    name: "insulation-below-zone",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("cool_insulation.md"),
    check: Subjects::Wire(check),
    slips: &[super::Slip::Past("wires.*.insulation")],
};

#[allow(clippy::unnecessary_wraps, reason = "every rule judges in this shape")]
fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let insulation = job.insulation(wire);
    let ambient = job.ambient(wire);
    let class = job.house.limits.hot_insulation;
    // Near the engine surfaces are hotter than the air.
    let hot = wire.path.iter().any(|zone| zone.is_hot());
    let may_be_hot =
        |air: f64| if wire.path.is_empty() { air >= job.house.assumptions.hot_zone.range.high() } else { hot };
    let near = |air: f64| if may_be_hot(air) { air.max(class.base()) } else { air };
    let limit = Range::<Temperature>::new(near(ambient.range.low()), near(ambient.range.high()));
    let place = hottest(wire);
    Ok(at_least(insulation.range, limit)
        .formula(
            "insulation class >= temperature of the hottest place, and >= the least class for engine bay and underbody",
        )
        .given(Input::known("insulation", &insulation))
        .given(Input::known("hottest place on its way", &ambient))
        .given(Input::limit("least class in hot places", &class))
        .limit_from(class.source)
        .verdict(|is| {
            let title = format!("insulation of class {} where {} is needed", is.result(), is.limit());
            Finding::new(wire.at("insulation"), title)
                .label(format!("made for {}", is.result()))
                .also(place, "runs here")
                .because(
                    "insulation above its class goes soft, then brittle, and lays the conductor bare against the body",
                )
                .mend(format!("fit a wire of class {} or better, or lead it around the heat", is.limit()))
                // Classes of 33 CFR 183.425 table 5 and ISO 6722-1, from the usual ones up.
                .offers(
                    ["90 C", "105 C", "125 C"].map(|class| {
                        Offer::new(format!("lay a wire of class {class}")).set(wire.at("insulation"), class)
                    }),
                )
        }))
}

/// The first hot place on a wire's way.
fn hottest(wire: &Thing<'_, Wire>) -> crate::solve::Place {
    match wire.path.iter().position(|zone| zone.is_hot()) {
        Some(at) => wire.at(format!("path.{at}")),
        None => wire.at("path"),
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(facts: &str) -> String {
        format!("plan: 1\nwires: {{main: {{{facts}}}}}\n")
    }

    #[test]
    fn the_least_class_passes_in_the_engine_bay_and_one_degree_less_fails() {
        let hot = "path: [engine-bay, firewall, right-sill, cargo]";
        assert_eq!(outcome(&plan(&format!("insulation: 85 C, {hot}")), "WIRE-04", "wires.main"), Outcome::Pass);
        let check = check(&plan(&format!("insulation: 84 C, {hot}")), "WIRE-04", "wires.main");
        assert_eq!(check.outcome, Outcome::Fail);
        let finding = check.finding.unwrap();
        assert_eq!(finding.at.place.path(), "wires.main.insulation");
        assert_eq!(finding.also[0].place.path(), "wires.main.path.0");
    }

    #[test]
    fn in_the_cabin_the_air_is_the_limit() {
        assert_eq!(outcome(&plan("insulation: 60 C, path: [cargo]"), "WIRE-04", "wires.main"), Outcome::Pass);
        assert_eq!(outcome(&plan("insulation: 30 C, path: [cargo]"), "WIRE-04", "wires.main"), Outcome::Pass);
        assert_eq!(outcome(&plan("insulation: 29 C, path: [cargo]"), "WIRE-04", "wires.main"), Outcome::Fail);
    }

    #[test]
    fn without_class_or_way_it_is_open_where_they_decide() {
        let no_class = check(&plan("path: [engine-bay]"), "WIRE-04", "wires.main");
        assert_eq!(no_class.outcome, Outcome::Open);
        assert_eq!(
            (no_class.turns[0].place.path().as_str(), no_class.turns[0].value.as_str()),
            ("wires.main.insulation", "90 C")
        );
        let no_way = check(&plan("insulation: 60 C"), "WIRE-04", "wires.main");
        assert_eq!(no_way.outcome, Outcome::Open);
        assert_eq!(no_way.turns[0].place.path(), "wires.main.path");
        assert_eq!(outcome(&plan("insulation: 105 C"), "WIRE-04", "wires.main"), Outcome::Pass);
        assert_eq!(outcome(&plan("path: [cargo]"), "WIRE-04", "wires.main"), Outcome::Pass);
    }

    /// Not even a class of 40 C is wrong for sure where the way is not stated.
    #[test]
    fn a_way_that_is_not_stated_may_be_a_cool_one() {
        assert_eq!(outcome(&plan("insulation: 40 C"), "WIRE-04", "wires.main"), Outcome::Open);
        assert_eq!(outcome(&plan("insulation: 105 C"), "WIRE-04", "wires.main"), Outcome::Pass);
    }
}
