//! A test tone that the filters hold back shows too little.

use super::ceiling::target;
use super::held_back::{HOW, held_back};
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_least, at_most};
use crate::plan::Amplifier;
use crate::quantity::{Level, Quantity, Range, Voltage};
use crate::solve::{Job, Origin, Thing, Undecided};

const SOURCE: &str = "the pass band that the plan sets; at its corner a filter takes 3 dB or more";

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-07",
    name: "tone-outside-band",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("tone.md"),
    check: Subjects::Amplifier(check),
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let (setting, target) = target(job, amplifier)?;
    let floors = [("high_pass", setting.high_pass), ("low_cut", setting.low_cut)];
    let floors = floors.into_iter().filter_map(|(key, corner)| corner.map(|corner| (key, corner)));
    let floor = floors.max_by(|one, other| one.1.base().total_cmp(&other.1.base()));
    if floor.is_none() && setting.low_pass.is_none() {
        return Err(Undecided::NotApplicable("no filter is stated"));
    }
    let tone = setting.need("tone", &setting.tone)?;
    let below = floor.filter(|(_, corner)| tone.base() < corner.base());
    let (key, corner, compared, side) = match (below, setting.low_pass, floor) {
        (Some((key, corner)), ..) | (None, None, Some((key, corner))) => (key, corner, at_least(tone, corner), "below"),
        (None, Some(corner), _) => ("low_pass", corner, at_most(tone, corner), "above"),
        (None, None, None) => return Err(Undecided::NotApplicable("no filter is stated")),
    };
    let taken = held_back(job, setting.plan(), key, tone);
    Ok(compared
        .formula("the test tone lies between the corners of the filters")
        .given(Input::stated("test tone", tone, setting.at("tone")))
        .given(Input::stated("corner of the filter", corner, setting.at(key)))
        .given_all(taken.map(|taken| Input::from("what the filter takes from the tone", taken, Origin::Computed(HOW))))
        .limit_from(SOURCE)
        .verdict(|_| {
            Finding::new(setting.at("tone"), format!("test tone of {tone} {side} the pass band that ends at {corner}"))
                .label(format!("{tone} here"))
                .also(setting.at(key), shown(taken, target))
                .because("the filter holds the tone back, so the gain is turned too far up to reach the voltage")
                .mend(format!(
                    "use a tone well inside the band, away from {corner}, or switch the filter off meanwhile"
                ))
        }))
}

/// What a meter shows of the target behind a filter.
fn shown(taken: Option<Range<Level>>, target: Quantity<Voltage>) -> String {
    let Some(taken) = taken else { return "the band ends here".to_owned() };
    let left = |decibels: f64| target.base() / 10.0_f64.powf(decibels / 20.0);
    let volts = Range::<Voltage>::new(left(taken.low()), left(taken.high()));
    format!("takes {taken} from the tone: a gain that gives {target} inside the band shows {volts}")
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(setting: &str) -> String {
        format!("plan: 1\namplifiers: {{amp: {{}}}}\nsettings: {{amp: {{gain_target: 12 V, {setting}}}}}\n")
    }

    #[test]
    fn a_tone_at_the_corner_passes_and_one_hertz_beyond_fails() {
        for (setting, expected) in [
            ("tone: 80 Hz, low_pass: 80 Hz", Outcome::Pass),
            ("tone: 81 Hz, low_pass: 80 Hz", Outcome::Fail),
            ("tone: 80 Hz, high_pass: 80 Hz", Outcome::Pass),
            ("tone: 79 Hz, high_pass: 80 Hz", Outcome::Fail),
            ("tone: 29 Hz, low_cut: 30 Hz, low_pass: 80 Hz", Outcome::Fail),
            ("tone: 50 Hz, low_cut: 30 Hz, low_pass: 80 Hz", Outcome::Pass),
            ("tone: 50 Hz", Outcome::NotApplicable),
        ] {
            assert_eq!(outcome(&plan(setting), "TUNE-07", "amplifiers.amp"), expected, "{setting}");
        }
    }

    #[test]
    fn a_tone_that_is_not_stated_is_asked_for() {
        let check = check(&plan("low_pass: 80 Hz"), "TUNE-07", "amplifiers.amp");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "settings.amp.tone"));
    }

    #[test]
    fn the_finding_says_what_the_meter_shows_behind_the_filter() {
        let also = |setting: &str| {
            let finding = check(&plan(setting), "TUNE-07", "amplifiers.amp").finding.expect("it fails");
            finding.also[0].text.clone()
        };
        // An octave above its corner a Butterworth filter of 24 dB/oct takes 24.1 dB, one of 12 dB/oct 12.3 dB.
        assert_eq!(
            also("tone: 160 Hz, low_pass: 80 Hz, low_pass_slope: 24 dB/oct, filters: butterworth"),
            "takes 24.1 dB from the tone: a gain that gives 12 V inside the band shows 749 mV"
        );
        assert_eq!(
            also("tone: 40 Hz, high_pass: 80 Hz, high_pass_slope: 12 dB/oct, filters: butterworth"),
            "takes 12.3 dB from the tone: a gain that gives 12 V inside the band shows 2.91 V"
        );
        assert!(also("tone: 160 Hz, low_pass: 80 Hz").starts_with("takes 12.3 to 24.6 dB"));
        assert_eq!(also("tone: 160 Hz, low_pass: 80 Hz, low_pass_slope: 20 dB/oct"), "the band ends here");
    }
}
