//! Voice coils in series and parallel, and the power an amplifier is rated for into them.

use super::job::Job;
use super::known::{Decided, Place, Thing, Undecided};
use crate::plan::{Amplifier, Bridged, Coil, Coils, DriverKind, Load, RatedPower};
use crate::quantity::{Power, Quantity, Range, Resistance};

/// Nominal impedance of a tree of coils in ohm.
///
/// # Errors
/// The needs for what is missing: a coil that its driver does not state.
pub fn impedance(job: &Job<'_>, coils: &Coils) -> Decided<f64> {
    match coils {
        Coils::One(coil) => coil_impedance(job, coil).map(Quantity::base),
        Coils::Series(parts) => Ok(each(job, parts)?.iter().sum()),
        Coils::Parallel(parts) => {
            let conductance: f64 = each(job, parts)?.iter().map(|ohms| 1.0 / ohms).sum();
            Ok(if conductance > 0.0 { 1.0 / conductance } else { 0.0 })
        }
    }
}

fn each(job: &Job<'_>, parts: &[Coils]) -> Decided<Vec<f64>> {
    super::known::all(parts.iter().map(|part| impedance(job, part)))
}

/// Nominal impedance of one coil.
///
/// # Errors
/// The need for its driver's coils.
pub fn coil_impedance(job: &Job<'_>, coil: &Coil) -> Decided<Quantity<Resistance>> {
    let need = || Undecided::need(Place::of(format!("drivers.{}.coils", coil.driver)));
    let driver = job.plan.drivers.get(&coil.driver).ok_or_else(need)?;
    driver.coils.get(usize::from(coil.number) - 1).copied().filter(|ohms| ohms.base() > 0.0).ok_or_else(need)
}

/// Nominal impedance of a load.
///
/// # Errors
/// The needs for its coils.
pub fn load_impedance(job: &Job<'_>, load: &Thing<'_, Load>) -> Decided<Range<Resistance>> {
    let coils = load.need("coils", &load.coils)?;
    impedance(job, &coils).map(Range::point)
}

/// The share of a load's power that each coil takes, in the order of [`Coils::each`]; together they make 1.
///
/// In series the same current flows, so power goes as impedance; in parallel the same voltage stands, so it goes as
/// one over impedance.
///
/// # Errors
/// The needs for what is missing: a coil that its driver does not state.
pub fn shares(job: &Job<'_>, coils: &Coils) -> Decided<Vec<f64>> {
    let mut found = Vec::new();
    divide(job, coils, 1.0, &mut found)?;
    Ok(found)
}

fn divide(job: &Job<'_>, coils: &Coils, share: f64, found: &mut Vec<f64>) -> Decided<()> {
    let (parts, weights) = match coils {
        Coils::One(_) => {
            found.push(share);
            return Ok(());
        }
        Coils::Series(parts) => (parts, each(job, parts)?),
        Coils::Parallel(parts) => (parts, each(job, parts)?.iter().map(|ohms| 1.0 / ohms).collect()),
    };
    let sum: f64 = weights.iter().sum();
    parts.iter().zip(weights).try_for_each(|(part, weight)| divide(job, part, share * weight / sum, found))
}

/// The rated points that hold for a load: one channel's, or those of two channels bridged.
pub fn ratings<'a>(amplifier: &'a Amplifier, load: &Load) -> &'a [RatedPower] {
    match (&amplifier.bridged, load.outputs.len()) {
        (Some(Bridged::Ratings(bridged)), 2) => &bridged.rated,
        _ => &amplifier.rated,
    }
}

/// Rated power at an impedance: between two rated points on a line of logarithms.
///
/// Above the largest rated load the power of that point is an upper bound (the supply rails limit the voltage, so it
/// can only fall). Below the smallest rated load nothing is rated: an amplifier that tries may draw as much more as the
/// load is smaller, so the range runs from the last rated power to that. `None` without a rated point.
pub fn rated_power(rated: &[RatedPower], ohms: f64) -> Option<Range<Power>> {
    let mut points: Vec<(f64, f64)> = rated.iter().map(|point| (point.load.base(), point.power.base())).collect();
    points.retain(|(load, power)| *load > 0.0 && *power > 0.0);
    points.sort_by(|one, other| one.0.total_cmp(&other.0));
    let (first, last) = (*points.first()?, *points.last()?);
    if ohms <= 0.0 {
        return None;
    }
    if ohms < first.0 {
        return Some(Range::new(first.1, first.1 * first.0 / ohms));
    }
    if ohms >= last.0 {
        return Some(Range::new(last.1 * last.0 / ohms, last.1));
    }
    let above = points.iter().position(|point| point.0 > ohms)?;
    let ((near, near_power), (far, far_power)) = (points[above - 1], points[above]);
    let share = (ohms / near).ln() / (far / near).ln();
    Some(Range::point(near_power * (far_power / near_power).powf(share)))
}

/// Whether a load plays bass only: every driver on it is a subwoofer.
pub fn is_bass(job: &Job<'_>, load: &Load) -> bool {
    let Some(coils) = &load.coils else { return false };
    let kinds = coils.each().into_iter().map(|(_, coil)| job.plan.drivers.get(&coil.driver).and_then(|d| d.kind));
    let kinds: Vec<_> = kinds.collect();
    !kinds.is_empty() && kinds.iter().all(|kind| *kind == Some(DriverKind::Subwoofer))
}
