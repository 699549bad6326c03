//! An amplifier that nothing holds.

use super::hold::hold;
use super::{bolts, mount_of};
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, Verdict, at_most};
use crate::plan::{Amplifier, FastenerKind, Mount, MountOn};
use crate::solve::{Job, Known, Origin, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "MOUNT-01",
    name: "unfastened-amplifier",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("unfastened.md"),
    check: Subjects::Amplifier(check),
    slips: &[
        super::Slip::Say("mounts.*.fasteners", &["{kind: none}"]),
        super::Slip::Say("mounts.*.fasteners.kind", &["none", "hook-and-loop", "adhesive"]),
    ],
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let mount = mount_of(job, amplifier.name)?;
    if mount.on == Some(MountOn::Loose) {
        return Ok(Verdict::fail(finding(mount.at("on"), "the amplifier lies loose").offers(bolts(&mount))));
    }
    if let Some(place) = count_of_none(&mount) {
        return Ok(Verdict::fail(finding(place, "the amplifier is held by 0 fasteners").offers(bolts(&mount))));
    }
    let kind = mount.fasteners.as_ref().and_then(|fasteners| fasteners.kind);
    let (place, kind) = (mount.at("fasteners.kind"), kind.ok_or_else(|| Undecided::need(mount.at("fasteners.kind")))?);
    let tape = match kind {
        FastenerKind::None => {
            return Ok(Verdict::fail(finding(place, "nothing holds the amplifier").offers(bolts(&mount))));
        }
        FastenerKind::HookAndLoop => "hook-and-loop tape",
        FastenerKind::Adhesive => "glue",
        _ => return Ok(strong(amplifier, &mount, job)),
    };
    let mass = amplifier.need("mass", &amplifier.mass)?;
    let limit = job.house.limits.taped_mass;
    Ok(at_most(mass, limit.value)
        .formula("mass of an amplifier that tape or glue holds")
        .given(Input::stated("mass", mass, amplifier.at("mass")))
        .limit_from(limit.source)
        .verdict(|is| finding(place, &format!("{mass} held by {tape}, {} allowed", is.limit())).offers(bolts(&mount))))
}

/// Whether screws, bolts or straps are enough of them, as far as that can be told; those that are not counted pass.
fn strong(amplifier: &Thing<'_, Amplifier>, mount: &Thing<'_, Mount>, job: &Job<'_>) -> Verdict {
    let (Some(mass), Ok(hold)) = (amplifier.mass, hold(job, mount)) else { return Verdict::pass() };
    let mass = Known { range: mass.into(), origin: Origin::Stated(amplifier.at("mass")) };
    hold.against(job, &mass).verdict(|is| {
        let pull = job.house.limits.holding.value;
        let title = format!("{} is held by fasteners that hold {} at {pull}", is.limit(), is.result());
        finding(hold.place.clone(), &title).mend(format!("use {}", hold.enough(job, &mass))).offers(bolts(mount))
    })
}

fn count_of_none(mount: &Thing<'_, Mount>) -> Option<Place> {
    let fasteners = mount.fasteners.as_ref()?;
    (fasteners.count == Some(0)).then(|| mount.at("fasteners.count"))
}

fn finding(place: Place, title: &str) -> Finding {
    Finding::new(place, title)
        .label("this does not hold it in a crash")
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
        assert_eq!(amplifier("", &screws(1)), Outcome::Pass, "not known");
        assert_eq!(amplifier("mass: 8.2 kg", "fasteners: {kind: machine-screw}"), Outcome::Pass, "not counted");
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
}
