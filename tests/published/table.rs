//! Reads the published tables: lines that start with `#` say where a table comes from, then one line of column names,
//! then the rows, all separated by tabs. An empty cell means the source gives nothing there.
#![allow(dead_code, reason = "each test file reads its tables in its own way")]

use testlamp::quantity::Gauge;

/// One row of a published table.
pub struct Row {
    cells: Vec<(&'static str, &'static str)>,
}

impl Row {
    /// What is printed in a column.
    pub fn text(&self, column: &str) -> &'static str {
        self.cells.iter().find(|(name, _)| *name == column).map(|(_, cell)| *cell).expect("a column of the table")
    }

    /// The number printed in a column, if any.
    pub fn printed(&self, column: &str) -> Option<f64> {
        let cell = self.text(column);
        (!cell.is_empty()).then(|| cell.parse().expect("a number"))
    }

    /// The number printed in a column that has one in every row.
    pub fn number(&self, column: &str) -> f64 {
        self.printed(column).expect("a printed number")
    }

    /// One unit of the last decimal printed in a column: 0.001 for 0.245.
    pub fn last_decimal(&self, column: &str) -> f64 {
        let decimals = self.text(column).split_once('.').map_or(0, |(_, decimals)| decimals.len());
        10_f64.powf(-f64::from(u8::try_from(decimals).expect("few decimals")))
    }
}

/// The rows of a table.
pub fn rows(table: &'static str) -> Vec<Row> {
    let mut lines = table.lines().filter(|line| !line.starts_with('#') && !line.is_empty());
    let names: Vec<&str> = lines.next().expect("column names").split('\t').collect();
    let rows: Vec<Row> = lines
        .map(|line| {
            let cells: Vec<&str> = line.split('\t').collect();
            assert_eq!(cells.len(), names.len(), "cells in `{line}`");
            Row { cells: names.iter().copied().zip(cells).collect() }
        })
        .collect();
    assert!(!rows.is_empty(), "a table with rows");
    rows
}

/// A wire size as a table prints it: `14`, `1/0`.
pub fn awg(row: &Row) -> Gauge {
    Gauge::read(&format!("{} AWG", row.text("awg"))).expect("a wire size")
}

/// Fails unless two numbers agree within a tolerance.
#[track_caller]
pub fn agree(what: &str, ours: f64, theirs: f64, tolerance: f64) {
    assert!((ours - theirs).abs() <= tolerance, "{what}: {ours} here, {theirs} printed, {tolerance} allowed");
}
