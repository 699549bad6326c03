//! What several rules ask of a load.

use crate::judge::Finding;
use crate::plan::{Amplifier, Coil, Coils, Load};
use crate::quantity::{Power, Range};
use crate::solve::{Decided, Job, Place, Thing, Undecided, all, coils};

/// The amplifier that a load hangs on.
///
/// # Errors
/// The need for its name; a name that is unknown does not apply.
pub fn amplifier<'j, 'a>(load: &Thing<'_, Load>, job: &'j Job<'a>) -> Decided<&'j Thing<'a, Amplifier>> {
    let name = load.need("amplifier", &load.amplifier)?;
    job.amplifier(&name).ok_or(Undecided::NotApplicable("no such amplifier (PLAN-01 reports that)"))
}

/// Whether two loads hang on the very same outputs.
pub fn same_outputs(one: &Load, other: &Load) -> bool {
    let sorted = |load: &Load| {
        let mut outputs = load.outputs.clone();
        outputs.sort_unstable();
        outputs
    };
    one.amplifier.is_some() && one.amplifier == other.amplifier && sorted(one) == sorted(other)
}

/// Where the first load names a coil: the subject of PLAN-04, which counts how often it is used.
pub fn first_use(job: &Job<'_>, coil: &Coil) -> Option<Place> {
    let is = |other: &Coil| other.driver == coil.driver && other.number == coil.number;
    job.loads.iter().find_map(|load| {
        let coils = load.plan().coils.as_ref()?.each();
        coils.into_iter().find(|(_, other)| is(other)).map(|(path, _)| load.at(format!("coils{path}")))
    })
}

/// Where the first load on an amplifier names an output: the subject of PLAN-04, which counts how often it is used.
pub fn first_use_of_output(job: &Job<'_>, amplifier: &str, output: u8) -> Option<Place> {
    job.loads.iter().filter(|load| load.amplifier.as_deref() == Some(amplifier)).find_map(|load| {
        let at = load.outputs.iter().position(|other| *other == output)?;
        Some(load.at(format!("outputs.{at}")))
    })
}

/// The finding as what follows from an overused coil or output, where PLAN-04 counts that.
pub fn follows_overuse(finding: Finding, first: Option<Place>) -> Finding {
    match first {
        Some(first) => finding.follows("PLAN-04", first),
        None => finding,
    }
}

/// Nominal impedance of a load alone, in ohm.
///
/// # Errors
/// The needs for its coils; a shorted load does not apply.
pub fn own_ohms(load: &Thing<'_, Load>, job: &Job<'_>) -> Decided<f64> {
    let ohms = coils::load_impedance(job, load)?.low();
    if ohms > 0.0 { Ok(ohms) } else { Err(Undecided::NotApplicable("the coils are shorted (LOAD-09 reports that)")) }
}

/// What the outputs of a load see, in ohm: every load on the same outputs is in parallel.
///
/// # Errors
/// The needs for outputs and coils.
pub fn seen_ohms(load: &Thing<'_, Load>, job: &Job<'_>) -> Decided<f64> {
    if load.outputs.is_empty() {
        return Err(Undecided::need(load.at("outputs")));
    }
    let same = job.loads.iter().filter(|other| same_outputs(load, other));
    let conductance: f64 = all(same.map(|other| own_ohms(other, job)))?.iter().map(|ohms| 1.0 / ohms).sum();
    Ok(1.0 / conductance)
}

/// What is rated into a load at what its outputs see.
///
/// # Errors
/// The needs for ratings and coils; under the smallest rated load nothing is rated.
pub fn power(load: &Thing<'_, Load>, job: &Job<'_>) -> Decided<Range<Power>> {
    let amplifier = amplifier(load, job)?;
    let (seen, own) = (seen_ohms(load, job)?, own_ohms(load, job)?);
    let rated = coils::ratings(amplifier, load);
    let power = coils::rated_power(rated, seen).ok_or_else(|| Undecided::need(amplifier.at("rated")))?;
    let smallest = rated.iter().map(|point| point.load.base()).fold(f64::INFINITY, f64::min);
    if seen < smallest * (1.0 - 1e-9) {
        return Err(Undecided::NotApplicable("nothing is rated into so small a load (LOAD-11 reports that)"));
    }
    Ok(power * (seen / own))
}

/// The coils of a load, with their place below `coils`.
///
/// # Errors
/// The need for them.
pub fn tree<'a>(load: &Thing<'a, Load>) -> Decided<&'a Coils> {
    load.plan().coils.as_ref().ok_or_else(|| Undecided::need(load.at("coils")))
}

/// What one coil of a driver takes for good, in watt: the driver's rating over its coils.
///
/// # Errors
/// The need for the rating.
pub fn coil_rating(job: &Job<'_>, coil: &Coil) -> Decided<f64> {
    let need = || Undecided::need(Place::of(format!("drivers.{}.rms", coil.driver)));
    let driver = job.plan.drivers.get(&coil.driver);
    let driver = driver.ok_or(Undecided::NotApplicable("no such driver (PLAN-01 reports that)"))?;
    let rms = driver.rms.filter(|rms| rms.base() > 0.0).ok_or_else(need)?;
    let count = u32::try_from(driver.coils.len().max(1)).unwrap_or(u32::MAX);
    Ok(rms.base() / f64::from(count))
}
