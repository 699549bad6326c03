//! A fuse rated above its wire lets the wire become the fuse.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::Wire;
use crate::quantity::{Current, Quantity, Range};
use crate::rules::wire::site::enough;
use crate::solve::facts::Carries;
use crate::solve::protection::Way;
use crate::solve::{Decided, Job, Thing, Undecided, all};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-01",
    name: "fuse-above-wire",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("above_wire.md"),
    check: Subjects::Fuse(check),
    slips: &[
        super::Slip::Past("wires.*.fuse|far_fuse.rating"),
        super::Slip::Past("blocks.*.outputs.*.fuse.rating"),
        super::Slip::Past("wires.*.size"),
        super::Slip::Past("wires.*.insulation"),
        super::Slip::Past("wires.*.conductor"),
        super::Slip::Past("wires.*.bundle"),
    ],
};

/// A wire behind a fuse, and what all fuses that feed it let through together.
struct Behind {
    wire: usize,
    carries: Carries,
    through: Quantity<Current>,
    beside: Vec<usize>,
}

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let place = site.place.sub("rating");
    let rating = site.fuse.rating.ok_or_else(|| Undecided::need(place.clone()))?;
    let mut behind = all(job.ways_behind(fuse).map(|way| behind(fuse, rating, way, job)))?;
    behind.sort_by(|one, other| {
        let margin = |behind: &Behind| behind.carries.ampacity.low() / behind.through.base();
        margin(one).total_cmp(&margin(other))
    });
    let weakest = behind.first().ok_or(Undecided::NotApplicable("this fuse protects no wire alone"))?;
    let others = others(&behind, job);
    let (wire, carries) = (&job.wires[weakest.wire], &weakest.carries);
    let fuses = &job.protection().fuses;
    let beside: Vec<usize> = weakest.beside.iter().copied().filter(|other| *other != fuse).collect();
    let over = job.house.limits.fuse_over_ampacity;
    let limit: Range<Current> = carries.ampacity * over.base();
    let inputs = beside.iter().filter_map(|other| {
        let place = fuses[*other].place.sub("rating");
        Some(Input::stated("fuse beside it", fuses[*other].fuse.rating?, place))
    });
    let formula = if beside.is_empty() {
        "rating <= ampacity of the weakest wire that this fuse alone protects"
    } else {
        "ratings of the fuses that feed the wire side by side, added <= its ampacity"
    };
    Ok(at_most(weakest.through, limit)
        .formula(formula)
        .given(Input::stated("fuse rating", rating, place.clone()))
        .given_all(inputs)
        .given(Input::word("wire size", carries.size.to_string(), wire.at("size")))
        .given(Input::known("insulation", &carries.insulation))
        .given(Input::known("hottest place on its way", &carries.ambient))
        .limit_from(over.source)
        .verdict(|is| {
            let (carried, noun) = (carries.ampacity, site.fuse.noun());
            let thin = std::iter::once(weakest)
                .chain(others.iter().copied())
                .map(|behind| (behind.wire, carried_by(behind, job)));
            let tails: Option<Vec<_>> = thin.map(|(wire, carries)| super::outputs::tail(wire, carries, job)).collect();
            let tails = tails.filter(|_| beside.is_empty()).unwrap_or_default();
            let tails = if tails.iter().any(|tail| tail.block.plan().outputs.len() > 1) { tails } else { Vec::new() };
            let finding = if beside.is_empty() {
                Finding::new(place, format!("{rating} {noun} on a wire that carries {carried}"))
                    .because("a fuse must open before the wire is hurt; above the wire's rating the wire is the fuse")
                    .mend(mend(fuse, (wire, rating.base()), (noun, is.limit().low), &tails, job))
            } else {
                let together = weakest.through;
                Finding::new(place, format!("{together} of fuses side by side feed a wire that carries {carried}"))
                    .because("what comes through several fuses adds up in the wire where they meet")
                    .mend(format!(
                        "{}, or give it a fuse of its own where the others meet",
                        enough(wire, together.base(), "fit a thicker wire", job)
                    ))
            };
            let finding = finding.label(format!("{rating} here"));
            let finding = beside
                .iter()
                .fold(finding, |finding, other| finding.also(fuses[*other].place.sub("rating"), "beside it"));
            let finding =
                finding.also(wire.at("size"), format!("{} carries {} where it runs", carries.size, is.limit()));
            others
                .iter()
                .fold(finding, |finding, behind| {
                    let (at, carries) = (job.wires[behind.wire].at("size"), &behind.carries);
                    finding
                        .also(at, format!("{} carries {} where it runs", carries.size, carries.ampacity * over.base()))
                })
                .offers(
                    (!tails.is_empty())
                        .then(|| super::outputs::in_each_output(&tails, &site.fuse, job))
                        .into_iter()
                        .flatten(),
                )
                .offers(super::offers::at_most(fuse, is.limit().low, job))
                .offers(super::offers::thicker_wire(site, job))
        }))
}

/// What a wire behind a fuse carries for sure, in A, as the house holds fuses to it.
fn carried_by(behind: &Behind, job: &Job<'_>) -> f64 {
    behind.carries.ampacity.low() * job.house.limits.fuse_over_ampacity.base()
}

/// The other wires that carry too little for sure, each once.
fn others<'b>(behind: &'b [Behind], job: &Job<'_>) -> Vec<&'b Behind> {
    let over = job.house.limits.fuse_over_ampacity.base();
    let mut seen = vec![behind[0].wire];
    let thin =
        behind.iter().filter(|behind| behind.through.base() > behind.carries.ampacity.high() * over * (1.0 + 1e-9));
    thin.filter(|behind| {
        let is_new = !seen.contains(&behind.wire);
        seen.push(behind.wire);
        is_new
    })
    .collect()
}

/// A fuse for every wire that is too thin, where they begin at a block; a smaller fuse where the load leaves one.
fn mend(
    fuse: usize,
    (wire, rating): (&Thing<'_, Wire>, f64),
    (noun, most): (&str, f64),
    tails: &[super::outputs::Tail<'_, '_>],
    job: &Job<'_>,
) -> String {
    let show = |amperes: f64| Range::<Current>::point(amperes).to_string();
    let load = super::site::least(fuse, job).filter(|load| *load > most);
    match (tails, load) {
        ([], None) if most <= 0.0 => enough(wire, rating, "lay a thicker wire", job),
        ([], None) => {
            let kept = job.house.stock.named_at_most(job.protection().fuses[fuse].fuse.form, most);
            let wire = enough(wire, rating, "a thicker wire", job);
            format!("fit a {noun} of at most {}{kept}, or {wire}", show(most))
        }
        ([], Some(load)) => format!(
            "{}: the load asks a {noun} of at least {} (FUSE-04), and a smaller one opens in use",
            enough(wire, load, "lay a thicker wire", job),
            show(load)
        ),
        (tails, _) => {
            let each: Vec<String> =
                tails.iter().map(|tail| format!("of at most {} in `{}`", show(tail.carries), tail.output)).collect();
            format!(
                "leave this one for its own wire and fit a fuse in each output of the block with a thinner one: {}; or lay \
                 these thicker",
                words::all(&each)
            )
        }
    }
}

fn behind(fuse: usize, rating: Quantity<Current>, way: &Way, job: &Job<'_>) -> Decided<Behind> {
    let carries = job.ampacity(&job.wires[way.wire])?;
    // Of fuses side by side the first one tells.
    let together = job.let_through(way).filter(|(beside, _)| beside.first() == Some(&fuse));
    let (beside, through) = together.unwrap_or((Vec::new(), rating));
    Ok(Behind { wire: way.wire, carries, through, beside })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, finding, offered, outcome, outcome_by};

    /// 4 AWG of class 105 C carries 160 A at 30 C (33 CFR 183.425 table 5).
    fn plan(fuse: &str, insulation: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, size: 4 AWG, \
             conductor: copper, {insulation} length: 4 m, path: [cargo], fuse: {{form: bolt-down, rating: {fuse}, distance: 20 cm}}}}\n"
        )
    }

    #[test]
    fn a_fuse_at_the_wires_rating_passes_and_one_ampere_more_fails() {
        assert_eq!(outcome(&plan("160 A", "insulation: 105 C,"), "FUSE-01", "wires.main.fuse"), Outcome::Pass);
        assert_eq!(outcome(&plan("161 A", "insulation: 105 C,"), "FUSE-01", "wires.main.fuse"), Outcome::Fail);
    }

    #[test]
    fn an_insulation_that_is_not_stated_leaves_it_open_and_says_where_it_turns() {
        let check = crate::rules::trial::check(&plan("120 A", ""), "FUSE-01", "wires.main.fuse");
        assert_eq!(check.outcome, Outcome::Open);
        let turn = &check.turns[0];
        assert_eq!((turn.place.path().as_str(), turn.value.as_str()), ("wires.main.insulation", "75 C"));
    }

    /// 12 AWG of class 105 C carries 45 A.
    fn branch(branch: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nblocks: {{split: {{outputs: {{one: {{}}}}}}}}\nwires:\n  main: {{from: \
             battery.positive, to: split.in, size: 1/0 AWG, conductor: copper, insulation: 105 C, length: 4 m, path: \
             [cargo], fuse: {{form: bolt-down, rating: 125 A, distance: 20 cm}}}}\n  branch: {{from: split.one, to: \
             amp.power, size: 12 AWG, conductor: copper, insulation: 105 C, length: 2 m, path: [cargo]{branch}}}\n"
        )
    }

    /// A holder beside the block is as near to it as the main fuse may be to the battery.
    #[test]
    fn the_start_of_a_branch_up_to_its_own_fuse_is_left_out_when_it_is_short() {
        let own = |distance: &str| branch(&format!(", fuse: {{form: bolt-down, rating: 40 A, distance: {distance}}}"));
        let main = "wires.main.fuse";
        assert_eq!(outcome(&own("45.7 cm"), "FUSE-01", main), Outcome::Pass);
        assert_eq!(outcome(&own("46 cm"), "FUSE-01", main), Outcome::Fail);
        assert_eq!(outcome(&branch(""), "FUSE-01", main), Outcome::Fail);
        let large = own("10 cm").replace("rating: 40 A", "rating: 50 A");
        assert_eq!(outcome(&large, "FUSE-01", "wires.branch.fuse"), Outcome::Fail, "its own fuse is too large for it");
    }

    /// Two runs of 150 A meet in a block: the wire behind it has to carry 300 A, 4/0 AWG does, 2 AWG (210 A) does not.
    #[test]
    fn fuses_side_by_side_add_up_in_the_wire_where_they_meet() {
        let run = |name: &str, to: &str| {
            format!(
                "  {name}: {{from: battery.positive, to: {to}, size: 1/0 AWG, conductor: copper, insulation: 105 C, length: \
                 4 m, path: [cargo], fuse: {{form: bolt-down, rating: 150 A, distance: 20 cm}}}}\n"
            )
        };
        let text = |size: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nblocks: {{join: {{outputs: {{second: {{}}, amp: {{}}}}}}}}\nwires:\n{}{}  \
                 feed: {{from: join.amp, to: amp.power, size: {size}, conductor: copper, insulation: 105 C, length: 30 cm, \
                 path: [cargo]}}\n",
                run("first", "join.in"),
                run("second", "join.second"),
            )
        };
        assert_eq!(outcome(&text("4/0 AWG"), "FUSE-01", "wires.first.fuse"), Outcome::Pass);
        let failed = crate::rules::trial::check(&text("2 AWG"), "FUSE-01", "wires.first.fuse");
        let finding = failed.finding.expect("it fails");
        assert_eq!(finding.title, "300 A of fuses side by side feed a wire that carries 210 A");
        assert!(
            finding.also.iter().any(|label| label.place.path() == "wires.second.fuse.rating"),
            "{:?}",
            finding.also
        );
        assert_eq!(outcome(&text("2 AWG"), "FUSE-01", "wires.second.fuse"), Outcome::Pass, "it is told once");
    }

    /// A house that asks for a fifth in hand: 80 % of 160 A are 128 A.
    #[test]
    fn a_house_may_hold_fuses_further_below_their_wires() {
        let mut house = crate::house::House::default();
        house.limits.fuse_over_ampacity.value = crate::quantity::Quantity::new(0.8);
        let of = |fuse: &str| outcome_by(&house, &plan(fuse, "insulation: 105 C,"), "FUSE-01", "wires.main.fuse");
        assert_eq!((of("128 A"), of("129 A")), (Outcome::Pass, Outcome::Fail));
    }

    /// 150 A for a 1/0 AWG and two tails: 12 AWG carries 45 A, 10 AWG 60 A (33 CFR 183.425 table 5).
    fn two_tails(more: &str) -> String {
        let amp =
            |load: &str| format!("{{rated: [{{load: 4 ohm, power: {load}}}], rated_at: 14 V, efficiency: 80 %{more}}}");
        branch("").replace("split: {outputs: {one: {}}}", "split: {outputs: {one: {}, two: {}}}").replace(
            "amplifiers: {amp: {}}",
            &format!("amplifiers: {{amp: {}, other: {}}}", amp("200 W"), amp("300 W")),
        ) + "  second: {from: split.two, to: other.power, size: 10 AWG, conductor: copper, insulation: 105 C, length: 2 m, \
             path: [cargo]}\n"
    }

    #[test]
    fn every_tail_that_is_too_thin_is_named_and_gets_a_fuse_in_its_output() {
        let found = finding(&two_tails(""), "FUSE-01", "wires.main.fuse");
        let named: Vec<String> = found.also.iter().map(|label| label.place.path()).collect();
        assert_eq!(named, ["wires.branch.size", "wires.second.size"]);
        assert!(found.mend.contains("of at most 45 A in `one` and of at most 60 A in `two`"), "{}", found.mend);
        let (title, places) = offered(&two_tails(", maximum_fuse: 30 A"), "FUSE-01", "wires.main.fuse").remove(0);
        assert_eq!(title, "fit a fuse in each output with a thinner wire: 30 A in `one` and 30 A in `two`");
        assert_eq!(places, ["blocks.split.outputs.one.fuse", "blocks.split.outputs.two.fuse"]);
        let after = after(&two_tails(""), "FUSE-01", "wires.main.fuse").remove(0);
        assert_eq!(outcome(&after, "FUSE-01", "wires.main.fuse"), Outcome::Pass, "{after}");
    }

    /// 600 W at 80 % take 750 W, some 60 A; 1200 W twice as much and more for a while, above what 4 AWG carries.
    /// 3.6 kW at 80 % are 4.5 kW; through some 14 mohm (4 m of 8 AWG are 8.5) 14 V push 14 x 14 / (4 x 14 mohm) = 3.5 kW at most.
    /// A third of it, 1.5 kW, is some 120 A on average, above the 80 A that the wire carries: no smaller fuse mends that, and FUSE-04 does not wait for full output.
    #[test]
    fn where_full_output_is_out_of_reach_the_average_tells() {
        let text = plan("90 A", "insulation: 105 C,").replace("size: 4 AWG", "size: 8 AWG").replace(
            "amp: {}",
            "amp: {class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, rated: [{load: 2 ohm, power: 3.6 kW}]}",
        );
        let text = text.replace("20 cm}", "20 cm, resistance: 1 mohm}")
            + "  return: {from: amp.ground, to: grounds.floor, size: 2 AWG, length: 40 cm, conductor: copper}\n\
               grounds: {floor: {}}\nvehicle: {voltage: 12 V, body: steel, body_resistance: 1 mohm, \
               battery: {internal_resistance: 6 mohm, rest_voltage: 12.6 V}, factory_load: {running: 20 A}, \
               alternator: {rated: 300 A, at_idle: 200 A, voltage: 14 V, cable_resistance: 1 mohm}}\n";
        assert_eq!(outcome(&text, "SUPPLY-04", "job"), Outcome::Fail);
        let mend = finding(&text, "FUSE-01", "wires.main.fuse").mend;
        assert!(mend.starts_with("lay a thicker wire: the load asks a fuse of at least 1"), "{mend}");
        let average = finding(&text, "FUSE-04", "wires.main.fuse");
        assert!(average.title.starts_with("90 A fuse under an average load of 1"), "{}", average.title);
        let large = text.replace("90 A", "400 A");
        assert_eq!(outcome(&large, "FUSE-04", "wires.main.fuse"), Outcome::NotApplicable);
    }

    /// 4/0 AWG, the thickest that is made, carries 445 A; a load that asks 500 A needs two runs. Where the place is as hot as the
    /// insulation stands, no size carries anything.
    #[test]
    fn no_thicker_wire_is_named_where_none_helps() {
        let thick = plan("500 A", "insulation: 105 C,").replace("size: 4 AWG", "size: 4/0 AWG");
        let mend = finding(&thick, "FUSE-01", "wires.main.fuse").mend;
        assert!(
            mend.starts_with("fit a fuse of at most 445 A") && mend.contains("or lay several wires side by side"),
            "{mend}"
        );
        let mut house = crate::house::House::default();
        crate::house::Setting::set(&mut house.assumptions.zone, "60 C", "a parcel shelf in summer").expect("hot");
        let cooked =
            crate::rules::trial::check_by(&house, &plan("60 A", "insulation: 60 C,"), "FUSE-01", "wires.main.fuse");
        let mend = cooked.finding.expect("it fails").mend;
        assert!(mend.starts_with("lay a wire of a better insulation class"), "{mend}");
    }

    #[test]
    fn no_fuse_is_offered_that_its_load_opens() {
        let loaded = |power: &str| {
            let amp = format!(
                "amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, rated: [{{load: 2 ohm, power: {power}}}]}}"
            );
            plan("225 A", "insulation: 105 C,").replace("amp: {}", &amp).replace("20 cm}", "20 cm, resistance: 1 mohm}")
                + "  return: {from: amp.ground, to: grounds.floor, size: 2 AWG, length: 40 cm, conductor: copper}\n\
                   grounds: {floor: {}}\nvehicle: {voltage: 12 V, body: steel, battery: {internal_resistance: 5 mohm}}\n"
        };
        let ratings = |power: &str| {
            let offers = offered(&loaded(power), "FUSE-01", "wires.main.fuse");
            offers.into_iter().filter(|(title, _)| title.ends_with("fuse")).map(|(title, _)| title).collect::<Vec<_>>()
        };
        assert_eq!(
            ratings("600 W"),
            ["fit a 150 A fuse", "fit a 125 A fuse", "fit a 100 A fuse", "fit an 80 A fuse", "fit a 70 A fuse"]
        );
        assert_eq!(ratings("1500 W"), [""; 0]);
        let found = finding(&loaded("1500 W"), "FUSE-01", "wires.main.fuse");
        assert!(found.mend.starts_with("lay a thicker wire: the load asks a fuse of at least"), "{}", found.mend);
    }

    #[test]
    fn a_smaller_fuse_or_the_next_thicker_wire_is_offered() {
        let offers = offered(&plan("225 A", "insulation: 105 C,"), "FUSE-01", "wires.main.fuse");
        assert_eq!(offers[0], ("fit a 150 A fuse".to_owned(), vec!["wires.main.fuse.rating".to_owned()]));
        let wire = offers.iter().find(|(title, _)| title.starts_with("lay")).expect("a thicker wire");
        assert_eq!(wire, &("lay 2 AWG".to_owned(), vec!["wires.main.size".to_owned()]));
    }

    /// A block with one output passes the wire on: a smaller fuse before it does for both.
    #[test]
    fn behind_a_block_of_one_output_no_fuse_of_its_own_is_asked() {
        let found = finding(&branch(""), "FUSE-01", "wires.main.fuse");
        assert_eq!(found.mend, "fit a fuse of at most 45 A, or a thicker wire");
        assert!(!offered(&branch(""), "FUSE-01", "wires.main.fuse")[0].0.contains("output"));
    }

    /// In a house that allows 2.07 times what a wire carries 10 AWG takes 124 A, less than the 125 A before it; with 2.1 times
    /// it takes 126 A.
    #[test]
    fn which_tails_are_too_thin_follows_the_house() {
        let of = |over: f64| {
            let mut house = crate::house::House::default();
            house.limits.fuse_over_ampacity.value = crate::quantity::Quantity::new(over);
            let check = crate::rules::trial::check_by(&house, &two_tails(""), "FUSE-01", "wires.main.fuse");
            let found = check.finding.expect("45 A are too little either way");
            let named: Vec<String> = found.also.iter().map(|label| label.place.path()).collect();
            (named, found.mend)
        };
        let (named, mend) = of(2.07);
        assert_eq!(named, ["wires.branch.size", "wires.second.size"]);
        assert!(mend.contains("of at most 93.1 A in `one` and of at most 124 A in `two`"), "{mend}");
        assert_eq!(of(2.1).0, ["wires.branch.size"]);
    }

    /// The 40 A on its case open first, and just 40 A in the wire carry that.
    #[test]
    fn a_fuse_as_large_as_those_on_the_case_is_offered() {
        let amp = "amp: {class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, onboard_fuses: [20 A, 20 A], rated: [{load: \
                   2 ohm, power: 600 W}]}";
        let text = plan("60 A", "insulation: 105 C,")
            .replace("4 AWG", "12 AWG")
            .replace("amp: {}", amp)
            .replace("20 cm}", "20 cm, resistance: 1 mohm}")
            + "  return: {from: amp.ground, to: grounds.floor, size: 2 AWG, length: 40 cm, conductor: copper}\n\
               grounds: {floor: {}}\nvehicle: {voltage: 12 V, body: steel}\n";
        let offers = offered(&text, "FUSE-01", "wires.main.fuse");
        let fuses: Vec<&str> =
            offers.iter().map(|(title, _)| title.as_str()).filter(|it| it.ends_with("fuse")).collect();
        assert_eq!(fuses, ["fit a 40 A fuse"]);
    }

    /// Nobody makes strips below 30 A: where the maker of the amplifier allows 15 A, a blade of 15 A does for both, and the
    /// smallest strip at least for the wire.
    #[test]
    fn in_each_output_a_blade_or_the_smallest_strip_is_offered() {
        let titles: Vec<String> = offered(&two_tails(", maximum_fuse: 15 A"), "FUSE-01", "wires.main.fuse")
            .into_iter()
            .map(|(title, _)| title)
            .filter(|title| title.contains("output"))
            .collect();
        let each = |amperes: &str| {
            format!("fit a fuse in each output with a thinner wire: {amperes} in `one` and {amperes} in `two`")
        };
        assert_eq!(titles, [each("15 A"), each("30 A")]);
    }

    /// What another output says of its fuse holds for the new one too; the holder before the block stays where it is.
    #[test]
    fn a_fuse_in_an_output_is_like_another_one_there() {
        let like = "form: bolt-down, rating: 40 A, voltage: 32 V, breaking_capacity: 2 kA, holder: {takes: 4 AWG, rated: 100 A}";
        let third =
            two_tails("").replace("split: {outputs: {", &format!("split: {{outputs: {{third: {{fuse: {{{like}}}}}, "));
        let fitted = after(&third, "FUSE-01", "wires.main.fuse").remove(0);
        assert!(fitted.contains(&format!("one: {{fuse: {{{like}}}")), "{fitted}");
        let held =
            two_tails("").replace("distance: 20 cm}", "distance: 20 cm, holder: {takes: 1/0 AWG, rated: 200 A}}");
        let fitted = after(&held, "FUSE-01", "wires.main.fuse").remove(0);
        assert!(fitted.contains("one: {fuse: {form: bolt-down, rating: 40 A}}"), "{fitted}");
    }

    /// The 40 A on each case open first: just 40 A in the outputs carry that, and the makers allow it.
    #[test]
    fn a_fuse_in_an_output_carries_just_what_its_load_asks() {
        let text = two_tails(
            ", class: D, channels: 1, idle_current: 1 A, onboard_fuses: [20 A, 20 A], maximum_fuse: 40 A",
        )
        .replace("power: 200 W", "power: 600 W")
        .replace("power: 300 W", "power: 600 W")
        .replace("rating: 125 A, distance: 20 cm", "rating: 125 A, distance: 20 cm, resistance: 0.5 mohm")
            + "  back: {from: amp.ground, to: grounds.floor, size: 2 AWG, length: 40 cm, conductor: copper}\n  \
               back-two: {from: other.ground, to: grounds.floor, size: 2 AWG, length: 40 cm, conductor: copper}\n\
               grounds: {floor: {}}\nvehicle: {voltage: 12 V, body: steel, body_resistance: 1 mohm, battery: {internal_resistance: 5 mohm}}\n";
        let titles: Vec<String> =
            offered(&text, "FUSE-01", "wires.main.fuse").into_iter().map(|(title, _)| title).collect();
        let both = "fit a fuse in each output with a thinner wire: 40 A in `one` and 40 A in `two`";
        assert!(titles.iter().any(|title| title == both), "{titles:?}");
        // What the maker allows is too little for the load, and what the wires carry is not.
        let less = text.replace("maximum_fuse: 40 A", "maximum_fuse: 35 A");
        let titles: Vec<String> =
            offered(&less, "FUSE-01", "wires.main.fuse").into_iter().map(|(title, _)| title).collect();
        assert!(!titles.iter().any(|title| title.contains("output")), "{titles:?}");
        // Where no strip is as small as the maker allows, it is the smallest that carries the load.
        let strips = text.replace("maximum_fuse: 40 A", "maximum_fuse: 15 A");
        let titles: Vec<String> =
            offered(&strips, "FUSE-01", "wires.main.fuse").into_iter().map(|(title, _)| title).collect();
        assert!(titles.iter().any(|title| title == both), "{titles:?}");
    }
}
