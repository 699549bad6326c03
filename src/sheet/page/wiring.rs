//! The way of the wires and the circuit, drawn.

use maud::Markup;

use super::bits::Asks;
use super::drawings;
use crate::sheet::View;

/// The drawings; nothing where there is none.
pub fn body(view: &View<'_>, _: &mut Asks) -> Markup {
    drawings::wiring(view)
}
