//! Negative comes off first and goes on last.

use super::fuse_early::{is_bolted, is_main_fuse};
use super::order::{added_battery, feeds, joins, on_until, place, steps, takes_off, whole};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{BatteryStep, Plan, Step};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "STEP-03",
    name: "negative-first-off-last-on",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("negative_first.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("steps.*.battery", &["disconnect-positive-first"]),
        super::Slip::Move("steps", "battery: reconnect"),
        super::Slip::Drop("steps.*"),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let steps = match steps(job) {
        Ok(steps) => steps,
        Err(undecided) => return vec![(whole(), Err(undecided))],
    };
    let battery = steps.iter().enumerate().filter(|(_, step)| takes_off(step) || feeds(job.plan, step));
    let judged: Vec<_> = battery.map(|(at, step)| (place(at, step), Ok(judge(job, steps, at)))).collect();
    if judged.is_empty() {
        return vec![(whole(), Err(Undecided::NotApplicable("no step takes the battery off or on")))];
    }
    judged
}

fn judge(job: &Job<'_>, steps: &[Step], at: usize) -> Verdict {
    let here = || place(at, &steps[at]);
    if steps[at].battery == Some(BatteryStep::DisconnectPositiveFirst) {
        return Verdict::fail(
            Finding::new(here(), "positive off first, negative has to come off first")
                .label("positive first here")
                .because("while negative is on, a spanner from the positive post to the body is a dead short")
                .mend("take negative off first, then positive if it has to come off at all")
                .offer(Offer::new("negative off first").set(here(), "disconnect")),
        );
    }
    if !feeds(job.plan, &steps[at]) {
        return Verdict::pass();
    }
    let end = on_until(job.plan, steps, at);
    let late = (at..end).find(|more| joins(job.plan, &steps[*more]));
    let Some(late) = late else { return Verdict::pass() };
    let (title, label, mend) = match added_battery(job.plan, &steps[at]) {
        Some(name) => (
            format!("`{name}` connected before the last connection, its negative has to go on last"),
            "this battery feeds from here",
            "connect it after the last wire, ground and terminal, and after the look at them",
        ),
        None => (
            "negative on before the last connection, it has to go on last".to_owned(),
            "the battery is on from here",
            "put negative on after the last wire, ground and terminal",
        ),
    };
    Verdict::fail(
        Finding::new(here(), title)
            .label(label)
            .also(place(late, &steps[late]), "this is connected later")
            .because("with negative on, every connection after it is made on a live system")
            .mend(mend)
            .offers(behind_all(job.plan, steps, at, end)),
    )
}

/// Behind what is connected, looked over and bolted in while the battery is off; where that does not mend it, anywhere
/// behind.
fn behind_all(plan: &Plan, steps: &[Step], at: usize, end: usize) -> Vec<Offer> {
    let joined = (at..end).rfind(|more| joins(plan, &steps[*more])).unwrap_or(at);
    let is_dead = |step: &Step| step.inspect.is_some() || (is_main_fuse(plan, step) && is_bolted(plan, step));
    let last = (joined..end).rfind(|more| is_dead(&steps[*more])).unwrap_or(joined);
    let places = [last].into_iter().chain((at + 1..steps.len()).filter(|more| *more != last));
    places.map(|last| Offer::new("battery on later").shift(Place::of(format!("steps.{at}")), last + 1)).collect()
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, judged, outcome};

    const HEAD: &str = "plan: 1\nvehicle: {high_voltage: none}\namplifiers: {amp: {}}\n\
        wires: {main: {from: battery.positive, to: amp.power, fuse: {rating: 60 A}}}\n";

    fn plan(steps: &str) -> String {
        format!("{HEAD}steps: [{steps}]\n")
    }

    #[test]
    fn negative_off_first_and_on_last_passes() {
        let order = "{battery: disconnect}, {run: main}, {connect: amp}, {battery: reconnect}, {fuse: main}";
        for subject in ["steps.0.battery", "steps.3.battery"] {
            assert_eq!(outcome(&plan(order), "STEP-03", subject), Outcome::Pass);
        }
    }

    #[test]
    fn positive_first_fails_and_so_does_negative_on_before_the_last_connection() {
        let order = "{battery: disconnect-positive-first}, {run: main}, {battery: reconnect}, {connect: amp}";
        assert_eq!(outcome(&plan(order), "STEP-03", "steps.0.battery"), Outcome::Fail);
        let finding = check(&plan(order), "STEP-03", "steps.2.battery").finding.expect("it fails");
        assert_eq!(finding.also[0].place.path(), "steps.3.connect");
    }

    #[test]
    fn a_second_round_with_the_battery_off_again_is_no_fault() {
        let order = "{battery: disconnect}, {run: main}, {battery: reconnect}, {battery: disconnect}, {connect: amp}";
        assert_eq!(outcome(&plan(order), "STEP-03", "steps.2.battery"), Outcome::Pass);
        assert_eq!(outcome(&plan("{run: main}"), "STEP-03", "steps"), Outcome::NotApplicable);
    }

    #[test]
    fn what_is_connected_before_the_battery_goes_off_again_is_connected_live() {
        let order = "{battery: disconnect}, {battery: reconnect}, {connect: amp}, {battery: disconnect}";
        assert_eq!(outcome(&plan(order), "STEP-03", "steps.1.battery"), Outcome::Fail);
    }

    #[test]
    fn whatever_is_connected_counts_and_the_battery_is_offered_on_after_it() {
        let gear = "isolators: {relay: {}}\nblocks: {split: {outputs: {one: {}}}}\nconverters: {loc: {}}\n\
                    sources: {dsp: {kind: processor}}\n";
        for name in ["amp", "relay", "split", "loc", "dsp"] {
            let text = |order: &str| plan(order) + gear;
            let early = text(&format!("{{battery: disconnect}}, {{battery: reconnect}}, {{connect: {name}}}"));
            let late = text(&format!("{{battery: disconnect}}, {{connect: {name}}}, {{battery: reconnect}}"));
            assert_eq!(after(&early, "STEP-03", "steps.1.battery"), [late], "{name}");
        }
        let trim = plan("{battery: disconnect}, {battery: reconnect}, {connect: trim}");
        assert_eq!(outcome(&trim, "STEP-03", "steps.1.battery"), Outcome::Pass);
    }

    const ADDED: &str = "batteries: {rear: {}}\nwires: {main: {from: battery.positive, to: rear.positive, fuse: {form: bolt-down}}, \
        feed: {from: rear.positive, to: amp.power, fuse: {form: bolt-down}}}\n";

    fn with_rear(steps: &str) -> String {
        let head = HEAD.split("wires").next().expect("a head");
        format!("{head}{ADDED}steps: [{steps}]\n")
    }

    /// An added battery is a supply like the other: whatever is connected behind its negative is connected live.
    #[test]
    fn an_added_battery_goes_on_last() {
        let last = "{battery: disconnect}, {run: main}, {run: feed}, {connect: amp}, {inspect: no-short}, {fuse: main}, {fuse: feed}";
        for (order, at) in [
            (format!("{last}, {{connect: rear}}, {{battery: reconnect}}"), 7),
            (format!("{last}, {{battery: reconnect}}, {{connect: rear}}"), 8),
        ] {
            let subject = format!("steps.{at}.connect");
            for code in ["STEP-01", "STEP-02", "STEP-03"] {
                let failed = judged(&with_rear(&order)).failed().filter(|check| check.rule.code == code).count();
                assert_eq!(failed, 0, "{code}: {order}");
            }
            assert_eq!(outcome(&with_rear(&order), "STEP-03", &subject), Outcome::Pass);
        }
        let first = last.replacen(", ", ", {connect: rear}, ", 1);
        let early = with_rear(&format!("{first}, {{battery: reconnect}}"));
        let finding = check(&early, "STEP-03", "steps.1.connect").finding.expect("it fails");
        assert_eq!(finding.title, "`rear` connected before the last connection, its negative has to go on last");
        assert_eq!(finding.also[0].place.path(), "steps.2.run");
        // What is offered is the order of the page.
        assert_eq!(
            after(&early, "STEP-03", "steps.1.connect")[0],
            with_rear(&format!("{last}, {{connect: rear}}, {{battery: reconnect}}"))
        );
    }

    /// No step takes an added battery off; where it is connected again, it was off with the other.
    #[test]
    fn an_added_battery_stays_on_when_the_other_goes_off_unless_it_is_connected_again() {
        let first = "{battery: disconnect}, {run: main}, {connect: rear}, {battery: reconnect}, {battery: disconnect}, {connect: amp}";
        let of = |more: &str| outcome(&with_rear(&format!("{first}{more}")), "STEP-03", "steps.2.connect");
        assert_eq!(of(", {battery: reconnect}"), Outcome::Fail);
        assert_eq!(of(", {connect: rear}, {battery: reconnect}"), Outcome::Pass);
    }

    #[test]
    fn a_battery_that_is_on_too_soon_is_offered_behind_the_look_and_the_strips() {
        let order = "{battery: disconnect}, {battery: reconnect}, {run: main}, {connect: amp}, {inspect: no-short}, {fuse: main}, {test: commissioning}";
        let bolted = plan(order).replace("{rating", "{form: bolt-down, rating");
        let blade = plan(order).replace("{rating", "{form: blade-large, rating");
        let first = |text: &str| after(text, "STEP-03", "steps.1.battery")[0].clone();
        assert!(first(&bolted).contains("{fuse: main}, {battery: reconnect}, {test"), "{}", first(&bolted));
        assert!(first(&blade).contains("{inspect: no-short}, {battery: reconnect}, {fuse: main}"), "{}", first(&blade));
    }
}
