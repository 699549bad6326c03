//! A session with an editor made from any bytes: texts are opened and edited, questions asked at places that may not exist.
//! The editor keeps its texts by itself and counts lines and columns in its own way.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use testlamp::command::FOR_EDITOR;
use testlamp::editor::{ASKED, Talk};

/// So many steps has a session at most.
const STEPS: usize = 24;
const HOUSE: &str = "house: 1\nshelves: [gear.yaml]\nlimits:\n  fixing-distance: {value: 40 cm, source: \"ours 🔧\"}\n\
    rules:\n  WIRE-13: {off: true, reason: black}\nown_rules:\n  HOUSE-01: {each: wire, must: wire.size >= 1.0, says: thin, source: us}\n";
const SHELF: &str =
    "shelf: 1\namplifiers:\n  mono: {class: D, channels: 1, minimum_load: 2 ohm}\n  loud: {shelf: mono}\n";
const PLAN: &str = "plan: 1\namplifiers:\n  amp: {shelf: mono, note: 'ä 🚗'}\nblocks: {split: {outputs: {one: {}}}}\nwires:\n  \
    main: {from: battery.positive, to: amp.power, size: 8 AWG, length: 4 m, path: [engine-bay, cargo], fuse: {rating: 80 A}}\n\
    grounds:\n  floor: {surface: painted}\nsteps: [{run: main}]\n";
const TEXTS: [(&str, &str); 3] =
    [("file:///none/jobs/a.yaml", PLAN), ("file:///none/house.yaml", HOUSE), ("file:///none/gear.yaml", SHELF)];
/// What is typed.
const TYPED: [&str; 32] = [
    "a",
    " ",
    "\n",
    "\r\n",
    "\r",
    ":",
    ": ",
    "- ",
    "{",
    "}",
    "[",
    "]",
    "\"",
    "'",
    "#",
    "&x ",
    "*x",
    "ä",
    "🔧",
    "\u{2028}",
    "\t",
    "\n  ",
    "shelf: ",
    "plan: 1\n",
    "house: 1\n",
    "one",
    "4 AWG",
    "limits:\n  ",
    "size: ",
    "..",
    "\0",
    "\u{feff}",
];
/// Refusals that are answers: asked wrongly, cannot be done, unknown.
const REFUSED: [i64; 3] = [-32602, -32803, -32601];

struct Bytes<'a>(std::slice::Iter<'a, u8>);

impl Bytes<'_> {
    fn next(&mut self) -> usize {
        self.0.next().map_or(0, |byte| usize::from(*byte))
    }

    fn is_over(&self) -> bool {
        self.0.len() == 0
    }

    /// A number below another.
    fn below(&mut self, end: usize) -> usize {
        (self.next() * 256 + self.next()) % end.max(1)
    }
}

struct Text {
    text: String,
    version: i64,
}

struct Editor<'a> {
    bytes: Bytes<'a>,
    talk: Talk,
    texts: BTreeMap<&'static str, Text>,
    is_utf8: bool,
    number: i64,
}

/// Holds the session that these bytes make.
///
/// # Panics
/// When the server breaks down, points outside a text, or tells of a text that it does not have.
pub fn session(bytes: &[u8]) {
    let mut bytes = Bytes(bytes.iter());
    let is_utf8 = bytes.next() % 2 == 1;
    let mut editor = Editor { bytes, talk: Talk::new(FOR_EDITOR), texts: BTreeMap::new(), is_utf8, number: 0 };
    let encodings = if is_utf8 { json!(["utf-8"]) } else { json!(["utf-16"]) };
    let capabilities = json!({
        "general": {"positionEncodings": encodings},
        "textDocument": {"publishDiagnostics": {"relatedInformation": true}, "hover": {"contentFormat": ["markdown"]}},
    });
    editor.ask("initialize", &json!({"capabilities": capabilities}), "");
    editor.tell("initialized", &json!({}));
    let first = editor.bytes.next() % TEXTS.len();
    editor.open(first);
    for _ in 0..STEPS {
        if editor.bytes.is_over() {
            break;
        }
        editor.step();
    }
    editor.ask("shutdown", &Value::Null, "");
}

impl Editor<'_> {
    fn step(&mut self) {
        let which = self.bytes.next() % TEXTS.len();
        let uri = TEXTS[which].0;
        match self.bytes.next() % 16 {
            _ if !self.texts.contains_key(uri) => self.open(which),
            0..=6 => self.edit(uri),
            7 => self.put(uri),
            8 => {
                self.texts.remove(uri);
                self.tell("textDocument/didClose", &json!({"textDocument": {"uri": uri}}));
            }
            9 => self.tell("workspace/didChangeWatchedFiles", &json!({"changes": [{"uri": uri, "type": 2}]})),
            _ => self.question(uri),
        }
    }

    fn open(&mut self, which: usize) {
        let (uri, text) = TEXTS[which];
        self.texts.insert(uri, Text { text: text.into(), version: 1 });
        let item = json!({"uri": uri, "languageId": "yaml", "version": 1, "text": text});
        self.tell("textDocument/didOpen", &json!({"textDocument": item}));
    }

    /// A change of a part, between places that may lie outside the text or the wrong way round.
    fn edit(&mut self, uri: &'static str) {
        let (start, end) = (self.place(uri), self.place(uri));
        let typed = TYPED[self.bytes.next() % TYPED.len()];
        let is_utf8 = self.is_utf8;
        let Some(own) = self.texts.get_mut(uri) else { return };
        let from = offset(&own.text, start, is_utf8);
        let to = offset(&own.text, end, is_utf8).max(from);
        // Few bytes are taken out at once, or nothing of the text is left after three steps.
        let to = if to - from > 40 { from } else { to };
        let end = if to == from { start } else { end };
        own.text.replace_range(from..to, typed);
        own.version += 1;
        let change = json!({"range": {"start": at(start), "end": at(end)}, "text": typed});
        let identifier = json!({"uri": uri, "version": own.version});
        self.tell("textDocument/didChange", &json!({"textDocument": identifier, "contentChanges": [change]}));
    }

    /// Another text altogether: what the bytes say, read as text.
    fn put(&mut self, uri: &'static str) {
        let length = self.bytes.below(60);
        let raw: Vec<u8> = (0..length).filter_map(|_| self.bytes.0.next().copied()).collect();
        let Some(own) = self.texts.get_mut(uri) else { return };
        own.text = String::from_utf8_lossy(&raw).into_owned();
        own.version += 1;
        let params = json!({
            "textDocument": {"uri": uri, "version": own.version},
            "contentChanges": [{"text": own.text}],
        });
        self.tell("textDocument/didChange", &params);
    }

    fn question(&mut self, uri: &'static str) {
        let asked = ASKED[self.bytes.next() % ASKED.len()];
        let (start, end) = (self.place(uri), self.place(uri));
        let range = json!({"start": at(start), "end": at(end)});
        let params = json!({
            "textDocument": {"uri": uri}, "position": at(start), "range": range, "newName": "x1",
            "context": {"includeDeclaration": true, "diagnostics": []},
        });
        self.ask(&format!("textDocument/{asked}"), &params, uri);
    }

    /// A place: mostly one of the text, sometimes within a character or outside.
    fn place(&mut self, uri: &str) -> (usize, usize) {
        let text = &self.texts[uri].text;
        let lines = lines(text);
        let wild = self.bytes.next();
        let line = self.bytes.below(lines.len());
        let column = self.bytes.below(columns(lines[line].0, self.is_utf8) + 1);
        match wild {
            0 => (line + 4_000_000_000, column),
            1 => (line, column + 4_000_000_000),
            _ => (line, column),
        }
    }

    fn ask(&mut self, method: &str, params: &Value, uri: &str) {
        self.number += 1;
        let id = self.number;
        let said = self.talk.say(json!({"jsonrpc": "2.0", "id": id, "method": method, "params": params}));
        let answers: Vec<&Value> = said.iter().filter(|said| said.get("method").is_none()).collect();
        assert!(answers.len() == 1 && answers[0]["id"] == id, "{method}: {said:?}");
        match answers[0].get("error").filter(|error| !error.is_null()) {
            Some(error) => {
                let code = error["code"].as_i64().expect("a code");
                assert!(REFUSED.contains(&code), "{method}: {error}");
            }
            None => self.inside(&answers[0]["result"], uri),
        }
        self.hear(&said);
    }

    fn tell(&mut self, method: &str, params: &Value) {
        let said = self.talk.say(json!({"jsonrpc": "2.0", "method": method, "params": params}));
        self.hear(&said);
    }

    fn hear(&self, said: &[Value]) {
        for told in said {
            assert_ne!(told["method"], "window/logMessage", "{told}");
            if told["method"] != "textDocument/publishDiagnostics" {
                continue;
            }
            let (params, uri) = (&told["params"], told["params"]["uri"].as_str().expect("an address"));
            match self.texts.get(uri) {
                Some(own) => assert_eq!(params["version"], own.version, "{uri}"),
                None => assert_eq!(params["diagnostics"], json!([]), "{uri} is closed"),
            }
            self.inside(&params["diagnostics"], uri);
        }
    }

    /// Every range lies within the text that it is about.
    fn inside(&self, value: &Value, uri: &str) {
        match value {
            Value::Object(map) => {
                let uri = map.get("uri").and_then(Value::as_str).unwrap_or(uri);
                if let (Some(start), Some(end), Some(own)) = (map.get("start"), map.get("end"), self.texts.get(uri)) {
                    let lines = lines(&own.text);
                    let place = |place: &Value| (number(&place["line"]), number(&place["character"]));
                    for (line, column) in [place(start), place(end)] {
                        let words = lines.get(line).unwrap_or_else(|| panic!("line {line} of {:?}", own.text)).0;
                        assert!(column <= columns(words, self.is_utf8), "{line}:{column} of {:?}", own.text);
                    }
                    assert!(place(start) <= place(end), "{value}");
                }
                map.values().for_each(|value| self.inside(value, uri));
            }
            Value::Array(items) => items.iter().for_each(|item| self.inside(item, uri)),
            _ => {}
        }
    }
}

fn number(value: &Value) -> usize {
    value.as_u64().and_then(|number| usize::try_from(number).ok()).expect("a number")
}

fn at((line, column): (usize, usize)) -> Value {
    json!({"line": line.min(4_000_000_000), "character": column.min(4_000_000_000)})
}

/// The lines of a text without their ends, each with the byte at which it begins.
fn lines(text: &str) -> Vec<(&str, usize)> {
    let (mut found, mut start, bytes) = (Vec::new(), 0, text.as_bytes());
    for (at, byte) in bytes.iter().enumerate() {
        if *byte == b'\n' || (*byte == b'\r' && bytes.get(at + 1) != Some(&b'\n')) {
            let end = if *byte == b'\n' && at > start && bytes[at - 1] == b'\r' { at - 1 } else { at };
            found.push((&text[start..end], start));
            start = at + 1;
        }
    }
    found.push((&text[start..], start));
    found
}

fn columns(words: &str, is_utf8: bool) -> usize {
    if is_utf8 { words.len() } else { words.encode_utf16().count() }
}

/// The byte of a place; outside the text its end, outside a line the end of that, within a character its beginning.
fn offset(text: &str, (line, column): (usize, usize), is_utf8: bool) -> usize {
    let lines = lines(text);
    let Some((words, start)) = lines.get(line) else { return text.len() };
    let boundaries = words.char_indices().map(|(at, _)| at).chain([words.len()]);
    let before = boundaries.take_while(|at| columns(&words[..*at], is_utf8) <= column);
    start + before.last().unwrap_or(0)
}
