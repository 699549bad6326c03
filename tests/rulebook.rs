//! The rule book: every rule has its page, every link leads somewhere, and nothing but the pages' own words is in it.

#[path = "common/colours.rs"]
mod colours;
mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use colours::{colours, contrast};
use scraper::{ElementRef, Html, Selector};
use testlamp::book::{File, folder, one};
use testlamp::judge::{Family, Rule, Severity, Subjects, Verdict};
use testlamp::report::{CAUTIONS, STANCE};
use testlamp::rules;

static BOOK: LazyLock<Vec<File>> = LazyLock::new(|| folder(rules::FAMILIES, &[]));
static ONE: LazyLock<String> = LazyLock::new(|| one(rules::FAMILIES, &[]));

fn file(name: &str) -> &'static str {
    let found = BOOK.iter().find(|file| file.name == name).unwrap_or_else(|| panic!("there is no {name}"));
    &found.text
}

fn page(rule: &Rule) -> Html {
    Html::parse_document(file(&format!("{}.html", rule.code.to_lowercase())))
}

fn all<'h>(page: &'h Html, selector: &str) -> Vec<ElementRef<'h>> {
    page.select(&Selector::parse(selector).expect("a selector")).collect()
}

fn text(element: ElementRef<'_>) -> String {
    element.text().collect::<String>().split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The pages of a book by name.
fn pages() -> Vec<(&'static str, Html)> {
    let pages = BOOK.iter().filter(|file| file.text.starts_with("<!DOCTYPE html>"));
    pages.map(|file| (file.name.as_str(), Html::parse_document(&file.text))).collect()
}

fn ids(page: &Html) -> BTreeSet<String> {
    let found: Vec<String> = all(page, "[id]").iter().filter_map(|e| e.attr("id")).map(str::to_owned).collect();
    let unique: BTreeSet<String> = found.iter().cloned().collect();
    assert_eq!(unique.len(), found.len(), "an id stands twice");
    unique
}

#[test]
fn every_rule_has_its_page_with_its_headings() {
    for rule in rules::all() {
        let page = page(rule);
        assert_eq!(text(all(&page, "h1")[0]), rule.name);
        assert_eq!(text(all(&page, ".head .code")[0]), rule.code);
        assert_eq!(text(all(&page, ".head .severity")[0]), rule.severity.word());
        let headings: Vec<String> = all(&page, "h2").into_iter().map(text).collect();
        let taught: Vec<&str> = rule.page.lines().filter_map(|line| line.strip_prefix("## ")).collect();
        assert_eq!(headings, taught, "{}", rule.code);
        assert_eq!(text(all(&page, "article > p")[0]), rule.summary().replace('`', ""));
    }
}

#[test]
fn every_link_leads_somewhere_and_stays_in_the_book() {
    let pages = pages();
    let known: BTreeMap<&str, BTreeSet<String>> = pages.iter().map(|(name, page)| (*name, ids(page))).collect();
    let mut reached = BTreeSet::new();
    for (name, page) in &pages {
        for link in all(page, "a[href]") {
            let href = link.attr("href").expect("a link");
            let (to, anchor) = href.split_once('#').map_or((href, None), |(to, anchor)| (to, Some(anchor)));
            let to = if to.is_empty() { name } else { to };
            let there = known.get(to).unwrap_or_else(|| panic!("{name}: {href} leads nowhere"));
            assert!(anchor.is_none_or(|anchor| there.contains(anchor)), "{name}: {href} leads to no place of {to}");
            reached.insert(to);
        }
        for beside in all(page, "[src], link[href]") {
            file(beside.attr("src").or(beside.attr("href")).expect("a file"));
        }
    }
    assert_eq!(reached.len(), pages.len(), "every page can be reached");
    let whole = Html::parse_document(&ONE);
    let places = ids(&whole);
    for link in all(&whole, "a[href]") {
        let href = link.attr("href").expect("a link");
        assert!(href.strip_prefix('#').is_some_and(|anchor| places.contains(anchor)), "{href}");
    }
}

#[test]
fn pages_follow_each_other_from_the_first_to_the_last_and_back() {
    let rules = rules::all();
    let turn = |rule: &Rule, way: &str| {
        let page = page(rule);
        all(&page, &format!("a[rel={way}]")).first().and_then(|a| a.attr("href")).map(str::to_owned)
    };
    let name =
        |at: Option<usize>| at.and_then(|at| rules.get(at)).map(|rule| format!("{}.html", rule.code.to_lowercase()));
    for (at, rule) in rules.iter().enumerate() {
        assert_eq!(turn(rule, "next"), name(Some(at + 1)), "{}", rule.code);
        assert_eq!(turn(rule, "prev"), name(at.checked_sub(1)), "{}", rule.code);
    }
}

/// The numbers of the lines below which a bad plan says in words what is found.
fn told_lines(page: &Html) -> Vec<String> {
    let mut told = Vec::new();
    for listing in all(page, ".listing pre") {
        let mut number = String::new();
        for part in listing.child_elements() {
            match part.attr("class") {
                Some("row") => number = text(part.child_elements().next().expect("a number")),
                _ if text(part).starts_with("\u{25b2} found here") => told.push(number.clone()),
                _ => {}
            }
        }
    }
    told
}

#[test]
fn each_bad_plan_says_at_its_line_what_is_found_and_works_it() {
    for rule in rules::all() {
        let mut marked = Vec::new();
        let mut line = 0;
        for row in rule.page.lines() {
            line = if row.starts_with("```") { 0 } else { line + 1 };
            if row.contains("# <- here") {
                marked.push(line.to_string());
            }
        }
        let page = page(rule);
        assert_eq!(told_lines(&page), marked, "{}", rule.code);
        let worked = all(&page, ".worked");
        assert_eq!(worked.len(), marked.len(), "{}", rule.code);
        for working in worked {
            let words = text(working);
            assert!(words.starts_with("What is found, and its workingfound") && words.len() > 60, "{words}");
        }
        assert!(!text(all(&page, "article")[0]).contains("<- here"), "{}", rule.code);
    }
}

#[test]
fn a_working_shows_the_numbers_of_its_own_plan() {
    let rule = rules::find("FUSE-01").expect("a rule");
    let page = page(rule);
    let worked = text(all(&page, ".worked")[0]);
    for words in ["fuse rating = 60 A (wires.main.fuse.rating, line 13)", "60 A <= 51 A", "33 CFR 183.425 table 5"] {
        assert!(worked.contains(words), "{words} in {worked}");
    }
}

#[test]
fn a_code_in_a_text_leads_to_its_rule() {
    let rule = rules::find("FUSE-01").expect("a rule");
    let page = page(rule);
    let links: Vec<String> = all(&page, "article p a").into_iter().map(text).collect();
    assert_eq!(links, ["FUSE-02", "FUSE-04", "FUSE-02"]);
}

#[test]
fn the_book_is_whole_without_script_and_without_a_network() {
    for (name, page) in pages() {
        let scripts = all(&page, "script");
        assert_eq!(scripts.len(), usize::from(name == "index.html"), "{name}");
        assert!(scripts.iter().all(|script| text(*script).is_empty()), "{name}: the script is a file");
    }
    let index = Html::parse_document(file("index.html"));
    assert!(all(&index, "[role=search]")[0].attr("hidden").is_some(), "without a script there is no search to see");
    assert_eq!(all(&index, ".entries li").len(), rules::all().len());
    assert!(all(&index, ".entries li").iter().all(|entry| entry.attr("hidden").is_none()));
    assert!(all(&Html::parse_document(&ONE), "script, link, img, iframe").is_empty());
    for file in BOOK.iter() {
        for far in ["url(", "@import", "http://", "https://", "fetch(", "XMLHttpRequest"] {
            assert!(!file.text.contains(far), "{}: {far}", file.name);
        }
    }
}

#[test]
fn the_search_knows_every_page_and_its_words() {
    let script = file("search.js");
    let start = script.find('{').expect("the words");
    let end = script[start..].find("};\n").expect("their end") + start + 1;
    let words: BTreeMap<String, String> = serde_json::from_str(&script[start..end]).expect("a list of words");
    let index = Html::parse_document(file("index.html"));
    for link in all(&index, ".entries a") {
        assert!(words.contains_key(link.attr("href").expect("a link")));
    }
    assert_eq!(words.len(), rules::all().len());
    assert!(words["fuse-01.html"].contains("ampacity") && words["fuse-01.html"].contains("183.425"));
}

#[test]
fn the_printed_book_holds_every_rule_its_contents_and_its_sheets() {
    let whole = Html::parse_document(&ONE);
    let contents: Vec<String> = all(&whole, ".contents .entries b").into_iter().map(text).collect();
    let parts: Vec<String> = all(&whole, "article .head .code").into_iter().map(text).collect();
    let codes: Vec<&str> = rules::all().iter().map(|rule| rule.code).collect();
    assert_eq!(contents, codes);
    assert_eq!(parts, codes);
    assert_eq!(told_lines(&whole).len(), all(&whole, ".worked").len());
    for rule in ["@page", "break-before: page", "break-inside: avoid", "@media print"] {
        assert!(ONE.contains(rule), "{rule}");
    }
    assert!(!ONE.contains("size: A4") && !ONE.contains("size: letter"), "the printer knows its paper");
}

#[test]
fn the_cautions_stand_first_in_both_books_and_in_the_readme() {
    let readme = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).expect("the README");
    let readme = readme.split_whitespace().collect::<Vec<_>>().join(" ");
    let books =
        [Html::parse_document(file("index.html")), Html::parse_document(&ONE)].map(|book| text(book.root_element()));
    for caution in CAUTIONS.iter().map(|caution| caution.words).chain([STANCE]) {
        assert!(readme.contains(caution), "{caution}");
        for book in &books {
            let at = book.find(caution).unwrap_or_else(|| panic!("{caution}"));
            assert!(at < book.find("PLAN-01").expect("the first rule"), "{caution}");
        }
    }
}

const HOSTILE: &str = "# EVIL-01 <b>bold</b>

Words <script>alert(1)</script> and <img src=x onerror=alert(2)> &amp; [a link](javascript:alert(3)).

<script>alert(8)</script>

## <i>Head</i>

![words](https://example.org/x.png)

<div onclick=\"alert(4)\">

| <u>a</u> | b |
|---|---|
| \"quoted\" & 'so' | </table> |

```yaml bad
plan: 1
note: \"</code></pre><script>alert(5)</script>\" # <- here
```

```yaml
<b>not</b> a plan
```
";

static EVIL: &[Rule] = &[Rule {
    code: "EVIL-01",
    name: "<b>bold</b>",
    severity: Severity::Advice,
    since: "\"><script>alert(6)</script>",
    page: HOSTILE,
    check: Subjects::Job(|_| Ok(Verdict::pass())),
    slips: &[],
}];

#[test]
fn hostile_text_in_a_page_stays_text() {
    let family = [Family { code: "EVIL", title: "<script>alert(7)</script>: & so on", rules: EVIL }];
    let mut books: Vec<(String, String)> =
        folder(&family, &[]).into_iter().map(|file| (file.name, file.text)).collect();
    books.push(("one".into(), one(&family, &[])));
    for (name, source) in books.iter().filter(|(_, source)| source.starts_with("<!DOCTYPE html>")) {
        let page = Html::parse_document(source);
        assert!(all(&page, "img, iframe, i, u, [onclick], [onerror], article script").is_empty(), "{name}");
        assert!(all(&page, "a").iter().all(|a| !a.attr("href").unwrap_or_default().contains(':')), "{name}");
        assert!(all(&page, "script").iter().all(|script| script.attr("src") == Some("search.js")), "{name}");
    }
    let page = Html::parse_document(&books.iter().find(|(name, _)| name == "evil-01.html").expect("a page").1);
    let shown = text(page.root_element());
    for words in [
        "<script>alert(8)</script>",
        "Words <script>alert(1)</script> and <img src=x onerror=alert(2)> & a link.",
        "<i>Head</i>",
        "<div onclick=\"alert(4)\">",
        "\"quoted\" & 'so'",
        "</table>",
        "</code></pre><script>alert(5)</script>",
        "since version \"><script>alert(6)</script>",
    ] {
        assert!(shown.contains(words), "{words} in {shown}");
    }
}

#[test]
fn text_stands_out_from_its_ground_in_light_in_dark_and_on_paper() {
    let style = file("style.css");
    let (light, rest) = style.split_once("@media screen and (prefers-color-scheme: dark)").expect("a dark scheme");
    let (dark, rest) = rest.split_once("* { box-sizing").expect("the rules");
    let (rules, print) = rest.split_once("@media print").expect("a print scheme");
    let (light, dark, print) = (colours(light), colours(dark), colours(print));
    assert_eq!(light.keys().collect::<Vec<_>>(), dark.keys().collect::<Vec<_>>(), "both schemes set every colour");
    let mut printed = light.clone();
    printed.extend(print);
    for (scheme, colours) in [("light", &light), ("dark", &dark), ("print", &printed)] {
        for ground in ["paper", "panel", "mark"] {
            for ink in ["ink", "quiet", "link", "signal"] {
                let contrast = contrast(colours[ground], colours[ink]);
                assert!(contrast >= 4.5, "{scheme}: {ink} on {ground} has a contrast of {contrast:.2}");
            }
        }
    }
    // Nothing has a colour but by these names: text in an ink or, turned round, in the paper's on an ink.
    for part in rules.split(['{', ';', '}']).map(str::trim) {
        let Some((key, value)) = part.split_once(':') else { continue };
        let allowed: &[&str] = match key.trim() {
            "color" => &["ink", "quiet", "link", "signal", "paper"],
            "background" => &["paper", "panel", "mark", "ink", "signal"],
            _ if value.contains('#') => panic!("a colour without a name: {part}"),
            _ => continue,
        };
        assert!(allowed.iter().any(|name| value.trim() == format!("var(--{name})")), "{part}");
    }
    for turned in rules.split('}').filter(|rule| rule.contains("color: var(--paper)")) {
        let ground = ["background: var(--ink)", "background: var(--signal)"];
        assert!(ground.iter().any(|ground| turned.contains(ground)), "{turned}");
    }
}

fn rulebook(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    common::ended(common::program(folder, &["rulebook"]).args(arguments))
}

#[test]
fn the_folder_is_written_whole_and_what_else_is_there_stays() {
    let place = tempfile::tempdir().expect("a folder");
    fs::create_dir(place.path().join("book")).expect("a folder");
    fs::write(place.path().join("book/notes.txt"), "mine").expect("a file");
    let first = rulebook(place.path(), &["--into", "book"]);
    assert_eq!((first.0, first.2.as_str()), (0, ""));
    assert!(first.1.contains(&format!("{} files", BOOK.len())) && first.1.contains("index.html"), "{}", first.1);
    for file in BOOK.iter() {
        assert_eq!(fs::read_to_string(place.path().join("book").join(&file.name)).expect("it is there"), file.text);
    }
    assert_eq!(rulebook(place.path(), &["--into", "book"]), first, "once more leaves the same");
    assert_eq!(fs::read_to_string(place.path().join("book/notes.txt")).expect("it stays"), "mine");
    assert_eq!(fs::read_dir(place.path().join("book")).expect("a folder").count(), BOOK.len() + 1);
}

#[test]
fn nothing_else_is_replaced() {
    let place = tempfile::tempdir().expect("a folder");
    fs::write(place.path().join("index.html"), "<p>my own site").expect("a file");
    let (status, out, told) = rulebook(place.path(), &["--into", "."]);
    assert_eq!((status, out.as_str()), (2, ""));
    assert!(told.contains("index.html is there already"), "{told}");
    assert_eq!(fs::read_dir(place.path()).expect("a folder").count(), 1, "and nothing is written");
    let (status, _, told) = rulebook(place.path(), &["--one", "index.html"]);
    assert!(status == 2 && told.contains("stays as it is"), "{told}");
    let (status, _, told) = rulebook(place.path(), &["--into", "index.html"]);
    assert!(status == 2 && told.contains("it is a file"), "{told}");
    assert_eq!(fs::read_to_string(place.path().join("index.html")).expect("it stays"), "<p>my own site");
}

#[test]
fn the_page_to_print_goes_to_a_file_or_to_standard_output() {
    let place = tempfile::tempdir().expect("a folder");
    let (status, out, _) = rulebook(place.path(), &["--one", "-"]);
    assert_eq!((status, out.as_str()), (0, ONE.as_str()));
    assert_eq!(rulebook(place.path(), &["--one", "rules.html"]).0, 0);
    assert_eq!(fs::read_to_string(place.path().join("rules.html")).expect("it is there"), *ONE);
    assert_eq!(rulebook(place.path(), &["--one", "rules.html"]).0, 0, "a book is replaced by a book");
    assert_eq!(rulebook(place.path(), &["--one", "-", "--into", "x"]).0, 2);
}

#[test]
fn the_rules_of_a_house_stand_in_its_book() {
    let place = tempfile::tempdir().expect("a folder");
    let house = "house: 1\nown_rules:\n  HOUSE-01:\n    each: wire\n    must: wire.covering == \"loom\" && 1 < 2\n    \
                 says: \"no <b>loom</b>\"\n    severity: fault\n    source: our own practice\n";
    fs::write(place.path().join("ours.yaml"), house).expect("a file");
    let (status, one, told) = rulebook(place.path(), &["--one", "-", "--house", "ours.yaml"]);
    assert_eq!((status, told.as_str()), (0, ""));
    assert_eq!(rulebook(place.path(), &["--into", "book", "--house", "ours.yaml"]).0, 0);
    let index = fs::read_to_string(place.path().join("book/index.html")).expect("the index");
    for book in [one, index] {
        let book = Html::parse_document(&book);
        let [part] = all(&book, "#own")[..] else { panic!("one part") };
        let words = text(part);
        for said in [
            "HOUSE-01",
            "fault",
            "each wire",
            "wire.covering == \"loom\" && 1 < 2",
            "no <b>loom</b>",
            "line 3: our own practice",
        ] {
            assert!(words.contains(said), "{said}: {words}");
        }
        assert_eq!(all(&book, "a[href='#own']").len(), 1);
    }
    assert!(!ONE.contains("id=\"own\"") && !file("index.html").contains("#own"));
    let (status, _, told) = rulebook(place.path(), &["--house", "ours.yaml"]);
    assert!(status == 2 && told.contains("--into or --one"), "{told}");
    assert_eq!(rulebook(place.path(), &["--one", "-", "--house", "none.yaml"]).0, 2);
}
