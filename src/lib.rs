//! testlamp judges vehicle-audio installation plans.
//!
//! The way of a plan: [`text`] parses it once into a tree with places, [`plan`] reads it into types, [`house`] holds what it
//! is judged by, [`solve`] computes what flows, [`judge`] runs the [`rules`], [`report`] tells people and machines, [`sheet`]
//! prints what the bench needs, [`book`] teaches the rules, [`editor`] talks to editors; [`start`] drafts plans, [`drill`]
//! spoils them for practice; [`command`] is the command line. Each knows only those before it; [`quantity`] and [`words`]
//! belong to all.

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
