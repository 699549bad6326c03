//! An amplifier that cannot get rid of its heat shuts down in the middle of a song.

use super::site::mount_of;
use crate::judge::{Finding, Input, Judged, Offer, Outcome, Rule, Severity, Subjects, Verdict, at_least, at_most};
use crate::plan::{Amplifier, Mount};
use crate::quantity::{Current, Length, Power, Quantity, Range, Voltage};
use crate::solve::{Decided, Job, Known, Origin, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "MOUNT-03",
    name: "amplifier-too-hot",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("heat.md"),
    check: Subjects::Amplifier(check),
    slips: &[super::Slip::Past("mounts.*.clearance"), super::Slip::Say("mounts.*.ventilated", &["false"])],
};

/// Volts at which the idle current makes heat: charging, 12 V system.
const CHARGING: f64 = 14.4;

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let mount = mount_of(job, amplifier.name)?;
    let room = room(&mount, job);
    if matches!(&room, Ok(verdict) if verdict.outcome == Outcome::Pass) {
        return room;
    }
    let limit = job.house.limits.small_heat;
    let heat = heat(amplifier, job)?;
    let small = at_most(heat.total, limit.value)
        .formula("heat with programme + idle current x charging voltage")
        .given(Input::known("heat with programme", &heat.programme))
        .given(Input::known("idle current", &heat.idle))
        .given(Input::known("charging voltage", &heat.charging))
        .given_all(tightness(&mount, job))
        .limit_from(limit.source);
    if small.outcome() == Outcome::Pass {
        return Ok(small.verdict(|_| Finding::new(mount.place(), "")));
    }
    let tight = room?.finding.ok_or(Undecided::NotApplicable("it has room"))?;
    Ok(small.verdict(|is| {
        let room = needed(&mount, job);
        let title = match tight.at.place.key() {
            "ventilated" => format!("{} of heat shut in without air, at most {} may be", is.result(), is.limit()),
            _ => format!("{} around {} of heat, above {} it needs {room}", tight.title, is.result(), is.limit()),
        };
        Finding { title, ..*tight }
            .mend(format!("give its {} of heat a way out: {room} free all round and open ends", is.result()))
            .offer(Offer::new(format!("leave {room} free")).set(mount.at("clearance"), room))
            .offer(
                Offer::new(format!("leave {room} free and the ends open"))
                    .set(mount.at("clearance"), room)
                    .set(mount.at("ventilated"), true),
            )
    }))
}

/// What keeps air from it: the sum is only asked for where there is too little.
fn tightness(mount: &Thing<'_, Mount>, job: &Job<'_>) -> Vec<Input> {
    match (mount.ventilated, mount.clearance) {
        (Some(false), _) => vec![Input::word("ventilated", "no", mount.at("ventilated"))],
        (_, Some(clearance)) => vec![
            Input::stated("clearance", clearance, mount.at("clearance")),
            Input::limit("clearance that is enough", &job.house.limits.clearance),
        ],
        (_, None) => Vec::new(),
    }
}

/// The free space that the house asks for, in the unit of which the plan speaks of it.
fn needed(mount: &Mount, job: &Job<'_>) -> Quantity<Length> {
    let limit = job.house.limits.clearance.value;
    mount.clearance.map_or(limit, |written| written.with_base(limit.base())).rounded_up()
}

/// Average heat with programme.
struct Heat {
    programme: Known<Power>,
    idle: Known<Current>,
    charging: Known<Voltage>,
    total: Range<Power>,
}

fn heat(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Decided<Heat> {
    let demand = job.demand(amplifier)?;
    let charging = charging(job);
    let total = demand.heat + demand.idle.range.map(|amperes| amperes * charging.range.high());
    let programme = Known::computed(demand.heat, "supply power less audio power with programme");
    Ok(Heat { programme, idle: demand.idle.clone(), charging, total })
}

/// What the plan says the alternator holds, or else what is usual.
fn charging(job: &Job<'_>) -> Known<Voltage> {
    let alternator = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    if let Some(stated) = alternator.and_then(|alternator| alternator.voltage) {
        return Known { range: stated.into(), origin: Origin::Stated(Place::of("vehicle.alternator.voltage")) };
    }
    let volts = CHARGING * job.plan.system_voltage().map_or(1.0, crate::plan::SystemVoltage::multiple);
    Known::computed(Range::point(volts), "usual while the engine runs")
}

/// Whether air gets around it.
fn room(mount: &Thing<'_, Mount>, job: &Job<'_>) -> Judged {
    let because = "an amplifier that cannot shed its heat shuts down, and its parts age twice as fast for every 10 C";
    if mount.ventilated == Some(false) {
        let finding = Finding::new(mount.at("ventilated"), "shut in without air");
        return Ok(Verdict::fail(finding.label("no air passes").because(because)));
    }
    let clearance = mount.need("clearance", &mount.clearance)?;
    let limit = job.house.limits.clearance;
    Ok(at_least(clearance, limit.value)
        .formula("free space around the amplifier")
        .given(Input::stated("clearance", clearance, mount.at("clearance")))
        .limit_from(limit.source)
        .verdict(|_| {
            Finding::new(mount.at("clearance"), format!("{clearance} free"))
                .label("too tight for its heat")
                .because(because)
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// 300 W at one third through class D of 80 %: 25 W of heat, and 10 W at idle.
    const LARGE: &str =
        "class: D, channels: 1, efficiency: 80 %, idle_current: 0.7 A, rated: [{load: 4 ohm, power: 300 W}]";
    const SMALL: &str =
        "class: D, channels: 1, efficiency: 80 %, idle_current: 0.3 A, rated: [{load: 4 ohm, power: 60 W}]";

    fn amplifier(facts: &str, mount: &str) -> Outcome {
        let text = format!("plan: 1\namplifiers: {{amp: {{{facts}}}}}\nmounts: {{amp: {{{mount}}}}}\n");
        outcome(&text, "MOUNT-03", "amplifiers.amp")
    }

    #[test]
    fn a_large_amplifier_needs_room() {
        assert_eq!(amplifier(LARGE, "clearance: 25 mm"), Outcome::Pass);
        assert_eq!(amplifier(LARGE, "clearance: 24 mm"), Outcome::Fail);
        assert_eq!(amplifier(LARGE, "clearance: 50 mm, ventilated: false"), Outcome::Fail);
        assert_eq!(amplifier(LARGE, "on: under-seat"), Outcome::Open);
    }

    #[test]
    fn the_numbers_of_the_working_make_its_result() {
        let text = format!("plan: 1\namplifiers: {{amp: {{{LARGE}}}}}\nmounts: {{amp: {{clearance: 5 mm}}}}\n");
        let found = check(&text, "MOUNT-03", "amplifiers.amp");
        let working = found.working.expect("it has a working");
        let numbers: Vec<f64> = working
            .inputs
            .iter()
            .map(|input| match &input.value {
                crate::judge::Value::Figure(figure) => figure.high,
                crate::judge::Value::Word(word) => panic!("{word} is no number"),
            })
            .collect();
        assert_eq!(numbers[3..], [0.005, 0.025], "what is too tight, and what would be enough");
        assert!((numbers[0] + numbers[1] * numbers[2] - working.result.high).abs() < 1e-9, "{numbers:?}");
        assert_eq!(
            found.finding.expect("it fails").title,
            "5 mm free around 35.1 W of heat, above 15 W it needs 25 mm"
        );
    }

    /// 25 W with programme, and 0.7 A at the 13 V that the alternator holds.
    #[test]
    fn the_voltage_is_that_of_the_alternator_where_the_plan_says_it() {
        let text = format!(
            "plan: 1\nvehicle: {{voltage: 12 V, alternator: {{voltage: 13 V}}}}\namplifiers: {{amp: {{{LARGE}}}}}\n\
             mounts: {{amp: {{clearance: 5 mm}}}}\n"
        );
        let working = check(&text, "MOUNT-03", "amplifiers.amp").working.expect("it has a working");
        let volts = working.inputs.iter().find(|input| input.name == "charging voltage").expect("it went in");
        assert_eq!(volts.origin, crate::solve::Origin::Stated(crate::solve::Place::of("vehicle.alternator.voltage")));
        assert!((working.result.high - (25.0 + 0.7 * 13.0)).abs() < 1e-9, "{:?}", working.result);
    }

    #[test]
    fn the_working_says_that_no_air_passes() {
        let text = format!("plan: 1\namplifiers: {{amp: {{{LARGE}}}}}\nmounts: {{amp: {{ventilated: false}}}}\n");
        let working = check(&text, "MOUNT-03", "amplifiers.amp").working.expect("it has a working");
        let last = working.inputs.last().expect("what went in");
        assert_eq!((last.name, &last.value), ("ventilated", &crate::judge::Value::Word("no".into())));
    }

    #[test]
    fn a_small_one_may_be_shut_in() {
        assert_eq!(amplifier(SMALL, "ventilated: false"), Outcome::Pass);
        assert_eq!(amplifier(SMALL, "on: behind-dash"), Outcome::Pass);
    }

    #[test]
    fn its_heat_decides_when_there_is_no_room_and_not_otherwise() {
        assert_eq!(amplifier("", "clearance: 24 mm"), Outcome::Open);
        assert_eq!(amplifier("", "clearance: 25 mm"), Outcome::Pass);
    }

    /// 60 W at one third through 80 % leave 5 W; 10 W more at idle are 0.35 A at 28.8 V.
    #[test]
    fn in_a_24_volt_system_the_idle_current_makes_twice_the_heat() {
        let of = |idle: &str| {
            let facts = SMALL.replace("0.3 A", idle);
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 24 V}}\namplifiers: {{amp: {{{facts}}}}}\nmounts: {{amp: {{ventilated: false}}}}\n"
            );
            outcome(&text, "MOUNT-03", "amplifiers.amp")
        };
        assert_eq!(of("0.34 A"), Outcome::Pass);
        assert_eq!(of("0.35 A"), Outcome::Fail);
    }

    #[test]
    fn it_says_whether_air_or_room_is_missing() {
        let title = |mount: &str| {
            let text = format!("plan: 1\namplifiers: {{amp: {{{LARGE}}}}}\nmounts: {{amp: {{{mount}}}}}\n");
            check(&text, "MOUNT-03", "amplifiers.amp").finding.expect("it fails").title
        };
        let shut = title("clearance: 50 mm, ventilated: false");
        assert!(shut.contains(" of heat shut in without air, at most "), "{shut}");
        let tight = title("clearance: 10 mm");
        assert!(tight.contains(" around ") && tight.contains(" it needs "), "{tight}");
    }
}
