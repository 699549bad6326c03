//! Bass, mains and tweeters meet without a hole and without doubling.

use super::held_back::{HOW, held_back};
use super::plays::drivers;
use crate::judge::{Comparison, Figure, Finding, Input, Judged, Offer, Relation, Rule, Severity, Subjects};
use crate::plan::DriverKind;
use crate::quantity::{Frequency, Level, Quantity, Range};
use crate::solve::channels::{self, Channels};
use crate::solve::{Decided, Job, Origin, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-04",
    name: "crossover-gap",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("crossover.md"),
    check: Subjects::Each(|job| super::site::each(job, check)),
    slips: &[super::Slip::Past("settings.*.high_pass"), super::Slip::Past("settings.*.low_pass")],
};

/// Where the mains may well begin at the lowest, in hertz (common practice, no published source).
const LOWEST: f64 = 60.0;

/// Where most tweeters may begin, in hertz (common practice, no published source).
const TWEETER: f64 = 3000.0;

/// Two parts of the music that meet, by what plays them.
pub(super) struct Meeting {
    pub lower: &'static str,
    pub upper: &'static str,
    /// What plays the lower part, and nothing else.
    pub below: &'static [DriverKind],
}

const BASS: Meeting = Meeting { lower: "bass", upper: "mains", below: &[DriverKind::Subwoofer] };
const MIDDLE: Meeting =
    Meeting { lower: "woofers", upper: "midranges", below: &[DriverKind::Woofer, DriverKind::FullRange] };
const TOP: Meeting = Meeting { lower: "midranges", upper: "tweeters", below: &[DriverKind::Midrange] };
const TOP_OF_TWO: Meeting = Meeting { upper: "tweeters", ..MIDDLE };

/// What the lowest of some speakers hand over to.
pub(super) fn meeting(kinds: &[DriverKind], job: &Job<'_>) -> Meeting {
    let is_any = |kind: DriverKind| kinds.contains(&kind);
    let midranges = || job.plan.drivers.values().any(|driver| driver.kind == Some(DriverKind::Midrange));
    if is_any(DriverKind::FullRange) || is_any(DriverKind::Woofer) {
        BASS
    } else if is_any(DriverKind::Midrange) {
        MIDDLE
    } else if midranges() {
        TOP
    } else {
        TOP_OF_TWO
    }
}

pub(super) fn kinds<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Decided<Vec<DriverKind>> {
    Ok(drivers(job, channels)?.into_iter().map(|(_, _, kind)| kind).collect())
}

fn check<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Judged {
    let own = kinds(channels, job)?;
    if own.contains(&DriverKind::Subwoofer) {
        return Err(Undecided::NotApplicable("no speakers on these outputs that begin where others end"));
    }
    let meeting = meeting(&own, job);
    let setting_here = channels.stated()?;
    let high = setting_here.high_pass.ok_or(Undecided::NotApplicable("no high-pass is stated"))?;
    let is_below = |other: &Channels<'a>| {
        kinds(other, job).is_ok_and(|kinds| kinds.iter().all(|kind| meeting.below.contains(kind)))
    };
    let corners = channels::each(job).into_iter().filter(is_below).filter_map(|other| {
        let (subject, setting) = (other.place(), other.setting?);
        setting.low_pass.map(|low| (subject, setting, low, (high.base() / low.base()).log2()))
    });
    let widest = corners.max_by(|one, other| one.3.abs().total_cmp(&other.3.abs()));
    let (subject, lower, low, octaves) =
        widest.ok_or(Undecided::NotApplicable("no low-pass of what plays below is stated"))?;
    let middle = Quantity::<Frequency>::new((high.base() * low.base()).sqrt());
    let upper_down = held_back(job, setting_here, "high_pass", middle);
    let lower_down = held_back(job, &lower, "low_pass", middle);
    let level = |name, down: Option<Range<Level>>| down.map(|down| Input::from(name, down, Origin::Computed(HOW)));
    let apart = Figure::ratio(octaves.abs(), octaves.abs());
    Ok(Comparison::new(apart, Relation::AtMost, Figure::ratio(1.0, 1.0))
        .formula("|log2(high-pass of the upper part / low-pass of the lower part)| <= 1 octave")
        .given(Input::stated("high-pass of the upper part", high, setting_here.at("high_pass")))
        .given(Input::stated("low-pass of the lower part", low, lower.at("low_pass")))
        .given_all(level("what the upper part loses halfway between", upper_down))
        .given_all(level("what the lower part loses halfway between", lower_down))
        .limit_from("common practice, no published source")
        .verdict(|is| {
            let places = [setting_here.at("high_pass"), lower.at("low_pass")];
            let (mend, offers) = together(&meeting, high, low, places, job);
            let Meeting { lower: below, upper: above, .. } = meeting;
            let kind = if octaves > 0.0 { "gap" } else { "overlap" };
            let title = format!("{kind} of {} octaves between {below} and {above}, at most 1 allowed", is.result());
            let finding = Finding::new(setting_here.at("high_pass"), title)
                .label(format!("{above} from {high}{}", lost(upper_down, middle)))
                .also(lower.at("low_pass"), format!("{below} up to {low}{}", lost(lower_down, middle)))
                .because("in a gap nobody plays, and where both play far into each other the band is too loud")
                .mend(mend)
                .offers(offers);
            // A bass that plays too high is brought down first, and a corner too low for its speakers up.
            if meeting.upper == BASS.upper && low.base() > job.house.limits.subwoofer_low_pass.value.base() {
                finding.follows("TUNE-02", subject)
            } else {
                finding.follows("TUNE-03", channels.place())
            }
        }))
}

/// How the two corners come together. The smaller speakers keep theirs, or they would play lower than they may; mains and
/// bass may meet where bass sits well.
fn together(
    meeting: &Meeting,
    high: Quantity<Frequency>,
    low: Quantity<Frequency>,
    places: [Place; 2],
    job: &Job<'_>,
) -> (String, Vec<Offer>) {
    let [high_at, low_at] = places;
    let one = |place: &Place, at| Offer::new(format!("{} at {at}", place.key())).set(place.clone(), at);
    if meeting.upper == TOP.upper && high.base() < job.house.limits.tweeter_high_pass.value.base() {
        let at = Quantity::<Frequency>::new(TWEETER);
        let both = Offer::new(format!("both at {at}")).set(high_at, at).set(low_at, at);
        let mend = format!(
            "bring both corners to what the tweeter's maker asks, mostly 2 to 4 kHz; {high} is no place for a tweeter to begin (TUNE-03)"
        );
        return (mend, vec![both]);
    }
    if meeting.upper != BASS.upper {
        let mend = format!("bring the low-pass of the {} to where the {} begin: {high}", meeting.lower, meeting.upper);
        return (mend, vec![one(&low_at, high)]);
    }
    let highest = job.house.limits.subwoofer_low_pass.value.base();
    let at = Quantity::<Frequency>::new(low.base().clamp(LOWEST.min(highest), highest));
    let both = Offer::new(format!("both at {at}")).set(high_at.clone(), at).set(low_at.clone(), at);
    let mend = format!("bring the two corners together, for example both at {at}");
    (mend, vec![one(&high_at, at), one(&low_at, at), both])
}

/// How far down a band is halfway between the two corners.
fn lost(down: Option<Range<Level>>, middle: Quantity<Frequency>) -> String {
    down.map_or(String::new(), |down| format!(", {down} down at {middle}"))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, outcome};

    fn plan(low: &str, high: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{bass: {{}}, front: {{}}}}\n\
             drivers: {{sub: {{kind: subwoofer, coils: [4 ohm]}}, door: {{kind: full-range, coils: [4 ohm]}}}}\n\
             loads: {{one: {{amplifier: bass, outputs: [1], coils: sub}}, two: {{amplifier: front, outputs: [1], coils: door}}}}\n\
             settings: {{bass: {{{low}}}, front: {{{high}}}}}\n"
        )
    }

    #[test]
    fn an_octave_apart_passes_and_one_hertz_more_fails_either_way() {
        for (low, high, expected) in
            [(80, 160, Outcome::Pass), (80, 161, Outcome::Fail), (120, 60, Outcome::Pass), (120, 59, Outcome::Fail)]
        {
            let text = plan(&format!("low_pass: {low} Hz"), &format!("high_pass: {high} Hz"));
            assert_eq!(outcome(&text, "TUNE-04", "amplifiers.front"), expected, "{low} {high}");
        }
    }

    #[test]
    fn a_gap_and_an_overlap_are_called_by_their_names() {
        let title = |low: &str, high: &str| {
            let check =
                check(&plan(&format!("low_pass: {low}"), &format!("high_pass: {high}")), "TUNE-04", "amplifiers.front");
            check.finding.expect("it fails").title
        };
        assert!(title("60 Hz", "200 Hz").starts_with("gap"));
        assert!(title("120 Hz", "40 Hz").starts_with("overlap"));
    }

    #[test]
    fn the_mend_is_a_corner_that_suits_both() {
        let check = |low: &str, high: &str| {
            check(&plan(&format!("low_pass: {low}"), &format!("high_pass: {high}")), "TUNE-04", "amplifiers.front")
        };
        let mend = |low: &str, high: &str| check(low, high).finding.expect("it fails").mend;
        assert_eq!(mend("80 Hz", "200 Hz"), "bring the two corners together, for example both at 80 Hz");
        assert_eq!(mend("30 Hz", "200 Hz"), "bring the two corners together, for example both at 60 Hz");
        // A low-pass above 120 Hz is told by TUNE-02, and this below it.
        assert_eq!(mend("200 Hz", "80 Hz"), "bring the two corners together, for example both at 120 Hz");
        let settled = check("200 Hz", "80 Hz").follows;
        assert_eq!(settled.map(|(code, place)| (code, place.path())), Some(("TUNE-02", "amplifiers.bass".to_owned())));
        let at_most = check("120 Hz", "40 Hz").finding.and_then(|finding| finding.follows);
        assert_eq!(at_most.map(|(code, _)| code), Some("TUNE-03"), "120 Hz are not too high for a bass");
    }

    /// Tweeters at 250 Hz burn: nobody is told to bring the woofers down to them.
    #[test]
    fn a_tweeter_that_begins_too_low_is_told_by_its_own_rule() {
        let text = plan("low_pass: 2.5 kHz", "high_pass: 250 Hz");
        let text =
            text.replace("kind: subwoofer", "kind: woofer, size: 165 mm").replace("kind: full-range", "kind: tweeter");
        let overlap = check(&text, "TUNE-04", "amplifiers.front");
        let follows = overlap.follows.map(|(code, place)| (code, place.path()));
        assert_eq!(follows, Some(("TUNE-03", "amplifiers.front".to_owned())));
        let mend = overlap.finding.expect("it fails").mend;
        assert!(mend.starts_with("bring both corners to what the tweeter's maker asks"), "{mend}");
        let after = &after(&text, "TUNE-04", "amplifiers.front")[0];
        for code in ["TUNE-03", "TUNE-04"] {
            assert_eq!(outcome(after, code, "amplifiers.front"), Outcome::Pass, "{code} {after}");
        }
        // A good corner that leaves a gap is nobody else's matter.
        let gap = check(&text.replace("250 Hz", "6 kHz"), "TUNE-04", "amplifiers.front");
        assert_eq!((gap.outcome, gap.follows), (Outcome::Fail, None));
    }

    #[test]
    fn without_both_corners_there_is_nothing_to_compare() {
        for (low, high) in [("", "high_pass: 80 Hz"), ("low_pass: 80 Hz", "")] {
            assert_eq!(outcome(&plan(low, high), "TUNE-04", "amplifiers.front"), Outcome::NotApplicable);
        }
    }

    #[test]
    fn the_finding_says_how_far_both_are_down_halfway() {
        let steep = |corner: &str, key: &str| format!("{corner}, {key}_slope: 24 dB/oct, filters: linkwitz-riley");
        let text = plan(&steep("low_pass: 60 Hz", "low_pass"), &steep("high_pass: 240 Hz", "high_pass"));
        let finding = check(&text, "TUNE-04", "amplifiers.front").finding.expect("it fails");
        // An octave from its corner a Linkwitz-Riley filter of 24 dB/oct takes 24.6 dB.
        assert_eq!(finding.at.text, "mains from 240 Hz, 24.6 dB down at 120 Hz");
        assert_eq!(finding.also[0].text, "bass up to 60 Hz, 24.6 dB down at 120 Hz");
    }

    #[test]
    fn outputs_with_a_subwoofer_among_others_and_tweeters_meet_no_bass() {
        let text = plan("low_pass: 60 Hz", "high_pass: 200 Hz");
        assert_eq!(outcome(&text, "TUNE-04", "amplifiers.front"), Outcome::Fail);
        let tweeter = text.replace("full-range", "tweeter");
        assert_eq!(outcome(&tweeter, "TUNE-04", "amplifiers.front"), Outcome::NotApplicable);
        let mixed = text
            .replace("door: {", "deep: {kind: subwoofer, coils: [4 ohm]}, door: {")
            .replace("two: {", "deep: {amplifier: front, outputs: [2], coils: deep}, two: {");
        assert_eq!(outcome(&mixed, "TUNE-04", "amplifiers.front"), Outcome::NotApplicable);
    }

    /// An active pair of two ways: the tweeter's corner stays where its maker wants it.
    #[test]
    fn woofers_hand_over_to_tweeters_and_to_midranges_where_there_are_any() {
        let of = |low: u32, high: u32, kinds: [&str; 2], more: &str| {
            let text = plan(&format!("low_pass: {low} Hz"), &format!("high_pass: {high} Hz"));
            let [below, above] = kinds;
            let text = text.replace("kind: subwoofer", &format!("kind: {below}"));
            let text = text.replace("kind: full-range", &format!("kind: {above}"));
            check(&text.replace("drivers: {", &format!("drivers: {{{more}")), "TUNE-04", "amplifiers.front")
        };
        let two = |low, high| of(low, high, ["woofer", "tweeter"], "");
        assert_eq!((two(3000, 6000).outcome, two(3000, 6060).outcome), (Outcome::Pass, Outcome::Fail));
        let gap = two(800, 6000).finding.expect("it fails");
        assert!(gap.title.starts_with("gap of 2.91 octaves between woofers and tweeters"), "{}", gap.title);
        assert_eq!(gap.mend, "bring the low-pass of the woofers to where the tweeters begin: 6000 Hz");
        assert_eq!(gap.offers.len(), 1);
        let midrange = "mid: {kind: midrange}, ";
        assert_eq!(
            of(800, 6000, ["woofer", "tweeter"], midrange).outcome,
            Outcome::NotApplicable,
            "the midrange is between"
        );
        assert_eq!(of(800, 6000, ["midrange", "tweeter"], "").outcome, Outcome::Fail);
        assert_eq!(of(800, 200, ["woofer", "midrange"], "").outcome, Outcome::Fail);
        assert_eq!(of(80, 6000, ["subwoofer", "tweeter"], "").outcome, Outcome::NotApplicable);
    }

    /// A tweeter that begins just where the house lets it keeps its corner.
    #[test]
    fn at_the_least_corner_of_a_tweeter_the_others_come_to_it() {
        let house = crate::house::House::default();
        let least = house.limits.tweeter_high_pass.value;
        let text = plan("low_pass: 12 kHz", &format!("high_pass: {least}"));
        let text =
            text.replace("kind: subwoofer", "kind: woofer, size: 165 mm").replace("kind: full-range", "kind: tweeter");
        let mend = check(&text, "TUNE-04", "amplifiers.front").finding.expect("it fails").mend;
        assert!(mend.starts_with("bring the low-pass of the"), "{mend}");
    }
}
