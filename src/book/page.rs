//! The page of one rule.

use maud::{Markup, html};

use super::frame::{self, Looks};
use super::{Shelf, anchor, prose};
use crate::judge::{Family, Rule, Severity};

/// A page of its own, with ways to the rules before and after.
pub fn of(shelf: &Shelf<'_>, family: &Family, rule: &'static Rule, [before, after]: [Option<&Rule>; 2]) -> Markup {
    let body = html! {
        a.skip href="#text" { "Skip to the text" }
        header.running {
            nav aria-label="Where this page stands" {
                ol {
                    li { a href="index.html" { "Rule book" } }
                    li { a href=(shelf.to_family(family.code)) { (family.code) " " (area(family)) } }
                    li aria-current="page" { (rule.code) }
                }
            }
        }
        div.spread {
            main #text {
                article {
                    (head(rule, &html! { h1 { (rule.name) } }))
                    (prose::of(shelf, rule))
                }
                nav.turn aria-label="Turn the page" {
                    @if let Some(rule) = before { (turn(shelf, rule, "prev", "Before")) }
                    @if let Some(rule) = after { (turn(shelf, rule, "next", "Next")) }
                }
            }
            (siblings(shelf, family, rule))
        }
    };
    frame::page(&format!("{} {} \u{2013} rule book", rule.code, rule.name), &Looks::Beside, None, &body)
}

/// A rule as a part of one long page.
pub fn part(shelf: &Shelf<'_>, rule: &'static Rule) -> Markup {
    html! {
        article.rule id=(anchor(rule.code)) {
            (head(rule, &html! { h3 { (rule.name) } }))
            (prose::of(shelf, rule))
        }
    }
}

/// How much harm a finding stands for.
pub fn severity(severity: Severity) -> Markup {
    let word = severity.word();
    html! { span class=(format!("severity {word}")) { (word) } }
}

/// What a family judges, up to the colon of its title.
pub fn area(family: &Family) -> &'static str {
    family.title.split(':').next().unwrap_or(family.title)
}

fn head(rule: &Rule, title: &Markup) -> Markup {
    html! {
        div.head {
            p.code { (rule.code) }
            (title)
            p.facts { (severity(rule.severity)) @if !rule.is_of_the_house() { " since version " (rule.since) } }
        }
    }
}

fn turn(shelf: &Shelf<'_>, rule: &Rule, way: &str, word: &str) -> Markup {
    html! {
        a class=(way) rel=(way) href=(shelf.to_rule(rule)) {
            span { (word) }
            " " b { (rule.code) } " " (rule.name)
        }
    }
}

fn siblings(shelf: &Shelf<'_>, family: &Family, rule: &Rule) -> Markup {
    html! {
        nav.siblings aria-label=(format!("Rules of the family {}", family.code)) {
            p { a href=(shelf.to_family(family.code)) { (family.code) } " " (family.title) }
            ol {
                @for other in family.rules {
                    li {
                        @if other.code == rule.code {
                            a href=(shelf.to_rule(other)) aria-current="page" { b { (other.code) } " " (other.name) }
                        } @else {
                            a href=(shelf.to_rule(other)) { b { (other.code) } " " (other.name) }
                        }
                    }
                }
            }
        }
    }
}
