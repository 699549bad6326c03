//! House files and shelves in an editor, and plans that are judged again when those change.

use std::fs;

use serde_json::{Value, json};
use tempfile::TempDir;

use super::client::{Client, Plan};
use super::{FAULTY, codes, job, labels};

const HOUSE: &str = "# 🔧 ours\nhouse: 1\nname: Example\nshelves: [shelf/gear.yaml]\n\nlimits:\n  \
    fixing-distance: {value: 40 cm, source: our clips}\n";
const SHELF: &str = "shelf: 1\namplifiers:\n  mono:\n    class: D\n    channels: 1\n  loud: # ö\n    shelf: mono\n";

struct Shop {
    folder: TempDir,
}

impl Shop {
    fn new() -> Self {
        let shop = Self { folder: tempfile::tempdir().expect("a folder") };
        for folder in ["shelf", "jobs"] {
            fs::create_dir(shop.folder.path().join(folder)).expect("a folder");
        }
        shop.write("house.yaml", HOUSE);
        shop.write("shelf/gear.yaml", SHELF);
        shop
    }

    fn write(&self, file: &str, text: &str) {
        fs::write(self.folder.path().join(file), text).expect("written");
    }

    fn uri(&self, file: &str) -> String {
        format!("file://{}", self.folder.path().canonicalize().expect("a folder").join(file).display())
    }

    fn open(&self, client: &mut Client, file: &str, text: &str) -> Plan {
        Plan::open_at(client, &self.uri(file), text)
    }
}

/// What is told of a text as it is now, once it is so.
fn until(client: &mut Client, plan: &Plan, is_so: impl Fn(&[Value]) -> bool) -> Vec<Value> {
    loop {
        let told = client.publish(&plan.uri, Some(plan.version));
        if is_so(&told) {
            return told;
        }
    }
}

fn has(told: &[Value], code: &str) -> bool {
    codes(told).contains(&code)
}

fn hover(client: &mut Client, plan: &Plan, words: &str) -> String {
    let at = plan.text.find(words).unwrap_or_else(|| panic!("{words}")) + 1;
    let answer = client.ask("textDocument/hover", &plan.place(at));
    answer["contents"]["value"].as_str().unwrap_or_default().to_owned()
}

#[test]
fn a_house_file_is_told_what_is_wrong_with_it_and_explained() {
    let (shop, mut client) = (Shop::new(), Client::ready(&json!({})));
    let mut house = shop.open(&mut client, "house.yaml", HOUSE);
    assert_eq!(house.told(&mut client), Vec::<Value>::new());
    let at = HOUSE.find("40 cm").expect("the value");
    house.replace(&mut client, at..at + 5, "40 km");
    let told = house.told(&mut client);
    assert_eq!((told.len(), &told[0]["range"], &told[0]["severity"]), (1, &house.span(at..at + 5), &json!(1)));
    house.replace(&mut client, at..at + 5, "40 cm");
    house.add(&mut client, "rules: {FUSE-01: {off: true, reason: x}}\nstock: {wires: [4 AWG]}\n");
    let told = house.told(&mut client);
    let off = house.text.find("true").expect("the word");
    assert_eq!(told[0]["range"], house.span(off..off + 4), "{told:?}");
    assert!(told[0]["message"].as_str().expect("words").contains("cannot be off"));

    let fixing = hover(&mut client, &house, "fixing-distance");
    assert!(fixing.contains("testlamp ships 45.7 cm: "), "{fixing}");
    assert!(hover(&mut client, &house, "40 cm").contains("= 15.7 in"), "{}", hover(&mut client, &house, "40 cm"));
    assert!(hover(&mut client, &house, "FUSE-01").contains("fuse-above-wire"));
    assert!(hover(&mut client, &house, "4 AWG").contains("mm2"));
    let symbols = client.ask("textDocument/documentSymbol", &house.identifier());
    assert!(labels(&symbols, "name").contains(&"fixing-distance".to_owned()), "{symbols}");
    let folds = client.ask("textDocument/foldingRange", &house.identifier());
    assert_eq!(folds, json!([{"startLine": 5, "endLine": 6}]));
    let shelf = house.text.find("shelf/gear").expect("the shelf");
    let definition = client.ask("textDocument/definition", &house.place(shelf + 1));
    assert_eq!(definition["uri"], shop.uri("shelf/gear.yaml"));
    for method in ["rename", "prepareRename"] {
        let mut ask = house.place(shelf);
        ask["newName"] = json!("x");
        assert_eq!(client.refused(&format!("textDocument/{method}"), &ask), -32803);
    }
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_house_file_by_any_name_is_known_by_its_first_key() {
    let (shop, mut client) = (Shop::new(), Client::ready(&json!({})));
    let mut other = shop.open(&mut client, "winter.yaml", "house: 1\nlimits: {nonsense: {}}\n");
    let told = other.told(&mut client);
    assert!(told.len() == 1 && told[0]["message"].as_str().expect("words").contains("`nonsense`"), "{told:?}");
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_shelf_is_read_as_a_plan_would_read_it() {
    let (shop, mut client) = (Shop::new(), Client::ready(&json!({})));
    let mut shelf = shop.open(&mut client, "shelf/gear.yaml", SHELF);
    assert_eq!(shelf.told(&mut client), Vec::<Value>::new());
    let at = SHELF.find("class: D").expect("the class") + 7;
    shelf.replace(&mut client, at..at + 1, "Q");
    let told = shelf.told(&mut client);
    assert_eq!((told.len(), &told[0]["severity"], &told[0]["range"]), (1, &json!(2), &shelf.span(at..at + 1)));
    shelf.replace(&mut client, at..at + 1, "D");
    let at = shelf.text.find("shelf: mono").expect("the reference") + 7;
    assert!(hover(&mut client, &shelf, "mono\n").contains("channels: 1"));
    let definition = client.ask("textDocument/definition", &shelf.place(at + 1));
    let declared = shelf.text.find("mono:").expect("the thing");
    assert_eq!(definition, json!({"uri": shelf.uri, "range": shelf.span(declared..declared + 4)}));
    shelf.replace(&mut client, at..at + 4, "stereo");
    let told = shelf.told(&mut client);
    assert!(told[0]["message"].as_str().expect("words").contains("are called `stereo`"), "{told:?}");
    let symbols = client.ask("textDocument/documentSymbol", &shelf.identifier());
    assert!(labels(&symbols, "name").contains(&"loud".to_owned()), "{symbols}");
    assert_eq!(client.leave(), 0);
}

#[test]
fn what_is_typed_into_a_house_counts_for_open_plans_before_it_is_saved() {
    let (shop, mut client) = (Shop::new(), Client::ready(&json!({})));
    let plan = shop.open(&mut client, "jobs/a.yaml", &job(FAULTY));
    let before = until(&mut client, &plan, |told| has(told, "WIRE-02"));
    let mut house = shop.open(&mut client, "house.yaml", HOUSE);
    house.add(&mut client, "rules: {WIRE-02: {off: true, reason: asked}}\n");
    until(&mut client, &plan, |told| has(told, "FUSE-01") && !has(told, "WIRE-02"));
    // While a house file is half typed, what can be read of it counts, and the plan says so.
    house.add(&mut client, "stock: {wires: [4 AWG, \n");
    let told = until(&mut client, &plan, |told| has(told, "house"));
    assert!(has(&told, "FUSE-01"), "{told:?}");
    let words = told.iter().find(|told| told["code"] == "house").expect("it is told")["message"].clone();
    assert!(words.as_str().expect("words").starts_with("house.yaml, line "), "{words}");
    // What is closed without being saved no longer counts.
    client.tell("textDocument/didClose", &house.identifier());
    let after = until(&mut client, &plan, |told| has(told, "WIRE-02"));
    assert_eq!(codes(&after), codes(&before));
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_change_on_disk_counts_with_and_without_being_told() {
    let (shop, mut client) = (Shop::new(), Client::ready(&json!({})));
    let mut plan = shop.open(&mut client, "jobs/a.yaml", &job(FAULTY));
    until(&mut client, &plan, |told| has(told, "WIRE-02"));
    shop.write("house.yaml", &format!("{HOUSE}rules: {{WIRE-02: {{off: true, reason: asked}}}}\n"));
    plan.add(&mut client, "# more\n");
    assert!(!has(&plan.told(&mut client), "WIRE-02"), "it is looked at again when the plan is judged");
    shop.write("house.yaml", HOUSE);
    client.tell("workspace/didChangeWatchedFiles", &json!({"changes": [{"uri": shop.uri("house.yaml"), "type": 2}]}));
    until(&mut client, &plan, |told| has(told, "WIRE-02"));
    // Another plan that is saved concerns nobody.
    client.tell("workspace/didChangeWatchedFiles", &json!({"changes": [{"uri": shop.uri("jobs/b.yaml"), "type": 2}]}));
    client.ask("textDocument/hover", &plan.place(0));
    client.published.clear();
    client.ask("textDocument/hover", &plan.place(0));
    assert!(client.published.is_empty(), "{:?}", client.published);
    fs::remove_file(shop.folder.path().join("house.yaml")).expect("removed");
    shop.write("jobs/house.yaml", "house: 1\nrules: {WIRE-02: {off: true, reason: asked}}\n");
    let come = json!({"changes": [{"uri": shop.uri("jobs/house.yaml"), "type": 1}]});
    client.tell("workspace/didChangeWatchedFiles", &come);
    until(&mut client, &plan, |told| !has(told, "WIRE-02"));
    assert_eq!(client.leave(), 0);
}

#[test]
fn a_plan_leads_to_its_shelf_and_is_judged_again_with_it() {
    let (shop, mut client) = (Shop::new(), Client::ready(&json!({})));
    let text = "plan: 1\namplifiers:\n  bass:\n    shelf: loud\n  front: {shelf: mono}\n";
    let mut plan = shop.open(&mut client, "jobs/a.yaml", text);
    assert!(!has(&plan.told(&mut client), "unreadable"));
    let at = text.find("loud").expect("the reference");
    let definition = client.ask("textDocument/definition", &plan.place(at + 1));
    assert_eq!(definition["uri"], shop.uri("shelf/gear.yaml"));
    assert_eq!(definition["range"]["start"], json!({"line": 5, "character": 2}));
    let brings = hover(&mut client, &plan, "loud");
    assert!(brings.contains("shelf/gear.yaml, line 6") && brings.contains("channels: 1"), "{brings}");
    plan.replace(&mut client, at..at + 4, "");
    let offered = client.ask("textDocument/completion", &plan.place(at));
    assert_eq!(labels(&offered["items"], "label"), ["mono", "loud"]);
    assert_eq!(offered["items"][0]["detail"], "class D, channels 1");
    plan.replace(&mut client, at..at, "loud");
    let mut shelf = shop.open(&mut client, "shelf/gear.yaml", SHELF);
    let references = client.ask("textDocument/references", &shelf.place(SHELF.find("mono:").expect("it") + 1));
    assert_eq!(references.as_array().expect("places").len(), 2, "{references}");
    let channels = SHELF.find("channels: 1").expect("it") + 10;
    shelf.replace(&mut client, channels..channels + 1, "one");
    let told = until(&mut client, &plan, |told| has(told, "unreadable"));
    let wrong = told.iter().find(|told| told["code"] == "unreadable").expect("it is told");
    assert!(wrong["message"].as_str().expect("words").contains("(shelf/gear.yaml, line 5)"), "{wrong}");
    shelf.replace(&mut client, channels..channels + 3, "1");
    until(&mut client, &plan, |told| !has(told, "unreadable"));
    assert_eq!(client.refused("textDocument/prepareRename", &plan.place(at)), -32803);
    assert_eq!(client.leave(), 0);
}
