//! The job sheet as its readers get it: every part is there, its figures are those of `figures`, a plan's words stay
//! words, and the page needs nothing beside itself.

#[path = "common/colours.rs"]
mod colours;
mod common;
#[path = "common/files.rs"]
mod files;
#[path = "sheet/style.rs"]
mod style;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use files::folder;
use roxmltree::{Document, Node};
use tempfile::TempDir;

const STYLE: &str = include_str!("../src/sheet/style.css");

/// Markup, control characters and addresses wherever a plan takes words.
const HOSTILE: &str = r#"plan: 1
job: {number: "</title><script>alert(1)</script>", stage: planned, summary: "<img src=x onerror=alert(1)> \e[31m \u202E & \" '", note: "]]> --> </style>"}
vehicle: {summary: "</h1><iframe src=//evil.example>", voltage: 12 V, body: steel}
amplifiers: {"amp <b onclick=x>": {channels: 1}}
wires:
  "w \" onmouseover=\"alert(1) </td>":
    from: battery.positive
    to: "amp <b onclick=x>.power"
    size: 10 AWG
    conductor: copper
    insulation: 105 C
    length: 4.9 m
    path: [engine-bay, firewall, cargo]
    fuse: {form: bolt-down, distance: 20 cm, rating: 60 A}
    crossings: {firewall: {through: factory-grommet, sealed: true}}
steps: [{run: "<svg onload=alert(1)>"}, {note: "javascript:alert(1) </li>"}]
waivers: [{rule: FUSE-01, at: "wires.<script>", reason: "</table><script>", by: "<a href='javascript:x'>", until: 2027-06-30}]
"#;

/// A circuit that has room below the cautions on the first page of paper stands there; one that has none comes behind the
/// vehicle.
#[test]
fn the_circuit_comes_first_where_the_first_page_has_room_for_it() {
    for (job, first) in [("j-2041", "circuit"), ("j-2046", "circuit"), ("j-2057", "vehicle")] {
        let page = sheet(job);
        let at = |drawing: &str| page.find(&format!("id=\"{drawing}-title\"")).expect("a drawing");
        assert_eq!(if at("circuit") < at("vehicle") { "circuit" } else { "vehicle" }, first, "{job}");
    }
}

struct Ran {
    status: i32,
    out: String,
    err: String,
}

fn run(folder: &Path, arguments: &[&str]) -> Ran {
    let (status, out, err) = common::ended(&mut common::program(folder, arguments));
    Ran { status, out, err }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn sheet(job: &str) -> String {
    let ran = run(root(), &["sheet", &path(job), "--as-of", "2026-11-27"]);
    assert!(ran.err.is_empty(), "{}", ran.err);
    ran.out
}

fn path(job: &str) -> String {
    let jobs = fs::read_dir(root().join("examples/jobs")).expect("the jobs");
    let mut names = jobs.filter_map(|entry| entry.ok()?.file_name().into_string().ok());
    let name = names.find(|name| name.starts_with(job)).unwrap_or_else(|| panic!("no job {job}"));
    format!("examples/jobs/{name}")
}

/// The page as XML, once its doctype is off and its void elements are closed: every other element is closed, every
/// attribute quoted and every sign escaped.
fn xml(page: &str) -> String {
    let body = page.strip_prefix("<!DOCTYPE html>").expect("a doctype").replace("<wbr>", "<wbr/>");
    let mut parts = body.split("<meta ");
    let first = parts.next().unwrap_or_default().to_owned();
    parts.fold(first, |closed, part| {
        let (attributes, rest) = part.split_once('>').expect("a tag has an end");
        closed + "<meta " + attributes + "/>" + rest
    })
}

fn words(node: Node<'_, '_>) -> String {
    let text: String = node.descendants().filter(Node::is_text).filter_map(|node| node.text()).collect();
    text.replace('\u{a0}', " ")
}

fn section<'a>(document: &'a Document<'a>, id: &str) -> Option<Node<'a, 'a>> {
    document.descendants().find(|node| node.attribute("id") == Some(id))
}

/// The tables of a section: by the name of each row, what stands below each heading.
fn tables(section: Node<'_, '_>) -> Vec<BTreeMap<String, BTreeMap<String, String>>> {
    let tables = section.descendants().filter(|node| node.has_tag_name("table"));
    let row = |row: Node<'_, '_>| {
        let cells = row.children().filter_map(|cell| Some((cell.attribute("data-label")?.to_owned(), words(cell))));
        (words(row.first_element_child().expect("a cell")), cells.collect())
    };
    let body = |table: Node<'_, '_>| {
        let rows = table.descendants().filter(|node| node.has_tag_name("tr"));
        rows.filter(|row| row.parent().is_some_and(|body| body.has_tag_name("tbody"))).map(row).collect()
    };
    tables.map(body).collect()
}

/// A page loads nothing, links nowhere but into itself and to pages beside it, and holds no code.
fn needs_nothing(page: &str) {
    let source = xml(page);
    let document = Document::parse(&source).unwrap_or_else(|error| panic!("{error}\n{page}"));
    let mut ids = BTreeSet::new();
    for node in document.descendants().filter(Node::is_element) {
        assert!(
            !["script", "link", "img", "iframe", "object", "embed", "base", "form"].contains(&node.tag_name().name())
        );
        for attribute in node.attributes() {
            let name = attribute.name();
            assert!(!name.starts_with("on") && !["src", "srcset", "style", "action"].contains(&name), "{name}");
            let value = attribute.value();
            assert!(name != "href" || value.starts_with('#') || value.starts_with("./"), "{value}");
        }
        if let Some(id) = node.attribute("id") {
            assert!(ids.insert(id.to_owned()), "two things are called {id}");
        }
    }
    for link in document.descendants().filter_map(|node| node.attribute("href")?.strip_prefix('#')) {
        assert!(ids.contains(link), "{link} leads nowhere");
    }
    let bad: Vec<char> = page.chars().filter(|c| *c != '\n' && testlamp::words::is_unsafe(*c)).collect();
    assert!(bad.is_empty(), "{bad:?}");
}

#[test]
fn every_example_has_a_sheet_that_needs_nothing_beside_itself() {
    let into = TempDir::new().expect("a folder");
    let to = into.path().join("sheets");
    let ran = run(root(), &["sheet", "examples/jobs", "--output", to.to_str().expect("a name")]);
    assert_eq!((ran.status, ran.err.as_str(), ran.out.as_str()), (1, "", ""), "the examples hold faulty jobs");
    let jobs = fs::read_dir(root().join("examples/jobs")).expect("the jobs").count();
    let pages: Vec<_> = fs::read_dir(&to).expect("the sheets").map(|entry| entry.expect("a sheet").path()).collect();
    assert_eq!(pages.len(), jobs + 1, "one a job, and the list");
    for path in &pages {
        let page = fs::read_to_string(path).expect("a page");
        needs_nothing(&page);
        for word in ["http", "src=", "<script", "@import", "url("] {
            assert!(!page.contains(word), "{}: {word}", path.display());
        }
    }
    let list = xml(&fs::read_to_string(to.join("index.html")).expect("the list"));
    let document = Document::parse(&list).expect("XML");
    let links: BTreeSet<&str> = document.descendants().filter_map(|node| node.attribute("href")).collect();
    assert_eq!(links.len(), jobs);
    assert!(links.iter().all(|link| to.join(link).is_file()), "{links:?}");
}

/// The parcel van has no airbags, and its sheet does not send anybody to look for them.
#[test]
fn airbags_are_warned_of_where_they_are_fitted_or_not_known() {
    let told = |job: &str| {
        let page = xml(&sheet(job));
        let document = Document::parse(&page).expect("XML");
        words(section(&document, "cautions").expect("the cautions")).contains("belt tensioners and their harness")
    };
    assert_eq!(["j-2073", "j-2054", "j-2042"].map(told), [false, true, true]);
}

/// The camper has a lithium battery, another vehicle a second one of lead.
#[test]
fn frost_is_warned_of_where_a_battery_is_a_lithium_one() {
    let told = |job: &str| {
        let page = xml(&sheet(job));
        let document = Document::parse(&page).expect("XML");
        words(section(&document, "cautions").expect("the cautions")).contains("never charged while it is below 0 C")
    };
    assert_eq!(["j-2055", "j-2044"].map(told), [true, false]);
}

#[test]
fn a_converter_is_called_one_with_what_it_gives() {
    let page = xml(&sheet("j-2078"));
    let document = Document::parse(&page).expect("XML");
    let parts = words(section(&document, "parts").expect("the parts"));
    assert!(parts.contains("step-down converter, 13.8 V, 30 A"), "{parts}");
    assert!(!words(document.root()).contains("isolator"), "nothing is parted there");
}

#[test]
fn the_fullest_job_has_every_part() {
    let page = xml(&sheet("j-2057"));
    let document = Document::parse(&page).expect("XML");
    for id in [
        "cautions", "parts", "supply", "loads", "signals", "settings", "steps", "measured", "findings", "assumed",
        "sign-off",
    ] {
        let section = section(&document, id).unwrap_or_else(|| panic!("{id}"));
        assert!(words(section).len() > 30, "{id}");
    }
    let all = words(document.root());
    // Its battery is no lithium one.
    for caution in testlamp::report::CAUTIONS.iter().filter(|caution| caution.about != testlamp::report::FROST) {
        assert!(all.contains(caution.words), "{}", caution.about);
    }
    assert!(all.contains(testlamp::report::STANCE));
    // Nothing of it has to be found out, so there is no list.
    assert!(section(&document, "find-out").is_none());
    let ticks = |id: &str| {
        let all = section(&document, id).expect("a part").descendants();
        all.filter(|node| node.attribute("class") == Some("tick")).count()
    };
    let plan = testlamp::plan::read(fs::read_to_string(root().join(path("j-2057"))).expect("the plan")).plan;
    assert_eq!(ticks("steps"), plan.steps.len());
    // Everything is measured: there is nothing left to tick.
    assert_eq!(ticks("measured"), 0);
}

#[test]
fn the_sheet_shows_the_figures_of_figures() {
    for job in ["j-2057", "j-2046", "j-2042", "j-2045", "j-2055"] {
        let figures = run(root(), &["figures", &path(job), "--format", "json"]).out;
        let figures: serde_json::Value = serde_json::from_str(&figures).expect("JSON");
        let page = xml(&sheet(job));
        let document = Document::parse(&page).expect("XML");
        let supply = tables(section(&document, "supply").expect("the supply"));
        let loads = tables(section(&document, "loads").expect("the loads"));
        let mut compared = 0;
        let mut hold = |table: &BTreeMap<String, BTreeMap<String, String>>, of: &str, columns: &[(&str, &str)]| {
            for thing in figures[of].as_array().expect("a list") {
                let name = thing["path"].as_str().expect("a path").split_once('.').expect("a name").1;
                for (column, figure) in columns {
                    let rows = thing["rows"].as_array().expect("rows");
                    let Some(row) = rows.iter().find(|row| row["name"] == *figure) else { continue };
                    if row["amount"].is_null() {
                        continue;
                    }
                    assert_eq!(table[name][*column], row["text"].as_str().expect("words"), "{job} {name} {figure}");
                    compared += 1;
                }
            }
        };
        hold(
            &supply[0],
            "wires",
            &[
                ("current, full", "current, engine idling, full output"),
                ("current, music", "current, engine idling, programme"),
                ("drop, full", "drop, engine idling, full output"),
                ("gets as hot as", "conductor temperature, programme"),
                ("carries", "carries where it runs"),
                ("fuse: smallest", "smallest fuse for the load"),
                ("largest", "largest fuse for the wire"),
            ],
        );
        hold(
            &supply[1],
            "amplifiers",
            &[
                ("audio, full", "audio power, full output"),
                ("takes, full", "supply power, full output"),
                ("takes, music", "supply power, programme"),
                ("terminals, full", "terminal voltage, engine idling, full output"),
                ("terminals, music", "terminal voltage, engine idling, programme"),
                ("drop in its runs, full", "drop in its runs, engine idling, full output"),
                ("drop on the way back, full", "drop on the way back, engine idling, full output"),
            ],
        );
        hold(
            &loads[0],
            "loads",
            &[
                ("impedance", "impedance"),
                ("rated power", "rated power"),
                ("DC resistance with lead", "DC resistance with its lead"),
                ("highest gain target", "highest gain target"),
            ],
        );
        assert!(compared > 10, "{job}: {compared}");
        for row in figures["supply"]["rows"].as_array().expect("rows") {
            assert_eq!(supply[2][row["name"].as_str().expect("a name")]["how much"], row["text"], "{job}");
        }
    }
}

/// Hand count from the plan: 35 + 45 + 55 cm of red 4 AWG are 1.35 m, with a tenth 1.485 m; nine ferrules and three rings of
/// 4 AWG; three fuses of 50 A in the block.
#[test]
fn what_is_bought_is_what_the_plan_lists() {
    let page = xml(&sheet("j-2057"));
    let document = Document::parse(&page).expect("XML");
    let parts = section(&document, "parts").expect("the parts");
    let all = tables(parts);
    let cable = all.iter().find_map(|table| table.get("4 AWG, copper, fine strands, insulation 105 C, red"));
    let cable = cable.expect("the cable");
    assert_eq!((cable["laid"].as_str(), cable["to buy"].as_str()), ("1.35 m", "1.5 m"));
    let text = words(parts);
    for words in ["3 ×50 A, 32 V, breaks 6 kA", "9 ×ferrule4 AWGstrip 8 mm", "3 ×ring4 AWGstud 8 mm"] {
        assert!(text.contains(words), "{words}: {text}");
    }
}

#[test]
fn a_reading_stands_beside_its_prediction_and_its_verdict() {
    let page = xml(&sheet("j-2052"));
    let document = Document::parse(&page).expect("XML");
    let measured = words(section(&document, "measured").expect("the measurements"));
    assert!(measured.contains("does not hold") && measured.contains("holds"), "{measured}");
    let report = run(root(), &["check", &path("j-2052"), "--format", "json", "--as-of", "2026-11-27"]).out;
    let report: serde_json::Value = serde_json::from_str(&report).expect("JSON");
    let proofs = report["plans"][0]["findings"].as_array().expect("findings").iter();
    let proofs = proofs.filter(|found| found["rule"]["code"].as_str().is_some_and(|code| code.starts_with("PROOF")));
    assert_eq!(measured.matches("does not hold").count(), proofs.count());
}

#[test]
fn what_is_not_stated_is_on_the_list_of_what_to_find_out() {
    for job in ["j-2042", "j-2053"] {
        let page = xml(&sheet(job));
        let document = Document::parse(&page).expect("XML");
        let list = section(&document, "find-out").map(words).expect("the list");
        let report = run(root(), &["check", &path(job), "--format", "json"]).out;
        let report: serde_json::Value = serde_json::from_str(&report).expect("JSON");
        for fact in report["plans"][0]["find_out"].as_array().expect("facts") {
            assert!(list.contains(fact["path"].as_str().expect("a path")), "{job}: {fact}");
        }
    }
    // No check asks how often a return of 40 cm is fixed; the sheet would show it.
    let page = xml(&sheet("j-2042"));
    let document = Document::parse(&page).expect("XML");
    let list = section(&document, "find-out").map(words).expect("the list");
    assert!(list.contains("return: colour, fixed every, insulation wires.return"), "{list}");
}

/// A plug fits one way: only what is spliced to a speaker's wires can be joined the other way round.
#[test]
fn polarity_is_asked_where_a_signal_is_taken_from_a_speaker() {
    let plan = |taken: &str| {
        let text = format!(
            "plan: 1\nsources: {{radio: {{kind: factory}}}}\namplifiers: {{amp: {{}}}}\n\
             signals: {{left: {{from: radio, taken_at: {{{taken}}}, to: amp.line-left}}}}\n"
        );
        let folder = folder(&[("job.yaml", &text)]);
        run(folder.path(), &["sheet", "job.yaml"]).out
    };
    let plug = plan("output: line-left");
    assert!(plug.contains("by its plug") && !plug.contains("polarity_checked"));
    assert!(plan("speaker: rear-left").contains("polarity_checked"));
}

#[test]
fn findings_have_their_words_their_working_and_what_to_do() {
    let page = xml(&sheet("j-2046"));
    let document = Document::parse(&page).expect("XML");
    let findings = section(&document, "findings").expect("the findings");
    let text = words(findings);
    for part in [
        "danger · FUSE-01 fuse-above-wire",
        "80 A fuse on a wire that carries 38.4 to 39.6 A",
        "line 69, wires.main.fuse.rating",
        "lay a thicker wire: the load asks a fuse of at least 50 A",
        "insulation = 75 C (wires.main.insulation, line 65)",
        "33 CFR 183.425 table 5",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    let marked: Vec<String> = findings.descendants().filter(|node| node.has_tag_name("mark")).map(words).collect();
    assert!(marked.contains(&"80 A".to_owned()), "{marked:?}");
}

#[test]
fn hostile_words_stay_words() {
    let files = [("a<b>&'c\".yaml", HOSTILE), ("other.yaml", HOSTILE)];
    let folder = folder(&files);
    let one = run(folder.path(), &["sheet", files[0].0]).out;
    needs_nothing(&one);
    let document = xml(&one);
    let document = Document::parse(&document).expect("XML");
    let text = words(document.root());
    for hostile in [
        "</title><script>alert(1)</script>",
        "<svg onload=alert(1)>",
        "</h1><iframe src=//evil.example>",
        "a<b>&'c\".yaml",
    ] {
        assert!(text.contains(hostile), "{hostile}");
    }
    // The style is not ended by a plan.
    let styles = document.descendants().filter(|node| node.has_tag_name("style")).count();
    assert_eq!(styles, 1);

    let ran = run(folder.path(), &["sheet", ".", "--output", "out"]);
    assert_eq!(ran.err, "");
    let list = fs::read_to_string(folder.path().join("out/index.html")).expect("the list");
    needs_nothing(&list);
    assert!(list.contains("./a%3Cb%3E%26%27c%22.html"), "{list}");
}

#[test]
fn the_same_plan_leaves_the_same_sheet() {
    assert!(sheet("j-2057") == sheet("j-2057"));
    let [one, other] = [(); 2].map(|()| TempDir::new().expect("a folder"));
    for to in [&one, &other] {
        run(root(), &["sheet", "examples/jobs", "--output", to.path().to_str().expect("a name")]);
    }
    for entry in fs::read_dir(one.path()).expect("sheets") {
        let name = entry.expect("a sheet").file_name();
        let read = |folder: &TempDir| fs::read(folder.path().join(&name)).expect("a sheet");
        assert!(read(&one) == read(&other), "{name:?}");
    }
}

#[test]
fn jobs_of_one_name_do_not_take_each_others_place() {
    let plan = |number: &str| format!("plan: 1\njob: {{number: {number}}}\n");
    let (one, other, list) = (plan("J-1"), plan("J-2"), plan("J-3"));
    let folder = folder(&[("a/j.yaml", &one), ("b/j.yaml", &other), ("index.yaml", &list)]);
    run(folder.path(), &["sheet", ".", "--output", "out"]);
    let read = |name: &str| fs::read_to_string(folder.path().join("out").join(name)).expect("a sheet");
    for (name, number) in [("j.html", "J-1"), ("j-2.html", "J-2"), ("index-2.html", "J-3")] {
        assert!(read(name).contains(&format!("<h1>{number}</h1>")), "{name}");
    }
    assert!(read("index.html").contains("./index-2.html"));
}

#[test]
fn a_plan_that_cannot_be_read_wholly_says_so_on_top() {
    let folder = folder(&[
        ("slip.yaml", "plan: 1\njob: {number: J-1}\nwires: {main: {size: 4 gauge, length: 4 m}}\n"),
        ("none.yaml", "just words\n"),
        ("broken.yaml", "plan: 1\nwires: {main: [\n"),
    ]);
    for (name, said) in [("slip.yaml", "line 3"), ("none.yaml", "this is not a plan"), ("broken.yaml", "line")] {
        let ran = run(folder.path(), &["sheet", name]);
        assert_eq!(ran.status, 1, "{name}");
        needs_nothing(&ran.out);
        let (head, _) = ran.out.split_once("<main>").expect("the head");
        assert!(
            head.contains("cannot be read; what it says there is missing") && head.contains(said),
            "{name}: {head}"
        );
    }
}

#[test]
fn the_exit_status_is_that_of_check() {
    for job in ["j-2041", "j-2042", "j-2046", "j-2065"] {
        let of = |command: &str| run(root(), &[command, &path(job), "--as-of", "2026-11-27"]).status;
        assert_eq!(of("sheet"), of("check"), "{job}");
    }
    let folder = folder(&[("house.yaml", "house: 1\nlimits: {nonsense: 3}\n"), ("a.yaml", "plan: 1\n")]);
    let status = |arguments: &[&str]| run(folder.path(), arguments).status;
    assert_eq!(status(&["sheet", "a.yaml"]), 2, "its house file cannot be taken");
    assert_eq!(status(&["sheet", "missing.yaml"]), 3);
    assert_eq!(status(&["sheet", "a.yaml", "a.yaml"]), 2, "several plans and no folder");
    fs::create_dir(folder.path().join("empty")).expect("a folder");
    assert_eq!(status(&["sheet", "empty", "--output", "out"]), 4);
    assert!(!folder.path().join("out").exists());
}

#[test]
fn what_is_there_stays_until_a_whole_sheet_takes_its_place() {
    let folder = folder(&[("a.yaml", "plan: 1\n"), ("old.html", "old")]);
    let read = |name: &str| fs::read_to_string(folder.path().join(name)).expect("a file");
    assert_eq!(run(folder.path(), &["sheet", "missing.yaml", "--output", "old.html"]).status, 3);
    assert_eq!(read("old.html"), "old");
    let ran = run(folder.path(), &["sheet", "a.yaml", "--output", "a.yaml"]);
    assert_eq!((ran.status, read("a.yaml").as_str()), (2, "plan: 1\n"), "{}", ran.err);
    assert_eq!(run(folder.path(), &["sheet", "a.yaml", "a.yaml", "--output", "old.html"]).status, 2);
    assert_eq!(read("old.html"), "old");
    assert_eq!(run(folder.path(), &["sheet", "a.yaml", "--output", "old.html"]).status, 0);
    assert!(read("old.html").ends_with("</html>"));
    assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 2, "nothing is left beside it");
}

/// A ground on a seat bolt is a danger: the step that makes it says so.
#[test]
fn a_step_says_what_stands_against_it() {
    let plan = "plan: 1\njob: {number: J-1}\ngrounds: {chassis: {on: seat-bolt}}\nsteps: [{battery: disconnect}, {ground: chassis}]\n";
    let folder = folder(&[("a.yaml", plan)]);
    let page = xml(&run(folder.path(), &["sheet", "a.yaml"]).out);
    let document = Document::parse(&page).expect("XML");
    let steps = section(&document, "steps").expect("the steps");
    let told: Vec<String> = steps.descendants().filter(|node| node.has_tag_name("li")).map(words).collect();
    assert!(told[1].contains("GROUND-") && told[1].contains("stands"), "{told:?}");
    assert!(!told[0].contains("stands"), "{told:?}");
}

/// Nothing is said to draw through these wires: no drop is foretold, and the ground says how it is measured.
#[test]
fn nothing_is_foretold_that_nobody_knows() {
    let plan = "plan: 1\nvehicle: {voltage: 12 V, body: steel, battery: {location: cargo}}\nsources: {later: {kind: factory}}\n\
                grounds: {chassis: {}}\nwires:\n  \
                feed: {from: battery.positive, to: later.power, size: 1.5 mm2, conductor: copper, length: 1 m, path: [cargo]}\n  \
                back: {from: later.ground, to: grounds.chassis, size: 1.5 mm2, conductor: copper, length: 1 m, path: [cargo]}\n";
    let folder = folder(&[("a.yaml", plan)]);
    let page = xml(&run(folder.path(), &["sheet", "a.yaml"]).out);
    let document = Document::parse(&page).expect("XML");
    let measured = words(section(&document, "measured").expect("the measurements"));
    assert!(measured.contains("nothing that testlamp knows of draws through it"), "{measured}");
    assert!(!measured.contains("at most 0 V"), "{measured}");
    assert!(measured.contains("a hand meter does not see milliohms"), "{measured}");
}
