//! What is only written in another way than a plan writes it, as a plan writes it.

use super::dimension::{Dimension, Unit};
use super::marked::Marked;
use super::stated::{Quantity, Window};
use super::text::{digits, number_and_unit};

/// A quantity: `60A`, `2,5 m`, `4 ohms`, `3'6"`.
pub fn quantity<D: Dimension>(text: &str) -> Option<String> {
    let text = text.trim();
    // A metric thread is called by its diameter in millimetres (ISO 261).
    let thread = text.strip_prefix(['M', 'm']).filter(|size| D::NAME == "length" && size.parse::<f64>().is_ok());
    if let Some(size) = thread {
        return Some(format!("{size} mm"));
    }
    if let Some(marked) = Marked::begins(text) {
        return marked.sure(D::UNITS).filter(|spelt| Quantity::<D>::read(spelt).is_ok());
    }
    if let Some(feet) = feet_and_inches(text).filter(|_| D::NAME == "length") {
        return Some(feet);
    }
    let (number, unit) = parted(text)?;
    let unit = unit_of::<D>(unit)?;
    let spelt = format!("{number} {}", unit.symbol);
    Quantity::<D>::read(&spelt).is_ok().then_some(spelt)
}

/// A window: `9-16 V`, `9 V to 16 V`, `9..16 V`.
pub fn window<D: Dimension>(text: &str) -> Option<String> {
    const MARKS: [&str; 8] = ["...", "..", "\u{2026}", "\u{2013}", "\u{2014}", " to ", " - ", "-"];
    let ends = MARKS.iter().find_map(|mark| {
        // A sign before the first number parts nothing.
        let at = text.char_indices().skip(1).map(|(at, _)| at).find(|at| text[*at..].starts_with(mark))?;
        Some((text[..at].trim(), text[at + mark.len()..].trim()))
    });
    let (from, to) = ends?;
    let unit = |end: &str| parted(end).and_then(|(_, unit)| unit_of::<D>(unit)).filter(|unit| !unit.symbol.is_empty());
    // One unit at either end holds for both.
    let whole = |end: &str, other: &str| match (unit(end), unit(other)) {
        (None, Some(unit)) => format!("{end} {}", unit.symbol),
        _ => end.to_owned(),
    };
    let spelt = |end: String| if Quantity::<D>::read(&end).is_ok() { Some(end) } else { quantity::<D>(&end) };
    let (from, to) = (spelt(whole(from, to))?, spelt(whole(to, from))?);
    let (spelt, turned) = (format!("{from} .. {to}"), format!("{to} .. {from}"));
    // With the mark of a window between its ends it is one; a stroke may be another sign.
    let ways = [Some(spelt), text.contains("..").then_some(turned)];
    ways.into_iter().flatten().find(|spelt| Window::<D>::read(spelt).is_ok())
}

/// Number and unit, the number with a point: `2,5` and `m`, `3 1/2` and `ft`.
fn parted(text: &str) -> Option<(String, &str)> {
    let text = text.trim();
    let (number, rest) = number_and_unit(text);
    let whole = number.bytes().all(|byte| byte.is_ascii_digit());
    let (number, rest) = match rest.strip_prefix(',').filter(|_| whole) {
        Some(behind) => {
            let end = behind.find(|c: char| !c.is_ascii_digit()).unwrap_or(behind.len());
            (format!("{number}.{}", &behind[..end]), &behind[end..])
        }
        // `3-1/2`, as it stands on drawings.
        None => match number.split_once('-').filter(|(whole, part)| !whole.is_empty() && part.contains('/')) {
            Some((whole, part)) => (format!("{whole} {part}"), rest),
            None => (number.to_owned(), rest),
        },
    };
    (!number.is_empty()).then_some((number, rest.trim()))
}

fn unit_of<D: Dimension>(symbol: &str) -> Option<&'static Unit> {
    D::UNITS.iter().find(|known| known.symbol == symbol || known.misspelt.contains(&symbol))
}

/// `3'6"` or `3 ft 6 in` in one unit: feet where that is a short number, otherwise inches.
fn feet_and_inches(text: &str) -> Option<String> {
    let (feet, rest) = number_and_unit(text);
    let rest = rest.trim_start();
    let behind = ["'", "\u{2019}", "\u{2032}", "ft"].iter().find_map(|mark| rest.strip_prefix(mark))?;
    let (inches, mark) = number_and_unit(behind.trim_start());
    let feet: f64 = f64::from(feet.parse::<u16>().ok()?);
    let inches = super::text::number(inches).filter(|inches| (0.0..12.0).contains(inches))?;
    if !["\"", "\u{201d}", "\u{2033}", "''", "in", ""].contains(&mark.trim()) {
        return None;
    }
    let quarters = inches / 3.0;
    Some(if quarters.fract() == 0.0 {
        format!("{} ft", feet + inches / 12.0)
    } else {
        format!("{} in", digits_of(feet.mul_add(12.0, inches)))
    })
}

/// All its digits, where three would not do.
fn digits_of(number: f64) -> String {
    let short = digits(number);
    if short.parse() == Ok(number) { short } else { number.to_string() }
}

#[cfg(test)]
mod tests {
    use super::super::dimension::{Length, Temperature, Voltage, Volume};
    use super::{quantity, window};

    #[test]
    fn a_window_is_made_of_what_stands_there() {
        for written in [
            "9-16 V",
            "9..16 V",
            "9 V to 16 V",
            "9 V - 16 V",
            "9 V \u{2026} 16 V",
            "9V\u{2013}16V",
            "9 .. 16 volts",
            "9 V .. 16",
        ] {
            assert_eq!(window::<Voltage>(written).as_deref(), Some("9 V .. 16 V"), "{written}");
        }
        assert_eq!(window::<Voltage>("16 .. 9 V").as_deref(), Some("9 V .. 16 V"), "the other way round");
        assert_eq!(window::<Volume>("0.6 - 1.0 cuft").as_deref(), Some("0.6 cu ft .. 1.0 cu ft"));
        assert_eq!(window::<Temperature>("-20 - 85 C").as_deref(), Some("-20 C .. 85 C"));
        for written in ["12 V", "16-9 V", "9-16", "9-16 A", "nine to ten V", "-9 V"] {
            assert_eq!(window::<Voltage>(written), None, "{written}");
        }
    }

    #[test]
    fn feet_and_inches_come_to_one_unit() {
        for (written, is) in [
            ("3'6\"", Some("3.5 ft")),
            ("3' 6", Some("3.5 ft")),
            ("3 ft 6 in", Some("3.5 ft")),
            ("5'7\"", Some("67 in")),
            ("5' 7 1/2\"", Some("67.5 in")),
            ("120'7\"", Some("1447 in")),
            ("3-1/2 ft", Some("3 1/2 ft")),
            ("6 1/2 inches", Some("6 1/2 in")),
            ("3'14\"", None),
            ("2,5 m", Some("2.5 m")),
            ("1,000 mm", None),
            ("1'000 mm", Some("1000 mm")),
            ("0,500 m", Some("0.500 m")),
        ] {
            assert_eq!(quantity::<Length>(written).as_deref(), is, "{written}");
        }
    }
}
