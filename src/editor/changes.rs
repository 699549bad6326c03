//! Changes of a text as an editor makes them.

use std::collections::HashMap;

use gen_lsp_types::{
    OptionalVersionedTextDocumentIdentifier, TextDocumentEdit, TextDocumentIdentifier, TextEdit, WorkspaceEdit,
};

use super::client::Client;
use super::document::Document;
use crate::text::Edit;

/// Some edits of a document; they name the version that they are for where the editor knows versions.
pub fn of(document: &Document, edits: &[Edit], client: &Client) -> WorkspaceEdit {
    let edit = |edit: &Edit| TextEdit { range: document.span(&edit.at), new_text: edit.text.clone() };
    let edits: Vec<TextEdit> = edits.iter().map(edit).collect();
    if !client.versioned_edits {
        return WorkspaceEdit { changes: Some(HashMap::from([(document.uri.clone(), edits)])), ..Default::default() };
    }
    let text_document = OptionalVersionedTextDocumentIdentifier {
        version: Some(document.version),
        text_document_identifier: TextDocumentIdentifier { uri: document.uri.clone() },
    };
    let edits = edits.into_iter().map(Into::into).collect();
    let change = TextDocumentEdit { text_document, edits };
    WorkspaceEdit { document_changes: Some(vec![change.into()]), ..Default::default() }
}

/// A text with edits that do not overlap, whatever their order.
pub fn applied(text: &str, edits: &[Edit]) -> String {
    let mut edits: Vec<&Edit> = edits.iter().collect();
    edits.sort_by_key(|edit| std::cmp::Reverse(edit.at.start));
    edits.into_iter().fold(text.to_owned(), |text, edit| edit.apply(&text))
}
