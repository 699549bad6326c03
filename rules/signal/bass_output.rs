//! A line output made for bass saves the converter and has its own level control.

use super::site;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{OutputKind, Signal, Source};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-10",
    name: "signal-bass-output-unused",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("bass_output.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("sources.*.bass_output", &["true"]),
        super::Slip::Say("signals.*.taken_at.output", &["front-left", "rear-left"]),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let sources = job.plan.sources.iter().map(|(name, is)| Thing::new("sources", name, is));
    sources.map(|source| (source.place(), of(&source, job))).collect()
}

fn of(source: &Thing<'_, Source>, job: &Job<'_>) -> Judged {
    let bass = job.amplifiers.iter().filter(|amplifier| site::plays_bass(amplifier, job));
    let signals = bass.flat_map(|amplifier| site::reaching(amplifier.name, job));
    let signals: Vec<_> = signals.filter(|signal| signal.from.as_deref() == Some(source.name)).collect();
    if signals.is_empty() {
        return Err(Undecided::NotApplicable("no subwoofer plays from it"));
    }
    if source.bass_output.is_none() && source.outputs == Some(OutputKind::SpeakerLevel) {
        return Err(Undecided::NotApplicable("its speaker outputs are used and no bass output is stated"));
    }
    if !source.need("bass_output", &source.bass_output)? {
        return Ok(Verdict::pass());
    }
    let tap = |signal: &Signal| signal.taken_at.clone().unwrap_or_default();
    if signals.iter().any(|signal| site::is_bass_output(&tap(signal))) {
        return Ok(Verdict::pass());
    }
    if let Some(unnamed) = signals.iter().find(|one| tap(one).output.is_none() && tap(one).speaker.is_none()) {
        return Err(Undecided::need(unnamed.at("taken_at.output")));
    }
    Ok(Verdict::fail(
        Finding::new(
            source.at("bass_output"),
            format!("`{}` has an output made for bass, which is not used", source.name),
        )
        .label("free")
        .also(signals[0].place(), "the bass is taken here")
        .because("the bass output has a level control of its own, which the driver of the vehicle can reach")
        .mend("take the subwoofer's signal at the bass output, `taken_at: {output: bass}`")
        .offer(signals.iter().fold(Offer::new("take it at the bass output"), |offer, signal| {
            offer.set(signal.at("taken_at"), "{output: bass, plays: low-passed}")
        })),
    ))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(source: &str, tap: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nsources: {{radio: {{{source}}}}}\ndrivers: {{sub: {{kind: subwoofer}}}}\n\
             signals: {{one: {{from: radio, taken_at: {{{tap}}}, to: amp.line}}}}\nloads: {{bass: {{amplifier: amp, coils: sub.1}}}}\n"
        );
        outcome(&plan, "SIGNAL-10", "sources.radio")
    }

    #[test]
    fn an_output_made_for_bass_is_used_for_it() {
        assert_eq!(of("bass_output: true", "output: bass"), Outcome::Pass);
        assert_eq!(of("bass_output: true", "output: rear-left"), Outcome::Fail);
        assert_eq!(of("bass_output: true", "speaker: rear-left"), Outcome::Fail);
        assert_eq!(of("bass_output: false", "output: rear-left"), Outcome::Pass);
    }

    #[test]
    fn it_is_asked_for_only_where_there_may_be_one() {
        assert_eq!(of("outputs: line", "output: rear-left"), Outcome::Open);
        assert_eq!(of("outputs: speaker-level", "speaker: rear-left"), Outcome::NotApplicable);
        assert_eq!(of("bass_output: true", "plays: full-range"), Outcome::Open);
    }
}
