//! A wire that is much longer than its way.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::{Wire, ZoneKind};
use crate::solve::{Job, Origin, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-12",
    name: "wire-too-long",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("long.md"),
    check: Subjects::Wire(check),
    slips: &[super::Slip::Past("wires.*.length")],
};

fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let way = job.way_length(&wire.path)?;
    let length = wire.need("length", &wire.length)?;
    if wire.path.is_empty() {
        return Err(Undecided::need(wire.at("path")));
    }
    if !way.unmeasured.is_empty() {
        if wire.path.iter().filter(|zone| zone.kind() == ZoneKind::Space).count() < 2 {
            return Err(Undecided::NotApplicable("it stays in one place, which was not measured"));
        }
        return Err(Undecided::Open(way.unmeasured));
    }
    let way = way.measured;
    let spare = job.house.limits.spare_length;
    Ok(at_most(length, way * (1.0 + spare.base()))
        .formula("length <= the way through the places on its path, and so much more")
        .given(Input::stated("length", length, wire.at("length")))
        .given(Input::from("way", way, Origin::Computed("distances of the places on its path, added")))
        .given(Input::limit("more", &spare))
        .limit_from(spare.source)
        .verdict(|is| {
            let cut = length.with_base(is.limit().low).rounded_down();
            Finding::new(wire.at("length"), format!("{} of wire for a way of {way}", is.result()))
                .label(format!("{} would be ample", is.limit()))
                .also(wire.at("path"), format!("{way} along here"))
                .because("spare wire adds drop for nothing, and a coil of it lies in one place, warms itself and picks up noise")
                .mend(format!("cut it to {} at most", is.limit()))
                .offer(Offer::new(format!("cut it to {cut}")).set(wire.at("length"), cut))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(length: &str, distances: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{{distances}}}\nwires: {{main: {{{length}, path: [engine-bay, firewall, right-sill, cargo]}}}}\n"
        )
    }

    const WAY: &str = "distances: {engine-bay: 1 m, right-sill: 3 m, cargo: 1 m}";

    #[test]
    fn a_fifth_more_passes_and_a_centimetre_beyond_fails() {
        assert_eq!(outcome(&plan("length: 6 m", WAY), "WIRE-12", "wires.main"), Outcome::Pass);
        assert_eq!(outcome(&plan("length: 6.01 m", WAY), "WIRE-12", "wires.main"), Outcome::Fail);
        assert_eq!(outcome(&plan("length: 4 m", WAY), "WIRE-12", "wires.main"), Outcome::Pass);
    }

    #[test]
    fn a_place_that_is_not_measured_leaves_it_open_and_no_distances_at_all_do_not() {
        let some = check(&plan("length: 6 m", "distances: {engine-bay: 1 m, cargo: 1 m}"), "WIRE-12", "wires.main");
        assert_eq!(some.outcome, Outcome::Open);
        assert_eq!(some.needs[0].path(), "vehicle.distances.right-sill");
        let no_length = check(&plan("size: 4 AWG", WAY), "WIRE-12", "wires.main");
        assert_eq!(no_length.needs[0].path(), "wires.main.length");
        assert_eq!(outcome(&plan("length: 6 m", ""), "WIRE-12", "wires.main"), Outcome::NotApplicable);
    }

    /// Nobody measures a place for the sake of 40 cm from an amplifier to the ground beside it.
    #[test]
    fn a_place_is_not_asked_for_by_a_wire_that_never_leaves_it() {
        let text = |length: &str| {
            plan(length, "distances: {engine-bay: 1 m}").replace("engine-bay, firewall, right-sill, cargo", "cargo")
        };
        assert_eq!(outcome(&text("length: 40 cm"), "WIRE-12", "wires.main"), Outcome::NotApplicable);
        let measured = text("length: 2 m").replace("engine-bay: 1 m", "cargo: 1 m");
        assert_eq!(outcome(&measured, "WIRE-12", "wires.main"), Outcome::Fail);
    }

    #[test]
    fn a_crossing_that_was_measured_counts() {
        let thick = WAY.replace("cargo: 1 m", "cargo: 1 m, firewall: 1 m");
        assert_eq!(outcome(&plan("length: 7.2 m", &thick), "WIRE-12", "wires.main"), Outcome::Pass);
    }

    #[test]
    fn between_two_places_one_that_is_not_measured_is_asked_for() {
        let text = plan("length: 3 m", "distances: {engine-bay: 1 m}").replace("right-sill, cargo", "dash");
        let open = check(&text, "WIRE-12", "wires.main");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "vehicle.distances.dash"));
    }
}
