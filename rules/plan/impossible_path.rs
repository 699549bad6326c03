//! A path that cannot be is a drawing of another vehicle, and every check along it misses something.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Terminal, Zone};
use crate::rules::route::ways::{self, Way};
use crate::solve::way::{Break, first_break};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PLAN-07",
    name: "impossible-path",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("impossible_path.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Drop("wires.*.path.*"),
        super::Slip::Mistake("amplifiers.*.location"),
        super::Slip::Insert("wires.*.path", &["rear-seat", "roof", "left-door"]),
    ],
};

const WHY: &str = "what the path leaves out nobody judges: the wall, the heat, the water and the length on the way";

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    ways::of(job).into_iter().map(|way| (way.subject.clone(), judge(&way, job))).collect()
}

fn judge(way: &Way<'_>, job: &Job<'_>) -> Judged {
    if let Some(terminal) = to_itself(way) {
        let end = way.at("to");
        return Ok(Verdict::fail(
            Finding::new(end, format!("`{}` ends where it begins, at `{terminal}`", way.name))
                .label("the terminal it comes from")
                .because("it joins nothing, and what it was meant to join stays without it")
                .mend("lead it to the terminal it was meant for, or leave it out"),
        ));
    }
    way.known()?;
    if let Some(found) = first_break(way.path) {
        return Ok(Verdict::fail(jump(way, found)));
    }
    let starts = end(way, 0, way.from, job);
    let ends = end(way, way.path.len() - 1, way.to, job);
    let mut needs = Vec::new();
    for judged in [starts, ends] {
        match judged {
            Ok(None) => {}
            Ok(Some(finding)) => return Ok(Verdict::fail(finding)),
            Err(missing) => needs.extend(missing),
        }
    }
    if needs.is_empty() { Ok(Verdict::pass()) } else { Err(Undecided::Open(needs)) }
}

/// The terminal at which a supply wire both begins and ends.
pub fn to_itself<'a>(way: &Way<'a>) -> Option<&'a Terminal> {
    let (from, to) = (way.from.first()?, way.to.first()?);
    let is_wire = way.subject.segments().next() == Some("wires");
    (is_wire && from == to).then_some(from)
}

/// What to say where a path jumps over a wall.
fn jump(way: &Way<'_>, found: Break) -> Finding {
    let (name, there) = (way.name, way.path[found.at].word());
    let before = way.path[found.at.saturating_sub(1)].word();
    let from = found.after.map_or_else(|| before.clone(), |at| way.path[at].word());
    let (title, mend) = match found.lacks.map(Zone::word) {
        Some(wall) => (
            format!("`{name}` gets from `{from}` to `{there}` without passing `{wall}`"),
            format!("write `{wall}` between them, and how it goes through below `crossings`"),
        ),
        None => (
            format!("`{name}` cannot get from `{before}` to `{there}`"),
            format!("write the places between `{from}` and `{there}`, each crossing where it is passed"),
        ),
    };
    let through = found
        .lacks
        .map(|wall| Offer::new(format!("lead it through {}", wall.word())).insert(way.zone(found.at), &wall.word()));
    let finding = Finding::new(way.zone(found.at), title).label("no way leads here").because(WHY).mend(mend);
    let finding = finding.offers(through);
    match found.after {
        Some(at) => finding.also(way.zone(at), "from here"),
        None => finding,
    }
}

/// What is wrong with one end of a path: it must lie where one of its terminals sits, or beside that.
fn end(way: &Way<'_>, at: usize, terminals: &[Terminal], job: &Job<'_>) -> Result<Option<Finding>, Vec<Place>> {
    let zone = way.path[at];
    if zone.room().is_none() {
        return Ok(None);
    }
    let sites: Vec<(&Terminal, Place, Option<Zone>)> =
        terminals.iter().filter_map(|end| site(job, end).map(|(place, zone)| (end, place, zone))).collect();
    if sites.iter().any(|(.., sits)| sits.is_some_and(|sits| sits.is_beside(zone))) {
        return Ok(None);
    }
    let unknown: Vec<Place> = sites.iter().filter(|(.., sits)| sits.is_none()).map(|(_, at, _)| at.clone()).collect();
    if !unknown.is_empty() {
        return Err(unknown);
    }
    let Some((terminal, place, Some(sits))) = sites.into_iter().next() else { return Ok(None) };
    let title = format!("`{}` ends in `{}`, and `{terminal}` sits in `{}`", way.name, zone.word(), sits.word());
    Ok(Some(
        Finding::new(way.zone(at), title)
            .label("its end")
            .also(place, "what it joins")
            .because(WHY)
            .mend(format!("carry the path on to `{}`, or correct where the gear sits", sits.word()))
            .offer(
                Offer::new(format!("carry it on to {}", sits.word()))
                    .insert(way.zone(if at == 0 { 0 } else { at + 1 }), &sits.word()),
            ),
    ))
}

/// Where the thing behind a terminal sits, with the place that says so.
fn site(job: &Job<'_>, end: &Terminal) -> Option<(Place, Option<Zone>)> {
    let (plan, name) = (job.plan, end.thing.as_str());
    let of = |section: &str, zone| Some((Place::of(format!("{section}.location")), zone));
    if name == "battery" {
        let battery = plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
        return of("vehicle.battery", battery.and_then(|battery| battery.location));
    }
    if name == "grounds" {
        let ground = plan.grounds.get(&end.terminal)?;
        return of(&format!("grounds.{}", end.terminal), ground.location);
    }
    let sections = [
        ("amplifiers", plan.amplifiers.get(name).map(|it| it.location)),
        ("batteries", plan.batteries.get(name).map(|it| it.location)),
        ("isolators", plan.isolators.get(name).map(|it| it.location)),
        ("blocks", plan.blocks.get(name).map(|it| it.location)),
        ("capacitors", plan.capacitors.get(name).map(|it| it.location)),
    ];
    let found = sections.into_iter().find_map(|(section, zone)| Some((section, zone?)));
    found.and_then(|(section, zone)| of(&format!("{section}.{name}"), zone))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, outcome};

    const CODE: &str = "PLAN-07";

    fn plan(battery: &str, amplifier: &str, path: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{battery: {{{battery}}}}}\namplifiers: {{amp: {{{amplifier}}}}}\n\
             wires: {{main: {{from: battery.positive, to: amp.power, path: [{path}]}}}}\n\
             turn_on: {{remote: {{to: [amp.remote], path: [{path}]}}}}\n\
             signals: {{left: {{to: amp.line, lead: {{path: [{path}]}}}}}}\n"
        )
    }

    fn of(path: &str) -> Outcome {
        outcome(&plan("location: engine-bay", "location: cargo", path), CODE, "wires.main")
    }

    #[test]
    fn a_wall_is_passed_by_its_crossing() {
        assert_eq!(of("engine-bay, firewall, right-sill, cargo"), Outcome::Pass);
        assert_eq!(of("engine-bay, firewall, cargo"), Outcome::Pass);
        assert_eq!(of("engine-bay, underbody, floor-pan, cargo"), Outcome::Pass);
        assert_eq!(of("engine-bay, right-sill, cargo"), Outcome::Fail);
        assert_eq!(of("engine-bay, floor-pan, cargo"), Outcome::Fail);
    }

    #[test]
    fn the_finding_is_at_the_place_that_cannot_be_reached_and_names_the_wall() {
        let text = plan("location: engine-bay", "location: cargo", "engine-bay, right-sill, cargo");
        for (lead, base) in [("wires.main", "wires.main"), ("turn_on.remote", "turn_on.remote")] {
            let finding = check(&text, CODE, lead).finding.expect("it fails");
            assert_eq!(finding.at.place.path(), format!("{base}.path.1"));
            assert!(finding.title.ends_with("from `engine-bay` to `right-sill` without passing `firewall`"));
        }
        assert_eq!(outcome(&text, CODE, "signals.left"), Outcome::Fail);
    }

    #[test]
    fn both_ends_lie_where_their_gear_sits_or_beside_it() {
        assert_eq!(of("engine-bay, firewall, right-sill"), Outcome::Pass, "the sill ends in the load space");
        assert_eq!(of("engine-bay, firewall, dash"), Outcome::Fail);
        assert_eq!(of("right-sill, cargo"), Outcome::Fail);
        let text = plan("location: engine-bay", "location: cargo", "engine-bay, firewall, dash");
        let finding = check(&text, CODE, "wires.main").finding.expect("it fails");
        assert_eq!(finding.at.place.path(), "wires.main.path.2");
    }

    /// Told whether or not its path is stated; an amplifier that lacks just this feed is told below it.
    #[test]
    fn a_wire_from_a_terminal_to_itself_is_told_as_such() {
        let text = "plan: 1\njob: {stage: planned}\namplifiers: {amp: {}}\nwires:\n  \
                    feed: {from: battery.positive, to: battery.positive}\n  back: {from: amp.ground, to: battery.negative}\n\
                    turn_on: {remote: {to: [amp.remote]}}\nsignals: {left: {to: amp.line}}\nloads: {bass: {amplifier: amp}}\n";
        let finding = check(text, CODE, "wires.feed").finding.expect("it fails");
        assert_eq!(finding.title, "`feed` ends where it begins, at `battery.positive`");
        assert_eq!(finding.at.place.path(), "wires.feed.to");
        assert_eq!(outcome(text, CODE, "wires.back"), Outcome::Open);
        let lacks = check(text, "PLAN-03", "amplifiers.amp").follows;
        assert_eq!(lacks.map(|(code, place)| (code, place.path())), Some((CODE, "wires.feed".to_owned())));
    }

    #[test]
    fn gear_whose_place_is_not_stated_leaves_it_open() {
        let check = check(&plan("", "", "engine-bay, firewall, cargo"), CODE, "wires.main");
        let needs: Vec<String> = check.needs.iter().map(crate::solve::Place::path).collect();
        assert_eq!((check.outcome, needs.len()), (Outcome::Open, 2));
        assert_eq!(needs, ["vehicle.battery.location", "amplifiers.amp.location"]);
        assert_eq!(outcome("plan: 1\nwires: {main: {}}\n", CODE, "wires.main"), Outcome::Open);
    }

    #[test]
    fn a_lead_to_several_amplifiers_ends_at_one_of_them() {
        let lead = |path: &str| {
            format!(
                "plan: 1\namplifiers: {{a: {{location: under-seat}}, b: {{location: cargo}}}}\n\
                 turn_on: {{remote: {{to: [a.remote, b.remote], path: [dash, {path}]}}}}\n"
            )
        };
        assert_eq!(outcome(&lead("right-sill, cargo"), CODE, "turn_on.remote"), Outcome::Pass);
        assert_eq!(outcome(&lead("roof, right-door"), CODE, "turn_on.remote"), Outcome::Fail);
        assert_eq!(outcome(&lead("left-pillar"), CODE, "turn_on.remote"), Outcome::Pass, "cargo has pillars too");
    }

    #[test]
    fn a_path_is_offered_carried_on_at_the_end_that_is_short() {
        let text = |path: &str| plan("location: engine-bay", "location: cargo", path);
        let after = |path: &str| {
            let wire = "plan: 1\nvehicle: {battery: {location: engine-bay}}\namplifiers: {amp: {location: cargo}}\n\
                        wires: {main: {from: battery.positive, to: amp.power, path: [PATH]}}\n";
            let after = after(&wire.replace("PATH", path), CODE, "wires.main");
            after.into_iter().map(|text| text[text.find('[').unwrap()..].to_owned()).collect::<Vec<_>>()
        };
        assert_eq!(outcome(&text("engine-bay, firewall, dash"), CODE, "wires.main"), Outcome::Fail);
        assert_eq!(after("engine-bay, firewall, dash"), ["[engine-bay, firewall, dash, cargo]}}\n"]);
        assert_eq!(after("right-sill, cargo"), ["[engine-bay, right-sill, cargo]}}\n"]);
    }
}
