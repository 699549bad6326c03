//! A speaker output on a line input overdrives it, and may short the output stage.

use super::site;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::Signal;
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-05",
    name: "signal-speaker-into-line",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("speaker_into_line.md"),
    check: Subjects::Signal(check),
    slips: &[super::Slip::Drop("signals.*.through"), super::Slip::Mistake("signals.*.to")],
};

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    if signal.through.is_some() {
        return Err(Undecided::NotApplicable("it goes through a converter"));
    }
    let (_, device) = site::device(signal, job)?;
    if !site::is_speaker_level(signal, &device)? {
        return Err(Undecided::NotApplicable("it is taken at a line output"));
    }
    let to = signal.need("to", &signal.to)?;
    let inputs = site::inputs(&to.thing, job).and_then(|(_, inputs)| inputs);
    let other = inputs.and_then(|inputs| inputs.speaker_level);
    let mend = if other.is_some() {
        format!("use the speaker-level input of `{}`", to.thing)
    } else {
        "put a converter from speaker level to line level between".to_owned()
    };
    Ok(Verdict::pass_if(site::to_speaker_input(signal)?, || {
        Finding::new(signal.at("to"), format!("speaker output of `{}` on the line input `{to}`", device.name))
            .label("made for line level")
            .because("a speaker output gives more voltage than a line input takes, and its minus is mostly driven too, and is not ground")
            .mend(mend)
            .offers(other.map(|_| {
                let side = to.terminal.strip_prefix("line").unwrap_or_default();
                let input = format!("{}.speaker{side}", to.thing);
                Offer::new(format!("take it to {input}")).set(signal.at("to"), input)
            }))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(outputs: &str, rest: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nsources: {{radio: {{{outputs}}}}}\nsignals: {{left: {{from: radio, {rest}}}}}\n"
        );
        outcome(&plan, "SIGNAL-05", "signals.left")
    }

    #[test]
    fn a_speaker_output_wants_a_speaker_input_or_a_converter() {
        assert_eq!(of("outputs: speaker-level", "to: amp.line-left"), Outcome::Fail);
        assert_eq!(of("outputs: speaker-level", "to: amp.speaker-left"), Outcome::Pass);
        assert_eq!(of("outputs: speaker-level", "through: loc, to: amp.line-left"), Outcome::NotApplicable);
        assert_eq!(of("outputs: line", "to: amp.line-left"), Outcome::NotApplicable);
    }

    #[test]
    fn the_tap_decides_before_the_source() {
        assert_eq!(of("", "to: amp.line"), Outcome::Open);
        assert_eq!(of("", "taken_at: {speaker: rear-left}, to: amp.line"), Outcome::Fail);
        assert_eq!(of("", "taken_at: {output: rear-left}, to: amp.line"), Outcome::NotApplicable);
        assert_eq!(of("outputs: line", "taken_at: {speaker: rear-left}, to: amp.line"), Outcome::Fail);
    }
}
