//! From a request to the one who answers it.

use gen_lsp_types::{
    CodeActionKind, CodeActionOptions, CodeActionParams, CompletionOptions, InlayHintParams, Position,
    PositionEncodingKind, RenameOptions, ServerCapabilities, TextDocumentSyncKind, TextDocumentSyncOptions,
};
use lsp_server::ErrorCode;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::client::Client;
use super::desk::{Answered, Desk, Refusal, written};
use super::document::{Document, Judged, Sheet};
use super::paper::Paper;
use super::positions::Counting;
use super::{actions, completion, hints, hover, names, on_paper, outline};

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
            let new = new.ok_or_else(|| Refusal::invalid("the new name is missing".into()))?;
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
        "hover" => written(&on_paper::hover(paper, document, at(document, params)?, desk.client.markdown)),
        "definition" => written(&on_paper::definition(paper, document, at(document, params)?, desk)),
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

/// The place in a text that a request is about.
fn at(document: &Document, params: &Value) -> Result<usize, Refusal> {
    let position: Position = understood(params.get("position").cloned().unwrap_or_default())?;
    Ok(document.offset(position))
}

fn understood<T: DeserializeOwned>(params: Value) -> Result<T, Refusal> {
    serde_json::from_value(params).map_err(|error| Refusal::invalid(error.to_string()))
}
