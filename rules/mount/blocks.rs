//! Gear stays clear of what people need to stay safe.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::Blocked;
use crate::solve::{Job, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "MOUNT-06",
    name: "gear-in-the-way",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("blocks.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Say(
        "mounts.*.blocks",
        &["[child-seat-anchorage]", "[belt]", "[spare]", "[seat-movement]", "[emergency-release]"],
    )],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let mut judged = Vec::new();
    for (name, mount) in &job.plan.mounts {
        if mount.blocks.is_empty() {
            judged.push((Place::of(format!("mounts.{name}")), Ok(Verdict::pass())));
        }
        for (number, blocked) in mount.blocks.iter().enumerate() {
            let place = Place::of(format!("mounts.{name}.blocks.{number}"));
            let (what, because) = said(*blocked);
            let finding = Finding::new(place.clone(), format!("`{name}` stands in the way of {what}"))
                .label("this has to stay free")
                .because(because)
                .mend(format!("mount `{name}` out of the way of {what}, and try it before the trim goes back"));
            judged.push((place, Ok(Verdict::fail(finding))));
        }
    }
    judged
}

fn said(blocked: Blocked) -> (&'static str, &'static str) {
    match blocked {
        Blocked::Belt => ("a seat belt or its reel", "a belt that cannot run or lock does not hold anybody"),
        Blocked::ChildSeatAnchorage => {
            ("a child-seat anchorage", "a child seat that cannot be anchored is not held in a crash")
        }
        Blocked::SeatMovement => {
            ("a seat that moves or folds", "the seat crushes the gear and its cables, or does not lock in its place")
        }
        Blocked::Spare => (
            "the spare wheel or its tools",
            "somebody unloads the whole boot at the side of a road to get at the wheel",
        ),
        Blocked::EmergencyRelease => {
            ("an emergency release", "somebody who is locked in, or a rescuer, has to find it free and at once")
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    #[test]
    fn each_thing_in_the_way_is_found_and_none_passes() {
        let words = ["belt", "child-seat-anchorage", "seat-movement", "spare", "emergency-release"];
        let text = format!("plan: 1\nmounts: {{box: {{blocks: [{}]}}, amp: {{}}}}\n", words.join(", "));
        for number in 0..words.len() {
            assert_eq!(outcome(&text, "MOUNT-06", &format!("mounts.box.blocks.{number}")), Outcome::Fail, "{number}");
        }
        assert_eq!(outcome(&text, "MOUNT-06", "mounts.amp"), Outcome::Pass);
    }
}
