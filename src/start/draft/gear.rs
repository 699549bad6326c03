//! What somebody knows of vehicle, amplifiers and drivers.

use crate::plan::{SystemVoltage, Zone, choices, word};
use crate::start::paper::{Paper, maybe, quoted};
use crate::start::said::DRIVER_KIND;
use crate::start::{Amplifier, Driver, Facts, Output};
use crate::words::either;

pub(super) fn write_vehicle(paper: &mut Paper, facts: &Facts) {
    let is_open = facts.vehicle_shelf.is_none();
    paper.section("vehicle");
    // Beside a thing of the shelf an empty key would say that it is not known after all.
    let mut key = |depth: usize, key: &str, value: Option<String>, remark: &str| match value {
        Some(value) => paper.key(depth, key, value, ""),
        None if is_open => paper.key(depth, key, "", remark),
        None => {}
    };
    if !is_open {
        key(1, "shelf", facts.vehicle_shelf.clone(), "");
    }
    key(1, "summary", facts.vehicle.as_deref().map(quoted), "");
    key(1, "voltage", facts.voltage.as_ref().map(word), &either(&choices("vehicle.voltage")));
    key(
        1,
        "body",
        facts.body.as_ref().map(word),
        &format!("{}: can it carry a return?", either(&choices("vehicle.body"))),
    );
    key(1, "high_voltage", facts.high_voltage.as_ref().map(word), &either(&choices("vehicle.high_voltage")));
    key(1, "airbags", facts.airbags.as_ref().map(word), &either(&choices("vehicle.airbags")));
    if is_open || facts.battery.is_some() {
        key(1, "battery", Some(String::new()), "");
        key(2, "location", facts.battery.map(Zone::word), "");
        key(2, "kind", None, "its label tells: flooded, agm, ...");
        key(2, "capacity", None, "");
        key(2, "cold_cranking", None, "");
        key(2, "monitor", None, "is there a sensor on the negative clamp?");
    }
    if is_open || facts.alternator.is_some() {
        key(1, "alternator", Some(String::new()), "");
        key(2, "rated", facts.alternator.map(|rated| rated.to_string()), "");
        key(2, "at_idle", None, "hot");
        key(2, "control", None, "its own regulator (fixed), or the engine's control unit (ecu)");
    }
    key(1, "factory_load", is_open.then(String::new), "");
    key(2, "running", None, "clamp meter, lamps and blower on");
    key(2, "key_off", None, "asleep: half an hour after locking");
}

pub(super) fn write_amplifiers(paper: &mut Paper, facts: &Facts) {
    if !facts.amplifiers.is_empty() {
        paper.section("amplifiers");
    }
    for amplifier in &facts.amplifiers {
        paper.key(1, &amplifier.name, "", "");
        let location = maybe(amplifier.location.map(Zone::word));
        if let Some(shelf) = &amplifier.shelf {
            paper.key(2, "shelf", shelf, "");
        }
        if amplifier.shelf.is_none() || amplifier.location.is_some() {
            paper.key(2, "location", location, "");
        }
        write_outputs(paper, amplifier);
        if amplifier.shelf.is_none() {
            let window = match facts.voltage {
                Some(SystemVoltage::TwentyFour) => "like 20 V .. 32 V",
                _ => "like 10 V .. 16 V",
            };
            paper.open(
                2,
                &[
                    ("minimum_load", ""),
                    ("operating_voltage", window),
                    ("onboard_fuses", "on its case, like [25 A, 25 A]"),
                    ("maximum_fuse", "if its maker gives one"),
                ],
            );
            paper.key(2, "terminals", "{power: , speaker: , strip: }", "");
            paper.key(2, "remote_current", "", "");
        }
    }
}

/// The channels of an amplifier: the first that are alike as its own, the others as sections.
fn write_outputs(paper: &mut Paper, amplifier: &Amplifier) {
    let is_open = amplifier.shelf.is_none();
    let (first, others) = match amplifier.outputs.split_first() {
        Some((first, others)) => (Some(*first), others),
        None => (None, &[][..]),
    };
    if is_open {
        paper.key(2, "class", "", "AB or D, mostly: it decides the current");
    }
    if is_open || first.is_some() {
        let channels = first.map(|_| amplifier.outputs.iter().map(|output| u32::from(output.channels)).sum::<u32>());
        paper.key(2, "channels", maybe(channels), "");
    }
    if is_open || first.is_some_and(|first| first.power.is_some()) {
        write_rated(paper, 2, first);
    }
    if is_open {
        write_bridged(paper, 2, first);
    }
    if !others.is_empty() {
        paper.key(2, "sections", "", "");
    }
    let mut next = first.map_or(1, |first| first.channels + 1);
    for output in others {
        let own: Vec<String> = (next..next + output.channels).map(|output| output.to_string()).collect();
        next += output.channels;
        let name = format!("output{}-{}", if own.len() > 1 { "s" } else { "" }, own.join("-"));
        paper.key(3, &name, "", "");
        paper.key(4, "outputs", format!("[{}]", own.join(", ")), "");
        paper.key(4, "class", "", "if it is another than that of the others");
        write_rated(paper, 4, Some(*output));
        write_bridged(paper, 4, Some(*output));
        paper.key(4, "minimum_load", "", "");
    }
}

fn write_rated(paper: &mut Paper, depth: usize, output: Option<Output>) {
    match output.map(|output| (output.power, output.load)) {
        Some((Some(power), Some(load))) => paper.key(depth, "rated", format!("[{{load: {load}, power: {power}}}]"), ""),
        Some((Some(power), None)) => {
            paper.key(depth, "rated", "", &format!("{power} into which load? like [{{load: 4 ohm, power: {power}}}]"));
        }
        _ => paper.key(depth, "rated", "", "like [{load: 4 ohm, power: 75 W}], a channel"),
    }
}

/// Two outputs make one where a channel is left over for it.
fn write_bridged(paper: &mut Paper, depth: usize, output: Option<Output>) {
    if output.is_some_and(|output| output.channels > 1) {
        paper.key(depth, "bridged", "", "none, or {rated: [{load: 4 ohm, power: 300 W}], minimum_load: 4 ohm}");
    }
}

pub(super) fn write_drivers(
    paper: &mut Paper,
    drivers: &[(String, &Driver)],
    box_of: &dyn Fn(&Driver) -> Option<String>,
) {
    if !drivers.is_empty() {
        paper.section("drivers");
    }
    for (name, driver) in drivers {
        let is_open = driver.shelf.is_none();
        paper.key(1, name, "", "");
        let mut key = |key: &str, value: Option<String>, remark: &str| match value {
            Some(value) => paper.key(2, key, value, ""),
            None if is_open => paper.key(2, key, "", remark),
            None => {}
        };
        if !is_open {
            key("shelf", driver.shelf.clone(), "");
        }
        key("kind", driver.kind.as_ref().map(word), &either(&choices(DRIVER_KIND)));
        let coils: Vec<String> = driver.coils.iter().map(ToString::to_string).collect();
        key(
            "coils",
            (!coils.is_empty()).then(|| format!("[{}]", coils.join(", "))),
            "each voice coil, like [4 ohm, 4 ohm]",
        );
        key("rms", driver.rms.map(|rms| rms.to_string()), "all coils together");
        if let Some(name) = box_of(driver) {
            key("enclosure", Some(name), "");
            key("box_volume", None, "what its maker asks for");
        }
    }
}
