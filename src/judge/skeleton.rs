//! Pieces of a plan that only a person can finish: a waiver without its signature, a fact without its value.

use super::Severity;
use super::check::{Check, FindOut};
use crate::plan::{Reading, about, read_with};
use crate::text::{Edit, Kind, new_line, set};

/// The keys of a waiver that a person has to fill in, each with what belongs there.
const TO_SIGN: [(&str, &str); 3] =
    [("reason", "why it is accepted"), ("by", "who answers for it"), ("until", "the last day, like 2027-06-30")];

/// A waiver of a finding. It holds nothing until somebody has given a reason, a name and a last day. For a danger nobody is
/// handed a form: who answers for one writes it himself.
pub fn waiver(reading: &Reading, check: &Check) -> Option<Edit> {
    if check.rule.judges_checks() || check.severity == Severity::Danger {
        return None;
    }
    let (code, at) = (check.rule.code, check.subject.path());
    let new_line = new_line(&reading.text);
    let block = |indent: &str| {
        let to_sign = TO_SIGN.map(|(key, what)| format!("{indent}  {key}: # {what}")).join(new_line);
        format!("{indent}- rule: {code}{new_line}{indent}  at: {at}{new_line}{to_sign}")
    };
    let in_line = format!("{{rule: {code}, at: {at}, reason: , by: , until: }}");
    let (text, tree) = (&reading.text, &reading.tree);
    let list = tree.node("waivers");
    let items = list.filter(|list| matches!(tree.kind(*list), Kind::Seq(_))).map(|list| (list, tree.span(list)));
    let (edit, number) = match items {
        Some((list, span)) => {
            let Kind::Seq(items) = tree.kind(list) else { return None };
            let edit = match items.last() {
                _ if text[span.start..].starts_with('[') => {
                    let end = items.last().map_or(span.start + 1, |last| tree.span(*last).end);
                    let comma = if items.is_empty() { "" } else { ", " };
                    Edit { at: end..end, text: format!("{comma}{in_line}") }
                }
                Some(last) => {
                    let end = line_end(text, text[..tree.span(*last).end].trim_end().len());
                    Edit { at: end..end, text: format!("{new_line}{}", block(&indent_of(text, span.start))) }
                }
                None => return None,
            };
            (edit, items.len())
        }
        // A key without a value waits for one.
        None if list.is_some() => {
            let end = line_end(text, tree.locate_key("waivers").end);
            (Edit { at: end..end, text: format!("{new_line}{}", block("  ")) }, 0)
        }
        None => {
            let end = text.trim_end().len();
            let words = format!("{new_line}{new_line}waivers:{new_line}{}", block("  "));
            (Edit { at: end..end, text: words }, 0)
        }
    };
    does(reading, edit, &format!("waivers.{number}.rule"))
}

/// The key of a fact that has to be found out, with a comment on what it is and where the verdicts turn.
pub fn fact(reading: &Reading, fact: &FindOut) -> Option<Edit> {
    let path = fact.place.path();
    if reading.tree.node(&path).is_some() {
        return None;
    }
    let mut edit = set(&reading.text, &reading.tree, &path, "~").ok()?;
    if edit.text.starts_with(['\n', '\r']) {
        let words: Vec<String> = about(&path).into_iter().chain(fact.turns.iter().cloned()).collect();
        let key = edit.text.strip_suffix(" ~").unwrap_or(&edit.text);
        if !words.is_empty() {
            edit.text = format!("{key} # {}", words.join("; ").replace(char::is_control, " "));
        }
    }
    does(reading, edit, &path)
}

/// A plan's text with the keys of facts that have to be found out, none of them with a value.
pub fn with_facts(reading: &Reading, facts: &[&FindOut]) -> String {
    let mut now = reading.clone();
    for wanted in facts {
        if let Some(edit) = fact(&now, wanted) {
            now = read_with(edit.apply(&now.text), &now.shelves);
        }
    }
    now.text
}

/// A plan's text with a waiver for each of these findings, none of them signed.
pub fn with_waivers<'c>(reading: &Reading, checks: impl Iterator<Item = &'c Check>) -> String {
    let mut now = reading.clone();
    for check in checks {
        if let Some(edit) = waiver(&now, check) {
            now = read_with(edit.apply(&now.text), &now.shelves);
        }
    }
    now.text
}

/// An edit, if it brings what it is for and breaks nothing.
fn does(reading: &Reading, edit: Edit, path: &str) -> Option<Edit> {
    let after = read_with(edit.apply(&reading.text), &reading.shelves);
    let whole = after.tree.node(path).is_some() && after.misreads.len() <= reading.misreads.len();
    whole.then_some(edit)
}

fn line_end(text: &str, from: usize) -> usize {
    text[from..].find(['\n', '\r']).map_or(text.len(), |at| from + at)
}

/// The spaces before the first dash of a list that begins at this byte.
fn indent_of(text: &str, list: usize) -> String {
    let start = text[..list].rfind(['\n', '\r']).map_or(0, |at| at + 1);
    text[start..].chars().take_while(|c| *c == ' ').collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::house::House;
    use crate::judge::judge;
    use crate::plan::read;
    use crate::rules;

    const PLAN: &str = "plan: 1\namplifiers: {amp: {}}\ngrounds:\n  floor:\n    on: body-sheet # bare?\n    surface: bare-metal\n    \
         coated_after: false\n";

    fn waived(text: &str) -> String {
        let reading = read(text.to_owned());
        assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
        let judgement = judge(&reading, &House::default(), &rules::all());
        let check = judgement.failed().find(|check| check.subject.path() == "grounds.floor").expect("it fails");
        waiver(&reading, check).expect("a waiver").apply(text)
    }

    #[test]
    fn a_waiver_comes_behind_those_that_are_there_and_is_not_signed() {
        for list in [
            "",
            "waivers:\n",
            "waivers: []\n",
            "waivers:\n  - rule: WIRE-01\n    at: x # one\n",
            "waivers: [{rule: WIRE-01}]\n",
        ] {
            for text in [format!("{PLAN}{list}"), format!("{PLAN}{list}").replace('\n', "\r\n")] {
                let after = read(waived(&text));
                assert!(after.misreads.is_empty(), "{}: {:?}", after.text, after.misreads);
                let last = after.plan.waivers.last().expect("a waiver");
                assert!(
                    last.rule.is_some() && last.at.as_deref() == Some("grounds.floor") && !last.is_signed(),
                    "{last:?}"
                );
                assert_eq!(after.plan.waivers.len(), read(text.clone()).plan.waivers.len() + 1);
                let lone = |text: &str| text.replace("\r\n", "").contains('\n');
                assert!(!text.contains('\r') || !lone(&after.text), "{:?}", after.text);
            }
        }
    }

    #[test]
    fn no_form_is_handed_out_for_a_danger() {
        let reading = read(PLAN.replace("bare-metal", "painted"));
        let judgement = judge(&reading, &House::default(), &rules::all());
        let painted = judgement.failed().find(|check| check.rule.code == "GROUND-01").expect("it fails");
        assert_eq!((painted.severity, waiver(&reading, painted)), (Severity::Danger, None));
    }

    #[test]
    fn a_fact_gets_its_key_and_a_comment_but_no_value() {
        let reading = read(PLAN.replace("    surface: bare-metal\n", ""));
        let find_out = judge(&reading, &House::default(), &rules::all()).find_out;
        let surface = find_out.iter().find(|fact| fact.place.path() == "grounds.floor.surface").expect("it is open");
        let after = fact(&reading, surface).expect("an edit").apply(&reading.text);
        assert!(after.contains("\n    surface: # "), "{after}");
        assert!(read(after).plan.grounds["floor"].surface.is_none());
    }
}
