//! How drivers hang on the outputs of an amplifier.

use crate::plan::{self, Bridged, Coil, Coils, DriverKind, RatedPower};
use crate::quantity::text::rounded_down;
use crate::quantity::{Quantity, Voltage};
use crate::solve::arrangements::{self, Arrangement, MOST_COILS, Unit};
use crate::solve::coils::rated_power;
use crate::solve::loads::MOST_UNEVEN;

/// A driver with its name.
pub struct Hung<'p> {
    /// Its name.
    pub name: String,
    /// What is known of it.
    pub driver: &'p plan::Driver,
}

/// The drivers on one output, or on two that are bridged.
pub struct Load {
    /// What it is called.
    pub name: String,
    /// The outputs; empty where the amplifier's channels are not known.
    pub outputs: Vec<u8>,
    /// How their coils are joined.
    pub coils: Coils,
    /// Why so; empty for a coil alone.
    pub remark: &'static str,
    /// The highest voltage with the test tone: what the amplifier is rated for, or what the coils take, if that is less.
    pub gain: Option<Quantity<Voltage>>,
}

/// Hangs drivers on an amplifier, one after the other on its outputs; more drivers than channels share them evenly.
///
/// # Errors
/// A sentence, when more coils than can be arranged come together.
pub fn loads(amplifier: Option<&plan::Amplifier>, drivers: &[Hung<'_>]) -> Result<Vec<Load>, String> {
    if drivers.is_empty() {
        return Ok(Vec::new());
    }
    let channels = amplifier.and_then(|amplifier| amplifier.channels).filter(|channels| *channels > 0);
    let per = drivers.len().div_ceil(channels.map_or(1, usize::from));
    let per = if channels.is_none() { drivers.len() } else { per };
    let mut found = Vec::new();
    for (group, number) in drivers.chunks(per).zip(1_u8..) {
        let outputs = if channels.is_some() { vec![number] } else { Vec::new() };
        let bridge = channels.filter(|all| number + 1 == *all && usize::from(number) * per >= drivers.len());
        let load = match bridge.and_then(|_| bridged(amplifier, group, number)) {
            Some(load) => load,
            None => load(amplifier, group, outputs)?,
        };
        found.push(load);
    }
    Ok(found)
}

/// A subwoofer on the last two channels, where both are free and the maker rates them together into what its coils make.
fn bridged(amplifier: Option<&plan::Amplifier>, group: &[Hung<'_>], number: u8) -> Option<Load> {
    let is_sub = group.iter().all(|hung| hung.driver.kind == Some(DriverKind::Subwoofer));
    let Some(Bridged::Ratings(ratings)) = &amplifier?.bridged else { return None };
    let least = ratings.minimum_load.map(Quantity::base).or(amplifier?.minimum_load.map(|load| load.base() * 2.0));
    let ratings = Ratings { rated: &ratings.rated, least };
    let fits = is_sub && ratings.best(&units(group)?).is_some_and(|best| best.ohms >= ratings.floor());
    if fits { of(&ratings, group, vec![number, number + 1]).ok() } else { None }
}

fn load(amplifier: Option<&plan::Amplifier>, group: &[Hung<'_>], outputs: Vec<u8>) -> Result<Load, String> {
    let rated = amplifier.map_or(&[][..], |amplifier| &amplifier.rated);
    let least = amplifier.and_then(|amplifier| amplifier.minimum_load).map(Quantity::base);
    of(&Ratings { rated, least }, group, outputs)
}

fn of(ratings: &Ratings<'_>, group: &[Hung<'_>], outputs: Vec<u8>) -> Result<Load, String> {
    let name = group.iter().map(|hung| hung.name.as_str()).collect::<Vec<_>>().join("-and-");
    let Some(units) = units(group) else {
        // Coils that nobody has counted: the first of each driver stands for it.
        let mut coils: Vec<Coils> = group.iter().map(|hung| Coils::One(coil(&hung.name, 0))).collect();
        let coils = if coils.len() == 1 { coils.swap_remove(0) } else { Coils::Parallel(coils) };
        return Ok(Load { name, outputs, coils, remark: "as if each had one coil: count them", gain: None });
    };
    if units.len() > MOST_COILS {
        return Err(format!("{} coils come together on one output; plan more channels for {name}", units.len()));
    }
    let best = ratings.best(&units).ok_or_else(|| format!("the coils of {name} cannot be joined"))?;
    let remark = match (units.len(), best.ohms >= ratings.floor(), ratings.rated.is_empty()) {
        (1, ..) => "",
        (_, false, _) => "no joint of these coils makes what the amplifier is rated for",
        (_, _, false) => "proposal: what the amplifier gives most into",
        (_, _, true) => "proposal: hold it against what the amplifier is rated for",
    };
    let is_rated = group.iter().all(|hung| hung.driver.rms.is_some());
    let power = rated_power(ratings.rated, best.ohms).filter(|_| is_rated).map(|rated| rated.low().min(best.takes()));
    let gain = power.map(|power| Quantity::new(rounded_down((power * best.ohms).sqrt())));
    Ok(Load { name, outputs, coils: best.coils, remark, gain })
}

fn coil(driver: &str, at: u8) -> Coil {
    Coil { driver: driver.to_owned(), number: at + 1, reversed: false }
}

/// The coils of drivers, each with what it takes; without ratings all take alike. None where coils are not known.
fn units(group: &[Hung<'_>]) -> Option<Vec<Unit>> {
    let is_rated = group.iter().all(|hung| hung.driver.rms.is_some_and(|rms| rms.base() > 0.0));
    let mut units = Vec::new();
    for Hung { name, driver } in group {
        let parts = u8::try_from(driver.coils.len()).ok().filter(|parts| *parts > 0)?;
        let rating = driver.rms.filter(|_| is_rated).map_or(1.0, |rms| rms.base() / f64::from(parts));
        let each = driver.coils.iter().zip(0..);
        units.extend(each.map(|(ohms, at)| Unit { coil: coil(name, at), ohms: ohms.base(), rating }));
    }
    Some(units)
}

/// What the outputs are made and rated for.
struct Ratings<'p> {
    rated: &'p [RatedPower],
    /// The smallest load in ohm, if known.
    least: Option<f64>,
}

impl Ratings<'_> {
    /// The smallest load that is allowed; where nothing is known, what any amplifier takes (common practice, no published
    /// source).
    fn floor(&self) -> f64 {
        const ANY: f64 = 4.0;
        let rated = self.rated.iter().map(|point| point.load.base()).reduce(f64::min);
        let floor = match (self.least, rated) {
            (Some(least), Some(rated)) => least.max(rated),
            (one, other) => one.or(other).unwrap_or(ANY),
        };
        floor * (1.0 - 1e-9)
    }

    /// The arrangement that gets most out of the amplifier, of equal ones the easiest for it. Where none is allowed, the
    /// one of the largest load.
    fn best(&self, units: &[Unit]) -> Option<Arrangement> {
        let even = arrangements::of(units, MOST_UNEVEN);
        let any = if even.is_empty() { arrangements::of(units, f64::INFINITY) } else { even };
        let gets = |is: &Arrangement| match rated_power(self.rated, is.ohms) {
            Some(power) => power.low().min(is.takes()),
            None => -is.ohms,
        };
        let allowed = any.iter().filter(|is| is.ohms >= self.floor());
        // By rising impedance: of equal ones the last stands.
        allowed.max_by(|one, other| gets(one).total_cmp(&gets(other))).or(any.last()).cloned()
    }
}
