//! The gain as it was really set, by the meter.

use super::site;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::quantity::{Quantity, Range, Voltage};
use crate::rules::tune::ceiling;
use crate::solve::channels::{self, Channels};
use crate::solve::{Decided, Job, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PROOF-06",
    name: "measured-gain",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("gain.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Past("measured.settings.*.gain")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    channels::each(job).iter().map(|channels| (channels.place(), of(channels, job))).collect()
}

fn of<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Judged {
    let name = &*channels.name;
    let measured = job.plan.measured.as_ref().and_then(|measured| measured.settings.get(name));
    let reading = site::reading(measured.and_then(|measured| measured.gain))?;
    let place = Place::of(format!("measured.settings.{name}.gain"));
    let Target { volts, inputs, from } = target(channels, job, reading)?;
    let tolerance = job.house.limits.gain_tolerance;
    Ok(at_most(reading, volts * (1.0 + tolerance.base()))
        .formula("voltage at the output with the test tone <= target x (1 + what the meter may be off)")
        .given(Input::stated("reading", reading, place.clone()))
        .given_all(inputs)
        .given(Input::limit("tolerance", &tolerance))
        .limit_from("the plan's own target, with the tolerance of a meter (common practice, no published source)")
        .verdict(|_| {
            Finding::new(place, format!("gain reads {reading} where the target is {volts}"))
                .label("too high")
                .also(from, format!("{volts} here"))
                .because("beyond its clean output an amplifier clips, and beyond its rating a voice coil burns")
                .mend(format!("turn the gain down until the meter shows {volts} with the test tone, or a little less"))
        }))
}

/// The voltage that must not be passed, and where it comes from.
struct Target {
    volts: Range<Voltage>,
    inputs: Vec<Input>,
    from: Place,
}

/// The target that the plan states; without one, the ceiling that its load gives.
fn target<'a>(channels: &Channels<'a>, job: &Job<'a>, reading: Quantity<Voltage>) -> Decided<Target> {
    if let Ok((setting, target)) = channels.target() {
        let from = setting.at("gain_target");
        return Ok(Target {
            volts: target.into(),
            inputs: vec![Input::stated("gain target", target, from.clone())],
            from,
        });
    }
    let ceiling = ceiling::against(job, channels, reading.into())?;
    Ok(Target { volts: ceiling.volts, inputs: ceiling.inputs(), from: ceiling.load.at("coils") })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(target: &str, reading: &str) -> String {
        format!(
            "plan: 1\namplifiers: {amps}\ndrivers: {drivers}\nloads: {loads}\nsettings: {{amp: {{{target}}}}}\n\
             measured: {{settings: {{amp: {{{reading}}}}}}}\n",
            amps = "{amp: {rated: [{load: 2 ohm, power: 500 W}]}}",
            drivers = "{sub: {kind: subwoofer, rms: 450 W, coils: [4 ohm, 4 ohm]}}",
            loads = "{bass: {amplifier: amp, outputs: [1], coils: {parallel: [sub.1, sub.2]}}}",
        )
    }

    fn of(target: &str, reading: &str) -> Outcome {
        outcome(&plan(target, reading), "PROOF-06", "amplifiers.amp")
    }

    /// 25 V and 2 % are 25.5 V.
    #[test]
    fn the_target_with_a_meters_tolerance_passes() {
        assert_eq!(of("gain_target: 25 V", "gain: 25.5 V"), Outcome::Pass);
        assert_eq!(of("gain_target: 25 V", "gain: 25.6 V"), Outcome::Fail);
        assert_eq!(of("gain_target: 25 V", ""), Outcome::NotApplicable);
    }

    /// 450 W into 2 ohm are 30 V; 2 % more are 30.6 V.
    #[test]
    fn without_a_target_the_load_gives_it() {
        assert_eq!(of("", "gain: 30.6 V"), Outcome::Pass);
        assert_eq!(of("", "gain: 30.7 V"), Outcome::Fail);
        let unrated = plan("", "gain: 30 V").replace("rms: 450 W, ", "");
        let open = check(&unrated, "PROOF-06", "amplifiers.amp");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "drivers.sub.rms"));
    }
}
