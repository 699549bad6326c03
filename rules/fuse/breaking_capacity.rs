//! A fuse that has to break more than it can goes on as an arc.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::{BatteryKind, FuseForm};
use crate::quantity::{Current, Range};
use crate::solve::protection::{Feeder, FuseSite};
use crate::solve::{Job, Known, Origin, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-06",
    name: "fuse-breaking-capacity",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("breaking_capacity.md"),
    check: Subjects::Fuse(check),
    slips: &[
        super::Slip::Say("wires.*.fuse|far_fuse.breaking_capacity", &["1 kA", "500 A"]),
        super::Slip::Say("blocks.*.outputs.*.fuse.breaking_capacity", &["1 kA"]),
        super::Slip::Past("wires.*.fuse|far_fuse.breaking_capacity"),
        super::Slip::Past("blocks.*.outputs.*.fuse.breaking_capacity"),
        super::Slip::Past("vehicle.battery.cold_cranking"),
        super::Slip::Past("batteries.*.cold_cranking"),
    ],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let capacity = job.breaking_capacity(&site.fuse, &site.place)?;
    let current = job.fault_behind(fuse)?;
    let stated = if site.fuse.breaking_capacity.is_some() { "breaking_capacity" } else { "form" };
    let place = site.place.sub(stated);
    Ok(at_most(current, capacity.range)
        .formula("battery voltage / (battery + wires and joints up to the fuse) <= breaking capacity")
        .given(Input::from(
            "current of a short right behind the fuse",
            current,
            Origin::Computed("battery at rest, body left out"),
        ))
        .given(Input::known("breaking capacity", &capacity))
        .limit_from("what the fuse interrupts, by its maker or by the standard of its form")
        .verdict(|is| {
            let noun = site.fuse.noun();
            Finding::new(place, format!("a short behind this {noun} draws {}, it breaks {}", is.result(), is.limit()))
                .label(format!("breaks {}", is.limit()))
                .because(if site.fuse.is_breaker() {
                    "above its breaking capacity the contacts of a breaker weld together or its case bursts, and the current goes on"
                } else {
                    "above its breaking capacity a fuse bursts and the arc goes on"
                })
                .mend(mend(fuse, current, job))
                .offers(stronger(site, current, job).or_else(|| larger_strip(fuse, current, job)))
                .in_any_case(mend(fuse, current, job))
                .ask_first(printed(fuse, &capacity, job))
        }))
}

/// What is printed on gear and not stated: on a battery of which nothing is known how it cranks, on the fuse what it
/// breaks. Resistance is only asked for beyond that: it takes a battery tester.
fn printed(fuse: usize, capacity: &Known<Current>, job: &Job<'_>) -> Vec<Place> {
    let protection = job.protection();
    let behind = job.batteries_behind(fuse);
    let feeds = |at: usize| behind.contains(&at);
    // A lithium battery is not sold by what it cranks.
    let is_unknown = |Feeder { battery, .. }: &Feeder| {
        let is_lithium = battery.kind == Some(BatteryKind::LithiumIronPhosphate);
        !is_lithium && battery.cold_cranking.is_none() && battery.internal_resistance.is_none()
    };
    let feeders = protection.feeders.iter().enumerate().filter(|(at, feeder)| is_unknown(feeder) && feeds(*at));
    let cranking: Vec<Place> = feeders.map(|(_, feeder)| feeder.place.sub("cold_cranking")).collect();
    let breaks = (!cranking.is_empty() && !capacity.range.is_point())
        .then(|| protection.fuses[fuse].place.sub("breaking_capacity"));
    breaks.into_iter().chain(cranking).collect()
}

/// Breaking capacities that bolt-down fuses, and breakers, are sold with, in A (common practice, no published source).
const SOLD: [f64; 5] = [1000.0, 2000.0, 5000.0, 6000.0, 10_000.0];
const SOLD_BREAKERS: [f64; 4] = [1500.0, 3000.0, 5000.0, 10_000.0];

/// The next breaking capacity that is sold.
fn sold(is_breaker: bool, current: Range<Current>) -> Option<Range<Current>> {
    let sold: &[f64] = if is_breaker { &SOLD_BREAKERS } else { &SOLD };
    sold.iter().find(|breaks| **breaks >= current.high() * (1.0 - 1e-9)).map(|breaks| Range::point(*breaks))
}

/// Whether a bolt-down fuse is made, or in stock, for a rating.
fn is_strip(site: &FuseSite, job: &Job<'_>) -> bool {
    let strips = super::site::ratings(Some(FuseForm::BoltDown), job);
    site.fuse.rating.is_some_and(|rating| strips.iter().any(|strip| (strip - rating.base()).abs() < 0.01))
}

/// A fuse in its place that breaks enough, where one is made.
fn stronger(site: &FuseSite, current: Range<Current>, job: &Job<'_>) -> Option<Offer> {
    let sold = sold(site.fuse.is_breaker(), current)?;
    let offer = if site.fuse.is_breaker() {
        Offer::new(format!("fit a breaker that breaks {sold}"))
    } else if is_strip(site, job) {
        Offer::new(format!("fit a bolt-down fuse that breaks {sold}")).set(site.place.sub("form"), "bolt-down")
    } else {
        return None;
    };
    Some(offer.set(site.place.sub("breaking_capacity"), sold))
}

/// A strip so many times as large as the rating that is meant still goes for it.
const IN_PLACE: f64 = 1.5;

/// The next larger rating that strips are made for, where it is not far off, where the wire carries it, the amplifier's
/// maker allows it and it stays apart from the fuse before it.
fn next_strip(fuse: usize, job: &Job<'_>) -> Option<Range<Current>> {
    let rating = job.protection().fuses[fuse].fuse.rating?.base();
    let next = super::site::ratings(Some(FuseForm::BoltDown), job).into_iter().find(|strip| *strip > rating)?;
    let fits = next <= rating * IN_PLACE
        && super::site::carries(fuse, next, job) == Some(true)
        && super::site::is_allowed(fuse, next, job)
        && super::site::is_selective(fuse, next, job);
    fits.then(|| Range::point(next))
}

/// That strip in its place.
fn larger_strip(fuse: usize, current: Range<Current>, job: &Job<'_>) -> Option<Offer> {
    let site = &job.protection().fuses[fuse];
    let (next, sold) = (next_strip(fuse, job).filter(|_| !site.fuse.is_breaker())?, sold(false, current)?);
    let offer = Offer::new(format!("fit a bolt-down fuse of {next} that breaks {sold}"));
    let offer = offer.set(site.place.sub("form"), "bolt-down").set(site.place.sub("rating"), next);
    Some(offer.set(site.place.sub("breaking_capacity"), sold))
}

/// What there is to do about a short that is too much for a fuse.
fn mend(fuse: usize, current: Range<Current>, job: &Job<'_>) -> String {
    let site = &job.protection().fuses[fuse];
    let least = current.at_high();
    let small = site.fuse.rating.filter(|_| !site.fuse.is_breaker() && !is_strip(site, job));
    let Some(rating) = small else {
        let noun = if site.fuse.is_breaker() { "breaker" } else { "bolt-down fuse" };
        let sold = sold(site.fuse.is_breaker(), current).filter(|sold| sold.high() > current.high() * 1.001);
        let sold = sold.map(|sold| format!(" ({sold} is sold)")).unwrap_or_default();
        return format!("fit a {noun} that breaks at least {least}{sold}");
    };
    let larger = next_strip(fuse, job)
        .map(|next| format!("fit one of {next} that breaks at least {least}, which wire and maker allow, or "));
    let split = super::offers::split(fuse, rating.base(), job).map(|split| format!("fit {split}, or "));
    format!(
        "no bolt-down fuse is made for {rating}: {}{}",
        larger.or(split).unwrap_or_default(),
        super::offers::elsewhere(fuse, job)
    )
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// 12.6 V behind 6 mohm, and a measured joint: 12.6 / (0.006 + 0.0003) = 2000 A at the post.
    fn plan(fuse: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, battery: {{internal_resistance: 6 mohm, rest_voltage: 12.6 V}}}}\n\
             amplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, size: 4 AWG, \
             length: 4 m, joint_resistance: 0.15 mohm, fuse: {{rating: 60 A, distance: 0 m{fuse}}}}}\n"
        )
    }

    /// 4 AWG carries far more than 30 A, the next strip above 25 A; whether the maker allows it decides.
    #[test]
    fn the_next_strip_is_named_where_wire_and_maker_allow_it() {
        let of = |most: &str| {
            let text = plan(", form: blade-large")
                .replace("rating: 60 A", "rating: 25 A")
                .replace("length: 4 m", "length: 4 m, conductor: copper, insulation: 105 C, path: [cargo]")
                .replace("amp: {}", &format!("amp: {{onboard_fuses: [25 A], maximum_fuse: {most}}}"));
            let found = check(&text, "FUSE-06", "wires.main.fuse").finding.expect("it fails");
            (found.mend, found.offers.len())
        };
        let (mend, offers) = of("30 A");
        assert!(
            mend.starts_with("no bolt-down fuse is made for 25 A: fit one of 30 A that breaks at least 2"),
            "{mend}"
        );
        assert_eq!(offers, 1);
        let (mend, offers) = of("25 A");
        assert!(!mend.contains("30 A") && offers == 0, "{mend}");
    }

    #[test]
    fn a_fuse_that_breaks_just_what_a_short_draws_passes() {
        let subject = "wires.main.fuse";
        assert_eq!(outcome(&plan(", breaking_capacity: 2001 A"), "FUSE-06", subject), Outcome::Pass);
        assert_eq!(outcome(&plan(", breaking_capacity: 1990 A"), "FUSE-06", subject), Outcome::Fail);
    }

    /// A blade breaks 1 kA; a strip 1 to 2 kA by type, which its maker has to say.
    #[test]
    fn the_form_stands_in_for_a_capacity_that_is_not_stated() {
        let subject = "wires.main.fuse";
        assert_eq!(outcome(&plan(", form: blade-large"), "FUSE-06", subject), Outcome::Fail);
        assert_eq!(outcome(&plan(", form: bolt-down"), "FUSE-06", subject), Outcome::Open);
        let open = check(&plan(", form: circuit-breaker"), "FUSE-06", subject);
        assert_eq!(open.needs[0].path(), "wires.main.fuse.breaking_capacity", "no standard promises one");
        let open = check(&plan(""), "FUSE-06", subject);
        assert_eq!(open.needs[0].path(), "wires.main.fuse.form");
    }

    /// Who has no battery tester can fit a fuse that is right with any battery.
    #[test]
    fn an_open_check_says_which_fuse_would_do_in_any_case() {
        let open = check(&plan(", form: bolt-down"), "FUSE-06", "wires.main.fuse");
        assert_eq!(open.outcome, Outcome::Open);
        let words = open.finding.and_then(|finding| finding.in_any_case).expect("named");
        assert!(words.starts_with("fit a bolt-down fuse that breaks at least 2 kA"), "{words}");
    }

    /// What a workshop reads off the gear comes before milliohms; the finding still says what would do in any case.
    #[test]
    fn of_a_battery_that_nobody_described_its_label_is_asked_for_first() {
        let text = plan(", form: bolt-down").replace("internal_resistance: 6 mohm, rest_voltage: 12.6 V", "kind: agm");
        let paths = |text: &str| {
            let open = check(text, "FUSE-06", "wires.main.fuse");
            assert_eq!((open.outcome, open.turns.is_empty()), (Outcome::Open, true));
            assert!(open.finding.is_some_and(|finding| finding.in_any_case.is_some()));
            open.needs.iter().map(crate::solve::Place::path).collect::<Vec<_>>()
        };
        let (fuse, battery) = ("wires.main.fuse.breaking_capacity", "vehicle.battery.cold_cranking");
        assert_eq!(paths(&text), [fuse, battery]);
        assert_eq!(paths(&text.replace("form: bolt-down", "breaking_capacity: 2 kA")), [battery]);
        let elsewhere = text.replace("amp: {}", "amp: {}, other: {}")
            + "  own: {from: rear.positive, to: other.power}\nbatteries: {rear: {}}\n";
        assert_eq!(paths(&elsewhere), [fuse, battery], "the other battery does not feed this fuse");
        let told = check(&text.replace("kind: agm", "cold_cranking: 400 A"), "FUSE-06", "wires.main.fuse");
        assert_eq!((told.outcome, told.needs.len()), (Outcome::Open, 0), "what decides now is asked for");
        let lithium = check(&text.replace("agm", "lithium-iron-phosphate"), "FUSE-06", "wires.main.fuse");
        assert_eq!(lithium.needs.len(), 0);
    }

    #[test]
    fn a_stronger_breaker_is_offered_for_a_breaker() {
        let text = plan(", form: circuit-breaker, breaking_capacity: 1 kA");
        let finding = crate::rules::trial::finding(&text, "FUSE-06", "wires.main.fuse");
        assert_eq!(finding.mend, "fit a breaker that breaks at least 2 kA (3 kA is sold)");
        assert_eq!(finding.offers[0].places().len(), 1, "its form stays");
    }

    /// An offer writes what is made and sold: 60 A as a strip for 2 kA; no strip is made for 5 A.
    #[test]
    fn what_is_offered_is_made_and_sold() {
        let of = |form: &str, rating: &str| {
            let text = plan(&format!(", form: {form}")).replace("rating: 60 A", &format!("rating: {rating}"));
            crate::rules::trial::finding(&text, "FUSE-06", "wires.main.fuse")
        };
        let large = of("blade-large", "60 A");
        assert_eq!(large.offers[0].title, "fit a bolt-down fuse that breaks 2 kA", "{}", large.mend);
        let small = of("blade-regular", "5 A");
        assert!(small.offers.is_empty(), "{:?}", small.offers);
        assert!(small.mend.starts_with("no bolt-down fuse is made for 5 A: "), "{}", small.mend);
        assert!(
            small.mend.ends_with("or fit one whose maker states that it breaks 2 kA"),
            "an amplifier's feed: {}",
            small.mend
        );
    }

    /// Behind a cable that feeds others too nobody makes the run thinner, and the fuse before it does not break its short for
    /// it unless its maker says so; a run of its own may be longer.
    #[test]
    fn a_small_blade_behind_a_shared_cable_has_to_break_the_short_itself() {
        let of = |second: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, battery: {{internal_resistance: 5 mohm, rest_voltage: 12.6 V}}}}\n\
                 amplifiers: {{amp: {{}}, other: {{}}}}\n\
                 blocks: {{split: {{outputs: {{one: {{fuse: {{form: blade-regular, rating: 20 A}}}}, two: {{}}}}}}}}\nwires:\n  \
                 main: {{from: battery.positive, to: split.in, size: 1/0 AWG, conductor: copper, length: 1 m, joint_resistance: 0.1 mohm, \
                 fuse: {{form: bolt-down, rating: 150 A, distance: 20 cm, resistance: 0.3 mohm}}}}\n  \
                 branch: {{from: split.one, to: amp.power, size: 10 AWG, length: 1 m}}\n{second}"
            );
            crate::rules::trial::finding(&text, "FUSE-06", "blocks.split.outputs.one.fuse").mend
        };
        let (shared, alone) = (of("  tail: {from: split.two, to: other.power, size: 4 AWG, length: 1 m}\n"), of(""));
        assert!(
            !shared.contains("thinner") && shared.contains("or that it does so behind the fuse before it"),
            "{shared}"
        );
        assert!(alone.contains("a longer or thinner run between"), "{alone}");
        assert!(!shared.contains("fuse box") && !alone.contains("fuse box"), "{shared}, {alone}");
    }

    /// A battery of 400 A cold cranking has 5 to 13.5 mohm: at 5 the short is too much for 2 kA whatever the joints are,
    /// and a little above it passes only with poor ones. What helps is the resistance from which it passes.
    #[test]
    fn it_says_from_which_resistance_of_the_battery_it_passes() {
        let text = "plan: 1\nvehicle: {voltage: 12 V, battery: {cold_cranking: 400 A}}\namplifiers: {amp: {}}\nwires:\n  \
                    main: {from: battery.positive, to: amp.power, size: 8 AWG, conductor: copper, insulation: 105 C, \
                    length: 3 m, fuse: {form: bolt-down, rating: 30 A, distance: 25 cm, breaking_capacity: 2 kA}}\n";
        let open = check(text, "FUSE-06", "wires.main.fuse");
        let turn = open.turns.iter().find(|turn| turn.place.path() == "vehicle.battery.internal_resistance");
        let turn = turn.expect("the battery decides");
        assert!(turn.words.starts_with("passes from 5."), "{}", turn.words);
    }

    #[test]
    fn what_is_sold_is_named_where_it_is_more_than_what_is_asked() {
        let of = |fuse: &str| crate::rules::trial::finding(&plan(fuse), "FUSE-06", "wires.main.fuse").mend;
        let strip = of(", form: bolt-down, breaking_capacity: 1 kA");
        assert_eq!(strip, "fit a bolt-down fuse that breaks at least 2 kA");
    }

    /// Between the battery's fuse and one near the amplifier there is a run to be made longer; before the first there is none.
    #[test]
    fn a_longer_run_is_proposed_only_behind_another_fuse() {
        let text = plan(", form: blade-regular, resistance: 0.1 mohm")
            .replace("rating: 60 A", "rating: 5 A")
            .replace("length: 4 m", "length: 30 cm, far_fuse: {form: blade-regular, rating: 5 A, distance: 10 cm}");
        let of = |fuse: &str| crate::rules::trial::finding(&text, "FUSE-06", fuse).mend;
        let (first, second) = (of("wires.main.fuse"), of("wires.main.far_fuse"));
        let run = "run between the battery's fuse and this one";
        assert!(first.ends_with("fit one whose maker states that it breaks 2 kA") && !first.contains(run), "{first}");
        assert!(second.contains(run), "{second}");
    }
}
