//! Two batteries in parallel: parted when the engine stands, and of chemistries that suit each other.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Battery, BatteryKind, IsolatorKind, word};
use crate::solve::graph::{LinkKind, POSITIVE};
use crate::solve::{Decided, Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-07",
    name: "second-battery-in-parallel",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("second_battery.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Past("isolators.*.kind"),
        super::Slip::Past("batteries.*.kind"),
        super::Slip::Say("batteries.*.kind", &["lithium-iron-phosphate"]),
        super::Slip::Mistake("wires.*.from|to"),
    ],
};

/// A battery with its positive post.
struct Post<'a> {
    name: &'a str,
    place: Place,
    node: usize,
    kind: Option<BatteryKind>,
}

impl Post<'_> {
    fn kind_at(&self) -> Place {
        Place::of(format!("{}.kind", self.place))
    }

    fn kind(&self) -> Decided<BatteryKind> {
        self.kind.ok_or_else(|| Undecided::need(self.kind_at()))
    }
}

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let posts = posts(job);
    let judge_one = |name: &String| {
        let at = posts.iter().position(|post| post.name == name);
        match at {
            Some(at) => judge(at, &posts, job),
            None => Err(Undecided::NotApplicable("nothing is connected to its positive post")),
        }
    };
    job.plan.batteries.keys().map(|name| (Place::of(format!("batteries.{name}")), judge_one(name))).collect()
}

/// The starting battery, then every added one that something is connected to.
fn posts<'a>(job: &Job<'a>) -> Vec<Post<'a>> {
    let kind = |battery: &Battery| battery.kind;
    let starting = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref()).and_then(kind);
    let mut posts = vec![Post { name: "battery", place: Place::of("vehicle.battery"), node: POSITIVE, kind: starting }];
    posts.extend(job.plan.batteries.iter().filter_map(|(name, battery)| {
        let node = job.graph().node(name, "positive")?;
        Some(Post { name, place: Place::of(format!("batteries.{name}")), node, kind: battery.kind })
    }));
    posts
}

/// A battery against every one before it.
fn judge(at: usize, posts: &[Post<'_>], job: &Job<'_>) -> Judged {
    let mut joined = false;
    let mut needs = Vec::new();
    for (other, before) in posts[..at].iter().enumerate() {
        let finding = if let Some(way) = way(job, posts, (at, other), |_| false) {
            joined = true;
            for_good(&posts[at], before, &way, job)
        } else if let Some(way) = way(job, posts, (at, other), |kind| !kind.is_some_and(IsolatorKind::limits_current)) {
            joined = true;
            while_charging(&posts[at], before, &way, job)
        } else {
            joined |= way_through_charger(job, posts, (at, other));
            Ok(None)
        };
        match finding {
            Ok(Some(finding)) => return Ok(Verdict::fail(finding)),
            Ok(None) => {}
            Err(Undecided::Open(more)) => needs.extend(more),
            Err(other) => return Err(other),
        }
    }
    match (needs.is_empty(), joined) {
        (false, _) => Err(Undecided::Open(needs)),
        (true, true) => Ok(Verdict::pass()),
        (true, false) => Err(Undecided::NotApplicable("no other battery is joined to it")),
    }
}

/// The links from one battery to another through conductors and the isolators allowed, past no third battery.
fn way(
    job: &Job<'_>,
    posts: &[Post<'_>],
    ends: (usize, usize),
    allowed: impl Fn(Option<IsolatorKind>) -> bool,
) -> Option<Vec<usize>> {
    let graph = job.graph();
    let passes = |kind: &LinkKind| match kind {
        LinkKind::Wire(_) | LinkKind::Output(..) | LinkKind::ChargeCable => true,
        LinkKind::Isolator(name) => allowed(isolator(job, name)),
        LinkKind::Ground(_) | LinkKind::Body => false,
    };
    let (_, way) = graph.nearest(posts[ends.0].node, &[posts[ends.1].node], passes)?;
    let third = |post: &Post<'_>| post.node != posts[ends.0].node && post.node != posts[ends.1].node;
    let touches =
        |post: &Post<'_>| way.iter().any(|link| [graph.links[*link].a, graph.links[*link].b].contains(&post.node));
    (!posts.iter().any(|post| third(post) && touches(post))).then_some(way)
}

fn way_through_charger(job: &Job<'_>, posts: &[Post<'_>], ends: (usize, usize)) -> bool {
    way(job, posts, ends, |_| true).is_some()
}

fn isolator(job: &Job<'_>, name: &str) -> Option<IsolatorKind> {
    job.plan.isolators.get(name).and_then(|isolator| isolator.kind)
}

/// Joined by conductors alone: with the starting battery never, with another only of the same kind.
fn for_good(one: &Post<'_>, other: &Post<'_>, way: &[usize], job: &Job<'_>) -> Decided<Option<Finding>> {
    if other.node == POSITIVE {
        let finding =
            Finding::new(one.place.clone(), format!("`{}` is joined to the starting battery for good", one.name))
                .label("no isolator on the way")
                .because("with the engine off the added battery and its loads draw the starting battery down with them")
                .mend("put an isolator between the two: a relay, or a charger where their chemistries differ");
        return Ok(Some(first_wire(way, job).into_iter().fold(finding, |it, at| it.also(at, "joined by this"))));
    }
    let (mine, theirs) = kinds(one, other)?;
    Ok((mine != theirs).then(|| {
        mixed(one, other, "for good")
            .because("side by side all year the one with the higher voltage at rest empties into the other")
            .mend("use two of the same kind, size and age, or part them by an isolator")
    }))
}

/// Joined by a relay or a switch: lithium and lead do not suit each other even for the time of a drive.
fn while_charging(one: &Post<'_>, other: &Post<'_>, way: &[usize], job: &Job<'_>) -> Decided<Option<Finding>> {
    let (mine, theirs) = kinds(one, other)?;
    if is_lithium(mine) == is_lithium(theirs) {
        return Ok(None);
    }
    let mut at = None;
    for link in way {
        if let LinkKind::Isolator(name) = &job.graph().links[*link].kind {
            let place = Place::of(format!("isolators.{name}.kind"));
            isolator(job, name).ok_or_else(|| Undecided::need(place.clone()))?;
            at = at.or(Some(place));
        }
    }
    let finding = mixed(one, other, "while the isolator is closed")
        .because("lithium and lead never stand at the same voltage, and a closed relay lets a current through that nothing limits")
        .mend("put a charger made for both chemistries between them (isolator `kind: charger`), or use the same kind");
    Ok(Some(at.into_iter().fold(finding, |it, at| it.also(at, "does not part chemistries"))))
}

fn kinds(one: &Post<'_>, other: &Post<'_>) -> Decided<(BatteryKind, BatteryKind)> {
    let kinds = crate::solve::all([one.kind(), other.kind()])?;
    Ok((kinds[0], kinds[1]))
}

fn is_lithium(kind: BatteryKind) -> bool {
    kind == BatteryKind::LithiumIronPhosphate
}

fn mixed(one: &Post<'_>, other: &Post<'_>, when: &str) -> Finding {
    let words = |post: &Post<'_>| post.kind.as_ref().map_or_else(String::new, word);
    Finding::new(one.kind_at(), format!("`{}` in parallel with `{}` {when}", words(one), words(other)))
        .label("another kind of battery")
        .also(other.kind_at(), "than this")
}

fn first_wire(way: &[usize], job: &Job<'_>) -> Option<Place> {
    way.iter().find_map(|link| match job.graph().links[*link].kind {
        LinkKind::Wire(wire) => Some(job.wires[wire].place()),
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, finding, outcome};

    const CODE: &str = "SUPPLY-07";

    fn plan(start: &str, rear: &str, isolator: &str, wires: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{battery: {{{start}}}}}\nbatteries: {{rear: {{{rear}}}, second: {{kind: agm}}}}\n\
             isolators: {{part: {{{isolator}}}}}\nwires: {{{wires}}}\n"
        )
    }

    const DIRECT: &str = "link: {from: battery.positive, to: rear.positive}";
    const PARTED: &str = "a: {from: battery.positive, to: part.in}, b: {from: part.out, to: rear.positive}";

    fn parted(start: &str, rear: &str, isolator: &str) -> Outcome {
        outcome(&plan(start, rear, isolator, PARTED), CODE, "batteries.rear")
    }

    #[test]
    fn conductors_alone_to_the_starting_battery_fail_whatever_its_kind() {
        assert_eq!(outcome(&plan("", "", "", DIRECT), CODE, "batteries.rear"), Outcome::Fail);
        assert_eq!(outcome(&plan("kind: agm", "kind: agm", "", DIRECT), CODE, "batteries.rear"), Outcome::Fail);
        let block = "plan: 1\nbatteries: {rear: {}}\nblocks: {split: {outputs: {one: {}}}}\nwires: {a: {from: battery.positive, \
                     to: split.in}, b: {from: split.one, to: rear.positive}}\n";
        assert_eq!(outcome(block, CODE, "batteries.rear"), Outcome::Fail);
    }

    #[test]
    fn an_isolator_parts_lead_from_lead_and_only_a_charger_parts_lithium_from_lead() {
        for kind in ["kind: relay", "kind: switch", "kind: charger", ""] {
            assert_eq!(parted("kind: flooded", "kind: agm", kind), Outcome::Pass, "{kind}");
        }
        let lithium = |isolator: &str| parted("kind: flooded", "kind: lithium-iron-phosphate", isolator);
        assert_eq!(lithium("kind: charger"), Outcome::Pass);
        assert_eq!(lithium("kind: relay"), Outcome::Fail);
        assert_eq!(lithium("kind: switch"), Outcome::Fail);
        assert_eq!(lithium(""), Outcome::Open);
    }

    #[test]
    fn kinds_that_are_not_stated_are_asked_for_where_they_decide() {
        let check = check(&plan("", "kind: agm", "kind: relay", PARTED), CODE, "batteries.rear");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "vehicle.battery.kind"));
        assert_eq!(parted("", "", "kind: charger"), Outcome::Pass);
    }

    #[test]
    fn batteries_side_by_side_behind_an_isolator_are_of_one_kind() {
        let bank = format!("{PARTED}, c: {{from: rear.positive, to: second.positive}}");
        let of = |rear: &str| outcome(&plan("kind: agm", rear, "kind: relay", &bank), CODE, "batteries.second");
        assert_eq!(of("kind: agm"), Outcome::Pass);
        assert_eq!(of("kind: gel"), Outcome::Fail);
        assert_eq!(of(""), Outcome::Open);
    }

    #[test]
    fn a_missing_isolator_is_found_once() {
        let chain = format!("{DIRECT}, c: {{from: rear.positive, to: second.positive}}");
        let text = plan("kind: agm", "kind: agm", "kind: relay", &chain);
        assert_eq!(outcome(&text, CODE, "batteries.rear"), Outcome::Fail);
        assert_eq!(outcome(&text, CODE, "batteries.second"), Outcome::Pass);
    }

    #[test]
    fn a_battery_of_its_own_is_no_subject_of_it() {
        assert_eq!(outcome(&plan("", "", "", ""), CODE, "batteries.rear"), Outcome::NotApplicable);
        let alone = plan("", "", "", "x: {from: rear.positive, to: amp.power}");
        assert_eq!(outcome(&alone, CODE, "batteries.rear"), Outcome::NotApplicable);
    }

    #[test]
    fn the_wire_that_joins_them_for_good_is_pointed_at() {
        let also = finding(&plan("kind: agm", "kind: agm", "", DIRECT), CODE, "batteries.rear").also;
        assert_eq!(also.iter().map(|label| label.place.path()).collect::<Vec<_>>(), ["wires.link"]);
    }
}
