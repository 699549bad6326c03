//! A radio that misses its speaker mutes the channel that the signal is taken from.

use super::site;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::Signal;
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-06",
    name: "signal-no-load-left",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("no_load.md"),
    check: Subjects::Signal(check),
    slips: &[super::Slip::Say("signals.*.taken_at.speaker_kept", &["false"])],
};

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    let (_, device) = site::device(signal, job)?;
    if !site::is_speaker_level(signal, &device)? {
        return Err(Undecided::NotApplicable("it is taken at a line output"));
    }
    let converter = site::converter(signal, job)?;
    let kept = site::taken(signal, |tap| tap.speaker_kept);
    let loads = converter.as_ref().map(|converter| converter.loads_source);
    let resistor = site::taken(signal, |tap| tap.load_resistor) == Some(true);
    if kept == Some(true) || resistor || loads == Some(Some(true)) || device.senses_load == Some(false) {
        return Ok(Verdict::pass());
    }
    device.need("senses_load", &device.senses_load)?;
    let kept = signal.need("taken_at.speaker_kept", &kept)?;
    if let Some(converter) = &converter {
        converter.need("loads_source", &converter.loads_source)?;
    }
    Ok(Verdict::pass_if(kept, || {
        Finding::new(
            signal.at("taken_at.speaker_kept"),
            format!("`{}` senses its speakers and has none left", device.name),
        )
        .label("taken away here")
        .also(device.at("senses_load"), "falls silent without a load")
        .because("a radio that finds no speaker takes the channel for broken and mutes it")
        .mend(
            "keep the factory speaker, or load the output with a resistor such as 47 ohm 10 W and state `load_resistor: \
             true`",
        )
        .offer(Offer::new("fit a load resistor").set(signal.at("taken_at.load_resistor"), true))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(source: &str, kept: &str, converter: &str) -> Outcome {
        let plan = format!(
            "plan: 1\nsources: {{radio: {{outputs: speaker-level, {source}}}}}\nconverters: {{loc: {{{converter}}}}}\n\
             signals: {{left: {{from: radio, taken_at: {{speaker: rear-left, {kept}}}, through: loc}}}}\n"
        );
        outcome(&plan, "SIGNAL-06", "signals.left")
    }

    #[test]
    fn one_of_speaker_and_converter_must_load_a_radio_that_senses() {
        let (yes, gone) = ("senses_load: true", "speaker_kept: false");
        assert_eq!(of(yes, gone, "loads_source: false"), Outcome::Fail);
        assert_eq!(of(yes, gone, "loads_source: true"), Outcome::Pass);
        assert_eq!(of(yes, "speaker_kept: true", "loads_source: false"), Outcome::Pass);
        assert_eq!(of("senses_load: false", gone, "loads_source: false"), Outcome::Pass);
        assert_eq!(of(yes, "speaker_kept: false, load_resistor: true", "loads_source: false"), Outcome::Pass);
    }

    #[test]
    fn what_decides_has_to_be_stated() {
        assert_eq!(of("level: 8 V", "speaker_kept: false", "loads_source: false"), Outcome::Open);
        assert_eq!(of("senses_load: true", "plays: full-range", "loads_source: false"), Outcome::Open);
        assert_eq!(of("senses_load: true", "speaker_kept: false", "ratio: 0.5"), Outcome::Open);
    }
}
