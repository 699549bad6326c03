//! Boxes and batteries are the heaviest things that are added, and they stand behind people.

use super::hold::hold;
use super::site::{bolts, mount_of};
use crate::house::Assumption;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Battery, BatteryKind, EnclosureKind, FastenerKind, MountOn, SystemVoltage};
use crate::quantity::{Mass, Range};
use crate::solve::{Decided, Job, Known, Origin, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "MOUNT-02",
    name: "heavy-gear-not-held",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("held.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("mounts.*.fasteners.count", &["1", "2"]),
        super::Slip::Past("mounts.*.fasteners.kind"),
        super::Slip::Say("mounts.*.fasteners.kind", &["wood-screw"]),
    ],
};

const COMMON: &str = "common practice, no published source";

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let boxes = job.plan.enclosures.iter().map(|(name, enclosure)| {
        let place = Place::of(format!("enclosures.{name}"));
        if enclosure.kind == Some(EnclosureKind::Open) {
            return (place, Err(Undecided::NotApplicable("no box: the driver sits in a part of the vehicle")));
        }
        let mass = match enclosure.mass {
            Some(mass) => Ok(laden(job, Known { range: mass.into(), origin: Origin::Stated(place_of_mass(&place)) })),
            None => Err(Undecided::need(place_of_mass(&place))),
        };
        (place, held(job, name, mass))
    });
    let batteries = job.plan.batteries.iter().map(|(name, battery)| {
        let battery = Thing::new("batteries", name, battery);
        (battery.place(), held(job, name, battery_mass(job, &battery)))
    });
    boxes.chain(batteries).collect()
}

/// The mass of a box with the amplifiers that sit on it, as far as they are stated; on which of several boxes they sit
/// the plan does not say.
fn laden(job: &Job<'_>, own: Known<Mass>) -> Known<Mass> {
    let boxes = job.plan.enclosures.values().filter(|enclosure| enclosure.kind != Some(EnclosureKind::Open)).count();
    let on_box = |name: &str| job.plan.mounts.get(name).and_then(|mount| mount.on) == Some(MountOn::Enclosure);
    let riders = job.amplifiers.iter().filter(|amplifier| boxes == 1 && on_box(amplifier.name));
    let masses: Vec<Range<Mass>> = riders.filter_map(|amplifier| amplifier.mass.map(Range::from)).collect();
    if masses.is_empty() {
        return own;
    }
    let range = std::iter::once(own.range).chain(masses).sum();
    Known::computed(range, "mass of the box and of the amplifier on it")
}

fn place_of_mass(thing: &Place) -> Place {
    Place::of(format!("{thing}.mass"))
}

/// Mass of a battery: stated, or by its capacity and chemistry.
fn battery_mass(job: &Job<'_>, battery: &Thing<'_, Battery>) -> Decided<Known<Mass>> {
    let place = battery.at("mass");
    let per_ampere_hour = match battery.kind {
        Some(BatteryKind::LithiumIronPhosphate) => (0.09, 0.20),
        Some(_) => (0.22, 0.40),
        None => (0.09, 0.40),
    };
    // At twice the voltage there are twice the cells to each ampere-hour.
    let cells = job.plan.system_voltage().map_or(1.0, SystemVoltage::multiple);
    let range = match (battery.mass, battery.capacity) {
        (Some(mass), _) => Range::point(mass.base()),
        (None, Some(capacity)) => {
            let weigh = |each: f64| capacity.base() * each * cells;
            Range::new(weigh(per_ampere_hour.0), weigh(per_ampere_hour.1))
        }
        (None, None) => return Err(Undecided::need(place)),
    };
    Ok(job.assume(place, battery.mass, &Assumption { range, source: COMMON }))
}

fn held(job: &Job<'_>, name: &str, mass: Decided<Known<Mass>>) -> Judged {
    let mount = mount_of(job, name)?;
    if mount.on == Some(MountOn::Loose) {
        return Ok(Verdict::fail(
            finding(mount.at("on"), format!("`{name}` lies loose"), "bolt it down").offers(bolts(&mount)),
        ));
    }
    let hold = hold(job, &mount)?;
    if hold.holds_nothing() {
        let title = match hold.kind {
            FastenerKind::None => format!("nothing holds `{name}`"),
            _ => format!("`{name}` is held by {}, which counts nothing in a crash", hold.said()),
        };
        let finding = finding(hold.place, title, "bolt it down, or strap it to lashing eyes");
        return Ok(Verdict::fail(finding.offers(bolts(&mount))));
    }
    if hold.is_single() {
        let one = finding(
            hold.counted.clone(),
            format!("`{name}` is held by one {}", hold.said()),
            "use at least two, well apart",
        );
        return Ok(Verdict::fail(one.label("it turns about a single one, and slips out of it").offers(bolts(&mount))));
    }
    let mass = mass?;
    Ok(hold.against(job, &mass).verdict(|is| {
        let pull = job.house.limits.holding.value;
        let title = format!("{} is held by fasteners that hold {} at {pull}", is.limit(), is.result());
        let mend = format!("use {}, to hold {} at {pull}", hold.enough(job, &mass), is.limit());
        finding(hold.place.clone(), title, &mend).offers(bolts(&mount))
    }))
}

fn finding(place: Place, title: String, mend: &str) -> Finding {
    Finding::new(place, title)
        .label("this does not hold it in a crash")
        .because("in a head-on crash everything behind the seats goes on forwards with many times its weight")
        .mend(mend)
}

#[cfg(test)]
mod tests {
    use crate::judge::{Outcome, Value};
    use crate::quantity::Quantity;
    use crate::rules::trial::{after, check, outcome};

    fn enclosure(mass: &str, mount: &str) -> String {
        format!("plan: 1\nenclosures: {{box: {{{mass}}}}}\nmounts: {{box: {{{mount}}}}}\n")
    }

    fn judged(mass: &str, mount: &str) -> Outcome {
        outcome(&enclosure(mass, mount), "MOUNT-02", "enclosures.box")
    }

    /// Two M3 of class 4.8: 2 x 5.03 mm2 x 310 N/mm2 = 3119 N along, 0.6 of it across: 1871 N, which hold 9.54 kg at 20 g;
    /// one alone turns. Two M6 hold 2 x 6231 N x 0.6 / 196.13 = 38.1 kg.
    #[test]
    fn a_bolt_holds_what_it_does_across_its_axis_and_no_more() {
        let bolts = |count: u8| format!("fasteners: {{count: {count}, kind: bracket-bolt, thread: M3, class: '4.8'}}");
        assert_eq!(judged("mass: 9.5 kg", &bolts(2)), Outcome::Pass);
        assert_eq!(judged("mass: 9.6 kg", &bolts(2)), Outcome::Fail);
        let six = bolts(2).replace("M3", "M6");
        assert_eq!((judged("mass: 38.1 kg", &six), judged("mass: 38.2 kg", &six)), (Outcome::Pass, Outcome::Fail));
        assert_eq!(judged("mass: 1 kg", &bolts(1)), Outcome::Fail);
    }

    #[test]
    fn a_class_that_is_not_stated_leaves_it_open_where_it_decides() {
        let two = "fasteners: {count: 2, kind: bracket-bolt, thread: M3}";
        let check = check(&enclosure("mass: 11 kg", two), "MOUNT-02", "enclosures.box");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.turns[0].place.path(), "mounts.box.fasteners.class");
        // Two of class 5.8 hold 0.6 x 380 N/mm2 each, which is 11.7 kg.
        assert_eq!(check.turns[0].words, "passes from 5.8");
        assert_eq!(judged("mass: 9 kg", two), Outcome::Pass);
        assert_eq!(judged("mass: 40 kg", two), Outcome::Fail);
    }

    /// What one holds is a number where its class is known and a range where it is not: of class 8.8 (580 N/mm2, ISO 898-1, from
    /// memory) 0.6 x 5.03 mm2 x 580 N/mm2 = 1750 N. Of many screws that only bite eight
    /// count.
    #[test]
    fn the_working_tells_what_one_holds_and_how_many_count() {
        let given = |fasteners: &str| {
            let found =
                check(&enclosure("mass: 40 kg", &format!("fasteners: {{{fasteners}}}")), "MOUNT-02", "enclosures.box");
            let inputs = found.working.expect("it is worked out").inputs;
            let said = inputs.iter().map(|input| match &input.value {
                Value::Figure(figure) => format!("{} {figure}", input.name),
                Value::Word(word) => format!("{} {word}", input.name),
            });
            said.skip(1).collect::<Vec<_>>()
        };
        let bolts = given("count: 2, kind: bracket-bolt, thread: M3, class: '4.8'");
        assert_eq!(bolts, ["fasteners 2", "load of one 936 N", "pull 20 g"]);
        let unknown = given("count: 2, kind: bracket-bolt, thread: M3");
        assert_eq!(unknown, ["fasteners 2", "load of one 936 to 1750 N", "pull 20 g"]);
        let screws = given("count: 12, kind: wood-screw");
        assert_eq!(screws[..2], ["fasteners 12", "of which count 8"]);
        assert_eq!(given("count: 8, kind: wood-screw")[1][..11], *"load of one");
    }

    #[test]
    fn screws_hold_little_tape_holds_nothing_and_what_is_not_stated_is_open() {
        assert_eq!(judged("mass: 19 kg", "fasteners: {count: 4, kind: wood-screw}"), Outcome::Fail);
        assert_eq!(judged("mass: 19 kg", "fasteners: {count: 8, kind: wood-screw}"), Outcome::Pass);
        assert_eq!(judged("mass: 19 kg", "fasteners: {kind: hook-and-loop}"), Outcome::Fail);
        assert_eq!(judged("mass: 19 kg", "fasteners: {kind: strap}"), Outcome::Open);
        assert_eq!(judged("", "fasteners: {count: 4, kind: strap}"), Outcome::Open);
        assert_eq!(judged("", "on: loose"), Outcome::Fail);
        assert_eq!(judged("", "fasteners: {kind: hook-and-loop}"), Outcome::Fail, "whatever it weighs");
        assert_eq!(judged("", "fasteners: {count: 0, kind: strap}"), Outcome::Fail);
    }

    /// Eight wood screws count, 8 x 500 N / 196.13 = 20.4 kg, and no number of them holds more.
    #[test]
    fn more_screws_than_eight_count_nothing() {
        let screws = |count: u8| format!("fasteners: {{count: {count}, kind: wood-screw}}");
        assert_eq!(judged("mass: 20 kg", &screws(8)), Outcome::Pass);
        for count in [8, 9, 24] {
            assert_eq!(judged("mass: 21 kg", &screws(count)), Outcome::Fail, "{count}");
        }
        assert_eq!(judged("mass: 80 kg", "fasteners: {count: 9, kind: strap}"), Outcome::Pass);
    }

    #[test]
    fn an_amplifier_on_the_box_hangs_on_its_fasteners_too() {
        let text = |on: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{mass: 3 kg}}}}\nenclosures: {{box: {{mass: 8 kg}}}}\n\
                 mounts: {{amp: {{on: {on}}}, box: {{fasteners: {{count: 4, kind: wood-screw}}}}}}\n"
            )
        };
        assert_eq!(outcome(&text("cargo-floor"), "MOUNT-02", "enclosures.box"), Outcome::Pass);
        assert_eq!(outcome(&text("enclosure"), "MOUNT-02", "enclosures.box"), Outcome::Fail);
        let two = text("enclosure").replace("box: {mass: 8 kg}", "box: {mass: 8 kg}, other: {}");
        assert_eq!(outcome(&two, "MOUNT-02", "enclosures.box"), Outcome::Pass, "it may sit on the other");
    }

    #[test]
    fn the_mend_says_how_many_and_they_are_enough() {
        let straps = |count: u8| format!("fasteners: {{count: {count}, kind: strap}}");
        let text = enclosure("mass: 40 kg", &straps(2));
        let check = check(&text, "MOUNT-02", "enclosures.box");
        let mend = check.finding.expect("it fails").mend;
        assert_eq!(mend, "use at least 4 of them, or stronger ones, to hold 40 kg at 20 g");
        assert_eq!(judged("mass: 40 kg", &straps(4)), Outcome::Pass);
        assert_eq!(judged("mass: 40 kg", &straps(3)), Outcome::Fail);
    }

    /// Screws that bite into sheet or board shake loose however many they are (common practice, no published source).
    #[test]
    fn nobody_is_told_to_drive_in_more_screws() {
        for kind in ["wood-screw", "sheet-metal-screw"] {
            let text = enclosure("mass: 19 kg", &format!("fasteners: {{count: 4, kind: {kind}}}"));
            let mend = check(&text, "MOUNT-02", "enclosures.box").finding.expect("it fails").mend;
            let bolts = "use bolts right through, 4 x M6 of class 8.8 with wide washers";
            assert!(
                mend.starts_with(bolts) && mend.ends_with("in place of the screws, to hold 19 kg at 20 g"),
                "{mend}"
            );
        }
        // 80 kg at 20 g are 15.7 kN; four M6 of class 8.8 hold 0.6 x 4 x 20.1 mm2 x 580 N/mm2 = 28 kN.
        let heavy = enclosure("mass: 80 kg", "fasteners: {count: 4, kind: wood-screw}");
        let mend = check(&heavy, "MOUNT-02", "enclosures.box").finding.expect("it fails").mend;
        assert!(mend.starts_with("use bolts right through, 4 x M6 of class 8.8"), "{mend}");
        assert_eq!(
            judged("mass: 19 kg", "fasteners: {count: 4, kind: bracket-bolt, thread: M6, class: 8.8}"),
            Outcome::Pass
        );
    }

    #[test]
    fn the_houses_pull_is_what_the_words_and_the_numbers_say() {
        let mut house = crate::house::House::default();
        house.limits.holding.value = Quantity::new(10.0);
        let reading = crate::plan::read(enclosure("mass: 84 kg", "fasteners: {count: 4, kind: strap}"));
        let checks = crate::judge::judge(&reading, &house, &[&super::RULE]).checks;
        let found = checks[0].finding.as_ref().expect("it fails");
        assert_eq!(found.title, "84 kg is held by fasteners that hold 81.6 kg at 10 g");
        assert_eq!(found.mend, "use at least 5 of them, or stronger ones, to hold 84 kg at 10 g");
    }

    #[test]
    fn a_driver_that_works_into_the_vehicle_itself_has_no_box_to_hold() {
        let open = "plan: 1\nenclosures: {shelf: {kind: open}}\n";
        assert_eq!(outcome(open, "MOUNT-02", "enclosures.shelf"), Outcome::NotApplicable);
        let closed = "plan: 1\nenclosures: {shelf: {kind: sealed}}\n";
        assert_eq!(outcome(closed, "MOUNT-02", "enclosures.shelf"), Outcome::Open);
    }

    /// 2 x 90 Ah x 0.22 kg/Ah are 39.6 kg; four straps hold 40.8 kg and at the heavy end 72 kg hang on them.
    #[test]
    fn a_battery_of_a_truck_has_twice_the_cells() {
        let text = "plan: 1\nvehicle: {voltage: 24 V}\nbatteries: {rear: {kind: agm, capacity: 90 Ah}}\n\
                    mounts: {rear: {fasteners: {count: 4, kind: strap}}}\n";
        assert_eq!(outcome(text, "MOUNT-02", "batteries.rear"), Outcome::Open);
        assert_eq!(outcome(&text.replace("24 V", "12 V"), "MOUNT-02", "batteries.rear"), Outcome::Pass);
    }

    #[test]
    fn a_battery_is_weighed_by_its_capacity() {
        let battery = |facts: &str, count: u8| {
            let text = format!(
                "plan: 1\nbatteries: {{rear: {{{facts}}}}}\nmounts: {{rear: {{fasteners: {{count: {count}, kind: strap}}}}}}\n"
            );
            outcome(&text, "MOUNT-02", "batteries.rear")
        };
        assert_eq!(battery("kind: agm, capacity: 90 Ah", 4), Outcome::Pass);
        assert_eq!(battery("kind: agm, capacity: 90 Ah", 3), Outcome::Open);
        assert_eq!(battery("kind: agm, capacity: 90 Ah", 1), Outcome::Fail);
        assert_eq!(battery("mass: 25 kg", 3), Outcome::Pass);
        assert_eq!(battery("kind: agm", 4), Outcome::Open);
    }

    #[test]
    fn what_is_offered_holds_and_what_lies_loose_gets_a_floor() {
        let text = |mount: &str| enclosure("mass: 20 kg", mount);
        let bolts = "fasteners: {count: 4, kind: bracket-bolt, thread: M6, class: 8.8}";
        assert_eq!(after(&text("fasteners: {kind: adhesive}"), "MOUNT-02", "enclosures.box")[0], text(bolts));
        let loose = after(&text("on: loose"), "MOUNT-02", "enclosures.box");
        assert_eq!(loose[0], text(&format!("on: cargo-floor, {bolts}")));
        for held in loose {
            assert_eq!(outcome(&held, "MOUNT-02", "enclosures.box"), Outcome::Pass, "{held}");
        }
    }

    #[test]
    fn the_title_says_what_holds_it() {
        let of = |fasteners: &str| {
            let text = enclosure("mass: 19 kg", &format!("fasteners: {{{fasteners}}}"));
            crate::rules::trial::finding(&text, "MOUNT-02", "enclosures.box").title
        };
        assert_eq!(of("count: 4, kind: none"), "nothing holds `box`");
        let tape = "`box` is held by hook-and-loop tape, which counts nothing in a crash";
        assert_eq!(of("count: 4, kind: hook-and-loop"), tape);
        assert_eq!(of("count: 0, kind: strap"), "`box` is held by 0 fasteners, which counts nothing in a crash");
        assert_eq!(of("count: 1, kind: strap"), "`box` is held by one strap");
    }
}
