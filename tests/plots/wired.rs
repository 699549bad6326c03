//! Coils are drawn wired as the plan says.

use proptest::prelude::*;
use testlamp::sheet::{Area, Drawing, Point, Shape};

use super::{cases, drawn, lines, of, slips, words};

const DRIVERS: &str = "a: {kind: subwoofer, rms: 400 W, coils: [4 ohm, 4 ohm]}, b: {kind: subwoofer, rms: 400 W, coils: [4 ohm, 4 ohm]}, \
                       c: {kind: subwoofer, rms: 400 W, coils: [4 ohm, 4 ohm]}, d: {kind: subwoofer, rms: 400 W, coils: [4 ohm, 4 ohm]}";

pub fn load(outputs: &str, coils: &str) -> String {
    format!(
        "plan: 1\namplifiers: {{amp: {{class: D, channels: 2, minimum_load: 2 ohm, rated: [{{load: 4 ohm, power: 300 W}}, {{load: 2 \
         ohm, power: 500 W}}], bridged: {{minimum_load: 4 ohm, rated: [{{load: 4 ohm, power: 1000 W}}, {{load: 8 ohm, power: 600 \
         W}}]}}}}}}\ndrivers: {{{DRIVERS}}}\nloads: {{bass: {{amplifier: amp, outputs: {outputs}, coils: {coils}, lead: {{size: 10 \
         AWG, length: 2 m}}}}}}\n"
    )
}

/// How many coils are drawn: a coil is a line of many points.
fn turns(drawing: &Drawing) -> usize {
    lines(drawing, "speaker").iter().filter(|points| points.len() > 30).count()
}

#[test]
fn coils_are_wired_as_the_plan_says() {
    let one = of(&load("[1]", "{parallel: [a.1, -a.2]}"), "coils", "coils-bass");
    let texts: Vec<&str> = words(&one).into_iter().map(|(text, _)| text).collect();
    for word in ["a.1", "a.2", "4 ohm", "250 W", "1 +", "1 \u{2212}", "2 ohm for the amplifier"] {
        assert!(texts.contains(&word), "{word}: {texts:?}");
    }
    assert!(one.description.starts_with("a.1 and a.2 reversed in parallel"), "{}", one.description);
    // Reversed: its minus is at the left, where the plus of the other is.
    let at = |sign: &str| -> Vec<Area> {
        words(&one).into_iter().filter(|(text, _)| *text == sign).map(|(_, area)| area).collect()
    };
    let (plus, minus) = (at("+"), at("\u{2212}"));
    let middle = |area: &Area| area.middle().0;
    assert!((middle(&plus[0]) - middle(&minus[1])).abs() < 1e-9 && (middle(&minus[0]) - middle(&plus[1])).abs() < 1e-9);
    assert!(middle(&plus[0]) < middle(&minus[0]) && middle(&plus[1]) > middle(&minus[1]));

    let bridged =
        of(&load("[1, 2]", "{series: [{parallel: [a.1, a.2]}, {parallel: [b.1, b.2]}]}"), "coils", "coils-bass");
    let texts: Vec<&str> = words(&bridged).into_iter().map(|(text, _)| text).collect();
    for word in ["bridged", "1 +", "1 \u{2212}", "2 +", "2 \u{2212}", "250 W", "4 ohm for the amplifier"] {
        assert!(texts.contains(&word), "{word}: {texts:?}");
    }
    assert_eq!(turns(&bridged), 4);
}

/// From the plus of the amplifier every coil is reached along wires, and from the last one the minus.
#[test]
fn every_wire_ends_on_another() {
    for coils in [
        "a",
        "{series: [a.1, a.2]}",
        "{parallel: [{series: [a.1, {parallel: [a.2, b.1]}]}, {series: [b.2, c.1]}, c.2]}",
    ] {
        let drawing = of(&load("[1]", coils), "coils", "coils-bass");
        let wires = lines(&drawing, "speaker");
        let rings = drawing.shapes.iter().filter_map(|shape| match shape {
            Shape::Ring { at, .. } => Some(*at),
            _ => None,
        });
        let rings: Vec<Point> = rings.collect();
        let near = |one: Point, other: Point| (one.0 - other.0).abs() < 0.01 && (one.1 - other.1).abs() < 0.01;
        let on = |at: Point, wire: &[Point]| {
            wire.windows(2).any(|pair| {
                let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
                (at.0 - x0).abs() + (at.1 - y0).abs() + (at.0 - x1).abs() + (at.1 - y1).abs()
                    <= (x1 - x0).abs() + (y1 - y0).abs() + 0.02
            })
        };
        for (index, wire) in wires.iter().enumerate() {
            for end in [wire[0], wire[wire.len() - 1]] {
                let others = wires.iter().enumerate().filter(|(other, _)| *other != index);
                let meets =
                    others.into_iter().any(|(_, other)| on(end, other)) || rings.iter().any(|ring| near(end, *ring));
                assert!(meets, "{coils}: a wire ends at {end:?}");
            }
        }
    }
}

#[test]
fn eight_coils_fit_in_a_row_side_by_side_and_nested() {
    let all = ["a.1", "a.2", "b.1", "b.2", "c.1", "c.2", "d.1", "d.2"].join(", ");
    for coils in [
        format!("{{series: [{all}]}}"),
        format!("{{parallel: [{all}]}}"),
        "{series: [{parallel: [a.1, {series: [a.2, {parallel: [b.1, b.2]}]}]}, {parallel: [c.1, {series: [c.2, {parallel: [d.1, d.2]}]}]}]}".to_owned(),
    ] {
        for outputs in ["[1]", "[1, 2]", "[]", "[1, 2, 3]"] {
            let drawing = of(&load(outputs, &coils), "coils", "coils-bass");
            assert_eq!(slips(&drawing), Vec::<String>::new(), "{coils}");
            assert_eq!(turns(&drawing), 8, "{coils}");
        }
    }
    let many: Vec<String> = (0..40).map(|_| "a.1".to_owned()).collect();
    let missing = &drawn(&load("[1]", &format!("{{series: [{}]}}", many.join(", "))))[0].1.missing;
    assert_eq!(missing[0].why, "more coils in a row than fit on a sheet");
}

fn tree() -> impl Strategy<Value = String> {
    let leaf = (prop::sample::select(vec!["a", "b", "c", "d"]), 1..=2_u8, any::<bool>())
        .prop_map(|(driver, number, reversed)| format!("{}{driver}.{number}", if reversed { "-" } else { "" }));
    leaf.prop_recursive(3, 8, 3, |inner| {
        (prop::collection::vec(inner, 1..=3), any::<bool>()).prop_map(|(parts, series)| {
            format!("{{{}: [{}]}}", if series { "series" } else { "parallel" }, parts.join(", "))
        })
    })
}

proptest! {
    #![proptest_config(cases::cases(48))]

    #[test]
    fn any_arrangement_of_up_to_eight_coils_is_legible(coils in tree(), bridged in any::<bool>()) {
        let drawn = &drawn(&load(if bridged { "[1, 2]" } else { "[1]" }, &coils))[0].1;
        for drawing in &drawn.drawings {
            prop_assert_eq!(slips(drawing), Vec::<String>::new());
        }
        prop_assert!(drawn.missing.is_empty() || coils.matches('.').count() > 8, "{:?}", drawn.missing);
    }
}
