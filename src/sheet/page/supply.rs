//! Every run of the supply with what flows in it, and what each amplifier gets.

use maud::{Markup, html};

use super::bits::{Asks, nothing, titled};
use super::drawings;
use crate::report::{is_protected, largest_fuse, smallest_fuse, supply_table};
use crate::sheet::View;
use crate::solve::{Case, Decided, Known, Thing};

/// Runs, amplifiers, and the supply as a whole.
pub fn body(view: &View<'_>, asks: &mut Asks) -> Markup {
    if view.job.wires.is_empty() {
        return nothing("No supply wires are stated.");
    }
    let runs = view.job.wires.iter().enumerate().map(|(at, wire)| run(view, asks, at, wire)).collect();
    let amplifiers = view.job.amplifiers.iter().map(|amplifier| reaches(view, asks, amplifier)).collect();
    let whole = supply_table(view.job).rows.into_iter().map(|row| vec![html! { (row.name) }, html! { (row.text) }]);
    let [_, idling, _] = view.job.plan.states();
    html! {
        p.aside {
            "Full is full output with the " (idling) "; music is programme. A fuse must carry the load and protect the wire: "
            "it lies between the smallest and the largest."
        }
        (titled("Runs", &[
            "run", "size", "length", "current, full", "current, music", "drop, full", "gets as hot as", "carries",
            "fuse: smallest", "largest", "fitted",
        ], runs))
        (drawings::runs(view))
        (titled("What reaches each amplifier", &[
            "amplifier", "audio, full", "takes, full", "takes, music", "terminals, full", "terminals, music",
            "drop in its runs, full", "drop on the way back, full",
        ], amplifiers))
        (drawings::reaches(view))
        (titled("The supply as a whole", &["what", "how much"], whole.collect()))
        (drawings::supply(view))
    }
}

fn range<D: crate::quantity::Dimension>(known: Decided<Known<D>>) -> Decided<crate::quantity::Range<D>> {
    known.map(|known| known.range)
}

fn run(view: &View<'_>, asks: &mut Asks, at: usize, wire: &Thing<'_, crate::plan::Wire>) -> Vec<Markup> {
    let job = view.job;
    let protected = is_protected(job, at);
    vec![
        html! { (wire.name) },
        asks.stated(&wire.at("size"), wire.size),
        asks.stated(&wire.at("length"), wire.length),
        asks.figure(range(job.wire_current(wire, Case::IdleFull))),
        asks.figure(range(job.wire_current(wire, Case::IdleProgramme))),
        asks.figure(range(job.wire_drop(wire, Case::IdleFull))),
        asks.figure(job.wire_temperature(wire)),
        asks.figure(job.ampacity(wire).map(|carries| carries.ampacity)),
        if protected {
            asks.figure(smallest_fuse(job, wire))
        } else {
            html! { "–" }
        },
        if protected {
            asks.figure(largest_fuse(job, wire))
        } else {
            html! { "–" }
        },
        if protected {
            fitted(view, asks, at)
        } else {
            html! { "– " small { "a return" } }
        },
    ]
}

/// The fuses that alone protect a run.
fn fitted(view: &View<'_>, asks: &mut Asks, wire: usize) -> Markup {
    let job = view.job;
    let sites = job.protection().fuses.iter().enumerate();
    let own = sites.filter(|(fuse, _)| job.protected_by(*fuse).contains(&wire)).map(|(_, site)| site);
    let own: Vec<Markup> = own.map(|site| asks.stated(&site.place.sub("rating"), site.fuse.rating)).collect();
    if own.is_empty() {
        return html! { strong { "none" } };
    }
    html! { @for (at, fuse) in own.into_iter().enumerate() { @if at > 0 { ", " } (fuse) } }
}

fn reaches(view: &View<'_>, asks: &mut Asks, amplifier: &Thing<'_, crate::plan::Amplifier>) -> Vec<Markup> {
    let job = view.job;
    let demand = job.demand(amplifier);
    vec![
        html! { (amplifier.name) },
        asks.figure(demand.clone().map(|demand| demand.audio)),
        asks.figure(demand.clone().map(|demand| demand.full)),
        asks.figure(demand.map(|demand| demand.programme)),
        asks.figure(range(job.terminal_voltage(amplifier.name, Case::IdleFull))),
        asks.figure(range(job.terminal_voltage(amplifier.name, Case::IdleProgramme))),
        asks.figure(range(job.run_drop(amplifier.name, Case::IdleFull))),
        asks.figure(range(job.return_drop(amplifier.name, Case::IdleFull))),
    ]
}
