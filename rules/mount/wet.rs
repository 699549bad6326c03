//! Audio gear is made for a dry cabin.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{MountOn, Zone};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "MOUNT-07",
    name: "gear-in-the-wet",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("wet.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("enclosures.*.location", &["engine-bay", "underbody"]),
        super::Slip::Say("amplifiers.*.location", &["engine-bay", "underbody"]),
    ],
};

/// Why an amplifier has to stay dry.
const CASE: &str = "water and road salt in a case without a seal corrode it in months and can bridge the supply";
/// Why a capacitor has to stay dry.
const CAN: &str = "water and road salt on its open terminals corrode them in months and can bridge the supply";
/// Why a box has to stay dry.
const BOX: &str = "water makes the box swell and rusts the driver in it within months";

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let doors = [Zone::LeftDoor, Zone::RightDoor];
    let amplifiers = job.amplifiers.iter().map(|amplifier| {
        let at = amplifier.at("location");
        (amplifier.place(), dry(job, amplifier.name, at, amplifier.location, (&doors, CASE)))
    });
    let capacitors = job.plan.capacitors.iter().map(|(name, is)| {
        let place = Place::of(format!("capacitors.{name}"));
        (place.clone(), dry(job, name, place.sub("location"), is.location, (&doors, CAN)))
    });
    let boxes = job.plan.enclosures.iter().map(|(name, enclosure)| {
        let place = Place::of(format!("enclosures.{name}"));
        (place, dry(job, name, Place::of(format!("enclosures.{name}.location")), enclosure.location, (&[], BOX)))
    });
    amplifiers.chain(capacitors).chain(boxes).collect()
}

fn dry(
    job: &Job<'_>,
    name: &str,
    at: Place,
    location: Option<Zone>,
    (also_wet, because): (&[Zone], &'static str),
) -> Judged {
    let on = job.plan.mounts.get(name).and_then(|mount| mount.on);
    let (place, zone) = match (location, on) {
        (Some(zone), _) => (at, zone),
        (None, Some(MountOn::EngineBay)) => (Place::of(format!("mounts.{name}.on")), Zone::EngineBay),
        (None, None | Some(MountOn::Enclosure | MountOn::Loose)) => return Err(Undecided::need(at)),
        (None, Some(_)) => return Ok(Verdict::pass()),
    };
    let dry = if place.key() == "on" { "board-under-load-floor" } else { "cargo" };
    let dry = Offer::new(format!("move it: {dry}")).set(place.clone(), dry);
    Ok(Verdict::pass_if(!zone.is_wet() && !also_wet.contains(&zone), || {
        Finding::new(place, format!("`{name}` sits where water gets: {}", zone.word()))
            .label("wet place")
            .because(because)
            .mend("move it into the cabin or the cargo space")
            .offer(dry)
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, outcome};

    fn amplifier(facts: &str, mounts: &str) -> Outcome {
        let text = format!("plan: 1\namplifiers: {{amp: {{{facts}}}}}\n{mounts}\n");
        outcome(&text, "MOUNT-07", "amplifiers.amp")
    }

    #[test]
    fn water_gets_under_the_bonnet_under_the_floor_and_into_doors() {
        for wet in ["engine-bay", "underbody", "left-door", "right-door"] {
            assert_eq!(amplifier(&format!("location: {wet}"), ""), Outcome::Fail, "{wet}");
        }
        assert_eq!(amplifier("location: cargo", ""), Outcome::Pass);
        assert_eq!(amplifier("", ""), Outcome::Open);
        let boxed = "plan: 1\nenclosures: {pod: {location: left-door}}\n";
        assert_eq!(outcome(boxed, "MOUNT-07", "enclosures.pod"), Outcome::Pass);
    }

    #[test]
    fn what_it_sits_on_tells_as_well() {
        assert_eq!(amplifier("", "mounts: {amp: {on: engine-bay}}"), Outcome::Fail);
        assert_eq!(amplifier("", "mounts: {amp: {on: rear-seat-back}}"), Outcome::Pass);
        assert_eq!(amplifier("", "mounts: {amp: {on: loose}}"), Outcome::Open);
    }

    #[test]
    fn a_dry_place_is_offered_for_where_it_is_or_for_what_it_sits_on() {
        let located = "plan: 1\namplifiers: {amp: {location: left-door}}\n";
        assert_eq!(after(located, "MOUNT-07", "amplifiers.amp"), [located.replace("left-door", "cargo")]);
        let sits = "plan: 1\namplifiers: {amp: {}}\nmounts: {amp: {on: engine-bay}}\n";
        assert_eq!(after(sits, "MOUNT-07", "amplifiers.amp"), [sits.replace("engine-bay", "board-under-load-floor")]);
    }

    #[test]
    fn a_capacitor_stays_as_dry_as_an_amplifier() {
        let of = |facts: &str| {
            outcome(&format!("plan: 1\ncapacitors: {{cap: {{{facts}}}}}\n"), "MOUNT-07", "capacitors.cap")
        };
        assert_eq!((of("location: cargo"), of("location: engine-bay")), (Outcome::Pass, Outcome::Fail));
        assert_eq!((of("location: left-door"), of("")), (Outcome::Fail, Outcome::Open));
    }
}
