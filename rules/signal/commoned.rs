//! What ties its inputs to ground shorts half of an output that drives both leads.

use super::site;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Converter, OutputStage, Signal};
use crate::solve::{Job, Place, Thing, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-07",
    name: "signal-bridged-commoned",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("commoned.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Say("converters.*.isolated", &["false"]), super::Slip::Say("sources.*.stage", &["bridged"])],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let converters = job.plan.converters.iter().map(|(name, is)| Thing::new("converters", name, is));
    let straight = job.signals.iter().filter_map(|signal| Some((signal.place(), straight(signal, job)?)));
    converters.map(|converter| (converter.place(), of(&converter, job))).chain(straight).collect()
}

/// A balanced line output that goes into a line input without anything between; nothing for any other signal.
fn straight(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Option<Judged> {
    let (_, device) = site::device(signal, job).ok()?;
    let is_line = site::is_speaker_level(signal, &device) == Ok(false) && site::to_speaker_input(signal) == Ok(false);
    let to = signal.plan().to.as_ref()?;
    let (gear, inputs) = site::inputs(&to.thing, job)?;
    if !is_line || signal.plan().through.is_some() || device.stage != Some(OutputStage::Bridged) {
        return None;
    }
    let place = Place::of(format!("{gear}.inputs.balanced"));
    Some(match inputs.and_then(|inputs| inputs.balanced) {
        None => Err(Undecided::need(place)),
        Some(balanced) => Ok(Verdict::pass_if(balanced, || {
            Finding::new(signal.at("to"), format!("balanced output on `{to}`, which ties one of its leads to ground"))
                .label("this input is not balanced")
                .also(device.at("stage"), "both leads are driven here")
                .also(place, "not balanced")
                .because("one lead of a balanced output laid to ground works into a short: the level halves, it distorts or dies")
                .mend("use a balanced input, or an isolated converter or a transformer made for line level in between")
        })),
    })
}

fn of(converter: &Thing<'_, Converter>, job: &Job<'_>) -> Judged {
    let through = job.signals.iter().filter(|signal| signal.through.as_deref() == Some(converter.name));
    let stages = all(through.map(|signal| stage(signal, job)))?;
    let stages: Vec<_> = stages.into_iter().flatten().collect();
    if stages.is_empty() {
        return Err(Undecided::NotApplicable("no speaker output goes through it"));
    }
    if converter.isolated == Some(true) {
        return Ok(Verdict::pass());
    }
    let bridged = stages.iter().find(|(_, stage)| *stage == Some(OutputStage::Bridged));
    let unknown = stages.iter().find(|(_, stage)| stage.is_none());
    match (bridged, unknown) {
        (Some((place, _)), _) => {
            converter.need("isolated", &converter.isolated)?;
            Ok(Verdict::fail(finding(converter, place.clone())))
        }
        (None, Some((place, _))) => Err(Undecided::need(place.clone())),
        (None, None) => Ok(Verdict::pass()),
    }
}

fn finding(converter: &Thing<'_, Converter>, stage: Place) -> Finding {
    Finding::new(
        converter.at("isolated"),
        format!("bridged outputs on `{}`, which ties them to ground", converter.name),
    )
    .label("not isolated")
    .also(stage, "both leads are driven here")
    .because("one lead of a bridged output laid to ground is a short across half of the output stage")
    .mend("fit a converter with transformers or differential inputs")
}

/// The output stage of a signal at speaker level, with its place; nothing for a line output that is not balanced.
fn stage(signal: &Thing<'_, Signal>, job: &Job<'_>) -> crate::solve::Decided<Option<(Place, Option<OutputStage>)>> {
    let (_, device) = site::device(signal, job)?;
    let is_balanced = device.stage == Some(OutputStage::Bridged);
    let counts = site::is_speaker_level(signal, &device)? || is_balanced;
    Ok(counts.then(|| (device.at("stage"), device.stage)))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(stage: &str, isolated: &str) -> Outcome {
        let plan = format!(
            "plan: 1\nsources: {{radio: {{outputs: speaker-level, {stage}}}}}\nconverters: {{loc: {{{isolated}}}}}\n\
             signals: {{left: {{from: radio, through: loc}}}}\n"
        );
        outcome(&plan, "SIGNAL-07", "converters.loc")
    }

    #[test]
    fn a_bridged_output_wants_an_isolated_converter() {
        assert_eq!(of("stage: bridged", "isolated: false"), Outcome::Fail);
        assert_eq!(of("stage: bridged", "isolated: true"), Outcome::Pass);
        assert_eq!(of("stage: single-ended", "isolated: false"), Outcome::Pass);
    }

    /// Both leads of the factory's line output are driven, and the socket of the amplifier has its ground on one of them.
    #[test]
    fn a_balanced_line_output_wants_a_balanced_input() {
        use crate::solve::Place;
        let of = |stage: &str, inputs: &str, to: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{inputs: {{line: 0.2 V .. 5 V, {inputs}}}}}}}\nsources: {{radio: {{outputs: line, \
                 {stage}}}}}\nsignals: {{left: {{from: radio, to: amp.{to}}}}}\n"
            );
            let judged = crate::rules::trial::judged(&text);
            let check = judged.checks.into_iter().find(|check| check.rule.code == "SIGNAL-07");
            check.map(|check| (check.outcome, check.needs.first().map(Place::path)))
        };
        assert_eq!(of("stage: bridged", "balanced: false", "line-left"), Some((Outcome::Fail, None)));
        assert_eq!(of("stage: bridged", "balanced: true", "line-left"), Some((Outcome::Pass, None)));
        let need = Some("amplifiers.amp.inputs.balanced".to_owned());
        assert_eq!(of("stage: bridged", "", "line-left"), Some((Outcome::Open, need)));
        assert_eq!(of("stage: single-ended", "balanced: false", "line-left"), None);
        assert_eq!(of("level: 4 V", "balanced: false", "line-left"), None, "a line output is not balanced as a rule");
        assert_eq!(of("stage: bridged", "balanced: false", "speaker-left"), None, "such an input takes both leads");
    }

    /// A converter of plain transformers between a balanced line output and a socket.
    #[test]
    fn a_balanced_line_output_through_a_converter_wants_an_isolated_one() {
        let of = |isolated: &str| {
            let text = format!(
                "plan: 1\nsources: {{radio: {{outputs: line, stage: bridged}}}}\nconverters: {{loc: {{isolated: {isolated}}}}}\n\
                 signals: {{left: {{from: radio, through: loc}}}}\n"
            );
            outcome(&text, "SIGNAL-07", "converters.loc")
        };
        assert_eq!((of("true"), of("false")), (Outcome::Pass, Outcome::Fail));
    }

    #[test]
    fn what_decides_has_to_be_stated() {
        assert_eq!(of("stage: bridged", "ratio: 0.5"), Outcome::Open);
        assert_eq!(of("level: 8 V", "isolated: false"), Outcome::Open);
        assert_eq!(of("level: 8 V", "isolated: true"), Outcome::Pass);
    }
}
