//! The record that a plan was checked: every verdict, and digests of what it was reached by.

use std::fmt::Write;

use sha2::{Digest, Sha256};

use super::build::weighed;
use super::model::{Evidence, Program};
use crate::house::House;
use crate::judge::{Judgement, Rule};
use crate::plan::Reading;

/// The record of one plan. A plan that was read as if it said something else is recorded as it was judged.
pub fn evidence(reading: &Reading, judgement: &Judgement, house: &House, rules: &[&'static Rule]) -> Evidence {
    let rules: Vec<&'static Rule> = rules.iter().copied().filter(|rule| !house.rules.is_off(rule.code)).collect();
    Evidence {
        rules: rules.len(),
        rules_digest: rules_digest(&rules),
        house_digest: house_digest(house),
        plan_digest: text_digest(&reading.text),
        judged_on: house.today.map(|day| day.to_string()),
        verdicts: weighed(reading, judgement),
    }
}

/// SHA-256 of what a house decides.
pub fn house_digest(house: &House) -> String {
    digest([house.settled().as_bytes()])
}

/// SHA-256 of a text as it stands.
pub fn text_digest(text: &str) -> String {
    hexadecimal(&Sha256::digest(text.as_bytes()))
}

/// SHA-256 of the rules: their codes, severities and pages, and the version of the program.
pub fn rules_digest(rules: &[&'static Rule]) -> String {
    let texts = rules.iter().flat_map(|rule| [rule.code, rule.name, rule.severity.word(), rule.page]);
    digest(texts.chain([Program::default().version]).map(str::as_bytes))
}

/// SHA-256 over some texts, each with its length, in hexadecimal digits.
pub(super) fn digest<'a>(texts: impl IntoIterator<Item = &'a [u8]>) -> String {
    let mut hasher = Sha256::new();
    for text in texts {
        hasher.update(text.len().to_le_bytes());
        hasher.update(text);
    }
    hexadecimal(&hasher.finalize())
}

fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut digits, byte| {
        let _ = write!(digits, "{byte:02x}");
        digits
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4's example: SHA-256 of `abc` (NIST's published values).
    #[test]
    fn the_digest_of_a_plan_is_that_of_its_bytes() {
        let reading = crate::plan::read("abc".into());
        let record = evidence(&reading, &Judgement::default(), &House::default(), &[]);
        assert_eq!(record.plan_digest, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn texts_do_not_run_together() {
        assert_ne!(digest([b"ab".as_slice(), b"c"]), digest([b"a".as_slice(), b"bc"]));
    }
}
