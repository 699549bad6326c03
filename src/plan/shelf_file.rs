//! A shelf file by itself: what a plan that takes everything from it would be told.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use schemars::JsonSchema;
use serde::Deserialize;
use serde_json::Value;

use super::lookup::Lookup;
use super::reading::{Taken, take};
use super::schema::{Format, checked_in, derived};
use super::{
    Amplifier, Battery, Block, Capacitor, Converter, Driver, Enclosure, Isolator, Shelves, Source, Vehicle, shape,
};
use crate::text::{Misread, Tree};

/// One shelf file: gear and vehicles that come again and again, by name.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct ShelfFile {
    /// Version of the format of shelf files: 1.
    #[schemars(range(min = 1, max = 1))]
    pub shelf: Option<u32>,
    /// Amplifiers, by the name that plans refer to.
    pub amplifiers: BTreeMap<String, Amplifier>,
    /// Drivers, by the name that plans refer to: anything with voice coils.
    pub drivers: BTreeMap<String, Driver>,
    /// Boxes for drivers, by the name that plans refer to.
    pub enclosures: BTreeMap<String, Enclosure>,
    /// Where audio comes from, by the name that plans refer to.
    pub sources: BTreeMap<String, Source>,
    /// Converters from speaker level to line level, by the name that plans refer to.
    pub converters: BTreeMap<String, Converter>,
    /// Batteries, by the name that plans refer to.
    pub batteries: BTreeMap<String, Battery>,
    /// Devices that part two batteries, by the name that plans refer to.
    pub isolators: BTreeMap<String, Isolator>,
    /// Distribution blocks, by the name that plans refer to.
    pub blocks: BTreeMap<String, Block>,
    /// Capacitors across the supply beside amplifiers, by the name that plans refer to.
    pub capacitors: BTreeMap<String, Capacitor>,
    /// Vehicles as they leave the factory, by the name that plans refer to.
    pub vehicles: BTreeMap<String, Vehicle>,
    /// Free text.
    pub note: Option<String>,
}

static SHELF: Format = Format {
    key: "shelf",
    version: 1,
    like: "a list of keys like `shelf:`, `amplifiers:` and `vehicles:`",
    most_things: usize::MAX,
    schema: LazyLock::new(|| checked_in(include_str!("../../schema/shelf.schema.json"))),
    shape: &shape::SHELF,
};

/// The JSON Schema of a shelf file, from its types.
pub fn schema() -> Value {
    derived::<ShelfFile>("shelf")
}

/// What the schema of a shelf file says.
pub fn lookup() -> Lookup {
    Lookup(&SHELF.schema)
}

/// Reads a shelf file with everything that a plan could be told about its things, and about what they refer to in turn.
pub fn read(text: &str, shelves: &Shelves) -> (Tree, Vec<Misread>) {
    let Taken { tree, mut misreads, .. } = take::<ShelfFile>(&SHELF, text, None);
    misreads.extend(shelves.complete(&mut tree.clone()));
    misreads.sort_by_key(|misread| (misread.span.start, misread.span.end));
    (tree, misreads)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str) -> Vec<(String, String)> {
        let misreads = read(text, &Shelves::default()).1;
        misreads.into_iter().map(|misread| (text[misread.span].to_owned(), misread.what)).collect()
    }

    #[test]
    fn things_on_a_shelf_are_read_as_a_plan_would_read_them() {
        let text = "shelf: 1\namplifiers:\n  one: {channels: two}\nvehicles: {van: {voltage: 12V}}\nwires: {}\n";
        let found = told(text);
        let places: Vec<&str> = found.iter().map(|(place, _)| place.as_str()).collect();
        assert_eq!(places, ["two", "12V", "wires"], "{found:?}");
        assert!(told("shelf: 1\namplifiers:\n  one: {channels: 2}\n").is_empty());
    }

    #[test]
    fn what_a_vehicle_on_the_shelf_refers_to_must_be_there() {
        let text = "shelf: 1\nvehicles: {van: {shelf: bus, battery: {shelf: big}}}\n";
        let places: Vec<String> = told(text).into_iter().map(|(place, _)| place).collect();
        assert_eq!(places, ["bus", "big"]);
    }

    #[test]
    fn every_key_says_what_it_means() {
        assert!(lookup().about("vehicles.van.alternator.rated").is_some());
        assert!(lookup().keys("").len() > 8);
    }
}
