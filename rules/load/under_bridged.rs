//! Of a bridged load each channel sees half, and the two are neighbours that are both fed.

use super::site;
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, Verdict, at_least};
use crate::plan::{Amplifier, Bridged, BridgedRatings, FedAt, Load};
use crate::quantity::{Quantity, Range, Resistance};
use crate::rules::signal::site::{input_number, reaching};
use crate::solve::ratings::{self, Ratings};
use crate::solve::{Decided, Job, Origin, Thing, Undecided, all, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-02",
    name: "bridged-load-under-minimum",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("under_bridged.md"),
    check: Subjects::Load(check),
    slips: &[
        super::Slip::Say("loads.*.outputs", &["[1, 3]", "[2, 3]", "[2, 4]"]),
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
    if let Some(finding) = in_two_sections(load, amplifier)? {
        return Ok(Verdict::fail(finding));
    }
    let ratings = ratings::of(load, amplifier)?;
    let bridged = match ratings.bridged.ok_or_else(|| Undecided::need(ratings.at("bridged")))? {
        Bridged::Ratings(bridged) => bridged,
        Bridged::Word(_) => {
            return Ok(Verdict::fail(
                Finding::new(load.at("outputs"), "bridged across outputs that cannot be bridged")
                    .label("two outputs")
                    .also(ratings.at("bridged"), "none")
                    .because("outputs that do not work against each other drive their current into each other")
                    .mend("give each output its own coils")
                    .offer(one_output(load)),
            ));
        }
    };
    loads::first_on_outputs(load, job)?;
    if let Some(finding) = apart(load, &ratings) {
        return Ok(Verdict::fail(finding));
    }
    let verdict = under(load, &ratings, bridged, job)?;
    match fed(load, &ratings, bridged, job) {
        _ if verdict.finding.is_some() => Ok(verdict),
        Ok(None) => Ok(verdict),
        Ok(Some(finding)) => Ok(Verdict::fail(finding)),
        Err(open) => Err(open),
    }
}

/// One output of each of two sections.
fn in_two_sections(load: &Thing<'_, Load>, amplifier: &Thing<'_, Amplifier>) -> Decided<Option<Finding>> {
    let own = all(load.outputs.iter().map(|output| ratings::of_output(amplifier, *output)))?;
    if own[0].name() == own[1].name() {
        return Ok(None);
    }
    if amplifier.channels.is_some_and(|channels| load.outputs.iter().any(|output| !(1..=channels).contains(output))) {
        return Err(Undecided::NotApplicable("no such output (PLAN-01 reports that)"));
    }
    let title = format!("bridged across outputs {} and {}, which are not alike", load.outputs[0], load.outputs[1]);
    let finding = Finding::new(load.at("outputs"), title).label("one of each");
    let sections = own.iter().filter_map(|ratings| Some((ratings.at("outputs"), ratings.name()?)));
    let finding = sections.fold(finding, |finding, (place, name)| finding.also(place, format!("section `{name}`")));
    Ok(Some(
        finding
            .because("outputs that are rated differently do not work against each other: one drives its current into the other")
            .mend("bridge a pair of one section, or give each output its own coils")
            .offer(one_output(load)),
    ))
}

/// Outputs that are no pair: makers join neighbours, the first of a section with its second, the third with the fourth
/// (common practice, no published source).
fn apart(load: &Thing<'_, Load>, ratings: &Ratings<'_>) -> Option<Finding> {
    let (low, high) = (load.outputs[0].min(load.outputs[1]), load.outputs[0].max(load.outputs[1]));
    let is_first = ratings.number_of(low).is_multiple_of(2);
    let is_pair = is_first && high == low + 1;
    let first = if is_first { low } else { low.saturating_sub(1) };
    let (first, second) = (first.max(1), first.max(1).saturating_add(1));
    (!is_pair).then(|| {
        Finding::new(load.at("outputs"), format!("bridged across outputs {low} and {high}, which are no pair"))
            .label("no pair")
            .because("only the two outputs of a pair work against each other; across others little is heard, or one drives its current into the other")
            .mend("bridge a pair as it stands on the amplifier: 1 and 2, or 3 and 4")
            .offer(Offer::new(format!("bridge {first} and {second}")).set(load.at("outputs"), format!("[{first}, {second}]")))
    })
}

/// A pair of which one input is left without a signal. Inputs that carry no number are not told apart.
fn fed(
    load: &Thing<'_, Load>,
    ratings: &Ratings<'_>,
    bridged: &BridgedRatings,
    job: &Job<'_>,
) -> Decided<Option<Finding>> {
    let signals = reaching(ratings.amplifier(), job);
    if signals.iter().any(|signal| input_number(signal).is_none()) {
        return Ok(None);
    }
    let first = load.outputs[0].min(load.outputs[1]);
    let fed = |output: u8| signals.iter().find(|signal| input_number(signal) == Some(output));
    let (only, empty, is_first) = match (fed(first), fed(first.saturating_add(1))) {
        (Some(only), None) => (only, first.saturating_add(1), true),
        (None, Some(only)) => (only, first, false),
        _ => return Ok(None),
    };
    let place = ratings.at("bridged.fed_at");
    let wanted = bridged.fed_at.ok_or_else(|| Undecided::need(place.clone()))?;
    if wanted == FedAt::Either || (wanted == FedAt::First && is_first) {
        return Ok(None);
    }
    let of = if wanted == FedAt::Both { "both inputs" } else { "its first input" };
    Ok(Some(
        Finding::new(load.at("outputs"), format!("no signal at input {empty} of a bridged pair that wants {of} fed"))
            .label("half of it plays nothing")
            .also(only.at("to"), "the only signal")
            .also(place, of)
            .because("the output without a signal stands still while the other swings: half the voltage, a quarter of the power")
            .mend(format!("feed input {empty} too, from the other channel or with a splitter")),
    ))
}

/// A bridged load that is smaller than the amplifier takes.
fn under(load: &Thing<'_, Load>, ratings: &Ratings<'_>, bridged: &BridgedRatings, job: &Job<'_>) -> Judged {
    let both = Range::<Resistance>::point(loads::seen_ohms(load, job)?);
    let half = both * 0.5;
    let (needed, name, least, place, formula) = if let Some(least) = bridged.minimum_load {
        let least = Range::from(least);
        (
            least,
            "smallest bridged load",
            least,
            ratings.at("bridged.minimum_load"),
            "bridged load >= smallest bridged load",
        )
    } else {
        let place = ratings.at("minimum_load");
        let least = Range::from(ratings.minimum_load.ok_or_else(|| Undecided::need(place.clone()))?);
        let formula = "bridged load >= 2 x smallest load of one channel";
        (least * 2.0, "smallest load of one channel", least, place, formula)
    };
    Ok(at_least(both, needed)
        .formula(formula)
        .given(Input::from("bridged load", both, Origin::Computed("nominal impedance of all coils on these outputs")))
        .given(Input::stated(name, least, place.clone()))
        .limit_from("as the amplifier's maker states it")
        .verdict(|_| {
            let title = format!("bridged into {both}: each channel sees {half}, made for {}", needed * 0.5);
            let finding = Finding::new(load.at("coils"), title).label(format!("{both} across both"));
            let (rejoined, one) = (site::rejoined(load, needed.low(), job), one_takes(ratings.minimum_load, both));
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
    use crate::rules::trial::{after, check, outcome};

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

    /// Makers join neighbours: 1 and 2, 3 and 4 (common practice, no published source).
    #[test]
    fn outputs_that_are_no_pair_are_not_bridged() {
        let text = |outputs: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{channels: 4, bridged: {{minimum_load: 4 ohm}}}}}}\ndrivers: {{sub: {{coils: [4 ohm]}}}}\n\
                 loads: {{bass: {{amplifier: amp, outputs: [{outputs}], coils: sub.1}}}}\n"
            )
        };
        for (outputs, expected) in [
            ("1, 2", Outcome::Pass),
            ("4, 3", Outcome::Pass),
            ("1, 3", Outcome::Fail),
            ("2, 3", Outcome::Fail),
            ("4, 5", Outcome::Fail),
            ("1, 4", Outcome::Fail),
        ] {
            assert_eq!(outcome(&text(outputs), "LOAD-02", "loads.bass"), expected, "{outputs}");
        }
        let after = &after(&text("4, 2"), "LOAD-02", "loads.bass")[0];
        assert_eq!(outcome(after, "LOAD-02", "loads.bass"), Outcome::Pass, "{after}");
    }

    /// Some amplifiers take the signal of a bridged pair from one input, some from both: its maker's leaflet says which.
    #[test]
    fn a_bridged_pair_with_one_input_fed_asks_which_its_maker_wants() {
        let of = |fed_at: &str, inputs: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{channels: 4, bridged: {{minimum_load: 4 ohm{fed_at}}}}}}}\ndrivers: {{sub: {{coils: \
                 [4 ohm]}}}}\nsignals: {{{inputs}}}\nloads: {{bass: {{amplifier: amp, outputs: [3, 4], coils: sub.1}}}}\n"
            );
            check(&text, "LOAD-02", "loads.bass")
        };
        let (three, four) = ("a: {to: amp.line-3}", "b: {to: amp.line-4}");
        let both = format!("{three}, {four}");
        let open = of("", three);
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "amplifiers.amp.bridged.fed_at"));
        for (word, input, expected) in [
            ("", both.as_str(), Outcome::Pass),
            ("", "a: {to: amp.line-left}", Outcome::Pass),
            ("", "", Outcome::Pass),
            (", fed_at: both", both.as_str(), Outcome::Pass),
            (", fed_at: both", three, Outcome::Fail),
            (", fed_at: first", three, Outcome::Pass),
            (", fed_at: first", four, Outcome::Fail),
            (", fed_at: either", four, Outcome::Pass),
        ] {
            assert_eq!(of(word, input).outcome, expected, "{word} {input}");
        }
    }

    /// Outputs 1 and 2 are alike, 3 stands alone, and 4 and 5 are alike again: the pairs are counted in each section.
    #[test]
    fn a_pair_lies_in_one_section() {
        let text = |outputs: &str| {
            format!(
                "plan: 1\namplifiers: {{amp: {{channels: 5, bridged: {{minimum_load: 4 ohm}}, sections: {{bass: {{outputs: [3]}}, rear: \
                 {{outputs: [4, 5], bridged: {{minimum_load: 8 ohm}}}}}}}}}}\ndrivers: {{sub: {{coils: [4 ohm]}}}}\nloads: \
                 {{bass: {{amplifier: amp, outputs: [{outputs}], coils: sub.1}}}}\n"
            )
        };
        let of = |outputs: &str| check(&text(outputs), "LOAD-02", "loads.bass");
        assert_eq!(of("1, 2").outcome, Outcome::Pass);
        let under = of("4, 5").finding.expect("made for 8 ohm");
        assert_eq!(under.title, "bridged into 4 ohm: each channel sees 2 ohm, made for 4 ohm");
        assert_eq!(under.also[0].place.path(), "amplifiers.amp.sections.rear.bridged.minimum_load");
        let apart = of("3, 4").finding.expect("one of each");
        assert_eq!(apart.title, "bridged across outputs 3 and 4, which are not alike");
        assert_eq!(
            apart.also.iter().map(|also| also.text.as_str()).collect::<Vec<_>>(),
            ["section `bass`", "section `rear`"]
        );
        assert_eq!(
            outcome(&after(&text("2, 3"), "LOAD-02", "loads.bass")[0], "LOAD-02", "loads.bass"),
            Outcome::NotApplicable
        );
        assert_eq!(of("5, 6").outcome, Outcome::NotApplicable, "PLAN-01 tells that there is no output 6");
        let unknown = text("1, 2").replace("outputs: [3]", "");
        assert_eq!(check(&unknown, "LOAD-02", "loads.bass").needs[0].path(), "amplifiers.amp.sections.bass.outputs");
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

    #[test]
    fn a_load_that_is_too_small_is_told_before_an_input_without_a_signal() {
        let title = |fed_at: &str, minimum: &str| {
            let text = format!(
                "plan: 1\namplifiers: {{amp: {{channels: 4, bridged: {{minimum_load: {minimum}{fed_at}}}}}}}\ndrivers: {{sub: {{coils: \
                 [4 ohm]}}}}\nsignals: {{a: {{to: amp.line-3}}}}\nloads: {{bass: {{amplifier: amp, outputs: [3, 4], coils: sub.1}}}}\n"
            );
            check(&text, "LOAD-02", "loads.bass").finding.expect("it fails").title
        };
        assert!(title(", fed_at: both", "8 ohm").starts_with("bridged into 4 ohm"));
        assert!(title("", "8 ohm").starts_with("bridged into 4 ohm"));
        assert_eq!(
            title(", fed_at: both", "4 ohm"),
            "no signal at input 4 of a bridged pair that wants both inputs fed"
        );
    }

    /// 3 goes with 4.
    #[test]
    fn the_pair_of_the_lower_output_is_offered() {
        let text = "plan: 1\namplifiers: {amp: {channels: 6, bridged: {minimum_load: 4 ohm}}}\ndrivers: {sub: {coils: [4 ohm]}}\n\
                    loads: {bass: {amplifier: amp, outputs: [3, 5], coils: sub.1}}\n";
        assert!(after(text, "LOAD-02", "loads.bass")[0].contains("outputs: [3, 4]"));
    }
}
