//! Voices cannot be had from an output that gives bass only.

use super::site;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{DriverKind, Load, Plays, Signal, TakenAt};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-13",
    name: "signal-low-passed",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("low_passed.md"),
    check: Subjects::Signal(check),
    slips: &[super::Slip::Say("signals.*.taken_at.plays", &["low-passed"])],
};

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    let to = signal.need("to", &signal.to)?;
    let amplifier = job.amplifier(&to.thing).ok_or(Undecided::NotApplicable("it ends at no amplifier"))?;
    let kinds = kinds(amplifier.name, site::input_number(signal), job);
    let Some(speaker) = kinds.iter().find(|(_, kind)| *kind != DriverKind::Subwoofer).map(|(name, _)| *name) else {
        return Err(Undecided::NotApplicable("no speaker other than a subwoofer is known to play from it"));
    };
    let taken = signal.plan().taken_at.as_ref();
    let mixed = kinds.iter().any(|(_, kind)| *kind == DriverKind::Subwoofer);
    let others = site::reaching(amplifier.name, job);
    let full = |other: &&Thing<'_, Signal>| !other.plan().taken_at.as_ref().is_some_and(is_low_passed);
    if mixed && others.iter().any(full) {
        return Err(Undecided::NotApplicable(
            "a subwoofer plays from the same amplifier, and other signals reach it too",
        ));
    }
    let key = if taken.is_some_and(|tap| tap.plays.is_some()) { "taken_at.plays" } else { "taken_at.output" };
    Ok(Verdict::pass_if(!taken.is_some_and(is_low_passed), || {
        let tap = taken.and_then(|tap| tap.speaker.as_deref().or(tap.output.as_deref())).unwrap_or(signal.name);
        Finding::new(signal.at(key), format!("signal for `{speaker}` taken at `{tap}`, which gives bass only"))
            .label("low-passed here")
            .because("a filter in front of the tap has taken voices and treble away, and no setting brings them back")
            .mend("take it at an output that plays all of the music, and leave the bass output to the subwoofer")
    }))
}

/// Whether a tap gives bass only: it says so, or it is an output made for bass that says nothing else.
fn is_low_passed(tap: &TakenAt) -> bool {
    tap.plays.map_or_else(|| site::is_bass_output(tap), |plays| plays == Plays::LowPassed)
}

/// The drivers on an amplifier of which it is stated what they play: those on the output with the number of the input,
/// where something hangs on it, else all.
fn kinds<'a>(amplifier: &str, number: Option<u8>, job: &Job<'a>) -> Vec<(&'a str, DriverKind)> {
    let loads = job.loads.iter().filter(|load| load.amplifier.as_deref() == Some(amplifier));
    let on = |load: &&Thing<'_, Load>| number.is_some_and(|number| load.outputs.contains(&number));
    let is_known = loads.clone().any(|load| on(&load));
    let coils = loads
        .filter(|load| !is_known || on(load))
        .filter_map(|load| load.plan().coils.as_ref())
        .flat_map(|coils| coils.each());
    let driver = |name: &String| job.plan.drivers.get_key_value(name);
    coils
        .filter_map(|(_, coil)| driver(&coil.driver))
        .filter_map(|(name, is)| Some((name.as_str(), is.kind?)))
        .collect()
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(kinds: [&str; 2], left: &str, right: &str) -> String {
        let [one, two] = kinds;
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\ndrivers: {{one: {{{one}}}, two: {{{two}}}}}\nsources: {{radio: {{outputs: \
             line}}}}\nloads: {{one: {{amplifier: amp, outputs: [1], coils: one}}, two: {{amplifier: amp, outputs: [2], coils: \
             two}}}}\nsignals:\n  left: {{from: radio, taken_at: {{{left}}}, to: amp.line-left}}\n  right: {{from: radio, taken_at: \
             {{{right}}}, to: amp.line-right}}\n"
        )
    }

    fn left(kinds: [&str; 2], left: &str, right: &str) -> Outcome {
        outcome(&plan(kinds, left, right), "SIGNAL-13", "signals.left")
    }

    #[test]
    fn doors_get_no_voices_from_a_bass_output() {
        let doors = ["kind: full-range", "kind: full-range"];
        assert_eq!(left(doors, "output: front-left, plays: low-passed", ""), Outcome::Fail);
        assert_eq!(left(doors, "output: subwoofer", ""), Outcome::Fail);
        assert_eq!(left(doors, "output: subwoofer, plays: full-range", ""), Outcome::Pass);
        assert_eq!(left(doors, "output: front-left", ""), Outcome::Pass);
        let subs = ["kind: subwoofer", "kind: subwoofer"];
        assert_eq!(left(subs, "output: subwoofer", ""), Outcome::NotApplicable);
        assert_eq!(left(["", ""], "output: subwoofer", ""), Outcome::NotApplicable);
    }

    #[test]
    fn beside_a_subwoofer_one_of_several_signals_may_give_bass_only() {
        let both = ["kind: full-range", "kind: subwoofer"];
        assert_eq!(left(both, "output: subwoofer", "output: front-right"), Outcome::NotApplicable);
        assert_eq!(left(both, "output: subwoofer", "output: subwoofer"), Outcome::Fail);
    }

    /// The number of an input says which speaker plays it, whatever else plays from the amplifier.
    #[test]
    fn the_input_of_a_door_gets_no_bass_output_beside_a_subwoofer() {
        let of = |input: &str| {
            let text = plan(["kind: full-range", "kind: subwoofer"], "output: subwoofer", "output: front-right");
            outcome(&text.replace("amp.line-left", &format!("amp.{input}")), "SIGNAL-13", "signals.left")
        };
        assert_eq!(of("line-1"), Outcome::Fail);
        assert_eq!(of("line-2"), Outcome::NotApplicable);
        assert_eq!((of("line-left"), of("line-7")), (Outcome::NotApplicable, Outcome::NotApplicable));
    }

    #[test]
    fn it_points_at_what_says_so_and_asks_where_the_signal_ends() {
        let text = plan(["kind: woofer", "kind: tweeter"], "output: bass", "");
        let finding = check(&text, "SIGNAL-13", "signals.left").finding.expect("it fails");
        assert_eq!(finding.at.place.path(), "signals.left.taken_at.output");
        let open = check(&text.replace(", to: amp.line-left", ""), "SIGNAL-13", "signals.left");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "signals.left.to"));
    }
}
