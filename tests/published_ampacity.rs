//! Ampacity against published tables and laws. Each table in `tests/published` says where it comes from and how it was
//! obtained.

#[path = "published/table.rs"]
mod table;

use table::{agree, awg, rows};
use testlamp::quantity::{Gauge, Quantity, Range, Temperature};
use testlamp::solve::Material;
use testlamp::solve::ampacity::{self, ampacity};
use testlamp::solve::conductor;

const OUTSIDE: Range<Temperature> = Range::point(30.0);
const ENGINE_SPACE: Range<Temperature> = Range::point(50.0);

fn class(celsius: f64) -> Range<Temperature> {
    Range::point(celsius)
}

fn copper(gauge: Gauge, celsius: f64, ambient: Range<Temperature>, conductors: usize) -> f64 {
    ampacity(gauge, class(celsius), Material::Copper, ambient, conductors).low()
}

#[test]
fn every_cell_of_the_law_comes_back() {
    let table = rows(include_str!("published/cfr_33_183_table_5.tsv"));
    assert_eq!(table.len(), 15);
    for row in table {
        for column in ["60", "75", "80", "90", "105", "125", "200"] {
            let celsius: f64 = column.parse().expect("a class");
            let what = format!("{} AWG, {column} C", row.text("awg"));
            agree(&what, copper(awg(&row), celsius, OUTSIDE, 1), row.number(column), 1e-9);
        }
    }
}

/// Source: the 105 C column of 33 CFR 183.425 table 5 as two other printed copies have it (read).
#[test]
fn the_105_c_column_agrees_with_two_more_copies() {
    let sizes = [18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3];
    let amperes = [20, 25, 35, 45, 60, 80, 120, 160, 180, 210, 245, 285, 330, 385, 445];
    for (size, printed) in sizes.into_iter().zip(amperes) {
        agree("105 C", copper(Gauge::Awg(size), 105.0, OUTSIDE, 1), f64::from(printed), 1e-9);
    }
}

/// Note 1 of the law prints two decimals: 0.85 at 105 C (read), which stands here too though the square root gives 0.856; of
/// the others (from memory), 0.78 at 80 C is farthest from the square root, which gives 0.775 and stands here. Its 200 C factor (1.00, from memory) is no square root; ours (0.939) allows 6 % less.
#[test]
fn the_square_root_gives_the_laws_engine_space_factors() {
    for row in rows(include_str!("published/cfr_33_183_engine_space.tsv")) {
        let (celsius, printed) = (row.number("class_c"), row.number("factor"));
        let (factor, _) = ampacity::ambient_factor(class(celsius), ENGINE_SPACE);
        if row.text("obtained") == "read" {
            agree(row.text("class_c"), factor, printed, 1e-12);
        } else if celsius > 150.0 {
            agree("200 C", factor, 0.939, 0.0005);
            assert!(factor < printed);
        } else {
            agree(row.text("class_c"), factor, printed, 0.0065);
        }
    }
}

/// Source: 33 CFR 183.425 table 5, note 2 (read in a printed reproduction).
#[test]
fn bundles_have_the_laws_factors() {
    for (conductors, printed) in
        [(1, 1.0), (2, 1.0), (3, 0.7), (4, 0.6), (6, 0.6), (7, 0.5), (24, 0.5), (25, 0.4), (400, 0.4)]
    {
        agree("bundle", ampacity::bundle_factor(conductors), printed, 1e-12);
    }
}

/// Source: printed results for wire of 105 C insulation under 33 CFR 183.425 (read in two reproductions of the coast
/// guard's guideline).
#[test]
fn worked_results_of_the_law() {
    let cases = [
        ("4 AWG in the engine space", Gauge::Awg(4), ENGINE_SPACE, 1, 136.0),
        ("8 AWG in the engine space", Gauge::Awg(8), ENGINE_SPACE, 1, 68.0),
        ("4 AWG, 4 to 6 together in the engine space", Gauge::Awg(4), ENGINE_SPACE, 5, 81.6),
        ("4/0 AWG, 7 to 24 together in the engine space", Gauge::Awg(-3), ENGINE_SPACE, 12, 189.1),
    ];
    for (what, gauge, ambient, conductors, printed) in cases {
        agree(what, copper(gauge, 105.0, ambient, conductors), printed, 0.05);
    }
    agree("1/0 AWG, 3 together", copper(Gauge::Awg(0), 105.0, OUTSIDE, 3), 199.5, 0.05);
}

/// Between the law's two places the square root stands; from 50 C on no more is left than there.
#[test]
fn in_class_105_c_the_laws_factor_bounds_the_square_root() {
    let at = |zone: f64| ampacity::ambient_factor(class(105.0), Range::point(zone)).0;
    agree("40 C", at(40.0), (65.0_f64 / 75.0).sqrt(), 1e-12);
    agree("50 C", at(50.0), 0.85, 1e-12);
    agree("60 C", at(60.0), (45.0_f64 / 75.0).sqrt(), 1e-12);
    assert!((0..60).all(|step| at(40.0 + f64::from(step)) >= at(41.0 + f64::from(step))));
}

/// Sources: NEC table 310.17, copper in free air at 30 C, the columns of 60, 75 and 90 C (from memory), for sizes that the law's
/// table does not have, in kcmil (0.5067 mm2). A thicker wire carries more here, and never more than there.
#[test]
fn beyond_the_laws_table_more_copper_carries_more_but_no_more_than_the_nec_allows() {
    let rows = [
        (250.0, [340.0, 405.0, 455.0]),
        (300.0, [375.0, 445.0, 500.0]),
        (350.0, [420.0, 505.0, 570.0]),
        (400.0, [455.0, 545.0, 615.0]),
        (500.0, [515.0, 620.0, 700.0]),
        (600.0, [575.0, 690.0, 780.0]),
        (750.0, [655.0, 785.0, 885.0]),
        (1000.0, [780.0, 935.0, 1055.0]),
    ];
    let mut thinner = [0.0; 3];
    for (kcmil, printed) in rows {
        for ((celsius, printed), thinner) in [60.0, 75.0, 90.0].into_iter().zip(printed).zip(&mut thinner) {
            let ours = copper(Gauge::Metric(kcmil * 0.5067), celsius, OUTSIDE, 1);
            assert!(
                ours <= printed && ours >= 0.75 * printed && ours > *thinner,
                "{kcmil} {celsius}: {ours}, {printed}"
            );
            *thinner = ours;
        }
    }
    let end = copper(Gauge::Metric(506.7), 105.0, OUTSIDE, 1);
    agree("beyond the end", copper(Gauge::Metric(1000.0), 105.0, OUTSIDE, 1), end, 1e-9);
}

/// The NEC allows more than the table's current in a zone under 30 C; ours stays at the table's.
#[test]
fn ambient_factors_of_the_nec_to_two_decimals() {
    for row in rows(include_str!("published/nec_310_15_ambient.tsv")) {
        let zone = Range::point(row.number("ambient_c"));
        for (column, celsius) in [("f60", 60.0), ("f75", 75.0), ("f90", 90.0)] {
            let (factor, _) = ampacity::ambient_factor(class(celsius), zone);
            match row.printed(column) {
                Some(printed) if printed > 1.0 => agree(row.text("ambient_c"), factor, 1.0, 0.0),
                Some(printed) => agree(row.text("ambient_c"), factor, printed, 0.005),
                None if celsius <= zone.low() => agree(row.text("ambient_c"), factor, 0.0, 0.0),
                None => {}
            }
        }
    }
}

/// The boat law's table is a free-air table: at 60 and 75 C it equals the NEC's free-air table from 6 AWG up, and it
/// stays under it everywhere else but at 18 and 16 AWG and 90 C, where it allows 2 and 1 A more.
#[test]
fn the_laws_table_is_a_free_air_table() {
    for row in rows(include_str!("published/nec_310_17_free_air.tsv")) {
        let gauge = awg(&row);
        for (column, celsius) in [("60", 60.0), ("75", 75.0), ("90", 90.0)] {
            let Some(printed) = row.printed(column) else { continue };
            let ours = copper(gauge, celsius, OUTSIDE, 1);
            let what = format!("{} AWG, {column} C", row.text("awg"));
            let thick = gauge.square_millimetres() > 13.0;
            if thick && celsius < 80.0 {
                agree(&what, ours, printed, 1e-9);
            } else if gauge.square_millimetres() < 1.5 {
                assert!(ours > printed && ours <= printed + 2.0, "{what}: {ours} here, {printed} printed");
            } else {
                assert!(ours <= printed && ours >= 0.6 * printed, "{what}: {ours} here, {printed} printed");
            }
        }
    }
}

/// The NEC's table for wire in a raceway prints both metals in steps of 5 A. Aluminium's share of copper there is the
/// square root of the resistivities to within one step, from 6 AWG up.
#[test]
fn aluminium_carries_the_square_root_of_the_resistivities() {
    let (share, _) = ampacity::material_factor(Material::Aluminium);
    for row in rows(include_str!("published/nec_310_16.tsv")) {
        if awg(&row).square_millimetres() < 13.0 {
            continue;
        }
        for (copper, aluminium) in [("cu_60", "al_60"), ("cu_75", "al_75"), ("cu_90", "al_90")] {
            let what = format!("{} AWG, {aluminium}", row.text("awg"));
            agree(&what, share * row.number(copper), row.number(aluminium), 5.0);
        }
    }
}

/// Three bundled conductors in free air against three in a raceway (NEC 310.16): the way to count a wire under carpet or
/// in a full conduit as bundled stays within 11 % or one 5 A step of a table made for raceways from 6 AWG up, and under
/// it for thinner wire.
#[test]
fn three_together_carry_about_what_three_in_a_raceway_do() {
    for row in rows(include_str!("published/nec_310_16.tsv")) {
        for (column, celsius) in [("cu_60", 60.0), ("cu_75", 75.0), ("cu_90", 90.0)] {
            let printed = row.number(column);
            let what = format!("{} AWG, {column}", row.text("awg"));
            let ours = copper(awg(&row), celsius, OUTSIDE, 3);
            if awg(&row).square_millimetres() > 13.0 {
                agree(&what, ours, printed, (0.11 * printed).max(5.0));
            } else {
                assert!(ours <= printed && ours >= 0.65 * printed, "{what}: {ours} here, {printed} printed");
            }
        }
    }
}

/// An 85 C wire is read as an 80 C wire; under 60 C the law has no column, so there is no ampacity.
#[test]
fn classes_between_columns_use_the_lower_one() {
    let table = |celsius| ampacity::table_current(Gauge::Awg(4), class(celsius)).low();
    agree("85 C", table(85.0), table(80.0), 0.0);
    agree("104 C", table(104.0), table(90.0), 0.0);
    agree("59 C", table(59.0), 0.0, 0.0);
    assert_eq!(ampacity::column(Quantity::new(85.0)), Some(Quantity::new(80.0)));
    assert_eq!(ampacity::column(Quantity::new(59.0)), None);
}

#[test]
fn sizes_between_rows_stay_between_them() {
    let five = copper(Gauge::Awg(5), 105.0, OUTSIDE, 1);
    agree("5 AWG, the mean of its neighbours on a logarithmic scale", five, (120.0_f64 * 160.0).sqrt(), 1e-9);
    let metric = copper(Gauge::Metric(16.0), 105.0, OUTSIDE, 1);
    assert!((120.0..five).contains(&metric), "16 mm2 lies between 6 and 5 AWG: {metric}");
    // 4/0 AWG has 107.2 mm2: 445 A x sqrt(240 / 107.2).
    agree("240 mm2", copper(Gauge::Metric(240.0), 105.0, OUTSIDE, 1), 665.8, 0.1);
    agree("21 AWG has half of 18 AWG's area", copper(Gauge::Awg(21), 105.0, OUTSIDE, 1), 10.0, 0.03);
}

/// A class in a zone as hot as itself has nothing left; an unstated class runs from its lower to its upper end.
#[test]
fn insulation_no_better_than_its_zone_has_no_ampacity() {
    agree("60 C at 60 C", copper(Gauge::Awg(4), 60.0, Range::point(60.0), 1), 0.0, 0.0);
    agree("75 C at 90 C", copper(Gauge::Awg(4), 75.0, Range::point(90.0), 1), 0.0, 0.0);
    assert_eq!(ampacity::ambient_factor(class(25.0), Range::point(25.0)), (0.0, 0.0));
    let unstated = ampacity(Gauge::Awg(4), Range::new(60.0, 105.0), Material::Copper, Range::new(30.0, 60.0), 1);
    assert_eq!((unstated.low(), unstated.high()), (0.0, 160.0));
}

/// A wire at its ampacity stands at its insulation's limit, at half of it a quarter of the way (computed).
#[test]
fn a_wire_at_its_ampacity_stands_at_its_limit() {
    let celsius = |current: f64, ambient: Range<Temperature>| {
        let current = Range::point(current);
        ampacity::running_temperature(Gauge::Awg(4), class(105.0), Material::Copper, ambient, 1, current).high()
    };
    agree("160 A at 30 C", celsius(160.0, OUTSIDE), 105.0, 1e-9);
    agree("80 A at 30 C", celsius(80.0, OUTSIDE), 30.0 + 75.0 / 4.0, 1e-9);
    let in_engine_space = copper(Gauge::Awg(4), 105.0, ENGINE_SPACE, 1);
    // The law's 0.85 is a little less than the square root: a rise of 75 x 0.85 x 0.85 = 54.2 C.
    agree("its ampacity at 50 C", celsius(in_engine_space, ENGINE_SPACE), 50.0 + 75.0 * 0.85 * 0.85, 1e-9);
}

/// 4 AWG at 30 C with 60 A and a class not stated, 60 to 105 C (computed from the table). Coolest as a 60 C wire (105 A);
/// hottest just under 105 C, where it still counts as a 90 C wire (135 A).
#[test]
fn an_unstated_class_keeps_its_own_ampacity() {
    let classes = Range::new(60.0, 105.0);
    let warm = ampacity::running_temperature(Gauge::Awg(4), classes, Material::Copper, OUTSIDE, 1, Range::point(60.0));
    agree("coolest", warm.low(), 30.0 + 30.0 * (60.0_f64 / 105.0).powi(2), 1e-9);
    agree("hottest", warm.high(), 30.0 + 75.0 * (60.0_f64 / 135.0).powi(2), 1e-9);
}

/// Without ampacity the balance says nothing: a wire without current stands at its ambient, one with any current anywhere
/// from there to where copper melts.
#[test]
fn without_ampacity_nothing_is_known_of_a_live_wire() {
    let ends = |current: f64| {
        let warm = conductor::temperature(OUTSIDE, class(60.0), Range::point(current), Range::point(0.0));
        (warm.low(), warm.high())
    };
    assert_eq!(ends(0.0), (30.0, 30.0));
    assert_eq!(ends(1.0), (30.0, 1083.0));
}
