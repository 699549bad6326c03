//! A vented battery gives off hydrogen; inside a vehicle that has to be led out.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Battery, BatteryKind, Room};
use crate::solve::{Job, Place, Thing, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-10",
    name: "vented-battery-inside",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("vented_inside.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("batteries.*.vented_outside", &["false"]),
        super::Slip::Say("batteries.*.kind", &["flooded"]),
        super::Slip::Together(&[
            super::Slip::Say("batteries.*.kind", &["flooded", "enhanced-flooded"]),
            super::Slip::Say("batteries.*.vented_outside", &["false"]),
        ]),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let starting = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
    let starting = starting.map(|battery| Thing::new("vehicle", "battery", battery));
    let added = job.plan.batteries.iter().map(|(name, battery)| Thing::new("batteries", name, battery));
    starting.into_iter().chain(added).map(|battery| (battery.place(), judge(&battery))).collect()
}

fn judge(battery: &Thing<'_, Battery>) -> Judged {
    let outside = |battery: &Battery| battery.location.map(|zone| zone.room() != Some(Room::Inside));
    let vented = battery.kind.map(|kind| matches!(kind, BatteryKind::Flooded | BatteryKind::EnhancedFlooded));
    if vented == Some(false) || outside(battery) == Some(true) || battery.vented_outside == Some(true) {
        return Ok(Verdict::pass());
    }
    let facts = [("kind", vented.is_some()), ("location", battery.location.is_some())];
    let need = |(key, known): (&'static str, bool)| if known { Ok(()) } else { Err(Undecided::need(battery.at(key))) };
    all(facts.map(need))?;
    battery.need("vented_outside", &battery.vented_outside)?;
    Ok(Verdict::fail(
        Finding::new(battery.at("vented_outside"), "a vented battery gasses into the vehicle")
            .label("nothing leads its gas outside")
            .also(battery.at("location"), "inside")
            .because("on charge it gives off hydrogen, which a spark of a relay or a terminal sets off, and acid mist")
            .mend("fit a closed box with a hose through the floor, or a battery whose electrolyte is bound (agm, gel)")
            .offer(Offer::new("box it with a hose to outside").set(battery.at("vented_outside"), true)),
    ))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(facts: &str) -> String {
        format!("plan: 1\nvehicle: {{battery: {{{facts}}}}}\nbatteries: {{rear: {{{facts}}}}}\n")
    }

    fn of(facts: &str) -> Outcome {
        let both = ["vehicle.battery", "batteries.rear"].map(|battery| outcome(&plan(facts), "SUPPLY-10", battery));
        assert_eq!(both[0], both[1], "{facts}");
        both[0]
    }

    #[test]
    fn liquid_electrolyte_inside_needs_a_hose() {
        for kind in ["flooded", "enhanced-flooded"] {
            for inside in ["cargo", "rear-seat", "under-seat", "spare-well"] {
                let vented = |vent: &str| of(&format!("kind: {kind}, location: {inside}{vent}"));
                assert_eq!(vented(", vented_outside: true"), Outcome::Pass);
                assert_eq!(vented(", vented_outside: false"), Outcome::Fail);
                assert_eq!(vented(""), Outcome::Open);
            }
        }
    }

    #[test]
    fn other_kinds_and_other_places_need_none() {
        for kind in ["agm", "gel", "lithium-iron-phosphate"] {
            assert_eq!(of(&format!("kind: {kind}, location: cargo, vented_outside: false")), Outcome::Pass, "{kind}");
        }
        for outside in ["engine-bay", "underbody"] {
            assert_eq!(of(&format!("kind: flooded, location: {outside}, vented_outside: false")), Outcome::Pass);
        }
    }

    #[test]
    fn what_it_is_and_where_it_sits_are_asked_for() {
        let check = check(&plan("vented_outside: false"), "SUPPLY-10", "batteries.rear");
        assert_eq!(check.outcome, Outcome::Open);
        let needs: Vec<String> = check.needs.iter().map(crate::solve::Place::path).collect();
        assert_eq!(needs, ["batteries.rear.kind", "batteries.rear.location"]);
        assert_eq!(of("location: cargo"), Outcome::Open);
        assert_eq!(of("kind: flooded"), Outcome::Open);
    }
}
