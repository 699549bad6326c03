//! A fuse that nobody makes will be replaced by another one on the day.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{FuseForm, word};
use crate::quantity::{Current, Range};
use crate::solve::{Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-09",
    name: "fuse-rating-not-made",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("rating_not_made.md"),
    check: Subjects::Fuse(check),
    slips: &[
        super::Slip::Past("wires.*.fuse|far_fuse.rating"),
        super::Slip::Past("blocks.*.outputs.*.fuse.rating"),
        super::Slip::Past("wires.*.fuse|far_fuse.form"),
        super::Slip::Say("wires.*.fuse|far_fuse.rating", &["45 A", "65 A", "90 A", "110 A", "175 A"]),
        super::Slip::Say("blocks.*.outputs.*.fuse.rating", &["45 A", "55 A", "65 A"]),
    ],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let place = site.place.sub("rating");
    let rating = site.fuse.rating.ok_or_else(|| Undecided::need(place.clone()))?;
    let form = site.fuse.form.ok_or_else(|| Undecided::need(site.place.sub("form")))?;
    let made = form.ratings().to_vec();
    if site.fuse.is_breaker() && job.house.stock.ratings(form).is_none() {
        return Err(Undecided::NotApplicable("no standard says which ratings breakers are made in"));
    }
    let noun = if site.fuse.is_breaker() { "" } else { " fuse" };
    let kept = job.house.stock.ratings(form).map(|kept| kept.iter().map(|rating| rating.base()).collect::<Vec<_>>());
    let is_in = |list: &[f64]| list.iter().any(|other| (other - rating.base()).abs() < 0.01);
    // Any maker of breakers has ratings of his own.
    let is_made = site.fuse.is_breaker() || is_in(&made);
    let list = kept.clone().unwrap_or(made);
    Ok(Verdict::pass_if(is_in(&list), || {
        let near = neighbours(&list, rating.base());
        let (title, label) = match (is_made, near.as_str()) {
            (true, "") => (
                format!("no {form}{noun} of {rating} is in stock", form = word(&form)),
                format!("no {}{noun} is", word(&form)),
            ),
            (true, near) => (
                format!("no {form}{noun} of {rating} is in stock", form = word(&form)),
                format!("{near} of this form is"),
            ),
            (false, near) => {
                let stands = if kept.is_some() { "are in stock" } else { "are made" };
                let near = if near.is_empty() { "other currents" } else { near };
                (
                    format!("no {} fuse is made for {rating}", word(&form)),
                    format!("{} fuses {stands} for {near}", word(&form)),
                )
            }
        };
        let order = (is_made && kept.is_some()).then(|| "have this one ordered".to_owned());
        let ways: Vec<String> = ways(fuse, &list, rating.base(), job).into_iter().chain(order).collect();
        let mend = if ways.is_empty() { otherwise(fuse, rating.base(), job) } else { ways.join(", or ") };
        let smaller = super::offers::at_most(fuse, rating.base(), job);
        Finding::new(place, title)
            .label(label)
            .because("on the day another one goes in, and nobody has checked that one")
            .mend(mend)
            .offers(smaller.into_iter().chain(super::offers::at_least(site, rating.base(), job)))
    }))
}

/// What to plan in the place of a fuse that cannot be had: the next smaller where it carries the load, the next larger
/// where the wire carries it and the amplifier's maker allows it, else another form or two fuses.
fn ways(fuse: usize, list: &[f64], rating: f64, job: &Job<'_>) -> Vec<String> {
    let show = |amperes: f64| Range::<Current>::point(amperes).to_string();
    let below = list.iter().rev().copied().find(|other| *other < rating).and_then(|below| match job.fuse_asked(fuse) {
        Ok(is) if is.asked.low() > below => None,
        Ok(is) if is.asked.high() <= below => Some(show(below)),
        _ => Some(format!("{} if it carries the load (FUSE-04)", show(below))),
    });
    let above = list.iter().copied().find(|other| *other > rating);
    let is_allowed =
        |above: &f64| super::site::is_allowed(fuse, *above, job) && super::site::is_selective(fuse, *above, job);
    let above = above.filter(is_allowed).and_then(|above| match super::site::carries(fuse, above, job) {
        Some(true) => Some(show(above)),
        Some(false) => None,
        None => Some(format!("{} if the wire carries it (FUSE-01)", show(above))),
    });
    let near: Vec<String> = [below, above].into_iter().flatten().collect();
    if !near.is_empty() {
        return vec![format!("plan {}", near.join(" or "))];
    }
    let other = other_form(fuse, rating, job).map(|form| format!("plan a {} fuse of {}", word(&form), show(rating)));
    let split = super::offers::split(fuse, rating, job).map(|split| format!("plan {split}"));
    other.into_iter().chain(split).collect()
}

/// What is left where neither neighbour, no other form and no second fuse does.
fn otherwise(fuse: usize, rating: f64, job: &Job<'_>) -> String {
    let is_blade =
        |form: &FuseForm| super::site::ratings(Some(*form), job).iter().any(|other| (other - rating).abs() < 0.01);
    let blades = [FuseForm::BladeMiniature, FuseForm::BladeRegular, FuseForm::BladeLarge];
    if blades.iter().any(is_blade) {
        let rating = Range::<Current>::point(rating);
        return format!(
            "plan a blade of {rating}; for it to break the short (FUSE-06), {}",
            super::offers::elsewhere(fuse, job)
        );
    }
    "lay a thicker wire for the next larger fuse (FUSE-01), as far as the amplifier's maker allows it (FUSE-10)"
        .to_owned()
}

/// Another form that is made, or in stock, for a rating and breaks what a short draws there.
fn other_form(fuse: usize, rating: f64, job: &Job<'_>) -> Option<FuseForm> {
    let own = job.protection().fuses[fuse].fuse.form;
    let short = job.fault_behind(fuse).ok().map(Range::high);
    let forms = [FuseForm::BladeMiniature, FuseForm::BladeRegular, FuseForm::BladeLarge, FuseForm::BoltDown];
    let is_made =
        |form: FuseForm| super::site::ratings(Some(form), job).iter().any(|other| (other - rating).abs() < 0.01);
    let breaks = |form: FuseForm| {
        let most = form.breaking_capacity().map_or(0.0, Range::high);
        form == FuseForm::BoltDown || short.is_none_or(|short| short <= most)
    };
    forms.into_iter().find(|form| Some(*form) != own && is_made(*form) && breaks(*form))
}

/// The ratings of a list next to another, in words.
fn neighbours(list: &[f64], rating: f64) -> String {
    let show = |amperes: &f64| Range::<Current>::point(*amperes).to_string();
    let below = list.iter().rev().find(|other| **other < rating).map(show);
    let above = list.iter().find(|other| **other > rating).map(show);
    [below, above].into_iter().flatten().collect::<Vec<_>>().join(" or ")
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(fuse: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, \
             fuse: {{distance: 20 cm, {fuse}}}}}\n"
        )
    }

    #[test]
    fn the_list_depends_on_the_form() {
        let of = |fuse: &str| outcome(&plan(fuse), "FUSE-09", "wires.main.fuse");
        assert_eq!(of("form: bolt-down, rating: 125 A"), Outcome::Pass);
        assert_eq!(of("form: blade-large, rating: 125 A"), Outcome::Fail);
        assert_eq!(of("form: blade-regular, rating: 7.5 A"), Outcome::Pass);
        assert_eq!(of("form: bolt-down, rating: 7.5 A"), Outcome::Fail);
        assert_eq!(of("form: blade-miniature, rating: 35 A"), Outcome::Fail);
    }

    #[test]
    fn breakers_are_held_against_the_stock_alone() {
        let text = plan("form: circuit-breaker, rating: 65 A");
        assert_eq!(outcome(&text, "FUSE-09", "wires.main.fuse"), Outcome::NotApplicable);
        let mut house = crate::house::House::default();
        house.stock.fuses.insert(crate::plan::FuseForm::CircuitBreaker, vec![crate::quantity::Quantity::new(60.0)]);
        let by = |text: &str| crate::rules::trial::outcome_by(&house, text, "FUSE-09", "wires.main.fuse");
        assert_eq!((by(&text), by(&text.replace("65 A", "60 A"))), (Outcome::Fail, Outcome::Pass));
    }

    #[test]
    fn it_names_the_neighbours_that_are_made() {
        let failed = check(&plan("form: bolt-down, rating: 90 A"), "FUSE-09", "wires.main.fuse");
        assert_eq!(
            failed.finding.map(|finding| finding.mend).as_deref(),
            Some("plan 80 A if it carries the load (FUSE-04) or 100 A if the wire carries it (FUSE-01)")
        );
        let failed = check(&plan("form: blade-large, rating: 120 A"), "FUSE-09", "wires.main.fuse");
        assert_eq!(
            failed.finding.map(|finding| finding.mend).as_deref(),
            Some("plan 100 A if it carries the load (FUSE-04)")
        );
    }

    /// 6 mm2 carries a strip of 35 A, the amplifier's maker allows 20 A, and no strip is made for that; a blade beside a battery of
    /// 1000 A cold cranking does not break the short.
    #[test]
    fn a_larger_one_is_planned_only_where_wire_and_amplifier_bear_it() {
        let text = |battery: &str, maximum: &str, size: &str| {
            format!(
                "plan: 1\nvehicle: {{voltage: 12 V, battery: {{{battery}}}}}\namplifiers: {{amp: {{maximum_fuse: {maximum}}}}}\n\
                 wires:\n  main: {{from: battery.positive, to: amp.power, size: {size}, conductor: copper, insulation: 105 C, \
                 length: 3 m, path: [cargo], fuse: {{form: bolt-down, rating: 20 A, distance: 20 cm}}}}\n"
            )
        };
        let strong = "cold_cranking: 1000 A";
        let of = |text: &str| crate::rules::trial::finding(text, "FUSE-09", "wires.main.fuse").mend;
        assert_eq!(of(&text(strong, "40 A", "6 mm2")), "plan 30 A");
        assert_eq!(
            of(&text(strong, "20 A", "6 mm2")),
            "plan a bolt-down fuse of 35 A here for the wire with a blade of 20 A near the amplifier (`far_fuse`)"
        );
        let thin = of(&text(strong, "20 A", "1 mm2"));
        assert!(!thin.contains("30 A") && !thin.contains("35 A"), "{thin}");
        let weak = of(&text("internal_resistance: 30 mohm", "20 A", "6 mm2"));
        assert!(weak.starts_with("plan a blade-miniature fuse of 20 A"), "{weak}");
        let mut house = crate::house::House::default();
        house.stock.fuses.insert(crate::plan::FuseForm::BoltDown, vec![crate::quantity::Quantity::new(60.0)]);
        let stocked =
            crate::rules::trial::check_by(&house, &text(strong, "20 A", "2.5 mm2"), "FUSE-09", "wires.main.fuse");
        let mend = stocked.finding.expect("none is made").mend;
        assert!(!mend.contains("60 A") && !mend.contains("ordered"), "{mend}");
    }

    /// Behind 125 A, 80 A are only 1.56 times less: FUSE-08 would tell of it.
    #[test]
    fn a_larger_one_stays_apart_from_the_fuse_before_it() {
        let of = |main: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{one: {{}}, two: {{}}}}\nblocks: {{split: {{outputs: {{one: {{fuse: {{form: bolt-down, rating: 75 \
                 A}}}}, two: {{fuse: {{rating: 40 A}}}}}}}}}}\nwires:\n  main: {{from: battery.positive, to: split.in, fuse: {{rating: \
                 {main}}}}}\n  to-one: {{from: split.one, to: one.power}}\n  to-two: {{from: split.two, to: two.power}}\n"
            );
            crate::rules::trial::finding(&text, "FUSE-09", "blocks.split.outputs.one.fuse").mend
        };
        assert!(of("150 A").contains("80 A"), "{}", of("150 A"));
        assert!(of("128 A").contains("80 A"), "128 A are just 1.6 times 80 A: {}", of("128 A"));
        assert!(!of("125 A").contains("80 A"), "{}", of("125 A"));
    }

    #[test]
    fn a_form_that_is_not_stated_leaves_it_open() {
        let check = check(&plan("rating: 60 A"), "FUSE-09", "wires.main.fuse");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "wires.main.fuse.form"));
    }

    /// The blade near the amplifier is as small as its maker asks: the strip before it may be the next larger.
    #[test]
    fn a_larger_one_is_planned_where_another_fuse_guards_the_amplifier() {
        let of = |far: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{maximum_fuse: 20 A}}}}\nwires:\n  main: {{from: battery.positive, to: \
                 amp.power, fuse: {{form: bolt-down, rating: 90 A, distance: 20 cm}}, far_fuse: {{form: blade-regular, \
                 rating: {far}, distance: 20 cm}}}}\n"
            );
            crate::rules::trial::finding(&text, "FUSE-09", "wires.main.fuse").mend
        };
        assert!(of("20 A").contains("100 A"), "{}", of("20 A"));
        assert!(!of("25 A").contains("100 A"), "{}", of("25 A"));
    }

    /// A thin wire behind a strong battery, and an amplifier for at most 20 A: 20 A are made as a blade, which the short asks
    /// too much of; 22 A are made in no form.
    #[test]
    fn what_is_left_is_a_blade_away_from_the_battery_or_a_thicker_wire() {
        let of = |battery: &str, rating: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{voltage: 12 V, battery: {{{battery}}}}}\namplifiers: {{amp: {{maximum_fuse: 22 A}}}}\n\
                 wires:\n  main: {{from: battery.positive, to: amp.power, size: 1 mm2, conductor: copper, insulation: 105 C, \
                 length: 3 m, path: [cargo], fuse: {{form: bolt-down, rating: {rating}, distance: 20 cm}}}}\n"
            );
            crate::rules::trial::finding(&text, "FUSE-09", "wires.main.fuse").mend
        };
        let strong = of("cold_cranking: 1000 A", "20 A");
        let says =
            "plan a blade of 20 A; for it to break the short (FUSE-06), fit one whose maker states that it breaks";
        assert!(strong.starts_with(says), "{strong}");
        let thicker = "lay a thicker wire for the next larger fuse (FUSE-01), as far as the amplifier's maker allows it (FUSE-10)";
        for battery in ["cold_cranking: 1000 A", "internal_resistance: 30 mohm"] {
            assert_eq!(of(battery, "22 A"), thicker, "{battery}");
        }
    }

    /// Some 40 A: 80 A carry that, 30 A do not, and of one in between nobody knows.
    #[test]
    fn a_smaller_one_is_planned_as_far_as_it_carries_the_load() {
        let text = |rating: &str| {
            format!(
                "plan: 1\nvehicle: {{voltage: 12 V, body: steel}}\namplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, \
                 idle_current: 1 A, rated: [{{load: 2 ohm, power: 400 W}}]}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  \
                 main: {{from: battery.positive, to: amp.power, size: 2 AWG, length: 3 m, conductor: copper, fuse: {{form: \
                 bolt-down, resistance: 1 mohm, rating: {rating}, distance: 10 cm}}}}\n  \
                 return: {{from: amp.ground, to: grounds.floor, size: 2 AWG, length: 40 cm, conductor: copper}}\n"
            )
        };
        let of = |rating: &str| crate::rules::trial::finding(&text(rating), "FUSE-09", "wires.main.fuse").mend;
        assert!(of("90 A").starts_with("plan 80 A") && !of("90 A").contains("FUSE-04"), "{}", of("90 A"));
        assert!(!of("32 A").contains("30 A"), "{}", of("32 A"));
        let asked = check(&text("90 A"), "FUSE-04", "wires.main.fuse").working.expect("worked").limit;
        let between = f64::midpoint(asked.low, asked.high).round();
        let mut house = crate::house::House::default();
        house.stock.fuses.insert(crate::plan::FuseForm::BoltDown, vec![crate::quantity::Quantity::new(between)]);
        let mend = crate::rules::trial::check_by(&house, &text("90 A"), "FUSE-09", "wires.main.fuse")
            .finding
            .expect("fails")
            .mend;
        assert!(asked.low < between && between < asked.high, "{between}");
        assert!(mend.starts_with(&format!("plan {between} A if it carries the load (FUSE-04)")), "{mend}");
    }

    /// What is made and not kept is a matter of the stock.
    #[test]
    fn it_tells_what_is_not_made_from_what_is_not_in_stock() {
        let mut house = crate::house::House::default();
        for form in [crate::plan::FuseForm::BoltDown, crate::plan::FuseForm::CircuitBreaker] {
            house.stock.fuses.insert(form, vec![crate::quantity::Quantity::new(60.0)]);
        }
        let of = |fuse: &str| {
            crate::rules::trial::check_by(&house, &plan(fuse), "FUSE-09", "wires.main.fuse")
                .finding
                .expect("fails")
                .title
        };
        let label = |fuse: &str| check(&plan(fuse), "FUSE-09", "wires.main.fuse").finding.expect("fails").at.text;
        assert_eq!(label("form: bolt-down, rating: 90 A"), "bolt-down fuses are made for 80 A or 100 A");
        assert_eq!(label("form: bolt-down, rating: 510 A"), "bolt-down fuses are made for 500 A");
        assert_eq!(of("form: bolt-down, rating: 80 A"), "no bolt-down fuse of 80 A is in stock");
        assert_eq!(of("form: bolt-down, rating: 90 A"), "no bolt-down fuse is made for 90 A");
        assert_eq!(of("form: circuit-breaker, rating: 65 A"), "no circuit-breaker of 65 A is in stock");
    }
}
