//! An amplifier on a box that shakes.

use super::site::mount_of;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Amplifier, MountOn};
use crate::solve::{Job, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "MOUNT-04",
    name: "amplifier-on-enclosure",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("on_enclosure.md"),
    check: Subjects::Amplifier(check),
    slips: &[super::Slip::Say("mounts.*.on", &["enclosure"])],
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let mount = mount_of(job, amplifier.name)?;
    let on = mount.need("on", &mount.on)?;
    Ok(Verdict::pass_if(on != MountOn::Enclosure, || {
        Finding::new(mount.at("on"), "the amplifier sits on the enclosure")
            .label("the box shakes it")
            .because("vibration of the box breaks solder joints and works screws and terminals loose")
            .mend("move it to a board on the body; where it has to stay, rubber mounts, a look at its screws every year, and a waiver")
            .offers(["board-behind-side-trim", "board-under-load-floor"].map(|board| {
                Offer::new("move it to a board on the body").set(mount.at("on"), board)
            }))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    #[test]
    fn only_the_enclosure_shakes() {
        let amplifier = |mount: &str| {
            let text = format!("plan: 1\namplifiers: {{amp: {{}}}}\nmounts: {{amp: {{{mount}}}}}\n");
            outcome(&text, "MOUNT-04", "amplifiers.amp")
        };
        assert_eq!(amplifier("on: enclosure"), Outcome::Fail);
        assert_eq!(amplifier("on: board-behind-side-trim"), Outcome::Pass);
        assert_eq!(amplifier("clearance: 50 mm"), Outcome::Open);
    }
}
