//! A meter on the speaker lead tells how the coils are really joined.

use super::site;
use crate::judge::{Finding, Input, Judged, Outcome, Rule, Severity, Subjects, at_least, at_most};
use crate::plan::{Coils, Load};
use crate::quantity::{Quantity, Range, Resistance};
use crate::solve::coils::dc_resistance;
use crate::solve::{Job, Place, Thing};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PROOF-03",
    name: "measured-coils",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("coils.md"),
    check: Subjects::Load(check),
    slips: &[super::Slip::Past("measured.loads.*.dc_resistance")],
};

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    let measured = job.plan.measured.as_ref().and_then(|measured| measured.loads.get(load.name));
    let reading = site::reading(measured.and_then(|measured| measured.dc_resistance))?;
    let expected = dc_resistance(job, load)?;
    let fits = fitting(expected.range, job);
    let place = Place::of(format!("measured.loads.{}.dc_resistance", load.name));
    let low = at_least(reading, fits.at_low());
    let comparison = if low.outcome() == Outcome::Pass { at_most(reading, fits.at_high()) } else { low };
    let tolerance = job.house.limits.coil_tolerance;
    Ok(comparison
        .formula("reading within what the coils as joined and their lead have, give or take the tolerance of a meter")
        .given(Input::stated("reading", reading, place.clone()))
        .given(Input::known("predicted", &expected))
        .given(Input::limit("tolerance", &tolerance))
        .given(Input::limit("or this share of the prediction, if that is more", &job.house.limits.coil_tolerance_share))
        .limit_from(job.house.assumptions.coil_dc.source)
        .verdict(|_| {
            let title = format!("`{}` reads {reading}, {} is predicted as wired", load.name, expected.range);
            let finding = Finding::new(place, title)
                .also(load.at("coils"), "as planned")
                .because("another resistance is another load: the amplifier gives less, or more than it can stand");
            match other(reading, load, job) {
                Some(words) => finding.label(format!("what {words} would read")).mend(
                    "join the coils as planned; if this is what was meant, write it into the plan and judge it again",
                ),
                None if reading.base() > fits.high() => finding
                    .label("more than predicted")
                    .mend("take the lead off and measure coil by coil: a coil is open, left out or joined otherwise"),
                None => finding.label("less than predicted").mend(
                    "take the lead off and measure coil by coil: strands touch, or a coil is burnt or joined otherwise",
                ),
            }
        }))
}

/// What may be read where this is predicted.
pub fn fitting(predicted: Range<Resistance>, job: &Job<'_>) -> Range<Resistance> {
    let limits = &job.house.limits;
    let slack = |ohms: f64| limits.coil_tolerance.base().max(limits.coil_tolerance_share.base() * ohms);
    let (low, high) = (predicted.low(), predicted.high());
    Range::new((low - slack(low)).max(0.0), high + slack(high))
}

/// With more coils than this on one load nobody would recognise the way they were joined by its resistance.
const MOST_COILS: usize = 16;

/// The one simple way of joining the same coils that fits a reading, in words. `None` where none does, or several.
fn other(reading: Quantity<Resistance>, load: &Thing<'_, Load>, job: &Job<'_>) -> Option<String> {
    let coils = load.coils.as_ref()?;
    let each: Vec<Coils> = coils.coils().into_iter().map(|coil| Coils::One(coil.clone())).collect();
    if !(2..=MOST_COILS).contains(&each.len()) {
        return None;
    }
    let fits = |coils: Coils| {
        let changed = Load { coils: Some(coils), ..load.plan().clone() };
        let predicted = dc_resistance(job, &Thing::new("loads", load.name, &changed));
        predicted.is_ok_and(|is| {
            let fits = fitting(is.range, job);
            (fits.low()..=fits.high()).contains(&reading.base())
        })
    };
    let missing: Vec<&Coils> =
        (0..each.len()).filter(|at| without(coils, *at).is_some_and(fits)).map(|at| &each[at]).collect();
    let mut found = Vec::new();
    if fits(Coils::Parallel(each.clone())) {
        found.push("all coils in parallel".to_owned());
    }
    if fits(Coils::Series(each.clone())) {
        found.push("all coils in series".to_owned());
    }
    match missing.as_slice() {
        [] => {}
        [Coils::One(coil)] => found.push(format!("the load without {coil}")),
        _ => found.push("the load with one coil missing".to_owned()),
    }
    (found.len() == 1).then(|| found.remove(0))
}

/// A tree of coils without one of them, counted from the front; `None` where nothing is left.
fn without(coils: &Coils, which: usize) -> Option<Coils> {
    fn rest(parts: &[Coils], which: usize) -> Vec<Coils> {
        let mut first = 0;
        let keep = |part: &Coils| {
            let (here, count) = (first, part.each().len());
            first += count;
            if (here..here + count).contains(&which) { without(part, which - here) } else { Some(part.clone()) }
        };
        parts.iter().filter_map(keep).collect()
    }
    let some = |parts: Vec<Coils>, join: fn(Vec<Coils>) -> Coils| (!parts.is_empty()).then(|| join(parts));
    match coils {
        Coils::One(_) => None,
        Coils::Series(parts) => some(rest(parts, which), Coils::Series),
        Coils::Parallel(parts) => some(rest(parts, which), Coils::Parallel),
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::{Check, Outcome};
    use crate::rules::trial::check;

    fn plan(coils: &str, reading: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\ndrivers: {{sub: {{coils: [4 ohm, 4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, \
             outputs: [1], coils: {coils}, lead: {{size: 12 AWG, length: 1.5 m, conductor: copper}}}}}}\n\
             measured: {{loads: {{bass: {{{reading}}}}}}}\n"
        )
    }

    fn of(coils: &str, reading: &str) -> Check {
        check(&plan(coils, &format!("dc_resistance: {reading}")), "PROOF-03", "loads.bass")
    }

    const PARALLEL: &str = "{parallel: [sub.1, sub.2]}";

    /// 2 ohm nominal are 1.4 to 1.9 ohm, the lead 0.016 ohm: 1.416 to 1.917, and 0.1 ohm for the meter: 1.316 to 2.017.
    #[test]
    fn seven_to_nine_and_a_half_tenths_of_nominal_pass_with_the_lead_and_the_meter() {
        for (reading, expected) in [
            ("1.31 ohm", Outcome::Fail),
            ("1.32 ohm", Outcome::Pass),
            ("2.01 ohm", Outcome::Pass),
            ("2.02 ohm", Outcome::Fail),
        ] {
            assert_eq!(of(PARALLEL, reading).outcome, expected, "{reading}");
        }
    }

    #[test]
    fn what_was_joined_instead_is_named() {
        let label = |coils: &str, reading: &str| of(coils, reading).finding.expect("a finding").at.text;
        assert_eq!(label(PARALLEL, "6.6 ohm"), "what all coils in series would read");
        assert_eq!(label(PARALLEL, "3.4 ohm"), "what the load with one coil missing would read");
        assert_eq!(label("{series: [sub.1, sub.2]}", "1.7 ohm"), "what all coils in parallel would read");
        assert_eq!(label(PARALLEL, "0.3 ohm"), "less than predicted");
        assert_eq!(label(PARALLEL, "90 ohm"), "more than predicted");
        assert_eq!(label("sub.1", "6.6 ohm"), "more than predicted");
    }

    #[test]
    fn the_coil_that_is_missing_is_named_where_only_one_fits() {
        let text = plan(PARALLEL, "dc_resistance: 6.8 ohm").replace("[4 ohm, 4 ohm]", "[2 ohm, 8 ohm]");
        let finding = check(&text, "PROOF-03", "loads.bass").finding.expect("a finding");
        assert_eq!(finding.at.text, "more than predicted", "8 ohm alone and 10 ohm in series both fit");
        let text = text.replace("6.8 ohm", "1.8 ohm");
        let finding = check(&text, "PROOF-03", "loads.bass").finding.expect("a finding");
        assert_eq!(finding.at.text, "what the load without sub.2 would read");
    }

    #[test]
    fn a_lead_that_is_missing_is_asked_for_and_no_reading_is_no_verdict() {
        let bare = plan(PARALLEL, "dc_resistance: 1.7 ohm").replace("size: 12 AWG, ", "");
        let open = check(&bare, "PROOF-03", "loads.bass");
        assert_eq!((open.outcome, open.needs[0].path().as_str()), (Outcome::Open, "loads.bass.lead.size"));
        assert_eq!(check(&plan(PARALLEL, ""), "PROOF-03", "loads.bass").outcome, Outcome::NotApplicable);
    }

    /// 4 ohm in series with 8 and 2 ohm in parallel are 5.6 ohm; without the 2 ohm they are 12 ohm, of which a meter reads
    /// seven to nine and a half tenths.
    #[test]
    fn a_coil_that_is_missing_within_a_branch_is_named() {
        let text = "plan: 1\namplifiers: {amp: {}}\ndrivers: {a: {coils: [4 ohm]}, b: {coils: [8 ohm]}, c: {coils: [2 ohm]}}\n\
                    loads: {bass: {amplifier: amp, outputs: [1], coils: {series: [a, {parallel: [b, c]}]}, lead: {size: 12 AWG, \
                    length: 1.5 m, conductor: copper}}}\nmeasured: {loads: {bass: {dc_resistance: 8.8 ohm}}}\n";
        let finding = check(text, "PROOF-03", "loads.bass").finding.expect("a finding");
        assert_eq!(finding.at.text, "what the load without c.1 would read");
    }
}
