//! Small speakers cannot play deep bass.

use super::plays::{Part, corner, drivers, has_small, part, unless};
use crate::house::Limit;
use crate::judge::{Comparison, Finding, Input, Judged, Offer, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::{DriverKind, Load, Plays, Signal};
use crate::quantity::{Frequency, Quantity};
use crate::rules::signal::site::{played, taken};
use crate::solve::channels::Channels;
use crate::solve::coils::{Band, band};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-03",
    name: "small-speaker-high-pass",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("no_high_pass.md"),
    check: Subjects::Each(|job| super::site::each(job, check)),
    slips: &[super::Slip::Past("settings.*.high_pass"), super::Slip::Drop("settings.*.high_pass")],
};

fn check<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Judged {
    let part = part(job, channels)?;
    if !matches!(part, Part::Small | Part::Mixed) || !has_small(&drivers(job, channels)?)? {
        return Err(Undecided::NotApplicable("no small speakers on these outputs"));
    }
    let mixed = part == Part::Mixed;
    let stated = channels.setting.as_ref().and_then(|setting| setting.high_pass);
    let Some(corner) =
        corner(job, channels, "high_pass", stated, Plays::HighPassed).map_err(|open| unless(mixed, open))?
    else {
        return Ok(Verdict::fail(
            Finding::new(channels.set(), "no high-pass on small speakers")
                .label("no high_pass here")
                .because("deep bass drives a small cone to its stops: it distorts at half volume and breaks at full")
                .mend(if mixed {
                    "give their outputs a setting of their own (`amplifier`, `outputs`), with a high-pass of about 80 Hz"
                } else {
                    "set a high-pass of about 80 Hz for full-range speakers, and higher for midranges and tweeters"
                })
                .offers(["80 Hz", "3 kHz"].into_iter().filter(|_| !mixed).map(|corner| high_pass(channels, corner))),
        ));
    };
    let only = drivers(job, channels)?.iter().all(|(_, _, kind)| *kind == DriverKind::Tweeter);
    let alone = channels.loads.iter().find(|load| only || is_tweeter_alone(load, channels, job));
    Ok(match alone {
        Some(load) => high_enough_for_tweeters(channels, job, corner, (!only).then_some(load)),
        None => high_enough(channels, job, corner),
    })
}

/// Whether a load is tweeters and nothing else, so that no crossover in it holds the bass off, and no filter in front of
/// the amplifier does.
fn is_tweeter_alone(load: &Load, channels: &Channels<'_>, job: &Job<'_>) -> bool {
    let signals = played(channels.amplifier.name, load, job);
    let filtered = |signal: &Signal| taken(signal, |tap| tap.plays) == Some(Plays::HighPassed);
    let is_filtered = !signals.is_empty() && signals.iter().all(|signal| filtered(signal));
    load.coils.as_ref().is_some_and(|coils| band(job, coils) == Band::High) && !is_filtered
}

fn high_pass(channels: &Channels<'_>, corner: &str) -> Offer {
    Offer::new(format!("high-pass at {corner}")).set(channels.at("high_pass"), corner)
}

/// The corner for a subsonic filter is no protection for a door speaker.
fn high_enough(channels: &Channels<'_>, job: &Job<'_>, corner: Quantity<Frequency>) -> Verdict {
    let place = channels.at("high_pass");
    compared(channels, corner, job.house.limits.small_high_pass, "corner of the high-pass >= lowest for small speakers")
        .verdict(|is| {
            Finding::new(place, format!("high-pass of small speakers at {corner}, at least {} needed", is.limit()))
                .label(format!("{corner} here"))
                .because("a filter so low lets through the deep bass that drives a small cone to its stops")
                .mend("set a high-pass of about 80 Hz for full-range speakers, and higher for midranges")
                .offer(high_pass(channels, "80 Hz"))
        })
}

/// The corner of a door speaker is none for a tweeter. With one that shares its setting with other speakers the setting has
/// to be parted first.
fn high_enough_for_tweeters(
    channels: &Channels<'_>,
    job: &Job<'_>,
    corner: Quantity<Frequency>,
    beside_others: Option<&Thing<'_, Load>>,
) -> Verdict {
    let place = channels.at("high_pass");
    compared(channels, corner, job.house.limits.tweeter_high_pass, "corner of the high-pass >= lowest for tweeters").verdict(|is| {
        let finding =
            Finding::new(place, format!("high-pass of tweeters at {corner}, at least {} needed", is.limit()))
                .label(format!("{corner} here"))
                .because(
                    "a tweeter moves by tenths of a millimetre and its coil withstands a few watts: bass kills it",
                );
        match beside_others {
            Some(load) => finding.also(load.at("coils"), "nothing but a tweeter, and no crossover before it").mend(
                "give the tweeters' outputs a setting of their own (`amplifier`, `outputs`), with a high-pass of 2 to 4 kHz, \
                 as their maker asks",
            ),
            None => finding
                .mend("set the high-pass to what the tweeter's maker asks, mostly 2 to 4 kHz")
                .offer(high_pass(channels, "3 kHz")),
        }
    })
}

fn compared(
    channels: &Channels<'_>,
    corner: Quantity<Frequency>,
    limit: Limit<Frequency>,
    formula: &'static str,
) -> Comparison {
    at_least(corner, limit.value)
        .formula(formula)
        .given(Input::stated("corner of the high-pass", corner, channels.at("high_pass")))
        .limit_from(limit.source)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(kind: &str, setting: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\ndrivers: {{front: {{kind: {kind}, coils: [4 ohm]}}}}\n\
             loads: {{left: {{amplifier: amp, outputs: [1], coils: front}}}}\nsettings: {{amp: {{{setting}}}}}\n"
        )
    }

    #[test]
    fn every_kind_of_small_speaker_wants_one() {
        for kind in ["full-range", "midrange", "tweeter", "woofer, size: 165 mm"] {
            let without = plan(kind, "gain_target: 12 V");
            assert_eq!(outcome(&without, "TUNE-03", "amplifiers.amp"), Outcome::Fail, "{kind}");
            let with = plan(kind, "gain_target: 12 V, high_pass: 3 kHz");
            assert_eq!(outcome(&with, "TUNE-03", "amplifiers.amp"), Outcome::Pass, "{kind}");
        }
    }

    #[test]
    fn the_corner_of_a_door_speaker_is_none_for_tweeters() {
        let of = |kind, corner: &str| {
            outcome(&plan(kind, &format!("gain_target: 12 V, high_pass: {corner}")), "TUNE-03", "amplifiers.amp")
        };
        assert_eq!(of("tweeter", "1 kHz"), Outcome::Pass);
        assert_eq!(of("tweeter", "999 Hz"), Outcome::Fail);
        assert_eq!(of("full-range", "50 Hz"), Outcome::Pass);
        assert_eq!(of("full-range", "49 Hz"), Outcome::Fail);
        assert_eq!(of("midrange", "20 Hz"), Outcome::Fail);
    }

    #[test]
    fn outputs_with_a_setting_of_their_own_are_judged_apart() {
        let text = "plan: 1\namplifiers: {amp: {}}\ndrivers: {front: {kind: full-range}, sub: {kind: subwoofer}}\n\
                    loads: {left: {amplifier: amp, outputs: [1], coils: front}, bass: {amplifier: amp, outputs: [2], coils: sub}}\n";
        let both = format!("{text}settings: {{amp: {{gain_target: 9 V}}}}\n");
        assert_eq!(outcome(&both, "TUNE-03", "amplifiers.amp"), Outcome::Fail);
        let apart = format!(
            "{text}settings: {{front: {{amplifier: amp, outputs: [1], gain_target: 9 V}}, amp: {{gain_target: 9 V}}}}\n"
        );
        assert_eq!(outcome(&apart, "TUNE-03", "settings.front"), Outcome::Fail);
        assert_eq!(outcome(&apart, "TUNE-02", "amplifiers.amp"), Outcome::Fail);
    }

    #[test]
    fn a_tweeter_behind_a_crossover_is_looked_after() {
        let text = "plan: 1\namplifiers: {amp: {}}\ndrivers: {low: {kind: woofer, size: 250 mm}, high: {kind: tweeter}}\n\
                    loads: {left: {amplifier: amp, outputs: [1], coils: {parallel: [low, high]}}}\nsettings: {amp: {gain_target: 9 V}}\n";
        assert_eq!(outcome(text, "TUNE-03", "amplifiers.amp"), Outcome::NotApplicable);
    }

    /// A tweeter by itself on output 2, under the setting of the woofer: 60 Hz hold nothing off it. Behind a crossover in its
    /// own load, or behind a processor that has filtered, it is looked after.
    #[test]
    fn a_tweeter_alone_on_its_output_wants_its_own_corner_whatever_shares_its_setting() {
        let of = |coils: &str, plays: &str| {
            check(
                &format!(
                    "plan: 1\namplifiers: {{amp: {{}}}}\nsources: {{dsp: {{kind: processor}}}}\ndrivers: {{door: {{kind: woofer, \
                     size: 165 mm}}, high: {{kind: tweeter}}, other: {{kind: woofer, size: 165 mm}}}}\nsignals: {{a: {{from: dsp, \
                     taken_at: {{plays: full-range}}, to: amp.line-1}}, b: {{from: dsp, taken_at: {{plays: {plays}}}, to: \
                     amp.line-2}}}}\nloads: {{a: {{amplifier: amp, outputs: [1], coils: door}}, b: {{amplifier: amp, outputs: [2], \
                     coils: {coils}}}}}\nsettings: {{amp: {{gain_target: 9 V, high_pass: 60 Hz}}}}\n"
                ),
                "TUNE-03",
                "amplifiers.amp",
            )
        };
        let finding = of("high", "full-range").finding.expect("it fails");
        assert_eq!(finding.title, "high-pass of tweeters at 60 Hz, at least 1000 Hz needed");
        assert_eq!(finding.also[0].place.path(), "loads.b.coils");
        assert!(finding.mend.starts_with("give the tweeters' outputs a setting of their own"), "{}", finding.mend);
        assert!(finding.offers.is_empty(), "3 kHz would take the woofer its bass");
        assert_eq!(of("{parallel: [other, high]}", "full-range").outcome, Outcome::Pass);
        assert_eq!(of("high", "high-passed").outcome, Outcome::Pass);
    }

    #[test]
    fn a_large_woofer_and_a_subwoofer_want_none() {
        for kind in ["woofer, size: 200 mm", "subwoofer"] {
            let text = plan(kind, "gain_target: 12 V");
            assert_eq!(outcome(&text, "TUNE-03", "amplifiers.amp"), Outcome::NotApplicable, "{kind}");
        }
    }

    #[test]
    fn what_is_not_stated_is_asked_for() {
        for (kind, setting, need) in [
            ("full-range", "", "settings.amp.high_pass"),
            ("woofer", "gain_target: 12 V", "drivers.front.size"),
            ("", "gain_target: 12 V", "drivers.front.kind"),
        ] {
            let check = check(&plan(kind, setting), "TUNE-03", "amplifiers.amp");
            assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, need));
        }
    }

    /// A subwoofer and a door speaker under one setting: the high-pass is for the outputs of the door alone, so it is not
    /// offered for all. Beside a woofer of 25 cm nothing is small.
    #[test]
    fn one_setting_for_a_subwoofer_and_small_speakers_is_parted_first() {
        let text = |other: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\ndrivers: {{sub: {{kind: subwoofer}}, other: {{kind: {other}}}}}\nloads:\n  \
                 a: {{amplifier: amp, outputs: [1], coils: sub.1}}\n  b: {{amplifier: amp, outputs: [2], coils: other.1}}\n\
                 settings: {{amp: {{gain_target: 12 V}}}}\n"
            )
        };
        let finding = check(&text("full-range"), "TUNE-03", "amplifiers.amp").finding.expect("it fails");
        assert!(finding.mend.starts_with("give their outputs a setting of their own"), "{}", finding.mend);
        assert!(finding.offers.is_empty(), "{:?}", finding.offers);
        let low = check(&text("full-range"), "TUNE-02", "amplifiers.amp").finding.expect("it fails");
        assert!(low.offers.is_empty(), "{:?}", low.offers);
        assert_eq!(outcome(&text("woofer, size: 250 mm"), "TUNE-03", "amplifiers.amp"), Outcome::NotApplicable);
    }
}
