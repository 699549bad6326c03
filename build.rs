//! Lists where the page of every rule stands, so that the rule book can point to it, and writes down what the schemas ask of
//! a file.

use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs, io};

use serde_json::Value;

fn main() -> io::Result<()> {
    let folder = env::var_os("OUT_DIR").ok_or_else(|| io::Error::other("no output folder"))?;
    let folder = Path::new(&folder);
    fs::write(folder.join("pages.rs"), pages()?)?;
    ["plan", "house", "shelf"]
        .into_iter()
        .try_for_each(|name| fs::write(folder.join(format!("{name}.asked.json")), asked(name)?))
}

/// What the schema of a format asks, as JSON.
fn asked(name: &str) -> io::Result<String> {
    let path = format!("schema/{name}.schema.json");
    println!("cargo:rerun-if-changed={path}");
    let mut schema = serde_json::from_str(&fs::read_to_string(path)?)?;
    strip(&mut schema);
    Ok(schema.to_string())
}

/// Takes out of a schema what it tells people. Quantities are read by the plan's own reader: their patterns are for
/// editors, and slow to compile.
fn strip(schema: &mut Value) {
    match schema {
        Value::Object(map) => {
            let is_quantity = map.contains_key("x-quantity");
            // A key of a plan may be called like a word of schemas; what describes it is no string and no list.
            map.retain(|key, value| match key.as_str() {
                "$schema" | "title" | "description" => !value.is_string(),
                "examples" | "enumDescriptions" => !value.is_array(),
                "pattern" => !is_quantity,
                _ => true,
            });
            map.values_mut().for_each(strip);
        }
        Value::Array(items) => items.iter_mut().for_each(strip),
        _ => {}
    }
}

/// The pages of rules: code and path, as a list in Rust.
fn pages() -> io::Result<String> {
    println!("cargo:rerun-if-changed=rules");
    let mut pages: Vec<(String, String)> = Vec::new();
    for family in fs::read_dir("rules")? {
        let family = family?.path();
        if !family.is_dir() {
            continue;
        }
        println!("cargo:rerun-if-changed={}", family.display());
        for page in fs::read_dir(&family)? {
            let page = page?.path();
            if page.extension().is_some_and(|ending| ending == "md") {
                let text = fs::read_to_string(&page)?;
                let code = text.trim_start_matches("# ").split_whitespace().next().unwrap_or_default().to_owned();
                let path = page.strip_prefix("rules").unwrap_or(&page).display().to_string().replace('\\', "/");
                pages.push((code, path));
            }
        }
    }
    pages.sort();
    let mut list = String::from("&[\n");
    for (code, path) in pages {
        let _ = writeln!(list, "    ({code:?}, {path:?}),");
    }
    list.push_str("]\n");
    Ok(list)
}
