//! What stands in the box takes air away from it.

use super::site::{self, Site};
use crate::judge::{Finding, Input, Judged, Offer, Outcome, Rule, Severity, Subjects, at_most};
use crate::plan::EnclosureKind;
use crate::quantity::Quantity;
use crate::solve::{Job, Origin, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "BOX-05",
    name: "volume-not-subtracted",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("not_subtracted.md"),
    check: Subjects::Each(|job| site::each(job, check)),
    slips: &[
        super::Slip::Past("enclosures.*.net_volume"),
        super::Slip::Past("enclosures.*.gross_volume"),
        super::Slip::Past("enclosures.*.bracing"),
    ],
};

fn check(site: &Site<'_>, _: &Job<'_>) -> Judged {
    let gross = site.enclosure.gross_volume.ok_or(Undecided::NotApplicable("the plan gives no gross volume"))?;
    let (net, place) = site.net()?;
    let vented = site.enclosure.kind == Some(EnclosureKind::Vented);
    let vent = if vented { site.vent().map(crate::solve::enclosure::Opening::litres) } else { Ok(0.0) };
    let drivers = all(site.drivers.iter().map(|driver| driver.need("displacement", &driver.displacement)));
    let known: f64 = site.drivers.iter().filter_map(|driver| driver.displacement).map(Quantity::base).sum();
    let bracing = site.enclosure.bracing.map_or(0.0, Quantity::base);
    let taken = known + bracing + vent.as_ref().copied().unwrap_or(0.0);
    let part = |litres: f64| net.with_base(litres);
    let limit = part((gross.base() - taken).max(0.0));
    let comparison = at_most(net, limit)
        .formula("net volume <= gross volume - drivers - vent - bracing")
        .given(Input::stated("net volume", net, place.clone()))
        .given(Input::stated("gross volume", gross, site.enclosure.at("gross_volume")))
        .given(Input::from("drivers", part(known), Origin::Computed("displacement of those that state one")))
        .given(Input::from("vent", part(vent.as_ref().copied().unwrap_or(0.0)), Origin::Computed("area x length")))
        .given(Input::stated("bracing", part(bracing), site.enclosure.at("bracing")))
        .limit_from("geometry");
    if comparison.outcome() == Outcome::Pass {
        // What is not known yet can only take more away.
        drivers?;
        vent?;
    }
    Ok(comparison.verdict(|is| {
        let left = limit.rounded_down();
        Finding::new(place, format!("{net} net of {gross} gross, at most {} are left", is.limit()))
            .label("more than is left")
            .also(site.enclosure.at("gross_volume"), "before anything is subtracted")
            .because("driver, vent and braces take air away, and the box comes out smaller than it was designed")
            .mend(format!("count with {left} net, or make the box larger"))
            .offer(Offer::new(format!("count with {left} net")).set(site.enclosure.at("net_volume"), left))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn net(litres: &str, driver: &str) -> Outcome {
        let text = format!(
            "plan: 1\ndrivers: {{sub: {{enclosure: box, {driver}}}}}\nenclosures: {{box: {{kind: sealed, gross_volume: 36 L, bracing: 1 L, \
             net_volume: {litres}}}}}\n"
        );
        outcome(&text, "BOX-05", "enclosures.box")
    }

    #[test]
    fn what_is_left_passes_and_a_little_more_fails() {
        assert_eq!(net("33 L", "displacement: 2 L"), Outcome::Pass);
        assert_eq!(net("33.1 L", "displacement: 2 L"), Outcome::Fail);
    }

    #[test]
    fn the_mend_is_a_volume_that_passes() {
        let text = |litres: &str| {
            format!(
                "plan: 1\ndrivers: {{sub: {{enclosure: box, displacement: 2.43 L}}}}\nenclosures: {{box: {{kind: sealed, \
                 gross_volume: 104 L, net_volume: {litres}}}}}\n"
            )
        };
        // 104 - 2.43 = 101.57 L
        let mend = check(&text("104 L"), "BOX-05", "enclosures.box").finding.expect("it fails").mend;
        assert_eq!(mend, "count with 101 L net, or make the box larger");
        assert_eq!(outcome(&text("101 L"), "BOX-05", "enclosures.box"), Outcome::Pass);
    }

    #[test]
    fn a_displacement_that_is_not_stated_is_asked_for_only_where_it_decides() {
        assert_eq!(net("33 L", "size: 12 in"), Outcome::Open);
        assert_eq!(net("36 L", "size: 12 in"), Outcome::Fail);
    }

    /// 78.5 cm2 over 250 mm hold 1.96 L: 36 - 2 - 1 - 1.96 = 31.04 L.
    #[test]
    fn the_air_in_a_vent_is_taken_away_too() {
        let net = |litres: &str| {
            let text = format!(
                "plan: 1\ndrivers: {{sub: {{enclosure: box, displacement: 2 L}}}}\nenclosures: {{box: {{kind: vented, gross_volume: \
                 36 L, bracing: 1 L, net_volume: {litres}, vent: {{diameter: 100 mm, length: 250 mm}}}}}}\n"
            );
            outcome(&text, "BOX-05", "enclosures.box")
        };
        assert_eq!(net("31 L"), Outcome::Pass);
        assert_eq!(net("31.1 L"), Outcome::Fail);
    }
}
