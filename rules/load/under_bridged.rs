//! Of a bridged load each channel sees half.

use super::site;
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::{Bridged, Load};
use crate::quantity::{Quantity, Range, Resistance};
use crate::solve::{Job, Origin, Thing, Undecided, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-02",
    name: "bridged-load-under-minimum",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("under_bridged.md"),
    check: Subjects::Load(check),
    slips: &[
        super::Slip::Past("drivers.*.coils.*"),
        super::Slip::Rename("loads.*.coils.series|parallel", &["series", "parallel"]),
        super::Slip::Rename("loads.*.coils.*.*.series|parallel", &["series", "parallel"]),
    ],
};

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    if load.outputs.len() != 2 {
        return Err(Undecided::NotApplicable("not a bridged load"));
    }
    if load.outputs[0] == load.outputs[1] {
        return Err(Undecided::NotApplicable("one output named twice (PLAN-04 reports that)"));
    }
    let amplifier = loads::amplifier(load, job)?;
    let bridged = match amplifier.need("bridged", &amplifier.bridged)? {
        Bridged::Ratings(bridged) => bridged,
        Bridged::Word(_) => {
            return Ok(Verdict::fail(
                Finding::new(load.at("outputs"), "bridged across outputs that cannot be bridged")
                    .label("two outputs")
                    .also(amplifier.at("bridged"), "none")
                    .because("outputs that do not work against each other drive their current into each other")
                    .mend("give each output its own coils")
                    .offer(one_output(load)),
            ));
        }
    };
    loads::first_on_outputs(load, job)?;
    let both = Range::<Resistance>::point(loads::seen_ohms(load, job)?);
    let half = both * 0.5;
    let (needed, name, least, place, formula) = if let Some(least) = bridged.minimum_load {
        let least = Range::from(least);
        (
            least,
            "smallest bridged load",
            least,
            amplifier.at("bridged.minimum_load"),
            "bridged load >= smallest bridged load",
        )
    } else {
        let least = Range::from(amplifier.need("minimum_load", &amplifier.minimum_load)?);
        let formula = "bridged load >= 2 x smallest load of one channel";
        (least * 2.0, "smallest load of one channel", least, amplifier.at("minimum_load"), formula)
    };
    Ok(at_least(both, needed)
        .formula(formula)
        .given(Input::from("bridged load", both, Origin::Computed("nominal impedance of all coils on these outputs")))
        .given(Input::stated(name, least, place.clone()))
        .limit_from("as the amplifier's maker states it")
        .verdict(|_| {
            let title = format!("bridged into {both}: each channel sees {half}, made for {}", needed * 0.5);
            let finding = Finding::new(load.at("coils"), title).label(format!("{both} across both"));
            let (rejoined, one) = (site::rejoined(load, needed.low(), job), one_takes(amplifier.minimum_load, both));
            let join = (!rejoined.is_empty()).then(|| format!("join the coils so that they make {needed} or more"));
            let one_channel = one.then(|| "use one channel".to_owned());
            let ways: Vec<String> = join.into_iter().chain(one_channel).collect();
            let mend = if ways.is_empty() {
                format!("fit drivers whose coils make {needed} or more")
            } else {
                ways.join(", or ")
            };
            site::with_others(finding, load, job)
                .also(place, format!("bridged that asks for {needed}"))
                .because("two bridged channels work against each other, so each drives half of the load")
                .mend(mend)
                .offers(rejoined)
                .offers(one.then(|| one_output(load)))
        }))
}

/// Whether one channel alone takes a load; not where its maker does not say.
fn one_takes(least: Option<Quantity<Resistance>>, load: Range<Resistance>) -> bool {
    least.is_some_and(|least| load.low() >= least.base() * (1.0 - 1e-9))
}

fn one_output(load: &Thing<'_, Load>) -> Offer {
    Offer::new("use one channel").set(load.at("outputs"), format!("[{}]", load.outputs[0]))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn of(amplifier: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{{amplifier}}}}}\ndrivers: {{sub: {{coils: [4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, \
             outputs: [1, 2], coils: sub.1}}}}\n"
        );
        outcome(&plan, "LOAD-02", "loads.bass")
    }

    #[test]
    fn half_of_the_load_counts() {
        assert_eq!(of("minimum_load: 2 ohm, bridged: {}"), Outcome::Pass);
        assert_eq!(of("minimum_load: 2.01 ohm, bridged: {}"), Outcome::Fail);
        assert_eq!(of("bridged: {minimum_load: 4 ohm}"), Outcome::Pass);
        assert_eq!(of("bridged: {minimum_load: 4.01 ohm}"), Outcome::Fail);
    }

    /// Two coils of 2 ohm side by side are 1 ohm: too little for one channel of 2 ohm as well, but one after the other they
    /// make the 4 ohm that the bridge asks.
    #[test]
    fn only_a_mend_that_holds_is_named() {
        let mend = |amplifier: &str, coils: &str, joined: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{{amplifier}, bridged: {{minimum_load: 4 ohm}}}}}}\ndrivers: {{sub: {{coils: \
                 [{coils}]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1, 2], coils: {joined}}}}}\n"
            );
            check(&text, "LOAD-02", "loads.bass").finding.expect("under 4 ohm").mend
        };
        let parallel = "{parallel: [sub.1, sub.2]}";
        assert_eq!(
            mend("minimum_load: 2 ohm", "2 ohm, 2 ohm", parallel),
            "join the coils so that they make 4 ohm or more"
        );
        assert_eq!(mend("minimum_load: 2 ohm", "2 ohm", "sub.1"), "use one channel");
        assert_eq!(
            mend("minimum_load: 2 ohm", "4 ohm, 4 ohm", parallel),
            "join the coils so that they make 4 ohm or more, or use one channel"
        );
        assert_eq!(mend("minimum_load: 2 ohm", "1 ohm", "sub.1"), "fit drivers whose coils make 4 ohm or more");
    }

    #[test]
    fn one_output_named_twice_is_another_matter() {
        let plan = "plan: 1\namplifiers: {amp: {channels: 2, bridged: none}}\ndrivers: {a: {coils: [4 ohm]}}\n\
                    loads: {one: {amplifier: amp, outputs: [1, 1], coils: a}}\n";
        assert_eq!(outcome(plan, "LOAD-02", "loads.one"), Outcome::NotApplicable);
        assert_eq!(outcome(plan, "PLAN-04", "loads.one.outputs.0"), Outcome::Fail);
    }

    #[test]
    fn two_loads_on_one_pair_are_told_once() {
        let plan = "plan: 1\namplifiers: {amp: {bridged: {minimum_load: 4 ohm}}}\ndrivers: {a: {coils: [4 ohm]}, b: {coils: [4 ohm]}}\n\
                    loads: {one: {amplifier: amp, outputs: [1, 2], coils: a}, two: {amplifier: amp, outputs: [2, 1], coils: b}}\n";
        let first = check(plan, "LOAD-02", "loads.one").finding.expect("2 ohm across both");
        assert_eq!(first.also[0].place.path(), "loads.two.coils");
        assert_eq!(outcome(plan, "LOAD-02", "loads.two"), Outcome::NotApplicable);
    }

    #[test]
    fn whether_it_can_be_bridged_has_to_be_known() {
        assert_eq!(of("minimum_load: 2 ohm"), Outcome::Open);
        assert_eq!(of("minimum_load: 2 ohm, bridged: none"), Outcome::Fail);
    }

    #[test]
    fn each_channel_sees_half_and_that_is_told() {
        let text = "plan: 1\namplifiers: {amp: {minimum_load: 4 ohm, bridged: {}}}\ndrivers: {sub: {coils: [6 ohm]}}\n\
                    loads: {bass: {amplifier: amp, outputs: [1, 2], coils: sub.1}}\n";
        let title = check(text, "LOAD-02", "loads.bass").finding.expect("it fails").title;
        assert_eq!(title, "bridged into 6 ohm: each channel sees 3 ohm, made for 4 ohm");
    }
}
