//! Reading a plan: the same values as another YAML reader finds, places inside the text, and errors a person can use.

#[path = "common/cases.rs"]
mod cases;

use std::path::Path;

use proptest::prelude::*;
use testlamp::plan::{self, Reading};
use testlamp::text::{self, Kind, Limits, Tree};

fn json_of(text: &str) -> serde_json::Value {
    let (tree, misreads) = text::parse(text, Limits::default());
    assert!(misreads.is_empty(), "{misreads:?} in {text}");
    tree.root().map_or(serde_json::Value::Null, |root| tree.to_json(root))
}

fn other_reader(text: &str) -> serde_json::Value {
    serde_yaml::from_str(text).expect("the other reader takes it")
}

/// What stands between two places of one line of words: each misread's own words and its sentence.
fn misread(text: &str) -> Vec<(String, String)> {
    let reading = plan::read(text.to_owned());
    let words = |m: &text::Misread| (text[m.span.clone()].to_owned(), format!("{} {}", m.what, m.mend));
    reading.misreads.iter().map(words).collect()
}

fn assert_misread(text: &str, at: &str, says: &str) {
    let found = misread(text);
    assert!(
        found.iter().any(|(words, sentence)| words == at && sentence.contains(says)),
        "expected {at:?} with {says:?}, found {found:#?}"
    );
}

#[test]
fn the_examples_read_as_another_reader_reads_them() {
    let jobs = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
    let mut count = 0;
    for file in std::fs::read_dir(jobs).expect("the jobs").flatten() {
        let text = std::fs::read_to_string(file.path()).expect("a job");
        assert_eq!(json_of(&text), other_reader(&text), "{:?}", file.path());
        count += 1;
    }
    assert!(count >= 8, "{count}");
}

#[test]
fn plain_values_follow_yaml_1_2() {
    for text in
        ["5", "-3", "0x1F", "0o17", "1.5", "true", "no", "yes", "on", "~", "'5'", "4 AWG", "1e3", "12:30", "J-2041"]
    {
        let text = format!("value: {text}\nother: 1\n");
        assert_eq!(json_of(&text), other_reader(&text), "{text}");
    }
}

fn value() -> impl Strategy<Value = serde_json::Value> {
    let leaf = prop_oneof![
        any::<bool>().prop_map(serde_json::Value::from),
        any::<i32>().prop_map(serde_json::Value::from),
        "[ -~]{0,12}".prop_map(serde_json::Value::from),
        "[a-zäö€ \\n:#'\"-]{0,10}".prop_map(serde_json::Value::from),
    ];
    leaf.prop_recursive(4, 40, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(serde_json::Value::from),
            prop::collection::btree_map("[a-z][a-z_-]{0,8}", inner, 0..6)
                .prop_map(|map| serde_json::Value::Object(map.into_iter().collect())),
        ]
    })
}

/// Every span of a tree, from the top.
fn spans(tree: &Tree) -> Vec<std::ops::Range<usize>> {
    let mut open: Vec<usize> = tree.root().into_iter().collect();
    let mut found = Vec::new();
    while let Some(node) = open.pop() {
        found.push(tree.span(node));
        match tree.kind(node) {
            Kind::Map(map) => {
                for entry in map.entries() {
                    found.extend([entry.key_span.clone(), entry.used_at.clone()]);
                    open.push(entry.value);
                }
            }
            Kind::Seq(items) => open.extend(items),
            Kind::Scalar { .. } => {}
        }
    }
    found
}

fn assert_inside(reading: &Reading) {
    let text = &reading.text;
    let all = spans(&reading.tree).into_iter().chain(reading.misreads.iter().map(|m| m.span.clone()));
    for span in all {
        assert!(text.get(span.clone()).is_some(), "{span:?} does not lie inside the text on characters");
    }
}

proptest! {
    #![proptest_config(cases::cases(256))]

    #[test]
    fn what_another_writer_writes_is_read_as_it_was_meant(value in value()) {
        let text = serde_yaml::to_string(&value).expect("it writes");
        prop_assert_eq!(json_of(&text), other_reader(&text), "{}", text);
    }

    #[test]
    fn any_text_is_read_without_a_panic_and_with_places_inside(text in "[a-z0-9:{}\\[\\],#&*!|>'\"% \\n\\r\\tä€😀-]{0,120}") {
        assert_inside(&plan::read(text));
    }

    #[test]
    fn a_plan_cut_off_anywhere_is_read_as_far_as_it_goes(at in 0usize..4000) {
        let whole = include_str!("../examples/jobs/j-2041-one-subwoofer.yaml");
        let at = whole.floor_char_boundary(at.min(whole.len()));
        assert_inside(&plan::read(whole[..at].to_owned()));
    }
}

#[test]
fn spans_hold_after_multi_byte_text_a_byte_order_mark_and_crlf() {
    let text = "\u{feff}plan: 1\r\njob: {summary: \"Größe 😀\", stage: plannd}\r\n";
    assert_misread(text, "plannd", "did you mean `planned`");
    assert_inside(&plan::read(text.to_owned()));
}

/// A line that cannot be read is blanked byte by byte; no place may lie within one of its characters.
#[test]
fn places_hold_where_a_line_of_long_characters_is_passed_over() {
    let text = "plan: >1\n\u{2fd} \u{1f697}\n";
    let reading = plan::read(text.to_owned());
    assert!(!reading.misreads.is_empty());
    assert_inside(&reading);
}

#[test]
fn one_bad_entry_does_not_hide_the_others() {
    let text = "plan: 1\nwires:\n  main: {size: 4AWG, length: 5 m}\n  return:\n    size: 4 AWG\n    length: 4,9 m\n";
    assert_misread(text, "4AWG", "write `4 AWG`");
    assert_misread(text, "4,9 m", "decimals with a point");
    let plan = plan::read(text.to_owned()).plan;
    assert!(plan.wires["main"].length.is_some() && plan.wires["main"].size.is_none());
    assert!(plan.wires["return"].size.is_some() && plan.wires["return"].length.is_none());
}

#[test]
fn a_wrong_unit_names_the_units_taken() {
    assert_misread(
        "plan: 1\nwires: {main: {length: 17}}\n",
        "17",
        "has no unit; a length is written in m, cm, mm, ft or in",
    );
    let capacitor = |is: &str| format!("plan: 1\ncapacitors: {{buffer: {{capacitance: {is}}}}}\n");
    assert_misread(&capacitor("1"), "1", "has no unit; a capacitance is written in F, mF or uF, like 1 F");
    assert_misread(&capacitor("470 µF"), "470 µF", "`470 uF`");
    assert_misread(&capacitor("1 Farad"), "1 Farad", "`1 F`");
    assert_misread("plan: 1\nwires: {main: {length: 17 volts}}\n", "17 volts", "m, cm, mm, ft or in");
    assert_misread("plan: 1\nwires: {main: {length: 17ft}}\n", "17ft", "`17 ft`");
    assert_misread("plan: 1\nwires: {main: {insulation: 105 °C}}\n", "105 °C", "`105 C`");
}

#[test]
fn unknown_keys_and_words_name_the_nearest() {
    assert_misread("plan: 1\nwires: {main: {lenght: 5 m}}\n", "lenght", "did you mean `length`?");
    assert_misread("plan: 1\nvehicle: {body: stell}\n", "stell", "did you mean `steel`");
    assert_misread("plan: 1\nwires: {main: {lenght: }}\n", "lenght", "did you mean `length`?");
    assert_misread("plan: 1\nwirs: {}\n", "wirs", "did you mean `wires`?");
    assert_misread("plan: 1\nwires: {my wire: {}}\n", "my wire", "letters, digits and hyphens");
}

/// A point parts a name from what belongs to it; a name that holds one is still pointed at where it stands.
/// A chemistry and a size of blade are facts of what is there: a word that leaves them open is asked about.
#[test]
fn a_word_for_a_whole_kind_is_asked_about_and_not_written_over() {
    let text = "plan: 1\nbatteries: {h: {kind: lithium}}\nwires: {w: {fuse: {form: blade}}}\n";
    let reading = plan::read(text.to_owned());
    let said: Vec<&str> = reading.misreads.iter().map(|misread| misread.what.as_str()).collect();
    assert!(said[0].starts_with("`lithium` says too little here; write lithium-iron-phosphate only if it is that."));
    assert!(
        said[1]
            .starts_with("`blade` says too little here; write which: blade-miniature, blade-regular or blade-large.")
    );
    assert!(reading.misreads.iter().all(|misread| misread.meant.is_none() && !misread.could.is_empty()));
    for (word, stands_for) in [("LFP", "lithium-iron-phosphate"), ("lifepo4", "lithium-iron-phosphate")] {
        let reading = plan::read(text.replace("lithium", word));
        assert_eq!(reading.misreads[0].meant.as_deref(), Some(stands_for), "{word}");
    }
}

#[test]
fn what_people_write_otherwise_is_told_by_what_takes_it() {
    let text = "plan: 1\namplifiers:\n  amp: {power: 500 W, impedance: 2 ohm, fuse: 60 A}\nvehicle: {battery: 60 Ah}\n\
                wires:\n  plus: {from: battery+, to: amp+, path: engine-bay > cargo}\n  minus: [amp.ground, chassis]\n  \
                other: {to: chassis, from: nothing}\n";
    let reading = plan::read(text.to_owned());
    let mends: Vec<&str> = reading.misreads.iter().map(|misread| misread.mend.as_str()).collect();
    assert_eq!(
        mends,
        [
            "a plan says that under `rated`",
            "a plan says that under `minimum_load`",
            "a plan says that under `onboard_fuses` or `maximum_fuse`",
            "write `{capacity: 60 Ah}`",
            "write `battery.positive`",
            "write `amp.power`",
            "write `[engine-bay, cargo]`",
            "write what each is, between braces, like `{from: amp.ground, to: chassis}`",
            "name the spot under `grounds`, and write it like `grounds.load-floor`",
            "",
        ]
    );
    // The letters of `form` are those of `from`, which is there.
    let form = plan::read("plan: 1\nwires: {w: {from: battery.positive, form: blade}}\n".to_owned());
    assert_eq!(form.misreads[0].meant, None);
}

#[test]
fn what_stands_below_a_name_that_cannot_be_one_is_told_at_its_own_place() {
    // A list or a thing with keys is pointed at by its name.
    for (name, value, at) in [("a.b", "[1]", "a.b"), ("a.b", "4 m", "4 m"), (".nan", ".inf", ".inf")] {
        let text = format!("plan: 1\namplifiers: {{c: {{}}, {name}: {value}}}\n");
        assert_misread(&text, name, "letters, digits and hyphens");
        assert_misread(&text, at, "stands where a group of keys belongs");
        assert_eq!(misread(&text).len(), 2, "{:?}", misread(&text));
    }
    assert_misread("plan: 1\nwires: {a.b: {lenght: 4 m}}\n", "lenght", "did you mean `length`?");
}

#[test]
fn duplicate_keys_are_all_reported_at_once() {
    let found = misread("plan: 1\njob: {stage: draft, stage: planned}\nwires: {a: {}, a: {}}\n");
    let twice = found.iter().filter(|(_, sentence)| sentence.contains("a second time")).count();
    assert_eq!(twice, 2, "{found:?}");
}

#[test]
fn a_text_that_a_comma_cuts_is_told_once_with_its_quotes() {
    let said = |text: &str| -> Vec<(String, String, String)> {
        let reading = plan::read(text.to_owned());
        let told = reading.misreads.iter();
        told.map(|told| (text[told.span.clone()].to_owned(), told.what.clone(), told.mend.clone())).collect()
    };
    let told = said("plan: 1\njob: {number: J-7, summary: new amplifier, one subwoofer, two coils, stage: draft}\n");
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!(told[0].0, "new amplifier, one subwoofer, two coils");
    assert_eq!(told[0].2, "put the text in quotes: `summary: \"new amplifier, one subwoofer, two coils\"`");
    // A decimal comma is told as such, and what is left of the number is not told besides.
    let told = said("plan: 1\nwires: {main: {length: 4,9 m, size: 4 AWG}}\n");
    let told: Vec<_> = told.iter().map(|told| (told.0.as_str(), told.1.as_str(), told.2.as_str())).collect();
    assert_eq!(told, [("4,9 m", "`4,9 m` has a comma", "write decimals with a point: `length: 4.9 m`")]);
    let told = said("plan: 1\nwires: {main: {length: \"\", 9 m}}\n");
    assert!(told.iter().all(|told| !told.2.contains("decimals")), "nothing before the comma is no number: {told:?}");
    // A key that is merely unknown is no cut text.
    let told = said("plan: 1\nwires: {main: {size: 4 AWG, lenght: 5 m}}\n");
    assert!(told[0].2.contains("did you mean `length`?"), "{told:?}");
}

#[test]
fn a_shape_that_does_not_fit_says_how_to_write_it() {
    let said = |text: &str| {
        plan::read(text.to_owned()).misreads.into_iter().map(|told| (told.what, told.mend)).collect::<Vec<_>>()
    };
    assert_eq!(said("plan: 1\nvehicle: {voltage: 12}\n").len(), 1, "one complaint for one word");
    assert!(said("plan: 1\nwires:\n  - {size: 4 AWG}\n")[0].1.contains("without a dash"));
    assert!(said("plan: 1\nsteps: {battery: disconnect}\n")[0].1.contains("with a dash"));
    assert_eq!(said("plan: 1\nwires: {main: {length: tbd}}\n")[0].1, "leave it empty while it is not known");
}

#[test]
fn texts_that_are_no_plan_say_so() {
    for (text, says) in [
        ("", "empty or only comments"),
        ("# nothing\n", "empty or only comments"),
        ("- a\n- b\n", "not a plan"),
        ("hello", "not a plan"),
        ("job: {}\n", "`plan:`"),
        ("plan: 2\n", "plan format 2 is not known"),
        ("plan: 1\n---\nplan: 1\n", "second document"),
    ] {
        let found = misread(text);
        assert!(found.iter().any(|(_, sentence)| sentence.contains(says)), "{text:?}: {found:?}");
    }
}

/// Who gets a plan of a later version by post is not told to write it down to this one.
#[test]
fn a_number_above_ours_is_a_plan_of_a_newer_version() {
    let mend = |text: &str| plan::read(text.to_owned()).misreads[0].mend.clone();
    for newer in ["2", "17"] {
        assert!(
            mend(&format!("plan: {newer}\n")).starts_with("this plan is for a newer version of testlamp"),
            "{newer}"
        );
    }
    for other in ["0", "1.5", "-2"] {
        assert_eq!(mend(&format!("plan: {other}\n")), "write `plan: 1`", "{other}");
    }
}

#[test]
fn aliases_merge_keys_and_empty_values_read_as_meant() {
    let text = "plan: 1\nwires:\n  a: &base {size: 4 AWG, length: 5 m}\n  b: {<<: *base, length: 40 cm}\n  c: *base\n  d: {size: , length: }\n";
    let reading = plan::read(text.to_owned());
    assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
    let length = |name: &str| reading.plan.wires[name].length.map(|length| length.to_string());
    assert_eq!(length("b"), Some("40 cm".into()));
    assert_eq!(length("c"), Some("5 m".into()));
    assert_eq!(length("d"), None);
    assert_eq!(&text[reading.tree.locate("wires.b.size").span], "4 AWG");
    assert_eq!(&text[reading.tree.locate("wires.d.size").span], "size");
}

#[test]
fn a_strength_class_is_read_as_it_stands_on_the_bolt() {
    for (written, read) in [("8.8", true), ("\"8.8\"", true), ("10.9", true), ("9.9", false)] {
        let text = format!("plan: 1\nmounts:\n  box: {{fasteners: {{class: {written}}}}}\n");
        let reading = plan::read(text);
        let class = reading.plan.mounts["box"].fasteners.as_ref().and_then(|fasteners| fasteners.class);
        assert_eq!((reading.misreads.is_empty(), class.is_some()), (read, read), "{written}: {:?}", reading.misreads);
    }
    assert_misread("plan: 1\nmounts: {box: {fasteners: {class: 9.9}}}\n", "9.9", "write 4.8, 5.8, 8.8 or 10.9");
}

#[test]
fn hostile_nesting_ends_with_a_sentence() {
    let bomb = (1..20).fold("a0: &a0 [x, x]\n".to_owned(), |text, at| {
        let below = at - 1;
        text + &format!("a{at}: &a{at} [*a{below}, *a{below}, *a{below}, *a{below}]\n")
    });
    for text in [bomb, "[".repeat(10_000), format!("plan: 1\njob: {}", "{a: ".repeat(2_000))] {
        let reading = plan::read(text);
        assert!(!reading.misreads.is_empty());
        assert_inside(&reading);
    }
}
