//! What the rules of this family ask of a mount, and what they offer.

use crate::judge::Offer;
use crate::plan::{Mount, MountOn};
use crate::solve::{Decided, Job, Thing, Undecided};

/// Bolts that rules offer, by number and thread, from the usual ones up; what lies loose gets a floor to stand on.
pub fn bolts(mount: &Thing<'_, Mount>) -> Vec<Offer> {
    let offer = |(count, thread): (u8, &str)| {
        let offer = Offer::new(format!("bolt it down with {count} x {thread}"));
        let offer = if mount.on == Some(MountOn::Loose) { offer.set(mount.at("on"), "cargo-floor") } else { offer };
        let bolts = format!("{{count: {count}, kind: bracket-bolt, thread: {thread}, class: 8.8}}");
        offer.set(mount.at("fasteners"), bolts)
    };
    [(4, "M6"), (4, "M8"), (6, "M8"), (4, "M10"), (8, "M10"), (8, "M12")].map(offer).into()
}

/// How a piece of gear is held.
pub fn mount_of<'a>(job: &Job<'a>, name: &str) -> Decided<Thing<'a, Mount>> {
    let found = job.plan.mounts.get_key_value(name);
    let (name, mount) = found.ok_or_else(|| Undecided::need(crate::solve::Place::of(format!("mounts.{name}"))))?;
    Ok(Thing::new("mounts", name, mount))
}
