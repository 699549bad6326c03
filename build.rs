//! Lists where the page of every rule stands, so that the rule book can point to it.

use std::fmt::Write as _;
use std::path::Path;
use std::{env, fs, io};

fn main() -> io::Result<()> {
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
    let folder = env::var_os("OUT_DIR").ok_or_else(|| io::Error::other("no output folder"))?;
    fs::write(Path::new(&folder).join("pages.rs"), list)
}
