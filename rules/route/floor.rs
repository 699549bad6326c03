//! A hole in the floor lets exhaust gas and water into the cabin.

use super::ways::{self, Way};
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Through, Zone};
use crate::solve::Undecided;

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-13",
    name: "floor-pass-unsealed",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("floor.md"),
    check: Subjects::Each(|job| ways::each(job, check)),
    slips: &[super::Slip::Say("wires.*.crossings.floor-pan.sealed", &["false"])],
};

fn check(way: &Way<'_>) -> Judged {
    way.known()?;
    let Some(at) = way.path.iter().position(|zone| *zone == Zone::FloorPan) else {
        return Err(Undecided::NotApplicable("it does not pass the floor"));
    };
    let crossing = way.crossings.get(&Zone::FloorPan);
    let sealed = crossing.and_then(|crossing| crossing.sealed);
    let place = way.crossing(Zone::FloorPan, "sealed");
    let sealed = sealed.ok_or_else(|| Undecided::need(place.clone()))?;
    Ok(Verdict::pass_if(sealed, || {
        let finding = Finding::new(place, format!("`{}` passes the floor unsealed", way.name))
            .label("not sealed")
            .because(
                "the exhaust runs under the floor: an open hole draws its gas into the cabin, and road water after it",
            )
            .mend("seal the pass around the lead with a fitting grommet or gland")
            .offer(way.seal(Zone::FloorPan));
        let through = crossing.and_then(|crossing| crossing.through);
        let bare = matches!(through, Some(Through::BareHole | Through::Loom));
        // A bare hole, in loom or not, is mended by a grommet, which is sealed with it.
        if bare { finding.follows("ROUTE-02", way.zone(at)) } else { finding }
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(path: &str, crossing: &str) -> String {
        format!("plan: 1\nsignals: {{left: {{lead: {{path: [{path}], crossings: {{floor-pan: {{{crossing}}}}}}}}}}}\n")
    }

    fn of(crossing: &str) -> Outcome {
        outcome(&plan("cargo, floor-pan, underbody", crossing), "ROUTE-13", "signals.left")
    }

    #[test]
    fn a_pass_through_the_floor_is_sealed() {
        assert_eq!(of("through: gland, sealed: true"), Outcome::Pass);
        assert_eq!(of("through: gland, sealed: false"), Outcome::Fail);
        let inside = plan("dash, left-sill, cargo", "");
        assert_eq!(outcome(&inside, "ROUTE-13", "signals.left"), Outcome::NotApplicable);
        assert_eq!(outcome("plan: 1\nwires: {main: {}}\n", "ROUTE-13", "wires.main"), Outcome::Open);
    }

    #[test]
    fn what_is_not_stated_is_asked_for() {
        let open = check(&plan("cargo, floor-pan, underbody", "through: gland"), "ROUTE-13", "signals.left");
        let place = "signals.left.lead.crossings.floor-pan.sealed";
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, place));
    }

    #[test]
    fn a_bare_hole_is_told_once() {
        for through in ["bare-hole", "loom"] {
            let text = plan("cargo, floor-pan, underbody", &format!("through: {through}, sealed: false"));
            let finding = check(&text, "ROUTE-13", "signals.left").finding.expect("it fails");
            let (code, subject) = finding.follows.expect("it follows");
            assert_eq!(outcome(&text, code, &subject.path()), Outcome::Fail, "{through}");
        }
    }
}
