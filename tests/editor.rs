//! The language server as an editor meets it: the program over standard input and output.

#[path = "editor/client.rs"]
mod client;
#[path = "../examples/generate.rs"]
#[allow(dead_code, reason = "only the plans are of use here")]
mod generate;
#[path = "editor/houses.rs"]
mod houses;

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use client::{Client, Plan, at, span};
use serde_json::{Value, json};

const CLEAN: &str = "j-2041-one-subwoofer.yaml";
const FAULTY: &str = "j-2046-fuse-above-wire.yaml";
const DRAFT: &str = "j-2042-half-filled-draft.yaml";

fn job(name: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs").join(name)).expect("the job")
}

fn codes(diagnostics: &[Value]) -> Vec<&str> {
    let mut codes: Vec<&str> = diagnostics.iter().filter_map(|told| told["code"].as_str()).collect();
    codes.sort_unstable();
    codes
}

fn labels(list: &Value, key: &str) -> Vec<String> {
    list.as_array().expect("a list").iter().filter_map(|item| item[key].as_str()).map(str::to_owned).collect()
}

#[test]
fn a_session_begins_and_ends_as_it_should() {
    let mut early = Client::start();
    assert_eq!(early.refused("textDocument/hover", &json!({})), -32002, "before `initialize`");
    assert_eq!(early.exit(), 1, "without `shutdown`");

    let mut client = Client::ready(&json!({}));
    assert_eq!(client.refused("initialize", &json!({"capabilities": {}})), -32600);
    assert_eq!(client.refused("workspace/nonsense", &json!({})), -32601);
    assert_eq!(client.refused("textDocument/hover", &json!({"textDocument": 7})), -32602);
    client.tell("workspace/nonsense", &json!({}));
    client.tell(
        "textDocument/didChange",
        &json!({"textDocument": {"uri": "file:///none", "version": 1}, "contentChanges": []}),
    );
    client.tell("textDocument/didOpen", &json!([]));
    assert_eq!(client.ask("shutdown", &Value::Null), Value::Null);
    assert_eq!(client.refused("textDocument/hover", &json!({})), -32600, "after `shutdown`");
    assert_eq!(client.logged.len(), 1, "the message that makes no sense: {:?}", client.logged);
    assert_eq!(client.exit(), 0);

    assert_eq!(Client::ready(&json!({})).hang_up(), 1, "an editor that is gone");
}

#[test]
fn a_clean_plan_is_typed_letter_by_letter_and_never_goes_blank() {
    // In a debug build every eighth letter waits for its answer; the letters between are typed all the same.
    type_the_clean_plan(if cfg!(debug_assertions) { 8 } else { 1 });
}

/// Types the clean plan and looks at every so many letters, and at every line end, that what was there has not vanished. How
/// long the findings took.
fn type_the_clean_plan(stride: usize) -> Vec<Duration> {
    let text = job(CLEAN);
    let mut client = Client::ready(&json!({}));
    let mut plan = Plan::open(&mut client, "");
    let mut latencies = Vec::new();
    let (mut sections, mut hints, mut findings) = (0, 0, 0);
    for (number, letter) in text.chars().enumerate() {
        plan.add(&mut client, &letter.to_string());
        if number % stride > 0 && letter != '\n' {
            continue;
        }
        let started = Instant::now();
        let told = plan.told(&mut client);
        latencies.push(started.elapsed());
        let line = plan.text.lines().last().unwrap_or_default();
        let whole = plan.text.lines().filter(|line| line.ends_with(':') && !line.starts_with([' ', '#'])).count();
        let shown = client.ask("textDocument/documentSymbol", &plan.identifier()).as_array().expect("a list").len();
        assert!(shown >= whole.saturating_sub(1) && shown + 1 >= sections, "blank behind {line:?}");
        let ask = json!({"textDocument": {"uri": plan.uri}, "range": span((0, 0), (9999, 0))});
        let beside = client.ask("textDocument/inlayHint", &ask).as_array().expect("a list").len();
        // What is typed may take away what is said of it: the hints of a wire, the order of steps. It does not take all.
        assert!(beside > 0 || hints < 2, "{hints} hints are gone behind {line:?}");
        let unreadable = told.iter().filter(|told| told["code"] == "unreadable").count();
        let found = told.iter().filter(|told| told["severity"] != 4).count() - unreadable;
        // Of a bracket that is still open nobody knows what comes: what is missing is told again once it is closed.
        let is_open = line.matches(['[', '{']).count() > line.matches([']', '}']).count();
        let goes_on = unreadable == 0 || found > 0 || findings < 3;
        assert!(goes_on || is_open, "{findings} findings are gone behind {line:?}");
        (sections, hints) = (shown, beside);
        findings = if unreadable == 0 { found } else { findings };
    }
    assert_eq!(plan.text, text);
    let told = plan.told_again(&mut client);
    let worse: Vec<&Value> = told.iter().filter(|told| told["severity"] != 4).collect();
    assert!(worse.is_empty(), "the plan is clean: {worse:?}");
    assert_eq!(client.leave(), 0);
    latencies
}

#[test]
fn a_line_that_is_typed_anew_leaves_the_rest_judged() {
    let text = job(FAULTY);
    let mut client = Client::ready(&json!({}));
    let mut plan = Plan::open(&mut client, &text);
    let before = plan.told(&mut client);
    let line = text.lines().find(|line| line.trim_start().starts_with("fixed_every")).expect("the line");
    let start = text.find(line).expect("the line");
    plan.replace(&mut client, start..start + line.len(), "");
    plan.told(&mut client);
    let sections = client.ask("textDocument/documentSymbol", &plan.identifier()).as_array().expect("a list").len();
    let new = "    fixed_every: {[\"30 cm";
    for (done, letter) in new.char_indices() {
        plan.replace(&mut client, start + done..start + done, &letter.to_string());
        let told = plan.told(&mut client);
        let shown = client.ask("textDocument/documentSymbol", &plan.identifier()).as_array().expect("a list").len();
        assert!(shown >= sections, "{:?}: {shown} of {sections}", &new[..=done]);
        assert!(codes(&told).contains(&"FUSE-01"), "{:?}: {told:?}", &new[..=done]);
    }
    plan.replace(&mut client, start..start + new.len(), line);
    assert_eq!(codes(&plan.told(&mut client)), codes(&before));
    assert_eq!(client.leave(), 0);
}

/// A ground on paint stays told while the steps are typed behind it, and nothing is told of what may still come.
#[test]
fn a_danger_elsewhere_stays_told_while_a_bracket_is_open() {
    let text = job("j-2048-painted-ground.yaml");
    let before = &text[..text.find("steps:").expect("steps")];
    let mut client = Client::ready(&json!({}));
    let whole = Plan::open(&mut client, &text).told(&mut client);
    let dangers = whole.iter().filter(|told| told["severity"] == 1).filter_map(|told| told["code"].as_str());
    let grounds: Vec<&str> = dangers.filter(|code| code.starts_with("GROUND")).collect();
    assert!(!grounds.is_empty(), "{whole:?}");
    let mut plan = Plan::open_at(&mut client, "file:///typed.yaml", before);
    plan.told(&mut client);
    plan.add(&mut client, "steps: [");
    for letter in "{battery: disconnect}, {run: ma".chars() {
        plan.add(&mut client, &letter.to_string());
        let told = plan.told(&mut client);
        assert!(codes(&told).contains(&"unreadable"), "{:?}", plan.text.lines().last());
        for ground in &grounds {
            assert!(codes(&told).contains(ground), "{ground} behind {:?}: {told:?}", plan.text.lines().last());
        }
        let more = told.iter().filter(|told| told["severity"] != 4 && told["code"] != "unreadable");
        let more: Vec<&Value> =
            more.filter(|told| !codes(&whole).contains(&told["code"].as_str().unwrap_or_default())).collect();
        assert!(more.is_empty(), "{more:?}");
    }
    assert_eq!(client.leave(), 0);
}

const EMOJI: &str =
    "plan: 1\namplifiers: {amp: {}}\ngrounds:\n  floor: {note: '🚗🔧 ö', surface: painted, on: body-sheet}\n";

#[test]
fn columns_are_right_behind_emoji_and_with_every_line_end() {
    for (encodings, line_end) in
        [(json!(["utf-16"]), "\n"), (json!(["utf-8", "utf-16"]), "\r\n"), (json!(["utf-32"]), "\r\n")]
    {
        let mut client = Client::start();
        let answer = client.ask("initialize", &json!({"capabilities": {"general": {"positionEncodings": encodings}}}));
        client.tell("initialized", &json!({}));
        let utf8 = encodings[0] == "utf-8";
        assert_eq!(answer["capabilities"]["positionEncoding"], if utf8 { "utf-8" } else { "utf-16" });
        let text = EMOJI.replace('\n', line_end);
        let mut plan = Plan::open(&mut client, &text);
        plan.utf8 = utf8;
        let told = plan.told(&mut client);
        let painted = told.iter().find(|told| told["code"] == "GROUND-01").unwrap_or_else(|| panic!("{told:?}"));
        let at = text.find("painted").expect("the word");
        assert_eq!(painted["range"], plan.span(at..at + "painted".len()));
        plan.replace(&mut client, at..at + "painted".len(), "bare-metal");
        assert!(!codes(&plan.told(&mut client)).contains(&"GROUND-01"), "the edit went where it was meant to");
        assert_eq!(client.leave(), 0);
    }
}

#[test]
fn findings_carry_what_an_editor_needs() {
    let mut client = Client::ready(&json!({"textDocument": {"publishDiagnostics": {"relatedInformation": true}}}));
    let mut plan = Plan::open(&mut client, &job(FAULTY));
    let told = plan.told(&mut client);
    let fuse = told.iter().find(|told| told["code"] == "FUSE-01").expect("the finding");
    assert_eq!((&fuse["severity"], &fuse["source"]), (&json!(1), &json!("testlamp")));
    assert_eq!(fuse["data"], json!({"rule": "FUSE-01", "subject": "wires.main.fuse"}));
    assert!(fuse["relatedInformation"][0]["message"].as_str().expect("words").contains("8 AWG carries"));
    let message = fuse["message"].as_str().expect("words");
    assert!(message.contains("\nwhy: ") && message.contains("\nmend: "), "{message}");

    // First what was found, and in a pause where open checks turn.
    let mut draft = Plan::open_at(&mut client, "file:///draft.yaml", &job(DRAFT));
    assert!(codes(&draft.told(&mut client)).contains(&"open"));
    let told = draft.told(&mut client);
    let open: Vec<&Value> = told.iter().filter(|told| told["code"] == "open").collect();
    assert!(open.iter().all(|told| told["severity"] == 4), "{open:?}");
    let insulation = open.iter().find(|told| told["data"]["open"] == "wires.main.insulation").expect("it turns");
    assert!(insulation["message"].as_str().expect("words").contains("passes from"), "{insulation}");
    draft.add(&mut client, "# more\n");
    let still = draft.told(&mut client);
    assert!(still.contains(insulation), "the hints stay while somebody types");

    // A slip that breaks much is told once, with what follows from it.
    let slip = job(CLEAN).replacen("to: bass-amp.power", "to: bas-amp.power", 1);
    let mut plan = Plan::open_at(&mut client, "file:///slip.yaml", &slip);
    let told = plan.told(&mut client);
    let faults: Vec<&Value> = told.iter().filter(|told| told["severity"] != 4).collect();
    assert_eq!(faults.len(), 1, "{faults:?}");
    let related = faults[0]["relatedInformation"].as_array().expect("what follows");
    assert!(related.iter().any(|told| told["message"].as_str().is_some_and(|words| words.contains("follows from it"))));

    // A waiver keeps a finding visible, but quiet.
    let waiver = "\nwaivers:\n  - {rule: FUSE-10, at: amplifiers.bass-amp, reason: asked the maker, by: M. Example, until: 2999-01-01}\n";
    let mut plan = Plan::open_at(&mut client, "file:///waived.yaml", &(job(FAULTY) + waiver));
    let told = plan.told(&mut client);
    let waived = told.iter().find(|told| told["code"] == "FUSE-10").expect("it is told");
    assert_eq!((&waived["severity"], &waived["tags"]), (&json!(4), &Value::Null));
    assert_eq!(client.leave(), 0);
}

#[test]
fn hovering_shows_the_working_the_page_the_schema_and_the_units() {
    let text = job(FAULTY);
    let mut client = Client::ready(&json!({"textDocument": {"hover": {"contentFormat": ["markdown"]}}}));
    let plan = Plan::open(&mut client, &text);
    let mut hover = |words: &str| {
        let answer = client.ask("textDocument/hover", &plan.place(text.find(words).expect("the words") + 1));
        answer["contents"]["value"].as_str().unwrap_or_default().to_owned()
    };
    let fuse = hover("80 A");
    for words in [
        "**FUSE-01 fuse-above-wire**",
        "38.4 to 39.6 A",
        "The fuse is there for the wire",
        "turns    passes with",
        "0.08 kA",
        "smallest fuse",
    ] {
        assert!(fuse.contains(words), "{words}: {fuse}");
    }
    assert!(hover("conductor: copper-clad").contains("The metal of its conductor"));
    assert!(hover("length: 4.9 m").contains("16.1 ft") || hover("4.9 m").contains("16.1 ft"));
    assert!(hover("surface: bare").contains("`painted`"));
    assert_eq!(hover("# "), "");
}

#[test]
fn hints_can_be_switched() {
    let text = job(CLEAN);
    let mut client = Client::ready(&json!({"workspace": {"inlayHint": {"refreshSupport": true}}}));
    let plan = Plan::open(&mut client, &text);
    let ask = json!({"textDocument": {"uri": plan.uri}, "range": span((0, 0), (9999, 0))});
    let hints = client.ask("textDocument/inlayHint", &ask);
    let shown = labels(&hints, "label");
    for words in ["carries", "drops", "from ", "500 W", "at most 31.6 V"] {
        assert!(shown.iter().any(|hint| hint.contains(words)), "{words}: {shown:?}");
    }
    let size = text.find("size: 4 AWG").expect("the size") + "size: 4 AWG".len();
    assert!(hints.as_array().expect("hints").iter().any(|hint| hint["position"] == plan.position(size)));
    client.tell("workspace/didChangeConfiguration", &json!({"settings": {"testlamp": {"hints": false}}}));
    assert_eq!(client.ask("textDocument/inlayHint", &ask), json!([]));
    assert!(client.was_asked("workspace/inlayHint/refresh"));
}

#[test]
fn fixes_are_offered_made_and_judged_again() {
    // Above what 4 AWG carries in the engine bay, 136 A, and above what the amplifier's maker allows.
    let faulty = job(CLEAN).replace("rating: 60 A", "rating: 200 A");
    for versioned in [true, false] {
        let mut client = Client::ready(&json!({"workspace": {"workspaceEdit": {"documentChanges": versioned}}}));
        let mut plan = Plan::open(&mut client, &faulty);
        let told = plan.told(&mut client);
        let at = plan.text.find("200 A").expect("the rating");
        let actions = client.ask("textDocument/codeAction", &plan.actions(at, &told));
        let titles = labels(&actions, "title");
        let smaller = titles.iter().position(|title| title.contains("fit a 125 A fuse")).expect("a smaller fuse");
        assert!(titles[smaller].contains("beyond the limit, then") && titles[smaller].contains("to spare"));
        assert_eq!((&actions[smaller]["kind"], &actions[smaller]["isPreferred"]), (&json!("quickfix"), &Value::Null));
        assert_eq!(actions[smaller]["diagnostics"][0]["code"], "FUSE-01");
        assert_eq!(actions[smaller]["edit"]["documentChanges"].is_array(), versioned);
        plan.make(&mut client, &actions[smaller]["edit"]);
        assert!(!codes(&plan.told(&mut client)).contains(&"FUSE-01"));

        let waive = titles.iter().position(|title| title.starts_with("waive FUSE-10")).expect("a waiver");
        assert_eq!(actions[waive]["kind"], "refactor");
        let mut again = Plan::open_at(&mut client, "file:///waived.yaml", &faulty);
        let told = again.told(&mut client);
        let actions = client.ask("textDocument/codeAction", &again.actions(at, &told));
        again.make(&mut client, &actions[waive]["edit"]);
        let told = again.told(&mut client);
        assert!(codes(&told).contains(&"FUSE-10") && codes(&told).contains(&"PLAN-06"), "nobody has signed: {told:?}");
        assert_eq!(client.leave(), 0);
    }
}

#[test]
fn sizes_are_chosen_for_the_supply() {
    let mut client = Client::ready(&json!({}));
    let draft = job(CLEAN).replace("    size: 4 AWG\n", "");
    let mut plan = Plan::open(&mut client, &draft);
    let told = plan.told(&mut client);
    let offered = |client: &mut Client, plan: &Plan, at: &str| -> Vec<Value> {
        let at = plan.text.find(at).expect("the words");
        let actions = client.ask("textDocument/codeAction", &plan.actions(at, &told));
        let all = actions.as_array().expect("a list").iter();
        all.filter(|action| action["title"].as_str().is_some_and(|title| title.starts_with("Choose sizes")))
            .cloned()
            .collect()
    };
    assert!(offered(&mut client, &plan, "drivers:").is_empty());
    let actions = offered(&mut client, &plan, "length: 4.9 m");
    assert_eq!(actions[0]["title"], "Choose sizes for the supply: main 4 AWG and return 4 AWG");
    plan.make(&mut client, &actions[0]["edit"]);
    assert_eq!(plan.text.matches("\n    size: 4 AWG").count(), 2, "{}", plan.text);
    assert!(offered(&mut client, &plan, "length: 4.9 m").is_empty(), "nothing is left to choose");
    assert_eq!(client.leave(), 0);
}

#[test]
fn slips_are_respelt_and_facts_are_asked_for() {
    let mut client = Client::ready(&json!({}));
    let mut plan = Plan::open(&mut client, &job(CLEAN).replacen("length: 4.9 m", "length: 4.9m", 1));
    let told = plan.told(&mut client);
    let unreadable = told.iter().find(|told| told["code"] == "unreadable").expect("a slip");
    assert_eq!(unreadable["severity"], 1);
    let actions = client.ask("textDocument/codeAction", &plan.actions(plan.text.find("4.9m").expect("it"), &told));
    assert_eq!((&actions[0]["title"], &actions[0]["isPreferred"]), (&json!("write `4.9 m`"), &json!(true)));
    plan.make(&mut client, &actions[0]["edit"]);
    assert_eq!(plan.text, job(CLEAN));

    let mut draft = Plan::open_at(&mut client, "file:///draft.yaml", &job(DRAFT));
    let told = draft.told(&mut client);
    let at = draft.text.find("bass-amp:").expect("the amplifier");
    let actions = client.ask("textDocument/codeAction", &draft.actions(at, &told));
    let titles = labels(&actions, "title");
    // A fact is told in words, with the place where it is written.
    let told_as = |title: &str| {
        let words = title.strip_prefix("state ").map(|fact| format!("find out {fact}"))?;
        let open = told.iter().find(|told| told["message"].as_str().is_some_and(|told| told.starts_with(&words)))?;
        Some((words, open))
    };
    let state = titles.iter().position(|title| title.starts_with("state bass-amp") && told_as(title).is_some());
    let state = state.unwrap_or_else(|| panic!("{titles:?}: {told:?}"));
    let (words, open) = told_as(&titles[state]).expect("it is told");
    let path = open["data"]["open"].as_str().expect("a path");
    let lines: Vec<&str> = open["message"].as_str().expect("words").lines().collect();
    assert!(lines[0] == words && lines[1] == path && lines[2].starts_with("settles "), "{lines:?}");
    let key = path.rsplit('.').next().expect("a key").to_owned();
    draft.make(&mut client, &actions[state]["edit"]);
    // On a line of its own, or in braces where it stands under a key that is new as well.
    let blank = [format!(" {key}: # "), format!("{{{key}: ~}} # ")];
    assert!(blank.iter().any(|blank| draft.text.contains(blank)), "{}", draft.text);
    let told = draft.told(&mut client);
    assert!(told.iter().all(|told| told["code"] != "unreadable"), "{told:?}");
}

#[test]
fn words_are_completed_while_they_are_typed() {
    let text = job(CLEAN);
    let mut client = Client::ready(&json!({}));
    let mut plan = Plan::open(&mut client, &text);
    for (words, typed, offered) in [
        ("covering: loom", "jo", "joint_resistance"),
        ("bass-amp.power", "bass", "bass-amp.power"),
        ("4 AWG", "4 ", "4 mm2"),
        ("firewall, right", "fire", "firewall"),
        ("breaking_capacity: 6 kA", "br", "breaking_capacity"),
    ] {
        let at = text.find(words).expect("the words");
        plan.replace(&mut client, at..at + words.len(), typed);
        let answer = client.ask("textDocument/completion", &plan.place(at + typed.len()));
        let item = answer["items"].as_array().expect("items").iter().find(|item| item["label"] == offered);
        let item = item.unwrap_or_else(|| panic!("{typed}: {answer}"));
        assert_eq!(item["textEdit"]["range"]["start"], plan.position(at), "{typed}");
        plan.replace(&mut client, at..at + typed.len(), words);
    }
    assert_eq!(plan.text, text);
}

#[test]
fn names_lead_to_their_things_and_are_changed_everywhere() {
    let text = job(CLEAN);
    let mut client = Client::ready(&json!({}));
    let mut plan = Plan::open(&mut client, &text);
    let before = codes(&plan.told(&mut client)).len();
    let used = text.find("to: bass-amp.power").expect("the wire") + 6;
    let declared = text.find("bass-amp:").expect("the amplifier");
    let definition = client.ask("textDocument/definition", &plan.place(used));
    assert_eq!(definition["range"], plan.span(declared..declared + "bass-amp".len()));
    let mut ask = plan.place(used);
    ask["context"] = json!({"includeDeclaration": true});
    let references = client.ask("textDocument/references", &ask).as_array().expect("places").len();
    assert_eq!(references, text.matches("bass-amp").count());
    let range = client.ask("textDocument/prepareRename", &plan.place(used));
    assert_eq!(range, plan.span(used - 2..used - 2 + "bass-amp".len()));
    let mut ask = plan.place(used);
    ask["newName"] = json!("low");
    let edit = client.ask("textDocument/rename", &ask);
    plan.make(&mut client, &edit);
    assert_eq!(plan.text, text.replace("bass-amp", "low"));
    assert_eq!(codes(&plan.told(&mut client)).len(), before);
    ask["newName"] = json!("two words");
    assert_eq!(client.refused("textDocument/rename", &ask), -32803);
}

#[test]
fn the_outline_has_levels_where_the_editor_knows_them_and_things_fold() {
    let text = job(CLEAN);
    let mut client =
        Client::ready(&json!({"textDocument": {"documentSymbol": {"hierarchicalDocumentSymbolSupport": true}}}));
    let plan = Plan::open(&mut client, &text);
    let symbols = client.ask("textDocument/documentSymbol", &plan.identifier());
    let wires = symbols.as_array().expect("sections").iter().find(|symbol| symbol["name"] == "wires").expect("wires");
    assert_eq!(labels(&wires["children"], "name"), ["main", "return"]);
    let line = |words: &str| text[..text.find(words).expect("the words")].matches('\n').count();
    let folds = client.ask("textDocument/foldingRange", &plan.identifier());
    let fold = json!({"startLine": line("  return:\n"), "endLine": line("\ngrounds:") - 1});
    assert!(folds.as_array().expect("folds").contains(&fold), "{fold} in {folds}");

    let mut older = Client::ready(&json!({}));
    let plan = Plan::open(&mut older, &text);
    let symbols = older.ask("textDocument/documentSymbol", &plan.identifier());
    assert!(
        symbols
            .as_array()
            .expect("symbols")
            .iter()
            .any(|symbol| symbol["name"] == "main" && symbol["containerName"] == "wires")
    );
}

#[test]
fn what_is_taken_back_is_not_answered_and_only_the_newest_text_is_judged() {
    let mut client = Client::ready(&json!({}));
    let mut plan = Plan::open(&mut client, &job(FAULTY));
    let told = plan.told(&mut client);
    // While the first is worked on, the second comes and is taken back.
    let first = client.begin("textDocument/codeAction", &plan.actions(plan.text.find("80 A").expect("it"), &told));
    let second = client.begin("textDocument/hover", &plan.place(0));
    client.tell("$/cancelRequest", &json!({"id": second}));
    assert_eq!(client.answer(second)["error"]["code"], -32800);
    assert!(client.answer(first)["result"].is_array());

    // Work that has begun stops between two findings.
    let mut whole = plan.actions(0, &told);
    whole["range"] = plan.span(0..plan.text.len());
    let long = client.begin("textDocument/codeAction", &whole);
    client.tell("$/cancelRequest", &json!({"id": long}));
    assert_eq!(client.answer(long)["error"]["code"], -32800);
    let stale = client.begin("textDocument/codeAction", &whole);
    plan.add(&mut client, "# more\n");
    assert_eq!(client.answer(stale)["error"]["code"], -32801, "the text has changed meanwhile");

    let edits = 60;
    for _ in 0..edits {
        plan.add(&mut client, "# more\n");
    }
    client.published.clear();
    plan.told(&mut client);
    let versions: Vec<i64> = client.published.iter().filter_map(|told| told["version"].as_i64()).collect();
    assert!(versions.len() < edits && versions.is_sorted(), "{versions:?}");
}

#[test]
fn open_plans_are_judged_again_when_a_house_or_a_shelf_changes_and_cleared_when_they_close() {
    let mut client = Client::ready(&json!({"workspace": {"didChangeWatchedFiles": {"dynamicRegistration": true}}}));
    let mut plan = Plan::open(&mut client, &job(FAULTY));
    let told = plan.told(&mut client);
    assert!(client.was_asked("client/registerCapability"));
    client.tell("workspace/didChangeWatchedFiles", &json!({"changes": [{"uri": "file:///house.yaml", "type": 2}]}));
    assert_eq!(plan.told_again(&mut client), told);
    client.tell("textDocument/didClose", &plan.identifier());
    assert_eq!(client.publish(&plan.uri, None), Vec::<Value>::new());
    assert_eq!(client.refused("textDocument/hover", &plan.place(0)), -32602);
}

#[test]
fn places_that_do_not_exist_have_no_answer_and_no_crash() {
    let mut client = Client::ready(&json!({}));
    for text in ["", "\u{feff}plan: 1\n", "[", "plan: 1\r\n---\na: 1\n", "a: &x {b: *x}\n", "{{{{", "\0\t- \u{2028}"] {
        let plan = Plan::open_at(&mut client, &format!("file:///{}.yaml", text.len()), text);
        for position in [(0, 0), (0, 3), (7, 4_000_000_000), (4_000_000_000, 0)] {
            let mut ask = json!({"textDocument": {"uri": plan.uri}, "position": at(position), "newName": "x"});
            ask["context"] = json!({"includeDeclaration": true});
            for method in ["hover", "completion", "definition", "references"] {
                client.ask(&format!("textDocument/{method}"), &ask);
            }
            assert_eq!(client.refused("textDocument/rename", &ask), -32803);
        }
        for method in ["documentSymbol", "foldingRange"] {
            client.ask(&format!("textDocument/{method}"), &plan.identifier());
        }
    }
    assert_eq!(client.leave(), 0);
}

/// `cargo test --release --test editor figures -- --ignored --nocapture`
#[test]
#[ignore = "it measures; run it on a release build"]
fn figures_of_speed_and_memory() {
    print("the clean plan typed, a letter to its findings", type_the_clean_plan(1));
    for amplifiers in [5, 19] {
        let text = generate::plan(1, amplifiers);
        let lines = text.lines().count();
        let mut opened = Vec::new();
        for _ in 0..20 {
            let mut client = Client::ready(&json!({}));
            let started = Instant::now();
            Plan::open(&mut client, &text).told(&mut client);
            opened.push(started.elapsed());
        }
        print(&format!("{lines} lines, open to findings"), opened);
        let mut client = Client::ready(&json!({}));
        let mut plan = Plan::open(&mut client, &text);
        plan.told(&mut client);
        let mut edited = Vec::new();
        let edits = if amplifiers == 5 { 10_000 } else { 1_000 };
        for number in 0..edits {
            let at = plan.text.find("length: 40 cm").or(plan.text.find("length: 41 cm")).expect("a length") + 8;
            let started = Instant::now();
            plan.replace(&mut client, at..at + 2, if number % 2 == 0 { "41" } else { "40" });
            plan.told(&mut client);
            edited.push(started.elapsed());
            if [0, 1_000, edits - 1].contains(&number) {
                println!("{lines} lines, after {number} edits: {} kB", client.memory());
            }
        }
        print(&format!("{lines} lines, edit to findings"), edited);
    }
}

fn print(what: &str, mut times: Vec<Duration>) {
    times.sort();
    let at = |share: usize| times[(times.len() * share / 100).min(times.len() - 1)];
    println!("{what}: {} times, median {:?}, p95 {:?}, longest {:?}", times.len(), at(50), at(95), at(100));
}
