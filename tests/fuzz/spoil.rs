//! Texts spoilt a little at a time, as a tired person or a broken program would: what is read by fuzzing has to stay near to
//! a plan, or nothing beyond the parser is reached.

use std::sync::OnceLock;

use serde_json::Value;

use crate::draw::Draw;

const SCHEMA: &str = include_str!("../../schema/plan.schema.json");

/// Pieces on which readers of YAML stumble, and values at the edge of sense.
const ODD: [&str; 44] = [
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
    " # a note",
    "&x ",
    "*x",
    "<<: *x",
    "!t ",
    "|",
    ">",
    "?",
    ",",
    "\t",
    "\r",
    "\r\n",
    "\n",
    "\n\n  ",
    "\u{85}",
    "\u{2028}",
    "\u{feff}",
    "\0",
    "\u{202e}",
    "ä",
    "🚗",
    "---",
    "...",
    "~",
    "0",
    "-1",
    "0 A",
    "1e9 A",
    "0.00001 m",
    "1e400",
    ".nan",
    ".inf m",
    "99999999999999999999",
    "<script>",
];

/// The keys and words of a plan.
fn words() -> &'static [String] {
    static WORDS: OnceLock<Vec<String>> = OnceLock::new();
    WORDS.get_or_init(|| {
        let mut found = Vec::new();
        collect(&serde_json::from_str(SCHEMA).expect("the schema is JSON"), &mut found);
        found.sort();
        found.dedup();
        found
    })
}

fn collect(schema: &Value, found: &mut Vec<String>) {
    match schema {
        Value::Object(map) => {
            for (key, value) in map {
                match (key.as_str(), value) {
                    ("properties", Value::Object(keys)) => found.extend(keys.keys().cloned()),
                    ("enum" | "examples", Value::Array(items)) => {
                        found.extend(items.iter().filter_map(|item| item.as_str().map(str::to_owned)));
                    }
                    ("const", Value::String(word)) => found.push(word.clone()),
                    _ => {}
                }
                collect(value, found);
            }
        }
        Value::Array(items) => items.iter().for_each(|item| collect(item, found)),
        _ => {}
    }
}

/// A text spoilt once.
pub fn spoilt(bytes: &[u8], draw: &mut Draw) -> Vec<u8> {
    let text = String::from_utf8_lossy(bytes).into_owned();
    let mut lines: Vec<String> = text.split_inclusive('\n').map(str::to_owned).collect();
    if lines.is_empty() {
        lines.push("plan: 1\n".to_owned());
    }
    let (at, other) = (draw.below(lines.len()), draw.below(lines.len()));
    match draw.below(12) {
        0 => drop(lines.remove(at)),
        1 => {
            let line = lines[other].clone();
            lines.insert(at, line);
        }
        2 => lines.swap(at, other),
        3 => {
            let odd = ODD[draw.below(ODD.len())];
            let place = place(&lines[at], draw);
            lines[at].insert_str(place, odd);
        }
        4 => lines[at] = if draw.below(2) == 0 { format!("  {}", lines[at]) } else { outdented(&lines[at]) },
        5 => {
            let (start, end) = (place(&lines[at], draw), place(&lines[at], draw));
            lines[at].replace_range(start.min(end)..start.max(end), "");
        }
        6 => lines.truncate(at + 1),
        7 | 8 => {
            let word = token(&lines[other], draw).map_or("", |range| &lines[other][range]).to_owned();
            put(&mut lines[at], &word, draw);
        }
        9 => put(&mut lines[at], ODD[draw.below(ODD.len())], draw),
        _ => put(&mut lines[at], &words()[draw.below(words().len())], draw),
    }
    lines.concat().into_bytes()
}

/// A place of a line, on the beginning of a character.
fn place(line: &str, draw: &mut Draw) -> usize {
    line.floor_char_boundary(draw.below(line.len() + 1))
}

fn outdented(line: &str) -> String {
    line.strip_prefix("  ").or_else(|| line.strip_prefix(' ')).unwrap_or(line).to_owned()
}

/// One word of a line: what stands between the signs of YAML, so that a value with its unit stays whole.
fn token(line: &str, draw: &mut Draw) -> Option<std::ops::Range<usize>> {
    let is_mark = |c: char| ":{}[],#\"'\n".contains(c);
    let mut found = Vec::new();
    let mut start = 0;
    for (end, sign) in line.char_indices().filter(|(_, c)| is_mark(*c)).chain([(line.len(), ' ')]) {
        let word = &line[start..end];
        let trimmed = word.trim();
        if !trimmed.is_empty() {
            let from = start + word.find(trimmed).unwrap_or(0);
            found.push(from..from + trimmed.len());
        }
        start = end + sign.len_utf8();
    }
    (!found.is_empty()).then(|| found.swap_remove(draw.below(found.len())))
}

fn put(line: &mut String, word: &str, draw: &mut Draw) {
    if let Some(range) = token(line, draw) {
        line.replace_range(range, word);
    }
}
