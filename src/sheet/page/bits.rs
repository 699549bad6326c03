//! What all parts of the sheet are put together from: figures, words, tables, and what is not stated.

use std::collections::BTreeSet;
use std::fmt::Display;

use maud::{Markup, html};
use serde::Serialize;

use crate::judge::{Figure, Value};
use crate::plan::{Coils, FilterKind, FuseForm, word};
use crate::quantity::{Dimension, Range};
use crate::solve::{Decided, Place, Undecided};

/// Facts that the sheet would show and the plan does not state, by path: they go on the list of what to find out.
#[derive(Debug, Default)]
pub struct Asks {
    paths: BTreeSet<String>,
}

impl Asks {
    /// Every fact that was asked for in vain.
    pub fn paths(&self) -> impl Iterator<Item = &str> {
        self.paths.iter().map(String::as_str)
    }

    /// A fact as the plan states it.
    pub fn stated(&mut self, place: &Place, fact: Option<impl Display>) -> Markup {
        match fact {
            Some(fact) => html! { (fact) },
            None => self.missing(place),
        }
    }

    /// A fact that is a word of a closed list.
    pub fn word(&mut self, place: &Place, fact: Option<impl Serialize>) -> Markup {
        self.stated(place, fact.map(|fact| plain(&fact)))
    }

    /// A fact that is not stated.
    pub fn missing(&mut self, place: &Place) -> Markup {
        self.ask(place);
        not_stated()
    }

    /// Puts a fact on the list without showing it.
    pub fn ask(&mut self, place: &Place) {
        self.paths.insert(place.path());
    }

    /// A solved number, or what it waits for.
    pub fn figure<D: Dimension>(&mut self, value: Decided<Range<D>>) -> Markup {
        match value {
            Ok(range) => html! { (Figure::from(range)) },
            Err(undecided) => self.undecided(undecided),
        }
    }

    /// Why there is no number.
    pub fn undecided(&mut self, undecided: Undecided) -> Markup {
        match undecided {
            Undecided::Open(places) if places.is_empty() => {
                html! { span.unknown { "open" } " " small { "turns on facts that are known by range" } }
            }
            Undecided::Open(places) => {
                let paths: Vec<String> = places.iter().map(Place::path).collect();
                self.paths.extend(paths.iter().cloned());
                html! { span.unknown { "open" } " " small { "waits for " (paths.join(", ")) } }
            }
            Undecided::NotApplicable(reason) => html! { "– " small { (reason) } },
        }
    }
}

/// What stands where a fact would.
pub fn not_stated() -> Markup {
    html! { span.unknown { "not stated" } }
}

/// A word of a plan without its hyphens.
pub fn plain(word_of: &impl Serialize) -> String {
    word(word_of).replace('-', " ")
}

/// The form of a fuse.
pub const fn fuse_form(form: FuseForm) -> &'static str {
    match form {
        FuseForm::BladeMiniature => "miniature blade",
        FuseForm::BladeRegular => "regular blade",
        FuseForm::BladeLarge => "large blade",
        FuseForm::BoltDown => "bolt-down strip",
        FuseForm::CircuitBreaker => "circuit breaker",
    }
}

/// The design of a filter, by those it is named after.
pub const fn filter_kind(kind: FilterKind) -> &'static str {
    match kind {
        FilterKind::Butterworth => "Butterworth",
        FilterKind::LinkwitzRiley => "Linkwitz-Riley",
    }
}

/// How coils are joined, from the inside out: `(a.1 and a.2 in parallel) and b.1 in series`.
pub fn coils(tree: &Coils) -> String {
    let (how, parts) = match tree {
        Coils::One(coil) if coil.reversed => return format!("{}.{} reversed", coil.driver, coil.number),
        Coils::One(coil) => return coil.to_string(),
        Coils::Series(parts) => ("in series", parts),
        Coils::Parallel(parts) => ("in parallel", parts),
    };
    let part = |part: &Coils| if matches!(part, Coils::One(_)) { coils(part) } else { format!("({})", coils(part)) };
    format!("{} {how}", crate::words::all(&parts.iter().map(part).collect::<Vec<_>>()))
}

/// What went into a check, as it reads.
pub fn value(value: &Value) -> String {
    match value {
        Value::Figure(figure) => figure.to_string(),
        Value::Word(word) => word.clone(),
    }
}

/// Yes or no.
pub fn yes_or_no(fact: bool) -> &'static str {
    if fact { "yes" } else { "no" }
}

/// A table of more columns folds earlier; one of two never has to.
const NARROW: usize = 7;

/// A table whose first column names the row. On a narrow screen each row folds into a list that repeats the headings.
pub fn table(columns: &[&str], rows: Vec<Vec<Markup>>) -> Markup {
    if rows.is_empty() {
        return html! {};
    }
    let class = match columns.len() {
        2 => Some("pair"),
        some if some > NARROW => Some("wide"),
        _ => None,
    };
    html! {
        table class=[class] {
            thead { tr { @for column in columns { th scope="col" { (column) } } } }
            tbody {
                @for row in rows {
                    tr {
                        @for (at, cell) in row.into_iter().enumerate() {
                            @if at == 0 { th scope="row" { (cell) } }
                            @else { td data-label=(columns.get(at).copied().unwrap_or_default()) { (cell) } }
                        }
                    }
                }
            }
        }
    }
}

/// A table below a heading of its own; nothing without rows.
pub fn titled(title: &str, columns: &[&str], rows: Vec<Vec<Markup>>) -> Markup {
    if rows.is_empty() {
        return html! {};
    }
    html! { h3 { (title) } (table(columns, rows)) }
}

/// A part of the sheet that has nothing to show where a reader would look for it.
pub fn nothing(words: &str) -> Markup {
    html! { p.nothing { (words) } }
}

/// Things with the same key together, in the order in which the keys were first seen.
pub fn grouped<K: PartialEq, V>(items: impl IntoIterator<Item = (K, V)>) -> Vec<(K, Vec<V>)> {
    let mut groups: Vec<(K, Vec<V>)> = Vec::new();
    for (key, value) in items {
        match groups.iter_mut().find(|(known, _)| *known == key) {
            Some((_, values)) => values.push(value),
            None => groups.push((key, vec![value])),
        }
    }
    groups
}

/// A path that a narrow page breaks between its keys.
pub fn path(path: &str) -> Markup {
    html! { @for key in path.split_inclusive('.') { (key) wbr; } }
}

/// Words that are there, joined by commas.
pub fn listed(words: impl IntoIterator<Item = Option<String>>) -> String {
    words.into_iter().flatten().filter(|words| !words.is_empty()).collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Current;

    #[test]
    fn what_is_not_stated_is_said_and_remembered() {
        let mut asks = Asks::default();
        let shown = asks.stated(&Place::of("wires.main.length"), None::<String>).into_string();
        assert!(shown.contains("not stated"), "{shown}");
        let open = asks.figure::<Current>(Err(Undecided::need(Place::of("wires.main.size")))).into_string();
        assert!(open.contains("waits for wires.main.size"), "{open}");
        assert_eq!(asks.paths().collect::<Vec<_>>(), ["wires.main.length", "wires.main.size"]);
    }

    #[test]
    fn coils_are_told_from_the_inside_out() {
        let one = |name: &str| Coils::One(crate::plan::Coil::read(name).expect("a coil"));
        let pair = Coils::Parallel(vec![one("a.1"), one("-a.2")]);
        assert_eq!(coils(&pair), "a.1 and a.2 reversed in parallel");
        assert_eq!(coils(&Coils::Series(vec![pair, one("b")])), "(a.1 and a.2 reversed in parallel) and b.1 in series");
    }

    #[test]
    fn a_row_keeps_its_headings_when_it_folds() {
        let shown = table(&["run", "length"], vec![vec![html! { "main" }, html! { "4 m" }]]).into_string();
        assert!(shown.contains(r#"<th scope="row">main</th><td data-label="length">4 m</td>"#), "{shown}");
        assert_eq!(table(&["run"], Vec::new()).into_string(), "");
    }
}
