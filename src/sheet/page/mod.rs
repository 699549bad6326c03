//! The parts of the sheet, in their order.

mod assumed;
mod bits;
mod cautions;
mod drawings;
mod find_out;
mod findings;
mod head;
mod loads;
mod measured;
mod parts;
mod settings;
mod sign_off;
mod signals;
mod steps;
mod supply;
mod tools;
mod wiring;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::View;
use crate::words::{UNITS, is_unsafe};
use bits::Asks;
pub use head::{Standing, stage, standing, tally};

const STYLE: &str = include_str!("../style.css");

/// A part of the sheet below its head.
struct Part {
    id: &'static str,
    title: &'static str,
    body: fn(&View<'_>, &mut Asks) -> Markup,
}

/// The parts in their order. What has to be found out is known last, and stands after the first.
const PARTS: &[Part] = &[
    Part { id: "cautions", title: "Before you start", body: cautions::body },
    Part { id: "wiring", title: "Wiring", body: wiring::body },
    Part { id: "parts", title: "Tools and parts", body: parts::body },
    Part { id: "supply", title: "Supply", body: supply::body },
    Part { id: "loads", title: "Loads", body: loads::body },
    Part { id: "signals", title: "Signal", body: signals::body },
    Part { id: "settings", title: "Settings", body: settings::body },
    Part { id: "steps", title: "Order of work", body: steps::body },
    Part { id: "measured", title: "Measurements", body: measured::body },
    Part { id: "findings", title: "Findings", body: findings::body },
    Part { id: "assumed", title: "What was assumed", body: assumed::body },
    Part { id: "sign-off", title: "Sign-off", body: sign_off::body },
];

/// The sheet of one plan, as a page that needs nothing beside itself.
pub fn sheet(view: &View<'_>) -> String {
    let mut asks = Asks::default();
    let head = head::body(view, &mut asks);
    let mut parts: Vec<(&str, &str, Markup)> =
        PARTS.iter().map(|part| (part.id, part.title, (part.body)(view, &mut asks))).collect();
    parts.insert(1, ("find-out", "To find out", find_out::body(view, &asks)));
    parts.retain(|(_, _, body)| !body.0.is_empty());
    page(
        &head::title(view),
        &html! {
            (head)
            nav { @for (id, title, _) in &parts { a href={ "#" (id) } { (title) } " " } }
            main {
                @for (id, title, body) in &parts {
                    section id=(id) { h2 { (title) } (body) }
                }
            }
        },
    )
}

/// A whole page. What a plan says is escaped where it is put in; characters that are none, or that could turn the text
/// around, are taken out here.
pub fn page(title: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                title { (title) " · job sheet" }
                style { (PreEscaped(STYLE)) }
            }
            body { (tied(body)) }
        }
    };
    page.into_string().chars().map(|c| if c != '\n' && is_unsafe(c) { '\u{fffd}' } else { c }).collect()
}

/// Markup with a space that does not break between each number and its unit, outside of tags.
fn tied(markup: &Markup) -> Markup {
    let mut tied = String::with_capacity(markup.0.len());
    let mut rest = markup.0.as_str();
    let mut in_tag = false;
    while let Some(c) = rest.chars().next() {
        rest = &rest[c.len_utf8()..];
        in_tag = if in_tag { c != '>' } else { c == '<' };
        let after_digit = || tied.ends_with(|c: char| c.is_ascii_digit());
        let unit = || rest.split(|c: char| c.is_whitespace() || ",;:)<·".contains(c)).next().unwrap_or_default();
        let ties = c == ' ' && !in_tag && after_digit() && UNITS.contains(&unit());
        tied.push(if ties { '\u{a0}' } else { c });
    }
    PreEscaped(tied)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_keeps_its_unit() {
        let tied = tied(&html! { a title="4 m" { "38.4 to 39.6 A, 4 mice and 9 × " } "12 V" });
        assert_eq!(tied.0, "<a title=\"4 m\">38.4 to 39.6\u{a0}A, 4 mice and 9\u{a0}× </a>12\u{a0}V");
    }
}
