//! Below its tuning a vented box no longer holds the cone.

use super::site::{self, Site};
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::{EnclosureKind, Plays};
use crate::quantity::{Frequency, Quantity};
use crate::rules::tune::plays::{self, Part};
use crate::solve::channels::{self, Channels};
use crate::solve::enclosure::tuning;
use crate::solve::{Decided, Job, Known, Place, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "BOX-04",
    name: "vented-without-low-cut",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("low_cut.md"),
    check: Subjects::Each(|job| site::each(job, check)),
    slips: &[
        super::Slip::Past("settings.*.low_cut"),
        super::Slip::Drop("settings.*.low_cut"),
        super::Slip::Past("enclosures.*.vent.length"),
    ],
};

fn check<'a>(site: &Site<'a>, job: &Job<'a>) -> Judged {
    if site.drivers.is_empty() {
        return Err(Undecided::NotApplicable("no driver sits in it"));
    }
    let each = cuts(site, job)?;
    // One driver without protection is enough.
    let weakest = each.into_iter().min_by(|one, other| one.hertz().total_cmp(&other.hertz()));
    let weakest = weakest.ok_or(Undecided::NotApplicable("no load drives it"))?;
    let Some(low_cut) = weakest.corner else {
        return Ok(Verdict::fail(none(site, job, weakest.place)));
    };
    let (tuned, limit) = tuned(site, job)?;
    let whole = Quantity::<Frequency>::new(limit.base().ceil());
    let subsonic = Offer::new(format!("low cut at {whole}")).set(weakest.place.clone(), whole);
    let (place, share) = (weakest.place, job.house.limits.low_cut_below_tuning);
    Ok(at_least(low_cut, limit)
        .formula("low cut >= tuning x share")
        .given(Input::stated("low cut", low_cut, place.clone()))
        .given(Input::known(
            "tuning",
            &Known::computed(tuned.into(), "343 m/s / (2 pi) x sqrt(vent area / (volume x length with ends))"),
        ))
        .given(Input::limit("share", &share))
        .limit_from(share.source)
        .verdict(|is| {
            let found = is.result();
            let title = format!("low cut at {found} under a box tuned to {tuned}, at least {} needed", is.limit());
            Finding::new(place, title)
                .label("too low to hold the cone")
                .also(site.enclosure.at("vent"), format!("tuned to {tuned}"))
                .because(WHY)
                .mend(format!("set the low cut between {whole} and {tuned}"))
                .offer(subsonic)
        }))
}

const WHY: &str = "below its tuning nothing but the suspension holds the cone, and it strikes its stops";

/// What keeps deep bass from a vented box, of each group of outputs that drives it.
///
/// # Errors
/// The facts that are missing; not applicable to a box without a vent.
pub fn cuts<'a>(site: &Site<'a>, job: &Job<'a>) -> Decided<Vec<Cut>> {
    site.only(EnclosureKind::Vented, "the box has no vent")?;
    let inside = |name: &str| site.drivers.iter().any(|driver| driver.name == name);
    let drives = |load: &&crate::solve::Thing<'_, crate::plan::Load>| {
        load.coils.as_ref().is_some_and(|coils| coils.coils().iter().any(|coil| inside(&coil.driver)))
    };
    let mut groups: Vec<Channels<'_>> = Vec::new();
    for load in job.loads.iter().filter(drives) {
        load.need("amplifier", &load.amplifier)?;
        groups.extend(channels::of_load(job, load));
    }
    groups.dedup_by(|one, other| one.name == other.name);
    all(groups.iter().map(|channels| cut(channels, job)))
}

/// What keeps deep bass from a box: where it is stated, and its corner; without one where it would be.
pub struct Cut {
    /// Where it is stated.
    pub place: Place,
    /// Its corner.
    pub corner: Option<Quantity<Frequency>>,
}

impl Cut {
    /// Its corner in hertz, zero without one.
    pub fn hertz(&self) -> f64 {
        self.corner.map_or(0.0, Quantity::base)
    }
}

/// The higher of the low cut and the high-pass of outputs that play nothing else.
fn cut<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Decided<Cut> {
    let at = |key: &str| channels.at(key);
    let setting = channels.setting.as_ref();
    let mixed = plays::part(job, channels) == Ok(Part::Mixed);
    let low_cut = setting.and_then(|setting| setting.low_cut);
    let high_pass = setting.and_then(|setting| setting.high_pass).filter(|_| !mixed);
    match (low_cut, high_pass) {
        (Some(low), Some(high)) if high.base() > low.base() => Ok(Cut { place: at("high_pass"), corner: Some(high) }),
        (Some(low), _) => Ok(Cut { place: at("low_cut"), corner: Some(low) }),
        (None, Some(high)) => Ok(Cut { place: at("high_pass"), corner: Some(high) }),
        (None, None) if mixed => Err(Undecided::need(at("low_cut"))),
        (None, None) => {
            let none = plays::corner(job, channels, "low_cut", None, Plays::HighPassed)?;
            Ok(Cut { place: channels.set(), corner: none })
        }
    }
}

fn none(site: &Site<'_>, job: &Job<'_>, place: Place) -> Finding {
    let mend = match tuned(site, job) {
        Ok((tuned, limit)) => format!("set the subsonic filter between {limit} and {tuned} and state it as `low_cut`"),
        Err(_) => "set the subsonic filter just under the tuning of the box and state it as `low_cut`".to_owned(),
    };
    let low_cut = Place::of(format!("{place}.low_cut"));
    let offer = tuned(site, job).ok().map(|(_, limit)| {
        let whole = Quantity::<Frequency>::new(limit.base().ceil());
        Offer::new(format!("low cut at {whole}")).set(low_cut, whole)
    });
    Finding::new(place, "no low cut on a vented box")
        .label("no low_cut here")
        .also(site.enclosure.at("kind"), "vented")
        .because(WHY)
        .mend(mend)
        .offers(offer)
}

/// The tuning, and the lowest corner that goes with it, to a tenth of a hertz.
fn tuned(site: &Site<'_>, job: &Job<'_>) -> Decided<(Quantity<Frequency>, Quantity<Frequency>)> {
    let tenth = |hertz: f64| Quantity::<Frequency>::new((hertz * 10.0).round() / 10.0);
    let tuned = tenth(tuning(site.vent()?, site.net()?.0.base()));
    Ok((tuned, tenth(tuned.base() * job.house.limits.low_cut_below_tuning.base())))
}

#[cfg(test)]
mod tests {
    use super::super::site::vented as plan;
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    /// 78.5 cm2 and 250 + 73.15 mm on 50 l: 343 / 2 pi x sqrt(0.00785 / (0.05 x 0.323)) = 38.1 Hz; half an octave under
    /// it is 26.9 Hz.
    #[test]
    fn half_an_octave_under_the_tuning_is_the_lowest() {
        assert_eq!(outcome(&plan("low_cut: 26.9 Hz"), "BOX-04", "enclosures.box"), Outcome::Pass);
        assert_eq!(outcome(&plan("low_cut: 26.8 Hz"), "BOX-04", "enclosures.box"), Outcome::Fail);
    }

    #[test]
    fn a_setting_worked_out_without_one_fails_and_a_high_pass_is_one() {
        let without = plan("gain_target: 20 V, low_pass: 80 Hz").replace("enclosure:", "kind: subwoofer, enclosure:");
        let failed = check(&without, "BOX-04", "enclosures.box");
        let finding = failed.finding.expect("it fails");
        assert_eq!(
            (finding.at.place.path().as_str(), finding.mend.as_str()),
            ("settings.amp", "set the subsonic filter between 26.9 Hz and 38.1 Hz and state it as `low_cut`")
        );
        let with = without.replace("low_pass", "high_pass: 26.9 Hz, low_pass");
        assert_eq!(outcome(&with, "BOX-04", "enclosures.box"), Outcome::Pass);
        let processor = without + "sources: {dsp: {kind: processor}}\nsignals: {one: {from: dsp, to: amp.line}}\n";
        let open = check(&processor, "BOX-04", "enclosures.box");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "settings.amp.low_cut"));
    }

    #[test]
    fn the_weaker_of_two_amplifiers_counts() {
        let text = "plan: 1\namplifiers: {one: {}, two: {}}\ndrivers: {a: {enclosure: box, coils: [4 ohm]}, b: {enclosure: box, \
                    coils: [4 ohm]}}\nenclosures: {box: {kind: vented, net_volume: 50 L, vent: {diameter: 100 mm, length: \
                    250 mm}}}\nloads: {a: {amplifier: one, outputs: [1], coils: a}, b: {amplifier: two, outputs: [1], coils: b}}\n\
                    settings: {one: {low_cut: 30 Hz}, two: {low_cut: 15 Hz}}\n";
        let finding = check(text, "BOX-04", "enclosures.box").finding.expect("it fails");
        assert_eq!(finding.at.place.path(), "settings.two.low_cut");
    }

    #[test]
    fn a_low_cut_that_is_not_stated_is_asked_for() {
        assert_eq!(check(&plan("low_pass: 80 Hz"), "BOX-04", "enclosures.box").outcome, Outcome::Open);
        let sealed = plan("low_pass: 80 Hz").replace("vented", "sealed");
        assert_eq!(outcome(&sealed, "BOX-04", "enclosures.box"), Outcome::NotApplicable);
    }

    #[test]
    fn the_higher_of_low_cut_and_high_pass_counts() {
        let bass = |setting: &str| plan(setting).replace("enclosure:", "kind: subwoofer, enclosure:");
        let of = |setting: &str| outcome(&bass(setting), "BOX-04", "enclosures.box");
        assert_eq!(of("low_cut: 20 Hz, high_pass: 26.9 Hz"), Outcome::Pass);
        assert_eq!(of("low_cut: 26.9 Hz, high_pass: 20 Hz"), Outcome::Pass);
        for (setting, place) in [
            ("low_cut: 20 Hz, high_pass: 26.8 Hz", "settings.amp.high_pass"),
            ("low_cut: 26.8 Hz, high_pass: 20 Hz", "settings.amp.low_cut"),
            ("low_cut: 20 Hz, high_pass: 20 Hz", "settings.amp.low_cut"),
        ] {
            assert_eq!(finding(&bass(setting), "BOX-04", "enclosures.box").at.place.path(), place);
        }
    }

    /// The setting of outputs that play mids too says nothing of what the box gets.
    #[test]
    fn outputs_that_play_mids_too_leave_it_open() {
        let text = plan("gain_target: 20 V, high_pass: 30 Hz")
            .replace("sub: {", "mid: {kind: midrange, coils: [4 ohm]}, sub: {kind: subwoofer, ")
            .replace("loads: {", "loads: {top: {amplifier: amp, outputs: [2], coils: mid}, ");
        let open = check(&text, "BOX-04", "enclosures.box");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "settings.amp.low_cut"));
    }

    /// 100 mm by 78.5 mm are the area of the round vent.
    #[test]
    fn a_slot_is_tuned_as_a_round_vent_of_its_area() {
        let slot = |cut: &str| plan(cut).replace("diameter: 100 mm", "width: 100 mm, height: 78.5 mm");
        assert_eq!(outcome(&slot("low_cut: 26.9 Hz"), "BOX-04", "enclosures.box"), Outcome::Pass);
        assert_eq!(outcome(&slot("low_cut: 26.8 Hz"), "BOX-04", "enclosures.box"), Outcome::Fail);
        for (without, need) in [(", height: 78.5 mm", "height"), ("width: 100 mm, ", "width")] {
            let open = check(&slot("low_cut: 26.9 Hz").replace(without, ""), "BOX-04", "enclosures.box");
            assert_eq!((open.outcome, open.needs[0].path()), (Outcome::Open, format!("enclosures.box.vent.{need}")));
        }
    }

    #[test]
    fn a_vent_without_area_is_no_vent() {
        for none in ["100 mm, count: 0", "0 mm"] {
            let text = plan("low_cut: 26.9 Hz").replace("diameter: 100 mm", &format!("diameter: {none}"));
            assert_eq!(outcome(&text, "BOX-04", "enclosures.box"), Outcome::NotApplicable, "{none}");
        }
    }
}
