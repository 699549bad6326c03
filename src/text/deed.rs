//! What can be done at a path of a text.

use super::edit::{Edit, in_line, set};
use super::list;
use super::tree::Tree;

/// What is done at a path.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Deed {
    /// It says this value, written as in a plan.
    Set(String),
    /// A key or an item of a list goes, with what holds it where nothing else is left in there.
    Remove,
    /// The same, and what is said to people on its lines goes too.
    Strike,
    /// A thing is written once more under this name, behind itself.
    Repeat(String),
    /// An item of a list comes before the one at this path, or behind the last one.
    Insert(String),
    /// An item of a list moves before the one with this number, or behind the last one.
    Move(usize),
}

/// The change that does something at a path.
///
/// # Errors
/// A sentence, as for [`set`]; and where lines cannot be taken out or moved whole.
pub fn change(text: &str, tree: &Tree, path: &str, deed: &Deed) -> Result<Edit, String> {
    match deed {
        Deed::Set(value) => set(text, tree, path, value),
        Deed::Remove => list::remove(text, tree, path, true),
        Deed::Strike => list::remove(text, tree, path, false),
        Deed::Repeat(name) => list::repeat(text, tree, path, name),
        Deed::Insert(value) => list::insert(text, tree, path, &in_line(value)?),
        Deed::Move(to) => list::shift(text, tree, path, *to),
    }
}
