//! What charges: the voltage that the alternator or a converter holds, what it gives and what it can spare.

use super::case::Case;
use super::facts::Facts;
use super::known::{Known, Place};
use crate::house::Assumption;
use crate::plan::ChargeControl;
use crate::quantity::{Current, Range, Ratio, Voltage};

/// The voltage the alternator holds.
pub fn charging_voltage(facts: &Facts<'_>, multiple: f64) -> Known<Voltage> {
    let assumptions = &facts.house.assumptions;
    let alternator = facts.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let control = alternator.and_then(|alternator| alternator.control);
    let assumed = match control {
        Some(ChargeControl::Fixed) => assumptions.charging_fixed,
        Some(ChargeControl::Ecu) | None => assumptions.charging_ecu,
    };
    let otherwise = Assumption { range: assumed.range * multiple, source: assumed.source };
    let stated = alternator.and_then(|alternator| alternator.voltage);
    facts.assume(Place::of("vehicle.alternator.voltage"), stated, &otherwise)
}

/// What the alternator gives beyond what the vehicle takes for itself.
pub fn spare(facts: &Facts<'_>, case: Case) -> Range<Current> {
    (output(facts, case).range - running(facts).range).max(Range::point(0.0))
}

/// What the alternator gives in a case with the engine running: its rated output on the road, less at idle. A converter
/// in its place gives as much at a standstill as on the road.
pub fn output(facts: &Facts<'_>, case: Case) -> Known<Current> {
    let assumptions = &facts.house.assumptions;
    let alternator = facts.plan.vehicle.as_ref().and_then(|vehicle| vehicle.alternator.as_ref());
    let path = Place::of("vehicle.alternator");
    let rated = facts.assume(path.sub("rated"), alternator.and_then(|a| a.rated), &assumptions.alternator);
    if case == Case::CruiseProgramme {
        return rated;
    }
    let share = if facts.plan.has_converter() { CONVERTER_IDLE } else { *assumptions.alternator_idle };
    let range = rated.range.scaled(share.range.low(), share.range.high());
    let otherwise = Assumption { range, source: share.source };
    facts.assume(path.sub("at_idle"), alternator.and_then(|a| a.at_idle), &otherwise)
}

/// A converter's output at a standstill as a share of its rated output.
const CONVERTER_IDLE: Assumption<Ratio> =
    Assumption { range: Range::point(1.0), source: "common practice, no published source" };

/// What the vehicle takes for itself with the engine running.
pub fn running(facts: &Facts<'_>) -> Known<Current> {
    let load = facts.plan.vehicle.as_ref().and_then(|vehicle| vehicle.factory_load.as_ref());
    let stated = load.and_then(|load| load.running);
    facts.assume(Place::of("vehicle.factory_load.running"), stated, &facts.house.assumptions.running)
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    /// A lorry's two batteries in series: 24 V, and its regulator holds twice what a car's does.
    #[test]
    fn a_regulator_of_24_volt_holds_twice_as_much() {
        let of = |volts: &str, multiple| {
            let plan = format!("plan: 1\nvehicle: {{voltage: {volts}, alternator: {{control: fixed}}}}\n");
            of_job(&plan, |job| charging_voltage(job, multiple).range)
        };
        let (car, lorry) = (of("12 V", 1.0), of("24 V", 2.0));
        assert!(car.low() > 13.0 && car.high() < 15.5, "{car}");
        assert_eq!(lorry, car * 2.0);
    }
}
