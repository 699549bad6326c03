//! A subwoofer plays bass only.

use super::plays::{Part, corner, part, unless};
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, Verdict, at_most};
use crate::plan::Plays;
use crate::solve::channels::Channels;
use crate::solve::{Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-02",
    name: "subwoofer-low-pass",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("no_low_pass.md"),
    check: Subjects::Each(|job| super::site::each(job, check)),
    slips: &[super::Slip::Past("settings.*.low_pass"), super::Slip::Drop("settings.*.low_pass")],
};

fn check<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Judged {
    let part = part(job, channels)?;
    if !matches!(part, Part::Bass | Part::Mixed) {
        return Err(Undecided::NotApplicable("no subwoofer hangs on these outputs"));
    }
    let mixed = part == Part::Mixed;
    let stated = channels.setting.as_ref().and_then(|setting| setting.low_pass);
    let limit = job.house.limits.subwoofer_low_pass;
    let usual = Offer::new("low-pass at 80 Hz").set(channels.at("low_pass"), "80 Hz");
    let Some(corner) =
        corner(job, channels, "low_pass", stated, Plays::LowPassed).map_err(|open| unless(mixed, open))?
    else {
        let finding = Finding::new(channels.set(), "no low-pass on a subwoofer").label("no low_pass here");
        return Ok(Verdict::fail(told(finding, mixed).offers((!mixed).then_some(usual))));
    };
    Ok(at_most(corner, limit.value)
        .formula("corner of the low-pass <= highest for a subwoofer")
        .given(Input::stated("low-pass", corner, channels.at("low_pass")))
        .limit_from(limit.source)
        .verdict(|is| {
            let title = format!("low-pass of a subwoofer at {corner}, at most {} allowed", is.limit());
            told(Finding::new(channels.at("low_pass"), title).label(format!("{corner} here")), mixed)
                .offers((!mixed).then_some(usual))
        }))
}

fn told(finding: Finding, mixed: bool) -> Finding {
    finding
        .because("above some 120 Hz the ear tells where the sound comes from, and voices boom out of the cargo space")
        .mend(if mixed {
            "give the outputs of the subwoofer a setting of their own (`amplifier`, `outputs`), with a low-pass of about 80 Hz"
        } else {
            "set the low-pass to about 80 Hz"
        })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(setting: &str) -> String {
        format!(
            "plan: 1\namplifiers: {amps}\ndrivers: {drivers}\nloads: {loads}\nsettings: {{amp: {{{setting}}}}}\n",
            amps = "{amp: {rated: [{load: 4 ohm, power: 300 W}, {load: 2 ohm, power: 500 W}]}}",
            drivers = "{sub: {kind: subwoofer, rms: 450 W, coils: [4 ohm, 4 ohm]}}",
            loads = "{bass: {amplifier: amp, outputs: [1], coils: {parallel: [sub.1, sub.2]}}}",
        )
    }

    #[test]
    fn the_highest_corner_passes_and_one_hertz_more_fails() {
        assert_eq!(outcome(&plan("low_pass: 120 Hz"), "TUNE-02", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&plan("low_pass: 121 Hz"), "TUNE-02", "amplifiers.amp"), Outcome::Fail);
    }

    #[test]
    fn a_setting_worked_out_without_one_fails_and_one_not_worked_out_is_open() {
        let failed = check(&plan("gain_target: 30 V"), "TUNE-02", "amplifiers.amp");
        assert_eq!(failed.finding.expect("it fails").at.place.path(), "settings.amp");
        let check = check(&plan(""), "TUNE-02", "amplifiers.amp");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "settings.amp.low_pass"));
    }

    #[test]
    fn a_processor_before_the_amplifier_may_filter() {
        let text = plan("gain_target: 30 V")
            + "sources: {dsp: {kind: processor}}\nsignals: {left: {from: dsp, to: amp.line-left}}\n";
        assert_eq!(outcome(&text, "TUNE-02", "amplifiers.amp"), Outcome::Open);
    }

    #[test]
    fn a_bass_output_mostly_has_a_low_pass_of_its_own() {
        let of = |tap: &str| {
            let more =
                "sources: {radio: {kind: aftermarket}}\nsignals: {one: {from: radio, taken_at: {TAP}, to: amp.line}}\n";
            outcome(&(plan("gain_target: 30 V") + &more.replace("TAP", tap)), "TUNE-02", "amplifiers.amp")
        };
        assert_eq!(of("output: bass"), Outcome::Open);
        assert_eq!(of("output: bass, plays: full-range"), Outcome::Fail);
        assert_eq!(of("output: rear-left"), Outcome::Fail);
    }

    #[test]
    fn other_speakers_need_none() {
        let text = plan("gain_target: 30 V").replace("subwoofer", "full-range");
        assert_eq!(outcome(&text, "TUNE-02", "amplifiers.amp"), Outcome::NotApplicable);
    }

    /// One setting for a subwoofer and a door speaker: whichever filter it has, it is wrong for one of the two.
    #[test]
    fn a_subwoofer_beside_other_speakers_wants_one_too() {
        let text = |setting: &str| {
            plan(setting)
                .replace("drivers: {", "drivers: {door: {kind: full-range, coils: [4 ohm]}, ")
                .replace("loads: {", "loads: {front: {amplifier: amp, outputs: [2], coils: door}, ")
        };
        let of = |setting: &str| {
            let text = text(setting);
            ["TUNE-02", "TUNE-03"].map(|code| outcome(&text, code, "amplifiers.amp"))
        };
        assert_eq!(of("gain_target: 30 V"), [Outcome::Fail, Outcome::Fail]);
        assert_eq!(of("gain_target: 30 V, low_pass: 80 Hz"), [Outcome::Pass, Outcome::Fail]);
        assert_eq!(of("gain_target: 30 V, high_pass: 80 Hz"), [Outcome::Fail, Outcome::Pass]);
        let finding = check(&text("gain_target: 30 V"), "TUNE-02", "amplifiers.amp").finding.expect("it fails");
        assert!(finding.mend.contains("a setting of their own") && finding.offers.is_empty(), "{}", finding.mend);
    }

    /// Lower for all of them would leave the doors without voices.
    #[test]
    fn a_low_pass_for_a_subwoofer_is_not_offered_to_the_doors() {
        let text = "plan: 1\namplifiers: {amp: {}}\ndrivers: {sub: {kind: subwoofer}, door: {kind: full-range}}\nloads:\n  \
                    a: {amplifier: amp, outputs: [1], coils: sub.1}\n  b: {amplifier: amp, outputs: [2], coils: door.1}\n\
                    settings: {amp: {low_pass: 200 Hz}}\n";
        let finding = check(text, "TUNE-02", "amplifiers.amp").finding.expect("it fails");
        assert!(finding.offers.is_empty(), "{:?}", finding.offers);
    }
}
