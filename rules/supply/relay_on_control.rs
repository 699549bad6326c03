//! A charge relay waits for a voltage that a control unit does not hold.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{ChargeControl, Isolator, IsolatorKind};
use crate::solve::graph::{LinkKind, POSITIVE};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-14",
    name: "relay-on-controlled-charging",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("relay_on_control.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("vehicle.alternator.control", &["ecu"]),
        super::Slip::Say("isolators.*.kind", &["relay"]),
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
    if kind != IsolatorKind::Relay {
        return Ok(Verdict::pass());
    }
    let by = Place::of("vehicle.alternator.control");
    if control.is_none() {
        return Err(Undecided::need(by));
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
    fn only_a_relay_on_a_controlled_alternator_fails() {
        for (control, kind, expected) in [
            ("ecu", "relay", Outcome::Fail),
            ("ecu", "charger", Outcome::Pass),
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
        assert_eq!(outcome(&plan("", "kind: charger", LINK), CODE, SUBJECT), Outcome::Pass);
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
