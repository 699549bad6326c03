//! What must hold for any conductor, fuse and place, whatever the figures.

#[path = "common/cases.rs"]
mod cases;

use proptest::prelude::*;
use testlamp::quantity::{
    Area, Current, Dimension, Duration, Gauge, Length, Quantity, Range, Resistance, Temperature, Voltage,
};
use testlamp::solve::FuseForm;
use testlamp::solve::Material;
use testlamp::solve::ampacity::{ampacity, running_temperature};
use testlamp::solve::conductor::{self, Construction};
use testlamp::solve::fuse;

/// Room for the last bits of a floating-point number.
const BITS: f64 = 1e-9;

fn gauge() -> impl Strategy<Value = Gauge> {
    prop_oneof![(-3_i8..=40).prop_map(Gauge::Awg), (0.05_f64..400.0).prop_map(Gauge::Metric)]
}

fn material() -> impl Strategy<Value = Material> {
    prop_oneof![Just(Material::Copper), Just(Material::CopperCladAluminium), Just(Material::Aluminium)]
}

fn construction() -> impl Strategy<Value = Construction> {
    prop_oneof![Just(Construction::Stranded), Just(Construction::Solid)]
}

fn form() -> impl Strategy<Value = FuseForm> {
    prop_oneof![
        Just(FuseForm::BladeMiniature),
        Just(FuseForm::BladeRegular),
        Just(FuseForm::BladeLarge),
        Just(FuseForm::BoltDown)
    ]
}

/// A form and one of its ratings.
fn a_fuse() -> impl Strategy<Value = (FuseForm, Quantity<Current>)> {
    (form(), any::<proptest::sample::Index>())
        .prop_map(|(form, index)| (form, Quantity::new(*index.get(form.ratings()))))
}

/// A range between two limits, and one number inside it.
fn range<D: Dimension>(limits: std::ops::Range<f64>) -> impl Strategy<Value = (Range<D>, Range<D>)> {
    (limits.clone(), limits, 0.0_f64..=1.0).prop_map(|(one, other, share)| {
        let range = Range::new(one, other);
        let inside = range.low() + share * (range.high() - range.low());
        (range, Range::point(inside.clamp(range.low(), range.high())))
    })
}

fn celsius(limits: std::ops::Range<f64>) -> impl Strategy<Value = (Range<Temperature>, Range<Temperature>)> {
    range(limits)
}

/// Insulation classes with room under the table's first column; half of them stand on a column.
fn class() -> impl Strategy<Value = f64> {
    prop_oneof![50.0..220.0, proptest::sample::select(vec![40.0, 59.0, 60.0, 75.0, 80.0, 90.0, 105.0, 125.0, 200.0])]
}

fn holds<D: Dimension>(wide: Range<D>, narrow: Range<D>) -> Result<(), TestCaseError> {
    let room = |end: f64| if end.is_finite() { BITS * end.abs() } else { 0.0 };
    prop_assert!(wide.low() <= narrow.low() + room(narrow.low()), "{wide:?} must hold {narrow:?}");
    prop_assert!(wide.high() >= narrow.high() - room(narrow.high()), "{wide:?} must hold {narrow:?}");
    Ok(())
}

fn not_above<D: Dimension>(less: Range<D>, more: Range<D>) -> Result<(), TestCaseError> {
    prop_assert!(less.low() <= more.low() * (1.0 + BITS), "{less:?} must not be above {more:?}");
    prop_assert!(less.high() <= more.high() * (1.0 + BITS), "{less:?} must not be above {more:?}");
    Ok(())
}

proptest! {
    #![proptest_config(cases::cases(256))]

    #[test]
    fn a_thicker_wire_never_resists_more_nor_carries_less(
        one in gauge(), other in gauge(), material in material(), construction in construction(),
        around in -40.0..150.0, class in class(), conductors in 1_usize..40,
    ) {
        let thicker_first = one.square_millimetres() >= other.square_millimetres();
        let (thick, thin) = if thicker_first { (one, other) } else { (other, one) };
        let zone = Range::point(around);
        let resists = |gauge: Gauge| conductor::resistance_per_metre(gauge.area(), material, zone, construction);
        not_above(resists(thick), resists(thin))?;
        let carries = |gauge| ampacity(gauge, Range::point(class), material, zone, conductors);
        not_above(carries(thin), carries(thick))?;
    }

    #[test]
    fn a_shorter_or_cooler_wire_never_resists_more(
        gauge in gauge(), material in material(), construction in construction(),
        (lengths, shorter) in range::<Length>(0.0..30.0), (warm, _) in celsius(-80.0..1200.0),
    ) {
        let resists = |length, at| conductor::resistance(length, gauge.area(), material, at, construction);
        not_above(resists(shorter, warm), resists(lengths.at_high(), warm))?;
        not_above(resists(lengths, warm.at_low()), resists(lengths, warm.at_high()))?;
    }

    #[test]
    fn a_cooler_zone_a_better_class_or_fewer_neighbours_never_cost_ampacity(
        gauge in gauge(), material in material(), (zones, _) in celsius(-40.0..150.0),
        one in class(), other in class(), few in 1_usize..40, more in 0_usize..40,
    ) {
        let carries = |class, zone, conductors| ampacity(gauge, class, material, zone, conductors);
        let classes = Range::new(one, other);
        not_above(carries(classes, zones.at_high(), few), carries(classes, zones.at_low(), few))?;
        not_above(carries(classes.at_low(), zones, few), carries(classes.at_high(), zones, few))?;
        not_above(carries(classes, zones, few + more), carries(classes, zones, few))?;
    }

    #[test]
    fn no_conductor_carries_more_than_copper_nor_resists_less(gauge in gauge(), material in material()) {
        let zone = Range::point(20.0);
        let resists = |material| conductor::resistance_per_metre(gauge.area(), material, zone, Construction::Solid);
        not_above(resists(Material::Copper), resists(material))?;
        let carries = |material| ampacity(gauge, Range::point(105.0), material, zone, 1);
        not_above(carries(material), carries(Material::Copper))?;
        let equal = conductor::equal_copper(gauge, material);
        not_above(equal, gauge.area())?;
        let as_copper = conductor::resistance_per_metre(equal, Material::Copper, zone, Construction::Solid);
        holds(as_copper, resists(material))?;
        holds(resists(material), as_copper)?;
    }

    #[test]
    fn a_range_of_resistance_holds_every_choice_inside(
        material in material(), construction in construction(), (lengths, length) in range::<Length>(0.0..30.0),
        (areas, area) in range::<Area>(0.05..400.0), (warm, at) in celsius(-80.0..1200.0),
    ) {
        let wide = conductor::resistance(lengths, areas, material, warm, construction);
        let narrow = conductor::resistance(length, area, material, at, construction);
        holds(wide, narrow)?;
        holds(narrow, conductor::resistance(length, area, material, at, Construction::Solid))?;
    }

    #[test]
    fn a_range_of_ampacity_holds_every_choice_inside(
        gauge in gauge(), material in material(), (classes, class) in celsius(50.0..220.0),
        (zones, zone) in celsius(-40.0..150.0), conductors in 1_usize..40,
    ) {
        let carries = |class, zone| ampacity(gauge, class, material, zone, conductors);
        holds(carries(classes, zones), carries(class, zone))?;
    }

    #[test]
    fn a_range_of_temperature_holds_every_choice_inside(
        (zones, zone) in celsius(-40.0..150.0), (limits, limit) in celsius(50.0..220.0),
        (currents, current) in range::<Current>(0.0..400.0), (carried, carries) in range::<Current>(0.0..400.0),
    ) {
        let warm = conductor::temperature(zones, limits, currents, carried);
        holds(warm, conductor::temperature(zone, limit, current, carries))?;
        prop_assert!(warm.low() >= zones.low() && warm.high() >= zones.high(), "never cooler than the zone: {warm:?}");
    }

    #[test]
    fn a_range_of_running_temperature_holds_every_choice_inside(
        gauge in gauge(), material in material(), one in class(), other in class(), between in class(),
        (zones, zone) in celsius(-40.0..150.0), (currents, current) in range::<Current>(0.0..400.0),
        conductors in 1_usize..40,
    ) {
        let classes = Range::new(one, other);
        let class = Range::point(between.clamp(classes.low(), classes.high()));
        let warm = |class, zone, current| running_temperature(gauge, class, material, zone, conductors, current);
        holds(warm(classes, zones, currents), warm(class, zone, current))?;
    }

    #[test]
    fn a_wire_within_its_ampacity_stays_within_its_class(
        gauge in gauge(), material in material(), class in 60.0..220.0, around in -40.0..150.0,
        conductors in 1_usize..40, share in 0.0..1.0,
    ) {
        let (class, zone) = (Range::point(class), Range::point(around));
        let carries = ampacity(gauge, class, material, zone, conductors).at_low();
        prop_assume!(carries.low() > 0.0);
        let warm = running_temperature(gauge, class, material, zone, conductors, carries * share);
        prop_assert!(warm.low() >= zone.low() - BITS && warm.high() <= class.high() + 1e-6, "{warm:?}");
    }

    #[test]
    fn keeping_class_and_ampacity_together_only_narrows(
        gauge in gauge(), (classes, _) in celsius(61.0..220.0), conductors in 1_usize..40,
        (currents, _) in range::<Current>(0.0..400.0),
    ) {
        let zone = Range::point(30.0);
        let carries = ampacity(gauge, classes, Material::Copper, zone, conductors);
        let apart = conductor::temperature(zone, classes, currents, carries);
        holds(apart, running_temperature(gauge, classes, Material::Copper, zone, conductors, currents))?;
    }

    #[test]
    fn feet_and_metres_are_the_same_run(thousandths in 0_u32..100_000, gauge in gauge()) {
        let feet = f64::from(thousandths) / 1000.0;
        let read = |text: String| Range::<Length>::from(Quantity::read(&text).expect("a length"));
        let resists = |length| {
            conductor::resistance(length, gauge.area(), Material::Copper, Range::point(20.0), Construction::Stranded)
        };
        let (by_foot, by_metre) = (read(format!("{feet} ft")), read(format!("{} m", feet * 0.3048)));
        holds(resists(by_foot), resists(by_metre))?;
        holds(resists(by_metre), resists(by_foot))?;
    }

    #[test]
    fn a_larger_current_never_opens_a_fuse_later(
        (form, rating) in a_fuse(), (multiples, inside) in range::<Current>(0.5..30.0),
    ) {
        let opens = |multiples: Range<Current>| fuse::opening_time(form, rating, multiples * rating.base());
        let (early, late) = (opens(multiples.at_high()), opens(multiples.at_low()));
        not_above(early.slowest, late.slowest)?;
        not_above(early.fastest, late.fastest)?;
        not_above(opens(inside).fastest, opens(inside).slowest)?;
        holds(opens(multiples).slowest, opens(inside).slowest)?;
        holds(opens(multiples).fastest, opens(inside).fastest)?;
    }

    #[test]
    fn the_share_of_a_fault_holds_every_current_and_area_inside(
        (form, rating) in a_fuse(), material in material(), (areas, area) in range::<Area>(0.05..400.0),
        (multiples, inside) in range::<Current>(0.5..30.0),
    ) {
        let (currents, current) = (multiples * rating.base(), inside * rating.base());
        let (least, most) = fuse::fault_share(form, rating, areas, material, currents);
        let opens = fuse::opening_time(form, rating, current).slowest.low();
        let share = opens / fuse::withstand_time(area, material, current).low();
        prop_assert!(least <= share * (1.0 + BITS) && share <= most * (1.0 + BITS), "{least} <= {share} <= {most}");
        prop_assert_eq!(most.is_finite(), fuse::opening_time(form, rating, currents).slowest.high().is_finite());
    }

    /// Where a wire is safe at the lowest fault current, only the standards' own steps can hurt it at a larger one.
    #[test]
    fn the_slowest_fuse_hardly_lets_through_more_of_a_larger_current(
        (form, rating) in a_fuse(), (multiples, _) in range::<Current>(1.36..30.0),
    ) {
        let let_through = |multiple: f64| {
            let current = multiple * rating.base();
            fuse::opening_time(form, rating, Range::point(current)).slowest.high() * current * current
        };
        let room = match form {
            FuseForm::BladeMiniature => 1.18,
            FuseForm::BoltDown => 1.03,
            FuseForm::BladeRegular | FuseForm::BladeLarge | FuseForm::CircuitBreaker => 1.0 + BITS,
        };
        let (small, large) = (let_through(multiples.low()), let_through(multiples.high()));
        prop_assert!(large <= room * small, "{large} A2s against {small} A2s");
    }

    #[test]
    fn a_wire_stands_a_smaller_current_longer_and_a_thicker_wire_longer_still(
        material in material(), (areas, area) in range::<Area>(0.05..400.0),
        (currents, current) in range::<Current>(0.0..5000.0),
    ) {
        let stands = |area, current| fuse::withstand_time(area, material, current);
        not_above(stands(areas, currents.at_high()), stands(areas, currents.at_low()))?;
        not_above(stands(areas.at_low(), current), stands(areas.at_high(), current))?;
        holds(stands(areas, currents), stands(area, current))?;
        not_above(stands(area, current), fuse::withstand_time(area, Material::Copper, current))?;
    }

    #[test]
    fn a_fuse_drops_the_stated_voltage_at_its_rating(
        (_, rating) in a_fuse(), (drops, drop) in range::<Voltage>(0.02..0.2),
    ) {
        let element: Range<Resistance> = fuse::element_resistance(rating, drops);
        holds(element, fuse::element_resistance(rating, drop))?;
        let back = Range::from(rating) * element;
        holds(back, drops)?;
        holds(drops, back)?;
    }

    /// Whatever numbers a plan holds, an answer is a number: never less than nothing, never "not a number".
    #[test]
    fn senseless_figures_still_give_an_answer(
        area in 1e-9..1e4, hot in -1e12..1e12, class in -1e12..1e12, current in 0.0..1e12, rating in 0.0..1e12,
        conductors in any::<usize>(), form in form(), material in material(),
    ) {
        let (gauge, hot, class) = (Gauge::Metric(area), Range::point(hot), Range::point(class));
        let current = Range::<Current>::point(current);
        let carries = ampacity(gauge, class, material, hot, conductors);
        prop_assert!(carries.low() >= 0.0 && carries.high().is_finite(), "{carries:?}");
        for warm in [
            conductor::temperature(hot, class, current, carries),
            running_temperature(gauge, class, material, hot, conductors, current),
        ] {
            prop_assert!(warm.low() <= warm.high() && warm.high() <= 1083.0, "{warm:?}");
            let resists = conductor::resistance_per_metre(gauge.area(), material, warm, Construction::Stranded);
            prop_assert!(resists.low() > 0.0 && resists.high().is_finite(), "{resists:?}");
        }
        let opens = fuse::opening_time(form, Quantity::new(rating), current);
        let stands: Range<Duration> = fuse::withstand_time(gauge.area(), material, current);
        for time in [opens.fastest, opens.slowest, stands] {
            prop_assert!(time.low() >= 0.0 && time.low() <= time.high(), "{time:?}");
        }
    }
}

#[test]
fn plans_name_materials_and_forms_in_plain_words() {
    let word = |value| serde_json::to_value(value).expect("a word");
    assert_eq!(word(Material::CopperCladAluminium), "copper-clad-aluminium");
    assert_eq!(serde_json::to_value(FuseForm::BoltDown).expect("a word"), "bolt-down");
}
