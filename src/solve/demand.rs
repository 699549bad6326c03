//! What an amplifier asks of the supply.

use super::coils;
use super::job::Job;
use super::known::{Decided, Known, Origin, Thing, Undecided};
use crate::plan::{Amplifier, AmplifierClass};
use crate::quantity::{Current, Power, Range, Ratio, Share};

/// What an amplifier asks of the supply.
#[derive(Debug, Clone)]
pub struct Demand {
    /// Audio power at full output, all channels that carry a load together.
    pub audio: Range<Power>,
    /// Audio power out of supply power in, at full output.
    pub efficiency: Known<Share>,
    /// Supply power at full sine output.
    pub full: Range<Power>,
    /// Average supply power with programme.
    pub programme: Range<Power>,
    /// Average heat with programme: what goes in and does not come out as audio, without the idle current.
    pub heat: Range<Power>,
    /// Current that flows besides, whatever it plays.
    pub idle: Known<Current>,
}

/// What an amplifier asks of the supply.
///
/// # Errors
/// The needs for its ratings, its class and the coils on it.
pub fn of(job: &Job<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Demand> {
    let efficiency = efficiency(job, amplifier)?;
    let idle = job.assume(amplifier.at("idle_current"), amplifier.idle_current, &job.house.assumptions.idle_current);
    let parts = super::known::all(outputs(job, amplifier)?.into_iter().map(Ok))?;
    let audio: Range<Power> = parts.iter().map(|part| part.power).sum();
    let (least, most) = (efficiency.range.low() / 100.0, efficiency.range.high() / 100.0);
    let full = audio.scaled(1.0 / most, 1.0 / least);
    let class = amplifier.class;
    let drawn = |efficiency, duty| duty / at_duty(class, efficiency, duty);
    let heated = |efficiency, duty| (drawn(efficiency, duty) - duty).max(0.0);
    // What is drawn rises with the duty.
    let programme =
        parts.iter().map(|part| part.power.scaled(drawn(most, part.duty.low()), drawn(least, part.duty.high())));
    let programme = programme.sum();
    let heat = parts.iter().map(|part| {
        let duties = [part.duty.low(), part.duty.high(), part.duty.at(hottest_duty(class, least))];
        let ends = |efficiency| duties.map(|duty| heated(efficiency, duty));
        let lowest = ends(most)[..2].iter().copied().fold(f64::INFINITY, f64::min);
        part.power.scaled(lowest, ends(least).into_iter().fold(0.0, f64::max))
    });
    let heat = heat.sum();
    Ok(Demand { audio, efficiency, full, programme, heat, idle })
}

/// One output with its power and how much of it programme asks.
struct Output {
    power: Range<Power>,
    duty: Range<Ratio>,
}

/// The outputs that carry a load; without any load stated, all channels at any of their rated loads.
fn outputs(job: &Job<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Vec<Output>> {
    let (bass, full_range) = (job.house.assumptions.duty_bass.range, job.house.assumptions.duty_full_range.range);
    let loads = job.loads.iter().filter(|load| load.amplifier.as_deref() == Some(amplifier.name));
    let outputs = super::known::all(loads.map(|load| {
        let ohms = coils::load_impedance(job, load)?.high();
        let power = coils::rated_power(coils::ratings(amplifier, load), ohms)
            .ok_or_else(|| Undecided::need(amplifier.at("rated")))?;
        Ok(Output { power, duty: if coils::is_bass(job, load) { bass } else { full_range } })
    }))?;
    if !outputs.is_empty() {
        return Ok(outputs);
    }
    let ends = amplifier.rated.iter().map(|point| Range::<Power>::point(point.power.base())).reduce(Range::hull);
    let one = ends.ok_or_else(|| Undecided::need(amplifier.at("rated")))?;
    let channels = f64::from(amplifier.need("channels", &amplifier.channels)?);
    // Which load will hang on it is not known yet: any rated power, and the heavier duty.
    Ok(vec![Output { power: one * channels, duty: bass.max(full_range) }])
}

/// Efficiency at rated power: stated, or by class.
fn efficiency(job: &Job<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Known<Share>> {
    let place = amplifier.at("efficiency");
    let assumptions = &job.house.assumptions;
    let stated = amplifier.efficiency.filter(|share| share.base() > 0.0);
    let usual = match (stated, amplifier.class) {
        (Some(stated), _) => return Ok(Known { range: stated.into(), origin: Origin::Stated(place) }),
        (_, Some(AmplifierClass::D)) => assumptions.efficiency_d,
        (_, Some(AmplifierClass::Ab)) => assumptions.efficiency_ab,
        (_, Some(AmplifierClass::G | AmplifierClass::H)) => assumptions.efficiency_gh,
        (_, None) => return Err(Undecided::need(amplifier.at("class"))),
    };
    Ok(job.assume(place, None, &usual))
}

/// Efficiency at a share of full power.
///
/// A switching stage keeps it (its idle current is counted apart). A linear stage draws a current in proportion to its
/// output voltage, so its efficiency falls with the square root of the power: at one eighth of full power it makes more
/// heat than music, which is why heating tests use just that. Stepping or following rails lie between; the fourth root
/// stands for them (common practice, no published source).
fn at_duty(class: Option<AmplifierClass>, full: f64, duty: f64) -> f64 {
    full * duty.powf(fall(class))
}

/// With which power of the duty the efficiency falls.
const fn fall(class: Option<AmplifierClass>) -> f64 {
    match class {
        Some(AmplifierClass::Ab) => 0.5,
        Some(AmplifierClass::G | AmplifierClass::H) => 0.25,
        Some(AmplifierClass::D) | None => 0.0,
    }
}

/// The duty at which a stage makes most heat: where duty^(1 - fall) / efficiency - duty is highest.
fn hottest_duty(class: Option<AmplifierClass>, full: f64) -> f64 {
    let fall = fall(class);
    if fall > 0.0 { ((1.0 - fall) / full).powf(1.0 / fall).min(1.0) } else { 1.0 }
}
