//! Numbers beside the words: what a length drops, a size carries, a fuse may be, coils come to.

use gen_lsp_types::{InlayHint, Range as Span};

use super::client::Client;
use super::document::{Document, Judged};
use crate::quantity::{Dimension, Range, Resistance};
use crate::report::{is_protected, largest_fuse, smallest_fuse};
use crate::solve::{Case, Decided, Job, Place, channels, loads};

/// The hints within a part of the text.
pub fn hints(document: &Document, judged: &Judged, within: Span, client: &Client) -> Vec<InlayHint> {
    if !client.hints {
        return Vec::new();
    }
    let asked = document.positions.range(&document.text, within);
    let told = told(&judged.job()).into_iter().filter_map(|(place, words)| {
        let end = end_of(judged, &place)?;
        (asked.start <= end && end <= asked.end).then_some((end, words))
    });
    let mut told: Vec<(usize, String)> = told.collect();
    told.sort();
    let hint = |(end, words): (usize, String)| InlayHint {
        position: document.positions.position(&document.text, end),
        label: words.into(),
        kind: None,
        text_edits: None,
        tooltip: None,
        padding_left: Some(true),
        padding_right: None,
        data: None,
    };
    told.into_iter().map(hint).collect()
}

/// Where the words at a place end, if they stand in this text.
fn end_of(judged: &Judged, place: &Place) -> Option<usize> {
    let tree = &judged.reading.tree;
    let path = place.path();
    let (above, key) = path.rsplit_once('.')?;
    let entry = tree.map(tree.node(above)?)?.get(key).filter(|entry| tree.is_written_here(entry))?;
    Some(crate::text::last_byte(&judged.reading.text, tree, entry))
}

/// What there is to tell of a job, each with the place behind which it is told.
fn told(job: &Job<'_>) -> Vec<(Place, String)> {
    let mut told = Vec::new();
    let mut tell = |place: Place, words: Option<String>| told.extend(words.map(|words| (place, words)));
    for (at, wire) in job.wires.iter().enumerate() {
        let drop = job.wire_drop(wire, Case::IdleFull).map(|drop| drop.range);
        tell(wire.at("length"), shown("drops", drop));
        tell(wire.at("size"), shown("carries", job.ampacity(wire).map(|carries| carries.ampacity)));
        if is_protected(job, at) {
            tell(wire.at("fuse.rating"), window(smallest_fuse(job, wire), largest_fuse(job, wire)));
        }
    }
    for load in &job.loads {
        let ohms = loads::own_ohms(load, job).map(Range::<Resistance>::point);
        let words = match (shown("", ohms), shown("", loads::power(load, job))) {
            (Some(ohms), Some(power)) => Some(format!("{ohms}, {power}")),
            (ohms, _) => ohms,
        };
        tell(load.at("coils"), words);
    }
    for channels in channels::each(job) {
        let most = channels.loads.iter().filter_map(|load| Some(loads::ceiling(job, load).ok()?.volts));
        let most = most.min_by(|one, other| one.low().total_cmp(&other.low()));
        tell(channels.at("gain_target"), most.and_then(|volts| shown("at most", Ok(volts))));
    }
    told
}

fn shown<D: Dimension>(what: &str, value: Decided<Range<D>>) -> Option<String> {
    let value = value.ok().filter(|range| range.low().is_finite() && range.high().is_finite())?;
    Some(format!("{what} {value}").trim().to_owned())
}

/// From the smallest fuse for the load to the largest for the wire; the sure ends of both.
fn window<D: Dimension>(least: Decided<Range<D>>, most: Decided<Range<D>>) -> Option<String> {
    let finite = |value: &f64| value.is_finite();
    let least = least.ok().map(Range::high).filter(finite);
    let most = most.ok().map(Range::low).filter(finite);
    let shown = |value: f64| Range::<D>::point(value).to_string();
    if let Some((least, most)) = least.zip(most).filter(|(least, most)| least > most) {
        return Some(format!("none fits: {} for the load, {} for the wire", shown(least), shown(most)));
    }
    match (least.map(shown), most.map(shown)) {
        (Some(least), Some(most)) => Some(format!("from {least} to {most}")),
        (Some(least), None) => Some(format!("from {least}")),
        (None, Some(most)) => Some(format!("at most {most}")),
        (None, None) => None,
    }
}
