//! A breaker that closes by itself goes back onto the fault.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::Reset;
use crate::solve::{Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-15",
    name: "breaker-closes-itself",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("closes_itself.md"),
    check: Subjects::Fuse(check),
    slips: &[
        super::Slip::Say("wires.*.fuse|far_fuse.reset", &["automatic"]),
        super::Slip::Say("wires.*.fuse|far_fuse.trip_free", &["false"]),
    ],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    if !site.fuse.is_breaker() {
        return Err(Undecided::NotApplicable("not a circuit breaker"));
    }
    let place = site.place.sub("reset");
    match site.fuse.reset.ok_or_else(|| Undecided::need(place.clone()))? {
        Reset::Modified => Ok(Verdict::pass()),
        Reset::Automatic => Ok(Verdict::fail(
            Finding::new(place.clone(), "breaker that closes by itself")
                .label("closes onto the fault again and again")
                .because("it feeds a short in bursts for hours, until the wire has aged through or its contacts weld")
                .mend("fit a breaker that is reset by hand, or a fuse")
                .offer(
                    Offer::new("fit a breaker that is reset by hand")
                        .set(place, "manual")
                        .set(site.place.sub("trip_free"), true),
                ),
        )),
        Reset::Manual => {
            let place = site.place.sub("trip_free");
            let free = site.fuse.trip_free.ok_or_else(|| Undecided::need(place.clone()))?;
            Ok(Verdict::pass_if(free, || {
                Finding::new(place.clone(), "breaker that can be held closed on a fault")
                    .label("not trip-free")
                    .because("whoever holds its lever to see whether it stays in, holds the short")
                    .mend("fit a breaker that is trip-free, or a fuse")
                    .offer(Offer::new("fit a trip-free breaker").set(place, true))
            }))
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(main: &str, branch: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nblocks: {{hub: {{outputs: {{one: {{}}}}}}}}\nwires:\n  \
             main: {{from: battery.positive, to: hub.in, fuse: {{rating: 100 A, distance: 20 cm{main}}}}}\n  \
             one: {{from: hub.one, to: amp.power, fuse: {{rating: 40 A, distance: 10 cm{branch}}}}}\n"
        )
    }

    const BREAKER: &str = ", form: circuit-breaker";

    #[test]
    fn it_is_reset_by_hand_or_stays_open_while_it_is_live() {
        let of = |facts: &str| check(&plan(&format!("{BREAKER}{facts}"), ""), "FUSE-15", "wires.main.fuse");
        assert_eq!(of(", reset: automatic").outcome, Outcome::Fail);
        assert_eq!(of(", reset: modified").outcome, Outcome::Pass);
        assert_eq!(of(", reset: manual, trip_free: true").outcome, Outcome::Pass);
        assert_eq!(of(", reset: manual, trip_free: false").outcome, Outcome::Fail);
        assert_eq!(of("").needs[0].path(), "wires.main.fuse.reset");
        assert_eq!(of(", reset: manual").needs[0].path(), "wires.main.fuse.trip_free");
        assert_eq!(outcome(&plan("", ""), "FUSE-15", "wires.main.fuse"), Outcome::NotApplicable);
    }

    /// A fuse before it is larger and slower: it stays whole while the breaker goes on.
    #[test]
    fn a_fuse_before_it_changes_nothing() {
        let branch = format!("{BREAKER}, reset: automatic");
        assert_eq!(outcome(&plan(", form: bolt-down", &branch), "FUSE-15", "wires.one.fuse"), Outcome::Fail);
    }
}
