//! What the rules of this family ask of a turn-on lead: its feed and what hangs on it; leads and feeds that they offer.

use crate::judge::Offer;
use crate::plan::{FeedKind, SourceKind, SystemVoltage, Tap, Terminal, TurnOn, TurnOnFeed};
use crate::quantity::{Current, Range};
use crate::solve::charging::charging_voltage;
use crate::solve::{Decided, GearKind, Job, Known, Place, Thing, Undecided};

/// What the coil of an ordinary relay takes, in ampere; smaller ones are hard to find (common practice, no published
/// source).
const COIL: f64 = 0.1;

/// A relay that carries what hangs on a lead, so that its feed carries only the coil; where the feed gives enough for one.
pub fn through_relay(lead: &Thing<'_, TurnOn>, gives: f64) -> Option<Offer> {
    let relay = "{coil_current: 100 mA, suppression: diode, contact_fuse: 3 A}";
    let is_enough = lead.relay.is_none() && gives >= COIL;
    is_enough.then(|| Offer::new("switch it through a relay of 100 mA").set(lead.at("relay"), relay))
}

/// Feeds that an amplifier may well be switched by: what the radio switches, if it is one that surely does, or what the
/// key does. What was stated of the old circuit goes with it; what the new one spares has to be found out.
pub fn better_feeds(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Vec<Offer> {
    let feed = |title: &str, from: String| Offer::new(title).set(lead.at("from"), from);
    let radio = remote_output(job).map(|radio| {
        let offer = feed("feed it from the radio's remote output", format!("{{kind: radio-output, of: {radio}}}"));
        let plugged = lead.tap.is_none_or(|tap| tap == Tap::Connector);
        if plugged { offer } else { offer.set(lead.at("tap"), "connector") }
    });
    let outlet = "{kind: accessory, circuit: outlet}".to_owned();
    let key = feed("feed it from an outlet that is live with the key at accessory", outlet);
    radio.into_iter().chain([key]).collect()
}

/// What tells an isolator that the engine runs.
pub const SENSE_MEND: &str = "feed it from the alternator's lamp terminal (61, D+) where it has one, or from a circuit that is live \
                          with the ignition (15)";

/// A circuit for the sense wire of an isolator.
pub fn sense_feed(lead: &Thing<'_, TurnOn>) -> Offer {
    Offer::new("feed it from a comfort circuit that is live with the ignition")
        .set(lead.at("from"), "{kind: ignition, circuit: comfort}")
}

/// A radio that surely has a remote output: one that is not the factory's (common practice, no published source), or one
/// that switches something in this plan already.
fn remote_output<'j>(job: &'j Job<'_>) -> Option<&'j str> {
    let in_use = |lead: &'j TurnOn| {
        let from = lead.from.as_ref().filter(|from| from.kind == Some(FeedKind::RadioOutput))?;
        from.of.as_deref().filter(|radio| job.plan.sources.contains_key(*radio))
    };
    let aftermarket = job.plan.sources.iter().find(|(_, source)| source.kind == Some(SourceKind::Aftermarket));
    aftermarket.map(|(name, _)| name.as_str()).or_else(|| job.plan.turn_on.values().find_map(in_use))
}

/// A new lead to a terminal: from the radio's remote output if it surely has one, else from a circuit to be chosen.
pub fn new_lead(to: &Terminal, job: &Job<'_>) -> Offer {
    let (title, from) = match remote_output(job) {
        Some(radio) => ("switch it by the radio", format!("kind: radio-output, of: {radio}")),
        None => ("switch it by the key", "kind: accessory".to_owned()),
    };
    let lead = format!("{{from: {{{from}}}, to: [{to}], size: 18 AWG}}");
    Offer::new(title).set(Place::of(format!("turn_on.{}", to.thing)), lead)
}

/// What hangs on a lead: the coil of its relay, or what it switches and feeds. Gear draws its whole current through its
/// supply terminal, and next to nothing through its turn-on terminal.
///
/// # Errors
/// The facts that an amplifier's own demand needs, where the lead feeds one.
pub fn drawn(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Decided<Vec<(&'static str, Known<Current>)>> {
    if let Some(relay) = &lead.relay {
        let usual = &job.house.assumptions.relay_coil;
        return Ok(vec![("relay coil", job.assume(lead.at("relay.coil_current"), relay.coil_current, usual))]);
    }
    let of = |to: &Terminal| {
        let Some(gear) = job.gear(&to.thing) else {
            let is_step_down = job.plan.isolators.get(&to.thing).is_some_and(crate::plan::Isolator::is_step_down);
            let usual = &job.house.assumptions.remote_current;
            let draws = || ("turn-on terminal", Known::table(usual.range, usual.source));
            return Ok((is_step_down && to.terminal == "remote").then(draws));
        };
        Ok(Some(match (to.terminal.as_str(), gear.kind) {
            ("power", GearKind::Amplifier) => ("amplifier at full output", at_full_output(gear.name, job)?),
            ("power", GearKind::Processor) => ("processor", gear.drawn_on(job)),
            ("power", GearKind::Converter) => ("converter", gear.drawn_on(job)),
            _ => ("turn-on terminal", gear.drawn_by_remote(job)),
        }))
    };
    let drawn = lead.to.iter().map(of).collect::<Decided<Vec<_>>>()?;
    Ok(drawn.into_iter().flatten().collect())
}

/// What an amplifier draws at full output from a circuit of the vehicle, which holds its charging voltage.
fn at_full_output(name: &str, job: &Job<'_>) -> Decided<Known<Current>> {
    let amplifier = job.amplifiers.iter().find(|amplifier| amplifier.name == name);
    let demand = job.demand(amplifier.ok_or(Undecided::NotApplicable("no such amplifier"))?)?;
    let volts = charging_voltage(job, job.plan.system_voltage().map_or(1.0, SystemVoltage::multiple)).range;
    let music = demand.full.scaled(1.0 / volts.high(), 1.0 / volts.low());
    let music: Range<Current> = Range::new(music.low(), music.high());
    Ok(Known::computed(music + demand.idle.range, "supply power at full output / charging voltage + idle current"))
}

/// Whether a lead is the sense wire of an isolator and switches nothing else.
pub fn is_sense_wire(lead: &TurnOn, job: &Job<'_>) -> bool {
    let is_sense = |to: &Terminal| to.terminal == "sense" && job.plan.isolators.contains_key(&to.thing);
    !lead.to.is_empty() && lead.to.iter().all(is_sense)
}

/// A fact about a lead's feed.
pub fn feed<F>(lead: &TurnOn, fact: impl Fn(&TurnOnFeed) -> Option<F>) -> Option<F> {
    lead.from.as_ref().and_then(fact)
}

/// When a lead's feed is live.
pub fn kind(lead: &Thing<'_, TurnOn>) -> Decided<FeedKind> {
    lead.need("from.kind", &feed(lead, |from| from.kind))
}

/// Whether a feed is a circuit of the vehicle that somebody taps, not an output made for the purpose.
pub fn is_tapped(kind: FeedKind) -> bool {
    matches!(kind, FeedKind::Constant | FeedKind::Ignition | FeedKind::Accessory)
}
