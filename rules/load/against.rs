//! A coil connected the other way round works against the others.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::Load;
use crate::solve::{Job, Thing, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-07",
    name: "coil-against-others",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("against.md"),
    check: Subjects::Load(check),
};

fn check(load: &Thing<'_, Load>, _: &Job<'_>) -> Judged {
    let coils = loads::tree(load)?.each();
    let declared = load.reversed == Some(true);
    let wrong = coils.iter().find(|(_, coil)| {
        // Coils on one cone must always push together; a whole driver may be declared to play against the others.
        let against = coils.iter().any(|(_, other)| other.driver == coil.driver && !other.reversed);
        coil.reversed && (against || !declared)
    });
    Ok(match wrong {
        None => Verdict::pass(),
        Some((path, coil)) => {
            let finding = Finding::new(
                load.at(format!("coils{path}")),
                format!("{coil} is reversed and plays against the others"),
            )
            .label("the other way round")
            .because("coils that push against each other cancel: the bass is gone and the power turns to heat");
            let same = coils.iter().any(|(_, other)| other.driver == coil.driver && !other.reversed);
            let swap = format!("connect {}.{} the same way round as the others", coil.driver, coil.number);
            Verdict::fail(if same {
                finding.mend(swap)
            } else {
                finding.mend(format!("{swap}, or state `reversed: true` if it is meant"))
            })
        }
    })
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

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
}
