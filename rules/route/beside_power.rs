//! A signal lead beside a supply wire takes up its noise.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::{Signal, SignalLead, Wire, Zone, ZoneKind};
use crate::quantity::{Length, Quantity};
use crate::rules::tape;
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-03",
    name: "signal-beside-power",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("beside_power.md"),
    check: Subjects::Signal(check),
    slips: &[
        super::Slip::Mistake("signals.*.lead.path.*"),
        super::Slip::Say("signals.*.lead.path.*", &["left-sill", "right-sill"]),
    ],
};

/// A place that a signal lead and a supply wire share, by its number on the signal's path.
struct Shared<'j, 'a> {
    at: usize,
    zone: Zone,
    wire: &'j Thing<'a, Wire>,
}

fn check(signal: &Thing<'_, Signal>, job: &Job<'_>) -> Judged {
    if job.wires.is_empty() {
        return Err(Undecided::NotApplicable("no supply wire is planned"));
    }
    let lead = signal.plan().lead.as_ref().filter(|lead| !lead.path.is_empty());
    let lead = lead.ok_or_else(|| Undecided::need(signal.at("lead.path")))?;
    let gear = gear_zone(signal, lead, job);
    let shared: Vec<Shared<'_, '_>> = job
        .wires
        .iter()
        .flat_map(|wire| shared(lead, wire, |zone| Some(zone) == gear || meet_at_gear(signal, wire, zone)))
        .collect();
    // A narrow place decides at once; a wide one only with the distance.
    let worst = shared.iter().min_by_key(|shared| !is_narrow(shared.zone));
    let unknown: Vec<Place> =
        job.wires.iter().filter(|wire| wire.path.is_empty()).map(|wire| wire.at("path")).collect();
    let Some(worst) = worst else {
        return if unknown.is_empty() { Ok(Verdict::pass()) } else { Err(Undecided::Open(unknown)) };
    };
    match lead.separation {
        Some(separation) => Ok(apart(signal, separation, worst, job)),
        None if is_narrow(worst.zone) => Ok(Verdict::fail(finding(
            signal,
            signal.at(format!("lead.path.{}", worst.at)),
            format!("`{}` runs beside supply wire `{}` in `{}`", signal.name, worst.wire.name, worst.zone.word()),
            worst,
            job,
        ))),
        None => Err(Undecided::need(signal.at("lead.separation"))),
    }
}

fn apart(signal: &Thing<'_, Signal>, separation: Quantity<Length>, worst: &Shared<'_, '_>, job: &Job<'_>) -> Verdict {
    let limit = job.house.limits.signal_separation;
    let place = signal.at("lead.separation");
    at_least(separation, limit.value)
        .formula("distance between signal lead and supply wire >= limit")
        .given(Input::stated("separation", separation, place.clone()))
        .given(Input::word("runs with", worst.wire.name, worst.wire.place()))
        .limit_from(limit.source)
        .verdict(|_| {
            let (name, wire, zone) = (signal.name, worst.wire.name, worst.zone.word());
            let least = separation.with_base(limit.value.base());
            let title =
                format!("`{name}` runs {separation} from supply wire `{wire}` in `{zone}`, at least {least} is asked");
            finding(signal, place, title, worst, job)
        })
}

/// The lead well away from supply wires in the same places, and where a place is too narrow for that, on another side of
/// the vehicle.
fn apart_by(signal: &Thing<'_, Signal>, worst: &Shared<'_, '_>, job: &Job<'_>) -> Vec<Offer> {
    let far = tape::from(job.house.limits.signal_separation.value.base(), written(signal));
    let away = |offer: Offer| offer.set(signal.at("lead.separation"), far);
    let place = signal.at(format!("lead.path.{}", worst.at));
    let others = [Zone::LeftSill, Zone::RightSill, Zone::CentreTunnel].into_iter().filter(|zone| *zone != worst.zone);
    let moved = others.flat_map(|zone| {
        let offer = Offer::new(format!("lay it in {}", zone.word())).set(place.clone(), zone.word());
        [offer.clone(), away(offer)]
    });
    let stays = (!is_narrow(worst.zone)).then(|| away(Offer::new(format!("lay it {far} from the supply wire"))));
    stays.into_iter().chain(moved).collect()
}

fn finding(signal: &Thing<'_, Signal>, place: Place, title: String, worst: &Shared<'_, '_>, job: &Job<'_>) -> Finding {
    let limit = job.house.limits.signal_separation.value;
    let least = written(signal).map_or(limit, |written| written.with_base(limit.base()));
    let at = worst.wire.path.iter().position(|zone| *zone == worst.zone).unwrap_or_default();
    Finding::new(place, title)
        .label("beside a supply wire")
        .also(worst.wire.at(format!("path.{at}")), format!("`{}` runs here too", worst.wire.name))
        .because("a signal lead beside a supply wire takes up alternator whine and the amplifier's own current")
        .mend(format!("lay it on the other side of the vehicle, or at least {least} away"))
        .offers(apart_by(signal, worst, job))
}

/// A length in the unit of which the plan speaks of this lead.
fn written(signal: &Signal) -> Option<Quantity<Length>> {
    signal.lead.as_ref().and_then(|lead| lead.separation.or(lead.length))
}

/// Where the amplifier sits that the signal goes to: there power and signal must meet.
fn gear_zone(signal: &Thing<'_, Signal>, lead: &SignalLead, job: &Job<'_>) -> Option<Zone> {
    let amplifier = signal.to.as_ref().and_then(|to| job.amplifier(&to.thing));
    amplifier.and_then(|amplifier| amplifier.location).or_else(|| lead.path.last().copied())
}

/// Whether a wire ends there at the converter or the processor that the signal comes through.
fn meet_at_gear(signal: &Signal, wire: &Wire, zone: Zone) -> bool {
    let ends = [(&wire.from, wire.path.first()), (&wire.to, wire.path.last())];
    ends.into_iter().filter(|(_, at)| *at == Some(&zone)).any(|(end, _)| {
        let thing = end.as_ref().map(|end| &end.thing);
        thing.is_some() && (thing == signal.through.as_ref() || thing == signal.from.as_ref())
    })
}

fn shared<'j, 'a>(lead: &SignalLead, wire: &'j Thing<'a, Wire>, is_gear: impl Fn(Zone) -> bool) -> Vec<Shared<'j, 'a>> {
    let counts = |zone: Zone| zone.kind() == ZoneKind::Space && !is_gear(zone) && wire.path.contains(&zone);
    let zones = lead.path.iter().copied().enumerate().filter(|(_, zone)| counts(*zone));
    zones.map(|(at, zone)| Shared { at, zone, wire }).collect()
}

/// Whether a place is so narrow that two leads in it cannot keep the usual distance.
fn is_narrow(zone: Zone) -> bool {
    matches!(
        zone,
        Zone::LeftSill
            | Zone::RightSill
            | Zone::CentreTunnel
            | Zone::LeftPillar
            | Zone::RightPillar
            | Zone::LeftDoor
            | Zone::RightDoor
    )
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, outcome};

    fn plan(signal: &str, wire: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{location: cargo}}}}\nsources: {{radio: {{}}}}\n\
             wires: {{main: {{to: amp.power, {wire}}}}}\n\
             signals: {{left: {{from: radio, to: amp.line, lead: {{{signal}}}}}}}\n"
        )
    }

    fn of(signal: &str, wire: &str) -> Outcome {
        outcome(&plan(signal, wire), "ROUTE-03", "signals.left")
    }

    #[test]
    fn the_same_sill_fails_and_opposite_sills_pass() {
        let wire = "path: [engine-bay, right-sill, cargo]";
        assert_eq!(of("path: [dash, right-sill, cargo]", wire), Outcome::Fail);
        assert_eq!(of("path: [dash, left-sill, cargo]", wire), Outcome::Pass, "cargo is where the amplifier sits");
        let check = check(&plan("path: [dash, right-sill, cargo]", wire), "ROUTE-03", "signals.left");
        assert_eq!(check.finding.expect("it fails").at.place.path(), "signals.left.lead.path.1");
    }

    #[test]
    fn eighteen_inches_pass_and_one_less_fails() {
        let wire = "path: [engine-bay, cabin-floor, cargo]";
        assert_eq!(of("path: [dash, cabin-floor, cargo], separation: 18 in", wire), Outcome::Pass);
        assert_eq!(of("path: [dash, cabin-floor, cargo], separation: 17 in", wire), Outcome::Fail);
    }

    #[test]
    fn a_wide_place_or_a_way_that_is_not_stated_leaves_it_open() {
        assert_eq!(of("path: [dash, cabin-floor, cargo]", "path: [engine-bay, cabin-floor, cargo]"), Outcome::Open);
        assert_eq!(of("path: [dash, left-sill, cargo]", "length: 4 m"), Outcome::Open);
        assert_eq!(of("length: 5 m", "path: [engine-bay, right-sill, cargo]"), Outcome::Open);
    }

    #[test]
    fn without_a_supply_wire_there_is_nothing_to_keep_away_from() {
        let text = "plan: 1\nsources: {radio: {}}\nsignals: {left: {from: radio}}\n";
        assert_eq!(outcome(text, "ROUTE-03", "signals.left"), Outcome::NotApplicable);
    }

    #[test]
    fn of_two_places_that_they_share_the_narrow_one_decides() {
        let wire = "path: [engine-bay, firewall, cabin-floor, right-sill, cargo]";
        let text = plan("path: [dash, cabin-floor, right-sill, cargo]", wire);
        let finding = finding(&text, "ROUTE-03", "signals.left");
        assert_eq!(finding.at.place.path(), "signals.left.lead.path.2");
        assert_eq!(finding.also[0].place.path(), "wires.main.path.3");
    }

    /// 18 in are 45.7 cm, in steps of 5 cm half a metre.
    #[test]
    fn another_side_is_offered_and_distance_where_there_is_room_for_it() {
        let narrow = plan("path: [dash, right-sill, cargo]", "path: [engine-bay, right-sill, cargo]");
        let moved = after(&narrow, "ROUTE-03", "signals.left");
        assert_eq!(moved[0], narrow.replace("[dash, right-sill", "[dash, left-sill"));
        assert_eq!(moved.len(), 4);
        assert_eq!(outcome(&moved[2], "ROUTE-03", "signals.left"), Outcome::Pass, "{}", moved[2]);
        let wide =
            plan("path: [dash, cabin-floor, cargo], separation: 10 cm", "path: [engine-bay, cabin-floor, cargo]");
        let moved = after(&wide, "ROUTE-03", "signals.left");
        assert_eq!(moved[0], wide.replace("10 cm", "50 cm"));
        assert_eq!(outcome(&moved[0], "ROUTE-03", "signals.left"), Outcome::Pass);
        assert_eq!(moved.len(), 7);
    }

    #[test]
    fn everything_is_said_in_the_unit_of_the_writer() {
        let wire = "path: [engine-bay, cabin-floor, cargo]";
        for (written, least, mended) in [("6 in", "18 in", "18 in"), ("10 cm", "45.7 cm", "50 cm")] {
            let text = plan(&format!("path: [dash, cabin-floor, cargo], separation: {written}"), wire);
            let check = check(&text, "ROUTE-03", "signals.left");
            let (finding, working) = (check.finding.expect("it fails"), check.working.expect("worked"));
            assert!(finding.title.contains(&format!("runs {written} from")), "{}", finding.title);
            assert!(finding.title.ends_with(&format!("at least {least} is asked")), "{}", finding.title);
            assert!(finding.mend.ends_with(&format!("at least {least} away")), "{}", finding.mend);
            assert_eq!((working.result.to_string(), working.limit.to_string()), (written.into(), least.into()));
            assert_eq!(after(&text, "ROUTE-03", "signals.left")[0], text.replace(written, mended));
        }
    }

    /// At the converter its own supply and the signal meet, and nowhere else.
    #[test]
    fn the_supply_of_the_converter_meets_the_signal_where_the_converter_sits() {
        let of = |ends: &str, path: &str| {
            let wire = format!("{ends}, path: [{path}]");
            let text = plan("path: [dash, left-sill, cargo]", "path: [engine-bay, right-sill, cargo]")
                .replace("wires: {", &format!("converters: {{loc: {{}}}}\nwires: {{small: {{{wire}}}, "))
                .replace("from: radio,", "from: radio, through: loc,");
            outcome(&text, "ROUTE-03", "signals.left")
        };
        assert_eq!(of("to: loc.power", "engine-bay, dash"), Outcome::Pass);
        assert_eq!(of("from: loc.ground", "dash"), Outcome::Pass);
        assert_eq!(of("to: loc.power", "engine-bay, dash, right-footwell"), Outcome::Open, "dash is not its end");
        assert_eq!(of("to: loc.power", "engine-bay, left-sill, dash"), Outcome::Fail, "the sill is not its end");
        assert_eq!(of("to: other.power", "engine-bay, dash"), Outcome::Open);
    }
}
