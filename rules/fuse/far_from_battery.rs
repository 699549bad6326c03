//! The stretch between battery and fuse is protected by nothing, so it has to be short.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::{Fuse, Terminal, Wire};
use crate::quantity::{Length, Quantity, Range};
use crate::rules::tape;
use crate::solve::protection::{ExposureEnd, Host};
use crate::solve::{Job, Origin, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-02",
    name: "fuse-far-from-battery",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("far_from_battery.md"),
    check: Subjects::Fuse(check),
    slips: &[super::Slip::Past("wires.*.fuse|far_fuse.distance")],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let limit = job.house.limits.fuse_distance;
    let (source, distance) = match job.fuse_distance(fuse) {
        // Near enough to one battery is enough, however far the others are.
        Err(Undecided::Open(needs)) => near_enough(fuse, limit.value, job).ok_or(Undecided::Open(needs))?,
        told => told?,
    };
    let battery = &job.protection().feeders[source].name;
    let place = place(fuse, source, job);
    let site = &job.protection().fuses[fuse];
    let near = tape::within(limit.value.base(), site.fuse.distance);
    let noun = site.fuse.noun();
    let in_block = matches!(site.host, Host::Block(_));
    let other_end = other_end(fuse, source, job);
    // What a breaker carries was stated for the heat of its place.
    let changes_ends = other_end.filter(|_| !site.fuse.is_breaker()).map(|(wire, key)| {
        let moved = Fuse { distance: Some(near), ..site.fuse.clone() };
        let offer = Offer::new(format!("{noun} {near} from {battery}, at that end of the wire"));
        offer.set(wire.at(key), moved.written()).remove(site.place.clone())
    });
    let nearer = (!in_block && other_end.is_none())
        .then(|| Offer::new(format!("{noun} {near} from {battery}")).set(site.place.sub("distance"), near));
    if in_block && is_told(fuse, source, job) {
        return Err(Undecided::NotApplicable("the wire before its block is judged with another fuse of that block"));
    }
    Ok(at_most(distance, limit.value)
        .formula("length of wire from the battery to its fuse <= limit")
        .given(Input::from("distance along the wire", distance, Origin::Stated(place.clone())))
        .limit_from(limit.source)
        .verdict(|is| {
            Finding::new(place, format!("{noun} {} from {battery}, {} allowed", is.result(), is.limit()))
                .label(format!("{distance} of wire without a fuse"))
                .because("nothing opens when this stretch is chafed or crushed against the body")
                .mend(if in_block {
                    format!("fit a fuse in this wire within {} of the battery; those in the block stay", is.limit())
                } else if let Some((_, key)) = other_end {
                    format!(
                        "move the {noun} to the battery's end of the wire: `{key}`, within {} of the battery",
                        is.limit()
                    )
                } else {
                    format!("move the {noun} to within {} of the battery, along the wire", is.limit())
                })
                .offers(changes_ends)
                .offers(nearer)
        }))
}

/// The wire and the key for a fuse at its other end, where that one is at the battery and has none.
fn other_end<'j, 'a>(fuse: usize, source: usize, job: &'j Job<'a>) -> Option<(&'j Thing<'a, Wire>, &'static str)> {
    let Host::Wire { wire: at, far } = job.protection().fuses[fuse].host else { return None };
    let wire = &job.wires[at];
    let (end, other, key) =
        if far { (&wire.plan().from, &wire.fuse, "fuse") } else { (&wire.plan().to, &wire.far_fuse, "far_fuse") };
    let post = job.protection().feeders[source].place.path();
    let is_post = |end: &Terminal| {
        end.terminal == "positive"
            && (post == format!("vehicle.{}", end.thing) || post == format!("batteries.{}", end.thing))
    };
    (other.is_none() && end.as_ref().is_some_and(is_post)).then_some((wire, key))
}

/// Whether the same wires lead from the battery to an earlier fuse of the same block.
fn is_told(fuse: usize, source: usize, job: &Job<'_>) -> bool {
    let protection = job.protection();
    let (Host::Block(block), runs) = (protection.fuses[fuse].host, &protection.exposures) else { return false };
    let to = |fuse: usize| runs.iter().find(move |run| run.source == source && run.end == ExposureEnd::Fuse(fuse));
    let Some(own) = to(fuse) else { return false };
    (0..fuse).any(|other| {
        protection.fuses[other].host == Host::Block(block) && to(other).is_some_and(|run| run.wires == own.wires)
    })
}

fn near_enough(fuse: usize, limit: Quantity<Length>, job: &Job<'_>) -> Option<(usize, Range<Length>)> {
    let runs = job.protection().exposures.iter().filter(|run| run.end == ExposureEnd::Fuse(fuse));
    let known = runs.filter_map(|run| Some((run.source, run.length.clone().ok()?)));
    known.into_iter().find(|(_, length)| length.high() <= limit.base())
}

/// The words that say how far it is: the fuse's own distance, or the length of the wire before it.
fn place(fuse: usize, source: usize, job: &Job<'_>) -> Place {
    let site = &job.protection().fuses[fuse];
    let runs = job.protection().exposures.iter().filter(|run| run.source == source);
    let mut runs = runs.filter(|run| run.end == ExposureEnd::Fuse(fuse));
    let longest =
        runs.find_map(|run| run.wires.iter().max_by(|one, other| length(**one, job).total_cmp(&length(**other, job))));
    match (longest, site.host) {
        (Some(wire), Host::Wire { wire: own, .. }) if *wire == own => site.place.sub("distance"),
        (Some(wire), _) => job.wires[*wire].at("length"),
        (None, _) => site.place.sub("distance"),
    }
}

fn length(wire: usize, job: &Job<'_>) -> f64 {
    job.wires[wire].length.map_or(0.0, |length| Range::<Length>::from(length).high())
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, outcome};

    fn plan(fuse: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, length: 4 m, \
             fuse: {{rating: 60 A{fuse}}}}}\n"
        )
    }

    #[test]
    fn eighteen_inches_pass_and_a_tenth_more_fails() {
        assert_eq!(outcome(&plan(", distance: 18 in"), "FUSE-02", "wires.main.fuse"), Outcome::Pass);
        assert_eq!(outcome(&plan(", distance: 18.1 in"), "FUSE-02", "wires.main.fuse"), Outcome::Fail);
    }

    /// A fuse at the amplifier is moved to the other end of the wire, with all that is said of it, and called so.
    #[test]
    fn a_fuse_at_the_amplifier_becomes_the_one_at_the_battery() {
        let text =
            plan(", distance: 20 cm, form: bolt-down, breaking_capacity: 6 kA, holder: {takes: 4 AWG, sealed: true}")
                .replace("fuse: {", "far_fuse: {");
        let after = after(&text, "FUSE-02", "wires.main.far_fuse");
        let fuse = " fuse: {form: bolt-down, rating: 60 A, distance: 45 cm, breaking_capacity: 6 kA, holder: {takes: 4 AWG, sealed: true}}";
        assert!(after[0].contains(fuse) && !after[0].contains("far_fuse"), "{}", after[0]);
        assert_eq!(outcome(&after[0], "FUSE-02", "wires.main.fuse"), Outcome::Pass);
        let turned = plan(", distance: 20 cm")
            .replace("from: battery.positive, to: amp.power", "from: amp.power, to: battery.positive");
        let after = crate::rules::trial::after(&turned, "FUSE-02", "wires.main.fuse");
        assert!(after[0].contains("far_fuse: {rating: 60 A, distance: 45 cm}"), "{}", after[0]);
    }

    #[test]
    fn a_distance_that_is_not_stated_leaves_it_open() {
        let check = check(&plan(""), "FUSE-02", "wires.main.fuse");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "wires.main.fuse.distance");
    }

    /// The fuse stands in a block at the end of a wire without one: the whole wire counts.
    #[test]
    fn the_wire_before_a_block_counts_as_distance() {
        let plan = |length: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nblocks: {{split: {{outputs: {{one: {{fuse: {{rating: 60 A}}}}}}}}}}\n\
                 wires:\n  main: {{from: battery.positive, to: split.in, length: {length}}}\n  \
                 branch: {{from: split.one, to: amp.power, length: 1 m}}\n"
            )
        };
        let block = "blocks.split.outputs.one.fuse";
        assert_eq!(outcome(&plan("40 cm"), "FUSE-02", block), Outcome::Pass);
        let failed = check(&plan("3 m"), "FUSE-02", block);
        assert_eq!(failed.outcome, Outcome::Fail);
        assert_eq!(failed.finding.map(|finding| finding.at.place.path()).as_deref(), Some("wires.main.length"));
    }

    #[test]
    fn each_of_two_batteries_has_its_own_fuse_near() {
        let plan = "plan: 1\nbatteries: {second: {}}\nwires:\n  link: {from: battery.positive, to: second.positive, \
                    length: 5 m, fuse: {rating: 100 A, distance: 20 cm}, far_fuse: {rating: 100 A, distance: 2 m}}\n";
        assert_eq!(outcome(plan, "FUSE-02", "wires.link.fuse"), Outcome::Pass);
        assert_eq!(outcome(plan, "FUSE-02", "wires.link.far_fuse"), Outcome::Fail);
    }

    /// Drawn from the amplifier to the battery: the fuse at the battery is then the far one.
    #[test]
    fn the_direction_of_drawing_does_not_matter() {
        let plan = |fuse: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: amp.power, to: battery.positive, length: 4 m, \
                 {fuse}: {{rating: 60 A, distance: 20 cm}}}}\n"
            )
        };
        assert_eq!(outcome(&plan("far_fuse"), "FUSE-02", "wires.main.far_fuse"), Outcome::Pass);
        assert_eq!(outcome(&plan("fuse"), "FUSE-02", "wires.main.fuse"), Outcome::Fail);
    }

    #[test]
    fn near_to_one_battery_is_enough_whatever_the_way_to_the_other() {
        let plan = |distance: &str| {
            format!(
                "plan: 1\nbatteries: {{second: {{}}}}\nwires:\n  link: {{from: battery.positive, to: second.positive, \
                 fuse: {{rating: 100 A, distance: {distance}}}}}\n"
            )
        };
        assert_eq!(outcome(&plan("20 cm"), "FUSE-02", "wires.link.fuse"), Outcome::Pass);
        assert_eq!(outcome(&plan("2 m"), "FUSE-02", "wires.link.fuse"), Outcome::Open);
    }

    /// Two wires before the fuse: the longer one is where the distance is lost.
    #[test]
    fn the_longest_wire_of_the_run_is_pointed_at() {
        let plan = |main: &str, branch: &str, distance: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nblocks: {{split: {{outputs: {{one: {{}}}}}}}}\nwires:\n  \
                 main: {{from: battery.positive, to: split.in, length: {main}}}\n  branch: {{from: split.one, to: amp.power, \
                 length: {branch}, fuse: {{rating: 60 A, distance: {distance}}}}}\n"
            )
        };
        let at = |plan: &str| finding(plan, "FUSE-02", "wires.branch.fuse").at.place.path();
        assert_eq!(at(&plan("3 m", "1 m", "20 cm")), "wires.main.length");
        assert_eq!(at(&plan("10 cm", "4 m", "2 m")), "wires.branch.fuse.distance");
    }

    #[test]
    fn a_wire_before_a_block_of_several_fuses_is_told_once() {
        let text = "plan: 1\namplifiers: {amp: {}, two: {}}\nblocks: {split: {outputs: {a: {fuse: {rating: 60 A}}, b: {fuse: \
                    {rating: 40 A}}}}}\nwires:\n  main: {from: battery.positive, to: split.in, length: 5 m}\n  one: {from: \
                    split.a, to: amp.power}\n  two: {from: split.b, to: two.power}\n";
        let finding = check(text, "FUSE-02", "blocks.split.outputs.a.fuse").finding.expect("it fails");
        assert!(finding.mend.starts_with("fit a fuse in this wire"), "{}", finding.mend);
        assert_eq!(outcome(text, "FUSE-02", "blocks.split.outputs.b.fuse"), Outcome::NotApplicable);
    }

    #[test]
    fn a_fuse_of_its_own_is_offered_nearer_and_one_in_a_block_stays() {
        let text = plan(", distance: 2 m");
        assert_eq!(after(&text, "FUSE-02", "wires.main.fuse"), [text.replace("2 m", "0.45 m")]);
        let block = "plan: 1\namplifiers: {amp: {}}\nblocks: {split: {outputs: {one: {fuse: {rating: 60 A}}}}}\nwires:\n  main: {from: \
                     battery.positive, to: split.in, length: 3 m}\n  branch: {from: split.one, to: amp.power}\n";
        assert!(after(block, "FUSE-02", "blocks.split.outputs.one.fuse").is_empty());
    }

    /// Each block hangs on a long wire of its own.
    #[test]
    fn the_wire_before_another_block_is_told_too() {
        let text = "plan: 1\namplifiers: {amp: {}, two: {}}\nblocks: {a: {outputs: {one: {fuse: {rating: 60 A}}}}, b: {outputs: {one: \
                    {fuse: {rating: 40 A}}}}}\nwires:\n  left: {from: battery.positive, to: a.in, length: 5 m}\n  right: {from: \
                    battery.positive, to: b.in, length: 4 m}\n  one: {from: a.one, to: amp.power}\n  two: {from: b.one, to: two.power}\n";
        for block in ["a", "b"] {
            assert_eq!(outcome(text, "FUSE-02", &format!("blocks.{block}.outputs.one.fuse")), Outcome::Fail, "{block}");
        }
    }

    /// The second battery feeds the block by an output of its own, and is the nearer one to its fuse.
    #[test]
    fn a_wire_from_another_battery_to_the_same_block_is_told_too() {
        let text = "plan: 1\namplifiers: {amp: {}}\nbatteries: {second: {}}\nblocks: {split: {outputs: {a: {fuse: {rating: 60 A}}, b: \
                    {fuse: {rating: 40 A}}}}}\nwires:\n  main: {from: battery.positive, to: split.in, length: 5 m}\n  one: {from: \
                    split.a, to: amp.power, length: 1 m}\n  two: {from: second.positive, to: split.b, length: 4 m}\n";
        let at =
            |output: &str| finding(text, "FUSE-02", &format!("blocks.split.outputs.{output}.fuse")).at.place.path();
        assert_eq!((at("a"), at("b")), ("wires.main.length".to_owned(), "wires.two.length".to_owned()));
    }

    /// Two metres from the one and three from the other: it comes nearer to the one. The far end is the other battery's.
    #[test]
    fn a_fuse_between_two_batteries_stays_at_the_end_of_the_nearer_one() {
        let text = "plan: 1\nbatteries: {second: {}}\nwires:\n  link: {from: battery.positive, to: second.positive, \
                    length: 5 m, fuse: {rating: 100 A, distance: 2 m}}\n";
        let mend = finding(text, "FUSE-02", "wires.link.fuse").mend;
        assert!(mend.starts_with("move the fuse to within 0.457 m of the battery, along the wire"), "{mend}");
        assert_eq!(after(text, "FUSE-02", "wires.link.fuse"), [text.replace("2 m}", "0.45 m}")]);
    }

    /// How far along it the fuse sits is what has to be measured, whatever else of the wire is not known; a fuse at its other end
    /// has nothing to do with it.
    #[test]
    fn the_distance_of_the_fuse_itself_is_asked_for() {
        let needs = |text: &str, subject: &str| {
            check(text, "FUSE-02", subject).needs.iter().map(crate::solve::Place::path).collect::<Vec<_>>()
        };
        let text = plan("").replace("length: 4 m, ", "");
        assert_eq!(needs(&text, "wires.main.fuse"), ["wires.main.fuse.distance"]);
        let both = "plan: 1\nbatteries: {second: {}}\nwires:\n  link: {from: battery.positive, to: second.positive, length: 5 m, \
                    fuse: {rating: 100 A}, far_fuse: {rating: 100 A}}\n";
        assert_eq!(needs(both, "wires.link.far_fuse"), ["wires.link.far_fuse.distance"]);
    }
}
