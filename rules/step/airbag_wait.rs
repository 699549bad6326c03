//! Airbag parts rest after the battery is off.

use super::order::{added, half_said, place, puts_on, steps, takes_off, whole};
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{AirbagStep, Airbags, Mount, MountOn, PastAirbags, Plan, Step, Zone};
use crate::rules::route::ways::{self, Way};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-04",
    name: "airbag-waiting-time",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("airbag_wait.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("steps.*.airbags", &["handle"]),
        super::Slip::Insert("steps", &["{airbags: handle}"]),
        super::Slip::Move("steps", "airbags"),
        super::Slip::Drop("steps.*"),
    ],
};

/// What fires near a pair of hands.
struct Charge {
    /// From which fitting on it is there.
    from: Airbags,
    /// What it is, behind "beside".
    what: &'static str,
}

/// Under a seat.
const SEAT: Charge = Charge { from: Airbags::Front, what: "the plugs of the seat's belt tensioner and airbag" };
/// Along a door sill.
const SILL: Charge = Charge { from: Airbags::FrontAndSide, what: "the harness and the sensors of the side airbags" };
/// In a door.
const DOOR: Charge =
    Charge { from: Airbags::FrontAndSide, what: "a door that may hold the crash sensor of the side airbags" };
/// In a pillar, over the roof, behind the trim of the load side.
const EDGE: Charge = Charge { from: Airbags::FrontSideAndCurtain, what: "a curtain airbag" };

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let steps = match steps(job) {
        Ok(steps) => steps,
        Err(undecided) => return vec![(whole(), Err(undecided))],
    };
    let handled: Vec<usize> = (0..steps.len()).filter(|at| steps[*at].airbags == Some(AirbagStep::Handle)).collect();
    let is_told = handled.iter().any(|at| !is_waited(steps, *at));
    let near = if is_told {
        Err(Undecided::NotApplicable("told of where airbag parts are handled"))
    } else {
        near(job, steps)
    };
    let handled = handled.into_iter().map(|at| {
        let verdict =
            Verdict::pass_if(is_waited(steps, at), || too_soon(steps, at, "airbag parts handled", "handled here"));
        (place(at, &steps[at]), Ok(verdict))
    });
    std::iter::once((whole(), near)).chain(handled).collect()
}

/// The first step that has hands where an airbag or its harness is; none may come before the wait.
fn near(job: &Job<'_>, steps: &[Step]) -> Judged {
    let fitted = job.plan.airbags();
    let ways = ways::of(job);
    let (mut is_near, mut is_unknown) = (false, false);
    for (at, step) in steps.iter().enumerate() {
        for charge in charges(job.plan, &ways, step) {
            let is_there = fitted.is_some_and(|fitted| fitted >= charge.from);
            if is_waited(steps, at) {
                is_near |= is_there || fitted.is_none();
            } else if is_there {
                let work = format!("work beside {}", charge.what);
                if let Some(half) = half_said(&steps[..at]) {
                    return Err(Undecided::need(half));
                }
                return Ok(Verdict::fail(
                    too_soon(steps, at, &work, "hands are there")
                        .also(Place::of("vehicle.airbags"), "this vehicle has them"),
                ));
            } else {
                is_unknown |= fitted.is_none();
            }
        }
    }
    match (is_unknown, is_near) {
        (true, _) => Err(Undecided::need(Place::of("vehicle.airbags"))),
        (false, true) => Ok(Verdict::pass()),
        (false, false) => Err(Undecided::NotApplicable("no step works beside an airbag")),
    }
}

/// What may fire where a step works: along the way of a lead, at a ground, where gear sits.
fn charges(plan: &Plan, ways: &[Way<'_>], step: &Step) -> Vec<&'static Charge> {
    let mut found = Vec::new();
    if let Some(name) = step.run.as_deref() {
        let laid = ways.iter().filter(|way| way.name == name && !way.is_load());
        found.extend(laid.flat_map(along));
    }
    if let Some(name) = step.connect.as_deref() {
        // A speaker lead has no step of its own: it is there when its amplifier is connected.
        let on = |way: &&Way<'_>| {
            way.is_load() && plan.loads.get(way.name).is_some_and(|load| load.amplifier.as_deref() == Some(name))
        };
        found.extend(ways.iter().filter(on).flat_map(along));
    }
    let ground = step.ground.as_ref().and_then(|name| plan.grounds.get(name)?.location);
    let gear = [&step.mount, &step.connect].into_iter().flatten();
    let sits = gear.clone().filter_map(|name| location(plan, name));
    found.extend(ground.into_iter().chain(sits).filter_map(at));
    found.extend(gear.filter_map(|name| plan.mounts.get(name)).filter_map(behind));
    found
}

fn along(way: &Way<'_>) -> Vec<&'static Charge> {
    let is_clear = way.airbags == Some(PastAirbags::NoneFitted);
    let there = way.path.iter().filter_map(|zone| at(*zone));
    there.filter(|charge| !(is_clear && charge.from == EDGE.from)).collect()
}

fn at(zone: Zone) -> Option<&'static Charge> {
    match zone {
        Zone::UnderSeat => Some(&SEAT),
        Zone::LeftSill | Zone::RightSill => Some(&SILL),
        Zone::LeftDoor | Zone::RightDoor => Some(&DOOR),
        Zone::LeftPillar | Zone::RightPillar | Zone::Roof => Some(&EDGE),
        _ => None,
    }
}

fn behind(mount: &Mount) -> Option<&'static Charge> {
    match mount.on? {
        MountOn::UnderSeat => Some(&SEAT),
        MountOn::BoardBehindSideTrim => Some(&EDGE),
        _ => None,
    }
}

fn location(plan: &Plan, name: &str) -> Option<Zone> {
    let amplifier = plan.amplifiers.get(name).map(|it| it.location);
    let enclosure = plan.enclosures.get(name).map(|it| it.location);
    let battery = plan.batteries.get(name).map(|it| it.location);
    let isolator = plan.isolators.get(name).map(|it| it.location);
    let block = plan.blocks.get(name).map(|it| it.location);
    [amplifier, enclosure, battery, isolator, block].into_iter().flatten().flatten().next()
}

/// Whether the battery is off before a step, has not been put on again, and the wait came after it.
fn is_waited(steps: &[Step], at: usize) -> bool {
    off(steps, at).is_some_and(|off| steps[off..at].iter().any(|step| step.airbags == Some(AirbagStep::Wait)))
}

/// The step before this one since which the battery is off.
fn off(steps: &[Step], at: usize) -> Option<usize> {
    let off = steps[..at].iter().rposition(takes_off)?;
    (!steps[off..at].iter().any(puts_on)).then_some(off)
}

fn too_soon(steps: &[Step], at: usize, work: &str, label: &str) -> Finding {
    let is_off = off(steps, at).is_some();
    let how = if is_off { "without the maker's waiting time" } else { "with the battery on" };
    Finding::new(place(at, &steps[at]), format!("{work} {how}"))
        .label(label)
        .because("the airbag unit holds enough charge to fire for minutes after the battery is off")
        .mend("take the battery off, wait as long as the vehicle's maker says, and go on after that")
        .offer(if is_off {
            added("wait before", at, "{airbags: wait}")
        } else {
            // Each comes before the one that was put in before it.
            added("battery off, then wait", at, "{airbags: wait}")
                .insert(Place::of(format!("steps.{at}")), "{battery: disconnect}")
        })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn told(steps: &str, at: usize) -> Outcome {
        outcome(&format!("plan: 1\nsteps: [{steps}]\n"), "STEP-04", &format!("steps.{at}.airbags"))
    }

    #[test]
    fn off_wait_handle_is_the_only_order() {
        assert_eq!(told("{battery: disconnect}, {airbags: wait}, {airbags: handle}", 2), Outcome::Pass);
        assert_eq!(told("{battery: disconnect}, {airbags: handle}, {airbags: wait}", 1), Outcome::Fail);
        assert_eq!(told("{airbags: wait}, {battery: disconnect}, {airbags: handle}", 2), Outcome::Fail);
        assert_eq!(told("{airbags: wait}, {airbags: handle}", 1), Outcome::Fail);
    }

    #[test]
    fn a_battery_that_is_back_on_starts_the_wait_anew() {
        let steps = "{battery: disconnect}, {airbags: wait}, {battery: reconnect}, {airbags: handle}";
        assert_eq!(told(steps, 3), Outcome::Fail);
    }

    #[test]
    fn who_touches_no_airbag_need_not_wait() {
        let text = "plan: 1\nsteps: [{battery: disconnect}]\n";
        assert_eq!(outcome(text, "STEP-04", "steps"), Outcome::NotApplicable);
    }

    const WORK: &str = "amplifiers: {amp: {location: under-seat}, low: {location: under-seat}, thin: {}, rear: {location: cargo}, \
                        doors: {location: cargo}}\n\
                        grounds: {beam: {location: under-seat}, wall: {location: cargo}}\n\
                        wires: {main: {path: [engine-bay, firewall, right-sill, under-seat]}}\n\
                        turn_on: {remote: {path: [dash, left-sill, cargo]}}\n\
                        signals: {left: {lead: {path: [dash, left-pillar, roof, cargo]}}}\n\
                        loads: {tops: {amplifier: rear, lead: {path: [cargo, right-pillar]}}, bass: {amplifier: amp}, front: {amplifier: doors, lead: \
                        {path: [cargo, door-jamb, left-door]}}}\n\
                        mounts: {rear: {on: board-behind-side-trim}, amp: {on: under-seat}, thin: {on: under-seat}}\n";

    fn near(airbags: &str, steps: &str) -> crate::judge::Check {
        let vehicle = if airbags.is_empty() { String::new() } else { format!("vehicle: {{airbags: {airbags}}}\n") };
        check(&format!("plan: 1\n{vehicle}{WORK}steps: [{steps}]\n"), "STEP-04", "steps")
    }

    /// What sits where: common practice, no published source.
    #[test]
    fn which_airbags_make_which_work_wait() {
        for (work, front, side, curtain) in [
            ("mount: amp", Outcome::Fail, Outcome::Fail, Outcome::Fail),
            ("connect: amp", Outcome::Fail, Outcome::Fail, Outcome::Fail),
            ("mount: low", Outcome::Fail, Outcome::Fail, Outcome::Fail),
            ("mount: thin", Outcome::Fail, Outcome::Fail, Outcome::Fail),
            ("ground: beam", Outcome::Fail, Outcome::Fail, Outcome::Fail),
            ("run: main", Outcome::Fail, Outcome::Fail, Outcome::Fail),
            ("run: remote", Outcome::NotApplicable, Outcome::Fail, Outcome::Fail),
            ("run: left", Outcome::NotApplicable, Outcome::NotApplicable, Outcome::Fail),
            ("mount: rear", Outcome::NotApplicable, Outcome::NotApplicable, Outcome::Fail),
            ("connect: rear", Outcome::NotApplicable, Outcome::NotApplicable, Outcome::Fail),
            ("connect: doors", Outcome::NotApplicable, Outcome::Fail, Outcome::Fail),
            ("ground: wall", Outcome::NotApplicable, Outcome::NotApplicable, Outcome::NotApplicable),
        ] {
            let at_once = format!("{{battery: disconnect}}, {{{work}}}");
            let waited = format!("{{battery: disconnect}}, {{airbags: wait}}, {{{work}}}");
            assert_eq!(near("none", &at_once).outcome, Outcome::NotApplicable, "{work}");
            for (fitted, expected) in [("front", front), ("front-and-side", side), ("front-side-and-curtain", curtain)]
            {
                assert_eq!(near(fitted, &at_once).outcome, expected, "{work}, {fitted}");
                let after = if expected == Outcome::Fail { Outcome::Pass } else { expected };
                assert_eq!(near(fitted, &waited).outcome, after, "{work}, {fitted}");
            }
        }
    }

    #[test]
    fn who_does_not_know_which_are_fitted_waits_or_finds_out() {
        let open = near("", "{battery: disconnect}, {run: remote}");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "vehicle.airbags"));
        assert_eq!(near("", "{battery: disconnect}, {airbags: wait}, {run: remote}").outcome, Outcome::Pass);
        assert_eq!(near("", "{battery: disconnect}, {ground: wall}").outcome, Outcome::NotApplicable);
    }

    #[test]
    fn a_seat_lifted_with_the_battery_back_on_is_told_where_it_is_lifted() {
        let steps = "{battery: disconnect}, {airbags: wait}, {ground: beam}, {battery: reconnect}, {mount: amp}";
        let finding = near("front", steps).finding.expect("it fails");
        assert_eq!(finding.at.place.path(), "steps.4.mount");
        assert_eq!(finding.title, "work beside the plugs of the seat's belt tensioner and airbag with the battery on");
    }

    #[test]
    fn a_pillar_of_which_the_lead_says_that_it_has_none_needs_no_wait() {
        let text = format!("plan: 1\nvehicle: {{airbags: front-side-and-curtain}}\n{WORK}steps: [{{run: left}}]\n");
        let said = |word: &str| text.replace("roof, cargo]", &format!("roof, cargo], airbags: {word}"));
        assert_eq!(outcome(&said("none-fitted"), "STEP-04", "steps"), Outcome::NotApplicable);
        assert_eq!(outcome(&said("behind"), "STEP-04", "steps"), Outcome::Fail);
    }

    #[test]
    fn a_step_before_the_work_that_says_nothing_yet_may_be_the_wait() {
        let of = |steps: &str| near("front", steps);
        let open = of("{battery: disconnect}, {}, {mount: amp}");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "steps.1"));
        assert_eq!(of("{battery: disconnect}, {mount: amp}, {}").outcome, Outcome::Fail);
    }

    #[test]
    fn one_wait_that_is_missing_is_told_once() {
        let steps = "{battery: disconnect}, {airbags: handle}, {mount: amp}";
        assert_eq!(near("front", steps).outcome, Outcome::NotApplicable);
    }
}
