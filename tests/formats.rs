//! Formats that other programs read, each read back by a reader that is not ours.

mod common;
#[path = "common/files.rs"]
mod files;
#[path = "formats/github.rs"]
mod github;
#[path = "formats/junit.rs"]
mod junit;
#[path = "formats/markdown.rs"]
mod markdown;
#[path = "formats/sarif.rs"]
mod sarif;

use std::fs;
use std::path::Path;

use files::folder;
use roxmltree::{Document, Node};
use serde_json::Value;

const JOBS: &str = "examples/jobs";
const CLEAN: &str = "examples/jobs/j-2041-one-subwoofer.yaml";
const TORN: &str = "examples/jobs/j-2050-unprotected.yaml";
const ALL: [&str; 7] = ["terminal", "short", "json", "sarif", "junit", "github", "markdown"];

/// Names and words of a plan that every format here would read as its own, were they not made harmless.
const HOSTILE: &str = r#"plan: 1
job: {stage: planned}
amplifiers: {"amp @octocat <img src=x onerror=alert(1)>": {}, bass-amp: {}}
wires:
  "w | `x` ]]> </details> [l](http://evil.example) ![i](http://evil.example/i.png)\n::error::x %0A::error::y\r\n/close\e[31m \u202E\u061C\uFFFE {0} www.evil.example a@evil.example <script> &amp; \\": {}
  main: &hot
    from: battery.positive
    to: "amp @octocat <img src=x onerror=alert(1)>.power"
    size: 10 AWG
    conductor: copper
    insulation: 105 C
    length: 4.9 m
    path: [engine-bay, firewall, cargo]
    fuse: {form: bolt-down, distance: 20 cm, rating: 60 A}
    crossings: {firewall: {through: factory-grommet, sealed: true}}
  spare: *hot
  "@octocat": {length: "](http://evil.example) ]]> </failure>"}
waivers:
  - {rule: FUSE-01, at: wires.main, reason: "| </details> ]]> ::error::w\n\n# @octocat %0A w | `x` ]]> </details> [l](http://evil.example) ![i](http://evil.example/i.png)\n::error::x %0A::error::y\r\n/close\e[31m \u202E\u061C\uFFFE {0} www.evil.example a@evil.example <script> &amp; \\", by: "`@octocat`", until: 2027-06-30}
loads: {bass: {amplifier: "w | `x` ]]> </details> [l](http://evil.example) ![i](http://evil.example/i.png)\n::error::x %0A::error::y\r\n/close\e[31m \u202E\u061C\uFFFE {0} www.evil.example a@evil.example <script> &amp; \\"}}
settings: {bass-amp: {tone: 1 kHz}}
"#;

struct Ran {
    status: i32,
    out: String,
}

fn run(folder: &Path, arguments: &[&str]) -> Ran {
    let mut command = common::program(folder, &["check", "--as-of", "2026-11-27"]);
    let (status, out, _) = common::ended(command.args(arguments));
    Ran { status, out }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn array<'a>(value: &'a Value, pointer: &str) -> &'a Vec<Value> {
    value.pointer(pointer).and_then(Value::as_array).unwrap_or_else(|| panic!("{pointer} in {value}"))
}

fn fits(report: &Value, schema: &str) -> bool {
    // The published schema has a bracket too many where it describes `language`, so that its pattern is none.
    let schema =
        fs::read_to_string(root().join(schema)).expect("the schema").replace("-[a-zA-Z]{2}]?$", "-[a-zA-Z]{2}$");
    let schema = json(&schema);
    let validator = jsonschema::validator_for(&schema).expect("a schema");
    let faults: Vec<String> = validator.iter_errors(report).map(|e| format!("{}: {e}", e.instance_path())).collect();
    for fault in &faults {
        eprintln!("{fault:.500}");
    }
    faults.is_empty()
}

/// The clean job with a ground that is too long, and somebody who answers for it.
fn waived() -> String {
    let plan = fs::read_to_string(root().join(CLEAN)).expect("the job").replace("length: 40 cm", "length: 60 cm");
    plan + "\nwaivers:\n  - {rule: GROUND-02, at: wires.return, reason: foam, by: shop lead, until: 2027-06-30}\n"
}

#[test]
fn no_format_for_machines_tells_where_the_machine_keeps_its_files() {
    let folder = folder(&[("a b é.yaml", "plan: 1\nwires: {main: {length: 4 kg}}\n")]);
    // What a link or a short name leads to is what the system calls the folder.
    let here = folder.path().canonicalize().expect("the folder");
    let named = |name: &str| here.join(name).to_str().expect("a path").to_owned();
    let (plan, missing) = (named("a b é.yaml"), named("no/such.yaml"));
    for format in ["sarif", "junit", "github", "markdown"] {
        let Ran { status, out } = run(&here, &[&plan, &missing, "--format", format]);
        assert_eq!(status, 3, "{format}");
        assert!(!out.contains(here.to_str().expect("a path")), "{format}: {out}");
        assert!(out.contains("such.yaml"), "{format}: {out}");
    }
    let report = sarif::report(&here, &[&plan, &missing]);
    let uri = &report["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
    assert_eq!(uri, "a%20b%20%C3%A9.yaml");
    let notes = array(&report, "/runs/0/invocations/0/toolExecutionNotifications");
    assert_eq!(notes[0]["descriptor"]["id"], "not-read");
    assert_eq!(notes[0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"], "no/such.yaml");
}

/// A viewer shows what a rule of the house's own asks, as of any other.
#[test]
fn sarif_describes_the_rules_of_a_house() {
    let house = "house: 1\nown_rules:\n  SIX-01: {each: mount, must: mount.clearance >= 0.03, says: less than 3 cm of air, \
                 severity: fault, source: ours}\n";
    let plan = "plan: 1\nmounts: {box: {clearance: 1 cm}}\n";
    let folder = folder(&[("house.yaml", house), ("a.yaml", plan)]);
    let report = sarif::report(folder.path(), &["a.yaml"]);
    let results = array(&report, "/runs/0/results");
    let own = results.iter().find(|result| result["ruleId"] == "SIX-01").expect("it is found");
    let index = usize::try_from(own["ruleIndex"].as_u64().expect("a number")).expect("small");
    let rule = &array(&report, "/runs/0/tool/driver/rules")[index];
    assert_eq!(rule["id"], "SIX-01");
    assert_eq!(rule["shortDescription"]["text"], "less than 3 cm of air.");
    assert_eq!(rule["defaultConfiguration"]["level"], "warning");
    assert!(rule["help"]["text"].as_str().expect("words").contains("mount.clearance >= 0.03"), "{rule}");
}

#[test]
fn several_reports_at_once_are_the_same_as_one_by_one() {
    let folder = folder(&[("a.yaml", &waived()), ("b.yaml", HOSTILE)]);
    let mut arguments = vec!["a.yaml".to_owned(), "b.yaml".to_owned(), "missing.yaml".to_owned()];
    arguments.extend(ALL.iter().flat_map(|format| ["--output".to_owned(), format!("{format}={format}.out")]));
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    assert_eq!(run(folder.path(), &arguments).status, 3);
    for format in ALL {
        let alone = run(folder.path(), &["a.yaml", "b.yaml", "missing.yaml", "--format", format]).out;
        let beside = fs::read_to_string(folder.path().join(format!("{format}.out"))).expect("a report");
        assert!(alone == beside, "{format}");
    }
}

/// One plan full of markup through all formats, each read back.
#[test]
fn hostile_words_are_words_in_every_format() {
    let folder = folder(&[("a|b`c,d:e%0A.yaml", HOSTILE)]);
    let check = |format: &str| run(folder.path(), &[".", "--format", format]).out;
    for format in ALL {
        let out = check(format);
        let bad: Vec<char> = out.chars().filter(|c| *c != '\n' && testlamp::words::is_unsafe(*c)).collect();
        assert!(bad.is_empty(), "{format}: {bad:?}");
        // The plan reaches every format: it has a finding of its own and one that is waived.
        assert!(out.contains("FUSE-01") && out.contains("waived"), "{format}: {out}");
    }

    let reported = json(&check("json"));
    assert!(fits(&reported, "schema/report.schema.json"));
    let subjects = reported.to_string();
    assert!(subjects.contains("</details>") && subjects.contains("::error::x"), "{subjects}");

    let report = sarif::report(folder.path(), &["."]);
    for result in array(&report, "/runs/0/results") {
        let text = result["message"]["text"].as_str().expect("a message").replace("{{", "").replace("}}", "");
        assert!(!text.contains(['{', '}']) && !text.contains("]("), "{text}");
    }

    let out = check("junit");
    let document = Document::parse(&out).expect("XML");
    let [suite] = junit::suites(&document)[..] else { panic!("{out}") };
    assert_eq!(suite.attribute("name"), Some("a|b`c,d:e%0A.yaml"));
    let known = ["testsuites", "testsuite", "properties", "property", "testcase", "failure", "skipped"];
    let strange = document.descendants().filter(Node::is_element);
    let strange: Vec<&str> = strange.map(|node| node.tag_name().name()).filter(|name| !known.contains(name)).collect();
    assert!(strange.is_empty(), "{strange:?}");
    let said = |node: Node| node.attributes().any(|attribute| attribute.value().contains("]]> </details>"));
    assert!(document.descendants().any(said), "{out}");

    let out = check("github");
    let all = github::annotations(&out);
    assert_eq!(out.lines().filter(|line| line.contains("::")).count(), all.len());
    for annotation in &all {
        assert!(["error", "warning", "notice"].contains(&annotation.name.as_str()));
        assert_eq!(annotation.property("file"), "a|b`c,d:e%0A.yaml");
        assert!(annotation.data.lines().all(|line| !line.starts_with("::")), "{}", annotation.data);
    }
    assert!(out.lines().all(|line| line.starts_with("::") || line.starts_with("1 plan judged")), "{out}");
    assert!(all.iter().any(|annotation| annotation.data.contains("`x` ]]> </details>")));

    let out = check("markdown");
    assert!(out.lines().all(|line| !line.trim_start().starts_with('/')), "a forge reads a command: {out}");
    // A cell too many would be dropped without a word.
    let rows: Vec<&str> = out.lines().filter(|line| line.starts_with('|')).collect();
    assert!(rows.len() > 10 && rows.iter().all(|row| row.matches('|').count() == 5), "{rows:?}");
    let read = markdown::read(&out);
    assert_eq!(read.links, 0, "{out}");
    assert!(read.cells.iter().all(|cells| *cells == 4), "{:?}", read.cells);
    let allowed = |html: &String| {
        html == "</details>" || (html.starts_with("<details><summary>") && html.matches('<').count() == 3)
    };
    assert!(read.html.iter().all(allowed), "{:?}", read.html);
    for linked in ["@octocat", "://", "www.evil", "a@evil", "::"] {
        assert!(!read.text.contains(linked), "{linked} in {}", read.text);
    }
    assert!(read.text.replace('\u{2060}', "").contains("w | `x` ]]> </details> [l](http://evil.e"), "{}", read.text);
}
