//! A fuse that has to break more than it can goes on as an arc.

use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::quantity::text::rounded_up;
use crate::quantity::{Current, Range};
use crate::solve::facts::sub;
use crate::solve::{Job, Origin};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-06",
    name: "fuse-breaking-capacity",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("breaking_capacity.md"),
    check: Subjects::Fuse(check),
    slips: &[
        super::Slip::Say("wires.*.fuse|far_fuse.breaking_capacity", &["1 kA", "500 A"]),
        super::Slip::Say("blocks.*.outputs.*.fuse.breaking_capacity", &["1 kA"]),
        super::Slip::Past("wires.*.fuse|far_fuse.breaking_capacity"),
        super::Slip::Past("blocks.*.outputs.*.fuse.breaking_capacity"),
        super::Slip::Past("vehicle.battery.cold_cranking"),
        super::Slip::Past("batteries.*.cold_cranking"),
    ],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let capacity = job.breaking_capacity(&site.fuse, &site.place)?;
    let current = job.fault_behind(fuse)?;
    let stated = if site.fuse.breaking_capacity.is_some() { "breaking_capacity" } else { "form" };
    let place = sub(&site.place, stated);
    Ok(at_most(current, capacity.range)
        .formula("battery voltage / (battery + wires and joints up to the fuse) <= breaking capacity")
        .given(Input::from(
            "current of a short right behind the fuse",
            current,
            Origin::Computed("battery at rest, body left out"),
        ))
        .given(Input::known("breaking capacity", &capacity))
        .limit_from("what the fuse interrupts, by its maker or by the standard of its form")
        .verdict(|is| {
            let asked = Range::<Current>::point(rounded_up(current.high()));
            let breaks = sub(&site.place, "breaking_capacity");
            let noun = site.fuse.noun();
            let stronger = if site.fuse.is_breaker() {
                Offer::new(format!("fit a breaker that breaks {asked}"))
            } else {
                Offer::new(format!("fit a bolt-down fuse that breaks {asked}")).set(sub(&site.place, "form"), "bolt-down")
            };
            let stronger = stronger.set(breaks, asked);
            Finding::new(place, format!("a short behind this {noun} draws {}, it breaks {}", is.result(), is.limit()))
                .label(format!("breaks {}", is.limit()))
                .because(if site.fuse.is_breaker() {
                    "above its breaking capacity the contacts of a breaker weld together or its case bursts, and the current goes on"
                } else {
                    "above its breaking capacity a fuse bursts and the arc goes on"
                })
                .mend(format!("fit a {noun} that breaks at least {}", current.at_high()))
                .offer(stronger)
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    /// 12.6 V behind 6 mohm, and a measured joint: 12.6 / (0.006 + 0.0003) = 2000 A at the post.
    fn plan(fuse: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, battery: {{internal_resistance: 6 mohm, rest_voltage: 12.6 V}}}}\n\
             amplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, size: 4 AWG, \
             length: 4 m, joint_resistance: 0.15 mohm, fuse: {{rating: 60 A, distance: 0 m{fuse}}}}}\n"
        )
    }

    #[test]
    fn a_fuse_that_breaks_just_what_a_short_draws_passes() {
        let subject = "wires.main.fuse";
        assert_eq!(outcome(&plan(", breaking_capacity: 2001 A"), "FUSE-06", subject), Outcome::Pass);
        assert_eq!(outcome(&plan(", breaking_capacity: 1990 A"), "FUSE-06", subject), Outcome::Fail);
    }

    /// A blade breaks 1 kA; a strip 1 to 2 kA by type, which its maker has to say.
    #[test]
    fn the_form_stands_in_for_a_capacity_that_is_not_stated() {
        let subject = "wires.main.fuse";
        assert_eq!(outcome(&plan(", form: blade-large"), "FUSE-06", subject), Outcome::Fail);
        assert_eq!(outcome(&plan(", form: bolt-down"), "FUSE-06", subject), Outcome::Open);
        let open = check(&plan(", form: circuit-breaker"), "FUSE-06", subject);
        assert_eq!(open.needs[0].path(), "wires.main.fuse.breaking_capacity", "no standard promises one");
        let open = check(&plan(""), "FUSE-06", subject);
        assert_eq!(open.needs[0].path(), "wires.main.fuse.form");
    }

    #[test]
    fn a_stronger_breaker_is_offered_for_a_breaker() {
        let text = plan(", form: circuit-breaker, breaking_capacity: 1 kA");
        let finding = crate::rules::trial::finding(&text, "FUSE-06", "wires.main.fuse");
        assert_eq!(finding.mend, "fit a breaker that breaks at least 2 kA");
        assert_eq!(finding.offers[0].places().len(), 1, "its form stays");
    }

    /// A battery of 400 A cold cranking has 5 to 13.5 mohm: at 5 the short is too much for 2 kA whatever the joints are,
    /// and a little above it passes only with poor ones. What helps is the resistance from which it passes.
    #[test]
    fn it_says_from_which_resistance_of_the_battery_it_passes() {
        let text = "plan: 1\nvehicle: {voltage: 12 V, battery: {cold_cranking: 400 A}}\namplifiers: {amp: {}}\nwires:\n  \
                    main: {from: battery.positive, to: amp.power, size: 8 AWG, conductor: copper, insulation: 105 C, \
                    length: 3 m, fuse: {form: bolt-down, rating: 30 A, distance: 25 cm, breaking_capacity: 2 kA}}\n";
        let open = check(text, "FUSE-06", "wires.main.fuse");
        let turn = open.turns.iter().find(|turn| turn.place.path() == "vehicle.battery.internal_resistance");
        let turn = turn.expect("the battery decides");
        assert!(turn.words.starts_with("passes from 5."), "{}", turn.words);
    }
}
