//! Files that are generated and checked in are what the program would write now.

use std::fs;
use std::path::Path;

use assert_cmd::Command;

const RENEW: &str = "renew it with `TESTLAMP_RENEW=1 cargo test --test current`";

fn current(path: &str, arguments: &[&str]) {
    let output = Command::cargo_bin("testlamp").expect("the program").args(arguments).output().expect("it runs");
    assert!(output.status.success(), "{arguments:?}");
    let written = String::from_utf8(output.stdout).expect("UTF-8");
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join(path);
    if std::env::var_os("TESTLAMP_RENEW").is_some() {
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
    current("schema/plan.schema.json", &["schema", "plan"]);
}

#[test]
fn the_schema_of_house_files_is_current() {
    current("schema/house.schema.json", &["schema", "house"]);
}

#[test]
fn the_schema_of_house_settings_is_current() {
    current("schema/house-settings.schema.json", &["schema", "house-settings"]);
}

#[test]
fn the_schema_of_reports_is_current() {
    current("schema/report.schema.json", &["schema", "report"]);
}

#[test]
fn the_schema_of_gate_records_is_current() {
    current("schema/record.schema.json", &["schema", "record"]);
}

#[test]
fn the_schema_of_figures_is_current() {
    current("schema/figures.schema.json", &["schema", "figures"]);
}

#[test]
fn the_list_of_rules_is_current_and_every_link_leads_to_a_page() {
    current("rules/README.md", &["rulebook"]);
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
