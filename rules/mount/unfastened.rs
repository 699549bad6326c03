//! Gear that nothing holds.

use super::hold::hold;
use super::site::{bolts, mount_of};
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, Verdict, at_most};
use crate::plan::{FastenerKind, IsolatorKind, Mount, MountOn, word};
use crate::quantity::{Mass, Quantity};
use crate::solve::{Job, Known, Origin, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "MOUNT-01",
    name: "unfastened-gear",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("unfastened.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("mounts.*.fasteners", &["{kind: none}"]),
        super::Slip::Say("mounts.*.fasteners.kind", &["none", "hook-and-loop", "adhesive"]),
        super::Slip::Say("mounts.*.fasteners.count", &["1"]),
    ],
};

/// What has to be held.
struct Held<'j> {
    name: &'j str,
    place: Place,
    noun: &'static str,
    mass: Option<Quantity<Mass>>,
    kind: Sort,
}

/// What is asked of how it is held.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Sort {
    /// All: an amplifier, a capacitor.
    Weighed,
    /// That something holds it, and not a single fastener: what a plan states no mass of.
    Unweighed,
    /// That something holds it: what is as light as a converter to line level.
    Light,
}

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let amplifiers = job.amplifiers.iter().map(|amplifier| Held {
        name: amplifier.name,
        place: amplifier.place(),
        noun: "amplifier",
        mass: amplifier.mass,
        kind: Sort::Weighed,
    });
    let capacitors = job.plan.capacitors.iter().map(|(name, is)| Held {
        name,
        place: Place::of(format!("capacitors.{name}")),
        noun: "capacitor",
        mass: is.mass,
        kind: Sort::Weighed,
    });
    amplifiers.chain(capacitors).chain(mounted(job)).map(|gear| (gear.place.clone(), judge(&gear, job))).collect()
}

/// What else the plan says how it is held of; enclosures and batteries are weighed by MOUNT-02, and a driver sits in its box.
fn mounted<'j>(job: &'j Job<'_>) -> impl Iterator<Item = Held<'j>> {
    let plan = job.plan;
    plan.mounts.keys().filter_map(|name| {
        let (section, noun, kind) = if let Some(source) = plan.sources.get(name) {
            ("sources", if source.is_processor() { "processor" } else { "source" }, Sort::Unweighed)
        } else if plan.converters.contains_key(name) {
            ("converters", "converter", Sort::Light)
        } else if plan.blocks.contains_key(name) {
            ("blocks", "block", Sort::Unweighed)
        } else {
            let noun = match plan.isolators.get(name)?.kind {
                Some(IsolatorKind::Charger) => "charger",
                Some(IsolatorKind::StepDown) => "step-down converter",
                Some(IsolatorKind::Relay) => "relay",
                Some(IsolatorKind::Switch) => "switch",
                None => "isolator",
            };
            ("isolators", noun, Sort::Unweighed)
        };
        Some(Held { name, place: Place::of(format!("{section}.{name}")), noun, mass: None, kind })
    })
}

fn judge(gear: &Held<'_>, job: &Job<'_>) -> Judged {
    let mount = mount_of(job, gear.name)?;
    let noun = gear.noun;
    let finding = |place: Place, title: &str| finding(gear, place, title);
    if mount.on == Some(MountOn::Loose) {
        let title = format!("the {noun} lies loose");
        return Ok(Verdict::fail(finding(mount.at("on"), &title).offers(bolts(&mount))));
    }
    if let Some(place) = count_of_none(&mount) {
        let title = format!("the {noun} is held by 0 fasteners");
        return Ok(Verdict::fail(finding(place, &title).offers(bolts(&mount))));
    }
    let kind = mount.fasteners.as_ref().and_then(|fasteners| fasteners.kind);
    let (place, kind) = (mount.at("fasteners.kind"), kind.ok_or_else(|| Undecided::need(mount.at("fasteners.kind")))?);
    let tape = match kind {
        FastenerKind::None => {
            return Ok(Verdict::fail(finding(place, &format!("nothing holds the {noun}")).offers(bolts(&mount))));
        }
        FastenerKind::HookAndLoop => "hook-and-loop tape",
        FastenerKind::Adhesive => "glue",
        kind if count(&mount) == Some(1) && gear.kind != Sort::Light => {
            let title = format!("the {noun} is held by one {}", word(&kind).replace('-', " "));
            let one =
                finding(mount.at("fasteners.count"), &title).label("it turns about a single one, and slips out of it");
            return Ok(Verdict::fail(one.mend("use at least two, well apart").offers(bolts(&mount))));
        }
        _ => return Ok(strong(gear, &mount, job)),
    };
    // Of other gear a plan states no mass; what is held by tape is light.
    if gear.kind != Sort::Weighed {
        return Ok(Verdict::pass());
    }
    let at = gear.place.sub("mass");
    let mass = gear.mass.ok_or_else(|| Undecided::need(at.clone()))?;
    let limit = job.house.limits.taped_mass;
    Ok(at_most(mass, limit.value)
        .formula("mass of gear that tape or glue holds")
        .given(Input::stated("mass", mass, at))
        .limit_from(limit.source)
        .verdict(|is| finding(place, &format!("{mass} held by {tape}, {} allowed", is.limit())).offers(bolts(&mount))))
}

/// Whether screws, bolts or straps are enough of them, as far as that can be told; those that are not counted pass.
fn strong(gear: &Held<'_>, mount: &Thing<'_, Mount>, job: &Job<'_>) -> Verdict {
    let (Some(mass), Ok(hold)) = (gear.mass, hold(job, mount)) else { return Verdict::pass() };
    let mass = Known { range: mass.into(), origin: Origin::Stated(gear.place.sub("mass")) };
    hold.against(job, &mass).verdict(|is| {
        let pull = job.house.limits.holding.value;
        let title = format!("{} is held by fasteners that hold {} at {pull}", is.limit(), is.result());
        finding(gear, hold.place.clone(), &title).mend(format!("use {}", hold.enough(job, &mass))).offers(bolts(mount))
    })
}

fn count(mount: &Thing<'_, Mount>) -> Option<u8> {
    mount.fasteners.as_ref().and_then(|fasteners| fasteners.count)
}

fn count_of_none(mount: &Thing<'_, Mount>) -> Option<Place> {
    (count(mount) == Some(0)).then(|| mount.at("fasteners.count"))
}

fn finding(gear: &Held<'_>, place: Place, title: &str) -> Finding {
    let finding = Finding::new(place, title).label("this does not hold it in a crash");
    if gear.noun == "capacitor" {
        return finding
            .because("in a crash a loose capacitor is a missile, and before that its live terminals meet the body")
            .mend("screw its bracket to a board, with a clamp round the can where it has one");
    }
    if gear.noun != "amplifier" {
        return finding
            .because("in a crash what lies loose is a missile, and before that it tears at its own live cables")
            .mend("screw it to a board or a bracket, with a fastener in each corner");
    }
    finding
        .because("in a crash a loose amplifier is a missile, and before that it tears at its own live cable")
        .mend("screw it to a board or a bracket, with a fastener in each corner")
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn amplifier(facts: &str, mount: &str) -> Outcome {
        let text = format!("plan: 1\namplifiers: {{amp: {{{facts}}}}}\nmounts: {{amp: {{{mount}}}}}\n");
        outcome(&text, "MOUNT-01", "amplifiers.amp")
    }

    #[test]
    fn screws_and_straps_hold_and_nothing_does_not() {
        for kind in ["machine-screw", "wood-screw", "bracket-bolt", "sheet-metal-screw", "strap"] {
            assert_eq!(amplifier("", &format!("fasteners: {{kind: {kind}}}")), Outcome::Pass, "{kind}");
        }
        assert_eq!(amplifier("", "fasteners: {kind: none}"), Outcome::Fail);
        assert_eq!(amplifier("", "fasteners: {count: 0, kind: wood-screw}"), Outcome::Fail);
        assert_eq!(amplifier("", "on: loose"), Outcome::Fail);
        assert_eq!(amplifier("", "on: under-seat"), Outcome::Open);
    }

    #[test]
    fn tape_may_hold_one_kilogram_and_not_more() {
        let taped = "fasteners: {kind: hook-and-loop}";
        assert_eq!(amplifier("mass: 1 kg", taped), Outcome::Pass);
        assert_eq!(amplifier("mass: 1.01 kg", taped), Outcome::Fail);
        assert_eq!(amplifier("", taped), Outcome::Open);
    }

    /// Four sheet-metal screws of 400 N hold 1600 / 196.1 = 8.16 kg.
    #[test]
    fn the_strength_of_counted_fasteners_is_judged_where_the_mass_is_known() {
        let screws = |count: u8| format!("fasteners: {{count: {count}, kind: sheet-metal-screw}}");
        assert_eq!(amplifier("mass: 8.1 kg", &screws(4)), Outcome::Pass);
        assert_eq!(amplifier("mass: 8.2 kg", &screws(4)), Outcome::Fail);
        assert_eq!(amplifier("mass: 8.2 kg", &screws(5)), Outcome::Pass);
        assert_eq!(amplifier("", &screws(2)), Outcome::Pass, "not known");
        assert_eq!(amplifier("", &screws(1)), Outcome::Fail, "it turns about one");
        assert_eq!(amplifier("mass: 8.2 kg", "fasteners: {kind: machine-screw}"), Outcome::Pass, "not counted");
    }

    /// Gear of one feed tears at one cable; a can is held by its bracket.
    #[test]
    fn why_and_how_it_is_held_depends_on_what_it_is() {
        let of = |section: &str, is: &str| {
            let text = format!("plan: 1\n{section}: {{it: {{{is}}}}}\nmounts: {{it: {{on: loose}}}}\n");
            let found = crate::rules::trial::finding(&text, "MOUNT-01", &format!("{section}.it"));
            (found.why, found.mend)
        };
        let (why, mend) = of("amplifiers", "");
        assert!(why.contains("a loose amplifier") && mend.contains("in each corner"), "{why} {mend}");
        let (why, mend) = of("isolators", "kind: relay");
        assert!(why.contains("its own live cables") && mend.contains("in each corner"), "{why} {mend}");
        let (why, mend) = of("capacitors", "");
        assert!(why.contains("a loose capacitor") && mend.contains("clamp round the can"), "{why} {mend}");
    }

    /// What carries the whole supply lies behind people as an amplifier does.
    #[test]
    fn everything_that_has_a_mount_is_held() {
        let of = |section: &str, is: &str, mount: &str| {
            let text = format!("plan: 1\n{section}: {{it: {{{is}}}}}\nmounts: {{it: {{{mount}}}}}\n");
            crate::rules::trial::check(&text, "MOUNT-01", &format!("{section}.it"))
        };
        for (section, is, noun) in [
            ("blocks", "", "block"),
            ("isolators", "kind: relay", "relay"),
            ("isolators", "kind: step-down", "step-down converter"),
            ("sources", "kind: processor", "processor"),
            ("converters", "", "converter"),
        ] {
            let loose = of(section, is, "on: loose, fasteners: {count: 0, kind: none}").finding.expect("it fails");
            assert_eq!(loose.title, format!("the {noun} lies loose"));
            let with =
                |fasteners: &str| of(section, is, &format!("on: cargo-floor, fasteners: {{{fasteners}}}")).outcome;
            assert_eq!(
                (with("kind: none"), with("count: 2, kind: wood-screw")),
                (Outcome::Fail, Outcome::Pass),
                "{noun}"
            );
            let one = if section == "converters" { Outcome::Pass } else { Outcome::Fail };
            assert_eq!(with("count: 1, kind: machine-screw, thread: M6"), one, "{noun}");
            assert_eq!(with("kind: hook-and-loop"), Outcome::Pass, "{noun}: its mass is no fact of a plan");
        }
        let unsaid = crate::rules::trial::judged("plan: 1\nblocks: {it: {}}\n");
        assert!(
            unsaid.checks.iter().all(|check| check.rule.code != "MOUNT-01"),
            "nothing is asked where no mount is stated"
        );
    }

    #[test]
    fn no_mount_at_all_is_open() {
        assert_eq!(outcome("plan: 1\namplifiers: {amp: {}}\n", "MOUNT-01", "amplifiers.amp"), Outcome::Open);
    }

    #[test]
    fn glue_counts_as_little_as_tape() {
        let glued = "fasteners: {kind: adhesive}";
        assert_eq!(amplifier("mass: 1 kg", glued), Outcome::Pass);
        assert_eq!(amplifier("mass: 1.01 kg", glued), Outcome::Fail);
    }

    /// A can of half a kilogram behind tape is no heavier than the smallest amplifier; one of 1.5 kg is.
    #[test]
    fn a_capacitor_is_held_as_well() {
        let of = |facts: &str, mount: &str| {
            let text = format!("plan: 1\ncapacitors: {{cap: {{{facts}}}}}\nmounts: {{cap: {{{mount}}}}}\n");
            crate::rules::trial::check(&text, "MOUNT-01", "capacitors.cap")
        };
        assert_eq!(of("", "fasteners: {count: 2, kind: machine-screw}").outcome, Outcome::Pass);
        assert_eq!(of("mass: 0.5 kg", "fasteners: {kind: adhesive}").outcome, Outcome::Pass);
        assert_eq!(of("mass: 1.5 kg", "fasteners: {kind: adhesive}").outcome, Outcome::Fail);
        assert_eq!(of("", "fasteners: {kind: adhesive}").needs[0].path(), "capacitors.cap.mass");
        let loose = of("", "on: loose").finding.expect("it fails");
        assert!(loose.title == "the capacitor lies loose" && loose.why.contains("live terminals"), "{loose:?}");
        let unsaid = "plan: 1\ncapacitors: {cap: {}}\n";
        assert_eq!(outcome(unsaid, "MOUNT-01", "capacitors.cap"), Outcome::Open);
    }
}
