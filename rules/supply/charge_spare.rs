//! A charger that takes more than the alternator has left empties the starting battery into the other one.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::solve::{Case, ChargeDemand, Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-22",
    name: "charger-over-alternator",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("charge_spare.md"),
    check: Subjects::Job(check),
    slips: &[super::Slip::Past("vehicle.factory_load.running"), super::Slip::Past("vehicle.alternator.rated")],
};

fn check(job: &Job<'_>) -> Judged {
    if job.plan.has_converter() {
        return Err(Undecided::NotApplicable("SUPPLY-21 judges a converter"));
    }
    let demand = job.charge_demand(Case::CruiseProgramme)?;
    if demand.chargers.is_empty() {
        return Err(Undecided::NotApplicable("no charger takes its current from the alternator"));
    }
    Ok(at_most(demand.asked(), demand.spare)
        .formula(
            "average draw of what no charger feeds + what the chargers take <= rated output - the vehicle's own draw",
        )
        .given_all(inputs(&demand))
        .limit_from("what the alternator gives beyond that comes out of the starting battery")
        .verdict(|is| {
            let (asked, spares) = (is.result(), is.limit());
            found(
                &demand,
                format!("a charging battery and the music take {asked}, the alternator spares {spares} on the road"),
            )
            .because("the starting battery gives what is missing for as long as the other one fills: hours")
            .mend(format!("{}, or fit a larger alternator", set_lower(&demand)))
            .follows("SUPPLY-02", Place::of("job"))
        }))
}

/// What goes into the sum.
pub fn inputs(demand: &ChargeDemand) -> Vec<Input> {
    let first = [
        Input::known("average draw of what no charger feeds", &demand.music),
        Input::known("what alternator or converter gives", &demand.output),
        Input::known("the vehicle's own draw", &demand.running),
    ];
    let chargers = demand.chargers.iter().flat_map(|charger| {
        let rated = Input::stated("charger made for", charger.rated, charger.place.sub("rated"));
        [rated, Input::known("it takes", &charger.taken())]
    });
    first.into_iter().chain(chargers).collect()
}

/// A finding that points at the alternator or converter and at every charger.
pub fn found(demand: &ChargeDemand, title: String) -> Finding {
    let finding = Finding::new(Place::of("vehicle.alternator.rated"), title)
        .label(format!("gives {}, the vehicle takes {} of it", demand.output.range, demand.running.range));
    demand.chargers.iter().fold(finding, |finding, charger| {
        finding.also(charger.place.sub("rated"), format!("takes {}", charger.taken().range))
    })
}

/// Which charger would do.
pub fn set_lower(demand: &ChargeDemand) -> String {
    match demand.most_given() {
        Some(most) => format!("set the charger to at most {most}, or fit one that gives no more"),
        None => "fit a charger that gives less".into(),
    }
}

#[cfg(test)]
pub(super) mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    const CODE: &str = "SUPPLY-22";

    /// 90 A of alternator, 40 A for the vehicle: 50 A to spare. The amplifier plays behind the charger.
    pub fn plan(vehicle: &str, isolator: &str) -> String {
        format!(
            "plan: 1\nvehicle:\n  voltage: 12 V\n  body: steel\n  {vehicle}\n  factory_load: {{running: 40 A}}\n\
             batteries: {{rear: {{kind: agm}}}}\nisolators: {{part: {{{isolator}}}}}\ngrounds: {{g: {{}}}}\nwires:\n  \
             a: {{from: battery.positive, to: part.in, size: 2 AWG, length: 4 m}}\n  \
             b: {{from: part.out, to: rear.positive, size: 2 AWG, length: 50 cm}}\n  \
             c: {{from: rear.negative, to: grounds.g, size: 2 AWG, length: 40 cm}}\n"
        )
    }

    fn of(isolator: &str) -> Outcome {
        outcome(&plan("alternator: {rated: 90 A, voltage: 14.2 V}", isolator), CODE, "job")
    }

    /// 45 A at 90 % are 50 A.
    #[test]
    fn a_charger_takes_no_more_than_the_alternator_spares() {
        assert_eq!(of("kind: charger, rated: 45 A, efficiency: 90 %"), Outcome::Pass);
        assert_eq!(of("kind: charger, rated: 46 A, efficiency: 90 %"), Outcome::Fail);
        // 85 to 95 % where that is not stated: 44 A take 46.3 to 51.8 A.
        assert_eq!(of("kind: charger, rated: 44 A"), Outcome::Open);
    }

    #[test]
    fn the_working_names_what_goes_into_the_sum() {
        let text = plan("alternator: {rated: 90 A, voltage: 14.2 V}", "kind: charger, rated: 46 A, efficiency: 90 %");
        let working = check(&text, CODE, "job").working.expect("it is worked out");
        let names: Vec<&str> = working.inputs.iter().map(|input| input.name).collect();
        assert_eq!(
            names,
            [
                "average draw of what no charger feeds",
                "what alternator or converter gives",
                "the vehicle's own draw",
                "charger made for",
                "it takes"
            ]
        );
    }

    #[test]
    fn relays_and_vehicles_with_a_converter_are_not_its_business() {
        assert_eq!(of("kind: relay, rated: 100 A"), Outcome::NotApplicable);
        let electric = plan("high_voltage: electric", "kind: charger, rated: 100 A");
        assert_eq!(outcome(&electric, CODE, "job"), Outcome::NotApplicable);
    }

    #[test]
    fn what_is_not_stated_is_asked_for() {
        let need = |isolator: &str| {
            let open = check(&plan("alternator: {rated: 90 A}", isolator), CODE, "job");
            assert_eq!(open.outcome, Outcome::Open);
            open.needs[0].path()
        };
        assert_eq!(need("kind: charger"), "isolators.part.rated");
        assert_eq!(need("rated: 30 A"), "isolators.part.kind");
    }

    /// 60 A at 90 % take 66.7 A of the 50 A that are spared; one of 45 A takes all of them.
    #[test]
    fn it_names_the_charger_that_would_do() {
        let text = plan("alternator: {rated: 90 A}", "kind: charger, rated: 60 A, efficiency: 90 %");
        let found = finding(&text, CODE, "job");
        assert!(found.title.contains("take 66.7 A, the alternator spares 50 A"), "{}", found.title);
        assert!(
            found.mend.starts_with("set the charger to at most 45 A, or fit one that gives no more"),
            "{}",
            found.mend
        );
    }
}
