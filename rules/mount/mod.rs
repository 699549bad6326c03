//! Mounting: held, cool, dry and out of the way.

mod blind_side;
mod blocks;
mod heat;
mod held;
mod hold;
mod on_enclosure;
mod unfastened;
mod wet;

use crate::judge::{Family, Slip};
use crate::plan::Mount;
use crate::solve::{Decided, Job, Thing, Undecided};

/// The family.
pub const FAMILY: Family = Family {
    code: "MOUNT",
    title: "Mounting: held, cool, dry and out of the way",
    rules: &[unfastened::RULE, held::RULE, heat::RULE, on_enclosure::RULE, blind_side::RULE, blocks::RULE, wet::RULE],
};

/// How a piece of gear is held.
fn mount_of<'a>(job: &Job<'a>, name: &str) -> Decided<Thing<'a, Mount>> {
    let found = job.plan.mounts.get_key_value(name);
    let (name, mount) = found.ok_or_else(|| Undecided::need(crate::solve::Place::of(format!("mounts.{name}"))))?;
    Ok(Thing::new("mounts", name, mount))
}
