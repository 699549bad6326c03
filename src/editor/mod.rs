//! The language server: what an editor shows of a plan while it is being written.
//!
//! A [`session`] takes messages one after the other; a [`document`] is an open text with what was found in it, [`paper`] one
//! that is no plan; [`houses`] keeps what plans are judged by; everything else answers one kind of question about a document. Lines and columns exist only in [`positions`].

mod actions;
mod changes;
mod client;
mod completion;
mod diagnostics;
mod document;
mod hints;
mod houses;
mod hover;
mod mailbox;
mod names;
mod outline;
mod paper;
mod positions;
mod requests;
mod session;
mod sizes;
mod slot;

pub use houses::{Finder, Found, Unsaved};
pub use requests::ASKED;
pub use session::{Talk, serve};
