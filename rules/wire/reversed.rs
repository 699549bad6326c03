//! Plus and minus exchanged at gear or a battery.

use super::site;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::solve::earth::PositiveEarth;
use crate::solve::polarity::Turned;
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-15",
    name: "reversed-polarity",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("reversed.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Mistake("wires.*.to"), super::Slip::Mistake("wires.*.from")],
};

const GEAR: &str = "a diode across its input conducts, so the battery is shorted through it: the fuse opens, or the gear and \
                    its wires burn";
const LIVE: &str =
    "its case and the screens of its signal leads are live: the first thing they touch shorts the battery";
const CAPACITOR: &str =
    "an electrolytic capacitor that is charged the wrong way round conducts, heats up and bursts within seconds";
const POSITIVE_EARTH: &str = "here the body is taken for the way back: of a positive earth the live lead would be told to go without a fuse, and the \
     amplifier to go to bare body, which is a dead short";
const BATTERY: &str =
    "both batteries in a ring drive each other with twice their voltage: wires burn, and a battery can burst";

/// All that takes a feed and a return, where it is connected, and the added batteries.
fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let (graph, plan) = (job.graph(), job.plan);
    if let Some(earth) = &job.polarity().positive_earth {
        return vec![(Place::of("vehicle.earth"), Ok(Verdict::fail(positive_earth(earth, job))))];
    }
    let connected =
        |name: &str, terminals: [&str; 2]| terminals.iter().any(|terminal| graph.node(name, terminal).is_some());
    let amplifiers = plan.amplifiers.keys().map(|name| ("amplifiers", name));
    let sources = plan.sources.keys().map(|name| ("sources", name));
    let converters = plan.converters.keys().map(|name| ("converters", name));
    let capacitors = plan.capacitors.keys().map(|name| ("capacitors", name));
    let gear = amplifiers.chain(sources).chain(converters).chain(capacitors);
    let gear = gear.filter(|(_, name)| connected(name, ["power", "ground"]));
    let grounded = plan.isolators.iter().filter(|(name, isolator)| {
        // A plan may leave the minus of a charger out.
        isolator.has_ground() && (isolator.is_step_down() || graph.node(name, "ground").is_some())
    });
    let grounded = grounded.map(|(name, _)| ("isolators", name)).filter(|(_, name)| connected(name, ["in", "ground"]));
    let batteries = plan.batteries.keys().map(|name| ("batteries", name));
    let batteries = batteries.filter(|(_, name)| connected(name, ["positive", "negative"]));
    let all = gear.chain(grounded).chain(batteries).map(|(section, name)| Place::of(format!("{section}.{name}")));
    all.map(|place| (place.clone(), judge(&place, job))).collect()
}

/// A vehicle that the format has no words for.
fn positive_earth(earth: &PositiveEarth, job: &Job<'_>) -> Finding {
    const ELSEWHERE: &str = "have its supply planned by somebody who knows such vehicles: gear made for a negative earth needs a \
                             supply of its own there, or stays out";
    let PositiveEarth::Drawn { place, fed, ground } = earth else {
        return Finding::new(
            Place::of("vehicle.earth"),
            "a vehicle with its positive on the body cannot be planned with this format",
        )
        .label("nothing of the supply is computed or judged")
        .because(POSITIVE_EARTH)
        .mend(ELSEWHERE)
        .beyond();
    };
    let name = place.segments().last().unwrap_or_default();
    let end = |node: usize| ends_at(node, job).into_iter().next();
    let at = end(*fed).unwrap_or_else(|| place.clone());
    let title = format!(
        "`{name}` is wired as with the positive on the body: such a vehicle cannot be planned with this format"
    );
    let finding = Finding::new(at, title)
        .label("the feed goes to the body; nothing of the supply is computed or judged")
        .because(POSITIVE_EARTH)
        .mend(format!(
            "{ELSEWHERE}; where the negative is on the body, say so with `earth: negative` below `vehicle`, and lead `power` to \
             a positive post and `ground` to the body"
        ))
        .beyond();
    end(*ground).into_iter().fold(finding, |finding, there| finding.also(there, "comes from the negative post"))
}

fn judge(place: &Place, job: &Job<'_>) -> Judged {
    let polarity = job.polarity();
    if !polarity.shorts.is_empty() {
        return Err(Undecided::NotApplicable("positive and negative are joined (WIRE-14 reports that)"));
    }
    let turned = polarity.turned.iter().find(|turned| turned.place == *place);
    Ok(turned.map_or_else(Verdict::pass, |turned| Verdict::fail(finding(turned, job))))
}

fn finding(turned: &Turned, job: &Job<'_>) -> Finding {
    let name = turned.place.segments().last().unwrap_or_default().to_owned();
    let section = turned.place.segments().next().unwrap_or_default();
    let is_battery = section == "batteries";
    let ends = |node: usize| ends_at(node, job);
    let here = ends(turned.negative).into_iter().next().unwrap_or_else(|| turned.place.clone());
    if let Some(positive) = turned.positive {
        let what = if is_battery { format!("the battery `{name}`") } else { format!("`{name}`") };
        let finding = Finding::new(here.clone(), format!("plus and minus are exchanged at {what}"))
            .label("comes from the positive side")
            .because(match section {
                "batteries" => BATTERY,
                "capacitors" => CAPACITOR,
                _ => GEAR,
            })
            .mend("exchange the two wires, and hold a meter to both before the first fuse goes in");
        let there = ends(positive).into_iter().next();
        let exchanged = there.as_ref().map(|there| exchange(&here, there, turned.negative, positive, job));
        return there
            .into_iter()
            .fold(finding, |finding, there| finding.also(there, "goes to the negative side"))
            .offers(exchanged);
    }
    // Both terminals are on the positive side: it is the far end of the return that is wrong.
    let far = far_end(turned.negative, job);
    let at = far.clone().unwrap_or(here);
    let offer = far.map(|far| Offer::new("bring it to battery.negative").set(far, "battery.negative"));
    Finding::new(at, format!("the ground terminal of `{name}` is on the positive side"))
        .label("a positive post, not the way back")
        .because(LIVE)
        .mend("lead the return to a ground or to the negative post")
        .offers(offer)
}

/// The ends of wires at a node.
fn ends_at(node: usize, job: &Job<'_>) -> Vec<Place> {
    let ends = job.wires.iter().flat_map(site::ends);
    let is_there =
        |end: &site::WireEnd<'_, '_>| end.terminal.and_then(|terminal| job.graph().terminal(terminal)) == Some(node);
    ends.filter(is_there).map(|end| end.wire.at(end.key)).collect()
}

/// The end at a positive post of the wires that lead there from a node.
fn far_end(node: usize, job: &Job<'_>) -> Option<Place> {
    let (post, _) = job.graph().nearest(node, &job.graph().positives(job), |_| true)?;
    let way = job.graph().nearest(node, &[post], |_| true)?.1;
    let last = job.graph().links.get(*way.last()?)?;
    ends_at(post, job).into_iter().find(|place| {
        let wire = job.wires.iter().find(|wire| place.path().starts_with(&format!("{}.", wire.address)));
        let ends = wire
            .map(|wire| site::ends(wire).map(|end| end.terminal.and_then(|terminal| job.graph().terminal(terminal))));
        ends.is_some_and(|ends| ends.contains(&Some(last.a)) && ends.contains(&Some(last.b)))
    })
}

/// The two ends at the terminals of one thing change places.
fn exchange(here: &Place, there: &Place, negative: usize, positive: usize, job: &Job<'_>) -> Offer {
    let named = |node: usize| job.graph().terminals[node].clone();
    Offer::new("exchange the two wires").set(here.clone(), named(positive)).set(there.clone(), named(negative))
}

/// The gear whose return leads to a positive post where a node is its ground terminal, for findings that only follow.
pub fn returns_to_positive(node: usize, job: &Job<'_>) -> Option<Place> {
    let live = |turned: &&Turned| turned.negative == node && turned.positive.is_none();
    job.polarity().turned.iter().find(live).map(|turned| turned.place.clone())
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, finding, judged, outcome};

    const AMP: &str = "amplifiers.amp";

    fn plan(power: &str, ground: &str) -> String {
        format!(
            "plan: 1\njob: {{stage: planned}}\nvehicle: {{body: steel}}\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\n\
             batteries: {{rear: {{}}}}\nwires:\n  \
             feed: {{from: battery.positive, to: amp.{power}, fuse: {{rating: 40 A, distance: 20 cm}}}}\n  \
             back: {{from: amp.{ground}, to: grounds.floor}}\n"
        )
    }

    #[test]
    fn plus_on_plus_passes_and_exchanged_fails_at_the_ground_terminal() {
        assert_eq!(outcome(&plan("power", "ground"), "WIRE-15", AMP), Outcome::Pass);
        let exchanged = finding(&plan("ground", "power"), "WIRE-15", AMP);
        assert_eq!(exchanged.title, "plus and minus are exchanged at `amp`");
        assert_eq!(exchanged.at.place.path(), "wires.feed.to");
        assert_eq!(exchanged.also[0].place.path(), "wires.back.from");
        assert_eq!(outcome(&plan("power", "power"), "WIRE-15", AMP), Outcome::NotApplicable, "that is a short");
    }

    #[test]
    fn a_capacitor_the_wrong_way_round_bursts() {
        let of = |power: &str, ground: &str| {
            plan("power", "ground")
                + &format!(
                    "  on: {{from: amp.power, to: cap.{power}}}\n  off: {{from: cap.{ground}, to: grounds.floor}}\ncapacitors: {{cap: {{}}}}\n"
                )
        };
        assert_eq!(outcome(&of("power", "ground"), "WIRE-15", "capacitors.cap"), Outcome::Pass);
        let turned = finding(&of("ground", "power"), "WIRE-15", "capacitors.cap");
        assert_eq!(turned.title, "plus and minus are exchanged at `cap`");
        assert!(turned.why.contains("bursts"), "{}", turned.why);
    }

    /// A charger of which the plan leaves the minus out has nothing to exchange.
    #[test]
    fn a_charger_is_judged_where_its_minus_is_wired() {
        let is_judged = |more: &str| {
            let text = plan("power", "ground")
                + &format!(
                    "  in: {{from: battery.positive, to: dcdc.in}}\n{more}isolators: {{dcdc: {{kind: charger}}}}\n"
                );
            let checks = judged(&text).checks;
            checks.iter().any(|check| check.rule.code == "WIRE-15" && check.subject.path() == "isolators.dcdc")
        };
        assert!(!is_judged("") && is_judged("  minus: {from: dcdc.ground, to: grounds.floor}\n"));
    }

    #[test]
    fn a_battery_the_wrong_way_round_is_told_why() {
        let text = plan("power", "ground")
            + "  link: {from: battery.positive, to: rear.negative}\n  off: {from: rear.positive, to: grounds.floor}\n";
        let turned = finding(&text, "WIRE-15", "batteries.rear");
        assert_eq!(
            (turned.title.as_str(), turned.why),
            ("plus and minus are exchanged at the battery `rear`", super::BATTERY)
        );
    }

    #[test]
    fn the_wires_are_offered_exchanged() {
        let mended = &after(&plan("ground", "power"), "WIRE-15", AMP)[0];
        assert!(mended.contains("to: amp.power") && mended.contains("from: amp.ground"), "{mended}");
    }

    #[test]
    fn a_return_to_the_positive_post_is_told_there_and_nothing_beside_it() {
        let text = plan("power", "ground").replace("to: grounds.floor", "to: battery.positive");
        let live = finding(&text, "WIRE-15", AMP);
        assert_eq!(live.title, "the ground terminal of `amp` is on the positive side");
        assert_eq!(live.at.place.path(), "wires.back.to");
        let judged = judged(&text);
        let of = |code: &str| judged.failed().find(|check| check.rule.code == code).expect(code).follows.clone();
        assert_eq!(of("FUSE-03").map(|(code, place)| (code, place.path())), Some(("WIRE-15", AMP.to_owned())));
        assert_eq!(of("WIRE-15"), None);
    }

    #[test]
    fn a_battery_the_wrong_way_round_fails_and_its_posts_are_offered_exchanged() {
        let link =
            "  link: {from: battery.positive, to: rear.negative}\n  down: {from: rear.positive, to: grounds.floor}\n";
        let text = plan("power", "ground") + link;
        let turned = finding(&text, "WIRE-15", "batteries.rear");
        assert_eq!(turned.title, "plus and minus are exchanged at the battery `rear`");
        assert_eq!(turned.at.place.path(), "wires.link.to");
        assert_eq!(outcome(&text, "WIRE-15", AMP), Outcome::Pass);
    }

    /// The feed at the same post stands before the return in the plan: it is the return that is told.
    #[test]
    fn of_two_wires_at_the_post_the_return_is_told() {
        let text =
            plan("power", "ground").replace("to: grounds.floor", "to: battery.positive").replace("back:", "return:");
        assert_eq!(finding(&text, "WIRE-15", AMP).at.place.path(), "wires.return.to");
    }

    const PICTURE: &str = "plan: 1\njob: {stage: planned}\nvehicle: {body: steel}\namplifiers: {amp: {}}\ngrounds: {floor: {}}\nwires:\n  \
                           live: {from: battery.negative, to: amp.ground, length: 2 m, fuse: {form: bolt-down, rating: 30 A, distance: 15 cm}}\n  \
                           body: {from: amp.power, to: grounds.floor, length: 40 cm}\n";
    const EARTH: &str = "vehicle.earth";

    /// Every finding and every open check of a plan, by rule.
    fn told(text: &str) -> Vec<&'static str> {
        let told = |check: &crate::judge::Check| matches!(check.outcome, Outcome::Fail | Outcome::Open);
        judged(text).checks.iter().filter(|check| told(check)).map(|check| check.rule.code).collect()
    }

    /// The fuse in the live lead of a positive earth is the only one there is: nobody is told to leave it out.
    #[test]
    fn a_positive_earth_stops_all_judging_of_the_supply() {
        let drawn = finding(PICTURE, "WIRE-15", EARTH);
        assert_eq!(
            drawn.title,
            "`amp` is wired as with the positive on the body: such a vehicle cannot be planned with this format"
        );
        assert_eq!(drawn.at.place.path(), "wires.body.from");
        assert_eq!(drawn.also[0].place.path(), "wires.live.to");
        assert!(drawn.offers.is_empty());
        let bare = PICTURE.replace(", fuse: {form: bolt-down, rating: 30 A, distance: 15 cm}", "");
        let strapped = format!("{PICTURE}  strap: {{from: battery.positive, to: grounds.floor, length: 30 cm}}\n");
        let stated = "plan: 1\nvehicle: {earth: positive}\namplifiers: {amp: {}}\nwires: {main: {from: battery.positive, to: amp.power}}\n";
        for text in [PICTURE, &bare, &strapped, stated] {
            let supply = |code: &&str| {
                code.starts_with("PLAN-03") || crate::rules::find(code).is_some_and(crate::judge::Rule::is_of_supply)
            };
            let told: Vec<&str> = told(text).into_iter().filter(supply).collect();
            assert_eq!(told, ["WIRE-15"], "{text}");
        }
        assert_eq!(finding(stated, "WIRE-15", EARTH).at.place.path(), EARTH);
    }

    #[test]
    fn where_the_negative_is_said_to_be_on_the_body_the_picture_is_a_slip() {
        let text = PICTURE.replace("body: steel", "body: steel, earth: negative");
        let told = told(&text);
        assert!(told.contains(&"FUSE-14") && told.contains(&"PLAN-03") && !told.contains(&"WIRE-15"), "{told:?}");
    }

    #[test]
    fn a_charger_has_a_minus_that_can_be_on_the_wrong_side() {
        let of = |input: &str, ground: &str| {
            format!(
                "plan: 1\nisolators: {{dcdc: {{kind: charger}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  feed: {{from: battery.positive, to: \
                 dcdc.{input}}}\n  back: {{from: dcdc.{ground}, to: grounds.floor}}\n"
            )
        };
        assert_eq!(outcome(&of("in", "ground"), "WIRE-15", "isolators.dcdc"), Outcome::Pass);
        let turned = finding(&of("ground", "in"), "WIRE-15", "isolators.dcdc");
        assert_eq!(turned.title, "plus and minus are exchanged at `dcdc`");
    }
}
