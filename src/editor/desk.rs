//! What requests are answered from, and how answers and refusals are given.

use std::collections::BTreeMap;
use std::path::Path;
use std::rc::Rc;

use gen_lsp_types::Uri;
use lsp_server::ErrorCode;
use serde::Serialize;
use serde_json::Value;

use super::client::Client;
use super::document::{Document, Judged, Sheet};
use super::houses::{Found, Houses, uri_of};
use super::kind::Kind;
use super::paper::Paper;

/// The open texts, by address.
pub type Documents = BTreeMap<String, Document>;

/// What requests are answered from.
pub struct Desk<'a> {
    /// What the editor can do.
    pub client: &'a Client,
    /// The open texts.
    pub documents: &'a Documents,
    /// What plans are judged by.
    pub houses: &'a Houses,
}

/// Why a request is not answered.
#[derive(Debug)]
pub struct Refusal {
    /// The kind of reason.
    pub code: ErrorCode,
    /// The reason.
    pub words: String,
}

/// An answer.
pub type Answered = Result<Value, Refusal>;

impl Refusal {
    /// What was asked for cannot be done, for this reason.
    pub fn new(words: impl Into<String>) -> Self {
        Self { code: ErrorCode::RequestFailed, words: words.into() }
    }

    /// What was asked cannot be understood, for this reason.
    pub fn invalid(words: String) -> Self {
        Self { code: ErrorCode::InvalidParams, words }
    }

    /// The text has changed while the answer was being made.
    pub fn stale() -> Self {
        Self { code: ErrorCode::ContentModified, words: "the text has changed meanwhile".into() }
    }
}

impl<'a> Desk<'a> {
    /// The open text that a request is about.
    ///
    /// # Errors
    /// When it is not open.
    pub fn document(&self, params: &Value) -> Result<&'a Document, Refusal> {
        let uri = params.pointer("/textDocument/uri").and_then(Value::as_str).unwrap_or_default();
        self.documents.get(uri).ok_or_else(|| Refusal::invalid("that text is not open".into()))
    }

    /// The house that judges a text.
    pub fn found(&self, document: &Document) -> Rc<Found> {
        self.houses.above(&document.file, &|file| self.unsaved(file))
    }

    /// What a text is.
    pub fn kind(&self, document: &Document) -> Kind {
        document.kind(|| self.found(document))
    }

    /// A text with what is found in it; where open checks turn may still be unknown.
    pub fn sheet(&self, document: &'a Document) -> Sheet<'a> {
        match self.kind(document) {
            Kind::Plan => Sheet::Plan(self.brief(document)),
            kind => Sheet::Paper(self.paper(document, kind)),
        }
    }

    /// A plan, and perhaps not where its open checks turn.
    pub fn brief<'b>(&self, document: &'b Document) -> &'b Judged {
        document.brief(|| self.found(document))
    }

    /// A plan with where its open checks turn.
    pub fn whole<'b>(&self, document: &'b Document) -> &'b Judged {
        document.whole(|| self.found(document))
    }

    /// A house file or a shelf file.
    pub fn paper<'b>(&self, document: &'b Document, kind: Kind) -> &'b Paper {
        document.paper(|| match kind {
            Kind::House => Paper::house(self.houses.of_file(&document.file, &|file| self.unsaved(file))),
            _ => Paper::shelf(&document.text, self.found(document)),
        })
    }

    fn unsaved(&self, file: &Path) -> Option<String> {
        self.documents.values().find(|document| document.file == file).map(|document| document.text.clone())
    }

    /// The address of a file: that of the open text, where it is open.
    pub fn uri(&self, file: &Path) -> Uri {
        let open = self.documents.values().find(|document| document.file == file);
        open.map_or_else(|| uri_of(file).into(), |document| document.uri.clone())
    }
}

/// An answer as it is sent.
///
/// # Errors
/// When it cannot be written as JSON.
pub fn written(answer: &impl Serialize) -> Answered {
    serde_json::to_value(answer).map_err(|error| Refusal { code: ErrorCode::InternalError, words: error.to_string() })
}
