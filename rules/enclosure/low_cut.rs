//! Below its tuning a vented box no longer holds the cone.

use super::site::{self, Site};
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_least};
use crate::plan::EnclosureKind;
use crate::quantity::{Frequency, Quantity};
use crate::solve::enclosure::tuning;
use crate::solve::{Job, Known, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "BOX-04",
    name: "vented-without-low-cut",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("low_cut.md"),
    check: Subjects::Each(|job| site::each(job, check)),
};

fn check(site: &Site<'_>, job: &Job<'_>) -> Judged {
    if site.drivers.is_empty() {
        return Err(Undecided::NotApplicable("no driver sits in it"));
    }
    site.only(EnclosureKind::Vented, "the box has no vent")?;
    let inside = |name: &str| site.drivers.iter().any(|driver| driver.name == name);
    let drives = |load: &&crate::solve::Thing<'_, crate::plan::Load>| {
        load.coils.as_ref().is_some_and(|coils| coils.each().iter().any(|(_, coil)| inside(&coil.driver)))
    };
    let load = job.loads.iter().find(drives).ok_or(Undecided::NotApplicable("no load drives it"))?;
    let amplifier = load.need("amplifier", &load.amplifier)?;
    let place = Place::of(format!("settings.{amplifier}.low_cut"));
    let setting = job.plan.settings.get(&amplifier);
    let low_cut = setting.and_then(|setting| setting.low_cut).ok_or_else(|| Undecided::need(place.clone()))?;
    let tuned = Quantity::<Frequency>::new((tuning(site.vent()?, site.litres()?.0) * 10.0).round() / 10.0);
    let share = job.house.limits.low_cut_below_tuning;
    let limit = Quantity::<Frequency>::new((tuned.base() * share.base() * 10.0).round() / 10.0);
    Ok(at_least(low_cut, limit)
        .formula("low cut >= tuning x share")
        .given(Input::stated("low cut", low_cut, place.clone()))
        .given(Input::known(
            "tuning",
            &Known::computed(tuned.into(), "343 m/s / 2 pi x sqrt(vent area / (volume x length with ends))"),
        ))
        .given(Input::limit("share", &share))
        .limit_from(share.source)
        .verdict(|_| {
            Finding::new(place, format!("low cut at {low_cut} under a box tuned to {tuned}, at least {limit} needed"))
                .label("too low to hold the cone")
                .also(site.enclosure.at("vent"), format!("tuned to {tuned}"))
                .because("below its tuning nothing but the suspension holds the cone, and it strikes its stops")
                .mend(format!("set the low cut between {limit} and {tuned}"))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(setting: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\ndrivers: {{sub: {{enclosure: box, coils: [4 ohm]}}}}\nenclosures: {{box: \
             {{kind: vented, net_volume: 50 L, vent: {{diameter: 100 mm, length: 250 mm}}}}}}\nloads: {{bass: {{amplifier: amp, \
             outputs: [1], coils: sub.1}}}}\nsettings: {{amp: {{{setting}}}}}\n"
        )
    }

    /// 78.5 cm2 and 250 + 73.15 mm on 50 l: 343 / 2 pi x sqrt(0.00785 / (0.05 x 0.323)) = 38.1 Hz; half an octave under
    /// it is 26.9 Hz.
    #[test]
    fn half_an_octave_under_the_tuning_is_the_lowest() {
        assert_eq!(outcome(&plan("low_cut: 26.9 Hz"), "BOX-04", "enclosures.box"), Outcome::Pass);
        assert_eq!(outcome(&plan("low_cut: 26.8 Hz"), "BOX-04", "enclosures.box"), Outcome::Fail);
    }

    #[test]
    fn a_low_cut_that_is_not_stated_is_asked_for() {
        assert_eq!(check(&plan("low_pass: 80 Hz"), "BOX-04", "enclosures.box").outcome, Outcome::Open);
        let sealed = plan("low_pass: 80 Hz").replace("vented", "sealed");
        assert_eq!(outcome(&sealed, "BOX-04", "enclosures.box"), Outcome::NotApplicable);
    }
}
