//! What opposes the current: each link of the supply as a resistance.

use super::facts::Facts;
use super::graph::{Link, LinkKind, isolator_passes};
use super::known::{Decided, Known, Place, Thing};
use crate::plan::{Fuse, Wire};
use crate::quantity::{Range, Resistance, Temperature};

/// What stands for a link that passes nothing: it stays in the network, so that all cases number their edges alike.
const OPEN: f64 = 1e9;

/// The resistance of a link, with the wires at these temperatures, by their place in the job's list.
///
/// # Errors
/// As [`wire_resistance`].
pub(super) fn of_link(
    facts: &Facts<'_>,
    link: &Link,
    temperatures: &[Range<Temperature>],
    engine_runs: bool,
) -> Decided<Range<Resistance>> {
    let assumptions = &facts.house.assumptions;
    match &link.kind {
        LinkKind::Wire(index) => wire_resistance(facts, &facts.wires[*index], temperatures[*index]),
        LinkKind::Output(index, output) => {
            let block = &facts.blocks[*index];
            let joint = assumptions.joint.range;
            match block.outputs.get(output).and_then(|output| output.fuse.as_ref()) {
                Some(fuse) => {
                    let place = block.at(format!("outputs.{output}.fuse"));
                    Ok(facts.fuse_resistance(fuse, &place)?.range + joint * 2.0)
                }
                None => Ok(joint),
            }
        }
        LinkKind::Isolator(name) => {
            let isolator = facts.plan.isolators.get(name);
            if !isolator_passes(isolator.and_then(|isolator| isolator.kind), engine_runs) {
                return Ok(Range::point(OPEN));
            }
            let place = Place::of(format!("isolators.{name}.resistance"));
            Ok(facts.assume(place, isolator.and_then(|isolator| isolator.resistance), &assumptions.isolator).range)
        }
        LinkKind::Ground(index) => {
            let ground = &facts.grounds[*index];
            Ok(facts.assume(ground.at("joint_resistance"), ground.joint_resistance, &assumptions.joint).range)
        }
        LinkKind::Body => Ok(body(facts).range),
        LinkKind::ChargeCable => Ok(charge_cable(facts).range),
    }
}

/// Resistance of the body from the battery's strap to the far grounds.
pub fn body(facts: &Facts<'_>) -> Known<Resistance> {
    let stated = facts.plan.vehicle.as_ref().and_then(|vehicle| vehicle.body_resistance);
    facts.assume(Place::of("vehicle.body_resistance"), stated, &facts.house.assumptions.body)
}

/// Resistance of the factory's charge cable and straps.
pub fn charge_cable(facts: &Facts<'_>) -> Known<Resistance> {
    let alternator = facts.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let stated = alternator.and_then(|alternator| alternator.cable_resistance);
    facts.assume(Place::of("vehicle.alternator.cable_resistance"), stated, &facts.house.assumptions.charge_cable)
}

/// Resistance of a wire at a temperature, with its two joints and its fuses, each with the two joints of its holder.
///
/// # Errors
/// The needs for its length, its size and the ratings of its fuses.
pub fn wire_resistance(
    facts: &Facts<'_>,
    wire: &Thing<'_, Wire>,
    temperature: Range<Temperature>,
) -> Decided<Range<Resistance>> {
    let length = wire.need("length", &wire.length)?;
    let joint = facts.joint(wire).range;
    let conductor = facts.conductor_resistance(wire, length.into(), temperature)?;
    let fuse = |fuse: &Option<Fuse>, key| match fuse {
        // A fuse brings two more joints: one at each side of its holder.
        Some(fuse) => Ok(facts.fuse_resistance(fuse, &wire.at(key))?.range + joint * 2.0),
        None => Ok(Range::point(0.0)),
    };
    Ok(conductor + joint * 2.0 + fuse(&wire.fuse, "fuse")? + fuse(&wire.far_fuse, "far_fuse")?)
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    fn near(found: Range<Resistance>, ohms: f64) {
        assert!(found.is_point() && (found.low() - ohms).abs() < 1e-9, "{found}, not {ohms}");
    }

    const WIRE: &str = "size: 4 AWG, conductor: copper, stranding: solid, insulation: 105 C, length: 5 m, path: [cargo], \
                        joint_resistance: 0.5 mohm";
    const NEAR: &str = "{form: bolt-down, rating: 100 A, distance: 20 cm, resistance: 0.3 mohm}";
    const FAR: &str = "{form: bolt-down, rating: 100 A, distance: 20 cm, resistance: 0.4 mohm}";

    /// Each fuse adds its element and the two joints of its holder to a wire's own two joints.
    #[test]
    fn a_wire_has_its_metal_its_joints_and_both_its_fuses() {
        let warm = Range::point(20.0);
        let of = |fuses: &str| {
            let plan = format!("plan: 1\nwires: {{feed: {{{WIRE}{fuses}}}}}\n");
            of_job(&plan, |job| {
                let metal = job.conductor_resistance(&job.wires[0], Range::point(5.0), warm).expect("stated");
                let whole = wire_resistance(job, &job.wires[0], warm).expect("stated");
                assert!((whole.high() - metal.high() - (whole.low() - metal.low())).abs() < 1e-12);
                Range::point(whole.low() - metal.low())
            })
        };
        near(of(""), 0.001);
        near(of(&format!(", fuse: {NEAR}")), 0.001 + 0.0013);
        near(of(&format!(", far_fuse: {FAR}")), 0.001 + 0.0014);
        near(of(&format!(", fuse: {NEAR}, far_fuse: {FAR}")), 0.001 + 0.0013 + 0.0014);
    }

    /// The joint of a block's own fuse is counted twice, as that of a holder in a wire.
    #[test]
    fn a_blocks_output_is_a_joint_or_a_fuse_between_two() {
        let of = |fuse: &str| {
            let plan = format!(
                "plan: 1\nblocks: {{split: {{outputs: {{one: {{{fuse}}}}}}}}}\nwires:\n  \
                 main: {{from: battery.positive, to: split.in}}\n  branch: {{from: split.one, to: amp.power}}\n"
            );
            of_job(&plan, |job| {
                let is_output = |link: &&Link| matches!(link.kind, LinkKind::Output(..));
                let link = job.graph().links.iter().find(is_output).expect("an output");
                let found = of_link(job, link, &[Range::point(20.0); 2], true).expect("stated");
                (found, job.house.assumptions.joint.range)
            })
        };
        let (bare, joint) = of("");
        assert_eq!(bare, joint);
        let (fused, joint) = of(&format!("fuse: {NEAR}"));
        assert_eq!(fused, joint * 2.0 + Range::point(0.0003));
    }

    /// A relay that parts the batteries while the engine is off passes nothing then.
    #[test]
    fn a_relay_passes_only_while_the_engine_runs() {
        let plan = "plan: 1\nisolators: {part: {kind: relay, resistance: 1 mohm}}\nbatteries: {rear: {}}\nwires:\n  \
                    a: {from: battery.positive, to: part.in}\n  b: {from: part.out, to: rear.positive}\n";
        of_job(plan, |job| {
            let is_relay = |link: &&Link| matches!(link.kind, LinkKind::Isolator(_));
            let link = job.graph().links.iter().find(is_relay).expect("a relay");
            let of = |runs| of_link(job, link, &[Range::point(20.0); 2], runs).expect("stated");
            near(of(true), 0.001);
            assert!(of(false).low() > 1e6);
        });
    }
}
