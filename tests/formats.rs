//! Formats that other programs read, each read back by a reader that is not ours.

mod common;
#[path = "common/files.rs"]
mod files;

use std::collections::HashSet;
use std::fs;
use std::path::Path;

use files::folder;
use pulldown_cmark::{Event, Options, Parser, Tag};
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

const SARIF_SCHEMA: &str = "tests/published/sarif-2.1.0-rtm.5.json";

/// A report with its results checked for what the standard asks beyond its schema.
fn sarif(folder: &Path, arguments: &[&str]) -> Value {
    let Ran { status, out } = run(folder, &[arguments, &["--format", "sarif"]].concat());
    let report = json(&out);
    assert!(fits(&report, SARIF_SCHEMA), "{arguments:?}");
    let rules = array(&report, "/runs/0/tool/driver/rules");
    for result in array(&report, "/runs/0/results") {
        let index = usize::try_from(result["ruleIndex"].as_u64().expect("an index")).expect("an index");
        assert_eq!(rules[index]["id"], result["ruleId"]);
        assert!(result["kind"] == "fail" || result["level"] == "none", "3.27.10: {result}");
        assert!(result["suppressions"].is_array(), "3.27.23: {result}");
        let related = result["relatedLocations"].as_array().cloned().unwrap_or_default();
        let ids: HashSet<u64> = related.iter().filter_map(|location| location["id"].as_u64()).collect();
        assert_eq!(ids.len(), related.len());
        for uri in related.iter().chain(array(result, "/locations")) {
            let uri = uri.pointer("/physicalLocation/artifactLocation/uri").and_then(Value::as_str).expect("a URI");
            let plain = |c: char| c.is_ascii_alphanumeric() || "-._~/%".contains(c);
            assert!(!uri.starts_with('/') && uri.chars().all(plain), "{uri}");
        }
    }
    assert_eq!(report["runs"][0]["invocations"][0]["exitCode"], status);
    assert_eq!(report["runs"][0]["invocations"][0]["executionSuccessful"], status <= 1);
    report
}

/// The words of a text that a region marks, columns counted in UTF-16 units from 1.
fn marked(text: &str, region: &Value) -> String {
    let number = |key: &str| usize::try_from(region[key].as_u64().expect(key)).expect("a place");
    let text = text.trim_start_matches('\u{feff}').replace("\r\n", "\n").replace('\r', "\n");
    let lines: Vec<Vec<u16>> = text.split('\n').map(|line| line.encode_utf16().collect()).collect();
    let (first, last) = (number("startLine") - 1, number("endLine") - 1);
    let mut units: Vec<u16> = Vec::new();
    for (at, line) in lines.iter().enumerate().take(last + 1).skip(first) {
        let start = if at == first { number("startColumn") - 1 } else { 0 };
        let end = if at == last { number("endColumn") - 1 } else { line.len() };
        units.extend(&line[start..end]);
        if at < last {
            units.push(u16::from(b'\n'));
        }
    }
    String::from_utf16(&units).expect("no half of a character")
}

#[test]
fn sarif_fits_the_published_schema() {
    let examples = sarif(root(), &[JOBS]);
    let rules = array(&examples, "/runs/0/tool/driver/rules");
    assert_eq!(rules.len(), testlamp::rules::all().len() + 1);
    for (rule, described) in testlamp::rules::all().iter().zip(rules) {
        assert_eq!(described["id"], rule.code);
        assert_eq!(described["help"]["markdown"], rule.page);
        for words in ["/shortDescription/text", "/fullDescription/text", "/help/text"] {
            let words = described.pointer(words).and_then(Value::as_str).expect(words);
            assert!(words.len() > 20 && !words.contains("```") && !words.contains("##"), "{}: {words}", rule.code);
        }
    }
    let levels: HashSet<&str> =
        array(&examples, "/runs/0/results").iter().filter_map(|result| result["level"].as_str()).collect();
    assert_eq!(levels, HashSet::from(["error", "warning", "note"]));
    // The schema is no rubber stamp.
    let mut spoilt = examples.clone();
    spoilt["runs"][0]["results"][0]["level"] = "terrible".into();
    assert!(!fits(&spoilt, SARIF_SCHEMA));
}

/// 3.27.9: what lacks a fact is neither a problem nor none.
#[test]
fn what_holds_the_gate_open_is_open_in_sarif() {
    let folder = folder(&[("a.yaml", HOSTILE)]);
    let report = sarif(folder.path(), &["a.yaml"]);
    let open = array(&report, "/runs/0/results").iter().filter(|result| result["kind"] == "open");
    let counts = json(&run(folder.path(), &["a.yaml", "--format", "json"]).out)["summary"]["counts"].clone();
    assert!(open.clone().all(|result| result["level"] == "none" && result["properties"]["holdsGate"] == true));
    assert!(counts["held_open"].as_u64() > Some(0) && counts["held_open"] == open.count(), "{counts}");
}

#[test]
fn sarif_counts_columns_in_utf_16_units() {
    let plan = "plan: 1\nwires: {main: {note: \"🚗 é 中\", length: 4 kg}}\n";
    for (name, text) in [
        ("lf", plan.to_owned()),
        ("crlf", plan.replace('\n', "\r\n")),
        ("cr", plan.replace('\n', "\r")),
        ("bom", format!("\u{feff}{plan}")),
        ("bom, one line", "\u{feff}{plan: 1, note: 🚗, wires: {main: {length: 4 kg}}}".to_owned()),
    ] {
        let folder = folder(&[("a.yaml", &text)]);
        let report = sarif(folder.path(), &["a.yaml"]);
        let [result] = array(&report, "/runs/0/results").as_slice() else { panic!("{name}: {report}") };
        assert_eq!(result["ruleId"], "unreadable");
        assert_eq!(marked(&text, &result["locations"][0]["physicalLocation"]["region"]), "4 kg", "{name}");
    }
}

/// Where every example is marked the same words are meant as in the JSON report, which counts bytes.
#[test]
fn sarif_marks_the_words_that_json_marks() {
    let mut compared = 0;
    for entry in fs::read_dir(root().join(JOBS)).expect("jobs").flatten() {
        let path = entry.path();
        let name = format!("{JOBS}/{}", path.file_name().and_then(|name| name.to_str()).expect("a name"));
        let text = fs::read_to_string(&path).expect("a plan");
        let reported = json(&run(root(), &[&name, "--format", "json"]).out);
        assert!(fits(&reported, "schema/report.schema.json"), "{name}");
        let results = sarif(root(), &[&name]);
        let failed = array(&results, "/runs/0/results").iter().filter(|result| {
            result["kind"] == "fail" && result["ruleId"] != "unreadable" && result["suppressions"][0].is_null()
        });
        for (found, result) in array(&reported, "/plans/0/findings").iter().zip(failed) {
            assert_eq!(found["rule"]["code"], result["ruleId"]);
            let byte = |key: &str| usize::try_from(found["at"]["at"][key].as_u64().expect("a byte")).expect("a byte");
            let region = &result["locations"][0]["physicalLocation"]["region"];
            assert_eq!(marked(&text, region), text[byte("start")..byte("end")], "{name}");
            compared += 1;
        }
    }
    assert!(compared > 10, "{compared}");
}

fn fingerprints(report: &Value) -> Vec<(String, String)> {
    let of = |result: &Value| {
        let text = |value: &Value| value.as_str().expect("words").to_owned();
        (text(&result["ruleId"]), text(&result["partialFingerprints"]["testlampCheck/v1"]))
    };
    array(report, "/runs/0/results").iter().map(of).collect()
}

#[test]
fn fingerprints_stay_when_lines_move_and_tell_equal_findings_apart() {
    let text = fs::read_to_string(root().join(TORN)).expect("a plan");
    let wires = "plan: 1\nwires:\n  one: {length: 4 kg}\n  two: {length: 4 kg}\n";
    let moved = |text: &str| text.replacen("plan: 1\n", "# one\n\n# two\nplan: 1\n\n", 1);
    let folder = folder(&[
        ("a.yaml", &text),
        ("moved.yaml", &moved(&text)),
        ("wires.yaml", wires),
        ("moved-wires.yaml", &moved(wires)),
        ("other.yaml", &text.replace("colour: red", "colour: black")),
    ]);
    let of = |name: &str| fingerprints(&sarif(folder.path(), &[name]));
    for (plain, moved) in [("a.yaml", "moved.yaml"), ("wires.yaml", "moved-wires.yaml")] {
        let all = of(plain);
        assert!(all.len() >= 2);
        assert_eq!(all, of(moved), "{plain}");
        assert_eq!(all.iter().collect::<HashSet<_>>().len(), all.len(), "{plain}: two are the same");
    }
    for entry in fs::read_dir(root().join(JOBS)).expect("jobs").flatten() {
        let all = fingerprints(&sarif(root(), &[entry.path().to_str().expect("a path")]));
        assert_eq!(all.iter().collect::<HashSet<_>>().len(), all.len(), "{:?}", entry.path());
    }
}

/// The clean job with a ground that is too long, and somebody who answers for it.
fn waived() -> String {
    let plan = fs::read_to_string(root().join(CLEAN)).expect("the job").replace("length: 40 cm", "length: 60 cm");
    plan + "\nwaivers:\n  - {rule: GROUND-02, at: wires.return, reason: foam, by: shop lead, until: 2027-06-30}\n"
}

#[test]
fn a_waiver_is_a_suppression_in_the_source() {
    let plan = waived();
    let folder = folder(&[("a.yaml", &plan)]);
    let report = sarif(folder.path(), &["a.yaml"]);
    let results = array(&report, "/runs/0/results");
    let suppressed: Vec<&Value> = results.iter().filter(|result| !array(result, "/suppressions").is_empty()).collect();
    let [result] = suppressed.as_slice() else { panic!("{suppressed:?}") };
    assert_eq!(result["ruleId"], "GROUND-02");
    let suppression = &result["suppressions"][0];
    assert_eq!((&suppression["kind"], &suppression["status"]), (&"inSource".into(), &"accepted".into()));
    assert_eq!(suppression["justification"], "foam (shop lead, until 2027-06-30)");
    let line = plan.lines().position(|line| line.contains("reason: foam")).expect("the waiver") + 1;
    assert_eq!(suppression["location"]["physicalLocation"]["region"]["startLine"], line);
}

#[test]
fn what_follows_points_at_its_cause() {
    let report = sarif(root(), &[TORN]);
    let results = array(&report, "/runs/0/results");
    let following: Vec<&Value> = results.iter().filter(|result| result["properties"]["follows"].is_object()).collect();
    assert!(!following.is_empty());
    for result in following {
        let cause = &result["properties"]["cause"];
        let cause = results.iter().find(|other| other["partialFingerprints"]["testlampCheck/v1"] == *cause);
        let cause = cause.unwrap_or_else(|| panic!("no cause of {result}"));
        assert_eq!(cause["ruleId"], result["properties"]["follows"]["code"]);
        let place = &cause["locations"][0]["physicalLocation"];
        let related = array(result, "/relatedLocations").iter().find(|related| {
            related["physicalLocation"] == *place
                && related["message"]["text"].as_str().is_some_and(|words| words.starts_with("follows from"))
        });
        assert!(related.is_some(), "{result}");
    }
}

#[test]
fn an_open_bracket_has_the_place_where_reading_stopped_beside_it() {
    let folder = folder(&[("a.yaml", "plan: 1\nwires: [main\njob: {}\n")]);
    let report = sarif(folder.path(), &["a.yaml"]);
    let result = &report["runs"][0]["results"][0];
    let line = |location: &Value| location["physicalLocation"]["region"]["startLine"].clone();
    assert_eq!(result["message"]["text"].as_str().map(|words| words.starts_with("this [ is never closed")), Some(true));
    let related = array(result, "/relatedLocations");
    assert_eq!((line(&result["locations"][0]), related.len()), (2.into(), 1));
    assert_eq!(line(&related[0]), 3, "{related:?}");
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
    let report = sarif(&here, &[&plan, &missing]);
    let uri = &report["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
    assert_eq!(uri, "a%20b%20%C3%A9.yaml");
    let notes = array(&report, "/runs/0/invocations/0/toolExecutionNotifications");
    assert_eq!(notes[0]["descriptor"]["id"], "not-read");
    assert_eq!(notes[0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"], "no/such.yaml");
}

/// The suites of a report, their counts held against their cases.
fn suites<'a>(document: &'a Document<'a>) -> Vec<Node<'a, 'a>> {
    let element = |node: &Node<'a, 'a>, name: &'static str| node.has_tag_name(name);
    assert!(element(&document.root_element(), "testsuites"));
    let suites: Vec<Node<'_, '_>> = document.root_element().children().filter(|n| element(n, "testsuite")).collect();
    for suite in &suites {
        let cases = || suite.children().filter(|node| node.has_tag_name("testcase"));
        let with = |name: &'static str| cases().filter(|case| case.children().any(|n| n.has_tag_name(name))).count();
        let counts = ["failures", "errors", "skipped"].map(|name| suite.attribute(name).expect(name).to_owned());
        assert_eq!(counts, [with("failure"), with("error"), with("skipped")].map(|count| count.to_string()));
        assert_eq!(suite.attribute("tests"), Some(cases().count().to_string().as_str()));
        assert!(cases().count() > 0, "a suite without cases reads as one that did not run");
    }
    suites
}

fn with<'a>(suite: Node<'a, 'a>, name: &'static str) -> Vec<Node<'a, 'a>> {
    suite.descendants().filter(|node| node.has_tag_name(name)).collect()
}

#[test]
fn junit_fails_exactly_where_the_gate_holds() {
    for entry in fs::read_dir(root().join(JOBS)).expect("jobs").flatten() {
        let name = format!("{JOBS}/{}", entry.file_name().to_str().expect("a name"));
        let counts = json(&run(root(), &[&name, "--format", "json"]).out)["plans"][0]["counts"].clone();
        let Ran { status, out } = run(root(), &[&name, "--format", "junit"]);
        let document = Document::parse(&out).expect("XML");
        let [suite] = suites(&document)[..] else { panic!("{out}") };
        let of = |name: &str| counts[name].as_u64().expect("a count");
        let held = of("dangers") + of("faults") + of("held_open") + of("unreadable");
        assert_eq!(with(suite, "failure").len() as u64, held, "{name}");
        assert_eq!(status == 1, held > 0, "{name}");
        let skipped = of("advice") + of("open") - of("held_open") + of("waived");
        assert_eq!(with(suite, "skipped").len() as u64, skipped, "{name}");
        assert!(!out.contains("timestamp") && !out.contains(" time="), "{name}");
    }
}

#[test]
fn junit_lists_every_verdict_when_it_is_asked_for() {
    let reported = json(&run(root(), &[CLEAN, "--evidence", "--format", "json"]).out);
    let document = run(root(), &[CLEAN, "--evidence", "--format", "junit"]).out;
    let document = Document::parse(&document).expect("XML");
    let [suite] = suites(&document)[..] else { panic!("one suite") };
    // One case more: that the plan was read.
    assert_eq!(with(suite, "testcase").len(), array(&reported, "/plans/0/evidence/verdicts").len() + 1);
}

#[test]
fn junit_names_what_could_not_be_read() {
    let folder = folder(&[("a.yaml", "plan: 1\n")]);
    let Ran { out, .. } = run(folder.path(), &["a.yaml", "missing.yaml", "--format", "junit"]);
    let document = Document::parse(&out).expect("XML");
    let [plan, missing] = suites(&document)[..] else { panic!("{out}") };
    assert_eq!((plan.attribute("name"), plan.attribute("errors")), (Some("a.yaml"), Some("0")));
    assert_eq!(with(missing, "error").len(), 1);
    assert_eq!(with(missing, "testcase")[0].attribute("name"), Some("missing.yaml"));
}

/// A workflow command, read as the runner reads it: `::name key=value,key=value::data` on a line of its own.
struct Annotation {
    name: String,
    properties: Vec<(String, String)>,
    data: String,
}

impl Annotation {
    fn property(&self, name: &str) -> &str {
        self.properties.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value)
    }
}

fn annotations(out: &str) -> Vec<Annotation> {
    let unescape = |words: &str| {
        let words = words.replace("%3A", ":").replace("%2C", ",").replace("%0D", "\r").replace("%0A", "\n");
        words.replace("%25", "%")
    };
    let command = |line: &str| {
        let (head, data) = line.strip_prefix("::")?.split_once("::")?;
        let (name, properties) = head.split_once(' ').unwrap_or((head, ""));
        let pairs = properties.split(',').filter_map(|pair| pair.split_once('='));
        let properties = pairs.map(|(key, value)| (key.to_owned(), unescape(value))).collect();
        Some(Annotation { name: name.to_owned(), properties, data: unescape(data) })
    };
    out.split(['\n', '\r']).filter_map(command).collect()
}

#[test]
fn github_annotates_what_json_reports() {
    let reported = json(&run(root(), &[JOBS, "--format", "json"]).out);
    let out = run(root(), &[JOBS, "--format", "github"]).out;
    let all = annotations(&out);
    let lines = out.lines().count();
    assert_eq!(lines, all.len() + 1, "a line an annotation and the summary");
    let count = |name: &str| reported["summary"]["counts"][name].as_u64().expect("a count");
    let expected = ["dangers", "faults", "advice", "held_open", "waived", "unreadable"].map(count).iter().sum::<u64>();
    assert_eq!(all.len() as u64, expected);
    let thin = all.iter().find(|a| a.property("title") == "danger FUSE-01 fuse-above-wire").expect("FUSE-01");
    assert_eq!(thin.name, "error");
    assert_eq!(thin.property("file"), "examples/jobs/j-2046-fuse-above-wire.yaml");
    assert_eq!(["line", "col", "endColumn"].map(|key| thin.property(key)), ["68", "37", "41"]);
    let said: Vec<&str> = thin.data.lines().collect();
    assert_eq!(said.len(), 3, "{said:?}");
    assert_eq!(said[0], "80 A fuse on a wire that carries 38.4 to 39.6 A.");
}

/// What a page of markdown holds when it is read as GitHub's dialect: text, rows of tables, raw HTML.
#[derive(Debug, Default)]
struct PageRead {
    text: String,
    cells: Vec<usize>,
    html: Vec<String>,
    links: usize,
}

fn read_markdown(page: &str) -> PageRead {
    let mut read = PageRead::default();
    for event in
        Parser::new_ext(page, Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH | Options::ENABLE_FOOTNOTES)
    {
        match event {
            Event::Text(text) => read.text.push_str(&text),
            Event::Html(html) | Event::InlineHtml(html) => read.html.push(html.trim().to_owned()),
            Event::Start(Tag::Link { .. } | Tag::Image { .. }) => read.links += 1,
            Event::Start(Tag::TableRow | Tag::TableHead) => read.cells.push(0),
            Event::Start(Tag::TableCell) => *read.cells.last_mut().expect("a row") += 1,
            Event::Code(code) => panic!("code: {code}"),
            Event::SoftBreak | Event::HardBreak => read.text.push('\n'),
            _ => {}
        }
    }
    read
}

#[test]
fn markdown_shows_the_verdict_first_and_folds_the_rest() {
    let plan = waived();
    let folder = folder(&[("a.yaml", &plan), ("b.yaml", "plan: 1\nwires: {main: {length: 4 kg}}\n")]);
    let Ran { status, out } = run(folder.path(), &["a.yaml", "b.yaml", "--format", "markdown"]);
    assert_eq!(status, 1);
    assert!(out.starts_with("**testlamp: the gate is shut** · 2 plans judged: "), "{out}");
    let read = read_markdown(&out);
    assert!(read.cells.len() >= 2 && read.cells.iter().all(|cells| *cells == 4), "{read:?}");
    assert!(read.text.contains("waived by shop lead until 2027-06-30: foam"), "{}", read.text);
    let clean = run(root(), &[CLEAN, "--format", "markdown"]);
    assert!(clean.out.starts_with("**testlamp: nothing stands in the way** · "), "{}", clean.out);
}

#[test]
fn markdown_fits_into_a_comment() {
    let folder = folder(&[]);
    for at in 0..60 {
        fs::write(folder.path().join(format!("{at}.yaml")), HOSTILE).expect("a file");
    }
    let out = run(folder.path(), &[".", "--format", "markdown"]).out;
    assert!(out.chars().count() < 65_536, "{}", out.chars().count());
    assert!(out.contains("No room was left for"), "{out:.300}");
    let html = read_markdown(&out).html.join("");
    assert_eq!(html.matches("<details>").count(), html.matches("</details>").count());
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

    let report = sarif(folder.path(), &["."]);
    for result in array(&report, "/runs/0/results") {
        let text = result["message"]["text"].as_str().expect("a message").replace("{{", "").replace("}}", "");
        assert!(!text.contains(['{', '}']) && !text.contains("]("), "{text}");
    }

    let out = check("junit");
    let document = Document::parse(&out).expect("XML");
    let [suite] = suites(&document)[..] else { panic!("{out}") };
    assert_eq!(suite.attribute("name"), Some("a|b`c,d:e%0A.yaml"));
    let known = ["testsuites", "testsuite", "properties", "property", "testcase", "failure", "skipped"];
    let strange = document.descendants().filter(Node::is_element);
    let strange: Vec<&str> = strange.map(|node| node.tag_name().name()).filter(|name| !known.contains(name)).collect();
    assert!(strange.is_empty(), "{strange:?}");
    let said = |node: Node| node.attributes().any(|attribute| attribute.value().contains("]]> </details>"));
    assert!(document.descendants().any(said), "{out}");

    let out = check("github");
    let all = annotations(&out);
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
    let read = read_markdown(&out);
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
