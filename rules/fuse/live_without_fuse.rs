//! Every battery that can feed a wire needs a fuse near it.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, Verdict, at_most};
use crate::plan::Wire;
use crate::quantity::{Current, Quantity, Range};
use crate::rules::tape;
use crate::rules::wire::reversed;
use crate::solve::protection::{Exposure, ExposureEnd};
use crate::solve::{Job, Place, Thing, Undecided, all};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-03",
    name: "live-without-fuse",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("live_without_fuse.md"),
    check: Subjects::Wire(check),
    slips: &[super::Slip::Drop("wires.*.fuse|far_fuse")],
};

const WHY: &str = "a short on this wire is fed by the whole battery, and nothing opens";

fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let index = job.wires.iter().position(|other| other.address == wire.address).unwrap_or(usize::MAX);
    if job.protection().ways_in(index).next().is_none() {
        return Err(Undecided::NotApplicable("no battery feeds this wire"));
    }
    let (own, later): (Vec<_>, Vec<_>) =
        job.unfused_runs(index).into_iter().partition(|(run, _)| run.wires.first() == Some(&index));
    if let Some((run, _)) = own.iter().find(|(_, length)| length.is_none()) {
        return Ok(Verdict::fail(bare(wire, run, job)));
    }
    let to_others =
        own.iter().filter_map(|(run, length)| length.clone().map(|length| length.map(|length| (*run, length))));
    let longest = all(to_others)?.into_iter().max_by(|one, other| one.1.high().total_cmp(&other.1.high()));
    let Some((run, length)) = longest else {
        let judged_before = Undecided::NotApplicable("judged at the first wire behind the battery");
        return if later.is_empty() { Ok(Verdict::pass()) } else { Err(judged_before) };
    };
    let limit = job.house.limits.fuse_distance;
    let (end, battery) = (end(wire, run, job), &job.protection().feeders[run.source].name);
    Ok(at_most(length, limit.value)
        .formula("length of wire from this battery to the first fuse <= limit")
        .given(Input::stated("run without a fuse", length, wire.at("length")))
        .limit_from(limit.source)
        .verdict(|is| {
            let finding =
                Finding::new(end, format!("{battery} feeds {length} of wire without a fuse, {} allowed", is.limit()));
            let finding = finding.label(format!("no fuse near {battery}")).because(WHY);
            let finding = match run.end {
                ExposureEnd::Fuse(fuse) => {
                    finding.also(job.protection().fuses[fuse].place.clone(), "the first fuse, at the other end")
                }
                _ => finding,
            };
            let free = |key: &&str| if *key == "fuse" { wire.fuse.is_none() } else { wire.far_fuse.is_none() };
            let keys: Vec<&'static str> = Some(key(wire, run, job)).into_iter().filter(free).collect();
            let offers = if keys.is_empty() { Vec::new() } else { fitted(wire, &keys, run, job) };
            finding.mend(format!("fit a fuse within {} of {battery}", is.limit())).offers(offers)
        }))
}

fn bare(wire: &Thing<'_, Wire>, run: &Exposure, job: &Job<'_>) -> Finding {
    let battery = &job.protection().feeders[run.source].name;
    let near = job.house.limits.fuse_distance.value;
    let near = wire.length.map_or(near, |written| written.with_base(near.base()));
    let last = run.wires.last().map_or(wire.name, |last| job.wires[*last].name);
    let mend = match run.end {
        ExposureEnd::Battery => format!("fit a fuse at both ends, each within {near} of its battery"),
        _ => format!("fit a fuse within {near} of {battery}"),
    };
    let finding = Finding::new(end(wire, run, job), format!("{battery} feeds `{last}` with no fuse on the way"));
    let both = if run.end == ExposureEnd::Battery { vec!["fuse", "far_fuse"] } else { vec![key(wire, run, job)] };
    let finding = finding.label("live without a fuse").because(WHY).mend(mend).offers(fitted(wire, &both, run, job));
    match misled(run, job) {
        Some((code, cause)) => finding.follows(code, cause),
        None => finding,
    }
}

/// What says it all where the run is no feed: a wire that joins positive and negative by itself, or a return on a positive
/// post.
fn misled(run: &Exposure, job: &Job<'_>) -> Option<(&'static str, Place)> {
    let short = job.polarity().shorts.iter().find(|short| short.wires == run.wires && run.wires.len() == 1);
    short.map(|short| ("WIRE-14", short.battery.clone())).or_else(|| {
        let last = &job.wires[*run.wires.last()?];
        let mut ends = last.terminals().filter_map(|end| job.graph().terminal(end));
        ends.find_map(|node| reversed::returns_to_positive(node, job)).map(|turned| ("WIRE-15", turned))
    })
}

/// What the plan calls a fuse at the battery's end of the wire.
fn key(wire: &Thing<'_, Wire>, run: &Exposure, job: &Job<'_>) -> &'static str {
    if end(wire, run, job).key() == "to" { "far_fuse" } else { "fuse" }
}

/// A fuse a hand's length from the post, at each of these ends that has none: as large as the wire, the fuse at the other
/// end and the maker of the amplifier at its end allow, or of a rating that is still to be found where nothing says what
/// the wire carries.
fn fitted(wire: &Thing<'_, Wire>, keys: &[&'static str], run: &Exposure, job: &Job<'_>) -> Vec<Offer> {
    // Inches where the wire is told in inches or feet; centimetres where it is in metres.
    let customary = wire.length.filter(|length| length.unit().is_some_and(|unit| !unit.shown));
    let near = tape::within(job.house.limits.fuse_distance.value.base().min(0.2), customary);
    let holder = wire.size.map_or_else(String::new, |size| format!("takes: {size}, "));
    let fuse = |rating: Option<f64>| {
        let amperes = rating.map(Range::<Current>::point);
        let rated = amperes.map_or_else(String::new, |amperes| format!("rating: {amperes}, "));
        let held = amperes.map_or_else(String::new, |amperes| format!("rated: {amperes}, "));
        let value = format!(
            "{{form: bolt-down, {rated}distance: {near}, voltage: 32 V, holder: {{{holder}{held}sealed: true}}}}"
        );
        let title =
            amperes.map_or_else(|| "fit a fuse".to_owned(), |amperes| format!("fit {} fuse", words::a(amperes)));
        keys.iter().fold(Offer::new(title), |offer, key| offer.set(wire.at(*key), &value))
    };
    match job.ampacity(wire) {
        Ok(carries) => {
            let other = match run.end {
                ExposureEnd::Fuse(fuse) => {
                    job.protection().fuses[fuse].fuse.rating.map_or(f64::INFINITY, Quantity::base)
                }
                _ => f64::INFINITY,
            };
            let most = maker_allows(wire, job).min(other).min(carries.ampacity.low()) * (1.0 + 1e-9);
            let fit = super::site::ratings(None, job).into_iter().rev().filter(|rating| *rating <= most);
            fit.take(6).map(|rating| fuse(Some(rating))).collect()
        }
        Err(_) => vec![fuse(None)],
    }
}

/// The largest fuse that the maker of an amplifier at the wire's end allows, in ampere.
fn maker_allows(wire: &Thing<'_, Wire>, job: &Job<'_>) -> f64 {
    let ends = wire.plan().terminals();
    let allowed = ends.filter_map(|end| job.amplifier(&end.thing)?.maximum_fuse);
    allowed.map(Quantity::base).fold(f64::INFINITY, f64::min)
}

/// The end of the wire that the battery is at.
fn end(wire: &Thing<'_, Wire>, run: &Exposure, job: &Job<'_>) -> Place {
    let feeder = &job.protection().feeders[run.source].place;
    let battery = feeder.path().trim_start_matches("batteries.").trim_start_matches("vehicle.").to_owned();
    let there = wire.to.as_ref().is_some_and(|to| to.is(&battery, "positive"));
    wire.at(if there { "to" } else { "from" })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, offered, outcome};

    fn link(length: &str, fuses: &str) -> String {
        format!(
            "plan: 1\nbatteries: {{second: {{}}}}\nwires:\n  link: {{from: battery.positive, to: second.positive, \
             {length}{fuses}}}\n"
        )
    }

    const NEAR: &str = "fuse: {rating: 100 A, distance: 20 cm}";
    const BOTH: &str = "fuse: {rating: 100 A, distance: 20 cm}, far_fuse: {rating: 100 A, distance: 20 cm}";

    #[test]
    fn two_batteries_need_two_fuses() {
        let subject = "wires.link";
        assert_eq!(outcome(&link("length: 5 m, ", BOTH), "FUSE-03", subject), Outcome::Pass);
        let failed = check(&link("length: 5 m, ", NEAR), "FUSE-03", subject);
        assert_eq!(failed.outcome, Outcome::Fail);
        assert_eq!(failed.finding.map(|finding| finding.at.place.path()).as_deref(), Some("wires.link.to"));
        assert_eq!(outcome(&link("length: 5 m", ""), "FUSE-03", subject), Outcome::Fail);
    }

    /// 20 cm before the fuse and 18 in behind it.
    #[test]
    fn one_fuse_does_for_batteries_side_by_side() {
        assert_eq!(outcome(&link("length: 65.7 cm, ", NEAR), "FUSE-03", "wires.link"), Outcome::Pass);
        assert_eq!(outcome(&link("length: 66.7 cm, ", NEAR), "FUSE-03", "wires.link"), Outcome::Fail);
    }

    #[test]
    fn a_length_that_is_not_stated_leaves_it_open_unless_there_is_no_fuse_at_all() {
        let open = check(&link("", NEAR), "FUSE-03", "wires.link");
        assert_eq!(open.outcome, Outcome::Open);
        assert_eq!(open.needs[0].path(), "wires.link.length");
        assert_eq!(outcome(&link("size: 4 AWG", ""), "FUSE-03", "wires.link"), Outcome::Fail);
    }

    /// A block without fuses: the flaw is in front of the main wire, and is told once.
    #[test]
    fn a_run_of_several_wires_is_judged_once_at_its_start() {
        let plan = "plan: 1\namplifiers: {amp: {}}\nblocks: {split: {outputs: {one: {}}}}\nwires:\n  \
                    main: {from: battery.positive, to: split.in}\n  branch: {from: split.one, to: amp.power}\n  \
                    return: {from: amp.ground, to: battery.negative}\n";
        assert_eq!(outcome(plan, "FUSE-03", "wires.main"), Outcome::Fail);
        assert_eq!(outcome(plan, "FUSE-03", "wires.branch"), Outcome::NotApplicable);
        assert_eq!(outcome(plan, "FUSE-03", "wires.return"), Outcome::NotApplicable);
    }

    #[test]
    fn a_branch_behind_the_main_fuse_is_not_live_without_one() {
        let plan = "plan: 1\namplifiers: {amp: {}}\nblocks: {split: {outputs: {one: {}}}}\nwires:\n  \
                    main: {from: battery.positive, to: split.in, fuse: {rating: 60 A, distance: 10 cm}}\n  \
                    branch: {from: split.one, to: amp.power}\n";
        assert_eq!(outcome(plan, "FUSE-03", "wires.main"), Outcome::Pass);
        assert_eq!(outcome(plan, "FUSE-03", "wires.branch"), Outcome::Pass);
    }

    /// A charger limits what it gives, and lets nothing back: the run of either battery ends at it, and no fuse beyond it opens
    /// for that one's short.
    #[test]
    fn a_charger_ends_the_run_of_either_battery() {
        let plan = |near: &str, far: &str| {
            format!(
                "plan: 1\nbatteries: {{aux: {{}}}}\nisolators: {{dcdc: {{kind: charger}}}}\nwires:\n  \
                 charge: {{from: battery.positive, to: dcdc.in, length: 4.5 m{near}}}\n  \
                 link: {{from: dcdc.out, to: aux.positive, length: 30 cm{far}}}\n"
            )
        };
        let (near, far) = (", fuse: {rating: 60 A, distance: 20 cm}", ", far_fuse: {rating: 50 A, distance: 12 cm}");
        let of = |text: &str, wire: &str| outcome(text, "FUSE-03", &format!("wires.{wire}"));
        assert_eq!((of(&plan(near, far), "charge"), of(&plan(near, far), "link")), (Outcome::Pass, Outcome::Pass));
        let found = finding(&plan(near, ""), "FUSE-03", "wires.link");
        assert_eq!(found.title, "battery aux feeds `link` with no fuse on the way");
        let found = finding(&plan("", far), "FUSE-03", "wires.charge");
        assert_eq!(found.title, "the starting battery feeds `charge` with no fuse on the way");
        assert_eq!(of(&plan("", far), "link"), Outcome::Pass);
    }

    const COPPER: &str = "size: 4 AWG, conductor: copper, insulation: 105 C, path: [cargo], ";

    /// 4 AWG of class 105 C carries 160 A; the fuse at the other end is one of 100 A.
    #[test]
    fn the_missing_fuse_is_offered_at_the_battery_that_has_none() {
        let one = finding(&link(&format!("length: 5 m, {COPPER}"), NEAR), "FUSE-03", "wires.link");
        assert_eq!(one.also[0].place.path(), "wires.link.fuse");
        let offers = offered(&link(&format!("length: 5 m, {COPPER}"), NEAR), "FUSE-03", "wires.link");
        assert_eq!(offers[0], ("fit a 100 A fuse".to_owned(), vec!["wires.link.far_fuse".to_owned()]));
    }

    /// Strips are made for 150 A.
    #[test]
    fn between_two_batteries_both_ends_get_one() {
        let text = link(&format!("length: 5 m, {COPPER}"), "");
        let both = vec!["wires.link.fuse".to_owned(), "wires.link.far_fuse".to_owned()];
        assert_eq!(offered(&text, "FUSE-03", "wires.link")[0], ("fit a 150 A fuse".to_owned(), both));
        assert!(finding(&text, "FUSE-03", "wires.link").mend.starts_with("fit a fuse at both ends"));
        // Nothing says what it carries: the rating is left to find out.
        assert_eq!(offered(&link("length: 5 m", ""), "FUSE-03", "wires.link")[0].0, "fit a fuse");
    }

    #[test]
    fn a_feed_gets_one_fuse_no_larger_than_the_amplifiers_maker_allows() {
        let of = |ends: &str, maximum: &str| {
            let plan = format!(
                "plan: 1\namplifiers: {{amp: {{{maximum}}}}}\nwires: {{main: {{{ends}, {COPPER}length: 4 m}}}}\n"
            );
            assert!(finding(&plan, "FUSE-03", "wires.main").mend.starts_with("fit a fuse within"));
            offered(&plan, "FUSE-03", "wires.main")[0].clone()
        };
        let (ahead, back) = ("from: battery.positive, to: amp.power", "from: amp.power, to: battery.positive");
        let fit = |amperes: &str, key: &str| (format!("fit a {amperes} fuse"), vec![format!("wires.main.{key}")]);
        assert_eq!(of(ahead, ""), fit("150 A", "fuse"));
        assert_eq!(of(back, ""), fit("150 A", "far_fuse"));
        assert_eq!(of(ahead, "maximum_fuse: 60 A"), fit("60 A", "fuse"));
        assert_eq!(of(ahead, "maximum_fuse: 59 A"), fit("50 A", "fuse"));
    }

    /// 35 mm2 carries more than the fuse at the other end.
    #[test]
    fn the_second_fuse_of_a_run_is_rated_as_the_first() {
        let wire = "length: 5 m, size: 35 mm2, conductor: copper, insulation: 105 C, path: [engine-bay], ";
        let of = |fuse: &str| offered(&link(wire, fuse), "FUSE-03", "wires.link")[0].0.clone();
        assert_eq!(of(NEAR), "fit a 100 A fuse");
        assert_eq!(of(&NEAR.replace("100 A", "60 A")), "fit a 60 A fuse");
    }

    /// What a charged capacitor drives through a short it gives in milliseconds: 104 J of 1 F at 14.4 V warm 30 cm of 4 AWG,
    /// 8.96 g/cm3 and 385 J/(kg K), by less than 5 K. The fuse at the battery protects the wires on both sides of it.
    #[test]
    fn a_capacitor_wants_a_fuse_before_it_and_none_behind_it() {
        let of = |fuse: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\ncapacitors: {{cap: {{}}}}\nwires:\n  main: {{from: battery.positive, to: \
                 cap.power, length: 4 m{fuse}}}\n  on: {{from: cap.power, to: amp.power, length: 30 cm}}\n"
            );
            (outcome(&text, "FUSE-03", "wires.main"), outcome(&text, "FUSE-03", "wires.on"))
        };
        assert_eq!(of(", fuse: {rating: 60 A, distance: 20 cm}"), (Outcome::Pass, Outcome::Pass));
        assert_eq!(of(""), (Outcome::Fail, Outcome::NotApplicable), "the whole run is told at its first wire");
        let heat = 0.3 * 21.15e-6 * 8960.0 * 385.0;
        assert!(0.5 * 14.4 * 14.4 / heat < 5.0, "{heat} J/K");
    }

    /// The wire that joins the posts is a short and no feed without a fuse; a bare feed beside it is one all the same.
    #[test]
    fn only_the_wire_that_makes_the_short_follows_from_it() {
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  back: {from: amp.ground, to: battery.negative}\n  \
                    feed: {from: battery.positive, to: amp.power}\n  oops: {from: battery.positive, to: battery.negative}\n";
        let of = |wire: &str| finding(text, "FUSE-03", wire).follows.map(|(code, _)| code);
        assert_eq!((of("wires.feed"), of("wires.oops")), (None, Some("WIRE-14")));
    }

    /// An amplifier whose wires are exchanged, and one whose return is on the battery beside it: each feed without a fuse
    /// is told, and only the return that is no feed follows.
    #[test]
    fn a_bare_feed_follows_only_where_it_is_a_return() {
        let text = "plan: 1\namplifiers: {amp: {}, other: {}}\ngrounds: {floor: {}}\nwires:\n  \
                    feed: {from: battery.positive, to: amp.ground}\n  back: {from: amp.power, to: grounds.floor}\n";
        assert_eq!(finding(text, "FUSE-03", "wires.feed").follows, None);
        let text = "plan: 1\namplifiers: {amp: {}, other: {}}\ngrounds: {floor: {}}\nwires:\n  \
                    feed: {from: battery.positive, to: amp.power, fuse: {rating: 30 A, distance: 20 cm}}\n  \
                    back: {from: amp.ground, to: battery.positive}\n  also: {from: battery.positive, to: other.power}\n  \
                    down: {from: other.ground, to: grounds.floor}\n";
        let of = |wire: &str| finding(text, "FUSE-03", wire).follows.map(|(code, _)| code);
        assert_eq!((of("wires.also"), of("wires.back")), (None, Some("WIRE-15")));
    }

    #[test]
    fn where_the_fuse_goes_is_told_in_the_unit_of_the_wire() {
        let of = |length: &str| crate::rules::trial::after(&link(length, ""), "FUSE-03", "wires.link").remove(0);
        assert!(of("length: 12 ft").contains("distance: 7 in"), "{}", of("length: 12 ft"));
        assert!(of("length: 4 m").contains("distance: 20 cm"), "{}", of("length: 4 m"));
    }
}
