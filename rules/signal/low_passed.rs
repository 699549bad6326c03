//! Voices cannot be had from an output that gives bass only.

use super::site;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{DriverKind, Plays, Signal, TakenAt};
use crate::solve::{Job, Place, Thing, Undecided};

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
    let to = &signal.need("to", &signal.to)?;
    if site::inputs(&to.thing, job).is_none() {
        return Err(Undecided::NotApplicable("it ends at no amplifier"));
    }
    let playing = site::playing(to, job);
    let Some((speaker, _)) = playing.iter().find(|(_, kind)| kind.is_some_and(|kind| asks_for_more(kind, job))) else {
        return Err(Undecided::NotApplicable("no speaker that asks for more than bass is known to play from it"));
    };
    let Some(tap) = signal.plan().taken_at.as_ref().filter(|tap| is_low_passed(tap)) else {
        return Ok(Verdict::pass());
    };
    let is_full = |other: &Signal| !other.taken_at.as_ref().is_some_and(is_low_passed);
    let others = site::reaching(&to.thing, job).into_iter().map(Thing::plan).filter(|other| is_full(other));
    let mixed = site::to_processor(signal, job) || playing.iter().any(|(_, kind)| *kind == Some(DriverKind::Subwoofer));
    if others.into_iter().any(|other| mixed || other.to.as_ref() == Some(to)) {
        return Err(Undecided::NotApplicable("another signal brings it the rest of the music"));
    }
    if let Some(half) = half_said(job) {
        return Err(Undecided::need(half));
    }
    let key = if tap.plays.is_some() { "taken_at.plays" } else { "taken_at.output" };
    let taken = tap.speaker.as_deref().or(tap.output.as_deref()).unwrap_or(signal.name);
    Ok(Verdict::fail(
        Finding::new(signal.at(key), format!("signal for `{speaker}` taken at `{taken}`, which gives bass only"))
            .label("low-passed here")
            .because("a filter in front of the tap has taken voices and treble away, and no setting brings them back")
            .mend("take it at an output that plays all of the music, and leave the bass output to the subwoofer"),
    ))
}

/// Where a signal does not say where it ends, or a load what plays it: that signal may bring the rest of the music, and that
/// load be the subwoofer for which the bass is.
fn half_said(job: &Job<'_>) -> Option<Place> {
    let mut signals = job.plan.signals.iter().filter(|(_, signal)| signal.to.is_none());
    let mut loads = job.plan.loads.iter().filter(|(_, load)| load.amplifier.is_none());
    let signal = signals.next().map(|(name, _)| Place::of(format!("signals.{name}.to")));
    signal.or_else(|| loads.next().map(|(name, _)| Place::of(format!("loads.{name}.amplifier"))))
}

/// Whether a tap gives bass only: it says so, or it is an output made for bass that says nothing else.
fn is_low_passed(tap: &TakenAt) -> bool {
    tap.plays.map_or_else(|| site::is_bass_output(tap), |plays| plays == Plays::LowPassed)
}

/// Whether a speaker plays more than what is below a low-pass: a woofer does where nothing else in the job plays the top.
fn asks_for_more(kind: DriverKind, job: &Job<'_>) -> bool {
    let is_top = |kind| matches!(kind, Some(DriverKind::Tweeter | DriverKind::Midrange));
    match kind {
        DriverKind::Subwoofer => false,
        DriverKind::Woofer => !job.plan.drivers.values().any(|driver| is_top(driver.kind)),
        DriverKind::Midrange | DriverKind::Tweeter | DriverKind::FullRange => true,
    }
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

    /// The rest of the music may come by a signal that does not say where it ends, or be left to nobody but a subwoofer.
    #[test]
    fn a_signal_or_a_load_that_is_half_said_keeps_it_open() {
        let text = plan(["kind: full-range", "kind: full-range"], "output: subwoofer", "");
        let of = |half: &str, needs: &str| {
            let open = check(&text.replace("signals:\n", half), "SIGNAL-13", "signals.left");
            assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, needs));
        };
        of("signals:\n  more: {from: radio}\n", "signals.more.to");
        let text = text.replace("}}\nsignals", "}, more: {coils: two}}\nsignals");
        let open = check(&text, "SIGNAL-13", "signals.left");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "loads.more.amplifier"));
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

    /// A woofer gives the top to its tweeter; one that is alone with it, or a tweeter on the same output, does not.
    #[test]
    fn a_woofer_beside_tweeters_may_be_low_passed() {
        let of = |kinds: [&str; 2]| {
            let text = plan(kinds, "output: front-low, plays: low-passed", "output: front-high, plays: high-passed");
            outcome(&text.replace("line-left", "line-1").replace("line-right", "line-2"), "SIGNAL-13", "signals.left")
        };
        assert_eq!(of(["kind: woofer", "kind: tweeter"]), Outcome::NotApplicable);
        assert_eq!(of(["kind: woofer", "kind: woofer"]), Outcome::Fail);
        assert_eq!(of(["kind: full-range", "kind: tweeter"]), Outcome::Fail);
        assert_eq!(of(["kind: tweeter", "kind: tweeter"]), Outcome::Fail);
    }

    #[test]
    fn what_is_summed_on_one_input_counts_together() {
        let text =
            plan(["kind: full-range", "kind: full-range"], "speaker: woofer, plays: low-passed", "plays: high-passed");
        assert_eq!(outcome(&text, "SIGNAL-13", "signals.left"), Outcome::Fail);
        let summed = text.replace("line-right", "line-left");
        assert_eq!(outcome(&summed, "SIGNAL-13", "signals.left"), Outcome::NotApplicable);
    }

    #[test]
    fn a_processor_that_gets_bass_only_has_nothing_for_the_tweeters_behind_it() {
        let text = |more: &str| {
            let plan = plan(["kind: woofer", "kind: tweeter"], "plays: low-passed", "plays: high-passed");
            let plan =
                plan.replace("from: radio", "from: dsp").replace("line-left", "line-1").replace("line-right", "line-2");
            plan.replace("sources: {", "sources: {dsp: {kind: processor}, ")
                + "  in: {from: radio, taken_at: {speaker: door, plays: low-passed}, to: dsp.speaker-1}\n"
                + more
        };
        assert_eq!(outcome(&text(""), "SIGNAL-13", "signals.in"), Outcome::Fail);
        let top = "  top: {from: radio, taken_at: {speaker: dash, plays: high-passed}, to: dsp.speaker-2}\n";
        assert_eq!(outcome(&text(top), "SIGNAL-13", "signals.in"), Outcome::NotApplicable);
    }
}
