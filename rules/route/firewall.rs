//! The wall between engine bay and cabin: bushed against its edge, sealed against water and fumes.

use super::ways::{self, Way};
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Through, Zone, word};
use crate::solve::{Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-01",
    name: "firewall-pass",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("firewall.md"),
    check: Subjects::Each(|job| ways::each(job, check)),
    slips: &[
        super::Slip::Say("wires.*.crossings.firewall.sealed", &["false"]),
        super::Slip::Say("wires.*.crossings.firewall.through", &["bare-hole", "loom"]),
        super::Slip::Say("turn_on.*.crossings.firewall.sealed", &["false"]),
    ],
};

fn check(way: &Way<'_>) -> Judged {
    way.known()?;
    if !way.path.contains(&Zone::Firewall) {
        return Err(Undecided::NotApplicable("it does not pass the firewall"));
    }
    let crossing = way.crossings.get(&Zone::Firewall);
    let (through, sealed) = (crossing.and_then(|it| it.through), crossing.and_then(|it| it.sealed));
    let places = (way.crossing(Zone::Firewall, "through"), way.crossing(Zone::Firewall, "sealed"));
    if let Some(bare) = through.filter(|through| !through.is_bush()) {
        let (what, label) = match bare {
            Through::BareHole => ("a bare hole".to_owned(), "bare metal".to_owned()),
            other => (format!("nothing but {}", word(&other)), format!("{} is neither bush nor seal", word(&other))),
        };
        let finding = Finding::new(places.0, format!("`{}` goes through the firewall in {what}", way.name))
            .label(label)
            .because(
                "the edge of a sheet-metal hole saws through insulation, on the wire with the whole battery behind it",
            )
            .mend("use a factory grommet, or fit a grommet or a gland of the wire's size, and seal it")
            .offer(way.grommet(Zone::Firewall));
        return Ok(Verdict::fail(finding));
    }
    if sealed == Some(false) {
        let finding = Finding::new(places.1, format!("`{}` passes the firewall unsealed", way.name))
            .label("not sealed")
            .because("an open pass lets water, fumes and, in a fire, flames into the cabin")
            .mend("seal the pass around the wire with a fitting grommet or gland")
            .offer(way.seal(Zone::Firewall));
        return Ok(Verdict::fail(finding));
    }
    let missing = [(through.is_none(), places.0), (sealed.is_none(), places.1)];
    let missing: Vec<Place> = missing.into_iter().filter_map(|(lacks, place)| lacks.then_some(place)).collect();
    if missing.is_empty() { Ok(Verdict::pass()) } else { Err(Undecided::Open(missing)) }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, outcome};

    fn plan(crossing: &str) -> String {
        format!(
            "plan: 1\nwires: {{main: {{path: [engine-bay, firewall, cargo], crossings: {{firewall: {{{crossing}}}}}}}, \
             return: {{path: [cargo]}}, other: {{}}}}\n\
             turn_on: {{remote: {{path: [engine-bay, firewall, dash], crossings: {{firewall: {{through: bare-hole}}}}}}}}\n"
        )
    }

    #[test]
    fn bushed_and_sealed_passes_and_either_missing_fails() {
        let of = |crossing: &str| outcome(&plan(crossing), "ROUTE-01", "wires.main");
        assert_eq!(of("through: gland, sealed: true"), Outcome::Pass);
        assert_eq!(of("through: factory-grommet, sealed: false"), Outcome::Fail);
        assert_eq!(of("through: bare-hole, sealed: true"), Outcome::Fail);
        assert_eq!(of("sealed: false"), Outcome::Fail, "what is known already decides");
    }

    /// Split tube opens at its slit and slides out of the hole, edging leaves the hole open (common practice, no
    /// published source).
    #[test]
    fn loom_and_edging_are_no_bush_however_well_they_are_smeared_shut() {
        let of = |crossing: &str| outcome(&plan(crossing), "ROUTE-01", "wires.main");
        assert_eq!(of("through: loom, sealed: true"), Outcome::Fail);
        assert_eq!(of("through: edging, sealed: true"), Outcome::Fail);
        for bush in ["factory-grommet", "new-grommet", "gland", "boot"] {
            assert_eq!(of(&format!("through: {bush}, sealed: true")), Outcome::Pass, "{bush}");
        }
    }

    #[test]
    fn the_mend_for_loom_is_a_grommet_and_not_only_a_seal() {
        let after = after(&plan("through: loom, sealed: false, blind_side: checked"), "ROUTE-01", "wires.main");
        assert!(after[0].contains("through: new-grommet, sealed: true"), "{after:?}");
    }

    #[test]
    fn what_is_not_stated_is_asked_for() {
        let needs = |crossing: &str| {
            let check = check(&plan(crossing), "ROUTE-01", "wires.main");
            assert_eq!(check.outcome, Outcome::Open);
            check.needs.iter().map(crate::solve::Place::path).collect::<Vec<_>>()
        };
        assert_eq!(needs("through: gland"), ["wires.main.crossings.firewall.sealed"]);
        assert_eq!(needs("sealed: true"), ["wires.main.crossings.firewall.through"]);
    }

    #[test]
    fn other_ways_and_thin_leads_are_judged_by_where_they_run() {
        assert_eq!(outcome(&plan(""), "ROUTE-01", "wires.return"), Outcome::NotApplicable);
        assert_eq!(outcome(&plan(""), "ROUTE-01", "wires.other"), Outcome::Open);
        assert_eq!(outcome(&plan(""), "ROUTE-01", "turn_on.remote"), Outcome::Fail);
    }
}
