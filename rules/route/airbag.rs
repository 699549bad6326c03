//! Nothing may lie where an airbag unfolds or along its harness.

use super::ways::{self, Forbidden, Way, stay_away};
use crate::judge::{Judged, Outcome, Rule, Severity, Subjects, Verdict};
use crate::plan::{Airbags, Zone, ZoneKind};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-07",
    name: "airbag",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("airbag.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Insert("wires.*.path", &["airbag-path", "airbag-harness"]),
        super::Slip::Insert("turn_on.*.path", &["airbag-path", "airbag-harness"]),
        super::Slip::Insert("signals.*.lead.path", &["airbag-path", "airbag-harness"]),
    ],
};

const FORBIDDEN: Forbidden = Forbidden {
    kind: ZoneKind::Airbag,
    title: "where an airbag or its harness needs the room",
    why: "a lead in front of an airbag turns into a whip or holds the bag back, and one along its harness can disturb or damage it",
    mend: "take another way: low in the sill or along the tunnel, and never tied to the airbag harness",
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let fitted = job.plan.airbags();
    let ways = ways::of(job).into_iter().zip(stay_away(job, &FORBIDDEN));
    ways.map(|(way, (subject, judged))| (subject, judged.and_then(|verdict| past(&way, fitted, verdict)))).collect()
}

/// Curtain airbags hang along the roof edge and come down the pillars: where they are fitted, a lead there needs its way
/// past them. Where none are fitted nothing unfolds; the harness of a belt tensioner may be there all the same.
fn past(way: &Way<'_>, fitted: Option<Airbags>, verdict: Verdict) -> Judged {
    let has_none = fitted == Some(Airbags::None) && !way.path.contains(&Zone::AirbagHarness);
    if has_none && verdict.outcome == Outcome::Fail {
        return Err(Undecided::NotApplicable("the vehicle has no airbags"));
    }
    let above = way.path.iter().any(|zone| matches!(zone, Zone::LeftPillar | Zone::RightPillar | Zone::Roof));
    if verdict.outcome != Outcome::Pass || !above || way.airbags.is_some() {
        return Ok(verdict);
    }
    match fitted {
        None => Err(Undecided::need(Place::of("vehicle.airbags"))),
        Some(Airbags::FrontSideAndCurtain) => Err(Undecided::need(way.at("airbags"))),
        Some(_) => Ok(verdict),
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::route::ways::trial;
    use crate::rules::trial::{check, outcome};

    #[test]
    fn every_such_place_fails_for_every_kind_of_lead_at_its_word() {
        trial::fails_at_its_word("ROUTE-07", &["airbag-path", "airbag-harness"]);
    }

    #[test]
    fn a_way_that_stays_clear_passes_and_one_that_is_not_stated_is_open() {
        trial::passes_clear_and_is_open_unstated("ROUTE-07", "right-sill");
    }

    /// Curtain airbags hang along the roof edge and cover the pillars (common practice, no published source).
    #[test]
    fn a_way_up_a_pillar_or_over_the_roof_says_how_it_gets_past_the_curtain_airbag() {
        for zone in ["left-pillar", "right-pillar", "roof"] {
            let wire = |more: &str| {
                let vehicle = "vehicle: {airbags: front-side-and-curtain}";
                format!("plan: 1\n{vehicle}\nwires: {{main: {{path: [dash, {zone}, cargo]{more}}}}}\n")
            };
            let open = check(&wire(""), "ROUTE-07", "wires.main");
            assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "wires.main.airbags"), "{zone}");
            let unknown = check(&wire("").replace("airbags: front-side-and-curtain", ""), "ROUTE-07", "wires.main");
            assert_eq!((unknown.outcome, unknown.needs[0].path().as_str()), (Outcome::Open, "vehicle.airbags"));
            for word in ["none", "front", "front-and-side"] {
                let text = wire("").replace("front-side-and-curtain", word);
                assert_eq!(outcome(&text, "ROUTE-07", "wires.main"), Outcome::Pass, "{zone} {word}");
            }
            for word in ["none-fitted", "behind"] {
                let text = wire(&format!(", airbags: {word}"));
                assert_eq!(outcome(&text, "ROUTE-07", "wires.main"), Outcome::Pass, "{zone} {word}");
            }
        }
        let through = "plan: 1\nwires: {main: {path: [dash, right-pillar, airbag-path, cargo], airbags: behind}}\n";
        assert_eq!(outcome(through, "ROUTE-07", "wires.main"), Outcome::Fail, "nobody gets past it there");
    }

    #[test]
    fn thin_leads_say_it_too() {
        let text = "plan: 1\nvehicle: {airbags: front-side-and-curtain}\nturn_on: {remote: {path: [dash, left-pillar, roof]}}\n\
                    signals: {left: {lead: {path: [dash, roof, cargo]}}}\n\
                    loads: {tops: {lead: {path: [cargo, right-pillar, dash]}}}\n";
        assert_eq!(check(text, "ROUTE-07", "turn_on.remote").needs[0].path(), "turn_on.remote.airbags");
        assert_eq!(check(text, "ROUTE-07", "signals.left").needs[0].path(), "signals.left.lead.airbags");
        assert_eq!(check(text, "ROUTE-07", "loads.tops").needs[0].path(), "loads.tops.lead.airbags");
    }

    /// A vehicle without airbags may have belt tensioners.
    #[test]
    fn where_no_airbag_is_fitted_nothing_unfolds() {
        let of = |fitted: &str, zone: &str| {
            let text =
                format!("plan: 1\nvehicle: {{airbags: {fitted}}}\nwires: {{main: {{path: [dash, {zone}, cargo]}}}}\n");
            outcome(&text, "ROUTE-07", "wires.main")
        };
        assert_eq!((of("none", "airbag-path"), of("front", "airbag-path")), (Outcome::NotApplicable, Outcome::Fail));
        assert_eq!((of("none", "airbag-harness"), of("none", "right-sill")), (Outcome::Fail, Outcome::Pass));
        assert_eq!(of("none", "airbag-path, airbag-harness"), Outcome::Fail);
    }
}
