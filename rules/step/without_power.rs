//! What is set or measured with the power off was not set and not measured.

use super::fuse_early::is_main_fuse;
use super::order::{later, place, puts_on, steps, takes_off, whole};
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Plan, Step, TestStep};
use crate::solve::graph::{LinkKind, POSITIVE};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-08",
    name: "set-without-power",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("without_power.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Move("steps", "set"), super::Slip::Move("steps", "test: charging")],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let steps = match steps(job) {
        Ok(steps) => steps,
        Err(undecided) => return vec![(whole(), Err(undecided))],
    };
    let powered = steps.iter().enumerate().filter(|(_, step)| needs_battery(step));
    let judged: Vec<_> = powered.map(|(at, step)| (place(at, step), Ok(judge(job, steps, at)))).collect();
    if judged.is_empty() {
        return vec![(whole(), Err(Undecided::NotApplicable("no step sets or measures anything that needs power")))];
    }
    judged
}

/// Whether a step sets or measures something that is dead without the battery. The test at the end is STEP-07's.
fn needs_battery(step: &Step) -> bool {
    step.set.is_some() || matches!(step.test, Some(TestStep::KeyOff | TestStep::Charging))
}

fn judge(job: &Job<'_>, steps: &[Step], at: usize) -> Verdict {
    let plan = job.plan;
    let finding = |title: String| {
        Finding::new(place(at, &steps[at]), title)
            .label("no power here")
            .because("a gain that is turned and a meter that is read without power show nothing, and the box is ticked")
            .mend("put this step after everything is connected, `battery: reconnect` and the main fuse")
            .offers(later("after the power is on", at, steps))
    };
    let what = match &steps[at].set {
        Some(name) => format!("`{name}` is set"),
        None => "a reading is taken".to_owned(),
    };
    let before = &steps[..at];
    if let Some(off) = before.iter().rposition(takes_off).filter(|off| !before[*off..].iter().any(puts_on)) {
        let finding = finding(format!("{what} while the battery is off"));
        return Verdict::fail(finding.also(place(off, &steps[off]), "it went off here"));
    }
    let late = not_joined(job, steps, at);
    if let Some((joined, name)) = late {
        let own = Some(name) == amplifier(plan, &steps[at]);
        let until = if own { "it is connected".to_owned() } else { format!("`{name}`, which feeds it, is connected") };
        let finding = finding(format!("{what} before {until}"));
        return Verdict::fail(finding.also(place(joined, &steps[joined]), "connected only here"));
    }
    let fuse = steps[at..].iter().position(|step| is_main_fuse(plan, step)).map(|more| at + more);
    let fuse = fuse.filter(|_| steps[at].set.is_some() && !before.iter().any(|step| is_main_fuse(plan, step)));
    match fuse {
        Some(fuse) => {
            let finding = finding(format!("{what} while the main fuse is out"));
            Verdict::fail(finding.also(place(fuse, &steps[fuse]), "it goes in only here"))
        }
        None => Verdict::pass(),
    }
}

/// The amplifier that a step sets.
fn amplifier<'a>(plan: &'a Plan, step: &'a Step) -> Option<&'a str> {
    let set = step.set.as_deref()?;
    Some(plan.settings.get(set).and_then(|setting| setting.amplifier.as_deref()).unwrap_or(set))
}

/// The later step that connects what is set, or the battery that alone feeds it, and what that is.
fn not_joined<'a>(job: &'a Job<'_>, steps: &'a [Step], at: usize) -> Option<(usize, &'a str)> {
    let amplifier = amplifier(job.plan, &steps[at])?;
    let connects = |step: &Step, name: &str| step.connect.as_deref() == Some(name);
    let named = [Some(amplifier), fed_alone(job, amplifier)].into_iter().flatten();
    let mut missing = named.filter(|name| !steps[..at].iter().any(|step| connects(step, name)));
    missing.find_map(|name| Some((at + steps[at..].iter().position(|step| connects(step, name))?, name)))
}

/// The added battery that feeds an amplifier to which nothing comes from the starting battery, by whatever is between them.
fn fed_alone<'a>(job: &'a Job<'_>, amplifier: &str) -> Option<&'a str> {
    let graph = job.graph();
    let power = graph.node(amplifier, "power")?;
    let is_run = |kind: &LinkKind| !matches!(kind, LinkKind::Ground(_) | LinkKind::Body);
    let (source, _) = graph.nearest(power, &graph.positives(job), is_run)?;
    let from_starter = graph.nearest(power, &[POSITIVE], is_run).is_some();
    let mut added = job.plan.batteries.keys().filter(|_| !from_starter);
    added.find(|name| graph.node(name, "positive") == Some(source)).map(String::as_str)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{finding, outcome};

    const HEAD: &str = "plan: 1\namplifiers: {amp: {}}\n\
        wires: {main: {from: battery.positive, to: amp.power, fuse: {rating: 60 A}}}\n";

    fn of(order: &str, at: &str) -> Outcome {
        outcome(&format!("{HEAD}steps: [{order}]\n"), "STEP-08", at)
    }

    #[test]
    fn a_gain_is_set_with_battery_and_fuse_in() {
        let right = "{battery: disconnect}, {run: main}, {battery: reconnect}, {fuse: main}, {set: amp}";
        assert_eq!(of(right, "steps.4.set"), Outcome::Pass);
        let off = "{battery: disconnect}, {run: main}, {set: amp}, {battery: reconnect}, {fuse: main}";
        assert_eq!(of(off, "steps.2.set"), Outcome::Fail);
        let fuse = "{battery: disconnect}, {run: main}, {battery: reconnect}, {set: amp}, {fuse: main}";
        assert_eq!(of(fuse, "steps.3.set"), Outcome::Fail);
        assert_eq!(of("{set: amp}", "steps.0.set"), Outcome::Pass);
    }

    #[test]
    fn nothing_is_set_before_it_is_connected() {
        let finding = |head: &str, order: &str, at: &str| finding(&format!("{head}steps: [{order}]\n"), "STEP-08", at);
        let late = finding(HEAD, "{fuse: main}, {set: amp}, {connect: amp}", "steps.1.set");
        assert_eq!(late.title, "`amp` is set before it is connected");
        assert_eq!(late.also[0].place.path(), "steps.2.connect");
        assert_eq!(of("{fuse: main}, {connect: amp}, {set: amp}", "steps.2.set"), Outcome::Pass);
        let front = HEAD.replace("wires:", "settings: {front: {amplifier: amp}}\nwires:");
        let late = finding(&front, "{fuse: main}, {set: front}, {connect: amp}", "steps.1.set");
        assert_eq!(late.title, "`front` is set before it is connected");
    }

    /// From an added battery alone nothing comes before that is connected; behind a relay the starting battery may feed it.
    #[test]
    fn nothing_is_set_before_the_battery_is_connected_that_alone_feeds_it() {
        let aux = "plan: 1\namplifiers: {amp: {}}\nbatteries: {aux: {}}\nisolators: {relay: {kind: relay}}\nwires:\n  main: {from: \
                   aux.positive, to: amp.power, fuse: {rating: 60 A}}\n";
        let charge = "  charge: {from: battery.positive, to: relay.in}\n  on: {from: relay.out, to: aux.positive}\n";
        let order = "steps: [{connect: amp}, {fuse: main}, {set: amp}, {connect: aux}]\n";
        let late = finding(&format!("{aux}{order}"), "STEP-08", "steps.2.set");
        assert_eq!(late.title, "`amp` is set before `aux`, which feeds it, is connected");
        assert_eq!(outcome(&format!("{aux}{charge}{order}"), "STEP-08", "steps.2.set"), Outcome::Pass);
    }

    #[test]
    fn key_off_current_may_be_read_before_the_work_and_after_it() {
        let order = "{test: key-off}, {battery: disconnect}, {test: key-off}, {battery: reconnect}, {test: charging}, {fuse: main}";
        for (at, expected) in [(0, Outcome::Pass), (2, Outcome::Fail), (4, Outcome::Pass)] {
            assert_eq!(of(order, &format!("steps.{at}.test")), expected, "{at}");
        }
        assert_eq!(of("{run: main}", "steps"), Outcome::NotApplicable);
    }

    #[test]
    fn the_step_that_would_have_given_power_is_shown() {
        let order =
            "{battery: disconnect}, {run: main}, {battery: reconnect}, {set: amp}, {test: commissioning}, {fuse: main}";
        let finding = finding(&format!("{HEAD}steps: [{order}]\n"), "STEP-08", "steps.3.set");
        assert_eq!(finding.also[0].place.path(), "steps.5.fuse");
    }
}
