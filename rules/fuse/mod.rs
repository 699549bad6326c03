//! Fuses: rating, place, fault, form.

mod above_wire;

use crate::judge::Family;

/// The family.
pub const FAMILY: Family =
    Family { code: "FUSE", title: "Fuses: rating, place, fault, form", rules: &[above_wire::RULE] };
