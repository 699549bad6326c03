//! What to fetch before a panel comes off: tools, cable cut to length, fuses, ends, passes, fasteners, covering.

use maud::{Markup, html};

use super::bits::{Asks, fuse_form, grouped, listed, not_stated, nothing, plain, titled, yes_or_no};
use super::tools;
use crate::plan::{Crossing, End, Fuse, Through, Wire, Zone};
use crate::quantity::{Gauge, Length, Quantity, Range};
use crate::sheet::View;
use crate::solve::{Place, Thing};
use crate::words::count;

/// All that is fetched.
pub fn body(view: &View<'_>, asks: &mut Asks) -> Markup {
    let lists = html! {
        (gear(view, asks))
        (cable(view, asks))
        (fuses(view, asks))
        (ends(view, asks))
        (passes(view, asks))
        (fasteners(view, asks))
        (covering(view, asks))
        (tools::body(view))
    };
    if lists.0.is_empty() { nothing("No gear and no cable are stated.") } else { lists }
}

/// Gear with its place.
fn gear(view: &View<'_>, asks: &mut Asks) -> Markup {
    let plan = view.job.plan;
    let mut rows = Vec::new();
    let mut add = |asks: &mut Asks, name: &str, what: String, place: &str, location: Option<Zone>| {
        let at = Place::of(format!("{place}.{name}.location"));
        rows.push(vec![html! { (name) }, html! { (what) }, asks.word(&at, location)]);
    };
    for (name, amplifier) in &plan.amplifiers {
        let class = amplifier.classes();
        let channels = amplifier.channels.map(|channels| count(channels.into(), "channel"));
        add(asks, name, listed([Some("amplifier".into()), class, channels]), "amplifiers", amplifier.location);
    }
    for (name, enclosure) in &plan.enclosures {
        let kind = enclosure.kind.map(|kind| format!("{} box", plain(&kind))).or_else(|| Some("box".into()));
        let volume = enclosure.net_volume.map(|volume| format!("{volume} net"));
        let mass = enclosure.mass.map(|mass| mass.to_string());
        add(asks, name, listed([kind, volume, mass]), "enclosures", enclosure.location);
    }
    for (name, battery) in &plan.batteries {
        let kind = battery.kind.map_or_else(|| "battery".to_owned(), |kind| format!("{} battery", plain(&kind)));
        add(asks, name, listed([Some(kind), battery.capacity.map(|is| is.to_string())]), "batteries", battery.location);
    }
    for (name, isolator) in &plan.isolators {
        let kind = match isolator.kind {
            Some(_) if isolator.is_step_down() => "step-down converter".to_owned(),
            Some(kind) => format!("isolator, {}", plain(&kind)),
            None => "isolator".to_owned(),
        };
        let (rated, volts) =
            (isolator.rated.map(|is| is.to_string()), isolator.output_voltage.map(|is| is.to_string()));
        add(asks, name, listed([Some(kind), volts, rated]), "isolators", isolator.location);
    }
    for (name, block) in &plan.blocks {
        let outputs = count(block.outputs.len(), "output");
        let takes = block.takes.map(|takes| format!("takes {takes}"));
        add(asks, name, listed([Some("distribution block".into()), takes, Some(outputs)]), "blocks", block.location);
    }
    for (name, capacitor) in &plan.capacitors {
        let holds = capacitor.capacitance.map(|holds| holds.to_string());
        let volts = capacitor.voltage.map(|volts| volts.to_string());
        add(asks, name, listed([Some("capacitor".into()), holds, volts]), "capacitors", capacitor.location);
    }
    for (name, driver) in &plan.drivers {
        let kind = driver.kind.map_or_else(|| "driver".to_owned(), |kind| plain(&kind));
        let coils: Vec<String> = driver.coils.iter().map(ToString::to_string).collect();
        let coils = (!coils.is_empty()).then(|| format!("coils {}", coils.join(" + ")));
        let words = listed([Some(kind), driver.size.map(|size| size.to_string()), coils]);
        let sits = driver.enclosure.as_deref().unwrap_or("–");
        rows.push(vec![html! { (name) }, html! { (words) }, html! { (sits) }]);
    }
    let processors = plan.sources.iter().filter(|(_, source)| source.is_processor());
    let processors = processors.map(|(name, _)| (name, "sound processor"));
    let converters = plan.converters.keys().map(|name| (name, "converter from speaker to line level"));
    for (name, what) in processors.chain(converters) {
        rows.push(vec![html! { (name) }, html! { (what) }, html! { "–" }]);
    }
    titled("Gear", &["name", "what", "where"], rows)
}

/// A piece of cable to cut.
struct Piece {
    name: String,
    length: Option<Quantity<Length>>,
    place: Place,
}

/// Cable of one make, from the thickest to the thinnest, with what has to be cut from it.
fn cable(view: &View<'_>, asks: &mut Asks) -> Markup {
    let (job, plan) = (view.job, view.job.plan);
    let mut pieces: Vec<(f64, String, Piece)> = Vec::new();
    let area = |size: Option<Gauge>| size.map_or(0.0, Gauge::square_millimetres);
    for wire in &job.wires {
        let piece = Piece { name: wire.name.into(), length: wire.length, place: wire.at("length") };
        pieces.push((area(wire.size), make(asks, wire), piece));
    }
    for (name, turn_on) in plan.turn_on.iter().filter(|(_, lead)| lead.is_lead()) {
        let what = listed([turn_on.size.map(|size| size.to_string()), Some("turn-on lead".into())]);
        // The plan has no key for its length: it is measured on the vehicle.
        pieces.push((area(turn_on.size), what, Piece { name: name.clone(), length: None, place: Place::of("") }));
    }
    for load in &job.loads {
        let Some(lead) = &load.lead else { continue };
        let what = listed([
            lead.size.map(|size| size.to_string()),
            lead.conductor.map(|metal| plain(&metal)),
            Some("speaker lead, two conductors".into()),
        ]);
        let piece = Piece { name: load.name.into(), length: lead.length, place: load.at("lead.length") };
        pieces.push((area(lead.size), what, piece));
    }
    for signal in &job.signals {
        let Some(lead) = &signal.lead else { continue };
        let screen = if lead.shielded == Some(true) { "signal lead, screened" } else { "signal lead" };
        let piece = Piece { name: signal.name.into(), length: lead.length, place: signal.at("lead.length") };
        pieces.push((0.0, screen.into(), piece));
    }
    pieces.sort_by(|one, other| other.0.total_cmp(&one.0));
    let groups = grouped(pieces.into_iter().map(|(_, make, piece)| (make, piece)));
    let waste = view.house.assumptions.cable_waste;
    let rows = groups.into_iter().map(|(make, pieces)| {
        // Cable is sold by the metre, however each piece of it was written.
        let laid = Range::<Length>::point(pieces.iter().filter_map(|piece| piece.length).map(Quantity::base).sum());
        let is_whole = pieces.iter().all(|piece| piece.length.is_some());
        let most = 1.0 + waste.range.high() / 100.0;
        let (laid, buy) = (laid.to_string(), rounded_up(laid.high() * most).to_string());
        let at_least = if is_whole { "" } else { "at least " };
        vec![
            html! { (make) },
            html! { @for (at, piece) in pieces.iter().enumerate() {
                @if at > 0 { ", " } (piece.name) " " (cut(asks, piece))
            } },
            if laid == "0 m" {
                html! { "–" }
            } else {
                html! { (at_least) (laid) }
            },
            if laid == "0 m" {
                html! { "–" }
            } else {
                html! { strong { (at_least) (buy) } }
            },
        ]
    });
    let rows: Vec<Vec<Markup>> = rows.collect();
    if rows.is_empty() {
        return html! {};
    }
    html! {
        (titled("Cable", &["cable", "pieces", "laid", "to buy"], rows))
        p.aside {
            "To buy is what is laid and " (waste.range.at_high()) " for slack, trimming and a spoilt end (" (waste.source)
            "), to the next tenth of a metre."
        }
    }
}

fn cut(asks: &mut Asks, piece: &Piece) -> Markup {
    match piece.length {
        Some(length) => html! { (length) },
        None if piece.place.path().is_empty() => html! { span.unknown { "measure on the vehicle" } },
        None => asks.missing(&piece.place),
    }
}

/// The next tenth of a metre; the least part below it allows for rounding.
fn rounded_up(metres: f64) -> Range<Length> {
    Range::point((metres * 10.0 - 1e-9).ceil() / 10.0)
}

/// A supply cable as it is bought.
fn make(asks: &mut Asks, wire: &Thing<'_, Wire>) -> String {
    let mut or_not = |words: Option<String>, key: &'static str, called: &str| {
        if words.is_none() {
            asks.ask(&wire.at(key));
        }
        words.or_else(|| Some(format!("{called} not stated")))
    };
    listed([
        or_not(wire.size.map(|size| size.to_string()), "size", "size"),
        or_not(wire.conductor.map(|metal| plain(&metal)), "conductor", "metal"),
        wire.stranding.map(|strands| match strands {
            crate::plan::Stranding::Fine => "fine strands".into(),
            other => plain(&other),
        }),
        or_not(wire.insulation.map(|insulation| format!("insulation {insulation}")), "insulation", "insulation"),
        or_not(wire.colour.map(|colour| plain(&colour)), "colour", "colour"),
    ])
}

/// Fuses by form and rating, with what holds them.
fn fuses(view: &View<'_>, asks: &mut Asks) -> Markup {
    let sites = view.job.protection().fuses.iter();
    let mut rows = Vec::new();
    for (what, places) in grouped(sites.map(|site| (fuse(&site.fuse), &site.place))) {
        let [form, rated, holder] = what;
        for (words, key) in [(&form, "form"), (&rated, "rating"), (&holder, "holder")] {
            if words.is_empty() {
                for place in &places {
                    asks.ask(&place.sub(key));
                }
            }
        }
        let shown = |words: String| known_or_not(Some(words).filter(|words| !words.is_empty()));
        let at: Vec<String> = places.iter().map(|place| element(&place.path())).collect();
        rows.push(vec![
            html! { (places.len()) " ×" },
            html! { strong { (shown(rated)) } },
            html! { (shown(form)) },
            html! { (at.join(", ")) },
            html! { (shown(holder)) },
        ]);
    }
    for (name, lead) in &view.job.plan.turn_on {
        let relay = lead.relay.as_ref().and_then(|relay| relay.contact_fuse);
        for (rating, place) in [(lead.fuse, ""), (relay, ", contact of its relay")] {
            if let Some(rating) = rating {
                rows.push(vec![
                    html! { "1 ×" },
                    html! { strong { (rating) } },
                    html! { "any" },
                    html! { "turn-on lead " (name) (place) },
                    html! { "–" },
                ]);
            }
        }
    }
    titled("Fuses", &["number", "rating", "form", "for", "holder"], rows)
}

/// Form, rating and holder of a fuse in words; empty where the plan does not say.
fn fuse(fuse: &Fuse) -> [String; 3] {
    let form = fuse.form.map(fuse_form).unwrap_or_default().to_owned();
    let rated = listed([
        fuse.rating.map(|rating| rating.to_string()),
        fuse.voltage.filter(|_| fuse.rating.is_some()).map(|voltage| voltage.to_string()),
        fuse.breaking_capacity.filter(|_| fuse.rating.is_some()).map(|breaks| format!("breaks {breaks}")),
    ]);
    let holder = fuse.holder.as_ref().map(|holder| {
        listed([
            holder.takes.map(|takes| format!("takes {takes}")),
            holder.rated.map(|rated| format!("for {rated}")),
            holder.sealed.map(|sealed| if sealed { "sealed" } else { "not sealed" }.into()),
        ])
    });
    [form, rated, holder.unwrap_or_default()]
}

/// `wires.main.fuse` as `main`, `blocks.rear.outputs.left.fuse` as `rear.left`.
fn element(path: &str) -> String {
    let words: Vec<&str> = path.split('.').skip(1).filter(|part| !matches!(*part, "outputs" | "fuse")).collect();
    words.join(".").replace(".far_fuse", ", far end")
}

/// Lugs, ferrules and the like by size and stud.
fn ends(view: &View<'_>, asks: &mut Asks) -> Markup {
    let mut all = Vec::new();
    for wire in &view.job.wires {
        let ends = wire.ends.clone().unwrap_or_default();
        for (end, side, terminal) in [(ends.from, "from", &wire.from), (ends.to, "to", &wire.to)] {
            let at = terminal.as_ref().map_or_else(|| side.to_owned(), ToString::to_string);
            match end.as_ref().and_then(|end| end.kind.map(|kind| (end, kind))) {
                Some((end, kind)) => all.push((end_piece(wire, end, plain(&kind)), format!("{} at {at}", wire.name))),
                None => asks.ask(&wire.at(format!("ends.{side}.kind"))),
            }
        }
    }
    let rows = grouped(all).into_iter().map(|(what, at)| {
        let [kind, size, stud, made] = what;
        vec![
            html! { (at.len()) " ×" },
            html! { (kind) },
            html! { (size) },
            html! { (stud) },
            html! { (made) },
            html! { (at.join(", ")) },
        ]
    });
    titled("Ends", &["number", "end", "for cable", "stud or strip", "how", "at"], rows.collect())
}

fn end_piece(wire: &Thing<'_, Wire>, end: &End, kind: String) -> [String; 4] {
    let size = end.takes.or(wire.size).map(|size| size.to_string());
    let fits = listed([end.stud.map(|stud| format!("stud {stud}")), end.strip.map(|strip| format!("strip {strip}"))]);
    let dash = |words: String| if words.is_empty() { "–".to_owned() } else { words };
    [kind, dash(size.unwrap_or_default()), dash(fits), dash(end.made.map(|made| plain(&made)).unwrap_or_default())]
}

/// A hole or an edge, and what is there.
#[derive(PartialEq)]
struct Pass {
    zone: Zone,
    through: Option<Through>,
    sealed: Option<bool>,
}

/// Every crossing of every lead: what is there and for which lead.
fn passes(view: &View<'_>, asks: &mut Asks) -> Markup {
    let job = view.job;
    let mut all: Vec<(Pass, String)> = Vec::new();
    let mut add = |asks: &mut Asks,
                   thing: &str,
                   name: &str,
                   path: &[Zone],
                   crossings: &std::collections::BTreeMap<Zone, Crossing>| {
        let on_path = path.iter().filter(|zone| zone.kind() == crate::plan::ZoneKind::Crossing);
        let zones: std::collections::BTreeSet<Zone> = on_path.chain(crossings.keys()).copied().collect();
        for zone in zones {
            let crossing = crossings.get(&zone).cloned().unwrap_or_default();
            for (key, is_stated) in [("through", crossing.through.is_some()), ("sealed", crossing.sealed.is_some())] {
                if !is_stated {
                    asks.ask(&Place::of(format!("{thing}.crossings.{}.{key}", zone.word())));
                }
            }
            all.push((Pass { zone, through: crossing.through, sealed: crossing.sealed }, name.to_owned()));
        }
    };
    for wire in &job.wires {
        add(asks, &wire.address, wire.name, &wire.path, &wire.crossings);
    }
    for lead in &job.turn_on {
        add(asks, &lead.address, lead.name, &lead.path, &lead.crossings);
    }
    for signal in &job.signals {
        if let Some(lead) = &signal.lead {
            add(asks, &format!("{}.lead", signal.address), signal.name, &lead.path, &lead.crossings);
        }
    }
    for load in &job.loads {
        if let Some(lead) = &load.lead {
            add(asks, &format!("{}.lead", load.address), load.name, &lead.path, &lead.crossings);
        }
    }
    let rows = grouped(all).into_iter().map(|(Pass { zone, through, sealed }, names)| {
        vec![
            html! { (plain(&zone)) },
            known_or_not(through.map(|through| plain(&through))),
            known_or_not(sealed.map(|sealed| yes_or_no(sealed).to_owned())),
            html! { (names.join(", ")) },
        ]
    });
    titled("Passes", &["through", "what", "sealed", "for"], rows.collect())
}

/// A word that several things share; where it is missing each of them has asked for it.
fn known_or_not(words: Option<String>) -> Markup {
    html! { @match words { Some(words) => (words), None => (not_stated()) } }
}

/// What holds gear and grounds.
fn fasteners(view: &View<'_>, asks: &mut Asks) -> Markup {
    let plan = view.job.plan;
    let mut rows = Vec::new();
    for (name, mount) in &plan.mounts {
        let fasteners = mount.fasteners.clone().unwrap_or_default();
        let at = |key: &str| Place::of(format!("mounts.{name}.{key}"));
        let class = fasteners.class.map(|class| format!("class {}", crate::plan::word(&class)));
        let words =
            listed([fasteners.kind.map(|kind| plain(&kind)), fasteners.thread.map(|thread| plain(&thread)), class]);
        let words = (!words.is_empty()).then_some(words);
        rows.push(vec![
            html! { (name) },
            asks.stated(&at("fasteners.count"), fasteners.count.map(|number| format!("{number} ×"))),
            asks.stated(&at("fasteners.kind"), words),
            asks.word(&at("on"), mount.on),
        ]);
    }
    for ground in &view.job.grounds {
        let fastener = ground.fastener.clone().unwrap_or_default();
        let locking = fastener.locking.map(|is| if is { "locking" } else { "not locking" }.to_owned());
        let words =
            listed([fastener.kind.map(|kind| plain(&kind)), fastener.thread.map(|thread| plain(&thread)), locking]);
        let words = (!words.is_empty()).then_some(words);
        rows.push(vec![
            html! { "ground " (ground.name) },
            html! { "1 ×" },
            asks.stated(&ground.at("fastener"), words),
            asks.word(&ground.at("on"), ground.on),
        ]);
    }
    titled("Fasteners", &["for", "number", "what", "on"], rows)
}

/// Loom and conduit by the length of what they cover, and how often each run is fixed.
fn covering(view: &View<'_>, asks: &mut Asks) -> Markup {
    let mut rows = Vec::new();
    for wire in &view.job.wires {
        let covering = wire.covering.map_or_else(|| "none stated".to_owned(), |covering| plain(&covering));
        let fixings = wire.fixed_every.zip(wire.length).and_then(|(every, length)| fixings(length, every));
        rows.push(vec![
            html! { (wire.name) },
            html! { (covering) },
            asks.stated(&wire.at("length"), wire.length),
            asks.stated(&wire.at("fixed_every"), wire.fixed_every),
            html! { (fixings.map_or("–".into(), |number| number.to_string())) },
        ]);
    }
    titled("Covering and fixings", &["run", "covering", "length", "fixed at least every", "fixings"], rows)
}

/// A fixing for every stretch that is begun. Nothing where the distance is none.
fn fixings(length: Quantity<Length>, every: Quantity<Length>) -> Option<u32> {
    let stretches = (length.base() / every.base() - 1e-9).ceil();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the bounds that are asked for")]
    (every.base() > 0.0 && (0.0..100_000.0).contains(&stretches)).then_some(stretches as u32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fixing_for_every_stretch_that_is_begun() {
        let fixings = |length: f64, every: f64| fixings(Quantity::new(length), Quantity::new(every));
        // 4.2 m at 30 cm are 14 stretches, whatever the division makes of it.
        assert_eq!(fixings(4.2, 0.3), Some(14));
        assert_eq!(fixings(4.21, 0.3), Some(15));
        assert_eq!(fixings(0.1, 0.3), Some(1));
        assert_eq!(fixings(4.2, 0.0), None);
    }

    #[test]
    fn cable_is_bought_to_the_next_tenth() {
        assert_eq!(rounded_up(4.62).to_string(), "4.7 m");
        assert_eq!(rounded_up(1.1 * 2.0).to_string(), "2.2 m");
    }

    #[test]
    fn a_fuse_is_named_by_where_it_sits() {
        assert_eq!(element("wires.main.fuse"), "main");
        assert_eq!(element("wires.main.far_fuse"), "main, far end");
        assert_eq!(element("blocks.rear.outputs.left.fuse"), "rear.left");
    }
}
