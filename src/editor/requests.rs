//! From a request to the one who answers it.

use gen_lsp_types::{
    CodeActionKind, CodeActionOptions, CodeActionParams, CompletionOptions, InlayHintParams, Position,
    PositionEncodingKind, RenameOptions, ServerCapabilities, TextDocumentSyncKind, TextDocumentSyncOptions,
};
use lsp_server::ErrorCode;
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use super::client::Client;
use super::document::{Document, Judged};
use super::positions::Counting;
use super::session::{Documents, house_for, path_of};
use super::{actions, completion, hints, hover, names, outline};

/// What requests are answered from.
pub struct Desk<'a> {
    /// What the editor can do.
    pub client: &'a Client,
    /// The open plans.
    pub documents: &'a Documents,
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
    match method {
        "textDocument/hover" => {
            let (document, _, at) = desk.place(&params)?;
            written(&hover::hover(document, whole(document), at, desk.client))
        }
        "textDocument/completion" => {
            let (document, _, at) = desk.place(&params)?;
            written(&completion::complete(document, at))
        }
        "textDocument/definition" => {
            let (document, judged, at) = desk.place(&params)?;
            written(&names::definition(document, judged, at))
        }
        "textDocument/references" => {
            let (document, judged, at) = desk.place(&params)?;
            let own = params.pointer("/context/includeDeclaration").and_then(Value::as_bool).unwrap_or(true);
            written(&names::references(document, judged, at, own))
        }
        "textDocument/prepareRename" => {
            let (document, judged, at) = desk.place(&params)?;
            written(&names::renamed(document, judged, at)?)
        }
        "textDocument/rename" => {
            let (document, judged, at) = desk.place(&params)?;
            let new = params.get("newName").and_then(Value::as_str).unwrap_or_default();
            written(&names::rename(document, judged, at, new, desk.client)?)
        }
        "textDocument/documentSymbol" => {
            let (document, judged) = desk.document(&params)?;
            outline::symbols(document, judged, desk.client)
        }
        "textDocument/foldingRange" => {
            let (document, judged) = desk.document(&params)?;
            written(&outline::folds(document, judged))
        }
        "textDocument/inlayHint" => {
            let (document, judged) = desk.document(&params)?;
            let asked: InlayHintParams = understood(params)?;
            written(&hints::hints(document, judged, asked.range, desk.client))
        }
        "textDocument/codeAction" => {
            let (document, _) = desk.document(&params)?;
            let asked: CodeActionParams = understood(params)?;
            written(&actions::actions(document, whole(document), &asked, desk.client, goes_on)?)
        }
        _ => {
            let words = format!("`{}` is not answered here", crate::words::excerpt(method, 60));
            Err(Refusal { code: ErrorCode::MethodNotFound, words })
        }
    }
}

impl<'a> Desk<'a> {
    /// The open plan that a request is about.
    fn document(&self, params: &Value) -> Result<(&'a Document, &'a Judged), Refusal> {
        let uri = params.pointer("/textDocument/uri").and_then(Value::as_str).unwrap_or_default();
        let document = self.documents.get(uri).ok_or_else(|| invalid("that text is not open".into()))?;
        Ok((document, document.brief(|| house_for(&path_of(uri)))))
    }

    /// The plan and the place in it that a request is about.
    fn place(&self, params: &Value) -> Result<(&'a Document, &'a Judged, usize), Refusal> {
        let (document, judged) = self.document(params)?;
        let position: Position = understood(params.get("position").cloned().unwrap_or_default())?;
        Ok((document, judged, document.offset(position)))
    }
}

/// A plan with where its open checks turn.
fn whole(document: &Document) -> &Judged {
    document.whole(|| house_for(&path_of(&document.uri.0)))
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
