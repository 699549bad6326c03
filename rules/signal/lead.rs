//! A long or unshielded lead takes up noise.

use super::site;
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, Verdict, at_most};
use crate::plan::{Signal, SignalLead};
use crate::solve::{Job, Origin, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SIGNAL-11",
    name: "signal-lead",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("lead.md"),
    check: Subjects::Signal(check),
    slips: &[super::Slip::Say("signals.*.lead.shielded", &["false"]), super::Slip::Past("signals.*.lead.length")],
};

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    if signal.to.is_some() && site::to_speaker_input(signal)? {
        return Err(Undecided::NotApplicable("speaker level goes in a twisted pair and needs no screen"));
    }
    let fact = SignalLead::default();
    let lead = signal.plan().lead.as_ref().unwrap_or(&fact);
    if lead.shielded == Some(false) {
        return Ok(Verdict::fail(
            Finding::new(signal.at("lead.shielded"), format!("signal lead `{}` has no screen", signal.name))
                .label("unshielded")
                .because("a line input hears the fields of ignition, alternator and supply wires on an open lead")
                .mend("lay a shielded lead")
                .offer(Offer::new("lay a shielded lead").set(signal.at("lead.shielded"), true)),
        ));
    }
    let limit = job.house.limits.signal_length;
    let place = signal.at("lead.length");
    let length = signal.need("lead.length", &lead.length)?;
    // A van, or a car with its amplifier at the far end, asks for what its way is.
    let way = job.way_length(&lead.path).ok().filter(|way| way.stretches > 0).map(|way| way.measured);
    let spare = job.house.limits.spare_length;
    let most = way.map_or(limit.value.base(), |way| limit.value.base().max(way.low() * (1.0 + spare.base())));
    let verdict = at_most(length, limit.value.with_base(most))
        .formula(
            "length of the signal lead <= limit, or its way through the vehicle and so much more if that is longer",
        )
        .given(Input::stated("length", length, place.clone()))
        .given_all(
            way.map(|way| Input::from("way", way, Origin::Computed("distances of the places on its path, added"))),
        )
        .given(Input::limit("more", &spare))
        .limit_from(limit.source)
        .verdict(|is| {
            Finding::new(place, format!("signal lead of {}, {} is the most", is.result(), is.limit()))
                .label(format!("{} here", is.result()))
                .because("every metre beside the vehicle's wiring takes up more noise")
                .mend(format!("take a way of at most {}, or send a balanced signal", is.limit()))
        });
    if verdict.finding.is_none() {
        signal.need("lead.shielded", &lead.shielded)?;
    }
    Ok(verdict)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(lead: &str, to: &str) -> Outcome {
        let plan = format!("plan: 1\nsignals: {{left: {{to: amp.{to}, lead: {{{lead}}}}}}}\n");
        outcome(&plan, "SIGNAL-11", "signals.left")
    }

    #[test]
    fn six_metres_pass_and_a_little_more_fails() {
        assert_eq!(of("shielded: true, length: 6 m", "line-left"), Outcome::Pass);
        assert_eq!(of("shielded: true, length: 6.1 m", "line-left"), Outcome::Fail);
        assert_eq!(of("length: 6.1 m", "line-left"), Outcome::Fail);
    }

    /// Dash to tail of a long van are 7 m: a fifth more is no coil of spare lead.
    #[test]
    fn where_the_way_is_longer_the_way_counts() {
        let of = |length: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{distances: {{dash: 1 m, right-sill: 5 m, cargo: 1 m}}}}\nsignals: {{left: {{to: amp.line-left, \
                 lead: {{shielded: true, length: {length}, path: [dash, right-sill, cargo]}}}}}}\n"
            );
            outcome(&text, "SIGNAL-11", "signals.left")
        };
        assert_eq!((of("8.4 m"), of("8.5 m")), (Outcome::Pass, Outcome::Fail));
    }

    #[test]
    fn a_screen_is_wanted_at_any_length_but_not_at_speaker_level() {
        assert_eq!(of("shielded: false", "line-left"), Outcome::Fail);
        assert_eq!(of("shielded: false, length: 9 m", "speaker-left"), Outcome::NotApplicable);
    }

    #[test]
    fn length_and_screen_have_to_be_stated() {
        assert_eq!(of("shielded: true", "line-left"), Outcome::Open);
        assert_eq!(of("length: 5 m", "line-left"), Outcome::Open);
    }
}
