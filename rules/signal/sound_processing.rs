//! Noise cancelling that was tuned to the old speakers works against the new ones.

use super::site;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{SoundProcessing, Source, SourceKind};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-12",
    name: "signal-sound-processing",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("sound_processing.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Say("sources.*.sound_processing", &["active"])],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let sources = job.plan.sources.iter().map(|(name, is)| Thing::new("sources", name, is));
    sources.map(|source| (source.place(), of(&source, job))).collect()
}

fn of(source: &Thing<'_, Source>, job: &Job<'_>) -> Judged {
    let plays = job.signals.iter().any(|signal| {
        signal.from.as_deref() == Some(source.name)
            || site::taken(signal, |tap| tap.after.clone()).as_deref() == Some(source.name)
    });
    if !plays {
        return Err(Undecided::NotApplicable("no signal is taken from it"));
    }
    if source.sound_processing.is_none() && matches!(source.kind, Some(SourceKind::Aftermarket | SourceKind::Processor))
    {
        return Err(Undecided::NotApplicable("it was fitted later and adds no engine sound"));
    }
    let processing = source.need("sound_processing", &source.sound_processing)?;
    Ok(Verdict::pass_if(processing != SoundProcessing::Active, || {
        Finding::new(
            source.at("sound_processing"),
            format!("noise cancelling or engine sound of `{}` stays on", source.name),
        )
        .label("active")
        .because("it was tuned to the factory speakers; through a subwoofer it booms and drones")
        .mend("switch it off in the vehicle's settings or unplug its module, and state `disabled`")
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(source: &str) -> Outcome {
        let plan = format!("plan: 1\nsources: {{radio: {{{source}}}}}\nsignals: {{left: {{from: radio}}}}\n");
        outcome(&plan, "SIGNAL-12", "sources.radio")
    }

    #[test]
    fn it_has_to_be_off_or_absent() {
        assert_eq!(of("kind: factory, sound_processing: active"), Outcome::Fail);
        assert_eq!(of("kind: factory, sound_processing: disabled"), Outcome::Pass);
        assert_eq!(of("kind: factory, sound_processing: none"), Outcome::Pass);
    }

    #[test]
    fn it_is_asked_of_factory_gear_only() {
        assert_eq!(of("kind: factory"), Outcome::Open);
        assert_eq!(of("kind: aftermarket"), Outcome::NotApplicable);
    }

    #[test]
    fn a_device_that_the_signal_is_taken_after_plays_and_one_beside_it_does_not() {
        let text = "plan: 1\nsources: {radio: {}, boot: {kind: factory, sound_processing: active}, spare: {}}\n\
                    signals: {left: {from: radio, taken_at: {after: boot}}}\n";
        assert_eq!(outcome(text, "SIGNAL-12", "sources.boot"), Outcome::Fail);
        assert_eq!(outcome(text, "SIGNAL-12", "sources.spare"), Outcome::NotApplicable);
    }
}
