//! Metal edges and holes other than firewall and door: a bush or edging between edge and insulation.

use super::ways::{self, Way};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Covering, Through, Zone, ZoneKind};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-02",
    name: "unbushed-edge",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("bush.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("wires.*.crossings.panel-edge|rear-bulkhead|floor-pan.through", &["bare-hole", "loom"]),
        super::Slip::Together(&[
            super::Slip::Insert("wires.*.path", &["panel-edge"]),
            super::Slip::Say("wires.*.crossings.panel-edge", &["{through: bare-hole, blind_side: checked}"]),
        ]),
        super::Slip::Together(&[
            super::Slip::Insert("signals.*.lead.path", &["panel-edge"]),
            super::Slip::Say("signals.*.lead.crossings.panel-edge", &["{through: bare-hole, blind_side: checked}"]),
        ]),
        super::Slip::Together(&[
            super::Slip::Insert("turn_on.*.path", &["panel-edge"]),
            super::Slip::Say("turn_on.*.crossings.panel-edge", &["{through: bare-hole, blind_side: checked}"]),
        ]),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let mut judged = Vec::new();
    for way in ways::of(job) {
        if let Err(need) = way.known() {
            judged.push((way.subject.clone(), Err(need)));
            continue;
        }
        // The firewall and doors have rules of their own.
        let is_here =
            |zone: Zone| zone.kind() == ZoneKind::Crossing && !matches!(zone, Zone::Firewall | Zone::DoorJamb);
        for (at, zone) in way.path.iter().enumerate().filter(|(_, zone)| is_here(**zone)) {
            judged.push((way.zone(at), judge(&way, *zone)));
        }
    }
    judged
}

fn judge(way: &Way<'_>, zone: Zone) -> Judged {
    if way.covering == Some(Covering::Conduit) {
        return Ok(Verdict::pass());
    }
    let place = way.crossing(zone, "through");
    let through = way.crossings.get(&zone).and_then(|crossing| crossing.through);
    let through = through.ok_or_else(|| Undecided::need(place.clone()))?;
    Ok(Verdict::pass_if(!matches!(through, Through::BareHole | Through::Loom), || {
        let in_loom = through == Through::Loom || way.covering == Some(Covering::Loom);
        let but = if in_loom { ", in nothing but loom" } else { "" };
        Finding::new(place, format!("`{}` goes over bare metal at `{}`{but}", way.name, zone.word()))
            .label(if in_loom { "loom slips off the edge" } else { "bare metal" })
            .because("a sheet-metal edge saws through insulation as the body shakes")
            .mend("fit a grommet into the hole or edging onto the metal, or lead it through conduit")
            .offer(way.grommet(zone))
            .offer(Offer::new("fit edging there").set(way.crossing(zone, "through"), "edging"))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{judged, outcome};

    const PLACE: &str = "wires.main.path.1";

    fn plan(covering: &str, crossing: &str) -> String {
        format!(
            "plan: 1\nwires: {{main: {{path: [rear-seat, rear-bulkhead, cargo]{covering}, \
             crossings: {{rear-bulkhead: {{{crossing}}}}}}}}}\n"
        )
    }

    #[test]
    fn a_bare_edge_fails_unless_a_bush_or_conduit_keeps_it_away() {
        assert_eq!(outcome(&plan("", "through: bare-hole"), "ROUTE-02", PLACE), Outcome::Fail);
        assert_eq!(outcome(&plan(", covering: carpet", "through: bare-hole"), "ROUTE-02", PLACE), Outcome::Fail);
        assert_eq!(outcome(&plan("", "through: edging"), "ROUTE-02", PLACE), Outcome::Pass);
        assert_eq!(outcome(&plan("", ""), "ROUTE-02", PLACE), Outcome::Open);
        assert_eq!(outcome(&plan(", covering: conduit", ""), "ROUTE-02", PLACE), Outcome::Pass);
    }

    /// Split tube turns, opens at its slit and walks off an edge (common practice, no published source).
    #[test]
    fn loom_alone_is_no_bush() {
        assert_eq!(outcome(&plan(", covering: loom", "through: bare-hole"), "ROUTE-02", PLACE), Outcome::Fail);
        assert_eq!(outcome(&plan("", "through: loom"), "ROUTE-02", PLACE), Outcome::Fail);
        assert_eq!(outcome(&plan(", covering: loom", "through: edging"), "ROUTE-02", PLACE), Outcome::Pass);
        assert_eq!(outcome(&plan(", covering: loom", ""), "ROUTE-02", PLACE), Outcome::Open);
    }

    #[test]
    fn a_way_without_a_crossing_and_the_firewall_are_no_subject() {
        let text = "plan: 1\nwires: {main: {path: [engine-bay, firewall, cargo]}}\n";
        assert!(!judged(text).checks.iter().any(|check| check.rule.code == "ROUTE-02"));
    }

    #[test]
    fn loom_is_named_wherever_it_is_all_that_there_is() {
        let title = |covering: &str, through: &str| {
            let text = plan(covering, &format!("through: {through}"));
            crate::rules::trial::finding(&text, "ROUTE-02", PLACE).title
        };
        let (bare, loom) = ("`main` goes over bare metal at `rear-bulkhead`", ", in nothing but loom");
        assert_eq!(title("", "loom"), format!("{bare}{loom}"));
        assert_eq!(title(", covering: loom", "bare-hole"), format!("{bare}{loom}"));
        assert_eq!(title(", covering: carpet", "bare-hole"), bare);
    }
}
