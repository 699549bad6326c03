//! Step-down converters: 12 V from a battery of 24 V, with no battery behind them.
//!
//! The output holds its voltage; what it gives it takes before it, with what it loses: `V_in I_in = V_out I_out / efficiency`.
//! Both sides share the minus at `ground`, through which only the difference of the two currents comes back. The network
//! is solved as if the output gave whatever is asked: beyond its rating a converter folds back or shuts down (common
//! practice, no published source), and what is asked of it is compared with the rating.

use super::facts::Facts;
use super::graph::{Graph, LinkKind};
use super::known::{self, Decided, Known, Place, Undecided};
use super::network::{self, Battery, Load, Network, Operating};
use crate::plan::Isolator;
use crate::quantity::{Current, Power, Quantity, Range, Share, Voltage};

/// Resistance of a regulated output, in ohm: the regulator holds the voltage at the terminals.
const OUTPUT: f64 = 0.000_1;

/// What is stated below this is a slip (PLAN-05), in per cent.
const LEAST_EFFICIENCY: f64 = 1.0;

/// How often what a converter takes is put in and the network solved again. What it takes moves its own output only by the
/// drop in the wire at its ground, some thousandths of a volt; a converter behind another needs one round more.
const ROUNDS: usize = 2;

/// A step-down converter of which every terminal is connected.
#[derive(Debug, Clone)]
pub struct StepDown<'a> {
    /// Its name.
    pub name: &'a str,
    /// The node of its input.
    pub input: usize,
    /// The node of its output.
    pub output: usize,
    /// The node of the minus that both sides share.
    pub ground: usize,
}

/// What a converter does in a network.
#[derive(Debug, Clone)]
pub(super) struct Regulator {
    input: usize,
    output: usize,
    ground: usize,
    volts: Range<Voltage>,
    efficiency: Range<Share>,
}

/// The converters of a plan of which every terminal is connected, by name.
pub(super) fn of<'a>(facts: &Facts<'a>, graph: &Graph) -> Vec<StepDown<'a>> {
    let step_downs = facts.plan.isolators.iter().filter(|(_, isolator)| isolator.is_step_down());
    let connected = step_downs.filter_map(|(name, _)| {
        let node = |terminal: &str| graph.node(name, terminal);
        Some(StepDown { name, input: node("in")?, output: node("out")?, ground: node("ground")? })
    });
    connected.collect()
}

/// What the converters of a plan do in its network.
///
/// # Errors
/// The needs for their output voltages.
pub(super) fn regulators(facts: &Facts<'_>, graph: &Graph) -> Decided<Vec<Regulator>> {
    known::all(of(facts, graph).into_iter().map(|is| {
        Ok(Regulator {
            input: is.input,
            output: is.output,
            ground: is.ground,
            volts: output_voltage(facts, is.name)?.into(),
            efficiency: efficiency(facts, is.name).range,
        })
    }))
}

fn stated<'a>(facts: &Facts<'a>, name: &str) -> Option<&'a Isolator> {
    facts.plan.isolators.get(name)
}

fn at(name: &str, key: &'static str) -> Place {
    Place::of(format!("isolators.{name}")).sub(key)
}

/// What a converter holds its output at.
///
/// # Errors
/// The need for it.
pub fn output_voltage(facts: &Facts<'_>, name: &str) -> Decided<Quantity<Voltage>> {
    let volts = stated(facts, name).and_then(|is| is.output_voltage);
    volts.ok_or_else(|| Undecided::need(at(name, "output_voltage")))
}

fn efficiency(facts: &Facts<'_>, name: &str) -> Known<Share> {
    let share = stated(facts, name).and_then(|is| is.efficiency).filter(|share| share.base() >= LEAST_EFFICIENCY);
    facts.assume(at(name, "efficiency"), share, &facts.house.assumptions.charger_efficiency)
}

/// What a converter draws with nothing switched on behind it.
pub(super) fn drawn_off(facts: &Facts<'_>, name: &str) -> Known<Current> {
    let stated = stated(facts, name).and_then(|is| is.off_current);
    facts.assume(at(name, "off_current"), stated, &facts.house.assumptions.step_down_off_current)
}

/// Puts converters into a network: each a source behind it, and a load of as much power and its losses before it.
pub(super) fn put_in(network: &mut Network, regulators: &[Regulator]) {
    let (first_source, first_load) = (network.batteries.len(), network.loads.len());
    for is in regulators {
        let resistance = Range::point(OUTPUT);
        network.batteries.push(Battery { positive: is.output, negative: is.ground, emf: is.volts, resistance });
        let (power, current) = (Range::point(0.0), Range::point(0.0));
        network.loads.push(Load { positive: is.input, negative: is.ground, power, current });
    }
    if regulators.is_empty() {
        return;
    }
    for _ in 0..ROUNDS {
        let operating = network::solve(network);
        let (Operating::Always(solution) | Operating::Sometimes { best: solution, .. }) = &operating else { return };
        for (number, is) in regulators.iter().enumerate() {
            let given = solution.battery_current(first_source + number).max(Range::point(0.0));
            network.loads[first_load + number].power = taken(is.volts * given, is.efficiency);
        }
    }
}

/// The power that is taken for what is given.
fn taken(given: Range<Power>, efficiency: Range<Share>) -> Range<Power> {
    given.scaled(100.0 / efficiency.high(), 100.0 / efficiency.low())
}

impl<'a> Facts<'a> {
    /// The converter behind which a terminal lies: no battery and no other isolator is nearer.
    pub fn step_down_before(&self, graph: &Graph, node: usize) -> Option<StepDown<'a>> {
        let step_downs = of(self, graph);
        if step_downs.is_empty() {
            return None;
        }
        let outputs: Vec<usize> = step_downs.iter().map(|is| is.output).collect();
        let (output, _) = graph.nearest(node, &outputs, LinkKind::is_laid)?;
        let posts = graph.positives(self);
        let is_apart = graph.nearest(node, &posts, LinkKind::is_laid).is_none();
        step_downs.into_iter().find(|is| is_apart && is.output == output)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Case, of_job};

    /// Everything known. The amplifier draws 200 W whatever its voltage (100 W at 50 %), 12 V are held at the output, and 20 mohm
    /// lie on the way to it: V (12 - V) / 0.020 = 200 has its upper root at V = (12 + sqrt(144 - 16)) / 2 = 11.657 V, so
    /// that 17.157 A flow. At 80 % the converter takes 12 x 17.157 / 0.8 = 257.36 W. The battery of 24 V gives them
    /// behind 50 mohm: V (24 - V) / 0.050 = 257.36 at V = (24 + sqrt(576 - 51.47)) / 2 = 23.451 V, 10.974 A.
    const WORKED: &str = "plan: 1\nvehicle: {voltage: 24 V, body: composite, battery: {internal_resistance: 50 mohm, rest_voltage: 24 V}}\n\
        isolators: {down: {kind: step-down, rated: 20 A, output_voltage: 12 V, efficiency: 80 %}}\n\
        amplifiers: {amp: {class: AB, efficiency: 50 %, idle_current: 0 A, channels: 1, rated: [{load: 4 ohm, power: 100 W}]}}\n\
        drivers: {sub: {kind: woofer, coils: [4 ohm]}}\nloads: {l: {amplifier: amp, outputs: [1], coils: sub.1}}\nwires:\n  \
        a: {from: battery.positive, to: down.in, size: 500 mm2, conductor: copper, stranding: solid, length: 1 mm, joint_resistance: 0.001 mohm}\n  \
        b: {from: down.ground, to: battery.negative, size: 500 mm2, conductor: copper, stranding: solid, length: 1 mm, joint_resistance: 0.001 mohm}\n  \
        c: {from: down.out, to: amp.power, size: 500 mm2, conductor: copper, stranding: solid, length: 1 mm, joint_resistance: 10 mohm}\n  \
        d: {from: amp.ground, to: down.ground, size: 500 mm2, conductor: copper, stranding: solid, length: 1 mm, joint_resistance: 0.001 mohm}\n";

    #[test]
    fn what_it_gives_it_takes_with_its_losses_at_the_other_voltage() {
        of_job(WORKED, |job| {
            let near = |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-3, "{found} {expected}");
            let current = |name: &str| {
                let wire = job.wires.iter().find(|wire| wire.name == name).expect("a wire");
                job.wire_current(wire, Case::OffFull).expect("solved").range
            };
            near(job.terminal_voltage("amp", Case::OffFull).expect("solved").range.high(), 11.657);
            near(job.step_down_asked("down", Case::OffFull).expect("solved").range.high(), 17.157);
            near(current("c").high(), 17.157);
            near(current("a").high(), 10.974);
            near(current("b").low(), 10.974);
        });
    }

    /// What the battery gives is counted once, before the converter, and not again behind it.
    #[test]
    fn the_battery_feels_what_is_taken_and_not_what_is_given() {
        of_job(WORKED, |job| {
            let banks = job.banks();
            let [(place, bank)] = banks.as_slice() else { panic!("{banks:?}") };
            assert_eq!(place.path(), "vehicle.battery");
            let needs = bank.as_ref().expect_err("its capacity is not stated");
            assert!(format!("{needs:?}").contains("capacity"), "{needs:?}");
        });
        let running = WORKED.replace(
            "{voltage: 24 V, ",
            "{voltage: 24 V, alternator: {rated: 80 A, at_idle: 60 A, voltage: 28 V}, factory_load: {running: 20 A}, ",
        );
        of_job(&running, |job| {
            let balance = job.balance(Case::IdleProgramme).expect("solved");
            let wire = job.wires.iter().find(|wire| wire.name == "a").expect("a wire");
            let before = job.wire_current(wire, Case::IdleProgramme).expect("solved").range;
            let asked = balance.asked.range;
            assert!((asked.high() / before.high() - 1.0).abs() < 1e-6, "{asked} {before}");
        });
    }

    /// A fuse on either side: neither is the other's, and what is asked of each is what flows there.
    #[test]
    fn the_fuse_before_it_does_not_protect_what_a_fuse_behind_it_does() {
        let fused = WORKED
            .replace("to: down.in, ", "to: down.in, fuse: {rating: 15 A, distance: 0 cm, resistance: 0.001 mohm}, ")
            .replace(
                "to: amp.power, ",
                "to: amp.power, fuse: {rating: 20 A, distance: 0 cm, resistance: 0.001 mohm}, ",
            );
        of_job(&fused, |job| {
            let wires =
                |fuse: usize| job.protected_by(fuse).into_iter().map(|at| job.wires[at].name).collect::<Vec<_>>();
            assert_eq!((wires(0), wires(1)), (vec!["a"], vec!["c"]));
            let asked = |fuse: usize| job.fuse_asked(fuse).expect("solved").full.range.high();
            assert!(asked(0) < 13.0 && asked(1) > 17.0, "{} {}", asked(0), asked(1));
        });
    }

    #[test]
    fn asleep_it_draws_what_its_maker_says_or_a_little() {
        let of = |more: &str| {
            let text = WORKED.replace("efficiency: 80 %", &format!("efficiency: 80 %{more}"));
            of_job(&text, |job| job.asleep().added.last().expect("it is always live").range)
        };
        assert_eq!((of("").low(), of("").high()), (0.005, 0.03));
        assert!((of(", off_current: 12 mA").high() - 0.012).abs() < 1e-12);
    }

    /// Where a lead switches it, what is behind it draws nothing asleep; it draws its own, and all of it where the lead is live
    /// at all times.
    #[test]
    fn behind_a_converter_that_is_switched_off_nothing_is_drawn() {
        let of = |lead: &str| {
            let text = WORKED.replace("idle_current: 0 A", "idle_current: 0 A, off_current: 3 mA") + lead;
            of_job(&text, |job| job.asleep().added.iter().map(|known| known.range.high()).collect::<Vec<_>>())
        };
        let lead = |kind: &str| format!("turn_on: {{remote: {{from: {{kind: {kind}}}, to: [down.remote]}}}}\n");
        assert_eq!(of(""), [0.003, 0.03]);
        assert_eq!(of(&lead("accessory")), [0.03]);
        assert_eq!(of(&lead("constant")), [0.003, 0.03]);
    }

    /// A second one beside it: 100 W from 12 V behind 20 mohm are 8.452 A at 11.831 V. Both take 257.36 W and 126.79 W of the
    /// battery, which stands at (24 + sqrt(576 - 4 x 0.050 x 384.14)) / 2 = 23.171 V then.
    #[test]
    fn of_two_each_gives_what_hangs_on_it() {
        let (head, wires) = WORKED.split_once("wires:\n").expect("its wires");
        let other = ["a", "b", "c", "d"].into_iter().fold(wires.to_owned(), |text, name| {
            text.replace(&format!("  {name}: {{"), &format!("  second-{name}: {{"))
        });
        let other = other.replace("down.", "other.").replace("amp.", "small.");
        let head = head
            .replace("{down: {", "{other: {kind: step-down, rated: 20 A, output_voltage: 12 V, efficiency: 80 %}, down: {")
            .replace(
                "{amp: {",
                "{small: {class: AB, efficiency: 50 %, idle_current: 0 A, channels: 1, rated: [{load: 4 ohm, power: 50 W}]}, amp: {",
            )
            .replace("{l: {", "{m: {amplifier: small, outputs: [1], coils: tweeter.1}, l: {")
            .replace("{sub: {", "{tweeter: {kind: woofer, coils: [4 ohm]}, sub: {");
        of_job(&format!("{head}wires:\n{wires}{other}"), |job| {
            let near = |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-3, "{found} {expected}");
            let current = |name: &str| {
                let wire = job.wires.iter().find(|wire| wire.name == name).expect("a wire");
                job.wire_current(wire, Case::OffFull).expect("solved").range.high()
            };
            let asked = |name: &str| job.step_down_asked(name, Case::OffFull).expect("solved").range.high();
            near(asked("down"), 17.157);
            near(asked("other"), 8.4524);
            near(current("a"), 257.36 / 23.1711);
            near(current("second-a"), 126.786 / 23.1711);
        });
    }

    /// The one whose output is nearest, and none where a battery hangs on the same wires.
    #[test]
    fn gear_lies_behind_the_converter_that_it_is_wired_to() {
        let step_down = |name: &str| format!("{name}: {{kind: step-down}}");
        let wires = |name: &str, gear: &str| {
            format!(
                "  {name}-in: {{from: battery.positive, to: {name}.in}}\n  {name}-out: {{from: {name}.out, to: {gear}.power}}\n  \
                 {name}-back: {{from: {name}.ground, to: battery.negative}}\n"
            )
        };
        let before = |more: &str| {
            let text = format!(
                "plan: 1\nisolators: {{{}, {}}}\namplifiers: {{one: {{}}, two: {{}}}}\nbatteries: {{rear: {{}}}}\nwires:\n{}{}{more}",
                step_down("left"),
                step_down("right"),
                wires("left", "one"),
                wires("right", "two"),
            );
            of_job(&text, |job| {
                ["one", "two"].map(|gear| {
                    let node = job.graph().node(gear, "power").expect("a node");
                    job.step_down_before(job.graph(), node).map(|is| is.name.to_owned())
                })
            })
        };
        let (left, right) = (Some("left".to_owned()), Some("right".to_owned()));
        assert_eq!(before(""), [left.clone(), right]);
        assert_eq!(before("  rear: {from: rear.positive, to: two.power}\n"), [left, None]);
    }
}
