//! Steps that lay a wire or a lead: what it is, from where to where, and its way.

use std::collections::BTreeMap;

use super::told::{Told, with};
use crate::plan::{Coils, Crossing, Load, Plan, Signal, Terminal, TurnOn, Wire, Zone};
use crate::sheet::page::bits::{listed, plain};
use crate::words;

/// What has this name, in whichever sections: a signal lead and a speaker lead can share one.
pub fn run(plan: &Plan, name: &str) -> Told {
    let wire = plan.wires.get(name).map(|stated| ("the wire", wire(stated)));
    let turn_on = plan.turn_on.get(name).map(|lead| ("the turn-on lead", turn_on(lead)));
    let signal = plan.signals.get(name).map(|stated| ("the signal lead", signal(stated)));
    let speaker = plan.loads.get(name).map(|stated| ("the speaker lead", speaker(stated)));
    let all: Vec<_> = [wire, turn_on, signal, speaker].into_iter().flatten().collect();
    let what: Vec<String> = all.iter().map(|(what, _)| format!("{what} {name}")).collect();
    let what = if what.is_empty() { name.to_owned() } else { words::all(&what) };
    with(format!("Lay {what}"), all.into_iter().flat_map(|(_, words)| words))
}

fn between(from: Option<&Terminal>, to: Option<&Terminal>) -> Option<String> {
    Some(format!("from {} to {}", from?, to?))
}

fn wire(wire: &Wire) -> Vec<String> {
    let first = listed([
        wire.size.map(|size| size.to_string()),
        wire.colour.map(|colour| plain(&colour)),
        wire.length.map(|length| length.to_string()),
        between(wire.from.as_ref(), wire.to.as_ref()),
    ]);
    let covering = wire.covering.map(|covering| format!("covering: {}", plain(&covering)));
    let fixed = wire.fixed_every.map(|every| format!("fixed every {every}"));
    let held = wire.fuse.iter().chain(&wire.far_fuse).next();
    let held =
        held.map(|fuse| if fuse.is_breaker() { "its breaker stays open" } else { "its fuse stays out" }.to_owned());
    vec![first, listed([way(&wire.path, &wire.crossings), covering, fixed, held])]
}

fn turn_on(lead: &TurnOn) -> Vec<String> {
    let feed = lead.from.as_ref();
    let from = feed.and_then(|feed| feed.kind).map(|kind| format!("from {}", plain(&kind)));
    let of = feed.and_then(|feed| feed.of.as_ref()).map(|of| format!("of {of}"));
    let to: Vec<String> = lead.to.iter().map(ToString::to_string).collect();
    let to = (!to.is_empty()).then(|| format!("to {}", to.join(", ")));
    let tap = lead.tap.map(|tap| format!("joined by {}", plain(&tap)));
    let fuse = lead.fuse.map(|fuse| format!("fuse {fuse}"));
    let first = listed([lead.size.map(|size| size.to_string()), from, of, to]);
    vec![first, listed([tap, fuse, way(&lead.path, &lead.crossings)])]
}

fn signal(signal: &Signal) -> Vec<String> {
    let to = signal.to.as_ref().map(|to| format!("to {to}"));
    let taken = signal.taken_at.as_ref();
    let speaker =
        taken.and_then(|taken| taken.speaker.as_ref()).map(|speaker| format!("joined to the speaker wires {speaker}"));
    let output = taken.and_then(|taken| taken.output.as_ref()).map(|output| format!("output {output}"));
    let through = signal.through.as_ref().map(|through| format!("through the converter {through}"));
    let first = listed([signal.from.as_ref().map(|from| format!("from {from}")), speaker, output, through, to]);
    let lead = signal.lead.as_ref();
    let length = lead.and_then(|lead| lead.length).map(|length| length.to_string());
    let way = lead.and_then(|lead| way(&lead.path, &lead.crossings));
    vec![first, listed([length, way])]
}

fn speaker(load: &Load) -> Vec<String> {
    let lead = load.lead.as_ref();
    let outputs: Vec<String> = load.outputs.iter().map(u8::to_string).collect();
    let amplifier = load.amplifier.as_ref().map(|name| match outputs.as_slice() {
        [] => format!("from {name}"),
        outputs => format!("from {name}, output {}", outputs.join(" + ")),
    });
    let mut drivers: Vec<&str> = load.coils.iter().flat_map(Coils::coils).map(|coil| coil.driver.as_str()).collect();
    drivers.dedup();
    let first = listed([
        lead.and_then(|lead| lead.size).map(|size| size.to_string()),
        lead.and_then(|lead| lead.conductor).map(|metal| plain(&metal)),
        lead.and_then(|lead| lead.length).map(|length| length.to_string()),
        amplifier,
        (!drivers.is_empty()).then(|| format!("to {}", drivers.join(", "))),
    ]);
    vec![first, lead.and_then(|lead| way(&lead.path, &lead.crossings)).unwrap_or_default()]
}

/// The places on the way, each crossing with what is there.
fn way(path: &[Zone], crossings: &BTreeMap<Zone, Crossing>) -> Option<String> {
    let place = |zone: &Zone| match crossings.get(zone).and_then(|crossing| crossing.through) {
        Some(through) => format!("{} ({})", plain(zone), plain(&through)),
        None => plain(zone),
    };
    let places: Vec<String> = path.iter().map(place).collect();
    (!places.is_empty()).then(|| format!("through {}", places.join(" – ")))
}
