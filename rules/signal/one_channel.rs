//! Bass summed from one channel lacks what is on the other.

use std::collections::BTreeSet;

use super::site;
use crate::judge::{Finding, Judged, Outcome, Rule, Severity, Subjects, Verdict};
use crate::plan::{Amplifier, Load, Plays, Signal};
use crate::solve::{Job, Thing, Undecided, coils};

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
    let loads = job.loads.iter().filter(|load| load.amplifier.as_deref() == Some(amplifier.name));
    let mut judged: Vec<Judged> =
        loads.filter(|load| coils::is_bass(job, load)).map(|load| of_load(amplifier, load, job)).collect();
    // What is surely wrong counts first, then what is not known.
    let rank = |judged: &Judged| match judged {
        Ok(verdict) if verdict.outcome == Outcome::Fail => 0,
        Err(Undecided::Open(_)) => 1,
        _ => 2,
    };
    judged.sort_by_key(rank);
    judged.into_iter().next().unwrap_or(Err(Undecided::NotApplicable("it plays no subwoofer")))
}

/// A bass load with the signals that it plays.
fn of_load(amplifier: &Thing<'_, Amplifier>, load: &Load, job: &Job<'_>) -> Judged {
    let signals = site::played(amplifier.name, load, job);
    let first = *signals.first().ok_or(Undecided::NotApplicable("no signal reaches it (PLAN-03 reports that)"))?;
    if let Some(bass) = signals.iter().find(|signal| is_summed(signal)) {
        let besides: Vec<_> = signals.iter().filter(|signal| is_beside(signal, bass, amplifier, job)).collect();
        let channels: BTreeSet<&str> = besides.iter().map(|signal| channel(signal)).collect();
        return Ok(match (channels.len(), besides.first()) {
            (1, Some(beside)) => Verdict::fail(added(amplifier, bass, beside)),
            _ => Verdict::pass(),
        });
    }
    let channels: BTreeSet<&str> = signals.iter().map(|signal| channel(signal)).collect();
    if channels.len() > 1 {
        return Ok(Verdict::pass());
    }
    let speaker = site::taken(first, |tap| tap.speaker.clone());
    let output = site::taken(first, |tap| tap.output.clone());
    let key = tap_key(first);
    let tap = first.need(key, &speaker.or(output))?;
    Ok(Verdict::fail(
        Finding::new(first.at(key), format!("`{}` gets its bass from one channel, `{tap}`", amplifier.name))
            .label("the only channel")
            .because("bass that is mixed to one side, and half of the level, is lost")
            .mend("take the left and the right channel"),
    ))
}

fn tap_key(signal: &Signal) -> &'static str {
    if site::taken(signal, |tap| tap.speaker.clone()).is_some() { "taken_at.speaker" } else { "taken_at.output" }
}

/// What a signal carries: its tap, or where that is not stated its own name.
fn channel<'j>(signal: &'j Thing<'_, Signal>) -> &'j str {
    let tap = signal.plan().taken_at.as_ref();
    tap.and_then(|tap| tap.speaker.as_deref().or(tap.output.as_deref())).unwrap_or(signal.name)
}

/// Whether left and right are in it already.
fn is_summed(signal: &Signal) -> bool {
    signal.taken_at.as_ref().is_some_and(|tap| site::is_bass_output(tap) || tap.plays == Some(Plays::LowPassed))
}

/// Whether a signal that is no bass output surely comes to the same bass by another input of the same kind: by the input's
/// number, or because the amplifier plays nothing else. A speaker lead beside a line input may only wake the amplifier.
fn is_beside(signal: &Signal, bass: &Signal, amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> bool {
    let mut loads = job.loads.iter().filter(|load| load.amplifier.as_deref() == Some(amplifier.name));
    let is_sure = site::input_number(signal).is_some() || loads.all(|load| coils::is_bass(job, load));
    let named = signal.taken_at.as_ref().is_some_and(|tap| tap.output.is_some() || tap.speaker.is_some());
    let speaker = |signal: &Signal| signal.to.as_ref().is_some_and(|to| to.terminal.starts_with("speaker"));
    !is_summed(signal) && is_sure && named && speaker(signal) == speaker(bass)
}

fn added(amplifier: &Thing<'_, Amplifier>, bass: &Thing<'_, Signal>, beside: &Thing<'_, Signal>) -> Finding {
    let (one, both) = (channel(beside), channel(bass));
    Finding::new(
        beside.at(tap_key(beside)),
        format!("the bass of `{}` gets one channel, `{one}`, beside `{both}`", amplifier.name),
    )
    .label("one channel only")
    .also(bass.at(tap_key(bass)), "both channels are in this already")
    .because("bass on that side comes twice, and the level of the bass output moves only part of it")
    .mend(format!(
        "take both inputs from `{both}`, through a one-to-two lead, or the one input that the amplifier's maker names"
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

    /// Doors on the front pair, a subwoofer across the rear pair.
    fn quad(signals: &[(&str, &str)]) -> (Outcome, Option<String>) {
        let signals = signals
            .iter()
            .enumerate()
            .map(|(at, (tap, to))| format!("  s{at}: {{from: radio, taken_at: {{output: {tap}}}, to: quad.{to}}}\n"));
        let text = format!(
            "plan: 1\namplifiers: {{quad: {{channels: 4}}}}\nsources: {{radio: {{}}}}\ndrivers: {{sub: {{kind: subwoofer}}, \
             left: {{kind: full-range}}, right: {{kind: full-range}}}}\nloads:\n  l: {{amplifier: quad, outputs: [1], coils: \
             left.1}}\n  r: {{amplifier: quad, outputs: [2], coils: right.1}}\n  bass: {{amplifier: quad, outputs: [3, 4], \
             coils: sub.1}}\nsignals:\n{}",
            signals.collect::<String>()
        );
        let check = crate::rules::trial::check(&text, "SIGNAL-08", "amplifiers.quad");
        (check.outcome, check.finding.map(|finding| finding.title))
    }

    #[test]
    fn across_a_bridged_pair_only_its_own_inputs_count() {
        let doors = [("front-left", "line-1"), ("front-right", "line-2")];
        let of = |rear: &[(&str, &str)]| quad(&[&doors, rear].concat());
        assert_eq!(of(&[("rear-left", "line-3"), ("rear-right", "line-4")]).0, Outcome::Pass);
        assert_eq!(of(&[("bass", "line-3")]).0, Outcome::Pass);
        assert_eq!(of(&[("bass", "line-3"), ("bass", "line-4")]).0, Outcome::Pass);
        let (outcome, title) = of(&[("front-left", "line-3")]);
        assert_eq!(outcome, Outcome::Fail);
        assert_eq!(title.as_deref(), Some("`quad` gets its bass from one channel, `front-left`"));
        // Nothing at its own inputs: the amplifier's switch may feed them from the front pair.
        assert_eq!(quad(&doors).0, Outcome::Pass);
        // An input without a number may be theirs.
        assert_eq!(of(&[("front-left", "line-3"), ("front-right", "line-rear")]).0, Outcome::Pass);
    }

    #[test]
    fn one_channel_beside_the_bass_output_is_too_much() {
        let doors = [("front-left", "line-1"), ("front-right", "line-2")];
        let of = |rear: &[(&str, &str)]| quad(&[&doors, rear].concat());
        let (outcome, title) = of(&[("front-left", "line-3"), ("bass", "line-4")]);
        assert_eq!(outcome, Outcome::Fail);
        assert_eq!(title.as_deref(), Some("the bass of `quad` gets one channel, `front-left`, beside `bass`"));
        assert_eq!(of(&[("bass", "line-3"), ("front-left", "speaker-4")]).0, Outcome::Pass, "it may only wake it");
        assert_eq!(of(&[("bass", "line-3"), ("front-left", "line-left")]).0, Outcome::Pass, "a door may play it");
    }

    #[test]
    fn an_amplifier_for_bass_alone_gets_no_channel_beside_the_bass_output() {
        let bass = "bass: {from: radio, taken_at: {output: bass}, to: amp.line-right}";
        let left = "left: {from: radio, taken_at: {output: front-left}, to: amp.line-left}";
        let right = "right: {from: radio, taken_at: {output: front-right}, to: amp.line-centre}";
        assert_eq!(of(&format!("{bass}, {left}"), "subwoofer"), Outcome::Fail);
        assert_eq!(of(&format!("{bass}, {left}, {right}"), "subwoofer"), Outcome::Pass);
        let unnamed = left.replace("taken_at: {output: front-left}, ", "");
        assert_eq!(of(&format!("{bass}, {unnamed}"), "subwoofer"), Outcome::Pass);
    }

    const NONE: &str = "no lead";

    /// One subwoofer gets both channels and one gets a single one, or a tap that nobody named: what is wrong is told whichever
    /// comes first, then what is not known.
    #[test]
    fn of_several_bass_loads_the_worst_is_told() {
        let of = |first: [&str; 2], second: [&str; 2]| {
            let lead = |at: usize, tap: &str| {
                let taken = if tap.is_empty() { String::new() } else { format!("taken_at: {{output: {tap}}}, ") };
                format!("  s{at}: {{from: radio, {taken}to: quad.line-{at}}}\n")
            };
            let leads = first.iter().chain(&second).enumerate().filter(|(_, tap)| **tap != NONE);
            let leads: String = leads.map(|(at, tap)| lead(at + 1, tap)).collect();
            let text = format!(
                "plan: 1\namplifiers: {{quad: {{channels: 4}}}}\nsources: {{radio: {{}}}}\ndrivers: {{one: {{kind: subwoofer}}, two: \
                 {{kind: subwoofer}}}}\nloads:\n  a: {{amplifier: quad, outputs: [1, 2], coils: one.1}}\n  b: {{amplifier: quad, \
                 outputs: [3, 4], coils: two.1}}\nsignals:\n{leads}"
            );
            outcome(&text, "SIGNAL-08", "amplifiers.quad")
        };
        let (both, one, unnamed) = (["rear-left", "rear-right"], ["front-left", "front-left"], ["", NONE]);
        assert_eq!((of(both, both), of(both, one), of(one, both)), (Outcome::Pass, Outcome::Fail, Outcome::Fail));
        assert_eq!((of(unnamed, one), of(one, unnamed)), (Outcome::Fail, Outcome::Fail));
        assert_eq!((of(unnamed, both), of(both, unnamed)), (Outcome::Open, Outcome::Open));
    }
}
