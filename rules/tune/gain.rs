//! A gain set too high clips the amplifier or burns the voice coil.

use super::ceiling::{lowest, target};
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::Amplifier;
use crate::solve::{Job, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-01",
    name: "gain-target-high",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("gain.md"),
    check: Subjects::Amplifier(check),
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let (setting, target) = target(job, amplifier)?;
    let ceiling = lowest(job, amplifier)?;
    Ok(at_most(target, ceiling.volts)
        .formula("gain target <= sqrt(P x Z), P the smaller of the amplifier's and the drivers' power")
        .given(Input::stated("gain target", target, setting.at("gain_target")))
        .given_all(ceiling.inputs())
        .limit_from("Ohm's law, with the power of the plan")
        .verdict(|is| {
            let power = ceiling.rated.min(ceiling.drivers);
            Finding::new(setting.at("gain_target"), format!("gain set to {target} where {} is clean", is.limit()))
                .label(format!("{target} here"))
                .also(ceiling.load.at("coils"), format!("{power} into {}", is_ohms(ceiling.ohms)))
                .because("beyond its clean output an amplifier clips, and beyond its rating a voice coil burns")
                .mend(format!("set the gain to {} or a little less", is.limit()))
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

    /// 450 W into 2 ohm: 30 V by Ohm's law.
    #[test]
    fn the_voltage_of_the_weaker_power_passes_and_a_tenth_of_a_volt_more_fails() {
        assert_eq!(outcome(&plan("gain_target: 30 V"), "TUNE-01", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&plan("gain_target: 30.1 V"), "TUNE-01", "amplifiers.amp"), Outcome::Fail);
    }

    #[test]
    fn the_amplifier_counts_where_it_is_the_weaker() {
        let text = |volts: &str| plan(&format!("gain_target: {volts}")).replace("450 W", "900 W");
        assert_eq!(outcome(&text("31.6 V"), "TUNE-01", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&text("31.7 V"), "TUNE-01", "amplifiers.amp"), Outcome::Fail);
    }

    #[test]
    fn half_the_coils_take_half_the_power() {
        let one = plan("gain_target: 30.1 V").replace("{parallel: [sub.1, sub.2]}", "sub.1");
        assert_eq!(outcome(&one, "TUNE-01", "amplifiers.amp"), Outcome::Fail);
        assert_eq!(outcome(&one.replace("30.1 V", "30 V"), "TUNE-01", "amplifiers.amp"), Outcome::Pass);
    }

    #[test]
    fn a_driver_without_a_rating_leaves_it_open() {
        let check = check(&plan("gain_target: 30 V").replace("rms: 450 W, ", ""), "TUNE-01", "amplifiers.amp");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "drivers.sub.rms"));
    }
}
