//! A capacitor is charged through a resistor before its feed is closed, and discharged before anybody works at it.

use std::collections::BTreeSet;

use super::order::{added, place, puts_on, steps, takes_off};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Plan, Step, Wire};
use crate::solve::protection::Host;
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-09",
    name: "capacitor-not-charged-first",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("capacitor_charge.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Drop("steps.*"), super::Slip::Move("steps", "charge")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let capacitors = job.plan.capacitors.keys();
    capacitors.map(|name| (Place::of(format!("capacitors.{name}")), judge(name, job))).collect()
}

fn judge(name: &str, job: &Job<'_>) -> Judged {
    let steps = steps(job)?;
    let feeds = feeds(name, job);
    if feeds.is_empty() {
        return Err(Undecided::NotApplicable("no battery feeds it"));
    }
    let mut state = State::before(name, feeds, steps);
    for (at, step) in steps.iter().enumerate() {
        if state.is_charged && is_work(name, job.plan, step) {
            return Ok(Verdict::fail(touched(name, at, steps, job)));
        }
        let was_closed = state.is_closed();
        state.pass(name, step);
        if state.is_closed() && !was_closed && !state.is_charged {
            return Ok(Verdict::fail(closed_empty(name, at, steps, job)));
        }
        state.is_charged |= state.is_closed();
    }
    Ok(Verdict::pass())
}

/// A way on which a battery feeds a capacitor: whether the starting battery does, and what holds the fuses on it.
type Feed<'j> = (bool, BTreeSet<&'j str>);

fn feeds<'j>(name: &str, job: &'j Job<'_>) -> Vec<Feed<'j>> {
    let protection = job.protection();
    let host = |fuse: &usize| match protection.fuses[*fuse].host {
        Host::Wire { wire, .. } => job.wires[wire].name,
        Host::Block(block) => job.blocks[block].name,
    };
    // A charger holds its current, whatever is empty behind it.
    let ways = job.ways_to_capacitor(name).into_iter().filter(|way| !way.is_limited());
    ways.map(|way| (way.source == 0, way.fuses.iter().map(host).collect())).collect()
}

/// What the work has come to.
struct State<'j> {
    feeds: Vec<Feed<'j>>,
    /// Whose fuses are still out.
    out: BTreeSet<&'j str>,
    is_battery_on: bool,
    is_connected: bool,
    is_charged: bool,
}

impl<'j> State<'j> {
    /// Before the first step a fuse that a step puts in is out, and a capacitor that a step connects is off.
    fn before(name: &str, feeds: Vec<Feed<'j>>, steps: &[Step]) -> Self {
        let put_in = |host: &&str| steps.iter().any(|step| step.fuse.as_deref() == Some(*host));
        let out = feeds.iter().flat_map(|(_, hosts)| hosts).copied().filter(put_in).collect();
        let is_connected = !steps.iter().any(|step| connects(name, step));
        Self { feeds, out, is_battery_on: true, is_connected, is_charged: false }
    }

    fn pass(&mut self, name: &str, step: &Step) {
        self.is_battery_on = (self.is_battery_on || puts_on(step)) && !takes_off(step);
        self.is_connected |= connects(name, step);
        if let Some(host) = &step.fuse {
            self.out.remove(host.as_str());
        }
        self.is_charged |= step.charge.as_deref() == Some(name);
        self.is_charged &= step.discharge.as_deref() != Some(name);
    }

    /// Whether a battery is joined to it straight.
    fn is_closed(&self) -> bool {
        let joins = |(starting, hosts): &Feed<'_>| (self.is_battery_on || !starting) && hosts.is_disjoint(&self.out);
        self.is_connected && self.feeds.iter().any(joins)
    }
}

fn connects(name: &str, step: &Step) -> bool {
    step.connect.as_deref() == Some(name)
}

/// Whether somebody has hands on the capacitor's terminals: it is fastened or connected, or a wire to it is laid.
fn is_work(name: &str, plan: &Plan, step: &Step) -> bool {
    let wire = step.run.as_ref().and_then(|wire| plan.wires.get(wire));
    let ends = wire.into_iter().flat_map(Wire::terminals);
    connects(name, step) || step.mount.as_deref() == Some(name) || ends.into_iter().any(|end| end.thing == name)
}

fn closed_empty(name: &str, at: usize, steps: &[Step], job: &Job<'_>) -> Finding {
    let inrush = job.capacitor_inrush(name).map(|current| format!("{current} rush into it"));
    let holds = job.capacitor_holds(name).map(|energy| format!("until it holds {energy}"));
    let told: Vec<String> = [inrush, holds].into_iter().flatten().collect();
    let label = if told.is_empty() { "its feed is closed straight here".to_owned() } else { told.join(" ") };
    let finding = Finding::new(place(at, &steps[at]), format!("the feed of `{name}` is closed while it is empty"))
        .label(label)
        .because("an empty capacitor is a short for a moment: the contact that closes it burns, and the fuse may open")
        .mend(format!(
            "charge it first through a resistor or a lamp across the open fuse: `charge: {name}` before this step"
        ));
    let late = (at + 1..steps.len()).find(|late| steps[*late].charge.as_deref() == Some(name));
    match late {
        Some(late) => finding
            .also(place(late, &steps[late]), "charged only here")
            .offer(Offer::new("charge it first").shift(Place::of(format!("steps.{late}")), at)),
        None => finding.offer(added("charge it first", at, &format!("{{charge: {name}}}"))),
    }
}

fn touched(name: &str, at: usize, steps: &[Step], job: &Job<'_>) -> Finding {
    let holds =
        job.capacitor_holds(name).map_or_else(|_| "it is charged".to_owned(), |energy| format!("it holds {energy}"));
    Finding::new(place(at, &steps[at]), format!("hands on `{name}` while it is charged"))
        .label(holds)
        .because("a ring or a spanner across its terminals takes all of it at once: metal melts and spatters, the hand burns")
        .mend(format!("open its feed and discharge it through a resistor or a lamp: `discharge: {name}` before this step, and charge it again after it"))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, outcome};

    const CODE: &str = "STEP-09";
    const SUBJECT: &str = "capacitors.cap";
    const WORK: &str = "{battery: disconnect}, {run: main}, {run: on}, {connect: cap}, {connect: amp}";

    fn plan(steps: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 1 mohm, alternator: {{voltage: 14.4 V, control: \
             fixed}}, battery: {{internal_resistance: 5 mohm, rest_voltage: 12.6 V}}}}\namplifiers: {{amp: {{}}}}\n\
             capacitors: {{cap: {{capacitance: 1 F, resistance: 2 mohm}}}}\nwires:\n  main: {{from: battery.positive, to: \
             cap.power, size: 4 AWG, conductor: copper, length: 4 m, fuse: {{rating: 80 A, distance: 20 cm}}}}\n  on: {{from: \
             cap.power, to: amp.power, size: 4 AWG, length: 30 cm}}\nsteps: [{steps}]\n"
        )
    }

    fn of(rest: &str) -> Outcome {
        outcome(&plan(&format!("{WORK}, {rest}")), CODE, SUBJECT)
    }

    #[test]
    fn it_is_charged_once_it_is_connected_and_before_fuse_and_battery_join_it() {
        assert_eq!(of("{battery: reconnect}, {charge: cap}, {fuse: main}"), Outcome::Pass);
        assert_eq!(
            of("{fuse: main}, {charge: cap}, {battery: reconnect}"),
            Outcome::Pass,
            "bolted in, then the battery"
        );
        assert_eq!(of("{battery: reconnect}, {fuse: main}"), Outcome::Fail);
        assert_eq!(of("{battery: reconnect}, {fuse: main}, {charge: cap}"), Outcome::Fail);
        assert_eq!(of("{battery: reconnect}"), Outcome::Fail, "the fuse that no step puts in is in");
    }

    /// At most 12.6 V over some 11 mohm; 0.5 x 1 F x (14.4 V)^2 are 104 J.
    #[test]
    fn the_finding_tells_the_rush_and_the_energy_and_charges_it_first() {
        let text = plan(&format!("{WORK}, {{battery: reconnect}}, {{fuse: main}}"));
        let told = finding(&text, CODE, SUBJECT);
        assert_eq!(told.at.place.path(), "steps.6.fuse");
        assert!(told.at.text.ends_with("rush into it until it holds 104 J"), "{}", told.at.text);
        let mended = after(&text, CODE, SUBJECT);
        assert!(mended[0].contains("{charge: cap}, {fuse: main}"), "{}", mended[0]);
        assert_eq!(outcome(&mended[0], CODE, SUBJECT), Outcome::Pass);
        let late = plan(&format!("{WORK}, {{battery: reconnect}}, {{fuse: main}}, {{charge: cap}}"));
        assert_eq!(finding(&late, CODE, SUBJECT).also[0].place.path(), "steps.7.charge");
        assert_eq!(outcome(&after(&late, CODE, SUBJECT)[0], CODE, SUBJECT), Outcome::Pass);
    }

    #[test]
    fn nobody_works_at_it_while_it_is_charged() {
        let again = |between: &str| {
            of(&format!(
                "{{battery: reconnect}}, {{charge: cap}}, {{fuse: main}}, {{battery: disconnect}}, {between}{{connect: cap}}, {{charge: cap}}, {{battery: reconnect}}"
            ))
        };
        assert_eq!((again(""), again("{discharge: cap}, ")), (Outcome::Fail, Outcome::Pass));
        assert_eq!(of("{charge: cap}, {run: on}"), Outcome::Fail);
        let early = "{battery: disconnect}, {charge: cap}, {connect: cap}, {battery: reconnect}, {fuse: main}";
        assert_eq!(finding(&plan(early), CODE, SUBJECT).at.place.path(), "steps.2.connect");
    }

    /// With the battery on again a capacitor that was discharged is as empty as a new one.
    #[test]
    fn after_it_was_discharged_it_is_charged_again() {
        let off = "{battery: reconnect}, {charge: cap}, {fuse: main}, {battery: disconnect}, {discharge: cap}, ";
        assert_eq!(of(&format!("{off}{{battery: reconnect}}")), Outcome::Fail);
        assert_eq!(of(&format!("{off}{{charge: cap}}, {{battery: reconnect}}")), Outcome::Pass);
    }

    #[test]
    fn without_steps_or_without_a_feed_nothing_is_said() {
        let text = plan(WORK);
        assert_eq!(outcome(&text, CODE, SUBJECT), Outcome::Pass);
        let unfed = text.replace("cap.power, size", "amp.power, size");
        assert_eq!(
            check(&unfed.replace("from: cap.power", "from: battery.negative"), CODE, SUBJECT).outcome,
            Outcome::NotApplicable
        );
        let none = text.split("steps:").next().expect("a head").to_owned();
        assert_eq!(outcome(&none, CODE, SUBJECT), Outcome::NotApplicable);
    }

    /// Once its feed is closed it stays charged, by whatever it was; what is done twice is done.
    #[test]
    fn what_is_charged_stays_charged_and_what_is_connected_connected() {
        let closed = "{battery: reconnect}, {charge: cap}, {fuse: main}, ";
        assert_eq!(of(&format!("{closed}{{run: on}}")), Outcome::Fail);
        assert_eq!(of(&format!("{closed}{{mount: cap}}")), Outcome::Fail);
        assert_eq!(of("{battery: reconnect}, {charge: cap}, {charge: cap}, {fuse: main}"), Outcome::Pass);
        assert_eq!(of("{connect: cap}, {battery: reconnect}, {fuse: main}"), Outcome::Fail);
    }

    #[test]
    fn a_wire_elsewhere_is_no_work_at_it() {
        let text = |run: &str| {
            plan(&format!("{WORK}, {{charge: cap}}, {{run: {run}}}, {{battery: reconnect}}"))
                .replace("steps:", "  back: {from: amp.ground, to: battery.negative}\nsteps:")
        };
        let of = |run: &str| outcome(&text(run), CODE, SUBJECT);
        assert_eq!((of("back"), of("on")), (Outcome::Pass, Outcome::Fail));
    }

    /// One that no step connects is connected already, one that a step does closes there.
    #[test]
    fn it_is_closed_by_what_comes_last() {
        let closes = |steps: &str| finding(&plan(steps), CODE, SUBJECT).at.place.path();
        assert_eq!(closes("{battery: disconnect}, {run: on}, {battery: reconnect}"), "steps.2.battery");
        assert_eq!(closes("{battery: disconnect}, {battery: reconnect}, {connect: cap}"), "steps.2.connect");
    }

    /// The battery behind the driver's seat is not off when the one under the bonnet is.
    #[test]
    fn a_second_battery_closes_it_too() {
        let text = |rest: &str| {
            plan(&format!("{WORK}, {rest}"))
                .replace("amplifiers:", "batteries: {rear: {internal_resistance: 5 mohm}}\namplifiers:")
                .replace("from: battery.positive", "from: rear.positive")
        };
        let of = |rest: &str| outcome(&text(rest), CODE, SUBJECT);
        assert_eq!((of("{fuse: main}"), of("{charge: cap}, {fuse: main}")), (Outcome::Fail, Outcome::Pass));
    }
}
