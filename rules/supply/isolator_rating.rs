//! An isolator that is made for less than its fuses let through.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::{Isolator, IsolatorKind, word};
use crate::solve::{Job, Place, Undecided, all};
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
    if kind == IsolatorKind::Charger {
        return Err(Undecided::NotApplicable("a charger limits its own current, and its maker names the fuses"));
    }
    let fuses = &job.protection().fuses;
    let ratings = all(in_line(name, job).into_iter().map(|fuse| {
        let place = fuses[fuse].place.sub("rating");
        fuses[fuse].fuse.rating.map(|rating| (rating, place.clone())).ok_or_else(|| Undecided::need(place))
    }))?;
    let smallest = ratings.into_iter().min_by(|one, other| one.0.base().total_cmp(&other.0.base()));
    let (rating, fuse) =
        smallest.ok_or(Undecided::NotApplicable("no fuse is in line with it (FUSE-03 looks for one)"))?;
    let rated = isolator.rated.ok_or_else(|| Undecided::need(at("rated")))?;
    Ok(at_most(rating, rated)
        .formula("smallest fuse in line with the isolator <= the current it is made for")
        .given(Input::stated("smallest fuse in line with it", rating, fuse.clone()))
        .limit_from("the isolator's maker")
        .verdict(|is| {
            let (kind, rating, rated) = (word(&kind), is.result(), is.limit());
            Finding::new(at("rated"), format!("{kind} made for {rated} behind {} fuse", words::a(rating)))
                .label(format!("made for {rated}"))
                .also(fuse, format!("lets {rating} through for good"))
                .because("an empty battery takes all that it can get: the contacts overheat or weld, and no fuse opens")
                .mend(format!("fit one made for {rating} and more all the time, or fuses of at most {rated}"))
        }))
}

/// The fuses between an isolator and the nearest battery on either side.
fn in_line(name: &str, job: &Job<'_>) -> Vec<usize> {
    let link = job.charge_link(name);
    let sites = job.protection().fuses.iter().enumerate();
    sites.filter(|(_, site)| link.has(site, job)).map(|(fuse, _)| fuse).collect()
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
