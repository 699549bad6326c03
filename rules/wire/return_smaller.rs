//! A return that conducts less than its feed.

use super::site;
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_least};
use crate::plan::{Amplifier, Terminal, Wire};
use crate::quantity::{Area, Range};
use crate::solve::{Decided, Job, Thing, Undecided, all, conductor};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-06",
    name: "return-smaller",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("return_smaller.md"),
    check: Subjects::Amplifier(check),
    slips: &[super::Slip::Past("wires.*.size"), super::Slip::Past("wires.*.conductor")],
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let feeds = at_terminal(amplifier, "power", job);
    let returns = at_terminal(amplifier, "ground", job);
    let (Some(feed), Some(back)) = (feeds.first(), returns.first()) else {
        return Err(Undecided::NotApplicable("it has no feed or no return to compare"));
    };
    let parts = all([copper(&feeds, job), copper(&returns, job)])?;
    let (needed, found) = (parts[0], parts[1]);
    let nominal = |wires: &[&Thing<'_, Wire>]| -> f64 {
        wires.iter().filter_map(|wire| wire.size).map(crate::quantity::Gauge::square_millimetres).sum()
    };
    // Where the size is equal the metal makes the difference.
    let key = if nominal(&returns) < nominal(&feeds) * (1.0 - 1e-9) { "size" } else { "conductor" };
    let word = |wire: &Thing<'_, Wire>| wire.size.map(|size| size.to_string()).unwrap_or_default();
    Ok(at_least(found, needed)
        .formula("area x conductivity of the return >= area x conductivity of the feed, both as copper")
        .given(Input::word("feed", word(feed), feed.at("size")))
        .given(Input::word("return", word(back), back.at("size")))
        .limit_from("the feed of the same amplifier")
        .verdict(|is| {
            let title = format!("return worth {} of copper on a feed worth {}", is.result(), is.limit());
            let mend = match site::at_least(is.limit().high, job) {
                Some(size) => format!("fit a return of at least {size} copper, or the wire of the feed"),
                None => "fit the wire of the feed as the return".to_owned(),
            };
            let conductor = feed.conductor.map(|metal| crate::plan::word(&metal));
            let same = feed.size.map(|size| {
                let offer = Offer::new("lay the wire of the feed").set(back.at("size"), size);
                conductor.into_iter().fold(offer, |offer, metal| offer.set(back.at("conductor"), metal))
            });
            Finding::new(back.at(key), title)
                .label(format!("worth {} of copper", is.result()))
                .also(feed.at("size"), format!("worth {} of copper", is.limit()))
                .because("every ampere of the feed comes back through the return: it drops as much, heats as much")
                .mend(mend)
                .offers(same)
                .offers(site::lay_thicker(back, job))
        }))
}

/// The wires that bring current to an amplifier's supply terminal, or take it away; not those that pass it on.
fn at_terminal<'j, 'a>(amplifier: &Thing<'_, Amplifier>, terminal: &str, job: &'j Job<'a>) -> Vec<&'j Thing<'a, Wire>> {
    let is = |end: &Option<Terminal>| end.as_ref().is_some_and(|end| end.is(amplifier.name, terminal));
    let own = |wire: &&Thing<'a, Wire>| if terminal == "power" { is(&wire.to) } else { is(&wire.from) };
    job.wires.iter().filter(own).collect()
}

/// The copper that several wires side by side are worth.
fn copper(wires: &[&Thing<'_, Wire>], job: &Job<'_>) -> Decided<Range<Area>> {
    let parts = all(wires.iter().map(|wire| {
        let size = wire.need("size", &wire.size)?;
        let materials = job.materials(wire);
        let worth = materials.iter().map(|material| conductor::equal_copper(size, *material)).reduce(Range::hull);
        Ok(worth.unwrap_or(size.area()))
    }))?;
    Ok(parts.into_iter().sum())
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(feed: &str, back: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  main: {{from: battery.positive, to: \
             amp.power, {feed}}}\n  return: {{from: amp.ground, to: grounds.floor, {back}}}\n"
        )
    }

    #[test]
    fn a_return_of_the_same_size_passes_and_the_next_smaller_fails() {
        let feed = "size: 4 AWG, conductor: copper";
        assert_eq!(outcome(&plan(feed, feed), "WIRE-06", "amplifiers.amp"), Outcome::Pass);
        let check = check(&plan(feed, "size: 5 AWG, conductor: copper"), "WIRE-06", "amplifiers.amp");
        assert_eq!(check.outcome, Outcome::Fail);
        let finding = check.finding.unwrap();
        assert_eq!(finding.at.place.path(), "wires.return.size");
        assert!(finding.mend.contains("4 AWG"), "{}", finding.mend);
    }

    #[test]
    fn the_metal_counts_with_the_size() {
        let feed = "size: 4 AWG, conductor: copper";
        let clad = check(&plan(feed, "size: 4 AWG, conductor: copper-clad-aluminium"), "WIRE-06", "amplifiers.amp");
        assert_eq!(clad.outcome, Outcome::Fail);
        assert_eq!(clad.finding.unwrap().at.place.path(), "wires.return.conductor");
        let thick = plan(feed, "size: 1 AWG, conductor: copper-clad-aluminium");
        assert_eq!(outcome(&thick, "WIRE-06", "amplifiers.amp"), Outcome::Pass);
    }

    #[test]
    fn two_returns_side_by_side_count_together() {
        let one = plan("size: 4 AWG, conductor: copper", "size: 6 AWG, conductor: copper");
        assert_eq!(outcome(&one, "WIRE-06", "amplifiers.amp"), Outcome::Fail);
        let two = format!("{one}  second: {{from: amp.ground, to: grounds.floor, size: 6 AWG, conductor: copper}}\n");
        assert_eq!(outcome(&two, "WIRE-06", "amplifiers.amp"), Outcome::Pass);
    }

    #[test]
    fn a_wire_that_passes_the_feed_on_to_another_amplifier_is_not_its_feed() {
        let same = "size: 4 AWG, conductor: copper";
        let chain = plan(same, same).replace("{amp: {}}", "{amp: {}, next: {}}");
        let chain = format!("{chain}  jumper: {{from: amp.power, to: next.power, {same}}}\n");
        assert_eq!(outcome(&chain, "WIRE-06", "amplifiers.amp"), Outcome::Pass);
    }

    #[test]
    fn an_unstated_metal_or_size_leaves_it_open_and_no_return_is_another_matter() {
        let text = plan("size: 4 AWG, conductor: copper", "size: 4 AWG");
        let open = check(&text, "WIRE-06", "amplifiers.amp");
        assert_eq!(open.outcome, Outcome::Open);
        assert_eq!(open.turns[0].place.path(), "wires.return.conductor");
        let text = plan("size: 4 AWG, conductor: copper", "conductor: copper");
        assert_eq!(check(&text, "WIRE-06", "amplifiers.amp").needs[0].path(), "wires.return.size");
        assert_eq!(outcome("plan: 1\namplifiers: {amp: {}}\n", "WIRE-06", "amplifiers.amp"), Outcome::NotApplicable);
    }
}
