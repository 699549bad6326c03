//! A fuse that opens in normal use gets replaced by a larger one, sooner or later.

use crate::judge::{Finding, Input, Judged, Outcome, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::word;
use crate::quantity::{Current, Quantity, Range, Ratio, Temperature};
use crate::solve::breaker::RATED_AT;
use crate::solve::protection::FuseSite;
use crate::solve::{Decided, FuseAsked, Job, Known, Origin, Place, Undecided};

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
    let charge = charge(fuse, job)?;
    match (charge, load) {
        (Some(charge), Err(Undecided::NotApplicable(_))) => Ok(charge),
        (Some(charge), _) if charge.outcome == Outcome::Fail => Ok(charge),
        (_, load) => load,
    }
}

/// What an empty battery takes through a fuse in line with a relay or switch.
fn charge(fuse: usize, job: &Job<'_>) -> Decided<Option<Verdict>> {
    let site = &job.protection().fuses[fuse];
    let Some(asked) = job.charge_asked(fuse)? else { return Ok(None) };
    let place = site.place.sub("rating");
    let rating = site.fuse.rating.ok_or_else(|| Undecided::need(place.clone()))?;
    let rated = Place::of(format!("isolators.{}.rated", asked.isolator));
    let share = job.house.limits.charge_fuse;
    let copper = asked.limited.map(|most| {
        let origin = Origin::Computed("charging voltage less an empty battery's 12 V, over the cold copper in line");
        Input::from("what the wires let through to an empty battery", most, origin)
    });
    let shared = asked.shared.map(|share| {
        let origin = Origin::Computed("by the cold copper of the runs side by side");
        Input::from("of that in this run", Range::<Ratio>::from(share), origin)
    });
    let comparison = at_least(rating, asked.current)
        .formula("fuse in line >= share of what the relay or switch is made for, or what the wires let through")
        .given(Input::stated("fuse rating", rating, place.clone()))
        .given(Input::stated("made for", asked.rated, rated.clone()))
        .given(Input::limit("share", &share))
        .given_all(copper)
        .given_all(shared)
        .limit_from(share.source);
    Ok(Some(comparison.verdict(|is| {
        let (noun, kind) = (site.fuse.noun(), word(&asked.kind));
        let kept = job.house.stock.named_at_least(site.fuse.form, asked.current.base());
        Finding::new(place, format!("{rating} {noun} in line with a {kind} for {} that charges a battery", asked.rated))
            .label(format!("{rating}, at least {} asked", is.limit()))
            .also(rated, format!("{kind} made for {}", asked.rated))
            .because("an empty battery takes all that it can get: the fuse opens on the first long drive after a long night")
            .mend(format!(
                "fit a {noun} of at least {}{kept}, and no more than the {kind} is made for (SUPPLY-13), on a wire that carries it (FUSE-01)",
                asked.current
            ))
            .offers(super::offers::at_least(site, asked.current.base(), job))
    })))
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
            let forbids = least.and_then(|least| super::above_amplifier::forbids(fuse, least.high(), job));
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

/// How hot it gets where a circuit breaker sits, and what it still carries there.
struct Heat {
    ambient: Known<Temperature>,
    carries: Known<Current>,
    is_stated: bool,
}

impl Heat {
    fn of(site: &FuseSite, rating: Quantity<Current>, job: &Job<'_>) -> Self {
        let is_stated = site.fuse.carries.is_some();
        Self { ambient: job.heat_of_fuse(site), carries: job.breaker_carries(site, rating), is_stated }
    }

    /// Whether the place may take something of the rating.
    fn is_hot(&self) -> bool {
        self.ambient.range.high() > RATED_AT
    }

    fn inputs(&self, job: &Job<'_>) -> Vec<Input> {
        let carries = Input::known("carries where it sits", &self.carries);
        if self.is_stated {
            return vec![carries];
        }
        let loss = job.house.assumptions.breaker_heat;
        vec![
            Input::known("heat where it sits", &self.ambient),
            Input::known("lost for each degree above 25 C", &Known::table(loss.range, loss.source)),
            carries,
        ]
    }

    /// The rating of which as much is left in this heat as is asked; nothing where nothing is left.
    fn rating_for(&self, asked: Range<Current>, rating: Quantity<Current>) -> Option<Range<Current>> {
        let left = self.carries.range.low() / rating.base();
        (left > 0.0).then(|| asked / left)
    }
}

#[cfg(test)]
mod tests {
    use crate::house::Setting;
    use crate::judge::Outcome;
    use crate::rules::trial::{check, check_by, outcome, outcome_by};

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

    /// A van with an empty leisure battery: 140 A of relay behind strips of 80 A blow them, strips of 100 A are what is sold
    /// with it. Nothing else draws through them.
    #[test]
    fn a_fuse_between_two_batteries_lasts_while_an_empty_one_charges() {
        let link = |kind: &str, rating: &str| {
            format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel, battery: {{kind: agm}}}}\nbatteries: {{leisure: {{kind: agm}}}}\n\
                 grounds: {{floor: {{}}}}\nisolators: {{vsr: {{kind: {kind}, rated: 140 A}}}}\nwires:\n  \
                 a: {{from: battery.positive, to: vsr.in, size: 35 mm2, length: 40 cm, fuse: {{form: bolt-down, rating: {rating}, \
                 resistance: 1 mohm}}}}\n  b: {{from: vsr.out, to: leisure.positive, size: 35 mm2, length: 5 m, far_fuse: \
                 {{form: bolt-down, rating: {rating}, resistance: 1 mohm}}}}\n  c: {{from: leisure.negative, to: grounds.floor, \
                 size: 35 mm2, length: 40 cm}}\n"
            )
        };
        let charger = "charger, efficiency: 90 %";
        for (subject, charged) in [("wires.a.fuse", ["194 A", "195 A"]), ("wires.b.far_fuse", ["174 A", "175 A"])] {
            let of = |kind: &str, rating: &str| outcome(&link(kind, rating), "FUSE-04", subject);
            for kind in ["relay", "switch"] {
                let enough = check(&link(kind, "98 A"), "FUSE-04", subject);
                assert_eq!(
                    (of(kind, "97 A"), enough.outcome),
                    (Outcome::Fail, Outcome::Pass),
                    "{kind}: {:?}",
                    enough.needs
                );
            }
            // It limits its own current, to 140 A for hours, for which it takes 155.6 A: a fuse carries 80 % of its rating for
            // so long.
            assert_eq!(charged.map(|rating| of(charger, rating)), [Outcome::Fail, Outcome::Pass], "{subject}");
        }
        let finding = crate::rules::trial::finding(&link("relay", "80 A"), "FUSE-04", "wires.a.fuse");
        assert_eq!(finding.title, "80 A fuse in line with a relay for 140 A that charges a battery");
        let unrated = link("relay", "80 A").replace(", rated: 140 A", "");
        assert_eq!(check(&unrated, "FUSE-04", "wires.a.fuse").needs[0].path(), "isolators.vsr.rated");
    }

    /// Two like runs side by side in line with a relay for 200 A: of 70 % of that, 140 A, each carries 70 A. Of one that is three
    /// times as long as the other the shorter carries three quarters, 105 A, the longer 35 A.
    #[test]
    fn runs_side_by_side_share_what_an_empty_battery_takes() {
        let of = |rating: &str, length: &str| {
            let run = |name: &str, length: &str| {
                format!(
                    "  {name}: {{from: battery.positive, to: vsr.in, size: 35 mm2, conductor: copper, length: {length}, \
                     fuse: {{form: bolt-down, rating: {rating}, resistance: 1 mohm}}}}\n"
                )
            };
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel, battery: {{kind: agm}}}}\nbatteries: {{leisure: {{kind: agm}}}}\n\
                 isolators: {{vsr: {{kind: relay, rated: 200 A}}}}\nwires:\n{}{}  \
                 b: {{from: vsr.out, to: leisure.positive, size: 50 mm2, conductor: copper, length: 50 cm}}\n",
                run("one", "2 m"),
                run("two", length)
            );
            ["wires.one.fuse", "wires.two.fuse"].map(|subject| outcome(&text, "FUSE-04", subject))
        };
        assert_eq!((of("70 A", "2 m"), of("69 A", "2 m")), ([Outcome::Pass; 2], [Outcome::Fail; 2]));
        assert_eq!((of("105 A", "6 m"), of("104 A", "6 m")), ([Outcome::Pass; 2], [Outcome::Fail, Outcome::Pass]));
        assert_eq!(of("34 A", "6 m"), [Outcome::Fail; 2]);
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

    /// A breaker in the main wire, in front of some 40 A; its resistance is stated, as it follows the rating.
    fn breaker(rating: &str, path: &str, more: &str) -> String {
        let breaker = format!(
            "path: [{path}], fuse: {{form: circuit-breaker, resistance: 1 mohm, rating: {rating}, distance: 10 cm{more}}}}}"
        );
        plan("60 A", RATED).replacen("conductor: copper}", &format!("conductor: copper, {breaker}"), 1)
    }

    fn of_breaker(rating: &str, path: &str, more: &str) -> Outcome {
        outcome(&breaker(rating, path, more), "FUSE-04", "wires.main.fuse")
    }

    /// At 50 C, 25 above room temperature, 7.5 to 20 % are lost, at 30 C 1.5 to 4 %.
    #[test]
    fn a_breaker_carries_less_in_the_heat_of_its_place() {
        let limit = check(&breaker("90 A", "cargo", ""), "FUSE-04", "wires.main.fuse").working.map(|is| is.limit);
        let (low, high) = limit.map(|limit| (limit.low, limit.high)).unwrap_or_default();
        let of = |amperes: f64, path: &str| of_breaker(&format!("{amperes} A"), path, "");
        for (path, most, least) in [("engine-bay", 0.8, 0.925), ("cargo", 0.96, 0.985)] {
            assert_eq!(of(high / most + 0.05, path), Outcome::Pass, "{path}");
            assert_eq!(of(high / most - 0.05, path), Outcome::Open, "{path}");
            assert_eq!(of(low / least - 0.05, path), Outcome::Fail, "{path}");
            assert_eq!(of(low / least + 0.05, path), Outcome::Open, "{path}");
        }
    }

    #[test]
    fn what_the_maker_says_of_a_breaker_in_that_heat_comes_first() {
        assert_eq!(of_breaker("50 A", "engine-bay", ""), Outcome::Open);
        assert_eq!(of_breaker("50 A", "engine-bay", ", carries: 50 A"), Outcome::Pass);
        assert_eq!(of_breaker("50 A", "engine-bay", ", carries: 30 A"), Outcome::Fail);
        let open = check(&breaker("50 A", "engine-bay", ""), "FUSE-04", "wires.main.fuse");
        assert!(open.turns.iter().any(|turn| turn.place.path() == "wires.main.fuse.carries"), "{:?}", open.turns);
    }

    #[test]
    fn a_breaker_of_which_the_place_is_not_known_may_sit_in_the_heat() {
        let unplaced = breaker("50 A", "cargo", "").replace("path: [cargo], ", "");
        let open = check(&unplaced, "FUSE-04", "wires.main.fuse");
        assert_eq!(open.outcome, Outcome::Open);
        assert!(open.turns.iter().any(|turn| turn.place.path() == "wires.main.path"), "{:?}", open.turns);
    }

    /// What is asked is what is left of it in that heat.
    #[test]
    fn a_larger_or_a_cooler_breaker_is_proposed_and_a_fuse_keeps_its_rating() {
        let hot = breaker("30 A", "engine-bay", "");
        let finding = crate::rules::trial::finding(&hot, "FUSE-04", "wires.main.fuse");
        assert!(
            finding.title.starts_with("30 A breaker that carries 24 to 27.8 A under a load of"),
            "{}",
            finding.title
        );
        assert!(finding.mend.ends_with(", or set it where it stays cooler"), "{}", finding.mend);
        for after in crate::rules::trial::after(&hot, "FUSE-04", "wires.main.fuse") {
            assert_eq!(outcome(&after, "FUSE-04", "wires.main.fuse"), Outcome::Pass, "{after}");
        }
        let fuse = hot.replace("circuit-breaker", "bolt-down");
        let working = check(&fuse, "FUSE-04", "wires.main.fuse").working.expect("worked");
        assert_eq!((working.result.low, working.result.high), (30.0, 30.0));
    }

    /// A house whose breakers lose so much that nothing is left is told to move it, not to fit an endless one.
    #[test]
    fn where_nothing_is_left_no_rating_is_named() {
        let mut house = crate::house::House::default();
        house.assumptions.hot_zone.set("100 C", "").expect("hot");
        house.assumptions.breaker_heat.set("1.5 %", "").expect("lost");
        let text = breaker("30 A", "engine-bay", "");
        let failed = check_by(&house, &text, "FUSE-04", "wires.main.fuse");
        let finding = failed.finding.expect("it fails");
        assert_eq!((finding.mend.as_str(), finding.offers.len()), ("set it where it stays cooler", 0));
    }

    /// In a place that stays at room temperature nothing is lost, so no cooler one is asked for.
    #[test]
    fn a_breaker_in_a_cool_place_has_only_to_be_larger() {
        let of = |heat: &str| {
            let mut house = crate::house::House::default();
            house.assumptions.zone.set(heat, "").expect("cool");
            let failed = check_by(&house, &breaker("30 A", "cargo", ""), "FUSE-04", "wires.main.fuse");
            failed.finding.expect("it fails").mend.contains("cooler")
        };
        assert_eq!((of("20 C"), of("25 C"), of("26 C")), (false, false, true));
    }

    /// The working shows what the breaker still carries, and what that was made from where the maker does not say it.
    #[test]
    fn what_a_breaker_carries_is_shown_with_its_heat() {
        let names = |more: &str| {
            let worked = check(&breaker("50 A", "engine-bay", more), "FUSE-04", "wires.main.fuse").working;
            let inputs = worked.expect("worked").inputs;
            inputs.into_iter().map(|input| input.name).filter(|name| !name.contains("current")).collect::<Vec<_>>()
        };
        let carries = "carries where it sits";
        assert_eq!(
            names(""),
            ["fuse rating", "heat where it sits", "lost for each degree above 25 C", carries, "loading"]
        );
        assert_eq!(names(", carries: 50 A"), ["fuse rating", carries, "loading"]);
    }

    /// An amplifier of 50 W on the leisure battery loads the fuses of the link a little; the empty battery asks 98 A of them.
    #[test]
    fn a_fuse_that_carries_the_music_may_be_too_small_for_the_charge() {
        let link = |rating: &str, rated: &str| {
            format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel, battery: {{kind: agm}}}}\nbatteries: {{leisure: {{kind: agm}}}}\n\
                 amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 0.5 A{rated}}}}}\n\
                 grounds: {{floor: {{}}}}\nisolators: {{vsr: {{kind: relay, rated: 140 A}}}}\nwires:\n  \
                 a: {{from: battery.positive, to: vsr.in, size: 35 mm2, length: 40 cm, conductor: copper, fuse: {{form: bolt-down, \
                 rating: {rating}, resistance: 1 mohm}}}}\n  b: {{from: vsr.out, to: leisure.positive, size: 35 mm2, length: 5 m, \
                 conductor: copper}}\n  c: {{from: leisure.negative, to: grounds.floor, size: 35 mm2, length: 40 cm, conductor: \
                 copper}}\n  d: {{from: leisure.positive, to: amp.power, size: 8 AWG, length: 1 m, conductor: copper}}\n  \
                 e: {{from: amp.ground, to: grounds.floor, size: 8 AWG, length: 40 cm, conductor: copper}}\n"
            )
        };
        let small = ", rated: [{load: 2 ohm, power: 50 W}]";
        let found = crate::rules::trial::finding(&link("80 A", small), "FUSE-04", "wires.a.fuse");
        assert_eq!(found.title, "80 A fuse in line with a relay for 140 A that charges a battery");
        assert_eq!(outcome(&link("100 A", small), "FUSE-04", "wires.a.fuse"), Outcome::Pass);
        // Enough for the charge, and of the music nobody knows.
        assert_eq!(outcome(&link("100 A", ""), "FUSE-04", "wires.a.fuse"), Outcome::Open);
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
