//! A fuse rated above its wire lets the wire become the fuse.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::quantity::{Current, Range};
use crate::solve::facts::sub;
use crate::solve::{Job, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-01",
    name: "fuse-above-wire",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("above_wire.md"),
    check: Subjects::Fuse(check),
    slips: &[
        super::Slip::Past("wires.*.fuse|far_fuse.rating"),
        super::Slip::Past("blocks.*.outputs.*.fuse.rating"),
        super::Slip::Past("wires.*.size"),
        super::Slip::Past("wires.*.insulation"),
        super::Slip::Past("wires.*.conductor"),
        super::Slip::Past("wires.*.bundle"),
    ],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let place = sub(&site.place, "rating");
    let rating = site.fuse.rating.ok_or_else(|| Undecided::need(place.clone()))?;
    let wires = job.protected_by(fuse);
    let carried = all(wires.iter().map(|wire| job.ampacity(&job.wires[*wire])))?;
    let weakest = wires.iter().zip(&carried).min_by(|one, other| {
        let key = |carries: &crate::solve::facts::Carries| carries.ampacity.low();
        key(one.1).total_cmp(&key(other.1))
    });
    let (wire, carries) = weakest.ok_or(Undecided::NotApplicable("this fuse protects no wire alone"))?;
    let wire = &job.wires[*wire];
    let over = job.house.limits.fuse_over_ampacity;
    let limit: Range<Current> = carries.ampacity * over.base();
    Ok(at_most(rating, limit)
        .formula("rating <= ampacity of the weakest wire that this fuse alone protects")
        .given(Input::stated("fuse rating", rating, place.clone()))
        .given(Input::word("wire size", carries.size.to_string(), wire.at("size")))
        .given(Input::known("insulation", &carries.insulation))
        .given(Input::known("hottest place on its way", &carries.ambient))
        .limit_from(over.source)
        .verdict(|is| {
            Finding::new(place, format!("{rating} fuse on a wire that carries {}", carries.ampacity))
                .label(format!("{rating} here"))
                .also(wire.at("size"), format!("{} carries {} where it runs", carries.size, is.limit()))
                .because("a fuse must open before the wire is hurt; above the wire's rating the wire is the fuse")
                .mend(format!(
                    "fit a fuse of at most {}{}, or a thicker wire",
                    Range::<Current>::point(is.limit().low),
                    job.house.stock.named_at_most(site.fuse.form, is.limit().low)
                ))
                .offers(super::offers::at_most(site, is.limit().low, job))
                .offers(super::offers::thicker_wire(site, job))
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{offered, outcome, outcome_by};

    /// 4 AWG of class 105 C carries 160 A at 30 C (33 CFR 183.425 table 5).
    fn plan(fuse: &str, insulation: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, size: 4 AWG, \
             conductor: copper, {insulation} length: 4 m, path: [cargo], fuse: {{form: bolt-down, rating: {fuse}, distance: 20 cm}}}}\n"
        )
    }

    #[test]
    fn a_fuse_at_the_wires_rating_passes_and_one_ampere_more_fails() {
        assert_eq!(outcome(&plan("160 A", "insulation: 105 C,"), "FUSE-01", "wires.main.fuse"), Outcome::Pass);
        assert_eq!(outcome(&plan("161 A", "insulation: 105 C,"), "FUSE-01", "wires.main.fuse"), Outcome::Fail);
    }

    #[test]
    fn an_insulation_that_is_not_stated_leaves_it_open_and_says_where_it_turns() {
        let check = crate::rules::trial::check(&plan("120 A", ""), "FUSE-01", "wires.main.fuse");
        assert_eq!(check.outcome, Outcome::Open);
        let turn = &check.turns[0];
        assert_eq!((turn.place.path().as_str(), turn.value.as_str()), ("wires.main.insulation", "75 C"));
    }

    /// A house that asks for a fifth in hand: 80 % of 160 A are 128 A.
    #[test]
    fn a_house_may_hold_fuses_further_below_their_wires() {
        let mut house = crate::house::House::default();
        house.limits.fuse_over_ampacity.value = crate::quantity::Quantity::new(0.8);
        let of = |fuse: &str| outcome_by(&house, &plan(fuse, "insulation: 105 C,"), "FUSE-01", "wires.main.fuse");
        assert_eq!((of("128 A"), of("129 A")), (Outcome::Pass, Outcome::Fail));
    }

    #[test]
    fn a_smaller_fuse_or_the_next_thicker_wire_is_offered() {
        let offers = offered(&plan("225 A", "insulation: 105 C,"), "FUSE-01", "wires.main.fuse");
        assert_eq!(offers[0], ("fit a 150 A fuse".to_owned(), vec!["wires.main.fuse.rating".to_owned()]));
        let wire = offers.iter().find(|(title, _)| title.starts_with("lay")).expect("a thicker wire");
        assert_eq!(wire, &("lay 2 AWG".to_owned(), vec!["wires.main.size".to_owned()]));
    }
}
