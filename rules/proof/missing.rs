//! A hand-over without readings is a promise, not a proof.

use std::collections::BTreeSet;

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Measured, Stage};
use crate::solve::graph::LinkKind;
use crate::solve::{Job, Place, Undecided, channels};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "PROOF-08",
    name: "not-measured",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("missing.md"),
    check: Subjects::Job(check),
    slips: &[
        super::Slip::Drop("measured.*"),
        super::Slip::Drop("measured.wires.*"),
        super::Slip::Drop("measured.loads.*"),
        super::Slip::Drop("measured.settings.*"),
        super::Slip::Drop("measured.indicators.*"),
        super::Slip::Drop("measured.grounds.*"),
    ],
};

fn check(job: &Job<'_>) -> Judged {
    if job.plan.stage() != Stage::Installed {
        return Err(Undecided::NotApplicable("the work is not done yet: `job.stage` is not `installed`"));
    }
    let nothing = Measured::default();
    let missing = missing(job, job.plan.measured.as_ref().unwrap_or(&nothing));
    Ok(Verdict::pass_if(missing.is_empty(), || {
        let place = if job.plan.measured.is_some() { "measured" } else { "job.stage" };
        Finding::new(Place::of(place), format!("{} missing from the hand-over", words::count(missing.len(), "reading")))
            .label(if job.plan.measured.is_some() { "not all of them" } else { "installed, and nothing is measured" })
            .because("what was not measured was not proved, and the next technician has nothing to compare with")
            .mend(format!("measure and write down {}", words::all(&missing)))
    }))
}

/// Every reading that the stage needs and that is not there, in words.
fn missing(job: &Job<'_>, measured: &Measured) -> Vec<String> {
    let mut missing = Vec::new();
    for name in feeds(job) {
        let wire = measured.wires.get(name);
        match wire.map(|wire| (wire.drop, wire.at)) {
            Some((Some(_), Some(_))) => {}
            Some((Some(_), None)) => missing.push(format!("the current at which the drop of `{name}` was read")),
            _ => missing.push(format!("the drop of `{name}` with the current")),
        }
    }
    let used = |name: &&str| is_wired(job, name);
    let grounds = job.grounds.iter().map(|ground| ground.name).filter(used);
    missing.extend(
        grounds.filter(|name| !measured.grounds.contains_key(*name)).map(|name| format!("the ground `{name}`")),
    );
    for load in &job.loads {
        if measured.loads.get(load.name).is_none_or(|load| load.dc_resistance.is_none()) {
            missing.push(format!("the resistance of the load `{}`", load.name));
        }
    }
    if measured.key_off.is_none() {
        missing.push("the current with everything off".to_owned());
    }
    if measured.charging.is_none() {
        missing.push("the charging voltage".to_owned());
    }
    for amplifier in &job.amplifiers {
        let name = amplifier.name;
        let set = channels::of(job, amplifier).into_iter().filter(|channels| channels.setting.is_some());
        for set in set.map(|channels| channels.name) {
            if measured.settings.get(&*set).is_none_or(|setting| setting.gain.is_none()) {
                missing.push(format!("the output of `{set}` with the test tone"));
            }
        }
        if measured.indicators.get(name).is_none_or(|lamps| lamps.on.is_none() || lamps.off.is_none()) {
            missing.push(format!("the lamps of `{name}`, on and off"));
        }
    }
    missing
}

/// The wires on the way from a battery to any amplifier, each once.
fn feeds<'a>(job: &Job<'a>) -> Vec<&'a str> {
    let links = job.amplifiers.iter().flat_map(|amplifier| job.run_links(amplifier.name).feed);
    let wire = |link: usize| match job.graph().links[link].kind {
        LinkKind::Wire(index) => Some(index),
        _ => None,
    };
    let wires: BTreeSet<usize> = links.filter_map(wire).collect();
    wires.into_iter().filter_map(|index| job.wires.get(index)).map(|wire| wire.name).collect()
}

/// Whether a wire is fastened to a ground.
fn is_wired(job: &Job<'_>, ground: &str) -> bool {
    let ends = job.wires.iter().flat_map(|wire| wire.plan().terminals());
    ends.into_iter().any(|end| end.thing == "grounds" && end.terminal == ground)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    const HEAD: &str = "vehicle: {voltage: 12 V, body: steel}\namplifiers: {amp: {}}\ngrounds: {floor: {}, spare: {}}\n\
        drivers: {sub: {coils: [4 ohm]}}\nloads: {bass: {amplifier: amp, outputs: [1], coils: sub.1}}\n\
        wires: {main: {from: battery.positive, to: amp.power}, return: {from: amp.ground, to: grounds.floor}}\n\
        settings: {amp: {gain_target: 20 V}}\n";

    const READINGS: [(&str, &str); 7] = [
        ("wires: {main: {drop: 0.2 V, at: 30 A}}", "the drop of `main` with the current"),
        ("grounds: {floor: 2 mohm}", "the ground `floor`"),
        ("loads: {bass: {dc_resistance: 3.4 ohm}}", "the resistance of the load `bass`"),
        ("key_off: 20 mA", "the current with everything off"),
        ("charging: 14.1 V", "the charging voltage"),
        ("settings: {amp: {gain: 20 V}}", "the output of `amp` with the test tone"),
        ("indicators: {amp: {on: lit, off: dark}}", "the lamps of `amp`, on and off"),
    ];

    fn plan(stage: &str, measured: &str) -> String {
        format!("plan: 1\njob: {{stage: {stage}}}\n{HEAD}measured: {{{measured}}}\n")
    }

    #[test]
    fn all_readings_pass_and_each_that_is_missing_is_named() {
        let all: Vec<&str> = READINGS.iter().map(|(reading, _)| *reading).collect();
        assert_eq!(outcome(&plan("installed", &all.join(", ")), "PROOF-08", "job"), Outcome::Pass);
        for (left_out, words) in READINGS {
            let rest: Vec<&str> = all.iter().copied().filter(|reading| *reading != left_out).collect();
            let check = check(&plan("installed", &rest.join(", ")), "PROOF-08", "job");
            let finding = check.finding.expect("a finding");
            assert_eq!(finding.title, "1 reading missing from the hand-over");
            assert_eq!(finding.mend, format!("measure and write down {words}"));
        }
    }

    #[test]
    fn a_drop_without_its_current_is_half_a_reading() {
        let finding = check(&plan("installed", "wires: {main: {drop: 0.2 V}}"), "PROOF-08", "job").finding.unwrap();
        assert!(finding.mend.contains("the current at which the drop of `main` was read"), "{}", finding.mend);
        assert_eq!(finding.title, "7 readings missing from the hand-over");
    }

    #[test]
    fn before_the_work_is_done_nothing_is_missing() {
        for stage in ["draft", "planned"] {
            assert_eq!(outcome(&plan(stage, ""), "PROOF-08", "job"), Outcome::NotApplicable);
        }
        let bare = check("plan: 1\njob: {stage: installed}\n", "PROOF-08", "job");
        assert_eq!(bare.finding.unwrap().at.place.path(), "job.stage");
    }

    #[test]
    fn a_lamp_that_was_looked_at_once_is_half_a_reading() {
        let all: Vec<&str> = READINGS[..6].iter().map(|(reading, _)| *reading).collect();
        for once in ["on: lit", "off: dark"] {
            let measured = format!("{}, indicators: {{amp: {{{once}}}}}", all.join(", "));
            let finding = check(&plan("installed", &measured), "PROOF-08", "job").finding.expect("a finding");
            assert_eq!(finding.mend, "measure and write down the lamps of `amp`, on and off");
        }
    }
}
