//! Negative comes off first and goes on last.

use super::order::{joins, later, place, puts_on, steps, takes_off, whole};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{BatteryStep, Step};
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
    let battery = steps.iter().enumerate().filter(|(_, step)| takes_off(step) || puts_on(step));
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
    if !puts_on(&steps[at]) {
        return Verdict::pass();
    }
    let end = steps[at..].iter().position(takes_off).map_or(steps.len(), |more| at + more);
    let late = (at..end).find(|more| joins(job.plan, &steps[*more]));
    let Some(late) = late else { return Verdict::pass() };
    Verdict::fail(
        Finding::new(here(), "negative on before the last connection, it has to go on last")
            .label("the battery is on from here")
            .also(place(late, &steps[late]), "this is connected later")
            .because("with negative on, every connection after it is made on a live system")
            .mend("put negative on after the last wire, ground and terminal")
            .offers(later("battery on later", at, steps)),
    )
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, check, outcome};

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
        let gear = "batteries: {rear: {}}\nisolators: {relay: {}}\nblocks: {split: {outputs: {one: {}}}}\nconverters: {loc: {}}\n\
                    sources: {dsp: {kind: processor}}\n";
        for name in ["amp", "rear", "relay", "split", "loc", "dsp"] {
            let text = |order: &str| plan(order) + gear;
            let early = text(&format!("{{battery: disconnect}}, {{battery: reconnect}}, {{connect: {name}}}"));
            let late = text(&format!("{{battery: disconnect}}, {{connect: {name}}}, {{battery: reconnect}}"));
            assert_eq!(after(&early, "STEP-03", "steps.1.battery"), [late], "{name}");
        }
        let trim = plan("{battery: disconnect}, {battery: reconnect}, {connect: trim}");
        assert_eq!(outcome(&trim, "STEP-03", "steps.1.battery"), Outcome::Pass);
    }
}
