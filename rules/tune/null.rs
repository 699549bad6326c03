//! Where two parts of the music meet they must not cancel.

use super::crossover::{Meeting, kinds, meeting};
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::{DriverKind, Load, Setting};
use crate::quantity::{Frequency, Level, Quantity};
use crate::solve::channels::{self, Channels};
use crate::solve::filters::{Filter, together};
use crate::solve::{Job, Origin, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-09",
    name: "crossover-null",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("null.md"),
    check: Subjects::Each(|job| super::site::each(job, check)),
    slips: &[super::Slip::Say("loads.*.reversed", &["true"])],
};

/// Corners meet within so many octaves.
const MEETING: f64 = 1.0 / 3.0;
/// Two parts that give so much less than they would with one of them reversed are the wrong way round, in decibels: half.
const WORSE: f64 = 6.0;
const SOURCE: &str = "half of what the other polarity gives (common practice, no published source)";
const HOW: &str = "both filters by amplitude and phase, where the parts meet";

/// A part with its filter there, its corner, and the way round its loads are.
struct Part<'c, 'a> {
    setting: &'c Thing<'a, Setting>,
    loads: &'c [Thing<'a, Load>],
    filter: Filter,
    corner: Quantity<Frequency>,
}

impl<'c, 'a> Part<'c, 'a> {
    /// A part whose setting states all of its filter.
    fn of(channels: &'c Channels<'a>, is_low_pass: bool) -> Option<Self> {
        let setting = channels.setting.as_ref()?;
        let (corner, slope) = if is_low_pass {
            (setting.low_pass?, setting.low_pass_slope?)
        } else {
            (setting.high_pass?, setting.high_pass_slope?)
        };
        let filter = Filter::steep(setting.filters?, slope.base())?;
        (corner.base() > 0.0).then_some(Self { setting, loads: &channels.loads, filter, corner })
    }
}

fn check<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Judged {
    let own = kinds(channels, job)?;
    if own.contains(&DriverKind::Subwoofer) {
        return Err(Undecided::NotApplicable("no speakers on these outputs that begin where others end"));
    }
    let unknown = Undecided::NotApplicable("corner, slope and design of both filters are not all stated");
    let upper = Part::of(channels, false).ok_or(unknown.clone())?;
    let meeting = meeting(&own, job);
    let is_below = |other: &Channels<'a>| {
        kinds(other, job).is_ok_and(|kinds| kinds.iter().all(|kind| meeting.below.contains(kind)))
    };
    let below: Vec<Channels<'a>> = channels::each(job).into_iter().filter(is_below).collect();
    let lower = below.iter().filter_map(|other| Part::of(other, true));
    let lower = lower.filter(|lower| (upper.corner.base() / lower.corner.base()).log2().abs() <= MEETING);
    let verdicts: Vec<Verdict> = lower.map(|lower| judged(&meeting, &lower, &upper)).collect();
    let worst = verdicts.into_iter().reduce(|one, other| if one.finding.is_some() { one } else { other });
    worst.ok_or(unknown)
}

/// A pair of parts, by the loads that are the most the wrong way round to each other.
fn judged(meeting: &Meeting, lower: &Part<'_, '_>, upper: &Part<'_, '_>) -> Verdict {
    let at = (lower.corner.base() * upper.corner.base()).sqrt();
    let sum = |is_reversed| {
        together((lower.filter, at / lower.corner.base()), (upper.filter, at / upper.corner.base()), is_reversed)
    };
    let turned = |load: &Load| load.reversed == Some(true);
    let pairs = lower.loads.iter().flat_map(|one| upper.loads.iter().map(move |other| (one, other)));
    let worst = pairs.min_by(|one, other| {
        let of = |(low, high): &(&Thing<'_, Load>, &Thing<'_, Load>)| sum(turned(low) != turned(high));
        of(one).total_cmp(&of(other))
    });
    let is_reversed = worst.is_some_and(|(low, high)| turned(low) != turned(high));
    let (now, otherwise) = (Quantity::<Level>::new(sum(is_reversed)), Quantity::<Level>::new(sum(!is_reversed)));
    let at = Quantity::<Frequency>::new(at);
    at_least(now, Quantity::new(otherwise.base() - WORSE))
        .formula("both parts together >= the same with one of them reversed - 6 dB")
        .given(Input::from("both parts together", now, Origin::Computed(HOW)))
        .given(Input::from("the same with one of them reversed", otherwise, Origin::Computed(HOW)))
        .limit_from(SOURCE)
        .verdict(|_| {
            let Meeting { lower: below, upper: above, .. } = meeting;
            let title = format!("{below} and {above} cancel at {at}: {now} together, {otherwise} with one of them reversed");
            let mend = if is_reversed {
                format!("connect {below} and {above} the same way round, and leave `reversed` out")
            } else {
                format!(
                    "connect the {above} the other way round and state `reversed: true` in their loads, or set both filters to 24 dB/oct"
                )
            };
            let finding = Finding::new(upper.setting.at("high_pass_slope"), title)
                .label(format!("{above} from {}", upper.corner))
                .also(lower.setting.at("low_pass_slope"), format!("{below} up to {}", lower.corner));
            let finding = match worst.and_then(|(low, high)| [low, high].into_iter().find(|load| turned(load))) {
                Some(load) if is_reversed => finding.also(load.at("reversed"), "the other way round"),
                _ => finding,
            };
            finding
                .because("both play their corner, one pushes while the other pulls, and a hole is left where voices are")
                .mend(mend)
        })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// Woofers and tweeters of an active front, each pair with its own setting.
    fn plan(low: &str, high: &str, loads: [&str; 2]) -> String {
        let [woofer, tweeter] = loads;
        format!(
            "plan: 1\namplifiers: {{quad: {{channels: 4}}}}\ndrivers: {{door: {{kind: woofer, size: 165 mm, coils: [4 ohm]}}, top: \
             {{kind: tweeter, coils: [4 ohm]}}}}\nloads:\n  low: {{amplifier: quad, outputs: [1], coils: door{woofer}}}\n  high: \
             {{amplifier: quad, outputs: [2], coils: top{tweeter}}}\nsettings:\n  wo: {{amplifier: quad, outputs: [1], {low}}}\n  \
             tw: {{amplifier: quad, outputs: [2], {high}}}\n"
        )
    }

    fn of(filter: &str, loads: [&str; 2]) -> Outcome {
        let (design, slope) = filter.split_once(' ').expect("a design and a slope");
        let low = format!("low_pass: 3 kHz, low_pass_slope: {slope} dB/oct, filters: {design}");
        let high = format!("high_pass: 3 kHz, high_pass_slope: {slope} dB/oct, filters: {design}");
        outcome(&plan(&low, &high, loads), "TUNE-09", "settings.tw")
    }

    const SAME: [&str; 2] = ["", ""];
    const TURNED: [&str; 2] = ["", ", reversed: true"];
    const BOTH: [&str; 2] = [", reversed: true", ", reversed: true"];

    /// 180 degrees lie between the parts of a second order, 360 between those of a fourth; a third has 270, and sounds
    /// alike either way.
    #[test]
    fn of_two_parts_at_twelve_decibels_one_is_reversed_and_at_twenty_four_none() {
        for filter in ["linkwitz-riley 12", "butterworth 12"] {
            assert_eq!((of(filter, SAME), of(filter, TURNED)), (Outcome::Fail, Outcome::Pass), "{filter}");
            assert_eq!(of(filter, BOTH), Outcome::Fail, "{filter}: both turned are as none");
        }
        for filter in ["linkwitz-riley 24", "butterworth 24"] {
            assert_eq!((of(filter, SAME), of(filter, TURNED)), (Outcome::Pass, Outcome::Fail), "{filter}");
        }
        for filter in ["butterworth 6", "butterworth 18"] {
            assert_eq!((of(filter, SAME), of(filter, TURNED)), (Outcome::Pass, Outcome::Pass), "{filter}");
        }
    }

    #[test]
    fn it_says_how_much_is_left_and_what_to_turn() {
        let low = "low_pass: 3 kHz, low_pass_slope: 12 dB/oct, filters: linkwitz-riley";
        let high = "high_pass: 3 kHz, high_pass_slope: 12 dB/oct, filters: linkwitz-riley";
        let finding = check(&plan(low, high, SAME), "TUNE-09", "settings.tw").finding.expect("it fails");
        assert!(
            finding.title.starts_with("woofers and tweeters cancel at 3 kHz: -40 dB together, 0 dB "),
            "{}",
            finding.title
        );
        assert!(finding.mend.starts_with("connect the tweeters the other way round"), "{}", finding.mend);
        // Both turned are as none: neither is pointed at.
        let both = check(&plan(low, high, BOTH), "TUNE-09", "settings.tw").finding.expect("it fails");
        assert_eq!(both.also.len(), 1, "{:?}", both.also);
        let steep = |text: &str| text.replace("12 dB/oct", "24 dB/oct");
        let text = plan(&steep(low), &steep(high), TURNED);
        let finding = check(&text, "TUNE-09", "settings.tw").finding.expect("it fails");
        assert_eq!(finding.mend, "connect woofers and tweeters the same way round, and leave `reversed` out");
        assert!(finding.also.iter().any(|label| label.place.path() == "loads.high.reversed"));
    }

    /// Half an octave apart they do not meet, and a design or a slope that nobody states is not guessed.
    #[test]
    fn without_all_of_both_filters_or_where_they_do_not_meet_nothing_is_said() {
        let low = "low_pass: 3 kHz, low_pass_slope: 12 dB/oct, filters: linkwitz-riley";
        for high in [
            "high_pass: 4.3 kHz, high_pass_slope: 12 dB/oct, filters: linkwitz-riley",
            "high_pass: 3 kHz, high_pass_slope: 12 dB/oct",
            "high_pass: 3 kHz, filters: linkwitz-riley",
        ] {
            assert_eq!(outcome(&plan(low, high, SAME), "TUNE-09", "settings.tw"), Outcome::NotApplicable, "{high}");
        }
        let near = "high_pass: 3.5 kHz, high_pass_slope: 12 dB/oct, filters: linkwitz-riley";
        assert_eq!(outcome(&plan(low, near, SAME), "TUNE-09", "settings.tw"), Outcome::Fail);
    }

    /// 90 degrees lie between a second and a fourth order: 3 dB are missing either way, and turning one mends nothing.
    #[test]
    fn what_is_as_little_either_way_round_is_not_turned() {
        let low = "low_pass: 3 kHz, low_pass_slope: 12 dB/oct, filters: linkwitz-riley";
        let high = "high_pass: 3 kHz, high_pass_slope: 24 dB/oct, filters: linkwitz-riley";
        let of = |loads| outcome(&plan(low, high, loads), "TUNE-09", "settings.tw");
        assert_eq!((of(SAME), of(TURNED)), (Outcome::Pass, Outcome::Pass));
    }

    #[test]
    fn one_tweeter_of_two_the_wrong_way_round_is_found() {
        let low = "low_pass: 3 kHz, low_pass_slope: 24 dB/oct, filters: linkwitz-riley";
        let high = "high_pass: 3 kHz, high_pass_slope: 24 dB/oct, filters: linkwitz-riley";
        let of = |right: &str| {
            let text = plan(low, high, SAME)
                .replace("drivers: {", "drivers: {right: {kind: tweeter, coils: [4 ohm]}, ")
                .replace(
                    "loads:\n",
                    &format!("loads:\n  right: {{amplifier: quad, outputs: [3], coils: right{right}}}\n"),
                )
                .replace("tw: {amplifier: quad, outputs: [2]", "tw: {amplifier: quad, outputs: [2, 3]");
            check(&text, "TUNE-09", "settings.tw")
        };
        assert_eq!((of("").outcome, of(", reversed: true").outcome), (Outcome::Pass, Outcome::Fail));
        let finding = of(", reversed: true").finding.expect("it fails");
        assert!(finding.also.iter().any(|label| label.place.path() == "loads.right.reversed"), "{:?}", finding.also);
    }
}
