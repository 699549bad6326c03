//! Readings: where they stand, and what a reading that is not there means.

use crate::plan::{Ground, MeasuredWire, Wire};
use crate::quantity::{Current, Quantity, Voltage};
use crate::solve::graph::carries_return;
use crate::solve::{Decided, Job, Place, Thing, Undecided};

/// Readings are judged at every stage, as soon as they are written down.
pub const NO_READING: Undecided =
    Undecided::NotApplicable("no reading yet (PROOF-08 asks for those that the hand-over needs)");

/// A reading, where it was taken.
///
/// # Errors
/// Not applicable without one.
pub fn reading<T>(reading: Option<T>) -> Decided<T> {
    reading.ok_or(NO_READING)
}

/// That a body may be the way back from a ground on it, as far as the plan tells.
///
/// # Errors
/// Not applicable where it is none.
pub fn is_way_back(ground: &Ground, job: &Job<'_>) -> Decided<()> {
    let body = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.body);
    if body.is_some() && carries_return(body, ground) == Some(false) {
        return Err(Undecided::NotApplicable("this body is no way back (GROUND-09 reports that)"));
    }
    Ok(())
}

/// What was measured along a wire.
pub fn of_wire<'a>(wire: &Thing<'_, Wire>, job: &Job<'a>) -> Option<&'a MeasuredWire> {
    job.plan.measured.as_ref()?.wires.get(wire.name)
}

/// The place of what was measured along a wire.
pub fn at(wire: &Thing<'_, Wire>, key: &str) -> Place {
    Place::of(format!("measured.wires.{}.{key}", wire.name))
}

/// The drop that was read along a wire and the current at which it was read.
///
/// # Errors
/// The need for the current; not applicable without a reading, or where no current flowed.
pub fn drop_and_current(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Decided<(Quantity<Voltage>, Quantity<Current>)> {
    let measured = reading(of_wire(wire, job))?;
    let drop = reading(measured.drop)?;
    let current = measured.at.ok_or_else(|| Undecided::need(at(wire, "at")))?;
    if current.base() <= 0.0 {
        return Err(Undecided::NotApplicable("no current flowed while it was read (PLAN-05 reports that)"));
    }
    Ok((drop, current))
}

/// How far a reading may be above its prediction, as a factor.
pub fn over_prediction(job: &Job<'_>) -> f64 {
    1.0 + job.house.limits.over_prediction.base()
}
