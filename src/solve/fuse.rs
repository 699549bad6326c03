//! Fuses: when one opens, what it resists, and how long a wire stands the current meanwhile.

use crate::plan::{FuseForm, Material};
use crate::quantity::{Area, Current, Duration, Quantity, Range, Resistance, Voltage};

/// One row of a standard's table of opening times.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gate {
    /// The current as a multiple of the fuse's rating.
    pub multiple: f64,
    /// The shortest and the longest time in which a fuse may open; endless where it need not open.
    pub opens: Range<Duration>,
}

const fn gate(multiple: f64, fastest: f64, slowest: f64) -> Gate {
    Gate { multiple, opens: Range::new(fastest, slowest) }
}

/// A fuse need not open at this current.
const NEVER: f64 = f64::INFINITY;

/// A hundred hours in seconds.
const HUNDRED_HOURS: f64 = 360_000.0;

/// ISO 8820-3 type F and SAE J2077, all rows from memory.
const MINIATURE: [Gate; 5] = [
    gate(1.1, HUNDRED_HOURS, NEVER),
    gate(1.35, 0.75, 600.0),
    gate(2.0, 0.15, 5.0),
    gate(3.5, 0.08, 0.25),
    gate(6.0, 0.03, 0.1),
];

/// ISO 8820-3 type C to 30 A: the row at 2 read in a data sheet (10 A), the others from memory.
const REGULAR: [Gate; 5] = [
    gate(1.1, HUNDRED_HOURS, NEVER),
    gate(1.35, 0.75, 600.0),
    gate(2.0, 0.15, 5.0),
    gate(3.5, 0.04, 0.5),
    gate(6.0, 0.0, 0.1),
];

/// ISO 8820-3 type C, 35 and 40 A: all rows read in a data sheet that names the standard.
const REGULAR_HIGH: [Gate; 5] = [
    gate(1.0, HUNDRED_HOURS, NEVER),
    gate(1.35, 0.75, 600.0),
    gate(2.0, 0.15, 5.0),
    gate(3.5, 0.08, 0.5),
    gate(6.0, 0.0, 0.15),
];

/// ISO 8820-3 type E: all rows read in a data sheet (40 A) that names the standard.
const LARGE: [Gate; 5] = [
    gate(1.0, HUNDRED_HOURS, NEVER),
    gate(1.35, 60.0, 1800.0),
    gate(2.0, 2.0, 50.0),
    gate(3.5, 0.2, 7.0),
    gate(6.0, 0.04, 1.0),
];

/// ISO 8820-5: all rows from memory, the times at 1.35 and above with little confidence.
const STRIP: [Gate; 5] = [
    gate(1.0, 14_400.0, NEVER),
    gate(1.35, 120.0, 1800.0),
    gate(2.0, 1.0, 15.0),
    gate(3.5, 0.3, 5.0),
    gate(6.0, 0.1, 1.0),
];

/// The shape of a thermal circuit breaker's slowest curve, for one that takes 5 s at six times its rating (common practice,
/// no published source: what SAE J553 asks was not read). [`breaker_pace`] fits it to another time. Nothing is promised of
/// the fastest.
const BREAKER: [Gate; 4] =
    [gate(1.0, 0.0, NEVER), gate(1.35, 0.0, 3600.0), gate(2.0, 0.0, 120.0), gate(6.0, 0.0, BREAKER_AT_SIX)];

/// The time at six times the rating for which [`BREAKER`] is drawn, in s.
const BREAKER_AT_SIX: f64 = 5.0;

/// How much slower than the curve that is drawn for circuit breakers one is, by its longest time at six times its rating.
pub fn breaker_pace(at_six: Range<Duration>) -> (f64, f64) {
    (at_six.low() / BREAKER_AT_SIX, at_six.high() / BREAKER_AT_SIX)
}

impl FuseForm {
    /// The ratings this form is made in, in A, rising (memory, but for 20 to 80 A of the large blade and 35 and 40 A of
    /// the regular one, which are in data sheets; 100 A is the end of ISO 8820-3:2015's scope).
    pub const fn ratings(self) -> &'static [f64] {
        match self {
            Self::BladeMiniature => &[2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0],
            Self::BladeRegular => &[1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0],
            Self::BladeLarge => &[20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0],
            Self::BoltDown => &[
                30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 275.0,
                300.0, 325.0, 350.0, 400.0, 425.0, 450.0, 500.0,
            ],
            // Any maker has others (common practice, no published source).
            Self::CircuitBreaker => &[
                5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 100.0, 120.0, 135.0, 150.0, 200.0,
                250.0, 300.0,
            ],
        }
    }

    /// Rated voltage of a fuse that does not state it, in V: 32 V or 58 V, whichever its maker chose (ISO 8820-3:2015
    /// scope, read; ISO 8820-5, from memory). The lower end is conservative. No standard promises anything of a breaker: none.
    pub const fn voltage(self) -> Option<Range<Voltage>> {
        match self {
            Self::CircuitBreaker => None,
            _ => Some(Range::new(32.0, 58.0)),
        }
    }

    /// Breaking capacity of a fuse that does not state it, in A. The lower end is conservative.
    ///
    /// Blades 1000 A (ISO 8820-3:2015 scope, read); strips 1000 to 2000 A by type (ISO 8820-5, from memory). A breaker's is its
    /// maker's: none.
    pub const fn breaking_capacity(self) -> Option<Range<Current>> {
        match self {
            Self::BladeMiniature | Self::BladeRegular | Self::BladeLarge => Some(Range::point(1000.0)),
            Self::BoltDown => Some(Range::new(1000.0, 2000.0)),
            Self::CircuitBreaker => None,
        }
    }

    /// The standard's gates for a fuse of this form and rating, by rising current.
    pub fn gates(self, rating: Quantity<Current>) -> &'static [Gate] {
        match self {
            Self::BladeMiniature => &MINIATURE,
            Self::BladeRegular if rating.base() > 30.0 => &REGULAR_HIGH,
            Self::BladeRegular => &REGULAR,
            Self::BladeLarge => &LARGE,
            Self::BoltDown => &STRIP,
            Self::CircuitBreaker => &BREAKER,
        }
    }

    /// Where the gates come from, in words for the working.
    pub const fn source(self) -> &'static str {
        match self {
            Self::BladeMiniature => "ISO 8820-3 type F and SAE J2077, from memory",
            Self::BladeRegular => "ISO 8820-3 type C, from data sheets and memory",
            Self::BladeLarge => "ISO 8820-3 type E, from a data sheet",
            Self::BoltDown => "ISO 8820-5, from memory",
            Self::CircuitBreaker => "curves of thermal breakers, common practice, no published source",
        }
    }
}

/// When a fuse opens, over the range of the current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Opening {
    /// The shortest time any fuse of this form and rating may take. The lower end counts for selectivity.
    pub fastest: Range<Duration>,
    /// The longest time any fuse of this form and rating may take; endless where it need not open.
    /// The upper end is conservative for the wire.
    pub slowest: Range<Duration>,
}

/// When a cold fuse opens, in s. Rating above zero.
///
/// Slowest: under 135 % of its rating a fuse need not open. Between two gates the longest time lies on a straight line
/// on logarithmic scales; the line of any one fuse sags on such scales, so it lies under that chord and the chord is
/// conservative. Beyond the last gate the let-through I2t stays as it is there, t falls with 1/I^2; a real fuse lets
/// less through, for less heat escapes in less time.
///
/// Fastest: the shortest time of the next gate up, since a larger current never takes longer; beyond the last gate
/// nothing is promised, so zero.
///
/// Of a circuit breaker both are those of the curve that is drawn for all; [`breaker_pace`] says how much slower one is.
///
/// A current range is bounded by its ends, as both times fall with the current. Whether a wire stands it is another matter:
/// [`fault_share`] says that over the whole range.
pub fn opening_time(form: FuseForm, rating: Quantity<Current>, current: Range<Current>) -> Opening {
    let gates = form.gates(rating);
    let (low, high) = (current.low() / rating.base(), current.high() / rating.base());
    Opening {
        fastest: Range::new(fastest(gates, high), fastest(gates, low)),
        slowest: Range::new(slowest(gates, high), slowest(gates, low)),
    }
}

fn fastest(gates: &[Gate], multiple: f64) -> f64 {
    gates.iter().find(|gate| multiple <= gate.multiple).map_or(0.0, |gate| gate.opens.low())
}

fn slowest(gates: &[Gate], multiple: f64) -> f64 {
    let passed = gates.partition_point(|gate| gate.multiple <= multiple);
    let Some(below) = passed.checked_sub(1).map(|index| gates[index]).filter(|gate| gate.opens.high().is_finite())
    else {
        return NEVER;
    };
    let steps = (multiple / below.multiple).ln();
    let slope = match gates.get(passed) {
        Some(above) => (above.opens.high() / below.opens.high()).ln() / (above.multiple / below.multiple).ln(),
        None => -2.0,
    };
    below.opens.high() * (slope * steps).exp()
}

/// The factor k of [`withstand_time`], in A s^0.5/mm2: a PVC-insulated wire from 70 to 160 C (IEC 60364-4-43, read).
///
/// Copper 115, aluminium 76. Copper-clad aluminium is taken as aluminium: its copper skin stores more heat and makes
/// less of it, so its own factor lies between the two, and the smaller one is conservative.
pub const fn withstand_factor(material: Material) -> f64 {
    match material {
        Material::Copper => 115.0,
        Material::CopperCladAluminium | Material::Aluminium => 76.0,
    }
}

/// How long a conductor stands a fault current before its PVC insulation is hurt, in s: t = (k S / I)^2.
///
/// IEC 60364-4-43 clause 434.5.2, with the factor of [`withstand_factor`]. The lower end is conservative: the smallest
/// area and the largest current. The standard holds it valid to 5 s, as it lets no heat leave the wire; beyond that heat
/// does leave, the wire stands the current longer than this says, so the answer stays conservative. Endless without
/// current. A wire that is hotter than 70 C when the fault comes stands less.
pub fn withstand_time(area: Range<Area>, material: Material, current: Range<Current>) -> Range<Duration> {
    let time = |area: f64, current: f64| (withstand_factor(material) * area / current).powi(2);
    Range::new(time(area.low(), current.high()), time(area.high(), current.low()))
}

/// The longest opening time of a fuse as a share of what its wire stands, least and most over the range of the fault.
///
/// Under 1 the fuse opens before the wire's PVC insulation is hurt; endless where the fuse need not open. The upper end is
/// conservative. Opening and withstand time belong to the same current, so they are compared current by current: at the
/// ends of the range and at every gate between them. The ends alone will not do, since the gates let the slowest fuse's
/// I2t rise with the current here and there (miniature blades by 18 % from 350 to 600 %, strips by 2 % from 200 to 350 %).
pub fn fault_share(
    form: FuseForm,
    rating: Quantity<Current>,
    area: Range<Area>,
    material: Material,
    current: Range<Current>,
) -> (f64, f64) {
    let gates = form.gates(rating);
    let turns = gates.iter().map(|gate| gate.multiple * rating.base());
    let between = turns.filter(|turn| current.low() < *turn && *turn < current.high());
    between.chain([current.low(), current.high()]).fold((f64::INFINITY, 0.0), |(least, most), at| {
        let opens = slowest(gates, at / rating.base());
        let stands = withstand_time(area, material, Range::point(at));
        let share = |stands: f64| if opens.is_finite() { opens / stands } else { f64::INFINITY };
        (share(stands.high()).min(least), share(stands.low()).max(most))
    })
}

/// Resistance of a fuse's element while it carries its rated current, in ohm: the drop stated there over the rating.
///
/// The upper end is conservative for voltage drop and for a fault that must open the fuse, the lower one for the largest
/// fault current. A cold element has about 0.6 to 0.75 of it (two blades of 40 A in data sheets: 1.44 mohm cold and 96 mV
/// at 40 A; 1.4 mohm and 75 mV), so a cold fuse limits a fault somewhat less than this says.
pub fn element_resistance(rating: Quantity<Current>, drop: Range<Voltage>) -> Range<Resistance> {
    drop / Range::from(rating)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ISO 8820-3 parts the regular blades above 30 A: 30 A itself opens by the gates of the smaller ones.
    #[test]
    fn each_form_and_rating_has_its_gates_and_names_its_standard() {
        let of = |form: FuseForm, amperes: f64| form.gates(Quantity::new(amperes));
        assert_eq!(of(FuseForm::BladeRegular, 30.0), REGULAR);
        assert_eq!(of(FuseForm::BladeRegular, 35.0), REGULAR_HIGH);
        assert_ne!(REGULAR, REGULAR_HIGH);
        for form in [FuseForm::BladeMiniature, FuseForm::BladeRegular, FuseForm::BladeLarge, FuseForm::BoltDown] {
            let part = if form == FuseForm::BoltDown { "ISO 8820-5" } else { "ISO 8820-3" };
            assert!(form.source().starts_with(part), "{form:?}: {}", form.source());
        }
    }
}
