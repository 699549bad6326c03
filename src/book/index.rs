//! The first page of the book, its search, and the book as one page.

use std::collections::BTreeSet;

use maud::{Markup, html};
use serde_json::{Map, Value};

use super::frame::{self, Looks};
use super::page::{part, severity};
use super::{MARK, SEARCH, SEVERITIES, Set, Shelf, anchor, extent, own};
use crate::judge::{Family, Rule};
use crate::report::{CAUTIONS, STANCE};

const TITLE: &str = "Rule book";

/// The first page of a folder.
pub fn of(shelf: &Shelf<'_>) -> Markup {
    let body = html! {
        a.skip href="#text" { "Skip to the text" }
        main #text.front {
            (opening(shelf))
            div.search role="search" hidden {
                label for="find" { "Search all pages" }
                input #find type="search" autocomplete="off" spellcheck="false";
                p #found role="status" {}
            }
            (families_at_a_glance(shelf))
            @for family in shelf.families { (contents(shelf, family, &html! { h2 { (title(family)) } })) }
            (own::part(shelf.own))
        }
    };
    frame::page(&format!("{TITLE} \u{2013} testlamp"), &Looks::Beside, Some("search.js"), &body)
}

/// The whole book on one page.
pub fn one(shelf: &Shelf<'_>) -> Markup {
    let body = html! {
        main.front {
            (opening(shelf))
            nav.contents aria-label="Contents" {
                h2 { "Contents" }
                @for family in shelf.families {
                    p { a href=(shelf.to_family(family.code)) { (title(family)) } }
                    (entries(shelf, family))
                }
                @if !shelf.own.is_empty() { p { a href={ "#" (own::ANCHOR) } { (own::TITLE) } } }
            }
            @for family in shelf.families {
                section.family id=(anchor(family.code)) {
                    h2 { (title(family)) }
                    @for rule in family.rules { (part(shelf, rule)) }
                }
            }
            (own::part(shelf.own))
        }
    };
    frame::page(&format!("{TITLE} \u{2013} testlamp"), &Looks::Inside, None, &body)
}

/// What the search of a folder is run by: the words of every page, and the script.
pub fn search(shelf: &Shelf<'_>) -> String {
    let rules = shelf.rules().into_iter();
    let pages: Map<String, Value> = rules.map(|(_, rule)| (shelf.to_rule(rule), words(rule).into())).collect();
    format!("// {MARK}\nconst PAGES = {};\n{SEARCH}", Value::from(pages))
}

/// Every word of a page once, its code and name first.
fn words(rule: &Rule) -> String {
    let page = rule.page.to_lowercase();
    let marks = |c: char| !c.is_alphanumeric() && !"-_.%/".contains(c);
    let each: BTreeSet<&str> = page
        .split(marks)
        .map(|word| word.trim_matches(|c: char| "-_./".contains(c)))
        .filter(|w| !w.is_empty())
        .collect();
    let each: Vec<&str> = each.into_iter().collect();
    format!("{} {} {}", rule.code.to_lowercase(), rule.name, each.join(" "))
}

fn opening(shelf: &Shelf<'_>) -> Markup {
    html! {
        div.head {
            p.code { "testlamp " (env!("CARGO_PKG_VERSION")) }
            h1 { (TITLE) }
            p.facts { (extent(shelf.families)) }
        }
        p {
            "Each rule judges one kind of thing in a plan, and each check passes, fails, or stays open until a fact is \
             found out. Every rule has its page: why it matters, how it is worked out, a bad plan with what is found in \
             it, a good one, how to mend it, when not to, and where it comes from."
        }
        dl.severities {
            @for (harm, meaning) in SEVERITIES {
                div {
                    dt { (severity(harm)) }
                    dd { (meaning) }
                }
            }
        }
        section.cautions {
            h2 { "Before you work" }
            p { (STANCE) }
            ul { @for caution in CAUTIONS { li { strong { (caution.about) } " " (caution.words) } } }
        }
    }
}

fn families_at_a_glance(shelf: &Shelf<'_>) -> Markup {
    html! {
        nav.tabs aria-label="Families" {
            ul {
                @for family in shelf.families { li { a href=(format!("#{}", anchor(family.code))) { (family.code) } } }
                @if !shelf.own.is_empty() { li { a href={ "#" (own::ANCHOR) } { "HOUSE" } } }
            }
        }
    }
}

fn contents(shelf: &Shelf<'_>, family: &Family, heading: &Markup) -> Markup {
    html! {
        section.family id=(anchor(family.code)) {
            (heading)
            (entries(shelf, family))
        }
    }
}

fn title(family: &Family) -> Markup {
    html! { span.code { (family.code) } " " (family.title) }
}

fn entries(shelf: &Shelf<'_>, family: &Family) -> Markup {
    html! {
        ul.entries {
            @for rule in family.rules {
                li {
                    a href=(shelf.to_rule(rule)) { b { (rule.code) } " " (rule.name) }
                    " " (severity(rule.severity))
                    @if shelf.set == Set::Folder { " " span.summary { (rule.summary()) } }
                }
            }
        }
    }
}
