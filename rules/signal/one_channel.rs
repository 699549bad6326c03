//! Bass summed from one channel lacks what is on the other.

use std::collections::BTreeSet;

use super::site;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Amplifier, Plays};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-08",
    name: "signal-one-channel",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("one_channel.md"),
    check: Subjects::Amplifier(check),
    slips: &[super::Slip::Drop("signals.*"), super::Slip::Mistake("signals.*.taken_at.output|speaker")],
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    if !site::plays_bass(amplifier, job) {
        return Err(Undecided::NotApplicable("it plays no subwoofer"));
    }
    let signals = site::reaching(amplifier.name, job);
    let first = *signals.first().ok_or(Undecided::NotApplicable("no signal reaches it (PLAN-03 reports that)"))?;
    let taps = || signals.iter().filter_map(|signal| signal.plan().taken_at.as_ref());
    if taps().any(|tap| site::is_bass_output(tap) || tap.plays == Some(Plays::LowPassed)) {
        return Ok(Verdict::pass());
    }
    let mut channels = BTreeSet::new();
    for signal in &signals {
        let tap = signal.plan().taken_at.as_ref();
        channels.insert(tap.and_then(|tap| tap.speaker.as_deref().or(tap.output.as_deref())).unwrap_or(signal.name));
    }
    if channels.len() > 1 {
        return Ok(Verdict::pass());
    }
    let speaker = site::taken(first, |tap| tap.speaker.clone());
    let output = site::taken(first, |tap| tap.output.clone());
    let key = if speaker.is_some() { "taken_at.speaker" } else { "taken_at.output" };
    let tap = first.need(key, &speaker.or(output))?;
    Ok(Verdict::fail(
        Finding::new(first.at(key), format!("`{}` gets its bass from one channel, `{tap}`", amplifier.name))
            .label("the only channel")
            .because("bass that is mixed to one side, and half of the level, is lost")
            .mend("take the left and the right channel"),
    ))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(signals: &str, kind: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nsources: {{radio: {{}}}}\ndrivers: {{sub: {{kind: {kind}}}}}\n\
             signals: {{{signals}}}\nloads: {{bass: {{amplifier: amp, coils: sub.1}}}}\n"
        );
        outcome(&plan, "SIGNAL-08", "amplifiers.amp")
    }

    const LEFT: &str = "left: {from: radio, taken_at: {speaker: rear-left}, to: amp.line-left}";

    #[test]
    fn bass_wants_both_channels() {
        assert_eq!(of(LEFT, "subwoofer"), Outcome::Fail);
        let right = format!("{LEFT}, right: {{from: radio, taken_at: {{speaker: rear-right}}, to: amp.line-right}}");
        assert_eq!(of(&right, "subwoofer"), Outcome::Pass);
        assert_eq!(of(LEFT, "full-range"), Outcome::NotApplicable);
    }

    #[test]
    fn two_leads_from_one_speaker_are_one_channel() {
        let again = format!("{LEFT}, again: {{from: radio, taken_at: {{speaker: rear-left}}, to: amp.line-right}}");
        assert_eq!(of(&again, "subwoofer"), Outcome::Fail);
    }

    #[test]
    fn an_output_made_for_bass_is_summed_already_and_an_unnamed_tap_is_open() {
        assert_eq!(of("bass: {from: radio, taken_at: {output: bass}, to: amp.line}", "subwoofer"), Outcome::Pass);
        assert_eq!(of("one: {from: radio, to: amp.line}", "subwoofer"), Outcome::Open);
    }
}
