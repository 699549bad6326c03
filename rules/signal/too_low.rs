//! Below its most sensitive setting an amplifier never reaches its power.

use super::site;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_least};
use crate::plan::Signal;
use crate::quantity::Range;
use crate::solve::{Job, Thing, levels};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-04",
    name: "signal-level-too-low",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("too_low.md"),
    check: Subjects::Signal(check),
    slips: &[super::Slip::Past("sources.*.level"), super::Slip::Past("converters.*.ratio")],
};

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    let (window, place) = site::window(signal, job)?;
    let level = site::arriving(signal, job)?;
    Ok(at_least(level.range, window.from)
        .formula("level >= most sensitive setting")
        .given(Input::known("level", &level))
        .given(Input::stated("most sensitive setting", window.from, place.clone()))
        .limit_from("the maker's input window, as the plan states it")
        .verdict(|is| {
            let short = levels::decibels_above(Range::from(window.from), level.range);
            let (found, asked) = (is.result(), window.from);
            let title = format!("{found} into an input that asks at least {asked}: {short:.1} dB too little");
            Finding::new(signal.at("to"), title)
                .label(format!("{found} arrives"))
                .also(place, format!("{asked} asked at the most sensitive setting"))
                .because("with the gain wide open what comes behind still stays below its full output, and hisses")
                .mend(format!("bring at least {asked}: a converter of higher ratio, a line driver, or another input"))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(level: &str, rest: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{inputs: {{line: 0.2 V .. 5 V}}}}}}\n\
             sources: {{radio: {{outputs: speaker-level, {level}}}}}\nconverters: {{loc: {{{rest}}}}}\n\
             signals: {{left: {{from: radio, through: loc, to: amp.line}}}}\n"
        );
        outcome(&plan, "SIGNAL-04", "signals.left")
    }

    #[test]
    fn the_most_sensitive_setting_passes_and_a_little_less_fails() {
        assert_eq!(of("level: 4 V", "ratio: 0.05"), Outcome::Pass);
        assert_eq!(of("level: 3.9 V", "ratio: 0.05"), Outcome::Fail);
    }

    #[test]
    fn the_highest_output_of_a_converter_counts() {
        assert_eq!(of("level: 8 V", "ratio: 1, output_maximum: 200 mV"), Outcome::Pass);
        assert_eq!(of("level: 8 V", "ratio: 1, output_maximum: 190 mV"), Outcome::Fail);
    }

    #[test]
    fn a_level_or_ratio_that_is_not_stated_leaves_it_open() {
        assert_eq!(of("level: 4 V", ""), Outcome::Open);
        assert_eq!(of("senses_load: false", "ratio: 0.05"), Outcome::Open);
    }
}
