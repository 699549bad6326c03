//! Positive joined to negative with no load between.

use super::site;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::Wire;
use crate::solve::graph::POSITIVE;
use crate::solve::polarity::Short;
use crate::solve::{Job, Place, Thing};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-14",
    name: "dead-short",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("dead_short.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Mistake("wires.*.from"), super::Slip::Mistake("wires.*.to")],
};

const WHY: &str = "everything the battery has flows through it: at best a fuse opens the moment it is put in, without one the \
                   wire burns";

/// Every battery that something is connected to.
fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let graph = job.graph();
    let first = graph.around(POSITIVE).next().map(|_| Place::of("vehicle.battery"));
    let added = job.plan.batteries.keys().filter(|name| graph.node(name, "positive").is_some());
    let batteries = first.into_iter().chain(added.map(|name| Place::of(format!("batteries.{name}"))));
    batteries.map(|battery| (battery.clone(), Ok(judge(&battery, job)))).collect()
}

fn judge(battery: &Place, job: &Job<'_>) -> Verdict {
    let short = job.polarity().shorts.iter().find(|short| short.battery == *battery);
    short.map_or_else(Verdict::pass, |short| Verdict::fail(finding(short, job)))
}

fn finding(short: &Short, job: &Job<'_>) -> Finding {
    let wires: Vec<&Thing<'_, Wire>> = short.wires.iter().map(|at| &job.wires[*at]).collect();
    let names: Vec<String> = wires.iter().map(|wire| format!("`{}`", wire.name)).collect();
    let title = format!("positive and negative are joined by {}", words::all(&names));
    let Some((last, others)) = wires.split_last() else { return Finding::new(short.battery.clone(), title) };
    let (near, end) = (end_at(last, short.near, job), end_at(last, short.end, job));
    // A wire alone is wrong where it meets the negative side; after others it is the one that is on the wrong terminal.
    let at = if others.is_empty() { end.clone() } else { near.clone() };
    let finding = Finding::new(at, title).label("no load between");
    let finding =
        others.iter().fold(finding, |finding, wire| finding.also(wire.place(), "comes from the positive side"));
    let finding = if others.is_empty() { finding } else { finding.also(end.clone(), "the negative side") };
    finding.because(WHY).mend(mend(short, job)).offers(offers(&near, &end, short, job))
}

/// The place of the end of a wire at a node.
fn end_at(wire: &Thing<'_, Wire>, node: usize, job: &Job<'_>) -> Place {
    let to = wire.to.as_ref().and_then(|end| job.graph().terminal(end));
    wire.at(if to == Some(node) { "to" } else { "from" })
}

fn mend(short: &Short, job: &Job<'_>) -> String {
    let named = |node: usize| job.graph().terminals[node].as_str();
    let gear = named(short.near).strip_suffix(".power");
    match gear {
        Some(gear) => format!("bring the return to `{gear}.ground`, or lead this wire where it was meant to go"),
        None => {
            "lead the wire to the gear it was meant for, or leave it out; a feed ends at `power`, a return begins at \
                 `ground`"
                .to_owned()
        }
    }
}

/// The return of gear that has none begins at its ground, and the feed of gear that has none ends at its power terminal.
fn offers(near: &Place, end: &Place, short: &Short, job: &Job<'_>) -> Vec<Offer> {
    let graph = job.graph();
    let lacks = |gear: &str, terminal: &str| graph.node(gear, terminal).is_none();
    let gear = graph.terminals[short.near].strip_suffix(".power");
    let back = gear.filter(|gear| lacks(gear, "ground")).map(|gear| format!("{gear}.ground"));
    let back = back.map(|ground| Offer::new(format!("bring it to {ground}")).set(near.clone(), ground));
    let unfed = job.amplifiers.iter().filter(|amplifier| lacks(amplifier.name, "power"));
    let feeds = unfed.map(|amplifier| {
        let power = format!("{}.power", amplifier.name);
        Offer::new(format!("bring it to {power}")).set(end.clone(), power)
    });
    back.into_iter().chain(feeds).collect()
}

/// The battery that is shorted through the wire with an end at this place, for findings that only follow from it.
pub fn shorted_at(place: &Place, job: &Job<'_>) -> Option<Place> {
    let at = job.wires.iter().position(|wire| site::ends(wire).iter().any(|end| wire.at(end.key) == *place));
    at.and_then(|wire| job.polarity().short_of(wire)).map(|short| short.battery.clone())
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, finding, judged, outcome};

    const BATTERY: &str = "vehicle.battery";

    fn plan(wires: &str) -> String {
        format!(
            "plan: 1\njob: {{stage: planned}}\nvehicle: {{voltage: 12 V, body: steel, battery: {{kind: flooded, \
             cold_cranking: 600 A}}}}\namplifiers: {{amp: {{class: D, channels: 1, rated: [{{load: 2 ohm, power: 300 W}}], \
             idle_current: 1 A}}}}\ngrounds: {{floor: {{}}}}\nwires:\n{wires}"
        )
    }

    const FED: &str = "size: 8 AWG, conductor: copper, length: 2 m, insulation: 105 C, path: [cargo]";

    fn feed(to: &str) -> String {
        format!("  feed: {{from: battery.positive, to: {to}, {FED}, fuse: {{rating: 40 A, distance: 20 cm}}}}\n")
    }

    fn back(from: &str) -> String {
        format!("  back: {{from: {from}, to: grounds.floor, {FED}}}\n")
    }

    #[test]
    fn a_load_between_passes_and_none_fails() {
        assert_eq!(outcome(&plan(&(feed("amp.power") + &back("amp.ground"))), "WIRE-14", BATTERY), Outcome::Pass);
        let short = finding(&plan(&(feed("amp.power") + &back("amp.power"))), "WIRE-14", BATTERY);
        assert_eq!(short.title, "positive and negative are joined by `feed` and `back`");
        assert_eq!(short.at.place.path(), "wires.back.from");
        let short = finding(&plan(&(feed("grounds.floor") + &back("amp.ground"))), "WIRE-14", BATTERY);
        assert_eq!(
            (short.title.as_str(), short.at.place.path().as_str()),
            ("positive and negative are joined by `feed`", "wires.feed.to")
        );
    }

    /// Nothing else is told of it: no thicker wire, no larger fuse, no terminal used twice.
    #[test]
    fn it_is_the_only_cause_and_no_current_is_told() {
        for wires in [feed("amp.power") + &back("amp.power"), feed("grounds.floor") + &back("amp.ground")] {
            let judged = judged(&plan(&wires));
            let by_short = |code: &str| judged.failed().filter(|check| check.rule.code == code).collect::<Vec<_>>();
            for code in ["WIRE-01", "FUSE-04", "WIRE-02", "SUPPLY-04", "FUSE-01"] {
                assert!(by_short(code).is_empty(), "{code}: {wires}");
            }
            for code in ["PLAN-03", "PLAN-04"] {
                assert!(
                    by_short(code)
                        .iter()
                        .all(|check| check.follows.as_ref().is_some_and(|(cause, _)| *cause == "WIRE-14"))
                        || code == "PLAN-03",
                    "{code}: {wires}"
                );
            }
            let load = check(&plan(&wires), "WIRE-01", "wires.feed");
            assert_eq!(load.outcome, Outcome::NotApplicable);
        }
    }

    #[test]
    fn the_terminal_that_was_meant_is_offered() {
        let mended = &after(&plan(&(feed("amp.power") + &back("amp.power"))), "WIRE-14", BATTERY)[0];
        assert!(mended.contains("back: {from: amp.ground, to: grounds.floor"), "{mended}");
        let mended = &after(&plan(&(feed("grounds.floor") + &back("amp.ground"))), "WIRE-14", BATTERY)[0];
        assert!(mended.contains("feed: {from: battery.positive, to: amp.power"), "{mended}");
    }

    #[test]
    fn a_battery_that_nothing_is_connected_to_is_not_judged() {
        let judged = judged(&plan(&back("amp.ground")));
        assert!(!judged.checks.iter().any(|check| check.rule.code == "WIRE-14"));
    }

    #[test]
    fn the_mend_names_the_ground_terminal_that_was_meant() {
        let back = finding(&plan(&(feed("amp.power") + &back("amp.power"))), "WIRE-14", BATTERY).mend;
        assert_eq!(back, "bring the return to `amp.ground`, or lead this wire where it was meant to go");
        let alone = finding(&plan(&(feed("grounds.floor"))), "WIRE-14", BATTERY).mend;
        assert!(alone.starts_with("lead the wire to the gear it was meant for, or leave it out"), "{alone}");
    }

    /// A terminal that two sound wires share has nothing to do with a short elsewhere.
    #[test]
    fn only_what_its_own_wires_do_follows_from_a_short() {
        let text = plan(&(feed("amp.power") + &back("amp.ground")))
            + "  a-oops: {from: battery.positive, to: battery.negative}\n  twice: {from: battery.positive, to: amp.power}\n";
        let judged = judged(&text);
        let shared = judged.failed().find(|check| check.rule.code == "PLAN-04").expect("amp.power takes one wire");
        assert_eq!(shared.follows, None);
    }
}
