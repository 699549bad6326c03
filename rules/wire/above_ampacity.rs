//! A wire that carries more than its ampacity where it runs.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::{Load, Material, Wire};
use crate::quantity::{Current, Gauge, Range, Temperature};
use crate::solve::{Case, Decided, Job, Origin, Place, Thing, Undecided, ampacity, coils, demand, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-01",
    name: "wire-above-ampacity",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("above_ampacity.md"),
    check: Subjects::Each(each),
    slips: &[
        super::Slip::Past("wires.*.size"),
        super::Slip::Past("wires.*.insulation"),
        super::Slip::Say("wires.*.bundle", &["7", "9"]),
        super::Slip::Say("loads.*.lead.size", &["0.2 mm2", "0.14 mm2"]),
    ],
};

fn each(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let wires = job.wires.iter().map(|wire| (wire.place(), check(wire, job)));
    let leads = job.loads.iter().map(|load| (load.at("lead"), lead(load, job)));
    wires.chain(leads).collect()
}

/// Where a speaker lead runs, in C: the cabin, as the table has it.
const CABIN: f64 = 30.0;

/// A speaker lead under what its load takes with programme. A plan does not say what its insulation is made for, so it
/// fails only where no usual insulation would do; what is not known yet others ask for.
fn lead(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    const UNKNOWN: Undecided =
        Undecided::NotApplicable("its size or what it carries is not stated (WIRE-11 and LOAD-11 ask)");
    let Some(size) = load.lead.as_ref().and_then(|lead| lead.size) else { return Err(UNKNOWN) };
    let current = carried(load, job).map_err(|_| UNKNOWN)?;
    let metal = load.lead.as_ref().and_then(|lead| lead.conductor).unwrap_or(Material::Copper);
    let class = job.house.assumptions.insulation.range;
    let carries = |size: Gauge, class: f64| {
        ampacity::ampacity(size, Range::point(class), metal, Range::<Temperature>::point(CABIN), 2)
    };
    let most = Range::<Current>::point(carries(size, class.high()).high());
    Ok(at_most(current, most)
        .formula("sqrt(programme power / impedance) <= ampacity of the lead with the best usual insulation")
        .given(Input::from("current with programme", current, Origin::Computed("rated power, programme, impedance")))
        .given(Input::word("lead", size.to_string(), load.at("lead.size")))
        .limit_from("33 CFR 183.425 table 5, carried down to thin leads by their area")
        .verdict(|is| {
            let enough = super::site::thicker(size, job);
            let enough: Vec<Gauge> = enough
                .into_iter()
                .filter(|size| carries(*size, class.low()).low() >= current.high())
                .collect();
            let mend = enough.first().map_or("fit a thicker lead".to_owned(), |size| format!("fit {size} of copper"));
            Finding::new(load.at("lead.size"), format!("{} on a speaker lead that carries {}", is.result(), is.limit()))
                .label(format!("{size} carries {} at most", is.limit()))
                .because("a lead above its ampacity gets hotter than its insulation withstands, in trim and doors where nobody looks")
                .mend(mend)
                .offers(enough.into_iter().take(3).map(|size| Offer::new(format!("lay {size}")).set(load.at("lead.size"), size)))
        }))
}

/// What flows in a lead on average while music plays.
fn carried(load: &Thing<'_, Load>, job: &Job<'_>) -> Decided<Range<Current>> {
    let amplifier = loads::amplifier(load, job)?;
    let power = loads::drawn(load, job, amplifier)?;
    let duty = demand::duty(job, load);
    let ohms = coils::load_impedance(job, load)?;
    if ohms.low() <= 0.0 {
        return Err(Undecided::NotApplicable("the coils are shorted (LOAD-09 reports that)"));
    }
    let of = |power: f64, duty: f64, ohms: f64| (power * duty / ohms).sqrt();
    Ok(Range::new(of(power.low(), duty.low(), ohms.high()), of(power.high(), duty.high(), ohms.low())))
}

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
                .because(
                    "a wire above its ampacity gets hotter than its insulation withstands, for as long as music plays",
                )
                .mend(super::site::enough(
                    wire,
                    least.high(),
                    &format!("fit a wire that carries {least} here: thicker, a better class, or out of the heat"),
                    job,
                ))
                .offers(super::site::lay_thicker(wire, job))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// 1 kW at 55 % x sqrt(1/3) are 1.05 kW, some 78 A. Among 25 through the engine bay 4/0 AWG of class 105 C carries 445 A x 0.85 x
    /// 0.4 = 151 A; 120 mm2 of class 60 C, the thickest that is made, 300 x sqrt(120 / 107.2) x sqrt(10 / 30) x 0.4 = 73.3 A; and
    /// nothing where a house counts 60 C, whatever its size.
    #[test]
    fn where_no_thicker_wire_helps_what_does_is_named() {
        let mend = |house: &crate::house::House, size: &str, class: &str| {
            let more = format!("path: [engine-bay, cargo], length: 40 cm, bundle: 25, insulation: {class}");
            let text = plan(size, &more).replace("power: 330 W", "power: 1 kW");
            let failed = crate::rules::trial::check_by(house, &text, "WIRE-01", "wires.return");
            failed.finding.expect("it fails").mend
        };
        let mut house = crate::house::House::default();
        let single = mend(&house, "10 AWG", "105 C");
        assert!(single.starts_with("fit a wire that carries"), "{single}");
        let runs = mend(&house, "70 mm2", "60 C");
        assert!(runs.starts_with("lay several wires side by side") && runs.contains("more than 73.3 A here"), "{runs}");
        crate::house::Setting::set(&mut house.assumptions.hot_zone, "60 C", "x").expect("hotter");
        let class = mend(&house, "4 AWG", "60 C");
        assert!(
            class.starts_with("lay a wire of a better insulation class: one of 60 C carries nothing at 60 C"),
            "{class}"
        );
    }

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

    /// A third of 350 W into 2 ohm is 7.6 A on average. 0.2 mm2 carries a quarter of what 18 AWG does, 4.9 A at best; 0.5 mm2
    /// carries 12 A.
    #[test]
    fn a_speaker_lead_like_a_hair_is_too_thin_for_bass() {
        let text = |size: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 2 ohm, power: 350 W}}]}}}}\ndrivers: {{sub: {{kind: subwoofer, \
                 coils: [2 ohm]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1], coils: sub.1, lead: {{conductor: copper, \
                 length: 50 cm{size}}}}}}}\n"
            )
        };
        let of = |size: &str| outcome(&text(size), "WIRE-01", "loads.bass.lead");
        assert_eq!(
            (of(", size: 0.2 mm2"), of(", size: 0.3 mm2"), of(", size: 0.5 mm2")),
            (Outcome::Fail, Outcome::Fail, Outcome::Pass)
        );
        assert_eq!(of(", size: 0.34 mm2"), Outcome::Pass, "8.3 A at best");
        assert_eq!(of(""), Outcome::NotApplicable);
        let finding = crate::rules::trial::finding(&text(", size: 0.2 mm2"), "WIRE-01", "loads.bass.lead");
        assert_eq!(finding.mend, "fit 0.75 mm2 of copper", "it carries 9.1 A with insulation for 60 C");
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
