//! Water and salt in a fuse holder corrode the contacts until they burn; a breaker's arc lights what is around it.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Battery, BatteryKind, Zone};
use crate::solve::protection::{FuseSite, Host};
use crate::solve::{Decided, Job, Place, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-12",
    name: "fuse-unfit-for-place",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("unfit_for_place.md"),
    check: Subjects::Fuse(check),
    slips: &[super::Slip::Say("wires.*.fuse|far_fuse.holder.sealed", &["false"])],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let zone = site.zone.ok_or_else(|| {
        Undecided::need(match site.host {
            Host::Wire { wire, .. } => job.wires[wire].at("path"),
            Host::Block(block) => job.blocks[block].at("location"),
        })
    })?;
    // What fails for sure outweighs a fact that is missing.
    match (keeps_water_out(site, zone), lights_nothing(site, zone, job)) {
        (Ok(sealed), _) if sealed.finding.is_some() => Ok(sealed),
        (_, Ok(protected)) if protected.finding.is_some() => Ok(protected),
        (Err(Undecided::NotApplicable(_)), other) | (other, Err(Undecided::NotApplicable(_))) => other,
        (Err(undecided), _) | (_, Err(undecided)) => Err(undecided),
        (sealed, _) => sealed,
    }
}

fn keeps_water_out(site: &FuseSite, zone: Zone) -> Judged {
    if !zone.is_wet() {
        return Err(Undecided::NotApplicable("this fuse sits in a dry place"));
    }
    let place = site.place.sub("holder.sealed");
    let sealed = site.fuse.holder.as_ref().and_then(|holder| holder.sealed);
    let sealed = sealed.ok_or_else(|| Undecided::need(place.clone()))?;
    let (what, mend) = if site.fuse.is_breaker() {
        ("breaker", "fit a breaker in a sealed case, or a fuse in a sealed holder")
    } else {
        ("fuse holder", "fit a holder with a sealed cover and sealed wire entries")
    };
    let offer = format!("fit a sealed {}", if site.fuse.is_breaker() { "breaker" } else { "holder" });
    Ok(Verdict::pass_if(sealed, || {
        let sealed = Offer::new(offer).set(place.clone(), true);
        Finding::new(place, format!("unsealed {what} in the {}", zone.word().replace('-', " ")))
            .label("not sealed")
            .because("water and salt corrode the contacts, and a corroded contact burns at the current it was made for")
            .mend(mend)
            .offer(sealed)
    }))
}

/// The contacts of a breaker part with an arc. Petrol vapour in an engine bay and the hydrogen of a battery burn.
fn lights_nothing(site: &FuseSite, zone: Zone, job: &Job<'_>) -> Judged {
    if !site.fuse.is_breaker() || !(zone == Zone::EngineBay || gas_comes_to(zone, job)?) {
        return Err(Undecided::NotApplicable("nothing that can be lit is beside it"));
    }
    let place = site.place.sub("ignition_protected");
    let protected = site.fuse.ignition_protected.ok_or_else(|| Undecided::need(place.clone()))?;
    Ok(Verdict::pass_if(protected, || {
        let place_of = zone.word().replace('-', " ");
        Finding::new(place.clone(), format!("breaker in the {place_of} that can light vapour"))
            .label("not ignition protected")
            .because("its contacts part with an arc, and fuel vapour or the gas of a battery is lit by it")
            .mend("fit a breaker that is ignition protected (SAE J1171), or a fuse")
            .offer(Offer::new("fit an ignition protected breaker").set(place, true))
    }))
}

/// Whether a battery with liquid electrolyte stands in a place.
fn gas_comes_to(zone: Zone, job: &Job<'_>) -> Decided<bool> {
    let stated = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.clone());
    let starting = (Place::of("vehicle.battery"), stated.unwrap_or_default());
    let added = job.plan.batteries.iter();
    let added = added.map(|(name, battery)| (Place::of(format!("batteries.{name}")), battery.clone()));
    let gasses = |(place, battery): (Place, Battery)| {
        let is_liquid = battery.kind.map(|kind| matches!(kind, BatteryKind::Flooded | BatteryKind::EnhancedFlooded));
        match (battery.location, is_liquid) {
            (_, Some(false)) => Ok(false),
            (Some(location), _) if location != zone => Ok(false),
            (None, _) => Err(Undecided::need(place.sub("location"))),
            (_, None) => Err(Undecided::need(place.sub("kind"))),
            (_, Some(true)) => Ok(true),
        }
    };
    let found: Vec<Decided<bool>> = std::iter::once(starting).chain(added).map(gasses).collect();
    if found.contains(&Ok(true)) {
        return Ok(true);
    }
    all(found).map(|_| false)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(path: &str, holder: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, {path}\
             fuse: {{rating: 60 A, distance: 20 cm{holder}}}, far_fuse: {{rating: 60 A, distance: 20 cm}}}}\n"
        )
    }

    const WET: &str = "path: [engine-bay, firewall, dash], ";

    #[test]
    fn a_wet_place_asks_for_a_sealed_holder() {
        let of = |holder: &str| outcome(&plan(WET, holder), "FUSE-12", "wires.main.fuse");
        assert_eq!(of(", holder: {sealed: true}"), Outcome::Pass);
        assert_eq!(of(", holder: {sealed: false}"), Outcome::Fail);
        assert_eq!(of(""), Outcome::Open);
    }

    #[test]
    fn a_fuse_is_where_its_end_of_the_wire_is() {
        assert_eq!(outcome(&plan(WET, ""), "FUSE-12", "wires.main.far_fuse"), Outcome::NotApplicable);
        let dry = plan("path: [under-seat], ", ", holder: {sealed: false}");
        assert_eq!(outcome(&dry, "FUSE-12", "wires.main.fuse"), Outcome::NotApplicable);
        let underbody = plan("path: [underbody], ", ", holder: {sealed: false}");
        assert_eq!(outcome(&underbody, "FUSE-12", "wires.main.fuse"), Outcome::Fail);
    }

    /// An arc is dangerous in the engine bay, and beside a battery that gasses wherever it stands; a fuse has none outside.
    #[test]
    fn a_breaker_must_not_light_what_is_around_it() {
        let of = |path: &str, battery: &str, more: &str| {
            let text = format!(
                "plan: 1\nvehicle: {{battery: {{{battery}}}}}\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: \
                 battery.positive, to: amp.power, path: [{path}], fuse: {{form: circuit-breaker, rating: 60 A, \
                 distance: 20 cm, holder: {{sealed: true}}{more}}}}}\n"
            );
            check(&text, "FUSE-12", "wires.main.fuse")
        };
        let bay = |more| of("engine-bay, firewall, dash", "location: engine-bay, kind: agm", more);
        assert_eq!(bay(", ignition_protected: true").outcome, Outcome::Pass);
        assert_eq!(bay(", ignition_protected: false").outcome, Outcome::Fail);
        assert_eq!(bay("").needs[0].path(), "wires.main.fuse.ignition_protected");
        let cargo = |kind: &str| of("cargo", &format!("location: cargo, kind: {kind}"), ", ignition_protected: false");
        assert_eq!((cargo("flooded").outcome, cargo("agm").outcome), (Outcome::Fail, Outcome::NotApplicable));
        let open = |battery: &str| of("cargo", battery, ", ignition_protected: false").needs[0].path();
        assert_eq!(open("location: cargo"), "vehicle.battery.kind");
        assert_eq!(open("kind: flooded"), "vehicle.battery.location");
        assert_eq!(of("cargo", "location: engine-bay", "").outcome, Outcome::NotApplicable);
        let fuse = plan(WET, ", holder: {sealed: true}, ignition_protected: false");
        assert_eq!(outcome(&fuse, "FUSE-12", "wires.main.fuse"), Outcome::Pass);
    }

    #[test]
    fn a_place_that_is_not_stated_leaves_it_open() {
        let check = check(&plan("", ", holder: {sealed: false}"), "FUSE-12", "wires.main.fuse");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "wires.main.path"));
    }

    /// What fails for sure is told though the other fact is missing; what passes leaves the missing one asked for.
    #[test]
    fn a_breaker_in_the_engine_bay_has_to_be_sealed_and_ignition_protected() {
        let of =
            |facts: &str| outcome(&plan(WET, &format!(", form: circuit-breaker{facts}")), "FUSE-12", "wires.main.fuse");
        assert_eq!(of(", holder: {sealed: true}, ignition_protected: true"), Outcome::Pass);
        assert_eq!(of(", holder: {sealed: false}"), Outcome::Fail);
        assert_eq!(of(", ignition_protected: false"), Outcome::Fail);
        assert_eq!((of(", holder: {sealed: true}"), of(", ignition_protected: true")), (Outcome::Open, Outcome::Open));
    }
}
