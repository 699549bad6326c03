//! How drivers hang on the outputs of an amplifier.

use crate::plan::{self, Coil, Coils, DriverKind, RatedPower};
use crate::quantity::text::rounded_down;
use crate::quantity::{Quantity, Voltage};
use crate::solve::arrangements::{self, Arrangement, MOST_COILS, Unit};
use crate::solve::coils::rated_power;
use crate::solve::loads::MOST_UNEVEN;
use crate::solve::{Thing, ratings};

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

/// Hangs drivers on an amplifier, one after the other on its outputs; more drivers than channels share them evenly. Where
/// its channels are not alike, subwoofers go to the most powerful ones.
///
/// # Errors
/// A sentence, when more coils than can be arranged come together.
pub fn loads(amplifier: Option<&plan::Amplifier>, drivers: &[Hung<'_>]) -> Result<Vec<Load>, String> {
    let drivers: Vec<&Hung<'_>> = drivers.iter().collect();
    let channels = amplifier.and_then(|amplifier| amplifier.channels).filter(|channels| *channels > 0);
    let (Some(amplifier), Some(channels)) = (amplifier, channels) else {
        let ratings = Ratings::of(amplifier.map(|amplifier| ratings::of_rest(&thing(amplifier))).as_ref(), 1);
        return if drivers.is_empty() { Ok(Vec::new()) } else { Ok(vec![of(&ratings, &drivers, Vec::new())?]) };
    };
    let strong = strongest(amplifier, channels);
    let (mut strong, mut others): (Vec<u8>, Vec<u8>) = (1..=channels).partition(|output| strong.contains(output));
    let (mut subs, mut rest): (Vec<&Hung<'_>>, Vec<&Hung<'_>>) = drivers.iter().partition(|hung| is_sub(hung));
    if others.is_empty() || subs.is_empty() && drivers.len() > others.len() {
        (strong, others) = ((1..=channels).collect(), Vec::new());
        (subs, rest) = (drivers, Vec::new());
    }
    let mut found = on(amplifier, &others, &rest)?;
    found.extend(on(amplifier, &strong, &subs)?);
    found.sort_by_key(|load| load.outputs.clone());
    Ok(found)
}

fn is_sub(hung: &Hung<'_>) -> bool {
    hung.driver.kind == Some(DriverKind::Subwoofer)
}

fn thing(amplifier: &plan::Amplifier) -> Thing<'_, plan::Amplifier> {
    Thing::new("amplifiers", "any", amplifier)
}

/// The outputs of the section that gives most; all, where there are no sections.
fn strongest(amplifier: &plan::Amplifier, channels: u8) -> Vec<u8> {
    let amplifier = thing(amplifier);
    let power = |output: u8| {
        let rated = ratings::of_output(&amplifier, output).map_or(&[][..], |ratings| ratings.rated);
        rated.iter().map(|point| point.power.base()).fold(0.0, f64::max)
    };
    let most = (1..=channels).map(power).fold(0.0, f64::max);
    (1..=channels).filter(|output| power(*output) >= most).collect()
}

/// Drivers on these outputs of an amplifier.
fn on(amplifier: &plan::Amplifier, outputs: &[u8], drivers: &[&Hung<'_>]) -> Result<Vec<Load>, String> {
    if drivers.is_empty() {
        return Ok(Vec::new());
    }
    let per = drivers.len().div_ceil(outputs.len().max(1));
    let groups = drivers.chunks(per).zip(outputs).enumerate();
    groups
        .map(|(at, (group, output))| {
            let own = ratings::of_output(&thing(amplifier), *output).ok();
            let is_last = (at + 1) * per >= drivers.len();
            let pair = outputs[at..].try_into().ok().filter(|pair| is_last && is_pair(amplifier, *pair));
            match pair.and_then(|pair| bridged(own.as_ref()?, group, pair)) {
                Some(load) => Ok(load),
                None => of(&Ratings::of(own.as_ref(), 1), group, vec![*output]),
            }
        })
        .collect()
}

/// Whether two outputs are neighbours that makers join.
fn is_pair(amplifier: &plan::Amplifier, [first, second]: [u8; 2]) -> bool {
    let amplifier = thing(amplifier);
    let (Ok(one), Ok(other)) = (ratings::of_output(&amplifier, first), ratings::of_output(&amplifier, second)) else {
        return false;
    };
    one.name() == other.name() && second == first + 1 && one.number_of(first).is_multiple_of(2)
}

/// A subwoofer on the last two channels, where both are free and the maker rates them together into what its coils make.
fn bridged(own: &ratings::Ratings<'_>, group: &[&Hung<'_>], pair: [u8; 2]) -> Option<Load> {
    own.joined(2).ok()??;
    let ratings = Ratings::of(Some(own), 2);
    let is_sub = group.iter().all(|hung| is_sub(hung));
    let fits = is_sub && ratings.best(&units(group)?).is_some_and(|best| best.ohms >= ratings.floor());
    if fits { of(&ratings, group, pair.to_vec()).ok() } else { None }
}

fn of(ratings: &Ratings<'_>, group: &[&Hung<'_>], outputs: Vec<u8>) -> Result<Load, String> {
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
fn units(group: &[&Hung<'_>]) -> Option<Vec<Unit>> {
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

impl<'p> Ratings<'p> {
    /// What is stated of one output, or of two that are bridged.
    fn of(stated: Option<&ratings::Ratings<'p>>, outputs: usize) -> Self {
        let rated = stated.map_or(&[][..], |stated| stated.points(outputs));
        Self { rated, least: stated.and_then(|stated| stated.least_ohms(outputs).ok()) }
    }

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
