//! A low cut far above the tuning takes away the bass that the vent was built for.

use super::low_cut::cuts;
use super::site::{self, Site};
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::quantity::{Frequency, Quantity};
use crate::solve::enclosure::tuning;
use crate::solve::{Job, Known, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "BOX-06",
    name: "low-cut-above-tuning",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("high_cut.md"),
    check: Subjects::Each(|job| site::each(job, check)),
    slips: &[super::Slip::Past("settings.*.low_cut")],
};

fn check<'a>(site: &Site<'a>, job: &Job<'a>) -> Judged {
    if site.drivers.is_empty() {
        return Err(Undecided::NotApplicable("no driver sits in it"));
    }
    let each = cuts(site, job)?;
    let highest = each.into_iter().max_by(|one, other| one.hertz().total_cmp(&other.hertz()));
    let stated = highest.and_then(|highest| Some((highest.place, highest.corner?)));
    let (place, corner) = stated.ok_or(Undecided::NotApplicable("no low cut (BOX-04 asks for one)"))?;
    let tenth = |hertz: f64| Quantity::<Frequency>::new((hertz * 10.0).round() / 10.0);
    let tuned = tenth(tuning(site.vent()?, site.net()?.0.base()));
    let share = job.house.limits.low_cut_above_tuning;
    let limit = tenth(tuned.base() * share.base());
    let whole = Quantity::<Frequency>::new(tuned.base().floor());
    Ok(at_most(corner, limit)
        .formula("low cut <= tuning x share")
        .given(Input::stated("low cut", corner, place.clone()))
        .given(Input::known(
            "tuning",
            &Known::computed(tuned.into(), "343 m/s / (2 pi) x sqrt(vent area / (volume x length with ends))"),
        ))
        .given(Input::limit("share", &share))
        .limit_from(share.source)
        .verdict(|is| {
            Finding::new(
                place.clone(),
                format!("low cut at {} on a box tuned to {tuned}, at most {} allowed", is.result(), is.limit()),
            )
            .label("takes the bass of the vent away")
            .also(site.enclosure.at("vent"), format!("tuned to {tuned}"))
            .because(
                "around its tuning a vented box plays loudest with the least travel, and the filter cuts just that",
            )
            .mend(format!("set the low cut to {whole} or a little less"))
            .offer(Offer::new(format!("low cut at {whole}")).set(place, whole))
        }))
}

#[cfg(test)]
mod tests {
    use super::super::site::vented as plan;
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// The box of BOX-04 is tuned to 38.1 Hz; half an octave above it is 53.9 Hz.
    #[test]
    fn half_an_octave_above_the_tuning_is_the_highest() {
        assert_eq!(outcome(&plan("low_cut: 53.9 Hz"), "BOX-06", "enclosures.box"), Outcome::Pass);
        assert_eq!(outcome(&plan("low_cut: 54 Hz"), "BOX-06", "enclosures.box"), Outcome::Fail);
        assert_eq!(outcome(&plan("low_cut: 15 Hz"), "BOX-06", "enclosures.box"), Outcome::Pass);
    }

    #[test]
    fn it_is_open_until_the_vent_is_known_and_silent_where_none_is_set() {
        let narrow = plan("low_cut: 54 Hz").replace(", length: 250 mm", "");
        let open = check(&narrow, "BOX-06", "enclosures.box");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "enclosures.box.vent.length"));
        let without = plan("gain_target: 20 V").replace("enclosure:", "kind: subwoofer, enclosure:");
        assert_eq!(outcome(&without, "BOX-06", "enclosures.box"), Outcome::NotApplicable);
        assert_eq!(
            outcome(&plan("low_cut: 54 Hz").replace("vented", "sealed"), "BOX-06", "enclosures.box"),
            Outcome::NotApplicable
        );
    }
}
