//! A ground stays tight by a bolt that is its own.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Ground, GroundFastener, GroundFastenerKind};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-08",
    name: "ground-fastener",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("fastener.md"),
    check: Subjects::Ground(check),
    slips: &[
        super::Slip::Say("grounds.*.fastener.kind", &["sheet-metal-screw"]),
        super::Slip::Say("grounds.*.fastener.locking", &["false"]),
        super::Slip::Say("grounds.*.fastener.shared", &["true"]),
    ],
};

/// One thing that can be wrong with a fastener: its key, whether it is wrong, and what to say.
type Fault = (&'static str, Option<bool>, &'static str, &'static str);

fn check(ground: &Thing<'_, Ground>, _: &Job<'_>) -> Judged {
    super::where_it_stays(ground, judge(ground))
}

fn judge(ground: &Thing<'_, Ground>) -> Judged {
    let faults = faults(ground.fastener.as_ref());
    let mut wrong = faults.iter().filter(|(_, wrong, ..)| *wrong == Some(true));
    if let Some((key, _, title, mend)) = wrong.next() {
        let finding = Finding::new(ground.at(*key), *title)
            .label("wanted: a locked bolt of its own")
            .because("a ground that works loose gets hot, makes noise and takes the amplifier down")
            .mend(*mend)
            .offer(super::own_bolt(ground));
        return Ok(Verdict::fail(
            wrong.fold(finding, |finding, (key, _, title, _)| finding.also(ground.at(*key), *title)),
        ));
    }
    let needs: Vec<_> =
        faults.iter().filter(|(_, wrong, ..)| wrong.is_none()).map(|(key, ..)| ground.at(*key)).collect();
    if needs.is_empty() { Ok(Verdict::pass()) } else { Err(Undecided::Open(needs)) }
}

fn faults(fastener: Option<&GroundFastener>) -> [Fault; 3] {
    let kind = fastener.and_then(|fastener| fastener.kind);
    let locking = fastener.and_then(|fastener| fastener.locking);
    [
        (
            "fastener.kind",
            kind.map(|kind| kind == GroundFastenerKind::SheetMetalScrew),
            "ground held by a sheet-metal screw",
            "use a bolt with a nut, a weld nut or a rivet nut, M6 or larger, with a toothed washer",
        ),
        (
            "fastener.locking",
            locking.map(|locking| !locking),
            "nothing keeps the ground from working loose",
            "add a toothed washer or a locking nut",
        ),
        (
            "fastener.shared",
            fastener.and_then(|fastener| fastener.shared),
            "ground shares its stud with something of the vehicle",
            "give the amplifier a bolt of its own",
        ),
    ]
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(fastener: &str) -> String {
        format!("plan: 1\ngrounds: {{floor: {{fastener: {{{fastener}}}}}}}\n")
    }

    fn of(fastener: &str) -> Outcome {
        outcome(&plan(fastener), "GROUND-08", "grounds.floor")
    }

    #[test]
    fn a_bolt_of_its_own_that_is_locked_passes() {
        for kind in ["bolt", "stud", "rivet-nut"] {
            assert_eq!(of(&format!("kind: {kind}, locking: true, shared: false")), Outcome::Pass, "{kind}");
        }
        assert_eq!(of("kind: sheet-metal-screw, locking: true, shared: false"), Outcome::Fail);
        assert_eq!(of("kind: bolt, locking: false, shared: false"), Outcome::Fail);
        assert_eq!(of("kind: bolt, locking: true, shared: true"), Outcome::Fail);
    }

    #[test]
    fn what_is_wrong_for_sure_fails_and_what_is_not_said_is_open() {
        assert_eq!(of("kind: sheet-metal-screw"), Outcome::Fail);
        assert_eq!(of("kind: bolt, locking: true"), Outcome::Open);
        assert_eq!(of(""), Outcome::Open);
        let finding = check(&plan("locking: false, shared: true"), "GROUND-08", "grounds.floor").finding;
        assert_eq!(finding.map(|finding| finding.also.len()), Some(1));
    }
}
