//! A wire that carries more than its ampacity where it runs.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::Wire;
use crate::quantity::{Current, Range};
use crate::solve::{Case, Job, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-01",
    name: "wire-above-ampacity",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("above_ampacity.md"),
    check: Subjects::Wire(check),
    slips: &[
        super::Slip::Past("wires.*.size"),
        super::Slip::Past("wires.*.insulation"),
        super::Slip::Say("wires.*.bundle", &["7", "9"]),
    ],
};

fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let carries = job.ampacity(wire)?;
    let current = job.wire_current(wire, Case::IdleProgramme)?;
    Ok(at_most(current.range, carries.ampacity)
        .formula("average current with programme <= ampacity of the wire where it runs")
        .given(Input::known("current with programme", &current))
        .given(Input::word("wire size", carries.size.to_string(), wire.at("size")))
        .given(Input::known("insulation", &carries.insulation))
        .given(Input::known("hottest place on its way", &carries.ambient))
        .limit_from("33 CFR 183.425 table 5 with its factors for hot places and bundles")
        .verdict(|is| {
            let least = Range::<Current>::point(current.range.high());
            Finding::new(wire.at("size"), format!("{} on a wire that carries {}", is.result(), is.limit()))
                .label(format!("{} carries {} where it runs", carries.size, is.limit()))
                .because("a wire above its ampacity gets hotter than its insulation stands, for as long as music plays")
                .mend(format!("fit a wire that carries {least} here: thicker, a better class, or out of the heat"))
                .offers(super::site::lay_thicker(wire, job))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(size: &str, more: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 1 mohm, alternator: {{rated: 300 A, \
             at_idle: 200 A, voltage: 14 V}}, factory_load: {{running: 20 A}}}}\namplifiers:\n  amp: {{class: AB, \
             channels: 1, rated: [{{load: 4 ohm, power: 330 W}}], efficiency: 55 %, idle_current: 1 A}}\nwires:\n  \
             main: {{from: battery.positive, to: amp.power, size: 4 AWG, conductor: copper, insulation: 105 C, length: 1 m, \
             path: [cargo]}}\n  return: {{from: amp.ground, to: grounds.floor, size: {size}, conductor: copper, {more}}}\n\
             grounds: {{floor: {{}}}}\n"
        )
    }

    #[test]
    fn current_under_the_ampacity_passes_and_the_same_current_in_a_bundle_fails() {
        // 330 W / 0.55 = 600 W; x sqrt(1/3) = 346 W; at some 14 V that is 25 A with idle current.
        // 10 AWG of class 60 C carries 40 A alone and 20 A among seven (33 CFR 183.425 table 5, note 2).
        let more = "insulation: 60 C, length: 40 cm, path: [cargo]";
        assert_eq!(outcome(&plan("10 AWG", more), "WIRE-01", "wires.return"), Outcome::Pass);
        let bundled = format!("{more}, bundle: 7");
        let check = check(&plan("10 AWG", &bundled), "WIRE-01", "wires.return");
        assert_eq!(check.outcome, Outcome::Fail);
        let working = check.working.unwrap();
        assert!((24.0..27.0).contains(&working.result.low) && (24.0..27.0).contains(&working.result.high));
        assert!((working.limit.high - 20.0).abs() < 1e-9);
    }

    #[test]
    fn insulation_that_decides_and_is_not_stated_leaves_it_open() {
        // Among seven, class 60 C carries 20 A and class 105 C 30 A.
        let check = check(&plan("10 AWG", "length: 40 cm, path: [cargo], bundle: 7"), "WIRE-01", "wires.return");
        assert_eq!(check.outcome, Outcome::Open);
        assert!(check.turns.iter().any(|turn| turn.place.path() == "wires.return.insulation"));
    }

    #[test]
    fn an_amplifier_without_ratings_leaves_it_open_and_says_which_fact_is_missing() {
        let text = plan("10 AWG", "insulation: 105 C, length: 40 cm")
            .replace("class: AB, ", "")
            .replace("efficiency: 55 %, ", "");
        let check = check(&text, "WIRE-01", "wires.return");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "amplifiers.amp.class");
    }
}
