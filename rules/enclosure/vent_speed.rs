//! Air that rushes through a vent too small for it is heard.

use super::site::{self, Site};
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::EnclosureKind;
use crate::quantity::{Power, Quantity, Range, Speed};
use crate::solve::enclosure::{tuning, vent_speed};
use crate::solve::{Job, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "BOX-03",
    name: "vent-speed",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("vent_speed.md"),
    check: Subjects::Each(|job| site::each(job, check)),
};

fn check(site: &Site<'_>, job: &Job<'_>) -> Judged {
    let driver = site.parameters()?;
    site.only(EnclosureKind::Vented, "the box has no vent")?;
    let ((litres, _), vent) = (site.litres()?, site.vent()?);
    let each = all(site.drivers.iter().map(|driver| driver.need("rms", &driver.rms)))?;
    let power = Quantity::<Power>::new(each.iter().map(|power| power.base()).sum());
    let speed = Range::<Speed>::point(vent_speed(driver, litres, vent, power.base()));
    let limit = job.house.limits.vent_speed;
    let place = site.enclosure.at("vent");
    Ok(at_most(speed, limit.value)
        .formula("peak air speed in m/s at the tuning, from the acoustic power of a vented box without losses")
        .given(Input::stated("rated power of the drivers", power, site.drivers[0].at("rms")))
        .limit_from(limit.source)
        .verdict(|_| {
            Finding::new(place, format!("air at {:.0} m/s in the vent, {:.0} m/s allowed", speed.high(), limit.base()))
                .label(format!("tuned to {:.0} Hz", tuning(vent, litres)))
                .because("fast air hisses and chuffs at the ends of the vent, and the vent stops working as one")
                .mend(format!(
                    "give the vent {:.1} times the area, and the length that keeps the tuning",
                    speed.high() / limit.base()
                ))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn speed(vent: &str, power: &str) -> Outcome {
        let text = format!(
            "plan: 1\ndrivers: {{sub: {{enclosure: box, {power} resonance: 30 Hz, total_q: 0.4, compliance_volume: 60 L}}}}\n\
             enclosures: {{box: {{kind: vented, net_volume: 50 L, vent: {{{vent}}}}}}}\n"
        );
        outcome(&text, "BOX-03", "enclosures.box")
    }

    #[test]
    fn a_narrow_vent_is_too_fast_at_power_and_not_at_a_whisper() {
        assert_eq!(speed("diameter: 50 mm, length: 100 mm", "rms: 500 W,"), Outcome::Fail);
        assert_eq!(speed("diameter: 50 mm, length: 100 mm", "rms: 1 W,"), Outcome::Pass);
        assert_eq!(speed("width: 400 mm, height: 80 mm, length: 700 mm", "rms: 300 W,"), Outcome::Pass);
        assert_eq!(speed("diameter: 50 mm", "rms: 500 W,"), Outcome::Open);
        assert_eq!(speed("diameter: 50 mm, length: 100 mm", ""), Outcome::Open);
    }
}
