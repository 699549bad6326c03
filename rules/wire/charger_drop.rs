//! Voltage lost on the way to a charger.

use super::site;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::{Isolator, IsolatorKind, Wire};
use crate::quantity::{Quantity, Range, Voltage};
use crate::solve::{Case, Job, Origin, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-16",
    name: "charger-feed-drop",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("charger_drop.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Past("wires.*.length"),
        super::Slip::Past("wires.*.size"),
        super::Slip::Say("wires.*.joint_resistance", &["5 mohm", "8 mohm", "12 mohm"]),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let isolators = job.plan.isolators.iter();
    isolators.map(|(name, isolator)| (Place::of(format!("isolators.{name}")), judge(name, isolator, job))).collect()
}

fn judge(name: &str, isolator: &Isolator, job: &Job<'_>) -> Judged {
    let at = Place::of(format!("isolators.{name}"));
    let kind = isolator.kind.ok_or_else(|| Undecided::need(at.sub("kind")))?;
    if kind != IsolatorKind::Charger {
        return Err(Undecided::NotApplicable("only a charger draws the same current for hours"));
    }
    let wires = job.feed_of_charger(name).ok_or(Undecided::NotApplicable("it charges no battery yet"))?;
    let rated = isolator.rated.ok_or_else(|| Undecided::need(at.sub("rated")))?;
    let limit = job.house.limits.supply_drop.times(job.system_multiple()?);
    let mut parts: Vec<(&Thing<'_, Wire>, Range<Voltage>)> = Vec::new();
    for wire in &job.wires {
        if wires.iter().any(|at| job.wires[*at].address == wire.address) {
            parts.push((wire, job.wire_drop(wire, Case::IdleProgramme)?.range));
        }
    }
    let worst = parts.iter().max_by(|one, other| one.1.high().total_cmp(&other.1.high())).copied();
    let (worst, part) = worst.ok_or(Undecided::NotApplicable("no wire of the plan feeds it"))?;
    let drop: Range<Voltage> = parts.iter().map(|(_, part)| *part).sum();
    let runs = parts.iter().map(|(wire, part)| Input::from("in one run", *part, Origin::Stated(wire.place())));
    Ok(at_most(drop, limit.value)
        .formula("drop from the battery to the charger, with fuses and joints, while it gives what it is made for")
        .given(Input::stated("charger made for", rated, at.sub("rated")))
        .given_all(runs)
        .given(Input::limit("most", &limit))
        .limit_from(limit.source)
        .verdict(|is| {
            Finding::new(
                worst.at("length"),
                format!("{} lost on the way to charger `{name}`, {} is the most", is.result(), is.limit()),
            )
            .label(format!("{part} of it in this run"))
            .also(at.sub("rated"), format!("gives {rated}"))
            .because("a charger that sees too low a voltage draws more, gives less or switches off and on")
            .mend(mend(worst, part, drop, limit.value, job))
            .offers(site::lay_thicker(worst, job))
        }))
}

/// Which size of the worst wire would do, where that wire loses it.
fn mend(
    worst: &Thing<'_, Wire>,
    part: Range<Voltage>,
    drop: Range<Voltage>,
    most: Quantity<Voltage>,
    job: &Job<'_>,
) -> String {
    let left = part.high() - (drop.high() - most.base());
    let size = worst.size.filter(|_| left > 0.0);
    let size = size.and_then(|size| site::at_least(size.square_millimetres() * part.high() / left, size, job));
    match size {
        Some(size) => format!("lay {size} in this run, shorten it, or set the charger lower"),
        None => "lay thicker or shorter wires to it, or set the charger lower".into(),
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    const CODE: &str = "WIRE-16";
    const AT: &str = "isolators.dcdc";

    /// A charger that gives 30 A of the 33.3 A that it takes.
    fn plan(charger: &str, length: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, battery: {{kind: agm}}}}\nbatteries: {{aux: {{kind: agm}}}}\n\
             isolators: {{dcdc: {{{charger}}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  charge: {{from: battery.positive, to: dcdc.in, \
             size: 10 AWG, conductor: copper, stranding: solid, insulation: 105 C, joint_resistance: 0.1 mohm, length: {length}, \
             path: [cargo], fuse: {{form: bolt-down, rating: 50 A, distance: 10 cm, resistance: 1 mohm}}}}\n  \
             link: {{from: dcdc.out, to: aux.positive, size: 10 AWG, conductor: copper, length: 5 m}}\n  \
             return: {{from: aux.negative, to: grounds.floor, size: 10 AWG, conductor: copper, length: 40 cm}}\n"
        )
    }

    const CHARGER: &str = "kind: charger, rated: 30 A, efficiency: 90 %";

    /// 10 AWG has 3.28 mohm/m at 20 C, and warm some 3.6: 33.3 A lose 0.12 V in a metre, in fuse and joints 0.05 V: 3 m
    /// pass, 9 m lose 1.1 V. What lies behind the charger does not count.
    #[test]
    fn a_long_thin_cable_to_a_charger_is_told_with_the_size_that_would_do() {
        assert_eq!(outcome(&plan(CHARGER, "3 m"), CODE, AT), Outcome::Pass);
        let found = finding(&plan(CHARGER, "9 m"), CODE, AT);
        assert!(found.title.starts_with("1.") && found.title.contains("`dcdc`, 0.5 V is the most"), "{}", found.title);
        assert!(found.mend.starts_with("lay 6 AWG"), "{}", found.mend);
        for length in ["9 m", "20 m"] {
            let mend = finding(&plan(CHARGER, length), CODE, AT).mend;
            let size = mend.strip_prefix("lay ").and_then(|rest| rest.split(" in this run").next()).expect("a size");
            let mended = plan(CHARGER, length).replacen("size: 10 AWG", &format!("size: {size}"), 1);
            assert_eq!(outcome(&mended, CODE, AT), Outcome::Pass, "{length}: {mend}");
        }
    }

    #[test]
    fn relays_are_not_its_business_and_what_is_not_stated_is_asked_for() {
        assert_eq!(outcome(&plan("kind: relay, rated: 30 A", "9 m"), CODE, AT), Outcome::NotApplicable);
        let need = |charger: &str, length: &str| check(&plan(charger, length), CODE, AT).needs[0].path();
        assert_eq!(need("kind: charger", "9 m"), "isolators.dcdc.rated");
        assert_eq!(need("rated: 30 A", "9 m"), "isolators.dcdc.kind");
        // 85 to 95 % where the efficiency is not stated.
        assert_eq!(outcome(&plan("kind: charger, rated: 30 A", "4 m"), CODE, AT), Outcome::Open);
    }
}
