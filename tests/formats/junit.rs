//! What runners of tests read, read with an XML parser.

use std::fs;

use roxmltree::{Document, Node};

use super::{CLEAN, JOBS, Ran, array, folder, json, root, run};

/// The suites of a report, their counts held against their cases.
pub fn suites<'a>(document: &'a Document<'a>) -> Vec<Node<'a, 'a>> {
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
