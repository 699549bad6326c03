//! How long the parts of a check take. At the end each is set against the bare parse of the same text in the same run:
//! that says as much on a slow machine as on a fast one.

#[path = "../../examples/generate.rs"]
#[allow(dead_code, reason = "only the plans are of use here")]
mod generate;

use std::cell::RefCell;
use std::hint::black_box;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use criterion::Criterion;
use serde_json::{Value, json};
use testlamp::command::FOR_EDITOR;
use testlamp::editor::Talk;
use testlamp::house::House;
use testlamp::judge::judge;
use testlamp::plan;
use testlamp::report::plan_report;
use testlamp::rules;
use testlamp::solve::Job;
use testlamp::text::{Limits, parse};

/// A job of about 300 lines in which everything is stated.
const JOB: &str = include_str!("../../examples/jobs/j-2057-everything-on-one-block.yaml");
const PLANS: usize = 1000;
/// How often each part runs when it is set against the parse.
const ROUNDS: usize = 101;

/// Something that is measured.
struct Part<'a> {
    name: &'static str,
    run: Box<dyn Fn() + 'a>,
}

fn part<'a>(name: &'static str, run: impl Fn() + 'a) -> Part<'a> {
    Part { name, run: Box::new(run) }
}

fn main() {
    let house = House::default();
    let rules = rules::all();
    let reading = plan::read(JOB.to_owned());
    let edited = RefCell::new(Edited::open(&generate::plan(1, 5)));
    let parts = [
        part("parse", || drop(black_box(parse(JOB, Limits::default())))),
        part("read: parse, schema, types", || drop(black_box(plan::read(JOB.to_owned())))),
        part("solve", || Job::new(&reading.plan, &house).solve()),
        part("judge, solved on demand", || drop(black_box(judge(&reading, &house, &rules)))),
        part("whole check, with its report", || {
            let reading = plan::read(JOB.to_owned());
            let judgement = judge(&reading, &house, &rules);
            drop(black_box(plan_report("job.yaml", &reading, &judgement)));
        }),
        part("editor, an edit to its findings", || edited.borrow_mut().edit()),
    ];
    let mut criterion = Criterion::default().configure_from_args();
    for Part { name, run } in &parts {
        criterion.bench_function(name, |bench| bench.iter(run));
    }
    let folder = tempfile::tempdir().expect("a folder");
    (0..PLANS).for_each(|at| std::fs::write(folder.path().join(format!("{at}.yaml")), JOB).expect("a plan"));
    let mut group = criterion.benchmark_group("program");
    group.sample_size(10).bench_function("check 1,000 plans", |bench| bench.iter(|| check(folder.path())));
    group.finish();
    criterion.final_summary();
    against_the_parse(&parts);
}

/// The program as it is run.
fn check(folder: &Path) {
    let mut program = Command::new(env!("CARGO_BIN_EXE_testlamp"));
    let status = program.arg("check").arg(folder).stdout(Stdio::null()).status().expect("the program runs");
    assert!(status.success(), "all plans are clear");
}

/// The parts take turns, so that a machine that slows down slows all of them.
fn against_the_parse(parts: &[Part<'_>]) {
    let mut times: Vec<Vec<Duration>> = parts.iter().map(|_| Vec::new()).collect();
    for _ in 0..ROUNDS {
        for (part, times) in parts.iter().zip(&mut times) {
            let started = Instant::now();
            (part.run)();
            times.push(started.elapsed());
        }
    }
    let median = |times: &mut Vec<Duration>| {
        times.sort();
        times[times.len() / 2].as_secs_f64()
    };
    let medians: Vec<f64> = times.iter_mut().map(median).collect();
    println!("against the bare parse:");
    for (part, seconds) in parts.iter().zip(&medians) {
        println!("  {:<32} {:>7.3} ms {:>6.2} x", part.name, seconds * 1e3, seconds / medians[0]);
    }
}

/// A text that is open in an editor and of which a length is changed.
struct Edited {
    talk: Talk,
    line: usize,
    column: usize,
    version: usize,
}

impl Edited {
    fn open(text: &str) -> Self {
        let mut talk = Talk::new(FOR_EDITOR);
        talk.say(json!({"jsonrpc": "2.0", "id": 1, "method": "initialize", "params": {"capabilities": {}}}));
        talk.say(json!({"jsonrpc": "2.0", "method": "initialized", "params": {}}));
        let opened = json!({"uri": "file:///none/a.yaml", "languageId": "yaml", "version": 1, "text": text});
        talk.say(told("didOpen", &json!({ "textDocument": opened })));
        let place = |(at, line): (usize, &str)| Some((at, line.find("length: 40 cm")? + "length: ".len()));
        let (line, column) = text.lines().enumerate().find_map(place).expect("a length");
        Self { talk, line, column, version: 1 }
    }

    fn edit(&mut self) {
        self.version += 1;
        let at = |column: usize| json!({"line": self.line, "character": column});
        let range = json!({"start": at(self.column), "end": at(self.column + 2)});
        let typed = if self.version.is_multiple_of(2) { "41" } else { "40" };
        let document = json!({"uri": "file:///none/a.yaml", "version": self.version});
        let change = json!({"textDocument": document, "contentChanges": [{"range": range, "text": typed}]});
        let said = self.talk.say(told("didChange", &change));
        assert!(said.iter().any(|said| said["method"] == "textDocument/publishDiagnostics"), "{said:?}");
    }
}

fn told(what: &str, params: &Value) -> Value {
    json!({"jsonrpc": "2.0", "method": format!("textDocument/{what}"), "params": params})
}
