//! Water and salt in a fuse holder corrode the contacts until they burn.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::solve::facts::sub;
use crate::solve::protection::Host;
use crate::solve::{Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-12",
    name: "fuse-holder-unsealed",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("holder_unsealed.md"),
    check: Subjects::Fuse(check),
    slips: &[super::Slip::Say("wires.*.fuse|far_fuse.holder.sealed", &["false"])],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let zone = site.zone.ok_or_else(|| {
        Undecided::need(match site.host {
            Host::Wire { wire, .. } => job.wires[wire].at("path"),
            Host::Block(block) => job.blocks[block].at("location"),
        })
    })?;
    if !zone.is_wet() {
        return Err(Undecided::NotApplicable("this fuse sits in a dry place"));
    }
    let place = sub(&site.place, "holder.sealed");
    let sealed = site.fuse.holder.as_ref().and_then(|holder| holder.sealed);
    let sealed = sealed.ok_or_else(|| Undecided::need(place.clone()))?;
    Ok(Verdict::pass_if(sealed, || {
        let sealed = Offer::new("fit a sealed holder").set(place.clone(), true);
        Finding::new(place, format!("unsealed fuse holder in the {}", zone.word().replace('-', " ")))
            .label("not sealed")
            .because("water and salt corrode the contacts, and a corroded contact burns at the current it was made for")
            .mend("fit a holder with a sealed cover and sealed wire entries")
            .offer(sealed)
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(path: &str, holder: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, {path}\
             fuse: {{rating: 60 A, distance: 20 cm{holder}}}, far_fuse: {{rating: 60 A, distance: 20 cm}}}}\n"
        )
    }

    const WET: &str = "path: [engine-bay, firewall, dash], ";

    #[test]
    fn a_wet_place_asks_for_a_sealed_holder() {
        let of = |holder: &str| outcome(&plan(WET, holder), "FUSE-12", "wires.main.fuse");
        assert_eq!(of(", holder: {sealed: true}"), Outcome::Pass);
        assert_eq!(of(", holder: {sealed: false}"), Outcome::Fail);
        assert_eq!(of(""), Outcome::Open);
    }

    #[test]
    fn a_fuse_is_where_its_end_of_the_wire_is() {
        assert_eq!(outcome(&plan(WET, ""), "FUSE-12", "wires.main.far_fuse"), Outcome::NotApplicable);
        let dry = plan("path: [under-seat], ", ", holder: {sealed: false}");
        assert_eq!(outcome(&dry, "FUSE-12", "wires.main.fuse"), Outcome::NotApplicable);
        let underbody = plan("path: [underbody], ", ", holder: {sealed: false}");
        assert_eq!(outcome(&underbody, "FUSE-12", "wires.main.fuse"), Outcome::Fail);
    }

    #[test]
    fn a_place_that_is_not_stated_leaves_it_open() {
        let check = check(&plan("", ", holder: {sealed: false}"), "FUSE-12", "wires.main.fuse");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "wires.main.path"));
    }
}
