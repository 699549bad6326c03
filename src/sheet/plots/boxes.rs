//! How a driver responds in its box, in the open: the vehicle lifts the deep bass besides.

use super::SMALL;
use super::axis::Axis;
use super::chart::{Chart, Pen};
use crate::plan::EnclosureKind;
use crate::quantity::{Frequency, Quantity};
use crate::rules::enclosure::site::Site;
use crate::sheet::View;
use crate::sheet::drawing::{Drawing, Ink, Point};
use crate::sheet::drawn::Drawn;
use crate::sheet::letters::ident;
use crate::solve::enclosure::{self, closed, closed_response, vented_response};
use crate::solve::{Decided, Thing, Undecided};

/// Between which levels a response is drawn, in dB.
const DEEPEST: f64 = -30.0;
const HIGHEST: f64 = 6.0;
const POINTS: u32 = 161;

/// The response of every closed or vented box of which volume and driver are stated.
pub fn boxes(view: &View<'_>) -> Drawn {
    let job = view.job;
    Drawn::of(job.plan.enclosures.iter().enumerate().map(|(at, (name, enclosure))| {
        let inside = job.plan.drivers.iter().filter(|(_, driver)| driver.enclosure.as_deref() == Some(name));
        let drivers = inside.map(|(name, driver)| Thing::new("drivers", name, driver)).collect();
        let site = Site { enclosure: Thing::new("enclosures", name, enclosure), drivers };
        (site.enclosure.address.to_string(), draw(&site, ident("box", name, at)))
    }))
}

fn draw(site: &Site<'_>, name: String) -> Decided<Drawing> {
    let kind = site.enclosure.need("kind", &site.enclosure.kind)?;
    match kind {
        EnclosureKind::Sealed => draw_closed(site, name),
        EnclosureKind::Vented => draw_vented(site, name),
        EnclosureKind::Open => Err(Undecided::NotApplicable("the response without a box is not computed")),
    }
}

fn hertz(value: f64) -> Quantity<Frequency> {
    Quantity::new(value.round())
}

fn chart(highest: f64, around: f64) -> (Axis, Chart) {
    let x = Axis::logarithmic("Hz", (around / 4.0).min(10.0), (around * 8.0).max(200.0), 9);
    let y =
        Axis::straight("dB against the level above", DEEPEST, highest.max(HIGHEST), 8.0).ending(highest.max(HIGHEST));
    (x.clone(), Chart::new(SMALL, 170.0, x, y))
}

fn draw_closed(site: &Site<'_>, name: String) -> Decided<Drawing> {
    let (driver, litres) = (site.parameters()?, site.net()?.0.base());
    let is = closed(driver, litres);
    let (x, mut chart) = chart(is.peak, is.resonance);
    let points: Vec<Point> = x.spread(POINTS).into_iter().map(|at| (at, closed_response(is, at))).collect();
    chart.line(&points, Pen::solid(Ink::Speaker));
    chart.dot((is.f3, closed_response(is, is.f3)), Ink::Speaker, &format!("3 dB down at {}", hertz(is.f3)));
    chart.note(format!(
        "Qtc {:.2}, resonance {} in the box; in the open, without what the vehicle lifts",
        is.total_q,
        hertz(is.resonance)
    ));
    let description = format!(
        "A closed box: Qtc {:.2}, resonance {}, 3 dB down at {}, peak {:.1} dB. In the open; the vehicle lifts the deep bass \
         besides.",
        is.total_q,
        hertz(is.resonance),
        hertz(is.f3),
        is.peak
    );
    Ok(chart.finish(name, format!("Response of {}", site.enclosure.name), description))
}

fn draw_vented(site: &Site<'_>, name: String) -> Decided<Drawing> {
    let (driver, litres, vent) = (site.parameters()?, site.net()?.0.base(), site.vent()?);
    let tuned = enclosure::tuning(vent, litres);
    let response = |at: f64| {
        let (one, other) = enclosure::LEAKAGE;
        let (one, other) =
            (vented_response(driver, litres, tuned, one, at), vented_response(driver, litres, tuned, other, at));
        (one.min(other), one.max(other))
    };
    let (x, _) = chart(HIGHEST, tuned);
    let levels: Vec<(f64, (f64, f64))> = x.spread(POINTS).into_iter().map(|at| (at, response(at))).collect();
    let peak = levels.iter().map(|(_, (_, high))| *high).fold(0.0, f64::max);
    let (_, mut chart) = chart(peak, tuned);
    let line =
        |end: fn((f64, f64)) -> f64| -> Vec<Point> { levels.iter().map(|(at, level)| (*at, end(*level))).collect() };
    chart.stretch(&line(|level| level.0), &line(|level| level.1), Pen::solid(Ink::Speaker), "");
    chart.upright(tuned, Pen::dotted(Ink::Plain).thin(), &format!("tuned to {}", hertz(tuned)));
    let threes = levels.windows(2).rev().find(|pair| pair[0].1.0 < -3.0 && pair[1].1.0 >= -3.0).map(|pair| pair[1].0);
    let f3 = threes.map_or_else(String::new, |at| format!(", 3 dB down at {} at the highest", hertz(at)));
    chart.note(format!(
        "box leaks: Q of {} to {}; in the open, without what the vehicle lifts",
        enclosure::LEAKAGE.0,
        enclosure::LEAKAGE.1
    ));
    let description = format!(
        "A vented box tuned to {}{f3}, highest point {peak:.1} dB. In the open; the vehicle lifts the deep bass besides.",
        hertz(tuned)
    );
    Ok(chart.finish(name, format!("Response of {}", site.enclosure.name), description))
}
