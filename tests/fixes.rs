//! Fixes: what they clear, what they keep, and that a file is whole at any time.

#[path = "common/cases.rs"]
mod cases;

mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use proptest::prelude::*;
use testlamp::house::{House, Stock};
use testlamp::judge::{Check, Rule, Tier, Wanted, Workshop, judge, may_be_offered, mend};
use testlamp::plan::{self, FuseForm, Reading};
use testlamp::quantity::Quantity;
use testlamp::rules;
use testlamp::text::{Kind, NodeId, comments};

/// A fuse that is above its wire and above what its amplifier may have is changed twice; a person fits it once.
#[test]
fn one_place_is_told_to_get_one_fuse() {
    let job = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs/j-2041-one-subwoofer.yaml");
    let text = fs::read_to_string(job).expect("the job").replace("rating: 60 A", "rating: 300 A");
    let place = tempfile::tempdir().expect("a folder");
    fs::write(place.path().join("a.yaml"), text).expect("a file");
    let (_, out, _) = run(place.path(), &["fix", "--diff", "--offered", "a.yaml"]);
    assert!(out.contains("FUSE-01: mended with what FUSE-10 asks for at this place, below"), "{out}");
    assert_eq!(out.matches("fit a").count(), 1, "{out}");
}

fn run(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    common::ended(&mut common::program(folder, arguments))
}

fn job(name: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs").join(name)).expect("the job")
}

fn mended(text: &str, tier: Tier) -> (Reading, usize) {
    let (house, rules) = (House::default(), rules::all());
    let all = |_: &Check| true;
    let wanted = Wanted { tier, check: &all, unreadable: true };
    let (reading, made) = mend(&plan::read(text.to_owned()), &house, &rules, &wanted);
    (reading, made.len())
}

fn failures(reading: &Reading) -> Vec<(&'static str, String)> {
    let judgement = judge(reading, &House::default(), &rules::all());
    let mut failed: Vec<_> = judgement.failed().map(|check| (check.rule.code, check.subject.path())).collect();
    failed.sort();
    failed
}

/// The comments of a text, sorted: a step that moves takes its own along.
fn remarks(text: &str) -> Vec<String> {
    let reading = plan::read(text.to_owned());
    let mut words: Vec<String> = comments(text, &reading.tree).into_iter().map(str::to_owned).collect();
    words.sort();
    words
}

/// The blocks of a rule's page that are judged bad.
fn bad_blocks(rule: &Rule) -> Vec<String> {
    let parts = rule.page.split("```yaml bad\n").skip(1);
    parts.filter_map(|part| part.split_once("```").map(|(block, _)| block.to_owned())).collect()
}

/// A plan with the findings of one rule mended.
fn mended_for(text: &str, code: &str, tier: Tier) -> Reading {
    let (house, rules) = (House::default(), rules::all());
    let of_it = |check: &Check| check.rule.code == code;
    mend(&plan::read(text.to_owned()), &house, &rules, &Wanted { tier, check: &of_it, unreadable: false }).0
}

fn examples() -> Vec<(String, String)> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let names = fs::read_dir(folder).expect("the jobs").map(|entry| entry.expect("a job").file_name());
    let mut names: Vec<String> = names.map(|name| name.to_string_lossy().into_owned()).collect();
    names.sort();
    names.into_iter().map(|name| (name.clone(), job(&name))).collect()
}

/// How many findings of each rule there are in some plans, and how many have a proved fix.
fn tally(texts: impl Iterator<Item = String>) -> BTreeMap<&'static str, (usize, usize)> {
    let (house, rules) = (House::default(), rules::all());
    let mut found: BTreeMap<&'static str, (usize, usize)> = BTreeMap::new();
    for text in texts {
        let reading = plan::read(text);
        let judgement = judge(&reading, &house, &rules);
        let workshop = Workshop::new(&reading, &judgement, &house, &rules);
        for check in judgement.failed().filter(|check| check.follows.is_none()) {
            let count = found.entry(check.rule.code).or_default();
            count.0 += 1;
            count.1 += usize::from(!workshop.fixes(check).is_empty());
        }
    }
    found
}

fn told(title: &str, tally: &BTreeMap<&'static str, (usize, usize)>) -> String {
    let sum = tally.values().fold((0, 0), |sum, count| (sum.0 + count.0, sum.1 + count.1));
    let mut out = String::new();
    writeln!(out, "{title}: {} findings, {} with a proved fix ({} %)", sum.0, sum.1, sum.1 * 100 / sum.0.max(1))
        .expect("text");
    for (code, (findings, fixed)) in tally {
        writeln!(out, "  {code}: {fixed} of {findings}").expect("text");
    }
    out
}

/// The rules that offer edits on their own page.
fn offering() -> BTreeSet<&'static str> {
    let offers = |rule: &&&Rule| {
        bad_blocks(rule).into_iter().any(|block| {
            let judgement = judge(&plan::read(block), &House::default(), &rules::all());
            let mut own = judgement.failed().filter(|check| check.rule.code == rule.code);
            own.any(|check| check.finding.as_ref().is_some_and(|finding| !finding.offers.is_empty()))
        })
    };
    rules::all().iter().filter(offers).map(|rule| rule.code).collect()
}

/// Every single value of a plan by its path.
fn values(reading: &Reading) -> BTreeMap<String, String> {
    let mut found = BTreeMap::new();
    let mut open: Vec<(String, NodeId)> = reading.tree.root().map(|root| (String::new(), root)).into_iter().collect();
    while let Some((path, node)) = open.pop() {
        match reading.tree.kind(node) {
            Kind::Map(map) => {
                open.extend(map.entries().iter().map(|entry| (format!("{path}.{}", entry.key), entry.value)));
            }
            Kind::Seq(items) => open.extend(items.iter().enumerate().map(|(at, item)| (format!("{path}.{at}"), *item))),
            Kind::Scalar { text, .. } => drop(found.insert(path.trim_start_matches('.').to_owned(), text.clone())),
        }
    }
    found
}

/// Sections that state facts of the vehicle and the gear, and what was measured.
const FACTS: [&str; 7] = ["vehicle.", "amplifiers.", "drivers.", "sources.", "converters.", "isolators.", "measured."];

/// All that fixes may not do to any plan, boldly or not.
fn keeps_its_word(text: &str, tier: Tier) -> Result<(), String> {
    let before = plan::read(text.to_owned());
    let (after, _) = mended(text, tier);
    if remarks(&after.text) != remarks(text) {
        return Err(format!("a comment is lost:\n{}", after.text));
    }
    let (was, is) = (values(&before), values(&after));
    for (path, value) in was.iter().filter(|(path, _)| FACTS.iter().any(|section| path.starts_with(section))) {
        if is.get(path) != Some(value) && !may_be_offered(path) && before.misreads.is_empty() {
            return Err(format!("{path} was {value} and is {:?}", is.get(path)));
        }
    }
    let left = failures(&after).len();
    if before.misreads.is_empty() && left > failures(&before).len() {
        return Err(format!("{left} findings are left, more than before"));
    }
    let (again, made) = mended(&after.text, tier);
    if made > 0 || again.text != after.text {
        return Err("done twice it changes more".to_owned());
    }
    Ok(())
}

/// How far fixes reach, in the jobs of the workshop and on the page of every rule.
#[test]
fn the_share_of_findings_that_a_proved_fix_clears_is_on_record() {
    let jobs = tally(examples().into_iter().map(|(_, text)| text));
    let pages = tally(rules::all().into_iter().flat_map(bad_blocks));
    let rules = pages.values().filter(|(_, fixed)| *fixed > 0).count();
    let offering = offering();
    let head = format!(
        "{rules} of {} rules have a proved fix on their own page; {} offer edits there: {}\n",
        pages.len(),
        offering.len(),
        offering.into_iter().collect::<Vec<_>>().join(" ")
    );
    insta::assert_snapshot!(format!(
        "{head}{}{}",
        told("jobs of the workshop", &jobs),
        told("pages of the rules", &pages)
    ));
}

/// Every job of the workshop, at both tiers; pages are tried below, and by the rule they teach.
#[test]
fn every_job_keeps_its_word_when_it_is_mended() {
    let wrong = |(name, text): (String, String)| {
        let told = [Tier::Safe, Tier::Offered].map(|tier| keeps_its_word(&text, tier));
        told.into_iter().filter_map(Result::err).map(|why| format!("{name}: {why}")).next()
    };
    let wrong: Vec<String> = examples().into_iter().filter_map(wrong).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What a rule offers is proved on its own page, keeps every comment, and done twice changes nothing more.
#[test]
fn what_a_rule_offers_clears_its_own_page() {
    let (mut wrong, mut offering) = (Vec::new(), BTreeSet::new());
    for rule in rules::all() {
        for block in bad_blocks(rule) {
            let judgement = judge(&plan::read(block.clone()), &House::default(), &rules::all());
            let mut own = judgement.failed().filter(|check| check.rule.code == rule.code);
            if !own.any(|check| check.finding.as_ref().is_some_and(|finding| !finding.offers.is_empty())) {
                continue;
            }
            offering.insert(rule.code);
            let after = mended_for(&block, rule.code, Tier::Offered);
            if failures(&after).iter().any(|(code, _)| *code == rule.code) {
                wrong.push(format!("{} is not cleared:\n{}", rule.code, after.text));
            }
            if remarks(&after.text) != remarks(&block) {
                wrong.push(format!("{} loses a comment:\n{}", rule.code, after.text));
            }
            if mended_for(&after.text, rule.code, Tier::Offered).text != after.text {
                wrong.push(format!("{} is not done with once:\n{}", rule.code, after.text));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert_eq!(offering, self::offering());
}

#[test]
fn names_and_units_are_mended_in_the_file_and_nothing_else_is_touched() {
    let clean = job("j-2041-one-subwoofer.yaml");
    let slips = [
        ("to: grounds.load-floor", "to: grounds.load-flor"),
        ("length: 4.9 m", "length: 4,9 m"),
        ("colour: black", "color: black"),
        ("size: 4 AWG\n    conductor", "size: 4AWG\n    conductor"),
    ];
    let slipped = slips.iter().fold(clean.clone(), |text, (right, wrong)| text.replacen(right, wrong, 1));
    let folder = tempfile::TempDir::new().expect("a folder");
    fs::write(folder.path().join("job.yaml"), &slipped).expect("a file");
    let (status, out, err) = run(folder.path(), &["fix", "job.yaml"]);
    assert_eq!((status, out.lines().count()), (0, 5), "{out}{err}");
    assert_eq!(fs::read_to_string(folder.path().join("job.yaml")).expect("the file"), clean);
    let (_, again, _) = run(folder.path(), &["fix", "job.yaml"]);
    assert_eq!(again, "0 fixes made\n");
}

#[test]
fn what_changes_the_job_is_done_only_when_asked_for() {
    let text = job("j-2046-fuse-above-wire.yaml");
    assert_eq!(mended(&text, Tier::Safe).0.text, text);
    let (after, made) = mended(&text, Tier::Offered);
    assert_eq!((failures(&after), made > 3), (Vec::new(), true), "{}", after.text);
    assert_eq!(remarks(&after.text), remarks(&text));
}

#[test]
fn a_difference_is_shown_and_nothing_is_written() {
    let folder = tempfile::TempDir::new().expect("a folder");
    let text = job("j-2050-unprotected.yaml");
    fs::write(folder.path().join("job.yaml"), &text).expect("a file");
    let (status, out, _) = run(folder.path(), &["fix", "--diff", "job.yaml"]);
    assert!(status == 1 && out.contains("-    to: grounds.loadfloor\n+    to: grounds.load-floor\n"), "{out}");
    assert_eq!(fs::read_to_string(folder.path().join("job.yaml")).expect("the file"), text);
}

#[test]
fn what_only_a_person_can_finish_is_shown_as_words_that_can_be_put_in() {
    let folder = tempfile::TempDir::new().expect("a folder");
    let text = job("j-2047-fuse-far-firewall-open.yaml");
    fs::write(folder.path().join("job.yaml"), &text).expect("a file");
    let (_, out, _) = run(folder.path(), &["fix", "--diff", "--offered", "job.yaml"]);
    assert!(out.contains("ROUTE-09: no proved fix") && !out.contains("accept it"), "a danger: {out}");
    let text = job("j-2041-one-subwoofer.yaml").replace("    length: 40 cm\n", "    length: 90 cm\n");
    fs::write(folder.path().join("job.yaml"), &text).expect("a file");
    let (_, out, _) = run(folder.path(), &["fix", "--diff", "--offered", "job.yaml"]);
    let (_, shown) = out.split_once("job.yaml: or accept it; put in and sign:\n").expect("a waiver");
    let waiver: Vec<&str> = shown.lines().map_while(|line| line.strip_prefix("    ")).collect();
    let with = plan::read(format!("{text}\n{}\n", waiver.join("\n")));
    assert_eq!((with.misreads.len(), with.plan.waivers.len()), (0, 1), "{shown}");
    assert!(with.plan.waivers[0].rule.as_deref() == Some("GROUND-02") && !with.plan.waivers[0].is_signed(), "{shown}");

    fs::write(folder.path().join("job.yaml"), job("j-2042-half-filled-draft.yaml")).expect("a file");
    let (_, out, _) = run(folder.path(), &["fix", "--diff", "job.yaml"]);
    assert!(out.contains("to find out; put in and fill:\n") && out.contains("\n        stranding: # How"), "{out}");
    let (_, out, _) = run(folder.path(), &["fix", "--diff", "--rule", "GROUND-01", "job.yaml"]);
    assert!(out.contains("surface: ~") && !out.contains("stranding"), "{out}");
}

#[test]
fn what_is_built_is_not_changed_on_paper() {
    let built = job("j-2051-one-subwoofer-installed.yaml").replace("coated_after: true", "coated_after: false");
    let folder = tempfile::TempDir::new().expect("a folder");
    fs::write(folder.path().join("job.yaml"), &built).expect("a file");
    let (_, out, _) = run(folder.path(), &["fix", "--diff", "--offered", "job.yaml"]);
    assert!(out.contains("GROUND-07: once it is built so: coat it after\n"), "{out}");
    let (_, out, _) = run(folder.path(), &["fix", "--offered", "job.yaml"]);
    assert!(out.starts_with("0 fixes made"), "{out}");
    let (status, out, _) = run(folder.path(), &["fix", "--sizes", "job.yaml"]);
    assert!(status == 1 && out.contains("it is built") && out.ends_with("\n0 sizes and fuses chosen\n"), "{out}");
    assert_eq!(fs::read_to_string(folder.path().join("job.yaml")).expect("the file"), built);
    let planned = built.replace("stage: installed", "stage: planned");
    assert!(mended(&planned, Tier::Offered).0.text.contains("coated_after: true"));
}

#[test]
fn a_remote_output_is_offered_only_where_there_surely_is_one() {
    let text = job("j-2049-never-off.yaml");
    let fed = |text: &str| mended_for(text, "TURN-01", Tier::Offered).text;
    assert_eq!(
        fed(&text),
        text,
        "a factory radio may have none, and which circuit the key switches has to be found out"
    );
    // Nothing that was true of the old circuit is left behind.
    let by_radio = fed(&text.replace("kind: factory,", "kind: aftermarket,"));
    assert!(by_radio.contains("from: {kind: radio-output, of: radio}\n"), "{by_radio}");
}

#[test]
fn a_way_that_leaves_a_place_out_says_which() {
    let folder = tempfile::TempDir::new().expect("a folder");
    fs::write(folder.path().join("job.yaml"), job("j-2067-airbag-and-seat-rails.yaml")).expect("a file");
    let (_, out, _) = run(folder.path(), &["fix", "--diff", "--offered", "--rule", "ROUTE-05", "job.yaml"]);
    assert!(out.contains("lead it from left-sill straight to under-seat, past seat-track"), "{out}");
}

#[test]
fn a_missing_fuse_is_no_larger_than_the_amplifier_takes() {
    let after = mended_for(&job("j-2050-unprotected.yaml"), "FUSE-03", Tier::Offered);
    let fuse = after.plan.wires["main"].fuse.as_ref().and_then(|fuse| fuse.rating).expect("a rating");
    assert_eq!(fuse.to_string(), "60 A");
}

/// 60 A behind 80 A in a house that keeps no strip below 60 A: only a larger fuse before it is apart enough. Where its wire
/// carries 160 A it is offered; where 80 A are too much for the wire already, or may be, it is not.
#[test]
fn a_fuse_that_is_too_large_for_its_wire_gets_no_larger() {
    let kept = [60.0, 80.0, 100.0].map(|amperes| Quantity::read(&format!("{amperes} A")).expect("a rating"));
    let stock = Stock { fuses: [(FuseForm::BoltDown, kept.to_vec())].into(), ..Stock::default() };
    let (house, rules) = (House { stock, ..House::default() }, rules::all());
    let of_it = |check: &Check| check.rule.code == "FUSE-08";
    let wanted = Wanted { tier: Tier::Offered, check: &of_it, unreadable: false };
    let after = |wire: &str| {
        let text = format!(
            "plan: 1\namplifiers: {{one: {{onboard_fuses: [60 A]}}, two: {{onboard_fuses: [40 A]}}}}\n\
             blocks: {{split: {{outputs: {{one: {{fuse: {{form: bolt-down, rating: 60 A}}}}, two: {{}}}}}}}}\nwires:\n  \
             main: {{from: battery.positive, to: split.in, conductor: copper, {wire}, length: 3 m, path: [cargo], fuse: {{form: \
             bolt-down, rating: 80 A, distance: 20 cm}}}}\n  \
             to-one: {{from: split.one, to: one.power, size: 4 AWG, conductor: copper, insulation: 105 C, path: [cargo]}}\n  \
             to-two: {{from: split.two, to: two.power, size: 4 AWG, conductor: copper, insulation: 105 C, path: [cargo]}}\n"
        );
        let after = mend(&plan::read(text), &house, &rules, &wanted).0.plan;
        let main = &after.wires["main"];
        (
            main.size.map(|size| size.to_string()),
            main.fuse.as_ref().and_then(|fuse| fuse.rating).map(|it| it.to_string()),
        )
    };
    let of = |size: Option<&str>, rating: &str| (size.map(str::to_owned), Some(rating.to_owned()));
    assert_eq!(after("size: 4 AWG, insulation: 105 C"), of(Some("4 AWG"), "100 A"));
    assert_eq!(after("insulation: 105 C"), of(None, "80 A"));
    for thin in ["size: 10 AWG, insulation: 105 C", "size: 6 AWG"] {
        let (size, rating) = after(thin);
        let before = thin.split(", ").next().and_then(|size| size.strip_prefix("size: "));
        assert!(rating.as_deref() == Some("80 A") || size.as_deref() != before, "{thin}: {size:?}, {rating:?}");
    }
}

#[test]
fn one_rule_or_one_element_can_be_chosen() {
    let folder = tempfile::TempDir::new().expect("a folder");
    fs::write(folder.path().join("job.yaml"), job("j-2046-fuse-above-wire.yaml")).expect("a file");
    let (_, out, _) = run(folder.path(), &["fix", "--diff", "--offered", "--rule", "WIRE-04", "job.yaml"]);
    assert!(out.contains("WIRE-04") && !out.contains("WIRE-02"), "{out}");
    let (_, out, _) = run(folder.path(), &["fix", "--diff", "--offered", "--at", "grounds", "job.yaml"]);
    assert_eq!(out, "0 fixes could be made\n");
    let (status, _, err) = run(folder.path(), &["fix", "--rule", "WIRE-044", "job.yaml"]);
    assert!(status == 2 && err.contains("did you mean WIRE-04?"), "{err}");
}

#[test]
fn standard_input_goes_mended_to_standard_output() {
    let mut command = common::program(Path::new("."), &["fix", "-"]);
    let text = "plan: 1\nwires: {main: {size: 4AWG}} # feed\n";
    let output = command.write_stdin(text).output().expect("it runs");
    assert_eq!(String::from_utf8_lossy(&output.stdout), text.replace("4AWG", "4 AWG"));
}

#[cfg(unix)]
#[test]
fn a_file_that_cannot_be_written_stays_as_it_is_and_rights_are_kept() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::TempDir::new().expect("a folder");
    let path = folder.path().join("job.yaml");
    let text = "plan: 1\nwires: {main: {size: 4AWG}}\n";
    fs::write(&path, text).expect("a file");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).expect("rights");
    let (status, _, err) = run(folder.path(), &["fix", "job.yaml"]);
    assert!(status == 3 && err.contains("nothing was changed"), "{err}");
    assert_eq!(fs::read_to_string(&path).expect("the file"), text);
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("rights");
    assert_eq!(run(folder.path(), &["fix", "job.yaml"]).0, 0);
    assert_eq!(fs::metadata(&path).expect("the file").permissions().mode() & 0o777, 0o640);
    assert_eq!(fs::read_dir(folder.path()).expect("the folder").count(), 1, "nothing is left lying about");
}

/// Ways to spoil the clean job, each a real slip.
const SLIPS: [(&str, &str); 9] = [
    ("rating: 60 A", "rating: 150 A"),
    ("size: 4 AWG", "size: 10 AWG"),
    ("surface: bare-metal", "surface: painted"),
    ("sealed: true}\n", "sealed: false}\n"),
    ("to: grounds.load-floor", "to: grounds.loadfloor"),
    ("distance: 20 cm", "distance: 80 cm"),
    ("low_pass: 80 Hz", "low_pass: 200 Hz"),
    ("insulation: 105 C", "insulation: 60C"),
    ("gain_target: 31 V", "gain_target: 60 V"),
];

proptest! {
    #![proptest_config(cases::cases(8))]

    /// Jobs of the workshop and pages of rules, mended at either tier.
    #[test]
    fn any_plan_keeps_its_facts_and_comments_and_is_mended_once(which in any::<proptest::sample::Index>(), bold in any::<bool>()) {
        let mut texts: Vec<String> = examples().into_iter().map(|(_, text)| text).collect();
        texts.extend(rules::all().into_iter().flat_map(bad_blocks));
        let tier = if bold { Tier::Offered } else { Tier::Safe };
        prop_assert_eq!(keeps_its_word(&texts[which.index(texts.len())], tier), Ok(()));
    }
}

proptest! {
    #![proptest_config(cases::cases(12))]

    /// Whatever slips: fixes never bring a finding that was not there, keep every comment, and done twice change nothing.
    #[test]
    fn fixes_only_clear(which in proptest::sample::subsequence((0..SLIPS.len()).collect::<Vec<_>>(), 1..4), bold in any::<bool>()) {
        let clean = job("j-2041-one-subwoofer.yaml");
        let text = which.iter().fold(clean, |text, at| text.replacen(SLIPS[*at].0, SLIPS[*at].1, 1));
        let before = failures(&plan::read(text.clone()));
        let tier = if bold { Tier::Offered } else { Tier::Safe };
        let (after, _) = mended(&text, tier);
        let left = failures(&after);
        // A respelt value is judged for the first time.
        let was_readable = plan::read(text.clone()).misreads.is_empty();
        prop_assert!(!was_readable || left.iter().all(|check| before.contains(check)), "{:?} -> {:?}", before, left);
        prop_assert_eq!(remarks(&after.text), remarks(&text));
        let (again, made) = mended(&after.text, tier);
        prop_assert_eq!((again.text, made), (after.text, 0));
    }
}
