//! What has to be found out, with a line to write it on.

use std::collections::BTreeSet;

use maud::{Markup, html};

use super::bits::{Asks, grouped, path};
use crate::plan::{about, thing_in_words};
use crate::sheet::View;

/// Facts that checks wait for, the one that settles most first; then what else the sheet would show.
pub fn body(view: &View<'_>, asks: &Asks) -> Markup {
    let facts = &view.report.find_out;
    let known: BTreeSet<&str> = facts.iter().map(|fact| fact.path.as_str()).collect();
    // A thing that is missing as a whole is asked for by its facts, which stand behind it in the order of the alphabet.
    let is_known = |wanted: &str| {
        let below = format!("{wanted}.");
        known.contains(wanted) || known.range(below.as_str()..).next().is_some_and(|fact| fact.starts_with(&below))
    };
    let others = asks.paths().filter(|wanted| !is_known(wanted)).map(split);
    let others = grouped(others);
    let untried = view.report.untried_words();
    if facts.is_empty() && others.is_empty() && untried.is_none() {
        return html! {};
    }
    html! {
        @if !facts.is_empty() {
            ul.find-out {
                @for fact in facts {
                    li {
                        span.tick {} " " strong { (fact.heading().replace('`', "")) } span.write {}
                        small { span.path { (path(&fact.path)) } " · " (fact.words().join(" · ").replace('`', "")) }
                    }
                }
            }
        }
        @if let Some(untried) = untried { p.aside { (untried) ": see the open checks under findings." } }
        @if !others.is_empty() {
            h3 { "Not stated, and no check waits for it" }
            ul.others {
                @for (thing, keys) in others {
                    li { strong { (thing_in_words(&thing)) } ": " (keys.join(", ")) " " small.path { (path(&thing)) } }
                }
            }
        }
    }
}

/// The thing and the fact of a path, the fact in words where its key is known.
fn split(path: &str) -> (String, String) {
    let parts: Vec<&str> = path.split('.').collect();
    let at = parts.len().min(2);
    let (thing, key) = (parts[..at].join("."), parts[at..].join("."));
    let words = || about(path).filter(|words| !words.is_empty()).unwrap_or_else(|| "as a whole".into());
    (thing, if key.is_empty() { words() } else { key.replace(['_', '.'], " ") })
}
