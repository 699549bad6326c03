//! The objects of the standard, as far as they are written.

use serde::Serialize;

use crate::judge::Severity;
use crate::report::model::{Numbers, RuleOff, Settled, Supposed};
use crate::report::place::Region;

#[derive(Debug, Serialize)]
pub struct Tool<'a> {
    pub driver: Driver<'a>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Driver<'a> {
    pub name: &'a str,
    pub version: &'a str,
    pub semantic_version: &'a str,
    pub notifications: [Described; 2],
    pub rules: Vec<Descriptor>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Described {
    pub id: &'static str,
    pub short_description: Words,
    pub full_description: Words,
    pub help: Words,
}

impl Described {
    /// There is no more to it than one sentence, and consumers ask for all three.
    pub fn new(id: &'static str, words: &str) -> Self {
        let [short_description, full_description, help] = [(); 3].map(|()| words.to_owned().into());
        Self { id, short_description, full_description, help }
    }
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Descriptor {
    pub id: &'static str,
    pub name: &'static str,
    pub short_description: Words,
    pub full_description: Words,
    pub help: Words,
    pub default_configuration: Configuration,
    pub properties: RuleProperties,
}

#[derive(Debug, Serialize)]
pub struct Words {
    pub text: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub markdown: Option<&'static str>,
}

impl From<String> for Words {
    fn from(text: String) -> Self {
        Self { text, markdown: None }
    }
}

#[derive(Debug, Serialize)]
pub struct Configuration {
    pub level: &'static str,
}

#[derive(Debug, Serialize)]
pub struct RuleProperties {
    pub severity: Severity,
    pub since: &'static str,
    pub tags: [&'static str; 1],
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct SarifResult<'a> {
    pub rule_id: &'static str,
    pub rule_index: usize,
    pub kind: &'static str,
    pub level: &'static str,
    pub message: Message,
    pub locations: [Location; 1],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub related_locations: Vec<Location>,
    pub partial_fingerprints: Fingerprints<'a>,
    // 3.27.23: where one result says whether it is suppressed, all say it, so that an empty list is written too.
    pub suppressions: Vec<Suppression>,
    pub properties: Properties<'a>,
}

#[derive(Debug, Serialize)]
pub struct Fingerprints<'a> {
    #[serde(rename = "testlampCheck/v1")]
    pub check: &'a str,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Properties<'a> {
    pub severity: Severity,
    #[serde(skip_serializing_if = "str::is_empty")]
    pub subject: &'a str,
    pub holds_gate: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub follows: Option<&'a Settled>,
    /// The fingerprint of what it follows from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cause: Option<&'a str>,
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    pub supposed: &'a [Supposed],
    #[serde(skip_serializing_if = "Option::is_none")]
    pub working: Option<&'a Numbers>,
}

#[derive(Debug, Serialize)]
pub struct Message {
    pub text: String,
}

/// 3.11.5: braces stand for arguments unless they are doubled. 3.11.6: `](` makes a link, and a plan gives none.
pub fn message(words: &str) -> Message {
    Message { text: words.replace('{', "{{").replace('}', "}}").replace("](", "] (") }
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Location {
    #[serde(skip_serializing_if = "Option::is_none")]
    pub id: Option<usize>,
    #[serde(rename = "physicalLocation")]
    pub physical: Physical,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub logical_locations: Vec<Logical>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub message: Option<Message>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Physical {
    pub artifact_location: Artifact,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub region: Option<Piece>,
}

#[derive(Debug, Serialize)]
pub struct Artifact {
    pub uri: String,
}

#[derive(Debug, Serialize)]
#[serde(untagged)]
pub enum Piece {
    Exact(Region),
    #[serde(rename_all = "camelCase")]
    Line {
        start_line: usize,
    },
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Logical {
    pub fully_qualified_name: String,
}

#[derive(Debug, Serialize)]
pub struct Suppression {
    pub kind: &'static str,
    pub status: &'static str,
    pub justification: String,
    pub location: Location,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "camelCase")]
pub struct Invocation<'a> {
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub rule_configuration_overrides: Vec<Override>,
    pub execution_successful: bool,
    pub exit_code: u8,
    pub exit_code_description: &'static str,
    pub tool_execution_notifications: &'a [Notification],
}

#[derive(Debug, Serialize)]
pub struct Override {
    pub descriptor: Reference,
    pub configuration: Enabled,
    pub properties: Why,
}

#[derive(Debug, Serialize)]
pub struct Enabled {
    pub enabled: bool,
}

#[derive(Debug, Serialize)]
pub struct Why {
    pub reason: &'static str,
}

impl Override {
    /// 3.51: a rule that the house has off.
    pub fn off(rule: &RuleOff, index: usize) -> Self {
        let descriptor = Reference { id: rule.code, index };
        Self { descriptor, configuration: Enabled { enabled: false }, properties: Why { reason: rule.reason } }
    }
}

#[derive(Debug, Serialize)]
pub struct Notification {
    pub descriptor: Reference,
    pub level: &'static str,
    pub message: Message,
    pub locations: [Location; 1],
}

#[derive(Debug, Serialize)]
pub struct Reference {
    pub id: &'static str,
    pub index: usize,
}

impl Notification {
    pub fn new(id: &'static str, words: &str, uri: String) -> Self {
        let physical = Physical { artifact_location: Artifact { uri }, region: None };
        let location = Location { id: None, physical, logical_locations: Vec::new(), message: None };
        let index = usize::from(id == "broke-down");
        Self { descriptor: Reference { id, index }, level: "error", message: message(words), locations: [location] }
    }
}
