//! The language server: what an editor shows of a plan while it is being written.
//!
//! A [`session`] takes messages one after the other; a [`document`] is an open text with what was found in it, [`paper`] what
//! is found in one that is no plan; [`houses`] keeps what plans are judged by; [`requests`] leads to what answers one kind of
//! question each, from what lies on the [`desk`]. Lines and columns exist only in [`positions`].

mod actions;
mod changes;
mod client;
mod completion;
mod desk;
mod diagnostics;
mod document;
mod explained;
mod hints;
mod houses;
mod hover;
mod kind;
mod mailbox;
mod names;
mod on_paper;
mod outline;
mod paper;
mod positions;
mod requests;
mod session;
mod shelf;
mod sizes;
mod slot;

pub use houses::{Finder, Found, Unsaved};
pub use requests::ASKED;
pub use session::{Talk, serve};
