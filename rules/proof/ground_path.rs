//! A way back that measures more than its wire, joint and body is not the ground that was planned.

use super::site;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::{Ground, Terminal, Wire};
use crate::quantity::{Range, Resistance};
use crate::solve::resistance::{body, wire_resistance};
use crate::solve::{Decided, Job, Known, Origin, Place, Thing, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PROOF-02",
    name: "measured-ground",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("ground_path.md"),
    check: Subjects::Ground(check),
    slips: &[super::Slip::Past("measured.grounds.*")],
};

fn check(ground: &Thing<'_, Ground>, job: &Job<'_>) -> Judged {
    let measured = job.plan.measured.as_ref();
    let reading = site::reading(measured.and_then(|measured| measured.grounds.get(ground.name)).copied())?;
    site::is_way_back(ground, job)?;
    let WayBack { longest, wire, joint, body } = way_back(ground, job)?;
    let predicted: Range<Resistance> = wire + joint.range + body.range;
    let explained = predicted.at_high() * site::over_prediction(job);
    let limit = job.house.limits.ground_path;
    let source =
        if explained.high() < limit.value.base() { "the plan's own wire, joint and body" } else { limit.source };
    let place = Place::of(format!("measured.grounds.{}", ground.name));
    Ok(at_most(reading, explained.min(limit.value.into()))
        .formula("reading <= the smaller of the limit and (return wire + joint + body, each at its highest) x (1 + tolerance)")
        .given(Input::stated("reading", reading, place.clone()))
        .given(Input::from("return wire with its joints", wire, Origin::Computed("size, length and metal, not warmed")))
        .given(Input::known("joint to the body", &joint))
        .given(Input::known("body", &body))
        .given(Input::limit("tolerance", &job.house.limits.over_prediction))
        .given(Input::limit("limit", &limit))
        .limit_from(source)
        .verdict(|is| {
            let title = format!("{reading} from `{}` to the battery, {} is the most", ground.name, is.limit());
            let finding = Finding::new(place, title)
                .label(format!("predicted {predicted}"))
                .also(ground.place(), "this ground")
                .because("a ground that measures too much gets hot under load, whines with the engine and starves the amplifier")
                .mend("loosen the ring, grind to bright metal, tighten and measure again; if it stays, move the ground to body structure");
            match longest {
                Some(wire) => finding.follows("PROOF-01", wire.place()),
                None => finding,
            }
        }))
}

/// The way from the amplifier's end of a return to the battery's negative post.
struct WayBack<'j, 'a> {
    longest: Option<&'j Thing<'a, Wire>>,
    wire: Range<Resistance>,
    joint: Known<Resistance>,
    body: Known<Resistance>,
}

fn way_back<'j, 'a>(ground: &Thing<'_, Ground>, job: &'j Job<'a>) -> Decided<WayBack<'j, 'a>> {
    let returns = all(returns(ground, job)
        .into_iter()
        .map(|wire| wire_resistance(job, wire, job.ambient(wire).range).map(|resistance| (wire, resistance))))?;
    let longest = returns.iter().max_by(|one, other| one.1.high().total_cmp(&other.1.high()));
    let wire = longest.map_or(Range::point(0.0), |(_, resistance)| *resistance);
    let joint = job.assume(ground.at("joint_resistance"), ground.joint_resistance, &job.house.assumptions.joint);
    Ok(WayBack { longest: longest.map(|(wire, _)| *wire), wire, joint, body: body(job) })
}

/// What is predicted of the way back through a ground.
///
/// # Errors
/// The needs for its return wires.
pub fn predicted(ground: &Thing<'_, Ground>, job: &Job<'_>) -> Decided<Range<Resistance>> {
    way_back(ground, job).map(|way| way.wire + way.joint.range + way.body.range)
}

/// What the way back through a ground has at the least: the shortest of its return wires, joint and body.
///
/// # Errors
/// The needs for its return wires.
pub fn least(ground: &Thing<'_, Ground>, job: &Job<'_>) -> Decided<Range<Resistance>> {
    let wires = all(returns(ground, job).into_iter().map(|wire| wire_resistance(job, wire, job.ambient(wire).range)))?;
    let shortest = wires.into_iter().map(Range::at_low).reduce(Range::min).unwrap_or(Range::point(0.0));
    let WayBack { joint, body, .. } = way_back(ground, job)?;
    Ok(shortest + joint.range.at_low() + body.range.at_low())
}

/// The wires that are fastened to a ground.
fn returns<'j, 'a>(ground: &Thing<'_, Ground>, job: &'j Job<'a>) -> Vec<&'j Thing<'a, Wire>> {
    let is_here =
        |end: &Option<Terminal>| end.as_ref().is_some_and(|end| end.thing == "grounds" && end.terminal == ground.name);
    job.wires.iter().filter(|wire| is_here(&wire.from) || is_here(&wire.to)).collect()
}

#[cfg(test)]
mod tests {
    use crate::judge::{Check, Outcome};
    use crate::rules::trial::check;

    fn of(vehicle: &str, length: &str, reading: &str) -> Check {
        let plan = format!(
            "plan: 1\nvehicle: {{{vehicle}}}\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{joint_resistance: 0.1 mohm}}}}\n\
             wires: {{return: {{from: amp.ground, to: grounds.floor, size: 4 AWG, conductor: copper, stranding: solid, \
             joint_resistance: 0.1 mohm, path: [cargo], {length}}}}}\nmeasured: {{{reading}}}\n"
        );
        check(&plan, "PROOF-02", "grounds.floor")
    }

    /// 40 cm of 21.15 mm2 at 30 C have 0.339 mohm; three joints 0.3 mohm, the body 1 mohm: 1.639 mohm, 2.05 with a quarter more.
    #[test]
    fn a_quarter_above_wire_joints_and_body_passes() {
        let at = |reading: &str| {
            let reading = format!("grounds: {{floor: {reading}}}");
            of("body: steel, body_resistance: 1 mohm", "length: 40 cm", &reading)
        };
        let good = at("2.04 mohm");
        assert_eq!(good.outcome, Outcome::Pass, "{:?}", good.working);
        let bad = at("2.06 mohm");
        assert_eq!(bad.outcome, Outcome::Fail, "{:?}", bad.working);
    }

    #[test]
    fn ten_milliohms_are_the_most_whatever_the_plan_predicts() {
        let at = |reading: &str| {
            let reading = format!("grounds: {{floor: {reading}}}");
            of("body: steel, body_resistance: 20 mohm", "length: 40 cm", &reading).outcome
        };
        assert_eq!(at("10 mohm"), Outcome::Pass);
        assert_eq!(at("10.1 mohm"), Outcome::Fail);
    }

    #[test]
    fn it_is_open_without_the_wire_and_silent_without_a_reading_or_a_body() {
        let open = of("body: steel", "", "grounds: {floor: 3 mohm}");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "wires.return.length"));
        assert_eq!(of("body: steel", "length: 40 cm", "").outcome, Outcome::NotApplicable);
        let plastic = of("body: composite", "length: 40 cm", "grounds: {floor: 30 mohm}");
        assert_eq!(plastic.outcome, Outcome::NotApplicable);
    }

    /// 0.339 mohm of wire and 0.2 mohm of its joints, 0.1 mohm of the ground's and 1 mohm of body; what hangs on another
    /// ground is another way back.
    #[test]
    fn the_prediction_is_the_sum_of_the_way_by_this_ground_alone() {
        let text = "plan: 1\nvehicle: {body: steel, body_resistance: 1 mohm}\namplifiers: {amp: {}, other: {}}\n\
                    grounds: {floor: {joint_resistance: 0.1 mohm}, far: {joint_resistance: 5 mohm}}\nwires:\n  \
                    return: {from: amp.ground, to: grounds.floor, size: 4 AWG, conductor: copper, stranding: solid, \
                    joint_resistance: 0.1 mohm, path: [cargo], length: 40 cm}\n  \
                    long: {from: other.ground, to: grounds.far, size: 8 AWG, conductor: copper, joint_resistance: 1 mohm, \
                    path: [cargo], length: 6 m}\n";
        let reading = crate::plan::read(text.to_owned());
        let house = crate::house::House::default();
        let job = super::Job::new(&reading.plan, &house);
        let floor = job.grounds.iter().find(|ground| ground.name == "floor").expect("there");
        let found = super::predicted(floor, &job).expect("stated");
        assert!((found.low() - 1.639e-3).abs() < 2e-5 && found.high() < 1.7e-3, "{found}");
    }

    #[test]
    fn it_is_told_whether_the_plan_or_the_limit_sets_the_most() {
        let source = |body: &str| {
            let judged =
                of(&format!("body: steel, body_resistance: {body}"), "length: 40 cm", "grounds: {floor: 1 mohm}");
            judged.working.expect("it is computed").source
        };
        assert_eq!(source("1 mohm"), "the plan's own wire, joint and body");
        assert_eq!(source("20 mohm"), crate::house::House::default().limits.ground_path.source);
    }
}
