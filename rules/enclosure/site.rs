//! What the rules of this family ask of a box.

use crate::judge::Judged;
use crate::plan::{Driver, Enclosure, EnclosureKind};
use crate::quantity::{Quantity, Volume};
use crate::solve::enclosure::{Opening, Parameters};
use crate::solve::{Decided, Job, Place, Thing, Undecided, all};

/// A box with the drivers in it.
pub struct Site<'a> {
    /// The box.
    pub enclosure: Thing<'a, Enclosure>,
    /// The drivers that sit in it.
    pub drivers: Vec<Thing<'a, Driver>>,
}

/// Judges every box of a plan.
pub fn each<'a>(job: &Job<'a>, check: fn(&Site<'a>, &Job<'a>) -> Judged) -> Vec<(Place, Judged)> {
    let sites = job.plan.enclosures.iter().map(|(name, enclosure)| {
        let inside = job.plan.drivers.iter().filter(|(_, driver)| driver.enclosure.as_deref() == Some(name));
        let drivers = inside.map(|(name, driver)| Thing::new("drivers", name, driver)).collect();
        Site { enclosure: Thing::new("enclosures", name, enclosure), drivers }
    });
    sites.map(|site| (site.enclosure.place(), check(&site, job))).collect()
}

impl Site<'_> {
    /// Goes on only with a box of this kind.
    pub fn only(&self, kind: EnclosureKind, otherwise: &'static str) -> Decided<()> {
        let is = self.enclosure.need("kind", &self.enclosure.kind)?;
        if is == kind { Ok(()) } else { Err(Undecided::NotApplicable(otherwise)) }
    }

    /// Net volume, with the place that states it.
    pub fn net(&self) -> Decided<(Quantity<Volume>, Place)> {
        let volume = self.enclosure.need("net_volume", &self.enclosure.net_volume)?;
        if volume.base() <= 0.0 {
            return Err(Undecided::NotApplicable("a box without air"));
        }
        Ok((volume, self.enclosure.at("net_volume")))
    }

    /// The vent.
    pub fn vent(&self) -> Decided<Opening> {
        let vent = self.enclosure.need("vent", &self.enclosure.vent)?;
        let length = self.enclosure.need("vent.length", &vent.length)?.base();
        let area = if let Some(diameter) = vent.diameter {
            std::f64::consts::PI * diameter.base().powi(2) / 4.0
        } else if vent.width.is_some() || vent.height.is_some() {
            let width = self.enclosure.need("vent.width", &vent.width)?;
            width.base() * self.enclosure.need("vent.height", &vent.height)?.base()
        } else {
            return Err(Undecided::need(self.enclosure.at("vent.diameter")));
        };
        let count = f64::from(vent.count.unwrap_or(1));
        if area * count <= 0.0 {
            return Err(Undecided::NotApplicable("a vent without area"));
        }
        Ok(Opening { area, length, count })
    }

    /// What the data sheets say; drivers that share a box are judged when they are alike.
    pub fn parameters(&self) -> Decided<Parameters> {
        let told = |driver: &Driver| {
            driver.resonance.is_some() || driver.total_q.is_some() || driver.compliance_volume.is_some()
        };
        if !self.drivers.iter().any(|driver| told(driver)) {
            return Err(Undecided::NotApplicable("the plan gives no resonance, Qts and Vas of a driver in it"));
        }
        let each = all(self.drivers.iter().map(|driver| {
            let resonance = driver.need("resonance", &driver.resonance)?.base();
            let total_q = driver.need("total_q", &driver.total_q)?;
            let compliance_volume = driver.need("compliance_volume", &driver.compliance_volume)?.base();
            let sound = resonance > 0.0 && total_q > 0.0 && compliance_volume > 0.0;
            sound
                .then_some(Parameters { resonance, total_q, compliance_volume })
                .ok_or(Undecided::NotApplicable("not a driver"))
        }))?;
        let first = *each.first().ok_or(Undecided::NotApplicable("no driver sits in it"))?;
        if each.iter().any(|other| *other != first) {
            return Err(Undecided::NotApplicable("drivers that differ share it"));
        }
        let compliance_volume = each.iter().map(|driver| driver.compliance_volume).sum();
        Ok(Parameters { compliance_volume, ..first })
    }
}

/// A vented box tuned to 38.1 Hz whose amplifier has this setting, for tests.
#[cfg(test)]
pub fn vented(setting: &str) -> String {
    format!(
        "plan: 1\namplifiers: {{amp: {{}}}}\ndrivers: {{sub: {{enclosure: box, coils: [4 ohm]}}}}\nenclosures: {{box: \
         {{kind: vented, net_volume: 50 L, vent: {{diameter: 100 mm, length: 250 mm}}}}}}\nloads: {{bass: {{amplifier: amp, \
         outputs: [1], coils: sub.1}}}}\nsettings: {{amp: {{{setting}}}}}\n"
    )
}
