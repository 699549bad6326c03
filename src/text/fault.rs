//! What the parser stumbled over, told where it began, in words for people who do not write parsers.

use std::ops::Range;

use super::outlier::{Outlier, dashed, is_named, lined_up, outlier};
use super::{Lines, Misread};

/// A text that cannot be read on: what to tell, and the line without which the rest may be read.
pub(super) struct Fault {
    pub misread: Misread,
    /// The text as it can be read with no line passed over, every byte in its place but for those of the slip.
    pub mended: Option<String>,
    /// A place on the line to pass over.
    pub blank: usize,
    /// Whether the text ends in a bracket that is open.
    pub breaks_off: bool,
}

/// What the parser says where no comma parts what stands between brackets.
const MISSING_COMMA: &str = "flow";

/// What the parser says where an alias refers to nothing.
const UNKNOWN_ALIAS: &str = "anchor";

/// What the parser says where a quotation mark is not closed.
const UNCLOSED_QUOTE: &str = "unclosed quote";

/// What the parser says in its own words (a piece of them, in small letters), what that is, and what to do.
const KNOWN: &[(&str, &str, &str)] = &[
    ("tab", "a tab is used to indent; only spaces can", "indent with two spaces"),
    (UNCLOSED_QUOTE, "this quotation mark is never closed", "close it where the text ends"),
    (
        "quoted",
        "text goes on behind a closing quotation mark",
        "put it all between double quotes; a mark within single quotes is written twice",
    ),
    ("misplaced bracket", "this closes nothing that is open", "take it out, or open before what it should close"),
    ("unexpected character", "a text cannot begin with this sign", "put the text in quotes"),
    ("mapping keys are not allowed", "this sign alone is no value", "leave it empty while it is not known"),
    (UNKNOWN_ALIAS, "a name with `*` refers to nothing that was marked with `&` before", "write the value out"),
    (
        MISSING_COMMA,
        "a comma is missing before this",
        "part keys and items with commas; a text with a colon in it needs quotes",
    ),
    ("simple key", "a name here has no colon behind it, or the line is indented too far", LINE_UP),
    ("did not find expected", "the indent of this line does not fit the lines above it", LINE_UP),
    ("block", "the indent of this line does not fit the lines above it", LINE_UP),
];

/// Where a value cannot be read and the key before it can.
const VALUES: [&str; 2] = [UNKNOWN_ALIAS, UNCLOSED_QUOTE];

const LINE_UP: &str = "line the keys of one thing up under each other";

/// A fault at a place, in the parser's words; `opened` is where the outermost bracket opens that the parser is in.
pub(super) fn fault(text: &str, at: usize, info: &str, opened: Option<usize>) -> Fault {
    let info = info.to_lowercase();
    if info.contains("tab")
        && let Some(fault) = tab(text, at)
    {
        return fault;
    }
    let is_indent = ["did not find expected", "block"].iter().any(|piece| info.contains(piece));
    let indented = || indented_further(text, at).or_else(|| lost_indent(text, at)).filter(|_| is_indent);
    let out_of_line = || {
        let is_value = info.contains("mapping values are not allowed");
        let dashed = dashed(text, at).filter(|_| is_indent);
        let found = dashed.or_else(|| outlier(text, at).filter(|_| is_value));
        found.map(|Outlier { misread, mended }| Fault { misread, mended: Some(mended), blank: at, breaks_off: false })
    };
    if let Some(fault) = no_space_behind_dash(text, at).or_else(out_of_line).or_else(indented) {
        return fault;
    }
    let colon =
        ["mapping values are not allowed", "simple key", "illegal placement"].iter().any(|it| info.contains(it));
    // The parser closes no quotation mark for a bracket.
    let is_bracket = || info.contains("unclosed bracket") && text[at..].starts_with(['[', '{']);
    let opened = opened.or_else(|| is_bracket().then_some(at));
    let bracket = opened.filter(|_| !info.contains("quote"));
    let found = bracket.and_then(|start| open_bracket(text, start, at));
    let found =
        found.or_else(|| mismatched(text, at, &info)).or_else(|| colon.then(|| missing_colon(text, at)).flatten());
    found.unwrap_or_else(|| {
        let known = KNOWN.iter().find(|(piece, ..)| info.contains(piece));
        let (what, mend) = known.map_or_else(
            || (format!("this cannot be read: {info}"), "line keys up, and close every bracket and quotation mark"),
            |(_, what, mend)| ((*what).to_owned(), *mend),
        );
        let missing_comma = known.is_some_and(|(piece, ..)| *piece == MISSING_COMMA);
        let misread = if missing_comma && text[at..].starts_with(',') {
            Misread::new(at..at + 1, "a comma with nothing before it", "take it out")
        } else {
            let span = if missing_comma { word_at(text, at) } else { at..line_end(text, at) };
            let misread = Misread::new(span, what, mend);
            if mend == LINE_UP { lined_up(text, at, misread) } else { misread }
        };
        let mended = known.filter(|(piece, ..)| VALUES.contains(piece)).and_then(|_| without_value(text, at));
        Fault { misread, mended, blank: opened.unwrap_or(at), breaks_off: false }
    })
}

/// The line that is indented with a tab. The parser stops above it where a text there could go on.
fn tab(text: &str, at: usize) -> Option<Fault> {
    let lines = Lines::new(text);
    let first = lines.line(at);
    let indent = |line: usize| {
        let words = &text[lines.range(text, line)];
        &words[..words.len() - words.trim_start().len()]
    };
    let line = (first..first + 3)
        .filter(|line| lines.range(text, *line).start < text.len())
        .find(|line| indent(*line).contains('\t'))?;
    let start = lines.range(text, line).start + indent(line).len();
    let misread = Misread::new(start..start, "a tab is used to indent; only spaces can", "indent with two spaces");
    Some(Fault { misread: lined_up(text, start, misread), mended: None, blank: start, breaks_off: false })
}

/// The first key of a thing, indented by a space more than those that follow it: the parser stops at the next of them.
fn indented_further(text: &str, at: usize) -> Option<Fault> {
    let lines = Lines::new(text);
    let line = lines.line(at);
    let words = |line: usize| &text[lines.range(text, line)];
    let indent = |line: usize| words(line).len() - words(line).trim_start_matches(' ').len();
    let margin = indent(line);
    let is_said = |line: &usize| !words(*line).trim().is_empty() && !words(*line).trim().starts_with('#');
    let above: Vec<usize> = (0..line).rev().filter(is_said).take_while(|line| indent(*line) > margin).collect();
    let first = *above.last()?;
    let is_alone = above.iter().filter(|line| indent(**line) == margin + 1).count() == 1;
    // Who indents by two spaces has one too many where the number is odd.
    if indent(first) != margin + 1 || margin % 2 == 1 || !is_alone {
        return None;
    }
    let range = lines.range(text, first);
    // Behind the blanks that indent it: what else is blank belongs to the key.
    let key = words(first).trim_start_matches(' ').trim_end();
    let (name, rest) = key.split_once(':')?;
    let span = range.start + margin..range.start + margin + 1 + key.len();
    let mut mended = text.to_owned();
    mended.replace_range(span.clone(), &format!("{name} :{rest}"));
    let misread = Misread::new(span, "one space too many before this key", LINE_UP).meant(Some(key.to_owned()));
    let next = at.max(lines.range(text, line).start + margin);
    Some(Fault {
        misread: misread.also(next..line_end(text, next), "this stands one space further left"),
        mended: Some(mended),
        blank: at,
        breaks_off: false,
    })
}

/// A thing that stands as far left as the section it belongs to: the parser stops at the next thing of that section. What
/// stands below it is passed over with it.
fn lost_indent(text: &str, at: usize) -> Option<Fault> {
    let lines = Lines::new(text);
    let line = lines.line(at);
    let words = |line: usize| &text[lines.range(text, line)];
    let indent = |line: usize| words(line).len() - words(line).trim_start_matches(' ').len();
    // A key with nothing behind its colon, but for a comment.
    let key = |line: usize| {
        let key = words(line).split(" #").next()?.trim().strip_suffix(':')?;
        is_named(key).then_some(key)
    };
    let is_said = |line: &usize| !words(*line).trim().is_empty() && !words(*line).trim().starts_with('#');
    let margin = indent(line);
    let thing = (0..line).rev().filter(is_said).find(|line| indent(*line) <= margin)?;
    let left = indent(thing);
    let section =
        (0..thing).rev().filter(is_said).find(|line| indent(*line) <= left).filter(|line| indent(*line) == left)?;
    let (name, section) = (key(thing)?, key(section)?);
    if left >= margin || thing + 1 >= line {
        return None;
    }
    let start = lines.range(text, thing).start + left;
    let what = format!("`{name}` stands too far left to belong to `{section}`");
    let mend = format!("indent it by {}, as far as what follows it", crate::words::count(margin - left, "space"));
    let meant = format!("{}{name}", " ".repeat(margin - left));
    let misread = Misread::new(start..start + name.len(), what, mend).meant(Some(meant));
    let mut mended = text.to_owned();
    for line in thing..line {
        let range = lines.range(text, line);
        mended.replace_range(range.clone(), &" ".repeat(range.len()));
    }
    Some(Fault { misread, mended: Some(mended), blank: start, breaks_off: false })
}

/// An item of a list whose dash has no space behind it, on this line or the one before.
fn no_space_behind_dash(text: &str, at: usize) -> Option<Fault> {
    let lines = Lines::new(text);
    let line = lines.line(at);
    let lacks = |line: &usize| {
        let words = text[lines.range(text, *line)].trim();
        words
            .strip_prefix('-')
            .is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_alphabetic()) && rest.contains(':'))
    };
    let faulty = [Some(line), line.checked_sub(1)].into_iter().flatten().find(lacks)?;
    let range = lines.range(text, faulty);
    let words = text[range.clone()].trim();
    let start = range.start + text[range.clone()].find('-')?;
    let written = format!("- {}", &words[1..]);
    let mend = format!("write `{}`", crate::words::excerpt(&written, 60));
    let misread = Misread::new(start..start + words.len(), "no space behind the dash", mend).meant(Some(written));
    Some(Fault { misread, mended: None, blank: start, breaks_off: false })
}

/// A bracket that is never closed, with the place where reading stopped.
fn open_bracket(text: &str, start: usize, at: usize) -> Option<Fault> {
    let (bracket, stop) = unclosed(text, start)?;
    let (open, close) = pair(text, bracket);
    // The parser stops at the bracket itself where there is nothing more to read.
    if stop == text.len() && (at <= bracket || text[at..].trim().is_empty()) {
        let misread = Misread::new(
            bracket..bracket + 1,
            format!("this {open} is never closed: the text ends in it"),
            format!("close it with {close}, or bring back what is lost behind it"),
        );
        return Some(Fault { misread, mended: Some(blanked(text, start)), blank: bracket, breaks_off: true });
    }
    let stop = if at > bracket { at.min(stop.max(bracket)).max(bracket + 1) } else { stop };
    let rest = word_at(text, stop).start.max(bracket + 1)..line_end(text, stop);
    let misread =
        Misread::new(bracket..bracket + 1, format!("this {open} is never closed"), format!("close it with {close}"));
    let misread =
        if text[rest.clone()].trim().is_empty() { misread } else { misread.also(rest, "reading stopped here") };
    Some(Fault { misread, mended: without_value(text, start), blank: bracket, breaks_off: false })
}

/// The text with nothing but its lines from a place on.
fn blanked(text: &str, from: usize) -> String {
    let rest = text[from..].bytes().map(|byte| if matches!(byte, b'\r' | b'\n') { char::from(byte) } else { ' ' });
    text[..from].chars().chain(rest).collect()
}

/// The text without what stands behind the colon of a line, or behind the dash of an item, from where it begins: the key or
/// the item is there, its value is not.
fn without_value(text: &str, at: usize) -> Option<String> {
    let start = text[..at].rfind(['\r', '\n']).map_or(0, |end| end + 1);
    let before = text[start..at].trim();
    let is_key = || before.trim_start_matches("- ").strip_suffix(':').is_some_and(is_named);
    let end = line_end(text, at);
    (before == "-" || is_key()).then(|| format!("{}{}{}", &text[..at], " ".repeat(end - at), &text[end..]))
}

/// One kind of bracket closed by the other, where the parser does not say in which it is.
fn mismatched(text: &str, at: usize, info: &str) -> Option<Fault> {
    let start = text[..at].rfind(['\r', '\n']).map_or(0, |end| end + 1);
    let first = start + text[start..line_end(text, start)].find(['[', '{'])?;
    info.contains("mismatched").then(|| open_bracket(text, first, at)).flatten()
}

/// The innermost bracket that is open where it cannot be any more, and that place. A bracket that opens on a line is
/// closed before a line begins that is indented no further.
fn unclosed(text: &str, start: usize) -> Option<(usize, usize)> {
    let lines = Lines::new(text);
    let indent = |line: usize| text[lines.range(text, line)].bytes().take_while(|byte| *byte == b' ').count();
    let margin = indent(lines.line(start));
    let mut open: Vec<usize> = Vec::new();
    let (mut quote, mut before, mut comment) = (None, '[', false);
    for (offset, c) in text[start..].char_indices() {
        let at = start + offset;
        comment = c != '\n' && (comment || quote.is_none() && c == '#' && text[..at].ends_with(char::is_whitespace));
        if comment {
            continue;
        }
        match (quote, c) {
            (Some(mark), c) => quote = quote.filter(|_| c != mark),
            (None, '"' | '\'') if matches!(before, '[' | '{' | ',' | ':') => quote = Some(c),
            (None, '[' | '{') => open.push(at),
            (None, ']' | '}') => {
                let bracket = open.pop()?;
                if pair(text, bracket).1 != c {
                    return Some((bracket, at));
                }
                if open.is_empty() {
                    return None;
                }
            }
            (None, '\n') => {
                let next = lines.line(at) + 1;
                let words = text[lines.range(text, next)].trim();
                let goes_on = words.is_empty() || words.starts_with(['#', ']', '}']) || indent(next) > margin;
                if !goes_on {
                    return open.last().map(|bracket| (*bracket, lines.range(text, next).start + indent(next)));
                }
            }
            _ => {}
        }
        before = if c.is_whitespace() { before } else { c };
    }
    open.last().map(|bracket| (*bracket, text.len()))
}

/// The bracket at a place, and the one that closes it.
fn pair(text: &str, at: usize) -> (char, char) {
    if text[at..].starts_with('[') { ('[', ']') } else { ('{', '}') }
}

/// A key without its colon, or without the space behind that, on this line or the one before; or a colon too many.
fn missing_colon(text: &str, at: usize) -> Option<Fault> {
    let lines = Lines::new(text);
    let line = lines.line(at);
    let range = lines.range(text, line);
    if text[range.start..at.max(range.start)].contains(": ") {
        let misread = Misread::new(
            at..range.end.max(at),
            "a second colon on this line",
            "put a text with a colon in it in quotes; write each key on a line of its own",
        );
        let value = range.start + text[range.clone()].find(": ")? + 2;
        return Some(Fault { misread, mended: without_value(text, value), blank: at, breaks_off: false });
    }
    let has_key = |words: &str| words.contains(": ") || words.ends_with(':');
    let lacks = |line: &usize| {
        let words = text[lines.range(text, *line)].trim();
        !words.is_empty() && !words.starts_with(['#', '-']) && !has_key(words)
    };
    let faulty = [Some(line), line.checked_sub(1)].into_iter().flatten().find(lacks)?;
    let range = lines.range(text, faulty);
    let start = range.end - text[range.clone()].trim_start().len();
    let words = text[start..range.end].trim_end();
    let misread = if let Some((key, value)) = words.split_once(':') {
        let written = format!("{key}: {value}");
        let mend = format!("write `{}`", crate::words::excerpt(&written, 60));
        Misread::new(start..start + words.len(), "no space behind the colon", mend).meant(Some(written))
    } else {
        let mend = "write the key, a colon, a space and the value";
        let could = words.split_once(' ').map(|(key, value)| format!("{key}: {value}"));
        Misread::new(start..start + words.len(), "no colon behind the key", mend).could(could)
    };
    Some(Fault { misread, mended: None, blank: start, breaks_off: false })
}

/// The word before a colon, or else what stands at a place.
fn word_at(text: &str, at: usize) -> Range<usize> {
    let before = text[..at].trim_end();
    let start = before.rfind([' ', ',', '{', '[', '\n']).map_or(0, |end| end + 1);
    if text[at..].starts_with(':') && start < before.len() { start..before.len() } else { at..line_end(text, at) }
}

fn line_end(text: &str, at: usize) -> usize {
    text[at..].find(['\r', '\n']).map_or(text.len(), |end| at + end)
}

#[cfg(test)]
mod tests {
    use crate::text::{Limits, Misread, parse};

    fn first(text: &str) -> Misread {
        parse(text, Limits::default()).1.into_iter().next().expect("a fault")
    }

    /// What is told, the words it is told at, and those of the second place.
    fn told(text: &str) -> (String, &str, &str) {
        let misread = first(text);
        let also = misread.also.map_or("", |also| &text[also.0]);
        (misread.what, &text[misread.span], also)
    }

    #[test]
    fn a_bracket_that_stays_open_is_told_where_it_opens() {
        for (text, bracket, stopped) in [
            ("plan: 1\nw:\n  path: [dash, cargo\n  size: 4 AWG\n", "[", "size: 4 AWG"),
            ("a: {b: 12 V, c: {d: e, f: 70 Ah}\ng:\n  h: i\n", "{", "g:"),
            ("a: {b: {c: D, e: [{f: 2 ohm, g: 500 W}}}\nh: {}\n", "[", "}}"),
            ("a:\r\n  b: {c: d\r\n    e: f\r\n", "{", "e: f"),
            ("a: [\"x, ]\", 'y', b\nc: d\n", "[", "c: d"),
        ] {
            let (what, at, also) = told(text);
            assert_eq!((what, at), (format!("this {bracket} is never closed"), bracket), "{text}");
            assert_eq!(also, stopped, "{text}");
        }
        let (what, at, also) = told("a: {b: c}\nd: [e,\n");
        assert_eq!((what.as_str(), at, also), ("this [ is never closed: the text ends in it", "[", ""));
    }

    #[test]
    fn a_bracket_in_a_comment_opens_nothing() {
        let text = "plan: 1\nwires: {main: {size: 4 AWG, # see [1\n  length: 5 m\njob: {}\n";
        let misread = &crate::text::parse(text, crate::text::Limits::default()).1[0];
        assert_eq!((misread.what.as_str(), misread.span.start), ("this { is never closed", 22), "{misread:?}");
    }

    #[test]
    fn the_place_is_in_the_text_also_behind_letters_of_several_bytes() {
        let text = "note: “größer”\nw: {ü: [é, ö\nsize: 4 AWG\n";
        let (what, at, _) = told(text);
        assert_eq!((what.as_str(), at), ("this [ is never closed", "["));
    }

    /// What stands before the break is read, whatever stands on the lines behind it.
    #[test]
    fn a_text_that_ends_in_a_bracket_breaks_off() {
        for text in
            ["a: 1\nb: [c, {d: é", "a: 1\nb: [\n  {c: d},\n  # e\n  {f: g", "a: 1\nb:\n  - {c: d,\n     e: [f, g]\n"]
        {
            let (tree, misreads) = parse(text, Limits::default());
            assert_eq!((tree.breaks_off, misreads.len()), (true, 1), "{text}: {misreads:?}");
            assert_eq!(tree.node("a").and_then(|node| tree.text(node)), Some("1"), "{text}");
        }
        assert!(!parse("a: [b\nc: d\n", Limits::default()).0.breaks_off);
    }

    #[test]
    fn what_stands_around_an_open_bracket_is_still_read() {
        let (tree, misreads) = parse("a: 1\nb: [c, d\ne: {f: g}\n", Limits::default());
        assert_eq!(misreads.len(), 1);
        assert!(tree.node("e.f").is_some() && tree.node("b").is_some_and(|b| tree.is_null(b)));
    }

    #[test]
    fn each_slip_is_told_where_it_was_made() {
        for (text, what, at) in [
            ("a: {b: 12 V c: d}\n", "a comma is missing before this", "c"),
            ("a: {b: 12 V,, c: d}\n", "a comma with nothing before it", ","),
            ("w:\n  from battery\n  to: amp\n", "no colon behind the key", "from battery"),
            ("plan:1\njob:\n  stage: draft\n", "no space behind the colon", "plan:1"),
            ("job:\n  summary: note: bring it\n", "a second colon on this line", ": bring it"),
            ("job:\n  summary: \"one\n  stage: draft\n", "this quotation mark is never closed", "\"one"),
            ("a: {b: 'customer's car', c: d}\n", "text goes on behind a closing quotation mark", "s car', c: d}"),
            ("a: {b: c}}\nd: e\n", "this closes nothing that is open", "}"),
            ("a: %50\n", "a text cannot begin with this sign", "%50"),
            ("a:\n\tb: c\n", "a tab is used to indent; only spaces can", "\tb: c"),
            ("a:\n    b: c\n   d: e\n", "the indent of this line does not fit the lines above it", "   d: e"),
            ("a:\n  b: ?\n  c: d\n", "this sign alone is no value", "?"),
        ] {
            let (told_what, told_at, _) = told(text);
            assert_eq!((told_what.as_str(), told_at), (what, at), "{text}");
        }
    }

    #[test]
    fn a_key_that_stands_twice_is_told_with_the_first() {
        let text = "a: {b: 1, c: 2, b: 3}\n";
        let misread = first(text);
        assert_eq!((misread.span.start, misread.also.as_deref()), (16, Some(&(4..5, "first here"))));
    }

    #[test]
    fn only_the_line_with_the_tab_is_told() {
        let text = "plan: 1\nvehicle:\n  summary: estate car\n\tvoltage: 12 V\n  body: steel\n";
        let (tree, misreads) = parse(text, Limits::default());
        assert_eq!(misreads.iter().map(|it| &text[it.span.clone()]).collect::<Vec<_>>(), ["\tvoltage: 12 V"]);
        assert!(tree.node("vehicle.summary").is_some() && tree.node("vehicle.body").is_some());
        let text = "plan: 1\n\tjob: {stage: draft}\n";
        let (tree, misreads) = parse(text, Limits::default());
        assert_eq!((misreads.len(), &text[misreads[0].span.clone()]), (1, "\tjob: {stage: draft}"));
        assert!(tree.node("plan").is_some());
    }

    #[test]
    fn a_dash_wants_a_space() {
        let text = "steps:\n  - radio: note-code\n  -battery: disconnect\n  - run: main\n";
        let misread = first(text);
        assert_eq!((misread.what.as_str(), &text[misread.span]), ("no space behind the dash", "-battery: disconnect"));
        assert_eq!(misread.meant.as_deref(), Some("- battery: disconnect"));
    }

    #[test]
    fn a_thing_as_far_left_as_its_section_is_told_once() {
        let text =
            "wires:\n  a:\n    to: x\nfeed: # main\n    from: a\n    to: b\n  back:\n    from: b\n    to: c\njob: {}\n";
        let (tree, misreads) = parse(text, Limits::default());
        assert_eq!(misreads.len(), 1, "{misreads:?}");
        assert_eq!(misreads[0].what, "`feed` stands too far left to belong to `wires`");
        assert_eq!((&text[misreads[0].span.clone()], misreads[0].meant.as_deref()), ("feed", Some("  feed")));
        assert!(["wires.a.to", "wires.back.to", "job"].iter().all(|path| tree.node(path).is_some()));
        let mended = text.replace("feed:", "  feed:");
        assert!(parse(&mended, Limits::default()).1.is_empty());
    }

    #[test]
    fn a_key_that_is_indented_too_far_is_told_where_it_stands() {
        let text = "wires:\n   main:\n    from: a\n    to: b\n  return:\n    from: b\n    to: c\njob: {}\n";
        let (tree, misreads) = parse(text, Limits::default());
        assert_eq!(misreads.len(), 1, "{misreads:?}");
        assert_eq!(misreads[0].what, "one space too many before this key");
        assert_eq!((&text[misreads[0].span.clone()], misreads[0].meant.as_deref()), (" main:", Some("main:")));
        assert!(["wires.main.to", "wires.return.to", "job"].iter().all(|path| tree.node(path).is_some()));
    }
}
