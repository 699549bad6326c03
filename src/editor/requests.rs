//! From a request to the one who answers it.

use std::path::Path;
use std::rc::Rc;

use gen_lsp_types::{
    CodeActionKind, CodeActionOptions, CodeActionParams, CompletionOptions, InlayHintParams, Position,
    PositionEncodingKind, RenameOptions, ServerCapabilities, TextDocumentSyncKind, TextDocumentSyncOptions, Uri,
};
use lsp_server::ErrorCode;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::client::Client;
use super::document::{Document, Judged, Kind, Sheet};
use super::houses::{Found, Houses, uri_of};
use super::paper::Paper;
use super::positions::Counting;
use super::session::Documents;
use super::{actions, completion, hints, hover, names, outline};

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

    /// The text has changed while the answer was being made.
    pub fn stale() -> Self {
        Self { code: ErrorCode::ContentModified, words: "the text has changed meanwhile".into() }
    }
}

/// What this server offers an editor.
pub fn capabilities(client: &Client) -> ServerCapabilities {
    let encoding = match client.counting {
        Counting::Utf16 => PositionEncodingKind::UTF16,
        Counting::Utf8 => PositionEncodingKind::UTF8,
    };
    let change = Some(TextDocumentSyncKind::Incremental);
    let kinds = vec![CodeActionKind::QuickFix, CodeActionKind::Refactor];
    ServerCapabilities {
        position_encoding: Some(encoding),
        text_document_sync: Some(
            TextDocumentSyncOptions { open_close: Some(true), change, ..Default::default() }.into(),
        ),
        hover_provider: Some(true.into()),
        completion_provider: Some(CompletionOptions {
            trigger_characters: Some([":", " ", ".", "[", "{", ","].map(str::to_owned).into()),
            ..Default::default()
        }),
        definition_provider: Some(true.into()),
        references_provider: Some(true.into()),
        document_symbol_provider: Some(true.into()),
        folding_range_provider: Some(true.into()),
        code_action_provider: Some(CodeActionOptions { code_action_kinds: Some(kinds), ..Default::default() }.into()),
        rename_provider: Some(RenameOptions { prepare_provider: Some(true), ..Default::default() }.into()),
        inlay_hint_provider: Some(true.into()),
        ..Default::default()
    }
}

/// Answers one request. Long work asks between its parts whether it `goes_on`.
///
/// # Errors
/// The reason why it is not answered.
pub fn answer(desk: &Desk<'_>, method: &str, params: Value, goes_on: &mut dyn FnMut() -> bool) -> Answered {
    let Some(asked) = method.strip_prefix("textDocument/").filter(|asked| ASKED.contains(asked)) else {
        let words = format!("`{}` is not answered here", crate::words::excerpt(method, 60));
        return Err(Refusal { code: ErrorCode::MethodNotFound, words });
    };
    let document = desk.document(&params)?;
    if asked == "completion" {
        let kind = desk.kind(document);
        return written(&completion::complete(document, at(document, &params)?, kind, &desk.found(document)));
    }
    match desk.sheet(document) {
        Sheet::Plan(judged) => of_plan(desk, asked, document, judged, params, goes_on),
        Sheet::Paper(paper) => of_paper(desk, asked, document, paper, &params),
    }
}

/// What is answered about texts, below `textDocument/`.
pub const ASKED: [&str; 10] = [
    "hover",
    "completion",
    "definition",
    "references",
    "prepareRename",
    "rename",
    "documentSymbol",
    "foldingRange",
    "inlayHint",
    "codeAction",
];

fn of_plan(
    desk: &Desk<'_>,
    asked: &str,
    document: &Document,
    judged: &Judged,
    params: Value,
    goes_on: &mut dyn FnMut() -> bool,
) -> Answered {
    let client = desk.client;
    match asked {
        "hover" => written(&hover::hover(document, desk.whole(document), at(document, &params)?, client)),
        "definition" => written(&names::definition(document, judged, at(document, &params)?, desk)),
        "references" => {
            let own = params.pointer("/context/includeDeclaration").and_then(Value::as_bool).unwrap_or(true);
            written(&names::references(document, judged, at(document, &params)?, own, desk))
        }
        "prepareRename" => written(&names::renamed(document, judged, at(document, &params)?)?),
        "rename" => {
            let new = params.get("newName").and_then(Value::as_str);
            let new = new.ok_or_else(|| invalid("the new name is missing".into()))?;
            written(&names::rename(document, judged, at(document, &params)?, new, client)?)
        }
        "documentSymbol" => outline::symbols(document, &judged.reading.tree, client),
        "foldingRange" => written(&outline::folds(document, &judged.reading.tree)),
        "inlayHint" => {
            let asked: InlayHintParams = understood(params)?;
            written(&hints::hints(document, judged, asked.range, client))
        }
        _ => {
            let asked: CodeActionParams = understood(params)?;
            written(&actions::actions(document, desk.whole(document), &asked, client, goes_on)?)
        }
    }
}

fn of_paper(desk: &Desk<'_>, asked: &str, document: &Document, paper: &Paper, params: &Value) -> Answered {
    match asked {
        "hover" => written(&paper.hover(document, at(document, params)?, desk.client.markdown)),
        "definition" => written(&paper.definition(document, at(document, params)?, desk)),
        "references" => written(&names::references_on_shelf(paper, at(document, params)?, desk)),
        "prepareRename" | "rename" => {
            at(document, params)?;
            Err(Refusal::new("other plans may refer to this name: it is changed by hand"))
        }
        "documentSymbol" => outline::symbols(document, &paper.tree, desk.client),
        "foldingRange" => written(&outline::folds(document, &paper.tree)),
        _ => Ok(json!([])),
    }
}

impl<'a> Desk<'a> {
    /// The open text that a request is about.
    fn document(&self, params: &Value) -> Result<&'a Document, Refusal> {
        let uri = params.pointer("/textDocument/uri").and_then(Value::as_str).unwrap_or_default();
        self.documents.get(uri).ok_or_else(|| invalid("that text is not open".into()))
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

/// The place in a text that a request is about.
fn at(document: &Document, params: &Value) -> Result<usize, Refusal> {
    let position: Position = understood(params.get("position").cloned().unwrap_or_default())?;
    Ok(document.offset(position))
}

fn understood<T: DeserializeOwned>(params: Value) -> Result<T, Refusal> {
    serde_json::from_value(params).map_err(|error| invalid(error.to_string()))
}

fn invalid(words: String) -> Refusal {
    Refusal { code: ErrorCode::InvalidParams, words }
}

/// An answer as it is sent.
///
/// # Errors
/// When it cannot be written as JSON.
pub fn written(answer: &impl Serialize) -> Answered {
    serde_json::to_value(answer).map_err(|error| Refusal { code: ErrorCode::InternalError, words: error.to_string() })
}
