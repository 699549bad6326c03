//! The fuse nearest to the fault should open, not the one that feeds everything.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_least};
use crate::quantity::{Current, Quantity, Range, Ratio};
use crate::solve::{Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-08",
    name: "fuse-selectivity",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("selectivity.md"),
    check: Subjects::Fuse(check),
    slips: &[super::Slip::Past("blocks.*.outputs.*.fuse.rating"), super::Slip::Past("wires.*.fuse.rating")],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let protection = job.protection();
    let before =
        super::site::upstream(fuse, job).ok_or(Undecided::NotApplicable("no fuse before it feeds anything else"))?;
    let (own, upstream) = (&protection.fuses[fuse], &protection.fuses[before]);
    if own.fuse.is_breaker() && !upstream.fuse.is_breaker() {
        return Err(Undecided::NotApplicable("ratings do not tell whether a breaker opens before a fuse"));
    }
    let place = own.place.sub("rating");
    let rating = own.fuse.rating.ok_or_else(|| Undecided::need(place.clone()))?;
    let other = upstream.place.sub("rating");
    let larger = upstream.fuse.rating.ok_or_else(|| Undecided::need(other.clone()))?;
    let ratio = Range::<Ratio>::point(larger.base() / rating.base());
    let limit = job.house.limits.fuse_selectivity;
    Ok(at_least(ratio, limit.value)
        .formula("rating of the fuse before it / its own rating >= limit")
        .given(Input::stated("its own rating", rating, place.clone()))
        .given(Input::stated("rating of the fuse before it", larger, other.clone()))
        .limit_from(limit.source)
        .verdict(|is| {
            let title = format!(
                "{rating} behind {larger}: {} times, at least {} for the right one to open",
                is.result(),
                is.limit()
            );
            Finding::new(place, title)
                .label(format!("{rating} here"))
                .also(other, format!("{larger} before it, and it feeds more than this"))
                .because("a fault in this branch may open the fuse that feeds everything else too")
                .mend(mend((fuse, rating), (before, larger), job))
                .offers(super::offers::at_most(fuse, larger.base() / limit.base(), job))
                .offers(super::offers::at_least(upstream, rating.base() * limit.base(), job))
                .offers(pair((fuse, rating), before, job).map(|(here, there)| {
                    let [own_rating, other_rating] = [here, there].map(Range::<Current>::point);
                    Offer::new(format!("fit {own_rating} here and {other_rating} before it"))
                        .set(own.place.sub("rating"), own_rating)
                        .set(upstream.place.sub("rating"), other_rating)
                }))
        }))
}

/// What is apart enough: a smaller fuse here that carries its load, or with the smallest that does a larger one before it.
fn mend(
    (fuse, rating): (usize, Quantity<Current>),
    (before, larger): (usize, Quantity<Current>),
    job: &Job<'_>,
) -> String {
    let (own, upstream) = (&job.protection().fuses[fuse], &job.protection().fuses[before]);
    let (apart, stock) = (job.house.limits.fuse_selectivity.base(), &job.house.stock);
    let show = |amperes: f64| Range::<Current>::point(amperes).to_string();
    if super::site::least(fuse, job).is_none() {
        return format!(
            "fit at most {}{} here that carries its load (FUSE-04), or at least {}{} before it where its wire carries that",
            show(larger.base() / apart),
            stock.named_at_most(own.fuse.form, larger.base() / apart),
            show(rating.base() * apart),
            stock.named_at_least(upstream.fuse.form, rating.base() * apart)
        );
    }
    let smaller = super::offers::between(fuse, larger.base() / apart, job).map(|fit| format!("fit {fit} here"));
    let both = pair((fuse, rating), before, job).map(|(here, there)| {
        let here =
            if (here - rating.base()).abs() < 0.01 { String::new() } else { format!("{} here and ", show(here)) };
        let wire = match super::site::carries(before, there, job) {
            Some(true) => "",
            Some(false) => ", on a thicker wire than that",
            None => " where its wire carries that (FUSE-01)",
        };
        format!("fit {here}{} before it{wire}", show(there))
    });
    let ways: Vec<String> = smaller.into_iter().chain(both).collect();
    if ways.is_empty() {
        return "no made ratings are apart enough and carry their loads: leave it so, for protection comes first"
            .into();
    }
    ways.join(", or ")
}

/// The smallest made ratings here and before it that carry their loads and are apart enough, in A: no larger here than it is.
fn pair((fuse, rating): (usize, Quantity<Current>), before: usize, job: &Job<'_>) -> Option<(f64, f64)> {
    let fuses = &job.protection().fuses;
    let made = |fuse: usize, least: f64| {
        let ratings = super::site::ratings(fuses[fuse].fuse.form, job);
        ratings.into_iter().find(|rating| *rating >= least * (1.0 - 1e-9))
    };
    let carries = made(fuse, super::site::least(fuse, job)?);
    let here = carries.map_or(rating.base(), |carries| carries.min(rating.base()));
    let load = super::site::least(before, job).unwrap_or(0.0);
    Some((here, made(before, load.max(here * job.house.limits.fuse_selectivity.base()))?))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, offered, outcome};

    fn plan(main: &str, one: &str, second: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{one: {{}}, two: {{}}}}\n\
             blocks: {{split: {{outputs: {{one: {{fuse: {{{one}}}}}, two: {{fuse: {{rating: 40 A}}}}}}}}}}\nwires:\n  \
             main: {{from: battery.positive, to: split.in, fuse: {{{main}distance: 20 cm}}}}\n  \
             to-one: {{from: split.one, to: one.power}}\n{second}"
        )
    }

    const SECOND: &str = "  to-two: {from: split.two, to: two.power}\n";
    const SUBJECT: &str = "blocks.split.outputs.one.fuse";

    #[test]
    fn the_limit_is_one_point_six() {
        assert_eq!(outcome(&plan("rating: 80 A, ", "rating: 50 A", SECOND), "FUSE-08", SUBJECT), Outcome::Pass);
        assert_eq!(outcome(&plan("rating: 80 A, ", "rating: 51 A", SECOND), "FUSE-08", SUBJECT), Outcome::Fail);
    }

    /// 100 A leave at most 62.5 A behind them, and no fuse is made for that: 400 W at 80 % take some 40 A, which 60 A carry;
    /// 550 W take more than that, for which nothing behind 100 A does.
    #[test]
    fn the_mend_names_made_ratings_that_carry_the_load() {
        let with = |power: &str| finding(&loaded(("100 A", "125 A"), power, ""), "FUSE-08", SUBJECT).mend;
        let (small, large) = (with("400 W"), with("550 W"));
        assert!(small.starts_with("fit 60 A or 50 A here, or fit 50 A here and"), "{small}");
        assert!(large.starts_with("fit 70 A here and 125 A before it"), "{large}");
    }

    fn loaded((main, one): (&str, &str), power: &str, on_case: &str) -> String {
        let amp = |power: &str| {
            format!(
                "{{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A{on_case}, rated: [{{load: 2 ohm, power: {power}}}]}}"
            )
        };
        let fed = "size: 1/0 AWG, length: 1 m, conductor: copper";
        let (main, one) = (format!("form: bolt-down, rating: {main}, "), format!("form: bolt-down, rating: {one}"));
        plan(&main, &one, SECOND)
            .replace("one: {}, two: {}", &format!("one: {}, two: {}", amp(power), amp("50 W")))
            .replace(".power}", &format!(".power, {fed}}}"))
            .replace("split.in,", &format!("split.in, {fed},"))
            + &format!(
                "  back: {{from: one.ground, to: grounds.floor, {fed}}}\n  back-two: {{from: two.ground, to: grounds.floor, {fed}}}\n"
            )
            + "grounds: {floor: {}}\nvehicle: {voltage: 12 V, body: steel}\n"
    }

    /// 40 A on the case of the amplifier open before a fuse of 40 A does; 1.6 times 40 A are 64 A, and 70 A are made. Where 40 A
    /// sit there already only the other one changes.
    #[test]
    fn a_rating_of_just_what_the_load_asks_is_named() {
        let with = |main: &str, one: &str| {
            let text = loaded((main, one), "1200 W", ", onboard_fuses: [40 A]");
            // A battery of which nothing is known may not be able to give that much.
            let text = text.replace("body: steel}", "body: steel, battery: {internal_resistance: 5 mohm}}");
            finding(&text, "FUSE-08", SUBJECT).mend
        };
        let larger = with("100 A", "125 A");
        assert!(larger.starts_with("fit 60 A, 50 A or 40 A here, or fit 40 A here and 80 A before it"), "{larger}");
        let same = with("60 A", "40 A");
        assert!(same.starts_with("fit 80 A before it"), "{same}");
    }

    #[test]
    fn ratings_say_nothing_of_a_breaker_behind_a_fuse() {
        let breaker = "form: circuit-breaker, rating: 60 A";
        assert_eq!(outcome(&plan("rating: 80 A, ", breaker, SECOND), "FUSE-08", SUBJECT), Outcome::NotApplicable);
        let both = plan("form: circuit-breaker, rating: 80 A, ", breaker, SECOND);
        assert_eq!(outcome(&both, "FUSE-08", SUBJECT), Outcome::Fail);
    }

    #[test]
    fn it_does_not_matter_which_opens_when_nothing_else_hangs_there() {
        let alone = plan("rating: 60 A, ", "rating: 60 A", "");
        assert_eq!(outcome(&alone, "FUSE-08", SUBJECT), Outcome::NotApplicable);
        assert_eq!(outcome(&alone, "FUSE-08", "wires.main.fuse"), Outcome::NotApplicable);
    }

    #[test]
    fn the_two_fuses_of_a_cable_between_batteries_are_equal_on_purpose() {
        let plan = "plan: 1\nbatteries: {second: {}}\namplifiers: {amp: {}}\nwires:\n  link: {from: battery.positive, \
                    to: second.positive, length: 5 m, fuse: {rating: 100 A, distance: 20 cm}, \
                    far_fuse: {rating: 100 A, distance: 20 cm}}\n  feed: {from: battery.positive, to: amp.power, \
                    fuse: {rating: 60 A, distance: 20 cm}}\n";
        assert_eq!(outcome(plan, "FUSE-08", "wires.link.far_fuse"), Outcome::NotApplicable);
        assert_eq!(outcome(plan, "FUSE-08", "wires.link.fuse"), Outcome::NotApplicable);
    }

    /// Two runs side by side to a relay, two behind it: from the second battery the fuse of the one behind feeds both of those
    /// before it.
    #[test]
    fn runs_side_by_side_between_two_batteries_are_one_cable() {
        let run = |name: &str, from: &str, to: &str, near: &str| {
            format!(
                "  {name}: {{from: {from}, to: {to}, length: 4 m, {near}far_fuse: {{rating: 225 A, distance: 20 cm}}}}\n"
            )
        };
        let near = "fuse: {rating: 225 A, distance: 20 cm}, ";
        let text = format!(
            "plan: 1\nbatteries: {{rear: {{}}}}\namplifiers: {{amp: {{}}}}\nisolators: {{part: {{kind: relay, rated: 450 A}}}}\n\
             wires:\n{}{}{}{}  feed: {{from: rear.positive, to: amp.power, fuse: {{rating: 60 A, distance: 20 cm}}}}\n",
            run("main-1", "battery.positive", "part.in", near),
            run("main-2", "battery.positive", "part.in", near),
            run("link-1", "part.out", "rear.positive", ""),
            run("link-2", "part.out", "rear.positive", "")
        );
        for fuse in ["main-1.fuse", "main-1.far_fuse", "main-2.far_fuse", "link-1.far_fuse", "link-2.far_fuse"] {
            assert_eq!(outcome(&text, "FUSE-08", &format!("wires.{fuse}")), Outcome::NotApplicable, "{fuse}");
        }
        // An amplifier at the relay hangs on the fuse before it.
        let branch = text.replace("feed: {from: rear.positive", "feed: {from: part.out");
        assert_eq!(outcome(&branch, "FUSE-08", "wires.main-1.far_fuse"), Outcome::Fail);
    }

    #[test]
    fn a_rating_that_is_not_stated_leaves_it_open() {
        let check = check(&plan("", "rating: 50 A", SECOND), "FUSE-08", SUBJECT);
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "wires.main.fuse.rating");
    }

    /// 80 A before 50 A would do: 1.6 times. A larger fuse before it may ask for a thicker wire.
    #[test]
    fn the_nearest_ratings_that_are_apart_enough_are_offered() {
        let wired =
            |main: &str, one: &str| plan(main, one, SECOND).replace("to: split.in,", "to: split.in, size: 4 AWG,");
        let offers = offered(&wired("rating: 70 A, ", "rating: 50 A"), "FUSE-08", SUBJECT);
        let own = vec!["blocks.split.outputs.one.fuse.rating".to_owned()];
        let before = vec!["wires.main.fuse.rating".to_owned()];
        assert_eq!(offers[0], ("fit a 40 A fuse".to_owned(), own.clone()));
        assert!(offers.contains(&("fit an 80 A fuse".to_owned(), before.clone())), "{offers:?}");
        let thicker = [before.clone(), vec!["wires.main.size".to_owned()]].concat();
        assert!(offers.contains(&("fit an 80 A fuse and a wire of 2 AWG".to_owned(), thicker)), "{offers:?}");
        assert!(!offers.iter().any(|(title, places)| places == &before && title == "fit a 70 A fuse"), "{offers:?}");
        let offers = offered(&wired("rating: 80 A, ", "rating: 60 A"), "FUSE-08", SUBJECT);
        assert_eq!(offers[0], ("fit a 50 A fuse".to_owned(), own));
        assert!(offers.contains(&("fit a 100 A fuse".to_owned(), before)), "{offers:?}");
    }

    #[test]
    fn a_battery_elsewhere_changes_nothing() {
        let apart = plan("rating: 80 A, ", "rating: 51 A", SECOND)
            .replace("amplifiers:", "batteries: {rear: {}}\namplifiers:")
            .replace("two: {}}\n", "two: {}, three: {}}\n");
        let apart = format!("{apart}  own: {{from: rear.positive, to: three.power}}\n");
        assert_eq!(outcome(&apart, "FUSE-08", SUBJECT), Outcome::Fail);
    }

    /// A block in the middle of a cable between two batteries: the fuse behind it is the second battery's own.
    #[test]
    fn a_batterys_own_fuse_is_not_behind_the_others() {
        let plan = "plan: 1\nbatteries: {rear: {}}\namplifiers: {amp: {}}\n\
                    blocks: {split: {outputs: {one: {}, two: {fuse: {rating: 40 A}}}}}\nwires:\n  \
                    front: {from: battery.positive, to: split.in, fuse: {rating: 100 A, distance: 20 cm}}\n  \
                    back: {from: split.one, to: rear.positive, length: 3 m, far_fuse: {rating: 100 A, distance: 20 cm}}\n  \
                    feed: {from: split.two, to: amp.power}\n";
        assert_eq!(outcome(plan, "FUSE-08", "wires.back.far_fuse"), Outcome::NotApplicable);
    }

    /// A feed of its own from the same battery does not hang on the fuse before this one.
    #[test]
    fn a_feed_beside_it_is_nothing_that_the_fuse_before_it_feeds() {
        let other = "  other: {from: battery.positive, to: two.power, fuse: {rating: 40 A, distance: 20 cm}}\n";
        let text = plan("rating: 60 A, ", "rating: 60 A", other);
        assert_eq!(outcome(&text, "FUSE-08", SUBJECT), Outcome::NotApplicable);
    }
}
