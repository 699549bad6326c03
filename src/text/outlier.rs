//! A line that stands further left or right than its neighbours, and a dash before some names of a list of things.

use std::ops::Range;

use super::{Lines, Misread};

/// What is out of line: what to tell, and the text as it can be read.
pub(super) struct Outlier {
    pub misread: Misread,
    pub mended: String,
}

/// A line of a text that says something.
struct Line<'a> {
    start: usize,
    indent: usize,
    words: &'a str,
}

impl Line<'_> {
    /// Its key where it is a key with a colon, a dash before it or not; and what stands behind the colon.
    fn key(&self) -> Option<(&str, &str)> {
        let words = self.words.strip_prefix("- ").map_or(self.words, str::trim_start);
        let (key, value) = words.split_once(':')?;
        let value = value.split(" #").next().unwrap_or_default();
        (is_named(key) && (value.is_empty() || value.starts_with(' '))).then(|| (key, value.trim()))
    }

    fn first(&self) -> usize {
        self.start + self.indent
    }

    fn span(&self) -> Range<usize> {
        self.start..self.first() + self.words.len()
    }
}

/// The lines that say something, and which of them holds a place.
fn said(text: &str, at: usize) -> Option<(Vec<Line<'_>>, usize)> {
    let lines = Lines::new(text);
    let ends = lines.line(text.len());
    let all = (0..=ends).map(|line| lines.range(text, line)).map(|range| {
        let whole = &text[range.clone()];
        let words = whole.trim_start_matches(' ');
        Line { start: range.start, indent: whole.len() - words.len(), words: words.trim_end() }
    });
    let all: Vec<Line<'_>> = all.filter(|line| !line.words.is_empty() && !line.words.starts_with('#')).collect();
    let here = all.iter().rposition(|line| line.start <= at)?;
    Some((all, here))
}

/// The parser stops at a key that stands further right than the one above it, which says something already: one of the two
/// is out of line with its neighbours.
pub(super) fn outlier(text: &str, at: usize) -> Option<Outlier> {
    let (lines, here) = said(text, at)?;
    let (line, above) = (&lines[here], &lines[here.checked_sub(1)?]);
    let (key, value) = line.key().filter(|_| !line.words.starts_with('-'))?;
    let (other, said) = above.key().filter(|(_, said)| !said.is_empty() && !above.words.starts_with('-'))?;
    if above.indent >= line.indent || line.first() + key.len() < at {
        return None;
    }
    let before = here.checked_sub(2).map(|at| &lines[at]);
    let below = lines.get(here + 1);
    let is_beside = |neighbour: Option<&Line<'_>>| neighbour.is_some_and(|other| other.indent == line.indent);
    // The first key of a thing has nothing of its own kind above it.
    let opens = before.is_some_and(|thing| thing.indent <= above.indent && thing.words.ends_with(':'));
    if is_beside(before) || (opens && is_beside(below)) {
        let far = line.indent - above.indent;
        let what = format!("`{other}` stands further left than the lines around it");
        let mend = format!("indent it by {}, as far as they are", crate::words::count(far, "space"));
        let span = above.first()..above.first() + other.len();
        let meant = format!("{}{other}", " ".repeat(far));
        // Its value goes: the key is where it belongs, and says nothing.
        let room = (said.len() + 1).checked_sub(far);
        let words = room.map_or(String::new(), |_| format!("{}{other}:", " ".repeat(line.indent)));
        let mended = replaced(text, &above.span(), &words);
        let misread = Misread::new(span, what, mend).meant(Some(meant));
        return Some(Outlier { misread, mended });
    }
    let far = line.indent - above.indent;
    let what = format!("`{key}` stands further right than the line above it, which is no heading");
    let mend = format!("take {} out before it, if it is a fact of the same thing", crate::words::count(far, "space"));
    let misread = Misread::new(line.start + above.indent..line.first() + key.len(), what, mend);
    let is_sure = below.is_none_or(|below| below.indent <= above.indent);
    let misread = if is_sure { misread.meant(Some(key.to_owned())) } else { misread.could([key.to_owned()]) };
    let words = format!("{}{key}{}: {value}", " ".repeat(above.indent), " ".repeat(far));
    let mended = replaced(text, &line.span(), words.trim_end());
    Some(Outlier { misread, mended })
}

/// A name that stands as far left as the dash before another: the parser takes what stood behind that dash for a list.
pub(super) fn dashed(text: &str, at: usize) -> Option<Outlier> {
    let (lines, here) = said(text, at)?;
    let line = &lines[here];
    let (name, _) = line.key().filter(|(_, value)| value.is_empty() && !line.words.starts_with('-'))?;
    let same = lines[..here].iter().rev().take_while(|above| above.indent >= line.indent);
    let same: Vec<&Line<'_>> = same.filter(|above| above.indent == line.indent).collect();
    let is_name =
        |other: &&&Line<'_>| other.words.starts_with("- ") && other.key().is_some_and(|(_, value)| value.is_empty());
    let with: Vec<&&Line<'_>> = same.iter().filter(is_name).collect();
    let (other, first) = (with.last()?.key()?.0, with.last()?);
    let what = format!("a dash stands before `{other}`, and none before `{name}` below it");
    let misread = Misread::new(first.first()..first.span().end, what, "names stand without a dash: take it out")
        .meant(Some(first.words.trim_start_matches("- ").to_owned()));
    let misread = misread.also(line.first()..line.span().end, "this has no dash");
    let mended = with.iter().fold(text.to_owned(), |text, one| {
        let words = format!("{}{}", " ".repeat(one.indent), one.words.trim_start_matches("- "));
        replaced(&text, &one.span(), &words)
    });
    Some(Outlier { misread, mended })
}

/// A misread over the whole line, with the ways in which its words line up with the lines around it: that is what was meant
/// where there is one.
pub(super) fn lined_up(text: &str, at: usize, misread: Misread) -> Misread {
    let lines = Lines::new(text);
    let line = lines.line(at);
    let range = lines.range(text, line);
    let said = |line: &usize| Some(text[lines.range(text, *line)].trim_end()).filter(|words| !words.trim().is_empty());
    let above = (0..line).rev().take(LOOK).find_map(|line| said(&line));
    let below =
        (line + 1..line + LOOK).filter(|line| lines.range(text, *line).start < text.len()).find_map(|line| said(&line));
    let words = text[range.clone()].trim();
    let margin = |line: &str| line.len() - line.trim_start_matches(' ').len();
    // A heading belongs where what is below it can belong to it.
    if let Some(below) = below.filter(|below| words.ends_with(':') && margin(below) > margin(&text[range.clone()])) {
        let above = (0..line).rev().take(LOOK).filter_map(|line| said(&line)).map(margin);
        let way = above.filter(|above| *above < margin(below)).map(|above| format!("{}{words}", " ".repeat(above)));
        let way = way.take(1).next();
        return Misread { span: range, ..misread }.could(way.clone()).meant(way);
    }
    let mut ways: Vec<String> = Vec::new();
    for (other, is_above) in above.map(|above| (above, true)).into_iter().chain(below.map(|below| (below, false))) {
        let indent = &other[..other.len() - other.trim_start().len()];
        let way = if other.trim_start().starts_with("- ") && !words.starts_with('-') {
            format!("{indent}- {words}")
        } else if is_above && other.ends_with(':') {
            format!("{indent}  {words}")
        } else {
            format!("{indent}{words}")
        };
        if !indent.contains('\t') && !ways.contains(&way) {
            ways.push(way);
        }
    }
    let meant = ways.first().filter(|_| ways.len() == 1).cloned();
    Misread { span: range, ..misread }.meant(meant).could(ways)
}

/// So many lines away a neighbour is looked for.
const LOOK: usize = 20;

/// Whether things may be called so.
pub(super) fn is_named(key: &str) -> bool {
    key.starts_with(|first: char| first.is_ascii_alphanumeric())
        && key.bytes().all(|byte| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_'))
}

/// A text with other words in place of some that are no shorter: every byte behind them stays in its place.
fn replaced(text: &str, span: &Range<usize>, words: &str) -> String {
    let blanks = " ".repeat(span.len().saturating_sub(words.len()));
    format!("{}{words}{blanks}{}", &text[..span.start], &text[span.end..])
}

#[cfg(test)]
mod tests {
    use crate::text::{Limits, parse};

    /// What is told, at which words, and what was meant.
    type Told = (String, String, Option<String>);

    /// All that is told; and the texts at some paths of what is read.
    fn told(text: &str, paths: &[&str]) -> (Vec<Told>, Vec<Option<String>>) {
        let (tree, misreads) = parse(text, Limits::default());
        let values = paths.iter().map(|path| tree.node(path).and_then(|node| tree.text(node)).map(str::to_owned));
        let values = values.collect();
        (misreads.into_iter().map(|it| (it.what, text[it.span].to_owned(), it.meant)).collect(), values)
    }

    const PATHS: [&str; 3] = ["wires.main.from", "wires.main.length", "wires.other.from"];

    /// Letters of several bytes in the line that is moved: what is told further on is told where it stands.
    #[test]
    fn behind_a_line_with_letters_of_several_bytes_every_place_stays() {
        let text = "plan: 1\njob: 3\n  note: {say: \"ä🚗\"}\nwires:\n  a: {size: 4, size: 3}\n";
        let (tree, misreads) = parse(text, Limits::default());
        assert!(misreads[0].what.starts_with("`note` stands further right"), "{misreads:?}");
        assert_eq!(&text[misreads[1].span.clone()], "size", "{misreads:?}");
        let size = tree.node("wires.a.size").expect("it is read");
        assert_eq!(&text[tree.span(size)], "4");
        // A heading has nothing behind its colon, not even a blank.
        let text = "plan: 1\njob: 3\n  note:\nwires:\n  a: {size: 4, size: 3}\n";
        let (_, misreads) = parse(text, Limits::default());
        assert!(misreads[0].what.starts_with("`note` stands further right"), "{misreads:?}");
        assert_eq!(&text[misreads[1].span.clone()], "size", "{misreads:?}");
        for mark in ["ä", "🚗", "äää🚗🚗"] {
            let text =
                format!("plan: 1\ndrivers:\n- sub: # {mark}\n  size: 12 in # {mark}\ntop: # {mark}\n  size: 4 in\n");
            for end in (1..text.len()).filter(|end| text.is_char_boundary(*end)) {
                let (tree, misreads) = parse(&text[..end], Limits::default());
                let drivers = tree.node("drivers").map(|node| tree.span(node));
                let mut spans = misreads.into_iter().map(|misread| misread.span).chain(drivers);
                assert!(spans.all(|span| text.get(span).is_some()), "{}", &text[..end]);
            }
        }
    }

    #[test]
    fn a_key_that_has_lost_its_indent_is_told_once_and_all_around_it_is_read() {
        let text = "wires:\n  main:\n    from: battery.positive\n  to: amp.power\n    size: 4 AWG\n    length: 4 m\n  \
                    other:\n    from: amp.ground\n";
        let (said, read) = told(text, &PATHS);
        let what = "`to` stands further left than the lines around it";
        assert_eq!(said, [(what.to_owned(), "to".to_owned(), Some("  to".to_owned()))]);
        assert_eq!(read, ["battery.positive", "4 m", "amp.ground"].map(|text| Some(text.to_owned())));
    }

    #[test]
    fn the_first_key_of_a_thing_can_have_lost_it_too() {
        let text =
            "wires:\n  main:\n  to: amp.power\n    from: battery.positive\n    length: 4 m\n  other:\n    from: b\n";
        let (said, read) = told(text, &PATHS);
        assert_eq!(said.len(), 1, "{said:?}");
        assert_eq!((said[0].1.as_str(), said[0].2.as_deref()), ("to", Some("  to")));
        assert_eq!(read, ["battery.positive", "4 m", "b"].map(|text| Some(text.to_owned())));
    }

    #[test]
    fn a_key_too_far_right_is_told_itself() {
        let text = "wires:\n  main:\n    from: battery.positive\n      to: amp.power\n    length: 4 m\n  other:\n    from: b\n";
        let (said, read) = told(text, &PATHS);
        let what = "`to` stands further right than the line above it, which is no heading";
        assert_eq!(said, [(what.to_owned(), "  to".to_owned(), Some("to".to_owned()))]);
        assert_eq!(read, ["battery.positive", "4 m", "b"].map(|text| Some(text.to_owned())));
        assert_eq!(told(text, &["wires.main.to"]).1, [Some("amp.power".to_owned())]);
    }

    /// What stood below the heading belongs to nothing now, and is not told on its own.
    #[test]
    fn what_stands_below_a_heading_that_cannot_be_placed_goes_with_it() {
        let text = "vehicle:\n  battery:\n    kind: agm\n alternator:\n    rated: 110 A\njob: {number: 7}\n";
        let (said, read) = told(text, &["vehicle.battery.kind", "vehicle.battery.rated", "job.number"]);
        assert_eq!((said.len(), said[0].1.as_str()), (1, " alternator:"), "{said:?}");
        assert_eq!(said[0].2.as_deref(), Some("  alternator:"), "beside the battery, so that its rating is its own");
        assert_eq!(read, [Some("agm".to_owned()), None, Some("7".to_owned())]);
    }

    #[test]
    fn a_dash_before_one_name_of_two_is_told_and_neither_thing_is_lost() {
        let text = "wires:\n  - main:\n    from: battery.positive\n    length: 4 m\n  other:\n    from: b\n";
        let (said, read) = told(text, &PATHS);
        let what = "a dash stands before `main`, and none before `other` below it";
        assert_eq!(said, [(what.to_owned(), "- main:".to_owned(), Some("main:".to_owned()))]);
        assert_eq!(read, ["battery.positive", "4 m", "b"].map(|text| Some(text.to_owned())));
    }
}
