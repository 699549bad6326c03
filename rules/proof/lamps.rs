//! The lamps on an amplifier tell at a glance whether its turn-on and its protection do what they should.

use super::site;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{Amplifier, Lamp, TurnOn};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "PROOF-07",
    name: "lamps-wrong",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("lamps.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("measured.indicators.*.off", &["lit"]),
        super::Slip::Say("measured.indicators.*.protection", &["lit"]),
        super::Slip::Say("measured.indicators.*.on", &["dark"]),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    job.amplifiers.iter().flat_map(|amplifier| of(amplifier, job)).collect()
}

fn of(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> [(Place, Judged); 3] {
    let lamps = job.plan.measured.as_ref().and_then(|measured| measured.indicators.get(amplifier.name));
    let lamps = lamps.cloned().unwrap_or_default();
    let at = |key: &str| Place::of(format!("measured.indicators.{}.{key}", amplifier.name));
    let protects = lamps.protection == Some(Lamp::Lit);
    let on = match lamps.on {
        Some(Lamp::Dark) if protects => {
            Err(Undecided::NotApplicable("it protects itself (its protection lamp tells that)"))
        }
        lamp => judge(lamp, Lamp::Lit, || dark(amplifier.name, at("on"))),
    };
    let off = judge(lamps.off, Lamp::Dark, || lit(amplifier.name, at("off"), lead(amplifier.name, job)));
    let protection = judge(lamps.protection, Lamp::Dark, || protecting(amplifier.name, at("protection")));
    [(at("on"), on), (at("off"), off), (at("protection"), protection)]
}

fn judge(lamp: Option<Lamp>, wanted: Lamp, finding: impl FnOnce() -> Finding) -> Judged {
    site::reading(lamp).map(|lamp| Verdict::pass_if(lamp == wanted, finding))
}

/// The turn-on lead that reaches an amplifier.
fn lead<'j, 'a>(amplifier: &str, job: &'j Job<'a>) -> Option<&'j Thing<'a, TurnOn>> {
    job.turn_on.iter().find(|lead| lead.to.iter().any(|end| end.thing == amplifier))
}

fn dark(name: &str, place: Place) -> Finding {
    Finding::new(place, format!("`{name}` is dark with the system on"))
        .label("no lamp")
        .because("no lamp means no supply, no ground or no turn-on signal")
        .mend(
            "measure at its terminals with the system on: supply to ground first, then the turn-on terminal to ground",
        )
}

fn lit(name: &str, place: Place, lead: Option<&Thing<'_, TurnOn>>) -> Finding {
    let finding = Finding::new(place, format!("`{name}` is lit with the system off"))
        .label("still awake")
        .because("an amplifier that stays awake empties the battery while the vehicle stands");
    match lead {
        Some(lead) => finding
            .also(lead.place(), "what turns it on")
            .mend(format!(
                "measure `{}` with the system off: move it to a feed that goes dead, or look for a relay that sticks",
                lead.name
            ))
            .follows("TURN-01", lead.place()),
        None => finding.mend("find what turns it on, and move it to a feed that goes dead with the system"),
    }
}

fn protecting(name: &str, place: Place) -> Finding {
    Finding::new(place, format!("`{name}` protects itself with the system on"))
        .label("protection lamp lit")
        .because("the amplifier has found a short, a load too small, a supply too low or too much heat, and has shut its output")
        .mend("switch off and take the speaker leads off: dark then, look for a short in leads or coils; still lit, at supply and ground")
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(lamps: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nturn_on: {{remote: {{from: {{kind: constant}}, to: [amp.remote]}}}}\n\
             measured: {{indicators: {{amp: {{{lamps}}}}}}}\n"
        )
    }

    #[test]
    fn lit_when_on_and_dark_when_off_passes_and_the_reverse_fails() {
        for (key, good, bad) in [("on", "lit", "dark"), ("off", "dark", "lit"), ("protection", "dark", "lit")] {
            let subject = format!("measured.indicators.amp.{key}");
            let of = |lamp: &str| outcome(&plan(&format!("{key}: {lamp}")), "PROOF-07", &subject);
            assert_eq!((of(good), of(bad)), (Outcome::Pass, Outcome::Fail), "{key}");
            assert_eq!(outcome(&plan(""), "PROOF-07", &subject), Outcome::NotApplicable);
        }
    }

    #[test]
    fn a_lamp_that_stays_lit_points_at_its_turn_on() {
        let finding = check(&plan("off: lit"), "PROOF-07", "measured.indicators.amp.off").finding.unwrap();
        let (code, place) = finding.follows.unwrap();
        assert_eq!((code, place.path().as_str()), ("TURN-01", "turn_on.remote"));
    }

    #[test]
    fn an_amplifier_that_protects_itself_is_told_once() {
        let text = plan("on: dark, protection: lit");
        assert_eq!(outcome(&text, "PROOF-07", "measured.indicators.amp.on"), Outcome::NotApplicable);
        assert_eq!(outcome(&text, "PROOF-07", "measured.indicators.amp.protection"), Outcome::Fail);
    }
}
