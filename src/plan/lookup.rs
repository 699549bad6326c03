//! What a key means and which words it takes, from the schema of the file: of a plan, unless it is said otherwise.

use serde_json::Value;

use super::format::PLAN;

/// What a schema says of the keys of a file.
#[derive(Debug, Clone, Copy)]
pub struct Lookup(pub(crate) &'static Value);

/// What the schema of a plan says.
pub fn lookup() -> Lookup {
    Lookup(&PLAN.schema)
}

impl Lookup {
    /// The first sentence about the key at a path, without its full stop.
    pub fn about(self, path: &str) -> Option<String> {
        about_in(self.0, path)
    }

    /// What the schema says about the key at a path, with the types it refers to and the choices it leaves.
    fn ways(self, path: &str) -> Vec<&'static Value> {
        schemas(self.0, path).into_iter().flat_map(|schema| branches(self.0, schema)).collect()
    }

    /// The keys that are known below a path, with what each means; empty where things have free names.
    pub fn keys(self, path: &str) -> Vec<(String, String)> {
        let mut found: Vec<(String, String)> = Vec::new();
        for schema in self.ways(path) {
            let named = schema.get("properties").and_then(Value::as_object).into_iter().flatten();
            let words =
                schema.get("propertyNames").into_iter().flat_map(|names| branches(self.0, names)).flat_map(words_of);
            let described = |schema| described(schema).map(first_sentence).unwrap_or_default();
            found.extend(named.map(|(key, schema)| (key.clone(), described(schema))));
            found.extend(words);
        }
        let mut seen = std::collections::HashSet::new();
        found.retain(|(key, _)| seen.insert(key.clone()));
        found
    }

    /// Whether the value at a path is a group of keys or things, or a list.
    pub fn is_group(self, path: &str) -> bool {
        let mut kinds = self.ways(path).into_iter().filter_map(|schema| schema.get("type")?.as_str());
        kinds.any(|kind| kind == "object" || kind == "array")
    }

    /// The words that the key at a path takes, each with what it means; `true` and `false` for a yes or no.
    pub fn words(self, path: &str) -> Vec<(String, String)> {
        let words = |schema| {
            let is_yes_or_no = Value::get(schema, "type").and_then(Value::as_str) == Some("boolean");
            let yes_or_no = ["true", "false"].into_iter().filter(move |_| is_yes_or_no);
            words_of(schema).into_iter().chain(yes_or_no.map(|word| (word.to_owned(), String::new())))
        };
        self.ways(path).into_iter().flat_map(words).collect()
    }

    /// The words of closed lists that the key at a path takes, each with what it means.
    pub fn meanings(self, path: &str) -> Vec<(String, String)> {
        self.ways(path).into_iter().flat_map(words_of).collect()
    }

    /// The kind of quantity that stands at a path, like `length` or `terminal`.
    pub fn kind(self, path: &str) -> Option<&'static str> {
        self.ways(path).into_iter().find_map(|schema| schema.get("x-quantity")?.as_str())
    }

    /// One value as it is written at a path.
    pub fn example(self, path: &str) -> Option<&'static str> {
        self.ways(path).into_iter().find_map(|schema| schema.get("examples")?.as_array()?.first()?.as_str())
    }

    /// Whether a section holds things by name.
    pub fn holds_names(self, section: &str) -> bool {
        let section = self.0.get("properties").and_then(|sections| sections.get(section));
        section.is_some_and(|section| section.get("additionalProperties").is_some_and(Value::is_object))
    }
}

/// The first sentence that the schema says about the key at a path, without its full stop.
pub fn about(path: &str) -> Option<String> {
    lookup().about(path)
}

/// The fact at a path in words: of which thing, and what its key means, as in `main, fuse: its rated current, like 60 A`.
/// The path itself where no key of it says what it means.
pub fn in_words(path: &str) -> String {
    let keys: Vec<&str> = path.split('.').collect();
    let is_thing = keys.len() <= 2 && holds_names(keys[0]);
    let about = about(if is_thing { keys[0] } else { path }).filter(|about| !about.is_empty());
    let Some(about) = about else { return path.to_owned() };
    // What a section is says how its things are called, too.
    let about = about.split_once(", by ").filter(|_| is_thing).map_or(about.as_str(), |(about, _)| about);
    match path.rsplit_once('.') {
        None => about.to_owned(),
        Some((of, _)) => format!("{}: {}", thing_in_words(if is_thing { path } else { of }), uncapitalised(about)),
    }
}

/// A thing or a part of one in words: its name without the section that holds it, its keys as words.
pub fn thing_in_words(path: &str) -> String {
    let mut keys: Vec<&str> = path.split('.').collect();
    if keys.len() > 1 && holds_names(keys[0]) {
        keys.remove(0);
    }
    // A name is told as it is written; keys are words.
    let words =
        keys.iter().enumerate().map(|(at, key)| if at == 0 { (*key).to_owned() } else { key.replace('_', " ") });
    words.collect::<Vec<_>>().join(", ")
}

/// A sentence as it goes on behind a colon.
fn uncapitalised(sentence: &str) -> String {
    let mut letters = sentence.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().collect::<String>() + letters.as_str())
}

fn about_in(schema: &Value, path: &str) -> Option<String> {
    schemas(schema, path).into_iter().find_map(described).map(first_sentence)
}

fn first_sentence(text: &str) -> String {
    let text = text.split("\n\n").next().unwrap_or(text);
    // The points of a window, as in `25 L .. 45 L`, end no sentence.
    let stop = |at: &usize| !text[..*at].ends_with(['.', ' ']);
    let end = text.match_indices(". ").map(|(at, _)| at).find(stop).unwrap_or(text.len());
    text[..end].trim_end_matches('.').replace('\n', " ")
}

/// The words that the key at a path takes, where they are a closed list; `true` and `false` for a yes or no.
pub fn choices(path: &str) -> Vec<String> {
    lookup().words(path).into_iter().map(|(word, _)| word).collect()
}

/// What the schema says about the key at a path; of the whole plan for an empty one.
pub(super) fn schema_of(path: &str) -> Option<&'static Value> {
    if path.is_empty() { Some(&PLAN.schema) } else { schemas(&PLAN.schema, path).into_iter().next() }
}

/// The type that a schema refers to, or itself.
pub(super) fn referred(schema: &'static Value) -> &'static Value {
    let link = schema.get("$ref").and_then(Value::as_str);
    link.and_then(|path| PLAN.schema.pointer(path.trim_start_matches('#'))).unwrap_or(schema)
}

/// The words of a closed list with their meanings.
fn words_of(schema: &Value) -> Vec<(String, String)> {
    let list = |key: &str| schema.get(key).and_then(Value::as_array).into_iter().flatten();
    let meanings: Vec<&Value> = list("enumDescriptions").collect();
    let words = list("enum").enumerate().filter_map(|(at, word)| {
        let meaning = meanings.get(at).and_then(|meaning| meaning.as_str()).map(first_sentence);
        Some((word.as_str()?.to_owned(), meaning.unwrap_or_default()))
    });
    words.collect()
}

/// Whether a section holds things by name.
pub fn holds_names(section: &str) -> bool {
    lookup().holds_names(section)
}

/// What the schema says about the key at a path, in every way the value may be written.
fn schemas<'a>(root: &'a Value, path: &str) -> Vec<&'a Value> {
    let mut at: Vec<&Value> = vec![root];
    for segment in path.split('.').filter(|segment| !segment.is_empty()) {
        at = at.into_iter().flat_map(|schema| below(root, schema, segment)).collect();
    }
    at
}

/// What a schema says about itself, or the type it refers to does.
fn described(schema: &Value) -> Option<&str> {
    schema.get("description").and_then(Value::as_str)
}

/// The schemas of a key or an item, in every way the value may be written.
fn below<'a>(root: &'a Value, schema: &'a Value, segment: &str) -> Vec<&'a Value> {
    let mut found = Vec::new();
    for schema in branches(root, schema) {
        let named = schema.get("properties").and_then(|keys| keys.get(segment));
        let other = schema.get("additionalProperties").filter(|other| other.is_object());
        let item = schema.get("items").filter(|_| segment.bytes().all(|byte| byte.is_ascii_digit()));
        found.extend(named.or(other).or(item));
    }
    found
}

/// A schema with the types it refers to and the choices it leaves.
fn branches<'a>(root: &'a Value, schema: &'a Value) -> Vec<&'a Value> {
    let mut found = vec![schema];
    let mut at = 0;
    while let Some(schema) = found.get(at).copied() {
        at += 1;
        let referred = schema.get("$ref").and_then(Value::as_str);
        found.extend(referred.and_then(|path| root.pointer(path.trim_start_matches('#'))));
        for choice in ["anyOf", "oneOf", "allOf"] {
            found.extend(schema.get(choice).and_then(Value::as_array).into_iter().flatten());
        }
        if found.len() > 64 {
            break;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::{about, choices, holds_names, in_words, lookup};

    #[test]
    fn a_fact_is_told_by_its_thing_and_what_its_key_means() {
        for (path, words) in [
            ("wires.main.length", "main: its length from end to end, like `4.9 m`"),
            ("wires.main.fuse.rating", "main, fuse: its rated current, like `60 A`"),
            ("wires.main.ends.from.kind", "main, ends, from: the piece on this end, like `ring`"),
            ("vehicle.factory_load.running", "vehicle, factory load: "),
            ("vehicle.body", "vehicle: what the body is made of"),
            ("mounts.bass-amp", "bass-amp: how gear is held"),
            ("turn_on", "What turns amplifiers on and off"),
            ("no.such.key", "no.such.key"),
        ] {
            assert!(in_words(path).starts_with(words), "{path}: {}", in_words(path));
        }
        assert!(!in_words("mounts.bass-amp").contains("by the name"));
    }

    #[test]
    fn closed_words_are_listed() {
        assert!(choices("grounds.floor.surface").contains(&"bare-metal".to_owned()));
        assert_eq!(choices("wires.main.crossings.firewall.sealed"), ["true", "false"]);
        assert!(choices("wires.main.length").is_empty());
    }

    #[test]
    fn keys_are_found_by_their_path() {
        for path in [
            "vehicle.body",
            "wires.main.insulation",
            "wires.main.fuse.rating",
            "amplifiers.amp.rated.0.load",
            "amplifiers.amp.sections.bass.rated.0.load",
        ] {
            let words = about(path).unwrap_or_else(|| panic!("{path}"));
            assert!(!words.is_empty() && !words.ends_with('.'), "{path}: {words}");
        }
        assert_eq!(about("wires.main.no-such-key"), None);
    }

    #[test]
    fn the_points_of_a_window_end_no_sentence() {
        for (path, end) in [
            ("drivers.sub.box_volume", "like `25 L .. 45 L`"),
            ("amplifiers.amp.operating_voltage", "like `10 V .. 16 V`"),
        ] {
            let words = about(path).unwrap_or_else(|| panic!("{path}"));
            assert!(words.ends_with(end), "{path}: {words}");
        }
    }

    #[test]
    fn what_may_stand_at_a_path_is_known_from_the_path_alone() {
        let names = |path: &str| lookup().keys(path).into_iter().map(|(key, _)| key).collect::<Vec<_>>();
        assert!(names("").contains(&"wires".to_owned()) && names("wires.any.fuse").contains(&"rating".to_owned()));
        assert!(names("wires.any.crossings").contains(&"firewall".to_owned()));
        assert!(names("wires").is_empty() && holds_names("wires") && !holds_names("vehicle"));
        assert_eq!(
            (lookup().kind("wires.any.length"), lookup().kind("wires.any.from")),
            (Some("length"), Some("terminal"))
        );
        assert!(
            lookup()
                .meanings("settings.any.filters")
                .iter()
                .any(|(word, means)| word == "butterworth" && !means.is_empty())
        );
        assert!(lookup().is_group("wires.any.fuse") && lookup().is_group("wires.any.path"));
        assert!(!lookup().is_group("wires.any.size"));
    }
}
