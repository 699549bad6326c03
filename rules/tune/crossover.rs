//! Bass and main speakers meet without a hole and without doubling.

use super::held_back::{HOW, held_back};
use super::plays::{Part, drivers, part};
use crate::judge::{Comparison, Figure, Finding, Input, Judged, Offer, Relation, Rule, Severity, Subjects};
use crate::plan::DriverKind;
use crate::quantity::{Frequency, Level, Quantity, Range};
use crate::solve::channels::{self, Channels};
use crate::solve::{Job, Origin, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-04",
    name: "crossover-gap",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("crossover.md"),
    check: Subjects::Each(|job| super::each(job, check)),
    slips: &[super::Slip::Past("settings.*.high_pass"), super::Slip::Past("settings.*.low_pass")],
};

/// Where the mains may well begin at the lowest, in hertz (common practice, no published source).
const LOWEST: f64 = 60.0;

fn check<'a>(channels: &Channels<'a>, job: &Job<'a>) -> Judged {
    let mains = |kind| matches!(kind, DriverKind::FullRange | DriverKind::Woofer);
    if part(job, channels)? == Part::Mixed || !drivers(job, channels)?.iter().any(|(_, _, kind)| mains(*kind)) {
        return Err(Undecided::NotApplicable("no speakers on these outputs that meet the bass"));
    }
    let setting_here = channels.stated()?;
    let high = setting_here.high_pass.ok_or(Undecided::NotApplicable("no high-pass is stated"))?;
    let bass = channels::each(job).into_iter().filter(|other| part(job, other) == Ok(Part::Bass));
    let corners = bass.filter_map(|other| {
        let (subject, setting) = (other.place(), other.setting?);
        setting.low_pass.map(|low| (subject, setting, low, (high.base() / low.base()).log2()))
    });
    let widest = corners.max_by(|one, other| one.3.abs().total_cmp(&other.3.abs()));
    let (subject, bass, low, octaves) =
        widest.ok_or(Undecided::NotApplicable("no low-pass of a subwoofer is stated"))?;
    let middle = Quantity::<Frequency>::new((high.base() * low.base()).sqrt());
    let mains_down = held_back(job, setting_here, "high_pass", middle);
    let bass_down = held_back(job, &bass, "low_pass", middle);
    let level = |name, down: Option<Range<Level>>| down.map(|down| Input::from(name, down, Origin::Computed(HOW)));
    let highest = job.house.limits.subwoofer_low_pass.value.base();
    let together = Quantity::<Frequency>::new(low.base().clamp(LOWEST.min(highest), highest));
    let apart = Figure::ratio(octaves.abs(), octaves.abs());
    Ok(Comparison::new(apart, Relation::AtMost, Figure::ratio(1.0, 1.0))
        .formula("|log2(high-pass of the mains / low-pass of the bass)| <= 1 octave")
        .given(Input::stated("high-pass of the mains", high, setting_here.at("high_pass")))
        .given(Input::stated("low-pass of the bass", low, bass.at("low_pass")))
        .given_all(level("what the mains lose halfway between", mains_down))
        .given_all(level("what the bass loses halfway between", bass_down))
        .limit_from("common practice, no published source")
        .verdict(|is| {
            let place = [setting_here.at("high_pass"), bass.at("low_pass")];
            let corners =
                place.clone().map(|place| Offer::new(format!("{} at {together}", place.key())).set(place, together));
            let [high_at, low_at] = place;
            let both = Offer::new(format!("both at {together}")).set(high_at, together).set(low_at, together);
            let corners = corners.into_iter().chain([both]);
            let kind = if octaves > 0.0 { "gap" } else { "overlap" };
            let title = format!("{kind} of {} octaves between bass and mains, at most 1 allowed", is.result());
            Finding::new(setting_here.at("high_pass"), title)
                .label(format!("mains from {high}{}", lost(mains_down, middle)))
                .also(bass.at("low_pass"), format!("bass up to {low}{}", lost(bass_down, middle)))
                .because("in a gap nobody plays, and where both play far into each other the band is too loud")
                .mend(format!("bring the two corners together, for example both at {together}"))
                .offers(corners)
                .follows("TUNE-02", subject)
        }))
}

/// How far down a band is halfway between the two corners.
fn lost(down: Option<Range<Level>>, middle: Quantity<Frequency>) -> String {
    down.map_or(String::new(), |down| format!(", {down} down at {middle}"))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

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
}
