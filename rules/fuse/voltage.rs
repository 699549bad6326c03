//! A fuse has to put out an arc at the highest voltage that stands across it.

use crate::house::Assumption;
use crate::judge::{Finding, Input, Judged, Offer, Outcome, Rule, Severity, Subjects, at_least};
use crate::plan::FuseForm;
use crate::quantity::{Range, Voltage};
use crate::solve::{Job, Origin, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-07",
    name: "fuse-voltage",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("voltage.md"),
    check: Subjects::Fuse(check),
    slips: &[
        super::Slip::Say("wires.*.fuse|far_fuse.voltage", &["12 V", "24 V"]),
        super::Slip::Say("blocks.*.outputs.*.fuse.voltage", &["12 V", "24 V"]),
    ],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let place = site.place.sub("voltage");
    let made_for = match (site.fuse.voltage, site.fuse.form) {
        (None, None) => return Err(Undecided::need(place)),
        (stated, form) => {
            let promised = form.and_then(FuseForm::voltage).or(stated.map(Range::from));
            let range = promised.ok_or_else(|| Undecided::need(place.clone()))?;
            let source = "32 V or 58 V (ISO 8820-3:2015; ISO 8820-5, from memory)";
            job.assume(place.clone(), stated, &Assumption { range, source })
        }
    };
    let highest = job.house.limits.highest_voltage;
    let system = job.system_multiple();
    let multiple = system.clone().map_or((1.0, 2.0), |multiple| (multiple, multiple));
    let limit: Range<Voltage> = Range::from(highest.value).scaled(multiple.0, multiple.1);
    let comparison = at_least(made_for.range, limit)
        .formula("voltage rating >= highest voltage in service")
        .given(Input::known("voltage rating", &made_for))
        .given(Input::from("highest voltage in service", limit, Origin::House(highest.name, highest.source)))
        .limit_from(highest.source);
    if comparison.outcome() == Outcome::Open {
        system?;
    }
    Ok(comparison.verdict(|is| {
        let made = ["32 V", "58 V"]
            .map(|volts| Offer::new(format!("fit a {} made for {volts}", site.fuse.noun())).set(place.clone(), volts));
        let noun = site.fuse.noun();
        let title = format!("{noun} made for {}, the system reaches {}", is.result(), is.limit());
        let finding = Finding::new(place, title);
        let finding = finding.also(Place::of("vehicle.voltage"), format!("reaches {} in service", is.limit()));
        finding
            .label(format!("made for {}", is.result()))
            .because("above the voltage that it is made for it may not put out the arc when it opens")
            .mend(if site.fuse.is_breaker() {
                format!("fit a breaker made for at least {} of direct current", is.limit())
            } else {
                format!("fit a fuse made for at least {}; standard forms are made for 32 V or 58 V", is.limit())
            })
            .offers(made)
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(vehicle: &str, fuse: &str) -> String {
        format!(
            "plan: 1\n{vehicle}amplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, \
             fuse: {{rating: 60 A, distance: 20 cm{fuse}}}}}\n"
        )
    }

    const TWELVE: &str = "vehicle: {voltage: 12 V}\n";
    const TWENTY_FOUR: &str = "vehicle: {voltage: 24 V}\n";

    #[test]
    fn a_fuse_made_for_the_highest_voltage_passes_and_a_volt_less_fails() {
        for (vehicle, enough, less) in [(TWELVE, "16 V", "15 V"), (TWENTY_FOUR, "32 V", "31 V")] {
            let of =
                |voltage: &str| outcome(&plan(vehicle, &format!(", voltage: {voltage}")), "FUSE-07", "wires.main.fuse");
            assert_eq!((of(enough), of(less)), (Outcome::Pass, Outcome::Fail), "{vehicle}");
        }
    }

    #[test]
    fn a_standard_form_suits_either_system() {
        for vehicle in ["", TWELVE, TWENTY_FOUR] {
            assert_eq!(outcome(&plan(vehicle, ", form: blade-large"), "FUSE-07", "wires.main.fuse"), Outcome::Pass);
        }
    }

    #[test]
    fn what_decides_is_asked_for() {
        let open = check(&plan(TWELVE, ""), "FUSE-07", "wires.main.fuse");
        assert_eq!(open.needs[0].path(), "wires.main.fuse.voltage");
        let open = check(&plan(TWELVE, ", form: circuit-breaker"), "FUSE-07", "wires.main.fuse");
        assert_eq!(open.needs[0].path(), "wires.main.fuse.voltage");
        let open = check(&plan("", ", voltage: 24 V"), "FUSE-07", "wires.main.fuse");
        assert_eq!(open.needs[0].path(), "vehicle.voltage");
        // Too low for any vehicle: the system does not matter any more.
        assert_eq!(outcome(&plan("", ", voltage: 12 V"), "FUSE-07", "wires.main.fuse"), Outcome::Fail);
    }
}
