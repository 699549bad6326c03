//! A quantity as somebody wrote it.

use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::json;

use super::dimension::{Dimension, Unit};
use super::text;
use super::unread::{Unread, excerpt};
use crate::words;

/// A stated quantity: its value in the base unit of `D`, and the unit it was written in.
#[derive(Clone, Copy, PartialEq)]
pub struct Quantity<D> {
    base: f64,
    /// `None` for a value that nobody wrote: it is shown in whichever unit reads best.
    unit: Option<&'static Unit>,
    dimension: PhantomData<D>,
}

impl<D: Dimension> Quantity<D> {
    /// A value given in the base unit (metres, amperes, volts, …).
    pub const fn new(base: f64) -> Self {
        Self { base, unit: None, dimension: PhantomData }
    }

    /// Reads `17 ft`.
    ///
    /// # Errors
    /// A sentence that says what was found and what is taken.
    pub fn read(written: &str) -> Result<Self, Unread> {
        text::read::<D>(written).map(|(base, unit)| Self { base, unit: Some(unit), dimension: PhantomData })
    }

    /// The value in the base unit of the dimension.
    pub const fn base(self) -> f64 {
        self.base
    }

    /// The unit it was written in, where somebody wrote it.
    pub const fn unit(self) -> Option<&'static Unit> {
        self.unit
    }

    /// The same unit as `self`, another value (in the base unit): to say a limit in the writer's own unit.
    #[must_use]
    pub const fn with_base(self, base: f64) -> Self {
        Self { base, ..self }
    }

    /// The most that three digits of its unit can show without being above it.
    #[must_use]
    pub fn rounded_down(self) -> Self {
        self.rounded(text::rounded_down)
    }

    /// The least that three digits of its unit can show without being below it.
    #[must_use]
    pub fn rounded_up(self) -> Self {
        self.rounded(text::rounded_up)
    }

    fn rounded(self, round: fn(f64) -> f64) -> Self {
        let unit = self.unit.or_else(|| text::best_unit(D::UNITS, self.base));
        let (offset, scale) = unit.map_or((0.0, 1.0), |unit| (unit.offset, unit.scale));
        self.with_base(round((self.base - offset) / scale) * scale + offset)
    }
}

impl<D: Dimension> fmt::Display for Quantity<D> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = self.unit.or_else(|| text::best_unit(D::UNITS, self.base));
        out.write_str(&text::ends(self.base, self.base, unit))
    }
}

impl<D: Dimension> fmt::Debug for Quantity<D> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{self}")
    }
}

impl<'de, D: Dimension> Deserialize<'de> for Quantity<D> {
    fn deserialize<R: Deserializer<'de>>(reader: R) -> Result<Self, R::Error> {
        let written = Cow::<str>::deserialize(reader)?;
        Self::read(&written).map_err(serde::de::Error::custom)
    }
}

impl<D: Dimension> Serialize for Quantity<D> {
    fn serialize<W: Serializer>(&self, writer: W) -> Result<W::Ok, W::Error> {
        writer.collect_str(self)
    }
}

impl<D: Dimension> JsonSchema for Quantity<D> {
    fn schema_name() -> Cow<'static, str> {
        D::NAME.replace(' ', "-").into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        // A plain number needs no quotes.
        let kind = if text::is_plain::<D>() { json!(["string", "number"]) } else { json!("string") };
        json_schema!({
            "type": kind,
            "description": format!("A{}: {}.", &words::a(D::NAME)[1..], text::form::<D>()),
            "pattern": text::pattern::<D>(),
            "examples": [D::EXAMPLE],
            "x-quantity": D::NAME,
        })
    }
}

/// A window between two stated quantities, written `10 V .. 16 V`.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Window<D: Dimension> {
    /// The lower end.
    pub from: Quantity<D>,
    /// The upper end, never below `from`.
    pub to: Quantity<D>,
}

impl<D: Dimension> Window<D> {
    /// Reads `10 V .. 16 V`.
    ///
    /// # Errors
    /// A sentence that says what was found and what is taken.
    pub fn read(written: &str) -> Result<Self, Unread> {
        let Some((from, to)) = written.split_once("..") else {
            return Err(Unread::Other(format!(
                "`{}` is not a window of {}; write both ends with `..` between them, like `{}`",
                excerpt(written),
                D::NAME,
                D::WINDOW
            )));
        };
        let (from, to) = (Quantity::<D>::read(from)?, Quantity::<D>::read(to)?);
        if to.base() < from.base() {
            let backwards = format!("`{}` runs from the larger end to the smaller", excerpt(written));
            return Err(Unread::Slip(backwards));
        }
        Ok(Self { from, to })
    }
}

impl<D: Dimension> fmt::Display for Window<D> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{} .. {}", self.from, self.to)
    }
}

impl<'de, D: Dimension> Deserialize<'de> for Window<D> {
    fn deserialize<R: Deserializer<'de>>(reader: R) -> Result<Self, R::Error> {
        let written = Cow::<str>::deserialize(reader)?;
        Self::read(&written).map_err(serde::de::Error::custom)
    }
}

impl<D: Dimension> Serialize for Window<D> {
    fn serialize<W: Serializer>(&self, writer: W) -> Result<W::Ok, W::Error> {
        writer.collect_str(self)
    }
}

impl<D: Dimension> JsonSchema for Window<D> {
    fn schema_name() -> Cow<'static, str> {
        format!("{}-window", D::NAME.replace(' ', "-")).into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let one = text::pattern::<D>();
        let one = one.trim_start_matches('^').trim_end_matches('$');
        json_schema!({
            "type": "string",
            "description": format!("A window of {}: both ends with `..` between them.", D::NAME),
            "pattern": format!("^{one} *\\.\\. *{one}$"),
            "examples": [D::WINDOW],
            "x-quantity": format!("{} window", D::NAME),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::dimension::{Length, Temperature};
    use super::Quantity;

    #[test]
    fn three_digits_of_its_own_unit_are_what_it_is_rounded_to() {
        let of = |written: &str, base: f64| Quantity::<Length>::read(written).expect("a length").with_base(base);
        let (up, down) = (of("1 in", 0.025).rounded_up(), of("1 in", 0.025).rounded_down());
        assert_eq!((up.to_string(), down.to_string()), ("0.985 in".to_owned(), "0.984 in".to_owned()));
        assert!(up.base() >= 0.025 && down.base() <= 0.025);
        assert_eq!(of("1 mm", 0.025).rounded_up().to_string(), "25 mm");
        let warm = Quantity::<Temperature>::read("1 F").expect("a temperature").with_base(48.0);
        assert_eq!((warm.rounded_up().to_string(), warm.rounded_down().to_string()), ("119 F".into(), "118 F".into()));
    }
}
