//! A remote output gives little; what hangs on it must ask no more.

use crate::judge::{Finding, Input, Judged, Rule, Severity, Subjects, at_most};
use crate::plan::{FeedKind, TurnOn, TurnOnOutput};
use crate::quantity::{Current, Range};
use crate::solve::{Decided, Job, Known, Origin, Place, Thing, Undecided, all};

/// The rule.
pub const RULE: Rule = Rule {
    code: "TURN-03",
    name: "turn-overload",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("overload.md"),
    check: Subjects::TurnOn(check),
    slips: &[
        super::Slip::Past("turn_on.*.from.spare"),
        super::Slip::Past("amplifiers.*.remote_current"),
        super::Slip::Drop("turn_on.*.relay"),
    ],
};

fn check(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Judged {
    let gives = gives(lead, job)?;
    let same: Vec<_> = job.turn_on.iter().filter(|other| output(other, job) == output(lead, job)).collect();
    if same.first().is_some_and(|first| first.address != lead.address) {
        return Err(Undecided::NotApplicable("counted with another lead on the same output"));
    }
    let asked = all(same.iter().map(|lead| super::site::drawn(lead, job)))?.concat();
    let sum: Range<Current> = asked.iter().map(|(_, one)| one.range).sum();
    let source = match &gives.origin {
        Origin::Assumed(_, source) => source,
        _ => "as the plan states it",
    };
    Ok(at_most(sum, gives.range)
        .formula("sum of what hangs on the output, or the relay's coil in its place")
        .given_all(asked.iter().map(|(name, one)| Input::known(name, one)))
        .limit_from(source)
        .verdict(|is| {
            let mend = if lead.relay.is_some() {
                "use a relay with a smaller coil, or feed the coil from an accessory circuit with a fuse of its own"
            } else {
                "switch them through a relay whose coil this output can hold, the contact fused and fed from elsewhere"
            };
            let stated = super::site::feed(lead, |from| from.spare).is_some();
            let output = lead.at(if stated { "from.spare" } else { "from.kind" });
            Finding::new(output, format!("{} asked of an output that gives {}", is.result(), is.limit()))
                .label(format!("gives {}", is.limit()))
                .also(lead.at(if lead.relay.is_some() { "relay" } else { "to" }), format!("asks {}", is.result()))
                .because("an overloaded remote output sags or burns out, and the radio goes with it")
                .mend(mend)
                .offers(super::site::through_relay(lead, gives.range.low()))
        }))
}

/// Which output a lead hangs on; a radio output that does not say whose is that of the only source.
fn output<'a>(lead: &'a TurnOn, job: &Job<'a>) -> (Option<FeedKind>, Option<&'a str>) {
    let kind = super::site::feed(lead, |from| from.kind);
    let of = lead.from.as_ref().and_then(|from| from.of.as_deref());
    let only = || match (kind, job.plan.sources.len()) {
        (Some(FeedKind::RadioOutput), 1) => job.plan.sources.keys().next().map(String::as_str),
        _ => None,
    };
    (kind, of.or_else(only))
}

/// What the output gives.
fn gives(lead: &Thing<'_, TurnOn>, job: &Job<'_>) -> Decided<Known<Current>> {
    let place = lead.at("from.spare");
    let stated = super::site::feed(lead, |from| from.spare);
    match (super::site::kind(lead)?, stated) {
        (FeedKind::RadioOutput, stated) => Ok(job.assume(place, stated, &job.house.assumptions.radio_output)),
        (FeedKind::ConverterOutput, Some(stated)) => Ok(Known { range: stated.into(), origin: Origin::Stated(place) }),
        (FeedKind::ConverterOutput, None) => {
            let name = lead.need("from.of", &super::site::feed(lead, |from| from.of.clone()))?;
            let place = Place::of(format!("converters.{name}.turn_on_current"));
            let converter = job.plan.converters.get(&name);
            if converter.is_some_and(|converter| converter.turn_on_output == Some(TurnOnOutput::None)) {
                return Err(Undecided::NotApplicable("the converter has no such output (TURN-02 reports that)"));
            }
            let stated = converter.and_then(|converter| converter.turn_on_current);
            let stated = stated.ok_or_else(|| Undecided::need(place.clone()))?;
            Ok(Known { range: stated.into(), origin: Origin::Stated(place) })
        }
        (FeedKind::AlternatorSignal, stated) => {
            let stated = stated.ok_or_else(|| Undecided::need(place.clone()))?;
            Ok(Known { range: stated.into(), origin: Origin::Stated(place) })
        }
        (FeedKind::SignalSensing, _) => Err(Undecided::NotApplicable("the amplifier turns itself on")),
        _ => Err(Undecided::NotApplicable("a tapped circuit: FUSE-13 judges what it can spare")),
    }
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, offered, outcome};

    fn plan(from: &str, more: &str, first: &str) -> String {
        format!(
            "plan: 1\nconverters: {{loc: {{turn_on_output: switched, turn_on_current: 100 mA, current: 60 mA}}}}\n\
             amplifiers: {{a: {{remote_current: {first}}}, b: {{remote_current: 50 mA}}}}\n\
             turn_on:\n  remote: {{from: {from}, to: [a.remote, b.remote]{more}}}\n"
        )
    }

    fn of(from: &str, more: &str, first: &str) -> Outcome {
        outcome(&plan(from, more, first), "TURN-03", "turn_on.remote")
    }

    /// The terminal drives the charge lamp, and next to nothing beside it: what it spares is asked for.
    #[test]
    fn the_lamp_terminal_of_an_alternator_is_asked_what_it_gives() {
        assert_eq!(of("{kind: alternator-signal, spare: 150 mA}", "", "100 mA"), Outcome::Pass);
        assert_eq!(of("{kind: alternator-signal, spare: 150 mA}", "", "101 mA"), Outcome::Fail);
        assert_eq!(of("{kind: alternator-signal}", "", "100 mA"), Outcome::Open);
    }

    #[test]
    fn the_sum_at_what_the_output_gives_passes_and_one_milliampere_more_fails() {
        let from = "{kind: radio-output, spare: 150 mA}";
        assert_eq!(of(from, "", "100 mA"), Outcome::Pass);
        assert_eq!(of(from, "", "101 mA"), Outcome::Fail);
        assert_eq!(of("{kind: converter-output, of: loc}", "", "50 mA"), Outcome::Pass);
        assert_eq!(of("{kind: converter-output, of: loc}", "", "51 mA"), Outcome::Fail);
    }

    /// A converter from 24 V is switched on by its turn-on terminal; a relay's sense wire draws next to nothing.
    #[test]
    fn what_switches_a_converter_on_draws_and_what_a_relay_senses_does_not() {
        let of = |third: &str| {
            let text = plan("{kind: radio-output, spare: 150 mA}", "", "100 mA")
                .replace("b.remote]", &format!("b.remote, {third}]"))
                + "isolators: {down: {kind: step-down}, part: {kind: relay}}\n";
            outcome(&text, "TURN-03", "turn_on.remote")
        };
        assert_eq!(
            (of("down.remote"), of("down.sense"), of("part.sense")),
            (Outcome::Fail, Outcome::Pass, Outcome::Pass)
        );
    }

    #[test]
    fn an_output_that_is_not_stated_gives_150_to_300_milliamperes() {
        assert_eq!(of("{kind: radio-output}", "", "100 mA"), Outcome::Pass);
        assert_eq!(of("{kind: radio-output}", "", "101 mA"), Outcome::Open);
        assert_eq!(of("{kind: radio-output}", "", "251 mA"), Outcome::Fail);
    }

    #[test]
    fn behind_a_relay_only_the_coil_counts() {
        let from = "{kind: radio-output, spare: 150 mA}";
        assert_eq!(of(from, ", relay: {coil_current: 150 mA}", "900 mA"), Outcome::Pass);
        assert_eq!(of(from, ", relay: {coil_current: 151 mA}", "1 mA"), Outcome::Fail);
        let open = check(&plan(from, ", relay: {}", "1 mA"), "TURN-03", "turn_on.remote");
        assert_eq!(
            (open.outcome, open.turns[0].place.path().as_str()),
            (Outcome::Open, "turn_on.remote.relay.coil_current")
        );
    }

    #[test]
    fn two_leads_on_one_output_are_counted_together() {
        let more = "}\n  second: {from: {kind: radio-output, of: radio, spare: 150 mA}, to: [loc.power]";
        let plan = plan("{kind: radio-output, of: radio, spare: 150 mA}", more, "50 mA");
        assert_eq!(outcome(&plan, "TURN-03", "turn_on.remote"), Outcome::Fail);
        assert_eq!(outcome(&plan, "TURN-03", "turn_on.second"), Outcome::NotApplicable);
        let unnamed = plan.replacen("of: radio, ", "", 1) + "sources: {radio: {}}\n";
        assert_eq!(outcome(&unnamed, "TURN-03", "turn_on.remote"), Outcome::Fail, "there is only one radio");
        let other = plan.replacen("of: radio, ", "of: other, ", 1);
        assert_eq!(outcome(&other, "TURN-03", "turn_on.remote"), Outcome::Pass);
    }

    #[test]
    fn what_lives_on_the_output_draws_all_that_it_takes() {
        let of = |gear: &str, to: &str| {
            let text = format!(
                "plan: 1\n{gear}\nturn_on: {{remote: {{from: {{kind: radio-output, spare: 150 mA}}, to: [{to}]}}}}\n"
            );
            outcome(&text, "TURN-03", "turn_on.remote")
        };
        let dsp = "sources: {dsp: {kind: processor, current: 600 mA}}";
        assert_eq!((of(dsp, "dsp.power"), of(dsp, "dsp.remote")), (Outcome::Fail, Outcome::Pass));
        assert_eq!(of("sources: {dsp: {kind: processor}}", "dsp.power"), Outcome::Fail, "0.2 A at least");
        assert_eq!(of("converters: {loc: {}}", "loc.power"), Outcome::Open, "60 to 200 mA");
        assert_eq!(of("converters: {loc: {current: 160 mA}}", "loc.power"), Outcome::Fail);
    }

    /// What the output spares is compared, and where the plan states that, it is shown.
    #[test]
    fn it_points_at_what_the_output_spares() {
        let at = |from: &str| {
            let finding = check(&plan(from, "", "300 mA"), "TURN-03", "turn_on.remote").finding.expect("it fails");
            finding.at.place.path()
        };
        assert_eq!(at("{kind: radio-output, spare: 150 mA}"), "turn_on.remote.from.spare");
        assert_eq!(at("{kind: radio-output}"), "turn_on.remote.from.kind");
    }

    #[test]
    fn a_tapped_circuit_is_judged_elsewhere() {
        assert_eq!(of("{kind: accessory, spare: 1 mA}", "", "100 mA"), Outcome::NotApplicable);
    }

    /// A relay's coil takes 100 mA: an output that gives less has nothing to switch it by.
    #[test]
    fn a_relay_is_offered_where_the_output_can_hold_its_coil() {
        let of = |spare: &str, more: &str| {
            let text = plan(&format!("{{kind: radio-output, spare: {spare}}}"), more, "200 mA");
            offered(&text, "TURN-03", "turn_on.remote")
        };
        let relay = ("switch it through a relay of 100 mA".to_owned(), vec!["turn_on.remote.relay".to_owned()]);
        assert_eq!(of("100 mA", ""), [relay]);
        assert!(of("99 mA", "").is_empty());
        assert!(of("100 mA", ", relay: {coil_current: 150 mA}").is_empty());
    }

    #[test]
    fn what_a_lead_says_of_its_converter_comes_first() {
        let from = |spare: &str| format!("{{kind: converter-output, of: loc, spare: {spare}}}");
        assert_eq!(of(&from("60 mA"), "", "50 mA"), Outcome::Fail);
        assert_eq!(of(&from("200 mA"), "", "150 mA"), Outcome::Pass);
    }

    #[test]
    fn it_is_told_whose_figure_the_limit_is() {
        let source = |from: &str| {
            let check = check(&plan(from, "", "300 mA"), "TURN-03", "turn_on.remote");
            check.working.expect("it is computed").source
        };
        assert_eq!(source("{kind: radio-output, spare: 150 mA}"), "as the plan states it");
        assert_eq!(source("{kind: radio-output}"), crate::house::House::default().assumptions.radio_output.source);
    }
}
