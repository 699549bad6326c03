//! A fuse that nobody makes will be replaced by another one on the day.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::word;
use crate::quantity::{Current, Range};
use crate::solve::facts::sub;
use crate::solve::{Job, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-09",
    name: "fuse-rating-not-made",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("rating_not_made.md"),
    check: Subjects::Fuse(check),
    slips: &[
        super::Slip::Past("wires.*.fuse|far_fuse.rating"),
        super::Slip::Past("blocks.*.outputs.*.fuse.rating"),
        super::Slip::Past("wires.*.fuse|far_fuse.form"),
        super::Slip::Say("wires.*.fuse|far_fuse.rating", &["45 A", "65 A", "90 A", "110 A", "175 A"]),
        super::Slip::Say("blocks.*.outputs.*.fuse.rating", &["45 A", "55 A", "65 A"]),
    ],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let place = sub(&site.place, "rating");
    let rating = site.fuse.rating.ok_or_else(|| Undecided::need(place.clone()))?;
    let form = site.fuse.form.ok_or_else(|| Undecided::need(sub(&site.place, "form")))?;
    let made = form.ratings().to_vec();
    if site.fuse.is_breaker() && job.house.stock.ratings(form).is_none() {
        return Err(Undecided::NotApplicable("no standard says which ratings breakers are made in"));
    }
    let noun = if site.fuse.is_breaker() { "" } else { " fuse" };
    let kept = job.house.stock.ratings(form).map(|kept| kept.iter().map(|rating| rating.base()).collect::<Vec<_>>());
    let is_in = |list: &[f64]| list.iter().any(|other| (other - rating.base()).abs() < 0.01);
    let form = word(&form);
    let near_offers = || {
        let smaller = super::offers::at_most(site, rating.base(), job);
        smaller.into_iter().chain(super::offers::at_least(site, rating.base(), job))
    };
    let because = "on the day another one goes in, and nobody has checked that one";
    Ok(match kept {
        Some(kept) => Verdict::pass_if(is_in(&kept), || {
            let near = neighbours(&kept, rating.base());
            let (label, mend) = match near.as_str() {
                "" => (format!("no {form}{noun} is"), "plan another form, or have one ordered".to_owned()),
                near => (format!("{near} of this form is"), format!("plan {near}, or have this one ordered")),
            };
            let title = format!("no {form}{noun} of {rating} is in stock");
            Finding::new(place, title).label(label).because(because).mend(mend).offers(near_offers())
        }),
        None => Verdict::pass_if(is_in(&made), || {
            let near = neighbours(&made, rating.base());
            Finding::new(place, format!("no {form} fuse is made for {rating}"))
                .label(format!("{form} fuses are made for {near}"))
                .because(because)
                .mend(format!("plan {near}"))
                .offers(near_offers())
        }),
    })
}

/// The ratings of a list next to another, in words.
fn neighbours(list: &[f64], rating: f64) -> String {
    let show = |amperes: &f64| Range::<Current>::point(*amperes).to_string();
    let below = list.iter().rev().find(|other| **other < rating).map(show);
    let above = list.iter().find(|other| **other > rating).map(show);
    [below, above].into_iter().flatten().collect::<Vec<_>>().join(" or ")
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(fuse: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, \
             fuse: {{distance: 20 cm, {fuse}}}}}\n"
        )
    }

    #[test]
    fn the_list_depends_on_the_form() {
        let of = |fuse: &str| outcome(&plan(fuse), "FUSE-09", "wires.main.fuse");
        assert_eq!(of("form: bolt-down, rating: 125 A"), Outcome::Pass);
        assert_eq!(of("form: blade-large, rating: 125 A"), Outcome::Fail);
        assert_eq!(of("form: blade-regular, rating: 7.5 A"), Outcome::Pass);
        assert_eq!(of("form: bolt-down, rating: 7.5 A"), Outcome::Fail);
        assert_eq!(of("form: blade-miniature, rating: 35 A"), Outcome::Fail);
    }

    #[test]
    fn breakers_are_held_against_the_stock_alone() {
        let text = plan("form: circuit-breaker, rating: 65 A");
        assert_eq!(outcome(&text, "FUSE-09", "wires.main.fuse"), Outcome::NotApplicable);
        let mut house = crate::house::House::default();
        house.stock.fuses.insert(crate::plan::FuseForm::CircuitBreaker, vec![crate::quantity::Quantity::new(60.0)]);
        let by = |text: &str| crate::rules::trial::outcome_by(&house, text, "FUSE-09", "wires.main.fuse");
        assert_eq!((by(&text), by(&text.replace("65 A", "60 A"))), (Outcome::Fail, Outcome::Pass));
    }

    #[test]
    fn it_names_the_neighbours_that_are_made() {
        let failed = check(&plan("form: bolt-down, rating: 90 A"), "FUSE-09", "wires.main.fuse");
        assert_eq!(failed.finding.map(|finding| finding.mend).as_deref(), Some("plan 80 A or 100 A"));
        let failed = check(&plan("form: blade-large, rating: 120 A"), "FUSE-09", "wires.main.fuse");
        assert_eq!(failed.finding.map(|finding| finding.mend).as_deref(), Some("plan 100 A"));
    }

    #[test]
    fn a_form_that_is_not_stated_leaves_it_open() {
        let check = check(&plan("rating: 60 A"), "FUSE-09", "wires.main.fuse");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "wires.main.fuse.form"));
    }
}
