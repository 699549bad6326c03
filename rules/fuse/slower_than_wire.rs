//! In a race between fuse and wire the fuse has to be first.

use crate::judge::{Comparison, Figure, Finding, Input, Judged, Relation, Rule, Severity, Subjects};
use crate::plan::FuseForm;
use crate::quantity::{Current, Quantity, Range};
use crate::solve::protection::Way;
use crate::solve::{Decided, Job, Origin, Undecided, all, fuse as opening};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-05",
    name: "fuse-slower-than-wire",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("slower_than_wire.md"),
    check: Subjects::Fuse(check),
    slips: &[super::Slip::Together(&[
        super::Slip::Say("wires.*.fuse.form", &["blade-large"]),
        super::Slip::Past("wires.*.fuse.rating"),
    ])],
};

/// A short at the far end of one way.
struct Short {
    wire: usize,
    /// What flows, as far as it may hurt the wire.
    current: Range<Current>,
    /// Longest opening time over what the wire stands, least and most.
    share: (f64, f64),
    /// Whether a converter between the fuse and the wire holds the current down, so that the fuse sees none of it.
    is_limited: bool,
}

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let place = site.place.sub("rating");
    let ways = job.protection().ways.iter().filter(|way| job.smallest_fuse(&way.fuses) == Some(fuse));
    let ways: Vec<&Way> = ways.collect();
    let rating = site.fuse.rating.ok_or_else(|| Undecided::need(place.clone()))?;
    if ways.is_empty() {
        return Err(Undecided::NotApplicable("this fuse protects no wire alone"));
    }
    let form = site.fuse.form.ok_or_else(|| Undecided::need(site.place.sub("form")))?;
    let pace = site.fuse.is_breaker().then(|| job.breaker_opening(&site.fuse, &site.place));
    let slower = pace.as_ref().map_or((1.0, 1.0), |pace| opening::breaker_pace(pace.range));
    let shorts = all(ways.into_iter().map(|way| short(job, way, fuse, (form, rating, slower))))?;
    // A way that fails for sure comes before one that only may be worse.
    let rank = |short: &Short| (short.share.0 > 1.0, short.share.1);
    let worst = shorts.into_iter().max_by(|one, other| {
        let (one, other) = (rank(one), rank(other));
        one.0.cmp(&other.0).then(one.1.total_cmp(&other.1))
    });
    let worst = worst.ok_or(Undecided::NotApplicable("this fuse protects no wire alone"))?;
    let wire = &job.wires[worst.wire];
    let share = Figure::ratio(worst.share.0, worst.share.1);
    let opens = opening::opening_time(form, rating, worst.current).slowest.scaled(slower.0, slower.1);
    let noun = site.fuse.noun();
    Ok(Comparison::new(share, Relation::AtMost, Figure::ratio(1.0, 1.0))
        .formula("longest opening time / (k S / I)^2 <= 1 at every current that the short may take")
        .given(Input::stated("fuse rating", rating, place.clone()))
        .given(Input::from(
            "current of a short at the far end",
            worst.current,
            Origin::Computed("battery voltage / (battery + wires + joints + fuses + body)"),
        ))
        .given(Input::from("longest opening time", opens, Origin::Table(form.source())))
        .given_all(pace.as_ref().map(|pace| Input::known("at six times its rating within", pace)))
        .given(Input::word("wire size", wire.size.map_or_else(String::new, |size| size.to_string()), wire.at("size")))
        .limit_from("IEC 60364-4-43 clause 434.5.2: the fuse opens before the conductor is hurt")
        .verdict(|_| {
            let (least, sure) = (Range::<Current>::point(worst.current.low()), opens.high().is_finite());
            let title = if worst.is_limited {
                format!(
                    "a short on `{}` draws the {least} of the converter before it, more than it carries, and no fuse sees it",
                    wire.name
                )
            } else if sure {
                format!(
                    "a short of {least} on `{}` may last {}, longer than the wire withstands",
                    wire.name,
                    opens.at_high()
                )
            } else {
                format!(
                    "a short at the far end of {} draws {least}, which need not open {} {noun}",
                    wire.name,
                    words::a(rating)
                )
            };
            Finding::new(place, title)
                .label("opens too late")
                .also(wire.at("size"), format!("a short at the far end of this draws {}", worst.current))
                .because("the wire burns before its protection opens")
                .mend(if worst.is_limited {
                    "fit a fuse behind the converter that the wire bears, or a thicker wire"
                } else if site.fuse.is_breaker() {
                    "fit a fuse, a faster breaker or a smaller rating, or a thicker wire"
                } else {
                    "fit a faster form or a smaller rating, or a thicker wire"
                })
                .offers(super::offers::at_most(fuse, rating.base() * (1.0 - 1e-3), job))
                .offers(super::offers::thicker_wire(site, job))
        }))
}

/// `slower` says how much slower than its form's curve it may be, least and most.
fn short(
    job: &Job<'_>,
    way: &Way,
    fuse: usize,
    (form, rating, slower): (FuseForm, Quantity<Current>, (f64, f64)),
) -> Decided<Short> {
    let wire = &job.wires[way.wire];
    let carries = job.ampacity(wire)?;
    let (current, harmless) = (job.fault_current(way)?, carries.ampacity);
    // What the wire carries for good does not hurt it, however long the fuse takes.
    if current.high() <= harmless.low() {
        return Ok(Short { wire: way.wire, current, share: (0.0, 0.0), is_limited: false });
    }
    // A fuse before a converter sees another current than the wire behind it, and none of its overload.
    if way.is_limited_behind(fuse) {
        let share = if current.low() > harmless.high() { (f64::INFINITY, f64::INFINITY) } else { (0.0, f64::INFINITY) };
        return Ok(Short { wire: way.wire, current, share, is_limited: true });
    }
    let harmful = Range::new(current.low().max(harmless.low()), current.high());
    let area = carries.size.area();
    let shares = carries.materials.iter().map(|material| opening::fault_share(form, rating, area, *material, harmful));
    let (least, most) =
        shares.fold((f64::INFINITY, 0.0_f64), |known, share| (known.0.min(share.0), known.1.max(share.1)));
    let least = if current.low() <= harmless.high() { 0.0 } else { least };
    Ok(Short { wire: way.wire, current: harmful, share: (least * slower.0, most * slower.1), is_limited: false })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, offered, outcome};

    /// A cable measured and a battery measured, so that the short is known within the body's range.
    fn plan(form: &str, length: &str, size: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, battery: {{internal_resistance: 5 mohm, rest_voltage: 12.6 V}}, \
             body_resistance: 1 mohm}}\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, \
             to: amp.power, {size}conductor: copper, insulation: 105 C, length: {length}, path: [cargo], \
             fuse: {{form: {form}, rating: 35 A, distance: 20 cm}}}}\n"
        )
    }

    #[test]
    fn the_same_rating_in_a_slow_form_is_too_late_on_a_long_thin_wire() {
        let size = "size: 14 AWG, ";
        assert_eq!(outcome(&plan("blade-large", "9 m", size), "FUSE-05", "wires.main.fuse"), Outcome::Fail);
        assert_eq!(outcome(&plan("blade-regular", "9 m", size), "FUSE-05", "wires.main.fuse"), Outcome::Pass);
        assert_eq!(outcome(&plan("blade-large", "1 m", "size: 4 AWG, "), "FUSE-05", "wires.main.fuse"), Outcome::Pass);
    }

    /// 9 m of 10 AWG off 5 mohm let some 270 A flow and stand them for 5 s; whether a breaker of 60 A does, what its maker
    /// states decides.
    #[test]
    fn a_breaker_is_as_fast_as_its_maker_says() {
        let of = |more: &str| {
            let text = plan("circuit-breaker", "9 m", "size: 10 AWG, ")
                .replace("rating: 35 A", &format!("rating: 60 A{more}"));
            check(&text, "FUSE-05", "wires.main.fuse")
        };
        assert_eq!(of(", opening_time: 0.5 s").outcome, Outcome::Pass);
        assert_eq!(of(", opening_time: 20 s").outcome, Outcome::Fail);
        let open = of("");
        assert_eq!(open.outcome, Outcome::Open);
        assert!(open.turns.iter().any(|turn| turn.place.path() == "wires.main.fuse.opening_time"), "{:?}", open.turns);
    }

    /// The share itself turns at 1: between a length that surely passes and one that surely fails lies an open stretch.
    #[test]
    fn pass_open_and_fail_follow_each_other_with_length() {
        let of = |metres: f64| {
            outcome(&plan("blade-large", &format!("{metres} m"), "size: 14 AWG, "), "FUSE-05", "wires.main.fuse")
        };
        let outcomes: Vec<Outcome> = (1..=18).map(|half| of(f64::from(half) * 0.5)).collect();
        let mut order = outcomes.clone();
        order.dedup();
        assert_eq!(order, [Outcome::Pass, Outcome::Open, Outcome::Fail], "{outcomes:?}");
    }

    #[test]
    fn a_short_that_the_wire_carries_for_good_hurts_nothing() {
        // 12.6 V behind 100 mohm draw at most 126 A, and 4 AWG carries 160 A; the strip of 35 A might take seconds.
        let weak = plan("bolt-down", "9 m", "size: 4 AWG, ").replace("5 mohm", "100 mohm");
        assert_eq!(outcome(&weak, "FUSE-05", "wires.main.fuse"), Outcome::Pass);
    }

    /// 3 m of 14 AWG off an unfused output: some 300 A open a strip of 100 A in 7 s, and the branch stands them for 0.6 s.
    #[test]
    fn the_thin_branch_behind_a_main_fuse_counts() {
        let plan = "plan: 1\nvehicle: {voltage: 12 V, battery: {internal_resistance: 5 mohm, rest_voltage: 12.6 V}}\n\
                    amplifiers: {amp: {}}\nblocks: {split: {outputs: {one: {}}}}\nwires:\n  \
                    main: {from: battery.positive, to: split.in, size: 4 AWG, conductor: copper, insulation: 105 C, \
                    length: 4 m, fuse: {form: bolt-down, rating: 100 A, distance: 20 cm}}\n  \
                    branch: {from: split.one, to: amp.power, size: 14 AWG, conductor: copper, insulation: 105 C, \
                    length: 3 m}\n";
        let failed = check(plan, "FUSE-05", "wires.main.fuse");
        assert_eq!(failed.outcome, Outcome::Fail);
        let also = failed.finding.and_then(|finding| finding.also.first().map(|label| label.place.path()));
        assert_eq!(also.as_deref(), Some("wires.branch.size"));
    }

    #[test]
    fn a_size_that_is_not_stated_leaves_it_open() {
        let check = check(&plan("blade-large", "9 m", ""), "FUSE-05", "wires.main.fuse");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "wires.main.size");
    }

    #[test]
    fn a_smaller_rating_is_offered_and_a_thicker_wire() {
        let offers = offered(&plan("blade-large", "9 m", "size: 14 AWG, "), "FUSE-05", "wires.main.fuse");
        assert_eq!(offers[0].0, "fit a 30 A fuse");
        assert!(offers.iter().any(|(title, _)| title == "lay 12 AWG"), "{offers:?}");
    }

    /// Of two branches the one that burns for sure is told, though the other may be worse.
    #[test]
    fn what_fails_for_sure_comes_before_what_may_be_worse() {
        let text = |size: &str| {
            format!(
                "plan: 1\nvehicle: {{voltage: 12 V, battery: {{internal_resistance: 5 mohm, rest_voltage: 12.6 V}}, body_resistance: \
                 1 mohm}}\namplifiers: {{amp: {{}}}}\nblocks: {{split: {{outputs: {{one: {{}}, two: {{}}}}}}}}\nwires:\n  main: \
                 {{from: battery.positive, to: split.in, size: 4 AWG, conductor: copper, insulation: 105 C, length: 4 m, path: \
                 [cargo], fuse: {{form: bolt-down, rating: 100 A, distance: 20 cm}}}}\n  branch: {{from: split.one, to: amp.power, \
                 size: {size}, conductor: copper, insulation: 105 C, length: 3 m, path: [cargo]}}\n  long: {{from: split.two, to: \
                 other.power, size: 14 AWG, conductor: copper, length: 35 m, path: [cargo]}}\n"
            )
        };
        assert_eq!(outcome(&text("4 AWG"), "FUSE-05", "wires.main.fuse"), Outcome::Open);
        let failed = check(&text("14 AWG"), "FUSE-05", "wires.main.fuse");
        assert_eq!(failed.outcome, Outcome::Fail);
        assert_eq!(failed.finding.expect("it fails").also[0].place.path(), "wires.branch.size");
    }

    /// 30 A for good through 0.75 mm2 on a short: the fuse before the converter feels 18 A of it and stays whole.
    #[test]
    fn behind_a_converter_the_wire_bears_its_rating_or_has_a_fuse() {
        let plan = |behind: &str| {
            format!(
                "plan: 1\nvehicle: {{voltage: 24 V, battery: {{internal_resistance: 10 mohm, rest_voltage: 25 V}}, body_resistance: 1 mohm}}\n\
                 isolators: {{down: {{kind: step-down, rated: 30 A}}}}\namplifiers: {{amp: {{}}}}\nwires:\n  \
                 main: {{from: battery.positive, to: down.in, size: 10 mm2, conductor: copper, insulation: 105 C, length: 3 m, \
                 path: [cargo], fuse: {{form: bolt-down, rating: 30 A, distance: 20 cm}}}}\n  \
                 feed: {{from: down.out, to: amp.power, conductor: copper, insulation: 105 C, length: 1 m, path: [cargo], {behind}}}\n"
            )
        };
        let before = |behind: &str| check(&plan(behind), "FUSE-05", "wires.main.fuse");
        assert_eq!(before("size: 6 mm2").outcome, Outcome::Pass);
        let thin = before("size: 0.75 mm2");
        assert_eq!(thin.outcome, Outcome::Fail);
        let title = thin.finding.expect("it fails").title;
        assert_eq!(
            title,
            "a short on `feed` draws the 30 A of the converter before it, more than it carries, and no fuse sees it"
        );
        // What is not said of the wire leaves open whether it bears 30 A.
        let unsaid = plan("size: 2.5 mm2").replace("insulation: 105 C, length: 1 m", "length: 1 m");
        assert_eq!(check(&unsaid, "FUSE-05", "wires.main.fuse").outcome, Outcome::Open);
        let fused = "size: 0.75 mm2, fuse: {form: blade-regular, rating: 5 A, distance: 2 cm}";
        assert_eq!(outcome(&plan(fused), "FUSE-05", "wires.feed.fuse"), Outcome::Pass);
        assert_eq!(outcome(&plan(&fused.replace("5 A", "30 A")), "FUSE-05", "wires.feed.fuse"), Outcome::Fail);
    }
}
