//! Steps that connect a thing: what is fastened to its terminals, one after the other.

use super::told::{Told, with};
use crate::plan::Plan;
use crate::quantity::{Length, Quantity};

/// A terminal with what is fastened to it.
struct Joint<'p> {
    /// When it has its turn, the lowest first.
    turn: u8,
    terminal: String,
    leads: Vec<&'p str>,
}

impl Joint<'_> {
    fn words(&self) -> String {
        format!("{}: {}", self.terminal, self.leads.join(", "))
    }
}

/// What is fastened to the terminals of a thing, one after the other.
pub fn connect(plan: &Plan, name: &str) -> Told {
    let is_battery = plan.batteries.contains_key(name);
    let joints: Vec<String> = joints(plan, name, is_battery).iter().map(Joint::words).collect();
    // What hangs on a battery's positive is laid and looked over by then: nothing else would find crossed poles.
    let (does, order) = match (is_battery, joints.len()) {
        (true, _) => (format!("Connect {name}, negative last, with its positive on and looked over"), ""),
        (false, ..2) => (format!("Connect {name}"), ""),
        (false, _) => (format!("Connect {name}"), "in this order: "),
    };
    let strip = strip(plan, name).map(|strip| format!("strip {strip}"));
    with(does, [format!("{order}{}", joints.join(" · ")), strip.unwrap_or_default()])
}

/// The terminals of a thing with what is fastened to them, in the order in which they have their turn.
fn joints<'p>(plan: &'p Plan, name: &str, is_battery: bool) -> Vec<Joint<'p>> {
    let mut joints: Vec<Joint<'p>> = Vec::new();
    for (terminal, lead) in ends(plan, name) {
        if let Some(joint) = joints.iter_mut().find(|joint| joint.terminal == terminal) {
            joint.leads.push(lead);
        } else {
            let turn = turn(is_battery, terminal);
            joints.push(Joint { turn, terminal: terminal.to_owned(), leads: vec![lead] });
        }
    }
    joints.extend(outputs(plan, name));
    joints.sort_by_key(|joint| joint.turn);
    joints
}

/// When a terminal has its turn: what hangs on the body first and the feed last, so that a slip with the spanner meets
/// nothing that leads on. A battery is a feed itself, and gets its negative last (common practice, no published source).
fn turn(is_battery: bool, terminal: &str) -> u8 {
    match terminal {
        "negative" if is_battery => 4,
        "positive" if is_battery => 0,
        "ground" | "negative" => 0,
        "remote" | "sense" => 3,
        "power" | "in" => 4,
        _ => 2,
    }
}

/// Every end of a wire or a lead at a thing: its terminal, and the name of what ends there.
fn ends<'p>(plan: &'p Plan, name: &str) -> Vec<(&'p str, &'p str)> {
    let mut ends: Vec<(&str, &str)> = Vec::new();
    for (wire, stated) in &plan.wires {
        let here = stated.terminals().filter(|end| end.thing == name);
        ends.extend(here.map(|end| (end.terminal.as_str(), wire.as_str())));
    }
    for (lead, stated) in &plan.turn_on {
        let here = stated.to.iter().filter(|end| end.thing == name);
        ends.extend(here.map(|end| (end.terminal.as_str(), lead.as_str())));
    }
    for (signal, stated) in &plan.signals {
        let here = stated.to.iter().filter(|end| end.thing == name);
        ends.extend(here.map(|end| (end.terminal.as_str(), signal.as_str())));
        let through = stated.through.iter().filter(|through| *through == name);
        ends.extend(through.map(|_| ("in and out", signal.as_str())));
        let output = stated.taken_at.as_ref().and_then(|taken| taken.output.as_deref());
        ends.extend(output.filter(|_| stated.from.as_deref() == Some(name)).map(|output| (output, signal.as_str())));
    }
    ends
}

/// The outputs of an amplifier with the loads on them, by their numbers.
fn outputs<'p>(plan: &'p Plan, name: &str) -> impl Iterator<Item = Joint<'p>> {
    let mut loads: Vec<_> = plan.loads.iter().filter(|(_, load)| load.amplifier.as_deref() == Some(name)).collect();
    loads.sort_by_key(|(_, load)| load.outputs.iter().min().copied());
    loads.into_iter().map(|(load, stated)| {
        let outputs: Vec<String> = stated.outputs.iter().map(u8::to_string).collect();
        Joint { turn: 1, terminal: format!("output {}", outputs.join(" + ")), leads: vec![load.as_str()] }
    })
}

/// How much insulation comes off for the terminals of a thing.
fn strip(plan: &Plan, name: &str) -> Option<Quantity<Length>> {
    let amplifier = plan.amplifiers.get(name).and_then(|amplifier| amplifier.terminals.as_ref()?.strip);
    let block = || plan.blocks.get(name)?.strip;
    let capacitor = || plan.capacitors.get(name)?.strip;
    amplifier.or_else(block).or_else(capacitor)
}
