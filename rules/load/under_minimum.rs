//! A load smaller than the amplifier is made for draws more current than its output stage stands.

use super::site;
use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_least};
use crate::plan::Load;
use crate::quantity::{Range, Resistance};
use crate::solve::{Job, Origin, Thing, Undecided, loads, ratings};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-01",
    name: "load-under-minimum",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("under_minimum.md"),
    check: Subjects::Load(check),
    slips: &[
        super::Slip::Past("drivers.*.coils.*"),
        super::Slip::Rename("loads.*.coils.series|parallel", &["series", "parallel"]),
        super::Slip::Rename("loads.*.coils.*.*.series|parallel", &["series", "parallel"]),
    ],
};

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    if load.outputs.len() > 1 {
        return Err(Undecided::NotApplicable("a bridged load (LOAD-02 judges that)"));
    }
    let amplifier = loads::amplifier(load, job)?;
    loads::first_on_outputs(load, job)?;
    let seen = Range::<Resistance>::point(loads::seen_ohms(load, job)?);
    let ratings = ratings::of(load, amplifier)?;
    let place = ratings.at("minimum_load");
    let least = ratings.minimum_load.ok_or_else(|| Undecided::need(place.clone()))?;
    Ok(at_least(seen, least)
        .formula("load >= smallest load")
        .given(Input::from("load", seen, Origin::Computed("nominal impedance of all coils on this output")))
        .given(Input::stated("smallest load", least, place.clone()))
        .limit_from("as the amplifier's maker states it")
        .verdict(|is| {
            let finding = Finding::new(load.at("coils"), format!("{seen} on an output made for {least} and more"))
                .label(format!("{seen} together"));
            site::with_others(finding, load, job)
                .also(place, format!("{} at least", is.limit()))
                .because("current rises as the load falls; the output stage overheats, cuts out or fails")
                .mend(format!("join the coils so that they make {least} or more, or take an amplifier made for {seen}"))
                .offers(site::rejoined(load, least.base(), job))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, outcome};

    fn of(amplifier: &str, loads: &str) -> Outcome {
        let plan = format!(
            "plan: 1\namplifiers: {{amp: {{{amplifier}}}}}\ndrivers: {{sub: {{coils: [4 ohm, 4 ohm]}}}}\nloads:\n{loads}"
        );
        outcome(&plan, "LOAD-01", "loads.bass")
    }

    #[test]
    fn at_the_minimum_passes_and_under_it_fails() {
        let load = "  bass: {amplifier: amp, outputs: [1], coils: {parallel: [sub.1, sub.2]}}\n";
        assert_eq!(of("minimum_load: 2 ohm", load), Outcome::Pass);
        assert_eq!(of("minimum_load: 2.01 ohm", load), Outcome::Fail);
        assert_eq!(of("", load), Outcome::Open);
    }

    /// Four channels made for 4 ohm beside one that is made for 1 ohm.
    #[test]
    fn a_section_has_a_smallest_load_of_its_own() {
        let amplifier = |bass: &str| format!("minimum_load: 4 ohm, sections: {{bass: {{outputs: [5]{bass}}}}}");
        let load = |output: u8| {
            format!("  bass: {{amplifier: amp, outputs: [{output}], coils: {{parallel: [sub.1, sub.2]}}}}\n")
        };
        assert_eq!(of(&amplifier(", minimum_load: 1 ohm"), &load(5)), Outcome::Pass);
        assert_eq!(of(&amplifier(", minimum_load: 1 ohm"), &load(4)), Outcome::Fail);
        assert_eq!(of(&amplifier(", minimum_load: 2.01 ohm"), &load(5)), Outcome::Fail);
        assert_eq!(of(&amplifier(""), &load(5)), Outcome::Open, "what is stated of the others says nothing of it");
    }

    #[test]
    fn a_tweeter_behind_a_crossover_does_not_halve_the_load() {
        let set = |kinds: (&str, &str)| {
            let plan = format!(
                "plan: 1\namplifiers: {{amp: {{minimum_load: 4 ohm}}}}\ndrivers: {{low: {{kind: {}, coils: [4 ohm]}}, high: \
                 {{kind: {}, coils: [4 ohm]}}}}\nloads: {{left: {{amplifier: amp, outputs: [1], coils: {{parallel: [low, high]}}}}}}\n",
                kinds.0, kinds.1
            );
            outcome(&plan, "LOAD-01", "loads.left")
        };
        assert_eq!(set(("woofer", "tweeter")), Outcome::Pass);
        assert_eq!(set(("woofer", "midrange")), Outcome::Pass);
        // Nothing parts these.
        assert_eq!(set(("tweeter", "tweeter")), Outcome::Fail);
        assert_eq!(set(("subwoofer", "woofer")), Outcome::Fail);
    }

    #[test]
    fn two_loads_on_one_output_are_in_parallel() {
        let loads = "  bass: {amplifier: amp, outputs: [1], coils: sub.1}\n  two: {amplifier: amp, outputs: [1], coils: sub.2}\n";
        assert_eq!(of("minimum_load: 4 ohm", loads), Outcome::Fail);
        assert_eq!(
            of(
                "minimum_load: 4 ohm",
                &loads.replace("two: {amplifier: amp, outputs: [1]", "two: {amplifier: amp, outputs: [2]")
            ),
            Outcome::Pass
        );
    }

    #[test]
    fn bridged_outputs_are_for_another_rule() {
        let load = "  bass: {amplifier: amp, outputs: [1, 2], coils: {parallel: [sub.1, sub.2]}}\n";
        assert_eq!(of("minimum_load: 4 ohm", load), Outcome::NotApplicable);
    }

    /// Four coils of 4 ohm make 1, 4 or 16 ohm.
    #[test]
    fn every_even_way_to_join_the_coils_that_makes_enough_is_offered() {
        let text = "plan: 1\namplifiers: {amp: {minimum_load: 4 ohm}}\ndrivers: {a: {coils: [4 ohm, 4 ohm]}, b: {coils: [4 ohm, 4 ohm]}}\n\
                    loads: {bass: {amplifier: amp, outputs: [1], coils: {parallel: [a.1, a.2, b.1, b.2]}}}\n";
        let (all, four, sixteen) = (
            "{parallel: [a.1, a.2, b.1, b.2]}",
            "{parallel: [{series: [a.1, a.2]}, {series: [b.1, b.2]}]}",
            "{series: [a.1, a.2, b.1, b.2]}",
        );
        let ways = |from: &str, to: [&str; 2]| to.map(|way| text.replace(all, from).replace(from, way));
        assert_eq!(after(text, "LOAD-01", "loads.bass"), ways(all, [four, sixteen]));
        let made_for_16 = text.replace("minimum_load: 4 ohm", "minimum_load: 16 ohm").replace(all, four);
        assert_eq!(after(&made_for_16, "LOAD-01", "loads.bass"), [made_for_16.replace(four, sixteen)]);
    }
}
