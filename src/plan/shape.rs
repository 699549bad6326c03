//! The shape of files that people write: what the schema of a format asks, as tables that the build writes down.

/// What may stand at a place.
pub(crate) enum Shape {
    /// A group of known keys.
    Group {
        /// The keys that may be there.
        keys: &'static [(&'static str, &'static Shape)],
        /// The keys that must be there.
        needs: &'static [&'static str],
        /// How many of them may be there.
        count: Count,
    },
    /// Things by name.
    Named {
        /// What names they may have.
        names: Names,
        /// What each is.
        each: &'static Shape,
    },
    /// A list of such things.
    List(&'static Shape),
    /// One of several.
    Either(&'static [&'static Shape]),
    /// A word of a closed list.
    Words {
        /// The words.
        words: &'static [&'static str],
        /// Those that YAML takes for numbers when they stand without quotes.
        numbers: &'static [f64],
    },
    /// A quantity, or another text that the plan reads in a way of its own, by its kind.
    Quantity(&'static str),
    /// The version of the format.
    Version {
        /// The key.
        key: &'static str,
        /// The one version that is known.
        is: u32,
    },
    /// A single value.
    Value {
        /// Of one of these types.
        types: &'static [Type],
        /// A number is not less than this.
        least: Option<f64>,
        /// A number is not more than this.
        most: Option<f64>,
        /// A text is not empty.
        filled: bool,
    },
}

/// How many keys a group may have.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Count {
    /// Any number.
    Any,
    /// Just one.
    One,
    /// One, and beside it this key.
    OneWith(&'static str),
}

/// What names things may have.
pub(crate) enum Names {
    /// Any.
    Any,
    /// Letters, digits, `-` and `_`, so that a point can part a name from a terminal.
    Plain,
    /// Words of a closed list.
    Of(&'static Shape),
}

/// The type of a single value.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Type {
    /// A text.
    Text,
    /// A whole number.
    Whole,
    /// A number.
    Number,
    /// `true` or `false`.
    YesNo,
}

include!(concat!(env!("OUT_DIR"), "/shapes.rs"));
