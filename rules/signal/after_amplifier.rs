//! Behind a factory amplifier the music is equalised, limited and split.

use super::site;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Signal, SourceKind};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-02",
    name: "signal-after-factory-amplifier",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("after_amplifier.md"),
    check: Subjects::Signal(check),
    slips: &[super::Slip::Say("sources.*.kind", &["factory-amplifier"])],
};

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    let (key, device) = site::device(signal, job)?;
    if site::to_processor(signal, job) {
        return Err(Undecided::NotApplicable("a processor can undo what the factory amplifier has done"));
    }
    let kind = device.need("kind", &device.kind)?;
    if kind == SourceKind::Factory && key == "from" && site::is_speaker_level(signal, &device)? {
        // A factory radio's speaker leads may run through an amplifier that nobody has seen yet.
        return Err(Undecided::need(signal.at("taken_at.after")));
    }
    Ok(Verdict::pass_if(kind != SourceKind::FactoryAmplifier, || {
        Finding::new(signal.at(key), format!("signal taken after the factory amplifier `{}`", device.name))
            .label("equalised and limited here")
            .also(device.at("kind"), "the amplifier the vehicle came with")
            .because(
                "a factory amplifier equalises for its own speakers, and takes the bass back as the volume goes up",
            )
            .mend("take the signal in front of it, or fit a processor that undoes its equalising and name that as the source")
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(radio: &str, signal: &str) -> Outcome {
        let plan = format!(
            "plan: 1\nsources: {{radio: {{{radio}}}, booster: {{kind: factory-amplifier}}}}\n\
             signals: {{left: {{{signal}}}}}\n"
        );
        outcome(&plan, "SIGNAL-02", "signals.left")
    }

    #[test]
    fn the_device_whose_output_it_is_decides() {
        let radio = "kind: factory, outputs: speaker-level";
        assert_eq!(of(radio, "from: radio, taken_at: {after: radio}"), Outcome::Pass);
        assert_eq!(of(radio, "from: radio, taken_at: {after: booster}"), Outcome::Fail);
        assert_eq!(of(radio, "from: booster"), Outcome::Fail);
        assert_eq!(of("kind: aftermarket, outputs: line", "from: radio"), Outcome::Pass);
    }

    #[test]
    fn a_factory_radio_may_have_an_amplifier_behind_it() {
        assert_eq!(of("kind: factory, outputs: speaker-level", "from: radio"), Outcome::Open);
        assert_eq!(of("", "from: radio, taken_at: {after: radio}"), Outcome::Open);
    }

    /// Levels into a processor are held against its own inputs.
    #[test]
    fn a_processor_takes_what_a_factory_amplifier_gives() {
        let of = |kind: &str, code: &str| {
            let text = format!(
                "plan: 1\nsources:\n  amp: {{kind: factory-amplifier, outputs: speaker-level, level: 10 V}}\n  \
                 dsp: {{kind: {kind}, inputs: {{speaker_level: 2 V .. 9 V}}}}\n\
                 signals: {{left: {{from: amp, taken_at: {{speaker: front-left, after: amp}}, to: dsp.speaker-left}}}}\n"
            );
            outcome(&text, code, "signals.left")
        };
        assert_eq!(of("processor", "SIGNAL-02"), Outcome::NotApplicable);
        assert_eq!(of("aftermarket", "SIGNAL-02"), Outcome::Fail);
        assert_eq!(of("processor", "SIGNAL-03"), Outcome::Fail);
        assert_eq!(of("aftermarket", "SIGNAL-03"), Outcome::NotApplicable);
    }
}
