//! A closed box that booms or that is dull.

use super::site::{self, Site};
use crate::judge::{Finding, Input, Judged, Outcome, Rule, Severity, Subjects, at_least, at_most};
use crate::plan::EnclosureKind;
use crate::quantity::{Quantity, Range, Ratio, Volume};
use crate::solve::Job;
use crate::solve::enclosure::{closed, litres_for};

/// The rule.
pub const RULE: Rule = Rule {
    code: "BOX-02",
    name: "box-damping",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("quality.md"),
    check: Subjects::Each(|job| site::each(job, check)),
};

fn check(site: &Site<'_>, job: &Job<'_>) -> Judged {
    let driver = site.parameters()?;
    site.only(EnclosureKind::Sealed, "the box is not closed")?;
    let (litres, place) = site.litres()?;
    let (least, most) = (job.house.limits.closed_box_q_least, job.house.limits.closed_box_q_most);
    let is = closed(driver, litres);
    let q = Range::<Ratio>::point(is.total_q);
    let low = at_least(q, least.value).limit_from(least.source);
    let is_low = low.outcome() != Outcome::Pass;
    let comparison = if is_low { low } else { at_most(q, most.value).limit_from(most.source) };
    Ok(comparison
        .formula("Qtc = Qts x sqrt(1 + Vas / net volume)")
        .given(Input::stated("net volume", Quantity::<Volume>::new(litres), place.clone()))
        .given(Input::stated(
            "Vas, all drivers",
            Quantity::<Volume>::new(driver.compliance_volume),
            site.drivers[0].at("compliance_volume"),
        ))
        .verdict(|_| {
            let mend = litres_for(driver, std::f64::consts::FRAC_1_SQRT_2).map_or_else(
                || "choose a driver of lower Qts, no closed box tames this one".to_owned(),
                |flat| {
                    format!(
                        "a flat response (Qtc 0.71) takes {}",
                        Quantity::<Volume>::new((flat * 10.0).round() / 10.0)
                    )
                },
            );
            Finding::new(
                place,
                format!("Qtc {:.2} in this box, {} to {} sound right", is.total_q, least.value, most.value),
            )
            .label(format!("resonance {:.0} Hz, 3 dB down at {:.0} Hz, peak {:.1} dB", is.resonance, is.f3, is.peak))
            .because("a high Qtc booms on one note, a low one leaves the deep bass weak")
            .mend(mend)
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

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
    fn half_a_data_sheet_is_open_and_none_is_not_judged() {
        assert_eq!(quality("net_volume: 20 L", "total_q: 0.5"), Outcome::Open);
        assert_eq!(quality("net_volume: 20 L", "size: 12 in"), Outcome::NotApplicable);
    }
}
