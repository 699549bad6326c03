//! The way of the audio from each source to each input, with its levels.

use maud::{Markup, html};

use super::bits::{Asks, listed, nothing, plain, table, yes_or_no};
use crate::plan::Signal;
use crate::quantity::Range;
use crate::rules::signal::site;
use crate::sheet::View;
use crate::solve::Thing;

/// Every signal with where it is taken and what arrives.
pub fn body(view: &View<'_>, asks: &mut Asks) -> Markup {
    if view.job.signals.is_empty() {
        return nothing("No signals are stated.");
    }
    let rows = view.job.signals.iter().map(|signal| row(view, asks, signal)).collect();
    table(
        &["signal", "from", "taken at", "through", "to", "source gives", "arrives", "input takes", "lead", "polarity"],
        rows,
    )
}

fn row(view: &View<'_>, asks: &mut Asks, signal: &Thing<'_, Signal>) -> Vec<Markup> {
    let job = view.job;
    vec![
        html! { (signal.name) },
        asks.stated(&signal.at("from"), signal.from.as_ref()),
        tap(asks, signal),
        signal.through.as_ref().map_or_else(|| html! { "–" }, |through| html! { (through) }),
        asks.stated(&signal.at("to"), signal.to.as_ref()),
        asks.figure(site::source_level(signal, job).map(|known| known.range)),
        asks.figure(site::arriving(signal, job).map(|known| known.range)),
        asks.figure(site::window(signal, job).map(|(window, _)| Range::from(window))),
        lead(asks, signal),
        polarity(view, asks, signal),
    ]
}

/// A plug fits one way: only what is taken at speaker level can be joined the other way round.
fn polarity(view: &View<'_>, asks: &mut Asks, signal: &Thing<'_, Signal>) -> Markup {
    let device = site::device(signal, view.job);
    if device.and_then(|(_, device)| site::is_speaker_level(signal, &device)) == Ok(false) {
        return html! { "by its plug" };
    }
    let checked = site::taken(signal, |tap| tap.polarity_checked);
    asks.stated(&signal.at("taken_at.polarity_checked"), checked.map(|is| if is { "proved" } else { "not proved" }))
}

fn tap(asks: &mut Asks, signal: &Thing<'_, Signal>) -> Markup {
    let Some(tap) = &signal.taken_at else { return asks.missing(&signal.at("taken_at")) };
    let words = listed([
        tap.speaker.as_ref().map(|speaker| format!("{speaker} speaker")),
        tap.output.as_ref().map(|output| format!("{output} output")),
        tap.after.as_ref().map(|after| format!("after {after}")),
        tap.plays.map(|plays| plain(&plays)),
        tap.speaker_kept.map(|kept| format!("speaker kept: {}", yes_or_no(kept))),
        tap.load_resistor.map(|fitted| format!("load resistor: {}", yes_or_no(fitted))),
    ]);
    html! { (words) }
}

fn lead(asks: &mut Asks, signal: &Thing<'_, Signal>) -> Markup {
    let Some(lead) = &signal.lead else { return asks.missing(&signal.at("lead")) };
    let screen = lead.shielded.map(|is| if is { "screened" } else { "without a screen" }.to_owned());
    let path: Vec<String> = lead.path.iter().map(plain).collect();
    let way = (!path.is_empty()).then(|| path.join(" – "));
    html! {
        (asks.stated(&signal.at("lead.length"), lead.length)) @if let Some(screen) = screen { ", " (screen) }
        @if let Some(way) = way { " " small { (way) } }
    }
}
