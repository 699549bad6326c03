//! Bass cannot be had from a tap where there is none.

use super::site;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Coils, Driver, DriverKind, Load, Plays, Signal};
use crate::solve::{Job, Thing, Undecided, coils};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-01",
    name: "signal-high-passed",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("high_passed.md"),
    check: Subjects::Signal(check),
    slips: &[super::Slip::Say("signals.*.taken_at.plays", &["high-passed"])],
};

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    if feeds_only_high_drivers(signal, job) {
        return Err(Undecided::NotApplicable("it feeds tweeters and midranges, which ask for no bass"));
    }
    let Some(plays) = site::taken(signal, |tap| tap.plays) else {
        let (_, device) = site::device(signal, job)?;
        return Err(if site::is_speaker_level(signal, &device)? {
            Undecided::need(signal.at("taken_at.plays"))
        } else {
            Undecided::NotApplicable("it is taken at a line output")
        });
    };
    if plays == Plays::HighPassed && bass_comes_from_elsewhere(signal, job) {
        return Err(Undecided::NotApplicable("another signal brings the bass to this amplifier"));
    }
    let tap = signal.plan().taken_at.as_ref();
    let tap = tap.and_then(|tap| tap.speaker.as_deref().or(tap.output.as_deref())).unwrap_or(signal.name);
    Ok(Verdict::pass_if(plays != Plays::HighPassed, || {
        Finding::new(signal.at("taken_at.plays"), format!("signal taken at `{tap}`, which gets no bass"))
            .label("high-passed here")
            .because("a filter in front of the tap has taken the bass away, and no gain brings it back")
            .mend("take the signal where all of the music is, as at a full-range door or rear speaker")
    }))
}

/// Whether the amplifier has speakers besides subwoofers, and another tap that brings it the bass: front speakers from a
/// high-passed tap, a subwoofer from another. Where the number of the input says what plays from it, the deepest speakers of
/// the job want that other tap at their own inputs.
fn bass_comes_from_elsewhere(signal: &Thing<'_, Signal>, job: &Job<'_>) -> bool {
    let Some(to) = &signal.to else { return false };
    let others = site::reaching(&to.thing, job).into_iter().filter(|other| other.address != signal.address);
    let bass =
        |other: &Signal| matches!(site::taken(other, |tap| tap.plays), Some(Plays::FullRange | Plays::LowPassed));
    let mut own = site::own_loads(to, job).filter(|load| has_deepest(load, job));
    if own.any(|load| !site::played(&to.thing, load, job).into_iter().any(|other| bass(other))) {
        return false;
    }
    let mut loads = job.loads.iter().filter(|load| load.amplifier.as_deref() == Some(to.thing.as_str()));
    let plays_more = site::to_processor(signal, job) || loads.any(|load| !coils::is_bass(job, load));
    plays_more && others.into_iter().any(|other| bass(other))
}

/// Whether a load holds speakers of the kind that plays the lowest part in this job.
fn has_deepest(load: &Load, job: &Job<'_>) -> bool {
    let depth = |driver: &Driver| match driver.kind? {
        DriverKind::Subwoofer => Some(0),
        DriverKind::Woofer => Some(1),
        DriverKind::FullRange => Some(2),
        DriverKind::Midrange | DriverKind::Tweeter => None,
    };
    let deepest = job.plan.drivers.values().filter_map(depth).min();
    let coils = load.coils.iter().flat_map(Coils::coils);
    let mut own = coils.filter_map(|coil| job.plan.drivers.get(&coil.driver)).filter_map(depth);
    own.any(|depth| Some(depth) == deepest)
}

/// Whether everything that plays from it is a tweeter or a midrange.
fn feeds_only_high_drivers(signal: &Signal, job: &Job<'_>) -> bool {
    let playing = signal.to.as_ref().map_or_else(Vec::new, |to| site::playing(to, job));
    let high = |kind: &Option<DriverKind>| matches!(kind, Some(DriverKind::Tweeter | DriverKind::Midrange));
    !playing.is_empty() && playing.iter().all(|(_, kind)| high(kind))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(source: &str, tap: &str, kind: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nsources: {{radio: {{outputs: {source}}}}}\ndrivers: {{one: {{kind: {kind}}}}}\n\
             signals: {{left: {{from: radio, taken_at: {{{tap}}}, to: amp.line}}}}\n\
             loads: {{one: {{amplifier: amp, coils: one.1}}}}\n"
        );
        outcome(&plan, "SIGNAL-01", "signals.left")
    }

    #[test]
    fn bass_needs_a_tap_with_bass_and_a_tweeter_does_not() {
        assert_eq!(of("speaker-level", "speaker: pillar-left, plays: high-passed", "subwoofer"), Outcome::Fail);
        assert_eq!(of("speaker-level", "speaker: rear-left, plays: full-range", "subwoofer"), Outcome::Pass);
        assert_eq!(of("speaker-level", "speaker: pillar-left, plays: high-passed", "tweeter"), Outcome::NotApplicable);
    }

    #[test]
    fn a_second_tap_may_bring_the_bass_to_an_amplifier_with_other_speakers_too() {
        let plan = |loads: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nsources: {{radio: {{outputs: speaker-level}}}}\n\
                 drivers: {{sub: {{kind: subwoofer}}, door: {{kind: full-range}}}}\n\
                 signals:\n  front: {{from: radio, taken_at: {{speaker: pillar-left, plays: high-passed}}, to: amp.line-front}}\n  \
                 rear: {{from: radio, taken_at: {{speaker: rear-left, plays: low-passed}}, to: amp.line-rear}}\n\
                 loads: {{bass: {{amplifier: amp, outputs: [3, 4], coils: sub.1}}{loads}}}\n"
            )
        };
        let fronts = ", left: {amplifier: amp, outputs: [1], coils: door}";
        assert_eq!(outcome(&plan(fronts), "SIGNAL-01", "signals.front"), Outcome::NotApplicable);
        assert_eq!(outcome(&plan(""), "SIGNAL-01", "signals.front"), Outcome::Fail);
    }

    #[test]
    fn a_speaker_tap_must_say_what_it_plays_and_a_line_output_need_not() {
        assert_eq!(of("speaker-level", "speaker: rear-left", "subwoofer"), Outcome::Open);
        assert_eq!(of("line", "output: front-left", "subwoofer"), Outcome::NotApplicable);
    }

    #[test]
    fn the_input_of_a_tweeter_asks_for_no_bass_whatever_else_the_amplifier_plays() {
        let of = |input: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nsources: {{radio: {{outputs: line}}}}\n\
                 drivers: {{door: {{kind: woofer}}, dash: {{kind: tweeter}}}}\n\
                 signals: {{top: {{from: radio, taken_at: {{plays: high-passed}}, to: amp.{input}}}}}\n\
                 loads: {{one: {{amplifier: amp, outputs: [1], coils: dash.1}}, two: {{amplifier: amp, outputs: [2], coils: door.1}}}}\n"
            );
            outcome(&text, "SIGNAL-01", "signals.top")
        };
        assert_eq!((of("line-1"), of("line-2")), (Outcome::NotApplicable, Outcome::Fail));
    }

    /// Each input plays its own output: the subwoofer's wants the tap with bass, the doors' does not.
    #[test]
    fn the_bass_has_to_come_to_the_input_of_the_deepest_speaker() {
        let of = |front: &str, bass: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nsources: {{radio: {{outputs: speaker-level}}}}\n\
                 drivers: {{sub: {{kind: subwoofer}}, door: {{kind: full-range}}}}\nsignals:\n  \
                 front: {{from: radio, taken_at: {{speaker: pillar-left, plays: high-passed}}, to: amp.{front}}}\n  \
                 rear: {{from: radio, taken_at: {{speaker: rear-left, plays: full-range}}, to: amp.{bass}}}\n\
                 loads: {{bass: {{amplifier: amp, outputs: [3], coils: sub.1}}, left: {{amplifier: amp, outputs: [1], coils: door.1}}}}\n"
            );
            outcome(&text, "SIGNAL-01", "signals.front")
        };
        assert_eq!((of("line-1", "line-3"), of("line-3", "line-1")), (Outcome::NotApplicable, Outcome::Fail));
    }
}
