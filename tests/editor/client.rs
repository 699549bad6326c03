//! A small editor: it sends, waits for answers, and keeps a text in step with the server.

use std::collections::VecDeque;
use std::io::{BufRead, BufReader, Write};
use std::ops::Range;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::Duration;

use serde_json::{Value, json};

/// Longer than any answer may take.
const LONGEST: Duration = Duration::from_mins(1);

pub struct Client {
    child: Child,
    input: Option<ChildStdin>,
    coming: Receiver<Value>,
    answers: VecDeque<Value>,
    asked: VecDeque<Value>,
    /// What was published, in order.
    pub published: VecDeque<Value>,
    /// What the server complained of.
    pub logged: Vec<Value>,
    number: i64,
}

impl Client {
    /// The program, freshly started.
    pub fn start() -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_testlamp"))
            .arg("language-server")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("it starts");
        let input = child.stdin.take();
        let mut output = BufReader::new(child.stdout.take().expect("its output"));
        let (put, coming) = channel();
        thread::spawn(move || {
            while let Some(message) = read(&mut output) {
                if put.send(message).is_err() {
                    break;
                }
            }
        });
        let (answers, asked, published, logged) = Default::default();
        Self { child, input, coming, answers, asked, published, logged, number: 0 }
    }

    /// A session with an editor that can do so much.
    pub fn ready(capabilities: &Value) -> Self {
        let mut client = Self::start();
        let answer = client.ask("initialize", &json!({"capabilities": capabilities}));
        assert_eq!(answer["serverInfo"]["name"], "testlamp");
        client.tell("initialized", &json!({}));
        client
    }

    fn send(&mut self, mut message: Value) {
        message["jsonrpc"] = json!("2.0");
        let body = message.to_string();
        let input = self.input.as_mut().expect("not hung up");
        write!(input, "Content-Length: {}\r\n\r\n{body}", body.len()).and_then(|()| input.flush()).expect("it listens");
    }

    /// A notification.
    pub fn tell(&mut self, method: &str, params: &Value) {
        self.send(json!({"method": method, "params": params}));
    }

    /// A request whose answer is fetched later.
    pub fn begin(&mut self, method: &str, params: &Value) -> i64 {
        self.number += 1;
        self.send(json!({"id": self.number, "method": method, "params": params}));
        self.number
    }

    /// The answer to a request, whole.
    pub fn answer(&mut self, id: i64) -> Value {
        loop {
            if let Some(at) = self.answers.iter().position(|answer| answer["id"] == id) {
                return self.answers.remove(at).expect("it is there");
            }
            self.take();
        }
    }

    /// The result of a request.
    pub fn ask(&mut self, method: &str, params: &Value) -> Value {
        let id = self.begin(method, params);
        let answer = self.answer(id);
        assert!(answer.get("error").is_none(), "{method}: {answer}");
        answer["result"].clone()
    }

    /// The code with which a request is refused.
    pub fn refused(&mut self, method: &str, params: &Value) -> i64 {
        let id = self.begin(method, params);
        let answer = self.answer(id);
        answer["error"]["code"].as_i64().unwrap_or_else(|| panic!("{method} is answered: {answer}"))
    }

    /// Whether the server has made this request.
    pub fn was_asked(&self, method: &str) -> bool {
        self.asked.iter().any(|asked| asked["method"] == method)
    }

    /// The next findings of a text and version.
    pub fn publish(&mut self, uri: &str, version: Option<i64>) -> Vec<Value> {
        let mut seen = 0;
        loop {
            while let Some(told) = self.published.get(seen) {
                if told["uri"] == uri && told["version"].as_i64() == version {
                    let found = told["diagnostics"].as_array().expect("a list").clone();
                    self.published.drain(..=seen);
                    return found;
                }
                seen += 1;
            }
            self.take();
        }
    }

    fn take(&mut self) {
        let message = self.coming.recv_timeout(LONGEST).expect("a message in time");
        match message["method"].as_str() {
            Some("textDocument/publishDiagnostics") => self.published.push_back(message["params"].clone()),
            Some("window/logMessage") => self.logged.push(message),
            Some(_) => self.asked.push_back(message),
            None => self.answers.push_back(message),
        }
    }

    /// Leaves as it should, if the server had nothing to complain of; the exit status.
    pub fn leave(mut self) -> i32 {
        self.ask("shutdown", &Value::Null);
        assert!(self.logged.is_empty(), "{:?}", self.logged);
        self.exit()
    }

    /// Leaves at once; the exit status.
    pub fn exit(mut self) -> i32 {
        self.tell("exit", &Value::Null);
        self.child.wait().expect("it ends").code().expect("a status")
    }

    /// Is gone without a word; the exit status.
    pub fn hang_up(mut self) -> i32 {
        self.input = None;
        self.child.wait().expect("it ends").code().expect("a status")
    }

    /// The memory that the server holds, in kB, where the system tells.
    pub fn memory(&self) -> u64 {
        let status = std::fs::read_to_string(format!("/proc/{}/status", self.child.id())).unwrap_or_default();
        let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
        line.and_then(|line| line.trim().trim_end_matches(" kB").parse().ok()).unwrap_or(0)
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn read(output: &mut impl BufRead) -> Option<Value> {
    let mut length = 0;
    loop {
        let mut line = String::new();
        output.read_line(&mut line).ok().filter(|read| *read > 0)?;
        match line.trim().split_once(": ") {
            Some(("Content-Length", value)) => length = value.parse().ok()?,
            Some(_) => {}
            None => break,
        }
    }
    let mut body = vec![0; length];
    output.read_exact(&mut body).ok()?;
    Some(serde_json::from_slice(&body).expect("JSON"))
}

/// An open plan, as the editor has it.
pub struct Plan {
    pub uri: String,
    pub text: String,
    pub version: i64,
    pub utf8: bool,
}

impl Plan {
    pub fn open(client: &mut Client, text: &str) -> Self {
        Self::open_at(client, "file:///plan.yaml", text)
    }

    pub fn open_at(client: &mut Client, uri: &str, text: &str) -> Self {
        let item = json!({"uri": uri, "languageId": "yaml", "version": 1, "text": text});
        client.tell("textDocument/didOpen", &json!({"textDocument": item}));
        Self { uri: uri.to_owned(), text: text.to_owned(), version: 1, utf8: false }
    }

    /// What is found in the text as it is now.
    pub fn told(&mut self, client: &mut Client) -> Vec<Value> {
        client.publish(&self.uri, Some(self.version))
    }

    /// The same once more, for a text that is judged again or has been waited for already.
    pub fn told_again(&mut self, client: &mut Client) -> Vec<Value> {
        client.tell("workspace/didChangeWatchedFiles", &json!({"changes": []}));
        client.publish(&self.uri, Some(self.version))
    }

    pub fn add(&mut self, client: &mut Client, text: &str) {
        let end = self.text.len();
        self.replace(client, end..end, text);
    }

    pub fn replace(&mut self, client: &mut Client, range: Range<usize>, text: &str) {
        self.version += 1;
        let change = json!({"range": self.span(range.clone()), "text": text});
        let identifier = json!({"uri": self.uri, "version": self.version});
        client.tell("textDocument/didChange", &json!({"textDocument": identifier, "contentChanges": [change]}));
        self.text.replace_range(range, text);
    }

    /// Makes the edits of this plan, and says so to the server.
    pub fn make(&mut self, client: &mut Client, edit: &Value) {
        let edits = match edit["documentChanges"].as_array() {
            Some(changes) => {
                let own =
                    changes.iter().find(|change| change["textDocument"]["uri"] == self.uri.as_str()).expect("edits");
                assert_eq!(own["textDocument"]["version"], self.version, "for the text as it is");
                own["edits"].clone()
            }
            None => edit["changes"][&self.uri].clone(),
        };
        let edits = edits.as_array().expect("edits").iter();
        let mut edits: Vec<(Range<usize>, String)> = edits
            .map(|edit| {
                let offset = |end: &str| self.offset(&edit["range"][end]);
                (offset("start")..offset("end"), edit["newText"].as_str().expect("text").to_owned())
            })
            .collect();
        edits.sort_by_key(|(range, _)| std::cmp::Reverse(range.start));
        for (range, text) in edits {
            self.replace(client, range, &text);
        }
    }

    pub fn identifier(&self) -> Value {
        json!({"textDocument": {"uri": self.uri}})
    }

    pub fn place(&self, offset: usize) -> Value {
        json!({"textDocument": {"uri": self.uri}, "position": self.position(offset)})
    }

    pub fn actions(&self, offset: usize, told: &[Value]) -> Value {
        let range = self.span(offset..offset);
        json!({"textDocument": {"uri": self.uri}, "range": range, "context": {"diagnostics": told}})
    }

    /// Counted anew from the text, so that the server's way of counting is not taken for granted.
    pub fn position(&self, offset: usize) -> Value {
        let before = &self.text[..offset];
        let line = before.matches('\n').count();
        let words = &before[before.rfind('\n').map_or(0, |end| end + 1)..];
        let column = if self.utf8 { words.len() } else { words.encode_utf16().count() };
        json!({"line": line, "character": column})
    }

    pub fn span(&self, range: Range<usize>) -> Value {
        json!({"start": self.position(range.start), "end": self.position(range.end)})
    }

    fn offset(&self, position: &Value) -> usize {
        let all = (0..=self.text.len()).filter(|at| self.text.is_char_boundary(*at));
        let mut found = all.into_iter().filter(|at| self.position(*at) == *position);
        found.next().unwrap_or_else(|| panic!("{position} is outside the text"))
    }
}

pub fn at((line, character): (u32, u32)) -> Value {
    json!({"line": line, "character": character})
}

pub fn span(start: (u32, u32), end: (u32, u32)) -> Value {
    json!({"start": at(start), "end": at(end)})
}
