//! YAML events into a [`Tree`]. Nothing outside this file names the parser.

use std::collections::HashMap;
use std::ops::Range;

use granit_parser::{Event, Options, Parser, ScalarStyle, ScanError, Span};

use super::fault::{Fault, fault};
use super::tree::{Entry, Kind, Map, Node, NodeId, Tree};
use super::{Lines, Misread};

/// How large a plan may be. A job file is a few hundred lines; these bounds keep hostile files cheap.
#[derive(Debug, Clone, Copy)]
pub struct Limits {
    /// Nodes, each alias counted with everything it stands for.
    pub nodes: usize,
    /// Levels of nesting.
    pub depth: usize,
    /// How many faulty lines are blanked to read what stands around them.
    pub repairs: usize,
}

impl Default for Limits {
    fn default() -> Self {
        Self { nodes: 100_000, depth: 60, repairs: 5 }
    }
}

/// Parses a text. A faulty line is reported, blanked and passed over, so that the rest can still be judged.
pub fn parse(text: &str, limits: Limits) -> (Tree, Vec<Misread>) {
    let mut misreads = Vec::new();
    let mut readable = None;
    let mut breaks = false;
    let mut gone: Vec<usize> = Vec::new();
    for _ in 0..=limits.repairs {
        let attempt = Builder::new(text, readable.as_deref().unwrap_or(text), limits).build();
        match attempt {
            Ok((tree, also)) => {
                // Where a line is gone the keys of what it began stand with those of what was before it.
                let follows = |second: &Misread| {
                    let first = second.also.as_ref().map_or(second.span.start, |also| also.0.start);
                    gone.iter().any(|line| (first..second.span.start).contains(line))
                };
                misreads.extend(also.into_iter().filter(|misread| !follows(misread)));
                return (Tree { breaks_off: breaks, ..tree }, misreads);
            }
            Err(Stop::Final(misread)) => {
                misreads.push(*misread);
                return (Tree::default(), misreads);
            }
            Err(Stop::Syntax { misread, blank, mended, breaks_off }) => {
                breaks |= breaks_off;
                gone.extend(mended.is_none().then_some(blank));
                let blanked = mended.or_else(|| blank_line(readable.as_deref().unwrap_or(text), blank));
                misreads.push(*misread);
                match blanked {
                    Some(rest) => readable = Some(rest),
                    None => break,
                }
            }
        }
    }
    (Tree::default(), misreads)
}

/// Replaces the line that holds `offset` by spaces, and what stands below it where it is a heading; `None` when it is blank
/// already.
fn blank_line(text: &str, offset: usize) -> Option<String> {
    let lines = Lines::new(text);
    let mut line = lines.line(offset.min(text.len()));
    // The parser often notices only on the next line; step back over blank ones.
    while line > 0 && text[lines.range(text, line)].trim().is_empty() {
        line -= 1;
    }
    let range = lines.range(text, line);
    if text[range.clone()].trim().is_empty() {
        return None;
    }
    let indent = |words: &str| words.len() - words.trim_start_matches(' ').len();
    let (own, is_heading) = (indent(&text[range.clone()]), text[range.clone()].trim_end().ends_with(':'));
    let mut rest = text.to_owned();
    let mut blank = |range: Range<usize>| rest.replace_range(range.clone(), &" ".repeat(range.len()));
    blank(range);
    for below in (line + 1..=lines.line(text.len())).filter(|_| is_heading) {
        let range = lines.range(text, below);
        let words = &text[range.clone()];
        if !words.trim().is_empty() && indent(words) <= own {
            break;
        }
        blank(range);
    }
    Some(rest)
}

enum Stop {
    /// The text cannot be used at all.
    Final(Box<Misread>),
    /// One line cannot be read; reading on in `mended`, or blanking the line at `blank`, may save the rest.
    Syntax { misread: Box<Misread>, blank: usize, mended: Option<String>, breaks_off: bool },
}

/// A collection that is still open.
struct Open {
    node: NodeId,
    anchor: usize,
    /// For a mapping: the key that waits for its value.
    key: Option<(String, Range<usize>)>,
}

struct Builder<'a> {
    /// The text as it was written, into which every range points.
    written: &'a str,
    /// The same with faulty lines blanked: where these had characters of several bytes, it has as many blanks.
    text: &'a str,
    limits: Limits,
    tree: Tree,
    open: Vec<Open>,
    anchors: HashMap<usize, NodeId>,
    /// Where each alias item of a sequence or value of a mapping is used, when not at its node.
    misreads: Vec<Misread>,
    documents: usize,
}

impl<'a> Builder<'a> {
    fn new(written: &'a str, text: &'a str, limits: Limits) -> Self {
        Self {
            written,
            text,
            limits,
            // A node takes some sixteen letters; what is too much is given back with the tree.
            tree: Tree { nodes: Vec::with_capacity(written.len().min(limits.nodes) / 16), ..Tree::default() },
            open: Vec::new(),
            anchors: HashMap::new(),
            misreads: Vec::new(),
            documents: 0,
        }
    }

    fn build(mut self) -> Result<(Tree, Vec<Misread>), Stop> {
        let mut options = Options::default();
        options.emit_comments = false;
        for event in Parser::new_from_str_with_options(self.text, options) {
            let (event, span) = event.map_err(|error| self.syntax(&error))?;
            let span = self.range(&span);
            self.take(event, span)?;
        }
        Ok((self.tree, self.misreads))
    }

    fn take(&mut self, event: Event<'_>, span: Range<usize>) -> Result<(), Stop> {
        match event {
            Event::DocumentStart(..) => {
                self.documents += 1;
                if self.documents > 1 {
                    return Err(Stop::Final(Misread::boxed(
                        span,
                        "a second document starts here; one file holds one job",
                        "move it to a file of its own",
                    )));
                }
            }
            Event::Scalar(text, style, anchor, tag) => {
                let plain = style == ScalarStyle::Plain && tag.is_none();
                self.scalar(text.into_owned(), plain, anchor, span)?;
            }
            Event::MappingStart(_, anchor, _) => self.start(Kind::Map(Map::default()), anchor, &span)?,
            Event::SequenceStart(_, anchor, _) => self.start(Kind::Seq(Vec::new()), anchor, &span)?,
            Event::MappingEnd | Event::SequenceEnd => self.end(&span)?,
            Event::Alias(anchor) => self.alias(anchor, span)?,
            _ => {}
        }
        Ok(())
    }

    fn scalar(&mut self, text: String, plain: bool, anchor: usize, span: Range<usize>) -> Result<(), Stop> {
        if let Some(Open { key: key @ None, node, .. }) = self.open.last_mut()
            && matches!(self.tree.nodes[*node].kind, Kind::Map(_))
        {
            *key = Some((text, span));
            return Ok(());
        }
        let node = self.push(Kind::Scalar { text, plain }, span.clone())?;
        self.mark(anchor, node);
        self.attach(node, span)
    }

    fn start(&mut self, kind: Kind, anchor: usize, span: &Range<usize>) -> Result<(), Stop> {
        if self.waits_for_key() {
            return Err(self.refuse(span.clone(), "a key must be a single word", "write the name and a colon"));
        }
        if self.open.len() >= self.limits.depth {
            let what = format!("nested more than {} levels deep; a plan needs fewer than ten", self.limits.depth);
            return Err(Stop::Final(Misread::boxed(span.clone(), what, "close what was opened before")));
        }
        let node = self.push(kind, span.clone())?;
        self.open.push(Open { node, anchor, key: None });
        Ok(())
    }

    fn end(&mut self, span: &Range<usize>) -> Result<(), Stop> {
        let Some(open) = self.open.pop() else { return Ok(()) };
        self.finish(open.node, span.end)?;
        // An anchor is known only now, so that an alias inside its own thing finds nothing.
        self.mark(open.anchor, open.node);
        let span = self.tree.nodes[open.node].span.clone();
        self.attach(open.node, span)
    }

    fn alias(&mut self, anchor: usize, span: Range<usize>) -> Result<(), Stop> {
        if self.waits_for_key() {
            return Err(self.refuse(span, "an alias cannot be a key", "write the name and a colon"));
        }
        let Some(node) = self.anchors.get(&anchor).copied() else {
            let what = "this alias stands inside the very thing it refers to";
            return Err(Stop::Final(Misread::boxed(span, what, "write the values out")));
        };
        self.attach(node, span)
    }

    /// Remembers a node that has an anchor; those without have the number nought.
    fn mark(&mut self, anchor: usize, node: NodeId) {
        if anchor > 0 {
            self.anchors.insert(anchor, node);
        }
    }

    fn waits_for_key(&self) -> bool {
        self.open
            .last()
            .is_some_and(|open| open.key.is_none() && matches!(self.tree.nodes[open.node].kind, Kind::Map(_)))
    }

    /// Hangs a finished node below the collection that is open.
    fn attach(&mut self, value: NodeId, used_at: Range<usize>) -> Result<(), Stop> {
        let weight = self.tree.nodes[value].weight;
        let Some(open) = self.open.last_mut() else {
            self.tree.root = Some(value);
            return Ok(());
        };
        let parent = &mut self.tree.nodes[open.node];
        parent.weight = parent.weight.saturating_add(weight);
        if parent.weight > self.limits.nodes {
            let what = format!("more than {} values, aliases counted each time they are used", self.limits.nodes);
            return Err(Stop::Final(Misread::boxed(used_at, what, "one file holds one job; write the values out")));
        }
        match &mut parent.kind {
            Kind::Seq(items) => items.push(value),
            Kind::Map(map) => {
                let Some((key, key_span)) = open.key.take() else { return Ok(()) };
                if let Some(first) = map.get(&key) {
                    let what = format!("the key `{}` stands here a second time", crate::words::excerpt(&key, 40));
                    let misread = Misread::new(key_span, what, "keep one of the two");
                    self.misreads.push(misread.also(first.key_span.clone(), "first here"));
                } else {
                    map.push(Entry { key, key_span, value, used_at });
                }
            }
            Kind::Scalar { .. } => {}
        }
        Ok(())
    }

    fn push(&mut self, kind: Kind, span: Range<usize>) -> Result<NodeId, Stop> {
        if self.tree.nodes.len() >= self.limits.nodes {
            let what = format!("more than {} values", self.limits.nodes);
            return Err(Stop::Final(Misread::boxed(span, what, "one file holds one job")));
        }
        self.tree.nodes.push(Node { span, kind, weight: 1 });
        Ok(self.tree.nodes.len() - 1)
    }

    /// Closes a collection: its range, merge keys.
    fn finish(&mut self, node: NodeId, end: usize) -> Result<(), Stop> {
        let start = self.tree.nodes[node].span.start;
        // Where words were moved in a line, letters of several bytes lie otherwise than they were written.
        let (from, to) = (floor(self.text, start), floor(self.text, end.max(start)));
        let trimmed = from + self.text[from..to].trim_end().len();
        self.tree.nodes[node].span.end = floor(self.written, trimmed).max(start);
        let Kind::Map(map) = &mut self.tree.nodes[node].kind else { return Ok(()) };
        let Some(at) = map.entries.iter().position(|entry| entry.key == "<<") else { return Ok(()) };
        let mut map = std::mem::take(map);
        let merge = map.remove(at);
        self.merge(&mut map, merge)?;
        self.tree.nodes[node].kind = Kind::Map(map);
        Ok(())
    }

    /// Takes over the entries of `<<`, which never replace the mapping's own.
    fn merge(&mut self, map: &mut Map, merge: Entry) -> Result<(), Stop> {
        let sources = match &self.tree.nodes[merge.value].kind {
            Kind::Map(_) => vec![merge.value],
            Kind::Seq(items) => items.clone(),
            Kind::Scalar { .. } => Vec::new(),
        };
        for source in sources {
            let Kind::Map(other) = &self.tree.nodes[source].kind else {
                return Err(self.refuse(
                    merge.used_at,
                    "`<<` takes over the keys of another thing",
                    "give it an alias",
                ));
            };
            for entry in &other.entries {
                if map.get(&entry.key).is_none() {
                    map.push(entry.clone());
                }
            }
        }
        Ok(())
    }

    fn refuse(&self, span: Range<usize>, what: &str, mend: &str) -> Stop {
        let blank = span.start;
        Stop::Syntax { misread: Misread::boxed(self.clamp(span), what, mend), blank, mended: None, breaks_off: false }
    }

    /// A fault that the parser found.
    fn syntax(&self, error: &ScanError) -> Stop {
        let at = floor(self.text, error.marker().byte_offset().unwrap_or(self.text.len()));
        let starts = self.open.iter().map(|open| self.tree.nodes[open.node].span.start);
        let opened = starts.into_iter().find(|start| self.text[*start..].starts_with(['[', '{']));
        let Fault { mut misread, blank, mended, breaks_off } = fault(self.text, at, &error.info(), opened);
        misread.span = self.clamp(misread.span);
        if let Some((span, _)) = misread.also.as_deref_mut() {
            *span = self.clamp(span.clone());
        }
        Stop::Syntax { misread: Box::new(misread), blank, mended, breaks_off }
    }

    fn range(&self, span: &Span) -> Range<usize> {
        self.clamp(span.byte_range().unwrap_or(0..0))
    }

    /// Keeps a range inside the text and on character boundaries of what was written.
    fn clamp(&self, range: Range<usize>) -> Range<usize> {
        let start = floor(self.written, range.start);
        start..floor(self.written, range.end).max(start)
    }
}

fn floor(text: &str, at: usize) -> usize {
    text.floor_char_boundary(at.min(text.len()))
}
