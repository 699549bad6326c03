//! The text of a rule's page, from markdown.
//!
//! What a page says is text: HTML in it is shown as it is written, and links and images keep only their words. The links
//! of the book are its own: every code of a rule that the text names leads to that rule.

use maud::{Markup, PreEscaped, html};
use pulldown_cmark::{CodeBlockKind, Event, HeadingLevel, Options, Parser, Tag, TagEnd};

use super::{Set, Shelf, example};
use crate::judge::Rule;

/// The page of a rule below its title.
pub fn of(shelf: &Shelf<'_>, rule: &'static Rule) -> Markup {
    let mut setter = Setter { shelf, rule, block: None, in_title: false };
    let events: Vec<Event<'_>> =
        Parser::new_ext(rule.page, Options::ENABLE_TABLES).filter_map(|event| setter.set(event)).collect();
    let mut text = String::with_capacity(rule.page.len() * 2);
    pulldown_cmark::html::push_html(&mut text, events.into_iter());
    PreEscaped(text)
}

struct Setter<'a> {
    shelf: &'a Shelf<'a>,
    rule: &'static Rule,
    /// The example that is being read: its mark and its text so far.
    block: Option<(String, String)>,
    in_title: bool,
}

impl Setter<'_> {
    fn set<'e>(&mut self, event: Event<'e>) -> Option<Event<'e>> {
        match event {
            // The frame says the title.
            Event::Start(Tag::Heading { level: HeadingLevel::H1, .. }) => self.in_title = true,
            Event::End(TagEnd::Heading(HeadingLevel::H1)) => self.in_title = false,
            _ if self.in_title => {}
            Event::Start(Tag::CodeBlock(kind)) => {
                let mark = if let CodeBlockKind::Fenced(mark) = &kind { mark.to_string() } else { String::new() };
                self.block = Some((mark, String::new()));
            }
            Event::End(TagEnd::CodeBlock) => {
                let (mark, text) = self.block.take()?;
                let shown = example::of(self.rule, &mark, &text, self.level(3));
                return Some(Event::Html(shown.into_string().into()));
            }
            Event::Text(text) => {
                if let Some((_, block)) = &mut self.block {
                    block.push_str(&text);
                } else {
                    return Some(Event::InlineHtml(self.linked(&text).into_string().into()));
                }
            }
            Event::Html(text) | Event::InlineHtml(text) => return Some(Event::Text(text)),
            Event::Start(Tag::Heading { level, classes, attrs, .. }) => {
                let level = self.lower(level);
                return Some(Event::Start(Tag::Heading { level, id: None, classes, attrs }));
            }
            Event::End(TagEnd::Heading(level)) => return Some(Event::End(TagEnd::Heading(self.lower(level)))),
            Event::Start(Tag::Link { .. } | Tag::Image { .. } | Tag::HtmlBlock)
            | Event::End(TagEnd::Link | TagEnd::Image | TagEnd::HtmlBlock) => {}
            other => return Some(other),
        }
        None
    }

    /// In one page the headings of a rule stand below those of book, family and rule.
    fn level(&self, level: u8) -> u8 {
        if self.shelf.set == Set::One { level + 2 } else { level }
    }

    fn lower(&self, level: HeadingLevel) -> HeadingLevel {
        HeadingLevel::try_from(usize::from(self.level(level as u8)).min(6)).unwrap_or(HeadingLevel::H6)
    }

    /// A text in which every code of another rule leads there.
    fn linked(&self, text: &str) -> Markup {
        let is_part = |c: char| c.is_ascii_alphanumeric() || c == '-';
        let mut pieces: Vec<(&str, Option<&'static Rule>)> = Vec::new();
        let mut rest = text;
        while !rest.is_empty() {
            let (is_word, end) = match rest.find(is_part) {
                Some(0) => (true, rest.find(|c| !is_part(c)).unwrap_or(rest.len())),
                Some(start) => (false, start),
                None => (false, rest.len()),
            };
            let (piece, after) = rest.split_at(end);
            let named = if is_word { self.shelf.rule(piece).filter(|rule| rule.code != self.rule.code) } else { None };
            pieces.push((piece, named));
            rest = after;
        }
        html! {
            @for (piece, named) in pieces {
                @match named {
                    Some(rule) => { a href=(self.shelf.to_rule(rule)) title=(rule.name) { (piece) } }
                    None => { (piece) }
                }
            }
        }
    }
}
