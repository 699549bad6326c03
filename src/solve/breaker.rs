//! Circuit breakers: what one carries in the heat of its place.

use super::job::Job;
use super::known::{Known, Origin};
use super::protection::{FuseSite, Host};
use crate::house::Assumption;
use crate::quantity::{Current, Quantity, Range, Temperature};

/// The temperature at which a circuit breaker carries its rating, in C: SAE J553 tests it at room temperature (read at
/// second hand).
pub const RATED_AT: f64 = 25.0;

impl Job<'_> {
    /// How hot it gets where a fuse sits.
    pub fn heat_of_fuse(&self, site: &FuseSite) -> Known<Temperature> {
        let place = match site.host {
            Host::Wire { wire, .. } => self.wires[wire].at("path"),
            Host::Block(block) => self.blocks[block].at("location"),
        };
        let Some(zone) = site.zone else {
            return self.any_heat(place, "its place is not stated: it may be in the engine bay");
        };
        let of_house = self.house.zones.get(&zone).map(|zone| Origin::House(zone.name, zone.source));
        Known { range: self.zone_temperature(zone).range, origin: of_house.unwrap_or(Origin::Stated(place)) }
    }

    /// What a circuit breaker of a rating carries for good where it sits: its strip is heated by the current, and opens
    /// at less of it where the place is hot already.
    pub fn breaker_carries(&self, site: &FuseSite, rating: Quantity<Current>) -> Known<Current> {
        let (heat, loss) = (self.heat_of_fuse(site).range, *self.house.assumptions.breaker_heat);
        let left = |loss: f64, heat: f64| (1.0 - loss / 100.0 * (heat - RATED_AT).max(0.0)).max(0.0);
        let range =
            Range::from(rating).scaled(left(loss.range.high(), heat.high()), left(loss.range.low(), heat.low()));
        self.assume(site.place.sub("carries"), site.fuse.carries, &Assumption { range, source: loss.source })
    }
}
