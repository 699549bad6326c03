//! Files that are generated and checked in are what the program would write now.

mod common;

use std::fs;
use std::path::Path;

use serde_json::Value;
use testlamp::report::to_json;
use testlamp::{command, house, plan, report};

const RENEWS: &str = "TESTLAMP_RENEW";
const RENEW: &str = "renew it with `TESTLAMP_RENEW=1 cargo test --test current`";

fn said(arguments: &[&str]) -> String {
    let (status, out, _) = common::ended(&mut common::program(Path::new("."), arguments));
    assert_eq!(status, 0, "{arguments:?}");
    out
}

/// The schema of this name is what the types derive, and what the program prints.
fn schema(name: &str, derived: &Value) {
    let path = format!("schema/{name}.schema.json");
    let written = to_json(derived, 0).expect("JSON") + "\n";
    current(&path, &written);
    if std::env::var_os(RENEWS).is_none() {
        assert_eq!(said(&["schema", name]), written);
    }
}

fn current(path: &str, written: &str) {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    if std::env::var_os(RENEWS).is_some() {
        fs::create_dir_all(file.parent().expect("a folder")).expect("a folder");
        fs::write(&file, written).expect("the file");
        return;
    }
    let kept = fs::read_to_string(&file).unwrap_or_default();
    let line = kept.lines().zip(written.lines()).take_while(|(one, other)| one == other).count() + 1;
    assert!(kept == written, "{path} is not current (line {line} differs); {RENEW}");
}

#[test]
fn the_schema_of_plans_is_current() {
    schema("plan", &plan::schema());
}

#[test]
fn the_schema_of_house_files_is_current() {
    schema("house", &house::schema());
}

#[test]
fn the_schema_of_shelf_files_is_current() {
    schema("shelf", &plan::shelf_schema());
}

#[test]
fn the_schema_of_house_settings_is_current() {
    schema("house-settings", &command::house_settings_schema());
}

#[test]
fn the_schema_of_reports_is_current() {
    schema("report", &report::schema());
}

#[test]
fn the_schema_of_gate_records_is_current() {
    schema("record", &command::record_schema());
}

#[test]
fn the_schema_of_figures_is_current() {
    schema("figures", &command::figures_schema());
}

#[test]
fn the_list_of_rules_is_current_and_every_link_leads_to_a_page() {
    current("rules/README.md", &said(&["rulebook"]));
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("rules");
    let book = fs::read_to_string(folder.join("README.md")).expect("the list");
    for rule in testlamp::rules::all() {
        let start = format!("| [{}](", rule.code);
        let row = book.lines().find(|row| row.starts_with(&start)).unwrap_or_else(|| panic!("{}", rule.code));
        let link = row[start.len()..].split(')').next().expect("a link");
        assert_eq!(fs::read_to_string(folder.join(link)).expect(link), rule.page, "{}", rule.code);
    }
}

#[test]
fn schemas_are_schemas() {
    for (name, schema) in [
        ("plan", testlamp::plan::schema()),
        ("house", testlamp::house::schema()),
        ("report", testlamp::report::schema()),
    ] {
        assert!(jsonschema::meta::is_valid(&schema), "{name}");
        assert_eq!(schema["$schema"], "https://json-schema.org/draft/2020-12/schema");
    }
}
