//! Outputs that are not bridged must not meet at a coil.

use super::site;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
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
    slips: &[super::Slip::Say("loads.*.outputs", &["[1, 2, 3]", "[2, 3, 4]", "[1, 2, 3, 4]"])],
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
            .mend("give each output, or each bridged pair, its own coils")
            .offers([&load.outputs[..2], &load.outputs[..1]].map(|kept| {
                let kept: Vec<String> = kept.iter().map(ToString::to_string).collect();
                Offer::new("leave the others free").set(load.at("outputs"), format!("[{}]", kept.join(", ")))
            })),
        ));
    }
    let coils = loads::tree(load)?.each();
    let others = job.loads.iter().take_while(|other| other.address != load.address);
    for other in others.filter(|other| !other.outputs.is_empty() && !loads::same_outputs(load, other)) {
        let shared = load.outputs.iter().position(|output| other.outputs.contains(output));
        if let Some(at) = shared.filter(|_| load.amplifier.is_some() && load.amplifier == other.amplifier) {
            let output = load.outputs[at];
            let title = format!("output {output} is alone and bridged at once");
            let finding = Finding::new(load.at(format!("outputs.{at}")), title)
                .label("also in another load")
                .also(other.at("outputs"), "here too")
                .because(WHY)
                .mend("give each output, or each bridged pair, its own coils");
            let first = load.amplifier.as_ref().and_then(|name| site::first_use_of_output(job, name, output));
            return Ok(Verdict::fail(site::follows_overuse(finding, first)));
        }
        for (path, coil) in &coils {
            let theirs = other.plan().coils.iter().flat_map(|coils| coils.each());
            let mut theirs = theirs.filter(|(_, theirs)| theirs.driver == coil.driver && theirs.number == coil.number);
            if let Some((their_path, _)) = theirs.next() {
                let name = format!("{}.{}", coil.driver, coil.number);
                let title = format!("coil `{name}` joins two outputs");
                let finding = Finding::new(load.at(format!("coils{path}")), title)
                    .label("on this output")
                    .also(other.at(format!("coils{their_path}")), "and on this one")
                    .because(WHY)
                    .mend("give each output its own coil, with plus and minus both from that output");
                return Ok(Verdict::fail(site::follows_overuse(finding, site::first_use(job, coil))));
            }
        }
    }
    Ok(Verdict::pass())
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

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

    #[test]
    fn a_coil_or_an_output_used_twice_is_what_it_follows_from() {
        for (first, second) in [
            ("outputs: [1], coils: s.1", "outputs: [2], coils: s.1"),
            ("outputs: [1], coils: s.1", "outputs: [2, 1], coils: s.2"),
        ] {
            let text = format!("plan: 1\nloads:\n  a: {{amplifier: x, {first}}}\n  b: {{amplifier: x, {second}}}\n");
            let follows = check(&text, "LOAD-10", "loads.b").finding.and_then(|finding| finding.follows);
            let (code, subject) = follows.expect("it follows");
            assert_eq!(outcome(&text, code, &subject.path()), Outcome::Fail, "{code} counts the uses: {second}");
        }
        let three = "plan: 1\nloads:\n  b: {amplifier: x, outputs: [1, 2, 3], coils: s.1}\n";
        assert_eq!(check(three, "LOAD-10", "loads.b").finding.expect("it fails").follows, None);
    }

    #[test]
    fn the_very_same_outputs_and_those_of_another_amplifier_are_not_joined() {
        assert_eq!(of("outputs: [1], coils: s.1", "outputs: [1], coils: s.2"), Outcome::Pass);
        let apart = "plan: 1\nloads:\n  a: {amplifier: x, outputs: [1], coils: s.1}\n  b: {amplifier: y, outputs: [1, 2], coils: s.2}\n";
        assert_eq!(outcome(apart, "LOAD-10", "loads.b"), Outcome::Pass);
        assert_eq!(outcome(&apart.replace('y', "x"), "LOAD-10", "loads.b"), Outcome::Fail);
    }
}
