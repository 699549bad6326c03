//! What a job knows: stated facts, assumed ranges, and what has to be found out.

use std::borrow::Cow;
use std::fmt;
use std::ops::Deref;
use std::sync::Arc;

use crate::quantity::{Dimension, Range};
use crate::text::parts;

/// A place in a plan: a thing and a key below it. `wires.main` and `fuse.rating` make `wires.main.fuse.rating`.
#[derive(Debug, Clone)]
pub struct Place {
    thing: Arc<str>,
    key: Cow<'static, str>,
}

impl Place {
    /// A key below a thing.
    pub fn below(thing: &Arc<str>, key: impl Into<Cow<'static, str>>) -> Self {
        Self { thing: Arc::clone(thing), key: key.into() }
    }

    /// A key below this place.
    #[must_use]
    pub fn sub(&self, key: &'static str) -> Self {
        if self.key.is_empty() {
            Self::below(&self.thing, key)
        } else {
            Self::below(&self.thing, format!("{}.{key}", self.key))
        }
    }

    /// Any path.
    pub fn of(path: impl Into<Arc<str>>) -> Self {
        Self { thing: path.into(), key: Cow::Borrowed("") }
    }

    /// The parts of the path.
    pub fn segments(&self) -> impl Iterator<Item = &str> {
        parts(&self.thing).chain(parts(&self.key))
    }

    /// The parts of the path, the last first.
    pub fn parts_from_the_end(&self) -> impl Iterator<Item = &[u8]> {
        from_the_end(&self.key).chain(from_the_end(&self.thing))
    }

    fn bytes(&self) -> impl Iterator<Item = u8> {
        let dot = if self.thing.is_empty() || self.key.is_empty() { "" } else { "." };
        self.thing.bytes().chain(dot.bytes()).chain(self.key.bytes())
    }

    /// The whole path.
    pub fn path(&self) -> String {
        self.to_string()
    }

    /// The last part of the path: the key that states the fact.
    pub fn key(&self) -> &str {
        let whole = if self.key.is_empty() { &*self.thing } else { &*self.key };
        whole.rsplit('.').next().unwrap_or(whole)
    }
}

/// The parts of a path, the last first, empty ones left out. They are short: to look for points byte by byte is quicker
/// than a search.
pub fn from_the_end(path: &str) -> impl Iterator<Item = &[u8]> {
    path.as_bytes().rsplit(|byte| *byte == b'.').filter(|part| !part.is_empty())
}

/// Two places are one when their paths are, however they were put together.
impl PartialEq for Place {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Place {}

impl PartialOrd for Place {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Place {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        // Mostly both are keys of one thing, or things without a key.
        if Arc::ptr_eq(&self.thing, &other.thing) || self.thing == other.thing {
            return self.key.cmp(&other.key);
        }
        if self.key.is_empty() && other.key.is_empty() {
            return self.thing.cmp(&other.thing);
        }
        self.bytes().cmp(other.bytes())
    }
}

impl std::hash::Hash for Place {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        // Of all letters one number (FNV-1a), for a hasher takes long over each call.
        let step = |number: u64, byte: u8| (number ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        state.write_u64(self.bytes().fold(0xcbf2_9ce4_8422_2325, step));
    }
}

impl fmt::Display for Place {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.thing.is_empty(), self.key.is_empty()) {
            (_, true) => out.write_str(&self.thing),
            (true, false) => out.write_str(&self.key),
            (false, false) => write!(out, "{}.{}", self.thing, self.key),
        }
    }
}

/// A named thing of a plan with its path: what a rule judges.
#[derive(Debug, Clone)]
pub struct Thing<'a, T> {
    /// Its name.
    pub name: &'a str,
    /// Where it stands, like `wires.main`.
    pub address: Arc<str>,
    is: &'a T,
}

impl<'a, T> Thing<'a, T> {
    /// A thing at a path.
    pub fn new(section: &str, name: &'a str, is: &'a T) -> Self {
        Self { name, address: [section, ".", name].concat().into(), is }
    }

    /// The thing with the plan's lifetime.
    pub fn plan(&self) -> &'a T {
        self.is
    }

    /// The place of one of its keys.
    pub fn at(&self, key: impl Into<Cow<'static, str>>) -> Place {
        Place::below(&self.address, key)
    }

    /// The place of the thing itself.
    pub fn place(&self) -> Place {
        Place::of(Arc::clone(&self.address))
    }

    /// A fact that has to be stated to go on.
    ///
    /// # Errors
    /// The need for it, when it is not stated.
    pub fn need<F: Clone>(&self, key: impl Into<Cow<'static, str>>, fact: &Option<F>) -> Decided<F> {
        fact.clone().ok_or_else(|| Undecided::need(self.at(key)))
    }
}

impl<T> Deref for Thing<'_, T> {
    type Target = T;
    fn deref(&self) -> &T {
        self.is
    }
}

/// Where a number comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Origin {
    /// The plan states it here.
    Stated(Place),
    /// The plan could state it here; until then a range is assumed, with its source.
    Assumed(Place, &'static str),
    /// A limit of the house, by name, with its source.
    House(&'static str, &'static str),
    /// A table or a standard.
    Table(&'static str),
    /// Computed, by this formula or from these things.
    Computed(&'static str),
}

/// A number with where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Known<D: Dimension> {
    /// The number, or the range it lies in.
    pub range: Range<D>,
    /// Where it comes from.
    pub origin: Origin,
}

impl<D: Dimension> Known<D> {
    /// A computed number.
    pub fn computed(range: Range<D>, how: &'static str) -> Self {
        Self { range, origin: Origin::Computed(how) }
    }

    /// A number out of a table or a standard.
    pub fn table(range: Range<D>, source: &'static str) -> Self {
        Self { range, origin: Origin::Table(source) }
    }
}

/// Why a check gives neither pass nor fail.
#[derive(Debug, Clone, PartialEq)]
pub enum Undecided {
    /// These facts have to be stated first.
    Open(Vec<Place>),
    /// The rule has nothing to say about this subject, for this reason.
    NotApplicable(&'static str),
}

impl Undecided {
    /// One fact has to be stated first.
    pub fn need(place: Place) -> Self {
        Self::Open(vec![place])
    }
}

/// A value, or why there is none.
pub type Decided<T> = Result<T, Undecided>;

/// Gathers several values: all of them, or every fact that is missing.
///
/// # Errors
/// Every need together; a part that does not apply outweighs needs. A part may be open without any need, where it turns
/// on facts that are known by range.
pub fn all<T>(parts: impl IntoIterator<Item = Decided<T>>) -> Decided<Vec<T>> {
    let mut values = Vec::new();
    let mut open = false;
    let mut needs = Vec::new();
    for part in parts {
        match part {
            Ok(value) => values.push(value),
            Err(Undecided::Open(more)) => {
                open = true;
                needs.extend(more);
            }
            Err(not_applicable) => return Err(not_applicable),
        }
    }
    if !open {
        return Ok(values);
    }
    needs.sort();
    needs.dedup();
    Err(Undecided::Open(needs))
}
