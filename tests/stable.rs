//! What people and programs build upon stays (`docs/stability.md`): every line of `tests/interface.txt` still holds, and
//! what is new is written down there.

mod common;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use serde_json::Value;
use testlamp::rules;

use common::{ended, program};

const SCHEMAS: [&str; 7] = ["plan", "house", "shelf", "report", "record", "figures", "house-settings"];
/// Formats that people write: there, a key that has to be stated and had not to be before breaks what they have.
const WRITTEN: [&str; 3] = ["plan", "house", "shelf"];
const HEAD: &str = "# What stays from one release to the next (docs/stability.md). A line that does not hold any more is a breaking\n\
                    # change; `TESTLAMP_RENEW=1 cargo test --test stable` adds what is new and takes nothing out.\n";

fn says(arguments: &[&str]) -> String {
    let (_, out, err) = ended(&mut program(Path::new(env!("CARGO_MANIFEST_DIR")), arguments));
    assert_eq!(err, "", "{arguments:?}");
    out
}

#[test]
fn what_was_promised_still_holds_and_what_is_new_is_written_down() {
    let mut lines: BTreeSet<String> =
        rules::all().iter().map(|rule| format!("rule {} {} {}", rule.code, rule.name, rule.severity.word())).collect();
    command_line(&mut lines);
    sarif(&mut lines);
    for name in SCHEMAS {
        let schema = serde_json::from_str(&says(&["schema", name])).expect("JSON");
        Walk { name, root: &schema, open: Vec::new(), lines: &mut lines }.node(&schema, "");
    }

    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/interface.txt");
    let kept = fs::read_to_string(&file).unwrap_or_default();
    let kept: BTreeSet<String> = kept.lines().filter(|line| !line.starts_with('#')).map(str::to_owned).collect();
    let gone: Vec<&String> = kept.difference(&lines).collect();
    assert!(gone.is_empty(), "these hold no longer, which breaks what is built on them (docs/stability.md): {gone:#?}");
    if std::env::var_os("TESTLAMP_RENEW").is_some() {
        let lines: Vec<String> = lines.into_iter().collect();
        fs::write(&file, format!("{HEAD}{}\n", lines.join("\n"))).expect("written");
        return;
    }
    let new: Vec<&String> = lines.difference(&kept).collect();
    assert!(new.is_empty(), "`TESTLAMP_RENEW=1 cargo test --test stable` writes down what is new: {new:#?}");
}

/// Commands, what they take and the exit statuses, as the help lists them.
fn command_line(lines: &mut BTreeSet<String>) {
    let help = says(&["--help"]);
    let part = |from: &str| help.split_once(from).expect(from).1.split("\n\n").next().expect("lines").to_owned();
    let statuses = part("Exit status:\n");
    lines.extend(statuses.lines().filter_map(|line| Some(format!("status {}", line.split_whitespace().next()?))));
    // A command stands two columns in; what its words need more lines for stands further in.
    let commands = part("Commands:\n");
    let named = commands.lines().filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    for command in named.filter_map(|line| line.split_whitespace().next()) {
        lines.insert(format!("command {command}"));
        takes(command, &says(&[command, "--help"]), lines);
    }
}

/// What one command takes: options with their values and defaults.
fn takes(command: &str, help: &str, lines: &mut BTreeSet<String>) {
    let mut taken = String::new();
    for line in help.lines() {
        let (words, indent) = (line.trim_start(), line.len() - line.trim_start().len());
        let is_option =
            (indent == 6 && words.starts_with("--")) || (indent == 2 && words.starts_with('-') && words[1..2] != *"-");
        if is_option || (indent == 2 && words.starts_with(['<', '['])) {
            let shown: Vec<&str> = words.split(' ').take_while(|word| word.starts_with(['-', '<', '['])).collect();
            taken = format!("{command} {}", shown.join(" "));
            lines.insert(format!("takes {taken}"));
        }
        if indent == 10
            && let Some((value, _)) = words.strip_prefix("- ").and_then(|value| value.split_once(':'))
        {
            lines.insert(format!("value {taken}: {value}"));
        }
        for (mark, what) in [("[default: ", "default"), ("[possible values: ", "value")] {
            let Some((_, listed)) = words.split_once(mark) else { continue };
            for value in listed.trim_end_matches(']').split(", ") {
                lines.insert(format!("{what} {taken}: {value}"));
            }
        }
    }
}

/// How code scanning tells results apart; rules go by their codes.
fn sarif(lines: &mut BTreeSet<String>) {
    let report: Value =
        serde_json::from_str(&says(&["check", "examples/jobs/j-2046-fuse-above-wire.yaml", "--format", "sarif"]))
            .expect("JSON");
    let run = &report["runs"][0];
    let prints = run["results"][0]["partialFingerprints"].as_object().expect("fingerprints");
    lines.extend(prints.keys().map(|print| format!("sarif fingerprint {print}")));
}

/// The keys of a schema, by their paths.
struct Walk<'a> {
    name: &'a str,
    root: &'a Value,
    /// References that lead here: a schema that holds itself is walked once.
    open: Vec<String>,
    lines: &'a mut BTreeSet<String>,
}

impl Walk<'_> {
    fn line(&mut self, what: &str, path: &str, more: &str) {
        self.lines.insert(format!("{} {what} {path}{more}", self.name));
    }

    fn node(&mut self, node: &Value, path: &str) {
        if let Some(reference) = node["$ref"].as_str() {
            if self.open.iter().any(|open| open == reference) {
                return;
            }
            let definition = self.root.pointer(reference.trim_start_matches('#')).expect(reference);
            self.open.push(reference.to_owned());
            self.node(definition, path);
            self.open.pop();
        }
        for branch in ["anyOf", "oneOf", "allOf"].iter().filter_map(|list| node[list].as_array()).flatten() {
            self.node(branch, path);
        }
        for word in node["enum"].as_array().into_iter().flatten() {
            self.line("word", path, &format!(": {word}"));
        }
        if let Some(quantity) = node["x-quantity"].as_str() {
            self.line("quantity", path, &format!(": {quantity}"));
        }
        self.keys(node, path);
        if node["items"].is_object() {
            self.node(&node["items"], &format!("{path}[]"));
        }
        if node["additionalProperties"].is_object() {
            self.node(&node["additionalProperties"], &below(path, "*"));
        }
    }

    fn keys(&mut self, node: &Value, path: &str) {
        let required = |key: &str| node["required"].as_array().is_some_and(|list| list.iter().any(|name| name == key));
        for (key, value) in node["properties"].as_object().into_iter().flatten() {
            let path = below(path, key);
            self.line("key", &path, "");
            match (WRITTEN.contains(&self.name), required(key)) {
                (true, false) => self.line("may leave out", &path, ""),
                (false, true) => self.line("always has", &path, ""),
                _ => {}
            }
            self.node(value, &path);
        }
    }
}

fn below(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}
