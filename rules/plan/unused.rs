//! Something that is declared and joined to nothing is either a slip or a part too many on the parts list.

use super::references;
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::solve::{Job, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PLAN-02",
    name: "unused",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("unused.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Repeat("grounds.*"),
        super::Slip::Repeat("drivers.*"),
        super::Slip::Repeat("enclosures.*"),
        super::Slip::Repeat("converters.*"),
    ],
};

/// Sections whose things must be used, what one is called and what would use it.
const SECTIONS: &[(&str, &str, &str)] = &[
    ("amplifiers", "amplifier", "a wire or a load"),
    ("drivers", "driver", "a load"),
    ("enclosures", "enclosure", "a driver or a mount"),
    ("sources", "source", "a signal or a turn-on lead"),
    ("converters", "converter", "a signal or a turn-on lead"),
    ("batteries", "battery", "a wire"),
    ("isolators", "isolator", "a wire"),
    ("blocks", "block", "a wire"),
    ("capacitors", "capacitor", "a wire"),
    ("grounds", "ground", "a wire"),
];

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let references = references::of(job);
    let mut judged = Vec::new();
    for (section, kind, user) in SECTIONS {
        for name in references::names(job.plan, section) {
            let place = Place::of(format!("{section}.{name}"));
            let used = references
                .iter()
                .any(|other| other.uses && other.sections.contains(section) && other.means(job.plan) == Some(name));
            let verdict = Verdict::pass_if(used, || {
                Finding::new(place.clone(), format!("{kind} `{name}` is declared and never used"))
                    .label("nothing refers to it")
                    .because("a part that nothing uses was forgotten in the wiring, or is bought for nothing")
                    .mend(format!("name it in {user}, or take it out"))
                    .offers((*section == "grounds").then(|| Offer::new("take it out").remove(place.clone())))
            });
            judged.push((place, Ok(verdict)));
        }
    }
    judged
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, outcome};

    #[test]
    fn a_thing_is_used_when_something_that_is_built_names_it() {
        let text = "plan: 1\namplifiers: {amp: {}}\ngrounds: {floor: {}, spare: {}}\ndrivers: {sub: {enclosure: box}}\n\
                    enclosures: {box: {}}\nwires: {return: {from: amp.ground, to: grounds.floor}}\n";
        assert_eq!(outcome(text, "PLAN-02", "amplifiers.amp"), Outcome::Pass);
        assert_eq!(outcome(text, "PLAN-02", "grounds.floor"), Outcome::Pass);
        assert_eq!(outcome(text, "PLAN-02", "enclosures.box"), Outcome::Pass);
        assert_eq!(outcome(text, "PLAN-02", "grounds.spare"), Outcome::Fail);
        assert_eq!(outcome(text, "PLAN-02", "drivers.sub"), Outcome::Fail);
    }

    #[test]
    fn a_slip_of_the_pen_is_not_reported_twice() {
        let text = "plan: 1\namplifiers: {amp: {}}\ngrounds: {floor: {}}\nwires: {return: {from: amp.ground, to: grounds.flor}}\n";
        assert_eq!(outcome(text, "PLAN-01", "wires.return.to"), Outcome::Fail);
        assert_eq!(outcome(text, "PLAN-02", "grounds.floor"), Outcome::Pass);
    }

    #[test]
    fn a_step_or_a_measurement_alone_is_no_use() {
        let text = "plan: 1\ngrounds: {floor: {}}\nsteps: [{ground: floor}]\nmeasured: {grounds: {floor: 3 mohm}}\n";
        assert_eq!(outcome(text, "PLAN-02", "grounds.floor"), Outcome::Fail);
    }

    #[test]
    fn the_same_name_in_another_section_is_another_thing() {
        let text = "plan: 1\nsources: {radio: {}}\nconverters: {radio: {}}\nsignals: {left: {from: radio}}\n";
        assert_eq!(outcome(text, "PLAN-02", "sources.radio"), Outcome::Pass);
        assert_eq!(outcome(text, "PLAN-02", "converters.radio"), Outcome::Fail);
    }

    #[test]
    fn every_kind_of_thing_that_joins_nothing_is_told_and_only_a_ground_is_offered_taken_out() {
        let text = "plan: 1\nbatteries: {aux: {}}\nisolators: {relay: {}}\nblocks: {split: {outputs: {one: {}}}}\ngrounds: {floor: {}, wall: {}}\n";
        for place in ["batteries.aux", "isolators.relay", "blocks.split"] {
            assert_eq!(outcome(text, "PLAN-02", place), Outcome::Fail, "{place}");
            assert!(after(text, "PLAN-02", place).is_empty(), "{place}");
        }
        assert_eq!(after(text, "PLAN-02", "grounds.wall"), [text.replace(", wall: {}", "")]);
    }
}
