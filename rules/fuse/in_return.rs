//! A fuse in a return: when it opens, the current comes back through whatever else is grounded.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::Wire;
use crate::rules::wire::site::{Side, side};
use crate::solve::protection::{FuseSite, Host};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-14",
    name: "fuse-in-return",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("in_return.md"),
    check: Subjects::Fuse(check),
    slips: &[super::Slip::Say(
        "wires.*.fuse",
        &[
            "{form: bolt-down, rating: 60 A, distance: 10 cm, voltage: 32 V, breaking_capacity: 6 kA, holder: {takes: 4 AWG, rated: 100 A}}",
            "{form: bolt-down, rating: 150 A, distance: 10 cm, voltage: 32 V, breaking_capacity: 6 kA, holder: {takes: 1/0 AWG, rated: 200 A}}",
        ],
    )],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let wire = wire_of(site, job);
    let side = wire.and_then(|wire| side(job, wire));
    let side = side.ok_or(Undecided::NotApplicable("it is not clear which side of the supply this fuse is on"))?;
    let noun = site.fuse.noun();
    Ok(Verdict::pass_if(side == Side::Feed, || {
        Finding::new(site.place.clone(), format!("{noun} in the return `{}`", wire.map_or("", |wire| wire.name)))
            .label("the way back is interrupted here")
            .because(
                "when it opens, the amplifier stays live and its current goes back through signal screens and the \
                 cases of sources: they burn, and no other fuse opens",
            )
            .mend("leave the return whole, and fuse the feed near the battery")
            .offer(Offer::new(format!("leave the {noun} out")).remove(site.place.clone()))
    }))
}

/// Whether the fuse at a place is one that has to go, because it sits in a return.
pub fn has_to_go(place: &Place, job: &Job<'_>) -> bool {
    let mut sites = job.protection().fuses.iter();
    let wire = sites.find(|site| site.place == *place).and_then(|site| wire_of(site, job));
    wire.and_then(|wire| side(job, wire)) == Some(Side::Return)
}

/// The wire that a fuse sits in, or one at the block that it sits in.
fn wire_of<'j, 'a>(site: &FuseSite, job: &'j Job<'a>) -> Option<&'j Thing<'a, Wire>> {
    match site.host {
        Host::Wire { wire, .. } => job.wires.get(wire),
        Host::Block(block) => at_block(job.blocks[block].name, job),
    }
}

/// A wire at a block.
fn at_block<'j, 'a>(block: &str, job: &'j Job<'a>) -> Option<&'j Thing<'a, Wire>> {
    let on = |wire: &&Thing<'a, Wire>| wire.terminals().any(|end| end.thing == block);
    job.wires.iter().find(on)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{finding, offered, outcome};

    fn plan(to: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\nbatteries: {{rear: {{}}}}\nwires:\n  \
             main: {{from: battery.positive, to: amp.power, fuse: {{rating: 60 A, distance: 20 cm}}}}\n  \
             return: {{from: amp.ground, to: {to}, far_fuse: {{form: circuit-breaker, rating: 60 A}}}}\n"
        )
    }

    #[test]
    fn a_feed_is_fused_and_a_return_is_not_wherever_it_goes() {
        for to in ["grounds.floor", "battery.negative", "rear.negative"] {
            assert_eq!(outcome(&plan(to), "FUSE-14", "wires.main.fuse"), Outcome::Pass);
            assert_eq!(outcome(&plan(to), "FUSE-14", "wires.return.far_fuse"), Outcome::Fail, "{to}");
        }
        assert_eq!(
            finding(&plan("grounds.floor"), "FUSE-14", "wires.return.far_fuse").title,
            "breaker in the return `return`"
        );
        let offers = offered(&plan("grounds.floor"), "FUSE-14", "wires.return.far_fuse");
        assert_eq!(offers, [("leave the breaker out".to_owned(), vec!["wires.return.far_fuse".to_owned()])]);
    }

    #[test]
    fn a_fused_block_that_gathers_returns_fails_and_one_that_feeds_passes() {
        let plan = |main: &str, branch: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\n\
                 blocks: {{hub: {{outputs: {{one: {{fuse: {{rating: 30 A}}}}}}}}}}\nwires:\n  one: {{from: hub.one, to: {branch}}}\n  \
                 main: {{from: {main}, to: hub.in}}\n"
            )
        };
        let of = |main, branch| outcome(&plan(main, branch), "FUSE-14", "blocks.hub.outputs.one.fuse");
        assert_eq!(of("grounds.floor", "amp.ground"), Outcome::Fail);
        assert_eq!(of("battery.positive", "amp.power"), Outcome::Pass);
    }

    #[test]
    fn a_wire_that_leads_nowhere_is_not_judged() {
        let loose = "plan: 1\nwires: {main: {fuse: {rating: 60 A}}}\n";
        assert_eq!(outcome(loose, "FUSE-14", "wires.main.fuse"), Outcome::NotApplicable);
    }
}
