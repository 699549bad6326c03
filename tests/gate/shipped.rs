//! What ships beside the program: the hook, the workflow, the manual.

use std::fs;
use std::path::Path;

use super::{CLEAN, DANGER, folder, read, run};

fn yaml(path: &str) -> serde_yaml::Value {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(path)).expect(path);
    serde_yaml::from_str(&text).expect("YAML")
}

fn words(value: &serde_yaml::Value) -> Vec<String> {
    let text = |value: &serde_yaml::Value| value.as_str().expect("a word").to_owned();
    value
        .as_sequence()
        .map_or_else(|| text(value).split(' ').map(str::to_owned).collect(), |list| list.iter().map(text).collect())
}

#[test]
fn the_hook_runs_what_it_says() {
    let hooks = yaml(".pre-commit-hooks.yaml");
    let hook = &hooks.as_sequence().expect("a list")[0];
    for key in ["id", "name", "entry", "language", "files"] {
        assert!(hook.get(key).is_some(), "{key}");
    }
    let line = [words(&hook["entry"]), words(&hook["args"])].concat();
    let (program, arguments) = line.split_first().expect("a command");
    assert_eq!(program, "testlamp");
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    assert_eq!(run(folder(&[("jobs/a.yaml", CLEAN)]).path(), &arguments).0, 0);
    let (status, out, _) =
        run(folder(&[("jobs/a.yaml", DANGER), ("compose.yaml", "services: {}\n")]).path(), &arguments);
    assert!(status == 1 && out.contains("jobs/a.yaml:"), "{out}");
}

#[test]
fn the_workflow_runs_what_it_says() {
    let workflow = yaml("examples/ci/annotations.yml");
    let steps = workflow["jobs"]["gate"]["steps"].as_sequence().expect("steps").clone();
    let lines: Vec<Vec<String>> = steps.iter().filter_map(|step| step.get("run")).map(words).collect();
    let line = lines.iter().find(|line| line[0] == "testlamp").expect("it judges");
    let arguments: Vec<&str> = line[1..].iter().map(String::as_str).collect();
    assert!(arguments.contains(&"github"), "{arguments:?}");
    let folder = folder(&[("jobs/a.yaml", DANGER)]);
    let (status, out, err) = run(folder.path(), &arguments);
    assert!(status == 1 && out.contains("FUSE-01"), "{out}{err}");
    for kept in ["report.json", "record.jsonl"] {
        assert!(!read(&folder, kept).is_empty(), "{kept}");
    }
}

#[test]
fn the_manual_names_every_command_option_and_exit_status() {
    let folder = folder(&[]);
    let (status, first, _) = run(folder.path(), &["manual"]);
    assert_eq!(status, 0);
    for command in ["check", "explain", "figures", "rulebook", "schema", "completions", "manual"] {
        assert!(first.contains(&format!("testlamp {command}")), "{command}");
        let (status, page, _) = run(folder.path(), &["manual", command]);
        assert_eq!(status, 0, "{command}");
        for page in [&first, &page] {
            troff(page);
            for words in
                [".SH NAME", ".SH SYNOPSIS", ".SH \"EXIT STATUS\"", "nothing to check", "an input could not be read"]
            {
                assert!(page.contains(words), "{command}: {words} is missing in\n{page}");
            }
        }
    }
    let (_, page, _) = run(folder.path(), &["manual", "check"]);
    let (_, help, _) = run(folder.path(), &["check", "--help"]);
    let options = help.split_whitespace().filter(|word| word.starts_with("--") && word.len() > 2);
    for option in options.map(|word| word.trim_matches([',', ';', '.', ':'])) {
        let written = option.replace('-', "\\-");
        assert!(page.contains(&written), "{option}");
    }
    let (status, _, err) = run(folder.path(), &["manual", "chek"]);
    assert!(status == 2 && err.contains("did you mean check?"), "{err}");
}

/// Every line that begins with a dot is a request that the man macros know; there is one title, and it comes first.
fn troff(page: &str) {
    const KNOWN: [&str; 11] = ["TH", "SH", "TP", "PP", "RS", "RE", "IP", "br", "ie", "el", "ds"];
    let requests: Vec<&str> = page
        .lines()
        .filter_map(|line| line.strip_prefix('.'))
        .map(|line| line.trim_start().split([' ', '\\']).next().unwrap_or_default())
        .collect();
    for request in &requests {
        assert!(KNOWN.contains(request), ".{request} in\n{page}");
    }
    assert_eq!(requests.iter().filter(|request| **request == "TH").count(), 1);
    let (title, name) = (page.find(".TH ").expect("a title"), page.find(".SH NAME").expect("a name"));
    assert!(title < name);
}
