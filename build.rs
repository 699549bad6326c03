//! Lists where the page of every rule stands, so that the rule book can point to it, and writes down what the schemas ask of
//! a file.

use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs, io};

#[path = "src/plan/bare.rs"]
mod bare;

fn main() -> io::Result<()> {
    let folder = env::var_os("OUT_DIR").ok_or_else(|| io::Error::other("no output folder"))?;
    let folder = Path::new(&folder);
    fs::write(folder.join("pages.rs"), pages()?)?;
    println!("cargo:rerun-if-changed=src/plan/bare.rs");
    ["plan", "house"]
        .into_iter()
        .try_for_each(|name| fs::write(folder.join(format!("{name}.asked.json")), asked(name)?))
}

/// What the schema of a format asks, as JSON.
fn asked(name: &str) -> io::Result<String> {
    let path = format!("schema/{name}.schema.json");
    println!("cargo:rerun-if-changed={path}");
    Ok(bare::bare(serde_json::from_str(&fs::read_to_string(path)?)?).to_string())
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
