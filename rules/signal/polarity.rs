//! A swapped pair plays against the others.

use super::site;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::Signal;
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-09",
    name: "signal-polarity-unproved",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("polarity.md"),
    check: Subjects::Signal(check),
    slips: &[super::Slip::Say("signals.*.taken_at.polarity_checked", &["false"])],
};

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    let (_, device) = site::device(signal, job)?;
    if !site::is_speaker_level(signal, &device)? {
        return Err(Undecided::NotApplicable("a line output has a plug that fits one way"));
    }
    let checked = signal.need("taken_at.polarity_checked", &site::taken(signal, |tap| tap.polarity_checked))?;
    Ok(Verdict::pass_if(checked, || {
        Finding::new(signal.at("taken_at.polarity_checked"), format!("polarity of `{}` is not proved", signal.name))
            .label("not checked")
            .because("one channel the other way round cancels the bass of both")
            .mend(
                "find plus and minus with a polarity tester, or a 1.5 V cell and the cone's first move, before joining",
            )
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(outputs: &str, checked: &str) -> Outcome {
        let plan = format!(
            "plan: 1\nsources: {{radio: {{outputs: {outputs}}}}}\nsignals: {{left: {{from: radio, taken_at: {{{checked}}}}}}}\n"
        );
        outcome(&plan, "SIGNAL-09", "signals.left")
    }

    #[test]
    fn speaker_leads_want_a_proof_and_a_plug_does_not() {
        assert_eq!(of("speaker-level", "polarity_checked: true"), Outcome::Pass);
        assert_eq!(of("speaker-level", "polarity_checked: false"), Outcome::Fail);
        assert_eq!(of("speaker-level", "plays: full-range"), Outcome::Open);
        assert_eq!(of("line", "polarity_checked: false"), Outcome::NotApplicable);
    }
}
