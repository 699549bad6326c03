//! Boxes and batteries are the heaviest things that are added, and they stand behind people.

use super::mount_of;
use crate::house::Assumption;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::{Battery, BatteryKind, Mount, MountOn, StrengthClass, word};
use crate::quantity::{Mass, Range};
use crate::solve::{Decided, Job, Known, Place, Thing, Undecided, holding};

/// The rule.
pub const RULE: Rule = Rule {
    code: "MOUNT-02",
    name: "heavy-gear-not-held",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("held.md"),
    check: Subjects::Each(check),
};

const COMMON: &str = "common practice, no published source";
/// Classes that bolts of a workshop have; 10.9 has to be stated.
const CLASSES: [StrengthClass; 3] = [StrengthClass::C48, StrengthClass::C58, StrengthClass::C88];

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let boxes = job.plan.enclosures.iter().map(|(name, enclosure)| {
        let place = Place::of(format!("enclosures.{name}"));
        let mass = match enclosure.mass {
            Some(mass) => Ok(Known { range: mass.into(), origin: crate::solve::Origin::Stated(place_of_mass(&place)) }),
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
    let range = match (battery.mass, battery.capacity) {
        (Some(mass), _) => Range::point(mass.base()),
        (None, Some(capacity)) => Range::new(capacity.base() * per_ampere_hour.0, capacity.base() * per_ampere_hour.1),
        (None, None) => return Err(Undecided::need(place)),
    };
    Ok(job.assume(place, battery.mass, &Assumption { range, source: COMMON }))
}

fn held(job: &Job<'_>, name: &str, mass: Decided<Known<Mass>>) -> Judged {
    let mount = mount_of(job, name)?;
    if mount.on == Some(MountOn::Loose) {
        return Ok(Verdict::fail(finding(mount.at("on"), format!("`{name}` lies loose"), "bolt it down")));
    }
    let (place, newtons) = force(job, &mount)?;
    let mass = mass?;
    let limit = job.house.limits.holding;
    let g = limit.base();
    let holds: Range<Mass> = Range::new(holding::held_mass(newtons.0, g), holding::held_mass(newtons.1, g));
    Ok(at_least(holds, mass.range)
        .formula("fasteners x load of one / (pull x 9.81 m/s2)")
        .given(Input::known("mass", &mass))
        .given(Input::limit("pull", &limit))
        .limit_from(limit.source)
        .verdict(|is| {
            let mend = format!("use more or stronger fasteners, to hold {} at {}", is.limit(), limit.value);
            finding(
                place,
                format!("{} is held by fasteners that hold {} at {}", is.limit(), is.result(), limit.value),
                &mend,
            )
        }))
}

/// What the fasteners of a mount hold together in newtons, with the place that says what they are.
fn force(job: &Job<'_>, mount: &Thing<'_, Mount>) -> Decided<(Place, (f64, f64))> {
    let at = mount.at("fasteners.kind");
    let fasteners = mount.fasteners.as_ref().ok_or_else(|| Undecided::need(at.clone()))?;
    let kind = fasteners.kind.ok_or_else(|| Undecided::need(at.clone()))?;
    let one = holding::assumed_holding(kind);
    if one == Some(0.0) {
        return Ok((at, (0.0, 0.0)));
    }
    let count = f64::from(fasteners.count.ok_or_else(|| Undecided::need(mount.at("fasteners.count")))?);
    if let Some(one) = one {
        return Ok((mount.at("fasteners.count"), (one * count, one * count)));
    }
    let thread = fasteners.thread.ok_or_else(|| Undecided::need(mount.at("fasteners.thread")))?;
    let show = |step: f64| CLASSES.iter().rev().find(|class| step >= index(**class)).map(word).unwrap_or_default();
    let classes = job.assume_words(&mount.at("fasteners.class"), fasteners.class, &CLASSES, show, COMMON);
    let loads = classes.iter().map(|class| holding::proof_load(thread, *class) * count);
    let (low, high) = loads.fold((f64::INFINITY, 0.0_f64), |(low, high), load| (low.min(load), high.max(load)));
    Ok((mount.at("fasteners.thread"), (low, high)))
}

/// The place of a class among [`CLASSES`].
fn index(class: StrengthClass) -> f64 {
    match class {
        StrengthClass::C48 => 0.0,
        StrengthClass::C58 => 1.0,
        StrengthClass::C88 | StrengthClass::C109 => 2.0,
    }
}

fn finding(place: Place, title: String, mend: &str) -> Finding {
    Finding::new(place, title)
        .label("this does not hold it in a crash")
        .because("in a head-on crash everything behind the seats goes on forwards with twenty times its weight")
        .mend(mend)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn enclosure(mass: &str, mount: &str) -> String {
        format!("plan: 1\nenclosures: {{box: {{{mass}}}}}\nmounts: {{box: {{{mount}}}}}\n")
    }

    fn judged(mass: &str, mount: &str) -> Outcome {
        outcome(&enclosure(mass, mount), "MOUNT-02", "enclosures.box")
    }

    /// One M3 of class 4.8: 5.03 mm2 x 310 N/mm2 = 1559 N, which holds 7.95 kg at 20 g.
    #[test]
    fn a_bolt_holds_its_proof_load_and_no_more() {
        let one = "fasteners: {count: 1, kind: bracket-bolt, thread: M3, class: 4.8}";
        let one = one.replace("4.8", "'4.8'");
        assert_eq!(judged("mass: 7.9 kg", &one), Outcome::Pass);
        assert_eq!(judged("mass: 8 kg", &one), Outcome::Fail);
    }

    #[test]
    fn a_class_that_is_not_stated_leaves_it_open_where_it_decides() {
        let one = "fasteners: {count: 1, kind: bracket-bolt, thread: M3}";
        let check = check(&enclosure("mass: 9 kg", one), "MOUNT-02", "enclosures.box");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.turns[0].place.path(), "mounts.box.fasteners.class");
        assert_eq!(judged("mass: 7 kg", one), Outcome::Pass);
        assert_eq!(judged("mass: 20 kg", one), Outcome::Fail);
    }

    #[test]
    fn screws_hold_little_tape_holds_nothing_and_what_is_not_stated_is_open() {
        assert_eq!(judged("mass: 19 kg", "fasteners: {count: 4, kind: wood-screw}"), Outcome::Fail);
        assert_eq!(judged("mass: 19 kg", "fasteners: {count: 8, kind: wood-screw}"), Outcome::Pass);
        assert_eq!(judged("mass: 19 kg", "fasteners: {kind: hook-and-loop}"), Outcome::Fail);
        assert_eq!(judged("mass: 19 kg", "fasteners: {kind: strap}"), Outcome::Open);
        assert_eq!(judged("", "fasteners: {count: 4, kind: strap}"), Outcome::Open);
        assert_eq!(judged("", "on: loose"), Outcome::Fail);
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
}
