//! Gear switches off when its supply sags under what it works with.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_least};
use crate::quantity::{Range, Voltage};
use crate::solve::gear::Gear;
use crate::solve::{Case, Decided, Job, Known, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-03",
    name: "supply-voltage-low",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("terminal_voltage.md"),
    check: Subjects::Gear(check),
    slips: &[
        super::Slip::Past("vehicle.battery.internal_resistance"),
        super::Slip::Past("wires.*.length"),
        super::Slip::Say("amplifiers.*.operating_voltage", &["11.5 V .. 16 V", "12 V .. 16 V", "12.5 V .. 16 V"]),
    ],
};

fn check(gear: &Gear<'_>, job: &Job<'_>) -> Judged {
    let cases = [Case::IdleFull, Case::OffFull];
    let voltages: Vec<Decided<Known<Voltage>>> =
        cases.into_iter().map(|case| job.terminal_voltage(gear.name, case)).collect();
    // A case without an operating point is SUPPLY-04's; the other one is still judged.
    let judged: Vec<Decided<Known<Voltage>>> =
        voltages.iter().filter(|voltage| !matches!(voltage, Err(Undecided::NotApplicable(_)))).cloned().collect();
    let voltages = all(if judged.is_empty() { voltages } else { judged })?;
    let window = gear.works_within()?;
    let place = gear.place.sub("operating_voltage");
    let lowest = voltages.iter().map(|known| known.range).reduce(Range::min).unwrap_or(Range::point(0.0));
    Ok(at_least(lowest, window.from)
        .formula("voltage between the supply terminals at full output, engine idling or off >= lowest operating voltage")
        .given_all(voltages.iter().map(|known| Input::known("voltage at its terminals", known)))
        .limit_from(gear.kind.maker())
        .verdict(|is| {
            let (lowest, least) = (is.result(), is.limit());
            Finding::new(place, format!("`{}` gets {lowest} at full output, it needs {least}", gear.name))
                .label(format!("works from {least}, gets {lowest}"))
                .because("under its operating voltage it switches off in the loudest passage, and on again after it")
                .mend("find where the volts are lost: a weak battery, a thin feed, a poor ground; or play with less power")
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// 500 W at 80 % from a measured battery: 625 W, about 55 A, 1.9 V lost in 35 mohm.
    fn plan(operating: &str, battery: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, battery: {{rest_voltage: 12.6 V, {battery}}}}}\n\
             amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A{operating}, \
             rated: [{{load: 2 ohm, power: 500 W}}]}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  \
             main: {{from: battery.positive, to: amp.power, size: 1/0 AWG, conductor: copper, length: 4 m, \
             fuse: {{form: bolt-down, rating: 80 A, distance: 20 cm}}}}\n  \
             return: {{from: amp.ground, to: grounds.floor, size: 1/0 AWG, conductor: copper, length: 40 cm}}\n"
        )
    }

    const SUBJECT: &str = "amplifiers.amp";

    #[test]
    fn a_sound_battery_passes_and_a_worn_one_fails() {
        let of = |battery: &str| outcome(&plan(", operating_voltage: 10.5 V .. 16 V", battery), "SUPPLY-03", SUBJECT);
        assert_eq!(of("internal_resistance: 6 mohm"), Outcome::Pass);
        assert_eq!(of("internal_resistance: 36 mohm"), Outcome::Fail);
    }

    /// The limit lies between the ends of what the network gives: just below passes, just above fails.
    #[test]
    fn the_verdict_turns_at_the_ends_of_the_range() {
        let battery = "internal_resistance: 12 mohm";
        let working = check(&plan(", operating_voltage: 10 V .. 16 V", battery), "SUPPLY-03", SUBJECT).working;
        let (low, high) = working.map(|working| (working.result.low, working.result.high)).unwrap_or_default();
        assert!(low > 10.0 && high > low && high < 12.6, "{low} {high}");
        let of = |volts: f64| {
            outcome(&plan(&format!(", operating_voltage: {volts} V .. 16 V"), battery), "SUPPLY-03", SUBJECT)
        };
        assert_eq!(of(low - 0.01), Outcome::Pass);
        assert_eq!(of(f64::midpoint(low, high)), Outcome::Open);
        assert_eq!(of(high + 0.01), Outcome::Fail);
    }

    /// 2400 W through a battery of 1 to 20 mohm: only a good one delivers that, so there is no voltage to judge yet.
    #[test]
    fn where_it_may_not_work_at_all_it_stays_open() {
        let text = plan(", operating_voltage: 10.5 V .. 16 V", "kind: agm").replace("power: 500 W", "power: 2400 W");
        assert_eq!(outcome(&text, "SUPPLY-04", "job"), Outcome::Open);
        assert_eq!(outcome(&text, "SUPPLY-03", SUBJECT), Outcome::Open);
    }

    #[test]
    fn what_decides_is_asked_for() {
        let open = check(&plan("", "internal_resistance: 6 mohm"), "SUPPLY-03", SUBJECT);
        assert_eq!(open.needs[0].path(), "amplifiers.amp.operating_voltage");
        let bare = "plan: 1\namplifiers: {amp: {}}\n";
        assert_eq!(outcome(bare, "SUPPLY-03", SUBJECT), Outcome::NotApplicable);
    }

    /// Behind 80 mohm a battery gives 12.6^2 / 0.32 = 496 W at most, and 625 W are asked; an alternator gives them easily.
    #[test]
    fn where_one_case_has_no_operating_point_the_other_is_judged() {
        let text = |volts: &str| {
            let text = plan(&format!(", operating_voltage: {volts} .. 16 V"), "internal_resistance: 80 mohm");
            text.replace(
                "body: steel, ",
                "body: steel, alternator: {voltage: 14.2 V, rated: 200 A, at_idle: 150 A}, factory_load: {running: 40 A}, ",
            )
        };
        assert_eq!(outcome(&text("10 V"), "SUPPLY-04", "job"), Outcome::Fail);
        assert_eq!(outcome(&text("10 V"), "SUPPLY-03", SUBJECT), Outcome::Pass);
        assert_eq!(outcome(&text("14.2 V"), "SUPPLY-03", SUBJECT), Outcome::Fail);
    }

    /// A processor beside the amplifier on the same post: 55 A from a battery of 36 mohm leave it some 10 V. On a circuit of
    /// the vehicle nobody knows what is lost on the way.
    #[test]
    fn what_is_fed_beside_an_amplifier_sags_with_it() {
        let of = |battery: &str, gear: &str, feed: &str| {
            let more = format!(
                "  back: {{from: it.ground, to: grounds.floor, size: 16 AWG, conductor: copper, length: 40 cm}}\n{feed}\n{gear}\n"
            );
            plan(", operating_voltage: 9 V .. 16 V", battery) + &more
        };
        let wired = "  feed: {from: battery.positive, to: it.power, size: 16 AWG, conductor: copper, length: 1 m, \
                     fuse: {form: blade-regular, rating: 5 A, distance: 20 cm}}";
        for (gear, at) in [
            ("sources: {it: {kind: processor, current: 0.8 A, operating_voltage: 10.5 V .. 16 V}}", "sources.it"),
            ("converters: {it: {current: 0.1 A, operating_voltage: 10.5 V .. 16 V}}", "converters.it"),
        ] {
            let of = |battery: &str, feed: &str| outcome(&of(battery, gear, feed), "SUPPLY-03", at);
            assert_eq!(of("internal_resistance: 6 mohm", wired), Outcome::Pass, "{at}");
            assert_eq!(of("internal_resistance: 36 mohm", wired), Outcome::Fail, "{at}");
            let tapped = "turn_on: {lead: {from: {kind: accessory}, to: [it.power]}}";
            assert_eq!(of("internal_resistance: 36 mohm", tapped), Outcome::NotApplicable, "{at}");
        }
        let silent = of("internal_resistance: 6 mohm", "sources: {it: {kind: processor, current: 0.8 A}}", wired);
        assert_eq!(check(&silent, "SUPPLY-03", "sources.it").needs[0].path(), "sources.it.operating_voltage");
    }
}
