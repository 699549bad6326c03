//! What rests on words that cannot be read is not told as if nothing were written there.

use std::collections::{HashMap, HashSet};

use super::apply::apply_all;
use super::check::{Check, is_within};
use super::own;
use super::proof::name;
use super::verdict::Outcome;
use super::{Rule, Severity};
use crate::house::House;
use crate::plan::{Plan, Reading, Stage};
use crate::solve::{Job, Origin};

/// Why such a check is not judged.
const WHY: &str = "it rests on words that cannot be read";

/// Sets aside what fails or is open only as long as a slip is there: what is gone in one of the ways in which the plan may
/// have been meant, what is gone when something of which no more is known stands there, and what waits for just that. The
/// slip itself is told, and holds the gate; what stands in all of these ways is told as well. Where the text ends within a
/// bracket, something of which no more is known stands there and in every section that may follow.
pub(super) fn set_aside(checks: &mut [Check], reading: &Reading, house: &House, rules: &[&'static Rule]) {
    let breaks_off = reading.tree.breaks_off;
    let is_told = |check: &Check| matches!(check.outcome, Outcome::Fail | Outcome::Open);
    // Only what is told now can rest on a slip: the other rules need not be asked again.
    let told: HashSet<&str> = checks.iter().filter(|check| is_told(check)).map(|check| check.rule.code).collect();
    let rules: Vec<&'static Rule> = rules.iter().copied().filter(|rule| told.contains(rule.code)).collect();
    if reading.misreads.is_empty() || rules.is_empty() {
        return;
    }
    for meant in reading.as_meant() {
        let Some(found) = found_in(&Job::new(&meant.plan, house), &meant, &rules) else { continue };
        let found: HashMap<_, &Check> = found.iter().map(|check| ((name(check), check.outcome), check)).collect();
        for check in checks.iter_mut().filter(|check| is_told(check)) {
            match found.get(&(name(check), check.outcome)) {
                Some(there) if check.outcome == Outcome::Open => check.needs.clone_from(&there.needs),
                Some(_) => {}
                None => check.put_by(WHY),
            }
        }
    }
    let longer = if breaks_off { reading.gone_on() } else { None };
    let whole = longer.as_ref().unwrap_or(reading);
    let blank = whole.with_blanks();
    let failed_in = |plan: &Plan| -> Option<HashSet<_>> {
        let found = found_in(&Job::new(plan, house), reading, &rules)?;
        Some(found.iter().filter(|check| check.outcome == Outcome::Fail).map(name).collect())
    };
    let failed = blank.as_ref().and_then(failed_in);
    // What is still to come may be anything, as in a draft.
    let drafted = blank.filter(|_| breaks_off).map(as_draft).as_ref().and_then(failed_in);
    let unread: HashSet<String> = whole.unread().into_iter().collect();
    // Of a section that is asked for, one thing more or less says nothing, unless any number of them may follow.
    let is_part = |path: &&str| breaks_off || path.contains('.');
    let parts: HashSet<&str> = unread.iter().flat_map(|path| above(path)).filter(is_part).collect();
    let is_unread =
        |need: &str| parts.contains(need) || unread.contains(need) || above(need).any(|path| unread.contains(path));
    for check in checks.iter_mut().filter(|check| check.outcome == Outcome::Fail) {
        let is_in = |failed: &HashSet<_>| failed.contains(&name(check));
        let stands = if !breaks_off || check.working.is_some() {
            failed.as_ref().is_none_or(is_in)
        } else {
            // A house's own rule is worked on what is written and sees no blank; advice can wait until the bracket closes.
            let can_wait = check.rule.is_of_the_house() || check.severity == Severity::Advice;
            !can_wait && drafted.as_ref().is_some_and(is_in)
        };
        if !stands {
            check.put_by(WHY);
        }
    }
    for check in checks.iter_mut().filter(|check| check.outcome == Outcome::Open) {
        if breaks_off && (longer.is_none() || check.needs.is_empty() && waits(check, &is_unread)) {
            check.put_by(WHY);
        }
        check.no_longer_needs(&|need| is_unread(&need.path()), WHY);
    }
    let gone: Vec<_> = checks
        .iter()
        .filter(|check| check.reason == Some(WHY))
        .map(|check| (check.rule.code, check.subject.clone()))
        .collect();
    let cause = |check: &Check| check.finding.as_ref().and_then(|finding| finding.follows.clone());
    checks
        .iter_mut()
        .filter(|check| cause(check).is_some_and(|cause| gone.contains(&cause)))
        .for_each(|check| check.put_by(WHY));
}

/// Sets aside what is found about something that cannot be read whole, of what is judged over all other checks.
pub(super) fn set_aside_last(checks: &mut [Check], reading: &Reading) {
    let unread = reading.unread();
    let rests = |check: &Check| unread.iter().any(|path| is_within(path, &check.subject.path()));
    let breaks_off = reading.tree.breaks_off;
    checks
        .iter_mut()
        .filter(|check| check.outcome == Outcome::Fail && rests(check) || breaks_off && may_be_lost(check))
        .for_each(|check| check.put_by(WHY));
}

/// Whether a check is told because something is missing, which a plan that breaks off may have said further on. Two
/// numbers that are both there, and do not fit, are told all the same.
fn may_be_lost(check: &Check) -> bool {
    check.outcome == Outcome::Open || check.outcome == Outcome::Fail && check.working.is_none()
}

/// A plan as it is judged before anybody says that it is whole.
fn as_draft(mut plan: Plan) -> Plan {
    plan.job.get_or_insert_default().stage = Some(Stage::Draft);
    plan
}

/// Whether a check that no fact alone decides rests on one that may follow: on an assumption about it, or on a sum of which
/// nobody can tell.
fn waits(check: &Check, is_unread: &dyn Fn(&str) -> bool) -> bool {
    check.working.as_ref().is_none_or(|working| {
        working.inputs.iter().any(|input| match &input.origin {
            Origin::Assumed(place, _) => is_unread(&place.path()),
            Origin::Computed(_) => true,
            Origin::Stated(_) | Origin::House(..) | Origin::Table(_) => false,
        })
    })
}

/// The paths of what holds a path, the longest first.
fn above(path: &str) -> impl Iterator<Item = &str> {
    std::iter::successors(path.rsplit_once('.'), |(above, _)| above.rsplit_once('.')).map(|(above, _)| above)
}

/// What rules find in a plan, unless one of them breaks down there.
fn found_in(job: &Job<'_>, reading: &Reading, rules: &[&'static Rule]) -> Option<Vec<Check>> {
    let mut found = apply_all(job, rules);
    found.extend(rules.iter().flat_map(|rule| own::apply(rule, reading, job)));
    (!found.iter().any(|check| check.broke)).then_some(found)
}

#[cfg(test)]
mod tests {
    use crate::house::House;
    use crate::judge::{Check, Outcome, judge};
    use std::path::Path;

    const PLAN: &str = "plan: 1\nvehicle: {high_voltage: none}\namplifiers: {amp: {class: D}}\ngrounds: {floor: {}}\n\
        wires: {main: {from: battery.positive, to: amp.power, size: 4 AWG, conductor: copper, insulation: 105 C, length: 5 m, \
        path: [cargo], fuse: {rating: 60 A, distance: 20 cm}}, back: {from: amp.ground, to: grounds.floor}}\n\
        settings: {amp: {gain_target: 20 V, high_pass: 80 Hz}}\nsteps: [{battery: disconnect}, {run: main}, {connect: amp}]\n";

    fn found(text: &str) -> Vec<String> {
        let checks = judge(&crate::plan::read(text.to_owned()), &House::default(), &crate::rules::all()).checks;
        of(checks.iter())
    }

    fn of<'c>(checks: impl Iterator<Item = &'c Check>) -> Vec<String> {
        let told = checks.filter(|check| matches!(check.outcome, Outcome::Fail | Outcome::Open));
        told.map(|check| format!("{} {} {:?}", check.rule.code, check.subject, check.outcome)).collect()
    }

    /// Each slip is one word that somebody wrote otherwise; nothing is told besides that was not told before.
    #[test]
    fn a_slip_brings_no_finding_of_its_own() {
        let right = found(PLAN);
        for (word, slip) in [
            ("high_pass: 80 Hz", "high_pass: 80"),
            ("gain_target: 20 V", "gain_target: 20,5 V"),
            ("to: grounds.floor", "to: floor"),
            ("battery: disconnect", "battery: off"),
            ("size: 4 AWG", "size: 4"),
            ("rating: 60 A", "rating: 60"),
            ("class: D", "class: digital"),
            ("from: battery.positive", "from: battery +"),
        ] {
            let text = PLAN.replace(word, slip);
            assert!(!crate::plan::read(text.clone()).misreads.is_empty(), "{slip}");
            let more: Vec<String> = found(&text).into_iter().filter(|told| !right.contains(told)).collect();
            assert!(more.is_empty(), "{slip}: {more:?}");
        }
    }

    /// Wherever the text ends within a bracket, what stood behind it is not told as missing.
    #[test]
    fn of_a_plan_that_breaks_off_nothing_is_told_but_the_break_and_what_the_whole_plan_tells() {
        let text = "plan: 1\njob: {stage: planned}\namplifiers:\n  amp: {class: D, onboard_fuses: [30 A]}\nwires:\n  main:\n    \
                    from: battery.positive\n    to: amp.power\n    size: 4 AWG\n    path: [cargo]\n  back: {from: amp.ground, \
                    to: grounds.floor,\n    size: 4 AWG}\ngrounds: {floor: {}}\nsteps: [\n  {battery: disconnect},\n  {run: main}]\n";
        let right = found(text);
        let mut broken = 0;
        for end in 1..text.len() {
            let reading = crate::plan::read(text[..end].to_owned());
            if reading.tree.breaks_off {
                broken += 1;
                let more: Vec<String> = found(&text[..end]).into_iter().filter(|told| !right.contains(told)).collect();
                assert!(more.is_empty(), "{more:?}: {}", &text[..end]);
                assert!(reading.misreads.iter().any(|misread| misread.what.ends_with("the text ends in it")));
            }
        }
        assert!(broken > 100, "{broken}");
        // Two numbers that do not fit stand before the break.
        let small = text
            .replace("path: [cargo]", "conductor: copper, insulation: 75 C")
            .replace("size: 4 AWG\n", "size: 16 AWG\n");
        let small = small.replace(
            "    conductor: copper, ",
            "    fuse: {rating: 80 A}\n    conductor: copper\n    length: 1 m\n    ",
        );
        assert!(!crate::plan::read(small.clone()).tree.breaks_off);
        let (told, right) = (found(&small[..small.len() - 3]), found(&small));
        assert!(told.iter().all(|told| right.contains(told)), "{told:?}");
        assert!(told.iter().any(|told| told == "FUSE-01 wires.main.fuse Fail"), "{told:?}");
    }

    /// The same of every job of the workshop, cut within brackets all over. What two numbers say that are there stays told.
    #[test]
    fn of_a_job_that_breaks_off_nothing_is_told_that_the_whole_job_does_not_tell() {
        const CUTS: usize = 4;
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/jobs");
        let mut cuts = 0;
        for file in std::fs::read_dir(folder).expect("the jobs").flatten() {
            let text = std::fs::read_to_string(file.path()).expect("a job");
            let right = found(&text);
            let broken = |at: usize| {
                let ends = (at..text.len()).filter(|end| text.is_char_boundary(*end));
                ends.map(|end| crate::plan::read(text[..end].to_owned())).find(|reading| reading.tree.breaks_off)
            };
            for reading in (1..=CUTS).filter_map(|part| broken(text.len() * part / (CUTS + 1))) {
                cuts += 1;
                let checks = judge(&reading, &House::default(), &crate::rules::all()).checks;
                let told = checks.iter().filter(|check| check.working.is_none() || check.outcome == Outcome::Open);
                let more: Vec<String> = of(told).into_iter().filter(|told| !right.contains(told)).collect();
                assert!(more.is_empty(), "{more:?} in {:?} behind {}", file.file_name(), reading.text);
            }
        }
        assert!(cuts > 100, "{cuts}");
    }

    /// Somebody types at the end of a plan; what was found before, and has nothing to do with that, is still found.
    #[test]
    fn what_has_nothing_to_do_with_an_open_bracket_stays_told() {
        let plan = "plan: 1\nvehicle: {voltage: 12 V, body: steel, high_voltage: none}\namplifiers:\n  amp: {class: D}\nwires:\n  back:\n    \
                    from: amp.ground\n    to: grounds.floor\n    size: 4 AWG\n    crossings: {firewall: {sealed: false}}\n    path: \
                    [firewall, cargo]\ngrounds:\n  floor: {on: seat-bolt, surface: painted}\n";
        let right = found(plan);
        let stay = ["GROUND-01 grounds.floor Fail", "GROUND-04 grounds.floor Fail", "ROUTE-01 wires.back Fail"];
        for typed in
            ["loads:\n  l: {amplifier: amp, outputs: [1", "loads: {", "steps:\n  - {run: ba", "steps: [{run: back}, {"]
        {
            let told = found(&format!("{plan}{typed}"));
            for finding in stay.into_iter().chain(["MOUNT-07 amplifiers.amp Open"]) {
                assert!(right.contains(&finding.to_owned()), "{finding}: {right:?}");
                assert!(told.contains(&finding.to_owned()), "{finding} behind {typed}: {told:?}");
            }
        }
    }

    /// Lines that are passed over whole.
    #[test]
    fn a_line_that_cannot_be_read_brings_no_finding_of_its_own() {
        let plan = "plan: 1\nvehicle: {high_voltage: none}\namplifiers:\n  amp:\n    class: D\nwires:\n  main:\n    \
                    from: battery.positive\n    to: amp.power\n    size: 4 AWG\n    length: 5 m\nsteps:\n  - radio: \
                    note-code\n  - battery: disconnect\n  - run: main\n";
        let right = found(plan);
        for (line, slip) in [
            ("    size:", "\tsize:"),
            ("    size:", "   size:"),
            ("size: 4", "size 4"),
            ("size: 4", "size:4"),
            ("- battery:", "-battery:"),
            ("- battery:", "battery:"),
            ("- battery: disconnect", "- {battery: disconnect"),
        ] {
            let text = plan.replacen(line, slip, 1);
            assert!(!crate::plan::read(text.clone()).misreads.is_empty(), "{slip}");
            let more: Vec<String> = found(&text).into_iter().filter(|told| !right.contains(told)).collect();
            assert!(more.is_empty(), "{slip}: {more:?}");
        }
    }

    /// What is there and cannot be read is not nothing: no slip here says what was meant.
    #[test]
    fn what_cannot_be_read_is_not_nothing() {
        let plan = "plan: 1\njob: {stage: planned}\nvehicle: {high_voltage: none}\namplifiers:\n  amp:\n    class: D\n\
                    drivers:\n  left: {coils: [4 ohm]}\ngrounds: {floor: {}}\nwires:\n  main:\n    from: battery.positive\n    \
                    to: amp.power\n    size: 4 AWG\n    length: 5 m\n    fuse: {rating: 60 A, distance: 20 cm}\n  back:\n    \
                    from: amp.ground\n    to: grounds.floor\nloads: {l: {amplifier: amp, coils: left}}\nturn_on: {r: {to: [amp.remote]}}\n\
                    signals: {s: {to: amp.line}}\nsteps:\n  - battery: disconnect\n  - run: main\n  - run: s\n  - run: r\n  \
                    - connect: amp\n  - ground: floor\n  - fuse: main\n  - battery: reconnect\n  - test: commissioning\nwaivers:\n  \
                    - {rule: GROUND-01, at: grounds.floor, reason: rig, by: me, until: 2027-06-30}\n";
        let right = found(plan);
        for (word, slip) in [
            ("fuse: {rating: 60 A, distance: 20 cm}", "fuse: 60 A bolt-down, 20 cm from the battery"),
            ("fuse: {rating: 60 A, distance: 20 cm}", "fuse: {rating: 60 A, distance: 20 cm"),
            ("fuse: {rating: 60 A, distance: 20 cm}", "fuse: [60 A]"),
            ("  left: {coils: [4 ohm]}", "- left: {coils: [4 ohm]}"),
            ("  left: {coils: [4 ohm]}", "  both of them"),
            ("to: amp.power", "to: amp"),
            ("to: amp.power", "to: *there"),
            ("to: amp.power", "to: 'amp.power"),
            ("to: amp.power", "to: \"amp.power"),
            ("to: amp.power", "to: amp.power size: 4 AWG"),
            ("- run: main", "- {run: main"),
            ("- run: main", "- lay the main feed"),
            ("- run: main", "- run: [main]"),
            ("- run: main", "- {run: main, ground: floor}"),
            ("until: 2027-06-30", "until: next summer"),
            ("until: 2027-06-30", "until: 5.6.2027"),
            ("turn_on: {r: {to: [amp.remote]}}", "turn_on: with the ignition"),
            ("signals: {s: {to: amp.line}}", "signals: {s: from the radio}"),
        ] {
            let text = plan.replacen(word, slip, 1);
            assert!(text != plan && !crate::plan::read(text.clone()).misreads.is_empty(), "{slip}");
            let more: Vec<String> = found(&text).into_iter().filter(|told| !right.contains(told)).collect();
            assert!(more.is_empty(), "{slip}: {more:?}");
        }
    }

    #[test]
    fn what_stands_whatever_was_meant_is_told() {
        let text = PLAN.replace("size: 4 AWG", "size: 4").replace("distance: 20 cm", "distance: 2 m");
        assert!(found(&text).contains(&"FUSE-02 wires.main.fuse Fail".to_owned()));
    }

    /// What is written there is no day that can be read; that no day is written is not true.
    #[test]
    fn a_waiver_that_cannot_be_read_whole_is_not_told_to_lack_its_day() {
        let told = |until: &str| {
            found(&format!(
                "plan: 1\ngrounds: {{floor: {{on: body-sheet, surface: painted}}}}\nwaivers:\n  - {{rule: GROUND-01, at: \
                 grounds.floor, reason: rig, by: me{until}}}\n"
            ))
        };
        let lacks = "PLAN-06 waivers.0 Fail".to_owned();
        assert!(told("").contains(&lacks));
        assert!(!told(", until: next summer").contains(&lacks));
        // What cannot be read elsewhere says nothing of it.
        let elsewhere = "plan: 1\ngrounds: {floor: {on: body-sheet, surface: shiny}}\nwaivers: [{rule: GROUND-01, at: grounds.floor}]\n";
        assert!(found(elsewhere).contains(&lacks));
    }
}
