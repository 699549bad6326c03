//! The vehicle seen from above, the nose up: things in their zones, runs on their ways.

mod body;
mod frame;
mod outline;
mod route;
mod shell;
mod things;
mod tile;
mod ways;

use super::View;
use super::drawing::Drawing;

/// The vehicle seen from above; none where nothing of a plan has a place in it.
pub fn vehicle(view: &View<'_>) -> Option<Drawing> {
    let scene = things::scene(view);
    if scene.items.is_empty() && scene.runs.is_empty() {
        return None;
    }
    Some(frame::Frame::of(&scene).draw(&scene))
}
