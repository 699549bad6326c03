//! A turn-on lead that is always live never switches anything off.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{FeedKind, TurnOn};
use crate::quantity::{Current, Duration, Range};
use crate::solve::{Job, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-01",
    name: "turn-constant",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("constant.md"),
    check: Subjects::TurnOn(check),
};

fn check(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Judged {
    let kind = super::kind(lead)?;
    Ok(Verdict::pass_if(kind != FeedKind::Constant, || {
        let flat = time_to_half(lead, job).map_or(String::new(), |time| format!(": battery half empty after {time}"));
        Finding::new(lead.at("from.kind"), format!("always on{flat}"))
            .label("live at all times (DIN 72552 terminal 30)")
            .because("an amplifier that is never told to switch off empties the battery while the vehicle stands")
            .mend("feed it from the radio's remote output or from an accessory circuit (terminal 75)")
    }))
}

/// How long the silent amplifiers on this lead take to half empty the battery, where its capacity is stated.
fn time_to_half(lead: &TurnOn, job: &Job<'_>) -> Option<Range<Duration>> {
    let idle = |name| {
        let amplifier = job.amplifier(name)?;
        let otherwise = &job.house.assumptions.idle_current;
        Some(job.assume(amplifier.at("idle_current"), amplifier.idle_current, otherwise).range)
    };
    let idle: Range<Current> = lead.to.iter().filter_map(|terminal| idle(&terminal.thing)).sum();
    if idle.low() > 0.0 { job.starting_battery_lasts(idle).ok() } else { None }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(from: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{battery: {{capacity: 60 Ah}}}}\namplifiers: {{amp: {{idle_current: 0.5 A}}}}\n\
             turn_on:\n  remote: {{from: {from}, to: [amp.remote]}}\n"
        )
    }

    #[test]
    fn only_a_constant_feed_fails() {
        for kind in ["ignition", "accessory", "radio-output", "converter-output", "signal-sensing"] {
            assert_eq!(outcome(&plan(&format!("{{kind: {kind}}}")), "TURN-01", "turn_on.remote"), Outcome::Pass);
        }
        assert_eq!(outcome(&plan("{kind: constant}"), "TURN-01", "turn_on.remote"), Outcome::Fail);
    }

    /// Half of 60 Ah at 0.5 A lasts 60 h, which is 2.5 days.
    #[test]
    fn it_says_how_long_the_battery_lasts() {
        let finding = check(&plan("{kind: constant}"), "TURN-01", "turn_on.remote").finding;
        assert_eq!(
            finding.map(|finding| finding.title).as_deref(),
            Some("always on: battery half empty after 2.5 days")
        );
    }

    #[test]
    fn a_feed_that_is_not_named_leaves_it_open() {
        let check = check(&plan("{circuit: outlet}"), "TURN-01", "turn_on.remote");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "turn_on.remote.from.kind"));
    }
}
