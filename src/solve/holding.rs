//! What fasteners hold.
//!
//! Proof load = stress area x proof stress, after ISO 898-1. The stress areas and proof stresses are from memory. It is
//! the load that a bolt bears in tension without taking a set; the sheet under it may give way sooner.

use crate::plan::{FastenerKind, StrengthClass, Thread};

/// Standard gravity in m/s2.
pub const GRAVITY: f64 = 9.806_65;

/// Stress area of a coarse metric thread in mm2 (ISO 898-1, from memory).
pub fn stress_area(thread: Thread) -> f64 {
    match thread {
        Thread::M3 => 5.03,
        Thread::M4 => 8.78,
        Thread::M5 => 14.2,
        Thread::M6 => 20.1,
        Thread::M8 => 36.6,
        Thread::M10 => 58.0,
        Thread::M12 => 84.3,
    }
}

/// Stress under proof load in N/mm2, diameters up to 16 mm (ISO 898-1, from memory).
pub fn proof_stress(class: StrengthClass) -> f64 {
    match class {
        StrengthClass::C48 => 310.0,
        StrengthClass::C58 => 380.0,
        StrengthClass::C88 => 580.0,
        StrengthClass::C109 => 830.0,
    }
}

/// What of its proof load a bolt holds across its axis (common practice, no published source; a shear strength of 0.6 of
/// the tensile strength is what handbooks reckon with, from memory).
pub const ACROSS: f64 = 0.6;

/// Proof load of one bolt along its axis, in newtons.
pub fn proof_load(thread: Thread, class: StrengthClass) -> f64 {
    stress_area(thread) * proof_stress(class)
}

/// What one bolt holds in any direction, in newtons: head-on, gear on a floor pulls across its bolts.
pub fn bolt_load(thread: Thread, class: StrengthClass) -> f64 {
    proof_load(thread, class) * ACROSS
}

/// What one fastener without a machine thread is taken to hold, in newtons: far under what a fresh one bears in a test,
/// since vibration works on it for years (common practice, no published source). `None` for those with a machine thread.
pub fn assumed_holding(kind: FastenerKind) -> Option<f64> {
    match kind {
        FastenerKind::MachineScrew | FastenerKind::BracketBolt => None,
        FastenerKind::WoodScrew => Some(500.0),
        FastenerKind::SheetMetalScrew => Some(400.0),
        FastenerKind::Strap => Some(2000.0),
        FastenerKind::HookAndLoop | FastenerKind::Adhesive | FastenerKind::None => Some(0.0),
    }
}

/// The mass in kilograms that a force in newtons holds at so many g.
pub fn held_mass(newtons: f64, g: f64) -> f64 {
    newtons / (g * GRAVITY)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Proof loads as ISO 898-1 rounds them, coarse thread, in newtons (from memory).
    #[test]
    fn proof_loads_agree_with_the_rounded_ones_of_the_standard() {
        for (thread, class, printed) in [
            (Thread::M5, StrengthClass::C48, 4400.0),
            (Thread::M6, StrengthClass::C58, 7640.0),
            (Thread::M6, StrengthClass::C88, 11_600.0),
            (Thread::M8, StrengthClass::C88, 21_200.0),
            (Thread::M8, StrengthClass::C109, 30_400.0),
            (Thread::M10, StrengthClass::C88, 33_700.0),
            (Thread::M12, StrengthClass::C88, 48_900.0),
        ] {
            let ours = proof_load(thread, class);
            assert!((ours / printed - 1.0).abs() < 0.006, "{thread:?} {class:?}: {ours} here, {printed} printed");
        }
    }

    #[test]
    fn twenty_g_on_twenty_kilograms_is_near_four_kilonewtons() {
        assert!((held_mass(3922.66, 20.0) - 20.0).abs() < 1e-9);
    }
}
