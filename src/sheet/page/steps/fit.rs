//! Steps that make, fasten, charge, fuse or set one thing.

use super::told::{Told, with};
use crate::plan::{Fuse, Ground, Mount, Plan, Setting};
use crate::sheet::page::bits::{fuse_form, listed, plain};

/// A ground, with how it is made.
pub fn ground(plan: &Plan, name: &str) -> Told {
    with(format!("Make the ground {name}"), plan.grounds.get(name).map(how_grounded))
}

fn how_grounded(ground: &Ground) -> String {
    let fastener = ground.fastener.as_ref();
    listed([
        ground.on.map(|on| format!("on {}", plain(&on))),
        ground.surface.map(|surface| format!("surface: {}", plain(&surface))),
        fastener.and_then(|fastener| fastener.kind).map(|kind| plain(&kind)),
        fastener.and_then(|fastener| fastener.thread).map(|thread| plain(&thread)),
        fastener.and_then(|fastener| fastener.locking).filter(|is| *is).map(|_| "locking".into()),
        ground.coated_after.filter(|is| *is).map(|_| "coat it again once it is tight".into()),
    ])
}

/// A thing, with what fastens it.
pub fn mount(plan: &Plan, name: &str) -> Told {
    with(format!("Fasten {name}"), plan.mounts.get(name).map(how_held))
}

fn how_held(mount: &Mount) -> String {
    let fasteners = mount.fasteners.as_ref();
    let count = fasteners.and_then(|fasteners| fasteners.count).map(|count| format!("{count} ×"));
    let kind = fasteners.and_then(|fasteners| fasteners.kind).map(|kind| plain(&kind));
    let thread = fasteners.and_then(|fasteners| fasteners.thread).map(|thread| plain(&thread));
    let held: Vec<String> = [count, kind, thread].into_iter().flatten().collect();
    listed([
        mount.on.map(|on| format!("on: {}", plain(&on))),
        Some(held.join(" ")),
        mount.clearance.map(|clearance| format!("{clearance} of air around it")),
        mount.blind_side.map(|looked| format!("behind: {}", plain(&looked))),
    ])
}

/// A capacitor is charged across what keeps its feed open.
pub fn charge(plan: &Plan, name: &str) -> Told {
    let volts = plan.capacitors.get(name).and_then(|capacitor| capacitor.voltage);
    let most = volts.map(|volts| format!("never above {volts}")).unwrap_or_default();
    let across = "across the open fuse, until the meter reads the battery's voltage".to_owned();
    with(format!("Charge {name} through a resistor or a lamp"), [across, most])
}

/// A capacitor is discharged with its feed open.
pub fn discharge(name: &str) -> Told {
    with(
        format!("Discharge {name} through a resistor or a lamp"),
        ["with its feed open, until the meter reads less than 1 V; never with a spanner or a wire".to_owned()],
    )
}

/// The fuses of a wire or of a block.
pub fn fuse(plan: &Plan, name: &str) -> Told {
    let of_wire = plan.wires.get(name).into_iter().flat_map(|wire| wire.fuse.iter().chain(&wire.far_fuse));
    let of_wire = of_wire.map(|fuse| (String::new(), fuse));
    let outputs = plan.blocks.get(name).into_iter().flat_map(|block| &block.outputs);
    let of_block = outputs.filter_map(|(output, stated)| Some((format!("{output}: "), stated.fuse.as_ref()?)));
    let all: Vec<(String, &Fuse)> = of_wire.chain(of_block).collect();
    let does = match (all.iter().any(|(_, fuse)| fuse.is_breaker()), all.iter().any(|(_, fuse)| !fuse.is_breaker())) {
        (true, true) => "Put in the fuse and close the breaker of",
        (true, false) => "Close the breaker of",
        _ => "Put in the fuse of",
    };
    let fuses = all.iter().map(|(at, fuse)| {
        let rating = fuse.rating.map_or_else(|| "rating not stated".into(), |rating| rating.to_string());
        let form = fuse.form.map(|form| format!(" {}", fuse_form(form))).unwrap_or_default();
        format!("{at}{rating}{form}")
    });
    with(format!("{does} {name}"), [fuses.collect::<Vec<_>>().join(" · ")])
}

/// What is set, by the name of the setting or of its amplifier. The gain is measured without the speakers, which are
/// joined by then.
pub fn set(plan: &Plan, name: &str) -> Told {
    let meant = |(own, stated): &(&String, &Setting)| *own == name || stated.amplifier.as_deref() == Some(name);
    let all: Vec<(&String, &Setting)> = plan.settings.iter().filter(meant).collect();
    let mut belongs: Vec<String> = all
        .iter()
        .map(|(own, stated)| if *own == name { setting(stated) } else { format!("{own}: {}", setting(stated)) })
        .collect();
    if all.iter().all(|(_, stated)| stated.gain_target.is_none()) {
        return with(format!("Set {name}"), belongs);
    }
    belongs.push("then its speaker leads on again".to_owned());
    with(format!("Take its speaker leads off and set {name}"), belongs)
}

fn setting(setting: &Setting) -> String {
    listed([
        setting.gain_target.map(|volts| format!("gain to {volts}")),
        setting.tone.map(|tone| format!("with {tone}")),
        setting.tone_unfiltered.filter(|is| *is).map(|_| "filters off meanwhile".into()),
        setting.low_cut.map(|corner| format!("low cut {corner}")),
        setting.high_pass.map(|corner| format!("high-pass {corner}")),
        setting.low_pass.map(|corner| format!("low-pass {corner}")),
        setting.boost.map(|boost| format!("boost {boost}")),
    ])
}
