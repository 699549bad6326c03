//! There is a most that a source and a wire can deliver, and no voltage at which they deliver more.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::Amplifier;
use crate::quantity::{Range, Share};
use crate::solve::graph::LinkKind;
use crate::solve::network::Operating;
use crate::solve::supply::Supply;
use crate::solve::{Case, Job, Known, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-04",
    name: "supply-no-operating-point",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("no_operating_point.md"),
    check: Subjects::Job(check),
    slips: &[
        super::Slip::Past("wires.*.joint_resistance"),
        super::Slip::Past("vehicle.body_resistance"),
        super::Slip::Past("wires.*.length"),
        super::Slip::Past("wires.*.size"),
        super::Slip::Say("wires.*.joint_resistance", &["80 mohm", "0.1 ohm"]),
    ],
};

fn check(job: &Job<'_>) -> Judged {
    let graph = job.graph();
    let fed = |amplifier: &&Thing<'_, Amplifier>| {
        graph.node(amplifier.name, "power").is_some() && graph.node(amplifier.name, "ground").is_some()
    };
    let amplifiers: Vec<&Thing<'_, Amplifier>> = job.amplifiers.iter().filter(fed).collect();
    if amplifiers.is_empty() {
        return Err(Undecided::NotApplicable("no amplifier has both its supply terminals connected"));
    }
    let supply = job.supply()?;
    let (case, reach) = weakest(supply);
    if reach.0 >= 1.0 {
        let mut stranded = amplifiers.iter().filter(|amplifier| is_stranded(amplifier.name, job));
        let finding = stranded.find_map(|amplifier| cut_off(amplifier, None, job));
        return Ok(finding.map_or_else(Verdict::pass, Verdict::fail));
    }
    // What is searched for comes within a hair of nothing.
    if reach.1 < 0.005
        && let Some(finding) = amplifiers.iter().find_map(|amplifier| cut_off(amplifier, Some(case), job))
    {
        return Ok(Verdict::fail(finding));
    }
    let demand = |amplifier: &&Thing<'_, Amplifier>| job.demand(amplifier).map_or(0.0, |demand| demand.full.high());
    let largest = amplifiers.into_iter().max_by(|one, other| demand(one).total_cmp(&demand(other)));
    let largest = largest.ok_or(Undecided::NotApplicable("no amplifier has both its supply terminals connected"))?;
    let full = job.demand(largest)?.full;
    let place = feed(largest, job);
    let share = Range::<Share>::new(reach.0 * 100.0, reach.1 * 100.0);
    Ok(at_least(share, Range::<Share>::point(100.0))
        .formula("share of the power asked that the network can deliver >= all of it")
        .given(Input::known("asked by the largest amplifier", &Known::computed(full, case.words())))
        .limit_from("maximum power transfer: a source of E behind R delivers at most E^2 / 4R")
        .verdict(|is| {
            Finding::new(place, format!("{}: only {} of the power asked can be delivered", case.words(), is.result()))
                .label(format!("{} asks {full} through this", largest.name))
                .because("beyond that point more current only brings less power, and the supply collapses")
                .mend("bring the resistance down: a thicker or shorter feed, a sound battery; or less power")
        }))
}

/// Whether a return ends at a ground from which nothing leads on: what hangs on it is no part of the network.
fn is_stranded(amplifier: &str, job: &Job<'_>) -> bool {
    let graph = job.graph();
    let grounds: Vec<usize> = job.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name)).collect();
    let run = |kind: &LinkKind| matches!(kind, LinkKind::Wire(_) | LinkKind::Output(..));
    graph.node(amplifier, "ground").is_some_and(|start| {
        let is_grounded = graph.nearest(start, &grounds, run).is_some();
        is_grounded && graph.nearest(start, &graph.negatives(job), |_| true).is_none()
    })
}

/// Why nothing at all reaches an amplifier in a case, or in any: no battery feeds it with the engine off, or what does gets
/// nothing back.
fn cut_off(amplifier: &Thing<'_, Amplifier>, case: Option<Case>, job: &Job<'_>) -> Option<Finding> {
    let when = case.map(|case| format!("{}: ", case.words())).unwrap_or_default();
    let graph = job.graph();
    let (power, ground) = (graph.node(amplifier.name, "power")?, graph.node(amplifier.name, "ground")?);
    let run = |kind: &LinkKind| !matches!(kind, LinkKind::Isolator(_) | LinkKind::ChargeCable);
    let reaches = |from: usize, name: &str, post: &str| {
        graph.node(name, post).is_some_and(|post| graph.nearest(from, &[post], run).is_some())
    };
    let added = job.plan.batteries.keys().map(String::as_str);
    if job.step_down_of(amplifier.name).is_some() {
        return None;
    }
    let feeding: Vec<&str> =
        ["battery"].into_iter().chain(added).filter(|name| reaches(power, name, "positive")).collect();
    let title = format!("{when}no battery feeds `{}`", amplifier.name);
    let Some(battery) = feeding.first() else {
        return Some(
            Finding::new(feed(amplifier, job), title)
                .label("ends at no battery")
                .because("a charger or relay between passes nothing with the engine off: the amplifier is dead, or empties nothing but itself")
                .mend("run its feed from a battery; where that has another voltage, through a converter (isolator `kind: step-down`)"),
        );
    };
    if feeding.iter().any(|battery| reaches(ground, battery, "negative")) {
        return None;
    }
    let subject = if *battery == "battery" { amplifier.place() } else { Place::of(format!("batteries.{battery}")) };
    Some(
        Finding::new(
            feed(amplifier, job),
            format!("{when}`{}` has no way back to `{battery}`, which feeds it", amplifier.name),
        )
        .label("fed through this")
        .because("without a way back no current flows, or it finds one through shields and hinges")
        .mend(format!("run a return to the negative of `{battery}`, or ground both in a body that carries it"))
        .follows("GROUND-09", subject),
    )
}

/// The case in which the smallest share of the loads can be carried, worst and best.
fn weakest(supply: &Supply) -> (Case, (f64, f64)) {
    let reach = |case: Case| match supply.operating(case) {
        Operating::Always(_) => (1.0, 1.0),
        Operating::Sometimes { reach, .. } => (*reach, 1.0),
        Operating::Never { reach } => *reach,
    };
    let cases = Case::ALL.into_iter().map(|case| (case, reach(case)));
    let worse = |one: (Case, (f64, f64)), other: (Case, (f64, f64))| {
        let (a, b) = (one.1, other.1);
        if (b.1, b.0) < (a.1, a.0) { other } else { one }
    };
    cases.reduce(worse).unwrap_or((Case::IdleFull, (1.0, 1.0)))
}

/// The wire that ends at an amplifier's supply terminal.
fn feed(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Place {
    let ends = |wire: &&Thing<'_, crate::plan::Wire>| {
        [&wire.to, &wire.from].into_iter().flatten().any(|end| end.is(amplifier.name, "power"))
    };
    job.wires.iter().find(ends).map_or_else(|| amplifier.place(), |wire| wire.at("size"))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::check;

    /// Everything known but the wires' spread: 12.6 V behind 20 mohm and more give at most 12.6^2 / 0.08 = 1985 W.
    fn plan(watts: u32, more: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel, body_resistance: 0.5 mohm, \
             battery: {{rest_voltage: 12.6 V, internal_resistance: 20 mohm}}}}\n\
             amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A, \
             rated: [{{load: 2 ohm, power: {watts} W}}]}}}}\ngrounds: {{floor: {{}}}}\nwires:\n  \
             main: {{from: battery.positive, to: amp.power, size: 1/0 AWG, conductor: copper{more}, \
             fuse: {{form: bolt-down, rating: 150 A, distance: 20 cm}}}}\n  \
             return: {{from: amp.ground, to: grounds.floor, size: 1/0 AWG, conductor: copper, length: 40 cm}}\n"
        )
    }

    const LENGTH: &str = ", length: 4 m";

    /// With 2.2 mohm of 1/0 AWG, joints and body the most lies somewhat above 1700 W of supply power, 1400 W of audio.
    #[test]
    fn it_turns_where_the_power_transfer_is_at_its_most() {
        let of = |watts: u32| check(&plan(watts, LENGTH), "SUPPLY-04", "job").outcome;
        assert_eq!(of(1000), Outcome::Pass);
        assert_eq!(of(1700), Outcome::Fail);
        let outcomes: Vec<Outcome> = (10..=17).map(|hundreds| of(hundreds * 100)).collect();
        assert!(outcomes.is_sorted_by_key(|outcome| match outcome {
            Outcome::Pass => 0,
            Outcome::Open => 1,
            _ => 2,
        }));
    }

    #[test]
    fn the_finding_says_which_share_can_be_delivered() {
        let failed = check(&plan(4000, LENGTH), "SUPPLY-04", "job");
        let (least, share) = failed.working.map(|is| (is.result.low, is.result.high)).unwrap_or_default();
        // 5000 W are asked for; at most 12.6^2 / (4 x 22.5 mohm) = 1764 W less the idle current's share.
        assert!(share > 25.0 && share < 36.0, "{share}");
        assert!(least > 20.0 && least <= share, "{least}");
        assert_eq!(failed.finding.map(|finding| finding.at.place.path()).as_deref(), Some("wires.main.size"));
    }

    /// Behind a charger that stands with the engine off no thicker feed helps.
    #[test]
    fn an_amplifier_that_no_battery_feeds_is_told_so_and_not_to_take_a_thicker_feed() {
        let text = plan(500, LENGTH).replace("from: battery.positive", "from: parting.out").replace(
            "wires:\n",
            "isolators: {parting: {kind: charger, rated: 30 A}}\nwires:\n  to: {from: battery.positive, to: parting.in, size: 1/0 AWG, \
             conductor: copper, length: 1 m}\n",
        );
        let finding = check(&text, "SUPPLY-04", "job").finding.expect("it fails");
        assert_eq!(finding.title, "engine off, full output: no battery feeds `amp`");
        assert!(!finding.mend.contains("thicker"), "{}", finding.mend);
    }

    #[test]
    fn an_amplifier_without_a_way_back_is_told_by_the_rule_of_returns() {
        // The added battery's negative was forgotten: with the engine off nothing else feeds the amplifier.
        let text = plan(500, LENGTH).replace("plan: 1\n", "plan: 1\njob: {stage: planned}\n");
        let text = text.replace("from: battery.positive, to: amp.power", "from: rear.positive, to: amp.power").replace(
            "wires:\n",
            "batteries: {rear: {kind: agm, internal_resistance: 5 mohm, rest_voltage: 12.6 V}}\nisolators: {parting: {kind: relay, \
             rated: 100 A}}\nwires:\n  to: {from: battery.positive, to: parting.in, size: 1/0 AWG, conductor: copper, length: 1 m}\n  \
             link: {from: parting.out, to: rear.positive, size: 1/0 AWG, conductor: copper, length: 1 m}\n",
        );
        let failed = check(&text, "SUPPLY-04", "job");
        let follows = failed.follows.map(|(code, place)| (code, place.path()));
        assert_eq!(follows, Some(("GROUND-09", "batteries.rear".to_owned())));
        assert!(failed.finding.expect("it fails").title.ends_with("`amp` has no way back to `rear`, which feeds it"));
    }

    /// What goes into a factory stud of an aluminium body comes back through it, where its maker lets it.
    #[test]
    fn a_factory_stud_of_an_aluminium_body_carries_the_return() {
        let of = |watts: u32, ground: &str| {
            let text = plan(watts, LENGTH).replace("body: steel", "body: aluminium");
            let check = check(&text.replace("floor: {}", &format!("floor: {{{ground}}}")), "SUPPLY-04", "job");
            (check.outcome, check.follows.map(|(code, place)| format!("{code} {}", place.path())))
        };
        let named = "on: factory-stud, for_added_loads: true";
        assert_eq!((of(1000, named), of(1700, named)), ((Outcome::Pass, None), (Outcome::Fail, None)), "as in steel");
        // Elsewhere nothing comes back, however little is asked: GROUND-09 tells that first.
        let told = (Outcome::Fail, Some("GROUND-09 amplifiers.amp".to_owned()));
        assert_eq!(of(100, "on: factory-stud, for_added_loads: false"), told);
        assert_eq!(of(100, "on: body-sheet"), told);
    }

    #[test]
    fn what_decides_is_asked_for_and_nothing_is_asked_of_a_bare_draft() {
        let open = check(&plan(500, ""), "SUPPLY-04", "job");
        assert_eq!(open.needs[0].path(), "wires.main.length");
        assert_eq!(check("plan: 1\namplifiers: {amp: {}}\n", "SUPPLY-04", "job").outcome, Outcome::NotApplicable);
    }

    #[test]
    fn an_amplifier_with_one_terminal_connected_is_not_supplied_yet() {
        let text = plan(4000, LENGTH);
        let (feed, _) = text.split_once("  return: ").expect("its return");
        assert_eq!(check(feed, "SUPPLY-04", "job").outcome, Outcome::NotApplicable);
    }
}
