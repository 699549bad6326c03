//! The rule book: the pages of all rules, for a browser, for paper and as a list.
//!
//! A rule is taught in one place, the page beside it; here that page is set, its bad plan judged, and the finding shown
//! with its working.

mod example;
mod frame;
mod index;
mod list;
mod own;
mod page;
mod prose;

use crate::house::OwnRule;
use crate::judge::{Family, Rule, Severity};
use crate::words::count;

pub use list::list;

/// A file of the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct File {
    /// Its name in the folder of the book.
    pub name: String,
    /// Its text.
    pub text: String,
}

/// What every file of a book says near its beginning, so that nothing else is ever replaced by one.
pub const MARK: &str = "testlamp rulebook";

const STYLE: &str = include_str!("style.css");
const SEARCH: &str = include_str!("search.js");

/// How much harm a finding stands for, in a sentence each.
const SEVERITIES: [(Severity, &str); 3] = [
    (Severity::Danger, "somebody can be hurt or the vehicle can burn."),
    (Severity::Fault, "it will not work as intended, or something gets damaged."),
    (Severity::Advice, "workmanship."),
];

/// The book as a folder: a page a rule, those of a house's own on the first page, and `index.html` last, so that it never leads to a page that is not there yet.
pub fn folder(families: &[Family], own: &[OwnRule]) -> Vec<File> {
    let shelf = Shelf { families, own, set: Set::Folder };
    let rules = shelf.rules();
    let mut files: Vec<File> = Vec::with_capacity(rules.len() + 3);
    for (at, (family, rule)) in rules.iter().enumerate() {
        let before = at.checked_sub(1).map(|at| rules[at].1);
        let after = rules.get(at + 1).map(|(_, rule)| *rule);
        let text = page::of(&shelf, family, rule, [before, after]).into_string();
        files.push(File { name: file(rule), text });
    }
    files.push(File { name: "style.css".into(), text: format!("/* {MARK} */\n{STYLE}") });
    files.push(File { name: "search.js".into(), text: index::search(&shelf) });
    files.push(File { name: "index.html".into(), text: index::of(&shelf).into_string() });
    files
}

/// The book as one page to print: cautions, contents, every family on a new sheet.
pub fn one(families: &[Family], own: &[OwnRule]) -> String {
    index::one(&Shelf { families, own, set: Set::One }).into_string()
}

/// Whether the book is a folder of pages or one page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Set {
    Folder,
    One,
}

/// What the book is made of, and where its parts lie.
struct Shelf<'a> {
    families: &'a [Family],
    own: &'a [OwnRule],
    set: Set,
}

impl Shelf<'_> {
    /// Every rule with its family, in the order of the book.
    fn rules(&self) -> Vec<(&Family, &'static Rule)> {
        self.families.iter().flat_map(|family| family.rules.iter().map(move |rule| (family, rule))).collect()
    }

    /// Where the page of a rule is, as a link from any page.
    fn to_rule(&self, rule: &Rule) -> String {
        match self.set {
            Set::Folder => file(rule),
            Set::One => format!("#{}", anchor(rule.code)),
        }
    }

    /// Where the list of a family is, as a link from any page.
    fn to_family(&self, code: &str) -> String {
        let anchor = anchor(code);
        match self.set {
            Set::Folder => format!("index.html#{anchor}"),
            Set::One => format!("#{anchor}"),
        }
    }

    /// The rule of a code, if this book has it.
    fn rule(&self, code: &str) -> Option<&'static Rule> {
        self.families.iter().flat_map(|family| family.rules).find(|rule| rule.code == code)
    }
}

/// The file of a rule in the folder of the book.
fn file(rule: &Rule) -> String {
    format!("{}.html", anchor(rule.code))
}

/// A code as a name in links and of files.
fn anchor(code: &str) -> String {
    code.to_ascii_lowercase()
}

/// "137 rules in 14 families".
fn extent(families: &[Family]) -> String {
    let rules = families.iter().map(|family| family.rules.len()).sum();
    let among = if families.len() == 1 { "1 family".into() } else { format!("{} families", families.len()) };
    format!("{} in {among}", count(rules, "rule"))
}
