//! A charger that gives more than a battery may be charged with.

use crate::house::Assumption;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::{Battery, BatteryKind};
use crate::quantity::{Current, Quantity, Range};
use crate::solve::{Decided, Job, Known, Place, Thing, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-23",
    name: "charger-over-battery",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("charge_current.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("batteries.*.charge_current", &["40 A", "30 A", "15 A"]),
        super::Slip::Past("batteries.*.charge_current"),
        super::Slip::Past("batteries.*.capacity"),
        super::Slip::Past("isolators.*.rated"),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let batteries = job.plan.batteries.iter().map(|(name, battery)| Thing::new("batteries", name, battery));
    batteries.map(|battery| (battery.place(), judge(&battery, job))).collect()
}

fn judge(battery: &Thing<'_, Battery>, job: &Job<'_>) -> Judged {
    let (chargers, sharing) = job.chargers_of(battery.name);
    if chargers.is_empty() {
        return Err(Undecided::NotApplicable("no charger charges it"));
    }
    if sharing.first().is_some_and(|first| *first != battery.name) {
        return Err(Undecided::NotApplicable("it is judged with the battery beside it"));
    }
    let rated = all(chargers.iter().map(|charger| {
        let rated = charger.is.need("rated", &charger.is.rated)?;
        Ok((rated, charger.is.at("rated")))
    }))?;
    let beside = sharing.iter().filter_map(|name| job.plan.batteries.get_key_value(*name));
    let takes = all(beside.map(|(name, battery)| most(&Thing::new("batteries", name, battery), job)))?;
    let first = rated[0].0;
    let given = first.with_base(rated.iter().map(|(rated, _)| rated.base()).sum());
    let limit = takes.iter().map(|known| known.range).sum::<Range<Current>>();
    let place = battery.at(if battery.charge_current.is_some() { "charge_current" } else { "capacity" });
    Ok(at_most(given, limit)
        .formula("what its chargers give <= the most that it may be charged with")
        .given_all(rated.iter().map(|(rated, place)| Input::stated("charger made for", *rated, place.clone())))
        .given_all(takes.iter().map(|known| Input::known("the most that it may be charged with", known)))
        .limit_from("the battery's maker, or the house's share of its capacity for its kind")
        .verdict(|is| {
            let (given, most) = (is.result(), limit.at_high());
            let is_stated = limit.is_point();
            let usual = if is_stated { "may be charged with" } else { "is usually charged with at most" };
            let title = format!("`{}` is charged with {given}; it {usual} {most}", battery.name);
            let finding = Finding::new(place, title).label(format!("takes {most}"));
            let finding = rated.iter().fold(finding, |finding, (rated, place)| {
                finding.also(place.clone(), format!("gives {rated}"))
            });
            finding
                .because("charged faster than it takes a lead battery boils and swells, and a lithium one cuts itself off or is ruined")
                .mend(format!("set the charger to at most {}, or fit one that gives no more", limit.at_low()))
                .ask_first(if is_stated { Vec::new() } else { vec![battery.at("charge_current")] })
        }))
}

/// The most that a battery may be charged with.
fn most(battery: &Thing<'_, Battery>, job: &Job<'_>) -> Decided<Known<Current>> {
    let place = battery.at("charge_current");
    if let Some(stated) = battery.charge_current {
        return Ok(job.assume(place, Some(stated), &Assumption { range: stated.into(), source: "" }));
    }
    let kind = battery.need("kind", &battery.kind)?;
    let capacity: Quantity<_> = battery.need("capacity", &battery.capacity)?;
    let assumptions = &job.house.assumptions;
    let share = match kind {
        BatteryKind::LithiumIronPhosphate => assumptions.charge_lithium,
        _ => assumptions.charge_lead_acid,
    };
    let range = Range::new(share.range.low() * capacity.base(), share.range.high() * capacity.base());
    Ok(job.assume(place, None, &Assumption { range, source: share.source }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    const CODE: &str = "SUPPLY-23";
    const SUBJECT: &str = "batteries.house";

    fn plan(charger: &str, battery: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V}}\nbatteries: {{house: {{{battery}}}}}\nisolators: {{dcdc: {{kind: charger{charger}}}}}\n\
             wires:\n  in: {{from: battery.positive, to: dcdc.in}}\n  out: {{from: dcdc.out, to: house.positive}}\n"
        )
    }

    fn of(charger: &str, battery: &str) -> Outcome {
        outcome(&plan(charger, battery), CODE, SUBJECT)
    }

    #[test]
    fn the_makers_current_is_held() {
        assert_eq!(of(", rated: 30 A", "charge_current: 30 A"), Outcome::Pass);
        assert_eq!(of(", rated: 31 A", "charge_current: 30 A"), Outcome::Fail);
    }

    /// Lead-acid a tenth to three tenths of its capacity an hour, lithium iron phosphate a half to all of it (common practice, no
    /// published source).
    #[test]
    fn without_it_the_usual_of_the_kind_counts() {
        for (kind, passes, open, fails) in [
            ("agm", "10 A", "30 A", "31 A"),
            ("flooded", "10 A", "11 A", "31 A"),
            ("lithium-iron-phosphate", "50 A", "100 A", "101 A"),
        ] {
            let of = |rated: &str| of(&format!(", rated: {rated}"), &format!("kind: {kind}, capacity: 100 Ah"));
            assert_eq!((of(passes), of(open), of(fails)), (Outcome::Pass, Outcome::Open, Outcome::Fail), "{kind}");
        }
    }

    #[test]
    fn a_small_battery_behind_a_large_charger_fails_with_what_would_do() {
        let found = finding(&plan(", rated: 40 A", "kind: agm, capacity: 12 Ah"), CODE, SUBJECT);
        assert_eq!(found.title, "`house` is charged with 40 A; it is usually charged with at most 3.6 A");
        assert!(found.mend.contains("at most 1.2 A"), "{}", found.mend);
    }

    #[test]
    fn batteries_side_by_side_share_what_comes_and_chargers_add_up() {
        let two = plan(", rated: 40 A", "charge_current: 20 A")
            .replace("batteries: {", "batteries: {second: {charge_current: 20 A}, ")
            + "  par: {from: house.positive, to: second.positive}\n";
        assert_eq!(outcome(&two, CODE, SUBJECT), Outcome::Pass);
        assert_eq!(outcome(&two, CODE, "batteries.second"), Outcome::NotApplicable);
        let more = two.replace("isolators: {", "isolators: {sun: {kind: charger, rated: 10 A}, ")
            + "  more: {from: other.positive, to: sun.in}\n  on: {from: sun.out, to: second.positive}\n";
        let more = more.replace("batteries: {", "batteries: {other: {}, ");
        assert_eq!(outcome(&more, CODE, SUBJECT), Outcome::Fail);
    }

    #[test]
    fn what_is_not_stated_is_asked_for() {
        let need = |charger: &str, battery: &str| check(&plan(charger, battery), CODE, SUBJECT).needs[0].path();
        assert_eq!(need("", "kind: agm, capacity: 90 Ah"), "isolators.dcdc.rated");
        assert_eq!(need(", rated: 30 A", "capacity: 90 Ah"), "batteries.house.kind");
        assert_eq!(need(", rated: 30 A", "kind: agm"), "batteries.house.capacity");
        assert_eq!(need(", rated: 20 A", "kind: agm, capacity: 90 Ah"), "batteries.house.charge_current");
        let relay = plan(", rated: 100 A", "kind: agm, capacity: 12 Ah").replace("kind: charger", "kind: relay");
        assert_eq!(outcome(&relay, CODE, SUBJECT), Outcome::NotApplicable);
    }
}
