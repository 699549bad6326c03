//! Lengths as a tape is read: to five centimetres, or to an inch where somebody wrote inches or feet.

use crate::quantity::{Length, Quantity};

/// Five centimetres, in metres.
const STEP: f64 = 0.05;

/// An inch, in metres.
const INCH: f64 = 0.0254;
const FOOT: f64 = 12.0 * INCH;

/// The longest mark of the tape within a length, in the writer's unit.
pub fn within(length: f64, written: Option<Quantity<Length>>) -> Quantity<Length> {
    mark(length, written, |steps| (steps + 1e-9).floor())
}

/// The first mark of the tape from a length on, in the writer's unit.
pub fn from(length: f64, written: Option<Quantity<Length>>) -> Quantity<Length> {
    mark(length, written, |steps| (steps - 1e-9).ceil())
}

fn mark(length: f64, written: Option<Quantity<Length>>, round: fn(f64) -> f64) -> Quantity<Length> {
    let written = written.unwrap_or(Quantity::new(length));
    // Units that results are not shown in are inches and feet.
    let step = if written.unit().is_some_and(|unit| !unit.shown) { INCH } else { STEP };
    let marked = round(length / step) * step;
    // Nobody looks for a part of a foot on a tape.
    let inches = || Quantity::read("1 in").unwrap_or(written);
    let written = if step == INCH && marked < FOOT { inches() } else { written };
    written.with_base(marked)
}

#[cfg(test)]
mod tests {
    use super::{from, within};
    use crate::quantity::Quantity;

    #[test]
    fn the_writers_unit_decides_the_marks() {
        let of = |written: &str| {
            let written = Quantity::read(written).ok();
            (within(0.4572, written).to_string(), from(0.4572, written).to_string())
        };
        assert_eq!(of("1 cm"), ("45 cm".to_owned(), "50 cm".to_owned()));
        assert_eq!(of("1 in"), ("18 in".to_owned(), "18 in".to_owned()));
        assert_eq!(of("1 ft"), ("1.5 ft".to_owned(), "1.5 ft".to_owned()));
        let short = |written: &str| within(0.2, Quantity::read(written).ok()).to_string();
        assert_eq!([short("14 ft"), short("3 in"), short("4 m"), short("")], ["7 in", "7 in", "0.2 m", "20 cm"]);
        assert_eq!(within(0.31, Quantity::read("14 ft").ok()).to_string(), "1 ft");
        assert_eq!(of("1 mm"), ("450 mm".to_owned(), "500 mm".to_owned()));
        assert_eq!(of(""), ("45 cm".to_owned(), "50 cm".to_owned()));
        let inches = Quantity::read("1 in").ok();
        assert_eq!(
            (within(0.46, inches).to_string(), from(0.46, inches).to_string()),
            ("18 in".into(), "19 in".into())
        );
    }
}
