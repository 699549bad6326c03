//! A coil connected the other way round works against the others.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Coil, Coils, Load};
use crate::solve::{Job, Thing, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-07",
    name: "coil-against-others",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("against.md"),
    check: Subjects::Load(check),
    slips: &[super::Slip::Say("loads.*.coils.series|parallel.*", &["-{}"])],
};

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    let coils = loads::tree(load)?.each();
    let declared = load.reversed == Some(true);
    // Coils on one cone must always push together, whatever they hang on; a whole driver may be declared to play against
    // the others.
    let all = || job.loads.iter().flat_map(|load| load.plan().coils.iter().flat_map(Coils::coils));
    let against = |coil: &Coil| all().any(|other| other.driver == coil.driver && !other.reversed);
    let wrong = coils.iter().find(|(_, coil)| coil.reversed && (!declared || against(coil)));
    let Some((path, coil)) = wrong else { return Ok(Verdict::pass()) };
    let driver = &coil.driver;
    let (title, mend) = if against(coil) {
        let name = format!("{driver}.{}", coil.number);
        (
            format!("`{coil}` is reversed and pushes against the other coil of `{driver}`"),
            format!("connect `{name}` the same way round as the other coil of `{driver}`"),
        )
    } else {
        (
            format!("`{driver}` is reversed and plays against the others"),
            format!("swap plus and minus of `{driver}`, or state `reversed: true` if it is meant"),
        )
    };
    let place = load.at(format!("coils{path}"));
    let turned = Offer::new(format!("swap plus and minus of {driver}.{}", coil.number))
        .set(place, Coil { reversed: false, ..(*coil).clone() });
    Ok(Verdict::fail(
        Finding::new(load.at(format!("coils{path}")), title)
            .label("the other way round")
            .because("what pushes against each other cancels: the bass is gone and the power turns to heat")
            .mend(mend)
            .offer(turned),
    ))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, outcome};

    fn of(load: &str) -> Outcome {
        outcome(&format!("plan: 1\nloads: {{bass: {{{load}}}}}\n"), "LOAD-07", "loads.bass")
    }

    #[test]
    fn a_reversed_coil_must_be_declared() {
        assert_eq!(of("coils: {parallel: [a.1, b.1]}"), Outcome::Pass);
        assert_eq!(of("coils: {parallel: [a.1, -b.1]}"), Outcome::Fail);
        assert_eq!(of("reversed: true, coils: {parallel: [a.1, -b.1]}"), Outcome::Pass);
        assert_eq!(of("coils: -a.1"), Outcome::Fail);
        assert_eq!(of(""), Outcome::Open);
    }

    #[test]
    fn two_coils_of_one_driver_never_work_against_each_other() {
        assert_eq!(of("reversed: true, coils: {series: [a.1, -a.2]}"), Outcome::Fail);
        assert_eq!(of("reversed: true, coils: {series: [-a.1, -a.2]}"), Outcome::Pass);
    }

    #[test]
    fn nor_where_they_hang_on_two_outputs() {
        let text = "plan: 1\nloads: {one: {coils: a.1}, two: {reversed: true, coils: -a.2}}\n";
        assert_eq!(outcome(text, "LOAD-07", "loads.two"), Outcome::Fail);
        assert_eq!(outcome(&text.replace("-a.2", "-b.1"), "LOAD-07", "loads.two"), Outcome::Pass);
    }

    #[test]
    fn it_is_offered_turned_round() {
        let text = "plan: 1\nloads: {bass: {coils: {parallel: [a.1, -b.1]}}}\n";
        assert_eq!(after(text, "LOAD-07", "loads.bass"), [text.replace("-b.1", "b.1")]);
    }
}
