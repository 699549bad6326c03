//! A reading better than copper allows is not a good joint but a meter in the wrong place.

use super::{ground_path, site};
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_least};
use crate::plan::{Ground, Wire};
use crate::quantity::Range;
use crate::solve::resistance::wire_resistance;
use crate::solve::{Job, Origin, Place, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PROOF-10",
    name: "reading-too-good",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("too_good.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Past("measured.wires.*.drop"), super::Slip::Past("measured.grounds.*")],
};

/// The least share of what the plan's own parts have that a sound reading can show: a cold vehicle and a meter at its last
/// digit take no more than half (common practice, no published source).
const LEAST: f64 = 0.5;
const SOURCE: &str = "half of what wire and joints have at least; common practice, no published source";
const WHY: &str = "a reading that cannot be true is no proof: it hides the bad joint that it was meant to find";

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let wires = job.wires.iter().map(|wire| (wire.place(), of_wire(wire, job)));
    let grounds = job.grounds.iter().map(|ground| (ground.place(), of_ground(ground, job)));
    wires.chain(grounds).collect()
}

fn of_wire(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let (drop, current) = site::drop_and_current(wire, job)?;
    let resistance = wire_resistance(job, wire, job.ambient(wire).range)?;
    let predicted = Range::from(current) * resistance;
    Ok(at_least(drop, predicted.at_low() * LEAST)
        .formula("reading >= current of the reading x lowest resistance of wire, joints and fuse x 1/2")
        .given(Input::stated("reading", drop, site::at(wire, "drop")))
        .given(Input::stated("current of the reading", current, site::at(wire, "at")))
        .given(Input::from("resistance", resistance, Origin::Computed("wire with its joints and fuses")))
        .limit_from(SOURCE)
        .verdict(|is| {
            let title = format!("`{}` reads {drop} at {current}, wire and joints lose at least {}", wire.name, is.limit());
            Finding::new(site::at(wire, "drop"), title).label(format!("predicted {predicted}")).because(WHY).mend(
                "measure again from end to end on a millivolt range, and read the current in this run at the same moment",
            )
        }))
}

fn of_ground(ground: &Thing<'_, Ground>, job: &Job<'_>) -> Judged {
    let readings = job.plan.measured.as_ref().map(|measured| &measured.grounds);
    let reading = site::reading(readings.and_then(|readings| readings.get(ground.name)).copied())?;
    site::is_way_back(ground, job)?;
    let least = ground_path::least(ground, job)?;
    let place = Place::of(format!("measured.grounds.{}", ground.name));
    Ok(at_least(reading, least * LEAST)
        .formula("reading >= (shortest return wire + joint + body, each at its lowest) x 1/2")
        .given(Input::stated("reading", reading, place.clone()))
        .given(Input::from("the way back", least, Origin::Computed("return wire, joint and body at their lowest")))
        .limit_from(SOURCE)
        .verdict(|is| {
            let title = format!("{reading} from `{}` to the battery, wire, joint and body have at least {}", ground.name, is.limit());
            Finding::new(place, title).label(format!("{least} at the least")).because(WHY).mend(
                "measure again from the amplifier's end of the return to the battery's post, with four leads or a known current",
            )
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::{Check, Outcome};
    use crate::rules::trial::check;

    fn plan(reading: &str, length: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{body: steel, body_resistance: 1 mohm}}\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: \
             {{joint_resistance: 0.1 mohm}}}}\nwires: {{return: {{from: amp.ground, to: grounds.floor, size: 4 AWG, conductor: \
             copper, stranding: solid, joint_resistance: 0.1 mohm, path: [cargo], {length}}}}}\nmeasured: {{{reading}}}\n"
        )
    }

    fn wire(reading: &str) -> Check {
        check(&plan(&format!("wires: {{return: {{{reading}}}}}"), "length: 40 cm"), "PROOF-10", "wires.return")
    }

    fn ground(reading: &str, length: &str) -> Check {
        check(&plan(&format!("grounds: {{floor: {reading}}}"), length), "PROOF-10", "grounds.floor")
    }

    /// 40 cm of 21.15 mm2 at 30 C have 0.339 mohm and two joints 0.2 mohm: 53.9 mV at 100 A, half of it 26.9 mV.
    #[test]
    fn less_than_half_of_what_the_copper_loses_cannot_be() {
        assert_eq!(wire("drop: 27.1 mV, at: 100 A").outcome, Outcome::Pass);
        let low = wire("drop: 26.8 mV, at: 100 A");
        assert_eq!(low.outcome, Outcome::Fail, "{:?}", low.working);
        let open = wire("drop: 27 mV");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "measured.wires.return.at"));
        assert_eq!(wire("").outcome, Outcome::NotApplicable);
    }

    /// With the ground's own joint and the body 1.639 mohm, half of it 0.82 mohm.
    #[test]
    fn a_way_back_has_at_least_half_of_its_wire_joint_and_body() {
        assert_eq!(ground("0.83 mohm", "length: 40 cm").outcome, Outcome::Pass);
        assert_eq!(ground("0.81 mohm", "length: 40 cm").outcome, Outcome::Fail);
        assert_eq!(ground("0.81 mohm", "").outcome, Outcome::Open);
    }

    /// A body of plastic carries nothing, the steel frame below it does.
    #[test]
    fn only_what_carries_returns_is_compared() {
        let on = |body: &str, kind: &str| {
            let text = plan("grounds: {floor: 0.81 mohm}", "length: 40 cm")
                .replace("body: steel", &format!("body: {body}"))
                .replace("floor: {", &format!("floor: {{on: {kind}, "));
            check(&text, "PROOF-10", "grounds.floor").outcome
        };
        assert_eq!(
            (on("composite", "body-structure"), on("composite", "frame")),
            (Outcome::NotApplicable, Outcome::Fail)
        );
        assert_eq!(
            (on("aluminium", "factory-stud, for_added_loads: false"), on("steel", "body-structure")),
            (Outcome::NotApplicable, Outcome::Fail)
        );
    }
}
