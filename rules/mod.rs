//! All rules, one folder a family, one module and one page a rule.

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
#[cfg(test)]
mod trial;
pub mod tune;
pub mod turn;
pub mod wire;

use crate::judge::{Family, Rule};

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
    FAMILIES.iter().flat_map(|family| family.rules).collect()
}

/// The rule of this code or name.
pub fn find(word: &str) -> Option<&'static Rule> {
    FAMILIES.iter().flat_map(|family| family.rules).find(|rule| rule.is_called(word))
}
