//! Boost lifts the output above the target that was set without it.

use super::ceiling::against;
use crate::judge::{Finding, Input, Judged, Offer, Outcome, Rule, Severity, Subjects, at_most};
use crate::quantity::text::rounded_down;
use crate::quantity::{Range, Voltage};
use crate::solve::channels::Channels;
use crate::solve::{Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-05",
    name: "boost-not-counted",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("boost.md"),
    check: Subjects::Each(|job| super::site::each(job, check)),
    slips: &[
        super::Slip::Past("settings.*.gain_target"),
        super::Slip::Past("settings.*.boost"),
        super::Slip::Say("settings.*.boost", &["3 dB", "6 dB"]),
    ],
};

fn check<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Judged {
    let (setting, target) = channels.target()?;
    let boost = setting.need("boost", &setting.boost)?;
    if boost.base() <= 0.0 {
        return Err(Undecided::NotApplicable("nothing is boosted"));
    }
    let gain = 10.0_f64.powf(boost.base() / 20.0);
    let boosted = Range::<Voltage>::from(target) * gain;
    let ceiling = against(job, channels, boosted)?;
    if target.base() > ceiling.volts.high() * (1.0 + job.house.limits.gain_tolerance.base()) {
        return Err(Undecided::NotApplicable("the target is too high even without boost"));
    }
    let is = at_most(boosted, ceiling.volts);
    if is.outcome() == Outcome::Open {
        return Err(ceiling.open(channels));
    }
    Ok(is
        .formula("gain target x 10^(boost / 20) <= sqrt(power x impedance)")
        .given(Input::stated("gain target", target, setting.at("gain_target")))
        .given(Input::stated("boost", boost, setting.at("boost")))
        .given_all(ceiling.inputs())
        .limit_from("Ohm's law, with the power of the plan")
        .verdict(|is| {
            let lowered = Range::<Voltage>::point(rounded_down(ceiling.volts.low() / gain));
            let offers = [
                Offer::new("take the boost out").set(setting.at("boost"), "0 dB"),
                Offer::new(format!("set the gain to {lowered}")).set(setting.at("gain_target"), lowered),
            ];
            let title = format!("{boost} of boost make {boosted} where {} is clean", is.limit());
            Finding::new(setting.at("boost"), title)
                .label(format!("{boost} here"))
                .also(setting.at("gain_target"), format!("{target} without the boost"))
                .because("3 dB of boost double the power, so a gain that is clean without it clips with it")
                .mend(format!("take the boost out, or set the gain to {lowered} before it"))
                .offers(offers)
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    fn plan(setting: &str) -> String {
        format!(
            "plan: 1\namplifiers: {amps}\ndrivers: {drivers}\nloads: {loads}\nsettings: {{amp: {{{setting}}}}}\n",
            amps = "{amp: {rated: [{load: 4 ohm, power: 300 W}, {load: 2 ohm, power: 500 W}]}}",
            drivers = "{sub: {kind: subwoofer, rms: 450 W, coils: [4 ohm, 4 ohm]}}",
            loads = "{bass: {amplifier: amp, outputs: [1], coils: {parallel: [sub.1, sub.2]}}}",
        )
    }

    /// 20 dB are ten times the voltage, exactly; 450 W into 2 ohm are 30 V.
    #[test]
    fn boost_up_to_the_clean_output_passes_and_beyond_fails() {
        assert_eq!(outcome(&plan("gain_target: 3 V, boost: 20 dB"), "TUNE-05", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&plan("gain_target: 3.1 V, boost: 20 dB"), "TUNE-05", "amplifiers.amp"), Outcome::Fail);
    }

    #[test]
    fn no_boost_is_nothing_to_judge_and_an_unknown_one_is_open() {
        assert_eq!(
            outcome(&plan("gain_target: 30 V, boost: 0 dB"), "TUNE-05", "amplifiers.amp"),
            Outcome::NotApplicable
        );
        let check = check(&plan("gain_target: 30 V"), "TUNE-05", "amplifiers.amp");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "settings.amp.boost"));
    }

    #[test]
    fn the_gain_that_leaves_room_for_the_boost_is_named() {
        let found = finding(&plan("gain_target: 3.1 V, boost: 20 dB"), "TUNE-05", "amplifiers.amp");
        assert!(found.mend.contains("set the gain to 3 V before it"), "{}", found.mend);
    }

    /// 30 V are clean by themselves; above that the target is wrong with any boost.
    #[test]
    fn a_target_that_is_too_high_by_itself_is_told_elsewhere() {
        let of =
            |target: &str| outcome(&plan(&format!("gain_target: {target}, boost: 3 dB")), "TUNE-05", "amplifiers.amp");
        assert_eq!((of("30 V"), of("31 V")), (Outcome::Fail, Outcome::NotApplicable));
    }

    /// 500 W are rated into 2 ohm, of which the drivers take 450 W.
    #[test]
    fn what_the_ceiling_is_made_from_is_told() {
        let working = finding_working(&plan("gain_target: 3.1 V, boost: 20 dB"));
        for (name, value) in [("impedance", 2.0), ("rated power", 500.0), ("drivers' power", 450.0), ("power", 450.0)] {
            let input = working.inputs.iter().find(|input| input.name == name);
            match input.map(|input| &input.value) {
                Some(crate::judge::Value::Figure(figure)) => assert!((figure.low - value).abs() < 1e-9, "{name}"),
                other => panic!("{name}: {other:?}"),
            }
        }
    }

    fn finding_working(text: &str) -> crate::judge::Working {
        *check(text, "TUNE-05", "amplifiers.amp").working.expect("it is computed")
    }
}
