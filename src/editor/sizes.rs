//! Sizes for the supply, offered where the cursor stands on it.

use std::ops::Range;

use gen_lsp_types::{CodeAction, CodeActionKind};

use super::changes;
use super::client::Client;
use super::document::{Document, Judged};
use crate::judge::{Sizing, sizes};
use crate::report::clean;
use crate::rules;
use crate::words::all;

/// Chooses sizes and fuses of the supply, where the range lies in its wires and something is missing or does not hold.
pub fn action(document: &Document, judged: &Judged, range: &Range<usize>, client: &Client) -> Option<CodeAction> {
    let tree = &judged.reading.tree;
    let wires = tree.span(tree.node("wires")?);
    let touched = wires.start <= range.end && range.start <= wires.end;
    if !touched || !judged.reading.misreads.is_empty() {
        return None;
    }
    let (local, network) = rules::of_sizes();
    let sizing = Sizing { local: &local, network: &network };
    let chosen = sizes(&judged.reading, &judged.house, sizing, &rules::all());
    let edit = chosen.edit?;
    let named =
        chosen.chosen.iter().filter_map(|one| Some(format!("{} {}", one.path.strip_prefix("wires.")?, one.size?.1)));
    let named: Vec<String> = named.collect();
    let named = if named.is_empty() { String::new() } else { format!(": {}", all(&named)) };
    Some(CodeAction {
        title: clean(&format!("Choose sizes for the supply{named}")),
        kind: Some(CodeActionKind::Refactor),
        edit: Some(changes::of(document, std::slice::from_ref(&edit), client)),
        ..Default::default()
    })
}
