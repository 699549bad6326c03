//! What hangs on each output.

use maud::{Markup, html};

use super::bits::{Asks, coils as coils_in_words, listed, nothing, plain, table};
use super::drawings;
use crate::plan::Load;
use crate::quantity::{Range, Resistance};
use crate::sheet::View;
use crate::solve::{Thing, coils, loads};

/// Every load with its impedance, its power and its lead, and how its coils are joined.
pub fn body(view: &View<'_>, asks: &mut Asks) -> Markup {
    if view.job.loads.is_empty() {
        return nothing("No loads are stated.");
    }
    let mut loads: Vec<_> = view.job.loads.iter().collect();
    loads.sort_by_key(|load| (load.amplifier.as_deref(), load.outputs.iter().min().copied()));
    let rows = loads.into_iter().map(|load| row(view, asks, load)).collect();
    html! {
        (table(&[
            "load", "amplifier", "outputs", "coils", "impedance", "rated power", "DC resistance with lead", "lead",
            "highest gain target",
        ], rows))
        (drawings::loads(view))
    }
}

fn row(view: &View<'_>, asks: &mut Asks, load: &Thing<'_, Load>) -> Vec<Markup> {
    let job = view.job;
    let outputs: Vec<String> = load.outputs.iter().map(u8::to_string).collect();
    let outputs = (!outputs.is_empty()).then(|| outputs.join(" + "));
    let bridged = if load.outputs.len() == 2 { " bridged" } else { "" };
    vec![
        html! { (load.name) @if load.reversed == Some(true) { " " small { "against the others" } } },
        asks.stated(&load.at("amplifier"), load.amplifier.as_ref()),
        html! { (asks.stated(&load.at("outputs"), outputs)) (bridged) },
        asks.stated(&load.at("coils"), load.coils.as_ref().map(coils_in_words)),
        asks.figure(loads::own_ohms(load, job).map(Range::<Resistance>::point)),
        asks.figure(loads::power(load, job)),
        asks.figure(coils::dc_resistance(job, load).map(|known| known.range)),
        lead(asks, load),
        asks.figure(loads::ceiling(job, load).map(|ceiling| ceiling.volts)),
    ]
}

fn lead(asks: &mut Asks, load: &Thing<'_, Load>) -> Markup {
    let Some(lead) = &load.lead else { return asks.missing(&load.at("lead")) };
    let words = listed([
        lead.size.map(|size| size.to_string()),
        lead.length.map(|length| length.to_string()),
        lead.conductor.map(|metal| plain(&metal)),
    ]);
    html! { (words) @if lead.size.is_none() { " " (asks.missing(&load.at("lead.size"))) } }
}
