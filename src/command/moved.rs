//! Plans whose files were renamed, found again by the number of their job.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use super::inputs::{Input, Kind};
use crate::text::{Limits, decode, parse};

/// A plan that has moved.
pub struct Moved {
    /// The number of its job.
    pub job: String,
    /// What it was called.
    pub file: String,
    /// Where it is now.
    pub path: Arc<Path>,
}

/// The number of a job, where it says something.
pub fn number(written: &str) -> Option<String> {
    Some(written.trim()).filter(|number| !number.is_empty()).map(str::to_owned)
}

/// Where plans are now that are gone from where they were, each by the number of its job. Only one plan of a number may be
/// gone, and only one have come: of two that state the same number nobody knows which it is.
pub fn find(gone: impl Iterator<Item = (String, String)>, inputs: &[Input]) -> Vec<Moved> {
    let mut wanted: BTreeMap<String, (Vec<String>, Vec<Arc<Path>>)> = BTreeMap::new();
    for (job, file) in gone {
        wanted.entry(job).or_default().0.push(file);
    }
    if wanted.is_empty() {
        return Vec::new();
    }
    for input in inputs.iter().filter(|input| input.kind != Kind::Stdin) {
        if let Some((_, paths)) = stated(input, &wanted).and_then(|job| wanted.get_mut(&job)) {
            paths.push(Arc::clone(&input.path));
        }
    }
    let found = wanted.into_iter().filter_map(|(job, (files, paths))| match (&*files, &*paths) {
        ([file], [path]) => Some(Moved { job, file: file.clone(), path: Arc::clone(path) }),
        _ => None,
    });
    found.collect()
}

/// The number of the job that a plan states, where it is one of those that are looked for.
fn stated<T>(input: &Input, wanted: &BTreeMap<String, T>) -> Option<String> {
    let text = input.read().ok().and_then(|bytes| decode(bytes).ok())?;
    // Few plans name such a number at all, and the others need no parse.
    wanted.keys().find(|job| text.contains(job.as_str()))?;
    let (tree, _) = parse(&text, Limits::default());
    tree.node("plan")?;
    number(tree.text(tree.node("job.number")?)?)
}
