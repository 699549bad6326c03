//! The race between a fuse and the wires that it alone protects: when it opens, and how long they stand it.

use super::SMALL;
use super::axis::Axis;
use super::chart::{Chart, Pen};
use crate::plan::FuseForm;
use crate::quantity::{Current, Duration, Quantity, Range};
use crate::sheet::View;
use crate::sheet::drawing::{Drawing, Ink, Point};
use crate::sheet::drawn::Drawn;
use crate::sheet::letters::ident;
use crate::solve::{Decided, Job, Place, Undecided, all, fuse};

/// The time within which a race is drawn, in s.
const SHORTEST: f64 = 0.01;
const LONGEST: f64 = 10_000.0;
/// How long the formula for what a wire stands holds, in s (IEC 60364-4-43 clause 434.5.2).
const HOLDS: f64 = 5.0;
/// How many kinds of wire behind one fuse are drawn: those that stand least.
const MOST_WIRES: usize = 3;

/// Every fuse with a form and a rating, against the wires that it alone protects.
pub fn fuses(view: &View<'_>) -> Drawn {
    let job = view.job;
    Drawn::of(job.protection().fuses.iter().enumerate().map(|(at, site)| {
        let path = site.place.path();
        let name = ident("fuse", &path.replace('.', "-"), at);
        (path, draw(job, at, name))
    }))
}

/// Wires alike behind a fuse.
struct Wires {
    names: Vec<String>,
    /// k S in A s^0.5, least and most: t = (k S / I)^2.
    strength: (f64, f64),
    /// What they carry for good.
    carries: Range<Current>,
    /// A short at the far end of the one where it draws least, and of the one where it draws most.
    short: Range<Current>,
}

fn draw(job: &Job<'_>, at: usize, name: String) -> Decided<Drawing> {
    let site = &job.protection().fuses[at];
    let need = |key| Undecided::need(site.place.sub(key));
    let rating = site.fuse.rating.ok_or_else(|| need("rating"));
    let form = site.fuse.form.ok_or_else(|| need("form"));
    all([rating.clone().map(drop), form.clone().map(drop)])?;
    let (rating, form) = (rating?, form?);
    if site.fuse.is_breaker() {
        return Err(Undecided::NotApplicable("the curve of a breaker is its maker's"));
    }
    if rating.base() <= 0.0 {
        return Err(Undecided::NotApplicable("a fuse without a rating"));
    }
    let wires = wires(job, at)?;
    let behind = job.fault_behind(at)?;
    let least = wires.iter().map(|wires| wires.short.low()).fold(behind.low(), f64::min);
    let most = behind.high().max(rating.base() * 8.0);
    let x = Axis::logarithmic("A", (rating.base() * 0.8).min(least), most * 1.6, 9);
    let mut chart =
        Chart::new(SMALL, 200.0, x.clone(), Axis::logarithmic("s until it opens or is hurt", SHORTEST, LONGEST, 7));
    opening(&mut chart, &x, form, rating);
    let pens = [Pen::dashed(Ink::Return), Pen::dotted(Ink::Return), Pen::solid(Ink::Return)];
    for (wires, pen) in wires.iter().zip(pens) {
        withstand(&mut chart, &x, wires, pen);
    }
    let thin = Pen { weight: 1.0, ..Pen::dotted(Ink::Danger) };
    chart.upright(least, thin, &Range::<Current>::point(least).to_string());
    chart.upright(behind.high(), thin, &behind.at_high().to_string());
    chart.note("tinted: when the fuse may open; dotted: a short at the far end (least) and at the fuse (most)");
    let description = describe(form, rating, &wires, least, behind);
    let title = format!("Fuse of {}: {rating} {}", name_of(&site.place), crate::plan::word(&form));
    Ok(chart.finish(name, title, description))
}

/// What a fuse is called: by its wire, or by the block and the output in which it sits.
fn name_of(place: &Place) -> String {
    let path = place.path();
    match path.split('.').collect::<Vec<_>>()[..] {
        ["wires", wire, "far_fuse"] => format!("{wire}, far end"),
        ["wires", wire, ..] => wire.to_owned(),
        ["blocks", block, "outputs", output, ..] => format!("{block}.{output}"),
        _ => path,
    }
}

/// The wires that a fuse alone protects, those alike together, the weakest first.
fn wires(job: &Job<'_>, fuse_at: usize) -> Decided<Vec<Wires>> {
    let mut found: Vec<Wires> = Vec::new();
    let own = job.protected_by(fuse_at);
    if own.is_empty() {
        return Err(Undecided::NotApplicable("this fuse protects no wire alone"));
    }
    for index in own {
        let wire = &job.wires[index];
        let carries = job.ampacity(wire)?;
        let area = carries.size.square_millimetres();
        let strengths = carries.materials.iter().map(|material| fuse::withstand_factor(*material) * area);
        let strength = strengths.fold((f64::INFINITY, 0.0_f64), |(low, high), one| (low.min(one), high.max(one)));
        // What a charger lets through is no short.
        let ways = job.protection().ways_in(index);
        let ways = ways.filter(|way| job.smallest_fuse(&way.fuses) == Some(fuse_at));
        let shorts = all(ways.filter(|way| !way.is_limited()).map(|way| job.fault_current(way)))?;
        let Some(short) = shorts.into_iter().reduce(Range::hull) else { continue };
        let named = format!("{} {}", wire.name, carries.size);
        match found.iter_mut().find(|other| other.strength == strength && other.carries == carries.ampacity) {
            Some(alike) => {
                alike.names.push(named);
                alike.short = alike.short.hull(short);
            }
            None => found.push(Wires { names: vec![named], strength, carries: carries.ampacity, short }),
        }
    }
    if found.is_empty() {
        return Err(Undecided::NotApplicable("no battery drives a short behind it"));
    }
    found.sort_by(|one, other| one.strength.0.total_cmp(&other.strength.0));
    Ok(found)
}

/// The band in which the fuse opens: between the fastest and the slowest that the standard lets pass.
fn opening(chart: &mut Chart, x: &Axis, form: FuseForm, rating: Quantity<Current>) {
    let (fastest, slowest) = curves(form, rating, x.high());
    chart.band(&fastest, &slowest, Ink::Feed);
    chart.line(&fastest, Pen::solid(Ink::Feed).thin());
    chart.named_line(&slowest, Pen::solid(Ink::Feed), "fuse");
}

/// The fastest and the slowest opening of a fuse up to a current, as pairs of ampere and second. Where it need not open
/// the slowest lies far above any plot, and where nothing is promised the fastest far below.
pub fn curves(form: FuseForm, rating: Quantity<Current>, most: f64) -> (Vec<Point>, Vec<Point>) {
    const HAIR: f64 = 1e-6;
    let shown = |seconds: f64| seconds.clamp(SHORTEST * 1e-3, LONGEST * 1e3);
    let at = |ampere: f64| fuse::opening_time(form, rating, Range::point(ampere));
    let gates = form.gates(rating).iter().map(|gate| gate.multiple * rating.base());
    let mut currents: Vec<f64> = gates.flat_map(|gate| [gate * (1.0 - HAIR), gate, gate * (1.0 + HAIR)]).collect();
    currents.retain(|ampere| *ampere < most);
    currents.push(most);
    let point = |time: fn(fuse::Opening) -> Range<Duration>| {
        currents.iter().map(|ampere| (*ampere, shown(time(at(*ampere)).high()))).collect()
    };
    (point(|opening| opening.fastest), point(|opening| opening.slowest))
}

/// How long wires stand a current: beyond what they carry for good, t = (k S / I)^2. Thin where that is longer than the
/// formula holds for: there a wire stands more, for heat leaves it.
fn withstand(chart: &mut Chart, x: &Axis, wires: &Wires, pen: Pen) {
    let name = crate::words::all(&wires.names);
    let time = |strength: f64, ampere: f64| (strength / ampere).powi(2).min(LONGEST * 10.0);
    let curve = |strength: f64, from: f64, to: f64| -> Vec<Point> {
        let between = x.spread(60).into_iter().filter(|ampere| *ampere > from && *ampere < to);
        let currents = std::iter::once(from).chain(between).chain((to > from).then_some(to));
        currents.map(|ampere| (ampere, time(strength, ampere))).collect()
    };
    let mut draw = |strength: f64, carries: f64, pen: Pen, name: &str| {
        let first = carries.clamp(x.low(), x.high());
        let holds = (strength / HOLDS.sqrt()).clamp(first, x.high());
        let mut slow = vec![(first, LONGEST * 10.0)];
        slow.extend(curve(strength, first, holds));
        let fast = curve(strength, holds, x.high());
        chart.line(&slow, pen.thin());
        chart.line(&fast, pen);
        slow.extend(fast);
        chart.name(&slow[1..], pen, name);
    };
    if wires.strength.0 < wires.strength.1 || !wires.carries.is_point() {
        draw(wires.strength.1, wires.carries.high(), pen.thin(), "");
    }
    draw(wires.strength.0, wires.carries.low(), pen, &name);
}

fn describe(form: FuseForm, rating: Quantity<Current>, wires: &[Wires], least: f64, behind: Range<Current>) -> String {
    let short = Range::<Current>::point(least);
    let opens = |current: Range<Current>| {
        let slowest = fuse::opening_time(form, rating, current).slowest.high();
        if slowest.is_finite() {
            format!("opens within {}", Range::<Duration>::point(slowest))
        } else {
            "need not open".to_owned()
        }
    };
    let mut sentences = vec![format!(
        "The fuse carries {rating}. In a short at the far end of its wires, which draws at least {short}, it {}; right behind \
         it {} may flow, where it {}.",
        opens(short),
        behind.at_high(),
        opens(behind.at_high())
    )];
    for wires in wires {
        let stands = |ampere: f64| Range::<Duration>::point((wires.strength.0 / ampere).powi(2));
        let at = wires.short.low();
        let stands = if at <= wires.carries.low() { "for good".to_owned() } else { format!("for {}", stands(at)) };
        sentences.push(format!(
            "{} carries {} for good and stands the {} of a short at its far end {stands}.",
            crate::words::all(&wires.names),
            wires.carries,
            Range::<Current>::point(at)
        ));
    }
    if wires.len() > MOST_WIRES {
        sentences.push(format!("Only the {MOST_WIRES} that stand least are drawn."));
    }
    sentences.join(" ")
}
