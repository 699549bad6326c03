//! What happens when something goes wrong, where the system lets it be tried.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::time::{Duration, Instant};

use serde_json::Value;
use tempfile::TempDir;

use super::{BASELINE, CLEAN, DANGER, FAULTS, OPEN, check, fits, folder, jobs, read, run, with_baseline, write};

fn program() -> std::path::PathBuf {
    assert_cmd::cargo::cargo_bin("testlamp")
}

#[test]
fn a_full_disk_and_a_folder_that_takes_no_files_are_told() {
    let folder = folder(&[("a.yaml", CLEAN)]);
    for (target, why) in [("/dev/full", "there is no space left"), ("/proc/record", "")] {
        for option in [["--record", target], ["--output", &format!("json={target}")]] {
            let (status, _, err) = check(&folder, &option);
            assert_eq!(status, 2, "{option:?}: {err}");
            assert!(err.contains(target) && err.contains(why), "{err}");
        }
    }
    assert!(!Path::new("/dev/full").metadata().expect("it is there").is_file(), "a device stays one");
    let (status, _, err) = check(&folder, &["--baseline", "/dev/full", "--write-baseline"]);
    assert!(status == 2 && err.contains("/dev/full is no file"), "{err}");
}

/// Files can grow to 512 bytes in this shell: what is longer breaks off in the middle.
fn run_with_little_room(folder: &TempDir, arguments: &str) -> (i32, String) {
    let line = format!("trap '' XFSZ; ulimit -f 1; exec '{}' {arguments}", program().display());
    let output = Command::new("sh").args(["-c", &line]).current_dir(folder.path()).output().expect("a shell");
    (output.status.code().expect("an exit status"), String::from_utf8_lossy(&output.stderr).into_owned())
}

#[test]
fn a_write_that_breaks_off_leaves_the_old_file_and_nothing_else() {
    let folder = folder(&[("a.yaml", DANGER), ("known.jsonl", "{\"baseline\":1}\n"), ("record.jsonl", "old\n")]);
    let (status, err) = run_with_little_room(&folder, "check a.yaml --baseline known.jsonl --write-baseline");
    assert!(status == 2 && err.contains("known.jsonl"), "{status}: {err}");
    let (status, err) = run_with_little_room(&folder, "check a.yaml --record record.jsonl");
    assert!(status == 2 && err.contains("record.jsonl"), "{status}: {err}");
    assert_eq!(read(&folder, "known.jsonl"), "{\"baseline\":1}\n");
    assert_eq!(read(&folder, "record.jsonl"), "old\n");
    assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 3, "nothing is left beside them");
}

#[test]
fn a_run_that_is_killed_half_way_leaves_the_old_files() {
    for written in [["--baseline", "known.jsonl", "--write-baseline"].as_slice(), &["--record", "record.jsonl"]] {
        let folder = folder(&[("a.yaml", DANGER), ("known.jsonl", "{\"baseline\":1}\n"), ("record.jsonl", "old\n")]);
        let mut child = Command::new(program())
            .args(["check", "a.yaml", "-", "--format", "short"])
            .args(written)
            .current_dir(folder.path())
            .stdin(Stdio::piped())
            .stdout(Stdio::null())
            .spawn()
            .expect("it runs");
        // The unfinished file is there, and standard input, the second plan, has no end yet.
        child.stdin.as_mut().expect("a pipe").write_all(b"plan: 1\n").expect("it reads");
        let deadline = Instant::now() + Duration::from_secs(20);
        while fs::read_dir(folder.path()).expect("a folder").count() < 4 {
            assert!(Instant::now() < deadline, "it never began to write");
            std::thread::sleep(Duration::from_millis(10));
        }
        child.kill().expect("it still runs");
        child.wait().expect("it ends");
        assert_eq!(read(&folder, "known.jsonl"), "{\"baseline\":1}\n");
        assert_eq!(read(&folder, "record.jsonl"), "old\n");
        // What is left over is hidden and no plan.
        assert_eq!(check(&folder, &["--list-plans"]).1, "a.yaml\n");
    }
}

/// The program while nobody reads what it writes.
fn unread(folder: &TempDir, arguments: &[&str]) -> Child {
    let mut child = Command::new(program())
        .args(arguments)
        .current_dir(folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it runs");
    drop(child.stdout.take());
    child
}

#[test]
fn a_reader_that_goes_away_ends_nothing_but_the_output() {
    let folder = jobs(DANGER, 300);
    for arguments in [&["check"][..], &["check", "--format", "json"], &["explain", "FUSE-01"], &["--help"]] {
        let output = unread(&folder, arguments).wait_with_output().expect("it ends");
        assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{arguments:?}");
        assert_eq!(output.status.code(), Some(i32::from(arguments[0] == "check")), "{arguments:?}");
    }
}

#[test]
fn a_reader_that_goes_away_does_not_cut_the_record_short() {
    let names: Vec<String> = (0..100).map(|at| format!("{at:03}.yaml")).collect();
    let files: Vec<(&str, &str)> = names.iter().map(|name| (name.as_str(), OPEN)).collect();
    let folder = folder(&files);
    let child = unread(&folder, &["check", "--format", "json", "--record", "record.jsonl"]);
    let output = child.wait_with_output().expect("it ends");
    assert_eq!((output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()), (Some(1), ""));
    assert_eq!(read(&folder, "record.jsonl").lines().count(), 100);
}

/// A run that watches, with the lines that it says on either side.
struct Watching {
    child: Child,
    said: Receiver<String>,
}

impl Watching {
    fn start(folder: &TempDir, more: &[&str]) -> Self {
        let mut child = Command::new(program())
            .args(["check", "jobs", "--watch", "--format", "short"])
            .args(more)
            .current_dir(folder.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it runs");
        let (sender, said) = channel();
        let sides: [Box<dyn Read + Send>; 2] =
            [Box::new(child.stdout.take().expect("a pipe")), Box::new(child.stderr.take().expect("a pipe"))];
        for side in sides {
            let sender = sender.clone();
            std::thread::spawn(move || {
                BufReader::new(side).lines().map_while(Result::ok).try_for_each(|line| sender.send(line))
            });
        }
        Self { child, said }
    }

    /// What is said until it waits again.
    fn round(&self) -> String {
        let mut said = String::new();
        // Two sides are read at once: the last line of the report may come after the line that says it waits.
        while !(said.contains("(Ctrl-C ends)") && said.contains("judged: ")) {
            let line = self.said.recv_timeout(Duration::from_secs(20));
            said += &(line.unwrap_or_else(|_| panic!("it said no more than\n{said}")) + "\n");
        }
        said
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Whether Ctrl-C (signal 2) does nothing to this process.
fn ignores_interrupt() -> bool {
    let status = fs::read_to_string("/proc/self/status").expect("what the system says of this process");
    let ignored = status.lines().find_map(|line| line.strip_prefix("SigIgn:")).expect("a line of it");
    u64::from_str_radix(ignored.trim(), 16).expect("a mask") & 0b10 != 0
}

#[test]
fn watching_judges_again_what_changes() {
    let folder = folder(&[("jobs/a.yaml", CLEAN), ("jobs/b.yaml", FAULTS)]);
    with_baseline(&folder, &["--write-baseline"]);
    let mut watching = Watching::start(&folder, &BASELINE);
    let first = watching.round();
    assert!(first.contains("2 plans judged") && first.contains("nothing stands in the way"), "{first}");
    assert!(!first.contains('\u{1b}'), "a pipe has no screen to clear");
    write(&folder, "jobs/a.yaml", DANGER);
    let second = watching.round();
    assert!(second.contains("jobs/a.yaml:") && second.contains("1 plan judged"), "{second}");
    assert!(second.contains("watching 2 plans: something stands in the way of jobs/a.yaml"), "{second}");
    write(&folder, "jobs/c.yaml", CLEAN);
    let third = watching.round();
    assert!(third.contains("1 plan judged") && third.contains("watching 3 plans"), "{third}");
    // The baseline judges all of them.
    write(&folder, "known.jsonl", "{\"baseline\":1}\n");
    let fourth = watching.round();
    assert!(fourth.contains("3 plans judged"), "{fourth}");
    assert!(fourth.contains("in the way of jobs/a.yaml and jobs/b.yaml"), "{fourth}");
    let id = watching.child.id().to_string();
    // A shell that starts tests behind itself has them ignore Ctrl-C, and so does what they start.
    let (name, signal) = if ignores_interrupt() { ("-TERM", 15) } else { ("-INT", 2) };
    assert!(Command::new("kill").args([name, &id]).status().expect("kill").success());
    let ended = watching.child.wait().expect("it ends");
    assert_eq!(std::os::unix::process::ExitStatusExt::signal(&ended), Some(signal), "it ends by the signal itself");
    assert_eq!(watching.said.recv_timeout(Duration::from_secs(5)).ok(), None, "and says nothing");
}

#[test]
fn watching_judges_all_again_when_house_or_shelf_changes() {
    let plan = "plan: 1\namplifiers: {bass: {shelf: mono}}\ndrivers: {sub: {kind: subwoofer, coils: [1 ohm]}}\n\
                loads: {sub: {amplifier: bass, outputs: [1], coils: sub.1}}\n";
    let gear = |least: &str| format!("shelf: 1\namplifiers: {{mono: {{channels: 1, minimum_load: {least}}}}}\n");
    let house = "house: 1\nshelves: [shelf/gear.yaml]\n";
    let folder = folder(&[("jobs/a.yaml", plan), ("jobs/b.yaml", CLEAN), ("shelf/gear.yaml", &gear("1 ohm"))]);
    let mut watching = Watching::start(&folder, &[]);
    let first = watching.round();
    assert!(first.contains("the house has none") && first.contains("in the way of jobs/a.yaml"), "{first}");
    write(&folder, "house.yaml", house);
    let second = watching.round();
    assert!(second.contains("2 plans judged") && second.contains("nothing stands in the way"), "{second}");
    write(&folder, "shelf/gear.yaml", &gear("2 ohm"));
    let third = watching.round();
    assert!(third.contains("LOAD-01") && third.contains("in the way of jobs/a.yaml"), "{third}");
    write(&folder, "house.yaml", "house: 2\n");
    let fourth = watching.round();
    assert!(fourth.contains("in the way of jobs/a.yaml and jobs/b.yaml"), "{fourth}");
    watching.child.kill().expect("it ends");
    watching.child.wait().expect("it ended");
}

#[test]
fn watching_ends_when_nobody_reads() {
    let folder = folder(&[("jobs/a.yaml", CLEAN)]);
    let mut child = unread(&folder, &["check", "--watch"]);
    let deadline = Instant::now() + Duration::from_secs(20);
    while child.try_wait().expect("a child").is_none() {
        if Instant::now() > deadline {
            let _ = child.kill();
            panic!("it goes on");
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    assert_eq!(child.wait().expect("it ended").code(), Some(0));
}

#[test]
fn standard_input_cannot_be_watched() {
    let folder = folder(&[]);
    let (status, _, err) = run(folder.path(), &["check", "-", "--watch"]);
    assert!(status == 2 && err.contains("standard input cannot be watched"), "{err}");
}

#[test]
fn the_shell_takes_what_completes_it() {
    let folder = folder(&[]);
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let (status, script, _) = run(folder.path(), &["completions", shell]);
        assert_eq!(status, 0, "{shell}");
        for words in ["write-baseline", "rulebook", "list-plans"] {
            assert!(script.contains(words), "{shell}: {words}");
        }
    }
    let (_, script, _) = run(folder.path(), &["completions", "bash"]);
    write(&folder, "complete.bash", &script);
    let asks = "source ./complete.bash && COMP_WORDS=(testlamp ru) COMP_CWORD=1 && _testlamp testlamp ru testlamp && \
                echo \"${COMPREPLY[@]}\"";
    let output = Command::new("bash").args(["-c", asks]).current_dir(folder.path()).output().expect("bash");
    assert_eq!(String::from_utf8_lossy(&output.stdout), "rulebook\n", "{output:?}");
}

#[test]
fn the_gate_of_the_shell_ends_with_its_status_and_keeps_reports() {
    let folder = folder(&[("jobs/a.yaml", FAULTS)]);
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/ci/gate.sh");
    let path = format!("{}:{}", program().parent().expect("a folder").display(), std::env::var("PATH").expect("PATH"));
    let gate = |folder: &TempDir| {
        let output =
            Command::new("sh").arg(&script).current_dir(folder.path()).env("PATH", &path).output().expect("sh");
        output.status.code()
    };
    assert_eq!(gate(&folder), Some(1));
    let line = ["--baseline", "known-findings.jsonl", "--write-baseline"];
    check(&folder, &line);
    assert_eq!(gate(&folder), Some(0));
    let report: Value = serde_json::from_str(&read(&folder, "reports/report.json")).expect("JSON");
    fits(&report, "report");
    assert_eq!(read(&folder, "reports/record.jsonl").lines().count(), 1);
    fs::remove_file(folder.path().join("jobs/a.yaml")).expect("it is there");
    assert_eq!(gate(&folder), Some(4));
}
