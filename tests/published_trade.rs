//! What standards of the trade fix: the terminal numbers of DIN 72552, as the plan's words and the rules use them.

#[path = "published/table.rs"]
mod table;

use testlamp::house::House;
use testlamp::judge::{Outcome, judge};
use testlamp::{plan, rules};

const TERMINALS: &str = include_str!("published/din_72552.tsv");

/// What the schema says of each kind of feed.
fn said() -> Vec<(String, String)> {
    let schema = serde_json::to_value(plan::schema()).expect("JSON");
    let feed = &schema["$defs"]["FeedKind"];
    let words = |key: &str| {
        let list = feed[key].as_array().unwrap_or_else(|| panic!("{key} of the feeds"));
        list.iter().map(|word| word.as_str().expect("a word").to_owned()).collect::<Vec<_>>()
    };
    words("enum").into_iter().zip(words("enumDescriptions")).collect()
}

#[test]
fn the_schema_gives_each_feed_its_terminal_and_no_other_feed_that_number() {
    for row in table::rows(TERMINALS) {
        let number = format!("DIN 72552 terminal {})", row.text("terminal"));
        let kinds: Vec<String> = said().into_iter().filter(|(_, says)| says.contains(&number)).map(|it| it.0).collect();
        assert_eq!(kinds, [row.text("kind")], "terminal {}", row.text("terminal"));
    }
}

/// Terminal 30 never switches off (TURN-01), 15 is live with the radio off (TURN-06), 75 is right.
#[test]
fn the_rules_judge_each_feed_by_when_it_is_live_and_name_its_terminal() {
    for row in table::rows(TERMINALS) {
        let text = format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nturn_on: {{remote: {{from: {{kind: {}}}, to: [amp.remote]}}}}\n",
            row.text("kind")
        );
        let judgement = judge(&plan::read(text), &House::default(), &rules::all());
        let of_the_feed = |code: &str| ["TURN-01", "TURN-06"].contains(&code);
        let found: Vec<_> = judgement.failed().filter(|check| of_the_feed(check.rule.code)).collect();
        let codes: Vec<&str> = found.iter().map(|check| check.rule.code).collect();
        let expected: &[&str] = match row.text("terminal") {
            "30" => &["TURN-01"],
            "15" => &["TURN-06"],
            _ => &[],
        };
        assert_eq!(codes, expected, "terminal {}", row.text("terminal"));
        for check in found {
            let label = &check.finding.as_ref().expect("a finding").at.text;
            let number = format!("(DIN 72552 terminal {})", row.text("terminal"));
            assert!(label.ends_with(&number), "{label} does not name {number}");
        }
        let passes = |code: &str| judgement.checks.iter().any(|it| it.rule.code == code && it.outcome == Outcome::Pass);
        assert!(
            row.text("kind") != "accessory" || (passes("TURN-01") && passes("TURN-06")),
            "75 switches off with the key"
        );
    }
}
