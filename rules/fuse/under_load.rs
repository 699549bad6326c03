//! A fuse that opens in normal use gets replaced by a larger one, sooner or later.

use super::breaker::Heat;
use crate::judge::{Finding, Input, Judged, Outcome, Rule, Severity, Subjects, at_least};
use crate::quantity::{Current, Quantity};
use crate::solve::{FuseAsked, Job, Origin, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-04",
    name: "fuse-under-load",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("under_load.md"),
    check: Subjects::Fuse(check),
    slips: &[super::Slip::Past("wires.*.fuse|far_fuse.rating"), super::Slip::Past("blocks.*.outputs.*.fuse.rating")],
};

/// Less than this is no load, in A.
const NOTHING: f64 = 0.001;

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let load = load(fuse, job);
    if load.as_ref().is_ok_and(|verdict| verdict.outcome == Outcome::Fail) {
        return load;
    }
    let charge = super::under_charge::charge(fuse, job)?;
    match (charge, load) {
        (Some(charge), Err(Undecided::NotApplicable(_))) => Ok(charge),
        (Some(charge), _) if charge.outcome == Outcome::Fail => Ok(charge),
        (_, load) => load,
    }
}

fn load(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let place = site.place.sub("rating");
    let rating = site.fuse.rating.ok_or_else(|| Undecided::need(place.clone()))?;
    let FuseAsked { full, programme, on_cases, charger, asked } = match job.fuse_asked(fuse) {
        Err(Undecided::NotApplicable(why)) => return by_programme(fuse, rating, why, job),
        asked => asked?,
    };
    if full.range.high() < NOTHING {
        return Err(Undecided::NotApplicable("nothing draws through this fuse"));
    }
    let loading = job.house.limits.fuse_loading;
    let on_cases = on_cases.map(|sum| {
        Input::from(
            "fuses on the cases of what it feeds, added",
            sum,
            Origin::Computed("onboard_fuses, and what other gear draws"),
        )
    });
    let chargers = [
        (
            "of that a charger",
            charger.drawn,
            "what the charger is made for, by the voltage before and behind it and what it loses",
        ),
        ("or a charger alone, the other way", charger.given, "what the charger is made for"),
    ];
    let chargers = chargers.into_iter().filter(|(_, current, _)| current.high() > NOTHING);
    let chargers = chargers.map(|(name, current, how)| Input::from(name, current, Origin::Computed(how)));
    let stated = Input::stated("fuse rating", rating, place.clone());
    let heat = site.fuse.is_breaker().then(|| Heat::of(site, rating, job));
    let comparison = match &heat {
        None => at_least(rating, asked)
            .formula("rating >= current at full output, and >= programme current / loading")
            .given(stated),
        Some(heat) => at_least(heat.carries.range, asked)
            .formula(
                "what the breaker carries where it sits >= current at full output, and >= programme current / loading",
            )
            .given(stated)
            .given_all(heat.inputs(job)),
    };
    Ok(comparison
        .given(Input::known("current at full output", &full))
        .given(Input::known("current with programme", &programme))
        .given(Input::limit("loading", &loading))
        .given_all(on_cases)
        .given_all(chargers)
        .limit_from(loading.source)
        .verdict(|is| {
            let noun = site.fuse.noun();
            let carries = heat.as_ref().map_or(String::new(), |heat| format!(" that carries {}", heat.carries.range));
            let least = heat.as_ref().map_or(Some(asked), |heat| heat.rating_for(asked, rating));
            let forbids = least.and_then(|least| super::site::forbids(fuse, least.high(), job));
            let larger = least.map(|least| {
                if let Some((amplifier, maximum)) = forbids {
                    return format!(
                        "the load asks {} and the maker of `{amplifier}` allows a {noun} of {maximum} (FUSE-10): load it less, \
                         or ask the maker how it is to be fused",
                        least.at_high()
                    );
                }
                let kept = job.house.stock.named_at_least(site.fuse.form, least.high());
                format!("fit a {noun} of at least {}{kept}, if the wire carries it (FUSE-01)", least.at_high())
            });
            let cooler = heat.as_ref().filter(|heat| heat.is_hot()).map(|_| "set it where it stays cooler".to_owned());
            let mends: Vec<String> = larger.into_iter().chain(cooler).collect();
            Finding::new(place, format!("{rating} {noun}{carries} under a load of {}", is.limit()))
                .label(format!("{rating}{carries}, at least {asked} asked"))
                .because(if charger.drawn.max(charger.given).high() * 2.0 > full.range.high() {
                    "it opens while the battery charges, and what opens often gets replaced by a larger one"
                } else {
                    "it opens while the music plays, and what opens often gets replaced by a larger one"
                })
                .mend(mends.join(", or "))
                .offers(least.map_or_else(Vec::new, |least| super::offers::at_least(site, least.high(), job)))
        }))
}

/// Where the supply cannot deliver full output no fuse is large enough for it; one that opens under programme is too small in
/// any case.
fn by_programme(fuse: usize, rating: Quantity<Current>, why: &'static str, job: &Job<'_>) -> Judged {
    let not_applicable = Err(Undecided::NotApplicable(why));
    let Ok(asked) = job.fuse_asked_by_programme(fuse) else { return not_applicable };
    let (site, loading) = (&job.protection().fuses[fuse], job.house.limits.fuse_loading);
    let comparison = at_least(rating, asked)
        .formula("rating >= programme current / loading")
        .given(Input::stated("fuse rating", rating, site.place.sub("rating")))
        .given(Input::limit("loading", &loading))
        .limit_from(loading.source);
    if comparison.outcome() != Outcome::Fail {
        return not_applicable;
    }
    Ok(comparison.verdict(|is| {
        let noun = site.fuse.noun();
        Finding::new(site.place.sub("rating"), format!("{rating} {noun} under an average load of {}", is.limit()))
            .label(format!("{rating}, at least {asked} asked"))
            .because("it opens while the music plays, and what opens often gets replaced by a larger one")
            .mend("load it less, or bring the resistance down first: at full output the supply cannot deliver the power (SUPPLY-04)")
            .follows("SUPPLY-04", Place::of("job"))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome, outcome_by};

    /// One amplifier: 400 W at 80 % takes 500 W, so about 40 A. The fuses' resistance is stated, as it follows their rating.
    fn plan(main: &str, rated: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel}}\n\
             amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A{rated}}}}}\n\
             grounds: {{floor: {{}}}}\nblocks: {{split: {{outputs: {{one: {{fuse: {{form: bolt-down, resistance: 1 mohm, rating: {main}}}}}}}}}}}\n\
             wires:\n  main: {{from: battery.positive, to: split.in, size: 2 AWG, length: 40 cm, conductor: copper}}\n  \
             branch: {{from: split.one, to: amp.power, size: 2 AWG, length: 3 m, conductor: copper, \
             far_fuse: {{form: bolt-down, resistance: 1 mohm, rating: {main}, distance: 10 cm}}}}\n  \
             return: {{from: amp.ground, to: grounds.floor, size: 2 AWG, length: 40 cm, conductor: copper}}\n"
        )
    }

    const RATED: &str = ", rated: [{load: 2 ohm, power: 400 W}]";

    #[test]
    fn a_fuse_under_the_current_at_full_output_fails_in_wire_and_block() {
        for subject in ["wires.branch.far_fuse", "blocks.split.outputs.one.fuse"] {
            let low = outcome(&plan("30 A", RATED), "FUSE-04", subject);
            let high = outcome(&plan("60 A", RATED), "FUSE-04", subject);
            assert_eq!((low, high), (Outcome::Fail, Outcome::Pass), "{subject}");
        }
    }

    /// Some 40 A of load on a fuse of 30 A, and 30 A are all that the maker allows: no larger fuse is advised.
    #[test]
    fn what_the_amplifiers_maker_does_not_allow_is_not_advised() {
        let mend = |more: &str| {
            let text = plan("30 A", &format!("{RATED}{more}")).replacen("rating: 30 A", "rating: 80 A", 1);
            crate::rules::trial::finding(&text, "FUSE-04", "wires.branch.far_fuse").mend
        };
        assert!(mend("").starts_with("fit a fuse of at least"), "{}", mend(""));
        let forbidden = mend(", maximum_fuse: 30 A");
        assert!(forbidden.contains("the maker of `amp` allows a fuse of 30 A (FUSE-10)"), "{forbidden}");
        assert!(!forbidden.contains("fit a fuse"), "{forbidden}");
    }

    /// A charger of 30 A from 24 V to 12 V that loses a tenth draws 16.7 A, for hours: 20.8 A of fuse before it, 37.5 A
    /// behind it. What it loses is 5 to 15 % where that is not stated: 19.7 to 22.1 A.
    #[test]
    fn a_fuse_in_line_with_a_charger_carries_what_it_draws_and_gives() {
        let loses = |share: &str, near: &str, far: &str, subject: &str| {
            let plan = format!(
                "plan: 1\nvehicle: {{voltage: 24 V, body: steel}}\nbatteries: {{audio: {{rest_voltage: 12.7 V}}}}\n\
                 isolators: {{dcdc: {{kind: charger, rated: 30 A{share}}}}}\ngrounds: {{frame: {{}}}}\nwires:\n  \
                 charge: {{from: battery.positive, to: dcdc.in, size: 16 mm2, length: 4 m, conductor: copper, \
                 fuse: {{form: bolt-down, resistance: 1 mohm, rating: {near}, distance: 10 cm}}}}\n  \
                 out: {{from: dcdc.out, to: audio.positive, size: 16 mm2, length: 50 cm, conductor: copper, \
                 far_fuse: {{form: bolt-down, resistance: 1 mohm, rating: {far}, distance: 10 cm}}}}\n  \
                 link: {{from: audio.negative, to: grounds.frame, size: 16 mm2, length: 40 cm, conductor: copper}}\n"
            );
            outcome(&plan, "FUSE-04", subject)
        };
        let of = |near: &str, far: &str, subject: &str| loses(", efficiency: 90 %", near, far, subject);
        assert_eq!(of("20 A", "50 A", "wires.charge.fuse"), Outcome::Fail);
        assert_eq!(of("21 A", "50 A", "wires.charge.fuse"), Outcome::Pass);
        assert_eq!(loses("", "19 A", "50 A", "wires.charge.fuse"), Outcome::Fail);
        assert_eq!(loses("", "21 A", "50 A", "wires.charge.fuse"), Outcome::Open);
        assert_eq!(loses("", "22.5 A", "50 A", "wires.charge.fuse"), Outcome::Pass);
        assert_eq!(of("21 A", "35 A", "wires.out.far_fuse"), Outcome::Fail);
        assert_eq!(of("21 A", "40 A", "wires.out.far_fuse"), Outcome::Pass);
    }

    /// The limit that the working shows is where the verdict turns.
    #[test]
    fn at_the_limit_it_passes_and_just_under_it_is_no_longer_sure() {
        let subject = "wires.branch.far_fuse";
        let limit = check(&plan("60 A", RATED), "FUSE-04", subject).working.map(|working| working.limit);
        let high = limit.map(|limit| limit.high).unwrap_or_default();
        assert!(high > 37.0 && high < 50.0, "{high}");
        assert_eq!(outcome(&plan(&format!("{} A", high + 0.01), RATED), "FUSE-04", subject), Outcome::Pass);
        assert_eq!(outcome(&plan(&format!("{} A", high - 0.01), RATED), "FUSE-04", subject), Outcome::Open);
    }

    #[test]
    fn a_rated_power_that_is_not_stated_leaves_it_open() {
        let check = check(&plan("60 A", ""), "FUSE-04", "wires.branch.far_fuse");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "amplifiers.amp.rated");
    }

    /// A third of 500 W is 208 W of programme and some 16 A with the idle current; a house that lets a fuse carry a fifth of
    /// its rating for long asks for some 80 A.
    #[test]
    fn a_house_may_load_its_fuses_less() {
        let mut house = crate::house::House::default();
        house.limits.fuse_loading.value = crate::quantity::Quantity::new(0.2);
        let of = |fuse: &str| outcome_by(&house, &plan(fuse, RATED), "FUSE-04", "wires.branch.far_fuse");
        assert_eq!((of("60 A"), of("100 A")), (Outcome::Fail, Outcome::Pass));
    }

    #[test]
    fn a_fuse_through_which_nothing_flows_is_none_of_its_business() {
        let spare = plan("60 A", RATED).replace("outputs: {", "outputs: {spare: {}, ");
        let spare = format!(
            "{spare}  spare: {{from: split.spare, to: later.power, size: 8 AWG, length: 1 m, conductor: copper, \
             fuse: {{form: bolt-down, rating: 30 A, distance: 10 cm}}}}\n"
        );
        assert_eq!(outcome(&spare, "FUSE-04", "wires.spare.fuse"), Outcome::NotApplicable);
    }

    /// A processor at an output of its own draws through that fuse and through the main one.
    #[test]
    fn a_processor_and_a_converter_load_the_fuses_in_front_of_them() {
        let of = |gear: &str, rating: &str| {
            let text = plan("60 A", RATED).replace(
                "outputs: {",
                &format!("outputs: {{it: {{fuse: {{form: blade-regular, rating: {rating}}}}}, "),
            ) + &format!(
                "  feed: {{from: split.it, to: it.power, size: 14 AWG, length: 1 m, conductor: copper}}\n  \
                     back: {{from: it.ground, to: grounds.floor, size: 14 AWG, length: 40 cm, conductor: copper}}\n{gear}\n"
            );
            check(&text, "FUSE-04", "blocks.split.outputs.it.fuse")
        };
        for gear in ["sources: {it: {kind: processor, current: 0.8 A}}", "converters: {it: {current: 0.8 A}}"] {
            assert_eq!((of(gear, "1 A").outcome, of(gear, "0.9 A").outcome), (Outcome::Pass, Outcome::Fail), "{gear}");
        }
        let open = of("sources: {it: {kind: processor}}", "1 A");
        assert_eq!((open.outcome, open.turns[0].place.path().as_str()), (Outcome::Open, "sources.it.current"));
    }

    /// What figures and sheet show of a wire is what its own fuse is held to, the fuses on the case with it.
    #[test]
    fn a_wire_asks_what_its_fuse_is_asked() {
        let of = |own: &str| {
            let text = plan("60 A", &format!(", rated: [{{load: 2 ohm, power: 500 W}}]{own}"));
            let (plan, house) = (crate::plan::read(text).plan, crate::house::House::default());
            let job = crate::solve::Job::new(&plan, &house);
            let wire = job.wires.iter().position(|wire| wire.name == "branch").expect("the branch");
            let fuse = job.protection().fuses.iter().position(|site| site.place.path() == "wires.branch.far_fuse");
            let asked = job.fuse_asked(fuse.expect("its fuse")).expect("stated").asked;
            assert_eq!(job.fuse_asked_in(wire).expect("stated"), asked, "{own}");
            asked.high()
        };
        assert!(of("") > 45.0);
        assert!((of(", onboard_fuses: [20 A, 20 A]") - 40.0).abs() < 1e-9);
    }

    /// Its maker put two fuses of 20 A on the case: whatever it draws at full output, more than 40 A opens those first.
    #[test]
    fn a_fuse_as_large_as_those_on_the_case_carries_the_load() {
        let of = |rating: &str, own: &str| {
            let text = plan(rating, &format!(", rated: [{{load: 2 ohm, power: 500 W}}]{own}"));
            outcome(&text, "FUSE-04", "wires.branch.far_fuse")
        };
        assert_eq!(of("40 A", ""), Outcome::Fail);
        assert_eq!(of("40 A", ", onboard_fuses: []"), Outcome::Fail);
        assert_eq!(of("40 A", ", onboard_fuses: [20 A, 20 A]"), Outcome::Pass);
        assert_eq!(of("35 A", ", onboard_fuses: [20 A, 20 A]"), Outcome::Fail);
        // What a processor draws through the same fuse comes on top.
        let both = |rating: &str| {
            let text = plan(rating, ", rated: [{load: 2 ohm, power: 500 W}], onboard_fuses: [20 A, 20 A]")
                + "  dsp-feed: {from: amp.power, to: dsp.power, size: 2 AWG, length: 20 cm, conductor: copper}\n  \
                   dsp-back: {from: dsp.ground, to: grounds.floor, size: 2 AWG, length: 20 cm, conductor: copper}\n\
                   sources: {dsp: {kind: processor, current: 2 A}}\n";
            outcome(&text, "FUSE-04", "wires.branch.far_fuse")
        };
        assert_eq!((both("41.9 A"), both("42 A")), (Outcome::Fail, Outcome::Pass));
    }

    /// It opens while the music plays, or while the battery charges: whichever draws more.
    #[test]
    fn it_says_what_opens_the_fuse() {
        let music = check(&plan("30 A", RATED), "FUSE-04", "wires.branch.far_fuse");
        assert!(music.finding.expect("it fails").why.starts_with("it opens while the music plays"));
        let names = |check: &crate::judge::Check| {
            check.working.iter().flat_map(|is| &is.inputs).map(|input| input.name).collect::<Vec<_>>()
        };
        let text = "plan: 1\nvehicle: {voltage: 24 V, body: steel}\nbatteries: {audio: {rest_voltage: 12.7 V}}\n\
                    isolators: {dcdc: {kind: charger, rated: 30 A}}\ngrounds: {frame: {}}\nwires:\n  \
                    charge: {from: battery.positive, to: dcdc.in, size: 16 mm2, length: 4 m, conductor: copper, \
                    fuse: {form: bolt-down, resistance: 1 mohm, rating: 15 A, distance: 10 cm}}\n  \
                    out: {from: dcdc.out, to: audio.positive, size: 16 mm2, length: 50 cm, conductor: copper}\n  \
                    link: {from: audio.negative, to: grounds.frame, size: 16 mm2, length: 40 cm, conductor: copper}\n";
        let charger = check(text, "FUSE-04", "wires.charge.fuse");
        assert!(names(&charger).contains(&"of that a charger"), "{:?}", names(&charger));
        assert!(charger.finding.expect("it fails").why.starts_with("it opens while the battery charges"));
        let music = check(&plan("60 A", RATED), "FUSE-04", "wires.branch.far_fuse");
        assert!(!names(&music).contains(&"of that a charger"), "{:?}", names(&music));
    }

    /// One branch of a block draws some 40 A, the other hardly anything: each output's fuse is held to its own.
    #[test]
    fn each_output_of_a_block_is_held_to_its_own_load() {
        let text = plan("30 A", RATED)
            .replace("outputs: {", "outputs: {idle: {fuse: {form: bolt-down, resistance: 1 mohm, rating: 30 A}}, ")
            .replace("amplifiers: {", "sources: {dsp: {kind: processor, current: 1 A}}\namplifiers: {")
            + "  dsp-feed: {from: split.idle, to: dsp.power, size: 14 AWG, length: 1 m, conductor: copper}\n  \
               dsp-back: {from: dsp.ground, to: grounds.floor, size: 14 AWG, length: 40 cm, conductor: copper}\n";
        let of = |output: &str| outcome(&text, "FUSE-04", &format!("blocks.split.outputs.{output}.fuse"));
        assert_eq!((of("idle"), of("one")), (Outcome::Pass, Outcome::Fail));
    }
}
