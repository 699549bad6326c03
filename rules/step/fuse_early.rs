//! The main fuse goes in last, after a look at everything.

use super::order::{added, joins, later, place, puts_on, steps, takes_off, whole};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Plan, Step, Wire};
use crate::solve::{Job, Place, Undecided};
use crate::text::Deed;

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-02",
    name: "main-fuse-early",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("fuse_early.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Move("steps", "fuse"), super::Slip::Move("steps", "connect")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let steps = match steps(job) {
        Ok(steps) => steps,
        Err(undecided) => return vec![(whole(), Err(undecided))],
    };
    let fuses = steps.iter().enumerate().filter(|(_, step)| is_main_fuse(job.plan, step));
    let judged: Vec<_> = fuses.map(|(at, step)| (place(at, step), Ok(judge(job, steps, at)))).collect();
    if judged.is_empty() {
        return vec![(whole(), Err(Undecided::NotApplicable("no step puts a main fuse in")))];
    }
    judged
}

/// Whether a step puts in the first fuse behind a source: that of a wire at a battery or the alternator, or those of a
/// block that such a wire feeds without a fuse of its own.
pub fn is_main_fuse(plan: &Plan, step: &Step) -> bool {
    let Some(name) = &step.fuse else { return false };
    let ends =
        |wire: &Wire, is: &dyn Fn(&str) -> bool| [&wire.from, &wire.to].into_iter().flatten().any(|end| is(&end.thing));
    let at_source = |wire: &Wire| {
        ends(wire, &|thing| thing == "battery" || thing == "alternator" || plan.batteries.contains_key(thing))
    };
    let feeds = |wire: &Wire| wire.fuse.is_none() && at_source(wire) && ends(wire, &|thing| thing == name);
    plan.wires.get(name).is_some_and(at_source) || (plan.blocks.contains_key(name) && plan.wires.values().any(feeds))
}

fn judge(job: &Job<'_>, steps: &[Step], fuse: usize) -> Verdict {
    let finding = |title: &str| {
        Finding::new(place(fuse, &steps[fuse]), title)
            .label("the fuse goes in here")
            .because("with the fuse in, the cable is live: a crossed pole or a strand on the body shows as sparks")
            .mend("connect everything, look it over with a meter, and put the main fuse in after that")
            .offers(later("fuse in later", fuse, steps))
            .offer(added("look it over before the fuse goes in", fuse, "{inspect: no-short}"))
            .offers(later("look it over, then put the fuse in", fuse, steps).into_iter().map(looked_over))
    };
    // What is connected once the battery is off again is dead while somebody has hands on it, unless an added battery
    // keeps it live.
    let again = steps[fuse..].iter().position(takes_off).filter(|_| job.plan.batteries.is_empty());
    let end = again.map_or(steps.len(), |more| fuse + more);
    if let Some(late) = (fuse..end).find(|at| joins(job.plan, &steps[*at])) {
        let finding = finding("main fuse in before everything is connected")
            .also(place(late, &steps[late]), "this is connected later");
        return Verdict::fail(match live_since(steps, late) {
            Some(on) => finding.follows("STEP-03", place(on, &steps[on])),
            None => finding,
        });
    }
    if is_looked_over(job.plan, &steps[..fuse]) != Some(true) {
        return Verdict::fail(finding("main fuse in before anybody has looked over the connections"));
    }
    let again = (end..steps.len()).filter(|at| puts_on(&steps[*at]));
    let blind = again.into_iter().find(|on| is_looked_over(job.plan, &steps[end..*on]) == Some(false));
    blind.map_or_else(Verdict::pass, |on| {
        Verdict::fail(
            Finding::new(place(on, &steps[on]), "battery on again before anybody has looked over what was connected")
                .label("the cable is live from here")
                .also(place(fuse, &steps[fuse]), "the main fuse is in since here")
                .because("with the fuse in, the cable is live: a crossed pole or a strand on the body shows as sparks")
                .mend("look over what was connected with a meter, and put the battery on after that")
                .offer(added("look it over before", on, "{inspect: no-short}")),
        )
    })
}

/// The same with somebody who looks everything over right before.
fn looked_over(offer: Offer) -> Offer {
    let to = offer.deeds.iter().find_map(|(_, deed)| if let Deed::Move(to) = deed { Some(*to) } else { None });
    to.into_iter().fold(offer, |offer, to| offer.insert(Place::of(format!("steps.{}", to - 1)), "{inspect: no-short}"))
}

/// Whether somebody looks over what these steps connect, after the last of it; `None` where they connect nothing and
/// nobody looks.
fn is_looked_over(plan: &Plan, steps: &[Step]) -> Option<bool> {
    let joined = steps.iter().rposition(|step| joins(plan, step));
    let looks = steps[joined.unwrap_or(0)..].iter().any(|step| step.inspect.is_some());
    (looks || joined.is_some()).then_some(looks)
}

/// The step that put the battery on, where it is on at a step.
fn live_since(steps: &[Step], at: usize) -> Option<usize> {
    let on = steps[..at].iter().rposition(puts_on)?;
    (!steps[on..at].iter().any(takes_off)).then_some(on)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    const HEAD: &str = "plan: 1\nvehicle: {high_voltage: none}\namplifiers: {amp: {}}\n\
        wires: {main: {from: battery.positive, to: amp.power, fuse: {rating: 60 A}}}\n";

    fn plan(steps: &str) -> String {
        format!("{HEAD}steps: [{steps}]\n")
    }

    #[test]
    fn connect_look_fuse_is_the_order() {
        for (order, expected) in [
            ("{run: main}, {connect: amp}, {inspect: no-short}, {fuse: main}", Outcome::Pass),
            ("{run: main}, {connect: amp}, {inspect: no-short}, {battery: reconnect}, {fuse: main}", Outcome::Pass),
            ("{run: main}, {connect: amp}, {mount: amp}, {fuse: main}", Outcome::Fail),
            ("{battery: disconnect}, {fuse: main}", Outcome::Fail),
            ("{run: main}, {inspect: no-short}, {connect: amp}, {fuse: main}", Outcome::Fail),
        ] {
            let at = order.matches('{').count() - 1;
            assert_eq!(outcome(&plan(order), "STEP-02", &format!("steps.{at}.fuse")), expected, "{order}");
        }
    }

    #[test]
    fn what_is_connected_later_is_shown() {
        let order = "{run: main}, {inspect: no-short}, {fuse: main}, {connect: amp}";
        let finding = check(&plan(order), "STEP-02", "steps.2.fuse").finding.expect("it fails");
        assert_eq!(finding.also[0].place.path(), "steps.3.connect");
    }

    #[test]
    fn a_second_round_with_the_battery_off_again_may_leave_the_fuse_in() {
        let first = "{battery: disconnect}, {run: main}, {inspect: no-short}, {battery: reconnect}, {fuse: main}, {test: key-off}";
        let of = |more: &str| outcome(&plan(&format!("{first}, {more}")), "STEP-02", "steps.4.fuse");
        assert_eq!(
            of("{battery: disconnect}, {connect: amp}, {inspect: no-short}, {battery: reconnect}"),
            Outcome::Pass
        );
        assert_eq!(of("{battery: disconnect}, {mount: amp}, {battery: reconnect}"), Outcome::Pass);
        assert_eq!(of("{battery: disconnect}, {connect: amp}, {battery: reconnect}"), Outcome::Fail);
        assert_eq!(of("{connect: amp}, {battery: disconnect}, {battery: reconnect}"), Outcome::Fail);
        let round = "{battery: disconnect}, {connect: amp}, {inspect: no-short}, {battery: reconnect}";
        let added = plan(&format!("{first}, {round}")) + "batteries: {rear: {}}\n";
        assert_eq!(outcome(&added, "STEP-02", "steps.4.fuse"), Outcome::Fail, "the added battery is still on");
    }

    #[test]
    fn what_is_connected_on_a_live_system_is_told_by_the_rule_about_the_battery() {
        let order = "{battery: disconnect}, {inspect: no-short}, {battery: reconnect}, {fuse: main}, {connect: amp}";
        let finding = check(&plan(order), "STEP-02", "steps.3.fuse").finding.expect("it fails");
        let (code, subject) = finding.follows.expect("it follows");
        assert_eq!(outcome(&plan(order), code, &subject.path()), Outcome::Fail);
        let dead = "{battery: disconnect}, {inspect: no-short}, {fuse: main}, {connect: amp}, {battery: reconnect}";
        assert_eq!(check(&plan(dead), "STEP-02", "steps.2.fuse").finding.expect("it fails").follows, None);
    }

    #[test]
    fn a_fuse_at_the_alternator_and_those_of_a_block_behind_a_bare_wire_are_main_fuses() {
        let early = |text: &str| check(text, "STEP-02", "steps.0.fuse").outcome;
        let alternator = plan("{fuse: main}, {connect: amp}").replace("battery.positive", "alternator.positive");
        assert_eq!(early(&alternator), Outcome::Fail);
        let block = |fuse: &str| {
            format!(
                "plan: 1\nblocks: {{split: {{outputs: {{one: {{fuse: {{rating: 40 A}}}}}}}}}}\n\
                 wires: {{main: {{from: battery.positive, to: split.in{fuse}}}}}\nsteps: [{{fuse: split}}, {{ground: floor}}]\n"
            )
        };
        assert_eq!(early(&block("")), Outcome::Fail);
        assert_eq!(outcome(&block(", fuse: {rating: 60 A}"), "STEP-02", "steps"), Outcome::NotApplicable);
    }

    #[test]
    fn a_fuse_away_from_the_battery_is_no_main_fuse() {
        let text = plan("{fuse: main}").replace("from: battery.positive", "from: block.one");
        assert_eq!(outcome(&text, "STEP-02", "steps"), Outcome::NotApplicable);
    }

    /// A block behind a fused cable has nothing to do with what else hangs on the battery.
    #[test]
    fn the_fuses_of_a_block_are_main_fuses_where_its_own_cable_has_none() {
        let of = |fuse: &str, order: &str, subject: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{}}}}\nblocks: {{split: {{outputs: {{one: {{fuse: {{rating: 40 A}}}}}}}}}}\n\
                 wires: {{main: {{from: battery.positive, to: split.in{fuse}}}, sense: {{from: battery.positive, to: amp.power}}}}\n\
                 steps: [{order}]\n"
            );
            outcome(&text, "STEP-02", subject)
        };
        let order = "{fuse: split}, {run: main}";
        assert_eq!(of("", order, "steps.0.fuse"), Outcome::Fail);
        assert_eq!(of(", fuse: {rating: 60 A}", order, "steps"), Outcome::NotApplicable);
    }

    #[test]
    fn what_is_connected_before_the_battery_goes_off_again_is_too_late() {
        let order = "{run: main}, {inspect: no-short}, {fuse: main}, {connect: amp}, {battery: disconnect}";
        assert_eq!(outcome(&plan(order), "STEP-02", "steps.2.fuse"), Outcome::Fail);
        let off = "{run: main}, {inspect: no-short}, {fuse: main}, {battery: disconnect}, {connect: amp}";
        assert_eq!(outcome(&plan(off), "STEP-02", "steps.2.fuse"), Outcome::Pass);
    }
}
