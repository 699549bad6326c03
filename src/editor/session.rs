//! The conversation with one editor, from `initialize` to `exit`.

use std::collections::BTreeMap;
use std::io;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

use gen_lsp_types::{
    DidChangeTextDocumentParams, DidOpenTextDocumentParams, InitializeResult, PublishDiagnosticsParams, ServerInfo,
};
use lsp_server::{ErrorCode, Message, Notification, Request, RequestId, Response};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::client::{self, Client};
use super::diagnostics;
use super::document::{Document, Kind, Told};
use super::houses::{Finder, Houses, file_of};
use super::mailbox::Mailbox;
use super::requests::{self, Desk};
use crate::house::folder_of;

/// So long nobody types before it is worth finding out where open checks turn.
const PAUSE: Duration = Duration::from_millis(150);

/// Serves one editor over standard input and output, every plan by the house that is found for it. True when it took its
/// leave as it should.
pub fn serve(finder: Finder) -> bool {
    // An editor that has gone away is noticed when its messages end.
    let out = |message: Message| drop(message.write(&mut io::stdout().lock()));
    let coming = std::iter::from_fn(|| Message::read(&mut io::stdin().lock()).ok().flatten());
    Session::new(Box::new(out), Mailbox::new(coming), finder).run()
}

/// A session without an editor: what is said is answered at once, and everything that there is to tell is told.
pub struct Talk {
    session: Session,
    said: Receiver<Message>,
}

impl Talk {
    /// A session that waits for `initialize`.
    pub fn new(finder: Finder) -> Self {
        let (put, said) = channel();
        let out = move |message| drop(put.send(message));
        Self { session: Session::new(Box::new(out), Mailbox::empty(), finder), said }
    }

    /// What the server says to a message, and what it goes on to tell while nothing else comes.
    pub fn say(&mut self, message: Value) -> Vec<Value> {
        if let Ok(message) = serde_json::from_value(message) {
            self.session.take(message);
        }
        self.session.tell(Told::Nothing);
        self.session.tell(Told::Brief);
        self.said.try_iter().filter_map(|said| serde_json::to_value(said).ok()).collect()
    }
}

/// The open texts, by address.
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
    houses: Houses,
    /// How many requests the server has made of the editor.
    asked: i32,
}

impl Session {
    fn new(out: Box<dyn Fn(Message)>, mailbox: Mailbox, finder: Finder) -> Self {
        let (client, documents, houses) = (Client::default(), Documents::new(), Houses::new(finder));
        Self { out, mailbox, stage: Stage::Waiting, client, documents, houses, asked: 0 }
    }

    /// Until the editor leaves. True when it said so first.
    fn run(mut self) -> bool {
        while let Some(message) = self.mailbox.next() {
            if matches!(&message, Message::Notification(told) if told.method == "exit") {
                return self.stage == Stage::Leaving;
            }
            self.take(message);
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

    fn take(&mut self, message: Message) {
        match message {
            Message::Request(request) => self.request(request),
            Message::Notification(told) => self.notification(told),
            Message::Response(_) => {}
        }
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
        let Self { mailbox, client, documents, houses, .. } = self;
        let desk = Desk { client, documents, houses };
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
            "workspace/didChangeWatchedFiles" => self.changed_on_disk(&params),
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
        let file = document.file.clone();
        self.documents.insert(plan.uri.0, document);
        self.judge_again(&self.houses.touched(&file));
    }

    fn change(&mut self, params: Value) {
        let Some(change) = self.understood::<DidChangeTextDocumentParams>(params) else { return };
        let identifier = change.text_document;
        let Some(document) = self.documents.get_mut(&identifier.text_document_identifier.uri.0) else { return };
        document.change(identifier.version, change.content_changes);
        let judged = self.houses.touched(&document.file);
        self.judge_again(&judged);
    }

    /// A text that is no longer open has no findings to show, and what is on disk counts again.
    fn close(&mut self, params: &Value) {
        let uri = params.pointer("/textDocument/uri").and_then(Value::as_str).unwrap_or_default();
        if let Some(document) = self.documents.remove(uri) {
            self.judge_again(&self.houses.touched(&document.file));
            self.publish(PublishDiagnosticsParams { uri: document.uri, version: None, diagnostics: Vec::new() });
        }
    }

    /// Files have changed beside the editor. One that says nothing of which may mean any.
    fn changed_on_disk(&mut self, params: &Value) {
        let changes = params.get("changes").and_then(Value::as_array).filter(|changes| !changes.is_empty());
        let Some(changes) = changes else {
            self.houses.forget_all();
            let folders =
                self.documents.values().map(|document| folder_of(&document.file).to_owned()).collect::<Vec<_>>();
            return self.judge_again(&folders);
        };
        let files = changes.iter().filter_map(|change| Some(file_of(change.get("uri")?.as_str()?)));
        let folders: Vec<PathBuf> = files.flat_map(|file| self.houses.come_or_gone(&file)).collect();
        self.judge_again(&folders);
    }

    /// What the texts of these folders are judged by has changed.
    fn judge_again(&mut self, folders: &[PathBuf]) {
        let is_judged = |file: &Path| folders.iter().any(|folder| folder == folder_of(file));
        let mut again = false;
        for document in self.documents.values_mut().filter(|document| is_judged(&document.file)) {
            // A text that was not judged yet, or is no plan, has no hints to fetch again.
            again |= document.is_judged();
            document.forget();
        }
        if again {
            self.refresh_hints();
        }
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

    /// Tells the editor more of every text of which it has been told so much, until something comes.
    fn tell(&mut self, so_far: Told) {
        let waiting = self.documents.iter().filter(|(_, document)| document.told == so_far);
        let waiting: Vec<String> = waiting.map(|(uri, _)| uri.clone()).collect();
        for uri in waiting {
            self.tell_of(&uri, so_far);
            // What comes may change a text that is still to be judged.
            if !self.mailbox.is_empty() {
                return;
            }
        }
    }

    fn tell_of(&mut self, uri: &str, so_far: Told) {
        let Self { client, documents, houses, .. } = self;
        let desk = Desk { client, documents, houses };
        let Some(document) = documents.get(uri) else { return };
        let told = guarded(|| match desk.kind(document) {
            Kind::Plan => {
                let judged = if so_far == Told::Nothing { desk.brief(document) } else { desk.whole(document) };
                (diagnostics::of(document, judged, client), judged.is_whole)
            }
            kind => (diagnostics::of_paper(document, desk.paper(document, kind)), true),
        });
        let (uri_told, version) = (document.uri.clone(), document.version);
        if let Some(document) = self.documents.get_mut(uri) {
            document.told = if told.as_ref().is_none_or(|(_, whole)| *whole) { Told::Whole } else { Told::Brief };
        }
        match told {
            Some((diagnostics, _)) => {
                self.publish(PublishDiagnosticsParams { uri: uri_told, version: Some(version), diagnostics });
            }
            None => self.log("testlamp broke down over this text: a fault of testlamp, not of the plan"),
        }
        if let Some(document) = self.documents.get_mut(uri) {
            document.drop_old();
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_breaks_down_is_no_answer_and_no_end() {
        assert_eq!(guarded(|| 1), Some(1));
        assert_eq!(guarded(|| -> u8 { Vec::new()[7] }), None);
    }

    /// A rule that breaks down on a wire is told there; every other finding is told too, and the session goes on.
    #[test]
    fn a_rule_that_breaks_down_takes_nothing_with_it() {
        let _beside = crate::rules::trial::beside(&crate::rules::trial::FALLS);
        let above = |_: &Path, _: super::super::houses::Unsaved<'_>| super::super::houses::Found::default();
        let mut talk = Talk::new(Finder { above, of_file: above });
        talk.say(json!({"jsonrpc": "2.0", "id": 1, "method": "initialize", "params": {"capabilities": {}}}));
        talk.say(json!({"jsonrpc": "2.0", "method": "initialized", "params": {}}));
        let uri = "file:///none/a.yaml";
        let text = "plan: 1\namplifiers: {amp: {}}\nwires:\n  main: {to: amq.power}\n  holds: {}\n";
        let opened = json!({"uri": uri, "languageId": "yaml", "version": 1, "text": text});
        let opened = json!({"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {"textDocument": opened}});
        let said = talk.say(opened);
        let told = said.iter().rfind(|said| said["method"] == "textDocument/publishDiagnostics").expect("findings");
        let told = told["params"]["diagnostics"].as_array().expect("a list");
        let lines = |code: &str| -> Vec<u64> {
            let of_rule = told.iter().filter(|told| told["code"] == code);
            of_rule.filter_map(|told| told["range"]["start"]["line"].as_u64()).collect()
        };
        assert_eq!(lines("TRIAL-01"), [3], "{told:?}");
        assert_eq!(lines("PLAN-01"), [3], "{told:?}");
        let document = json!({"uri": uri});
        let range = json!({"start": {"line": 0, "character": 0}, "end": {"line": 5, "character": 0}});
        for (id, method, params) in [
            (2, "textDocument/hover", json!({"textDocument": document, "position": {"line": 3, "character": 3}})),
            (
                3,
                "textDocument/codeAction",
                json!({"textDocument": document, "range": range, "context": {"diagnostics": []}}),
            ),
            (4, "textDocument/inlayHint", json!({"textDocument": document, "range": range})),
            (5, "shutdown", Value::Null),
        ] {
            let said = talk.say(json!({"jsonrpc": "2.0", "id": id, "method": method, "params": params}));
            let answer = said.iter().find(|said| said["id"] == id).expect("an answer");
            assert!(answer.get("error").is_none(), "{answer}");
        }
    }
}
