//! Remote turn-on: what feeds it, how it is tapped, what it is asked to give.

mod constant;
mod ignition;
mod improvised_tap;
mod nothing;
mod overload;
mod safety_circuit;
mod suppression;
mod thump;
mod unfused_tap;

use crate::judge::{Family, Slip};
use crate::plan::{FeedKind, TurnOn, TurnOnFeed};
use crate::solve::{Decided, Thing};

/// The family.
pub const FAMILY: Family = Family {
    code: "TURN",
    title: "Remote turn-on: feed, tap, current, order",
    rules: &[
        constant::RULE,
        nothing::RULE,
        overload::RULE,
        improvised_tap::RULE,
        safety_circuit::RULE,
        ignition::RULE,
        suppression::RULE,
        unfused_tap::RULE,
        thump::RULE,
    ],
};

/// A fact about a lead's feed.
fn feed<F>(lead: &TurnOn, fact: impl Fn(&TurnOnFeed) -> Option<F>) -> Option<F> {
    lead.from.as_ref().and_then(fact)
}

/// When a lead's feed is live.
fn kind(lead: &Thing<'_, TurnOn>) -> Decided<FeedKind> {
    lead.need("from.kind", &feed(lead, |from| from.kind))
}

/// Whether a feed is a circuit of the vehicle that somebody taps, not an output made for the purpose.
fn is_tapped(kind: FeedKind) -> bool {
    matches!(kind, FeedKind::Constant | FeedKind::Ignition | FeedKind::Accessory)
}
