//! Supply: whether alternator, battery and wires give what is asked of them.

mod behind_monitor;
mod capacitor_far;
mod capacitor_voltage;
mod charge_cable;
mod charge_control;
mod charge_current;
mod charge_spare;
mod charged_too_high;
mod charger_reversed;
mod converter_overload;
mod converter_rating;
mod cruise_spare;
mod frost;
mod high_voltage;
mod idle_spare;
mod isolator_on_control;
mod isolator_rating;
mod key_off;
mod listening;
mod no_operating_point;
mod second_battery;
mod stop_start;
mod terminal_voltage;
#[cfg(test)]
mod trial;
mod vented_inside;
mod voltage_high;

use crate::judge::{Family, Finding, Slip};
use crate::plan::Alternator;
use crate::quantity::{Current, Quantity, Range};
use crate::solve::{Case, Job, Place};

/// The family.
pub const FAMILY: Family = Family {
    code: "SUPPLY",
    title: "Supply: alternator, battery, voltage at the amplifiers",
    rules: &[
        idle_spare::RULE,
        cruise_spare::RULE,
        terminal_voltage::RULE,
        no_operating_point::RULE,
        key_off::RULE,
        listening::RULE,
        second_battery::RULE,
        behind_monitor::RULE,
        high_voltage::RULE,
        vented_inside::RULE,
        charge_cable::RULE,
        charge_control::RULE,
        isolator_rating::RULE,
        isolator_on_control::RULE,
        voltage_high::RULE,
        charged_too_high::RULE,
        stop_start::RULE,
        capacitor_voltage::RULE,
        capacitor_far::RULE,
        converter_rating::RULE,
        converter_overload::RULE,
        charge_spare::RULE,
        charge_current::RULE,
        charger_reversed::RULE,
        frost::RULE,
    ],
};

/// The output in whole ampere with which an alternator would carry the added gear and the vehicle in a case. What the gear
/// draws now is drawn at the voltage of a battery that gives what is missing; with enough behind it draws less.
fn enough(job: &Job<'_>, case: Case, set: fn(&mut Alternator, Quantity<Current>)) -> Option<Range<Current>> {
    if job.is_tried() {
        return None;
    }
    let asked = |job: &Job<'_>| {
        let balance = job.balance(case).ok()?;
        Some((balance.asked.range + balance.running.range).high())
    };
    let mut plan = job.plan.clone();
    let alternator = plan.vehicle.get_or_insert_default().alternator.get_or_insert_default();
    set(alternator, Quantity::new(asked(job)?));
    Some(Range::point(asked(&Job::new(&plan, job.house))?.ceil()))
}

/// A shortage with what the capacitors of the plan do against it: each carries what is missing for a moment, once.
fn short_of(finding: Finding, missing: Range<Current>, job: &Job<'_>) -> Finding {
    let carried = job.plan.capacitors.keys().filter_map(|name| {
        let lasts = job.capacitor_carries(name, missing).ok()?;
        let words =
            format!("carries what is missing for {lasts}, then as before: no capacitor gives what is not charged");
        Some((Place::of(format!("capacitors.{name}.capacitance")), words))
    });
    carried.fold(finding, |finding, (place, words)| finding.also(place, words))
}
