//! What the rules of this family tell of a shortage.

use crate::judge::Finding;
use crate::plan::Alternator;
use crate::quantity::{Current, Quantity, Range};
use crate::solve::{Case, Job, Place};

/// The output in whole ampere with which an alternator would carry the added gear and the vehicle in a case. What the gear
/// draws now is drawn at the voltage of a battery that gives what is missing; with enough behind it draws less.
pub fn enough(job: &Job<'_>, case: Case, set: fn(&mut Alternator, Quantity<Current>)) -> Option<Range<Current>> {
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
pub fn short_of(finding: Finding, missing: Range<Current>, job: &Job<'_>) -> Finding {
    let carried = job.plan.capacitors.keys().filter_map(|name| {
        let lasts = job.capacitor_carries(name, missing).ok()?;
        let words =
            format!("carries what is missing for {lasts}, then as before: no capacitor gives what is not charged");
        Some((Place::of(format!("capacitors.{name}.capacitance")), words))
    });
    carried.fold(finding, |finding, (place, words)| finding.also(place, words))
}
