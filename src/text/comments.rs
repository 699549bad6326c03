//! What a text says to people only.

use std::ops::Range;

use super::tree::{Kind, Tree};

/// The comments of a text, in its order, each from its `#` to the end of its line.
pub fn comments<'a>(text: &'a str, tree: &Tree) -> Vec<&'a str> {
    comments_in(text, tree, &(0..text.len()))
}

/// The comments that begin in a part of a text.
pub(super) fn comments_in<'a>(text: &'a str, tree: &Tree, part: &Range<usize>) -> Vec<&'a str> {
    spans(text, tree).into_iter().filter(|span| part.contains(&span.start)).map(|span| text[span].trim_end()).collect()
}

fn spans(text: &str, tree: &Tree) -> Vec<Range<usize>> {
    let mut words: Vec<_> = (0..tree.nodes.len())
        .filter(|node| tree.elsewhere(*node).is_none())
        .flat_map(|node| match tree.kind(node) {
            Kind::Scalar { .. } => vec![tree.span(node)],
            Kind::Map(map) => map.entries().iter().map(|entry| entry.key_span.clone()).collect(),
            Kind::Seq(_) => Vec::new(),
        })
        .filter(|span| text.get(span.clone()).is_some_and(|words| words.contains('#')))
        .collect();
    words.sort_by_key(|span| span.start);
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(at) = text[from..].find('#').map(|at| from + at) {
        from = at + 1;
        if let Some(span) = words.iter().find(|span| span.contains(&at)) {
            from = span.end.max(from);
        } else if text[..at].ends_with([' ', '\t', '\n', '\r']) || at == 0 {
            from = text[at..].find(['\n', '\r']).map_or(text.len(), |end| at + end);
            found.push(at..from);
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::{Limits, parse};
    use super::*;

    #[test]
    fn a_mark_within_words_begins_no_comment() {
        let text = "# all\na: 'x # y' # one\nb: {c: d#e} #two\nf: |\n  # words\ng:\n  # last\n";
        let (tree, _) = parse(text, Limits::default());
        assert_eq!(comments(text, &tree), ["# all", "# one", "#two", "# last"]);
    }
}
