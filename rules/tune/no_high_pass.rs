//! Small speakers cannot play deep bass.

use super::ceiling::setting;
use super::plays::{Part, corner, part};
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Amplifier, Plays};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-03",
    name: "small-speaker-high-pass",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("no_high_pass.md"),
    check: Subjects::Amplifier(check),
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    if part(job, amplifier)? != Part::Small {
        return Err(Undecided::NotApplicable("no small speakers, or subwoofers beside them, on this amplifier"));
    }
    let stated = setting(job, amplifier).and_then(|setting| setting.high_pass);
    let corner = corner(job, amplifier, "high_pass", stated, Plays::HighPassed)?;
    Ok(Verdict::pass_if(corner.is_some(), || {
        Finding::new(Place::of(format!("settings.{}", amplifier.name)), "no high-pass on small speakers")
            .label("no high_pass here")
            .because("deep bass drives a small cone to its stops: it distorts at half volume and breaks at full")
            .mend("set a high-pass of about 80 Hz for full-range speakers, and higher for midranges and tweeters")
    }))
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
            let with = plan(kind, "gain_target: 12 V, high_pass: 80 Hz");
            assert_eq!(outcome(&with, "TUNE-03", "amplifiers.amp"), Outcome::Pass, "{kind}");
        }
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
}
