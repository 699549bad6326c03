//! All rules, one folder a family, one module and one page a rule. What several rules of a family ask stands in its
//! `site`, or in another file without a page.

pub mod enclosure;
pub mod fuse;
pub mod ground;
pub mod load;
pub mod mount;
pub mod plan;
pub mod proof;
pub mod route;
pub mod signal;
pub mod step;
pub mod supply;
mod tape;
#[cfg(test)]
pub(crate) mod trial;
pub mod tune;
pub mod turn;
pub mod wire;

use crate::judge::{Family, Rule};
use crate::words::{excerpt, nearest};

/// All families, in the order of the rule book.
pub const FAMILIES: &[Family] = &[
    plan::FAMILY,
    supply::FAMILY,
    fuse::FAMILY,
    wire::FAMILY,
    ground::FAMILY,
    route::FAMILY,
    turn::FAMILY,
    load::FAMILY,
    signal::FAMILY,
    tune::FAMILY,
    step::FAMILY,
    mount::FAMILY,
    enclosure::FAMILY,
    proof::FAMILY,
];

/// Every rule, by family and code.
pub fn all() -> Vec<&'static Rule> {
    let all = FAMILIES.iter().flat_map(|family| family.rules);
    #[cfg(test)]
    let all = all.chain(trial::more());
    all.collect()
}

/// Rules that sizes of wires and ratings of fuses decide, looked at one by one.
const BY_SIZE: [&str; 11] = [
    "SUPPLY-13",
    "FUSE-01",
    "FUSE-05",
    "FUSE-08",
    "FUSE-09",
    "FUSE-10",
    "FUSE-11",
    "WIRE-05",
    "WIRE-06",
    "WIRE-09",
    "WIRE-17",
];
/// Rules that they decide through what flows in the whole supply.
const BY_CURRENT: [&str; 6] = ["SUPPLY-03", "SUPPLY-04", "FUSE-04", "WIRE-01", "WIRE-02", "GROUND-10"];

/// The rules that sizes of wires and ratings of fuses decide: those that look at a wire, its terminals and its fuse, and
/// those that need the currents of the whole supply.
pub fn of_sizes() -> (Vec<&'static Rule>, Vec<&'static Rule>) {
    let named = |codes: &[&str]| codes.iter().filter_map(|code| find(code)).collect();
    (named(&BY_SIZE), named(&BY_CURRENT))
}

/// The rule of this code or name.
pub fn find(word: &str) -> Option<&'static Rule> {
    FAMILIES.iter().flat_map(|family| family.rules).find(|rule| rule.is_called(word))
}

/// The code or the name that somebody may have meant.
pub fn near(word: &str) -> Option<&'static str> {
    nearest(word, all().into_iter().flat_map(|rule| [rule.code, rule.name]))
}

/// What to say to somebody who asks for a rule that is not there.
pub fn unknown(word: &str) -> String {
    let mend = near(word).map_or("`testlamp rulebook` lists them all".into(), |near| format!("did you mean {near}?"));
    format!("no rule is called `{}`; {mend}", excerpt(word, 40))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_that_sizes_decide_is_there() {
        let (by_size, by_current) = of_sizes();
        assert_eq!((by_size.len(), by_current.len()), (BY_SIZE.len(), BY_CURRENT.len()));
    }

    #[test]
    fn a_slip_in_a_code_or_a_name_is_told_with_what_was_meant() {
        assert_eq!(near("FUSE-1"), Some("FUSE-01"));
        assert_eq!(near("fuse-above-wir"), Some("fuse-above-wire"));
        assert_eq!(near("something else altogether"), None);
        assert_eq!(unknown("FUSE-1"), "no rule is called `FUSE-1`; did you mean FUSE-01?");
        assert_eq!(unknown("?"), "no rule is called `?`; `testlamp rulebook` lists them all");
    }
}
