//! What people say of gear, in the words of a counter: `bass-amp: 1 x 500 W at 2 ohm, in cargo`.

use super::name::name;
use super::{Amplifier, Driver, Output};
use crate::plan::{Room, Zone, choices};
use crate::quantity::{Dimension, Power, Quantity, Resistance};
use crate::words::{either, excerpt};

/// Where an amplifier can be put.
const AMPLIFIER_ZONES: [Zone; 8] = [
    Zone::Cargo,
    Zone::UnderSeat,
    Zone::RearSeat,
    Zone::SpareWell,
    Zone::CabinFloor,
    Zone::Dash,
    Zone::LeftFootwell,
    Zone::RightFootwell,
];
/// Where vehicles have their battery.
const BATTERY_ZONES: [Zone; 7] =
    [Zone::EngineBay, Zone::Cargo, Zone::SpareWell, Zone::UnderSeat, Zone::RearSeat, Zone::CabinFloor, Zone::Underbody];
/// The key of a plan that says what a driver is.
pub const DRIVER_KIND: &str = "drivers.any.kind";
/// More of one kind is a slip.
const MOST: u8 = 16;

/// Reads `NAME`, or `NAME: ` and any of `shelf THING`, `1 x 500 W at 2 ohm`, `4 x 75 W + 1 x 300 W`, `4 channels`,
/// `in ZONE`, with commas between.
///
/// # Errors
/// A sentence on the part that cannot be taken.
pub fn amplifier(written: &str) -> Result<Amplifier, String> {
    let (own_name, parts) = named(written)?;
    let mut said = Amplifier { name: own_name, ..Amplifier::default() };
    let mut channels = None;
    for part in parts {
        if let Some(thing) = after(part, "shelf") {
            put(&mut said.shelf, name(thing)?, part)?;
        } else if let Some(zone) = after(part, "in") {
            put(&mut said.location, amplifier_zone(zone)?, part)?;
        } else if part.starts_with(|c: char| c.is_ascii_digit()) {
            put(&mut channels, outputs(part)?, part)?;
        } else {
            return Err(format!(
                "`{}` cannot be taken of an amplifier here; write `shelf THING`, `1 x 500 W at 2 ohm`, `4 channels` or `in cargo`, \
                 and the rest into the draft",
                excerpt(part, 40)
            ));
        }
    }
    said.outputs = channels.unwrap_or_default();
    Ok(said)
}

/// Reads `NAME`, or `NAME: ` and any of `shelf THING`, a kind, `4 ohm + 4 ohm`, `500 W`, `2 pieces`, `on AMPLIFIER`.
///
/// # Errors
/// A sentence on the part that cannot be taken.
pub fn driver(written: &str) -> Result<Driver, String> {
    let (own_name, parts) = named(written)?;
    let mut said = Driver { name: own_name, ..Driver::default() };
    for part in parts {
        if let Ok(kind) = serde_json::from_value(part.into()) {
            put(&mut said.kind, kind, part)?;
        } else if let Some(thing) = after(part, "shelf") {
            put(&mut said.shelf, name(thing)?, part)?;
        } else if let Some(amplifier) = after(part, "on") {
            put(&mut said.on, name(amplifier)?, part)?;
        } else if let Some(count) = part.strip_suffix("pieces").or_else(|| part.strip_suffix("piece")) {
            put(&mut said.count, counted(count, "pieces")?, part)?;
        } else if part.contains("ohm") && said.coils.is_empty() {
            said.coils = coils(part)?;
        } else if part.ends_with('W') {
            put(&mut said.rms, above_zero::<Power>(part)?, part)?;
        } else {
            return Err(format!(
                "`{}` cannot be taken of a driver here; write `shelf THING`, {}, `4 ohm + 4 ohm`, `500 W`, `2 pieces` or `on AMPLIFIER`",
                excerpt(part, 40),
                choices(DRIVER_KIND).join(", ")
            ));
        }
    }
    Ok(said)
}

/// Reads `1 x 500 W at 2 ohm`, `4 x 75 W + 1 x 300 W at 2 ohm` of channels that are not all alike, or `4 channels`.
///
/// # Errors
/// A sentence that says what is taken.
pub fn outputs(written: &str) -> Result<Vec<Output>, String> {
    let outputs = written.split('+').map(output).collect::<Result<Vec<_>, _>>()?;
    let channels: usize = outputs.iter().map(|output| usize::from(output.channels)).sum();
    if channels > usize::from(MOST) {
        return Err(format!("{channels} channels on one amplifier are too many; write {MOST} at most"));
    }
    Ok(outputs)
}

/// Channels that are alike. A power without its load is taken as it is said: the load is found out.
fn output(written: &str) -> Result<Output, String> {
    let written = written.trim();
    if let Some(count) = written.strip_suffix("channels").or_else(|| written.strip_suffix("channel")) {
        return Ok(Output { channels: counted(count, "channels")?, power: None, load: None });
    }
    let Some((count, rated)) = written.split_once(" x ") else {
        return Err(format!(
            "`{}` is no output; write it like 1 x 500 W at 2 ohm, 4 x 75 W + 1 x 300 W at 2 ohm, or 4 channels",
            excerpt(written, 40)
        ));
    };
    let (power, load) = rated.split_once(" at ").map_or((rated, None), |(power, load)| (power, Some(load)));
    let (power, load) = (above_zero::<Power>(power)?, load.map(above_zero::<Resistance>).transpose()?);
    Ok(Output { channels: counted(count, "channels")?, power: Some(power), load })
}

/// Reads `4 ohm + 4 ohm`, or `2 x 4 ohm` of coils alike.
///
/// # Errors
/// A sentence on the first coil that cannot be taken.
pub fn coils(written: &str) -> Result<Vec<Quantity<Resistance>>, String> {
    let alike = |written: &str| {
        let (count, each) = match written.split_once('x') {
            Some((count, each)) => (counted(count, "coils")?, each),
            None => (1, written),
        };
        Ok::<_, String>(vec![above_zero(each)?; usize::from(count)])
    };
    let coils = written.split('+').map(alike).collect::<Result<Vec<_>, _>>()?.concat();
    if coils.len() > 4 { Err(format!("{} coils on one driver are too many", coils.len())) } else { Ok(coils) }
}

/// Where an amplifier can be put.
///
/// # Errors
/// A sentence with the places.
pub fn amplifier_zone(written: &str) -> Result<Zone, String> {
    zone(written, &AMPLIFIER_ZONES, "where an amplifier can be planned")
}

/// Where the battery can sit.
///
/// # Errors
/// A sentence with the places.
pub fn battery_zone(written: &str) -> Result<Zone, String> {
    zone(written, &BATTERY_ZONES, "where a battery sits")
}

fn zone(written: &str, zones: &[Zone], what: &str) -> Result<Zone, String> {
    debug_assert!(
        zones.iter().all(|zone| matches!(zone.room(), Some(Room::Inside | Room::EngineBay | Room::Underbody)))
    );
    let written = written.trim();
    let known: Vec<String> = zones.iter().map(|zone| zone.word()).collect();
    let meant = super::meant(written, known.iter().map(String::as_str));
    zones
        .iter()
        .copied()
        .find(|zone| Some(zone.word().as_str()) == meant)
        .ok_or_else(|| format!("`{}` is no place {what}; write {}", excerpt(written, 40), either(&known)))
}

fn named(written: &str) -> Result<(String, Vec<&str>), String> {
    let (own_name, rest) = written.split_once(':').unwrap_or((written, ""));
    let parts = rest.split(',').map(str::trim).filter(|part| !part.is_empty()).collect();
    Ok((name(own_name)?, parts))
}

/// What stands after a word.
fn after<'p>(part: &'p str, first: &str) -> Option<&'p str> {
    part.strip_prefix(first).filter(|rest| rest.starts_with(' ')).map(str::trim)
}

fn put<T>(slot: &mut Option<T>, value: T, part: &str) -> Result<(), String> {
    match slot.replace(value) {
        None => Ok(()),
        Some(_) => Err(format!("`{}` says something that was said already", excerpt(part, 40))),
    }
}

fn counted(written: &str, what: &str) -> Result<u8, String> {
    let count = written.trim().parse().ok().filter(|count| (1..=MOST).contains(count));
    count.ok_or_else(|| format!("`{}` is no number of {what}; write 1 to {MOST}", excerpt(written.trim(), 40)))
}

fn above_zero<D: Dimension>(written: &str) -> Result<Quantity<D>, String> {
    let quantity = Quantity::<D>::read(written)?;
    if quantity.base() > 0.0 { Ok(quantity) } else { Err(format!("`{}` is nothing", excerpt(written.trim(), 40))) }
}
