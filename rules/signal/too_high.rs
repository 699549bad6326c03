//! A level above what the next input takes is clipped there.

use super::site;
use crate::judge::{Comparison, Figure, Finding, Input, Judged, Outcome, Rule, Severity, Subjects, Verdict, at_most};
use crate::plan::Signal;
use crate::quantity::{Quantity, Range, Voltage};
use crate::solve::{Decided, Job, Known, Place, Thing, Undecided, levels};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-03",
    name: "signal-level-too-high",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("too_high.md"),
    check: Subjects::Signal(check),
    slips: &[super::Slip::Past("sources.*.level"), super::Slip::Past("converters.*.ratio")],
};

/// One place on the way where the level may be too high.
struct Stage {
    what: &'static str,
    takes: &'static str,
    mend: Mend,
    key: &'static str,
    level: Known<Voltage>,
    limit: Quantity<Voltage>,
    place: Place,
}

/// What helps at a stage.
#[derive(Clone, Copy)]
enum Mend {
    /// The converter's input has to take more.
    Converter,
    /// The converter has to give less: at most so many volts for a volt.
    Ratio(f64),
    /// Something has to come between.
    Input,
}

impl Mend {
    fn words(self, arrives: &Figure, limit: Quantity<Voltage>) -> String {
        match self {
            Self::Converter => format!("fit a converter whose input takes {arrives}"),
            Self::Ratio(most) => format!("use a converter with a ratio of {} or less", Figure::ratio(most, most)),
            Self::Input => {
                format!("use an input that takes {arrives}, or a converter that brings it down to {limit} or less")
            }
        }
    }
}

/// The highest ratio that turns a level into no more than a limit, to a hundredth.
fn ratio(limit: Quantity<Voltage>, source: Range<Voltage>) -> Mend {
    let most = limit.base() / source.high();
    Mend::Ratio(if most >= 0.01 { (most * 100.0 + 1e-6).floor() / 100.0 } else { most })
}

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    let mut needs = Vec::new();
    let mut judged: Vec<(Stage, Comparison)> = Vec::new();
    for stage in [into_converter(signal, job), out_of_converter(signal, job), into_amplifier(signal, job)] {
        match stage {
            Ok(stage) => {
                let comparison = at_most(stage.level.range, stage.limit);
                judged.push((stage, comparison));
            }
            Err(Undecided::Open(more)) => needs.extend(more),
            Err(Undecided::NotApplicable(_)) => {}
        }
    }
    let worst = judged.into_iter().max_by_key(|(_, is)| match is.outcome() {
        Outcome::Fail => 2,
        Outcome::Open => 1,
        _ => 0,
    });
    match worst {
        Some((stage, comparison)) if comparison.outcome() == Outcome::Fail || needs.is_empty() => {
            Ok(told(signal, stage, comparison))
        }
        _ if !needs.is_empty() => {
            needs.sort();
            needs.dedup();
            Err(Undecided::Open(needs))
        }
        _ => {
            Err(Undecided::NotApplicable("no level is compared here (SIGNAL-05 reports speaker level on a line input)"))
        }
    }
}

fn told(signal: &Thing<'_, Signal>, stage: Stage, comparison: Comparison) -> Verdict {
    let Stage { what, takes, mend, key, level, limit, place } = stage;
    comparison
        .formula("level <= highest level")
        .given(Input::known("level", &level))
        .given(Input::stated("highest level", limit, place.clone()))
        .limit_from("the maker's figure for that input or output, as the plan states it")
        .verdict(|is| {
            let above = levels::decibels_above(level.range, Range::from(limit));
            Finding::new(
                signal.at(key),
                format!("{} {what}, which {takes} {limit}: {above:.1} dB too much", is.result()),
            )
            .label(format!("{} arrives", is.result()))
            .also(place, format!("{limit} at most"))
            .because("what is above the limit is clipped, whatever the gain is set to")
            .mend(mend.words(&is.result(), limit))
        })
}

fn into_converter(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Decided<Stage> {
    let converter = site::converter(signal, job)?.ok_or(Undecided::NotApplicable("no converter"))?;
    let limit = converter.need("input_maximum", &converter.input_maximum)?;
    let place = converter.at("input_maximum");
    let level = site::source_level(signal, job)?;
    Ok(Stage { what: "into the converter", takes: "takes", mend: Mend::Converter, key: "through", level, limit, place })
}

fn out_of_converter(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Decided<Stage> {
    let converter = site::converter(signal, job)?.ok_or(Undecided::NotApplicable("no converter"))?;
    let limit = converter.output_maximum.ok_or(Undecided::NotApplicable("no highest output is stated"))?;
    let volts_per_volt = converter.need("ratio", &converter.ratio)?;
    let source = site::source_level(signal, job)?.range;
    let asked = levels::converted(source, volts_per_volt);
    let level = Known::computed(asked, "source level x converter ratio");
    Ok(Stage {
        what: "asked of the converter",
        takes: "gives",
        mend: ratio(limit, source),
        key: "through",
        level,
        limit,
        place: converter.at("output_maximum"),
    })
}

fn into_amplifier(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Decided<Stage> {
    let (window, place) = site::window(signal, job)?;
    let level = site::arriving(signal, job)?;
    let source = site::source_level(signal, job)?.range;
    let mend = if signal.through.is_some() { ratio(window.to, source) } else { Mend::Input };
    let what = if site::to_processor(signal, job) { "into the processor" } else { "into the amplifier" };
    Ok(Stage { what, takes: "takes", mend, key: "to", level, limit: window.to, place })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn of(source: &str, converter: &str, to: &str) -> Outcome {
        let through = if converter.is_empty() { "" } else { "through: loc, " };
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{inputs: {{line: 0.2 V .. 5 V, speaker_level: 2 V .. 10 V}}}}}}\n\
             sources: {{radio: {{{source}}}}}\nconverters: {{loc: {{{converter}}}}}\n\
             signals: {{left: {{from: radio, {through}to: amp.{to}}}}}\n"
        );
        outcome(&plan, "SIGNAL-03", "signals.left")
    }

    #[test]
    fn the_upper_end_of_the_window_passes_and_a_little_more_fails() {
        assert_eq!(of("outputs: line, level: 5 V", "", "line-left"), Outcome::Pass);
        assert_eq!(of("outputs: line, level: 5.1 V", "", "line-left"), Outcome::Fail);
        assert_eq!(of("outputs: speaker-level, level: 10 V", "", "speaker-left"), Outcome::Pass);
        assert_eq!(of("outputs: speaker-level, level: 10.1 V", "", "speaker-left"), Outcome::Fail);
    }

    #[test]
    fn a_converter_is_judged_at_its_input_and_at_its_output() {
        let of =
            |level: &str, converter: &str| of(&format!("outputs: speaker-level, level: {level}"), converter, "line");
        assert_eq!(of("20 V", "input_maximum: 20 V, ratio: 0.25"), Outcome::Pass);
        assert_eq!(of("20.1 V", "input_maximum: 20 V, ratio: 0.2"), Outcome::Fail);
        assert_eq!(of("10 V", "input_maximum: 20 V, ratio: 0.4, output_maximum: 4 V"), Outcome::Pass);
        assert_eq!(of("10.1 V", "input_maximum: 20 V, ratio: 0.4, output_maximum: 4 V"), Outcome::Fail);
    }

    #[test]
    fn the_mend_is_that_of_the_stage() {
        let mend = |source: &str, converter: &str, to: &str| {
            let through = if converter.is_empty() { "" } else { "through: loc, " };
            let plan = format!(
                "plan: 1\namplifiers: {{amp: {{inputs: {{line: 0.2 V .. 5 V}}}}}}\nsources: {{radio: {{{source}}}}}\n\
                 converters: {{loc: {{{converter}}}}}\nsignals: {{left: {{from: radio, {through}to: amp.{to}}}}}\n"
            );
            check(&plan, "SIGNAL-03", "signals.left").finding.expect("it fails").mend
        };
        let speaker = |level: &str| format!("outputs: speaker-level, level: {level}");
        assert_eq!(
            mend(&speaker("30 V"), "input_maximum: 20 V, ratio: 0.1", "line"),
            "fit a converter whose input takes 30 V"
        );
        assert_eq!(
            mend(&speaker("12 V"), "input_maximum: 20 V, ratio: 0.5", "line"),
            "use a converter with a ratio of 0.41 or less"
        );
        assert_eq!(
            mend("outputs: line, level: 8 V", "", "line"),
            "use an input that takes 8 V, or a converter that brings it down to 5 V or less"
        );
    }

    #[test]
    fn missing_numbers_leave_it_open_unless_another_stage_fails() {
        assert_eq!(of("outputs: line", "", "line"), Outcome::Open);
        assert_eq!(of("outputs: speaker-level, level: 8 V", "input_maximum: 20 V", "line"), Outcome::Open);
        assert_eq!(of("outputs: speaker-level, level: 30 V", "input_maximum: 20 V", "line"), Outcome::Fail);
    }

    #[test]
    fn a_power_stands_for_a_level() {
        // sqrt(25 x 4) = 10 V, sqrt(25 x 2) = 7.1 V; sqrt(36 x 4) = 12 V
        assert_eq!(of("outputs: speaker-level, power: 25 W", "", "speaker-left"), Outcome::Pass);
        assert_eq!(of("outputs: speaker-level, power: 36 W", "", "speaker-left"), Outcome::Open);
        assert_eq!(of("outputs: speaker-level, power: 36 W, speaker_load: 4 ohm", "", "speaker-left"), Outcome::Fail);
    }

    #[test]
    fn the_power_of_speaker_outputs_says_nothing_of_the_level_of_line_outputs() {
        assert_eq!(of("outputs: line, power: 20 W", "", "line-left"), Outcome::Open);
    }

    #[test]
    fn speaker_level_on_a_line_input_is_for_another_rule() {
        assert_eq!(of("outputs: speaker-level, level: 4 V", "", "line-left"), Outcome::NotApplicable);
    }

    /// 20 W into 2 to 4 ohm are 6.3 to 8.9 V; a quarter of that suits the amplifier whatever the load is.
    #[test]
    fn a_stage_that_is_open_counts_more_than_one_that_passes() {
        let source = "outputs: speaker-level, power: 20 W";
        assert_eq!(of(source, "input_maximum: 8 V, ratio: 0.25", "line"), Outcome::Open);
        assert_eq!(of(source, "input_maximum: 9 V, ratio: 0.25", "line"), Outcome::Pass);
    }

    #[test]
    fn a_ratio_that_just_does_is_told_as_it_is() {
        let text = "plan: 1\namplifiers: {amp: {inputs: {line: 0.2 V .. 2.9 V}}}\nsources: {radio: {outputs: speaker-level, level: \
                    10 V}}\nconverters: {loc: {input_maximum: 20 V, ratio: 0.5}}\nsignals: {left: {from: radio, through: loc, to: amp.line}}\n";
        let mend = check(text, "SIGNAL-03", "signals.left").finding.expect("it fails").mend;
        assert_eq!(mend, "use a converter with a ratio of 0.29 or less");
        assert_eq!(outcome(&text.replace("ratio: 0.5", "ratio: 0.29"), "SIGNAL-03", "signals.left"), Outcome::Pass);
    }
}
