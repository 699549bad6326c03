//! Outputs of an amplifier to which no signal comes, a part of PLAN-03.

use super::ends;
use crate::judge::{Finding, Judged, Verdict};
use crate::plan::{Amplifier, Load, Stage, Terminal};
use crate::rules::signal::site::{Side, number, reaching};
use crate::solve::{Job, Place, Thing, Undecided};

/// The number of the output that an input belongs to: its own, or on two channels that of its side.
fn output_of(input: &Terminal, amplifier: &Amplifier) -> Option<u8> {
    let side = || match Side::of(&input.terminal)? {
        Side::Left => Some(1),
        Side::Right => Some(2),
    };
    number(input).or_else(|| side().filter(|_| amplifier.channels == Some(2)))
}

/// Outputs with a load and nothing at their inputs, where every signal of the amplifier says by the name of its input which
/// output it is for. What comes to one input of a pair is no signal for the other; a pair to which nothing comes may have
/// what comes to another.
pub fn judge(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let name = amplifier.name;
    let inputs: Vec<&Terminal> = reaching(name, job).iter().filter_map(|signal| signal.plan().to.as_ref()).collect();
    let Some(fed) = inputs.iter().map(|input| output_of(input, amplifier)).collect::<Option<Vec<u8>>>() else {
        return Ok(Verdict::pass());
    };
    let loads = || job.loads.iter().filter(|load| load.amplifier.as_deref() == Some(name));
    let several = amplifier.channels.is_none_or(|channels| channels > 1)
        && loads().flat_map(|load| &load.outputs).any(|output| *output > 1);
    let silent = |load: &&Thing<'_, Load>| !load.outputs.is_empty() && !load.outputs.iter().any(|on| fed.contains(on));
    let silent: Vec<_> = loads().filter(silent).collect();
    let copied = amplifier.inputs.as_ref().and_then(|inputs| inputs.copied);
    if silent.is_empty() || !several || copied == Some(true) {
        return Ok(Verdict::pass());
    }
    let half = ends::unstated("signals", job);
    if job.plan.stage() == Stage::Draft || !half.is_empty() {
        return Err(Undecided::Open(if half.is_empty() { vec![Place::of("signals")] } else { half }));
    }
    let other = |output: u8| if output.is_multiple_of(2) { output - 1 } else { output + 1 };
    let beside = |load: &&&Thing<'_, Load>| load.outputs.iter().any(|output| fed.contains(&other(*output)));
    let Some(load) = silent.iter().find(beside).or_else(|| silent.first().filter(|_| copied.is_some())) else {
        return Err(Undecided::need(amplifier.at("inputs.copied")));
    };
    let output = load.outputs[0];
    let finding = Finding::new(
        load.at("outputs"),
        format!("nothing comes to output {output} of `{name}`, on which `{}` hangs", load.name),
    )
    .label("no signal ends at its input")
    .because("an output plays what comes to the input of its number, and without it stays silent")
    .mend(format!(
        "plan a signal to the input of output {output}; where the amplifier feeds it from its other inputs, state `inputs: {{copied: true}}`"
    ));
    let others = silent.iter().filter(|other| other.address != load.address);
    Ok(Verdict::fail(
        others.fold(finding, |finding, other| finding.also(other.at("outputs"), "nor at the input of this one")),
    ))
}

#[cfg(test)]
mod tests {
    use crate::judge::{Check, Outcome};
    use crate::rules::trial::check;

    /// An amplifier with its signals at some inputs and loads on some outputs.
    fn on_outputs(stage: &str, keys: &str, inputs: &[&str], outputs: &[&str]) -> Check {
        let signals =
            inputs.iter().enumerate().map(|(at, input)| format!("  s{at}: {{from: radio, to: amp.{input}}}\n"));
        let loads = outputs
            .iter()
            .enumerate()
            .map(|(at, on)| format!("  l{at}: {{amplifier: amp, outputs: [{on}], coils: sub.1}}\n"));
        let text = format!(
            "plan: 1\njob: {{stage: {stage}}}\namplifiers: {{amp: {{{keys}}}}}\nsources: {{radio: {{}}}}\n\
             drivers: {{sub: {{}}}}\ngrounds: {{floor: {{}}}}\nturn_on: {{remote: {{to: [amp.remote]}}}}\nwires:\n  \
             main: {{from: battery.positive, to: amp.power}}\n  return: {{from: amp.ground, to: grounds.floor}}\n\
             signals:\n{}loads:\n{}",
            signals.collect::<String>(),
            loads.collect::<String>()
        );
        check(&text, "PLAN-03", "amplifiers.amp")
    }

    /// Doors on outputs 1 and 2, a subwoofer across 3 and 4, and the lead of the right door forgotten.
    #[test]
    fn an_output_beside_one_that_is_fed_wants_its_own_signal() {
        let all = ["1", "2", "3, 4"];
        let of = |inputs: &[&str]| on_outputs("planned", "channels: 4", inputs, &all);
        assert_eq!(of(&["line-1", "line-2", "line-3", "line-4"]).outcome, Outcome::Pass);
        let forgotten = of(&["line-1", "line-3", "line-4"]);
        assert_eq!(forgotten.outcome, Outcome::Fail);
        let finding = forgotten.finding.expect("it fails");
        assert_eq!(finding.title, "nothing comes to output 2 of `amp`, on which `l1` hangs");
        assert_eq!(finding.at.place.path(), "loads.l1.outputs");
        assert_eq!(of(&["line-1", "line-2", "line-3"]).outcome, Outcome::Pass, "one input may feed a bridged pair");
        assert_eq!(of(&["line-front", "line-3", "line-4"]).outcome, Outcome::Pass, "this one may be both of the front");
        let copied = on_outputs("planned", "channels: 4, inputs: {copied: true}", &["line-1", "line-3"], &all);
        assert_eq!(copied.outcome, Outcome::Pass);
        let draft = on_outputs("draft", "channels: 4", &["line-1", "line-3"], &all);
        assert_eq!((draft.outcome, draft.needs[0].path().as_str()), (Outcome::Open, "signals"));
    }

    /// The rear pair may have what comes to the front, by a switch.
    #[test]
    fn a_pair_to_which_nothing_comes_is_asked_about() {
        let of = |keys: &str| on_outputs("planned", keys, &["line-1", "line-2"], &["1", "2", "3", "4"]);
        let open = of("channels: 4");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "amplifiers.amp.inputs.copied"));
        assert_eq!(of("channels: 4, inputs: {copied: true}").outcome, Outcome::Pass);
        let finding = of("channels: 4, inputs: {copied: false}").finding.expect("it fails");
        assert_eq!((finding.at.place.path().as_str(), finding.also.len()), ("loads.l2.outputs", 1));
    }

    /// One that has only its first output in use may be of one channel; what hangs on a further one tells that it is not.
    #[test]
    fn an_amplifier_of_one_channel_is_not_asked() {
        let of = |keys: &str, inputs: &[&str], outputs: &[&str]| on_outputs("planned", keys, inputs, outputs);
        assert_eq!(of("", &["line-2"], &["1"]).outcome, Outcome::Pass);
        assert_eq!(of("channels: 1", &["line-1"], &["2"]).outcome, Outcome::Pass, "it has no such output");
        assert_eq!(of("channels: 4", &["line-1"], &["3"]).outcome, Outcome::Open);
        // The other of the pair is told, with what is silent besides.
        let finding = of("channels: 4", &["line-2"], &["1", "4"]).finding.expect("it fails");
        let also: Vec<String> = finding.also.iter().map(|also| also.place.path()).collect();
        assert_eq!((finding.at.place.path().as_str(), also), ("loads.l0.outputs", vec!["loads.l1.outputs".to_owned()]));
    }

    #[test]
    fn the_sides_of_two_channels_are_their_outputs() {
        let of = |keys: &str, inputs: &[&str], outputs: &[&str]| on_outputs("planned", keys, inputs, outputs).outcome;
        assert_eq!(of("channels: 2", &["line-left", "line-right"], &["1", "2"]), Outcome::Pass);
        assert_eq!(of("channels: 2", &["line-left"], &["1", "2"]), Outcome::Fail);
        assert_eq!(of("channels: 2", &["line-left"], &["1, 2"]), Outcome::Pass);
        assert_eq!(of("channels: 4", &["line-left"], &["1", "2"]), Outcome::Pass, "left of which pair nobody says");
        assert_eq!(of("channels: 1", &["line-2"], &["1"]), Outcome::Pass, "one channel adds what comes to its inputs");
    }
}
