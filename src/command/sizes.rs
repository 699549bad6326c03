//! `fix --sizes`: the sizes that were chosen, as a table for people.

use std::io::{self, Write};

use super::complain;
use crate::house::House;
use crate::judge::{Chosen, Sizes, Sizing, sizes};
use crate::plan::{Reading, Stage};
use crate::report::clean;
use crate::rules;
use crate::words::{all, count};

/// Chooses the sizes of a plan.
pub fn choose(name: &str, bytes: &[u8], reading: &Reading, house: &House) -> Sizes {
    let (local, network) = rules::of_sizes();
    let nothing = |why: &str| {
        complain(&format!("{name}: {why}"));
        Sizes::unchanged(reading, Vec::new())
    };
    if reading.text.as_bytes() != bytes {
        return nothing("not in plain UTF-8; save it so first");
    }
    if reading.tree.node("plan").is_none() {
        return Sizes::unchanged(reading, Vec::new());
    }
    if reading.plan.stage() == Stage::Installed {
        return Sizes::unchanged(reading, vec!["it is built: `stage: planned` has its sizes chosen anew".to_owned()]);
    }
    if let Some(misread) = reading.misreads.first() {
        return Sizes::unchanged(reading, vec![format!("words that cannot be read come first: {}", misread.what)]);
    }
    sizes(reading, house, Sizing { local: &local, network: &network }, &rules::all())
}

const HEADS: [&str; 6] = ["", "size", "fuse", "drop", "carries", "to spare"];

/// Prints what was chosen, what stays, and what to look at.
///
/// # Errors
/// When it cannot be written.
pub fn print(name: &str, sizes: &Sizes, out: &mut dyn Write) -> io::Result<()> {
    if !sizes.obstacles.is_empty() {
        writeln!(out, "{}: no sizes chosen", clean(name))?;
        for obstacle in &sizes.obstacles {
            writeln!(out, "  {}", clean(obstacle))?;
        }
        return Ok(());
    }
    if sizes.chosen.is_empty() {
        return writeln!(out, "{}: every size and fuse of the supply stays", clean(name));
    }
    writeln!(out, "{}: {} chosen", clean(name), count(sizes.chosen.len(), "run"))?;
    let rows: Vec<[String; 6]> =
        std::iter::once(HEADS.map(str::to_owned)).chain(sizes.chosen.iter().map(row)).collect();
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let widths: [usize; 6] = std::array::from_fn(width);
    for row in &rows {
        let cells = row.iter().zip(widths).map(|(cell, width)| format!("{cell:width$}"));
        writeln!(out, "  {}", clean(cells.collect::<Vec<_>>().join("  ").trim_end()))?;
    }
    if !sizes.kept.is_empty() {
        writeln!(out, "  stays: {}", clean(&all(&sizes.kept)))?;
    }
    for words in sizes.placed.iter().chain(&sizes.left) {
        writeln!(out, "  look at {}", clean(words))?;
    }
    Ok(())
}

fn row(chosen: &Chosen) -> [String; 6] {
    let change = |before: Option<String>, now: String| format!("{} -> {now}", before.unwrap_or_else(|| "none".into()));
    let size = chosen.size.map(|(before, now)| change(before.map(|size| size.to_string()), now.to_string()));
    let fuses: Vec<String> = chosen.fuses.iter().map(|(before, now)| change(before.clone(), now.clone())).collect();
    let shown = |range: Option<String>| range.unwrap_or_default();
    [
        chosen.path.clone(),
        size.unwrap_or_else(|| "stays".to_owned()),
        all(&fuses),
        shown(chosen.drop.map(|drop| drop.to_string())),
        shown(chosen.ampacity.map(|ampacity| ampacity.to_string())),
        shown(chosen.spare.map(|spare| format!("{:.0} %", spare.low() * 100.0))),
    ]
}
