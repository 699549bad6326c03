//! A closed box that booms or that is dull.

use super::site::{self, Site};
use crate::judge::{Finding, Input, Judged, Offer, Outcome, Rule, Severity, Subjects, at_least, at_most};
use crate::plan::EnclosureKind;
use crate::quantity::{Quantity, Range, Ratio, Volume};
use crate::solve::Job;
use crate::solve::enclosure::{Parameters, closed, litres_for};

/// The rule.
pub const RULE: Rule = Rule {
    code: "BOX-02",
    name: "box-damping",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("quality.md"),
    check: Subjects::Each(|job| site::each(job, check)),
    slips: &[
        super::Slip::Past("enclosures.*.net_volume"),
        super::Slip::Past("drivers.*.total_q"),
        super::Slip::Past("drivers.*.resonance"),
        super::Slip::Past("drivers.*.compliance_volume"),
        super::Slip::Say("drivers.*.total_q", &["1.1", "1.3", "0.95"]),
        super::Slip::Say("drivers.*.compliance_volume", &["180 L", "250 L"]),
    ],
};

fn check(site: &Site<'_>, job: &Job<'_>) -> Judged {
    let driver = site.parameters()?;
    site.only(EnclosureKind::Sealed, "the box is not closed")?;
    let (net, place) = site.net()?;
    let (least, most) = (job.house.limits.closed_box_q_least, job.house.limits.closed_box_q_most);
    let is = closed(driver, net.base());
    let q = Range::<Ratio>::point(is.total_q);
    let low = at_least(q, least.value).limit_from(least.source);
    let is_low = low.outcome() != Outcome::Pass;
    let comparison = if is_low { low } else { at_most(q, most.value).limit_from(most.source) };
    Ok(comparison
        .formula("Qtc = Qts x sqrt(1 + Vas / net volume)")
        .given(Input::stated("Qts", Range::<Ratio>::point(driver.total_q), site.drivers[0].at("total_q")))
        .given(Input::stated("Vas", net.with_base(driver.compliance_volume), site.drivers[0].at("compliance_volume")))
        .given(Input::stated("net volume", net, place.clone()))
        .verdict(|_| {
            let booms = is.total_q > most.base();
            let better = Better::than(net, driver, booms, (least.base(), most.base()));
            Finding::new(
                place,
                format!("Qtc {:.2} in this box, {} to {} sound right", is.total_q, least.value, most.value),
            )
            .label(format!("resonance {:.0} Hz, 3 dB down at {:.0} Hz, peak {:.1} dB", is.resonance, is.f3, is.peak))
            .because("a high Qtc booms on one note, a low one leaves the deep bass weak")
            .mend(better.mend(driver, booms))
            .follows("BOX-01", site.enclosure.place())
            .offers(better.near.into_iter().chain(better.flat).map(|volume| {
                Offer::new(format!("build it with {volume} net")).set(site.enclosure.at("net_volume"), volume)
            }))
        }))
}

/// Above this ratio of resonance to Qts, in hertz, a driver is made for a vented box (common practice, no published source: up
/// to 50 closed, from 100 on vented; Qts stands in for Qes, which makes the ratio a little higher).
const MADE_FOR_A_VENT: f64 = 110.0;

/// The volume that brings the quality factor back to its limit, and the one that makes it flat, in the unit of the plan.
struct Better {
    near: Option<Quantity<Volume>>,
    flat: Option<Quantity<Volume>>,
}

impl Better {
    fn than(net: Quantity<Volume>, driver: Parameters, booms: bool, (least, most): (f64, f64)) -> Self {
        let of = |quality| litres_for(driver, quality).map(|litres| net.with_base(litres));
        let near = of(if booms { most } else { least });
        let near = near.map(|volume| if booms { volume.rounded_up() } else { volume.rounded_down() });
        Self { near, flat: of(std::f64::consts::FRAC_1_SQRT_2) }
    }

    fn mend(&self, driver: Parameters, booms: bool) -> String {
        let ratio = driver.resonance / driver.total_q;
        if let (false, Some(volume)) = (booms, self.near.filter(|_| ratio > MADE_FOR_A_VENT)) {
            let resonance = closed(driver, volume.base()).resonance;
            return format!(
                "build a vented box: Qts {} and fs/Qts of {ratio:.0} Hz are those of a driver made for one; closed it takes {volume} or \
                 smaller, and its resonance comes to {resonance:.0} Hz there",
                driver.total_q
            );
        }
        let flat = self.flat.map_or(String::new(), |flat| format!("; a flat response (Qtc 0.7071) takes {flat}"));
        match (booms, self.near) {
            (true, Some(volume)) => format!("make the box {volume} or larger{flat}"),
            (true, None) => "choose a driver of lower Qts, no closed box tames this one".to_owned(),
            (false, Some(volume)) => format!("make the box {volume} or smaller{flat}"),
            (false, None) => "choose a driver of higher Qts".to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, offered, outcome};

    fn quality(litres: &str, driver: &str) -> Outcome {
        let text = format!(
            "plan: 1\ndrivers: {{sub: {{enclosure: box, {driver}}}}}\nenclosures: {{box: {{kind: sealed, {litres}}}}}\n"
        );
        outcome(&text, "BOX-02", "enclosures.box")
    }

    /// Qts 0.55 doubles to 1.1 where Vas is three times the box.
    #[test]
    fn one_point_one_passes_and_a_smaller_box_fails() {
        let driver = "resonance: 30 Hz, total_q: 0.55, compliance_volume: 60 L";
        assert_eq!(quality("net_volume: 20 L", driver), Outcome::Pass);
        assert_eq!(quality("net_volume: 19.9 L", driver), Outcome::Fail);
        assert_eq!(quality("", driver), Outcome::Open);
        assert_eq!(
            quality("net_volume: 20 L", "total_q: 0.3, resonance: 30 Hz, compliance_volume: 10 L"),
            Outcome::Fail
        );
    }

    #[test]
    fn the_mend_is_a_box_that_passes() {
        let mend = |litres: &str, driver: &str| {
            let text = format!(
                "plan: 1\ndrivers: {{sub: {{enclosure: box, resonance: 30 Hz, {driver}}}}}\nenclosures: {{box: {{kind: sealed, \
                 net_volume: {litres}}}}}\n"
            );
            check(&text, "BOX-02", "enclosures.box").finding.expect("it fails").mend
        };
        // 0.55 x sqrt(1 + 60 / 20) = 1.1; 0.8 x sqrt(1 + 60 / 67.3) = 1.1, and no box makes 0.71 of 0.8.
        assert_eq!(
            mend("12 L", "total_q: 0.55, compliance_volume: 60 L"),
            "make the box 20 L or larger; a flat response (Qtc 0.7071) takes 91.9 L"
        );
        assert_eq!(mend("15 L", "total_q: 0.8, compliance_volume: 60 L"), "make the box 67.4 L or larger");
        assert_eq!(
            quality("net_volume: 67.4 L", "resonance: 30 Hz, total_q: 0.8, compliance_volume: 60 L"),
            Outcome::Pass
        );
        // 0.3 x sqrt(1 + 10 / 5.6) = 0.5
        assert_eq!(
            mend("20 L", "total_q: 0.3, compliance_volume: 10 L"),
            "make the box 5.62 L or smaller; a flat response (Qtc 0.7071) takes 2.2 L"
        );
    }

    /// 38 Hz / 0.26 = 146 Hz. Qtc 0.5 takes 60 L / ((0.5 / 0.26)^2 - 1) = 22.2 L, and there 38 Hz x 0.5 / 0.26 = 73 Hz: no bass
    /// of a subwoofer.
    #[test]
    fn a_driver_made_for_a_vented_box_is_not_squeezed_into_a_small_closed_one() {
        let text = "plan: 1\ndrivers: {sub: {enclosure: box, resonance: 38 Hz, total_q: 0.26, compliance_volume: 60 L}}\n\
                    enclosures: {box: {kind: sealed, net_volume: 40 L}}\n";
        let mend = check(text, "BOX-02", "enclosures.box").finding.expect("it fails").mend;
        assert_eq!(
            mend,
            "build a vented box: Qts 0.26 and fs/Qts of 146 Hz are those of a driver made for one; closed it takes 22.2 L or smaller, \
             and its resonance comes to 73 Hz there"
        );
    }

    #[test]
    fn a_box_that_its_driver_does_not_want_is_told_once() {
        let text = "plan: 1\ndrivers: {sub: {enclosure: box, box_volume: 25 L .. 45 L, resonance: 30 Hz, total_q: 0.55, \
                    compliance_volume: 60 L}}\nenclosures: {box: {kind: sealed, net_volume: 12 L}}\n";
        assert_eq!(outcome(text, "BOX-01", "enclosures.box"), Outcome::Fail);
        assert_eq!(check(text, "BOX-02", "enclosures.box").follows.map(|(code, _)| code), Some("BOX-01"));
    }

    #[test]
    fn half_a_data_sheet_is_open_and_none_is_not_judged() {
        assert_eq!(quality("net_volume: 20 L", "total_q: 0.5"), Outcome::Open);
        assert_eq!(quality("net_volume: 20 L", "size: 12 in"), Outcome::NotApplicable);
    }

    #[test]
    fn the_box_at_the_limit_and_the_flat_one_are_offered() {
        let of = |litres: &str, driver: &str| {
            let text = format!(
                "plan: 1\ndrivers: {{sub: {{enclosure: box, resonance: 30 Hz, {driver}}}}}\nenclosures: {{box: {{kind: sealed, \
                 net_volume: {litres}}}}}\n"
            );
            offered(&text, "BOX-02", "enclosures.box").into_iter().map(|(title, _)| title).collect::<Vec<_>>()
        };
        let booms = of("12 L", "total_q: 0.55, compliance_volume: 60 L");
        assert_eq!(booms, ["build it with 20 L net", "build it with 91.9 L net"]);
        assert_eq!(of("15 L", "total_q: 0.8, compliance_volume: 60 L"), ["build it with 67.4 L net"]);
    }

    #[test]
    fn a_data_sheet_with_a_nought_describes_no_driver() {
        let of = |resonance: &str, q: &str, volume: &str| {
            quality("net_volume: 20 L", &format!("resonance: {resonance}, total_q: {q}, compliance_volume: {volume}"))
        };
        assert_eq!(of("30 Hz", "0.55", "60 L"), Outcome::Pass);
        assert_eq!(of("0 Hz", "0.55", "60 L"), Outcome::NotApplicable);
        assert_eq!(of("30 Hz", "0", "60 L"), Outcome::NotApplicable);
        assert_eq!(of("30 Hz", "0.55", "0 L"), Outcome::NotApplicable);
    }

    /// Two alike share a box: each has half of it.
    #[test]
    fn drivers_that_share_a_box_share_its_air() {
        let driver = "{enclosure: box, resonance: 30 Hz, total_q: 0.55, compliance_volume: 60 L}";
        let of = |litres: &str| {
            let text = format!(
                "plan: 1\ndrivers: {{one: {driver}, two: {driver}}}\nenclosures: {{box: {{kind: sealed, net_volume: {litres}}}}}\n"
            );
            outcome(&text, "BOX-02", "enclosures.box")
        };
        assert_eq!((of("40 L"), of("39.8 L")), (Outcome::Pass, Outcome::Fail));
    }

    /// 27.5 Hz / 0.25 = 110 Hz is not above what a driver for a closed box has.
    #[test]
    fn up_to_a_hundred_and_ten_hertz_a_driver_is_not_sent_to_a_vented_box() {
        let text = "plan: 1\ndrivers: {sub: {enclosure: box, resonance: 27.5 Hz, total_q: 0.25, compliance_volume: 60 L}}\n\
                    enclosures: {box: {kind: sealed, net_volume: 40 L}}\n";
        let mend = check(text, "BOX-02", "enclosures.box").finding.expect("it fails").mend;
        assert!(mend.starts_with("make the box 20 L or smaller"), "{mend}");
    }
}
