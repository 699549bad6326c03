//! Gear that shares a signal shares its ground.

use super::site::ReturnEnd;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Amplifier, Monitor, Signal};
use crate::solve::{Decided, Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-06",
    name: "ground-points-apart",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("apart.md"),
    check: Subjects::Amplifier(check),
    slips: &[super::Slip::Together(&[super::Slip::Repeat("grounds.*"), super::Slip::Say("wires.*.to", &["{}-2"])])],
};

/// Each amplifier is compared with those before it in the plan, so that a pair is reported once.
fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let own = super::site::return_end(job, amplifier.name)
        .ok_or(Undecided::NotApplicable("no return leaves it yet (PLAN-03 reports that)"))?;
    let before = job.amplifiers.iter().take_while(|other| other.address != amplifier.address);
    let (mut linked, mut needs) = (false, Vec::new());
    for other in before {
        let Some(theirs) = super::site::return_end(job, other.name) else { continue };
        match share_a_signal(amplifier, other, job) {
            Ok(false) => {}
            Ok(true) if theirs.node != own.node => {
                // What is brought to the post would pass the monitor by (SUPPLY-08).
                let is_passed_by = theirs.name == "battery.negative" && has_monitor(job);
                if is_passed_by {
                    return Ok(Verdict::fail(beside_the_monitor(amplifier, &own, other, &theirs)));
                }
                let together = Offer::new(format!("bring it to {}", theirs.name)).set(own.place.clone(), &theirs.name);
                // A ground that nothing else uses goes with the wire.
                let ends = job.wires.iter().flat_map(|wire| wire.plan().terminals());
                let is_last =
                    own.name.starts_with("grounds.") && ends.filter(|end| end.to_string() == own.name).count() == 1;
                let together =
                    if is_last { together.remove(crate::solve::Place::of(own.name.as_str())) } else { together };
                return Ok(Verdict::fail(told(amplifier, &own, other, &theirs, &theirs.name).offer(together)));
            }
            Err(Undecided::Open(more)) if theirs.node != own.node => needs.extend(more),
            // With one ground for both it does not matter whether a signal joins them.
            Ok(true) | Err(_) => linked = true,
        }
    }
    match (needs.is_empty(), linked) {
        (false, _) => Err(Undecided::Open(needs)),
        (true, true) => Ok(Verdict::pass()),
        (true, false) => Err(Undecided::NotApplicable("shares no signal with an amplifier before it")),
    }
}

fn told(
    amplifier: &Thing<'_, Amplifier>,
    own: &ReturnEnd,
    other: &Thing<'_, Amplifier>,
    theirs: &ReturnEnd,
    to: &str,
) -> Finding {
    Finding::new(
        own.place.clone(),
        format!("`{}` and `{}` share a signal but not a ground", other.name, amplifier.name),
    )
    .label(format!("`{}` returns to {}", amplifier.name, own.name))
    .also(theirs.place.clone(), format!("`{}` returns to {}", other.name, theirs.name))
    .because("between two grounds there is a small voltage, and the signal's shield carries it into the music")
    .mend(format!("bring both returns to {to}, or one of the signals through an isolated converter"))
}

fn has_monitor(job: &Job<'_>) -> bool {
    let battery = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
    battery.and_then(|battery| battery.monitor).is_some_and(|monitor| monitor != Monitor::None)
}

/// Both to the ground of the one that is on the body, or to the body's side of the sensor.
fn beside_the_monitor(
    amplifier: &Thing<'_, Amplifier>,
    own: &ReturnEnd,
    other: &Thing<'_, Amplifier>,
    theirs: &ReturnEnd,
) -> Finding {
    if own.name.starts_with("grounds.") {
        let together =
            Offer::new(format!("bring `{}` to {}", other.name, own.name)).set(theirs.place.clone(), &own.name);
        return told(amplifier, own, other, theirs, &own.name).offer(together);
    }
    let side = "battery.body-side";
    let together =
        Offer::new(format!("bring both to {side}")).set(own.place.clone(), side).set(theirs.place.clone(), side);
    told(amplifier, own, other, theirs, side).offer(together)
}

/// Whether a signal ground joins two amplifiers: one converter feeds both, or one source without isolation between.
fn share_a_signal(one: &Thing<'_, Amplifier>, other: &Thing<'_, Amplifier>, job: &Job<'_>) -> Decided<bool> {
    let to = |name: &str| -> Vec<&Signal> {
        job.signals
            .iter()
            .filter(|signal| signal.to.as_ref().is_some_and(|to| to.thing == name))
            .map(Thing::plan)
            .collect()
    };
    let (ours, theirs) = (to(one.name), to(other.name));
    let mut needs = Vec::new();
    for (a, b) in ours.iter().flat_map(|a| theirs.iter().map(move |b| (*a, *b))) {
        if a.through.is_some() && a.through == b.through {
            return Ok(true);
        }
        if a.from.is_none() || a.from != b.from {
            continue;
        }
        match (isolated(a, job), isolated(b, job)) {
            (Ok(true), _) | (_, Ok(true)) => {}
            (Ok(false), Ok(false)) => return Ok(true),
            (first, second) => needs.extend([first.err(), second.err()].into_iter().flatten()),
        }
    }
    if needs.is_empty() { Ok(false) } else { Err(Undecided::Open(needs)) }
}

/// Whether a signal's way parts the grounds at its ends, or where the plan would say so.
fn isolated(signal: &Signal, job: &Job<'_>) -> Result<bool, Place> {
    let Some(name) = &signal.through else { return Ok(false) };
    match job.plan.converters.get(name) {
        Some(converter) => converter.isolated.ok_or_else(|| Place::of(format!("converters.{name}.isolated"))),
        None => Ok(false),
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{finding, offered, outcome};

    fn of(ground: &str, first: &str, second: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{a: {{}}, b: {{}}}}\nsources: {{radio: {{}}, phone: {{}}}}\n\
             converters: {{yes: {{isolated: true}}, no: {{isolated: false}}, unknown: {{}}}}\n\
             grounds: {{left: {{}}, right: {{}}}}\n\
             wires: {{one: {{from: a.ground, to: grounds.left}}, two: {{from: b.ground, to: {ground}}}}}\n\
             signals: {{first: {{{first}, to: a.line}}, second: {{{second}, to: b.line}}}}\n"
        );
        outcome(&plan, "GROUND-06", "amplifiers.b")
    }

    #[test]
    fn one_source_wants_one_ground() {
        assert_eq!(of("grounds.left", "from: radio", "from: radio"), Outcome::Pass);
        assert_eq!(of("grounds.right", "from: radio", "from: radio"), Outcome::Fail);
        assert_eq!(of("battery.negative", "from: radio", "from: radio"), Outcome::Fail);
        assert_eq!(of("grounds.right", "from: radio", "from: phone"), Outcome::NotApplicable);
    }

    #[test]
    fn a_block_that_gathers_both_returns_is_one_ground() {
        let plan = "plan: 1\namplifiers: {a: {}, b: {}}\nsources: {radio: {}}\ngrounds: {left: {}}\n\
                    blocks: {bus: {outputs: {one: {}, two: {}}}}\n\
                    wires: {one: {from: a.ground, to: bus.one}, two: {from: b.ground, to: bus.two}, \
                    return: {from: bus.in, to: grounds.left}}\n\
                    signals: {first: {from: radio, to: a.line}, second: {from: radio, to: b.line}}\n";
        assert_eq!(outcome(plan, "GROUND-06", "amplifiers.b"), Outcome::Pass);
    }

    #[test]
    fn isolation_parts_the_grounds_but_not_behind_one_converter() {
        assert_eq!(of("grounds.right", "from: radio", "from: radio, through: yes"), Outcome::NotApplicable);
        assert_eq!(of("grounds.right", "from: radio", "from: radio, through: no"), Outcome::Fail);
        assert_eq!(of("grounds.right", "from: radio, through: yes", "from: radio, through: yes"), Outcome::Fail);
        assert_eq!(of("grounds.right", "from: radio", "from: radio, through: unknown"), Outcome::Open);
        assert_eq!(of("grounds.left", "from: radio", "from: radio, through: unknown"), Outcome::Pass);
    }

    fn plan(ground: &str, more: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{a: {{}}, b: {{}}, c: {{}}}}\nsources: {{radio: {{}}, phone: {{}}}}\ngrounds: {{left: {{}}, right: {{}}}}\n\
             wires: {{one: {{from: a.ground, to: grounds.left}}, two: {{from: b.ground, to: {ground}}}{more}}}\n\
             signals: {{first: {{from: radio, to: a.line}}, second: {{from: radio, to: b.line}}}}\n"
        )
    }

    /// A ground that nothing else uses goes with the wire; one that is shared, or a battery's post, stays.
    #[test]
    fn the_second_return_is_brought_to_the_first() {
        let of = |ground: &str, more: &str| offered(&plan(ground, more), "GROUND-06", "amplifiers.b")[0].clone();
        let title = "bring it to grounds.left".to_owned();
        let both = vec!["wires.two.to".to_owned(), "grounds.right".to_owned()];
        assert_eq!(of("grounds.right", ""), (title.clone(), both));
        let wire = vec!["wires.two.to".to_owned()];
        assert_eq!(of("grounds.right", ", three: {from: c.ground, to: grounds.right}"), (title.clone(), wire.clone()));
        assert_eq!(of("battery.negative", ""), (title, wire));
    }

    /// What the radio sends to a third amplifier is nothing between these two.
    #[test]
    fn only_signals_to_these_two_count() {
        let apart = plan("grounds.right", "").replace("second: {from: radio, to: b.line}", "second: {from: radio, to: c.line}, \
                                                                                             third: {from: phone, to: b.line}");
        assert_eq!(outcome(&apart, "GROUND-06", "amplifiers.b"), Outcome::NotApplicable);
    }

    /// The post is behind the monitor: what is brought there is SUPPLY-08's.
    #[test]
    fn with_a_monitor_nothing_is_brought_to_the_post() {
        let text = plan("grounds.right", "").replace("to: grounds.left", "to: battery.negative");
        let mend = |text: &str| finding(text, "GROUND-06", "amplifiers.b").mend;
        assert!(mend(&text).starts_with("bring both returns to battery.negative,"));
        let monitor = text.clone() + "vehicle: {battery: {monitor: negative-post}}\n";
        assert!(mend(&monitor).starts_with("bring both returns to grounds.right,"));
        assert_eq!(offered(&monitor, "GROUND-06", "amplifiers.b")[0].1, ["wires.one.to"]);
        let second = monitor.replace("to: grounds.right", "to: rear.negative") + "batteries: {rear: {}}\n";
        assert!(mend(&second).starts_with("bring both returns to battery.body-side,"));
    }
}
