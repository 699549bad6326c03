//! Input that nobody should have to read: each ends with a place, a sentence and the right status, never with a panic.

#[allow(dead_code, reason = "opening a text is enough")]
#[path = "editor/client.rs"]
mod client;
mod common;

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use client::Client;
use serde_json::{Value, json};
use tempfile::TempDir;
use testlamp::sheet::View;

/// Checks one file and gives back the status and what was said.
fn check(folder: &Path, name: &str, format: &str) -> (i32, String) {
    run(folder, &["check", name, "--format", format])
}

/// What was said, and the status.
fn run(folder: &Path, arguments: &[&str]) -> (i32, String) {
    let start = Instant::now();
    let (status, out, err) = common::ended(&mut common::program(folder, arguments));
    // Room for a slow machine without optimisation; what hangs or grows without bound takes far longer.
    assert!(start.elapsed() < Duration::from_secs(30), "{arguments:?} took {:?}", start.elapsed());
    let words = out + &err;
    for word in ["panicked", "broke down"] {
        assert!(!words.contains(word), "{arguments:?}: {words:.2000}");
    }
    (status, words)
}

/// Many lines below a head, each with a name of its own.
fn lines(head: &str, count: usize, says: &str) -> Vec<u8> {
    let indent = if head.ends_with(":\n") { "  " } else { "" };
    let mut text = head.to_owned();
    for at in 0..count {
        let _ = writeln!(text, "{indent}k{at}{says}");
    }
    text.into_bytes()
}

fn bytes(name: &str) -> Vec<u8> {
    let text = |text: &str| text.as_bytes().to_vec();
    match name {
        "not-yaml" => text("plan: 1\nwires: {main: [\n"),
        "tab" => text("plan: 1\nwires:\n\tmain: {}\n"),
        "not-a-plan" => text("services:\n  web: {image: x}\n"),
        "scalar" => text("just some words\n"),
        "empty" => Vec::new(),
        "comments" => text("# nothing\n# here\n"),
        "wrong-unit" => text("plan: 1\nwires: {main: {length: 4 kg}}\n"),
        "unknown-key" => text("plan: 1\nwires: {main: {lenght: 4 m}}\n"),
        "wrong-version" => text("plan: 7\n"),
        "duplicate" => text("plan: 1\nwires:\n  main: {length: 4 m}\n  main: {length: 5 m}\n"),
        "alias-bomb" => {
            let mut bomb = String::from("plan: 1\na0: &a0 [x, x, x, x, x, x, x, x, x]\n");
            for at in 1..12 {
                let part = format!("*a{}", at - 1);
                let _ = writeln!(bomb, "a{at}: &a{at} [{}]", [part.as_str(); 9].join(", "));
            }
            bomb.into_bytes()
        }
        "self-alias" => text("plan: 1\nwires: &w {main: *w}\n"),
        "brackets" => text(&format!("plan: 1\nwires: {}", "[".repeat(10_000))),
        "levels" => {
            let mut deep = String::from("plan: 1\n");
            for at in 0..2000 {
                let _ = writeln!(deep, "{}a:", " ".repeat(at));
            }
            deep.into_bytes()
        }
        "nul" => text("plan: 1\nwires: {ma\0in: {}}\n"),
        "not-utf8" => b"plan: 1\nnote: caf\xe9\n".to_vec(),
        "utf16" => b"\xff\xfep\0l\0a\0n\0".to_vec(),
        "long-line" => text(&format!(
            "plan: 1\nnote: {}\nwires: {{main: {{length: 4 kg, note: {}}}}}\n",
            "x".repeat(2_000_000),
            "y".repeat(900)
        )),
        "many-keys" => lines("plan: 1\n", 90_000, ": 1"),
        "more-keys" => lines("", 100_000, ": 1"),
        "many-wires" => lines("plan: 1\nwires:\n", 5_000, ": {size: 4 AWG}"),
        "many-steps" => format!("plan: 1\nsteps: [{}]\n", "{run: main}, ".repeat(5_000)).into_bytes(),
        "many-faults" => lines("plan: 1\nwires:\n", 900, ": {size: big, length: 4 kg}"),
        "nan" => text("plan: 1\nwires: {main: {bundle: .nan, length: .inf m}}\n"),
        "huge" => text("plan: 1\nwires: {main: {length: 1e400 m, bundle: 99999999999999999999}}\n"),
        "documents" => text("plan: 1\n---\nplan: 1\n"),
        "tags" => text("plan: !int 1\njob: !!str {note: !x y}\nwires: !!set {main, !!map b: {length: !!float 4}}\n"),
        "line-ends-of-old" => text("plan: 1\u{85}job: {note: a}\u{2028}wires: {main: {lenght: 4 m}}\r\n"),
        "all-at-once" => text(&format!(
            "\u{feff}plan: 1\r\nwires: &w\r  <<: [*w]\n  main: {{<<: {{length: 4 kg}}}}{}",
            "\n".repeat(999)
        )),
        "many-bytes" => text("plan: 1\nnote: žluťoučký 🚗\nwires: {\"ö\": {lenght: 🚗}, ž: 4} # ž\n"),
        other => panic!("no such input: {other}"),
    }
}

/// Each input, and what the sentence about it must hold.
const CASES: [(&str, &str); 30] = [
    ("not-yaml", ""),
    ("tab", ""),
    ("not-a-plan", "plan"),
    ("scalar", "not a plan"),
    ("empty", "empty"),
    ("comments", "comments"),
    ("wrong-unit", "kg"),
    ("unknown-key", "did you mean `length`"),
    ("wrong-version", "7"),
    ("duplicate", "main"),
    ("alias-bomb", ""),
    ("self-alias", ""),
    ("brackets", ""),
    ("levels", ""),
    ("nul", ""),
    ("not-utf8", "UTF-8"),
    ("utf16", "UTF-16"),
    ("long-line", "kg"),
    ("many-keys", "in 89799 more places below"),
    ("more-keys", "more than 100000 values"),
    ("many-wires", "more than 1000 things in one plan; one file holds one job"),
    ("many-steps", "more than 1000 things in one plan; one file holds one job"),
    ("many-faults", "in 1599 more places below"),
    ("nan", ""),
    ("huge", ""),
    ("documents", ""),
    ("tags", ""),
    ("line-ends-of-old", ""),
    ("all-at-once", ""),
    ("many-bytes", "did you mean"),
];

#[test]
fn what_cannot_be_read_as_a_plan_says_where_and_why() {
    let folder = TempDir::new().expect("a folder");
    let validator = jsonschema::validator_for(&testlamp::report::schema()).expect("a schema");
    for (name, words) in CASES {
        let file = format!("{name}.yaml");
        fs::write(folder.path().join(&file), bytes(name)).expect("a file");
        let (status, said) = check(folder.path(), &file, "short");
        assert_eq!(status, 1, "{name}: {said}");
        assert!(said.contains(words), "{name}: {said}");
        let first = said.lines().next().unwrap_or_default();
        let mut parts = first.splitn(4, ':');
        assert_eq!(parts.next(), Some(file.as_str()), "{first}");
        let place: Vec<usize> = parts.by_ref().take(2).filter_map(|part| part.parse().ok()).collect();
        assert!(place.len() == 2 && place.iter().all(|at| *at > 0), "{name}: no place in {first}");
        assert!(parts.next().is_some_and(|rest| rest.starts_with(" unreadable: ") && rest.len() > 30), "{first}");
        let (status, drawn) = check(folder.path(), &file, "terminal");
        assert_eq!(status, 1, "{name}");
        assert!(drawn.contains("unreadable: "), "{name}: {drawn}");
        assert!(drawn.lines().all(|line| line.len() < 1200), "{name}: a line is not cut");
        let (_, json) = check(folder.path(), &file, "json");
        let report: Value = serde_json::from_str(&json).expect("JSON");
        assert!(validator.is_valid(&report), "{name}: the report does not fit its schema");
        let mut places = 0;
        inside(&report["plans"], &bytes(name), &mut places);
        assert!(places > 0, "{name}: no place");
    }
}

/// Every place of a report lies inside the text, on the first byte of a character.
fn inside(report: &Value, text: &[u8], places: &mut usize) {
    let parts: Vec<&Value> = match report {
        Value::Array(items) => items.iter().collect(),
        Value::Object(map) => {
            if let (Some(start), Some(end)) = (map.get("start"), map.get("end")) {
                let at = |end: &Value| usize::try_from(end.as_u64().expect("a number")).expect("a place");
                let (start, end) = (at(start), at(end));
                assert!(start <= end && end <= text.len(), "{start}..{end} in {}", text.len());
                // Bytes of the form 10xxxxxx continue a character.
                let begins = |at: usize| text.get(at).is_none_or(|byte| byte & 0xc0 != 0x80);
                assert!(begins(start) && begins(end), "{start}..{end} splits a character");
                *places += 1;
            }
            map.values().collect()
        }
        _ => return,
    };
    for part in parts {
        inside(part, text, places);
    }
}

/// Every command that takes a plan ends with words and a status of its own; a file that is not mended stays as it is.
#[test]
fn what_cannot_be_read_is_survived_by_every_command() {
    let folder = TempDir::new().expect("a folder");
    for (name, _) in CASES {
        let file = format!("{name}.yaml");
        let path = folder.path().join(&file);
        for arguments in [
            &["fix", &file][..],
            &["fix", "--offered", &file],
            &["fix", "--sizes", &file],
            &["fix", "--diff", &file],
            &["sheet", &file],
            &["drill", &file],
            &["figures", &file],
            &["explain", "FUSE-01", "--plan", &file],
        ] {
            fs::write(&path, bytes(name)).expect("a file");
            let (status, said) = run(folder.path(), arguments);
            assert!((0..=4).contains(&status), "{arguments:?}: {status}");
            assert!(said.trim().len() > 10, "{arguments:?} says {said:?}");
            let writes = arguments[0] == "fix" && !arguments.contains(&"--diff");
            if writes {
                assert_eq!(status, check(folder.path(), &file, "short").0, "{arguments:?} stands otherwise: {said}");
            }
            let is_kept = fs::read(&path).expect("the file") == bytes(name);
            assert!(is_kept || (writes && !said.contains("0 fixes made")), "{arguments:?} changes the file: {said}");
        }
    }
    assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), CASES.len(), "something is left lying about");
}

/// Every text that an editor can open at all gets findings, one session for all of them.
#[test]
fn what_cannot_be_read_is_survived_by_the_language_server() {
    let mut client = Client::ready(&json!({}));
    for (name, _) in CASES {
        let Ok(text) = String::from_utf8(bytes(name)) else { continue };
        let uri = format!("file:///none/{name}.yaml");
        let item = json!({"uri": uri, "languageId": "yaml", "version": 1, "text": text});
        client.tell("textDocument/didOpen", &json!({"textDocument": item}));
        let found = client.publish(&uri, Some(1));
        assert!(
            found.iter().any(|told| told["message"].as_str().is_some_and(|words| words.len() > 10)),
            "{name}: {found:?}"
        );
        client.tell("textDocument/didClose", &json!({"textDocument": {"uri": uri}}));
    }
    assert!(client.logged.is_empty(), "{:?}", client.logged);
    assert_eq!(client.ask("shutdown", &Value::Null), Value::Null);
    assert_eq!(client.exit(), 0);
}

#[test]
fn line_ends_and_marks_change_nothing() {
    let plan = "plan: 1\nwires:\n  main: {length: 4 kg}\n";
    let folder = TempDir::new().expect("a folder");
    for (name, text) in [
        ("lf", plan.to_owned()),
        ("crlf", plan.replace('\n', "\r\n")),
        ("cr", plan.replace('\n', "\r")),
        ("bom", format!("\u{feff}{plan}")),
    ] {
        fs::write(folder.path().join("x.yaml"), text).expect("a file");
        let (status, said) = check(folder.path(), "x.yaml", "short");
        assert_eq!(status, 1, "{name}");
        assert!(said.starts_with("x.yaml:3:18: unreadable: "), "{name}: {said}");
        let (_, drawn) = check(folder.path(), "x.yaml", "terminal");
        assert!(drawn.contains("x.yaml:3:18") && drawn.contains("3 |   main: {length: 4 kg}"), "{name}: {drawn}");
        assert!(drawn.contains("^^^^"), "{name}: {drawn}");
    }
}

#[test]
fn control_characters_of_a_plan_never_reach_the_terminal() {
    let plan = "plan: 1\njob: {note: \"\u{202e}\\e[2J\"}\n\u{202e}k\u{200b}: 1 # \u{9b}2J \u{2066}\nwires: {\"a\\e[31m\": {length: \"\\a\"}}\n";
    let folder = TempDir::new().expect("a folder");
    let name = "a\u{1b}[2Jb.yaml";
    fs::write(folder.path().join(name), plan).expect("a file");
    for format in ["terminal", "short", "json", "sarif", "junit", "github", "markdown"] {
        let (_, said) = check(folder.path(), name, format);
        let bad: Vec<char> = said.chars().filter(|c| *c != '\n' && testlamp::words::is_unsafe(*c)).collect();
        assert!(bad.is_empty(), "{format}: {bad:?} in {said:?}");
    }
}

#[test]
fn a_folder_that_is_named_like_a_plan_is_a_folder() {
    let folder = TempDir::new().expect("a folder");
    fs::create_dir(folder.path().join("x.yaml")).expect("a folder");
    fs::write(folder.path().join("x.yaml/a.yaml"), "plan: 1\n").expect("a file");
    for name in ["x.yaml", "."] {
        let (status, said) = check(folder.path(), name, "short");
        assert_eq!(status, 0, "{said}");
        assert!(said.contains("1 plan judged"), "{said}");
    }
}

#[test]
fn a_file_that_is_no_text_is_not_passed_over_in_a_folder() {
    let folder = TempDir::new().expect("a folder");
    fs::write(folder.path().join("x.yaml"), bytes("utf16")).expect("a file");
    let (status, said) = check(folder.path(), ".", "short");
    assert_eq!(status, 1, "{said}");
}

#[cfg(unix)]
#[test]
fn links_that_lead_nowhere_and_pipes_are_named() {
    let folder = TempDir::new().expect("a folder");
    std::os::unix::fs::symlink("nowhere", folder.path().join("x.yaml")).expect("a link");
    for name in ["x.yaml", "."] {
        let (status, said) = check(folder.path(), name, "short");
        assert_eq!(status, 3, "{said}");
        assert!(said.contains("x.yaml could not be read"), "{said}");
    }
    let (status, said) = check(folder.path(), "/dev/null", "short");
    assert_eq!(status, 3, "{said}");
    assert!(said.contains("neither a file nor a folder"), "{said}");
}

#[test]
fn a_file_that_is_far_too_large_is_not_read() {
    let folder = TempDir::new().expect("a folder");
    let file = fs::File::create(folder.path().join("x.yaml")).expect("a file");
    file.set_len(1 << 30).expect("a sparse file");
    let (status, said) = check(folder.path(), "x.yaml", "short");
    assert_eq!(status, 3, "{said}");
    assert!(said.contains("larger than 16 MB"), "{said}");
}

/// Where open checks turn is sought for as long as a vehicle needs, and not for hundreds of wires.
#[test]
fn what_is_not_tried_in_a_huge_draft_is_told() {
    let gear = "{class: D, channels: 1, rated: [{load: 4 ohm, power: 300 W}]}";
    let amplifier = |at: usize| format!("  a{at}: {gear}\n");
    let amplifiers: String = (0..40).map(amplifier).collect();
    let pair = |at: usize| {
        format!(
            "  f{at}: {{from: battery.positive, to: a{at}.power, size: 4 AWG, length: 4 m}}\n  \
             r{at}: {{from: a{at}.ground, to: grounds.g, size: 4 AWG, length: 1 m}}\n"
        )
    };
    let wires: String = (0..40).map(pair).collect();
    let vehicle = "vehicle: {voltage: 12 V, body: steel}\ngrounds: {g: {}}";
    let text = format!("plan: 1\n{vehicle}\namplifiers:\n{amplifiers}wires:\n{wires}");
    let (reading, house) = (testlamp::plan::read(text), testlamp::house::House::default());
    let judgement = testlamp::judge::judge(&reading, &house, &testlamp::rules::all());
    assert!(judgement.untried > 0 && judgement.open().next().is_some());
    let report = testlamp::report::plan_report("huge.yaml", &reading, &judgement);
    let words = report.untried_words().expect("words");
    let job = testlamp::solve::Job::new(&reading.plan, &house);
    let view = View { reading: &reading, house: &house, job: &job, judgement: &judgement, report: &report };
    let sheet = testlamp::sheet::sheet(&view);
    let list = sheet.split("<section").find(|part| part.starts_with(" id=\"find-out\"")).expect("the list");
    assert!(list.contains(&words), "{words}: {list}");
}
