//! Voltage lost in the feed and return of one amplifier.

use super::{site, terminal};
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::{Amplifier, Wire};
use crate::quantity::{Gauge, Quantity, Range, Voltage};
use crate::solve::graph::LinkKind;
use crate::solve::{Case, Job, Origin, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-02",
    name: "supply-drop",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("drop.md"),
    check: Subjects::Amplifier(check),
    slips: &[
        super::Slip::Past("wires.*.length"),
        super::Slip::Past("wires.*.size"),
        super::Slip::Past("wires.*.joint_resistance"),
        super::Slip::Say("wires.*.joint_resistance", &["5 mohm", "12 mohm", "20 mohm"]),
    ],
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let drop = job.run_drop(amplifier.name, Case::IdleFull)?;
    let limit = job.house.limits.supply_drop.times(job.system_multiple()?);
    let mut parts = Vec::new();
    for wire in runs(amplifier, job) {
        parts.push((wire, job.wire_drop(wire, Case::IdleFull)?.range));
    }
    let worst = parts.iter().max_by(|one, other| one.1.high().total_cmp(&other.1.high()));
    let wires = parts.iter().map(|(wire, part)| Input::from("in one run", *part, Origin::Stated(wire.place())));
    Ok(at_most(drop.range, limit.value)
        .formula("drop in the feed and the return of this amplifier, with fuses and joints, at full output")
        .given(Input::known("drop", &drop))
        .given_all(wires)
        .given(Input::limit("most", &limit))
        .limit_from(limit.source)
        .verdict(|is| {
            let place = worst.map_or(amplifier.place(), |(wire, _)| wire.at("length"));
            let part = worst.map(|(_, part)| format!("{part} of it in this run")).unwrap_or_default();
            let title = format!("{} lost on the way to `{}`, {} is the most", is.result(), amplifier.name, is.limit());
            Finding::new(place, title)
                .label(part)
                .because(
                    "what is lost in the wire never reaches the amplifier: it plays weaker and switches off sooner",
                )
                .mend(mend(worst.map(|(wire, part)| (*wire, *part)), drop.range, limit.value, job))
                .offers(worst.map_or_else(Vec::new, |(wire, _)| site::lay_thicker(wire, job)))
                .offers(all_thicker(&parts.iter().map(|(wire, _)| *wire).collect::<Vec<_>>(), job))
        }))
}

/// The wires between a battery and an amplifier's supply terminals, and on the way back.
fn runs<'j, 'a>(amplifier: &Thing<'_, Amplifier>, job: &'j Job<'a>) -> Vec<&'j Thing<'a, Wire>> {
    let links = job.run_links(amplifier.name);
    let wire = |link: usize| match job.graph().links[link].kind {
        LinkKind::Wire(index) => job.wires.get(index),
        _ => None,
    };
    links.feed.into_iter().chain(links.back).filter_map(wire).collect()
}

/// One thicker size in every run of an amplifier that is thinner.
fn all_thicker(runs: &[&Thing<'_, Wire>], job: &Job<'_>) -> Vec<Offer> {
    let area = |size: Gauge| size.square_millimetres();
    let thinnest = runs.iter().filter_map(|wire| wire.size).min_by(|one, other| area(*one).total_cmp(&area(*other)));
    let sizes = thinnest.map_or_else(Vec::new, |size| site::thicker(size, job));
    let each = |size: Gauge| {
        let thinner = runs.iter().filter(|wire| wire.size.is_some_and(|own| area(own) < area(size)));
        thinner.fold(Offer::new(format!("lay {size} throughout")), |offer, wire| offer.set(wire.at("size"), size))
    };
    sizes.into_iter().take(6).map(each).collect()
}

/// A wire so many times as thick as another hardly goes in where that one did, and costs more than a little in every run.
const MOST_THICKER: f64 = 7.0;

/// Which size of the worst wire would do: the excess must come out of its conductor. Where that is out of all proportion,
/// the runs have to share it.
fn mend(
    worst: Option<(&Thing<'_, Wire>, Range<Voltage>)>,
    drop: Range<Voltage>,
    most: Quantity<Voltage>,
    job: &Job<'_>,
) -> String {
    let thicker = || {
        let (wire, _) = worst?;
        let (size, length) = (wire.size?, wire.length?);
        let temperature = job.wire_temperature(wire).ok()?;
        let resistance = job.conductor_resistance(wire, length.into(), temperature).ok()?;
        let lost = resistance.high() * job.wire_current(wire, Case::IdleFull).ok()?.range.high();
        let left = lost - (drop.high() - most.base());
        let area = size.square_millimetres();
        let found = (left > 0.0).then(|| site::at_least(area * lost / left, size, job)).flatten();
        found.filter(|found| found.square_millimetres() <= area * MOST_THICKER)
    };
    match thicker() {
        Some(size) => {
            let tight = worst.and_then(|(wire, _)| terminal::too_small(wire, size, job));
            let tight = tight.map(|(end, takes)| {
                format!("; {end} takes {takes} at most, so {size} needs a reducing end piece there")
            });
            format!("fit {size} of the same metal in this run, or shorten it{}", tight.unwrap_or_default())
        }
        None => {
            "fit thicker or shorter wires in this and the other runs of this amplifier; `testlamp fix --sizes` chooses \
                 sizes that go in"
                .to_owned()
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, offered, outcome};

    fn plan(length: &str, conductor: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 1 mohm, battery: {{internal_resistance: 6 mohm, \
             rest_voltage: 12.6 V}}, alternator: {{rated: 300 A, at_idle: 200 A, voltage: 14 V, cable_resistance: 1 mohm}}, \
             factory_load: {{running: 20 A}}}}\namplifiers:\n  amp: {{class: D, channels: 1, rated: [{{load: 4 ohm, power: \
             400 W}}], efficiency: 80 %, idle_current: 1 A}}\nwires:\n  main: {{from: battery.positive, to: amp.power, size: \
             8 AWG, {conductor} insulation: 105 C, joint_resistance: 0.1 mohm, length: {length}, path: [cargo], fuse: {{form: \
             bolt-down, rating: 60 A, resistance: 1.5 mohm}}}}\n  return: {{from: amp.ground, to: grounds.floor, size: 8 AWG, \
             conductor: copper, insulation: 105 C, joint_resistance: 0.1 mohm, length: 40 cm, path: [cargo]}}\ngrounds: \
             {{floor: {{joint_resistance: 0.1 mohm}}}}\n"
        )
    }

    #[test]
    fn a_short_feed_passes_and_a_long_one_fails_with_the_size_that_would_do() {
        assert_eq!(outcome(&plan("3 m", "conductor: copper,"), "WIRE-02", "amplifiers.amp"), Outcome::Pass);
        let check = check(&plan("7 m", "conductor: copper,"), "WIRE-02", "amplifiers.amp");
        assert_eq!(check.outcome, Outcome::Fail);
        // 500 W at about 13.4 V and 1 A are some 38 A; 7.4 m of 8 AWG (2.06 mohm/m at 20 C) make 0.58 V of it, the
        // fuse 0.06 V and eight joints 0.03 V.
        let result = check.working.unwrap().result;
        assert!((0.60..0.75).contains(&result.low) && (0.60..0.75).contains(&result.high), "{result}");
        let finding = check.finding.unwrap();
        assert_eq!(finding.at.place.path(), "wires.main.length");
        assert!(finding.mend.contains("6 AWG") || finding.mend.contains("4 AWG"), "{}", finding.mend);
    }

    #[test]
    fn the_size_it_proposes_does() {
        let long = plan("7 m", "conductor: copper,");
        let mend = check(&long, "WIRE-02", "amplifiers.amp").finding.unwrap().mend;
        let size = mend.split("fit ").nth(1).and_then(|rest| rest.split(" of").next()).unwrap().to_owned();
        let mended = long.replacen("8 AWG", &size, 1);
        assert_eq!(outcome(&mended, "WIRE-02", "amplifiers.amp"), Outcome::Pass);
    }

    /// What is missing at the amplifier counts as a share: 0.5 V of 12 V are 1 V of 24 V. The same power draws half the
    /// current there.
    #[test]
    fn a_system_of_24_volts_may_lose_twice_as_much() {
        let of = |length: &str| {
            let text = plan(length, "conductor: copper,").replace("voltage: 12 V", "voltage: 24 V");
            let text =
                text.replace("rest_voltage: 12.6 V", "rest_voltage: 25.2 V").replace("voltage: 14 V", "voltage: 28 V");
            let check = check(&text, "WIRE-02", "amplifiers.amp");
            let working = check.working.expect("worked");
            assert!((working.limit.high - 1.0).abs() < 1e-9, "{}", working.limit);
            (check.outcome, working.result.high)
        };
        let (outcome, lost) = of("16 m");
        assert!(outcome == Outcome::Pass && lost > 0.5, "{lost} V");
        // What is lost grows with the length, and a little faster.
        let turn = 16.0 / lost;
        assert_eq!(of(&format!("{:.2} m", turn * 1.05)).0, Outcome::Fail);
        assert_eq!(of(&format!("{:.2} m", turn * 0.9)).0, Outcome::Pass);
    }

    #[test]
    fn a_metal_that_is_not_stated_leaves_it_open() {
        let check = check(&plan("4.2 m", ""), "WIRE-02", "amplifiers.amp");
        assert_eq!(check.outcome, Outcome::Open, "{:?}", check.working);
        assert!(check.turns.iter().any(|turn| turn.place.path() == "wires.main.conductor"));
    }

    #[test]
    fn an_amplifier_without_a_feed_has_no_drop() {
        assert_eq!(outcome("plan: 1\namplifiers: {amp: {}}\n", "WIRE-02", "amplifiers.amp"), Outcome::NotApplicable);
    }

    /// A plan in mm2 gets mm2, and hears of the terminal that does not take it.
    #[test]
    fn it_speaks_the_plans_unit_and_of_a_terminal_that_is_too_small() {
        let metric = plan("7 m", "conductor: copper,").replace("8 AWG", "6 mm2");
        let mend = |text: &str| check(text, "WIRE-02", "amplifiers.amp").finding.expect("too thin").mend;
        assert!(
            mend(&metric).starts_with("fit 16 mm2 of the same metal in this run, or shorten it"),
            "{}",
            mend(&metric)
        );
        let tight = metric.replace("class: D", "class: D, terminals: {power: 6 mm2}");
        assert!(
            mend(&tight).ends_with("takes 6 mm2 at most, so 16 mm2 needs a reducing end piece there"),
            "{}",
            mend(&tight)
        );
        assert!(!mend(&metric.replace("class: D", "class: D, terminals: {power: 16 mm2}")).contains("takes"));
    }

    /// What the conductor alone loses is what a thicker one saves: joints and fuses stay.
    #[test]
    fn the_size_it_proposes_does_at_any_length() {
        for metres in [6.0, 8.0, 10.0, 12.0, 14.0, 17.0] {
            let long = plan(&format!("{metres} m"), "conductor: copper,");
            let mend = check(&long, "WIRE-02", "amplifiers.amp").finding.expect("too long").mend;
            let size = mend.strip_prefix("fit ").and_then(|rest| rest.split(" of").next()).expect("a size");
            let mended = long.replacen("8 AWG", size, 1);
            assert_eq!(outcome(&mended, "WIRE-02", "amplifiers.amp"), Outcome::Pass, "{metres} m, {size}");
        }
    }

    /// One run alone would have to be ten times as thick: all of them have to share it.
    #[test]
    fn a_size_out_of_all_proportion_is_not_named() {
        let long = plan("7 m", "conductor: copper,").replace("resistance: 1.5 mohm", "resistance: 10 mohm");
        let mend = check(&long, "WIRE-02", "amplifiers.amp").finding.expect("too much").mend;
        assert!(mend.starts_with("fit thicker or shorter wires in this and the other runs"), "{mend}");
        let less = long.replace("resistance: 10 mohm", "resistance: 5 mohm");
        let mend = check(&less, "WIRE-02", "amplifiers.amp").finding.expect("too much").mend;
        assert!(mend.starts_with("fit 4 AWG of the same metal"), "{mend}");
    }

    #[test]
    fn one_size_throughout_is_offered_for_the_wires_that_are_thinner() {
        let throughout = |back: &str| {
            let back = format!("to: grounds.floor, size: {back}");
            let text = plan("7 m", "conductor: copper,").replace("to: grounds.floor, size: 8 AWG", &back);
            let offers = offered(&text, "WIRE-02", "amplifiers.amp");
            assert_eq!(offers[0], ("lay 6 AWG".to_owned(), vec!["wires.main.size".to_owned()]));
            offers.into_iter().find(|(title, _)| title == "lay 6 AWG throughout").expect("throughout").1
        };
        assert_eq!(throughout("8 AWG"), ["wires.main.size", "wires.return.size"]);
        assert_eq!(throughout("6 AWG"), ["wires.main.size"]);
        assert_eq!(throughout("2 AWG"), ["wires.main.size"]);
    }
}
