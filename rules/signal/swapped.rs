//! Left and right change places on the way from the source to the speakers.

use super::site::{self, Side};
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::Signal;
use crate::solve::{Job, Place, Thing, Undecided, coils};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-14",
    name: "signal-swapped",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("swapped.md"),
    check: Subjects::Signal(check),
    slips: &[super::Slip::Mistake("signals.*.taken_at.output|speaker"), super::Slip::Mistake("loads.*.coils")],
};

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    let tap = signal.plan().taken_at.as_ref().ok_or(Undecided::NotApplicable("it is not stated where it is taken"))?;
    let (key, name) = match (&tap.speaker, &tap.output) {
        (Some(speaker), _) => ("taken_at.speaker", speaker),
        (None, Some(output)) => ("taken_at.output", output),
        (None, None) => return Err(Undecided::NotApplicable("it is not stated where it is taken")),
    };
    let side = Side::of(name).ok_or(Undecided::NotApplicable("its tap names no side"))?;
    let others = others(signal, job);
    if others.is_empty() {
        return Err(Undecided::NotApplicable("what it ends at names no side"));
    }
    let swapped = others.into_iter().find(|(_, other)| *other != side);
    Ok(match swapped {
        None => Verdict::pass(),
        Some((place, other)) => Verdict::fail(
            Finding::new(signal.at(key), format!("`{name}` is {}, and goes to the {}", side.word(), other.word()))
                .label(side.word())
                .also(place, other.word())
                .because(
                    "the stage is the wrong way round: every voice comes from the other side, and the radio's balance works backwards",
                )
                .mend("exchange it with the signal of the other side, at one end only"),
        ),
    })
}

/// What states a side behind a signal: the input where it ends, and the speakers on the output of the same number.
/// Nothing where both sides are summed into bass.
fn others(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Vec<(Place, Side)> {
    let Some(to) = &signal.to else { return Vec::new() };
    if site::taken(signal, |tap| Some(site::is_bass_output(tap))) == Some(true) {
        return Vec::new();
    }
    let input = Side::of(&to.terminal).map(|side| (signal.at("to"), side));
    let Some(amplifier) = job.amplifier(&to.thing) else {
        return input.filter(|_| site::to_processor(signal, job)).into_iter().collect();
    };
    let loads = job.loads.iter().filter(|load| load.amplifier.as_deref() == Some(amplifier.name));
    let number = site::input_number(signal);
    let loads: Vec<_> = loads.filter(|load| number.is_none_or(|number| load.outputs.contains(&number))).collect();
    let sums = !loads.is_empty() && loads.iter().all(|load| coils::is_bass(job, load));
    if sums {
        return Vec::new();
    }
    let behind = loads.iter().filter(|load| number.is_some() && load.outputs.len() == 1);
    let driven = behind.filter_map(|load| {
        let coils = load.coils.as_ref()?.coils();
        let sides: Vec<_> = coils.iter().map(|coil| Side::of(&coil.driver)).collect();
        let first = (*sides.first()?)?;
        sides.iter().all(|side| *side == Some(first)).then(|| (load.at("coils"), first))
    });
    input.into_iter().chain(driven).collect()
}

#[cfg(test)]
mod tests {
    use super::Side;
    use crate::judge::Outcome;
    use crate::rules::trial::{finding, outcome};

    fn plan(tap: &str, to: &str, driver: &str, kind: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{quad: {{channels: 4}}}}\nsources: {{radio: {{}}}}\ndrivers: {{{driver}: {{kind: {kind}, \
             coils: [4 ohm]}}}}\nsignals: {{one: {{from: radio, taken_at: {{{tap}}}, to: quad.{to}}}}}\n\
             loads: {{door: {{amplifier: quad, outputs: [1], coils: {driver}.1}}}}\n"
        )
    }

    fn of(tap: &str, to: &str, driver: &str) -> Outcome {
        outcome(&plan(tap, to, driver, "full-range"), "SIGNAL-14", "signals.one")
    }

    #[test]
    fn names_state_sides() {
        for (name, side) in [
            ("rear-left", Some(Side::Left)),
            ("Door R", Some(Side::Right)),
            ("line-left", Some(Side::Left)),
            ("right.2", Some(Side::Right)),
            ("left-and-right", None),
            ("line", None),
            ("front", None),
        ] {
            assert_eq!(Side::of(name), side, "{name}");
        }
    }

    #[test]
    fn the_side_of_the_tap_is_that_of_the_input_and_of_the_speaker() {
        assert_eq!(of("output: front-left", "line-left", "door"), Outcome::Pass);
        assert_eq!(of("output: front-left", "line-right", "door"), Outcome::Fail);
        assert_eq!(of("speaker: front-left", "speaker-right", "door"), Outcome::Fail);
        assert_eq!(of("output: front-left", "line-1", "door-left"), Outcome::Pass);
        assert_eq!(of("output: front-left", "line-1", "door-right"), Outcome::Fail);
        // Another output, and an input without a number: nothing says which speaker plays it.
        assert_eq!(of("output: front-left", "line-2", "door-right"), Outcome::NotApplicable);
        assert_eq!(of("output: front-left", "line", "door-right"), Outcome::NotApplicable);
        assert_eq!(of("output: front", "line-left", "door-right"), Outcome::NotApplicable);
        let told =
            finding(&plan("output: front-left", "line-1", "door-right", "full-range"), "SIGNAL-14", "signals.one");
        assert_eq!(told.title, "`front-left` is left, and goes to the right");
        assert_eq!(told.also[0].place.path(), "loads.door.coils");
    }

    #[test]
    fn the_inputs_of_a_processor_have_sides_too() {
        let of = |output: &str, kind: &str| {
            let text = format!(
                "plan: 1\nsources: {{radio: {{}}, dsp: {{kind: {kind}}}}}\nsignals: {{one: {{from: radio, taken_at: {{output: \
                 {output}}}, to: dsp.line-left}}}}\n"
            );
            outcome(&text, "SIGNAL-14", "signals.one")
        };
        assert_eq!((of("front-left", "processor"), of("front-right", "processor")), (Outcome::Pass, Outcome::Fail));
        assert_eq!(of("bass-right", "processor"), Outcome::NotApplicable);
        assert_eq!(of("front-right", "aftermarket"), Outcome::NotApplicable);
    }

    #[test]
    fn bass_that_is_summed_has_no_side() {
        let bass = plan("output: front-left", "line-right", "sub", "subwoofer");
        assert_eq!(outcome(&bass, "SIGNAL-14", "signals.one"), Outcome::NotApplicable);
        assert_eq!(of("output: bass-left", "line-right", "door"), Outcome::NotApplicable);
    }
}
