//! A gain is set with a meter, to a voltage.

use super::ceiling::alone;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::Setting;
use crate::quantity::text::rounded_down;
use crate::quantity::{Quantity, Range, Voltage};
use crate::solve::channels::Channels;
use crate::solve::{Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-06",
    name: "gain-by-ear",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("by_ear.md"),
    check: Subjects::Each(|job| super::site::each(job, check)),
    slips: &[super::Slip::Drop("settings.*.gain_target"), super::Slip::Drop("settings.*.tone")],
};

fn check<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Judged {
    let need = || Undecided::need(channels.at("gain_target"));
    let setting = channels.setting.as_ref().filter(|setting| !is_blank(setting)).ok_or_else(need)?;
    Ok(Verdict::pass_if(setting.gain_target.is_some(), || {
        Finding::new(setting.place(), "filters are set but the gain has no target voltage")
            .label("no gain_target here")
            .because(
                "the ear hears clipping late, and the knob is not a volume control: at half turn it may clip already",
            )
            .offers(alone(job, channels).map(|ceiling| {
                // What an equaliser boosts comes on top.
                let boost = 10.0_f64.powf(setting.boost.map_or(0.0, Quantity::base).max(0.0) / 20.0);
                let volts = Range::<Voltage>::point(rounded_down(ceiling.volts.low() / boost));
                Offer::new(format!("set the gain to {volts}")).set(setting.at("gain_target"), volts)
            }))
            .mend(match alone(job, channels) {
                Some(ceiling) => {
                    format!("set the gain to {} at most, with a test tone and a meter", ceiling.volts.at_low())
                }
                None => "work out sqrt(P x Z) and set the gain to that voltage with a test tone and a meter".to_owned(),
            })
    }))
}

/// Whether a setting says nothing but what it is for.
fn is_blank(setting: &Setting) -> bool {
    let for_what =
        Setting { amplifier: setting.amplifier.clone(), outputs: setting.outputs.clone(), ..Setting::default() };
    *setting == for_what
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, offered, outcome};

    fn plan(setting: &str) -> String {
        format!("plan: 1\namplifiers: {{amp: {{}}}}\nsettings: {{amp: {{{setting}}}}}\n")
    }

    #[test]
    fn a_setting_with_a_voltage_passes_and_one_without_fails() {
        assert_eq!(outcome(&plan("low_pass: 80 Hz, gain_target: 31 V"), "TUNE-06", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(&plan("low_pass: 80 Hz"), "TUNE-06", "amplifiers.amp"), Outcome::Fail);
    }

    #[test]
    fn the_voltage_is_told_where_it_is_known() {
        let told =
            "drivers: {sub: {rms: 450 W, coils: [2 ohm]}}\nloads: {bass: {amplifier: amp, outputs: [1], coils: sub}}\n";
        let text = plan("low_pass: 80 Hz").replace("{amp: {}}", "{amp: {rated: [{load: 2 ohm, power: 500 W}]}}") + told;
        let mend = check(&text, "TUNE-06", "amplifiers.amp").finding.expect("it fails").mend;
        assert_eq!(mend, "set the gain to 30 V at most, with a test tone and a meter");
    }

    #[test]
    fn an_amplifier_whose_setting_is_not_stated_is_open() {
        for text in [plan(""), "plan: 1\namplifiers: {amp: {}}\n".to_owned()] {
            let check = check(&text, "TUNE-06", "amplifiers.amp");
            assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "settings.amp.gain_target"));
        }
    }

    /// 30 V less 20 dB are 3 V.
    #[test]
    fn what_is_boosted_comes_off_the_voltage_that_is_offered() {
        let told =
            "drivers: {sub: {rms: 450 W, coils: [2 ohm]}}\nloads: {bass: {amplifier: amp, outputs: [1], coils: sub}}\n";
        let of = |setting: &str| {
            let text = plan(setting).replace("{amp: {}}", "{amp: {rated: [{load: 2 ohm, power: 500 W}]}}") + told;
            offered(&text, "TUNE-06", "amplifiers.amp")[0].0.clone()
        };
        assert_eq!(of("low_pass: 80 Hz"), "set the gain to 30 V");
        assert_eq!(of("low_pass: 80 Hz, boost: 20 dB"), "set the gain to 3 V");
    }

    #[test]
    fn a_setting_that_only_says_which_outputs_it_is_for_is_not_worked_out_yet() {
        let text = "plan: 1\namplifiers: {quad: {channels: 4}}\ndrivers: {door: {coils: [4 ohm]}}\nloads: {left: {amplifier: quad, \
                    outputs: [1], coils: door}}\nsettings: {front: {amplifier: quad, outputs: [1, 2]}}\n";
        assert_eq!(outcome(text, "TUNE-06", "settings.front"), Outcome::Open);
        let filtered = text.replace("outputs: [1, 2]}", "outputs: [1, 2], high_pass: 80 Hz}");
        assert_eq!(outcome(&filtered, "TUNE-06", "settings.front"), Outcome::Fail);
    }
}
