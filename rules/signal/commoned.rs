//! A converter that ties its inputs to ground shorts half of a bridged output.

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
    converters.map(|converter| (converter.place(), of(&converter, job))).collect()
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

/// The output stage of a signal at speaker level, with its place; nothing for a line output.
fn stage(signal: &Thing<'_, Signal>, job: &Job<'_>) -> crate::solve::Decided<Option<(Place, Option<OutputStage>)>> {
    let (_, device) = site::device(signal, job)?;
    Ok(site::is_speaker_level(signal, &device)?.then(|| (device.at("stage"), device.stage)))
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

    #[test]
    fn what_decides_has_to_be_stated() {
        assert_eq!(of("stage: bridged", "ratio: 0.5"), Outcome::Open);
        assert_eq!(of("level: 8 V", "isolated: false"), Outcome::Open);
        assert_eq!(of("level: 8 V", "isolated: true"), Outcome::Pass);
    }
}
