//! A fuse that opens in normal use gets replaced by a larger one, sooner or later.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_least};
use crate::solve::facts::sub;
use crate::solve::{Case, Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-04",
    name: "fuse-under-load",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("under_load.md"),
    check: Subjects::Fuse(check),
    slips: &[super::Slip::Past("wires.*.fuse|far_fuse.rating"), super::Slip::Past("blocks.*.outputs.*.fuse.rating")],
};

/// Less than this is no load, in A.
const NOTHING: f64 = 0.001;

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let place = sub(&site.place, "rating");
    let rating = site.fuse.rating.ok_or_else(|| Undecided::need(place.clone()))?;
    let full = job.fuse_current(fuse, Case::IdleFull)?;
    let programme = job.fuse_current(fuse, Case::IdleProgramme)?;
    if full.range.high() < NOTHING {
        return Err(Undecided::NotApplicable("no amplifier draws through this fuse"));
    }
    let loading = job.house.limits.fuse_loading;
    let asked = full.range.max(programme.range / loading.base());
    Ok(at_least(rating, asked)
        .formula("rating >= current at full output, and >= programme current / loading")
        .given(Input::stated("fuse rating", rating, place.clone()))
        .given(Input::known("current at full output", &full))
        .given(Input::known("current with programme", &programme))
        .given(Input::limit("loading", &loading))
        .limit_from(loading.source)
        .verdict(|is| {
            let noun = site.fuse.noun();
            Finding::new(place, format!("{rating} {noun} under a load of {}", is.limit()))
                .label(format!("{rating}, at least {asked} asked"))
                .because("it opens while the music plays, and what opens often gets replaced by a larger one")
                .mend(format!(
                    "fit a {noun} of at least {}{}, if the wire carries it (FUSE-01)",
                    asked.at_high(),
                    job.house.stock.named_at_least(site.fuse.form, asked.high())
                ))
                .offers(super::offers::at_least(site, asked.high(), job))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome, outcome_by};

    /// One amplifier: 400 W at 80 % takes 500 W, so about 40 A. The fuses' resistance is stated, as it follows their rating.
    fn plan(main: &str, rated: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{voltage: 12 V, body: steel}}\n\
             amplifiers: {{amp: {{class: D, channels: 1, efficiency: 80 %, idle_current: 1 A{rated}}}}}\n\
             grounds: {{floor: {{}}}}\nblocks: {{split: {{outputs: {{one: {{fuse: {{form: bolt-down, resistance: 1 mohm, rating: {main}}}}}}}}}}}\n\
             wires:\n  main: {{from: battery.positive, to: split.in, size: 2 AWG, length: 40 cm, conductor: copper}}\n  \
             branch: {{from: split.one, to: amp.power, size: 2 AWG, length: 3 m, conductor: copper, \
             far_fuse: {{form: bolt-down, resistance: 1 mohm, rating: {main}, distance: 10 cm}}}}\n  \
             return: {{from: amp.ground, to: grounds.floor, size: 2 AWG, length: 40 cm, conductor: copper}}\n"
        )
    }

    const RATED: &str = ", rated: [{load: 2 ohm, power: 400 W}]";

    #[test]
    fn a_fuse_under_the_current_at_full_output_fails_in_wire_and_block() {
        for subject in ["wires.branch.far_fuse", "blocks.split.outputs.one.fuse"] {
            let low = outcome(&plan("30 A", RATED), "FUSE-04", subject);
            let high = outcome(&plan("60 A", RATED), "FUSE-04", subject);
            assert_eq!((low, high), (Outcome::Fail, Outcome::Pass), "{subject}");
        }
    }

    /// The limit that the working shows is where the verdict turns.
    #[test]
    fn at_the_limit_it_passes_and_just_under_it_is_no_longer_sure() {
        let subject = "wires.branch.far_fuse";
        let limit = check(&plan("60 A", RATED), "FUSE-04", subject).working.map(|working| working.limit);
        let high = limit.map(|limit| limit.high).unwrap_or_default();
        assert!(high > 37.0 && high < 50.0, "{high}");
        assert_eq!(outcome(&plan(&format!("{} A", high + 0.01), RATED), "FUSE-04", subject), Outcome::Pass);
        assert_eq!(outcome(&plan(&format!("{} A", high - 0.01), RATED), "FUSE-04", subject), Outcome::Open);
    }

    #[test]
    fn a_rated_power_that_is_not_stated_leaves_it_open() {
        let check = check(&plan("60 A", ""), "FUSE-04", "wires.branch.far_fuse");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "amplifiers.amp.rated");
    }

    /// A third of 500 W is 208 W of programme and some 16 A with the idle current; a house that lets a fuse carry a fifth of
    /// its rating for long asks for some 80 A.
    #[test]
    fn a_house_may_load_its_fuses_less() {
        let mut house = crate::house::House::default();
        house.limits.fuse_loading.value = crate::quantity::Quantity::new(0.2);
        let of = |fuse: &str| outcome_by(&house, &plan(fuse, RATED), "FUSE-04", "wires.branch.far_fuse");
        assert_eq!((of("60 A"), of("100 A")), (Outcome::Fail, Outcome::Pass));
    }

    #[test]
    fn a_fuse_through_which_nothing_flows_is_none_of_its_business() {
        let spare = plan("60 A", RATED).replace("outputs: {", "outputs: {spare: {}, ");
        let spare = format!(
            "{spare}  spare: {{from: split.spare, to: later.power, size: 8 AWG, length: 1 m, conductor: copper, \
             fuse: {{form: bolt-down, rating: 30 A, distance: 10 cm}}}}\n"
        );
        assert_eq!(outcome(&spare, "FUSE-04", "wires.spare.fuse"), Outcome::NotApplicable);
    }
}
