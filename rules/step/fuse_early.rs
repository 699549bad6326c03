//! The main fuse goes in last, after a look at everything.

use super::order::{joins, place, steps, whole};
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Plan, Step};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-02",
    name: "main-fuse-early",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("fuse_early.md"),
    check: Subjects::Each(check),
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

/// Whether a step puts in the fuse of a wire that starts or ends at a battery.
fn is_main_fuse(plan: &Plan, step: &Step) -> bool {
    let wire = step.fuse.as_ref().and_then(|name| plan.wires.get(name));
    let ends = wire.into_iter().flat_map(|wire| [&wire.from, &wire.to]).flatten();
    ends.into_iter().any(|end| end.thing == "battery" || plan.batteries.contains_key(&end.thing))
}

fn judge(job: &Job<'_>, steps: &[Step], fuse: usize) -> Verdict {
    let finding = |title: &str| {
        Finding::new(place(fuse, &steps[fuse]), title)
            .label("the fuse goes in here")
            .because("with the fuse in, the cable is live: a crossed pole or a strand on the body shows as sparks")
            .mend("connect everything, look it over with a meter, and put the main fuse in after that")
    };
    if let Some(late) = (fuse..steps.len()).find(|at| joins(job.plan, &steps[*at])) {
        return Verdict::fail(
            finding("main fuse in before everything is connected")
                .also(place(late, &steps[late]), "this is connected later"),
        );
    }
    let joined = steps[..fuse].iter().rposition(|step| joins(job.plan, step)).map_or(0, |at| at + 1);
    let inspected = steps[joined..fuse].iter().any(|step| step.inspect.is_some());
    Verdict::pass_if(inspected, || finding("main fuse in before anybody has looked over the connections"))
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
    fn a_fuse_away_from_the_battery_is_no_main_fuse() {
        let text = plan("{fuse: main}").replace("from: battery.positive", "from: block.one");
        assert_eq!(outcome(&text, "STEP-02", "steps"), Outcome::NotApplicable);
    }
}
