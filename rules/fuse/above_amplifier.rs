//! An amplifier's maker says which fuse may stand in front of it.

use crate::judge::{Comparison, Finding, Input, Judged, Rule, Severity, Subjects, Verdict, at_most};
use crate::plan::{Amplifier, Block, Wire};
use crate::quantity::{Current, Quantity};
use crate::solve::protection::Way;
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-10",
    name: "fuse-above-amplifier",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("above_amplifier.md"),
    check: Subjects::Amplifier(check),
    slips: &[
        super::Slip::Past("wires.*.fuse|far_fuse.rating"),
        super::Slip::Past("blocks.*.outputs.*.fuse.rating"),
        super::Slip::Past("amplifiers.*.maximum_fuse"),
    ],
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let ways = job.ways_to_gear(amplifier.name);
    let nearest = ways.iter().find_map(|way| way.fuses.last().copied());
    let nearest = nearest.ok_or(Undecided::NotApplicable("no fuse stands in front of this amplifier"))?;
    let own = amplifier.onboard_fuses.as_ref().map(|fuses| !fuses.is_empty());
    let shares = job.amplifiers.iter().find(|other| {
        other.address != amplifier.address
            && job.ways_to_gear(other.name).iter().any(|way| way.fuses.last() == Some(&nearest))
    });
    if let (Some(false), Some(other)) = (own, shares) {
        return Ok(Verdict::fail(shared(amplifier, other, nearest, job)));
    }
    let verdict = match amplifier.maximum_fuse {
        Some(maximum) => Some(rating(&ways, maximum, amplifier, job)?),
        None => None,
    };
    match (verdict, own) {
        (Some(verdict), _) if verdict.finding.is_some() => Ok(verdict),
        (_, None) if shares.is_some() => Err(Undecided::need(amplifier.at("onboard_fuses"))),
        (Some(verdict), _) => Ok(verdict),
        (None, Some(true)) => Err(Undecided::NotApplicable("its maker sets no limit, and it has fuses of its own")),
        (None, Some(false)) => Err(Undecided::need(amplifier.at("maximum_fuse"))),
        (None, None) => Err(Undecided::need(amplifier.at("onboard_fuses"))),
    }
}

/// The smallest fuse on the way, from whichever battery that is worst.
fn rating(ways: &[&Way], maximum: Quantity<Current>, amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let fuses = &job.protection().fuses;
    let mut worst = None;
    for way in ways {
        let fuse = job.smallest_fuse(&way.fuses);
        let last = way.fuses.last().map(|last| fuses[*last].place.sub("rating"));
        let Some((fuse, rating)) = fuse.and_then(|fuse| Some((fuse, fuses[fuse].fuse.rating?))) else {
            return Err(last.map_or(Undecided::NotApplicable("no fuse on this way"), Undecided::need));
        };
        let unrated = way.fuses.iter().find(|passed| fuses[**passed].fuse.rating.is_none());
        if let (Some(unrated), true) = (unrated, rating.base() > maximum.base()) {
            return Err(Undecided::need(fuses[*unrated].place.sub("rating")));
        }
        if worst.is_none_or(|(_, known): (usize, Quantity<Current>)| rating.base() > known.base()) {
            worst = Some((fuse, rating));
        }
    }
    let (fuse, rating) = worst.ok_or(Undecided::NotApplicable("no fuse stands in front of this amplifier"))?;
    let (beside, together) = side_by_side(ways, job);
    if rating.base() <= maximum.base() && beside.len() > 1 {
        return Ok(added(&beside, rating.with_base(together), maximum, amplifier, job));
    }
    let place = fuses[fuse].place.sub("rating");
    let bare = bare_output(amplifier, job);
    Ok(at_most(rating, maximum)
        .formula("smallest fuse in front of the amplifier <= its maker's maximum")
        .given(Input::stated("fuse rating", rating, place.clone()))
        .limit_from("the amplifier's maker")
        .verdict(|is| {
            let (noun, found, allowed) = (fuses[fuse].fuse.noun(), is.result(), is.limit());
            if let Some((block, output)) = bare {
                return without_its_own(amplifier, (is, fuse, maximum), (block, output), job);
            }
            let nearer = super::offers::nearer(fuse, rating.base(), job)
                .map(|nearer| format!(", or leave this one for the wire and put {nearer} of at most {allowed} there"));
            Finding::new(place, format!("{found} {noun} in front of {}, whose maker allows {allowed}", amplifier.name))
                .label(format!("{found}, at most {allowed}"))
                .also(amplifier.at("maximum_fuse"), format!("its maker allows {allowed}"))
                .because("behind too large a fuse a faulty amplifier burns on until something else gives way")
                .mend(format!(
                    "fit a {noun} of at most {allowed} in front of this amplifier{}",
                    nearer.unwrap_or_default()
                ))
                .offers(super::offers::at_most(fuse, maximum.base(), job))
        }))
}

/// The block's output without a fuse that feeds an amplifier through a wire that has none either.
fn bare_output<'j, 'a>(amplifier: &Thing<'_, Amplifier>, job: &'j Job<'a>) -> Option<(&'j Thing<'a, Block>, &'a str)> {
    let feeds = |wire: &Wire| wire.terminals().any(|end| end.is(amplifier.name, "power"));
    let mut wires = job.wires.iter().filter(|wire| feeds(wire));
    wires.find_map(|wire| super::outputs::bare_output(wire, job))
}

/// The fuse before a block is for its wire; what is missing is the one in the output.
fn without_its_own(
    amplifier: &Thing<'_, Amplifier>,
    (is, main, maximum): (&Comparison, usize, Quantity<Current>),
    (block, output): (&Thing<'_, Block>, &str),
    job: &Job<'_>,
) -> Finding {
    let place = block.at(format!("outputs.{output}"));
    let (main, rating, allowed) = (&job.protection().fuses[main], is.result(), is.limit());
    let title =
        format!("{rating} fuse in front of {}, whose maker allows {allowed}: its output has none", amplifier.name);
    Finding::new(place.clone(), title)
        .label("no fuse here")
        .also(main.place.sub("rating"), format!("{rating}, for all that the block feeds"))
        .also(amplifier.at("maximum_fuse"), format!("its maker allows {allowed}"))
        .because("behind too large a fuse a faulty amplifier burns on until something else gives way")
        .mend(format!(
            "fit a fuse of at most {allowed} in this output of the block, or near the amplifier (`far_fuse`)"
        ))
        .offers(super::outputs::in_output(block, output, &main.fuse, maximum.base(), job))
}

/// The smallest fuse of every way, and what they let through together: no more than a fuse that every way passes.
fn side_by_side(ways: &[&Way], job: &Job<'_>) -> (Vec<usize>, f64) {
    let rating = |fuse: &usize| job.protection().fuses[*fuse].fuse.rating.map(Quantity::base);
    let mut smallest: Vec<usize> = ways.iter().filter_map(|way| job.smallest_fuse(&way.fuses)).collect();
    smallest.sort_unstable();
    smallest.dedup();
    let sum = smallest.iter().filter_map(rating).sum();
    let first = ways.first().map_or(&[][..], |way| &way.fuses);
    let common = first.iter().filter(|fuse| ways.iter().all(|way| way.fuses.contains(fuse)));
    let together = common.filter_map(rating).fold(sum, f64::min);
    (smallest, together)
}

/// Fuses each of which its maker allows, and what comes through all of them.
fn added(
    beside: &[usize],
    together: Quantity<Current>,
    maximum: Quantity<Current>,
    amplifier: &Thing<'_, Amplifier>,
    job: &Job<'_>,
) -> Verdict {
    let places: Vec<Place> = beside.iter().map(|fuse| job.protection().fuses[*fuse].place.sub("rating")).collect();
    let inputs = beside.iter().zip(&places).filter_map(|(fuse, place)| {
        Some(Input::stated("fuse rating", job.protection().fuses[*fuse].fuse.rating?, place.clone()))
    });
    at_most(together, maximum)
        .formula("ratings of the fuses that feed the amplifier side by side, added <= its maker's maximum")
        .given_all(inputs)
        .limit_from("the amplifier's maker")
        .verdict(|is| {
            let (found, allowed) = (is.result(), is.limit());
            let title = format!("{found} of fuses side by side feed {}, whose maker allows {allowed}", amplifier.name);
            let finding = Finding::new(places[0].clone(), title).label("one of them");
            let others = places[1..].iter();
            others
                .fold(finding, |finding, place| finding.also(place.clone(), "beside it"))
                .also(amplifier.at("maximum_fuse"), format!("its maker allows {allowed}"))
                .because("what comes through several fuses adds up in the amplifier, which burns on with all of it")
                .mend(format!("feed it through one fuse of at most {allowed}, behind the place where the ways meet"))
        })
}

fn shared(amplifier: &Thing<'_, Amplifier>, other: &Thing<'_, Amplifier>, fuse: usize, job: &Job<'_>) -> Finding {
    let site = &job.protection().fuses[fuse];
    Finding::new(
        amplifier.at("onboard_fuses"),
        format!("{} has no fuse of its own and shares one with {}", amplifier.name, other.name),
    )
    .label("none on its case")
    .also(site.place.clone(), format!("feeds {} and {}", amplifier.name, other.name))
    .because("a fuse that carries two amplifiers is too large to save one of them")
    .mend("give it a fuse of its own, by its maker's rating, in the block or near its terminal")
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, offered, outcome};

    fn plan(fuse: &str, amplifier: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{{amplifier}}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, \
             fuse: {{distance: 20 cm{fuse}}}}}\n"
        )
    }

    const SUBJECT: &str = "amplifiers.amp";

    #[test]
    fn the_makers_maximum_passes_and_one_ampere_more_fails() {
        let of = |fuse: &str| outcome(&plan(fuse, "maximum_fuse: 60 A, onboard_fuses: []"), "FUSE-10", SUBJECT);
        assert_eq!(of(", rating: 60 A"), Outcome::Pass);
        assert_eq!(of(", rating: 61 A"), Outcome::Fail);
        assert_eq!(of(""), Outcome::Open);
    }

    /// What is smaller still does no harm; above the maximum the other one may be what saves it.
    #[test]
    fn behind_a_fuse_of_the_makers_maximum_another_may_have_any_rating() {
        let of = |fuse: &str| {
            let text = plan(fuse, "maximum_fuse: 60 A, onboard_fuses: []")
                .replace("fuse: {distance", "far_fuse: {distance: 20 cm}, fuse: {distance");
            outcome(&text, "FUSE-10", SUBJECT)
        };
        assert_eq!((of(", rating: 60 A"), of(", rating: 61 A")), (Outcome::Pass, Outcome::Open));
    }

    #[test]
    fn without_a_maximum_its_own_fuses_do() {
        let of = |amplifier: &str| check(&plan(", rating: 60 A", amplifier), "FUSE-10", SUBJECT);
        assert_eq!(of("onboard_fuses: [25 A, 25 A]").outcome, Outcome::NotApplicable);
        assert_eq!(of("onboard_fuses: []").needs[0].path(), "amplifiers.amp.maximum_fuse");
        assert_eq!(of("").needs[0].path(), "amplifiers.amp.onboard_fuses");
    }

    /// Drawn from the amplifier to the battery, and chained from one amplifier to the next.
    #[test]
    fn it_follows_wires_either_way_and_through_other_terminals() {
        let plan = |rating: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{maximum_fuse: 60 A, onboard_fuses: [30 A]}}, first: {{}}}}\nwires:\n  \
                 main: {{from: first.power, to: battery.positive, far_fuse: {{rating: {rating}, distance: 20 cm}}}}\n  \
                 chain: {{from: first.power, to: amp.power}}\n"
            )
        };
        assert_eq!(outcome(&plan("60 A"), "FUSE-10", SUBJECT), Outcome::Pass);
        assert_eq!(outcome(&plan("100 A"), "FUSE-10", SUBJECT), Outcome::Fail);
    }

    fn two(onboard: &str, output: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{maximum_fuse: 60 A{onboard}}}, other: {{onboard_fuses: [30 A]}}}}\n\
             blocks: {{split: {{outputs: {{one: {{{output}}}, two: {{}}}}}}}}\nwires:\n  \
             main: {{from: battery.positive, to: split.in, fuse: {{rating: 60 A, distance: 20 cm}}}}\n  \
             to-amp: {{from: split.one, to: amp.power}}\n  to-other: {{from: split.two, to: other.power}}\n"
        )
    }

    #[test]
    fn an_amplifier_without_fuses_may_not_share_one() {
        assert_eq!(outcome(&two(", onboard_fuses: []", ""), "FUSE-10", SUBJECT), Outcome::Fail);
        assert_eq!(outcome(&two(", onboard_fuses: []", "fuse: {rating: 30 A}"), "FUSE-10", SUBJECT), Outcome::Pass);
        assert_eq!(outcome(&two(", onboard_fuses: [40 A]", ""), "FUSE-10", SUBJECT), Outcome::Pass);
        assert_eq!(outcome(&two("", ""), "FUSE-10", SUBJECT), Outcome::Open);
    }

    /// The 80 A strip at the battery is right for the cable; what lacks is the fuse in the block's own output. The next
    /// output shows what this block takes.
    #[test]
    fn a_blocks_output_without_a_fuse_is_where_it_points() {
        let text = two(", onboard_fuses: [40 A]", "")
            .replace("rating: 60 A, distance", "form: bolt-down, rating: 80 A, distance")
            .replace("two: {}", "two: {fuse: {form: bolt-down, rating: 40 A, breaking_capacity: 2 kA}}");
        let found = finding(&text, "FUSE-10", SUBJECT);
        assert_eq!(
            (found.at.place.path().as_str(), found.at.text.as_str()),
            ("blocks.split.outputs.one", "no fuse here")
        );
        assert!(found.mend.starts_with("fit a fuse of at most 60 A in this output"), "{}", found.mend);
        let (title, places) = &offered(&text, "FUSE-10", SUBJECT)[0];
        assert_eq!(
            (title.as_str(), places.as_slice()),
            ("fit a 60 A fuse in the output", &["blocks.split.outputs.one.fuse".to_owned()][..])
        );
    }

    /// 20 A is what the maker allows, and no strip is made for it: a strip for the wire, and a blade near the amplifier.
    #[test]
    fn a_fuse_nearer_to_the_amplifier_does() {
        let far = "}, size: 6 mm2, conductor: copper, insulation: 105 C, path: [cargo], far_fuse: {form: blade-regular, distance: 15 cm, rating: 20 A";
        let text = |far: &str| {
            plan(&format!(", form: bolt-down, rating: 35 A{far}"), "maximum_fuse: 20 A, onboard_fuses: [15 A]")
        };
        assert_eq!(outcome(&text(far), "FUSE-10", SUBJECT), Outcome::Pass);
        let alone = text("}, size: 6 mm2, conductor: copper, insulation: 105 C, path: [cargo], covering: {kind: none")
            .replace(", covering: {kind: none}", "");
        let mend = finding(&alone, "FUSE-10", SUBJECT).mend;
        assert!(
            mend.ends_with(
                "or leave this one for the wire and put a blade near the amplifier (`far_fuse`) of at most 20 A there"
            ),
            "{mend}"
        );
    }

    /// What its maker allows is offered, and where none is made for that the next below.
    #[test]
    fn the_largest_fuse_within_the_makers_maximum_is_offered() {
        let of = |maximum: &str| {
            let amplifier = format!("maximum_fuse: {maximum}, onboard_fuses: []");
            offered(&plan(", rating: 80 A", &amplifier), "FUSE-10", SUBJECT)[0].0.clone()
        };
        assert_eq!(of("60 A"), "fit a 60 A fuse");
        assert_eq!(of("59 A"), "fit a 50 A fuse");
    }

    #[test]
    fn fuses_of_its_own_are_asked_for_only_where_they_matter() {
        // Too large a fuse is too large whatever is on the case.
        let large = two("", "").replace("fuse: {rating: 60 A,", "fuse: {rating: 100 A,");
        assert_eq!(outcome(&large, "FUSE-10", SUBJECT), Outcome::Fail);
        // Alone on its fuse, within its maker's maximum.
        assert_eq!(outcome(&plan(", rating: 60 A", "maximum_fuse: 60 A"), "FUSE-10", SUBJECT), Outcome::Pass);
    }

    /// A second fuse on the way can only make the smallest one smaller.
    #[test]
    fn a_rating_that_is_not_stated_is_asked_for_only_where_the_known_one_is_too_large() {
        let of = |far: &str| plan(&format!("}}, far_fuse: {{distance: 20 cm, rating: {far}"), "maximum_fuse: 60 A");
        assert_eq!(outcome(&of("60 A"), "FUSE-10", SUBJECT), Outcome::Pass);
        assert_eq!(outcome(&of("40 A"), "FUSE-10", SUBJECT), Outcome::Pass);
        let open = check(&of("80 A"), "FUSE-10", SUBJECT);
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "wires.main.fuse.rating"));
    }

    /// Two runs of 40 A to one terminal bring 80 A; behind a common fuse no more than that one lets through.
    #[test]
    fn fuses_side_by_side_add_up() {
        let plan = |maximum: &str, main: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{maximum_fuse: {maximum}, onboard_fuses: [30 A]}}}}\n\
                 blocks: {{split: {{outputs: {{one: {{fuse: {{rating: 40 A}}}}, two: {{fuse: {{rating: 40 A}}}}}}}}}}\nwires:\n  \
                 main: {{from: battery.positive, to: split.in{main}}}\n  a: {{from: split.one, to: amp.power}}\n  \
                 b: {{from: split.two, to: amp.power}}\n"
            )
        };
        let of = |maximum: &str, main: &str| outcome(&plan(maximum, main), "FUSE-10", SUBJECT);
        assert_eq!((of("80 A", ""), of("79 A", "")), (Outcome::Pass, Outcome::Fail));
        assert_eq!(of("60 A", ", fuse: {rating: 60 A, distance: 20 cm}"), Outcome::Pass);
        let finding = finding(&plan("60 A", ""), "FUSE-10", SUBJECT);
        assert_eq!(finding.title, "80 A of fuses side by side feed amp, whose maker allows 60 A");
    }

    /// Fed from two batteries, the worse of the two fuses counts, whichever comes first.
    #[test]
    fn the_worst_of_several_feeds_counts() {
        for (first, second, worst) in [("40 A", "80 A", "wires.b"), ("80 A", "40 A", "wires.a")] {
            let plan = format!(
                "plan: 1\namplifiers: {{amp: {{maximum_fuse: 60 A}}}}\nbatteries: {{rear: {{}}}}\nwires:\n  \
                 a: {{from: battery.positive, to: amp.power, fuse: {{distance: 20 cm, rating: {first}}}}}\n  \
                 b: {{from: rear.positive, to: amp.power, fuse: {{distance: 20 cm, rating: {second}}}}}\n"
            );
            let place = finding(&plan, "FUSE-10", SUBJECT).at.place.path();
            assert_eq!(place, format!("{worst}.fuse.rating"));
        }
    }

    /// A bare output whose wire has a fuse near the amplifier lacks none: the one that is there is too large.
    #[test]
    fn a_fuse_in_the_wire_of_a_bare_output_is_the_one_that_is_told() {
        let text = two(", onboard_fuses: [40 A]", "")
            .replace("rating: 60 A, distance", "rating: 150 A, distance")
            .replace("to: amp.power}", "to: amp.power, far_fuse: {rating: 80 A, distance: 15 cm}}");
        assert_eq!(finding(&text, "FUSE-10", SUBJECT).at.place.path(), "wires.to-amp.far_fuse.rating");
    }

    /// One fuse alone is shown as the one that it is, not as a sum.
    #[test]
    fn the_working_of_one_fuse_speaks_of_one() {
        let one = check(&plan(", rating: 60 A", "maximum_fuse: 60 A, onboard_fuses: []"), "FUSE-10", SUBJECT);
        assert!(one.working.expect("worked").formula.starts_with("smallest fuse"));
    }

    /// The cable ends at a processor and goes on from there: what sits near that end is not near the amplifier.
    #[test]
    fn a_blade_near_the_amplifier_needs_a_wire_that_ends_there() {
        let copper = "size: 6 mm2, conductor: copper, insulation: 105 C, path: [cargo]";
        let text = format!(
            "plan: 1\nsources: {{dsp: {{kind: processor}}}}\namplifiers: {{amp: {{maximum_fuse: 20 A, onboard_fuses: [15 A]}}}}\n\
             wires:\n  main: {{from: battery.positive, to: dsp.power, {copper}, fuse: {{form: bolt-down, rating: 35 A, \
             distance: 20 cm}}}}\n  on: {{from: dsp.power, to: amp.power, {copper}}}\n"
        );
        let mend = finding(&text, "FUSE-10", SUBJECT).mend;
        assert_eq!(mend, "fit a fuse of at most 20 A in front of this amplifier");
    }
}
