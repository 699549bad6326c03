//! A test tone that the filters hold back shows too little.

use super::held_back::{HOW, held_back};
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::Setting;
use crate::quantity::{Frequency, Level, Quantity, Range, Voltage};
use crate::solve::channels::Channels;
use crate::solve::{Job, Origin, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-07",
    name: "tone-outside-band",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("tone.md"),
    check: Subjects::Each(|job| super::site::each(job, check)),
    slips: &[super::Slip::Past("settings.*.tone"), super::Slip::Say("settings.*.tone", &["1 kHz", "50 Hz", "100 Hz"])],
};

/// The filters of a setting: what each takes is called.
const FILTERS: [(&str, &str); 3] =
    [("low_pass", "loss in the low-pass"), ("high_pass", "loss in the high-pass"), ("low_cut", "loss in the low cut")];

fn check<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Judged {
    let (setting, target) = channels.target()?;
    if setting.low_pass.or(setting.high_pass).or(setting.low_cut).is_none() {
        return Err(Undecided::NotApplicable("no filter is stated"));
    }
    if setting.tone_unfiltered == Some(true) {
        return Err(Undecided::NotApplicable("the filters are off while the gain is set"));
    }
    let tone = setting.need("tone", &setting.tone)?;
    let losses = losses(job, setting, tone);
    let strongest = losses.iter().max_by(|one, other| one.1.high().total_cmp(&other.1.high()));
    let (key, ..) = *strongest.ok_or(Undecided::NotApplicable("no filter is stated"))?;
    let loss: Range<Level> = losses.iter().map(|(_, loss)| *loss).sum();
    let limit = job.house.limits.tone_loss;
    Ok(at_most(loss, limit.value)
        .formula("loss in the low-pass + loss in the high-pass + loss in the low cut")
        .given(Input::stated("test tone", tone, setting.at("tone")))
        .given_all(FILTERS.into_iter().map(|(key, name)| {
            let stated = losses.iter().find(|loss| loss.0 == key);
            let nothing = (Range::point(0.0), Origin::Computed("no such filter is stated"));
            let (loss, how) = stated.map_or(nothing, |loss| (loss.1, Origin::Computed(HOW)));
            Input::from(name, loss, how)
        }))
        .limit_from(limit.source)
        .verdict(|is| {
            let title = format!("the filters take {loss} from the test tone of {tone}, {} is the most", is.limit());
            Finding::new(setting.at("tone"), title)
                .label(format!("{tone} here"))
                .also(setting.at(key), shown(loss, target))
                .because(
                    "what a filter takes from the tone is made up with the gain, which then is too high by as much",
                )
                .mend(mend(job, setting))
                .offer(Offer::new(format!("tone of {}", best(setting))).set(setting.at("tone"), best(setting)))
                .offer(Offer::new("filters off while the gain is set").set(setting.at("tone_unfiltered"), true))
        }))
}

/// What each stated filter takes from a tone.
fn losses(job: &Job<'_>, setting: &Thing<'_, Setting>, tone: Quantity<Frequency>) -> Vec<(&'static str, Range<Level>)> {
    // To a thousandth of a decibel: less says nothing.
    let thousandth = |decibels: f64| (decibels * 1000.0).round() / 1000.0;
    let loss = |(key, _)| held_back(job, setting, key, tone).map(|loss| (key, loss.map(thousandth)));
    FILTERS.into_iter().filter_map(loss).collect()
}

/// Up to which frequency in hertz a hand meter reads alternating voltage true (common practice, no published source).
const METER: f64 = 1000.0;

/// A tone that the filters leave alone, where there is one.
fn mend(job: &Job<'_>, setting: &Thing<'_, Setting>) -> String {
    let off = "switch the filters off while the gain is set and state `tone_unfiltered: true`";
    let best = best(setting);
    let loss: Range<Level> = losses(job, setting, best).into_iter().map(|(_, loss)| loss).sum();
    if loss.high() <= job.house.limits.tone_loss.value.base() {
        format!("use a tone of {best}, or {off}")
    } else {
        off.to_owned()
    }
}

/// The tone that lies best between the filters.
fn best(setting: &Thing<'_, Setting>) -> Quantity<Frequency> {
    let base = |corner: Option<Quantity<Frequency>>| corner.map(Quantity::base).filter(|corner| *corner > 0.0);
    let floor = [base(setting.high_pass), base(setting.low_cut)].into_iter().flatten().reduce(f64::max);
    let best = match (floor, base(setting.low_pass)) {
        (Some(floor), Some(ceiling)) => (floor * ceiling).sqrt().min(METER),
        (Some(_), None) => METER,
        (None, ceiling) => ceiling.map_or(50.0, |ceiling| ceiling / 2.0).min(50.0),
    };
    Quantity::<Frequency>::new(best.round().max(1.0))
}

/// What a meter shows of the target behind the filters.
fn shown(taken: Range<Level>, target: Quantity<Voltage>) -> String {
    let left = |decibels: f64| target.base() / 10.0_f64.powf(decibels / 20.0);
    let volts = Range::<Voltage>::new(left(taken.low()), left(taken.high()));
    format!("a gain that gives {target} inside the band shows {volts} with this tone")
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, offered, outcome};

    fn plan(setting: &str) -> String {
        format!("plan: 1\namplifiers: {{amp: {{}}}}\nsettings: {{amp: {{gain_target: 12 V, {setting}}}}}\n")
    }

    /// Behind a low-pass of 12 dB/oct and 80 Hz 10 log10(1 + (f / 80)^4) is 1 dB where (f / 80)^4 = 10^0.1 - 1 = 0.2589:
    /// at 57.06 Hz.
    #[test]
    fn one_decibel_passes_and_a_little_more_fails() {
        let butterworth = "low_pass: 80 Hz, low_pass_slope: 12 dB/oct, filters: butterworth";
        for (tone, expected) in [("57 Hz", Outcome::Pass), ("57.1 Hz", Outcome::Fail), ("80 Hz", Outcome::Fail)] {
            assert_eq!(outcome(&plan(&format!("tone: {tone}, {butterworth}")), "TUNE-07", "amplifiers.amp"), expected);
        }
        // A high-pass is its mirror image: 80 x 80 / 57.06 = 112.2 Hz.
        let mirror = butterworth.replace("low_pass", "high_pass");
        for (tone, expected) in [("112.2 Hz", Outcome::Pass), ("112 Hz", Outcome::Fail)] {
            assert_eq!(outcome(&plan(&format!("tone: {tone}, {mirror}")), "TUNE-07", "amplifiers.amp"), expected);
        }
    }

    #[test]
    fn all_filters_count_together() {
        // At the middle of 30 and 80 Hz, 49 Hz, each takes 0.57 dB with 12 dB/oct: 1.14 dB; with 24 dB/oct 0.09 dB.
        let both = |slope: &str| {
            format!(
                "tone: 49 Hz, low_cut: 30 Hz, low_pass: 80 Hz, low_cut_slope: {slope}, low_pass_slope: {slope}, filters: \
                 butterworth"
            )
        };
        assert_eq!(outcome(&plan(&both("12 dB/oct")), "TUNE-07", "amplifiers.amp"), Outcome::Fail);
        assert_eq!(outcome(&plan(&both("24 dB/oct")), "TUNE-07", "amplifiers.amp"), Outcome::Pass);
        let off = both("12 dB/oct") + ", tone_unfiltered: true";
        assert_eq!(outcome(&plan(&off), "TUNE-07", "amplifiers.amp"), Outcome::NotApplicable);
        assert_eq!(outcome(&plan("tone: 50 Hz"), "TUNE-07", "amplifiers.amp"), Outcome::NotApplicable);
    }

    #[test]
    fn the_design_of_a_filter_may_decide() {
        // A Butterworth filter takes 0.1 to 0.6 dB at 50 Hz of 80, a Linkwitz-Riley one 1.2 to 2.9 dB.
        let check = check(&plan("tone: 50 Hz, low_pass: 80 Hz"), "TUNE-07", "amplifiers.amp");
        let turns: Vec<&str> = check.turns.iter().map(|turn| turn.words.as_str()).collect();
        assert_eq!((check.outcome, turns.as_slice()), (Outcome::Open, &["passes with butterworth"][..]));
        assert_eq!(check.turns[0].place.path(), "settings.amp.filters");
    }

    #[test]
    fn the_mend_names_a_tone_that_passes_or_none() {
        let mend = |setting: &str| check(&plan(setting), "TUNE-07", "amplifiers.amp").finding.expect("it fails").mend;
        let off = "switch the filters off while the gain is set and state `tone_unfiltered: true`";
        assert_eq!(
            mend("tone: 1 kHz, low_pass: 80 Hz, low_pass_slope: 24 dB/oct, filters: butterworth"),
            format!("use a tone of 40 Hz, or {off}")
        );
        assert_eq!(
            mend("tone: 50 Hz, high_pass: 80 Hz, high_pass_slope: 24 dB/oct, filters: linkwitz-riley"),
            format!("use a tone of 1 kHz, or {off}")
        );
        assert_eq!(mend("tone: 100 Hz, low_cut: 60 Hz, low_pass: 80 Hz"), off);
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
            "a gain that gives 12 V inside the band shows 749 mV with this tone"
        );
        assert_eq!(
            also("tone: 40 Hz, high_pass: 80 Hz, high_pass_slope: 12 dB/oct, filters: butterworth"),
            "a gain that gives 12 V inside the band shows 2.91 V with this tone"
        );
        let title = |setting: &str| check(&plan(setting), "TUNE-07", "amplifiers.amp").finding.expect("it fails").title;
        assert_eq!(
            title("tone: 160 Hz, low_pass: 80 Hz"),
            "the filters take 12.3 to 24.6 dB from the test tone of 160 Hz, 1 dB is the most"
        );
        // A slope that no filter has counts as any.
        assert_eq!(
            title("tone: 160 Hz, low_pass: 80 Hz, low_pass_slope: 20 dB/oct"),
            "the filters take 12.3 to 24.6 dB from the test tone of 160 Hz, 1 dB is the most"
        );
    }

    /// At twice its corner a low-pass of 12 dB/oct takes 12.3 dB, at eight times its corner a low cut nothing.
    #[test]
    fn what_each_filter_takes_is_told_by_its_name() {
        let setting = "tone: 160 Hz, low_cut: 20 Hz, low_cut_slope: 12 dB/oct, low_pass: 80 Hz, low_pass_slope: 12 dB/oct, \
            filters: butterworth";
        let working = check(&plan(setting), "TUNE-07", "amplifiers.amp").working.expect("it is computed");
        let lost = |name: &str| match working.inputs.iter().find(|input| input.name == name).map(|input| &input.value) {
            Some(crate::judge::Value::Figure(figure)) => figure.high,
            other => panic!("{name}: {other:?}"),
        };
        assert!((lost("loss in the low-pass") - 12.3).abs() < 0.05, "{}", lost("loss in the low-pass"));
        assert!(lost("loss in the low cut") < 0.01 && lost("loss in the high-pass") == 0.0);
    }

    #[test]
    fn the_tone_halfway_between_the_filters_is_offered() {
        let offer = |setting: &str| offered(&plan(setting), "TUNE-07", "amplifiers.amp")[0].0.clone();
        assert_eq!(offer("tone: 160 Hz, high_pass: 20 Hz, low_pass: 80 Hz"), "tone of 40 Hz");
        assert_eq!(offer("tone: 160 Hz, low_cut: 20 Hz, low_pass: 80 Hz"), "tone of 40 Hz");
        assert_eq!(offer("tone: 160 Hz, low_pass: 80 Hz"), "tone of 40 Hz");
    }

    #[test]
    fn a_corner_of_nought_is_no_filter() {
        assert_eq!(outcome(&plan("tone: 50 Hz, low_pass: 0 Hz"), "TUNE-07", "amplifiers.amp"), Outcome::NotApplicable);
        let beside = plan("tone: 160 Hz, high_pass: 0 Hz, low_pass: 80 Hz");
        assert_eq!(offered(&beside, "TUNE-07", "amplifiers.amp")[0].0, "tone of 40 Hz");
    }
}
