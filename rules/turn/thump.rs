//! What comes on after the amplifier is heard coming on.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_least};
use crate::plan::{Amplifier, FeedKind, TurnOn};
use crate::quantity::{Duration, Range};
use crate::solve::{Decided, Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-09",
    name: "turn-thump",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("thump.md"),
    check: Subjects::Amplifier(check),
    slips: &[
        super::Slip::Past("amplifiers.*.on_delay"),
        super::Slip::Past("sources.*.on_delay"),
        super::Slip::Past("turn_on.*.from.delay"),
    ],
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let (name, source) = latest_source(amplifier, job)
        .ok_or(Undecided::NotApplicable("no source says how long after turn-on it plays"))?;
    let lead = job.turn_on.iter().find(|lead| lead.to.iter().any(|to| to.is(amplifier.name, "remote")));
    let lead = lead.ok_or(Undecided::NotApplicable("no turn-on lead reaches it (TURN-02 reports that)"))?;
    if matches!(super::site::kind(lead)?, FeedKind::SignalSensing | FeedKind::ConverterOutput) {
        return Err(Undecided::NotApplicable("it comes on with the music"));
    }
    if lead_delay(lead).is_none() && is_switched_by(name, lead, job) {
        return Err(Undecided::NotApplicable("its source switches it on when it is ready"));
    }
    let starts = starts(amplifier, lead, source)?;
    let place = Place::of(format!("sources.{name}.on_delay"));
    Ok(at_least(starts, source)
        .formula("delay of the feed + delay of the amplifier")
        .given(Input::stated("delay of the source", source, place.clone()))
        .given_all(lead_delay(lead).map(|delay| Input::stated("delay of the feed", delay, lead.at("from.delay"))))
        .given_all(
            amplifier.on_delay.map(|delay| Input::stated("delay of the amplifier", delay, amplifier.at("on_delay"))),
        )
        .limit_from("the amplifier comes on last and goes off first (common practice, no published source)")
        .verdict(|is| {
            let by_source = Offer::new(format!("switch it by {name}"))
                .set(lead.at("from"), format!("{{kind: radio-output, of: {name}}}"));
            thump(is.limit(), is.result(), place, name, amplifier).offer(by_source)
        }))
}

fn thump(
    source: impl std::fmt::Display,
    starts: impl std::fmt::Display,
    place: Place,
    name: &str,
    amplifier: &Thing<'_, Amplifier>,
) -> Finding {
    Finding::new(place, format!("`{name}` plays after {source}, `{}` already after {starts}", amplifier.name))
        .label("comes on last")
        .also(amplifier.place(), format!("on after {starts}"))
        .because("the amplifier makes a thump of whatever its source does while it wakes up")
        .mend(format!("delay the amplifier to {source} or more: use the radio's remote output, or a delay relay"))
}

/// Whether a lead hangs on the turn-on output of this very source; a lead that does not say whose hangs on the only one.
fn is_switched_by(source: &str, lead: &TurnOn, job: &Job<'_>) -> bool {
    let of = super::site::feed(lead, |from| from.of.clone());
    let is = of.map_or(job.plan.sources.len() == 1, |of| of == source);
    is && super::site::feed(lead, |from| from.kind) == Some(FeedKind::RadioOutput)
}

fn lead_delay(lead: &TurnOn) -> Option<Range<Duration>> {
    super::site::feed(lead, |from| from.delay).map(Range::from)
}

/// The source that takes longest to play, of those whose signals reach the amplifier.
fn latest_source<'a>(amplifier: &Thing<'_, Amplifier>, job: &Job<'a>) -> Option<(&'a str, Range<Duration>)> {
    let reach = job.signals.iter().filter(|signal| signal.to.as_ref().is_some_and(|to| to.thing == amplifier.name));
    let delays = reach.filter_map(|signal| {
        let name = signal.plan().from.as_deref()?;
        Some((name, Range::from(job.plan.sources.get(name)?.on_delay?)))
    });
    delays.max_by(|one, other| one.1.high().total_cmp(&other.1.high()))
}

/// When the amplifier plays, counted from the key; at least the delays that are stated, which may already do.
fn starts(
    amplifier: &Thing<'_, Amplifier>,
    lead: &Thing<'_, TurnOn>,
    source: Range<Duration>,
) -> Decided<Range<Duration>> {
    let parts =
        [(lead_delay(lead), lead.at("from.delay")), (amplifier.on_delay.map(Range::from), amplifier.at("on_delay"))];
    let stated: Range<Duration> = parts.iter().filter_map(|(delay, _)| *delay).sum();
    let missing: Vec<Place> = parts.into_iter().filter(|(delay, _)| delay.is_none()).map(|(_, place)| place).collect();
    if missing.is_empty() || stated.low() >= source.high() { Ok(stated) } else { Err(Undecided::Open(missing)) }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(source: &str, feed: &str, amplifier: &str) -> Outcome {
        let plan = format!(
            "plan: 1\nsources: {{radio: {{{source}}}}}\namplifiers: {{amp: {{{amplifier}}}}}\n\
             signals: {{left: {{from: radio, to: amp.line-left}}}}\n\
             turn_on: {{remote: {{from: {{{feed}}}, to: [amp.remote]}}}}\n"
        );
        outcome(&plan, "TURN-09", "amplifiers.amp")
    }

    #[test]
    fn an_amplifier_that_comes_on_with_its_source_passes_and_a_little_earlier_fails() {
        assert_eq!(of("on_delay: 3 s", "kind: accessory, delay: 1 s", "on_delay: 2 s"), Outcome::Pass);
        assert_eq!(of("on_delay: 3 s", "kind: accessory, delay: 1 s", "on_delay: 1.9 s"), Outcome::Fail);
    }

    #[test]
    fn delays_that_do_not_suffice_alone_ask_for_the_other() {
        assert_eq!(of("on_delay: 3 s", "kind: accessory", "on_delay: 3 s"), Outcome::Pass);
        assert_eq!(of("on_delay: 3 s", "kind: accessory", "on_delay: 1 s"), Outcome::Open);
        assert_eq!(of("on_delay: 3 s", "kind: accessory", ""), Outcome::Open);
    }

    #[test]
    fn the_mend_ends_it_and_a_stated_delay_is_still_compared() {
        assert_eq!(of("on_delay: 3 s", "kind: radio-output, of: radio", "on_delay: 1 s"), Outcome::NotApplicable);
        assert_eq!(of("on_delay: 3 s", "kind: radio-output", ""), Outcome::NotApplicable);
        assert_eq!(of("on_delay: 3 s", "kind: radio-output, of: other", "on_delay: 1 s"), Outcome::Open);
        assert_eq!(of("on_delay: 3 s", "kind: radio-output, of: radio, delay: 0 s", "on_delay: 1 s"), Outcome::Fail);
    }

    #[test]
    fn nothing_is_said_where_no_source_states_its_delay() {
        assert_eq!(of("", "kind: accessory, delay: 0 s", "on_delay: 1 s"), Outcome::NotApplicable);
        assert_eq!(of("on_delay: 3 s", "kind: signal-sensing", "on_delay: 1 s"), Outcome::NotApplicable);
    }
}
