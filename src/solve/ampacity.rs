//! Ampacity: the current a conductor may carry for long in the place where it runs.
//!
//! Every step is a function of its own, so that the whole way can be shown: table value, times the material's factor,
//! times the ambient's factor, times the bundle's factor.

use super::conductor;
use crate::plan::Material;
use crate::quantity::{Current, Gauge, Quantity, Range, Temperature};

/// Insulation classes of the table's columns, in C.
const CLASSES: [f64; 7] = [60.0, 75.0, 80.0, 90.0, 105.0, 125.0, 200.0];

/// The ambient temperature the table is made for, in C (outside engine spaces).
const TABLE_AMBIENT: f64 = 30.0;

/// The temperature of an engine space, in C, and what is left there of the table's current in the column of 105 C: 33 CFR
/// 183.425, table 5, note 1 (read in two printed copies). Its other factors are the square root's to two decimals, rounded up.
const ENGINE_SPACE: f64 = 50.0;
const ENGINE_SPACE_105: f64 = 0.85;

/// Thinnest and thickest conductor of the table by AWG number.
const THINNEST: f64 = 18.0;
const THICKEST: f64 = -3.0;
/// The area up to which more area counts for more current, in mm2: 1000 kcmil.
const END: f64 = 506.7;

/// Allowable amperage of copper conductors at 30 C, by AWG number and insulation class: 33 CFR 183.425, Table 5 (law
/// of the United States, read in a legal-text mirror; the 105 C column read in two more printed copies).
const TABLE: [(f64, [f64; 7]); 15] = [
    (18.0, [10.0, 10.0, 15.0, 20.0, 20.0, 25.0, 25.0]),
    (16.0, [15.0, 15.0, 20.0, 25.0, 25.0, 30.0, 35.0]),
    (14.0, [20.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0]),
    (12.0, [25.0, 25.0, 35.0, 40.0, 45.0, 50.0, 55.0]),
    (10.0, [40.0, 40.0, 50.0, 55.0, 60.0, 70.0, 70.0]),
    (8.0, [55.0, 65.0, 70.0, 70.0, 80.0, 90.0, 100.0]),
    (6.0, [80.0, 95.0, 100.0, 100.0, 120.0, 125.0, 135.0]),
    (4.0, [105.0, 125.0, 130.0, 135.0, 160.0, 170.0, 180.0]),
    (3.0, [120.0, 145.0, 150.0, 155.0, 180.0, 195.0, 210.0]),
    (2.0, [140.0, 170.0, 175.0, 180.0, 210.0, 225.0, 240.0]),
    (1.0, [165.0, 195.0, 210.0, 210.0, 245.0, 265.0, 280.0]),
    (0.0, [195.0, 230.0, 245.0, 245.0, 285.0, 305.0, 325.0]),
    (-1.0, [225.0, 265.0, 285.0, 285.0, 330.0, 355.0, 370.0]),
    (-2.0, [260.0, 310.0, 330.0, 330.0, 385.0, 410.0, 430.0]),
    (-3.0, [300.0, 360.0, 385.0, 385.0, 445.0, 475.0, 510.0]),
];

/// Factor for the number of current-carrying conductors run together: the fewest conductors it holds for, and the
/// factor (33 CFR 183.425, Table 5, note 2, read in a printed reproduction).
const BUNDLES: [(usize, f64); 5] = [(25, 0.4), (7, 0.5), (4, 0.6), (3, 0.7), (0, 1.0)];

/// The current a conductor may carry for long, in A: table value x material x ambient x bundle.
///
/// * `insulation`: the class in C; where it is a range, the result runs from its lower to its upper end.
/// * `ambient`: the hottest zone on the run's path.
/// * `conductors`: how many current-carrying conductors run together, this one included. The table is in effect a
///   free-air table, so a wire under carpet or in a full conduit counts as bundled even when it runs alone.
///
/// The lower end is conservative; zero means the insulation does not stand the place.
pub fn ampacity(
    gauge: Gauge,
    insulation: Range<Temperature>,
    material: Material,
    ambient: Range<Temperature>,
    conductors: usize,
) -> Range<Current> {
    let (worst, best) = material_factor(material);
    let (hottest, coolest) = ambient_factor(insulation, ambient);
    let bundle = bundle_factor(conductors);
    table_current(gauge, insulation).scaled(worst * hottest * bundle, best * coolest * bundle)
}

/// The table's column for an insulation class: the one at or below it, so an 85 C wire is read as an 80 C wire.
/// Nothing under 60 C.
pub fn column(insulation: Quantity<Temperature>) -> Option<Quantity<Temperature>> {
    column_at(insulation.base()).map(|index| insulation.with_base(CLASSES[index]))
}

fn column_at(class: f64) -> Option<usize> {
    CLASSES.iter().rposition(|c| *c <= class)
}

/// Ampacity of a copper conductor at 30 C in free air, in A: 33 CFR 183.425, Table 5.
///
/// Classes between two columns use the lower, and under 60 C there is no ampacity. Sizes between two rows (5 AWG,
/// metric) lie on a straight line between them on logarithmic scales of area and current, so never above the next
/// larger row. Wire thinner than 18 AWG carries the 18 AWG row in proportion to its area, which is conservative: a
/// thin wire has more surface for its area. Wire thicker than 4/0 carries the 4/0 row times the square root of the areas'
/// ratio up to 507 mm2 (1000 kcmil), the end of NEC table 310.17 (from memory), which allows more all the way: between
/// 4/0 AWG and there its currents rise with the 0.61th power of the area and faster. Beyond, the current stays.
pub fn table_current(gauge: Gauge, insulation: Range<Temperature>) -> Range<Current> {
    Range::new(row_current(gauge, insulation.low()), row_current(gauge, insulation.high()))
}

fn row_current(gauge: Gauge, class: f64) -> f64 {
    column_at(class).map_or(0.0, |column| column_current(gauge, column))
}

fn column_current(gauge: Gauge, column: usize) -> f64 {
    let number = awg_number(gauge);
    let (thinnest, thickest) = (TABLE[0].1[column], TABLE[TABLE.len() - 1].1[column]);
    if number > THINNEST {
        return thinnest * gauge.square_millimetres() / Gauge::Awg(18).square_millimetres();
    }
    if number <= THICKEST {
        let times = gauge.square_millimetres().min(END) / Gauge::Awg(-3).square_millimetres();
        return thickest * times.max(1.0).sqrt();
    }
    let above = TABLE.partition_point(|(row, _)| *row >= number);
    let ((from, low), (to, high)) = (TABLE[above - 1], TABLE[above]);
    // The logarithm of area falls in a straight line with the AWG number, so the number is the scale.
    let share = (from - number) / (from - to);
    low[column] * (high[column] / low[column]).powf(share)
}

/// The AWG number of a size, with a fraction for metric sizes: ASTM B258 turned around.
fn awg_number(gauge: Gauge) -> f64 {
    match gauge {
        Gauge::Awg(number) => f64::from(number),
        Gauge::Metric(area) => {
            let diameter = (4.0 * area / std::f64::consts::PI).sqrt();
            36.0 - 39.0 * (diameter / 0.127).ln() / 92_f64.ln()
        }
    }
}

/// What a conductor of this material carries beside a copper one of the same size, lowest and highest.
///
/// The square root of the two resistivities' ratio: the same heat in the same wire. Aluminium 0.781, copper-clad
/// aluminium 0.793 to 0.818.
pub fn material_factor(material: Material) -> (f64, f64) {
    let (copper, own) = (Material::Copper.resistivity(), material.resistivity());
    ((copper.low() / own.high()).sqrt(), (copper.high() / own.low()).sqrt())
}

/// What is left of the table's current in a zone hotter than 30 C, lowest and highest.
///
/// sqrt((Ti - Tzone) / (Ti - 30 C)), the formula of NEC 310.15(B), which also gives 33 CFR 183.425's own engine-space
/// factors, but for one: in class 105 C, where it gives 0.856, the law has 0.85, and no more than that is left from 50 C
/// on. The NEC allows more than the table's current under 30 C; here the factor stays at 1, which is
/// conservative: a zone that is cool now need not stay so. Zero where the zone is as hot as the insulation's limit.
pub fn ambient_factor(insulation: Range<Temperature>, zone: Range<Temperature>) -> (f64, f64) {
    (ambient_factor_at(insulation.low(), zone.high()), ambient_factor_at(insulation.high(), zone.low()))
}

fn ambient_factor_at(class: f64, zone: f64) -> f64 {
    if class <= zone {
        0.0
    } else if zone <= TABLE_AMBIENT {
        1.0
    } else {
        let most = if zone >= ENGINE_SPACE && (105.0..125.0).contains(&class) { ENGINE_SPACE_105 } else { 1.0 };
        most.min(((class - zone) / (class - TABLE_AMBIENT)).sqrt())
    }
}

/// What is left of the table's current for each of this many current-carrying conductors run together.
///
/// 33 CFR 183.425, Table 5, note 2: 0.7 for 3, 0.6 for 4 to 6, 0.5 for 7 to 24, 0.4 from 25. The law asks for it only
/// from 50 V; heat does not ask for the voltage, so it holds here always.
pub fn bundle_factor(conductors: usize) -> f64 {
    BUNDLES.iter().find(|(fewest, _)| conductors >= *fewest).map_or(1.0, |(_, factor)| *factor)
}

/// Temperature of a conductor that carries a current for long, in C; arguments as for [`ampacity`].
///
/// The balance of [`conductor::temperature`] with class and ampacity kept together. The rise above ambient is the same
/// at any ambient, (Ti - 30 C) (I / I30)^2 with I30 the ampacity at 30 C, so the result holds also where the zone is
/// hotter than the insulation stands. The upper end is conservative. Never above 1083 C, where copper melts; under class
/// 60 C any current may bring it there, as nothing is known.
pub fn running_temperature(
    gauge: Gauge,
    insulation: Range<Temperature>,
    material: Material,
    ambient: Range<Temperature>,
    conductors: usize,
    current: Range<Current>,
) -> Range<Temperature> {
    let (worst, best) = material_factor(material);
    let bundle = bundle_factor(conductors);
    let table_ambient = Range::point(TABLE_AMBIENT);
    let in_column = |column: usize| {
        let next = CLASSES.get(column + 1).copied().unwrap_or(f64::INFINITY);
        let held = insulation.low() < next && insulation.high() >= CLASSES[column];
        held.then(|| {
            let classes = Range::new(insulation.low().max(CLASSES[column]), insulation.high().min(next));
            let carried = Range::point(column_current(gauge, column)).scaled(worst * bundle, best * bundle);
            conductor::temperature(table_ambient, classes, current, carried)
        })
    };
    // Under the first column there is no ampacity, so nothing is known but that any current heats.
    let unclassed = (insulation.low() < CLASSES[0])
        .then(|| conductor::temperature(table_ambient, table_ambient, current, Range::point(0.0)));
    let warm = unclassed.into_iter().chain((0..CLASSES.len()).filter_map(in_column)).reduce(Range::hull);
    let settled = warm.map_or(ambient, |warm| ambient + (warm - table_ambient));
    settled.min(Range::point(conductor::HOTTEST))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Side by side in a bundle a wire gets hotter at the same current, at either end of what is known.
    #[test]
    fn a_wire_in_a_bundle_runs_hotter() {
        let of = |conductors: usize| {
            let (class, place) = (Range::point(105.0), Range::point(30.0));
            running_temperature(Gauge::Awg(8), class, Material::Copper, place, conductors, Range::point(40.0))
        };
        let (alone, bundled) = (of(1), of(6));
        assert!(bundled.low() > alone.low() + 5.0 && bundled.high() > alone.high() + 5.0, "{alone} {bundled}");
    }
}
