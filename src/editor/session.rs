//! The conversation with one editor, from `initialize` to `exit`.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::Duration;

use gen_lsp_types::{
    DidChangeTextDocumentParams, DidOpenTextDocumentParams, InitializeResult, PublishDiagnosticsParams, ServerInfo,
};
use lsp_server::{Connection, ErrorCode, Message, Notification, Request, RequestId, Response};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::client::{self, Client};
use super::diagnostics;
use super::document::{Document, Told};
use super::mailbox::Mailbox;
use super::requests::{self, Desk};
use crate::house::House;

/// So long nobody types before it is worth finding out where open checks turn.
const PAUSE: Duration = Duration::from_millis(150);

/// Finds the house that judges a plan.
pub type FindHouse = fn(&Path) -> House;

static HOUSES: OnceLock<FindHouse> = OnceLock::new();

/// Serves one editor over standard input and output, every plan by the house that is found for it. True when it took its
/// leave as it should.
pub fn serve(houses: FindHouse) -> bool {
    HOUSES.get_or_init(|| houses);
    let (Connection { sender, receiver }, threads) = Connection::stdio();
    // An editor that has gone away is noticed when its messages end.
    let out = move |message| drop(sender.send(message));
    let left_well = Session::new(Box::new(out), Mailbox::new(receiver)).run();
    // An editor that has gone away cannot be told so.
    let _ = threads.join();
    left_well
}

/// By which house a plan is judged. It is read anew each time: it may have changed, and it is small.
pub fn house_for(plan: &Path) -> House {
    HOUSES.get().map_or_else(House::default, |find| find(plan))
}

/// The open plans, by address.
pub type Documents = BTreeMap<String, Document>;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    Waiting,
    Serving,
    Leaving,
}

struct Session {
    out: Box<dyn Fn(Message)>,
    mailbox: Mailbox,
    stage: Stage,
    client: Client,
    documents: Documents,
    /// How many requests the server has made of the editor.
    asked: i32,
}

impl Session {
    fn new(out: Box<dyn Fn(Message)>, mailbox: Mailbox) -> Self {
        let (client, documents) = (Client::default(), Documents::new());
        Self { out, mailbox, stage: Stage::Waiting, client, documents, asked: 0 }
    }

    /// Until the editor leaves. True when it said so first.
    fn run(mut self) -> bool {
        while let Some(message) = self.mailbox.next() {
            match message {
                Message::Request(request) => self.request(request),
                Message::Notification(told) if told.method == "exit" => return self.stage == Stage::Leaving,
                Message::Notification(told) => self.notification(told),
                Message::Response(_) => {}
            }
            // Only the newest text is worth judging: the next message may change it again.
            if self.mailbox.is_empty() {
                self.tell(Told::Nothing);
            }
            let is_waiting = self.documents.values().any(|document| document.told == Told::Brief);
            if is_waiting && self.mailbox.is_quiet(PAUSE) {
                self.tell(Told::Brief);
            }
        }
        false
    }

    fn request(&mut self, Request { id, method, params }: Request) {
        let refuse = |code: ErrorCode, words: &str| Response::new_err(id.clone(), code as i32, words.to_owned());
        let response = match (self.stage, method.as_str()) {
            (Stage::Waiting, "initialize") => Response::new_ok(id.clone(), self.initialize(&params)),
            (Stage::Waiting, _) => refuse(ErrorCode::ServerNotInitialized, "`initialize` comes first"),
            (Stage::Leaving, _) => refuse(ErrorCode::InvalidRequest, "the session has been shut down"),
            (Stage::Serving, "initialize") => refuse(ErrorCode::InvalidRequest, "the session runs already"),
            (Stage::Serving, "shutdown") => {
                self.stage = Stage::Leaving;
                Response::new_ok(id.clone(), Value::Null)
            }
            (Stage::Serving, method) => self.answer(&id, method, params),
        };
        self.send(response);
    }

    fn answer(&mut self, id: &RequestId, method: &str, params: Value) -> Response {
        let refuse = |code: ErrorCode, words: String| Response::new_err(id.clone(), code as i32, words);
        if self.mailbox.takes_back(id) {
            return refuse(ErrorCode::RequestCanceled, "taken back".into());
        }
        let uri = params.pointer("/textDocument/uri").and_then(Value::as_str).unwrap_or_default().to_owned();
        let Self { mailbox, client, documents, .. } = self;
        let desk = Desk { client, documents };
        let mut goes_on = || !mailbox.takes_back(id) && !mailbox.changes(&uri);
        match guarded(|| requests::answer(&desk, method, params, &mut goes_on)) {
            Some(Ok(result)) => Response::new_ok(id.clone(), result),
            Some(Err(_)) if self.mailbox.takes_back(id) => refuse(ErrorCode::RequestCanceled, "taken back".into()),
            Some(Err(refusal)) => refuse(refusal.code, refusal.words),
            None => {
                let words = format!("testlamp broke down over {method}: a fault of testlamp, not of the plan");
                self.log(&words);
                refuse(ErrorCode::InternalError, words)
            }
        }
    }

    fn initialize(&mut self, params: &Value) -> InitializeResult {
        self.stage = Stage::Serving;
        self.client = Client::new(params);
        let version = Some(env!("CARGO_PKG_VERSION").to_owned());
        let server_info = Some(ServerInfo { name: "testlamp".into(), version });
        InitializeResult { capabilities: requests::capabilities(&self.client), server_info }
    }

    fn notification(&mut self, Notification { method, params }: Notification) {
        if self.stage != Stage::Serving {
            return;
        }
        match method.as_str() {
            "initialized" => self.watch(),
            "textDocument/didOpen" => self.open(params),
            "textDocument/didChange" => self.change(params),
            "textDocument/didClose" => self.close(&params),
            "workspace/didChangeWatchedFiles" => self.judge_again(),
            "workspace/didChangeConfiguration" => self.configure(&params),
            // Requests that are taken back are looked for when they are answered; the rest does not matter here.
            _ => {}
        }
    }

    /// Asks to be told when a house or a shelf changes.
    fn watch(&mut self) {
        if self.client.watches {
            let options = json!({"watchers": [{"globPattern": "**/*.yaml"}, {"globPattern": "**/*.yml"}]});
            let method = "workspace/didChangeWatchedFiles";
            let registration = json!({"id": "houses", "method": method, "registerOptions": options});
            self.ask("client/registerCapability", &json!({"registrations": [registration]}));
        }
    }

    fn open(&mut self, params: Value) {
        let Some(DidOpenTextDocumentParams { text_document: plan }) = self.understood(params) else { return };
        let document = Document::new(plan.uri.clone(), plan.version, plan.text, self.client.counting);
        self.documents.insert(plan.uri.0, document);
    }

    fn change(&mut self, params: Value) {
        let Some(change) = self.understood::<DidChangeTextDocumentParams>(params) else { return };
        let identifier = change.text_document;
        if let Some(document) = self.documents.get_mut(&identifier.text_document_identifier.uri.0) {
            document.change(identifier.version, change.content_changes);
        }
    }

    /// A plan that is no longer open has no findings to show.
    fn close(&mut self, params: &Value) {
        let uri = params.pointer("/textDocument/uri").and_then(Value::as_str).unwrap_or_default();
        if let Some(document) = self.documents.remove(uri) {
            self.publish(PublishDiagnosticsParams { uri: document.uri, version: None, diagnostics: Vec::new() });
        }
    }

    /// What plans are judged by has changed.
    fn judge_again(&mut self) {
        self.documents.values_mut().for_each(Document::forget);
        self.refresh_hints();
    }

    fn configure(&mut self, params: &Value) {
        if let Some(hints) = params.get("settings").and_then(client::hints) {
            self.client.hints = hints;
        }
        self.refresh_hints();
    }

    fn refresh_hints(&mut self) {
        if self.client.refreshes_hints {
            self.ask("workspace/inlayHint/refresh", &Value::Null);
        }
    }

    /// Tells the editor more of every text of which it has been told so much.
    fn tell(&mut self, so_far: Told) {
        let client = self.client.clone();
        let mut found = Vec::new();
        for document in self.documents.values_mut().filter(|document| document.told == so_far) {
            let told = guarded(|| {
                let house = || house_for(&path_of(&document.uri.0));
                let judged = if so_far == Told::Nothing { document.brief(house) } else { document.whole(house) };
                (diagnostics::of(document, judged, &client), judged.is_whole)
            });
            document.told = if told.as_ref().is_none_or(|(_, whole)| *whole) { Told::Whole } else { Told::Brief };
            found.push((document.uri.clone(), document.version, told.map(|(diagnostics, _)| diagnostics)));
        }
        for (uri, version, diagnostics) in found {
            match diagnostics {
                Some(diagnostics) => {
                    self.publish(PublishDiagnosticsParams { uri, version: Some(version), diagnostics });
                }
                None => self.log("testlamp broke down over this text: a fault of testlamp, not of the plan"),
            }
        }
    }

    fn publish(&self, found: PublishDiagnosticsParams) {
        self.send(Notification::new("textDocument/publishDiagnostics".into(), found));
    }

    /// What was sent, unless it makes no sense.
    fn understood<T: DeserializeOwned>(&self, params: Value) -> Option<T> {
        let understood = serde_json::from_value(params);
        understood.inspect_err(|error| self.log(&format!("a message could not be understood: {error}"))).ok()
    }

    fn log(&self, words: &str) {
        self.send(Notification::new("window/logMessage".into(), json!({"type": 1, "message": words})));
    }

    fn ask(&mut self, method: &str, params: &impl Serialize) {
        self.asked += 1;
        self.send(Request::new(RequestId::from(self.asked), method.to_owned(), params));
    }

    fn send(&self, message: impl Into<Message>) {
        (self.out)(message.into());
    }
}

/// The answer of some work, unless it breaks down.
fn guarded<T>(work: impl FnOnce() -> T) -> Option<T> {
    catch_unwind(AssertUnwindSafe(work)).ok()
}

/// The file of an address; an address of another kind is a file that does not exist.
pub fn path_of(uri: &str) -> PathBuf {
    let escaped = uri.strip_prefix("file://").unwrap_or(uri);
    let mut bytes = Vec::with_capacity(escaped.len());
    let mut rest = escaped.as_bytes();
    while let Some((first, others)) = rest.split_first() {
        let code = others.get(..2).filter(|_| *first == b'%').and_then(|code| std::str::from_utf8(code).ok());
        if let Some(byte) = code.and_then(|code| u8::from_str_radix(code, 16).ok()) {
            bytes.push(byte);
            rest = &others[2..];
        } else {
            bytes.push(*first);
            rest = others;
        }
    }
    PathBuf::from(String::from_utf8_lossy(&bytes).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_breaks_down_is_no_answer_and_no_end() {
        assert_eq!(guarded(|| 1), Some(1));
        assert_eq!(guarded(|| -> u8 { Vec::new()[7] }), None);
    }

    #[test]
    fn an_address_names_a_file() {
        assert_eq!(path_of("file:///jobs/J%202041%C3%A4.yaml"), Path::new("/jobs/J 2041ä.yaml"));
        assert_eq!(path_of("untitled:1%"), Path::new("untitled:1%"));
    }
}
