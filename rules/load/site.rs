//! What several rules ask of a load.

use crate::judge::{Finding, Offer};
use crate::plan::{Coil, Coils, Load};
use crate::solve::arrangements::Unit;
use crate::solve::{Decided, Job, Place, Thing, Undecided, arrangements, coils, loads};

/// The finding with the places of the other loads that the same outputs see.
pub fn with_others(finding: Finding, load: &Thing<'_, Load>, job: &Job<'_>) -> Finding {
    let others = loads::others_on_outputs(load, job);
    others.into_iter().fold(finding, |finding, other| finding.also(other.at("coils"), "on the same output"))
}

/// Other ways to join the coils of a load that make so many ohms or more: those that get most rated power first, then by
/// rising impedance.
pub fn rejoined(load: &Thing<'_, Load>, least: f64, job: &Job<'_>) -> Vec<Offer> {
    let Some(tree) = load.plan().coils.as_ref() else { return Vec::new() };
    let rated = loads::arrangements(job, load).unwrap_or_default().into_iter().map(|found| found.is);
    let unit = |coil: &Coil| {
        let ohms = coils::coil_impedance(job, coil).ok()?.base();
        Some(Unit { coil: coil.clone(), ohms, rating: 1.0 })
    };
    let units: Option<Vec<Unit>> = tree.coils().into_iter().map(unit).collect();
    let every = arrangements::of(&units.unwrap_or_default(), loads::MOST_UNEVEN);
    let fit = rated.chain(every).filter(|found| found.ohms >= least * (1.0 - 1e-9) && found.coils != *tree);
    fit.map(|found| joined(load, &found.coils)).collect()
}

/// The coils of a load joined in this way.
pub fn joined(load: &Thing<'_, Load>, coils: &Coils) -> Offer {
    Offer::new(format!("join the coils as {coils}")).set(load.at("coils"), coils)
}

/// Where the first load names a coil: the subject of PLAN-04, which counts how often it is used.
pub fn first_use(job: &Job<'_>, coil: &Coil) -> Option<Place> {
    let is = |other: &Coil| other.driver == coil.driver && other.number == coil.number;
    job.loads.iter().find_map(|load| {
        let coils = load.plan().coils.as_ref()?.each();
        coils.into_iter().find(|(_, other)| is(other)).map(|(path, _)| load.at(format!("coils{path}")))
    })
}

/// What is not judged of a load of which another has a coil too: nobody knows what drives that coil.
///
/// # Errors
/// Not applicable where it shares one.
pub fn own_coils(load: &Thing<'_, Load>, job: &Job<'_>) -> Decided<()> {
    let own: Vec<&Coil> = load.coils.iter().flat_map(Coils::coils).collect();
    let is_own = |coil: &Coil| own.iter().any(|other| other.driver == coil.driver && other.number == coil.number);
    let others = job.loads.iter().filter(|other| other.address != load.address);
    if others.flat_map(|other| other.plan().coils.iter().flat_map(Coils::coils)).any(is_own) {
        return Err(Undecided::NotApplicable("a coil of it is in another load too (PLAN-04 reports that)"));
    }
    Ok(())
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
