//! A tree as the schema's validator looks at it: nothing is copied before something is wrong.

use std::borrow::Cow;

use jsonschema::JsonType;
use jsonschema::json::{Array, Json, Node, NodeIdentity, Object};
use serde_json::{Number, Value};

use crate::text::{Entry, Kind, Map, NodeId, Scalar, Tree};

/// How trees are looked at.
pub(crate) struct Instances;

/// One value of a tree, or the name of a key.
#[derive(Clone, Copy)]
pub(crate) enum Instance<'a> {
    Node(&'a Tree, NodeId),
    Name(&'a str),
}

/// The keys of a mapping.
pub(crate) struct Keys<'a>(&'a Tree, &'a Map);

/// The items of a list.
pub(crate) struct Items<'a>(&'a Tree, &'a [NodeId]);

impl<'a> Instance<'a> {
    fn scalar(self) -> Option<Scalar<'a>> {
        match self {
            Self::Node(tree, node) => tree.scalar(node),
            Self::Name(name) => Some(Scalar::Text(name)),
        }
    }

    /// Its words, where the schema sees a string. JSON has no number that is not finite: there it is its words.
    fn words(self) -> Option<&'a str> {
        match (self, self.scalar()?) {
            (_, Scalar::Text(text)) => Some(text),
            (Self::Node(tree, node), Scalar::Float(number)) if !number.is_finite() => tree.text(node),
            _ => None,
        }
    }
}

impl Json for Instances {
    type Node<'a> = Instance<'a>;
    type PreparedKey = String;
    type StringBuffer = ();
    // Small mappings are searched from the front.
    const KEYS_PER_LOOKUP: usize = 2;
    // An alias within its own thing is refused before.
    const ACYCLIC: bool = true;

    fn prepare_key(key: &str) -> String {
        key.to_owned()
    }

    fn with_string_node<T>((): &mut (), string: &str, f: impl FnOnce(Instance<'_>) -> T) -> T {
        f(Instance::Name(string))
    }
}

impl<'a> Node<'a, Instances> for Instance<'a> {
    type Object = Keys<'a>;
    type Array = Items<'a>;
    type Number = Number;

    fn as_object(&self) -> Option<Keys<'a>> {
        match self {
            Self::Node(tree, node) => tree.map(*node).map(|map| Keys(tree, map)),
            Self::Name(_) => None,
        }
    }

    fn as_array(&self) -> Option<Items<'a>> {
        match self {
            Self::Node(tree, node) => match tree.kind(*node) {
                Kind::Seq(items) => Some(Items(tree, items)),
                _ => None,
            },
            Self::Name(_) => None,
        }
    }

    fn as_string(&self) -> Option<Cow<'a, str>> {
        self.words().map(Cow::Borrowed)
    }

    fn as_number(&self) -> Option<Number> {
        match self.scalar()? {
            Scalar::Int(number) => Some(number.into()),
            Scalar::Float(number) => Number::from_f64(number),
            _ => None,
        }
    }

    fn as_boolean(&self) -> Option<bool> {
        match self.scalar()? {
            Scalar::Bool(yes) => Some(yes),
            _ => None,
        }
    }

    fn is_null(&self) -> bool {
        matches!(self.scalar(), Some(Scalar::Null))
    }

    fn json_type(&self) -> JsonType {
        match self.scalar() {
            Some(Scalar::Null) => JsonType::Null,
            Some(Scalar::Bool(_)) => JsonType::Boolean,
            Some(Scalar::Int(_)) => JsonType::Number,
            Some(Scalar::Float(number)) if number.is_finite() => JsonType::Number,
            Some(_) => JsonType::String,
            None if self.as_object().is_some() => JsonType::Object,
            None => JsonType::Array,
        }
    }

    fn equals_value(&self, expected: &Value) -> bool {
        match (self.words(), expected) {
            (Some(words), Value::String(expected)) => words == expected,
            (Some(_), _) | (None, Value::String(_)) => false,
            _ => jsonschema::json::cmp::equal(&self.to_value(), expected),
        }
    }

    fn to_value(&self) -> Cow<'a, Value> {
        Cow::Owned(match self {
            Self::Node(tree, node) => tree.to_json(*node),
            Self::Name(name) => Value::from(*name),
        })
    }

    fn identity(&self) -> Option<NodeIdentity> {
        match self {
            Self::Node(tree, node) => {
                let tag = u32::try_from(*node).ok()?;
                Some(NodeIdentity::tagged(std::ptr::from_ref::<Tree>(tree) as usize, tag))
            }
            Self::Name(name) => Some(NodeIdentity::new(name.as_ptr() as usize)),
        }
    }
}

/// The entries of a mapping, as the validator goes through them.
pub(crate) struct Members<'a>(&'a Tree, std::slice::Iter<'a, Entry>);

impl<'a> Iterator for Members<'a> {
    type Item = (&'a str, Instance<'a>);

    fn next(&mut self) -> Option<Self::Item> {
        self.1.next().map(|entry| (entry.key.as_str(), Instance::Node(self.0, entry.value)))
    }
}

impl<'a> Object<'a, Instances> for Keys<'a> {
    type Node = Instance<'a>;
    type MemberName = &'a str;
    type MembersIter = Members<'a>;

    fn len(&self) -> usize {
        self.1.entries().len()
    }

    fn get(&self, key: &String) -> Option<Instance<'a>> {
        self.1.get(key).map(|entry| Instance::Node(self.0, entry.value))
    }

    fn members(&self) -> Members<'a> {
        Members(self.0, self.1.entries().iter())
    }
}

/// The items of a list, as the validator goes through them.
pub(crate) struct Elements<'a>(&'a Tree, std::slice::Iter<'a, NodeId>);

impl<'a> Iterator for Elements<'a> {
    type Item = Instance<'a>;

    fn next(&mut self) -> Option<Self::Item> {
        self.1.next().map(|node| Instance::Node(self.0, *node))
    }
}

impl<'a> Array<'a, Instances> for Items<'a> {
    type Node = Instance<'a>;
    type ElementsIter = Elements<'a>;

    fn len(&self) -> usize {
        self.1.len()
    }

    fn elements(&self) -> Elements<'a> {
        Elements(self.0, self.1.iter())
    }
}
