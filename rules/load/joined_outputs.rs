//! Outputs that are not bridged must not meet at a coil.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::Load;
use crate::solve::{Job, Thing, Undecided, loads};

/// The rule.
pub const RULE: Rule = Rule {
    code: "LOAD-10",
    name: "outputs-joined",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("joined_outputs.md"),
    check: Subjects::Load(check),
};

const WHY: &str = "each output drives its own minus; outputs joined at a coil drive current into each other";

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    if load.outputs.is_empty() {
        return Err(Undecided::need(load.at("outputs")));
    }
    if load.outputs.len() > 2 {
        return Ok(Verdict::fail(
            Finding::new(
                load.at("outputs"),
                format!("{} outputs joined on one load, 2 bridged are the most", load.outputs.len()),
            )
            .label("joined here")
            .because(WHY)
            .mend("give each output, or each bridged pair, its own coils"),
        ));
    }
    let coils = loads::tree(load)?.each();
    let others = job.loads.iter().take_while(|other| other.address != load.address);
    for other in others.filter(|other| !other.outputs.is_empty() && !loads::same_outputs(load, other)) {
        let shared = load.outputs.iter().position(|output| other.outputs.contains(output));
        if let Some(at) = shared.filter(|_| load.amplifier.is_some() && load.amplifier == other.amplifier) {
            return Ok(Verdict::fail(
                Finding::new(
                    load.at(format!("outputs.{at}")),
                    format!("output {} is alone and bridged at once", load.outputs[at]),
                )
                .label("also in another load")
                .also(other.at("outputs"), "here too")
                .because(WHY)
                .mend("give each output, or each bridged pair, its own coils"),
            ));
        }
        for (path, coil) in &coils {
            let theirs = other.plan().coils.iter().flat_map(|coils| coils.each());
            let mut theirs = theirs.filter(|(_, theirs)| theirs.driver == coil.driver && theirs.number == coil.number);
            if let Some((their_path, _)) = theirs.next() {
                let name = format!("{}.{}", coil.driver, coil.number);
                return Ok(Verdict::fail(
                    Finding::new(load.at(format!("coils{path}")), format!("coil {name} joins two outputs"))
                        .label("on this output")
                        .also(other.at(format!("coils{their_path}")), "and on this one")
                        .because(WHY)
                        .mend("give each output its own coil, with plus and minus both from that output"),
                ));
            }
        }
    }
    Ok(Verdict::pass())
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(first: &str, second: &str) -> Outcome {
        let plan = format!("plan: 1\nloads:\n  a: {{amplifier: x, {first}}}\n  b: {{amplifier: x, {second}}}\n");
        outcome(&plan, "LOAD-10", "loads.b")
    }

    #[test]
    fn outputs_meet_nowhere() {
        assert_eq!(of("outputs: [1], coils: s.1", "outputs: [2], coils: s.2"), Outcome::Pass);
        assert_eq!(of("outputs: [1], coils: s.1", "outputs: [2], coils: s.1"), Outcome::Fail);
        assert_eq!(of("outputs: [1], coils: s.1", "outputs: [1, 2], coils: s.2"), Outcome::Fail);
        assert_eq!(of("outputs: [4], coils: s.1", "outputs: [1, 2, 3], coils: s.2"), Outcome::Fail);
        assert_eq!(of("outputs: [1], coils: s.1", "coils: s.2"), Outcome::Open);
    }
}
