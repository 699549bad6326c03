//! Conductor sizes: AWG numbers and metric cross-sections.

use std::borrow::Cow;
use std::f64::consts::PI;
use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::dimension::Area;
use super::marked::Marked;
use super::range::Range;
use super::text;
use super::unread::{Unread, excerpt};

/// A conductor size as it is bought.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Gauge {
    /// American wire gauge by its number n: 4 AWG is 4, 1/0 is 0, 4/0 is -3.
    Awg(i8),
    /// Nominal metric cross-section in square millimetres.
    Metric(f64),
}

/// Sizes of the two systems that are sold as one differ by up to this: 1/0 AWG (53.49 mm2) and 50 mm2 by 7.0 %, 4 AWG
/// (21.15 mm2) and 20 mm2 by 5.8 %. Common practice, no published source.
const SOLD_AS_ONE: f64 = 1.07;

/// The metric size for which a terminal that is made for an American one is made as well, up to a fifth larger: IEC
/// 60947-1, table 1 (from memory).
const METRIC_OF: [(i8, f64); 11] = [
    (16, 1.5),
    (14, 2.5),
    (12, 4.0),
    (10, 6.0),
    (8, 10.0),
    (6, 16.0),
    (4, 25.0),
    (2, 35.0),
    (0, 50.0),
    (-1, 70.0),
    (-2, 95.0),
];

impl Gauge {
    /// Reads `4 AWG`, `1/0 AWG` or `21 mm2`.
    ///
    /// # Errors
    /// A sentence that says what was found and what is taken.
    pub fn read(written: &str) -> Result<Self, Unread> {
        let refused = || {
            Unread::Other(format!(
                "`{}` is not a cross-section; write a number, a space and AWG or mm2, like 4 AWG, 1/0 AWG or 21 mm2",
                excerpt(written)
            ))
        };
        let (number, unit) = written.trim().split_once(' ').ok_or_else(refused)?;
        match unit.trim() {
            "AWG" => awg(number).map(Self::Awg).ok_or_else(|| Unread::Slip(format!(
                "`{}` is not a wire gauge; AWG sizes run from 40 AWG (thin) to 1 AWG, then 1/0, 2/0, 3/0 and 4/0 AWG",
                excerpt(written)
            ))),
            "mm2" => number.parse::<f64>().ok().filter(|v| v.is_finite() && *v > 0.0 && *v < 10_000.0)
                .map(Self::Metric).ok_or_else(refused),
            _ => Err(refused()),
        }
    }

    /// A size that is only spelt in another way than a plan does, as a plan spells it: `4AWG`, `4 gauge`, `25 mm²`.
    pub fn respelt(written: &str) -> Option<String> {
        let written = written.trim();
        let split = written.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '/')));
        let split = split.unwrap_or(written.len());
        if Marked::begins(written).is_some() {
            return None;
        }
        let (number, unit) = (written[..split].replace(',', "."), written[split..].trim().to_lowercase());
        let unit = match unit.as_str() {
            "awg" | "ga" | "gauge" => "AWG",
            // Only gauges are counted in noughts.
            "" if number.ends_with("/0") => "AWG",
            "mm2" | "mm²" | "mm^2" | "sqmm" | "qmm" => "mm2",
            _ => return None,
        };
        let spelt = format!("{number} {unit}");
        Self::read(&spelt).is_ok().then_some(spelt)
    }

    /// Cross-section in square millimetres.
    ///
    /// AWG n has the diameter 0.127 mm * 92^((36-n)/39) (ASTM B258); metric sizes are their nominal area.
    pub fn square_millimetres(self) -> f64 {
        match self {
            Self::Awg(n) => {
                let diameter = 0.127 * 92_f64.powf((36.0 - f64::from(n)) / 39.0);
                PI / 4.0 * diameter * diameter
            }
            Self::Metric(area) => area,
        }
    }

    /// The largest cross-section that goes into a terminal made for this size.
    pub fn takes(self) -> Range<Area> {
        let own = self.square_millimetres() * SOLD_AS_ONE;
        let metric = METRIC_OF.iter().find(|(number, _)| self == Self::Awg(*number));
        Range::point(metric.map_or(own, |(_, metric)| metric.max(own)))
    }

    /// Cross-section as a quantity.
    pub fn area(self) -> Range<Area> {
        Range::point(self.square_millimetres())
    }
}

/// The number n of `4`, `1/0`, `0` or `4/0`. `00` is another way to write 2/0 (ASTM B258), and so on to `0000`.
fn awg(number: &str) -> Option<i8> {
    if number.bytes().all(|digit| digit == b'0') {
        return i8::try_from(number.len()).ok().filter(|aughts| (1..=4).contains(aughts)).map(|aughts| 1 - aughts);
    }
    if let Some(aught) = number.strip_suffix("/0") {
        return aught.parse::<i8>().ok().filter(|a| (1..=4).contains(a)).map(|a| 1 - a);
    }
    number.parse::<i8>().ok().filter(|n| (0..=40).contains(n))
}

impl fmt::Display for Gauge {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Awg(n) if *n < 1 => write!(out, "{}/0 AWG", 1 - n),
            Self::Awg(n) => write!(out, "{n} AWG"),
            Self::Metric(area) => write!(out, "{} mm2", text::digits(*area)),
        }
    }
}

impl<'de> Deserialize<'de> for Gauge {
    fn deserialize<R: Deserializer<'de>>(reader: R) -> Result<Self, R::Error> {
        let written = Cow::<str>::deserialize(reader)?;
        Self::read(&written).map_err(serde::de::Error::custom)
    }
}

impl Serialize for Gauge {
    fn serialize<W: Serializer>(&self, writer: W) -> Result<W::Ok, W::Error> {
        writer.collect_str(self)
    }
}

impl JsonSchema for Gauge {
    fn schema_name() -> Cow<'static, str> {
        "cross-section".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "A conductor size: AWG number or cross-section in mm2.",
            "pattern": "^([1-4]/0|[0-9]+) +AWG$|^[0-9]+(\\.[0-9]+)? +mm2$",
            "examples": ["4 AWG", "1/0 AWG", "21 mm2"],
            "x-quantity": "cross-section",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::{Gauge, METRIC_OF};

    /// Of the metric sizes (IEC 60228) each is the one that is nearest by area, and never more than a fifth and a little
    /// above it.
    #[test]
    fn the_metric_size_of_a_gauge_is_its_neighbour() {
        let sizes = [1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0];
        for (number, metric) in METRIC_OF {
            let own = Gauge::Awg(number).square_millimetres();
            let apart = |size: &f64| (size / own).ln().abs();
            let nearest = sizes.into_iter().min_by(|one, other| apart(one).total_cmp(&apart(other)));
            assert_eq!(nearest, Some(metric), "{number}");
            assert!(metric / own < 1.21, "{number}");
        }
    }

    /// ASTM B258 writes 2/0, 3/0 and 4/0 as 00, 000 and 0000; a nought before another number says nothing.
    #[test]
    fn noughts_are_counted() {
        let sizes = [("0", 0), ("00", -1), ("000", -2), ("0000", -3), ("1/0", 0), ("4/0", -3), ("08", 8)];
        for (written, number) in sizes {
            assert_eq!(Gauge::read(&format!("{written} AWG")), Ok(Gauge::Awg(number)), "{written}");
        }
        assert!(Gauge::read("00000 AWG").is_err() && Gauge::read("00/0 AWG").is_err());
        assert_eq!(Gauge::respelt("00ga").as_deref(), Some("00 AWG"));
        assert_eq!(Gauge::read("000 AWG").map(|size| size.to_string()), Ok("3/0 AWG".to_owned()));
    }

    #[test]
    fn a_terminal_takes_what_is_sold_as_its_size_and_its_metric_neighbour() {
        let takes = |size: &str| Gauge::read(size).expect("a size").takes().high();
        assert!((takes("4 AWG") - 25.0).abs() < 1e-9 && (takes("8 AWG") - 10.0).abs() < 1e-9);
        assert!((takes("1/0 AWG") - 53.475 * 1.07).abs() < 0.01 && (takes("50 mm2") - 53.5).abs() < 1e-9);
        assert!((takes("3 AWG") - 26.67 * 1.07).abs() < 0.01);
    }
}
