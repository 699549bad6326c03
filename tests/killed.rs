//! The program killed while it writes: every file is the old one or the new one, whole, and what is left lying about is
//! taken for no plan.
#![cfg(unix)]

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use std::time::Duration;

use tempfile::TempDir;

const PROGRAM: &str = env!("CARGO_BIN_EXE_testlamp");

fn program(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(PROGRAM);
    command.current_dir(folder).args(arguments).stdout(Stdio::null()).stderr(Stdio::null());
    command
}

/// All files below a folder, without what is on its way.
fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("a file")) {
            if entry.file_type().expect("a kind").is_dir() {
                open.push(entry.path());
            } else if !entry.file_name().to_string_lossy().starts_with(".testlamp-") {
                found.insert(entry.path(), fs::read(entry.path()).expect("the bytes"));
            }
        }
    }
    found
}

fn put(files: &BTreeMap<PathBuf, Vec<u8>>) {
    for (path, bytes) in files {
        fs::write(path, bytes).expect("a file");
    }
}

/// A file as it shows that somebody wrote it: its number, its length and when.
type Version = (u64, u64, i64);

/// The files of a folder, so that the first one that is written shows.
fn versions(folder: &Path) -> BTreeMap<PathBuf, Version> {
    let entries = fs::read_dir(folder).expect("a folder").flatten();
    let version = |is: fs::Metadata| (is.ino(), is.len(), is.mtime_nsec());
    entries.filter_map(|entry| Some((entry.path(), version(entry.metadata().ok()?)))).collect()
}

/// Runs the program over files that are old, kills it at many moments after it begins to write into `watched`, and finds
/// each file old or new.
fn kill(folder: &Path, watched: &Path, arguments: &[&str], old: &BTreeMap<PathBuf, Vec<u8>>, trials: u32) {
    put(old);
    assert!(program(folder, arguments).status().expect("it runs").code().is_some_and(|status| status < 2));
    let new = files(folder);
    assert_ne!(&new, old, "there is something to write");
    // Runs that were killed before they ended, and those of them that left some new files, or one on its way.
    let (mut killed, mut between) = (0, 0);
    for trial in 0..trials {
        for path in versions(watched).into_keys() {
            fs::remove_file(path).expect("a file");
        }
        put(old);
        let before = versions(watched);
        let mut child = program(folder, arguments).spawn().expect("it starts");
        while child.try_wait().expect("a child").is_none() && versions(watched) == before {
            thread::yield_now();
        }
        // Every second time at once, when a file that is not written whole would be seen half.
        thread::sleep(Duration::from_micros(u64::from(trial % 2 * trial * trial) * 40));
        killed += usize::from(child.try_wait().expect("a child").is_none());
        child.kill().expect("it is ours");
        child.wait().expect("it ends");
        let found = files(folder);
        let mut was_written = 0;
        for (path, bytes) in &found {
            let is_new = new.get(path) == Some(bytes);
            assert!(
                is_new || old.get(path) == Some(bytes),
                "{} is neither old nor new: {}",
                path.display(),
                bytes.len()
            );
            was_written += usize::from(is_new && old.get(path) != Some(bytes));
        }
        assert!(old.keys().all(|path| found.contains_key(path)), "an old file is gone");
        let is_left = versions(watched).len() > found.keys().filter(|path| path.parent() == Some(watched)).count();
        between += usize::from(is_left || (was_written > 0 && found != new));
    }
    assert!(killed > 0 && between > 0, "killed {killed} times, {between} of them while writing");
}

/// Plans with something to mend, so long that writing one takes its time.
fn plans(folder: &Path, count: usize) -> BTreeMap<PathBuf, Vec<u8>> {
    let remark = format!("# {}\n", "words ".repeat(20)).repeat(12_000);
    let text = |at: usize| format!("plan: 1\njob: {{number: J-{at}}}\nwires: {{main: {{size: 4AWG}}}}\n{remark}");
    (0..count).map(|at| (folder.join(format!("{at}.yaml")), text(at).into_bytes())).collect()
}

#[test]
fn a_plan_that_is_mended_is_old_or_new() {
    let folder = TempDir::new().expect("a folder");
    let old = plans(folder.path(), 3);
    kill(folder.path(), folder.path(), &["fix", "."], &old, 30);
    // What was on its way is no plan, and the next run does what was left.
    fs::write(folder.path().join(".testlamp-Ab12Cd"), "plan: 1\nwires: {").expect("a file");
    let listed =
        program(folder.path(), &["check", ".", "--list-plans"]).stdout(Stdio::piped()).output().expect("it runs");
    assert_eq!(String::from_utf8_lossy(&listed.stdout), "0.yaml\n1.yaml\n2.yaml\n");
    program(folder.path(), &["fix", "."]).status().expect("it runs");
    assert!(files(folder.path()).values().all(|bytes| String::from_utf8_lossy(bytes).contains("size: 4 AWG")));
}

#[test]
fn sheets_are_old_or_new() {
    let folder = TempDir::new().expect("a folder");
    for (path, bytes) in plans(folder.path(), 4) {
        fs::write(path, &bytes[..200]).expect("a file");
    }
    let sheets = folder.path().join("sheets");
    let arguments = ["sheet", ".", "--output", "sheets", "--as-of", "2026-11-27"];
    program(folder.path(), &arguments).status().expect("it runs");
    let mut old = files(folder.path());
    for (_, bytes) in old.iter_mut().filter(|(path, _)| path.starts_with(&sheets)) {
        bytes.truncate(2000);
    }
    kill(folder.path(), &sheets, &arguments, &old, 12);
}

#[test]
fn a_rule_book_is_old_or_new() {
    let folder = TempDir::new().expect("a folder");
    let book = folder.path().join("book");
    program(folder.path(), &["rulebook", "--into", "book"]).status().expect("it runs");
    let mut old = files(folder.path());
    for bytes in old.values_mut() {
        bytes.extend_from_slice(b"<!-- older -->\n");
    }
    kill(folder.path(), &book, &["rulebook", "--into", "book"], &old, 5);
}

#[test]
fn a_record_and_reports_are_old_or_new() {
    let folder = TempDir::new().expect("a folder");
    let kept = folder.path().join("kept");
    fs::create_dir(&kept).expect("a folder");
    let mut old: BTreeMap<PathBuf, Vec<u8>> =
        plans(folder.path(), 80).into_iter().map(|(path, bytes)| (path, bytes[..200].to_vec())).collect();
    for name in ["record.jsonl", "report.json", "report.sarif"] {
        old.insert(kept.join(name), b"older\n".to_vec());
    }
    let outputs = ["--output", "json=kept/report.json", "--output", "sarif=kept/report.sarif"];
    let arguments = [&["check", ".", "--record", "kept/record.jsonl", "--as-of", "2026-11-27"], &outputs[..]].concat();
    kill(folder.path(), &kept, &arguments, &old, 12);
}
