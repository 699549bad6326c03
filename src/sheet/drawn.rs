//! What could be drawn of several things, and why the rest could not.

use super::drawing::Drawing;
use crate::solve::{Decided, Undecided};

/// Drawings of several things of one kind.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Drawn {
    /// Those that could be drawn.
    pub drawings: Vec<Drawing>,
    /// The others.
    pub missing: Vec<Missing>,
}

/// A drawing that is not there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    /// The path of what it would show, like `loads.bass`.
    pub of: String,
    /// Why it is not there, as a phrase.
    pub why: String,
}

impl Drawn {
    /// Sorts what could be drawn from what could not, each with the path of what it shows.
    pub fn of(parts: impl IntoIterator<Item = (String, Decided<Drawing>)>) -> Self {
        let mut drawn = Self::default();
        for (of, part) in parts {
            match part {
                Ok(drawing) => drawn.drawings.push(drawing),
                Err(undecided) => drawn.missing.push(Missing { of, why: why(&undecided) }),
            }
        }
        drawn
    }
}

/// Why something is not known, as a phrase.
pub fn why(undecided: &Undecided) -> String {
    match undecided {
        Undecided::NotApplicable(reason) => (*reason).to_owned(),
        Undecided::Open(places) if places.is_empty() => {
            "it works with some values of what is not stated only".to_owned()
        }
        Undecided::Open(places) => {
            let paths: Vec<String> = places.iter().map(ToString::to_string).collect();
            format!("not stated: {}", crate::words::all(&paths))
        }
    }
}
