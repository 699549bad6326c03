//! What is done to the vehicle itself, before the work, between and after it.

use super::told::{Told, does, with};
use crate::plan::{AirbagStep, BatteryStep, HighVoltageStep, InspectStep, Plan, RadioStep, TestStep};
use crate::rules::step::order;

/// The radio's code before and after.
pub fn radio(step: RadioStep) -> Told {
    does(match step {
        RadioStep::NoteCode => "Note the radio's code and stations",
        RadioStep::RestoreCode => "Enter the radio's code and stations again",
    })
}

/// What is live besides 12 V, called by its volts.
pub fn high_voltage(step: HighVoltageStep, plan: &Plan) -> Told {
    does(match step {
        HighVoltageStep::IsolatedByQualifiedPerson if plan.has_48_volt() => {
            "A qualified person isolates the 48 V by the maker's procedure: the 12 V negative does not"
        }
        HighVoltageStep::RestoredByQualifiedPerson if plan.has_48_volt() => {
            "A qualified person takes the 48 V back into service"
        }
        HighVoltageStep::IsolatedByQualifiedPerson => {
            "A qualified person isolates the high voltage by the maker's procedure"
        }
        HighVoltageStep::RestoredByQualifiedPerson => "A qualified person takes the high voltage back into service",
    })
}

/// The vehicle's battery, and what becomes of the added ones with it.
pub fn battery(step: BatteryStep, plan: &Plan, number: usize) -> Told {
    let words = match step {
        BatteryStep::Disconnect => "Take the battery off, negative first",
        BatteryStep::Reconnect => "Put the battery back on, negative last",
        // The plan's own words; the findings tell what is wrong with it.
        BatteryStep::DisconnectPositiveFirst => "Take the battery off, positive first (stated so; see the findings)",
        BatteryStep::RegisterMonitor if plan.batteries.is_empty() => {
            "Register the battery with its monitor, if it was exchanged for a new one"
        }
        BatteryStep::RegisterMonitor => "Tell the battery monitor about the added battery",
    };
    with(words, added_batteries(plan, number))
}

/// The battery of a vehicle with its positive on the body: nothing is said of its terminals.
pub fn battery_turned(step: BatteryStep) -> Told {
    const NO_ORDER: &str =
        "no order of terminals is given here: the positive is on the body, or drawn so (see the findings)";
    let words = match step {
        BatteryStep::Disconnect | BatteryStep::DisconnectPositiveFirst => "Take the battery off",
        BatteryStep::Reconnect => "Put the battery back on",
        BatteryStep::RegisterMonitor => "Register the battery with its monitor",
    };
    with(words, vec![NO_ORDER.to_owned()])
}

/// What becomes of the added batteries where the battery goes off.
fn added_batteries(plan: &Plan, number: usize) -> Vec<String> {
    let steps = &plan.steps;
    let on = |name: &str| (0..number).rev().find(|at| order::added_battery(plan, &steps[*at]) == Some(name));
    let told = |name: &String| match order::on_until(plan, steps, on(name)?) {
        until if until == number => Some(format!("and {name} with it, negative first")),
        until if until > number && order::takes_off(&steps[number]) => {
            Some(format!("{name} stays on and goes on feeding"))
        }
        _ => None,
    };
    plan.batteries.keys().filter_map(told).collect()
}

/// What is to do about airbags.
pub fn airbags(step: AirbagStep) -> Told {
    does(match step {
        AirbagStep::Wait => "Wait as long as the vehicle's maker says for the airbag units to discharge",
        AirbagStep::Handle => "Take airbag parts off or move them: for people trained for it",
    })
}

/// What is looked over before the battery goes back on.
pub fn inspect(step: InspectStep) -> Told {
    does(match step {
        InspectStep::PolarityAndPolish => "Look over polarity, and how everything is made and fastened",
        InspectStep::NoShort => "Measure that no feed touches the body",
    })
}

/// What is tested once it is.
pub fn test(step: TestStep, plan: &Plan) -> Told {
    does(match step {
        TestStep::Commissioning => "Test everything, and write down what the table of measurements asks for".to_owned(),
        TestStep::KeyOff => "Measure what the vehicle draws asleep".to_owned(),
        TestStep::Charging => format!("Measure the voltage at the battery with the {}", plan.states()[0]),
    })
}
