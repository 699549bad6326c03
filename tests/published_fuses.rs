//! Fuses and faults against published figures. Each table in `tests/published` says where it comes from and how it was
//! obtained.

#[path = "published/table.rs"]
mod table;

use table::{Row, agree, rows};
use testlamp::quantity::{Current, Gauge, Quantity, Range};
use testlamp::solve::FuseForm;
use testlamp::solve::Material;
use testlamp::solve::fuse::{self, Opening};

fn form(row: &Row) -> FuseForm {
    serde_json::from_value(row.text("form").into()).expect("a form of fuse")
}

fn opening(form: FuseForm, rating: f64, current: f64) -> Opening {
    fuse::opening_time(form, Quantity::new(rating), Range::point(current))
}

#[test]
fn a_fuse_keeps_the_gates_of_its_standard() {
    for row in rows(include_str!("published/fuse_gates.tsv")) {
        let rating = row.number("rating_a");
        let opens = opening(form(&row), rating, rating * row.number("percent") / 100.0);
        let what = format!("{} {rating} A at {} %", row.text("form"), row.text("percent"));
        match row.printed("t_max_s") {
            Some(printed) => agree(&what, opens.slowest.high(), printed, 1e-9 * printed),
            None => assert!(!opens.slowest.low().is_finite(), "{what}: need not open"),
        }
        agree(&what, opens.fastest.low(), row.printed("t_min_s").unwrap_or(0.0), 1e-9);
    }
}

/// Source: the same data sheets (read). At twice its rating a regular blade of 40 A opens within 5 s, a large blade of
/// 40 A may take 50 s: a plan that treats both alike is wrong by ten.
#[test]
fn a_large_blade_is_ten_times_slower_than_a_regular_one() {
    let slowest = |form| opening(form, 40.0, 80.0).slowest.high();
    agree("times slower", slowest(FuseForm::BladeLarge) / slowest(FuseForm::BladeRegular), 10.0, 1e-9);
}

/// Source: data sheet of a regular blade of 10 A that names ISO 8820-3 (read in a second public document): at 160 % it
/// opens in 0.25 to 50 s. The gates do not have this point, so it tests the line between them: a real fuse must not be
/// slower than our slowest nor faster than our fastest.
#[test]
fn the_line_between_two_gates_is_on_the_safe_side_of_a_data_sheet() {
    let between = opening(FuseForm::BladeRegular, 10.0, 16.0);
    assert!(between.slowest.high() >= 50.0 && between.slowest.high() < 2.0 * 50.0, "{between:?}");
    assert!(between.fastest.low() <= 0.25, "{between:?}");
}

/// Computed from the gates: on logarithmic scales the middle between 200 % (50 s) and 350 % (7 s).
#[test]
fn the_line_between_two_gates_is_straight_on_logarithmic_scales() {
    let middle = 40.0 * (2.0_f64 * 3.5).sqrt();
    agree("s", opening(FuseForm::BladeLarge, 40.0, middle).slowest.high(), (50.0_f64 * 7.0).sqrt(), 1e-9);
}

/// A fuse at a third above its rating, or under it, need not open within any time that helps a wire.
#[test]
fn under_135_percent_a_fuse_need_not_open() {
    for form in [FuseForm::BladeMiniature, FuseForm::BladeRegular, FuseForm::BladeLarge, FuseForm::BoltDown] {
        assert!(!opening(form, 30.0, 30.0 * 1.34).slowest.low().is_finite(), "{form:?}");
        assert!(opening(form, 30.0, 30.0 * 1.35).slowest.high().is_finite(), "{form:?}");
        let across = fuse::opening_time(form, Quantity::new(30.0), Range::new(30.0, 300.0));
        let (least, most) = (across.slowest.low(), across.slowest.high());
        assert!(least.is_finite() && !most.is_finite(), "{form:?}: it depends on the current");
    }
}

/// A maker's let-through lies under what the slowest fuse of the standard lets through, and, where the standard has a
/// shortest time, above what the fastest does.
#[test]
fn let_through_of_data_sheets_lies_within_the_gates() {
    for row in rows(include_str!("published/fuse_let_through.tsv")) {
        let (rating, printed) = (row.number("rating_a"), row.number("i2t_a2s"));
        let beyond = opening(form(&row), rating, 20.0 * rating);
        let most = beyond.slowest.high() * (20.0 * rating).powi(2);
        let at_gate = opening(form(&row), rating, 6.0 * rating);
        let least = at_gate.fastest.low() * (6.0 * rating).powi(2);
        assert!(least <= printed && printed <= most, "{rating} A: {least} <= {printed} <= {most}");
    }
}

/// Source: let-through of a large blade of 40 A, 8500 A2s (data sheet, read), so 8.5 ms at 1000 A (computed).
#[test]
fn a_real_fuse_is_faster_than_the_slowest_one_at_a_bolted_short() {
    let slowest = opening(FuseForm::BladeLarge, 40.0, 1000.0).slowest.high();
    agree("constant let-through from the last gate", slowest, 1.0 * (240.0_f64 / 1000.0).powi(2), 1e-9);
    assert!(slowest > 0.0085);
}

/// Cold resistance and drop of blades in data sheets, against 60 to 110 mV at rated current (common practice, from memory). A
/// cold element has less than a hot one, so only the upper end bounds it.
#[test]
fn element_resistance_of_data_sheets_lies_within_the_range() {
    for row in rows(include_str!("published/fuse_let_through.tsv")) {
        let rating = row.number("rating_a");
        let ours = fuse::element_resistance(Quantity::new(rating), Range::new(0.060, 0.110));
        let cold = row.number("cold_mohm") / 1000.0;
        assert!(cold < ours.high() && cold > 0.55 * ours.low(), "{rating} A cold: {cold} against {ours:?}");
        if let Some(drop) = row.printed("drop_mv") {
            let hot = drop / 1000.0 / rating;
            assert!(ours.low() <= hot && hot <= ours.high(), "{rating} A hot: {hot} against {ours:?}");
            assert!((0.59..0.76).contains(&(cold / hot)), "{rating} A: cold is {} of hot", cold / hot);
        }
    }
}

/// ISO 8820-3:2015 covers blades to 100 A, 32 V or 58 V, 1000 A breaking capacity (scope, read).
#[test]
fn ratings_rise_and_stay_within_their_standards_scope() {
    for (form, most) in [
        (FuseForm::BladeMiniature, 100.0),
        (FuseForm::BladeRegular, 100.0),
        (FuseForm::BladeLarge, 100.0),
        (FuseForm::BoltDown, 500.0),
    ] {
        let ratings = form.ratings();
        assert!(ratings.is_sorted_by(|a, b| a < b) && ratings.iter().all(|r| *r <= most), "{form:?}");
        let voltage = form.voltage().expect("of a standard form");
        assert_eq!((voltage.low(), voltage.high()), (32.0, 58.0));
        assert_eq!(form.breaking_capacity().expect("of a standard form").low(), 1000.0);
    }
}

/// The factors of `withstand_time` are those of the standard's table.
#[test]
fn wires_in_pvc_have_the_standards_factors() {
    let pvc = rows(include_str!("published/adiabatic_k.tsv")).into_iter().next().expect("its row");
    agree("copper", fuse::withstand_factor(Material::Copper), pvc.number("k_copper"), 0.0);
    agree("aluminium", fuse::withstand_factor(Material::Aluminium), pvc.number("k_aluminium"), 0.0);
    agree("clad", fuse::withstand_factor(Material::CopperCladAluminium), pvc.number("k_aluminium"), 0.0);
}

/// Source: S = I sqrt(t) / k of IEC 60364-4-43 with the printed factors; times computed, to three digits.
#[test]
fn worked_withstand_times() {
    let seconds =
        |gauge: Gauge, current: f64| fuse::withstand_time(gauge.area(), Material::Copper, Range::point(current)).low();
    agree("1.5 mm2 at 100 A", seconds(Gauge::Metric(1.5), 100.0), 2.98, 0.005);
    agree("16 mm2 at 1000 A", seconds(Gauge::Metric(16.0), 1000.0), 3.39, 0.005);
    agree("10 AWG at 1000 A", seconds(Gauge::Awg(10), 1000.0), 0.366, 0.0005);
}

/// Source: the short-time melting law 33 (I/A)^2 t = log10((1083 - Ta) / (234 + Ta) + 1), A in circular mils (formula
/// read in a trade article, its sign corrected; the forum's worked 178 A for 16 AWG has the wrong sign and is kept out).
/// Insulation must be given up long before copper melts.
#[test]
fn insulation_gives_up_before_copper_melts() {
    for (size, current) in [(16, 168.9), (14, 400.0), (4, 3000.0)] {
        let gauge = Gauge::Awg(size);
        let circular_mils = gauge.square_millimetres() / (std::f64::consts::FRAC_PI_4 * 0.0254 * 0.0254);
        let melts = ((1083.0 - 25.0) / (234.0 + 25.0) + 1.0_f64).log10() * (circular_mils / current).powi(2) / 33.0;
        let stands = fuse::withstand_time(gauge.area(), Material::Copper, Range::point(current)).high();
        assert!(stands < 0.25 * melts && stands > 0.1 * melts, "{gauge}: stands {stands} s, melts in {melts} s");
    }
}

/// A short at the end of a feed, computed from the gates and k = 115: a large blade of 60 A before 4 AWG copper lets
/// 360 A flow for at most 1 s, where the wire stands 45.6 s. Before 18 AWG it stands 0.069 s: the wire is the fuse.
#[test]
fn a_fuse_must_open_before_its_wire_is_hurt() {
    let share = |size| {
        let (form, rating, short) = (FuseForm::BladeLarge, Quantity::new(60.0), Range::point(360.0));
        fuse::fault_share(form, rating, Gauge::Awg(size).area(), Material::Copper, short).1
    };
    agree("4 AWG", share(4), 1.0 / 45.6, 0.001);
    agree("18 AWG", share(18), 1.0 / 0.0691, 0.1);
}

/// Between 300 and 600 % a miniature blade lets the least through at the gate of 350 % (computed from the gates); without
/// current it never opens.
#[test]
fn a_fault_is_judged_at_the_gates_inside_its_range() {
    let share = |current: Range<Current>| {
        let area = Gauge::Awg(16).area();
        fuse::fault_share(FuseForm::BladeMiniature, Quantity::new(20.0), area, Material::Copper, current)
    };
    let (least, most) = share(Range::new(60.0, 120.0));
    agree("least", least, share(Range::point(70.0)).1, 1e-12);
    agree("most", most, share(Range::point(60.0)).1, 1e-12);
    assert_eq!(share(Range::point(0.0)), (f64::INFINITY, f64::INFINITY));
}
