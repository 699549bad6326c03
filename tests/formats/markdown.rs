//! Markdown, read as a forge reads it.

use std::fs;

use pulldown_cmark::{Event, Options, Parser, Tag};

use super::{CLEAN, HOSTILE, Ran, folder, root, run, waived};

/// What a page of markdown holds when it is read as GitHub's dialect: text, rows of tables, raw HTML.
#[derive(Debug, Default)]
pub struct PageRead {
    pub text: String,
    pub cells: Vec<usize>,
    pub html: Vec<String>,
    pub links: usize,
}

pub fn read(page: &str) -> PageRead {
    let mut read = PageRead::default();
    for event in
        Parser::new_ext(page, Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH | Options::ENABLE_FOOTNOTES)
    {
        match event {
            Event::Text(text) => read.text.push_str(&text),
            Event::Html(html) | Event::InlineHtml(html) => read.html.push(html.trim().to_owned()),
            Event::Start(Tag::Link { .. } | Tag::Image { .. }) => read.links += 1,
            Event::Start(Tag::TableRow | Tag::TableHead) => read.cells.push(0),
            Event::Start(Tag::TableCell) => *read.cells.last_mut().expect("a row") += 1,
            Event::Code(code) => panic!("code: {code}"),
            Event::SoftBreak | Event::HardBreak => read.text.push('\n'),
            _ => {}
        }
    }
    read
}

#[test]
fn markdown_shows_the_verdict_first_and_folds_the_rest() {
    let plan = waived();
    let folder = folder(&[("a.yaml", &plan), ("b.yaml", "plan: 1\nwires: {main: {length: 4 kg}}\n")]);
    let Ran { status, out } = run(folder.path(), &["a.yaml", "b.yaml", "--format", "markdown"]);
    assert_eq!(status, 1);
    assert!(out.starts_with("**testlamp: the gate is shut** · 2 plans judged: "), "{out}");
    let read = read(&out);
    assert!(read.cells.len() >= 2 && read.cells.iter().all(|cells| *cells == 4), "{read:?}");
    assert!(read.text.contains("waived by shop lead until 2027-06-30: foam"), "{}", read.text);
    let clean = run(root(), &[CLEAN, "--format", "markdown"]);
    assert!(clean.out.starts_with("**testlamp: nothing stands in the way** · "), "{}", clean.out);
}

#[test]
fn markdown_fits_into_a_comment() {
    let folder = folder(&[]);
    for at in 0..60 {
        fs::write(folder.path().join(format!("{at}.yaml")), HOSTILE).expect("a file");
    }
    let out = run(folder.path(), &[".", "--format", "markdown"]).out;
    assert!(out.chars().count() < 65_536, "{}", out.chars().count());
    assert!(out.contains("No room was left for"), "{out:.300}");
    let html = read(&out).html.join("");
    assert_eq!(html.matches("<details>").count(), html.matches("</details>").count());
}
