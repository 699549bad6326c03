//! Another arrangement of the same coils gets more out of the amplifier.

use super::unequal::LARGEST_RATIO;
use crate::judge::{Finding, Input, Judged, Outcome, Rule, Severity, Subjects, at_least};
use crate::plan::{Amplifier, Load};
use crate::quantity::{Power, Range, Resistance};
use crate::solve::arrangements::{self, Arrangement, MOST_COILS};
use crate::solve::{Decided, Job, Origin, Thing, Undecided, coils, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-08",
    name: "better-arrangement",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("better.md"),
    check: Subjects::Load(check),
};

/// The least gain worth the work: 1 dB, about the least change of level that is heard.
const WORTH: f64 = 1.25;
/// How many arrangements a finding lists.
const LISTED: usize = 3;

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    let amplifier = loads::amplifier(load, job)?;
    let present = present(load, job, amplifier)?;
    let better = better(load, job, amplifier)?;
    let most = better.iter().map(|found| found.power.low()).fold(present.power.low(), f64::max);
    let limit = Range::<Power>::point(most / WORTH);
    let is = at_least(present.power, limit)
        .formula("the smaller of rated power and what the coils take; the same of the best arrangement / 1.25")
        .given(Input::from("load", present.ohms, Origin::Computed("coils in series and parallel")))
        .given(Input::from("power of the best", Range::<Power>::point(most), Origin::Computed("every arrangement")))
        .limit_from("common practice, no published source (1 dB)");
    if is.outcome() == Outcome::Open {
        // Above the largest rated load only bounds are known.
        return Err(Undecided::need(amplifier.at(ratings(load))));
    }
    Ok(is.verdict(|_| {
        let title = format!("{} where these coils could get {}", present.power, Range::<Power>::point(most));
        let worth = better.iter().filter(|found| found.power.low() >= present.power.high() * WORTH);
        let list: Vec<String> = worth.take(LISTED).map(Found::words).collect();
        Finding::new(load.at("coils"), title)
            .label(format!("{} together", present.ohms))
            .also(amplifier.at(ratings(load)), "rated for more into another load")
            .because("the amplifier is made and rated for more into another load, at no cost but other joints")
            .mend(format!("join the coils as {}", list.join(", or as ")))
    }))
}

/// Where the ratings stand that hold for a load.
fn ratings(load: &Load) -> &'static str {
    if load.outputs.len() == 2 { "bridged.rated" } else { "rated" }
}

/// An arrangement with the power that it gets.
struct Found {
    coils: String,
    ohms: Range<Resistance>,
    power: Range<Power>,
    rated: Range<Power>,
}

impl Found {
    fn of(is: &Arrangement, rated: Range<Power>) -> Self {
        let power = rated.min(Range::point(is.takes()));
        Self { coils: is.coils.to_string(), ohms: Range::point(is.ohms), power, rated }
    }

    fn words(&self) -> String {
        let held = if self.rated.low() > self.power.low() { ", which a gain target must hold it to" } else { "" };
        format!("{} ({}, {}{held})", self.coils, self.ohms, self.power)
    }
}

/// What the plan's own arrangement gets, where nothing else is wrong with it.
fn present(load: &Thing<'_, Load>, job: &Job<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Found> {
    let tree = loads::tree(load)?;
    let found = tree.each();
    if found.len() < 2 || found.len() > MOST_COILS {
        return Err(Undecided::NotApplicable("one coil only, or more than eight"));
    }
    let kind = |driver: &str| job.plan.drivers.get(driver).and_then(|driver| driver.kind);
    if found.iter().any(|(_, coil)| kind(&coil.driver) != kind(&found[0].1.driver)) {
        return Err(Undecided::NotApplicable("drivers of different kinds, parted by a crossover"));
    }
    if job.loads.iter().filter(|other| loads::same_outputs(load, other)).count() > 1 {
        return Err(Undecided::NotApplicable("several loads on the same outputs"));
    }
    let ohms = loads::own_ohms(load, job)?;
    if ohms < loads::least_ohms(load, amplifier)? * (1.0 - 1e-9) {
        return Err(Undecided::NotApplicable("under the smallest load (LOAD-01 or LOAD-02 reports that)"));
    }
    let rated = loads::power(load, job)?;
    let units = loads::units(job, tree)?;
    let work: Vec<f64> =
        coils::shares(job, tree)?.iter().zip(&units).map(|(share, unit)| share / unit.rating).collect();
    let (hardest, least) =
        (work.iter().copied().fold(0.0, f64::max), work.iter().copied().fold(f64::INFINITY, f64::min));
    if hardest > least * LARGEST_RATIO * (1.0 + 1e-9) {
        return Err(Undecided::NotApplicable("unequal shares (LOAD-06 reports that)"));
    }
    Ok(Found::of(&Arrangement { coils: tree.clone(), ohms, hardest, least }, rated))
}

/// Every even arrangement that the amplifier is made and rated for, best first; of equal power the larger load.
fn better(load: &Thing<'_, Load>, job: &Job<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Vec<Found>> {
    let rated = coils::ratings(amplifier, load);
    let smallest_rated = rated.iter().map(|point| point.load.base()).fold(f64::INFINITY, f64::min);
    let smallest = loads::least_ohms(load, amplifier)?.max(smallest_rated);
    let units = loads::units(job, loads::tree(load)?)?;
    let mut found: Vec<Found> = arrangements::of(&units, LARGEST_RATIO)
        .iter()
        .filter(|is| is.ohms >= smallest * (1.0 - 1e-9))
        .filter_map(|is| Some(Found::of(is, coils::rated_power(rated, is.ohms)?)))
        .collect();
    let order = |found: &Found| (found.power.low(), found.ohms.low());
    found.sort_by(|one, other| order(other).partial_cmp(&order(one)).unwrap_or(std::cmp::Ordering::Equal));
    Ok(found)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(amplifier: &str, rms: &str, coils: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{{amplifier}}}}}\ndrivers: {{a: {{{rms} coils: [4 ohm, 4 ohm]}}, b: {{{rms} coils: \
             [4 ohm, 4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, outputs: [1], coils: {coils}}}}}\n"
        )
    }

    const SERIES: &str = "{series: [a.1, a.2]}";

    fn rated(at_8: &str, least: &str) -> String {
        format!("minimum_load: {least}, rated: [{{load: 8 ohm, power: {at_8}}}, {{load: 2 ohm, power: 500 W}}]")
    }

    #[test]
    fn one_decibel_less_than_the_best_passes_and_a_watt_less_fails() {
        assert_eq!(
            outcome(&plan(&rated("400 W", "2 ohm"), "rms: 500 W,", SERIES), "LOAD-08", "loads.bass"),
            Outcome::Pass
        );
        assert_eq!(
            outcome(&plan(&rated("399 W", "2 ohm"), "rms: 500 W,", SERIES), "LOAD-08", "loads.bass"),
            Outcome::Fail
        );
    }

    #[test]
    fn what_the_amplifier_is_not_made_for_and_what_the_coils_do_not_take_counts_for_nothing() {
        let made_for_4 = plan(&rated("200 W", "4 ohm"), "rms: 500 W,", SERIES);
        assert_eq!(outcome(&made_for_4, "LOAD-08", "loads.bass"), Outcome::Pass);
        let weak = |rms: &str| plan(&rated("200 W", "2 ohm"), rms, SERIES);
        assert_eq!(outcome(&weak("rms: 250 W,"), "LOAD-08", "loads.bass"), Outcome::Pass);
        assert_eq!(outcome(&weak("rms: 251 W,"), "LOAD-08", "loads.bass"), Outcome::Fail);
    }

    #[test]
    fn the_better_ones_are_listed_best_first() {
        let sixteen = "{series: [a.1, a.2, b.1, b.2]}";
        let amplifier = "minimum_load: 1 ohm, rated: [{load: 16 ohm, power: 100 W}, {load: 4 ohm, power: 300 W}, \
            {load: 1 ohm, power: 900 W}]";
        let mend = check(&plan(amplifier, "rms: 400 W,", sixteen), "LOAD-08", "loads.bass").finding.unwrap().mend;
        assert_eq!(
            mend,
            "join the coils as {parallel: [a.1, a.2, b.1, b.2]} (1 ohm, 800 W, which a gain target must hold it to), or \
             as {parallel: [{series: [a.1, a.2]}, {series: [b.1, b.2]}]} (4 ohm, 300 W)"
        );
    }

    #[test]
    fn bridged_outputs_have_a_smallest_load_of_their_own() {
        let bridged = "minimum_load: 2 ohm, rated: [{load: 2 ohm, power: 90 W}], bridged: {rated: [{load: 8 ohm, power: \
            200 W}, {load: 2 ohm, power: 500 W}]}";
        let text = plan(bridged, "rms: 500 W,", SERIES).replace("[1]", "[1, 2]");
        assert_eq!(outcome(&text, "LOAD-08", "loads.bass"), Outcome::Pass);
        let made_for_2 = text.replace("bridged: {", "bridged: {minimum_load: 2 ohm, ");
        assert_eq!(outcome(&made_for_2, "LOAD-08", "loads.bass"), Outcome::Fail);
    }

    #[test]
    fn missing_facts_leave_it_open() {
        for (text, need) in [
            (plan(&rated("200 W", "2 ohm"), "", SERIES), "drivers.a.rms"),
            (plan("rated: [{load: 8 ohm, power: 90 W}]", "rms: 500 W,", SERIES), "amplifiers.amp.minimum_load"),
            // Into 16 ohm between 75 W and 300 W, where the best gives 300 W.
            (
                plan(
                    "minimum_load: 4 ohm, rated: [{load: 4 ohm, power: 300 W}]",
                    "rms: 500 W,",
                    "{series: [a.1, a.2, b.1, b.2]}",
                ),
                "amplifiers.amp.rated",
            ),
        ] {
            let check = check(&text, "LOAD-08", "loads.bass");
            assert_eq!(
                (check.outcome, check.needs.first().map(crate::solve::Place::path)),
                (Outcome::Open, Some(need.to_owned()))
            );
        }
    }

    #[test]
    fn where_something_else_is_wrong_that_is_told_first() {
        let of = |coils: &str| outcome(&plan(&rated("200 W", "2 ohm"), "rms: 500 W,", coils), "LOAD-08", "loads.bass");
        assert_eq!(of("a.1"), Outcome::NotApplicable);
        assert_eq!(of("{parallel: [a.1, a.2, b.1]}"), Outcome::NotApplicable);
        assert_eq!(of("{series: [a.1, {parallel: [a.2, b.1]}]}"), Outcome::NotApplicable);
    }
}
