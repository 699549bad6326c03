//! The drawings of the sheet, each where it belongs.

use maud::{Markup, html};

use crate::sheet::{Drawing, View};

/// The way of every wire through the vehicle, and the circuit.
pub fn wiring(_: &View<'_>) -> Vec<Drawing> {
    Vec::new()
}

/// How the coils of each load are joined.
pub fn coils(_: &View<'_>) -> Vec<Drawing> {
    Vec::new()
}

/// What filters and boxes do to the music.
pub fn plots(_: &View<'_>) -> Vec<Drawing> {
    Vec::new()
}

/// Drawings one below the other; nothing without any.
pub fn figures(drawings: Vec<Drawing>) -> Markup {
    html! {
        @for drawing in drawings {
            figure { figcaption { (drawing.title) } (drawing.svg()) }
        }
    }
}
