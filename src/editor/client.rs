//! What the editor at the other end can do, and what its user has chosen.

use serde_json::Value;

use super::positions::Counting;

/// What the editor can do. What it does not mention it cannot.
#[derive(Debug, Clone, Default)]
#[allow(clippy::struct_excessive_bools, reason = "each is one thing that an editor says of itself")]
pub struct Client {
    /// How it counts within a line.
    pub counting: Counting,
    /// Whether it takes edits that name the version they are for.
    pub versioned_edits: bool,
    /// Whether it shows other places beside a finding.
    pub related: bool,
    /// Whether it takes an outline with levels.
    pub levels: bool,
    /// Whether it can be asked to watch files.
    pub watches: bool,
    /// Whether it can be asked to fetch hints again.
    pub refreshes_hints: bool,
    /// Whether it shows markdown when hovering.
    pub markdown: bool,
    /// Whether its user wants numbers beside the words.
    pub hints: bool,
}

impl Client {
    /// From the parameters of `initialize`.
    pub fn new(initialize: &Value) -> Self {
        let at = |path: &str| initialize.pointer(&format!("/capabilities/{path}"));
        let can = |path: &str| at(path).and_then(Value::as_bool) == Some(true);
        let lists = |path: &str, word: &str| {
            at(path).and_then(Value::as_array).is_some_and(|list| list.iter().any(|item| item == word))
        };
        let utf8 = lists("general/positionEncodings", "utf-8");
        Self {
            counting: if utf8 { Counting::Utf8 } else { Counting::Utf16 },
            versioned_edits: can("workspace/workspaceEdit/documentChanges"),
            related: can("textDocument/publishDiagnostics/relatedInformation"),
            levels: can("textDocument/documentSymbol/hierarchicalDocumentSymbolSupport"),
            watches: can("workspace/didChangeWatchedFiles/dynamicRegistration"),
            refreshes_hints: can("workspace/inlayHint/refreshSupport"),
            markdown: lists("textDocument/hover/contentFormat", "markdown"),
            hints: initialize.get("initializationOptions").and_then(hints).unwrap_or(true),
        }
    }
}

/// Whether settings switch hints on or off, with or without the program's name around them.
pub fn hints(settings: &Value) -> Option<bool> {
    let own = settings.get("testlamp").unwrap_or(settings);
    own.get("hints").and_then(Value::as_bool)
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn an_editor_that_says_nothing_gets_what_every_editor_knows() {
        let client = Client::new(&json!({}));
        assert_eq!(client.counting, Counting::Utf16);
        assert!(!client.versioned_edits && !client.related && client.hints);
    }

    #[test]
    fn what_it_says_is_taken_even_where_the_rest_is_odd() {
        let client = Client::new(&json!({
            "capabilities": {"general": {"positionEncodings": ["utf-16", "utf-8"]}, "textDocument": 7},
            "initializationOptions": {"testlamp": {"hints": false}},
        }));
        assert_eq!((client.counting, client.hints, client.markdown), (Counting::Utf8, false, false));
    }
}
