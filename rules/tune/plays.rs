//! What part of the music the loads on outputs play, and whether a filter may sit before the amplifier.

use crate::plan::{Driver, DriverKind, Plays, SourceKind};
use crate::quantity::{Frequency, Quantity};
use crate::rules::signal::site::is_bass_output;
use crate::solve::channels::Channels;
use crate::solve::{Decided, Job, Place, Undecided, all, coils};

/// A driver of this size or more counts as a large woofer, which may play down to the bottom.
const LARGE: f64 = 0.2;

/// What hangs on outputs with one setting.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Subwoofers only.
    Bass,
    /// No subwoofer, and a speaker that deep bass would hurt.
    Small,
    /// Large woofers without a subwoofer.
    Large,
    /// Subwoofers and others: one setting does not describe both.
    Mixed,
}

/// Every driver on outputs with one setting, with what it plays; without those that a crossover in their load looks after.
///
/// # Errors
/// The need for each kind that is not stated; not applicable without a driver.
pub fn drivers<'a>(job: &Job<'a>, channels: &Channels<'a>) -> Decided<Vec<(&'a str, &'a Driver, DriverKind)>> {
    let mut names: Vec<&str> = Vec::new();
    for load in &channels.loads {
        let coils = load.plan().coils.as_ref().ok_or_else(|| Undecided::need(load.at("coils")))?;
        // What sits behind a crossover in the same load is its matter.
        let lowest = coils::plays_lowest(job, coils);
        let each = coils.coils().into_iter().zip(lowest).filter(|(_, lowest)| *lowest);
        names.extend(each.map(|(coil, _)| coil.driver.as_str()));
    }
    names.sort_unstable();
    names.dedup();
    if names.is_empty() {
        return Err(Undecided::NotApplicable("no load hangs on these outputs"));
    }
    all(names.into_iter().map(|name| {
        let need = || Undecided::need(Place::of(format!("drivers.{name}.kind")));
        let (name, driver) = job.plan.drivers.get_key_value(name).ok_or_else(need)?;
        Ok((name.as_str(), driver, driver.kind.ok_or_else(need)?))
    }))
}

/// What hangs on outputs with one setting.
///
/// # Errors
/// The facts that are missing; not applicable without a driver.
pub fn part<'a>(job: &Job<'a>, channels: &Channels<'a>) -> Decided<Part> {
    let drivers = drivers(job, channels)?;
    let bass = drivers.iter().filter(|(_, _, kind)| *kind == DriverKind::Subwoofer).count();
    if bass == drivers.len() {
        return Ok(Part::Bass);
    }
    if bass > 0 {
        return Ok(Part::Mixed);
    }
    Ok(if has_small(&drivers)? { Part::Small } else { Part::Large })
}

/// A corner that decides for one part of the music cannot be asked of a setting that is for several.
pub fn unless(mixed: bool, open: Undecided) -> Undecided {
    let behind =
        Undecided::NotApplicable("one setting for bass and mains, and what comes before the amplifier may filter");
    if mixed { behind } else { open }
}

/// Whether there are small speakers among some.
///
/// # Errors
/// The need for the size of a woofer.
pub fn has_small(drivers: &[(&str, &Driver, DriverKind)]) -> Decided<bool> {
    let small = all(drivers.iter().map(|(name, driver, kind)| match (kind, driver.size) {
        (DriverKind::Subwoofer, _) => Ok(false),
        (DriverKind::Woofer, Some(size)) => Ok(size.base() < LARGE),
        (DriverKind::Woofer, None) => Err(Undecided::need(Place::of(format!("drivers.{name}.size")))),
        _ => Ok(true),
    }))?;
    Ok(small.contains(&true))
}

/// A corner that the setting of outputs has to state. `Ok(None)`: the setting is worked out, and it has none.
///
/// # Errors
/// The need for it, where the setting is not worked out yet or something before the amplifier may filter.
pub fn corner(
    job: &Job<'_>,
    channels: &Channels<'_>,
    key: &'static str,
    stated: Option<Quantity<Frequency>>,
    filtered: Plays,
) -> Decided<Option<Quantity<Frequency>>> {
    let worked_out = channels.target().is_ok();
    let mut before = job.signals.iter().filter(|signal| {
        let here = signal.to.as_ref().is_some_and(|to| to.thing == channels.amplifier.name);
        let source = signal.from.as_ref().and_then(|name| job.plan.sources.get(name)).and_then(|source| source.kind);
        let taken = signal.taken_at.as_ref();
        let plays = taken.and_then(|taken| taken.plays);
        let bass = filtered == Plays::LowPassed && plays.is_none() && taken.is_some_and(is_bass_output);
        here && (source == Some(SourceKind::Processor) || plays == Some(filtered) || bass)
    });
    match stated {
        Some(stated) => Ok(Some(stated)),
        None if worked_out && before.next().is_none() => Ok(None),
        None => Err(Undecided::need(channels.at(key))),
    }
}
