//! The kinds of quantities that can stand in a file.

use serde_json::{Value, json};

use crate::quantity::marked::Marked;
use crate::quantity::{self, Dimension, Gauge, Quantity, Range, Unread, Window, respelt};

/// A kind of quantity, or of another text that a plan reads in a way of its own.
pub(super) struct Kind {
    /// Reads a text; the error is a sentence that says what was found and what is taken.
    pub read: fn(&str) -> Result<(), Unread>,
    /// A text that is only spelt in another way, as a plan spells it.
    pub respelt: fn(&str) -> Option<String>,
    /// What may have been meant by a text that says too little: its number with each unit, or any value at all.
    pub likely: fn(&str) -> Vec<String>,
    /// A text as plain data: a number in its base unit, or both ends of a window.
    pub measured: fn(&str) -> Option<Value>,
}

impl Kind {
    /// The kind that schemas call by a name, like `length` or `length window`.
    pub fn of(name: &str) -> Self {
        use quantity::dimension as kind;
        match name {
            "cross-section" => {
                return Self {
                    read: |text| Gauge::read(text).map(drop),
                    respelt: Gauge::respelt,
                    likely: |text| likely(text, &["AWG", "mm2"], "4 AWG"),
                    measured: |text| Some(Gauge::read(text).ok()?.square_millimetres().into()),
                };
            }
            "terminal" => {
                let likely = |text: &str| {
                    let thing: String = text.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '-').collect();
                    let ends = ["positive", "negative", "power", "ground", "in", "out", "remote"];
                    ends.iter().filter(|_| !thing.is_empty()).map(|end| format!("{thing}.{end}")).collect()
                };
                return Self { likely, ..Self::text(|text| other(super::Terminal::read(text))) };
            }
            "day" => {
                return Self { respelt: super::Day::respelt, ..Self::text(|text| other(super::Day::read(text))) };
            }
            "coil" => {
                return Self { respelt: super::Coil::respelt, ..Self::text(|text| other(super::Coil::read(text))) };
            }
            _ => {}
        }
        let (name, form) = name.rsplit_once(' ').unwrap_or((name, ""));
        match name {
            "length" => Self::quantity::<kind::Length>(form),
            "current" => Self::quantity::<kind::Current>(form),
            "voltage" => Self::quantity::<kind::Voltage>(form),
            "resistance" => Self::quantity::<kind::Resistance>(form),
            "power" => Self::quantity::<kind::Power>(form),
            "temperature" => Self::quantity::<kind::Temperature>(form),
            "frequency" => Self::quantity::<kind::Frequency>(form),
            "volume" => Self::quantity::<kind::Volume>(form),
            "mass" => Self::quantity::<kind::Mass>(form),
            "duration" => Self::quantity::<kind::Duration>(form),
            "capacity" => Self::quantity::<kind::Capacity>(form),
            "capacitance" => Self::quantity::<kind::Capacitance>(form),
            "angle" => Self::quantity::<kind::Angle>(form),
            "level" => Self::quantity::<kind::Level>(form),
            "share" => Self::quantity::<kind::Share>(form),
            "slope" => Self::quantity::<kind::Slope>(form),
            "ratio" => Self::quantity::<kind::Ratio>(form),
            "acceleration" => Self::quantity::<kind::Acceleration>(form),
            "speed" => Self::quantity::<kind::Speed>(form),
            _ => Self::text(|_| Ok(())),
        }
    }

    /// A text that is no quantity.
    fn text(read: fn(&str) -> Result<(), Unread>) -> Self {
        Self { read, respelt: |_| None, likely: |_| Vec::new(), measured: |_| None }
    }

    /// A single value, both ends of a window, or either.
    fn quantity<D: Dimension>(form: &str) -> Self {
        match form {
            "window" => Self {
                read: |text| Window::<D>::read(text).map(drop),
                respelt: respelt::window::<D>,
                likely: |_| vec![D::WINDOW.to_owned()],
                measured: |text| Window::<D>::read(text).ok().map(|is| ends(Range::from(is))),
            },
            "range" => Self {
                read: |text| Range::<D>::read(text).map(drop),
                respelt: |text| respelt::window::<D>(text).or_else(|| respelt::quantity::<D>(text)),
                likely: |_| vec![D::EXAMPLE.to_owned()],
                measured: |text| Range::<D>::read(text).ok().map(ends),
            },
            _ => Self {
                read: |text| Quantity::<D>::read(text).map(drop),
                respelt: respelt::quantity::<D>,
                likely: |text| {
                    if let Some(marked) = Marked::begins(text) {
                        return marked.ways(D::UNITS);
                    }
                    let units: Vec<&str> = D::UNITS.iter().map(|unit| unit.symbol).collect();
                    likely(text, &units, D::EXAMPLE)
                },
                measured: |text| Some(Quantity::<D>::read(text).ok()?.base().into()),
            },
        }
    }
}

/// What cannot be read as a text that is no quantity.
fn other<T>(read: Result<T, String>) -> Result<(), Unread> {
    read.map(drop).map_err(Unread::Other)
}

/// The number that a text begins with, with each of these units, and an example.
fn likely(text: &str, units: &[&str], example: &str) -> Vec<String> {
    let text = text.trim();
    let number = &text[..text.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '/'))).unwrap_or(text.len())];
    let with = units.iter().filter(|_| !number.is_empty()).map(|unit| format!("{number} {unit}").trim().to_owned());
    with.chain([example.to_owned()]).collect()
}

fn ends<D: Dimension>(range: Range<D>) -> Value {
    json!({ "low": range.low(), "high": range.high() })
}

#[cfg(test)]
mod tests {
    use super::Kind;
    use serde_json::Value;

    /// Every kind of quantity below a value of a schema.
    fn kinds(schema: &Value, found: &mut std::collections::BTreeSet<String>) {
        found.extend(schema.get("x-quantity").and_then(Value::as_str).map(str::to_owned));
        match schema {
            Value::Object(keys) => keys.values().for_each(|value| kinds(value, found)),
            Value::Array(items) => items.iter().for_each(|item| kinds(item, found)),
            _ => {}
        }
    }

    /// A kind that is not known here would take any words and be told of nowhere.
    #[test]
    fn every_kind_of_a_schema_refuses_what_is_none() {
        let mut found = std::collections::BTreeSet::new();
        for schema in [super::super::schema(), super::super::shelf_schema(), crate::house::schema()] {
            kinds(&schema, &mut found);
        }
        assert!(found.contains("capacitance") && found.contains("terminal") && found.len() > 15, "{found:?}");
        for kind in found {
            assert!((Kind::of(&kind).read)("neither fish nor fowl").is_err(), "{kind}");
        }
    }
}
