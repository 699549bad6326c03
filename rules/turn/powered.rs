//! Which converters draw current and have to be fed and switched: those that the plan does not leave passive.

use crate::plan::{Converter, Terminal, TurnOnOutput};
use crate::quantity::Quantity;
use crate::solve::{Job, Place, Thing};

/// What in the plan says that a converter is no passive one, with the place that says so.
pub fn why(converter: &Thing<'_, Converter>, job: &Job<'_>) -> Option<(Place, &'static str)> {
    let draws = |current: Option<Quantity<_>>| current.is_some_and(|current| current.base() > 0.0);
    if converter.turn_on_output == Some(TurnOnOutput::Switched) {
        return Some((converter.at("turn_on_output"), "it switches 12 V, which it has to get from somewhere"));
    }
    let currents = [
        ("current", converter.current),
        ("off_current", converter.off_current),
        ("remote_current", converter.remote_current),
    ];
    if converter.operating_voltage.is_some() {
        return Some((converter.at("operating_voltage"), "it works within this, so it is not passive"));
    }
    let stated = currents.into_iter().find(|(_, current)| draws(*current));
    stated.map(|(key, _)| (converter.at(key), "it draws this much, so it is not passive")).or_else(|| {
        let (place, _) = ends(job).into_iter().find(|(_, end)| end.thing == converter.name)?;
        Some((place, "connected here, so it is not passive"))
    })
}

/// Every end of a wire or a turn-on lead, with its place.
fn ends<'j>(job: &'j Job<'_>) -> Vec<(Place, &'j Terminal)> {
    let wires = job.wires.iter().flat_map(|wire| {
        let ends = [("from", wire.plan().from.as_ref()), ("to", wire.plan().to.as_ref())];
        ends.into_iter().filter_map(|(key, end)| Some((wire.at(key), end?)))
    });
    let leads = job.turn_on.iter().flat_map(|lead| {
        lead.plan().to.iter().enumerate().map(|(at, terminal)| (lead.at(format!("to.{at}")), terminal))
    });
    wires.chain(leads).collect()
}
