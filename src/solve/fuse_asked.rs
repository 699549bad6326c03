//! What their load asks of fuses.

use super::case::Case;
use super::gear::GearKind;
use super::job::Job;
use super::known::{Decided, Known};
use crate::plan::Amplifier;
use crate::quantity::{Current, Quantity, Range};

/// What its load asks of a fuse.
pub struct FuseAsked {
    /// Current at full output.
    pub full: Known<Current>,
    /// Current with programme.
    pub programme: Known<Current>,
    /// The fuses on the cases of all amplifiers that it feeds, added; nothing where one has none or does not say.
    pub on_cases: Option<Quantity<Current>>,
    /// Full output, and programme at the share that a fuse carries for long; no more than the fuses on the cases let
    /// through.
    pub asked: Range<Current>,
}

impl Job<'_> {
    /// What its load asks of a fuse.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn fuse_asked(&self, fuse: usize) -> Decided<FuseAsked> {
        let full = self.fuse_current(fuse, Case::IdleFull)?;
        let programme = self.fuse_current(fuse, Case::IdleProgramme)?;
        let on_cases = self.fuses_on_cases(fuse);
        let asked = full.range.max(programme.range / self.house.limits.fuse_loading.base());
        let asked = on_cases.map_or(asked, |most| asked.min(most.into()));
        Ok(FuseAsked { full, programme, on_cases, asked })
    }

    /// The fuses on the cases of all amplifiers that a fuse feeds, with what other gear draws through it, added; nothing
    /// where an amplifier has none or does not say.
    fn fuses_on_cases(&self, fuse: usize) -> Option<Quantity<Current>> {
        let is_fed = |name: &str| self.ways_to_gear(name).iter().any(|way| way.fuses.contains(&fuse));
        let amplifiers = self.amplifiers.iter().filter(|amplifier| is_fed(amplifier.name));
        let sums: Option<Vec<f64>> = amplifiers.map(|amplifier| on_case(amplifier)).collect();
        let sums = sums.filter(|sums| !sums.is_empty())?;
        let others = self.gear.iter().filter(|gear| gear.kind != GearKind::Amplifier && is_fed(gear.name));
        let others = others.map(|gear| gear.drawn_on(self).range.high());
        Some(Quantity::new(sums.into_iter().chain(others).sum()))
    }
}

/// The fuses on the case of an amplifier, added, in A; nothing where it has none or does not say.
fn on_case(amplifier: &Amplifier) -> Option<f64> {
    let own = amplifier.onboard_fuses.as_ref().filter(|own| !own.is_empty())?;
    Some(own.iter().map(|rating| rating.base()).sum())
}
