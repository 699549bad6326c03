//! A return that conducts less than its feed.

use std::collections::BTreeSet;

use super::site;
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_least};
use crate::plan::{Material, Terminal, Wire, word};
use crate::quantity::{Area, Range};
use crate::solve::{Decided, Grounded, Job, Place, Thing, Undecided, all, conductor};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-06",
    name: "return-smaller",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("return_smaller.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Past("wires.*.size"), super::Slip::Past("wires.*.conductor")],
};

/// What holds for a block of returns.
const GATHERED: &str = "the returns that it gathers, or their common feed";

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    // A plan may leave the minus of a charger out.
    let wired = |is: &Grounded<'_>| is.noun != "charger" || job.graph().node(is.name, "ground").is_some();
    let grounded = job.grounded().into_iter().filter(wired).map(|is| {
        let (feeds, returns) = (to(is.name, is.fed, job), from_ground(is.name, job));
        let metal = one_metal(&[&feeds, &returns]);
        let needed = worth(&feeds, metal, job);
        (is.place, judge(&feeds, &returns, (needed, metal), same_feed(is.noun), job))
    });
    let batteries = job.plan.batteries.keys().map(|name| {
        let (feeds, returns) = (at_post(name, job), from_post(name, job));
        let metal = one_metal(&[&feeds, &returns]);
        let needed = thickest(&feeds, metal, job);
        (
            Place::of(format!("batteries.{name}")),
            judge(&feeds[..feeds.len().min(1)], &returns, (needed, metal), "the thickest wire at its post", job),
        )
    });
    grounded.chain(batteries).chain(gathered(job)).collect()
}

/// Blocks that gather returns: what leads on to the body must be worth the returns together, or the feed of all of their
/// gear where that is thinner.
fn gathered(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let grounded = job.grounded();
    let is_ground =
        |end: &Option<Terminal>| end.as_ref().is_some_and(|end| grounded.iter().any(|is| end.is(is.name, "ground")));
    let blocks = job.blocks.iter().filter_map(|block| {
        let on = |end: &Option<Terminal>| end.as_ref().is_some_and(|end| end.thing == block.name);
        let touches = |wire: &&Thing<'_, Wire>| on(&wire.from) || on(&wire.to);
        let ends = |wire: &Thing<'_, Wire>| is_ground(&wire.from) || is_ground(&wire.to);
        let (returns, onward): (Vec<_>, Vec<_>) = job.wires.iter().filter(touches).partition(|wire| ends(wire));
        if returns.is_empty() || onward.is_empty() {
            return None;
        }
        let main = common_feed(&returns, &grounded, job);
        let metal = one_metal(&[&returns, &onward, &main]);
        let needed = worth(&returns, metal, job).map(|together| match worth(&main, metal, job) {
            Ok(main) if main.high() > 0.0 => together.min(main),
            _ => together,
        });
        Some((block.place(), judge(&returns, &onward, (needed, metal), GATHERED, job)))
    });
    blocks.collect()
}

/// The wires that feed the block from which all gear of some returns is fed; none where there is no such block.
fn common_feed<'j, 'a>(
    returns: &[&Thing<'a, Wire>],
    grounded: &[Grounded<'_>],
    job: &'j Job<'a>,
) -> Vec<&'j Thing<'a, Wire>> {
    let of = |wire: &&Thing<'_, Wire>| {
        let mut ends = wire.terminals();
        ends.find_map(|end| grounded.iter().find(|is| end.is(is.name, "ground")))
    };
    let source = |is: &Grounded<'_>| {
        let feeds = to(is.name, is.fed, job);
        let from = feeds.first()?.from.as_ref()?;
        job.plan.blocks.contains_key(&from.thing).then(|| from.thing.clone())
    };
    let mut blocks = returns.iter().filter_map(of).map(source);
    let Some(Some(block)) = blocks.next() else { return Vec::new() };
    if blocks.any(|other| other.as_ref() != Some(&block)) {
        return Vec::new();
    }
    let into = |wire: &&Thing<'_, Wire>| wire.to.as_ref().is_some_and(|end| end.is(&block, "in"));
    job.wires.iter().filter(into).collect()
}

fn judge(
    feeds: &[&Thing<'_, Wire>],
    returns: &[&Thing<'_, Wire>],
    (needed, metal): (Decided<Range<Area>>, Material),
    limit: &'static str,
    job: &Job<'_>,
) -> Judged {
    let (Some(feed), Some(back)) = (feeds.first(), returns.first()) else {
        return Err(Undecided::NotApplicable("it has no feed or no return to compare"));
    };
    let parts = all([needed, worth(returns, metal, job)])?;
    let (needed, found) = (parts[0], parts[1]);
    let gathers = limit == GATHERED;
    let nominal = |wires: &[&Thing<'_, Wire>]| -> f64 {
        wires.iter().filter_map(|wire| wire.size).map(crate::quantity::Gauge::square_millimetres).sum()
    };
    // Where the size is equal the metal makes the difference.
    let key = if nominal(returns) < nominal(feeds) * (1.0 - 1e-9) { "size" } else { "conductor" };
    let size = |wire: &Thing<'_, Wire>| wire.size.map(|size| size.to_string()).unwrap_or_default();
    let formula = if metal == Material::Copper {
        "area x conductivity of the return >= area x conductivity of the feed, both as copper"
    } else {
        "area of the return >= area of the feed, both of one metal"
    };
    let metal = word(&metal).replace("clad-", "clad ");
    Ok(at_least(found, needed)
        .formula(formula)
        .given(Input::word("feed", size(feed), feed.at("size")))
        .given(Input::word("return", size(back), back.at("size")))
        .limit_from(limit)
        .verdict(|is| {
            let what = if gathers { "returns" } else { "a feed" };
            let title = format!("return worth {} of {metal} on {what} worth {}", is.result(), is.limit());
            let like = back.size.or(feed.size).unwrap_or(crate::quantity::Gauge::Awg(4));
            let mend = match site::at_least(is.limit().high, like, job) {
                Some(size) => format!("fit a return of at least {size} {metal}, or the wire of the feed"),
                None => "fit the wire of the feed as the return".to_owned(),
            };
            let conductor = feed.conductor.map(|metal| word(&metal));
            let same = feed.size.map(|size| {
                let offer = Offer::new("lay the wire of the feed").set(back.at("size"), size);
                conductor.into_iter().fold(offer, |offer, metal| offer.set(back.at("conductor"), metal))
            });
            Finding::new(back.at(key), title)
                .label(format!("worth {} of {metal}", is.result()))
                .also(feed.at("size"), format!("worth {} of {metal}", is.limit()))
                .because("every ampere of the feed comes back through the return, and a thinner one drops more and gets hotter")
                .mend(mend)
                .offers(same)
                .offers(site::lay_thicker(back, job))
        }))
}

/// Whose feed a return is compared with.
fn same_feed(noun: &str) -> &'static str {
    match noun {
        "amplifier" => "the feed of the same amplifier",
        "processor" => "the feed of the same processor",
        "capacitor" => "the feed of the same capacitor",
        "charger" => "the feed of the same charger",
        _ => "the feed of the same converter",
    }
}

/// The wires that bring current to a supply terminal; not those that pass it on, nor a return that ends there by a slip.
fn to<'j, 'a>(thing: &str, terminal: &str, job: &'j Job<'a>) -> Vec<&'j Thing<'a, Wire>> {
    let own = |wire: &&Thing<'a, Wire>| {
        let is_return = wire.from.as_ref().is_some_and(|from| from.terminal == "ground");
        !is_return && wire.to.as_ref().is_some_and(|end| end.is(thing, terminal))
    };
    job.wires.iter().filter(own).collect()
}

/// The wires that take a current away from a ground terminal; not those that bring one there.
fn from_ground<'j, 'a>(thing: &str, job: &'j Job<'a>) -> Vec<&'j Thing<'a, Wire>> {
    let own = |wire: &&Thing<'a, Wire>| wire.from.as_ref().is_some_and(|end| end.is(thing, "ground"));
    job.wires.iter().filter(own).collect()
}

/// A wire at a post of a battery with what it leads to.
struct Led<'j, 'a> {
    wire: &'j Thing<'a, Wire>,
    /// The nodes that its far end is joined to without a load between, past no post of a battery.
    reached: BTreeSet<usize>,
}

/// The wires at a post of a battery.
fn led_from<'j, 'a>(battery: &str, post: &str, job: &'j Job<'a>) -> Vec<Led<'j, 'a>> {
    let graph = job.graph();
    let Some(here) = graph.node(battery, post) else { return Vec::new() };
    let posts: Vec<usize> = graph.positives(job).into_iter().chain(graph.negatives(job)).collect();
    let wires = job.wires.iter().filter_map(|wire| {
        let ends = [&wire.from, &wire.to].map(|end| end.as_ref().and_then(|end| graph.terminal(end)));
        let far = match ends {
            [Some(from), to] if from == here => to,
            [from, Some(to)] if to == here => from,
            _ => return None,
        };
        let reached = far.map_or_else(BTreeSet::new, |far| graph.joined_within(&[far], &posts, |_| true));
        Some(Led { wire, reached })
    });
    wires.collect()
}

/// The gear that has this terminal among some nodes.
fn gear_at<'j>(terminal: &str, nodes: &BTreeSet<usize>, job: &'j Job<'_>) -> Vec<&'j str> {
    let at = |name: &&str| job.graph().node(name, terminal).is_some_and(|node| nodes.contains(&node));
    job.gear.iter().map(|gear| gear.name).filter(at).collect()
}

/// Whether what some nodes belong to comes to the body or another battery.
fn leads_on(nodes: &BTreeSet<usize>, own: &[Option<usize>], job: &Job<'_>) -> bool {
    let graph = job.graph();
    let posts = graph.positives(job).into_iter().chain(graph.negatives(job));
    let others: Vec<usize> = posts.filter(|node| !own.contains(&Some(*node))).collect();
    nodes.iter().any(|node| graph.is_negative(*node) || others.contains(node))
}

/// The wires at the positive post of a second battery, the thickest first; not those that feed only gear whose
/// returns come to this battery's own negative post, for that current does not pass the battery's return.
fn at_post<'j, 'a>(battery: &str, job: &'j Job<'a>) -> Vec<&'j Thing<'a, Wire>> {
    let own = ["positive", "negative"].map(|post| job.graph().node(battery, post));
    let gathered = led_from(battery, "negative", job).into_iter().filter(|led| !leads_on(&led.reached, &own, job));
    let comes_back: BTreeSet<&str> = gathered.flat_map(|led| gear_at("ground", &led.reached, job)).collect();
    let passes = |led: &Led<'_, '_>| {
        let feeds = gear_at("power", &led.reached, job);
        feeds.is_empty() || leads_on(&led.reached, &own, job) || feeds.iter().any(|name| !comes_back.contains(name))
    };
    let mut wires: Vec<_> = led_from(battery, "positive", job).into_iter().filter(passes).map(|led| led.wire).collect();
    let area = |wire: &Thing<'_, Wire>| wire.size.map_or(0.0, crate::quantity::Gauge::square_millimetres);
    wires.sort_by(|one, other| area(other).total_cmp(&area(one)));
    wires
}

/// The wires that lead from the negative post of a second battery to a ground or to another battery; not those that only
/// bring the returns of gear.
fn from_post<'j, 'a>(battery: &str, job: &'j Job<'a>) -> Vec<&'j Thing<'a, Wire>> {
    let own = ["positive", "negative"].map(|post| job.graph().node(battery, post));
    let is_own =
        |led: &Led<'_, '_>| leads_on(&led.reached, &own, job) || gear_at("ground", &led.reached, job).is_empty();
    led_from(battery, "negative", job).into_iter().filter(is_own).map(|led| led.wire).collect()
}

/// What the thickest of several wires is worth.
fn thickest(wires: &[&Thing<'_, Wire>], metal: Material, job: &Job<'_>) -> Decided<Range<Area>> {
    let each = all(wires.iter().map(|wire| worth(&[wire], metal, job)))?;
    let most = |end: fn(&Range<Area>) -> f64| each.iter().map(end).fold(0.0, f64::max);
    Ok(Range::new(most(|range| range.low()), most(|range| range.high())))
}

/// In which metal some wires are compared: the one that all of them state, so that what nobody knows of it, like how much
/// copper a clad one has, counts on both sides; otherwise copper.
fn one_metal(wires: &[&[&Thing<'_, Wire>]]) -> Material {
    let mut metals = wires.iter().flat_map(|wires| wires.iter()).map(|wire| wire.conductor);
    let first = metals.next().flatten().unwrap_or(Material::Copper);
    if metals.all(|metal| metal == Some(first)) { first } else { Material::Copper }
}

/// What several wires side by side are worth in a metal: all of them are of it, or it is copper.
fn worth(wires: &[&Thing<'_, Wire>], metal: Material, job: &Job<'_>) -> Decided<Range<Area>> {
    let parts = all(wires.iter().map(|wire| {
        let size = wire.need("size", &wire.size)?;
        if metal != Material::Copper {
            return Ok(size.area());
        }
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
    fn a_capacitors_ground_wire_is_as_thick_as_what_leads_to_it() {
        let of = |back: &str| {
            let text = format!(
                "plan: 1\ncapacitors: {{cap: {{}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  main: {{from: battery.positive, to: \
                 cap.power, size: 4 AWG, conductor: copper}}\n  on: {{from: cap.power, to: amp.power, size: 1/0 AWG}}\n  back: \
                 {{from: cap.ground, to: grounds.floor, size: {back}, conductor: copper}}\namplifiers: {{amp: {{}}}}\n"
            );
            outcome(&text, "WIRE-06", "capacitors.cap")
        };
        assert_eq!((of("4 AWG"), of("8 AWG")), (Outcome::Pass, Outcome::Fail));
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

    /// How much copper a clad wire has nobody knows; the wire of the feed as the return has as much.
    #[test]
    fn wires_of_one_metal_are_compared_by_their_size() {
        let of = |feed: &str, back: &str| {
            let clad = |size: &str| format!("size: {size}, conductor: copper-clad-aluminium");
            check(&plan(&clad(feed), &clad(back)), "WIRE-06", "amplifiers.amp")
        };
        assert_eq!(of("8 AWG", "8 AWG").outcome, Outcome::Pass);
        let told = |check: crate::judge::Check| check.working.map(|working| (working.formula, working.source));
        let by_size = "area of the return >= area of the feed, both of one metal";
        assert_eq!(told(of("8 AWG", "8 AWG")), Some((by_size, "the feed of the same amplifier")));
        let mixed = plan("size: 8 AWG, conductor: copper", "size: 4 AWG, conductor: copper-clad-aluminium");
        let as_copper = "area x conductivity of the return >= area x conductivity of the feed, both as copper";
        let mixed = told(check(&mixed, "WIRE-06", "amplifiers.amp"));
        assert_eq!(mixed, Some((as_copper, "the feed of the same amplifier")));
        let thin = of("8 AWG", "9 AWG");
        assert_eq!(thin.outcome, Outcome::Fail);
        let finding = thin.finding.expect("it fails");
        assert_eq!(finding.title, "return worth 6.63 mm2 of copper-clad aluminium on a feed worth 8.37 mm2");
        assert!(finding.mend.starts_with("fit a return of at least 8 AWG copper-clad aluminium"), "{}", finding.mend);
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

    /// The relay run is the thicker wire at the post; through a short on either run the return carries what it does.
    #[test]
    fn the_return_of_a_second_battery_is_as_thick_as_the_thickest_wire_at_its_post() {
        let rear = |back: &str, more: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nbatteries: {{rear: {{}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  link: \
                 {{from: battery.positive, to: rear.positive, size: 2 AWG, conductor: copper}}\n  feed: {{from: rear.positive, \
                 to: amp.power, size: 1/0 AWG, conductor: copper}}\n  back: {{from: rear.negative, to: grounds.floor, size: \
                 {back}, conductor: copper}}\n{more}"
            )
        };
        let subject = "batteries.rear";
        assert_eq!(outcome(&rear("1/0 AWG", ""), "WIRE-06", subject), Outcome::Pass);
        let thin = check(&rear("14 AWG", ""), "WIRE-06", subject);
        assert_eq!(thin.outcome, Outcome::Fail);
        assert_eq!(thin.finding.expect("it fails").at.place.path(), "wires.back.size");
        assert_eq!(outcome(&rear("2 AWG", ""), "WIRE-06", subject), Outcome::Fail);
        // The amplifier's own return at the post: its current does not pass the battery's return.
        let own = "  own: {from: amp.ground, to: rear.negative, size: 1/0 AWG, conductor: copper}\n";
        assert_eq!(outcome(&rear("2 AWG", own), "WIRE-06", subject), Outcome::Pass);
        assert_eq!(outcome(&rear("4 AWG", own), "WIRE-06", subject), Outcome::Fail);
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

    /// Fed through a block and gathered on another: what leads from there to the post is not the battery's return, and what
    /// leads to the first block does not count.
    #[test]
    fn amplifiers_on_blocks_at_the_battery_do_not_pass_its_return() {
        let plan = |back: &str, gathered: &str| {
            format!(
                "plan: 1\namplifiers: {{one: {{}}, two: {{}}}}\nbatteries: {{rear: {{}}}}\ngrounds: {{rail: {{}}}}\n\
                 blocks: {{hub: {{outputs: {{a: {{}}, b: {{}}}}}}, neg: {{outputs: {{a: {{}}, b: {{}}}}}}}}\nwires:\n  \
                 link: {{from: battery.positive, to: rear.positive, size: 2/0 AWG, conductor: copper}}\n  \
                 back: {{from: rear.negative, to: grounds.rail, size: {back}, conductor: copper}}\n  \
                 hub-in: {{from: rear.positive, to: hub.in, size: 4/0 AWG, conductor: copper}}\n  \
                 neg-in: {{from: neg.in, to: {gathered}, size: 4/0 AWG, conductor: copper}}\n  \
                 f1: {{from: hub.a, to: one.power, size: 4 AWG, conductor: copper}}\n  \
                 f2: {{from: hub.b, to: two.power, size: 4 AWG, conductor: copper}}\n  \
                 r1: {{from: one.ground, to: neg.a, size: 4 AWG, conductor: copper}}\n  \
                 r2: {{from: two.ground, to: neg.b, size: 4 AWG, conductor: copper}}\n"
            )
        };
        let of = |back: &str, gathered: &str| check(&plan(back, gathered), "WIRE-06", "batteries.rear");
        let thin = of("10 AWG", "rear.negative");
        assert_eq!(thin.finding.expect("it fails").at.place.path(), "wires.back.size");
        assert_eq!(of("1/0 AWG", "rear.negative").outcome, Outcome::Fail, "the link is thicker");
        assert_eq!(of("2/0 AWG", "rear.negative").outcome, Outcome::Pass);
        // Gathered on the body instead: all of it comes through the battery's return.
        assert_eq!(of("2/0 AWG", "grounds.rail").outcome, Outcome::Fail);
        assert_eq!(of("4/0 AWG", "grounds.rail").outcome, Outcome::Pass);
    }

    /// An amplifier that returns to the body: its current goes back to the battery through the battery's own return.
    #[test]
    fn a_feed_counts_unless_its_amplifier_returns_to_the_battery_itself() {
        let plan = "plan: 1\namplifiers: {amp: {}}\nbatteries: {rear: {}}\ngrounds: {floor: {}, sill: {}}\nwires:\n  \
                    feed: {from: rear.positive, to: amp.power, size: 1/0 AWG, conductor: copper}\n  \
                    own: {from: amp.ground, to: grounds.sill, size: 1/0 AWG, conductor: copper}\n  \
                    back: {from: rear.negative, to: grounds.floor, size: 4 AWG, conductor: copper}\n";
        assert_eq!(outcome(plan, "WIRE-06", "batteries.rear"), Outcome::Fail);
    }

    /// 4 AWG and 8 AWG come into a block: 21.2 and 8.4 mm2 want 29.5 mm2 on the way to the body.
    #[test]
    fn a_common_return_is_worth_what_it_gathers() {
        let text = |common: &str, main: &str| {
            format!(
                "plan: 1\namplifiers: {{one: {{}}, two: {{}}}}\ngrounds: {{floor: {{}}}}\nblocks: {{split: {{outputs: {{a: {{}}, \
                 b: {{}}}}}}, back: {{outputs: {{a: {{}}, b: {{}}}}}}}}\nwires:\n  main: {{from: battery.positive, to: split.in, \
                 size: {main}, conductor: copper}}\n  feed-1: {{from: split.a, to: one.power, size: 4 AWG, conductor: \
                 copper}}\n  feed-2: {{from: split.b, to: two.power, size: 8 AWG, conductor: copper}}\n  return-1: {{from: \
                 one.ground, to: back.a, size: 4 AWG, conductor: copper}}\n  return-2: {{from: two.ground, to: back.b, size: \
                 8 AWG, conductor: copper}}\n  common: {{from: back.in, to: grounds.floor, size: {common}, conductor: \
                 copper}}\n"
            )
        };
        let of = |common: &str, main: &str| outcome(&text(common, main), "WIRE-06", "blocks.back");
        assert_eq!(of("2 AWG", "1/0 AWG"), Outcome::Pass);
        assert_eq!(of("4 AWG", "1/0 AWG"), Outcome::Fail);
        assert_eq!(of("4 AWG", "4 AWG"), Outcome::Pass, "no more comes back than the one feed carries");
        let finding = check(&text("8 AWG", "1/0 AWG"), "WIRE-06", "blocks.back").finding.expect("it fails");
        assert_eq!(finding.at.place.path(), "wires.common.size");
        let judged = crate::rules::trial::judged(&text("2 AWG", "1/0 AWG"));
        let is_feeds =
            |check: &crate::judge::Check| check.rule.code == "WIRE-06" && check.subject.path() == "blocks.split";
        assert!(!judged.checks.iter().any(is_feeds), "a block of feeds gathers nothing");
    }

    /// Nothing feeds the block of both amplifiers yet: what they return counts in full.
    #[test]
    fn a_block_that_nothing_feeds_yet_lessens_nothing() {
        let text = "plan: 1\namplifiers: {one: {}, two: {}}\ngrounds: {floor: {}}\nblocks: {split: {outputs: {a: {}, b: {}}}, back: \
                    {outputs: {a: {}, b: {}}}}\nwires:\n  feed-1: {from: split.a, to: one.power, size: 4 AWG, conductor: copper}\n  \
                    feed-2: {from: split.b, to: two.power, size: 8 AWG, conductor: copper}\n  return-1: {from: one.ground, to: \
                    back.a, size: 4 AWG, conductor: copper}\n  return-2: {from: two.ground, to: back.b, size: 8 AWG, conductor: \
                    copper}\n  common: {from: back.in, to: grounds.floor, size: 8 AWG, conductor: copper}\n";
        assert_eq!(outcome(text, "WIRE-06", "blocks.back"), Outcome::Fail);
    }

    /// A processor of 16 AWG: a return of 18 AWG is not safe behind the fuse that its feed is safe behind. A converter that
    /// is tapped has no feed to compare with.
    #[test]
    fn the_return_of_a_processor_is_as_thick_as_its_feed() {
        let of = |gear: &str, at: &str, feed: &str, back: &str| {
            let text = format!(
                "plan: 1\n{gear}\ngrounds: {{floor: {{}}}}\n{feed}  back: {{from: it.ground, to: grounds.floor, size: {back}, \
                 conductor: copper}}\n"
            );
            check(&text, "WIRE-06", at)
        };
        let wired = "wires:\n  feed: {from: battery.positive, to: it.power, size: 16 AWG, conductor: copper}\n";
        for (gear, at) in
            [("sources: {it: {kind: processor}}", "sources.it"), ("converters: {it: {}}", "converters.it")]
        {
            assert_eq!(of(gear, at, wired, "16 AWG").outcome, Outcome::Pass, "{at}");
            let thin = of(gear, at, wired, "18 AWG");
            assert_eq!(thin.finding.expect("it fails").at.place.path(), "wires.back.size");
            let tapped = "turn_on: {tap: {from: {kind: accessory}, to: [it.power]}}\nwires:\n";
            assert_eq!(of(gear, at, tapped, "18 AWG").outcome, Outcome::NotApplicable, "{at}");
        }
    }

    /// The return of a processor that a block gathers comes in there, and does not lead on beside the common wire; at a second
    /// battery it is not the battery's return.
    #[test]
    fn the_return_of_a_processor_leads_nothing_on() {
        let gathered = |common: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{one: {{}}}}\nsources: {{dsp: {{kind: processor}}}}\ngrounds: {{floor: {{}}}}\n\
                 blocks: {{back: {{outputs: {{a: {{}}, b: {{}}}}}}}}\nwires:\n  \
                 return-1: {{from: one.ground, to: back.a, size: 4 AWG, conductor: copper}}\n  \
                 return-2: {{from: dsp.ground, to: back.b, size: 8 AWG, conductor: copper}}\n  \
                 common: {{from: back.in, to: grounds.floor, size: {common}, conductor: copper}}\n"
            );
            outcome(&text, "WIRE-06", "blocks.back")
        };
        // 21.2 and 8.4 mm2 want 29.5 mm2: 2 AWG has 33.6.
        assert_eq!((gathered("2 AWG"), gathered("4 AWG")), (Outcome::Pass, Outcome::Fail));
        let battery = |back: &str| {
            let text = format!(
                "plan: 1\nsources: {{dsp: {{kind: processor}}}}\nbatteries: {{rear: {{}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  \
                 link: {{from: battery.positive, to: rear.positive, size: 6 AWG, conductor: copper}}\n  \
                 feed: {{from: rear.positive, to: dsp.power, size: 6 AWG, conductor: copper}}\n  \
                 own: {{from: dsp.ground, to: rear.negative, size: 6 AWG, conductor: copper}}\n  \
                 back: {{from: rear.negative, to: grounds.floor, size: {back}, conductor: copper}}\n"
            );
            outcome(&text, "WIRE-06", "batteries.rear")
        };
        assert_eq!((battery("6 AWG"), battery("8 AWG")), (Outcome::Pass, Outcome::Fail));
    }

    /// One amplifier returns to the battery, the other, on the thickest wire, to the body: what that one takes comes back
    /// through the battery's return, and what hangs on the post beside them counts as well.
    #[test]
    fn each_wire_at_the_post_counts_by_what_it_feeds() {
        let text = |back: &str, more: &str| {
            format!(
                "plan: 1\namplifiers: {{one: {{}}, two: {{}}}}\nbatteries: {{rear: {{}}}}\ngrounds: {{floor: {{}}, sill: {{}}}}\n\
                 blocks: {{hub: {{outputs: {{a: {{}}, b: {{}}}}}}}}\nwires:\n  \
                 one: {{from: rear.positive, to: one.power, size: 4 AWG, conductor: copper}}\n  \
                 own: {{from: one.ground, to: rear.negative, size: 4 AWG, conductor: copper}}\n  \
                 back: {{from: rear.negative, to: grounds.floor, size: {back}, conductor: copper}}\n{more}"
            )
        };
        let of = |back: &str, more: &str| outcome(&text(back, more), "WIRE-06", "batteries.rear");
        let other = "  two: {from: rear.positive, to: two.power, size: 1/0 AWG, conductor: copper}\n  \
                     sill: {from: two.ground, to: grounds.sill, size: 1/0 AWG, conductor: copper}\n";
        assert_eq!((of("4 AWG", other), of("1/0 AWG", other)), (Outcome::Fail, Outcome::Pass));
        let later = "  later: {from: rear.positive, to: hub.in, size: 1/0 AWG, conductor: copper}\n";
        assert_eq!((of("4 AWG", later), of("1/0 AWG", later)), (Outcome::Fail, Outcome::Pass));
    }

    /// The alternator's post feeds the second battery and an amplifier that returns to it: what charges the battery comes back
    /// through the battery's return.
    #[test]
    fn a_wire_from_the_alternator_counts_beside_an_amplifier_at_its_post() {
        let of = |back: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{one: {{}}}}\nbatteries: {{rear: {{}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  \
                 charge: {{from: alternator.positive, to: rear.positive, size: 1/0 AWG, conductor: copper}}\n  \
                 feed: {{from: alternator.positive, to: one.power, size: 4 AWG, conductor: copper}}\n  \
                 own: {{from: one.ground, to: rear.negative, size: 4 AWG, conductor: copper}}\n  \
                 back: {{from: rear.negative, to: grounds.floor, size: {back}, conductor: copper}}\n"
            );
            outcome(&text, "WIRE-06", "batteries.rear")
        };
        assert_eq!((of("4 AWG"), of("1/0 AWG")), (Outcome::Fail, Outcome::Pass));
    }

    /// A short inside a charger comes back through its minus, behind a fuse that was chosen for the feed.
    #[test]
    fn the_minus_of_a_charger_or_a_converter_is_as_thick_as_its_feed() {
        for kind in ["charger", "step-down"] {
            let of = |back: &str| {
                let text = format!(
                    "plan: 1\nisolators: {{part: {{kind: {kind}}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  main: {{from: battery.positive, \
                     to: part.in, size: 6 AWG, conductor: copper}}\n  back: {{from: part.ground, to: grounds.floor, size: {back}, \
                     conductor: copper}}\n"
                );
                outcome(&text, "WIRE-06", "isolators.part")
            };
            assert_eq!((of("6 AWG"), of("8 AWG")), (Outcome::Pass, Outcome::Fail), "{kind}");
        }
        let text = "plan: 1\nisolators: {part: {kind: charger}}\nwires: {main: {from: battery.positive, to: part.in, size: 6 AWG}}\n";
        let judged = crate::rules::trial::judged(text);
        let is_asked =
            |check: &crate::judge::Check| check.rule.code == "WIRE-06" && check.subject.path() == "isolators.part";
        assert!(!judged.checks.iter().any(is_asked), "a plan may leave it out");
    }

    /// The returns of amplifier and charger on one block: the wire from there on is worth both, and is none of them.
    #[test]
    fn a_block_gathers_the_minus_of_a_charger_with_other_returns() {
        let of = |onward: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nisolators: {{part: {{kind: charger}}}}\nblocks: {{neg: {{outputs: {{a: {{}}, b: {{}}}}}}}}\n\
                 grounds: {{floor: {{}}}}\nwires:\n  one: {{from: amp.ground, to: neg.a, size: 4 AWG, conductor: copper}}\n  \
                 two: {{from: part.ground, to: neg.b, size: 4 AWG, conductor: copper}}\n  \
                 on: {{from: neg.in, to: grounds.floor, size: {onward}, conductor: copper}}\n"
            );
            outcome(&text, "WIRE-06", "blocks.neg")
        };
        assert_eq!((of("4 AWG"), of("1 AWG")), (Outcome::Fail, Outcome::Pass));
    }
}
