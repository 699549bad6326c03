//! What the rules of this family go through.

use crate::judge::Judged;
use crate::solve::channels::{self, Channels};
use crate::solve::{Job, Place};

/// Judges every group of outputs that share a setting.
pub fn each<'a>(job: &Job<'a>, check: fn(&Channels<'a>, &Job<'a>) -> Judged) -> Vec<(Place, Judged)> {
    channels::each(job).iter().map(|channels| (channels.place(), check(channels, job))).collect()
}
