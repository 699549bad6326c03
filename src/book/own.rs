//! The rules of a house's own, as its house file states them.

use maud::{Markup, html};

use super::page::severity;
use crate::house::OwnRule;
use crate::report::clean;

/// The name of the part in links.
pub const ANCHOR: &str = "own";
/// Its title.
pub const TITLE: &str = "Rules of this house";

/// All of them on one part of a page; nothing where there are none.
pub fn part(rules: &[OwnRule]) -> Markup {
    html! {
        @if !rules.is_empty() {
            section.family id=(ANCHOR) {
                h2 { (TITLE) }
                @for rule in rules { (one(rule)) }
            }
        }
    }
}

fn one(rule: &OwnRule) -> Markup {
    let lines = [("finds", rule.says), ("asks", rule.written), ("mend", rule.mend), ("source", rule.source)];
    html! {
        div.worked {
            h3 { (rule.code) " " (severity(rule.severity)) " each " (rule.each.name()) }
            dl {
                @for (heading, words) in lines.into_iter().filter(|(_, words)| !words.is_empty()) {
                    div { dt { (heading) } dd { @if heading == "asks" { code { (clean(words)) } } @else { (clean(words)) } } }
                }
            }
        }
    }
}
