//! Annotations, read as the runner of a workflow reads them.

use super::{JOBS, json, root, run};

/// A workflow command, read as the runner reads it: `::name key=value,key=value::data` on a line of its own.
pub struct Annotation {
    pub name: String,
    properties: Vec<(String, String)>,
    pub data: String,
}

impl Annotation {
    pub fn property(&self, name: &str) -> &str {
        self.properties.iter().find(|(key, _)| key == name).map_or("", |(_, value)| value)
    }
}

pub fn annotations(out: &str) -> Vec<Annotation> {
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
    assert_eq!(["line", "col", "endColumn"].map(|key| thin.property(key)), ["69", "37", "41"]);
    let said: Vec<&str> = thin.data.lines().collect();
    assert_eq!(said.len(), 3, "{said:?}");
    assert_eq!(said[0], "80 A fuse on a wire that carries 38.4 to 39.6 A.");
}
