//! A speaker lead that keeps too much of the power.

use super::site;
use crate::judge::{Finding, Input, Judged, Offer, Rule, Severity, Subjects, at_most};
use crate::plan::Load;
use crate::quantity::{Range, Share};
use crate::solve::{Job, Origin, Thing, Undecided, all, coils, levels};

/// The rule.
pub const RULE: Rule = Rule {
    code: "WIRE-11",
    name: "speaker-lead-loss",
    severity: Severity::Advice,
    since: "0.1",
    page: include_str!("speaker_lead.md"),
    check: Subjects::Load(check),
    slips: &[
        super::Slip::Say("loads.*.lead.size", &["16 AWG", "18 AWG", "20 AWG", "22 AWG"]),
        super::Slip::Say("loads.*.lead.length", &["9 m", "12 m", "16 m"]),
    ],
};

fn check(load: &Thing<'_, Load>, job: &Job<'_>) -> Judged {
    let stated = load.lead.clone().unwrap_or_default();
    let impedance = coils::load_impedance(job, load);
    let length = load.need("lead.length", &stated.length);
    let size = load.need("lead.size", &stated.size);
    all([impedance.clone().map(drop), length.clone().map(drop), size.clone().map(drop)])?;
    let (impedance, length, size) = (impedance?, length?, size?);
    if impedance.low() <= 0.0 {
        return Err(Undecided::NotApplicable("the coils are shorted (LOAD-09 reports that)"));
    }
    let resistance = coils::lead_resistance(job, load)?.range;
    let lost = levels::lead_loss(resistance, impedance);
    let most = job.house.limits.lead_loss;
    let limit = Range::<Share>::point(most.base() * 100.0);
    Ok(at_most(lost, limit)
        .formula("R / (R + Z): resistance of the lead there and back at 30 C, against that of the load with it")
        .given(Input::stated("length one way", length, load.at("lead.length")))
        .given(Input::word("size", size.to_string(), load.at("lead.size")))
        .given(Input::from("resistance there and back", resistance, Origin::Computed("length, size and metal at 30 C")))
        .given(Input::from("load", impedance, Origin::Computed("coils in series and parallel")))
        .limit_from(most.source)
        .verdict(|is| {
            // Loss stays under the share s while R < Z s / (1 - s); area goes as one over R.
            let allowed = impedance.low() * most.base() / (1.0 - most.base());
            let mend = match site::at_least(size.square_millimetres() * resistance.high() / allowed, size, job) {
                Some(thicker) => format!("fit {thicker}, or shorten the lead"),
                None => "move the amplifier nearer to the speakers".to_owned(),
            };
            Finding::new(
                load.at("lead.size"),
                format!("speaker lead keeps {} of the power, {} is the most", is.result(), is.limit()),
            )
            .label(format!("{resistance} there and back"))
            .also(load.at("lead.length"), format!("into {impedance}"))
            .because("power that heats the lead makes no sound, and the amplifier holds the cone less firmly")
            .mend(mend)
            .offers(
                site::thicker(size, job)
                    .into_iter()
                    .map(|size| Offer::new(format!("lay {size}")).set(load.at("lead.size"), size)),
            )
        }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(lead: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\ndrivers: {{sub: {{coils: [4 ohm, 4 ohm]}}}}\nloads: {{bass: {{amplifier: amp, \
             outputs: [1], coils: {{parallel: [sub.1, sub.2]}}, {lead}}}}}\n"
        )
    }

    #[test]
    fn the_loss_is_the_leads_share_of_the_whole_circuit() {
        // 16 AWG is 1.309 mm2: 13.69 mohm/m at 30 C, 13.96 with the twist. Into 2 ohm 5 % are lost at 105.3 mohm, so
        // 3.76 m one way pass (105.3 / 2 / 13.96 = 3.77) and 3.85 m fail for certain (105.3 / 2 / 13.69 = 3.84).
        let lead = |metres: &str| plan(&format!("lead: {{size: 16 AWG, conductor: copper, length: {metres}}}"));
        assert_eq!(outcome(&lead("3.76 m"), "WIRE-11", "loads.bass"), Outcome::Pass);
        assert_eq!(outcome(&lead("3.85 m"), "WIRE-11", "loads.bass"), Outcome::Fail);
    }

    #[test]
    fn the_size_it_proposes_does() {
        let bad = plan("lead: {size: 18 AWG, conductor: copper, length: 5 m}");
        let mend = check(&bad, "WIRE-11", "loads.bass").finding.unwrap().mend;
        let size = mend.strip_prefix("fit ").and_then(|rest| rest.split(',').next()).unwrap().to_owned();
        assert_eq!(outcome(&bad.replace("18 AWG", &size), "WIRE-11", "loads.bass"), Outcome::Pass);
    }

    #[test]
    fn a_metal_that_decides_or_a_lead_that_is_missing_leaves_it_open() {
        let metal = check(&plan("lead: {size: 16 AWG, length: 3 m}"), "WIRE-11", "loads.bass");
        assert_eq!(metal.outcome, Outcome::Open);
        assert_eq!(metal.turns[0].place.path(), "loads.bass.lead.conductor");
        let missing = check(&plan("reversed: false"), "WIRE-11", "loads.bass");
        let needs: Vec<String> = missing.needs.iter().map(crate::solve::Place::path).collect();
        assert_eq!(needs, ["loads.bass.lead.length", "loads.bass.lead.size"]);
    }

    /// The thinnest American gauge that keeps the loss in bounds, and no thinner one.
    #[test]
    fn the_size_it_proposes_is_the_thinnest_that_does() {
        let sizes = ["16 AWG", "14 AWG", "12 AWG", "10 AWG", "8 AWG", "6 AWG", "4 AWG", "2 AWG"];
        for half_metres in 6..=40 {
            let text = |size: &str| {
                plan(&format!("lead: {{size: {size}, conductor: copper, length: {} m}}", f64::from(half_metres) / 2.0))
            };
            let finding = check(&text("18 AWG"), "WIRE-11", "loads.bass").finding.expect("too long for 18 AWG");
            let size =
                finding.mend.strip_prefix("fit ").and_then(|rest| rest.split(',').next()).expect("a size").to_owned();
            let outcomes = sizes.map(|size| outcome(&text(size), "WIRE-11", "loads.bass"));
            let thinnest = outcomes.iter().position(|outcome| *outcome == Outcome::Pass).expect("some do");
            assert_eq!(size, sizes[thinnest], "{half_metres} half metres: {outcomes:?}");
        }
    }
}
