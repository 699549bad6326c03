//! A charge relay, or a charger that nothing tells that the engine runs, waits for a voltage that a control unit does not
//! hold.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{ChargeControl, Isolator, IsolatorKind, Stage, Wire};
use crate::solve::graph::{LinkKind, POSITIVE};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-14",
    name: "isolator-on-controlled-charging",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("isolator_on_control.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("vehicle.alternator.control", &["ecu"]),
        super::Slip::Say("isolators.*.kind", &["relay"]),
        super::Slip::Drop("turn_on.*"),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let isolators = job.plan.isolators.iter();
    isolators.map(|(name, isolator)| (Place::of(format!("isolators.{name}")), judge(name, isolator, job))).collect()
}

fn judge(name: &str, isolator: &Isolator, job: &Job<'_>) -> Judged {
    let at = Place::of(format!("isolators.{name}.kind"));
    let added = charged_through(name, job)
        .ok_or(Undecided::NotApplicable("it does not part an added battery from the starting battery"))?;
    let alternator = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let control = alternator.and_then(|alternator| alternator.control);
    if control == Some(ChargeControl::Fixed) {
        return Ok(Verdict::pass());
    }
    let kind = isolator.kind.ok_or_else(|| Undecided::need(at.clone()))?;
    let is_told = isolator.senses_engine == Some(true) || has_sense_wire(name, job);
    if matches!(kind, IsolatorKind::Switch | IsolatorKind::StepDown) || (kind == IsolatorKind::Charger && is_told) {
        return Ok(Verdict::pass());
    }
    let by = Place::of("vehicle.alternator.control");
    if control.is_none() {
        return Err(Undecided::need(by));
    }
    if kind == IsolatorKind::Charger {
        return untold_charger(name, isolator, by, job);
    }
    Ok(Verdict::fail(
        Finding::new(at, format!("relay `{name}` on an alternator that the engine's control unit holds down"))
            .label("opens when the voltage falls")
            .also(by, "lets the voltage fall to save fuel")
            .because("below about 13 V the relay opens or passes nothing: the second battery is never full")
            .mend("put a charger between the batteries that is made for such alternators (`kind: charger`)")
            .follows("SUPPLY-07", Place::of(format!("batteries.{added}"))),
    ))
}

/// A charger without a sense wire, where a control unit lets the voltage fall.
fn untold_charger(name: &str, isolator: &Isolator, by: Place, job: &Job<'_>) -> Judged {
    let at = Place::of(format!("isolators.{name}.senses_engine"));
    if isolator.senses_engine.is_none() {
        return Err(Undecided::need(at));
    }
    // A draft may still lack its connections.
    if job.plan.stage() == Stage::Draft {
        return Err(Undecided::need(Place::of("turn_on")));
    }
    let lead = format!("{{from: {{kind: ignition}}, to: [{name}.sense], size: 18 AWG}}");
    Ok(Verdict::fail(
        Finding::new(at, format!("nothing tells charger `{name}` that the engine runs"))
            .label("does not find out by itself")
            .also(by, "lets the voltage fall to save fuel")
            .because("by the voltage alone it cannot tell driving from standing: it stays off on the road, or empties the starting battery")
            .mend(format!("lay a sense wire to `{name}.sense` from a circuit that is live with the ignition (terminal 15)"))
            .offer(Offer::new("lay a sense wire").set(Place::of(format!("turn_on.{name}-sense")), lead)),
    ))
}

/// Whether something ends at the terminal that is to tell an isolator that the engine runs.
fn has_sense_wire(name: &str, job: &Job<'_>) -> bool {
    let leads = job.plan.turn_on.values().flat_map(|lead| &lead.to);
    let wires = job.plan.wires.values().flat_map(Wire::terminals);
    leads.chain(wires).any(|end| end.is(name, "sense"))
}

/// The added battery that is charged from the starting battery's side through this isolator.
fn charged_through<'j>(name: &str, job: &'j Job<'_>) -> Option<&'j str> {
    let graph = job.graph();
    let run = |kind: &LinkKind| matches!(kind, LinkKind::Wire(_) | LinkKind::Output(..) | LinkKind::ChargeCable);
    let (one, other) = (graph.node(name, "in")?, graph.node(name, "out")?);
    let leads = |from: usize, goal: usize| graph.nearest(from, &[goal], run).is_some();
    let mut added = job.plan.batteries.keys();
    added.find_map(|battery| {
        let post = graph.node(battery, "positive")?;
        let is_between = (leads(one, POSITIVE) && leads(other, post)) || (leads(other, POSITIVE) && leads(one, post));
        is_between.then_some(battery.as_str())
    })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    const CODE: &str = "SUPPLY-14";
    const SUBJECT: &str = "isolators.part";
    const LINK: &str = "a: {from: battery.positive, to: part.in}, b: {from: part.out, to: rear.positive}";

    fn plan(control: &str, isolator: &str, wires: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{alternator: {{rated: 180 A{control}}}}}\nbatteries: {{rear: {{kind: agm}}}}\n\
             isolators: {{part: {{{isolator}}}}}\nwires: {{{wires}}}\n"
        )
    }

    #[test]
    fn a_relay_fails_on_a_controlled_alternator_and_a_charger_is_asked_how_it_is_told() {
        for (control, kind, expected) in [
            ("ecu", "relay", Outcome::Fail),
            ("ecu", "charger", Outcome::Open),
            ("fixed", "charger", Outcome::Pass),
            ("ecu", "switch", Outcome::Pass),
            ("fixed", "relay", Outcome::Pass),
        ] {
            let text = plan(&format!(", control: {control}"), &format!("kind: {kind}"), LINK);
            assert_eq!(outcome(&text, CODE, SUBJECT), expected, "{control} {kind}");
        }
    }

    #[test]
    fn laid_the_other_way_round_it_is_the_same_relay() {
        let round = "a: {from: battery.positive, to: part.out}, b: {from: part.in, to: rear.positive}";
        assert_eq!(outcome(&plan(", control: ecu", "kind: relay", round), CODE, SUBJECT), Outcome::Fail);
    }

    #[test]
    fn what_decides_is_asked_for() {
        let need = |control: &str, isolator: &str| {
            let open = check(&plan(control, isolator, LINK), CODE, SUBJECT);
            assert_eq!(open.outcome, Outcome::Open);
            open.needs[0].path()
        };
        assert_eq!(need(", control: ecu", ""), "isolators.part.kind");
        assert_eq!(need("", "kind: relay"), "vehicle.alternator.control");
        assert_eq!(need(", control: ecu", "kind: charger"), "isolators.part.senses_engine");
        assert_eq!(need("", "kind: charger"), "vehicle.alternator.control");
        assert_eq!(outcome(&plan("", "kind: charger, senses_engine: true", LINK), CODE, SUBJECT), Outcome::Pass);
    }

    /// Only where the control unit lets the voltage fall, and neither charger nor a wire finds out.
    #[test]
    fn a_charger_that_cannot_tell_needs_a_sense_wire() {
        let of = |control: &str, senses: &str, rest: &str| {
            let kind = format!("kind: charger{senses}");
            outcome(&(plan(&format!(", control: {control}"), &kind, LINK) + rest), CODE, SUBJECT)
        };
        let planned = "job: {stage: planned}\n";
        let lead = format!("{planned}turn_on: {{sense: {{from: {{kind: ignition}}, to: [part.sense]}}}}\n");
        assert_eq!(of("ecu", ", senses_engine: false", planned), Outcome::Fail);
        assert_eq!(of("ecu", ", senses_engine: false", "job: {stage: draft}\n"), Outcome::Open);
        assert_eq!(of("ecu", ", senses_engine: false", &lead), Outcome::Pass);
        assert_eq!(of("ecu", "", &lead), Outcome::Pass);
        assert_eq!(of("ecu", ", senses_engine: true", planned), Outcome::Pass);
        assert_eq!(of("fixed", ", senses_engine: false", planned), Outcome::Pass);
        let other = lead.replace("part.sense", "other.sense");
        assert_eq!(of("ecu", ", senses_engine: false", &other), Outcome::Fail);
    }

    #[test]
    fn a_sense_wire_does_nothing_for_a_relay_that_waits_for_the_voltage() {
        let text = plan(", control: ecu", "kind: relay", LINK)
            + "turn_on: {sense: {from: {kind: ignition}, to: [part.sense]}}\n";
        assert_eq!(outcome(&text, CODE, SUBJECT), Outcome::Fail);
    }

    #[test]
    fn a_sense_wire_is_offered() {
        let text = plan(", control: ecu", "kind: charger, senses_engine: false", LINK) + "job: {stage: planned}\n";
        let after = &crate::rules::trial::after(&text, CODE, SUBJECT)[0];
        assert_eq!(outcome(after, CODE, SUBJECT), Outcome::Pass, "{after}");
        assert_eq!(outcome(after, "TURN-01", "turn_on.part-sense"), Outcome::Pass, "{after}");
    }

    #[test]
    fn a_relay_that_charges_nothing_is_left_alone() {
        let load = "a: {from: battery.positive, to: part.in}, b: {from: part.out, to: amp.power}";
        assert_eq!(outcome(&plan(", control: ecu", "kind: relay", load), CODE, SUBJECT), Outcome::NotApplicable);
    }

    /// The second battery is charged through another isolator; behind the relay there is but an amplifier.
    #[test]
    fn a_relay_beside_the_one_that_charges_is_left_alone() {
        for (near, far) in [("in", "out"), ("out", "in")] {
            let wires = format!(
                "a: {{from: battery.positive, to: part.{near}}}, b: {{from: part.{far}, to: amp.power}}, c: {{from: \
                 battery.positive, to: other.in}}, d: {{from: other.out, to: rear.positive}}"
            );
            let text = plan(", control: ecu", "kind: relay", &wires)
                .replace("isolators: {", "isolators: {other: {kind: charger}, ");
            assert_eq!(outcome(&text, CODE, SUBJECT), Outcome::NotApplicable, "{near}");
        }
    }
}
