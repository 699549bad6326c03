//! A circuit of the vehicle can give only what it does not need itself.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::{FeedKind, TurnOn};
use crate::quantity::{Current, Range};
use crate::rules::turn::site;
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-13",
    name: "tap-beyond-spare",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("tap_beyond_spare.md"),
    check: Subjects::TurnOn(check),
    slips: &[
        super::Slip::Say("turn_on.*.from.spare", &["10 mA", "8 mA", "30 mA"]),
        super::Slip::Past("turn_on.*.from.spare"),
        super::Slip::Past("amplifiers.*.remote_current"),
    ],
};

fn check(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Judged {
    let from = lead.from.as_ref().ok_or_else(|| Undecided::need(lead.at("from")))?;
    let kind = from.kind.ok_or_else(|| Undecided::need(lead.at("from.kind")))?;
    if !matches!(kind, FeedKind::Constant | FeedKind::Ignition | FeedKind::Accessory) {
        return Err(Undecided::NotApplicable("not a tap on a fused circuit of the vehicle"));
    }
    let drawn = site::drawn(lead, job)?;
    if drawn.is_empty() {
        return Err(Undecided::NotApplicable("nothing on this lead draws a current to speak of"));
    }
    let place = lead.at("from.spare");
    let spare = from.spare.ok_or_else(|| Undecided::need(place.clone()))?;
    let sum: Range<Current> = drawn.iter().map(|(_, known)| known.range).sum();
    Ok(at_most(sum, spare)
        .formula("sum of what the lead feeds <= what the circuit spares")
        .given_all(drawn.iter().map(|(name, known)| Input::known(name, known)))
        .limit_from("what the tapped circuit can give beyond its own load, as measured or by its fuse")
        .verdict(|is| {
            let finding = Finding::new(place, format!("tap draws {}, the circuit spares {}", is.result(), is.limit()));
            let finding = match from.fuse {
                Some(fuse) => finding.also(lead.at("from.fuse"), format!("the circuit's {fuse} fuse carries both")),
                None => finding,
            };
            finding
                .label(format!("{sum} drawn from it"))
                .because("the circuit's own fuse opens, and takes with it what the vehicle needs it for")
                .mend(format!("tap a circuit that spares {}, or let a relay carry it", sum.at_high()))
                .offers(site::through_relay(lead, spare.base()))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(amplifiers: &str, from: &str, more: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{{amplifiers}}}\nturn_on:\n  remote: {{from: {{{from}}}, \
             to: [one.remote, two.remote]{more}}}\n"
        )
    }

    const BOTH: &str = "one: {remote_current: 40 mA}, two: {remote_current: 60 mA}";

    fn of(from: &str) -> Outcome {
        outcome(&plan(BOTH, from, ""), "FUSE-13", "turn_on.remote")
    }

    #[test]
    fn all_amplifiers_together_may_draw_what_is_spare() {
        assert_eq!(of("kind: accessory, spare: 100 mA"), Outcome::Pass);
        assert_eq!(of("kind: ignition, spare: 99 mA"), Outcome::Fail);
    }

    /// Whether a radio's or a converter's own output carries them is another question (TURN-03).
    #[test]
    fn outputs_made_for_it_are_not_taps() {
        assert_eq!(of("kind: radio-output, spare: 1 mA"), Outcome::NotApplicable);
        assert_eq!(of("kind: converter-output"), Outcome::NotApplicable);
        assert_eq!(of("kind: signal-sensing"), Outcome::NotApplicable);
    }

    #[test]
    fn with_a_relay_only_its_coil_counts() {
        let coil = |milliamperes: u32| {
            let relay = format!(", relay: {{coil_current: {milliamperes} mA}}");
            outcome(&plan(BOTH, "kind: accessory, spare: 150 mA", &relay), "FUSE-13", "turn_on.remote")
        };
        assert_eq!((coil(150), coil(160)), (Outcome::Pass, Outcome::Fail));
    }

    /// Through its supply terminal gear draws all that it takes, through its turn-on terminal some milliampere.
    #[test]
    fn a_processor_and_a_converter_draw_by_the_terminal_that_is_fed() {
        let of = |gear: &str, to: &str, spare: &str| {
            let text = format!(
                "plan: 1\n{gear}\nturn_on: {{tap: {{from: {{kind: accessory, spare: {spare}}}, to: [{to}]}}}}\n"
            );
            check(&text, "FUSE-13", "turn_on.tap")
        };
        for (section, kind) in [("sources", "kind: processor, "), ("converters", "")] {
            let gear = format!("{section}: {{it: {{{kind}current: 150 mA, remote_current: 20 mA}}}}");
            let outcome = |to: &str, spare: &str| of(&gear, to, spare).outcome;
            assert_eq!((outcome("it.power", "150 mA"), outcome("it.power", "149 mA")), (Outcome::Pass, Outcome::Fail));
            assert_eq!((outcome("it.remote", "20 mA"), outcome("it.remote", "19 mA")), (Outcome::Pass, Outcome::Fail));
            assert_eq!(outcome("it.power, it.remote", "169 mA"), Outcome::Fail);
            let unknown = format!("{section}: {{it: {{{kind}}}}}");
            let open = of(&unknown, "it.power", "199 mA");
            let expected = if section == "sources" { Outcome::Fail } else { Outcome::Open };
            assert_eq!(open.outcome, expected, "{section}: 0.2 to 1.5 A, and 60 to 200 mA");
            let place = format!("{section}.it.current");
            let asked = of(&unknown, "it.power", if section == "sources" { "1 A" } else { "100 mA" });
            assert_eq!(asked.turns[0].place.path(), place);
        }
    }

    /// 2 x 40 W at 80 % are 100 W: at 14 V 7.1 A, and 0.5 A besides. By its turn-on terminal it draws 10 mA.
    #[test]
    fn an_amplifier_at_its_supply_terminal_draws_all_it_takes() {
        let of = |to: &str, spare: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, alternator: {{voltage: 14 V}}}}\namplifiers: {{amp: {{class: D, channels: 2, \
                 efficiency: 80 %, idle_current: 0.5 A, remote_current: 10 mA, rated: [{{load: 4 ohm, power: 40 W}}]}}}}\n\
                 turn_on: {{feed: {{from: {{kind: accessory, spare: {spare}}}, to: [amp.{to}]}}}}\n"
            );
            outcome(&text, "FUSE-13", "turn_on.feed")
        };
        assert_eq!(
            (of("power", "7.65 A"), of("power", "7.6 A"), of("power", "1 A")),
            (Outcome::Pass, Outcome::Fail, Outcome::Fail)
        );
        assert_eq!(of("remote", "10 mA"), Outcome::Pass);
        let unknown =
            "plan: 1\namplifiers: {amp: {}}\nturn_on: {feed: {from: {kind: accessory, spare: 9 A}, to: [amp.power]}}\n";
        assert_eq!(outcome(unknown, "FUSE-13", "turn_on.feed"), Outcome::Open);
    }

    #[test]
    fn a_sense_wire_draws_nothing_to_speak_of() {
        let text =
            "plan: 1\nisolators: {charger: {}}\nturn_on: {sense: {from: {kind: ignition}, to: [charger.sense]}}\n";
        assert_eq!(outcome(text, "FUSE-13", "turn_on.sense"), Outcome::NotApplicable);
    }

    #[test]
    fn what_decides_is_asked_for() {
        let open = check(&plan(BOTH, "kind: accessory", ""), "FUSE-13", "turn_on.remote");
        assert_eq!(open.needs[0].path(), "turn_on.remote.from.spare");
        // Two terminals of 5 to 30 mA: 20 mA may do or may not, 1 A does anyway.
        let unknown = |spare: &str| {
            let from = format!("kind: accessory, spare: {spare}");
            outcome(&plan("one: {}, two: {}", &from, ""), "FUSE-13", "turn_on.remote")
        };
        assert_eq!((unknown("20 mA"), unknown("1 A")), (Outcome::Open, Outcome::Pass));
    }
}
