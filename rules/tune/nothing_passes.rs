//! Filters that leave nothing between them.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::solve::channels::Channels;
use crate::solve::{Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TUNE-08",
    name: "nothing-passes",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("nothing_passes.md"),
    check: Subjects::Each(|job| super::site::each(job, check)),
    slips: &[
        super::Slip::Say("settings.*.high_pass", &["80 Hz", "100 Hz", "125 Hz"]),
        super::Slip::Say("settings.*.low_pass", &["60 Hz", "80 Hz"]),
    ],
};

fn check<'a>(channels: &Channels<'a>, _: &Job<'a>) -> Judged {
    let setting = channels.stated()?;
    let low = setting.low_pass.ok_or(Undecided::NotApplicable("no low-pass is stated"))?;
    let below = [("high_pass", "high-pass", setting.high_pass), ("low_cut", "low cut", setting.low_cut)];
    let below = below.into_iter().filter_map(|(key, name, corner)| Some((key, name, corner?)));
    let (key, name, high) = below
        .max_by(|one, other| one.2.base().total_cmp(&other.2.base()))
        .ok_or(Undecided::NotApplicable("nothing is taken away from below"))?;
    Ok(Verdict::pass_if(high.base() < low.base(), || {
        Finding::new(setting.at(key), format!("{name} at {high} and low-pass at {low} leave nothing between them"))
            .label("all below this is taken away")
            .also(setting.at("low_pass"), "all above this is taken away")
            .because("what one filter lets through the other takes away, and the gain is turned up for what is left")
            .mend(if key == "high_pass" {
                "leave out the filter that is not meant for these speakers: a subwoofer has the low-pass, small ones the high-pass"
            } else {
                "set the low cut below the tuning of the box, and the low-pass to about 80 Hz"
            })
            .offer(Offer::new(format!("leave out the {name}")).remove(setting.at(key)))
            .offer(Offer::new("leave out the low-pass").remove(setting.at("low_pass")))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{finding, outcome};

    fn plan(setting: &str) -> String {
        format!("plan: 1\namplifiers: {{amp: {{}}}}\nsettings: {{amp: {{{setting}}}}}\n")
    }

    #[test]
    fn something_has_to_be_left_between_the_filters() {
        let of = |setting: &str| outcome(&plan(setting), "TUNE-08", "amplifiers.amp");
        assert_eq!(of("high_pass: 80 Hz, low_pass: 81 Hz"), Outcome::Pass);
        assert_eq!(of("high_pass: 80 Hz, low_pass: 80 Hz"), Outcome::Fail);
        assert_eq!(of("low_cut: 30 Hz, low_pass: 80 Hz"), Outcome::Pass);
        assert_eq!(of("low_cut: 90 Hz, low_pass: 80 Hz"), Outcome::Fail);
        for one in ["high_pass: 80 Hz", "low_pass: 80 Hz", "low_cut: 30 Hz"] {
            assert_eq!(of(one), Outcome::NotApplicable, "{one}");
        }
    }

    #[test]
    fn the_higher_of_the_two_from_below_is_told() {
        let finding = finding(&plan("low_cut: 30 Hz, high_pass: 100 Hz, low_pass: 80 Hz"), "TUNE-08", "amplifiers.amp");
        assert_eq!(finding.title, "high-pass at 100 Hz and low-pass at 80 Hz leave nothing between them");
        assert_eq!(finding.at.place.path(), "settings.amp.high_pass");
    }

    #[test]
    fn a_low_cut_is_set_lower_and_a_high_pass_left_out() {
        let mend = |setting: &str| finding(&plan(setting), "TUNE-08", "amplifiers.amp").mend;
        assert!(mend("high_pass: 100 Hz, low_pass: 80 Hz").starts_with("leave out the filter"));
        assert!(mend("low_cut: 90 Hz, low_pass: 80 Hz").starts_with("set the low cut below"));
    }
}
