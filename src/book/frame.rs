//! What stands around the text of every page.

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::{MARK, STYLE};

/// Where a page takes its looks from.
pub enum Looks {
    /// A file beside it.
    Beside,
    /// The page itself, so that it can be handed on alone.
    Inside,
}

/// A whole page.
pub fn page(title: &str, looks: &Looks, script: Option<&str>, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta name="generator" content=(MARK);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) }
                @match looks {
                    Looks::Beside => { link rel="stylesheet" href="style.css"; }
                    Looks::Inside => { style { (PreEscaped(STYLE)) } }
                }
                @if let Some(script) = script { script src=(script) defer {} }
            }
            body { (body) }
        }
    }
}
