//! `--watch`: judge again what changes.
//!
//! Files are looked at again and again rather than announced by the system: that works on a share that other machines
//! write to, needs no limit raised, and costs a walk and a glance at every file.

use std::collections::{BTreeMap, HashSet};
use std::fs::Metadata;
use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::thread::sleep;
use std::time::{Duration, Instant, SystemTime};

use super::check::{Arguments, judge};
use super::inputs::{Input, Inputs, Kind};
use super::output::Out;
use super::{Status, complain};
use crate::words::{all, count};

/// The least time between two looks.
const PAUSE: Duration = Duration::from_millis(250);
/// A look takes at most this share of the time: the rest are pauses.
const SHARE: u32 = 20;
/// Somebody is still writing while two looks so far apart differ.
const SETTLED: Duration = Duration::from_millis(40);
/// So often is waited for that.
const PATIENCE: usize = 10;
/// More plans that are held are counted, not named.
const MOST_NAMED: usize = 5;

/// What tells a file from what it was.
type Stamp = Option<(u64, Option<SystemTime>, u64)>;

/// What was seen in one look.
#[derive(Default, PartialEq)]
struct Look {
    plans: BTreeMap<Arc<Path>, Stamp>,
    /// Of those that are there.
    judged_by: BTreeMap<PathBuf, Stamp>,
    shelves: Vec<Stamp>,
}

/// Judges plans, and what changes of them again and again.
///
/// # Errors
/// When the report cannot be written.
pub fn run(arguments: &Arguments, out: &mut Out) -> io::Result<Status> {
    let mut before: Option<Look> = None;
    let mut shelves: Vec<PathBuf> = Vec::new();
    let mut held: BTreeMap<String, bool> = BTreeMap::new();
    while !out.is_gone() {
        let start = Instant::now();
        let (mut inputs, mut look) = glance(arguments, &shelves);
        let took = start.elapsed();
        if inputs.list.iter().any(|input| input.kind == Kind::Stdin) {
            complain("standard input cannot be watched; name files or folders");
            return Ok(Status::Usage);
        }
        if before.as_ref() == Some(&look) {
            sleep(PAUSE.max(took * SHARE));
            continue;
        }
        for _ in 0..PATIENCE {
            sleep(SETTLED);
            let (next_inputs, next) = glance(arguments, &shelves);
            let settled = next == look;
            (inputs, look) = (next_inputs, next);
            if settled {
                break;
            }
        }
        let houses = match arguments.houses(&mut inputs) {
            Ok(houses) => houses,
            Err(status) if before.is_none() => return Ok(status),
            Err(_) => {
                complain("watching: no plan is judged until the house file can be taken (Ctrl-C ends)");
                before = Some(look);
                continue;
            }
        };
        // What the houses name is looked at before it is read, so that no change of it is missed.
        let named = houses.shelves();
        if named != shelves {
            shelves = named;
            continue;
        }
        let names: HashSet<String> = inputs.list.iter().map(Input::name).collect();
        held.retain(|name, _| names.contains(name));
        if let Some(before) =
            before.as_ref().filter(|before| before.judged_by == look.judged_by && before.shelves == look.shelves)
        {
            // An argument whose plans stay as they are brings nothing now, and that is no mistake.
            inputs.repeated.extend(inputs.arguments());
            inputs.list.retain(|input| before.plans.get(&input.path) != look.plans.get(&input.path));
        }
        // By a house file that cannot be taken nothing is judged, and nothing is clear.
        let not_judged = inputs.list.iter().filter(|input| houses.at(input.house).house.is_none());
        held.extend(not_judged.map(|input| (input.name(), true)));
        clear(out)?;
        if before.is_none() || !inputs.list.is_empty() {
            let mut seen = |report: &crate::report::PlanReport| {
                held.insert(report.path.clone(), report.counts.holds_gate());
            };
            judge(arguments, inputs, &houses, out, &mut seen)?;
        }
        out.flush()?;
        complain(&words(&held));
        before = Some(look);
    }
    Ok(Status::Clear)
}

/// What there is now, and how it looks; house files and shelves that lie among the plans are there too.
fn glance(arguments: &Arguments, shelves: &[PathBuf]) -> (Inputs, Look) {
    let inputs = arguments.inputs();
    let plans = inputs.list.iter().map(|input| (input.path.clone(), stamp(&input.path))).collect();
    let judged_by = arguments.judged_by(&inputs).into_iter().map(|path| (path.clone(), stamp(&path)));
    let judged_by = judged_by.filter(|(_, stamp)| stamp.is_some()).collect();
    let shelves = shelves.iter().map(|path| stamp(path)).collect();
    (inputs, Look { plans, judged_by, shelves })
}

fn stamp(path: &Path) -> Stamp {
    let found = path.metadata().ok()?;
    Some((found.len(), found.modified().ok(), identity(&found)))
}

/// A file that took another's place is another file, even of the same size and time.
#[cfg(unix)]
fn identity(found: &Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::ino(found)
}

#[cfg(not(unix))]
fn identity(_: &Metadata) -> u64 {
    0
}

/// An empty screen, on a terminal; what has rolled out of it stays.
fn clear(out: &mut Out) -> io::Result<()> {
    if io::stdout().is_terminal() { out.write_all(b"\x1b[H\x1b[2J") } else { Ok(()) }
}

fn words(held: &BTreeMap<String, bool>) -> String {
    let names: Vec<&String> = held.iter().filter(|(_, held)| **held).map(|(name, _)| name).collect();
    let gate = match names.len() {
        0 => "nothing stands in the way".to_owned(),
        some if some > MOST_NAMED => format!("something stands in the way of {some}"),
        _ => format!("something stands in the way of {}", all(&names)),
    };
    format!("watching {}: {gate} (Ctrl-C ends)", count(held.len(), "plan"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_changes_looks_different() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.yaml");
        assert_eq!(stamp(&path), None);
        std::fs::write(&path, "plan: 1\n").expect("a file");
        let first = stamp(&path);
        assert_eq!(stamp(&path), first);
        std::fs::write(&path, "plan: 1\n#\n").expect("a file");
        assert_ne!(stamp(&path), first);
    }
}
