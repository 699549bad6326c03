//! Figures that a house file can set by their names.

use std::collections::HashSet;
use std::ops::Deref;
use std::sync::{LazyLock, Mutex, PoisonError};

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use crate::quantity::{Dimension, Quantity, Range};

/// A limit with its name in a house and its source.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit<D: Dimension> {
    /// What the house calls it.
    pub name: &'static str,
    /// Its value.
    pub value: Quantity<D>,
    /// Where it comes from.
    pub source: &'static str,
    /// Values that can be right.
    taken: Range<D>,
}

/// A range that stands in for a fact that is not stated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assumption<D: Dimension> {
    /// The range.
    pub range: Range<D>,
    /// Where it comes from.
    pub source: &'static str,
}

/// An assumption with its name in a house.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usual<D: Dimension> {
    /// What the house calls it.
    pub name: &'static str,
    is: Assumption<D>,
    taken: Range<D>,
}

impl<D: Dimension> Limit<D> {
    /// A limit in base units, with the values that can be right.
    pub(super) const fn new(name: &'static str, base: f64, taken: (f64, f64), source: &'static str) -> Self {
        Self { name, value: Quantity::new(base), source, taken: Range::new(taken.0, taken.1) }
    }

    /// The value in the base unit.
    pub const fn base(&self) -> f64 {
        self.value.base()
    }

    /// So many times the value, in the unit that it is written in: a share of the voltage of twelve-volt batteries in series.
    #[must_use]
    pub const fn times(self, multiple: f64) -> Self {
        Self { value: self.value.with_base(self.value.base() * multiple), ..self }
    }
}

impl<D: Dimension> Usual<D> {
    /// An assumption in base units, with the values that can be right.
    pub(super) const fn new(name: &'static str, range: (f64, f64), taken: (f64, f64), source: &'static str) -> Self {
        let is = Assumption { range: Range::new(range.0, range.1), source };
        Self { name, is, taken: Range::new(taken.0, taken.1) }
    }

    /// Refuses a range that cannot be right, with what is taken.
    pub(super) fn possible(&self, written: &str) -> Result<(), String> {
        possible(self.name, written, self.is.range, self.taken)
    }
}

impl<D: Dimension> Deref for Usual<D> {
    type Target = Assumption<D>;
    fn deref(&self) -> &Assumption<D> {
        &self.is
    }
}

/// A figure of a house that its file can set.
pub trait Setting {
    /// What the house calls it.
    fn name(&self) -> &'static str;
    /// Its value as it reads.
    fn value(&self) -> String;
    /// Where it comes from.
    fn source(&self) -> &'static str;
    /// Sets it.
    ///
    /// # Errors
    /// A sentence: the value cannot be read, or cannot be right.
    fn set(&mut self, written: &str, source: &'static str) -> Result<(), String>;
}

impl<D: Dimension> Setting for Limit<D> {
    fn name(&self) -> &'static str {
        self.name
    }
    fn value(&self) -> String {
        self.value.to_string()
    }
    fn source(&self) -> &'static str {
        self.source
    }
    fn set(&mut self, written: &str, source: &'static str) -> Result<(), String> {
        let value = Quantity::<D>::read(written)?;
        possible(self.name, written, value.into(), self.taken)?;
        (self.value, self.source) = (value, source);
        Ok(())
    }
}

impl<D: Dimension> Setting for Usual<D> {
    fn name(&self) -> &'static str {
        self.name
    }
    fn value(&self) -> String {
        self.is.range.to_string()
    }
    fn source(&self) -> &'static str {
        self.is.source
    }
    fn set(&mut self, written: &str, source: &'static str) -> Result<(), String> {
        let range = Range::<D>::read(written)?;
        let set = Self { is: Assumption { range, source }, ..*self };
        set.possible(written)?;
        *self = set;
        Ok(())
    }
}

/// Refuses what cannot be right, with what is taken.
fn possible<D: Dimension>(name: &str, written: &str, value: Range<D>, taken: Range<D>) -> Result<(), String> {
    // The least part in a thousand million keeps 45.72 cm from being less than 18 in.
    let slack = 1e-9 * taken.high().abs();
    if value.low() >= taken.low() - slack && value.high() <= taken.high() + slack {
        return Ok(());
    }
    let found = crate::words::excerpt(written, 40);
    Err(format!("`{found}` cannot be right for {name}; taken: {taken}"))
}

impl<D: Dimension> JsonSchema for Limit<D> {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        format!("{}-limit", D::NAME.replace(' ', "-")).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let value = generator.subschema_for::<Quantity<D>>();
        json_schema!({
            "type": "object",
            "properties": { "value": value, "source": source_schema() },
            "required": ["value", "source"],
            "additionalProperties": false,
        })
    }
}

impl<D: Dimension> JsonSchema for Usual<D> {
    fn schema_name() -> std::borrow::Cow<'static, str> {
        format!("{}-assumption", D::NAME.replace(' ', "-")).into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let range = generator.subschema_for::<Range<D>>();
        json_schema!({
            "type": "object",
            "properties": { "range": range, "source": source_schema() },
            "required": ["range", "source"],
            "additionalProperties": false,
        })
    }
}

fn source_schema() -> serde_json::Value {
    serde_json::json!({
        "type": "string",
        "description": "Where the figure comes from, or why the house takes it.",
        "minLength": 1,
    })
}

/// Keeps a text for the rest of the run, once however often it is read: sources travel with every figure.
pub fn keep(text: &str) -> &'static str {
    static KEPT: LazyLock<Mutex<HashSet<&'static str>>> = LazyLock::new(Mutex::default);
    let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(known) = kept.get(text) {
        return known;
    }
    let new: &'static str = Box::leak(text.into());
    kept.insert(new);
    new
}
