//! Messages that have come and wait, so that one can be dropped when its sender no longer wants it.

use std::collections::VecDeque;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

use lsp_server::{Message, RequestId};
use serde_json::Value;

/// Waiting messages, in the order in which they came.
pub struct Mailbox {
    coming: Receiver<Message>,
    waiting: VecDeque<Message>,
}

impl Mailbox {
    /// A box into which a thread of its own puts everything that comes, so that the sender never waits.
    pub fn new(messages: impl IntoIterator<Item = Message> + Send + 'static) -> Self {
        let (put, coming) = channel();
        thread::spawn(move || messages.into_iter().all(|message| put.send(message).is_ok()));
        Self { coming, waiting: VecDeque::new() }
    }

    /// A box into which nobody puts anything.
    pub fn empty() -> Self {
        Self { coming: channel().1, waiting: VecDeque::new() }
    }

    /// The next message, once there is one; `None` when the sender has gone.
    pub fn next(&mut self) -> Option<Message> {
        self.look();
        self.waiting.pop_front().or_else(|| self.coming.recv().ok())
    }

    /// Whether nothing comes for so long.
    pub fn is_quiet(&mut self, pause: Duration) -> bool {
        if !self.is_empty() {
            return false;
        }
        match self.coming.recv_timeout(pause) {
            Ok(message) => {
                self.waiting.push_back(message);
                false
            }
            Err(reason) => reason == RecvTimeoutError::Timeout,
        }
    }

    /// Whether nothing waits.
    pub fn is_empty(&mut self) -> bool {
        self.look();
        self.waiting.is_empty()
    }

    /// Whether a request that is being answered has been taken back meanwhile.
    pub fn takes_back(&mut self, id: &RequestId) -> bool {
        self.look();
        self.waiting.iter().any(|message| cancels(message).as_ref() == Some(id))
    }

    /// Whether a text that is being looked at has been changed meanwhile.
    pub fn changes(&mut self, uri: &str) -> bool {
        self.look();
        self.waiting.iter().any(|message| match message {
            Message::Notification(told) if told.method == "textDocument/didChange" => {
                told.params.pointer("/textDocument/uri").and_then(Value::as_str) == Some(uri)
            }
            _ => false,
        })
    }

    fn look(&mut self) {
        self.waiting.extend(self.coming.try_iter());
    }
}

/// The request that a message takes back.
fn cancels(message: &Message) -> Option<RequestId> {
    match message {
        Message::Notification(told) if told.method == "$/cancelRequest" => {
            serde_json::from_value(told.params.get("id")?.clone()).ok()
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use lsp_server::{Notification, Request};
    use serde_json::json;

    use super::*;

    fn told(method: &str, params: Value) -> Message {
        Notification::new(method.into(), params).into()
    }

    #[test]
    fn a_request_is_known_to_be_taken_back_before_it_is_answered() {
        let change = json!({"textDocument": {"uri": "file:///a.yaml", "version": 2}, "contentChanges": []});
        let mut mailbox = Mailbox::new(vec![
            Request::new(RequestId::from(7), "textDocument/hover".into(), json!({})).into(),
            told("textDocument/didChange", change),
            told("$/cancelRequest", json!({"id": 7})),
        ]);
        assert!(matches!(mailbox.next(), Some(Message::Request(request)) if request.id == RequestId::from(7)));
        while mailbox.waiting.len() < 2 {
            mailbox.look();
        }
        assert!(mailbox.takes_back(&RequestId::from(7)) && !mailbox.takes_back(&RequestId::from(8)));
        assert!(mailbox.changes("file:///a.yaml") && !mailbox.changes("file:///b.yaml"));
        assert!(mailbox.next().is_some() && mailbox.next().is_some() && mailbox.next().is_none());
    }
}
