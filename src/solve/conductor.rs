//! Conductors: what a run of wire resists, how hot it gets, which copper it equals.

use crate::plan::Material;
use crate::quantity::{Area, Current, Gauge, Length, Range, Resistance, Temperature};

/// Whether a conductor is twisted from strands or one solid wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Construction {
    /// Strands twisted together: each is longer than the wire.
    Stranded,
    /// One solid wire, or a bar.
    Solid,
}

/// The temperature at which resistivities are stated, in C.
const REFERENCE: f64 = 20.0;

/// No road vehicle is colder, in C. Under it the straight-line law would end in no resistance at all.
const COLDEST: f64 = -60.0;

/// Copper melts here, in C: no conductor is hotter.
pub(super) const HOTTEST: f64 = 1083.0;

/// What twisting adds to the resistance of a stranded wire at most, as a factor (1 to 2 % from memory).
const LAY: f64 = 1.02;

/// Electrical-grade aluminium, ohm mm2/m at 20 C (IEC 60889, read in a secondary text).
const ALUMINIUM: f64 = 0.028_264;

/// Annealed copper of 100 % IACS, ohm mm2/m at 20 C (NBS Handbook 100, read in a secondary text).
const COPPER: f64 = 0.017_241;

/// Copper-clad aluminium at its best, ohm mm2/m at 20 C: 15 % copper beside 85 % aluminium, by volume, both carrying.
const BEST_CLAD: f64 = 1.0 / (0.15 / COPPER + 0.85 / ALUMINIUM);

/// Copper-clad aluminium at its worst, ohm mm2/m at 20 C: 10 % copper, 62.9 % IACS, the least that makers' tables
/// under ASTM B566 allow (read in two secondary texts).
const WORST_CLAD: f64 = COPPER / 0.629;

/// Share of copper's temperature coefficient, 1/K at 20 C (NBS Handbook 100, read in a secondary text).
const COPPER_COEFFICIENT: f64 = 0.003_93;

/// Aluminium's temperature coefficient, 1/K at 20 C (IEC 60889, from memory; it belongs to the -228 C of IEC 60949).
const ALUMINIUM_COEFFICIENT: f64 = 0.004_03;

impl Material {
    /// Resistivity at 20 C: the resistance of one metre of one square millimetre, so ohm mm2/m.
    ///
    /// Copper 0.017241 (100 % IACS, NBS Handbook 100) and aluminium 0.028264 (IEC 60889) are points. Copper-clad
    /// aluminium is 0.02579 to 0.02741: from 15 % copper and aluminium of full grade side by side to the least
    /// conductivity that 10 % wire may have (62.9 % IACS, ASTM B566). The upper end is conservative for voltage drop
    /// and heat, the lower one for the largest fault current.
    pub const fn resistivity(self) -> Range<Resistance> {
        match self {
            Self::Copper => Range::point(COPPER),
            Self::CopperCladAluminium => Range::new(BEST_CLAD, WORST_CLAD),
            Self::Aluminium => Range::point(ALUMINIUM),
        }
    }

    /// Temperature coefficient of resistance at 20 C, lowest and highest, in 1/K.
    ///
    /// Copper 0.00393 (NBS Handbook 100; IEC 60228 reckons with 0.004). Aluminium 0.00403 (IEC 60889, from memory).
    /// Copper-clad aluminium lies between its two metals.
    pub const fn alpha20(self) -> (f64, f64) {
        match self {
            Self::Copper => (COPPER_COEFFICIENT, COPPER_COEFFICIENT),
            Self::CopperCladAluminium => (COPPER_COEFFICIENT, ALUMINIUM_COEFFICIENT),
            Self::Aluminium => (ALUMINIUM_COEFFICIENT, ALUMINIUM_COEFFICIENT),
        }
    }
}

/// How many times its resistance at 20 C a conductor has at this temperature, lowest and highest.
///
/// The law is a straight line, 1 + alpha20 (T - 20 C). Temperatures under -60 C count as -60 C, above 1083 C
/// (copper melts) as 1083 C.
pub fn temperature_factor(material: Material, temperature: Range<Temperature>) -> (f64, f64) {
    let (least, most) = material.alpha20();
    let rise = |celsius: f64| celsius.clamp(COLDEST, HOTTEST) - REFERENCE;
    let (cold, hot) = (rise(temperature.low()), rise(temperature.high()));
    (1.0 + (least * cold).min(most * cold), 1.0 + (least * hot).max(most * hot))
}

/// Resistance of one metre of conductor, in ohm per metre.
///
/// R = rho20 / A (1 + alpha20 (T - 20 C)). The twist of a stranded wire adds up to 2 %, on the upper end only.
/// The area must be above zero; [`Gauge`] gives no other.
///
/// The upper end is conservative for voltage drop, the lower one for the largest fault current. The area is taken as
/// bought: what a standard lets the maker leave out is not in the range. IEC 60228 allows flexible metric wire (class
/// 5) 11 to 16 % more resistance than its nominal area has, so a meter may read that much more on a poor wire.
pub fn resistance_per_metre(
    area: Range<Area>,
    material: Material,
    temperature: Range<Temperature>,
    construction: Construction,
) -> Range<Resistance> {
    let (cold, hot) = temperature_factor(material, temperature);
    let longest = match construction {
        Construction::Stranded => LAY,
        Construction::Solid => 1.0,
    };
    let square_millimetre = material.resistivity().scaled(cold, hot).scaled(1.0, longest);
    Range::new(square_millimetre.low() / area.high(), square_millimetre.high() / area.low())
}

/// Resistance of a run of conductor, in ohm: [`resistance_per_metre`] times the length, with the same ends.
pub fn resistance(
    length: Range<Length>,
    area: Range<Area>,
    material: Material,
    temperature: Range<Temperature>,
    construction: Construction,
) -> Range<Resistance> {
    resistance_per_metre(area, material, temperature, construction).scaled(length.low(), length.high())
}

/// Temperature of a conductor that carries a current for long, in C.
///
/// T = Ta + (Ti - Ta) (I / Iz)^2: heat made rises with the square of the current, heat given off with the rise above
/// ambient, and at its ampacity Iz the conductor stands at its insulation's limit Ti (the heat balance behind the
/// ampacity tables). The upper end is conservative. Never above 1083 C, where copper melts.
///
/// The four numbers are taken as independent, so the ends of a range of insulation classes are far too wide here: a
/// higher class has the higher ampacity. [`running_temperature`](super::ampacity::running_temperature) keeps the two
/// together. Where the ampacity can be zero (insulation no better than the ambient), the upper end is 1083 C as soon
/// as any current can flow: the balance says nothing there.
pub fn temperature(
    ambient: Range<Temperature>,
    insulation: Range<Temperature>,
    current: Range<Current>,
    ampacity: Range<Current>,
) -> Range<Temperature> {
    let least = loading(current.low(), ampacity.high()).filter(|l| l.is_finite()).unwrap_or(0.0);
    let most = loading(current.high(), ampacity.low()).unwrap_or(0.0);
    let settled = |ambient: f64, limit: f64, loading: f64| {
        let rise = (limit - ambient).max(0.0);
        if loading.is_finite() { ambient + rise * loading } else { HOTTEST }
    };
    let mut ends = Range::point(settled(ambient.low(), insulation.low(), least));
    for limit in [insulation.low(), insulation.high()] {
        // Where the loading is above 1, the coolest case lies at an ambient equal to the limit.
        for around in [ambient.low(), ambient.high(), limit.clamp(ambient.low(), ambient.high())] {
            ends = ends.hull(Range::new(settled(around, limit, least), settled(around, limit, most)));
        }
    }
    ends.min(Range::point(HOTTEST))
}

/// (I / Iz)^2; endless where a current meets no ampacity, nothing where there is neither.
fn loading(current: f64, ampacity: f64) -> Option<f64> {
    if ampacity > 0.0 { Some((current / ampacity).powi(2)) } else { (current > 0.0).then_some(f64::INFINITY) }
}

/// The copper cross-section that has the same resistance as this conductor at 20 C, in mm2.
///
/// The lower end is conservative. Copper equals itself; copper-clad aluminium is worth 63 to 67 % of its size,
/// aluminium 61 %.
pub fn equal_copper(gauge: Gauge, material: Material) -> Range<Area> {
    let own = material.resistivity();
    gauge.area().scaled(COPPER / own.high(), COPPER / own.low())
}
