//! A box too small or too large for its driver.

use super::site::{self, Site};
use crate::judge::{Finding, Input, Judged, Offer, Outcome, Rule, Severity, Subjects, at_least, at_most};
use crate::plan::EnclosureKind;
use crate::quantity::{Quantity, Volume};
use crate::solve::{Job, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "BOX-01",
    name: "box-volume",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("volume.md"),
    check: Subjects::Each(|job| site::each(job, check)),
    slips: &[super::Slip::Past("enclosures.*.net_volume")],
};

fn check(site: &Site<'_>, _: &Job<'_>) -> Judged {
    if site.drivers.is_empty() || site.enclosure.kind == Some(EnclosureKind::Open) {
        return Err(Undecided::NotApplicable("no driver, or no box"));
    }
    let (net, place) = site.net()?;
    let windows = all(site.drivers.iter().map(|driver| driver.need("box_volume", &driver.box_volume)))?;
    let least = net.with_base(windows.iter().map(|window| window.from.base()).sum());
    let most = net.with_base(windows.iter().map(|window| window.to.base()).sum());
    let low = at_least(net, least);
    let comparison = if low.outcome() == Outcome::Pass { at_most(net, most) } else { low };
    let driver = &site.drivers[0];
    let built = |volume: Quantity<Volume>| {
        Offer::new(format!("build it with {volume} net")).set(site.enclosure.at("net_volume"), volume)
    };
    Ok(comparison
        .formula("least volume <= net volume <= most volume, of its drivers together")
        .given(Input::stated("net volume", net, place.clone()))
        .given(Input::stated("least volume", least, driver.at("box_volume")))
        .given(Input::stated("most volume", most, driver.at("box_volume")))
        .limit_from("the driver's maker, as the plan states it")
        .verdict(|is| {
            let too_small = net.base() < least.base();
            let [from, to] = if too_small {
                [is.limit().to_string(), most.to_string()]
            } else {
                [least.to_string(), is.limit().to_string()]
            };
            let net = is.result();
            let who = if site.drivers.len() == 1 { "the driver asks" } else { "its drivers together ask" };
            Finding::new(place, format!("{net} net, {who} for {from} .. {to}"))
                .label("this box")
                .also(driver.at("box_volume"), "what the driver asks")
                .because("too small a box booms and asks for more power, too large a one lets the cone go too far")
                .mend(format!("build a box of {from} .. {to} net, or choose a driver that suits this one"))
                .offer(built(if too_small { least } else { most }))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, finding, outcome};

    fn volume(litres: &str, driver: &str) -> Outcome {
        let text = format!(
            "plan: 1\ndrivers: {{sub: {{enclosure: box, {driver}}}}}\nenclosures: {{box: {{kind: sealed, {litres}}}}}\n"
        );
        outcome(&text, "BOX-01", "enclosures.box")
    }

    #[test]
    fn both_ends_hold_and_a_tenth_of_a_litre_beyond_does_not() {
        let asks = "box_volume: 25 L .. 45 L";
        for (litres, expected) in
            [("25 L", Outcome::Pass), ("45 L", Outcome::Pass), ("24.9 L", Outcome::Fail), ("45.1 L", Outcome::Fail)]
        {
            assert_eq!(volume(&format!("net_volume: {litres}"), asks), expected, "{litres}");
        }
        assert_eq!(volume("", asks), Outcome::Open);
        assert_eq!(volume("net_volume: 30 L", "size: 12 in"), Outcome::Open);
    }

    #[test]
    fn a_box_that_is_too_large_by_a_hair_does_not_read_like_what_is_asked() {
        let text = "plan: 1\ndrivers: {sub: {enclosure: box, box_volume: 25 L .. 45 L}}\n\
                    enclosures: {box: {kind: sealed, net_volume: 45.02 L}}\n";
        let title = finding(text, "BOX-01", "enclosures.box").title;
        assert!(title.starts_with("45.02 L net, the driver asks for 25 L .. 45"), "{title}");
    }

    #[test]
    fn two_drivers_ask_for_twice_as_much() {
        let text = "plan: 1\ndrivers:\n  one: {enclosure: box, box_volume: 25 L .. 45 L}\n  two: {enclosure: box, box_volume: 25 L .. 45 L}\n\
                    enclosures: {box: {kind: sealed, net_volume: 45 L}}\n";
        assert_eq!(outcome(text, "BOX-01", "enclosures.box"), Outcome::Fail);
    }

    #[test]
    fn a_box_without_a_driver_and_an_open_baffle_are_not_judged() {
        let text = "plan: 1\nenclosures: {box: {kind: sealed, net_volume: 30 L}}\n";
        assert_eq!(outcome(text, "BOX-01", "enclosures.box"), Outcome::NotApplicable);
        let open = "plan: 1\ndrivers: {sub: {enclosure: box, box_volume: 25 L .. 45 L}}\nenclosures: {box: {kind: open, net_volume: 9 L}}\n";
        assert_eq!(outcome(open, "BOX-01", "enclosures.box"), Outcome::NotApplicable);
    }

    #[test]
    fn the_nearer_end_is_offered_and_it_is_told_who_asks() {
        let text = |litres: &str| {
            format!(
                "plan: 1\ndrivers: {{sub: {{enclosure: box, box_volume: 25 L .. 45 L}}}}\nenclosures: {{box: {{kind: sealed, net_volume: \
                 {litres}}}}}\n"
            )
        };
        assert_eq!(after(&text("24 L"), "BOX-01", "enclosures.box"), [text("25 L")]);
        assert_eq!(after(&text("46 L"), "BOX-01", "enclosures.box"), [text("45 L")]);
        let two = text("46 L").replace("drivers: {", "drivers: {one: {enclosure: box, box_volume: 25 L .. 45 L}, ");
        let title = |text: &str| finding(text, "BOX-01", "enclosures.box").title;
        assert_eq!(title(&text("24 L")), "24 L net, the driver asks for 25 L .. 45 L");
        assert_eq!(title(&two), "46 L net, its drivers together ask for 50 L .. 90 L");
    }
}
