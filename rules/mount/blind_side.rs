//! Nobody screws gear down before having seen what is under it.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{BlindSide, FastenerKind, Mount, MountOn};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "MOUNT-05",
    name: "blind-fastener",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("blind_side.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Say("mounts.*.blind_side", &["unchecked"]), super::Slip::Drop("mounts.*.blind_side")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let mounts = job.plan.mounts.iter().map(|(name, mount)| Thing::new("mounts", name, mount));
    mounts.map(|mount| (mount.place(), judge(&mount))).collect()
}

fn judge(mount: &Thing<'_, Mount>) -> Judged {
    match goes_through(mount) {
        Some(false) => return Err(Undecided::NotApplicable("nothing of the vehicle is drilled for it")),
        None if mount.blind_side.is_none() => return Err(Undecided::need(mount.at("fasteners.kind"))),
        _ => {}
    }
    let blind_side = mount.need("blind_side", &mount.blind_side)?;
    Ok(Verdict::pass_if(blind_side == BlindSide::Checked, || {
        Finding::new(mount.at("blind_side"), format!("nobody looked behind the fasteners of `{}`", mount.name))
            .label("look first")
            .because("a drill or a screw that comes through meets the tank, a fuel or brake line or a harness")
            .mend("look at the other side, from below or with a mirror, and use a drill stop and the shortest screw that holds")
    }))
}

/// Whether its fasteners go into something of the vehicle whose other side is out of sight.
fn goes_through(mount: &Mount) -> Option<bool> {
    if matches!(mount.on, Some(MountOn::Enclosure | MountOn::Loose)) {
        return Some(false);
    }
    let kind = mount.fasteners.as_ref()?.kind?;
    Some(!matches!(kind, FastenerKind::Strap | FastenerKind::HookAndLoop | FastenerKind::Adhesive | FastenerKind::None))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(facts: &str) -> String {
        format!("plan: 1\nmounts: {{box: {{{facts}}}}}\n")
    }

    fn mount(facts: &str) -> Outcome {
        outcome(&plan(facts), "MOUNT-05", "mounts.box")
    }

    #[test]
    fn screws_and_bolts_ask_for_a_look() {
        for kind in ["machine-screw", "bracket-bolt", "wood-screw", "sheet-metal-screw"] {
            let with = |side: &str| mount(&format!("fasteners: {{kind: {kind}}}{side}"));
            assert_eq!(with(", blind_side: checked"), Outcome::Pass, "{kind}");
            assert_eq!(with(", blind_side: unchecked"), Outcome::Fail, "{kind}");
            assert_eq!(with(""), Outcome::Open, "{kind}");
        }
    }

    #[test]
    fn straps_tape_and_gear_on_its_box_need_no_hole() {
        assert_eq!(mount("fasteners: {kind: strap}"), Outcome::NotApplicable);
        assert_eq!(mount("fasteners: {kind: hook-and-loop}, blind_side: unchecked"), Outcome::NotApplicable);
        assert_eq!(mount("on: enclosure, fasteners: {kind: wood-screw}"), Outcome::NotApplicable);
    }

    #[test]
    fn what_holds_it_is_asked_for_first() {
        let open = check(&plan("on: cargo-floor"), "MOUNT-05", "mounts.box");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "mounts.box.fasteners.kind"));
        assert_eq!(mount("on: cargo-floor, blind_side: unchecked"), Outcome::Fail, "what is known already decides");
    }
}
