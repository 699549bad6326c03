//! A body of plastic or glued aluminium carries no return.

use super::site::ReturnEnd;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{self, Amplifier, Body, Ground, Stage};
use crate::solve::graph::{LinkKind, carries_return};
use crate::solve::{Charged, Decided, Grounded, Job, Place, Thing, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-09",
    name: "ground-no-body-return",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("no_body_return.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Say("vehicle.body", &["composite", "aluminium"]), super::Slip::Mistake("wires.*.to")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    // Whether an amplifier has a return is asked of each; other gear may be passive, or its plan leave the minus out.
    let wired = |is: &Grounded<'_>| job.amplifier(is.name).is_some() || job.graph().node(is.name, "ground").is_some();
    let grounded = job.grounded().into_iter().filter(wired);
    let grounded = grounded.map(|is| {
        let judged = returned(&is, job);
        (is.place, judged)
    });
    let batteries = job.plan.batteries.keys().map(|name| (Place::of(format!("batteries.{name}")), charged(name, job)));
    grounded.chain(batteries).collect()
}

/// An added battery that the alternator charges: its charge comes back to the starting battery.
fn charged(name: &str, job: &Job<'_>) -> Judged {
    let graph = job.graph();
    if job.charged(name, "positive") == Charged::Not {
        return Err(Undecided::NotApplicable("nothing charges it from the starting battery"));
    }
    let ends = (graph.node(name, "negative"), graph.node("battery", "negative"));
    if matches!(ends, (Some(from), Some(to)) if graph.nearest(from, &[to], LinkKind::is_laid).is_some()) {
        return Ok(Verdict::pass());
    }
    let joined = graph.node(name, "negative").map(|from| graph.joined(&[from], LinkKind::is_laid)).unwrap_or_default();
    let is_reached =
        |ground: &&Thing<'_, Ground>| graph.node("grounds", ground.name).is_some_and(|at| joined.contains(&at));
    let reached: Vec<Decided<bool>> = job.grounds.iter().filter(is_reached).map(|ground| serves(ground, job)).collect();
    if reached.iter().any(|serves| matches!(serves, Ok(true))) {
        return Ok(Verdict::pass());
    }
    if reached.is_empty() && job.plan.stage() == Stage::Draft {
        return Err(Undecided::need(Place::of("wires")));
    }
    all(reached)?;
    let place = Place::of(format!("batteries.{name}"));
    Ok(Verdict::fail(
        Finding::new(place, format!("the charge of `{name}` has no dependable way back to the starting battery"))
            .label("no return cable from its negative")
            .because("a battery that is charged through hinges and signal shields stays half empty and heats them")
            .mend("run a cable of the charge wire's size from its negative to the starting battery's negative"),
    ))
}

/// What the body is made of.
fn body(job: &Job<'_>) -> Decided<Body> {
    let body = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.body);
    body.ok_or_else(|| Undecided::need(Place::of("vehicle.body")))
}

/// Whether what comes to a ground has a way back from there.
fn serves(ground: &Thing<'_, Ground>, job: &Job<'_>) -> Decided<bool> {
    if carries_return(None, ground) == Some(true) {
        return Ok(true);
    }
    carries_return(Some(body(job)?), ground).ok_or_else(|| Undecided::need(ground.at("for_added_loads")))
}

/// Something with a ground terminal.
fn returned(is: &Grounded<'_>, job: &Job<'_>) -> Judged {
    let name = is.name;
    let end = super::site::return_end(job, name)
        .ok_or(Undecided::NotApplicable("no return leaves it yet (PLAN-03 reports that)"))?;
    let ends = |ground: &&Thing<'_, Ground>| end.name == format!("grounds.{}", ground.name);
    let Some(ground) = job.grounds.iter().find(ends).filter(|_| !end.reaches_battery) else {
        return Ok(Verdict::pass());
    };
    let serves = serves(ground, job)?;
    Ok(Verdict::pass_if(serves, || {
        let first = shared_with(is, &end, job);
        let made_of = body(job).map(|body| plan::word(&body)).unwrap_or_default();
        let finding = Finding::new(
            end.place,
            format!("`{name}` returns through the body, which is {made_of}"),
        )
            .label("this ground leads nowhere dependable")
            .also(Place::of("vehicle.body"), "no return path")
            .because("the current finds its way through signal shields, hinges and control units instead")
            .mend(
                "run a return cable of the feed's size to the battery's negative (the body side of a sensor that sits on it), \
                 or to the maker's ground bus",
            );
        first.into_iter().fold(finding, |finding, first| finding.follows(RULE.code, first))
    }))
}

/// The amplifier that comes to the same ground as other gear: one cable from there to the battery serves both.
fn shared_with(is: &Grounded<'_>, end: &ReturnEnd, job: &Job<'_>) -> Option<Place> {
    let mut amplifiers = job.amplifiers.iter();
    let shares = |amplifier: &&Thing<'_, Amplifier>| {
        super::site::return_end(job, amplifier.name).is_some_and(|other| other.node == end.node)
    };
    if job.amplifier(is.name).is_some() { None } else { amplifiers.find(shares).map(Thing::place) }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn of(body: &str, wires: &str) -> Outcome {
        let plan = format!(
            "plan: 1\nvehicle: {{{body}}}\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\n\
             batteries: {{second: {{}}}}\nwires: {{{wires}}}\n"
        );
        outcome(&plan, "GROUND-09", "amplifiers.amp")
    }

    const GROUND: &str = "return: {from: amp.ground, to: grounds.floor}";

    /// The ladder frame of a pickup is of steel under whatever body.
    #[test]
    fn a_frame_carries_the_return_whatever_the_body_is_made_of() {
        let text = |body: &str, on: &str| {
            format!(
                "plan: 1\nvehicle: {{{body}}}\namplifiers: {{amp: {{}}}}\nbatteries: {{rear: {{}}}}\nisolators: {{relay: {{kind: relay}}}}\n\
                 grounds: {{rail: {{on: {on}}}}}\nwires:\n  return: {{from: amp.ground, to: grounds.rail}}\n  \
                 on: {{from: battery.positive, to: relay.in}}\n  out: {{from: relay.out, to: rear.positive}}\n  \
                 back: {{from: rear.negative, to: grounds.rail}}\n"
            )
        };
        for body in ["body: aluminium", "body: composite", ""] {
            for subject in ["amplifiers.amp", "batteries.rear"] {
                assert_eq!(outcome(&text(body, "frame"), "GROUND-09", subject), Outcome::Pass, "{body} {subject}");
            }
        }
        // Without the battery there, nothing but the body leads on from a rail of it.
        let alone =
            text("body: aluminium", "body-structure").replace("  back: {from: rear.negative, to: grounds.rail}\n", "");
        assert_eq!(outcome(&alone, "GROUND-09", "amplifiers.amp"), Outcome::Fail);
    }

    #[test]
    fn only_steel_carries_a_return() {
        assert_eq!(of("body: steel", GROUND), Outcome::Pass);
        assert_eq!(of("body: aluminium", GROUND), Outcome::Fail);
        assert_eq!(of("body: composite", GROUND), Outcome::Fail);
        assert_eq!(of("", GROUND), Outcome::Open);
    }

    /// Most vehicles of aluminium ground their own gear through studs that the factory put there (common practice, no published
    /// source): whether one is for added loads its maker's body-builder manual says. A hole of one's own is another matter.
    #[test]
    fn a_factory_stud_of_an_aluminium_body_serves_where_its_maker_names_it() {
        let of = |body: &str, ground: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{body: {body}}}\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{{ground}}}}}\nwires: {{{GROUND}}}\n"
            );
            check(&text, "GROUND-09", "amplifiers.amp")
        };
        let open = of("aluminium", "on: factory-stud");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "grounds.floor.for_added_loads"));
        assert_eq!(of("aluminium", "on: factory-stud, for_added_loads: true").outcome, Outcome::Pass);
        assert_eq!(of("aluminium", "on: factory-stud, for_added_loads: false").outcome, Outcome::Fail);
        assert_eq!(of("aluminium", "on: body-structure, for_added_loads: true").outcome, Outcome::Fail);
        assert_eq!(of("composite", "on: factory-stud, for_added_loads: true").outcome, Outcome::Fail);
        assert_eq!(of("steel", "on: factory-stud").outcome, Outcome::Pass);
    }

    /// What charges a battery comes back by the same stud.
    #[test]
    fn a_factory_stud_takes_the_charge_of_a_battery_back() {
        let of = |ground: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{body: aluminium}}\nbatteries: {{rear: {{}}}}\nisolators: {{relay: {{kind: relay}}}}\ngrounds: {{stud: \
                 {{{ground}}}}}\nwires:\n  on: {{from: battery.positive, to: relay.in}}\n  out: {{from: relay.out, to: rear.positive}}\n  \
                 back: {{from: rear.negative, to: grounds.stud}}\n"
            );
            check(&text, "GROUND-09", "batteries.rear")
        };
        let open = of("on: factory-stud");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "grounds.stud.for_added_loads"));
        assert_eq!(of("on: factory-stud, for_added_loads: true").outcome, Outcome::Pass);
        assert_eq!(of("on: body-structure").outcome, Outcome::Fail);
        let also = of("on: body-structure}, rail: {on: frame").outcome;
        assert_eq!(also, Outcome::Fail, "nothing leads to the rail");
    }

    /// One ground that carries is enough, wherever it lies.
    #[test]
    fn a_battery_on_two_grounds_needs_one_that_carries() {
        let of = |far: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{body: aluminium}}\nbatteries: {{rear: {{}}}}\nisolators: {{relay: {{kind: relay}}}}\ngrounds: {{floor: {{on: \
                 body-structure}}, far: {{on: {far}}}}}\nwires:\n  on: {{from: battery.positive, to: relay.in}}\n  out: {{from: relay.out, to: \
                 rear.positive}}\n  back: {{from: rear.negative, to: grounds.floor}}\n  on-too: {{from: grounds.floor, to: grounds.far}}\n"
            );
            outcome(&text, "GROUND-09", "batteries.rear")
        };
        assert_eq!(
            (of("frame"), of("factory-stud"), of("body-structure")),
            (Outcome::Pass, Outcome::Open, Outcome::Fail)
        );
    }

    #[test]
    fn the_charge_of_an_added_battery_comes_back_too() {
        let charge = "charge: {from: battery.positive, to: second.positive}";
        let battery = |stage: &str, body: &str, wires: &str| {
            let text = format!(
                "plan: 1\njob: {{stage: {stage}}}\nvehicle: {{{body}}}\nbatteries: {{second: {{}}}}\ngrounds: {{floor: {{}}}}\nwires: {{{wires}}}\n"
            );
            outcome(&text, "GROUND-09", "batteries.second")
        };
        let back = |to: &str| format!("{charge}, back: {{from: second.negative, to: {to}}}");
        assert_eq!(battery("draft", "body: composite", &back("battery.negative")), Outcome::Pass);
        assert_eq!(battery("draft", "body: composite", &back("grounds.floor")), Outcome::Fail);
        assert_eq!(battery("draft", "body: steel", &back("grounds.floor")), Outcome::Pass);
        assert_eq!(battery("draft", "", &back("grounds.floor")), Outcome::Open);
        assert_eq!(battery("draft", "body: steel", charge), Outcome::Open);
        assert_eq!(battery("planned", "body: steel", charge), Outcome::Fail);
        assert_eq!(battery("planned", "body: composite", ""), Outcome::NotApplicable);
    }

    #[test]
    fn a_cable_to_a_battery_serves_in_any_body() {
        assert_eq!(of("body: composite", "return: {from: amp.ground, to: battery.negative}"), Outcome::Pass);
        assert_eq!(of("body: composite", "return: {from: second.negative, to: amp.ground}"), Outcome::Pass);
        let bus = format!("{GROUND}, bus: {{from: grounds.floor, to: battery.negative}}");
        assert_eq!(of("body: composite", &bus), Outcome::Pass);
        assert_eq!(of("body: composite", ""), Outcome::NotApplicable);
    }

    /// Its minus carries back what it takes for the amplifier behind it.
    #[test]
    fn the_minus_of_a_converter_needs_a_way_back_as_well() {
        let of = |body: &str, end: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{body: {body}}}\nisolators: {{down: {{kind: step-down}}}}\namplifiers: {{amp: {{}}}}\n\
                 grounds: {{floor: {{}}}}\nwires: {{a: {{from: battery.positive, to: down.in}}, b: {{from: down.out, to: \
                 amp.power}}, c: {{from: down.ground, to: {end}}}, d: {{from: amp.ground, to: down.ground}}}}\n"
            );
            outcome(&text, "GROUND-09", "isolators.down")
        };
        assert_eq!(of("steel", "grounds.floor"), Outcome::Pass);
        assert_eq!(of("aluminium", "grounds.floor"), Outcome::Fail);
        assert_eq!(of("aluminium", "battery.negative"), Outcome::Pass);
    }

    /// What is passive, or has no minus in the plan, is not asked for one.
    #[test]
    fn all_that_has_a_ground_terminal_needs_a_way_back() {
        let of = |body: &str, thing: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{body: {body}}}\nsources: {{dsp: {{kind: processor}}}}\nconverters: {{loc: {{}}, passive: {{}}}}\n\
                 capacitors: {{cap: {{}}}}\nisolators: {{dcdc: {{kind: charger}}, other: {{kind: charger}}}}\ngrounds: {{floor: {{}}}}\n\
                 wires: {{a: {{from: dsp.ground, to: grounds.floor}}, b: {{from: loc.ground, to: grounds.floor}}, c: {{from: cap.ground, \
                 to: grounds.floor}}, d: {{from: dcdc.ground, to: grounds.floor}}}}\n"
            );
            let judged = crate::rules::trial::judged(&text);
            let mut checks = judged.checks.into_iter();
            checks
                .find(|check| check.rule.code == "GROUND-09" && check.subject.path() == thing)
                .map(|check| check.outcome)
        };
        for thing in ["sources.dsp", "converters.loc", "capacitors.cap", "isolators.dcdc"] {
            assert_eq!(of("steel", thing), Some(Outcome::Pass), "{thing}");
            assert_eq!(of("composite", thing), Some(Outcome::Fail), "{thing}");
        }
        assert_eq!((of("composite", "converters.passive"), of("composite", "isolators.other")), (None, None));
    }

    /// One cable from the ground that they share serves both.
    #[test]
    fn gear_that_comes_to_an_amplifiers_ground_is_told_below_it() {
        let of = |ground: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{body: composite}}\namplifiers: {{amp: {{}}}}\nsources: {{dsp: {{kind: processor}}}}\ngrounds: {{floor: \
                 {{}}, rail: {{}}}}\nwires: {{{GROUND}, own: {{from: dsp.ground, to: grounds.{ground}}}}}\n"
            );
            let follows = check(&text, "GROUND-09", "sources.dsp").follows;
            follows.map(|(code, place)| format!("{code} {}", place.path()))
        };
        assert_eq!(of("floor").as_deref(), Some("GROUND-09 amplifiers.amp"));
        assert_eq!(of("rail"), None);
    }
}
