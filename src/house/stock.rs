//! What lies on the shelf.

use std::collections::BTreeMap;

use crate::plan::FuseForm;
use crate::quantity::{Current, Gauge, Quantity};

/// Wires and fuses that a house keeps. What it does not state, nothing is known of.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stock {
    /// Sizes of wire, thin to thick.
    pub wires: Vec<Gauge>,
    /// Ratings of fuses by form, rising.
    pub fuses: BTreeMap<FuseForm, Vec<Quantity<Current>>>,
}

impl Stock {
    /// The thinnest wire on the shelf with at least this cross-section, in mm2.
    pub fn wire_at_least(&self, square_millimetres: f64) -> Option<Gauge> {
        self.wires.iter().copied().find(|wire| wire.square_millimetres() >= square_millimetres * (1.0 - 1e-9))
    }

    /// Ratings of a form that the house keeps, if it says which.
    pub fn ratings(&self, form: FuseForm) -> Option<&[Quantity<Current>]> {
        self.fuses.get(&form).map(Vec::as_slice)
    }

    /// The largest fuse on the shelf up to so many amperes, in brackets for the end of a sentence; empty without one.
    pub fn named_at_most(&self, form: Option<FuseForm>, amperes: f64) -> String {
        let ratings = form.and_then(|form| self.ratings(form)).unwrap_or_default();
        named(ratings.iter().rev().find(|rating| rating.base() <= amperes * (1.0 + 1e-9)))
    }

    /// The smallest fuse on the shelf from so many amperes on, in brackets for the end of a sentence; empty without one.
    pub fn named_at_least(&self, form: Option<FuseForm>, amperes: f64) -> String {
        let ratings = form.and_then(|form| self.ratings(form)).unwrap_or_default();
        named(ratings.iter().find(|rating| rating.base() >= amperes * (1.0 - 1e-9)))
    }
}

fn named(rating: Option<&Quantity<Current>>) -> String {
    rating.map(|rating| format!(" ({rating} is in stock)")).unwrap_or_default()
}
