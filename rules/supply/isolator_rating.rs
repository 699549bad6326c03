//! An isolator that is made for less than its fuses let through.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::{Isolator, word};
use crate::solve::{Job, Place, Undecided};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-13",
    name: "isolator-under-fuse",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("isolator_rating.md"),
    check: Subjects::Each(check),
    slips: &[super::Slip::Past("isolators.*.rated"), super::Slip::Say("isolators.*.rated", &["30 A", "50 A"])],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let isolators = job.plan.isolators.iter();
    isolators.map(|(name, isolator)| (Place::of(format!("isolators.{name}")), judge(name, isolator, job))).collect()
}

fn judge(name: &str, isolator: &Isolator, job: &Job<'_>) -> Judged {
    let at = |key: &str| Place::of(format!("isolators.{name}.{key}"));
    let kind = isolator.kind.ok_or_else(|| Undecided::need(at("kind")))?;
    if kind.limits_current() {
        return Err(Undecided::NotApplicable("it limits its own current, and its maker names the fuses"));
    }
    let fuses = &job.protection().fuses;
    let (together, in_line) = job
        .held_back(&job.charge_link(name))?
        .ok_or(Undecided::NotApplicable("no fuse is in line with it (FUSE-03 looks for one)"))?;
    let rated = isolator.rated.ok_or_else(|| Undecided::need(at("rated")))?;
    let rating = |fuse: &usize| (fuses[*fuse].fuse.rating, fuses[*fuse].place.sub("rating"));
    let inputs = in_line.iter().map(rating).filter_map(|(rating, place)| {
        Some(Input::stated(
            if in_line.len() > 1 { "fuse side by side" } else { "smallest fuse in line with it" },
            rating?,
            place,
        ))
    });
    Ok(at_most(together, rated)
        .formula(if in_line.len() > 1 {
            "fuses side by side in line with the isolator, added <= the current it is made for"
        } else {
            "smallest fuse in line with the isolator <= the current it is made for"
        })
        .given_all(inputs)
        .limit_from("the isolator's maker")
        .verdict(|is| {
            let (kind, together, rated) = (word(&kind), is.result(), is.limit());
            let (behind, most) = if in_line.len() > 1 {
                (format!("fuses side by side for {together}"), format!("fuses that are together at most {rated}"))
            } else {
                (format!("{} fuse", words::a(together)), format!("fuses of at most {rated}"))
            };
            let finding = Finding::new(at("rated"), format!("{kind} made for {rated} behind {behind}"))
                .label(format!("made for {rated}"))
                .because("an empty battery takes all that it can get: the contacts overheat or weld, and no fuse opens")
                .mend(format!("fit one made for {together} and more all the time, or {most}"));
            in_line.iter().map(rating).fold(finding, |finding, (rating, place)| {
                let lets = rating.map_or(String::new(), |rating| format!("lets {rating} through for good"));
                finding.also(place, lets)
            })
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    const CODE: &str = "SUPPLY-13";

    /// 100 A beside the starting battery, 125 A beside the second one.
    fn plan(isolator: &str) -> String {
        format!(
            "plan: 1\nbatteries: {{rear: {{kind: agm}}}}\nisolators: {{part: {{{isolator}}}}}\nwires:\n  \
             a: {{from: battery.positive, to: part.in, fuse: {{rating: 100 A, distance: 20 cm}}}}\n  \
             b: {{from: part.out, to: rear.positive, far_fuse: {{rating: 125 A, distance: 20 cm}}}}\n"
        )
    }

    fn of(isolator: &str) -> Outcome {
        outcome(&plan(isolator), CODE, "isolators.part")
    }

    #[test]
    fn it_must_carry_what_the_smallest_fuse_in_line_lets_through() {
        for kind in ["relay", "switch"] {
            assert_eq!(of(&format!("kind: {kind}, rated: 100 A")), Outcome::Pass, "{kind}");
            assert_eq!(of(&format!("kind: {kind}, rated: 99 A")), Outcome::Fail, "{kind}");
        }
        assert_eq!(of("kind: charger, rated: 30 A"), Outcome::NotApplicable);
    }

    /// 100 A and 100 A side by side let 200 A through, the 125 A behind them hold that back to 125 A.
    #[test]
    fn fuses_side_by_side_count_together() {
        let double = |isolator: &str, far: &str| {
            plan(isolator).replace("far_fuse: {rating: 125 A", &format!("far_fuse: {{rating: {far}"))
                + "  a-two: {from: battery.positive, to: part.in, fuse: {rating: 100 A, distance: 20 cm}}\n"
        };
        let of = |rated: &str, far: &str| {
            outcome(&double(&format!("kind: relay, rated: {rated}"), far), CODE, "isolators.part")
        };
        assert_eq!((of("200 A", "250 A"), of("199 A", "250 A")), (Outcome::Pass, Outcome::Fail));
        assert_eq!((of("125 A", "125 A"), of("124 A", "125 A")), (Outcome::Pass, Outcome::Fail));
        let found = crate::rules::trial::finding(&double("kind: relay, rated: 120 A", "250 A"), CODE, "isolators.part");
        assert_eq!(found.title, "relay made for 120 A behind fuses side by side for 200 A");
        let names = |far: &str| {
            let working =
                check(&double("kind: relay, rated: 120 A", far), CODE, "isolators.part").working.expect("worked");
            (working.formula.split(' ').next().expect("a word"), working.inputs[0].name)
        };
        assert_eq!(names("250 A"), ("fuses", "fuse side by side"));
        assert_eq!(names("125 A"), ("smallest", "smallest fuse in line with it"));
        // One of the two has none: then nothing holds back what comes through it, and FUSE-03 says so.
        let bare = double("kind: relay, rated: 120 A", "250 A")
            .replace("part.in, fuse: {rating: 100 A, distance: 20 cm}}\n  b", "part.in}\n  b");
        let found = crate::rules::trial::finding(&bare, CODE, "isolators.part");
        assert_eq!(found.title, "relay made for 120 A behind a 250 A fuse");
    }

    #[test]
    fn a_fuse_inside_a_block_is_in_line_too() {
        let text = "plan: 1\nbatteries: {rear: {}}\nisolators: {part: {kind: relay, rated: 70 A}}\nblocks: {split: {outputs: \
                    {one: {fuse: {rating: 60 A}}, two: {fuse: {rating: 20 A}}}}}\nwires:\n  main: {from: battery.positive, \
                    to: split.in, fuse: {rating: 150 A}}\n  a: {from: split.one, to: part.in}\n  b: {from: part.out, to: \
                    rear.positive}\n";
        assert_eq!(outcome(text, CODE, "isolators.part"), Outcome::Pass);
        assert_eq!(outcome(&text.replace("rated: 70 A", "rated: 50 A"), CODE, "isolators.part"), Outcome::Fail);
    }

    #[test]
    fn what_is_not_stated_is_asked_for() {
        let need = |text: &str| {
            let open = check(text, CODE, "isolators.part");
            assert_eq!(open.outcome, Outcome::Open);
            open.needs[0].path()
        };
        assert_eq!(need(&plan("rated: 120 A")), "isolators.part.kind");
        assert_eq!(need(&plan("kind: relay")), "isolators.part.rated");
        let unrated = plan("kind: relay, rated: 120 A").replace("rating: 100 A, ", "");
        assert_eq!(need(&unrated), "wires.a.fuse.rating");
    }

    #[test]
    fn without_a_fuse_there_is_nothing_to_compare() {
        let text = "plan: 1\nisolators: {part: {kind: relay}}\nwires: {a: {from: battery.positive, to: part.in}}\n";
        assert_eq!(outcome(text, CODE, "isolators.part"), Outcome::NotApplicable);
    }

    #[test]
    fn the_fuse_of_another_wire_lets_nothing_through_it() {
        let text =
            plan("kind: relay, rated: 99 A") + "  amp: {from: battery.positive, to: amp.power, fuse: {rating: 60 A}}\n";
        assert_eq!(outcome(&text, CODE, "isolators.part"), Outcome::Fail);
    }
}
