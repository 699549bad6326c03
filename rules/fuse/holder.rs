//! A holder that is too small for its wire or its fuse is the hottest joint of the run.

use crate::judge::{Finding, Input, Judged, Offer, Outcome, Rule, Severity, Subjects, at_least};
use crate::plan::Holder;
use crate::solve::protection::{FuseSite, Host};
use crate::solve::{Job, Place, Undecided};
use crate::words;

/// The rule.
pub const RULE: Rule = Rule {
    code: "FUSE-11",
    name: "fuse-holder",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("holder.md"),
    check: Subjects::Fuse(check),
    slips: &[
        super::Slip::Past("wires.*.fuse|far_fuse.holder.takes"),
        super::Slip::Past("wires.*.fuse|far_fuse.holder.rated"),
        super::Slip::Past("blocks.*.outputs.*.fuse.holder.takes"),
        super::Slip::Past("blocks.*.outputs.*.fuse.holder.rated"),
    ],
};

fn check(fuse: usize, job: &Job<'_>) -> Judged {
    let site = &job.protection().fuses[fuse];
    let blank = Holder::default();
    let holder = match (&site.fuse.holder, site.host) {
        (Some(holder), _) => holder,
        (None, Host::Wire { .. }) => &blank,
        (None, Host::Block(_)) => return Err(Undecided::NotApplicable("the block itself holds this fuse")),
    };
    // What fails for sure outweighs a fact that is missing.
    let mut passed = None;
    let mut needs = Vec::new();
    for part in [rated(site, holder), takes(site, holder, job)] {
        match part {
            Ok(verdict) if verdict.outcome == Outcome::Pass => passed = Some(verdict),
            Ok(verdict) => return Ok(verdict),
            Err(Undecided::Open(more)) => needs.extend(more),
            Err(Undecided::NotApplicable(_)) => {}
        }
    }
    match passed {
        _ if !needs.is_empty() => Err(Undecided::Open(needs)),
        Some(verdict) => Ok(verdict),
        None => Err(Undecided::NotApplicable("the block itself takes the wire")),
    }
}

fn below(site: &FuseSite, key: &'static str) -> Place {
    site.place.sub(key)
}

/// Another holder; what is in it stays.
fn larger(site: &FuseSite) -> Offer {
    let what = site.fuse.rating.map_or_else(String::new, |rating| format!(" for {rating}"));
    Offer::new(format!("fit a larger holder{what}"))
}

fn rated(site: &FuseSite, holder: &Holder) -> Judged {
    let place = below(site, "holder.rated");
    if site.fuse.is_breaker() {
        return Err(Undecided::NotApplicable("a breaker holds itself"));
    }
    let rating = site.fuse.rating.ok_or_else(|| Undecided::need(below(site, "rating")))?;
    let rated = holder.rated.ok_or_else(|| Undecided::need(place.clone()))?;
    let comparison = at_least(rated, rating)
        .formula("rating of the holder >= rating of its fuse")
        .given(Input::stated("fuse rating", rating, below(site, "rating")))
        .limit_from("the holder's maker");
    Ok(comparison.verdict(|is| {
        let (rated, asked) = (is.result(), is.limit());
        Finding::new(place, format!("holder made for {rated} with {} fuse in it", words::a(asked)))
            .label(format!("made for {rated}"))
            .also(below(site, "rating"), format!("{asked} fuse"))
            .because("the holder melts at a current that the fuse carries for good")
            .mend(format!("fit a holder made for at least {asked}"))
            .offer(larger(site).set(below(site, "holder.rated"), rating))
    }))
}

fn takes(site: &FuseSite, holder: &Holder, job: &Job<'_>) -> Judged {
    let Host::Wire { wire, .. } = site.host else {
        return Err(Undecided::NotApplicable("the block's terminals take the wire"));
    };
    let (wire, place) = (&job.wires[wire], below(site, "holder.takes"));
    let gauge = wire.need("size", &wire.size)?;
    let takes = holder.takes.ok_or_else(|| Undecided::need(place.clone()))?;
    let comparison = at_least(takes.takes(), gauge.area())
        .formula("the largest that is sold as what goes into the holder, or its metric neighbour >= wire size, by area")
        .given(Input::word("wire size", gauge.to_string(), wire.at("size")))
        .given(Input::word("holder takes", takes.to_string(), place.clone()))
        .limit_from("the holder's maker");
    let holder = if site.fuse.is_breaker() { "breaker" } else { "holder" };
    let finding = || {
        Finding::new(place, format!("{holder} takes {takes}, the wire is {gauge}"))
            .label(format!("takes at most {takes}"))
            .also(wire.at("size"), format!("{gauge} has to go in"))
            .because("a wire that does not fit gets strands cut off, and what is left runs hot")
            .mend(format!("fit a {holder} that takes {gauge}"))
            .offers(site.fuse.rating.filter(|_| !site.fuse.is_breaker()).map(|rating| {
                let (takes, rated) = (below(site, "holder.takes"), below(site, "holder.rated"));
                larger(site).set(takes, gauge).set(rated, rating)
            }))
    };
    Ok(comparison.verdict(|_| finding()))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(holder: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, size: 4 AWG, \
             fuse: {{rating: 60 A, distance: 20 cm{holder}}}}}\n"
        )
    }

    fn of(holder: &str) -> Outcome {
        outcome(&plan(&format!(", holder: {{{holder}}}")), "FUSE-11", "wires.main.fuse")
    }

    #[test]
    fn both_wire_and_fuse_have_to_fit() {
        assert_eq!(of("takes: 4 AWG, rated: 60 A"), Outcome::Pass);
        assert_eq!(of("takes: 4 AWG, rated: 59 A"), Outcome::Fail);
        assert_eq!(of("takes: 5 AWG, rated: 60 A"), Outcome::Fail);
        assert_eq!(of("takes: 1/0 AWG, rated: 300 A"), Outcome::Pass);
        // 4 AWG is 21.15 mm2: a holder for 20 mm2 is sold for it, one for 16 mm2 is not.
        assert_eq!(of("takes: 20 mm2, rated: 60 A"), Outcome::Pass);
        assert_eq!(of("takes: 19.6 mm2, rated: 60 A"), Outcome::Fail);
        assert_eq!(of("takes: 16 mm2, rated: 60 A"), Outcome::Fail);
    }

    /// 25 mm2 go where 4 AWG goes; 35 mm2 and 3 AWG (26.7 mm2) do not.
    #[test]
    fn a_holder_for_an_american_size_takes_its_metric_neighbour() {
        let of = |size: &str| {
            let text = plan(", holder: {takes: 4 AWG, rated: 60 A}").replace("size: 4 AWG", &format!("size: {size}"));
            outcome(&text, "FUSE-11", "wires.main.fuse")
        };
        assert_eq!((of("25 mm2"), of("26 mm2")), (Outcome::Pass, Outcome::Fail));
        assert_eq!((of("35 mm2"), of("3 AWG")), (Outcome::Fail, Outcome::Fail));
    }

    #[test]
    fn a_breaker_is_its_own_holder() {
        let of = |holder: &str| {
            let text = plan(&format!(", form: circuit-breaker, holder: {{{holder}}}"));
            outcome(&text, "FUSE-11", "wires.main.fuse")
        };
        assert_eq!((of("takes: 4 AWG"), of("takes: 8 AWG"), of("")), (Outcome::Pass, Outcome::Fail, Outcome::Open));
    }

    #[test]
    fn what_fails_outweighs_what_is_missing() {
        assert_eq!(of("rated: 40 A"), Outcome::Fail);
        assert_eq!(of("takes: 8 AWG"), Outcome::Fail);
        assert_eq!(of("takes: 4 AWG"), Outcome::Open);
        let open = check(&plan(""), "FUSE-11", "wires.main.fuse");
        let needs: Vec<String> = open.needs.iter().map(crate::solve::Place::path).collect();
        assert_eq!(needs, ["wires.main.fuse.holder.rated", "wires.main.fuse.holder.takes"]);
    }

    /// A breaker comes in one size with its terminals; a fuse goes into a larger holder as it is.
    #[test]
    fn a_larger_holder_is_offered_for_a_fuse_and_not_for_a_breaker() {
        let offers = |form: &str| {
            let text = plan(&format!(", form: {form}, holder: {{takes: 8 AWG, rated: 60 A}}"));
            crate::rules::trial::offered(&text, "FUSE-11", "wires.main.fuse").into_iter().map(|(title, _)| title)
        };
        assert_eq!(offers("bolt-down").collect::<Vec<_>>(), ["fit a larger holder for 60 A"]);
        assert_eq!(offers("circuit-breaker").count(), 0);
    }
}
