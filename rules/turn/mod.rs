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

use crate::judge::{Family, Offer, Slip};
use crate::plan::{FeedKind, SourceKind, Terminal, TurnOn, TurnOnFeed};
use crate::solve::{Decided, Job, Place, Thing};

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

/// What the coil of an ordinary relay takes, in ampere; smaller ones are hard to find (common practice, no published
/// source).
const COIL: f64 = 0.1;

/// A relay that carries what hangs on a lead, so that its feed carries only the coil; where the feed gives enough for one.
pub fn through_relay(lead: &Thing<'_, TurnOn>, gives: f64) -> Option<Offer> {
    let relay = "{coil_current: 100 mA, suppression: diode, contact_fuse: 5 A}";
    let is_enough = lead.relay.is_none() && gives >= COIL;
    is_enough.then(|| Offer::new("switch it through a relay of 100 mA").set(lead.at("relay"), relay))
}

/// Feeds that an amplifier may well be switched by: what the radio switches, if it is one that surely does, or what the
/// key does.
fn better_feeds(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Vec<Offer> {
    let feed = |title: &str, kind| Offer::new(title).set(lead.at("from.kind"), kind);
    let radio = has_remote_output(job).then(|| feed("feed it from the radio's remote output", "radio-output"));
    let key = feed("feed it from a circuit that is live with the key at accessory", "accessory");
    radio.into_iter().chain([key]).collect()
}

/// Whether some radio surely has a remote output: one that is not the factory's (common practice, no published source),
/// or one that switches something in this plan already.
fn has_remote_output(job: &Job<'_>) -> bool {
    let is_used = |lead: &TurnOn| feed(lead, |from| from.kind) == Some(FeedKind::RadioOutput);
    job.plan.sources.values().any(|source| source.kind == Some(SourceKind::Aftermarket))
        || job.plan.turn_on.values().any(is_used)
}

/// A new lead to a terminal: from the radio's remote output if it surely has one, else from a circuit to be chosen.
pub fn new_lead(to: &Terminal, job: &Job<'_>) -> Offer {
    let (title, kind) = if has_remote_output(job) {
        ("switch it by the radio", "radio-output")
    } else {
        ("switch it by the key", "accessory")
    };
    let lead = format!("{{from: {{kind: {kind}}}, to: [{to}], size: 18 AWG}}");
    Offer::new(title).set(Place::of(format!("turn_on.{}", to.thing)), lead)
}

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
