//! What the filters of each amplifier let pass.

use super::SMALL;
use super::axis::Axis;
use super::chart::{Chart, Pen};
use crate::plan::Setting;
use crate::quantity::{Frequency, Level, Quantity, Range};
use crate::rules::tune::held_back::held_back;
use crate::sheet::View;
use crate::sheet::drawing::{Drawing, Ink, Point};
use crate::sheet::drawn::Drawn;
use crate::sheet::letters::ident;
use crate::solve::{Decided, Job, Thing, Undecided};

/// How far down filters are drawn, in dB.
const DEEPEST: f64 = -50.0;
/// How many points make a curve.
const POINTS: u32 = 121;

/// The filters of a setting: key, what it is called, how its line is drawn.
const FILTERS: [(&str, &str, Pen); 3] = [
    ("low_pass", "low-pass", Pen::solid(Ink::Signal)),
    ("high_pass", "high-pass", Pen::dashed(Ink::Signal)),
    ("low_cut", "low cut", Pen::dotted(Ink::Signal)),
];

/// The filters of each amplifier whose settings state one.
pub fn filters(view: &View<'_>) -> Drawn {
    let job = view.job;
    let settings = job.plan.settings.iter().enumerate();
    Drawn::of(settings.map(|(at, (name, setting))| {
        let setting = Thing::new("settings", name, setting);
        (setting.address.to_string(), draw(job, &setting, ident("filters", name, at)))
    }))
}

fn corner(setting: &Setting, key: &str) -> Option<f64> {
    let corner = match key {
        "low_pass" => setting.low_pass,
        "high_pass" => setting.high_pass,
        _ => setting.low_cut,
    };
    corner.map(Quantity::base).filter(|corner| *corner > 0.0)
}

fn draw(job: &Job<'_>, setting: &Thing<'_, Setting>, name: String) -> Decided<Drawing> {
    let stated: Vec<(&str, &str, Pen, f64)> =
        FILTERS.iter().filter_map(|(key, word, pen)| Some((*key, *word, *pen, corner(setting, key)?))).collect();
    let corners = || stated.iter().map(|(.., corner)| *corner);
    if stated.is_empty() {
        return Err(Undecided::NotApplicable("the settings state no filter"));
    }
    let low = corners().fold(f64::INFINITY, f64::min) / 8.0;
    let high = corners().fold(0.0, f64::max) * 8.0;
    let x = Axis::logarithmic("Hz", low.clamp(1e-3, 10.0), high.max(200.0), 9);
    let mut chart = Chart::new(SMALL, 170.0, x.clone(), Axis::straight("dB", DEEPEST, 5.0, 8.0).ending(5.0));
    let mut sentences = Vec::new();
    for (key, word, pen, corner) in &stated {
        let levels = levels(job, setting, key, &x);
        let (lower, upper): (Vec<Point>, Vec<Point>) =
            levels.iter().map(|(hertz, level)| ((*hertz, level.low()), (*hertz, level.high()))).unzip();
        chart.stretch(&lower, &upper, *pen, "");
        let at = Quantity::<Frequency>::new(*corner);
        let Some(down) = held_back(job, setting, key, at) else { continue };
        let name = format!("{word} {at}");
        chart.dot((*corner, -down.middle()), pen.ink, &name);
        let octave = Quantity::<Frequency>::new(if *key == "low_pass" { corner * 2.0 } else { corner / 2.0 });
        let next =
            held_back(job, setting, key, octave).map_or(String::new(), |next| format!(" and {next} at {octave}"));
        sentences.push(format!("{name}: {down} down at its corner{next}."));
    }
    let title = format!("Filters of {}", setting.name);
    Ok(chart.finish(name, title, sentences.join(" ")))
}

/// The level behind a filter along an axis of hertz, in dB, zero or below.
fn levels(job: &Job<'_>, setting: &Thing<'_, Setting>, key: &str, x: &Axis) -> Vec<(f64, Range<Level>)> {
    let level = |hertz: f64| {
        let down = held_back(job, setting, key, Quantity::new(hertz))?;
        Some((hertz, Range::new(-down.high(), -down.low())))
    };
    x.spread(POINTS).into_iter().filter_map(level).collect()
}
