//! SARIF against the published schema, and what the standard asks beyond it.

use std::collections::HashSet;
use std::fs;
use std::path::Path;

use serde_json::Value;

use super::{HOSTILE, JOBS, Ran, TORN, array, fits, folder, json, root, run, waived};

const SARIF_SCHEMA: &str = "tests/published/sarif-2.1.0-rtm.5.json";

/// A report with its results checked for what the standard asks beyond its schema.
pub fn report(folder: &Path, arguments: &[&str]) -> Value {
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
    let examples = report(root(), &[JOBS]);
    let all = testlamp::rules::all();
    for described in array(&examples, "/runs/0/tool/driver/rules") {
        let rule = all.iter().find(|rule| described["id"] == rule.code).expect("a rule");
        assert_eq!(described["help"]["markdown"], rule.page);
        for words in ["/shortDescription/text", "/fullDescription/text", "/help/text"] {
            let words = described.pointer(words).and_then(Value::as_str).expect(words);
            assert!(words.len() > 20 && !words.contains("```") && !words.contains("##"), "{}: {words}", rule.code);
        }
    }
    let levels: HashSet<&str> =
        array(&examples, "/runs/0/results").iter().filter_map(|result| result["level"].as_str()).collect();
    assert_eq!(levels, HashSet::from(["error", "warning", "note"]));
    // Each rule that a result names or that a house has off is described once, and no other.
    let ids = |values: &[Value], key: &str| -> Vec<String> {
        values.iter().map(|value| value[key].as_str().expect("an id").to_owned()).collect()
    };
    let described = ids(array(&examples, "/runs/0/tool/driver/rules"), "id");
    let off = array(&examples, "/runs/0/invocations/0/ruleConfigurationOverrides").iter();
    let off: Vec<Value> = off.map(|rule| rule["descriptor"].clone()).collect();
    let results = ids(array(&examples, "/runs/0/results"), "ruleId");
    let named: HashSet<String> = results.into_iter().chain(ids(&off, "id")).collect();
    assert_eq!((described.len(), described.into_iter().collect::<HashSet<_>>()), (named.len(), named));
    // The schema is no rubber stamp.
    let mut spoilt = examples.clone();
    spoilt["runs"][0]["results"][0]["level"] = "terrible".into();
    assert!(!fits(&spoilt, SARIF_SCHEMA));
}

/// 3.27.9: what lacks a fact is neither a problem nor none.
#[test]
fn what_holds_the_gate_open_is_open_in_sarif() {
    let folder = folder(&[("a.yaml", HOSTILE)]);
    let report = report(folder.path(), &["a.yaml"]);
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
        let report = report(folder.path(), &["a.yaml"]);
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
        let results = report(root(), &[&name]);
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
    let of = |name: &str| fingerprints(&report(folder.path(), &[name]));
    for (plain, moved) in [("a.yaml", "moved.yaml"), ("wires.yaml", "moved-wires.yaml")] {
        let all = of(plain);
        assert!(all.len() >= 2);
        assert_eq!(all, of(moved), "{plain}");
        assert_eq!(all.iter().collect::<HashSet<_>>().len(), all.len(), "{plain}: two are the same");
    }
    for entry in fs::read_dir(root().join(JOBS)).expect("jobs").flatten() {
        let all = fingerprints(&report(root(), &[entry.path().to_str().expect("a path")]));
        assert_eq!(all.iter().collect::<HashSet<_>>().len(), all.len(), "{:?}", entry.path());
    }
}

#[test]
fn a_waiver_is_a_suppression_in_the_source() {
    let plan = waived();
    let folder = folder(&[("a.yaml", &plan)]);
    let report = report(folder.path(), &["a.yaml"]);
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
    let report = report(root(), &[TORN]);
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
    let report = report(folder.path(), &["a.yaml"]);
    let result = &report["runs"][0]["results"][0];
    let line = |location: &Value| location["physicalLocation"]["region"]["startLine"].clone();
    assert_eq!(result["message"]["text"].as_str().map(|words| words.starts_with("this [ is never closed")), Some(true));
    let related = array(result, "/relatedLocations");
    assert_eq!((line(&result["locations"][0]), related.len()), (2.into(), 1));
    assert_eq!(line(&related[0]), 3, "{related:?}");
}
