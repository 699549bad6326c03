//! What is wrong with an expression, in plain words.

use cel::common::ast::IdedExpr;
use cel::{ExecutionError, Value};
use serde_json::Map;

use super::seen::{Each, trial};
use super::walk::is_called;
use crate::plan::specimen;
use crate::words;

/// Functions that expressions may call.
pub const FUNCTIONS: [&str; 13] = [
    "all",
    "contains",
    "double",
    "endsWith",
    "exists",
    "exists_one",
    "filter",
    "has",
    "int",
    "map",
    "size",
    "startsWith",
    "string",
];

/// What went wrong, in plain words.
pub fn plain(error: &ExecutionError, each: Each, expression: &IdedExpr) -> String {
    match error {
        ExecutionError::NoSuchKey(key) => {
            let (known, plan) = (trial(each), specimen(""));
            let keys = [&known.is, &known.figures, &plan];
            let keys = keys.into_iter().filter_map(serde_json::Value::as_object).flat_map(Map::keys);
            let near = words::nearest(key, keys.map(String::as_str)).map(str::to_owned);
            let mut below = Vec::new();
            keys_below(&known.is, &mut below);
            keys_below(&plan, &mut below);
            let near = near.or_else(|| words::nearest(key, below.iter().map(String::as_str)).map(str::to_owned));
            let near = near.map(|near| format!("; did you mean `{near}`?")).unwrap_or_default();
            format!("`{}` is not a key that is known here{near}", words::excerpt(key, 40))
        }
        ExecutionError::UndeclaredReference(name) if is_called(expression, name) => {
            let near = words::nearest(name, FUNCTIONS).map(|near| format!("did you mean `{near}`? "));
            format!(
                "there is no function `{}` here; {}known: {}",
                words::excerpt(name, 40),
                near.unwrap_or_default(),
                words::all(&FUNCTIONS)
            )
        }
        ExecutionError::UndeclaredReference(name) => {
            let known = [each.name(), "figures", "plan", "stage"];
            let near = words::nearest(name, known).map(|near| format!("; did you mean `{near}`?"));
            let near = near.unwrap_or_else(|| format!("; known: {}", words::all(&known)));
            format!("`{}` is not known here{near}", words::excerpt(name, 40))
        }
        ExecutionError::ValuesNotComparable(one, other) => {
            format!("{} cannot be compared with {}", kind(one), kind(other))
        }
        ExecutionError::UnsupportedBinaryOperator(sign, one, other) => {
            format!("{} and {} cannot be put together by {sign}", kind(one), kind(other))
        }
        ExecutionError::NoSuchOverload(overload) => {
            let kinds: Vec<&str> = overload.argument_types().iter().map(|name| kind_called(name)).collect();
            format!("{} cannot be put together so", words::all(&kinds))
        }
        other => words::excerpt(&other.to_string(), 120),
    }
}

/// Every key that stands somewhere in a value.
fn keys_below(value: &serde_json::Value, found: &mut Vec<String>) {
    for (key, below) in value.as_object().into_iter().flatten() {
        found.push(key.clone());
        keys_below(below, found);
    }
    value.as_array().into_iter().flatten().for_each(|item| keys_below(item, found));
}

/// A kind of value by the name that CEL has for it.
fn kind_called(name: &str) -> &'static str {
    match name {
        "bool" => "true or false",
        "int" | "uint" | "double" => "a number",
        "string" => "a word",
        "list" => "a list",
        "map" => "a group of keys",
        _ => "something else",
    }
}

/// A kind of value in plain words.
pub fn kind(value: &Value) -> &'static str {
    match value {
        Value::Bool(_) => "true or false",
        Value::Int(_) | Value::UInt(_) | Value::Float(_) => "a number",
        Value::String(_) => "a word",
        Value::List(_) => "a list",
        Value::Map(_) => "a group of keys",
        _ => "something else",
    }
}
