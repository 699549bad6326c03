//! A gain set too high clips the amplifier or burns the voice coil.

use super::ceiling::against;
use crate::judge::{Finding, Input, Judged, Offer, Outcome, Rule, Severity, Subjects, at_most};
use crate::solve::Job;
use crate::solve::channels::Channels;

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-01",
    name: "gain-target-high",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("gain.md"),
    check: Subjects::Each(|job| super::site::each(job, check)),
    slips: &[super::Slip::Past("settings.*.gain_target"), super::Slip::Past("drivers.*.rms")],
};

fn check<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Judged {
    let (setting, target) = channels.target()?;
    let ceiling = against(job, channels, target.into())?;
    let tolerance = job.house.limits.gain_tolerance;
    let is = at_most(target, ceiling.volts * (1.0 + tolerance.base()));
    if is.outcome() == Outcome::Open {
        return Err(ceiling.open(channels));
    }
    let most = ceiling.volts.at_low();
    let lower = Offer::new(format!("set the gain to {most}")).set(setting.at("gain_target"), most);
    Ok(is
        .formula("gain target <= sqrt(power x impedance) x (1 + what a meter may be off)")
        .given(Input::stated("gain target", target, setting.at("gain_target")))
        .given_all(ceiling.inputs())
        .given(Input::limit("tolerance", &tolerance))
        .limit_from(
            "Ohm's law, with the power of the plan and the tolerance of a meter (common practice, no published source)",
        )
        .verdict(|is| {
            let (power, clean, set) = (ceiling.power(), ceiling.volts, is.result());
            Finding::new(setting.at("gain_target"), format!("gain set to {set} where {clean} is clean"))
                .label(format!("{set} here"))
                .also(ceiling.load.at("coils"), format!("{power} into {}", is_ohms(ceiling.ohms)))
                .because("beyond its clean output an amplifier clips, and beyond its rating a voice coil burns")
                .mend(format!("set the gain to {clean} or a little less"))
                .offer(lower.clone())
        }))
}

fn is_ohms(ohms: f64) -> crate::quantity::Range<crate::quantity::Resistance> {
    crate::quantity::Range::point(ohms)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(setting: &str) -> String {
        format!(
            "plan: 1\namplifiers: {amps}\ndrivers: {drivers}\nloads: {loads}\nsettings: {{amp: {{{setting}}}}}\n",
            amps = "{amp: {rated: [{load: 4 ohm, power: 300 W}, {load: 2 ohm, power: 500 W}]}}",
            drivers = "{sub: {kind: subwoofer, rms: 450 W, coils: [4 ohm, 4 ohm]}}",
            loads = "{bass: {amplifier: amp, outputs: [1], coils: {parallel: [sub.1, sub.2]}}}",
        )
    }

    /// 450 W into 2 ohm: 30 V by Ohm's law; 2 % that a meter may be off are 30.6 V, as in PROOF-06.
    #[test]
    fn the_voltage_of_the_weaker_power_passes_and_more_than_a_meter_may_be_off_fails() {
        assert_eq!(outcome(&plan("gain_target: 30 V"), "TUNE-01", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&plan("gain_target: 30.6 V"), "TUNE-01", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&plan("gain_target: 30.7 V"), "TUNE-01", "amplifiers.amp"), Outcome::Fail);
    }

    /// 90 W into 4 ohm are 18.97 V. Nobody sets a gain by hundredths: 19 V is no finding, here or at the coil.
    #[test]
    fn a_target_rounded_to_whole_volts_is_no_finding() {
        let text = |volts: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 4 ohm, power: 100 W}}]}}}}\ndrivers: {{door: {{kind: woofer, rms: 90 W, \
                 coils: [4 ohm]}}}}\nloads: {{left: {{amplifier: amp, outputs: [1], coils: door}}}}\nsettings: {{amp: {{gain_target: {volts}}}}}\n"
            )
        };
        for (volts, expected) in [("19 V", Outcome::Pass), ("19.4 V", Outcome::Fail)] {
            assert_eq!(outcome(&text(volts), "TUNE-01", "amplifiers.amp"), expected, "{volts}");
            assert_eq!(outcome(&text(volts), "LOAD-03", "loads.left"), expected, "{volts}");
        }
    }

    #[test]
    fn the_amplifier_counts_where_it_is_the_weaker() {
        let text = |volts: &str| plan(&format!("gain_target: {volts}")).replace("450 W", "900 W");
        assert_eq!(outcome(&text("32.2 V"), "TUNE-01", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&text("32.3 V"), "TUNE-01", "amplifiers.amp"), Outcome::Fail);
    }

    #[test]
    fn half_the_coils_take_half_the_power() {
        let one = plan("gain_target: 30.7 V").replace("{parallel: [sub.1, sub.2]}", "sub.1");
        assert_eq!(outcome(&one, "TUNE-01", "amplifiers.amp"), Outcome::Fail);
        assert_eq!(outcome(&one.replace("30.7 V", "30.6 V"), "TUNE-01", "amplifiers.amp"), Outcome::Pass);
    }

    /// 400 W into 2 ohm: 28.28 V, which a meter of three digits must not show as 28.3 V.
    #[test]
    fn the_mend_is_a_voltage_that_passes() {
        let text = |volts: &str| plan(&format!("gain_target: {volts}")).replace("450 W", "400 W");
        let mend = check(&text("31 V"), "TUNE-01", "amplifiers.amp").finding.expect("it fails").mend;
        assert_eq!(mend, "set the gain to 28.2 V or a little less");
        assert_eq!(outcome(&text("28.2 V"), "TUNE-01", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&text("28.2 V"), "LOAD-03", "loads.bass"), Outcome::Pass);
    }

    /// Of three coils the one in series takes 2/3: 200 W there are 300 W into 6 ohm, 42.4 V, not 600 W and 60 V.
    #[test]
    fn the_coil_that_works_hardest_counts() {
        let text = |volts: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 4 ohm, power: 900 W}}, {{load: 8 ohm, power: 700 W}}]}}}}\n\
                 drivers: {{a: {{rms: 200 W, coils: [4 ohm]}}, b: {{rms: 200 W, coils: [4 ohm]}}, c: {{rms: 200 W, coils: [4 ohm]}}}}\n\
                 loads: {{all: {{amplifier: amp, outputs: [1], coils: {{series: [a, {{parallel: [b, c]}}]}}}}}}\n\
                 settings: {{amp: {{gain_target: {volts}}}}}\n"
            )
        };
        assert_eq!(outcome(&text("43.2 V"), "TUNE-01", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&text("43.3 V"), "TUNE-01", "amplifiers.amp"), Outcome::Fail);
    }

    /// A bridged subwoofer and front speakers on one amplifier of four channels: 20 V are too much for neither gain alone.
    #[test]
    fn subwoofers_and_other_speakers_have_gains_of_their_own() {
        let text = |volts: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{rated: [{{load: 4 ohm, power: 75 W}}], bridged: {{rated: [{{load: 4 ohm, power: 200 W}}]}}}}}}\n\
                 drivers: {{sub: {{kind: subwoofer, rms: 200 W, coils: [4 ohm]}}, door: {{kind: full-range, rms: 80 W, coils: [4 ohm]}}}}\n\
                 loads: {{left: {{amplifier: amp, outputs: [1], coils: door}}, bass: {{amplifier: amp, outputs: [3, 4], coils: sub}}}}\n\
                 settings: {{amp: {{gain_target: {volts}}}}}\n"
            )
        };
        for (volts, expected) in [
            ("17.3 V", Outcome::Pass),
            ("17.4 V", Outcome::NotApplicable),
            ("28.2 V", Outcome::NotApplicable),
            ("28.8 V", Outcome::Fail),
        ] {
            assert_eq!(outcome(&text(volts), "TUNE-01", "amplifiers.amp"), expected, "{volts}");
        }
    }

    /// Into 8 ohm an amplifier rated for 300 W into 4 ohm gives between 150 W and 300 W: 34.6 to 48.9 V.
    #[test]
    fn above_the_largest_rated_load_the_rating_is_asked_for() {
        let text =
            |volts: &str| plan(&format!("gain_target: {volts}")).replace("parallel", "series").replace("450", "900");
        assert_eq!(outcome(&text("34.6 V"), "TUNE-01", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&text("50 V"), "TUNE-01", "amplifiers.amp"), Outcome::Fail);
        let open = check(&text("40 V"), "TUNE-01", "amplifiers.amp");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "amplifiers.amp.rated"));
    }

    #[test]
    fn a_driver_without_a_rating_leaves_it_open() {
        let check = check(&plan("gain_target: 30 V").replace("rms: 450 W, ", ""), "TUNE-01", "amplifiers.amp");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "drivers.sub.rms"));
    }

    /// Four channels: 75 W into 4 ohm in front is 17.3 V, 220 W bridged into 4 ohm is 29.6 V.
    #[test]
    fn a_front_and_a_rear_pair_have_a_gain_each() {
        let text = |front: &str, rear: &str| {
            format!(
                "plan: 1\namplifiers: {{quad: {{rated: [{{load: 4 ohm, power: 75 W}}], bridged: {{rated: [{{load: 4 ohm, power: \
                 220 W}}]}}}}}}\ndrivers: {{door: {{kind: full-range, rms: 90 W, coils: [4 ohm]}}, sub: {{kind: subwoofer, rms: 250 W, \
                 coils: [4 ohm]}}}}\nloads: {{door: {{amplifier: quad, outputs: [1], coils: door}}, sub: {{amplifier: quad, outputs: \
                 [3, 4], coils: sub}}}}\nsettings:\n  front: {{amplifier: quad, outputs: [1, 2], gain_target: {front}}}\n  rear: \
                 {{amplifier: quad, outputs: [3, 4], gain_target: {rear}, low_pass: 80 Hz}}\nmeasured: {{settings: {{rear: {{gain: 34 \
                 V}}}}}}\n"
            )
        };
        let right = text("17.3 V", "29.6 V");
        assert_eq!(outcome(&right, "TUNE-01", "settings.front"), Outcome::Pass);
        assert_eq!(outcome(&right, "TUNE-01", "settings.rear"), Outcome::Pass);
        assert_eq!(outcome(&text("17.7 V", "30.2 V"), "TUNE-01", "settings.front"), Outcome::Fail);
        assert_eq!(outcome(&text("17.7 V", "30.2 V"), "TUNE-01", "settings.rear"), Outcome::Fail);
        // What hangs in front of the coils and what was read belong to the same outputs.
        assert_eq!(outcome(&text("17 V", "33 V"), "LOAD-03", "loads.sub"), Outcome::Pass);
        assert_eq!(outcome(&right, "PROOF-06", "settings.rear"), Outcome::Fail);
        let crossed = text("17 V", "29 V").replace("17 V", "17 V, high_pass: 200 Hz");
        assert_eq!(outcome(&crossed, "TUNE-04", "settings.front"), Outcome::Fail);
    }
}
