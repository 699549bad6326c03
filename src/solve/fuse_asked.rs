//! What their load asks of fuses.

use super::case::Case;
use super::job::Job;
use super::known::{Decided, Thing};
use crate::plan::Amplifier;
use crate::quantity::{Current, Quantity, Range};

impl Job<'_> {
    /// What its load asks of a fuse: full output, and programme at the share that a fuse carries for long; no more than
    /// the fuses on the cases of the amplifiers let through.
    ///
    /// # Errors
    /// The facts that are missing.
    pub fn fuse_asked(&self, fuse: usize) -> Decided<Range<Current>> {
        let full = self.fuse_current(fuse, Case::IdleFull)?.range;
        let programme = self.fuse_current(fuse, Case::IdleProgramme)?.range;
        let asked = full.max(programme / self.house.limits.fuse_loading.base());
        Ok(self.fuses_on_cases(fuse).map_or(asked, |most| asked.min(most.into())))
    }

    /// The fuses on the cases of all amplifiers that a fuse feeds, added; nothing where one has none or does not say.
    pub fn fuses_on_cases(&self, fuse: usize) -> Option<Quantity<Current>> {
        let fed = |amplifier: &&Thing<'_, Amplifier>| {
            self.ways_to_amplifier(amplifier).iter().any(|way| way.fuses.contains(&fuse))
        };
        let sums: Option<Vec<f64>> = self.amplifiers.iter().filter(fed).map(|amplifier| on_case(amplifier)).collect();
        sums.filter(|sums| !sums.is_empty()).map(|sums| Quantity::new(sums.iter().sum()))
    }
}

/// The fuses on the case of an amplifier, added, in A; nothing where it has none or does not say.
fn on_case(amplifier: &Amplifier) -> Option<f64> {
    let own = amplifier.onboard_fuses.as_ref().filter(|own| !own.is_empty())?;
    Some(own.iter().map(|rating| rating.base()).sum())
}
