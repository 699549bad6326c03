//! The drawings of the sheet, each where it belongs.

use maud::{Markup, html};

use crate::sheet::coils;
use crate::sheet::plots::{boxes, budget, drops, filters, fuses};
use crate::sheet::{Drawing, View, circuit, vehicle};

/// A circuit that is no higher fits below the cautions on paper, where the vehicle never does.
const BELOW_CAUTIONS: f64 = 430.0;

/// The way of every wire through the vehicle, and the circuit: this first where the first page of paper has room for it.
pub fn wiring(view: &View<'_>) -> Markup {
    let (vehicle, circuit) = (vehicle(view), circuit(view));
    let fits = circuit.as_ref().is_some_and(|circuit| circuit.height <= BELOW_CAUTIONS);
    let drawings = if fits { [circuit, vehicle] } else { [vehicle, circuit] };
    figures(drawings.into_iter().flatten())
}

/// Fuses against their wires.
pub fn runs(view: &View<'_>) -> Markup {
    figures(fuses(view).drawings)
}

/// What is lost on the way to each amplifier.
pub fn reaches(view: &View<'_>) -> Markup {
    figures(drops(view).drawings)
}

/// What battery and alternator have.
pub fn supply(view: &View<'_>) -> Markup {
    figures(budget(view).drawings)
}

/// How the coils of each load are joined.
pub fn loads(view: &View<'_>) -> Markup {
    figures(coils::coils(view).drawings)
}

/// What filters and boxes do to the music.
pub fn settings(view: &View<'_>) -> Markup {
    figures([filters(view), boxes(view)].into_iter().flat_map(|drawn| drawn.drawings))
}

/// Up to this width two drawings fit side by side.
const NARROW: f64 = 400.0;

/// Drawings as figures; two small ones stand side by side where there is room.
fn figures(drawings: impl IntoIterator<Item = Drawing>) -> Markup {
    let drawings: Vec<Drawing> = drawings.into_iter().collect();
    let figure = |drawing: &Drawing| {
        let pieces = drawing.pieces();
        let class = if pieces.is_empty() { None } else { Some("tall") };
        html! { figure class=[class] { figcaption { (drawing.title) } (drawing.svg()) @for piece in pieces { (piece) } } }
    };
    html! {
        @if !drawings.is_empty() {
            div.figures {
                @for alike in drawings.chunk_by(|one, other| is_narrow(one) && is_narrow(other)) {
                    @for beside in alike.chunks(2) {
                        @if is_narrow(&beside[0]) { div.beside { @for drawing in beside { (figure(drawing)) } } }
                        @else { (figure(&beside[0])) }
                    }
                }
            }
        }
    }
}

fn is_narrow(drawing: &Drawing) -> bool {
    drawing.width < NARROW
}
