//! The whole way back counts, the body with it.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::Amplifier;
use crate::solve::{Case, Job, Known, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-10",
    name: "ground-return-drop",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("return_drop.md"),
    check: Subjects::Amplifier(check),
    slips: &[
        super::Slip::Past("vehicle.body_resistance"),
        super::Slip::Past("grounds.*.joint_resistance"),
        super::Slip::Say("grounds.*.joint_resistance", &["4 mohm", "8 mohm"]),
    ],
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let end = super::return_end(job, amplifier)
        .ok_or(Undecided::NotApplicable("no return leaves it yet (PLAN-03 reports that)"))?;
    let drop = job.return_drop(amplifier.name, Case::IdleFull)?;
    let demand = job.demand(amplifier)?;
    let limit = job.house.limits.return_drop;
    let body = (!end.reaches_battery).then(|| Input::known("body", &crate::solve::resistance::body(job)));
    Ok(at_most(drop.range, limit.value)
        .formula(
            "voltage from the amplifier's ground terminal to the battery's negative post, engine idling, full output",
        )
        .given(Input::known("supply power at full output", &Known::computed(demand.full, "audio power / efficiency")))
        .given(Input::known("efficiency", &demand.efficiency))
        .given_all(body)
        .limit_from(limit.source)
        .verdict(|is| {
            let finding = Finding::new(
                end.place,
                format!("{} lost on the way back, at most {}", is.result(), is.limit()),
            )
            .label(format!("`{}` returns here", amplifier.name))
            .because("what is lost on the way back is missing at the amplifier and lifts its ground above the radio's");
            if end.reaches_battery {
                // A cable that need not be is not made thicker.
                finding.mend("use a thicker return").follows("GROUND-05", end.wire)
            } else {
                finding.mend(
                    "improve the ground joint, shorten or thicken the return, and add a strap from body to battery",
                )
            }
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::{Check, Outcome};
    use crate::rules::trial::check;

    fn of_text(body: &str, length: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, {body} alternator: {{voltage: 14.2 V, rated: 200 A, at_idle: 150 A}}, \
             battery: {{internal_resistance: 5 mohm, rest_voltage: 12.6 V}}, factory_load: {{running: 40 A}}}}\n\
             amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 0.8 A, rated: [{{load: 2 ohm, power: 500 W}}]}}}}\n\
             grounds: {{floor: {{joint_resistance: 0.1 mohm}}}}\nwires:\n\
             \x20 main: {{from: battery.positive, to: amp.power, size: 4 AWG, conductor: copper, insulation: 105 C, joint_resistance: 0.1 mohm, \
             length: 5 m, path: [cargo], fuse: {{form: bolt-down, rating: 60 A, distance: 20 cm, resistance: 1.4 mohm}}}}\n\
             \x20 return: {{from: amp.ground, to: grounds.floor, size: 4 AWG, conductor: copper, insulation: 105 C, \
             joint_resistance: 0.1 mohm, path: [cargo], {length}}}\n"
        )
    }

    fn of(body: &str, length: &str) -> Check {
        check(&of_text(body, length), "GROUND-10", "amplifiers.amp")
    }

    /// 500 W at 80 % are 625 W, which is 48 A at the 13.2 V or so that arrive: 4.2 mohm lose 0.2 V.
    #[test]
    fn about_four_milliohms_are_the_most_at_this_power() {
        let good = of("body_resistance: 3 mohm,", "length: 40 cm");
        assert_eq!(good.outcome, Outcome::Pass, "{:?}", good.working);
        let bad = of("body_resistance: 4.5 mohm,", "length: 40 cm");
        assert_eq!(bad.outcome, Outcome::Fail, "{:?}", bad.working);
    }

    #[test]
    fn the_body_decides_where_it_alone_is_not_known() {
        let open = of("", "length: 3 m");
        assert_eq!(open.outcome, Outcome::Open, "{:?}", open.working);
        assert_eq!(open.turns[0].place.path(), "vehicle.body_resistance");
    }

    #[test]
    fn a_long_cable_that_the_body_would_save_is_told_once() {
        let text = of_text("", "length: 6 m").replace("grounds.floor", "battery.negative");
        let found = check(&text, "GROUND-10", "amplifiers.amp");
        assert_eq!(found.outcome, Outcome::Fail, "{:?}", found.working);
        let (code, subject) = found.finding.and_then(|it| it.follows).expect("it follows");
        assert_eq!(check(&text, code, &subject.path()).outcome, Outcome::Fail);
    }

    #[test]
    fn a_length_that_is_missing_is_asked_for() {
        let open = of("", "");
        assert!(open.needs.iter().any(|place| place.path() == "wires.return.length"), "{:?}", open.needs);
    }

    #[test]
    fn the_body_is_part_of_the_way_only_where_current_takes_it() {
        let names = |text: &str| -> Vec<&str> {
            let working = check(text, "GROUND-10", "amplifiers.amp").working.expect("it is computed");
            working.inputs.iter().map(|input| input.name).collect()
        };
        let body = of_text("body_resistance: 3 mohm,", "length: 40 cm");
        assert!(names(&body).contains(&"body"));
        assert!(!names(&body.replace("grounds.floor", "battery.negative")).contains(&"body"));
    }
}
