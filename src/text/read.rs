//! A `serde` reader over a [`Tree`]: a type that does not fit says at which node.

use std::collections::HashSet;
use std::fmt;

use serde::de::{self, DeserializeSeed, Deserializer, IntoDeserializer, Visitor};
use serde::forward_to_deserialize_any;

use super::tree::{Entry, Kind, NodeId, Scalar, Tree};

/// What did not fit, and where.
#[derive(Debug)]
pub struct ReadError {
    /// What was wrong.
    pub message: String,
    /// The innermost node that did not fit.
    pub node: Option<NodeId>,
}

impl fmt::Display for ReadError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.message)
    }
}

impl std::error::Error for ReadError {}

impl de::Error for ReadError {
    fn custom<T: fmt::Display>(message: T) -> Self {
        Self { message: message.to_string(), node: None }
    }
}

/// Nodes that are read as things of which nothing is known but that they are there. A group of them says nothing, a list
/// has one such item, and things by name are there with each of these names.
#[derive(Debug)]
pub struct Blanks {
    /// The nodes.
    pub nodes: HashSet<NodeId>,
    /// Names that things may have.
    pub names: Vec<String>,
}

/// Reads one node. Nodes in `struck` are passed over as if they were not written.
#[derive(Clone, Copy)]
pub struct Reader<'a> {
    tree: &'a Tree,
    node: NodeId,
    struck: &'a HashSet<NodeId>,
    blanks: Option<&'a Blanks>,
}

impl<'a> Reader<'a> {
    /// A reader of `node`.
    pub fn new(tree: &'a Tree, node: NodeId, struck: &'a HashSet<NodeId>) -> Self {
        Self { tree, node, struck, blanks: None }
    }

    /// The same, with these nodes read as blanks.
    #[must_use]
    pub fn with_blanks(self, blanks: &'a Blanks) -> Self {
        Self { blanks: Some(blanks), ..self }
    }

    /// What stands in for what is written at this node, where it is a blank.
    fn blank(self) -> Option<&'a Blanks> {
        self.blanks.filter(|blanks| blanks.nodes.contains(&self.node))
    }

    fn at(self, node: NodeId) -> Self {
        Self { node, ..self }
    }

    /// Whether an entry counts as written: neither struck out nor left empty, or a blank.
    fn counts(self, node: NodeId) -> bool {
        self.at(node).blank().is_some() || !self.struck.contains(&node) && !self.tree.is_null(node)
    }

    fn locate<T>(self, result: Result<T, ReadError>) -> Result<T, ReadError> {
        result.map_err(|error| ReadError { node: error.node.or(Some(self.node)), ..error })
    }

    fn visit<'de, V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        if self.blank().is_some() {
            return Err(de::Error::custom("only groups and lists can be blank"));
        }
        match self.tree.kind(self.node) {
            Kind::Map(map) => visitor.visit_map(Entries { reader: self, rest: map.entries().iter(), value: None }),
            Kind::Seq(items) => visitor.visit_seq(Items { reader: self, rest: items.iter() }),
            Kind::Scalar { .. } => match self.tree.scalar(self.node) {
                Some(Scalar::Bool(yes)) => visitor.visit_bool(yes),
                Some(Scalar::Int(number)) => visitor.visit_i64(number),
                Some(Scalar::Float(number)) => match whole(number) {
                    Some(whole) => visitor.visit_i64(whole),
                    None => visitor.visit_f64(number),
                },
                Some(Scalar::Text(text)) => visitor.visit_str(text),
                Some(Scalar::Null) | None => visitor.visit_unit(),
            },
        }
    }
}

/// `1.0` is the whole number that `1` is, as the schema takes it.
fn whole(number: f64) -> Option<i64> {
    const MOST: f64 = 9_007_199_254_740_992.0;
    #[expect(clippy::cast_possible_truncation, reason = "it has no fraction and is below 2^53")]
    (number.fract() == 0.0 && number.abs() < MOST).then_some(number as i64)
}

impl<'de> Deserializer<'de> for Reader<'_> {
    type Error = ReadError;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        self.locate(self.visit(visitor))
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        if self.counts(self.node) { visitor.visit_some(self) } else { visitor.visit_none() }
    }

    /// Text as it was written, also where it looks like a number: job number 2041 is a name.
    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match self.tree.text(self.node).filter(|_| self.blank().is_none()) {
            Some(text) => self.locate(visitor.visit_str(text)),
            None => self.deserialize_any(visitor),
        }
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        self.deserialize_str(visitor)
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(self, _: &'static str, visitor: V) -> Result<V::Value, ReadError> {
        self.locate(visitor.visit_newtype_struct(self))
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        match self.tree.kind(self.node) {
            _ if self.blank().is_some() => self.deserialize_any(visitor),
            Kind::Scalar { text, .. } => self.locate(visitor.visit_enum(text.as_str().into_deserializer())),
            Kind::Map(map) if map.entries().len() == 1 => {
                let entry = &map.entries()[0];
                self.locate(visitor.visit_enum(Tagged { reader: self, entry }))
            }
            _ => {
                let words = crate::words::either(variants);
                self.locate(Err(de::Error::custom(format!("a {name} is one of {words}"))))
            }
        }
    }

    /// A group that is passed over says nothing. So an item of a list keeps its number while it is only half written.
    fn deserialize_struct<V: Visitor<'de>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, ReadError> {
        if self.counts(self.node) && self.blank().is_none() {
            return self.deserialize_any(visitor);
        }
        self.locate(visitor.visit_map(Entries { reader: self, rest: [].iter(), value: None }))
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match self.blank() {
            Some(Blanks { names, .. }) => self.locate(visitor.visit_map(Named { reader: self, rest: names.iter() })),
            None => self.deserialize_any(visitor),
        }
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, ReadError> {
        match self.blank() {
            Some(_) => self.locate(visitor.visit_seq(Items { reader: self, rest: [self.node].iter() })),
            None => self.deserialize_any(visitor),
        }
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char bytes byte_buf unit unit_struct
        tuple tuple_struct identifier ignored_any
    }
}

/// Blank things by name.
struct Named<'a> {
    reader: Reader<'a>,
    rest: std::slice::Iter<'a, String>,
}

impl<'de> de::MapAccess<'de> for Named<'_> {
    type Error = ReadError;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, ReadError> {
        self.rest.next().map(|name| seed.deserialize(name.as_str().into_deserializer())).transpose()
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, ReadError> {
        seed.deserialize(self.reader)
    }
}

struct Entries<'a> {
    reader: Reader<'a>,
    rest: std::slice::Iter<'a, Entry>,
    value: Option<&'a Entry>,
}

impl<'de> de::MapAccess<'de> for Entries<'_> {
    type Error = ReadError;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, ReadError> {
        let reader = self.reader;
        self.value = self.rest.find(|entry| reader.counts(entry.value));
        self.value.map(|entry| seed.deserialize(entry.key.as_str().into_deserializer())).transpose()
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, ReadError> {
        match self.value.take() {
            Some(entry) => seed.deserialize(self.reader.at(entry.value)),
            None => Err(de::Error::custom("a value without a key")),
        }
    }
}

struct Items<'a, 'i> {
    reader: Reader<'a>,
    rest: std::slice::Iter<'i, NodeId>,
}

impl<'de> de::SeqAccess<'de> for Items<'_, '_> {
    type Error = ReadError;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, ReadError> {
        self.rest.next().map(|item| seed.deserialize(self.reader.at(*item))).transpose()
    }
}

struct Tagged<'a> {
    reader: Reader<'a>,
    entry: &'a Entry,
}

impl<'de, 'a> de::EnumAccess<'de> for Tagged<'a> {
    type Error = ReadError;
    type Variant = TaggedValue<'a>;

    fn variant_seed<V: DeserializeSeed<'de>>(self, seed: V) -> Result<(V::Value, TaggedValue<'a>), ReadError> {
        let tag = seed.deserialize(self.entry.key.as_str().into_deserializer())?;
        Ok((tag, TaggedValue(self.reader.at(self.entry.value))))
    }
}

struct TaggedValue<'a>(Reader<'a>);

impl<'de> de::VariantAccess<'de> for TaggedValue<'_> {
    type Error = ReadError;

    fn unit_variant(self) -> Result<(), ReadError> {
        Ok(())
    }
    fn newtype_variant_seed<T: DeserializeSeed<'de>>(self, seed: T) -> Result<T::Value, ReadError> {
        seed.deserialize(self.0)
    }
    fn tuple_variant<V: Visitor<'de>>(self, _: usize, visitor: V) -> Result<V::Value, ReadError> {
        self.0.deserialize_any(visitor)
    }
    fn struct_variant<V: Visitor<'de>>(self, _: &'static [&'static str], visitor: V) -> Result<V::Value, ReadError> {
        self.0.deserialize_any(visitor)
    }
}
