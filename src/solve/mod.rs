//! What is computed: pure functions over typed quantities; the [`Facts`] that a plan states or that are assumed; and a
//! [`Job`] that holds them with all that follows. What makes a part of a job takes facts and the parts made before it.
//!
//! No YAML and no printing in here.

pub mod ampacity;
pub mod arrangements;
mod battery;
pub mod breaker;
pub mod capacitor;
mod case;
pub mod channels;
mod charge_demand;
mod charge_link;
mod charged;
mod chargers;
pub mod charging;
pub mod coils;
pub mod conductor;
pub mod demand;
pub mod drops;
pub mod earth;
pub mod enclosure;
pub mod energy;
pub mod facts;
pub mod filters;
pub mod fuse;
mod fuse_asked;
mod fuse_reach;
pub mod gear;
mod gear_supply;
pub mod graph;
mod grounded;
pub mod holding;
mod job;
mod known;
pub mod levels;
pub mod loads;
pub mod network;
pub mod polarity;
pub mod protection;
pub mod ratings;
pub mod resistance;
mod short_circuit;
mod short_together;
mod side_by_side;
pub mod step_down;
mod step_down_asked;
pub mod supply;
pub mod way;

pub use crate::plan::{FuseForm, Material};
pub use case::Case;
pub use charge_demand::{ChargeDemand, ChargerDemand};
pub use charge_link::{ChargeAsked, ChargeLink};
pub use charged::Charged;
pub use chargers::Charger;
pub use conductor::Construction;
pub use facts::{Assumed, Facts, Pins};
pub use fuse_asked::FuseAsked;
pub use gear::{Gear, GearKind};
pub use grounded::Grounded;
pub use job::Job;
pub use known::{Decided, Known, Origin, Place, Thing, Undecided, all, from_the_end};

/// What there is to see of the job of a plan, in tests.
#[cfg(test)]
fn of_job<T>(plan: &str, look: impl FnOnce(&Job<'_>) -> T) -> T {
    let reading = crate::plan::read(plan.to_owned());
    assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
    let house = crate::house::House::default();
    look(&Job::new(&reading.plan, &house))
}

/// What a person is told of the values that a fact may have which the plan does not state, in tests.
#[cfg(test)]
fn told_of(job: &Job<'_>, path: &str) -> Vec<String> {
    let assumed = job.assumed();
    let fact = assumed.iter().find(|fact| fact.place.path() == path).expect("a fact that was assumed");
    fact.steps.iter().map(|step| (fact.show)(*step)).collect()
}
