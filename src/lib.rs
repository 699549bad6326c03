//! testlamp judges vehicle-audio installation plans.
//!
//! The way of a plan: [`text`] parses it once into a tree with places, [`plan`] reads it into types, [`solve`]
//! computes what flows, [`judge`] runs the [`rules`], [`report`] tells people and machines, [`book`] teaches the
//! rules, [`editor`] talks to editors, [`command`] is the command line. Each knows only those before it.

pub mod book;
pub mod command;
pub mod drill;
pub mod editor;
pub mod house;
pub mod judge;
pub mod plan;
pub mod quantity;
pub mod report;
#[path = "../rules/mod.rs"]
pub mod rules;
pub mod sheet;
pub mod solve;
pub mod start;
pub mod text;
pub mod words;
