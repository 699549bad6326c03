//! What the steps of a plan are, and in which order they stand.

use crate::judge::Offer;
use crate::plan::{AirbagStep, BatteryStep, Plan, Source, Step, word};
use crate::solve::{Decided, Job, Place, Undecided};
use crate::words;

/// The steps of a plan.
///
/// # Errors
/// Not applicable where none is stated: the order of work is then the workshop's own.
pub fn steps<'a>(job: &Job<'a>) -> Decided<&'a [Step]> {
    let steps = job.plan.steps.as_slice();
    if steps.is_empty() { Err(Undecided::NotApplicable("no steps are stated")) } else { Ok(steps) }
}

/// The whole order, as a subject.
pub fn whole() -> Place {
    Place::of("steps")
}

/// A step as it is written, like `mount: amp`, in ticks.
pub fn told(step: &Step) -> String {
    let named = [
        ("run", &step.run),
        ("ground", &step.ground),
        ("mount", &step.mount),
        ("connect", &step.connect),
        ("charge", &step.charge),
        ("discharge", &step.discharge),
        ("fuse", &step.fuse),
        ("set", &step.set),
    ];
    let named = named.into_iter().find_map(|(key, name)| Some((key, words::excerpt(name.as_ref()?, 40))));
    let other = || {
        let battery = step.battery.map(|is| ("battery", word(&is)));
        battery.or_else(|| step.airbags.map(|is| ("airbags", word(&is)))).unwrap_or_default()
    };
    let (key, what) = named.unwrap_or_else(other);
    format!("`{key}: {what}`")
}

/// What a step states, at its place.
pub fn place(at: usize, step: &Step) -> Place {
    let keys = [
        ("battery", step.battery.is_some()),
        ("high_voltage", step.high_voltage.is_some()),
        ("airbags", step.airbags.is_some()),
        ("run", step.run.is_some()),
        ("ground", step.ground.is_some()),
        ("mount", step.mount.is_some()),
        ("connect", step.connect.is_some()),
        ("charge", step.charge.is_some()),
        ("discharge", step.discharge.is_some()),
        ("fuse", step.fuse.is_some()),
        ("inspect", step.inspect.is_some()),
        ("set", step.set.is_some()),
        ("test", step.test.is_some()),
        ("radio", step.radio.is_some()),
        ("note", step.note.is_some()),
    ];
    let key = keys.into_iter().find(|(_, is)| *is).map(|(key, _)| key);
    Place::of(key.map_or_else(|| format!("steps.{at}"), |key| format!("steps.{at}.{key}")))
}

/// The first step that says nothing yet among these; it may be any.
pub fn half_said(steps: &[Step]) -> Option<Place> {
    steps.iter().position(|step| *step == Step::default()).map(|at| Place::of(format!("steps.{at}")))
}

/// A new step before the one with this number.
pub fn added(title: &str, at: usize, step: &str) -> Offer {
    Offer::new(title).insert(Place::of(format!("steps.{at}")), step)
}

/// A step before the one with another number, wherever that does: the nearest place behind it first.
pub fn later(title: &str, from: usize, steps: &[Step]) -> Vec<Offer> {
    let places = from + 2..=steps.len();
    places.map(|to| Offer::new(title).shift(Place::of(format!("steps.{from}")), to)).collect()
}

/// Whether a step takes the battery off, whichever post comes first.
pub fn takes_off(step: &Step) -> bool {
    matches!(step.battery, Some(BatteryStep::Disconnect | BatteryStep::DisconnectPositiveFirst))
}

/// Whether a step puts the battery back on.
pub fn puts_on(step: &Step) -> bool {
    step.battery == Some(BatteryStep::Reconnect)
}

/// The added battery whose negative a step puts on: its `connect` is that and nothing else, as its positive hangs on
/// wires that are laid.
pub fn added_battery<'s>(plan: &Plan, step: &'s Step) -> Option<&'s str> {
    step.connect.as_deref().filter(|name| plan.batteries.contains_key(*name))
}

/// Whether a step puts a negative on: of the battery again, or of an added one.
pub fn feeds(plan: &Plan, step: &Step) -> bool {
    puts_on(step) || added_battery(plan, step).is_some()
}

/// The step with which the battery goes off that this step puts on, or how many steps there are. An added battery goes off
/// with the other where it is connected again behind that; no step says so otherwise.
pub fn on_until(plan: &Plan, steps: &[Step], at: usize) -> usize {
    let added = added_battery(plan, &steps[at]);
    let again = |more: usize| steps[more..].iter().any(|step| added_battery(plan, step) == added);
    let off = (at..steps.len()).find(|more| takes_off(&steps[*more]) && (added.is_none() || again(*more)));
    off.unwrap_or(steps.len())
}

/// The last step before this one that put a battery on which is on still.
pub fn live_since(plan: &Plan, steps: &[Step], at: usize) -> Option<usize> {
    (0..at).rev().find(|on| feeds(plan, &steps[*on]) && on_until(plan, steps, *on) > at)
}

/// Whether a step joins conductors of the supply: a wire, a turn-on lead, a ground, a terminal; of a battery all but its
/// negative.
pub fn joins(plan: &Plan, step: &Step) -> bool {
    let run = step.run.as_ref().is_some_and(|name| plan.wires.contains_key(name) || plan.turn_on.contains_key(name));
    let connect = step.connect.as_ref().is_some_and(|name| {
        plan.amplifiers.contains_key(name)
            || plan.isolators.contains_key(name)
            || plan.blocks.contains_key(name)
            || plan.capacitors.contains_key(name)
            || plan.converters.contains_key(name)
            || plan.sources.get(name).is_some_and(Source::is_processor)
    });
    run || connect || step.ground.is_some()
}

/// Whether somebody has hands on the vehicle in a step: a lead, a ground, gear, airbag parts.
pub fn is_hands_on(step: &Step) -> bool {
    let parts = [&step.run, &step.ground, &step.mount, &step.connect];
    parts.into_iter().any(Option::is_some) || step.airbags == Some(AirbagStep::Handle)
}

/// Whether a step is any work on the vehicle: hands on it, or a fuse that goes in.
pub fn is_work(step: &Step) -> bool {
    is_hands_on(step) || step.fuse.is_some()
}

/// Whether a step is work on the supply: it joins conductors, connects a battery or puts a fuse in.
pub fn is_power_work(plan: &Plan, step: &Step) -> bool {
    joins(plan, step) || added_battery(plan, step).is_some() || step.fuse.is_some()
}
